"""The sign table of the folded sheet: on which side of each folded edge line everything lies.

All questions about overlaps and crossings of images are answered by set
operations on it. A set (of places, faces or edges) is an integer, one bit for
each member.
"""

from collections.abc import Iterable, Iterator
from functools import cmp_to_key
from typing import NamedTuple

from .fold import Fold
from .numbers import Field, coefficients
from .plane import Line, Point, line, side
from .subdivision import BORDER, Subdivision

Sides = tuple[int, int]  # the sets of what lies strictly on the positive and strictly on the negative side


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
        known: dict[object, int] = {}
        keys = [(coefficients(x), coefficients(y), w) for x, y, w in fold.images]
        self.place = [known.setdefault(key, len(known)) for key in keys]
        self.points: list[Point] = [fold.images[self.place.index(i)] for i in range(len(known))]
        self.faces_at, self.edges_at = [0] * len(known), [0] * len(known)
        for reach, things in ((self.faces_at, sub.faces), (self.edges_at, sub.edges)):
            for n, corners in enumerate(things):
                for v in corners:
                    reach[self.place[v]] |= 1 << n
        self.inner = bits(e for e, (_, right) in enumerate(sub.beside) if right != BORDER)
        self.target = bits(sub.target)
        self.lines: list[Cutter] = []
        self.line_of = [-1] * len(sub.edges)
        for e, (u, v) in enumerate(sub.edges):
            if self.line_of[e] < 0:
                n = self.line_through(self.place[u], self.place[v])
                for other in members(self.on_line(n)):
                    self.line_of[other] = n
        self._ranks: dict[int, dict[int, int]] = {}
        # Per face: the faces and the edges that reach, for each edge line of the face, strictly to the face's side.
        self.face_lines = [{self.line_of[e] for e in sub.face_edges(f)} for f in range(len(sub.faces))]
        self.near_faces, self.near_edges = [-1] * len(sub.faces), [-1] * len(sub.faces)
        for f, lines in enumerate(self.face_lines):
            for n in lines:
                self.near_faces[f] &= self.lines[n].faces[self.side(n, f)]
                self.near_edges[f] &= self.lines[n].edges[self.side(n, f)]

    def line_through(self, i: int, j: int) -> int:
        """The number of a new line through two places that differ."""
        return self.add_line(line(self.points[i], self.points[j]))

    def add_line(self, of: Line) -> int:
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

    def common(self, *faces: int) -> bool:
        """Whether the open images of some faces have a common point.

        The closed images have a polygon in common whose corners are among the meets of edge lines. It has a point
        inside all lines iff for each line some corner is strictly inside (then the mean of those corners is).
        """
        inside = {(self.lines[n].line, 1 - 2 * self.side(n, f)) for f in faces for n in self.face_lines[f]}
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

            result: dict[int, int] = {}
            last, rank = -1, -1
            for i in sorted(along, key=cmp_to_key(compare)):
                rank += last < 0 or compare(last, i) != 0
                result[i], last = rank, i
            self._ranks[n] = result
        return self._ranks[n]

    def span(self, n: int, u: int, v: int) -> tuple[int, int]:
        """The ranks of two vertices' images on a line, the lesser first."""
        low, high = sorted(self.ranks(n)[self.place[x]] for x in (u, v))
        return low, high

    def spans(self, n: int, edges: int) -> list[tuple[int, int, int]]:
        """For edges whose images lie on the line the ranks of the ends, and the edge; in order."""
        return sorted((*self.span(n, *self.sub.edges[e]), e) for e in members(edges))

    def share(self, d: int, e: int) -> bool:
        """Whether the images of two edges have a segment in common."""
        n = self.line_of[d]
        if n != self.line_of[e]:
            return False
        (a, b), (p, q) = (self.span(n, *self.sub.edges[x]) for x in (d, e))
        return max(a, p) < min(b, q)
