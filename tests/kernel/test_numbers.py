"""Fields: signs and zeros against independent arithmetic, whatever the polynomial."""

from __future__ import annotations

import json
from fractions import Fraction
from itertools import cycle, islice
from math import isqrt, lcm

import mpmath
import pytest
from hypothesis import given
from hypothesis import strategies as st
from sympy.ntheory.continued_fraction import continued_fraction_periodic

from tests.profiles import examples
from verify.kernel.expression import Evaluator, tokens
from verify.kernel.numbers import Algebraic, Field, Number, lowest
from verify.kernel.reading import Rejected, Work

ROOT2 = Field((-2, 0, 1), Fraction(1), Fraction(2), Work(0, 0))
FALSE = Field((10, -2, -5, 1), Fraction(7, 5), Fraction(3, 2), Work(0, 0))  # (x^2 - 2)(x - 5), alpha = sqrt 2
SIX = Field((6, -5, 1), Fraction(14, 5), Fraction(7, 2), Work(0, 0))  # (x - 2)(x - 3), alpha = 3
NEGATIVE = Field((-2, 0, 1), Fraction(-2), Fraction(-1), Work(0, 0))
small = st.integers(-(10**30), 10**30)


def sign_root2(a: int, b: int) -> int:
    """The sign of a + b sqrt 2, by squares."""
    if a >= 0 and b >= 0:
        return int(a > 0 or b > 0)
    if a <= 0 and b <= 0:
        return -1
    outer = a * a - 2 * b * b
    return (outer > 0) - (outer < 0) if a > 0 else (outer < 0) - (outer > 0)


@given(small, small)
def test_sign_in_root2(a: int, b: int) -> None:
    expected = sign_root2(a, b)
    assert ROOT2.sign(Algebraic(ROOT2, (a, b))) == expected
    assert NEGATIVE.sign(Algebraic(NEGATIVE, (a, -b))) == expected
    assert FALSE.sign(Algebraic(FALSE, (a, b, 0))) == expected
    assert FALSE.sign(Algebraic(FALSE, (a - 2 * b, b, b))) == expected  # a^2 = 2


@given(small, small, small, small)
def test_ring_operations(a: int, b: int, c: int, d: int) -> None:
    x, y = Algebraic(ROOT2, (a, b)), Algebraic(ROOT2, (c, d))
    assert (x * y).c == (a * c + 2 * b * d, a * d + b * c)
    assert (x + y).c == (a + c, b + d)
    assert (x - y).c == (a - c, b - d)
    assert (x + 3).c == (3 + x).c == (a + 3, b)
    assert (x - 3).c == (a - 3, b)
    assert (3 - x).c == (3 - a, -b)
    assert (x * 3).c == (3 * x).c == (3 * a, 3 * b)


@pytest.mark.parametrize("n", [2, 3, 5, 6, 7, 10, 11, 13, 14, 15])
def test_convergents_are_not_taken_for_zero(n: int) -> None:
    """p² − nq² tells the sign of p − q√n, which is never 0; with sympy's continued fraction p/q comes near √n."""
    field = Field((-n, 0, 1), Fraction(isqrt(n)), Fraction(isqrt(n) + 1), Work(0, 0))
    whole, period = continued_fraction_periodic(0, 1, n)
    (p, q), (before_p, before_q) = (int(whole), 1), (1, 0)
    for term in islice(cycle(map(int, period)), 500):
        assert field.sign(Algebraic(field, (p, -q))) == (1 if p * p > n * q * q else -1)
        (p, q), (before_p, before_q) = (term * p + before_p, term * q + before_q), (p, q)


@pytest.mark.parametrize("p", [(1, -1000, 1), (-1, 10**6, 3, 1), (-1, 7, 0, 5000, 1)])
def test_all_roots_are_within_reach(p: tuple[int, ...]) -> None:
    """Those that mpmath finds; others than the one in the interval may be far larger."""
    reach = 2 ** Field(p, Fraction(0), Fraction(1, 4), Work(0, 0)).reach
    assert all(abs(root) <= reach for root in mpmath.polyroots(p[::-1], maxsteps=200, extraprec=200))


def test_decimal_approximations_of_any_length() -> None:
    for digits in (10, 50, 300, 1000):
        p = isqrt(2 * 10 ** (2 * digits))
        assert ROOT2.sign(Algebraic(ROOT2, (-p, 10**digits))) == 1
        assert ROOT2.sign(Algebraic(ROOT2, (-p - 1, 10**digits))) == -1
    p = isqrt(2 * 10**8000)
    with pytest.raises(Rejected, match="limit"):
        ROOT2.sign(Algebraic(ROOT2, (-p, 10**4000)))


@given(st.integers(-50, 50), st.integers(-50, 50))
def test_a_rational_root(a: int, b: int) -> None:
    value = a + 3 * b
    assert SIX.sign(Algebraic(SIX, (a, b))) == (value > 0) - (value < 0)


@examples(60)
@given(
    st.lists(st.integers(-6, 6), min_size=2, max_size=5), st.integers(-8, 8), st.lists(small, min_size=6, max_size=6)
)
def test_signs_agree_with_a_narrow_rational_interval(low: list[int], start: int, c: list[int]) -> None:
    p = (*low, 1)
    try:
        field = Field(p, Fraction(start, 2), Fraction(start + 1, 2), Work(0, 0))
    except Rejected:
        return
    n = field.degree
    if n == 1:
        return
    lo, hi = field.lo, field.hi
    for _ in range(400):
        middle = (lo + hi) / 2
        if (field.value(*middle.as_integer_ratio()) > 0) == (field.value(*lo.as_integer_ratio()) > 0):
            lo = middle
        else:
            hi = middle
    value, error = Fraction(0), Fraction(0)
    for i, k in enumerate(c[:n]):
        value += k * lo**i
        error += abs(k) * abs(hi**i - lo**i)
    sign = field.sign(Algebraic(field, tuple(c[:n])))
    if abs(value) > error:
        assert sign == (1 if value > 0 else -1)
    low_, high = field.enclosure(Algebraic(field, tuple(c[:n])), 128)
    assert low_ <= (value + error) * 2**128
    assert (value - error) * 2**128 <= high


@pytest.mark.parametrize(
    ("p", "lo", "hi"),
    [
        ((0, 1), 1, 2),
        ((2, 0, 1), 0, 1),
        ((-2, 0, 1), -2, 2),
        ((-4, 0, 1), 1, 2),
        ((-4, 0, 1), 2, 3),
        ((1, -2, 1), 0, 2),
        ((0, 0, 0, 1), -1, 1),
        ((-2, 0, 1), 2, 1),
        ((-2, 0, 1), 1, 1),
        ((-6, 11, -6, 1), 0, 4),
        ((-2, 0, 1), 0, 2),  # one root, but the derivative is 0 at an end, or vanishes on the way
        ((-2, 0, 1), Fraction(-1, 4), 2),
        ((-2, 0, 1), -2, 0),
        ((-2, 0, 1), -2, Fraction(1, 4)),
        ((0, -1, 0, 1), Fraction(-3, 2), Fraction(3, 2)),
    ],
)
def test_no_field(p: tuple[int, ...], lo: Fraction, hi: Fraction) -> None:
    with pytest.raises(Rejected) as fault:
        Field(p, Fraction(lo), Fraction(hi), Work(0, 0))
    assert fault.value.code == "field.root"


def number(field: Field, *c: Fraction | int) -> Algebraic:
    over = lcm(*(Fraction(x).denominator for x in c))
    return lowest(field, [(x * over).numerator for x in map(Fraction, [*c, *[0] * (field.degree - len(c))])], over)


def evaluate(field: Field, text: str, values: dict[str, Number]) -> Number:
    evaluator = Evaluator(field, values)
    result = evaluator.value(tokens(text))
    evaluator.finish()
    return result


def test_an_interval_that_was_narrowed_holds_no_other_root() -> None:
    """The roots of a and a + 1, 2^-131 apart, lie in the middle between two multiples of 2^-128."""
    a = (1 << 260) + 4
    assert [isqrt(square << 264) % 16 for square in (a, a + 1)] == [7, 9]
    for square in (a, a + 1):
        below = Fraction(isqrt(square << 400), 1 << 200)
        near = Fraction(1, 1 << 141)
        field = Field((a * (a + 1), 0, -2 * a - 1, 0, 1), below - near, below + near, Work(0, 0))
        for bits in (128, 256, 512):
            low, high = field.bounds_of_alpha(bits)
            assert low**2 <= square << 2 * bits <= high**2


def test_cosines_of_fifths() -> None:
    golden = Field((-1, -1, 1), Fraction(3, 2), Fraction(2), Work(0, 0))
    c = number(golden, 0, Fraction(1, 2))
    for text, expected in {
        "cos(pi/5)": (0, "1/2"),
        "cos(2*pi/5)": ("-1/2", "1/2"),
        "cos(3*pi/5)": ("1/2", "-1/2"),
        "cos(9*pi/5)": (0, "1/2"),
        "cos(-pi/5)": (0, "1/2"),
        "cos(6*pi/5)": (0, "-1/2"),
        "sin(pi/10)": ("-1/2", "1/2"),
        "sin(3*pi/10)": (0, "1/2"),
    }.items():
        difference = evaluate(golden, text, {"cos(pi/5)": c}) - number(golden, *map(Fraction, expected))
        assert golden.sign(difference) == 0, text
    for wrong in (c * -1, number(golden, Fraction(1, 2), Fraction(-1, 2)), -1, 1, 0, Fraction(1, 2)):
        with pytest.raises(Rejected, match=r"values\.wrong"):
            evaluate(golden, "cos(pi/5)", {"cos(pi/5)": wrong})


def test_values_of_tangents_are_told_apart() -> None:
    """tan(pi/10) and tan(3 pi/5) need 1/(1 + cos(pi/5)) and 1/(1 + cos(6 pi/5)): two values, with two keys."""
    field = Field((5, 0, -5, 0, 1), Fraction(19, 10), Fraction(2), Work(0, 0))  # of 2 cos(pi/10)
    values = {"cos(pi/10)": number(field, 0, Fraction(1, 2)), "cos(pi/5)": number(field, -1, 0, Fraction(1, 2))}
    for text, key in {"tan(pi/10)": "1/(1+cos(pi*1/5))", "tan(3*pi/5)": "1/(1+cos(pi*6/5))"}.items():
        with pytest.raises(Rejected) as fault:
            evaluate(field, text, values)
        assert fault.value.code == "values.missing"
        assert json.dumps(key) in fault.value.reason


def test_signs_of_numbers_far_below_the_first_enclosure() -> None:
    tiny = Fraction(1, 2**200)
    for c in ((tiny, 0), (0, tiny), (tiny, tiny), (3 * tiny, -2 * tiny)):
        assert ROOT2.sign(number(ROOT2, *c)) == 1
        assert ROOT2.sign(number(ROOT2, *(-x for x in c))) == -1


def test_8192_bits_of_alpha_and_no_more() -> None:
    """sqrt 2 less its first 2456 and 2470 digits: 2^-8159 and 2^-8206 or so."""
    for digits, sign in ((2456, 1), (2470, None)):
        c = Fraction(-isqrt(2 * 10 ** (2 * digits)), 10**digits), 1
        if sign:
            assert ROOT2.sign(number(ROOT2, *c)) == sign
        else:
            with pytest.raises(Rejected, match="8192 bits"):
                ROOT2.sign(number(ROOT2, *c))


def test_a_number_may_have_so_many_bits() -> None:
    most = 2**65_536 - 1
    for x in (most, -most, Fraction(1, most), number(ROOT2, 0, most), number(ROOT2, 0, Fraction(1, most))):
        assert ROOT2.limited(x) is x
    for x in (most + 1, Fraction(1, most + 2), number(ROOT2, 0, most + 1)):
        with pytest.raises(Rejected, match="65536 bits"):
            ROOT2.limited(x)


def test_an_element_of_degree_one_is_rational() -> None:
    field = Field((0, 1), Fraction(0), Fraction(0), Work(0, 0))
    assert field.element(["-5/7"], "here") == Fraction(-5, 7)
    with pytest.raises(Rejected, match=r"certificate\.length"):
        field.element([1, 2], "here")


def test_a_rational_number_for_a_root() -> None:
    """x - 3: alpha is 3."""
    assert Field((-3, 1), Fraction(3), Fraction(3), Work(0, 0)).degree == 1
    with pytest.raises(Rejected, match=r"field\.root"):
        Field((-3, 1), Fraction(-3), Fraction(-3), Work(0, 0))


def test_a_divisor_that_is_zero_in_disguise() -> None:
    root = number(FALSE, 0, 1)
    values = {"sqrt(2)": root}
    with pytest.raises(Rejected, match="division by zero"):
        evaluate(FALSE, "1/(sqrt(2)*sqrt(2)-2)", values)
    half = number(FALSE, 0, Fraction(1, 2))
    assert FALSE.sign(evaluate(FALSE, "1/sqrt(2)", {**values, "1/(sqrt(2))": half}) - half) == 0
    # x - 5 has no inverse modulo p, but it has one at alpha: 1/(sqrt 2 - 5) = -(sqrt 2 + 5)/23
    inverse = number(FALSE, Fraction(-5, 23), Fraction(-1, 23))
    assert FALSE.sign(evaluate(FALSE, "1/(sqrt(2)-5)", {**values, "1/((sqrt(2)-5))": inverse}) - inverse) == 0


def test_square_root_of_zero_and_of_squares() -> None:
    q = Field((0, 1), Fraction(0), Fraction(0), Work(0, 0))
    assert evaluate(q, "sqrt(0)", {"sqrt(0)": 0}) == 0
    assert evaluate(q, "sqrt(9/4)", {"sqrt(9/4)": Fraction(3, 2)}) == Fraction(3, 2)
    for wrong in (Fraction(-3, 2), Fraction(9, 4), Fraction(0)):
        with pytest.raises(Rejected, match=r"values\.wrong"):
            evaluate(q, "sqrt(9/4)", {"sqrt(9/4)": wrong})


def test_zero_in_a_field_of_high_degree_with_long_coefficients() -> None:
    """(x^2 - 2)(x^30 + ... ): Euclid over Q took minutes for it; the bound asks for more bits than there are, or tells
    at once.
    """
    for digits, known in ((3, True), (60, True), (600, False)):
        q = [1, *[(7 * i) % 10**digits + 10 ** (digits - 1) for i in range(1, 14)], 1]
        p = [0] * (len(q) + 2)
        for i, c in enumerate(q):
            p[i] -= 2 * c
            p[i + 2] += c
        field = Field(tuple(p), Fraction(14142, 10000), Fraction(14143, 10000), Work(0, 0))
        zero = Algebraic(field, (-2, 0, 1, *[0] * (field.degree - 3)))
        if known:
            assert field.sign(zero) == 0
        else:
            with pytest.raises(Rejected, match="8192 bits"):
                field.sign(zero)


@pytest.mark.parametrize("digits", [400, 4000])
def test_a_zero_test_has_a_bound_of_work(digits: int) -> None:
    """33 kB of a certificate held the kernel for 12 s, and more of it for days: degree 32, all coefficients as long as
    may be.
    """
    field = Field((-2, *[0] * 31, 1), Fraction(1), Fraction(2), Work(0, 0))
    long = Algebraic(field, tuple((-1) ** i * (10**digits + i * i) for i in range(32)))
    start = field.work.left
    assert field.sign(long) != 0
    assert start - field.work.left < 40_000


@given(st.lists(st.integers(-9, 9), min_size=1, max_size=6), st.integers(0, 3), st.data())
@examples(100)
def test_the_bound_of_a_value_that_is_not_zero(low: list[int], shift: int, data: st.DataObject) -> None:
    """Against sympy's resultant: zero is told of products with a factor that vanishes, and of nothing else."""
    import sympy

    x = sympy.Symbol("x")
    p = sympy.Poly([1, *low, -(10**shift)], x)
    roots = list(sympy.Poly(p, x).real_roots(multiple=True)) if p.is_sqf else []
    if not roots:
        return
    root = data.draw(st.sampled_from(roots))
    middle = Fraction(int(sympy.floor(root * 2**40)), 2**40)
    try:
        coefficients = tuple(int(c) for c in reversed(p.all_coeffs()))
        field = Field(coefficients, middle - Fraction(1, 2**30), middle + Fraction(1, 2**30), Work(0, 0))
    except Rejected:
        return
    n = field.degree
    if n == 1:
        return
    least = sympy.minimal_polynomial(root, x, polys=True)
    c = data.draw(st.lists(st.integers(-50, 50), min_size=n, max_size=n))
    f = sympy.Poly(list(reversed(c)), x)
    assert (field.sign(Algebraic(field, tuple(c))) == 0) == (sympy.rem(f, least) == 0)
    multiple = sympy.rem(least * f, p)
    low = [int(k) for k in reversed(multiple.all_coeffs())]
    assert field.sign(Algebraic(field, (*low, *[0] * (n - len(low))))) == 0


def test_a_value_of_the_polynomial_counts_as_work_by_its_bits() -> None:
    """The bound of SPECIFICATION §11: a value of b bits costs the degree, and that times (b / 8,192) squared."""
    work = Work(0, 0)
    field = Field((-2, 0, 1), Fraction(1), Fraction(2), work)
    for digits in (10, 3_000, 6_000):
        before, x = work.left, Fraction(3 * 10**digits + 1, 10**digits)
        value = x.numerator**2 - 2 * x.denominator**2
        assert field.value(x.numerator, x.denominator) == value
        assert before - work.left == 2 + 2 * (value.bit_length() // 8192) ** 2


@pytest.mark.parametrize(("degree", "units"), [(1, 1), (2, 6), (3, 10), (8, 32), (32, 224)])
@pytest.mark.parametrize(("bits", "times"), [(1, 1), (2_047, 1), (2_048, 2), (4_096, 5), (65_536, 1_025)])
def test_a_number_counts_as_work_by_its_degree_and_bits(degree: int, units: int, bits: int, times: int) -> None:
    """The bound of SPECIFICATION §11: three for each coefficient and an eighth of their square (one for a rational);
    and of long ones that times the square of their length in pieces of 2,048 bits.
    """
    work = Work(0, 0)
    field = Field((-2, *[0] * (degree - 1), 1), Fraction(1), Fraction(2), work)
    long = 1 << (bits - 1)
    number = Fraction(long) if degree == 1 else Algebraic(field, (long, *[1] * (degree - 1)))
    before = work.left
    field.limited(number)
    assert before - work.left == units * times


def test_an_enclosure_counts_as_work_by_its_degree_and_precision() -> None:
    """The bound of SPECIFICATION §11: for each coefficient one, and one more for each 256 bits of the precision."""
    work = Work(0, 0)
    field = Field((-2, 0, 1), Fraction(1), Fraction(2), work)
    for bits, units in ((128, 2), (256, 4), (2_048, 18), (8_192, 66)):
        field.enclosure(Algebraic(field, (0, 1)), bits)  # alpha itself is enclosed, once
        before = work.left
        low, high = field.enclosure(Algebraic(field, (0, 1)), bits)
        assert before - work.left == units
        assert low <= isqrt(2 << 2 * bits) <= high


def test_how_much_work_there_is() -> None:
    """SPECIFICATION §11: 10 for each byte of the certificate, at least 10,000,000; less 3 for two of the document."""
    assert Work(0, 0).left == Work(0, 1_000_000).left == 10_000_000
    assert Work(0, 2_000_000).left == 20_000_000
    assert Work(1_000, 2_000_000).left == 20_000_000 - 1_500


def test_all_the_work_may_be_done_and_no_more() -> None:
    work = Work(0, 0)
    work.spend(work.left)
    assert work.left == 0
    with pytest.raises(Rejected) as fault:
        work.spend(1)
    assert fault.value.code == "limit"
