"""The layer order: which face lies over which, found by SAT.

Equal literals are merged first, so that the solver sees one variable for each
bundle of pairs that must agree. Transitivity is added only where a
proposed order runs in a circle over three faces that share an interior point; faces without a common point
may lie in a circle (as the flaps of a twist do). Each round the solver is told to try first what agrees with a
stack near its last proposal.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import product
from math import prod
from typing import Any

import numpy as np
from numpy.typing import NDArray
from pysat.solvers import Solver

from verify.exact.plane import Point, orientation
from verify.folding.crossing import Conditions
from verify.folding.overlaps import Overlaps, Table
from verify.pattern.limits import LimitReached, Limits

SOLVER = "cadical153"
Progress = Callable[[str], None]
Triples = NDArray[np.intp]

_FEW_BUNDLES = 200
_ROWS_AT_ONCE = 1 << 14
# the signs of the clauses that forbid an odd number of four literals
_FORBIDDEN = np.array([signs for signs in product((1, -1), repeat=4) if prod(signs) < 0], dtype=np.int64)
_TRIPLES_A_ROUND = 60_000
_ENTRIES_AT_ONCE = 1 << 23


@dataclass(frozen=True)
class LayerOrder:
    """A layer order that satisfies every condition.

    `above[f, g]`: face f lies over face g where they overlap. `stack` lists the faces from
    bottom to top; `exceptions` are the overlapping pairs (f, g) with f below g in the
    stack and above it in the paper (empty unless faces lie in a circle).
    """

    overlaps: Overlaps
    above: Table
    stack: tuple[int, ...]
    exceptions: tuple[tuple[int, int], ...]

    def assignment(self, edge: int) -> str:
        """How a fold edge is folded in this order: `mountain` or `valley`."""
        overlaps = self.overlaps
        e = overlaps.subdivision.edges[edge]
        f, g = (e.left, e.right) if overlaps.fold_map.turned[e.left] else (e.right, e.left)
        return "valley" if self.above[f, g] else "mountain"


@dataclass(frozen=True)
class NoOrder:
    """No layer order exists. `triples` are the transitivity conditions that were needed so far."""

    conditions: Conditions
    triples: Triples


@dataclass
class CommonPoints:
    """Remembers points inside many faces at once, to tell which triples of faces have a common point."""

    overlaps: Overlaps
    points: list[Point] = field(default_factory=list)
    inside: list[NDArray[np.bool_]] = field(default_factory=list)
    empty: set[tuple[int, int, int]] = field(default_factory=set)

    def having(self, triples: Triples) -> Triples:
        """Those of the triples whose open images have a common point. Exact."""
        known = np.zeros(len(triples), dtype=bool)
        for mask in self.inside:
            known |= mask[triples].all(axis=1)
        for k in np.flatnonzero(~known):
            if not known[k] and self._find(triples[k]):
                known |= self.inside[-1][triples].all(axis=1)
        return triples[known]

    def point(self, triple: Sequence[int]) -> Point:
        """A common point of a triple that `having` let through."""
        for place, mask in zip(self.points, self.inside, strict=True):
            if all(mask[f] for f in triple):
                return place
        raise KeyError(tuple(triple))

    def _find(self, triple: NDArray[np.intp]) -> bool:
        one, two, three = sorted(int(f) for f in triple)
        if (one, two, three) in self.empty:
            return False
        place = self.overlaps.common_point((one, two, three))
        if place is None:
            self.empty.add((one, two, three))
            return False
        self.points.append(place)
        self.inside.append(self._containing(place))
        return True

    def _containing(self, place: Point) -> NDArray[np.bool_]:
        overlaps = self.overlaps
        signs = np.array(
            [orientation(overlaps.spots[a], overlaps.spots[b], place) for a, b in overlaps.line_spots], dtype=np.int8
        )
        mask = np.ones(len(overlaps.subdivision.faces), dtype=bool)
        for face, numbers in enumerate(overlaps.subdivision.face_edges):
            mask[face] = all(signs[overlaps.edge_line[e]] == overlaps.face_side(e, face) for e in numbers)
        return mask


class Bundles:
    """Variables merged by the equalities among literals: `of(literal)` is the bundle's literal.

    `conflict` is a variable that would have to equal its own negation, or None.
    """

    def __init__(self, count: int, equal: NDArray[np.int64]) -> None:
        label = np.arange(2 * count)
        a, b = _nodes(equal[:, 0]), _nodes(equal[:, 1])
        one, two = np.concatenate([a, a ^ 1]), np.concatenate([b, b ^ 1])
        while True:
            low = np.minimum(label[one], label[two])
            before = label.copy()
            np.minimum.at(label, label[one], low)
            np.minimum.at(label, label[two], low)
            label = label[label]
            if np.array_equal(before, label):
                break
        positive, negative = label[0::2], label[1::2]
        clash = np.flatnonzero(positive == negative)
        self.conflict = int(clash[0]) + 1 if len(clash) else None
        roots, bundle = np.unique(np.minimum(positive, negative), return_inverse=True)
        self.count = len(roots)
        self._literal = np.where(positive <= negative, 1, -1) * (bundle.reshape(-1) + 1)

    def of(self, literals: NDArray[np.int64]) -> NDArray[np.int64]:
        result: NDArray[np.int64] = np.sign(literals) * self._literal[np.abs(literals) - 1]
        return result


def _nodes(literals: NDArray[np.int64]) -> NDArray[np.int64]:
    result: NDArray[np.int64] = 2 * (np.abs(literals) - 1) + (literals < 0)
    return result


def even_clauses(literals: Iterable[int]) -> list[list[int]]:
    """Clauses that say: an even number of these literals holds. Repeated ones cancel; [[]] if impossible."""
    odd: set[int] = set()
    parity = 0
    for x in literals:
        variable = abs(x)
        parity ^= x < 0
        odd ^= {variable}
    variables = sorted(odd)
    clauses = []
    for bits in range(1 << len(variables)):
        if (bits.bit_count() + parity) % 2 == 1:
            clauses.append([-v if bits >> i & 1 else v for i, v in enumerate(variables)])
    return clauses


def clauses_of_even(rows: NDArray[np.int64]) -> Iterator[list[int]]:
    """For each row of four literals the clauses that say that an even number holds; [] among them if impossible."""
    rows = np.sort(rows, axis=1)
    rows = rows[_first_of_each(rows)]
    variables = np.sort(np.abs(rows), axis=1)
    repeated = (variables[:, 1:] == variables[:, :-1]).any(axis=1)
    for row in rows[repeated].tolist():
        yield from even_clauses(row)
    yield from _lists((rows[~repeated, None, :] * _FORBIDDEN).reshape(-1, 4))


def _lists(rows: NDArray[np.int64]) -> Iterator[list[int]]:
    """The rows as lists, few at a time: millions of them at once would keep the garbage collector busy."""
    for i in range(0, len(rows), _ROWS_AT_ONCE):
        yield from rows[i : i + _ROWS_AT_ONCE].tolist()


def _first_of_each(rows: NDArray[Any]) -> NDArray[np.intp]:
    """Where the different rows stand, each once."""
    order = np.lexsort(rows.T)
    ordered = rows[order]
    new = np.append(True, (ordered[1:] != ordered[:-1]).any(axis=1))[: len(rows)]
    first: NDArray[np.intp] = order[new]
    return first


class Search:
    """One search for a layer order, round after round."""

    def __init__(self, conditions: Conditions, limits: Limits, progress: Progress | None) -> None:
        self.conditions, self.limits, self.progress = conditions, limits, progress
        self.common = CommonPoints(conditions.overlaps)
        self.added: list[Triples] = []

    def run(self) -> LayerOrder | NoOrder:
        c = self.conditions
        bundles = Bundles(len(c.pairs), c.equal)
        if bundles.conflict is not None:
            return self._none()
        with Solver(name=SOLVER) as solver:
            solver.append_formula([[int(x)] for x in np.unique(bundles.of(c.fixed))])
            solver.append_formula(clauses_of_even(bundles.of(c.even)))
            if self._mostly_open(bundles):
                self._add(solver, bundles, self.common.having(_beside_folds(c)))
            while True:
                if not solver.solve():
                    return self._none()
                model = np.zeros(bundles.count + 1, dtype=bool)
                for x in solver.get_model() or []:
                    if x > 0 and x <= bundles.count:
                        model[x] = True
                above = self._relation(bundles, model)
                triples = self._circles(above)
                if not len(triples):
                    return order_of_relation(c.overlaps, above)
                self._add(solver, bundles, triples)
                solver.set_phases(self._preferred(bundles, _near_stack(above)))
                if self.progress:
                    known = sum(len(t) for t in self.added)
                    self.progress(f"layer order: {known:,} transitivity conditions")

    def _mostly_open(self, bundles: Bundles) -> bool:
        """Whether parities alone would leave the solver to wander: a large pattern, fewer than half its folds
        marked.
        """
        folds = sum(e.is_fold for e in self.conditions.overlaps.subdivision.edges)
        return bundles.count > _FEW_BUNDLES and 2 * len(self.conditions.fixed) < folds

    def _add(self, solver: Solver, bundles: Bundles, triples: Triples) -> None:
        self.added.append(triples)
        solver.append_formula(transitivity_clauses(self.conditions, bundles, triples))

    def _none(self) -> NoOrder:
        none = np.zeros((0, 3), dtype=np.intp)
        return NoOrder(self.conditions, np.concatenate([none, *self.added]))

    def _relation(self, bundles: Bundles, model: NDArray[np.bool_]) -> Table:
        c = self.conditions
        literal = bundles.of(np.arange(1, len(c.pairs) + 1))
        holds = model[np.abs(literal)] == (literal > 0)
        above = np.zeros(c.variable.shape, dtype=bool)
        f, g = c.pairs[:, 0], c.pairs[:, 1]
        above[f, g] = holds
        above[g, f] = ~holds
        return above

    def _preferred(self, bundles: Bundles, rank: NDArray[np.intp]) -> list[int]:
        """For each bundle the literal with which most of its pairs agree with the ranks of the faces."""
        pairs = self.conditions.pairs
        literal = bundles.of(np.arange(1, len(pairs) + 1))
        votes = np.where(rank[pairs[:, 0]] > rank[pairs[:, 1]], 1, -1) * np.sign(literal)
        count = np.bincount(np.abs(literal), weights=votes, minlength=bundles.count + 1)[1:]
        result: list[int] = (np.where(count > 0, 1, -1) * np.arange(1, bundles.count + 1)).tolist()
        return result

    def _circles(self, above: Table) -> Triples:
        """Triples f over g over h over f with a common point; [] only if there is none.

        All of them if they are few, else one or two for each two faces that close a circle: a little
        about every pair leads the solver sooner to an order than everything about some.
        """
        weight = above.astype(np.float32)
        between = weight @ weight
        ends = np.argwhere(np.triu((between > 0) & above.T))
        if between[ends[:, 0], ends[:, 1]].sum() > _TRIPLES_A_ROUND:
            kept = self.common.having(_outermost(above, ends))
            if len(kept):
                return kept
        found: list[Triples] = []
        total = 0
        for f, h in ends:
            middles = np.flatnonzero(above[f, f:] & above[f:, h]) + f
            triple = np.empty((len(middles), 3), dtype=np.intp)
            triple[:, 0], triple[:, 1], triple[:, 2] = f, middles, h
            found.append(triple)
            total += len(triple)
            if total > _TRIPLES_A_ROUND:
                kept = self.common.having(np.concatenate(found))
                if len(kept):
                    return kept
                found, total = [], 0
        if not found:
            return np.zeros((0, 3), dtype=np.intp)
        return self.common.having(np.concatenate(found))


def _beside_folds(conditions: Conditions) -> Triples:
    """The two faces of each fold with every third face that overlaps both."""
    s = conditions.overlaps.subdivision
    table = conditions.overlaps.overlapping
    none = np.zeros((0, 3), dtype=np.intp)
    found = [none]
    for f, g in sorted({(min(e.left, e.right), max(e.left, e.right)) for e in s.edges if e.is_fold}):
        third = np.flatnonzero(table[f] & table[g])
        triples = np.empty((len(third), 3), dtype=np.intp)
        triples[:, 0], triples[:, 1], triples[:, 2] = f, g, third
        found.append(triples)
    rows = np.sort(np.concatenate(found), axis=1)
    return rows[_first_of_each(rows)]


def _outermost(above: Table, ends: NDArray[np.intp]) -> Triples:
    """For each two faces (f, h) the first and the last face g with f over g over h; there is one."""
    step = max(1, _ENTRIES_AT_ONCE // len(above))
    found = []
    for i in range(0, len(ends), step):
        f, h = ends[i : i + step].T
        between = above[f] & above[:, h].T
        first, last = between.argmax(axis=1), len(above) - 1 - between[:, ::-1].argmax(axis=1)
        found += [np.stack([f, g, h], axis=1) for g in (first, last)]
    return np.concatenate(found)


def _near_stack(above: Table) -> NDArray[np.intp]:
    """Ranks of the faces, bottom to top, against few pairs of the relation: the next is always one with fewest
    below.
    """
    balance = above.sum(axis=1) - above.sum(axis=0).astype(np.float64)
    rank = np.empty(len(above), dtype=np.intp)
    for place in range(len(above)):
        f = int(balance.argmin())
        rank[f] = place
        balance += above[f].astype(np.float64) - above[:, f]
        balance[f] = np.inf
    return rank


def transitivity_clauses(conditions: Conditions, bundles: Bundles, triples: Triples) -> Iterator[list[int]]:
    """No circle over any of the triples, either way round; in the bundles' variables, each clause once."""
    f, g, h = triples.T
    circle = np.stack([_literals(conditions, f, g), _literals(conditions, g, h), _literals(conditions, h, f)], axis=1)
    one_way = bundles.of(circle)
    rows = np.sort(np.concatenate([one_way, -one_way]), axis=1)
    a, b, c = rows.T
    rows = rows[(a != -b) & (b != -c) & (a != -c)]
    rows = rows[_first_of_each(rows)]
    repeated = (rows[:, 1:] == rows[:, :-1]).any(axis=1)
    for row in rows[repeated].tolist():
        yield sorted(set(row))
    yield from _lists(rows[~repeated])


def _literals(c: Conditions, above: NDArray[np.intp], below: NDArray[np.intp]) -> NDArray[np.int64]:
    result: NDArray[np.int64] = np.where(above < below, 1, -1) * c.variable[above, below]
    return result


def find_order(
    conditions: Conditions, limits: Limits = Limits(), progress: Progress | None = None
) -> LayerOrder | NoOrder:
    """A layer order that meets every crossing condition, or `NoOrder` if there is none.

    Mountain and valley folds keep their order; `either` folds get one. Raises
    `LimitReached` past `limits.seconds`. What it returns is only a proposal until the kernel has accepted it.
    """
    if limits.seconds is None:
        return Search(conditions, limits, progress).run()
    return _within(conditions, limits, limits.seconds)


def _within(conditions: Conditions, limits: Limits, seconds: float) -> LayerOrder | NoOrder:
    """The same search in a process of its own, ended when the time is over (a solver cannot be interrupted)."""
    import multiprocessing

    context = multiprocessing.get_context("fork")
    receive, send = context.Pipe(duplex=False)

    def work() -> None:
        found = Search(conditions, limits, None).run()
        send.send(found.above if isinstance(found, LayerOrder) else found.triples)

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
    return order_of_relation(conditions.overlaps, answer) if answer.dtype == bool else NoOrder(conditions, answer)


def order_of_stack(overlaps: Overlaps, stack: tuple[int, ...]) -> LayerOrder:
    """The layer order of faces that are known to lie in this stack, bottom to top."""
    rank = np.empty(len(stack), dtype=np.intp)
    rank[list(stack)] = np.arange(len(stack))
    above: Table = overlaps.overlapping & (rank[:, None] > rank[None, :])
    return LayerOrder(overlaps, above, stack, ())


def order_of_relation(overlaps: Overlaps, above: Table) -> LayerOrder:
    """The layer order in which `above` says what lies over what: a stack with as few exceptions as come easily."""
    count = len(above)
    stack: list[int] = []
    below = above.sum(axis=1)
    ready = sorted((int(f) for f in np.flatnonzero(below == 0)), reverse=True)
    while ready:
        f = ready.pop()
        stack.append(f)
        over = np.flatnonzero(above[:, f])
        below[over] -= 1
        ready.extend(int(g) for g in over[below[over] == 0])
    if len(stack) == count:
        return LayerOrder(overlaps, above, tuple(stack), ())
    import networkx as nx  # seldom needed, and slow to load

    graph = nx.DiGraph()
    graph.add_nodes_from(range(count))
    graph.add_edges_from((int(g), int(f)) for f, g in np.argwhere(above))
    stack = []
    for part in nx.topological_sort(condensed := nx.condensation(graph)):
        stack += _unwind(graph, set(condensed.nodes[part]["members"]))
    rank = np.empty(count, dtype=np.intp)
    rank[stack] = np.arange(count)
    over, under = np.nonzero(above)
    against = rank[over] < rank[under]
    pairs = sorted((int(a), int(b)) for a, b in zip(over[against], under[against], strict=True))
    return LayerOrder(overlaps, above, tuple(stack), tuple(pairs))


def _unwind(graph: Any, members: set[int]) -> list[int]:
    """The members of a circle bottom to top, against few of its edges (a greedy feedback order)."""
    low: list[int] = []
    high: list[int] = []
    left = graph.subgraph(members).copy()
    while left:
        sources = [f for f in left if left.in_degree(f) == 0]
        sinks = [f for f in left if left.out_degree(f) == 0]
        if sources:
            f = min(sources)
            low.append(f)
        elif sinks:
            f = min(sinks)
            high.append(f)
        else:
            f = max(left, key=lambda x: (left.out_degree(x) - left.in_degree(x), -x))
            low.append(f)
        left.remove_node(f)
    return low + high[::-1]
