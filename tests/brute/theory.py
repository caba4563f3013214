"""Theories that say without any layers what folds: strips in one dimension, and Hull's recursion at one vertex. No part
of `verify` is used.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import cache
from itertools import product
from math import comb
from typing import Any


@cache
def strip_folds(lengths: tuple[Fraction, ...], word: str) -> bool:
    """Whether a strip folds with this word: by crimps and end folds until one panel is left.

    Arkin, Bender, Demaine, Demaine, Mitchell, Sethia, Skiena 2004, "When can you fold a map?", CGTA 29:23–46 [read in
    abstract: a strip that folds flat does so by simple folds of one layer]. The rule as it stands here is checked by
    brute force in test_agreement.py: an end no longer than its neighbour folds in; a panel no longer than both of its
    neighbours, between a mountain and a valley, is crimped; and a strip folds flat exactly if such steps, in any order,
    use up all creases. Here every order is tried.
    """
    if not word:
        return True
    ends = []
    if lengths[0] <= lengths[1]:
        ends.append((lengths[1:], word[1:]))
    if lengths[-1] <= lengths[-2]:
        ends.append((lengths[:-1], word[:-1]))
    for i in range(1, len(lengths) - 1):
        before, here, after = lengths[i - 1 : i + 2]
        if word[i - 1] != word[i] and here <= before and here <= after:
            ends.append(((*lengths[: i - 1], before - here + after, *lengths[i + 2 :]), word[: i - 1] + word[i + 1 :]))
    answers = {strip_folds(*rest) for rest in ends}
    if len(answers) > 1:
        raise AssertionError(f"the theorem says that the order of the steps does not matter: {lengths} {word}")
    return answers == {True}


def strip_words(lengths: Sequence[Fraction]) -> set[str]:
    return {w for w in map("".join, product("MV", repeat=len(lengths) - 1)) if strip_folds(tuple(lengths), w)}


class Turn:
    """An angle in (0°, 180°] with rational tangent of its half turn: a complex number x + iy up to a positive
    factor.
    """

    def __init__(self, x: Fraction | int, y: Fraction | int) -> None:
        self.x, self.y = x, y = Fraction(x), Fraction(y)
        self.key = -x * abs(x) / (x * x + y * y)  # −cos·|cos| grows with the angle

    def __sub__(self, other: Turn) -> Turn:
        return Turn(self.x * other.x + self.y * other.y, self.y * other.x - self.x * other.y)

    def __add__(self, other: Turn) -> Turn:
        return Turn(self.x * other.x - self.y * other.y, self.x * other.y + self.y * other.x)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Turn) and self.key == other.key

    def __lt__(self, other: Turn) -> bool:
        return self.key < other.key

    __hash__ = None  # type: ignore[assignment]


def hull(angles: Sequence[Any]) -> int:
    """How many mountain–valley assignments fold a vertex with these angles, which satisfy Kawasaki–Justin.

    Hull 2003, "Counting mountain-valley assignments for flat folds", Ars Combinatoria 67 [read in abstract: recursive
    functions count the assignments]. The recursion as it stands here is checked by brute force in test_agreement.py:
    equal angles all round have 2·C(2n, n − 1). Else take a run of r equal angles with strictly larger ones on both
    sides. Its r + 1 creases are M and V by turns as the layers demand: r even, one more of one kind, C(r + 1, r/2) ways
    for each direction of the crease that remains when the run is gone; r odd, as many of each, C(r + 1, (r + 1)/2)
    ways, and the two neighbours become one angle. Angles need +, − and comparisons.
    """
    angles = list(angles)
    n = len(angles)
    least = min(angles)
    if all(a == least for a in angles):
        return 2 * comb(n, n // 2 - 1)
    first = next(i for i in range(n) if angles[i] == least and angles[i - 1] != least)
    angles = angles[first:] + angles[:first]
    r = next(i for i in range(n) if angles[i] != least)
    rest = angles[r:]
    if r % 2 == 0:
        return comb(r + 1, r // 2) * hull(rest)
    joined = rest[-1] - least + rest[0]
    return comb(r + 1, (r + 1) // 2) * hull([joined, *rest[1:-1]])
