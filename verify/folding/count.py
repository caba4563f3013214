"""Counting: assignments valid at every vertex, assignments that fold, and layer orders. Exact or not at all.

One face is held front up, so that mirror states count separately (as in OEIS A000136 and A001415, for strips and maps
of stamps). Every crease must fold.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations, pairwise
from math import comb, prod
from pathlib import Path
from typing import Literal

import numpy as np
from pysat.solvers import Solver

from verify.folding.bundles import Bundles, Triples, clauses_of_even, transitivity_clauses
from verify.folding.common import CommonPoints
from verify.folding.crossing import Conditions, crossing_conditions
from verify.folding.foldmap import fold_map
from verify.folding.insertion import Asked, Pair, Pile, Wandering, assignments_of_pile, count_stacks, pile
from verify.folding.overlaps import Overlaps
from verify.folding.pairs import Above
from verify.folding.stack import LayerOrder, order_of_relation
from verify.folding.sweep import Sweep, sweep_over
from verify.folding.vertex import Letter, VertexReport, foldable_assignments, vertex_reports
from verify.pattern.arrangement import subdivide
from verify.pattern.components import components
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.pattern.limits import Clock, LimitReached, Limits, Progress
from verify.pattern.recipe import load_any
from verify.pattern.subdivision import Subdivision

_PROPAGATOR = "glucose4"
_STATES = 2_000_000
_TRIPLES = 2_000_000
_FEW_STACKS = 3_000_000  # so many are sooner met one by one than their assignments asked for
_BARREN = 200  # dead ends in a row, past which the solver is asked whether a branch holds any order
_CONFLICTS = 2_000  # that the solver may run into before the time is looked at


@dataclass(frozen=True)
class Count:
    """Exact counts for a pattern; None where a declared limit came first (`reached` says which).

    `at_vertices`: assignments of the folds, agreeing with the drawing, that fold at every vertex by itself. `folding`:
    those that fold as a whole. `orders`: layer orders of all of these together.
    """

    at_vertices: int | None
    folding: int | None
    orders: int | None
    reached: tuple[str, ...] = ()


def count(document: Document | str | Path, limits: Limits = Limits(), progress: Progress | None = None) -> Count:
    """Count the assignments and layer orders of a pattern document (or the file of one).

    >>> from verify.pattern.document import Crease
    >>> count(Document(points={"a": ("0", "0"), "b": ("3", "0"), "c": ("3", "1"), "d": ("0", "1"),
    ...     "e": ("1", "0"), "f": ("1", "1"), "g": ("2", "0"), "h": ("2", "1")}, outline=("a", "b", "c", "d"),
    ...     creases=(Crease("e", "f", "either"), Crease("g", "h", "either"))))
    Count(at_vertices=4, folding=4, orders=6, reached=())

    Raises `Malformed`. What is past a limit is None, never a guess.
    """
    document = read_pattern(document)
    try:
        subdivision = subdivide(draw(document, limits), limits)
    except LimitReached as limit:
        return Count(None, None, None, (str(limit),))
    folded = fold_map(subdivision)
    if not folded.exists:
        return Count(0, 0, 0)
    in_time = Clock(limits.seconds, "counting was not finished")
    reached: list[str] = []

    def within_limits(number: Callable[[], int]) -> int | None:
        try:
            return number()
        except LimitReached as limit:
            reached.append(str(limit))
            return None

    at_vertices = within_limits(lambda: count_at_vertices(subdivision, vertex_reports(subdivision), in_time))
    orders = folding = None
    try:
        parts = parts_of(crossing_conditions(Overlaps(folded), limits), in_time)
    except LimitReached as limit:
        reached.append(str(limit))
    else:
        if progress:
            progress(f"counting layer orders in {len(parts):,} parts")
        orders = within_limits(lambda: prod(part.orders(limits.orders, in_time) for part in parts))
        if orders is not None:
            folding = within_limits(lambda: prod(part.assignments(limits.assignments, in_time) for part in parts))
    return Count(at_vertices, folding, orders, tuple(dict.fromkeys(reached)))


def read_pattern(document: Document | str | Path) -> Document:
    """The pattern, or the one of a file. Raises `Malformed`, also for a recipe."""
    return load_any(document).as_pattern("a pattern (creaseproof fold RECIPE -o PATTERN writes one)")


def count_at_vertices(
    subdivision: Subdivision, reports: list[VertexReport], in_time: Callable[[], None] = Clock(None, "")
) -> int:
    """Assignments that fold at each vertex by itself, by sweeping over the vertices. Raises `LimitReached` for too wide
    a front, and what `in_time` raises.
    """
    touching = Counter(edge for report in reports for edge in report.folds)
    places = subdivision.vertices
    held: list[int] = []  # the folds whose letters a state has, in this order
    states: Counter[tuple[Letter, ...]] = Counter({(): 1})
    for report in sorted(reports, key=lambda r: (places[r.vertex].x, places[r.vertex].y)):
        if report.kawasaki is False:
            return 0
        touching.subtract(report.folds)
        known = [(k, held.index(edge)) for k, edge in enumerate(report.folds) if edge in held]
        kept = [i for i, edge in enumerate(held) if touching[edge]]
        fresh = [k for k, edge in enumerate(report.folds) if touching[edge] and edge not in held]
        allowed: dict[tuple[Letter, ...], Counter[tuple[Letter, ...]]] = defaultdict(Counter)
        for letters in foldable_assignments(report.angles, report.letters, closed=not report.on_border):
            allowed[tuple([letters[k] for k, _ in known])][tuple([letters[k] for k in fresh])] += 1
        following: Counter[tuple[Letter, ...]] = Counter()
        for state, number in states.items():
            in_time()
            mine = tuple([state[i] for i in kept])
            for more, ways in allowed.get(tuple([state[i] for _, i in known]), {}).items():
                following[mine + more] += number * ways
        held = [*(held[i] for i in kept), *(report.folds[k] for k in fresh)]
        states = following
        if len(states) > _STATES:
            raise LimitReached(
                "assignments held at once", f"{_STATES:,}", "the pattern is too wide to count at its vertices"
            )
    return sum(states.values())


@dataclass(frozen=True)
class Part:
    """Variables that clauses join, those of creases among them; `pile`: as a pile, where it is one."""

    clauses: Sequence[Sequence[int]]
    variables: list[int]
    creases: list[int]
    pile: Pile | None

    @cached_property
    def _sweep(self) -> Sweep:
        return sweep_over(self.clauses, self.variables)

    def orders(self, most: int, in_time: Callable[[], None]) -> int:
        """The number of layer orders of this part: of a pile by insertion, else by a sweep where that keeps little,
        else by exhausting the search tree. Raises `LimitReached` past `most`, and what `in_time` raises.
        """
        number = None
        if self.pile is None:
            number = self._sweep.count(None, in_time)
        else:
            with suppress(Wandering):
                number = count_stacks(self.pile, most, in_time)
        return number if number is not None else self._searched(self.variables, "orders", most, in_time)

    def assignments(self, most: int, in_time: Callable[[], None]) -> int:
        """The number of assignments of the creases that have a solution. Raises as `orders` does."""
        number = None
        if self.pile is None:
            number = self._sweep.count(self.creases, in_time)
        else:
            with suppress(Wandering):
                number = assignments_of_pile(self.pile, _FEW_STACKS, in_time)
        return number if number is not None else self._searched(self.creases, "assignments", most, in_time)

    def _searched(
        self, variables: list[int], what: Literal["orders", "assignments"], most: int, in_time: Callable[[], None]
    ) -> int:
        """How many assignments of these variables have a solution, met one by one."""
        number = 0
        for _ in _solutions(self.clauses, variables, in_time):
            number += 1
            if number > most:
                more = {"orders": "layer orders", "assignments": "assignments that fold"}[what]
                raise LimitReached(what, f"{most:,}", f"there are more {more} than that")
        return number


def parts_of(conditions: Conditions, in_time: Callable[[], None] = Clock(None, "")) -> list[Part]:
    """The parts that no condition joins, whose counts multiply. Raises `LimitReached` for too many faces over each
    other, and what `in_time` raises.
    """
    bundles = Bundles(len(conditions.pairs), conditions.equal)
    triples = _triples(conditions)
    clauses = _clauses(conditions, bundles, triples, in_time)
    if clauses is None:
        return [_NOTHING]
    with Solver(name=_PROPAGATOR, bootstrap_with=clauses) as solver:
        fits, implied = solver.propagate()
    return list(_parts(conditions, bundles, clauses, set(implied), triples)) if fits else [_NOTHING]


def layer_orders(conditions: Conditions, in_time: Callable[[], None] = Clock(None, "")) -> Iterator[LayerOrder]:
    """Every layer order of a folded pattern, one after the other. Raises as `parts_of` does."""
    bundles = Bundles(len(conditions.pairs), conditions.equal)
    clauses = _clauses(conditions, bundles, _triples(conditions), in_time)
    if clauses is None:
        return
    literal = bundles.of_pairs.tolist()
    for solution in _solutions(clauses, list(range(1, bundles.count + 1)), in_time):
        holds = np.array([x in solution for x in literal], dtype=bool)
        yield order_of_relation(conditions.overlaps, Above(conditions.pairs, holds))


def _clauses(
    conditions: Conditions, bundles: Bundles, triples: Triples, in_time: Callable[[], None]
) -> list[list[int]] | None:
    """All conditions over the bundles' variables; None if they contradict each other at once."""
    if bundles.conflict is not None:
        return None
    in_time()
    clauses = [[x] for x in sorted(set(bundles.of(conditions.fixed).tolist()))]
    clauses += clauses_of_even(bundles.of(conditions.even))
    clauses += transitivity_clauses(conditions, bundles, triples)
    in_time()
    return clauses if all(clauses) else None


_NOTHING = Part([[1], [-1]], [1], [], None)


def _parts(
    conditions: Conditions, bundles: Bundles, clauses: list[list[int]], known: set[int], triples: Triples
) -> Iterator[Part]:
    """The variables that are not `known`, in groups that no clause joins."""
    left = [tuple(sorted([x for x in c if -x not in known])) for c in clauses if known.isdisjoint(c)]
    open_clauses = list(dict.fromkeys(left))
    joined = [(abs(x), abs(y)) for clause in open_clauses for x, y in pairwise(clause)]
    _, *groups = components(bundles.count + 1, joined)  # there is no variable 0
    groups = [group for group in groups if group[0] not in known and -group[0] not in known]
    asked = Asked(conditions)
    of_pair = np.abs(bundles.of_pairs)
    creases = set(of_pair[np.array(list(asked.folds), dtype=np.intp) - 1].tolist())
    part_of = {v: i for i, part in enumerate(groups) for v in part}
    inside: dict[int, list[tuple[int, ...]]] = defaultdict(list)
    for clause in open_clauses:
        inside[part_of[abs(clause[0])]].append(clause)
    panel_of = np.array(conditions.overlaps.subdivision.panel_of, dtype=np.intp)
    first, second = panel_of[conditions.pairs.first].tolist(), panel_of[conditions.pairs.second].tolist()
    panels_of: dict[int, dict[int, Pair]] = defaultdict(dict)
    literals_of: dict[int, dict[Pair, set[int]]] = defaultdict(lambda: defaultdict(set))
    for number, x in enumerate(bundles.of_pairs.tolist()):
        i, one, two = part_of.get(abs(x), -1), first[number], second[number]
        panels_of[i][number + 1] = one, two
        literals_of[i][min(one, two), max(one, two)].add(x if one < two else -x)
    triples_of: dict[int, set[tuple[int, ...]]] = defaultdict(set)
    numbers = conditions.pairs.numbers(*triples[:, :2].T)
    for v, triple in zip(of_pair[numbers].tolist(), np.sort(panel_of[triples], axis=1).tolist(), strict=True):
        triples_of[part_of.get(v, -1)].add(tuple(triple))
    for i, variables in enumerate(groups):
        panels = {panel for pair in literals_of[i] for panel in pair}
        alike = all(len(literals) == 1 for literals in literals_of[i].values())
        piled = sum(panels.issuperset(triple) for triple in triples_of[i])
        whole = alike and len(literals_of[i]) == comb(len(panels), 2) and piled == comb(len(panels), 3)
        yield Part(
            inside[i],
            variables,
            sorted(creases.intersection(variables)),
            pile(panels_of[i], asked) if whole else None,
        )


def _solutions(
    clauses: Sequence[Sequence[int]], variables: list[int], in_time: Callable[[], None]
) -> Iterator[set[int]]:
    """Every assignment of these variables that has a solution, and what follows from it, by exhausting the tree."""
    barren = 0
    with Solver(name=_PROPAGATOR, bootstrap_with=clauses) as solver:
        todo: list[list[int]] = [[]]
        while todo:
            in_time()
            assumed = todo.pop()
            fits, implied = solver.propagate(assumptions=assumed)
            if not fits or (barren > _BARREN and not _satisfiable(solver, assumed, in_time)):
                barren += 1
                continue
            fixed = set(implied) | set(assumed)
            branch = next((v for v in variables if v not in fixed and -v not in fixed), None)
            if branch is not None:
                todo += [[*assumed, branch], [*assumed, -branch]]
            elif _satisfiable(solver, assumed, in_time):
                barren = 0
                yield fixed


def _satisfiable(solver: Solver, assumed: list[int], in_time: Callable[[], None]) -> bool:
    """Whether any order has these literals; what the solver learns on the way it keeps."""
    found = None
    while found is None:
        in_time()
        solver.conf_budget(_CONFLICTS)
        found = solver.solve_limited(assumptions=assumed)
    return bool(found)


def _triples(conditions: Conditions) -> Triples:
    """All triples of faces with a common point."""
    pairs = conditions.pairs
    neighbours = [set(pairs.over(f).tolist()) for f in range(pairs.faces)]
    triples: list[tuple[int, int, int]] = []
    for f in range(pairs.faces):
        later = sorted(g for g in neighbours[f] if g > f)
        triples += [(f, g, h) for g, h in combinations(later, 2) if h in neighbours[g]]
        if len(triples) > _TRIPLES:
            raise LimitReached(
                "triples of faces", f"{_TRIPLES:,}", "too many panels lie over each other to count orders"
            )
    return CommonPoints(conditions.overlaps).having(np.array(triples, dtype=np.int32).reshape(-1, 3))
