"""Counting: assignments valid at every vertex, assignments that fold, and layer orders. Exact or not at all.

One face is held with its front up, so mirror states count separately (as in OEIS A000136 and
A001415 for strips and maps of stamps). Every crease must fold.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from itertools import combinations
from pathlib import Path

import numpy as np
from pysat.solvers import Solver

from verify.folding.crossing import Conditions, crossing_conditions
from verify.folding.foldmap import fold_map
from verify.folding.order import Bundles, CommonPoints, even_clauses, transitivity_clauses
from verify.folding.overlaps import Overlaps
from verify.folding.vertex import VertexReport, foldable_assignments, vertex_reports
from verify.pattern.document import Document, Malformed
from verify.pattern.drawing import draw
from verify.pattern.limits import Clock, LimitReached, Limits
from verify.pattern.recipe import Recipe, load_any
from verify.pattern.subdivision import Subdivision, subdivide

_PROPAGATOR = "glucose4"
_STATES = 2_000_000
_TRIPLES = 2_000_000
_EVERY = 4_096
_BARREN = 200  # dead ends in a row, past which the solver is asked whether a branch holds any order
_CONFLICTS = 2_000  # that the solver may run into before the time is looked at


@dataclass(frozen=True)
class Count:
    """Exact counts for a pattern; None where a declared limit came first (`reached` says which).

    `at_vertices`: assignments of the folds (agreeing with the drawing) that fold at every vertex by itself.
    `folding`: those that fold as a whole. `orders`: layer orders of all of them together.
    """

    at_vertices: int | None
    folding: int | None
    orders: int | None
    reached: tuple[str, ...] = ()


def count(
    document: Document | Recipe | str | Path, limits: Limits = Limits(), progress: Callable[[str], None] | None = None
) -> Count:
    """Count the assignments and layer orders of a pattern document (or the file of one).

    >>> from verify.pattern.document import Crease
    >>> count(Document(points={"a": ("0", "0"), "b": ("3", "0"), "c": ("3", "1"), "d": ("0", "1"),
    ...     "e": ("1", "0"), "f": ("1", "1"), "g": ("2", "0"), "h": ("2", "1")}, outline=("a", "b", "c", "d"),
    ...     creases=(Crease("e", "f", "either"), Crease("g", "h", "either"))))
    Count(at_vertices=4, folding=4, orders=6, reached=())

    Raises `Malformed`. What is past a limit is None, never a guess.
    """
    if isinstance(document, str | Path):
        document = load_any(document)
    if isinstance(document, Recipe):
        expected = "a pattern (creaseproof fold RECIPE -o PATTERN writes one)"
        raise Malformed(document.source, "format", "a recipe", expected)
    try:
        subdivision = subdivide(draw(document, limits), limits)
    except LimitReached as limit:
        return Count(None, None, None, (str(limit),))
    reached: list[str] = []
    at_vertices = folding = orders = None
    in_time = Clock(limits.seconds, "counting was not finished")
    folded = fold_map(subdivision)
    if not folded.exists:
        return Count(0, 0, 0)
    try:
        at_vertices = count_at_vertices(subdivision, vertex_reports(subdivision), in_time)
    except LimitReached as limit:
        reached.append(str(limit))
    try:
        folding, orders = count_orders(crossing_conditions(Overlaps(folded)), limits.orders, progress, in_time)
    except LimitReached as limit:
        reached.append(str(limit))
    return Count(at_vertices, folding, orders, tuple(dict.fromkeys(reached)))


def count_at_vertices(
    subdivision: Subdivision, reports: list[VertexReport], in_time: Callable[[], None] = Clock(None, "")
) -> int:
    """Assignments of all folds that fold at each vertex taken alone, by sweeping over the vertices.

    Raises `LimitReached` when the sweep's front grows past its bound, or from `in_time`, which is called on the way.
    """
    touching: dict[int, int] = defaultdict(int)
    for report in reports:
        for edge in report.folds:
            touching[edge] += 1
    places = subdivision.vertices
    states: Counter[tuple[tuple[int, str], ...]] = Counter({(): 1})
    for report in sorted(reports, key=lambda r: (places[r.vertex].x, places[r.vertex].y)):
        if report.kawasaki is False:
            return 0
        allowed = list(foldable_assignments(report.angles, report.letters, closed=not report.on_border))
        for edge in report.folds:
            touching[edge] -= 1
        following: Counter[tuple[tuple[int, str], ...]] = Counter()
        for state, number in states.items():
            in_time()
            known = dict(state)
            for letters in allowed:
                pairs = list(zip(report.folds, letters, strict=True))
                if all(known.get(edge, letter) == letter for edge, letter in pairs):
                    merged = known | dict(pairs)
                    following[tuple(sorted((e, x) for e, x in merged.items() if touching[e]))] += number
        states = following
        if len(states) > _STATES:
            raise LimitReached(
                "assignments held at once", f"{_STATES:,}", "the pattern is too wide to count at its vertices"
            )
    return sum(states.values())


def count_orders(
    conditions: Conditions,
    most: int = Limits().orders,
    progress: Callable[[str], None] | None = None,
    in_time: Callable[[], None] = Clock(None, ""),
) -> tuple[int, int]:
    """The number of assignments that fold and of layer orders, by exhausting the search tree.

    Raises `LimitReached` past `most` orders, or from `in_time`, which is called on the way.
    """
    in_time()
    bundles = Bundles(len(conditions.pairs), conditions.equal)
    if bundles.conflict is not None:
        return 0, 0
    clauses = [[int(x)] for x in np.unique(bundles.of(conditions.fixed))]
    for row in np.unique(bundles.of(conditions.even), axis=0).tolist():
        clauses += even_clauses(row)
    clauses += _transitivity(conditions, bundles)
    in_time()
    if not all(clauses):
        return 0, 0
    s = conditions.overlaps.subdivision
    folds = [conditions.literal(e.left, e.right) for e in s.edges if e.is_fold]
    crease_variables = sorted({abs(int(x)) for x in bundles.of(np.array(folds, dtype=np.int64))}) if folds else []
    order = crease_variables + sorted(set(range(1, bundles.count + 1)) - set(crease_variables))
    creases = set(crease_variables)
    orders = barren = 0
    assignments: set[frozenset[int]] = set()
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
            branch = next((v for v in order if v not in fixed and -v not in fixed), None)
            if branch is not None:
                todo += [[*assumed, branch], [*assumed, -branch]]
                continue
            orders, barren = orders + 1, 0
            assignments.add(frozenset(x for x in fixed if abs(x) in creases))
            if orders > most:
                raise LimitReached("orders", f"{most:,}", "there are more layer orders than that")
            if progress and orders % _EVERY == 0:
                progress(f"counted {orders:,} layer orders")
    return len(assignments), orders


def _satisfiable(solver: Solver, assumed: list[int], in_time: Callable[[], None]) -> bool:
    """Whether any order has these literals; what the solver learns on the way it keeps."""
    found = None
    while found is None:
        in_time()
        solver.conf_budget(_CONFLICTS)
        found = solver.solve_limited(assumptions=assumed)
    return bool(found)


def _transitivity(conditions: Conditions, bundles: Bundles) -> list[list[int]]:
    """Clauses against every circle of three faces with a common point."""
    table = conditions.overlaps.overlapping
    faces = len(table)
    neighbours = [set(np.flatnonzero(row).tolist()) for row in table]
    triples = []
    for f in range(faces):
        later = sorted(g for g in neighbours[f] if g > f)
        triples += [(f, g, h) for g, h in combinations(later, 2) if h in neighbours[g]]
        if len(triples) > _TRIPLES:
            raise LimitReached(
                "triples of faces", f"{_TRIPLES:,}", "too many faces lie over each other to count orders"
            )
    if not triples:
        return []
    return transitivity_clauses(
        conditions, bundles, CommonPoints(conditions.overlaps).having(np.array(triples, dtype=np.intp))
    )
