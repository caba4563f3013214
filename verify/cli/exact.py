"""`exact`: an exact pattern near a drawing with rounded numbers."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import click

from verify.cli.frame import json_option, main, reporting, tell
from verify.cli.options import Amount, Whole
from verify.cli.output import PATTERN, Outputs, force_option, output_option
from verify.pattern.recipe import load_any
from verify.tasks.certify import certify
from verify.tasks.exact import Exact
from verify.tasks.exact import exact as run_exact
from verify.tasks.explain import summary_at
from verify.tasks.repair import NoRepair, repaired, with_repairs
from verify.words.findings import Finding, answer


@main.command(name="exact")
@click.argument("document", metavar="PATTERN", type=click.Path())
@output_option("Write the exact pattern here (.toml or .json).")
@click.option(
    "--most",
    type=Amount("mm"),
    help="Move no point farther than this, in mm.  [default: one and a half units of the last digit written]",
)
@click.option(
    "--accept",
    type=Whole(min=1),
    metavar="N",
    help="Apply repair N that certify proposes for PATTERN before anything is moved.",
)
@force_option
@json_option
def exact_command(document: str, output: Path, most: Fraction | None, accept: int | None) -> str:
    """Propose an exact pattern near PATTERN, drawn with rounded numbers, and certify it.

    It says what moved and by how much. The exit status is the verdict on the proposed pattern, or 3 if none is found.
    If nothing moved, the pattern is written only if it is certified.
    """
    outputs = Outputs([document])
    outputs.expect(output, PATTERN)
    read = load_any(document)
    try:
        with reporting(document) as progress:
            given = repaired(document, accept) if accept is not None else read
            found = run_exact(given, most_mm=most, progress=progress)
    except NoRepair as error:
        raise click.UsageError(str(error)) from None
    as_it_was = accept is None and found.proposal is not None and not found.proposal.moves
    place = None if as_it_was and found.verdict != "certified" else output
    outputs.write_document(place, found.pattern)
    made = [f"{c.start}–{c.end} ({c.kind})" for c in given.creases if c not in read.creases]
    repair = f"repair {accept} is applied" + (f": crease {', '.join(made)}" if made else "")
    is_stuck = found.proposal is None or (as_it_was and found.verdict == "refuted")
    offered: list[Finding] = []
    if accept is None and is_stuck:
        offered = [f for f in with_repairs(found.result or certify(read)).findings if f.check == "repair"]
    tell(_keys(document, place, found, offered), [*_lines(found, place, accept, repair), *_offers(offered)])
    return found.verdict


def _lines(found: Exact, place: Path | None, accept: int | None, repair: str) -> Iterator[str]:
    if found.result is None or found.proposal is None:
        yield f"{found.verdict}: {found.reason}"
        return
    if accept is not None:
        yield repair
    given = "as drawn" if accept is None else f"with repair {accept}"
    yield from found.proposal.summary(given, found.verdict == "certified")
    if place is None:
        yield "  nothing written: the result would be the drawing unchanged"
    else:
        yield f"  written to {place}{', as it was' if accept is None and not found.proposal.moves else ''}"
    yield from summary_at(found.result, place)


def _offers(repairs: list[Finding]) -> Iterator[str]:
    """What else may help where no other coordinates do."""
    for finding in repairs:
        yield f"  {finding.message}"
    if repairs:
        yield "  --accept N applies repair N before anything is moved"


def _keys(path: str, place: Path | None, found: Exact, offered: list[Finding]) -> dict[str, object]:
    if found.result is None or found.proposal is None:
        document = found.document
        keys = answer(found.verdict, Finding("exact", "no-proposal", "advice", found.reason), *offered)
        said = {"statement_sha256": document.statement_sha256, "claims": list(document.claims)}
        return {"document": path} | keys | said | {"proposal": None}
    output = None if place is None else str(place)
    result = replace(found.result, findings=(*found.result.findings, *offered))
    return result.keys() | {"document": path, "output": output, "proposal": found.proposal.keys()}
