"""Points, lines and the sign of a turn, exactly, without division.

A point (X, Y, W) with an integer W > 0 stands for (X/W, Y/W). A line (A, B, C)
has value A x + B y + C; the line through P and Q is positive on the left of P -> Q.
"""

from .numbers import Field, Number, integral
from .reading import CERTIFICATE

Point = tuple[Number, Number, int]
Line = tuple[Number, Number, Number]


def point(x: Number, y: Number) -> Point:
    (x, y), w = integral(x, y)
    return x, y, w


def read_point(field: Field, value: object, where: str) -> Point:
    x, y = CERTIFICATE.items(value, where, 2, 2)
    return point(field.element(x, where), field.element(y, where))


def line(p: Point, q: Point) -> Line:
    return p[1] * q[2] - q[1] * p[2], q[0] * p[2] - p[0] * q[2], p[0] * q[1] - q[0] * p[1]


def side(field: Field, of: Line, p: tuple[Number, Number, Number]) -> int:
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


def same_place(field: Field, p: Point, q: Point) -> bool:
    u = step(p, q)
    return field.sign(u[0]) == 0 and field.sign(u[1]) == 0
