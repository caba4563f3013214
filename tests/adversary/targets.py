"""What is fuzzed: each takes bytes, and raises only if the answer was not an honest one."""

from __future__ import annotations

import base64
import json
import tempfile
from collections.abc import Callable
from pathlib import Path

from verify.kernel.check import check_bytes
from verify.pattern.recipe import read_any
from verify.pattern.source import NotRead
from verify.pattern.svg import target_from_svg

from .corpus import PROOFS

_KITE = (PROOFS / "certified" / "kite.toml").read_bytes()
_FOLDER = Path(tempfile.mkdtemp())


def document(data: bytes) -> None:
    """A pattern document as TOML, then as JSON; what one reads the other must not crash on."""
    for toml in (True, False):
        try:
            read_any(data, source="fuzz", toml=toml)
        except NotRead:
            continue


def kernel(data: bytes) -> None:
    """A certificate for the kite."""
    outcome = check_bytes(_KITE, data, toml=True)
    if outcome.code == "internal" or (outcome.accepted and json.loads(data)["proves"] != "certified"):
        raise AssertionError(outcome)


def recipe(data: bytes) -> None:
    """A recipe, and the kernel's own reading of it."""
    document(data)
    outcome = check_bytes(data, b"{}", toml=False)
    if outcome.code == "internal" or outcome.accepted:
        raise AssertionError(outcome)


def svg(data: bytes) -> None:
    path = _FOLDER / "fuzz.svg"
    path.write_bytes(data)
    try:
        target_from_svg(path)
    except NotRead:
        return


def kept(target: str) -> list[bytes]:
    """The inputs kept from fuzzing, each of which once reached new code."""
    text = (Path(__file__).parent / "seeds" / f"{target}.jsonl").read_text(encoding="ascii")
    return [base64.b64decode(json.loads(line)) for line in text.splitlines()]


TARGETS: dict[str, Callable[[bytes], None]] = {"document": document, "kernel": kernel, "recipe": recipe, "svg": svg}
