"""Which faces lie over each other in the folded plane: pairs with numbers, and memory for these alone."""

from __future__ import annotations

from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from verify.exact.ragged import Indices, ragged, starts_of

Numbers = NDArray[np.int32]


class FacePairs:
    """The pairs f < g of faces whose open images meet, in lexicographic order.

    `first`, `second`: the faces of each pair. Faces of one class have the same image, so they lie over each other and
    over the same others: these are kept once for a class. `classes`: the pairs of classes whose images meet.
    """

    def __init__(self, class_of: Indices, one: Indices, two: Indices) -> None:
        """From the class of each face, and the pairs one < two of classes whose images meet."""
        faces = len(class_of)
        self.faces, self.class_of, self.classes = faces, class_of, (one, two)
        sizes = np.bincount(class_of)
        members = np.argsort(class_of, kind="stable")
        own = np.arange(len(sizes))
        upper, lower = np.concatenate([one, two, own]), np.concatenate([two, one, own])
        keys = np.repeat(upper, sizes[lower]) * faces
        keys += members[ragged(starts_of(sizes)[lower], sizes[lower])]
        keys.sort()
        self._keys = keys
        # a table of all classes and faces where it is not larger than a few times the keys
        self._place: Numbers | None = None
        if len(sizes) * faces <= 8 * len(keys):
            self._place = np.full(len(sizes) * faces, -1, dtype=np.int32)
            self._place[keys] = np.arange(len(keys), dtype=np.int32)
        self._begin = np.searchsorted(keys, own * faces)
        self._end = np.append(self._begin[1:], len(keys))
        self._self = np.searchsorted(keys, class_of * faces + np.arange(faces))
        following = self._end[class_of] - self._self - 1
        self._start = starts_of(following)
        self.first: Numbers = np.repeat(np.arange(faces, dtype=np.int32), following)
        self.second: Numbers = (keys % faces).astype(np.int32)[ragged(self._self + 1, following)]

    def __len__(self) -> int:
        return len(self.first)

    def _places(self, f: Indices, g: Indices) -> Indices:
        """Where each face g stands among those over the class of f; -1 where it does not."""
        key = self.class_of[f] * self.faces + g
        if self._place is not None:
            known: Indices = self._place[key].astype(np.intp)
            return known
        place = np.searchsorted(self._keys, key)
        there = place < len(self._keys)
        there[there] = self._keys[place[there]] == key[there]
        return np.where(there, place, -1)

    def overlap(self, f: Indices, g: Indices) -> NDArray[np.bool_]:
        """Whether the open images of faces meet; a face does not overlap itself."""
        result: NDArray[np.bool_] = (self._places(f, g) >= 0) & (f != g)
        return result

    def numbers(self, f: Indices, g: Indices) -> Indices:
        """The numbers (from 0) of pairs of faces, whichever of the two comes first. KeyError if two do not overlap."""
        low, high = np.minimum(f, g), np.maximum(f, g)
        place = self._places(low, high)
        if place.size and (place.min() < 0 or (low == high).any()):
            raise KeyError("two faces that do not lie over each other")
        place += self._start[low]
        place -= self._self[low]
        place -= 1
        return place

    def over(self, face: int) -> Indices:
        """The faces that overlap a face, in order."""
        kind = self.class_of[face]
        mine = self._keys[self._begin[kind] : self._end[kind]] - kind * self.faces
        return np.delete(mine, self._self[face] - self._begin[kind])


class Above:
    """Which of two overlapping faces is above: `above[f, g]` if f lies over g (false where they do not overlap), also
    for arrays; `first_above`: for each pair whether its first face is.
    """

    def __init__(self, pairs: FacePairs, first_above: NDArray[np.bool_]) -> None:
        self.pairs, self.first_above = pairs, first_above

    def __len__(self) -> int:
        return len(self.pairs)

    def __getitem__(self, faces: tuple[Any, ...]) -> NDArray[np.bool_]:
        f, g = np.broadcast_arrays(*faces)
        shape, f, g = f.shape, f.ravel(), g.ravel()
        result: NDArray[np.bool_] = self.pairs.overlap(f, g)
        f, g = f[result], g[result]
        result[result] = self.first_above[self.pairs.numbers(f, g)] == (f < g)
        return result.reshape(shape)

    def nonzero(self) -> tuple[Numbers, Numbers]:
        """Every two overlapping faces, the upper and the lower one, in lexicographic order."""
        upper, lower = self.rows()
        order = np.lexsort((lower, upper))
        return upper[order], lower[order]

    def rows(self) -> tuple[Numbers, Numbers]:
        """The upper and the lower face of every pair, pair by pair."""
        first, second = self.pairs.first, self.pairs.second
        return np.where(self.first_above, first, second), np.where(self.first_above, second, first)

    def over(self, face: int) -> Numbers:
        """The faces above a face, in order."""
        faces, start = self._over
        return faces[start[face] : start[face + 1]]

    def under(self, face: int) -> Numbers:
        """The faces below a face, in order."""
        faces, start = self._under
        return faces[start[face] : start[face + 1]]

    @cached_property
    def _over(self) -> tuple[Numbers, Indices]:
        upper, lower = self.rows()
        return _grouped(lower, upper, self.pairs.faces)

    @cached_property
    def _under(self) -> tuple[Numbers, Indices]:
        upper, lower = self.rows()
        return _grouped(upper, lower, self.pairs.faces)


def _grouped(by: Numbers, faces: Numbers, count: int) -> tuple[Numbers, Indices]:
    """The faces of the rows, those of each of `count` numbers together and in order, and where each begins."""
    key = by * np.int64(count) + faces
    key.sort()
    start = np.append(0, np.cumsum(np.bincount(by, minlength=count)))
    return (key % count).astype(np.int32), start
