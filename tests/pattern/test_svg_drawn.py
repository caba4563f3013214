"""Drawings as people draw them, from the SVG file to a certified pattern: what it frees, by shapely from the drawing's
own numbers.
"""

from __future__ import annotations

from fractions import Fraction
from math import cos, pi, sin
from pathlib import Path

import pytest
import shapely

from verify.construct.moves.joining import joined_ends
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.pattern.svg import target_from_svg
from verify.tasks.construct import construct
from verify.words.target_advice import advice_on_target

PAGE = '<svg xmlns="http://www.w3.org/2000/svg" width="120mm" height="100mm" viewBox="0 0 120 100">{}</svg>'
LINES = 'fill="none" stroke="black"'
SHEET = f'<rect class="sheet" {LINES} width="120" height="100"/>'

# what is drawn, the areas that its lines enclose, and the length of all lines
DRAWN: dict[str, tuple[str, list[float], float]] = {
    "an open line": (f'<polyline {LINES} points="20,50 60,20 100,50"/>', [], 100),
    "nested outlines": (
        f'<rect {LINES} x="20" y="20" width="80" height="60"/><rect {LINES} x="45" y="40" width="30" height="20"/>',
        [600, 4800 - 600],
        380,
    ),
    "an outline with a hole in one path": (
        '<path fill-rule="evenodd" d="M20 20H100V80H20Z M45 40H75V60H45Z"/>',
        [600, 4800 - 600],
        380,
    ),
    "outlines that touch in a corner": (
        f'<rect {LINES} x="20" y="20" width="40" height="30"/><rect {LINES} x="60" y="50" width="40" height="30"/>',
        [1200, 1200],
        280,
    ),
    "outlines that touch in a point of a side": (
        f'<rect {LINES} x="20" y="20" width="40" height="60"/><polygon {LINES} points="60,50 90,30 90,70"/>',
        [600, 2400],
        200 + 40 + 2 * 1300**0.5,
    ),
    "outlines that share a side": (
        f'<rect {LINES} x="20" y="20" width="40" height="60"/><rect {LINES} x="60" y="20" width="40" height="60"/>',
        [2400, 2400],
        200 + 200 - 60,
    ),
    "outlines that share part of a side": (
        f'<rect {LINES} x="20" y="20" width="40" height="60"/><rect {LINES} x="60" y="35" width="40" height="25"/>',
        [1000, 2400],
        200 + 130 - 25,
    ),
    "a slit": (f'<line {LINES} x1="30" y1="50" x2="90" y2="50"/>', [], 60),
    "a slit in an outline": (
        f'<rect {LINES} x="20" y="20" width="80" height="60"/><line {LINES} x1="40" y1="50" x2="80" y2="50"/>',
        [4800],
        320,
    ),
    "a line from edge to edge of the sheet": (
        f'{SHEET}<polyline {LINES} points="0,50 60,20 120,50"/>',
        [],
        2 * 4500**0.5,
    ),
    "lines that cross": (f'<path {LINES} d="M20 50H100 M60 20V80"/>', [], 140),
    "an outline that crosses itself": (
        f'<polygon {LINES} points="20,20 100,80 100,20 20,80"/>',
        [1200, 1200],
        2 * 60 + 2 * 100,
    ),
    "lines that lie on each other": (f'<path {LINES} d="M20 50H80 M60 50H100"/>', [], 80),
    "an outline drawn twice": (
        f'<polygon {LINES} points="20,20 100,20 60,80"/><polygon {LINES} points="60,80 100,20 20,20"/>',
        [2400],
        80 + 2 * 5200**0.5,
    ),
    "an outline that is nearly closed": (
        f'<polyline {LINES} points="20,20 100,20 100,80 20,80 20.05,20.04"/>',
        [4800],
        280,
    ),
    "a bar that nearly reaches a frame": (
        f'<rect {LINES} x="20" y="20" width="80" height="60"/><line {LINES} x1="60" y1="20.05" x2="60" y2="79.97"/>',
        [2400, 2400],
        340,
    ),
    "text turned to outlines": (
        '<path d="M20 20h10v20h15v-20h10v60h-10v-30h-15v30h-10z"/><path d="M70 20h12v60h-12z"/>',
        [35 * 60 - 15 * 20 - 15 * 30, 720],
        2 * (35 + 60) + 2 * 20 + 2 * 30 + 144,
    ),
}


def lines(document: Document) -> shapely.Geometry:
    at = draw(document).places
    return shapely.union_all(
        [shapely.LineString([tuple(map(float, at[n])) for n in pair]) for pair in document.target_lines()]
    )


@pytest.mark.parametrize("name", DRAWN)
def test_what_is_drawn_is_freed(name: str, tmp_path: Path) -> None:
    body, areas, length = DRAWN[name]
    path = tmp_path / "drawing.svg"
    path.write_text(PAGE.format(body), encoding="utf-8")
    rules = ["class=sheet:border"] if "sheet" in body else []
    drawn = joined_ends(target_from_svg(path, rules=rules), Fraction(1, 10))
    made = construct(drawn)
    assert made.verdict == "certified", made.reason
    assert made.pattern is not None
    freed = lines(made.pattern)
    far = 0.0 if made.moved is None else made.moved.greatest
    assert far <= 0.01 * 80
    assert freed.length == pytest.approx(length, abs=20 * (far + 0.1))
    found = sorted(ring.area for ring in shapely.polygonize(shapely.get_parts(freed)).geoms)
    assert found == pytest.approx(sorted(areas), abs=400 * (far + 0.05) if areas else None)


def test_a_curve_is_cut_within_the_stated_distance(tmp_path: Path) -> None:
    """A disk: the freed outline is within the distance of the circle, and of what the target was moved by."""
    path = tmp_path / "disk.svg"
    path.write_text(PAGE.format(f'<circle {LINES} cx="60" cy="50" r="30"/>'), encoding="utf-8")
    made = construct(target_from_svg(path, flatten="2"))
    assert made.pattern is not None, made.reason
    far = 0.0 if made.moved is None else made.moved.greatest
    ring = lines(made.pattern)
    middle = shapely.Point(60, 50)
    assert 28 - far <= middle.distance(ring) <= middle.hausdorff_distance(ring) <= 30 + far + 1e-6


def _notes(tmp_path: Path, drawn: str) -> list[str]:
    path = tmp_path / "drawn.svg"
    path.write_text(
        f'<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="90mm" viewBox="0 0 90 90">{drawn}</svg>'
    )
    document = target_from_svg(path)
    return [*document.notes, *advice_on_target(document)]


def test_what_is_there_twice_or_has_no_length_is_said(tmp_path: Path) -> None:
    one = '<path id="one" d="M20 20H60V60H20Z"/>'
    assert _notes(tmp_path, one) == []
    assert _notes(tmp_path, one + one.replace("one", "two")) == [
        '<path id="two"> (line 1) is drawn twice, and taken once'
    ]
    (said,) = _notes(tmp_path, one + '<path id="dot" d="M5 5L5 5"/>')
    assert said == '<path id="dot"> (line 1) has a part without length, which is left out'


def test_a_traced_outline_is_told_from_a_designed_one(tmp_path: Path) -> None:
    """A polygon of n equal sides bends by 360° / n at each corner: 15° at 24, 14.4° at 25."""

    def ring(sides: int) -> str:
        corners = [(45 + 40 * cos(2 * pi * k / sides), 45 + 40 * sin(2 * pi * k / sides)) for k in range(sides)]
        return f'<path d="M{" ".join(f"{x:.4f} {y:.4f}" for x, y in corners)}Z"/>'

    assert _notes(tmp_path, ring(20)) == []
    (said,) = _notes(tmp_path, ring(25))
    assert said.startswith("25 of the 25 corners bend by less than 15°: if this was traced, ")


def test_outlines_that_cross_or_share_a_side(tmp_path: Path) -> None:
    """Crossing squares: what both enclose is outside (the rule of even and odd). A triangle that stands with one whole
    side on a square, whose side goes on, shares more with it than a point.
    """
    (said,) = _notes(tmp_path, '<path id="sail" d="M20 20H60V60H20Z"/><path id="hull" d="M40 40H80V80H40Z"/>')
    assert said.startswith("the outlines with p1 (point 1 of sail) and with p5 (point 1 of hull) cross at (")
    assert "what both enclose is no part of the figure" in said
    from_one_corner = '<path id="sail" d="M20 20H60V60H20Z"/><path id="hull" d="M20 20L70 30 30 70Z"/>'
    apart, said = _notes(tmp_path, from_one_corner)  # what they share tells neither of them
    assert "p1 (point 1 of sail) (20, 70): figure (160 mm²) and figure (160 mm²) meet only at such points" in apart
    assert said.startswith("the outlines with p2 (point 2 of sail) and with p5 (point 2 of hull) cross at (")
    beside = '<path d="M20 60H60L40 20Z"/><path d="M20 60H60V80H20Z"/>'
    assert _notes(tmp_path, beside) == []
    assert _notes(tmp_path, beside + '<path d="M60 60H70" fill="none"/>') == []
    (said,) = _notes(tmp_path, '<path d="M20 20H40V40H20Z"/><path d="M40 40H60V60H40Z"/>')
    assert "meet only at such points" in said
