"""The folding tolerance in sentences. Estimates, not proofs."""

from __future__ import annotations

from collections.abc import Iterator

from verify.cutting.hands import Hands
from verify.cutting.tolerance import Tolerance
from verify.folding.steps import Folded
from verify.pattern.document import IN_MM
from verify.pattern.recipe import Recipe
from verify.words.findings import enumerated, plural
from verify.words.hands_findings import how_true
from verify.words.step_words import step_words

_FEW = 5
_WHY = {
    "blocked": "another layer is in the way",
    "few-layers": "the layers are not where it needs them",
    "no-solution": "it has no fold line, or its mark comes to lie on it",
    "no-mark": "a mark is not where it was",
}


def advice_lines(t: Tolerance, unit: str) -> Iterator[str]:
    """How true the folds must be, from what held in the samples; in millimetres, whatever the document's unit."""
    mm = float(IN_MM[unit])
    width = f"{mm * t.width:g} mm"
    if t.allowed is not None:
        beyond = f" (but not with {mm * t.refused:g} mm)" if t.refused is not None else ""
        yield (
            f"keep each fold true to {mm * t.allowed:g} mm at its ends: every side then stayed within {width} in all "
            f"{t.samples} trials{beyond}"
        )
    elif t.refused is not None:
        yield (
            f"no error was small enough: even with {mm * t.refused:g} mm, some trials failed or moved a side by more "
            f"than {width}"
        )
    else:
        yield "no fold matters: what is cut does not depend on them"


def in_short(t: Tolerance, recipe: Recipe, hands: Hands | None) -> Iterator[str]:
    """For those who fold: how true, which steps matter most, and where a fold lies on the cut.

    How true is said as in `certify`, for errors that add up in the worst way; by the trials only if some of them failed
    with errors that small.
    """
    worst = hands.true_to if hands is not None else None
    trials_failed = t.allowed is None or (t.refused is not None and worst is not None and t.refused <= worst)
    if hands is None or worst is None or trials_failed:
        yield from advice_lines(t, recipe.unit)
    else:
        yield from how_true(hands)
        yield from _at_random(t, worst * float(IN_MM[recipe.unit]), float(IN_MM[recipe.unit]))
    if len(t.effects) > 1:
        yield f"be most careful with steps {t.effects[0].step} and {t.effects[1].step}"
    yield from beside_lines(t, recipe)


def _at_random(t: Tolerance, worst: float, mm: float) -> Iterator[str]:
    """How true folds must be as a rule, for errors seldom all add up: by the trials there are, in proportion.
    Nothing where that is no more than what is said of the `worst` case (in mm; `mm`: the document's unit in mm).
    """
    if t.failed or not t.typical:
        return
    every, half = (f"{mm * t.error * t.width / shift:.2g}" for shift in (t.largest, t.typical))
    if float(every) > worst:
        yield (
            f"errors seldom all add up: tried {t.samples} times at random, folds true to {every} mm were enough "
            f"every time, {half} mm half of the time (scaled from {mm * t.error:.2g} mm)"
        )


def sample_lines(t: Tolerance, unit: str) -> Iterator[str]:
    """What happened at the error asked for, in millimetres, whatever the document's unit."""
    mm = float(IN_MM[unit])
    error, typical, largest = (f"{mm * size:.3g} mm" for size in (t.error, t.typical, t.largest))
    apart = " (not counting what comes or goes, see below)" if any(e.jump for e in t.effects) else ""
    if t.failed < t.samples:
        yield (
            f"with each fold off by up to {error} at its ends, half of the trials moved no side by more than "
            f"{typical}, and none by more than {largest}{apart}"
        )
        yield (
            f"the chance that one more trial goes beyond {largest} is 1 in {t.samples + 1} (errors uniform and "
            "independent)"
        )
    for failure, times in t.failures:
        why = "nothing was cut" if failure.kind == "nothing-cut" else "the folds could not be done"
        if failure.step is not None:
            why = f"step {failure.step} could not be done as written: {_WHY[failure.kind]}"
        yield f"in {times} of {t.samples} trials with {error}, {why}"


def effect_lines(t: Tolerance, folded: Folded) -> Iterator[str]:
    """Which folds matter most."""
    for effect in t.effects[:_FEW]:
        words = step_words(folded, effect.step)
        yield f"a slight error in step {effect.step} moves the worst side {effect.worst:.3g} times as far: {words}"


def beside_lines(t: Tolerance, recipe: Recipe) -> Iterator[str]:
    """Where folds lie on the cut; those with the same effect together."""
    steps: dict[str, list[int]] = {}
    for effect in t.effects:
        parts = []
        if effect.uncut:
            parts.append(f"{effect.uncut:.3g} of {t.outline:.4g} {recipe.unit} of the outline may stay uncut")
        if effect.beside:
            parts.append(f"{effect.beside:.3g} {recipe.unit} beside the outline may be cut")
        if parts:
            steps.setdefault(" and ".join(parts), []).append(effect.step)
    for what, those in steps.items():
        which = f"{plural('step', len(those))} {enumerated(list(map(str, sorted(those))), 'or')}"
        yield f"note: a fold lies on the cut: with the slightest error in {which}, {what}; cut a hair inside the fold"
