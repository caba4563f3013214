"""Perpendiculars in a skeleton that moves, in floats: where they run, and how far they miss nodes.

A perpendicular comes to an arc at a place `x` along one side's line, and goes on along the other's at what is left of a
sum: all places of an arc have the same product with the sum of both directions (`Moving.sums`). Over a target line the
sum is 0, for the other side runs the other way. So the place after a list of crossings is the first one and the sums
of the arcs crossed, added and taken away by turns, and so is its derivative.
"""

from __future__ import annotations

from bisect import bisect
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from math import inf
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from verify.construct.equations import Floats
from verify.construct.moving import Integers, Moving
from verify.construct.perpendiculars import is_inside
from verify.exact.plane import around

_GAP = 1e-9  # of the sheet's size: less than that between two boundaries is rounding
_DOUBLED = 3  # times: perpendiculars are followed until they leave the sheet in jumps of so many steps


@dataclass(frozen=True)
class Meeting:
    """A perpendicular from a node that is to end in another one, over these boundaries (`Moving`); it runs beside the
    node when it comes to the last one.
    """

    start: int
    bounds: tuple[int, ...]
    end: int

    @property
    def steps(self) -> int:
        return len(self.bounds)


class Passage(NamedTuple):
    """Where a perpendicular passes a node: after so many steps; `way` is 1 if the node lies lower along the side."""

    step: int
    node: int
    way: int


class Path(NamedTuple):
    """A perpendicular that was followed: the boundaries that it comes to, where it is along the sides from which it
    comes to them, and whether it leaves the sheet after these.
    """

    bounds: list[int]
    places: list[float]
    leaves: bool


def ways_on(moving: Moving) -> tuple[npt.NDArray[np.bool_], Integers]:
    """Of each boundary, whether it lies ahead from its side, not towards it; and what lies ahead beyond it: twice the
    other side, and 1 more if away from that.
    """
    arcs, sides = len(moving.roots), len(moving.along)
    rising = moving.last > moving.first
    # what lies to the left of an arc that leads the side's way is beyond it, seen from the side
    from_side = np.concatenate([~rising[:arcs], rising[arcs : 2 * arcs], np.zeros(sides, dtype=bool)])
    next_up = np.concatenate([~from_side[: 2 * arcs], np.ones(sides, dtype=bool)])
    return from_side, 2 * moving.beyond + next_up


class Paths:
    """The perpendiculars of a skeleton where it is now.

    Of each region the boundaries that lie ahead, towards the side or away from it, are in order along the side.
    """

    def __init__(self, moving: Moving) -> None:
        self.moving = moving
        sides = len(moving.along)
        self.from_side, onwards = ways_on(moving)
        low, high = np.minimum(moving.first, moving.last), np.maximum(moving.first, moving.last)
        ahead = 2 * moving.sides_of + self.from_side
        order = np.lexsort([low, ahead])
        self.numbers: list[int] = order.tolist()
        self.lows: list[float] = low[order].tolist()
        self.highs: list[float] = high[order].tolist()
        self.spans: list[int] = np.searchsorted(ahead[order], np.arange(2 * sides + 1)).tolist()
        self.onwards: list[int] = onwards.tolist()
        self.sums: list[float] = [*moving.sums.tolist() * 2, *[0.0] * sides]
        self.leaving = {*np.flatnonzero(~moving.in_sheet()).tolist()}

    def path(self, node: int, most: int, way: int = 0) -> Path:
        """A perpendicular from a node, by its number in `Moving.begin`; `most` steps if there are more."""
        side, up = self.moving.begin[node][way]
        x = float(self.moving.along[side] @ self.moving.places[node])
        ahead = 2 * side + up
        bounds: list[int] = []
        places: list[float] = []
        while len(bounds) < most:
            first = self.spans[ahead]
            at = bisect(self.lows, x, first, self.spans[ahead + 1]) - 1
            if at < first or x >= self.highs[at]:
                return Path(bounds, places, True)
            bound = self.numbers[at]
            if bound in self.leaving and not self._is_on_sheet(bound, x):
                return Path(bounds, places, True)
            bounds.append(bound)
            places.append(x)
            x = self.sums[bound] - x
            ahead = self.onwards[bound]
        return Path(bounds, places, False)

    def _is_on_sheet(self, bound: int, x: float) -> bool:
        """Whether a boundary is inside the sheet at a place along its side."""
        moving = self.moving
        share = (x - moving.first[bound]) / (moving.last[bound] - moving.first[bound])
        here = moving.begins[bound] + share * (moving.ends[bound] - moving.begins[bound])
        return is_inside(moving.loops, *here.tolist())

    def near(self, node: int, path: Path) -> list[tuple[Meeting, float]]:
        """The nodes where three perpendiculars begin, at ends of arcs that a path from `node` comes to, of which one
        runs towards the path: the meeting, and how far it is missed.
        """
        found = []
        for count, (bound, x) in enumerate(zip(path.bounds, path.places, strict=True), 1):
            for end, at in self.ends[bound]:
                if end != node:
                    found.append((Meeting(node, tuple(path.bounds[:count]), end), x - at))
        return found

    @cached_property
    def ends(self) -> list[list[tuple[int, float]]]:
        """The nodes at both ends of each boundary where three perpendiculars begin, one of them towards who comes to
        the boundary, and where they are along the side.
        """
        moving = self.moving
        found: list[list[tuple[int, float]]] = [[] for _ in self.sums]
        three = {node: ways for node, ways in moving.begin.items() if len(ways) == 3}
        for bound, (side, from_side) in enumerate(zip(moving.sides_of.tolist(), self.from_side.tolist(), strict=True)):
            for nodes, places in ((moving.tails_of, moving.first), (moving.heads_of, moving.last)):
                node = int(nodes[bound])
                if (side, not from_side) in three.get(node, ()):
                    found[bound].append((node, float(places[bound])))
        return found


@dataclass(frozen=True)
class _Jumps:
    """Where perpendiculars are after so many `steps`: all places, one region after the other, on one line, which is cut
    into pieces at `cuts`. From a place z of a piece they come to shift + way z, or leave the sheet after `left` steps
    (-1: they do not). What is shorter than a `gap` is rounding.
    """

    gap: float
    steps: int
    way: float
    cuts: Floats
    shifts: Floats
    left: Integers

    def at(self, places: Floats) -> Integers:
        """The piece of each place."""
        return np.searchsorted(self.cuts, places, side="right") - 1

    def twice(self) -> _Jumps:
        """The same after twice as many steps: pieces are cut where what they come to is cut."""
        ends = np.append(self.cuts[1:], np.inf)
        on = np.flatnonzero(self.left < 0)
        low, high = np.sort(self.shifts[on] + self.way * np.stack([self.cuts[on], ends[on]]), axis=0)
        first, last = self.at(low + self.gap), self.at(high - self.gap)
        count = np.maximum(last - first, 0) + 1
        of = np.repeat(on, count)
        then = np.repeat(first, count) + np.arange(len(of)) - np.repeat(np.cumsum(count) - count, count)
        near = self.cuts[then] if self.way > 0 else ends[then]
        cuts = np.maximum(self.cuts[of], self.way * (near - self.shifts[of]))
        left = np.where(self.left[then] < 0, -1, self.steps + self.left[then])
        gone = self.left >= 0
        cuts = np.concatenate([self.cuts[gone], cuts])
        shifts = np.concatenate([self.shifts[gone], self.shifts[then] + self.way * self.shifts[of]])
        order = np.argsort(cuts, kind="stable")
        left = np.concatenate([self.left[gone], left])
        return _Jumps(self.gap, 2 * self.steps, 1.0, cuts[order], shifts[order], left[order])


class Exits:
    """After how many steps the perpendiculars of a skeleton leave the sheet, where it is now: many at once, in jumps of
    many steps.
    """

    def __init__(self, moving: Moving) -> None:
        self.moving = moving
        from_side, onwards = ways_on(moving)
        low, high = np.minimum(moving.first, moving.last), np.maximum(moving.first, moving.last)
        self.least, self.span = float(low.min()) - 1, float(high.max() - low.min()) + 2
        bounds, lows, highs = self._on_sheet(low, high)
        ahead = 2 * moving.sides_of[bounds] + from_side[bounds]
        sums = np.concatenate([moving.sums, moving.sums, np.zeros(len(moving.along))])[bounds]
        shifts = self.place(ahead, sums) + self.place(onwards[bounds], np.zeros(len(bounds)))
        cuts, ends = self.place(ahead, lows), self.place(ahead, highs)
        order = np.argsort(cuts)
        cuts, ends, shifts = cuts[order], ends[order], shifts[order]
        gap = _GAP * moving.size
        out = ends[ends + gap < np.append(cuts[1:], np.inf)]  # from there on they leave
        left = np.repeat([0, -1, 0], [1, len(cuts), len(out)])
        cuts, shifts = np.concatenate([[-np.inf], cuts, out]), np.concatenate([[0.0], shifts, np.zeros(len(out))])
        order = np.argsort(cuts)
        self.jumps = _Jumps(gap, 1, -1.0, cuts[order], shifts[order], left[order])
        for _ in range(_DOUBLED):
            self.jumps = self.jumps.twice()

    def place(self, ahead: Integers, along: Floats) -> Floats:
        """Where on the line of all places one along a side is, ahead of which boundaries lie up or down."""
        places: Floats = ahead * self.span + (along - self.least)
        return places

    def _on_sheet(self, low: Floats, high: Floats) -> tuple[Integers, Floats, Floats]:
        """The boundaries in the sheet, or what of them is, and from where to where these are along their sides."""
        moving = self.moving
        inside = moving.in_sheet()
        pieces = []
        for bound in np.flatnonzero(~inside).tolist():
            a, b = moving.begins[bound], moving.ends[bound]
            first, last = float(moving.first[bound]), float(moving.last[bound])
            shares = sorted({0.0, 1.0, *_shares(a.tolist(), b.tolist(), moving.loops)})
            for one, other in pairwise(shares):
                if is_inside(moving.loops, *(a + (one + other) / 2 * (b - a)).tolist()):
                    ends = sorted(first + share * (last - first) for share in (one, other))
                    pieces.append((bound, *ends))
        numbers = np.flatnonzero(inside)
        cut, lows, highs = (np.array(column) for column in zip(*pieces, strict=True)) if pieces else ([], [], [])
        return (
            np.concatenate([numbers, np.array(cut, dtype=int)]),
            np.concatenate([low[numbers], lows]),
            np.concatenate([high[numbers], highs]),
        )

    def steps(self, nodes: Sequence[int], most: int) -> dict[int, list[float]]:
        """For each of some nodes, and each of its ways in `Moving.begin`, how many steps it takes until the sheet is
        left: infinitely many, if more than `most`.
        """
        moving = self.moving
        starts = [(node, side, up) for node in nodes for side, up in moving.begin[node]]
        if not starts:
            return {}
        at, sides, up = np.array(starts).T
        places = self.place(2 * sides + up, (moving.along[sides] * moving.places[at]).sum(axis=1))
        found: Floats = np.full(len(starts), inf)
        on, steps = np.arange(len(starts)), 0
        while len(on) and steps <= most:
            piece = self.jumps.at(places)
            left, shifts = self.jumps.left[piece], self.jumps.shifts[piece]
            found[on[left >= 0]] = steps + left[left >= 0]
            on, places = on[left < 0], (shifts + self.jumps.way * places)[left < 0]
            steps += self.jumps.steps
        found[found > most] = inf
        ways: dict[int, list[float]] = {node: [] for node in nodes}
        for node, count in zip(at.tolist(), found.tolist(), strict=True):
            ways[node].append(count)
        return ways


def _shares(a: Sequence[float], b: Sequence[float], loops: Sequence[Sequence[tuple[float, float]]]) -> Iterator[float]:
    """At which shares of the way from a to b outlines are crossed."""
    (x, y), (u, v) = a, (b[0] - a[0], b[1] - a[1])
    for loop in loops:
        for (p, q), (r, s) in around(loop):
            one, other = u * (q - y) - v * (p - x), u * (s - y) - v * (r - x)
            if (one > 0) != (other > 0):
                share = one / (one - other)
                px, py = p + share * (r - p), q + share * (s - q)
                at = ((px - x) * u + (py - y) * v) / (u * u + v * v)
                if 0 < at < 1:
                    yield at


class Courses:
    """The perpendiculars of some meetings, over the same boundaries wherever `moving` is."""

    def __init__(self, moving: Moving, meetings: Sequence[Meeting]) -> None:
        self.moving = moving
        count, arcs = len(meetings), len(moving.roots)
        steps = np.array([one.steps for one in meetings], dtype=int)
        self.starts = np.array([one.start for one in meetings], dtype=int)
        self.ends = np.array([one.end for one in meetings], dtype=int)
        longest = int(steps.max(initial=1))
        over = 2 * arcs  # a side: nothing is added
        bounds = [[*one.bounds, *[over] * (longest - one.steps)] for one in meetings]
        self.bounds = np.array(bounds, dtype=int).reshape(count, longest)
        self.passing = np.arange(longest) < steps[:, None] - 1
        self.signs: Floats = np.where(np.arange(longest) % 2, -1.0, 1.0)
        self.first_sides = moving.sides_of[self.bounds[:, 0]]
        self.last_sides = moving.sides_of[self.bounds[np.arange(count), steps - 1]]
        self.mirrored: Floats = self.signs[steps - 1]
        # how often each arc's sum is added in the end
        self.counts: Floats = np.zeros((count, arcs + 1))
        counted = np.where(self.bounds < over, self.bounds % arcs, arcs)
        rows = np.broadcast_to(np.arange(count)[:, None], counted.shape)
        added = np.where(self.passing, -self.mirrored[:, None] * self.signs, 0.0)
        np.add.at(self.counts, (rows, counted), added)
        self.counts = self.counts[:, :arcs]

    def misses(self) -> Floats:
        """How far each perpendicular passes the node in which it is to end, along the line of the last side."""
        moving = self.moving
        starts = (moving.along[self.first_sides] * moving.places[self.starts]).sum(axis=1)
        ends = (moving.along[self.last_sides] * moving.places[self.ends]).sum(axis=1)
        misses: Floats = self.mirrored * starts + self.counts @ moving.sums - ends
        return misses

    def ways(self) -> Floats:
        """How these change with the corners (`Moving.derive`)."""
        moving = self.moving
        starts = moving.along_ways(self.starts, self.first_sides)
        ends = moving.along_ways(self.ends, self.last_sides)
        ways: Floats = self.mirrored[:, None] * starts + self.counts @ moving.sum_ways - ends
        return ways

    def places(self) -> Floats:
        """Where each perpendicular comes to its boundaries, along the sides from which it comes."""
        moving = self.moving
        starts = (moving.along[self.first_sides] * moving.places[self.starts]).sum(axis=1)
        sums = np.concatenate([moving.sums, moving.sums, np.zeros(len(moving.along))])
        added = np.cumsum(-self.signs * sums[self.bounds], axis=1)
        places: Floats = self.signs * (starts[:, None] + np.pad(added[:, :-1], [(0, 0), (1, 0)]))
        return places

    def astray(self) -> npt.NDArray[np.bool_]:
        """Which perpendiculars come to other boundaries."""
        moving, places = self.moving, self.places()
        low, high = np.minimum(moving.first, moving.last), np.maximum(moving.first, moving.last)
        out = (places < low[self.bounds]) | (places > high[self.bounds])
        found: npt.NDArray[np.bool_] = (self.passing & out).any(axis=1)
        return found

    def narrow(self, nodes: Collection[int], least: float) -> list[tuple[int, Passage]]:
        """Where a perpendicular, by its number, comes nearer than `least` to one of some nodes at an end of a boundary
        that it crosses before it comes to its own node, or has passed it.
        """
        moving = self.moving
        places = self.places()
        found = []
        for ends, x, others in (
            (moving.tails_of, moving.first, moving.last),
            (moving.heads_of, moving.last, moving.first),
        ):
            way = np.sign(others - x)  # 1: the node at this end lies lower along the side
            room = way[self.bounds] * (places - x[self.bounds])
            close = self.passing & (room < least) & np.isin(ends[self.bounds], [*nodes])
            for number, step in zip(*np.nonzero(close), strict=True):
                bound = self.bounds[number, step]
                found.append((int(number), Passage(int(step), int(ends[bound]), int(way[bound]))))
        return found
