"""A target moved a little: how far each point came, and, exactly, whether all meets as it did before."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from math import dist

from verify.construct.coordinates.frame import Places
from verify.construct.coordinates.net import Net, bare, regions
from verify.construct.coordinates.written import exact_texts
from verify.exact.plane import difference, dot
from verify.pattern.arrangement import subdivide
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.pattern.limits import Limits
from verify.pattern.source import Malformed

_ROUNDED = 10**9  # to so small a part of the document's unit


@dataclass(frozen=True)
class Move:
    """A point that moves: its coordinates before and after, as texts, and how far, in the document's unit."""

    name: str
    before: tuple[str, str]
    after: tuple[str, str]
    distance: float


def movements(before: Document, after: Document, limits: Limits = Limits()) -> tuple[Move, ...]:
    """What moved from one document to the other, farthest first, then in the order of the points. In floats."""
    places, now = draw(before, limits).places, draw(after, limits).places
    moves = [
        Move(name, old, after.points[name], dist(map(float, places[name]), map(float, now[name])))
        for name, old in before.points.items()
        if after.points[name] != old
    ]
    return tuple(sorted((move for move in moves if move.distance), key=lambda move: -move.distance))


@dataclass(frozen=True)
class Snapped:
    """A document whose target was moved. `moves` are the points that moved, farthest first."""

    document: Document
    moves: tuple[Move, ...] = ()

    @property
    def greatest(self) -> float:
        """The longest way that a point moved, in the document's unit."""
        return max((move.distance for move in self.moves), default=0.0)


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


def moved(net: Net, places: Places, most: Fraction) -> Snapped | None:
    """The net's document with the places moved, if none moves farther than `most` and all meets as before: the same
    lines, points and regions. Exact.
    """
    s = net.before
    now = {s.vertices[v]: place for v, place in places.items()}
    drawn = draw(net.document, net.limits).places
    points = dict(net.document.points)
    for name in points:
        old, new = drawn[name], now.get(drawn[name])
        if new is None or new == old:
            continue
        way = difference(new, old)
        if dot(way, way) > most * most:
            return None
        points[name] = exact_texts(new)
    document = replace(net.document, points=points, raw=None)
    try:
        after = subdivide(draw(bare(document), net.limits), net.limits)
    except Malformed:
        return None
    if regions(after) != regions(s):
        return None
    return Snapped(document, movements(net.document, document, net.limits))
