"""Exact numbers as short texts: decimals, fractions, multiples of roots and tangents."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import cache

from verify.exact.algebraic import element
from verify.exact.field import read_numbers
from verify.exact.number import Number
from verify.exact.number_text import rational_text, sum_text
from verify.exact.numberfield import Field
from verify.exact.plane import Point

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


def exact_text(number: Number) -> str:
    """A text that reads as the number: the shortest of the forms that are known of its field."""
    if number.is_rational:
        return rational_text(number.as_fraction())
    texts = [number.text()]
    for names, powers in _bases(number.field):
        shares = list(zip(number.coefficients(), powers, strict=True))
        parts = [sum((c * power[i] for c, power in shares), Fraction(0)) for i in range(len(names))]
        texts.append(sum_text(zip(parts, names, strict=True)))
    return min(texts, key=len)


def exact_texts(place: Point) -> tuple[str, str]:
    """Both coordinates of a place as `exact_text` writes them."""
    return exact_text(place.x), exact_text(place.y)


@cache
def _bases(field: Field) -> Sequence[tuple[tuple[str, ...], list[list[Fraction]]]]:
    """Numbers of which all others of a field are put together, by their names; and of how much of each of them the
    powers of the field's generator are.
    """
    found = []
    for first, second in _BASES.get(field.degree, ()):
        reading = read_numbers([field.name, first, second])
        if reading.field == field:
            a, b = reading.numbers[first], reading.numbers[second]
            columns = [x.coefficients() for x in (element(field, (1,)), a, b, a * b)]
            powers = [_parts(columns, power) for power in range(field.degree)]
            found.append((("", first, second, f"{first}*{second}"), powers))
    return found


def _parts(columns: Sequence[Sequence[Fraction]], power: int) -> list[Fraction]:
    """How much of each of some independent numbers, given by their coefficients, a power of the generator is."""
    from verify.construct.coordinates.equations import Form, solved  # seldom needed

    forms = []
    for number, row in enumerate(zip(*columns, strict=True)):
        factors = {i: Number.of(c) for i, c in enumerate(row) if c}
        forms.append(Form(factors, Number.of(-1 if number == power else 0)))
    return [x.as_fraction() for x in solved(forms, len(columns)) or ()]
