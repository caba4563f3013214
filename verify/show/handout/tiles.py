"""A sheet laid over pages: full size, turned if it then fits, seams beside the figure, register marks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import atan2, ceil, cos, pi, sin

from verify.exact.plane import around
from verify.show.page import XY, Box, box_of

Span = tuple[float, float]
OVERLAP = 12.0
MARGIN = 2.0
MOST_TILES = 48
_STEP = 1.0
_MANY_TURNS = 60
_BESIDE = 20.0


@dataclass(frozen=True)
class Tiles:
    """Windows over the sheet, turned by `turn` (radians): `columns` from the left, `rows` from the top, `OVERLAP` mm in
    common; none where their `count` is over `MOST_TILES`. `area`: what a page holds; `landscape`: how it lies.
    """

    count: int
    columns: tuple[Span, ...]
    rows: tuple[Span, ...]
    area: tuple[float, float]
    landscape: bool
    turn: float = 0.0

    def turned(self, p: XY) -> XY:
        """A place of the sheet in the plane of the windows."""
        return _turned(p, self.turn)

    def each(self) -> Iterator[tuple[int, int]]:
        """Row and column of each tile, in reading order."""
        for row in range(len(self.rows)):
            for column in range(len(self.columns)):
                yield row, column

    def window(self, row: int, column: int) -> Box:
        """The part of the plane on one page."""
        return self.columns[column][0], self.rows[row][0], self.columns[column][1], self.rows[row][1]

    def name(self, row: int, column: int) -> str:
        """A1, A2, … in the first row, B1, … in the second."""
        letters = ""
        n = row + 1
        while n:
            n, k = divmod(n - 1, 26)
            letters = chr(65 + k) + letters
        return f"{letters}{column + 1}"

    def register_marks(self) -> Iterator[XY]:
        """Places in the overlaps, two for each pair of neighbours."""
        for row, column in self.each():
            x0, y0, x1, y1 = self.window(row, column)
            for part in (0.25, 0.75):
                if column + 1 < len(self.columns):
                    yield XY(x1 - OVERLAP / 2, y0 + part * (y1 - y0))
                if row + 1 < len(self.rows):
                    yield XY(x0 + part * (x1 - x0), y0 + OVERLAP / 2)


def tiles(
    corners: Sequence[XY],
    portrait: tuple[float, float],
    landscape: tuple[float, float],
    figure: Sequence[tuple[XY, XY]] = (),
) -> Tiles:
    """The fewest pages that hold the sheet with a little margin, upright or across: the sheet as it is, on its side,
    or, on a single page, askew. Seams run where they meet least of the `figure`.
    """
    layouts = []
    for rank, turn in _turns(corners):
        box = box_of([_turned(p, turn) for p in corners])
        for area, across in ((portrait, False), (landscape, True)):
            count = _count(box[2] - box[0], area[0]) * _count(box[3] - box[1], area[1])
            if rank < 2 or count == 1:
                layouts.append((count, rank, across, turn, area))
    count, _, across, turn, area = min(layouts, key=lambda layout: layout[:3])
    if count > MOST_TILES:
        return Tiles(count, (), (), area, across, turn)
    x0, y0, x1, y1 = box_of([_turned(p, turn) for p in corners])
    lines = [(_turned(a, turn), _turned(b, turn)) for a, b in figure]
    columns = _spans(x0 - MARGIN, x1 + MARGIN, area[0], [(a.x, b.x, a.distance(b)) for a, b in lines])
    rows = _spans(y0 - MARGIN, y1 + MARGIN, area[1], [(a.y, b.y, a.distance(b)) for a, b in lines])
    return Tiles(count, columns, rows[::-1], area, across, turn)


def _turns(corners: Sequence[XY]) -> Iterator[tuple[int, float]]:
    """Angles to try, the plainest first: a smallest box lies along the convex hull (Freeman, Shapira 1975)."""
    yield 0, 0.0
    yield 1, pi / 2
    edges = list(around(corners))
    for a, b in sorted(edges, key=lambda e: -XY.distance(*e))[:_MANY_TURNS]:
        if a.distance(b) > 0:
            angle = -atan2(b.y - a.y, b.x - a.x) % (pi / 2)
            yield 2, angle
            yield 2, angle - pi / 2


def _turned(p: XY, angle: float) -> XY:
    if angle == 0.0:
        return p
    if angle == pi / 2:
        return XY(-p.y, p.x)
    return XY(p.x * cos(angle) - p.y * sin(angle), p.x * sin(angle) + p.y * cos(angle))


def _count(span: float, room: float) -> int:
    return max(1, ceil((span + 2 * MARGIN - OVERLAP) / (room - OVERLAP) - 1e-9))


def _spans(low: float, high: float, room: float, figure: Sequence[tuple[float, float, float]]) -> tuple[Span, ...]:
    """Stretches of at most `room` from low to high that share `OVERLAP`; `figure`: from, to, length of its lines."""
    count = _count(high - low - 2 * MARGIN, room)
    seams = _seams(low, high, room, count, figure) if count > 1 else []
    starts, ends = [low, *(s - OVERLAP / 2 for s in seams)], [*(s + OVERLAP / 2 for s in seams), high]
    if count == 1:
        middle = (low + high) / 2
        return ((middle - room / 2, middle + room / 2),)
    # the outer ones have room for names beside the sheet
    starts[0] = max(ends[0] - room, low - _BESIDE)
    ends[-1] = min(starts[-1] + room, high + _BESIDE)
    return tuple(zip(starts, ends, strict=True))


def _seams(
    low: float, high: float, room: float, count: int, figure: Sequence[tuple[float, float, float]]
) -> list[float]:
    """Where the overlaps lie in the middle: those that meet least of the figure, then those that divide most evenly."""
    even = [low + (high - low) * k / count for k in range(1, count)]
    places = sorted({*even, *(low + _STEP * k for k in range(1, int((high - low) / _STEP) + 1))})
    met = {x: sum(_within(x, *line) for line in figure) for x in places}
    most, reach, slack = room - OVERLAP / 2 + 1e-9, room - OVERLAP, OVERLAP / 2
    # for each place of seam k the least cost so far, and the seams up to it
    best: dict[float, tuple[float, list[float]]] = {}
    for k, ideal in enumerate(even):
        before, best = best, {}
        for x in places:
            if high - x > most + (count - 2 - k) * reach:
                continue
            own = met[x] + abs(x - ideal) * 1e-3
            if k == 0:
                if slack < x - low <= most:
                    best[x] = own, [x]
                continue
            last = [(before[y][0], y) for y in before if OVERLAP < x - y <= reach + 1e-9]
            if last:
                cost, y = min(last)
                best[x] = cost + own, [*before[y][1], x]
    return min(best.values(), key=lambda found: found[0])[1] if best else even


def _within(x: float, start: float, end: float, long: float) -> float:
    """How much of a line lies in the overlap round a seam, as a length."""
    low, high = min(start, end), max(start, end)
    a, b = max(low, x - OVERLAP / 2), min(high, x + OVERLAP / 2)
    if a > b:
        return 0.0
    return long if high - low < 1e-9 else long * (b - a) / (high - low)
