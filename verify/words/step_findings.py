"""Findings on a recipe's steps: what each did, or why it cannot be done."""

from __future__ import annotations

from collections.abc import Iterator

from verify.folding.simple import Folded
from verify.words.findings import Finding


def of_steps(folded: Folded) -> Iterator[Finding]:
    """One finding for each step that was carried out, and one for the step that was refused."""
    recipe = folded.recipe
    for number, done in enumerate(folded.done, start=1):
        where = (f"step {number}",)
        yield Finding("step", "done", "holds", f"step {number}: {done.step.words()}", where, {"moved": len(done.moved)})
    refused = folded.refused
    if refused is not None:
        step = recipe.steps[refused.step - 1]
        message = f"step {refused.step} cannot be done ({step.words()}): {refused}"
        yield Finding("step", refused.kind, "fails", message, (f"step {refused.step}", recipe.places[refused.step - 1]))
