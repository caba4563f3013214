"""A turned drawing set upright by a rotation with rational sine and cosine: numbers stay exact.

Mirror images are kept by what moves a target if its mirror line is upright or level, and few creases come of lines that
are upright, level or under 45° to that. So a target with a mirror line, or whose largest outline has one, or most of
whose lines are multiples of 45° from one direction, is turned until that is upright, moved there, and turned back. The
rotation is that of a Pythagorean triangle; what it is off by is for the movement to mend.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from math import atan2, cos, hypot, pi, sin, sqrt, tan

import numpy as np

from verify.construct.directions import simplest_between
from verify.construct.nearby import Move
from verify.construct.net import NotSnapped
from verify.construct.snapping import Snapped
from verify.construct.written import exact_texts
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
    drawing = draw(document, limits)
    places = drawing.places
    names = list(dict.fromkeys(n for lines in (*document.loops, *document.paths) for n in lines))
    at = np.array([[float(x) for x in places[n]] for n in names])
    angle = _mirror_angle(at, 2 * float(most))
    if angle is None and len(document.loops) > 1:
        outlines = [at[[names.index(n) for n in dict.fromkeys(loop)]] for loop in document.loops]
        largest = max(outlines, key=lambda outline: np.ptp(outline, axis=0).max())
        angle = _mirror_angle(largest, 2 * float(most))
    if angle is None:
        lines = [(places[a], places[b]) for a, b in document.target_lines()]
        angle = _common_angle([(float(b.x - a.x), float(b.y - a.y)) for a, b in lines], float(most))
    if angle is None or abs(angle) < _UPRIGHT:
        raise NotSnapped("the figure is upright, or has no direction of its own")
    reach = float(np.hypot(*(at - at.mean(axis=0)).T).max())
    c, s = _rotation(-angle, _OFF * float(most) / reach)
    upright = _rotated(document, places, c, s)
    found = mover(upright, most)
    back = draw(found.document, limits).places
    points = dict(document.points)
    moves = []
    corners = {places[n] for loop in (document.outline, *document.holes) for n in loop}
    for name in names:
        (x, y), old = back[name], places[name]
        new = Point(c * x + s * y, c * y - s * x)
        way = new.x - old.x, new.y - old.y
        square = way[0] * way[0] + way[1] * way[1]
        if not square or old in corners:
            continue
        if square > most * most:
            raise NotSnapped("turned back, a point would have moved too far")
        points[name] = exact_texts(new)
        moves.append(Move(name, document.points[name], points[name], sqrt(float(square))))
    moves.sort(key=lambda m: -m.distance)
    return Snapped(replace(document, points=points, raw=None), tuple(moves), moves[0].distance if moves else 0.0)


def _rotated(document: Document, places: dict[str, Point], c: Fraction, s: Fraction) -> Document:
    texts = {}
    for name, (x, y) in places.items():
        if not (x.is_rational and y.is_rational):
            raise NotSnapped("the drawing's numbers are not rational")
        texts[name] = str((c * x - s * y).as_fraction()), str((s * x + c * y).as_fraction())
    return replace(document, points={n: texts.get(n, p) for n, p in document.points.items()}, raw=None)


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
