"""Strokes outlined, against areas that follow from SVG 1.1 §11.4 (stroke properties) by elementary geometry."""

from __future__ import annotations

from collections.abc import Callable
from math import hypot, pi, sqrt
from pathlib import Path

import pytest
import shapely

from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.pattern.svg import Unsupported, target_from_svg
from verify.tasks.construct import construct

PAGE = '<svg xmlns="http://www.w3.org/2000/svg" width="120mm" height="100mm" viewBox="0 0 120 100">{}</svg>'


@pytest.fixture
def outlined(tmp_path: Path) -> Callable[..., Document]:
    def read(body: str, **options: object) -> Document:
        path = tmp_path / "drawing.svg"
        path.write_text(PAGE.format(body), encoding="utf-8")
        return target_from_svg(path, strokes="outline", **options)  # type: ignore[arg-type]

    return read


def area(document: Document) -> float:
    """Of what an even number of outlines is not round."""
    at = draw(document).places
    whole = shapely.Polygon()
    for loop in document.loops:
        whole = whole.symmetric_difference(shapely.Polygon([tuple(map(float, at[n])) for n in loop]))
    return float(whole.area)


ANGLE = '<polyline fill="none" stroke="black" stroke-width="8" points="20,20 80,20 80,70" {}/>'
RIGHT = 60 * 8 + 50 * 8  # two bands, and a square mitre that fills what they leave of the corner


@pytest.mark.parametrize(
    ("attributes", "expected"),
    [
        ("", RIGHT),
        ('stroke-linecap="square"', RIGHT + 2 * 4 * 8),
        ('stroke-linejoin="bevel"', RIGHT - 4 * 4 / 2),
        ('stroke-miterlimit="8"', RIGHT),
        ('transform="translate(5 0) scale(0.5)"', RIGHT / 4),
        ('transform="rotate(90 50 50)"', RIGHT),
    ],
)
def test_areas_of_an_angle(attributes: str, expected: float, outlined: Callable[..., Document]) -> None:
    assert area(outlined(ANGLE.format(attributes))) == pytest.approx(expected, abs=0.02)


def test_round_joins_and_caps_within_a_stated_distance(outlined: Callable[..., Document]) -> None:
    """A quarter of a disk at the corner, and half of one at each end."""
    body = ANGLE.format('stroke-linejoin="round" stroke-linecap="round"')
    expected = RIGHT - 4 * 4 + pi * 4 * 4 / 4 + pi * 4 * 4
    found = area(outlined(body, flatten="0.01"))
    length = 2 * (60 + 50 + 4 * pi)
    assert expected - 0.01 * length <= found <= expected + 1e-3
    with pytest.raises(Unsupported, match="flatten"):
        outlined(body)


def test_a_closed_line_has_two_outlines_with_mitres(outlined: Callable[..., Document]) -> None:
    """An equilateral triangle of side a, 2w wide: the outer one has side a + 2 sqrt(3) w, the inner one less so."""
    a, w = 60.0, 2.0
    points = f"20,{80} 80,{80} 50,{80 - a * sqrt(3) / 2}"
    found = outlined(f'<polygon fill="none" stroke="black" stroke-width="{2 * w}" points="{points}"/>')
    sides = [a + 2 * sqrt(3) * w, a - 2 * sqrt(3) * w]
    assert area(found) == pytest.approx(sqrt(3) / 4 * (sides[0] ** 2 - sides[1] ** 2), abs=0.05)
    assert sorted(map(len, found.loops)) == [3, 3]
    filled = outlined(f'<polygon stroke="black" stroke-width="{2 * w}" points="{points}"/>')
    assert area(filled) == pytest.approx(sqrt(3) / 4 * sides[0] ** 2, abs=0.05)


def test_strokes_that_cross_are_one_area(outlined: Callable[..., Document]) -> None:
    cross = '<g fill="none" stroke="black" stroke-width="10"><path d="M20 50H100"/><path d="M60 20V80"/></g>'
    found = outlined(cross)
    assert area(found) == 80 * 10 + 60 * 10 - 10 * 10
    assert [len(loop) for loop in found.loops] == [12]
    assert construct(found).verdict == "certified"


def test_a_slanted_stroke_is_equally_wide_all_along(outlined: Callable[..., Document]) -> None:
    """Its pattern is for a target that was made regular: two sides 10 apart, ends square to them."""
    found = outlined('<line stroke="black" stroke-width="10" x1="30" y1="30" x2="80" y2="80"/>')
    made = construct(found)
    assert made.verdict == "certified"
    assert made.pattern is not None
    at = draw(made.pattern).places
    (loop,) = made.pattern.loops
    places = [tuple(map(float, at[n])) for n in loop]
    sides = sorted(hypot(a[0] - b[0], a[1] - b[1]) for a, b in zip(places, [*places[1:], places[0]], strict=True))
    assert sides[0] == pytest.approx(sides[1], abs=1e-9)
    assert sides[:2] == pytest.approx([10, 10], abs=1)
    assert sides[2:] == pytest.approx([50 * sqrt(2)] * 2, abs=1)


@pytest.mark.parametrize(
    ("attributes", "words"),
    [
        ('stroke-dasharray="4 2"', "broken line"),
        ('stroke-linejoin="arcs"', "stroke-linejoin"),
        ('transform="scale(1 2)"', "wider one way"),
    ],
)
def test_strokes_that_are_not_read(attributes: str, words: str, outlined: Callable[..., Document]) -> None:
    with pytest.raises(Unsupported, match=words):
        outlined(ANGLE.format(attributes))


def test_without_asking_lines_are_followed(tmp_path: Path) -> None:
    path = tmp_path / "drawing.svg"
    path.write_text(PAGE.format(ANGLE.format("")), encoding="utf-8")
    found = target_from_svg(path)
    assert (len(found.paths), len(found.loops)) == (1, 0)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ('<path d="M10 50H90" fill="none" stroke="black" stroke-width="10"/>', True),
        ('<path d="M10 50H90" fill="none" stroke="black" stroke-width="0.3"/>', False),
        # a filled outline that touches itself has no stroke, however wide that would be
        ('<polygon points="10,50 30,40 50,50 70,40 70,60 50,50 30,60" stroke-width="10"/>', False),
    ],
)
def test_broad_lines_that_are_followed_are_said_to_be(line: str, said: bool, tmp_path: Path) -> None:
    path = tmp_path / "drawing.svg"
    path.write_text(PAGE.format(line), encoding="utf-8")
    notes = " ".join(target_from_svg(path).notes)
    assert ("drawn 10 mm wide are cut along their middles" in notes) is said
