"""The bound on exact arithmetic: the same numbers inside it as outside, and an end where it is too narrow."""

from __future__ import annotations

from fractions import Fraction

import pytest

from verify.exact.algebraic import element
from verify.exact.effort import EffortSpent, bounded, spend
from verify.exact.field import read_numbers
from verify.exact.numberfield import Field

NESTED = ["sqrt(2)", "sqrt(3+sqrt(2))", "sqrt(5+sqrt(3+sqrt(2)))"]


def inverse() -> tuple[Fraction, ...]:
    x = read_numbers(NESTED).numbers[NESTED[-1]]
    return (1 / (x + 1)).coefficients()


def test_a_wide_bound_changes_nothing() -> None:
    free = inverse()
    with bounded(10**12, 1e6):
        assert inverse() == free


def test_a_narrow_bound_stops_arithmetic() -> None:
    with pytest.raises(EffortSpent) as error, bounded(10_000):
        inverse()
    assert (error.value.limit, error.value.allowed) == ("work", "10,000")
    with pytest.raises(EffortSpent) as error, bounded(10**12, 1e-9):
        inverse()
    assert error.value.limit == "seconds"
    inverse()  # the bound ended with its block


def test_work_is_what_was_booked() -> None:
    with bounded(100):
        spend(60)
        spend(40)
        with pytest.raises(EffortSpent):
            spend(1)
    spend(10**9)


def test_inside_another_bound_that_one_holds() -> None:
    with bounded(100):
        with bounded(10**9):
            spend(60)
        with pytest.raises(EffortSpent):
            spend(60)


def test_the_same_work_is_booked_every_time() -> None:
    def enough(work: int) -> bool:
        try:
            with bounded(work):
                inverse()
        except EffortSpent:
            return False
        return True

    low, high = 0, 10**9
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    assert enough(high)
    assert not enough(high - 1)
    assert enough(high)


def test_a_sign_in_a_ring_that_is_no_field_ends() -> None:
    """(x^2 - 2)(x^2 - 3) has the root sqrt(2), at which x^2 - 2 is 0 and no zero vector: no enclosure tells it."""
    ring = Field((6, 0, -5, 0, 1), (Fraction(5, 4), Fraction(3, 2)), "sqrt(2)")
    with bounded(10**7), pytest.raises(EffortSpent):
        element(ring, (-2, 0, 1)).sign()
    assert element(ring, (-1, 0, 1)).sign() == 1
