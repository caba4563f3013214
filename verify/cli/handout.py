"""`handout`: what a teacher prints."""

from __future__ import annotations

from pathlib import Path

import click

from verify.certificate.certify import certify as run_certify
from verify.cli.frame import EXIT, end, main, reporting, seconds_option
from verify.pattern.document import Malformed, printable
from verify.pattern.limits import Limits


@main.command(name="handout")
@click.argument("documents", nargs=-1, required=True, type=click.Path())
@click.option("-o", "--output", type=click.Path(path_type=Path, dir_okay=False), required=True, help="The PDF file.")
@click.option("--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True)
@seconds_option
def handout_command(documents: tuple[str, ...], output: Path, paper: str, seconds: float | None) -> None:
    """Print DOCUMENTS, patterns and recipes, as a PDF in true scale.

    The sheet to fold, the steps, where to cut, cautions, and a page for the teacher with what was proved. A document
    that is not certified gets a page that says so, and the exit status is the worst verdict. Nothing is written if a document is malformed.
    """
    try:
        from verify.show.handout import handout, title
    except ImportError as error:
        raise click.ClickException(
            f"handouts need reportlab: pip install 'creaseproof[print]' (in a checkout: pip install '.[print]'): {error}"
        ) from None
    results = []
    for path in documents:
        try:
            with reporting(path) as progress:
                results.append(run_certify(path, Limits(seconds=seconds), progress))
        except Malformed as error:
            click.echo(f"malformed: {error}")
            end(EXIT["malformed"])
    with reporting("writing") as progress:
        pdf = handout(results, "letter" if paper == "letter" else "a4", progress)
    try:
        output.parent.mkdir(parents=True, exist_ok=True)
        half = output.with_name(output.name + ".part")
        half.write_bytes(pdf)
        half.replace(output)
    except OSError as error:
        raise click.ClickException(f"{output}: cannot be written: {error.strerror}") from None
    for result in results:
        click.echo(f"{result.verdict}: {title(result)}")
    click.echo(f"  written to {printable(str(output))}; print at 100 % and measure the ruler")
    end(max(EXIT[r.verdict] for r in results))
