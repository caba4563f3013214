"""Directions that drawn lines were meant to have: multiples and halves of angles, perpendiculars, slopes.

A direction is an exact vector up to a factor of either sign, so that no length is needed. All that is recognised here
is a guess from floats: the equations decide whether it can hold, and the kernel whether the pattern folds.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from math import atan2, gcd, pi, tan

from verify.exact.field import read_numbers
from verify.exact.number import Number, square_root_of_square
from verify.exact.plane import Point, dot

_ZERO, _ONE = Number.of(0), Number.of(1)
_root = lru_cache(1_000)(square_root_of_square)
_X_AXIS = Point(_ONE, _ZERO)
# a slope is believed if fewer than so many slopes at least as simple are expected that near by chance
BY_CHANCE = 0.35
# of the square roots of whole numbers, some that are in the field of the sine and the cosine of a part of a turn
_ROOTS = {8: (2,), 12: (3,), 16: (2,), 20: (5,), 24: (2, 3, 6), 28: (7,), 36: (3,)}


@dataclass(frozen=True)
class Family:
    """The multiples of an angle of `step` degrees, counted from the direction `base` (with rational coordinates)."""

    step: Fraction
    base: Point = _X_AXIS

    @property
    def tangents(self) -> tuple[str, ...]:
        """Texts of the tangents of the angles between 0° and 45°, which are what its directions need."""
        return tuple(self._tangent(k) for k in range(1, int(45 / self.step) + 1) if k * self.step < 45)

    def _tangent(self, k: int) -> str:
        turn = k * self.step / 180
        return f"tan({turn.numerator}*pi/{turn.denominator})"

    def directions(self, numbers: Mapping[str, Number]) -> list[Point]:
        """The direction of each multiple, from the base half a turn on; `numbers` has the values of the tangents."""

        def tangent(angle: Fraction) -> Number:
            k = int(angle / self.step)
            return _ZERO if angle == 0 else _ONE if angle == 45 else numbers[self._tangent(k)]

        found = []
        for k in range(int(180 / self.step)):
            angle = k * self.step
            if angle <= 45:
                found.append(Point(_ONE, tangent(angle)))
            elif angle <= 90:
                found.append(Point(tangent(90 - angle), _ONE))
            elif angle <= 135:
                found.append(Point(-tangent(angle - 90), _ONE))
            else:
                found.append(Point(-_ONE, tangent(180 - angle)))
        return [times(self.base, d) for d in found] if self.is_turned else found

    @property
    def is_turned(self) -> bool:
        return bool(self.base.y)

    def name(self, multiples: Iterable[int]) -> str:
        """The family in words; by the coarsest angle of which all the directions found are multiples."""
        common = gcd(*multiples, int(180 / self.step))
        step = self.step * common
        if step > 90:
            step = Fraction(90)
        name = f"multiples of {float(step):g}°"
        if self.is_turned:
            name += f" from the direction {self.base.x}:{self.base.y} ({angle_of(self.base) * 180 / pi % 180:.3f}°)"
        return name

    def from_base(self, direction: Point) -> Point:
        """A direction that is given from the base, on the sheet."""
        return times(self.base, direction) if self.is_turned else direction


FAMILIES = (Family(Fraction(45, 2)), Family(Fraction(15)), Family(Fraction(18)), Family(Fraction(90)))


class Circle:
    """A whole turn in `order` equal parts, a multiple of 4: their directions, and square roots, in one field."""

    def __init__(self, order: int) -> None:
        self.order = order
        roots = {n: f"sqrt({n})" for n in _ROOTS.get(order, ())}
        texts = [f"cos(2*pi/{order})", f"sin(2*pi/{order})"]
        numbers = read_numbers([*texts, *roots.values()]).numbers
        self.roots = {n: numbers[text] for n, text in roots.items()}
        self.ways = [_X_AXIS]
        part = Point(numbers[texts[0]], numbers[texts[1]])
        while len(self.ways) < order:
            self.ways.append(times(self.ways[-1], part))

    def length(self, d: Point) -> Number:
        """The length of a direction with a rational square, if it is in the field. ValueError if not."""
        square = dot(d, d).as_fraction()
        for n, root in ((1, _ONE), *self.roots.items()):
            part = _root(square / n)
            if part is not None:
                return part * root
        raise ValueError(f"({d.x}, {d.y}) has its length in another field")


def turn(angle: float) -> float:
    """An angle between lines, in radians, brought into (-pi/2, pi/2]."""
    angle = angle % pi
    return angle - pi if angle > pi / 2 else angle


def angle_of(direction: Point) -> float:
    return atan2(float(direction.y), float(direction.x))


def nearest(angle: float, directions: Sequence[Point], within: float) -> int | None:
    """The number of the direction nearest to a float angle, if it is within so many radians."""
    best = min(range(len(directions)), key=lambda i: abs(turn(angle_of(directions[i]) - angle)), default=None)
    if best is None or abs(turn(angle_of(directions[best]) - angle)) > within:
        return None
    return best


def square_to(direction: Point) -> Point:
    return Point(-direction.y, direction.x)


def times(a: Point, b: Point) -> Point:
    """The product as complex numbers: the angles add up."""
    return Point(a.x * b.x - a.y * b.y, a.x * b.y + a.y * b.x)


def last_direction(others: Sequence[Point]) -> Point:
    """The direction of the last fold at a vertex by Kawasaki–Justin, the others given in turn round it.

    The alternating sum of the folds' angles is a multiple of 180°, so it is the alternating sum of the others'.
    """
    total = Point(_ONE, _ZERO)
    for i, d in enumerate(others):
        total = times(total, d if i % 2 == 0 else Point(d.x, -d.y))
    return scaled(total)


def scaled(direction: Point) -> Point:
    """The same direction with a coordinate 1, or 0 and 1: short numbers."""
    if not direction.x:
        return Point(_ZERO, _ONE)
    if not direction.y:
        return Point(_ONE, _ZERO)
    if abs(float(direction.y)) <= abs(float(direction.x)):
        return Point(_ONE, direction.y / direction.x)
    return Point(direction.x / direction.y, _ONE)


def small_slope(angle: float, within: float, by_chance: float = BY_CHANCE) -> Point | None:
    """The simplest direction of two whole numbers within so many radians of an angle, if it is no mere chance.

    Angles between lines with rational slopes have rational tangents, and twice each is an angle of a Pythagorean
    triangle. About 12/pi² · h² directions of whole numbers up to h go round half a turn; the slope is refused if more
    than `by_chance` of these are expected within the angle.
    """
    if not 0 < within < pi / 8:
        return None
    steep = abs(turn(angle)) > pi / 4
    base = turn(angle - pi / 2) if steep else turn(angle)
    slope = simplest_between(_tangent(base - within), _tangent(base + within))
    height = max(abs(slope.numerator), slope.denominator)
    if 24 * within * height**2 / pi**3 > by_chance:
        return None
    along = Point(Number.of(slope.denominator), Number.of(slope.numerator))
    return square_to(along) if steep else along


def _tangent(angle: float) -> Fraction:
    return Fraction(tan(angle)).limit_denominator(10**12)


def common_base(lines: Sequence[tuple[float, float, float]], seed: int, step: Fraction) -> Point | None:
    """The direction from which lines are multiples of `step` degrees, by the line `seed` and all that go with it.

    `lines` are angle, length and doubt of each. None if it is the x axis, or hardly any line goes with it.
    """
    period = float(step) * pi / 180
    first, _, doubt_of_first = lines[seed]
    total = weight = 0.0
    least = doubt_of_first
    members = 0
    for angle, length, doubt in lines:
        off = (angle - first + period / 2) % period - period / 2
        if abs(off) <= doubt + doubt_of_first < period / 4:
            members += 1
            total += off * length**2
            weight += length**2
            least = min(least, doubt)
    if members < 2:
        return None
    angle = first + total / weight
    if abs((angle + period / 2) % period - period / 2) <= least:
        return None
    # a quarter of the doubt: the nearest simple slope, not the one at the end of the interval
    slope = small_slope((angle + pi / 4) % (pi / 2) - pi / 4, least / 4, float("inf"))
    return slope if slope is not None and slope.y else None


def simplest_between(low: Fraction | float, high: Fraction | float) -> Fraction:
    """The fraction with the least denominator, and then the least numerator, in [low, high].

    >>> simplest_between(Fraction(33325, 1000), Fraction(33335, 1000))
    Fraction(100, 3)
    """
    (a, b), (c, d) = low.as_integer_ratio(), high.as_integer_ratio()
    if a * d > c * b:
        raise ValueError("an interval has its ends in order")
    if a > 0:
        return Fraction(*_simplest(a, b, c, d))
    if c < 0:
        return -Fraction(*_simplest(-c, d, -a, b))
    return Fraction(0)


def _simplest(a: int, b: int, c: int, d: int) -> tuple[int, int]:
    """Numerator and denominator of the simplest fraction in [a / b, c / d]; all are above 0."""
    whole = -(-a // b)
    if whole * d <= c:
        return whole, 1
    floor = a // b
    p, q = _simplest(d, c - floor * d, b, a - floor * b)
    return floor * p + q, p
