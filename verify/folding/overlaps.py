"""What lies over what in the folded plane: an exact table of sides, and all that follows from it.

For every line that carries a folded edge and every folded vertex the table says on
which side the vertex lies. Overlaps of convex faces, edges that run through faces and edges
that share a segment are then comparisons of small integers, by separating axes: nothing is divided.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from verify.exact.batch import approximate, side_table
from verify.exact.number import Number
from verify.exact.plane import Point, advance, around, cross_vectors, difference
from verify.folding.foldmap import FoldMap

Signs = NDArray[np.int8]
Table = NDArray[np.bool_]
Indices = NDArray[np.intp]

_UNSURE = 2e-14  # products of differences of places below 1, known within 2^-52 each, are off by less than half of it


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
        # to lie on one line is an equivalence: the first edge of each class stands for all
        first = (zero[:, distinct[:, 0]] & zero[:, distinct[:, 1]]).argmax(axis=0)
        chosen, line_of = np.unique(first, return_inverse=True)
        self.sides: Signs = rows[chosen]
        self.line_spots: list[tuple[int, int]] = [(a, b) for a, b in distinct[chosen].tolist()]
        self.edge_line: Indices = line_of.reshape(-1)[where.reshape(-1)]

    @cached_property
    def _corners(self) -> tuple[Indices, Indices, Indices]:
        """All sides of all faces in a row: the face, the edge, and where each face begins."""
        sizes = np.array([len(f) for f in self.subdivision.face_edges], dtype=np.intp)
        edges = np.array([e for f in self.subdivision.face_edges for e in f], dtype=np.intp)
        return np.repeat(np.arange(len(sizes)), sizes), edges, np.cumsum(sizes) - sizes

    @cached_property
    def _face_extremes(self) -> tuple[Signs, Signs]:
        """For each line and face the least and greatest sign of the face's corners."""
        flat = self.spot_of[np.array([v for f in self.subdivision.faces for v in f], dtype=np.intp)]
        _, _, starts = self._corners
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
        face, edge, starts = self._corners
        line = self.edge_line[edge]
        inwards = high[line, face] > 0
        beside = np.where(inwards[:, None], (high > 0)[line], (low < 0)[line])
        not_separated = np.logical_and.reduceat(beside, starts, axis=0)
        result: Table = not_separated & not_separated.T
        np.fill_diagonal(result, False)
        return result

    @cached_property
    def through(self) -> Table:
        """through[e, f]: the image of open edge e meets the image of open face f. Border edges count too."""
        low, high = self._face_extremes
        face, edge, starts = self._corners
        line = self.edge_line[edge]
        inwards = high[line, face] > 0
        beside = np.where(inwards[:, None], (self.sides > 0)[line], (self.sides < 0)[line])
        a, b = self.edge_spots.T
        not_separated = np.logical_and.reduceat(beside[:, a] | beside[:, b], starts, axis=0)
        table: Table = ((low < 0) & (high > 0))[self.edge_line] & not_separated.T
        return table

    @cached_property
    def spans(self) -> Indices:
        """For each edge the ranks of its ends along its line, low first: comparable between edges of one line."""
        places = approximate(self.spots)
        a, b = places[np.array(self.line_spots, dtype=np.intp)].T
        spots, lines = self.edge_spots.ravel(), np.repeat(self.edge_line, 2)
        along = ((b - a)[lines].conj() * (places[spots] - a[lines])).real
        order = np.lexsort((along, lines))
        spot, line, place = spots[order], lines[order], along[order]
        new_line = np.append(True, line[1:] != line[:-1])
        new_spot = np.append(True, spot[1:] != spot[:-1])
        unsure = ~new_line & new_spot & (np.diff(place, prepend=0.0) <= _UNSURE)
        count = np.cumsum(new_line | new_spot)
        starts = np.flatnonzero(new_line)
        rank = np.empty_like(spots)
        rank[order] = count - np.repeat(count[starts], np.diff(np.append(starts, len(line))))
        for k in np.unique(line[unsure]).tolist():
            mine = lines == k
            ranks = self._exact_ranks(k, set(spots[mine].tolist()))
            rank[mine] = [ranks[s] for s in spots[mine].tolist()]
        return np.sort(rank.reshape(-1, 2), axis=1)

    def _exact_ranks(self, line: int, spots: set[int]) -> dict[int, int]:
        a, b = (self.spots[s] for s in self.line_spots[line])
        along: dict[int, Number] = {s: advance(a, b, self.spots[s]) for s in spots}
        return {s: r for r, s in enumerate(sorted(spots, key=along.__getitem__))}

    def lines(self) -> Iterator[Indices]:
        """For each line the edges that it carries."""
        order = np.argsort(self.edge_line, kind="stable")
        yield from np.split(order, np.flatnonzero(np.diff(self.edge_line[order])) + 1)

    @cached_property
    def sharing(self) -> Meeting:
        """The pairs of inner edges whose images share a segment."""
        mine = self.inner[np.argsort(self.edge_line[self.inner], kind="stable")]
        line, low, high = self.edge_line[mine], *self.spans[mine].T
        # each with all that follow on its line
        place = np.arange(len(mine))
        follow = np.searchsorted(line, line, side="right") - place - 1
        one = np.repeat(place, follow)
        two = one + 1 + np.arange(len(one)) - np.repeat(np.cumsum(follow) - follow, follow)
        meets = (low[one] < high[two]) & (low[two] < high[one])
        return Meeting(mine[one[meets]], mine[two[meets]])

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
    for a, b in around(by):
        polygon = half_plane(polygon, a, b)
        if not polygon:
            break
    return polygon


def half_plane(polygon: list[Point], a: Point, b: Point) -> list[Point]:
    """The part of a convex polygon on the left of the line from a to b; [] if nothing of it lies strictly there.
    Exact.
    """
    along = difference(b, a)
    heights = [cross_vectors(along, difference(p, a)) for p in polygon]
    signs = [h.sign() for h in heights]
    if max(signs, default=0) <= 0:
        return []
    if min(signs) >= 0:
        return polygon
    kept: list[Point] = []
    for i, p in enumerate(polygon):
        j = i - 1
        q = polygon[j]
        if signs[i] * signs[j] < 0:
            t = heights[j] / (heights[j] - heights[i])
            kept.append(Point(q.x + (p.x - q.x) * t, q.y + (p.y - q.y) * t))
        if signs[i] >= 0:
            kept.append(p)
    return kept
