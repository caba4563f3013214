"""How numbers are written in a certificate."""

from __future__ import annotations

from fractions import Fraction

import pytest

from verify.certificate.evidence import DIGITS, _rational
from verify.kernel.numbers import DIGITS as READ
from verify.pattern.limits import LimitReached


@pytest.mark.parametrize("sign", [1, -1])
def test_whole_numbers_are_json_numbers_as_far_as_all_readers_keep_them(sign: int) -> None:
    """RFC 7493 (I-JSON), 2.2: whole numbers from -(2^53) + 1 to 2^53 - 1. From memory."""
    assert _rational(Fraction(sign * (2**53 - 1))) == sign * (2**53 - 1)
    assert _rational(Fraction(sign * 2**53)) == str(sign * 2**53)
    assert _rational(Fraction(sign, 3)) == f"{sign}/3"


def test_numbers_are_as_long_as_the_kernel_reads_them() -> None:
    assert DIGITS == READ
    greatest = 10**DIGITS - 1
    assert _rational(Fraction(greatest, 2)) == f"{greatest}/2"
    for value in (Fraction(-(10**DIGITS)), Fraction(1, 10**DIGITS)):
        with pytest.raises(LimitReached, match="digits"):
            _rational(value)
