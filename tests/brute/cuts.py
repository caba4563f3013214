"""What snips cut, by brute force: sheets of unit squares, pleated along lines of the grid, with a target of random
lines.

Nothing of `verify` is used here. The pleats fold the plane by one function of x and one of y, so the places of the
sheet that lie over a place of the folded plane can be listed. Along the line of a piece of target what lies there
changes only where an image of a line of the grid crosses, or one of a line of the target or its ends: one place in each
stretch between, and these places themselves, tell everything. All numbers are fractions.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import pairwise, product
from random import Random
from typing import Any

from .paper import cross, on_segment

Place = tuple[Fraction, Fraction]
Segment = tuple[Place, Place]
Cell = tuple[int, int]
HALF = Fraction(1, 2)


def pleated(creases: frozenset[int], x: Fraction) -> Fraction:
    """Where a place of a strip lies that is folded at these places, one after the other."""
    at, way, done = Fraction(0), 1, Fraction(0)
    for crease in [*sorted(creases), None]:
        part = x - done if crease is None or x < crease else crease - done
        at, done = at + way * part, done + part
        if done == x:
            break
        way = -way
    return at


def over(creases: frozenset[int], length: int, at: Fraction) -> Iterator[Fraction]:
    """The places of the strip that lie at one place of the folded strip."""
    stops = [0, *sorted(creases), length]
    found = set()
    for low, high in pairwise(stops):
        a, b = pleated(creases, Fraction(low)), pleated(creases, Fraction(high))
        if min(a, b) <= at <= max(a, b):
            found.add(low + abs(at - a))
    yield from sorted(found)


def between(a: Place, b: Place, t: Fraction) -> Place:
    return a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])


@dataclass(frozen=True)
class Snips:
    """What can be cut: with one complete straight cut, and the fewest snips (None: not at all)."""

    at_once: bool
    fewest: int | None


@dataclass(frozen=True)
class Sheet:
    """Unit squares by their lower left corners, folded along lines of the grid, with lines of target."""

    cells: frozenset[Cell]
    across: frozenset[int]  # creases x = c
    up: frozenset[int]  # creases y = c
    target: tuple[Segment, ...] = ()

    @cached_property
    def size(self) -> tuple[int, int]:
        return max(x for x, _ in self.cells) + 1, max(y for _, y in self.cells) + 1

    def folded(self, p: Place) -> Place:
        return pleated(self.across, p[0]), pleated(self.up, p[1])

    def squares_at(self, p: Place) -> list[bool]:
        """Of the squares that a place touches, which are paper."""
        near = [{int(c // 1), int(-(-c // 1)) - 1} for c in p]
        return [cell in self.cells for cell in product(*near)]

    def lying_over(self, at: Place) -> Iterator[Place]:
        """The places of the open sheet that are folded to one place."""
        for p in product(over(self.across, self.size[0], at[0]), over(self.up, self.size[1], at[1])):
            if all(self.squares_at(p)):
                yield p

    def parts(self) -> Iterator[Segment]:
        """The target, cut at the lines of the grid."""
        for a, b in self.target:
            stops = {Fraction(0), Fraction(1)}
            for axis in (0, 1):
                if a[axis] != b[axis]:
                    whole = range(max(self.size) + 1)
                    stops |= {(n - a[axis]) / (b[axis] - a[axis]) for n in whole}
            for s, t in pairwise(sorted(t for t in stops if 0 <= t <= 1)):
                yield between(a, b, s), between(a, b, t)

    def drawn(self, a: Place, b: Place) -> bool:
        """Whether a segment lies on the (closed) sheet."""
        parts = list(Sheet(self.cells, self.across, self.up, ((a, b),)).parts())
        return all(any(self.squares_at(between(p, q, HALF))) for p, q in parts)

    def snips(self) -> Snips:
        """One line after the other that carries target, stretch after stretch."""
        inside = [(p, q) for p, q in self.parts() if all(self.squares_at(between(p, q, HALF)))]
        images = [(self.folded(p), self.folded(q)) for p, q in inside]
        lines: list[Segment] = []
        for a, b in images:
            if not any(cross(c, d, a) == cross(c, d, b) == 0 for c, d in lines):
                lines.append((a, b))
        told = [self._along(line, images) for line in lines]
        at_once = len(lines) == 0 or (len(lines) == 1 and told[0][0])
        counts = [count for _, count in told]
        return Snips(at_once, None if None in counts else sum(c for c in counts if c is not None))

    def _along(self, line: Segment, images: list[Segment]) -> tuple[bool, int | None]:
        """Whether the whole line is clean, and how many snips along it are needed."""
        a, b = line
        step = b[0] - a[0], b[1] - a[1]
        square = step[0] ** 2 + step[1] ** 2

        def along(p: Place) -> Fraction:
            return ((p[0] - a[0]) * step[0] + (p[1] - a[1]) * step[1]) / square

        stops, wanted = set(), []
        for axis, creases in ((0, self.across), (1, self.up)):
            if step[axis]:
                stops |= {(pleated(creases, Fraction(n)) - a[axis]) / step[axis] for n in range(self.size[axis] + 1)}
        for p, q in images:
            here, there = cross(a, b, p), cross(a, b, q)
            if here == there == 0:
                wanted.append((min(along(p), along(q)), max(along(p), along(q))))
                stops |= set(wanted[-1])
            elif here * there <= 0:
                stops.add(along(between(p, q, here / (here - there))))
        ordered = sorted(stops)
        tried = sorted({*ordered, *((s + t) / 2 for s, t in pairwise(ordered))})
        bad = [t for t in tried if any(not self.on_target(p) for p in self.lying_over(between(a, b, t)))]
        snips, reach = 0, None
        for low, high in sorted(wanted):
            if any(low <= t <= high for t in bad):
                return False, None
            if reach is None or any(reach <= t <= low for t in bad):
                snips += 1
            reach = high if reach is None else max(reach, high)
        return not bad, snips

    def on_target(self, p: Place) -> bool:
        return any(on_segment(p, a, b) for a, b in self.target)

    def over_segment(self, a: Place, b: Place) -> Iterator[Segment]:
        """The paper that is folded onto a segment, square by square."""
        for cell in sorted(self.cells):
            low, high = Fraction(0), Fraction(1)
            flat: list[tuple[Fraction, Fraction]] = []  # place at t = 0, and change
            for axis, creases in ((0, self.across), (1, self.up)):
                start, end = pleated(creases, Fraction(cell[axis])), pleated(creases, Fraction(cell[axis] + 1))
                way = 1 if end > start else -1
                first, change = cell[axis] + way * (a[axis] - start), way * (b[axis] - a[axis])
                flat.append((first, change))
                if change == 0:
                    low, high = (low, high) if cell[axis] <= first <= cell[axis] + 1 else (Fraction(1), Fraction(0))
                else:
                    ends = sorted(((cell[axis] - first) / change, (cell[axis] + 1 - first) / change))
                    low, high = max(low, ends[0]), min(high, ends[1])
            if low < high:
                p, q = (tuple(first + t * change for first, change in flat) for t in (low, high))
                yield (p[0], p[1]), (q[0], q[1])

    # the document

    def loops(self) -> list[list[Place]] | None:
        """The outline and the holes, by corners; None if two squares touch in a corner alone, or there is more than one
        outline.
        """
        after: dict[Cell, Cell] = {}
        for x, y in self.cells:
            for a, b, beside in (
                ((x, y), (x + 1, y), (x, y - 1)),
                ((x + 1, y), (x + 1, y + 1), (x + 1, y)),
                ((x + 1, y + 1), (x, y + 1), (x, y + 1)),
                ((x, y + 1), (x, y), (x - 1, y)),
            ):
                if beside not in self.cells:
                    if a in after:
                        return None
                    after[a] = b
        found = []
        while after:
            start = here = min(after)
            walk = []
            while here in after:
                walk.append(here)
                here = after.pop(here)
            if here != start:
                return None
            around = zip(walk[-1:] + walk[:-1], walk, walk[1:] + walk[:1], strict=True)
            found.append(
                [_place(b) for a, b, c in around if (b[0] - a[0]) * (c[1] - b[1]) != (b[1] - a[1]) * (c[0] - b[0])]
            )
        outlines = [
            loop
            for loop in found
            if sum(a[0] * b[1] - a[1] * b[0] for a, b in zip(loop, loop[1:] + loop[:1], strict=True)) > 0
        ]
        return [*outlines, *(loop for loop in found if loop not in outlines)] if len(outlines) == 1 else None

    def creases(self) -> Iterator[Segment]:
        """The folded lines of the grid, where there is paper on both sides, as long as they go."""
        for axis, lines in ((0, self.across), (1, self.up)):
            for c in sorted(lines):
                run: list[int] = []
                for n in range(self.size[1 - axis] + 1):
                    sides = [(c - d, n) if axis == 0 else (n, c - d) for d in (0, 1)]
                    if all(cell in self.cells for cell in sides):
                        run.append(n)
                    elif run:
                        ends = [(c, run[0]), (c, run[-1] + 1)] if axis == 0 else [(run[0], c), (run[-1] + 1, c)]
                        yield _place(ends[0]), _place(ends[1])
                        run = []

    def document(self, snips: int, turned: tuple[str, str] | None = None) -> dict[str, Any]:
        """The keys of a document; `turned` (texts of a cosine and a sine) by that angle."""
        names: dict[Place, str] = {}

        def name(p: Place) -> str:
            return names.setdefault(p, f"p{len(names)}")

        loops = self.loops()
        if loops is None:
            raise ValueError("no sheet")
        outline, *holes = [[name(p) for p in loop] for loop in loops]
        creases = [[name(a), name(b), "either"] for a, b in self.creases()]
        paths = [[name(a), name(b)] for a, b in self.target]
        points = {n: [str(x), str(y)] for (x, y), n in names.items()}
        if turned is not None:
            c, s = turned
            points = {n: [f"{c}*({x})-{s}*({y})", f"{s}*({x})+{c}*({y})"] for n, (x, y) in points.items()}
        return {
            "format": "creaseproof-pattern/1",
            "points": points,
            "sheet": {"outline": outline, "holes": holes},
            "creases": creases,
            "target": {"paths": paths},
            "cut": {"snips": snips},
        }


def _place(p: Iterable[int]) -> Place:
    x, y = p
    return Fraction(x), Fraction(y)


def random_sheet(random: Random) -> Sheet:
    """A sheet with or without holes, its pleats, and a target: what lies over some segments, with lines left out and
    put in.
    """
    while True:
        width, height = random.choice([(2, 2), (3, 2), (3, 3), (4, 3), (5, 1), (4, 4)])
        cells = {(x, y) for x in range(width) for y in range(height)}
        for cell in random.sample(sorted(cells), random.choice([0, 0, 1, 1, 2, 3])):
            cells.discard(cell)
        if not cells:
            continue
        low_x, low_y = min(x for x, _ in cells), min(y for _, y in cells)
        cells = {(x - low_x, y - low_y) for x, y in cells}
        plain = Sheet(frozenset(cells), frozenset(), frozenset())
        if plain.loops() is None:
            continue
        width, height = plain.size
        across = frozenset(n for n in range(1, width) if random.random() < 0.5)
        up = frozenset(n for n in range(1, height) if random.random() < 0.5)
        sheet = Sheet(plain.cells, across, up)
        step = random.choice([1, 2, 2, 3])

        def somewhere(width: int = width, height: int = height, step: int = step) -> Place:
            return Fraction(random.randint(0, width * step), step), Fraction(random.randint(0, height * step), step)

        lines: list[Segment] = []
        for _ in range(random.choice([0, 1, 1, 2, 2, 3])):
            a, b = sheet.folded(somewhere()), sheet.folded(somewhere())
            if a != b:
                lines += sheet.over_segment(a, b)
        if lines and random.random() < 0.3:
            lines.remove(random.choice(lines))
        for _ in range(random.choice([0, 0, 0, 1, 2]) if lines else random.randint(1, 3)):
            a, b = somewhere(), somewhere()
            if a != b and sheet.drawn(a, b):
                lines.append((a, b))
        if lines:
            return Sheet(sheet.cells, across, up, tuple(lines))
