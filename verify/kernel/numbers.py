"""Exact real numbers: the rationals, or one real number field Q(alpha).

A number is an int, a Fraction or an `Algebraic`, a polynomial in alpha modulo
the monic polynomial p. Nothing is ever rounded: a sign is decided by rationals
that provably enclose the value, and zero by a gcd that does not need p to be
irreducible. That alpha is one root of p, isolated by the interval, is checked
when the field is read; that p is the least such polynomial is not needed.
"""

from __future__ import annotations

import re
from fractions import Fraction
from math import gcd, lcm
from operator import add
from typing import Union

from .reading import CERTIFICATE, Rejected, require

Rational = int | Fraction
Number = Union[int, Fraction, "Algebraic"]  # a union with a name in quotes
DIGITS = 4_000  # of a numerator or denominator in a certificate
LARGE = 10**DIGITS
PRECISION = 8_192  # bits of alpha, when a sign stays undecided
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


def integral(*numbers: Number) -> tuple[list[Number], int]:
    """The numbers times the least integer that makes all their coefficients integers, and that integer."""
    factor = lcm(*(c.denominator for x in numbers for c in coefficients(x)))
    scaled: list[Number] = []
    for x in numbers:
        c = tuple([k.numerator * (factor // k.denominator) for k in coefficients(x)])
        scaled.append(Algebraic(x.field, c) if isinstance(x, Algebraic) else c[0])
    return scaled, factor


class Field:
    """Q(alpha), alpha the one root in [lo, hi] of the monic integer polynomial p, the constant coefficient first."""

    def __init__(self, p: tuple[int, ...], lo: Fraction, hi: Fraction) -> None:
        """Assumes (and checks) that p has exactly one root in [lo, hi], a simple one."""
        self.p, self.lo, self.hi, self.degree = p, lo, hi, len(p) - 1
        if self.degree == 1:
            require(lo <= -p[0] <= hi, "field.root", "the root is not in its interval")
            return
        changes = lo < hi and sign_at(p, lo) * sign_at(p, hi) < 0
        require(changes, "field.root", "the polynomial does not change sign between the ends of the interval")
        low = high = Fraction(0)
        for i in range(self.degree, 0, -1):  # interval Horner for p'
            ends = (low * lo, low * hi, high * lo, high * hi)
            low, high = min(ends) + i * p[i], max(ends) + i * p[i]
        require(low > 0 or high < 0, "field.root", "the derivative may vanish in the interval")
        self.rows = [tuple(-c for c in p[:-1])]  # rows[k] = alpha^(degree + k)
        for _ in range(self.degree - 2):
            last = self.rows[-1]
            self.rows.append(tuple(a + last[-1] * b for a, b in zip((0, *last[:-1]), self.rows[0], strict=True)))
        den = lcm(lo.denominator, hi.denominator)
        self._interval = int(lo * den), int(hi * den), den
        self._powers: dict[int, list[tuple[int, int]]] = {}

    def product(self, a: tuple[Rational, ...], b: tuple[Rational, ...]) -> tuple[Rational, ...]:
        """The product of two polynomials modulo p."""
        full: list[Rational] = [0] * (2 * self.degree - 1)
        for i, x in enumerate(a):
            for j, y in enumerate(b):
                full[i + j] += x * y
        result = full[: self.degree]
        for x, row in zip(full[self.degree :], self.rows, strict=True):
            for j, y in enumerate(row):
                result[j] += x * y
        return tuple(result)

    def powers(self, bits: int) -> list[tuple[int, int]]:
        """For each i below the degree integers low, high with low <= alpha^i * 2^bits <= high."""
        if bits not in self._powers:
            lo, hi, den = self._interval
            rising = sign_at(self.p, self.hi)
            while (hi - lo) << bits > den:
                lo, hi, den = 2 * lo, 2 * hi, 2 * den
                middle = (lo + hi) // 2
                at = sign_at(self.p, Fraction(middle, den)) * rising
                lo, hi = middle if at <= 0 else lo, middle if at >= 0 else hi
            self._interval = lo, hi, den
            first = (lo << bits) // den, -((-hi << bits) // den)
            result = [(1 << bits, 1 << bits)]
            while len(result) < self.degree:
                ends = [a * b for a in result[-1] for b in first]
                result.append((min(ends) >> bits, -(-max(ends) >> bits)))
            self._powers[bits] = result
        return self._powers[bits]

    def enclosure(self, x: Algebraic, bits: int) -> tuple[Rational, Rational]:
        """Bounds low, high with low <= x * 2^bits <= high."""
        terms = [(c * a, c * b) if c >= 0 else (c * b, c * a) for c, (a, b) in zip(x.c, self.powers(bits), strict=True)]
        return sum([low for low, _ in terms]), sum([high for _, high in terms])

    def sign(self, x: Number) -> int:
        """-1, 0 or +1; exact, or a rejection when a declared limit is not enough."""
        if not isinstance(x, Algebraic):
            return (x > 0) - (x < 0)
        if not any(x.c):
            return 0
        bits = 128
        while bits <= PRECISION:
            low, high = self.enclosure(x, bits)
            if low > 0 or high < 0:
                return 1 if low > 0 else -1
            if bits == 128 and self._vanishes(x):
                return 0
            bits *= 2
        raise Rejected("limit", f"a sign is undecided with {PRECISION} bits")

    def _vanishes(self, x: Algebraic) -> bool:
        """Whether x(alpha) = 0: the gcd of x and p divides p, so alpha is its only possible root in [lo, hi]."""
        a, b = self.p, primitive(coefficients(integral(x)[0][0]))
        while b:
            a, b = b, primitive(remainder(a, b))
        return sign_at(a, self.lo) * sign_at(a, self.hi) <= 0

    def element(self, value: object, where: str) -> Number:
        """An element of the field as certificates write it."""
        if not isinstance(value, list):
            return rational(value, where)
        parts = [rational(item, where) for item in CERTIFICATE.items(value, where, self.degree, self.degree)]
        return parts[0] if self.degree == 1 else Algebraic(self, tuple(parts))


def sign_at(p: tuple[int, ...], x: Fraction) -> int:
    """The sign of an integer polynomial at a rational, by Horner with the denominators cleared."""
    value, scale = 0, 1
    for c in reversed(p):
        value = value * x.numerator + c * scale
        scale *= x.denominator
    return (value > 0) - (value < 0)


def primitive(p: tuple[Rational, ...]) -> tuple[int, ...]:
    """Of an integer polynomial: leading zeros removed and the content divided out; the zero polynomial is ()."""
    while p and not p[-1]:
        p = p[:-1]
    content = gcd(*(c.numerator for c in p))
    return tuple(c.numerator // content for c in p)


def remainder(a: tuple[int, ...], b: tuple[int, ...]) -> tuple[int, ...]:
    """A nonzero integer times a, less a multiple of b, of degree below that of b."""
    rest = list(a)
    while len(rest) >= len(b):
        lead = rest.pop()
        rest = [c * b[-1] for c in rest]
        for i, c in enumerate(b[:-1]):
            rest[len(rest) - len(b) + 1 + i] -= lead * c
    return tuple(rest)


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
    p = [
        CERTIFICATE.whole(c, "field.polynomial", -LARGE + 1, LARGE)
        for c in CERTIFICATE.items(table["polynomial"], "field.polynomial", 2, DEGREE + 1)
    ]
    require(p[-1] == 1, "field.polynomial", "the leading coefficient is not 1")
    lo, hi = (rational(x, "field.root") for x in CERTIFICATE.items(table["root"], "field.root", 2, 2))
    field = Field(tuple(p), lo, hi)
    if not isinstance(table["values"], dict):
        raise CERTIFICATE.fail("type", "field.values", "expected a table")
    return field, {key: field.element(item, f"field.values[{key[:80]!a}]") for key, item in table["values"].items()}
