"""Counting the shipped patterns, here and at an earlier commit, as a table in Markdown.

    git worktree add --detach BEFORE f625686
    python -m venv BEFORE/.venv && BEFORE/.venv/bin/pip install -e BEFORE
    python benchmarks/counts.py BEFORE [--rounds 3] [--write]

With --write the table goes into benchmarks/speed.md. It has the patterns that took a second there. Each entry is the
processor time of one call, from the document's file to its three numbers, in a process that has made the same call
before: the median of a few rounds in turn. What was not done after a minute is not waited for.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from benchmarks.page import put_table

ROOT = Path(__file__).resolve().parent.parent
SECONDS = 60
HEAD = (
    "| pattern | layer orders | assignments that fold | before, s | now, s | before / now |\n|---|---|---|---|---|---|"
)
CALL = """
import json, sys
from time import process_time
from verify.folding.count import count
from verify.pattern.limits import Limits

def timed():
    start = process_time()
    found = count(sys.argv[1], Limits(seconds=float(sys.argv[2])))
    return process_time() - start, found

seconds, found = timed()
if not found.reached:
    seconds, found = timed()
print(json.dumps([seconds, [found.orders, found.folding, found.at_vertices], list(found.reached)]))
"""


def timed(checkout: Path, document: Path) -> tuple[float, list[int | None], list[str]]:
    """Seconds of a call in a checkout, its three numbers and the limits it reached."""
    python = checkout / ".venv" / "bin" / "python"
    environment = os.environ | {"PYTHONPATH": str(checkout)}
    command = [str(python), "-c", CALL, str(document), str(SECONDS)]
    found = subprocess.run(command, cwd=checkout, env=environment, check=True, capture_output=True, text=True)
    seconds, numbers, reached = json.loads(found.stdout)
    return seconds, numbers, reached


def rows(before: Path, rounds: int) -> Iterator[str]:
    for earlier in sorted((before / "proofs" / "certified").iterdir()):
        document = ROOT / "proofs" / "certified" / earlier.name
        then, numbers, reached = timed(before, document)
        if reached:
            now, (orders, folding, _), _ = timed(ROOT, document)
            yield f"| {document.stem} | {orders:,} | {folding:,} | not in {SECONDS} | {now:.2f} | |"
        elif then >= 1:
            times = [(timed(before, document)[0], timed(ROOT, document)[0]) for _ in range(rounds)]
            then, now = map(statistics.median, zip(*times, strict=True))
            if timed(ROOT, document)[1] != numbers:
                raise SystemExit(f"{document.stem}: not the numbers of before, {numbers}")
            yield f"| {document.stem} | {numbers[0]:,} | {numbers[1]:,} | {then:.2f} | {now:.3f} | {then / now:.0f} |"


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n", maxsplit=1)[0])
    parser.add_argument("before", type=Path, help="a checkout of the earlier commit, with its .venv")
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--write", action="store_true", help="put the table into benchmarks/speed.md")
    chosen = parser.parse_args()
    lines = [HEAD]
    print(HEAD, flush=True)
    for line in rows(chosen.before.resolve(), chosen.rounds):
        lines.append(line)
        print(line, flush=True)
    if chosen.write:
        put_table(ROOT / "benchmarks" / "speed.md", "\n".join(lines), "before")


if __name__ == "__main__":
    main()
