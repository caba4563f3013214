"""Every document of proofs/, through the tool and through the kernel as a process of its own."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest

import verify
from tests.corpus import certified, listed
from tests.places import PROOFS

BareKernel = Callable[[Sequence[tuple[Path, Path]]], list[dict[str, Any]]]
DOCUMENTS = {
    verdict: sorted(
        p
        for p in (PROOFS / verdict).iterdir()
        if p.suffix in (".toml", ".json") and not p.name.endswith(".certificate.json")
    )
    for verdict in ("certified", "refuted")
}
ALL = [(verdict, path) for verdict, paths in DOCUMENTS.items() for path in paths]


def test_documents(bare_kernel: BareKernel, tmp_path: Path) -> None:
    """The verdict of each, and the bare kernel's word on the certificate that was made."""
    pairs = []
    for verdict, path in ALL:
        result = certified(path)
        assert result.verdict == verdict, path.name
        assert bool(result.failures) == (verdict == "refuted"), path.name
        assert result.document.title
        certificate = tmp_path / f"{path.name}.fresh.json"
        certificate.write_text(json.dumps(result.certificate))
        pairs.append((path, certificate))
    for (verdict, path), keys in zip(ALL, bare_kernel(pairs), strict=True):
        result = certified(path)
        assert (keys["accepted"], keys["proves"]) == (True, verdict), (path.name, keys)
        assert keys["statement_sha256"] == result.statement_sha256
        assert tuple(keys["claims"]) == result.claims
        assert result.subdivision is not None
        assert keys["facts"]["faces"] == len(result.subdivision.faces), path.name
        assert keys["facts"]["folds"] == sum(e.is_fold for e in result.subdivision.edges), path.name
        if verdict == "certified":
            layers = None if result.cutting is None else result.cutting.most_layers
            assert keys["facts"].get("layers") == layers, path.name


@pytest.mark.parametrize("name", ["certified/cord-slots.toml", "refuted/maekawa.json"])
def test_the_kernel_as_a_process(name: str, root: Path) -> None:
    """`python3 -S -m verify.kernel` from the bare checkout: no package is visible."""
    stored = PROOFS / "certificates" / f"{Path(name).stem}.certificate.json"
    command = [sys.executable, "-S", "-m", "verify.kernel", f"proofs/{name}", str(stored)]
    done = subprocess.run(command, cwd=root, capture_output=True, text=True, timeout=120, check=False, env={})
    assert done.returncode == 0, done.stdout + done.stderr
    keys = json.loads(done.stdout)
    assert (keys["accepted"], keys["proves"]) == (True, name.partition("/")[0])
    assert keys["statement_sha256"] == verify.load(PROOFS / name).statement_sha256


def test_the_corpus_is_as_large_as_its_list() -> None:
    for verdict, least in (("certified", 25), ("refuted", 14)):
        assert {p.name for p in DOCUMENTS[verdict]} == set(listed(verdict))
        assert len(DOCUMENTS[verdict]) >= least


def test_the_kinds_of_refutation_are_those_listed() -> None:
    seen = set()
    rows = listed("refuted")
    for path in DOCUMENTS["refuted"]:
        result = certified(path)
        assert result.certificate is not None
        refutation = result.certificate["refutation"]
        shown = rows[path.name][1]
        assert shown.split()[0] == f"`{refutation['kind']}`", path.name
        if refutation["kind"] == "stray":
            assert next(iter(refutation["cell"])) in shown, path.name
        seen.add(refutation["kind"])
    assert seen == {"order", "closure", "maekawa", "apart", "stray"}


def test_stored_certificates(bare_kernel: BareKernel) -> None:
    stored = PROOFS / "certificates"
    if not stored.is_dir():
        pytest.skip("proofs/certificates is not there")
    pairs = [(verdict, path, stored / f"{path.stem}.certificate.json") for verdict, path in ALL]
    done = bare_kernel([(path, certificate) for _, path, certificate in pairs])
    for (verdict, path, _), keys in zip(pairs, done, strict=True):
        assert (keys["accepted"], keys["proves"]) == (True, verdict), (path.name, keys)
    assert len(done) == len(ALL) == sum(len(x) for x in DOCUMENTS.values())
    assert sorted(p.name for p in stored.iterdir() if p.name.endswith(".certificate.json")) == sorted(
        c.name for _, _, c in pairs
    )


def test_the_certificate_of_another_document_is_rejected() -> None:
    results = [certified(path) for _, path in ALL]
    tried = 0
    for one, other in zip(results, results[1:] + results[:1], strict=True):
        outcome = verify.audit(one.document, other.certificate or {})
        assert not outcome.accepted
        # a certificate that needs other keys may fail before its digest is looked at
        assert outcome.code in ("digest", "certificate.key")
        forged = verify.audit(one.document, (other.certificate or {}) | {"statement_sha256": one.statement_sha256})
        assert not forged.accepted
        tried += 1
    assert tried == len(ALL)


def test_the_corpus_tells_a_kernel_from_a_stub() -> None:
    """A checker that always says the same would fail: both answers occur on documents of both sorts."""
    answers = {True: set(), False: set()}  # type: dict[bool, set[str]]
    for verdict, path in ALL[::3]:
        result = certified(path)
        certificate = result.certificate or {}
        swapped = certificate | {"proves": "refuted" if verdict == "certified" else "certified"}
        for evidence in (certificate, swapped):
            answers[verify.audit(result.document, evidence).accepted].add(verdict)
    assert answers == {True: {"certified", "refuted"}, False: {"certified", "refuted"}}
