"""Numbers against outside values: rational arithmetic of the standard library, sympy, mpmath by containment."""

from __future__ import annotations

import copy
import math
import pickle
from fractions import Fraction

import mpmath
import pytest
import sympy
from hypothesis import given
from hypothesis import strategies as st

from tests.profiles import examples
from verify.exact.algebraic import element, generator
from verify.exact.field import read_numbers
from verify.exact.number import Number
from verify.exact.numberfield import RATIONALS, Field, FieldMismatch

FIELDS = {
    "quadratic": Field((-2, 0, 1), (Fraction(1), Fraction(2)), "sqrt(2)"),
    "negative root": Field((-2, 0, 1), (Fraction(-2), Fraction(-1)), "-sqrt(2)"),
    "golden": Field((-1, -1, 1), (Fraction(1), Fraction(2)), "(1+sqrt(5))/2"),
    "cubic": Field((-1, -2, 1, 1), (Fraction(1), Fraction(3, 2)), "2*cos(2*pi/7)"),
    "quartic": Field((80, 0, -20, 0, 1), (Fraction(2), Fraction(5, 2)), "sqrt(10-2*sqrt(5))"),
    "octic": read_numbers(["sqrt(2)", "sqrt(3)", "sqrt(5)"]).field,
}
ALPHA = {
    "quadratic": sympy.sqrt(2),
    "negative root": -sympy.sqrt(2),
    "golden": (1 + sympy.sqrt(5)) / 2,
    "cubic": 2 * sympy.cos(2 * sympy.pi / 7),
    "quartic": sympy.sqrt(10 - 2 * sympy.sqrt(5)),
    "octic": sympy.sqrt(2) + sympy.sqrt(3) + sympy.sqrt(5),
}

fractions = st.fractions(min_value=-50, max_value=50, max_denominator=30)


def elements(name: str) -> st.SearchStrategy[Number]:
    field = FIELDS[name]
    return st.lists(fractions, min_size=field.degree, max_size=field.degree).map(lambda c: element(field, c))


def mp_value(name: str, number: Number) -> mpmath.mpf:
    """The value with 60 digits, by an evaluation that shares nothing with the package."""
    with mpmath.workdps(90):
        alpha = mpmath.mpf(sympy.N(ALPHA[name], 90))
        return mpmath.fsum(
            mpmath.mpf(c.numerator) / c.denominator * alpha**i for i, c in enumerate(number.coefficients())
        )


def as_exact(value: mpmath.mpf) -> Fraction:
    sign, mantissa, exponent, _ = value._mpf_
    return (-1) ** sign * Fraction(int(mantissa)) * Fraction(2) ** int(exponent)


@given(fractions, fractions)
def test_rational_arithmetic_is_that_of_fractions(a: Fraction, b: Fraction) -> None:
    x, y = Number.of(a), Number.of(b)
    assert (x + y).as_fraction() == a + b
    assert (x - y).as_fraction() == a - b
    assert (x * y).as_fraction() == a * b
    assert (a - y, a * y, a + y) == (a - b, a * b, a + b)
    assert (-x, abs(x), +x) == (-a, abs(a), a)
    assert (x < y, x <= y, x > y, x >= y, x == y) == (a < b, a <= b, a > b, a >= b, a == b)
    assert x.sign() == (a > 0) - (a < 0)
    assert bool(x) == bool(a)
    assert hash(x) == hash(a)
    assert x == a
    assert a == x
    assert float(x) == float(a)
    assert math.floor(x) == math.floor(a)
    if b:
        assert (x / y).as_fraction() == a / b
        assert (a / y) == a / b


@pytest.mark.parametrize("name", FIELDS)
def test_field_axioms(name: str) -> None:
    @examples(80)
    @given(elements(name), elements(name), elements(name), fractions)
    def check(x: Number, y: Number, z: Number, r: Fraction) -> None:
        assert x + y == y + x
        assert x * y == y * x
        assert (x + y) + z == x + (y + z)
        assert (x * y) * z == x * (y * z)
        assert x * (y + z) == x * y + x * z
        assert x + 0 == x
        assert x * 1 == x
        assert x - x == 0
        assert not x - x
        assert x - y == -(y - x)
        assert x + r == r + x
        assert x * r == r * x
        assert r - x == -(x - r)
        if x:
            assert x * (1 / x) == 1
            assert y / x * x == y
            assert (x > 0) == (1 / x > 0)
        if r:
            assert x / r * r == x
        assert (x < y) + (x == y) + (x > y) == 1
        assert (x < y) == (x + z < y + z)
        if x == y:
            assert hash(x) == hash(y)

    check()


@pytest.mark.parametrize("name", FIELDS)
def test_defining_polynomial_vanishes_at_alpha(name: str) -> None:
    field = FIELDS[name]
    alpha = generator(field)
    value = Number.of(0)
    for c in reversed(field.polynomial):
        value = value * alpha + c
    assert value == 0
    assert field.root[0] < alpha < field.root[1]
    assert sympy.minimal_polynomial(ALPHA[name], polys=True).all_coeffs()[::-1] == list(field.polynomial)


@pytest.mark.parametrize("name", FIELDS)
def test_enclosures_contain_the_value_of_an_outside_evaluation(name: str) -> None:
    @examples(80)
    @given(elements(name), st.integers(0, 150))
    def check(x: Number, bits: int) -> None:
        low, high = x.enclosure(bits)
        assert high - low <= Fraction(1, 2**bits)
        outside = as_exact(mp_value(name, x))
        error = Fraction(1, 10**70)
        assert low - error <= outside <= high + error
        # nested enclosures agree with each other and with the order
        assert low <= x <= high
        assert abs(float(x) - float(outside)) <= math.ulp(float(outside))
        assert x.sign() == (outside > error) - (outside < -error)
        digits = 25
        assert abs(Fraction(x.decimal(digits)) - outside) <= Fraction(1, 2 * 10**digits) + error

    check()


@pytest.mark.parametrize("name", FIELDS)
@pytest.mark.parametrize("bits", [1, 64, 100, 256])
def test_fixed_point_powers_contain_the_powers(name: str, bits: int) -> None:
    bottoms, width = FIELDS[name].powers(bits)
    with mpmath.workdps(200):
        alpha = as_exact(mpmath.mpf(sympy.N(ALPHA[name], 200)))
    error = Fraction(1, 10**150)
    for i, bottom in enumerate(bottoms):
        assert bottom - error <= alpha**i * 2**bits <= bottom + width + error
    assert bottoms[0] == 2**bits
    assert width <= 4


@pytest.mark.parametrize("name", FIELDS)
def test_round_trips_keep_the_root(name: str) -> None:
    @examples(80)
    @given(elements(name))
    def check(x: Number) -> None:
        for y in (pickle.loads(pickle.dumps(x)), copy.copy(x), copy.deepcopy(x)):
            assert y == x
            assert hash(y) == hash(x)
            assert y.sign() == x.sign()
            assert y.field == x.field
            assert y + x == 2 * x
        read = read_numbers([x.text()]).numbers[x.text()]
        assert read == x
        assert hash(read) == hash(x)

    check()


def test_text_of_a_quadratic_number() -> None:
    reading = read_numbers(["(1+sqrt(5))/2", "-sqrt(5)", "3/4-sqrt(5)/7"])
    assert [str(x) for x in reading.numbers.values()] == ["1/2+1/2*sqrt(5)", "-sqrt(5)", "3/4-1/7*sqrt(5)"]
    assert str(Number.of(Fraction(-3, 4))) == "-3/4"


def test_both_roots_of_one_polynomial_are_different_numbers() -> None:
    plus, minus = generator(FIELDS["quadratic"]), generator(FIELDS["negative root"])
    assert plus != minus
    assert minus < 0 < plus
    assert FIELDS["quadratic"] != FIELDS["negative root"]
    assert plus == -minus
    assert hash(plus) == hash(-minus)
    assert pickle.loads(pickle.dumps(minus)) < 0


def test_root_two_minus_two_is_below_zero() -> None:
    # an order on sqrt(2) - 2 that some algebra systems get wrong
    x = generator(FIELDS["quadratic"]) - 2
    assert x.sign() == -1
    assert x < 0
    assert not x > 0
    assert abs(x) == 2 - generator(FIELDS["quadratic"])


def test_equality_and_hash_across_fields() -> None:
    small = read_numbers(["sqrt(5)"]).numbers["sqrt(5)"]
    quartic = generator(FIELDS["quartic"])
    large = (10 - quartic * quartic) / 2
    assert large.field.degree == 4
    assert small.field.degree == 2
    assert large == small
    assert small == large
    assert hash(large) == hash(small)
    assert -large != small
    assert -large < small
    assert small > -large
    assert small <= large
    octic = read_numbers(["sqrt(2)", "sqrt(3)", "sqrt(5)"]).numbers["sqrt(5)"]
    assert octic == small
    assert octic == large
    assert len({octic, small, large}) == 1
    golden = generator(FIELDS["golden"]) * 2 - 1
    assert golden == small
    assert hash(golden) == hash(small)
    for scale in (10**400, Fraction(1, 10**400)):  # beyond floats
        assert len({octic * scale, small * scale, large * scale, golden * scale}) == 1


def test_close_numbers_of_different_fields_are_ordered() -> None:
    root = read_numbers(["sqrt(3)"]).numbers["sqrt(3)"]
    other = read_numbers(["sqrt(3+1e-200)"]).numbers["sqrt(3+1e-200)"]
    assert root < other
    assert other > root
    assert root != other
    assert not root >= other


def test_rational_values_hash_and_compare_like_fractions() -> None:
    alpha = generator(FIELDS["quadratic"])
    two = alpha * alpha
    assert two == 2 == two
    assert hash(two) == hash(2)
    assert two.is_rational
    assert two.as_fraction() == 2
    half = 1 / two
    assert half == Fraction(1, 2)
    assert hash(half) == hash(Fraction(1, 2))
    assert {half: 1}[Fraction(1, 2)] == 1
    assert half.coefficients() == (Fraction(1, 2), 0)
    assert not alpha.is_rational
    with pytest.raises(ValueError, match="not rational"):
        alpha.as_fraction()


def test_two_irrational_fields_do_not_mix() -> None:
    a = generator(FIELDS["quadratic"])
    b = generator(FIELDS["cubic"])
    for operation in (lambda: a + b, lambda: a - b, lambda: a * b, lambda: a / b):
        with pytest.raises(FieldMismatch, match="together") as caught:
            operation()
        assert isinstance(caught.value, TypeError)
    # a rational value goes with any field
    assert a * a + b == b + 2
    assert (a * a) * b == 2 * b
    assert b / (a * a) == b / 2


def test_floats_and_zero_divisors_are_refused() -> None:
    a = generator(FIELDS["quadratic"])
    for zero in (0, a - a, Number.of(0)):
        with pytest.raises(ZeroDivisionError):
            a / zero
        with pytest.raises(ZeroDivisionError):
            Number.of(1) / zero
    with pytest.raises(TypeError):
        a + 0.5  # type: ignore[operator]
    with pytest.raises(TypeError):
        Number.of(0.5)  # type: ignore[arg-type]
    with pytest.raises(TypeError):
        bool(a < 0.5)  # type: ignore[operator]
    assert a != 1.4142135623730951


@pytest.mark.parametrize(
    ("polynomial", "root"),
    [
        ((-2, 0, 2), (1, 2)),
        ((-2, 0, 1), (2, 3)),
        ((-2, 0, 1), (-2, 2)),
        ((-2, 0, 1), (2, 1)),
        ((1,), (0, 0)),
        ((-3, 1), (3, 3)),
    ],
)
def test_bad_fields_are_refused(polynomial: tuple[int, ...], root: tuple[int, int]) -> None:
    with pytest.raises(ValueError, match=r"monic|isolate|degree 1"):
        Field(polynomial, (Fraction(root[0]), Fraction(root[1])), "x")


def test_fields_are_equal_whatever_the_interval() -> None:
    a = Field((-2, 0, 1), (Fraction(1), Fraction(2)), "sqrt(2)")
    b = Field((-2, 0, 1), (Fraction(7, 5), Fraction(3, 2)), "2/sqrt(2)")
    assert a == b
    assert hash(a) == hash(b)
    assert generator(a) + generator(b) == 2 * generator(a)
    assert a != FIELDS["golden"]
    assert a != RATIONALS


def test_decimal_rounding() -> None:
    assert Number.of(Fraction(1, 2)).decimal(0) == "0"
    assert Number.of(Fraction(3, 2)).decimal(0) == "2"
    assert Number.of(Fraction(-1, 8)).decimal(2) == "-0.12"
    assert Number.of(Fraction(1, 3)).decimal(3) == "0.333"
    root = generator(FIELDS["quadratic"])
    with mpmath.workdps(120):
        assert root.decimal(100) == mpmath.nstr(mpmath.sqrt(2), 101)
        assert (-root).decimal(100) == "-" + mpmath.nstr(mpmath.sqrt(2), 101)


def test_huge_numbers_have_a_text() -> None:
    number = Number.of(10**6000 + 1)
    assert number.text() == "1" + "0" * 5999 + "1"
    assert number.decimal(1) == "1" + "0" * 5999 + "1.0"


def test_float_of_small_differences() -> None:
    reading = read_numbers(["sqrt(2)", "sqrt(2+1e-40)"])
    x, y = reading.numbers.values()
    tiny = y - x
    assert tiny.sign() == 1
    assert float(tiny) == pytest.approx(1e-40 / (2 * math.sqrt(2)), rel=1e-15)
    root = generator(FIELDS["quadratic"])
    power = Number.of(1)
    for _ in range(400):
        power = power * (root - 1)
    # (sqrt(2) - 1)^400 is about 1e-153: its coefficients cancel to 300 digits
    assert float(power) == pytest.approx((math.sqrt(2) - 1) ** 400, rel=1e-12)
    assert power > 0
    assert -power < 0
