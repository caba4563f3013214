"""Families of letterforms made for folding: outlines from a few proportions, exactly.

A *grid* is a letter as rows and columns of unequal size, of which some cells are ink; corners of the outline may be cut
off at 45°, and sides may have notches that do so in their middle. Bars, rings, notches, bars in halves and bowls are
grids. Zigzags and other slanted strokes are *polygons*, in units of their own. Units are arbitrary: a form is scaled to
its height.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from itertools import pairwise

from verify.exact.number import Number
from verify.exact.plane import around

Rational = int | Fraction
Exact = Rational | Number
Place = tuple[Exact, Exact]
Loop = tuple[Place, ...]
Corner = tuple[Rational, Rational]
Cut = tuple[int, int, Rational]
Notch = tuple[str, int, Rational]


def grid(
    cells: Sequence[str],
    rows: Sequence[Rational],
    columns: Sequence[Rational],
    cuts: Iterable[Cut] = (),
    notches: Iterable[Notch] = (),
) -> tuple[Loop, ...]:
    """The outlines of the ink (`#`) of a grid: outer ones counter-clockwise, counters clockwise. Rows are from top to
    bottom.

    `cuts`: (column line, row line, size), both lines counted from 0 at the upper left: the corner there is cut off at
    45°, so far from it. `notches`: (`left` or `right`, row, depth): a right-angled notch in the middle of that row's
    side of the box, twice as high as it is deep. Raises `ValueError` for a cut where no corner is, or that leaves no
    side; and for a notch that does not fit.

    >>> grid(["##", "#."], [2, 3], [2, 4])
    (((0, 0), (2, 0), (2, 3), (6, 3), (6, 5), (0, 5)),)
    """
    if len(cells) != len(rows) or any(len(line) != len(columns) for line in cells):
        raise ValueError(f"found {len(cells)} rows of cells; expected {len(rows)}, each with {len(columns)} cells")
    xs: list[Rational] = [sum(columns[:i]) for i in range(len(columns) + 1)]
    ys: list[Rational] = [sum(rows[i:]) for i in range(len(rows) + 1)]
    loops = [list(loop) for loop in _around(cells, xs, ys)]
    for column, row, size in cuts:
        _cut(loops, (xs[column], ys[row]), size)
    for side, row, depth in notches:
        _notch(loops, xs[0] if side == "left" else xs[-1], Fraction(ys[row] + ys[row + 1]) / 2, depth)
    return tuple(tuple(loop) for loop in sorted(loops, key=area2, reverse=True))


def area2(loop: Sequence[Place]) -> Exact:
    """Twice the area within a loop, negative if it runs clockwise."""
    total: Exact = 0
    for a, b in pairwise((*loop, loop[0])):
        total += a[0] * b[1] - a[1] * b[0]
    return total


def _around(cells: Sequence[str], xs: Sequence[Rational], ys: Sequence[Rational]) -> Iterable[tuple[Corner, ...]]:
    """The boundary of the ink with the ink on its left, corners only."""

    def ink(row: int, column: int) -> bool:
        return 0 <= row < len(cells) and 0 <= column < len(cells[0]) and cells[row][column] == "#"

    after: dict[Corner, list[Corner]] = {}
    for row, line in enumerate(cells):
        for column, cell in enumerate(line):
            if cell != "#":
                continue
            sw, se = (xs[column], ys[row + 1]), (xs[column + 1], ys[row + 1])
            ne, nw = (xs[column + 1], ys[row]), (xs[column], ys[row])
            beside = (row + 1, column), (row, column + 1), (row - 1, column), (row, column - 1)
            for (start, end), place in zip(((sw, se), (se, ne), (ne, nw), (nw, sw)), beside, strict=True):
                if not ink(*place):
                    after.setdefault(start, []).append(end)
    if any(len(ends) > 1 for ends in after.values()):
        raise ValueError("found two cells of ink that meet in a corner only; expected them to share a side")
    while after:
        walk = [min(after)]
        while (end := after.pop(walk[-1])[0]) != walk[0]:
            walk.append(end)
        yield tuple(b for a, b, c in _triples(walk) if (b[0] - a[0]) * (c[1] - b[1]) != (b[1] - a[1]) * (c[0] - b[0]))


def _triples(loop: Sequence[Corner]) -> Iterable[tuple[Corner, Corner, Corner]]:
    return zip([loop[-1], *loop[:-1]], loop, [*loop[1:], loop[0]], strict=True)


def _cut(loops: list[list[Corner]], corner: Corner, size: Rational) -> None:
    for loop in loops:
        if corner not in loop:
            continue
        at = loop.index(corner)
        ends = [_toward(corner, loop[at - 1], size), _toward(corner, loop[(at + 1) % len(loop)], size)]
        loop[at : at + 1] = ends
        loop[:] = [b for a, b in zip([loop[-1], *loop[:-1]], loop, strict=True) if a != b]
        return
    raise ValueError(f"a cut: found no corner at {corner}; expected one")


def _toward(place: Corner, other: Corner, length: Rational) -> Corner:
    """The place at a distance along a side that runs along an axis."""
    way: tuple[Fraction, Fraction] = Fraction(other[0]) - place[0], Fraction(other[1]) - place[1]
    far = abs(way[0]) + abs(way[1])
    if 0 not in way or far < length:
        raise ValueError(
            f"a cut at {place}: found a side that is slanted or shorter than {length}; expected a longer one"
        )
    share = Fraction(length) / far
    return place[0] + way[0] * share, place[1] + way[1] * share


def _notch(loops: list[list[Corner]], x: Rational, y: Rational, depth: Rational) -> None:
    for loop in loops:
        for at, (a, b) in enumerate(around(loop)):
            low, high = sorted((a[1], b[1]))
            if a[0] == b[0] == x and low < y - depth and y + depth < high:
                up = 1 if b[1] > a[1] else -1
                inner = x + depth if b[1] < a[1] else x - depth
                loop[at + 1 : at + 1] = [(x, y - up * depth), (inner, y), (x, y + up * depth)]
                return
    raise ValueError(f"a notch at ({x}, {y}): found no side around it; expected one longer than {2 * depth}")
