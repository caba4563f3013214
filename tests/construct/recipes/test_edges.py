"""Sheets that end at the figure, against shapely."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely.geometry import LineString, Polygon

import verify
from verify.construct.recipes.edges import at_edges
from verify.pattern.document import Document
from verify.pattern.drawing import draw

HOUSE = [(0, 0), (6, 0), (6, 4), (3, 7), (0, 4)]
KITE = [(3, 0), (6, 4), (3, 7), (0, 4)]
STEP = [(0, 0), (5, 0), (5, 3), (3, 3), (3, "3*sqrt(2)"), (0, "3*sqrt(2)")]


def on_sheet(loop: list[tuple[object, object]], sheet: list[tuple[object, object]]) -> Document:
    named = {f"s{k}": place for k, place in enumerate(sheet)} | {f"p{k}": place for k, place in enumerate(loop)}
    read = verify.read({
        "format": "creaseproof-pattern/1",
        "points": {name: [str(x), str(y)] for name, (x, y) in named.items()},
        "sheet": {"outline": [name for name in named if name[0] == "s"]},
        "target": {"loops": [[name for name in named if name[0] == "p"]]},
    })  # fmt: skip
    assert isinstance(read, Document)
    return read


BOX = [(-1, -2), (9, -2), (9, 8), (-1, 8)]


def polygon(document: Document, names: tuple[str, ...]) -> Polygon:
    places = draw(document).places
    return Polygon([(float(places[name].x), float(places[name].y)) for name in names])


@pytest.mark.parametrize(("loop", "sides"), [(HOUSE, 3), (STEP, 4)])
def test_the_sheet_ends_at_the_target_where_it_says(loop: list[tuple[object, object]], sides: int) -> None:
    """Each is a part of the sheet that was drawn and holds the figure; on the edges named, and no others, they share a
    line, or at least, where all four are named, a point.
    """
    document = on_sheet(loop, BOX)
    drawn, figure = polygon(document, document.outline), polygon(document, document.loops[0])
    every = list(at_edges(document))
    assert [len(edges) for _, edges in every] == sorted(len(edges) for _, edges in every)
    assert len(every) == len({edges for _, edges in every}) == 2**sides - 1 + (sides < 4)
    for smaller, edges in every:
        sheet = polygon(smaller, smaller.outline)
        assert drawn.covers(sheet)
        assert sheet.covers(figure)
        left, bottom, right, top = sheet.bounds
        lines = {
            "left": [(left, bottom), (left, top)],
            "right": [(right, bottom), (right, top)],
            "bottom": [(left, bottom), (right, bottom)],
            "top": [(left, top), (right, top)],
        }
        for edge, line in lines.items():
            assert figure.touches(LineString(line)) == (edge in edges)
        assert len(smaller.points) == len(set(smaller.points.values()))  # no place has two names


def test_there_is_none() -> None:
    """A figure without a side along its box; a sheet that is no upright rectangle, or ends there already; a target that
    may mean the paper beyond.
    """
    house = on_sheet(HOUSE, BOX)
    assert list(at_edges(house)) != []
    for document in (
        on_sheet(KITE, BOX),
        on_sheet(HOUSE, [(-1, -2), (9, -1), (9, 8), (-1, 8)]),
        on_sheet(HOUSE, [(3, -5), (11, 3), (3, 11), (-5, 3)]),
        on_sheet(STEP, [(0, 0), (5, 0), (5, "3*sqrt(2)"), (0, "3*sqrt(2)")]),
        replace(house, figure=("s0",), raw=None),
        replace(house, loops=(), paths=(("p0", "p1"),), raw=None),
    ):
        assert list(at_edges(document)) == []
