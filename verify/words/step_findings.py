"""Findings on a recipe's steps: what each did, or why it cannot be done."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from verify.cutting.lines_left import lines_left
from verify.folding.alignments import NoSolution
from verify.folding.steps import Folded, StepRefused
from verify.pattern.recipe import FoldStep, UnfoldStep
from verify.pattern.subdivision import place_text
from verify.words.findings import Finding, counted, finding
from verify.words.step_words import sentence, step_words

# why an alignment has no line, or not exactly one: of its marks, in their order
_NO_LINE = {
    "one-place": "{0} and {1} lie at the same place",
    "opposite-ways": (
        "{0}→{1} and {2}→{3} run opposite ways, so they do not determine a fold; name one of the lines the other way "
        "round"
    ),
    "parallel": "line {0}–{1} and line {2}–{3} are parallel, so they do not determine a fold",
    "out-of-reach": (
        "no fold through {3} can put {0} on line {1}–{2}: {0} is {near:.6g} from {3}, the line is {far:.6g} from it"
    ),
}


def of_steps(folded: Folded) -> Iterator[Finding]:
    """One finding for each step that was carried out, one for the step that was refused, and a warning for a fold that
    moves all the paper, and so folds nothing.
    """
    recipe = folded.recipe
    lines = lines_left(folded)
    for number, done in enumerate(folded.done, start=1):
        value: dict[str, Any] = {"moved": len(done.moved)}
        words = f"step {number}: {step_words(folded, number)}"
        if lines and isinstance(done.step, FoldStep | UnfoldStep):
            value["lines"] = lines[number]
            words += f" [the outline lies on {counted(lines[number], 'line')}]"
        yield Finding("step", "done", "holds", words, (f"step {number}",), value)
        if isinstance(done.step, FoldStep) and _turned_over(folded, number):
            yield finding("nothing-folded", (f"step {number}",))
    refused = folded.refused
    if refused is not None:
        why = refusal_words(folded, refused)
        message = f"step {refused.step} cannot be done ({step_words(folded, refused.step)}): {why}"
        yield Finding("step", refused.kind, "fails", message, (f"step {refused.step}", recipe.places[refused.step - 1]))


def _turned_over(folded: Folded, number: int) -> bool:
    """Whether step `number` (from 1) turns every panel over."""
    before, after = folded.paper.states[number - 1 : number + 1]
    return all(was != now for was, now in zip(before.turned, after.turned, strict=True))


def in_plain(folded: Folded, findings: Iterable[Finding]) -> Iterator[str]:
    """The steps that were done in words for the person who folds, and on how many lines each leaves the outline."""
    done = (one for one in findings if one.check == "step" and one.level == "holds")
    for number, one in enumerate(done, start=1):
        lines = one.value.get("lines")
        left = f" [the outline lies on {counted(lines, 'line')}]" if lines else ""
        yield f"step {number}: {sentence(folded, number)}{left}"


def refusal_words(folded: Folded, refused: StepRefused) -> str:
    step = folded.recipe.steps[refused.step - 1]
    if not isinstance(step, FoldStep):
        raise TypeError("only folds are refused")
    if refused.why is not None:
        return no_line_words(refused.why)
    if refused.kind == "no-solution":
        return f"{step.moves} lies on the fold line, so it does not say which side moves; name a point beside that line"
    if refused.kind == "few-layers":
        lie = "layer lies" if refused.layers == 1 else "layers lie"
        return f"only {refused.layers} {lie} at {step.moves}, not {step.layers}"
    names, vertices, faces = folded.drawing.names, folded.paper.vertices, folded.paper.faces
    corners = ([names.get(vertices[v]) or place_text(vertices[v]) for v in faces[face]] for face in refused.faces)
    moved, held = (f"panel {'–'.join(loop)}" for loop in corners)
    how = "over" if step.direction == "over" else "under"
    return f"{held} is in the way: it stays where it is, {how} {moved}, which moves"


def no_line_words(why: NoSolution) -> str:
    """Why no line, or not exactly one, satisfies an alignment."""
    return _NO_LINE[why.kind].format(*why.marks, near=why.near, far=why.far)
