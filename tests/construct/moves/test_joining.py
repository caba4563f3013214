"""Loose ends that were meant to meet, against shapely: rings, areas, and what the cut frees."""

from __future__ import annotations

from fractions import Fraction

import pytest
import shapely

from tests.construct.creases.test_creases import target
from verify.construct.moves.joining import joined_ends
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
    at = draw(joined).places
    (loop,) = joined.loops
    assert shapely.Polygon([tuple(map(float, at[n])) for n in loop]).equals(ring)
    assert joined.paths == ()
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


def _area(document: Document) -> tuple[float, int]:
    """Of all that the target's lines enclose, and in how many regions."""
    found = list(shapely.polygonize(shapely.get_parts(shapely.union_all(_lines(document)))).geoms)
    return sum(ring.area for ring in found), len(found)


def _checked(document: Document, said: str, area: float, regions: int) -> Document:
    joined = joined_ends(document, WITHIN)
    assert any(said in note for note in joined.notes), joined.notes
    assert _area(joined) == (pytest.approx(area, abs=2), regions)
    assert shapely.hausdorff_distance(shapely.union_all(_lines(document)), shapely.union_all(_lines(joined))) <= float(
        WITHIN
    )
    again = joined_ends(joined, WITHIN)
    assert again is joined
    return joined


def test_a_line_that_nearly_reaches_others_is_put_on_them() -> None:
    """A frame with a bar that ends a little before one side and goes a little over the other."""
    frame = [(0, 0), (20, 0), (20, 12), (0, 12)]
    bar = target(frame, paths=[[(8, "0.06"), (8, "12.04")]])
    joined = _checked(bar, "was put on the line", 240, 2)
    assert {joined.points[n] for n in joined.paths[0]} == {("8", "0"), ("8", "12")}


def test_a_line_that_nearly_reaches_the_edge_of_the_sheet_is_put_on_it() -> None:
    sheet = [(0, 0), (30, 0), (30, 20), (0, 20)]
    joined = joined_ends(target(paths=[[("0.05", 5), ("29.95", 5)]], sheet=sheet), WITHIN)
    assert [joined.points[n] for n in joined.paths[0]] == [("0", "5"), ("30", "5")]
    assert sum("was put on the sheet's edge" in note for note in joined.notes) == 2
    over = joined_ends(target(paths=[[("-0.05", 5), (30, "15.02")]], sheet=sheet), WITHIN)
    assert [over.points[n][0] for n in over.paths[0]] == ["0", "30"]
    assert construct(over).verdict == "certified"


def test_outlines_that_nearly_share_a_side_share_it() -> None:
    left, right = [(0, 0), (10, 0), (10, 12), (0, 12)], [("10.04", 0), (20, 0), (20, 12), ("10.04", "12.03")]
    joined = _checked(target(left, right), "were taken for one", 240, 2)
    assert construct(joined).verdict == "certified"


def test_an_outline_that_is_nearly_drawn_twice_is_taken_once() -> None:
    one, other = (
        [(0, 0), (20, 0), (20, 12), (0, 12)],
        [("0.03", "12.02"), ("20.03", "12.02"), ("20.03", 0), ("0.03", 0)],
    )
    joined = _checked(target(one, other), "drawn twice is taken once", 240, 1)
    assert len(joined.loops) == 1


def test_outlines_that_nearly_touch_in_a_point_do() -> None:
    joined = _checked(
        target([(0, 0), (10, 0), (5, 8)], [("10.05", "0.02"), (20, 0), (15, 8)]), "were taken for one", 80, 2
    )
    shapes = list(shapely.polygonize(_lines(joined)).geoms)
    assert shapes[0].touches(shapes[1])


def test_what_is_farther_apart_stays_open() -> None:
    for document in NEARLY.values():
        assert joined_ends(document, Fraction(0)) is document
    wide = target(paths=[[(0, 0), (8, 0), (8, 6), (0, 6), (0, "0.5")]])
    assert joined_ends(wide, WITHIN) is wide
    slit = target(paths=[[(0, 0), ("0.05", 0)]])
    assert joined_ends(slit, WITHIN) is slit


def test_lines_that_close_are_outlines() -> None:
    """As shapely says: a square of four lines, drawn in any order and direction, and a triangle of two lines inside it;
    what branches, crosses itself or stays open is left as it is.
    """
    square = [[(0, 0), (9, 0)], [(9, 9), (9, 0)], [(0, 9), (0, 0)], [(9, 9), (0, 9)]]
    inside = [[(2, 2), (6, 2), (2, 6)], [(2, 6), (2, 2)]]
    closed = joined_ends(target(paths=[*square, *inside]), Fraction(0))
    assert closed.paths == ()
    at = draw(closed).places
    areas = [shapely.Polygon([tuple(map(float, at[n])) for n in loop]).area for loop in closed.loops]
    assert areas == [81, 8]
    for left in ([*square, [(0, 0), (9, 9)]], square[:3], [[(0, 0), (9, 9), (9, 0)], [(9, 0), (0, 9), (0, 0)]]):
        assert joined_ends(target(paths=left), Fraction(0)).loops == ()
