"""The proofs for a machine: nothing is left out of them, and where Coq is installed they compile and rest on what they
say.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.places import PROOFS

FOLDER = PROOFS / "theory" / "coq"
SOURCES = sorted(FOLDER.glob("*.v"))
LEFT_OUT = re.compile(r"\b(Admitted|admit|Abort|Axioms?|Conjecture|Parameters?|bypass_check|Unset Guard Checking)\b")


@pytest.mark.parametrize("source", SOURCES, ids=[path.name for path in SOURCES])
def test_no_proof_is_left_out(source: Path) -> None:
    text = source.read_text(encoding="utf-8")
    assert not LEFT_OUT.search(text)
    assert len(text.splitlines()) <= 500


def test_every_file_has_its_row() -> None:
    page = (FOLDER / "README.md").read_text(encoding="utf-8")
    rows = set(re.findall(r"`(\w+\.v)`", page))
    assert rows == {path.name for path in SOURCES}


def test_the_shell_script_looks_for_the_same_words() -> None:
    script = (FOLDER / "audit.sh").read_text(encoding="utf-8")
    for word in ("Admitted", "admit", "Abort", "Axiom", "Conjecture", "Parameter", "Unset Guard Checking"):
        assert word in script
        assert LEFT_OUT.search(f"{word} x.")


def code_lines(path: Path) -> int:
    """Lines of OCaml or JavaScript without blank lines and comments."""
    text = re.sub(r"\(\*.*?\*\)", "", path.read_text(encoding="utf-8"), flags=re.DOTALL)
    return sum(1 for line in text.splitlines() if line.strip() and not line.startswith("//"))


def test_the_trusted_lines_are_counted() -> None:
    page = (FOLDER / "README.md").read_text(encoding="utf-8")
    rows = {name: int(lines) for name, lines in re.findall(r"\| `second/([\w/]+\.(?:ml|js))` \| (\d+) \|", page)}
    files = [path for path in (FOLDER / "second").rglob("*.*") if path.name != "evidence.ml"]
    assert rows == {path.relative_to(FOLDER / "second").as_posix(): code_lines(path) for path in files}
