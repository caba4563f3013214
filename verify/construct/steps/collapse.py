"""From the flat sheet to a folded state by stages that all lie flat.

Each stage folds a group of creases for good, as drawn, and leaves the others open; after it the paper lies flat, in a
layer order of its own. Groups are as small as possible: of a group that is folded no part alone lies flat. A group of
one straight crease is a fold; larger groups are collapsed together (a twist is one group).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise, product
from typing import TYPE_CHECKING, Literal, get_args

from verify.construct.steps.panels import with_folded
from verify.cutting.hands import StraightCrease, straight_creases
from verify.exact.plane import length
from verify.folding.crossing import crossing_conditions
from verify.folding.foldmap import IDENTITY, FoldMap, Reflections, alternating_product, fold_map
from verify.folding.order import SOLVER, find_order
from verify.folding.overlaps import Overlaps
from verify.folding.stack import LayerOrder
from verify.pattern.limits import Clock, Limits
from verify.pattern.subdivision import Subdivision

if TYPE_CHECKING:
    from pysat.solvers import Solver

_MOST_FOLDS_AT_A_VERTEX = 12
_GROUPS_TRIED = 60


PrecreaseKind = Literal["valley", "both", "mountain"]


@dataclass(frozen=True)
class Precrease:
    """A straight crease to be made beforehand, its ends' names, its length (document's unit): a `valley` from the
    front, a `mountain` from the back, or `both` in turn.
    """

    crease: StraightCrease
    ends: tuple[str, str]
    kind: PrecreaseKind
    length: float


@dataclass(frozen=True)
class Stage:
    """Creases folded together: fold `edges`, and the layer `order` after it; in its fold map,
    `order.overlaps.fold_map`, creases that are still open are flat.
    """

    edges: tuple[int, ...]
    order: LayerOrder

    @property
    def folded(self) -> FoldMap:
        """The fold map after this stage."""
        return self.order.overlaps.fold_map

    @cached_property
    def creases(self) -> tuple[StraightCrease, ...]:
        """The straight creases that are folded in this stage."""
        return tuple(straight_creases(with_folded(self.folded.subdivision, self.edges)))

    @property
    def names(self) -> list[tuple[str, str]]:
        """The names of the ends of these creases."""
        return [_end_names(self.folded.subdivision, crease) for crease in self.creases]


@dataclass(frozen=True)
class Stages:
    """What to crease beforehand, and how to collapse, stage after stage up to the folded state; both in order."""

    precreases: tuple[Precrease, ...]
    stages: tuple[Stage, ...]


def stages_to(order: LayerOrder, limits: Limits = Limits()) -> Stages:
    """An order in which to crease a pattern and to collapse it, by stages that all lie flat, to this layer order.

    Not proved: that hands get from each to the next without opening others, and, where vertices have over 12 folds or
    60 groups were tried, that there are no finer ones. Raises `LimitReached`.
    """
    s = order.overlaps.subdivision
    edges = (replace(e, kind=order.assignment(i)) if e.kind == "either" else e for i, e in enumerate(s.edges))
    assigned = replace(s, edges=tuple(edges))
    return Stages(tuple(_precreases(assigned)), tuple(_Collapse(assigned, order, limits).run()))


def _end_names(s: Subdivision, crease: StraightCrease) -> tuple[str, str]:
    one, two = crease.ends
    return s.name(one), s.name(two)


def _precreases(s: Subdivision) -> list[Precrease]:
    """Valleys from the front first, then the mixed ones, then mountains from the back; long before short."""
    found = []
    for crease in straight_creases(s):
        kinds = {s.edges[i].kind for i in crease.edges}
        kind: PrecreaseKind = "both" if len(kinds) > 1 else "valley" if "valley" in kinds else "mountain"
        one, two = (s.vertices[v] for v in crease.ends)
        found.append(Precrease(crease, _end_names(s, crease), kind, length(one, two)))
    return sorted(found, key=lambda p: (get_args(PrecreaseKind).index(p.kind), -p.length))


class _Collapse:
    """The search for stages: smallest groups that close round every vertex, each with a layer order."""

    def __init__(self, s: Subdivision, order: LayerOrder, limits: Limits) -> None:
        self.s, self.goal, self.limits = s, order, limits
        self.folds = [i for i, e in enumerate(s.edges) if e.is_fold]
        self.variable = {e: n for n, e in enumerate(self.folds, start=1)}
        self.reflections = Reflections(s)
        self.clock = Clock(limits.seconds, "not all stages of the collapse were found")

    def run(self) -> Iterator[Stage]:
        done: frozenset[int] = frozenset()
        from pysat.solvers import Solver  # slow to load

        with Solver(name=SOLVER, bootstrap_with=list(self._closing())) as solver:
            solver.set_phases([-v for v in self.variable.values()])
            while len(done) < len(self.folds):
                stage = self._next(solver, done)
                yield stage
                done |= frozenset(stage.edges)

    def _closing(self) -> Iterator[list[int]]:
        """Clauses: the folded edges at each inner vertex close round it by themselves."""
        for v, around in enumerate(self.s.around):
            here = [e for e in around if e in self.variable]
            if not here or v in self.s.on_border:
                continue
            if len(here) > _MOST_FOLDS_AT_A_VERTEX:
                for a, b in pairwise(here):
                    yield [-self.variable[a], self.variable[b]]
                    yield [self.variable[a], -self.variable[b]]
                continue
            squares = [self.reflections.square(e) for e in here]
            for chosen in product((False, True), repeat=len(here)):
                folded = [q for q, c in zip(squares, chosen, strict=True) if c and q is not None]
                if len(folded) % 2 or alternating_product(folded) != IDENTITY.m:
                    yield [-self.variable[e] if c else self.variable[e] for e, c in zip(here, chosen, strict=True)]

    def _next(self, solver: Solver, done: frozenset[int]) -> Stage:
        """The stage after these folds: a smallest group with a layer order, or all the rest at once."""
        kept = [self.variable[e] for e in done]
        solver.append_formula([[v] for v in kept])
        left = [e for e in self.folds if e not in done]
        selector = solver.nof_vars() + 1
        solver.add_clause([-selector, *(self.variable[e] for e in left)])
        for _ in range(_GROUPS_TRIED):
            self.clock()
            group = self._smallest(solver, selector, left)
            if len(group) == len(left):
                break
            order = self._flat(done | group)
            if order is not None:
                return Stage(tuple(sorted(group)), order)
            wanted = set(group)
            solver.add_clause([-self.variable[e] if e in wanted else self.variable[e] for e in left])
        return Stage(tuple(left), self.goal)

    def _smallest(self, solver: Solver, selector: int, left: Sequence[int]) -> frozenset[int]:
        """A group of the edges left that closes and has no closing part; all of them close."""
        group = frozenset(left)
        fresh = selector
        while True:
            fresh = max(fresh, solver.nof_vars()) + 1
            solver.add_clause([-fresh, *(-self.variable[e] for e in group)])
            outside = [-self.variable[e] for e in left if e not in group]
            if not solver.solve(assumptions=[selector, fresh, *outside]):
                return group
            model = {x for x in solver.get_model() or [] if x > 0}
            group = frozenset(e for e in left if self.variable[e] in model)

    def _flat(self, folded: frozenset[int]) -> LayerOrder | None:
        """A layer order with just these edges folded, each as in the goal; None if there is none."""
        there = fold_map(with_folded(self.s, folded))
        if not there.exists:  # round a hole of the sheet
            return None
        found = find_order(crossing_conditions(Overlaps(there)), replace(self.limits, seconds=None))
        return found if isinstance(found, LayerOrder) else None
