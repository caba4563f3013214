"""Exact real numbers: the rationals, or one real number field Q(alpha).

A number is an int, a Fraction or an `Algebraic`, a polynomial in alpha modulo
the monic polynomial p. Nothing is ever rounded: a sign is decided by rationals
that provably enclose the value, and zero by a gcd that does not need p to be
irreducible. That alpha is one root of p, isolated by the interval, is checked
when the field is read; that p is the least such polynomial is not needed.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction
from math import ceil, floor
from operator import add
from typing import Union

from .reading import CERTIFICATE, Rejected, quoted, require

Rational = int | Fraction
Number = Union[int, Fraction, "Algebraic"]  # a union with a name in quotes
DIGITS = 4_000  # of a numerator or denominator in a certificate
LARGE = 10**DIGITS
BITS = 65_536  # of a numerator or a denominator, where numbers may grow
PRECISIONS = [128 << k for k in range(7)]  # bits of alpha, as long as a sign is undecided
DEGREE = 32
RATIONAL = re.compile(rf"(-?[0-9]{{1,{DIGITS}}})(?:/([0-9]{{1,{DIGITS}}}))?")


class Algebraic:
    """A polynomial in alpha, reduced modulo p. It has no `==`: equality is a zero test of the field."""

    __slots__ = ("c", "field")

    def __init__(self, field: Field, c: tuple[Rational, ...]) -> None:
        self.field, self.c = field, c

    def __add__(self, other: Number) -> Algebraic:
        if isinstance(other, Algebraic):
            return Algebraic(self.field, tuple(map(add, self.c, other.c)))
        return Algebraic(self.field, (self.c[0] + other, *self.c[1:]))

    def __mul__(self, other: Number) -> Algebraic:
        if isinstance(other, Algebraic):
            return Algebraic(self.field, self.field.product(self.c, other.c))
        return Algebraic(self.field, tuple([a * other for a in self.c]))

    def __neg__(self) -> Algebraic:
        return self * -1

    def __sub__(self, other: Number) -> Algebraic:
        return self + -other

    def __rsub__(self, other: Rational) -> Algebraic:
        return -self + other

    __radd__ = __add__
    __rmul__ = __mul__


def coefficients(x: Number) -> tuple[Rational, ...]:
    return x.c if isinstance(x, Algebraic) else (x,)


def integral(x: Number, factor: Fraction) -> Number:
    """The number times a factor that makes all its coefficients integers."""
    c = tuple([(k * factor).numerator for k in coefficients(x)])
    return Algebraic(x.field, c) if isinstance(x, Algebraic) else c[0]


def limited(x: Number) -> Number:
    """The number, unless it is too large to go on with."""
    size = max(max(c.numerator.bit_length(), c.denominator.bit_length()) for c in coefficients(x))
    require(size <= BITS, "limit", f"a number needs integers of more than {BITS} bits")
    return x


class Field:
    """Q(alpha), alpha the one root in [lo, hi] of the monic integer polynomial p, the constant coefficient first."""

    def __init__(self, p: tuple[int, ...], lo: Fraction, hi: Fraction) -> None:
        """Assumes (and checks) that p has exactly one root in [lo, hi], a simple one."""
        self.p, self.lo, self.hi, self.degree = p, lo, hi, len(p) - 1
        self.powers: dict[int, list[tuple[int, int]]] = {}
        changes = lo <= -p[0] <= hi if self.degree == 1 else lo < hi and sign_at(p, lo) * sign_at(p, hi) < 0
        require(changes, "field.root", "the polynomial does not change sign between the ends of the interval")
        low = high = Fraction(0)
        for i in range(self.degree, 0, -1):  # interval Horner for p'
            ends = [a * b for a in (low, high) for b in (lo, hi)]
            low, high = min(ends) + i * p[i], max(ends) + i * p[i]
        require(low > 0 or high < 0, "field.root", "the derivative may vanish in the interval")

    def product(self, a: tuple[Rational, ...], b: tuple[Rational, ...]) -> tuple[Rational, ...]:
        """The product of two polynomials modulo p."""
        total: tuple[Rational, ...] = (0,) * self.degree
        for x in reversed(a):  # Horner; p tells the leading power of alpha in lower ones
            *rest, lead = total
            total = tuple([s - lead * m + x * y for s, m, y in zip((0, *rest), self.p, b, strict=False)])
        return total

    def enclosed_powers(self, bits: int) -> list[tuple[int, int]]:
        """For each i below the degree integers low, high with low <= alpha^i * 2^bits <= high."""
        low, high, rising = floor(self.lo * 2**bits), ceil(self.hi * 2**bits), sign_at(self.p, self.hi)
        while high - low > 1:
            middle = (low + high) // 2  # in the interval, where the sign of p tells the side of alpha
            beyond = sign_at(self.p, Fraction(middle, 2**bits)) * rising > 0
            low, high = (low, middle) if beyond else (middle, high)
        result = [(1 << bits, 1 << bits)]
        for _ in range(1, self.degree):
            ends = [a * b for a in result[-1] for b in (low, high)]
            result.append((min(ends) >> bits, -(-max(ends) >> bits)))
        return result

    def enclosure(self, x: Algebraic, bits: int) -> tuple[Rational, Rational]:
        """Bounds low, high with low <= x * 2^bits <= high."""
        if bits not in self.powers:
            self.powers[bits] = self.enclosed_powers(bits)
        terms = [(c * a, c * b) if c >= 0 else (c * b, c * a) for c, (a, b) in zip(x.c, self.powers[bits], strict=True)]
        return sum([low for low, _ in terms]), sum([high for _, high in terms])

    def sign(self, x: Number) -> int:
        """-1, 0 or +1; exact, or a rejection when a declared limit is not enough."""
        if not isinstance(x, Algebraic):
            return (x > 0) - (x < 0)
        if not any(x.c):
            return 0
        for bits in PRECISIONS:
            low, high = self.enclosure(x, bits)
            if low > 0 or high < 0:
                return 1 if low > 0 else -1
            if bits == PRECISIONS[0] and self.vanishes(x):
                return 0
        raise Rejected("limit", f"a sign is undecided with {PRECISIONS[-1]} bits")

    def vanishes(self, x: Algebraic) -> bool:
        """Whether x(alpha) = 0: the gcd of x and p divides p, so alpha is its only possible root in [lo, hi]."""
        divisor, rest = list[Rational](self.p), list(x.c)
        while any(rest):
            while not rest[-1]:
                rest.pop()
            divisor, rest = [Fraction(c) / rest[-1] for c in rest], divisor
            while len(rest) >= len(divisor):
                lead = rest.pop()
                for i in range(1, len(divisor)):
                    rest[-i] -= lead * divisor[-1 - i]
        return sign_at(divisor, self.lo) * sign_at(divisor, self.hi) <= 0

    def element(self, value: object, where: str) -> Number:
        """An element of the field as certificates write it."""
        if not isinstance(value, list):
            return rational(value, where)
        parts = [rational(item, where) for item in CERTIFICATE.items(value, where, self.degree, self.degree)]
        return parts[0] if self.degree == 1 else Algebraic(self, tuple(parts))


def sign_at(p: Sequence[Rational], x: Fraction) -> int:
    """The sign of a polynomial at a rational, by Horner with the denominator of x cleared."""
    value: Rational = 0
    scale = 1
    for c in reversed(p):
        value = value * x.numerator + c * scale
        scale *= x.denominator
    return (value > 0) - (value < 0)


def rational(value: object, where: str) -> Fraction:
    """An integer, or a text "p" or "p/q" with q > 0, of at most 4,000 digits each."""
    match = RATIONAL.fullmatch(value) if isinstance(value, str) else None
    p, q = (value, 1) if match is None else (int(match[1]), int(match[2] or "1"))
    if not isinstance(p, int) or isinstance(p, bool) or not q or abs(p) >= LARGE:
        raise CERTIFICATE.fail("number", where, 'expected an integer, "p" or "p/q" of at most 4,000 digits each')
    return Fraction(p, q)


def read_field(value: object) -> tuple[Field, dict[str, Number]]:
    """The field and its values as yet unverified (`expression` verifies each when it is first needed)."""
    table = CERTIFICATE.table(value, "field", ("polynomial", "root", "values"))
    listed = CERTIFICATE.items(table["polynomial"], "field.polynomial", 2, DEGREE + 1)
    p = [CERTIFICATE.whole(c, "field.polynomial", -LARGE + 1, LARGE) for c in listed]
    require(p[-1] == 1, "field.polynomial", "the leading coefficient is not 1")
    lo, hi = (rational(x, "field.root") for x in CERTIFICATE.items(table["root"], "field.root", 2, 2))
    field, values = Field(tuple(p), lo, hi), CERTIFICATE.table(table["values"], "field.values", (), None)
    return field, {key: field.element(item, f"field.values[{quoted(key)}]") for key, item in values.items()}
