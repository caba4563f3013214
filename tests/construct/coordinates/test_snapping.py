"""Targets moved to rational unit vectors. Directions, bounds and distances are checked by the tests' own rational
arithmetic and by shapely; patterns by the kernel."""

from __future__ import annotations

import random
from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from itertools import combinations
from math import cos, isqrt, pi, sin
from typing import Any

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

import verify
from tests.profiles import examples, some
from verify.construct.coordinates.net import NotSnapped
from verify.construct.coordinates.regular import rational
from verify.construct.coordinates.snapping import Snapped
from verify.construct.creases.propose import Proposal, proposals
from verify.construct.skeleton.figure import figure_of
from verify.exact.field import read_numbers
from verify.exact.numberfield import RATIONALS
from verify.pattern.document import Document
from verify.pattern.recipe import read_any

MOST = Fraction(1, 10)
Points = dict[str, tuple[Any, Any]]


def document(
    points: Mapping[str, tuple[Any, Any]], loops: Iterable[Sequence[str]] = (), paths: Iterable[Sequence[str]] = ()
) -> Document:
    """A target on a square sheet with corners sw, se, ne, nw."""
    sheet = {"sw": (-100, -100), "se": (100, -100), "ne": (100, 100), "nw": (-100, 100)}
    return read_any(
        {
            "format": "creaseproof-pattern/1",
            "creases": [],
            "points": {name: [str(x), str(y)] for name, (x, y) in (dict(points) | sheet).items()},
            "sheet": {"outline": list(sheet)},
            "target": {"loops": [list(x) for x in loops], "paths": [list(x) for x in paths]},
            "cut": {"snips": 1},
        }
    )


def round_about(angles: Sequence[float], radii: Sequence[float], prefix: str = "p") -> Points:
    return {
        f"{prefix}{i}": (f"{r * cos(a):.2f}", f"{r * sin(a):.2f}")
        for i, (a, r) in enumerate(zip(angles, radii, strict=True))
    }


def places(d: Document) -> dict[str, tuple[Fraction, Fraction]]:
    return {name: (Fraction(x), Fraction(y)) for name, (x, y) in d.points.items()}


def steps(d: Document) -> list[tuple[Fraction, Fraction]]:
    at = places(d)
    return [(at[b][0] - at[a][0], at[b][1] - at[a][1]) for a, b in d.target_lines()]


def is_square(value: Fraction) -> bool:
    return isqrt(value.numerator) ** 2 == value.numerator and isqrt(value.denominator) ** 2 == value.denominator


def shape(d: Document) -> Any:
    numbers = read_numbers([x for pair in d.points.values() for x in pair]).numbers
    at = {name: (float(numbers[x]), float(numbers[y])) for name, (x, y) in d.points.items()}
    return shapely.MultiLineString([(at[a], at[b]) for a, b in d.target_lines()])


def check(before: Document, result: Snapped, most: Fraction = MOST) -> None:
    """All that is promised of every result."""
    after = result.document
    assert all(is_square(x * x + y * y) for x, y in steps(after))
    assert {n: after.points[n] for n in before.outline} == {n: before.points[n] for n in before.outline}
    assert (after.loops, after.paths, after.outline) == (before.loops, before.paths, before.outline)
    assert {m.name for m in result.moves} == {n for n in before.points if before.points[n] != after.points[n]}
    assert result.greatest == max((m.distance for m in result.moves), default=0.0) <= float(most)
    assert shapely.hausdorff_distance(shape(before), shape(after)) <= float(most) + 1e-9
    figure = figure_of(after)
    assert all(x.field == RATIONALS for p in (*figure.points, *figure.directions) for x in p)


def check_parallels(before: Document, after: Document) -> None:
    """Parallel and square target lines of a rational document are so in the other, and rational unit vectors stay."""
    old, new = steps(before), steps(after)
    for i, j in combinations(range(len(old)), 2):
        (a, b), (c, d), (e, f), (g, h) = old[i], old[j], new[i], new[j]
        if a * d == b * c:
            assert e * h == f * g
        if a * c + b * d == 0:
            assert e * g + f * h == 0
    for (a, b), (e, f) in zip(old, new, strict=True):
        if is_square(a * a + b * b):
            assert a * f == b * e
            assert a * e + b * f > 0


# figures at random: polygons, holes, open lines, nets

jitter = st.floats(-0.25, 0.25)
radius = st.floats(35, 80)


@st.composite
def star_shaped(draw: Any) -> Points:
    n = draw(st.integers(3, 9))
    return round_about([2 * pi * (i + draw(jitter)) / n for i in range(n)], [draw(radius) for _ in range(n)])


def convex(seed: int, corners: int = 9) -> Document:
    rng = random.Random(seed)
    angles = [2 * pi * (i + rng.uniform(-0.4, 0.4)) / corners for i in range(corners)]
    points = round_about(angles, [70.0] * corners)
    return document(points, [list(points)])


@examples(25)
@given(star_shaped(), st.booleans())
def test_polygons_and_holes(points: Points, hole: bool) -> None:
    inner = round_about([0.3, 2.1, 4.4], [9, 12, 8], "q") if hole else {}
    loops = [list(points), list(inner)] if hole else [list(points)]
    drawn = document(points | inner, loops)
    found = rational(drawn, MOST)
    check(drawn, found)
    check_parallels(drawn, found.document)


@examples(15)
@given(star_shaped())
def test_open_lines_and_a_point_of_many_lines(points: Points) -> None:
    names = list(points)
    spokes = document(points | {"m": ("1.23", "-0.77")}, paths=[["m", name] for name in names])
    check(spokes, rational(spokes, MOST))
    way = document(points, paths=[names])
    check(way, rational(way, MOST))


@examples(15)
@given(star_shaped().filter(lambda p: len(p) > 3))
def test_points_of_three_lines(points: Points) -> None:
    """A polygon and one chord: two points at which three lines meet."""
    names = list(points)
    path = document(points | {"m": ("0.5", "0.25")}, [names], [[names[0], "m", names[2]]])
    check(path, rational(path, MOST))


@pytest.mark.parametrize("seed", range(3))
def test_convex_nonagons(seed: int) -> None:
    drawn = convex(seed)
    found = rational(drawn, MOST)
    check(drawn, found)
    check_parallels(drawn, found.document)
    assert max(len(x) for m in found.moves for x in m.after) <= 30


def test_a_smaller_bound_is_kept() -> None:
    drawn = convex(1)
    for most in (Fraction(1, 1000), Fraction(1, 10**6)):
        check(drawn, rational(drawn, most), most)


# figures with a meaning


@pytest.mark.parametrize("points", [
    {"a": (50, 0), "b": (0, 50), "c": (-50, 0), "d": (0, -50)},
    {"a": (56, 17), "b": (-17, 56), "c": (-56, -17), "d": (17, -56)},
])  # fmt: skip
def test_a_square_stays_one(points: Points) -> None:
    """Its sides stay parallel and square, though 45° has no rational unit vector: it turns a little."""
    drawn = document(points, ["abcd"])
    found = rational(drawn, MOST)
    check(drawn, found)
    check_parallels(drawn, found.document)
    assert found.moves


@pytest.mark.parametrize("seed", some(range(8)))
def test_a_line_near_45_degrees_may_be_one(seed: int) -> None:
    """An arrow with numbers rounded to hundredths: all its coordinates are rational, and the square of each length is
    a square or twice a square, so that it is a rational, or that times the root of 2; what was under 45° is again, and
    what was nearly a mirror image is one.
    """
    rng = random.Random(seed)
    width = rng.randint(300, 900)
    far = round(rng.uniform(20, 40), 2)
    tip = (far, 0)
    inner = round(width / 100 * 2**0.5, 2)  # a stroke's width, measured slantwise: rounded
    barb = (-20, round(far + 20, 2))
    points = {
        "t": tip,
        "u": barb,
        "v": (round(-20 - inner, 2), round(far + 20, 2)),
        "n": (round(far - inner, 2), 0),
        "w": (round(-20 - inner, 2), round(-far - 20, 2)),
        "x": (-20, round(-far - 19.99, 2)),
    }
    drawn = document(points, ["tuvnwx"])
    found = rational(drawn, MOST, order=8)
    assert found.greatest <= MOST
    for x, y in steps(found.document):
        assert is_square(x * x + y * y) or is_square(2 * (x * x + y * y))
        assert not y or abs(x) == abs(y)
    at = places(found.document)
    assert at["u"][1] + at["x"][1] == at["v"][1] + at["w"][1] == 2 * at["t"][1] == 2 * at["n"][1]
    assert at["u"][0] == at["x"][0]
    assert at["v"][0] == at["w"][0]


def exact_star() -> Points:
    tips = {f"t{i}": (f"60*sin({2 * i}*pi/5)", f"60*cos({2 * i}*pi/5)") for i in range(5)}
    notch = "60*cos(2*pi/5)/cos(pi/5)"
    return tips | {f"n{i}": (f"{notch}*sin({2 * i + 1}*pi/5)", f"{notch}*cos({2 * i + 1}*pi/5)") for i in range(5)}


def test_a_regular_star_keeps_its_five_lines_and_its_mirror() -> None:
    names = [f"{kind}{i}" for i in range(5) for kind in "tn"]
    drawn = document(exact_star(), [names])
    found = rational(drawn, MOST)
    check(drawn, found)
    at = places(found.document)
    for line in (
        ["t0", "n0", "n1", "t2"],
        ["t1", "n1", "n2", "t3"],
        ["t2", "n2", "n3", "t4"],
        ["t3", "n3", "n4", "t0"],
        ["t4", "n4", "n0", "t1"],
    ):
        (ax, ay), *rest = (at[n] for n in line)
        assert all((rest[0][0] - ax) * (y - ay) == (rest[0][1] - ay) * (x - ax) for x, y in rest)
    for left, right in [("t0", "t0"), ("t1", "t4"), ("t2", "t3"), ("n0", "n4"), ("n1", "n3"), ("n2", "n2")]:
        assert at[left] == (-at[right][0], at[right][1])


def test_lines_that_cross_where_no_point_is_named() -> None:
    """A pentagram in one stroke, and three lines through one place."""
    star = {n: p for n, p in exact_star().items() if n[0] == "t"}
    drawn = document(star, paths=[["t0", "t2", "t4", "t1", "t3", "t0"]])
    check(drawn, rational(drawn, MOST))
    three = document(
        {"a": (-50, 4), "b": (50, -2), "c": (-7, 41), "d": (7, -39), "e": (-33, -41), "f": (33, 43)},
        paths=["ab", "cd", "ef"],
    )
    found = rational(three, MOST)
    check(three, found)
    assert len(figure_of(found.document).points) == 7


def test_a_line_that_ends_on_another_still_does() -> None:
    drawn = document({"a": (-50, 3), "b": (50, 11), "c": (0, 7), "d": (13, 60)}, paths=["ab", "cd"])
    found = rational(drawn, MOST)
    check(drawn, found)
    at = places(found.document)
    assert (at["b"][0] - at["a"][0]) * (at["c"][1] - at["a"][1]) == (at["b"][1] - at["a"][1]) * (
        at["c"][0] - at["a"][0]
    )


def test_the_sheet_holds_its_points() -> None:
    drawn = document({"a": (100, 31), "b": (3, "1.3"), "c": (-60, 50)}, paths=[["a", "b"], ["ne", "c"]])
    found = rational(drawn, MOST)
    check(drawn, found)
    assert places(found.document)["a"][0] == 100
    with pytest.raises(NotSnapped, match="no figure with rational directions"):
        rational(document({}, paths=[["sw", "ne"]]), MOST)


def test_a_net_with_too_many_triangles_cannot_be_snapped() -> None:
    """A wheel: 2n lines at n + 1 points. Parallel redrawings of a planar graph have at most 2(n + 1) - 3 independent
    directions (no source was read; for n = 5 elimination finds it here), so that the 2n directions cannot be chosen one
    by one."""
    points = round_about([0.2 + 2 * pi * i / 5 for i in range(5)], [60, 55, 62, 58, 61])
    names = list(points)
    wheel = document(points | {"m": (1, 2)}, [names], [["m", n] for n in names])
    with pytest.raises(NotSnapped, match="no figure with rational directions"):
        rational(wheel, MOST)


def test_no_movement_allowed() -> None:
    with pytest.raises(NotSnapped, match="no line may move"):
        rational(convex(0), Fraction(0))


# what it is for


@pytest.mark.parametrize("seed", some(range(10), of=3))
def test_a_pattern_for_a_snapped_polygon_is_certified(seed: int) -> None:
    found = rational(convex(100 + seed), MOST)
    assert any(
        isinstance(p, Proposal) and verify.certify(p.document).verdict == "certified" for p in proposals(found.document)
    )
