"""Recipes with folds of some layers: a search over stacks."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from itertools import combinations, compress
from typing import NamedTuple

import numpy as np

from verify.construct.recipes.deepening import Child, Deepening
from verify.construct.recipes.floats import (
    CLEAR,
    Chosen,
    Drawn,
    Places,
    Rows,
    half_planes,
    is_known,
    places_of,
    planes_of,
)
from verify.construct.recipes.lines import Mirror, bisectors
from verify.construct.recipes.stack import Fold, Stack, reach
from verify.exact.plane import around

# a family of folds, as `proofs/theory/searching.md` defines it
SOME = "folds of some layers that lay line on line"


class SomeLayers(Deepening[Stack]):
    """All recipes of a length of the folds of `SOME`, but those at a slant to the outline, which fail (the mirror lemma
    of `searching.md`), and all layers behind, which is as over. What is thinner than a millionth of the sheet is a line
    here.
    """

    def folds(self, paper: Stack) -> Iterator[Child[Stack]]:
        """Those that no clear sign rules out (in floats, generously: exact folding and the kernel decide)."""
        folds = [m for one, two in combinations(paper.ink, 2) for m in bisectors(one, two)]
        if not folds:
            return
        view = _View(paper)
        known: dict[tuple[int, ...], list[Mirror]] = {}
        planes = planes_of(folds)
        beyond = view.beyond(planes), view.beyond(-planes)
        splits = [here and there for here, there in zip(*(side.layers.any(axis=1) for side in beyond), strict=True)]
        for number, (fold, plane) in enumerate(zip(folds, planes, strict=True)):
            if not splits[number] or is_known(fold, plane, view.clear, known):
                continue
            for way, line, side in ((1, fold, beyond[0]), (-1, fold.turned(), beyond[1])):
                for moving, over in view.choices(side, number, way > 0):
                    yield Child(Fold(line, moving, over), view.lines_after(plane * way, moving))

    def after(self, paper: Stack, fold: Fold) -> Stack | None:
        return paper.fold(fold, paper.steps + 1, slant=False)


class _Beyond(NamedTuple):
    """For lines (a row each) which layers, hinges and overlaps of layers reach beyond, and which layers are `fixed`."""

    layers: Chosen
    hinges: Chosen
    overlaps: Chosen
    fixed: Chosen


class _View:
    """A stack in floats: what moves on one side of a line, and what lies on what."""

    def __init__(self, stack: Stack) -> None:
        polygons = [places_of(layer.face.corners) for layer in stack.layers]
        self.layers = Rows.of(polygons)
        self.clear = CLEAR * float(np.abs(self.layers.places).max())
        pieces = [
            (number, line, stretch)
            for number, layer in enumerate(stack.layers)
            for line, stretches in layer.ink.items()
            for stretch in stretches
        ]
        self.drawn = Drawn.of((line, stretch) for _, line, stretch in pieces)
        self.layer_of = np.array([number for number, _, _ in pieces])
        self.holds = self.layer_of[:, None] == np.arange(len(polygons))  # which stretches hold which layers at a slant
        self.holds[:, self.layer_of[self._crossed()]] = False
        self.joints = [(one, two) for one, two, _ in stack.joints]
        self.hinges = Rows.of([places_of(ends) for _, _, ends in stack.joints])
        sides = [half_planes(polygon) for polygon in polygons]
        common = {
            (low, high): _common(polygons[low], sides[high], self.clear)
            for low, high in combinations(range(len(polygons)), 2)
        }
        self.overlapping = [pair for pair, both in common.items() if both is not None]
        self.overlaps = Rows.of([both for both in common.values() if both is not None])

    def _crossed(self) -> Chosen:
        """Which stretches cross others of their layer: where they do, a fold at a slant may run along a bisector."""
        lines, ends = self.drawn.lines[self.drawn.on], self.drawn.ends
        heights = (lines[:, :2] @ ends.reshape(-1, 2).T - lines[:, 2:]).reshape(len(ends), -1, 2)
        across = (heights.min(axis=2) < -self.clear / 2) & (heights.max(axis=2) > self.clear / 2)
        crossed: Chosen = (across & across.T & (self.layer_of[:, None] == self.layer_of)).any(axis=1)
        return crossed

    def beyond(self, planes: Places) -> _Beyond:
        """What lies beyond lines, and what they cannot fold: outline that clearly crosses them at a slant."""
        ends = self.drawn.ends
        heights = (planes[:, :2] @ ends.reshape(-1, 2).T - planes[:, 2:]).reshape(len(planes), -1, 2)
        across = (heights.min(axis=2) < -self.clear) & (heights.max(axis=2) > self.clear)
        slanted = across & (np.abs(planes[:, :2] @ self.drawn.lines[self.drawn.on, :2].T) > CLEAR)
        layers, hinges, overlaps = (rows.highest(planes) for rows in (self.layers, self.hinges, self.overlaps))
        fixed: Chosen = slanted.astype(int) @ self.holds > 0
        return _Beyond(layers > self.clear, hinges > self.clear, overlaps > self.clear, fixed)

    def choices(self, beyond: _Beyond, line: int, all_layers: bool) -> Iterator[tuple[frozenset[int] | None, bool]]:
        """The sets of layers that can move beyond a line, with all that hangs or lies on them; whether they go over."""
        movable, fixed = (set(np.flatnonzero(of[line]).tolist()) for of in (beyond.layers, beyond.fixed))
        if movable <= fixed:
            return
        if all_layers and not fixed:
            yield None, True
        with_above: dict[int, set[int]] = defaultdict(set)
        with_below: dict[int, set[int]] = defaultdict(set)
        for one, two in compress(self.joints, beyond.hinges[line]):
            for with_ in (with_above, with_below):
                with_[one].add(two)
                with_[two].add(one)
        for low, high in compress(self.overlapping, beyond.overlaps[line]):
            with_above[low].add(high)
            with_below[high].add(low)
        held = {True: reach(fixed, with_below), False: reach(fixed, with_above)}
        done: set[tuple[frozenset[int], bool]] = set()
        for i in sorted(movable):
            for with_, over in ((with_above, True), (with_below, False)):
                if i in held[over]:
                    continue
                moved = frozenset(reach([i], with_))
                if len(moved) < len(movable) and (moved, over) not in done:
                    done.add((moved, over))
                    yield moved, over

    def lines_after(self, plane: Places, moving: frozenset[int] | None) -> int:
        """At least so many lines carry the outline after a fold."""
        moves = np.array([moving is None or layer in moving for layer in self.layer_of.tolist()])
        return self.drawn.least_after(plane, self.clear, moves)


def _common(polygon: Places, sides: Places, clear: float) -> Places | None:
    """What a convex polygon has in common with half planes; None if that is as good as nothing."""
    for plane in sides:
        heights = polygon @ plane[:2] - plane[2]
        if heights.max() <= clear:
            return None
        if heights.min() >= 0:
            continue
        kept = []
        for (p, q), (h, k) in zip(around(list(polygon)), around(list(heights)), strict=True):
            if h >= 0:
                kept.append(p)
            if h * k < 0:
                kept.append(p + (q - p) * (h / (h - k)))
        if len(kept) < 3:
            return None
        polygon = np.array(kept)
    return polygon
