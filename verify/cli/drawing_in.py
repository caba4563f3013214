"""`import`: a pattern document from a drawing."""

from __future__ import annotations

import json
from pathlib import Path

import click

from verify.cli.drawing import Drawing, drawing_options
from verify.cli.frame import end_not_read, json_option, main
from verify.cli.output import PATTERN, TARGET, Outputs, force_option, output_option
from verify.pattern.document import Document
from verify.pattern.source import NotRead, printable
from verify.pattern.write import as_text


@main.command("import")
@click.argument("drawing", type=click.Path())
@output_option("Write the document here (.toml or .json).")
@click.option(
    "--target",
    "as_target",
    is_flag=True,
    help="Every line that no rule maps is the target (so it is without any rule, too).",
)
@drawing_options
@force_option
@json_option
def import_(
    drawing: str,
    output: Path,
    as_target: bool,
    drawn: Drawing,
    force: bool,
    as_json: bool,
) -> None:
    """Read DRAWING, an SVG file, and write a pattern document in mm with the same numbers, exactly.

    Nothing is proved: certify the document. Exit status: 0 written, 2 malformed, 4 unsupported.
    """
    outputs = Outputs([drawing, *drawn.files], force=force)
    try:
        document = drawn.read(drawing, target=as_target)
    except NotRead as error:
        end_not_read(drawing, error, as_json)
    outputs.write(output, PATTERN if document.creases else TARGET, as_text(document, output))
    if as_json:
        click.echo(
            json.dumps({"document": drawing, "output": str(output), "notes": list(document.notes)} | _counts(document))
        )
    else:
        counts = ", ".join(
            f"{n} {what.removesuffix('s') if n == 1 else what}" for what, n in _counts(document)["facts"].items() if n
        )
        click.echo(f"read: {printable(document.title)}")
        click.echo(f"  {printable(drawing)}")
        click.echo(f"  {counts}")
        for note in document.notes:
            click.echo(f"  {note}")
        then = (
            "creaseproof certify tells whether it folds flat"
            if document.creases
            else "creaseproof construct makes a pattern for it"
        )
        click.echo(f"  written to {printable(str(output))}; {then}")


def _counts(document: Document) -> dict[str, dict[str, int]]:
    facts = {
        "points": len(document.points),
        "creases": len(document.creases),
        "target outlines": len(document.loops),
        "open target lines": len(document.paths),
        "holes": len(document.holes),
    }
    return {"facts": facts}
