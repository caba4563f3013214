"""The layer order: which face lies over which.

Equal literals are merged first, so that one variable is left for each bundle of pairs that must agree. Where nearly
everything is said by the folds drawn as mountain or valley, what follows from them decides all (`saturation`). The rest
is found by SAT: transitivity is added only where a proposed order runs in a circle over three faces that share an
interior point; faces without a common point may lie in a circle (as the flaps of a twist do). Each round the solver is
told to try first what agrees with a stack near its last proposal.
"""

from __future__ import annotations

import gc
from collections.abc import Iterable
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from verify.folding.bundles import NO_TRIPLES, Bundles, Triples, clauses_of_even, transitivity_clauses
from verify.folding.circles import beside_folds, circles
from verify.folding.common import CommonPoints
from verify.folding.crossing import Conditions, Literals
from verify.folding.pairs import Above
from verify.folding.saturation import Contradiction, Saturation
from verify.folding.stack import LayerOrder, near_stack, order_of_relation, peel
from verify.pattern.limits import LimitReached, Limits, Progress

if TYPE_CHECKING:
    from pysat.solvers import Solver

SOLVER = "cadical153"

_FEW_BUNDLES = 200
# so few bundles of so few pairs take no second, even parities on random graphs (measured): no process of their own
_AT_ONCE, _AT_ONCE_PAIRS = 50, 1_000
_MANY_BUNDLES = 10_000
_MANY_OVERLAPS = 50  # of a face, on average


class NoOrder(NamedTuple):
    """No layer order exists. `triples` are the transitivity conditions that were needed so far."""

    conditions: Conditions
    triples: Triples


class Search:
    """One search for a layer order, round after round."""

    def __init__(self, conditions: Conditions, limits: Limits, progress: Progress | None) -> None:
        self.conditions, self.limits, self.progress = conditions, limits, progress
        self.common = CommonPoints(conditions.overlaps)
        self.added: list[Triples] = []

    @cached_property
    def bundles(self) -> Bundles:
        return Bundles(len(self.conditions.pairs), self.conditions.equal)

    def among(self, proposed: Iterable[Above]) -> LayerOrder | None:
        """The first of these that meets every condition."""
        for above in proposed:
            if self._holds(above) and not len(self._circles(above)):
                return order_of_relation(self.conditions.overlaps, above)
        return None

    def _holds(self, above: Above) -> bool:
        """Whether all conditions but transitivity are met."""
        fixed, equal, even = (
            above.first_above[np.abs(literals) - 1] == (literals > 0)
            for literals in (self.conditions.fixed, self.conditions.equal, self.conditions.even)
        )
        odd = np.count_nonzero(even, axis=1) % 2
        return bool(fixed.all() and (equal[:, 0] == equal[:, 1]).all() and not odd.any())

    def run(self) -> LayerOrder | NoOrder:
        c, bundles = self.conditions, self.bundles
        if bundles.conflict is not None:
            return self._none()
        fixed, even = bundles.of(c.fixed), bundles.of(c.even)
        if self._nearly_told():
            try:
                told = Saturation(c, bundles)
            except Contradiction:
                pass  # the solver says why
            else:
                above = Above(c.pairs, told.of(bundles.of_pairs) > 0)
                if told.open == 0 and not len(self._circles(above)):
                    return order_of_relation(c.overlaps, above)
                found = self._solve(told.known, told.even)
                if isinstance(found, LayerOrder):
                    return found
        return self._solve(fixed, even)

    def _solve(self, fixed: Literals, even: Literals) -> LayerOrder | NoOrder:
        """An order in which these literals of bundles hold, and of each of the rows an even number."""
        c, bundles = self.conditions, self.bundles
        self.added = []
        from pysat.solvers import Solver  # seldom needed, and slow to load

        with Solver(name=SOLVER) as solver:
            _give(solver, [[x] for x in sorted(set(fixed.tolist()))])
            _give(solver, clauses_of_even(even))
            if self._mostly_open:
                self._add(solver, self.common.having(beside_folds(c)))
            while True:
                if not solver.solve():
                    return self._none()
                model = np.zeros(bundles.count + 1, dtype=bool)
                for x in solver.get_model() or []:
                    if x > 0 and x <= bundles.count:
                        model[x] = True
                literal = bundles.of_pairs
                above = Above(c.pairs, model[np.abs(literal)] == (literal > 0))
                triples = self._circles(above)
                if not len(triples):
                    return order_of_relation(c.overlaps, above)
                self._add(solver, triples)
                solver.set_phases(self._preferred(near_stack(above)))
                if self.progress:
                    known = sum(len(t) for t in self.added)
                    self.progress(f"layer order: {known:,} transitivity conditions")

    def _circles(self, above: Above) -> Triples:
        left = peel(above)
        return circles(above, left, self.common) if len(left) else NO_TRIPLES

    @property
    def _mostly_open(self) -> bool:
        """Whether the solver would wander by parities alone: a large pattern, fewer than half its folds marked."""
        folds = sum(e.is_fold for e in self.conditions.overlaps.subdivision.edges)
        return self.bundles.count > _FEW_BUNDLES and 2 * len(self.conditions.fixed) < folds

    def _nearly_told(self) -> bool:
        """Whether to see first what follows from drawn folds: faces lie over many others, most folds are marked."""
        c = self.conditions
        dense = len(c.pairs) > _MANY_OVERLAPS * c.pairs.faces
        return self.bundles.count > _MANY_BUNDLES and dense and not self._mostly_open

    def _add(self, solver: Solver, triples: Triples) -> None:
        self.added.append(triples)
        _give(solver, transitivity_clauses(self.conditions, self.bundles, triples))

    def _none(self) -> NoOrder:
        return NoOrder(self.conditions, np.concatenate([NO_TRIPLES, *self.added]))

    def _preferred(self, rank: NDArray[np.intp]) -> list[int]:
        """For each bundle the literal with which most of its pairs agree with the ranks of the faces."""
        pairs, literal, size = self.conditions.pairs, self.bundles.of_pairs, self.bundles.count
        votes = np.where(rank[pairs.first] > rank[pairs.second], 1, -1) * np.sign(literal)
        count = np.bincount(np.abs(literal), weights=votes, minlength=size + 1)[1:]
        result: list[int] = (np.where(count > 0, 1, -1) * np.arange(1, size + 1)).tolist()
        return result


def _give(solver: Solver, clauses: Iterable[list[int]]) -> None:
    """Give the solver clauses, maybe millions: lists of numbers, which the garbage collector would look at in vain."""
    collects = gc.isenabled()
    gc.disable()
    try:
        solver.append_formula(clauses)
    finally:
        if collects:
            gc.enable()


def find_order(
    conditions: Conditions, limits: Limits = Limits(), progress: Progress | None = None, proposed: Iterable[Above] = ()
) -> LayerOrder | NoOrder:
    """A layer order that meets every crossing condition, one that is `proposed` if it does, or `NoOrder` if there is
    none: a proposal until the kernel has accepted it. Mountain and valley folds keep their order, `either` folds get
    one. Raises `LimitReached` past `limits.seconds`.
    """
    search = Search(conditions, limits, progress)
    found = search.among(proposed)
    if found is not None:
        return found
    is_small = len(conditions.pairs) <= _AT_ONCE_PAIRS and search.bundles.count <= _AT_ONCE
    if limits.seconds is None or is_small:
        return search.run()
    return _within(search, limits.seconds)


def _within(search: Search, seconds: float) -> LayerOrder | NoOrder:
    """The same search in a process of its own, ended when the time is over (a solver cannot be interrupted)."""
    import multiprocessing

    context = multiprocessing.get_context("fork")
    receive, send = context.Pipe(duplex=False)

    def work() -> None:
        search.progress = None  # the terminal is not this process's
        found = search.run()
        send.send(found.above.first_above if isinstance(found, LayerOrder) else found.triples)

    worker = context.Process(target=work, daemon=True)
    worker.start()
    try:
        send.close()
        if not receive.poll(seconds):
            raise LimitReached("seconds", f"{seconds:g}", "the search for a layer order was not finished")
        try:
            answer = receive.recv()
        except EOFError:
            raise RuntimeError("the search for a layer order ended without an answer") from None
    finally:
        worker.kill()
        worker.join()
    if answer.dtype == bool:
        return order_of_relation(search.conditions.overlaps, Above(search.conditions.pairs, answer))
    return NoOrder(search.conditions, answer)
