"""Figures near a drawing: heights and distances moved a little, so that strokes become equally wide or halves alike."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from heapq import heappop, heappush
from itertools import count, pairwise
from math import lcm

from verify.construct.written import rational_text
from verify.pattern.document import Document

_SHARE = Fraction(1, 16)
Values = tuple[Fraction, ...]


@dataclass(frozen=True)
class Move:
    """Corners that were moved together along an axis, x or y, from one value to another, in the document's unit."""

    axis: str
    names: tuple[str, ...]
    before: Fraction
    after: Fraction


@dataclass(frozen=True)
class Variant:
    """A document near another one; the sheet is the same."""

    document: Document
    moves: tuple[Move, ...]

    @property
    def greatest(self) -> Fraction:
        """How far the corner that moved farthest along an axis did."""
        return max((abs(m.after - m.before) for m in self.moves), default=Fraction(0))


def near(document: Document) -> Iterator[Variant]:
    """Documents near this one, those first in which the fewest corners were moved the least.

    Of the target's corners all that have one x (or y) move together, each at most a sixteenth of the figure's larger
    side in all, to where a distance to the next one is equal to another such distance in the figure, onto the next one,
    or to the mirror image of another one in the middle of figure or sheet. Corners with irrational coordinates, and
    those on the sheet's outline, stay.
    """
    grid = _Grid(document)
    start = grid.values
    heap: list[tuple[Fraction, int, Values]] = [(Fraction(0), 0, start)]
    seen = {start}
    order = count(1)
    while heap:
        cost, _, values = heappop(heap)
        if cost:
            yield grid.variant(values)
        for moved in grid.options(values):
            if moved not in seen:
                seen.add(moved)
                heappush(heap, (grid.cost(moved), next(order), moved))


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

    def cost(self, values: Values) -> Fraction:
        """How far values were moved, and how many: few things changed are better than many."""
        moved = [abs(a - b) for a, b in zip(self.values, values, strict=True) if a != b]
        return sum(moved, Fraction(0)) + len(moved) * self.most / 4

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
            moves.append(Move("xy"[axis], names, before, after))
            for name in names:
                x, y = points[name]
                text = rational_text(after)
                points[name] = (text, y) if axis == 0 else (x, text)
        return Variant(replace(self.document, points=points, raw=None), tuple(moves))


def _rational(text: str) -> Fraction | None:
    try:
        return Fraction(text)
    except (ValueError, ZeroDivisionError):
        return None
