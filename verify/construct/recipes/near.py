"""Figures near a drawing: heights, distances or corners moved a little, so that parts become alike."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from heapq import heappop, heappush, merge
from itertools import count, pairwise
from math import lcm

from verify.construct.coordinates.stars import only_outline, stars_near
from verify.construct.coordinates.written import exact_texts
from verify.construct.moves.trials import regular_figures
from verify.exact.number import Number
from verify.exact.number_text import rational_text
from verify.exact.plane import Point, advance, middle, reflection
from verify.pattern.document import Document
from verify.pattern.limits import Limits

_SHARE = Fraction(1, 16)
Values = tuple[Fraction, ...]


@dataclass(frozen=True)
class JointMove:
    """Corners that were moved together along an axis, x or y, from one value to another, in the document's unit."""

    axis: str
    names: tuple[str, ...]
    before: Fraction
    after: Fraction

    @property
    def way(self) -> str:
        """Where to, on the sheet; y goes up."""
        far, near = ("right", "left") if self.axis == "x" else ("up", "down")
        return far if self.after > self.before else near


@dataclass(frozen=True)
class Variant:
    """A document near another one; the sheet is the same. What was moved: `moves`, or, if it was made `regular` as a
    whole, in words; then `greatest` is how far at most, in the document's unit.
    """

    document: Document
    moves: tuple[JointMove, ...]
    regular: str = ""
    greatest: float = 0.0

    def words(self) -> list[str]:
        """What was moved, and by how much, rounded for people; `document` has it exactly."""
        unit = self.document.unit
        return [self.regular] * bool(self.regular) + [
            f"{', '.join(map(self.document.told, m.names))}: moved {m.way} by {_decimal(abs(m.after - m.before))} "
            f"{unit} ({m.axis} from {_decimal(m.before)} to {_decimal(m.after)})"
            for m in self.moves
        ]


def made_regular(document: Document, limits: Limits = Limits()) -> list[Variant]:
    """The document with its target made regular: a regular polygon or star, if it is nearly one, then in other ways
    (`construct.moves`), the least movement first.
    """
    found = [(star, f"so that it is {what}", far) for star, what, far in stars_near(document) if far]
    found += [(one.document, why, one.greatest) for one, why in regular_figures(document, limits)]
    return [
        Variant(regular, (), f"its points, by at most {far:.3g} {document.unit}, {why}", far)
        for regular, why, far in found
    ]


def near(document: Document) -> Iterator[Variant]:
    """Documents near this one, those first in which the fewest corners were moved the least.

    Of the target's corners all that have one x (or y) move together, each at most a sixteenth of the figure's larger
    side in all, to where a distance to the next one is equal to another such distance in the figure, onto the next one,
    or to the mirror image of another one in the middle of figure or sheet. Or the corners of an only outline move, each
    by itself and no farther, so that the outline has a line of symmetry. Corners with irrational coordinates, and those
    on the sheet's outline, stay.
    """
    grid = _Grid(document)
    alike = sorted(_symmetric(document, grid.most), key=grid.cost_of)
    yield from merge(alike, grid.variants(), key=grid.cost_of)


def _symmetric(document: Document, most: Fraction) -> Iterator[Variant]:
    """The outline with a line of symmetry, square to the longest way between corners, for each way to pair these."""
    names = only_outline(document)
    known = [tuple(map(_rational, document.points[name])) for name in names]
    places = [Point(Number.of(x), Number.of(y)) for x, y in known if x is not None and y is not None]
    if len(places) < len(names):
        return
    for total in range(len(places)):
        pairs = [(place, places[total - k]) for k, place in enumerate(places)]
        a, b = max(pairs, key=lambda pair: advance(pair[0], pair[1], pair[1]))
        foot = middle(a, b)
        image = reflection(foot, Point(foot.x + a.y - b.y, foot.y + b.x - a.x))
        moved = [middle(here, image(there)) for here, there in pairs]
        moves = tuple(
            JointMove("xy"[axis], (name,), before[axis].as_fraction(), after[axis].as_fraction())
            for name, before, after in zip(names, places, moved, strict=True)
            for axis in (0, 1)
            if before[axis] != after[axis]
        )
        if moves and max(abs(m.after - m.before) for m in moves) <= most:
            points = {name: exact_texts(place) for name, place in zip(names, moved, strict=True)}
            yield Variant(replace(document, points={**document.points, **points}, raw=None), moves)


class _Grid:
    """The different x and y of a target's corners that can move, and those that cannot."""

    def __init__(self, document: Document) -> None:
        self.document = document
        used = list(dict.fromkeys(name for line in document.target_lines() for name in line))
        sheet = [name for loop in (document.outline, *document.holes) for name in loop]
        self.names: list[tuple[int, Fraction, tuple[str, ...]]] = []
        self.fixed: list[set[Fraction]] = [set(), set()]
        box = []
        for axis in (0, 1):
            at: dict[Fraction, list[str]] = {}
            for name in used:
                value = _rational(document.points[name][axis])
                if value is not None:
                    at.setdefault(value, []).append(name)
            self.fixed[axis] = {v for name in sheet if (v := _rational(document.points[name][axis])) is not None}
            self.names += [(axis, v, tuple(names)) for v, names in sorted(at.items()) if v not in self.fixed[axis]]
            box.append(max(at, default=Fraction(0)) - min(at, default=Fraction(0)))
        self.most = _SHARE * max(box)
        self.finest = self.most / 64
        self.values = tuple(value for _, value, _ in self.names)
        self.coarsest = 4 * lcm(*(v.denominator for v in self.values))

    def cost(self, moved: list[Fraction]) -> Fraction:
        """Of values that were moved so far: few things changed are better than many."""
        return sum(moved, Fraction(0)) + len(moved) * self.most / 4

    def cost_of(self, variant: Variant) -> Fraction:
        return self.cost([abs(m.after - m.before) for m in variant.moves])

    def variants(self) -> Iterator[Variant]:
        """Those of moved values, in the order of their cost."""
        heap: list[tuple[Fraction, int, Values]] = [(Fraction(0), 0, self.values)]
        seen = {self.values}
        order = count(1)
        while heap:
            cost, _, values = heappop(heap)
            if cost:
                yield self.variant(values)
            for moved in self.options(values):
                if moved not in seen:
                    seen.add(moved)
                    off = [abs(a - b) for a, b in zip(self.values, moved, strict=True) if a != b]
                    heappush(heap, (self.cost(off), next(order), moved))

    def options(self, values: Values) -> Iterator[Values]:
        """One value moved, to where it makes two distances equal or has a mirror image."""
        lines = [
            sorted({*self.fixed[a], *(v for (b, _, _), v in zip(self.names, values, strict=True) if a == b)})
            for a in (0, 1)
        ]
        gaps = {q - p for line in lines for p, q in pairwise(line)}
        for i, (axis, first, _) in enumerate(self.names):
            line, value = lines[axis], values[i]
            at = line.index(value)
            if not 0 < at < len(line) - 1:
                continue
            low, high = line[at - 1], line[at + 1]
            inner = [v for v in line if v not in self.fixed[axis]]
            wanted = {low + g for g in gaps} | {high - g for g in gaps}
            wanted |= {line[0] + line[-1] - v for v in line} | {inner[0] + inner[-1] - v for v in inner}
            wanted |= {low, high, (low + high) / 2}
            for new in sorted(wanted):
                if (
                    low <= new <= high
                    and self.finest <= abs(new - value) <= 2 * self.most
                    and abs(new - first) <= self.most
                    and new.denominator <= self.coarsest
                ):
                    yield (*values[:i], new, *values[i + 1 :])

    def variant(self, values: Values) -> Variant:
        points = dict(self.document.points)
        moves = []
        for (axis, before, names), after in zip(self.names, values, strict=True):
            if before == after:
                continue
            moves.append(JointMove("xy"[axis], names, before, after))
            for name in names:
                x, y = points[name]
                text = rational_text(after)
                points[name] = (text, y) if axis == 0 else (x, text)
        return Variant(replace(self.document, points=points, raw=None), tuple(moves))


def _decimal(value: Fraction) -> str:
    """A number for people: as it is if three digits after the point do, else rounded to three."""
    exact = rational_text(value, digits=3)
    return f"{float(value):.3f}" if "/" in exact else exact


def _rational(text: str) -> Fraction | None:
    try:
        return Fraction(text)
    except (ValueError, ZeroDivisionError):
        return None
