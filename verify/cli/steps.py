"""`steps`: a pattern as a list of simple folds, or the order in which to crease and collapse it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click

from verify.cli.frame import json_option, main, reporting, seconds_for, tell
from verify.cli.options import Whole
from verify.cli.output import RECIPE, Outputs, certificate_option, force_option, output_option
from verify.construct.steps.collapse import Stages
from verify.construct.steps.folds import MODELS
from verify.construct.steps.search import STATES
from verify.pattern.limits import Limits
from verify.tasks.explain import summary_at
from verify.tasks.steps import Steps
from verify.tasks.steps import steps as run_steps
from verify.words.crease_words import bring
from verify.words.step_findings import in_plain


@main.command(name="steps")
@click.argument("pattern", type=click.Path())
@output_option("Write the recipe here (.toml or .json).", required=False)
@certificate_option
@click.option(
    "--model",
    type=click.Choice(MODELS),
    default="some-layers",
    help="How many of the layers at its line a fold bends; `infinite`: wherever paper crosses the line.",
)
@click.option(
    "--states",
    type=Whole(1, 1_000_000),
    default=STATES,
    help="Examine at most this many states of the paper.",
)
@seconds_for("Give up the search after this time (undecided).")
@force_option
@json_option
def steps_command(
    pattern: str, output: Path | None, certificate: Path | None, seconds: float | None, **how: Any
) -> str:
    """Find simple folds that lead to the folded state of PATTERN, as a recipe that folds exactly its creases, and
    certify it.

    Each crease is folded once and none is opened again. Where there are no such folds (undecided, status 3), it says so
    if all were tried, and gives an order in which to crease and to collapse. Nothing is written unless it was
    certified.
    """
    outputs = Outputs([pattern])
    outputs.expect(output, RECIPE)
    certificate = outputs.expect_certificate(certificate, output or pattern)
    with reporting(pattern) as progress:
        found = run_steps(pattern, **how, limits=Limits(seconds=seconds), progress=progress)
    if found.result is not None:
        outputs.write_document(output, found.recipe)
        outputs.write_certificate(certificate, found.result.certificate)
    tell(found.keys(), _lines(found, output))
    return found.verdict


def _lines(found: Steps, output: Path | None) -> Iterator[str]:
    if found.result is None or found.recipe is None:
        yield f"{found.verdict}: {found.document.title or found.document.source}"
        yield f"  {found.words()}"
        if found.stages is not None:
            yield from stage_lines(found.stages)
            yield "  `creaseproof handout` draws these numbers, `creaseproof picture` the names"
        return
    yield from summary_at(found.result, output or found.document.source)
    yield f"  {found.words()}"
    if found.result.carried is not None:
        yield from (f"  {line}" for line in in_plain(found.result.carried, found.result.findings))
    if output is not None:
        yield f"  written to {output}"


def stage_lines(stages: Stages) -> Iterator[str]:
    """In which order to crease and to collapse, a line for each. Not proved: that hands get from one stage to the
    next. Creases have the numbers that they have in the handout.
    """
    sides = "valleys from the front, mountains with the sheet turned over"
    if any(one.kind == "both" for one in stages.precreases):
        sides += ", valley and mountain sharply both ways"
    yield f"  first crease each line along its full length: {sides}"
    for number, one in enumerate(stages.precreases, start=1):
        kind = "valley and mountain" if one.kind == "both" else one.kind
        yield f"    crease {number}: {one.ends[0]}–{one.ends[1]} ({kind})"
    yield "  then collapse; after each of these the paper lies flat"
    creases = [one.crease for one in stages.precreases]
    yield from (f"    {number}. {bring(stage, creases)}" for number, stage in enumerate(stages.stages, start=1))
