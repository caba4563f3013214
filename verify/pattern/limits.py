"""Declared limits: beyond one the answer is `undecided`, never a hang."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import inf
from time import monotonic

from verify.errors import CreaseproofError

Progress = Callable[[str], None]
"""What is told, in a few words, how far the work has come."""


def silent(message: str) -> None:
    """The progress that nobody asked for."""


class LimitReached(CreaseproofError):
    """A declared limit was reached before an answer; it says nothing about the pattern.

    `limit` is its name, `allowed` its value (empty where that is not one number), `found` what was met.
    """

    def __init__(self, limit: str, allowed: str, found: str) -> None:
        self.limit, self.allowed, self.found = limit, allowed, found
        value = f" = {allowed}" if allowed else ""
        super().__init__(f"the limit {limit}{value} was reached: {found}")


def positive(name: str, amount: float) -> float:
    """The amount, if it is a finite number above 0. Raises ValueError."""
    if not 0 < amount < inf:
        raise ValueError(f"{name}: found {amount}; expected a finite number above 0")
    return amount


@dataclass(frozen=True)
class Limits:
    """What the tool takes on before it answers `undecided`.

    `faces`: faces after subdivision. `lines`: drawn lines. `corners`: corners of all loops of the sheet, and of each
    loop of the target (the kernel takes no more). `overlaps`: pairs of faces that lie over each other, for a layer
    order (each takes some 140 bytes of memory). `degree`: degree of the number field, with the roots that a recipe's
    alignments need. `bits`: numerators and denominators of the coordinates of a recipe's paper, step by step, and the
    coefficients of their field's polynomial (a certificate carries up to 4,000 digits). `work`: exact arithmetic for a
    recipe, in products of machine words; the default took 10 to 40 seconds where measured. `seconds`: time for the
    search of a layer order, and for carrying out a recipe (None: as long as it takes, within the other limits).
    `orders`: how many layer orders of a part of the pattern are counted one by one. `assignments`: how many assignments
    that fold are counted one by one.
    """

    faces: int = 10_000
    lines: int = 40_000
    corners: int = 2_000
    overlaps: int = 25_000_000
    degree: int = 32
    bits: int = 13_000
    work: int = 40_000_000_000
    seconds: float | None = None
    orders: int = 1_000_000_000
    assignments: int = 200_000

    def __post_init__(self) -> None:
        if self.seconds is not None:
            positive("seconds", self.seconds)


class Clock:
    """Runs from when it is made; called later than `seconds` from then (None: never) it raises `LimitReached`, with
    what is `unfinished`.
    """

    def __init__(self, seconds: float | None, unfinished: str) -> None:
        self.seconds, self.unfinished = seconds, unfinished
        self.end = None if seconds is None else monotonic() + seconds

    @property
    def left(self) -> float | None:
        """The seconds that are left, at least 0; None without a limit."""
        return None if self.end is None else max(0.0, self.end - monotonic())

    def stop(self) -> None:
        """Leave no time."""
        self.end = monotonic()

    def within(self, limits: Limits) -> Limits:
        """The limits, with the seconds that are left; `LimitReached` if none are."""
        return replace(limits, seconds=self.some_left())

    def __call__(self) -> None:
        self.some_left()

    def some_left(self) -> float | None:
        """The seconds that are left; `LimitReached` if none are."""
        left = self.left
        if left == 0:
            raise LimitReached("seconds", f"{self.seconds:g}", self.unfinished)
        return left
