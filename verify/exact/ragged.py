"""Arrays of rows of different lengths, laid end to end: what numpy does not have."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

Indices = NDArray[np.intp]


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
