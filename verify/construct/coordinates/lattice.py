"""Short solutions of linear equations without constants: near a place, with few digits.

The integer solutions are a lattice. A basis of it that is nearly orthogonal has short vectors (Lenstra, Lenstra and
Lovász 1982), of which the place is nearly a combination with integer coefficients, in a small unit. The basis is made
for one equation after the other; floats choose the steps, integers carry them out. (sympy 1.14 has such a reduction,
`lll`; over its Python integers it ends in an assertion of its own for the first equation of a star of 20 corners.)
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction
from math import gcd, lcm, sqrt

import numpy as np
import numpy.typing as npt

from verify.construct.coordinates.equations import Floats, Form
from verify.exact.number import Number

_HEAVY, _HEAVIER, _SLOW = 2.0**44, 2.0**6, 16  # how much an equation weighs in one pass, as floats carry it
_PASSES = 60
_LARGEST = 10**150
_SHORTER = 0.9  # the square of a vector comes before one that is not much longer

Integers = npt.NDArray[np.object_]


def short_solution(forms: Sequence[Form], near: Floats, within: float) -> list[Number] | None:
    """Rational coordinates at which all forms, with rational factors and without constants, are 0, each at most
    `within` from those of `near`, which nearly are such; None if floats do not suffice.

    Where some vectors are much longer than others floats may lose the short ones, if an equation weighs as suits the
    long ones, or else the long ones. So both are tried.
    """
    for typical in (np.median, np.min):
        try:
            found = _combined(forms, near, within, typical)
        except OverflowError:
            continue
        if found is not None and all(abs(float(x) - y) <= within for x, y in zip(found, near, strict=True)):
            return found
    return None


def _combined(
    forms: Sequence[Form], near: Floats, within: float, typical: Callable[[Floats], np.floating]
) -> list[Number] | None:
    """The same, but not for sure near; an equation weighs as suits vectors of `typical` length."""
    count = len(near)
    basis = _unit(count)
    for form in sorted(forms, key=lambda form: len(form.factors)):
        of_basis = basis @ _integers(form, count)
        met = of_basis == 0
        solving = _solving(basis[~met], of_basis[~met], typical)
        if solving is None:
            return None
        basis = np.concatenate([basis[met], solving])
    rows = _in_floats(basis)
    if rows is None:
        return None
    unit = 10 ** len(str(int(sqrt(count) * np.abs(rows).max() / within)))
    sizes = np.linalg.norm(rows, axis=1)
    shares = np.linalg.lstsq((rows / sizes[:, None]).T, near, rcond=None)[0] / sizes * unit
    found = np.array([round(Fraction(share)) for share in shares], dtype=object) @ basis
    return [Number.of(Fraction(int(x), unit)) for x in found]


def _unit(count: int) -> Integers:
    return np.array([[int(i == j) for j in range(count)] for i in range(count)], dtype=object)


def _integers(form: Form, count: int) -> Integers:
    """The factors of a form, times what makes them integers without a common factor."""
    factors = {i: factor.as_fraction() for i, factor in form.factors.items()}
    times = lcm(*(f.denominator for f in factors.values()))
    common = gcd(*(f.numerator * times // f.denominator for f in factors.values())) or 1
    found = np.zeros(count, dtype=object)
    for i, f in factors.items():
        found[i] = f.numerator * times // f.denominator // common
    return found


def _solving(basis: Integers, values: Integers, typical: Callable[[Floats], np.floating]) -> Integers | None:
    """A basis of the combinations of a lattice's basis whose value is 0, if that of each vector is given."""
    heavy = _HEAVY
    for _ in range(_PASSES):
        largest = max((abs(value) for value in values), default=0)
        if np.count_nonzero(values) <= 1:
            solving: Integers = basis[values == 0]
            return solving
        order = np.argsort([sum(x * x for x in row) for row in basis], kind="stable")
        basis, values = basis[order], values[order]
        rows = _in_floats(basis)
        if rows is None:
            return None
        size = float(typical(np.linalg.norm(rows, axis=1)[values != 0]))
        weighed = np.array([value / largest for value in values.tolist()]) * (heavy * size)
        steps = _reducing(np.column_stack([rows, weighed]))
        basis, values = steps @ basis, steps @ values
        heavy *= _HEAVIER if _SLOW * max(abs(value) for value in values) > largest else 1
    return None


def _in_floats(basis: Integers) -> Floats | None:
    """The same in floats; None if its squares are beyond them."""
    if max(abs(x) for row in basis.tolist() for x in row) > _LARGEST:
        return None
    rows: Floats = basis.astype(float)
    return rows


def _reducing(vectors: Floats) -> Integers:
    """The combinations of vectors that are a nearly orthogonal basis of the same lattice."""
    count = len(vectors)
    # a row for each vector: what it has of the directions of those before it that is orthogonal to all before these
    over: list[list[float]] = np.linalg.qr(vectors.T)[1].T.tolist()
    steps: list[list[int]] = _unit(count).tolist()

    def lessen(k: int, by: int) -> None:
        share = round(over[k][by] / over[by][by])
        if share:
            over[k][: by + 1] = [x - share * y for x, y in zip(over[k], over[by][: by + 1], strict=False)]
            steps[k] = [x - share * y for x, y in zip(steps[k], steps[by], strict=True)]

    k = 1
    while k < count:
        lessen(k, k - 1)
        x, y = over[k][k - 1 : k + 1]
        if x * x + y * y >= _SHORTER * over[k - 1][k - 1] ** 2:
            for by in reversed(range(k - 1)):
                lessen(k, by)
            k += 1
            continue
        over[k - 1], over[k] = over[k], over[k - 1]
        steps[k - 1], steps[k] = steps[k], steps[k - 1]
        size = sqrt(x * x + y * y)
        x, y = x / size, y / size
        for row in over[k - 1 :]:
            u, v = row[k - 1 : k + 1]
            row[k - 1 : k + 1] = x * u + y * v, x * v - y * u
        k = max(k - 1, 1)
    return np.array(steps, dtype=object)
