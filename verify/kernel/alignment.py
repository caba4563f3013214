"""Alignments: the conditions that say where the line of a fold lies, and when not exactly one line meets them."""

from collections.abc import Callable
from typing import NamedTuple

from .numbers import Field
from .plane import Line, Point, cross, dot, line, mirrored, same_place, side, step
from .reading import Names

UNSUPPORTED = "points onto"  # two points onto two lines: understood, not decided


class Alignment(NamedTuple):
    form: str
    marks: Names  # in the order of the form
    landing: int = 0  # -1 first, +1 second


def is_on(field: Field, of: Line, p: Point) -> bool:
    return side(field, of, p) == 0


def is_square(field: Field, of: Line, a: Point, b: Point) -> bool:
    """Whether the line is perpendicular to ab."""
    return field.sign(cross(of, step(a, b))) == 0


def comes_to(field: Field, of: Line, p: Point, q: Point) -> bool:
    """Whether q is the mirror image of p."""
    return same_place(field, mirrored(of, p), q)


def lands_on(field: Field, of: Line, p: Point, a: Point, b: Point) -> bool:
    """Whether the mirror image of p lies on the line ab."""
    return side(field, line(a, b), mirrored(of, p)) == 0


def turns_to(field: Field, of: Line, a: Point, b: Point, c: Point, d: Point) -> bool:
    """Whether the mirror image of the direction from a to b is that from c to d."""
    u, v = step(mirrored(of, a), mirrored(of, b)), step(c, d)
    return field.sign(cross(u, v)) == 0 and field.sign(dot(u, v)) > 0


class Form(NamedTuple):
    """How many marks each key has, which marks must differ, and what must hold of the line and which marks."""

    counts: tuple[int, ...]
    different: list[tuple[int, int]]
    conditions: list[tuple[Callable[..., bool], tuple[int, ...]]]


FORMS = {  # by keys
    "through": Form((2,), [(0, 1)], [(is_on, (0,)), (is_on, (1,))]),
    "point onto": Form((1, 1), [(0, 1)], [(comes_to, (0, 1))]),
    "line onto": Form((2, 2), [(0, 1), (2, 3)], [(lands_on, (0, 2, 3)), (turns_to, (0, 1, 2, 3))]),
    "square through": Form((2, 1), [(0, 1)], [(is_square, (0, 1)), (is_on, (2,))]),
    "point onto through landing": Form((1, 2, 1), [(1, 2), (0, 3)], [(lands_on, (0, 1, 2)), (is_on, (3,))]),
    "point onto square": Form((1, 2, 2), [(1, 2), (3, 4)], [(lands_on, (0, 1, 2)), (is_square, (3, 4))]),
    UNSUPPORTED: Form((2, 4), [], []),
}


def satisfies(field: Field, of: Line, alignment: Alignment, at: list[Point]) -> bool:
    """Whether the line meets the condition of the alignment, if that is `solvable`."""
    met = all(holds(field, of, *[at[i] for i in numbers]) for holds, numbers in FORMS[alignment.form].conditions)
    if alignment.form != "point onto through landing":
        return met
    p, a, b, q = at
    return met and field.sign(dot(step(q, mirrored(of, p)), step(a, b))) * alignment.landing >= 0


def solvable(field: Field, form: str, at: list[Point]) -> bool:
    """Whether exactly one line satisfies the alignment; if not, the step has no solution."""
    if any(same_place(field, at[i], at[j]) for i, j in FORMS[form].different):
        return False
    if form in ("line onto", "point onto square"):  # ab and cd are not parallel; or, of the first, both one way
        a, b, c, d = at[-4:]
        u, v = step(a, b), step(c, d)
        return field.sign(cross(u, v)) != 0 or (form == "line onto" and field.sign(dot(u, v)) > 0)
    if form == "point onto through landing":  # |p - q| is at least the distance of q from ab
        p, a, b, q = at
        r, u, w = step(q, p), step(a, b), step(a, q)
        distance, reach = cross(u, w) * r[2], dot(r, r) * dot(u, u) * (w[2] * w[2])
        return field.sign(reach - distance * distance) >= 0
    return True
