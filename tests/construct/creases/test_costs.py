"""What a set of creases would cost, against the exact count of the pattern that is made of it."""

from __future__ import annotations

import pytest

from tests.construct.creases.test_creases import RECTANGLE, target
from tests.construct.ends.test_ended import MOST, star
from verify.construct.coordinates.regular import rational
from verify.construct.creases.costs import MANY_FOLDS, costs
from verify.construct.creases.creases import Construction
from verify.construct.creases.propose import document_of
from verify.construct.skeleton.figure import figure_of
from verify.cutting.hands import straight_creases
from verify.exact.plane import length
from verify.pattern.arrangement import subdivide
from verify.pattern.document import Document
from verify.pattern.drawing import draw

ARROW = [(0, 4), (20, 4), (20, 0), (30, 6), (20, 12), (20, 8), (0, 8)]
FRAME = [(-4, -4), (34, -4), (34, 16), (-4, 16)]


@pytest.mark.parametrize(
    "drawn", [target(RECTANGLE), target(ARROW), target(ARROW, FRAME), target(paths=[[(0, 0), (9, 4)]])]
)
def test_the_count_is_that_of_the_pattern(drawn: Document) -> None:
    """The pattern is cut into faces exactly, and its creases are counted there; one may have several pieces."""
    construction = Construction(figure_of(drawn))
    found = costs(construction)
    s = subdivide(draw(document_of(construction.creases(construction.fewest(), ""))))
    assert found.folds == sum(edge.is_fold for edge in s.edges)
    lines = straight_creases(s)
    assert len(lines) <= found.pieces <= found.folds
    lengths = [length(*(s.vertices[v] for v in line.ends)) for line in lines]
    assert 0 < found.shortest <= min(lengths) * (1 + 1e-9)


def test_many_folds_are_counted_for_a_tree() -> None:
    """As its pattern has when it is cut into faces exactly; the set with fewest folds is another."""
    construction = Construction(figure_of(rational(star(0, 20), MOST).document))
    tree = next(construction.trees())
    s = subdivide(draw(document_of(construction.creases(tree, ""))))
    assert costs(construction).folds == sum(edge.is_fold for edge in s.edges) > MANY_FOLDS
    assert tree != construction.fewest()
