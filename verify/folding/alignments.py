"""The lines of one-fold alignments, exactly.

The alignments are those of Huzita and Justin (Justin 1986; Huzita 1989): through two points, point onto point, line
onto line, square to a line through a point, point onto line through a point, point onto line square to a line.
The seventh, two points onto two lines, needs a cubic equation and is not decided by this version.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

from verify.errors import CreaseproofError
from verify.exact.number import Number
from verify.exact.plane import Point, cross_vectors, difference, dot, line_meeting, middle, root_float, same_place
from verify.pattern.recipe import Alignment, AlignmentKind

FoldLine = tuple[Point, Point]
Where = Callable[[str], Point]
Root = Callable[[Number], Number]
"""The square root of a number >= 0 of the field; raises `FieldGrew` where the field had to grow for it."""


class NoSolution(CreaseproofError):
    """No line, or not exactly one, satisfies an alignment where its `marks` lie; `kind` says why: two in one place; two
    lines that run opposite ways or are parallel; or the first cannot reach the line of the next two about the last
    (`near`, `far`: rounded distances from that).
    """

    def __init__(
        self,
        kind: Literal["one-place", "opposite-ways", "parallel", "out-of-reach"],
        marks: tuple[str, ...],
        near: float = 0.0,
        far: float = 0.0,
    ) -> None:
        self.kind, self.marks, self.near, self.far = kind, marks, near, far
        super().__init__(f"{kind}: {', '.join(marks)}")


class FieldGrew(Exception):
    """All numbers are in a larger field now, with the root that was missing: the line is to be found anew."""


CUBIC: AlignmentKind = "two-points-onto-two-lines"


class UnsupportedAlignment(CreaseproofError):
    """The alignment is outside what this version decides: it is the cubic one."""

    def __init__(self) -> None:
        super().__init__(CUBIC)


def fold_line(alignment: Alignment, where: Where, root: Root) -> FoldLine:
    """Two points of the line that satisfies the alignment in the folded plane, exactly: by `where`, the folded place of
    a mark, and `root`, of numbers ≥ 0. Raises `NoSolution`, or `UnsupportedAlignment` for the cubic one.
    """
    m = alignment.marks
    match alignment.kind:
        case "through":
            return _different(where, m[0], m[1])
        case "point-onto-point":
            p, q = _different(where, m[0], m[1])
            return _perpendicular(middle(p, q), difference(q, p))
        case "line-onto-line":
            return _line_onto_line(where, m, root)
        case "square":
            a, b = _different(where, m[0], m[1])
            return _perpendicular(where(m[2]), difference(b, a))
        case "point-onto-line":
            return _point_onto_line(where, m, alignment.landing == "first", root)
        case "point-onto-line-square":
            return _point_onto_line_square(where, m)
        case _:
            raise UnsupportedAlignment


def _different(where: Where, one: str, two: str) -> FoldLine:
    p, q = where(one), where(two)
    if same_place(p, q):
        raise NoSolution("one-place", (one, two))
    return p, q


def _perpendicular(place: Point, direction: Point) -> FoldLine:
    return place, Point(place.x - direction.y, place.y + direction.x)


def _line_onto_line(where: Where, m: tuple[str, ...], root: Root) -> FoldLine:
    a, b = _different(where, m[0], m[1])
    c, d = _different(where, m[2], m[3])
    u, v = difference(b, a), difference(d, c)
    if cross_vectors(u, v).sign() == 0:
        if dot(u, v).sign() < 0:
            raise NoSolution("opposite-ways", m)
        start = middle(a, c)
        return start, Point(start.x + u.x, start.y + u.y)
    meet = line_meeting(a, b, c, d)
    vv = dot(v, v)
    ratio = root(dot(u, u) * vv) / vv  # of the lengths of u and v
    return meet, Point(meet.x + u.x + v.x * ratio, meet.y + u.y + v.y * ratio)


def _point_onto_line(where: Where, m: tuple[str, ...], first: bool, root: Root) -> FoldLine:
    p, q = _different(where, m[0], m[3])
    a, b = _different(where, m[1], m[2])
    e, w = difference(b, a), difference(q, a)
    ee = dot(e, e)
    offset = cross_vectors(e, w)
    pq = difference(p, q)
    left = (dot(pq, pq) - offset * offset / ee) / ee
    if left.sign() < 0:
        near, far = root_float(dot(pq, pq)), root_float(offset * offset / ee)
        raise NoSolution("out-of-reach", m, near, far)
    reach = root(left)
    t = dot(e, w) / ee + (-reach if first else reach)
    landing = Point(a.x + e.x * t, a.y + e.y * t)
    if same_place(landing, p):
        return q, p
    return _perpendicular(q, difference(landing, p))


def _point_onto_line_square(where: Where, m: tuple[str, ...]) -> FoldLine:
    p = where(m[0])
    a, b = _different(where, m[1], m[2])
    c, d = _different(where, m[3], m[4])
    e, f = difference(b, a), difference(d, c)
    turn = cross_vectors(e, f)
    if turn.sign() == 0:
        raise NoSolution("parallel", m[1:])
    s = cross_vectors(e, difference(a, p)) / turn
    return _perpendicular(middle(p, Point(p.x + f.x * s, p.y + f.y * s)), f)
