"""Creases by their numbers, and which come in together."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from verify.cutting.hands import StraightCrease
from verify.words.findings import enumerated, plural

if TYPE_CHECKING:
    from verify.construct.steps.collapse import Stage  # slow to load


def crease_words(numbers: Sequence[int]) -> str:
    """Crease 3; creases 1 to 4 and 7."""
    return f"{plural('crease', len(numbers))} {enumerated(list(_ranges(numbers)))}"


def _ranges(numbers: Sequence[int]) -> Iterator[str]:
    """1, 4 to 7, 9."""
    run: list[int] = []
    for number in (*numbers, 0):
        if run and number != run[-1] + 1:
            yield from map(str, run) if len(run) < 3 else [f"{run[0]} to {run[-1]}"]
            run = []
        run.append(number)


def bring(stage: Stage, creases: Sequence[StraightCrease], part: tuple[str, str] = ("part of", "parts of")) -> str:
    """What hands do in a stage, by the numbers (from 1) of the creases; `part`: what a part of one is called, and what
    several are.
    """
    mine = set(stage.edges)
    whole: list[int] = []
    parts: list[int] = []
    for number, crease in enumerate(creases, start=1):
        shared = mine & set(crease.edges)
        if shared:
            (whole if shared == set(crease.edges) else parts).append(number)
    shown = [crease_words(whole)] if whole else []
    if parts:
        one, several = part
        shown.append(f"{one if len(parts) == 1 else several} {crease_words(parts)}")
    if len(whole) + len(parts) == 1:
        return f"Fold {shown[0]}."
    return f"Bring {', and '.join(shown)} in together."
