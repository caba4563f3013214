"""What stands in the way of any further all-layers fold: two places that lie together and must be cut differently."""

from __future__ import annotations

from typing import NamedTuple

from verify.construct.recipes.lines import UnitLine, common, outside
from verify.construct.recipes.stack import Panel, Stack
from verify.exact.number import Number
from verify.exact.plane import Point


class Spoilt(NamedTuple):
    """Two places of the flat sheet that lie on each other: the outline runs through `cut`, and not through `blank`."""

    cut: Point
    blank: Point


def spoilt(stack: Stack) -> Spoilt | None:
    """Two such places, in the middle of the longest stretch that disagrees; None if all layers agree. Exact (only
    "longest" is in floats).
    """
    worst: tuple[float, Spoilt] | None = None
    for panel in stack.panels:
        for line, stretches in panel.ink.items():
            for other in stack.panels:
                cover = other.face.covers(line)
                if other is panel or cover is None:
                    continue
                for low, high in common(outside(stretches, other.ink.get(line, ())), (cover,)):
                    size = float(high - low)
                    if worst is None or size > worst[0]:
                        place = _blank(other, line, low, high)
                        worst = size, Spoilt(panel.motion.back(place), other.motion.back(place))
    return worst[1] if worst is not None else None


def _blank(panel: Panel, line: UnitLine, low: Number, high: Number) -> Point:
    """A place of a stretch through which no outline of the panel runs: only so many cross the stretch. Near its
    middle.
    """
    share = 2
    while True:
        place = line.at(low + (high - low) / share)
        if not any(
            other.height(place) == 0 and any(a <= other.along(place) <= b for a, b in many)
            for other, many in panel.ink.items()
        ):
            return place
        share += 1
