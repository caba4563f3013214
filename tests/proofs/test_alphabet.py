"""The alphabet of the corpus: every letter certified from its document, its stored certificate accepted by the
kernel.
"""

from __future__ import annotations

import re

import pytest

import verify
from tests.places import PROOFS
from verify.construct.letterforms.plain import LETTERS, letter_document
from verify.kernel.check import check_files
from verify.pattern.document import Document
from verify.pattern.recipe import load_any
from verify.tasks.construct import construct

PAGE = (PROOFS / "alphabet" / "README.md").read_text(encoding="utf-8")


def test_the_alphabet_is_whole() -> None:
    assert sorted(p.stem for p in (PROOFS / "alphabet").glob("*.toml")) == sorted(LETTERS)
    assert len(LETTERS) == 36
    stored = sorted(p.name for p in (PROOFS / "certificates" / "alphabet").iterdir())
    assert stored == [f"{letter}.certificate.json" for letter in sorted(LETTERS)]


@pytest.mark.parametrize("letter", sorted(LETTERS))
def test_a_letter(letter: str) -> None:
    path = PROOFS / "alphabet" / f"{letter}.toml"
    outcome = check_files(str(path), str(PROOFS / "certificates" / "alphabet" / f"{letter}.certificate.json"))
    assert (outcome.accepted, outcome.proves, outcome.claims) == (True, "certified", ("folds-flat", "cut-exact")), (
        outcome.reason
    )
    document, drawn = load_any(path), letter_document(letter)
    assert document.snips == 1
    assert [tuple(document.points[n] for n in loop) for loop in document.loops] == [
        tuple(drawn.points[n] for n in loop) for loop in drawn.loops
    ]
    row = re.search(rf"\| {letter} \| (\d+) \| (\d+) \| [\d–]+ \| (\d+) \| [\d.]+ \|", PAGE)
    assert row is not None
    assert (outcome.facts["faces"], outcome.facts["folds"], outcome.facts["layers"]) == tuple(map(int, row.groups()))


@pytest.mark.parametrize("letter", ["I", "S", "7"])
def test_a_letter_made_afresh(letter: str) -> None:
    made = construct(letter_document(letter), tries=8)
    assert made.verdict == "certified"
    assert isinstance(made.pattern, Document)
    assert made.pattern.target_lines() == letter_document(letter).target_lines()
    assert made.moved is None
    certified = verify.certify(made.pattern)
    assert certified.verdict == "certified"
    assert certified.cutting is not None
    assert certified.cutting.most_layers == (made.proposal.layers if made.proposal else None)
