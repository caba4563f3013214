"""The outcome of constructing a pattern: `Constructed`."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING, Any, Literal

from verify.tasks.preferred import by_hands
from verify.words.findings import Finding, answer

if TYPE_CHECKING:
    from verify.construct.coordinates.snapping import Snapped
    from verify.construct.creases.propose import Failure, Proposal
    from verify.construct.recipes.edges import Edge
    from verify.pattern.document import Document
    from verify.tasks.certify import Result

TRIES = 30
Prefer = Literal["folds", "layers", "hands", "creases", "shortest", "gap", "panel", "fold", "accuracy"]


@dataclass(frozen=True)
class Constructed:
    """What came of constructing a pattern for the target of `document`.

    `verdict` is `certified` only if the kernel accepted a certificate for `pattern`; then `result` holds it.
    `pattern`'s target is that of the document, or, if `moved` is not None, one whose points were moved by at most
    `moved.greatest`, and `why` says what for; `as_drawn` is about how many folds it takes where it is, if that is
    known. `edges`: the edges on which the sheet ends at the figure, if the pattern is for less paper; `unmoved`: then
    the folds of the pattern for the document's own sheet, 0 if none was found; `sheets`: so many smaller sheets were
    tried in vain. `tried` crease sets were solved, `folding` of them have a layer order; `failures` say why others, and
    figures, came to nothing. With `stopped` an interrupt ended the search. Otherwise `reason` says why there is none,
    and `blamed` are the target lines to blame, by the names of their ends: those between which perpendiculars run
    without end, or else those by which run the perpendiculars that are most in what contradicts itself. It does not
    prove that no pattern exists (the theorem says that one does).
    """

    document: Document
    verdict: Literal["certified", "undecided", "unsupported"]
    reason: str = ""
    proposal: Proposal | None = None
    result: Result | None = None
    moved: Snapped | None = None
    tried: int = 0
    failures: tuple[Failure, ...] = ()
    hint: str = ""
    why: str = ""
    blamed: tuple[tuple[str, str], ...] = ()
    folding: int = 0
    as_drawn: int = 0
    stopped: bool = False
    edges: tuple[Edge, ...] = ()
    unmoved: int = 0
    sheets: int = 0

    @property
    def pattern(self) -> Document | None:
        return self.proposal.document if self.proposal is not None else None

    def rank(self, prefer: Prefer) -> tuple[float, ...]:
        """What is lowest for the pattern to prefer; without one it is infinite."""
        return rank(self.proposal, prefer) if self.proposal is not None else (inf,)

    def keys(self, path: str) -> dict[str, Any]:
        """The answer as `--json` prints it, about the target in this file."""
        if self.result is None or self.proposal is None:
            keys = answer(self.verdict, Finding("construct", self.verdict, "advice", self.reason))
        else:
            proposal = self.proposal
            keys = self.result.keys() | {"folds": proposal.folds, "layers": proposal.layers, "how": proposal.how}
            keys |= {"simple_folds": proposal.simple or None}
        moved = 0.0 if self.moved is None else self.moved.greatest
        points = {} if self.moved is None else {move.name: move.distance for move in self.moved.moves}
        return keys | {
            "document": path,
            "tried": self.tried,
            "failed": self.tried - self.folding,
            "moved": moved,
            "moved_points": points,
            "moved_why": self.why,
            "edges": list(self.edges),
            "sheets": self.sheets,
            "blamed": [list(line) for line in self.blamed],
        }


def rank(proposal: Proposal, prefer: Prefer) -> tuple[float, ...]:
    """What is lowest for the pattern to prefer."""
    alike = float(proposal.folds), float(proposal.layers)
    if prefer == "folds":
        return alike
    return (alike[1], *alike) if prefer == "layers" else (*by_hands(proposal.hands, prefer), *alike)
