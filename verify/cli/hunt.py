"""`hunt`: looking for a counterexample."""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from verify.cli.frame import json_option, main, reporting, tell
from verify.cli.options import Decimal
from verify.cli.output import CERTIFICATE, DOCUMENT, Outputs, force_option, output_option
from verify.errors import optional
from verify.pattern.limits import Progress
from verify.words.findings import Finding, answer, counted

if TYPE_CHECKING:
    from verify.hunt.hunt import Counterexample, PropertyError
    from verify.pattern.document import Document

_EVERY = 5


@main.command()
@click.argument("wanted", metavar="PROPERTY", required=False)
@click.option("--among", metavar="STRATEGY", help="Hunt among these patterns instead (see --list).")
@click.option("--seconds", type=Decimal("seconds", 10**9), default=60, help="Hunt for this long.")
@click.option("--seed", type=int, default=0, help="The same seed draws the same patterns.")
@output_option(
    "The folder to which a counterexample is written, with its certificate.",
    required=False,
    default=Path("counterexamples"),
    file_okay=False,
)
@click.option("--list", "listing", is_flag=True, help="List the shipped properties and strategies.")
@force_option
@json_option
def hunt(
    wanted: str | None,
    among: str | None,
    seconds: float,
    seed: int,
    output: Path,
    listing: bool,
) -> int:
    """Look for a small pattern that breaks PROPERTY.

    PROPERTY is the name of a shipped one (--list), or module:function for your own: a function of a document that
    returns whether the property holds, or raises AssertionError. Exit status: 0 nothing found (which proves nothing), 1
    a counterexample was found and written, 2 the property is at fault: it raised another error, or returned what
    is no bool.
    """
    optional("hypothesis", "hunt", "hunt")
    from verify.hunt.hunt import NoSuchProperty, PropertyError, find_property
    from verify.hunt.hunt import hunt as run_hunt

    if listing:
        from verify.hunt.properties import SHIPPED
        from verify.hunt.strategies import SHIPPED as STRATEGIES

        properties = ((f"{p.name} ({p.known}): {p.statement}", f"    {p.source}") for p in SHIPPED.values())
        listed = [*chain(*properties), f"strategies: {', '.join(STRATEGIES)}"]
        tell(answer(None, listed=listed), listed)
        return 0
    if wanted is None:
        raise click.UsageError("PROPERTY: found nothing; expected a name (creaseproof hunt --list) or module:function")
    if ":" in wanted and "" not in sys.path:
        sys.path.insert(0, "")  # a module in the folder in which the command is called
    try:
        property_ = find_property(wanted, among)
    except NoSuchProperty as error:
        raise click.UsageError(str(error)) from None
    outputs = Outputs()
    stem = re.sub(r"[^A-Za-z0-9]+", "-", property_.name).strip("-")
    place, wrong, beside = (output / f"{stem}.{end}" for end in ("toml", "error.toml", "certificate.json"))
    for path, kind in ((place, DOCUMENT), (beside, CERTIFICATE), (wrong, DOCUMENT)):
        outputs.expect(path, kind, folder=True)
    try:
        with _progress(wanted) as progress:
            outcome = run_hunt(property_, seconds, seed, progress)
    except PropertyError as error:
        return _at_fault(property_.name, error, seed, outputs, wrong)
    keys: dict[str, Any] = {
        "property": property_.name,
        "statement": property_.statement,
        "known": property_.known,
        "source": property_.source,
        "seed": seed,
        "tried": outcome.tried,
        "undecided": outcome.undecided,
        "found": outcome.found is not None,
    }
    tried = f"{outcome.tried:,} patterns tried, {outcome.undecided:,} of them undecided, seed {seed}"
    stated = "" if property_.statement == property_.name else f": {property_.statement}"
    lines = [f"{property_.name}{stated}", f"  {property_.known} ({property_.source}); {tried}"]
    if outcome.found is None:
        tell(keys | answer(None), ["no counterexample found: that proves nothing", *lines])
        return 0
    title = f"Counterexample to {property_.name}, seed {seed}"
    saved = _save(outcome.found, title, outputs, place, beside)
    lines += [f"  {_size(outcome.found.value)}; {outcome.found.reason}"]
    lines += [f"  written to {saved['document']} ({saved['verdict']})"]
    tell(keys | saved | {"reason": outcome.found.reason}, ["counterexample found", *lines])
    return 1


def _size(document: Document) -> str:
    """How much is drawn: 3 creases; 1 step."""
    ((what, number),) = document.size.items()
    return counted(number, what.removesuffix("s"))


def _at_fault(name: str, error: PropertyError, seed: int, outputs: Outputs, path: Path) -> int:
    """Say what the property did, and write what it was asked about; the exit status."""
    document = error.value.called(f"Error of {name}, seed {seed}", str(path))
    outputs.write_document(path, document)
    message = f"error of the property {name}: {error}"
    keys = answer(None, Finding("hunt", "property-error", "fails", message), found=False)
    lines = [message, f"  no verdict on it; asked about {_size(document)}, written to {path}"]
    tell({"property": name, "seed": seed, "document": str(path)} | keys | document.size, lines)
    return 2


@contextmanager
def _progress(what: str) -> Iterator[Progress]:
    """Progress on standard error: one line that changes on a terminal, now and then a line of its own elsewhere."""
    with reporting(what) as status:
        count = 0

        def say(message: str) -> None:
            nonlocal count
            if count % _EVERY == 0:
                click.echo(f"{what}: {message}", err=True)
            count += 1

        yield status or say


def _save(found: Counterexample, title: str, outputs: Outputs, path: Path, beside: Path) -> dict[str, Any]:
    """Write the counterexample and its certificate; what the verdict on it is, and where it lies."""
    from verify.tasks.certify import certify

    document = found.value.called(title, str(path))
    outputs.write_document(path, document)
    keys = answer(None)
    try:
        result = certify(document)
    except Exception as error:  # what was found may be a fault of this very package
        keys = answer(None, Finding("hunt", "error", "fails", str(error)))
    else:
        keys |= result.keys()
        outputs.write_certificate(beside, result.certificate)
        keys |= {} if result.certificate is None else {"certificate": str(beside)}
    return keys | document.size | {"document": str(path)}
