"""How many random figures have a recipe of simple folds, and within what time.

    .venv/bin/python benchmarks/recipes.py [--seconds S] [--each N] [--letters]

200 figures with a line of symmetry and 200 without one, half of them with paper all round, half on a card trimmed to
their box: convex polygons whose sides have rational unit vectors, and figures of squares (polyominoes). A recipe counts
if the kernel accepted its certificate. A time is the processor time of `verify.recipe` for one figure, and so is the
limit. --letters: the letterforms instead, each searched for and certified as `letters` does.
"""

from __future__ import annotations

import argparse
import random
import sys
from collections import Counter
from collections.abc import Callable
from fractions import Fraction
from math import atan2
from pathlib import Path
from statistics import median
from time import process_time

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

import verify
from benchmarks.drawings import in_work
from verify.construct.letterforms.forms import KINDS, forms
from verify.construct.recipes.layered import SomeLayers
from verify.construct.recipes.peeled import peeled
from verify.construct.recipes.picture import AllLayers
from verify.construct.recipes.ruled_out import mirror_lines, no_all_layers_recipe, no_recipe
from verify.construct.recipes.start import start_of
from verify.pattern.document import Document
from verify.pattern.limits import Clock
from verify.tasks.letters import letter_recipes

Place = tuple[Fraction, Fraction]
_MARGIN = Fraction(15)
_VECTORS = [
    (3, 4),
    (4, 3),
    (-3, 4),
    (-4, 3),
    (-3, -4),
    (-4, -3),
    (3, -4),
    (4, -3),
    (5, 12),
    (12, 5),
    (-5, 12),
    (12, -5),
]


def on_sheet(loop: list[Place], margin: Fraction) -> Document:
    """A document with a rectangular sheet, so much larger than the figure on each side."""
    xs, ys = [p[0] for p in loop], [p[1] for p in loop]
    left, right, low, high = min(xs) - margin, max(xs) + margin, min(ys) - margin, max(ys) + margin
    sheet = {"sw": (left, low), "se": (right, low), "ne": (right, high), "nw": (left, high)}
    places = sheet | {f"p{i}": p for i, p in enumerate(loop)}
    document = verify.read({
        "format": "creaseproof-pattern/1",
        "points": {name: [str(x), str(y)] for name, (x, y) in places.items()},
        "sheet": {"outline": list(sheet)},
        "target": {"loops": [[f"p{i}" for i in range(len(loop))]]},
    })  # fmt: skip
    assert isinstance(document, Document)
    return document


def convex(rng: random.Random) -> list[Place] | None:
    """A convex polygon: vectors of rational length in the order of their angles, and one or two along the axes that
    close it.
    """
    vectors = [
        (Fraction(x * k), Fraction(y * k))
        for x, y in rng.sample(_VECTORS, rng.randint(1, 4))
        for k in [rng.randint(2, 5)]
    ]
    x, y = (sum((v[i] for v in vectors), Fraction(0)) for i in (0, 1))
    vectors += [v for v in ((-x, Fraction(0)), (Fraction(0), -y)) if any(v)]
    if len(vectors) < 3:
        return None
    vectors.sort(key=lambda v: atan2(v[1], v[0]))
    loop, at = [], (Fraction(0), Fraction(0))
    for dx, dy in vectors:
        loop.append(at)
        at = at[0] + dx, at[1] + dy
    return loop if at == loop[0] else None


def symmetric_convex(rng: random.Random) -> list[Place] | None:
    """A convex polygon and its mirror image in x = 0, one outline."""
    tangents = sorted({Fraction(rng.randint(1, 20), rng.randint(4, 10)) for _ in range(rng.randint(2, 4))})
    x, y = Fraction(rng.choice([0, rng.randint(5, 25)])), Fraction(0)
    chain = [(x, y)]
    for t in tangents[:-1]:
        c, s, length = (1 - t * t) / (1 + t * t), 2 * t / (1 + t * t), rng.randint(8, 30)
        x, y = x + c * length, y + s * length
        chain.append((x, y))
    t = tangents[-1]
    c, s = (1 - t * t) / (1 + t * t), 2 * t / (1 + t * t)
    if c >= 0 or any(p[0] < 0 for p in chain) or x <= 0:
        return None
    length = x / -c * rng.choice([Fraction(1), Fraction(3, 5)])
    chain.append((x + c * length, y + s * length))
    loop = [*chain, *((-px, py) for px, py in reversed(chain) if px)]
    return loop if len(loop) > 2 else None


def squares(rng: random.Random, mirrored: bool = False) -> list[Place] | None:
    """The outline of a few squares that hang together, without a hole."""
    cells = {(0, 0)}
    while len(cells) < rng.randint(3, 7):
        x, y = rng.choice(sorted(cells))
        dx, dy = rng.choice([(1, 0), (-1, 0), (0, 1), (0, -1)])
        if not mirrored or x + dx >= 0:
            cells.add((x + dx, y + dy))
    if mirrored:
        cells |= {(-1 - x, y) for x, y in cells}
    steps: dict[tuple[int, int], tuple[int, int]] = {}
    for x, y in cells:
        around = [
            ((x, y), (x + 1, y), (0, -1)),
            ((x + 1, y), (x + 1, y + 1), (1, 0)),
            ((x + 1, y + 1), (x, y + 1), (0, 1)),
            ((x, y + 1), (x, y), (-1, 0)),
        ]
        for a, b, (dx, dy) in around:
            if (x + dx, y + dy) not in cells:
                if a in steps:
                    return None
                steps[a] = b
    first = at = min(steps)
    walk = []
    while not walk or at != first:
        walk.append(at)
        at = steps[at]
    if len(walk) < len(steps):
        return None
    corners = [
        q
        for p, q, r in zip(walk[-1:] + walk[:-1], walk, walk[1:] + walk[:1], strict=True)
        if (q[0] - p[0], q[1] - p[1]) != (r[0] - q[0], r[1] - q[1])
    ]
    return [(Fraction(20 * x), Fraction(20 * y)) for x, y in corners]


def draw(rng: random.Random, symmetric: bool, margin: Fraction) -> Document:
    """A random figure with a line of symmetry, or without one."""
    makers: list[Callable[[random.Random], list[Place] | None]] = (
        [symmetric_convex, lambda r: squares(r, True)] if symmetric else [convex, squares]
    )
    make = rng.choice(makers)
    while True:
        loop = make(rng)
        if loop is not None:
            document = on_sheet(loop, margin)
            if bool(mirror_lines(start_of(on_sheet(loop, _MARGIN)).picture.ink)) == symmetric:
                return document


def letters() -> None:
    print("| sheet | letters | search alone, s (median, most) | with wording and proof, s (median, most) |")
    print("|---|---|---|---|")
    for kind in KINDS:
        alone, whole = [], []
        for letter, form in forms(kind).items():
            start, begun = start_of(form.document()), process_time()
            least, clock = start.picture.least, Clock(60.0, "a letter")
            searches = AllLayers(start.picture, clock), SomeLayers(start.stack, clock)
            next(folds for search in searches for depth in range(least, 7) for folds in search.of_length(depth))
            alone.append(process_time() - begun)
            begun = process_time()
            list(letter_recipes(letter, sheet=kind))
            whole.append(process_time() - begun)
        times = " | ".join(f"{median(each):.2g}, {max(each):.2g}" for each in (alone, whole))
        print(f"| {kind} | {len(alone)} | {times} |", flush=True)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=5.0, help="for each figure")
    parser.add_argument("--each", type=int, default=100, help="figures of each of the four kinds")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--letters", action="store_true", help="the letterforms, not random figures")
    options = parser.parse_args()
    in_work()
    if options.letters:
        letters()
        return
    print(
        "| figures | sheet | have a recipe | by all layers | shortest | folds (median) | seconds where found "
        "(median) | freed by all layers: theorem | none by all layers: theorem | none at all: theorem | "
        "none: exhausted | no answer in time |"
    )
    print("|---|---|---|---|---|---|---|---|---|---|---|---|")
    for symmetric in (True, False):
        for sheet, margin in (("paper all round", _MARGIN), ("card", Fraction(0))):
            rng = random.Random(options.seed)
            tally: Counter[str] = Counter()
            folds, times = [], []
            for _ in range(options.each):
                document = draw(rng, symmetric, margin)
                begun = process_time()
                found = verify.recipe(document, seconds=options.seconds, layers=64)
                if found.recipe is not None:
                    tally["found"] += 1
                    tally["all"] += all("layers" not in step for step in found.recipe.written)
                    tally["shortest"] += found.shown == "shortest"
                    folds.append(found.folds)
                    times.append(process_time() - begun)
                else:
                    tally["time" if found.shown != "none" else "none"] += 1
                start = start_of(document)
                tally["never"] += bool(no_recipe(start))
                told = peeled(start).frees
                tally["freed"] += bool(told)
                tally["theorem"] += told is False or bool(no_all_layers_recipe(start))
            print(
                f"| {options.each} {'with' if symmetric else 'without'} a line of symmetry | {sheet} | "
                f"{tally['found']} | {tally['all']} | {tally['shortest']} | "
                f"{median(folds or [0]):g} | {median(times or [0]):.2g} | "
                f"{tally['freed']} | {tally['theorem']} | {tally['never']} | "
                f"{tally['none'] - tally['never']} | {tally['time']} |",
                flush=True,
            )


if __name__ == "__main__":
    main()
