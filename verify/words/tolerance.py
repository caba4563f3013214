"""The folding tolerance in sentences. Estimates, not proofs."""

from __future__ import annotations

from collections.abc import Iterator

from verify.cutting.bending import Failure
from verify.cutting.tolerance import Tolerance

_WHY = {
    "blocked": "another layer is in the way",
    "few-layers": "the layers are not where it wants them",
    "no-solution": "it has no fold line, or its mark comes to lie on it",
    "no-mark": "a mark is not where it was",
}


def advice_lines(t: Tolerance, unit: str) -> Iterator[str]:
    """How true the folds must be, from what held in the samples."""
    if t.allowed is not None:
        beyond = f"; with {t.refused:g} {unit} not in all" if t.refused is not None else ""
        yield (
            f"fold true to {t.allowed:g} {unit} at the ends of each fold: so every edge stayed within "
            f"{t.width:g} {unit} in all {t.samples} samples{beyond}"
        )
    elif t.refused is not None:
        yield (
            f"no error was small enough: with {t.refused:g} {unit} already, not every sample kept every "
            f"edge within {t.width:g} {unit}"
        )
    else:
        yield "no fold matters: what is cut does not depend on them"


def sample_lines(t: Tolerance, unit: str) -> Iterator[str]:
    """What happened at the error asked for."""
    apart = " (what comes or goes, below, is not counted)" if any(e.jump for e in t.effects) else ""
    if t.failed < t.samples:
        moved = f"edges move by up to {t.largest:.3g} {unit}, by {t.typical:.3g} {unit} in half of the samples{apart}"
        yield f"every fold off by up to {t.error:g} {unit} at its ends, {t.samples} samples: {moved}"
        yield (
            f"one folding more goes beyond that with a chance of 1 in {t.samples + 1} (if errors are even "
            "and independent)"
        )
    for failure, times in t.failures:
        yield f"in {times} of {t.samples} samples with {t.error:g} {unit} {_failed(failure)}"


def effect_lines(t: Tolerance, unit: str, most: int = 5) -> Iterator[str]:
    """Which folds matter most, and where a fold lies on the cut."""
    for effect in t.effects[:most]:
        yield f"step {effect.step} off by a little moves the worst edge {effect.worst:.3g} times as far: {effect.words}"
    for effect in t.effects:
        parts = []
        if effect.uncut:
            parts.append(f"{effect.uncut:.3g} of {t.outline:.4g} {unit} of the outline may stay uncut")
        if effect.beside:
            parts.append(f"{effect.beside:.3g} {unit} beside the outline may be cut")
        if parts:
            yield (
                f"note: a fold lies on the cut: with the smallest error of step {effect.step} {' and '.join(parts)}; "
                "cut a hair inside the fold"
            )


def _failed(failure: Failure) -> str:
    if failure.step is None:
        return "nothing was cut" if failure.kind == "nothing-cut" else "the folds could not be done"
    return f"step {failure.step} could not be done as written: {_WHY[failure.kind]}"
