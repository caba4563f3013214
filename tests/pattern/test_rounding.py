"""What the texts of numbers say of their rounding, and which failures it explains."""

from __future__ import annotations

import random
from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from math import asin, degrees, inf, nan, sqrt
from pathlib import Path

import pytest

import verify
from tests.cli.command import run
from tests.places import PROOFS
from verify.exact.plane import length
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.pattern.recipe import load_any
from verify.pattern.rounding import decimals, looks_rounded, rounding, shown
from verify.pattern.subdivision import Subdivision
from verify.tasks.certify import Result
from verify.tasks.exact import exact


@pytest.mark.parametrize(
    ("text", "digits"),
    [
        ("0", 0),
        ("-17", 0),
        ("+3", 0),
        ("76.1", 1),
        ("-0.250", 3),
        ("1/3", None),
        ("sqrt(2)", None),
        ("1e-3", None),
        ("2.5e1", None),
        ("", None),
        ("1.", None),
        (".5", None),
        ("1.5+1", None),
    ],
)
def test_digits_after_the_point(text: str, digits: int | None) -> None:
    assert decimals(text) == digits


@pytest.mark.parametrize(
    ("texts", "unit"),
    [
        (["1", "2"], Fraction(1)),
        (["1", "2.5"], Fraction(1, 10)),
        (["33.33", "2.5"], Fraction(1, 100)),
        (["1/3"], Fraction(1)),
        ([], Fraction(1)),
        (["0.12345678901234", "1.5"], Fraction(1, 10)),
    ],
)
def test_the_unit_of_the_longest_decimal(texts: list[str], unit: Fraction) -> None:
    assert rounding(texts) == unit


TEXTS = ["0", "76.1", "24.7", "105"]


@pytest.mark.parametrize(
    ("texts", "defects", "misses", "expected"),
    [
        (TEXTS, [(0.04, 10, 105.0)], [], True),
        (TEXTS, [(-0.04, 10, 105.0)], [(0.05, 60)], True),
        (TEXTS, [], [(0.05, 60), (0.9, 60)], True),
        (TEXTS, [], [], False),
        (TEXTS, [(5.0, 10, 105.0)], [], False),
        (TEXTS, [(0.04, 10, 105.0), (5.0, 4, 105.0)], [], False),
        (TEXTS, [(0.04, 10, 105.0)], [(7.0, 600)], False),
        (TEXTS, [], [(1.1, 600)], False),
        (TEXTS, [], [(0.9, 40)], False),
        (TEXTS, [(0.04, 3, 105.0)], [], False),
        (TEXTS, [(nan, 4, 105.0)], [], False),
        (TEXTS, [(inf, 4, 105.0)], [], False),
        (TEXTS, [], [(nan, 60)], False),
        (TEXTS, [(0.04, 4, 0.0)], [], False),
        (["1/3", "sqrt(2)"], [(0.04, 4, 105.0)], [], False),
        ([], [(0.04, 4, 105.0)], [], False),
        (["76.1042"], [(0.04, 4, 105.0)], [], False),
        (["76"], [(2.0, 4, 105.0)], [], True),
    ],
)
def test_a_failure_is_rounding_only_if_all_of_it_is(
    texts: list[str], defects: list[tuple[float, int, float]], misses: list[tuple[float, float]], expected: bool
) -> None:
    assert looks_rounded(texts, defects, misses) is expected


def failures(document: Document) -> tuple[list[str], list[tuple[float, int, float]], list[tuple[float, float]]]:
    """What the function is given, from the findings of a refuted document."""
    result = verify.certify(document)
    s = result.subdivision
    assert s is not None
    defects = []
    for finding in result.failures:
        if finding.kind == "kawasaki-fails":
            vertex = next(v for v in range(len(s.vertices)) if s.name(v) == finding.where[0])
            lengths = fold_lengths(s, vertex)
            defects.append((float(finding.value["difference_degrees"]), len(lengths), min(lengths)))
    lengths_of = {
        "–".join(names): length(*line) for names, line in zip(document.target_lines(), s.drawing.target, strict=True)
    }
    misses = [
        (float(f.value["distance"].split()[0]), lengths_of[f.where[0]]) for f in result.failures if f.kind == "missed"
    ]
    return [t for pair in document.points.values() for t in pair], defects, misses


def fold_lengths(s: Subdivision, vertex: int) -> list[float]:
    lengths = []
    for e in s.around[vertex]:
        if s.edges[e].is_fold:
            a, b = (s.vertices[v] for v in s.edges[e].ends)
            lengths.append(sqrt(float((a.x - b.x) * (a.x - b.x) + (a.y - b.y) * (a.y - b.y))))
    return lengths


def rounded(document: Document, digits: int) -> Document:
    points = {
        n: tuple(v.decimal(digits).rstrip("0").rstrip(".") or "0" for v in p) for n, p in draw(document).places.items()
    }
    return replace(document, points=points, raw=None)


@pytest.mark.parametrize("digits", [1, 2])
@pytest.mark.parametrize("name", ["star", "kite", "sail-scalene"])
def test_rounded_patterns_look_rounded(proofs: Path, name: str, digits: int) -> None:
    drawing = rounded(load_any(proofs / "certified" / f"{name}.toml"), digits)
    texts, defects, misses = failures(drawing)
    assert defects or misses
    assert looks_rounded(texts, defects, misses)


def test_patterns_that_are_wrong_do_not_look_rounded(proofs: Path) -> None:
    drawing = rounded(load_any(proofs / "certified" / "star.toml"), 1)
    rng = random.Random(1)
    for name in ("edge-18", "edge-54", "tip-18", "notch-54"):
        x, y = drawing.points[name]
        moved = (
            (x, f"{float(y) + rng.uniform(15, 20):.1f}")
            if name == "edge-18"
            else (f"{float(x) + rng.uniform(15, 20):.1f}", y)
        )
        texts, defects, misses = failures(replace(drawing, points=dict(drawing.points) | {name: moved}))
        assert defects or misses
        assert not looks_rounded(texts, defects, misses)


def in_mm(px: str) -> str:
    """As drawings in px are read: a px is 1/96 in (CSS Values 3, section 6.2)."""
    return str(Fraction(px) * Fraction(254, 960))


def test_the_unit_is_estimated_from_the_numbers() -> None:
    rng = random.Random(2)
    thousandths = [f"{rng.uniform(0, 400):.3f}" for _ in range(14)]
    in_px = [in_mm(x) for x in thousandths]
    assert shown(in_px) == Fraction(254, 960_000)
    assert shown([*in_px, "-10", "695/6"]) == Fraction(254, 960_000)  # a margin in mm beside it
    for digits in (0, 1, 2, 3):
        assert shown([f"{rng.uniform(0, 400):.{digits}f}" for _ in range(14)]) == Fraction(1, 10**digits)
    assert shown(["150", "75", "30", "0", "60", "77"]) is None  # round numbers that were chosen, and a mistake
    assert shown(["150", "75", "30", "0", "60", "77.5"]) is None
    assert shown(["1/3", "2/7", "5/6"]) is None  # fractions that were meant
    assert shown(["sqrt(2)", "1e-3", "1/0"]) is None
    assert shown(["0", "8", "4", "sin(pi/10)*4"]) is None  # a grid of eight steps that was meant
    assert shown(["0", "29", "13", "7"]) is None
    assert shown(["0", "31", "13", "7"]) == 1
    assert shown([]) is None
    assert shown(["60", "0", "77.3"]) is None
    assert shown(["60", "0", "77.3", "-77.3"]) == Fraction(1, 10)  # no slip: it is in two places


@pytest.mark.parametrize("digits", [1, 2, 3])
def test_one_number_in_several_places_looks_rounded(digits: int) -> None:
    """Folds at 0, 60, 120 and 240 degrees: alternate angles sum to 180 (Kawasaki–Justin) until tan 30° is rounded."""
    for at, said in ((f"{60 * sqrt(1 / 3):.{digits}f}", ["looks-rounded"]), ("60/sqrt(3)", [])):
        square = {"sw": ["-60", "-60"], "se": ["60", "-60"], "ne": ["60", "60"], "nw": ["-60", "60"]}
        ends = {"a": ["60", "0"], "b": [at, "60"], "c": [f"-{at}", "60"], "d": [f"-{at}", "-60"]}
        pattern = {
            "format": "creaseproof-pattern/1",
            "points": {"o": ["0", "0"], **square, **ends},
            "sheet": {"outline": [*square]},
            "creases": [["o", end, "mountain" if end == "b" else "valley"] for end in ends],
        }
        notes = [f.kind for f in verify.certify(verify.read(pattern)).findings if f.kind == "looks-rounded"]
        assert notes == said


def test_a_drawing_in_px_with_three_decimals_looks_rounded() -> None:
    """A waterbomb-like vertex whose ends were rounded to thousandths of a px: its angles are off by some 0.0003
    degrees.
    """
    ends = {"a": (400, 0), "b": (173.20508, 100), "c": (-115.47005, 200), "d": (-400, 0), "e": (-231.43, -133.61611)}
    points = {"m": ("200", "200")} | {n: (f"{200 + x / 2:.3f}", f"{200 + y / 2:.3f}") for n, (x, y) in ends.items()}
    texts = [in_mm(v) for p in points.values() for v in p]
    assert looks_rounded(texts, [(0.0003, 4, 30.0)])
    assert not looks_rounded(texts, [(0.3, 4, 30.0)])


@pytest.mark.parametrize("ends", ["fold", "corner"])
def test_a_crease_end_that_is_2_mm_wrong_is_no_rounding(ends: str) -> None:
    """The square window, in whole millimetres: one end is drawn at 2 mm beside its place."""
    document = load_any(PROOFS / "certified" / "window-three-folds.toml")
    moved = {"fold": ("s", ("2", "-75")), "corner": ("window-ne", ("30", "32"))}[ends]
    result = verify.certify(replace(document, points={**document.points, moved[0]: moved[1]}, raw=None))
    assert result.verdict == "refuted"
    assert "looks-rounded" not in {f.kind for f in result.findings}


@pytest.mark.parametrize(("name", "x", "y"), [("e", "75", "0.1"), ("window-nw", "-30", "29.9")])
def test_one_point_off_by_the_last_digit_looks_rounded(name: str, x: str, y: str) -> None:
    """The square window, in whole millimetres but for one point: `exact` moves it to its place, and to no other."""
    right = load_any(PROOFS / "certified" / "window-three-folds.toml")
    drawn = replace(right, points={**right.points, name: (x, y)}, raw=None)
    result = verify.certify(drawn)
    assert result.verdict == "refuted"
    (note,) = [f for f in result.findings if f.kind == "looks-rounded"]
    assert note.where == (name,)
    assert f"with {name} at ({', '.join(right.points[name])}) it is certified" in note.message
    found = exact(drawn)
    assert found.verdict == "certified"
    assert found.proposal is not None
    assert found.proposal.document.points == right.points


def test_a_stray_number_in_two_places_is_named() -> None:
    """Two corners of the square window, at 29.9 for 30."""
    right = load_any(PROOFS / "certified" / "window-three-folds.toml")
    slips = {n: (x, y.replace("30", "29.9")) for n, (x, y) in right.points.items() if y == "30"}
    assert len(slips) == 2
    result = verify.certify(replace(right, points={**right.points, **slips}, raw=None))
    (note,) = [f for f in result.findings if f.kind == "looks-rounded"]
    assert set(note.where) == {*slips}


def test_a_stray_number_that_is_not_what_fails_is_not_blamed() -> None:
    """A fold is turned as well, and an equal number of mountains and valleys meet (Maekawa): no place mends that."""
    right = load_any(PROOFS / "certified" / "window-three-folds.toml")
    creases = tuple(replace(c, kind="valley") for c in right.creases)
    result = verify.certify(replace(right, points={**right.points, "e": ("75", "0.1")}, creases=creases, raw=None))
    assert result.verdict == "refuted"
    assert "looks-rounded" not in {f.kind for f in result.findings}


DIAMOND = {"a": ("40", "20"), "b": ("60", "40"), "c": ("40", "60"), "d": ("20", "40")}


def _diamond_in_two_folds(corners: Mapping[str, tuple[str, str]]) -> Result:
    """README's window with other corners: the sheet folded in half twice, as the square on its corner wants it."""
    sheet = {"sw": ("0", "0"), "se": ("80", "0"), "ne": ("80", "80"), "nw": ("0", "80")}
    steps = [
        {"fold": {"line": ["nw", "sw"], "onto": ["ne", "se"]}, "moves": "nw"},
        {"fold": {"point": "ne", "onto": "se"}, "moves": "ne"},
    ]
    return verify.certify(
        verify.read(
            {
                "format": "creaseproof-recipe/1",
                "points": {name: list(place) for name, place in {**sheet, **corners}.items()},
                "sheet": {"outline": [*sheet]},
                "target": {"loops": [[*DIAMOND]]},
                "steps": steps,
            }
        )
    )


@pytest.mark.parametrize(
    ("corners", "said"),
    [
        (DIAMOND, ""),
        ({"b": ("60.1", "40")}, "with b at (60, 40) it is certified"),
        ({"b": ("60.5", "40")}, "with b at (60, 40) it is certified"),
        (
            {"a": ("40.2", "20.1"), "b": ("59.9", "39.8"), "c": ("39.9", "60.2"), "d": ("20.1", "40.3")},
            "recipe DOCUMENT --near",
        ),
        ({"b": ("62", "40")}, "with b at (60, 40) it is certified"),  # beside the tens of all others
        ({"b": ("66", "40")}, ""),
        ({"a": ("40.2", "25.1"), "b": ("59.9", "39.8"), "c": ("39.9", "60.2"), "d": ("20.1", "40.3")}, ""),
    ],
)
def test_a_recipe_that_misses_by_the_last_digit_looks_rounded(
    corners: Mapping[str, tuple[str, str]], said: str
) -> None:
    """And one that misses by more does not. Whoever follows the first advice has a recipe that is certified."""
    result = _diamond_in_two_folds({**DIAMOND, **corners})
    notes = [f.message for f in result.findings if f.kind == "looks-rounded"]
    assert (result.verdict == "certified") == (corners == DIAMOND)
    assert len(notes) == bool(said)
    assert all(said in note for note in notes)


def test_where_half_of_the_figure_misses_either_half_may_be_wrong() -> None:
    """b lies farther out, so that a–b and b–c are longer than the other two; the note does not say that they are right.
    With d outside as well all four lie on one line again, of another diamond.
    """
    notes = [f for f in _diamond_in_two_folds({**DIAMOND, "b": ("62", "40")}).findings if f.kind == "either-line"]
    assert [set(note.where[:2]) for note in notes] == [{"a–b", "b–c"}]
    assert [set(note.where[2:]) for note in notes] == [{"c–d", "d–a"}]
    assert "either may be the wrong one" in notes[0].message
    far = {"b": ("62", "40"), "d": ("18", "40")}
    assert _diamond_in_two_folds({**DIAMOND, **far}).verdict == "certified"


def test_a_slip_of_several_digits_is_put_right_where_it_may_move_so_far(tmp_path: Path) -> None:
    """A corner of a window at 30.2 for 30: within a digit and a half there is nothing, and the answer says how far it
    looked.
    """
    right = load_any(PROOFS / "certified" / "window-three-folds.toml")
    name = right.loops[0][0]
    x, y = right.points[name]
    wrong = replace(right, points={**right.points, name: (x, f"{y}.2")}, raw=None)
    assert Fraction(y).denominator == 1
    drawn, out = tmp_path / "drawn.toml", tmp_path / "new.toml"
    verify.write(wrong, drawn)
    short = run("exact", drawn, "-o", out)
    assert "nothing within 0.15 mm (--most MM) was found whose cut is exact" in " ".join(short.output.split())
    assert run("exact", drawn, "-o", out, "--most", "0.5").exit_code == 0
    assert load_any(out).points == right.points
    assert f"with {name} at ({x}, {y}) it is certified" in run("certify", drawn).output


TENTHS = [f"{k}.{d}" for k in range(3, 9) for d in (1, 3, 4, 7)]


@pytest.mark.parametrize("shortest", [0.3, 0.5, 7.0, 100.0])
def test_how_far_rounding_turns_a_fold(shortest: float) -> None:
    """Ends that are half a tenth off in both coordinates, in opposite senses, lie √2/10 aside of each other
    (Pythagoras); of a fold of length c this is the sine of the turn. Two sums of alternate angles differ by twice that
    for each fold.
    """
    assert shown(TENTHS) == Fraction(1, 10)
    most = 2 * 4 * degrees(asin(sqrt(2) / 10 / shortest))
    assert looks_rounded(TENTHS, [(most * 0.9999, 4, shortest)])
    assert looks_rounded(TENTHS, [(-most * 0.9999, 4, shortest)])
    assert not looks_rounded(TENTHS, [(most * 1.0001, 4, shortest)])
    assert not looks_rounded(TENTHS, [(most * 0.5, 4, shortest), (most * 1.0001, 4, shortest)])


def test_a_fold_shorter_than_the_rounding_may_point_anywhere() -> None:
    assert looks_rounded(TENTHS, [(300.0, 4, 0.1)])


@pytest.mark.parametrize(
    ("distance", "length", "rounds"),
    [(1.0, 100.0, True), (1.001, 100.0, False), (0.5, 25.0, True), (-0.5, 25.0, True), (0.501, 25.0, False)],
)
def test_how_far_a_target_line_may_miss(distance: float, length: float, rounds: bool) -> None:
    """By ten units of the last digit, and by a fiftieth of its length: both are bounds that were chosen."""
    assert looks_rounded(TENTHS, [], [(distance, length)]) == rounds
