"""Justin's crossing conditions as constraints on "which face is above".

For overlapping faces f < g the variable of the pair says that f lies above g. A
literal is +variable or -variable. The conditions (Justin 1997; Demaine & O'Rourke 2007, ch. 11) are
of three kinds only:

- a literal holds (a mountain or valley fold fixes the order of its two faces),
- two literals are equal (conditions 2–5: a face lies on the same side of both faces of an edge that runs through it,
  …),
- of four literals an even number holds (condition 1: two folds on the same side are nested or apart).
"""

from __future__ import annotations

from functools import partial
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from verify.folding.overlaps import Overlaps
from verify.folding.pairs import FacePairs
from verify.pattern.limits import LimitReached, Limits

Literals = NDArray[np.int32]


class Conditions(NamedTuple):
    """All conditions of a folded pattern but transitivity; the variable of a pair of faces is its number in
    `overlaps.pairs`, from 1.

    `fixed`: literals, with their `fixed_edges`. `equal`: rows of two literals, with edge, edge or -1, face or -1 in
    `equal_from`. `even`: rows of four literals, with their two edges in `even_from`.
    """

    overlaps: Overlaps
    fixed: Literals
    fixed_edges: NDArray[np.int32]
    equal: Literals
    equal_from: NDArray[np.int32]
    even: Literals
    even_from: NDArray[np.int32]

    @property
    def pairs(self) -> FacePairs:
        """The pairs that have variables."""
        return self.overlaps.pairs

    def literals(self, above: NDArray[Any], below: NDArray[Any]) -> Literals:
        """The literals "this face lies above that"; KeyError if two do not overlap."""
        return _literals(self.pairs, above, below)

    def literal(self, above: int, below: int) -> int:
        """The literal "face `above` lies above face `below`"."""
        return int(self.literals(np.array([above]), np.array([below]))[0])

    def faces(self, literal: int) -> tuple[int, int]:
        """The faces (above, below) of a literal."""
        number = abs(literal) - 1
        f, g = int(self.pairs.first[number]), int(self.pairs.second[number])
        return (f, g) if literal > 0 else (g, f)


def _literals(pairs: FacePairs, above: NDArray[Any], below: NDArray[Any]) -> Literals:
    result = (pairs.numbers(above, below) + 1).astype(np.int32)
    np.negative(result, out=result, where=above > below)
    return result


def crossing_conditions(overlaps: Overlaps, limits: Limits = Limits()) -> Conditions:
    """Collect every crossing condition of the folded pattern, exactly. Raises `LimitReached` past `limits.overlaps`."""
    if overlaps.count > limits.overlaps:
        raise LimitReached("overlaps", f"{limits.overlaps:,}", f"{overlaps.count:,} pairs of panels over each other")
    s, turned = overlaps.subdivision, overlaps.fold_map.turned
    literals = partial(_literals, overlaps.pairs)
    left = np.array([e.left for e in s.edges], dtype=np.int32)
    right = np.array([e.right for e in s.edges], dtype=np.int32)
    fold = np.array([e.is_fold for e in s.edges], dtype=bool)

    # of a valley's faces the turned one is above, of a mountain's the other
    marked = np.array([i for i, e in enumerate(s.edges) if e.kind in ("mountain", "valley")], dtype=np.int32)
    valley = np.array([e.kind == "valley" for e in s.edges], dtype=bool)[marked]
    a, b = left[marked], right[marked]
    left_above = np.array(turned, dtype=bool)[a] == valley
    fixed = literals(np.where(left_above, a, b), np.where(left_above, b, a))

    # 4 and 5: an inner edge through a face
    edge, face = overlaps.through
    a, b = left[edge], right[edge]
    equal = [np.stack([literals(a, face), literals(b, face)], axis=1)]
    equal_from = [np.stack([edge, np.full_like(edge, -1), face], axis=1)]

    # 1 to 3: inner edges that share a segment
    one, two = overlaps.sharing
    swap = ~fold[one] & fold[two]
    one, two = np.where(swap, two, one), np.where(swap, one, two)
    side = overlaps.left_sides

    both = fold[one] & fold[two] & (side[one] == side[two])
    e, g = one[both], two[both]
    even = np.stack([literals(f, h) for h in (left[g], right[g]) for f in (left[e], right[e])], axis=1)
    even_from = np.stack([e, g], axis=1)

    # 2 and 3: of those that share one with a flat edge, the folds first
    rest = np.concatenate([np.flatnonzero(fold[one] & ~fold[two]), np.flatnonzero(~fold[one] & ~fold[two])])
    e, g = one[rest], two[rest]
    same = side[e] == side[g]
    near, far = np.where(same, left[g], right[g]), np.where(same, right[g], left[g])
    beyond = np.where(fold[e], near, far)
    equal.append(np.stack([literals(left[e], near), literals(right[e], beyond)], axis=1))
    equal_from.append(np.stack([e, g, np.full_like(e, -1)], axis=1))

    return Conditions(
        overlaps,
        fixed,
        marked,
        np.concatenate(equal),
        np.concatenate(equal_from, dtype=np.int32),
        even,
        even_from.astype(np.int32),
    )
