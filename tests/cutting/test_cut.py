"""What a cut does, against strips worked out by hand in rationals, and pieces against areas that shapely finds."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
import shapely
from hypothesis import assume, example, given
from hypothesis import strategies as st

import verify
from tests.corpus import certified
from tests.profiles import examples
from verify.pattern.document import Document
from verify.pattern.recipe import read_any
from verify.pattern.write import write
from verify.tasks.explain import explain, summary


def cross_cuts(lengths: list[int], where: list[Fraction], snips: int) -> Document:
    """A pleated strip that is to be cut square across at some places."""
    ends = [sum(lengths[:i]) for i in range(len(lengths) + 1)]
    points: dict[str, list[Any]] = {}
    for i, x in enumerate(ends):
        points |= {f"b{i}": [x, 0], f"t{i}": [x, 1]}
    for i, w in enumerate(where):
        points |= {f"u{i}": [str(w), 0], f"v{i}": [str(w), 1]}
    last = len(lengths)
    return read_any(
        {
            "format": "creaseproof-pattern/1",
            "points": points,
            "sheet": {"outline": ["b0", f"b{last}", f"t{last}", "t0"]},
            "creases": [[f"b{i}", f"t{i}", "mountain" if i % 2 else "valley"] for i in range(1, last)],
            "target": {"paths": [[f"u{i}", f"v{i}"] for i in range(len(where))]},
            "cut": {"snips": snips},
        }
    )


def fold_place(lengths: list[int], x: Fraction) -> Fraction:
    at, step, done = Fraction(0), 1, Fraction(0)
    for length in lengths:
        part = min(Fraction(length), x - done)
        at += step * part
        done += part
        if done == x:
            return at
        step = -step
    return at


def preimage(lengths: list[int], place: Fraction) -> set[Fraction]:
    found, at, step, done = set(), Fraction(0), 1, Fraction(0)
    for length in lengths:
        t = (place - at) * step
        if 0 <= t <= length:
            found.add(done + t)
        at += step * length
        done += length
        step = -step
    return found


@st.composite
def strips_with_cuts(draw: st.DrawFn) -> tuple[list[int], list[Fraction]]:
    lengths = draw(st.lists(st.integers(1, 3), min_size=1, max_size=5))
    whole = sum(lengths)
    place = st.integers(0, 2 * whole).map(lambda n: Fraction(n, 2))
    if draw(st.booleans()):
        # everything that folds onto some places: a clean cut
        chosen = {
            x for p in draw(st.lists(place, min_size=1, max_size=2)) for x in preimage(lengths, fold_place(lengths, p))
        }
        if draw(st.integers(0, 2)) == 0 and len(chosen) > 1:
            chosen.discard(draw(st.sampled_from(sorted(chosen))))
    else:
        chosen = set(draw(st.lists(place, min_size=1, max_size=4)))
    return lengths, sorted(chosen)


def judged(lengths: list[int], where: list[Fraction]) -> tuple[int, bool]:
    """How many places the cuts fold onto, and whether nothing else folds there; the strip's own ends are cut
    already.
    """
    whole = sum(lengths)
    inside = {x for x in where if 0 < x < whole}
    places = {fold_place(lengths, x) for x in inside}
    return len(places), {x for p in places for x in preimage(lengths, p) if 0 < x < whole} == inside


@examples(150)
@given(strips_with_cuts())
def test_one_straight_cut_across_a_pleated_strip(drawn: tuple[list[int], list[Fraction]]) -> None:
    lengths, where = drawn
    number, clean = judged(lengths, where)
    result = verify.certify(cross_cuts(lengths, where, 1))
    assert (result.verdict == "certified") == (number <= 1 and clean)
    assert result.cutting is not None
    assert bool(result.cutting.missed) == (number > 1)
    assert result.cutting.needed == (number if clean else None)
    if result.verdict == "certified":
        # a cut along a fold has to open it: two layers there
        folds = {Fraction(sum(lengths[:i])) for i in range(1, len(lengths))}
        assert result.cutting.most_layers == sum(2 if x in folds else 1 for x in where if 0 < x < sum(lengths))
    inside = [x for x in where if 0 < x < sum(lengths)]
    assert len(result.parts) == len(inside) + 1
    stops = [Fraction(0), *inside, Fraction(sum(lengths))]
    assert sorted(p.area.as_fraction() for p in result.parts) == sorted(b - a for a, b in pairwise(stops))


@examples(80)
@example(([2, 2], [Fraction(1)]), 2)
@example(([1, 1, 1], [Fraction(1, 2), Fraction(3, 2)]), 2)
@example(([3, 1], [Fraction(5, 2)]), 2)
@given(strips_with_cuts(), st.integers(2, 4))
def test_several_snips_across_a_pleated_strip(drawn: tuple[list[int], list[Fraction]], snips: int) -> None:
    lengths, where = drawn
    number, clean = judged(lengths, where)
    result = verify.certify(cross_cuts(lengths, where, snips))
    assert result.verdict == ("certified" if clean and number <= snips else "refuted")
    assert result.cutting is not None
    assert result.cutting.needed == (number if clean else None)
    assert bool(result.failures) == (result.verdict == "refuted")


def test_a_slot_in_every_layer(pattern: Any, box: Any) -> None:
    """A slot that ends inside a folded half: one snip, but no complete straight cut."""
    creases = [((0, -5), (0, 5), "valley")]
    slots = [[(1, 0), (3, 0)], [(-1, 0), (-3, 0)]]
    one = verify.certify(pattern(box(-5, 5, -5, 5), creases, paths=slots, snips=1))
    assert one.verdict == "refuted"
    assert {f.kind for f in one.failures} <= {"stray-cut", "stray-edge", "stray-crossing", "stray-point"}
    assert any(f.kind == "snips-instead" for f in one.findings)
    two = verify.certify(pattern(box(-5, 5, -5, 5), creases, paths=slots, snips=2))
    assert two.verdict == "certified"
    assert two.cutting is not None
    assert two.cutting.needed == 1
    assert len(two.parts) == 1  # a slot frees nothing


def test_a_snip_is_as_long_as_its_longest_layer(pattern: Any, box: Any) -> None:
    """Along a strip folded to and fro: the layers lie over 0 to 5, 1 to 5, 1 to 4 and 2 to 4 (by hand)."""
    creases = [((x, 0), (x, 2), kind) for x, kind in ((5, "valley"), (9, "mountain"), (12, "valley"))]
    result = verify.certify(pattern(box(0, 14, 0, 2), creases, paths=[[(0, 1), (14, 1)]], snips=2))
    assert result.verdict == "certified"
    assert result.cutting is not None
    (snip,) = result.cutting.snips
    ends = [result.cutting.overlaps.fold_map.images[v].x for v in (snip.start, snip.end)]
    assert abs(ends[1] - ends[0]) == 5
    assert result.cutting.most_layers == 4


def test_a_target_on_a_fold(pattern: Any, box: Any) -> None:
    creases = [((0, -5), (0, 5), "valley")]
    result = verify.certify(pattern(box(-5, 5, -5, 5), creases, paths=[[(0, -5), (0, 5)]]))
    assert result.verdict == "certified"
    assert result.cutting is not None
    assert result.cutting.most_layers == 2  # the cut has to open the fold
    assert "along-a-fold" in {f.kind for f in result.findings}


def test_a_corner_that_only_touches_the_cut(pattern: Any) -> None:
    sheet = [(0, 0), (4, 0), (4, 4), (2, 4), (2, 2), (0, 2)]
    touching = verify.certify(pattern(sheet, [], paths=[[(2, 2), (4, 2)]]))
    assert touching.verdict == "certified"  # the line goes on along the sheet's own edge, which is not severed
    apart = verify.certify(pattern(sheet, [], paths=[[(2, 3), (4, 3)]]))
    assert apart.verdict == "certified"


@pytest.mark.parametrize("way", [1, -1])
def test_a_tip_on_either_end_of_a_snip_is_stray(way: int, proofs: Path) -> None:
    """By hand: the tip of the folded packet lies on one end of the first slot, and on nothing else of it; whichever way
    the slots are drawn.
    """
    document = verify.load(proofs / "refuted" / "tip-at-the-slots-end.toml").as_pattern()
    paths = tuple(path[::way] for path in document.paths[::way])
    result = verify.certify(replace(document, paths=paths, raw=None))
    assert result.verdict == "refuted"
    assert result.cutting is not None
    assert result.subdivision is not None
    ((cell, _),) = result.cutting.stray
    assert (cell.kind, result.subdivision.name(cell.number)) == ("vertex", "tip")


@examples(40)
@given(st.lists(st.tuples(st.integers(1, 8), st.integers(1, 8)), min_size=3, max_size=6, unique=True))
def test_areas_and_roles_of_pieces(corners: list[tuple[int, int]]) -> None:
    shape = shapely.Polygon(corners)
    assume(shape.is_valid and shape.area > 0)
    points = {"a": [0, 0], "b": [9, 0], "c": [9, 9], "d": [0, 9]} | {f"q{i}": list(p) for i, p in enumerate(corners)}
    keys = {
        "format": "creaseproof-pattern/1",
        "points": points,
        "sheet": {"outline": ["a", "b", "c", "d"]},
        "target": {"loops": [[f"q{i}" for i in range(len(corners))]]},
        "cut": {"snips": 99},
    }
    result = verify.certify(read_any(json.dumps(keys)))
    assert {p.role: p.area.as_fraction() for p in result.parts} == {
        "target": Fraction(shape.area),
        "sheet": 81 - Fraction(shape.area),
    }
    assert sum(p.around for p in result.parts) == pytest.approx(36 + 2 * shape.length)
    # without a fold each side is a snip of its own: it can always be cut
    assert result.verdict == "certified"
    assert result.cutting is not None
    assert (result.cutting.needed or 0) <= len(corners)


def test_nested_outlines_take_turns(proofs: Any) -> None:
    result = certified(proofs / "certified" / "nested-frames.toml")
    assert sorted(p.role for p in result.parts) == ["inner waste", "sheet", "target", "target"]
    ring = certified(proofs / "certified" / "ring.toml")
    assert sorted(p.role for p in ring.parts) == ["inner waste", "sheet", "target"]


def test_a_sliver_is_advised(pattern: Any, box: Any) -> None:
    thin = verify.certify(pattern(box(0, 100, 0, 100), [], paths=[[(0, "1/2"), (100, "1/2")]]))
    wide = verify.certify(pattern(box(0, 100, 0, 100), [], paths=[[(0, 50), (100, 50)]]))
    assert [("sliver" in {f.kind for f in r.findings}) for r in (thin, wide)] == [True, False]
    assert thin.verdict == wide.verdict == "certified"


SELF_TOUCHING: dict[str, list[tuple[int, int]]] = {
    "fish": [(10, 50), (40, 70), (70, 50), (90, 65), (90, 35), (70, 50), (40, 30)],
    "bow tie": [(20, 20), (80, 80), (80, 20), (20, 80)],
    "pinched at its rim": [(10, 10), (90, 10), (90, 90), (50, 90), (30, 40), (70, 40), (50, 90), (10, 90)],
    "arrow": [(10, 50), (40, 70), (30, 50), (40, 30)],
}


@pytest.mark.parametrize("name", SELF_TOUCHING)
def test_an_outline_that_touches_itself_is_advised(name: str, pattern: Any, box: Any) -> None:
    """Where shapely finds that the outline is not simple, there two of the pieces that it finds have but a point in
    common.
    """
    outline = SELF_TOUCHING[name]
    result = verify.certify(pattern(box(0, 100, 0, 100), [], paths=[[*outline, outline[0]]]))
    found = [f for f in result.findings if f.kind == "touches-itself"]
    ring = shapely.LinearRing(outline)
    assert bool(found) == (not ring.is_simple)
    if not found:
        return
    (finding,) = found
    lines = shapely.node(shapely.GeometryCollection([ring, shapely.box(0, 0, 100, 100).exterior]))
    parts = list(shapely.polygonize([lines]).geoms)
    meeting = [a.intersection(b) for n, a in enumerate(parts) for b in parts[:n]]
    (point,) = {(p.x, p.y) for p in meeting if p.geom_type == "Point"}
    place = "({:g}, {:g})".format(*point)
    assert place in finding.message
    areas = {f"({part.area:,.4g} mm²)" for part in parts}
    assert set(re.findall(r"\([\d,.]+ mm²\)", finding.message)) <= areas


OPEN = {
    "an arrow without its last side": [[(10, 40), (60, 40), (60, 20), (90, 50), (60, 80), (60, 60), (10, 60)]],
    "the same in separate lines": [
        [(10, 40), (60, 40), (60, 20)],
        [(90, 50), (60, 20)],
        [(90, 50), (60, 80), (60, 60), (10, 60)],
    ],
    "closed": [[(10, 40), (60, 40), (60, 60), (10, 60), (10, 40)]],
    "across the sheet": [[(0, 40), (100, 40)]],
    "a slit from the edge": [[(0, 40), (60, 40)]],
    "open, and in it a closed path": [
        [(20, 20), (80, 20), (80, 80), (20, 80)],
        [(40, 30), (60, 30), (50, 50), (40, 30)],
    ],
}


@pytest.mark.parametrize("name", OPEN)
def test_an_open_target_is_advised(name: str, pattern: Any, box: Any) -> None:
    """Open where shapely's union of the lines has an end inside the sheet; nothing comes free where it finds one
    polygon only.
    """
    result = verify.certify(pattern(box(0, 100, 0, 100), [], paths=OPEN[name]))
    sheet = shapely.box(0, 0, 100, 100)
    lines = shapely.union_all([shapely.LineString(path) for path in OPEN[name]])
    merged = shapely.line_merge(lines)
    inside = [p for p in getattr(merged.boundary, "geoms", []) if sheet.contains(p)]
    pieces = len(list(shapely.polygonize([shapely.union_all([lines, sheet.exterior])]).geoms))
    found = [f for f in result.findings if f.kind == "open-target"]
    assert bool(found) == bool(inside)
    assert (not result.frees_something) == (pieces == 1)
    for finding in found:
        assert len(finding.where) == len(inside)
        assert "nothing comes free" in finding.message
        if len(inside) == 2:
            assert f"({inside[0].distance(inside[1]):g} mm apart)" in finding.message


def test_nothing_is_said_to_come_free_of_an_open_outline(pattern: Any, box: Any) -> None:
    """A slit square across the diagonal fold of a square: proved, and said right below the verdict."""
    crease = ((0, 90), (90, 0), "valley")
    result = verify.certify(pattern(box(0, 90, 0, 90), [crease], paths=[[(30, 30), (60, 60)]], snips=2))
    assert result.verdict == "certified"
    lines = list(summary(result))
    cut = next(n for n, line in enumerate(lines) if "exactly the figure" in line)
    assert "runs along" in lines[cut]
    assert "nothing comes free" in lines[cut + 1]
    assert "open between" in lines[cut + 2]
    assert "frees" not in explain(result)


def test_that_snips_do_not_help_either_is_said_at_length_alone(proofs: Path) -> None:
    result = verify.certify(proofs / "refuted" / "missed-edge.toml")
    (found,) = [f for f in result.findings if f.kind == "no-snips"]
    assert found.message in explain(result)
    assert not any(found.message in line for line in summary(result))


def test_cuts_that_cross_and_outlines_that_touch(pattern: Any, box: Any) -> None:
    """Cuts right across part the paper anyway; two windows with one corner leave the sheet no more than a point."""
    across = verify.certify(pattern(box(0, 4, 0, 4), [], paths=[[(0, 0), (4, 4)], [(0, 4), (4, 0)]]))
    assert "touches-itself" not in {f.kind for f in across.findings}
    windows = pattern(box(0, 6, 0, 6), [], loops=[box(1, 3, 1, 3), box(3, 5, 3, 5)])
    (finding,) = [f for f in verify.certify(windows).findings if f.kind == "touches-itself"]
    assert "figure (4 mm²) and figure (4 mm²) meet only at such points" in finding.message


@pytest.mark.parametrize("margin", [10, 0])
def test_a_window_that_touches_the_rim_of_its_frame(margin: int, pattern: Any, box: Any) -> None:
    """Of a square frame whose window has two corners on its rim two halves are left, wherever the sheet ends; with one
    corner there it hangs together.
    """
    frame, sheet = box(20, 100, 20, 100), box(20 - margin, 100 + margin, 20 - margin, 100 + margin)
    halves = [(60, 20), (80, 60), (60, 100), (40, 60)]
    found = verify.certify(pattern(sheet, [], loops=[frame, halves])).findings
    (advice,) = [f for f in found if f.kind == "touches-itself"]
    paper = shapely.Polygon(frame) - shapely.Polygon(halves)
    areas = " and ".join(f"figure ({part.area:,g} mm²)" for part in paper.geoms)
    assert f"{areas} meet only at such points, and come apart" in advice.message
    whole = verify.certify(pattern(sheet, [], loops=[frame, [*halves[:2], (60, 90), halves[3]]])).findings
    assert not any("figure (" in f.message for f in whole if f.kind == "touches-itself")


@pytest.mark.parametrize("low", [0, -60])
def test_outlines_that_cross_do_not_only_touch(low: int, pattern: Any, box: Any) -> None:
    crossing = [box(20, 60, 20, 60), box(40, 80, 20 + low, 60 + low) if low else box(40, 80, 40, 80)]
    found = verify.certify(pattern(box(-100, 200, -100, 200), [], loops=crossing)).findings
    kinds = {f.kind for f in found}
    assert ("outlines-cross" in kinds, "touches-itself" in kinds) == (not low, False)


@pytest.mark.parametrize("sheet", [(0, 90, 0, 90), (20, 80, 20, 80)], ids=["inside", "at the edge"])
def test_one_outline_round_outlines_that_cross_is_offered(sheet: tuple[int, ...], pattern: Any, box: Any) -> None:
    """It is their union, as shapely has it."""
    boxes = [box(20, 60, 20, 60), box(40, 80, 40, 80)]
    document = pattern(box(*sheet), [], loops=boxes)
    (told,) = [f for f in verify.certify(document).findings if f.kind == "outlines-cross"]
    assert "draw one outline round both: " + "–".join(told.value["union"]) in told.message
    places = {f"({x}, {y})": (int(x), int(y)) for x in range(0, 91, 20) for y in range(0, 91, 20)}
    corners = [document.points.get(name) or places[name] for name in told.value["union"]]
    union = shapely.Polygon([(float(x), float(y)) for x, y in corners])
    assert union.equals(shapely.union_all([shapely.Polygon(one) for one in boxes]))


def test_a_target_on_the_edge_of_the_sheet_is_advised(pattern: Any, box: Any) -> None:
    result = verify.certify(pattern(box(0, 4, 0, 4), [], paths=[[(0, 0), (0, 4)]]))
    assert result.verdict == "certified"
    (advice,) = [f for f in result.findings if f.kind == "along-the-sheets-edge"]
    assert "cut already" in advice.message
    many = [[(0, y), (0, y + 1)] for y in (3, 0, 2, 1)]
    (said,) = [
        f
        for f in verify.certify(pattern(box(0, 4, 0, 4), [], paths=many)).findings
        if f.kind == "along-the-sheets-edge"
    ]
    assert re.search(r"the edge of the sheet at 4 places \(([^,]+, ){3}…\): it is cut already", said.message)
    assert len(said.where) == 4
    assert {f.message for f in result.findings if f.kind == "cut-exact"} == {
        "nothing is to be cut: the whole figure lies along the edge of the sheet"
    }
    assert result.layers_met == 0
    inside = verify.certify(pattern(box(0, 4, 0, 4), [], paths=[[(1, 0), (1, 4)]]))
    assert "along-the-sheets-edge" not in {f.kind for f in inside.findings}


@pytest.mark.parametrize("name", ["refuted/cut-misses-by-a-hair.toml", "certified/window-three-folds.toml"])
def test_layers_of_a_cut_that_is_not_exact_are_paper_not_target(proofs: Path, name: str) -> None:
    """The window's cut meets 8 layers, also when one side of the target is drawn 10^-30 mm off the line."""
    result = certified(proofs / name)
    assert result.cutting is not None
    assert result.cutting.most_layers == result.layers_met == 8


def test_layers_along_a_line_without_a_target() -> None:
    """A strip of 32 halved five times, cut across: 32 layers, by doubling."""
    points = {f"p{i}": [i, 0] for i in (0, 1, 2, 4, 8, 16, 32)} | {
        "q": [32, 1],
        "r": [0, 1],
        "h": ["1/2", 0],
        "k": ["1/2", 1],
    }
    steps = [{"fold": {"point": f"p{2 * n}", "onto": "p0"}, "moves": f"p{2 * n}"} for n in (16, 8, 4, 2, 1)]
    recipe = verify.read(
        {
            "format": "creaseproof-recipe/1",
            "points": points,
            "sheet": {"outline": ["p0", "p32", "q", "r"]},
            "steps": steps,
            "cut": {"along": {"through": ["h", "k"]}},
        }
    )
    result = verify.certify(recipe)
    assert result.cutting is None
    assert result.layers_met == 32


CARD = [(0, 0), (4, 0), (4, 6), (0, 6)]
ROOF = [(0, 4), (2, 6), (4, 4)]


def roofed(pattern: Any, figure: list[tuple[int, int]], **target: Any) -> verify.Result:
    """A card folded in half for a roof, with a mark at each place of the figure."""
    document = pattern(CARD, [((2, 0), (2, 6), "valley")], **target)
    names = {f"f{i}": (str(x), str(y)) for i, (x, y) in enumerate(figure)}
    return verify.certify(replace(document, points={**document.points, **names}, figure=tuple(names), raw=None))


def test_what_the_pieces_are_called_where_the_sheets_edge_bounds_the_figure(pattern: Any) -> None:
    """An open line says nothing of its sides: the pieces have numbers, unless marks say which of them are the
    figure.
    """
    silent = roofed(pattern, [], paths=[ROOF])
    assert silent.verdict == "certified"
    assert [(p.role, p.called(n)) for n, p in enumerate(silent.parts, 1)] == [
        ("piece", "piece 1"),
        ("piece", "piece 2"),
        ("piece", "piece 3"),
    ]
    (pieces,) = [f for f in silent.findings if f.kind == "pieces"]
    assert pieces.message.startswith("3 pieces: piece 1 20 mm², piece 2 2 mm², piece 3 2 mm²")
    house = roofed(pattern, [(2, 1)], paths=[ROOF])
    assert [(p.role, p.area) for p in house.parts] == [("target", 20), ("sheet", 2), ("sheet", 2)]
    corners = roofed(pattern, [(0, 5), (4, 6)], paths=[ROOF])  # also on the sheet's edge, and at its corner
    assert [p.role for p in corners.parts] == ["sheet", "target", "target"]
    closed = roofed(
        pattern, [], loops=[[(0, 0), (4, 0), (4, 4), (2, 6), (0, 4)]]
    )  # a closed outline says which side is in
    assert [(p.role, p.area) for p in closed.parts] == [("target", 20), ("sheet", 2), ("sheet", 2)]
    assert closed.verdict == "certified"


def test_a_counter_in_a_trimmed_figure_is_not_the_figure(pattern: Any) -> None:
    """The figure reaches to the sheet's edge and has a hole: the hole's closed outline does not make it the figure."""
    target = {"loops": [[(1, 2), (3, 2), (2, 3)]], "paths": [ROOF]}
    assert [p.role for p in roofed(pattern, [], **target).parts] == ["piece"] * 4
    named = roofed(pattern, [(1, 1)], **target)
    assert [(p.role, p.area) for p in named.parts] == [("target", 19), ("sheet", 2), ("sheet", 2), ("inner waste", 1)]


def test_a_slit_in_a_figure_leaves_the_outline_its_say(pattern: Any, box: Any) -> None:
    result = verify.certify(
        pattern(box(0, 9, 0, 9), [], loops=[[(2, 2), (7, 2), (7, 7), (2, 7)]], paths=[[(3, 3), (3, 4)]], snips=5)
    )
    assert [p.role for p in result.parts] == ["sheet", "target"]


@pytest.mark.parametrize(
    ("place", "found"), [((0, 4), "on a target line"), ((1, 5), "on a target line"), ((9, 9), "off the sheet")]
)
def test_marks_of_the_figure_that_lie_in_no_piece(pattern: Any, place: tuple[int, int], found: str) -> None:
    with pytest.raises(verify.Malformed, match=f"target.figure: found f0, {found}"):
        roofed(pattern, [place], paths=[ROOF])


def test_the_figure_is_written_and_read_and_no_part_of_the_statement(proofs: Path, tmp_path: Path) -> None:
    house = verify.load(proofs / "certified" / "trimmed-house.toml")
    for name in ("house.toml", "house.json"):
        write(house, tmp_path / name)
        again = verify.load(tmp_path / name)
        assert (again, again.figure) == (house, ("door",))
        assert verify.certify(again).verdict == "certified"
    assert replace(house, figure=(), raw=None).statement_sha256 == house.statement_sha256


def test_a_target_without_creases_points_to_construct(pattern: Any, box: Any) -> None:
    sheet = box(0, 90, 0, 90)
    triangle = [[(20, 20), (70, 20), (45, 60)]]
    kinds = [
        {f.kind for f in verify.certify(pattern(sheet, creases, loops=triangle)).findings}
        for creases in ([], [((0, 0), (90, 90), "valley")])
    ]
    assert ["no-creases" in k for k in kinds] == [True, False]
    assert "looks-rounded" not in kinds[0]
    alone = verify.certify(pattern(sheet, [], loops=triangle))
    first = next(line for line in summary(alone) if "figure" in line)
    assert first.startswith("  this is a figure alone, without creases")
    assert "by hand" not in "".join(summary(alone))
    assert alone.findings[0].kind == "no-creases"  # first wherever advice is listed
    told = verify.steps(alone.document)
    assert told.reason.startswith("the pattern is refuted: this is a figure alone, without creases")
    assert told.stages is None
    assert "no-creases" not in {f.kind for f in verify.certify(pattern(sheet, [], paths=[[(0, 9), (90, 9)]])).findings}
