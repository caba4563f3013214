"""A banner for the parade: letters of the alphabet side by side in one sheet, freed by one cut.

Each letter is its certified pattern (`proofs/alphabet`), as it is there. Its card hangs on its neighbours by short
strips along the upper edge; between the strips the cards are apart. The panels that the strips hang on lie, when the
letter is folded, so that the cut line runs level and equally high below both: with one for all letters, then. Of the
alphabet that is so for V, X and Y.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from pathlib import Path

from verify.pattern.document import Crease, Document
from verify.pattern.recipe import load_any

ALPHABET = Path(__file__).resolve().parent.parent / "proofs" / "alphabet"
HEIGHT, STRIP, GAP = 120, 10, 24  # mm: of the cards, of the strips, between cards


def banner(letters: int, word: str = "VYX") -> Document:
    """So many letters of a word of V, X and Y that is repeated."""
    cards = {name: load_any(ALPHABET / f"{name}.toml") for name in word}
    widths = {name: max(Fraction(card.points[corner][0]) for corner in card.outline) for name, card in cards.items()}
    points: dict[str, tuple[str, str]] = {}
    creases: list[Crease] = []
    loops: list[tuple[str, ...]] = []
    below: list[str] = []
    left = Fraction(0)
    ends: list[tuple[Fraction, Fraction]] = []
    for number in range(letters):
        name = word[number % len(word)]
        card, width = cards[name], widths[name]
        points |= {f"{number}{key}": (f"{left}+({x})", y) for key, (x, y) in card.points.items()}
        creases += [Crease(f"{number}{c.start}", f"{number}{c.end}", c.kind) for c in card.creases]
        loops += [tuple(f"{number}{key}" for key in loop) for loop in card.loops]
        ends.append((left, left + width))
        left += width + GAP
    for number, (west, east) in enumerate(ends):
        for side, x in (("w", west), ("e", east)):
            points[f"{number}{side}0"], points[f"{number}{side}1"] = (str(x), "0"), (str(x), str(HEIGHT - STRIP))
            points[f"{number}{side}2"] = (str(x), str(HEIGHT))
    for one, two in pairwise(range(letters)):
        creases += [Crease(f"{one}e1", f"{one}e2", "flat"), Crease(f"{two}w1", f"{two}w2", "flat")]
    for number in range(letters):
        below += [f"{number}w1", f"{number}w0", f"{number}e0", f"{number}e1"]
    outline = (*below[1:-1], f"{letters - 1}e2", "0w2")
    return Document(
        points, outline, creases=tuple(creases), loops=tuple(loops), snips=1, title=f"Banner of {letters} letters"
    )
