"""How far a drawing's numbers are rounded, as their texts say, and which failures are of that size."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from fractions import Fraction
from itertools import combinations
from math import asin, degrees, gcd, isfinite, sqrt

from verify.exact.number_text import rational_text

_INTEGER = re.compile(r"[+-]?\d+")
_DECIMAL = re.compile(r"[+-]?\d+\.(\d+)")
_FRACTION = re.compile(r"[+-]?\d+/\d+")
# more digits than this after the point are no hand's rounding, but a computed number cut off
_MOST_DIGITS = 9
# Of the different coordinates so many lie on a grid that they were rounded to, and so many show its last digit: they
# are no multiples of five of it, as four in five numbers are not (our own choices, no source).
_ON_GRID = Fraction(3, 5)
_LAST_DIGIT = Fraction(1, 2)  # of whole numbers, which people choose round
_AT_LEAST = 2  # decimals, or one in two places: a slip is in one
_COARSE = 30  # steps: a drawing with fewer was drawn on a grid on purpose (our own choice, no source)
# a grid of fractions (a drawing in px, in mm) is of a rounding only if it is as fine as this part of the drawing
_FINE = 1000
_COMPARED = 40
# so many numbers beside the grid of all others may be slips (our own choice, no source)
_STRAYS = 2
# reflections add up: a target line may miss by several times the rounding (our own choice, no source)
_MISS_FACTOR = 10
# and by no more than this part of its own length: a line that is off by more is drawn elsewhere (our own choice, no
# source)
_MISS_SHARE = 1 / 50
_TRACE = 1 / 50  # of the unit: what moves by less was not rounded to it (our own choice, no source)


def decimals(text: str) -> int | None:
    """The digits after the point of a plain integer (0) or decimal; None for any other expression."""
    if _INTEGER.fullmatch(text):
        return 0
    match = _DECIMAL.fullmatch(text)
    return len(match[1]) if match else None


def rounding(texts: Iterable[str]) -> Fraction:
    """The unit to which the numbers are rounded, as far as they show one (`shown`), or else 1, 1/10, 1/100, …, by the
    longest plain decimal.

    >>> rounding(["0", "76.1", "33.33", "sqrt(2)"])
    Fraction(1, 100)
    """
    written = list(texts)
    digits = [d for d in map(decimals, written) if d is not None and d <= _MOST_DIGITS]
    return shown(written) or Fraction(1, 10 ** max(digits, default=0))


def shown(texts: Iterable[str]) -> Fraction | None:
    """The unit that the numbers themselves show: the coarsest grid on which most of them lie, and of which enough show
    the last digit.

    A decimal grid, or one of fractions, such as a thousandth of a px in mm. None if they show none, as round numbers
    that were chosen do, with a single odd one, or as those of a small drawing on a coarse grid.

    >>> shown(["0", "76.1", "24.7", "105"]), shown(["0", "150", "75", "30", "77"])
    (Fraction(1, 10), None)
    """
    plain = [t for t in texts if _FRACTION.fullmatch(t) or decimals(t) is not None]
    places = Counter(abs(Fraction(t)) for t in plain if not t.endswith("/0"))
    values = {*places} - {0}
    grids = {Fraction(1, 10**k) for k in range(_MOST_DIGITS + 1)} | _common(values)
    for grid in sorted(grids, reverse=True):
        on = [v for v in values if (v / grid).denominator == 1]
        last = [v for v in on if v / grid % 5 != 0]
        shows = len(last) >= _LAST_DIGIT * len(values) if grid == 1 else sum(places[v] for v in last) >= _AT_LEAST
        if values and max(values) >= _COARSE * grid and len(on) >= _ON_GRID * len(values) and shows:
            return grid
    return None


def _common(values: set[Fraction]) -> set[Fraction]:
    """Grids on which two of the numbers lie that are no short decimals."""
    odd = sorted(v for v in values if 10**_MOST_DIGITS % v.denominator)
    compared = odd[:: max(1, len(odd) // _COMPARED)]
    pairs = [
        Fraction(gcd(a.numerator * b.denominator, b.numerator * a.denominator), a.denominator * b.denominator)
        for a, b in combinations(compared, 2)
    ]
    return {grid for grid in pairs if grid * _FINE < max(values)}


def strays(texts: Iterable[str], coarsest: int = 0) -> dict[str, str]:
    """The one or two numbers that lie beside the decimal grid of all others, each with the nearest number on it; none
    if there are more. `coarsest`: the digits after the point of the coarsest grid, -1 for tens.

    >>> strays(["0", "60", "-60", "30", "0.1", "-30"]), strays(["0", "60.3", "29.9", "30.1"])
    ({'0.1': '0'}, {})
    >>> strays(["0", "60", "61", "30"]), strays(["0", "60", "61", "30"], coarsest=-1)
    ({}, {'61': '60'})
    """
    plain = [t for t in texts if decimals(t) is not None]
    for digits in range(coarsest, _MOST_DIGITS):
        grid = Fraction(10) ** -digits
        beside = [t for t in plain if (Fraction(t) / grid).denominator != 1]
        if not beside:
            return {}
        if len(beside) <= _STRAYS:
            nearest = {t: round(Fraction(t) / grid) * grid for t in beside}
            return {t: rational_text(n, _MOST_DIGITS) for t, n in nearest.items()}
    return {}


def is_within_rounding(texts: Iterable[str], moved: float) -> bool:
    """Whether points that move so far, in the same unit, so that a drawing becomes regular, move by no more than the
    rounding that the numbers show explains: several times its unit, for what was measured from rounded points is off by
    more; and by no less than rounding leaves.

    >>> [is_within_rounding(["0", "76.1", "24.7"], far) for far in (0.0005, 0.7, 7)]
    [False, True, False]
    """
    unit = shown(texts)
    return unit is not None and _TRACE * unit <= moved <= _MISS_FACTOR * unit


def turned_by(unit: float, length: float) -> float:
    """By how many degrees a line of this length turns at most when all coordinates of its ends are rounded to `unit`:
    each is off by half a unit.
    """
    return degrees(asin(min(1.0, sqrt(2) * unit / length)))


def looks_rounded(
    texts: Iterable[str], defects: Iterable[tuple[float, int, float]], misses: Iterable[tuple[float, float]] = ()
) -> bool:
    """Whether failures are no larger than the rounding of the numbers makes them.

    `texts`: the coordinates as written. `defects`, for each vertex where Kawasaki–Justin fails: by how many degrees the
    sums of alternate angles differ, how many folds meet there, and the length of the shortest of them in the document's
    unit. `misses`: for each missed target line how far it is off the cut line, and how long it is, in the same unit.
    True if there is a failure, the numbers show a unit to which they are rounded, and every failure is within what the
    rounding explains: a fold of length c whose ends are each off by half a unit r in both coordinates turns by at most
    asin(√2·r/c), and the sums differ by at most twice that for each fold; a target line may miss by ten r and by a
    fiftieth of its length. It says nothing of whether an exact pattern is near, or folds.

    >>> looks_rounded(["0", "76.1", "24.7"], [(0.04, 10, 105.0)])
    True
    >>> looks_rounded(["0", "76.1", "24.7"], [(30.0, 10, 105.0)])
    False
    """
    defects, misses = [*defects], [*misses]
    estimate = shown(texts) if defects or misses else None  # takes long where numbers are long
    if estimate is None:
        return False
    unit = float(estimate)
    for off, folds, shortest in defects:
        if folds % 2 or not isfinite(off) or not shortest > 0:
            return False
        if abs(off) > 2 * folds * turned_by(unit, shortest):
            return False
    return all(abs(distance) <= min(_MISS_FACTOR * unit, _MISS_SHARE * length) for distance, length in misses)
