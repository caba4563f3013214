"""The fold map: one isometry for each face, agreeing along every edge.

Face 0 stays where it is, front up. Crossing a fold reflects; crossing a flat
edge changes nothing. The map exists exactly when every closed walk over the
faces composes to the identity: round each vertex this is Kawasaki–Justin (Kawasaki 1989,
Justin 1989), round each hole a condition of its own. It says nothing
of whether layers pass through each other.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

from verify.exact.number import Number
from verify.exact.plane import Point
from verify.pattern.subdivision import Subdivision

_ZERO, _ONE = Number.of(0), Number.of(1)


@dataclass(frozen=True)
class Isometry:
    """z → m·z + s, or m·conj(z) + s when `turned` (determinant -1), with |m| = 1; exact."""

    m: Point
    shift: Point
    turned: bool

    def __call__(self, place: Point) -> Point:
        x, y = place.x, -place.y if self.turned else place.y
        return Point(self.m.x * x - self.m.y * y + self.shift.x, self.m.x * y + self.m.y * x + self.shift.y)

    def after_reflection(self, a: Point, square: Point) -> Isometry:
        """This isometry after the reflection z → a + square·conj(z - a)."""
        q = Point(square.x, -square.y) if self.turned else square
        m = Point(self.m.x * q.x - self.m.y * q.y, self.m.x * q.y + self.m.y * q.x)
        there = self(a)
        turned = not self.turned
        b = Point(a.x, -a.y) if turned else a
        shift = Point(there.x - (m.x * b.x - m.y * b.y), there.y - (m.x * b.y + m.y * b.x))
        return Isometry(m, shift, turned)


IDENTITY = Isometry(Point(_ONE, _ZERO), Point(_ZERO, _ZERO), False)


def direction_squared(a: Point, b: Point) -> Point:
    """d²/|d|² for the direction d from a to b, as a complex number: what a reflection needs."""
    x, y = b.x - a.x, b.y - a.y
    xx, yy = x * x, y * y
    length = xx + yy
    return Point((xx - yy) / length, (x * y * 2) / length)


@dataclass(frozen=True)
class FoldMap:
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
        edge = self.subdivision.edges[number]
        if not edge.is_fold or edge.crease is None:
            return isometry
        a = self.subdivision.vertices[edge.start]
        square = self._squares.get(edge.crease)
        if square is None:
            square = direction_squared(a, self.subdivision.vertices[edge.end])
            self._squares[edge.crease] = square
        return isometry.after_reflection(a, square)


def fold_map(subdivision: Subdivision) -> FoldMap:
    """Fold every face exactly and see where the isometries do not fit together."""
    s = subdivision
    reflections = Reflections(s)
    found: list[Isometry | None] = [None] * len(s.faces)
    found[0] = IDENTITY
    queue = deque([0])
    while queue:
        face = queue.popleft()
        here = found[face]
        if here is None:
            raise RuntimeError("a face was reached before it was folded")
        for number in s.face_edges[face]:
            edge = s.edges[number]
            other = edge.right if edge.left == face else edge.left
            if edge.kind != "border" and found[other] is None:
                found[other] = reflections.across(here, number)
                queue.append(other)
    isometries = [i for i in found if i is not None]
    turned = tuple(i.turned for i in isometries)
    carried = [{v: isometry(s.vertices[v]) for v in loop} for loop, isometry in zip(s.faces, isometries, strict=True)]
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
