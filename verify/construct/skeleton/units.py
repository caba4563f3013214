"""Unit vectors of lines, in a field that grows by the square roots that they need."""

from __future__ import annotations

from collections.abc import Sequence

from verify.exact import expression
from verify.exact.field import read_numbers
from verify.exact.number import Number
from verify.exact.numberfield import RATIONALS
from verify.exact.plane import Point, difference, dot, mapped
from verify.exact.tower import Tower, adjoin
from verify.pattern.limits import LimitReached, Limits
from verify.pattern.subdivision import place_text

_ZERO = Number.of(0)


def unit_vectors(
    points: Sequence[Point],
    lines: Sequence[tuple[int, int]],
    limits: Limits = Limits(),
    tower: Tower | None = None,
) -> tuple[list[Point], list[Point]]:
    """The points, and the unit vector of each line from its first point to its second, all in one field.

    The field is the points' own if it holds the square roots of dx² + dy², else it grows by those that are missing; the
    same points come back as numbers of it. All exact. `tower` is the points' field, as it was built; without it, it is
    built anew from its name. The points must share a field (FieldMismatch). ValueError for a line of no length;
    LimitReached if the field would have a degree above ``limits.degree``.
    """
    steps = [difference(points[b], points[a]) for a, b in lines]
    for i, step in enumerate(steps):
        if not dot(step, step):
            raise ValueError(f"line {i} has no length: both its points are at {place_text(points[lines[i][0]])}")
    if tower is None:
        known = next((x.field for point in points for x in point if not x.is_rational), RATIONALS)
        reading = read_numbers([known.name], expression.NumberLimits(digits=100_000, characters=1_000_000, depth=200))
        tower, alpha = reading.tower, reading.numbers[known.name]
        points = [mapped(p, lambda x: _moved(x, alpha)) for p in points]
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


def _moved(x: Number, image: Number) -> Number:
    """A number of Q(alpha) in another field, given the image of alpha there."""
    value = _ZERO
    for c in reversed(x.coefficients()):
        value = value * image + c
    return _plain(value)


def _plain(x: Number) -> Number:
    """The number, as a rational one if it is: that is faster to compute with."""
    return Number.of(x.as_fraction()) if x.is_rational else x
