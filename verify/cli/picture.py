"""`picture`, `report`: what people look at."""

from __future__ import annotations

from pathlib import Path

import click

from verify.cli.frame import certified, main, seconds_option
from verify.cli.output import HTML, PNG, SVG, Kind, Outputs, force_option, output_option
from verify.pattern.source import printable
from verify.show.picture import ALL
from verify.show.picture import picture as pictures
from verify.show.png import png, renderer
from verify.show.report import report as write_report


@main.command()
@click.argument("document", type=click.Path())
@output_option("The folder.", file_okay=False)
@click.option("--png", "as_png", is_flag=True, help="Write PNG beside the SVG (needs the extra `png`).")
@force_option
@seconds_option
def picture(document: str, output: Path, as_png: bool, force: bool, seconds: float | None) -> str:
    """Draw DOCUMENT into a folder: pattern, folded sheet, stack, cut and pieces, as SVG.

    Each picture says the verdict, and so does the exit status.
    """
    outputs = Outputs([document], force=force)
    kinds: list[Kind] = [SVG, PNG] if as_png else [SVG]
    if as_png:
        renderer()  # or nothing is drawn
    paths = {name: output / f"{Path(document).stem}.{name}.svg" for name in ALL}
    for path in paths.values():
        for kind in kinds:
            outputs.expect(_named(path, kind), kind, folder=True)
    result = certified(document, seconds)
    for name, svg in pictures(result).items():
        for kind in kinds:
            path = _named(paths[name], kind)
            outputs.write(path, png(svg) if kind is PNG else svg)
            click.echo(printable(str(path)))
    return result.verdict


def _named(path: Path, kind: Kind) -> Path:
    return path.with_suffix(".png") if kind is PNG else path


@main.command()
@click.argument("document", type=click.Path())
@output_option("The HTML file.", dir_okay=False)
@force_option
@seconds_option
def report(document: str, output: Path, force: bool, seconds: float | None) -> str:
    """Write a report on DOCUMENT: one HTML file with the verdict, every check, linked views, the fold in motion, cut
    and pieces.

    It needs no network. The exit status is the verdict's.
    """
    if output.suffix.lower() not in (".html", ".htm"):
        raise click.UsageError(f"-o {output}: expected a name that ends in .html")
    outputs = Outputs([document], force=force)
    outputs.expect(output, HTML)
    result = certified(document, seconds)
    outputs.write(output, write_report(result))
    click.echo(f"{result.verdict}: written to {printable(str(output))}")
    return result.verdict
