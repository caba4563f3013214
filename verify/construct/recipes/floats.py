"""Folded paper in floats: what a search looks at first, to skip folds that clearly lead nowhere.

Lines and folds are rows a, b, c: ax + by = c with a² + b² = 1. What is clear here is so; all else is decided exactly.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from verify.construct.recipes.lines import Mirror, Stretch, UnitLine
from verify.exact.plane import Point
from verify.exact.ragged import distinct, starts_of

CLEAR = 1e-6  # of the sheet's size: far above what floats are off by
_SHORTEST = 1e-9
Places = NDArray[np.float64]
Chosen = NDArray[np.bool_]


def places_of(places: Iterable[Point]) -> Places:
    """Places, a row each."""
    return np.array([(float(p.x), float(p.y)) for p in places])


def planes_of(lines: Iterable[UnitLine | Mirror]) -> Places:
    """Lines or folds, a row each."""
    rows = np.array([(float(x.a), float(x.b), float(x.c)) for x in lines])
    planes: Places = rows / np.hypot(rows[:, 0], rows[:, 1])[:, None]
    return planes


class Rows(NamedTuple):
    """Rows of places, at least one in each, laid end to end; `begin` is where each row begins."""

    places: Places
    begin: NDArray[np.intp]

    @staticmethod
    def of(rows: Sequence[Places]) -> Rows:
        counts = np.array([len(row) for row in rows], dtype=np.intp)
        return Rows(np.concatenate([*rows, np.empty((0, 2))]), starts_of(counts))

    def highest(self, planes: Places) -> Places:
        """How far the farthest place of each row (a column here) is beyond each line (a row here)."""
        heights = planes[:, :2] @ self.places.T - planes[:, 2:]
        return np.maximum.reduceat(heights, self.begin, axis=1)


def half_planes(polygon: Places) -> Places:
    """The lines along the sides of a convex polygon (counter-clockwise), which lies beyond them; without sides too
    short for a direction.
    """
    step = np.roll(polygon, -1, axis=0) - polygon
    size = np.hypot(step[:, 0], step[:, 1])
    sides = size > _SHORTEST * np.abs(polygon).max()
    inward = np.column_stack([-step[sides, 1], step[sides, 0]]) / size[sides, None]
    return np.column_stack([inward, (inward * polygon[sides]).sum(axis=1)])


def distances(places: Places, stretches: Places) -> Places:
    """How far each place is from each stretch, given by its two ends."""
    way = stretches[:, 1] - stretches[:, 0]
    off = places[:, None] - stretches[:, 0]
    share = (off * way).sum(axis=2) / np.maximum((way * way).sum(axis=1), 1e-300)
    away = off - way * np.clip(share, 0, 1)[:, :, None]
    found: Places = np.hypot(away[:, :, 0], away[:, :, 1])
    return found


class Drawn(NamedTuple):
    """An outline: its lines; for each of its stretches the two ends, and the number of its line."""

    lines: Places
    ends: Places
    on: NDArray[np.intp]

    @staticmethod
    def of(pieces: Iterable[tuple[UnitLine, Stretch]]) -> Drawn:
        """The outline that stretches of lines make up (at least one of them)."""
        every = list(pieces)
        number_of = {line: number for number, line in enumerate(dict.fromkeys(line for line, _ in every))}
        on = np.array([number_of[line] for line, _ in every], dtype=np.intp)
        lines = planes_of(number_of)
        a, b, c = lines[on].T[:, :, None]
        t = np.array([(float(low), float(high)) for _, (low, high) in every])
        return Drawn(lines, np.stack([a * c - b * t, b * c + a * t], axis=2), on)

    def least_after(self, fold: Places, clear: float, moves: Chosen) -> int:
        """So many lines at least carry it after a fold, if just these stretches move; what may be one counts once."""
        heights = self.ends @ fold[:2] - fold[2]
        images = self.lines[distinct(self.on[moves & (heights.max(axis=1) > clear)])]
        images = images - 2 * np.outer(images[:, :2] @ fold[:2], fold)
        stay = self.lines[distinct(self.on[~moves | (heights.min(axis=1) < -clear)])]
        every = np.concatenate([stay, images])
        ways = np.where(every[:, :2] @ every[:, :2].T > 0, 1.0, -1.0)
        off = np.abs(every[:, None, :] - ways[:, :, None] * every[None, :, :])
        alike = (off[:, :, :2] < CLEAR).all(axis=2) & (off[:, :, 2] < clear)
        count, left = 0, np.ones(len(every), dtype=bool)
        for i in range(len(every)):
            if left[i]:
                count += 1
                left &= ~alike[i]
        return max(count, 1)


def is_known(fold: Mirror, plane: Places, clear: float, known: dict[tuple[int, ...], list[Mirror]]) -> bool:
    """Whether a fold line is among those that were asked for before. Exact; `plane` is it in floats."""
    sign = 1 if plane[0] > CLEAR or (abs(plane[0]) <= CLEAR and plane[1] > 0) else -1
    place = tuple(np.round(plane * sign / np.array([CLEAR, CLEAR, clear])).astype(int).tolist())
    alike = known.setdefault(place, [])
    if any(
        fold.a * m.b == fold.b * m.a and fold.a * m.c == fold.c * m.a and fold.b * m.c == fold.c * m.b for m in alike
    ):
        return True
    alike.append(fold)
    return False
