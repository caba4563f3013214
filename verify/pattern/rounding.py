"""How far the numbers of a drawing are rounded, as their texts say, and whether a failure is of that size."""

from __future__ import annotations

import re
from collections.abc import Iterable
from fractions import Fraction
from math import asin, degrees, isfinite, sqrt

_INTEGER = re.compile(r"[+-]?\d+")
_DECIMAL = re.compile(r"[+-]?\d+\.(\d+)")
# more digits than this after the point are no hand's rounding, but a computed number cut off
_MOST_DIGITS = 9
# reflections add up: a target line may miss by several times the rounding (our own choice, no source)
_MISS_FACTOR = 10
# and by no more than this part of its own length: a line that is off by more is drawn elsewhere (our own choice, no source)
_MISS_SHARE = 1 / 50


def decimals(text: str) -> int | None:
    """The digits after the point of a plain integer (0) or decimal; None for any other expression."""
    if _INTEGER.fullmatch(text):
        return 0
    match = _DECIMAL.fullmatch(text)
    return len(match[1]) if match else None


def rounding(texts: Iterable[str]) -> Fraction:
    """The unit to which the numbers are rounded: 1, 1/10, 1/100, …, by the longest plain decimal (1 without any).

    >>> rounding(["0", "76.1", "33.33", "sqrt(2)"])
    Fraction(1, 100)
    """
    digits = [d for d in map(decimals, texts) if d is not None and d <= _MOST_DIGITS]
    return Fraction(1, 10 ** max(digits, default=0))


def looks_rounded(
    texts: Iterable[str], defects: Iterable[tuple[float, int, float]], misses: Iterable[tuple[float, float]] = ()
) -> bool:
    """Whether failures are no larger than the rounding of the numbers makes them.

    `texts`: the coordinates as written. `defects`, for each vertex where Kawasaki–Justin fails: by how many degrees the sums of
    alternate angles differ, how many folds meet there, and the length of the shortest of them in the document's unit. `misses`: for each missed target
    line how far it is off the cut line, and how long it is, in the same unit. True if there is a failure, at least one number is a decimal
    or none is anything but an integer, and every failure is within what the rounding explains: a fold of length c whose ends are each
    off by half a unit r in both coordinates turns by at most asin(√2·r/c), and the sums differ by at most
    twice that for each fold; a target line may miss by ten r and by a fiftieth of its length. It says nothing of whether an exact pattern is near, or folds.

    >>> looks_rounded(["0", "76.1", "24.7"], [(0.04, 10, 105.0)])
    True
    >>> looks_rounded(["0", "76.1", "24.7"], [(30.0, 10, 105.0)])
    False
    """
    written = list(texts)
    if not written or all(decimals(text) is None for text in written):
        return False
    unit = float(rounding(written))
    failed = False
    for off, folds, shortest in defects:
        if folds % 2 or not isfinite(off) or not shortest > 0:
            return False
        failed = True
        if abs(off) > 2 * folds * degrees(asin(min(1.0, sqrt(2) * unit / shortest))):
            return False
    for distance, length in misses:
        failed = True
        if not abs(distance) <= min(_MISS_FACTOR * unit, _MISS_SHARE * length):
            return False
    return failed
