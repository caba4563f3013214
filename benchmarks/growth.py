"""How time and memory grow from a 4×4 to a 20×20 Miura, as a table in Markdown.

    python benchmarks/growth.py [--rounds 3] [--write] [SIZE…]

With --write the table goes into benchmarks/speed.md.

Each entry is the median of a few rounds. `certify` and `audit` are the commands as a user runs them, each in a fresh
process: seconds from start to end, imports included; memory is the greatest resident size of either. `certify` includes
the kernel's check of what it writes. The ratio compares the geometry alone, from a document to its crossing conditions,
with the same in float64 (`yardstick.py`), in one further process that takes both in turn.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from benchmarks.page import put_table

ROOT = Path(__file__).resolve().parent.parent
SIZES = (4, 8, 12, 16, 20)
HEAD = (
    "| Miura | faces | overlaps | certify, s | audit, s | geometry, s | float64, s | exact / float64 | peak, MB |\n"
    "|---|---|---|---|---|---|---|---|---|"
)


def run(*arguments: str) -> tuple[float, float]:
    """Seconds and peak megabytes of a fresh Python process; CalledProcessError unless it exits with 0."""
    command = [sys.executable, *arguments]
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    start = time.perf_counter()
    child = subprocess.Popen(command, cwd=ROOT, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    error = child.stderr.read() if child.stderr else b""
    _, status, usage = os.wait4(child.pid, 0)
    seconds = time.perf_counter() - start
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode:
        raise subprocess.CalledProcessError(child.returncode, command, stderr=error)
    unit = 1 if sys.platform == "darwin" else 1024
    return seconds, usage.ru_maxrss * unit / 1024**2


def geometry(size: int, rounds: int, document: str, output: str) -> None:
    """In a process of its own: write the document; count, and time the exact and the float64 geometry."""
    from benchmarks import measure, yardstick
    from verify.pattern.families import miura
    from verify.pattern.write import write

    pattern = miura(size, size)
    write(pattern, document)
    counts = measure.size(measure.exact_conditions(pattern))
    if counts != measure.size(yardstick.conditions(pattern)):
        raise SystemExit("the float64 pipeline came to other numbers")
    exact, floats = measure.medians(
        rounds, lambda: measure.exact_conditions(pattern), lambda: yardstick.conditions(pattern)
    )
    Path(output).write_text(json.dumps(counts | {"exact": exact, "float64": floats}))


def row(size: int, rounds: int, folder: Path) -> str:
    document, certificate, found = (str(folder / name) for name in ("miura.toml", "certificate.json", "geometry.json"))
    run(__file__, "--geometry", document, found, "--rounds", str(max(rounds, 5)), str(size))
    counts = json.loads(Path(found).read_text())
    certify = [run("-m", "verify.cli", "certify", document, "-o", certificate) for _ in range(rounds)]
    audit = [run("-m", "verify.cli", "audit", document, certificate) for _ in range(rounds)]
    peak = statistics.median(max(one[1], two[1]) for one, two in zip(certify, audit, strict=True))
    times = [statistics.median(x for x, _ in runs) for runs in (certify, audit)]
    return (
        f"| {size}×{size} | {counts['faces']} | {counts['overlaps']:,} | {times[0]:.2f} | {times[1]:.2f} "
        f"| {counts['exact']:.3f} | {counts['float64']:.3f} | {counts['exact'] / counts['float64']:.2f} | {peak:.0f} |"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n", maxsplit=1)[0])
    parser.add_argument("sizes", nargs="*", type=int, default=SIZES, metavar="SIZE")
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--write", action="store_true", help="put the table into benchmarks/speed.md")
    parser.add_argument("--geometry", nargs=2, metavar=("DOCUMENT", "OUTPUT"), help=argparse.SUPPRESS)
    chosen = parser.parse_args()
    if chosen.geometry:
        geometry(chosen.sizes[0], chosen.rounds, *chosen.geometry)
        return
    lines = [HEAD]
    print(HEAD, flush=True)
    with tempfile.TemporaryDirectory() as folder:
        for size in chosen.sizes:
            lines.append(row(size, chosen.rounds, Path(folder)))
            print(lines[-1], flush=True)
    if chosen.write:
        put_table(ROOT / "benchmarks" / "speed.md", "\n".join(lines))


if __name__ == "__main__":
    main()
