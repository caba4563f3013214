"""Why a set of creases has no layer order, as parts of the set that no pattern can have.

A contradiction among the conditions of a pattern is about some of its faces. Take these, and as few others as join them
to one piece of paper, slit along all creases but those that the conditions name or that join the faces: already that
piece has no layer order. So neither has any pattern that has the same creases on it: the same perpendiculars among
those that were used, and none of the others that run through its faces.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from verify.construct.choices import Refusal
from verify.construct.creases import Creases
from verify.construct.perpendiculars import floats
from verify.folding.bundles import Bundles
from verify.folding.crossing import Conditions
from verify.folding.order import NoOrder
from verify.pattern.subdivision import Subdivision

_CLEAR = 1e-9  # of the sheet's size: what runs through a face for less is taken to touch it
_MOST = 8  # contradictions of one pattern

Floats = NDArray[np.float64]


def refusals(creases: Creases, none: NoOrder) -> list[Refusal]:
    """Parts of the set of creases that no pattern with a layer order has, each from another chain of equalities from a
    literal to its contrary; none if there are no such chains.
    """
    chains = _Chains(none.conditions)
    if not len(chains.clashing):
        return []
    paper = _Paper(creases, none.conditions.overlaps.subdivision)
    found: dict[Refusal, None] = {}
    for rows in chains.short():
        places = none.conditions.equal_from[rows].tolist()
        edges = {e for row in places for e in row[:2] if e >= 0}
        found[paper.refusal(edges, {face for *_, face in places if face >= 0})] = None
    # one that says more than another replaces it
    return [r for r in found if not any(r != o and o.taken <= r.taken and o.left <= r.left for o in found)]


class _Chains:
    """The equalities among literals of a pattern's conditions, and the pairs (`clashing`) that they join to their
    contraries.
    """

    def __init__(self, conditions: Conditions) -> None:
        self.size = len(conditions.pairs)
        self.clashing = Bundles(self.size, conditions.equal).clashing
        rows = np.arange(len(conditions.equal))
        x, y = conditions.equal.T
        starts, ends, through = (
            np.concatenate(parts) for parts in ((x, y, -x, -y), (y, x, -y, -x), (rows, rows, rows, rows))
        )
        order = np.argsort(starts, kind="stable")
        self.ends, self.through = ends[order], through[order]
        self.first = np.searchsorted(starts[order], np.arange(-self.size, self.size + 2))

    def short(self) -> Iterator[list[int]]:
        """The rows of a shortest chain for some of the pairs."""
        for pair in self.clashing[:: max(1, len(self.clashing) // _MOST)][:_MOST].tolist():
            yield self._way(pair, -pair)

    def _way(self, start: int, goal: int) -> list[int]:
        """The rows of a shortest chain of equalities from one literal to another."""
        came = np.full(2 * self.size + 1, -1)  # by literal: the place in `ends` of the step to it
        seen = np.zeros(2 * self.size + 1, dtype=bool)
        front = np.array([start]) + self.size
        goal += self.size
        seen[front] = True
        while len(front) and not seen[goal]:
            low, high = self.first[front], self.first[front + 1]
            steps = np.repeat(low - np.concatenate([[0], np.cumsum(high - low)[:-1]]), high - low)
            steps += np.arange(len(steps))
            there = self.ends[steps] + self.size
            fresh = ~seen[there]
            front, which = np.unique(there[fresh], return_index=True)
            seen[front] = True
            came[front] = steps[fresh][which]
        if not seen[goal]:
            raise RuntimeError("literals of one bundle are not joined")
        here, rows = goal, []
        while came[here] >= 0:
            step = int(came[here])
            rows.append(int(self.through[step]))
            here = int(np.searchsorted(self.first, step, side="right")) - 1
        return rows


class _Paper:
    """The faces of a pattern, the perpendiculars along their edges, and those left out that run through them."""

    def __init__(self, creases: Creases, subdivision: Subdivision) -> None:
        import networkx as nx  # slow to load

        self.creases, self.subdivision = creases, subdivision
        left = {*range(len(creases.ways))} - {*creases.chosen}
        pieces = [(number, pair) for number in sorted(left) for pair in pairwise(creases.ways[number])]
        self.numbers = np.array([number for number, _ in pieces], dtype=int)
        self.ends: Floats = np.array([[floats(place) for place in pair] for _, pair in pieces]).reshape(-1, 2, 2)
        self.least, self.most = self.ends.min(axis=1, initial=np.inf), self.ends.max(axis=1, initial=-np.inf)
        places = np.array([floats(place) for place in subdivision.vertices])
        self.clear = _CLEAR * float(np.ptp(places, axis=0).max())
        self.through = [self._through(places[list(face)]) for face in subdivision.faces]
        self.graph = nx.Graph()
        for number, edge in enumerate(subdivision.edges):
            if edge.left >= 0 and edge.right >= 0:
                cost = 0.01 + (len(self.through[edge.left]) + len(self.through[edge.right])) / 2
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
