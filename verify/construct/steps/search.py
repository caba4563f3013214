"""The search for simple folds from the flat sheet to the folded state, in one of the models.

Every crease is folded once and stays folded. All states that simple folds reach are gone through, each once, so that a
sequence is found, or it is shown that there is none (proofs/theory/simple-folds.md), unless a limit comes first.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass, field
from math import inf

from verify.construct.steps.folds import (
    Model,
    PartlyFolded,
    after,
    folds_about,
    same_as,
    simple_folds,
    start_of,
)
from verify.construct.steps.maps import eliminate, map_of
from verify.construct.steps.panels import PanelFold, Panels
from verify.folding.stack import LayerOrder
from verify.pattern.limits import Clock, LimitReached, Progress
from verify.pattern.subdivision import Subdivision

STATES = 20_000
_BROAD = 200  # so many states breadth first; then depth first


@dataclass(frozen=True)
class Sequence:
    """What the search found: `folds` from the flat sheet to the folded state, or None if there are none.

    `panels`: what they fold. `reached`: the most fold edges that any sequence folded; `states`: how many were looked
    at, all if `folds` is None. `why`: why there are none, if elimination (of a map) says so, without looking at all
    states.
    """

    panels: Panels = field(repr=False)
    folds: tuple[PanelFold, ...] | None
    reached: int
    states: int
    why: str = ""


def find_sequence(
    s: Subdivision,
    model: Model = "some-layers",
    *,
    order: LayerOrder | None = None,
    most_states: int = STATES,
    clock: Clock | None = None,
    progress: Progress | None = None,
) -> Sequence:
    """A sequence of simple folds of the model that folds exactly the fold edges of `s`, as drawn, those drawn `either`
    as they come (of a strip: as in `order`, if given); in any layer order. Raises `LimitReached`.
    """
    search = _Search(s, model, most_states, clock or Clock(None, ""), progress)
    return search.eliminated(order) or search.through_states()


class _Search:
    def __init__(self, s: Subdivision, model: Model, most_states: int, clock: Clock, progress: Progress | None) -> None:
        self.s, self.panels, self.model = s, Panels(s), model
        self.most_states, self.clock, self.progress = most_states, clock, progress
        self.goal = frozenset(h.edge for h in self.panels.hinges)
        self.start = start_of(self.panels)
        self.seen: set[tuple[frozenset[int], bytes]] = set()
        self.reached = 0

    def eliminated(self, order: LayerOrder | None) -> Sequence | None:
        """The answer for a strip or a map without open creases; None where elimination does not answer."""
        sheet = map_of(self.s, order)
        if sheet is None or self.model not in ("some-layers", "one-layer"):
            return None
        if self.model == "one-layer" and all(sheet):
            return None
        found = eliminate(sheet)
        reached = sum(map(len, found.folds))
        if found.why:
            return Sequence(self.panels, None, reached, len(found.folds) + 1, found.why)
        state, path = self.start, list[PanelFold]()
        for bent in found.folds:
            self.clock()
            line = int(self.panels.lying(state.folded).overlaps.edge_line[min(bent)])
            fold = next(f for f in folds_about(self.panels, state, line, "some-layers") if set(f.bent) == bent)
            path.append(fold)
            state = after(self.panels, state, fold)
        return Sequence(self.panels, tuple(path), reached, len(path) + 1)

    def through_states(self, first: int = 0, most: float = _BROAD) -> Sequence:
        """The answer, breadth first (`first` 0), with few folds; past `most` states anew, depth first (-1)."""
        self.seen, self.reached = {same_as(self.panels, self.start)}, 0
        if self.start.folded == self.goal:
            return self._answer(())
        todo = deque([(tuple[PanelFold, ...](), self._next(self.start))])
        while todo:
            path, following = todo[first]
            found = next(((fold, state) for fold, state in following if self._is_new(state)), None)
            if found is None:
                del todo[first]
                if len(self.seen) > most and todo:
                    return self.through_states(first=-1, most=inf)
            elif found[1].folded == self.goal:
                return self._answer((*path, found[0]))
            else:
                todo.append(((*path, found[0]), self._next(found[1])))
        return self._answer(None)

    def _answer(self, folds: tuple[PanelFold, ...] | None) -> Sequence:
        return Sequence(self.panels, folds, self.reached, len(self.seen))

    def _is_new(self, state: PartlyFolded) -> bool:
        """Whether the state was not seen before; it is from now on. Raises `LimitReached`."""
        key = same_as(self.panels, state)
        if key in self.seen:
            return False
        self.seen.add(key)
        self.reached = max(self.reached, len(state.folded))
        known = f"{self.reached} of {len(self.goal)} folds made at most"
        self.clock()
        if len(self.seen) > self.most_states:
            raise LimitReached("states", f"{self.most_states:,}", known)
        if self.progress and len(self.seen) % 20 == 0:
            self.progress(f"{len(self.seen):,} states, {known}")
        return True

    def _next(self, state: PartlyFolded) -> Iterator[tuple[PanelFold, PartlyFolded]]:
        """The folds that are possible and where they lead: those first that bend most, go over, and move least."""
        found = list(simple_folds(self.panels, state, self.model))
        found.sort(key=lambda fold: (len(fold.bent), fold.direction == "over", -len(fold.moved)))
        for fold in reversed(found):
            yield fold, after(self.panels, state, fold)
