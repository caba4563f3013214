"""`picture`, `report`: what people look at."""

from __future__ import annotations

from pathlib import Path

import click

from verify.certificate.certify import Result
from verify.certificate.certify import certify as run_certify
from verify.cli.frame import EXIT, end, main, reporting, seconds_option
from verify.pattern.document import Malformed, printable
from verify.pattern.limits import Limits
from verify.show.picture import ALL
from verify.show.png import NoPng, png
from verify.show.report import report as write_report
from verify.show.scene import scene_of


def _looked_at(document: str, seconds: float | None) -> Result:
    try:
        with reporting(document) as progress:
            return run_certify(document, Limits(seconds=seconds), progress)
    except Malformed as error:
        click.echo(f"malformed: {error}")
        end(EXIT["malformed"])


def _write(path: Path, content: str | bytes) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
    except OSError as error:
        raise click.ClickException(f"{path}: cannot be written: {error.strerror}") from None


@main.command()
@click.argument("document", type=click.Path())
@click.option("-o", "--output", type=click.Path(path_type=Path, file_okay=False), required=True, help="The folder.")
@click.option("--png", "as_png", is_flag=True, help="Write PNG beside the SVG (needs the extra `png`).")
@seconds_option
def picture(document: str, output: Path, as_png: bool, seconds: float | None) -> None:
    """Draw DOCUMENT into a folder: pattern, folded sheet, stack, cut and pieces, as SVG.

    Each picture says the verdict, and so does the exit status.
    """
    result = _looked_at(document, seconds)
    source = scene_of(result) or result
    for name, draw in ALL.items():
        svg = draw(source)
        path = output / f"{Path(document).stem}.{name}.svg"
        _write(path, svg)
        click.echo(printable(str(path)))
        if as_png:
            try:
                _write(path.with_suffix(".png"), png(svg))
            except NoPng as error:
                raise click.ClickException(str(error)) from None
            click.echo(printable(str(path.with_suffix(".png"))))
    end(EXIT[result.verdict])


@main.command()
@click.argument("document", type=click.Path())
@click.option("-o", "--output", type=click.Path(path_type=Path, dir_okay=False), required=True, help="The HTML file.")
@seconds_option
def report(document: str, output: Path, seconds: float | None) -> None:
    """Write a report on DOCUMENT: one HTML file with the verdict, every check, linked views, the fold in motion, cut and pieces.

    It needs no network. The exit status is the verdict's.
    """
    result = _looked_at(document, seconds)
    _write(output, write_report(result))
    click.echo(printable(str(output)))
    end(EXIT[result.verdict])
