"""How time and memory grow with the pattern, as tables in Markdown.

    python benchmarks/growth.py [--rounds 3] [--write] [miura] [shipped] [strip] [twists] [stamps] [counts]

With --write the tables go into benchmarks/speed.md.

Each entry is the median of a few rounds. `certify` and `audit` are the commands as a user runs them, each in a fresh
process: processor seconds, imports included; memory is the greatest resident size of either. `certify` includes the
kernel's check of what it writes. For Miura patterns the ratio compares the geometry alone, from a document to its
crossing conditions, with the same in float64 (`yardstick.py`), in one further process that takes both in turn; so for
some shipped patterns. Strips and twists have a few layers everywhere, maps of stamps with all creases open
nearly all; the exponent of growth is that of certify and audit together, from the row above, in faces and overlaps.
Counts are of layer orders alone, each in a process of its own that checks the number against the published one.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from math import log, prod
from pathlib import Path
from time import process_time

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))


from benchmarks.page import put_table
from tests.families import miura, twists
from verify.pattern.document import Document
from verify.pattern.families import stamps, strip

ROOT = Path(__file__).resolve().parent.parent
SIZES = {
    "miura": (4, 8, 12, 16, 20, 30, 60),
    "strip": (1_000, 2_500, 5_000, 9_999),
    "twists": (8, 16, 32, 49),
    "stamps": (10, 12, 14, 16, 20, 25, 30),
}
YARDSTICK = 20
SHIPPED = ("kite", "fish", "letter-l", "letter-t", "lantern-twist", "star")
COUNTS = {  # rows and columns of stamps; the sequence of OEIS, and its number
    (3, 6): ("A001416", 2_016_432),
    (5, 5): ("A001418", 186_086_600),
    (2, 12): ("A001415", 266_680_992),
    (1, 20): ("A000136", 2_050_228_360),
}
COMPILED = Path(tempfile.gettempdir()) / "creaseproof-growth"
HEADS = {
    "miura": (
        "| Miura | faces | overlaps | certify, s | audit, s | geometry, s | float64, s | exact / float64 | peak, MB |\n"
        "|---|---|---|---|---|---|---|---|---|"
    ),
    "shipped": "| pattern | degree | geometry, ms | float64, ms | exact / float64 |\n|---|---|---|---|---|",
    "counts": "| map | layer orders | OEIS | seconds |\n|---|---|---|---|",
}
for _family, _name in (("strip", "strip"), ("twists", "twists"), ("stamps", "map")):
    HEADS[_family] = f"| {_name} | faces | overlaps | certify, s | audit, s | peak, MB | exponent |\n{7 * '|---'}|"


def pattern_of(family: str, size: int) -> Document:
    """Strips of panels 3 and 1 long in turn lie over their next but two at most."""
    if family == "strip":
        return strip([(3, 1)[i % 2] for i in range(size)])
    return {"twists": twists, "stamps": stamps, "miura": miura}[family](size, size)


def run(*arguments: str) -> tuple[float, float]:
    """Processor seconds and peak megabytes of a fresh Python process; CalledProcessError unless it exits with 0."""
    command = [sys.executable, *arguments]
    environment = os.environ | {"PYTHONPATH": str(ROOT), "PYTHONPYCACHEPREFIX": str(COMPILED)}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    child = subprocess.Popen(command, cwd=ROOT, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    error = child.stderr.read() if child.stderr else b""
    _, status, usage = os.wait4(child.pid, 0)
    seconds = usage.ru_utime + usage.ru_stime
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode:
        raise subprocess.CalledProcessError(child.returncode, command, stderr=error)
    unit = 1 if sys.platform == "darwin" else 1024
    return seconds, usage.ru_maxrss * unit / 1024**2


def geometry(family: str, size: int, rounds: int, document: str, output: str) -> None:
    """In a process of its own: write the document; count, and time the exact and the float64 geometry."""
    from verify.pattern.write import write

    pattern = pattern_of(family, size)
    write(pattern, document)
    found = measured(pattern, rounds if family == "miura" and size <= YARDSTICK else 0)
    Path(output).write_text(json.dumps(found))


def measured(pattern: Document, rounds: int) -> dict[str, float]:
    """How many of everything there are, and the seconds of the exact and of the float64 geometry, in turn."""
    from benchmarks import measure, yardstick

    conditions = measure.exact_conditions(pattern)
    found = {**measure.size(conditions), "exact": 0.0, "float64": 0.0}
    if rounds:
        if found | measure.size(yardstick.conditions(pattern)) != found:
            raise SystemExit("the float64 pipeline came to other numbers")
        found["exact"], found["float64"] = measure.medians(
            max(rounds, 15), lambda: measure.exact_conditions(pattern), lambda: yardstick.conditions(pattern)
        )
    return {**found, "degree": conditions.overlaps.subdivision.drawing.field.degree}


def shipped(rounds: int) -> Iterator[str]:
    from verify.pattern.recipe import load_any

    for name in SHIPPED:
        found = measured(load_any(ROOT / "proofs" / "certified" / f"{name}.toml"), max(rounds, 31))
        exact, floats = 1000 * found["exact"], 1000 * found["float64"]
        yield f"| {name} | {found['degree']} | {exact:.1f} | {floats:.1f} | {exact / floats:.2f} |"


def orders(rows: int, columns: int, output: str) -> None:
    """In a process of its own: count the layer orders of a map of stamps with all creases open."""
    from verify.folding.count import parts_of
    from verify.folding.crossing import crossing_conditions
    from verify.folding.foldmap import fold_map
    from verify.folding.overlaps import Overlaps
    from verify.pattern.arrangement import subdivide
    from verify.pattern.drawing import draw

    start = process_time()
    parts = parts_of(crossing_conditions(Overlaps(fold_map(subdivide(draw(stamps(columns, rows)))))))
    number = prod(part.orders(10**12, lambda: None) for part in parts)
    Path(output).write_text(json.dumps({"number": number, "seconds": process_time() - start}))


def counts(folder: Path) -> Iterator[str]:
    output = str(folder / "orders.json")
    for (rows, columns), (sequence, number) in COUNTS.items():
        run(__file__, "--orders", str(rows), str(columns), output)
        found = json.loads(Path(output).read_text())
        if found["number"] != number:
            raise SystemExit(f"found {found['number']} orders of {rows}×{columns} stamps; expected {number}")
        yield f"| {rows}×{columns} | {number:,} | {sequence} | {found['seconds']:.1f} |"


def tables(family: str, rounds: int, folder: Path) -> Iterator[str]:
    if family == "shipped":
        return shipped(rounds)
    return counts(folder) if family == "counts" else rows(family, rounds, folder)


def rows(family: str, rounds: int, folder: Path) -> Iterator[str]:
    document, certificate, found = (str(folder / name) for name in (f"{family}.toml", "c.json", "geometry.json"))
    before: tuple[float, float] | None = None
    for size in SIZES[family]:
        run(__file__, "--geometry", family, str(size), document, found, "--rounds", str(rounds))
        counts = json.loads(Path(found).read_text())
        certify = [run("-m", "verify.cli", "certify", document, "-o", certificate, "--force") for _ in range(rounds)]
        audit = [run("-m", "verify.cli", "audit", document, certificate) for _ in range(rounds)]
        peak = statistics.median(max(one[1], two[1]) for one, two in zip(certify, audit, strict=True))
        times = [statistics.median(x for x, _ in runs) for runs in (certify, audit)]
        name = f"{size:,}" if family == "strip" else f"{size}×{size}"
        text = f"| {name} | {counts['faces']:,} | {counts['overlaps']:,} | {times[0]:.2f} | {times[1]:.2f} "
        if family == "miura":
            exact, floats = counts["exact"], counts["float64"]
            text += f"| {exact:.3f} | {floats:.3f} | {exact / floats:.2f} " if floats else "| | | "
            yield f"{text}| {peak:.0f} |"
            continue
        here = (counts["faces"] + counts["overlaps"], sum(times))
        growth = "" if before is None else f"{log(here[1] / before[1]) / log(here[0] / before[0]):.2f}"
        yield f"{text}| {peak:.0f} | {growth} |"
        before = here


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n", maxsplit=1)[0])
    parser.add_argument("families", nargs="*", default=list(HEADS), metavar="FAMILY")
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--write", action="store_true", help="put the tables into benchmarks/speed.md")
    parser.add_argument("--geometry", nargs=4, help=argparse.SUPPRESS)
    parser.add_argument("--orders", nargs=3, help=argparse.SUPPRESS)
    chosen = parser.parse_args()
    if chosen.geometry:
        family, size, document, output = chosen.geometry
        geometry(family, int(size), chosen.rounds, document, output)
        return
    if chosen.orders:
        orders(int(chosen.orders[0]), int(chosen.orders[1]), chosen.orders[2])
        return
    star = str(ROOT / "proofs" / "certified" / "star.toml")
    run("-m", "verify.cli", "certify", star)  # so that modules are compiled, as an installer does it
    star_seconds = statistics.median(run("-m", "verify.cli", "certify", star)[0] for _ in range(max(7, chosen.rounds)))
    print(f"certify of the star: {star_seconds:.2f} s", flush=True)
    with tempfile.TemporaryDirectory() as folder:
        for family in chosen.families:
            lines = [HEADS[family]]
            print(lines[0], flush=True)
            for line in tables(family, chosen.rounds, Path(folder)):
                lines.append(line)
                print(line, flush=True)
            if chosen.write:
                put_table(ROOT / "benchmarks" / "speed.md", "\n".join(lines), family)


if __name__ == "__main__":
    main()
