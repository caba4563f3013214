"""Counting the solutions of clauses by a sweep over the variables (dynamic programming). Exact.

The variables come one by one. Of the assignments so far only the values are kept that a later clause may ask for,
and how many assignments agree on them. That costs time and memory for the different sets of such values only: few
where few faces lie over each other, however many there are (Eppstein 2023, for the ply of a folded pattern).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Sequence
from heapq import heappop, heappush
from typing import Any

import numpy as np
from numpy.typing import NDArray

MOST_STATES = 1 << 20  # sets of values that are kept at once
_SLOTS = 64  # values in a set: the bits of a word
_LARGE = 1 << 61  # from here on numbers are Python's, which do not overflow

States = NDArray[np.uint64]
Numbers = NDArray[Any]


class _Slots:
    """Which bit holds the value of which variable."""

    def __init__(self) -> None:
        self.free = list(range(_SLOTS))
        self.of: dict[int, int] = {}

    def take(self, variable: int) -> np.uint64:
        self.of[variable] = self.free.pop()
        return self.mask([variable])

    def mask(self, variables: Iterable[int]) -> np.uint64:
        return np.uint64(sum(1 << self.of[v] for v in variables))

    def give_back(self, variables: Iterable[int]) -> None:
        self.free += [self.of.pop(v) for v in variables]


def count_solutions(
    clauses: Sequence[Collection[int]],
    variables: Collection[int],
    seen: Collection[int] | None = None,
    in_time: Callable[[], None] = lambda: None,
) -> int | None:
    """How many assignments of `variables` satisfy all clauses, or None if too many values would have to be kept.

    With `seen`: how many assignments of these can be completed to one. Raises what `in_time` raises.

    >>> count_solutions([[1, 2], [-1, 3]], [1, 2, 3]), count_solutions([[1, 2], [-1, 3]], [1, 2, 3], seen=[1])
    (4, 2)
    """
    hidden = set() if seen is None else set(variables) - set(seen)
    order = _order(clauses, variables)
    turn = {v: i for i, v in enumerate(order)}
    until = dict(turn)
    asked: dict[int, list[Collection[int]]] = defaultdict(list)
    for clause in clauses:
        last = max(turn[abs(x)] for x in clause)
        asked[last].append(clause)
        for x in clause:
            until[abs(x)] = max(until[abs(x)], last)
    slots = _Slots()
    states: States = np.zeros(1, dtype=np.uint64)
    numbers: Numbers = np.ones(1, dtype=np.int64)
    for now, v in enumerate(order):
        in_time()
        if len(states) > MOST_STATES or not slots.free:
            return None
        states = np.concatenate([states, states | slots.take(v)])
        numbers = np.concatenate([numbers, numbers])
        for clause in asked[now]:
            mask = slots.mask(abs(x) for x in clause)
            broken = slots.mask(-x for x in clause if x < 0)
            fits = states & mask != broken
            states, numbers = states[fits], numbers[fits]
        done = {u for u in slots.of if until[u] <= now}
        forgotten = hidden & done
        if forgotten:
            # sets that agree in all other values have the same number
            states, first = np.unique(states & ~slots.mask(forgotten), return_index=True)
            numbers = numbers[first]
            slots.give_back(forgotten)
        forgotten = done - hidden
        if forgotten and hidden.isdisjoint(slots.of):
            states, row = np.unique(states & ~slots.mask(forgotten), return_inverse=True)
            numbers = _sums(numbers, row, len(states))
            slots.give_back(forgotten)
    return int(numbers.sum())


def _order(clauses: Sequence[Collection[int]], variables: Collection[int]) -> list[int]:
    """Each next variable is one that leaves the fewest to be remembered: those with others of their clauses to come.
    Of these, one that ends most clauses, or else leaves most with one to come: so few sets of values are left.
    """
    beside: dict[int, set[int]] = {v: set() for v in sorted(variables)}
    asked: dict[int, list[int]] = defaultdict(list)
    for i, clause in enumerate(clauses):
        for v in map(abs, clause):
            beside[v].update(abs(x) for x in clause)
            asked[v].append(i)
    for v, others in beside.items():
        others.discard(v)
    to_come = {v: len(others) for v, others in beside.items()}
    open_in = [len(clause) for clause in clauses]
    order: dict[int, None] = {}

    def entry(v: int) -> tuple[int, int, int, int, int]:
        done = sum(u in order and to_come[u] == 1 for u in beside[v])
        left = [open_in[i] for i in asked[v]]
        return (to_come[v] > 0) - done, -left.count(1), -left.count(2), to_come[v], v

    for first in sorted(beside, key=lambda v: (to_come[v], v)):
        waiting = [] if first in order else [entry(first)]
        while waiting:
            found = heappop(waiting)
            v = found[-1]
            if v in order or found != entry(v):
                continue  # placed, or it has a newer entry
            order[v] = None
            for u in beside[v]:
                to_come[u] -= 1
            for i in asked[v]:
                open_in[i] -= 1
            changed = {u for u in beside[v] if u not in order}
            for u in (v, *beside[v]):
                if u in order and to_come[u] == 1:
                    changed |= {w for w in beside[u] if w not in order}
            for u in changed:
                heappush(waiting, entry(u))
    return list(order)


def _sums(numbers: Numbers, row: NDArray[np.intp], count: int) -> Numbers:
    total = int(numbers.sum()) if numbers.dtype == object else float(numbers.sum(dtype=float))
    if total >= _LARGE:
        numbers = numbers.astype(object)
    result = np.zeros(count, dtype=numbers.dtype)
    np.add.at(result, row, numbers)
    return result
