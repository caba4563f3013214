"""Sets of perpendiculars that fold as a tree of corridors: each has a layer order, found by the search that knows
nothing of corridors.
"""

from __future__ import annotations

import math
import random
from collections.abc import Hashable
from fractions import Fraction
from itertools import islice

import networkx as nx
import pytest
import shapely

import verify
from tests.construct.creases.test_creases import SQUARE, TRIANGLE, Places, target
from verify.construct.coordinates.regular import rational
from verify.construct.creases.corridors import Corridors
from verify.construct.creases.creases import Construction, Creases
from verify.construct.creases.propose import Proposal, document_of, proposals
from verify.construct.skeleton.figure import figure_of
from verify.folding.crossing import crossing_conditions
from verify.folding.foldmap import fold_map
from verify.folding.order import find_order
from verify.folding.overlaps import Overlaps
from verify.folding.stack import LayerOrder
from verify.pattern.arrangement import subdivide
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.tasks import construct_search as task
from verify.tasks.construct import construct


def star(seed: int, corners: int) -> Document:
    """A star-shaped polygon with corners at random."""
    rng = random.Random(seed)
    radii = [rng.uniform(4, 10) for _ in range(corners)]
    turns = [2 * math.pi * (k + rng.uniform(0.2, 0.8)) / corners for k in range(corners)]
    places = [(round(r * math.cos(a), 1), round(r * math.sin(a), 1)) for r, a in zip(radii, turns, strict=True)]
    return rational(target(places), Fraction(1, 20)).document


SHEET = [(0, 0), (80, 0), (80, 80), (0, 80)]


def triangles(seed: int) -> list[list[tuple[float, float]]]:
    """Two at random that cross."""
    rng = random.Random(seed)
    while True:
        pair = [[(round(rng.uniform(10, 70), 1), round(rng.uniform(10, 70), 1)) for _ in range(3)] for _ in range(2)]
        one, other = (shapely.Polygon(corners) for corners in pair)
        if one.boundary.crosses(other.boundary) and min(one.area, other.area) > 200:
            return pair


def folds(creases: Creases) -> bool:
    folded = fold_map(subdivide(draw(document_of(creases))))
    return folded.exists and isinstance(find_order(crossing_conditions(Overlaps(folded))), LayerOrder)


@pytest.mark.parametrize("seed", range(4))
def test_every_tree_of_corridors_folds(seed: int) -> None:
    construction = Construction(figure_of(star(seed, 9)))
    trees = [*construction.trees()]
    assert len(trees) > 5
    for chosen in trees[:: max(1, len(trees) // 5)]:
        assert folds(construction.creases(chosen, ""))


@pytest.mark.parametrize("seed", [2, 3, 6])
def test_corridors_and_hubs_are_a_tree_though_arcs_leave_the_sheet(seed: int) -> None:
    """A tree by networkx; that it is one is K1 of proofs/theory/corridors.md."""
    tracer = Construction(figure_of(star(seed, 10))).tracer
    corridors = Corridors(tracer, tracer.all())
    beside = [(f"hub {n}", c) for n, hub in enumerate(corridors.hubs) for pair in hub.values() for c in pair]
    assert nx.is_tree(nx.Graph(beside))


def test_a_triangle_is_three_corridors_round_the_perpendiculars_from_its_incentre() -> None:
    """Six rays from the incentre, of which three are perpendiculars: one of them is folded, whichever corridor is the
    root (Maekawa: an odd number of them; derived by hand for this page: the two others are open).
    """
    construction = Construction(figure_of(target(TRIANGLE, sheet=[(-9, -9), (12, -9), (12, 12), (-9, 12)])))
    trees = [*construction.trees()]
    at_incentre = {i for i, p in enumerate(construction.perpendiculars) if construction.skeleton.nodes[p.start].time}
    assert len(at_incentre) == 3
    assert {len(at_incentre & {*chosen}) for chosen in trees} == {1}
    assert all(folds(construction.creases(chosen, "")) for chosen in trees)


def test_four_corridors_round_the_middle_of_a_square() -> None:
    """The two perpendiculars that the root does not touch are folded: eight rays from the middle, six folds there."""
    construction = Construction(figure_of(target(SQUARE)))
    trees = [*construction.trees()]
    assert len(trees) == 4
    assert all(len(chosen) == 2 and folds(construction.creases(chosen, "")) for chosen in trees)


@pytest.mark.parametrize(
    "outlines",
    [
        ([(0, 0), (7, 0), (7, 4), (0, 4)], [(4, 3), (12, 3), (12, 10), (4, 10)]),
        ([(0, 0), (20, 0), (0, 15)], [(6, -4), (14, -4), (14, 6), (6, 6)]),
    ],
)
def test_where_no_tree_folds_a_perpendicular_that_runs_in_a_circle_is_folded(outlines: tuple[Places, Places]) -> None:
    """Two outlines that cross: the search finds no layer order for any tree, and the kernel accepts one for a set that
    differs from a tree by a perpendicular that comes back to its node.
    """
    document = target(*outlines)
    construction = Construction(figure_of(document))
    trees = [*construction.trees()]
    assert trees
    assert not any(folds(construction.creases(chosen, "")) for chosen in trees)
    found = next(one for one in islice(proposals(document), 5) if isinstance(one, Proposal))
    assert found.how.endswith("of corridors")
    assert verify.certify(found.document).verdict == "certified"


@pytest.mark.parametrize("seed", [1, 2])
def test_figures_of_one_shape_fold_alike(seed: int) -> None:
    """Two triangles moved in two ways: by the search for a layer order, which knows nothing of shapes."""
    drawn = target(*triangles(seed), sheet=SHEET)
    one, other = (Construction(figure_of(rational(drawn, most).document)) for most in (Fraction(1, 20), Fraction(1, 5)))
    assert one.figure.points != other.figure.points
    assert one.shape == other.shape
    sets = [*islice(one.trees(), 4), one.fewest()]
    verdicts = [[folds(construction.creases(chosen, "")) for chosen in sets] for construction in (one, other)]
    assert verdicts[0] == verdicts[1]


def test_where_a_perpendicular_runs_another_way_the_shape_is_another() -> None:
    shapes, steps = [], []
    for most in (Fraction(1, 5), Fraction(1)):
        one = Construction(figure_of(rational(target(*triangles(1), sheet=SHEET), most).document))
        shapes.append(one.shape)
        steps.append(sorted(len(p.places) for p in one.perpendiculars))
    assert steps[0] != steps[1]
    assert shapes[0] != shapes[1]


def test_of_figures_of_one_shape_that_fold_one_is_tried(monkeypatch: pytest.MonkeyPatch) -> None:
    tried: list[Hashable] = []
    search = task.Search.tried

    def noted(self: task.Search, one: task.Ready, share: float) -> list[task.Found]:
        found = search(self, one, share)
        tried.extend([one.construction.shape] * bool(found))
        return found

    monkeypatch.setattr(task.Search, "tried", noted)
    outlines = [(33, 125), (34, 63), (58, 56), (87, 71)], [(87, 54), (25, 57), (31, 25)]
    assert construct(target(*outlines, sheet=[(0, 0), (112, 0), (112, 150), (0, 150)])).verdict == "certified"
    assert tried
    assert len({*tried}) == len(tried)
