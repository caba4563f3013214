"""Audit: the kernel's word on a document and a certificate."""

from __future__ import annotations

import json
import os
import re
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from verify.kernel.check import CERTIFICATE_BYTES, FORMAT, Outcome, check_bytes, check_files
from verify.pattern.document import Document
from verify.pattern.recipe import load_any
from verify.pattern.source import Malformed, parse, why_not_read

__all__ = ["Outcome", "audit", "audit_files", "in_words"]


def audit(document: Document | str | Path, certificate: Mapping[str, Any] | bytes | str | Path) -> Outcome:
    """Let the kernel check a certificate against a document.

    `document` is a Document, a Recipe or a file's path; `certificate` a file's path, its bytes, or the JSON object
    itself. The kernel reads the document's own bytes, and nothing of this package's reading is used; of a document made
    or changed in Python it reads the JSON. Raises `Malformed` if the document cannot be read, OSError if the
    certificate cannot.
    """
    document = load_any(document)
    content, toml = document.content()
    if isinstance(certificate, Mapping):
        evidence = json.dumps(certificate).encode()
    elif isinstance(certificate, bytes):
        evidence = certificate
    else:
        evidence = Path(certificate).read_bytes()
    return check_bytes(content, evidence, toml=toml)


def audit_files(document: str, certificate: str, seconds: float | None = None) -> Outcome:
    """The kernel's word on two files; after `seconds`, in a process of its own, the kernel is ended, with the code
    "seconds", which is no verdict.
    """
    for path in (document, certificate):
        try:
            with open(path, "rb"):
                continue
        except (OSError, ValueError) as error:
            why = why_not_read(error) if isinstance(error, OSError) else str(error)
        return Outcome(malformed=True, code="unreadable", reason=f"{path}: found {why}; expected a readable file")
    if seconds is None:
        return check_files(document, certificate)
    import subprocess  # slow to load

    command = [sys.executable, "-m", "verify.kernel", document, certificate]
    environment = os.environ | {"PYTHONPATH": str(Path(__file__).resolve().parents[2])}
    try:
        done = subprocess.run(command, env=environment, capture_output=True, timeout=seconds, check=False)
    except subprocess.TimeoutExpired:
        return Outcome(code="seconds", reason=f"the kernel did not answer within {seconds:g} s")
    try:
        told = json.loads(done.stdout)
    except ValueError:
        return Outcome(code="internal", reason=f"the kernel ended with status {done.returncode}")
    return Outcome(**told | {"claims": tuple(told["claims"])})


def in_words(outcome: Outcome, document: str, certificate: str) -> str:
    """Why the kernel accepted nothing: which of the two files it is, what was found in it and what was expected."""
    if outcome.code in ("unreadable", "seconds", "internal"):
        return outcome.reason
    if not (os.path.isfile(document) and os.path.isfile(certificate)):
        return f"{outcome.code}: {outcome.reason}"
    first, second = _found(document), _found(certificate)
    if first == "a certificate":
        swapped = "; the two look swapped" if second == "a document" else ""
        return f"{document}: found a certificate; expected a document{swapped}"
    if outcome.code.startswith("document"):
        try:
            load_any(document)
        except Malformed as error:
            return str(error)
        return f"{document}: {outcome.code}: {outcome.reason}"
    if second != "a certificate":
        return f"{certificate}: found {second}; expected a certificate"
    digest = re.search(rb'"statement_sha256"\s*:\s*"([0-9a-f]{64})"', Path(certificate).read_bytes())
    if digest is not None and digest[1].decode() != outcome.statement_sha256:
        return f"{certificate}: found the certificate of another statement; expected that of {document} as it is now"
    return f"{certificate}: {outcome.code}: {outcome.reason}"


def _found(path: str) -> str:
    """What a file holds, by its `format`, in words."""
    with open(path, "rb") as file:
        data = file.read(CERTIFICATE_BYTES + 1)
    if len(data) > CERTIFICATE_BYTES:
        return f"more than {CERTIFICATE_BYTES:,} bytes"
    toml = path.lower().endswith(".toml")
    try:
        keys = parse(path, data, toml)
    except Malformed as error:
        return error.found
    told = str(keys.get("format")) if isinstance(keys, dict) else ""
    if told == FORMAT:
        return "a certificate"
    return "a document" if told.startswith("creaseproof-") else f"{'TOML' if toml else 'JSON'} of another format"
