"""Families of letterforms made for folding: outlines from a few proportions, exactly.

A *grid* is a letter as rows and columns of unequal size, of which some cells are ink. Whatever has slanted sides is
written down as *polygons*, in units of its own: a form is scaled to its height.
"""

from __future__ import annotations

import tomllib
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

from verify.exact.number import Number
from verify.exact.plane import around, with_neighbours
from verify.pattern.document import Document

Rational = int | Fraction
Exact = Rational | Number
Place = tuple[Exact, Exact]
Loop = tuple[Place, ...]
Corner = tuple[Rational, Rational]


@cache
def stored() -> dict[str, Any]:
    """What `forms.toml` says of the letters of each kind."""
    return tomllib.loads(Path(__file__).with_name("forms.toml").read_text(encoding="utf-8"))


def read_exact(value: Any) -> Rational:
    """A whole number as it is; a fraction from its text."""
    return value if isinstance(value, int) else Fraction(value)


def grid(cells: Sequence[str], rows: Sequence[Rational], columns: Sequence[Rational]) -> tuple[Loop, ...]:
    """The outlines of the ink (`#`) of a grid: outer ones counter-clockwise, counters clockwise. Rows are from top to
    bottom.

    Raises `ValueError` for rows of cells that are not as many, or as long, as `rows` and `columns` say, and for two
    cells of ink that meet in a corner only.

    >>> grid(["##", "#."], [2, 3], [2, 4])
    (((0, 0), (2, 0), (2, 3), (6, 3), (6, 5), (0, 5)),)
    """
    if len(cells) != len(rows) or any(len(line) != len(columns) for line in cells):
        raise ValueError(f"found {len(cells)} rows of cells; expected {len(rows)}, each with {len(columns)} cells")
    xs: list[Rational] = [sum(columns[:i]) for i in range(len(columns) + 1)]
    ys: list[Rational] = [sum(rows[i:]) for i in range(len(rows) + 1)]
    return tuple(sorted(_outlines(cells, xs, ys), key=area2, reverse=True))


def area2(loop: Sequence[Place]) -> Exact:
    """Twice the area within a loop, negative if it runs clockwise."""
    total: Exact = 0
    for a, b in around(loop):
        total += a[0] * b[1] - a[1] * b[0]
    return total


def _outlines(cells: Sequence[str], xs: Sequence[Rational], ys: Sequence[Rational]) -> Iterator[tuple[Corner, ...]]:
    """The boundary of the ink with the ink on its left, corners only."""
    ink = {(row, column) for row, line in enumerate(cells) for column, cell in enumerate(line) if cell == "#"}
    after: dict[Corner, Corner] = {}
    for row, column in ink:
        left, right, top, bottom = xs[column], xs[column + 1], ys[row], ys[row + 1]
        corners = (left, bottom), (right, bottom), (right, top), (left, top)
        beside = (row + 1, column), (row, column + 1), (row - 1, column), (row, column - 1)
        for (start, end), cell in zip(around(corners), beside, strict=True):
            if cell in ink:
                continue
            if start in after:
                raise ValueError("found two cells of ink that meet in a corner only; expected them to share a side")
            after[start] = end
    while after:
        walk = [min(after)]
        while (end := after.pop(walk[-1])) != walk[0]:
            walk.append(end)
        yield tuple(b for a, b, c in with_neighbours(walk) if a[0] != c[0] and a[1] != c[1])


def drawn(
    title: str, sheet: tuple[Exact, Exact, Exact, Exact], loops: Iterable[tuple[str, Loop]], scale: Exact = 1
) -> Document:
    """Outlines as the target of a sheet without creases, for one straight cut; a unit is so many millimetres.

    `sheet`: its left, lower, right and upper side; its lower left corner comes to (0, 0). Its corners are named sw, se,
    ne, nw; those of the outlines by the text that each comes with and a number, where they are not the sheet's.
    """
    left, low, right, high = sheet
    corners = {"sw": (left, low), "se": (right, low), "ne": (right, high), "nw": (left, high)}
    names: dict[Place, str] = {place: name for name, place in corners.items()}
    used: Counter[str] = Counter()
    named = []
    for begin, loop in loops:
        for place in loop:
            if place not in names:
                used[begin] += 1
                names[place] = f"{begin}{used[begin]}"
        named.append(tuple(names[place] for place in loop))
    points = {name: (_text((x - left) * scale), _text((y - low) * scale)) for (x, y), name in names.items()}
    return Document(points, tuple(corners), loops=tuple(named), snips=1, title=title)


def _text(value: Exact) -> str:
    return value.text() if isinstance(value, Number) else str(value)
