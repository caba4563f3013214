"""Straight-edged letterforms A–Z and 0–9, our own design, as targets of crease patterns.

Letters stand on y = 0, are 60 units high (`HEIGHT`) and have strokes of 12; x grows to the right. Outer
outlines run counter-clockwise, counters clockwise, with whole or half-whole coordinates. Each letter is one piece.

Edges run along the axes where the letter allows it; slanted ones have direction 3-4-5 or 5-12-13. So every edge has a
*rational* length, every bisector of two edges a rational direction, and a letter's straight skeleton with its
perpendiculars lies in Q: an edge at 45° would take it to Q(√2). A 3-4-5 stroke is exactly 12 wide where it measures 15
across, a 5-12-13 stroke where it measures 13; hence the stroke of 12.

Corners are square unless that would leave two forms alike: D, O and Q have cut corners (0 is narrow and square), B is
nicked at its right side and 8 at both (they are 7.2 wide there), the middle of S is slanted and that of 5 is not. The
fewer edges, the fewer folds. The outlines stand in `forms.toml`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType

from verify.construct.letterforms.families import Rational, drawn, read_exact, stored
from verify.pattern.document import Document

Loop = tuple[tuple[Rational, Rational], ...]

HEIGHT = 60
SPACING = 12
MARGIN = 30

LETTERS: Mapping[str, tuple[Loop, ...]] = MappingProxyType(
    {
        letter: tuple(tuple((read_exact(x), read_exact(y)) for x, y in loop) for loop in loops)
        for letter, loops in stored()["plain"].items()
    }
)


def outline(letter: str) -> tuple[Loop, ...]:
    """The closed outlines of a letter or digit, in units: the outer one counter-clockwise, then counters clockwise.

    Lower case is taken as upper case. Raises `ValueError` naming what is neither A–Z nor 0–9.

    >>> outline("i")
    (((0, 0), (12, 0), (12, 60), (0, 60)),)
    """
    found = LETTERS.get(letter.upper()) if letter.isascii() else None
    if found is None:
        raise ValueError(f"found {letter!r}; expected a letter A to Z or a digit 0 to 9")
    return found


def width(letter: str) -> Rational:
    """How wide a letter is, in units, without any space beside it. Raises `ValueError` as `outline` does."""
    return max(x for x, _ in outline(letter)[0])


def letter_document(letter: str, *, unit_mm: Rational = 1, margin: Rational = MARGIN) -> Document:
    """A document with a rectangular sheet and one letter as its target, for one straight cut. It has no creases.

    A letter is 60 × `unit_mm` millimetres high; `margin` is the paper left on each side, in millimetres. Both must be
    positive (`ValueError`). The letter's corners are named K1, K2, … in the order of its outlines, the sheet's sw, se,
    ne, nw. The document says what to cut and not how to fold it: as it stands it is refuted.
    """
    return _document([(letter.upper(), outline(letter))], f"Letter {letter.upper()}", unit_mm, margin, margin)


def word_document(
    word: str, *, unit_mm: Rational = 1, margin: Rational = MARGIN, spacing: Rational = SPACING
) -> Document:
    """As `letter_document`, for a word or number on one sheet, `spacing` millimetres between neighbouring letters.

    Corners are named by the letter's place in the word as well: K1-1, K1-2, …, E2-1, … Raises `ValueError` for an empty
    word, for anything in it that is neither letter nor digit (spaces too), and for a length that is not positive.
    """
    if not word:
        raise ValueError("found an empty word; expected letters A to Z or digits 0 to 9")
    letters = [(f"{letter.upper()}{place}-", outline(letter)) for place, letter in enumerate(word, start=1)]
    return _document(letters, f"Word {word.upper()}", unit_mm, margin, spacing)


def _document(
    letters: Sequence[tuple[str, tuple[Loop, ...]]], title: str, unit_mm: Rational, margin: Rational, spacing: Rational
) -> Document:
    """The letters, named, side by side on one sheet whose lower left corner is (0, 0)."""
    for name, length in (("unit_mm", unit_mm), ("margin", margin), ("spacing", spacing)):
        if length <= 0:
            raise ValueError(f"{name}: found {length}; expected a positive number of millimetres")
    loops: list[tuple[str, Loop]] = []
    left: Rational = margin
    for name, outlines in letters:
        for loop in outlines:
            loops.append((name, tuple((left + unit_mm * x, margin + unit_mm * y) for x, y in loop)))
        left += unit_mm * max(x for x, _ in outlines[0]) + spacing
    return drawn(title, (0, 0, left - spacing + margin, 2 * margin + unit_mm * HEIGHT), loops)
