"""`letters`: certified sheets for the letters of a word."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction

from verify.construct.letterforms.plain import MARGIN, SPACING, letter_document, width, word_document
from verify.pattern.document import Document
from verify.pattern.limits import Limits
from verify.tasks.construct import TRIES, Constructed, Prefer, construct


def letter_sheets(
    word: str, *, one_sheet: bool = False, width_mm: Fraction | None = None, margin_mm: Fraction | None = None
) -> list[tuple[str, Document]]:
    """The sheets of a word, each with one letter (or the whole word) as its target, named in order: `1-L`, `2-I`.

    Letters are 60 mm high, or the word, all letters in a row, `width_mm` wide; `margin_mm` of paper is left on each side
    (default 30). Raises `ValueError` for what is neither letter nor digit.
    """
    word = word.upper()
    natural = sum(Fraction(width(letter)) for letter in word) + SPACING * (len(word) - 1)
    unit = Fraction(1) if width_mm is None or not word else width_mm / natural
    margin = MARGIN if margin_mm is None else margin_mm
    if one_sheet or not word:
        return [(word, word_document(word, unit_mm=unit, margin=margin, spacing=SPACING * unit))]
    digits = len(str(len(word)))
    return [
        (f"{number:0{digits}}-{letter}", letter_document(letter, unit_mm=unit, margin=margin))
        for number, letter in enumerate(word, 1)
    ]


def letters(
    word: str,
    *,
    one_sheet: bool = False,
    width_mm: Fraction | None = None,
    margin_mm: Fraction | None = None,
    tries: int = TRIES,
    prefer: Prefer = "folds",
    limits: Limits = Limits(),
    progress: Callable[[str], None] | None = None,
) -> Iterator[tuple[str, Constructed]]:
    """What is constructed for each sheet of `letter_sheets`, by its name, as it is done; a letter that comes twice is done once.

    For the other arguments, and for what is proved, see `construct`; `limits.seconds` is for each sheet.
    """
    made: dict[str, Constructed] = {}
    for name, document in letter_sheets(word, one_sheet=one_sheet, width_mm=width_mm, margin_mm=margin_mm):
        if document.title not in made:
            made[document.title] = construct(document, tries=tries, prefer=prefer, limits=limits, progress=progress)
        yield name, made[document.title]
