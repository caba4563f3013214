"""Which of many boxes meet: a sweep from left to right."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from verify.exact.ragged import chunks, ragged

Indices = NDArray[np.intp]
Sides = NDArray[np.float64]

AT_ONCE = 1 << 20


def boxes_meeting(left: Sides, right: Sides, bottom: Sides, top: Sides) -> Iterator[tuple[Indices, Indices]]:
    """The pairs i < j of boxes whose insides meet, each once, some at a time and in no order.

    Boxes are `left` < `right` and `bottom` < `top`. Takes time for the pairs that meet along x, and memory for few.
    """
    order = np.argsort(left, kind="stable")
    following = np.searchsorted(left[order], right[order]) - np.arange(len(order)) - 1
    for rows in chunks(following, AT_ONCE):
        one = np.repeat(order[rows], following[rows])
        two = order[ragged(np.arange(rows.start, rows.stop) + 1, following[rows])]
        meet = (bottom[one] < top[two]) & (bottom[two] < top[one])
        one, two = one[meet], two[meet]
        yield np.minimum(one, two), np.maximum(one, two)
