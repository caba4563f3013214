"""Patterns that were rounded and are recovered: certified by the kernel, and no point far from where it was drawn."""

from __future__ import annotations

import json
import random
from collections.abc import Callable, Iterable
from dataclasses import replace
from fractions import Fraction
from itertools import product
from math import atan2, comb, cos, hypot, pi, radians, sin
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from hypothesis import given
from hypothesis import strategies as st
from sympy import simplify, sympify

import verify
from tests.families import miura, vertex
from tests.places import PROOFS
from tests.profiles import examples, some
from verify import cli
from verify.construct.rounded.nearby import MOST_IN_UNITS, NearPattern, near_patterns
from verify.exact.field import read_numbers
from verify.pattern.document import Crease, Document
from verify.pattern.drawing import draw
from verify.pattern.families import strip
from verify.pattern.limits import LimitReached
from verify.pattern.recipe import load_any, read_any
from verify.pattern.source import Malformed
from verify.pattern.write import write
from verify.tasks.exact import exact
from verify.tasks.repair import with_repairs

CERTIFIED = sorted((PROOFS / "certified").iterdir())
# every document of the corpus; a new one is rounded and recovered as well
COUNT = 25

Place = tuple[float, float]


def nearby(document: Document) -> NearPattern | None:
    """The best of them."""
    return next(iter(near_patterns(document)), None)


def decimal(value: float, digits: int) -> str:
    text = f"{value:.{digits}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text


def places(document: Document) -> dict[str, Place]:
    texts = [t for pair in document.points.values() for t in pair]
    numbers = read_numbers(texts).numbers
    return {name: (float(numbers[x]), float(numbers[y])) for name, (x, y) in document.points.items()}


def rounded(
    document: Document, digits: int, turn: float = 0, scale: float = 1, shift: Place = (0, 0)
) -> tuple[Document, dict[str, Place]]:
    """The document turned by degrees, scaled, shifted and rounded, and where its points were before they were
    rounded.
    """
    c, s = scale * cos(radians(turn)), scale * sin(radians(turn))
    true = {n: (c * x - s * y + shift[0], s * x + c * y + shift[1]) for n, (x, y) in places(document).items()}
    points = {n: (decimal(x, digits), decimal(y, digits)) for n, (x, y) in true.items()}
    return replace(document, points=points, raw=None), true


def certified_first(found: list[NearPattern]) -> NearPattern | None:
    """What the command takes: the first proposal that the kernel certifies."""
    return next((p for p in found if verify.certify(p.document).verdict == "certified"), None)


def recovered(drawing: Document, true: dict[str, Place], digits: int) -> NearPattern:
    """The pattern recovered, checked: certified, near the drawing and near what was rounded."""
    proposal = certified_first(near_patterns(drawing))
    assert proposal is not None
    unit = 10.0**-digits
    here, drawn = places(proposal.document), places(drawing)
    for name, (x, y) in here.items():
        assert hypot(x - drawn[name][0], y - drawn[name][1]) <= float(MOST_IN_UNITS) * unit * (1 + 1e-9)
        assert hypot(x - true[name][0], y - true[name][1]) <= 2.3 * unit
    assert (proposal.document.creases, proposal.document.outline) == (drawing.creases, drawing.outline)
    assert (proposal.document.loops, proposal.document.paths) == (drawing.loops, drawing.paths)
    return proposal


def each_way(documents: Iterable[Any]) -> list[Any]:
    """Every other one of them, with one digit or with two by turns; all of them both ways with --long."""
    return [
        pytest.param(one, digits, id=f"{getattr(one, 'stem', one)}-{digits}", marks=[pytest.mark.long] * (k % 4 != n))
        for k, one in enumerate(documents)
        for n, digits in ((0, 1), (2, 2))
    ]


def fan(k: int, corners: int) -> str:
    """In half, and both layers together into a fan: mountain and valley in turn, opposite in the other half."""
    if k % corners == 0:
        return "valley"
    first = (k if k < corners else 2 * corners - k) % 2 == 0
    return "valley" if first == (k < corners) else "mountain"


def polygon(corners: int, radius: float, start: float, digits: int) -> tuple[Document, dict[str, Place]]:
    """A regular polygon with folds through its corners and square to its sides, rounded, and its exact places in
    floats.
    """
    true: dict[str, Place] = {
        "middle": (0.0, 0.0),
        "sw": (-105, -105),
        "se": (105, -105),
        "ne": (105, 105),
        "nw": (-105, 105),
    }
    for k in range(2 * corners):
        angle = start + k * pi / corners
        reach = 105 / max(abs(cos(angle)), abs(sin(angle)))
        true[f"edge-{k}"] = (reach * cos(angle), reach * sin(angle))
        if k % 2 == 0:
            true[f"corner-{k}"] = (radius * cos(angle), radius * sin(angle))
    keys = {
        "format": "creaseproof-pattern/1",
        "points": {n: [decimal(x, digits), decimal(y, digits)] for n, (x, y) in true.items()},
        "sheet": {"outline": ["sw", "se", "ne", "nw"]},
        "creases": [["middle", f"edge-{k}", fan(k, corners)] for k in range(2 * corners)],
        "target": {"loops": [[f"corner-{k}" for k in range(0, 2 * corners, 2)]]},
    }
    return read_any(keys), true


# rounded where they stand


def test_every_certified_document_of_the_corpus_is_here() -> None:
    assert len(CERTIFIED) >= COUNT


@pytest.mark.parametrize(("path", "digits"), each_way(CERTIFIED))
def test_a_corpus_pattern_rounded_where_it_stands_is_recovered_exactly(path: Path, digits: int) -> None:
    document = load_any(path)
    drawing, true = rounded(document, digits)
    proposal = recovered(drawing, true, digits)
    if verify.certify(drawing).verdict == "certified":
        # what is lost does not matter: panels of a strip may have any width
        assert not proposal.moves
    else:
        assert draw(proposal.document).places == draw(document).places


@pytest.mark.parametrize("digits", [1, 2])
def test_the_star_comes_back_in_words_that_a_person_would_write(proofs: Path, digits: int) -> None:
    drawing, true = rounded(load_any(proofs / "certified" / "star.toml"), digits)
    assert verify.certify(drawing).verdict == "refuted"
    found = nearby(drawing)
    assert found is not None
    assert (found.family, found.recognised, found.lines) == ("multiples of 18°", 24, 24)
    assert found.document.points["edge-18"] == ("105", "105*tan(pi/10)")
    assert found.document.points["tip-18"][0] == "80*cos(pi/10)"
    assert found.document.points["middle"] == ("0", "0")
    drawn = places(drawing)
    moved = {n: hypot(x - drawn[n][0], y - drawn[n][1]) for n, (x, y) in true.items()}
    assert {m.name for m in found.moves} == {n for n, d in moved.items() if d > 1e-9}
    for m in found.moves:
        assert m.distance == pytest.approx(moved[m.name], rel=1e-9)
        assert m.before == drawing.points[m.name]
        assert m.after == found.document.points[m.name]
    assert [m.distance for m in found.moves] == sorted((m.distance for m in found.moves), reverse=True)
    assert found.greatest == found.moves[0].distance
    assert found.mean == pytest.approx(sum(m.distance for m in found.moves) / len(found.moves))


@pytest.mark.parametrize(
    ("corners", "start", "family", "digits"),
    [
        (8, 0.0, "multiples of 22.5°", 1),
        (12, pi / 2, "multiples of 15°", 2),
        (5, pi / 2, "multiples of 18°", 1),
        (6, 0.0, "multiples of 30°", 2),
    ],
)
def test_regular_polygons_of_each_family_are_recovered(corners: int, start: float, family: str, digits: int) -> None:
    drawing, true = polygon(corners, 80, start, digits)
    assert verify.certify(drawing).verdict == "refuted"
    assert recovered(drawing, true, digits).family == family


@pytest.mark.parametrize(("tips", "digits"), [(5, 1), (5, 3), (8, 2)])
def test_a_regular_star_is_recovered_whatever_directions_its_sides_have(tips: int, digits: int) -> None:
    """With the inner corners at 0.4 of the radius: no side has a multiple of 18° or 22.5° for its direction."""
    drawing, true = polygon(tips, 70, pi / 2, digits)
    inner = {
        f"inner-{k}": (28 * cos(pi / 2 + k * pi / tips), 28 * sin(pi / 2 + k * pi / tips))
        for k in range(1, 2 * tips, 2)
    }
    points = {name: (decimal(x, digits), decimal(y, digits)) for name, (x, y) in inner.items()}
    loop = tuple(f"inner-{k}" if k % 2 else f"corner-{k}" for k in range(2 * tips))
    star = replace(drawing, points={**drawing.points, **points}, loops=(loop,), raw=None)
    assert verify.certify(star).verdict == "refuted"
    found = recovered(star, true | inner, digits)
    assert found.family.startswith(f"a regular star of {tips} points")
    assert not any(p.cut_exact for p in near_patterns(star, Fraction(1, 10**digits) / 10))  # too near for it


# turned, scaled and shifted: no number is round, and the sheet is rounded too

TURNED = {
    "star": (11.0, 1.07, (3.3, -2.7)),
    "letter-l": (15.0, 1.0, (0.0, 0.0)),
    "letter-t": (22.5, 0.77, (31.3, 17.9)),
    "sail-3-4-5": (0.0, 1.2345, (0.0, 0.0)),
    "sail-scalene": (33.0, 1.1, (5.0, -3.3)),
    "kite": (18.0, 1.1, (5.0, -3.3)),
    "window-three-folds": (7.7, 0.93, (1.0, 2.0)),
    "two-windows": (0.0, 1.2345, (0.0, 0.0)),
    "panel-round-hole": (22.5, 0.77, (31.3, 17.9)),
    "lantern-twist": (18.0, 1.1, (5.0, -3.3)),
    "miura-4x4": (15.0, 1.0, (0.0, 0.0)),
}


@pytest.mark.parametrize(("name", "digits"), each_way(TURNED))
def test_a_pattern_turned_and_scaled_before_it_was_rounded_is_recovered(proofs: Path, name: str, digits: int) -> None:
    turn, scale, shift = TURNED[name]
    drawing, true = rounded(
        load_any(proofs / "certified" / f"{name}.{'json' if name == 'two-windows' else 'toml'}"),
        digits,
        turn,
        scale,
        shift,
    )
    recovered(drawing, true, digits)


TOUCHING = ("corner-at-the-slots-end", "corner-on-the-line")  # a folded corner touches the cut: only told upright


@pytest.mark.long
@pytest.mark.parametrize(("path", "digits"), each_way([path for path in CERTIFIED if path.stem not in TOUCHING]))
def test_corpus_patterns_in_other_positions(path: Path, digits: int) -> None:
    for turn, scale, shift in [
        (0.0, 1.2345, (0.0, 0.0)),
        (15.0, 1.0, (0.0, 0.0)),
        (22.5, 0.77, (31.3, 17.9)),
        (18.0, 1.1, (5.0, -3.3)),
    ]:
        drawing, true = rounded(load_any(path), digits, turn, scale, shift)
        recovered(drawing, true, digits)


# vertices


def round_vertex(angles: list[float]) -> Document:
    points: dict[str, list[object]] = {
        "o": [0, 0],
        "sw": [-100, -100],
        "se": [100, -100],
        "ne": [100, 100],
        "nw": [-100, 100],
    }
    for i, a in enumerate(angles):
        reach = 100 / max(abs(cos(a)), abs(sin(a)))
        points[f"r{i}"] = [decimal(reach * cos(a), 1), decimal(reach * sin(a), 1)]
    keys = {
        "format": "creaseproof-pattern/1",
        "points": points,
        "sheet": {"outline": ["sw", "se", "ne", "nw"]},
        "creases": [["o", f"r{i}", "either"] for i in range(len(angles))],
    }
    return read_any(keys)


def defect(document: Document) -> float:
    """By how many degrees the alternate sums at `o` differ, in floats."""
    here = places(document)
    angles = sorted(atan2(y, x) for n, (x, y) in here.items() if n.startswith("r"))
    gaps = [(b - a) % (2 * pi) for a, b in zip(angles, angles[1:] + angles[:1], strict=True)]
    return abs(sum(gaps[::2]) - sum(gaps[1::2])) * 180 / pi


@pytest.mark.parametrize("seed", range(12))
def test_a_drawing_that_is_near_nothing_gives_no_proposal(seed: int) -> None:
    rng = random.Random(seed)
    drawing = round_vertex(sorted(rng.uniform(0, 2 * pi) for _ in range(rng.choice([4, 6]))))
    # four or six folds of 100 mm or more turn by less than 0.1° each when their ends move by 0.15 mm
    assert defect(drawing) > 1.2
    assert nearby(drawing) is None


@pytest.mark.parametrize("digits", [1, 2])
def test_odd_folds_at_a_vertex_give_no_proposal(digits: int) -> None:
    drawing, _ = rounded(vertex([("1", "0"), ("-1", "sqrt(3)"), ("-1", "-sqrt(3)")], size=50), digits)
    assert nearby(drawing) is None


def test_vertices_of_no_family_are_closed_by_slopes() -> None:
    closed = 0
    for seed in range(6):
        rng = random.Random(100 + seed)
        shares = [rng.uniform(0.3, 1) for _ in range(4)]
        shares = [w * pi / sum(shares[i % 2 :: 2]) for i, w in enumerate(shares)]
        start = rng.uniform(0, 6)
        drawing = round_vertex([start + sum(shares[:i]) for i in range(4)])
        proposal = certified_first(near_patterns(drawing))
        if proposal is not None:
            closed += 1
            assert proposal.greatest <= 0.15 + 1e-9
    assert closed >= 4


# unmoved


@pytest.mark.parametrize("path", CERTIFIED, ids=lambda p: p.stem)
def test_a_certified_document_comes_back_unmoved(path: Path) -> None:
    document = load_any(path)
    found = near_patterns(document)
    assert [p.document for p in found] == [document]
    assert (found[0].moves, found[0].greatest, found[0].mean) == ((), 0.0, 0.0)


@examples(40)
@given(st.lists(st.fractions(min_value=Fraction(1, 3), max_value=40, max_denominator=50), min_size=2, max_size=6))
def test_a_strip_of_any_lengths_comes_back_unmoved(lengths: list[Fraction]) -> None:
    document = strip(lengths)
    found = nearby(document)
    assert found is not None
    assert found.document == document
    assert not found.moves


@examples(15)
@given(st.integers(0, 359), st.integers(2, 3))
def test_what_is_proposed_is_proposed_again_unmoved(turn: int, size: int) -> None:
    drawing, _ = rounded(miura(size, size, side=30), 2, turn, 1.1)
    for proposal in near_patterns(drawing):
        again = nearby(proposal.document)
        assert again is not None
        assert again.document == proposal.document
        assert not again.moves


# numbers and limits


def test_thirds_come_back_as_fractions() -> None:
    directions = [("100/3", "-50"), ("50", "100/3"), ("-100/3", "50"), ("-50", "-100/3")]
    drawing, true = rounded(vertex(directions, "VVVM"), 2)
    # rounded alike, the four stay square to each other; one of them read off a hair too high
    drawing = replace(drawing, points=dict(drawing.points) | {"r1": ("50", "33.34")})
    assert verify.certify(drawing).verdict == "refuted"
    found = certified_first(near_patterns(drawing))
    assert found is not None
    assert found.greatest <= 0.015
    assert all(hypot(x - true[n][0], y - true[n][1]) <= 0.015 for n, (x, y) in places(found.document).items())


def test_numbers_are_read_as_the_simplest_fractions_that_round_to_them(proofs: Path) -> None:
    drawing, _ = rounded(load_any(proofs / "certified" / "sail-scalene.toml"), 2)
    assert drawing.points["before-luff"] == ("0", "144.17")
    found = nearby(drawing)
    assert found is not None
    assert found.family == "fractions with denominators up to 6"
    assert found.document.points["past-tack"] == ("0", "10/3")
    assert found.document.points["before-luff"] == ("0", "865/6")
    assert found.document.points["past-clew"] == ("297", "6.5")


def test_numbers_that_do_not_move_stay_as_they_were_written(proofs: Path) -> None:
    drawing, _ = rounded(load_any(proofs / "certified" / "star.toml"), 1)
    points = drawing.points | {"middle": ("0.0", "2-2"), "ne": ("210/2", "105")}
    found = nearby(replace(drawing, points=points))
    assert found is not None
    assert found.document.points["middle"] == ("0.0", "2-2")
    assert found.document.points["ne"] == ("210/2", "105")
    assert {m.name for m in found.moves}.isdisjoint({"middle", "ne"})


def test_a_point_that_takes_part_in_nothing_stays(proofs: Path) -> None:
    drawing, _ = rounded(load_any(proofs / "certified" / "star.toml"), 1)
    found = nearby(replace(drawing, points=dict(drawing.points) | {"label": ("12.3", "-77.7")}))
    assert found is not None
    assert found.document.points["label"] == ("12.3", "-77.7")


@pytest.mark.parametrize(("corner", "dx", "dy"), [(0, 1, 0), (1, 0, -1), (2, -1, -1)])
def test_one_point_that_is_written_wrongly_is_put_right_alone(corner: int, dx: int, dy: int) -> None:
    right = load_any(PROOFS / "certified" / "window-three-folds.toml")
    wrong = right.loops[0][corner]
    x, y = map(int, right.points[wrong])
    drawn = replace(right, points={**right.points, wrong: (str(x + dx), str(y + dy))}, raw=None)
    assert verify.certify(drawn).verdict == "refuted"
    found = exact(drawn)
    assert found.verdict == "certified"
    assert found.proposal is not None
    assert [move.name for move in found.proposal.moves] == [wrong]
    assert found.proposal.document.points == right.points


@pytest.mark.parametrize("most", [Fraction(3, 100), Fraction(1, 10)])
def test_no_point_moves_farther_than_allowed(proofs: Path, most: Fraction) -> None:
    drawing, _ = rounded(load_any(proofs / "certified" / "letter-t.toml"), 1, 15)
    for proposal in near_patterns(drawing, most):
        assert proposal.greatest <= float(most) * (1 + 1e-9)


def test_a_drawing_by_hand_is_found_farther_away(proofs: Path) -> None:
    document = load_any(proofs / "certified" / "window-three-folds.toml")
    rng = random.Random(5)
    points = {
        n: p
        if abs(float(p[0])) == 75 == abs(float(p[1]))
        else tuple(decimal(float(v) + rng.uniform(-0.5, 0.5) * (abs(float(v)) != 75), 1) for v in p)
        for n, p in document.points.items()
    }
    drawing = read_any(json.loads(json.dumps(document.keys() | {"points": {n: list(p) for n, p in points.items()}})))
    assert all(verify.certify(p.document).verdict != "certified" for p in near_patterns(drawing))
    proposal = certified_first(near_patterns(drawing, Fraction(3, 2)))
    assert proposal is not None
    assert 0.15 < proposal.greatest <= 1.5


def test_numbers_beyond_all_floats_are_near_nothing() -> None:
    drawing = round_vertex([0.1, 1.3, 2.9, 4.4])
    assert nearby(replace(drawing, points=dict(drawing.points) | {"far": ("1e400", "0")})) is None


def test_too_many_points_are_a_declared_limit() -> None:
    drawing = round_vertex([0.1, 1.3, 2.9, 4.4])
    many = {f"p{i}": (str(i), "200") for i in range(700)}
    with pytest.raises(LimitReached, match="points = 600"):
        nearby(replace(drawing, points=dict(drawing.points) | many))


def test_a_number_that_is_none_is_malformed() -> None:
    drawing = round_vertex([0.1, 1.3, 2.9, 4.4])
    with pytest.raises(Malformed, match=r"points\.o"):
        nearby(replace(drawing, points=dict(drawing.points) | {"o": ("1/0", "0")}))


# drawings whose folds close, and whose layers fail

HEXAGON = [("70", "0"), ("35", "60.6"), ("-35", "60.6"), ("-70", "0"), ("-35", "-60.6"), ("35", "-60.6")]
WORDS = ["".join(w) for w in product("MV", repeat=6) if abs(w.count("M") - w.count("V")) == 2]


@pytest.mark.parametrize("word", some(WORDS, of=3))
def test_six_nearly_equal_angles_fold_once_they_are_equal(word: str) -> None:
    """Equal angles fold with every assignment that has two more of one kind than of the other (Hull 2002): 30 of them.

    In the drawing the angles differ by the rounding, and alternate sums are equal by its symmetry.
    """
    assert len(WORDS) == 2 * comb(6, 2)
    drawing = vertex(HEXAGON, word)
    result = verify.certify(drawing)
    found = exact(drawing)
    assert found.verdict == "certified"
    assert found.proposal is not None
    assert bool(found.proposal.moves) == (result.verdict == "refuted")
    assert ("looks-rounded" in [f.kind for f in result.findings]) == (result.verdict == "refuted")
    if found.proposal.moves:
        corner = sympify(found.proposal.document.points["r1"])
        assert simplify(corner[1] ** 2 - 3 * corner[0] ** 2) == 0


def test_a_strip_of_nearly_equal_panels_rolls_up_once_they_are_equal(run: Run, tmp_path: Path) -> None:
    """Equal panels fold with any mountains and valleys (Arkin et al. 2004); each vertex of this one folds as drawn."""
    across = ["0", "16.67", "33.33", "50", "66.67", "83.33", "100"]
    points = {f"{side}{i}": (x, y) for side, y in (("a", "0"), ("b", "20")) for i, x in enumerate(across)}
    creases = tuple(Crease(f"a{i}", f"b{i}", "valley") for i in range(1, 6))
    drawing = Document(points, ("a0", "a6", "b6", "b0"), creases=creases)
    result = verify.certify(drawing)
    assert result.verdict == "refuted"
    assert all(f.level == "holds" for f in result.findings if f.check == "vertex")
    write(drawing, tmp_path / "strip.toml")
    outcome = run(tmp_path / "strip.toml", "-o", tmp_path / "new.toml")
    assert outcome.exit_code == 0, outcome.output
    assert load_any(tmp_path / "new.toml").points["a1"] == ("50/3", "0")


# the command

Run = Callable[..., Result]


@pytest.fixture
def run() -> Run:
    def invoke(*arguments: object) -> Result:
        return CliRunner().invoke(cli.main, ["exact", *[str(a) for a in arguments]])

    return invoke


@pytest.fixture
def star(proofs: Path, tmp_path: Path) -> Path:
    path = tmp_path / "star.toml"
    write(rounded(load_any(proofs / "certified" / "star.toml"), 1)[0], path)
    return path


@pytest.mark.parametrize("name", ["new.toml", "new.json"])
def test_the_command_writes_a_pattern_that_certifies(run: Run, star: Path, tmp_path: Path, name: str) -> None:
    new = tmp_path / name
    outcome = run(star, "-o", new)
    assert outcome.exit_code == 0, outcome.output
    assert "proposed: multiples of 18° (24 of 24 lines)" in outcome.output
    assert "17 of 25 points move, by at most 0.0574 mm, on average 0.0282 mm" in outcome.output
    assert "certified: Regular five-point star" in outcome.output
    assert "… and 9 more" in outcome.output
    assert verify.certify(load_any(new)).verdict == "certified"


def test_where_no_place_mends_it_the_repairs_are_named(run: Run, proofs: Path, tmp_path: Path) -> None:
    """A crease is missing, so that an odd number of folds meets (Kawasaki–Justin): `certify` proposes it."""
    whole = load_any(proofs / "certified" / "window-three-folds.toml")
    drawing = tmp_path / "window.toml"
    write(replace(whole, creases=whole.creases[:-1], raw=None), drawing)
    outcome = run(drawing, "-o", tmp_path / "new.toml")
    assert outcome.exit_code == 3
    assert "repair 1: a crease is missing at middle" in outcome.output
    assert "--accept N applies repair N" in outcome.output
    answer = json.loads(run(drawing, "-o", tmp_path / "new.toml", "--json").output)
    assert [f["kind"] for f in answer["findings"]] == ["no-proposal", "repair-crease"]
    assert run(drawing, "-o", tmp_path / "new.toml", "--accept", "1").exit_code == 0


def test_the_command_in_json(run: Run, star: Path, tmp_path: Path) -> None:
    outcome = run(star, "-o", tmp_path / "new.toml", "--json")
    keys = json.loads(outcome.output)
    assert keys["verdict"] == "certified"
    assert keys["statement_sha256"] == load_any(tmp_path / "new.toml").statement_sha256
    assert {"claims", "findings", "facts"} <= keys.keys()
    proposal = keys["proposal"]
    assert (proposal["unit"], proposal["rounding"], proposal["most"]) == ("mm", "1/10", "3/20")
    assert len(proposal["moved"]) == 17
    assert proposal["greatest"] == proposal["moved"][0]["distance"]


def test_a_copy_of_what_is_refuted_is_not_written(run: Run, proofs: Path, tmp_path: Path) -> None:
    """A certified one is, and a repaired one, from which the next repair may start."""
    new = tmp_path / "new.toml"
    outcome = run(proofs / "refuted" / "maekawa.json", "-o", new)
    assert outcome.exit_code == 1
    assert outcome.output.startswith("nothing moves: the folds close as drawn; but it does not fold flat, ")
    assert "nothing written: the result would be the drawing unchanged\n" in outcome.output
    assert not new.exists()
    outcome = run(proofs / "certified" / "kite.toml", "-o", new)
    assert (outcome.exit_code, new.exists()) == (0, True)
    assert "new.toml, as it was\n" in outcome.output


def test_a_repair_that_is_made_and_a_cut_that_stays_wrong_are_said(run: Run, proofs: Path, tmp_path: Path) -> None:
    """Nothing moves in either; but a crease turned, and what is written does not cut."""
    outcome = run(proofs / "refuted" / "maekawa.json", "-o", tmp_path / "new.toml", "--accept", "1")
    assert outcome.output.startswith(
        "repair 1 is applied: crease middle–s (valley)\nnothing moves: the folds close with repair 1\n"
    )
    outcome = run(proofs / "refuted" / "missed-edge.toml", "-o", tmp_path / "cut.toml")
    assert outcome.exit_code == 1
    assert (
        "but the cut is not exact, and nothing within 1.5 mm (--most MM) was found whose cut is"
        in outcome.output.splitlines()[0]
    )


@pytest.mark.parametrize("flags", [(), ("--json",)])
def test_no_proposal_is_undecided_and_writes_nothing(run: Run, tmp_path: Path, flags: tuple[str, ...]) -> None:
    write(round_vertex([0.1, 1.3, 2.9, 4.4]), tmp_path / "x.toml")
    outcome = run(tmp_path / "x.toml", "-o", tmp_path / "new.toml", *flags)
    assert outcome.exit_code == 3
    if flags:
        keys = json.loads(outcome.output)
        assert (keys["verdict"], keys["proposal"], keys["findings"][0]["kind"]) == ("undecided", None, "no-proposal")
    else:
        assert outcome.output.startswith("undecided: no pattern")
    assert not (tmp_path / "new.toml").exists()


@pytest.mark.parametrize("flags", [(), ("--json",)])
def test_malformed_input_ends_with_status_2(run: Run, tmp_path: Path, flags: tuple[str, ...]) -> None:
    (tmp_path / "x.toml").write_text("format = 3\n")
    outcome = run(tmp_path / "x.toml", "-o", tmp_path / "new.toml", *flags)
    assert outcome.exit_code == 2
    assert "malformed" in outcome.output


def test_the_longest_way_is_given_in_millimetres(run: Run, star: Path, tmp_path: Path) -> None:
    in_cm = tmp_path / "cm.toml"
    document = load_any(star)
    points = {n: tuple(decimal(float(v) / 10, 2) for v in p) for n, p in document.points.items()}
    write(read_any(document.keys() | {"unit": "cm", "points": {n: list(p) for n, p in points.items()}}), in_cm)
    outcome = run(in_cm, "-o", tmp_path / "new.toml", "--most", "0.2", "--json")
    keys = json.loads(outcome.output)
    assert outcome.exit_code == 0
    assert (keys["proposal"]["unit"], keys["proposal"]["most"]) == ("cm", "1/50")


def test_the_drawing_itself_is_never_written_over(run: Run, star: Path) -> None:
    before = star.read_bytes()
    assert run(star, "-o", star).exit_code == 2
    assert star.read_bytes() == before


@pytest.mark.parametrize("most", ["0", "-1", "nan", "x"])
def test_a_longest_way_that_is_no_length_is_refused(run: Run, star: Path, tmp_path: Path, most: str) -> None:
    assert run(star, "-o", tmp_path / "new.toml", "--most", most).exit_code == 2


def test_a_recipe_is_unsupported(run: Run, proofs: Path, tmp_path: Path) -> None:
    recipe = next(iter(sorted((proofs / "recipes").glob("*.toml"))))
    assert run(recipe, "-o", tmp_path / "new.toml").exit_code == 4


def test_what_nothing_near_mends_is_offered_the_repairs_of_certify(run: Run, tmp_path: Path) -> None:
    """No movement frees a trapped panel; certify's repairs do, and `--accept` makes one."""
    drawing, new = PROOFS / "refuted" / "trapped-panel.toml", tmp_path / "new.toml"
    offered = [found.message for found in with_repairs(verify.certify(drawing)).findings if found.check == "repair"]
    outcome = run(drawing, "-o", new)
    assert outcome.exit_code == 1
    told = [line for line in outcome.output.splitlines() if "repair" in line]
    assert [line.strip() for line in told[:2]] == offered
    assert "--accept N applies repair N" in told[2]
    assert not new.exists()
    keys = json.loads(run(drawing, "-o", new, "--json").output)
    assert sum(found["check"] == "repair" for found in keys["findings"]) == 2
    assert run(drawing, "-o", new, "--accept", 1).exit_code == 0


def test_what_certify_says_of_one_number_exact_does() -> None:
    """A corner of the middle 0.1 cm beside it makes two vertices of one, with mountains and valleys that count wrongly:
    to certify, it belongs on the middle.
    """
    points = {"sw": [0, 0], "se": [12, 0], "ne": [12, 12], "nw": [0, 12], "w": [0, 6], "e": [12, 6], "s": [6, 0]}
    folds = [["w", "e", "valley"], ["s", "m", "valley"], ["m", "n", "mountain"]]
    slip = {
        "format": "creaseproof-pattern/1",
        "unit": "cm",
        "points": points | {"n": [6, 12], "m": [6, "6.1"]},
        "sheet": {"outline": ["sw", "se", "ne", "nw"]},
        "creases": folds,
    }
    drawn = read_any(slip)
    told = [f.message for f in verify.certify(drawn).findings if f.kind == "looks-rounded"]
    assert told == ["with m at (6, 6) it is certified (all other numbers are that round)"]
    found = exact(drawn)
    assert found.verdict == "certified"
    assert found.pattern is not None
    assert found.pattern.points["m"] == ("6", "6")


def test_a_family_of_another_field_than_the_numbers_written_is_left_out() -> None:
    """The star's target alone has all its directions among multiples of 9°, and numbers of a smaller field."""
    star = verify.load(PROOFS / "certified" / "star.toml")
    found = exact(replace(star, creases=(), raw=None))
    assert found.verdict == "refuted"
    assert found.proposal is not None
    assert not found.proposal.moves
