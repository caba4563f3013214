"""By how much a cut misses its target: certified bounds, and the error of each edge and angle."""

from __future__ import annotations

from cmath import phase
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import degrees, isqrt

from verify.cutting.outcome import Outline, Segment
from verify.exact.number import ONE, ZERO, Number
from verify.exact.plane import Point, around, between, difference, dot, with_neighbours

_PARTS = 8
_BITS = 80
_DECIMALS = 10**9


@dataclass(frozen=True)
class EdgeError:
    """A target edge, by its number in its outline, against the edge that was cut: length (document's unit) and
    direction (degrees).
    """

    edge: int
    length_error: float
    turn_degrees: float


@dataclass(frozen=True)
class CornerError:
    """A target corner against the corner that was cut: the difference of their angles (degrees), and their distance in
    the document's unit.
    """

    corner: int
    angle_error_degrees: float
    distance: float


@dataclass(frozen=True)
class Deviation:
    """How far the outline that is cut lies from the target: `least` ≤ greatest distance (Hausdorff) ≤ `most`, both
    proved, in the document's unit. `edges` and `corners` (to double precision) are empty unless the outlines have as
    many corners.
    """

    least: Fraction
    most: Fraction
    edges: tuple[EdgeError, ...]
    corners: tuple[CornerError, ...]


def deviation(cut: Outline, target: Outline) -> Deviation:
    """Compare what is cut with the target. Exact up to the final square roots, which are rounded outwards."""
    ours, theirs = cut.segments(), target.segments()
    if not ours or not theirs:
        raise ValueError("nothing to compare: an outline is empty")
    of_theirs, of_ours = _nearest(theirs, ours), _nearest(ours, theirs)
    low = max(square for square, _, _ in (*of_theirs, *of_ours))
    high = max(_most(ours, theirs, of_theirs), _most(theirs, ours, of_ours))
    edges, corners = _matched(cut, target)
    return Deviation(_root(low, up=False), _root(high, up=True), tuple(edges), tuple(corners))


def _nearest(ones: Sequence[Segment], others: Sequence[Segment]) -> list[tuple[Number, Number, int]]:
    """For each end of one outline's segments the squared distance from the other, where on a segment that is nearest
    (0 to 1), and which it is, by number. Exact.
    """
    places = dict.fromkeys(p for segment in ones for p in segment)
    sides = list(map(_feet, others))
    feet = ([(*foot(place), number) for number, foot in enumerate(sides)] for place in places)
    return [min(each, key=lambda one: one[0]) for each in feet]


def _most(ones: Sequence[Segment], others: Sequence[Segment], nearest: Sequence[tuple[Number, Number, int]]) -> Number:
    """An upper bound: the distance to a segment is convex, greatest at an end of a stretch. These end at equal parts,
    and where a corner of the other outline is nearest.
    """
    stops: list[set[Number]] = [{Number.of(Fraction(k, _PARTS)) for k in range(_PARTS + 1)} for _ in ones]
    for _, at, number in nearest:
        stops[number].add(at)
    worst = ZERO
    sides = list(map(_feet, others))
    for (a, b), here in zip(ones, stops, strict=True):
        places = [between(a, b, t) for t in sorted(here)]
        table = [[foot(p)[0] for foot in sides] for p in places]
        for one, two in pairwise(table):
            worst = max(worst, min(max(x, y) for x, y in zip(one, two, strict=True)))
    return worst


def _feet(segment: Segment) -> Callable[[Point], tuple[Number, Number]]:
    """For a place its squared distance from a closed segment, and where on it (0 to 1) the nearest place is. Exact."""
    a, b = segment
    way = difference(b, a)
    per = 1 / dot(way, way)  # divided once for all places
    unit = Point(way.x * per, way.y * per)

    def foot(p: Point) -> tuple[Number, Number]:
        v = difference(p, a)
        t = min(max(dot(unit, v), ZERO), ONE)
        w = Point(v.x - way.x * t, v.y - way.y * t)
        return dot(w, w), t

    return foot


def _root(square: Number, *, up: bool) -> Fraction:
    """A bound on a square root, rounded up or down in its tenth significant digit or later."""
    if square.sign() == 0:
        return Fraction(0)
    bits = _BITS
    low, high = square.enclosure(bits)
    while low <= 0 or (high - low) * 2**_BITS > low:
        bits *= 2
        low, high = square.enclosure(bits)
    scale = 1
    while low * scale**2 < _DECIMALS**2:
        scale *= 10
    value = (high if up else low) * scale**2
    whole = -(-value.numerator // value.denominator) if up else value.numerator // value.denominator
    root = isqrt(whole)
    if up and root * root < whole:
        root += 1
    return Fraction(root, scale)


def _matched(cut: Outline, target: Outline) -> tuple[list[EdgeError], list[CornerError]]:
    edges: list[EdgeError] = []
    corners: list[CornerError] = []
    numbered = 0
    for wanted in target.loops:
        flat = _floats(wanted)
        ours = [_floats(loop) for loop in cut.loops if len(loop) == len(wanted)]
        if not ours:
            return [], []
        shifted = [turned[k:] + turned[:k] for loop in ours for turned in (loop, loop[::-1]) for k in range(len(loop))]
        best = min(shifted, key=lambda loop: sum(abs(p - q) for p, q in zip(loop, flat, strict=True)))
        for k, ((a, b), (c, d)) in enumerate(zip(around(best), around(flat), strict=True), numbered):
            mine, goal = b - a, d - c
            edges.append(EdgeError(k, abs(mine) - abs(goal), degrees(phase(mine * goal.conjugate()))))
        turns = zip(with_neighbours(best), with_neighbours(flat), strict=True)
        for k, (turn, wanted_turn) in enumerate(turns, numbered):
            corners.append(CornerError(k, _angle(*turn) - _angle(*wanted_turn), abs(turn[1] - wanted_turn[1])))
        numbered += len(flat)
    return edges, corners


def _floats(loop: Sequence[Point]) -> list[complex]:
    return [complex(float(p.x), float(p.y)) for p in loop]


def _angle(a: complex, b: complex, c: complex) -> float:
    """The angle at b, on the left of the walk from a to c, in degrees."""
    return degrees(phase((a - b) * (c - b).conjugate())) % 360
