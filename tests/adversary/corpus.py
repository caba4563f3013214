"""What must be refused: single edits of good certificates (`proofs/rejected/*.toml`), and whole files."""

from __future__ import annotations

import copy
import json
import tomllib
from pathlib import Path
from typing import Any

from tests.places import PROOFS
from verify.kernel.check import check_bytes

FOLDERS = {
    "certified": "",
    "refuted": "",
    "recipes": "recipes",
    "recipes-refused": "recipes-refused",
    "alphabet": "alphabet",
}
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
    return [
        e
        for path in sorted((PROOFS / "rejected").glob("*.toml"))
        for e in tomllib.loads(path.read_text(encoding="utf-8"))["edits"]
    ]


def certificate_of(base: str) -> Path:
    folder, _, name = base.partition("/")
    return PROOFS / "certificates" / FOLDERS[folder] / f"{Path(name).stem}.certificate.json"


def parts(edit: dict[str, Any], of: str) -> list[dict[str, Any]]:
    """The changes that an edit makes to the `certificate` or the `document`."""
    return [e for e in (edit, *edit.get("also", ())) if e.get("of", "certificate") == of]


def document_of(edit: dict[str, Any]) -> tuple[bytes, bool]:
    """The document of an edit, and whether it is TOML; an edited one is written as JSON."""
    path = PROOFS / edit["base"]
    data, toml = path.read_bytes(), path.suffix == ".toml"
    if not parts(edit, "document"):
        return data, toml
    root = tomllib.loads(data.decode(), parse_float=str) if toml else json.loads(data, parse_float=str)
    for part in parts(edit, "document"):
        change(root, part)
    return json.dumps(root).encode(), False


def edited(edit: dict[str, Any]) -> bytes:
    """The certificate of an edit's document, edited; of an edited document it gets the digest, if there is one."""
    root = json.loads(certificate_of(edit["base"]).read_bytes())
    if parts(edit, "document"):
        digest = check_bytes(document_of(edit)[0], b"", toml=False).statement_sha256
        root["statement_sha256"] = digest or root["statement_sha256"]
    for part in parts(edit, "certificate"):
        change(root, part)
    return json.dumps(root).encode()


def change(root: Any, edit: dict[str, Any]) -> None:
    """Make one change: at a place set, delete, swap, reverse, repeat (`times`), insert, or write something before a
    text.
    """
    *way, last = edit["at"]
    at = root
    for key in way:
        at = at[key]
    match edit["edit"]:
        case "set":
            at[last] = copy.deepcopy(edit["to"])
        case "delete":
            del at[last]
        case "swap":
            i, j = edit["with"]
            at[last][i], at[last][j] = at[last][j], at[last][i]
        case "reverse":
            at[last].reverse()
        case "repeat":
            at[last] += [copy.deepcopy(at[last][edit["item"]]) for _ in range(edit.get("times", 1))]
        case "before":
            at[last] = edit["to"] * edit.get("times", 1) + str(at[last])
        case "insert" if isinstance(at[last], list):
            at[last].append(copy.deepcopy(edit["to"]))
        case "insert":
            at[last].update(copy.deepcopy(edit["to"]))
