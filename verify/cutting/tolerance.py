"""How true each fold must be: what errors of a hand do to the outline that is cut.

Each fold line is displaced at both ends of the fold, the rest of the recipe is carried out on the paper as it then lies, and the
outline that is cut is compared with the one that exact folding gives. Two ways: one fold at a time by a hair
(first-order analysis), and all folds at random within the error (sampling). These are estimates in floats, not
proofs; the folding itself is exact.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from verify.cutting.outcome import Outline, outline
from verify.exact.number import Number
from verify.exact.plane import Point, advance
from verify.folding.alignments import FoldLine
from verify.folding.simple import Folded, Paper, carry_out, folded_map
from verify.pattern.document import Malformed
from verify.pattern.limits import Limits
from verify.pattern.recipe import Alignment, FoldStep, Recipe

# Our own choices, no source: what a careful hand does, and what still looks straight.
ERROR_MM = 0.5
WIDTH_MM = 1.0
SAMPLES = 40
_HAIR = 1e-3
_JUMP = 100.0
_GRID = 10**9
_STOPS = 9
_MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}

# Typical values, no standard: ISO 536 and ISO 534 say how grammage and thickness are measured, not what they are.
THICKNESS_MM = 0.1
GRAMMAGE = 80.0


@dataclass(frozen=True)
class FoldEffect:
    """How far edges of the outline move when one fold is off by one unit at both ends (dimensionless): the worst edge.

    `jump`: a stretch so long (in the document's unit) that appears or disappears with the smallest error, as
    where a fold lies on the cut; it has no part in `worst`.
    """

    step: int
    words: str
    worst: float
    jump: float


@dataclass(frozen=True)
class Tolerance:
    """What errors of `error` (in the document's unit, at each end of each fold) do to the outline.

    `first_order`: the greatest shift of an edge if all folds are off in the worst way, to first order. `largest`, `typical`: the greatest and the
    median of the samples' greatest shift. `failed`: samples in which the folds could not be carried out or nothing was cut. `allowed`: the largest error
    for which every edge stays within `width`, to first order (None if no fold matters). `effects`: the folds, most important first. All are estimates.
    """

    error: float
    width: float
    samples: int
    first_order: float
    largest: float
    typical: float
    failed: int
    allowed: float | None
    effects: tuple[FoldEffect, ...]


def tolerance(
    recipe: Recipe,
    *,
    error: float | None = None,
    width: float | None = None,
    samples: int = SAMPLES,
    seed: int = 1,
    limits: Limits = Limits(),
    progress: Callable[[str], None] | None = None,
) -> Tolerance:
    """Estimate how true the folds of a recipe must be. Defaults: 0.5 mm at the ends of each fold, 1 mm for the edges.

    Assumes (and checks) that the recipe can be carried out and that its one straight cut cuts something: else ValueError.
    """
    scale = _MM[recipe.unit]
    error = ERROR_MM / scale if error is None else error
    width = WIDTH_MM / scale if width is None else width
    folded = carry_out(recipe, limits)
    nominal = cut_outline(folded)
    if nominal is None:
        raise ValueError("nothing is cut by one straight cut")
    stops = _stops(nominal)
    copy = _rational_copy(folded)
    steps = [k for k, step in enumerate(recipe.steps, start=1) if isinstance(step, FoldStep)]
    shifts: dict[int, NDArray[np.float64]] = {}
    jumps: dict[int, float] = {}
    for k in steps:
        if progress:
            progress(f"bending step {k}")
        total = np.zeros(len(stops))
        jumps[k] = 0.0
        for ends in ((1.0, 0.0), (0.0, 1.0)):
            found = _shift(copy, limits, {k: (ends[0] * _HAIR, ends[1] * _HAIR)}, stops)
            if found is not None:
                steady = found < _JUMP * _HAIR
                total += np.where(steady, found, 0.0) / _HAIR
                jumps[k] = max(jumps[k], float(np.where(steady, 0.0, found).max(initial=0.0)))
        shifts[k] = total
    whole = sum(shifts.values(), np.zeros(len(stops)))
    worst = float(whole.max(initial=0.0))
    rng = random.Random(seed)
    greatest: list[float] = []
    failed = 0
    for n in range(samples):
        if progress:
            progress(f"sample {n + 1} of {samples}")
        bends = {k: (rng.uniform(-error, error), rng.uniform(-error, error)) for k in steps}
        found = _shift(copy, limits, bends, stops)
        if found is None:
            failed += 1
        else:
            greatest.append(float(found.max(initial=0.0)))
    effects = [
        FoldEffect(k, recipe.steps[k - 1].words(), float(s.max(initial=0.0)), jumps[k]) for k, s in shifts.items()
    ]
    return Tolerance(
        error,
        width,
        samples,
        worst * error,
        max(greatest, default=0.0),
        float(np.median(greatest)) if greatest else 0.0,
        failed,
        width / worst if worst > 0 else None,
        tuple(sorted(effects, key=lambda e: (-e.worst, e.step))),
    )


def cut_outline(folded: Folded) -> Outline | None:
    """The outline that the recipe's one straight cut gives, exactly: along the line that it names, or else along its target's.

    None if a step cannot be done, or if there is no line to cut along.
    """
    if folded.refused is not None:
        return None
    fold_map, _ = folded_map(folded)
    line = folded.along
    if line is None:
        targets = [e for e in fold_map.subdivision.edges if e.target]
        if not targets:
            return None
        places = fold_map.subdivision.vertices
        edge = max(targets, key=lambda e: float(advance(places[e.start], places[e.end], places[e.end])))
        line = fold_map.images[edge.start], fold_map.images[edge.end]
    return outline(fold_map, line)


def _rational_copy(folded: Folded) -> Recipe:
    """The recipe on a fine grid, without target, cut along the longest stretch of it: what a bent folding starts from."""
    recipe, drawing = folded.recipe, folded.drawing
    points = {name: (_grid_text(p.x), _grid_text(p.y)) for name, p in drawing.places.items()}
    along = recipe.along
    if along is None:
        a, b = _cut_stretch(folded)
        one = next(x for x in _FRESH if x not in points)
        points[one] = _grid_text(a.x), _grid_text(a.y)
        two = next(x for x in _FRESH if x not in points)
        points[two] = _grid_text(b.x), _grid_text(b.y)
        along = Alignment("through", (one, two))
    base = replace(recipe.base, points=points, loops=(), paths=(), snips=None, raw=None)
    return replace(recipe, base=base, along=along)


_FRESH = [f"cut {n}" for n in range(1, 10)]


def _grid_text(value: Number) -> str:
    return str(Fraction(round(float(value) * _GRID), _GRID))


def _cut_stretch(folded: Folded) -> tuple[Point, Point]:
    """The longest target edge that lies in one piece on the folded paper, on the flat sheet."""
    s = folded_map(folded)[0].subdivision
    ends = [(s.vertices[e.start], s.vertices[e.end]) for e in s.edges if e.target]
    return max(ends, key=lambda pair: float(advance(pair[0], pair[1], pair[1])))


def _shift(
    recipe: Recipe, limits: Limits, bends: dict[int, tuple[float, float]], stops: NDArray[np.float64]
) -> NDArray[np.float64] | None:
    """How far each straight piece of the nominal outline is from what the bent folds cut; None if they cut nothing."""

    def bend(step: int, line: FoldLine, paper: Paper) -> FoldLine:
        return _displaced(line, bends.get(step, (0.0, 0.0)), paper)

    try:
        folded = carry_out(recipe, limits, bend)
    except Malformed:
        return None
    cut = cut_outline(folded)
    segments = cut.segments() if cut is not None else []
    if not segments:
        return None
    ends = np.array([[float(c) for p in s for c in p] for s in segments])
    a, e = ends[:, :2], ends[:, 2:] - ends[:, :2]
    flat = stops.reshape(-1, 2)
    v = flat[:, None, :] - a[None, :, :]
    t = np.clip((v * e).sum(axis=2) / np.maximum((e * e).sum(axis=1), 1e-300), 0, 1)
    away = np.linalg.norm(v - t[:, :, None] * e, axis=2).min(axis=1)
    result: NDArray[np.float64] = away.reshape(len(stops), _STOPS).max(axis=1)
    return result


def _stops(nominal: Outline) -> NDArray[np.float64]:
    """Places along each straight piece of the outline, its corners left out."""
    rows = []
    for a, b in nominal.segments():
        ax, ay, bx, by = float(a.x), float(a.y), float(b.x), float(b.y)
        t = (np.arange(_STOPS) + 1) / (_STOPS + 1)
        rows.append(np.stack([ax + (bx - ax) * t, ay + (by - ay) * t], axis=1))
    return np.array(rows).reshape(-1, _STOPS, 2)


def _displaced(line: FoldLine, by: tuple[float, float], paper: Paper) -> FoldLine:
    """The line moved sideways by so much at either end of the folded paper."""
    (ax, ay), (bx, by_) = ((float(p.x), float(p.y)) for p in line)
    length = float(np.hypot(bx - ax, by_ - ay))
    ux, uy = (bx - ax) / length, (by_ - ay) / length
    along = [(float(p.x) - ax) * ux + (float(p.y) - ay) * uy for p in paper.now.images]
    low, high = min(along), max(along)
    first, second = (
        Point(_grid(ax + ux * t - uy * off), _grid(ay + uy * t + ux * off)) for t, off in ((low, by[0]), (high, by[1]))
    )
    return first, second


def _grid(value: float) -> Number:
    return Number.of(Fraction(round(value * _GRID), _GRID))


def stack_thickness(layers: int, *, thickness: float | None = None, grammage: float | None = None) -> float:
    """The height in mm of so many layers, from the thickness of a sheet (mm) or its grammage (g/m²).

    Without either, 0.1 mm a sheet: typical of 80 g/m² office paper, no standard. From a grammage, thickness is taken in that proportion.
    """
    if thickness is None:
        thickness = THICKNESS_MM * (grammage / GRAMMAGE if grammage is not None else 1.0)
    return layers * thickness
