"""At which scale a sheet is drawn: exact, and round."""

from __future__ import annotations

from fractions import Fraction

from verify.exact.number import Number

PAGE_MM = Fraction(170)
_BITS = 80


def scale_text(scale: Fraction) -> str:
    """The scale as a draughtsman writes it: 1 : 1, 5 : 1, 1 : 20."""
    return f"{_power_text(scale.numerator)} : {_power_text(scale.denominator)}"


def _power_text(n: int) -> str:
    digits = str(n)
    return digits if len(digits) < 7 else f"{digits[0]}·10^{len(digits) - 1}".removeprefix("1·")


def rational(x: Number) -> Fraction:
    """A rational number near a positive one."""
    bits = _BITS
    while True:
        low, _high = x.enclosure(bits)
        if low > 0:
            return low
        bits *= 2


def fitting(span_mm: Fraction) -> Fraction:
    """Page millimetres for one of paper: the largest of 1, 2, 5 times a power of ten at which the sheet fits."""
    most = PAGE_MM / span_mm
    power = Fraction(10) ** (len(str(most.numerator)) - len(str(most.denominator)) - 1)
    while power * 10 <= most:
        power *= 10
    while power > most:
        power /= 10
    return max(m * power for m in (1, 2, 5) if m * power <= most)
