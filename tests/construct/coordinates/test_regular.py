"""Targets made regular, and turned ones set upright for it, measured by shapely in floats; patterns by the kernel."""

from __future__ import annotations

from fractions import Fraction
from functools import partial
from itertools import combinations
from math import cos, hypot, lcm, pi, sin
from typing import Any

import pytest
import shapely
from hypothesis import given, settings

from tests.construct.coordinates.test_snapping import Points, document, shape, star_shaped
from tests.construct.creases.test_creases import target
from verify.construct.coordinates.net import Net, NotSnapped
from verify.construct.coordinates.regular import regular, turn_orders
from verify.construct.coordinates.snapping import Snapped
from verify.construct.moves.turned import turned
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.pattern.limits import Limits
from verify.tasks.construct import construct
from verify.tasks.construct_found import Constructed

# a stroke under 45°, ten units wide, and its mirror image, to two decimals
CHEVRON = [("30", "50"), ("37.07", "57.08"), ("60", "34.14"), ("82.93", "57.06"), ("90.01", "50"), ("60", "20")]
FISH = [(0, 0), (2, 2), (4, 2), (6, 0.5), (8, 2), (8, -2), (6, -0.5), (4, -2), (2, -2)]
# hardly a line of it is under 45° to another, and the eye lies on one side of its mirror line
HERRING = [(0, 0), (3, 2.5), (7.5, 2), (9.5, 0.5), (12, 2.5), (12, -2.5), (9.5, -0.5), (7.5, -2), (3, -2.5)]
EYE = [(2.4, 0.6), (3, 1), (3.4, 0.5), (2.8, 0.1)]


def check(drawn: Document, found: Snapped, most: Fraction) -> None:
    """What is promised of every result."""
    after = found.document
    assert (after.loops, after.paths, after.outline) == (drawn.loops, drawn.paths, drawn.outline)
    assert {n: after.points[n] for n in after.outline} == {n: drawn.points[n] for n in after.outline}
    assert {m.name for m in found.moves} == {n for n in drawn.points if drawn.points[n] != after.points[n]}
    assert found.greatest <= float(most)
    assert shapely.hausdorff_distance(shape(drawn), shape(after)) <= float(most) + 1e-9


@settings(max_examples=20)
@given(star_shaped())
def test_any_polygon_stays_near(points: Points) -> None:
    drawn = document(points, [list(points)])
    for order, parts in ((8, False), (12, False), (8, True), (20, True)):
        try:
            found = regular(drawn, Fraction(1, 2), order=order, parts=parts)
        except NotSnapped:
            continue
        check(drawn, found, Fraction(1, 2))


def test_a_rounded_stroke_is_equally_wide_and_its_own_image() -> None:
    drawn = target(CHEVRON)
    found = regular(drawn, Fraction(1, 5))
    check(drawn, found, Fraction(1, 5))
    at = draw(found.document).places
    corners = [tuple(map(float, at[n])) for n in found.document.loops[0]]
    sides = [shapely.LineString(pair) for pair in zip(corners, [*corners[1:], corners[0]], strict=True)]
    widths = [sides[i].distance(sides[j]) for i, j in ((1, 5), (2, 4))]
    assert widths == pytest.approx([10, 10], abs=1e-9)
    image = shapely.Polygon([(2 * corners[2][0] - x, y) for x, y in corners])
    assert shapely.Polygon(corners).symmetric_difference(image).area == pytest.approx(0, abs=1e-9)
    for one, other in combinations(sides, 2):
        (a, b), (c, d) = ((q[0] - p[0], q[1] - p[1]) for p, q in (one.coords, other.coords))
        assert min(abs(a * d - b * c), abs(a * c + b * d)) < 1e-9  # parallel or square


@pytest.mark.parametrize("most", [0, 100_000])
def test_nothing_regular_within_no_distance_or_one_that_is_larger_than_the_figure(most: int) -> None:
    with pytest.raises(NotSnapped):
        regular(target(CHEVRON), Fraction(most))


def drawn_at(degrees: float, *outlines: list[tuple[float, float]]) -> Document:
    """The fish, or these outlines, ten times as large and turned."""
    c, s = 10 * cos(degrees * pi / 180), 10 * sin(degrees * pi / 180)
    loops = [[(f"{c * x - s * y:.3f}", f"{s * x + c * y:.3f}") for x, y in loop] for loop in outlines or (FISH,)]
    return target(*loops, margin=20)


def by_hand(made: Constructed) -> tuple[int, int]:
    assert made.verdict == "certified", made.reason
    assert made.proposal is not None
    return made.proposal.folds, made.proposal.hands.creases


def test_a_turned_figure_takes_no_more_creases_than_upright() -> None:
    upright = by_hand(construct(drawn_at(0)))
    drawn = drawn_at(15)
    made = construct(drawn)
    assert by_hand(made) <= upright
    assert made.moved is not None
    assert made.moved.greatest < 0.005 * hypot(80, 40)
    check(drawn, made.moved, Fraction(1, 2))


@pytest.mark.parametrize("degrees", [15, 37.3, 80])
@pytest.mark.parametrize("outlines", [(FISH,), (HERRING, EYE)])
def test_a_turned_mirror_image_becomes_one(outlines: tuple[list[tuple[float, float]], ...], degrees: float) -> None:
    """The largest outline, about the line through the fish's nose, reflected by shapely's own affine map."""
    drawn = drawn_at(degrees, *outlines)
    found = turned(drawn, Fraction(2, 5), partial(regular, parts=len(outlines) > 1))
    check(drawn, found, Fraction(2, 5))
    at = draw(found.document).places
    corners: list[Any] = [tuple(map(float, at[n])) for n in found.document.loops[0]]
    (x, y), (u, v) = corners[0], [(a + b) / 2 for a, b in zip(corners[4], corners[5], strict=True)]
    size = hypot(u - x, v - y)
    c, s = (u - x) / size, (v - y) / size
    whole = shapely.Polygon(corners)
    moved = shapely.affinity.translate(whole, -x, -y)
    image = shapely.affinity.affine_transform(moved, [c * c - s * s, 2 * c * s, 2 * c * s, s * s - c * c, 0, 0])
    assert moved.symmetric_difference(image).area < 1e-6 * whole.area


def test_what_is_upright_is_not_turned() -> None:
    with pytest.raises(NotSnapped):
        turned(drawn_at(0), Fraction(1, 2), regular)


def ring(corners: int, radii: tuple[float, float], twist: float, turn: float = 0.0) -> list[tuple[str, str]]:
    """A figure that comes to itself by turns, and by mirrors only without a twist, rounded to two decimals."""
    places = []
    for k in range(corners):
        for radius, ahead in zip(radii, (0.0, 0.5 + twist), strict=True):
            angle = 2 * pi * (k + ahead) / corners + turn
            places.append((f"{radius * cos(angle):.2f}", f"{radius * sin(angle):.2f}"))
    return places


@pytest.mark.parametrize("corners", [3, 5, 6, 7, 8, 9, 10, 12])
@pytest.mark.parametrize("twist", [0.0, 0.2])
def test_a_rounded_figure_comes_to_itself_by_turns(corners: int, twist: float) -> None:
    """About the middle of its corners, turned by shapely's own affine map."""
    drawn = target(ring(corners, (50, 32), twist, 0.1))
    order = lcm(corners, 4)
    found = regular(drawn, Fraction(1, 4), order=order, parts=True)
    check(drawn, found, Fraction(1, 4))
    at = draw(found.document).places
    whole = shapely.Polygon([tuple(map(float, at[n])) for n in found.document.loops[0]])
    middle = shapely.MultiPoint(whole.exterior.coords[:-1]).centroid
    once = shapely.affinity.rotate(whole, 360 / corners, origin=middle)
    assert whole.symmetric_difference(once).area < 1e-9 * whole.area
    rounded = shapely.Polygon([(float(x), float(y)) for x, y in ring(corners, (50, 32), twist, 0.1)])
    turned_once = shapely.affinity.rotate(rounded, 360 / corners, origin=rounded.centroid)
    assert rounded.symmetric_difference(turned_once).area > 1e-6 * whole.area
    assert turn_orders(Net(drawn, Limits()), Fraction(1, 4)) == ([order] if order > 8 else [])


def test_a_part_is_regular_whatever_is_drawn_inside_it() -> None:
    """A badge of ten points with a tick: the badge alone comes to itself by a turn of 36°."""
    tick = [("-20", "0"), ("-5", "-14"), ("22", "15"), ("20", "17"), ("-5", "-9"), ("-18", "2")]
    badge = ring(10, (50, 42), 0.0)
    drawn = target(badge, tick)
    found = regular(drawn, Fraction(1, 2), order=20, parts=True)
    check(drawn, found, Fraction(1, 2))
    at = draw(found.document).places
    corners = [complex(*map(float, at[n])) for n in found.document.loops[0]]
    middle = sum(corners) / len(corners)
    assert [abs(z - middle) for z in corners[::2]] == pytest.approx(10 * [abs(corners[0] - middle)], rel=1e-12)


@pytest.mark.parametrize(
    ("sizes", "creases"), [((1.0,), 10), pytest.param((1.0, 0.7), 30, marks=pytest.mark.long, id="with a hole")]
)
def test_a_rounded_star_takes_as_many_creases_as_a_true_one(sizes: tuple[float, ...], creases: int) -> None:
    """A five-point star, and a ring between two: by symmetry all folds but those in the mirror lines come in tens."""
    made = construct(target(*(ring(5, (60 * size, 27 * size), 0.0, pi / 2) for size in sizes)))
    assert made.verdict == "certified", made.reason
    assert made.proposal is not None
    assert made.proposal.folds % 5 == 0
    assert made.proposal.hands.creases <= creases
