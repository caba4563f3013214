"""Where names go: greedily, each at the free place round its point that hides least."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from math import cos, floor, pi, sin

from verify.exact.plane import around
from verify.show.page import XY, Box, box_round, middle_of

_CELL = 8.0
_RING = 1.8
_BESIDE, _HEAVY = 0.6, 4.0
_HIDDEN, _OUTSIDE = 40.0, 60.0  # what it costs a name to hide another one, and to lie outside the paper


class Labels:
    """Boxes and lines on a page (y up) for names to avoid; `inside`: loops (even-odd) in which they should lie."""

    def __init__(self, inside: Sequence[Sequence[XY]] = ()) -> None:
        self.boxes: list[Box] = []
        self._inside = [ends for loop in inside for ends in around(loop)]
        self._known: dict[tuple[XY, XY], bool] = {}  # whether each line is heavy
        self._lines: dict[tuple[int, int], dict[tuple[XY, XY], bool]] = {}  # the same by the cells that they cross

    def avoid_lines(self, walks: Iterable[Sequence[XY]], *, heavy: bool = False) -> None:
        """Lines that names should rather not cross, nor touch if they are `heavy`. Lines on each other count once."""
        for walk in walks:
            for a, b in itertools.pairwise(sorted(walk) if len(walk) == 2 else walk):
                ends = _rounded(a), _rounded(b)
                if self._known.get(ends) == heavy:
                    continue
                self._known[ends] = heavy
                steps = max(1, int(max(abs(a.x - b.x), abs(a.y - b.y)) / _CELL * 2))
                cells = {
                    self._cell(a.x + (b.x - a.x) * k / steps, a.y + (b.y - a.y) * k / steps) for k in range(steps + 1)
                }
                for cell in cells:
                    self._lines.setdefault(cell, {})[ends] = heavy

    def avoid_box(self, box: Box) -> None:
        self.boxes.append(box)

    def avoid_spot(self, at: XY, reach: float) -> None:
        """A square round a place, so far to each side, that names must not cover."""
        self.avoid_box(box_round(at, 2 * reach, 2 * reach))

    def is_free(self, box: Box) -> bool:
        """Whether a box (x0, y0, x1, y1) meets no other and no line."""
        return not any(_meet(box, other) for other in self.boxes) and not self._crossed(box)

    def place(self, at: XY, width: float, height: float, away: float = 1.2, need: bool = False) -> XY | None:
        """The lower left corner for a box near `at`; None if it would hide another (unless there is `need`)."""
        best: tuple[float, XY] | None = None
        rings = 5 if need else 3
        room = 2 * (away + rings * _RING)  # that all places to try need, with the box on either side
        whole = box_round(at, room + 2 * width, room + 2 * height)
        near = [other for other in self.boxes if _meet(whole, other)]
        for ring in range(rings):
            reach = away + ring * _RING
            for k in range(16):
                least = ring * 1.5 + (k % 4 != 0) * 0.2
                if best is not None and least >= best[0]:
                    continue
                angle = pi / 4 + k * pi / 8
                out = cos(angle) * (reach + width / 2), sin(angle) * (reach + height / 2)
                box = box_round(XY(at.x + out[0], at.y + out[1]), width, height)
                hits = sum(_meet(box, other) for other in near)
                if hits and not need:
                    continue
                least += hits * _HIDDEN
                if best is not None and least >= best[0]:
                    continue
                cost = least + self._crossed(box) * 3 + (0.0 if self._is_inside(box) else _OUTSIDE)
                if best is None or cost < best[0]:
                    best = cost, XY(box[0], box[1])
        if best is None or (not need and best[0] > 7):
            return None
        x, y = best[1]
        self.boxes.append((x, y, x + width, y + height))
        return best[1]

    def _is_inside(self, box: Box) -> bool:
        """Whether a box lies whole within the loops."""
        edges = self._inside
        if not edges:
            return True
        middle = middle_of(box)
        beyond = (
            a.x + (middle.y - a.y) / (b.y - a.y) * (b.x - a.x) for a, b in edges if (a.y > middle.y) != (b.y > middle.y)
        )
        return sum(x > middle.x for x in beyond) % 2 == 1 and not any(_cuts(box, a, b) for a, b in edges)

    def _cell(self, x: float, y: float) -> tuple[int, int]:
        return floor(x / _CELL), floor(y / _CELL)

    def _crossed(self, box: Box) -> float:
        (i0, j0), (i1, j1) = self._cell(box[0], box[1]), self._cell(box[2], box[3])
        near: dict[tuple[XY, XY], bool] = {}
        for cell in itertools.product(range(i0, i1 + 1), range(j0, j1 + 1)):
            near |= self._lines.get(cell, {})
        beside = (box[0] - _BESIDE, box[1] - _BESIDE, box[2] + _BESIDE, box[3] + _BESIDE)
        return sum(_HEAVY if heavy else 1 for (a, b), heavy in near.items() if _cuts(beside if heavy else box, a, b))


def _rounded(p: XY) -> XY:
    return XY(round(p.x, 2), round(p.y, 2))


def _meet(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _cuts(box: Box, a: XY, b: XY) -> bool:
    """Whether a segment meets a box (slabs)."""
    left, bottom, right, top = box
    if max(a.x, b.x) < left or min(a.x, b.x) > right or max(a.y, b.y) < bottom or min(a.y, b.y) > top:
        return False
    low, high = 0.0, 1.0
    for p, d, lo, hi in ((a.x, b.x - a.x, left, right), (a.y, b.y - a.y, bottom, top)):
        if abs(d) < 1e-12:
            if not lo <= p <= hi:
                return False
            continue
        t, u = sorted(((lo - p) / d, (hi - p) / d))
        low, high = max(low, t), min(high, u)
    return low <= high
