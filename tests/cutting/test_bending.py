"""Recipes with folds that are off, in floats: against exact folding, which is another program."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.places import PROOFS
from verify.cutting.bending import Bending, FoldingFailed, Pieces, cut_outline
from verify.cutting.tolerance import away
from verify.exact.number import Number
from verify.folding.steps import carry_out
from verify.pattern.limits import Limits
from verify.pattern.recipe import Recipe, read_any

RECIPES = sorted(p for kind in ("toml", "json") for p in (PROOFS / "recipes").rglob(f"*.{kind}"))


def apart(one: Pieces, two: Pieces) -> float:
    """How far the ends of the pieces of one outline lie from the pieces of another at most, either way."""
    return float(max(away(a, b).max() for a, b in ((one, two), (two, one))))


@pytest.mark.parametrize("path", RECIPES, ids=lambda p: p.name)
def test_without_errors_the_outline_is_that_of_exact_folding(path: Path) -> None:
    folded = carry_out(path)
    exact = cut_outline(folded)
    if exact is None or not exact.segments():
        pytest.skip("nothing is cut")
    bending = Bending(folded, Limits())
    found = bending.cut({})
    assert not isinstance(found, FoldingFailed)
    assert len(found) == len(bending.pieces(exact))
    assert apart(found, bending.pieces(exact)) < 1e-6


OFF = st.integers(-3000, 3000).map(lambda n: Fraction(n, 1000))
SHEET = {"sw": (-100, -100), "se": (100, -100), "ne": (100, 100), "nw": (-100, 100)}
MARKS = {"a": (40, -100), "b": (40, 100), "top": (30, 100)}


def two_folds(places: Mapping[str, tuple[Fraction | int, Fraction | int]], **second: Any) -> Recipe:
    """The left half over the right one, along s–n, then along l–r on the right half; and a cut along a–b."""
    halve = {"fold": {"through": ["s", "n"]}, "moves": "sw"}
    return read_any(
        {
            "format": "creaseproof-recipe/1",
            "points": {name: [str(x), str(y)] for name, (x, y) in (SHEET | MARKS | dict(places)).items()},
            "sheet": {"outline": [*SHEET]},
            "steps": [halve, {"fold": {"through": ["l", "r"]}, "moves": "top"} | second],
            "cut": {"along": {"through": ["a", "b"]}},
        }
    ).as_recipe()


@given(
    first=st.tuples(OFF, OFF),
    second=st.tuples(OFF, OFF),
    layers=st.sampled_from(["all", "flap", 1, 2, 3]),
    direction=st.sampled_from(["over", "behind"]),
)
def test_errors_are_as_if_the_lines_were_drawn_elsewhere(
    first: tuple[Fraction, Fraction], second: tuple[Fraction, Fraction], layers: str | int, direction: str
) -> None:
    """Two folds that are off at the ends of the paper: exact folding along lines through the places where they then
    are.
    """
    true = two_folds({"s": (0, -100), "n": (0, 100), "l": (10, 20), "r": (95, 20)}, layers=layers, direction=direction)
    bending = Bending(carry_out(true), Limits())
    found = bending.cut({1: _floats(first), 2: _floats(second)})
    halved = {"s": (-first[0], -100), "n": (-first[1], 100)}
    crosswise = carry_out(two_folds(halved | {"l": (10, 20), "r": (95, 20)})).paper.states[1].images
    low, high = (_fraction(end(p.x for p in crosswise)) for end in (min, max))

    def height(x: int) -> Fraction:
        return 20 + second[0] + (second[1] - second[0]) * (x - low) / (high - low)

    off = halved | {"l": (10, height(10)), "r": (95, height(95))}
    exact = carry_out(two_folds(off, layers=layers, direction=direction))
    if exact.refused is not None:
        assert found == FoldingFailed(exact.refused.step, exact.refused.kind)
        return
    cut = cut_outline(exact)
    assert cut is not None
    assert not isinstance(found, FoldingFailed)
    assert apart(found, bending.pieces(cut)) < 1e-6


def _floats(pair: tuple[Fraction, Fraction]) -> tuple[float, float]:
    return float(pair[0]), float(pair[1])


def _fraction(x: Number) -> Fraction:
    return x.as_fraction()
