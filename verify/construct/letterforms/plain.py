"""Straight-edged letterforms A–Z and 0–9, our own design, as targets of crease patterns.

Letters stand on y = 0, are 60 units high (`HEIGHT`) and have strokes of 12 (`STROKE`); x grows to the right. Outer
outlines run counter-clockwise, counters clockwise, with whole or half-whole coordinates. Each letter is one piece.

Edges run along the axes where the letter allows it; slanted ones have direction 3-4-5 or 5-12-13. So every edge has a
*rational* length, every bisector of two edges a rational direction, and a letter's straight skeleton with its
perpendiculars lies in Q: an edge at 45° would take it to Q(√2). A 3-4-5 stroke is exactly 12 wide where it measures 15
across, a 5-12-13 stroke where it measures 13; hence the stroke of 12.

Corners are square unless that would leave two forms alike: D, O and Q have cut corners (0 is narrow and square), B is
nicked at its right side and 8 at both (they are 7.2 wide there), the middle of S is slanted and that of 5 is not. The
fewer edges, the fewer folds.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from types import MappingProxyType

from verify.pattern.document import Document

Exact = int | Fraction
Loop = tuple[tuple[Exact, Exact], ...]

HEIGHT = 60
STROKE = 12
SPACING = 12
MARGIN = 30

_HALF = Fraction(1, 2)
_M = ((0, 0), (12, 0), (12, 40), (30, 16), (48, 40), (48, 0), (60, 0), (60, 60), (48, 60), (30, 36), (12, 60), (0, 60))


def _rectangle(left: int, bottom: int, right: int, top: int) -> Loop:
    return ((left, bottom), (right, bottom), (right, top), (left, top))


def _counter(left: int, bottom: int, right: int, top: int) -> Loop:
    return _rectangle(left, bottom, right, top)[::-1]


def _turned(loop: Loop, width: int) -> Loop:
    """The loop after half a turn about the middle of a letter of this width."""
    return tuple((width - x, HEIGHT - y) for x, y in loop)


_SIX = ((0, 0), (36, 0), (36, 36), (12, 36), (12, 48), (36, 48), (36, 60), (0, 60))

# fmt: off
LETTERS: Mapping[str, tuple[Loop, ...]] = MappingProxyType(
    {
        "A": (
            ((0, 0), (13, 0), (18, 12), (48, 12), (53, 0), (66, 0), (41, 60), (25, 60)),
            ((23, 24), (33, 48), (43, 24)),
        ),
        "B": (
            ((0, 0), (45, 0), (45, 24), (37, 30), (45, 36), (45, 60), (0, 60)),
            _counter(12, 12, 33, 24),
            _counter(12, 36, 33, 48),
        ),
        "C": (((0, 0), (42, 0), (42, 12), (12, 12), (12, 48), (42, 48), (42, 60), (0, 60)),),
        "D": (
            ((0, 0), (36, 0), (48, 16), (48, 44), (36, 60), (0, 60)),
            ((12, 12), (12, 48), (30, 48), (36, 40), (36, 20), (30, 12)),
        ),
        "E": (
            ((0, 0), (36, 0), (36, 12), (12, 12), (12, 24), (30, 24), (30, 36), (12, 36), (12, 48), (36, 48), (36, 60),
                (0, 60)),
        ),
        "F": (((0, 0), (12, 0), (12, 24), (30, 24), (30, 36), (12, 36), (12, 48), (36, 48), (36, 60), (0, 60)),),
        "G": (
            ((0, 0), (48, 0), (48, 36), (24, 36), (24, 24), (36, 24), (36, 12), (12, 12), (12, 48), (48, 48), (48, 60),
                (0, 60)),
        ),
        "H": (
            ((0, 0), (12, 0), (12, 24), (36, 24), (36, 0), (48, 0), (48, 60), (36, 60), (36, 36), (12, 36), (12, 60),
                (0, 60)),
        ),
        "I": (_rectangle(0, 0, 12, 60),),
        "J": (((0, 0), (36, 0), (36, 60), (24, 60), (24, 12), (12, 12), (12, 24), (0, 24)),),
        "K": (
            ((0, 0), (12, 0), (12, 24), (30, 0), (45, 0), (22 + _HALF, 30), (45, 60), (30, 60), (12, 36), (12, 60),
                (0, 60)),
        ),
        "L": (((0, 0), (36, 0), (36, 12), (12, 12), (12, 60), (0, 60)),),
        "M": (_M,),
        "N": (((0, 0), (12, 0), (12, 40), (42, 0), (54, 0), (54, 60), (42, 60), (42, 20), (12, 60), (0, 60)),),
        "O": (
            ((12, 0), (36, 0), (48, 16), (48, 44), (36, 60), (12, 60), (0, 44), (0, 16)),
            ((18, 12), (12, 20), (12, 40), (18, 48), (30, 48), (36, 40), (36, 20), (30, 12)),
        ),
        "P": (((0, 0), (12, 0), (12, 24), (36, 24), (36, 60), (0, 60)), _counter(12, 36, 24, 48)),
        "Q": (
            ((12, 0), (60, 0), (48, 16), (48, 44), (36, 60), (12, 60), (0, 44), (0, 16)),
            ((18, 12), (12, 20), (12, 40), (18, 48), (30, 48), (36, 40), (36, 12)),
        ),
        "R": (
            ((0, 0), (12, 0), (12, 24), (30, 0), (45, 0), (27, 24), (36, 24), (36, 60), (0, 60)),
            _counter(12, 36, 24, 48),
        ),
        "S": (
            ((0, 0), (36, 0), (36, 29), (12, 39), (12, 48), (36, 48), (36, 60), (0, 60), (0, 31), (24, 21), (24, 12),
                (0, 12)),
        ),
        "T": (((18, 0), (30, 0), (30, 48), (48, 48), (48, 60), (0, 60), (0, 48), (18, 48)),),
        "U": (((0, 0), (48, 0), (48, 60), (36, 60), (36, 12), (12, 12), (12, 60), (0, 60)),),
        "V": (((25, 0), (41, 0), (66, 60), (53, 60), (33, 12), (13, 60), (0, 60)),),
        "W": (_turned(_M, 60),),
        "X": (
            ((0, 0), (15, 0), (30, 20), (45, 0), (60, 0), (37 + _HALF, 30), (60, 60), (45, 60), (30, 40), (15, 60),
                (0, 60), (22 + _HALF, 30)),
        ),
        "Y": (((24, 0), (36, 0), (36, 28), (60, 60), (45, 60), (30, 40), (15, 60), (0, 60), (24, 28)),),
        "Z": (((0, 0), (42, 0), (42, 12), (15, 12), (42, 48), (42, 60), (0, 60), (0, 48), (27, 48), (0, 12)),),
        "0": (_rectangle(0, 0, 36, 60), _counter(12, 12, 24, 48)),
        "1": (
            ((0, 0), (36, 0), (36, 12), (24, 12), (24, 60), (12, 60), (0, 51), (0, 36), (12, 45), (12, 12), (0, 12)),
        ),
        "2": (
            ((0, 0), (36, 0), (36, 12), (12, 12), (12, 24), (36, 24), (36, 60), (0, 60), (0, 48), (24, 48), (24, 36),
                (0, 36)),
        ),
        "3": (((0, 0), (36, 0), (36, 60), (0, 60), (0, 48), (24, 48), (24, 36), (6, 36), (6, 24), (24, 24), (24, 12),
            (0, 12)),),
        "4": (((24, 0), (36, 0), (36, 60), (24, 60), (24, 36), (12, 36), (12, 60), (0, 60), (0, 24), (24, 24)),),
        "5": (
            ((0, 0), (36, 0), (36, 36), (12, 36), (12, 48), (36, 48), (36, 60), (0, 60), (0, 24), (24, 24), (24, 12),
                (0, 12)),
        ),
        "6": (_SIX, _counter(12, 12, 24, 24)),
        "7": (((7, 0), (20, 0), (40, 48), (40, 60), (0, 60), (0, 48), (27, 48)),),
        "8": (
            ((0, 0), (36, 0), (36, 24), (28, 30), (36, 36), (36, 60), (0, 60), (0, 36), (8, 30), (0, 24)),
            _counter(12, 12, 24, 24),
            _counter(12, 36, 24, 48),
        ),
        "9": (_turned(_SIX, 36), _counter(12, 36, 24, 48)),
    }
)
# fmt: on


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


def width(letter: str) -> Exact:
    """How wide a letter is, in units, without any space beside it. Raises `ValueError` as `outline` does."""
    return max(x for x, _ in outline(letter)[0])


def letter_document(letter: str, *, unit_mm: Exact = 1, margin: Exact = MARGIN) -> Document:
    """A document with a rectangular sheet and one letter as its target, for one straight cut. It has no creases.

    A letter is 60 × `unit_mm` millimetres high; `margin` is the paper left on each side, in millimetres. Both must be
    positive (`ValueError`). The letter's corners are named K1, K2, … in the order of its outlines, the sheet's sw, se,
    ne, nw. The document says what to cut and not how to fold it: as it stands it is refuted.
    """
    return _document([(letter.upper(), outline(letter))], f"Letter {letter.upper()}", unit_mm, margin, margin)


def word_document(word: str, *, unit_mm: Exact = 1, margin: Exact = MARGIN, spacing: Exact = SPACING) -> Document:
    """As `letter_document`, for a word or number on one sheet, `spacing` millimetres between neighbouring letters.

    Corners are named by the letter's place in the word as well: 1K1, 1K2, …, 2E1, … Raises `ValueError` for an empty
    word, for anything in it that is neither letter nor digit (spaces too), and for a length that is not positive.
    """
    if not word:
        raise ValueError("found an empty word; expected letters A to Z or digits 0 to 9")
    letters = [(f"{place}{letter.upper()}", outline(letter)) for place, letter in enumerate(word, start=1)]
    return _document(letters, f"Word {word.upper()}", unit_mm, margin, spacing)


def _document(
    letters: Sequence[tuple[str, tuple[Loop, ...]]], title: str, unit_mm: Exact, margin: Exact, spacing: Exact
) -> Document:
    """The letters, named, side by side on one sheet whose lower left corner is (0, 0)."""
    for name, length in (("unit_mm", unit_mm), ("margin", margin), ("spacing", spacing)):
        if length <= 0:
            raise ValueError(f"{name}: found {length}; expected a positive number of millimetres")
    points: dict[str, tuple[str, str]] = {}
    loops = []
    left: Exact = margin
    for name, outlines in letters:
        corners = len(points)
        for loop in outlines:
            names = []
            for x, y in loop:
                names.append(f"{name}{len(points) - corners + 1}")
                points[names[-1]] = (str(left + unit_mm * x), str(margin + unit_mm * y))
            loops.append(tuple(names))
        left += unit_mm * max(x for x, _ in outlines[0]) + spacing
    right, top = str(left - spacing + margin), str(2 * margin + unit_mm * HEIGHT)
    sheet = {"sw": ("0", "0"), "se": (right, "0"), "ne": (right, top), "nw": ("0", top)}
    return Document(sheet | points, tuple(sheet), loops=tuple(loops), snips=1, title=title)
