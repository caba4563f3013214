"""Why there is no layer order, in the user's names: panels are named once and then have numbers.

Reasons speak of faces and edges; people hear of the panels and folds that these belong to.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from verify.pattern.subdivision import EdgeKind, Subdivision

if TYPE_CHECKING:  # slow to load
    from verify.folding.conflict import Conflict, Reason
    from verify.folding.crossing import Conditions


def edge_words(kind: EdgeKind) -> str:
    """What an edge of a kind is called."""
    return {"border": "the sheet's edge", "flat": "the flat line", "either": "the fold"}.get(kind, f"the {kind} fold")


class Words:
    """Reasons and contradictions in the user's names."""

    def __init__(self, conditions: Conditions) -> None:
        self.conditions = conditions
        self.subdivision: Subdivision = conditions.overlaps.subdivision
        self._numbers: dict[int, int] = {}
        self._spoken: list[str] = []

    def panel(self, face: int) -> str:
        """A panel: its number, and its corners where it is first named."""
        name, number = self.subdivision.panel_with(face), self.subdivision.panel_of[face]
        self._spoken.append(name)
        if number in self._numbers:
            return f"panel {self._numbers[number]}"
        self._numbers[number] = len(self._numbers) + 1
        return f"panel {self._numbers[number]} ({name.removeprefix('panel ')})"

    def edge(self, number: int) -> str:
        name = self.subdivision.run_name(number)
        self._spoken.append(name)
        return f"{edge_words(self.subdivision.edges[number].kind)} {name}"

    def two(self, number: int) -> str:
        e = self.subdivision.edges[number]
        return f"{self.panel(e.left)} and {self.panel(e.right)}"

    def told(self, reasons: Iterable[Reason]) -> dict[str, tuple[str, ...]]:
        """A sentence for each reason, with the names of the lines and panels in it."""
        found = {}
        for reason in reasons:
            self._spoken = []
            sentence = self._reason(reason)
            found[sentence] = tuple(dict.fromkeys(self._spoken))
        return found

    def within(self, reason: Reason) -> bool:
        """Whether it says no more than that a panel is one piece of paper."""
        edges = self.subdivision.edges
        return bool(reason.edges) and not any(edges[n].is_fold for n in reason.edges)

    def _reason(self, reason: Reason) -> str:
        s = self.subdivision
        if reason.faces:
            first, second, third = (self.panel(f) for f in reason.faces)
            place = s.place_name(reason.point) if reason.point is not None else "one place"
            return (
                f"{first}, {second} and {third} all lie over {place} of the folded sheet, so they cannot "
                "form a cycle of layers"
            )
        if reason.is_fold:
            (number,) = reason.edges
            literal = reason.clauses[0][0]
            over, under = self.conditions.faces(literal)
            return f"{self.edge(number)} puts {self.panel(over)} over {self.panel(under)}"
        if reason.face is not None:
            return self._across(reason.edges[0], reason.face)
        return self._sharing(*reason.edges)

    def _across(self, fold: int, face: int) -> str:
        return f"{self.edge(fold)} runs across {self.panel(face)}, which therefore cannot lie between {self.two(fold)}"

    def _sharing(self, one: int, two: int) -> str:
        """The sentence for two edges that share a folded segment."""
        s = self.subdivision
        folds = [s.edges[n].is_fold for n in (one, two)]
        if all(folds):
            return (
                f"{self.edge(one)} and {self.edge(two)} lie on each other, open to the same side: "
                f"one pair of panels ({self.two(one)}; {self.two(two)}) lies inside the other or beside it"
            )
        fold, flat = (one, two) if folds[0] else (two, one)
        return self._across(fold, s.edges[flat].left)

    def headline(self, conflict: Conflict) -> str:
        """The contradiction in one line."""
        folds = [r.edges[0] for r in conflict.reasons if r.is_fold]
        across = [r for r in conflict.reasons if r.face is not None]
        others = len(conflict.reasons) - len(folds) - len(across)
        names = [self.edge(f).removeprefix("the ") for f in folds]
        if len(folds) == 2 and not others:
            s = self.subdivision
            one, two = ({s.panel_of[s.edges[f].left], s.panel_of[s.edges[f].right]} for f in folds)
            if len(one & two) == 1:
                (shared,) = one & two
                kinds = {s.edges[f].kind for f in folds}
                which = f"the two {kinds.pop()} folds" if len(kinds) == 1 else "the two folds"
                edges = " and ".join(map(s.run_name, folds))
                return f"{which} {edges} trap {s.panel_name(s.panels[shared])}"
        if any(r.faces for r in conflict.reasons):
            by = ", ".join(names) or "whichever way the folds go"
            return f"a cycle of layers, in which each panel would have to lie over the next: {by}"
        if not folds:
            return "whichever way the folds go, layers would pass through each other"
        return f"layers would pass through each other at {', '.join(names)}"

    def place(self, reason: Reason) -> list[str]:
        """The names in a reason."""
        named = [self.subdivision.run_name(n) for n in reason.edges if self.subdivision.edges[n].is_fold]
        faces = reason.faces or (() if reason.face is None else (reason.face,))
        return named + [self.subdivision.panel_with(f) for f in faces]
