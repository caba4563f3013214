"""Recipes with folds of some layers: a search over stacks of panels."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from verify.construct.recipes.deepening import Child, Deepening
from verify.construct.recipes.lines import Line, Mirror, bisectors
from verify.construct.recipes.picture import CLEAR, different, is_known
from verify.construct.recipes.stack import Fold, Stack

# a family of folds, as `proofs/theory/searching.md` defines it
SOME = "folds of some layers that lay line on line"
Places = NDArray[np.float64]


@dataclass
class SomeLayers(Deepening[Stack]):
    """All recipes of a length of the folds of `SOME`.

    A fold that bends the outline where it is not symmetric is left out: such recipes fail (the mirror lemma of
    `searching.md`). A fold of all layers goes over (behind is the same but for the order of the two halves, and is not
    tried). What is thinner than a millionth of the sheet is not told from a line here.
    """

    def folds(self, paper: Stack) -> Iterator[Child[Stack]]:
        return folds_of(paper)

    def after(self, paper: Stack, fold: Fold) -> Stack | None:
        return paper.fold(fold, paper.steps + 1, slant=False)


def folds_of(stack: Stack) -> Iterator[Child[Stack]]:
    """The folds of the family that no clear sign rules out (in floats, generously: exact folding and the kernel
    decide).
    """
    lines = list(stack.lines())
    folds = [m for one, two in combinations(lines, 2) for m in bisectors(one, two)]
    if not folds:
        return
    view = _View(stack, lines)
    raw = np.array([(float(m.a), float(m.b), float(m.c)) for m in folds])
    raw /= np.hypot(raw[:, 0], raw[:, 1])[:, None]
    known: dict[tuple[int, ...], list[Mirror]] = {}
    for fold, plane in zip(folds, raw, strict=True):
        if is_known(fold, plane, view.clear, known):
            continue
        for way, line in ((1, fold), (-1, fold.turned())):
            for moving, over in view.choices(plane * way, way):
                yield Child(Fold(line, moving, over), view.lines_after(plane * way, moving))


class _View:
    """A stack in floats: what moves on one side of a line, and what lies on what."""

    def __init__(self, stack: Stack, lines: list[Line]) -> None:
        self.corners = [np.array([(float(p.x), float(p.y)) for p in panel.face.corners]) for panel in stack.panels]
        self.size = max(float(np.abs(c).max()) for c in self.corners) or 1.0
        self.clear = CLEAR * self.size
        self.count = len(stack.panels)
        self.lines = np.array([(float(x.a), float(x.b), float(x.c)) for x in lines])
        number_of = {line: number for number, line in enumerate(lines)}
        self.ink: list[Places] = []
        self.on: list[list[int]] = []
        for panel in stack.panels:
            ends, on = [], []
            for line, stretches in panel.ink:
                n = self.lines[number_of[line], :2]
                foot, along = n * self.lines[number_of[line], 2], np.array([-n[1], n[0]])
                ends += [(foot + along * float(s), foot + along * float(t)) for s, t in stretches]
                on += [number_of[line]] * len(stretches)
            self.ink.append(np.array(ends).reshape(-1, 2, 2))
            self.on.append(on)
        beside: dict[object, list[tuple[int, Places]]] = {}
        for number, panel in enumerate(stack.panels):
            for i, edge in enumerate(panel.face.edges):
                ends_ = self.corners[number][[i, (i + 1) % len(panel.face.edges)]]
                beside.setdefault(edge, []).append((number, ends_))
        self.joints = [(a[0][0], a[1][0], a[0][1]) for a in beside.values() if len(a) == 2]
        self.overlaps = []
        for low, high in combinations(range(self.count), 2):
            both = _common(self.corners[low], self.corners[high], self.clear)
            if both is not None:
                self.overlaps.append((low, high, both))

    def choices(self, plane: Places, way: int) -> Iterator[tuple[frozenset[int] | None, bool]]:
        """The sets of panels that can move beyond a line, and how."""
        n, c = plane[:2], plane[2]
        heights = [corner @ n - c for corner in self.corners]
        movable = [i for i in range(self.count) if heights[i].max() > self.clear]
        if not movable or all(h.min() > -self.clear for h in heights):
            return
        slanted = {i for i in movable if heights[i].min() < -self.clear and self._slanted(i, n, c)}
        group = {i: i for i in movable}

        def find(i: int) -> int:
            while group[i] != i:
                i = group[i]
            return i

        for a, b, ends in self.joints:
            if a in group and b in group and (ends @ n - c).max() > self.clear:
                group[find(a)] = find(b)
        parts: dict[int, set[int]] = {}
        for i in movable:
            parts.setdefault(find(i), set()).add(i)
        if way > 0 and not slanted:
            yield None, True
        if len(parts) == 1:
            return
        above: dict[int, set[int]] = {part: set() for part in parts}
        below: dict[int, set[int]] = {part: set() for part in parts}
        for low, high, both in self.overlaps:
            if (
                low in group
                and high in group
                and (one := find(low)) != (two := find(high))
                and (both @ n - c).max() > self.clear
            ):
                above[one].add(two)
                below[two].add(one)
        done: set[tuple[frozenset[int], bool]] = set()
        for part in parts:
            for order, over in ((above, True), (below, False)):
                moved = frozenset(i for p in _reach(order, part) for i in parts[p])
                if len(moved) < len(movable) and not moved & slanted and (moved, over) not in done:
                    done.add((moved, over))
                    yield moved, over

    def lines_after(self, plane: Places, moving: frozenset[int] | None) -> int:
        """At least so many lines carry the outline after a fold."""
        n, c = plane[:2], plane[2]
        stay: set[int] = set()
        move: set[int] = set()
        for panel, (ends, on) in enumerate(zip(self.ink, self.on, strict=True)):
            if moving is not None and panel not in moving:
                stay.update(on)
                continue
            for line, h in zip(on, ends @ n - c if on else (), strict=True):
                if h.max() > self.clear:
                    move.add(line)
                if h.min() < -self.clear:
                    stay.add(line)
        return different(self.lines, stay, move, plane, self.clear)

    def _slanted(self, panel: int, n: Places, c: float) -> bool:
        """Whether the line crosses a piece of the outline on the panel at a slant, clearly, and no other piece is near
        the place.
        """
        ends = self.ink[panel]
        if not len(ends):
            return False
        h = ends @ n - c
        crossing = (np.minimum(h[:, 0], h[:, 1]) < -self.clear) & (np.maximum(h[:, 0], h[:, 1]) > self.clear)
        step = ends[:, 1] - ends[:, 0]
        across = np.abs(step[:, 0] * n[1] - step[:, 1] * n[0]) > self.clear
        for k in np.flatnonzero(crossing & across):
            place = ends[k, 0] + step[k] * (h[k, 0] / (h[k, 0] - h[k, 1]))
            others = np.delete(ends, k, axis=0)
            if not len(others) or _distances(place, others).min() > self.clear:
                return True
        return False


def _distances(place: Places, pieces: Places) -> Places:
    """How far a place is from each of some pieces of lines."""
    way = pieces[:, 1] - pieces[:, 0]
    share = ((place - pieces[:, 0]) * way).sum(axis=1) / np.maximum((way * way).sum(axis=1), 1e-300)
    foot = pieces[:, 0] + way * np.clip(share, 0, 1)[:, None]
    away: Places = np.hypot(*(place - foot).T)
    return away


def _reach(order: dict[int, set[int]], part: int) -> set[int]:
    reached, todo = {part}, [part]
    while todo:
        new = order[todo.pop()] - reached
        reached |= new
        todo += new
    return reached


def _common(one: Places, two: Places, clear: float) -> Places | None:
    """What two convex polygons (counter-clockwise) have in common; None if that is as good as nothing."""
    polygon = one
    for i in range(len(two)):
        a, b = two[i - 1], two[i]
        step = b - a
        h = (step[0] * (polygon[:, 1] - a[1]) - step[1] * (polygon[:, 0] - a[0])) / max(float(np.hypot(*step)), 1e-300)
        if h.max() <= clear:
            return None
        if h.min() >= 0:
            continue
        kept = []
        for k in range(len(polygon)):
            if h[k - 1] * h[k] < 0:
                kept.append(polygon[k - 1] + (polygon[k] - polygon[k - 1]) * (h[k - 1] / (h[k - 1] - h[k])))
            if h[k] >= 0:
                kept.append(polygon[k])
        if len(kept) < 3:
            return None
        polygon = np.array(kept)
    return polygon
