"""A straight skeleton that moves with the corners of its figure, in floats.

While no arc of the skeleton shrinks to nothing its arcs stay between the same sides. Then all places follow from the
corners, and so do their derivatives: a node has one distance from three lines. Where perpendiculars run in it, and how
far they miss a node, is for `paths`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations

import numpy as np
import numpy.typing as npt

from verify.construct.coordinates.equations import Floats
from verify.construct.skeleton.perpendiculars import Tracer, floats
from verify.exact.plane import around

_FAR = 4  # times the sheet's size: the length of arcs that run for ever

Integers = npt.NDArray[np.int64]


class Moving:
    """The skeleton of lines none of which ends alone, whose nodes but the corners have three sides each.

    ValueError for any other figure. `begin` is, for each node in the sheet but the corners, in which sides' regions its
    perpendiculars begin, and whether they lead away from the side; but of nodes that are `looped` only the third: the
    two others are one there, which comes back. `beginning` is the same for nodes in the sheet or not. Corners are an
    array: x and y, one after the other. All that depends on them is that of `place_at`.

    A boundary, of a side's region, has a number: that of an arc, seen from the side on its left, then those of arcs
    seen from the right, then the sides themselves. `sides_of` are the sides, `beyond` those on the other side,
    `tails_of` and `heads_of` the nodes at which boundaries begin and end (-1: none).

    All arcs are to stay if it is `whole`; else those that are off the sheet may vanish, and cross there.
    """

    def __init__(self, tracer: Tracer) -> None:
        skeleton = self.skeleton = tracer.skeleton
        self.corners = [i for i, node in enumerate(skeleton.nodes) if not node.time]
        self.inner = [i for i, node in enumerate(skeleton.nodes) if node.time]
        at = {skeleton.nodes[v].place: n for n, v in enumerate(self.corners)}
        sides = skeleton.sides
        self.lines = [(at[side.start], at[side.end]) for side in sides[::2]]
        self.line_ends = np.array(self.lines).T
        meeting: list[set[int]] = [set() for _ in skeleton.nodes]
        for arc in skeleton.arcs:
            for node in (arc.start, arc.end):
                if node is not None:
                    meeting[node] |= {arc.left, arc.right}
        plain = all(side.line >= 0 for side in sides) and all(len(meeting[v]) == 3 for v in self.inner)
        if not plain:
            raise ValueError("a line ends alone, or more than three fronts meet in a node")
        self.sides_at = np.array([sorted(meeting[v]) for v in self.inner], dtype=int).reshape(-1, 3)
        self.beginning = {v: [*tracer.starts(v)] for v in self.inner}
        self.looped = self._looped(tracer)
        self.beginning |= {v: [third] for v, third in self.looped.items()}
        self.start: Floats = np.array([floats(skeleton.nodes[v].place) for v in self.corners]).ravel()
        self.loops = [[floats(p) for p in loop] for loop in tracer.loops]
        self.borders = np.array([edge for loop in self.loops for edge in around(loop)])
        self.size = max(abs(x) for loop in self.loops for p in loop for x in p)
        outline = np.array(self.loops[0])
        self.rectangle = outline.min(axis=0), outline.max(axis=0)
        self.whole = True
        directions = np.array([floats(arc.direction) for arc in skeleton.arcs])
        self.directions: Floats = directions / np.hypot(*directions.T)[:, None]
        ends = [(i, arc.start, arc.end) for i, arc in enumerate(skeleton.arcs) if arc.end is not None]
        self.bounded, self.tails, self.heads = np.array(ends).T
        self.endless = np.array([i for i, arc in enumerate(skeleton.arcs) if arc.end is None], dtype=int)
        self.roots = np.array([arc.start for arc in skeleton.arcs])
        of_sides = [[self.corners[n] for n in ends[::way]] for ends in self.lines for way in (1, -1)]
        tips = [-1 if arc.end is None else arc.end for arc in skeleton.arcs]
        self.tails_of = np.array([*self.roots, *self.roots, *(tail for tail, _ in of_sides)])
        self.heads_of = np.array([*tips, *tips, *(head for _, head in of_sides)])
        self.beside = np.array([[arc.left, arc.right] for arc in skeleton.arcs]).T
        every = np.arange(len(sides))
        self.sides_of = np.concatenate([*self.beside, every])
        self.beyond = np.concatenate([*self.beside[::-1], every ^ 1])
        self.pairs = self._apart()
        self.at: Floats | None = None
        self.is_derived = False
        self.place_at(self.start)

    def _looped(self, tracer: Tracer) -> dict[int, tuple[int, bool]]:
        """The nodes at which three perpendiculars begin, two of which are one that comes back; and the third.

        There are such only round a corner at which none begins, as where two lines cross: near it all run in a circle.
        """
        if all([*tracer.starts(corner)] for corner in self.corners):
            return {}
        found: dict[int, tuple[int, bool]] = {}
        for v, ways in self.beginning.items():
            if tracer.inside[v] <= 0:
                continue
            node = self.skeleton.nodes[v]
            others = [way for way in ways if tracer.follow(v, node.place, node.time, *way).end != v]
            if len(ways) == 3 and len(others) == 1:
                found[v] = others[0]
        return found

    def _apart(self) -> Integers:
        """Pairs of arcs of one region, or of its line and an arc, that have no end in common: by number, lines after
        the arcs.
        """
        arcs = self.skeleton.arcs
        ends = [{arc.start, arc.end} - {None} for arc in arcs]
        ends += [{self.corners[a], self.corners[b]} for a, b in self.lines]
        bounds: list[list[int]] = [[] for _ in self.skeleton.sides]
        for number, arc in enumerate(arcs):
            bounds[arc.left].append(number)
            bounds[arc.right].append(number)
        pairs = {
            pair
            for side, of_side in enumerate(bounds)
            for pair in combinations([*of_side, len(arcs) + side // 2], 2)
            if not ends[pair[0]] & ends[pair[1]]
        }
        return np.array(sorted(pairs), dtype=np.int64).reshape(-1, 2)

    def place_at(self, corners: Floats) -> None:
        """Move the corners, and all with them."""
        if corners is self.at:
            return
        self.at, self.is_derived = corners, False
        points = self.points = corners.reshape(-1, 2)
        tails, heads = self.line_ends
        along = points[heads] - points[tails]
        self.lengths: Floats = np.hypot(*along.T)
        along /= self.lengths[:, None]
        self.along: Floats = np.repeat(along, 2, axis=0)
        self.along[1::2] *= -1
        self.normals: Floats = np.stack([-self.along[:, 1], self.along[:, 0]], 1)
        self.offsets: Floats = (self.normals * np.repeat(points[tails], 2, axis=0)).sum(axis=1)
        equations = np.concatenate(
            [self.normals[self.sides_at], -np.ones((len(self.inner), 3, 1))],
            axis=2,
        )
        self.inverses: Floats = np.linalg.inv(equations)
        found = np.einsum("nij,nj->ni", self.inverses, self.offsets[self.sides_at])
        self.places: Floats = np.zeros((len(self.skeleton.nodes), 2))
        self.places[self.corners], self.places[self.inner] = points, found[:, :2]
        self.inside = self._in_sheet(self.places)
        self.begin = {v: ways for v, ways in self.beginning.items() if self.inside[v]}
        self._turn_endless()
        run = self.places[self.heads] - self.places[self.tails]
        self.arc_lengths: Floats = (run * self.directions[self.bounded]).sum(axis=1)
        self.tips: Floats = self.places[self.roots] + _FAR * self.size * self.directions
        self.tips[self.bounded] = self.places[self.heads]
        self._note_boundaries()
        self.sums: Floats = (self._both() * self.places[self.roots]).sum(axis=1)

    def _turn_endless(self) -> None:
        """Arcs that run for ever keep one distance from two sides."""
        one, other = self.beside[:, self.endless]
        ways = self.normals[one] + self.normals[other]
        self.directions[self.endless] = ways / np.hypot(*ways.T)[:, None]

    def _both(self) -> Floats:
        """The sum of the directions of both sides, of each arc.

        The product with it is the same for all places on the arc: what a place is along one side's line and along the
        other's together.
        """
        one, other = self.beside
        both: Floats = self.along[one] + self.along[other]
        return both

    def _note_boundaries(self) -> None:
        """The places at which boundaries begin and end, and where these are along their sides."""
        self.begins: Floats = self.places[self.tails_of]
        self.ends: Floats = np.concatenate([self.tips, self.tips, self.places[self.heads_of[2 * len(self.roots) :]]])
        along = self.along[self.sides_of]
        self.first: Floats = (self.begins * along).sum(axis=1)
        self.last: Floats = (self.ends * along).sum(axis=1)

    def moved(self, corners: Floats) -> float:
        """How far the corner that moves farthest is from where it was at the start."""
        return float(np.hypot(*(corners - self.start).reshape(-1, 2).T).max(initial=0.0))

    def short(self, shortest: Floats) -> list[int]:
        """The arcs, by their numbers in `arc_lengths`, that are shorter than `shortest`, if they count (`whole`)."""
        short = self.arc_lengths < shortest
        if not self.whole:
            short &= self._is_near(self.places[self.tails]) | self._is_near(self.places[self.heads])
        found: list[int] = np.flatnonzero(short).tolist()
        return found

    def is_like(self, shortest: Floats) -> bool:
        """Whether the skeleton still has the same arcs, none of them (but those that run for ever) shorter than
        `shortest`, and regions whose boundaries do not cross.
        """
        if self.short(shortest):
            return False
        arcs = len(self.roots)
        arcs_and_lines = np.r_[:arcs, 2 * arcs : len(self.sides_of) : 2]
        first, last = self.begins[arcs_and_lines], self.ends[arcs_and_lines]
        one, other = self.pairs.T
        crossing = _cross(first[one], last[one], first[other], last[other])
        if self.whole or not crossing.any():
            return not crossing.any()
        one, other = one[crossing], other[crossing]
        meeting = _meeting(first[one], last[one], first[other], last[other])
        return not self._is_near(meeting).any()

    def _is_near(self, places: Floats) -> npt.NDArray[np.bool_]:
        """Which places are in the rectangle round the sheet."""
        low, high = self.rectangle
        near: npt.NDArray[np.bool_] = ((places > low) & (places < high)).all(axis=1)
        return near

    def _in_sheet(self, places: Floats) -> npt.NDArray[np.bool_]:
        """Which places are in the sheet."""
        (a, b), (x, y) = (self.borders.transpose(1, 2, 0)[..., None]), places.T
        with np.errstate(divide="ignore", invalid="ignore"):
            met = ((a[1] > y) != (b[1] > y)) & (x < a[0] + (b[0] - a[0]) * (y - a[1]) / (b[1] - a[1]))
        inside: npt.NDArray[np.bool_] = met.sum(axis=0) % 2 == 1
        return inside

    def prongs(self) -> Integers:
        """How many perpendiculars begin at each node off the target (loops left out), 0 at others: one in each region
        there but those that end in it, along their side.
        """
        arcs = 2 * len(self.roots)
        ways = np.sign(self.last - self.first)[:arcs]
        tails, heads, sides = self.tails_of[:arcs], self.heads_of[:arcs], self.sides_of[:arcs]
        signs = np.ones((len(self.places), len(self.along)))  # of both arcs of a region at a node: 1 if one way
        np.multiply.at(signs, (tails, sides), ways)
        ending = heads >= 0
        np.multiply.at(signs, (heads[ending], sides[ending]), -ways[ending])
        found = np.zeros(len(self.places), dtype=np.int64)
        found[self.inner] = (signs[np.array(self.inner)[:, None], self.sides_at] < 0).sum(axis=1)
        found[[*self.looped]] -= 2
        return found

    def in_sheet(self) -> tuple[npt.NDArray[np.bool_], npt.NDArray[np.bool_]]:
        """Which boundaries are in the sheet, and which cross its border."""
        borders = self.borders
        crossing: npt.NDArray[np.bool_] = np.zeros(len(self.begins), dtype=bool)
        crossing[:] = _cross(self.begins[:, None], self.ends[:, None], borders[:, 0], borders[:, 1]).any(axis=1)
        return self.inside[self.tails_of] & ~crossing, crossing

    # derivatives in the corners

    def derive(self) -> None:
        """Note how all moves with the corners: lines turn (`turns`, by side), nodes move (`shifts`: x and y), and sums
        change (`sum_ways`, of arcs).
        """
        if self.is_derived:
            return
        self.is_derived = True
        count = len(self.lines)
        tails, heads = self.line_ends
        turns, distances = np.zeros((2, count, len(self.start)))
        tail, head = ((np.arange(count)[:, None], 2 * ends[:, None] + [0, 1]) for ends in (tails, heads))
        along, normals, points = self.along[::2], self.normals[::2], self.points[tails]
        turns[head] = normals / self.lengths[:, None]
        turns[tail] = -turns[head]
        distances[tail] = normals
        distances -= (along * points).sum(axis=1)[:, None] * turns
        self.turns: Floats = np.repeat(turns, 2, axis=0)
        distances = np.repeat(distances, 2, axis=0)
        distances[1::2] *= -1
        at = self.sides_at
        far = np.einsum("nsk,nk->ns", self.along[at], self.places[self.inner])
        lines_there = distances[at] + far[:, :, None] * self.turns[at]
        self.shifts: Floats = np.zeros((len(self.places), 2, len(self.start)))
        self.shifts[self.inner] = self.inverses[:, :2] @ lines_there
        self.shifts[self.corners] = np.eye(len(self.start)).reshape(-1, 2, len(self.start))
        self.sum_ways: Floats = np.einsum("ak,akc->ac", self._both(), self.shifts[self.roots])
        for sides in self.beside:
            across = (self.normals[sides] * self.places[self.roots]).sum(axis=1)
            self.sum_ways += across[:, None] * self.turns[sides]

    def arc_ways(self, numbers: Sequence[int]) -> Floats:
        """How the lengths of arcs (by their numbers in `arc_lengths`) change."""
        arcs, heads, tails = (ends[[*numbers]] for ends in (self.bounded, self.heads, self.tails))
        ways: Floats = np.einsum("ak,akc->ac", self.directions[arcs], self.shifts[heads] - self.shifts[tails])
        return ways

    def along_ways(self, nodes: Integers, sides: Integers) -> Floats:
        """How the places of nodes along the lines of sides change."""
        across = (self.normals[sides] * self.places[nodes]).sum(axis=1)
        ways: Floats = np.einsum("ak,akc->ac", self.along[sides], self.shifts[nodes])
        ways += across[:, None] * self.turns[sides]
        return ways


def _cross(a: Floats, b: Floats, c: Floats, d: Floats) -> npt.NDArray[np.bool_]:
    """Whether the segments from a to b and from c to d cross."""
    crossing: npt.NDArray[np.bool_] = (_left(a, b, c) != _left(a, b, d)) & (_left(c, d, a) != _left(c, d, b))
    return crossing


def _meeting(a: Floats, b: Floats, c: Floats, d: Floats) -> Floats:
    """Where the segments from a to b meet the lines through c and d."""
    along, across = b - a, np.stack([c[:, 1] - d[:, 1], d[:, 0] - c[:, 0]], axis=1)
    share = ((c - a) * across).sum(axis=1) / (along * across).sum(axis=1)
    places: Floats = a + share[:, None] * along
    return places


def _left(a: Floats, b: Floats, c: Floats) -> npt.NDArray[np.bool_]:
    """Whether the ways from a over b to c turn left."""
    u, v = b - a, c - a
    turns_left: npt.NDArray[np.bool_] = u[..., 0] * v[..., 1] > u[..., 1] * v[..., 0]
    return turns_left


def single(begin: Mapping[int, Sequence[object]]) -> list[int]:
    """The nodes at which one perpendicular begins."""
    return [node for node, ways in begin.items() if len(ways) == 1]


def triple(begin: Mapping[int, Sequence[object]]) -> list[int]:
    """The nodes at which three perpendiculars begin."""
    return [node for node, ways in begin.items() if len(ways) == 3]
