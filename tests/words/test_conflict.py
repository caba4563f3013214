"""Why there is no layer order: panels are named once, then numbered; vertices in the field's terms."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import verify


@pytest.mark.parametrize("name", ["trapped-panel.toml", "ring-of-four.toml", "twisted-triangle.toml"])
def test_a_panel_is_named_once_and_then_has_its_number(name: str, proofs: Path) -> None:
    result = verify.certify(proofs / "refuted" / name)
    (finding,) = [f for f in result.failures if f.kind == "no-layer-order"]
    reasons = " ".join(finding.value["reasons"])
    named = re.findall(r"panel (\d+) \(([^()]*(?:\([^()]*\)[^()]*)*)\)", reasons)
    spoken = re.findall(r"panel (\d+)", reasons)
    assert [int(n) for n, _ in named] == list(range(1, len(named) + 1))
    assert len({corners for _, corners in named}) == len(named) == len(set(spoken))
    assert len(spoken) > len(named)
    assert "circle" not in finding.message + reasons


def test_vertices_in_the_terms_of_the_field(proofs: Path) -> None:
    said = {f.kind: f.message for f in verify.certify(proofs / "refuted" / "maekawa.json").findings}
    assert said["maekawa-fails"] == (
        "middle: 4 mountain folds, no valley folds; their numbers must differ by exactly 2, and differ by 4"
    )
    assert said["on-border"].endswith(": boundary vertex: Kawasaki's condition does not apply")
    assert "not locally flat-foldable as drawn" in said["vertex-fails"]
    assert (
        "locally flat-foldable"
        in {f.kind: f.message for f in verify.certify(proofs / "certified" / "star.toml").findings}["vertex-folds"]
    )


def test_a_step_that_is_blocked_says_by_what(proofs: Path) -> None:
    (finding,) = verify.certify(proofs / "recipes-refused" / "held-layer.toml").failures
    assert finding.kind == "blocked"
    assert ": blocked by panel " in finding.message
