"""`export`: lines for machines that cut and score."""

from __future__ import annotations

from pathlib import Path

import click

from verify.cli.frame import certified, main, seconds_option
from verify.cli.output import DXF, SVG, Outputs, force_option, output_option
from verify.pattern.source import printable
from verify.show.machine import LAYERS, NotCertified
from verify.show.machine import export as run_export


@main.command()
@click.argument("document", type=click.Path())
@output_option("The file: .svg or .dxf.", dir_okay=False)
@force_option
@seconds_option
def export(document: str, output: Path, force: bool, seconds: float | None) -> str | int:
    """Write DOCUMENT, if it is certified, for a machine that cuts and scores: SVG or DXF in true millimetres.

    Layers: cut (the sheet's outline), score mountain, score valley, and target, which the machine must not cut.
    """
    kind = {".svg": SVG, ".dxf": DXF}.get(output.suffix.lower())
    if kind is None:
        raise click.UsageError(f"-o {output}: expected a name that ends in .svg or .dxf")
    outputs = Outputs([document], force=force)
    outputs.expect(output, kind)
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
