"""`construct`: a certified pattern for a target."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import islice
from math import inf
from pathlib import Path
from typing import Literal

from verify.construct.creases import Endless
from verify.construct.propose import Failure, Proposal, proposals
from verify.construct.snapping import NotSnapped, Snapped, nudged, snapped
from verify.pattern.document import IN_MM, Document, load
from verify.pattern.limits import LimitReached, Limits
from verify.tasks.certify import Result, certify
from verify.words.hands_findings import of_hands

Progress = Callable[[str], None]
Prefer = Literal["folds", "layers", "hands", "creases", "shortest", "gap", "panel", "fold", "accuracy"]
TRIES = 30
SNAP_MM = Fraction(1, 10)


@dataclass(frozen=True)
class Constructed:
    """What came of constructing a pattern for the target of `document`.

    `verdict` is `certified` only if the kernel accepted a certificate for `pattern`; then `result` holds it.
    `pattern`'s target is that of the document, or, if `moved` is not None, one whose points were moved by at most
    `moved.greatest`. `tried` crease sets were solved, `failures` of them had no layer order or met a limit. Otherwise
    `reason` says why there is none; that is not a proof that no pattern exists (the theorem says that one does).
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

    @property
    def pattern(self) -> Document | None:
        return self.proposal.document if self.proposal is not None else None


def construct(
    document: Document | str | Path,
    *,
    tries: int = TRIES,
    prefer: Prefer = "folds",
    exact: bool = False,
    snap_mm: Fraction = SNAP_MM,
    nudge_mm: Fraction | None = None,
    limits: Limits = Limits(),
    progress: Progress | None = None,
) -> Constructed:
    """A crease pattern with which one straight cut frees exactly the target of a document (or the file of one),
    certified.

    The pattern is made of the straight skeleton of the target and perpendiculars. Of at most `tries` choices of
    perpendiculars the one with the fewest folds is taken, then the one with the fewest layers at the cut. `prefer` puts
    something else first: `layers` at the cut, `hands` (fewest warnings of what hands meet, then fewest notes), fewest
    straight `creases`, the longest `shortest` crease, the widest `gap` between parallel creases, the largest smallest
    `panel`, the fewest layers in any one `fold`, or the creases that need least `accuracy`. Target lines whose
    directions have no rational unit vector are moved by at most `snap_mm` millimetres, or, with `exact`, kept in a
    number field (exact as well, and slower). `nudge_mm` allows to move the target further, onto a coarse grid, where
    perpendiculars end sooner. After `limits.seconds` no further choice is tried. Raises `Malformed`.
    """
    if not isinstance(document, Document):
        document = load(document)
    lacking = _lacking(document)
    if lacking:
        return Constructed(document, "unsupported", lacking)
    moved = None
    found: list[Proposal] = []
    failures: list[Failure] = []
    try:
        target = replace(document, creases=())
        if nudge_mm is not None:
            moved = nudged(target, nudge_mm / IN_MM[document.unit], limits)
        elif not exact:
            moved = snapped(target, snap_mm / IN_MM[document.unit], limits)
        if moved is not None and moved.moves:
            target = moved.document
        else:
            moved = None
        for one in islice(proposals(target, limits, max(0, tries - 4), progress), tries):
            (found if isinstance(one, Proposal) else failures).append(one)  # type: ignore[arg-type]
            if progress:
                progress(f"{len(found) + len(failures)} tried, {len(found)} fold")
    except NotSnapped as error:
        hint = "--exact keeps the lines where they are, in a number field"
        return Constructed(document, "unsupported", str(error), hint=hint)
    except Endless as error:
        return Constructed(document, "undecided", str(error), moved=moved, hint="--nudge MM moves the target a little")
    except LimitReached as limit:
        if not found:
            return Constructed(document, "undecided", str(limit), None, None, moved, len(failures), tuple(failures))
    tried = len(found) + len(failures)
    found.sort(key=lambda p: _rank(p, prefer))
    for proposal in found:
        result = certify(proposal.document, limits, progress)
        if result.verdict == "certified":
            return Constructed(document, "certified", "", proposal, result, moved, tried, tuple(failures))
        failures.append(Failure(proposal.how, f"{result.verdict}: {'; '.join(f.message for f in result.failures)}"))
    reasons = sorted({f.reason for f in failures})
    reason = f"none of {tried} sets of creases came to a certified pattern: {'; '.join(reasons)}"
    return Constructed(document, "undecided", reason, None, None, moved, tried, tuple(failures))


def _rank(proposal: Proposal, prefer: Prefer) -> tuple[float, ...]:
    """What is lowest for the best proposal. Floats choose among what is then proved."""
    met = proposal.hands
    first: tuple[float, ...] = ()
    match prefer:
        case "layers":
            first = (proposal.layers,)
        case "hands":
            levels = [f.level for f in of_hands(met)]
            first = levels.count("warning"), levels.count("note")
        case "creases":
            first = (met.creases,)
        case "fold":
            first = (met.thickest.layers if met.thickest else 0,)
        case "accuracy":
            first = (met.amplified or 0.0,)
        case "shortest" | "gap" | "panel":
            measured = {"shortest": met.shortest, "gap": met.gap, "panel": met.panel}[prefer]
            first = (-measured.size if measured is not None else -inf,)
    return *first, proposal.folds, proposal.layers


def _lacking(document: Document) -> str:
    """Why there is nothing to construct; an empty text if there is."""
    if not document.has_target:
        return "the document has no target to construct a pattern for"
    if document.creases:
        return f"the document has {len(document.creases)} creases; expected a target and a sheet only"
    if document.snips != 1:
        return f"the document allows {document.snips} snips; patterns are constructed for one complete straight cut"
    return ""
