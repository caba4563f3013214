"""The directions that lines are given."""

from __future__ import annotations

from fractions import Fraction
from math import atan2, pi, radians

import pytest
from hypothesis import given
from hypothesis import strategies as st

from verify.construct.coordinates import directions as way
from verify.construct.coordinates.directions import FAMILIES, Family
from verify.exact.field import read_numbers
from verify.exact.number import Number
from verify.exact.plane import Point


def vector(x: int, y: int) -> Point:
    return Point(Number.of(x), Number.of(y))


@pytest.mark.parametrize("base", [vector(1, 0), vector(12, 5), vector(7, -24)])
@pytest.mark.parametrize("step", [f.step for f in FAMILIES])
def test_a_family_goes_round_half_a_turn_in_equal_steps(step: Fraction, base: Point) -> None:
    family = Family(step, base)
    found = family.directions(read_numbers(["0", *family.tangents]).numbers)
    assert len(found) == 180 / step
    for k, d in enumerate(found):
        expected = atan2(float(base.y), float(base.x)) + radians(float(k * step))
        assert way.turn(way.angle_of(d) - expected) == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize(
    ("multiples", "name"), [([1, 4], "22.5"), ([2, 4], "45"), ([0, 4], "90"), ([0], "90"), ([0, 6], "45")]
)
def test_a_family_is_named_by_its_coarsest_angle(multiples: list[int], name: str) -> None:
    assert FAMILIES[0].name(multiples) == f"multiples of {name}°"


@given(st.fractions(min_value=-50, max_value=50), st.fractions(min_value=0, max_value=3, max_denominator=200))
def test_the_simplest_fraction_of_an_interval(low: Fraction, width: Fraction) -> None:
    found = way.simplest_between(low, low + width)
    assert low <= found <= low + width
    for denominator in range(1, min(found.denominator, 60)):
        assert -(-low * denominator // 1) > (low + width) * denominator


@given(st.integers(-12, 12), st.integers(-12, 12), st.floats(-1, 1))
def test_small_slopes_are_seen_through_rounding(x: int, y: int, noise: float) -> None:
    if x or y:
        angle, within = atan2(y, x), 0.0006
        found = way.small_slope(angle + noise * within * 0.999, within)
        assert found is not None
        assert found.x * y == found.y * x


def test_a_slope_by_chance_is_none() -> None:
    assert way.small_slope(0.7071, 0.02) is None
    assert way.small_slope(0.7071, 0.02, float("inf")) is not None
    assert way.small_slope(0.5, 1.0) is None


@given(st.lists(st.tuples(st.integers(-9, 9), st.integers(-9, 9)).filter(any), min_size=1, max_size=7))
def test_the_last_fold_makes_the_alternating_sum_a_multiple_of_180(others: list[tuple[int, int]]) -> None:
    if len(others) % 2:
        last = way.last_direction([vector(*v) for v in others])
        total = sum((-1) ** i * atan2(y, x) for i, (x, y) in enumerate(others)) - way.angle_of(last)
        assert abs(way.turn(total)) < 1e-9


def test_the_nearest_direction_and_none() -> None:
    axes = [vector(1, 0), vector(0, 1)]
    assert way.nearest(pi - 0.01, axes, 0.02) == 0
    assert way.nearest(pi / 2 + 0.01, axes, 0.02) == 1
    assert way.nearest(0.3, axes, 0.02) is None
    assert way.nearest(0.3, [], 0.02) is None


def test_the_common_base_of_lines_that_go_together() -> None:
    turned = [(0.3 + k * pi / 4 + e, 100.0, 0.001) for k, e in enumerate([0.0002, -0.0003, 0.0001, 0.0])]
    base = way.common_base([*turned, (1.4, 50.0, 0.002)], 0, Fraction(45))
    assert base is not None
    assert way.turn((way.angle_of(base) - 0.3) % (pi / 2)) == pytest.approx(0, abs=0.0006)
    assert way.common_base([(k * pi / 4, 100.0, 0.001) for k in range(4)], 0, Fraction(45)) is None
    assert way.common_base([(0.3, 100.0, 0.001), (0.77, 100.0, 0.001)], 0, Fraction(45)) is None
