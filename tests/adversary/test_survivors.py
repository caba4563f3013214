"""Cases that mutants of the kernel once survived (`benchmarks/mutants.py`): each is refused, and tells the mutant apart."""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from verify.kernel.check import Outcome, check_bytes
from verify.kernel.numbers import Algebraic, Field

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


def test_a_rational_root_of_a_reducible_polynomial() -> None:
    """(x - 1)(x - 3) with the root 1: an enclosure of x - 1 may begin or end at 0, and is no sign."""
    field = Field((3, -4, 1), Fraction(1, 2), Fraction(3, 2))
    for c in ((-1, 1), (1, -1)):
        assert field.sign(Algebraic(field, c)) == 0
    assert [field.sign(Algebraic(field, c)) for c in ((-3, 1), (0, 1), (3, -1))] == [-1, 1, 1]


def test_two_factors_with_roots_closer_than_the_first_enclosure() -> None:
    """R^2 - 2 N^2 = 1 (Pell): of (x^2 - 2 N^2)(x - R) the root N sqrt(2) lies 2^-153 below R, which shares a factor and is no root here."""
    r, n = 1, 0
    for _ in range(120):
        r, n = r + 2 * n, r + n
    assert r * r - 2 * n * n == 1
    field = Field((2 * n * n * r, -2 * n * n, -r, 1), r - Fraction(2, 3 * r), r - Fraction(1, 3 * r))
    assert field.sign(Algebraic(field, (-r, 1, 0))) == -1
    assert field.sign(Algebraic(field, (r, -1, 0))) == 1
    assert field.sign(Algebraic(field, (-2 * n * n, 0, 1))) == 0
