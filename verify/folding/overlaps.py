"""What lies over what in the folded plane, exactly, in time and memory for the actual overlaps alone.

Boxes round the folded faces, in floats, say which may meet. Whether they do is decided by separating axes: on which
side of the lines of one face the corners of the other lie. Faces with the same folded corners are looked at once.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from copy import copy
from functools import cached_property
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from verify.exact.batch import Sides, Signs
from verify.exact.number import Number
from verify.exact.plane import (
    Point,
    advance,
    around,
    centre,
    cross_vectors,
    crossed,
    difference,
)
from verify.exact.ragged import Indices, boxes_meeting, ragged, starts_of
from verify.folding.foldmap import FoldMap
from verify.folding.lines import first_on_line
from verify.folding.pairs import FacePairs
from verify.pattern.subdivision import Subdivision

Table = NDArray[np.bool_]

_UNSURE = 2e-14  # products of differences of places below 1, known within 2^-52 each, are off by less than half of it
_MARGIN = 1e-15  # places are known within 2^-52
_AT_ONCE = 1 << 20
_LEFT, _RIGHT = np.int8(1), np.int8(2)
_TABLE = 8  # so many times as many sides as there are pairs of faces to look at are worked out at once


class Outlines(NamedTuple):
    """Corners of faces, and the lines round them: each as two spots, and the side on which the face lies."""

    corners: Indices
    a: Indices
    b: Indices
    inner: Signs


class Overlaps:
    """Exact incidence of folded faces and edges. Assumes that the fold map exists.

    `spots` are the different folded vertices. Every edge lies on a line, `edge_line`, and has a direction along it;
    `line_spots`: two spots of each line, which give it its direction.
    """

    def __init__(self, fold_map: FoldMap) -> None:
        if not fold_map.exists:
            raise ValueError("the fold map does not exist: nothing overlaps")
        self.fold_map = fold_map
        self.subdivision = fold_map.subdivision
        self._sides = Sides(fold_map.images)
        self.spots, self.spot_of = self._sides.points, self._sides.number_of
        self._find_lines()

    def drawn_as(self, subdivision: Subdivision) -> Overlaps:
        """The same of a subdivision of which only the kinds of folds are other ones: what lies over what stays."""
        other = copy(self)
        other.subdivision = subdivision
        other.fold_map = self.fold_map._replace(subdivision=subdivision)
        return other

    def _find_lines(self) -> None:
        """Group the folded edges by the line that carries them."""
        edges = self.subdivision.edges
        ends = np.array([e.ends for e in edges], dtype=np.intp)
        self.edge_spots: Indices = self.spot_of[ends]
        self.inner: Indices = np.array([i for i, e in enumerate(edges) if e.kind != "border"], dtype=np.intp)
        low, high = np.sort(self.edge_spots, axis=1).T
        keys, self._segment_of = np.unique(low * len(self.spot_of) + high, return_inverse=True)
        self._segments: Indices = np.stack([keys // len(self.spot_of), keys % len(self.spot_of)], axis=1)
        chosen, line_of = np.unique(first_on_line(self._sides, self._segments), return_inverse=True)
        self._line_ends: Indices = self._segments[chosen]
        self._segment_line: Indices = line_of
        self.line_spots: list[tuple[int, int]] = [(a, b) for a, b in self._line_ends.tolist()]
        self.edge_line: Indices = line_of[self._segment_of]
        self._rows: dict[int, Signs] = {}

    def sides(self, line: int) -> Signs:
        """The side of a line on which each spot lies: 1 on the left, 0 on the line, -1 on the right."""
        row = self._rows.get(line)
        if row is None:
            row = self._rows[line] = self.sides_at(line, np.arange(len(self.spots)))
        return row

    def sides_at(self, line: int, spots: Indices) -> Signs:
        """The same for some spots."""
        a, b = (np.full(len(spots), end) for end in self.line_spots[line])
        return self._sides.signs(a, b, spots)

    @cached_property
    def corners(self) -> tuple[Indices, Indices]:
        """All faces' corners in a row, as spots, and all their edges in the same row: from a corner to the next."""
        spots = self.spot_of[np.array([v for f in self.subdivision.faces for v in f], dtype=np.intp)]
        return spots, np.array([e for f in self.subdivision.face_edges for e in f], dtype=np.intp)

    @cached_property
    def sizes(self) -> Indices:
        """How many corners each face has."""
        return np.array([len(f) for f in self.subdivision.faces], dtype=np.intp)

    @cached_property
    def _classes(self) -> tuple[Indices, Indices]:
        """Of each face the number of its class, those with the same folded corners; of each class the first face."""
        spots = self.corners[0].tolist()
        index: dict[tuple[int, ...], int] = {}
        class_of = np.empty(len(self.sizes), dtype=np.intp)
        begin = 0
        for face, size in enumerate(self.sizes.tolist()):
            key = tuple(sorted(spots[begin : begin + size]))
            class_of[face] = index.setdefault(key, len(index))
            begin += size
        return class_of, np.unique(class_of, return_index=True)[1]

    @cached_property
    def pairs(self) -> FacePairs:
        """The faces whose open images meet."""
        return FacePairs(self._classes[0], *self._classes_meeting)

    @property
    def count(self) -> int:
        """How many pairs of faces there are whose open images meet; told without making a list of them."""
        one, two = self._classes_meeting
        sizes = np.bincount(self._classes[0])
        return int((sizes[one] * sizes[two]).sum() + (sizes * (sizes - 1) // 2).sum())

    @cached_property
    def _near(self) -> tuple[Indices, Indices]:
        """The pairs of classes of faces whose images' boxes may meet."""
        return self._boxes_meeting(self._classes[1])

    @cached_property
    def _classes_meeting(self) -> tuple[Indices, Indices]:
        """The pairs of classes of faces whose open images meet."""
        one, two = self._near
        for turn in (False, True):
            met = self._in_parts(self._not_separated, *((two, one) if turn else (one, two)))
            one, two = one[met], two[met]
        return one, two

    def _in_parts(self, test: Callable[[Indices, Indices], Table], a: Indices, b: Indices) -> Table:
        """A test of many pairs, few at a time."""
        step = max(1, _AT_ONCE // int(self.sizes.max() ** 2))
        parts = [test(a[i : i + step], b[i : i + step]) for i in range(0, len(a), step)]
        return np.concatenate([np.zeros(0, dtype=bool), *parts])

    def _boxes_meeting(self, faces: Indices) -> tuple[Indices, Indices]:
        """Pairs of these faces, by their places in the list and in order, whose images' boxes may meet: all that do."""
        spots, sizes = self.corners[0], self.sizes[faces]
        mine = self._sides.places[spots[ragged(starts_of(self.sizes)[faces], sizes)]]
        begin = starts_of(sizes)
        left, bottom = (np.minimum.reduceat(x, begin) - _MARGIN for x in (mine.real, mine.imag))
        right, top = (np.maximum.reduceat(x, begin) + _MARGIN for x in (mine.real, mine.imag))
        pairs = (one * len(faces) + two for one, two in boxes_meeting(left, right, bottom, top))
        key = np.sort(np.concatenate([np.zeros(0, dtype=np.intp), *pairs]))
        return key // len(faces), key % len(faces)

    def _not_separated(self, one: Indices, two: Indices) -> Table:
        """Whether of each class of two some corner lies strictly on the inner side of every line of the class of
        one.
        """
        side, sizes = self._sides_round(one)
        reach = self._reach(self._corner_lines[side], np.repeat(two, sizes))
        inside = reach & np.where(self._inner_sides[side] > 0, _LEFT, _RIGHT) > 0
        return np.logical_and.reduceat(inside, starts_of(sizes))

    def _sides_round(self, kind: Indices) -> tuple[Indices, Indices]:
        """Where in the row of all faces' edges those of faces of some classes are, and how many each has."""
        faces = self._classes[1][kind]
        return ragged(starts_of(self.sizes)[faces], self.sizes[faces]), self.sizes[faces]

    @cached_property
    def _corner_lines(self) -> Indices:
        """The lines of all faces' edges, in a row as `corners`."""
        return self.edge_line[self.corners[1]]

    @cached_property
    def _table(self) -> Signs | None:
        """The side of every line on which every spot lies, if not much more is asked in any case."""
        count = len(self._line_ends) * len(self.spots)
        if count > _TABLE * len(self._near[0]):
            return None
        spots, step = np.arange(len(self.spots)), 1 + _AT_ONCE // len(self.spots)
        a, b = self._line_ends.T[:, :, None]
        rows = range(0, len(a), step)
        return np.concatenate([self._sides.signs(a[i : i + step], b[i : i + step], spots) for i in rows])

    def _signs(self, line: Indices, spot: Indices) -> Signs:
        """The sides of lines on which spots lie."""
        if self._table is not None:
            known: Signs = self._table[line, spot]
            return known
        a, b = self._line_ends[line].T
        return self._sides.signs(a, b, spot)

    @cached_property
    def _reach_table(self) -> Signs | None:
        """`_reach` of every line and class, if there is a table."""
        if self._table is None:
            return None
        side, sizes = self._sides_round(np.arange(len(self._classes[1])))
        begin, step = starts_of(sizes), 1 + _AT_ONCE // len(side)
        rows = range(0, len(self._table), step)
        return np.concatenate([_reached(self._table[i : i + step, self.corners[0][side]], begin) for i in rows])

    def _reach(self, line: Indices, kind: Indices) -> Signs:
        """Whether faces of a class have a corner strictly on the left of a line, or on its right, or (the sum) both."""
        if self._reach_table is not None:
            known: Signs = self._reach_table[line, kind]
            return known
        side, sizes = self._sides_round(kind)
        return _reached(self._signs(np.repeat(line, sizes), self.corners[0][side]), starts_of(sizes))

    @cached_property
    def _left(self) -> Indices:
        return np.array([e.left for e in self.subdivision.edges], dtype=np.intp)

    def _sides_of(self, edges: Indices, faces: Indices) -> Signs:
        """The side of each edge's line on which one of its faces lies."""
        turned = np.array(self.fold_map.turned, dtype=bool)
        straight = self._ranks[edges, 0] < self._ranks[edges, 1]
        return np.where(straight ^ (self._left[edges] != faces) ^ turned[faces], 1, -1).astype(np.int8)

    @cached_property
    def left_sides(self) -> Signs:
        """The side of its line on which the left face of each edge lies; nothing of edges that have none."""
        return self._sides_of(np.arange(len(self._left)), self._left)

    @cached_property
    def _inner_sides(self) -> Signs:
        """For every edge of every face, all in a row, the side of its line on which the face lies."""
        return self._sides_of(self.corners[1], np.repeat(np.arange(len(self.sizes)), self.sizes))

    def face_side(self, edge: int, face: int) -> int:
        """On which side of its folded edge's line one of the edge's faces lies (+1 or -1)."""
        start, end = self._ranks[edge]
        other = self.subdivision.edges[edge].left != face
        return 1 if (start < end) ^ other ^ self.fold_map.turned[face] else -1

    @cached_property
    def through(self) -> tuple[Indices, Indices]:
        """The inner edges, and the faces through which each runs: their open images meet. In order."""
        class_of = self._classes[0]
        segments, first = np.unique(self._segment_of[self.inner], return_index=True)
        kinds = class_of[self._left[self.inner[first]]]
        # a face that an edge runs through overlaps the faces of the edge
        one, two = self.pairs.classes
        upper, lower = np.concatenate([one, two]), np.concatenate([two, one])
        order = np.lexsort((lower, upper))
        upper, lower = upper[order], lower[order]
        begin, end = np.searchsorted(upper, kinds), np.searchsorted(upper, kinds, side="right")
        segment, kind = np.repeat(segments, end - begin), lower[ragged(begin, end - begin)]
        met = self._in_parts(self._runs_through, segment, kind)
        return self._passing(segment[met], kind[met])

    def _runs_through(self, segment: Indices, kind: Indices) -> Table:
        """Whether the image of each open segment meets that of the open faces of a class."""
        met: Table = self._reach(self._segment_line[segment], kind) == _LEFT + _RIGHT
        side, sizes = self._sides_round(kind[met])
        line, inner = self._corner_lines[side], self._inner_sides[side]
        ends = np.repeat(self._segments[segment[met]], sizes, axis=0).T
        inside = (self._signs(line, ends[0]) == inner) | (self._signs(line, ends[1]) == inner)
        met[met] = np.logical_and.reduceat(inside, starts_of(sizes))
        return met

    def _passing(self, segment: Indices, kind: Indices) -> tuple[Indices, Indices]:
        """Every inner edge on these segments with every face of the class, in order."""
        class_of = self._classes[0]
        count = len(class_of)
        sizes = np.bincount(class_of)[kind]
        members = np.argsort(class_of, kind="stable")
        keys = np.repeat(segment, sizes) * count
        keys += members[ragged(starts_of(np.bincount(class_of))[kind], sizes)]
        keys.sort()
        mine = self._segment_of[self.inner]
        begin, end = np.searchsorted(keys, mine * count), np.searchsorted(keys, (mine + 1) * count)
        return np.repeat(self.inner, end - begin), keys[ragged(begin, end - begin)] % count

    @cached_property
    def spans(self) -> Indices:
        """For each edge the ranks of its ends along its line, low first: comparable between edges of one line."""
        return np.sort(self._ranks, axis=1)

    @cached_property
    def _ranks(self) -> Indices:
        """The ranks of every edge's ends along its line."""
        places = self._sides.places
        a, b = places[self._line_ends].T
        spots, lines = self.edge_spots.ravel(), np.repeat(self.edge_line, 2)
        along = ((b - a)[lines].conj() * (places[spots] - a[lines])).real
        order = np.lexsort((spots, along, lines))
        spot, line, place = spots[order], lines[order], along[order]
        new_line = np.append(True, line[1:] != line[:-1])
        new_spot = np.append(True, spot[1:] != spot[:-1])
        unsure = ~new_line & new_spot & (np.diff(place, prepend=0.0) <= _UNSURE)
        count = np.cumsum(new_line | new_spot)
        starts = np.flatnonzero(new_line)
        ends = np.append(starts[1:], len(line))
        ranks = count - np.repeat(count[starts], ends - starts)
        for k in sorted(set(line[unsure].tolist())):
            mine = slice(starts[k], ends[k])
            exact = self.ranks_on(k, set(spot[mine].tolist()))
            ranks[mine] = [exact[s] for s in spot[mine].tolist()]
        result = np.empty_like(ranks)
        result[order] = ranks
        rows: Indices = result.reshape(-1, 2)
        return rows

    def ranks_on(self, line: int, spots: Iterable[int]) -> dict[int, int]:
        """The places along a line of some spots on it, from 0. Exact."""
        a, b = (self.spots[s] for s in self.line_spots[line])
        along: dict[int, Number] = {s: advance(a, b, self.spots[s]) for s in spots}
        return {s: r for r, s in enumerate(sorted(spots, key=along.__getitem__))}

    @cached_property
    def sharing(self) -> tuple[Indices, Indices]:
        """The pairs of inner edges whose images share a segment, the lesser first."""
        mine = self.inner[np.argsort(self.edge_line[self.inner], kind="stable")]
        low, high = (self.spans[mine] + (self.edge_line[mine] * (2 * len(self.edge_line) + 1))[:, None]).T
        # along each line: every edge with those that begin in it or with it, after it
        order = np.argsort(low, kind="stable")
        following = np.searchsorted(low[order], high[order]) - np.arange(len(order)) - 1
        one, two = np.repeat(order, following), order[ragged(np.arange(len(order)) + 1, following)]
        key = np.minimum(one, two) * len(mine) + np.maximum(one, two)
        key.sort()
        return mine[key // len(mine)], mine[key % len(mine)]

    def outlines(self, faces: NDArray[Any]) -> Outlines:
        """The lines round faces that have as many corners one as another."""
        side = starts_of(self.sizes)[faces][..., None] + np.arange(int(self.sizes[faces.flat[0]]))
        a, b = np.moveaxis(self._line_ends[self.edge_line[self.corners[1][side]]], -1, 0)
        return Outlines(self.corners[0][side], a, b, self._inner_sides[side])

    @property
    def places(self) -> NDArray[np.complex128]:
        """The spots as `exact.batch.Sides.places` has them."""
        return self._sides.places

    def surely_inside(self, outlines: Outlines, places: NDArray[np.complex128]) -> Table:
        """Whether floats prove that places (scaled as `places`) lie strictly inside all lines of the last axis."""
        signs = self._sides.sure_signs(outlines.a, outlines.b, places[..., None])
        result: Table = (signs == outlines.inner).all(axis=-1)
        return result

    def image(self, face: int) -> list[Point]:
        """The folded corners of a face, in the face's order (clockwise if it is turned)."""
        return [self.fold_map.images[v] for v in self.subdivision.faces[face]]

    def common_point(self, faces: Sequence[int]) -> Point | None:
        """A point strictly inside the images of three faces, or None when there is none. Exact."""
        polygon = self._counter_clockwise(faces[0])
        for other in faces[1:]:
            polygon = clip(polygon, self._counter_clockwise(other))
            if not polygon:
                return None
        return centre(polygon)

    def _counter_clockwise(self, face: int) -> list[Point]:
        image = self.image(face)
        return image[::-1] if self.fold_map.turned[face] else image


def _reached(signs: Signs, begin: Indices) -> Signs:
    """Which sides there are in each part of the last axis: left, right, or (the sum) both."""
    left = np.maximum.reduceat(signs, begin, axis=-1) > 0
    right = np.minimum.reduceat(signs, begin, axis=-1) < 0
    return left * _LEFT + right * _RIGHT


def clip(polygon: list[Point], by: list[Point]) -> list[Point]:
    """The part of a convex polygon inside another, both counter-clockwise; [] if its area is zero. Exact."""
    for a, b in around(by):
        polygon = half_plane(polygon, a, b)
        if not polygon:
            break
    return polygon


def half_plane(polygon: list[Point], a: Point, b: Point) -> list[Point]:
    """The part of a convex polygon on the left of the line ab; [] if nothing of it lies strictly there. Exact."""
    along = difference(b, a)
    heights = [cross_vectors(along, difference(p, a)) for p in polygon]
    signs = [h.sign() for h in heights]
    if max(signs, default=0) <= 0:
        return []
    if min(signs) >= 0:
        return polygon
    return [place for place, side, _ in crossed(polygon, heights) if side >= 0]
