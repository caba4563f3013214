"""Counting ends at its limits, and finds orders where dead ends come first."""

from __future__ import annotations

import pytest

import verify
from verify.pattern.families import stamps
from verify.pattern.limits import Limits


@pytest.mark.parametrize("size", [8, 11])
def test_past_the_seconds_nothing_is_guessed(size: int) -> None:
    counted = verify.count(stamps(size, size), Limits(seconds=0.01))
    assert (counted.at_vertices, counted.folding, counted.orders) == (None, None, None)
    assert counted.reached == ("the limit seconds = 0.01 was reached: counting was not finished",)


def test_a_map_of_64_stamps_has_more_than_three_orders() -> None:
    """Splitting and propagating alone runs from one dead end into the next."""
    counted = verify.count(stamps(8, 8), Limits(orders=3))
    assert counted.at_vertices == 2**63  # as in `tests/values/test_maps.py`
    assert counted.reached == ("the limit orders = 3 was reached: there are more layer orders than that",)


def test_the_count_does_not_depend_on_when_the_solver_is_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    every = verify.count(stamps(3, 3))
    monkeypatch.setattr("verify.folding.count._BARREN", -1)
    assert verify.count(stamps(3, 3)) == every
