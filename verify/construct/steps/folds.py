"""Simple folds of a partly folded pattern: which parts can turn about which line, in each model.

A part that turns is made of *flaps*: panels on one side of the line that hang together there. A flap can turn if it is
joined to the rest along the line alone, by creases that are open and drawn for the way it turns, and if nothing that
stays lies on it.

The models say how many of the layers at the line bend in one fold. They are those of Akitaya, Demaine and Ku (Simple
folding is really hard, 2017), by their names, after Arkin et al. (When can you fold a map?, 2004). What each model says
of the layers that cross the line is our reading, stated in proofs/theory/simple-folds.md.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray

from verify.construct.steps.panels import Crossing, Direction, Flaps, Lying, PanelFold, Panels
from verify.pattern.limits import LimitReached

Model = Literal[
    "one-layer", "some-layers", "all-layers", "infinite-one-layer", "infinite-some-layers", "infinite-all-layers"
]
MODELS: tuple[Model, ...] = get_args(Model)

WORDS: dict[Model, str] = {
    "one-layer": "simple folds that bend one layer",
    "some-layers": "simple folds of any number of layers from above or below",
    "all-layers": "simple folds that bend all layers where they bend any",
    "infinite-one-layer": "simple folds that bend one layer wherever paper crosses the line",
    "infinite-some-layers": "simple folds that bend at least one layer wherever paper crosses the line",
    "infinite-all-layers": "simple folds that bend every layer that crosses the line",
}

_MOST_FLAPS = 12


@dataclass(frozen=True)
class PartlyFolded:
    """Which edges are folded, and the panels from bottom to top as seen with face 0 front up."""

    folded: frozenset[int]
    stack: tuple[int, ...]

    @cached_property
    def rank(self) -> NDArray[np.intp]:
        """For each panel how many lie under it in the stack."""
        rank = np.empty(len(self.stack), dtype=np.intp)
        rank[list(self.stack)] = np.arange(len(self.stack))
        return rank


def start_of(panels: Panels) -> PartlyFolded:
    """The flat sheet."""
    return PartlyFolded(frozenset(), tuple(range(panels.count)))


def after(panels: Panels, state: PartlyFolded, fold: PanelFold) -> PartlyFolded:
    """The paper after a fold, turned so that face 0 lies front up again."""
    moved = fold.moved
    up = [p for p in reversed(state.stack) if p in moved]
    stay = [p for p in state.stack if p not in moved]
    stack = stay + up if fold.direction == "over" else up + stay
    if 0 in moved:
        stack.reverse()
    folded = state.folded | frozenset(fold.bent)
    panels.reached(folded, state.folded, fold)
    return PartlyFolded(folded, tuple(stack))


def same_as(panels: Panels, state: PartlyFolded) -> tuple[frozenset[int], bytes]:
    """Equal for states that are the same paper: the folded edges, and which panel lies over which."""
    one, two = panels.lying(state.folded).pairs
    return state.folded, np.packbits(state.rank[one] > state.rank[two]).tobytes()


def lies_on(lying: Lying, state: PartlyFolded, direction: Direction) -> NDArray[np.bool_]:
    """[upper, lower]: which panel lies on which, as seen from the side to which the paper turns."""
    rank = state.rank if direction == "over" else -state.rank
    return lying.overlapping & (rank[:, None] > rank[None, :])


def simple_folds(panels: Panels, state: PartlyFolded, model: Model) -> Iterator[PanelFold]:
    """Simple folds of open creases, as drawn: enough of them to make all others of (D2 of the theory)."""
    for line in panels.lying(state.folded).open_lines:
        yield from folds_about(panels, state, line, model)


def folds_about(panels: Panels, state: PartlyFolded, line: int, model: Model) -> Iterator[PanelFold]:
    """The same about one line of the folded plane."""
    lying = panels.lying(state.folded)
    for beyond, direction in lying.turning(line):
        smallest = tuple(dict.fromkeys(_turnable(beyond, direction, state)))
        if not smallest:
            continue
        turning = model, direction, smallest
        if turning not in beyond.folds:
            crossings = lying.crossings(line) if model != "some-layers" else []
            beyond.folds[turning] = tuple(_of_model(model, beyond, direction, smallest, crossings))
        yield from beyond.folds[turning]


def _turnable(beyond: Flaps, direction: Direction, state: PartlyFolded) -> Iterator[frozenset[int]]:
    """For each flap that nothing holds, it with all flaps that lie on it, on those, and so on."""
    held = set(beyond.held[direction])
    on: list[set[int]] = [set() for _ in beyond.parts]
    rank = state.rank.tolist()
    for other, panel in beyond.meeting:
        if (rank[other] > rank[panel]) == (direction == "over"):
            n = beyond.flap_of[panel]
            if other in beyond.across:
                held.add(n)
            else:
                on[n].add(beyond.flap_of[other])
    for n in range(len(on)):
        whole, todo = {n}, [n]
        while todo and not whole & held:
            more = on[todo.pop()] - whole
            whole |= more
            todo += more
        if not whole & held:
            yield frozenset(whole)


def _of_model(
    model: Model, beyond: Flaps, direction: Direction, smallest: Sequence[frozenset[int]], crossings: Sequence[Crossing]
) -> Iterator[PanelFold]:
    """The folds of the model: sets of flaps that nothing holds, each with all that lies on it."""
    if model == "one-layer":
        chosen = list(smallest)
    elif model == "some-layers":
        chosen = list(dict.fromkeys([*smallest, frozenset().union(*smallest)]))
    elif model == "infinite-all-layers":
        chosen = [frozenset().union(*smallest)]
    else:
        chosen = sorted(_unions(smallest), key=len)
    found: list[frozenset[int]] = []
    for flaps in chosen:
        bent = {e for n in flaps for e in beyond.bent[n]}
        if model == "all-layers" and any(other < flaps for other in found):
            continue
        if allows(model, ((len(bent.intersection(c.edges)), c.layers) for c in crossings)):
            found.append(flaps)
            moved = tuple(beyond.parts[n] for n in sorted(flaps))
            yield PanelFold(beyond.line, beyond.side, direction, moved, tuple(sorted(bent)))


def _unions(sets: Sequence[frozenset[int]]) -> list[frozenset[int]]:
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
    """Whether a fold is one of the model; `places`: how many layers bend along its line, of how many that cross."""
    return all(_ALLOWED[model](bent, crossing) for bent, crossing in places)
