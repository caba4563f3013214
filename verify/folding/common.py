"""Which three faces have an interior point in common, in the folded plane. Exact."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import NDArray

from verify.exact.plane import Point
from verify.folding.bundles import Triples
from verify.folding.overlaps import Outlines, Overlaps

_AT_ONCE = 1 << 18
_MARGIN = 1e-15
_ROUNDED, _SPREAD, _LONG, _APART = 1e-12, 1e-2, 1e-4, 1e-8  # all paper lies within 1 along both axes


@dataclass
class CommonPoints:
    """Tells which triples of faces have a common point, and remembers those that floats do not tell."""

    overlaps: Overlaps
    points: dict[tuple[int, ...], Point | None] = field(default_factory=dict)

    def having(self, triples: Triples) -> Triples:
        """Those of the triples whose open images have a common point. Exact. Faces of one class have one image."""
        kinds = np.sort(self.overlaps.pairs.class_of[triples], axis=1)
        keys = (kinds[:, 0] * len(self.overlaps.sizes) + kinds[:, 1]) * len(self.overlaps.sizes) + kinds[:, 2]
        _, rows, kind = np.unique(keys, return_index=True, return_inverse=True)
        return triples[self._meet(triples[rows])[kind]]

    def _meet(self, triples: Triples) -> NDArray[np.bool_]:
        """Whether the open images of three faces have a common point."""
        known = surely_common(self.overlaps, triples)
        left = np.flatnonzero(~known)
        left = left[~surely_apart(self.overlaps, triples[left])]
        known[left] = [self.point(triple) is not None for triple in triples[left].tolist()]
        return known

    def point(self, triple: Sequence[int]) -> Point | None:
        """A common point of a triple; None if there is none. Exact."""
        faces = tuple(sorted(triple))
        if faces not in self.points:
            self.points[faces] = self.overlaps.common_point(faces)
        return self.points[faces]


def surely_common(overlaps: Overlaps, triples: Triples) -> NDArray[np.bool_]:
    """Where floats prove, by middles of what they have in common, that three open images meet; false says nothing."""
    result = np.zeros(len(triples), dtype=bool)
    pairs = overlaps.pairs
    for k in range(3):
        left = np.flatnonzero(~result)
        one, two, third = (triples[left, (k + turn) % 3] for turn in range(3))
        number = pairs.numbers(one, two)
        asked = np.zeros(len(pairs), dtype=bool)
        asked[number] = True
        both = np.stack([pairs.first[asked], pairs.second[asked]], axis=1)
        place = (np.cumsum(asked) - 1)[number]
        places = middles(overlaps, both)
        result[left] = _inside(overlaps, both, places)[place] & _inside(overlaps, third[:, None], places[place])
    left = np.flatnonzero(~result)
    result[left] = _inside(overlaps, triples[left], middles(overlaps, triples[left]))
    return result


def surely_apart(overlaps: Overlaps, triples: Triples) -> NDArray[np.bool_]:
    """Where floats prove that the open images of three faces have no common point; false says nothing."""
    return _by_size(overlaps, triples, bool, lambda _, lines: have_nothing_inside(overlaps.places, lines))


def have_nothing_inside(places: NDArray[np.complex128], lines: Outlines) -> NDArray[np.bool_]:
    """Whether floats prove, for each row of lines, that no place lies on the inner side of all; false says nothing.

    Where shares of three normals cancel out, no place is farther inward than the mean of its distances in these shares,
    everywhere the same (Farkas' lemma): off by 1e-9 for lines through places well apart, not nearly parallel, so that
    far more is asked for.
    """
    start, along = places[lines.a], places[lines.b] - places[lines.a]
    size = np.abs(along)
    normals = 1j * lines.inner * along / np.where(size > 0, size, 1.0)  # 0 where floats see one place
    inward = -(normals.conj() * start).real
    chosen = np.array([*combinations(range(start.shape[1]), 3)]).T
    one, two, three = (normals[:, i] for i in chosen)
    shares = np.stack([(v.conj() * w).imag for v, w in ((two, three), (three, one), (one, two))], axis=1)
    shares *= np.sign(shares.sum(axis=1, keepdims=True))
    total = shares.sum(axis=1)
    clear = (shares > -_ROUNDED).all(axis=1) & (total > _SPREAD) & (size[:, chosen] > _LONG).all(axis=1)
    mean = (shares * inward[:, chosen]).sum(axis=1)
    result: NDArray[np.bool_] = (clear & (mean < -_APART * total)).any(axis=1)
    return result


def middles(overlaps: Overlaps, sets: NDArray[Any]) -> NDArray[np.complex128]:
    """For each row of faces the middle of what they have in common, in floats."""
    return _by_size(overlaps, sets, complex, lambda _, lines: middle_of_meets(overlaps.places, lines))


def _inside(overlaps: Overlaps, sets: NDArray[Any], places: NDArray[np.complex128]) -> NDArray[np.bool_]:
    """For each row of faces whether floats prove that a place lies inside all of them."""
    return _by_size(overlaps, sets, bool, lambda rows, lines: overlaps.surely_inside(lines, places[rows]))


def _by_size(
    overlaps: Overlaps, sets: NDArray[Any], kind: type, of: Callable[[NDArray[np.intp], Outlines], NDArray[Any]]
) -> NDArray[Any]:
    """For each row of faces what `of` says of it and of the lines round them: of rows with as many corners together,
    few at a time.
    """
    result: NDArray[Any] = np.zeros(len(sets), dtype=kind)
    different, which = np.unique(overlaps.sizes[sets], axis=0, return_inverse=True)
    for number, sizes in enumerate(different):
        rows = np.flatnonzero(which == number)
        step = max(1, _AT_ONCE // int(sizes.sum()) ** 3)
        for some in (rows[i : i + step] for i in range(0, len(rows), step)):
            result[some] = of(some, _lines_round(overlaps, sets[some]))
    return result


def _lines_round(overlaps: Overlaps, sets: NDArray[Any]) -> Outlines:
    """The lines round all faces of each row; all rows have as many corners one as another."""
    each = [overlaps.outlines(faces) for faces in sets.T]
    return Outlines(*(np.concatenate(parts, axis=1) for parts in zip(*each, strict=True)))


def middle_of_meets(places: NDArray[np.complex128], lines: Outlines) -> NDArray[np.complex128]:
    """For each row of `lines` the middle of those corners and meets that lie in all of its faces, in floats."""
    start, along = places[lines.a], places[lines.b] - places[lines.a]
    one, two = np.triu_indices(start.shape[1], 1)
    ahead = along[:, two]
    # parallel lines meet nowhere: what comes out for them lies outside, or does no harm
    with np.errstate(all="ignore"):
        share = ((start[:, two] - start[:, one]).conj() * ahead).imag / (along[:, one].conj() * ahead).imag
        meets = start[:, one] + share * along[:, one]
    found = np.concatenate([places[lines.corners], meets], axis=1)
    there = np.abs(found) < 2  # all paper lies within 1 along both axes
    found[~there] = 0
    height = (along[:, None, :].conj() * (found[:, :, None] - start[:, None, :])).imag * lines.inner[:, None, :]
    inside = there & (height >= -_MARGIN).all(axis=2)
    result: NDArray[np.complex128] = (found * inside).sum(axis=1) / np.maximum(inside.sum(axis=1), 1)
    return result
