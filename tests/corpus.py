"""The documents of `proofs/`: certified, each once in a run, and as the lists in `proofs/README.md` have them."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import verify
from tests.places import PROOFS


@cache
def certified(path: Path) -> verify.Result:
    return verify.certify(path)


@cache
def listed(folder: str) -> dict[str, list[str]]:
    """The rows of the list of one folder: the cells by the document's name."""
    text = (PROOFS / "README.md").read_text(encoding="utf-8")
    (section,) = (part for part in text.split("\n## ") if part.split("\n")[0].endswith(f"`{folder}/`"))
    rows = [
        [cell.strip() for cell in line.strip("|").split("|")] for line in section.splitlines() if line.startswith("| `")
    ]
    return {row[0].strip("`"): row[1:] for row in rows}
