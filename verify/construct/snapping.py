"""A target moved a little: how far each point came, and, exactly, whether all meets as it did before."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from math import dist, sqrt

from verify.construct.frame import Places
from verify.construct.nearby import Move
from verify.construct.net import Net, regions
from verify.construct.written import exact_texts
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.pattern.limits import Limits
from verify.pattern.source import Malformed

_ROUNDED = 10**9  # to so small a part of the document's unit


@dataclass(frozen=True)
class Snapped:
    """A document whose target was moved.

    `moves` are the points that moved, farthest first, `greatest` the longest way, in the document's unit.
    """

    document: Document
    moves: tuple[Move, ...]
    greatest: float


def rounded_target(document: Document, limits: Limits = Limits()) -> Document:
    """The document with the points of its target that are not rational rounded, to far less than any hand sees. A sheet
    that is not rational stays as it is.
    """
    places = draw(document, limits).places
    points = dict(document.points)
    sheet = {name for loop in (document.outline, *document.holes) for name in loop}
    for name in {name for lines in (*document.loops, *document.paths) for name in lines} - sheet:
        if not all(x.is_rational for x in places[name]):
            x, y = (str(Fraction(round(float(x) * _ROUNDED), _ROUNDED)) for x in places[name])
            points[name] = x, y
    return document if points == document.points else replace(document, points=points, raw=None)


def seen_from(document: Document, found: Snapped, limits: Limits = Limits()) -> Snapped:
    """What was found for the document rounded, as movements from the document itself."""
    before, after = draw(document, limits).places, draw(found.document, limits).places
    moves = [
        Move(name, text, found.document.points[name], dist(map(float, before[name]), map(float, after[name])))
        for name, text in document.points.items()
        if text != found.document.points[name]
    ]
    moves.sort(key=lambda move: -move.distance)
    return Snapped(found.document, tuple(moves), moves[0].distance if moves else 0.0)


def moved(net: Net, places: Places, most: Fraction) -> Snapped | None:
    """The net's document with the places moved, if none moves farther than `most` and all meets as before: the same
    lines, points and regions. Exact.
    """
    s = net.before
    now = {s.vertices[v]: place for v, place in places.items()}
    drawn = draw(net.document, net.limits).places
    points = dict(net.document.points)
    moves = []
    for name, old in points.items():
        new = now.get(drawn[name])
        if new is None:
            continue
        x, y = (b - a for a, b in zip(drawn[name], new, strict=True))
        if x * x + y * y > most * most:
            return None
        if x or y:
            points[name] = exact_texts(new)
            moves.append(Move(name, old, points[name], sqrt(float(x * x + y * y))))
    document = replace(net.document, points=points, raw=None)
    try:
        after = Net(document, net.limits)
    except Malformed:
        return None
    if regions(after.before) != regions(s):
        return None
    moves.sort(key=lambda m: -m.distance)
    return Snapped(document, tuple(moves), moves[0].distance if moves else 0.0)
