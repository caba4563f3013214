"""What follows from the folds that are drawn as mountain or valley, without any search.

Two rules, over and over: of four literals of which an even number holds three tell the fourth; and in a pile of faces
with a common point what lies under one that lies under a third lies under that. A pile is saturated at once, from its
lowest face up, by sets of faces that are the bits of integers. What comes out holds in every layer order; where much is
left open it says little.
"""

from __future__ import annotations

from heapq import heapify, heappop, heappush

import numpy as np
from numpy.typing import NDArray

from verify.exact.ragged import distinct
from verify.folding.bundles import Bundles
from verify.folding.common import middles
from verify.folding.crossing import Conditions, Literals
from verify.folding.overlaps import Overlaps
from verify.folding.stack import taken_in_turn

_CANDIDATES = 150  # points tried of each kind
_MOST_PILES = 12
_WORTH = 0.01  # of all pairs: what a pile must add

Values = NDArray[np.int8]


class Contradiction(Exception):
    """No layer order agrees with what is drawn."""


class Saturation:
    """`values`: for each bundle, from 1, whether it holds (1), does not (-1) or is open (0). `even`: rows with two open
    or more. Raises `Contradiction`.
    """

    def __init__(self, conditions: Conditions, bundles: Bundles) -> None:
        self.pairs, self.literals = conditions.pairs, bundles.of_pairs
        self.values: Values = np.zeros(bundles.count + 1, dtype=np.int8)
        self.even = bundles.of(conditions.even)
        self._learn(bundles.of(conditions.fixed))
        self.piles = piles(conditions.overlaps)
        while True:
            known = np.count_nonzero(self.values)
            self._parities()
            for faces in self.piles:
                self._between(faces)
            if np.count_nonzero(self.values) == known:
                break

    @property
    def open(self) -> int:
        """How many bundles are open."""
        return int(np.count_nonzero(self.values[1:] == 0))

    @property
    def known(self) -> Literals:
        """All literals of bundles that hold."""
        found = np.flatnonzero(self.values).astype(np.int32)
        return found * self.values[found]

    def of(self, literals: Literals) -> Values:
        """Of literals whether they hold (1), do not (-1) or are open (0)."""
        result = self.values[np.abs(literals)]
        np.negative(result, out=result, where=literals < 0)
        return result

    def _learn(self, literals: Literals) -> None:
        """All of these hold."""
        if (self.of(literals) < 0).any():
            raise Contradiction
        self.values[np.abs(literals)] = np.sign(literals)
        if (self.of(literals) < 0).any():
            raise Contradiction

    def _parities(self) -> None:
        while True:
            known = self.of(self.even)
            left = np.count_nonzero(known == 0, axis=1)
            known[known == 0] = 1
            odd = known.prod(axis=1, dtype=np.int8) < 0
            if odd[left == 0].any():
                raise Contradiction
            told = np.flatnonzero(left == 1)
            if not len(told):
                self.even = self.even[left > 1]
                return
            rows = self.even[told]
            literal = rows[np.arange(len(rows)), (self.of(rows) == 0).argmax(axis=1)]
            np.negative(literal, out=literal, where=odd[told])
            self._learn(literal)
            self.even = self.even[left > 1]

    def _between(self, faces: NDArray[np.intp]) -> None:
        """What lies under what in a pile, all of it that follows."""
        first, second, literals = self._inside(faces)
        holds = self.of(literals)
        under = np.zeros((len(faces), len(faces)), dtype=bool)
        under[first[holds > 0], second[holds > 0]] = True
        under[second[holds < 0], first[holds < 0]] = True
        order = _lowest_first(under)
        place = np.empty(len(order), dtype=np.int32)
        place[order] = np.arange(len(order), dtype=np.int32)
        under = _closure(under[np.ix_(order, order)])
        one, two = place[first], place[second]
        self._learn(literals[under[one, two]])
        self._learn(-literals[under[two, one]])

    def _inside(self, faces: NDArray[np.intp]) -> tuple[NDArray[np.int32], NDArray[np.int32], Literals]:
        """The pairs of faces of a pile, by their places in it, and their literals."""
        pairs = self.pairs
        if len(faces) == pairs.faces:
            return pairs.first, pairs.second, self.literals
        place = np.full(pairs.faces, -1, dtype=np.int32)
        place[faces] = np.arange(len(faces), dtype=np.int32)
        first, second = place[pairs.first], place[pairs.second]
        inside = (first >= 0) & (second >= 0)
        return first[inside], second[inside], self.literals[inside]


def _lowest_first(under: NDArray[np.bool_]) -> list[int]:
    """The faces in an order in which each comes after all that are under it. Raises `Contradiction`."""
    over = np.ascontiguousarray(under.T)
    order = taken_in_turn(lambda face: np.flatnonzero(over[face]), np.count_nonzero(under, axis=1))
    if len(order) < len(under):
        raise Contradiction
    return order


def _closure(under: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """All that lies under each face, where each face has only earlier ones under it."""
    size = (len(under) + 7) // 8
    rows = np.packbits(under, axis=1, bitorder="little").tobytes()
    all_under: list[int] = []
    for face in range(len(under)):
        rest = int.from_bytes(rows[face * size : (face + 1) * size], "little")
        found = 0
        while rest:  # the highest of those left, and all under it
            highest = rest.bit_length() - 1
            found |= all_under[highest] | 1 << highest
            rest &= ~found
        all_under.append(found)
    packed = np.frombuffer(b"".join(found.to_bytes(size, "little") for found in all_under), dtype=np.uint8)
    result = np.unpackbits(packed.reshape(-1, size), axis=1, count=len(under), bitorder="little")
    return result.view(bool)


def piles(overlaps: Overlaps) -> list[NDArray[np.intp]]:
    """Sets of faces that have, as floats prove, a common interior point; few sets, with most of the pairs in them."""
    class_of = overlaps.pairs.class_of
    sizes = np.bincount(class_of)
    faces = np.unique(class_of, return_index=True)[1]
    inside = _containing(overlaps, faces, _candidates(overlaps, faces))
    one, two = overlaps.pairs.classes
    weight, left = sizes[one] * sizes[two], np.ones(len(one), dtype=bool)
    own = sizes * (sizes - 1) // 2
    lone = np.ones(len(sizes), dtype=bool)

    def gain(number: int) -> int:
        """The pairs that a set has, and those found before do not."""
        member = inside[number]
        return int(weight[left & member[one] & member[two]].sum() + own[lone & member].sum())

    # the least first is the best: with the gain that each set had when it was last looked at, which only becomes less
    waiting = [(-gain(number), number) for number in range(len(inside))]
    heapify(waiting)
    found: list[NDArray[np.intp]] = []
    while waiting and len(found) < _MOST_PILES:
        _, number = heappop(waiting)
        now = -gain(number), number
        if waiting and now > waiting[0]:
            heappush(waiting, now)
            continue
        if -now[0] <= _WORTH * len(overlaps.pairs):
            break
        member = inside[number]
        left &= ~(member[one] & member[two])
        lone &= ~member
        found.append(np.flatnonzero(member[class_of]))
    return found


def _candidates(overlaps: Overlaps, faces: NDArray[np.intp]) -> NDArray[np.complex128]:
    """Middles of some images, and of what some two have in common."""
    some = faces[:: -(-len(faces) // _CANDIDATES)]
    found = [np.array([overlaps.places[overlaps.outlines(np.array([f])).corners[0]].mean() for f in some])]
    one, two = (faces[kind[:: -(-len(kind) // _CANDIDATES) or 1]] for kind in overlaps.pairs.classes)
    return np.concatenate([*found, middles(overlaps, np.stack([one, two], axis=1))])


def _containing(overlaps: Overlaps, faces: NDArray[np.intp], places: NDArray[np.complex128]) -> list[NDArray[np.bool_]]:
    """For each place which of the faces surely contain it."""
    inside = np.zeros((len(places), len(faces)), dtype=bool)
    sizes = overlaps.sizes[faces]
    for size in distinct(sizes):
        mine = np.flatnonzero(sizes == size)
        lines = overlaps.outlines(faces[mine])
        for row, place in enumerate(places):
            inside[row, mine] = overlaps.surely_inside(lines, np.full(len(mine), place))
    return list(inside)
