"""Pattern families with parameters: strips and maps of stamps, exact."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from itertools import accumulate

from verify.pattern.document import Crease, Document, Kind

_LETTERS: dict[str, Kind] = {"M": "mountain", "V": "valley", "E": "either", "F": "flat"}


def kinds(word: str) -> list[Kind]:
    """Kinds of creases from a word in M, V, E (either) and F (flat)."""
    return [_LETTERS[x] for x in word]


def strip(lengths: Sequence[int | Fraction], word: str | None = None, height: int = 1) -> Document:
    """A strip of panels of the given lengths, creased square across between them.

    `word` has a letter M, V, E or F for each crease (default: all either).
    """
    points = {}
    for i, x in enumerate(accumulate(lengths, initial=0)):
        points[f"b{i}"] = (str(x), "0")
        points[f"t{i}"] = (str(x), str(height))
    last = len(lengths)
    letters = kinds(word if word is not None else "E" * (last - 1))
    creases = tuple(Crease(f"b{i}", f"t{i}", kind) for i, kind in enumerate(letters, start=1))
    return Document(points, ("b0", f"b{last}", f"t{last}", "t0"), creases=creases)


def stamps(columns: int, rows: int, letters: Mapping[tuple[str, str], str] | None = None) -> Document:
    """A map of `columns` × `rows` unit squares, point `pXY` or `pX_Y` at (X, Y), one crease for each inner side.

    `letters` gives M or V for some creases by their ends' names (lower or left end first); the rest are either.
    """
    gap = "_" if max(columns, rows) > 9 else ""

    def name(x: int, y: int) -> str:
        return f"p{x}{gap}{y}"

    points = {name(x, y): (str(x), str(y)) for x in range(columns + 1) for y in range(rows + 1)}
    sides = [(name(x, y), name(x + 1, y)) for y in range(1, rows) for x in range(columns)]
    sides += [(name(x, y), name(x, y + 1)) for x in range(1, columns) for y in range(rows)]
    given = letters or {}
    creases = tuple(Crease(a, b, _LETTERS[given.get((a, b), "E")]) for a, b in sides)
    return Document(points, (name(0, 0), name(columns, 0), name(columns, rows), name(0, rows)), creases=creases)
