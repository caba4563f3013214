"""Which three faces have an interior point in common, in the folded plane. Exact."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from verify.exact.plane import Point
from verify.folding.bundles import Triples
from verify.folding.overlaps import Outlines, Overlaps
from verify.folding.ragged import ragged

_FEW_POINTS = 64
"""So many points are looked for one by one, with all faces round each; then three faces are asked for their own."""
_AT_ONCE = 1 << 9
_MARGIN = 1e-15


@dataclass
class CommonPoints:
    """Remembers points inside many faces at once, to tell which triples of faces have a common point.

    `inside`: for each of the `points` the faces that contain it.
    """

    overlaps: Overlaps
    points: list[Point] = field(default_factory=list)
    inside: list[NDArray[np.intp]] = field(default_factory=list)
    empty: set[tuple[int, int, int]] = field(default_factory=set)

    def having(self, triples: Triples) -> Triples:
        """Those of the triples whose open images have a common point. Exact."""
        known = np.zeros(len(triples), dtype=bool)
        among = _Among(triples, len(self.overlaps.subdivision.faces))
        for faces in self.inside:
            known[among(faces)] = True
        few = len(self.inside) + _FEW_POINTS
        for k in np.flatnonzero(~known).tolist():
            if len(self.inside) > few:
                break
            if not known[k] and self._find(triples[k]):
                known[among(self.inside[-1])] = True
        left = np.flatnonzero(~known)
        if len(self.inside) > few:
            known[left] = surely_common(self.overlaps, triples[left])
            left = left[~known[left]]
            known[left] = [self._has_point(triple) for triple in triples[left]]
        return triples[known]

    def point(self, triple: Sequence[int]) -> Point:
        """A common point of a triple that `having` let through."""
        for place, faces in zip(self.points, self.inside, strict=True):
            if np.isin(triple, faces).all():
                return place
        one, two, three = sorted(triple)
        place_ = self.overlaps.common_point((one, two, three))
        if place_ is None:
            raise KeyError(tuple(triple))
        return place_

    def _find(self, triple: Triples) -> bool:
        """Whether a triple has a common point; all faces that contain it are remembered."""
        place = self._place(triple)
        if place is None:
            return False
        one = int(triple[0])
        self.points.append(place)
        near = np.append(self.overlaps.pairs.over(one), one)
        self.inside.append(self.overlaps.containing(place, np.sort(near)))
        return True

    def _has_point(self, triple: Triples) -> bool:
        return self._place(triple) is not None

    def _place(self, triple: Triples) -> Point | None:
        one, two, three = sorted(int(f) for f in triple)
        if (one, two, three) in self.empty:
            return None
        place = self.overlaps.common_point((one, two, three))
        if place is None:
            self.empty.add((one, two, three))
        return place


class _Among:
    """Which of many triples lie wholly within a set of faces."""

    def __init__(self, triples: Triples, faces: int) -> None:
        self.triples, self.faces = triples, faces
        self.order = np.argsort(triples[:, 0], kind="stable")
        self.start = np.searchsorted(triples[self.order, 0], np.arange(faces + 1))
        self.member = np.zeros(faces, dtype=bool)

    def __call__(self, faces: NDArray[np.intp]) -> NDArray[np.intp]:
        """The numbers of those triples."""
        begin, end = self.start[faces], self.start[faces + 1]
        rows = self.order[ragged(begin, end - begin)]
        self.member[faces] = True
        inside = self.member[self.triples[rows, 1]] & self.member[self.triples[rows, 2]]
        self.member[faces] = False
        result: NDArray[np.intp] = rows[inside]
        return result


def surely_common(overlaps: Overlaps, triples: Triples) -> NDArray[np.bool_]:
    """Where floats prove that the open images of three faces have a common point; false says nothing."""
    result = np.zeros(len(triples), dtype=bool)
    sizes = overlaps.sizes(triples)
    for same in np.unique(sizes, axis=0):
        rows = np.flatnonzero((sizes == same).all(axis=1))
        for i in range(0, len(rows), _AT_ONCE):
            mine = rows[i : i + _AT_ONCE]
            lines, middles = _lines_and_middles(overlaps, triples[mine])
            for places in middles:
                result[mine] |= overlaps.surely_inside(lines, places)
            mine = mine[~result[mine]]
            if len(mine):
                lines, _ = _lines_and_middles(overlaps, triples[mine])
                result[mine] = overlaps.surely_inside(lines, middle_of_meets(overlaps.places, lines))
    return result


def _lines_and_middles(overlaps: Overlaps, triples: Triples) -> tuple[Outlines, list[NDArray[np.complex128]]]:
    """The lines round three faces, and the middle of each face, of each two, and of all."""
    three = [overlaps.outlines(faces) for faces in triples.T]
    a, b, c = (overlaps.places[one.corners].mean(axis=1) for one in three)
    middles = [(a + b + c) / 3, a, b, c, (a + b) / 2, (b + c) / 2, (a + c) / 2]
    return Outlines(*(np.concatenate(parts, axis=1) for parts in zip(*three, strict=True))), middles


def middle_of_meets(places: NDArray[np.complex128], lines: Outlines) -> NDArray[np.complex128]:
    """The middle of those corners of some faces, and of those meets of their edges, that lie in all of them: in floats.

    One place for each row of `lines`.
    """
    start, along = places[lines.a], places[lines.b] - places[lines.a]
    apart = start[:, None, :] - start[:, :, None]
    # parallel lines meet nowhere: what comes out for them lies outside, or does no harm
    with np.errstate(all="ignore"):
        share = (apart.conj() * along[:, None, :]).imag / (along[:, :, None].conj() * along[:, None, :]).imag
        meets = (start[:, :, None] + share * along[:, :, None]).reshape(len(start), -1)
    found = np.concatenate([places[lines.corners], meets], axis=1)
    there = np.abs(found) < 2  # all paper lies within 1 along both axes
    found[~there] = 0
    height = (along[:, None, :].conj() * (found[:, :, None] - start[:, None, :])).imag * lines.inner[:, None, :]
    inside = there & (height >= -_MARGIN).all(axis=2)
    result: NDArray[np.complex128] = (found * inside).sum(axis=1) / np.maximum(inside.sum(axis=1), 1)
    return result
