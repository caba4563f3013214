"""Short solutions of linear equations: they are solutions, near, and as short as bounds of lattices let them be."""

from __future__ import annotations

import random
from fractions import Fraction
from math import lcm

import numpy as np
import pytest
from numpy.typing import NDArray
from sympy import Matrix

from verify.construct.coordinates.equations import Form
from verify.construct.coordinates.lattice import short_solution
from verify.exact.number import Number

WITHIN = 1e-6


def forms(seed: int, equations: int, unknowns: int) -> list[list[Fraction]]:
    """Equations with factors of some four digits above and below, some of them 0."""
    rng = random.Random(seed)
    return [
        [Fraction(rng.randint(-9999, 9999), rng.choice((1, 5, 13, 65))) * (rng.random() < 0.7) for _ in range(unknowns)]
        for _ in range(equations)
    ]


def solved_near(rows: list[list[int]], matrix: NDArray[np.float64], seed: int) -> list[Fraction]:
    """The solution that is found near a place at random where the equations nearly hold: exact, and near it."""
    near = np.random.default_rng(seed).normal(size=matrix.shape[1])
    near -= np.linalg.lstsq(matrix, matrix @ near, rcond=None)[0]
    found = short_solution([Form({i: Number.of(x) for i, x in enumerate(row) if x}) for row in rows], near, WITHIN)
    assert found is not None
    solution = [x.as_fraction() for x in found]
    assert all(sum(a * x for a, x in zip(row, solution, strict=True)) == 0 for row in rows)
    assert np.abs(np.array(solution, dtype=float) - near).max() <= WITHIN
    return solution


@pytest.mark.parametrize(("seed", "equations", "unknowns"), [(0, 1, 3), (1, 3, 5), (2, 6, 10), (3, 12, 20)])
def test_solutions_are_exact_near_and_short(seed: int, equations: int, unknowns: int) -> None:
    """Vectors of a reduced basis are together no longer than 2^(r(r-1)/4) times the lattice's determinant, which is at
    most that of the equations' rows, here sympy's (Lenstra, Lenstra and Lovász 1982, 1.12; the rest is arithmetic).
    """
    rows = forms(seed, equations, unknowns)
    solution = solved_near(rows, np.array(rows, dtype=float), seed)
    integers = Matrix([[x * lcm(*(y.denominator for y in row)) for x in row] for row in rows])
    rank = unknowns - equations
    longest = float((integers * integers.T).det()) ** (1 / (2 * rank)) * 2 ** ((rank - 1) / 4)
    assert lcm(*(x.denominator for x in solution)) < 100 * unknowns * longest / WITHIN


def test_equations_that_say_the_same_do_not_matter() -> None:
    one = Form({0: Number.of(3), 1: Number.of(-5)})
    found = short_solution([one, one.times(Number.of(2))], np.array([5.0, 3.0, 0.25]), WITHIN)
    assert found is not None
    assert found[0] * 3 == found[1] * 5


def test_factors_may_be_beyond_floats() -> None:
    rng = random.Random(0)
    row = [rng.randrange(10**319, 10**320) for _ in range(4)]
    near = np.array([1.0, 1.0, 1.0, -sum(row[:3]) / row[3]])
    found = short_solution([Form({i: Number.of(x) for i, x in enumerate(row)})], near, WITHIN)
    assert found is not None
    solution = [x.as_fraction() for x in found]
    assert sum(a * x for a, x in zip(row, solution, strict=True)) == 0
    assert np.abs(np.array(solution, dtype=float) - near).max() <= WITHIN


def test_solutions_that_are_too_long_are_refused() -> None:
    form = Form({0: Number.of(10**400), 1: Number.of(10**400 + 1)})  # no shorter one than these two, exchanged
    assert short_solution([form], np.array([1.0, -1.0]), WITHIN) is None


@pytest.mark.parametrize("seed", [14, 171])
def test_solutions_of_which_some_are_much_longer_than_others_are_found(seed: int) -> None:
    """Of equations on a few unknowns each, with factors of one digit or many, and one on all of them."""
    rng = random.Random(seed)
    unknowns = 12
    rows = [[0] * unknowns for _ in range(5)]
    for row in rows[:-1]:
        for i in rng.sample(range(unknowns), rng.randint(2, 4)):
            row[i] = rng.randint(-9, 9) or 1
            row[i] *= 10 ** rng.choice((0, 12)) + rng.randrange(10)
    rows[-1] = [rng.randrange(10**24) for _ in range(unknowns)]
    matrix = np.array(rows, dtype=float)
    matrix /= np.linalg.norm(matrix, axis=1)[:, None]
    solved_near(rows, matrix, seed)
