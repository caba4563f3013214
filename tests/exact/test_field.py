"""One field for all numbers, against sympy's minimal polynomials, mpmath by containment, and known values."""

from __future__ import annotations

import subprocess
import sys
from fractions import Fraction

import mpmath
import pytest
import sympy
from hypothesis import given
from hypothesis import strategies as st

from tests.places import ROOT
from tests.profiles import examples, some
from verify.exact import cyclotomic, polynomial
from verify.exact.algebraic import generator
from verify.exact.expression import (
    DegreeLimit,
    Expression,
    ExpressionError,
    Literal,
    NumberLimits,
    Product,
    SizeLimit,
    SquareRoot,
    Sum,
    Trigonometric,
    parse,
)
from verify.exact.field import NumbersRead, read_numbers
from verify.exact.number import Number
from verify.exact.numberfield import RATIONALS

X = sympy.Symbol("x")


def outside(text: str) -> sympy.Expr:
    """The same number as a sympy expression, node by node: sympy computes, the tree only says what."""
    return as_sympy(parse(text))


def as_sympy(node: Expression) -> sympy.Expr:
    if isinstance(node, Literal) and node.rational is not None:
        return sympy.Rational(node.rational.numerator, node.rational.denominator)
    if isinstance(node, Sum):
        return sympy.Add(*[as_sympy(term) * (1 if sign == "+" else -1) for sign, term in node.terms])
    if isinstance(node, Product):
        return sympy.Mul(*[as_sympy(factor) ** (1 if operator == "*" else -1) for operator, factor in node.factors])
    if isinstance(node, SquareRoot):
        return sympy.sqrt(as_sympy(node.argument))
    if isinstance(node, Trigonometric):
        angle = sympy.pi * sympy.Rational(node.turn.numerator, node.turn.denominator)
        return {"cos": sympy.cos, "sin": sympy.sin, "tan": sympy.tan}[node.function](angle)
    raise TypeError(node)


def contains(number: Number, text: str, digits: int = 60) -> bool:
    """Whether tight enclosures of the number contain the outside value with that many digits."""
    low, high = number.enclosure(4 * digits)
    with mpmath.workdps(digits + 20):
        value = sympy.N(outside(text), digits + 20)
        error = Fraction(1, 10**digits)
        exact = Fraction(str(value))
    return low - error <= exact <= high + error


READINGS = [
    (["1/3", "0.1", "-2"], 1),
    (["sqrt(4)", "sqrt(9/16)"], 1),
    (["cos(pi/3)", "sin(pi/6)", "tan(pi/4)", "cos(pi)", "sin(pi/2)", "tan(pi)"], 1),
    (["sqrt(8)", "sqrt(2)", "sqrt(1/2)"], 2),
    (["sqrt(5)", "cos(pi/5)", "cos(2*pi/5)"], 2),
    (["tan(pi/8)", "sqrt(2)", "tan(3*pi/8)", "cos(pi/4)"], 2),
    (["tan(pi/12)", "tan(pi/3)", "sin(pi/3)", "cos(pi/6)"], 2),
    (["sqrt(3+2*sqrt(2))"], 2),
    (["cos(pi/7)"], 3),
    (["cos(pi/9)", "cos(2*pi/9)", "cos(4*pi/9)"], 3),
    (["sqrt(10-2*sqrt(5))"], 4),
    (["sin(pi/5)", "sqrt(5-2*sqrt(5))", "sqrt(10-2*sqrt(5))", "tan(pi/5)", "sqrt(5)"], 4),
    (["sqrt(2)", "sqrt(3)", "sqrt(6)", "sqrt(5+2*sqrt(6))", "cos(pi/12)"], 4),
    (["sqrt(2)", "sqrt(3+2*sqrt(2))", "sqrt(1+sqrt(2))"], 4),
    (["cos(pi/4)", "cos(pi/5)", "sqrt(10)"], 4),
    (["sqrt(2+sqrt(2))", "cos(pi/8)", "sin(pi/8)"], 4),
    (["sqrt(2+sqrt(2))", "sqrt(2-sqrt(2))"], 4),
    (["sqrt(sqrt(2))", "sqrt(8*sqrt(2))"], 4),
    (["cos(pi/7)", "sin(pi/7)", "tan(2*pi/7)"], 6),
    (["cos(pi/7)", "sqrt(2)"], 6),
    (["sqrt(2)", "sqrt(3)", "sqrt(5)", "sqrt(30)", "1/(sqrt(2)+sqrt(3)+sqrt(5))"], 8),
    (["sqrt(2+sqrt(2))", "sqrt(2+sqrt(3))"], 8),
    (["sqrt((1+sqrt(5))/2)", "sqrt(2+2*sqrt(5))", "sqrt(5)"], 4),
    (["cos(pi/7)", "cos(pi/9)"], 9),
    (["cos(pi/7)", "cos(pi/9)", "sqrt(21)"], 18),
    (["cos(pi/7)", "cos(pi/4)", "cos(pi/5)"], 12),
    (["cos(pi/11)", "tan(pi/5)", "sqrt(5)"], 20),
    (["cos(pi/7)", "cos(pi/9)", "sqrt(2+2*cos(pi/9))"], 18),
    (["cos(pi/16)", "sqrt(2+sqrt(2))", "sqrt(2+sqrt(2+sqrt(2)))"], 8),
    (["cos(pi/60)", "sqrt(3)", "sqrt(5)", "sqrt(15)", "sqrt(2-2*cos(pi/30))"], 16),
]


@pytest.mark.parametrize(("texts", "degree"), READINGS, ids=[",".join(t)[:50] for t, _ in READINGS])
def test_degree_values_and_root(texts: list[str], degree: int) -> None:
    reading = read_numbers(texts)
    field = reading.field
    assert field.degree == degree == len(field.polynomial) - 1
    assert list(reading.numbers) == texts
    for text, number in reading.numbers.items():
        assert contains(number, text), text
    if degree == 1:
        assert field is RATIONALS
        assert field.polynomial == (0, 1)
        assert field.root == (0, 0)
        return
    assert sympy.Poly(field.polynomial[::-1], X).is_irreducible
    assert field.polynomial[-1] == 1
    assert polynomial.isolates(field.polynomial, field.root)
    assert contains(generator(field), field.name)
    for key, value in reading.values.items():
        assert value.field is field
        assert contains(value, key), key
    # the field's name reads back to alpha
    assert read_numbers([field.name]).numbers[field.name] == generator(field)


@pytest.mark.parametrize("text", some([t for texts, _ in READINGS for t in texts], of=2))
def test_a_number_is_the_same_in_a_larger_field_and_no_other(text: str) -> None:
    number = read_numbers([text]).numbers[text]
    if number.field.degree > 8:
        pytest.skip("takes long")
    nearly = f"({text})+1e-40"
    larger = read_numbers([text, nearly, "sqrt(101)"]).numbers
    assert number.is_rational or larger[text].field != number.field
    assert (number == larger[text], number < larger[text], number > larger[text]) == (True, False, False)
    assert (number == larger[nearly], number < larger[nearly], larger[nearly] > number) == (False, True, True)


def test_known_values() -> None:
    reading = read_numbers(["cos(pi/5)", "sqrt(5)", "sin(pi/5)", "sqrt(5-2*sqrt(5))", "tan(pi/5)"])
    n = reading.numbers
    assert n["cos(pi/5)"] == (1 + n["sqrt(5)"]) / 4
    s = n["sin(pi/5)"]
    assert 16 * s * s * s * s - 20 * s * s + 5 == 0
    assert s > 0
    assert n["sqrt(5-2*sqrt(5))"] == n["tan(pi/5)"]
    assert n["tan(pi/5)"].decimal(16) == "0.7265425280053609"
    assert float(n["tan(pi/5)"]) == 0.7265425280053609
    c = read_numbers(["cos(pi/7)"]).numbers["cos(pi/7)"]
    assert 8 * c * c * c - 4 * c * c - 4 * c + 1 == 0
    assert Fraction(9, 10) < c < Fraction(91, 100)


def test_the_root_is_never_a_conjugate() -> None:
    texts = [f"cos({p}*pi/11)" for p in range(23)] + [f"tan({p}*pi/5)" for p in range(11)] + ["sqrt(14-6*sqrt(5))"]
    reading = read_numbers(texts)
    for text, number in reading.numbers.items():
        assert contains(number, text)


WITNESSES = [
    (["1/3"], []),
    (["sqrt(4)", "sqrt(0)"], ["sqrt(0)", "sqrt(4)"]),
    (["sqrt( 10 - 2*sqrt(5) )"], ["sqrt(10-2*sqrt(5))", "sqrt(5)"]),
    (["cos(3*pi/5)", "cos(pi/3)", "cos(pi/2)", "cos(5*pi)"], ["cos(pi/5)"]),
    (["sin(pi/5)"], ["cos(pi/10)"]),
    (["sin(pi/6)", "sin(pi/3)"], ["cos(pi/6)"]),
    (["tan(pi/8)"], ["1/(1+cos(pi*1/4))", "cos(pi/4)"]),
    (["tan(3*pi/8)"], ["1/(1+cos(pi*3/4))", "cos(pi/4)"]),
    (["tan(-pi/8)"], ["1/(1+cos(pi*7/4))", "cos(pi/4)"]),
    (["tan(pi/4)", "tan(3*pi/4)", "tan(2*pi)"], []),
    (["1/sqrt(2)"], ["1/(sqrt(2))", "sqrt(2)"]),
    (["1/-sqrt(2)"], ["1/(-sqrt(2))", "sqrt(2)"]),
    (["1/(1+sqrt(2))"], ["1/((1+sqrt(2)))", "sqrt(2)"]),
    (["1/(sqrt(2)*sqrt(2))", "1/sqrt(4)", "sqrt(2)/3"], ["sqrt(2)", "sqrt(4)"]),
    (["sqrt(1/(1+sqrt(2)))"], ["1/((1+sqrt(2)))", "sqrt(1/(1+sqrt(2)))", "sqrt(2)"]),
]


@pytest.mark.parametrize(("texts", "keys"), WITNESSES, ids=[",".join(t) for t, _ in WITNESSES])
def test_witnesses_are_exactly_those_of_the_specification(texts: list[str], keys: list[str]) -> None:
    reading = read_numbers(texts)
    assert sorted(reading.values) == sorted(keys)
    check_witnesses(reading)


def check_witnesses(reading: NumbersRead) -> None:
    """Each witness by its defining equation and sign, as a checker does."""
    for key, s in reading.values.items():
        if key.startswith("sqrt("):
            inside = key[5:-1]
            together = read_numbers([inside, key]).numbers
            assert together[key] == s
            assert together[key] * together[key] == together[inside]
            assert s >= 0
        elif key.startswith("1/("):
            inside = key[3:-1]
            together = read_numbers([inside, key]).numbers
            assert together[key] == s
            assert together[key] * together[inside] == 1
        elif key.startswith("cos(pi/"):
            q = int(key[7:-1])
            before, now, u_before, u = Number.of(1), s, Number.of(1), 2 * s
            for _ in range(1, q):
                assert u_before > 0
                before, now = now, 2 * s * now - before
                u_before, u = u, 2 * s * u - u_before
            assert now == -1


@pytest.mark.parametrize("q", [4, 5, 6, 7, 8, 9, 10, 12, 15, 16, 20, 24, 30])
def test_cosines_are_verified_by_chebyshev(q: int) -> None:
    reading = read_numbers([f"cos(pi/{q})"])
    assert reading.field.degree == cyclotomic.totient(2 * q) // 2
    check_witnesses(reading)


@pytest.mark.parametrize("q", [3, 5, 6, 7, 8, 9, 10, 12, 16, 20, 24])
def test_tangents_are_verified_by_powers(q: int) -> None:
    text = f"tan(pi/{q})"
    reading = read_numbers([text])
    t = reading.numbers[text]
    assert reading.field.degree == sympy.minimal_polynomial(sympy.tan(sympy.pi / q), X, polys=True).degree()
    real, imaginary = Number.of(1), Number.of(0)
    for k in range(1, q + 1):
        real, imaginary = real - imaginary * t, imaginary + real * t
        assert imaginary > 0 if k < q else imaginary == 0
    assert real < 0


@examples(40)
@given(
    st.lists(
        st.tuples(st.integers(-6, 6), st.integers(-6, 6), st.integers(-6, 6), st.sampled_from([2, 3, 5, 8, 12])),
        min_size=1,
        max_size=2,
    )
)
def test_nested_roots_square_back(parts: list[tuple[int, int, int, int]]) -> None:
    texts, radicands = [], []
    for a, b, c, f in parts:
        inner = f"{a}+{b}*sqrt({f})+{c}*{c}"
        radicands.append(inner)
        texts.append(f"sqrt({inner})")
    if any(sympy.N(outside(r), 30, chop=True) < 0 for r in radicands):
        with pytest.raises(ExpressionError, match="below 0"):
            read_numbers(texts + radicands)
        return
    reading = read_numbers(texts + radicands)
    for text, radicand in zip(texts, radicands, strict=True):
        s = reading.numbers[text]
        assert s * s == reading.numbers[radicand]
        assert s >= 0
        assert contains(s, text, 40)
    if reading.field.degree > 1:
        assert sympy.Poly(reading.field.polynomial[::-1], X).is_irreducible


@examples(60)
@given(st.integers(1, 60), st.integers(1, 60), st.integers(1, 60))
def test_three_roots_span_the_degree_that_square_classes_say(a: int, b: int, c: int) -> None:
    # the degree is the number of different square classes that products of a, b, c reach
    classes = {1}
    for n in (a, b, c):
        classes |= {polynomial.square_part(m * n)[1] for m in classes}
    reading = read_numbers([f"sqrt({n})" for n in (a, b, c)])
    assert reading.field.degree == len(classes)


def test_comparisons_agree_with_sympy() -> None:
    texts = [
        "sqrt(2)+sqrt(3)",
        "sqrt(10)",
        "sqrt(5)+1",
        "3.146264369941972",
        "sqrt(2)-2",
        "2*sqrt(3)-sqrt(10)/10",
        "22/7",
    ]
    numbers = read_numbers(texts).numbers
    for a in texts:
        for b in texts:
            difference = sympy.N(outside(a) - outside(b), 60, chop=True)
            assert (numbers[a] < numbers[b]) == bool(difference < 0)
            assert (numbers[a] == numbers[b]) == (a == b)


@pytest.mark.parametrize(
    ("text", "position", "found"),
    [
        ("1/(sqrt(2)-sqrt(2))", 2, "which is 0"),
        ("3 / ( sqrt(8) - 2*sqrt(2) )", 4, "which is 0"),
        ("1/(cos(pi/5)-(1+sqrt(5))/4)", 2, "which is 0"),
        ("1 + sqrt(1-sqrt(2))", 9, "which is below 0"),
        ("sqrt(sqrt(2)+sqrt(3)-sqrt(10))", 5, "which is below 0"),
        ("1/cos(pi/2)", 2, "which is 0"),
        ("1/tan(pi)", 2, "which is 0"),
    ],
)
def test_numbers_that_do_not_exist(text: str, position: int, found: str) -> None:
    with pytest.raises(ExpressionError) as caught:
        read_numbers(["1", text])
    assert caught.value.text == text
    assert caught.value.position == position
    assert found in caught.value.found


def test_degree_limit() -> None:
    assert read_numbers(["sqrt(2)", "sqrt(3)", "sqrt(5)", "sqrt(7)", "sqrt(11)"]).field.degree == 32
    with pytest.raises(DegreeLimit) as caught:
        read_numbers(["sqrt(2)", "sqrt(3)", "sqrt(5)", "sqrt(7)", "sqrt(11)", "sqrt(13)"])
    assert (caught.value.expression, caught.value.degree, caught.value.limit) == ("sqrt(13)", 64, 32)
    with pytest.raises(DegreeLimit) as caught:
        read_numbers(["cos(pi/1000)"])
    assert caught.value.degree == 400
    with pytest.raises(DegreeLimit):
        read_numbers(["cos(pi/7)", "cos(pi/9)", "cos(pi/11)"])
    with pytest.raises(DegreeLimit):
        read_numbers(["sqrt(2)", "sqrt(3)"], NumberLimits(degree=3))
    # roots that are in the field already cost nothing
    assert read_numbers(["sqrt(2)", "sqrt(18)", "sqrt(3+2*sqrt(2))"], NumberLimits(degree=2)).field.degree == 2


def test_size_limit() -> None:
    with pytest.raises(SizeLimit):
        read_numbers(["*".join(["(sqrt(2)+1e900)"] * 100)])


def test_hostile_but_legal_numbers_finish() -> None:
    long = "1" + "0" * 900 + "7"
    reading = read_numbers([f"sqrt({long})", f"sqrt(1/{long})", "sqrt(3)"])
    root = reading.numbers[f"sqrt({long})"]
    assert root * root == 10**901 + 7
    assert reading.numbers[f"sqrt(1/{long})"] * root == 1
    assert reading.field.degree == 4


@pytest.mark.parametrize("bits", [16, 32, 48, 100])
def test_approximate_cosines_are_nearer_than_asked_for(bits: int) -> None:
    with mpmath.workdps(60):
        for q in range(1, 30):
            for p in range(-q, 2 * q + 1):
                found = cyclotomic.approximate_cosine(Fraction(p, q), bits)
                off = mpmath.mpf(found.numerator) / found.denominator - mpmath.cos(mpmath.pi * p / q)
                assert abs(off) < mpmath.mpf(2) ** -(bits + 16)


def test_reading_rationals_imports_nothing_large() -> None:
    program = (
        "import sys; import verify.exact; from verify.exact.field import read_numbers;"
        "read_numbers(['1/3', '0.5']); read_numbers(['sqrt(2)', 'cos(pi/5)']);"
        "sys.exit(any(m in sys.modules for m in ('sympy', 'mpmath')))"
    )
    assert subprocess.run([sys.executable, "-c", program], check=False, cwd=ROOT).returncode == 0


@pytest.mark.parametrize("angle", ["pi/7", "pi/9", "pi/10", "pi/15", "pi/16"])  # fields of degree 3, 3, 4, 4, 8
def test_the_root_of_a_square_is_in_its_field(angle: str) -> None:
    """The values against mpmath; sqrt(17) and such, here as factors, are in none of these fields."""
    root = f"5/3 - 7*cos({angle}) + 11/20*cos({angle})*cos({angle})"
    field = read_numbers([f"cos({angle})"]).field
    inside, outside_ = f"sqrt(({root})*({root}))", f"sqrt(17*({root})*({root}))"
    reading = read_numbers([f"cos({angle})", inside])
    assert reading.field == field
    value = abs(mpmath.mpf(sympy.N(outside(root), 30)))
    assert abs(mpmath.mpf(float(reading.numbers[inside])) - value) < 1e-12
    assert read_numbers([f"cos({angle})", outside_]).field.degree == 2 * field.degree


def test_a_root_in_a_small_field_loads_no_sympy() -> None:
    program = (
        "import sys; from verify.exact.field import read_numbers;"
        "assert read_numbers(['cos(pi/10)', 'sqrt(96000 - 102400*cos(pi/10)*cos(pi/10))']).field.degree == 4;"
        "sys.exit('sympy' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", program], check=False, cwd=ROOT).returncode == 0
