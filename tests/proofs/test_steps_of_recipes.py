"""What hands fold, the search finds again: the crease pattern of each recipe of the corpus has simple folds, since the
recipe is some.

A recipe's own folds are simple folds of some layers; those that it opens again leave no crease. So no answer but
"found" is right, and a sequence need not be longer than the recipe.
"""

from __future__ import annotations

from pathlib import Path

import pytest

import verify
from tests.places import PROOFS
from verify.cutting.outcome import pattern_of
from verify.pattern.recipe import FoldStep, Recipe

RECIPES = PROOFS / "recipes"
CARDS = sorted((RECIPES / "alphabet").glob("*.toml"))
ALL = sorted(p for p in RECIPES.iterdir() if p.suffix == ".toml") + CARDS
FEW = [
    p for p in ALL if p.stem in ("blintz-lid", "fish", "letter-t", "shutters", "star-exact", "waves-behind", "W", "8")
]


def found_again(path: Path) -> None:
    recipe = verify.load(path)
    assert isinstance(recipe, Recipe)
    folded = verify.certify(recipe).fold_map
    assert folded is not None
    found = verify.steps(pattern_of(folded))
    assert (found.verdict, found.shown) == ("certified", "found")
    assert 0 < found.folds <= sum(isinstance(step, FoldStep) for step in recipe.steps)


@pytest.mark.parametrize("path", FEW, ids=[p.stem for p in FEW])
def test_recipes_are_found_again(path: Path) -> None:
    found_again(path)


@pytest.mark.long
@pytest.mark.parametrize("path", [p for p in ALL if p not in FEW], ids=[p.stem for p in ALL if p not in FEW])
def test_all_recipes_are_found_again(path: Path) -> None:
    found_again(path)
