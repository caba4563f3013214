"""The order of layers in which a walk passes them: by hand, and of trees of corridors by the kernel, without search."""

from __future__ import annotations

import numpy as np
import pytest

import verify
from tests.construct.creases.test_corridors import star
from tests.construct.creases.test_creases import SQUARE, TRIANGLE, target
from verify.construct.creases.creases import Construction
from verify.construct.creases.propose import assigned, document_of
from verify.construct.creases.walk import walks
from verify.construct.skeleton.figure import figure_of
from verify.folding.crossing import crossing_conditions
from verify.folding.foldmap import fold_map
from verify.folding.order import NoOrder, Search, find_order
from verify.folding.overlaps import Overlaps
from verify.folding.pairs import Above
from verify.folding.stack import LayerOrder
from verify.pattern.arrangement import subdivide
from verify.pattern.document import Document
from verify.pattern.drawing import draw


def overlaps_of(document: Document) -> Overlaps:
    return Overlaps(fold_map(subdivide(draw(document))))


def no_search(search: Search) -> LayerOrder | NoOrder:
    raise AssertionError("a layer order is searched for")


@pytest.mark.parametrize(
    ("document", "every"),
    [
        (target(TRIANGLE, sheet=[(-9, -9), (12, -9), (12, 12), (-9, 12)]), 1),
        (target(SQUARE), 1),
        *((star(seed, 9), 5) for seed in range(4)),
    ],
)
def test_trees_of_corridors_lie_in_the_order_of_a_walk(
    document: Document, every: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As K3 and K4 of proofs/theory/corridors.md say, and the kernel accepts."""
    construction = Construction(figure_of(document))
    trees = [*construction.trees()][::every]
    assert trees
    for chosen in trees:
        drawn = document_of(construction.creases(chosen, ""))
        overlaps = overlaps_of(drawn)
        with monkeypatch.context() as patched:
            patched.setattr(Search, "run", no_search)
            found = find_order(crossing_conditions(overlaps), proposed=walks(overlaps))
        assert isinstance(found, LayerOrder)
        assert verify.certify(assigned(drawn, overlaps.subdivision, found)).verdict == "certified"


def test_what_is_proposed_and_false_is_not_taken() -> None:
    construction = Construction(figure_of(star(0, 9)))
    overlaps = overlaps_of(document_of(construction.creases(next(construction.trees()), "")))
    conditions = crossing_conditions(overlaps)
    holds = next(above for above in walks(overlaps) if Search(conditions, verify.Limits(), None).among([above]))
    wrong = Above(holds.pairs, holds.first_above ^ (np.arange(len(holds.pairs)) == 0))
    found = find_order(conditions, proposed=[wrong])
    assert isinstance(found, LayerOrder)
    assert (found.above.first_above != wrong.first_above).any()


def test_an_accordion_lies_as_it_runs() -> None:
    """A strip with folds square to it: its faces lie as they follow each other, by hand."""
    heights = {"e": 0, "a": 1, "p": 2, "b": 3, "q": 4, "c": 5, "f": 6}
    document = verify.read({
        "format": "creaseproof-pattern/1",
        "points": {name + side: [str(x), str(y)] for name, y in heights.items() for side, x in (("l", 0), ("r", 3))},
        "sheet": {"outline": ["el", "er", "fr", "fl"]},
        "target": {"paths": [["al", "ar"], ["bl", "br"], ["cl", "cr"]]},
        "creases": [["pl", "pr", "either"], ["ql", "qr", "either"]],
    })  # fmt: skip
    assert isinstance(document, Document)
    overlaps = overlaps_of(document)
    (above,) = walks(overlaps)
    middle = [sum(float(overlaps.subdivision.vertices[v].y) for v in face) for face in overlaps.subdivision.faces]
    upper, lower = above.rows()
    ways = {middle[f] > middle[g] for f, g in zip(upper.tolist(), lower.tolist(), strict=True)}
    assert len(upper)
    assert len(ways) == 1
