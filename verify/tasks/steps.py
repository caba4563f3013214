"""`steps`: a pattern as a certified recipe of simple folds; or that there is none, and how to collapse it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any, Literal

from verify.construct.steps.folds import WORDS, Model
from verify.construct.steps.search import STATES, find_sequence
from verify.construct.steps.written import NotWritten, folds_exactly, recipe_of
from verify.pattern.document import Document
from verify.pattern.limits import Clock, LimitReached, Limits, Progress
from verify.pattern.recipe import Recipe, load_any
from verify.tasks.certify import Result, Source, Verdict, certify, facts

if TYPE_CHECKING:
    from verify.construct.steps.collapse import Stages  # slow to load

Shown = Literal["found", "none", ""]


@dataclass(frozen=True)
class Steps:
    """What a search for simple folds that lead to a pattern's folded state came to.

    `verdict` is `certified` only if the kernel accepted a certificate for `recipe`, which folds exactly the pattern's
    creases, each as drawn; then `result` holds it. `shown`: `found`, `none` (no simple folds of the model do it: all
    states that they reach were looked at, `states` of them, with at most `reached` of the `fold_edges` folded), or
    empty (a limit came first, or the pattern itself is not certified: `reason`). `pattern` is the result on the
    pattern. That there are none is not a verdict of the kernel.
    """

    document: Document
    model: Model
    verdict: Verdict
    shown: Shown
    pattern: Result
    reason: str = ""
    recipe: Recipe | None = None
    result: Result | None = None
    folds: int = 0
    reached: int = 0
    states: int = 0
    limits: Limits | None = field(default=None, repr=False)  # for what is asked later; None: there is no time for it

    @property
    def fold_edges(self) -> int:
        return int(facts(self.pattern).get("folds", 0))

    @cached_property
    def stages(self) -> Stages | None:
        """In which order to crease and to collapse instead; None if it does not fold, or a limit came first."""
        if self.limits is None or self.pattern.order is None or not self.document.creases:
            return None
        from verify.construct.steps.collapse import stages_to

        try:
            return stages_to(self.pattern.order, self.limits)
        except LimitReached:
            return None

    def words(self) -> str:
        """What was shown, in one sentence. No stronger than that."""
        if self.shown == "found":
            steps = len(self.recipe.steps) if self.recipe is not None else 0
            written = f" (written as {steps} steps)" if steps != self.folds else ""
            folds = "1 fold gives" if self.folds == 1 else f"{self.folds} folds{written} give"
            return f"{folds} exactly this pattern: {WORDS[self.model]}"
        if self.shown == "none":
            none = f"no {WORDS[self.model]} lead to this folded state"
            if self.reached == 0 and not self.reason:
                return f"{none}: not even the first is possible"
            how = self.reason or f"all {self.states:,} states that they reach were examined"
            return f"{none}: they make at most {self.reached} of its {self.fold_edges} folds ({how})"
        return self.reason

    def keys(self) -> dict[str, Any]:
        """The answer as `--json` prints it."""
        shown = self.result if self.result is not None else self.pattern
        stages = None
        if self.recipe is None and self.stages is not None:
            creases = [{"ends": list(p.ends), "kind": p.kind, "length": p.length} for p in self.stages.precreases]
            stages = {"creases": creases, "groups": [list(map(list, stage.names)) for stage in self.stages.stages]}
        return shown.keys() | {
            "document": self.document.source,
            "verdict": self.verdict,
            "model": self.model,
            "shown": self.shown,
            "words": self.words(),
            "folds": self.folds if self.recipe is not None else None,
            "reached": self.reached,
            "states": self.states,
            "stages": stages,
        }


def steps(
    document: Source,
    *,
    model: Model = "some-layers",
    states: int = STATES,
    limits: Limits = Limits(),
    progress: Progress | None = None,
) -> Steps:
    """A certified recipe of simple folds of the model that folds exactly a pattern (or that of a result of `certify`),
    each crease as drawn; or that there is none.

    `model`: how many of the layers at its line a simple fold may bend (verify.construct.steps.folds). Each crease is
    folded once; none is opened again. No more than `states` states of the paper are looked at. That there is none is
    found by search, and not proved by the kernel; groups to collapse are advice. Raises `Malformed`, also for a recipe,
    which is one already.
    """
    given = document.document if isinstance(document, Result) else load_any(document)
    drawn = given.as_pattern("a pattern (a recipe has its steps)")
    clock = Clock(limits.seconds, "not all states were looked at")
    pattern = document if isinstance(document, Result) else certify(drawn, limits, progress)
    found = Steps(drawn, model, "undecided", "", pattern)
    if pattern.verdict == "certified" and not found.fold_edges:
        return replace(found, verdict="unsupported", reason="the pattern has no folds")
    if pattern.verdict != "certified" or pattern.subdivision is None:
        why = [f for f in pattern.findings if f.kind == "no-creases"] or pattern.reasons
        reason = f"the pattern is {pattern.verdict}" + (f": {why[0].message}" if why else "")
        return replace(found, verdict=pattern.verdict, reason=reason)
    s = pattern.subdivision
    try:
        found = replace(found, limits=clock.within(limits))
        sequence = find_sequence(s, model, order=pattern.order, most_states=states, clock=clock, progress=progress)
        if sequence.folds is None:
            return replace(found, shown="none", reason=sequence.why, reached=sequence.reached, states=sequence.states)
        recipe = recipe_of(drawn, sequence.panels, sequence.folds)
    except (LimitReached, NotWritten) as error:
        return replace(found, reason=str(error))
    result = certify(recipe, limits, progress)
    if result.verdict == "undecided":
        return replace(found, reason="; ".join(f.message for f in result.reasons))
    if (
        result.verdict != "certified"
        or result.fold_map is None
        or not folds_exactly(sequence.panels, sequence.folds, result.fold_map)
    ):
        raise RuntimeError(
            f"the recipe that was written ({result.verdict}) does not fold the pattern as the search did"
        )
    return replace(
        found,
        verdict="certified",
        shown="found",
        recipe=recipe,
        result=result,
        folds=len(sequence.folds),
        reached=sequence.reached,
        states=sequence.states,
    )
