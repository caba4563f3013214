"""Loose ends of a drawing that were meant to meet: outlines that are nearly closed, lines that nearly reach another.

A loose end is a point at which one target line ends, inside the sheet. One that is near another loose end, or near a
corner of the target, was meant to be there: it is taken for the same point. What was joined is said in the document's
notes. Distances are compared exactly.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

from verify.exact.number import Number
from verify.exact.plane import Point, difference, dot, length, locate
from verify.pattern.document import Document
from verify.pattern.drawing import Drawing, draw
from verify.pattern.limits import Limits


def joined_ends(document: Document, within: Fraction, limits: Limits = Limits()) -> Document:
    """The document with each loose end of its target that is at most `within` (in its unit) from another one, or else
    from a corner of the target, taken for that point; the nearest first.

    The two ends of one line are never joined. Raises `Malformed` as `draw` does.
    """
    if within <= 0:
        return document
    while True:
        drawing = draw(document, limits)
        pair = nearest_end(drawing, within)
        if pair is None:
            return document
        document = _merged(document, drawing.places, *pair)


def nearest_end(drawing: Drawing, within: Fraction) -> tuple[str, str, float] | None:
    """The loose end that is nearest to a place where it may have been meant to be, that place, and how far it is; None
    if none is at most `within` (in the document's unit) from one.
    """
    places = drawing.places
    lines = [(a, b) for a, b in drawing.document.target_lines() if places[a] != places[b]]
    named: dict[Point, str] = {}
    beside: dict[Point, set[Point]] = {}
    for pair in lines:
        for name, far in (pair, pair[::-1]):
            named.setdefault(places[name], name)
            beside.setdefault(places[name], set()).add(places[far])
    outline, *holes = drawing.loops
    loose = [
        place
        for place, ends in beside.items()
        if len(ends) == 1 and locate(place, outline) > 0 and all(locate(place, hole) < 0 for hole in holes)
    ]
    most = Number.of(within * within)
    best: tuple[bool, float, str, str] | None = None
    for place in loose:
        for other, ends in beside.items():
            way = difference(other, place)
            if other != place and other not in beside[place] and dot(way, way) <= most:
                found = len(ends) != 1, length(place, other), named[place], named[other]
                best = found if best is None else min(best, found)
    return None if best is None else (best[2], best[3], best[1])


def _merged(document: Document, places: Mapping[str, Point], name: str, into: str, far: float) -> Document:
    """The document with one place taken for another wherever the target names a point there."""
    alike = {n for n, place in places.items() if place in (places[name], places[into])}

    def of(names: tuple[str, ...], closed: bool) -> tuple[str, ...]:
        now = [into if n in alike else n for n in names]
        return tuple(n for i, n in enumerate(now) if not (i or closed) or n != now[i - 1])

    loops = [loop for loop in (of(names, True) for names in document.loops) if len(loop) > 1]
    paths = []
    for path in (of(names, False) for names in document.paths):
        if len(path) > 3 and path[0] == path[-1] and len({*path}) > 2:
            loops.append(path[:-1])
        elif any(a != b for a, b in pairwise(path)):
            paths.append(path)
    note = f"the loose end {name} was joined with {into}, {far:.2g} {document.unit} away"
    return replace(document, loops=tuple(loops), paths=tuple(paths), notes=(*document.notes, note), raw=None)
