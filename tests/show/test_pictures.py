"""Pictures: true to scale, complete, readable without colour, for every kind of result."""

from __future__ import annotations

import random
import re
from collections import Counter
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import pytest
from shapely.affinity import rotate
from shapely.geometry import LineString, MultiPoint, Point, Polygon
from shapely.geometry import box as rectangle
from shapely.ops import unary_union

import verify
from tests.corpus import certified
from tests.families import miura
from verify.pattern.families import strip
from verify.pattern.limits import Limits
from verify.show.labels import Labels
from verify.show.page import XY
from verify.show.picture import ALL, cut_svg, folded_svg, pattern_svg, pieces_svg, stack_svg
from verify.show.scene import Scene, scene_of
from verify.show.style import DARK, LIGHT, css
from verify.tasks.certify import Result

SVG = "{http://www.w3.org/2000/svg}"
DOCUMENTS = [
    "certified/star.toml",
    "certified/letter-t.toml",
    "certified/lantern-twist.toml",
    "certified/quay-cradle.toml",
    "certified/panel-round-hole.toml",
    "certified/window-one-fold.toml",
    "certified/map-3x3.toml",
    "certified/slit.toml",
    "refuted/trapped-panel.toml",
    "refuted/hole-closure.toml",
    "refuted/kawasaki-hair.toml",
    "refuted/maekawa.json",
    "refuted/missed-edge.toml",
    "refuted/tip-on-the-line.toml",
    "refuted/three-slots-two-snips.toml",
    "recipes/letter-t.toml",
    "recipes/shutters.toml",
    "recipes/what-does-it-make.json",
    "recipes-refused/tearing.toml",
    "recipes-refused/star-by-eye.toml",
    "recipes-refused/cubic.toml",
]


@pytest.fixture
def result(proofs: Path):
    def of(name: str) -> Result:
        return certified(proofs / name)

    return of


@pytest.fixture
def scene(result):
    def of(name: str) -> Scene:
        found = scene_of(result(name))
        assert found is not None
        return found

    return of


def parsed(svg: str) -> ElementTree.Element:
    return ElementTree.fromstring(svg)


def drawn(svg: str) -> Iterator[ElementTree.Element]:
    """The elements of a picture without its legend and its badges (groups that are moved into place)."""
    todo = [parsed(svg)]
    while todo:
        element = todo.pop(0)
        if element.tag == f"{SVG}defs" or (element.tag == f"{SVG}g" and element.get("transform") is not None):
            continue
        yield element
        todo = [*element, *todo]


def paths(svg: str, kind: str) -> list[list[tuple[float, float]]]:
    """The walks of all paths of a class."""
    found = []
    for element in drawn(svg):
        if element.tag == f"{SVG}path" and element.get("class") == kind:
            for walk in element.get("d", "").split("M")[1:]:
                numbers = [float(x) for x in re.findall(r"-?[0-9.]+(?:e-?\d+)?", walk)]
                found.append(list(zip(numbers[::2], numbers[1::2], strict=True)))
    return found


def words(svg: str) -> str:
    return " ".join(t.text or "" for t in parsed(svg).iter(f"{SVG}text"))


def box(element: ElementTree.Element) -> tuple[float, float, float, float]:
    return tuple(float(x) for x in element.get("viewBox", "").split())  # type: ignore[return-value]


@pytest.mark.parametrize("name", DOCUMENTS)
def test_every_picture_of_every_kind_of_result_is_well_formed_and_says_the_verdict(name, result):
    r = result(name)
    for draw in ALL.values():
        root = parsed(draw(r))
        assert root.tag == f"{SVG}svg"
        x, _y, wide, high = box(root)
        # 1 mm of the page is 1 unit of the picture: the aspect is true.
        assert root.get("width") == f"{wide:.3f}".rstrip("0").rstrip(".") + "mm"
        assert root.get("height") == f"{high:.3f}".rstrip("0").rstrip(".") + "mm"
        assert r.verdict in (root.find(f"{SVG}title").text or "")
        for circle in drawn(draw(r)):
            if circle.tag == f"{SVG}circle":
                assert x - 1 <= float(circle.get("cx", "0")) <= x + wide + 1


@pytest.mark.parametrize("name", DOCUMENTS[:-1])
def test_nothing_is_cut_off(name, result):
    for draw in ALL.values():
        svg = draw(result(name))
        x, y, wide, high = box(parsed(svg))
        for kind in ("outline", "mountain", "valley", "target", "cut", "rim", "rail"):
            for px, py in (p for walk in paths(svg, kind) for p in walk):
                assert x <= px <= x + wide
                assert y <= py <= y + high


def test_the_sail_is_true_to_scale(proofs):
    # The sides of the document's own triangle: 3 to 4 to 5 (Euclid I.47).
    svg = pattern_svg(certified(proofs / "certified/sail-3-4-5.toml"))
    triangle = MultiPoint([p for walk in paths(svg, "target") for p in walk]).convex_hull.simplify(0.01)
    corners = list(triangle.exterior.coords)
    assert len(corners) == 4
    sides = sorted(LineString(pair).length for pair in pairwise(corners))
    assert sides[1] / sides[0] == pytest.approx(4 / 3, rel=1e-3)
    assert sides[2] / sides[0] == pytest.approx(5 / 3, rel=1e-3)


@pytest.mark.parametrize(
    "name",
    [
        "certified/star.toml",
        "certified/panel-round-hole.toml",
        "recipes/letter-t.toml",
        "recipes/what-does-it-make.json",
    ],
)
def test_pieces_are_drawn_with_their_exact_areas(name, scene):
    s = scene(name)
    parts, subdivision = s.parts
    flat = s.flat if subdivision is s.subdivision else [s.to_page(p) for p in subdivision.vertices]
    for piece in parts:
        rings = [Polygon([flat[v] for v in loop]) for loop in subdivision.outlines(piece.faces)]
        area = rings[0]
        for ring in rings[1:]:
            area = area.symmetric_difference(ring)
        assert area.area / float(s.scale) ** 2 == pytest.approx(float(piece.area), rel=1e-6)


@pytest.mark.parametrize(
    "name",
    [
        "certified/star.toml",
        "certified/letter-t.toml",
        "certified/lantern-twist.toml",
        "recipes/letter-t.toml",
        "recipes-refused/tearing.toml",
    ],
)
def test_the_drawn_paper_covers_exactly_the_folded_panels(name, scene):
    """Cross-check with shapely: the union of what is painted is the union of the folded faces."""
    s = scene(name)
    places = s.folded
    painted = unary_union(
        [Polygon(walk).buffer(0) for kind in ("front", "back") for walk in paths(folded_svg(s), kind) if len(walk) > 2]
    )
    panels = unary_union([Polygon([(places[v].x, -places[v].y) for v in f]) for f in s.subdivision.faces])
    drawn = painted.intersection(panels.buffer(1))
    assert drawn.symmetric_difference(panels).area < panels.area * 1e-3


@pytest.mark.parametrize(
    "name", ["certified/star.toml", "certified/letter-t.toml", "certified/lantern-twist.toml", "certified/map-3x3.toml"]
)
def test_what_is_seen_on_top_is_on_top(name, scene):
    """At random places the face painted last lies under no other face of the proved layer order."""
    s = scene(name)
    order, places = s.result.order, s.folded
    shapes = [Polygon([places[v] for v in f]) for f in s.subdivision.faces]
    painted: list[tuple[tuple[int, ...], tuple[int, ...] | None]] = []
    for plate in s.plates:
        painted.append((plate.faces, None))
        if len(plate.faces) == 1:
            painted += [((over,), plate.faces) for over in s.repaints.get(plate.faces[0], ())]
    dice = random.Random(11)
    x0, y0, x1, y1 = unary_union(shapes).bounds
    seen = 0
    for _ in range(400):
        p = Point(dice.uniform(x0, x1), dice.uniform(y0, y1))
        here = {f for f, shape in enumerate(shapes) if shape.contains(p)}
        if not here:
            continue
        seen += 1
        last = [f for faces, clip in painted if clip is None or clip[0] in here for f in faces if f in here][-1]
        assert not any(order.above[g, last] for g in here)
    assert seen > 50


def test_the_back_is_hatched_and_the_front_is_not(scene):
    """A panel shows its back exactly when its corners run clockwise in the folded plane (the fold map reverses it)."""
    s = scene("certified/letter-t.toml")
    svg = folded_svg(s)
    clockwise = [not Polygon([s.folded[v] for v in s.subdivision.faces[p.faces[0]]]).exterior.is_ccw for p in s.plates]
    kinds = [e.get("class") for e in drawn(svg) if e.tag == f"{SVG}path" and e.get("class") in ("front", "back")]
    assert kinds == ["back" if c else "front" for c in clockwise]
    hatched = [e for e in drawn(svg) if "hatch" in (e.get("style") or "")]
    assert len(hatched) == kinds.count("back") > 0


def test_a_circle_of_layers_is_painted_as_it_lies(scene):
    assert scene("certified/lantern-twist.toml").repaints, "the twist's stack has no exceptions: the test tests nothing"
    assert "clipPath" in folded_svg(scene("certified/lantern-twist.toml"))


def test_levels_respect_the_layer_order(scene):
    s = scene("certified/letter-t.toml")
    level = {f: p.level for p in s.plates for f in p.faces}
    above = s.result.order.above
    for f, g in zip(*above.nonzero(), strict=True):
        assert level[int(f)] > level[int(g)]


def test_folds_have_the_trades_dashes():
    """Mountain dash-dotted, valley dashed (common practice in folding and in technical drawing, no source)."""
    dashes = dict(re.findall(r"^\.(\S+) \{.*stroke-dasharray: ([0-9. ]+);", css(LIGHT), re.MULTILINE))
    assert len(dashes["mountain"].split()) == 4
    assert len(dashes["valley"].split()) == 2
    for plain in ("outline", "target", "cut", "guide"):
        assert plain not in dashes


def test_no_two_lines_differ_by_colour_alone():
    looks = Counter()
    for kind in ("mountain", "valley", "either", "guide", "outline", "target", "cut", "rim", "tie"):
        rule = re.search(rf"^\.{kind} \{{(.*)\}}", css(LIGHT), re.MULTILINE).group(1)
        looks[
            tuple(
                sorted(
                    p.strip() for p in rule.split(";") if p.strip() and not p.strip().startswith(("stroke:", "fill:"))
                )
            )
        ] += 1
    assert max(looks.values()) == 1


def _luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.2 defines it; white on black must come to 21, its greatest contrast (below)."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def _contrast(a: str, b: str) -> float:
    high, low = sorted((_luminance(a), _luminance(b)), reverse=True)
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("palette", [LIGHT, DARK])
def test_contrasts_meet_wcag_also_in_grey(palette):
    """WCAG 2.2: 7 for text (AAA), 4.5 for small marks with text; 1.4.11 asks 3 of meaningful lines. Luminance alone
    counts, so grey prints.
    """
    assert _contrast("#ffffff", "#000000") == pytest.approx(21)
    assert _contrast(palette["ink"], palette["ground"]) >= 7
    assert _contrast(palette["ink"], palette["front"]) >= 7
    assert _contrast(palette["ink"], palette["back"]) >= 4.5
    assert _contrast(palette["fault"], palette["ground"]) >= 4.5
    assert _contrast(palette["soft"], palette["ground"]) >= 4.5
    assert _contrast(palette["ink"], palette["target"]) >= 3


def test_a_refuted_pattern_without_folded_state_says_so_and_shows_the_tear(result):
    svg = folded_svg(result("refuted/hole-closure.toml"))
    assert "There is no folded state" in words(svg)
    assert len(paths(svg, "rail")) == 2
    (a, _b), (c, _d) = paths(svg, "rail")
    # The document's own claim: the sheet comes back moved by 20 mm.
    assert abs(a[0] - c[0]) == pytest.approx(20, abs=0.01) or abs(a[1] - c[1]) == pytest.approx(20, abs=0.01)
    assert "too small to be seen" in words(folded_svg(result("refuted/kawasaki-hair.toml")))


def test_a_refuted_layer_order_is_drawn_transparent_with_its_reasons_marked(result):
    svg = folded_svg(result("refuted/trapped-panel.toml"))
    assert "No layer order is known" in words(svg)
    assert len(paths(svg, "rail")) == 2
    assert paths(svg, "shade") == []
    # The two tails, each hatched as a whole although they lie on each other: 3 by 1 cm each, as the document says.
    tails = [Polygon(walk) for walk in paths(svg, "fault-face")]
    assert sorted(round(p.area / 400, 6) for p in tails) == [3, 3]
    assert tails[0].intersection(tails[1]).area > 0
    assert "no stack" in words(stack_svg(result("refuted/trapped-panel.toml")))


def test_a_step_that_cannot_be_done_is_drawn_where_it_stops(result):
    svg = folded_svg(result("recipes-refused/tearing.toml"))
    assert "before step 3" in words(svg)
    s = scene_of(result("recipes-refused/tearing.toml"))
    assert set(s.marks[0].faces) == set(s.result.carried.refused.faces)
    assert len(paths(svg, "fault-face")) == 2
    assert "panel that a finding names" in words(svg)


def test_a_vertex_that_fails_is_ringed_at_its_place(scene):
    s = scene("refuted/maekawa.json")
    ring = next(c for c in drawn(pattern_svg(s)) if c.get("class") == "ring")
    middle = s.flat[s.marks[0].vertices[0]]
    assert (float(ring.get("cx")), -float(ring.get("cy"))) == pytest.approx(tuple(middle), abs=1e-3)


def test_the_name_of_a_ringed_point_keeps_off_the_ring() -> None:
    """Two folds cross in the middle of a square; two are mountains, two valleys, which is wrong there."""
    corners = {"sw": [0, 0], "se": [12, 0], "ne": [12, 12], "nw": [0, 12], "w": [0, 6], "e": [12, 6], "s": [6, 0]}
    crossed = {
        "format": "creaseproof-pattern/1",
        "points": corners | {"n": [6, 12], "m": [6, 6]},
        "sheet": {"outline": ["sw", "se", "ne", "nw"]},
        "creases": [["w", "e", "valley"], ["s", "m", "mountain"], ["m", "n", "mountain"]],
    }
    s = scene_of(verify.certify(verify.read(crossed)))
    assert s is not None
    svg = pattern_svg(s)
    ring = next(c for c in drawn(svg) if c.get("class") == "ring")
    (text,) = (one for one in drawn(svg) if one.text == "m" and one.get("class") == "text")
    x, y = (float(text.get(axis, "")) - float(ring.get(f"c{axis}", "")) for axis in "xy")
    high = 0.5 * float(text.get("font-size", ""))  # an m is about twice as wide as it is high
    assert Point(0, 0).buffer(float(ring.get("r", ""))).disjoint(rectangle(x, y - high, x + 2 * high, y))


def test_the_cut_says_what_falls_where(result):
    star = words(cut_svg(result("certified/star.toml")))
    assert (
        "The part marked figure is what you keep; the rest falls away (to have a window instead, keep the rest)."
        in star
    )
    assert "Side A" not in star
    assert "10×" in star
    # its outline ends at the sheet's edge, so that neither of the two pieces is the figure
    assert "Side A of the line: piece 1. Side B: piece 2." in words(cut_svg(result("certified/fish.toml")))
    text = words(cut_svg(result("certified/window-one-fold.toml")))
    assert all(f"snip {n}" in text for n in (1, 2, 3))


@pytest.mark.parametrize("letter", "BMQX")
def test_the_most_layers_stand_at_the_cut(letter: str, result) -> None:
    """However many stretches the cut has, and however short the one that meets most (counted by the kernel)."""
    found = result(f"alphabet/{letter}.toml")
    (said,) = [f for f in found.findings if f.kind == "cut-exact"]
    written = [text.text for text in parsed(cut_svg(found)).iter(f"{SVG}text")]
    assert f"{said.value['layers']}×" in written


def test_pieces_that_are_not_proved_are_called_so(result):
    assert "It is not proved" in words(pieces_svg(result("refuted/missed-edge.toml")))
    assert "It is not proved" not in words(pieces_svg(result("certified/star.toml")))


def test_a_limit_leaves_pictures_that_say_so(proofs):
    r = verify.certify(proofs / "certified/star.toml", Limits(faces=3))
    assert r.verdict == "undecided"
    for draw in ALL.values():
        assert "undecided" in words(draw(r))


def test_an_undecided_search_is_drawn_without_layers():
    """A search that is given no time ends undecided; the fold map is there, the layers are not."""
    r = verify.certify(miura(12, 12), Limits(seconds=1e-6))
    assert r.verdict == "undecided"
    assert "No layer order is known" in words(folded_svg(r))


@pytest.mark.parametrize("size", ["1", "1e-200", "1e200", "1e400", "sqrt(2)/1000000000000000000000000000000"])
def test_sheets_of_any_size_fit_on_the_page(size):
    keys = {
        "format": "creaseproof-pattern/1",
        "sheet": {"outline": ["a", "b", "c", "d"]},
        "creases": [["a", "c", "valley"]],
        "points": {"a": [0, 0], "b": [size, 0], "c": [size, size], "d": [0, size]},
    }
    svg = pattern_svg(verify.certify(verify.read(keys)))
    xs = [x for walk in paths(svg, "outline") for x, _ in walk]
    assert 60 <= max(xs) - min(xs) <= 171


def test_names_from_a_document_cannot_break_out_of_the_picture():
    hostile = "<script>alert(1)</script>&\"'\x1b[31m\x00"
    keys = {
        "format": "creaseproof-pattern/1",
        "title": hostile,
        "sheet": {"outline": ["a", "b", "c"]},
        "points": {"a": [0, 0], "b": [10, 0], "c": [0, 10]},
    }
    r = verify.certify(verify.read(keys))
    for draw in ALL.values():
        svg = draw(r)
        assert "<script" not in svg
        assert not re.search(r"[\x00-\x08\x1b]", svg)
        parsed(svg)


def test_ids_of_several_pictures_in_one_page_stay_apart(result):
    r = result("certified/lantern-twist.toml")
    ids = Counter(
        i
        for n, draw in enumerate(ALL.values())
        for i in re.findall(r' id="([^"]*)"', draw(r, bare=True, prefix=f"p{n}-"))
    )
    assert max(ids.values()) == 1


@pytest.mark.parametrize("angle", [0, 20, 45, 77, 90])
def test_a_name_keeps_clear_of_the_cut_on_which_its_place_lies(angle):
    """Shapely measures: a box stands beside the heavy line, and lines that lie on each other weigh as one."""
    line = rotate(LineString([(-40, 0), (40, 0)]), angle, origin=(0, 0))
    labels = Labels()
    labels.avoid_lines([[XY(*end) for end in line.coords]], heavy=True)
    across = rotate(line, 90, origin=(0, 0))
    for _ in range(6):
        labels.avoid_lines([[XY(*end) for end in across.coords]])
    corner = labels.place(XY(0, 0), 6.0, 3.0)
    assert corner is not None
    assert rectangle(corner.x, corner.y, corner.x + 6, corner.y + 3).distance(line) > 0.4


def test_creases_that_lie_close_together_are_drawn_finer() -> None:
    """Pleats of a unit: a third of that on the page (0.12 mm at least), so that dashes do not run into one grey."""
    for pleat, finer in ((1, True), (10, False)):
        result = verify.certify(strip([100, pleat, 100], "MV", 100))
        scene = scene_of(result)
        assert scene is not None
        drawn = re.findall(r'class="(?:valley|mountain)" style="([^"]*)"', pattern_svg(result))
        assert len(drawn) == 4  # two creases, and the legend's
        widths = [float(width) for style in drawn for width in re.findall(r"stroke-width: ?([0-9.]+)", style)]
        page = pleat * float(scene.scale)
        assert widths == ([pytest.approx(max(0.12, page / 3), abs=1e-3)] * 2 if finer else [])


def test_a_hair_between_two_points_hides_no_side_of_the_figure(proofs: Path) -> None:
    """A window of four sides; where its upper side begins, two points are 1e-30 mm apart."""
    drawn = pattern_svg(certified(proofs / "refuted" / "cut-misses-by-a-hair.toml"), bare=True)
    (sides,) = re.findall(r'<path d="([^"]*)" class="target"', drawn)[:1]
    ends = [frozenset(side.strip().split(" L")) for side in sides.split("M")[1:]]
    corners = ("-30 30", "30 30", "30 -30", "-30 -30")
    assert set(ends) == {frozenset(pair) for pair in zip(corners, (*corners[1:], corners[0]), strict=True)}


@pytest.mark.parametrize("name", ["certified/letter-t.toml", "recipes/letter-t.toml", "certified/star.toml"])
def test_numbers_of_layers_stand_in_a_row_beside_the_cut(name: str, result) -> None:
    """All on one side of the line, in the order of the stretches that they count."""
    drawn = scene_of(result(name))
    assert drawn is not None
    assert drawn.cut_line is not None
    (a, b), told = drawn.cut_line, []
    for text in ElementTree.fromstring(cut_svg(drawn)).iter(f"{SVG}text"):
        if text.text and re.fullmatch(r"\d+×", text.text) and text.get("class") == "text":
            x, y = float(text.get("x", "")) - a.x, -float(text.get("y", "")) - a.y
            told.append((x * (b.x - a.x) + y * (b.y - a.y), x * (b.y - a.y) - y * (b.x - a.x), text.text))
    assert len({side > 0 for _, side, _ in told}) == 1
    counts = iter(f"{part.count}×" for part in drawn.result.layers)
    assert all(words in counts for _, _, words in sorted(told))  # each further along than the one before
