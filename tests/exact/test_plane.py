"""Plane geometry against rational arithmetic, symmetry and known figures; tables against single orientations."""

from __future__ import annotations

import itertools
import math
import random
import sys
from collections import Counter
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.profiles import examples
from verify.exact.batch import Sides, common_field
from verify.exact.field import read_numbers
from verify.exact.number import Number
from verify.exact.numberfield import FieldMismatch
from verify.exact.plane import (
    Point,
    around,
    compare_directions,
    cross,
    direction_order,
    dot,
    locate,
    on_segment,
    orientation,
    polygon_area2,
    polygon_is_simple,
    reflection,
    same_place,
    segment_meeting,
)


def at(x: int | Fraction, y: int | Fraction) -> Point:
    return Point(Number.of(x), Number.of(y))


def pentagon() -> list[Point]:
    """A regular pentagon with circumradius 1, in a field of degree 4."""
    names = [(f"cos({2 * k}*pi/5)", f"sin({2 * k}*pi/5)") for k in range(5)]
    numbers = read_numbers([t for pair in names for t in pair]).numbers
    return [Point(numbers[x], numbers[y]) for x, y in names]


small = st.integers(-4, 4)
places = st.builds(at, small, small)
finer = st.builds(at, st.fractions(-3, 3, max_denominator=4), st.fractions(-3, 3, max_denominator=4))


@given(finer, finer, finer)
def test_orientation_is_the_sign_of_the_determinant(a: Point, b: Point, c: Point) -> None:
    ax, ay, bx, by, cx, cy = [v.as_fraction() for p in (a, b, c) for v in p]
    determinant = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
    assert orientation(a, b, c) == (determinant > 0) - (determinant < 0)
    assert cross(a, b, c) == determinant
    assert orientation(a, b, c) == orientation(b, c, a) == -orientation(b, a, c)


@given(places, places, places, places)
def test_segment_meeting(p: Point, q: Point, r: Point, s: Point) -> None:
    meeting = segment_meeting(p, q, r, s)
    swapped = segment_meeting(r, s, p, q)
    if meeting is None:
        assert swapped is None
        # no point of a fine sample of one is on the other
        for k in range(13):
            share = Fraction(k, 12)
            assert not on_segment(Point(p.x + share * (q.x - p.x), p.y + share * (q.y - p.y)), r, s)
    elif isinstance(meeting, Point):
        assert on_segment(meeting, p, q)
        assert on_segment(meeting, r, s)
        assert isinstance(swapped, Point)
        assert same_place(swapped, meeting)
    else:
        first, last = meeting
        assert not same_place(first, last)
        for end in meeting:
            assert on_segment(end, p, q)
            assert on_segment(end, r, s)
            assert any(same_place(end, corner) for corner in (p, q, r, s))
        assert dot(Point(last.x - first.x, last.y - first.y), Point(q.x - p.x, q.y - p.y)) > 0
        # nothing of the common part is missing: any corner on both lies within it
        for corner in (p, q, r, s):
            if on_segment(corner, p, q) and on_segment(corner, r, s):
                assert on_segment(corner, first, last)
        assert isinstance(swapped, tuple)
        assert {tuple(e) for e in swapped} == {tuple(e) for e in meeting}


def test_segments_that_touch_and_cross() -> None:
    a, b = at(0, 0), at(4, 4)
    assert segment_meeting(a, b, at(0, 4), at(4, 0)) == at(2, 2)
    assert segment_meeting(a, b, at(4, 4), at(9, 0)) == at(4, 4)
    assert segment_meeting(a, b, at(1, 1), at(1, 7)) == at(1, 1)
    assert segment_meeting(a, b, at(6, 6), at(2, 2)) == (at(2, 2), at(4, 4))
    assert segment_meeting(b, a, at(6, 6), at(2, 2)) == (at(4, 4), at(2, 2))
    assert segment_meeting(a, b, at(5, 5), at(7, 7)) is None
    assert segment_meeting(a, b, at(4, 4), at(7, 7)) == b
    assert segment_meeting(a, b, at(-1, -1), a) == a
    assert segment_meeting(a, a, at(0, -1), at(0, 1)) == a
    assert segment_meeting(a, a, a, a) == a
    tiny = Fraction(1, 10**30)
    assert segment_meeting(a, b, at(0, tiny), at(4, 4 + tiny)) is None
    assert segment_meeting(a, b, at(0, tiny), at(4, 4 - tiny)) == at(2, 2)


def test_pentagon() -> None:
    corners = pentagon()
    assert polygon_is_simple(corners) is None
    # the area of the regular pentagon is (5/2) sin 72 degrees
    assert polygon_area2(corners) == 5 * corners[1].y
    assert float(polygon_area2(corners)) == pytest.approx(4.755282581475768)
    star = [corners[2 * k % 5] for k in range(5)]
    assert polygon_is_simple(star) == (0, 2)
    assert locate(at(0, 0), corners) == 1
    assert locate(corners[3], corners) == 0
    # opposite corners see an inner pentagon: diagonals meet in the golden ratio
    meeting = segment_meeting(corners[0], corners[2], corners[1], corners[4])
    assert isinstance(meeting, Point)
    inner, whole = corners[0].x - meeting.x, corners[0].x - corners[2].x
    ratio = whole / inner
    assert ratio * ratio - 3 * ratio + 1 == 0
    assert ratio > 2
    # mirrored in its axis of symmetry the pentagon is itself
    images = [reflection(at(0, 0), corners[0])(p) for p in corners]
    assert [corners.index(p) for p in images] == [0, 4, 3, 2, 1]


@pytest.mark.parametrize(
    ("corners", "expected"),
    [
        ([(0, 0), (2, 0), (2, 2), (0, 2)], None),
        ([(0, 0), (1, 0), (2, 0), (2, 2), (0, 2)], None),
        ([(0, 0), (2, 2), (2, 0), (0, 2)], (0, 2)),
        ([(0, 0), (2, 0), (1, 0), (1, 2)], (0, 1)),
        ([(0, 0), (4, 0), (4, 4), (2, 0), (0, 4)], (0, 2)),
        ([(0, 0), (0, 0), (1, 0), (1, 1)], (0, 0)),
        ([(0, 0), (1, 0), (1, 1), (0, 0)], (0, 2)),
        ([(0, 0), (1, 0)], (0, 1)),
        ([(0, 0)], (0, 0)),
        ([(0, 0), (1, 0), (2, 0)], (0, 2)),
        ([(0, 0), (2, 0), (2, 2), (1, 1), (0, 2), (1, 1)], (2, 4)),
    ],
)
def test_simple_polygons(corners: list[tuple[int, int]], expected: tuple[int, int] | None) -> None:
    assert polygon_is_simple([at(x, y) for x, y in corners]) == expected


def test_locate_on_a_comb() -> None:
    comb = [at(x, y) for x, y in [(0, 0), (6, 0), (6, 3), (5, 1), (4, 3), (3, 1), (2, 3), (1, 1), (0, 3)]]
    inside = {(1, Fraction(1, 2)), (2, 2), (4, 2), (Fraction(1, 4), 1), (5, Fraction(1, 2))}
    boundary = {(0, 0), (0, 3), (1, 1), (3, 0), (6, 2), (Fraction(1, 2), 2), (4, 3)}
    outside = {(1, 2), (3, 2), (5, 3), (-1, 1), (7, 1), (2, 4), (1, 3), (-1, 3), (-1, 0), (7, 0), (5, 2)}
    for places_, expected in ((inside, 1), (boundary, 0), (outside, -1)):
        for x, y in places_:
            assert locate(at(x, y), comb) == expected
            assert locate(at(x, y), comb[::-1]) == expected


def test_directions() -> None:
    vectors = [at(x, y) for x, y in itertools.product(range(-3, 4), repeat=2) if (x, y) != (0, 0)]
    random.Random(1).shuffle(vectors)
    angles = [math.atan2(float(v.y), float(v.x)) % (2 * math.pi) for v in sorted(vectors, key=direction_order)]
    assert all(a <= b + 1e-12 for a, b in itertools.pairwise(angles))
    assert compare_directions(at(1, 2), at(2, 4)) == 0
    assert compare_directions(at(1, 0), at(1, -1)) == -1
    tiny = Fraction(1, 10**40)
    assert compare_directions(at(1, tiny), at(1, 0)) == 1
    assert compare_directions(at(1, -tiny), at(1, 0)) == 1
    with pytest.raises(ValueError, match="no direction"):
        compare_directions(at(0, 0), at(1, 0))
    assert sorted([*pentagon()[2:], *pentagon()[:2]], key=direction_order) == pentagon()


@given(finer, finer, finer)
def test_reflection_is_an_involution_that_keeps_the_line(p: Point, a: Point, b: Point) -> None:
    if same_place(a, b):
        with pytest.raises(ValueError, match="two different points"):
            reflection(a, b)(p)
        return
    image = reflection(a, b)(p)
    assert reflection(a, b)(image) == p
    assert orientation(a, b, image) == -orientation(a, b, p)
    assert reflection(a, b)(a) == a
    middle = Point((p.x + image.x) / 2, (p.y + image.y) / 2)
    assert orientation(a, b, middle) == 0
    assert dot(Point(image.x - p.x, image.y - p.y), Point(b.x - a.x, b.y - a.y)) == 0


# batches


def side_table(points: list[Point], lines: list[tuple[int, int]]) -> np.ndarray:
    """The side of each point for each line through two of them."""
    sides = Sides(points)
    ends = sides.number_of[np.array(lines, dtype=np.intp).reshape(-1, 2)]
    return sides.signs(ends[:, :1], ends[:, 1:], sides.number_of)


def check_table(points: list[Point], lines: list[tuple[int, int]]) -> np.ndarray:
    table = side_table(points, lines)
    assert table.dtype == np.int8
    assert table.shape == (len(lines), len(points))
    expected = [[orientation(points[i], points[j], p) for p in points] for i, j in lines]
    assert table.tolist() == expected
    return table


def random_lines(generator: random.Random, count: int, number: int) -> list[tuple[int, int]]:
    return [(generator.randrange(count), generator.randrange(count)) for _ in range(number)]


def data_sets() -> dict[str, list[Point]]:
    g = random.Random(7)
    tiny = Fraction(1, 10**30)
    root, five = read_numbers(["sqrt(10-2*sqrt(5))", "sqrt(5)"]).numbers.values()
    plain = read_numbers(["sqrt(5)"]).numbers["sqrt(5)"]
    unit = Number.of(1)
    for _ in range(18):
        unit = unit * (plain - 2)

    def element() -> Number:
        return g.randint(-2, 2) * root + g.randint(-2, 2) * five + Fraction(g.randint(-2, 2), 3)

    return {
        "grid": [at(g.randint(-2, 2), g.randint(-2, 2)) for _ in range(40)],
        "at the edge of int64": [
            at(g.choice([-1, 1]) * 2**29, g.choice([-1, 1]) * (2**29 - g.randint(0, 1))) for _ in range(40)
        ],
        "past int64": [
            at(g.choice([-1, 1]) * (2**29 + g.randint(0, 2)), g.choice([-1, 1]) * (2**31 + g.randint(0, 1)))
            for _ in range(40)
        ],
        "where int64 would wrap": [
            at(g.choice([-1, 1]) * (2**32 + g.randint(0, 2)), g.choice([-1, 1]) * (2**32 + g.randint(0, 2)))
            for _ in range(40)
        ],
        "degree 2 where int64 would wrap": [
            Point(k * Number.of(10**10), k * 10**10 + g.randint(-1, 1) * unit) for k in range(-15, 15)
        ],
        "nearly on a line": [at(k + g.randint(-1, 1) * tiny, 3 * k + g.randint(-1, 1) * tiny) for k in range(-20, 20)],
        "huge": [at(g.randint(-3, 3) * 10**30 + g.randint(-1, 1), g.randint(-3, 3) * 10**30) for _ in range(40)],
        "beyond floats": [at(g.randint(-3, 3) * 10**400 + g.randint(-1, 1), g.randint(-3, 3)) for _ in range(40)],
        "all equal": [at(Fraction(1, 3), Fraction(1, 7))] * 10,
        "all zero, degree 4": [Point(root - root, root - root)] * 5,
        "degree 4": [Point(element(), element()) for _ in range(40)],
        "degree 4 on a line": [Point(k * root + five, k * five - k * root) for k in range(-15, 15)],
        "degree 4 nearly on a line": [
            Point(k * root + five, k * five - k * root + g.randint(-1, 1) * tiny * root) for k in range(-15, 15)
        ],
        "degree 4 cancelling": [
            Point((five * 10**20 - Fraction((five * 10**20)._scaled_floor(20), 2**20)) * k, element() * 10**3)
            for k in range(-15, 15)
        ],
        "degree 2": [Point(five * g.randint(-2, 2) + g.randint(-2, 2), five * g.randint(-2, 2)) for _ in range(40)],
        "mixed with rationals": [
            Point(root, Number.of(1)),
            at(2, 3),
            Point(five, root),
            at(Fraction(1, 3), 0),
            at(2, 3),
        ],
    }


@pytest.mark.parametrize("name", data_sets())
def test_sides_are_exact(name: str) -> None:
    points = data_sets()[name]
    lines = [*random_lines(random.Random(3), len(points), 60), (0, 0), (0, 1)]
    table = check_table(points, lines)
    if name.startswith(("nearly", "degree 4 nearly", "beyond")):
        # the data really needs exact arithmetic: signs differ where floats see a line
        assert len(set(table.ravel().tolist())) == 3


@examples(50)
@given(
    st.lists(st.tuples(st.integers(-(10**12), 10**12), st.integers(-3, 3)), min_size=3, max_size=8),
    st.sampled_from([1, 10**9, 10**30]),
)
def test_sides_on_thin_data(raw: list[tuple[int, int]], scale: int) -> None:
    points = [at(Fraction(x, 7) * scale, Fraction(y, scale)) for x, y in raw]
    check_table(points, list(itertools.combinations(range(len(points)), 2)))


def test_sides_need_one_field() -> None:
    two = read_numbers(["sqrt(2)"]).numbers["sqrt(2)"]
    three = read_numbers(["sqrt(3)"]).numbers["sqrt(3)"]
    with pytest.raises(FieldMismatch):
        side_table([Point(two, two), Point(three, two)], [(0, 1)])
    assert side_table([], []).shape == (0, 0)
    assert side_table([at(0, 0)], []).shape == (0, 1)


def test_the_field_that_points_share() -> None:
    two = read_numbers(["sqrt(2)"]).numbers["sqrt(2)"]
    assert common_field([*at(1, 0), two / 2, Number.of(Fraction(1, 3))]) == two.field


def test_a_table_of_sides_is_worked_out_in_arrays() -> None:
    """Of 450 points and 450 lines: not even one call for every tenth entry."""
    g = random.Random(5)
    points = [at(g.randint(-1000, 1000), g.randint(-1000, 1000)) for _ in range(450)]
    lines = random_lines(g, 450, 450)
    calls: Counter[str] = Counter()
    before = sys.getprofile()
    sys.setprofile(lambda frame, event, what: calls.update([event]))
    try:
        side_table(points, lines)
    finally:
        sys.setprofile(before)
    assert 0 < calls["call"] + calls["c_call"] < 450 * 450 / 10


def test_around_closes() -> None:
    assert list(around("abc")) == [("a", "b"), ("b", "c"), ("c", "a")]
    assert list(around((1, 2))) == [(1, 2), (2, 1)]
    assert list(around([1])) == [(1, 1)]
    assert list(around(())) == []
