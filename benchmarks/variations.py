"""Proportions near those of a letterform: what a search for better ones goes through."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import combinations, product
from typing import Any


def variations(keys: Mapping[str, Any], most: int = 2) -> Iterator[dict[str, Any]]:
    """A grid with up to `most` of its rows and columns one unit larger or smaller, the fewest changes first, itself to
    begin with.

    `keys` are the proportions as `forms.toml` has them; cells stay, and so do rows that are not whole numbers. Raises
    `ValueError` for polygons, which have no rows.

    >>> [v["rows"] for v in variations({"cells": ["#", "."], "rows": [1, 2], "columns": ["1/2"]}, 1)]
    [[1, 2], [2, 2], [1, 1], [1, 3]]
    """
    if "cells" not in keys:
        raise ValueError("found a form without cells; expected rows and columns that can be varied")
    sizes = [*keys["rows"], *keys["columns"]]
    free = [i for i, size in enumerate(sizes) if isinstance(size, int)]
    for count in range(most + 1):
        for places in combinations(free, count):
            for changes in product((-1, 1), repeat=count):
                varied = list(sizes)
                for i, change in zip(places, changes, strict=True):
                    varied[i] += change
                if all(varied[i] > 0 for i in places):
                    split = len(keys["rows"])
                    yield {**keys, "rows": varied[:split], "columns": varied[split:]}
