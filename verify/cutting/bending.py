"""A recipe carried out with folds that are off: what that does to paper and outline. On a grid."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from math import isqrt

import numpy as np
from numpy.typing import NDArray

from verify.cutting.outcome import Outline, outline
from verify.exact.number import Number
from verify.exact.plane import Point, advance, between, difference, dot
from verify.folding.alignments import FoldLine
from verify.folding.paper import Paper
from verify.folding.steps import Folded, carry_out
from verify.pattern.arrangement import subdivide
from verify.pattern.drawing import draw
from verify.pattern.limits import Limits
from verify.pattern.recipe import Alignment, Recipe
from verify.pattern.source import Malformed
from verify.pattern.subdivision import Subdivision

Floats = NDArray[np.float64]
_GRID = 10**9
_FINE = 10**12
_WITHIN = Fraction(1, 10)  # of a target edge from either end: where the scissors are laid along it
_FRESH = [f"cut {n}" for n in range(1, 10)]


@dataclass(frozen=True)
class FoldingFailed:
    """Why a folding with errors came to nothing: the step that could not be done and the kind of its refusal ("no-mark"
    for a mark that is not there), or step None and kind "nothing-cut"."""

    step: int | None
    kind: str


class Bending:
    """The recipe on a fine grid, without its target, cut along a stretch of it: what a folding with errors starts
    from.
    """

    def __init__(self, folded: Folded, limits: Limits) -> None:
        recipe, drawing = folded.recipe, folded.drawing
        self.limits = limits
        points = {name: (_grid_text(p.x), _grid_text(p.y)) for name, p in drawing.places.items()}
        along = recipe.along
        if along is None:
            ends = [next(x for x in _FRESH if x not in points)]
            ends.append(next(x for x in _FRESH if x not in points and x not in ends))
            points |= {name: (_grid_text(p.x), _grid_text(p.y)) for name, p in zip(ends, _stretch(folded), strict=True)}
            along = Alignment("through", (ends[0], ends[1]))
        self.recipe: Recipe = replace(
            recipe, points=points, loops=(), paths=(), figure=(), snips=None, raw=None, along=along
        )

    @cached_property
    def sheet(self) -> Subdivision:
        """The flat sheet, before any fold."""
        return subdivide(draw(self.recipe.base, self.limits), self.limits)

    def cut(self, bends: Mapping[int, tuple[float, float]]) -> Floats | FoldingFailed:
        """The straight pieces of the outline that is cut, a row x, y, x, y for each, where the folds of these steps are
        displaced at their two ends (in the document's unit)."""
        try:
            folded = carry_out(self.recipe, self.limits, _Errors(self.sheet, bends))
        except Malformed as error:
            places = self.recipe.places
            return FoldingFailed(places.index(error.place) + 1 if error.place in places else None, "no-mark")
        if folded.refused is not None:
            return FoldingFailed(folded.refused.step, folded.refused.kind)
        cut = cut_outline(folded)
        found = rows(cut) if cut is not None else np.zeros((0, 4))
        return found if len(found) else FoldingFailed(None, "nothing-cut")


@dataclass(frozen=True)
class _Errors:
    """How far the folds of some steps are off at their two ends."""

    sheet: Subdivision
    bends: Mapping[int, tuple[float, float]]

    def line(self, step: int, line: FoldLine, paper: Paper) -> FoldLine:
        return _displaced(line, self.bends.get(step, (0.0, 0.0)), paper)

    def root(self, x: Number) -> Number:
        """To 12 decimals or so."""
        low, _ = x.enclosure(96)
        return Number.of(Fraction(isqrt(max(0, int(low * _FINE * _FINE))), _FINE))


def cut_outline(folded: Folded) -> Outline | None:
    """The outline that the recipe's one straight cut gives, exactly: along the line that it names, or else along its
    target's.

    None if a step cannot be done, or if there is no line to cut along.
    """
    if folded.refused is not None:
        return None
    fold_map = folded.fold_map
    line = folded.along
    if line is None:
        targets = [e for e in fold_map.subdivision.edges if e.is_cut]
        if not targets:
            return None
        places = fold_map.subdivision.vertices
        edge = max(targets, key=lambda e: float(advance(places[e.start], places[e.end], places[e.end])))
        line = fold_map.images[edge.start], fold_map.images[edge.end]
    return outline(fold_map, line)


def rows(cut: Outline) -> Floats:
    """The straight pieces of an outline, a row x, y, x, y for each."""
    return np.array([[float(c) for p in s for c in p] for s in cut.segments()]).reshape(-1, 4)


def _stretch(folded: Folded) -> tuple[Point, Point]:
    """Two places inside the longest target edge that lies in one piece on the folded paper.

    Not its ends: these lie on folds, and where a fold is off they would lie on one side of it or the other.
    """
    s = folded.fold_map.subdivision
    ends = [(s.vertices[e.start], s.vertices[e.end]) for e in s.edges if e.is_cut]
    a, b = max(ends, key=lambda pair: float(advance(pair[0], pair[1], pair[1])))
    return between(a, b, _WITHIN), between(b, a, _WITHIN)


def _displaced(line: FoldLine, by: tuple[float, float], paper: Paper) -> FoldLine:
    """The line moved sideways by so much at either end of the folded paper."""
    a, d = line[0], difference(line[1], line[0])
    share = dot(difference(paper.now.images[0], a), d) / dot(d, d)
    foot = between(*line, share)  # near the paper, however far the line's two places are
    ax, ay, dx, dy = map(float, (foot.x, foot.y, d.x, d.y))
    length = float(np.hypot(dx, dy))
    ux, uy = dx / length, dy / length
    along = [(float(p.x) - ax) * ux + (float(p.y) - ay) * uy for p in paper.now.images]
    low, high = min(along), max(along)
    first, second = (
        Point(_grid(ax + ux * t - uy * off), _grid(ay + uy * t + ux * off)) for t, off in ((low, by[0]), (high, by[1]))
    )
    return first, second


def _grid(value: float) -> Number:
    return Number.of(Fraction(round(value * _GRID), _GRID))


def _grid_text(value: Number) -> str:
    return str(Fraction(round(float(value) * _GRID), _GRID))
