"""`exact`: an exact pattern near a drawing with rounded numbers."""

from __future__ import annotations

import json
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import click

from verify.cli.frame import EXIT, end, end_not_read, json_option, main, reporting
from verify.cli.options import Amount
from verify.cli.output import PATTERN, Outputs, force_option, output_option
from verify.pattern.recipe import load_any
from verify.pattern.source import Malformed, printable
from verify.tasks.exact import Exact
from verify.tasks.exact import exact as run_exact
from verify.tasks.explain import summary
from verify.tasks.repair import NoRepair, repaired


@main.command(name="exact")
@click.argument("document", type=click.Path())
@output_option("Write the exact pattern here (.toml or .json).")
@click.option(
    "--most",
    type=Amount("mm"),
    help="Move no point farther than this, in mm.  [default: one and a half units of the last digit written]",
)
@click.option(
    "--accept",
    type=click.IntRange(min=1),
    metavar="N",
    help="Apply repair N that certify proposes for DOCUMENT before anything is moved.",
)
@force_option
@json_option
def exact_command(
    document: str, output: Path, most: Fraction | None, accept: int | None, force: bool, as_json: bool
) -> None:
    """Propose an exact pattern near DOCUMENT, a drawing with rounded numbers, and certify it.

    Says what moved and by how much. The exit status is that of the pattern proposed; 3 if none is found.
    """
    outputs = Outputs([document], force=force)
    outputs.expect(output, PATTERN)
    try:
        with reporting(document) as progress:
            read = load_any(document)
            given = repaired(document, accept) if accept is not None else read
            found = run_exact(given, most_mm=most, progress=progress)
    except Malformed as error:
        end_not_read(document, error, as_json)
    except NoRepair as error:
        raise click.UsageError(str(error)) from None
    if found.pattern is not None:
        outputs.write_document(output, found.pattern)
    if as_json:
        click.echo(json.dumps(_keys(document, output, found)))
    else:
        made = ", ".join(f"{c.start}–{c.end} ({c.kind})" for c in given.creases if c not in read.creases)
        if accept is not None and found.pattern is not None:
            click.echo(f"repair {accept} is made{f': crease {printable(made)}' if made else ''}")
        for line in _lines(output, found, "as drawn" if accept is None else f"with repair {accept}"):
            click.echo(line)
    end(EXIT[found.verdict])


def _lines(output: Path, found: Exact, given: str) -> list[str]:
    if found.result is None or found.proposal is None:
        return [f"{found.verdict}: {found.reason}"]
    written = replace(found.result, document=replace(found.proposal.document, source=str(output)))
    same = ", as it was" if given == "as drawn" and not found.proposal.moves else ""
    return [*found.proposal.summary(given), f"  written to {output}{same}", *summary(written)]


def _keys(path: str, output: Path, found: Exact) -> dict[str, object]:
    if found.result is None or found.proposal is None:
        finding = {"check": "exact", "kind": "no-proposal", "level": "advice", "message": found.reason, "where": []}
        return {
            "document": path,
            "verdict": found.verdict,
            "statement_sha256": found.document.statement_sha256,
            "claims": list(found.document.claims),
            "findings": [finding],
            "facts": {},
            "proposal": None,
        }
    return found.result.keys() | {"document": path, "output": str(output), "proposal": found.proposal.keys()}
