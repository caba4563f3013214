"""The folded sheet: the fold map, one isometry for each face, and the sign table of the folded edge lines.

All questions about overlaps and crossings of images are answered by set
operations on the table. A set (of places, faces or edges) is an integer, one
bit for each member.
"""

from collections.abc import Iterable, Iterator
from functools import cmp_to_key, reduce
from itertools import accumulate, pairwise
from operator import and_
from typing import NamedTuple

from .numbers import Field, numerators
from .plane import Line, Point, cross, dot, line, read_point, side, step
from .reading import CERTIFICATE, require
from .subdivision import BORDER, Subdivision

Sides = tuple[int, int]  # the sets of what lies strictly on the positive and strictly on the negative side


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


def members(bits: int) -> Iterator[int]:
    while bits:
        low = bits & -bits
        yield low.bit_length() - 1
        bits ^= low


def bits(numbers: Iterable[int]) -> int:
    """The set with these members (no repetitions)."""
    return sum(1 << i for i in numbers)


class Cutter(NamedTuple):
    """A line, and what lies on its sides: places, and faces and edges of which at least a part does."""

    line: Line
    places: Sides
    faces: Sides
    edges: Sides


class Table:
    """Assumes that the fold map has been checked: every image is a convex polygon with an interior."""

    def __init__(self, field: Field, sub: Subdivision, fold: Fold) -> None:
        self.field, self.sub, self.fold = field, sub, fold
        # The places are the images of vertices; equal ones may, but need not, be one place.
        keys = [tuple(map(numerators, p)) for p in fold.images]
        known = dict(zip(keys, fold.images, strict=True))
        numbered = {key: i for i, key in enumerate(known)}
        self.place, self.points = [numbered[key] for key in keys], list(known.values())
        self.faces_at, self.edges_at = [0] * len(known), [0] * len(known)
        for reach, things in ((self.faces_at, sub.faces), (self.edges_at, sub.edges)):
            for n, corners in enumerate(things):
                for v in corners:
                    reach[self.place[v]] |= 1 << n
        self.inner = bits(e for e, (_, right) in enumerate(sub.beside) if right != BORDER)
        # The cut is made in the open sheet: what lies along its edge is cut already, and what touches it is not
        # severed.
        self.target = self.inner & bits(sub.target)
        spared = [e for e, (_, right) in enumerate(sub.beside) if right == BORDER or e in sub.target]
        self.spared_vertices = bits({v for e in spared for v in sub.edges[e]})
        self.lines: list[Cutter] = []
        self.line_of = [-1] * len(sub.edges)
        for e, (u, v) in enumerate(sub.edges):
            if self.line_of[e] < 0:
                n = self.add_line(line(fold.images[u], fold.images[v]))
                for other in members(self.on_line(n)):
                    self.line_of[other] = n
        self._ranks: dict[int, dict[int, int]] = {}
        # Of each face: its edge lines with its side of them, and the faces and the edges that reach to all these sides.
        lines = [{self.line_of[e] for e in sub.face_edges(f)} for f in range(len(sub.faces))]
        self.face_lines = [[(n, self.side(n, f)) for n in found] for f, found in enumerate(lines)]
        self.near_faces = [reduce(and_, [self.lines[n].faces[s] for n, s in sides]) for sides in self.face_lines]
        self.near_edges = [reduce(and_, [self.lines[n].edges[s] for n, s in sides]) for sides in self.face_lines]

    def add_line(self, of: Line) -> int:
        """The number of a new line."""
        places, faces, edges = [0, 0, 0], [0, 0, 0], [0, 0, 0]
        for k, p in enumerate(self.points):
            sign = side(self.field, of, p)  # 1, 0 or -1: the last of three for the negative side
            places[sign] |= 1 << k
            faces[sign] |= self.faces_at[k]
            edges[sign] |= self.edges_at[k]
        self.lines.append(Cutter(of, (places[1], places[-1]), (faces[1], faces[-1]), (edges[1], edges[-1])))
        return len(self.lines) - 1

    def on_line(self, n: int) -> int:
        """The edges whose image lies on the line."""
        left, right = self.lines[n].edges
        return ((1 << len(self.sub.edges)) - 1) & ~(left | right)

    def astride(self, n: int) -> int:
        """The faces that reach strictly to both sides of a line: those whose open images meet it."""
        left, right = self.lines[n].faces
        return left & right

    def side(self, n: int, f: int) -> int:
        """0 if face f reaches to the positive side of the line, else 1; for an edge line of f that is f's side."""
        return 1 - (self.lines[n].faces[0] >> f & 1)

    def overlap(self, f: int, g: int) -> bool:
        """Whether the open images of two faces meet: no edge line of either separates them."""
        return f != g and bool(self.near_faces[f] >> g & 1 and self.near_faces[g] >> f & 1)

    def overlaps(self, f: int) -> int:
        return bits(g for g in members(self.near_faces[f]) if self.overlap(f, g))

    def crosses(self, e: int, f: int) -> bool:
        """Whether the image of the open edge meets the image of the open face."""
        return bool(self.near_edges[f] >> e & 1 and self.astride(self.line_of[e]) >> f & 1)

    def inside(self, f: int, p: Point) -> bool:
        """Whether the open image of the face contains a point."""
        return all(side(self.field, self.lines[n].line, p) == 1 - 2 * s for n, s in self.face_lines[f])

    def common(self, *faces: int) -> bool:
        """Whether the open images of some faces have a common point.

        The closed images have a polygon in common whose corners are among the meets of edge lines. It has a point
        inside all lines iff for each line some corner is strictly inside (then the mean of those corners is).
        """
        inside = {(self.lines[n].line, 1 - 2 * s) for f in faces for n, s in self.face_lines[f]}
        reached = set()
        for (a, b, c), _ in inside:
            for (p, q, r), _ in inside:
                x, y, w = b * r - q * c, p * c - a * r, a * q - p * b
                front = self.field.sign(w)
                signs = [side(self.field, of, (x, y, w)) * front * s for of, s in inside]
                if front and min(signs) >= 0:
                    reached |= {k for k, sign in enumerate(signs) if sign}
        return len(reached) == len(inside)

    def ranks(self, n: int) -> dict[int, int]:
        """The places on a line, numbered along it; equal numbers for equal places."""
        if n not in self._ranks:
            (a, b, _), (left, right), *_ = self.lines[n]
            along = {i: (p[0] * b - p[1] * a, p[2]) for i, p in enumerate(self.points) if not (left | right) >> i & 1}

            def compare(i: int, j: int) -> int:
                return self.field.sign(along[i][0] * along[j][1] - along[j][0] * along[i][1])

            order = sorted(along, key=cmp_to_key(compare))
            steps = [compare(j, i) for i, j in pairwise(order)]  # 0 or 1
            self._ranks[n] = dict(zip(order, accumulate(steps, initial=0), strict=False))
        return self._ranks[n]

    def span(self, n: int, u: int, v: int) -> tuple[int, int]:
        """The ranks of two vertices' images on a line, the lesser first."""
        low, high = sorted(self.ranks(n)[self.place[x]] for x in (u, v))
        return low, high

    def spans(self, n: int, edges: int) -> list[tuple[int, int, int]]:
        """For edges whose images lie on the line the ranks of the ends, and the edge; in order."""
        return sorted((*self.span(n, *self.sub.edges[e]), e) for e in members(edges))

    def gap(self, d: int, e: int) -> tuple[int, int]:
        """Of two edges with images on one line the lesser of the far ends and the greater of the near ends.

        If the first is less or equal, that is the gap between them; if greater, the images share a segment.
        """
        (a, b), (p, q) = (self.span(self.line_of[d], *self.sub.edges[x]) for x in (d, e))
        return min(b, q), max(a, p)
