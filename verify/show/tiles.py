"""A sheet laid over pages: true scale, pages that overlap, register marks that lie on both of two neighbours."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil

from verify.show.scene import XY

Window = tuple[float, float, float, float]
OVERLAP = 12.0
MARGIN = 2.0


@dataclass(frozen=True)
class Tiles:
    """`columns` × `rows` windows of `width` × `height` mm over the sheet, from the upper left; neighbours share `OVERLAP` mm."""

    columns: int
    rows: int
    width: float
    height: float
    left: float
    top: float
    landscape: bool

    @property
    def count(self) -> int:
        return self.columns * self.rows

    def each(self) -> Iterator[tuple[int, int]]:
        """Row and column of each tile, in reading order."""
        for row in range(self.rows):
            for column in range(self.columns):
                yield row, column

    def window(self, row: int, column: int) -> Window:
        """The part of the sheet's plane on one page: left, bottom, right, top."""
        x = self.left + column * (self.width - OVERLAP)
        y = self.top - row * (self.height - OVERLAP)
        return x, y - self.height, x + self.width, y

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
                if column + 1 < self.columns:
                    yield XY(x1 - OVERLAP / 2, y0 + part * (y1 - y0))
                if row + 1 < self.rows:
                    yield XY(x0 + part * (x1 - x0), y0 + OVERLAP / 2)


def tiles(box: Window, portrait: tuple[float, float], landscape: tuple[float, float]) -> Tiles:
    """The fewest pages that hold a box of the plane with a little margin, upright or across; the box lies in their middle."""
    wide, high = box[2] - box[0] + 2 * MARGIN, box[3] - box[1] + 2 * MARGIN

    def laid(area: tuple[float, float], across: bool) -> Tiles:
        columns, rows = (
            max(1, ceil((need - OVERLAP) / (room - OVERLAP) - 1e-9))
            for need, room in zip((wide, high), area, strict=True)
        )
        span_x = columns * area[0] - (columns - 1) * OVERLAP
        span_y = rows * area[1] - (rows - 1) * OVERLAP
        return Tiles(
            columns,
            rows,
            *area,
            (box[0] + box[2] - span_x) / 2,
            (box[1] + box[3] + span_y) / 2,
            across,
        )

    return min(laid(portrait, False), laid(landscape, True), key=lambda t: (t.count, t.landscape))
