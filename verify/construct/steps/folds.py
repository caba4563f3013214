"""Simple folds of a partly folded pattern: which parts can turn about which line, in each model.

A part that turns is made of *flaps*: panels on one side of the line that hang together there. A flap can turn if it is
joined to the rest along the line alone, by creases that are open and drawn for the way it turns, and if nothing that
stays lies on it.

The models say how many of the layers at the line bend in one fold. They are those of Akitaya, Demaine and Ku (Simple
folding is really hard, 2017), by their names, after Arkin et al. (When can you fold a map?, 2004). What each model says
of the layers that cross the line is our reading, stated in proofs/theory/simple-folds.md.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations, product
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray

from verify.construct.steps.panels import Crossing, Lying, Panels
from verify.pattern.limits import LimitReached
from verify.pattern.subdivision import EdgeKind

Model = Literal[
    "one-layer", "some-layers", "all-layers", "infinite-one-layer", "infinite-some-layers", "infinite-all-layers"
]
MODELS: tuple[Model, ...] = get_args(Model)

WORDS: dict[Model, str] = {
    "one-layer": "simple folds that bend one layer",
    "some-layers": "simple folds of any layers from the top or from below",
    "all-layers": "simple folds that bend all layers where they bend any",
    "infinite-one-layer": "simple folds that bend one layer wherever paper crosses the line",
    "infinite-some-layers": "simple folds that bend at least one layer wherever paper crosses the line",
    "infinite-all-layers": "simple folds that bend every layer that crosses the line",
}

Direction = Literal["over", "behind"]
DIRECTIONS: tuple[Direction, ...] = ("over", "behind")
_MOST_FLAPS = 12


@dataclass(frozen=True)
class PartlyFolded:
    """A partly folded pattern: which edges are folded, and the panels from bottom to top as seen with face 0 front
    up.
    """

    folded: frozenset[int]
    stack: tuple[int, ...]

    @cached_property
    def rank(self) -> NDArray[np.intp]:
        """For each panel how many lie under it in the stack."""
        return np.argsort(self.stack)


@dataclass(frozen=True)
class PanelFold:
    """One simple fold: the `flaps` that turn (each a set of panels) over or behind, about a line that holds the edges
    `bent`.

    `line` and `side` are those of the state's `Lying`. Seen with face 0 front up before the fold.
    """

    line: int
    side: int
    direction: Direction
    flaps: tuple[frozenset[int], ...]
    bent: tuple[int, ...]

    @property
    def moved(self) -> frozenset[int]:
        return frozenset().union(*self.flaps)


def start_of(panels: Panels) -> PartlyFolded:
    """The flat sheet."""
    return PartlyFolded(frozenset(), tuple(range(panels.count)))


def after(state: PartlyFolded, fold: PanelFold) -> PartlyFolded:
    """The paper after a fold, turned so that face 0 lies front up again."""
    moved = fold.moved
    up = [p for p in reversed(state.stack) if p in moved]
    stay = [p for p in state.stack if p not in moved]
    stack = stay + up if fold.direction == "over" else up + stay
    if 0 in moved:
        stack.reverse()
    return PartlyFolded(state.folded | frozenset(fold.bent), tuple(stack))


def same_as(panels: Panels, state: PartlyFolded) -> tuple[frozenset[int], bytes]:
    """What two states have in common exactly if they are the same paper: the folded edges, and which panel lies over
    which.
    """
    return state.folded, np.packbits(lies_on(panels.lying(state.folded), state, "over")).tobytes()


def lies_on(lying: Lying, state: PartlyFolded, direction: Direction) -> NDArray[np.bool_]:
    """[upper, lower]: which panel lies on which, as seen from the side to which the paper turns."""
    rank = state.rank if direction == "over" else -state.rank
    return lying.overlapping & (rank[:, None] > rank[None, :])


def simple_folds(panels: Panels, state: PartlyFolded, model: Model) -> Iterator[PanelFold]:
    """The simple folds of the model that fold open creases as they are drawn: enough of them to make all others of (D2
    of the theory).
    """
    for line in panels.lying(state.folded).open_lines:
        yield from folds_about(panels, state, line, model)


def folds_about(panels: Panels, state: PartlyFolded, line: int, model: Model) -> Iterator[PanelFold]:
    """The same about one line of the folded plane."""
    lying = panels.lying(state.folded)
    sides = lying.sides(line)
    crossings = lying.crossings(line) if model != "some-layers" else []
    for side, direction in product((1, -1), DIRECTIONS):
        yield from _Turning(panels, state, line, side, sides, direction).folds(model, crossings)


class _Turning:
    """The folds about one line, of one of its sides, in one direction.

    `beyond`: the panels on that side; `across`: those that the line runs through. `flaps`: the parts into which those
    beyond hang together; `bent`: the edges on the line by which each hangs; `held`: flaps that cannot turn so.
    """

    def __init__(
        self,
        panels: Panels,
        state: PartlyFolded,
        line: int,
        side: int,
        sides: list[tuple[int, int]],
        direction: Direction,
    ) -> None:
        import networkx as nx  # slow to load

        self.line, self.side, self.direction = line, side, direction
        self.lying = lying = panels.lying(state.folded)
        self.beyond = {p for p, (low, high) in enumerate(sides) if (low if side > 0 else -high) >= 0}
        self.across = {p for p, (low, high) in enumerate(sides) if low < 0 < high}
        # (upper, lower) for each two panels that overlap and of which the lower may turn
        lower = np.isin(np.arange(panels.count), list(self.beyond))
        self.lying_on: list[list[int]] = np.argwhere(lies_on(lying, state, direction) & lower).tolist()
        graph = nx.Graph()
        graph.add_nodes_from(self.beyond)
        graph.add_edges_from((h.one, h.two) for h in panels.hinges if {h.one, h.two} <= self.beyond)
        self.flaps = [frozenset(part) for part in nx.connected_components(graph)]
        self.flap_of = {p: n for n, flap in enumerate(self.flaps) for p in flap}
        self.bent: list[list[int]] = [[] for _ in self.flaps]
        self.held: set[int] = set()
        open_here = {h.edge for h in lying.open_lines[line]}
        for h in panels.hinges:
            for panel in {h.one, h.two} & self.beyond if not {h.one, h.two} <= self.beyond else ():
                n = self.flap_of[panel]
                self.bent[n].append(h.edge)
                if h.edge not in open_here or not self._as_drawn(panels.s.edges[h.edge].kind, h.other(panel)):
                    self.held.add(n)

    def _as_drawn(self, kind: EdgeKind, staying: int) -> bool:
        """Whether an edge is drawn for a fold of this direction, seen from the panel that stays."""
        valley = (self.direction == "over") != self.lying.turned[staying]
        return kind in ("either", "valley" if valley else "mountain")

    def folds(self, model: Model, crossings: list[Crossing]) -> Iterator[PanelFold]:
        """The folds of the model: sets of flaps that nothing holds, each with all that lies on it."""
        smallest = list(dict.fromkeys(self._turnable()))
        if not smallest:
            return
        if model == "one-layer":
            chosen = smallest
        elif model == "some-layers":
            chosen = list(dict.fromkeys([*smallest, frozenset().union(*smallest)]))
        elif model == "infinite-all-layers":
            chosen = [frozenset().union(*smallest)]
        else:
            chosen = sorted(_unions(smallest), key=len)
        found: list[frozenset[int]] = []
        for flaps in chosen:
            bent = {e for n in flaps for e in self.bent[n]}
            if model == "all-layers" and any(other < flaps for other in found):
                continue
            if allows(model, ((len(bent.intersection(c.edges)), c.layers) for c in crossings)):
                found.append(flaps)
                moved = tuple(self.flaps[n] for n in sorted(flaps))
                yield PanelFold(self.line, self.side, self.direction, moved, tuple(sorted(bent)))

    def _turnable(self) -> Iterator[frozenset[int]]:
        """For each flap that nothing holds, it with all flaps that lie on it, on those, and so on."""
        import networkx as nx  # slow to load

        held = self.held | {n for n, edges in enumerate(self.bent) if not edges}
        on = nx.DiGraph()
        on.add_nodes_from(range(len(self.flaps)))
        for upper, lower in self.lying_on:
            n = self.flap_of[lower]
            if upper in self.across:
                held.add(n)
            elif upper in self.flap_of:
                on.add_edge(n, self.flap_of[upper])
        for n in on:
            whole = frozenset({n} | nx.descendants(on, n))
            if not whole & held:
                yield whole


def _unions(sets: list[frozenset[int]]) -> list[frozenset[int]]:
    """All unions of one or more of the sets, each once. Raises `LimitReached` where there are too many sets."""
    if len(sets) > _MOST_FLAPS:
        raise LimitReached("flaps", f"{_MOST_FLAPS}", f"{len(sets)} parts of the paper that can turn about one line")
    chosen = (combination for n in range(1, len(sets) + 1) for combination in combinations(sets, n))
    return list(dict.fromkeys(frozenset().union(*one) for one in chosen))


_ALLOWED: dict[Model, Callable[[int, int], bool]] = {
    "one-layer": lambda bent, crossing: bent <= 1,
    "some-layers": lambda bent, crossing: True,
    "all-layers": lambda bent, crossing: bent in (0, crossing),
    "infinite-one-layer": lambda bent, crossing: bent == 1,
    "infinite-some-layers": lambda bent, crossing: bent >= 1,
    "infinite-all-layers": lambda bent, crossing: bent == crossing,
}


def allows(model: Model, places: Iterable[tuple[int, int]]) -> bool:
    """Whether a fold is one of the model; `places`: along its line, how many layers bend of how many that cross (of
    these at least 1).
    """
    return all(_ALLOWED[model](bent, crossing) for bent, crossing in places)
