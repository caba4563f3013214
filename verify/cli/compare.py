"""`compare`: two states of a folder of documents, for whoever maintains a program that writes them."""

from __future__ import annotations

from collections.abc import Iterator

import click

from verify.cli.frame import json_option, main, reporting, seconds_option, tell
from verify.pattern.limits import Limits
from verify.tasks.compare import STANDINGS, Comparison
from verify.tasks.compare import compare as run_compare


@main.command()
@click.argument("baseline", type=click.Path())
@click.argument("candidate", type=click.Path())
@seconds_option
@json_option
def compare(baseline: str, candidate: str, seconds: float | None) -> int:
    """Certify BASELINE and CANDIDATE, two folders of documents (or two documents), and say what has changed.

    Documents are matched by file name, in folders below too. A document is worse if it was certified and no longer is,
    is gone, or is certified for less (a claim dropped, more snips allowed). Exit status: 0 nothing is worse, 1
    something is, 2 nothing to compare.
    """
    with reporting(candidate) as progress:
        result = run_compare(baseline, candidate, Limits(seconds=seconds), progress)
    tell(result.keys(), _lines(result))
    return int(result.is_worse)


def _lines(result: Comparison) -> Iterator[str]:
    """A line for each document and finding: what is worse first, each group by name."""
    for standing in STANDINGS:
        for pair in result.pairs:
            if pair.standing == standing:
                for finding in pair.findings:
                    first = "also" if standing == "worse" and finding.level != "fails" else standing
                    yield f"{first:<9}  {pair.name}: {finding.message}"
    worse = "something is worse" if result.is_worse else "no verdict is worse"
    numbers = result.numbers()
    changed = "; the lines above say whether that is harder to fold" if numbers.get("changed") else ""
    yield f"{worse}: {', '.join(f'{n} {standing}' for standing, n in numbers.items() if n)}{changed}"
