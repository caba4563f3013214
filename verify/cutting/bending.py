"""The outline that a recipe cuts: exactly, and with folds that are off, in floats."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from verify.cutting.float_paper import FloatPaper
from verify.cutting.outcome import Outline, outline
from verify.exact.plane import Point, advance, between, difference
from verify.folding.paper import CannotBeDone
from verify.folding.steps import Folded
from verify.pattern.arrangement import subdivide
from verify.pattern.drawing import draw
from verify.pattern.limits import Limits
from verify.pattern.recipe import UnfoldStep

Pieces = NDArray[np.complex128]
"""Straight pieces of an outline, a row of two ends for each; places are complex numbers."""

_BEYOND = 10**75
_LOST = 10**9  # of this size nothing is left in floats beside a length of 1
_WITHIN = Fraction(1, 10)  # of a target edge from either end: where the scissors are laid along it


@dataclass(frozen=True)
class FoldingFailed:
    """Why a folding with errors came to nothing: the step that could not be done and the kind of its refusal ("no-mark"
    for a mark that is not there), or step None and kind "nothing-cut"."""

    step: int | None
    kind: str


class Bending:
    """What a folding with errors starts from: the sheet without its target, marks, steps, and the line to cut along,
    or, where the recipe names none, a `stretch` of the target by two places. `papers`: the sheet before each step (as
    far as these can be done) while no fold is off.
    """

    def __init__(self, folded: Folded, limits: Limits) -> None:
        bare = replace(folded.recipe.base, loops=(), paths=(), figure=(), snips=None, raw=None)
        sheet = subdivide(draw(bare, limits), limits)
        self.origin = sheet.vertices[0]
        self.steps, self.along = folded.recipe.steps, folded.recipe.along
        self.stretch = [] if self.along is not None else [self._place(p) for p in _stretch(folded)]
        vertices = [self._place(p) for p in sheet.vertices]
        marks = {name: self._place(p) for name, p in folded.drawing.places.items()}
        unfolds = any(isinstance(step, UnfoldStep) for step in self.steps)
        paper = FloatPaper(vertices, sheet.faces, marks, keeps=unfolds)
        self.papers = [paper.copy()]
        with suppress(CannotBeDone):
            for number, step in enumerate(self.steps[:-1], start=1):
                paper.take(number, step, (0.0, 0.0))
                self.papers.append(paper.copy())

    def _place(self, place: Point) -> complex:
        """A place of the sheet, from a corner of it: so floats are exact enough wherever the sheet lies."""
        off = difference(place, self.origin)
        return complex(float(off.x), float(off.y))

    def pieces(self, cut: Outline) -> Pieces:
        return np.array([[self._place(p) for p in segment] for segment in cut.segments()]).reshape(-1, 2)

    def cut(self, bends: Mapping[int, tuple[float, float]]) -> Pieces | FoldingFailed:
        """The outline that is cut where folds of these steps are off at their two ends (in the document's unit)."""
        done = min(min(bends, default=1), len(self.papers)) - 1
        paper = self.papers[done].copy()
        for number, step in enumerate(self.steps[done:], start=done + 1):
            try:
                paper.take(number, step, bends.get(number, (0.0, 0.0)))
            except CannotBeDone as error:
                return FoldingFailed(number, error.kind)
        try:
            line = paper.aligned(self.along) if self.along else paper.through(*map(paper.image, self.stretch))
        except CannotBeDone:
            return FoldingFailed(None, "no-mark")
        pieces = paper.cut_along(line)
        return np.array(pieces) if pieces else FoldingFailed(None, "nothing-cut")


def is_measurable(folded: Folded, error: float) -> bool:
    """Whether floats hold lengths of the sheet, and their squares, also where a fold is so far off."""
    a, *others = folded.paper.vertices
    widest = max(abs(c) for p in others for c in difference(p, a))
    return max(Fraction(1, _BEYOND), Fraction(error) / _LOST) < widest < _BEYOND


def cut_outline(folded: Folded) -> Outline | None:
    """The outline of the one straight cut along the recipe's or the target's line, exactly; None if there is no such
    line, or a step cannot be done.
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


def _stretch(folded: Folded) -> tuple[Point, Point]:
    """Two places inside the longest target edge on the folded paper: not its ends, which lie on folds."""
    s = folded.fold_map.subdivision
    ends = [s.segment(e) for e in s.edges if e.is_cut]
    a, b = max(ends, key=lambda pair: float(advance(pair[0], pair[1], pair[1])))
    return between(a, b, _WITHIN), between(b, a, _WITHIN)
