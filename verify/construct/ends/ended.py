"""A target moved a little, to make perpendiculars that would run on and on end in nodes of its skeleton.

At a node where an edge of the front has shrunk to nothing, one perpendicular begins, and every pattern needs it. Within
a few steps it passes close by a node at which three begin. If it ends there, fold it: both nodes are served, the two
other perpendiculars of the second node are not needed, and whatever runs beside them goes on as if there was no node
(`corridors`; proofs/theory/corridors.md, K5). So nodes are joined in such pairs (`pairs`).

Floats choose. Then the lines get rational directions close to those found. With these all else is linear in
the lines' distances from the origin: a perpendicular that goes from the line i over an arc to the line j is the mirror
image of itself, so that each crossing adds one term. The equations are solved exactly, by few digits (`lattice`), and
what comes back was checked as `snapping` says. That the perpendiculars now end is seen when they are followed, exactly.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import chain
from math import atan2, floor, isqrt, pi

import numpy as np

from verify.construct.coordinates.equations import Form
from verify.construct.coordinates.lattice import short_solution
from verify.construct.coordinates.net import Net, NotSnapped, near_direction
from verify.construct.coordinates.regular import rational
from verify.construct.coordinates.snapping import Snapped, moved
from verify.construct.ends.moving import Moving
from verify.construct.ends.pairs import Pairs
from verify.construct.ends.paths import Courses, Meeting
from verify.construct.skeleton.figure import figure_of
from verify.construct.skeleton.front import straight_skeleton
from verify.construct.skeleton.perpendiculars import Tracer, floats
from verify.exact.number import Number
from verify.exact.plane import Point
from verify.pattern.arrangement import subdivide
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.pattern.limits import Limits
from verify.pattern.names import Names

# of what is allowed: to make the directions rational, before anything else; less, if lines that nearly continue each
# other get one direction, and their corner is none any more
_FIRST = (Fraction(1, 20), Fraction(1, 200), Fraction(1, 2000))
_SOON, _PATIENCE, _ROUNDS = 15, 25, 80  # rounds
_STARTS = 4  # of as many searches, one after the other
_AIM = 0.9  # of what is allowed; the rest is for rounding
_ANGLES = (1e-3, 3e-4, 1e-4, 3e-5, 1e-5, 1e-6)  # radians: how near rational directions are
_ROUNDING = 10**6  # distances are rounded by no more than so small a part of what is allowed


def ended(
    document: Document, most: Fraction, limits: Limits = Limits(), *, farthest: Fraction = Fraction(0)
) -> Snapped:
    """The document with its target moved by at most `most`, in the document's unit, so that as many perpendiculars as
    possible end in nodes after few steps. Its lines have rational unit vectors. Symmetries are not kept.
    If some do not end, it is moved by at most `farthest`, if that is more.

    Lines that cross get a point there, and may bend in it. `NotSnapped` if a line ends alone, if more than three fronts
    meet in a node, if no perpendicular can be made to end, or if the target would be another one. `Malformed` and
    `LimitReached` as `regular`.
    """
    document = of_corners(document, limits)
    net = Net(document, limits)
    for part in _FIRST:
        first = rational(net, most * part, limits).document
        figure = figure_of(first, limits)
        if len(figure.points) == len(net.vertices):
            break
    tracer = Tracer(straight_skeleton(figure.points, figure.lines, figure.directions), figure.loops)
    try:
        moving = Moving(tracer)
    except ValueError as other:
        raise NotSnapped(str(other)) from other
    pairs = Pairs(moving, float(most) * _AIM)
    pairs.join()
    if farthest <= most or not pairs.endless():
        pairs.search(_SOON)
        if farthest <= most or not pairs.endless(True):
            pairs.join()
            pairs.search_anew(_STARTS, _PATIENCE)
    if farthest > most and pairs.endless(True):
        most = farthest
        pairs.end_more(float(most) * _AIM, _ROUNDS)
    if not pairs.taken:
        raise NotSnapped("no perpendicular comes close to a node in which it may end")
    if pairs.endless():
        steps = f"{pairs.most_steps:,}"
        raise NotSnapped(f"some perpendiculars do not end within {steps} steps, nor near a node in which they may")
    before, after = draw(document, limits).places, draw(first, limits).places
    old = {after[name]: before[name] for name in before}
    corners = [old[moving.skeleton.nodes[v].place] for v in moving.corners]
    if {*corners} != {net.before.vertices[v] for v in net.vertices}:
        raise NotSnapped("a point of the figure is no corner of it")
    for within in _ANGLES:
        places = _solved(moving, pairs, within, most)
        if places is not None:
            new = dict(zip(corners, places, strict=True))
            found = moved(net, {v: new[net.before.vertices[v]] for v in net.vertices}, most)
            if found is not None:
                return found
    raise NotSnapped("no round directions were found for which the perpendiculars end")


def of_corners(document: Document, limits: Limits = Limits()) -> Document:
    """The document with a point of each of its target lines wherever another one meets it, and none in the middle of a
    straight line.
    """
    s = subdivide(draw(document, limits), limits)
    corners = {*chain.from_iterable(s.straight(i for i, edge in enumerate(s.edges) if edge.target))}
    names = Names(s.drawing.names, document.points, "x")
    chains = iter(s.target_chains)

    def through(line: Sequence[str], count: int) -> Iterator[str]:
        """The names along the first lines of a loop or path, so many."""
        for name, (first, *inner, _) in zip(line[:count], chains, strict=False):
            if first in corners:
                yield name
            yield from (names.of(s.vertices[v]) for v in inner if v in corners)

    loops = tuple(tuple(through(loop, len(loop))) for loop in document.loops)
    paths = tuple((*through(path, len(path) - 1), path[-1]) for path in document.paths)
    return replace(document, points={**document.points, **names.made}, loops=loops, paths=paths, raw=None)


def _solved(moving: Moving, pairs: Pairs, within: float, most: Fraction) -> list[Point] | None:
    """The corners, exactly, for rational directions so near those found; None if perpendiculars then go other ways."""
    moving.place_at(pairs.corners)
    exact = _Exact(moving, within)
    try:
        equations = [*(exact.equation(meeting) for meeting in pairs.taken), *exact.crossings()]
    except ZeroDivisionError:  # lines that were nearly parallel now are
        return None
    size = len(moving.lines)
    rows = np.array([[float(form.factors.get(i, 0)) for i in range(size)] for form in equations])
    rows /= np.linalg.norm(rows, axis=1)[:, None]
    points = pairs.corners.reshape(-1, 2)
    middles = np.array([(points[a] + points[b]) / 2 for a, b in moving.lines])
    normals = np.array([floats(n) for n in exact.normals[::2]])
    distances = (normals * middles).sum(axis=1)
    distances -= np.linalg.lstsq(rows, rows @ distances, rcond=None)[0]
    corners = range(len(moving.corners))
    sides = np.array([exact.sides(corner)[:2] for corner in corners]) // 2
    moving.place_at(np.linalg.solve(normals[sides], distances[sides][:, :, None]).ravel())
    if not moving.is_like(pairs.shortest / 2) or Courses.of(moving, pairs.taken).narrow(pairs.parting, 0.0):
        return None
    found = short_solution(equations, distances, float(most) / _ROUNDING)
    if found is None:
        return None
    return [Point(*(exact.value(form, found) for form in exact.corner(corner))) for corner in corners]


def _rational(angle: float, within: float) -> Point:
    """A rational unit vector so near an angle."""
    quarter = floor(angle / (pi / 2))
    x, y = near_direction(angle - quarter * pi / 2, within, False)
    for _ in range(quarter % 4):
        x, y = -y, x
    size = isqrt(x * x + y * y)
    return Point(Number.of(Fraction(x, size)), Number.of(Fraction(y, size)))


class _Exact:
    """The figure with fixed rational directions: places as linear forms in the lines' distances from the origin."""

    def __init__(self, moving: Moving, within: float) -> None:
        self.moving, self.skeleton = moving, moving.skeleton
        self.along: list[Point] = []
        for x, y in moving.along[::2]:
            d = _rational(atan2(y, x), within)
            self.along += [d, Point(-d.x, -d.y)]
        self.normals = [Point(-d.y, d.x) for d in self.along]
        self.sums: dict[int, Form] = {}

    def _distance(self, side: int) -> Form:
        return Form({side // 2: Number.of(-1 if side % 2 else 1)})

    def _meeting(self, p: Point, a: Form, q: Point, b: Form) -> tuple[Form, Form]:
        """The place with the products a with p and b with q."""
        share = 1 / (p.x * q.y - p.y * q.x)
        return (
            a.times(q.y * share) - b.times(p.y * share),
            b.times(p.x * share) - a.times(q.x * share),
        )

    def sides(self, corner: int) -> list[int]:
        """A side of each line that ends in a corner; the second is that which is least in line with the first."""
        first, *others = (2 * i for i, ends in enumerate(self.moving.lines) if corner in ends)
        d = self.moving.along[first]
        across = [abs(d[0] * y - d[1] * x) for x, y in self.moving.along[others]]
        return [first, *(others[i] for i in np.argsort(across)[::-1])]

    def crossings(self) -> Iterator[Form]:
        """What is 0 if all lines of a corner meet in one point."""
        for corner in range(len(self.moving.corners)):
            x, y = self.corner(corner)
            for side in self.sides(corner)[2:]:
                n = self.normals[side]
                yield x.times(n.x) + y.times(n.y) - self._distance(side)

    def corner(self, number: int) -> tuple[Form, Form]:
        """The place of a corner, on the first two of its lines."""
        one, other, *_ = self.sides(number)
        return self._meeting(self.normals[one], self._distance(one), self.normals[other], self._distance(other))

    def _place(self, node: int) -> tuple[Form, Form]:
        """The place of a corner, or of a node that has one distance from three sides."""
        if node in self.moving.corners:
            return self.corner(self.moving.corners.index(node))
        a, b, c = (int(side) for side in self.moving.sides_at[self.moving.inner.index(node)])
        return self._meeting(*self._between(a, b), *self._between(a, c))

    def _between(self, one: int, other: int) -> tuple[Point, Form]:
        """What holds where two sides are at one distance."""
        m, n = self.normals[one], self.normals[other]
        return Point(m.x - n.x, m.y - n.y), self._distance(one) - self._distance(other)

    def _on(self, side: int, place: tuple[Form, Form]) -> Form:
        d = self.along[side]
        return place[0].times(d.x) + place[1].times(d.y)

    def _sum(self, arc: int) -> Form:
        """What each place on an arc is along the lines of both sides together."""
        if arc not in self.sums:
            place = self._place(int(self.moving.roots[arc]))
            one, other = (int(side) for side in self.moving.beside[:, arc])
            self.sums[arc] = self._on(one, place) + self._on(other, place)
        return self.sums[arc]

    def equation(self, meeting: Meeting) -> Form:
        """What is 0 if the perpendicular ends in the node (`paths`)."""
        bounds, arcs = meeting.bounds, len(self.moving.roots)
        first, last = (int(self.moving.sides_of[bound]) for bound in (bounds[0], bounds[-1]))
        x = self._on(first, self._place(meeting.start))
        for bound in bounds[:-1]:
            over = self._sum(bound % arcs) if bound < 2 * arcs else Form({})
            x = over - x
        return x - self._on(last, self._place(meeting.end))

    def value(self, form: Form, distances: Sequence[Number]) -> Number:
        total = form.constant
        for i, factor in form.factors.items():
            total = total + factor * distances[i]
        return total
