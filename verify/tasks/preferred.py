"""Which of several proposals is best for hands, and how true its folds must be."""

from __future__ import annotations

from math import inf, log
from typing import Literal

from verify.cutting.hands import Hands
from verify.cutting.tolerance import tolerance
from verify.folding.steps import Folded, carry_out
from verify.pattern.recipe import Recipe
from verify.words.hands_findings import of_hands
from verify.words.step_words import light_words

ByHands = Literal["hands", "creases", "shortest", "gap", "panel", "fold", "accuracy"]


def by_hands(met: Hands | None, prefer: ByHands) -> tuple[float, ...]:
    """What is lowest for the best proposal: warnings and notes (`hands`), creases, the thickest fold, how true creases
    must be; or, negative, the shortest crease, narrowest gap, smallest panel. Floats choose; unknown is worst.
    """
    if met is None:
        return (inf,)
    match prefer:
        case "hands":
            levels = [f.level for f in of_hands(met)]
            return levels.count("warning"), levels.count("note")
        case "creases":
            return (met.creases,)
        case "fold":
            return (met.thickest.layers if met.thickest else 0,)
        case "accuracy":
            return (met.amplified or 0.0,)
        case "shortest" | "gap" | "panel":
            measured = {"shortest": met.shortest, "gap": met.gap, "panel": met.panel}[prefer]
            return (-measured.size if measured is not None else -inf,)


def forgiving(recipe: Recipe) -> int:
    """How little true folds must be, in steps of a tenth; a look through paper costs a quarter (common practice, no
    source).
    """
    carried = carry_out(recipe)
    light = sum(bool(light_words(carried, number)) for number in range(1, len(recipe.steps) + 1))
    return round(log((folds_true_to(carried) or 1) / 1.25**light, 1.1))


def folds_true_to(recipe: Recipe | Folded) -> float | None:
    """How far off the ends of each fold may be for the outline to stay within 1 mm, in the recipe's unit: an estimate,
    to first order; None if no fold matters, or if nothing is cut.
    """
    try:
        found = tolerance(recipe, samples=0)
    except ValueError:
        return None
    return found.error * found.width / found.first_order if found.first_order else None
