"""What lies over what in the folded plane: an exact table of sides, and all that follows from it.

For every line that carries a folded edge and every folded vertex the table says on
which side the vertex lies. Overlaps of convex faces, edges that run through faces and edges
that share a segment are then comparisons of small integers, by separating axes: nothing is divided.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from verify.exact.batch import side_table
from verify.exact.number import Number
from verify.exact.plane import Point, advance
from verify.folding.foldmap import FoldMap

Signs = NDArray[np.int8]
Table = NDArray[np.bool_]
Indices = NDArray[np.intp]


@dataclass(frozen=True)
class Meeting:
    """Pairs of inner edges whose folded images share a segment, as index arrays (first < second)."""

    first: Indices
    second: Indices


class Overlaps:
    """Exact incidence of folded faces and edges. Assumes that the fold map exists.

    `spots` are the different folded vertices; `sides[l, s]` is the sign of spot s
    relative to line l; every edge lies on a line and has a direction along it.
    """

    def __init__(self, fold_map: FoldMap) -> None:
        if not fold_map.exists:
            raise ValueError("the fold map does not exist: nothing overlaps")
        self.fold_map = fold_map
        self.subdivision = fold_map.subdivision
        index: dict[Point, int] = {}
        self.spot_of = np.array([index.setdefault(p, len(index)) for p in fold_map.images], dtype=np.intp)
        self.spots: list[Point] = list(index)
        edges = self.subdivision.edges
        ends = np.array([e.ends for e in edges], dtype=np.intp)
        self.edge_spots: Indices = self.spot_of[ends]
        self.inner: Indices = np.array([i for i, e in enumerate(edges) if e.kind != "border"], dtype=np.intp)
        self._find_lines()

    def _find_lines(self) -> None:
        """Group the folded edges by the line that carries them."""
        pairs = np.sort(self.edge_spots, axis=1)
        distinct, where = np.unique(pairs, axis=0, return_inverse=True)
        rows = side_table(self.spots, [(int(a), int(b)) for a, b in distinct])
        zero = rows == 0
        line_of = np.full(len(distinct), -1, dtype=np.intp)
        chosen: list[int] = []
        for k in range(len(distinct)):
            if line_of[k] < 0:
                on = zero[k, distinct[:, 0]] & zero[k, distinct[:, 1]]
                line_of[on] = len(chosen)
                chosen.append(k)
        self.sides: Signs = rows[chosen]
        self.line_spots: list[tuple[int, int]] = [(int(a), int(b)) for a, b in distinct[chosen]]
        self.edge_line: Indices = line_of[where.reshape(-1)]

    @cached_property
    def _face_extremes(self) -> tuple[Signs, Signs]:
        """For each line and face the least and greatest sign of the face's corners."""
        faces = self.subdivision.faces
        flat = self.spot_of[np.concatenate([np.array(f, dtype=np.intp) for f in faces])]
        starts = np.cumsum([0] + [len(f) for f in faces[:-1]])
        signs = self.sides[:, flat]
        return np.minimum.reduceat(signs, starts, axis=1), np.maximum.reduceat(signs, starts, axis=1)

    def face_side(self, edge: int, face: int) -> int:
        """On which side of its folded edge's line a face lies (+1 or -1)."""
        _low, high = self._face_extremes
        line = self.edge_line[edge]
        return 1 if high[line, face] > 0 else -1

    @cached_property
    def overlapping(self) -> Table:
        """overlapping[f, g]: the open images of faces f and g meet (false for f = g)."""
        low, high = self._face_extremes
        count = len(self.subdivision.faces)
        not_separated = np.ones((count, count), dtype=bool)
        for face, numbers in enumerate(self.subdivision.face_edges):
            for edge in numbers:
                line = self.edge_line[edge]
                not_separated[face] &= (high[line] > 0) if high[line, face] > 0 else (low[line] < 0)
        result: Table = not_separated & not_separated.T
        np.fill_diagonal(result, False)
        return result

    @cached_property
    def through(self) -> Table:
        """through[e, f]: the image of open edge e meets the image of open face f. Border edges count too."""
        low, high = self._face_extremes
        both = (low < 0) & (high > 0)
        table: Table = both[self.edge_line]
        a, b = self.edge_spots[:, 0], self.edge_spots[:, 1]
        for face, numbers in enumerate(self.subdivision.face_edges):
            column = table[:, face]
            for edge in numbers:
                line = self.edge_line[edge]
                row = self.sides[line] if high[line, face] > 0 else -self.sides[line]
                column &= (row[a] > 0) | (row[b] > 0)
        return table

    @cached_property
    def spans(self) -> Indices:
        """For each edge the ranks of its ends along its line, low first: comparable between edges of one line."""
        spans = np.zeros_like(self.edge_spots)
        for numbers in self.lines():
            spots = sorted({int(s) for s in self.edge_spots[numbers].ravel()})
            a, b = (self.spots[s] for s in self.line_spots[self.edge_line[numbers[0]]])
            along: dict[int, Number] = {s: advance(a, b, self.spots[s]) for s in spots}
            order = sorted(spots, key=along.__getitem__)
            rank = {s: r for r, s in enumerate(order)}
            for edge in numbers:
                one, two = (rank[int(s)] for s in self.edge_spots[edge])
                spans[edge] = min(one, two), max(one, two)
        return spans

    def lines(self) -> Iterator[Indices]:
        """For each line the edges that it carries."""
        order = np.argsort(self.edge_line, kind="stable")
        yield from np.split(order, np.flatnonzero(np.diff(self.edge_line[order])) + 1)

    @cached_property
    def sharing(self) -> Meeting:
        """The pairs of inner edges whose images share a segment."""
        first: list[Any] = []
        second: list[Any] = []
        inner = set(self.inner.tolist())
        for numbers in self.lines():
            mine = np.array([e for e in numbers if int(e) in inner], dtype=np.intp)
            if len(mine) < 2:
                continue
            low, high = self.spans[mine, 0], self.spans[mine, 1]
            meets = (low[:, None] < high[None, :]) & (low[None, :] < high[:, None])
            one, two = np.nonzero(np.triu(meets, 1))
            first.append(mine[one])
            second.append(mine[two])
        if not first:
            none = np.zeros(0, dtype=np.intp)
            return Meeting(none, none)
        return Meeting(np.concatenate(first), np.concatenate(second))

    def image(self, face: int) -> list[Point]:
        """The folded corners of a face, in the face's order (clockwise if it is turned)."""
        return [self.fold_map.images[v] for v in self.subdivision.faces[face]]

    def common_point(self, faces: tuple[int, int, int]) -> Point | None:
        """A point strictly inside the images of three faces, or None when there is none. Exact."""
        polygon = self._counter_clockwise(faces[0])
        for other in faces[1:]:
            polygon = clip(polygon, self._counter_clockwise(other))
            if len(polygon) < 3:
                return None
        total = Point(Number.of(0), Number.of(0))
        for p in polygon:
            total = Point(total.x + p.x, total.y + p.y)
        return Point(total.x / len(polygon), total.y / len(polygon))

    def _counter_clockwise(self, face: int) -> list[Point]:
        image = self.image(face)
        return image[::-1] if self.fold_map.turned[face] else image


def clip(polygon: list[Point], by: list[Point]) -> list[Point]:
    """The part of a convex polygon inside another, both counter-clockwise; [] if its area is zero. Exact."""
    for a, b in zip(by, by[1:] + by[:1], strict=True):
        ux, uy = b.x - a.x, b.y - a.y
        heights = [ux * (p.y - a.y) - uy * (p.x - a.x) for p in polygon]
        signs = [h.sign() for h in heights]
        if max(signs, default=0) <= 0:
            return []
        if min(signs) >= 0:
            continue
        kept: list[Point] = []
        for i, p in enumerate(polygon):
            j = i - 1
            q = polygon[j]
            if signs[i] * signs[j] < 0:
                t = heights[j] / (heights[j] - heights[i])
                kept.append(Point(q.x + (p.x - q.x) * t, q.y + (p.y - q.y) * t))
            if signs[i] >= 0:
                kept.append(p)
        polygon = kept
    return polygon
