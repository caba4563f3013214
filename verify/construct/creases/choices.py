"""Choices of perpendiculars: the lightest sets with an even number of creases at every node, one by one.

A set is a solution of one equation over GF(2) for each node, and of what was learned: parts of a set that no pattern
can have. The lightest one is found by MaxSAT. That the equations hold is sure; so is what was learned, but for paper
that touches for less than floats tell (`refusals`). Where no set is left there is none.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from threading import Timer
from typing import TYPE_CHECKING

from verify.pattern.limits import LimitReached

if TYPE_CHECKING:
    from pysat.examples.rc2 import RC2

_AT_ONCE = 4  # variables of one equation


@dataclass(frozen=True)
class Refusal:
    """What no pattern can have together: perpendiculars taken, and others left out."""

    taken: frozenset[int]
    left: frozenset[int]


class Choices:
    """Sets of perpendiculars by number.

    `ends` are the two nodes of each that may be taken, None for an end at the border; `odd` are the nodes at which an
    odd number of them must end.
    """

    def __init__(self, ends: Mapping[int, tuple[int | None, int | None]], odd: Iterable[int]) -> None:
        self.numbers = sorted(ends)
        self.variable = {number: i for i, number in enumerate(self.numbers, 1)}
        self.count = len(self.numbers)
        self.clauses: list[list[int]] = []
        at: dict[int, list[int]] = {node: [] for node in odd}
        for number, (a, b) in ends.items():
            for node in (a, b) if a != b else ():
                if node is not None:
                    at.setdefault(node, []).append(self.variable[number])
        wanted = {*odd}
        for node, variables in sorted(at.items()):
            self._sum(variables, node in wanted)

    def _sum(self, variables: list[int], odd: bool) -> None:
        """An odd or an even number of the variables holds."""
        while len(variables) > _AT_ONCE:
            self.count += 1
            self._sum([*variables[: _AT_ONCE - 1], self.count], False)
            variables = [self.count, *variables[_AT_ONCE - 1 :]]
        for bits in range(1 << len(variables)):
            if bits.bit_count() % 2 != odd:
                self.clauses.append([-v if bits >> i & 1 else v for i, v in enumerate(variables)])

    def refuse(self, refusal: Refusal) -> None:
        """No set with all of `taken` and none of `left` comes from now on."""
        self.clauses.append(
            [-self.variable[i] for i in sorted(refusal.taken)]
            + [self.variable[i] for i in sorted(refusal.left) if i in self.variable]
        )

    def like(self, sets: Sequence[Collection[int]], numbers: Iterable[int]) -> list[list[int]]:
        """What holds for sets that have, of these perpendiculars, just those that one of the given sets has."""
        first = self.count + 1
        self.count += len(sets)
        clauses = [[*range(first, self.count + 1)]]
        for number in numbers:
            v = self.variable[number]
            clauses += [[-which, v if number in one else -v] for which, one in enumerate(sets, first)]
        return clauses

    def lightest(
        self, weights: Sequence[int], seconds: float | None = None, also: Iterable[list[int]] = ()
    ) -> frozenset[int] | None:
        """The set of least total weight (one weight for each perpendicular, also below zero) for which this holds,
        too; None if there is none.

        Raises `LimitReached` past `seconds`.
        """
        return next(self.in_turn(weights, lambda: seconds, also), None)

    def in_turn(
        self, weights: Sequence[int], in_time: Callable[[], float | None], also: Iterable[list[int]] = ()
    ) -> Iterator[frozenset[int]]:
        """All sets, each once, the lightest first. Raises `LimitReached` past the seconds that are left (`in_time`)."""
        from pysat.examples.rc2 import RC2  # slow to load
        from pysat.formula import WCNF

        if any(not clause for clause in self.clauses):
            return
        formula = WCNF()
        formula.extend([*self.clauses, *also])
        for number in self.numbers:
            weight = weights[number]
            if weight:
                sign = -1 if weight > 0 else 1
                formula.append([sign * self.variable[number]], weight=abs(weight))
        with RC2(formula) as solver:
            while (model := _interrupted(solver, in_time())) is not None:
                own = [v for v in model if abs(v) <= len(self.numbers)]
                yield frozenset(self.numbers[v - 1] for v in own if v > 0)
                solver.add_clause([-v for v in own])


def _interrupted(solver: RC2, seconds: float | None) -> list[int] | None:
    if seconds is None:
        model: list[int] | None = solver.compute()
        return model
    over = False

    def stop() -> None:
        nonlocal over
        over = True
        solver.interrupt()

    timer = Timer(seconds, stop)
    timer.start()
    try:
        model = solver.compute(expect_interrupt=True)
    finally:
        timer.cancel()
    if model is None and over:
        raise LimitReached("seconds", f"{seconds:g}", "the next set of creases was not found")
    return model
