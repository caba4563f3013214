"""Circles of layers: three faces over one another in turn, at a point inside all three."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from verify.exact.ragged import chunks, ragged
from verify.folding.bundles import NO_TRIPLES, Triples, first_of_each
from verify.folding.common import CommonPoints
from verify.folding.crossing import Conditions
from verify.folding.overlaps import Table
from verify.folding.pairs import Above

_TRIPLES_A_ROUND = 60_000
_ENTRIES_AT_ONCE = 1 << 23
_STEPS_AT_ONCE = 1 << 20
_DENSE = 500
"""A product of tables of n faces takes about as long as n**3 / _DENSE steps one by one."""


def circles(above: Above, faces: NDArray[np.intp], common: CommonPoints) -> Triples:
    """Triples f over g over h over f with a common point; [] only if there is none. `faces`: those in circles of any
    length, in order.

    All triples if they are few, else one or two for each two faces: a little about all leads sooner to an order.
    """
    upper, lower = above.rows()
    member = np.zeros(above.pairs.faces, dtype=bool)
    member[faces] = True
    inside = member[upper] & member[lower]
    upper, lower = upper[inside], lower[inside]
    below = np.bincount(upper, minlength=len(member))
    steps = int(below[lower].sum())
    if len(faces) ** 3 <= _DENSE * steps:
        place = np.empty(len(member), dtype=np.int32)
        place[faces] = np.arange(len(faces))
        table = np.zeros((len(faces), len(faces)), dtype=bool)
        table[place[upper], place[lower]] = True
        return _in_table(table, faces.astype(np.int32), common)
    order = np.lexsort((lower, upper))
    return _step_by_step(above, upper[order], lower[order], below, common)


def _step_by_step(
    above: Above, upper: NDArray[np.int32], lower: NDArray[np.int32], below: NDArray[np.intp], common: CommonPoints
) -> Triples:
    """The same by going from every face to those below it, and below these."""
    start = np.cumsum(below) - below
    first = np.flatnonzero(upper < lower)
    counts = below[lower[first]]
    found = []
    for rows in chunks(counts, _STEPS_AT_ONCE):
        step = np.repeat(first[rows], counts[rows])
        f, g = upper[step], lower[step]
        h = lower[ragged(start[lower[first[rows]]], counts[rows])]
        later = f < h
        f, g, h = f[later], g[later], h[later]
        closed = above[h, f]
        found.append(common.having(np.stack([f, g, h], axis=1)[closed]))
        if sum(map(len, found)) > _TRIPLES_A_ROUND:
            break
    return np.concatenate([NO_TRIPLES, *found])


def _in_table(above: Table, faces: NDArray[np.int32], common: CommonPoints) -> Triples:
    """The same in a table of the faces."""
    weight = above.astype(np.float32)
    between = weight @ weight
    ends = np.argwhere(np.triu((between > 0) & above.T))
    if between[ends[:, 0], ends[:, 1]].sum() > _TRIPLES_A_ROUND:
        kept = common.having(faces[_outermost(above, ends)])
        if len(kept):
            return kept
    found: list[Triples] = []
    total = 0
    for f, h in ends:
        middles = np.flatnonzero(above[f, f:] & above[f:, h]) + f
        triple = np.empty((len(middles), 3), dtype=np.int32)
        triple[:, 0], triple[:, 1], triple[:, 2] = f, middles, h
        found.append(triple)
        total += len(triple)
        if total > _TRIPLES_A_ROUND:
            kept = common.having(faces[np.concatenate(found)])
            if len(kept):
                return kept
            found, total = [], 0
    return common.having(faces[np.concatenate(found)]) if found else NO_TRIPLES


def beside_folds(conditions: Conditions) -> Triples:
    """The two faces of each fold with every third face that overlaps both."""
    s, pairs = conditions.overlaps.subdivision, conditions.pairs
    found = [NO_TRIPLES]
    for f, g in sorted({(min(e.left, e.right), max(e.left, e.right)) for e in s.edges if e.is_fold}):
        third = np.intersect1d(pairs.over(f), pairs.over(g), assume_unique=True)
        triples = np.empty((len(third), 3), dtype=np.int32)
        triples[:, 0], triples[:, 1], triples[:, 2] = f, g, third
        found.append(triples)
    rows = np.sort(np.concatenate(found), axis=1)
    return rows[first_of_each(rows)]


def _outermost(above: Table, ends: NDArray[np.intp]) -> Triples:
    """For each two faces (f, h) the first and the last face g with f over g over h; there is one."""
    step = max(1, _ENTRIES_AT_ONCE // len(above))
    found = [NO_TRIPLES]
    for i in range(0, len(ends), step):
        f, h = ends[i : i + step].T
        between = above[f] & above[:, h].T
        first, last = between.argmax(axis=1), len(above) - 1 - between[:, ::-1].argmax(axis=1)
        found += [np.stack([f, g, h], axis=1, dtype=np.int32) for g in (first, last)]
    return np.concatenate(found)
