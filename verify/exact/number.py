"""Real numbers that never round: the rationals and one real number field at a time.

A :class:`Field` is Q(alpha) for a real algebraic integer alpha, given by its defining polynomial
and an isolating interval, never by a float or the index of a root. A :class:`Number` is an element:
integer coefficients of 1, alpha, alpha^2, ... over one positive denominator, in lowest terms.
Arithmetic is exact, a sign is -1, 0 or 1 and always decided, equality and hash agree across
fields and with ``int`` and ``Fraction``.

The zero test is structural (all coefficients 0), which is right only if the defining polynomial
is irreducible. :func:`verify.exact.field.read_numbers` builds only such fields; who builds a Field
by hand must know it. The kernel does not rely on it.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import gcd, isqrt, lcm

from verify.exact import polynomial as poly
from verify.exact.effort import divisions, products, spend

_new = object.__new__


class FieldMismatch(TypeError):
    """Arithmetic between irrational numbers of two different fields."""

    def __init__(self, first: Field, second: Field) -> None:
        self.first = first
        self.second = second
        super().__init__(
            f"one number is in Q({first.name}), the other in Q({second.name}): "
            "read all numbers of a document together (read_numbers), then they share a field"
        )

    def __reduce__(self) -> tuple[type[FieldMismatch], tuple[Field, Field]]:
        return type(self), (self.first, self.second)


class Field:
    """The real number field Q(alpha); for degree 1 the rationals, with polynomial (0, 1) and root (0, 0).

    ``polynomial``: integer coefficients of the defining polynomial, low to high, monic;
    **assumed irreducible** (not checked). ``root``: rational ends (low, high) of an interval with
    exactly one root in it: the polynomial's signs at the ends differ and the derivative,
    evaluated over the interval, excludes 0 (checked; ValueError). ``name``: an expression for alpha
    in the grammar of the documents (not checked).

    Two fields are equal if they have the same polynomial and the same root, whatever the intervals
    and names. Equality says nothing on isomorphism: Q(sqrt(2)) and Q(sqrt(8)) are not equal here.
    """

    __slots__ = ("_fixed", "_low", "_name", "_polynomial", "_powers", "_radicand", "_root", "_sums", "degree")

    degree: int

    def __init__(self, polynomial: Sequence[int], root: tuple[Fraction, Fraction], name: str) -> None:
        self._polynomial = tuple(int(c) for c in polynomial)
        self._root = (Fraction(root[0]), Fraction(root[1]))
        self._name = name
        self.degree = len(self._polynomial) - 1
        if self.degree < 1 or self._polynomial[-1] != 1:
            raise ValueError("the defining polynomial must be monic and of degree 1 or more")
        if self.degree == 1:
            if self._polynomial != (0, 1) or any(self._root):
                raise ValueError("the field of degree 1 has polynomial (0, 1) and root (0, 0)")
        elif not poly.isolates(self._polynomial, self._root):
            raise ValueError("the interval does not isolate a root of the defining polynomial")
        self._fixed: tuple[int, int] | None = None
        self._powers: dict[int, tuple[tuple[int, ...], int]] = {}
        self._sums: list[int] | None = None
        self._low = 1 if poly.evaluate(self._polynomial, self._root[0]) > 0 else -1
        c0, c1 = self._polynomial[0], self._polynomial[1]
        positive = self._root[1] > 0
        self._radicand = -c0 if self.degree == 2 and c1 == 0 and positive else 0

    @property
    def polynomial(self) -> tuple[int, ...]:
        """The defining polynomial, low to high, monic."""
        return self._polynomial

    @property
    def root(self) -> tuple[Fraction, Fraction]:
        """An interval with exactly one root of the polynomial in it: alpha."""
        return self._root

    @property
    def name(self) -> str:
        """An expression for alpha in the grammar of the documents."""
        return self._name

    def __repr__(self) -> str:
        return f"Field(Q({self._name}), degree {self.degree})" if self.degree > 1 else "Field(Q)"

    def __eq__(self, other: object) -> bool:
        if self is other:
            return True
        if not isinstance(other, Field):
            return NotImplemented
        if self._polynomial != other._polynomial:
            return False
        return self.degree == 1 or _same_root(self._polynomial, self.generator(), other.generator())

    def __hash__(self) -> int:
        return hash(self._polynomial)

    def __reduce__(self) -> tuple[type[Field], tuple[tuple[int, ...], tuple[Fraction, Fraction], str]]:
        return Field, (self._polynomial, self._root, self._name)

    def __copy__(self) -> Field:
        return self

    def __deepcopy__(self, memo: object) -> Field:
        return self

    def element(self, coefficients: Sequence[int | Fraction]) -> Number:
        """The number with these coefficients of 1, alpha, ..., at most `degree` of them. Exact.

        The result keeps this field even if its value is rational.
        """
        if len(coefficients) > self.degree:
            raise ValueError(f"at most {self.degree} coefficients, not {len(coefficients)}")
        denominator = lcm(*[c.denominator for c in coefficients])
        values = [c.numerator * (denominator // c.denominator) for c in coefficients]
        values += [0] * (self.degree - len(values))
        if self.degree == 1:
            return _rational(values[0], denominator)
        return _reduced(self, tuple(values), denominator)

    def generator(self) -> Number:
        """alpha (0 for the rationals)."""
        return self.element((0, 1)) if self.degree > 1 else _rational(0, 1)

    # enclosures of alpha

    def _sign_at(self, x: int, bits: int) -> int:
        """The sign of p(x / 2^bits), exactly."""
        result, shift = 0, 0
        for coefficient in reversed(self._polynomial):
            result = result * x + (coefficient << shift)
            shift += bits
        return (result > 0) - (result < 0)

    def floor_of_root(self, bits: int) -> int:
        """floor(alpha * 2^bits), exactly, for degree > 1 and bits >= 0."""
        if self._fixed is not None and self._fixed[0] >= bits:
            return self._fixed[1] >> (self._fixed[0] - bits)
        if self._fixed is None:
            start = 64
            low, high = self._root
            left = -((-low.numerator << start) // low.denominator)
            right = (high.numerator << start) // high.denominator
            self._fixed = (start, self._bisected(left, right, start))
        while self._fixed[0] < bits:
            known, x = self._fixed
            target = min(max(bits, 64), 2 * known)
            self._fixed = (target, self._improved(x, known, target))
        return self._fixed[1] >> (self._fixed[0] - bits)

    def _bisected(self, left: int, right: int, bits: int) -> int:
        """floor(alpha * 2^bits), for grid points left and right inside the isolating interval or crossed over."""
        if left > right:
            return right
        if self._sign_at(left, bits) != self._low:
            return left - 1
        if self._sign_at(right, bits) == self._low:
            return right
        while right - left > 1:
            middle = (left + right) >> 1
            if self._sign_at(middle, bits) == self._low:
                left = middle
            else:
                right = middle
        return left

    def _improved(self, x: int, known: int, bits: int) -> int:
        """floor(alpha * 2^bits) from x = floor(alpha * 2^known): a Newton step, then signs decide."""
        shift = bits - known
        low, high = self._root
        left = max(x << shift, -((-low.numerator << bits) // low.denominator))
        right = min((x + 1) << shift, (high.numerator << bits) // high.denominator)
        middle = (left + right) >> 1
        value = slope = 0
        for coefficient in reversed(self._polynomial):
            slope = ((slope * middle) >> bits) + value
            value = ((value * middle) >> bits) + (coefficient << bits)
        guess = middle - (value << bits) // slope if slope else middle
        step = 2
        while right - left > 4 * step:
            near, far = max(left, min(right, guess - step)), max(left, min(right, guess + step))
            if self._sign_at(near, bits) == self._low:
                left = max(left, near)
            else:
                right = min(right, near)
            if left < far < right:
                if self._sign_at(far, bits) == self._low:
                    left = far
                else:
                    right = far
            step *= step
        return self._bisected(left, right, bits)

    def powers(self, bits: int) -> tuple[tuple[int, ...], int]:
        """(P, w) with P[i] <= alpha^i * 2^bits <= P[i] + w for i < degree, rigorously; P[0] is exact."""
        known = self._powers.get(bits)
        if known is not None:
            return known
        low, high = self._root
        size = max(abs(low), abs(high))
        guard = 8 + self.degree * (int(size) + 1).bit_length()
        precision = bits + guard
        x = self.floor_of_root(precision)
        bottoms, width = [1 << bits], 1
        below = above = 1 << precision
        for _ in range(1, self.degree):
            products = (below * x, below * (x + 1), above * x, above * (x + 1))
            below, above = min(products) >> precision, -(-max(products) >> precision)
            bottom, top = below >> guard, -(-above >> guard)
            bottoms.append(bottom)
            width = max(width, top - bottom)
        result = (tuple(bottoms), width)
        if len(self._powers) > 16:
            self._powers.clear()
        self._powers[bits] = result
        return result

    def _power_sums(self) -> list[int]:
        if self._sums is None:
            self._sums = poly.power_sums(self._polynomial, self.degree)
        return self._sums

    def _product(self, a: tuple[int, ...], b: tuple[int, ...]) -> tuple[int, ...]:
        """The product of two integer coefficient vectors, reduced."""
        p = self._polynomial
        n = self.degree
        if n == 2:
            a0, a1 = a
            b0, b1 = b
            top = a1 * b1
            if self._radicand:
                return (a0 * b0 + top * self._radicand, a0 * b1 + a1 * b0)
            return (a0 * b0 - top * p[0], a0 * b1 + a1 * b0 - top * p[1])
        if n == 4:
            a0, a1, a2, a3 = a
            b0, b1, b2, b3 = b
            if not (b1 or b2 or b3):
                return (a0 * b0, a1 * b0, a2 * b0, a3 * b0)
            if not (a1 or a2 or a3):
                return (a0 * b0, a0 * b1, a0 * b2, a0 * b3)
            p0, p1, p2, p3, _ = p
            c6 = a3 * b3
            c5 = a2 * b3 + a3 * b2 - p3 * c6
            c4 = a1 * b3 + a2 * b2 + a3 * b1 - p3 * c5 - p2 * c6
            return (
                a0 * b0 - p0 * c4,
                a0 * b1 + a1 * b0 - p1 * c4 - p0 * c5,
                a0 * b2 + a1 * b1 + a2 * b0 - p2 * c4 - p1 * c5 - p0 * c6,
                a0 * b3 + a1 * b2 + a2 * b1 + a3 * b0 - p3 * c4 - p2 * c5 - p1 * c6,
            )
        spend(products(n * n, _longest(a), _longest(b)))
        product = [0] * (2 * n - 1)
        for i, x in enumerate(a):
            if x:
                for j, y in enumerate(b):
                    product[i + j] += x * y
        for k in range(2 * n - 2, n - 1, -1):
            top = product[k]
            if top:
                for j in range(n):
                    product[k - n + j] -= top * p[j]
        return tuple(product[:n])

    def _shifted(self, a: tuple[int, ...]) -> tuple[int, ...]:
        """alpha times the element."""
        top = a[-1]
        if not top:
            return (0, *a[:-1])
        p = self._polynomial
        return (-top * p[0], *[a[i - 1] - top * p[i] for i in range(1, self.degree)])

    def _sign(self, c: tuple[int, ...]) -> int:
        """The sign of the element with these integer coefficients. Exact; assumes irreducibility."""
        if not any(c):
            return 0
        radicand = self._radicand
        if radicand:
            a, b = c
            if a >= 0 and b >= 0:
                return 1
            if a <= 0 and b <= 0:
                return -1
            larger = a * a > b * b * radicand
            return 1 if larger == (a > 0) else -1
        size = sum([abs(x) for x in c])
        bits = 64
        while True:
            bottoms, width = self.powers(bits)
            value = sum([x * y for x, y in zip(c, bottoms, strict=True)])
            error = size * width
            if value > error:
                return 1
            if value < -error:
                return -1
            bits *= 2


class Number:
    """A real number, exactly: an element of a :class:`Field`. Immutable.

    Made by :meth:`of`, by :meth:`Field.element`, or read from text. ``+ - * /``, ``abs`` and
    comparisons take Numbers, ints and Fractions (floats are refused). Comparisons are a total order
    and are exact between any two numbers, also of different fields; arithmetic between irrational
    numbers of different fields raises :class:`FieldMismatch`. Division by 0 raises ZeroDivisionError.
    A number is true if it is not 0.
    """

    __slots__ = ()

    @staticmethod
    def of(value: int | Fraction | Number) -> Number:
        """The rational number with this value (a Number comes back as it is). Floats are refused: TypeError."""
        number = _coerced(value)
        if number is None:
            raise TypeError(f"an exact number is an int, a Fraction or a Number, not {type(value).__name__}")
        return number

    # what the two kinds provide

    @property
    def field(self) -> Field:
        """The field whose element this is."""
        raise NotImplementedError

    @property
    def is_rational(self) -> bool:
        """Whether the value is a rational number."""
        raise NotImplementedError

    def as_fraction(self) -> Fraction:
        """The value, if it is rational; else ValueError."""
        raise NotImplementedError

    def coefficients(self) -> tuple[Fraction, ...]:
        """The coefficients of 1, alpha, ..., one for each degree of the field."""
        raise NotImplementedError

    def integers(self) -> tuple[tuple[int, ...], int]:
        """(numerators, denominator): the coefficients over their least common positive denominator."""
        raise NotImplementedError

    def sign(self) -> int:
        """-1, 0 or 1. Exact."""
        raise NotImplementedError

    def enclosure(self, bits: int) -> tuple[Fraction, Fraction]:
        """Rational (low, high) with low <= value <= high and high - low <= 2^-bits (bits >= 0).

        A rational value is its own enclosure. That 0 lies between the ends says nothing about the sign.
        """
        raise NotImplementedError

    def text(self) -> str:
        """An exact expression in the grammar of the documents: `read_numbers` reads an equal number from it.

        It is a polynomial in the field's name and not unique. It may be longer than the declared
        limits of a document if the degree or the coefficients are large.
        """
        raise NotImplementedError

    def _minimal_polynomial(self) -> tuple[Fraction, ...]:
        raise NotImplementedError

    def _compare(self, other: Number) -> int:
        raise NotImplementedError

    def _plus(self, other: Number) -> Number:
        raise NotImplementedError

    def _minus(self, other: Number) -> Number:
        raise NotImplementedError

    def _times(self, other: Number) -> Number:
        raise NotImplementedError

    def _over(self, other: Number) -> Number:
        raise NotImplementedError

    def __neg__(self) -> Number:
        raise NotImplementedError

    def __bool__(self) -> bool:
        raise NotImplementedError

    # what they share

    def __pos__(self) -> Number:
        return self

    def __abs__(self) -> Number:
        return -self if self.sign() < 0 else self

    def __add__(self, other: Number | int | Fraction) -> Number:
        number = other if isinstance(other, Number) else _coerced(other)
        return NotImplemented if number is None else self._plus(number)

    def __radd__(self, other: int | Fraction) -> Number:
        number = _coerced(other)
        return NotImplemented if number is None else self._plus(number)

    def __sub__(self, other: Number | int | Fraction) -> Number:
        number = other if isinstance(other, Number) else _coerced(other)
        return NotImplemented if number is None else self._minus(number)

    def __rsub__(self, other: int | Fraction) -> Number:
        number = _coerced(other)
        return NotImplemented if number is None else number._minus(self)

    def __mul__(self, other: Number | int | Fraction) -> Number:
        number = other if isinstance(other, Number) else _coerced(other)
        return NotImplemented if number is None else self._times(number)

    def __rmul__(self, other: int | Fraction) -> Number:
        number = _coerced(other)
        return NotImplemented if number is None else self._times(number)

    def __truediv__(self, other: Number | int | Fraction) -> Number:
        number = other if isinstance(other, Number) else _coerced(other)
        return NotImplemented if number is None else self._over(number)

    def __rtruediv__(self, other: int | Fraction) -> Number:
        number = _coerced(other)
        return NotImplemented if number is None else number._over(self)

    def __eq__(self, other: object) -> bool:
        number = other if isinstance(other, Number) else _coerced(other)
        return NotImplemented if number is None else _equal(self, number)

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
        raise NotImplementedError

    def _scaled_floor(self, bits: int) -> int:
        """floor(value * 2^bits), exactly."""
        raise NotImplementedError

    def __floor__(self) -> int:
        return self._scaled_floor(0)

    def __float__(self) -> float:
        """The nearest float, from exact enclosures. OverflowError if the value is beyond all floats."""
        raise NotImplementedError

    def decimal(self, digits: int) -> str:
        """Decimal text with this many digits after the point (none, no point, for 0), rounded to nearest.

        Correctly rounded; a rational half-way case goes to the even last digit. The text does not say
        whether anything was rounded.
        """
        if digits < 0:
            raise ValueError("the number of digits must not be negative")
        scaled = self * 10**digits
        units = round(scaled.as_fraction()) if scaled.is_rational else (scaled * 2 + 1)._scaled_floor(0) // 2
        body = _digits(abs(units)).rjust(digits + 1, "0")
        sign = "-" if units < 0 else ""
        return f"{sign}{body[:-digits]}.{body[-digits:]}" if digits else sign + body

    def __str__(self) -> str:
        return self.text()

    def __repr__(self) -> str:
        return f"Number({self.text()})"

    def __copy__(self) -> Number:
        return self

    def __deepcopy__(self, memo: object) -> Number:
        return self


class _Rational(Number):
    """An element of the rationals: numerator and positive denominator in lowest terms."""

    __slots__ = ("_d", "_n")

    _n: int
    _d: int

    @property
    def field(self) -> Field:
        return RATIONALS

    @property
    def is_rational(self) -> bool:
        return True

    def as_fraction(self) -> Fraction:
        return Fraction(self._n, self._d)

    def coefficients(self) -> tuple[Fraction, ...]:
        return (Fraction(self._n, self._d),)

    def integers(self) -> tuple[tuple[int, ...], int]:
        return (self._n,), self._d

    def sign(self) -> int:
        n = self._n
        return (n > 0) - (n < 0)

    def enclosure(self, bits: int) -> tuple[Fraction, Fraction]:
        value = Fraction(self._n, self._d)
        return value, value

    def text(self) -> str:
        return _fraction_text(self._n, self._d)

    def _minimal_polynomial(self) -> tuple[Fraction, ...]:
        return (-self.as_fraction(), Fraction(1))

    def __bool__(self) -> bool:
        return self._n != 0

    def __neg__(self) -> Number:
        return _rational(-self._n, self._d)

    def __hash__(self) -> int:
        return hash(self._n) if self._d == 1 else hash(Fraction(self._n, self._d))

    def __float__(self) -> float:
        return self._n / self._d

    def _scaled_floor(self, bits: int) -> int:
        return (self._n << bits) // self._d

    def _compare(self, other: Number) -> int:
        if type(other) is _Rational:
            difference = self._n * other._d - other._n * self._d
            return (difference > 0) - (difference < 0)
        return -other._compare(self)

    def _plus(self, other: Number) -> Number:
        if type(other) is _Rational:
            d, e = self._d, other._d
            if d == 1 and e == 1:
                return _rational(self._n + other._n, 1)
            n = self._n * e + other._n * d
            d *= e
            g = gcd(n, d)
            return _rational(n // g, d // g) if g > 1 else _rational(n, d)
        return other._plus(self)

    def _minus(self, other: Number) -> Number:
        if type(other) is _Rational:
            d, e = self._d, other._d
            if d == 1 and e == 1:
                return _rational(self._n - other._n, 1)
            n = self._n * e - other._n * d
            d *= e
            g = gcd(n, d)
            return _rational(n // g, d // g) if g > 1 else _rational(n, d)
        return (-other)._plus(self)

    def _times(self, other: Number) -> Number:
        if type(other) is _Rational:
            n, d = self._n * other._n, self._d * other._d
            if d == 1:
                return _rational(n, 1)
            g = gcd(n, d)
            return _rational(n // g, d // g) if g > 1 else _rational(n, d)
        return other._times(self)

    def _over(self, other: Number) -> Number:
        if type(other) is _Rational:
            n, d = self._n * other._d, self._d * other._n
            if d == 0:
                raise ZeroDivisionError("division by the number 0")
            g = gcd(n, d)
            if d < 0:
                g = -g
            return _rational(n // g, d // g)
        return _algebraic_of(other)._inverse()._times(self)

    def __reduce__(self) -> tuple[object, tuple[int, int]]:
        return _rational, (self._n, self._d)


class _Algebraic(Number):
    """An element of a field of degree > 1: numerators and a positive denominator in lowest terms."""

    __slots__ = ("_c", "_d", "_field", "_hash")

    _field: Field
    _c: tuple[int, ...]
    _d: int
    _hash: int

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
        return self._field._sign(self._c)

    def enclosure(self, bits: int) -> tuple[Fraction, Fraction]:
        if self.is_rational:
            value = self.as_fraction()
            return value, value
        size = sum([abs(c) for c in self._c])
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
        middle = below = above = 0
        for c, b in zip(self._c, bottoms, strict=True):
            middle += c * b
            if c > 0:
                above += c
            else:
                below += c
        return middle + below * width, middle + above * width, self._d << precision

    def __hash__(self) -> int:
        try:
            return self._hash
        except AttributeError:
            exact = self.is_rational
            self._hash = hash(self.as_fraction()) if exact else hash((self._scaled_floor(40), "irrational"))
            return self._hash

    def __float__(self) -> float:
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
        coefficients = self.coefficients()
        name = self._field.name
        atom = name if _is_product(name) else f"({name})"
        last = max((i for i, c in enumerate(coefficients) if c), default=0)
        if last <= 1:
            return _linear(coefficients[0], coefficients[1], atom)
        if not _is_atom(name):
            atom = f"({name})"
        inner = _linear(coefficients[last - 1], coefficients[last], atom)
        for c in reversed(coefficients[: last - 1]):
            product = f"{atom}*({inner})"
            inner = product if not c else f"{_fraction_text(c.numerator, c.denominator)}+{product}"
        return inner

    def _minimal_polynomial(self) -> tuple[Fraction, ...]:
        """The minimal polynomial over Q, monic."""
        field, n = self._field, self._field.degree
        traces = field._power_sums()
        sums = []
        power = self._c
        for i in range(n):
            sums.append(sum([c * t for c, t in zip(power, traces, strict=True)]))
            if i + 1 < n:
                power = field._product(power, self._c)
        # the charpoly of the numerator vector, an algebraic integer; the roots are then divided by the denominator
        scaled = poly.from_power_sums(sums)
        d = self._d
        return poly.squarefree_part([Fraction(c, d ** (n - i)) for i, c in enumerate(scaled)])

    def __bool__(self) -> bool:
        return any(self._c)

    def __neg__(self) -> Number:
        return _algebraic(self._field, tuple([-c for c in self._c]), self._d)

    def _compare(self, other: Number) -> int:
        if type(other) is _Rational:
            n, e, d = other._n, other._d, self._d
            c = self._c
            return self._field._sign((c[0] * e - n * d, *[x * e for x in c[1:]]))
        other = _algebraic_of(other)
        if self._field is other._field or self._field == other._field:
            d, e = self._d, other._d
            if d == e:
                return self._field._sign(tuple([x - y for x, y in zip(self._c, other._c, strict=True)]))
            return self._field._sign(tuple([x * e - y * d for x, y in zip(self._c, other._c, strict=True)]))
        if other.is_rational:
            return self._compare(_of_fraction(other.as_fraction()))
        if self.is_rational:
            return -other._compare(_of_fraction(self.as_fraction()))
        if _equal(self, other):
            return 0
        bits = 64
        while True:
            low, high = self.enclosure(bits)
            bottom, top = other.enclosure(bits)
            if high < bottom:
                return -1
            if top < low:
                return 1
            bits *= 2

    def _partner(self, other: _Algebraic) -> tuple[_Algebraic, _Algebraic] | None:
        """Both in one field, or None if that is the rationals' business (one value is rational)."""
        if self._field == other._field:
            return self, _algebraic(self._field, other._c, other._d)
        if self.is_rational or other.is_rational:
            return None
        raise FieldMismatch(self._field, other._field)

    def _plus(self, other: Number) -> Number:
        if type(other) is _Rational:
            c, d, e = self._c, self._d, other._d
            if e == 1:
                return _algebraic(self._field, (c[0] + other._n * d, *c[1:]), d)
            return _reduced(self._field, (c[0] * e + other._n * d, *[x * e for x in c[1:]]), d * e)
        other = _algebraic_of(other)
        if self._field is not other._field:
            pair = self._partner(other)
            if pair is None:
                return _rational_part(self)._plus(_rational_part(other))
            return pair[0]._plus(pair[1])
        d, e = self._d, other._d
        if d == e:
            c = tuple([x + y for x, y in zip(self._c, other._c, strict=True)])
            return _algebraic(self._field, c, 1) if d == 1 else _reduced(self._field, c, d)
        return _reduced(self._field, tuple([x * e + y * d for x, y in zip(self._c, other._c, strict=True)]), d * e)

    def _minus(self, other: Number) -> Number:
        if isinstance(other, _Algebraic) and self._field is other._field:
            d, e = self._d, other._d
            if d == e:
                c = tuple([x - y for x, y in zip(self._c, other._c, strict=True)])
                return _algebraic(self._field, c, 1) if d == 1 else _reduced(self._field, c, d)
            return _reduced(self._field, tuple([x * e - y * d for x, y in zip(self._c, other._c, strict=True)]), d * e)
        return self._plus(-other)

    def _times(self, other: Number) -> Number:
        if type(other) is _Rational:
            n = other._n
            return _reduced(self._field, tuple([x * n for x in self._c]), self._d * other._d)
        other = _algebraic_of(other)
        if self._field is not other._field:
            pair = self._partner(other)
            if pair is None:
                return _rational_part(self)._times(_rational_part(other))
            return pair[0]._times(pair[1])
        return _reduced(self._field, self._field._product(self._c, other._c), self._d * other._d)

    def _over(self, other: Number) -> Number:
        if type(other) is _Rational:
            n, e = other._n, other._d
            if n == 0:
                raise ZeroDivisionError("division by the number 0")
            if n < 0:
                n, e = -n, -e
            return _reduced(self._field, tuple([x * e for x in self._c]), self._d * n)
        other = _algebraic_of(other)
        return self._times(other._inverse())

    def _inverse(self) -> Number:
        field, c = self._field, self._c
        if not any(c):
            raise ZeroDivisionError("division by the number 0")
        if not any(c[1:]):
            zeros = (0,) * (field.degree - 1)
            return _reduced(field, (self._d, *zeros), c[0])
        if field.degree == 2:
            p0, p1 = field._polynomial[0], field._polynomial[1]
            a, b = c
            return _reduced(field, ((a - b * p1) * self._d, -b * self._d), a * a - a * b * p1 + b * b * p0)
        rows = []
        row = c
        for _ in range(field.degree):
            rows.append(row)
            row = field._shifted(row)
        solution, determinant = _solve_first_unit(rows)
        return _reduced(field, tuple([x * self._d for x in solution]), determinant)

    def __reduce__(self) -> tuple[object, tuple[Field, tuple[int, ...], int]]:
        return _algebraic, (self._field, self._c, self._d)


def sum_of_products(a: Number, b: Number, c: Number, d: Number) -> Number:
    """a*b + c*d, exactly, brought to lowest terms once."""
    return _two_products(a, b, c, d, 1)


def difference_of_products(a: Number, b: Number, c: Number, d: Number) -> Number:
    """a*b - c*d, exactly, brought to lowest terms once."""
    return _two_products(a, b, c, d, -1)


def _two_products(a: Number, b: Number, c: Number, d: Number, sign: int) -> Number:
    if type(a) is _Rational and type(b) is _Rational and type(c) is _Rational and type(d) is _Rational:
        n, m = a._n * b._n, sign * c._n * d._n
        e, f = a._d * b._d, c._d * d._d
        if e == 1 == f:
            return _rational(n + m, 1)
        n, e = (n + m, e) if e == f else (n * f + m * e, e * f)
        g = gcd(n, e)
        return _rational(n // g, e // g) if g > 1 else _rational(n, e)
    if type(a) is _Algebraic and type(b) is _Algebraic and type(c) is _Algebraic and type(d) is _Algebraic:
        field = a._field
        if b._field is field and c._field is field and d._field is field:
            e, f = a._d * b._d, c._d * d._d
            left, right = field._product(a._c, b._c), field._product(c._c, d._c)
            if e == f:
                return _reduced(field, tuple([x + sign * y for x, y in zip(left, right, strict=True)]), e)
            return _reduced(field, tuple([x * f + sign * y * e for x, y in zip(left, right, strict=True)]), e * f)
    return a * b + c * d if sign > 0 else a * b - c * d


def compare_products(a: Number, b: Number, c: Number, d: Number) -> int:
    """The sign of a*b - c*d, exactly: nothing is brought to lowest terms."""
    if type(a) is _Rational and type(b) is _Rational and type(c) is _Rational and type(d) is _Rational:
        left, right = a._n * b._n * c._d * d._d, c._n * d._n * a._d * b._d
        return (left > right) - (left < right)
    if type(a) is _Algebraic and type(b) is _Algebraic and type(c) is _Algebraic and type(d) is _Algebraic:
        field = a._field
        if b._field is field and c._field is field and d._field is field:
            e, f = c._d * d._d, a._d * b._d
            one, two = field._product(a._c, b._c), field._product(c._c, d._c)
            return field._sign(tuple([x * e - y * f for x, y in zip(one, two, strict=True)]))
    return (a * b)._compare(c * d)


def _rational(n: int, d: int) -> _Rational:
    """n / d, which must be in lowest terms with d > 0."""
    number: _Rational = _new(_Rational)
    number._n = n
    number._d = d
    return number


def _algebraic(field: Field, c: tuple[int, ...], d: int) -> _Algebraic:
    """The element c / d, which must be in lowest terms with d > 0."""
    number: _Algebraic = _new(_Algebraic)
    number._field = field
    number._c = c
    number._d = d
    return number


def _reduced(field: Field, c: tuple[int, ...], d: int) -> _Algebraic:
    """The element c / d in lowest terms, d not 0."""
    number: _Algebraic = _new(_Algebraic)
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


def _algebraic_of(number: Number) -> _Algebraic:
    if isinstance(number, _Algebraic):
        return number
    raise TypeError(f"{type(number).__name__} is not a kind of exact number")


def _of_fraction(value: Fraction) -> _Rational:
    return _rational(value.numerator, value.denominator)


def _rational_part(number: _Algebraic) -> Number:
    """The number, as an element of the rationals if its value is rational."""
    return _of_fraction(number.as_fraction()) if number.is_rational else number


def _coerced(value: object) -> Number | None:
    if isinstance(value, Number):
        return value
    if isinstance(value, int):
        return _rational(int(value), 1)
    if isinstance(value, Fraction):
        return _rational(value.numerator, value.denominator)
    return None


def _equal(a: Number, b: Number) -> bool:
    if type(a) is _Rational and type(b) is _Rational:
        return a._n == b._n and a._d == b._d
    if isinstance(a, _Algebraic) and isinstance(b, _Algebraic) and a._field is b._field:
        return a._d == b._d and a._c == b._c
    if a.is_rational or b.is_rational:
        return a.is_rational and b.is_rational and a.as_fraction() == b.as_fraction()
    low, high = a.enclosure(64)
    bottom, top = b.enclosure(64)
    if high < bottom or top < low:
        return False
    if isinstance(a, _Algebraic) and isinstance(b, _Algebraic) and a._field == b._field:
        return a._d == b._d and a._c == b._c
    minimal = a._minimal_polynomial()
    if minimal != b._minimal_polynomial():
        return False
    return _same_root(minimal, a, b)


def _same_root(polynomial: Sequence[int | Fraction], a: Number, b: Number) -> bool:
    """Whether two irrational roots of one squarefree polynomial are the same."""
    slope = [i * Fraction(polynomial[i]) for i in range(1, len(polynomial))]
    bits = 32
    while True:
        low, high = a.enclosure(bits)
        bottom, top = b.enclosure(bits)
        if high < bottom or top < low:
            return False
        below, above = poly.evaluate_over(slope, (min(low, bottom), max(high, top)))
        if below > 0 or above < 0:
            return True
        bits *= 2


def _longest(integers: Sequence[int]) -> int:
    """Bits of the longest of some integers."""
    return max([n.bit_length() for n in integers])


def _solve_first_unit(rows: list[tuple[int, ...]]) -> tuple[list[int], int]:
    """(y, d) with sum of y[i] * rows[i] = (d, 0, ..., 0), d not 0, by fraction-free elimination.

    `rows` must be independent; ZeroDivisionError if not.
    """
    n = len(rows)
    # row i of the matrix: what is left of its columns, and the right side last
    matrix = [[rows[j][i] for j in range(n)] + [1 if i == 0 else 0] for i in range(n)]
    previous = 1
    for k in range(n):
        pivot = next((i for i in range(k, n) if matrix[i][0]), None)
        if pivot is None:
            raise ZeroDivisionError("division by a zero divisor: the defining polynomial is not irreducible")
        matrix[k], matrix[pivot] = matrix[pivot], matrix[k]
        size = _longest(matrix[k])
        head, *top = matrix[k]
        for i, (factor, *row) in enumerate(matrix):
            if i != k:
                spend(products(2 * len(row), size, size) + divisions(len(row), 2 * size))
                matrix[i] = [(head * x - factor * y) // previous for x, y in zip(row, top, strict=True)]
        matrix[k] = top
        previous = head
    # on the diagonal, whose columns are gone, every entry now equals the last pivot
    return [solution for (solution,) in matrix], previous


# text


def _digits(n: int) -> str:
    """The decimal digits of n >= 0, also beyond the interpreter's limit on conversions."""
    if n.bit_length() < 10_000:
        return str(n)
    half = n.bit_length() * 3 // 20
    high, low = divmod(n, 10**half)
    return _digits(high) + _digits(low).rjust(half, "0")


def _fraction_text(n: int, d: int) -> str:
    text = _digits(abs(n)) if d == 1 else f"{_digits(abs(n))}/{_digits(d)}"
    return f"-{text}" if n < 0 else text


def _is_atom(name: str) -> bool:
    """Whether the text is one function call or one pair of parentheses."""
    depth = 0
    for i, character in enumerate(name):
        if character == "(":
            depth += 1
        elif character == ")":
            depth -= 1
            if depth == 0:
                return i == len(name) - 1
        elif depth == 0 and character in "+-*/":
            return False
    return False


def _is_product(name: str) -> bool:
    """Whether the text may follow a ``*`` without parentheses: no sign outside parentheses."""
    depth = 0
    for character in name:
        depth += (character == "(") - (character == ")")
        if depth == 0 and character in "+-":
            return False
    return True


def _linear(constant: Fraction, factor: Fraction, atom: str) -> str:
    """constant + factor * atom as text."""
    head = _fraction_text(constant.numerator, constant.denominator)
    if not factor:
        return head
    size = _fraction_text(abs(factor.numerator), factor.denominator)
    product = atom if size == "1" else f"{size}*{atom}"
    if not constant:
        return f"-{product}" if factor < 0 else product
    return f"{head}{'-' if factor < 0 else '+'}{product}"


def bits(number: Number) -> int:
    """Bits of the longest numerator or of the denominator of a number."""
    numerators, denominator = number.integers()
    return max(denominator.bit_length(), _longest(numerators))


def square_root_of_square(value: Fraction) -> Fraction | None:
    """The rational root >= 0 of a rational number, or None if it has none. Exact."""
    if value < 0:
        return None
    n, d = isqrt(value.numerator), isqrt(value.denominator)
    if n * n == value.numerator and d * d == value.denominator:
        return Fraction(n, d)
    return None


RATIONALS = Field((0, 1), (Fraction(0), Fraction(0)), "0")
