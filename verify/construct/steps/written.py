"""Simple folds as a recipe: each through two ends of its creases, with a mark on the side that moves."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from itertools import combinations, permutations
from typing import Any, NamedTuple

import numpy as np

from verify.construct.coordinates.written import exact_texts
from verify.construct.steps.folds import PartlyFolded, after, lies_on, start_of
from verify.construct.steps.panels import DIRECTIONS, PanelFold, Panels
from verify.exact.plane import Point, length
from verify.folding.foldmap import FoldMap
from verify.folding.paper import Paper, State
from verify.folding.stack import LayerOrder, order_of_stack
from verify.pattern.document import Document
from verify.pattern.limits import Limits
from verify.pattern.names import Names
from verify.pattern.recipe import Recipe, recipe_on
from verify.pattern.subdivision import EdgeKind, Subdivision


class NotWritten(Exception):
    """A fold turns parts that lie on each other in a circle, and no number of layers at one place says which."""


class _Part(NamedTuple):
    """Panels that turn in one step of the recipe, as the step's key `layers` says it, and the mark `moves`."""

    turning: frozenset[int]
    layers: str | int
    moves: int


def recipe_of(document: Document, panels: Panels, folds: Iterable[PanelFold]) -> Recipe:
    """The recipe of these folds of a document's panels. Raises `NotWritten`.

    A fold whose parts no single step can name becomes several with the same effect (D6 of the theory).
    """
    s, state = panels.s, start_of(panels)
    named = {place: name for name, place in reversed(s.drawing.places.items())}
    names = Names(named, document.points, "c", exact_texts)
    steps: list[dict[str, Any]] = []
    upside_down = False
    for fold in folds:
        # as the paper lies before hands; the search keeps face 0 front up
        way = fold.direction if not upside_down else DIRECTIONS[fold.direction == "over"]
        one_fold = _OneFold(panels, state, fold)
        for part in one_fold.parts():
            one, two, mark = (names.of(s.vertices[v]) for v in (*one_fold.ends(part.turning, names), part.moves))
            step: dict[str, Any] = {"fold": {"through": [one, two]}, "moves": mark}
            if way == "behind":
                step["direction"] = way
            if part.layers != "all":
                step["layers"] = part.layers
            steps.append(step)
        upside_down ^= 0 in fold.moved
        state = after(panels, state, fold)
    drawn = {n for c in document.creases for n in (c.start, c.end)}
    lines = (document.outline, *document.holes, *document.loops, *document.paths)
    kept = {n for step in steps for n in (*step["fold"]["through"], step["moves"])}.union(*lines)
    points = {n: p for n, p in document.points.items() if n in kept or n not in drawn}
    return recipe_on(replace(document, points=points, creases=()), steps, names.made)


def order_after(panels: Panels, folds: Iterable[PanelFold]) -> LayerOrder:
    """The layer order to which these folds lead."""
    state = start_of(panels)
    for fold in folds:
        state = after(panels, state, fold)
    return order_of_stack(panels.lying(state.folded).overlaps, tuple(panels.faces_of(state.stack)))


def folds_exactly(panels: Panels, folds: Iterable[PanelFold], folded: FoldMap) -> bool:
    """Whether a folded recipe has just the pattern's creases, each as it is drawn (`either`: as the folds have it)."""
    s, order = panels.s, order_after(panels, folds)
    kinds = {i: order.assignment(i) for i, e in enumerate(s.edges) if e.is_fold}
    if any(s.edges[i].kind not in ("either", kind) for i, kind in kinds.items()):
        return False
    others = {i: e.kind for i, e in enumerate(folded.subdivision.edges)}
    return _creases(s, kinds) == _creases(folded.subdivision, others)


def _creases(s: Subdivision, kinds: Mapping[int, EdgeKind]) -> set[tuple[str, frozenset[Point]]]:
    """The straight creases of mountain and of valley edges, by their ends."""
    found: set[tuple[str, frozenset[Point]]] = set()
    for kind in ("mountain", "valley"):
        rows = s.rows([i for i, its in kinds.items() if its == kind], across=True)
        found |= {(kind, frozenset(s.vertices[v] for v in ends)) for ends, _ in rows}
    return found


class _OneFold:
    """One fold of panels, on the `paper` before it. `marks`: vertices beyond the line on panels that turn, named ones
    first, with their panel.
    """

    def __init__(self, panels: Panels, state: PartlyFolded, fold: PanelFold) -> None:
        self.panels, self.state, self.fold = panels, state, fold
        self.lying = panels.lying(state.folded)
        o, there, s = self.lying.overlaps, self.lying.fold_map, panels.s
        self.paper = Paper(s, Limits())
        self.paper.states = [State(list(there.images), list(there.turned), panels.faces_of(state.stack))]
        signs: list[int] = (o.sides(fold.line)[o.spot_of] * fold.side).tolist()
        self.movable = {f for f, loop in enumerate(s.faces) if any(signs[v] > 0 for v in loop)}
        self.layer, self.flap = self.paper.layers(), self.paper.hanging(self.movable, signs)
        beyond: dict[int, int] = {}
        for p in sorted(fold.moved):
            for v in (v for f in panels.faces[p] for v in s.faces[f]):
                if signs[v] > 0:
                    beyond.setdefault(v, p)
        names = s.drawing.names
        self.marks = dict(sorted(beyond.items(), key=lambda item: (s.vertices[item[0]] not in names, item[0])))

    def ends(self, turning: frozenset[int], names: Names) -> tuple[int, int]:
        """Two ends of creases that a step makes, in different places: named ones first, then the farthest apart."""
        s, images = self.panels.s, self.paper.now.images
        mine = [h.edge for h in self.panels.hinges if h.edge in self.fold.bent and {h.one, h.two} & turning]
        vertices = sorted({v for i in mine for v in s.edges[i].ends})
        return max(
            ((u, v) for u, v in combinations(vertices, 2) if images[u] != images[v]),
            key=lambda ends: (sum(s.vertices[v] in names.known for v in ends), length(*(images[v] for v in ends))),
        )

    def parts(self) -> Iterator[_Part]:
        """Its steps: one where all layers turn, one flap, or so many layers at a mark; else one for each part."""
        fold = self.fold
        if self.movable == set(self.panels.faces_of(fold.moved)):
            yield _Part(fold.moved, "all", next(iter(self.marks)))
            return
        whole = self._named(fold.moved)
        if whole is not None:
            yield whole
            return
        for turning in self._top_down():
            part = self._named(turning)
            if part is None:
                what = "a fold turns flaps that hold each other, and no number of layers at one place names them"
                raise NotWritten(what)
            yield part

    def _named(self, turning: frozenset[int]) -> _Part | None:
        """The panels as a step names them: a flap by a mark on it, or so many layers at a mark; None if it cannot."""
        flaps = {self.flap[f] for f in self.panels.faces_of(turning)}
        if len(flaps) == 1:
            return _Part(turning, "flap", next(v for v, p in self.marks.items() if p in turning))
        for v in self.marks:
            counted = self.paper.counted(self.movable, self.paper.now.images[v], self.fold.direction, self.layer)
            for layers, faces in enumerate(counted, start=1):
                if {self.flap[f] for f in faces} == flaps:
                    return _Part(turning, layers, v)
        return None

    def _top_down(self) -> Iterator[frozenset[int]]:
        """The flaps, those first on which no other lies; flaps that lie on each other in a circle together."""
        import networkx as nx  # slow to load

        flaps = self.fold.flaps
        on = lies_on(self.lying, self.state, self.fold.direction)
        graph = nx.DiGraph()
        graph.add_nodes_from(range(len(flaps)))
        pairs = permutations(range(len(flaps)), 2)
        graph.add_edges_from((one, two) for one, two in pairs if on[np.ix_(list(flaps[one]), list(flaps[two]))].any())
        condensed = nx.condensation(graph)
        for part in nx.topological_sort(condensed):
            yield frozenset().union(*(flaps[n] for n in condensed.nodes[part]["members"]))
