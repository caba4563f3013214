"""By how much a cut misses: proved bounds against a library's distances on dense samples, and small shifts."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import atan2, cos, hypot, pi, sin

import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

from tests.profiles import examples
from verify.cutting.deviation import deviation
from verify.cutting.outcome import Outline
from verify.exact.field import read_numbers
from verify.exact.number import Number
from verify.exact.plane import Point

Place = tuple[Fraction | int, Fraction | int]
SLACK = 1e-9


def at(x: Fraction | int, y: Fraction | int) -> Point:
    return Point(Number.of(Fraction(x)), Number.of(Fraction(y)))


def closed(*loops: Sequence[Place]) -> Outline:
    return Outline(tuple(tuple(at(*p) for p in loop) for loop in loops), (), ())


def open_(*paths: Sequence[Place]) -> Outline:
    return Outline((), tuple(tuple(at(*p) for p in path) for path in paths), ())


SQUARE = [(0, 0), (4, 0), (4, 4), (0, 4)]


def moved(loop: Sequence[Place], dx: Fraction | int, dy: Fraction | int) -> list[Place]:
    return [(x + dx, y + dy) for x, y in loop]


def lines(outline: Outline) -> shapely.MultiLineString:
    return shapely.MultiLineString([[(float(p.x), float(p.y)) for p in s] for s in outline.segments()])


def sampled(one: Outline, other: Outline, step: float) -> float:
    """The greatest distance of places on either outline, so far apart, from the other: no more than the true one, and
    by no more than half a step less.
    """
    worst = 0.0
    for a, b in ((lines(one), lines(other)), (lines(other), lines(one))):
        dense = shapely.segmentize(a, step)
        worst = max(worst, float(shapely.distance(shapely.points(shapely.get_coordinates(dense)), b).max()))
    return worst


whole = st.integers(-20, 20)
small = st.fractions(-1, 1, max_denominator=50)


@st.composite
def polygons(draw: st.DrawFn) -> list[Place]:
    """Star-shaped polygons with corners on a fine grid."""
    count = draw(st.integers(3, 7))
    radii = draw(st.lists(st.integers(3, 12), min_size=count, max_size=count))
    return [
        (Fraction(round(r * 64 * cos(2 * pi * k / count)), 64), Fraction(round(r * 64 * sin(2 * pi * k / count)), 64))
        for k, r in enumerate(radii)
    ]


@examples(60)
@given(polygons(), polygons())
def test_the_bounds_hold_for_any_two_polygons(one: list[Place], other: list[Place]) -> None:
    ours, theirs = closed(one), closed(other)
    found = deviation(ours, theirs)
    true = sampled(ours, theirs, 0.01)
    assert 0 <= found.least <= found.most
    assert float(found.least) <= true + 0.005 + SLACK
    assert true <= float(found.most) + SLACK
    swapped = deviation(theirs, ours)
    assert (swapped.least, swapped.most) == (found.least, found.most)


@examples(60)
@given(polygons(), st.lists(st.tuples(small, small), min_size=7, max_size=7))
def test_the_bounds_hold_for_polygons_near_each_other(one: list[Place], by: list[tuple[Fraction, Fraction]]) -> None:
    other = [(x + dx, y + dy) for (x, y), (dx, dy) in zip(one, by, strict=False)]
    ours, theirs = closed(one), closed(other)
    found = deviation(ours, theirs)
    true = sampled(ours, theirs, 0.01)
    assert float(found.least) - 0.005 - SLACK <= true <= float(found.most) + SLACK
    # corner k is no farther from corner k than it was moved
    assert float(found.least) <= max(hypot(float(dx), float(dy)) for dx, dy in by) + SLACK
    if len(found.corners) == len(one):
        assert len(found.edges) == len(one)


@given(polygons(), st.integers(0, 6), st.booleans())
def test_zero_for_equal_outlines(one: list[Place], start: int, back: bool) -> None:
    other = one[start % len(one) :] + one[: start % len(one)]
    found = deviation(closed(one), closed(other[::-1] if back else other))
    assert found.least == found.most == 0
    assert all(abs(e.length_error) < SLACK and abs(e.turn_degrees) < SLACK for e in found.edges)
    assert all(abs(c.angle_error_degrees) < SLACK and c.distance < SLACK for c in found.corners)


@given(polygons(), st.tuples(small, small))
def test_above_zero_for_outlines_that_differ(one: list[Place], by: tuple[Fraction, Fraction]) -> None:
    assume(by != (0, 0))
    corners = [moved(one[:1], *by)[0], *one[1:]]
    for other in (corners, moved(one, *by)):
        found = deviation(closed(one), closed(other))
        assert found.most > 0
        assert found.least > 0 or other == corners  # a corner may have moved along an edge


@pytest.mark.parametrize("exponent", [1, 3, 9, 15, 20, 30])
@pytest.mark.parametrize(("dx", "dy"), [(1, 0), (0, -1), (1, 1), (3, -4)])
def test_small_shifts_give_bounds_of_their_size(exponent: int, dx: int, dy: int) -> None:
    """The distance of a square from itself moved by less than its sides is the length of the move."""
    tiny = Fraction(1, 10**exponent)
    found = deviation(closed(moved(SQUARE, dx * tiny, dy * tiny)), closed(SQUARE))
    square = (dx * dx + dy * dy) * tiny * tiny
    assert found.least * found.least <= square * (1 + Fraction(1, 10**6))
    assert found.most * found.most >= square
    assert found.least >= max(abs(dx), abs(dy)) * tiny * Fraction(999, 1000)
    assert found.most * found.most <= square * Fraction(102, 100)


def test_roots_are_rounded_outwards() -> None:
    """A corner moved by (1, 1)/1000: √2/1000 lies between the bounds, which are tight."""
    found = deviation(closed([*SQUARE[:2], (4 + Fraction(1, 1000), 4 + Fraction(1, 1000)), SQUARE[3]]), closed(SQUARE))
    assert found.least**2 <= Fraction(2, 10**6) <= found.most**2
    assert found.most - found.least < Fraction(1, 10**8)
    assert found.least != found.most


def test_numbers_with_roots() -> None:
    numbers = read_numbers(["sqrt(2)", "sqrt(2)+1e-30"]).numbers
    zero, one, root, near = Number.of(0), Number.of(1), numbers["sqrt(2)"], numbers["sqrt(2)+1e-30"]
    target = Outline(((Point(zero, zero), Point(one, zero), Point(zero, root)),), (), ())
    cut = Outline(((Point(zero, zero), Point(one, zero), Point(zero, near)),), (), ())
    found = deviation(cut, target)
    assert Fraction(1, 10**31) < found.least <= found.most < Fraction(11, 10**31)
    equal = deviation(target, target)
    assert equal.least == equal.most == 0


def test_a_detour_is_seen_from_both_sides() -> None:
    """All of the target is cut, and more: the distance is that of the farthest place of the rest."""
    both, one = closed(SQUARE, moved(SQUARE, 10, 0)), closed(SQUARE)
    for found in (deviation(both, one), deviation(one, both)):
        assert found.least == 10
        assert found.most == 10
    spike = open_([(0, 0), (8, 0), (8, 3), (8, 0), (16, 0)])
    straight = open_([(0, 0), (16, 0)])
    assert deviation(spike, straight).least == 3
    assert deviation(straight, spike).most == 3


def test_the_middle_of_an_edge_may_be_the_farthest_place() -> None:
    """A straight line against one bent away from it: the corner is 3 away; the middle of the line is √(8² − …) less."""
    bent, straight = open_([(0, 0), (8, 3), (16, 0)]), open_([(0, 0), (16, 0)])
    found = deviation(straight, bent)
    assert found.least == 3
    assert 3 <= found.most < Fraction(301, 100)


def test_edges_and_corners() -> None:
    """A square against a rectangle: two edges are 1 longer, the corners right; against a parallelogram: two angles
    larger, two smaller.
    """
    wide = [(0, 0), (5, 0), (5, 4), (0, 4)]
    found = deviation(closed(wide), closed(SQUARE))
    assert sorted(round(e.length_error, 9) for e in found.edges) == [0, 0, 1, 1]
    assert all(abs(c.angle_error_degrees) < SLACK for c in found.corners)
    assert sorted(c.distance for c in found.corners) == pytest.approx([0, 0, 1, 1])
    assert [e.edge for e in found.edges] == [c.corner for c in found.corners] == [0, 1, 2, 3]
    slanted = [(0, 0), (4, 0), (5, 4), (1, 4)]
    found = deviation(closed(slanted), closed(SQUARE))
    lean = 90 - atan2(4, 1) * 180 / pi
    assert [c.angle_error_degrees for c in found.corners] == pytest.approx([-lean, lean, -lean, lean])
    assert [abs(e.turn_degrees) for e in found.edges] == pytest.approx([0, lean, 0, lean])
    assert sorted(e.length_error for e in found.edges) == pytest.approx([0, 0, hypot(1, 4) - 4, hypot(1, 4) - 4])


def test_edges_and_corners_of_several_outlines_are_numbered_through() -> None:
    target = closed(SQUARE, moved(SQUARE, 10, 0))
    found = deviation(closed(moved(SQUARE, 10, 1), SQUARE), target)
    assert [e.edge for e in found.edges] == list(range(8))
    assert [c.distance for c in found.corners] == pytest.approx([0] * 4 + [1] * 4)


def test_other_numbers_of_corners_are_not_compared() -> None:
    found = deviation(closed([(0, 0), (4, 0), (4, 4)]), closed(SQUARE))
    assert (found.edges, found.corners) == ((), ())
    assert found.least > 0


@pytest.mark.parametrize(
    ("one", "other"), [(Outline((), (), ()), closed(SQUARE)), (closed(SQUARE), Outline((), (), ()))]
)
def test_nothing_to_compare(one: Outline, other: Outline) -> None:
    with pytest.raises(ValueError, match="nothing to compare"):
        deviation(one, other)


def test_a_point_in_mid_edge_does_not_loosen_the_bound() -> None:
    """The same square with a point in one side, at a place that is no eighth of it: the outlines are the same set."""
    found = deviation(closed(SQUARE), closed([(0, 0), (Fraction(13, 8), 0), *SQUARE[1:]]))
    assert found.least == 0
    assert found.most < Fraction(1, 1000)


@pytest.mark.parametrize("exponent", [1, 3, 9, 30])
def test_nor_does_a_corner_that_is_nearly_straight(exponent: int) -> None:
    """The side is bent by so little at the point: that is the distance."""
    tiny = Fraction(1, 10**exponent)
    for outlines in (
        (SQUARE, [(0, 0), (Fraction(13, 8), -tiny), *SQUARE[1:]]),
        ([(0, 0), (Fraction(13, 8), -tiny), *SQUARE[1:]], SQUARE),
    ):
        found = deviation(closed(outlines[0]), closed(outlines[1]))
        assert tiny * Fraction(999, 1000) <= found.least <= tiny <= found.most < tiny * Fraction(1001, 1000)
