"""The fold map: one isometry for each face, agreeing along every edge.

Face 0 stays where it is, front up. Crossing a fold reflects; crossing a flat
edge changes nothing. The map exists exactly when every closed walk over the
faces composes to the identity: round each vertex this is Kawasaki–Justin (Kawasaki 1989,
Justin 1989), round each hole a condition of its own. It says nothing
of whether layers pass through each other.
"""

from __future__ import annotations

from collections import deque
from typing import NamedTuple

from verify.exact.algebraic import difference_of_products, sum_of_products
from verify.exact.number import Number
from verify.exact.plane import Point, difference
from verify.pattern.subdivision import Subdivision

_ZERO, _ONE = Number.of(0), Number.of(1)


class Isometry(NamedTuple):
    """z → m·z + s, or m·conj(z) + s when `turned` (determinant -1), with |m| = 1; exact."""

    m: Point
    shift: Point
    turned: bool

    def __call__(self, place: Point) -> Point:
        there = complex_product(self.m, _conjugate(place) if self.turned else place)
        return Point(there.x + self.shift.x, there.y + self.shift.y)

    def after_reflection(self, a: Point, square: Point) -> Isometry:
        """This isometry after the reflection z → a + square·conj(z - a)."""
        m = complex_product(self.m, _conjugate(square) if self.turned else square)
        turned = not self.turned
        there = self(a)
        off = complex_product(m, _conjugate(a) if turned else a)
        return Isometry(m, Point(there.x - off.x, there.y - off.y), turned)


def complex_product(a: Point, b: Point) -> Point:
    """The product of two complex numbers."""
    return Point(difference_of_products(a.x, b.x, a.y, b.y), sum_of_products(a.x, b.y, a.y, b.x))


def _conjugate(a: Point) -> Point:
    return Point(a.x, -a.y)


IDENTITY = Isometry(Point(_ONE, _ZERO), Point(_ZERO, _ZERO), False)


def direction_squared(a: Point, b: Point) -> Point:
    """d²/|d|² for the direction d from a to b, as a complex number: what a reflection needs."""
    x, y = b.x - a.x, b.y - a.y
    xx, yy = x * x, y * y
    inverse = 1 / (xx + yy)
    return Point((xx - yy) * inverse, x * y * 2 * inverse)


class FoldMap(NamedTuple):
    """The image of each vertex, which faces are turned, and whether that is consistent.

    `broken` lists the edges across which the isometries do not fit: empty exactly
    when the fold map exists. The images mean something only then.
    """

    subdivision: Subdivision
    images: tuple[Point, ...]
    turned: tuple[bool, ...]
    broken: tuple[int, ...] = ()

    @property
    def exists(self) -> bool:
        return not self.broken


class Reflections:
    """What crossing an edge does to an isometry; each drawn line's reflection is worked out once."""

    def __init__(self, subdivision: Subdivision) -> None:
        self.subdivision = subdivision
        self._squares: dict[int, Point] = {}

    def across(self, isometry: Isometry, number: int) -> Isometry:
        """The isometry of the face on the other side of edge `number`."""
        square = self.square(number)
        if square is None:
            return isometry
        return isometry.after_reflection(self.subdivision.vertices[self.subdivision.edges[number].start], square)

    def square(self, number: int) -> Point | None:
        """The edge's direction squared as `direction_squared` has it, or None if it is no fold."""
        edge = self.subdivision.edges[number]
        if not edge.is_fold or edge.crease is None:
            return None
        square = self._squares.get(edge.crease)
        if square is None:
            square = direction_squared(self.subdivision.vertices[edge.start], self.subdivision.vertices[edge.end])
            self._squares[edge.crease] = square
        return square


def fold_map(subdivision: Subdivision) -> FoldMap:
    """Fold every face exactly and see where the isometries do not fit together."""
    s = subdivision
    reflections = Reflections(s)
    # of each face reached: the linear part of its isometry, whether that is turned, and where it carries each corner
    found: list[tuple[Point, bool, dict[int, Point]] | None] = [None] * len(s.faces)
    found[0] = IDENTITY.m, False, {v: s.vertices[v] for v in s.faces[0]}
    queue = deque([0])
    while queue:
        face = queue.popleft()
        here = found[face]
        if here is None:
            raise RuntimeError("a face was reached before it was folded")
        m, is_turned, places = here
        for number in s.face_edges[face]:
            edge = s.edges[number]
            other = edge.across(face)
            if edge.kind == "border" or found[other] is not None:
                continue
            square = reflections.square(number)
            if square is None:
                linear, turns = m, is_turned
            else:
                linear, turns = complex_product(m, _conjugate(square) if is_turned else square), not is_turned
            origin, there = s.vertices[edge.start], places[edge.start]
            across = {v: places[v] for v in edge.ends}
            for v in s.faces[other]:
                if v not in across:
                    off = difference(s.vertices[v], origin)
                    moved = complex_product(linear, _conjugate(off) if turns else off)
                    across[v] = Point(there.x + moved.x, there.y + moved.y)
            found[other] = linear, turns, across
            queue.append(other)
    reached = [x for x in found if x is not None]
    turned = tuple(is_turned for _, is_turned, _ in reached)
    carried = [places for _, _, places in reached]
    images: list[Point | None] = [None] * len(s.vertices)
    for places in carried:
        for v, place in places.items():
            if images[v] is None:
                images[v] = place
    broken = tuple(
        number
        for number, e in enumerate(s.edges)
        if e.kind != "border"
        and (
            (turned[e.left] != turned[e.right]) != e.is_fold
            or any(carried[e.left][v] != carried[e.right][v] for v in e.ends)
        )
    )
    return FoldMap(s, tuple(p for p in images if p is not None), turned, broken)
