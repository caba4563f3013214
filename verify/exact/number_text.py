"""Exact numbers as text in the grammar of the documents."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from fractions import Fraction


def digits(n: int) -> str:
    """The decimal digits of n >= 0, also beyond the interpreter's limit on conversions."""
    if n.bit_length() < 10_000:
        return str(n)
    half = n.bit_length() * 3 // 20
    high, low = divmod(n, 10**half)
    return digits(high) + digits(low).rjust(half, "0")


def fraction_text(n: int, d: int) -> str:
    """n / d, for d > 0."""
    text = digits(abs(n)) if d == 1 else f"{digits(abs(n))}/{digits(d)}"
    return f"-{text}" if n < 0 else text


def rational_text(value: Fraction, digits: int = 6) -> str:
    """A decimal with no more than `digits` digits after the point if there is one, else a fraction."""
    needed = next((d for d in range(1, digits + 1) if 10**d % value.denominator == 0), 0)
    if value.denominator == 1 or not needed:
        return fraction_text(value.numerator, value.denominator)
    units = str(abs(value.numerator) * 10**needed // value.denominator).rjust(needed + 1, "0")
    return f"{'-' if value < 0 else ''}{units[:-needed]}.{units[-needed:]}"


def _outside(name: str) -> str:
    """The text without what stands in parentheses: ``sqrt()``, ``2*cos()``."""
    kept, depth = "", 0
    for character in name:
        depth -= character == ")"
        kept += character if depth == 0 else ""
        depth += character == "("
    return kept


def is_atom(name: str) -> bool:
    """Whether the text is one function call or one pair of parentheses."""
    return re.fullmatch("[a-z]*[(][)]", _outside(name)) is not None


def is_product(name: str) -> bool:
    """Whether the text may follow a ``*`` without parentheses: no sign outside parentheses."""
    return {"+", "-"}.isdisjoint(_outside(name))


def sum_text(terms: Iterable[tuple[Fraction, str]]) -> str:
    """The sum of numbers, each times what its text stands for (1 if that is empty)."""
    text = ""
    for factor, atom in terms:
        if factor:
            size = fraction_text(abs(factor.numerator), factor.denominator)
            term = size if not atom else atom if size == "1" else f"{size}*{atom}"
            text += f"{'-' if factor < 0 else '+' if text else ''}{term}"
    return text or "0"


def polynomial_text(coefficients: Sequence[Fraction], name: str) -> str:
    """The sum of coefficients[i] * name^i, by Horner's rule."""
    atom = name if is_product(name) else f"({name})"
    last = max((i for i, c in enumerate(coefficients) if c), default=0)
    if last <= 1:
        return sum_text(((coefficients[0], ""), (coefficients[1], atom)))
    if not is_atom(name):
        atom = f"({name})"
    inner = sum_text(((coefficients[last - 1], ""), (coefficients[last], atom)))
    for c in reversed(coefficients[: last - 1]):
        product = f"{atom}*({inner})"
        inner = product if not c else f"{fraction_text(c.numerator, c.denominator)}+{product}"
    return inner
