"""Lines, mirrors and stretches of lines, exactly: what the search for recipes computes with.

All coordinates are `Number`s of one field that holds the unit normals of all lines; reflections in bisectors of such
lines stay in it, so that no search ever leaves its field.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from verify.exact.number import ONE, ZERO, Number
from verify.exact.plane import Point, around, cross, crossed

Stretch = tuple[Number, Number]
Stretches = tuple[Stretch, ...]


class UnitLine(NamedTuple):
    """The line ax + by = c with a² + b² = 1 and the first of a, b that is not 0 positive, so that equal lines are
    equal; t = ay - bx tells a place on it, along (-b, a).
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

    def stretch(self, p: Point, q: Point) -> Stretch:
        """The stretch between two places of the line."""
        s, t = self.along(p), self.along(q)
        return (s, t) if s < t else (t, s)

    def square(self, t: Number) -> Mirror:
        """The fold line square to it at its place with this t."""
        return mirror(-self.b, self.a, t)


Ink = dict[UnitLine, Stretches]
"""An outline: for each of its lines the stretches that belong to it, in order, none touching the next."""


def ink_of(stretches: Iterable[tuple[UnitLine, Stretch]]) -> Ink:
    """The outline that some stretches of lines make up."""
    found: dict[UnitLine, list[Stretch]] = {}
    for line, stretch in stretches:
        found.setdefault(line, []).append(stretch)
    return {line: merged(every) for line, every in found.items()}


def line_through(place: Point, unit: Point) -> UnitLine:
    """The line through a place along a unit vector."""
    a, b = -unit.y, unit.x
    c = a * place.x + b * place.y
    return UnitLine(a, b, c) if (a.sign() or b.sign()) > 0 else UnitLine(-a, -b, -c)


class Mirror(NamedTuple):
    """A fold line ax + by = c; (a, b) is any vector but (0, 0), on the side that moves, and `square` is its square."""

    a: Number
    b: Number
    c: Number
    square: Number

    def height(self, place: Point) -> Number:
        """Positive on the side that moves; the distance, times the length of (a, b)."""
        return self.a * place.x + self.b * place.y - self.c

    def over(self, line: UnitLine) -> tuple[Number, Number]:
        """Slope and lift of its height over a line: slope * t + lift at the place with this t."""
        return self.b * line.a - self.a * line.b, line.c * (self.a * line.a + self.b * line.b) - self.c

    def turned(self) -> Mirror:
        """The same fold line, with the other side moving."""
        return Mirror(-self.a, -self.b, -self.c, self.square)

    def point(self, place: Point) -> Point:
        """The mirror image of a place."""
        s = 2 * self.height(place) / self.square
        return Point(place.x - s * self.a, place.y - s * self.b)

    def line(self, line: UnitLine, stretches: Sequence[Stretch]) -> tuple[UnitLine, Stretches]:
        """The mirror image of a line, and where stretches of it, in order, come to lie, in order again."""
        twice = 2 / self.square  # divided once: that is slow in fields of high degree
        across = twice * (self.a * line.a + self.b * line.b)
        shift = twice * self.c * (self.a * line.b - self.b * line.a)
        a, b, c = line.a - across * self.a, line.b - across * self.b, line.c - across * self.c
        if (a.sign() or b.sign()) > 0:
            return UnitLine(a, b, c), tuple((-t - shift, -s - shift) for s, t in reversed(stretches))
        return UnitLine(-a, -b, -c), tuple((s + shift, t + shift) for s, t in stretches)

    def ink(self, ink: Ink) -> Ink:
        """The mirror image of an outline."""
        return dict(self.line(line, stretches) for line, stretches in ink.items())


def mirror(a: Number, b: Number, c: Number) -> Mirror:
    """The fold line ax + by = c."""
    return Mirror(a, b, c, a * a + b * b)


def mirror_through(p: Point, q: Point) -> Mirror:
    """The fold line through two places."""
    a, b = p.y - q.y, q.x - p.x
    return mirror(a, b, a * p.x + b * p.y)


def bisectors(one: UnitLine, two: UnitLine) -> list[Mirror]:
    """The fold lines that lay a line on another one: two, or one if they are parallel."""
    less = one.a - two.a, one.b - two.b, one.c - two.c
    more = one.a + two.a, one.b + two.b, one.c + two.c
    return [mirror(a, b, c) for a, b, c in (less, more) if a or b]


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


def folded_ink(ink: Ink, fold: Mirror) -> tuple[Ink, Ink] | None:
    """What of an outline stays and what moves, the latter where it comes to lie; None if the fold runs along it."""
    stay: Ink = {}
    move: Ink = {}
    for line, stretches in ink.items():
        parts = parted(line, stretches, fold)
        if parts is None:
            return None
        if parts[0]:
            stay[line] = parts[0]
        if parts[1]:
            move[line] = parts[1]
    return stay, fold.ink(move)


def parted(line: UnitLine, stretches: Stretches, fold: Mirror) -> tuple[Stretches, Stretches] | None:
    """The stretches that stay and that move; None if the fold runs along them."""
    slope, lift = fold.over(line)
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


def meetings(ink: Ink, fold: Mirror) -> set[tuple[UnitLine, Number, bool]]:
    """How stretches that end on a fold line leave it: their line, where on it, and whether with growing t."""
    found = set()
    for line, stretches in ink.items():
        slope, lift = fold.over(line)
        if slope:
            turn = -lift / slope
            found |= {(line, turn, low == turn) for low, high in stretches if turn in (low, high)}
    return found


class EdgeKey(NamedTuple):
    """An edge, by one name for both faces beside it: its `step` (0: none; `RAW`: the sheet's), number and part."""

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
    edges: tuple[EdgeKey, ...]

    @property
    def size(self) -> float:
        """About its area, to choose by."""
        places = [(float(p.x), float(p.y)) for p in self.corners]
        return abs(sum(a[0] * b[1] - a[1] * b[0] for a, b in around(places))) / 2

    def covers(self, line: UnitLine) -> Stretch | None:
        """The stretch of a line that the paper covers. A raw edge covers nothing that lies along it."""
        ring = crossed(self.corners, [line.height(p) for p in self.corners])
        if {-1, 1} <= {side for _, side, _ in ring}:
            ends = [line.along(place) for place, side, _ in ring if side == 0]
            return min(ends), max(ends)
        for (p, side, i), (q, following, _) in around(ring):
            if side == following == 0:
                return None if self.edges[i].raw else line.stretch(p, q)
        return None

    def split(self, fold: Mirror, crease: EdgeKey) -> tuple[Face | None, Face | None]:
        """The parts that stay and that move, the latter where it comes to lie; `crease` is the edge between them."""
        ring = crossed(self.corners, [fold.height(p) for p in self.corners])
        sides = {side for _, side, _ in ring}
        if 1 not in sides:
            return self, None
        if -1 not in sides:
            return None, self.reflected(fold)
        whole = Counter(i for _, _, i in ring)

        def part(mine: int, name: str) -> Face:
            corners, edges = [], []
            for (place, side, i), (_, following, _) in around(ring):
                if side == -mine:
                    continue
                edge = self.edges[i]
                corners.append(place)
                if following == -mine:
                    edges.append(crease)
                else:
                    edges.append(edge if whole[i] == 1 else edge._replace(part=edge.part + name))
            return Face(tuple(corners), tuple(edges))

        return part(-1, "-"), part(1, "+").reflected(fold)

    def reflected(self, fold: Mirror) -> Face:
        """The mirror image, counter-clockwise as well."""
        n = len(self.corners)
        corners = tuple(fold.point(p) for p in reversed(self.corners))
        return Face(corners, tuple(self.edges[(n - 2 - j) % n] for j in range(n)))


def share_within(a: Point, b: Point, polygon: Sequence[Point]) -> tuple[Number, Number] | None:
    """From which to which share of the way from a to b lies in a convex polygon (counter-clockwise, border counted);
    None if none does.
    """
    low, high = ZERO, ONE
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
    ring = crossed(corners, [fold.height(p) for p in corners])
    return [place for place, side, _ in ring if side >= 0]
