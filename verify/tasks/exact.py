"""`exact`: an exact pattern near a drawing with rounded numbers, certified."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from verify.construct.rounded.nearby import NearPattern, near_patterns, on_grid
from verify.pattern.document import IN_MM, Document
from verify.pattern.limits import LimitReached, Limits, Progress
from verify.pattern.recipe import load_any
from verify.tasks.certify import Result, Verdict, certify


@dataclass(frozen=True)
class Exact:
    """What came of looking for an exact pattern near `document`: `verdict` and `result` of the first proposal that is
    certified, or else of the nearest. Without one the verdict is `undecided` or `unsupported`, and `reason` says why:
    no proof that there is none.
    """

    document: Document
    verdict: Verdict
    reason: str = ""
    proposal: NearPattern | None = None
    result: Result | None = None

    @property
    def pattern(self) -> Document | None:
        return self.proposal.document if self.proposal is not None else None


def exact(
    document: Document | str | Path,
    *,
    most_mm: Fraction | None = None,
    limits: Limits = Limits(),
    progress: Progress | None = None,
) -> Exact:
    """The exact pattern nearest to a drawing whose coordinates are rounded, certified.

    No point moves farther than `most_mm` millimetres (default: one and a half units of the last digit that is written).
    What is tried are the families of `verify.construct.rounded.nearby`: that none of them fits proves nothing. Raises
    `Malformed`.
    """
    document = load_any(document)
    if document.steps:
        others = "`creaseproof recipe` finds folds for its figure, if these do not cut it"
        return Exact(document, "unsupported", f"the folds of a recipe are exact by themselves; {others}")
    most = most_mm / IN_MM[document.unit] if most_mm is not None else None
    results: dict[str, Result] = {}

    def result_of(proposal: NearPattern) -> Result:
        statement = proposal.document.statement_sha256
        if statement not in results:
            results[statement] = certify(proposal.document, limits, progress)
        return results[statement]

    def is_done(result: Result) -> bool:
        """Whether no other coordinates can do better."""
        return result.verdict != "refuted" or any(f.kind == "maekawa-fails" for f in result.findings)

    chosen: tuple[NearPattern, Result] | None = None
    try:
        for proposal in near_patterns(
            document.base, most, limits, lambda p: p.cut_exact is not False and is_done(result_of(p))
        ):
            result = result_of(proposal)
            if chosen is None or result.verdict == "certified":
                chosen = proposal, result
            if result.verdict == "certified":
                break
        if chosen is not None and chosen[1].verdict == "refuted":
            rounder = on_grid(document.base, chosen[0], limits)
            if rounder is not None and result_of(rounder).verdict == "certified":
                chosen = rounder, result_of(rounder)
    except LimitReached as limit:
        return Exact(document, "undecided", f"{limit}; nothing is proved either way")
    if chosen is None:
        reason = "no pattern of the known families whose folds close is so near the drawing; --most MM looks farther"
        return Exact(document, "undecided", reason)
    proposal, result = chosen
    return Exact(document, result.verdict, "", proposal, result)
