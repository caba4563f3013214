"""Patterns for sheets that end at the figure: the kernel has the last word, and shapely says where the sheet ends."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from shapely.geometry import Polygon

from tests.cli.command import run
from tests.construct.creases.test_creases import target
from tests.construct.figures import Place, figure
from verify import audit, load
from verify.construct.skeleton.figure import figures_of
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.pattern.limits import Limits
from verify.pattern.write import write
from verify.tasks.construct import construct

HOUSE: list[Place] = [(0, 0), (6, 0), (6, 4), (3, 7), (0, 4)]
CROWN: list[Place] = [(0, 30), (10, 15), (25, 35), (30, 0), (-30, 0), (-25, 35), (-10, 15)]
KITE: list[Place] = [(3, 0), (6, 4), (3, 7), (0, 4)]
LIMITS = Limits(seconds=120)


def polygon(document: Document, names: tuple[str, ...]) -> Polygon:
    places = draw(document).places
    return Polygon([(float(places[name].x), float(places[name].y)) for name in names])


@pytest.mark.parametrize("corners", [HOUSE, CROWN])
def test_it_needs_fewer_folds(corners: list[Place]) -> None:
    """The sheet is a part of the one that was drawn, the figure is the same, and they share a line or a point on just
    the edges that are named.
    """
    document = figure(corners)
    whole, less = construct(document, limits=LIMITS), construct(document, edges="fewer", limits=LIMITS)
    for made in (whole, less):
        assert made.pattern is not None
        assert made.result is not None
        assert audit(made.pattern, made.result.certificate).accepted
    assert whole.edges == ()
    assert whole.proposal is not None
    assert less.proposal is not None
    assert less.proposal.folds < whole.proposal.folds == less.unmoved
    assert less.pattern is not None
    drawn, sheet = polygon(document, document.outline), polygon(less.pattern, less.pattern.outline)
    outline = polygon(less.pattern, less.pattern.loops[0])
    assert outline.equals(polygon(document, document.loops[0]))
    assert drawn.covers(sheet)
    assert sheet.covers(outline)
    ends = dict(zip(("left", "bottom", "right", "top"), zip(sheet.bounds, outline.bounds, strict=True), strict=True))
    assert {edge for edge, (outer, inner) in ends.items() if outer == inner} == set(less.edges)


def test_sides_on_the_edge_of_the_sheet_need_no_folds() -> None:
    """Of the house two slants are left to cut, mirror images: one fold lays one on the other. A straight line from edge
    to edge needs none.
    """
    made = construct(figure(HOUSE), edges="fewer", limits=LIMITS)
    assert made.proposal is not None
    assert made.proposal.folds == 1
    assert {"left", "bottom", "right"} <= set(made.edges)
    across = construct(target(paths=[[(0, 3), (10, 3)]], sheet=[(0, 0), (10, 0), (10, 10), (0, 10)]), limits=LIMITS)
    assert across.proposal is not None
    assert across.proposal.folds == 0
    for one in (made, across):
        assert one.pattern is not None
        assert one.result is not None
        assert audit(one.pattern, one.result.certificate).accepted


def test_a_figure_that_only_touches_the_edge_in_a_corner_is_one() -> None:
    """Nothing of it lies on the edge; of a house that stands on it one side does."""
    sheet = [(0, 0), (10, 0), (10, 7), (0, 7)]
    assert [len(one.lines) for one in figures_of(target(KITE, sheet=sheet))] == [4]
    house = [(x + 2, y) for x, y in HOUSE]
    assert [len(one.lines) for one in figures_of(target(house, sheet=sheet))] == [5, 4]


def test_the_sheet_stays_where_it_may_not_end() -> None:
    """Where no side of the figure lies along its box; and where there is a pattern, if others are only tried for want
    of one.
    """
    assert construct(figure(KITE), edges="fewer", limits=LIMITS).edges == ()
    assert construct(figure(HOUSE), edges="needed", limits=LIMITS).edges == ()


def test_an_interrupt_keeps_the_pattern_for_the_sheet_as_it_is() -> None:
    def progress(words: str) -> None:
        if words.startswith("sheet 1 of"):
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        construct(figure(HOUSE), edges="fewer", limits=LIMITS, progress=progress)
    made = construct(figure(HOUSE), edges="fewer", limits=LIMITS, progress=progress, best_on_interrupt=True)
    assert (made.verdict, made.stopped, made.edges) == ("certified", True, ())


def test_the_command_says_on_which_edges_it_ends(tmp_path: Path) -> None:
    drawn, pattern = tmp_path / "house.toml", tmp_path / "pattern.toml"
    write(figure(HOUSE), drawn)
    done = run("construct", drawn, "-o", pattern, "--edges")
    assert done.exit_code == 0, done.output
    assert "this pattern takes less paper: the sheet ends at the figure on the" in done.output
    assert " (for the drawing as it is, 18 fold edges were found)" in done.output
    assert "the sheet ends at the figure on the" in pattern.read_text(encoding="utf-8")
    keys = json.loads(run("construct", drawn, "-o", pattern, "--edges", "--force", "--json").output)
    assert keys["edges"]
    assert keys["sheets"] == 0
    assert polygon(load(pattern), load(pattern).outline).area < polygon(load(drawn), load(drawn).outline).area
