"""Evidence that no cut frees the target, as the second checker reads it: what is met where.

Untrusted: whatever stands here, the checker decides.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from itertools import chain, combinations
from math import floor
from typing import Any

from verify.exact.number import Number
from verify.exact.plane import Point, advance, around, cross, orientation, same_place

Edge = tuple[int, int]
Triangle = Sequence[int]  # three corners, whether it is turned, and the number of its face


class NoCut:
    """Why no cut frees the target: over triangles, the images of vertices, and the edges along the target."""

    def __init__(self, triangles: Sequence[Triangle], images: Sequence[Point], target: Iterable[Edge]) -> None:
        self.triangles, self.at = triangles, images
        self.beside: dict[frozenset[int], list[int]] = {}
        self.of_face: dict[int, list[int]] = {}
        for n, t in enumerate(triangles):
            self.of_face.setdefault(t[4], []).append(n)
            for pair in around(t[:3]):
                self.beside.setdefault(frozenset(pair), []).append(n)
        self.target = {frozenset(edge) for edge in target}

    def items(self, refutation: Mapping[str, Any], snips: int | None) -> Iterator[object]:
        """The kind, a tree over the triangles, the edges, and what is met."""
        yield refutation["kind"]
        yield from self._tree()
        if refutation["kind"] == "stray":
            i, j = refutation["edge"]
            yield from (i, j)
            yield from self._met(i, j, snips == 1, self._named(refutation["cell"]))
            return
        edges = [tuple(edge) for edge in refutation["edges"]]
        yield from counted(edges)
        for e, f in combinations(edges, 2):
            yield from self._unfit(e, f)

    def _tree(self) -> Iterator[object]:
        """The first triangle, and steps to all others from one that was reached: an edge, from where, to where."""
        seen, steps = {0}, list[tuple[int, int, int, int]]()
        for here in (waiting := [0]):
            t = self.triangles[here]
            for u, v in around(t[:3]):
                for n in self.beside[frozenset((u, v))]:
                    if n not in seen:
                        seen.add(n)
                        waiting.append(n)
                        steps.append((u, v, here, n))
        yield from (0, *counted(steps))

    # ---- what may be met ----

    def _named(self, cell: Mapping[str, Any]) -> tuple[list[int], list[Edge], list[int]]:
        """Triangles, edges and vertices of a cell; inside a face there are edges between its triangles."""
        [(name, value)] = cell.items()
        if name == "vertex":
            return [], [], [value]
        if name == "edge":
            return [], [tuple(value)], []
        return self.of_face[value], self._diagonals(value), []

    def _diagonals(self, face: int) -> list[Edge]:
        """The edges between two triangles of a face."""
        own = {*self.of_face[face]}
        return [(min(pair), max(pair)) for pair, sides in self.beside.items() if len(own & {*sides}) == 2]

    def _all(self) -> tuple[list[int], list[Edge], list[int]]:
        raw = {vertex for pair, sides in self.beside.items() if len(sides) == 1 for vertex in pair}
        spared = raw | {vertex for pair in self.target for vertex in pair}
        found = [pair for pair, sides in self.beside.items() if len(sides) == 2 and pair not in self.target]
        edges = [(min(pair), max(pair)) for pair in found]
        return [*range(len(self.triangles))], edges, [v for v in range(len(self.at)) if v not in spared]

    # ---- whether it is met, by a line or by the segment from a to b ----

    def _side(self, a: int, b: int, c: int) -> int:
        return orientation(self.at[a], self.at[b], self.at[c])

    def _left(self, a: int, b: int, c: int) -> Number:
        return cross(self.at[a], self.at[b], self.at[c])

    def _dot(self, a: int, b: int, c: int) -> Number:
        return advance(self.at[a], self.at[b], self.at[c])

    def _met(self, a: int, b: int, whole: bool, cells: tuple[list[int], list[Edge], list[int]]) -> list[object]:
        """The first of the cells that is met, as the checker reads it."""
        triangles, edges, vertices = cells
        for n in triangles:
            if (way := self._way(a, b, whole, n)) is not None:
                return ["face", n, *way]
        for k, m in edges:
            if self._edge_met(a, b, whole, k, m):
                return ["edge", k, m]
        for v in vertices:
            if self._vertex_met(a, b, whole, v):
                return ["vertex", v]
        raise ValueError(f"nothing is met on the way from vertex {a} to vertex {b}")

    def _way(self, a: int, b: int, whole: bool, n: int) -> tuple[int, int] | None:
        """Whole numbers r, s: r/s of the way from a to b is a place inside the image of the triangle."""
        corners = self.triangles[n][:3]
        sign = self._side(*corners)
        low, high = (None, None) if whole else (Number.of(0), Number.of(1))
        for p, q in around(corners):
            at_a, at_b = sign * self._left(p, q, a), sign * self._left(p, q, b)
            if at_a == at_b:
                if at_a <= 0:
                    return None
                continue
            share = at_a / (at_a - at_b)
            if at_a < at_b:
                low = share if low is None else max(low, share)
            else:
                high = share if high is None else min(high, share)
        return fraction_between(low, high) if low is not None and high is not None and low < high else None

    def _between(self, a: int, b: int, x: int) -> bool:
        return self._dot(a, b, x) >= 0 and self._dot(b, a, x) >= 0

    def _amid(self, k: int, m: int, a: int) -> bool:
        return self._side(k, m, a) == 0 and self._dot(k, m, a) > 0 and self._dot(m, k, a) > 0

    def _edge_met(self, a: int, b: int, whole: bool, k: int, m: int) -> bool:
        first, last = self._side(a, b, k), self._side(a, b, m)
        if self._amid(k, m, a) or self._amid(k, m, b):
            return True
        if first and last:
            return first != last and (whole or self._side(k, m, a) * self._side(k, m, b) <= 0)
        if first or last or same_place(self.at[a], self.at[b]):
            return False
        return whole or (self._between(a, b, k) and self._between(a, b, m))

    def _vertex_met(self, a: int, b: int, whole: bool, v: int) -> bool:
        here, there, place = self.at[a], self.at[b], self.at[v]
        if same_place(here, place) or same_place(there, place):
            return True
        on_line = not same_place(here, there) and self._side(a, b, v) == 0
        return on_line and (whole or self._between(a, b, v))

    # ---- two target edges that cannot lie on one snip ----

    def _unfit(self, e: Edge, f: Edge) -> Iterator[object]:
        """Not on one line; or which way round each is taken, and what is met in the gap."""
        if any(self._side(*e, v) for v in f):
            yield 0
            return
        for turned_e, turned_f in ((0, 0), (0, 1), (1, 0), (1, 1)):
            (i, u), (v, j) = e[:: 1 - 2 * turned_e], f[:: 1 - 2 * turned_f]
            if max(self._dot(u, i, v), self._dot(v, j, u), self._dot(u, i, j)) <= 0:
                yield from (1, turned_e, turned_f)
                yield from self._met(u, v, False, self._all())
                return
        raise ValueError(f"edges {e} and {f} lie over each other")


def counted(rows: Collection[Iterable[object]]) -> Iterator[object]:
    """A list as the checker reads it: how many rows there are, then what is in each."""
    yield len(rows)
    yield from chain.from_iterable(rows)


def fraction_between(low: Number, high: Number) -> tuple[int, int]:
    """Whole numbers r, s: r/s lies between."""
    s = 1 << max(2, log_of_two(4 / (high - low)))
    return floor((low + high) / 2 * s), s


def log_of_two(x: Number) -> int:
    """The least k >= 0 with x <= 2^k, for x > 0."""
    return (-floor(-x) - 1).bit_length()
