"""Unit vectors of lines, in a field that grows by the square roots that they need."""

from __future__ import annotations

from collections.abc import Sequence

from verify.exact import expression
from verify.exact.number import Number
from verify.exact.plane import Point, difference, dot, mapped
from verify.exact.tower import Tower, adjoin
from verify.pattern.limits import LimitReached, Limits


def unit_vectors(
    points: Sequence[Point], lines: Sequence[tuple[int, int]], tower: Tower, limits: Limits = Limits()
) -> tuple[list[Point], list[Point]]:
    """The points, and the unit vector of each line from its first point to its second, all in one field.

    The field is the points' own, built as `tower` says, if it holds the square roots of dx² + dy², else it grows by
    those that are missing; the same points come back as numbers of it. All exact. Assumes, and does not check, that no
    line has length zero. LimitReached if the field would have a degree above ``limits.degree``.
    """
    steps = [difference(points[b], points[a]) for a, b in lines]
    try:
        grown, image, lengths = adjoin(tower, [dot(step, step) for step in steps], limits.degree)
    except expression.DegreeLimit as reached:
        number = expression.shortened(reached.expression)
        found = f"{number} in a line's direction needs a number field of degree {reached.degree}"
        raise LimitReached("degree", str(limits.degree), found) from reached
    if grown is not tower:
        points = [mapped(p, lambda x: _plain(image(x))) for p in points]
        steps = [difference(points[b], points[a]) for a, b in lines]
    inverses = [1 / _plain(size) for size in lengths]
    units = [Point(_plain(s.x * inverse), _plain(s.y * inverse)) for s, inverse in zip(steps, inverses, strict=True)]
    return list(points), units


def _plain(x: Number) -> Number:
    """The number, as a rational one if it is: that is faster to compute with."""
    return Number.of(x.as_fraction()) if x.is_rational else x
