"""Stages of a collapse: the kernel accepts the paper after each; groups are as small as they can be; what is known of
twists, maps and strips.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from pathlib import Path

import pytest

from tests.families import miura
from tests.places import PROOFS
from verify.construct.steps.collapse import Stages, stages_to
from verify.cutting.outcome import pattern_of
from verify.folding.foldmap import fold_map
from verify.pattern.document import Document
from verify.pattern.families import stamps, strip
from verify.pattern.recipe import load_any
from verify.pattern.subdivision import Subdivision
from verify.tasks.certify import certify

PATTERNS = [
    *(
        PROOFS / "certified" / f"{n}.toml"
        for n in ("fish", "letter-t", "panel-round-hole", "star", "window-three-folds")
    ),
    *(PROOFS / "alphabet" / f"{n}.toml" for n in "0PX"),
]


def stages(document: Document) -> Stages:
    order = certify(document).order
    assert order is not None
    return stages_to(order)


def found_of(name: str) -> Stages:
    return stages(load_any(PROOFS / name))


def closes(s: Subdivision, folded: set[int]) -> bool:
    """Whether the fold map exists with just these edges folded."""
    edges = tuple(replace(e, kind="flat") if e.is_fold and i not in folded else e for i, e in enumerate(s.edges))
    return fold_map(replace(s, edges=edges)).exists


@pytest.mark.parametrize("path", PATTERNS, ids=lambda p: p.stem)
def test_the_paper_after_each_stage_is_certified(path: Path) -> None:
    document = load_any(path)
    whole = certify(document)
    found = stages(document)
    assert whole.subdivision is not None
    folded: set[int] = set()
    for stage in found.stages:
        assert stage.edges
        assert not folded & set(stage.edges)
        folded |= set(stage.edges)
        s = stage.folded.subdivision
        assert {i for i, e in enumerate(s.edges) if e.is_fold} == folded
        pattern = replace(pattern_of(stage.folded), loops=(), paths=(), snips=None)
        assert certify(pattern).verdict == "certified"
        for i in folded:
            drawn = whole.subdivision.edges[i].kind
            assert drawn in ("either", s.edges[i].kind)
    assert folded == {i for i, e in enumerate(whole.subdivision.edges) if e.is_fold}


@pytest.mark.parametrize(
    "name", ["certified/lantern-twist.toml", "certified/fish.toml", "certified/star.toml", "certified/slit.toml"]
)
def test_no_part_of_a_group_closes_alone(name: str) -> None:
    """By trying all parts of it."""
    found = found_of(name)
    before: set[int] = set()
    for stage in found.stages:
        s = found.stages[-1].folded.subdivision
        assert closes(s, before | set(stage.edges))
        parts = (set(part) for n in range(1, len(stage.edges)) for part in combinations(stage.edges, n))
        assert not any(closes(s, before | part) for part in parts)
        before |= set(stage.edges)


def test_a_twist_is_one_group() -> None:
    """Its four pleats and the square in the middle cannot be folded one after the other: all twelve creases go
    together.
    """
    (stage,) = found_of("certified/lantern-twist.toml").stages
    assert len(stage.creases) == 12
    assert stage.order.exceptions


def test_strips_and_maps_go_line_by_line() -> None:
    """A crease of a strip closes by itself; so does a line right across a map."""
    assert [len(s.edges) for s in stages(strip([3, 4, 5, 6], "MVM")).stages] == [1, 1, 1]
    lines = stages(stamps(3, 2)).stages
    assert sorted(len(s.edges) for s in lines) == [2, 2, 3]
    assert all(len(s.creases) == 1 for s in lines)


def test_a_pleated_pattern_without_a_straight_line_across_goes_at_once() -> None:
    found = stages(miura(3, 3))
    assert [len(s.edges) for s in found.stages] == [12]


def test_precreases_valleys_first_then_the_others_from_the_back() -> None:
    found = found_of("certified/window-three-folds.toml")
    assert {p.ends for p in found.precreases} == {("e", "w"), ("s", "n"), ("sw", "ne"), ("se", "nw")}
    kinds = [p.kind for p in found.precreases]
    assert kinds == sorted(kinds, key=["valley", "both", "mountain"].index)
    for one, two in zip(found.precreases, found.precreases[1:], strict=False):
        assert one.kind != two.kind or one.length >= two.length
    by_ends = {p.ends: p.kind for p in found.precreases}
    assert (by_ends["s", "n"], by_ends["e", "w"]) == ("valley", "both")  # as its comments say
