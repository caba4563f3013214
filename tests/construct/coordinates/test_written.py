"""Exact numbers written shortly, read back as the same numbers."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.profiles import examples
from verify.construct.coordinates.written import exact_text
from verify.exact.field import read_numbers
from verify.exact.number_text import rational_text

PARTS = {
    "2": ["sqrt(2)", "tan(pi/8)"],
    "3": ["sqrt(3)", "tan(pi/12)"],
    "5": ["tan(pi/10)", "tan(pi/5)"],
    "both": ["sqrt(2)", "sqrt(3)"],
}


@examples(30)
@given(st.sampled_from(sorted(PARTS)), st.tuples(*[st.fractions(min_value=-99, max_value=99, max_denominator=40)] * 3))
def test_what_is_written_reads_as_the_number(kind: str, factors: tuple[Fraction, Fraction, Fraction]) -> None:
    first, second = PARTS[kind]
    text = f"({factors[0]})+({factors[1]})*{first}+({factors[2]})*{first}*{second}"
    reading = read_numbers([text, first, second])
    number = reading.numbers[text]
    written = exact_text(number)
    assert read_numbers([written, first, second]).numbers[written] == number
    assert len(written) <= len(number.text()) or number.is_rational


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (Fraction(0), "0"),
        (Fraction(-7), "-7"),
        (Fraction(1, 2), "0.5"),
        (Fraction(-741, 10), "-74.1"),
        (Fraction(100, 3), "100/3"),
        (Fraction(-1, 1000), "-0.001"),
        (Fraction(1, 10**9), "1/1000000000"),
    ],
)
def test_rational_numbers(value: Fraction, text: str) -> None:
    assert rational_text(value) == text


@pytest.mark.parametrize("text", ["105*tan(pi/10)", "-80*sin(pi/5)", "80*cos(pi/10)", "-20+20*sqrt(5)"])
def test_multiples_of_what_people_write(text: str) -> None:
    reading = read_numbers([text, "tan(pi/10)"])
    assert exact_text(reading.numbers[text]) == text
