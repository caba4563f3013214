"""Creases square to the sides of a figure, from the nodes of its straight skeleton.

In the region of a side a perpendicular runs square to that side. Where it meets an arc of the skeleton it goes on in
the region beyond as its mirror image in the arc; where it meets a target line, straight on (Demaine, Demaine and Lubiw
1998 state that such a pattern exists; the rule is ours to answer for, and each pattern is certified). It ends in a node
of the skeleton or at the border of the sheet. Some never end.

Fold the sheet along all arcs. Then every side's line comes to lie on one line, the cut, and paper at a distance t from
it at height t, if round each node the number of creases is even: the reflections in arcs and perpendiculars there all
keep "away from the line" as it is, and an even number of them turns no paper over. So any set of whole perpendiculars
will do that makes the number even at every node; see `creases`.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise
from math import copysign, inf
from typing import NamedTuple

from verify.construct.skeleton.skeleton import Skeleton, Step
from verify.exact.number import Number
from verify.exact.plane import (
    Point,
    around,
    compare_directions,
    cross_vectors,
    difference,
    dot,
    locate,
    same_place,
    segment_meeting,
)

_ZERO = Number.of(0)
BORDER = -1  # the end of a perpendicular that leaves the sheet
_NEAR = 1e-6  # of the size of the sheet: what floats leave closer than this is decided exactly
MOST_STEPS = 400  # of one perpendicular, from line to line
MANY_STEPS = 2_000  # the same, where most of those from nodes were made to end
_ENDLESS = 2  # that do not end, of those that are needed: no others are followed


@dataclass(frozen=True)
class Perpendicular:
    """A perpendicular from a node, or from the border, to a node, or to the border: `places` in order, exact, and
    `rough` ones.

    `end` is None if it was not followed to its end, after the tracer's `most_steps`. `sides` are those whose regions it
    runs through, in order; `arcs` those that it crosses at its places between the first and the last, None at a target
    line. `ends` are its first place, and the last if that is on no arc.
    """

    start: int
    end: int | None
    ends: tuple[Point, ...]
    sides: tuple[int, ...]
    arcs: tuple[int | None, ...]
    rough: tuple[tuple[float, float], ...]
    tracer: Tracer = field(repr=False, compare=False)

    @cached_property
    def places(self) -> tuple[Point, ...]:
        """All places, worked out when they are first asked for: of most perpendiculars nobody does."""
        first, *last = self.ends
        return first, *self.tracer.crossings(first, self.sides, self.arcs), *last


@dataclass(frozen=True)
class _Bound:
    """An arc on the boundary of a side's region, in the side's own coordinates: along it, and the distance from it.

    Without an `end` the arc runs for ever, along (run, rise).
    """

    arc: int
    start: tuple[Number, Number]
    end: tuple[Number, Number] | None
    run: Number
    rise: Number
    nodes: tuple[int, int | None]
    span: tuple[float, float]  # from where to where it goes along the side, in floats and a little more


class _Rough(NamedTuple):
    """The same in floats: the span, a place on it, its slope, and by how much its height is in doubt."""

    arc: int
    low: float
    high: float
    along: float
    height: float
    slope: float
    doubt: float


class Tracer:
    """Follows perpendiculars through the regions of a skeleton, in a sheet."""

    def __init__(self, skeleton: Skeleton, loops: tuple[tuple[Point, ...], ...], most_steps: int = MOST_STEPS) -> None:
        self.skeleton, self.loops, self.most_steps = skeleton, loops, most_steps
        self.borders = [(a, b, floats(a), floats(b)) for loop in loops for a, b in pairwise([loop[-1], *loop])]
        self.near = _NEAR * max(abs(x) for *_, a in self.borders for x in a)
        self.inside = [self.on_sheet(node.place) for node in skeleton.nodes]
        self.corners: dict[int, list[tuple[int, Point, Point]]] = {}  # of each node: side, and the wedge of its region
        self.bounds: list[list[_Bound]] = []
        for number in range(len(skeleton.sides)):
            self.bounds.append(self._bounds(number))
        self.rough = [[self._roughly(bound) for bound in bounds] for bounds in self.bounds]
        self.lengths = [self._along(number, side.end) for number, side in enumerate(skeleton.sides)]
        self.rough_sides = [
            (*floats(side.start), *floats(side.direction), float(length))
            for side, length in zip(skeleton.sides, self.lengths, strict=True)
        ]
        self.bound_of = {(number, bound.arc): bound for number, bounds in enumerate(self.bounds) for bound in bounds}
        self.sums: dict[int, Number] = {}
        self.rough_sums: dict[int, float] = {}

    def on_sheet(self, place: Point) -> int:
        """1 if a place is inside the sheet, 0 on its border, -1 outside."""
        outline, *holes = self.loops
        return min([locate(place, outline), *(-locate(place, hole) for hole in holes)])

    def _bounds(self, number: int) -> list[_Bound]:
        skeleton = self.skeleton
        side, region = skeleton.sides[number], skeleton.region(number)
        bounds = []
        for chain in region.chains:
            for step in chain:
                arc = skeleton.arcs[step.arc]
                start, end = skeleton.nodes[arc.start], None if arc.end is None else skeleton.nodes[arc.end]
                first = self._along(number, start.place)
                last = None if end is None else self._along(number, end.place)
                run = dot(side.direction, arc.direction)
                far = copysign(inf, run.sign()) if last is None and run else float(first if last is None else last)
                low, high = sorted([float(first), far])
                bounds.append(
                    _Bound(
                        step.arc,
                        (first, start.time),
                        None if end is None or last is None else (last, end.time),
                        run,
                        dot(side.normal, arc.direction),
                        (arc.start, arc.end),
                        (low - self.near, high + self.near),
                    )
                )
        self._note_corners(number, region.chains)
        return bounds

    def _roughly(self, bound: _Bound) -> _Rough:
        run = float(bound.run)
        slope = float(bound.rise) / run if run else 0.0  # no perpendicular crosses an arc that is one itself
        along, height = map(float, bound.start)
        return _Rough(bound.arc, *bound.span, along, height, slope, self.near * (1 + abs(slope)))

    def _along(self, number: int, place: Point) -> Number:
        side = self.skeleton.sides[number]
        return dot(side.direction, difference(place, side.start))

    def _note_corners(self, number: int, chains: Sequence[Sequence[Step]]) -> None:
        """The region's wedge at each node on its boundary: counter-clockwise from the way on to the way back."""
        skeleton, side = self.skeleton, self.skeleton.sides[number]

        def way(step: Step, back: bool) -> Point:
            d = skeleton.arcs[step.arc].direction
            return d if step.forward != back else Point(-d.x, -d.y)

        def note(node: int | None, on: Point, back: Point) -> None:
            if node is not None:
                self.corners.setdefault(node, []).append((number, on, back))

        for chain in chains:
            for before, after in pairwise(chain):
                note(skeleton.tail(after), way(after, False), way(before, True))
        first, last = chains[0][0], chains[-1][-1]
        if side.line < 0:  # a cap begins and ends in one node
            note(skeleton.tail(first), way(first, False), way(last, True))
        else:
            note(skeleton.tail(first), way(first, False), Point(-side.direction.x, -side.direction.y))
            note(skeleton.head(last), side.direction, way(last, True))

    def all(self, needed: Collection[int] = ()) -> list[Perpendicular]:
        """The perpendiculars from all nodes inside the sheet, each once; only those from the `needed` nodes, if one of
        these does not end, and no more once so many do not (`_ENDLESS`).
        """
        found: list[Perpendicular] = []
        known: set[tuple[int, int, bool]] = set()  # ends: the node, and the way from there
        inside = [node for node, place in enumerate(self.inside) if place > 0]
        endless = 0
        for node in sorted(inside, key=lambda node: node not in needed):
            if endless >= (_ENDLESS if node in needed else 1):
                break
            for number, up in self.starts(node):
                if (node, number, up) in known:
                    continue
                start = self.skeleton.nodes[node]
                perpendicular = self.follow(node, start.place, start.time, number, up)
                found.append(perpendicular)
                if perpendicular.end is None:
                    endless += node in needed
                else:  # it leads up and down by turns
                    known.add((perpendicular.end, perpendicular.sides[-1], up == (len(perpendicular.sides) % 2 == 0)))
        return sorted(found, key=lambda p: p.start)

    def from_border(self, arc: int, place: Point) -> list[Perpendicular]:
        """The perpendiculars from a place at which an arc leaves the sheet, if there is paper on both sides of it."""
        crossed = self.skeleton.arcs[arc]
        height = self.skeleton.sides[crossed.left].distance(place)
        found = []
        for number in (crossed.left, crossed.right):
            turn = cross_vectors(crossed.direction, self.skeleton.sides[number].normal).sign()
            up = (turn > 0) == (number == crossed.left)
            there = self._next(number, place, self._along(number, place), height, up)[0]
            there = self._leaves(place, there) or there
            if self.on_sheet(Point((place.x + there.x) / 2, (place.y + there.y) / 2)) > 0:
                found.append(self.follow(BORDER, place, height, number, up))
        return found if len(found) == 2 else []

    def starts(self, node: int) -> Iterator[tuple[int, bool]]:
        """The sides into whose regions a perpendicular from the node enters, and whether it leads away from the
        side.
        """
        for number, first, last in self.corners.get(node, ()):
            normal = self.skeleton.sides[number].normal
            for up in (True, False):
                if _strictly_between(first, normal if up else Point(-normal.x, -normal.y), last):
                    yield number, up

    def follow(self, start: int, here: Point, height: Number, number: int, up: bool) -> Perpendicular:
        """The perpendicular from a place into the region of a side, to its end.

        Floats say where it runs as long as they are sure; what is in doubt is decided exactly.
        """
        sides: list[int] = []
        arcs: list[int | None] = []
        rough = [floats(here)]
        ends = [here]
        end: int | None = None
        along, known = self._along(number, here), 0  # exact, after so many crossings
        x, h = float(along), float(height)
        while end is None and len(sides) < self.most_steps:
            sides.append(number)
            surely = self._surely_next(number, x, h, up, arcs[-1] if arcs else None, rough[-1])
            if surely is not None:
                arc, h, place = surely
            else:
                if known < len(arcs):
                    *_, along = self._alongs(along, sides[known:-1], arcs[known:])
                    known = len(arcs)
                    height = self._height(number, along, arcs[-1])
                    here = self._place(number, along, height)
                there, height, arc, end = self._next(number, here, along, height, up)
                exit_ = self._leaves(here, there)
                if exit_ is not None:
                    there, end = exit_, BORDER
                if end is not None:
                    ends.append(there)
                x, h, place = float(along), float(height), floats(there)
            rough.append(place)
            if end is None:
                arcs.append(arc)
                if arc is None:  # over the target line, to its other side
                    x = self.rough_sides[number][-1] - x
                    number, up = number ^ 1, True
                else:  # the mirror image of the way back is the way on, and that of one side's normal the other's
                    crossed = self.skeleton.arcs[arc]
                    x = self._rough_sum(arc) - x
                    number, up = crossed.right if crossed.left == number else crossed.left, not up
        return Perpendicular(start, end, tuple(ends), tuple(sides), tuple(arcs), tuple(rough), self)

    def crossings(self, first: Point, sides: Sequence[int], arcs: Sequence[int | None]) -> Iterator[Point]:
        """The places at which a perpendicular, from its first place into the regions of sides, crosses arcs."""
        alongs = self._alongs(self._along(sides[0], first), sides, arcs)
        for number, along, arc in zip(sides, alongs, arcs, strict=False):
            yield self._place(number, along, self._height(number, along, arc))

    def _alongs(self, along: Number, sides: Sequence[int], arcs: Sequence[int | None]) -> Iterator[Number]:
        """Where a perpendicular that crosses arcs is along these sides, one after the other, and along the last one."""
        yield along
        for number, arc in zip(sides, arcs, strict=False):
            along = (self.lengths[number] if arc is None else self._sum(arc)) - along
            yield along

    def _height(self, number: int, along: Number, arc: int | None) -> Number:
        """How far from a side an arc is, or, without an arc, its target line."""
        if arc is None:
            return _ZERO
        bound = self.bound_of[number, arc]
        return bound.start[1] + (along - bound.start[0]) * bound.rise / bound.run

    def _place(self, number: int, along: Number, height: Number) -> Point:
        side = self.skeleton.sides[number]
        (x, y), (u, v) = side.start, side.direction
        return Point(x + along * u - height * v, y + along * v + height * u)

    def _surely_next(
        self, number: int, x: float, h: float, up: bool, before: int | None, here: tuple[float, float]
    ) -> tuple[int | None, float, tuple[float, float]] | None:
        """What `_next` finds for a perpendicular that crossed the arc `before`: the arc, or None for the side itself;
        height and place there. None if that is not sure in floats, or it may come to a node or leave the sheet.
        """
        start_x, start_y, u, v, length = self.rough_sides[number]
        best, unsure, met = (inf, 0.0, None) if up or not 0 < x < length else (h, self.near, None)
        for arc, low, high, along, height, slope, doubt in self.rough[number]:
            if not low <= x <= high or arc == before:
                continue
            ahead = height + (x - along) * slope - h
            ahead = ahead if up else -ahead
            if min(x - low, high - x) <= 2 * self.near or abs(ahead) <= doubt or abs(ahead - best) <= doubt + unsure:
                return None
            if 0 < ahead < best:
                best, unsure, met = ahead, doubt, arc
        if best == inf:
            return None
        h += best if up else -best
        there = start_x + x * u - h * v, start_y + x * v + h * u
        return None if any(self._borders_near(here, there)) else (met, h, there)

    def _sum(self, arc: int) -> Number:
        """What each place on an arc is along the sides on its left and right together: it is its own mirror image."""
        if arc not in self.sums:
            of_arc = self.skeleton.arcs[arc]
            place = self.skeleton.nodes[of_arc.start].place
            self.sums[arc] = self._along(of_arc.left, place) + self._along(of_arc.right, place)
        return self.sums[arc]

    def _rough_sum(self, arc: int) -> float:
        if arc not in self.rough_sums:
            self.rough_sums[arc] = float(self._sum(arc))
        return self.rough_sums[arc]

    def _next(
        self, number: int, here: Point, along: Number, height: Number, up: bool
    ) -> tuple[Point, Number, int | None, int | None]:
        """Where the perpendicular, at a place along a side, meets the region's boundary next: place, height, and the
        arc or the node there.

        Neither: it meets the side itself. If the region is unbounded there, a place outside the sheet.
        """
        side = self.skeleton.sides[number]
        best: tuple[Number, int | None, int | None] | None = None

        def offer(at: Number, arc: int | None, node: int | None) -> None:
            nonlocal best
            ahead = at > height if up else at < height
            if ahead and (
                best is None or (at < best[0] if up else at > best[0]) or (node is not None and at == best[0])
            ):
                best = at, arc, node

        roughly = float(along)
        for bound in self.bounds[number]:
            if not bound.span[0] <= roughly <= bound.span[1]:
                continue
            (x, y), end = bound.start, bound.end
            at_start = along._compare(x)
            at_end = along._compare(end[0]) if end is not None else -bound.run.sign()
            if at_start == 0:
                offer(y, None, bound.nodes[0])
            if end is not None and at_end == 0:
                offer(end[1], None, bound.nodes[1])
            if at_start * at_end < 0:
                offer(y + (along - x) * bound.rise / bound.run, bound.arc, None)
        if not up and _ZERO < along < self.lengths[number]:
            offer(_ZERO, None, None)
        if best is None:
            at = height + self._far(here) if up else height - self._far(here)
            arc = node = None
        else:
            at, arc, node = best
        shift = at - height
        n = side.normal
        return Point(here.x + shift * n.x, here.y + shift * n.y), at, arc, node

    def _far(self, here: Point) -> Number:
        """A distance that leads out of the sheet from here."""
        return sum((abs(p.x - here.x) + abs(p.y - here.y) for p in self.loops[0]), Number.of(1))

    def _leaves(self, here: Point, there: Point) -> Point | None:
        """The first place, after the start, where the way comes to the border of the sheet."""
        best: Point | None = None
        for a, b in self._borders_near(floats(here), floats(there)):
            meeting = segment_meeting(here, there, a, b)
            if meeting is None:
                continue
            place = meeting if isinstance(meeting, Point) else meeting[0]
            if same_place(place, here):
                continue
            if best is None or _nearer(here, place, best):
                best = place
        return best

    def _borders_near(self, here: tuple[float, float], there: tuple[float, float]) -> Iterator[tuple[Point, Point]]:
        """The edges of the sheet but those on one side of whose line both places clearly are."""
        (x, y), (u, v) = here, there
        for a, b, (p, q), (r, s) in self.borders:
            size = self.near * (abs(r - p) + abs(s - q))
            one, other = (r - p) * (y - q) - (s - q) * (x - p), (r - p) * (v - q) - (s - q) * (u - p)
            if min(one, other) <= size and max(one, other) >= -size:
                yield a, b


def floats(place: Point) -> tuple[float, float]:
    """A place in floats."""
    return float(place.x), float(place.y)


def is_inside(loops: Sequence[Sequence[tuple[float, float]]], x: float, y: float) -> bool:
    """Whether a place lies inside an outline with holes, in floats."""
    inside = False
    for loop in loops:
        for (a, b), (c, d) in around(loop):
            if (b > y) != (d > y) and x < a + (c - a) * (y - b) / (d - b):
                inside = not inside
    return inside


def _nearer(here: Point, one: Point, other: Point) -> bool:
    u, v = difference(one, here), difference(other, here)
    return dot(u, u) < dot(v, v)


def _strictly_between(first: Point, way: Point, last: Point) -> bool:
    """Whether a direction is strictly inside the sector from `first` counter-clockwise to `last` (of 360° if they are
    equal).
    """
    if compare_directions(first, way) == 0 or compare_directions(way, last) == 0:
        return False
    turn = cross_vectors(first, last).sign()
    left, right = cross_vectors(first, way).sign() > 0, cross_vectors(way, last).sign() > 0
    if turn > 0:
        return left and right
    if turn < 0:
        return left or right
    if dot(first, last).sign() < 0:  # half a turn
        return left
    return True
