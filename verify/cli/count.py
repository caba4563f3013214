"""`count`: assignments and layer orders of a pattern."""

from __future__ import annotations

import json

import click

from verify.cli.frame import EXIT, end, json_option, main, malformed_keys, reporting, seconds_option
from verify.folding.count import count as run_count
from verify.pattern.document import Malformed
from verify.pattern.limits import Limits


@main.command()
@click.argument("document", type=click.Path())
@seconds_option
@click.option(
    "--orders",
    type=click.IntRange(min=1),
    default=Limits().orders,
    show_default=True,
    help="Count no more layer orders than this.",
)
@json_option
def count(document: str, orders: int, seconds: float | None, as_json: bool) -> None:
    """Count the assignments that fold at every vertex, the assignments that fold, and the layer orders of DOCUMENT.

    One face is held with its front up; folds drawn mountain or valley keep their direction.
    """
    try:
        with reporting(document) as progress:
            result = run_count(document, Limits(orders=orders, seconds=seconds), progress)
    except Malformed as error:
        click.echo(json.dumps(malformed_keys(document, error)) if as_json else f"malformed: {error}")
        end(EXIT["malformed"])
    rows = (
        ("assignments valid at every vertex", "assignments_at_vertices", result.at_vertices),
        ("assignments that fold", "assignments_that_fold", result.folding),
        ("layer orders", "layer_orders", result.orders),
    )
    if as_json:
        click.echo(json.dumps({key: value for _, key, value in rows} | {"reached": list(result.reached)}))
    else:
        for name, _, value in rows:
            click.echo(f"{name:<36}{'undecided' if value is None else value}")
        for limit in result.reached:
            click.echo(f"  {limit}")
    end(EXIT["undecided"] if result.reached else 0)
