"""How many everyday figures have a recipe, with paper all round, and where the sheet may end at sides of the figure.

    .venv/bin/python benchmarks/everyday.py [--seconds S] [--write]

Twenty-five figures as a maker club draws them, by hand and in whole millimetres, not made for folding. A recipe counts
if the kernel accepted its certificate; seconds allowed are of the processor. --write puts the table into speed.md.
"""

from __future__ import annotations

import argparse
import sys
from fractions import Fraction
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

import verify
from benchmarks.drawings import in_work
from benchmarks.page import put_table
from verify.pattern.document import Document
from verify.tasks.recipe_found import RecipeFound

Place = tuple[int, int]
_MARGIN = 10


def mirrored(*half: Place) -> list[Place]:
    """An outline that is its own mirror image in x = 0, from its right half, top to bottom."""
    return [*half, *((-x, y) for x, y in reversed(half) if x)]


FIGURES: dict[str, list[list[Place]]] = {
    "anchor": [
        mirrored((0, 50), (5, 50), (5, 30), (15, 30), (15, 24), (5, 24), (5, -20), (18, -12), (22, -18), (0, -32))
    ],
    "arrow": [mirrored((0, 40), (25, 10), (10, 10), (10, -30))],
    "bell": [mirrored((0, 40), (8, 36), (12, 10), (20, -6), (20, -12), (5, -12), (5, -18))],
    "boat": [
        [(-40, 0), (40, 0), (25, -20), (-25, -20)],
        [(-2, 5), (-2, 60), (-30, 5)],
        [(4, 5), (4, 50), (28, 5)],
    ],
    "bolt": [[(10, 50), (-15, 5), (0, 5), (-10, -40), (20, 15), (4, 15), (20, 50)]],
    "bow": [mirrored((0, 5), (25, 18), (25, -18), (0, -5))],
    "cat": [mirrored((0, 20), (8, 20), (20, 35), (20, 0), (10, -15))],
    "crown": [mirrored((0, 30), (10, 15), (25, 35), (30, 0))],
    "fir": [mirrored((0, 60), (15, 40), (8, 40), (22, 20), (10, 20), (30, 0), (5, 0), (5, -10))],
    "gothic window": [mirrored((0, 50), (15, 35), (20, 20), (20, -30))],
    "gull": [mirrored((0, 0), (12, 10), (35, 4), (14, 2), (0, -6))],
    "heart": [mirrored((0, 20), (15, 35), (30, 35), (40, 25), (40, 10), (0, -30))],
    "hexagon": [mirrored((0, 30), (26, 15), (26, -15), (0, -30))],
    "house with a door": [mirrored((0, 50), (30, 20), (30, -20)), [(-6, -20), (-6, 0), (6, 0), (6, -20)]],
    "key": [mirrored((0, 50), (10, 46), (14, 36), (10, 26), (3, 24), (3, -20))],
    "lantern": [
        mirrored((0, 40), (6, 40), (6, 34), (18, 26), (18, -16), (6, -24), (6, -30)),
        mirrored((0, 16), (8, 16), (8, -8)),
    ],
    "lighthouse": [mirrored((0, 60), (10, 50), (10, 40), (14, 40), (14, 34), (9, 34), (14, -30))],
    "mug": [
        [(-20, -20), (-20, 20), (20, 20), (20, 10), (32, 10), (32, -12), (20, -12), (20, -20)],
        [(20, 4), (26, 4), (26, -6), (20, -6)],
    ],
    "pier": [[(0, 0), (10, 0), (10, 20), (25, 35), (18, 42), (0, 25)]],
    "plus": [mirrored((0, 30), (10, 30), (10, 10), (30, 10), (30, -10), (10, -10), (10, -30))],
    "sail": [[(0, 0), (60, 0), (60, 10), (0, 40)]],
    "stairs": [
        [(0, 0), (40, 0), (40, 40), (30, 40), (30, 30), (20, 30), (20, 20), (10, 20), (10, 10), (0, 10)],
    ],
    "swallow": [mirrored((0, 10), (15, 20), (40, 30), (20, 5), (15, -25), (0, -5))],
    "tulip": [mirrored((0, 40), (10, 28), (20, 40), (20, 20), (10, 10), (3, 10), (3, -30))],
    "whale": [
        [(-40, 0), (-30, 15), (0, 20), (25, 8), (35, 20), (45, 22), (40, 5), (30, -5), (0, -15), (-35, -12)],
    ],
}


def document(name: str) -> Document:
    """A figure on a sheet with paper all round."""
    loops = FIGURES[name]
    xs, ys = [x for loop in loops for x, _ in loop], [y for loop in loops for _, y in loop]
    left, right, low, high = min(xs) - _MARGIN, max(xs) + _MARGIN, min(ys) - _MARGIN, max(ys) + _MARGIN
    places = {"sw": (left, low), "se": (right, low), "ne": (right, high), "nw": (left, high)}
    named = [[f"{'abc'[number]}{k}" for k in range(len(loop))] for number, loop in enumerate(loops)]
    for names, loop in zip(named, loops, strict=True):
        places |= zip(names, loop, strict=True)
    read = verify.read({
        "format": "creaseproof-pattern/1",
        "title": name,
        "points": {point: [str(Fraction(x)), str(Fraction(y))] for point, (x, y) in places.items()},
        "sheet": {"outline": ["sw", "se", "ne", "nw"]},
        "target": {"loops": named},
    })  # fmt: skip
    assert isinstance(read, Document)
    return read


def told(found: RecipeFound) -> str:
    """Folds and layers of a recipe, or why there is none."""
    if found.recipe is not None:
        return f"{found.folds}, {found.layers}"
    return "none" if found.shown == "none" else "–"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=20.0, help="for each figure, each way")
    parser.add_argument("--write", action="store_true", help="put the table into benchmarks/speed.md")
    options = parser.parse_args()
    in_work()
    rows = ["| figure | paper all round: folds, layers | the sheet ends at it: folds, layers | where |"]
    rows.append("|---|---|---|---|")
    counts = [0, 0]
    for name in FIGURES:
        plain = verify.recipe(document(name), seconds=options.seconds)
        fewer = verify.recipe(document(name), seconds=options.seconds, edges="fewer")
        either = plain.recipe is not None or fewer.recipe is not None
        counts = [counts[0] + (plain.recipe is not None), counts[1] + either]
        ends = told(fewer) if fewer.edges else ""
        rows.append(f"| {name} | {told(plain)} | {ends} | {', '.join(fewer.edges)} |")
        print(rows[-1], flush=True)
    rows.append(f"| with a recipe | {counts[0]} of {len(FIGURES)} | {counts[1]} of {len(FIGURES)} in all | |")
    print(rows[-1])
    if options.write:
        put_table(Path(__file__).parent / "speed.md", "\n".join(rows), "everyday")


if __name__ == "__main__":
    main()
