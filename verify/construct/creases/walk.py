"""The layer order of creases that fold as a tree of corridors: the order in which a walk passes the layers.

Over one x, a place along the cut, lie leaves of paper, each of which runs from border to border, square to the cut.
Seen from the root of the tree x goes in one direction on every way, so that no leaf lies beyond another one. The layers
over x lie in the order in which a walk along the border passes them, which starts at one end of the root's leaf and
goes along each leaf from end to end. Where a corridor was folded back over its parent its leaves do lie beyond the
parent's: they come just before or after these, and backwards.

The argument is ours (proofs/theory/corridors.md, K3 and K4), in floats and for proposing only.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from verify.exact.plane import around
from verify.exact.ragged import distinct
from verify.folding.overlaps import Overlaps
from verify.folding.pairs import Above

_NEAR = 1e-11  # all folded paper lies within 1 along both axes

Floats = NDArray[np.float64]


class _Leaf(NamedTuple):
    """Where a walk along the border comes to a leaf first, and last, in edges from its start; the faces between."""

    start: int
    end: int
    faces: list[int]


class _Border:
    """A walk along the border: when it comes to each edge, and how far away from the root each edge begins."""

    def __init__(self, edges: Sequence[int], away: Floats) -> None:
        self.turns = {edge: turn for turn, edge in enumerate(edges)}
        self.away = away

    def in_order(self, leaves: Sequence[_Leaf], sign: int = 1) -> Iterator[int]:
        """The faces of leaves, which are sorted, as the walk passes them."""
        while leaves:
            leaf, *others = leaves
            beyond = [one for one in others if one.start < leaf.end]
            leaves = others[len(beyond) :]
            if not beyond:
                yield from leaf.faces
                continue
            # what was folded back hangs on the end of the parent that goes no farther
            before, after = (
                (sign * self.away[start + 1 : end + 1]).max()
                for start, end in ((leaf.start, beyond[0].start), (beyond[-1].end, leaf.end))
            )
            back = [*self.in_order(beyond, -sign)][::-1]
            yield from [*back, *leaf.faces] if before < after else [*leaf.faces, *back]


class _Leaves:
    """The leaves over each x of a folded sheet without holes."""

    def __init__(self, overlaps: Overlaps) -> None:
        s = overlaps.subdivision
        self.overlaps = overlaps
        self.faces = np.array([(e.left, e.right) for e in s.edges])  # beside each edge; -1: none
        self.chain = list(s.sheet_chains[0])
        places = overlaps.places[overlaps.spot_of]
        cut = next(e for e in s.edges if e.is_cut)
        way = places[cut.end] - places[cut.start]
        self.along: Floats = (places * (way / abs(way)).conjugate()).real
        ends = self.along[np.array([e.ends for e in s.edges])]
        self.low, self.high = ends.min(axis=1), ends.max(axis=1)
        stops = distinct(self.along)
        self.first = np.array([self.along[list(face)].min() for face in s.faces])
        self.middles: Floats = (stops[1:] + stops[:-1])[np.diff(stops) > _NEAR] / 2

    def over(self, x: float, turns: dict[int, int]) -> list[_Leaf]:
        """The leaves over an x, each from where a walk comes to it first; in the order in which it does."""
        met = np.flatnonzero((self.low < x) & (x < self.high))
        beside = self.faces[met]
        # of each face the sum of both edges of it that are met, of each edge that of both faces
        edges = np.bincount(beside.ravel() + 1, np.repeat(met, 2), len(self.first) + 1).astype(int)[1:].tolist()
        faces = dict(zip(met.tolist(), beside.sum(axis=1).tolist(), strict=True))
        found = []
        ends: set[int] = set()
        for start in sorted(met[(beside < 0).any(axis=1)].tolist(), key=turns.__getitem__):
            if start in ends:
                continue
            end, leaf = start, []
            face = faces[start] + 1
            while face >= 0:
                leaf.append(face)
                end = edges[face] - end
                face = faces[end] - face
            ends.add(end)
            found.append(_Leaf(turns[start], turns[end], leaf))
        return found

    def alone(self) -> Iterator[tuple[float, int]]:
        """An x over which there is just one leaf, and where on the border this begins; for each stretch of such x."""
        border = self._edges_along(self.chain)
        met = (self.low[border] < self.middles[:, None]) & (self.middles[:, None] < self.high[border])
        lone = met.sum(axis=1) == 2
        for number in np.flatnonzero(lone & ~np.append(False, lone[:-1])).tolist():
            yield float(self.middles[number]), int(met[number].argmax())

    def seen_from(self, root: float, turn: int) -> Above:
        """The order as walks have it that begin with the leaf over `root`, at this place on the border."""
        there = [*self.chain[turn:], *self.chain[:turn]]
        back = [there[1], there[0], *there[:1:-1]]
        if self.along[there[1]] < root:
            there, back = back, there
        right, left = self._border(there, 1), self._border(back, -1)
        pairs = self.overlaps.pairs
        first, second = pairs.first, pairs.second
        begin = np.searchsorted(self.middles, self.first)
        place = np.maximum(begin[first], begin[second])
        order = np.argsort(place, kind="stable")
        stops = np.searchsorted(place[order], np.arange(len(self.middles) + 1))
        first_above = np.zeros(len(pairs), dtype=bool)
        rank = np.zeros(pairs.faces, dtype=np.intp)
        for number, x in enumerate(self.middles.tolist()):
            border = right if x > root else left
            faces = [*border.in_order(self.over(x, border.turns))]
            rank[faces] = np.arange(len(faces))
            mine = order[stops[number] : stops[number + 1]]
            first_above[mine] = rank[first[mine]] > rank[second[mine]]
        return Above(pairs, first_above)

    def _border(self, chain: Sequence[int], sign: int) -> _Border:
        return _Border(self._edges_along(chain), sign * self.along[chain])

    def _edges_along(self, chain: Sequence[int]) -> list[int]:
        at = self.overlaps.subdivision.edge_at
        return [at[ends] for ends in around(chain)]


def walks(overlaps: Overlaps) -> Iterator[Above]:
    """The orders as seen from each leaf that may be the root's: one that has its x for itself, on a sheet without
    holes, of which something is cut.
    """
    s = overlaps.subdivision
    if len(s.sheet_chains) == 1 and any(e.is_cut for e in s.edges):
        leaves = _Leaves(overlaps)
        for root, turn in leaves.alone():
            yield leaves.seen_from(root, turn)
