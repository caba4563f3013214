"""A rounded drawing with what is recognised in it: directions, incidences, and their equations.

Floats and guesses decide which equations are taken; the coordinates are then solved exactly.
"""

from __future__ import annotations

from cmath import phase
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import combinations
from math import atan, inf, pi
from typing import Literal

import numpy as np

from verify.construct.coordinates import directions as way
from verify.construct.coordinates.directions import Family
from verify.construct.coordinates.equations import Chooser, Floats, Form, coordinate, solved
from verify.construct.coordinates.written import exact_text
from verify.exact.expression import NumberLimits
from verify.exact.field import NumbersRead, read_numbers
from verify.exact.number import Number
from verify.exact.numberfield import FieldMismatch
from verify.exact.plane import Point, around
from verify.pattern.document import Document
from verify.pattern.limits import LimitReached, Limits
from verify.pattern.rounding import decimals

Slopes = Literal["none", "small", "any"]
# the equations are kept as a dense table of floats
LIMIT_POINTS = 600

Ends = tuple[str, str]


class Sketch:
    """The drawing with what is recognised in it, for one family of directions."""

    def __init__(self, document: Document, unit: Fraction, most: Fraction, family: Family, limits: Limits) -> None:
        self.document, self.unit, self.most, self.family, self.limits = document, unit, most, family, limits
        self.names = list(document.points)
        if len(self.names) > LIMIT_POINTS:
            raise LimitReached(
                "points", f"{LIMIT_POINTS:,}", f"{len(self.names):,} points in a drawing to be made exact"
            )
        self.index = {name: 2 * i for i, name in enumerate(self.names)}
        self.texts = document.numbers
        self.reading: NumbersRead = read_numbers([*self.texts, *family.tangents], NumberLimits(degree=limits.degree))
        self.written = [self.reading.numbers[t] for t in self.texts]
        self.start: Floats = np.array([float(n) for n in self.written])
        self.reach = float(most)
        sheet = document.sheet_lines()
        folds = [(c.start, c.end) for c in document.creases if c.kind != "flat"]
        flats = [(c.start, c.end) for c in document.creases if c.kind == "flat"]
        self.lines: list[Ends] = []
        known: set[frozenset[str]] = set()
        for line in (*sheet, *folds, *document.target_lines(), *flats):
            if frozenset(line) not in known and self.length(line) > 0:
                known.add(frozenset(line))
                self.lines.append(line)
        self.sheet = {frozenset(line) for line in sheet}
        self.folds = {frozenset(line) for line in folds}
        self.target = {frozenset(line) for line in document.target_lines()}
        self.kept = self._kept_corners()
        self.directions: dict[int, Point] = {}
        self.multiples: set[int] = set()
        self.slopes = 0
        self.on_line = [self._points_on(line) for line in self.lines]
        self.touching: dict[str, list[int]] = defaultdict(list)
        for i, line in enumerate(self.lines):
            for name in (*line, *self.on_line[i]):
                self.touching[name].append(i)
        self.rays = {name: self._rays(name) for name in self.names}

    # places in floats

    def place(self, name: str) -> complex:
        i = self.index[name]
        return complex(self.start[i], self.start[i + 1])

    def way(self, line: Ends) -> complex:
        return self.place(line[1]) - self.place(line[0])

    def length(self, line: Ends) -> float:
        return abs(self.way(line))

    def angle(self, line: Ends) -> float:
        return phase(self.way(line))

    def doubt(self, line: Ends) -> float:
        """By how much a line's direction can be off: each end within half of `most`."""
        return atan(self.reach / self.length(line))

    def _points_on(self, line: Ends) -> list[str]:
        """The points between a line's ends that lie on it within the rounding."""
        start, length = self.place(line[0]), self.length(line)
        back = (self.way(line) / length).conjugate()
        found = []
        for name in self.names:
            off = (self.place(name) - start) * back
            if name not in line and abs(off.imag) <= self.reach and 0 < off.real < length:
                found.append(name)
        return found

    def _kept_corners(self) -> set[str]:
        """Corners of the sheet that stay: those with whole or exact numbers, if that says anything, and those of
        upright rectangles in whole numbers.
        """
        kept = set()
        for loop in (self.document.outline, *self.document.holes):
            upright = len(loop) == 4 and all(self._upright(a, b) for a, b in around(loop))
            for name in loop:
                if (upright or self.unit < 1) and all(not decimals(text) for text in self.document.points[name]):
                    kept.add(name)
        return kept

    def _upright(self, a: str, b: str) -> bool:
        return any(self.written[self.index[a] + k] == self.written[self.index[b] + k] for k in (0, 1))

    # what the lines were meant to be

    def recognise(self, slopes: Slopes) -> None:
        """Give each line the direction that it may have.

        Lines in the family first, then those that follow from others, then slopes seen from the family's base: `small`
        ones, or `any`, the simplest one near each line, creases before target lines.
        """
        family = self.family.directions(self.reading.numbers)
        # between two multiples, or where all is possible, a direction says nothing
        widest = min(float(self.family.step), 22.5) / 2 * pi / 180
        leftover = []
        for i, line in enumerate(self.lines):
            if self.kept.issuperset(line) or (frozenset(line) in self.sheet and self._upright(*line)):
                a, b = (self._written_place(name) for name in line)
                self.directions[i] = Point(b.x - a.x, b.y - a.y)
                continue
            doubt = self.doubt(line)
            number = way.nearest(self.angle(line), family, doubt) if doubt < widest else None
            if number is not None:
                self.directions[i] = family[number]
                self.multiples.add(number)
            else:
                leftover.append(i)
        self._complete()
        if slopes == "none":
            return
        found: list[Point] = []
        target = self.target if slopes == "any" else set()
        for i in sorted(leftover, key=lambda i: (frozenset(self.lines[i]) in target, -self.length(self.lines[i]))):
            if i in self.directions:
                continue
            angle, doubt = self.angle(self.lines[i]), self.doubt(self.lines[i])
            number = way.nearest(angle, found, doubt)
            if number is not None:
                self.directions[i] = found[number]
            else:
                from_base = angle - way.angle_of(self.family.base)
                seen = way.small_slope(from_base, doubt)
                if seen is None and slopes == "any":
                    seen = way.small_slope(from_base, doubt / 4, inf)
                if seen is None:
                    continue
                for d in (seen, Point(seen.x, -seen.y)):
                    found += [self.family.from_base(x) for x in (d, way.square_to(d))]
                self.directions[i] = self.family.from_base(seen)
            self.slopes += 1
            self._complete()

    def _written_place(self, name: str) -> Point:
        i = self.index[name]
        return Point(self.written[i], self.written[i + 1])

    def _complete(self) -> None:
        """Give directions that follow from others, again and again: by Kawasaki–Justin where only one fold at a vertex
        has none.
        """
        changed = True
        while changed:
            changed = False
            for i, line in enumerate(self.lines):
                if i in self.directions:
                    continue
                for direction in self._following(i):
                    if abs(way.turn(way.angle_of(direction) - self.angle(line))) <= self.doubt(line):
                        self.directions[i] = direction
                        changed = True
                        break

    def _following(self, line: int) -> Iterator[Point]:
        """By Kawasaki–Justin at each of its ends where it is the only fold that has none."""
        for vertex in self.lines[line]:
            rays = self.rays[vertex]
            if len(rays) % 2 == 0 and [i for _, i in rays if i not in self.directions] == [line]:
                at = next(k for k, (_, i) in enumerate(rays) if i == line)
                direction = way.last_direction([self.directions[i] for _, i in (*rays[at + 1 :], *rays[:at])])
                if direction is not None:
                    yield direction

    def _rays(self, vertex: str) -> list[tuple[float, int]]:
        """The folds that leave an inner vertex, counter-clockwise, as angle and line; none on the sheet's edge."""
        rays = []
        for i in self.touching[vertex]:
            line = self.lines[i]
            if frozenset(line) in self.sheet:
                return []
            if frozenset(line) in self.folds:
                for end in line:
                    if end != vertex:
                        rays.append((self.angle((vertex, end)), i))
        return sorted(rays)

    def meaning(self) -> tuple[object, ...]:
        """What was recognised, in floats: equal for two families that say the same."""
        return tuple((i, round(way.turn(way.angle_of(d)), 9)) for i, d in sorted(self.directions.items()))

    def family_name(self) -> str:
        parts = []
        if self.multiples:
            parts.append(self.family.name(self.multiples))
        if self.slopes:
            parts.append("slopes of whole numbers")
        return " and ".join(parts) or "none"

    # equations

    def document_with(self, further: Sequence[Form]) -> tuple[Document | None, int]:
        chooser = Chooser(self.start)
        known = self._choose(chooser)
        for form in further:
            chooser.offer(form, self._near)
        self._keep_numbers(chooser)
        try:
            numbers = solved(chooser.taken, len(self.start))
        except FieldMismatch:  # the directions need one field, and what is written stays in another
            return None, 0
        if numbers is None:
            return None, 0
        known_texts = zip(numbers, self.written, self.texts, strict=True)
        texts = [text if number == before else exact_text(number) for number, before, text in known_texts]
        points = {name: (texts[i], texts[i + 1]) for name, i in self.index.items()}
        return replace(self.document, points=points, raw=None), len(known)

    def _near(self, places: Floats) -> bool:
        moved = (places - self.start).reshape(-1, 2)
        return bool(np.hypot(moved[:, 0], moved[:, 1]).max() <= self.reach)

    def _choose(self, chooser: Chooser) -> dict[int, Point]:
        """Offer every equation that the drawing means; the directions that were taken."""
        for name in self.names:
            if name in self.kept:
                for k in (0, 1):
                    self._offer_written(chooser, self.index[name] + k, self._near)
        for a, b in combinations(self.names, 2):
            if self.length((a, b)) <= self.reach:
                for k in (0, 1):
                    chooser.offer(coordinate(self.index[a] + k) - coordinate(self.index[b] + k), self._near)
        known: dict[int, Point] = {}
        order = sorted(
            range(len(self.lines)),
            key=lambda i: (frozenset(self.lines[i]) not in self.sheet, -self.length(self.lines[i])),
        )
        for i in order:
            a, b = self.lines[i]
            direction = self.directions.get(i)
            if direction is not None and chooser.offer(self._on(direction, a, b), self._near) in ("taken", "redundant"):
                known[i] = direction
                for name in self.on_line[i]:
                    chooser.offer(self._on(direction, a, name), self._near)
        return known

    def _on(self, direction: Point, a: str, b: str) -> Form:
        """b lies on the line through a in this direction."""
        i, j = self.index[a], self.index[b]
        factors = {j + 1: direction.x, i + 1: -direction.x, j: -direction.y, i: direction.y}
        return Form({k: c for k, c in factors.items() if c})

    def _offer_written(self, chooser: Chooser, i: int, near: Callable[[Floats], bool]) -> None:
        """The coordinate stays as it was written."""
        chooser.offer(Form({i: Number.of(1)}, -self.written[i]), near)

    def _keep_numbers(self, chooser: Chooser) -> None:
        """What the equations leave free stays as written: the sheet first, then points with round numbers, then what is
        near.
        """
        unit = float(self.unit)
        ranks = [_rank(text) for text in self.texts]
        off = np.abs(chooser.places - self.start)
        bound = max(unit / 2, 1.05 * float(off.max(initial=0.0))) * (1 + 1e-9)

        def near(places: Floats) -> bool:
            return self._near(places) and bool(np.abs(places - self.start).max() <= bound)

        corners = {name for loop in (self.document.outline, *self.document.holes) for name in loop}

        def key(i: int) -> tuple[bool, int, int, float, int]:
            return self.names[i // 2] not in corners, max(ranks[i & ~1], ranks[i | 1]), ranks[i], float(off[i]), i

        for i in sorted(range(len(self.start)), key=key):
            self._offer_written(chooser, i, near)
        for i in range(len(self.start)):
            if not chooser.determined(i):
                fine = self.unit / 100
                value = round(Fraction(float(chooser.places[i])) / fine) * fine
                chooser.offer(Form({i: Number.of(1)}, Number.of(-value)), self._near)


def _rank(text: str) -> int:
    """How round a number is, as written: tens, fives, whole numbers and exact expressions, decimals."""
    digits = decimals(text)
    if digits is None:
        return 3
    if digits == 0 or Fraction(text).denominator == 1:
        value = int(Fraction(text))
        return 1 if value % 10 == 0 else 2 if value % 5 == 0 else 3
    return 3 + digits
