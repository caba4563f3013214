"""Points, lines and the sign of a turn, mirror images and convex polygons, exactly, without division.

A point (X, Y, W) with W > 0 stands for (X/W, Y/W). A line (A, B, C) has value
A x + B y + C; the line through P and Q is positive on the left of P -> Q.
"""

from collections.abc import Sequence
from itertools import pairwise
from math import gcd, lcm
from typing import TypeVar

from .numbers import Algebraic, Field, Number, numerators
from .reading import CERTIFICATE

T = TypeVar("T")
Point = tuple[Number, Number, Number]
Line = tuple[Number, Number, Number]


def around(walk: Sequence[T]) -> list[tuple[T, T]]:
    """The steps of a closed walk."""
    return list(pairwise([*walk, walk[0]]))


def reduced(field: Field, p: Point) -> Point:
    """The same point, with integers that have no common divisor for coefficients."""
    over = lcm(*[x.denominator for x in p])
    cleared = [[c * (over // x.denominator) for c in numerators(x)] for x in p]
    common = gcd(*[c for row in cleared for c in row])
    whole = [tuple([c // common for c in row]) for row in cleared]
    x, y, w = [Algebraic(field, c) if isinstance(x, Algebraic) else c[0] for x, c in zip(p, whole, strict=True)]
    return field.limited(x), field.limited(y), field.limited(w)


def read_point(field: Field, value: object, where: str) -> Point:
    x, y = CERTIFICATE.items(value, where, 2, 2)
    return reduced(field, (field.element(x, where), field.element(y, where), 1))


def line(p: Point, q: Point) -> Line:
    return p[1] * q[2] - q[1] * p[2], q[0] * p[2] - p[0] * q[2], p[0] * q[1] - q[0] * p[1]


def side(field: Field, of: Line, p: Point) -> int:
    """+1 on the left of the line, 0 on it, -1 on the right."""
    return field.sign(of[0] * p[0] + of[1] * p[1] + of[2] * p[2])


def step(p: Point, q: Point) -> Point:
    """The vector from p to q."""
    return q[0] * p[2] - p[0] * q[2], q[1] * p[2] - p[1] * q[2], p[2] * q[2]


def dot(u: Point, v: Point) -> Number:
    """The numerator of the dot product of two vectors, over the product of their denominators."""
    return u[0] * v[0] + u[1] * v[1]


def cross(u: Point, v: Point) -> Number:
    """The numerator of the cross product of two vectors, over the product of their denominators."""
    return u[0] * v[1] - u[1] * v[0]


def mirrored(of: Line, p: Point) -> Point:
    """The mirror image of a point in a line."""
    (a, b, c), (x, y, w) = of, p
    square, twice = a * a + b * b, 2 * (a * x + b * y + c * w)
    return square * x - twice * a, square * y - twice * b, square * w


def contains(field: Field, corners: Sequence[Point], p: Point) -> bool:
    """Whether a closed convex polygon with an interior contains a point, whichever way it goes round."""
    sides = {side(field, line(u, v), p) for u, v in around(corners)}
    return not {1, -1} <= sides


def same_place(field: Field, p: Point, q: Point) -> bool:
    u = step(p, q)
    return field.sign(u[0]) == 0 and field.sign(u[1]) == 0
