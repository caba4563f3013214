"""How a word is spelled with the available letters: lower case, accents, dots, dashes and spaces."""

from __future__ import annotations

import unicodedata
from collections.abc import Collection, Iterator
from dataclasses import dataclass

SPACE = " "
HYPHEN = "-"
_DASHES = "-\N{HYPHEN}\N{NON-BREAKING HYPHEN}\N{FIGURE DASH}\N{EN DASH}\N{EM DASH}\N{MINUS SIGN}"
# letters that no accent makes, as passports spell them (ICAO Doc 9303 part 3, from memory)
_INSTEAD = {"Æ": "AE", "Œ": "OE", "Ø": "OE", "Þ": "TH", "Ð": "D", "Đ": "D", "Ł": "L", "Ħ": "H", "Ŧ": "T", "Ŋ": "N"}
_FILE_NAMES = {"Ä": "AE", "Ö": "OE", "Ü": "UE", "ß": "SZ", HYPHEN: "hyphen"}


@dataclass(frozen=True)
class Glyph:
    """One place of a word: what is `written` there, the letter (or space) for it, and a `note` if they differ. `apart`:
    a space stands before it.
    """

    written: str
    letter: str
    note: str = ""
    apart: bool = False


def file_name(letter: str) -> str:
    """A letter in the name of a file: in ASCII.

    >>> file_name("A"), file_name("Ä"), file_name("-")
    ('A', 'AE', 'hyphen')
    """
    return _FILE_NAMES.get(letter, letter)


def spelled(word: str, letters: Collection[str]) -> tuple[Glyph, ...]:
    """The word in letters of a collection (capitals, digits, and perhaps Ä, Ö, Ü, ß and the hyphen). Spaces become
    gaps.

    Lower case is taken as upper case, all dashes as hyphens; a letter with an accent that has no form of its own is
    spelled without the accent, ß as SS, and Æ, Ø, Þ and their like as passports spell them. Raises `ValueError` naming
    all that cannot be spelled, and for a word without any letter.

    >>> [(g.letter, g.note) for g in spelled("Né 1", "NE1")]
    [('N', ''), ('E', 'É as E: without its accent'), (' ', 'a gap, half a letter wide'), ('1', '')]
    """
    found: list[Glyph] = []
    wrong: dict[str, None] = {}
    for written in unicodedata.normalize("NFC", word):
        glyphs = list(_spelled(written, letters))
        found += glyphs
        if not glyphs:
            wrong.setdefault(_named(written))
    if wrong or all(glyph.letter == SPACE for glyph in found):
        named = ", ".join(wrong) or "no letter"
        instead = ", ".join(_INSTEAD) + ("" if "ß" in letters else " and ß")
        hyphens = "hyphens" if HYPHEN in letters else "no hyphens"
        raise ValueError(
            f"found {named}; expected letters A to Z (accents are allowed; {instead} are spelled out), "
            f"digits 0 to 9, spaces, {hyphens}: leave the rest out"
        )
    return tuple(found)


def _named(character: str) -> str:
    """A character with its name.

    >>> _named("&")
    "'&' (ampersand)"
    """
    name = unicodedata.name(character, "").lower()
    return f"{character!r} ({name})" if name else repr(character)


def _spelled(written: str, letters: Collection[str]) -> Iterator[Glyph]:
    """Nothing if there is no way."""
    if written.isspace():
        yield Glyph(written, SPACE, "a gap, half a letter wide")
        return
    if written in _DASHES:
        if HYPHEN in letters:
            yield Glyph(written, HYPHEN)
        return
    if written in "ßẞ":
        whole = "ß" in letters
        yield from [Glyph(written, "ß")] if whole else [Glyph(written, "S", "ß as SS"), Glyph(written, "S")]
        return
    upper = written.upper()
    if upper in letters:
        yield Glyph(written, upper, "" if written == upper else "lower case as capitals")
        return
    if upper in _INSTEAD and all(c in letters for c in _INSTEAD[upper]):
        yield from (Glyph(written, c, f"{upper} as {_INSTEAD[upper]}") for c in _INSTEAD[upper])
        return
    plain = "".join(c for c in unicodedata.normalize("NFD", upper) if not unicodedata.combining(c))
    if plain in letters and plain != upper:
        left_out = "dots" if "\N{COMBINING DIAERESIS}" in unicodedata.normalize("NFD", upper) else "accent"
        yield Glyph(written, plain, f"{upper} as {plain}: without its {left_out}")
