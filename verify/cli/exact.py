"""`exact`: an exact pattern near a drawing with rounded numbers."""

from __future__ import annotations

import json
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import NoReturn

import click

from verify.cli.frame import EXIT, end, json_option, main, malformed_keys, reporting
from verify.cli.options import Amount
from verify.cli.output import PATTERN, Outputs, force_option
from verify.construct.nearby import proposals
from verify.pattern.document import IN_MM, Document, Malformed
from verify.pattern.limits import LimitReached
from verify.pattern.recipe import Recipe, load_any
from verify.tasks.certify import certify as run_certify
from verify.tasks.explain import summary


@main.command()
@click.argument("document", type=click.Path())
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path),
    required=True,
    help="Write the exact pattern here (.toml or .json).",
)
@click.option(
    "--most",
    type=Amount("mm"),
    help="Move no point farther than this, in mm.  [default: one and a half units of the last digit written]",
)
@force_option
@json_option
def exact(document: str, output: Path, most: Fraction | None, force: bool, as_json: bool) -> None:
    """Propose an exact pattern near DOCUMENT, a drawing with rounded numbers, and certify it.

    Says what moved and by how much. The exit status is that of the pattern proposed; 3 if none is found.
    """
    outputs = Outputs([document], force=force)
    outputs.expect(output, PATTERN)
    try:
        with reporting(document) as progress:
            drawing = load_any(document)
            if isinstance(drawing, Recipe):
                _no_proposal(document, drawing, "unsupported", "the folds of a recipe are exact by themselves", as_json)
            allowed = most / IN_MM[drawing.unit] if most is not None else None
            found = proposals(drawing, allowed)
            chosen = None
            for proposal in found:
                result = run_certify(replace(proposal.document, source=str(output)), progress=progress)
                if chosen is None or result.verdict == "certified":
                    chosen = proposal, result
                if result.verdict == "certified":
                    break
    except Malformed as error:
        click.echo(json.dumps(malformed_keys(document, error)) if as_json else f"malformed: {error}")
        end(EXIT["malformed"])
    except LimitReached as limit:
        _no_proposal(document, drawing, "undecided", f"{limit}; nothing is proved either way", as_json)
    if chosen is None:
        reason = "no pattern of the known families whose folds close is so near the drawing; --most MM looks farther"
        _no_proposal(document, drawing, "undecided", reason, as_json)
    proposal, result = chosen
    outputs.write_document(output, proposal.document)
    if as_json:
        click.echo(
            json.dumps(result.keys() | {"document": document, "output": str(output), "proposal": proposal.keys()})
        )
    else:
        for line in (*proposal.summary(), f"  written to {output}", *summary(result)):
            click.echo(line)
    end(EXIT[result.verdict])


def _no_proposal(path: str, document: Document | Recipe, verdict: str, reason: str, as_json: bool) -> NoReturn:
    if as_json:
        finding = {"check": "exact", "kind": "no-proposal", "level": "advice", "message": reason, "where": []}
        keys = {"document": path, "verdict": verdict, "statement_sha256": document.statement_sha256}
        click.echo(
            json.dumps(keys | {"claims": list(document.claims), "findings": [finding], "facts": {}, "proposal": None})
        )
    else:
        click.echo(f"{verdict}: {reason}")
    end(EXIT[verdict])
