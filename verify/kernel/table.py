"""The sign table of the folded sheet: which faces overlap, which edges run through which faces or along which lines.

The table holds what lies on which side of the lines of the edges' images.
"""

from bisect import bisect_right
from functools import cmp_to_key, reduce
from itertools import accumulate, combinations, pairwise
from operator import and_
from typing import NamedTuple

from .boxes import Boxes, NumberSet, Places, has, hull, members, number_set
from .folded import Fold
from .numbers import Field
from .plane import Line, Point, line, side
from .subdivision import Subdivision

Span = tuple[int, int, int]  # the ranks of the ends of an edge, the lesser first, and the edge


class Cutter(NamedTuple):
    """A line, the vertices and edges on it, and the faces that reach to either side of it."""

    line: Line
    vertices: set[int]
    edges: set[int]
    reach: dict[int, NumberSet]  # by the side: 1 is the left, -1 the right


class Table:
    """Assumes that the fold map has been checked: every image is a convex polygon with an interior."""

    def __init__(self, field: Field, sub: Subdivision, fold: Fold) -> None:
        self.field, self.sub, self.fold = field, sub, fold
        # The cut is made in the open sheet: what lies along its edge is cut already, what touches it not severed.
        self.spared_edges = {e for e in range(len(sub.edges)) if e in sub.target or not sub.is_inner(e)}
        self.spared_vertices = {v for e in self.spared_edges for v in sub.edges[e]}
        faces_at = [0] * len(fold.images)  # of each vertex the faces that have a corner there
        for f, face in enumerate(sub.faces):
            for v in face:
                faces_at[v] |= number_set([f])
        self.places = Places(field, fold.images, faces_at)
        self.boxes = Boxes([hull([self.places.boxes[v] for v in face]) for face in sub.faces])
        self.edges_from: list[list[int]] = [[] for _ in fold.images]
        for e, (v, _) in enumerate(sub.edges):
            self.edges_from[v].append(e)
        self.lines: list[Cutter] = []
        self.line_of = [-1] * len(sub.edges)
        for e in range(len(sub.edges)):
            if self.line_of[e] < 0:
                n = self.add_line(*self.ends(e))
                for other in self.lines[n].edges:
                    self.line_of[other] = n
        self.ranks_of: dict[int, dict[int, int]] = {}
        self.face_lines = [self.lines_of_face(f) for f in range(len(sub.faces))]
        self.reaching = [self.reaching_in(f) for f in range(len(sub.faces))]

    def ends(self, e: int) -> tuple[Point, Point]:
        """The images of the ends of an edge."""
        u, v = self.sub.edges[e]
        return self.fold.images[u], self.fold.images[v]

    def add_line(self, p: Point, q: Point) -> int:
        """The number of a new line."""
        on, reach = set[int](), {1: 0, -1: 0}
        for cluster, sign in self.places.sides(p, q):
            if sign == 0:
                on.update(cluster.numbers)
            else:
                reach[sign] |= cluster.belongs
        edges = {e for v in on for e in self.edges_from[v] if self.sub.edges[e][1] in on}
        self.lines.append(Cutter(line(p, q), on, edges, reach))
        return len(self.lines) - 1

    def astride(self, n: int) -> NumberSet:
        """The faces that reach strictly to both sides of a line: those whose open images meet it."""
        return self.lines[n].reach[1] & self.lines[n].reach[-1]

    def side_of(self, n: int, f: int) -> int:
        """The side of a line on which a face lies that has an edge on it."""
        return 1 if has(self.lines[n].reach[1], f) else -1

    def lines_of_face(self, f: int) -> list[tuple[int, int]]:
        """The lines of the edges of a face, and the side of each on which it lies."""
        return [(n, self.side_of(n, f)) for n in {self.line_of[e] for e in self.sub.face_edges(f)}]

    def reaching_in(self, f: int) -> NumberSet:
        """The faces that reach strictly to a face's side of all lines of its edges."""
        return reduce(and_, [self.lines[n].reach[own] for n, own in self.face_lines[f]])

    def overlap(self, f: int, g: int) -> bool:
        """Whether the open images of two faces meet: no edge line of either separates them."""
        return f != g and has(self.reaching[f], g) and has(self.reaching[g], f)

    def overlaps(self, f: int) -> NumberSet:
        """The faces whose open images meet that of face f."""
        self.field.work.spend(self.reaching[f].bit_count())
        return number_set(g for g in members(self.reaching[f]) if self.overlap(f, g))

    def has(self, f: int, *points: Point) -> bool:
        """Whether for each line of the face's edges one of the points is strictly on the face's side.

        Of one point, whether it is inside the face.
        """
        return all(own in [side(self.field, self.lines[n].line, p) for p in points] for n, own in self.face_lines[f])

    def crosses(self, e: int, f: int) -> bool:
        """Whether the image of the open edge meets the image of the open face."""
        return has(self.astride(self.line_of[e]), f) and self.has(f, *self.ends(e))

    def common(self, *faces: int) -> bool:
        """Whether the open images of some faces have a common point.

        The closed images have a polygon in common whose corners are among the meets of edge lines. It has a point
        inside all lines iff for each line some corner is strictly inside (then the mean of those corners is).
        """
        halves = {(self.lines[n].line, own) for f in faces for n, own in self.face_lines[f]}  # of the plane
        entered = set[int]()  # the half planes that some corner is strictly inside
        for ((a, b, c), _), ((p, q, r), _) in combinations(halves, 2):
            x, y, w = b * r - q * c, p * c - a * r, a * q - p * b  # where the lines meet; parallel ones do not: w is 0
            front = self.field.sign(w)
            depths = [side(self.field, of, (x, y, w)) * front * own for of, own in halves]  # 1 inside, -1 outside
            if front != 0 and min(depths) >= 0:
                entered |= {k for k, depth in enumerate(depths) if depth > 0}
        return len(entered) == len(halves)

    def ranks(self, n: int) -> dict[int, int]:
        """The vertices whose images lie on a line, numbered along it; equal numbers for equal places."""
        if n not in self.ranks_of:
            (a, b, _), images = self.lines[n].line, self.fold.images

            def compare(u: int, v: int) -> int:
                self.field.work.spend(2)
                (p, q, w), (s, t, x) = images[u], images[v]
                return self.field.sign((p * b - q * a) * x - (s * b - t * a) * w)

            order = sorted(self.lines[n].vertices, key=cmp_to_key(compare))
            steps = [compare(v, u) for u, v in pairwise(order)]  # 0 or 1
            self.ranks_of[n] = dict(zip(order, accumulate(steps, initial=0), strict=False))
        return self.ranks_of[n]

    def span(self, n: int, u: int, v: int) -> tuple[int, int]:
        """The ranks of two vertices' images on a line, the lesser first."""
        low, high = sorted((self.ranks(n)[u], self.ranks(n)[v]))
        return low, high

    def spans(self, n: int) -> list[Span]:
        """The inner edges whose images lie on the line, in order."""
        edges = self.lines[n].edges
        self.field.work.spend(4 * len(edges))
        return sorted((*self.span(n, *self.sub.edges[e]), e) for e in edges if self.sub.is_inner(e))

    def along(self, spans: list[Span]) -> dict[int, list[int]]:
        """The edges along each stretch of a line that has more of them than those next to it, by where it ends.

        Edges that have any stretch in common stand together in one of these lists.
        """
        ends = sorted(high for _, high, _ in spans)
        stretches = sorted({ends[bisect_right(ends, low)] for low, _, _ in spans})  # up to the next end
        edges: dict[int, list[int]] = {end: [] for end in stretches}
        for low, high, e in spans:
            for end in stretches[bisect_right(stretches, low) : bisect_right(stretches, high)]:
                self.field.work.spend(1)
                edges[end].append(e)
        return edges

    def gap(self, n: int, d: int, e: int) -> tuple[int, int]:
        """Of two edges with images on a line the lesser of the far ends and the greater of the near ends.

        If the first is less or equal, that is the gap between them; if greater, the images share a segment.
        """
        (a, b), (p, q) = self.span(n, *self.sub.edges[d]), self.span(n, *self.sub.edges[e])
        return min(b, q), max(a, p)
