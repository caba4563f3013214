"""Exact numbers as short texts: decimals, fractions, and multiples of the roots and tangents that people write."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from verify.exact.algebraic import element
from verify.exact.field import read_numbers
from verify.exact.number import Number
from verify.exact.numberfield import Field

# the parts of which a number of a field of so high a degree is put together
_BASES = {
    4: (
        ("sqrt(5)", "tan(pi/10)"),
        ("sqrt(5)", "tan(pi/5)"),
        ("sqrt(5)", "cos(pi/10)"),
        ("sqrt(5)", "sin(pi/5)"),
        ("sqrt(2)", "sqrt(3)"),
    ),
}


class Writer:
    """Writes the numbers of one field, each in the shortest of the forms that it knows."""

    def __init__(self, field: Field) -> None:
        self.field = field
        self.bases: list[tuple[tuple[str, ...], list[list[Fraction]]]] = []
        for first, second in _BASES.get(field.degree, ()):
            reading = read_numbers([field.name, first, second])
            if reading.field != field:
                continue
            one = element(field, (1,))
            a, b = reading.numbers[first], reading.numbers[second]
            columns = [list(x.coefficients()) for x in (one, one * a, one * b, one * a * b)]
            inverse = _inverse(columns)
            if inverse is not None:
                self.bases.append((("", first, second, f"{first}*{second}"), inverse))

    def text(self, number: Number) -> str:
        """A text that reads as the number."""
        if number.is_rational:
            return rational_text(number.as_fraction())
        texts = [number.text()]
        for names, inverse in self.bases:
            coefficients = number.coefficients()
            parts = [sum((r * c for r, c in zip(row, coefficients, strict=True)), Fraction(0)) for row in inverse]
            texts.append(_sum_text(parts, names))
        return min(texts, key=len)


def rational_text(value: Fraction) -> str:
    """A decimal if it is short, else a fraction."""
    for digits in range(1, 7):
        scaled = value * 10**digits
        if value.denominator > 1 and scaled.denominator == 1:
            body = str(abs(scaled.numerator)).rjust(digits + 1, "0")
            return f"{'-' if value < 0 else ''}{body[:-digits]}.{body[-digits:]}"
    return str(value)


def _sum_text(parts: Sequence[Fraction], names: Sequence[str]) -> str:
    text = ""
    for part, name in zip(parts, names, strict=True):
        if part:
            size = str(abs(part))
            term = size if not name else name if size == "1" else f"{size}*{name}"
            text += f"{'-' if part < 0 else '+' if text else ''}{term}"
    return text or "0"


def _inverse(columns: Sequence[Sequence[Fraction]]) -> list[list[Fraction]] | None:
    """The inverse of the matrix with these columns, by elimination; None if there is none."""
    n = len(columns)
    rows = [[columns[j][i] for j in range(n)] + [Fraction(int(i == k)) for k in range(n)] for i in range(n)]
    for k in range(n):
        pivot = next((i for i in range(k, n) if rows[i][k]), None)
        if pivot is None:
            return None
        rows[k], rows[pivot] = rows[pivot], rows[k]
        rows[k] = [x / rows[k][k] for x in rows[k]]
        for i in range(n):
            if i != k and rows[i][k]:
                rows[i] = [x - rows[i][k] * y for x, y in zip(rows[i], rows[k], strict=True)]
    return [row[n:] for row in rows]
