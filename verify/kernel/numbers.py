"""Exact real numbers: the rationals, or one real number field Q(alpha).

A number is an int, a Fraction or an `Algebraic`: a polynomial in alpha modulo the monic polynomial p, with integers
over one denominator for coefficients. Nothing is ever rounded: a sign is decided by rationals that provably enclose the
value, and zero by a bound below which no other value can lie. That alpha is one root of p, isolated by the interval, is
checked when the field is read; that p is the least such polynomial is not needed.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction
from math import ceil, floor, gcd, lcm
from operator import add
from typing import Union

from .reading import CERTIFICATE, Rejected, Work, quoted, require

Number = Union[int, Fraction, "Algebraic"]  # a union with a name in quotes
DIGITS = 4_000  # of a numerator or denominator in a certificate
LARGE = 10**DIGITS
BITS = 65_536  # of a numerator or a denominator, wherever numbers may grow
TOO_LARGE = f"a number needs integers of more than {BITS} bits"
PRECISIONS = [128 << k for k in range(7)]  # bits of alpha, as long as a sign is undecided
DEGREE = 32
RATIONAL = re.compile(rf"(-?[0-9]{{1,{DIGITS}}})(?:/([0-9]{{1,{DIGITS}}}))?")


class Algebraic:
    """(c[0] + c[1] alpha + ...) / denominator. It has no `==`: equality is a zero test of the field."""

    __slots__ = ("c", "denominator", "field")

    def __init__(self, field: Field, c: tuple[int, ...], denominator: int = 1) -> None:
        self.field, self.c, self.denominator = field, c, denominator

    def __add__(self, other: Number) -> Algebraic:
        if not isinstance(other, Algebraic):
            other = Algebraic(self.field, (other.numerator, *[0] * (len(self.c) - 1)), other.denominator)
        if self.denominator == other.denominator:
            return Algebraic(self.field, tuple(map(add, self.c, other.c)), self.denominator)
        mine = [a * other.denominator for a in self.c]
        others = [b * self.denominator for b in other.c]
        return lowest(self.field, list(map(add, mine, others)), self.denominator * other.denominator)

    def __mul__(self, other: Number) -> Algebraic:
        if isinstance(other, Algebraic):
            c = self.field.product(self.c, other.c)
        else:
            c = [a * other.numerator for a in self.c]
        return lowest(self.field, c, self.denominator * other.denominator)

    def __sub__(self, other: Number) -> Algebraic:
        return self + other * -1

    def __rsub__(self, other: int | Fraction) -> Algebraic:
        return self * -1 + other

    __radd__ = __add__
    __rmul__ = __mul__


def lowest(field: Field, c: Sequence[int], denominator: int) -> Algebraic:
    """The number with these coefficients over the denominator, in lowest terms."""
    if denominator == 1:
        return Algebraic(field, tuple(c))
    common = gcd(denominator, *c)
    return Algebraic(field, tuple([a // common for a in c]), denominator // common)


def numerators(x: Number) -> tuple[int, ...]:
    """The coefficients of 1, alpha, alpha^2, ... times the denominator; of a bare rational just one."""
    return x.c if isinstance(x, Algebraic) else (x.numerator,)


class Field:
    """Q(alpha), alpha the one root in [lo, hi] of the monic integer polynomial p, the constant coefficient first."""

    def __init__(self, p: tuple[int, ...], lo: Fraction, hi: Fraction, work: Work) -> None:
        """Assumes (and checks) that p has exactly one root in [lo, hi], a simple one."""
        self.p, self.lo, self.hi, self.degree, self.work = p, lo, hi, len(p) - 1, work
        # No complex root of p is beyond 2^reach: twice the greatest |c|^(1/k), c standing k places below the leading 1.
        self.reach = 1 + max(-(-c.bit_length() // k) for k, c in enumerate(reversed(p[:-1]), 1))
        self.powers: dict[int, list[tuple[int, int]]] = {}
        self.slope = [k * c for k, c in enumerate(p)][1:]  # the derivative of p
        over = lcm(lo.denominator, hi.denominator)
        first, last = (lo * over).numerator, (hi * over).numerator
        at_lo, at_hi = self.value(first, over), self.value(last, over)
        changes = lo <= -p[0] <= hi if self.degree == 1 else lo < hi and at_lo * at_hi < 0
        require(changes, "field.root", "the polynomial does not change sign between the ends of the interval")
        low, high = self.bounds(self.slope, first, last, over)
        require(low > 0 or high < 0, "field.root", "the derivative may vanish in the interval")
        self.rises = low > 0  # from lo to hi

    def bounds(self, c: Sequence[int], first: int, last: int, over: int) -> tuple[int, int]:
        """Bounds of a polynomial over [first / over, last / over], times `over` to its degree: interval Horner."""
        low, high, scale = 0, 0, 1
        for a in reversed(c):
            ends = [x * y for x in (low, high) for y in {first, last}]
            low, high = min(ends) + a * scale, max(ends) + a * scale
            scale *= over
        self.work.spend(self.degree + self.degree * (high.bit_length() >> 13) ** 2)
        return low, high

    def value(self, x: int, over: int) -> int:
        """The value of p at x / over, times `over` to the degree of p."""
        return self.bounds(self.p, x, x, over)[0]

    def product(self, a: Sequence[int], b: Sequence[int]) -> list[int]:
        """The product of two polynomials modulo p."""
        total = [0] * (2 * self.degree - 1)
        for i, x in enumerate(a):
            if x:
                for j, y in enumerate(b, i):
                    total[j] += x * y
        for start in range(self.degree - 2, -1, -1):  # p tells the leading power of alpha in lower ones
            lead = total.pop()
            if lead:
                for i, c in enumerate(self.p[:-1], start):
                    total[i] -= lead * c
        return total

    def bounds_of_alpha(self, bits: int) -> tuple[int, int]:
        """Integers low, high, at most one apart, with low <= alpha * 2^bits <= high; [lo, hi] narrows with them.

        The interval is halved, and then cut at both ends: p does not come to 0 before its steepest slope lets it.
        """
        over = 1 << bits
        low, high = floor(self.lo * over), ceil(self.hi * over)
        while high - low > 1:
            middle = (low + high) // 2
            beyond = (self.value(middle, over) > 0) == self.rises
            low, high = (low, middle) if beyond else (middle, high)
            steepest = max(map(abs, self.bounds(self.slope, low, high, over)))
            low += abs(self.value(low, over)) // steepest
            high -= abs(self.value(high, over)) // steepest
        self.lo, self.hi = max(self.lo, Fraction(low, over)), min(self.hi, Fraction(high, over))
        return low, high

    def bounds_of_powers(self, bits: int) -> list[tuple[int, int]]:
        """For each i below the degree integers low, high with low <= alpha^i * 2^bits <= high."""
        alpha = self.bounds_of_alpha(bits)
        result = [(1 << bits, 1 << bits)]
        for _ in range(1, self.degree):
            ends = [a * b for a in result[-1] for b in alpha]
            result.append((min(ends) >> bits, -(-max(ends) >> bits)))
        return result

    def enclosure(self, x: Algebraic, bits: int) -> tuple[int, int]:
        """Bounds low, high with low <= x * 2^bits * (the denominator of x) <= high."""
        if bits not in self.powers:
            self.powers[bits] = self.bounds_of_powers(bits)
        low = high = 0
        for c, (least, most) in zip(x.c, self.powers[bits], strict=True):
            low += c * (least if c > 0 else most)
            high += c * (most if c > 0 else least)
        self.work.spend(self.degree * (1 + bits // 256))
        return low, high

    def limited(self, x: Number) -> Number:
        """The number, unless it is too large to go on with; counts the work that it took."""
        coefficients = numerators(x)
        bits = max(map(int.bit_length, (x.denominator, *coefficients)))
        require(bits <= BITS, "limit", TOO_LARGE)
        count = len(coefficients)
        products = 1 if count == 1 else 3 * count + count * count // 8
        self.work.spend(products * (1 + (bits >> 11) ** 2))  # long products cost the square of the length
        return x

    def sign(self, x: Number) -> int:
        """-1, 0 or +1; exact, or a rejection when a declared limit is not enough."""
        self.limited(x)
        if not isinstance(x, Algebraic):
            return (x > 0) - (x < 0)
        if not any(x.c):
            return 0
        # If it is not 0, the values of the numerator at the conjugates of alpha multiply to an integer that is not 0;
        # there are at most `degree` of them, none beyond `greatest`; so the numerator itself is not below 2^-least.
        greatest = sum([abs(c) << self.reach * i for i, c in enumerate(x.c)])
        least = greatest.bit_length() * (self.degree - 1)
        for bits in PRECISIONS:
            low, high = self.enclosure(x, bits)
            if low > 0 or high < 0:
                return 1 if low > 0 else -1
            if bits > least and max(-low, high) < 1 << (bits - least):
                return 0
        raise Rejected("limit", f"a sign is undecided with {PRECISIONS[-1]} bits")

    def element(self, value: object, where: str) -> Number:
        """An element of the field as certificates write it."""
        if not isinstance(value, list):
            return rational(value, where)
        parts = [rational(item, where) for item in CERTIFICATE.items(value, where, self.degree, self.degree)]
        if self.degree == 1:
            return parts[0]
        over = lcm(*[part.denominator for part in parts])
        return self.limited(Algebraic(self, tuple([(part * over).numerator for part in parts]), over))


def rational(value: object, where: str) -> Fraction:
    """An integer, or a text "p" or "p/q" with q > 0, of at most 4,000 digits each."""
    match = RATIONAL.fullmatch(value) if isinstance(value, str) else None
    p, q = (value, 1) if match is None else (int(match[1]), int(match[2] or "1"))
    if not isinstance(p, int) or isinstance(p, bool) or not q or abs(p) >= LARGE:
        raise CERTIFICATE.fail("number", where, 'expected an integer, "p" or "p/q" of at most 4,000 digits each')
    return Fraction(p, q)


def read_field(value: object, work: Work) -> tuple[Field, dict[str, Number]]:
    """The field and its values as yet unverified (`expression` verifies each when it is first needed)."""
    table = CERTIFICATE.table(value, "field", ("polynomial", "root", "values"))
    listed = CERTIFICATE.items(table["polynomial"], "field.polynomial", 2, DEGREE + 1)
    p = [CERTIFICATE.whole(c, "field.polynomial", -LARGE + 1, LARGE) for c in listed]
    require(p[-1] == 1, "field.polynomial", "the leading coefficient is not 1")
    lo, hi = (rational(x, "field.root") for x in CERTIFICATE.items(table["root"], "field.root", 2, 2))
    field, values = Field(tuple(p), lo, hi, work), CERTIFICATE.table(table["values"], "field.values", (), None)
    return field, {key: field.element(item, f"field.values[{quoted(key)}]") for key, item in values.items()}
