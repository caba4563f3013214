"""The fold map: isometries that agree along the creases, or the place where none exists."""

from __future__ import annotations

from typing import Any

import pytest

import verify
from tests.families import miura, vertex
from tests.places import PROOFS
from verify.exact.plane import advance
from verify.folding.foldmap import Reflections, fold_map, walk_round_hole
from verify.pattern.arrangement import subdivide
from verify.pattern.drawing import draw
from verify.pattern.families import stamps, strip
from verify.pattern.recipe import load_any

CERTIFIED = sorted((PROOFS / "certified").glob("*.*"))
GENERATED = [strip([3, 1, 2, 5]), stamps(3, 3), miura(4, 3), vertex([("sqrt(2)", 0), (0, 1), (-1, 0), (0, -1)])]


@pytest.mark.parametrize(
    "document",
    [*map(load_any, CERTIFIED), *GENERATED],
    ids=[p.stem for p in CERTIFIED] + ["strip", "map", "miura", "vertex"],
)
def test_nothing_is_stretched_and_only_folds_are_bent(document: verify.Document) -> None:
    s = subdivide(draw(document))
    folded = fold_map(s)
    assert folded.exists
    assert folded.turned[0] is False
    assert [folded.images[v] for v in s.faces[0]] == [s.vertices[v] for v in s.faces[0]]
    pairs = 0
    for loop in s.faces:
        for i, u in enumerate(loop):
            for v in loop[i + 1 :]:
                assert advance(s.vertices[u], s.vertices[v], s.vertices[v]) == advance(
                    folded.images[u], folded.images[v], folded.images[v]
                )
                pairs += 1
    assert pairs >= 3 * len(s.faces)
    for e in s.edges:
        if e.kind != "border":
            assert (folded.turned[e.left] != folded.turned[e.right]) == e.is_fold


def test_an_annulus_that_closes_and_one_that_does_not(pattern: Any, box: Any) -> None:
    """Two folds from the hole to the outline: in one line they close, beside each other they do not."""
    hole = [(-1, -1), (1, -1), (1, 1), (-1, 1)]
    for height, closes in ((0, True), ("1/2", False), ("1e-30", False)):
        document = pattern(
            box(-3, 3, -3, 3), [((1, 0), (3, 0), "valley"), ((-1, height), (-3, height), "valley")], holes=[hole]
        )
        s = subdivide(draw(document))
        assert walk_round_hole(s, 0).closes(Reflections(s)) == closes
        assert fold_map(s).exists == closes
        result = verify.certify(document)
        assert result.verdict == ("certified" if closes else "refuted")
        kinds = {f.kind for f in result.findings if f.check == "hole"}
        assert kinds == {"hole-closes" if closes else "hole-does-not-close"}


def test_overlaps_refuse_a_map_that_does_not_exist() -> None:
    from verify.folding.overlaps import Overlaps

    folded = fold_map(subdivide(draw(vertex([(1, 0), (0, 1), (-1, 0), (1, -2)]))))
    assert not folded.exists
    with pytest.raises(ValueError, match="does not exist"):
        Overlaps(folded)
