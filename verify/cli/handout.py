"""`handout`: what a teacher prints."""

from __future__ import annotations

from pathlib import Path

import click

from verify.cli.frame import EXIT, certified, main, reporting, seconds_option
from verify.cli.output import PDF, Outputs, force_option, output_option, to_print
from verify.errors import optional
from verify.pattern.limits import Limits, Progress
from verify.tasks.certify import Result
from verify.tasks.steps import steps

_SEARCH_SECONDS = 20.0


@main.command(name="handout")
@click.argument("documents", nargs=-1, required=True, type=click.Path())
@output_option("The PDF file.", dir_okay=False)
@click.option("--paper", type=click.Choice(["a4", "letter"]), default="a4", help="What it is printed on.")
@force_option
@seconds_option
def handout_command(documents: tuple[str, ...], output: Path, paper: str, force: bool, seconds: float | None) -> int:
    """Print DOCUMENTS, patterns and recipes, as a PDF in true scale.

    The sheet to fold, the steps, where to cut, cautions, and a page for the teacher with what was proved. A document
    that is not certified gets a page that says so, and the exit status is the worst verdict. Nothing is written if a
    document is malformed.
    """
    optional("reportlab", "print", "a handout")
    from verify.show.handout import handout, title

    if output.suffix.lower() != ".pdf":
        raise click.UsageError(f"-o {output}: expected a name that ends in .pdf")
    outputs = Outputs(documents, force=force)
    outputs.expect(output, PDF)
    results = [certified(path, seconds) for path in documents]
    with reporting("writing") as progress:
        recipes = [_simple_folds(result, seconds, progress) for result in results]
        pdf = handout(results, "letter" if paper == "letter" else "a4", progress, recipes)
    outputs.write(output, pdf)
    for result in results:
        click.echo(f"{result.verdict}: {title(result)}")
    click.echo(f"  {to_print(output, pdf)}")
    return max(EXIT[r.verdict] for r in results)


def _simple_folds(result: Result, seconds: float | None, progress: Progress | None) -> Result | None:
    """The certified recipe of simple folds that makes a pattern, if the search finds one in time."""
    if result.document.steps or result.verdict != "certified":
        return None
    return steps(
        result.document.as_pattern(), limits=Limits(seconds=seconds or _SEARCH_SECONDS), progress=progress
    ).result
