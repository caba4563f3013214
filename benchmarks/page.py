"""Tables in pages: what a benchmark counted or measured replaces the table that the page holds."""

from __future__ import annotations

import re
from pathlib import Path


def put_table(page: Path, table: str, name: str = "") -> None:
    """Put a table between the page's `<!-- table NAME -->` and `<!-- end -->`. Raises ValueError if the page has no
    such place.
    """
    begin = f"<!-- table {name} -->" if name else "<!-- table -->"
    text = page.read_text(encoding="utf-8")
    new, found = re.subn(
        rf"({re.escape(begin)}\n).*?(<!-- end -->)", lambda m: m[1] + table.rstrip() + "\n" + m[2], text, flags=re.S
    )
    if found != 1:
        raise ValueError(f"{page}: found {begin} {found} times; expected once")
    page.write_text(new, encoding="utf-8")
