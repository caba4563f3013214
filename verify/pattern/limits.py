"""Declared limits: past one the answer is `undecided`, never a hang."""

from __future__ import annotations

from dataclasses import dataclass


class LimitReached(Exception):
    """A declared limit was reached before an answer; it says nothing about the pattern.

    `limit` is its name, `allowed` its value, `found` what was met.
    """

    def __init__(self, limit: str, allowed: str, found: str) -> None:
        self.limit, self.allowed, self.found = limit, allowed, found
        super().__init__(f"the limit {limit} = {allowed} was reached: {found}")


@dataclass(frozen=True)
class Limits:
    """What the tool takes on before it answers `undecided`.

    `faces`: faces after subdivision. `lines`: drawn lines. `degree`: degree of the
    number field. `seconds`: time for the search of a layer order (None: as long as it takes).
    `orders`: how many layer orders are counted.
    """

    faces: int = 1_500
    lines: int = 5_000
    degree: int = 32
    seconds: float | None = None
    orders: int = 1_000_000
