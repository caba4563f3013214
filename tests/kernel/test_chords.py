"""Edges along one stretch of a line as chords of a circle, against the conditions for each two of them."""

from __future__ import annotations

import random
from itertools import combinations
from types import SimpleNamespace
from typing import Any

import pytest

from verify.kernel.boxes import has, number_set
from verify.kernel.order import Order, crossed, on_shared_segment
from verify.kernel.table import Table


def stretch(rng: random.Random) -> tuple[Table, Order, list[int]]:
    """Faces on the left and on the right of a line, each with one edge along it to another one, in a random order."""
    flats, lefts, rights = rng.randrange(4), rng.randrange(3), rng.randrange(3)
    left = set(range(flats + 2 * lefts))
    right = list(range(len(left), len(left) + flats + 2 * rights))
    from_left, from_right = rng.sample(sorted(left), len(left)), rng.sample(right, len(right))
    beside = [(from_left.pop(), from_right.pop()) for _ in range(flats)]
    beside += [(from_left.pop(), from_left.pop()) for _ in range(lefts)]
    beside += [(from_right.pop(), from_right.pop()) for _ in range(rights)]
    beside = [rng.choice((pair, pair[::-1])) for pair in beside]
    faces = sorted(left) + right
    sub = SimpleNamespace(beside=beside)
    line = SimpleNamespace(reach={1: number_set(left)})
    table: Any = SimpleNamespace(sub=sub, lines=[line], side_of=lambda _, f: 1 if f in left else -1)
    order: Any = object.__new__(Order)
    stack = rng.sample(faces, len(faces))
    order.over = [number_set(g for g in faces if stack.index(g) > stack.index(f)) for f in faces]
    return table, order, list(range(len(beside)))


@pytest.mark.parametrize("seed", range(40))
def test_chords_cross_iff_two_edges_break_a_condition(seed: int) -> None:
    rng = random.Random(seed)
    found = {True: 0, False: 0}
    for _ in range(100):
        table, order, edges = stretch(rng)
        broken = any(
            sum(has(order.over[g], f) for f, g in on_shared_segment(table, 0, d, e)) % 2
            for d, e in combinations(edges, 2)
        )
        found_at = crossed(table, order, 0, edges)
        assert bool(found_at) == broken
        assert {*found_at} <= {*edges}
        found[broken] += 1
    assert min(found.values()) > 5


def test_upwards() -> None:
    """By the number of those above, so that an exception is heeded where three faces are not in a circle."""
    order: Any = object.__new__(Order)
    order.over = [number_set(above) for above in ([1, 2], [2], [])]
    assert order.upwards({0: 0, 1: 1, 2: 2}) == [0, 1, 2]
    order.over = [number_set(above) for above in ([2], [0, 2], [])]  # 1 below 0, against the stack
    assert order.upwards([0, 1, 2]) == [1, 0, 2]
    assert order.upwards([2, 0]) == [0, 2]
