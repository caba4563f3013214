"""The sign table of the folded sheet: on which side of each folded edge line everything lies.

All questions about overlaps and crossings of images are answered by set
operations on it. A set (of places, faces or edges) is an integer, one bit for
each member.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cmp_to_key

from .fold import Fold
from .numbers import Field, Ring, coefficients
from .plane import Line, Point, line, side
from .subdivision import BORDER, Subdivision

FILTER = 128  # bits of the first attempt at a sign


def members(bits: int) -> Iterator[int]:
    while bits:
        low = bits & -bits
        yield low.bit_length() - 1
        bits ^= low


@dataclass(frozen=True, slots=True)
class Sides:
    """What lies strictly on the positive and strictly on the negative side of a line (for edges and faces: a part)."""

    line: Line
    places: tuple[int, int]
    faces: tuple[int, int]
    edges: tuple[int, int]


class Table:
    """Assumes that the fold map has been checked: every image is a convex polygon with an interior."""

    def __init__(self, field: Field, sub: Subdivision, fold: Fold) -> None:
        self.field, self.sub, self.fold = field, sub, fold
        self.points: list[Point] = []  # images of vertices; equal ones may, but need not, be one place
        self.place: list[int] = []
        known: dict[tuple[tuple[int, ...], tuple[int, ...], int], int] = {}
        for p in fold.images:
            key = coefficients(p[0]), coefficients(p[1]), p[2]
            if key not in known:
                known[key] = len(self.points)
                self.points.append(p)
            self.place.append(known[key])
        self.faces_at = [0] * len(self.points)
        self.edges_at = [0] * len(self.points)
        for f, face in enumerate(sub.faces):
            for v in face:
                self.faces_at[self.place[v]] |= 1 << f
        for e, ends in enumerate(sub.edges):
            for v in ends:
                self.edges_at[self.place[v]] |= 1 << e
        self.all_edges = (1 << len(sub.edges)) - 1
        self.inner = sum(1 << e for e, (_, right) in enumerate(sub.beside) if right != BORDER)
        self._approximate = [self._approximation(p) for p in self.points] if field.degree > 1 else []
        self.lines: list[Sides] = []
        self.line_of = [-1] * len(sub.edges)
        for e, (u, v) in enumerate(sub.edges):
            if self.line_of[e] < 0:
                number = self.line_through(self.place[u], self.place[v])
                for other in members(self.on_line(number)):
                    self.line_of[other] = number
        self._ranks: dict[int, dict[int, int]] = {}
        # Per face: the faces and the edges that reach, for each edge line of the face, strictly to the face's side.
        self.face_lines = [[self.line_of[e] for e in sub.face_edges(f)] for f in range(len(sub.faces))]
        self.near_faces: list[int] = []
        self.near_edges: list[int] = []
        for f, lines in enumerate(self.face_lines):
            faces = edges = -1
            for number in lines:
                s = self.side(number, f)
                faces &= self.lines[number].faces[s]
                edges &= self.lines[number].edges[s]
            self.near_faces.append(faces)
            self.near_edges.append(edges)

    def _approximation(self, p: Point) -> tuple[int, int, int, int, int]:
        (x, ex), (y, ey) = self._rounded(p[0]), self._rounded(p[1])
        error, w = max(ex, ey), p[2] << FILTER
        return x, y, w, error, abs(x) + abs(y) + w + 2 * error

    def _rounded(self, x: Ring) -> tuple[int, int]:
        """Integers m, e with |x * 2^FILTER - m| <= e."""
        low, high = self.field.enclosure(x, FILTER)
        return low, high - low

    def _values(self, of: Line) -> list[int]:
        """For each place an integer with the sign of the line's value there."""
        a, b, c = of
        if isinstance(a, int) and isinstance(b, int) and isinstance(c, int):
            return [a * x + b * y + c * w for x, y, w in self.points]  # type: ignore[misc]
        (a, ea), (b, eb), (c, ec) = self._rounded(a), self._rounded(b), self._rounded(c)
        error, size = max(ea, eb, ec), abs(a) + abs(b)
        result = []
        for i, (x, y, w, e, m) in enumerate(self._approximate):
            # |a x - (true a)(true x)| <= |a| e + |x| error + error e, likewise for y, and w is exact.
            value = a * x + b * y + c * w
            result.append(value if abs(value) > error * m + size * e else side(self.field, of, self.points[i]))
        return result

    def line_through(self, i: int, j: int) -> int:
        """The number of a new line through two places that differ."""
        of = line(self.points[i], self.points[j])
        positive = [0, 0, 0]
        negative = [0, 0, 0]
        for k, value in enumerate(self._values(of)):
            if value:
                reached = positive if value > 0 else negative
                reached[0] |= 1 << k
                reached[1] |= self.faces_at[k]
                reached[2] |= self.edges_at[k]
        places, faces, edges = zip(positive, negative, strict=True)
        self.lines.append(Sides(of, places, faces, edges))
        return len(self.lines) - 1

    def on_line(self, number: int) -> int:
        """The edges whose image lies on the line."""
        a, b = self.lines[number].edges
        return self.all_edges & ~(a | b)

    def side(self, number: int, f: int) -> int:
        """0 if face f reaches to the positive side of the line, else 1; for an edge line of f that is f's side."""
        return 0 if self.lines[number].faces[0] >> f & 1 else 1

    def overlaps(self, f: int) -> int:
        """The other faces whose open images meet that of f: no edge line of either separates them."""
        return sum(1 << g for g in members(self.near_faces[f] & ~(1 << f)) if self.near_faces[g] >> f & 1)

    def overlap(self, f: int, g: int) -> bool:
        return f != g and bool(self.near_faces[f] >> g & 1) and bool(self.near_faces[g] >> f & 1)

    def astride(self, number: int) -> int:
        """The faces that reach strictly to both sides of a line: those whose open images meet it."""
        a, b = self.lines[number].faces
        return a & b

    def crosses(self, e: int, f: int) -> bool:
        """Whether the image of the open edge meets the image of the open face."""
        return bool(self.near_edges[f] >> e & 1) and bool(self.astride(self.line_of[e]) >> f & 1)

    def common(self, f: int, g: int, h: int) -> bool:
        """Whether three open images have a common point.

        The closed images have a polygon in common whose corners are among the meets of edge lines. It has a point
        inside all lines iff for each line some corner is strictly inside (then the mean of those corners is).
        """
        sides = {n: 1 - 2 * self.side(n, k) for k in (f, g, h) for n in self.face_lines[k]}
        if any(self.side(n, k) * 2 != 1 - sides[n] for k in (f, g, h) for n in self.face_lines[k]):
            return False  # one line between two of them
        lines = [(self.lines[n].line, s) for n, s in sides.items()]
        reached: set[int] = set()
        for i, ((a, b, c), _) in enumerate(lines):
            for (p, q, r), _ in lines[:i]:
                x, y, w = b * r - q * c, p * c - a * r, a * q - p * b
                front = self.field.sign(w)
                if front:
                    signs = [self.field.sign(l[0] * x + l[1] * y + l[2] * w) * front * s for l, s in lines]
                    if min(signs) >= 0:
                        reached.update(k for k, sign in enumerate(signs) if sign)
        return len(reached) == len(lines)

    def ranks(self, number: int) -> dict[int, int]:
        """The places on a line, numbered along it; equal numbers for equal places."""
        if number not in self._ranks:
            (a, b, _), (left, right) = self.lines[number].line, self.lines[number].places
            on = ((1 << len(self.points)) - 1) & ~(left | right)
            along = {i: self.points[i][0] * b - self.points[i][1] * a for i in members(on)}

            def compare(i: int, j: int) -> int:
                return self.field.sign(along[i] * self.points[j][2] - along[j] * self.points[i][2])

            result: dict[int, int] = {}
            last, rank = -1, 0
            for i in sorted(along, key=cmp_to_key(compare)):
                if last >= 0 and compare(last, i):
                    rank += 1
                result[i] = rank
                last = i
            self._ranks[number] = result
        return self._ranks[number]

    def span(self, number: int, e: int) -> tuple[int, int]:
        """The ranks of the ends of an edge whose image lies on the line, the lesser first."""
        ranks = self.ranks(number)
        a, b = (ranks[self.place[v]] for v in self.sub.edges[e])
        return min(a, b), max(a, b)

    def share(self, d: int, e: int) -> bool:
        """Whether the images of two edges have a segment in common."""
        number = self.line_of[d]
        if number != self.line_of[e]:
            return False
        (a, b), (p, q) = self.span(number, d), self.span(number, e)
        return max(a, p) < min(b, q)
