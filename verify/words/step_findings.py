"""Findings on a recipe's steps: what each did, or why it cannot be done."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from verify.cutting.lines_left import lines_left
from verify.folding.steps import Folded, StepRefused
from verify.pattern.recipe import FoldStep, UnfoldStep
from verify.pattern.subdivision import place_text
from verify.words.findings import Finding, counted
from verify.words.step_words import sentence, step_words


def of_steps(folded: Folded) -> Iterator[Finding]:
    """One finding for each step that was carried out, and one for the step that was refused."""
    recipe = folded.recipe
    lines = lines_left(folded)
    for number, done in enumerate(folded.done, start=1):
        value: dict[str, Any] = {"moved": len(done.moved)}
        words = f"step {number}: {step_words(folded, number)}"
        if lines and isinstance(done.step, FoldStep | UnfoldStep):
            value["lines"] = lines[number]
            words += f" [the outline lies on {counted(lines[number], 'line')}]"
        yield Finding("step", "done", "holds", words, (f"step {number}",), value)
    refused = folded.refused
    if refused is not None:
        why = refusal_words(folded, refused)
        message = f"step {refused.step} cannot be done ({step_words(folded, refused.step)}): {why}"
        yield Finding("step", refused.kind, "fails", message, (f"step {refused.step}", recipe.places[refused.step - 1]))


def in_plain(folded: Folded, findings: Iterable[Finding]) -> Iterator[str]:
    """The steps that were done in words for the person who folds, and on how many lines each leaves the outline."""
    done = (finding for finding in findings if finding.check == "step" and finding.level == "holds")
    for number, finding in enumerate(done, start=1):
        lines = finding.value.get("lines")
        left = f" [the outline lies on {counted(lines, 'line')}]" if lines else ""
        yield f"step {number}: {sentence(folded, number)}{left}"


def refusal_words(folded: Folded, refused: StepRefused) -> str:
    """Why a step cannot be done."""
    step = folded.recipe.steps[refused.step - 1]
    if not isinstance(step, FoldStep):
        raise TypeError("only folds are refused")
    if refused.why is not None:
        return str(refused.why)
    if refused.kind == "no-solution":
        return f"{step.moves} lies on the fold line, so it does not say which side moves; name a point beside that line"
    if refused.kind == "few-layers":
        lie = "layer lies" if refused.layers == 1 else "layers lie"
        return f"only {refused.layers} {lie} at {step.moves}, not {step.layers}"
    moved, held = (_panel(folded, face) for face in refused.faces)
    how = "over" if step.direction == "over" else "under"
    return f"{held} is in the way: it lies {how} {moved}, which moves, and does not move with it"


def _panel(folded: Folded, face: int) -> str:
    names, vertices = folded.drawing.names, folded.paper.vertices
    return "panel " + "–".join(names.get(vertices[v]) or place_text(vertices[v]) for v in folded.paper.faces[face])
