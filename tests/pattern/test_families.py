"""The generators of pattern families."""

from __future__ import annotations

from fractions import Fraction

import pytest

from tests.families import miura, twists, vertex
from verify.pattern.arrangement import subdivide
from verify.pattern.drawing import draw
from verify.pattern.families import kinds, stamps, strip
from verify.tasks.certify import certify


@pytest.mark.parametrize("n", [1, 2, 7])
def test_strip(n: int) -> None:
    s = subdivide(draw(strip([Fraction(1, k + 1) for k in range(n)])))
    assert len(s.faces) == n
    assert sum(e.is_fold for e in s.edges) == n - 1


@pytest.mark.parametrize(("columns", "rows"), [(1, 1), (3, 2), (12, 2)])
def test_grids(columns: int, rows: int) -> None:
    folds = columns * (rows - 1) + rows * (columns - 1)
    for document in (stamps(columns, rows), miura(columns, rows), miura(columns, rows, assigned=False)):
        s = subdivide(draw(document))
        assert len(s.faces) == columns * rows
        assert sum(e.is_fold for e in s.edges) == folds == len(document.creases)


@pytest.mark.parametrize(("columns", "rows"), [(1, 1), (3, 2), (2, 3)])
def test_twists(columns: int, rows: int) -> None:
    """Each a square, with a pleat to each side; mirrored neighbours share pleats, and everything folds."""
    result = certify(twists(columns, rows))
    assert result.verdict == "certified"
    assert result.subdivision is not None
    assert len(result.subdivision.faces) == (2 * columns + 1) * (2 * rows + 1)
    crossed = columns * (rows - 1) + rows * (columns - 1)
    folds = sum(e.is_fold for e in result.subdivision.edges)
    assert folds == 12 * columns * rows - 2 * crossed


def test_letters() -> None:
    assert kinds("MVEF") == ["mountain", "valley", "either", "flat"]
    with pytest.raises(KeyError):
        kinds("X")
    assert [c.kind for c in stamps(2, 2, {("p01", "p11"): "M", ("p11", "p12"): "V"}).creases] == [
        "mountain",
        "either",
        "either",
        "valley",
    ]
    assert [c.kind for c in vertex([(1, 0), (0, 1), (-1, -1)], "MVF", 3).creases] == ["mountain", "valley", "flat"]
