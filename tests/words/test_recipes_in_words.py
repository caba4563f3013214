"""What is said of a recipe's steps: what marks are on the sheet, and on how many lines the outline lies."""

from __future__ import annotations

import pytest

import verify
from tests.places import PROOFS
from verify.cutting.lines_left import lines_left
from verify.pattern.recipe import FoldStep, MarkStep, Recipe
from verify.words.step_words import new_marks, step_words

RECIPES = PROOFS / "recipes"
ALL = sorted(p.name for p in RECIPES.iterdir() if p.suffix in (".toml", ".json"))


def carried(name: str) -> verify.Folded:
    recipe = verify.load(RECIPES / name)
    assert isinstance(recipe, Recipe)
    return verify.fold(recipe)


def test_edges_corners_and_creases() -> None:
    folded = carried("star-exact.toml")
    words = [step_words(folded, n) for n in (1, 4, 11, 17)]
    assert words[0].endswith(
        "so that corner sw lies on corner se; n is where the crease ends on edge ne–nw; "
        "s is where the crease ends on edge sw–se"
    )
    assert words[1].endswith("so that edge se–ne lies along the folded edge of step 1 (s–n)")
    assert words[2].endswith("square to the folded edge of step 1 (s–n), through golden (on the folded edge of step 1)")
    assert words[3].endswith("along the folded edge of step 1 (middle–n)")


def test_sides_of_the_target() -> None:
    assert step_words(carried("house.toml"), 2).endswith(
        "so that side eave-right–corner-right lies along side eave-right–ridge"
    )


@pytest.mark.parametrize("name", ["alphabet/G.toml", "alphabet/5.toml", "alphabet/square/A.toml", "star-exact.toml"])
def test_no_mark_is_spoken_of_before_it_was_introduced(name: str) -> None:
    """Corners are on the sheet from the start; every other mark of an alignment is made by a step, or introduced."""
    folded = carried(name)
    known = {*folded.recipe.base.outline, *(n for line in folded.recipe.base.target_lines() for n in line)}
    for number, step in enumerate(folded.recipe.steps, start=1):
        if isinstance(step, FoldStep):
            assert {*step.alignment.marks, step.moves} <= known, step_words(folded, number)
        known |= new_marks(folded, number).keys()
        if isinstance(step, MarkStep):
            known.add(step.name)


@pytest.mark.parametrize("name", ALL)
def test_a_fold_at_most_halves_the_lines_and_one_is_left(name: str) -> None:
    folded = carried(name)
    lines = lines_left(folded)
    if not folded.recipe.has_target:
        assert lines == []
        return
    assert lines[-1] == 1 or folded.recipe.base.snips != 1
    for before, after, done in zip(lines, lines[1:], folded.done, strict=False):
        if isinstance(done.step, FoldStep):
            assert 2 * after >= before


def test_fold_says_it() -> None:
    result = verify.certify(RECIPES / "house.toml")
    steps = [f for f in result.findings if f.check == "step" and "lines" in f.value]
    assert [f.value["lines"] for f in steps] == [3, 2, 1]
    assert steps[0].message.endswith("[the outline lies on 3 lines]")


def test_four_folds_in_five_of_the_alphabet_are_alignments() -> None:
    """Edge, side or crease onto another, or corner onto corner; the others go through places or square to a line."""
    kinds = []
    for path in sorted((RECIPES / "alphabet").glob("*.toml")):
        recipe = verify.load(path)
        assert isinstance(recipe, Recipe)
        kinds += [s.alignment.kind for s in recipe.steps if isinstance(s, FoldStep)]
    aligned = sum(kind in ("line-onto-line", "point-onto-point") for kind in kinds)
    assert len(kinds) > 80
    assert aligned >= 0.8 * len(kinds)


def test_a_line_is_named_by_what_lies_on_it_also_where_the_fold_crosses_it() -> None:
    """A fold that lays a side along the line of another one is told so, even if the two do not reach each other, and
    never through the ends of creases.
    """
    letter = verify.load(RECIPES / "alphabet" / "1.toml")
    assert isinstance(letter, Recipe)
    found = verify.recipe(letter.base, all_layers=True, square=False)
    assert found.recipe is not None
    kinds = {s.alignment.kind for s in found.recipe.steps if isinstance(s, FoldStep)}
    assert kinds <= {"line-onto-line", "point-onto-point"}
