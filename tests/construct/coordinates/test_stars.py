"""Regular polygons and stars from drawings that are nearly such, against sympy."""

from __future__ import annotations

import random
from math import cos, pi, sin

import pytest
import sympy

import verify
from verify.construct.coordinates.stars import stars_near
from verify.construct.recipes.near import made_regular
from verify.pattern.document import Document


def drawn(corners: int, radii: tuple[float, ...], off: float, turned: float = 0.5, way: int = 1) -> Document:
    """Corners in turn on circles round (60, 60), the first at so many half turns, each off by so much at most."""
    chance = random.Random(corners)
    points = {"sw": [0, 0], "se": [120, 0], "ne": [120, 120], "nw": [0, 120]}
    for k in range(corners):
        angle, radius = pi * (turned + way * 2 * k / corners), radii[k % len(radii)]
        place = 60 + radius * cos(angle), 60 + radius * sin(angle)
        points[f"p{k}"] = [f"{part + chance.uniform(-off, off):.2f}" for part in place]
    document = verify.read(
        {
            "format": "creaseproof-pattern/1",
            "points": points,
            "sheet": {"outline": ["sw", "se", "ne", "nw"]},
            "target": {"loops": [[f"p{k}" for k in range(corners)]]},
        }
    )
    return document.as_pattern()


@pytest.mark.parametrize(
    ("corners", "radii", "turned", "way", "what"),
    [
        (3, (50.0,), 0.5, 1, "an equilateral triangle"),
        (4, (50.0,), 0.25, -1, "a square"),
        (5, (50.0,), 0.5, 1, "a regular polygon of 5 sides"),
        (10, (50.0, 19.1), 0.5, -1, "a regular star of 5 points"),
        (12, (50.0, 30.0), 0.0, 1, "a regular star of 6 points"),
        (10, (19.1, 50.0), 0.0, 1, "a regular star of 5 points"),
    ],
)
def test_all_sides_are_equal_and_all_angles_in_turn(
    corners: int, radii: tuple[float, ...], turned: float, way: int, what: str
) -> None:
    """Squared sides, and squared ways from corner to next but one, to 30 digits, as sympy reads the numbers."""
    document = drawn(corners, radii, 0.5 if corners > 4 else 0.2, turned, way)
    ((star, said, far),) = stars_near(document)
    assert said == what
    places = [[sympy.sympify(text, rational=True) for text in star.points[name]] for name in star.loops[0]]

    def ways(step: int) -> set[sympy.Expr]:
        pairs = zip(places, places[step:] + places[:step], strict=True)
        found = [sum((a - b) ** 2 for a, b in zip(here, there, strict=True)) for here, there in pairs]
        return {sympy.N(one, 40).round(30) for one in found}

    assert len(ways(1)) == 1
    assert len(ways(2)) == len(radii)
    old = [document.points[name] for name in star.loops[0]]
    moved = [
        abs(float(a) - float(b)) for new, was in zip(places, old, strict=True) for a, b in zip(new, was, strict=True)
    ]
    assert max(moved) <= far <= 0.02 * 100


def test_what_is_far_from_regular_stays() -> None:
    """A house; a star of which one point is 10 mm too long; a polygon of eleven sides, whose field is too large; a
    heart with a corner in the very middle of all its corners, (60, 60).
    """
    house = {"a": [10, 10], "b": [70, 10], "c": [70, 60], "d": [40, 90], "e": [10, 60]}
    document = drawn(5, (50.0,), 0.0)
    points = {**document.points, **{f"p{k}": tuple(map(str, place)) for k, place in enumerate(house.values())}}
    assert not [*stars_near(Document(points, document.outline, loops=document.loops))]
    longer = drawn(10, (50.0, 19.1), 0.0)
    longer = Document({**longer.points, "p0": ("60", "120")}, longer.outline, loops=longer.loops)
    assert not [*stars_near(longer)]
    assert not [*stars_near(drawn(11, (50.0,), 0.0))]
    heart = [(60, 60), (75, 75), (90, 75), (100, 65), (100, 50), (60, 10), (20, 50), (20, 65), (30, 75), (45, 75)]
    points = longer.points | {f"p{k}": (str(x), str(y)) for k, (x, y) in enumerate(heart)}
    assert not [*stars_near(Document(points, longer.outline, loops=longer.loops))]


def test_a_badly_traced_star_has_four_folds() -> None:
    """Corners off by up to 0.8 mm. Ten sides lie on ten lines, which four folds at least bring onto one (2³ < 10)."""
    document = drawn(10, (50.0, 19.1), 0.8)
    first = made_regular(document)[0]
    assert first.regular.endswith("so that it is a regular star of 5 points")
    found = verify.recipe(document, near=True)
    assert (found.verdict, found.folds) == ("certified", 4)
    assert not found.is_hard
