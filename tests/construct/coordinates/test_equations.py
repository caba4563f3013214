"""Equations chosen in floats and solved exactly."""

from __future__ import annotations

import random
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from verify.construct.coordinates.equations import Chooser, Floats, Form, coordinate, solved
from verify.exact.field import read_numbers
from verify.exact.number import Number


def form(factors: dict[int, int | Fraction], constant: int | Fraction = 0) -> Form:
    return Form({i: Number.of(c) for i, c in factors.items() if c}, Number.of(constant))


def anywhere(_: Floats) -> bool:
    return True


def test_forms_add_and_cancel() -> None:
    total = coordinate(0) + form({0: -1, 1: 2}, 3) - form({1: 2})
    assert total == form({}, 3)
    assert form({0: 2}, 5).times(Number.of(0)) == form({})
    assert form({0: 2, 3: -1}, 5).at(np.array([1.0, 0.0, 0.0, 4.0])) == 3.0


@given(st.integers(0, 10_000))
def test_the_solution_satisfies_every_form_exactly(seed: int) -> None:
    rng = random.Random(seed)
    n = rng.randint(1, 7)
    root = read_numbers(["sqrt(5)"]).numbers["sqrt(5)"]
    values = [Fraction(rng.randint(-9, 9), rng.randint(1, 5)) + rng.randint(-2, 2) * root for _ in range(n)]
    forms = []
    for _ in range(n + rng.randint(0, 3)):
        chosen = rng.sample(range(n), rng.randint(1, n))
        factors = {i: Number.of(rng.choice([-3, -1, 1, 2])) * (root if rng.random() < 0.3 else 1) for i in chosen}
        total = sum((c * values[i] for i, c in factors.items()), Number.of(0))
        forms.append(Form(factors, -total))
    found = solved(forms, n)
    if found is None:
        matrix = np.array([[float(f.factors.get(i, Number.of(0))) for i in range(n)] for f in forms])
        assert np.linalg.matrix_rank(matrix) < n
    else:
        assert found == values


@pytest.mark.parametrize(
    ("forms", "count"),
    [
        ([form({0: 1}, 1), form({0: 1}, 2)], 1),
        ([form({0: 1, 1: 1})], 2),
        ([form({0: 1, 1: 1}), form({0: 2, 1: 2}, 1)], 2),
        ([form({}, 1), form({0: 1})], 1),
        ([], 1),
        ([form({0: 1}, Fraction(1, 10**40)), form({0: 1})], 1),
    ],
)
def test_contradictions_and_open_coordinates_have_no_solution(forms: list[Form], count: int) -> None:
    assert solved(forms, count) is None


@given(st.integers(0, 10_000))
def test_the_places_are_the_nearest_that_meet_the_equations(seed: int) -> None:
    rng = np.random.default_rng(seed)
    n, m = 6, int(rng.integers(1, 5))
    rows = rng.integers(-4, 5, size=(m, n))
    start = rng.normal(size=n)
    right = rows @ rng.normal(size=n)
    chooser = Chooser(start)
    for row, b in zip(rows, right, strict=True):
        chooser.offer(form({i: int(c) for i, c in enumerate(row)}, Fraction(-float(b))), anywhere)
    nearest = start + np.linalg.lstsq(rows.astype(float), right - rows @ start, rcond=None)[0]
    assert chooser.places == pytest.approx(nearest, abs=1e-8)


def test_what_becomes_of_an_equation() -> None:
    chooser = Chooser(np.array([0.0, 0.0]))

    def near(places: Floats) -> bool:
        return float(np.abs(places).max()) <= 1

    assert chooser.offer(form({0: 1, 1: 1}, -1), near) == "taken"
    assert chooser.offer(form({0: 2, 1: 2}, -2), near) == "redundant"
    assert chooser.offer(form({0: 1, 1: 1}, -2), near) == "contradicts"
    assert chooser.offer(form({}, 1), near) == "contradicts"
    assert chooser.offer(form({}), near) == "redundant"
    assert chooser.offer(form({0: 1}, -9), near) == "too far"
    assert chooser.places == pytest.approx([0.5, 0.5])
    assert not chooser.determined(0)
    assert chooser.offer(form({0: 1}), near) == "taken"
    assert chooser.determined(0)
    assert chooser.determined(1)
    assert solved(chooser.taken, 2) == [0, 1]
