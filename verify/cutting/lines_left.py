"""On how many lines the target lies as a recipe goes on: one at the end, to be cut at once. Exact."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

from verify.exact.number import Number
from verify.exact.plane import Point, line_of
from verify.folding.steps import Folded


def lines_left(folded: Folded) -> list[int]:
    """The number of lines off the sheet's own edge, before the first step and after each; empty without a target."""
    edges = sorted(_target_edges(folded))
    lines: dict[tuple[int, int], tuple[Number, ...]] = {}
    counts: list[int] = []
    before: list[Point] | None = None
    for state in folded.paper.states if edges else ():
        now = state.images
        for u, v in edges:
            if before is None or now[u] != before[u] or now[v] != before[v]:
                lines[u, v] = line_of(now[u], now[v])
        counts.append(len(set(lines.values())))
        before = now
    return counts


def _target_edges(folded: Folded) -> Iterator[tuple[int, int]]:
    """The target's edges between vertices of the folded paper, with paper on both sides."""
    paper = folded.paper
    for chain in paper.subdivision.target_chains:
        for a, b in itertools.pairwise(paper.refined(chain)):
            if (a, b) in paper.beside and (b, a) in paper.beside:
                yield min(a, b), max(a, b)
