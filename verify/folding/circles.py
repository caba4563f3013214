"""Circles of layers: three faces over one another in turn, at a point inside all three."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from verify.exact.ragged import chunks, ragged, starts_of
from verify.folding.bundles import NO_TRIPLES, Triples, first_of_each
from verify.folding.common import CommonPoints
from verify.folding.crossing import Conditions
from verify.folding.pairs import Above

_TRIPLES_A_ROUND = 60_000
_STEPS_AT_ONCE = 1 << 20


def circles(above: Above, faces: NDArray[np.intp], common: CommonPoints) -> Triples:
    """Triples f over g over h over f with a common point, some of them where there are many; [] only if there is none.
    `faces`: those in circles of any length.

    From every face to those below it, and below these.
    """
    upper, lower = above.rows()
    member = np.zeros(above.pairs.faces, dtype=bool)
    member[faces] = True
    inside = member[upper] & member[lower]
    upper, lower = upper[inside], lower[inside]
    order = np.lexsort((lower, upper))
    upper, lower = upper[order], lower[order]
    below = np.bincount(upper, minlength=len(member))
    start = starts_of(below)
    first = np.flatnonzero(upper < lower)
    counts = below[lower[first]]
    found = [NO_TRIPLES]
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
    return np.concatenate(found)


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
