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
from verify.pattern.document import IN_MM, Malformed
from verify.pattern.limits import Limits, positive
from verify.pattern.recipe import Alignment, FoldStep, Recipe

# Our own choices, no source: what a careful hand does, and what still looks straight.
ERROR_MM = 0.5
WIDTH_MM = 1.0
SAMPLES = 40
_HAIR = 1e-3
_JUMP = 100.0
_GRID = 10**9
_STOPS = 9

# Typical values, no standard: ISO 536 and ISO 534 say how grammage and thickness are measured, not what they are.
THICKNESS_MM = 0.1
GRAMMAGE = 80.0


@dataclass(frozen=True)
class FoldEffect:
    """How far edges of the outline move when one fold is off by one unit at both ends (dimensionless): the worst edge.

    `jump`: how much of the outline comes or goes with the smallest error (a length in the document's unit), as where a fold
    lies on the cut; it has no part in `worst`. An error with which a later step cannot be done has no part in either.
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
    scale = float(IN_MM[recipe.unit])
    error = ERROR_MM / scale if error is None else positive("error", error)
    width = WIDTH_MM / scale if width is None else positive("width", width)
    folded = carry_out(recipe, limits)
    nominal = cut_outline(folded)
    if nominal is None or not nominal.segments():
        raise ValueError("nothing is cut by one straight cut")
    edges = _rows(nominal)
    stops = _stops(edges)
    copy = _rational_copy(folded)
    steps = [k for k, step in enumerate(recipe.steps, start=1) if isinstance(step, FoldStep)]
    shifts: dict[int, Floats] = {}
    jumps: dict[int, float] = {}
    for k in steps:
        if progress:
            progress(f"bending step {k}")
        shifts[k], jumps[k] = _first_order(copy, limits, k, edges)
    whole = sum(shifts.values(), np.zeros(stops.shape[:2]))
    worst = float(whole.max(initial=0.0))
    rng = random.Random(seed)
    greatest: list[float] = []
    failed = 0
    for n in range(samples):
        if progress:
            progress(f"sample {n + 1} of {samples}")
        bends = {k: (rng.uniform(-error, error), rng.uniform(-error, error)) for k in steps}
        bent = _bent(copy, limits, bends)
        if bent is None or not len(bent):
            failed += 1
        else:
            greatest.append(float(_away(stops, bent).max(initial=0.0)))
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
        targets = [e for e in fold_map.subdivision.edges if e.is_cut]
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
    ends = [(s.vertices[e.start], s.vertices[e.end]) for e in s.edges if e.is_cut]
    return max(ends, key=lambda pair: float(advance(pair[0], pair[1], pair[1])))


Floats = NDArray[np.float64]


def _first_order(recipe: Recipe, limits: Limits, step: int, edges: Floats) -> tuple[Floats, float]:
    """What one fold does, off by a hair at one end and at the other: the shift of each place of the outline for one unit at both, and the jump.

    The shifts from the two ends are added place by place; of the two sides to which an end may be off the worse one counts.
    """
    stops = _stops(edges)
    lengths = _lengths(edges)
    total = np.zeros(stops.shape[:2])
    jump = 0.0
    for first, second in ((_HAIR, 0.0), (0.0, _HAIR)):
        shift = np.zeros(stops.shape[:2])
        for sign in (1, -1):
            bent = _bent(recipe, limits, {step: (sign * first, sign * second)})
            if bent is None:
                continue
            gone, come = _away(stops, bent), _away(_stops(bent), edges)
            shift = np.maximum(shift, np.where(gone < _JUMP * _HAIR, gone, 0.0))
            longer = float(abs(_lengths(bent).sum() - lengths.sum()))
            jump = max(
                jump, _far(gone, lengths), _far(come, _lengths(bent)), longer if longer >= _JUMP * _HAIR else 0.0
            )
        total += shift / _HAIR
    return total, jump


def _bent(recipe: Recipe, limits: Limits, bends: dict[int, tuple[float, float]]) -> Floats | None:
    """The straight pieces of the outline that is cut where folds are off (perhaps none); None if the folds cannot be done."""

    def bend(step: int, line: FoldLine, paper: Paper) -> FoldLine:
        return _displaced(line, bends.get(step, (0.0, 0.0)), paper)

    try:
        folded = carry_out(recipe, limits, bend)
    except Malformed:
        return None
    cut = cut_outline(folded)
    return _rows(cut) if cut is not None else None


def _far(away: Floats, lengths: Floats) -> float:
    """How much of the pieces is not where it was, by their places."""
    return float(((away >= _JUMP * _HAIR).mean(axis=1) * lengths).sum())


def _lengths(edges: Floats) -> Floats:
    lengths: Floats = np.hypot(edges[:, 2] - edges[:, 0], edges[:, 3] - edges[:, 1])
    return lengths


def _rows(cut: Outline) -> Floats:
    """The straight pieces of an outline, a row x, y, x, y for each."""
    return np.array([[float(c) for p in s for c in p] for s in cut.segments()]).reshape(-1, 4)


def _stops(edges: Floats) -> Floats:
    """Places along each straight piece of an outline, its corners left out."""
    t = ((np.arange(_STOPS) + 1) / (_STOPS + 1))[None, :, None]
    stops: Floats = edges[:, None, :2] * (1 - t) + edges[:, None, 2:] * t
    return stops


def _away(stops: Floats, edges: Floats) -> Floats:
    """How far each of the places is from the nearest of the pieces (without any: infinitely)."""
    a, e = edges[:, :2], edges[:, 2:] - edges[:, :2]
    v = stops[:, :, None, :] - a
    t = np.clip((v * e).sum(axis=3) / np.maximum((e * e).sum(axis=1), 1e-300), 0, 1)
    away: Floats = np.linalg.norm(v - t[..., None] * e, axis=3).min(axis=2, initial=np.inf)
    return away


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
        thickness = THICKNESS_MM * (positive("grammage", grammage) / GRAMMAGE if grammage is not None else 1.0)
    return layers * positive("thickness", thickness)
