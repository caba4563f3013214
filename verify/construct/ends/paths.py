"""Perpendiculars in a skeleton that moves, in floats: where they run, and how far they miss nodes.

A perpendicular comes to an arc at a place `x` along one side's line, and goes on along the other's at what is left of a
sum: all places of an arc have the same product with the sum of both directions (`Moving.sums`). Over a target line the
sum is 0, for the other side runs the other way. So the place after a list of crossings is the first one and the sums
of the arcs crossed, added and taken away by turns, and so is its derivative.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import chain, pairwise
from math import inf, nan
from typing import NamedTuple

import numpy as np

from verify.construct.coordinates.equations import Floats
from verify.construct.ends.moving import Integers, Moving, triple
from verify.construct.skeleton.perpendiculars import is_inside
from verify.exact.plane import around
from verify.exact.ragged import distinct

_GAP = 1e-9  # of the sheet's size: less than that between two boundaries is rounding
_LOOK = 16  # after so many steps it is looked whether all have left
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


@dataclass(frozen=True)
class Followed:
    """Perpendiculars that were followed from nodes, the `starts`: each in a row, the boundaries that it comes to (-1:
    it has left the sheet), and where it is along the sides from which it comes to them.

    `end_nodes` are the nodes at both ends of each boundary where three perpendiculars begin, one of them towards who
    comes to the boundary (-1: another node, or none), `end_places` where these are along the side.
    """

    starts: Integers
    bounds: Integers
    places: Floats
    end_nodes: Integers
    end_places: Floats

    @property
    def counts(self) -> Integers:
        """How many boundaries each comes to."""
        counts: Integers = (self.bounds >= 0).sum(axis=1)
        return counts

    def near(self, ends: Collection[int], within: float) -> tuple[Integers, Integers, Integers]:
        """Where they pass one of some nodes, by less than a distance along the side, at an end of a boundary: the rows,
        how many boundaries these then have come to, and the nodes.
        """
        nodes = np.where(self.bounds[:, :, None] >= 0, self.end_nodes[self.bounds], -1)
        near = np.abs(self.places[:, :, None] - self.end_places[self.bounds]) < within
        wanted = np.zeros(1 + max([*ends, int(nodes.max(initial=0))]) + 1, dtype=bool)  # the last for -1
        wanted[[*ends]] = True
        rows, steps, which = np.nonzero(near & wanted[nodes] & (nodes != self.starts[:, None, None]))
        return rows, steps + 1, nodes[rows, steps, which]

    def first(self, rows: Integers, steps: Integers) -> Integers:
        """The first boundaries of some rows, so many of each."""
        bounds: Integers = self.bounds[rows][np.arange(self.bounds.shape[1]) < steps[:, None]]
        return bounds

    def meeting(self, row: int, steps: int, end: int) -> Meeting:
        """That of a perpendicular with a node that it passes after so many steps."""
        return Meeting(int(self.starts[row]), tuple(self.bounds[row, :steps].tolist()), end)


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


class Paths:
    """The perpendiculars of a skeleton where it is now.

    All places from which boundaries of one region lie ahead, towards its side or away from it, are in order along the
    side, and one such stretch after the other on one line. It is cut into pieces, at `cuts`; `numbers` are the
    boundaries to which these lead (-1: out of the sheet).
    """

    def __init__(self, moving: Moving) -> None:
        self.moving = moving
        arcs, sides = len(moving.roots), len(moving.along)
        rising = moving.last > moving.first
        # what lies to the left of an arc that leads the side's way is beyond it, seen from the side
        self.from_side = np.concatenate([~rising[:arcs], rising[arcs : 2 * arcs], np.zeros(sides, dtype=bool)])
        next_up = ~self.from_side
        next_up[2 * arcs :] = True
        onwards = 2 * moving.beyond + next_up
        low, high = np.minimum(moving.first, moving.last), np.maximum(moving.first, moving.last)
        self.least, self.span = float(low.min()) - 1, float(high.max() - low.min()) + 2
        bounds, lows, highs = self._on_sheet(low, high)
        ahead = 2 * moving.sides_of[bounds] + self.from_side[bounds]
        order = np.lexsort([lows, ahead])
        bounds, lows, highs, ahead = bounds[order], lows[order], highs[order], ahead[order]
        self.gap = _GAP * moving.size
        ends = self._place(ahead, highs)
        out = ends + self.gap < np.append(self._place(ahead, lows)[1:], np.inf)  # from the end on they leave
        every = np.arange(2 * sides)  # each stretch begins with a piece that leads out
        numbers = np.concatenate([np.full(len(every), -1), bounds, np.full(out.sum(), -1)])
        ahead = np.concatenate([every, ahead, ahead[out]])
        along = np.concatenate([np.full(len(every), self.least), lows, highs[out]])
        order = np.lexsort([along, ahead])
        self.numbers: Integers = numbers[order]
        self.ahead, self.along = ahead[order], along[order]
        self.cuts: Floats = self._place(self.ahead, self.along)
        self.until: Floats = np.append(np.where(np.diff(self.ahead) == 0, self.along[1:], np.inf), np.inf)
        leads_out = self.numbers < 0
        sums = np.concatenate([moving.sums, moving.sums, np.zeros(sides)])
        self.sums: Floats = np.where(leads_out, nan, sums[self.numbers])
        self.onwards: Floats = np.where(leads_out, nan, self._place(onwards[self.numbers], np.zeros(len(numbers))))

    def _place(self, ahead: Integers, along: Floats) -> Floats:
        """Where on the line of all places one along a side is, ahead of which boundaries lie up or down."""
        places: Floats = (ahead * self.span - self.least) + along
        return places

    def _on_sheet(self, low: Floats, high: Floats) -> tuple[Integers, Floats, Floats]:
        """The boundaries in the sheet, or what of them is, and from where to where these are along their sides."""
        moving = self.moving
        inside, crossing = moving.in_sheet()
        pieces = []
        for bound in np.flatnonzero(crossing).tolist():
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

    def follow(self, nodes: Sequence[int], most: int, way: int = 0) -> Followed:
        """The perpendiculars from nodes, by their number in `Moving.begin`; `most` steps if there are more."""
        starts = [(node, *self.moving.beginning[node][way]) for node in nodes]
        begins, along = self._begin(starts)
        places: Floats = np.zeros((most, len(nodes)))
        pieces = np.full(places.shape, -1)
        for step in range(most):
            if step % _LOOK == 0 and np.isnan(along).all():
                break
            piece = np.searchsorted(self.cuts, begins + along, side="right") - 1  # the last one for nan
            piece += along >= self.until[piece]
            piece -= along < self.along[piece]
            places[step], pieces[step] = along, piece
            begins, along = self.onwards[piece], self.sums[piece] - along
        return Followed(np.array(nodes), self.numbers[pieces].T, places.T, *self._ends)

    def _begin(self, starts: Sequence[tuple[int, int, bool]]) -> tuple[Floats, Floats]:
        """Perpendiculars from nodes, up or down from a side: where on the line of all places what lies ahead begins,
        and where they are along the side.
        """
        at, sides, up = np.array(starts).T
        begins = self._place(2 * sides + up, np.zeros(len(at)))
        return begins, (self.moving.along[sides] * self.moving.places[at]).sum(axis=1)

    @cached_property
    def _ends(self) -> tuple[Integers, Floats]:
        """Of each boundary `Followed.end_nodes` and `Followed.end_places`."""
        moving = self.moving
        begins = np.zeros((len(moving.places) + 1, 2 * len(moving.along)), dtype=bool)
        for node in triple(moving.begin):
            for side, up in moving.begin[node]:
                begins[node, 2 * side + up] = True
        nodes = np.stack([moving.tails_of, moving.heads_of], axis=1)
        towards = 2 * moving.sides_of + ~self.from_side
        return np.where(begins[nodes, towards[:, None]], nodes, -1), np.stack([moving.first, moving.last], axis=1)

    @cached_property
    def _jumps(self) -> _Jumps:
        left = np.where(self.numbers < 0, 0, -1)
        shifts = np.where(left == 0, 0.0, self._place(self.ahead, self.sums) + self.onwards)
        jumps = _Jumps(self.gap, 1, -1.0, self.cuts, shifts, left)
        for _ in range(_DOUBLED):
            jumps = jumps.twice()
        return jumps

    def steps(self, nodes: Sequence[int], most: int) -> dict[int, list[float]]:
        """For each of some nodes, and each of its ways in `Moving.begin`, how many steps it takes until the sheet is
        left: infinitely many, if not fewer than `most`.
        """
        starts = [(node, *way) for node in nodes for way in self.moving.begin[node]]
        if not starts:
            return {}
        places = np.sum(self._begin(starts), axis=0)
        found: Floats = np.full(len(starts), inf)
        on, steps = np.arange(len(starts)), 0
        while len(on) and steps <= most:
            piece = self._jumps.at(places)
            left, shifts = self._jumps.left[piece], self._jumps.shifts[piece]
            found[on[left >= 0]] = steps + left[left >= 0]
            on, places = on[left < 0], (shifts + self._jumps.way * places)[left < 0]
            steps += self._jumps.steps
        found[found >= most] = inf
        ways: dict[int, list[float]] = {node: [] for node in nodes}
        for (node, *_), count in zip(starts, found.tolist(), strict=True):
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
    """The perpendiculars of some meetings, over the same boundaries wherever `moving` is: in one row, those of one
    perpendicular after those of another.
    """

    def __init__(self, moving: Moving, starts: Integers, bounds: Integers, steps: Integers, ends: Integers) -> None:
        """Those from these nodes to these, so many boundaries each."""
        self.moving, self.starts, self.ends, self.bounds, self.steps = moving, starts, ends, bounds, steps
        count, arcs = len(steps), len(moving.roots)
        self.begins = np.cumsum(steps) - steps
        self.of_meeting = np.repeat(np.arange(count), steps)
        self.step = np.arange(len(bounds)) - self.begins[self.of_meeting]
        lasts = self.begins + steps - 1
        self.passing = np.ones(len(bounds), dtype=bool)
        self.passing[lasts] = False
        self.signs: Floats = np.where(self.step % 2, -1.0, 1.0)
        self.first_sides = moving.sides_of[bounds[self.begins]]
        self.last_sides = moving.sides_of[bounds[lasts]]
        self.mirrored: Floats = self.signs[lasts]
        # how often each arc's sum is added in the end
        added = self.passing & (bounds < 2 * arcs)  # over a side nothing is
        places = (self.of_meeting * arcs + bounds % arcs)[added]
        often = (-self.mirrored[self.of_meeting] * self.signs)[added]
        counts: Floats = np.bincount(places, often, count * arcs).astype(float)
        self.counts = counts.reshape(count, arcs)

    @staticmethod
    def of(moving: Moving, meetings: Sequence[Meeting]) -> Courses:
        """Those of some meetings."""
        numbers = np.array([(one.start, one.steps, one.end) for one in meetings], dtype=int).reshape(-1, 3)
        starts, steps, ends = numbers.T
        bounds = np.fromiter(chain.from_iterable(one.bounds for one in meetings), dtype=int, count=int(steps.sum()))
        return Courses(moving, starts, bounds, steps, ends)

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
        added = -self.signs * sums[self.bounds]
        before = np.cumsum(added) - added
        places: Floats = self.signs * (before + (starts - before[self.begins])[self.of_meeting])
        return places

    def astray(self) -> Integers:
        """The perpendiculars, by number, that come to other boundaries."""
        moving, places = self.moving, self.places()
        low, high = np.minimum(moving.first, moving.last), np.maximum(moving.first, moving.last)
        out = (places < low[self.bounds]) | (places > high[self.bounds])
        return distinct(self.of_meeting[self.passing & out])

    def narrow(self, nodes: Collection[int], least: float) -> list[tuple[int, Passage]]:
        """Where a perpendicular, by its number, comes nearer than `least` to one of some nodes at an end of a boundary
        that it crosses before it comes to its own node, or has passed it.
        """
        moving, places = self.moving, self.places()
        wanted = np.zeros(len(moving.places) + 1, dtype=bool)  # the last for -1
        wanted[[*nodes]] = True
        found = []
        for ends, x, others in (
            (moving.tails_of, moving.first, moving.last),
            (moving.heads_of, moving.last, moving.first),
        ):
            at = np.flatnonzero(self.passing & wanted[ends[self.bounds]])
            bounds = self.bounds[at]
            ways = np.sign(others[bounds] - x[bounds])  # 1: the node at this end lies lower along the side
            close = ways * (places[at] - x[bounds]) < least
            for number, step, bound, way in zip(
                *(column[close].tolist() for column in (self.of_meeting[at], self.step[at], bounds, ways)), strict=True
            ):
                found.append((number, Passage(step, int(ends[bound]), int(way))))
        return found
