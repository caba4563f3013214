"""SVG drawings read as documents.

Outside values: the clauses of SVG 1.1 (Second Edition), SVG 2 and CSS named beside the checks (their
text was not at hand: what was checked instead is that the library `svgelements`, which reads path data, transforms and
colours in floats, reads the same).
"""

from __future__ import annotations

import itertools
import json
import re
from collections.abc import Callable
from fractions import Fraction as F  # noqa: N817
from math import acos, cos, floor, pi
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import svgelements
from hypothesis import example, given
from hypothesis import strategies as st
from PIL import ImageColor

import verify
from tests.cli.command import run
from tests.profiles import examples
from verify.exact.field import read_numbers
from verify.pattern import curves, svg_shapes, svg_tree
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.pattern.recipe import load_any
from verify.pattern.source import NotRead
from verify.pattern.svg import Rule, Unsupported, pattern_from_svg, rules_from_toml, target_from_svg
from verify.pattern.svg_space import Reading
from verify.pattern.svg_style import colour, colours
from verify.pattern.svg_text import MM_IN_PX, Bezier, EllipticalArc, LineTo, Misread, length, path, transforms
from verify.pattern.write import write

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
Place = tuple[F, F]


def page(body: str, attributes: str = 'width="100mm" height="100mm" viewBox="0 0 100 100"') -> str:
    """A drawing; by default of 100 mm square, a user unit 1 mm."""
    return f"{HEAD} {attributes}>{body}</svg>"


def chains(text: str, **options: Any) -> list[tuple[list[Any], bool]]:
    """The chains of a drawing: places (fractions, or floats if irrational) and whether closed. y is up."""
    picture = svg_shapes.read_picture(text.encode(), "drawing.svg", Reading(**options))
    return [([tuple(_value(w) for w in p) for p in c.points], c.closed) for s in picture.shapes for c in s.chains]


def _value(number: Any) -> Any:
    return number.as_fraction() if number.is_rational else float(number)


def down(places: list[Any], height: int = 100) -> list[Any]:
    return [(x, height - y) for x, y in places]


@pytest.fixture
def drawing(tmp_path: Path) -> Callable[..., Path]:
    def make(text: str | bytes, name: str = "drawing.svg") -> Path:
        file = tmp_path / name
        file.write_bytes(text if isinstance(text, bytes) else text.encode())
        return file

    return make


def corners(document: Document, names: tuple[str, ...]) -> list[Place]:
    numbers = read_numbers([t for pair in document.points.values() for t in pair]).numbers
    return [tuple(numbers[t].as_fraction() for t in document.points[n]) for n in names]  # type: ignore[misc]


# path data


@pytest.mark.parametrize(
    ("data", "places"),
    [
        ("M 100 100 L 300 100 L 200 300", [(100, 100), (300, 100), (200, 300)]),
        ("M 100-200", []),  # §8.3.1: no blank before a sign; a lone M draws nothing
        ("M100-200-3-4", [(100, -200), (-3, -4)]),
        ("M 0.6.5.25.75", [("0.6", "0.5"), ("0.25", "0.75")]),  # §8.3.9: "M 0.6.5" is M 0.6,0.5
        ("M0 0 10 0 10 10", [(0, 0), (10, 0), (10, 10)]),  # §8.3.2: further pairs after M are lines
        ("m1 1 2 2 3 3", [(1, 1), (3, 3), (6, 6)]),  # §8.3.2: a first m is absolute, further pairs relative lines
        ("M1,1H5V7h-2v-1", [(1, 1), (5, 1), (5, 7), (3, 7), (3, 6)]),  # §8.3.4
        ("M1e1+2E-1l.5.5", [(10, "0.2"), ("10.5", "0.7")]),  # §4.2: exponents
        ("\n\tM 1 , 2 L 3 , 4 ", [(1, 2), (3, 4)]),
        ("M0 0H1 2 3", [(0, 0), (1, 0), (2, 0), (3, 0)]),
    ],
)
def test_path_grammar(data: str, places: list[Any]) -> None:
    """SVG 1.1 §8.3, clause by clause."""
    found = path(data)
    expected = [(F(x), F(y)) for x, y in places]
    assert [p for s in found for p in [s.start, *(e.end for e in s.segments)]] == expected


def test_subpaths_after_closing() -> None:
    """SVG 1.1 §8.3.3: what follows a Z without an M begins at the closed subpath's start; m is relative to it."""
    one, two, three = path("M 5 5 h 10 v 10 z l 1 2 m 1 1 h 3 Z")
    assert one.closed
    assert not two.closed
    assert three.closed
    assert two.start == (5, 5)
    assert two.segments == [LineTo((F(6), F(7)))]  # type: ignore[arg-type]
    assert three.start == (7, 8)


def test_smooth_curves_mirror_the_last_control_point() -> None:
    """SVG 1.1 §8.3.6, §8.3.7: S after C and T after Q mirror; after anything else the control point is the current
    one.
    """
    cubic = path("M0 0 C1 2 3 4 5 5 S 9 9 10 10 L 11 11 S 12 12 13 13 Q 14 0 15 13 T 17 13 T 19 13 S 1 1 2 2")[
        0
    ].segments
    assert isinstance(cubic[1], Bezier)
    assert cubic[1].controls[0] == (7, 6)
    assert cubic[3].controls[0] == (11, 11)  # type: ignore[union-attr]
    assert cubic[5].controls == ((16, 26),)  # type: ignore[union-attr]
    assert cubic[6].controls == ((18, 0),)  # type: ignore[union-attr]
    assert cubic[7].controls[0] == (19, 13)  # type: ignore[union-attr]


def test_arc_flags_need_no_blanks() -> None:
    """SVG 1.1 §8.3.9: a flag is one character; F.6.2: radii lose their signs, a radius 0 makes a line."""
    arc = path("M0 0a25,-26-30 01.5-25")[0].segments[0]
    assert arc == EllipticalArc((F(25), F(26)), F(-30), False, True, (F("0.5"), F(-25)))  # type: ignore[arg-type]
    assert path("M0 0A0 5 0 0 1 9 9")[0].segments == [LineTo((F(9), F(9)))]  # type: ignore[arg-type]
    assert path("M0 0A5 5 0 0 1 0 0 L1 1")[0].segments == [LineTo((F(1), F(1)))]  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "data",
    [
        *(
            "L 1 1",
            "M",
            "M 1",
            "M 1 1 L",
            "M1 1 L 2",
            "M1 1 L 2 2,",
            "M1 1 X 2 2",
            "M1 1 L 2 2 3",
            "M1 1 A 1 1 0 2 1 3 3",
        ),
        *(
            "M 1 1 L NaN 3",
            "M1 1 L inf 2",
            "M1 1 Lé",
            "M1,,2",
            "M1 1 Z 3 3",
            "M1e400 1",
            "M 1 1 l 1e31 0",
            "10 10",
            "M٣ ٣",
        ),
    ],
)
def test_path_mistakes(data: str) -> None:
    with pytest.raises(Misread):
        path(data)


NUMBERS = st.decimals(-999, 999, places=3).map(str)
PAIRS = st.tuples(NUMBERS, NUMBERS).map(" ".join)


@st.composite
def commands(draw_: st.DrawFn) -> str:
    """Path data of any commands, absolute and relative."""
    parts = ["M" + draw_(PAIRS)]
    for letter in draw_(st.lists(st.sampled_from("MmLlHhVvCcSsQqTtZzAa"), min_size=1, max_size=8)):
        upper = letter.upper()
        if upper == "A":
            radii = draw_(st.tuples(st.integers(1, 500), st.integers(1, 500), st.integers(-180, 180)))
            flags = draw_(st.sampled_from(("0 0", "0 1", "1 0", "1 1")))
            parts.append(f"{letter}{radii[0]} {radii[1]} {radii[2]} {flags} {draw_(PAIRS)}")
            continue
        count = {"M": 1, "L": 1, "C": 3, "S": 2, "Q": 2, "T": 1}.get(upper, 0)
        arguments = [draw_(NUMBERS)] if upper in "HV" else [draw_(PAIRS) for _ in range(count)]
        parts.append(letter + " ".join(arguments))
    return " ".join(parts)


@given(commands())
def test_paths_as_an_independent_library_reads_them(data: str) -> None:
    """svgelements gives the same ends of all segments."""
    ours = [
        (float(e.end.x), float(e.end.y))
        for s in path(data)
        for e in [*s.segments, *([LineTo(s.start)] if s.closed else [])]
    ]
    theirs = [s for s in svgelements.Path(data) if not isinstance(s, svgelements.Move)]
    theirs = [s for s in theirs if not (isinstance(s, svgelements.Arc) and s.start == s.end)]
    assert np.allclose(ours or [(0, 0)], [(s.end.x, s.end.y) for s in theirs] or [(0, 0)], atol=1e-6)


# lengths, transforms, page


@pytest.mark.parametrize(
    ("text", "millimetres"),
    [
        *(("1in", F("25.4")), ("2.54cm", F("25.4")), ("10mm", F(10)), ("72pt", F("25.4")), ("6pc", F("25.4"))),
        *(("96px", F("25.4")), ("96", F("25.4")), ("40Q", F(10)), ("1e1mm", F(10)), ("-3MM", F(-3))),
    ],
)
def test_lengths(text: str, millimetres: F) -> None:
    """CSS Values 3 §5.2: 1in = 2.54cm = 72pt = 6pc = 96px; 1Q = 1/40 cm."""
    assert length(text) * MM_IN_PX == millimetres


@pytest.mark.parametrize("text", ["1em", "2ex", "5vw", "50%", "1 m m", "ten", "", "1e400mm"])
def test_lengths_refused(text: str) -> None:
    with pytest.raises(Misread):
        length(text)


@pytest.mark.parametrize(
    ("attributes", "place"),
    [
        ("", (F(50) * MM_IN_PX, -F(20) * MM_IN_PX)),  # no size, no viewBox: CSS pixels (SVG 1.1 §7.2)
        ('width="96" height="96"', (F(50) * MM_IN_PX, (96 - F(20)) * MM_IN_PX)),
        ('width="100mm" height="100mm" viewBox="0 0 200 200"', (25, 90)),
        ('width="100mm" viewBox="0 0 200 400"', (25, 190)),
        ('height="100mm" viewBox="0 0 200 200"', (25, 90)),
        ('width="100mm" height="100mm" viewBox="10 -10 100 100"', (40, 70)),
        # SVG 1.1 §7.8: xMidYMid meet is the default
        ('width="200mm" height="100mm" viewBox="0 0 100 100"', (100, 80)),
        ('width="200mm" height="100mm" viewBox="0 0 100 100" preserveAspectRatio="xMinYMin"', (50, 80)),
        ('width="200mm" height="100mm" viewBox="0 0 100 100" preserveAspectRatio="xMaxYMin meet"', (150, 80)),
        ('width="200mm" height="100mm" viewBox="0 0 100 100" preserveAspectRatio="none"', (100, 80)),
        ('width="200mm" height="100mm" viewBox="0 0 100 100" preserveAspectRatio="xMidYMid slice"', (100, 110)),
        ('width="200mm" height="100mm" viewBox="0 0 100 100" preserveAspectRatio="xMidYMax slice"', (100, 160)),
    ],
)
def test_page(attributes: str, place: Any) -> None:
    """Where (50, 20) lies; SVG 1.1 §7.7, §7.8."""
    (found, _closed), *_ = chains(page('<path d="M50 20H51" stroke="#000"/>', attributes))
    assert found[0] == place


def test_page_without_size() -> None:
    text = page('<path d="M50 20H51" stroke="#000"/>', 'viewBox="0 0 100 100"')
    with pytest.raises(NotRead, match="no width and no height"):
        chains(text)
    assert chains(text, width=F(200))[0][0][0] == (100, 160)
    assert chains(text, longer_side=F(120))[0][0][0] == (60, 96)


@pytest.mark.parametrize(
    ("box", "size", "corner"),
    [
        ("0 0 24 24", "120 × 120 mm", (120, 120)),  # an icon as they are drawn for the web
        ("0 0 24 96", "30 × 120 mm", (30, 120)),
        ("0 0 96 24", "120 × 30 mm", (120, 30)),
        ("-3 5 7 7", "120 × 120 mm", (120, 120)),
    ],
)
def test_a_drawing_without_size_is_of_a_stated_size(drawing: Any, box: str, size: str, corner: tuple[int, int]) -> None:
    """SVG 1.1 §7.2: the size of a stand-alone drawing is then the user agent's to choose."""
    x, y, width, height = box.split()
    frame = f'<rect x="{x}" y="{y}" width="{width}" height="{height}" fill="none" stroke="#000"/>'
    file = drawing(page(frame, f'viewBox="{box}"'))
    document = target_from_svg(file, sheet=0)
    assert document.notes == (f"the drawing states no size: taken as {size} (--width says otherwise)",)
    assert (str(corner[0]), str(corner[1])) in document.points.values()
    for width_ in ("48mm", 48, F(48)):
        sized = target_from_svg(file, sheet=0, width=width_)
        assert sized.notes == ()
        assert ("48", str(48 * corner[1] // corner[0])) in sized.points.values()


@pytest.mark.parametrize(
    "attributes",
    [
        'width="24" height="24" viewBox="0 0 24 24"',
        'width="24" height="24"',
        'width="1in" height="1in" viewBox="0 0 24 24"',
        'width="50%" viewBox="0 0 24 24"',
    ],
)
def test_a_width_from_outside_holds_whatever_is_stated(drawing: Any, attributes: str) -> None:
    file = drawing(page('<rect x="0" y="0" width="24" height="24" fill="none" stroke="#000"/>', attributes))
    document = target_from_svg(file, sheet=0, width="240mm")
    assert ("240", "240") in document.points.values() or "in" in attributes
    if "1in" not in attributes and "%" not in attributes:
        assert document.notes == ()


def test_an_outline_that_touches_itself_is_told_when_it_is_read(drawing: Any, tmp_path: Path) -> None:
    file = drawing(page('<polygon points="2,12 8,6 14,12 20,8 20,16 14,12 8,18" fill="none" stroke="#000"/>'))
    done = run("import", file, "-o", tmp_path / "fish.toml")
    assert done.exit_code == 0, done.output
    told = r"touches or crosses itself at p3 \(point 3 of <polygon> in line \d+\) \(14, 88\): figure \("  # not piece 2
    assert re.search(told, done.output)
    assert [len(loop) for loop in load_any(tmp_path / "fish.toml").loops] == [3, 4]
    crossed = drawing(page('<polygon points="2,2 20,2 2,20 20,20" fill="none" stroke="#000"/>'))
    document = target_from_svg(crossed)
    assert (document.loops, [len(path) for path in document.paths]) == ((), [5])


def test_how_far_an_outline_is_from_closed_is_told_when_it_is_read(drawing: Any, tmp_path: Path) -> None:
    file = drawing(page('<polyline points="2,2 20,2 11,20 2.03,2.04" fill="none" stroke="#000"/>'))
    done = run("import", file, "-o", tmp_path / "sail.toml")
    assert done.exit_code == 0, done.output
    assert "is open at p1, only 0.05 mm from p4" in done.output  # 0.03² + 0.04² = 0.05²


def test_a_width_wants_something_to_be_the_width_of(drawing: Any) -> None:
    file = drawing(page('<path d="M0 0H9V9Z"/>', ""))
    with pytest.raises(NotRead, match="no width and no viewBox"):
        target_from_svg(file, width="240mm")


FUNCTIONS = st.one_of(
    st.lists(NUMBERS, min_size=6, max_size=6).map(lambda v: f"matrix({','.join(v)})"),
    st.lists(NUMBERS, min_size=1, max_size=2).map(lambda v: f"translate({' '.join(v)})"),
    st.lists(NUMBERS, min_size=1, max_size=2).map(lambda v: f"scale({' , '.join(v)})"),
    st.tuples(st.sampled_from([0, 30, 36, 45, 72, 90, 180, 270, -90, 450, 60.0]), st.one_of(st.just(""), PAIRS)).map(
        lambda v: f"rotate({v[0]} {v[1]})"
    ),
    st.sampled_from([0, 30, 45, -60, 135]).map(lambda v: f"skewX({v})"),
    st.sampled_from([0, 30, 45, -60, 135]).map(lambda v: f"skewY( {v} )"),
)


@examples(60)
@given(st.lists(FUNCTIONS, min_size=1, max_size=4), st.tuples(NUMBERS, NUMBERS))
def test_transforms_as_an_independent_library_applies_them(functions: list[str], start: tuple[str, str]) -> None:
    """svgelements carries a place to the same place (SVG 1.1 §7.6: the rightmost function is applied first)."""
    text = " ".join(functions)
    try:
        found = chains(page(f'<path transform="{text}" d="M{start[0]} {start[1]} l 1 0" stroke="#000"/>'))
    except Unsupported as error:
        assert "degree" in str(error)  # noqa: PT017
        return
    matrix = svgelements.Matrix(text)
    if not found:
        scale = max(abs(v) for v in (matrix.a, matrix.b, matrix.c, matrix.d))
        assert abs(matrix.determinant) <= 1e-6 * max(scale, 1) ** 2
        return
    place = matrix.point_in_matrix_space((float(start[0]), float(start[1])))
    (x, y), _ = found[0][0]
    assert float(x) == pytest.approx(place.x, rel=1e-7, abs=1e-4)
    assert float(100 - y) == pytest.approx(place.y, rel=1e-7, abs=1e-4)


@pytest.mark.parametrize(
    "text", ["rotate()", "rotate(1 2)", "matrix(1 2 3)", "turn(3)", "scale 2", "scale(2", "translate(1,)", "scale(2) 3"]
)
def test_transform_mistakes(text: str) -> None:
    with pytest.raises(Misread):
        transforms(text)


def test_rotation_is_exact() -> None:
    """Five turns by 72° close up, exactly: cos 36° = (1 + sqrt 5)/4 (Euclid)."""
    turn = "rotate(72)"
    text = page("".join(f'<path transform="{turn * k}" d="M10 0L20 0" stroke="#000"/>' for k in range(6)))
    picture = svg_shapes.read_picture(text.encode(), "x")
    first, last = picture.shapes[0].chains[0].points, picture.shapes[5].chains[0].points
    assert first == last
    third = svg_shapes.read_picture(page('<path transform="rotate(36)" d="M4 0L8 0" stroke="#000"/>').encode(), "x")
    assert third.shapes[0].chains[0].points[0].x == read_numbers(["1+sqrt(5)"]).numbers["1+sqrt(5)"]


def test_angle_of_too_high_a_degree_names_the_element() -> None:
    body = '<g transform="rotate(30)"/>\n<g id="odd" transform="rotate(7)"><path d="M0 0H1" stroke="#000"/></g>'
    with pytest.raises(Unsupported, match=r'<g id="odd"> transform \(line 2\).*degree'):
        chains(page(body))


@pytest.mark.parametrize(
    "degrees", ["7", "-7", "15.0001", "89.999", "133.1", "179.9", "180.01", "227", "301.7", "725.3"]
)
def test_a_turn_may_be_rounded_and_nothing_else_changes(degrees: str) -> None:
    """The shape stays as it is, exactly, and lies where numpy has it, to a hundredth of a millimetre."""
    body = f'<path transform="rotate({degrees} 50 40)" d="M20 50L70 20L110 44Z" stroke="#000"/>'
    with pytest.raises(Unsupported, match="drawing programs can flatten"):
        chains(page(body))
    ((turned, _),) = chains(page(body), round_turns=True)
    before = [(F(20), F(50)), (F(70), F(20)), (F(110), F(44))]
    for i, j in ((0, 1), (1, 2), (2, 0)):
        was, now = (sum((p - q) ** 2 for p, q in zip(t[i], t[j], strict=True)) for t in (before, turned))
        assert was == now
    angle = np.radians(float(degrees))
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    places = (np.array(before, float) - [50, 40]) @ turn.T + [50, 40]
    assert np.abs(np.array(down(turned), float) - places).max() < 1e-2


def test_a_drawing_with_rounded_turns_says_so(drawing: Callable[[str], Path]) -> None:
    path = drawing(page('<polygon transform="rotate(7)" points="20,50 70,20 90,44"/>'))
    (note,) = target_from_svg(path, round_turns=True).notes
    assert "7° as 7.000000533°" in note
    exact = drawing(page('<polygon transform="rotate(30)" points="20,50 70,20 90,44"/>'))
    assert target_from_svg(exact, round_turns=True) == target_from_svg(exact)


@pytest.mark.parametrize(
    ("background", "told"),
    [
        ('<rect width="100%" height="100%" fill="#fff"/>', "element=rect:ignore"),
        ('<path id="paper" d="M-1 -1H101V101H-1Z" fill="#fff"/>', "id=paper:ignore"),
        ('<rect width="100" height="99" fill="#fff"/>', ""),
        ('<polygon points="50,0 100,50 50,100 0,50"/>', ""),
    ],
)
def test_what_covers_the_whole_page_is_pointed_at(drawing: Callable[[str], Path], background: str, told: str) -> None:
    figure = '<polygon points="30,30 70,30 70,70"/>'
    path = drawing(page(background + figure))
    document = target_from_svg(path)
    assert len(document.loops) == 2
    assert bool(told) == bool(document.notes)
    if told:
        (note,) = document.notes
        assert f"--line {told}" in note
        # inside one outline is the figure, inside two what comes out of it
        assert "so the page is the figure, and what is drawn on it is cut out of it" in note
        left = target_from_svg(path, rules=[told])
        assert (len(left.loops), left.notes) == (1, ())
    assert not target_from_svg(drawing(page(background))).notes


def test_how_many_lines_curves_became_is_said(drawing: Callable[[str], Path]) -> None:
    path = drawing(page('<path d="M20 50Q50 10 80 50Z"/>'))
    for flatten in ("1", "8"):
        document = target_from_svg(path, flatten=flatten)
        (note,) = document.notes
        assert f"its curves are {len(document.loops[0]) - 1} lines within {flatten} mm of them" in note
    assert not target_from_svg(drawing(page('<path d="M20 50L50 10L80 50Z"/>')), flatten="1").notes


def test_import_and_construct_agree_on_lines_without_a_rule(drawing: Callable[[str], Path], tmp_path: Path) -> None:
    path = drawing(page('<rect width="90" height="90"/><polygon class="cut" points="30,30 70,30 70,70"/>'))
    rules = ["--line", "class=cut:target"]
    more = [*rules, "--line", "element=rect:ignore"]
    for command in ("import", "construct", "recipe"):
        out = str(tmp_path / f"{command}.toml")
        done = run(command, path, "-o", out, *rules)
        assert done.exit_code == 2
        assert "found a line that no rule maps" in done.output
        assert "element=rect:ignore or element=rect:target" in done.output
        assert "the figure is 40 × 40 mm" in run(command, path, "-o", out, *more).output


# shapes


@pytest.mark.parametrize(
    ("body", "places", "closed"),
    [
        ('<polygon points="1,2 3,4 5,0"/>', [(1, 2), (3, 4), (5, 0)], True),
        ('<polyline points="1 2,3 4,5 0" fill="none" stroke="#111"/>', [(1, 2), (3, 4), (5, 0)], False),
        ('<line x1="1" y1="2" x2="3" y2="4" stroke="#111"/>', [(1, 2), (3, 4)], False),
        ('<line x2="3" y2="10%" stroke="#111"/>', [(0, 0), (3, 10)], False),
        ('<rect x="1" y="2" width="3" height="4"/>', [(1, 2), (4, 2), (4, 6), (1, 6)], True),
        ('<rect x="1" y="2" width="50%" height="4" rx="0" ry="2"/>', [(1, 2), (51, 2), (51, 6), (1, 6)], True),
        (
            '<svg x="10" y="20" width="50" height="50" viewBox="0 0 25 25"><path d="M1 1H2V2Z"/></svg>',
            [(12, 22), (14, 22), (14, 24)],
            True,
        ),
        (
            '<defs><path id="a" d="M1 1H2V2Z"/></defs><use xlink:href="#a" x="5" transform="scale(2)"/>',
            [(12, 2), (14, 2), (14, 4)],
            True,
        ),
        (
            '<g id="a" display="none"/><g fill="none"><g stroke="#111"><path d="M0 0H3"/></g></g>',
            [(0, 0), (3, 0)],
            False,
        ),
    ],
)
def test_shapes(body: str, places: list[Any], closed: bool) -> None:
    """SVG 1.1 §9, §5.6 (use: transform, then x and y), §7.9 (nested svg)."""
    ((found, is_closed),) = chains(page(body))
    if closed and found[0] == found[-1]:
        found.pop()
    assert down(found) == places
    assert is_closed == closed


@pytest.mark.parametrize(
    "body",
    [
        '<path d="M0 0H3" fill="none"/>',
        '<path d="M0 0H3" stroke="#111" display="none"/>',
        '<g display="none"><path d="M0 0H3" stroke="#111"/></g>',
        '<g visibility="hidden"><path d="M0 0H3" stroke="#111"/></g>',
        '<path d="M0 0H3" style="stroke:#111;visibility:hidden"/>',
        '<path d="M0 0H3" stroke="#111" stroke-width="0" fill="none"/>',
        '<path d="M0 0H3" stroke="#111" opacity="0"/>',
        '<rect width="0" height="5"/>',
        "<path/>",
        '<path d="none"/>',
        '<path d="M0 0H3" stroke="#111" transform="scale(0 1)"/>',
        '<defs><path d="M0 0H3" stroke="#111"/></defs>',
        '<symbol><path d="M0 0H3" stroke="#111"/></symbol>',
        '<linearGradient id="a"><stop/></linearGradient>',
        '<x:note xmlns:x="urn:editor"><path d="M0 0H3" stroke="#111"/></x:note>',
        '<style>.a { display: none }</style><path class="a" d="M0 0H3" stroke="#111"/>',
        '<style><![CDATA[ /* x */ #a, path.b {fill:none} ]]></style><path class="b" d="M0 0H3V3"/>',
        '<text visibility="hidden">a</text>',
    ],
)
def test_what_draws_nothing_is_left_out(body: str, drawing: Callable[..., Path]) -> None:
    assert chains(page(body)) == []
    with pytest.raises(NotRead, match="no line"):
        target_from_svg(drawing(page(body)))


def test_cascade() -> None:
    """CSS 2.1 §6.4: ids above classes above tags above attributes, the style attribute above all; later rules win
    ties.
    """
    sheet = "<style>#a{stroke:#00a} .c{stroke:#00c} .d{stroke:#00d} path{stroke:#00e}</style>"
    elements = [
        f'<path {x} d="M0 0H1" stroke="#00f"/>'
        for x in ('id="a" class="c"', 'class="d c"', "", 'id="b" style="stroke:#00b"')
    ]
    picture = svg_shapes.read_picture(page(sheet + "".join(elements)).encode(), "x")
    assert [s.style.values["stroke"] for s in picture.shapes] == ["#00a", "#00d", "#00e", "#00b"]


@pytest.mark.parametrize(
    ("body", "words"),
    [
        ('<path id="fin" d="M0 0C1 1 2 2 3 3"/>', r'<path id="fin"> \(line 1\): found a curve'),
        ('<path d="M0 0Q1 1 2 2"/>', "a curve"),
        ('<path d="M0 0T2 2"/>', "a curve"),
        ('<path d="M0 0S1 2 2 2"/>', "a curve"),
        ('<path d="M0 0A1 1 0 0 0 2 2"/>', "an arc"),
        ('<circle r="3"/>', "<circle>.*an arc"),
        ('\n<ellipse id="eye" rx="3" ry="2"/>', r'<ellipse id="eye"> \(line 2\)'),
        ('<rect width="9" height="9" rx="1"/>', "<rect>.*an arc"),
        ("<text>a</text>", "<text>.*outlines"),
        ('<image href="a.png"/>', "<image>"),
        ("<foreignObject/>", "<foreignObject>"),
        ("<switch/>", "<switch>"),
        ("<script/>", "<script>"),
        ('<path d="M0 0H3V3"><animate/></path>', "<animate>.*stands still"),
        ("<blob/>", "<blob>"),
        ('<path clip-path="url(#a)" d="M0 0H3V3"/>', "clip-path"),
        ('<g mask="url(#a)"/>', "mask"),
        ('<path style="transform: rotate(3deg)" d="M0 0H3V3"/>', "transform"),
        ("<style>@media print {a{}}</style>", "@media"),
        ("<style>g > path {fill:none}</style>", "selector"),
        ('<symbol id="a"/><use href="#a"/>', "<symbol"),
        ('<use href="other.svg#a"/>', "of this file"),
        ('<svg width="5" height="5"><path d="M0 0H9V3"/></svg>', "outside the frame"),
        ('<rect width="1em" height="3"/>', 'unit "em"'),
    ],
)
def test_unsupported(body: str, words: str, drawing: Callable[..., Path]) -> None:
    with pytest.raises(Unsupported, match=words) as caught:
        target_from_svg(drawing(page(body)))
    assert caught.value.line
    assert caught.value.source.endswith("drawing.svg")


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"%PDF-1.7\n%\xe2\xe3", "found a PDF file; expected an SVG file"),
        (b"\xff\xd8\xff\xe0", "found a JPEG picture; expected an SVG file"),
        (b"\x1f\x8b\x08\x00\xff", "found a compressed file; expected an SVG file"),
        (b"<svg>\xe4</svg>", "byte 5: found bytes that are not UTF-8; expected an SVG file in UTF-8"),
    ],
)
def test_a_file_of_another_kind_is_called_by_it(data: bytes, words: str, tmp_path: Path) -> None:
    file = tmp_path / "drawing.svg"
    file.write_bytes(data)
    with pytest.raises(NotRead, match=words):
        target_from_svg(file)


CLIPPED = '<g clip-path="url(#c)" transform="translate(2 1)"><path d="M1 1H8V6H1Z"/></g><defs>{}</defs>'


@pytest.mark.parametrize(
    "clip",
    [
        '<clipPath id="c"><rect width="9" height="7" fill="white"/></clipPath>',
        '<clipPath id="c" clipPathUnits="userSpaceOnUse"><rect x="1" y="1" width="7" height="5"/></clipPath>',
    ],
)
def test_a_rectangle_that_clips_nothing_off_is_no_obstacle(clip: str) -> None:
    """Many programs clip a whole page to itself. SVG 1.1 §14.3.5: in the user space of what is clipped, so with its
    transform.
    """
    free = CLIPPED.replace('clip-path="url(#c)"', "").format("")
    assert chains(page(CLIPPED.format(clip))) == chains(page(free))


@pytest.mark.parametrize(
    ("clip", "words"),
    [
        ('<clipPath id="c"><rect width="7" height="7"/></clipPath>', "outside the frame"),
        ('<clipPath id="c"><circle r="99"/></clipPath>', "clip-path"),
        ('<clipPath id="c"><rect width="9" height="7" rx="1"/></clipPath>', "clip-path"),
        ('<clipPath id="c"><rect width="9" height="7" transform="scale(.1)"/></clipPath>', "clip-path"),
        ('<clipPath id="c"><rect width="9" height="7" display="none"/></clipPath>', "clip-path"),
        ('<clipPath id="c" transform="scale(.1)"><rect width="9" height="7"/></clipPath>', "clip-path"),
        ('<clipPath id="c" clipPathUnits="objectBoundingBox"><rect width="9" height="7"/></clipPath>', "clip-path"),
        ('<clipPath id="c"><rect width="9" height="7"/><rect width="9" height="1"/></clipPath>', "clip-path"),
        ('<clipPath id="c"><rect width="0" height="7"/></clipPath>', "clip-path"),
    ],
)
def test_what_clips_something_off_is_refused(clip: str, words: str, drawing: Callable[..., Path]) -> None:
    with pytest.raises(Unsupported, match=words):
        target_from_svg(drawing(page(CLIPPED.format(clip))))


def test_nested_overflow_may_be_visible() -> None:
    assert chains(page('<svg width="5" height="5" overflow="visible"><path d="M0 0H9V3"/></svg>'))


@pytest.mark.parametrize(
    "body",
    [
        '<path d="M0 0 L"/>',
        '<polygon points="1 2 3"/>',
        '<polygon points="1 2 x 3"/>',
        '<rect width="-1" height="2"/>',
        '<rect x="NaN" width="1" height="2"/>',
        '<line x1="1e400" y1="0" x2="1" y2="1" stroke="#111"/>',
        '<g transform="spin(3)"/>',
        '<use href="#none"/>',
        "<use/>",
        '<g id="a"><use href="#a"/></g>',
        '<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>',
        '<g id="a"/><g id="a"/>',
        '<svg viewBox="0 0 0 5"/>',
        '<svg preserveAspectRatio="left" viewBox="0 0 5 5"/>',
        '<path d="M0 0H3V3" stroke="#111"/>',  # filled and open: an outline or a line?
        "<style>path {fill:none</style>",
    ],
)
def test_malformed(body: str, drawing: Callable[..., Path]) -> None:
    with pytest.raises(NotRead) as caught:
        target_from_svg(drawing(page(body)))
    assert not isinstance(caught.value, Unsupported)
    assert caught.value.line == 1
    assert caught.value.found
    assert caught.value.expected


# hostile files

_LAUGHS = (
    '<?xml version="1.0"?><!DOCTYPE svg [<!ENTITY a "aaaaaaaaaa">'
    + "".join(f'<!ENTITY {b} "{10 * f"&{a};"}">' for a, b in itertools.pairwise("abcdefghij"))
    + "]>"
)


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"not XML",
        b"\x00\x01\x02",
        b"\xff\xfe<\x00s\x00",
        b"<svg",
        b"<svg><g></svg>",
        b"<html/>",
        b'<svg xmlns="urn:other"/>',
        b"<svg>&boom;</svg>",
        b'<?xml version="1.0" encoding="latin-1"?><svg>\xe9</svg>',
        b'<?xml-stylesheet href="a.css"?><svg/>',
        (_LAUGHS + "<svg>&j;</svg>").encode(),
        b'<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/passwd">]><svg>&x;</svg>',
        b'<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "svg11.dtd"><svg><path d="M0 0 &x; L1 1"/></svg>',
        b'<!DOCTYPE svg SYSTEM "x" [<!ATTLIST path d CDATA "M0 0H9V9Z">]><svg><path/></svg>',
        b"<g>" * 100_000,
        b"<svg>" + b"<g>" * 5_000 + b"</g>" * 5_000 + b"</svg>",
        b"<svg>" + b"<g/>" * 60_000 + b"</svg>",
        b"<svg>" + b" " * (5 * 1024 * 1024) + b"</svg>",
        b'<svg><path d="' + b"M0 0 L1 1 " * 5_001 + b'" stroke="red"/></svg>',
        b'<svg><path d="M0 0 L' + b"9" * 100_000 + b' 1"/></svg>',
        b'<svg><path d="M0 0 L1e999999999 1"/></svg>',
        b'<svg width="' + b"9" * 5000 + b'mm"/>',
        b'<svg viewBox="nan nan nan nan"/>',
        b'<svg width="0" height="5"><path d="M0 0H1V1z"/></svg>',
        b"<svg>"
        + b"".join(b'<g id="u%d">' % k + b'<use href="#u%d"/>' % (k + 1) * 10 + b"</g>" for k in range(12))
        + b'<g id="u12"/></svg>',
    ],
    ids=range(26),
)
def test_hostile_files(content: bytes, drawing: Callable[..., Path]) -> None:
    file = drawing(content)
    result = run("import", file, "-o", file.with_suffix(".toml"))
    assert result.exit_code in (2, 4)
    assert "Traceback" not in result.output
    assert not file.with_suffix(".toml").exists()


def test_the_plain_doctype_of_the_standard_is_read() -> None:
    doctype = (
        '<?xml version="1.0"?>\n<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" '
        '"http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">\n'
    )
    assert chains(doctype + page('<path d="M0 0H3V3Z"/>'))


@examples(200)
@given(st.binary(max_size=200))
def test_bytes_never_crash(content: bytes) -> None:
    with pytest.raises(NotRead):
        svg_tree.parse(content, "x")


@examples(200)
@given(
    st.sampled_from(
        [
            "d",
            "points",
            "transform",
            "style",
            "x",
            "width",
            "viewBox",
            "preserveAspectRatio",
            "stroke-dasharray",
            "fill",
        ]
    ),
    st.sampled_from(["path", "polygon", "rect", "svg", "use", "g", "line", "style"]),
    st.one_of(
        st.text(alphabet="MLHVCSQTAZz0123456789.,-+eE() \t%mpxrotate#;:{}", max_size=30),
        st.text(
            st.characters(min_codepoint=32, exclude_characters='<&"', exclude_categories=["Cs", "Cc"]), max_size=20
        ),
    ),
)
@example("style", "g", "fill:;x")
def test_attributes_never_crash(key: str, tag: str, value: str) -> None:
    if any(c in value for c in "\ufffe\uffff"):
        return
    text = page(f'<{tag} {key}="{value}" stroke="#111"/>' if key != "stroke" else "")
    try:
        chains(text, flatten=F(1))
    except NotRead as error:
        assert error.found  # noqa: PT017


# curves


def distance(places: np.ndarray[Any, Any], lines: np.ndarray[Any, Any]) -> np.ndarray[Any, Any]:
    """From each place to the nearest of the lines."""
    a, b = lines[:-1], lines[1:]
    along = b - a
    length2 = np.maximum((along**2).sum(axis=1), 1e-300)
    t = np.clip(((places[:, None] - a) * along).sum(axis=2) / length2, 0, 1)
    return np.sqrt(((places[:, None] - a - t[:, :, None] * along) ** 2).sum(axis=2)).min(axis=1)


def both_ways(lines: Any, curve: np.ndarray[Any, Any], samples: int = 40) -> float:
    """The greatest distance of the lines from the sampled curve, and of the curve from the lines."""
    polyline = np.array([[float(x), float(y)] for x, y in lines])
    steps = np.linspace(0, 1, samples)[:, None, None]
    on_lines = (polyline[:-1] + steps * (polyline[1:] - polyline[:-1])).reshape(-1, 2)
    return max(distance(curve, polyline).max(), distance(on_lines, curve).max())


@examples(40)
@given(
    st.lists(st.tuples(st.integers(-50, 50), st.integers(-50, 50)), min_size=3, max_size=4),
    st.sampled_from(["5", "1", "0.3", "0.07"]),
    st.sampled_from(["", "rotate(30)", "matrix(1 2 .5 -3 4 5)", "scale(.1)"]),
)
def test_beziers_stay_within_the_tolerance(controls: list[Any], tolerance: str, transform: str) -> None:
    """Measured densely against the Bernstein form, which defines the curve, both ways."""
    word = "Q" if len(controls) == 3 else "C"
    data = f"M{controls[0][0]} {controls[0][1]}{word}" + " ".join(f"{x} {y}" for x, y in controls[1:])
    (places, _), *_ = chains(page(f'<path d="{data}" stroke="#111" transform="{transform}"/>'), flatten=F(tolerance))
    t = np.linspace(0, 1, 3000)[:, None]
    weights = [1, 2, 1] if word == "Q" else [1, 3, 3, 1]
    degree = len(weights) - 1
    curve = sum(
        w * t**i * (1 - t) ** (degree - i) * np.array(c) for i, (w, c) in enumerate(zip(weights, controls, strict=True))
    )
    m = svgelements.Matrix(transform)
    curve = np.array([[m.a * x + m.c * y + m.e, 100 - (m.b * x + m.d * y + m.f)] for x, y in curve])
    step = np.sqrt(((curve[1:] - curve[:-1]) ** 2).sum(axis=1)).max()
    assert both_ways(places, curve) <= float(F(tolerance)) + min(step, 0.02 * float(F(tolerance)) + step**2)


@pytest.mark.parametrize("tolerance", ["1", "0.1", "0.01", "0.001"])
def test_an_arc_takes_hardly_more_lines_than_it_must(tolerance: str) -> None:
    """A chord that is t away from a circle of radius r spans twice the angle with the cosine 1 - t/r (trigonometry)."""
    (places, _), *_ = chains(page('<path d="M10 50A40 40 0 0 1 90 50" stroke="#111"/>'), flatten=F(tolerance))
    needed = pi / (2 * acos(1 - float(tolerance) / 40))
    assert needed <= len(places) - 1 <= 1.08 * needed + 1


@examples(25)
@given(
    st.tuples(st.integers(1, 60), st.integers(1, 60), st.integers(-180, 180)),
    st.tuples(st.integers(-50, 50), st.integers(-50, 50)),
    st.booleans(),
    st.booleans(),
    st.sampled_from(["2", "0.5", "0.05"]),
)
@example((10, 10, 0), (20, 0), False, True, "0.05")  # exactly a half turn
@example((1, 1, 0), (20, 0), True, True, "0.05")  # too small: scaled up (SVG 1.1 §F.6.6)
def test_arcs_stay_within_the_tolerance(shape: Any, end: Any, large: bool, sweep: bool, tolerance: str) -> None:
    """Measured densely against svgelements' arc, both ways."""
    if end == (0, 0):
        return
    data = f"M0 0A{shape[0]} {shape[1]} {shape[2]} {int(large)} {int(sweep)} {end[0]} {end[1]}"
    (places, _), *_ = chains(page(f'<path d="{data}" stroke="#111"/>'), flatten=F(tolerance))
    assert places[0] == (0, 100)
    assert places[-1] == (end[0], 100 - end[1])
    arc = svgelements.Path(data)[1]
    curve = arc.npoint(np.linspace(0, 1, 1500)) * (1, -1) + (0, 100)
    assert both_ways(places, curve) <= float(F(tolerance)) * 1.01 + 2e-3


@pytest.mark.parametrize("tolerance", ["1", "0.1", "0.01", "0.001"])
def test_circle(tolerance: str) -> None:
    """The places of a circle's lines are within the tolerance of the radius, and so are their middles."""
    ((places, closed),) = chains(page('<circle cx="50" cy="40" r="30"/>'), flatten=F(tolerance))
    assert closed
    assert {(80, 60), (50, 30), (20, 60), (50, 90)} <= set(places)
    for (x1, y1), (x2, y2) in itertools.pairwise(places):
        for x, y in ((x1, y1), ((x1 + x2) / 2, (y1 + y2) / 2)):
            radius2 = (x - 50) ** 2 + (y - 60) ** 2
            assert (30 - F(tolerance)) ** 2 <= radius2 <= (30 + F(tolerance)) ** 2  # exactly
    # no more lines than twice what the bound asks for: sagitta r h²/8
    assert len(places) < 2 * (2 * 3.15 * (30 / (8 * float(F(tolerance)))) ** 0.5) + 8


def test_rounded_rectangle() -> None:
    """SVG 2 §10.2: ry defaults to rx, radii are at most half a side."""
    ((places, _),) = chains(page('<rect x="10" y="20" width="30" height="10" rx="9"/>'), flatten=F(1, 10))
    assert {(19, 80), (31, 80), (40, 75), (31, 70), (19, 70), (10, 75)} <= set(places)
    assert all(10 <= x <= 40 and 70 <= y <= 80 for x, y in places)


def test_too_many_pieces() -> None:
    with pytest.raises(NotRead, match="larger tolerance"):
        chains(page('<path d="M0 0C1e8 1e8 -1e8 1e8 0 9"/>'), flatten=curves.FINEST)


# targets


def test_target(drawing: Callable[..., Path]) -> None:
    """The picture keeps its handedness: y is flipped, corners and margin in mm."""
    body = (
        '<title>A  kite</title><path d="M20 10 L20 10 30 20 25 25 20 30 10 20z"/><path d="M50 50 L60 60" '
        'stroke="#111"/>'
    )
    document = target_from_svg(drawing(page(body)))
    assert document.title == "A kite"
    assert document.unit == "mm"
    assert corners(document, document.loops[0]) == down([(20, 10), (30, 20), (20, 30), (10, 20)])  # (25, 25) is cleaned
    assert document.loops == (("p1", "p2", "p3", "p4"),)
    assert document.paths == (("p5", "p6"),)
    assert document.snips == 1
    assert corners(document, document.outline) == [(0, 30), (70, 30), (70, 100), (0, 100)]
    draw(document)


def test_target_sheet_of_a_class(drawing: Callable[..., Path]) -> None:
    body = (
        '<rect class="paper" x="5" y="5" width="50" height="50" fill="none" stroke="#333"/><rect x="20" '
        'y="20" width="9" height="9"/>'
    )
    document = target_from_svg(drawing(page(body)), rules=["class=paper:border"])
    assert sorted(corners(document, document.outline)) == [(5, 45), (5, 95), (55, 45), (55, 95)]
    assert len(document.loops) == 1
    with pytest.raises(NotRead, match="no line that it fits"):
        target_from_svg(drawing(page(body)), rules=["class=card:border"])


def test_equal_places_are_one_point(drawing: Callable[..., Path]) -> None:
    document = target_from_svg(drawing(page('<path d="M10 10H20V20z"/><path d="M20 20 H10 V10 z"/>')))
    assert document.loops == (("p1", "p2", "p3"), ("p3", "p4", "p1"))


def test_an_outline_that_crosses_itself_is_a_path(drawing: Callable[..., Path]) -> None:
    document = target_from_svg(drawing(page('<polygon points="10,10 20,20 20,10 10,20"/>')))
    assert document.loops == ()
    assert document.paths == (("p1", "p2", "p3", "p4", "p1"),)
    draw(document)


def test_window_from_a_drawing_is_certified(drawing: Callable[..., Path]) -> None:
    """The square window of README, drawn: three folds, one cut."""
    body = """<g fill="none" stroke="#000">
      <rect class="paper" width="120" height="120"/>
      <rect class="out" x="30" y="30" width="60" height="60"/>
      <g class="valley"><path d="M0 60H120M60 120V60"/></g>
      <g class="ridge"><path d="M60 60V0"/></g>
      <g id="diagonals"><path d="M0 120L60 60 120 0"/><path d="M120 120L60 60 0 0"/></g></g>"""
    rules = [
        "class=paper:border",
        "class=out:target",
        "class=valley:valley",
        "class=ridge:mountain",
        "layer=diagonals:either",
    ]
    document = pattern_from_svg(drawing(page(body, 'width="120mm" height="120mm" viewBox="0 0 120 120"')), rules)
    assert len(document.creases) == 7
    assert verify.certify(document).verdict == "certified"


# crease patterns

LINES = '<rect width="100" height="100" fill="none" stroke="#999"/>'


def line(attributes: str, d: str = "M0 50H100") -> str:
    return f'<path d="{d}" {attributes}/>'


@pytest.mark.parametrize(
    ("rule", "attributes"),
    [
        ("stroke=red:valley", 'stroke="#F00"'),
        ("stroke=#ff0000:valley", 'style="stroke: rgb(255, 0, 0)"'),
        ("class=ridge:valley", 'stroke="#111" class="a ridge"'),
        ("dash=4 2:valley", 'stroke="#111" stroke-dasharray="4,2"'),
        ("dash=4 2 4 2:valley", 'stroke="#111" stroke-dasharray="4 2 4 2"'),
        ("dash=3 3:valley", 'stroke="#111" stroke-dasharray="3"'),
        ("dash=any:valley", 'stroke="#111" stroke-dasharray="4px 1px"'),
        ("id=fold:valley", 'stroke="#111" id="fold"'),
        ("element=path and stroke=#111:valley", 'stroke="#111"'),
    ],
)
def test_rules(rule: str, attributes: str, drawing: Callable[..., Path]) -> None:
    document = pattern_from_svg(drawing(page(LINES + line(attributes))), ["element=rect:border", rule])
    assert [c.kind for c in document.creases] == ["valley"]
    assert len(document.outline) == 4


@pytest.mark.parametrize("name", ['id="folds up"', 'x:label="folds up"', "><title>folds up</title"])
def test_layers(name: str, drawing: Callable[..., Path]) -> None:
    crease = line('stroke="#111"')
    body = f'<g xmlns:x="urn:editor" {name}><g>{crease}</g></g>'
    document = pattern_from_svg(drawing(page(LINES + body)), ["element=rect:border", "layer=folds up:mountain"])
    assert [c.kind for c in document.creases] == ["mountain"]


def test_no_colour_has_a_meaning_of_its_own(drawing: Callable[..., Path]) -> None:
    body = LINES + "".join(
        line(f'stroke="{c}"', f"M0 {y}H100") for y, c in enumerate(("red", "blue", "black"), start=10)
    )
    for kinds in itertools.permutations(("mountain", "valley", "flat")):
        rules = [f"stroke={c}:{k}" for c, k in zip(("red", "blue", "black"), kinds, strict=True)]
        document = pattern_from_svg(drawing(page(body)), ["element=rect:border", *rules])
        assert tuple(c.kind for c in document.creases) == kinds


@pytest.mark.parametrize(
    ("body", "rules", "words"),
    [
        (line('id="x" stroke="#111"'), [], r'<path id="x"> \(line 1\): found a line that no rule maps'),
        (
            line('id="x" stroke="#111"'),
            ["stroke=#111:valley", "id=x:mountain"],
            "two rules, stroke=#111:valley and id=x:mountain",
        ),
        (line('stroke="#111"'), ["stroke=#111:valley", "class=lost:flat"], "class=lost:flat: found no line"),
        (
            line('stroke="#111"') + line('stroke="#222"', "M100 50H0"),
            ["stroke=#111:valley", "stroke=#222:mountain"],
            "a valley line of <path>",
        ),
        (line('stroke="#111"') + "<text>1</text>", ["stroke=#111:valley"], "<text>"),
        (line('stroke="#111" stroke-dasharray="x"'), ["stroke=#111 and dash=none:valley"], "stroke-dasharray"),
    ],
)
def test_lines_without_or_with_too_much_meaning(
    body: str, rules: list[str], words: str, drawing: Callable[..., Path]
) -> None:
    with pytest.raises(NotRead, match=words):
        pattern_from_svg(drawing(page(LINES + body)), ["element=rect:border", *rules])


@pytest.mark.parametrize(
    "eye",
    ['<circle id="eye" cx="2" cy="2" r="1"/>', '<path id="eye" d="M1 1h1v1z" clip-path="url(#c)"/>'],
)
def test_what_is_no_straight_line_can_be_ignored_by_a_rule(eye: str, drawing: Callable[..., Path]) -> None:
    """The refusal names the rule, and with it the document is that of the drawing without the shape."""
    fish = '<path d="M0 0H9V6H0Z"/>'
    with pytest.raises(Unsupported, match="or a rule such as id=eye:ignore"):
        target_from_svg(drawing(page(fish + eye)))
    left_out = target_from_svg(drawing(page(fish + eye)), rules=["id=eye:ignore"])
    assert left_out.keys() == target_from_svg(drawing(page(fish))).keys()


def test_text_can_be_ignored_by_a_rule(drawing: Callable[..., Path]) -> None:
    body = LINES + line('stroke="#111"') + '<text class="n">1</text>'
    rules = ["element=rect:border", "stroke=#111:valley", "element=text:ignore"]
    assert len(pattern_from_svg(drawing(page(body)), rules).creases) == 1


@pytest.mark.parametrize(
    "text",
    [
        "",
        "red",
        "stroke=red",
        ":valley",
        "stroke=:valley",
        "stroke=red:up",
        "hue=red:valley",
        "stroke=red and stroke=blue:flat",
        "dash=x:flat",
    ],
)
def test_rules_that_cannot_be_read(text: str) -> None:
    with pytest.raises(NotRead):
        Rule.parse(text)


@pytest.mark.parametrize(("text", "meant"), [("stroke=red:montain", "mountain"), ("strok=red:mountain", "stroke")])
def test_what_was_perhaps_meant_by_a_rule(text: str, meant: str) -> None:
    with pytest.raises(NotRead) as error:
        Rule.parse(text)
    assert error.value.expected.endswith(f'(perhaps "{meant}")')


def test_rules_from_a_table(tmp_path: Path) -> None:
    file = tmp_path / "rules.toml"
    file.write_text(
        '[[line]]\nclass = "ridge"\ndash = "none"\nkind = "mountain"\n[[line]]\nlayer = "a and b:c"\nkind = "border"\n'
    )
    assert rules_from_toml(file) == [
        Rule((("class", "ridge"), ("dash", "none")), "mountain"),
        Rule((("layer", "a and b:c"),), "border"),
    ]
    for wrong in (
        "x = 1",
        "[[line]]\nkind = 'up'",
        "[[line]]\nkind = 'flat'",
        "[[line]]\nclass = 3\nkind = 'flat'",
        "line = 3",
        "[[",
        "\xff",
    ):
        file.write_bytes(wrong.encode("latin-1"))
        with pytest.raises(NotRead):
            rules_from_toml(file)


def test_border_from_single_lines_and_holes(drawing: Callable[..., Path]) -> None:
    body = (
        line('class="b" stroke="#111"', "M0 0H90M90 90V0M0 0V90M90 90H40H0")
        + line('class="b"', "M10 10h10v10z")
        + line('class="f" stroke="#111"', "M0 50H90")
    )
    document = pattern_from_svg(drawing(page(body)), ["class=b:border", "class=f:flat"])
    assert sorted(corners(document, document.outline)) == [(0, 10), (0, 100), (90, 10), (90, 100)]
    assert len(document.holes) == 1
    draw(document)


@pytest.mark.parametrize(
    ("d", "words"),
    [
        ("M0 0H90V90", "1 border line at"),
        ("M0 0H90V90Z M0 0 L50 80", "3 border lines at"),
        ("M0 0H40V40H0Z M50 50H90V90H50Z", "beside the first"),
        ("M0 0 L90 90 90 0 0 90Z", "cross"),
    ],
)
def test_borders_that_enclose_no_sheet(d: str, words: str, drawing: Callable[..., Path]) -> None:
    body = line('class="b" fill="none" stroke="#111"', d) + line('class="f" stroke="#111"')
    with pytest.raises(NotRead, match=words):
        pattern_from_svg(drawing(page(body)), ["class=b:border", "class=f:flat"])


def test_sheet_by_margin(drawing: Callable[..., Path]) -> None:
    file = drawing(page(line('stroke="#111"', "M10 10 L50 60")))
    with pytest.raises(NotRead, match="no border line"):
        pattern_from_svg(file, ["stroke=#111:flat"])
    document = pattern_from_svg(file, ["stroke=#111:flat"], margin="0.5")
    assert corners(document, document.outline)[0] == (F("9.5"), F("39.5"))
    for margin in ("-1", "nan", "x", float("inf"), "1e400"):
        with pytest.raises(NotRead):
            pattern_from_svg(file, ["stroke=#111:flat"], margin=margin)  # type: ignore[arg-type]


def test_a_margin_round_irrational_numbers_ends_at_a_hundredth_of_a_millimetre(drawing: Callable[..., Path]) -> None:
    """By arithmetic: turned by 30° a line from 0, 0 to 100, 0 ends at 86.60…, 50."""
    file = drawing(page(line('stroke="#111" transform="rotate(30)"', "M0 0 L100 0")))
    document = pattern_from_svg(file, ["stroke=#111:flat"], margin="1")
    places = corners(document, document.outline)
    left, right = (end(x for x, _ in places) for end in (min, max))
    assert (left, right) == (F("-1"), F(floor(100 * (100 * cos(pi / 6) + 1)) + 1, 100))


# colours and documents


def test_named_colours() -> None:
    """CSS Color 4 §6.1, as svgelements knows it, and as Pillow knows the two that svgelements lacks or misspells."""
    assert len(colours()) == 148
    for name in ("rebeccapurple", "aliceblue"):
        assert colours()[name] == "{:02x}{:02x}{:02x}".format(*ImageColor.getrgb(name))
    for name in colours().keys() - {"rebeccapurple", "aliceblue"}:
        theirs = svgelements.Color(name)
        assert colour(name.upper()) == f"#{theirs.red:02x}{theirs.green:02x}{theirs.blue:02x}", name


COORDINATES = st.tuples(st.decimals(0, 100, places=2), st.decimals(0, 100, places=2))


@examples(60)
@given(
    st.lists(st.lists(COORDINATES, min_size=3, max_size=6), min_size=1, max_size=4),
    st.sampled_from(["", "rotate(45)", "rotate(90)", "translate(1/3)".replace("1/3", "0.125"), "scale(0.3)"]),
    st.sampled_from(["100mm", "4in", "300px", "17pc"]),
    st.sampled_from([".toml", ".json"]),
)
def test_documents_read_back_identically(
    tmp_path_factory: pytest.TempPathFactory, polygons: Any, transform: str, width: str, suffix: str
) -> None:
    folder = tmp_path_factory.mktemp("svg")
    body = "".join(f'<polygon points="{" ".join(f"{x},{y}" for x, y in p)}"/>' for p in polygons)
    file = folder / "drawing.svg"
    file.write_text(page(f'<g transform="{transform}">{body}</g>', f'width="{width}" viewBox="0 0 100 100"'))
    try:
        document = target_from_svg(file)
    except NotRead as error:
        assert "no line" in str(error)  # noqa: PT017
        return
    out = folder / f"document{suffix}"
    write(document, out)
    again = verify.load(out)
    assert again == document
    assert isinstance(again, Document)
    assert again.statement_sha256 == document.statement_sha256
    draw(again)


# the command


def test_command(drawing: Callable[..., Path], tmp_path: Path) -> None:
    file, out = (
        drawing(page('<rect x="20" y="20" width="9" height="9"/>' + line('class="ridge" stroke="#111"'))),
        tmp_path / "o.toml",
    )
    result = run("import", file, "-o", out, "--margin", "5")
    assert result.exit_code == 0, result.output
    assert "1 target outline, 1 open target line" in result.output
    assert verify.load(out).unit == "mm"
    result = run(
        "import",
        *(file, "-o", out, "--force", "--line", "class=ridge:mountain", "--line", "element=rect:target"),
        *("--margin", "0", "--json"),
    )
    assert result.exit_code == 0
    assert json.loads(result.output)["facts"]["creases"] == 1
    result = run("import", file, "-o", out, "--force", "--target", "--line", "class=ridge:mountain")
    assert result.exit_code == 0
    table = tmp_path / "rules.toml"
    table.write_text('[[line]]\nclass = "ridge"\nkind = "mountain"\n')
    assert run("import", file, "-o", out, "--force", "--lines", table, "--target").exit_code == 0
    assert run("import", file, "-o", out, "--lines", table).exit_code == 2  # the rectangle is not mapped
    assert run("import", file, "-o", file).exit_code == 2
    assert run("import", tmp_path / "none.svg", "-o", out).exit_code == 2
    assert run("import", file, "-o", tmp_path / "no" / "folder.toml").exit_code == 2


def test_command_says_what_is_wrong(drawing: Callable[..., Path], tmp_path: Path) -> None:
    out = tmp_path / "o.toml"
    result = run("import", drawing(page('\n<circle id="moon" r="3"/>')), "-o", out)
    assert result.exit_code == 4
    assert result.output.startswith("unsupported: ")
    assert '<circle id="moon"> (line 2): found an arc' in result.output
    assert run("import", drawing(page('<circle id="moon" r="3"/>')), "-o", out, "--flatten", "0.1").exit_code == 0
    result = run("import", drawing(page('<path id="fin" d="M0 0 L"/>')), "-o", out, "--json")
    assert result.exit_code == 2
    keys = json.loads(result.output)
    assert keys["verdict"] == "malformed"
    assert keys["findings"][0]["where"] == ['<path id="fin"> d']
    for option in ("--flatten", "--margin", "--width"):
        assert run("import", drawing(page('<path d="M0 0H1V1z"/>')), "-o", out, option, "x").exit_code == 2


@pytest.mark.parametrize(
    ("text", "found"),
    [("<svg><path d='M0 0L1 1'/>", "the end of the file before its <svg> element is closed"), (" \n", "nothing")],
)
def test_a_file_that_ends_early_is_called_so(text: str, found: str) -> None:
    with pytest.raises(NotRead) as caught:
        svg_tree.parse(text.encode(), "drawing.svg")
    assert caught.value.found == found
