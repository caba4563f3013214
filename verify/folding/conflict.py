"""Why there is no layer order: a smallest set of reasons, and a derivation of the contradiction.

A reason is one crossing condition with its place, the direction of one fold, or transitivity at one common point.
"Smallest" means that no reason of the set can be left out (not that no other set is smaller).
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable
from typing import NamedTuple

import numpy as np

from verify.exact.plane import Point
from verify.exact.ragged import distinct
from verify.folding.bundles import even_clauses
from verify.folding.common import CommonPoints
from verify.folding.crossing import Conditions
from verify.folding.order import NoOrder
from verify.pattern.limits import Progress

_SOLVER = "glucose4"
_TRIES = 6
_SMALL = 3_000
_SEED = 17


class Reason(NamedTuple):
    """One fact that every layer order must respect, with `clauses` over the pair variables.

    Of one form: `edges` = (fold,) fixes the order of its faces, as drawn; `edges` = (e, g) share a segment; `edges` =
    (e,) runs through `face`; `faces` are three with an interior `point` in common.
    """

    edges: tuple[int, ...]
    face: int | None
    faces: tuple[int, ...]
    point: Point | None
    clauses: tuple[tuple[int, ...], ...]

    @property
    def is_fold(self) -> bool:
        return len(self.edges) == 1 and self.face is None


class Conflict(NamedTuple):
    """A contradiction: reasons, and clauses that follow from earlier ones by unit propagation; the last is ()."""

    conditions: Conditions
    reasons: tuple[Reason, ...]
    steps: tuple[tuple[int, ...], ...]


def explain_conflict(none: NoOrder, progress: Progress | None = None) -> Conflict:
    """A minimal set of reasons for which no layer order exists, with a derivation."""
    reasons = list(all_reasons(none))
    if progress:
        progress(f"no layer order; finding the reasons among {len(reasons):,}")
    core = _minimal([r.clauses for r in reasons])
    common = CommonPoints(none.conditions.overlaps)
    chosen = [reasons[i] for i in sorted(core)]
    chosen = [r._replace(point=common.point(r.faces)) if r.faces else r for r in chosen]
    return Conflict(none.conditions, tuple(chosen), tuple(_derive([c for r in chosen for c in r.clauses])))


def all_reasons(none: NoOrder) -> Iterable[Reason]:
    """Every condition of the pattern as a reason, and the transitivity that the search needed, without its points."""
    c = none.conditions
    for literal, edge in zip(c.fixed.tolist(), c.fixed_edges.tolist(), strict=True):
        yield Reason((edge,), None, (), None, ((literal,),))
    for (a, b), (e, g, face) in zip(c.equal.tolist(), c.equal_from.tolist(), strict=True):
        clauses = ((-a, b), (a, -b))
        yield Reason((e,), face, (), None, clauses) if g < 0 else Reason((e, g), None, (), None, clauses)
    for row, (e, g) in zip(c.even.tolist(), c.even_from.tolist(), strict=True):
        yield Reason((e, g), None, (), None, tuple(tuple(x) for x in even_clauses(row)))
    for f, g, h in distinct(np.sort(none.triples, axis=1), axis=0).tolist():
        x, y, z = c.literal(f, g), c.literal(g, h), c.literal(h, f)
        yield Reason((), None, (f, g, h), None, ((-x, -y, -z), (x, y, z)))


def _minimal(groups: list[tuple[tuple[int, ...], ...]]) -> list[int]:
    """Group numbers of an unsatisfiable set from which none can be left out."""
    top = max(abs(x) for clauses in groups for clause in clauses for x in clause)
    from pysat.solvers import Solver  # slow to load

    with Solver(name=_SOLVER) as solver:
        for number, clauses in enumerate(groups):
            for clause in clauses:
                solver.add_clause([*clause, -(top + 1 + number)])

        def core(numbers: list[int]) -> list[int] | None:
            if solver.solve(assumptions=[top + 1 + n for n in numbers]):
                return None
            return [x - top - 1 for x in solver.get_core() or []]

        everything = core(list(range(len(groups))))
        if everything is None:
            raise RuntimeError("the reasons collected do not contradict each other")
        best = _shrink(core, everything)
        if len(groups) <= _SMALL:
            shuffle = random.Random(_SEED)
            for _ in range(_TRIES):
                numbers = list(range(len(groups)))
                shuffle.shuffle(numbers)
                found = core(numbers)
                if found is not None:
                    shuffle.shuffle(found)
                    best = min(best, _shrink(core, found), key=len)
        return best


def _shrink(core: Callable[[list[int]], list[int] | None], numbers: list[int]) -> list[int]:
    """Leave out one after the other as long as the rest contradicts itself."""
    needed: list[int] = []
    rest = list(numbers)
    while rest:
        left_out = rest.pop()
        found = core(needed + rest)
        if found is None:
            needed.append(left_out)
        else:
            kept = set(found)
            rest = [n for n in rest if n in kept]
    return needed


def _derive(clauses: list[tuple[int, ...]]) -> list[tuple[int, ...]]:
    """Clauses that lead to the empty one by reverse unit propagation, from the solver's proof."""
    from pysat.solvers import Solver

    with Solver(name=_SOLVER, with_proof=True) as solver:
        for clause in clauses:
            solver.add_clause(list(clause))
        if solver.solve():
            raise RuntimeError("the reasons do not contradict each other")
        lines = solver.get_proof() or []
    steps: list[tuple[int, ...]] = []
    for line in lines:
        if line.startswith("d"):
            continue
        step = tuple(int(x) for x in line.split()[:-1])
        if not step:
            break
        steps.append(step)
    return [*_needed(clauses, steps), ()]


def _needed(clauses: list[tuple[int, ...]], steps: list[tuple[int, ...]]) -> list[tuple[int, ...]]:
    """Drop steps without which the rest still derives the contradiction (short derivations only)."""
    if len(steps) > 60:
        return steps
    kept = list(steps)
    for step in reversed(steps):
        trial = [s for s in kept if s is not step]
        known = list(clauses)
        for s in (*trial, ()):
            if not follows(known, s):
                break
            known.append(s)
        else:
            kept = trial
    return kept


def follows(clauses: list[tuple[int, ...]], step: tuple[int, ...]) -> bool:
    """Whether denying the step leads to a contradiction by unit propagation alone."""
    false = set(step)
    changed = True
    while changed:
        changed = False
        for clause in clauses:
            open_ = [x for x in clause if x not in false]
            if any(-x in false for x in open_):
                continue
            if not open_:
                return True
            if len(open_) == 1:
                false.add(-open_[0])
                changed = True
    return False
