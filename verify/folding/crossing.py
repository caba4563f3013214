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

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from verify.folding.overlaps import Overlaps

Literals = NDArray[np.int64]


@dataclass(frozen=True)
class Conditions:
    """All conditions of a folded pattern but transitivity.

    `variable[f, g]` = `variable[g, f]` is the pair's number (from 1; 0: no overlap), `pairs[n - 1]` its faces.
    `fixed`: literals, `fixed_edges` the fold of each. `equal`: rows of two literals, `equal_from` the
    row's origin (edge, edge or -1, face or -1). `even`: rows of four literals, `even_from` the two edges.
    """

    overlaps: Overlaps
    variable: NDArray[np.int64]
    pairs: NDArray[np.intp]
    fixed: Literals
    fixed_edges: NDArray[np.intp]
    equal: Literals
    equal_from: NDArray[np.intp]
    even: Literals
    even_from: NDArray[np.intp]

    def literal(self, above: int, below: int) -> int:
        """The literal "face `above` lies above face `below`"."""
        number = int(self.variable[above, below])
        return number if above < below else -number


def crossing_conditions(overlaps: Overlaps) -> Conditions:
    """Collect every crossing condition of the folded pattern, exactly."""
    s, turned = overlaps.subdivision, overlaps.fold_map.turned
    table = overlaps.overlapping
    pairs = np.argwhere(np.triu(table))
    variable = np.zeros(table.shape, dtype=np.int64)
    numbers = np.arange(1, len(pairs) + 1)
    variable[pairs[:, 0], pairs[:, 1]] = numbers
    variable[pairs[:, 1], pairs[:, 0]] = numbers

    def literals(above: NDArray[np.intp], below: NDArray[np.intp]) -> Literals:
        result: Literals = np.where(above < below, 1, -1) * variable[above, below]
        return result

    left = np.array([e.left for e in s.edges], dtype=np.intp)
    right = np.array([e.right for e in s.edges], dtype=np.intp)
    fold = np.array([e.is_fold for e in s.edges], dtype=bool)

    marked = np.array([i for i, e in enumerate(s.edges) if e.kind in ("mountain", "valley")], dtype=np.intp)
    is_turned = np.array(turned, dtype=bool)
    over = np.where(is_turned[left[marked]], left[marked], right[marked])
    under = np.where(is_turned[left[marked]], right[marked], left[marked])
    valley = np.array([s.edges[int(i)].kind == "valley" for i in marked], dtype=bool)
    fixed = literals(np.where(valley, over, under), np.where(valley, under, over))

    # 4 and 5: an inner edge through a face
    through = overlaps.through[overlaps.inner]
    row, face = np.nonzero(through)
    edge = overlaps.inner[row]
    a, b = left[edge], right[edge]
    equal = [np.stack([literals(a, face), literals(b, face)], axis=1)]
    equal_from = [np.stack([edge, np.full_like(edge, -1), face], axis=1)]

    # 1 to 3: inner edges that share a segment
    one, two = overlaps.sharing.first, overlaps.sharing.second
    swap = ~fold[one] & fold[two]
    one, two = np.where(swap, two, one), np.where(swap, one, two)
    side = _edge_sides(overlaps, left)

    both = fold[one] & fold[two] & (side[one] == side[two])
    e, g = one[both], two[both]
    even = np.stack(
        [
            literals(left[e], left[g]),
            literals(right[e], left[g]),
            literals(left[e], right[g]),
            literals(right[e], right[g]),
        ],
        axis=1,
    )
    even_from = np.stack([e, g], axis=1)

    mixed = fold[one] & ~fold[two]
    e, g = one[mixed], two[mixed]
    p = np.where(side[g] == side[e], left[g], right[g])
    equal.append(np.stack([literals(left[e], p), literals(right[e], p)], axis=1))
    equal_from.append(np.stack([e, g, np.full_like(e, -1)], axis=1))

    flat = ~fold[one] & ~fold[two]
    e, g = one[flat], two[flat]
    same = side[e] == side[g]
    r, q = np.where(same, left[g], right[g]), np.where(same, right[g], left[g])
    equal.append(np.stack([literals(left[e], r), literals(right[e], q)], axis=1))
    equal_from.append(np.stack([e, g, np.full_like(e, -1)], axis=1))

    return Conditions(
        overlaps, variable, pairs, fixed, marked, np.concatenate(equal), np.concatenate(equal_from), even, even_from
    )


def _edge_sides(overlaps: Overlaps, left: NDArray[np.intp]) -> NDArray[np.int8]:
    """On which side of its folded line the left face of each inner edge lies (0 for border edges)."""
    sides = np.zeros(len(left), dtype=np.int8)
    for i in overlaps.inner:
        sides[i] = overlaps.face_side(int(i), int(left[i]))
    return sides
