"""A turned drawing set upright by a rotation with rational sine and cosine: numbers stay exact.

Mirror images are kept by what moves a target if its mirror line is upright or level, and few creases come of lines that
are upright, level or under 45° to that. So a target with a mirror line, or whose largest outline has one, or most of
whose lines are multiples of 45° from one direction, is turned until that is upright, moved there, and turned back. The
rotation is that of a Pythagorean triangle; what it is off by is for the movement to mend.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from fractions import Fraction
from itertools import chain
from math import atan2, cos, hypot, pi, sin, tan

import numpy as np

from verify.construct.coordinates.directions import simplest_between
from verify.construct.coordinates.net import NotSnapped
from verify.construct.coordinates.snapping import Snapped, movements
from verify.construct.coordinates.written import exact_texts
from verify.exact.plane import Point
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.pattern.limits import Limits

_UPRIGHT = 1e-9  # radians: no need to turn
_NEARLY = 1e-3  # radians: of two mirror lines one that is so near upright
_MOST_LINES = 0.6  # of the target's length, multiples of 45° from one direction
_OFF = 0.2  # of the movement allowed: what the rotation may be off by, at the target's ends


def turned(
    document: Document,
    most: Fraction,
    mover: Callable[[Document, Fraction], Snapped],
    limits: Limits = Limits(),
) -> Snapped:
    """What `mover` makes of the document's target when it is set upright, turned back into its own sheet.

    No point moves farther than `most`, in the document's unit. Raises `NotSnapped` if the target has no direction of
    its own, or is upright; and what `mover` raises.
    """
    places = draw(document, limits).places
    if not all(x.is_rational for place in places.values() for x in place):
        raise NotSnapped("the drawing's numbers are not rational")
    at = _rough(places, chain(*document.loops, *document.paths))
    angle = _own_angle(document, places, at, float(most))
    if angle is None or abs(angle) < _UPRIGHT:
        raise NotSnapped("the figure is upright, or has no direction of its own")
    reach = float(np.hypot(*(at - at.mean(axis=0)).T).max())
    c, s = _rotation(-angle, _OFF * float(most) / reach)
    upright = {name: exact_texts(place) for name, place in _rotated(places, c, s).items()}
    found = mover(replace(document, points=upright, raw=None), most).document
    back = _rotated(draw(found, limits).places, c, -s)
    points = {n: text if back[n] == places[n] else exact_texts(back[n]) for n, text in document.points.items()}
    found = replace(document, points=points, raw=None)
    return Snapped(found, movements(document, found, limits))


def _rotated(places: Mapping[str, Point], c: Fraction, s: Fraction) -> dict[str, Point]:
    return {name: Point(c * x - s * y, s * x + c * y) for name, (x, y) in places.items()}


def _rough(places: Mapping[str, Point], names: Iterable[str]) -> np.ndarray:
    """The places of some points, each once, in floats."""
    return np.array([[float(x) for x in places[name]] for name in dict.fromkeys(names)])


def _own_angle(document: Document, places: Mapping[str, Point], at: np.ndarray, most: float) -> float | None:
    """By how much the mirror line of the target (its points are `at`) is turned from upright or level; if it has none,
    that of its largest outline; if that has none, most of its lines. None if they have no direction in common.
    """
    outlines = [_rough(places, loop) for loop in document.loops]
    largest = max(outlines, key=lambda outline: float(np.ptp(outline, axis=0).max()), default=at)
    angle = _mirror_angle(at, 2 * most)
    if angle is None and len(outlines) > 1:
        angle = _mirror_angle(largest, 2 * most)
    if angle is None:
        ways = [_rough(places, line) for line in document.target_lines()]
        angle = _common_angle([(float(b[0] - a[0]), float(b[1] - a[1])) for a, b in ways], most)
    return angle


def _mirror_angle(at: np.ndarray, within: float) -> float | None:
    """By how much a mirror line of some places is turned from the nearer of upright and level; None if none is."""
    middle = at.mean(axis=0)
    x, y = (at - middle).T
    radius, angle = np.hypot(x, y), np.arctan2(y, x)
    far = int(radius.argmax())
    found: list[tuple[bool, float, float]] = []
    for other in np.flatnonzero(np.abs(radius - radius[far]) < within):
        line = float(angle[far] + angle[other]) / 2
        c, s = cos(2 * line), sin(2 * line)
        image = np.stack([c * x + s * y, s * x - c * y])
        away = np.hypot(*(image[:, :, None] - np.stack([x, y])[:, None, :]))
        if away.min(axis=1).max() < within:
            pair = away.argmin(axis=1)
            twice = angle + angle[pair]  # of all pairs: the line that fits them best
            line = atan2(*(radius * radius[pair] @ np.stack([np.sin(twice), np.cos(twice)]).T)) / 2
            turn = (line + pi / 4) % (pi / 2) - pi / 4
            found.append((abs(turn) > _NEARLY, abs(turn), turn))
    return min(found)[2] if found else None


def _common_angle(ways: list[tuple[float, float]], most: float) -> float | None:
    """The angle from which most of the lines are multiples of 45°, by their lengths; None if there is none."""
    eighth = pi / 4
    total = sum(hypot(*way) for way in ways)
    best: tuple[float, float] | None = None
    for x, y in ways:
        first = atan2(y, x)
        share = turn = 0.0
        for u, v in ways:
            size = hypot(u, v)
            off = (atan2(v, u) - first + eighth / 2) % eighth - eighth / 2
            if abs(off) * size < 2 * most:
                share += size
                turn += off * size
        if share >= _MOST_LINES * total and (best is None or share > best[0] * (1 + 1e-9)):
            best = share, (first + turn / share + eighth / 2) % eighth - eighth / 2
    return None if best is None else best[1]


def _rotation(angle: float, within: float) -> tuple[Fraction, Fraction]:
    """Cosine and sine, both rational, of an angle within so many radians of one below 90° either way."""
    half = tan(angle / 2)
    off = within * (1 + half * half) / 2
    t = simplest_between(half - off, half + off)
    return (1 - t * t) / (1 + t * t), 2 * t / (1 + t * t)
