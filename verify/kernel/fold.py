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
    fold = Fold(images, frozenset(turned))
    for f, (first, *others) in enumerate(sub.faces):
        determinant = -1 if f in fold.turned else 1
        flat = [step(sub.vertices[first], sub.vertices[v]) for v in others]
        folded = [step(images[first], images[v]) for v in others]
        for v, u, w in zip(others, flat, folded, strict=True):
            before, after = flat[0][2] * u[2], folded[0][2] * w[2]  # the denominators
            along = dot(flat[0], u) * after - dot(folded[0], w) * before
            across = cross(flat[0], u) * after - cross(folded[0], w) * (before * determinant)
            congruent = field.sign(along) == 0 and field.sign(across) == 0
            require(congruent, "fold.isometry", f"fold: the image of face {f} is not congruent to it at vertex {v}")
    for e, (f, g) in enumerate(sub.beside):
        agree = g == BORDER or ((f in fold.turned) != (g in fold.turned)) == sub.is_fold(e)
        require(agree, "fold.turned", f"fold: {sub.kind[e]} edge {sub.edges[e]} has faces {f} and {g} turned the wrong way")
    return fold
