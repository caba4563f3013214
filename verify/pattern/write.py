"""Pattern and recipe documents written back as TOML or JSON."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from verify.pattern.document import Document
from verify.pattern.files import put


def write(document: Document, path: str | Path) -> None:
    """Write a pattern or recipe document to `path`: TOML if it ends in `.toml`, else JSON.

    What is written reads back as an equal document with the same digest. The file is there whole or, after an OSError,
    as it was before.
    """
    put(path, as_text(document, path).encode())


def as_text(document: Document, path: str | Path) -> str:
    """The document as a file of that name holds it: TOML if it ends in `.toml`, else JSON."""
    if Path(path).name.lower().endswith(".toml"):
        return to_toml(document)
    return json.dumps(document.keys(), indent=1) + "\n"


def to_toml(document: Document) -> str:
    """The document as TOML, a line for each point, crease and outline."""
    keys = document.keys()
    lines = [f"{key} = {_value(keys[key])}" for key in ("format", "title", "unit") if key in keys]
    lines += ["creases = [", *(f"    {_value(c)}," for c in keys["creases"]), "]"] if keys.get("creases") else []
    lines += ["", "[points]", *(f"{_key(name)} = {_value(xy)}" for name, xy in keys["points"].items())]
    for table in ("sheet", "target", "cut"):
        if table in keys:
            lines += ["", f"[{table}]", *_table(keys[table])]
    for step in keys.get("steps", []):
        lines += ["", "[[steps]]", *_table(step)]
    return "\n".join(lines) + "\n"


def _table(table: Mapping[str, Any]) -> list[str]:
    return [f"{key} = {_value(value)}" for key, value in table.items()]


def _key(name: str) -> str:
    bare = name.isascii() and name.replace("-", "").replace("_", "").isalnum()
    return name if bare else _value(name)


def _value(value: Any) -> str:
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007F")
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{_key(key)} = {_value(v)}" for key, v in value.items()) + " }"
    if isinstance(value, Iterable):
        return "[" + ", ".join(_value(v) for v in value) + "]"
    return str(value)
