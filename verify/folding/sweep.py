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

    def others_hold(self, clause: Iterable[int], variable: int, states: States) -> NDArray[np.bool_]:
        """For which sets of values a literal of the clause holds, of another variable than this."""
        asked = failing = 0
        for x in clause:
            if abs(x) != variable:
                bit = 1 << self.of[abs(x)]
                asked |= bit
                failing |= bit if x < 0 else 0
        result: NDArray[np.bool_] = states & np.uint64(asked) != np.uint64(failing)
        return result

    def mask(self, variables: Iterable[int]) -> np.uint64:
        return np.uint64(sum(1 << self.of[v] for v in variables))


class Sweep:
    """Clauses over variables, these in the order in which they come; see `sweep_over`."""

    def __init__(self, clauses: Sequence[Collection[int]], order: Sequence[int]) -> None:
        self.order = order
        turn = {v: i for i, v in enumerate(order)}
        self.asked: list[list[Collection[int]]] = [[] for _ in order]
        self.until = dict(turn)
        for clause in clauses:
            last = max([turn[abs(x)] for x in clause])
            self.asked[last].append(clause)
            for x in clause:
                self.until[abs(x)] = max(self.until[abs(x)], last)
        self.remembered = sum(self.until.values()) - sum(turn.values())  # values, from all steps together

    def count(self, seen: Collection[int] | None = None, in_time: Callable[[], None] = lambda: None) -> int | None:
        """How many assignments of the variables satisfy all clauses, or None if too many values would have to be kept.

        With `seen`: how many assignments of these can be completed to one. Raises what `in_time` raises.

        >>> sweep = sweep_over([[1, 2], [-1, 3]], [1, 2, 3])
        >>> sweep.count(), sweep.count(seen=[1])
        (4, 2)
        """
        hidden = set() if seen is None else set(self.order) - set(seen)
        slots = _Slots()
        states: States = np.zeros(1, dtype=np.uint64)
        numbers: Numbers = np.ones(1, dtype=np.int64)
        for now, v in enumerate(self.order):
            in_time()
            if len(states) > MOST_STATES or not slots.free:
                return None
            value = slots.take(v)
            may_fail, may_hold = np.ones((2, len(states)), dtype=bool)
            for clause in self.asked[now]:
                may = may_hold if -v in clause else may_fail
                may &= slots.others_hold(clause, v, states)
            states = np.concatenate([states[may_fail], states[may_hold] | value])
            numbers = np.concatenate([numbers[may_fail], numbers[may_hold]])
            done = {u for u in slots.of if self.until[u] <= now}
            # sets that agree in all but hidden values have the same number; others only add up while none is hidden
            for forgotten, alike in ((hidden & done, True), (done - hidden, False)):
                if forgotten and (alike or hidden.isdisjoint(slots.of)):
                    states &= ~slots.mask(forgotten)
                    order, first = _ordered(states)
                    numbers = numbers[order[first]] if alike else np.add.reduceat(_wide(numbers)[order], first)
                    states = states[order[first]]
                    slots.free += [slots.of.pop(u) for u in forgotten]
        return int(numbers.sum())


def sweep_over(clauses: Sequence[Collection[int]], variables: Collection[int]) -> Sweep:
    """The variables in an order in which few values have to be remembered: the better one of two, from either end."""
    one = Sweep(clauses, _order(clauses, variables))
    other = Sweep(clauses, _order(clauses, variables, one.order[-1]))
    return min(one, other, key=lambda sweep: sweep.remembered)


def _order(clauses: Sequence[Collection[int]], variables: Collection[int], start: int | None = None) -> list[int]:
    """Each next variable leaves the fewest to be remembered; of these, it ends most clauses, or nearly ends most."""
    beside: dict[int, set[int]] = {v: set() for v in sorted(variables)}
    asked: dict[int, list[int]] = defaultdict(list)
    for i, clause in enumerate(clauses):
        for v in map(abs, clause):
            beside[v].update(abs(x) for x in clause)
            asked[v].append(i)
    for v, others in beside.items():
        others.discard(v)
    to_come = {v: len(others) for v, others in beside.items()}
    to_place = [len(clause) for clause in clauses]
    ended = dict.fromkeys(beside, 0)  # placed ones of which it alone is to come
    last_of, last_two_of = ({v: [to_place[i] for i in asked[v]].count(n) for v in beside} for n in (1, 2))
    order: dict[int, None] = {}

    def entry(v: int) -> tuple[int, int, int, int, int]:
        return (to_come[v] > 0) - ended[v], -last_of[v], -last_two_of[v], to_come[v], v

    for first in sorted(beside, key=lambda v: (v != start, to_come[v], v)):
        waiting = [] if first in order else [entry(first)]
        while waiting:
            found = heappop(waiting)
            v = found[-1]
            if v in order or found != entry(v):
                continue  # placed, or it has a newer entry
            order[v] = None
            for u in beside[v]:
                to_come[u] -= 1
            for u in (v, *beside[v]):
                if u in order and to_come[u] == 1:
                    ended[next(w for w in beside[u] if w not in order)] += 1
            for i in asked[v]:
                to_place[i] -= 1
                for u in map(abs, clauses[i]) if to_place[i] in (1, 2) else ():
                    last_of[u] += to_place[i] == 1
                    last_two_of[u] += 1 if to_place[i] == 2 else -1
            changed = {u for u in beside[v] if u not in order}
            for u in (v, *beside[v]):
                if u in order and to_come[u] == 1:
                    changed |= {w for w in beside[u] if w not in order}
            for u in changed:
                heappush(waiting, entry(u))
    return list(order)


def _ordered(states: States) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """The order of some sets of values, and where in that order each different one stands first."""
    order = np.argsort(states, kind="stable")
    ordered = states[order]
    new = np.ones(len(order), dtype=bool)
    new[1:] = ordered[1:] != ordered[:-1]
    return order, np.flatnonzero(new)


def _wide(numbers: Numbers) -> Numbers:
    """The numbers in a kind that holds their sum."""
    exact = numbers.dtype == object or numbers.sum(dtype=float) < _LARGE
    return numbers if exact else numbers.astype(object)
