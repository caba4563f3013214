"""Real numbers that never round: rational ones here, elements of real number fields in `algebraic`.

Arithmetic is exact, a sign (-1, 0 or 1) is always decided, equality and hash agree across fields and with ``int`` and
``Fraction``.
"""

from __future__ import annotations

from fractions import Fraction
from math import gcd, isqrt

from verify.exact.number_text import digits as digits_of
from verify.exact.number_text import fraction_text
from verify.exact.numberfield import RATIONALS, Field, longest

_new = object.__new__


class Number:
    """A real number, exactly: a rational one, or as an `algebraic.Algebraic` an element of a larger :class:`Field`.
    Immutable.

    Made by :meth:`of`, by `algebraic.element`, or read from text. ``+ - * /``, ``abs`` and comparisons take Numbers,
    ints and Fractions (floats are refused). Comparisons are a total order and are exact between any two numbers, also
    of different fields; arithmetic between irrational numbers of different fields raises :class:`FieldMismatch`.
    Division by 0 raises ZeroDivisionError. A number is true if it is not 0.
    """

    # of a rational number the numerator and positive denominator in lowest terms; and the hash, once it was worked out
    __slots__ = ("_d", "_hash", "_n")

    _n: int
    _d: int
    _hash: int

    @staticmethod
    def of(value: int | Fraction | Number) -> Number:
        """The rational number with this value (a Number comes back as it is). Floats are refused: TypeError."""
        number = _coerced(value)
        if number is None:
            raise TypeError(f"an exact number is an int, a Fraction or a Number, not {type(value).__name__}")
        return number

    @property
    def field(self) -> Field:
        """The field whose element this is."""
        return RATIONALS

    @property
    def is_rational(self) -> bool:
        """Whether the value is a rational number."""
        return True

    def as_fraction(self) -> Fraction:
        """The value, if it is rational; else ValueError."""
        return Fraction(self._n, self._d)

    def coefficients(self) -> tuple[Fraction, ...]:
        """The coefficients of 1, alpha, ..., one for each degree of the field."""
        return (Fraction(self._n, self._d),)

    def integers(self) -> tuple[tuple[int, ...], int]:
        """(numerators, denominator): the coefficients over their least common positive denominator."""
        return (self._n,), self._d

    def sign(self) -> int:
        """-1, 0 or 1. Exact."""
        n = self._n
        return (n > 0) - (n < 0)

    def enclosure(self, bits: int) -> tuple[Fraction, Fraction]:
        """Rational (low, high) with low <= value <= high, high - low <= 2^-bits (bits >= 0); both the value if that is
        rational. That 0 lies between them says nothing about the sign.
        """
        value = Fraction(self._n, self._d)
        return value, value

    def text(self) -> str:
        """An exact expression, not unique, in the grammar of documents: a polynomial in the field's name, from which
        `read_numbers` reads an equal number unless it is longer than the declared limits.
        """
        return fraction_text(self._n, self._d)

    def __pos__(self) -> Number:
        return self

    def __abs__(self) -> Number:
        return -self if self.sign() < 0 else self

    def __add__(self, other: Number | int | Fraction) -> Number:
        number = other if isinstance(other, Number) else _coerced(other)
        return NotImplemented if number is None else self._plus(number)

    __radd__ = __add__

    def __sub__(self, other: Number | int | Fraction) -> Number:
        number = other if isinstance(other, Number) else _coerced(other)
        return NotImplemented if number is None else self._minus(number)

    def __rsub__(self, other: int | Fraction) -> Number:
        number = _coerced(other)
        return NotImplemented if number is None else number._minus(self)

    def __mul__(self, other: Number | int | Fraction) -> Number:
        number = other if isinstance(other, Number) else _coerced(other)
        return NotImplemented if number is None else self._times(number)

    __rmul__ = __mul__

    def __truediv__(self, other: Number | int | Fraction) -> Number:
        number = other if isinstance(other, Number) else _coerced(other)
        return NotImplemented if number is None else self._over(number)

    def __rtruediv__(self, other: int | Fraction) -> Number:
        number = _coerced(other)
        return NotImplemented if number is None else number._over(self)

    def __eq__(self, other: object) -> bool:
        number = other if isinstance(other, Number) else _coerced(other)
        return NotImplemented if number is None else self._equals(number)

    def __lt__(self, other: Number | int | Fraction) -> bool:
        number = other if isinstance(other, Number) else _coerced(other)
        return NotImplemented if number is None else self._compare(number) < 0

    def __le__(self, other: Number | int | Fraction) -> bool:
        number = other if isinstance(other, Number) else _coerced(other)
        return NotImplemented if number is None else self._compare(number) <= 0

    def __gt__(self, other: Number | int | Fraction) -> bool:
        number = other if isinstance(other, Number) else _coerced(other)
        return NotImplemented if number is None else self._compare(number) > 0

    def __ge__(self, other: Number | int | Fraction) -> bool:
        number = other if isinstance(other, Number) else _coerced(other)
        return NotImplemented if number is None else self._compare(number) >= 0

    def __hash__(self) -> int:
        if self._d == 1:
            return hash(self._n)
        try:
            return self._hash
        except AttributeError:
            self._hash = hash(Fraction(self._n, self._d))
            return self._hash

    def _scaled_floor(self, bits: int) -> int:
        """floor(value * 2^bits), exactly."""
        return (self._n << bits) // self._d

    def __floor__(self) -> int:
        return self._scaled_floor(0)

    def __float__(self) -> float:
        """The nearest float, from exact enclosures. OverflowError if the value is beyond all floats."""
        return self._n / self._d

    def decimal(self, digits: int) -> str:
        """Decimal text with this many digits after the point (none, no point, for 0), correctly rounded, a rational
        half-way case to the even last digit. It does not say whether anything was rounded. ValueError for a negative
        number of digits.
        """
        if digits < 0:
            raise ValueError("the number of digits must not be negative")
        scaled = self * 10**digits
        units = round(scaled.as_fraction()) if scaled.is_rational else (scaled * 2 + 1)._scaled_floor(0) // 2
        body = digits_of(abs(units)).rjust(digits + 1, "0")
        sign = "-" if units < 0 else ""
        return f"{sign}{body[:-digits]}.{body[-digits:]}" if digits else sign + body

    def __str__(self) -> str:
        return self.text()

    def __repr__(self) -> str:
        return f"Number({self.text()})"

    def __bool__(self) -> bool:
        return self._n != 0

    def __neg__(self) -> Number:
        return rational(-self._n, self._d)

    def _equals(self, other: Number) -> bool:
        if type(other) is Number:
            return self._n == other._n and self._d == other._d
        return other.is_rational and other.as_fraction() == self.as_fraction()

    def _compare(self, other: Number) -> int:
        if type(other) is Number:
            difference = self._n * other._d - other._n * self._d
            return (difference > 0) - (difference < 0)
        return -other._compare(self)

    def _plus(self, other: Number) -> Number:
        if type(other) is Number:
            d, e = self._d, other._d
            if d == 1 and e == 1:
                return rational(self._n + other._n, 1)
            n = self._n * e + other._n * d
            d *= e
            g = gcd(n, d)
            return rational(n // g, d // g) if g > 1 else rational(n, d)
        return other._plus(self)

    def _minus(self, other: Number) -> Number:
        if type(other) is Number:
            d, e = self._d, other._d
            if d == 1 and e == 1:
                return rational(self._n - other._n, 1)
            n = self._n * e - other._n * d
            d *= e
            g = gcd(n, d)
            return rational(n // g, d // g) if g > 1 else rational(n, d)
        return (-other)._plus(self)

    def _times(self, other: Number) -> Number:
        if type(other) is Number:
            n, d = self._n * other._n, self._d * other._d
            if d == 1:
                return rational(n, 1)
            g = gcd(n, d)
            return rational(n // g, d // g) if g > 1 else rational(n, d)
        return other._times(self)

    def _over(self, other: Number) -> Number:
        if type(other) is Number:
            n, d = self._n * other._d, self._d * other._n
            if d == 0:
                raise ZeroDivisionError("division by the number 0")
            g = gcd(n, d)
            if d < 0:
                g = -g
            return rational(n // g, d // g)
        return other._inverse()._times(self)

    def _inverse(self) -> Number:
        return rational(1, 1)._over(self)

    def __reduce__(self) -> tuple[object, tuple[object, ...]]:
        return rational, (self._n, self._d)


def rational(n: int, d: int) -> Number:
    """n / d, which must be in lowest terms with d > 0."""
    number: Number = _new(Number)
    number._n = n
    number._d = d
    return number


ZERO, ONE = rational(0, 1), rational(1, 1)


def _coerced(value: object) -> Number | None:
    if isinstance(value, Number):
        return value
    if isinstance(value, int):
        return rational(int(value), 1)
    if isinstance(value, Fraction):
        return rational(value.numerator, value.denominator)
    return None


def bits(number: Number) -> int:
    """Bits of the longest numerator or of the denominator of a number."""
    numerators, denominator = number.integers()
    return max(denominator.bit_length(), longest(numerators))


def square_root_of_square(value: Fraction) -> Fraction | None:
    """The rational root >= 0 of a rational number, or None if it has none. Exact."""
    if value < 0:
        return None
    n, d = isqrt(value.numerator), isqrt(value.denominator)
    if n * n == value.numerator and d * d == value.denominator:
        return Fraction(n, d)
    return None
