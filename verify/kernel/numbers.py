"""Exact real numbers: the rationals, or one real number field Q(alpha).

A *ring element* is an int (degree 1) or an `Algebraic`, an integer polynomial
in alpha modulo the monic polynomial p. A `Number` is a ring element over a
positive integer. Nothing is ever rounded: a sign is decided by integers that
provably enclose the value, and zero by a gcd that does not need p to be
irreducible. That alpha is one root of p, isolated by the interval, is checked
when the field is read; that p is the least such polynomial is not needed.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from math import gcd, lcm
from operator import add, sub
from typing import Union

from .reading import CERTIFICATE, Rejected

Ring = Union[int, "Algebraic"]

DIGITS = 4_000  # of a numerator or denominator in a certificate
LARGE = 10**DIGITS
BITS = 32_768  # of an integer in a value
PRECISION = 8_192  # bits of alpha, when a sign stays undecided
DEGREE = 32
RATIONAL = re.compile(r"(-?[0-9]+)(?:/([0-9]+))?")


class Algebraic:
    """An integer polynomial in alpha, reduced modulo p. It has no `==`: equality is a zero test of the field."""

    __slots__ = ("c", "field")

    def __init__(self, field: Field, c: tuple[int, ...]) -> None:
        self.field = field
        self.c = c

    def __add__(self, other: Ring) -> Algebraic:
        if isinstance(other, int):
            return Algebraic(self.field, (self.c[0] + other, *self.c[1:]))
        return Algebraic(self.field, tuple(map(add, self.c, other.c)))

    def __sub__(self, other: Ring) -> Algebraic:
        if isinstance(other, int):
            return Algebraic(self.field, (self.c[0] - other, *self.c[1:]))
        return Algebraic(self.field, tuple(map(sub, self.c, other.c)))

    def __mul__(self, other: Ring) -> Algebraic:
        if isinstance(other, int):
            return Algebraic(self.field, tuple([a * other for a in self.c]))
        return Algebraic(self.field, self.field.product(self.c, other.c))

    def __neg__(self) -> Algebraic:
        return Algebraic(self.field, tuple([-a for a in self.c]))

    def __radd__(self, other: int) -> Algebraic:
        return self + other

    def __rsub__(self, other: int) -> Algebraic:
        return -self + other

    def __rmul__(self, other: int) -> Algebraic:
        return self * other


def coefficients(x: Ring) -> tuple[int, ...]:
    return (x,) if isinstance(x, int) else x.c


def divided(x: Ring, d: int) -> Ring:
    """x/d, for a d that divides every coefficient."""
    return x // d if isinstance(x, int) else Algebraic(x.field, tuple([a // d for a in x.c]))


@dataclass(frozen=True, slots=True)
class Number:
    """num/den with den > 0, in lowest terms (no integer > 1 divides all coefficients and den)."""

    num: Ring
    den: int

    @staticmethod
    def reduced(num: Ring, den: int) -> Number:
        c = coefficients(num)
        if max(den.bit_length(), *(a.bit_length() for a in c)) > 2 * BITS:
            raise Rejected("limit", f"a value needs integers of more than {2 * BITS} bits")
        common = gcd(den, *c)
        num, den = divided(num, common), den // common
        if max(den.bit_length(), *(a.bit_length() for a in coefficients(num))) > BITS:
            raise Rejected("limit", f"a value needs integers of more than {BITS} bits")
        return Number(num, den)

    def __add__(self, other: Number) -> Number:
        return Number.reduced(self.num * other.den + other.num * self.den, self.den * other.den)

    def __sub__(self, other: Number) -> Number:
        return Number.reduced(self.num * other.den - other.num * self.den, self.den * other.den)

    def __mul__(self, other: Number) -> Number:
        return Number.reduced(self.num * other.num, self.den * other.den)

    def __neg__(self) -> Number:
        return Number(-self.num, self.den)

    def bare(self) -> Fraction | None:
        """The value if no power of alpha stands in it, else None."""
        c = coefficients(self.num)
        return None if any(c[1:]) else Fraction(c[0], self.den)


class Field:
    """Q(alpha), alpha the one root in [lo, hi] of the monic integer polynomial p (coefficients from the constant up)."""

    def __init__(self, p: tuple[int, ...], lo: Fraction, hi: Fraction) -> None:
        """Assumes (and checks) that p has exactly one root in [lo, hi], a simple one."""
        self.p = p
        self.degree = len(p) - 1
        self.lo, self.hi = lo, hi
        if self.degree == 1:
            if not lo <= -p[0] <= hi:
                raise Rejected("field.root", "the root is not in its interval")
            return
        if not lo < hi or sign_at(p, lo) * sign_at(p, hi) >= 0:
            raise Rejected("field.root", "the polynomial does not change sign between the ends of the interval")
        low = high = Fraction(0)
        for i in range(self.degree, 0, -1):  # interval Horner for p'
            ends = (low * lo, low * hi, high * lo, high * hi)
            low, high = min(ends) + i * p[i], max(ends) + i * p[i]
        if low <= 0 <= high:
            raise Rejected("field.root", "the derivative may vanish in the interval")
        # rows[k] = alpha^(degree + k)
        self.rows = [tuple(-c for c in p[:-1])]
        for _ in range(self.degree - 2):
            last = self.rows[-1]
            self.rows.append(tuple(a + last[-1] * b for a, b in zip((0, *last[:-1]), self.rows[0], strict=True)))
        den = lcm(lo.denominator, hi.denominator)
        self._interval = (int(lo * den), int(hi * den), den)
        self._rising = sign_at(p, hi) > 0
        self._powers: dict[int, list[tuple[int, int]]] = {}

    def product(self, a: tuple[int, ...], b: tuple[int, ...]) -> tuple[int, ...]:
        """The product of two polynomials modulo p."""
        n = self.degree
        full = [0] * (2 * n - 1)
        for i, x in enumerate(a):
            if x:
                for j, y in enumerate(b):
                    full[i + j] += x * y
        result = full[:n]
        for x, row in zip(full[n:], self.rows, strict=True):
            if x:
                for j, y in enumerate(row):
                    result[j] += x * y
        return tuple(result)

    def powers(self, bits: int) -> list[tuple[int, int]]:
        """For each i below the degree integers low, high with low <= alpha^i * 2^bits <= high."""
        if bits not in self._powers:
            lo, hi, den = self._interval
            while (hi - lo) << bits > den:
                lo, hi, den = 2 * lo, 2 * hi, 2 * den
                middle = (lo + hi) // 2
                at = sign_at(self.p, Fraction(middle, den))
                if at <= 0 if self._rising else at >= 0:
                    lo = middle
                if at >= 0 if self._rising else at <= 0:
                    hi = middle
            self._interval = (lo, hi, den)
            first = ((lo << bits) // den, -((-hi << bits) // den))
            result = [(1 << bits, 1 << bits)]
            while len(result) < self.degree:
                ends = [a * b for a in result[-1] for b in first]
                result.append((min(ends) >> bits, -(-max(ends) >> bits)))
            self._powers[bits] = result
        return self._powers[bits]

    def enclosure(self, x: Ring, bits: int) -> tuple[int, int]:
        """Integers low, high with low <= x * 2^bits <= high."""
        if isinstance(x, int):
            return x << bits, x << bits
        low = high = 0
        for c, (a, b) in zip(x.c, self.powers(bits), strict=True):
            if c >= 0:
                low, high = low + c * a, high + c * b
            else:
                low, high = low + c * b, high + c * a
        return low, high

    def sign(self, x: Ring) -> int:
        """-1, 0 or +1; exact, or a rejection when the declared precision is not enough."""
        if isinstance(x, int):
            return (x > 0) - (x < 0)
        if not any(x.c):
            return 0
        bits = 128
        while bits <= PRECISION:
            low, high = self.enclosure(x, bits)
            if low > 0:
                return 1
            if high < 0:
                return -1
            if bits == 128 and self._vanishes(x.c):
                return 0
            bits *= 2
        raise Rejected("limit", f"a sign is undecided with {PRECISION} bits")

    def _vanishes(self, c: tuple[int, ...]) -> bool:
        """Whether c(alpha) = 0: the gcd of c and p divides p, so alpha is its only possible root in [lo, hi]."""
        a, b = primitive(self.p), primitive(c)
        while b:
            a, b = b, primitive(remainder(a, b))
        return sign_at(a, self.lo) * sign_at(a, self.hi) <= 0

    def rational(self, q: Fraction | int) -> Number:
        q = Fraction(q)
        num = q.numerator
        return Number.reduced(num if self.degree == 1 else Algebraic(self, (num, *[0] * (self.degree - 1))), q.denominator)

    def element(self, value: object, where: str) -> Number:
        """An element of the field as certificates write it."""
        if not isinstance(value, list):
            return self.rational(rational(value, where))
        parts = [rational(item, where) for item in CERTIFICATE.items(value, where, self.degree, self.degree)]
        if self.degree == 1:
            return self.rational(parts[0])
        den = lcm(*(q.denominator for q in parts))
        return Number.reduced(Algebraic(self, tuple(q.numerator * (den // q.denominator) for q in parts)), den)


def sign_at(p: tuple[int, ...], x: Fraction) -> int:
    """The sign of an integer polynomial at a rational, by Horner with the denominators cleared."""
    a, b = x.numerator, x.denominator
    value, scale = 0, 1
    for c in reversed(p):
        value = value * a + c * scale
        scale *= b
    return (value > 0) - (value < 0)


def primitive(p: tuple[int, ...]) -> tuple[int, ...]:
    """Leading zeros removed and the content divided out; the zero polynomial is ()."""
    top = len(p)
    while top and not p[top - 1]:
        top -= 1
    content = gcd(*p[:top])
    return tuple(c // content for c in p[:top])


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
    if isinstance(value, int) and not isinstance(value, bool):
        p, q = value, 1
    else:
        match = RATIONAL.fullmatch(CERTIFICATE.text(value, where))
        if match is None or max(len(match[1].lstrip("-")), len(match[2] or "")) > DIGITS:
            raise CERTIFICATE.fail("number", where, 'expected an integer, "p" or "p/q" of at most 4,000 digits each')
        try:
            p, q = int(match[1]), int(match[2] or "1")
        except ValueError:
            raise Rejected("limit", f"{where}: too many digits") from None
    if q == 0 or abs(p) >= LARGE:
        raise CERTIFICATE.fail("number", where, "a denominator is 0 or a number has too many digits")
    return Fraction(p, q)


def read_field(value: object) -> tuple[Field, dict[str, Number]]:
    """The field and its values as yet unverified (`expression` verifies each when it is first needed)."""
    table = CERTIFICATE.table(value, "field", ("polynomial", "root", "values"))
    p = CERTIFICATE.items(table["polynomial"], "field.polynomial", 2, DEGREE + 1)
    monic = tuple(CERTIFICATE.whole(c, "field.polynomial", -LARGE + 1, LARGE) for c in p)
    if monic[-1] != 1:
        raise Rejected("field.polynomial", "the leading coefficient is not 1")
    lo, hi = (rational(x, "field.root") for x in CERTIFICATE.items(table["root"], "field.root", 2, 2))
    field = Field(monic, lo, hi)
    values = table["values"]
    if not isinstance(values, dict):
        raise CERTIFICATE.fail("type", "field.values", "expected a table")
    return field, {key: field.element(item, f"field.values[{key[:80]!a}]") for key, item in values.items()}
