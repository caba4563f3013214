"""Which of several proposals hands prefer."""

from __future__ import annotations

from math import inf
from typing import Literal

from verify.cutting.hands import Hands
from verify.words.hands_findings import of_hands

ByHands = Literal["hands", "creases", "shortest", "gap", "panel", "fold", "accuracy"]


def by_hands(met: Hands | None, prefer: ByHands) -> tuple[float, ...]:
    """What is lowest for the best proposal: warnings and notes (`hands`), straight creases, the thickest fold, how true
    creases must be; or what is highest, taken negative: the shortest crease, the narrowest gap, the smallest panel.

    Floats choose among what is then proved. Where it is not known what hands meet, it is worst.
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
