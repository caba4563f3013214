"""What hands meet, against what is worked out by hand and against lengths, distances and areas that shapely finds."""

from __future__ import annotations

import math
from collections.abc import Callable
from fractions import Fraction
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest
from shapely.geometry import LineString, Point
from shapely.ops import linemerge, polygonize, unary_union

import verify
from tests.cli.command import run
from tests.corpus import certified
from tests.families import miura
from tests.places import PROOFS
from verify.construct.letterforms.plain import letter_document
from verify.cutting.hands import Hands, Measured, hands
from verify.pattern.families import stamps, strip
from verify.pattern.recipe import read_any
from verify.tasks.certify import Result, certify
from verify.tasks.construct import construct
from verify.words.hands_findings import CREASES, CUT_LAYERS, FOLD_LAYERS, GAP_MM, PANEL_MM2, SHORT_MM, in_one, of_hands

PATTERNS = sorted([*(PROOFS / "certified").glob("*.toml"), *(PROOFS / "alphabet").glob("[1478BKMQ].toml")])


def hands_of(result: Result) -> Hands:
    assert result.verdict == "certified"
    assert result.hands is not None
    return result.hands


def kinds(result: Result) -> dict[str, str]:
    """The findings on hands but the general one: kind and level."""
    return {f.kind: f.level for f in result.findings if f.check == "hands" and f.kind != "what-hands-meet"}


# ---- measures, against shapely


@pytest.mark.parametrize("path", PATTERNS, ids=lambda p: p.stem)
def test_lengths_gaps_and_areas_as_shapely_has_them(path: Path) -> None:
    result = certify(path)
    found = hands_of(result)
    s = result.subdivision
    assert s is not None
    places = [(float(p.x), float(p.y)) for p in s.vertices]
    folds = [LineString([places[e.start], places[e.end]]) for e in s.edges if e.is_fold]
    border = [LineString([places[e.start], places[e.end]]) for e in s.edges if e.kind == "border"]
    lines = _straight(folds)
    assert found.creases == len(lines)
    if lines:
        assert found.shortest is not None
        assert found.shortest.size == pytest.approx(min(line.length for line in lines))
    gaps = [gap for a, b in combinations(lines, 2) if (gap := _gap(a, b)) is not None]
    assert (found.gap is None) == (not gaps)
    if found.gap is not None:
        assert found.gap.size == pytest.approx(min(gaps))
    areas = [panel.area for panel in polygonize(unary_union(folds + border))]
    holes = len(s.drawing.document.holes)
    if found.panel is not None and not holes:
        assert found.panel.size == pytest.approx(min(areas))


def _straight(folds: list[LineString]) -> list[LineString]:
    """Segments joined wherever two of one direction meet, by shapely: all of one carrying line at once."""
    carriers: dict[tuple[float, float], list[LineString]] = {}
    for fold in folds:
        (ax, ay), (bx, by) = fold.coords
        angle = math.atan2(by - ay, bx - ax) % math.pi
        angle = 0.0 if angle > math.pi - 1e-7 else angle
        offset = ax * math.sin(angle) - ay * math.cos(angle)
        carriers.setdefault((round(angle, 6), round(offset, 4) + 0.0), []).append(fold)
    lines: list[LineString] = []
    for group in carriers.values():
        merged = linemerge(group) if len(group) > 1 else group[0]
        lines += getattr(merged, "geoms", [merged])
    return lines


def _gap(a: LineString, b: LineString) -> float | None:
    """The distance of two parallel lines that face each other."""
    (px, py), (qx, qy) = a.coords[0], a.coords[-1]
    (rx, ry), (sx, sy) = b.coords[0], b.coords[-1]
    ux, uy = (qx - px) / a.length, (qy - py) / a.length
    if abs(ux * (sy - ry) - uy * (sx - rx)) > 1e-9 * b.length:
        return None
    along = sorted(((x - px) * ux + (y - py) * uy) for x, y in ((rx, ry), (sx, sy)))
    across = abs((rx - px) * uy - (ry - py) * ux)
    facing = min(a.length, along[1]) - max(0.0, along[0])
    return across if facing > 1e-6 and across > 1e-6 else None


# ---- layers at each fold


def halved(times: int) -> dict[str, Any]:
    """A strip of 2^times by 1, in dm, folded in half so often: each time the left end onto the right one."""
    points: dict[str, Any] = {"a": [0, 0], "b": [2**times, 0], "c": [2**times, 1], "d": [0, 1]}
    steps = []
    for k in range(times):
        end = 2**times - 2 ** (times - k)
        points[f"e{k}"] = [end, 0]
        steps.append({"fold": {"point": f"e{k}", "onto": "b"}, "moves": f"e{k}"})
    points = {name: [100 * x, 100 * y] for name, (x, y) in points.items()}
    return {
        "format": "creaseproof-recipe/1",
        "points": points,
        "sheet": {"outline": ["a", "b", "c", "d"]},
        "steps": steps,
    }


def test_folding_in_half_doubles_the_layers() -> None:
    """The k-th fold in half bends 2^(k-1) layers: the doubling that everybody knows."""
    result = certify(read_any(halved(6)))
    found = hands_of(result)
    assert [f.layers for f in found.folds] == [1, 2, 4, 8, 16, 32]
    assert [f.where for f in found.folds] == [f"step {k}" for k in range(1, 7)]
    assert all(f.length == pytest.approx(100) for f in found.folds)
    assert found.thickest is not None
    assert found.thickest.layers == 32
    assert kinds(result) == {"thick-fold": "warning"}
    assert kinds(certify(read_any(halved(4)))) == {}


@pytest.mark.parametrize("times", [1, 2, 3, 4, 5])
def test_the_pattern_of_a_recipe_has_folds_nested_as_deep(times: int) -> None:
    """The state that it leads to, looked at as a pattern's: what a step bends at once lies nested, one fold round the
    other.
    """
    recipe = certify(read_any(halved(times)))
    assert recipe.order is not None
    nested = hands(recipe.order, 0)
    assert sorted(f.layers for f in nested.folds) == sorted(n for k in range(times) for n in range(1, 2**k + 1))


def test_pleats_and_rolls_bend_one_layer() -> None:
    pleats = hands_of(certify(strip([1] * 8, "MVMVMVM")))
    assert {f.layers for f in pleats.folds} == {1}
    # rolled up, each panel longer than the last: what lies inside ends short of the fold
    roll = hands_of(certify(strip([4, 5, 6, 7, 8, 9], "VVVVV")))
    assert [f.layers for f in roll.folds] == [1, 1, 1, 1, 1]


def test_both_layers_of_a_book_folded_together_are_two() -> None:
    """A sheet in half and in half again, across: the second fold takes two layers, the map of 2 × 2."""
    found = hands_of(
        certify(stamps(2, 2, {("p10", "p11"): "V", ("p11", "p12"): "V", ("p01", "p11"): "V", ("p11", "p21"): "M"}))
    )
    layers = {f.where: f.layers for f in found.folds}
    assert layers == {"p10–p12": 1, "p01–p21": 2}


# ---- findings


def test_a_panel_too_small_to_see_is_told_in_plain_words() -> None:
    """As in a recipe for a fish turned by 15°: no exponent, and a name that the drawing labels."""
    found = hands_of(certify(PROOFS / "certified" / "star.toml"))
    place = "(154.426026…, 30.057607…)"
    tiny = found._replace(panel=Measured(4.04e-06, (f"panel {place}–(1, 2)–tip",), "nose"))
    (told,) = [f for f in of_hands(tiny) if f.kind == "small-panel"]
    assert told.message == "the smallest panel is less than 0.01 mm², near nose"
    assert told.where == (f"panel {place}–(1, 2)–tip",)
    short = found._replace(shortest=Measured(1.0, (f"a–{place}",)))
    (told,) = [f for f in of_hands(short) if f.kind == "short-crease"]
    assert told.message == "the shortest crease is only 1 mm long: a–(154.4, 30.1)"


def test_the_nearest_named_point_is_that_of_shapely() -> None:
    for name in ("recipes/house.toml", "recipes/letter-t.toml"):
        result = certified(PROOFS / name)
        found, s = hands_of(result), result.subdivision
        assert found.panel is not None
        panel = next(faces for faces in s.panels if s.panel_name(faces) == found.panel.where[0])
        corner = s.vertices[s.faces[panel[0]][0]]
        named = {name: Point(float(p.x), float(p.y)) for p, name in s.drawing.names.items()}
        here = Point(float(corner.x), float(corner.y))
        assert here.distance(named[found.panel.near]) == min(map(here.distance, named.values()))


def test_how_true_creases_must_be_is_said_once() -> None:
    found = hands_of(certify(PROOFS / "certified" / "star.toml"))
    for amplified in (10, 20, 1e6):  # true to 0.1 mm; a note; a warning
        said = "; ".join(f.message for f in of_hands(found._replace(amplified=amplified)))
        assert said.count("if all errors add up") == 1, said


def test_where_all_is_too_much_one_sentence_says_so() -> None:
    """Three warnings and more: they stay for scripts, and a handout has the sentence alone."""
    found = hands_of(certify(PROOFS / "certified" / "star.toml"))
    hard = found._replace(creases=CREASES[1] - 1, at_cut=CUT_LAYERS, amplified=1e6)
    assert "not-for-hands" not in {f.kind for f in of_hands(hard)}
    told = list(of_hands(hard._replace(shortest=Measured(0.5, ("a–b",)))))
    warnings = [f for f in told if f.level == "warning"]
    assert [f.kind for f in warnings] == ["not-for-hands", "short-crease", "fine-creases", "too-thick"]
    assert "do not try it" in warnings[0].message
    assert [f.kind for f in in_one(told) if f.level == "warning"] == ["not-for-hands"]
    assert "use a larger or simpler figure" in warnings[0].message
    tiny = of_hands(hard._replace(shortest=Measured(0.07, ("a–b",))))  # 2 mm long in a figure 30 times as large
    assert "move a corner of the figure near there" in next(f for f in tiny if f.level == "warning").message


@pytest.mark.parametrize(("layers", "creases", "said"), [(31, 99, False), (32, 10, True), (4, 100, True)])
def test_so_many_layers_or_creases_alone_are_too_much(layers: int, creases: int, said: bool) -> None:
    """And nobody is told to cut such a stack with a knife."""
    told = list(
        of_hands(hands_of(certify(PROOFS / "certified" / "star.toml"))._replace(at_cut=layers, creases=creases))
    )
    assert ("not-for-hands" in {f.kind for f in told}) == said
    assert not any("knife" in f.message for f in told)


def test_levels() -> None:
    star = certify(PROOFS / "certified" / "star.toml")
    assert kinds(star) == {}
    assert [f.kind for f in star.findings if f.check == "hands"] == ["what-hands-meet"]
    twist = certify(PROOFS / "certified" / "lantern-twist.toml")
    assert kinds(twist) == {"circular-layers": "note"}
    assert len(hands_of(twist).circular) >= 3
    assert kinds(certify(PROOFS / "alphabet" / "X.toml")) == {"too-thick": "warning"}
    assert hands_of(certify(PROOFS / "alphabet" / "X.toml")).at_cut == CUT_LAYERS


@pytest.mark.parametrize(
    ("width", "height", "expected"),
    [
        (SHORT_MM[0], 50, {}),
        (4, 50, {}),
        (50, 4, {"short-crease": "note"}),
        (50, 1, {"short-crease": "warning"}),
        (2, 50, {"narrow-gap": "note"}),
        (GAP_MM[1] / 2, 40, {"narrow-gap": "warning", "small-panel": "note"}),
    ],
)
def test_short_narrow_and_small(width: float, height: int, expected: dict[str, str]) -> None:
    """A strip of three panels, the middle one `width` wide: its creases are as long as the strip is high, and so far
    apart.
    """
    document = strip([60, Fraction(width), 60], "VM", height=height)
    result = certify(document)
    found = hands_of(result)
    assert found.shortest is not None
    assert found.gap is not None
    assert found.panel is not None
    assert (found.shortest.size, found.gap.size, found.panel.size) == (height, width, width * height)
    assert kinds(result) == expected
    assert width * height >= PANEL_MM2[1]


def test_units_are_minded() -> None:
    """A map of unit squares is far too small in millimetres, and fine in centimetres."""
    small = certify(stamps(3, 3))
    assert kinds(small) == {"short-crease": "note", "narrow-gap": "note", "small-panel": "warning"}
    assert kinds(certify(PROOFS / "certified" / "map-3x3.toml")) == {}


def test_many_creases() -> None:
    result = certify(miura(24, 2))
    assert hands_of(result).creases >= CREASES[0]
    assert kinds(result)["many-creases"] == "note"


def test_nothing_is_measured_without_a_layer_order() -> None:
    result = certify(PROOFS / "refuted" / "trapped-panel.toml")
    assert result.hands is None
    assert not [f for f in result.findings if f.check == "hands"]


def test_neither_verdict_nor_status_changes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """However much there is to warn of, certified is certified."""
    monkeypatch.chdir(tmp_path)  # short names: a table breaks the lines of long ones
    verify.write(read_any(halved(6)), "halved.toml")
    verify.write(strip([60, 1, 60], "VM", height=1), "tiny.toml")
    Path("star.toml").write_bytes((PROOFS / "certified" / "star.toml").read_bytes())
    for name in ("halved", "tiny"):
        one = run("certify", f"{name}.toml")
        assert one.exit_code == 0
        assert one.output.startswith("certified")
        assert "  warning: " in one.output
    both = run("certify", "halved.toml", "tiny.toml", "star.toml")
    assert both.exit_code == 0
    rows = both.output.splitlines()
    assert "warnings" in rows[0]
    assert rows[1].endswith("thick fold")
    assert rows[2].endswith("short crease, small panel")
    assert rows[-1] == "3 certified; 2 with warnings"
    swept = run("sweep", "--jobs", "1", ".")
    assert "(warnings: thick fold)" in swept.output


def test_facts_for_scripts() -> None:
    facts = certify(read_any(halved(5))).keys()["facts"]
    assert facts["warnings"] == ["thick-fold"]
    assert facts["hands"]["folds"][4] == {"where": "step 5", "layers": 16, "length": 100.0}
    assert FOLD_LAYERS[1] == 16


# ---- choosing


def chosen(prefer: Any) -> Hands:
    made = construct(letter_document("K"), tries=6, prefer=prefer)
    assert made.verdict == "certified"
    assert made.result is not None
    return hands_of(made.result)


def test_prefer_chooses_by_what_hands_meet() -> None:
    """Of the same six sets of creases each preference takes one that is best in its own measure, of those taken."""
    measures: dict[str, Callable[[Hands], float]] = {
        "creases": lambda h: h.creases,
        "shortest": lambda h: -h.shortest.size if h.shortest else 0.0,
        "gap": lambda h: -h.gap.size if h.gap else 0.0,
        "panel": lambda h: -h.panel.size if h.panel else 0.0,
        "fold": lambda h: h.thickest.layers if h.thickest else 0,
    }
    taken = {prefer: chosen(prefer) for prefer in measures}
    for prefer, measure in measures.items():
        assert all(measure(taken[prefer]) <= measure(other) for other in taken.values())
    assert len(set(taken.values())) > 1
