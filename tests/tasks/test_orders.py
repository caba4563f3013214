"""`count --list`: all orders, each once, each with a certificate that the kernel accepts."""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path

import pytest

import verify
from tests.cli.command import run
from tests.places import PROOFS
from verify.pattern.families import stamps, strip
from verify.pattern.write import to_toml
from verify.tasks.orders import orders


@pytest.mark.parametrize(("columns", "rows", "number"), [(1, 4, 16), (2, 2, 8), (3, 2, 60)])
def test_a_map_has_so_many_orders_and_all_are_listed(columns: int, rows: int, number: int) -> None:
    # OEIS A000136 (n = 4) and A001415 (n = 2, 3) [published]
    found = list(orders(stamps(columns, rows), 1000))
    assert len(found) == number
    stacks = {(to_toml(pattern), json.dumps(certificate["order"])) for pattern, certificate in found}
    assert len(stacks) == number
    for pattern, certificate in found[:5]:
        assert verify.audit(pattern, certificate).accepted
        assert verify.certify(pattern).verdict == "certified"


def test_no_more_than_asked_for_and_none_where_nothing_folds() -> None:
    assert len(list(orders(strip([1] * 6), 5))) == 5
    assert list(orders(verify.load(PROOFS / "refuted" / "big-little-big.toml"), 5)) == []


def test_what_is_drawn_flat_stays_flat() -> None:
    """Three stamps in a row have 6 orders (OEIS A000136 [published]); a line across one of them that folds nothing
    changes nothing.
    """
    half = Fraction(1, 2)
    crossed = list(orders(strip([1, half, half, 1], "EFE"), 100))
    assert len(crossed) == len(list(orders(strip([1, 1, 1]), 100))) == 6
    for pattern, certificate in crossed:
        assert [crease.kind == "flat" for crease in pattern.creases] == [False, True, False]
        assert verify.audit(pattern, certificate).accepted


def test_the_command_writes_patterns_and_certificates(tmp_path: Path) -> None:
    document = str(PROOFS / "certified" / "window-three-folds.toml")
    result = run("count", document, "--list", "10", "-o", tmp_path / "orders")
    assert (result.exit_code, result.output) == (0, f"4 layer orders written to {tmp_path / 'orders'}\n")
    for i in range(1, 5):
        outcome = verify.audit(
            tmp_path / "orders" / f"order-{i}.toml", tmp_path / "orders" / f"order-{i}.certificate.json"
        )
        assert (outcome.accepted, outcome.claims) == (True, ("folds-flat", "cut-exact"))
    fewer = run("count", document, "--list", "2", "-o", tmp_path / "orders")
    assert "also holds layer orders from before: order-3.toml and order-4.toml" in fewer.output
    alone = run("count", document, "--list", "10")
    assert alone.exit_code == 2
    assert "--list N and -o FOLDER go together" in alone.output


def test_the_command_in_json_and_for_a_recipe(tmp_path: Path) -> None:
    document = str(PROOFS / "certified" / "window-three-folds.toml")
    few = run("count", document, "--list", "2", "-o", tmp_path / "orders", "--json")
    assert few.exit_code == 0
    assert {"layer_orders_written": 2, "reached": []}.items() <= json.loads(few.output).items()
    recipe = str(PROOFS / "recipes" / "window-three-folds.toml")
    for more in ([], ["--list", "2", "-o", str(tmp_path / "none")]):
        refused = run("count", recipe, *more)
        assert refused.exit_code == 2
        assert "found a recipe; expected a pattern" in refused.output
