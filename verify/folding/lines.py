"""Which of many segments lie on one line: where numbers are not small, floats say which may, exact signs which do."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from verify.exact.batch import Sides
from verify.exact.ragged import Indices

# Of a segment of length 1: places within 2^-52 turn it, and move the foot of its line's perpendicular from the origin,
# by less than a hundredth of this.
_SLACK = 1e-13


def first_on_line(sides: Sides, segments: Indices) -> Indices:
    """For each segment (two numbers of places that differ) the number of the first on one line with it. Exact.

    What stands for a line in floats, whichever way round it is taken: its direction squared, as a complex number, and
    the foot of the perpendicular from the origin.
    """
    lines = sides.integer_lines(*segments.T)
    if lines is not None:
        number: dict[tuple[int, int, int], int] = {}
        return np.array([number.setdefault(line, n) for n, line in enumerate(lines)], dtype=np.intp)
    a, b = sides.places[segments].T
    length = np.abs(b - a)
    known = length > 0  # places may differ by less than floats can tell
    blur = np.divide(_SLACK, length, out=np.full(len(length), np.inf), where=known)
    along = np.divide(b - a, length, out=np.zeros(len(a), dtype=complex), where=known)
    square = along**2
    foot = (a - square * a.conj()) / 2
    label: Indices = np.zeros(len(a), dtype=np.intp)
    for value in (square.real, square.imag, foot.real, foot.imag):
        label = _apart(label, value, blur)
    first = np.empty(len(a), dtype=np.intp)
    rest = np.arange(len(a))
    while len(rest):
        _, heads, group = np.unique(label[rest], return_index=True, return_inverse=True)
        head = rest[heads][group]
        others = rest != head
        a, b = segments[head[others]].T
        on = ~others
        on[others] = (sides.signs(a, b, segments[rest[others]].T) == 0).all(axis=0)
        first[rest[on]] = head[on]
        rest = rest[~on]
    return first


def _apart(label: Indices, value: NDArray[np.float64], slack: NDArray[np.float64]) -> Indices:
    """Labels that part those of one label further where values are more than their slacks apart."""
    low, high = value - slack, value + slack
    _, rank = np.unique(np.concatenate([low, high]), return_inverse=True)
    most = len(rank)
    begin, end = label * most + rank[: len(low)], label * most + rank[len(low) :]
    order = np.argsort(begin, kind="stable")
    reach = np.maximum.accumulate(end[order])
    new = np.append(True, begin[order][1:] > reach[:-1])[: len(label)]
    result = np.empty_like(label)
    result[order] = np.cumsum(new) - 1
    return result
