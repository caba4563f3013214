"""`import`: a pattern document from a drawing."""

from __future__ import annotations

import json
from pathlib import Path

import click

from verify.cli.frame import EXIT, end, json_option, main, malformed_keys
from verify.cli.output import PATTERN, Outputs, force_option
from verify.pattern.document import Document, Malformed, printable
from verify.pattern.svg import MARGIN, Rule, Unsupported, pattern_from_svg, rules_from_toml, target_from_svg


@main.command("import")
@click.argument("drawing", type=click.Path())
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path),
    required=True,
    help="Write the document here (.toml or .json).",
)
@click.option(
    "--target",
    "as_target",
    is_flag=True,
    help="Every line that no rule maps is the target (so it is without any rule, too).",
)
@click.option(
    "--line",
    "lines",
    multiple=True,
    metavar="RULE",
    help="What lines mean, such as class=ridge:mountain or stroke=#d00 and dash=4 2:valley. "
    "Keys: stroke, dash, class, layer, id, element. "
    "Kinds: mountain, valley, either, flat, target, border, ignore. May be repeated.",
)
@click.option("--lines", "table", type=click.Path(), help="A TOML file with such rules, a table [[line]] for each.")
@click.option(
    "--margin",
    metavar="MM",
    help=f"Sheet round the drawing's bounding box, in mm.  [default: {MARGIN} for a target; else the border lines]",
)
@click.option("--flatten", metavar="MM", help="Replace curves by straight lines that stay within MM of them.")
@click.option(
    "--width", metavar="LENGTH", help="The drawing's width, such as 120mm, if the file does not state its size."
)
@force_option
@json_option
def import_(
    drawing: str,
    output: Path,
    as_target: bool,
    lines: tuple[str, ...],
    table: str | None,
    margin: str | None,
    flatten: str | None,
    width: str | None,
    force: bool,
    as_json: bool,
) -> None:
    """Read DRAWING, an SVG file, and write a pattern document in mm with the same numbers, exactly.

    Nothing is proved: certify the document. Exit status: 0 written, 2 malformed, 4 unsupported.
    """
    outputs = Outputs([drawing, *([table] if table is not None else [])], force=force)
    outputs.expect(output, PATTERN)
    try:
        rules = [*(rules_from_toml(table) if table is not None else ()), *map(Rule.parse, lines)]
        if as_target or not rules:
            document = target_from_svg(drawing, sheet=margin, rules=rules, flatten=flatten, width=width)
        else:
            document = pattern_from_svg(drawing, rules, margin=margin, flatten=flatten, width=width)
    except Malformed as error:
        verdict = "unsupported" if isinstance(error, Unsupported) else "malformed"
        if as_json:
            keys = malformed_keys(drawing, error) | {"verdict": verdict}
            keys["findings"][0]["kind"] = verdict
            click.echo(json.dumps(keys))
        else:
            click.echo(f"{verdict}: {error}")
        end(EXIT[verdict])
    outputs.write_document(output, document)
    if as_json:
        click.echo(json.dumps({"document": drawing, "output": str(output), **_counts(document)}))
    else:
        counts = ", ".join(
            f"{n} {what.removesuffix('s') if n == 1 else what}" for what, n in _counts(document)["facts"].items() if n
        )
        click.echo(f"read: {printable(document.title)}")
        click.echo(f"  {printable(drawing)}")
        click.echo(f"  {counts}")
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
