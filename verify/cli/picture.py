"""`picture`, `report`: what people look at."""

from __future__ import annotations

from pathlib import Path

import click

from verify.cli.frame import EXIT, Failure, certified_or_end, end, main, seconds_option, writing
from verify.pattern.document import printable
from verify.show.picture import ALL
from verify.show.png import NoPng, png
from verify.show.report import report as write_report
from verify.show.scene import scene_of


def _write(path: Path, content: str | bytes, folder: bool = True) -> None:
    with writing(path, folder=folder) as half:
        half.write_bytes(content if isinstance(content, bytes) else content.encode())
    click.echo(printable(str(path)))


@main.command()
@click.argument("document", type=click.Path())
@click.option("-o", "--output", type=click.Path(path_type=Path, file_okay=False), required=True, help="The folder.")
@click.option("--png", "as_png", is_flag=True, help="Write PNG beside the SVG (needs the extra `png`).")
@seconds_option
def picture(document: str, output: Path, as_png: bool, seconds: float | None) -> None:
    """Draw DOCUMENT into a folder: pattern, folded sheet, stack, cut and pieces, as SVG.

    Each picture says the verdict, and so does the exit status.
    """
    result = certified_or_end(document, seconds)
    source = scene_of(result) or result
    for name, draw in ALL.items():
        svg = draw(source)
        path = output / f"{Path(document).stem}.{name}.svg"
        _write(path, svg)
        if as_png:
            try:
                _write(path.with_suffix(".png"), png(svg))
            except NoPng as error:
                raise Failure(str(error)) from None
    end(EXIT[result.verdict])


@main.command()
@click.argument("document", type=click.Path())
@click.option("-o", "--output", type=click.Path(path_type=Path, dir_okay=False), required=True, help="The HTML file.")
@seconds_option
def report(document: str, output: Path, seconds: float | None) -> None:
    """Write a report on DOCUMENT: one HTML file with the verdict, every check, linked views, the fold in motion, cut and pieces.

    It needs no network. The exit status is the verdict's.
    """
    result = certified_or_end(document, seconds)
    _write(output, write_report(result), folder=False)
    end(EXIT[result.verdict])
