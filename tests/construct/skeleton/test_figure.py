"""The figure: along which lines the sheet is folded, against a least T-join by networkx."""

from __future__ import annotations

import random
from collections import Counter
from itertools import chain

import networkx as nx
import pytest

from verify.construct.skeleton.figure import _along_trees, joined


def odd_points(lines: list[tuple[int, int]]) -> set[int]:
    return {v for v, count in Counter(chain.from_iterable(lines)).items() if count % 2}


@pytest.mark.parametrize("extra", [0, 1, 3])
@pytest.mark.parametrize("seed", range(20))
def test_lines_of_trees_are_in_every_set_that_ends_at_the_odd_points(seed: int, extra: int) -> None:
    rng = random.Random(seed)
    tree = [(rng.randrange(v), v) for v in range(1, 12) if rng.random() < 0.9]  # of several trees, now and then
    more = {(a, b) for a, b in (sorted(rng.sample(range(12), 2)) for _ in range(extra))}
    ends = [*tree, *(more - set(tree))]
    graph = nx.Graph([(a, b, {"weight": rng.uniform(1, 2)}) for a, b in ends])
    chosen = joined(graph, list(odd_points(ends)))
    least = {i for i, line in enumerate(ends) if frozenset(line) in chosen}
    forced, left = _along_trees(ends, odd_points(ends))
    assert forced <= least
    assert left == odd_points([ends[i] for i in least - forced])
    assert extra or (forced == least and not left)
