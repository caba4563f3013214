"""The fold map: one isometry for each face, given by the images of the vertices."""

from itertools import pairwise
from typing import NamedTuple

from .numbers import Field
from .plane import Point, cross, dot, read_point, step
from .reading import CERTIFICATE, require
from .subdivision import BORDER, Subdivision


class Fold(NamedTuple):
    """The image of each vertex, and which faces show their back."""

    images: list[Point]
    turned: frozenset[int]


def read_fold(value: object, sub: Subdivision, field: Field) -> Fold:
    """Assumes (and checks) that the images fold every fold edge, bend no other one and stretch nothing.

    The map is then the only one, up to an isometry of the whole plane. Proves nothing about layers.
    """
    table = CERTIFICATE.table(value, "fold", ("images", "turned"))
    listed = CERTIFICATE.items(table["images"], "fold.images", len(sub.vertices), len(sub.vertices))
    images = [read_point(field, item, f"fold.images[{i}]") for i, item in enumerate(listed)]
    turned = CERTIFICATE.numbers(table["turned"], "fold.turned", len(sub.faces))
    require(all(a < b for a, b in pairwise(turned)), "fold.turned", "fold.turned: not strictly increasing")
    return check_fold(Fold(images, frozenset(turned)), sub, field)


def congruent(field: Field, flat: tuple[Point, Point], folded: tuple[Point, Point], determinant: int) -> bool:
    """Whether the map of this determinant that carries the first of two vectors to its image so carries the second."""
    (u, v), (s, t) = flat, folded
    before, after = u[2] * v[2], s[2] * t[2]  # the denominators
    along = dot(u, v) * after - dot(s, t) * before
    across = cross(u, v) * after - cross(s, t) * (before * determinant)
    return field.sign(along) == 0 and field.sign(across) == 0


def check_fold(fold: Fold, sub: Subdivision, field: Field) -> Fold:
    """What `read_fold` assumes (and checks)."""
    for f, (first, *others) in enumerate(sub.faces):
        determinant = -1 if f in fold.turned else 1
        flat = [step(sub.vertices[first], sub.vertices[v]) for v in others]
        folded = [step(fold.images[first], fold.images[v]) for v in others]
        for v, u, w in zip(others, flat, folded, strict=True):
            holds = congruent(field, (flat[0], u), (folded[0], w), determinant)
            require(holds, "fold.isometry", f"fold: the image of face {f} is not congruent to it at vertex {v}")
    for e, (f, g) in enumerate(sub.beside):
        agree = g == BORDER or ((f in fold.turned) != (g in fold.turned)) == sub.is_fold(e)
        require(agree, "fold.turned", f"fold: faces {f} and {g} of {sub.kind[e]} edge {sub.edges[e]}")
    return fold
