"""The grammar: every rejection is pinned to its place and its reason."""

from __future__ import annotations

import pickle
import traceback
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from verify.exact.expression import (
    DegreeLimit,
    ExpressionError,
    NumberLimitReached,
    NumberLimits,
    SizeLimit,
    Trigonometric,
    parse,
)

REJECTED = [
    ("", 0, "the end", "a number"),
    ("   ", 3, "the end", "a number"),
    ("__import__('os')", 0, '"_"', "a number"),
    ("1 + * 2", 4, '"*"', "a number"),
    ("2 + foo(1)", 4, '"foo"', "a function (sqrt, cos, sin, tan)"),
    ("1/0", 2, "which is 0", "a divisor other than 0"),
    ("3/(1 - 1)", 2, "which is 0", "a divisor other than 0"),
    ("sqrt(-1)", 5, "which is below 0", "not negative"),
    ("sqrt", 4, "the end", '"("'),
    ("sqrt 4", 5, '"4"', '"("'),
    ("1..2", 2, '"."', "a digit"),
    ("1.", 2, "the end", "a digit"),
    (".5", 0, '"."', "a number"),
    ("1e", 2, "the end", "a digit"),
    ("1e+", 3, "the end", "a digit"),
    ("1e999999", 0, "1e999999", "an exponent between -1000 and 1000"),
    ("1e-1001", 0, "1e-1001", "an exponent between"),
    ("pi", 0, '"pi"', "pi stands only inside"),
    ("2*pi", 2, '"pi"', "pi stands only inside"),
    ("cos(1)", 4, '"1"', "a rational multiple of pi"),
    ("cos(pi+1)", 4, '"pi+1"', "a rational multiple of pi"),
    ("cos(sqrt(2)*pi)", 4, '"sqrt"', "a rational multiple of pi"),
    ("cos(pi*pi)", 4, '"pi*pi"', "a rational multiple of pi"),
    ("cos(1/pi)", 6, '"pi"', "a rational divisor"),
    ("cos(pi/0)", 7, '"0"', "a rational divisor other than 0"),
    ("tan(pi/2)", 0, "tan(pi/2)", "an angle that has a tangent"),
    ("tan(-7*pi/2)", 0, "tan", "an angle that has a tangent"),
    ("cos(pi/1001)", 4, "1/1001", "a denominator of at most 1000"),
    ("(1", 2, "the end", '")"'),
    ("1)", 1, '")"', "an operator"),
    ("1 2 x", 4, '"x"', "an operator"),
    ("2(3)", 1, '"("', "an operator"),
    ("2**3", 2, '"*"', "a number"),
    ("2^3", 1, '"^"', "an operator"),
    ("1_000", 1, '"_"', "an operator"),
    ("\u0663", 0, "\u0663", "a number"),
    ("1\u00a0", 1, '"\u00a0"', "an operator"),
    ("nan", 0, '"nan"', "a number"),
    ("inf", 0, '"inf"', "a number"),
    ("0x10", 1, '"x"', "an operator"),
    ("9" * 1001, 0, "a number of 1001 digits", "at most 1000 digits"),
    ("9" * 10**6, 4000, "1000000 characters", "at most 4000"),
    ("(" * 51 + "1" + ")" * 51, 50, "parentheses nested 51 deep", "at most 50"),
    ("sqrt(" * 51 + "1" + ")" * 51, 254, "parentheses nested 51 deep", "at most 50"),
    ("(" * 2000 + "1" + ")" * 2000, 4000, "4001 characters", "at most 4000"),
]


@pytest.mark.parametrize(("text", "position", "found", "expected"), REJECTED, ids=[r[0][:20] for r in REJECTED])
def test_rejected(text: str, position: int, found: str, expected: str) -> None:
    with pytest.raises(ExpressionError) as caught:
        parse(text)
    error = caught.value
    assert error.text == text
    assert error.position == position
    assert found in error.found
    assert expected in error.expected
    assert str(error) == f"at character {position + 1}: found {error.found}, expected {error.expected}"
    assert len(str(error)) < 300
    assert len(traceback.extract_tb(error.__traceback__)) == 2  # clusters pickle it too, whatever the depth
    again = pickle.loads(pickle.dumps(error))
    assert str(again) == str(error)
    assert again.position == position


ACCEPTED = [
    ("0.1", Fraction(1, 10)),
    ("007", Fraction(7)),
    ("1e3", Fraction(1000)),
    ("1.25E-2", Fraction(1, 80)),
    ("-2", Fraction(-2)),
    ("--2", Fraction(2)),
    ("+-+2", Fraction(-2)),
    ("2*-3", Fraction(-6)),
    ("-2/-4", Fraction(1, 2)),
    ("1-2-3", Fraction(-4)),
    ("8/4/2", Fraction(1)),
    ("2+3*4", Fraction(14)),
    (" ( 1 +\t2 )\n* 3 ", Fraction(9)),
    ("1 2", Fraction(12)),
    ("(" * 50 + "1" + ")" * 50, Fraction(1)),
    ("9" * 1000, Fraction(10**1000 - 1)),
    ("1e1000", Fraction(10**1000)),
    ("-" * 3999 + "1", Fraction(-1)),
    ("+".join(["1"] * 2000), Fraction(2000)),
]


@pytest.mark.parametrize(("text", "value"), ACCEPTED, ids=[a[0][:20] for a in ACCEPTED])
def test_rational_texts(text: str, value: Fraction) -> None:
    tree = parse(text)
    assert tree.rational == value
    assert tree.text == "".join(text.split())


@pytest.mark.parametrize(
    ("text", "turn"),
    [
        ("cos(pi)", Fraction(1)),
        ("cos(2*pi/5)", Fraction(2, 5)),
        ("sin(pi*(1/2-1/3))", Fraction(1, 6)),
        ("tan(-pi/8)", Fraction(-1, 8)),
        ("cos(0)", Fraction(0)),
        ("cos(1-1+pi)", Fraction(1)),
        ("cos((pi+1)*2-2)", Fraction(2)),
        ("cos(0*pi*pi)", Fraction(0)),
        ("cos(pi/1000)", Fraction(1, 1000)),
        ("cos(0.4*pi)", Fraction(2, 5)),
    ],
)
def test_angles(text: str, turn: Fraction) -> None:
    tree = parse(text)
    assert isinstance(tree, Trigonometric)
    assert tree.turn == turn


@given(st.text(alphabet="0123456789.eE+-*/()sqrtcoinpa_ \t\n", max_size=40))
def test_any_text_is_read_or_refused_in_words(text: str) -> None:
    refusal: ExpressionError | None = None
    try:
        tree = parse(text)
    except ExpressionError as error:
        refusal = error
    except NumberLimitReached:
        return
    if refusal is None:
        assert tree.text == "".join(c for c in text if c not in " \t\n")
    else:
        assert 0 <= refusal.position <= len(text)
        assert refusal.found
        assert refusal.expected


@given(
    st.recursive(
        st.integers(0, 99).map(str),
        lambda s: st.tuples(s, st.sampled_from("+-*"), s).map(lambda t: f"({t[0]}{t[1]}{t[2]})"),
        max_leaves=12,
    )
)
def test_integer_arithmetic_agrees_with_a_stack_machine(text: str) -> None:
    values: list[int | str] = []
    number = ""
    for character in text + " ":
        if character.isdigit():
            number += character
            continue
        if number:
            values.append(int(number))
            number = ""
        if character == ")":
            right, operator, left = values.pop(), values.pop(), values.pop()
            assert isinstance(left, int)
            assert isinstance(right, int)
            values.append({"+": left + right, "-": left - right, "*": left * right}[str(operator)])
        elif character in "+-*":
            values.append(character)
    assert parse(text).rational == values[0]


def test_declared_limits_are_parameters() -> None:
    with pytest.raises(ExpressionError, match="at most 3 digits"):
        parse("1234", NumberLimits(digits=3))
    with pytest.raises(ExpressionError, match="at most 2"):
        parse("(((1)))", NumberLimits(depth=2))
    with pytest.raises(SizeLimit, match="more than 100 bits"):
        parse("1e20*1e20", NumberLimits(bits=100))
    assert NumberLimits() == NumberLimits(1000, 4000, 50, 1000, 1000, 32, 20_000)


def test_a_product_of_a_thousand_large_factors_stops_at_the_size_limit() -> None:
    with pytest.raises(SizeLimit):
        parse("*".join(["1e1000"] * 500))


def test_limits_travel() -> None:
    error = pickle.loads(pickle.dumps(DegreeLimit("sqrt(2)", 64, 32)))
    assert (error.expression, error.degree, error.limit) == ("sqrt(2)", 64, 32)
    assert "64" in str(error)
    assert not isinstance(error, ValueError)
