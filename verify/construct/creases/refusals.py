"""Why a set of creases has no layer order, as parts of the set that no pattern can have.

A contradiction among the conditions of a pattern is about some of its faces. Take these, and as few others as join them
to one piece of paper, slit along all creases but those that the conditions name or that join the faces: already that
piece has no layer order. So neither has any pattern that has the same creases on it: the same perpendiculars among
those that were used, and none of the others that run through its faces.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from verify.construct.creases.choices import Refusal
from verify.construct.creases.creases import Creases
from verify.construct.skeleton.perpendiculars import floats
from verify.exact.ragged import distinct
from verify.folding.bundles import Bundles, even_clauses
from verify.folding.order import NoOrder
from verify.pattern.limits import Clock
from verify.pattern.subdivision import Subdivision

if TYPE_CHECKING:
    from pysat.solvers import Solver

_SOLVER = "glucose4"
_CLEAR = 1e-9  # of the sheet's size: what runs through a face for less is taken to touch it
_MOST = 8  # contradictions of one pattern
_CONFLICTS = 5_000  # of the solver, for one question: parities can be hard

Floats = NDArray[np.float64]


def refusals(creases: Creases, none: NoOrder, clock: Clock = Clock(None, "")) -> list[Refusal]:
    """Parts of the set of creases that no pattern with a layer order has, from different contradictions: as many as are
    found in time, perhaps none.
    """
    paper = _Paper(creases, none.conditions.overlaps.subdivision)
    places = _Conditions(none, paper)
    cores = places.circles() if places.bundles.conflict is not None else places.contradictions(clock)
    found: dict[Refusal, None] = {}
    for core in cores:
        found[paper.refusal(core.edges, core.faces)] = None
        if clock.left == 0:
            break
    # one that says more than another replaces it
    return [r for r in found if not any(r != o and o.taken <= r.taken and o.left <= r.left for o in found)]


@dataclass
class _Core:
    """The edges and faces that a contradiction is about."""

    edges: set[int] = field(default_factory=set)
    faces: set[int] = field(default_factory=set)


class _Conditions:
    """The conditions of a pattern, as equalities among literals that join them into bundles, and what must hold of
    these.
    """

    def __init__(self, none: NoOrder, paper: _Paper) -> None:
        c = none.conditions
        self.none, self.conditions, self.paper = none, c, paper
        self.bundles = Bundles(len(c.pairs), c.equal)
        rows = np.arange(len(c.equal))
        x, y = c.equal.T
        starts, ends, through = (
            np.concatenate(parts) for parts in ((x, y, -x, -y), (y, x, -y, -x), (rows, rows, rows, rows))
        )
        order = np.argsort(starts, kind="stable")
        self.size = len(c.pairs)
        self.ends, self.through = ends[order], through[order]
        self.first = np.searchsorted(starts[order], np.arange(-self.size, self.size + 2))

    def circles(self) -> Iterator[_Core]:
        """Chains of equalities from a literal to its contrary."""
        weight = self.paper.weight
        clashing = self.bundles.clashing.tolist()
        pairs = self.conditions.pairs
        clashing.sort(key=lambda i: weight[pairs.first[i - 1]] + weight[pairs.second[i - 1]])
        spread = clashing[:: max(1, len(clashing) // _MOST)][:_MOST]
        for pair in dict.fromkeys([*clashing[:2], *spread]):
            yield self._core_of(self._way([pair], {-pair}))

    def _way(self, start: Iterable[int], goal: set[int]) -> list[int]:
        """The rows of a shortest chain of equalities from one of some literals to one of others."""
        came = np.full(2 * self.size + 1, -1)  # by literal: the place in `ends` of the step to it
        seen = np.zeros(2 * self.size + 1, dtype=bool)
        front = np.array(sorted(start)) + self.size
        seen[front] = True
        stop = np.zeros(2 * self.size + 1, dtype=bool)
        stop[np.array(sorted(goal)) + self.size] = True
        while len(front) and not stop[front].any():
            low, high = self.first[front], self.first[front + 1]
            steps = np.repeat(low - np.concatenate([[0], np.cumsum(high - low)[:-1]]), high - low)
            steps += np.arange(len(steps))
            there = self.ends[steps] + self.size
            fresh = ~seen[there]
            front, which = np.unique(there[fresh], return_index=True)
            seen[front] = True
            came[front] = steps[fresh][which]
        if not len(front):
            raise RuntimeError("literals of one bundle are not joined")
        here = int(front[stop[front]][0])
        rows = []
        while came[here] >= 0:
            step = int(came[here])
            rows.append(int(self.through[step]))
            here = int(np.searchsorted(self.first, step, side="right")) - 1
        return rows

    def _core_of(self, rows: Iterable[int]) -> _Core:
        core = _Core()
        for row in rows:
            e, g, f = self.conditions.equal_from[row].tolist()
            core.edges |= {e} | ({g} if g >= 0 else set())
            core.faces |= {f} if f >= 0 else set()
        return core

    def contradictions(self, clock: Clock) -> Iterator[_Core]:
        """Smallest sets of conditions on bundles that contradict each other, with the equalities that they rest on;
        they share no condition.
        """
        c = self.conditions
        literals: list[tuple[int, ...]] = [tuple(row) for row in c.even.tolist()]
        places: list[tuple[set[int], set[int]]] = [({e, g}, set()) for e, g in c.even_from.tolist()]
        triples = distinct(np.sort(self.none.triples, axis=1), axis=0)
        f, g, h = triples.T
        round_three = np.stack([c.literals(f, g), c.literals(g, h), c.literals(h, f)], axis=1)
        literals += [tuple(row) for row in round_three.tolist()]
        places += [(set(), {*faces}) for faces in triples.tolist()]
        weight = self.paper.weight
        sizes = [
            sum(weight[f] for e in edges for f in self.paper.beside(e)) + sum(weight[f] for f in faces)
            for edges, faces in places
        ]
        from pysat.solvers import Solver  # slow to load

        with Solver(name=_SOLVER) as solver:
            top = self.bundles.count + 1
            for number, x in enumerate([*self.bundles.of(c.even).tolist(), *self.bundles.of(round_three).tolist()]):
                clauses = even_clauses(x) if len(x) == 4 else [x, [-v for v in x]]
                for clause in clauses:
                    solver.add_clause([*clause, -(top + number)])
            left = set(range(len(literals)))
            for _ in range(_MOST):
                core = _contradiction(solver, top, left)
                if core is None:
                    return
                core = _shrunk(solver, top, sorted(core, key=lambda i: sizes[i]), clock)
                left -= {*core}
                yield self._with_equalities([literals[i] for i in core], [places[i] for i in core])

    def _with_equalities(self, literals: list[tuple[int, ...]], places: list[tuple[set[int], set[int]]]) -> _Core:
        """Joined are, in each bundle, the literals that the conditions name."""
        core = _Core()
        for edges, faces in places:
            core.edges |= edges
            core.faces |= faces
        named: dict[int, set[int]] = {}
        for x in {x for row in literals for x in row}:
            bundle = int(self.bundles.of(np.array([x]))[0])
            named.setdefault(abs(bundle), set()).add(x if bundle > 0 else -x)
        for alike in named.values():
            joined, *rest = sorted(alike)
            part, waiting = {joined}, {*rest}
            while waiting:
                rows = self._way(part, waiting)
                more = self._core_of(rows)
                core.edges |= more.edges
                core.faces |= more.faces
                reached = {abs(v) for row in rows for v in self.conditions.equal[row].tolist()}
                part |= {v for x in reached for v in (x, -x) if int(self.bundles.of(np.array([v]))[0]) > 0}
                waiting -= part
        return core


def _contradiction(solver: Solver, top: int, numbers: Iterable[int]) -> list[int] | None:
    """Some of the conditions that contradict each other; None if there are none, or that is hard to say."""
    solver.conf_budget(_CONFLICTS)
    if solver.solve_limited(assumptions=[top + n for n in sorted(numbers)]) is not False:
        return None
    return [x - top for x in solver.get_core() or []]


def _shrunk(solver: Solver, top: int, numbers: list[int], clock: Clock) -> list[int]:
    """Without what can be left out, the last ones first, as far as the time goes."""
    needed: list[int] = []
    rest = list(numbers)
    while rest and clock.left != 0:
        out = rest.pop()
        core = _contradiction(solver, top, needed + rest)
        if core is None:
            needed.append(out)
        else:
            kept = {*core}
            rest = [n for n in rest if n in kept]
    return needed + rest


class _Paper:
    """The faces of a pattern, the perpendiculars along their edges, and those left out that run through them."""

    def __init__(self, creases: Creases, subdivision: Subdivision) -> None:
        import networkx as nx  # slow to load

        self.creases, self.subdivision = creases, subdivision
        left = [(number, p) for number, p in enumerate(creases.perpendiculars) if number not in creases.chosen]
        pieces = [(number, pair) for number, p in left if p.end is not None for pair in pairwise(p.rough)]
        self.numbers = np.array([number for number, _ in pieces], dtype=int)
        self.ends: Floats = np.array([pair for _, pair in pieces]).reshape(-1, 2, 2)
        self.least, self.most = self.ends.min(axis=1, initial=np.inf), self.ends.max(axis=1, initial=-np.inf)
        places = np.array([floats(place) for place in subdivision.vertices])
        self.clear = _CLEAR * float(np.ptp(places, axis=0).max())
        self.through = [self._through(places[list(face)]) for face in subdivision.faces]
        self.weight = [len(numbers) for numbers in self.through]
        self.graph = nx.Graph()
        for number, edge in enumerate(subdivision.edges):
            if edge.left >= 0 and edge.right >= 0:
                cost = 0.01 + (self.weight[edge.left] + self.weight[edge.right]) / 2
                cost += self._owner(number) is not None
                if not self.graph.has_edge(edge.left, edge.right) or (
                    cost < self.graph.edges[edge.left, edge.right]["weight"]
                ):
                    self.graph.add_edge(edge.left, edge.right, weight=cost, number=number)

    def _owner(self, edge: int) -> int | None:
        """The perpendicular that is folded along an edge."""
        e = self.subdivision.edges[edge]
        return self.creases.owners[e.crease] if e.is_fold and e.crease is not None else None

    def beside(self, edge: int) -> list[int]:
        """The faces on both sides of an edge."""
        e = self.subdivision.edges[edge]
        return [f for f in (e.left, e.right) if f >= 0]

    def refusal(self, named: Iterable[int], about: Iterable[int]) -> Refusal:
        """What a contradiction that names some edges, and is about some faces besides, rests on."""
        import networkx as nx  # slow to load

        edges = {*named}
        faces = {*about}.union(*(self.beside(e) for e in edges))
        together = nx.Graph()
        together.add_nodes_from(faces)
        for number in edges:
            edge = self.subdivision.edges[number]
            if edge.left >= 0 and edge.right >= 0:
                together.add_edge(edge.left, edge.right)
        while not nx.is_connected(together):
            part = nx.node_connected_component(together, next(iter(together)))
            away, ways = nx.multi_source_dijkstra(self.graph, part)
            nearest = min((f for f in together if f not in part), key=lambda f: (away[f], f))
            way = ways[nearest]
            for f, g in pairwise(way):
                together.add_edge(f, g)
                edges.add(self.graph.edges[f, g]["number"])
        taken = {self._owner(number) for number in edges} - {None}
        left = frozenset[int]().union(*(self.through[face] for face in together))
        return Refusal(frozenset(x for x in taken if x is not None), left)

    def _through(self, face: Floats) -> frozenset[int]:
        """The perpendiculars left out that run through a face, or along its edge, for more than the least length."""
        low, high = face.min(axis=0) - self.clear, face.max(axis=0) + self.clear
        near_it = ((self.least < high) & (self.most > low)).all(axis=1)
        a, b = self.ends[near_it, 0], self.ends[near_it, 1]
        low, high = np.zeros(len(a)), np.ones(len(a))  # the part of each piece that is in the face
        for u, v in zip(face, np.roll(face, -1, axis=0), strict=True):
            d = (v - u) / np.hypot(*(v - u))
            from_a, from_b = (d[0] * (p - u)[:, 1] - d[1] * (p - u)[:, 0] for p in (a, b))
            with np.errstate(divide="ignore", invalid="ignore"):
                at = from_a / (from_a - from_b)
            along = np.abs(from_a - from_b) < self.clear  # the edge: in, or out
            low = np.where(~along & (from_a < from_b), np.maximum(low, at), low)
            high = np.where(~along & (from_a > from_b), np.minimum(high, at), high)
            high = np.where(along & (from_a < -self.clear), -1.0, high)
        inside = (high - low) * np.hypot(*(b - a).T) > self.clear
        return frozenset(self.numbers[near_it][inside].tolist())
