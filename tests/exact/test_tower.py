"""Square roots adjoined to a field: it grows only where it must, and its numbers keep their values.

Degrees by Galois theory: a root of an element that is no square doubles the degree. Values against sympy.
"""

from __future__ import annotations

import pytest
import sympy

from verify.exact.expression import DegreeLimit
from verify.exact.field import read_numbers
from verify.exact.number import Number
from verify.exact.tower import adjoin


@pytest.mark.parametrize(
    ("more", "radicands", "before", "after"),
    [
        (["1/3"], ["2", "8", "18/25"], 1, 2),  # sqrt(8) = 2 sqrt(2)
        (["sqrt(2)", "sqrt(3)"], ["6", "5+2*sqrt(6)"], 4, 4),  # 5 + 2 sqrt(6) = (sqrt(2) + sqrt(3))^2
        ([], ["2+sqrt(5)", "2"], 2, 8),
        (["cos(pi/5)"], ["5", "5+2*sqrt(5)", "5-2*sqrt(5)"], 2, 4),  # tan 72° and tan 36° lie in one field
        (["cos(pi/7)"], ["3", "0", "9/4"], 3, 6),
    ],
)
def test_roots_are_adjoined(more: list[str], radicands: list[str], before: int, after: int) -> None:
    reading = read_numbers([*more, *radicands])
    tower, image, roots = adjoin(reading.tower, [reading.numbers[r] for r in radicands], 32)
    assert (reading.field.degree, tower.field.degree) == (before, after)
    for text, root in zip(radicands, roots, strict=True):
        assert root.sign() >= 0
        assert root * root == image(reading.numbers[text])
        assert float(root) == pytest.approx(float(sympy.sqrt(sympy.sympify(text))), abs=1e-12)
    for old in reading.numbers.values():
        assert image(old) == old
        assert image(old).field == tower.field
        assert image(old * old + 1) == image(old) * image(old) + 1


def test_a_field_that_holds_the_roots_stays() -> None:
    reading = read_numbers(["sqrt(2)+sqrt(3)"])
    x = reading.numbers["sqrt(2)+sqrt(3)"]
    tower, image, (root,) = adjoin(reading.tower, [x * x], 4)
    assert tower is reading.tower
    assert (root, image(x)) == (x, x)


def test_the_degree_is_limited() -> None:
    reading = read_numbers(["sqrt(2)"])
    with pytest.raises(DegreeLimit, match=r"sqrt\(3\) needs a number field of degree 4; the limit is 3"):
        adjoin(reading.tower, [Number.of(3)], 3)
