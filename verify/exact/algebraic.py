"""Elements of real number fields, exactly, and sums of products brought to lowest terms once."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import gcd, lcm
from operator import add, mul, neg, sub

from verify.exact import polynomial as poly
from verify.exact.number import Number, rational
from verify.exact.number_text import polynomial_text
from verify.exact.numberfield import Field, FieldMismatch

_new = object.__new__


def element(field: Field, coefficients: Sequence[int | Fraction]) -> Number:
    """The number with these coefficients of 1, alpha, ..., at most `degree` of them, in this field. Exact."""
    if len(coefficients) > field.degree:
        raise ValueError(f"at most {field.degree} coefficients, not {len(coefficients)}")
    denominator = lcm(*[c.denominator for c in coefficients])
    values = [c.numerator * (denominator // c.denominator) for c in coefficients]
    values += [0] * (field.degree - len(values))
    if field.degree == 1:
        return rational(values[0], denominator)
    return _reduced(field, tuple(values), denominator)


def generator(field: Field) -> Number:
    """alpha (0 for the rationals)."""
    return element(field, (0, 1)) if field.degree > 1 else rational(0, 1)


class Algebraic(Number):
    """An element of a field of degree > 1: numerators and a positive denominator in lowest terms."""

    __slots__ = ("_c", "_field", "_float")

    _field: Field
    _c: tuple[int, ...]
    _float: float

    @property
    def field(self) -> Field:
        return self._field

    @property
    def is_rational(self) -> bool:
        return not any(self._c[1:])

    def as_fraction(self) -> Fraction:
        if any(self._c[1:]):
            raise ValueError("the number is not rational")
        return Fraction(self._c[0], self._d)

    def coefficients(self) -> tuple[Fraction, ...]:
        return tuple([Fraction(c, self._d) for c in self._c])

    def integers(self) -> tuple[tuple[int, ...], int]:
        return self._c, self._d

    def sign(self) -> int:
        return self._field.sign(self._c)

    def enclosure(self, bits: int) -> tuple[Fraction, Fraction]:
        if self.is_rational:
            value = self.as_fraction()
            return value, value
        size = sum(map(abs, self._c))
        precision = 64
        while True:
            _, width = self._field.powers(precision)
            if (2 * size * width) << bits <= self._d << precision:
                break
            precision *= 2
        low, high, scale = self._within(precision)
        return Fraction(low, scale), Fraction(high, scale)

    def _within(self, precision: int) -> tuple[int, int, int]:
        """(low, high, scale) with low <= value * scale <= high, from alpha's powers to so many bits."""
        bottoms, width = self._field.powers(precision)
        low = sum(map(mul, self._c, bottoms))
        size, total = sum(map(abs, self._c)), sum(self._c)
        above = (size + total) >> 1  # the sum of the positive ones
        return low + (total - above) * width, low + above * width, self._d << precision

    def __hash__(self) -> int:
        try:
            return self._hash
        except AttributeError:
            self._hash = hash(self.as_fraction()) if self.is_rational else hash((self._near(), "irrational"))
            return self._hash

    def _near(self) -> float | int:
        """The same for equal numbers."""
        try:
            return float(self)
        except OverflowError:
            return self._scaled_floor(0)

    def __float__(self) -> float:
        try:
            return self._float
        except AttributeError:
            self._float = self._nearest()
            return self._float

    def _nearest(self) -> float:
        if self.is_rational:
            return self._c[0] / self._d
        bits = 64
        while True:
            low, high, scale = self._within(bits)
            # the quotient of two ints is rounded to nearest
            below, above = low / scale, high / scale
            if below == above and (below != 0.0 or bits > 1200):
                return below
            bits *= 2

    def _scaled_floor(self, bits: int) -> int:
        if self.is_rational:
            return (self._c[0] << bits) // self._d
        precision = bits + 24
        while True:
            low, high, scale = self._within(precision)
            below = (low << bits) // scale
            if below == (high << bits) // scale:
                return below
            precision *= 2

    def text(self) -> str:
        return polynomial_text(self.coefficients(), self._field.name)

    def __bool__(self) -> bool:
        return any(self._c)

    def __neg__(self) -> Number:
        return _algebraic(self._field, tuple(map(neg, self._c)), self._d)

    def _equals(self, other: Number) -> bool:
        if not isinstance(other, Algebraic):
            return self.is_rational and self.as_fraction() == other.as_fraction()
        if self._field is other._field or self._field == other._field:
            return self._d == other._d and self._c == other._c
        if self.is_rational or other.is_rational:
            return self.is_rational and other.is_rational and self.as_fraction() == other.as_fraction()
        return not _apart(self, other, 64) and _are_one(self, other)

    def _compare(self, other: Number) -> int:
        if not isinstance(other, Algebraic):
            n, e, d = other._n, other._d, self._d
            c = self._c
            return self._field.sign((c[0] * e - n * d, *[x * e for x in c[1:]]))
        if self._field is other._field or self._field == other._field:
            d, e = self._d, other._d
            if d == e:
                return self._field.sign(tuple(map(sub, self._c, other._c)))
            return self._field.sign(tuple([x * e - y * d for x, y in zip(self._c, other._c, strict=True)]))
        if other.is_rational:
            return self._compare(Number.of(other.as_fraction()))
        if self.is_rational:
            return -other._compare(Number.of(self.as_fraction()))
        if self._equals(other):
            return 0
        bits = 64
        while not (order := _apart(self, other, bits)):
            bits *= 2
        return order

    def _in_one_field(self, other: Algebraic) -> tuple[Number, Number]:
        """Both in one field: where that differs, in the rationals if one of the values is rational."""
        if self._field == other._field:
            return self, _algebraic(self._field, other._c, other._d)
        if self.is_rational or other.is_rational:
            return _rational_part(self), _rational_part(other)
        raise FieldMismatch(self._field, other._field)

    def _plus(self, other: Number) -> Number:
        if not isinstance(other, Algebraic):
            c, d, e = self._c, self._d, other._d
            if e == 1:
                return _algebraic(self._field, (c[0] + other._n * d, *c[1:]), d)
            return _reduced(self._field, (c[0] * e + other._n * d, *[x * e for x in c[1:]]), d * e)
        if self._field is not other._field:
            one, two = self._in_one_field(other)
            return one._plus(two)
        d, e = self._d, other._d
        if d == e:
            c = tuple(map(add, self._c, other._c))
            return _algebraic(self._field, c, 1) if d == 1 else _reduced(self._field, c, d)
        return _reduced(self._field, tuple([x * e + y * d for x, y in zip(self._c, other._c, strict=True)]), d * e)

    def _minus(self, other: Number) -> Number:
        if isinstance(other, Algebraic) and self._field is other._field:
            d, e = self._d, other._d
            if d == e:
                c = tuple(map(sub, self._c, other._c))
                return _algebraic(self._field, c, 1) if d == 1 else _reduced(self._field, c, d)
            return _reduced(self._field, tuple([x * e - y * d for x, y in zip(self._c, other._c, strict=True)]), d * e)
        return self._plus(-other)

    def _times(self, other: Number) -> Number:
        if not isinstance(other, Algebraic):
            n = other._n
            return _reduced(self._field, tuple([x * n for x in self._c]), self._d * other._d)
        if self._field is not other._field:
            one, two = self._in_one_field(other)
            return one._times(two)
        return _reduced(self._field, self._field.product(self._c, other._c), self._d * other._d)

    def _over(self, other: Number) -> Number:
        if not isinstance(other, Algebraic):
            n, e = other._n, other._d
            if n == 0:
                raise ZeroDivisionError("division by the number 0")
            if n < 0:
                n, e = -n, -e
            return _reduced(self._field, tuple([x * e for x in self._c]), self._d * n)
        return self._times(other._inverse())

    def _inverse(self) -> Number:
        field, c = self._field, self._c
        if not any(c):
            raise ZeroDivisionError("division by the number 0")
        if not any(c[1:]):
            zeros = (0,) * (field.degree - 1)
            return _reduced(field, (self._d, *zeros), c[0])
        solution, determinant = field.inverse(c)
        return _reduced(field, tuple([x * self._d for x in solution]), determinant)

    def __reduce__(self) -> tuple[object, tuple[object, ...]]:
        return _algebraic, (self._field, self._c, self._d)


def trace(x: Number) -> Fraction:
    """The trace to Q."""
    sums = poly.power_sums(x.field.polynomial, x.field.degree)
    return sum([c * t for c, t in zip(x.coefficients(), sums, strict=True)], Fraction(0))


def characteristic_polynomial(z: Number) -> tuple[int, ...]:
    """The characteristic polynomial over Q of an algebraic integer, low to high."""
    power, sums = z, []
    for _ in range(z.field.degree):
        sums.append(trace(power).numerator)
        power = power * z
    return poly.from_power_sums(sums)


def _minimal_polynomial(z: Number) -> tuple[int, ...]:
    """The minimal polynomial over Q of an algebraic integer, low to high: its characteristic polynomial is a power of
    it.
    """
    from sympy import Poly, Symbol  # type: ignore[import-untyped, unused-ignore]  # seldom needed, and slow to load

    found = Poly(characteristic_polynomial(z)[::-1], Symbol("x")).sqf_part().all_coeffs()
    return tuple(int(c) for c in reversed(found))


def _are_one(a: Algebraic, b: Algebraic) -> bool:
    """Whether irrational numbers of two fields are the same root of one minimal polynomial. Exact."""
    scale = lcm(a._d, b._d)
    one, other = a * scale, b * scale
    minimal = _minimal_polynomial(one)
    if minimal != _minimal_polynomial(other):
        return False
    bits = 64
    while not _apart(one, other, bits):
        low, high = one.enclosure(bits)
        bottom, top = other.enclosure(bits)
        if poly.isolates(minimal, (min(low, bottom), max(high, top))):
            return True
        bits *= 2
    return False


def _apart(a: Number, b: Number, bits: int) -> int:
    """-1 or 1 as a is less than b, where enclosures to so many bits tell; else 0."""
    low, high = a.enclosure(bits)
    bottom, top = b.enclosure(bits)
    return (low > top) - (high < bottom)


def sum_of_products(a: Number, b: Number, c: Number, d: Number) -> Number:
    """a*b + c*d, exactly, brought to lowest terms once."""
    return _two_products(a, b, c, d, 1)


def difference_of_products(a: Number, b: Number, c: Number, d: Number) -> Number:
    """a*b - c*d, exactly, brought to lowest terms once."""
    return _two_products(a, b, c, d, -1)


def _two_products(a: Number, b: Number, c: Number, d: Number, sign: int) -> Number:
    if type(a) is type(b) is type(c) is type(d) is Number:
        n, m = a._n * b._n, sign * c._n * d._n
        e, f = a._d * b._d, c._d * d._d
        if e == 1 == f:
            return rational(n + m, 1)
        n, e = (n + m, e) if e == f else (n * f + m * e, e * f)
        g = gcd(n, e)
        return rational(n // g, e // g) if g > 1 else rational(n, e)
    if type(a) is Algebraic and type(b) is Algebraic and type(c) is Algebraic and type(d) is Algebraic:
        field = a._field
        if b._field is field and c._field is field and d._field is field:
            e, f = a._d * b._d, c._d * d._d
            left, right = field.product(a._c, b._c), field.product(c._c, d._c)
            if e == f:
                return _reduced(field, tuple(map(add if sign > 0 else sub, left, right)), e)
            return _reduced(field, tuple([x * f + sign * y * e for x, y in zip(left, right, strict=True)]), e * f)
    return a * b + c * d if sign > 0 else a * b - c * d


def compare_products(a: Number, b: Number, c: Number, d: Number) -> int:
    """The sign of a*b - c*d, exactly: nothing is brought to lowest terms."""
    if type(a) is type(b) is type(c) is type(d) is Number:
        left, right = a._n * b._n * c._d * d._d, c._n * d._n * a._d * b._d
        return (left > right) - (left < right)
    if type(a) is Algebraic and type(b) is Algebraic and type(c) is Algebraic and type(d) is Algebraic:
        field = a._field
        if b._field is field and c._field is field and d._field is field:
            e, f = c._d * d._d, a._d * b._d
            one, two = field.product(a._c, b._c), field.product(c._c, d._c)
            return field.sign(tuple([x * e - y * f for x, y in zip(one, two, strict=True)]))
    return (a * b)._compare(c * d)


def _algebraic(field: Field, c: tuple[int, ...], d: int) -> Algebraic:
    """The element c / d, which must be in lowest terms with d > 0."""
    number: Algebraic = _new(Algebraic)
    number._field = field
    number._c = c
    number._d = d
    return number


def _reduced(field: Field, c: tuple[int, ...], d: int) -> Algebraic:
    """The element c / d in lowest terms, d not 0."""
    number: Algebraic = _new(Algebraic)
    number._field = field
    if d != 1:
        g = gcd(d, *c)
        if d < 0:
            g = -g
        if g != 1:
            c = tuple([x // g for x in c])
            d //= g
    number._c = c
    number._d = d
    return number


def _rational_part(number: Algebraic) -> Number:
    """The number, as an element of the rationals if its value is rational."""
    return Number.of(number.as_fraction()) if number.is_rational else number
