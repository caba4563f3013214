"""The list of files in DEVELOPERS.md: each file of `verify/` with the first paragraph of its docstring.

python tests/house.py            # exits with 1 if the list is not as the files are
python tests/house.py --write    # writes it
"""

from __future__ import annotations

import ast
import re
import sys
import textwrap
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PAGE = ROOT / "DEVELOPERS.md"
BEGIN, END = "<!-- files -->", "<!-- end of files -->"
COLUMNS = 120


@cache
def nodes(path: Path) -> list[ast.AST]:
    """All nodes of a file's syntax tree, the module first."""
    return list(ast.walk(ast.parse(path.read_text(encoding="utf-8"))))


@cache
def job(path: Path) -> str:
    """What a file is for: the first paragraph of its docstring."""
    module = nodes(path)[0]
    text = ast.get_docstring(module) or "" if isinstance(module, ast.Module) else ""
    return " ".join(text.partition("\n\n")[0].split())


def wrapped(text: str, indent: str = "") -> list[str]:
    return textwrap.wrap(text, COLUMNS, subsequent_indent=indent, break_long_words=False, break_on_hyphens=False)


def house() -> str:
    """The list in Markdown: a heading for each folder, with its own job, and a line for each file in it."""
    verify = ROOT / "verify"
    lines: list[str] = []
    folders = sorted({path.parent for path in verify.rglob("*.py")}, key=lambda p: p.relative_to(ROOT).parts)
    for folder in folders:
        lines += ["", *wrapped(f"**`{folder.relative_to(ROOT).as_posix()}/`**: {job(folder / '__init__.py')}"), ""]
        for path in sorted(folder.glob("*.py")):
            if path.name != "__init__.py":
                lines += wrapped(f"- `{path.name}`: {job(path)}", "  ")
    return "\n".join(lines).strip()


def main() -> int:
    text = PAGE.read_text(encoding="utf-8")
    new = re.sub(rf"{BEGIN}.*?{END}", lambda _: f"{BEGIN}\n\n{house()}\n\n{END}", text, flags=re.S)
    if "--write" in sys.argv[1:]:
        PAGE.write_text(new, encoding="utf-8")
    return 0 if new == text or "--write" in sys.argv[1:] else 1


if __name__ == "__main__":
    sys.exit(main())
