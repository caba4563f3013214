"""Whole commands, here and at an earlier commit, as a table in Markdown: processor seconds now over those then.

    git worktree add --detach BEFORE f625686
    python -m venv BEFORE/.venv && BEFORE/.venv/bin/pip install -e 'BEFORE[print]'
    python benchmarks/commands.py BEFORE [COMMAND ...] [--rounds 5] [--write]

With --write the table goes into benchmarks/speed.md. Each entry is the median of a few rounds in turn, each a fresh
process from start to end, imports and processes of its own included; modules are compiled by a first round that does
not count. Both read the documents of the earlier commit: patterns, for `construct` their targets alone, for the
commands of `RECIPES` the recipe of that name.
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from benchmarks.page import put_table

ROOT = Path(__file__).resolve().parent.parent
PATTERNS = ("kite", "letter-l", "letter-t", "star", "ring")
RECIPES = ("fold", "tolerance")
OUTPUT = {
    "report": "report.html",
    "handout": "handout.pdf",
    "picture": "pictures",
    "export": "sheet.svg",
    "construct": "pattern.toml",
}
COMMANDS = ("help", "certify", "explain", "audit", "count", *OUTPUT, *RECIPES)
NAMED = {"star": "star-exact"}  # what a pattern's recipe is called, if not as the pattern


def arguments(command: str, name: str, before: Path, folder: Path) -> list[str] | None:
    """What follows `creaseproof`; None where there is no such document."""
    if command == "help":
        return ["--help"]
    proofs = before / "proofs"
    document = proofs / "certified" / f"{name}.toml"
    if command in RECIPES:
        document = proofs / "recipes" / f"{NAMED.get(name, name)}.toml"
    if not document.exists():
        return None
    if command == "construct":
        target = folder / f"{name}.json"
        target.write_text(json.dumps(target_of(tomllib.loads(document.read_text(encoding="utf-8")))))
        document = target
    more = [str(proofs / "certificates" / f"{name}.certificate.json")] if command == "audit" else []
    return [command, str(document), *more, *(["-o", OUTPUT[command]] if command in OUTPUT else [])]


def target_of(keys: dict[str, Any]) -> dict[str, Any]:
    """A document's keys without its creases, and without the points that only those name."""
    used = json.dumps([keys["sheet"], keys["target"]])
    points = {name: place for name, place in keys["points"].items() if json.dumps(name) in used}
    return {key: value for key, value in keys.items() if key != "creases"} | {"points": points}


def seconds(checkout: Path, told: list[str]) -> float:
    """Processor seconds of a command, with those of processes that it starts."""
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"} | {"PYTHONPATH": ""}
    with tempfile.TemporaryDirectory() as place:
        earlier = resource.getrusage(resource.RUSAGE_CHILDREN)
        command = [str(checkout / ".venv" / "bin" / "creaseproof"), *told]
        done = subprocess.run(command, cwd=place, env=environment, check=False, capture_output=True, text=True)
        later = resource.getrusage(resource.RUSAGE_CHILDREN)
    if done.returncode:
        raise SystemExit(f"{' '.join(command)}: status {done.returncode}\n{done.stderr}")
    return later.ru_utime + later.ru_stime - earlier.ru_utime - earlier.ru_stime


def rows(before: Path, rounds: int, commands: list[str], folder: Path) -> Iterator[str]:
    for command in commands:
        entries = []
        for name in PATTERNS[:1] if command == "help" else PATTERNS:
            told = arguments(command, name, before, folder)
            if told is None:
                entries.append("–")
                continue
            times = [(seconds(before, told), seconds(ROOT, told)) for _ in range(rounds + 1)][1:]
            then, now = map(statistics.median, zip(*times, strict=True))
            entries.append(f"{now / then:.2f}")
        entries += [""] * (len(PATTERNS) - len(entries))
        yield f"| `{command}` | {' | '.join(entries)} |"


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n", maxsplit=1)[0])
    parser.add_argument("before", type=Path, help="a checkout of the earlier commit, with its .venv")
    parser.add_argument("commands", nargs="*", default=list(COMMANDS), metavar="COMMAND")
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--write", action="store_true", help="put the table into benchmarks/speed.md")
    chosen = parser.parse_args()
    lines = [f"| command | {' | '.join(PATTERNS)} |\n|---|{'---|' * len(PATTERNS)}"]
    print(lines[0], flush=True)
    with tempfile.TemporaryDirectory() as folder:
        for line in rows(chosen.before.resolve(), chosen.rounds, chosen.commands, Path(folder)):
            lines.append(line)
            print(line, flush=True)
    if chosen.write:
        put_table(ROOT / "benchmarks" / "speed.md", "\n".join(lines), "commands")


if __name__ == "__main__":
    main()
