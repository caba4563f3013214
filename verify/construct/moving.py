"""A straight skeleton that moves with the corners of its figure, in floats: where perpendiculars then run, and how far
they miss a node.

While no arc of the skeleton shrinks to nothing its arcs stay between the same sides. Then all places follow from the
corners, and so do their derivatives: a node has one distance from three lines, and a perpendicular that comes to an arc
at a place `x` along one line goes on at the mirror image of it along the other. So the place where a perpendicular ends
up, after a list of crossings, is a sum of terms, one for each crossing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import inf
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from verify.construct.equations import Floats
from verify.construct.perpendiculars import Tracer, floats, is_inside

_APART = 1e-9  # of the sheet's size: heights that differ less are one
_FAR = 4  # times the sheet's size: the length of arcs that run for ever


@dataclass(frozen=True)
class Piece:
    """A piece of a perpendicular in the region of a side, at the place `x` along its line: `up`, away from the side, to
    an arc (None: to the side itself).
    """

    side: int
    x: float
    up: bool
    arc: int | None


@dataclass(frozen=True)
class Meeting:
    """A perpendicular from a node that is to end in another one, after these pieces; the last runs beside it."""

    start: int
    pieces: tuple[Piece, ...]
    end: int


class Passage(NamedTuple):
    """Where a perpendicular passes a node: after so many pieces; `way` is 1 if the node lies lower along the side."""

    piece: int
    node: int
    way: int


class Moving:
    """The skeleton of outlines whose corners have two lines each, and whose other nodes have three sides each.

    ValueError for any other figure. `begin` is, for each node inside the sheet but the corners, in which sides' regions
    its perpendiculars begin, and whether they lead away from the side. Corners are an array: x and y, one after the
    other. All that depends on them is that of `place_at`.
    """

    def __init__(self, tracer: Tracer) -> None:
        skeleton = self.skeleton = tracer.skeleton
        self.corners = [i for i, node in enumerate(skeleton.nodes) if not node.time]
        self.inner = {node: n for n, node in enumerate(i for i, one in enumerate(skeleton.nodes) if one.time)}
        at = {skeleton.nodes[v].place: n for n, v in enumerate(self.corners)}
        sides = skeleton.sides
        self.lines = [(at[side.start], at[side.end]) for side in sides[::2]]
        around: list[set[int]] = [set() for _ in skeleton.nodes]
        self.arcs_of: list[list[int]] = [[] for _ in sides]
        self.rows_of: list[list[int]] = [[] for _ in sides]
        for number, arc in enumerate(skeleton.arcs):
            for side in (arc.left, arc.right):
                self.arcs_of[side].append(number)
                self.rows_of[side].append(number if side == arc.left else len(skeleton.arcs) + number)
                for node in (arc.start, arc.end):
                    if node is not None:
                        around[node].add(side)
        plain = all(side.line >= 0 for side in sides) and all(len(around[v]) == 3 for v in self.inner)
        if not plain or any(len(around[v]) != 4 for v in self.corners):
            raise ValueError("the figure is not made of plain outlines, or more than three fronts meet in a node")
        self.sides_at = np.array([sorted(around[v]) for v in self.inner], dtype=int).reshape(-1, 3)
        self.begin = {v: [*tracer.starts(v)] for v in self.inner if tracer.inside[v] > 0}
        self.start: Floats = np.array([floats(skeleton.nodes[v].place) for v in self.corners]).ravel()
        self.loops = [[floats(p) for p in loop] for loop in tracer.loops]
        self.size = max(abs(x) for loop in self.loops for p in loop for x in p)
        directions = np.array([floats(arc.direction) for arc in skeleton.arcs])
        self.directions: Floats = directions / np.hypot(*directions.T)[:, None]
        ends = [(i, arc.start, arc.end) for i, arc in enumerate(skeleton.arcs) if arc.end is not None]
        self.bounded, self.tails, self.heads = (list(column) for column in zip(*ends, strict=True))
        self.endless = [i for i, arc in enumerate(skeleton.arcs) if arc.end is None]
        self.roots = [arc.start for arc in skeleton.arcs]
        self.beside = np.array([[arc.left, arc.right] for arc in skeleton.arcs]).T
        self.pairs = self._apart()
        self.place_at(self.start)

    def _apart(self) -> npt.NDArray[np.int64]:
        """Pairs of arcs of one region, or of its line and an arc, that have no end in common: by number, lines after
        the arcs.
        """
        arcs = self.skeleton.arcs
        ends = [{arc.start, arc.end} - {None} for arc in arcs]
        ends += [{self.corners[a], self.corners[b]} for a, b in self.lines]
        pairs = {
            pair
            for side, around in enumerate(self.arcs_of)
            for pair in combinations([*around, len(arcs) + side // 2], 2)
            if not ends[pair[0]] & ends[pair[1]]
        }
        return np.array(sorted(pairs), dtype=np.int64).reshape(-1, 2)

    def place_at(self, corners: Floats) -> None:
        """Move the corners, and all with them."""
        points = self.points = corners.reshape(-1, 2)
        first, last = (points[[ends[i] for ends in self.lines]] for i in (0, 1))
        along = last - first
        self.lengths: Floats = np.hypot(*along.T)
        along /= self.lengths[:, None]
        normals = np.stack([-along[:, 1], along[:, 0]], 1)
        self.along: Floats = np.repeat(along, 2, axis=0)
        self.along[1::2] *= -1
        self.normals: Floats = np.stack([-self.along[:, 1], self.along[:, 0]], 1)
        self.offsets: Floats = np.repeat((normals * first).sum(axis=1), 2)
        self.offsets[1::2] *= -1
        self.ways: list[tuple[float, float]] = [(u, v) for u, v in self.along.tolist()]
        self.heights: list[float] = self.offsets.tolist()
        self._note_turns(first, along, normals)
        equations = np.concatenate(
            [self.normals[self.sides_at], -np.ones((len(self.inner), 3, 1))],
            axis=2,
        )
        self.inverses: Floats = np.linalg.inv(equations)
        found = np.einsum("nij,nj->ni", self.inverses, self.offsets[self.sides_at])
        self.places: Floats = np.zeros((len(self.skeleton.nodes), 2))
        self.places[self.corners], self.places[[*self.inner]] = points, found[:, :2]
        self._turn_endless()
        run = self.places[self.heads] - self.places[self.tails]
        self.arc_lengths: Floats = (run * self.directions[self.bounded]).sum(axis=1)
        self.tips: Floats = self.places[self.roots] + _FAR * self.size * self.directions
        self.tips[self.bounded] = self.places[self.heads]
        self._note_seen()

    def _turn_endless(self) -> None:
        """Arcs that run for ever keep one distance from two sides."""
        one, other = self.beside[:, self.endless]
        ways = self.normals[one] + self.normals[other]
        self.directions[self.endless] = ways / np.hypot(*ways.T)[:, None]

    def _note_seen(self) -> None:
        """The ends of arcs along the line of the side on the left, and away from it; then for the side on the right."""
        sides = self.beside.ravel()
        first, last = np.tile(self.places[self.roots], (2, 1)), np.tile(self.tips, (2, 1))
        along, normals, offsets = self.along[sides], self.normals[sides], self.offsets[sides]
        columns = [
            (first * along).sum(axis=1),
            (first * normals).sum(axis=1) - offsets,
            (last * along).sum(axis=1),
            (last * normals).sum(axis=1) - offsets,
        ]
        self.seen: list[list[float]] = np.stack(columns, 1).tolist()

    def span(self, side: int, arc: int | None) -> tuple[float, float]:
        """From where to where an arc, or the side itself, goes along a side's line."""
        if arc is None:
            a, b = self.lines[side // 2][:: -1 if side % 2 else 1]
            return self._to(side, self.points[a])[0], self._to(side, self.points[b])[0]
        x, _, end, _ = self.seen[arc if self.skeleton.arcs[arc].left == side else len(self.skeleton.arcs) + arc]
        return min(x, end), max(x, end)

    def _note_turns(self, first: Floats, along: Floats, normals: Floats) -> None:
        """How each line's distance from the origin and its angle change with the corners."""
        count = len(self.lines)
        self.turns: Floats = np.zeros((2 * count, 2 * len(self.corners)))
        distance, angle = self.turns[:count], self.turns[count:]
        tail, head = ((np.arange(count)[:, None], 2 * ends[:, None] + [0, 1]) for ends in np.array(self.lines).T)
        angle[head] = normals / self.lengths[:, None]
        angle[tail] = -angle[head]
        distance[tail] = normals
        distance -= (along * first).sum(axis=1)[:, None] * angle

    def _to(self, side: int, place: Floats) -> tuple[float, float]:
        return float(self.along[side] @ place), float(self.normals[side] @ place - self.offsets[side])

    def moved(self, corners: Floats) -> float:
        """How far the corner that moves farthest is from where it was at the start."""
        return float(np.hypot(*(corners - self.start).reshape(-1, 2).T).max(initial=0.0))

    def is_like(self, shortest: Floats) -> bool:
        """Whether the skeleton still has the same arcs, none of them (but those that run for ever) shorter than
        `shortest`, and regions whose boundaries do not cross.
        """
        if (self.arc_lengths < shortest).any():
            return False
        first = np.concatenate([self.places[self.roots], self.points[[a for a, _ in self.lines]]])
        last = np.concatenate([self.tips, self.points[[b for _, b in self.lines]]])
        one, other = self.pairs.T
        a, b, c, d = first[one], last[one], first[other], last[other]
        crossing = (_turns(a, b, c) != _turns(a, b, d)) & (_turns(c, d, a) != _turns(c, d, b))
        return not crossing.any()

    def arc_way(self, number: int) -> Floats:
        """How the length of an arc (by its number in `arc_lengths`) changes with the corners."""
        along = self.directions[self.bounded[number]]
        return self._shift(self.heads[number], along) - self._shift(self.tails[number], along)

    def _shift(self, node: int, along: Floats) -> Floats:
        """How far a node moves in a direction, by the corners."""
        if node not in self.inner:
            row = np.zeros(len(self.start))
            at = 2 * self.corners.index(node)
            row[at : at + 2] = along
            return row
        way = _Way(self, node)
        way.moves(along)
        return np.array(way.row) @ self.turns

    # perpendiculars

    def path(self, node: int, most: int, way: int = 0) -> tuple[list[Piece], bool]:
        """The pieces of a perpendicular from a node, by its number in `begin`, `most` of them if there are more; and
        whether it leaves the sheet after these.
        """
        side, up = self.begin[node][way]
        x, height = self._to(side, self.places[node])
        pieces: list[Piece] = []
        while len(pieces) < most:
            at, arc = self._next(side, x, height, up)
            if at == inf:
                return pieces, True
            (u, v), away = self.ways[side], at + self.heights[side]
            here = x * u - away * v, x * v + away * u
            if not is_inside(self.loops, *here):
                return pieces, True
            pieces.append(Piece(side, x, up, arc))
            side = self.beyond(side, arc)
            if arc is None:
                x, height, up = -x, 0.0, True
            else:
                (u, v), up = self.ways[side], not up
                x, height = u * here[0] + v * here[1], u * here[1] - v * here[0] - self.heights[side]
        return pieces, False

    def _next(self, side: int, x: float, height: float, up: bool) -> tuple[float, int | None]:
        """The height at which a perpendicular comes to the boundary of a region, and the arc there."""
        sign = 1.0 if up else -1.0
        best, met = inf, None
        for row in self.rows_of[side]:
            x0, y0, x1, y1 = self.seen[row]
            if x0 <= x < x1 or x1 <= x < x0:
                ahead = sign * (y0 + (x - x0) / (x1 - x0) * (y1 - y0) - height)
                if _APART * self.size < ahead < best:
                    best, met = ahead, row % len(self.skeleton.arcs)
        low, high = self.span(side, None)
        if not up and _APART * self.size < height < best and low < x < high:
            return 0.0, None
        return height + sign * best if best < inf else inf, met

    def beyond(self, side: int, arc: int | None) -> int:
        if arc is None:
            return side ^ 1
        one = self.skeleton.arcs[arc]
        return one.right if one.left == side else one.left

    def near(self, node: int, pieces: Sequence[Piece]) -> list[tuple[Meeting, float]]:
        """The nodes where three perpendiculars begin, at ends of arcs that the path crosses, of which one runs towards
        the path: the meeting, and how far it is missed.
        """
        found = []
        for count, piece in enumerate(pieces, 1):
            arc = None if piece.arc is None else self.skeleton.arcs[piece.arc]
            for end in () if arc is None else (arc.start, arc.end):
                if end is None or end == node or len(self.begin.get(end, ())) != 3:
                    continue
                if (piece.side, not piece.up) in self.begin[end]:
                    miss = piece.x - float(self.along[piece.side] @ self.places[end])
                    found.append((Meeting(node, tuple(pieces[:count]), end), miss))
        return found

    def miss(self, meeting: Meeting) -> tuple[float, Floats]:
        """How far the perpendicular of a meeting passes its end, along the line of the last side, and the derivative
        of this in the corners.
        """
        way = _Way(self, meeting.start)
        way.runs_by(meeting.pieces[0].side)
        for piece in meeting.pieces[:-1]:
            way.goes_on(piece)
        x, row = self._place(meeting.end, meeting.pieces[-1].side)
        return way.x - x, way.sign * (np.array(way.row) @ self.turns) - row

    def _place(self, node: int, side: int) -> tuple[float, Floats]:
        """Where a node is along a side's line, and the derivative of this in the corners."""
        along, place = self.along[side], self.places[node]
        turn = self.turns[len(self.lines) + side // 2]
        return float(along @ place), self._shift(node, along) + float(self.normals[side] @ place) * turn

    def narrow(self, meeting: Meeting, least: float) -> list[Passage]:
        """Where the perpendicular of a meeting comes nearer than `least` to an end of an arc or line that it crosses
        before, or beyond it.
        """
        found = []
        x = float(self.along[meeting.pieces[0].side] @ self.places[meeting.start])
        for number, piece in enumerate(meeting.pieces[:-1]):
            low, high = self.span(piece.side, piece.arc)
            if x < low + least:
                found.append(Passage(number, self._end(piece, low), 1))
            if x > high - least:
                found.append(Passage(number, self._end(piece, high), -1))
            other = self.beyond(piece.side, piece.arc)
            x = -x if piece.arc is None else _dot(self.ways[other], self.between(piece.side, other, x))
        return found

    def between(self, side: int, other: int, x: float) -> tuple[float, float]:
        """The place at `x` along a side's line that has one distance from both sides."""
        (a, b), (c, d) = self.ways[side], self.ways[other]
        p, q = d - b, a - c  # the difference of the normals
        ahead = self.heights[side] - self.heights[other]
        size = a * q - b * p
        return (q * x - b * ahead) / size, (a * ahead - p * x) / size

    def _end(self, piece: Piece, x: float) -> int:
        """The node at that end of an arc, or of a line, whose place along the side is `x`."""
        if piece.arc is None:
            ends = [self.corners[n] for n in self.lines[piece.side // 2]]
        else:
            arc = self.skeleton.arcs[piece.arc]
            ends = [node for node in (arc.start, arc.end) if node is not None]
        return min(ends, key=lambda node: abs(float(self.along[piece.side] @ self.places[node]) - x))


class _Way:
    """A perpendicular from a node on its way: the side that it is at, its place `x` along that side's line, and how
    that changes: `sign` times `row`, the derivative in each line's distance from the origin, then in its angle.
    """

    def __init__(self, moving: Moving, node: int) -> None:
        """At a node other than a corner."""
        self.moving, self.node, self.sign, self.x, self.side = moving, node, 1.0, 0.0, -1
        self.row = [0.0] * (2 * len(moving.lines))
        self.place: tuple[float, float] = tuple(moving.places[node].tolist())

    def moves(self, along: Floats) -> None:
        """Add how far the node moves in a direction."""
        number = self.moving.inner[self.node]
        shares = along @ self.moving.inverses[number][:2]
        for side, share in zip(self.moving.sides_at[number].tolist(), shares.tolist(), strict=True):
            self._behind(side, share)

    def runs_by(self, side: int) -> None:
        """Set out square to a side."""
        self.moves(self.moving.along[side])
        self._turned(side, 1.0)
        self.side, self.x = side, _dot(self.moving.ways[side], self.place)

    def _behind(self, side: int, share: float) -> None:
        """Add how the distance of the place, if it stays, from a side falls, so many times."""
        self.row[side // 2] += -share if side % 2 else share
        self.row[len(self.moving.lines) + side // 2] += share * _dot(self.moving.ways[side], self.place)

    def _turned(self, side: int, share: float) -> None:
        """Add how its place along the side's line, if it stays, changes."""
        u, v = self.moving.ways[side]
        self.row[len(self.moving.lines) + side // 2] += share * (u * self.place[1] - v * self.place[0])

    def goes_on(self, piece: Piece) -> None:
        """From a piece to the next."""
        if piece.arc is None:
            self._straight_on()
        else:
            self._over(self.moving.beyond(piece.side, piece.arc))

    def _straight_on(self) -> None:
        """Over the target line."""
        self.side ^= 1
        self.x, self.sign = -self.x, -self.sign

    def _over(self, other: int) -> None:
        """Over the arc to the region of another side: the place has one distance from both."""
        moving, side = self.moving, self.side
        (a, b), (c, d) = moving.ways[side], moving.ways[other]
        self.place = moving.between(side, other, self.x)
        size = 1 - (a * c + b * d)
        mirror, share = round((c * (a - c) - d * (d - b)) / size), (a * d - b * c) / size
        self._turned(side, -self.sign)
        self.sign *= mirror
        self._behind(side, share * self.sign)
        self._behind(other, -share * self.sign)
        self._turned(other, self.sign)
        self.side, self.x = other, _dot(moving.ways[other], self.place)


def _dot(a: tuple[float, float], b: tuple[float, float]) -> float:
    return a[0] * b[0] + a[1] * b[1]


def _turns(a: Floats, b: Floats, c: Floats) -> npt.NDArray[np.bool_]:
    """Whether the ways from a over b to c turn left."""
    left: npt.NDArray[np.bool_] = np.linalg.det(np.stack([b - a, c - a], axis=1)) > 0
    return left


def single(begin: Mapping[int, Sequence[object]]) -> list[int]:
    """The nodes at which one perpendicular begins."""
    return [node for node, ways in begin.items() if len(ways) == 1]


def triple(begin: Mapping[int, Sequence[object]]) -> list[int]:
    """The nodes at which three perpendiculars begin."""
    return [node for node, ways in begin.items() if len(ways) == 3]
