"""Pattern families with parameters that only tests and benchmarks ask for: pleated parallelograms, single vertices,
square twists. Each returns a `Document`; coordinates are exact.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import product

from verify.pattern.document import Crease, Document, Kind
from verify.pattern.families import kinds

Exact = int | str | Fraction


def miura(
    columns: int, rows: int, *, assigned: bool = True, slant: Fraction = Fraction(1, 8), side: int = 10
) -> Document:
    """The Miura pattern of `columns` × `rows` parallelograms: straight lines across, zigzags upwards.

    Panels are `side` wide and high; zigzags lean by `slant` (units; the smaller, the more the panels lie over each
    other). `assigned`: with the usual mountains and valleys, else all either. The outline follows the zigzag.
    """

    def name(x: int, y: int) -> str:
        return f"p{x}_{y}"

    points = {
        name(x, y): (str(x * side + slant * (y % 2)), str(y * side))
        for y in range(rows + 1)
        for x in range(columns + 1)
    }
    creases = []
    for x in range(1, columns):
        for y in range(rows):
            creases.append(Crease(name(x, y), name(x, y + 1), _alternate(x) if assigned else "either"))
    for y in range(1, rows):
        for x in range(columns):
            creases.append(Crease(name(x, y), name(x + 1, y), _alternate(x + (y + 1) % 2) if assigned else "either"))
    right = [name(columns, y) for y in range(rows + 1)]
    left = [name(0, y) for y in range(rows, -1, -1)]
    return Document(points, (*right, *left), creases=tuple(creases))


def _alternate(number: int) -> Kind:
    return "mountain" if number % 2 else "valley"


def vertex(directions: Sequence[tuple[Exact, Exact]], word: str | None = None, size: int = 1) -> Document:
    """One vertex at (0, 0) with a crease along each direction (x, y), to the edge of a paper whose corners they are.

    The directions go round counter-clockwise, each less than 180° from the next; exact texts are allowed.
    """
    count = len(directions)
    points: dict[str, tuple[str, str]] = {"o": ("0", "0")}
    for i, (x, y) in enumerate(directions):
        points[f"r{i}"] = (_scaled(x, size), _scaled(y, size))
    letters = kinds(word if word is not None else "E" * count)
    creases = tuple(Crease("o", f"r{i}", kind) for i, kind in enumerate(letters))
    return Document(points, tuple(f"r{i}" for i in range(count)), creases=creases)


def _scaled(value: Exact, size: int) -> str:
    return str(value) if size == 1 else f"{size}*({value})"


_TWIST = {"east": (0, 3), "north": (1, 0), "west": (2, 1), "south": (3, 2)}
_AHEAD = {"east": (1, 0), "north": (0, 1), "west": (-1, 0), "south": (0, -1)}
_BACK = {"east": "west", "north": "south", "west": "east", "south": "north"}


def twists(columns: int, rows: int, *, corner: tuple[int, int] = (1, 3), period: int = 12) -> Document:
    """A tessellation of `columns` × `rows` square twists, each the mirror image of its neighbours, all creases either.

    A square has its first corner at `corner`, seen from its middle, and turns when four pleats, as wide as the two
    numbers together, fold up round it. The middles lie `period` apart.
    """
    p, q = corner

    def corners(x: int, y: int) -> list[tuple[int, int]]:
        hand = 1 if (x + y) % 2 == 0 else -1
        return [(x * period + a, y * period + hand * b) for a, b in ((p, q), (-q, p), (-p, -q), (q, -p))]

    def pleat(x: int, y: int, way: str) -> tuple[int, int]:
        """The corners from which the two lines of a pleat run; mirrored, north is south."""
        if (x + y) % 2 and way in ("north", "south"):
            way = _BACK[way]
        return _TWIST[way]

    half = period // 2
    low, right, top = -half, columns * period - half, rows * period - half
    edge = {"east": right, "north": top, "west": low, "south": low}
    points = {"sw": (low, low), "se": (right, low), "ne": (right, top), "nw": (low, top)}
    creases = []
    for x, y in product(range(columns), range(rows)):
        here = corners(x, y)
        points |= {f"t{x}_{y}_{k}": place for k, place in enumerate(here)}
        creases += [Crease(f"t{x}_{y}_{k}", f"t{x}_{y}_{(k + 1) % 4}", "either") for k in range(4)]
        for way, (dx, dy) in _AHEAD.items():
            i, j = x + dx, y + dy
            for k in pleat(x, y, way):
                if not (0 <= i < columns and 0 <= j < rows):
                    end = f"{way}{x}_{y}_{k}"
                    points[end] = (edge[way], here[k][1]) if dx else (here[k][0], edge[way])
                    creases.append(Crease(f"t{x}_{y}_{k}", end, "either"))
                elif way in ("east", "north"):
                    across = 1 if dx else 0
                    there = next(m for m in pleat(i, j, _BACK[way]) if corners(i, j)[m][across] == here[k][across])
                    creases.append(Crease(f"t{x}_{y}_{k}", f"t{i}_{j}_{there}", "either"))
    texts = {name: (str(a), str(b)) for name, (a, b) in points.items()}
    return Document(texts, ("sw", "se", "ne", "nw"), creases=tuple(creases))
