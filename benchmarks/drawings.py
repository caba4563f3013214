"""How many drawings construct without an option, and what the patterns cost: random drawings, and icons.

    .venv/bin/python benchmarks/drawings.py [--number 30] [--seconds 60] [--log FILE] [--before FILE] [FAMILY ...]

Families: `stars-10`, `stars-20`, `stars-60` (random star-shaped polygons of so many corners), `turned` (figures with a
mirror line, turned by a random angle and rounded), `touching` (two outlines that touch in a point, share part of a
side, or nest), `crossing` (two outlines that cross), `icons` (straight-sided drawings of an open set of icons, 120 mm
wide; `npm pack` fetches it into a temporary folder, and nothing is kept). Prints a row in Markdown for each family.
*Creases* are straight ones, as hands make them, each from end to end across the others; *folds* their pieces between
crossings. *Moved* is of the drawing's width; *seconds* are of work (CPU), also of processes that were started; the time
allowed is of work, too.
`--log` writes what came of each drawing, a JSON object a line; `--before`, such a log of an earlier state, adds of how
many drawings that constructed then the pattern has more folds now, or is not there.
"""

from __future__ import annotations

import argparse
import json
import resource
import subprocess
import sys
import tarfile
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from itertools import islice
from math import cos, pi, sin
from multiprocessing import active_children
from multiprocessing.connection import Connection
from os import sysconf
from pathlib import Path
from random import Random
from statistics import median

import verify
from verify.exact import effort
from verify.pattern import limits
from verify.pattern.document import Document
from verify.pattern.limits import Limits
from verify.pattern.source import NotRead
from verify.pattern.svg import target_from_svg
from verify.tasks.construct import construct

Place = tuple[float, float]
WIDTH = 100.0
ICONS = ("@material-design-icons/svg", "package/sharp")  # Apache 2.0; many of its drawings have straight sides


@dataclass(frozen=True)
class Outcome:
    """What came of one drawing. `moved` is of its width, `shortest` in mm."""

    family: str
    name: str
    verdict: str
    seconds: float
    folds: int = 0
    layers: int = 0
    shortest: float | None = None
    moved: float = 0.0
    reason: str = ""
    creases: int = 0


def document(outlines: list[list[Place]], decimals: int) -> Document:
    """Closed outlines in a sheet with a margin, the coordinates rounded."""
    xs = [x for outline in outlines for x, _ in outline]
    ys = [y for outline in outlines for _, y in outline]
    size = WIDTH / max(max(xs) - min(xs), max(ys) - min(ys))
    margin = WIDTH / 4
    width, height = (round(size * (max(v) - min(v)) + 2 * margin) for v in (xs, ys))
    points: dict[str, Place] = {"a": (0, 0), "b": (width, 0), "c": (width, height), "d": (0, height)}
    names: dict[Place, str] = {}
    loops = []
    for outline in outlines:
        places = [
            tuple(round(size * (v - min(vs)) + margin, decimals) for v, vs in ((x, xs), (y, ys))) for x, y in outline
        ]
        loops.append([names.setdefault((x, y), f"t{len(names)}") for x, y in places])
    points |= {name: place for place, name in names.items()}
    keys = {
        "format": "creaseproof-pattern/1",
        "points": {name: [str(x), str(y)] for name, (x, y) in points.items()},
        "sheet": {"outline": ["a", "b", "c", "d"]},
        "target": {"loops": loops},
    }
    read = verify.read(keys)
    if not isinstance(read, Document):
        raise TypeError("a target is a pattern document")
    return read


def star(random: Random, corners: int) -> list[Place]:
    while True:
        angles = sorted(random.uniform(0, 2 * pi) for _ in range(corners))
        gaps = [b - a for a, b in zip(angles, [*angles[1:], angles[0] + 2 * pi], strict=True)]
        if min(gaps) > 0.2 * 2 * pi / corners and max(gaps) < pi:
            return [(r * cos(a), r * sin(a)) for a in angles for r in [random.uniform(0.4, 1)]]


def mirrored(random: Random) -> list[Place]:
    """Half a star, its mirror image, and a turn of the whole."""
    angles = sorted(random.uniform(0.15, pi - 0.15) for _ in range(random.randint(2, 5)))
    half = [(r * cos(a), r * sin(a)) for a in angles for r in [random.uniform(0.4, 1)]]
    whole = [(random.uniform(0.5, 1), 0.0), *half, (-random.uniform(0.5, 1), 0.0), *((x, -y) for x, y in half[::-1])]
    turn = random.uniform(0, 2 * pi)
    return [(x * cos(turn) - y * sin(turn), x * sin(turn) + y * cos(turn)) for x, y in whole]


def pair(random: Random, kind: int) -> list[list[Place]]:
    """Two outlines: a corner on a side (0), part of a side in common (1), one inside the other (2)."""
    w, h = random.randint(3, 9), random.randint(3, 9)
    y = random.randint(1, h - 1)
    reach = w + random.randint(2, 8)
    if kind == 2:
        return [[(0, 0), (w, 0), (w, h), (0, h)], [(w / 3, h / 3), (2 * w / 3, h / 4), (w / 2, 3 * h / 4)]]
    with_point: list[Place] = [(0, 0), (w, 0), (w, y), (w, h), (0, h)]
    if kind == 1:
        return [with_point, [(w, 0), (reach, random.randint(0, y)), (w, y)]]
    return [with_point, [(w, y), (reach, y + random.randint(1, 6)), (reach, y - random.randint(1, 6))]]


def crossing(random: Random) -> list[list[Place]]:
    """Two stars of three to five corners, one moved until their outlines cross."""
    one, other = (star(random, random.randint(3, 5)) for _ in range(2))
    along, turn = random.uniform(0.5, 1), random.uniform(0, 2 * pi)
    return [one, [(x + along * cos(turn), y + along * sin(turn)) for x, y in other]]


def drawn(family: str) -> Iterator[tuple[str, Document]]:
    """The drawings of a family with their names, without end but for icons."""
    if family == "icons":
        yield from icons()
        return
    seed = 0
    while True:
        random = Random(seed)
        if family == "turned":
            yield str(seed), document([mirrored(random)], 3)
        elif family == "touching":
            yield str(seed), document(pair(random, seed % 3), 2)
        elif family == "crossing":
            yield str(seed), document(crossing(random), 2)
        else:
            yield str(seed), document([star(random, int(family.removeprefix("stars-")))], 2)
        seed += 1


def icons() -> Iterator[tuple[str, Document]]:
    package, folder = ICONS
    with tempfile.TemporaryDirectory() as place:
        subprocess.run(["npm", "pack", "--silent", package], cwd=place, check=True, stdout=subprocess.DEVNULL)
        with tarfile.open(next(Path(place).glob("*.tgz"))) as packed:
            packed.extractall(place, filter="data")
        paths = sorted((Path(place) / folder).rglob("*.svg"))
        Random(1).shuffle(paths)
        for path in paths:
            try:
                yield path.stem, target_from_svg(path, width="120mm")
            except NotRead:  # curves
                continue


def in_work() -> None:
    """Limits of seconds, from now on, of work (CPU), so that they mean the same however busy the computer is."""
    limits.monotonic = effort.monotonic = time.process_time  # type: ignore[attr-defined]
    Connection.poll = until_worked  # type: ignore[method-assign]


POLL = Connection.poll


def until_worked(answer: Connection, seconds: float | None = 0.0) -> bool:
    """Wait for the answer of a process that was started, until it has worked for so many seconds."""
    while not POLL(answer, 0.05):
        if seconds is not None and all(worked(one.pid) > seconds for one in active_children()):
            return False
    return True


def worked(process: int | None) -> float:
    """Seconds of CPU that a process used so far (proc(5), fields 14 and 15 of its status)."""
    fields = Path(f"/proc/{process}/stat").read_text(encoding="utf-8").rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / sysconf("SC_CLK_TCK")


def work() -> float:
    """Seconds of CPU so far, of this process and of those that it started."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(one.ru_utime + one.ru_stime for one in used)


def outcome(family: str, name: str, one: Document, seconds: float) -> Outcome:
    start = work()
    made = construct(one, limits=Limits(seconds=seconds))
    took = work() - start
    if made.verdict != "certified" or made.proposal is None:
        return Outcome(family, name, made.verdict, took, reason=made.reason)
    width = 120.0 if family == "icons" else WIDTH
    moved = 0.0 if made.moved is None else made.moved.greatest / width
    shortest = made.proposal.hands.shortest
    size = None if shortest is None else shortest.size
    folds, layers, creases = made.proposal.folds, made.proposal.layers, made.proposal.hands.creases
    return Outcome(family, name, made.verdict, took, folds, layers, size, moved, creases=creases)


def row(family: str, found: list[Outcome], before: dict[tuple[str, str], Outcome]) -> str:
    good = [one for one in found if one.verdict == "certified"]
    columns = [
        [one.creases for one in good],
        [one.folds for one in good],
        [one.shortest for one in good if one.shortest is not None],
        [100 * one.moved for one in good],
        [one.seconds for one in found],
    ]
    middle = [f"{median(v):.3g}" if v else "–" for v in columns]
    reasons = Counter(one.reason[:70] for one in found if one.verdict != "certified")
    why = "; ".join(f"{n} × {text}" for text, n in reasons.most_common(3))
    cells = [family, str(len(found)), str(len(good)), *middle, why]
    if before:
        old = [(before[key], one) for one in found if (key := (one.family, one.name)) in before]
        lost = sum(a.verdict == "certified" and (b.verdict != "certified" or b.folds > a.folds) for a, b in old)
        cells.insert(3, f"{sum(a.verdict == 'certified' for a, _ in old)}")
        cells.append(str(lost))
    return f"| {' | '.join(cells)} |"


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--number", type=int, default=30)
    parser.add_argument("--seconds", type=float, default=60)
    parser.add_argument("--log", type=Path)
    parser.add_argument("--before", type=Path)
    parser.add_argument("families", nargs="*", metavar="FAMILY")
    arguments = parser.parse_args()
    in_work()
    before = {}
    if arguments.before:
        for line in arguments.before.read_text(encoding="utf-8").splitlines():
            one = Outcome(**json.loads(line))
            before[one.family, one.name] = one
    heads = [
        "drawings",
        "of",
        "certified",
        "creases",
        "folds",
        "shortest crease, mm",
        "moved, %",
        "CPU seconds",
        "the others",
    ]
    if before:
        heads.insert(3, "before")
        heads.append("lost, or more folds")
    print(f"| {' | '.join(heads)} |\n|{'---|' * len(heads)}")
    for family in arguments.families or ["stars-10", "stars-20", "stars-60", "turned", "touching", "crossing", "icons"]:
        found = []
        for name, one in islice(drawn(family), arguments.number):
            found.append(outcome(family, name, one, arguments.seconds))
            print(json.dumps(asdict(found[-1])), file=sys.stderr, flush=True)
            if arguments.log:
                with arguments.log.open("a", encoding="utf-8") as log:
                    log.write(json.dumps(asdict(found[-1])) + "\n")
        print(row(family, found, before), flush=True)


if __name__ == "__main__":
    main()
