"""`import`: a pattern document from a drawing."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import click

from verify.cli.drawing import DrawingOptions, drawing_options, how_large
from verify.cli.frame import json_option, main, tell, with_notes
from verify.cli.output import PATTERN, TARGET, Outputs, force_option, output_option
from verify.pattern.document import Document
from verify.words.findings import answer, counted
from verify.words.target_advice import advice_on_target


@main.command("import")
@click.argument("drawing", type=click.Path())
@output_option("Write the document here (.toml or .json).")
@click.option(
    "--target",
    "as_target",
    is_flag=True,
    help="Every line without a rule is the target (the default unless a rule names creases or the target).",
)
@drawing_options
@force_option
@json_option
def import_(drawing: str, output: Path, as_target: bool, drawn: DrawingOptions) -> int:
    """Read DRAWING, an SVG file, and write a pattern document in mm with the same numbers, exactly. Lines of the target
    that close, end to end, are one outline.

    Nothing is proved: certify the document. Exit status: 0 written, 2 malformed, 4 unsupported.
    """
    outputs = Outputs([drawing, *drawn.files])
    document = drawn.read(drawing, target=as_target)
    if document.paths:
        from verify.construct.moves.joining import closed_lines  # slow to load

        document = closed_lines(document)
    outputs.expect(output, PATTERN if document.creases else TARGET)
    outputs.write_document(output, document)
    notes = [*document.notes, *advice_on_target(document)]
    keys = answer(None, document=drawing, output=str(output), notes=notes, facts=_facts(document))
    tell(keys, with_notes(_lines(drawing, document, output), notes))
    return 0


def _lines(drawing: str, document: Document, output: Path) -> Iterator[str]:
    yield f"read: {document.title}"
    yield f"  {drawing}"
    yield "  " + ", ".join(counted(n, what.removesuffix("s")) for what, n in _facts(document).items() if n)
    for line in how_large(document):
        yield f"  {line}"
    then = (
        "certify says whether it folds flat"
        if document.creases
        else "recipe looks for folds, creaseproof construct makes a pattern"
    )
    yield f"  written to {output}; creaseproof {then}"


def _facts(document: Document) -> dict[str, int]:
    return {
        "points": len(document.points),
        "creases": len(document.creases),
        "target outlines": len(document.loops),
        "open target lines": len(document.paths),
        "holes": len(document.holes),
    }
