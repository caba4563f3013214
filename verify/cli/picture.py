"""`picture`, `report`, `handout`, `export`: what people look at, print and give to machines.

Each command imports what only it needs.
"""

from __future__ import annotations

from itertools import product
from pathlib import Path

import click

from verify.cli.frame import EXIT, certified, main, reporting, seconds_option
from verify.cli.output import DXF, HTML, PDF, PNG, SVG, Outputs, force_option, output_option, to_print
from verify.errors import optional
from verify.pattern.limits import Limits, Progress
from verify.pattern.source import printable
from verify.tasks.certify import Result

_SEARCH_SECONDS = 20.0


@main.command()
@click.argument("document", type=click.Path())
@output_option("The folder.", file_okay=False)
@click.option("--png", "as_png", is_flag=True, help="Write PNG beside the SVG (needs the extra `png`).")
@force_option
@seconds_option
def picture(document: str, output: Path, as_png: bool, seconds: float | None) -> str:
    """Draw DOCUMENT into a folder: pattern, folded sheet, stack, cut and pieces, as SVG.

    Each picture says the verdict, and so does the exit status.
    """
    from verify.show.picture import ALL
    from verify.show.picture import picture as pictures
    from verify.show.svg import png, renderer

    outputs = Outputs([document])
    kinds = {"svg": SVG, "png": PNG} if as_png else {"svg": SVG}
    if as_png:
        renderer()  # or nothing is drawn
    stems = {name: f"{Path(document).stem}.{name}" for name in ALL}
    for stem, (end, kind) in product(stems.values(), kinds.items()):
        outputs.expect(output / f"{stem}.{end}", kind, folder=True)
    result = certified(document, seconds)
    for (name, svg), end in product(pictures(result).items(), kinds):
        path = output / f"{stems[name]}.{end}"
        outputs.write(path, png(svg) if end == "png" else svg)
        click.echo(printable(str(path)))
    return result.verdict


@main.command()
@click.argument("document", type=click.Path())
@output_option("The HTML file.", dir_okay=False)
@force_option
@seconds_option
def report(document: str, output: Path, seconds: float | None) -> str:
    """Write a report on DOCUMENT: one HTML file with the verdict, every check, linked views, the fold in motion, cut
    and pieces.

    It needs no network. The exit status is the verdict's.
    """
    from verify.show.report import report as write_report

    outputs = Outputs([document])
    outputs.expect_named("-o", output, {".html": HTML, ".htm": HTML})
    result = certified(document, seconds)
    outputs.write(output, write_report(result))
    click.echo(f"{result.verdict}: written to {printable(str(output))}")
    return result.verdict


@main.command(name="handout")
@click.argument("documents", nargs=-1, required=True, type=click.Path())
@output_option("The PDF file.", dir_okay=False)
@click.option("--paper", type=click.Choice(["a4", "letter"]), default="a4", help="The paper to print on.")
@force_option
@seconds_option
def handout_command(documents: tuple[str, ...], output: Path, paper: str, seconds: float | None) -> int:
    """Print DOCUMENTS, patterns and recipes, as a PDF at full size.

    The sheet to fold, the steps, where to cut, cautions, and a page for the teacher with what was proved. A document
    that is not certified gets a page that says so, and the exit status is the worst verdict. Nothing is written if a
    document is malformed.
    """
    optional("reportlab", "print", "a handout")
    from verify.show.handout import handout

    outputs = Outputs(documents)
    outputs.expect_named("-o", output, {".pdf": PDF})
    results = [certified(path, seconds) for path in documents]
    with reporting("writing") as progress:
        recipes = [_simple_folds(result, seconds, progress) for result in results]
        pdf = handout(results, "letter" if paper == "letter" else "a4", progress, recipes)
    outputs.write(output, pdf)
    for result in results:
        click.echo(f"{result.verdict}: {printable(result.document.title or result.document.source)}")
    click.echo(f"  {to_print(output, pdf)}")
    return max(EXIT[r.verdict] for r in results)


def _simple_folds(result: Result, seconds: float | None, progress: Progress | None) -> Result | None:
    """The certified recipe of simple folds that makes a pattern, if the search finds one in time."""
    if result.document.steps or result.verdict != "certified":
        return None
    from verify.tasks.steps import steps

    limits = Limits(seconds=seconds or _SEARCH_SECONDS)
    return steps(result, limits=limits, progress=progress).result


@main.command()
@click.argument("document", type=click.Path())
@output_option("The file: .svg or .dxf.", dir_okay=False)
@force_option
@seconds_option
def export(document: str, output: Path, seconds: float | None) -> str | int:
    """Write DOCUMENT, if it is certified, for a machine that cuts and scores: SVG or DXF in true millimetres.

    Layers: cut (the sheet's outline), score mountain, score valley, and target, which the machine must not cut.
    """
    from verify.show.machine import LAYERS, NotCertified
    from verify.show.machine import export as run_export

    outputs = Outputs([document])
    kind = outputs.expect_named("-o", output, {".svg": SVG, ".dxf": DXF})
    result = certified(document, seconds)
    try:
        text = run_export(result, "svg" if kind is SVG else "dxf")
    except NotCertified as error:
        click.echo(str(error))
        return result.verdict
    outputs.write(output, text)
    click.echo(
        f"written to {printable(str(output))}, in mm; layers: {', '.join(LAYERS)} (the target is not for the machine)"
    )
    return 0
