"""The sign table of the folded sheet: what lies on which side of the lines of the edges' images.

All questions about overlaps and crossings of images are answered by set
operations on the table. A set (of vertices, faces or edges) is an integer, one
bit for each member. The table is filled where it may be needed and nowhere
else: of the line of an edge, for the faces whose boxes meet that of a face of
the edge. Open faces have no common point if their boxes have none.
"""

from functools import cmp_to_key
from itertools import accumulate, pairwise
from typing import NamedTuple

from .boxes import Boxes, bits, box_of, hull, members
from .folded import Fold
from .numbers import Field
from .plane import Line, Point, line, side
from .subdivision import BORDER, Subdivision


class Sides(NamedTuple):
    """What lies strictly on the left and strictly on the right of a line, as far as that is known."""

    left: int
    right: int


class Cutter(NamedTuple):
    """A line, what lies on it, and the faces and edges of which at least a part lies on a side."""

    line: Line
    vertices_on: int
    edges_on: int
    faces: Sides
    edges: Sides


class Table:
    """Assumes that the fold map has been checked: every image is a convex polygon with an interior."""

    def __init__(self, field: Field, sub: Subdivision, fold: Fold) -> None:
        self.field, self.sub, self.fold = field, sub, fold
        self.set_reach()
        self.set_kinds()
        corners = [box_of(field, p) for p in fold.images]
        boxes = [hull([corners[v] for v in face]) for face in sub.faces]
        self.boxes = Boxes(boxes)
        self.near = [self.boxes.meeting(box) for box in boxes]  # of each face those whose boxes meet its own
        self.lines: list[Cutter] = []
        self.line_of = [-1] * len(sub.edges)
        for e in range(len(sub.edges)):
            if self.line_of[e] < 0:
                self.set_line(e)
        self.whole_lines: dict[int, int] = {}
        self.ranks_of: dict[int, dict[int, int]] = {}
        self.face_lines = [self.lines_of_face(f) for f in range(len(sub.faces))]
        self.reaching_faces, self.reaching_edges = self.reaching()

    def set_reach(self) -> None:
        """Of each vertex the faces that have a corner there, and the edges that have an end there."""
        self.faces_at = [0] * len(self.fold.images)
        self.edges_at = [0] * len(self.fold.images)
        for f, face in enumerate(self.sub.faces):
            for v in face:
                self.faces_at[v] |= 1 << f
        for e, ends in enumerate(self.sub.edges):
            for v in ends:
                self.edges_at[v] |= 1 << e

    def set_kinds(self) -> None:
        """The cut is made in the open sheet: what lies along its edge is cut already, and what touches it is not
        severed.
        """
        border = bits(e for e, (_, right) in enumerate(self.sub.beside) if right == BORDER)
        self.inner = ((1 << len(self.sub.edges)) - 1) & ~border
        self.target = self.inner & bits(self.sub.target)
        spared = border | bits(self.sub.target)
        self.spared_vertices = bits(v for e in members(spared) for v in self.sub.edges[e])

    def near_edge(self, e: int) -> int:
        """The faces whose boxes meet that of a face of the edge."""
        left, right = self.sub.beside[e]
        return self.near[left] if right == BORDER else self.near[left] | self.near[right]

    def set_line(self, e: int) -> None:
        """A line for the edge, and for the others on it of which the table then knows enough."""
        u, v = self.sub.edges[e]
        near = self.near_edge(e)
        n = self.add_line(line(self.fold.images[u], self.fold.images[v]), near)
        for other in members(self.lines[n].edges_on):
            if self.line_of[other] < 0 and not self.near_edge(other) & ~near:
                self.line_of[other] = n

    def add_line(self, of: Line, near: int) -> int:
        """The number of a new line, of whose sides the table then knows for the corners of the faces `near`."""
        vertices = {v for f in members(near) for v in self.sub.faces[f]}
        self.field.work.spend(near.bit_count() // 4 + len(vertices) * len(self.sub.faces) // 7_000)
        on, edges_on, ends = 0, 0, 0
        faces, edges = [0, 0], [0, 0]
        for v in vertices:
            sign = side(self.field, of, self.fold.images[v])
            if sign == 0:
                on |= 1 << v
                edges_on |= ends & self.edges_at[v]  # those with both ends on the line
                ends |= self.edges_at[v]
            else:
                which = 0 if sign > 0 else 1
                faces[which] |= self.faces_at[v]
                edges[which] |= self.edges_at[v]
        self.lines.append(Cutter(of, on, edges_on, Sides(*faces), Sides(*edges)))
        return len(self.lines) - 1

    def add_whole_line(self, of: Line) -> int:
        """The number of a new line, of whose sides everything is known."""
        return self.add_line(of, (1 << len(self.sub.faces)) - 1)

    def whole_line(self, e: int) -> int:
        """The number of the line of an edge, of whose sides everything is known."""
        if e not in self.whole_lines:
            n = self.add_whole_line(self.lines[self.line_of[e]].line)
            self.whole_lines |= dict.fromkeys(members(self.lines[n].edges_on), n)
        return self.whole_lines[e]

    def astride(self, n: int) -> int:
        """The faces that reach strictly to both sides of a line: those whose open images meet it."""
        left, right = self.lines[n].faces
        return left & right

    def is_left(self, n: int, f: int) -> bool:
        """Whether a face reaches to the left of the line; of the line of an edge of its own, whether it lies there."""
        return self.lines[n].faces.left >> f & 1 == 1

    def lines_of_face(self, f: int) -> list[tuple[int, bool]]:
        """The lines of the edges of a face, and whether it lies on their left."""
        found = {self.line_of[e] for e in self.sub.face_edges(f)}
        return [(n, self.is_left(n, f)) for n in found]

    def reaching(self) -> tuple[list[int], list[int]]:
        """Of each face the faces near it, and the edges, that reach strictly to its side of all lines of its edges."""
        all_faces, all_edges = [], []
        for f, found in enumerate(self.face_lines):
            faces, edges = self.near[f], -1
            for n, left in found:
                cutter = self.lines[n]
                faces &= cutter.faces.left if left else cutter.faces.right
                edges &= cutter.edges.left if left else cutter.edges.right
            all_faces.append(faces)
            all_edges.append(edges)
        return all_faces, all_edges

    def overlap(self, f: int, g: int) -> bool:
        """Whether the open images of two faces meet: no edge line of either separates them."""
        return f != g and self.reaching_faces[f] >> g & 1 == 1 and self.reaching_faces[g] >> f & 1 == 1

    def overlaps(self, f: int) -> int:
        """The faces whose open images meet that of face f."""
        self.field.work.spend(self.reaching_faces[f].bit_count())
        return bits(g for g in members(self.reaching_faces[f]) if self.overlap(f, g))

    def crosses(self, e: int, f: int) -> bool:
        """Whether the image of the open edge meets the image of the open face."""
        near = self.near[f] >> self.sub.beside[e][0] & 1 == 1
        reaches = self.reaching_edges[f] >> e & 1 == 1
        return near and reaches and self.astride(self.line_of[e]) >> f & 1 == 1

    def inside(self, f: int, p: Point) -> bool:
        """Whether the open image of the face contains a point."""
        return all(side(self.field, self.lines[n].line, p) == (1 if left else -1) for n, left in self.face_lines[f])

    def common(self, *faces: int) -> bool:
        """Whether the open images of some faces have a common point.

        The closed images have a polygon in common whose corners are among the meets of edge lines. It has a point
        inside all lines iff for each line some corner is strictly inside (then the mean of those corners is).
        """
        inside = {(self.lines[n].line, 1 if left else -1) for f in faces for n, left in self.face_lines[f]}
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
        """The vertices whose images are known to lie on a line, numbered along it; equal numbers for equal places."""
        if n not in self.ranks_of:
            (a, b, _), images = self.lines[n].line, self.fold.images

            def compare(u: int, v: int) -> int:
                self.field.work.spend(1)
                (p, q, w), (s, t, x) = images[u], images[v]
                return self.field.sign((p * b - q * a) * x - (s * b - t * a) * w)

            order = sorted(members(self.lines[n].vertices_on), key=cmp_to_key(compare))
            steps = [compare(v, u) for u, v in pairwise(order)]  # 0 or 1
            self.ranks_of[n] = dict(zip(order, accumulate(steps, initial=0), strict=False))
        return self.ranks_of[n]

    def span(self, n: int, u: int, v: int) -> tuple[int, int]:
        """The ranks of two vertices' images on a line, the lesser first."""
        low, high = sorted((self.ranks(n)[u], self.ranks(n)[v]))
        return low, high

    def spans(self, n: int, edges: int) -> list[tuple[int, int, int]]:
        """For edges whose images lie on the line the ranks of the ends, and the edge; in order."""
        self.field.work.spend(4 * edges.bit_count())
        return sorted((*self.span(n, *self.sub.edges[e]), e) for e in members(edges))

    def gap(self, n: int, d: int, e: int) -> tuple[int, int]:
        """Of two edges with images on a line the lesser of the far ends and the greater of the near ends.

        If the first is less or equal, that is the gap between them; if greater, the images share a segment.
        """
        (a, b), (p, q) = self.span(n, *self.sub.edges[d]), self.span(n, *self.sub.edges[e])
        return min(b, q), max(a, p)
