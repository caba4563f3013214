"""Simple polygons with paper all round: whether all-layers folds free them at all.

From outside: every convex polygon with a line of symmetry can be freed (Demaine, Demaine, Hawksley, Ito, Loh, Manber
and Stephens 2011, LNCS 7033). What is found by the search, which knows nothing of peeling, the kernel proves.
"""

from __future__ import annotations

import random
from collections.abc import Sequence

import pytest
from hypothesis import given, settings

import verify
from tests.construct.figures import Place, figure, solutions, symmetric_convex
from verify.construct.recipes.peeled import Peeled, peeled
from verify.construct.recipes.picture import AllLayers
from verify.construct.recipes.ruled_out import no_all_layers_recipe
from verify.construct.recipes.start import start_of
from verify.pattern.document import Document
from verify.pattern.limits import Clock

STAPLE = [(-16, 20), (-6, 20), (-6, 24), (6, 24), (6, 20), (16, 20), (16, 28), (-16, 28)]
MUSHROOM = [(-5, 0), (5, 0), (5, 20), (15, 20), (15, 30), (-15, 30), (-15, 20), (-5, 20)]
CROWN = [(-24, 0), (24, 0), (24, 32), (12, 16), (0, 32), (-12, 16), (-24, 32)]


@settings(max_examples=100, deadline=None)
@given(symmetric_convex())
def test_convex_polygons_with_a_line_of_symmetry_can_be_freed(document: Document) -> None:
    assert peeled(start_of(document)).frees


def test_convex_polygons_without_one_cannot() -> None:
    """Corners on a circle, at random: no line of symmetry."""
    rng = random.Random(1)
    quarter = [(25, 0), (24, 7), (20, 15), (15, 20), (7, 24)]
    half = quarter + [(-y, x) for x, y in quarter]
    circle = half + [(-x, -y) for x, y in half]
    asymmetric = 0
    for _ in range(30):
        start = start_of(figure([circle[i] for i in sorted(rng.sample(range(20), rng.randint(3, 7)))]))
        no_line = bool(no_all_layers_recipe(start))
        asymmetric += no_line
        assert peeled(start).frees is (not no_line)
    assert asymmetric > 15


@pytest.mark.parametrize("loop", [
    [(0, 0), (24, -18), (0, 32), (-24, -18)],
    [(0, 0), (20, 15), (40, 0), (40, 40), (20, 25), (0, 40)],
    [(0, 0), (20, 20), (10, 30), (0, 20), (-10, 30), (-20, 20)],
    [(0, 0), (20, 15), (40, 15), (60, 0), (60, 40), (40, 25), (20, 25), (0, 40)],
    [(0, 0), (20, -15), (20, 5), (0, 20), (-20, 5), (-20, -15)],
    [(0, 0), (10, 0), (10, 15), (20, 15), (20, 0), (30, 0), (30, 40), (20, 40), (20, 25), (10, 25), (10, 40), (0, 40)],
])  # fmt: skip
def test_what_the_search_frees_can_be_peeled(loop: Sequence[Place]) -> None:
    document = figure(loop)
    assert verify.recipe(document, all_layers=True, square=False).verdict == "certified"
    assert peeled(start_of(document)).frees


@pytest.mark.parametrize(("loop", "folds"), [(MUSHROOM, 8), (CROWN, 9)])
def test_what_can_be_peeled_is_freed_by_folds_of_a_larger_family(loop: Sequence[Place], folds: int) -> None:
    """Folds that lay line on line, or run square to one through an end or a corner, do not free them."""
    start = start_of(figure(loop))
    assert peeled(start).frees
    small, large = (AllLayers(start.picture, Clock(60, "x"), square=True, quarters=more) for more in (False, True))
    assert next(solutions(small, folds + 1), None) is None
    assert len(next(solutions(large, folds + 1))) == folds


def test_what_can_be_peeled_and_was_not_found_is_said() -> None:
    found = verify.recipe(figure(MUSHROOM), folds=7, all_layers=True)
    assert (found.verdict, found.shown) == ("undecided", "none")
    assert found.further() == [
        "all-layers folds do free it: more of them, or some that first fold blank paper out of the way"
    ]


@pytest.mark.long
def test_a_crown_is_certified() -> None:
    found = verify.recipe(figure(CROWN), folds=9, all_layers=True)
    assert (found.verdict, found.shown, found.folds) == ("certified", "shortest", 9)
    assert "quarters" in found.words()


def test_a_staple_cannot_be_freed() -> None:
    found = verify.recipe(figure(STAPLE), all_layers=True)
    assert (found.verdict, found.shown) == ("undecided", "none")
    assert "the outline can be folded in from its ends only to about p03 and p06" in found.reason
    search = AllLayers(start_of(figure(STAPLE)).picture, Clock(60, "x"), square=True, quarters=True)
    assert next(solutions(search, 5), None) is None


def test_other_proportions_of_a_staple_can() -> None:
    """The slot as deep as the legs are long, and these narrow."""
    assert peeled(start_of(figure([(-10, 0), (-5, 0), (-5, 30), (5, 30), (5, 0), (10, 0), (10, 35), (-10, 35)]))).frees


def _squares(rng: random.Random) -> list[Place] | None:
    """The outline of cells joined at random, on one side of x = 0, with their mirror images; None if it is not one
    loop.
    """
    wide, high = rng.choice([(2, 2), (2, 3), (3, 3)])
    cells = {(0, rng.randrange(high))}
    while len(cells) < rng.randint(2, wide * high - 1):
        x, y = rng.choice(sorted(cells))
        x, y = rng.choice([(x + 1, y), (x - 1, y), (x, y + 1), (x, y - 1)])
        if 0 <= x < wide and 0 <= y < high:
            cells.add((x, y))
    cells |= {(-1 - x, y) for x, y in cells}
    after: dict[tuple[int, int], tuple[int, int]] = {}
    for x, y in cells:
        sides = (((x, y), (x + 1, y)), ((x + 1, y), (x + 1, y + 1)), ((x + 1, y + 1), (x, y + 1)), ((x, y + 1), (x, y)))
        for (a, b), beyond in zip(sides, ((x, y - 1), (x + 1, y), (x, y + 1), (x - 1, y)), strict=True):
            if beyond not in cells:
                if a in after:
                    return None
                after[a] = b
    walk = [min(after)]
    while (end := after.pop(walk[-1])) != walk[0]:
        walk.append(end)
    xs, ys = ([sum(rng.choice((4, 6, 10)) for _ in range(k)) for k in range(4)] for _ in "xy")
    xs, ys = sorted(xs), sorted(ys)
    if after or len(set(xs)) < 4 or len(set(ys)) < 4:
        return None
    turns = zip([walk[-1], *walk[:-1]], walk, [*walk[1:], walk[0]], strict=True)
    corners = [b for a, b, c in turns if (b[0] - a[0]) * (c[1] - b[1]) != (b[1] - a[1]) * (c[0] - b[0])]
    return [(xs[abs(x)] * (1 if x > 0 else -1), ys[y]) for x, y in corners]


def test_against_all_folds_of_a_family() -> None:
    """Figures of squares: what is said to be impossible, no four folds of the largest family do; and what they do is
    not said to be impossible.
    """
    rng = random.Random(3)
    loops = [loop for _ in range(60) if (loop := _squares(rng)) is not None][:24]
    verdicts = set()
    for loop in loops:
        start = start_of(figure(loop))
        said = peeled(start)
        search = AllLayers(start.picture, Clock(60, "x"), square=True, quarters=True)
        if next(solutions(search, 4), None) is not None:
            assert said != Peeled(False), loop
            assert said.frees, loop
        verdicts.add(said.frees)
    assert {True, False} <= verdicts


def test_it_is_told_only_of_one_simple_polygon_with_paper_all_round() -> None:
    hole = figure([(0, 0), (30, 0), (30, 30), (0, 30)], [(10, 10), (10, 20), (20, 20), (20, 10)])
    flush = figure([(0, 0), (30, 0), (30, 30), (0, 30)], margin=0)
    two = figure([(0, 0), (30, 0), (30, 30), (0, 30)], [(50, 0), (60, 0), (60, 30), (50, 30)])
    assert [peeled(start_of(document)).frees for document in (hole, flush, two)] == [None] * 3
