"""Random recipes, with folds of some layers, unfolded and turned over: what brute force says of each is what is proved.

The sheets have notches and holes; the pattern of the same creases is told the same way.
"""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from itertools import pairwise
from random import Random
from typing import Any

import pytest

import verify
from tests.profiles import share
from verify.construct.recipes.ruled_out import no_recipe
from verify.construct.recipes.start import start_of
from verify.pattern.document import Document
from verify.pattern.limits import LimitReached, Limits

from .paper import Place, Segment, on_segment, place
from .recipes import CannotFold, Pile, between, shared

Loop = list[tuple[int, int]]
SHEETS: list[list[Loop]] = [  # the outline, then holes
    [[(0, 0), (4, 0), (4, 4), (0, 4)]],
    [[(0, 0), (4, 0), (2, 4)]],
    [[(0, 0), (4, 0), (5, 2), (3, 4), (0, 3)]],
    [[(0, 0), (6, 0), (6, 1), (0, 1)]],
]
GRIDS: list[list[str]] = [["###", "#.#", "###"], ["##.", "#..", "###"], ["####", "#..#", "####"], ["#.#", "###"]]


def on_grid(rows: list[str]) -> tuple[list[Loop], list[Loop]]:
    """The loops round squares of a grid, and the squares."""
    cells = {(x, y) for y, row in enumerate(rows) for x, sign in enumerate(row) if sign == "#"}
    onward = {}
    for x, y in cells:
        ring = [(x, y), (x + 1, y), (x + 1, y + 1), (x, y + 1), (x, y)]
        for ends, beside in zip(pairwise(ring), [(x, y - 1), (x + 1, y), (x, y + 1), (x - 1, y)], strict=True):
            if beside not in cells:
                onward[ends[0]] = ends[1]
    loops: list[Loop] = []
    while onward:
        loops.append([min(onward)])
        while (found := onward.pop(loops[-1][-1])) != loops[-1][0]:
            loops[-1].append(found)
    return loops, [[(x, y), (x + 1, y), (x + 1, y + 1), (x, y + 1)] for x, y in sorted(cells)]


class Drawn:
    """A random recipe, and brute force's word on it; `why` is why a step cannot be done, or empty."""

    def __init__(self, random: Random) -> None:
        loops, cells = on_grid(random.choice(GRIDS)) if random.random() < 0.5 else (random.choice(SHEETS), [])
        self.loops = [[place(*p) for p in loop] for loop in loops]
        pieces = [[place(*p) for p in cell] for cell in cells] or self.loops[:1]
        marks = {f"r{k}": p for k, p in enumerate(p for loop in self.loops for p in loop)}
        for k in range(8):
            a, b, c = random.sample(random.choice(pieces), 3)
            marks[f"m{k}"] = between(
                between(a, b, Fraction(random.randint(0, 2), 2)), c, Fraction(1, random.randint(2, 4))
            )
        self.random, self.pile = random, Pile(pieces, marks)
        self.steps: list[dict[str, Any]] = []
        self.why = ""
        for _ in range(random.randint(1, 6)):
            self.step()
            if self.why or len(self.pile.pieces) > 24:
                break

    def step(self) -> None:
        random, marks = self.random, list(self.pile.marks)

        def some() -> str:
            return random.choice(marks)

        kind = random.random()
        if kind < 0.1:
            self.steps.append({"turn": "over"})
            self.pile.turn()
        elif kind < 0.2 and self.pile.before:
            self.steps.append({"unfold": 1})
            self.pile.unfold(1)
        else:
            alignment = random.choice(
                [
                    {"through": [some(), some()]},
                    {"point": some(), "onto": some()},
                    {"square": [some(), some()], "through": some()},
                    {"point": some(), "onto": [some(), some()], "square": [some(), some()]},
                ]
            )
            over, layers, moves = random.random() < 0.6, random.choice(["all", "flap", 1, 1, 2, 3]), some()
            fold = {"fold": alignment, "moves": moves, "layers": layers, "direction": "over" if over else "behind"}
            try:
                self.pile.fold(alignment, moves, over, layers)
            except CannotFold as error:
                if random.random() < 0.8:
                    return  # to come to deeper piles
                self.why = str(error)
            self.steps.append(fold)

    def on_rim(self, p: Place) -> bool:
        return any(on_segment(p, a, b) for loop in self.loops for a, b in pairwise([*loop, loop[0]]))

    def target(self) -> list[Segment]:
        """What a straight cut meets; or less, or more."""
        random = self.random
        places = [p for piece in self.pile.pieces for p in piece.images]
        line = random.choice(places), random.choice(places)
        if random.random() < 0.5:
            line = line[0], between(line[1], random.choice(places), Fraction(1, 2))
        if line[0] == line[1]:
            return []
        found = sorted(self.pile.met(line, self.on_rim)[0])
        change = random.random()
        if found and change < 0.15:
            found.pop()
        elif found and change < 0.3:
            found[0] = found[0][0], between(*found[0], Fraction(2, 3))
        elif found and change < 0.4:
            a, b, c, *_ = random.choice(self.pile.pieces).corners
            found.append((a, between(b, c, Fraction(1, 2))))
        return found

    def document(self, target: list[Segment], pattern: bool = False) -> dict[str, Any]:
        names = {p: name for name, p in reversed(self.pile.marks.items())}

        def name(p: Place) -> str:
            return names.setdefault(p, f"p{len(names)}")

        outline, *holes = [[name(p) for p in loop] for loop in self.loops]
        keys: dict[str, Any] = {"format": f"creaseproof-{'pattern' if pattern else 'recipe'}/1"}
        if pattern:
            keys["creases"] = [[name(a), name(b), kind] for (a, b), kind in self.pile.creases()]
        else:
            keys["steps"] = self.steps
        if target:
            keys["target"] = {"paths": [[name(a), name(b)] for a, b in target]}
        points = {n: p for p, n in names.items()} | self.pile.marks
        return keys | {
            "points": {n: [str(x), str(y)] for n, (x, y) in points.items()},
            "sheet": {"outline": outline, "holes": holes},
        }


def said(keys: dict[str, Any]) -> tuple[str, str]:
    """The verdict; and of a step that cannot be done, why."""
    result = verify.certify(verify.read(keys))
    refutation = (result.certificate or {}).get("refutation", {})
    return result.verdict, refutation.get("why", "")


def compared(seed: int, count: int) -> Counter[str]:
    """What so many random recipes came to, and the patterns of their creases; brute force agrees with each."""
    told: Counter[str] = Counter()
    for k in range(count):
        drawn = Drawn(Random(f"{seed} {k}"))
        if not drawn.steps:
            continue
        target = drawn.target()
        holds = not drawn.why and (not target or drawn.pile.frees(target, drawn.on_rim))
        expected = ("certified" if holds else "refuted", drawn.why)
        assert said(drawn.document(target)) == expected, (seed, k)
        told[expected[0]] += 1
        if not drawn.why and drawn.pile.creases():
            assert said(drawn.document(target, pattern=True)) == expected, (seed, k)
    return told


@pytest.mark.parametrize("seed", range(3))
def test_recipes(seed: int) -> None:
    told = compared(seed, share(200))
    assert told["certified"] > 2
    assert told["refuted"] > 2


def is_ruled_out(drawn: Drawn, target: list[Segment]) -> bool | None:
    """Whether no recipe of simple folds can do it, as a theorem says; None if its numbers are too many."""
    read = verify.read(drawn.document(target, pattern=True) | {"creases": []})
    assert isinstance(read, Document)
    try:
        return bool(no_recipe(start_of(read, Limits(degree=8))))
    except LimitReached:
        return None


def test_what_one_straight_cut_frees_after_some_folds_is_not_ruled_out() -> None:
    """Folds of all layers or some, opened again or not, but none along the cut."""
    told: Counter[bool | None] = Counter()
    for k in range(share(500)):
        drawn = Drawn(Random(f"cut {k}"))
        places = [p for piece in drawn.pile.pieces for p in piece.images]
        line = drawn.random.choice(places), between(*drawn.random.sample(places, 2), Fraction(1, 3))
        if drawn.why or drawn.loops not in SHEETS or line[0] == line[1]:
            continue
        target = sorted(drawn.pile.met(line, drawn.on_rim)[0])
        along = any(shared(ends, crease) for ends in target for crease, _ in drawn.pile.creases())
        if len(target) > 1 and not along and drawn.pile.frees(target, drawn.on_rim):
            assert not is_ruled_out(drawn, target), k
            (a, b), (c, d) = drawn.random.sample(target, 2)
            told[is_ruled_out(drawn, [*target, (between(a, b, Fraction(1, 3)), between(c, d, Fraction(1, 4)))])] += 1
    assert told[True] > 5  # with one more line it mostly is
