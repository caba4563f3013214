"""Folding tolerance, how true each fold must be: what errors of the hand do to the outline that is cut.

Each fold line is displaced at both ends of the fold, the recipe goes on on the paper as it then lies, and what is cut
is compared with the exact outline. All folds at random within an error (samples) say how true the folds must be; one
fold by a hair, which matter most, and where a fold lies on the cut, so that a stretch of the outline comes or goes
however small the error is. Estimates in floats, no proofs.
"""

from __future__ import annotations

import math
import random
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path
from statistics import median

import numpy as np
from numpy.typing import NDArray

from verify.cutting.bending import Bending, FoldingFailed, Pieces, cut_outline, is_measurable
from verify.exact.ragged import chunks, starts_of
from verify.folding.steps import Folded, carry_out
from verify.pattern.document import IN_MM
from verify.pattern.limits import Limits, Progress, positive, silent
from verify.pattern.recipe import FoldStep, Recipe

Floats = NDArray[np.float64]
Places = NDArray[np.complex128]

# Our own choices, no source: what a careful hand does, and what still looks straight.
ERROR_MM = 0.5
WIDTH_MM = 1.0
SAMPLES = 40
# How true folds may be asked to be: the errors that are tried, in mm.
TRIED_MM = tuple(m * 10.0**k for k in range(-2, 2) for m in (1, 1.5, 2, 3, 5, 7))
_HAIR_MM = 1e-3
_JUMP = 100.0  # times a hair: what moves farther comes or goes
_NOISE = 1e-6  # times a hair: what moves less does not move
_STOPS = 9
_AT_ONCE = 1 << 14  # so few that they stay in the processor's caches
_NO_PIECES: Pieces = np.zeros((0, 2), dtype=complex)

# Typical values, no standard: ISO 536 and ISO 534 say how grammage and thickness are measured, not what they are.
THICKNESS_MM = 0.1
GRAMMAGE = 80.0


@dataclass(frozen=True)
class FoldEffect:
    """How far edges of the outline move at most when one fold is off by a hair at both ends, as a multiple of it.

    `jump`: how much comes or goes with the smallest error (a length in the document's unit; no part of `worst`): the
    greater of `uncut`, of the outline, and `beside` it (cuts over each other once). Errors that a later step stops do
    not count.
    """

    step: int
    worst: float
    jump: float
    uncut: float = 0.0
    beside: float = 0.0


@dataclass(frozen=True)
class Tolerance:
    """What errors of up to `error` (in the document's unit, at each end of each fold) do to the outline. All are
    estimates.

    `largest`, `typical`: the greatest and the median of the samples' greatest shift of an edge, either way between the
    outlines, but for stretches that come or go with the smallest error. `failed`: samples in which the folds could not
    be carried out or nothing was cut, with the `failures`. The errors of a sample are even and independent; so the
    chance that one folding more goes beyond `largest`, or fails where none did, is 1 / (samples + 1). `allowed`: the
    greatest of the errors tried (`TRIED_MM`) at which all samples were cut and kept every edge within `width`, and so
    at all lesser ones tried; None if there is none, or if no fold matters (then `largest` and `failed` are 0).
    `refused`: the least error tried at which a sample did not. `first_order`: the greatest shift if all folds are off
    in the worst way, were it as with a hair. `outline`: its length. `effects`: the folds, most important first.
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
    refused: float | None = None
    failures: tuple[tuple[FoldingFailed, int], ...] = ()
    outline: float = 0.0


Bends = Mapping[int, tuple[float, float]]


class _Study:
    """One recipe's outline, and what of it comes or goes with a hair."""

    def __init__(self, bending: Bending, edges: Pieces, hair: float) -> None:
        self.bending, self.hair, self.reach = bending, hair, _JUMP * hair
        self.edges, self.stops, self.lengths = edges, _stops(edges), _lengths(edges)
        self.steady = np.ones(self.stops.shape, dtype=bool)  # places that no hair brings or takes away
        self.beside: list[Pieces] = []  # what is cut elsewhere with a hair

    def effect(self, step: int) -> tuple[Floats, FoldEffect]:
        """What a fold does, off by a hair at its ends: how far each place moves for one unit at both, at worst."""
        total = np.zeros(self.stops.shape)
        uncut = beside = 0.0
        for first, second in ((self.hair, 0.0), (0.0, self.hair)):
            shift = np.zeros(self.stops.shape)
            for sign in (1, -1):
                bent = self.bending.cut({step: (sign * first, sign * second)})
                if isinstance(bent, FoldingFailed):
                    if bent.step is not None:
                        continue
                    bent = _NO_PIECES
                gone = self._moved(self.stops, bent)
                here = gone < self.reach
                shift = np.maximum(shift, np.where(here, gone, 0.0))
                self.steady &= here
                uncut = max(uncut, float(((~here).mean(axis=1) * self.lengths).sum()))
                new = self._elsewhere(bent)
                self.beside.append(new)
                beside = max(beside, float(_lengths(new).sum()))
            total += shift / self.hair
        uncut, beside = (length if length >= self.reach else 0.0 for length in (uncut, beside))
        return total, FoldEffect(step, float(total.max(initial=0.0)), max(uncut, beside), uncut, beside)

    def _elsewhere(self, bent: Pieces) -> Pieces:
        """The parts of what is cut that lie off the outline; those that lie over each other once."""
        found: list[Pieces] = []
        bent = bent[np.argsort(-_lengths(bent))]
        far = away(_stops(bent), self.edges) >= self.reach
        for n in np.flatnonzero(far.any(axis=1)):
            piece, new = bent[n, None], far[n]
            if found:
                new &= away(_stops(piece), np.concatenate(found))[0] >= self.reach
            found += [part for part in _parts(piece, new) if _lengths(part)[0] >= self.reach]
        return np.concatenate([_NO_PIECES, *found])

    def shifts(self, every: Sequence[Pieces]) -> Iterator[float]:
        """How far edges moved in each of some foldings: from the outline to what is cut, and back."""
        for rows in chunks(self.stops.size * np.array([len(bent) for bent in every]), _AT_ONCE):
            yield from self._shifts(every[rows]).tolist()

    def _shifts(self, every: Sequence[Pieces]) -> Floats:
        counts, bent = np.array([len(bent) for bent in every]), np.concatenate(every)
        begin = starts_of(counts)
        nearest = np.minimum.reduceat(_squares(self.stops[self.steady], bent), begin, axis=-1)
        gone: Floats = self._noiseless(np.sqrt(nearest)).max(axis=0, initial=0.0)
        stops = _stops(bent)
        come = self._moved(stops, self.edges)
        far = come > np.repeat(gone, counts)[:, None]  # no other place matters
        come[far] = np.minimum(come[far], self._moved(stops[far], np.concatenate([_NO_PIECES, *self.beside])))
        back = np.maximum.reduceat(np.where(far, come, 0.0).max(axis=1), begin)
        return np.maximum(gone, back)

    def _moved(self, stops: Places, edges: Pieces) -> Floats:
        """How far places are from the pieces of an outline, but for the noise of floats."""
        return self._noiseless(away(stops, edges))

    def _noiseless(self, distances: Floats) -> Floats:
        return np.where(distances < _NOISE * self.hair, 0.0, distances)


def tolerance(
    recipe: Recipe | Folded | str | Path,
    *,
    error: float | None = None,
    width: float | None = None,
    samples: int = SAMPLES,
    seed: int = 1,
    tried: Sequence[float] | None = None,
    limits: Limits = Limits(),
    progress: Progress | None = None,
) -> Tolerance:
    """Estimate how true the folds of a recipe (carried out or not, or the file of one) must be; defaults: 0.5 mm at the
    ends of each fold, 1 mm for the edges, the errors `TRIED_MM` (rising; all in the document's unit). In floats; it
    proves nothing. ValueError if the recipe cannot be carried out, its cut cuts nothing, or the sheet is beyond floats.
    """
    folded = recipe if isinstance(recipe, Folded) else carry_out(recipe, limits)
    recipe = folded.recipe
    scale = float(IN_MM[recipe.unit])
    error = ERROR_MM / scale if error is None else positive("error", error)
    width = WIDTH_MM / scale if width is None else positive("width", width)
    if not is_measurable(folded, error):
        raise ValueError("the sheet is too large or too small for floats")
    nominal = cut_outline(folded)
    if nominal is None or not nominal.segments():
        raise ValueError("nothing is cut by one straight cut")
    bending = Bending(folded, limits)
    study = _Study(bending, bending.pieces(nominal), _HAIR_MM / scale)
    steps = [k for k, step in enumerate(recipe.steps, start=1) if isinstance(step, FoldStep)]
    say = progress or silent
    effects: list[FoldEffect] = []
    whole = np.zeros(study.stops.shape)
    for k in steps:
        say(f"bending step {k}")
        shift, effect = study.effect(k)
        whole += shift
        effects.append(effect)
    rng = random.Random(seed)
    errors = [{k: (rng.uniform(-1, 1), rng.uniform(-1, 1)) for k in steps} for _ in range(samples)]
    cuts: list[Pieces | FoldingFailed] = []
    for n, bends in enumerate(_times(errors, error), start=1):
        say(f"sample {n} of {samples}")
        cuts.append(bending.cut(bends))
    failures = Counter(cut for cut in cuts if isinstance(cut, FoldingFailed))
    shifts = list(study.shifts([cut for cut in cuts if not isinstance(cut, FoldingFailed)]))
    ahead = iter(shifts)
    moved = [math.inf if isinstance(cut, FoldingFailed) else next(ahead) for cut in cuts]
    worst, largest = float(whole.max(initial=0.0)), max(shifts, default=0.0)
    allowed = refused = None
    if largest > 0 or failures:
        guess = error * width / largest if largest > 0 else error
        tried = [e / scale for e in TRIED_MM] if tried is None else tried
        worst_first = [errors[n] for n in np.argsort(-np.array(moved))]  # so that what does not hold ends soon

        def holds(at_most: float) -> bool:
            if at_most == error:
                return max(moved) <= width
            say(f"trying {at_most:g}")
            found = map(bending.cut, _times(worst_first, at_most))
            return all(not isinstance(cut, FoldingFailed) and max(study.shifts([cut])) <= width for cut in found)

        allowed, refused = _held(holds, tried, guess)
    return Tolerance(
        error,
        width,
        samples,
        worst * error,
        largest,
        median(shifts) if shifts else 0.0,
        failures.total(),
        allowed,
        tuple(sorted(effects, key=lambda e: (-float(f"{e.worst:.3g}"), e.step))),  # as printed: the rest is noise
        refused,
        tuple(sorted(failures.items(), key=lambda f: (-f[1], f[0].step or 0))),
        float(study.lengths.sum()),
    )


def _times(samples: Sequence[Bends], error: float) -> Iterator[Bends]:
    """What the folds of each sample are off by; `samples` from -1 to 1."""
    for sample in samples:
        yield {k: (error * a, error * b) for k, (a, b) in sample.items()}


def _held(holds: Callable[[float], bool], tried: Sequence[float], guess: float) -> tuple[float | None, float | None]:
    """The greatest error tried at which all samples held, and the least above it, from a guess up or down."""
    k = max((n for n, e in enumerate(tried) if e <= guess), default=0)
    if holds(tried[k]):
        while k + 1 < len(tried) and holds(tried[k + 1]):
            k += 1
        return tried[k], tried[k + 1] if k + 1 < len(tried) else None
    while k > 0:
        k -= 1
        if holds(tried[k]):
            return tried[k], tried[k + 1]
    return None, tried[0]


def away(stops: Places, edges: Pieces) -> Floats:
    """How far each of the places is from the nearest of the pieces (without any: infinitely)."""
    found: Floats = np.sqrt(_squares(stops, edges).min(axis=-1, initial=np.inf))
    return found


def _squares(stops: Places, edges: Pieces) -> Floats:
    """The squared distance of each place (in the last axis) from each of the pieces."""
    along, lengths = edges[:, 1] - edges[:, 0], _lengths(edges)
    way = along / np.where(lengths > 0, lengths, 1.0)
    middle = edges.mean(axis=1) * way.conj()
    places = np.stack([stops.real, stops.imag, np.ones(stops.shape)], axis=-1)
    ahead = places @ np.stack([way.real, way.imag, -middle.real])  # along each piece, from its middle
    aside = places @ np.stack([-way.imag, way.real, -middle.imag])
    beyond = np.maximum(np.abs(ahead) - lengths / 2, 0.0)
    found: Floats = beyond**2 + aside**2
    return found


def _lengths(edges: Pieces) -> Floats:
    return np.abs(edges[:, 1] - edges[:, 0])


def _stops(edges: Pieces) -> Places:
    """Places along each straight piece of an outline, its corners left out."""
    t = (np.arange(_STOPS) + 1) / (_STOPS + 1)
    return edges[:, :1] * (1 - t) + edges[:, 1:] * t


def _parts(piece: Pieces, which: NDArray[np.bool_]) -> Iterator[Pieces]:
    """The parts of a straight piece round the stops that are chosen."""
    a, b = piece[:, :1], piece[:, 1:]
    for is_chosen, run in groupby(range(_STOPS), key=which.tolist().__getitem__):
        if is_chosen:
            numbers = list(run)
            low, high = numbers[0] / _STOPS, (numbers[-1] + 1) / _STOPS
            yield np.concatenate([a + (b - a) * low, a + (b - a) * high], axis=1)


def stack_thickness(layers: int, *, thickness: float | None = None, grammage: float | None = None) -> float:
    """The height in mm of so many layers, from the thickness of a sheet (mm) or, in proportion, its grammage (g/m²);
    else of 0.1 mm a sheet, typical of 80 g/m² office paper, no standard.
    """
    if thickness is None:
        thickness = THICKNESS_MM * (positive("grammage", grammage) / GRAMMAGE if grammage is not None else 1.0)
    return layers * positive("thickness", thickness)
