"""Fold and one straight cut: the examples with their counts."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

import verify
from tests.corpus import certified
from verify.cutting.cut import LAYERS_IN_PRACTICE, cut
from verify.folding.foldmap import fold_map
from verify.folding.overlaps import Overlaps
from verify.pattern.arrangement import subdivide
from verify.pattern.document import Document
from verify.pattern.drawing import draw

Build = Callable[..., Document]

# Every straight-line figure can be cut by one straight cut after flat folding: Demaine, Demaine, Lubiw 1998/1999
# [published], also in Demaine & O'Rourke 2007, ch. 17. The counts below [recomputed by brute force].


def triangle(pattern: Build, box: Any, ray: Any, kind: str = "either") -> Document:
    edge = (-3, 7, -3, 6)
    through = [(0, 0), (4, 0), (0, 3), (1, 0), (Fraction(8, 5), Fraction(9, 5)), (0, 1)]
    return pattern(
        box(*edge), [((1, 1), ray((1, 1), p, edge), kind) for p in through], loops=[[(0, 0), (4, 0), (0, 3)]]
    )


def square(pattern: Build, box: Any, ray: Any, rays: int) -> Document:
    edge = (-3, 3, -3, 3)
    through = [(1, 1), (-1, 1), (-1, -1), (1, -1), (1, 0), (0, 1), (-1, 0), (0, -1)][:rays]
    return pattern(
        box(*edge),
        [((0, 0), ray((0, 0), p, edge), "either") for p in through],
        loops=[[(1, 1), (-1, 1), (-1, -1), (1, -1)]],
    )


def rectangle(pattern: Build, box: Any, ray: Any) -> Document:
    edge = (-1, 9, -2, 8)
    left, right = (2, 2), (4, 2)
    lines = [(left, right)]
    for start, through in (
        (left, [(0, 0), (0, 4), (2, 9), (2, -9), (-9, 2)]),
        (right, [(6, 0), (6, 4), (4, 9), (4, -9), (99, 2)]),
    ):
        lines += [(start, ray(start, p, edge)) for p in through]
    return pattern(box(*edge), [(a, b, "either") for a, b in lines], loops=[[(0, 0), (6, 0), (6, 4), (0, 4)]])


CASES = {
    # name: (document, assignments, layer orders, layers that the cut meets)
    "triangle": (triangle, 18, 22, 6),
    "square, four rays": (lambda *tools: square(*tools, 4), 8, 8, 4),
    "square, eight rays": (lambda *tools: square(*tools, 8), 112, 336, 8),
    "rectangle": (rectangle, 36, 36, 10),
}


@pytest.mark.parametrize("name", CASES)
def test_counts_and_layers(name: str, pattern: Build, box: Any, ray: Any) -> None:
    make, assignments, orders, layers = CASES[name]
    document = make(pattern, box, ray)
    counted = verify.count(document)
    assert (counted.folding, counted.orders) == (assignments, orders)
    result = verify.certify(document)
    assert result.verdict == "certified"
    assert result.claims == ("folds-flat", "cut-exact")
    assert result.cutting is not None
    assert result.cutting.exact
    assert result.cutting.most_layers == layers
    outcome = verify.audit(document, result.certificate or {})
    assert outcome.accepted
    assert outcome.facts["layers"] == layers


def test_areas_of_the_pieces(pattern: Build, box: Any, ray: Any) -> None:
    for make, target, sheet in ((triangle, 6, 90), (rectangle, 24, 100)):
        result = verify.certify(make(pattern, box, ray))
        assert [(p.role, p.area) for p in result.parts] == [("sheet", sheet - target), ("target", target)]


def test_a_window_takes_three_two_or_one_snips(proofs: Path) -> None:
    # Common practice, no source: three snips after one fold in half, two after two folds, one after a third along the
    # diagonal.
    for name, snips, layers in (("one-fold", 3, 2), ("two-folds", 2, 4), ("three-folds", 1, 8)):
        result = certified(proofs / "certified" / f"window-{name}.toml")
        assert result.verdict == "certified"
        assert result.cutting is not None
        assert result.cutting.needed == result.document.snips == snips
        assert result.cutting.most_layers == layers
        roles = [p.role for p in result.parts]
        assert sorted(roles) == ["sheet", "target"]  # the sheet keeps a hole of the same shape


@pytest.mark.parametrize("allowed", [2, 3, 5])
def test_more_snips_than_needed_are_allowed(pattern: Build, box: Any, allowed: int) -> None:
    creases = [((0, -3), (0, 3), "valley")]
    outline = [(1, 1), (-1, 1), (-1, -1), (1, -1)]
    result = verify.certify(pattern(box(-3, 3, -3, 3), creases, loops=[outline], snips=allowed))
    assert result.cutting is not None
    assert result.cutting.needed == 3
    assert result.verdict == ("certified" if allowed >= 3 else "refuted")


def test_advice_begins_past_a_dozen_layers(proofs: Path) -> None:
    # Common practice, no source: about 12 layers are cut, and 16 is too thick.
    assert LAYERS_IN_PRACTICE == 12
    for name, thick in (("letter-t.toml", True), ("letter-l.toml", False), ("nested-frames.toml", False)):
        result = certified(proofs / "certified" / name)
        assert result.cutting is not None
        assert (result.cutting.most_layers > 12) == thick
        assert any(f.kind in ("thick", "too-thick") for f in result.findings) == thick
        assert result.verdict == "certified"  # advice is no refusal


def test_the_cut_through_the_public_parts(pattern: Build, box: Any, ray: Any) -> None:
    overlaps = Overlaps(fold_map(subdivide(draw(square(pattern, box, ray, 8)))))
    found = cut(overlaps, 1)
    assert (found.exact, found.missed, found.stray) == (True, (), ())
    # eight equal layers: every half side of the square lies on one segment
    assert [part.count for part in found.layers] == [8]
