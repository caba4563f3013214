"""Guide creases and recipes without a template."""

from __future__ import annotations

from fractions import Fraction
from itertools import islice

import pytest

import verify
from tests.construct.figures import solutions
from verify.construct.letterforms.forms import made
from verify.construct.letterforms.landmarks import Guide, closed, without_template
from verify.construct.recipes.picture import AllLayers
from verify.construct.recipes.start import start_of
from verify.folding.steps import carry_out
from verify.pattern.limits import Clock
from verify.pattern.recipe import FoldStep, UnfoldStep

UPRIGHT_HALF = Guide(True, Fraction(1, 2))


def test_guides_are_made_from_edges_and_creases() -> None:
    assert UPRIGHT_HALF.parents == (None, None)
    assert Guide(False, Fraction(1, 8)).parents == (None, Guide(False, Fraction(1, 4)))
    assert Guide(True, Fraction(5, 8)).parents == (UPRIGHT_HALF, Guide(True, Fraction(3, 4)))
    assert closed([Guide(True, Fraction(3, 8))]) == (
        UPRIGHT_HALF,
        Guide(True, Fraction(1, 4)),
        Guide(True, Fraction(3, 8)),
    )
    assert closed([]) == ()
    assert UPRIGHT_HALF.words() == "Crease in half, the left edge onto the right edge, and open again."
    assert (
        Guide(False, Fraction(1, 4)).words()
        == "Crease at 1/4 of the height: the bottom edge onto the crease at 1/2, and open again."
    )


def plain(cells: list[str], rows: list, columns: list):
    form = made("L", "square", {"cells": cells, "rows": rows, "columns": columns})
    start = start_of(form.document(80))
    search = AllLayers(start.picture, Clock(20, "test"))
    return without_template(start, list(islice(solutions(search, 3), 8)))


def test_an_l_from_a_square() -> None:
    """One fold along the diagonal; a quarter is found by halving."""
    found = plain(["#.", "##"], [6, 2], [2, 6])
    assert found is not None
    result = verify.certify(found.recipe)
    assert result.verdict == "certified"
    folds = [s for s in found.recipe.steps if isinstance(s, FoldStep)]
    assert len(folds) - len(found.guides) == 1
    assert sum(isinstance(s, UnfoldStep) for s in found.recipe.steps) == len(found.guides) <= 2
    # each guide lies where it says
    folded = carry_out(found.recipe)
    for number, guide in enumerate(found.guides):
        line = folded.done[2 * number].line
        assert line is not None
        assert {(p.y if not guide.upright else p.x) for p in line} == {80 * guide.share}


def test_thirds_have_no_landmark() -> None:
    assert plain(["#.", "##"], [2, 1], [1, 2]) is None


@pytest.mark.parametrize("share", [Fraction(k, 8) for k in range(1, 8)])
def test_every_guide_lies_half_way_between_its_parents(share: Fraction) -> None:
    low, high = Guide(True, share).parents
    assert (low.share if low else 0) + (high.share if high else 1) == 2 * share
