"""The fold map: one isometry for each face, given by the images of the vertices."""

from typing import NamedTuple

from .numbers import Field
from .plane import Point, cross, dot, read_point, step
from .reading import CERTIFICATE, increasing, require
from .subdivision import BORDER, Subdivision


class Fold(NamedTuple):
    """The image of each vertex, and which faces show their back."""

    images: list[Point]
    turned: frozenset[int]

    def carries(self, field: Field, sub: Subdivision, f: int, place: Point, image: Point) -> bool:
        """Whether the isometry that carries the first edge of a face to its image carries the place to this image."""
        a, b = sub.faces[f][:2]
        u, v = step(sub.vertices[a], sub.vertices[b]), step(sub.vertices[a], place)
        s, t = step(self.images[a], self.images[b]), step(self.images[a], image)
        before, after = u[2] * v[2], s[2] * t[2]  # the denominators
        determinant = -1 if f in self.turned else 1
        along = dot(u, v) * after - dot(s, t) * before
        across = cross(u, v) * after - cross(s, t) * (before * determinant)
        return field.sign(along) == 0 and field.sign(across) == 0


def read_fold(value: object, sub: Subdivision, field: Field) -> Fold:
    """The fold map of a certificate, which is checked."""
    table = CERTIFICATE.table(value, "fold", ("images", "turned"))
    listed = CERTIFICATE.each(table["images"], "fold.images", len(sub.vertices), len(sub.vertices))
    images = [read_point(field, item, where) for where, item in listed]
    turned = CERTIFICATE.numbers(table["turned"], "fold.turned", len(sub.faces))
    require(increasing(turned), "fold.turned", "fold.turned: not strictly increasing")
    return check_fold(Fold(images, frozenset(turned)), sub, field)


def check_fold(fold: Fold, sub: Subdivision, field: Field) -> Fold:
    """Assumes (and checks) that the images fold every fold edge, bend no other one and stretch nothing.

    The map is then the only one, up to an isometry of the whole plane. Proves nothing about layers.
    """
    for f, face in enumerate(sub.faces):
        for v in face[1:]:
            holds = fold.carries(field, sub, f, sub.vertices[v], fold.images[v])
            require(holds, "fold.isometry", f"fold: the image of face {f} is not congruent to it at vertex {v}")
    for e, (f, g) in enumerate(sub.beside):
        agree = g == BORDER or ((f in fold.turned) != (g in fold.turned)) == sub.is_fold(e)
        require(agree, "fold.turned", f"fold: faces {f} and {g} of {sub.kind[e]} edge {sub.edges[e]}")
    return fold
