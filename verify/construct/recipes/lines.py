"""Lines, mirrors and stretches of lines, exactly: what the search for recipes computes with.

All coordinates are `Number`s of one field that holds the unit normals of all lines; reflections in bisectors of such
lines stay in it, so that no search ever leaves its field.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from verify.exact.number import Number
from verify.exact.plane import Point, around, between, cross

Stretch = tuple[Number, Number]
Stretches = tuple[Stretch, ...]


class Line(NamedTuple):
    """The line ax + by = c with a² + b² = 1 and the first of a, b that is not 0 positive: equal lines are equal tuples.

    A place on it is told by t = ay - bx, its way along the direction (-b, a).
    """

    a: Number
    b: Number
    c: Number

    def at(self, t: Number) -> Point:
        """The place with this t."""
        return Point(self.a * self.c - self.b * t, self.b * self.c + self.a * t)

    def along(self, place: Point) -> Number:
        """The t of a place of the line."""
        return self.a * place.y - self.b * place.x

    def height(self, place: Point) -> Number:
        """The signed distance of a place."""
        return self.a * place.x + self.b * place.y - self.c


def line_through(place: Point, unit: Point) -> Line:
    """The line through a place along a unit vector."""
    a, b = -unit.y, unit.x
    c = a * place.x + b * place.y
    return Line(a, b, c) if (a.sign() or b.sign()) > 0 else Line(-a, -b, -c)


class Mirror(NamedTuple):
    """A fold line ax + by = c; (a, b) is any vector but (0, 0), on the side that moves, and `square` is its square."""

    a: Number
    b: Number
    c: Number
    square: Number

    def height(self, place: Point) -> Number:
        """Positive on the side that moves; the distance, times the length of (a, b)."""
        return self.a * place.x + self.b * place.y - self.c

    def turned(self) -> Mirror:
        """The same fold line, with the other side moving."""
        return Mirror(-self.a, -self.b, -self.c, self.square)

    def point(self, place: Point) -> Point:
        """The mirror image of a place."""
        s = 2 * self.height(place) / self.square
        return Point(place.x - s * self.a, place.y - s * self.b)

    def line(self, line: Line, stretches: Iterable[Stretch]) -> tuple[Line, list[Stretch]]:
        """The mirror image of a line, and where stretches of it come to lie."""
        twice = 2 / self.square  # divided once: that is slow in fields of high degree
        across = twice * (self.a * line.a + self.b * line.b)
        shift = twice * self.c * (self.a * line.b - self.b * line.a)
        a, b, c = line.a - across * self.a, line.b - across * self.b, line.c - across * self.c
        if (a.sign() or b.sign()) > 0:
            return Line(a, b, c), [(-t - shift, -s - shift) for s, t in stretches]
        return Line(-a, -b, -c), [(s + shift, t + shift) for s, t in stretches]

    def places(self) -> tuple[Point, Point]:
        """Two places of the fold line, the side that moves on the left of the way from the first to the second."""
        x, y = self.a * self.c / self.square, self.b * self.c / self.square
        return Point(x, y), Point(x + self.b, y - self.a)


def mirror(a: Number, b: Number, c: Number) -> Mirror:
    """The fold line ax + by = c."""
    return Mirror(a, b, c, a * a + b * b)


def mirror_through(p: Point, q: Point) -> Mirror:
    """The fold line through two places."""
    a, b = p.y - q.y, q.x - p.x
    return mirror(a, b, a * p.x + b * p.y)


def bisectors(one: Line, two: Line) -> list[Mirror]:
    """The fold lines that lay a line on another one: two, or one if they are parallel."""
    found = []
    for a, b, c in (
        (one.a - two.a, one.b - two.b, one.c - two.c),
        (one.a + two.a, one.b + two.b, one.c + two.c),
    ):
        if a or b:
            found.append(mirror(a, b, c))
    return found


def merged(stretches: Iterable[Stretch]) -> Stretches:
    """The union of stretches of one line; those that touch become one."""
    kept: list[Stretch] = []
    for low, high in sorted(stretches):
        if kept and low <= kept[-1][1]:
            if high > kept[-1][1]:
                kept[-1] = kept[-1][0], high
        else:
            kept.append((low, high))
    return tuple(kept)


def outside(stretches: Iterable[Stretch], cover: Sequence[Stretch]) -> list[Stretch]:
    """What of some stretches a union of stretches (as `merged` makes it) leaves uncovered, where it has a length."""
    left: list[Stretch] = []
    for start, high in stretches:
        low = start
        for one, two in cover:
            if two <= low:
                continue
            if one >= high:
                break
            if one > low:
                left.append((low, one))
            low = two
        if low < high:
            left.append((low, high))
    return left


def common(stretches: Sequence[Stretch], others: Sequence[Stretch]) -> list[Stretch]:
    """What some stretches have in common with others, where it has a length."""
    both = []
    for low, high in stretches:
        for one, two in others:
            start, end = max(low, one), min(high, two)
            if start < end:
                both.append((start, end))
    return both


def parted(line: Line, stretches: Stretches, fold: Mirror) -> tuple[Stretches, Stretches] | None:
    """The stretches that stay and that move; None if the fold runs along them."""
    slope = fold.b * line.a - fold.a * line.b
    lift = fold.a * line.a * line.c + fold.b * line.b * line.c - fold.c
    upward = slope.sign()
    if upward == 0:
        side = lift.sign()
        if side == 0:
            return None
        return ((), stretches) if side > 0 else (stretches, ())
    turn = -lift / slope
    low: list[Stretch] = []
    high: list[Stretch] = []
    for s, t in stretches:
        if t <= turn:
            low.append((s, t))
        elif s >= turn:
            high.append((s, t))
        else:
            low.append((s, turn))
            high.append((turn, t))
    return (tuple(low), tuple(high)) if upward > 0 else (tuple(high), tuple(low))


def meetings(ink: Iterable[tuple[Line, Stretches]], fold: Mirror) -> set[tuple[Line, Number, bool]]:
    """How stretches that end on a fold line leave it: their line, where on it, and whether with growing t."""
    found = set()
    for line, stretches in ink:
        slope = fold.b * line.a - fold.a * line.b
        if not slope:
            continue
        turn = (fold.c - line.c * (fold.a * line.a + fold.b * line.b)) / slope
        found |= {(line, turn, low == turn) for low, high in stretches if turn in (low, high)}
    return found


class Edge(NamedTuple):
    """Which edge of a face: made by the fold of `step` (0: none, it is not folded; `RAW`: the sheet's own), its number
    and which part of it.

    The two faces beside an edge have it under the same name.
    """

    step: int
    number: int = 0
    part: str = ""

    @property
    def raw(self) -> bool:
        return self.step == RAW


RAW = -1


class Face(NamedTuple):
    """A convex polygon of paper, counter-clockwise; `edges[i]` runs from corner i to the next."""

    corners: tuple[Point, ...]
    edges: tuple[Edge, ...]

    @property
    def size(self) -> float:
        """About its area, to choose by."""
        places = [(float(p.x), float(p.y)) for p in self.corners]
        return abs(sum(a[0] * b[1] - a[1] * b[0] for a, b in around(places))) / 2

    def covers(self, line: Line) -> Stretch | None:
        """The stretch of a line that the paper covers. A raw edge covers nothing that lies along it."""
        heights = [line.height(p) for p in self.corners]
        signs = [h.sign() for h in heights]
        if min(signs) >= 0 or max(signs) <= 0:
            for i, edge in enumerate(self.edges):
                j = (i + 1) % len(signs)
                if signs[i] == signs[j] == 0:
                    if edge.raw:
                        return None
                    s, t = line.along(self.corners[i]), line.along(self.corners[j])
                    return (s, t) if s < t else (t, s)
            return None
        ends = []
        for i, p in enumerate(self.corners):
            if signs[i] == 0:
                ends.append(line.along(p))
            elif signs[i - 1] * signs[i] < 0:
                t, s = line.along(p), line.along(self.corners[i - 1])
                ends.append(t + (s - t) * heights[i] / (heights[i] - heights[i - 1]))
        return min(ends), max(ends)

    def split(self, fold: Mirror, crease: Edge) -> tuple[Face | None, Face | None]:
        """The parts that stay and that move, the latter where it comes to lie; `crease` is the edge between them."""
        heights = [fold.height(p) for p in self.corners]
        signs = [h.sign() for h in heights]
        if max(signs) <= 0:
            return self, None
        if min(signs) >= 0:
            return None, self.reflected(fold)
        stays: list[tuple[Point, Edge]] = []
        moves: list[tuple[Point, Edge]] = []
        for i, p in enumerate(self.corners):
            j = (i + 1) % len(signs)
            edge = self.edges[i]
            if signs[i] * signs[j] < 0:
                w = between(p, self.corners[j], heights[i] / (heights[i] - heights[j]))
                low, high = edge._replace(part=edge.part + "-"), edge._replace(part=edge.part + "+")
                if signs[i] < 0:
                    stays += [(p, low), (w, crease)]
                    moves.append((w, high))
                else:
                    moves += [(p, high), (w, crease)]
                    stays.append((w, low))
            elif signs[i] < 0 or (signs[i] == 0 and signs[j] < 0):
                stays.append((p, edge))
                if signs[i] == 0:
                    moves.append((p, crease))
            else:
                moves.append((p, edge))
                if signs[i] == 0:
                    stays.append((p, crease))
        return _face(stays), _face(moves).reflected(fold)

    def reflected(self, fold: Mirror) -> Face:
        """The mirror image, counter-clockwise as well."""
        n = len(self.corners)
        corners = tuple(fold.point(p) for p in reversed(self.corners))
        return Face(corners, tuple(self.edges[(n - 2 - j) % n] for j in range(n)))


def _face(parts: list[tuple[Point, Edge]]) -> Face:
    return Face(tuple(p for p, _ in parts), tuple(edge for _, edge in parts))


def share_within(a: Point, b: Point, polygon: Sequence[Point]) -> tuple[Number, Number] | None:
    """From which to which share of the way from a to b lies in a closed convex polygon, counter-clockwise; None if
    none of it does.
    """
    low, high = Number.of(0), Number.of(1)
    for p, q in around(polygon):
        h, k = cross(p, q, a), cross(p, q, b)
        if h.sign() < 0 and k.sign() < 0:
            return None
        if h.sign() < 0 <= k.sign():
            low = max(low, h / (h - k))
        elif k.sign() < 0 <= h.sign():
            high = min(high, h / (h - k))
    return (low, high) if low <= high else None


def beyond(corners: Sequence[Point], fold: Mirror) -> list[Point]:
    """The part of a convex polygon on the moving side of a fold, its border counted."""
    kept: list[Point] = []
    for p, q in around(corners):
        h, k = fold.height(p), fold.height(q)
        if h.sign() >= 0:
            kept.append(p)
        if h.sign() * k.sign() < 0:
            kept.append(between(p, q, h / (h - k)))
    return kept
