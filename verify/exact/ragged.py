"""Arrays of rows of different lengths, laid end to end, and which of many boxes meet: neither is in numpy."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

Indices = NDArray[np.intp]
Sides = NDArray[np.float64]

_AT_ONCE = 1 << 20
_Kind = TypeVar("_Kind", bound=np.generic)


def ragged(starts: NDArray[Any], counts: NDArray[Any]) -> Indices:
    """From each start as many following numbers as its count says, one after the other.

    >>> ragged(np.array([5, 0, 9]), np.array([2, 0, 3])).tolist()
    [5, 6, 9, 10, 11]
    """
    ends = np.cumsum(counts)
    total = int(ends[-1]) if len(ends) else 0
    result: Indices = np.repeat(starts - (ends - counts), counts)
    result += np.arange(total)
    return result


def distinct(values: NDArray[_Kind], axis: int | None = None) -> NDArray[_Kind]:
    """The different values in order; with axis 0, the different rows. (`np.unique` alone loads numpy.ma: slow.)"""
    found: NDArray[_Kind] = np.unique(values, return_index=True, axis=axis)[0]
    return found


def starts_of(counts: NDArray[Any]) -> Indices:
    """Where each row begins."""
    result: Indices = np.cumsum(counts) - counts
    return result


def chunks(counts: NDArray[Any], most: int) -> Iterator[slice]:
    """Slices of rows whose counts come to no more than `most` together, or of one row.

    >>> list(chunks(np.array([2, 2, 9, 1]), 4))
    [slice(0, 2, None), slice(2, 3, None), slice(3, 4, None)]
    """
    ends = np.cumsum(counts)
    begin = 0
    while begin < len(counts):
        done = int(ends[begin - 1]) if begin else 0
        stop = max(begin + 1, int(np.searchsorted(ends, done + most, side="right")))
        yield slice(begin, stop)
        begin = stop


def boxes_meeting(left: Sides, right: Sides, bottom: Sides, top: Sides) -> Iterator[tuple[Indices, Indices]]:
    """The pairs i < j of boxes whose insides meet, each once, some at a time and in no order.

    Boxes are `left` < `right` and `bottom` < `top`. Takes time for the pairs that meet along x, and memory for few.
    """
    order = np.argsort(left, kind="stable")
    following = np.searchsorted(left[order], right[order]) - np.arange(len(order)) - 1
    for rows in chunks(following, _AT_ONCE):
        one = np.repeat(order[rows], following[rows])
        two = order[ragged(np.arange(rows.start, rows.stop) + 1, following[rows])]
        meet = (bottom[one] < top[two]) & (bottom[two] < top[one])
        one, two = one[meet], two[meet]
        yield np.minimum(one, two), np.maximum(one, two)
