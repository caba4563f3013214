"""Exact plane geometry on points whose coordinates are :class:`~verify.exact.number.Number`.

Every answer is exact: an orientation is -1, 0 or 1, never a guess. All points of one call must share a field (rational
coordinates go with any field); otherwise FieldMismatch. Orientations are mathematical: counter-clockwise is positive, y
points up. Predicates on polygons take the list of corners, the last joined to the first, without repeating it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from fractions import Fraction
from functools import cmp_to_key
from itertools import pairwise
from math import copysign, inf, nextafter, sqrt
from typing import Any, NamedTuple, TypeVar

from verify.exact.algebraic import compare_products, difference_of_products, sum_of_products
from verify.exact.number import ZERO, Number

_Item = TypeVar("_Item")
_Place = TypeVar("_Place", bound="tuple[Any, Any]")


def around(loop: Sequence[_Item]) -> Iterator[tuple[_Item, _Item]]:
    """The sides of a closed walk: each item with the next one, the last with the first."""
    return pairwise((*loop, *loop[:1]))


def with_neighbours(loop: Sequence[_Item]) -> Iterator[tuple[_Item, _Item, _Item]]:
    """The corners of a closed walk: each item between the one before it and the one after it."""
    return zip((*loop[-1:], *loop[:-1]), loop, (*loop[1:], *loop[:1]), strict=True)


class Point(NamedTuple):
    """A place or a vector of the plane, with exact coordinates."""

    x: Number
    y: Number


def difference(a: Point, b: Point) -> Point:
    """The vector from b to a."""
    return Point(a.x - b.x, a.y - b.y)


def mapped(place: Point, image: Callable[[Number], Number]) -> Point:
    """The place whose coordinates are the images of these."""
    return Point(image(place.x), image(place.y))


def cross(a: Point, b: Point, c: Point) -> Number:
    """(b - a) x (c - a): twice the signed area of the triangle a, b, c. Exact."""
    return difference_of_products(b.x - a.x, c.y - a.y, b.y - a.y, c.x - a.x)


def cross_vectors(u: Point, v: Point) -> Number:
    """u x v = u.x * v.y - u.y * v.x. Exact."""
    return difference_of_products(u.x, v.y, u.y, v.x)


def dot(u: Point, v: Point) -> Number:
    """The scalar product of two vectors. Exact."""
    return u.x * v.x + u.y * v.y


def middle(a: Point, b: Point) -> Point:
    """The place half way between two. Exact."""
    return Point((a.x + b.x) / 2, (a.y + b.y) / 2)


def centre(places: Sequence[Point]) -> Point:
    """The middle of some places: the mean of each coordinate. Exact."""
    x, y = (sum(along, ZERO) / len(places) for along in zip(*places, strict=True))
    return Point(x, y)


def between(a: Point, b: Point, share: Number | Fraction) -> Point:
    """The place after a share of the way from a to b. Exact."""
    return Point(a.x + (b.x - a.x) * share, a.y + (b.y - a.y) * share)


def line_meeting(a: Point, b: Point, c: Point, d: Point) -> Point:
    """Where the line ab meets the line cd. Exact. ZeroDivisionError if they are parallel."""
    u, v = difference(b, a), difference(d, c)
    return between(a, b, cross_vectors(difference(c, a), v) / cross_vectors(u, v))


def line_of(p: Point, q: Point) -> tuple[Number, ...]:
    """What is the same for any two places of one line: its slope and where it crosses x = 0, or its x. Exact."""
    along = difference(q, p)
    if not along.x:
        return (p.x,)
    slope = along.y / along.x
    return slope, p.y - slope * p.x


def advance(origin: Point, toward: Point, point: Point) -> Number:
    """(toward - origin) . (point - origin): how far a point is along a direction, times its length. Exact."""
    return (toward.x - origin.x) * (point.x - origin.x) + (toward.y - origin.y) * (point.y - origin.y)


def length(a: Point, b: Point) -> float:
    """The distance of two points to double precision (inf beyond floats). For people, never for decisions."""
    return root_float(advance(a, b, b))


def nearest_float(x: Number) -> float:
    """The nearest float; infinite where the number is beyond floats."""
    try:
        return float(x)
    except OverflowError:
        return copysign(inf, x.sign())


def root_float(square: Number) -> float:
    """The square root of a number >= 0 to double precision; inf where the number is beyond floats."""
    try:
        return sqrt(float(square))
    except OverflowError:
        return inf


def orientation(a: Point, b: Point, c: Point) -> int:
    """1 if c is on the left of the directed line from a to b, -1 on the right, 0 on it, or if a and b are one place."""
    return compare_products(b.x - a.x, c.y - a.y, b.y - a.y, c.x - a.x)


def same_place(a: Point, b: Point) -> bool:
    """Whether both coordinates agree. Exact."""
    return a.x == b.x and a.y == b.y


def on_segment(point: Point, a: Point, b: Point) -> bool:
    """Whether the point is on the closed segment from a to b (which may be a single point)."""
    in_box = min(a.x, b.x) <= point.x <= max(a.x, b.x) and min(a.y, b.y) <= point.y <= max(a.y, b.y)
    return in_box and orientation(a, b, point) == 0


def segment_meeting(p: Point, q: Point, r: Point, s: Point) -> Point | tuple[Point, Point] | None:
    """What the closed segments pq and rs, which may be points, have in common: nothing, one point, or the two ends of
    an overlap, in order from p to q. Exact, by one division.
    """
    if same_place(p, q):
        return p if on_segment(p, r, s) else None
    if same_place(r, s):
        return r if on_segment(r, p, q) else None
    sign_p, sign_q = orientation(r, s, p), orientation(r, s, q)
    if sign_p == 0 and sign_q == 0:
        return _overlap(p, q, r, s)
    if sign_p * sign_q > 0:
        return None
    sign_r, sign_s = orientation(p, q, r), orientation(p, q, s)
    if sign_r * sign_s > 0:
        return None
    if sign_p == 0:
        return p
    if sign_q == 0:
        return q
    if sign_r == 0:
        return r
    if sign_s == 0:
        return s
    return line_meeting(p, q, r, s)


def _overlap(p: Point, q: Point, r: Point, s: Point) -> Point | tuple[Point, Point] | None:
    """The common part of two segments of positive length on one line."""
    ends = sorted(((advance(p, q, place), place) for place in (r, s)), key=lambda end: end[0])
    length = advance(p, q, q)
    first = ends[0] if ends[0][0] > 0 else (ZERO, p)
    last = ends[1] if ends[1][0] < length else (length, q)
    if first[0] > last[0]:
        return None
    return first[1] if first[0] == last[0] else (first[1], last[1])


def polygon_area2(polygon: Sequence[Point]) -> Number:
    """Twice the signed area (counter-clockwise: positive), each region counted by its winding number. Exact."""
    return sum((cross_vectors(a, b) for a, b in around(polygon)), ZERO)


def polygon_is_simple(points: Sequence[Point]) -> tuple[int, int] | None:
    """None if the closed polygon is simple, else the first pair (i, j), i <= j, of edges that meet wrongly: least i,
    then least j.

    Edge i runs from corner i to the next. Neighbours may share their corner only, others nothing; (i, i): edge i has no
    length. Corners of 180 degrees are allowed. ValueError without any corner.
    """
    n = len(points)
    if n == 0:
        raise ValueError("a polygon has at least one corner")
    edges = list(around(points))
    bounds = [(*_bounds(point.x), *_bounds(point.y)) for point in points]
    # of each edge floats round its left, right, lower and upper end
    boxes = [(min(a[0], b[0]), max(a[1], b[1]), min(a[2], b[2]), max(a[3], b[3])) for a, b in around(bounds)]
    for i in range(n):
        a, b = edges[i]
        if same_place(a, b):
            return i, i
        left, right, bottom, top = boxes[i]
        for j in range(i + 1, n):
            other = boxes[j]
            if other[0] > right or other[1] < left or other[2] > top or other[3] < bottom:
                continue
            c, d = edges[j]
            if same_place(c, d):
                continue
            follows, precedes = j == i + 1, (j + 1) % n == i
            if follows != precedes:
                corner = (j, i, (j + 1) % n) if follows else (i, i + 1, j)
                here, one, two = (points[k] for k in corner)
                if orientation(here, one, two) or advance(here, one, two).sign() < 0:
                    continue
            elif segment_meeting(a, b, c, d) is None:
                continue
            return i, j
    return None


def simple_outlines(points: Sequence[Point]) -> list[list[Point]]:
    """An outline as simple ones, parted where it comes back to a corner; none if they are not simple."""
    outlines: list[list[Point]] = []
    so_far: list[Point] = []
    for place in points:
        if place in so_far:
            first = so_far.index(place)
            outlines.append(so_far[first:])
            del so_far[first:]
        so_far.append(place)
    outlines.append(so_far)
    simple = all(len(one) > 2 and polygon_is_simple(one) is None for one in outlines)
    return outlines if simple else []


def _bounds(number: Number) -> tuple[float, float]:
    try:
        value = float(number)
    except OverflowError:
        return (nextafter(inf, 0.0), inf) if number.sign() > 0 else (-inf, nextafter(-inf, 0.0))
    return nextafter(value, -inf), nextafter(value, inf)


def hull_of(places: Iterable[_Place], turn: Callable[[_Place, _Place, _Place], float]) -> list[_Place]:
    """The corners of the convex hull, counter-clockwise; `turn`: the sign of the way round three, as `orientation`."""
    found: list[_Place] = []
    ordered = sorted(set(places))
    for row in (ordered, ordered[::-1]):
        base = len(found)
        for p in row:
            while len(found) - base >= 2 and turn(found[-2], found[-1], p) <= 0:
                found.pop()
            found.append(p)
        found.pop()
    return found


def crossed(corners: Sequence[Point], heights: Sequence[Number]) -> list[tuple[Point, int, int]]:
    """A polygon's corners, and where sides cross height 0 (`heights`: of its corners, linear along its sides): each
    place, the sign of its height, the number of the side that goes on. Exact.
    """
    signs = [h.sign() for h in heights]
    ring = []
    for i, (p, q) in enumerate(around(corners)):
        j = i + 1 if i + 1 < len(corners) else 0
        ring.append((p, signs[i], i))
        if signs[i] * signs[j] < 0:
            ring.append((between(p, q, heights[i] / (heights[i] - heights[j])), 0, i))
    return ring


def in_convex(point: Point, corners: Sequence[Point]) -> int:
    """1 if the point is inside a convex polygon (corners counter-clockwise), 0 on its boundary, -1 outside. Exact."""
    least = 1
    for a, b in around(corners):
        least = min(least, orientation(a, b, point))
        if least < 0:
            break
    return least


def locate(point: Point, polygon: Sequence[Point]) -> int:
    """1 if the point is inside the polygon (an odd number of crossings), 0 on its boundary, -1 outside. Exact."""
    inside = False
    for a, b in around(polygon):
        above_a, above_b = a.y > point.y, b.y > point.y
        if above_a == above_b:
            if a.y == point.y and b.y == point.y and min(a.x, b.x) <= point.x <= max(a.x, b.x):
                return 0
            if same_place(a, point) or same_place(b, point):
                return 0
            continue
        side = orientation(a, b, point)
        if side == 0:
            return 0
        if (side > 0) == above_b:
            inside = not inside
    return 1 if inside else -1


def _half(v: Point) -> int:
    """0 for angles in [0, pi), 1 for angles in [pi, 2 pi)."""
    vertical = v.y.sign()
    if vertical:
        return 0 if vertical > 0 else 1
    horizontal = v.x.sign()
    if horizontal == 0:
        raise ValueError("the vector (0, 0) has no direction")
    return 0 if horizontal > 0 else 1


def compare_directions(u: Point, v: Point) -> int:
    """-1, 0 or 1 as the angle of u, in [0, 2 pi) counter-clockwise from the positive x axis, is less than v's, equal or
    greater. Exact. ValueError for a zero vector.
    """
    half = _half(u) - _half(v)
    if half:
        return half
    return compare_products(u.y, v.x, u.x, v.y)


direction_order = cmp_to_key(compare_directions)
"""Sort key: ``sorted(vectors, key=direction_order)`` sorts by angle, as `compare_directions` says."""


def reflection(a: Point, b: Point) -> Callable[[Point], Point]:
    """The reflection in the line through a and b. Exact. ValueError if a and b are one place."""
    x, y = difference(b, a)
    square = sum_of_products(x, x, y, y)
    if not square:
        raise ValueError("a mirror line needs two different points")
    part = 1 / square
    cosine, sine = difference_of_products(x, x, y, y) * part, 2 * x * y * part  # of twice its angle

    def turned(point: Point) -> Point:
        p, q = point
        return Point(sum_of_products(cosine, p, sine, q), difference_of_products(sine, p, cosine, q))

    shift = difference(a, turned(a))

    def image(point: Point) -> Point:
        there = turned(point)
        return Point(there.x + shift.x, there.y + shift.y)

    return image


def isometry(source: tuple[Point, Point], goal: tuple[Point, Point], *, mirrored: bool) -> Callable[[Point], Point]:
    """The isometry that takes two places to two others, with determinant -1 if `mirrored`. Exact.

    Assumes (and does not check) that the two are as far apart as the others, and not in one place.
    """
    (a, b), (c, d) = source, goal
    e, g = difference(b, a), difference(d, c)
    inverse = 1 / dot(e, e)

    def image(point: Point) -> Point:
        v = difference(point, a)
        along, across = dot(e, v) * inverse, cross_vectors(e, v) * inverse
        if mirrored:
            across = -across
        return Point(c.x + g.x * along - g.y * across, c.y + g.y * along + g.x * across)

    return image
