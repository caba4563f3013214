"""Real number fields Q(alpha), by a polynomial and an interval; arithmetic on their coefficients.

alpha is a real algebraic integer, given by its defining polynomial and an isolating interval. A zero test is structural
(all coefficients 0), which is right only if the polynomial is irreducible: who builds a Field by hand must know it
(:func:`verify.exact.field.read_numbers` does). The kernel does not rely on it.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import floor
from operator import mul

from verify.errors import CreaseproofError
from verify.exact import polynomial as poly
from verify.exact.effort import divisions, products, spend

_NEAR_ROOT = 1 << 12  # in units of the last bit: within so many a Newton step comes to lie, if it is any good


class FieldMismatch(CreaseproofError, TypeError):
    """Arithmetic between irrational numbers of two different fields."""

    def __init__(self, first: Field, second: Field) -> None:
        self.first = first
        self.second = second
        super().__init__(
            f"one number is in Q({first.name}), the other in Q({second.name}): "
            "read all numbers of a document together (read_numbers), then they share a field"
        )


class Field:
    """The real number field Q(alpha); for degree 1 the rationals, with polynomial (0, 1) and root (0, 0).

    ``polynomial``: integer coefficients of the defining polynomial, low to high, monic; **assumed irreducible** (not
    checked). ``root``: rational ends (low, high) of an interval with exactly one root in it: the polynomial's signs at
    the ends differ and the derivative, evaluated over the interval, excludes 0 (checked; ValueError). ``name``: an
    expression for alpha in the grammar of the documents (not checked).

    Two fields are equal if they have the same polynomial and the same root, whatever the intervals and names. Equality
    says nothing on isomorphism: Q(sqrt(2)) and Q(sqrt(8)) are not equal here.
    """

    __slots__ = ("_fixed", "_low", "_powers", "_radicand", "degree", "name", "polynomial", "root")

    degree: int

    def __init__(self, polynomial: Sequence[int], root: tuple[Fraction, Fraction], name: str) -> None:
        self.polynomial = tuple(int(c) for c in polynomial)
        self.root = (Fraction(root[0]), Fraction(root[1]))
        self.name = name
        self.degree = len(self.polynomial) - 1
        if self.degree < 1 or self.polynomial[-1] != 1:
            raise ValueError("the defining polynomial must be monic and of degree 1 or more")
        if self.degree == 1:
            if self.polynomial != (0, 1) or any(self.root):
                raise ValueError("the field of degree 1 has polynomial (0, 1) and root (0, 0)")
        elif not poly.isolates(self.polynomial, self.root):
            raise ValueError("the interval does not isolate a root of the defining polynomial")
        self._fixed: tuple[int, int] | None = None
        self._powers: dict[int, tuple[tuple[int, ...], int]] = {}
        at_low = sum(c * self.root[0] ** i for i, c in enumerate(self.polynomial))
        self._low = 1 if at_low > 0 else -1
        c0, c1 = self.polynomial[0], self.polynomial[1]
        positive = self.root[1] > 0
        self._radicand = -c0 if self.degree == 2 and c1 == 0 and positive else 0

    def __repr__(self) -> str:
        return f"Field(Q({self.name}), degree {self.degree})" if self.degree > 1 else "Field(Q)"

    def __eq__(self, other: object) -> bool:
        if self is other:
            return True
        if not isinstance(other, Field):
            return NotImplemented
        if self.polynomial != other.polynomial:
            return False
        return self.degree == 1 or self._lies_in(other.root)

    def __hash__(self) -> int:
        return hash(self.polynomial)

    def __reduce__(self) -> tuple[type[Field], tuple[tuple[int, ...], tuple[Fraction, Fraction], str]]:
        return Field, (self.polynomial, self.root, self.name)

    # enclosures of alpha

    def _sign_at(self, x: int, bits: int) -> int:
        """The sign of p(x / 2^bits), exactly."""
        result, shift = 0, 0
        for coefficient in reversed(self.polynomial):
            result = result * x + (coefficient << shift)
            shift += bits
        return (result > 0) - (result < 0)

    def floor_of_root(self, bits: int) -> int:
        """floor(alpha * 2^bits), exactly, for degree > 1 and bits >= 0."""
        if self._fixed is not None and self._fixed[0] >= bits:
            return self._fixed[1] >> (self._fixed[0] - bits)
        if self._fixed is None:
            low, high = self.root
            start = max(8, floor(1 / (high - low)).bit_length())  # so few bits that only a few cells are left
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
        low, high = self.root
        left = max(x << shift, -((-low.numerator << bits) // low.denominator))
        right = min((x + 1) << shift, (high.numerator << bits) // high.denominator)
        middle = (left + right) >> 1
        value = slope = 0
        for coefficient in reversed(self.polynomial):
            slope = ((slope * middle) >> bits) + value
            value = ((value * middle) >> bits) + (coefficient << bits)
        guess = middle - (value << bits) // slope if slope else middle
        for stop in (guess - _NEAR_ROOT, guess + _NEAR_ROOT):
            if left < stop < right:
                if self._sign_at(stop, bits) == self._low:
                    left = stop
                else:
                    right = stop
        return self._bisected(left, right, bits)

    def enclosure(self, bits: int) -> tuple[Fraction, Fraction]:
        """Rational (low, high) with low <= alpha <= high and high - low = 2^-bits (0 and 0 for the rationals)."""
        if self.degree == 1:
            return self.root
        x = self.floor_of_root(bits)
        return Fraction(x, 1 << bits), Fraction(x + 1, 1 << bits)

    def _lies_in(self, interval: tuple[Fraction, Fraction]) -> bool:
        """Whether alpha is the one root of its polynomial in an interval that isolates one."""
        low, high = interval
        bits = 32
        while True:
            bottom, top = self.enclosure(bits)
            if top <= low or high <= bottom:
                return False
            if low <= bottom and top <= high:
                return True
            bits *= 2

    def powers(self, bits: int) -> tuple[tuple[int, ...], int]:
        """(P, w) with P[i] <= alpha^i * 2^bits <= P[i] + w for i < degree, rigorously; P[0] is exact."""
        known = self._powers.get(bits)
        if known is not None:
            return known
        low, high = self.root
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

    def product(self, a: tuple[int, ...], b: tuple[int, ...]) -> tuple[int, ...]:
        """The product of two integer coefficient vectors, reduced."""
        p = self.polynomial
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
        spend(products(n * n, longest(a), longest(b)))
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

    def shifted(self, a: tuple[int, ...]) -> tuple[int, ...]:
        """alpha times the element."""
        top = a[-1]
        if not top:
            return (0, *a[:-1])
        p = self.polynomial
        return (-top * p[0], *[a[i - 1] - top * p[i] for i in range(1, self.degree)])

    def sign(self, c: tuple[int, ...]) -> int:
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
        size = sum(map(abs, c))
        bits = 64
        while True:
            bottoms, width = self.powers(bits)
            value = sum(map(mul, c, bottoms))
            error = size * width
            if value > error:
                return 1
            if value < -error:
                return -1
            bits *= 2
            spend(products(self.degree, bits, bits))  # without end if the polynomial is reducible

    def inverse(self, c: tuple[int, ...]) -> tuple[tuple[int, ...], int]:
        """(y, d) with c * y = d, d not 0: the inverse of a vector that is not 0, times an integer."""
        if self.degree == 2:
            p0, p1 = self.polynomial[0], self.polynomial[1]
            a, b = c
            return (a - b * p1, -b), a * a - a * b * p1 + b * b * p0
        rows = []
        for _ in range(self.degree):
            rows.append(c)
            c = self.shifted(c)
        return _solve_first_unit(rows)


def longest(integers: Sequence[int]) -> int:
    """Bits of the longest of some integers."""
    return max(map(int.bit_length, integers))


def _solve_first_unit(rows: list[tuple[int, ...]]) -> tuple[tuple[int, ...], int]:
    """(y, d), d not 0, with sum of y[i] * rows[i] = (d, 0, ..., 0), by fraction-free elimination (Bareiss 1968).
    ZeroDivisionError if `rows` are not independent.
    """
    n = len(rows)
    # row i of the matrix: its columns from the first that is not eliminated, and the right side last
    matrix = [[*column, 0] for column in zip(*rows, strict=True)]
    matrix[0][-1] = 1
    previous = 1
    for k in range(n):
        pivot = next((i for i in range(k, n) if matrix[i][0]), None)
        if pivot is None:
            raise ZeroDivisionError("division by a zero divisor: the defining polynomial is not irreducible")
        matrix[k], matrix[pivot] = matrix[pivot], matrix[k]
        size = longest(matrix[k])
        head, *top = matrix[k]
        entries = n * len(top)
        spend(products(2 * entries, size, size) + divisions(entries, 2 * size))
        for i in range(k + 1, n):
            factor, *row = matrix[i]
            matrix[i] = [(head * x - factor * y) // previous for x, y in zip(row, top, strict=True)]
        previous = head
    # the last pivot is the determinant: times that, the solution is of integers
    solution: list[int] = []
    for head, *known, right in reversed(matrix):
        solution.insert(0, (previous * right - sum(map(mul, known, solution))) // head)
    return tuple(solution), previous


RATIONALS = Field((0, 1), (Fraction(0), Fraction(0)), "0")
