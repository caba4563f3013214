"""What must be refused: single edits of good certificates (`proofs/rejected/*.toml`), and whole files."""

from __future__ import annotations

import copy
import json
import tomllib
from pathlib import Path
from typing import Any

PROOFS = Path(__file__).resolve().parent.parent.parent / "proofs"
FOLDERS = {"certified": "", "refuted": "", "recipes": "recipes", "alphabet": "alphabet"}
FILES = {  # of `proofs/rejected/files`: the document, and the kernel's code
    "lantern-twist-circle-forgotten.json": ("certified/lantern-twist.toml", "order.crossing"),
    "star-a-key-twice.json": ("certified/star.toml", "certificate.unreadable"),
    "star-cut-short.json": ("certified/star.toml", "certificate.unreadable"),
    "star-degree-a-thousand.json": ("certified/star.toml", "certificate.length"),
    "star-empty.json": ("certified/star.toml", "certificate.unreadable"),
    "star-nested.json": ("certified/star.toml", "certificate.unreadable"),
    "star-not-utf-8.json": ("certified/star.toml", "certificate.unreadable"),
    "star-two-layers-exchanged.json": ("certified/star.toml", "order.direction"),
    "star-with-the-certificate-of-the-kite.json": ("certified/star.toml", "digest"),
}


def accepted() -> list[tuple[Path, Path]]:
    """Every document of the corpus with its stored certificate."""
    pairs = []
    for folder, certificates in FOLDERS.items():
        for path in sorted((PROOFS / folder).iterdir()):
            certificate = PROOFS / "certificates" / certificates / f"{path.stem}.certificate.json"
            if certificate.exists():
                pairs.append((path, certificate))
    return pairs


def edits() -> list[dict[str, Any]]:
    """The edits; each has `base`, `edit`, `at`, `code` and `why`."""
    return [e for path in sorted((PROOFS / "rejected").glob("*.toml")) for e in tomllib.loads(path.read_text(encoding="utf-8"))["edits"]]


def certificate_of(base: str) -> Path:
    folder, _, name = base.partition("/")
    return PROOFS / "certificates" / FOLDERS[folder] / f"{Path(name).stem}.certificate.json"


def edited(edit: dict[str, Any]) -> bytes:
    """The certificate of an edit's document, edited."""
    root = copy.deepcopy(json.loads(certificate_of(edit["base"]).read_bytes()))
    *way, last = edit["at"]
    at = root
    for key in way:
        at = at[key]
    match edit["edit"]:
        case "set":
            at[last] = edit["to"]
        case "delete":
            del at[last]
        case "swap":
            i, j = edit["with"]
            at[last][i], at[last][j] = at[last][j], at[last][i]
        case "reverse":
            at[last].reverse()
        case "repeat":
            at[last].append(copy.deepcopy(at[last][edit["item"]]))
        case "insert" if isinstance(at[last], list):
            at[last].append(edit["to"])
        case "insert":
            at[last].update(edit["to"])
    return json.dumps(root).encode()
