"""A bound on the effort of exact arithmetic, which ends it when its numbers grow without end.

The cost of exact numbers is not seen in a program's text: one division in a field of degree 16 whose polynomial has
long coefficients takes minutes. So arithmetic books what it is about to do, and code that must end runs inside
`bounded`. Work is counted, roughly, in products of two 30-bit words, by the lengths of the numbers: the same on every
computer. Outside `bounded` nothing is counted and nothing stops.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from time import monotonic
from typing import Literal

from verify.errors import CreaseproofError

ANY_WORK = 1 << 80  # more than any computer does: for a bound by seconds alone
_WORD = 30
_KARATSUBA = 70  # words from which the interpreter multiplies by halves
_CALL = 60  # what one operation of the interpreter costs, in products of words


class EffortSpent(CreaseproofError):
    """The `limit`, work or time, is used up, as much as was `allowed`; it says nothing about the numbers."""

    def __init__(self, limit: Literal["work", "seconds"], allowed: str) -> None:
        self.limit, self.allowed = limit, allowed
        super().__init__(f"exact arithmetic was stopped at {limit} = {allowed}")


class _Effort:
    def __init__(self, work: int, seconds: float | None) -> None:
        self.allowed, self.left, self.seconds = work, work, seconds
        self.end = None if seconds is None else monotonic() + seconds

    def spend(self, work: int) -> None:
        self.left -= work
        if self.left < 0:
            raise EffortSpent("work", f"{self.allowed:,}")
        if self.end is not None and self.seconds is not None and monotonic() > self.end:
            raise EffortSpent("seconds", f"{self.seconds:g}")


_effort: ContextVar[_Effort | None] = ContextVar("effort", default=None)


@contextmanager
def bounded(work: int, seconds: float | None = None) -> Iterator[None]:
    """Stop exact arithmetic with `EffortSpent` after so much work or time; inside another bound, that one holds."""
    if _effort.get() is not None:
        yield
        return
    token = _effort.set(_Effort(work, seconds))
    try:
        yield
    finally:
        _effort.reset(token)


def spend(work: int) -> None:
    """Book work that is about to be done; raises `EffortSpent` where it is too much."""
    effort = _effort.get()
    if effort is not None:
        effort.spend(work)


def products(count: int, bits: int, other: int) -> int:
    """The work of so many products of integers of two sizes; of long ones by Karatsuba, as the interpreter does it."""
    short, long = sorted((bits // _WORD + 1, other // _WORD + 1))
    pieces = -(-long // short)
    while short > _KARATSUBA:
        short, pieces = (short + 1) // 2, 3 * pieces
    return count * (_CALL + pieces * short * short)


def divisions(count: int, bits: int) -> int:
    """The work of so many divisions by an integer of half the size, by the schoolbook as the interpreter does it."""
    words = bits // _WORD + 1
    return count * (_CALL + words * words // 4)
