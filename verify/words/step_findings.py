"""Findings on a recipe's steps: what each did, or why it cannot be done."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from verify.cutting.lines_left import lines_left
from verify.folding.steps import Folded
from verify.pattern.recipe import FoldStep, UnfoldStep
from verify.words.findings import Finding
from verify.words.step_words import step_words


def of_steps(folded: Folded) -> Iterator[Finding]:
    """One finding for each step that was carried out, and one for the step that was refused."""
    recipe = folded.recipe
    lines = lines_left(folded)
    for number, done in enumerate(folded.done, start=1):
        value: dict[str, Any] = {"moved": len(done.moved)}
        words = f"step {number}: {step_words(folded, number)}"
        if lines and isinstance(done.step, FoldStep | UnfoldStep):
            value["lines"] = lines[number]
            words += f" [the outline lies on {lines[number]} line{'s' * (lines[number] != 1)}]"
        yield Finding("step", "done", "holds", words, (f"step {number}",), value)
    refused = folded.refused
    if refused is not None:
        message = f"step {refused.step} cannot be done ({step_words(folded, refused.step)}): {refused}"
        yield Finding("step", refused.kind, "fails", message, (f"step {refused.step}", recipe.places[refused.step - 1]))
