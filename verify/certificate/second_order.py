"""Evidence for the second checker that no layer order exists: the kernel's reasons, for triangles.

A face is cut into triangles, so each pair of faces is some pairs of triangles; more reasons say that they keep one
order. Untrusted: whatever stands here, the checker decides.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from math import floor
from typing import Any

from verify.certificate.second_cut import Edge, NoCut, Triangle, counted, fraction_between, log_of_two
from verify.exact.number import Number
from verify.exact.plane import Point, centre, cross, polygon_area2
from verify.folding.overlaps import clip

Literal = tuple[int, int]  # the first triangle is above the second
Clause = list[Literal]
Item = int | str


class NoOrderProof(NoCut):
    """Why no layer order exists: over triangles and the images of vertices."""

    def __init__(self, triangles: Sequence[Triangle], images: Sequence[Point], mountains: Iterable[Edge]) -> None:
        super().__init__(triangles, images, ())
        self.mountains = {frozenset(edge) for edge in mountains}
        self.reasons: list[list[Item]] = []
        self.clauses: list[Clause] = []

    def items(self, refutation: Mapping[str, Any], snips: int | None = None) -> Iterator[object]:
        """The kind, a tree over the triangles, what lies over what, reasons, and steps with the clauses they use."""
        for reason in refutation["reasons"]:
            self._reason(reason)
        pairs = {self._faces(x) for clause in self.clauses for x in clause}
        for f, g in sorted({(min(p), max(p)) for p in pairs}):
            self._keep_one_order(f, g)
        stands_for: dict[tuple[int, int], Literal] = {}
        for clause in self.clauses:
            for a, b in clause:
                stands_for.setdefault(self._faces((a, b)), (a, b))
                stands_for.setdefault(self._faces((b, a)), (b, a))
        steps = list[tuple[Clause, list[int]]]()
        for step in refutation["steps"]:
            clause = [stands_for[f, g] for f, g in step if (f, g) in stands_for]
            steps.append((clause, self._hints(clause)))
            self.clauses.append(clause)
        over = sorted({(min(x), max(x)) for clause in self.clauses for x in clause})
        yield "order"
        yield from self._tree()
        yield from counted([(a, b, *self._weights(a, self._common(a, b))) for a, b in over])
        yield from counted(self.reasons)
        yield from counted([(*counted(clause), len(hints), *hints) for clause, hints in steps])

    def _faces(self, literal: Literal) -> tuple[int, int]:
        a, b = literal
        return int(self.triangles[a][4]), int(self.triangles[b][4])

    # ---- the kernel's reasons ----

    def _reason(self, reason: Mapping[str, Any]) -> None:
        if "fold" in reason:
            self._by_mark(tuple(reason["fold"]))
        elif "edges" in reason:
            d, e = map(tuple, reason["edges"])
            self._by_edges(d, e)
        elif "face" in reason:
            self._by_crossing(tuple(reason["edge"]), reason["face"])
        else:
            self._by_three(*reason["faces"])

    def _at(self, edge: Edge) -> list[int]:
        return self.beside[frozenset(edge)]

    def _is_fold(self, edge: Edge) -> bool:
        a, b = self._at(edge)
        return bool(self.triangles[a][3] != self.triangles[b][3])

    def _by_mark(self, edge: Edge) -> None:
        front, back = sorted(self._at(edge), key=lambda n: self.triangles[n][3])
        self.reasons.append(["mark", *edge, front, back])
        self.clauses.append([(front, back) if frozenset(edge) in self.mountains else (back, front)])

    def _by_edges(self, d: Edge, e: Edge) -> None:
        if not self._is_fold(d):
            d, e = e, d
        a, b = self._at(d)
        p, q = self._at(e)
        if not self._common(a, p):
            p, q = q, p
        way = self._shared(d, e)
        kind = ("folds" if self._is_fold(e) else "flat") if self._is_fold(d) else "flats"
        self.reasons.append([kind, *d, a, b, *e, p, q, *way])
        if kind == "folds":
            self.clauses += evenly([(a, p), (b, p), (a, q), (b, q)])
        else:
            self.clauses += same((a, p), (b, p if kind == "flat" else q))

    def _by_crossing(self, edge: Edge, face: int) -> None:
        if any(self._crosses(edge, s) for s in self.of_face[face]):
            return
        for diagonal in self._diagonals(face):  # the edge runs along an edge between two triangles of the face
            if self._along(edge, diagonal):
                self._by_edges(edge, diagonal)
                return
        raise ValueError(f"edge {edge} does not run through face {face}")

    def _crosses(self, edge: Edge, s: int) -> bool:
        """Whether an edge runs through a triangle, and the reason that this makes."""
        way = self._way(*edge, False, s)
        if way is None:
            return False
        a, b = self._at(edge)
        self.reasons.append(["crossing", *edge, a, b, s, *way])
        self.clauses += same((a, s), (b, s))
        return True

    def _by_three(self, f: int, g: int, h: int) -> None:
        for t in self.of_face[f]:
            for s in self.of_face[g]:
                for w in self.of_face[h]:
                    if common := self._common(t, s, w):
                        self.reasons.append(["three", t, s, w, *self._weights(t, common)])
                        self.clauses += [[(s, t), (w, s), (t, w)], [(t, s), (s, w), (w, t)]]
                        return
        raise ValueError(f"faces {f}, {g}, {h} have no common place")

    # ---- the triangles of two faces ----

    def _keep_one_order(self, f: int, g: int) -> None:
        """Reasons that all triangles of two faces that lie over one another have one order."""
        for mine, other in ((f, g), (g, f)):
            for edge in self._diagonals(mine):
                for s in self.of_face[other]:
                    self._crosses(edge, s)
        for d in self._diagonals(f):
            for e in self._diagonals(g):
                if self._along(d, e):
                    self._by_edges(d, e)

    # ---- places ----

    def _along(self, d: Edge, e: Edge) -> bool:
        """Whether the images of two edges share a stretch."""
        if any(self._side(*e, v) for v in d):
            return False
        low, high = self._stretch(d, e)
        return low < high

    def _stretch(self, d: Edge, e: Edge) -> tuple[Number, Number]:
        i, j = d
        whole = self._dot(i, j, j)
        low, high = sorted(self._dot(i, j, v) / whole for v in e)
        return max(Number.of(0), low), min(Number.of(1), high)

    def _shared(self, d: Edge, e: Edge) -> tuple[int, int]:
        low, high = self._stretch(d, e)
        if low >= high:
            raise ValueError(f"edges {d} and {e} share nothing")
        return fraction_between(low, high)

    def _corners(self, n: int) -> list[Point]:
        """Of the image of a triangle, counter-clockwise."""
        i, j, k = self.triangles[n][:3]
        corners = [self.at[i], self.at[j], self.at[k]]
        return corners if self._side(i, j, k) > 0 else corners[::-1]

    def _common(self, first: int, *others: int) -> list[Point]:
        """The corners of what the images of triangles have in common."""
        found = self._corners(first)
        for n in others:
            found = clip(found, self._corners(n))
        return found

    def _weights(self, n: int, common: list[Point]) -> list[int]:
        """Whole numbers: the place inside the triangle's image that has these weights is the middle of a polygon."""
        if not common:
            raise ValueError(f"nothing lies over triangle {n}")
        middle = centre(common)
        i, j, k = (self.at[v] for v in self.triangles[n][:3])
        whole = cross(i, j, k)
        share = whole / polygon_area2(common)
        size = 1 << (log_of_two(share * share) + 8)
        return [max(1, floor(cross(*side, middle) / whole * size)) for side in ((j, k), (k, i), (i, j))]

    # ---- what follows ----

    def _hints(self, clause: Clause) -> list[int]:
        """The clauses that unit propagation from the opposites of the literals uses, in order."""
        true = {(b, a) for a, b in clause}
        hints, used = list[int](), set[int]()
        moved = True
        while moved:
            moved = False
            for n, c in enumerate(self.clauses):
                if n in used:
                    continue
                possible = [x for x in c if (x[1], x[0]) not in true]
                if len(possible) > 1 or (possible and possible[0] in true):
                    continue
                hints.append(n)
                used.add(n)
                if not possible:
                    return hints
                true.add(possible[0])
                moved = True
        raise ValueError("a step does not follow")


def same(a: Literal, b: Literal) -> list[Clause]:
    """Either both hold or neither."""
    return [[a, b[::-1]], [a[::-1], b]]


def evenly(literals: list[Literal]) -> list[Clause]:
    """An even number of four hold; in the checker's order."""
    turned = [(0,), (1,), (2,), (3,), (0, 1, 2), (0, 1, 3), (0, 2, 3), (1, 2, 3)]
    return [[x[::-1] if i in turn else x for i, x in enumerate(literals)] for turn in turned]
