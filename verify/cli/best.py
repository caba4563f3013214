"""Options of commands that construct patterns: how many sets of creases are tried, and which pattern is best."""

from __future__ import annotations

from typing import get_args

import click

from verify.cli.options import Whole
from verify.tasks.construct_found import TRIES, Prefer

tries_option = click.option(
    "--tries",
    type=Whole(1, 10_000),
    default=TRIES,
    help="Solve at most this many sets of creases for a figure, and take the best.",
)
prefer_option = click.option(
    "--prefer",
    type=click.Choice(get_args(Prefer)),
    default="folds",
    help="What the best pattern has: the fewest folds, layers at the cut, warnings (hands) or straight creases; the "
    "longest shortest crease, the widest gap between parallel ones or the largest smallest panel; the fewest layers in "
    "one fold; creases that need be least true (accuracy).",
)
