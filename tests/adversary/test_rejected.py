"""What must be refused is refused, with its code; and strawman kernels are told from the true one by it."""

from __future__ import annotations

import importlib
import json
import tomllib
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from tests.profiles import share
from verify.kernel import check
from verify.kernel.check import Outcome, check_bytes
from verify.kernel.reading import Rejected

from .altered import ORDER
from .corpus import FILES, PROOFS, accepted, document_of, edited, edits, parts

EDITS = edits()
Kernel = Callable[[Path, bytes], Outcome]
MODULES = [importlib.import_module(f"verify.kernel.{name}") for name in ORDER]


def true_kernel(document: Path, certificate: bytes) -> Outcome:
    return check_bytes(document.read_bytes(), certificate, toml=document.suffix == ".toml")


def refusal(edit: dict[str, Any]) -> str:
    """The code with which an edit is refused, "" if it is not."""
    document, toml = document_of(edit)
    return check_bytes(document, edited(edit), toml=toml).code


@pytest.mark.parametrize("base", sorted({e["base"] for e in EDITS}))
def test_edits(base: str) -> None:
    for edit in EDITS:
        if edit["base"] == base:
            document, toml = document_of(edit)
            outcome = check_bytes(document, edited(edit), toml=toml)
            assert (outcome.accepted, outcome.proves, outcome.code) == (False, None, edit["code"]), edit
            assert outcome.reason


@pytest.mark.parametrize("name", FILES)
def test_a_file(name: str) -> None:
    document, code = FILES[name]
    outcome = true_kernel(PROOFS / document, (PROOFS / "rejected" / "files" / name).read_bytes())
    assert (outcome.accepted, outcome.code) == (False, code), outcome.reason


def test_there_are_more_of_them_than_of_accepted_ones() -> None:
    assert sorted(p.name for p in (PROOFS / "rejected" / "files").iterdir()) == sorted(FILES)
    assert len(EDITS) + len(FILES) >= len(accepted()) >= 100
    assert len({e["code"] for e in EDITS}) >= 25
    assert len({e["base"] for e in EDITS}) == len(accepted())


def test_a_document_edited_under_its_certificate() -> None:
    """Another number, the same number in other words, a line more: each is another statement."""
    text = (PROOFS / "certified" / "window-three-folds.toml").read_text()
    certificate = (PROOFS / "certificates" / "window-three-folds.certificate.json").read_bytes()
    assert check_bytes(text.encode(), certificate, toml=True).accepted
    keys = tomllib.loads(text)
    point = next(iter(keys["points"]))
    for x in (f"{keys['points'][point][0]}*1", f"({keys['points'][point][0]})+0", "1e-30"):
        other = json.loads(json.dumps(keys))
        other["points"][point][0] = x
        outcome = check_bytes(json.dumps(other).encode(), certificate, toml=False)
        assert (outcome.accepted, outcome.code) == (False, "digest")


# ---- strawman kernels


def mistakes(kernel: Kernel) -> int:
    """In how many cases of the corpus a kernel errs: what must be accepted, and a sample of what must not."""
    wrong = sum(not kernel(document, certificate.read_bytes()).accepted for document, certificate in accepted()[::4])
    return wrong + sum(kernel(PROOFS / e["base"], edited(e)).accepted for e in EDITS[::6] if not parts(e, "document"))


def test_the_true_kernel_makes_no_mistake() -> None:
    assert mistakes(true_kernel) == 0


def accept_all(document: Path, certificate: bytes) -> Outcome:
    return Outcome(accepted=True)


def reject_all(document: Path, certificate: bytes) -> Outcome:
    return Outcome(code="no")


def parse_only(document: Path, certificate: bytes) -> Outcome:
    root = json.loads(certificate)
    return Outcome(accepted=isinstance(root, dict) and "proves" in root)


def digest_only(document: Path, certificate: bytes) -> Outcome:
    root = json.loads(certificate)
    return Outcome(accepted=true_kernel(document, certificate).statement_sha256 == root.get("statement_sha256"))


@pytest.mark.parametrize("kernel", [accept_all, reject_all, parse_only, digest_only])
def test_a_kernel_of_straw_is_caught(kernel: Kernel) -> None:
    assert mistakes(kernel) > 0


@contextmanager
def without(code: str, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The kernel with every check left out that fails with this code."""

    def lenient(holds: bool, found: str, reason: str, error: type[Rejected] = Rejected) -> None:
        if not holds and found != code:
            raise error(found, reason)

    with monkeypatch.context() as patch:
        for module in MODULES:
            if hasattr(module, "require"):
                patch.setattr(module, "require", lenient)
        yield


CHECKS = sorted(
    {e["code"] for e in EDITS}
    - {
        "certificate.key",
        "certificate.type",
        "certificate.length",
        "certificate.range",
        "certificate.number",
        "certificate.format",
        "order.crossing",
    }
)


@pytest.mark.parametrize("code", CHECKS)
def test_a_kernel_with_one_check_left_out_is_caught(code: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Some edit that is pinned to the check comes out otherwise: accepted, or refused for another reason only."""
    chosen = [e for e in EDITS if e["code"] == code][: share(12)]
    with without(code, monkeypatch):
        codes = Counter(refusal(e) for e in chosen)
    assert codes[code] < len(chosen)
    assert check.check_bytes is check_bytes
    assert all(refusal(e) == code for e in chosen)
