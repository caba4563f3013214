"""Numbers as long as a document may have them: an answer, and never the interpreter's limit on conversions."""

from __future__ import annotations

import json
import random
from pathlib import Path
from typing import Any

import pytest

import verify
from tests.cli.command import run
from tests.places import PROOFS


def long_fraction(rng: random.Random, low: int, high: int, digits: int = 900) -> str:
    q = rng.randrange(10 ** (digits - 1), 10**digits)
    return f"{rng.randrange(low * q, high * q)}/{q}"


def document(rng: random.Random, target: bool) -> dict[str, Any]:
    """A square with one valley, and a line off it to be cut."""
    points: dict[str, Any] = {"a": [0, 0], "b": [100, 0], "c": [100, 100], "d": [0, 100]}
    points |= {"e": [long_fraction(rng, 30, 40), 0], "f": [long_fraction(rng, 50, 60), 100]}
    keys = {
        "format": "creaseproof-pattern/1",
        "points": points,
        "sheet": {"outline": list("abcd")},
        "creases": [["e", "f", "valley"]],
    }
    if target:
        points |= {
            name: [long_fraction(rng, low, high), long_fraction(rng, low, high)]
            for name, low, high in (("p", 20, 40), ("q", 60, 70))
        }
        keys["target"] = {"paths": [["p", "q"]]}
    return keys


def test_fractions_of_900_digits() -> None:
    assert verify.certify(verify.read(document(random.Random(1), False))).verdict == "certified"


@pytest.mark.parametrize(
    "command", ["certify", *(pytest.param(name, marks=pytest.mark.long) for name in ("picture", "report"))]
)
def test_commands_on_long_fractions(command: str, tmp_path: Path) -> None:
    path = tmp_path / "long.json"
    path.write_text(json.dumps(document(random.Random(2), True)))
    out = {
        "certify": ["--json"],
        "picture": ["-o", str(tmp_path / "x.svg")],
        "report": ["-o", str(tmp_path / "x.html")],
    }[command]
    done = run(command, path, *out)
    assert done.exit_code == 3, done.output
    if command == "certify":
        [limit] = [finding for finding in json.loads(done.output)["findings"] if finding["kind"] == "limit-reached"]
        assert limit["value"]["limit"] == "digits"


def test_two_flat_creases_that_cross_in_a_field_of_degree_16() -> None:
    """Four square roots and the place where the creases cross, whose coefficients have hundreds of digits."""
    points = {"a": [0, 0], "b": [100, 0], "c": [100, 100], "d": [0, 100]}
    points |= {"e": ["10*sqrt(2)", "5*sqrt(3)"], "f": ["10*sqrt(3)", "70+sqrt(5)"]}
    points |= {"g": ["20*sqrt(5)", "3*sqrt(7)"], "h": ["30*sqrt(7)", "80*sqrt(2)/sqrt(3)"]}
    keys = {"format": "creaseproof-pattern/1", "points": points, "sheet": {"outline": list("abcd")}}
    result = verify.certify(verify.read(keys | {"creases": [["e", "h", "flat"], ["g", "f", "flat"]]}))
    assert result.verdict == "certified"
    assert result.certificate is not None
    assert len(result.certificate["field"]["polynomial"]) == 17


def test_what_the_kernel_does_not_take_on_is_undecided(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("verify.kernel.reading.LEAST_WORK", 10)
    monkeypatch.setattr("verify.kernel.reading.WORK_OF_A_BYTE", 0)
    result = verify.certify(PROOFS / "certified" / "kite.toml")
    assert result.verdict == "undecided"
    assert any(
        "the limit of the kernel" in finding.message for finding in result.findings if finding.kind == "limit-reached"
    )
