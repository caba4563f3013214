"""What a set of creases would cost, in floats, against the exact count of the pattern that is made of it."""

from __future__ import annotations

from contextlib import suppress
from fractions import Fraction

import pytest

from tests.construct.test_creases import RECTANGLE, target
from verify.construct.costs import costs, least_folds
from verify.construct.creases import Construction, Endless
from verify.construct.figure import figure_of
from verify.construct.moves import reach, stages
from verify.construct.net import NotSnapped
from verify.construct.propose import document_of
from verify.cutting.hands import straight_creases
from verify.exact.plane import length
from verify.pattern.arrangement import subdivide
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.pattern.limits import LimitReached, Limits

ARROW = [(0, 4), (20, 4), (20, 0), (30, 6), (20, 12), (20, 8), (0, 8)]
FRAME = [(-4, -4), (34, -4), (34, 16), (-4, 16)]


@pytest.mark.parametrize(
    "drawn", [target(RECTANGLE), target(ARROW), target(ARROW, FRAME), target(paths=[[(0, 0), (9, 4)]])]
)
def test_the_count_in_floats_is_that_of_the_pattern(drawn: Document) -> None:
    """The pattern is cut into faces exactly, and its creases are counted there."""
    construction = Construction(figure_of(drawn))
    found = costs(construction)
    s = subdivide(draw(document_of(construction.creases(construction.fewest(), ""))))
    assert found.folds == sum(edge.is_fold for edge in s.edges)
    lines = straight_creases(s)
    assert found.creases == len(lines)
    lengths = [length(*(s.vertices[v] for v in line.ends)) for line in lines]
    assert found.shortest == pytest.approx(min(lengths), abs=1e-5)


KITE = [(0, 0), (7, 5), (0, 19), (-7, 5)]
BENT = [(0, 0), (20, 0), (40, "0.2"), (40, 30), (0, 30)]


@pytest.mark.parametrize(
    ("drawn", "corners"),
    [(target(KITE), 4), (target(ARROW), 7), (target(ARROW, FRAME), 11), (target(BENT), 4)],
)
def test_no_figure_near_a_drawing_has_fewer_folds_than_the_bound(drawn: Document, corners: int) -> None:
    """Each corner of a polygon sends an arc to either side (Aichholzer, Aurenhammer, Alberts, Gärtner 1995). A corner
    that may become straight does not count.
    """
    least = least_folds(drawn, reach(drawn, None, None))
    assert least == 2 * corners
    assert least_folds(drawn, Fraction(100)) == 0
    counted = []
    for trial in next(iter(stages(drawn, None, None, False))):
        with suppress(NotSnapped, LimitReached, Endless):
            moved = trial.find().document
            counted.append(costs(Construction(figure_of(moved, Limits()))).folds)
    assert counted
    assert all(folds >= least for folds in counted)
