"""Counting ends at its limits, and finds orders where dead ends come first."""

from __future__ import annotations

import pytest
from sympy import Matrix

import verify
from tests.families import twists
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


@pytest.mark.parametrize("rows", [1, pytest.param(2, marks=pytest.mark.long)])
def test_tessellations_of_any_length_are_counted_as_transfer_matrices_say(rows: int) -> None:
    """A tessellation of so many rows has the same states between any two of its columns, so that the numbers for 1, 2,
    3, … columns satisfy a linear recurrence (Stanley, Enumerative Combinatorics I, 4.7): a Hankel matrix of them that
    is larger than it is long has determinant 0. A number that is off by one breaks that.
    """
    counts = [verify.count(twists(columns, rows)) for columns in range(1, 18)]
    for numbers in ([c.folding for c in counts], [c.orders for c in counts]):
        assert None not in numbers
        assert Matrix(9, 9, lambda i, j, n=numbers: n[i + j]).det() == 0
        numbers[-1] += 1
        assert (
            Matrix(9, 9, lambda i, j, n=numbers: n[i + j]).rank()
            > Matrix(8, 8, lambda i, j, n=numbers: n[i + j]).rank()
        )


def test_a_tessellation_of_a_thousand_panels_is_counted() -> None:
    found = verify.count(twists(100, 2))
    assert found.reached == ()
    assert found.folding is not None
    assert found.orders is not None
    assert 10**71 < found.folding < 10**72 < 10**115 < found.orders < 10**116
