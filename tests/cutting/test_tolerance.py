"""How true each fold must be: estimates against what can be worked out by hand, and against each other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.places import PROOFS
from tests.profiles import some
from verify.cutting.tolerance import SAMPLES, TRIED_MM, FoldEffect, stack_thickness, tolerance
from verify.folding.steps import carry_out
from verify.pattern.recipe import FoldStep, Recipe, load_any, read_any
from verify.tasks.certify import certify
from verify.words.tolerance import advice_lines, beside_lines, effect_lines, in_short, sample_lines

RECIPES = PROOFS / "recipes"
Keys = dict[str, Any]


def recipe(name: str) -> Recipe:
    found = load_any(RECIPES / name)
    assert isinstance(found, Recipe)
    return found


def sheet(steps: Sequence[Keys], along: Sequence[str], **more: Any) -> Recipe:
    """A sheet 200 × 200 round the origin, folded as said and cut through two marks."""
    points = {"sw": [-100, -100], "se": [100, -100], "ne": [100, 100], "nw": [-100, 100]}
    points |= {
        "a": [40, -100],
        "b": [40, 100],
        "c": [60, 0],
        "d": [0, 80],
        "u": [70, 100],
        "v": [100, 70],
        "e": [0, -80],
    }
    document = {
        "format": "creaseproof-recipe/1",
        "points": points,
        "sheet": {"outline": ["sw", "se", "ne", "nw"]},
        "steps": list(steps),
        "cut": {"along": {"through": list(along)}},
    }
    found = read_any(document | more)
    assert isinstance(found, Recipe)
    return found


LEFT = {"fold": {"point": "sw", "onto": "se"}, "moves": "sw"}
CORNER = {"fold": {"through": ["u", "v"]}, "moves": "ne"}


def test_a_fold_in_half_and_a_cut_beside_it() -> None:
    """The layer below stays; the edge that the upper layer gets is the mirror image of the cut, and moves twice as far
    as the fold.
    """
    folded = sheet([LEFT], ["a", "b"])
    found = tolerance(folded, samples=30)
    (effect,) = found.effects
    assert (effect.step, effect.jump) == (1, 0)
    assert 1.8 <= effect.worst <= 4  # off by one at one end and at the other: 2 for each, less towards the other end
    assert 0 < found.largest <= 2 * found.error * 1.001
    assert found.failed == 0
    said = " ".join(effect_lines(found, carry_out(folded)))
    assert "fold all layers over, moving sw, so that corner sw lies on corner se" in said


def test_the_whole_fold_off_by_one_moves_the_edge_by_two() -> None:
    found = tolerance(sheet([LEFT], ["a", "b"]), samples=1)
    assert found.effects[0].worst == pytest.approx(2, rel=0.01)
    assert found.first_order == pytest.approx(2 * found.error, rel=0.01)


def test_a_fold_that_does_not_matter_has_no_effect() -> None:
    """A corner is folded over that the cut does not meet."""
    found = tolerance(sheet([LEFT, CORNER | {"moves": "ne", "layers": "all"}], ["c", "e"]), samples=5)
    effects = {e.step: e.worst for e in found.effects}
    assert effects[2] < 1e-5
    assert effects[1] > 1
    assert [e.step for e in found.effects] == [1, 2]


def test_where_no_fold_matters_any_error_is_allowed() -> None:
    found = tolerance(sheet([CORNER], ["a", "b"]), samples=3)
    assert found.allowed is found.refused is None
    assert list(advice_lines(found, "mm")) == ["no fold matters: what is cut does not depend on them"]
    assert found.first_order == found.largest == found.typical == 0


NAMES = [
    "triangle.toml",
    "kite.toml",
    "window-three-folds.toml",
    "what-does-it-make.json",
    "house.toml",
    "waves-behind.toml",
]


@pytest.mark.parametrize("name", some(NAMES, of=2))
def test_linear_in_small_errors(name: str) -> None:
    found = {error: tolerance(recipe(name), error=error, samples=4) for error in (0.01, 0.08)}
    one = found[0.01]
    for error, other in found.items():
        assert other.first_order == pytest.approx(one.first_order * error / 0.01)
        assert other.largest == pytest.approx(one.largest * error / 0.01, rel=0.1)
        assert other.typical == pytest.approx(one.typical * error / 0.01, rel=0.1)
        assert other.allowed == one.allowed
        assert other.effects == one.effects


@pytest.mark.parametrize("name", some(NAMES, of=2))
def test_sampling_agrees_with_first_order(name: str) -> None:
    found = tolerance(recipe(name), error=0.05, samples=10)
    assert found.failed == 0
    steady = max(e.jump for e in found.effects) == 0
    if steady:
        assert found.first_order / 8 <= found.largest <= found.first_order * 1.05
    assert found.typical <= found.largest


@pytest.mark.parametrize(
    "name", ["kite.toml", "window-three-folds.toml", pytest.param("letter-t.toml", marks=pytest.mark.long)]
)
def test_the_advice_is_what_held_in_the_samples(name: str) -> None:
    found = tolerance(recipe(name), samples=12)
    assert found.allowed in TRIED_MM
    assert found.refused == TRIED_MM[TRIED_MM.index(found.allowed) + 1]
    kept = tolerance(recipe(name), error=found.allowed, samples=12)
    assert kept.failed == 0
    assert kept.largest <= found.width
    lost = tolerance(recipe(name), error=found.refused, samples=12)
    assert lost.failed or lost.largest > found.width
    assert (kept.allowed, lost.allowed) == (found.allowed, found.allowed)  # whatever the error asked for
    wider = tolerance(recipe(name), width=3.0, samples=12)
    assert wider.allowed is not None
    assert wider.allowed > found.allowed
    (advice,) = advice_lines(found, "mm")
    assert f"true to {found.allowed:g} mm" in advice
    assert f"but not with {found.refused:g} mm" in advice


def test_samples_that_come_to_nothing_are_explained() -> None:
    """The lid's later folds name marks where creases cross: with errors they cross elsewhere, off the layer that is
    asked for.
    """
    lid = tolerance(recipe("blintz-lid.toml"), samples=6)
    assert lid.failed > 0
    assert sum(n for _, n in lid.failures) == lid.failed
    assert {f.kind for f, _ in lid.failures} == {"no-mark"}
    assert all(f.step is not None for f, _ in lid.failures)
    assert any("could not be done as written: a mark is not where it was" in line for line in sample_lines(lid, "mm"))
    assert lid.allowed is None
    (advice,) = advice_lines(lid, "mm")
    assert advice.startswith("no error was small enough")


def test_a_cut_that_goes_where_nothing_was_to_be_cut_counts() -> None:
    """A narrow flap ends 0.3 mm short of the cut: a fold that is off by more brings it under the scissors, though the
    outline is cut as well as ever.
    """
    points = {"sw": [-100, -100], "se": [100, -100], "ne": [100, 100], "nw": [-100, 100]}
    points |= {"a": [40, -100], "b": [40, 100], "p": ["70.15", -100], "q": ["70.15", 100]}  # 100 folds onto 40.3
    found = tolerance(sheet([{"fold": {"through": ["p", "q"]}, "moves": "se"}], ["a", "b"], points=points))
    assert found.effects[0].worst < 1e-5
    assert found.largest > 50
    assert found.allowed is not None
    assert found.allowed < 0.3


def test_a_unit_is_only_a_unit() -> None:
    mm = tolerance(recipe("kite.toml"), samples=10)
    keys = recipe("kite.toml").keys()
    keys["unit"], keys["points"] = "m", {name: [f"({x})/1000" for x in xy] for name, xy in keys["points"].items()}
    metres = read_any(keys)
    assert isinstance(metres, Recipe)
    found = tolerance(metres, samples=10)
    assert (found.allowed or 0) * 1000 == pytest.approx(mm.allowed)
    assert found.largest * 1000 == pytest.approx(mm.largest, rel=1e-3)
    assert [(e.step, pytest.approx(e.worst, rel=0.01)) for e in mm.effects] == [
        (e.step, e.worst) for e in found.effects
    ]
    said = next(in_short(mm, recipe("kite.toml"), certify(recipe("kite.toml")).hands))
    assert said == next(in_short(found, metres, certify(metres).hands))
    assert " mm keep the cut within 1 mm" in said
    assert [*in_short(mm, recipe("kite.toml"), None)] == [*in_short(found, metres, None)]  # by the trials alone


@pytest.mark.parametrize("name", ["letter-t.toml", "fish.toml", "shutters.toml"])
def test_no_stretch_is_longer_than_the_outline_or_too_short_to_see(name: str) -> None:
    found = tolerance(recipe(name), samples=1)
    for effect in found.effects:
        assert effect.jump == max(effect.uncut, effect.beside)
        assert effect.jump == 0 or effect.jump >= 0.1
        assert effect.uncut <= found.outline


@pytest.mark.parametrize("far", [0, 10**6, 10**12])
def test_it_does_not_matter_where_the_sheet_lies(far: int) -> None:
    here, there = (recipe("kite.toml").keys() for _ in range(2))
    there["points"] = {name: [f"{x} + {far}", f"{y} - {far}"] for name, (x, y) in there["points"].items()}
    one, other = (tolerance(read_any(keys).as_recipe(), samples=5) for keys in (here, there))
    assert other.allowed == one.allowed
    assert (other.largest, other.first_order) == (pytest.approx(one.largest), pytest.approx(one.first_order))


@pytest.mark.parametrize("factor", ["* 1" + "0" * 200, "/ 1" + "0" * 400, "/ 1" + "0" * 20])
def test_a_sheet_that_floats_cannot_hold(factor: str) -> None:
    points = {
        "sw": [-100, -100],
        "se": [100, -100],
        "ne": [100, 100],
        "nw": [-100, 100],
        "a": [40, -100],
        "b": [40, 100],
    }
    scaled = {name: [f"({x}) {factor}", f"({y}) {factor}"] for name, (x, y) in points.items()}
    with pytest.raises(ValueError, match="too large or too small for floats"):
        tolerance(sheet([LEFT], ["a", "b"], points=scaled), samples=1)


def test_a_recipe_that_is_carried_out_is_not_carried_out_again() -> None:
    kite = recipe("kite.toml")
    assert tolerance(carry_out(kite), samples=5) == tolerance(kite, samples=5)


def test_seeds_reproduce() -> None:
    one, again, other = (tolerance(recipe("kite.toml"), samples=8, seed=seed) for seed in (7, 7, 8))
    assert one == again
    assert one.largest != other.largest
    assert (one.effects, one.first_order) == (other.effects, other.first_order)


def test_the_most_important_fold_comes_first() -> None:
    for name in ("house.toml", "letter-t.toml"):
        found = tolerance(recipe(name), samples=1)
        worst = [float(f"{e.worst:.3g}") for e in found.effects]  # as printed
        assert worst == sorted(worst, reverse=True)
        assert sorted(e.step for e in found.effects) == [
            k for k, s in enumerate(recipe(name).steps, start=1) if isinstance(s, FoldStep)
        ]
        assert found.first_order <= sum(e.worst for e in found.effects) * found.error * 1.001


BESIDE = ((4, 7.0), (1, 7.0), (3, 8.0), (2, 7.0))  # a step, and how many mm it lets the scissors cut


def test_a_fold_on_the_cut_is_noted_as_a_jump() -> None:
    """Two of the letter's folds lie on the cut: with the smallest error both sides of its stem go on from its upper
    side to the sheet's edge, 35 mm each.
    """
    found = tolerance(recipe("letter-t.toml"), samples=1)
    jumps = {e.step: e.jump for e in found.effects}
    assert any("70 mm beside the outline may be cut" in line for line in beside_lines(found, recipe("letter-t.toml")))
    found_jumps = [jump for jump in jumps.values() if jump]
    assert found_jumps
    alike = replace(found, effects=tuple(FoldEffect(step, 1.0, beside, beside=beside) for step, beside in BESIDE))
    notes = [*beside_lines(alike, recipe("letter-t.toml"))]
    assert [line.partition("in ")[2].partition(" mm")[0] for line in notes] == ["steps 1, 2 or 4, 7", "step 3, 8"]
    assert all(jump == pytest.approx(70, rel=0.01) for jump in found_jumps)
    assert all(e.worst < 10 for e in found.effects)


def test_a_cut_along_a_folded_edge_alone_is_no_jump() -> None:
    """With the smallest error it is cut twice over, a hair apart: no scissors tell."""
    found = tolerance(sheet([LEFT], ["d", "e"]), samples=1)
    assert found.effects[0].jump == 0


def test_lines_that_meet_far_off_the_paper() -> None:
    """A 0 on a strip, folded in quarters. In the last step a line is laid on one that is parallel but for a hair: the
    fold line comes from where they meet, a million sheets away.
    """
    found = tolerance(
        read_any({
            "format": "creaseproof-recipe/1",
            "points": {
                "sw": [0, 0], "se": [34, 0], "ne": [34, 43], "nw": [0, 43],
                "a1": [31, 0], "a2": [31, 43], "a3": [3, 43], "a4": [3, 0],
                "b1": [13, 34], "b2": [21, 34], "b3": [21, 9], "b4": [13, 9],
                "2a": [17, 34], "2b": [13, "43/2"], "3a": [3, "43/2"],
            },
            "sheet": {"outline": ["sw", "se", "ne", "nw"]},
            "target": {"loops": [["a1", "a2", "a3", "a4"], ["b1", "b2", "b3", "b4"]]},
            "steps": [
                {"fold": {"line": ["nw", "sw"], "onto": ["ne", "se"]}, "moves": "nw", "direction": "behind"},
                {"fold": {"point": "nw", "onto": "sw"}, "moves": "nw"},
                {"fold": {"line": ["b1", "2a"], "onto": ["b1", "2b"]}, "moves": "2a"},
                {"fold": {"line": ["2b", "b1"], "onto": ["3a", "a3"]}, "moves": "2b"},
            ],
        }),  # type: ignore[arg-type]
        samples=0,
    )  # fmt: skip
    assert 0 < found.first_order < 100


def test_folds_so_wrong_that_nothing_is_cut() -> None:
    found = tolerance(sheet([LEFT], ["a", "b"]), error=400.0, samples=30)
    assert found.largest > 10
    assert sum(n for _, n in found.failures) == found.failed <= 30


def test_defaults_are_millimetres_in_every_unit() -> None:
    mm = tolerance(sheet([LEFT], ["a", "b"]), samples=2)
    assert (mm.error, mm.width, mm.samples) == (0.5, 1.0, 2)
    cm = tolerance(sheet([LEFT], ["a", "b"], unit="cm"), samples=2)
    assert (cm.error, cm.width) == (0.05, 0.1)
    inch = tolerance(sheet([LEFT], ["a", "b"], unit="in"), samples=2)
    assert inch.error == pytest.approx(0.5 / 25.4)
    assert SAMPLES == 40
    for unit, found in (("mm", mm), ("cm", cm), ("in", inch)):
        assert "by up to 0.5 mm at its ends" in next(sample_lines(found, unit))


def test_progress_is_told() -> None:
    told: list[str] = []
    tolerance(sheet([LEFT], ["a", "b"]), samples=3, progress=told.append)
    assert told[:4] == ["bending step 1", "sample 1 of 3", "sample 2 of 3", "sample 3 of 3"]
    assert told[4:]
    assert all(line.startswith("trying ") for line in told[4:])


@pytest.mark.parametrize(
    "bad",
    [
        sheet([LEFT], ["a", "b"], cut={}),  # no line to cut along
        sheet([LEFT, LEFT], ["a", "b"]),  # a step that cannot be done
    ],
)
def test_nothing_to_estimate(bad: Recipe) -> None:
    with pytest.raises(ValueError, match="nothing is cut"):
        tolerance(bad)


def test_a_cut_along_the_edge_of_the_sheet_cuts_nothing() -> None:
    with pytest.raises(ValueError, match="nothing is cut"):
        tolerance(sheet([{"turn": "over"}], ["sw", "se"]), samples=1)


def test_several_snips_are_estimated_along_the_first() -> None:
    """A straight cut along one of the two goes right across both halves of the sheet, 150 mm wide: by hand."""
    assert tolerance(recipe("window-two-folds.toml"), samples=2).outline == pytest.approx(2 * 150)


@given(st.integers(1, 100), st.floats(0.01, 2), st.floats(20, 400))
def test_the_height_of_a_stack(layers: int, thickness: float, grammage: float) -> None:
    """0.1 mm a sheet of 80 g/m²: typical of office paper, no standard (ISO 536 and 534 say how they are measured)."""
    assert stack_thickness(layers) == pytest.approx(layers / 10)
    assert stack_thickness(layers, thickness=thickness) == pytest.approx(layers * thickness)
    assert stack_thickness(layers, grammage=grammage) == pytest.approx(layers * grammage / 800)
    assert stack_thickness(layers, thickness=thickness, grammage=grammage) == pytest.approx(layers * thickness)
