"""The smallest drawings that `construct` leaves undecided: undecided ones, made smaller as long as they stay so.

    .venv/bin/python benchmarks/smallest.py [--seconds 10] [--family icons] [--number 60] [NAME ...]

Takes the drawings of a family of `benchmarks/drawings.py` that are named (all of `--number`, if none is), and of each
that is undecided drops outlines, then corners, one after the other, then rounds what is left to whole millimetres, as
long as the rest is undecided, too. Prints how many lines are left, the reason, and the corners of the outlines in
millimetres. Seconds are of work (CPU); a verdict within them is the same on every computer of that speed.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from itertools import islice
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from benchmarks.drawings import drawn, in_work
from verify.pattern.document import Document
from verify.pattern.limits import Limits
from verify.pattern.source import Malformed
from verify.tasks.construct import construct


def reason(document: Document, seconds: float) -> str:
    """Why a drawing is undecided; nothing if it is not."""
    try:
        made = construct(document, limits=Limits(seconds=seconds))
    except Malformed:
        return ""
    return made.reason if made.verdict == "undecided" else ""


def smaller(document: Document) -> Iterator[Document]:
    """The drawing without one of its outlines, and with one corner less."""
    loops = document.loops
    for i in range(len(loops)):
        if len(loops) > 1:
            yield replace(document, loops=loops[:i] + loops[i + 1 :], raw=None)
    for i, loop in enumerate(loops):
        for k in range(len(loop)):
            if len(loop) > 3:
                yield replace(document, loops=(*loops[:i], loop[:k] + loop[k + 1 :], *loops[i + 1 :]), raw=None)


def rounded(document: Document) -> Document:
    """The drawing in whole millimetres."""
    names = {name for loop in document.loops for name in loop}
    points = {
        name: (str(round(Fraction(x))), str(round(Fraction(y)))) if name in names else (x, y)
        for name, (x, y) in document.points.items()
    }
    return replace(document, points=points, raw=None)


def smallest(document: Document, seconds: float) -> tuple[Document, str] | None:
    """As small as this one gets, and why it is undecided; None if it is not."""
    why = reason(document, seconds)
    if not why:
        return None
    shrinks = True
    while shrinks:
        shrinks = False
        for one in smaller(document):
            said = reason(one, seconds)
            if said:
                document, why, shrinks = one, said, True
                break
    said = reason(rounded(document), seconds)
    return (rounded(document), said) if said else (document, why)


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--seconds", type=float, default=10)
    parser.add_argument("--family", default="icons")
    parser.add_argument("--number", type=int, default=60)
    parser.add_argument("names", nargs="*", metavar="NAME")
    arguments = parser.parse_args()
    in_work()
    for name, document in islice(drawn(arguments.family), arguments.number):
        if arguments.names and name not in arguments.names:
            continue
        found = smallest(document, arguments.seconds)
        if found is None:
            continue
        left, why = found
        outlines = "; ".join(" ".join(",".join(left.points[p]) for p in loop) for loop in left.loops)
        print(f"{name}: {len(left.target_lines())} lines\n  {outlines}\n  {why}", flush=True)


if __name__ == "__main__":
    main()
