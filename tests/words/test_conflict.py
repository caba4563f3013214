"""Why there is no layer order: panels are named once, then numbered; vertices in the field's terms."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import verify
from tests.corpus import certified
from verify.show.scene import scene_of
from verify.tasks.repair import with_repairs


@pytest.mark.parametrize("name", ["trapped-panel.toml", "ring-of-four.toml", "twisted-triangle.toml"])
def test_a_panel_is_named_once_and_then_has_its_number(name: str, proofs: Path) -> None:
    result = certified(proofs / "refuted" / name)
    (finding,) = [f for f in result.failures if f.kind == "no-layer-order"]
    reasons = " ".join(finding.value["reasons"])
    named = re.findall(r"panel (\d+) \(([^()]*(?:\([^()]*\)[^()]*)*)\)", reasons)
    spoken = re.findall(r"panel (\d+)", reasons)
    assert [int(n) for n, _ in named] == list(range(1, len(named) + 1))
    assert len({corners for _, corners in named}) == len(named) == len(set(spoken))
    assert len(spoken) > len(named)
    assert "circle" not in finding.message + reasons


HOLE = [[["h", "i", "j"]], []]
BAY = [[], ["n1", "n2", "n3"]]


@pytest.mark.parametrize(("holes", "bay"), [HOLE, BAY], ids=["hole", "bay"])
def test_only_what_is_drawn_is_spoken_of(holes: list[list[str]], bay: list[str]) -> None:
    """A strip whose two valleys trap the panel between them, with a hole or a bay in one panel: this is divided, and
    the fold beside it with it, by lines that nobody drew (and one that somebody drew flat).
    """
    points = {
        "a": [0, 0],
        "b": [9, 0],
        "c": [9, 6],
        "d": [0, 6],
        "l1": [4, 0],
        "l2": [4, 6],
        "r1": [6, 0],
        "r2": [6, 6],
    }
    places = {"h": [1, 1], "i": [3, 2], "j": [2, 4], "n1": [2, 6], "n2": [2, 3], "n3": [0, 3]}
    outline = ["a", "b", "c", "l2", *bay] if bay else ["a", "b", "c", "d"]
    creases = [["l1", "l2", "valley"], ["r1", "r2", "valley"], ["l1", "n2", "flat"]]
    result = verify.certify(
        verify.read(
            {
                "format": "creaseproof-pattern/1",
                "points": points | places,
                "sheet": {"outline": outline, "holes": holes},
                "creases": creases[: 3 if bay else 2],
            }
        )
    )
    (finding,) = [f for f in result.failures if f.kind == "no-layer-order"]
    assert finding.message.startswith("the two valley folds l1–l2 and r1–r2 trap panel ")
    names = {re.sub("^panel ", "", name) for name in finding.where}
    left = {"a", "l1", "l2", *(bay or ["d"])}
    assert {frozenset(name.split("–")) for name in names} == {
        frozenset(corners) for corners in (left, ["l1", "l2"], ["r1", "r2"], ["b", "c", "r1", "r2"])
    }
    assert len(finding.value["reasons"]) == 4
    for reason in finding.value["reasons"]:
        assert "(4, 2.5)" not in reason
        assert "flat line" not in reason
    for names, mark in zip(finding.spoken, scene_of(result).reasons.values(), strict=True):  # at which pages point
        assert mark.edges
        assert len(mark.faces) >= len(names) - 1


def test_vertices_in_the_terms_of_the_field(proofs: Path) -> None:
    said = {f.kind: f.message for f in certified(proofs / "refuted" / "maekawa.json").findings}
    assert said["maekawa-fails"] == (
        "middle: 4 mountain folds, no valley folds; the numbers of mountain and valley folds must differ by exactly 2, "
        "but differ by 4"
    )
    points = {
        "sw": [0, 0],
        "se": [9, 0],
        "ne": [9, 9],
        "nw": [0, 9],
        "m": [4, 4],
        "e": [9, 4],
        "w": [0, 5],
        "n": [4, 9],
    }
    creases = [["e", "m", "mountain"], ["w", "m", "valley"], ["m", "n", "either"]]
    keys = {"format": "creaseproof-pattern/1", "points": points, "sheet": {"outline": ["sw", "se", "ne", "nw"]}}
    odd = {f.kind: f.message for f in verify.certify(verify.read(keys | {"creases": creases})).findings}
    assert odd["maekawa-fails"].endswith("must differ by exactly 2; with 3 folds, an odd number, they cannot")
    loose = verify.read(keys | {"creases": creases[:1]})
    (repair,) = [f.message for f in with_repairs(verify.certify(loose)).findings if f.kind == "repair-crease"]
    assert repair.startswith("repair 1: a crease is missing at m, beside e–m, as far as (0, 4); ")
    assert said["on-border"].endswith(": on the boundary, where Kawasaki's condition does not apply")
    assert "not locally flat-foldable as drawn" in said["vertex-fails"]
    assert (
        "locally flat-foldable"
        in {f.kind: f.message for f in certified(proofs / "certified" / "star.toml").findings}["vertex-folds"]
    )


def test_a_step_that_is_blocked_says_by_what(proofs: Path) -> None:
    (finding,) = certified(proofs / "recipes-refused" / "held-layer.toml").failures
    assert finding.kind == "blocked"
    assert re.search(": panel .* is in the way: it stays where it is, over panel .*, which moves$", finding.message)
