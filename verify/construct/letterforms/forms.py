"""Letterforms for a few simple folds: on cards, on strips, with paper all round, from plain sheets.

The proportions stand in `forms.toml`; a recipe is searched for, and certified, whenever one is wanted.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from string import ascii_lowercase
from typing import Any, Literal, get_args

from verify.construct.letterforms.families import Exact, Loop, Rational, drawn, grid, read_exact, stored
from verify.exact.field import read_numbers
from verify.pattern.document import Document

Kind = Literal["card", "strip", "margin", "square", "a4", "letter"]
KINDS: tuple[Kind, ...] = get_args(Kind)
HEIGHT = 120
WORDS: Mapping[Kind, str] = {
    "card": "on a card",
    "strip": "on a strip",
    "margin": "with paper all round",
    "square": "from a plain square",
    "a4": "from plain A4 paper",
    "letter": "from plain letter paper",
}
# Plain sheets, folded without a template: their names, and how high they are, as a share of their width. A4 is 210 ×
# 297 mm (ISO 216), letter 8.5 × 11 inches (ANSI/ASME Y14.1).
PLAIN: Mapping[Kind, str] = {"square": "square", "a4": "A4", "letter": "letter"}
_UPRIGHT: Mapping[Kind, Fraction] = {"square": Fraction(1), "a4": Fraction(297, 210), "letter": Fraction(22, 17)}
_SIZES: Mapping[Kind, Fraction] = {"a4": Fraction(297), "letter": Fraction(1397, 5)}


@dataclass(frozen=True)
class LetterForm:
    """A letter and its sheet. `loops`: outer outlines counter-clockwise, counters clockwise, in units of the form's
    own.

    The letter's box, `width` by `height`, has its lower left corner at (0, 0); a hyphen does not fill it. `sheet` is
    the paper's left, lower, right and upper side. `lacks`: what the letter usually has and this form has not.
    """

    character: str
    kind: Kind
    loops: tuple[Loop, ...]
    sheet: tuple[Exact, Exact, Exact, Exact]
    width: Exact
    height: Exact
    lacks: str = ""

    @property
    def words(self) -> str:
        """What it is folded from."""
        left, low, right, high = self.sheet
        sides = sum(bool(beyond) for beyond in (left, low, right - self.width, high - self.height))
        return f"with paper on {sides} sides" if self.kind == "margin" and sides < 4 else WORDS[self.kind]

    def document(self, height: Exact | None = None) -> Document:
        """The letter as the target of a sheet without creases, so many millimetres high (120; a letter of A4 or letter
        paper as high as that).

        Corners of the sheet are sw, se, ne, nw; those of the letter a1, a2, … (its first outline), b1, b2, … where they
        are not the sheet's. Raises `ValueError` for a height that is not positive.
        """
        if height is None:
            height = usual_height(self.kind)
        if height <= 0:
            raise ValueError(f"height: found {height}; expected a positive number of millimetres")
        loops = ((ascii_lowercase[number], loop) for number, loop in enumerate(self.loops))
        return drawn(f"{self.character} {self.words}", self.sheet, loops, height / (self.height * Fraction(1)))


def usual_height(kind: Kind) -> Fraction:
    """How high letters are in millimetres, unless it is said otherwise."""
    return _SIZES.get(kind, Fraction(HEIGHT))


@cache
def forms(kind: Kind) -> Mapping[str, LetterForm]:
    """The letters that have a form of a kind, by their characters."""
    return {character: made(character, kind, keys) for character, keys in stored()[kind].items()}


def made(character: str, kind: Kind, keys: Mapping[str, Any]) -> LetterForm:
    """A form from its proportions: `cells`, `rows` and `columns`, or `polygons`; maybe the `sheet`, or the `paper`
    beyond the letter's box (left, right, below, above); and what it `lacks`, in words. On a plain sheet rows that say
    `rest` share what the others leave of its height.
    """
    lacks = keys.get("lacks", "")
    if "polygons" in keys:
        number = _reader(value for loop in keys["polygons"] for place in loop for value in place)
        loops = tuple(tuple((number(x), number(y)) for x, y in loop) for loop in keys["polygons"])
        across, up = (max(place[i] for loop in loops for place in loop) for i in (0, 1))
    else:
        columns = [read_exact(value) for value in keys["columns"]]
        rows = _rows(keys["rows"], _UPRIGHT.get(kind, Fraction(0)) * sum(columns))
        across, up = sum(columns), sum(rows)
        loops = grid(keys["cells"], rows, columns)
    if "sheet" in keys:
        number = _reader(keys["sheet"])
        left, low, right, high = (number(value) for value in keys["sheet"])
        return LetterForm(character, kind, loops, (left, low, right, high), across, up, lacks)
    left, right, below, above = (read_exact(side) for side in keys.get("paper", (0, 0, 0, 0)))
    return LetterForm(character, kind, loops, (-left, -below, across + right, up + above), across, up, lacks)


def _rows(values: Sequence[Any], whole: Rational) -> list[Rational]:
    """Rows of a grid, with what is left of the whole height where they say `rest`."""
    known = sum(read_exact(value) for value in values if value != "rest")
    rest = (Fraction(whole) - known) / max(values.count("rest"), 1)
    return [rest if value == "rest" else read_exact(value) for value in values]


def _reader(values: Iterable[Any]) -> Callable[[Any], Exact]:
    """Reads whole numbers, and texts of the documents' grammar, all in one field."""
    numbers = read_numbers([value for value in values if isinstance(value, str)]).numbers
    return lambda value: numbers[value] if isinstance(value, str) else value
