"""`handout`: what a teacher prints."""

from __future__ import annotations

from pathlib import Path

import click

from verify.certificate.certify import certify as run_certify
from verify.cli.frame import EXIT, end, main, reporting, seconds_option
from verify.pattern.document import Malformed, printable
from verify.pattern.limits import Limits
from verify.show.handout import PAPERS, NoPrinter, TooLarge, handout, title


@main.command(name="handout")
@click.argument("documents", nargs=-1, required=True, type=click.Path())
@click.option("-o", "--output", type=click.Path(path_type=Path, dir_okay=False), required=True, help="The PDF file.")
@click.option(
    "--paper", type=click.Choice(sorted(PAPERS)), default="a4", show_default=True, help="What it is printed on."
)
@seconds_option
def handout_command(documents: tuple[str, ...], output: Path, paper: str, seconds: float | None) -> None:
    """Print DOCUMENTS, patterns and recipes, as a PDF in true scale.

    The sheet to fold, the steps, where to cut, cautions, and a page for the teacher with what was proved. A document
    that is not certified gets a page that says so, and the exit status is the worst verdict.
    """
    results = []
    for path in documents:
        try:
            with reporting(path) as progress:
                results.append(run_certify(path, Limits(seconds=seconds), progress))
        except Malformed as error:
            click.echo(f"malformed: {error}")
            end(EXIT["malformed"])
    half = output.with_name(output.name + ".part")
    try:
        pages = handout(results, half, paper)
        half.replace(output)
    except (NoPrinter, TooLarge) as error:
        half.unlink(missing_ok=True)
        raise click.ClickException(str(error)) from None
    except OSError as error:
        half.unlink(missing_ok=True)
        raise click.ClickException(f"{output}: cannot be written: {error.strerror}") from None
    for result in results:
        click.echo(f"{result.verdict}: {title(result)}")
    click.echo(f"  {pages} pages written to {printable(str(output))}; print at 100 % and measure the ruler")
    end(max((EXIT[r.verdict] for r in results), default=0))
