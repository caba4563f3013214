"""Loose ends that were meant to meet, against shapely: rings, areas, and what the cut frees."""

from __future__ import annotations

from fractions import Fraction

import pytest
import shapely

from tests.construct.test_creases import target
from verify.construct.joining import joined_ends
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.tasks.construct import construct

WITHIN = Fraction(1, 10)
NEARLY: dict[str, Document] = {
    "one line that nearly comes back": target(paths=[[(0, 0), (8, 0), (8, 6), (0, 6), (0, "0.05")]]),
    "two lines that nearly meet twice": target(
        paths=[[(0, 0), (8, 0), (8, 6)], [("8.02", "6.01"), (0, 6), ("0.01", "-0.01")]]
    ),
    "three lines": target(paths=[[(0, 0), (8, 0)], [("8.05", 0), (8, 6), (0, 6)], [(0, "5.96"), ("0.04", "0.03")]]),
}


def _lines(document: Document) -> list[shapely.LineString]:
    at = draw(document).places
    return [shapely.LineString([tuple(map(float, at[n])) for n in pair]) for pair in document.target_lines()]


@pytest.mark.parametrize("name", NEARLY)
def test_nearly_closed_outlines_are_closed(name: str) -> None:
    """shapely polygonizes nothing before and one ring after, whose area is that drawn but for the gaps."""
    document = NEARLY[name]
    assert not list(shapely.polygonize(_lines(document)).geoms)
    joined = joined_ends(document, WITHIN)
    (ring,) = shapely.polygonize(_lines(joined)).geoms
    assert ring.area == pytest.approx(48, abs=14 * 0.1)
    assert shapely.get_num_geometries(shapely.line_merge(shapely.union_all(_lines(joined)))) == 1
    said = [note for note in joined.notes if "joined with" in note]
    assert said
    assert all("mm away" in note for note in said)


def test_the_cut_frees_the_closed_outline() -> None:
    joined = joined_ends(NEARLY["two lines that nearly meet twice"], WITHIN)
    made = construct(joined, tries=6)
    assert (made.verdict, made.pattern is not None) == ("certified", True)
    assert made.pattern is not None
    (ring,) = shapely.polygonize(_lines(made.pattern)).geoms
    drawn = shapely.Polygon([(0, 0), (8, 0), (8, 6), (0, 6)])
    assert ring.symmetric_difference(drawn).area < 28 * 0.2


def test_what_is_farther_apart_stays_open() -> None:
    for document in NEARLY.values():
        assert joined_ends(document, Fraction(0)) is document
    wide = target(paths=[[(0, 0), (8, 0), (8, 6), (0, 6), (0, "0.5")]])
    assert joined_ends(wide, WITHIN) is wide
    slit = target(paths=[[(0, 0), ("0.05", 0)]])
    assert joined_ends(slit, WITHIN) is slit
