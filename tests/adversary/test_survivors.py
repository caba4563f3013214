"""Cases that mutants of the kernel once survived (`benchmarks/mutants.py`): each is refused, and tells the mutant apart."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from verify.kernel.check import Outcome, check_bytes

from .corpus import PROOFS

KITE = PROOFS / "certified" / "kite.toml"
RECIPE = PROOFS / "recipes" / "window-three-folds.toml"


def outcome(document: Path, certificate: dict[str, Any]) -> Outcome:
    return check_bytes(document.read_bytes(), json.dumps(certificate).encode(), toml=True)


def test_three_roots_in_the_interval_of_a_cubic() -> None:
    """(x - 1)(x - 2)(x - 3) changes its sign over [1/2, 7/2]; only the whole derivative shows that it may do so three times."""
    certificate = json.loads((PROOFS / "certificates" / "kite.certificate.json").read_bytes())
    assert outcome(KITE, certificate).accepted
    certificate["field"] |= {"polynomial": [-6, 11, -6, 1], "root": ["1/2", "7/2"]}
    assert outcome(KITE, certificate).code == "field.root"
    certificate["field"]["root"] = ["11/10", "19/10"]  # where it falls from + to - ... and no root is
    assert outcome(KITE, certificate).code == "field.root"
    certificate["field"]["root"] = ["29/10", "31/10"]  # one root, and the derivative is positive
    assert outcome(KITE, certificate).code != "field.root"


@pytest.mark.parametrize("entry", [[0], [0, [0, 0], 0], []])
def test_an_image_is_a_vertex_and_a_place(entry: list[Any]) -> None:
    certificate = json.loads((PROOFS / "certificates" / "recipes" / "window-three-folds.certificate.json").read_bytes())
    assert outcome(RECIPE, certificate).accepted
    step = next(s for s in certificate["steps"] if s.get("images"))
    step["images"][0] = entry
    assert outcome(RECIPE, certificate).code == "certificate.length"
