"""The fold map: one isometry for each face, given by the images of the vertices."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from .numbers import Field
from .plane import Point, cross, dot, read_point, step
from .reading import CERTIFICATE, Rejected
from .subdivision import BORDER, Subdivision


@dataclass(frozen=True, slots=True)
class Fold:
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
    if any(a >= b for a, b in pairwise(turned)):
        raise Rejected("fold.turned", "fold.turned: not strictly increasing")
    fold = Fold(images, frozenset(turned))
    for f, face in enumerate(sub.faces):
        determinant = -1 if f in fold.turned else 1
        flat = [step(sub.vertices[face[0]], sub.vertices[v]) for v in face[1:]]
        folded = [step(images[face[0]], images[v]) for v in face[1:]]
        for v, u, w in zip(face[1:], flat, folded, strict=True):
            before, after = flat[0][2] * u[2], folded[0][2] * w[2]
            along = dot(flat[0], u) * after - dot(folded[0], w) * before
            across = cross(flat[0], u) * after - cross(folded[0], w) * (before * determinant)
            if field.sign(along) != 0 or field.sign(across) != 0:
                raise Rejected("fold.isometry", f"fold: the image of face {f} is not congruent to it at vertex {v}")
    for e, (f, g) in enumerate(sub.beside):
        if g != BORDER and ((f in fold.turned) != (g in fold.turned)) != sub.is_fold(e):
            a, b = sub.edges[e]
            wanted = "one face must be turned" if sub.is_fold(e) else "both faces must show the same side"
            raise Rejected("fold.turned", f"fold: across the {sub.kind[e]} edge {a} - {b} {wanted}")
    return fold
