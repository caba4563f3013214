"""`count`: assignments and layer orders of a pattern."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from shlex import quote
from typing import Any

import click

from verify.cli.frame import json_option, main, reporting, seconds_option, tell
from verify.cli.options import Whole
from verify.cli.output import PATTERN, Outputs, force_option, output_option
from verify.folding.count import count as run_count
from verify.folding.count import read_pattern
from verify.pattern.limits import LimitReached, Limits
from verify.words.findings import answer, counted, listed

_NAMED = 4


@main.command()
@click.argument("document", metavar="PATTERN", type=click.Path())
@seconds_option
@click.option(
    "--orders",
    type=Whole(min=1),
    default=Limits().orders,
    help="Count at most this many layer orders.",
)
@click.option(
    "--list",
    "listed",
    type=Whole(min=1),
    metavar="N",
    help="Write the layer orders, at most N, each as a pattern with its certificate.",
)
@output_option("The folder to write them to.", required=False)
@force_option
@json_option
def count(document: str, orders: int, listed: int | None, output: Path | None, seconds: float | None) -> str | int:
    """Count the assignments of PATTERN that fold at every vertex, those that fold, and its layer orders.

    One panel is held with its front up; folds drawn mountain or valley keep their direction. With --list
    it writes order-1.toml, order-1.certificate.json and so on instead, and counts nothing.
    """
    if (listed is None) != (output is None):
        raise click.UsageError("--list N and -o FOLDER go together")
    if listed is not None and output is not None:
        return _list(document, listed, output, Limits(seconds=seconds))
    with reporting(document) as progress:
        result = run_count(document, Limits(orders=orders, seconds=seconds), progress)
    rows = (
        ("assignments valid at every vertex", "assignments_at_vertices", result.at_vertices),
        ("assignments that fold", "assignments_that_fold", result.folding),
        ("layer orders", "layer_orders", result.orders),
    )
    lines = [f"{name:<36}{'undecided' if value is None else value}" for name, _, value in rows]
    if result.folding == 0:
        lines.append(f"  `creaseproof certify {quote(document)}` says why none folds")
    return _told(lines, result.reached, document=document, **{key: value for _, key, value in rows})


def _list(document: str, most: int, output: Path, limits: Limits) -> str | int:
    """Write the layer orders one by one; what the command comes to."""
    from verify.tasks.orders import orders as orders_of  # slow to load

    outputs = Outputs([document])
    number, reached = 0, []
    places: list[Path] = []
    try:
        pattern = read_pattern(document)
        with reporting(document) as progress:
            for number, (one, certificate) in enumerate(orders_of(pattern, most, limits, progress), start=1):
                place = output / f"order-{number}.toml"
                places.append(place)
                outputs.expect(place, PATTERN, folder=True)
                outputs.write_document(place, one)
                outputs.write_certificate(outputs.expect_certificate(output, place, several=True), certificate)
    except LimitReached as limit:
        reached = [str(limit)]
    more = ", and there may be more" if number == most else ""
    written = f"{counted(number, 'layer order')} written to {output}{more}" if number else "no layer order"
    before = [path.name for path in sorted(output.glob("order-*.toml")) if path not in places]
    notes = [f"{output} also holds layer orders from before: {listed(before, _NAMED)}"] if before else []
    lines = [written, *(f"  note: {note}" for note in notes)]
    return _told(lines, reached, document=document, layer_orders_written=number, notes=notes)


def _told(lines: Sequence[str], reached: Sequence[str], **keys: Any) -> str | int:
    """The answer, with the limits that were reached, on standard output; what the command comes to."""
    verdict = "undecided" if reached else None
    tell(answer(verdict, **keys, reached=list(reached)), (*lines, *(f"  {limit}" for limit in reached)))
    return verdict or 0
