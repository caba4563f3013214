"""A target moved a little, so that all its numbers are rational: also those of its lines' unit vectors.

A pattern for a target needs the unit vectors of its lines. Every line whose vector is not rational may double the
degree of the field in which all is computed; lines that are sides of Pythagorean triangles need none. Such directions
are dense: the tangent of half the angle is any rational number p/q, the unit vector ((q² - p²), 2pq) / (p² + q²).

So every class of lines that are parallel or square to each other gets a direction near its own with p and q as small as
the allowed movement permits. Then all that must hold is linear in the coordinates: each point lies on its lines. The
least movement (in floats) says near what; the lines' distances from the origin, and what else is free, are rounded, and
the rest is solved exactly. What comes back was checked exactly: the directions, how far each point moved, and that the
lines and the sheet's edges meet each other as before.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from math import dist, inf, lcm, sqrt

from verify.construct.frame import Frame, Places
from verify.construct.nearby import Move
from verify.construct.net import Net, NotSnapped, regions
from verify.construct.written import exact_texts
from verify.exact.plane import length
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.pattern.limits import Limits
from verify.pattern.source import Malformed

_GRIDS = 7  # so many, each about half of the one before
_COARSE_GRIDS = 12
_INCONSISTENT = 6  # so often in a row, and finer directions will not fit either
_ROUNDED = 10**9  # to so small a part of the document's unit


@dataclass(frozen=True)
class Snapped:
    """A document whose target has rational coordinates and unit vectors.

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


def snapped(document: Document, most: Fraction, limits: Limits = Limits(), *, diagonals: bool = False) -> Snapped:
    """The document with its target moved so that all target lines have rational unit vectors, and all its points
    rational coordinates.

    No point moves farther than `most`, in the document's unit; none at all if nothing needs to. The sheet stays, and
    with it target points that are corners of it; points on its edges stay on them. Guaranteed of the target, exactly:

    - a line with a rational unit vector keeps its direction (its points may slide);
    - parallel lines stay parallel, square ones square, lines on one line on one;
    - what meets at a point, named or not, still meets there, and nothing else does: the same lines, points and regions.

    Mirror images in a vertical or horizontal line through the middle of the target are kept if that is possible as
    well: the axis stays where it is if that is rational. (It is not if lines under 45° to the axis are square to their
    images: 45° has no rational unit vector.) Other symmetries are not. Creases stay as they are drawn, but for ends at
    points of the target.

    With `diagonals` a line may instead have a direction under 45° to one with a rational unit vector, for example 45°
    itself: then its unit vector is in Q(sqrt(2)), and coordinates are rational all the same.

    Raises `NotSnapped` if no such figure was found, `Malformed` as `draw` and `subdivide` do, and `LimitReached` past
    `MOST_PLACES`.
    """
    net = Net(document, limits, diagonals)
    if net.is_rational:
        return Snapped(document, (), 0.0)
    failure = _Failure(net, most)
    for mirrors in net.mirrorings:
        for kept in dict.fromkeys((net.settled, frozenset(net.held))):
            for directions in net.directions(most, mirrors, keep=True):
                frame = Frame(net, directions, mirrors, kept)
                if not failure.notes(frame):
                    break
                for grid in _grids(most, _GRIDS) if frame.greatest <= most else ():
                    found = frame.rounded(grid, most, keep=True)
                    if found is None:
                        continue
                    result = moved(net, found, most, rational=True)
                    if result is not None:
                        return result
                    failure.met_differently = True
                    break
    raise NotSnapped(failure.reason)


def nudged(document: Document, most: Fraction, limits: Limits = Limits(), *, diagonals: bool = False) -> Snapped:
    """As `snapped`, but everything as coarse as `most` permits: lines with rational unit vectors may turn as well.

    Directions and distances of the lines are those of the coarsest grid that was found to keep within `most`; of
    several figures on that grid the one whose coordinates have the smallest common denominator. It may move a target
    that needs no movement. It gives perpendiculars that do not end another chance, no more: whether they end changes
    with small movements either way, and a lattice so coarse that they must is out of reach within a tenth of a
    millimetre.
    """
    net = Net(document, limits, diagonals)
    if not net.lines:
        return Snapped(document, (), 0.0)
    failure = _Failure(net, most)
    for mirrors in net.mirrorings:
        frames = []
        for directions in net.directions(most, mirrors, keep=False):
            frame = Frame(net, directions, mirrors, frozenset(net.held))
            if not failure.notes(frame):
                break
            if frame.greatest <= most:
                frames.append(frame)
        for grid in _grids(4 * most, _COARSE_GRIDS):
            found = [f for f in (frame.rounded(grid, most, keep=False) for frame in frames) if f is not None]
            for places in sorted(found, key=_common_denominator):
                result = moved(net, places, most, rational=True)
                if result is not None:
                    return result
                failure.met_differently = True
    raise NotSnapped(failure.reason)


def _common_denominator(places: Places) -> int:
    return lcm(*(x.as_fraction().denominator for place in places.values() for x in place))


def _grids(most: Fraction, count: int) -> Iterator[Fraction]:
    """The steps 1, 1/2, 1/5, 1/10, … (and 2, 5, 10, …) from `most` downwards."""
    power = Fraction(1)
    while power < most:
        power *= 10
    while count and most > 0:
        for step in (power, power / 2, power / 5):
            if step <= most and count:
                count -= 1
                yield step
        power /= 10


def moved(net: Net, places: Places, most: Fraction, *, rational: bool = False) -> Snapped | None:
    """The net's document with the places moved, if none moves farther than `most` and all meets as before; with
    `rational`, if all unit vectors are then as `snapped` says. Exact.
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
        after = Net(document, net.limits, net.diagonals)
    except Malformed:
        return None
    if (rational and not after.is_rational) or regions(after.before) != regions(s):
        return None
    moves.sort(key=lambda m: -m.distance)
    return Snapped(document, tuple(moves), moves[0].distance if moves else 0.0)


class _Failure:
    """Why nothing was found, from what was tried."""

    def __init__(self, net: Net, most: Fraction) -> None:
        self.net, self.most = net, most
        self.least = inf
        self.met_differently = False
        self.inconsistent = 0

    def notes(self, frame: Frame) -> bool:
        """Whether finer directions are worth trying after this frame."""
        self.least = min(self.least, frame.greatest)
        self.inconsistent = 0 if frame.consistent else self.inconsistent + 1
        if self.inconsistent < _INCONSISTENT:
            return True
        self.inconsistent = 0
        return False

    @property
    def reason(self) -> str:
        unit = self.net.document.unit
        within = f"{float(self.most):g} {unit}"
        if self.most <= 0:
            return "the figure has lines or points that must move, and none may"
        places = self.net.before.vertices
        shortest = min(length(places[chain[0]], places[chain[-1]]) for chain in self.net.before.target_chains)
        if self.least > shortest / 4:  # lines shrink to nothing, or no movement will do
            return (
                f"the figure's {len(self.net.lines)} lines hold each other at its {len(self.net.vertices)} points: "
                "their directions cannot be chosen one by one"
            )
        if self.least > self.most:
            return f"a point of the figure would have to move by {self.least:.3g} {unit}, and {within} are allowed"
        if self.met_differently:
            return f"moved within {within}, the figure's lines would meet otherwise than drawn"
        return f"no round numbers were found within {within}"
