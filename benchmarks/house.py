"""How large the house is, room by room, then and now, and what came in as a capability: the tables in house.md.

    .venv/bin/python benchmarks/house.py [BEFORE] [--write]

BEFORE is a commit (by default the one at which the house began to be drawn again); now is the working tree. Lines are
all lines of `verify/**/*.py`; code is what is left without docstrings, comments and blank lines.
"""

from __future__ import annotations

import argparse
import ast
import io
import subprocess
import sys
import tokenize
from collections import Counter
from collections.abc import Iterable, Iterator
from fnmatch import fnmatch
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from benchmarks.page import put_table

ROOT = Path(__file__).resolve().parent.parent
PAGE = ROOT / "benchmarks" / "house.md"
BEFORE = "f625686"
# Files that do what nothing did before: not what was taken out of a larger file, and not what took a file's place.
CAPABILITIES = {
    "recipes found for a target, and hints": (
        "construct/recipes/*",
        "construct/coordinates/stars.py",
        "tasks/recipe*.py",
        "tasks/stuck.py",
        "cli/recipe.py",
    ),
    "a pattern as steps, or groups to collapse": (
        "construct/steps/*",
        "tasks/steps.py",
        "cli/steps.py",
        "show/handout/collapse.py",
    ),
    "letters by a few folds, the performer's pack": (
        "construct/letterforms/[!p_]*",
        "tasks/letters.py",
        "cli/letters.py",
        "show/handout/letter.py",
        "show/handout/pack.py",
    ),
    "several ways to a pattern; what cannot have one": (
        "construct/creases/choices.py",
        "construct/moves/trials.py",
        "construct/creases/refusals.py",
        "construct/moves/joining.py",
        "show/blamed.py",
    ),
    "drawings made regular, set upright, moved so that perpendiculars end": (
        "construct/creases/corridors.py",
        "construct/creases/costs.py",
        "construct/ends/ended.py",
        "construct/coordinates/lattice.py",
        "construct/ends/moving.py",
        "construct/ends/pairs.py",
        "construct/ends/paths.py",
        "construct/coordinates/regular.py",
        "construct/coordinates/symmetry.py",
        "construct/moves/turned.py",
        "construct/creases/walk.py",
    ),
    "repairs of refuted patterns": ("construct/rounded/repairs.py", "tasks/repair.py", "words/repair_findings.py"),
    "the second checker's evidence": ("certificate/second*",),
    "counts by insertion, layer orders one by one": (
        "folding/insertion.py",
        "folding/sweep.py",
        "tasks/orders.py",
    ),
    "layer orders of thousands of panels": (
        "folding/bundles.py",
        "folding/circles.py",
        "folding/lines.py",
        "folding/saturation.py",
    ),
    "what hands meet": ("cutting/hands.py", "cutting/accuracy.py", "words/hands_findings.py"),
    "the paper in motion": ("show/motion.py",),
}


def measured(text: str) -> tuple[int, int]:
    """Lines and lines of code."""
    said: set[int] = set()
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef) and ast.get_docstring(node) is not None:
            said.update(range(node.body[0].lineno, (node.body[0].end_lineno or 0) + 1))
    silent = {tokenize.NEWLINE, tokenize.NL, tokenize.INDENT, tokenize.DEDENT, tokenize.COMMENT, tokenize.ENDMARKER}
    tokens = [t for t in tokenize.generate_tokens(io.StringIO(text).readline) if t.type not in silent]
    code = {line for t in tokens for line in range(t.start[0], t.end[0] + 1)} - said
    return len(text.splitlines()), len(code)


def git(*arguments: str) -> str:
    return subprocess.run(["git", *arguments], cwd=ROOT, capture_output=True, text=True, check=True).stdout


def then(commit: str) -> Iterator[tuple[str, str]]:
    for name in git("ls-tree", "-r", "--name-only", commit, "verify").splitlines():
        if name.endswith(".py"):
            yield name.removeprefix("verify/"), git("show", f"{commit}:{name}")


def now() -> Iterator[tuple[str, str]]:
    for path in sorted((ROOT / "verify").rglob("*.py")):
        yield path.relative_to(ROOT / "verify").as_posix(), path.read_text(encoding="utf-8")


def capability(name: str) -> str:
    """The capability that a file came with, or nothing."""
    return next((what for what, globs in CAPABILITIES.items() if any(fnmatch(name, g) for g in globs)), "")


def room(name: str) -> str:
    return name.partition("/")[0] if "/" in name else "(top)"


def counted(files: Iterable[tuple[str, str]]) -> tuple[Counter[str], Counter[str], Counter[str], Counter[str]]:
    """Lines and code of each room, code of each room that came with a capability, code of each capability."""
    lines: Counter[str] = Counter()
    code: Counter[str] = Counter()
    new: Counter[str] = Counter()
    by_capability: Counter[str] = Counter()
    for name, text in files:
        whole, some = measured(text)
        lines[room(name)] += whole
        code[room(name)] += some
        what = capability(name)
        if what:
            new[room(name)] += some
            by_capability[what] += some
    return lines, code, new, by_capability


def tables(commit: str) -> tuple[str, str]:
    lines, code, _, _ = counted(then(commit))
    lines_now, code_now, new, by_capability = counted(now())
    for each in (lines, code, lines_now, code_now, new):
        each["all"] = each.total()
    heads = "| room | lines then | lines now | code then | code now | of it new capabilities | the rest |\n"
    rows = [heads + "|---|---|---|---|---|---|---|"]
    for name in [*sorted(code_now.keys() - {"all"}), "all"]:
        rest = code_now[name] - new[name]
        numbers = (lines[name], lines_now[name], code[name], code_now[name], new[name], rest)
        rows.append(f"| {name} | " + " | ".join(f"{n:,}" for n in numbers) + " |")
    came = ["| capability | code |\n|---|---|", *(f"| {what} | {by_capability[what]:,} |" for what in CAPABILITIES)]
    return "\n".join(rows), "\n".join(came)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0] if __doc__ else None)
    parser.add_argument("before", nargs="?", default=BEFORE)
    parser.add_argument("--write", action="store_true", help="store the tables in house.md")
    arguments = parser.parse_args()
    for name, table in zip(("rooms", "capabilities"), tables(arguments.before), strict=True):
        print(table, end="\n\n")
        if arguments.write:
            put_table(PAGE, table, name)


if __name__ == "__main__":
    main()
