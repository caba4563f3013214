"""A target moved a little, so that perpendiculars that would run on and on end in nodes of its skeleton.

At a node where an edge of the front has shrunk to nothing, one perpendicular begins, and every pattern needs it. Within
a few steps it passes close by a node at which three begin. If it ends there, fold it: both nodes are served, the two
other perpendiculars of the second node are not needed, and whatever runs beside them goes on as if there was no node
(`corridors`; proofs/theory/corridors.md, K5). So nodes are joined in such pairs, one after the other, those first that
cost least in steps and movement; after each the corners are moved so that all pairs are joined and the corner that
moves farthest moves little.

Floats choose (`moving`). Then the lines get rational directions close to those found. With these all else is linear in
the lines' distances from the origin: a perpendicular that goes from the line i over an arc to the line j is the mirror
image of itself, so that each crossing adds one term. The equations are solved exactly, and what comes back was checked
as `snapped` says. That the perpendiculars now end is seen when they are followed, exactly.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import atan2, floor, inf, isqrt, pi

import numpy as np

from verify.construct.equations import Floats, Form, coordinate, solved
from verify.construct.figure import figure_of
from verify.construct.front import straight_skeleton
from verify.construct.moving import Meeting, Moving, Passage, single, triple
from verify.construct.net import Net, NotSnapped, near_direction
from verify.construct.perpendiculars import MOST_STEPS, Tracer, floats
from verify.construct.snapping import Snapped, moved, snapped
from verify.exact.number import Number
from verify.exact.plane import Point
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.pattern.limits import Limits

_FIRST = Fraction(1, 20)  # of what is allowed: to make the directions rational, before anything else
_STEPS = 100  # of a perpendicular that is to end
_WORTHS = (30.0, 10.0, 90.0)  # steps: as dear as moving all that is allowed; the best of these is taken
_AIM = 0.9  # of what is allowed; the rest is for rounding
_MISS = 8.0  # times what is allowed
_SHORTEST, _ROOM = 0.02, 0.003  # of what is allowed: what is left of arcs, and beside their ends
_OFFERS = 40  # refused one after the other
_CORRECTIONS = 16
_FIRST_STEPS, _FIRST_MOST = 3, 2  # so many of them may lead so much farther
_HELD = 40  # arcs that would shrink to nothing, and perpendiculars that would pass a node on the other side
_WEIGHINGS = 5
_LIGHTEST, _TINY = 1e-4, 1e-300
_CLOSE = 1e-10  # of the sheet's size
_ANGLES = (1e-3, 3e-4, 1e-4, 1e-5, 1e-6)  # radians: how near rational directions are
_GRID = 1000  # distances are rounded to so small a part of what is allowed
_INDEPENDENT = 1e-6


def ended(document: Document, most: Fraction, limits: Limits = Limits()) -> Snapped:
    """The document with its target moved by at most `most`, in the document's unit, so that as many perpendiculars as
    possible end in nodes after few steps; as `snapped`, its lines have rational unit vectors. Symmetries are not kept.

    Only targets of plain outlines: `NotSnapped` if more than two lines meet in a point or more than three fronts in a
    node, if no perpendicular can be made to end, or if the target would be another one. `Malformed` and `LimitReached`
    as `snapped`.
    """
    first = snapped(document, most * _FIRST, limits).document
    figure = figure_of(first, limits)
    tracer = Tracer(straight_skeleton(figure.points, figure.lines, figure.directions, limits), figure.loops)
    try:
        moving = Moving(tracer)
    except ValueError as other:
        raise NotSnapped(str(other)) from other
    searches = [_Search(moving, float(most) * _AIM, worth, even) for worth in _WORTHS for even in (True, False)]
    for search in searches:
        search.run()
    search = min(searches, key=lambda one: one.steps())
    if not search.taken:
        raise NotSnapped("no perpendicular comes close to a node in which it may end")
    if search.steps() == inf:
        raise NotSnapped(f"some perpendiculars do not end within {MOST_STEPS} steps, nor near a node in which they may")
    net = Net(document, limits, False)
    before, after = draw(document, limits).places, draw(first, limits).places
    old = {after[name]: before[name] for name in before}
    corners = [old[moving.skeleton.nodes[v].place] for v in moving.corners]
    if {*corners} != {net.before.vertices[v] for v in net.vertices}:
        raise NotSnapped("a point of the figure is no corner of it")
    for within in _ANGLES:
        places = _solved(moving, search, within, most)
        if places is not None:
            new = dict(zip(corners, places, strict=True))
            found = moved(net, {v: new[net.before.vertices[v]] for v in net.vertices}, most, rational=True)
            if found is not None:
                return found
    raise NotSnapped("no round directions were found for which the perpendiculars end")


def _solved(moving: Moving, search: _Search, within: float, most: Fraction) -> list[Point] | None:
    """The corners, exactly, for rational directions so near those found; None if perpendiculars then go other ways."""
    moving.place_at(search.corners)
    exact = _Exact(moving, within)
    equations = [exact.equation(meeting) for meeting in search.taken]
    size = len(moving.lines)
    rows = np.array([[float(form.factors.get(i, 0)) for i in range(size)] for form in equations])
    rows /= np.linalg.norm(rows, axis=1)[:, None]
    points = search.corners.reshape(-1, 2)
    middles = np.array([(points[a] + points[b]) / 2 for a, b in moving.lines])
    normals = np.array([floats(n) for n in exact.normals[::2]])
    distances = (normals * middles).sum(axis=1)
    distances -= np.linalg.lstsq(rows, rows @ distances, rcond=None)[0]
    grid = most / _GRID
    free = sorted({*range(size)} - {*_held(rows)})
    pins = [coordinate(i) - Form({}, Number.of(round(Fraction(distances[i]) / grid) * grid)) for i in free]
    found = solved([*equations, *pins], size)
    if found is None:
        return None
    places = [Point(*(exact.value(form, found) for form in exact.corner(n))) for n in range(len(moving.corners))]
    moving.place_at(np.array([floats(place) for place in places]).ravel())
    if not moving.is_like(search.shortest / 2) or any(moving.narrow(one, 0.0) for one in search.taken):
        return None
    return places


def _held(rows: Floats) -> list[int]:
    """Unknowns, one for each equation, for which these can be solved without losing digits: in each column in turn what
    is longest after the others are taken away.
    """
    left = rows.copy()
    held: list[int] = []
    for _ in rows:
        norms = np.linalg.norm(left, axis=0)
        norms[held] = 0
        best = int(norms.argmax())
        held.append(best)
        way = left[:, best] / norms[best]
        left = left - np.outer(way, way @ left)
    return held


def _rational(angle: float, within: float) -> Point:
    """A rational unit vector so near an angle."""
    quarter = floor(angle / (pi / 2))
    x, y = near_direction(angle - quarter * pi / 2, within, False)
    for _ in range(quarter % 4):
        x, y = -y, x
    size = isqrt(x * x + y * y)
    return Point(Number.of(Fraction(x, size)), Number.of(Fraction(y, size)))


@dataclass(frozen=True)
class _Offer:
    """A meeting that may be had, what it costs, and how far it is missed."""

    cost: float
    meeting: Meeting


class _Search:
    """Meetings chosen one after the other, and where the corners are then."""

    def __init__(self, moving: Moving, most: float, worth: float, even: bool) -> None:
        """`even`: the greatest movement is to be little, else the sum of squares."""
        self.moving, self.most, self.worth = moving, most, worth
        self.weighings = _WEIGHINGS if even else 1
        moving.place_at(moving.start)
        self.corners = moving.start
        self.taken: list[Meeting] = []
        self.basis: Floats = np.zeros((0, len(moving.start)))
        self.shortest = np.minimum(_SHORTEST * most, moving.arc_lengths / 4)
        self.open = self._to_join()
        self.ends = {*triple(moving.begin)}

    def _to_join(self) -> list[int]:
        """The nodes whose perpendiculars are to end in others: all but as many as are too many, those nearest the
        border of the sheet.
        """
        nodes = single(self.moving.begin)
        spare = max(0, len(nodes) - len(triple(self.moving.begin)))
        steps = {}
        for node in nodes:
            pieces, leaves = self.moving.path(node, _STEPS)
            steps[node] = len(pieces) if leaves else inf
        return sorted(nodes, key=lambda node: steps[node])[spare:]

    def steps(self) -> float:
        """How many steps all perpendiculars take from nodes at which one begins, and one each from nodes not joined at
        which three do, the shortest; infinite if some do not end.
        """
        self.moving.place_at(self.corners)
        joined = {one.start: len(one.pieces) for one in self.taken}
        total: float = sum(joined.values())
        for node in single(self.moving.begin):
            total += 0 if node in joined else self._until_it_leaves(node, 0)
        for node in self.ends:
            total += min(self._until_it_leaves(node, way) for way in range(3))
        return total

    def _until_it_leaves(self, node: int, way: int) -> float:
        pieces, leaves = self.moving.path(node, MOST_STEPS, way)
        return len(pieces) if leaves else inf

    def run(self) -> None:
        while self.open and self.ends and self._join_one():
            pass

    def _join_one(self) -> bool:
        self.moving.place_at(self.corners)
        for offer in self._offers()[:_OFFERS]:
            taken = [*self.taken, offer.meeting]
            corners = self._corrected(taken)
            if corners is not None:
                self.corners, self.taken = corners, taken
                self.open.remove(offer.meeting.start)
                self.ends.discard(offer.meeting.end)
                rows = np.array([self.moving.miss(one)[1] for one in taken])
                self.basis = np.linalg.qr(rows.T)[0].T
                return True
        return False

    def _offers(self) -> list[_Offer]:
        """What may be joined next, cheapest first: steps, and how far corners move to keep all that is joined."""
        found = []
        for node in self.open:
            pieces, _ = self.moving.path(node, _STEPS)
            for meeting, roughly in self.moving.near(node, pieces):
                if meeting.end in self.ends and abs(roughly) < _MISS * self.most:
                    miss, way = self.moving.miss(meeting)
                    free = float(np.linalg.norm(way - self.basis.T @ (self.basis @ way)))
                    if free > _INDEPENDENT and abs(miss) < _MISS * self.most * free:
                        cost = len(meeting.pieces) + self.worth * abs(miss) / free / self.most
                        found.append(_Offer(cost, meeting))
        return sorted(found, key=lambda offer: offer.cost)

    def _corrected(self, meetings: Sequence[Meeting]) -> Floats | None:
        """Corners near the start at which all these are met; None if they are too far, or the skeleton has other arcs
        there, or a perpendicular goes another way. (Gauss and Newton, in floats; arcs that would vanish are kept at a
        length, and perpendiculars that would pass a node on the other side at a distance from it.)
        """
        moving, corners = self.moving, self.corners
        room = _ROOM * self.most
        held: set[int] = set()
        passages: set[tuple[int, Passage]] = set()
        for step in range(_CORRECTIONS):
            if moving.moved(corners) > (self.most if step > _FIRST_STEPS else _FIRST_MOST * self.most):
                return None
            moving.place_at(corners)
            short = np.flatnonzero(moving.arc_lengths < self.shortest).tolist()
            narrow = [(n, one) for n, meeting in enumerate(meetings) for one in moving.narrow(meeting, room)]
            found = [moving.miss(one) for one in meetings]
            misses, rows = [one[0] for one in found], [one[1] for one in found]
            if step and max(map(abs, misses)) < _CLOSE * moving.size and not (short or narrow):
                return corners if moving.is_like(self.shortest) else None
            held.update(short)
            passages.update(narrow)
            if len(held) + len(passages) > _HELD:
                return None
            for arc in sorted(held):
                misses.append(moving.arc_lengths[arc] - 2 * self.shortest[arc])
                rows.append(moving.arc_way(arc))
            for n, (piece, node, way) in sorted(passages):
                miss, row = moving.miss(Meeting(meetings[n].start, meetings[n].pieces[: piece + 1], node))
                misses.append(miss - 2 * way * room)
                rows.append(row)
            equations = np.array(rows)
            values = equations @ (corners - moving.start) - np.array(misses)
            corners = moving.start + _nearest(equations, values, self.weighings)
        return None


def _nearest(equations: Floats, values: Floats, weighings: int) -> Floats:
    """A movement with these values: that with the least sum of squares, or, after some weighings, one for which the
    corner that moves farthest moves less (Lawson's weights).
    """
    weights = np.ones(equations.shape[1] // 2)
    for _ in range(weighings):
        shares = np.repeat(weights**-0.5, 2)
        found = shares * np.linalg.lstsq(equations * shares, values, rcond=None)[0]
        moved = np.hypot(*found.reshape(-1, 2).T)
        weights = np.maximum(weights * moved / max(moved.max(), _TINY), _LIGHTEST)
        weights /= weights.mean()
    return found


class _Exact:
    """The figure with fixed rational directions: places as linear forms in the lines' distances from the origin."""

    def __init__(self, moving: Moving, within: float) -> None:
        self.moving, self.skeleton = moving, moving.skeleton
        self.along: list[Point] = []
        for x, y in moving.along[::2]:
            d = _rational(atan2(y, x), within)
            self.along += [d, Point(-d.x, -d.y)]
        self.normals = [Point(-d.y, d.x) for d in self.along]

    def _distance(self, side: int) -> Form:
        return Form({side // 2: Number.of(-1 if side % 2 else 1)})

    def _meeting(self, p: Point, a: Form, q: Point, b: Form) -> tuple[Form, Form]:
        """The place with the products a with p and b with q."""
        share = 1 / (p.x * q.y - p.y * q.x)
        return (
            a.times(q.y * share) - b.times(p.y * share),
            b.times(p.x * share) - a.times(q.x * share),
        )

    def corner(self, number: int) -> tuple[Form, Form]:
        """The place of a corner, on its two lines."""
        one, other = (2 * i for i, ends in enumerate(self.moving.lines) if number in ends)
        return self._meeting(self.normals[one], self._distance(one), self.normals[other], self._distance(other))

    def _node(self, node: int) -> tuple[Form, Form]:
        """The place that has one distance from three sides."""
        a, b, c = (int(side) for side in self.moving.sides_at[self.moving.inner[node]])
        return self._meeting(*self._between(a, b), *self._between(a, c))

    def _between(self, one: int, other: int) -> tuple[Point, Form]:
        """What holds where two sides are at one distance."""
        m, n = self.normals[one], self.normals[other]
        return Point(m.x - n.x, m.y - n.y), self._distance(one) - self._distance(other)

    def _on(self, side: int, place: tuple[Form, Form]) -> Form:
        d = self.along[side]
        return place[0].times(d.x) + place[1].times(d.y)

    def equation(self, meeting: Meeting) -> Form:
        """What is 0 if the perpendicular ends in the node."""
        x = self._on(meeting.pieces[0].side, self._node(meeting.start))
        for piece in meeting.pieces[:-1]:
            other = self.moving.beyond(piece.side, piece.arc)
            if piece.arc is None:
                x = x.times(Number.of(-1))
            else:
                x = self._on(other, self._meeting(self.along[piece.side], x, *self._between(piece.side, other)))
        return x - self._on(meeting.pieces[-1].side, self._node(meeting.end))

    def value(self, form: Form, distances: Sequence[Number]) -> Number:
        total = form.constant
        for i, factor in form.factors.items():
            total = total + factor * distances[i]
        return total
