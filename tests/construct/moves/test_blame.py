"""What would help at the lines to blame: strokes by hand, of 10 and 9.5 mm."""

from __future__ import annotations

import pytest

from tests.construct.creases.test_creases import target
from verify.construct.moves.blame import facing_lines, helpful

# an L whose upright is 10 wide and whose foot is 9.5
ANGLE = target([(0, 0), (40, 0), (40, "9.5"), (10, "9.5"), (10, 50), (0, 50)])
NAMES = [(f"t0-{i}", f"t0-{i % 6 + 1}") for i in range(1, 7)]


def test_strokes_are_parallel_lines_that_face_each_other() -> None:
    found = {frozenset((s.one, s.other)): s.width for s in facing_lines(ANGLE, NAMES)}
    upright, foot = frozenset((NAMES[3], NAMES[5])), frozenset((NAMES[0], NAMES[2]))
    assert found[upright] == pytest.approx(10)
    assert found[foot] == pytest.approx(9.5)


def test_nearly_equal_strokes_are_named_with_their_widths() -> None:
    said = helpful(ANGLE, NAMES)
    assert "distances between" in said
    assert "(10 mm)" in said
    assert "(9.5 mm)" in said
    for name in ("t0-4–t0-5", "t0-6–t0-1", "t0-1–t0-2", "t0-3–t0-4"):
        assert name in said


def test_nothing_is_said_without_lines_or_where_strokes_are_equal() -> None:
    assert helpful(ANGLE, []) == ""
    square = target([(0, 0), (10, 0), (10, 10), (0, 10)])
    assert "equal distances between these lines" in helpful(
        square, [(f"t0-{i}", f"t0-{i % 4 + 1}") for i in range(1, 5)]
    )


def test_distances_that_are_equal_but_for_rounding_are_not_blamed() -> None:
    """10 and 10.002 mm."""
    alike = target([(0, 0), (40, 0), (40, "10.002"), (10, "10.002"), (10, 50), (0, 50)])
    assert "(" not in helpful(alike, NAMES)


def test_halves_that_are_nearly_mirror_images() -> None:
    """A roof whose ridge is 1 mm beside the middle of 40; one in the middle; one far from it."""
    said = [helpful(target([(0, 0), (40, 0), (ridge, 25)]), [("t0-1", "t0-2")]) for ridge in (21, 20, 30)]
    assert ["left and right halves are nearly mirror images" in one for one in said] == [True, False, False]
