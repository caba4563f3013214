"""What would mend a refuted pattern: repairs, each with the kernel's word on what it makes."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from verify.errors import CreaseproofError
from verify.pattern.document import Document
from verify.pattern.limits import Clock, LimitReached, Limits
from verify.pattern.recipe import load_any, read_any
from verify.pattern.source import Malformed
from verify.tasks.certify import Result, certify
from verify.words.findings import Finding, counted, finding

if TYPE_CHECKING:
    from verify.construct.rounded.repairs import Repair


class NoRepair(CreaseproofError, ValueError):
    """A repair of a number that there is not."""


def repairs_of(result: Result, limits: Limits = Limits()) -> list[Repair]:
    """Small changes of a refuted pattern after which something that fails holds; none for recipes and others."""
    s = result.subdivision
    if result.verdict != "refuted" or s is None or result.document.steps:
        return []
    from verify.construct.rounded.repairs import repairs  # seldom needed

    return repairs(s, result.fold_map, result.cutting, result.order is not None, limits)


def with_repairs(result: Result, limits: Limits = Limits(), found: list[Repair] | None = None) -> Result:
    """The result with a finding for each repair (`found`, if they were looked for already), and the verdict on the
    document that it makes (`then`). Of a recipe the one step is found that is certified if read the other way round.
    """
    if result.verdict == "refuted" and result.document.steps:
        other = _other_way(result.document, limits)
        return result if other is None else replace(result, findings=(*result.findings, other))
    s = result.subdivision
    found = repairs_of(result, limits) if found is None else found
    if s is None or not found:
        return result
    from verify.construct.rounded.repairs import TOLD
    from verify.words.repair_findings import of_repair

    told = [of_repair(n, r, s, certify(r.document, limits).verdict) for n, r in enumerate(found, start=1)]
    if TOLD in Counter(map(type, found)).values():
        told.append(finding("more-repairs", most=TOLD))
    return replace(result, findings=(*result.findings, *told))


def _other_way(document: Document, limits: Limits) -> Finding | None:
    """The first step of a refuted recipe whose line or place to fold onto need only be read the other way round, and
    which then folds something; None if none is found within `SECONDS`, or `limits.seconds` if that is less.
    """
    from verify.construct.rounded.repairs import SECONDS

    keys = document.keys()
    clock = Clock(min(SECONDS, limits.seconds or SECONDS), "steps were read the other way round")
    for number, step in enumerate(keys["steps"]):
        fold = step.get("fold")
        if isinstance(fold, Mapping) and isinstance(fold.get("onto"), list | tuple):
            onto = list(reversed(fold["onto"]))
            steps = [*keys["steps"][:number], {**step, "fold": {**fold, "onto": onto}}, *keys["steps"][number + 1 :]]
            with suppress(Malformed, LimitReached):
                other = certify(read_any(keys | {"steps": steps}), clock.within(limits))
                folds = all(f.kind != "nothing-folded" for f in other.findings)
                if other.verdict == "certified" and folds:
                    return finding("other-way", onto, {"step": number + 1}, onto=json.dumps(onto, ensure_ascii=False))
    return None


def repaired(document: Document | str | Path, number: int) -> Document:
    """The document with repair `number` (from 1, as `with_repairs` counts them). Raises `Malformed` and `NoRepair`."""
    document = load_any(document).as_pattern()
    found = repairs_of(certify(document))
    if not 1 <= number <= len(found):
        raise NoRepair(f"--accept {number}: found {counted(len(found), 'repair')}; expected the number of one of them")
    return found[number - 1].document
