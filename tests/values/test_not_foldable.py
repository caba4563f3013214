"""Patterns that are fine at every vertex and still do not fold [derived, recomputed by brute force]."""

from __future__ import annotations

from collections.abc import Callable
from itertools import product
from typing import Any

import pytest

import verify
from tests.profiles import some
from verify.folding.crossing import crossing_conditions
from verify.folding.foldmap import fold_map
from verify.folding.order import LayerOrder, NoOrder, find_order
from verify.folding.overlaps import Overlaps
from verify.folding.vertex import vertex_reports
from verify.pattern.arrangement import subdivide
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.pattern.families import stamps, strip
from verify.pattern.subdivision import Subdivision

Build = Callable[..., Document]

RING = {
    ("p02", "p12"): "V",
    ("p10", "p11"): "V",
    ("p21", "p31"): "V",
    ("p22", "p23"): "V",
}


def test_a_strip_whose_tails_trap_each_other() -> None:
    # A: strip [0, 7] × [0, 1], creases x = 3 and x = 4
    for word, orders in (("VV", 0), ("MM", 0), ("MV", 1), ("VM", 1)):
        counted = verify.count(strip([3, 1, 3], word))
        assert (counted.at_vertices, counted.folding, counted.orders) == (1, orders, orders)
    result = verify.certify(strip([3, 1, 3], "VV"))
    assert result.verdict == "refuted"
    assert result.certificate is not None
    assert result.certificate["refutation"]["kind"] == "order"
    assert [f.kind for f in result.failures] == ["no-layer-order"]
    assert verify.audit(result.document, result.certificate).accepted


def ring(other: str = "M") -> Document:
    letters = {}
    for a, b in ((c.start, c.end) for c in stamps(3, 3).creases):
        letters[a, b] = RING.get((a, b), other)
    return stamps(3, 3, letters)


def test_four_cells_in_a_cycle() -> None:
    # B: 3×3 map, valley on four unit creases, mountain on the other eight
    document = ring()
    kinds = [c.kind for c in document.creases]
    assert (kinds.count("valley"), kinds.count("mountain")) == (4, 8)
    assert all(r.folds_here for r in vertex_reports(subdivide(draw(document))))
    counted = verify.count(document)
    assert (counted.at_vertices, counted.folding, counted.orders) == (1, 0, 0)
    result = verify.certify(document)
    assert result.verdict == "refuted"
    assert result.certificate is not None
    assert result.certificate["refutation"]["kind"] == "order"
    assert any(
        "faces" in reason for reason in result.certificate["refutation"]["reasons"]
    )  # a circle, not only crossings


def test_four_of_256_assignments_of_the_map_do_not_fold() -> None:
    # 252 of 256: the four are B, its mirror images and their swaps of mountain and valley
    document = stamps(3, 3)
    free = [(c.start, c.end) for c in document.creases]
    failing = 0
    tried = 0
    for letters in product("MV", repeat=len(free)):
        given = dict(zip(free, letters, strict=True))
        if not fits_at_vertices(given):
            continue
        tried += 1
        assigned = stamps(3, 3, given)
        folds = isinstance(order_of(subdivide(draw(assigned))), LayerOrder)
        failing += not folds
        if not folds or tried % 16 == 0:
            assert verify.certify(assigned).verdict == ("certified" if folds else "refuted")
    assert (tried, failing) == (256, 4)


def fits_at_vertices(given: dict[tuple[str, str], str]) -> bool:
    """Maekawa at the four inner corners: there, with four right angles, it is all that is needed."""
    for x, y in product((1, 2), repeat=2):
        around = [
            (f"p{x - 1}{y}", f"p{x}{y}"),
            (f"p{x}{y}", f"p{x + 1}{y}"),
            (f"p{x}{y - 1}", f"p{x}{y}"),
            (f"p{x}{y}", f"p{x}{y + 1}"),
        ]
        if [given[e] for e in around].count("M") not in (1, 3):
            return False
    return True


CORNERS = [(0, 0), (4, 0), (2, 3)]
TWISTED = [
    ((0, 0), (4, 0)),
    ((4, 0), (2, 3)),
    ((2, 3), (0, 0)),
    ((0, 0), (0, -20)),
    ((0, 0), (-20, "40/3")),
    ((4, 0), (4, -20)),
    ((4, 0), (20, "32/3")),
    ((2, 3), (20, 15)),
    ((2, 3), (-20, "53/3")),
]


def twisted(pattern: Build, box: Any, kinds: list[str]) -> Document:
    return pattern(box(-20, 20, -20, 20), [(a, b, kind) for (a, b), kind in zip(TWISTED, kinds, strict=True)])


def test_none_of_512_assignments_of_the_twisted_triangle_folds(pattern: Build, box: Any) -> None:
    # C: Kawasaki holds at each vertex, and none of the 512 assignments folds
    open_ = twisted(pattern, box, ["either"] * 9)
    reports = [r for r in vertex_reports(subdivide(draw(open_))) if not r.on_border]
    assert len(reports) == 3
    assert all(r.kawasaki for r in reports)
    counted = verify.count(open_)
    assert (counted.folding, counted.orders) == (0, 0)
    # Each corner's angle is the strictly smallest there, so its two sides differ: impossible round three sides.
    assert counted.at_vertices == 0
    assert [r.assignments for r in reports] == [4, 4, 4]
    result = verify.certify(open_)
    assert result.verdict == "refuted"
    assert result.certificate is not None
    assert result.certificate["refutation"]["kind"] == "order"


def order_of(subdivision: Subdivision) -> LayerOrder | NoOrder:
    return find_order(crossing_conditions(Overlaps(fold_map(subdivision))))


@pytest.mark.parametrize("first", ["mountain", pytest.param("valley", marks=pytest.mark.long)])
def test_some_of_the_512_by_themselves(pattern: Build, box: Any, first: str) -> None:
    """Those with a mountain first; the others are the same papers seen from below."""
    tried = 0
    fine_at_vertices = 0
    each = some(list(product(("mountain", "valley"), repeat=8)))
    for kinds in each:
        subdivision = subdivide(draw(twisted(pattern, box, [first, *kinds])))
        assert isinstance(order_of(subdivision), NoOrder), kinds
        tried += 1
        fine_at_vertices += all(r.folds_here for r in vertex_reports(subdivision))
    assert tried == len(each) >= 50
    assert fine_at_vertices == 0


def test_some_of_the_512_are_refuted_by_the_kernel(pattern: Build, box: Any) -> None:
    kinds_seen = set()
    for number in range(0, 512, 16):
        kinds = ["mountain" if number * 7 >> i & 1 else "valley" for i in range(9)]
        result = verify.certify(twisted(pattern, box, kinds))
        assert result.verdict == "refuted"
        assert result.certificate is not None
        kinds_seen.add(result.certificate["refutation"]["kind"])
    assert kinds_seen == {"maekawa", "order"}
