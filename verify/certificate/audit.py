"""Audit: the kernel's word on a document and a certificate."""

from __future__ import annotations

import json
import os
import stat
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from verify.kernel.check import Outcome, check_bytes, check_files
from verify.pattern.document import Document
from verify.pattern.recipe import Recipe, load_any


def audit(document: Document | Recipe | str | Path, certificate: Mapping[str, Any] | bytes | str | Path) -> Outcome:
    """Let the kernel check a certificate against a document.

    `document` is a Document, a Recipe or a file's path; `certificate` a file's path, its bytes, or the JSON object
    itself. The kernel reads the document's own bytes; nothing of this package's reading is used. Raises `Malformed` if
    the document cannot be read, OSError if the certificate cannot.
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
    """The kernel's word on two files; after `seconds` the kernel is ended, with the code "seconds", which is no
    verdict.

    With `seconds` the kernel runs in a process of its own.
    """
    for path in (document, certificate):
        why = _unreadable(path)
        if why:
            return Outcome(malformed=True, code="unreadable", reason=f"{path}: found {why}; expected a readable file")
    if seconds is None:
        return check_files(document, certificate)
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


def _unreadable(path: str) -> str:
    """Why a file cannot be read, in words; nothing if it can."""
    try:
        if stat.S_ISDIR(os.stat(path).st_mode):
            return "a folder"
    except FileNotFoundError:
        return "no such file"
    except (OSError, ValueError) as error:
        return str(error)
    return "" if os.access(path, os.R_OK) else "a file that must not be read"
