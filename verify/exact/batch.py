"""Exact predicates for many points at once.

float64 with a rigorous error bound decides most entries; small integers are decided by int64, which is exact for them;
what is left is decided in integers over 1, alpha, alpha^2, ... without limit of size. No answer depends on rounding.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from math import lcm
from operator import mul
from typing import Any

import numpy as np
import numpy.typing as npt

from verify.exact.effort import products, spend
from verify.exact.number import Number
from verify.exact.numberfield import RATIONALS, Field, FieldMismatch
from verify.exact.plane import Point
from verify.exact.ragged import distinct

Signs = npt.NDArray[np.int8]
Numbers = npt.NDArray[np.integer[Any]]


def common_field(numbers: Sequence[Number]) -> Field:
    """The one field of all the numbers (rational values go with any); FieldMismatch if there are two."""
    field = RATIONALS
    for number in numbers:
        other = number.field
        if other is field or number.is_rational or other == field:
            continue
        if field is not RATIONALS:
            raise FieldMismatch(field, other)
        field = other
    return field


def _coordinates(points: Sequence[Point]) -> tuple[Field, list[tuple[int, ...]]]:
    """Coordinates x, y, x, ... over one denominator as vectors of integers of one field, alike for equal numbers."""
    numbers = [c for point in points for c in point]
    field = common_field(numbers)
    parts = [number.integers() for number in numbers]
    denominator = lcm(*[d for _, d in parts])
    vectors = []
    for coefficients, d in parts:
        factor = denominator // d
        vector = coefficients if factor == 1 else tuple([c * factor for c in coefficients])
        # a rational value may come from another field: only its first coefficient counts
        vectors.append(vector if len(vector) == field.degree else (vector[0], *([0] * (field.degree - 1))))
    return field, vectors


class Sides:
    """Sides of points for lines through two of them, asked for by arrays of numbers. Exact for coordinates of any size.

    `points` are the different ones of those given, by whose numbers is asked; `number_of` says for each of those given
    its number. FieldMismatch if the coordinates share no field.
    """

    def __init__(self, points: Sequence[Point]) -> None:
        field, vectors = _coordinates(points)
        pairs = list(zip(vectors[0::2], vectors[1::2], strict=True))
        different: dict[tuple[tuple[int, ...], tuple[int, ...]], Point] = {}
        for pair, point in zip(pairs, points, strict=True):
            different.setdefault(pair, point)
        number = {pair: k for k, pair in enumerate(different)}
        self.points = list(different.values())
        self.number_of = np.array([number[pair] for pair in pairs], dtype=np.intp)
        vectors = [vector for pair in different for vector in pair]
        self._field, self._vectors = field, vectors
        self._largest = max([abs(c) for v in vectors for c in v], default=0)
        self._asked: npt.NDArray[np.int64] = np.array([np.iinfo(np.int64).max])  # in order; the last is no question
        self._answers: Signs = np.zeros(1, dtype=np.int8)
        # differences below 2^30, products below 2^60: int64 is exact (a search for simple folds takes 0.9 of the time)
        self._small = field.degree == 1 and self._largest <= 1 << 29
        if self._small:
            self._x = np.array([v[0] for v in vectors[0::2]], dtype=np.int64)
            self._y = np.array([v[0] for v in vectors[1::2]], dtype=np.int64)

    @cached_property
    def places(self) -> npt.NDArray[np.complex128]:
        """The points as x + iy, all divided by one positive number: within 1, and within 2^-52 of the exact values in
        both axes. For filters with an error bound, never for decisions.
        """
        return _approximate(self._field, self._vectors).view(np.complex128)

    @cached_property
    def _exact(self) -> tuple[Any, Any, Any]:
        """x, y, with a row for each coefficient and a column for each point, and the polynomial, in int64 if all that
        comes up fits.
        """
        field, degree = self._field, self._field.degree
        # largest coefficient of a determinant before and after reduction by the defining polynomial
        growth = 1
        for _ in range(degree - 1):
            growth *= 1 + max([abs(c) for c in field.polynomial[:-1]])
        bound = 2 * degree * (2 * self._largest) ** 2 * growth
        kind: Any = np.int64 if bound < 1 << 62 else object
        x, y = (np.array(v, dtype=kind).reshape(-1, degree).T for v in (self._vectors[0::2], self._vectors[1::2]))
        return x, y, np.array(field.polynomial[:-1], dtype=kind)[:, None]

    def signs(self, a: Numbers, b: Numbers, p: Numbers) -> Signs:
        """The orientation of points a, b, p (arrays of numbers that broadcast): 1 if p is left of the line from a to b,
        0 on it, or if a and b are one place, -1 right of it.
        """
        if self._small:
            x, y = self._x, self._y
            left = (x[b] - x[a]) * (y[p] - y[a])
            right = (y[b] - y[a]) * (x[p] - x[a])
            return np.asarray(np.sign(left - right), dtype=np.int8)
        signs, undecided = _filtered(self.places, a, b, p)
        if undecided.any():
            count = len(self._vectors) // 2
            signs[undecided] = self._exact_signs(((a * count + b) * count + p)[undecided])
        return signs

    def integer_lines(self, a: Numbers, b: Numbers) -> list[tuple[int, int, int]] | None:
        """The lines through two different points each, as integers that are equal for equal lines: a direction x, y
        without a common factor, and x times the y of a point of the line less y times its x. None of large coordinates.
        """
        if not self._small:
            return None
        x, y = self._x[b] - self._x[a], self._y[b] - self._y[a]
        factor = np.where((x < 0) | ((x == 0) & (y < 0)), -1, 1) * np.gcd(x, y)
        x //= factor
        y //= factor
        return list(zip(x.tolist(), y.tolist(), (x * self._y[a] - y * self._x[a]).tolist(), strict=True))

    def sure_signs(self, a: Numbers, b: Numbers, place: npt.NDArray[np.complex128]) -> Signs:
        """The orientation of points a, b and other places, scaled as `places` are, where float64 proves it; else 0."""
        every = np.concatenate([self.places, place.ravel()])
        return _filtered(every, a, b, len(self.places) + np.arange(place.size).reshape(place.shape))[0]

    def _exact_signs(self, keys: npt.NDArray[np.int64]) -> Signs:
        """Each different question, (a * count + b) * count + p, is answered once, and remembered."""
        place = np.searchsorted(self._asked, keys)
        new = self._asked[place] != keys
        if new.any():
            count = len(self._vectors) // 2
            more = distinct(keys[new])
            lines, points = np.divmod(more, count)
            before = np.searchsorted(self._asked, more)
            self._answers = np.insert(self._answers, before, self._worked_out(*np.divmod(lines, count), points))
            self._asked = np.insert(self._asked, before, more)
            place = np.searchsorted(self._asked, keys)
        return self._answers[place]

    def _worked_out(self, a: Numbers, b: Numbers, p: Numbers) -> Signs:
        """Exact orientations, by arrays of integer coefficients."""
        x, y, polynomial = self._exact
        along_x, along_y = x[:, b] - x[:, a], y[:, b] - y[:, a]
        to_x, to_y = x[:, p] - x[:, a], y[:, p] - y[:, a]
        n, bits = self._field.degree, self._largest.bit_length()
        spend(products(2 * n * n * len(a), bits, bits))
        value = np.zeros((2 * n - 1, len(a)), dtype=x.dtype)
        for i in range(n):
            value[i : i + n] += along_x[i] * to_y - along_y[i] * to_x
        for k in range(2 * n - 2, n - 1, -1):
            value[k - n : k] -= value[k] * polynomial
        if n == 1:
            return np.array(np.sign(value[0]), dtype=np.int8)
        result = np.zeros(len(a), dtype=np.int8)
        for index in np.flatnonzero((value[:n] != 0).any(axis=0)).tolist():
            result[index] = self._field.sign(tuple(value[:n, index].tolist()))
        return result


_UNSURE = 2e-14


def _approximate(field: Field, vectors: list[tuple[int, ...]]) -> npt.NDArray[np.float64]:
    """Floats v with |v| <= 1 and |v - value / scale| <= 2^-52 for one positive scale (all 0 if all values are)."""
    if not any(c for v in vectors for c in v):
        return np.zeros(len(vectors))
    if field.degree == 1:
        values, error = [v[0] for v in vectors], 0
        largest = max([abs(v) for v in values])
    else:
        size = max([sum(map(abs, v)) for v in vectors])
        bits = 64
        while True:
            powers, width = field.powers(bits)
            values = [sum(map(mul, v, powers)) for v in vectors]
            error = size * width
            largest = max([abs(v) for v in values])
            if error << 56 < largest:
                break
            bits *= 2
    # value / 2^k is known within 2^-56; the shift loses below 2^-60 and the float below 2^-53
    shift = (largest + error).bit_length() - 61
    scaled = [v >> shift for v in values] if shift >= 0 else [v << -shift for v in values]
    return np.array([float(v) for v in scaled], dtype=np.float64) * 2.0**-61


def _filtered(
    places: npt.NDArray[np.complex128], a: Numbers, b: Numbers, p: Numbers
) -> tuple[Signs, npt.NDArray[np.bool_]]:
    """The signs that float64 proves, and where it proves none.

    With coordinates known within u = 2^-52 and below 1, a difference is below 2 and off by at most 2u
    and a rounding of u: 3u. A product of two is off by at most 12u + 9u^2 and a rounding of 2u, the
    difference of two products by twice that and a rounding of 4u: by less than 33u, and `_UNSURE` is above 90u.
    Coordinates are multiples of 2^-61 and products multiples of 2^-122, so nothing underflows.
    """
    origin = places[a]
    value = ((places[b] - origin).conj() * (places[p] - origin)).imag
    undecided = ~(np.abs(value) > _UNSURE)  # also where a place is no number
    trivial = (a == p) | (b == p) | (a == b)
    signs = np.where(undecided | trivial, 0.0, np.sign(value)).astype(np.int8)
    return signs, undecided & ~trivial
