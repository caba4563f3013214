"""`export`: lines for machines that cut and score."""

from __future__ import annotations

from pathlib import Path

import click

from verify.cli.frame import EXIT, Failure, certified_or_end, end, main, seconds_option, writing
from verify.pattern.document import printable
from verify.show.machine import LAYERS, NoDxf, NotCertified, machine_dxf, machine_svg


@main.command()
@click.argument("document", type=click.Path())
@click.option(
    "-o", "--output", type=click.Path(path_type=Path, dir_okay=False), required=True, help="The file: .svg or .dxf."
)
@seconds_option
def export(document: str, output: Path, seconds: float | None) -> None:
    """Write DOCUMENT, if it is certified, for a machine that cuts and scores: SVG or DXF in true millimetres.

    Layers: cut (the sheet's outline), score mountain, score valley, and target, which the machine must not cut.
    """
    kind = output.suffix.lower()
    if kind not in (".svg", ".dxf"):
        raise click.UsageError(f"-o {output}: expected a name that ends in .svg or .dxf")
    result = certified_or_end(document, seconds)
    try:
        text = machine_svg(result) if kind == ".svg" else machine_dxf(result)
    except NotCertified as error:
        click.echo(str(error))
        end(EXIT[result.verdict])
    except NoDxf as error:
        raise Failure(str(error)) from None
    with writing(output) as half:
        half.write_text(text, encoding="utf-8")
    click.echo(
        f"written to {printable(str(output))}, in mm; layers: {', '.join(LAYERS)} (the target is not for the machine)"
    )
    end(0)
