"""A target made as regular as it nearly is: directions, widths, mirror images, lines on a lattice.

Drawings are rounded: a stroke under 45° that is as wide as the others has corners at 1.41 for the square root of 2.
What is nearly equal makes events of the straight skeleton that come nearly together, and each of these costs creases;
what is equal makes them one. So directions near a multiple of 45° (or of 30°) become that, in the field of the square
root of 2 (or of 3), others rational; parallel lines get distances that others have, or of a lattice as coarse as the
allowed movement permits; what is nearly its own mirror image becomes that.

A pattern needs the unit vectors of the target's lines, and each that is not rational may double the degree of the field
in which all is computed. Directions of Pythagorean triangles need none, and are dense: the tangent of half the angle is
any rational number p/q, the unit vector ((q² - p²), 2pq) / (p² + q²). So p and q are as small as the allowed movement
permits.

Floats choose; what comes back was solved exactly and meets as drawn (`snapping.moved`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise, product
from math import lcm, pi

from verify.construct.coordinates.directions import Circle, angle_of, times, turn
from verify.construct.coordinates.frame import Choice, Frame, Places
from verify.construct.coordinates.net import MirrorLine, Net, NotSnapped, Turning, near_direction
from verify.construct.coordinates.snapping import Snapped, moved
from verify.construct.coordinates.symmetry import symmetries
from verify.exact.number import Number
from verify.exact.plane import Point
from verify.pattern.document import Document
from verify.pattern.limits import Limits

_SHARES = (1.0, 0.5, 0.25, 0.1)  # of the movement allowed, for each line alone: at sharp corners it adds up
_MOST_TURN = 0.06  # radians
# a line by itself may turn by so many times the movement over its length, from coarse to fine, and so many radians
_TURNS = tuple(4 * 0.7**i for i in range(28))
_MOST_RATIONAL = 0.2
_FINE = 100  # of the finest steps of its distance make the movement allowed
_PINNED = 0.5  # of the movement allowed: how far what is free may be put from where it is nearest
_COARSEST = 4  # of these steps make the target's extent
_FINEST = 50  # of these steps make the movement allowed
_ONE = Number.of(1)


def regular(
    target: Document | Net, most: Fraction, limits: Limits = Limits(), *, order: int = 8, parts: bool = False
) -> Snapped:
    """The document, or that of a net, with its target made regular, no point moved farther than `most`, in its unit.

    `order`, a multiple of 4, is of the part of a whole turn of which directions are multiples: 8 for those of 45°, 12
    for 30°, 20 for 18°. With `parts` parts of the target become as symmetrical as they nearly are, each for itself, and
    are turned into themselves, as far as the turns are multiples of that part; else the target as a whole, in mirrors
    alone. The sheet stays, target points at its corners with it, those on its edges stay on them, and all meets as
    drawn.

    Raises `NotSnapped`, `Malformed` as `draw` and `subdivide` do, and `LimitReached` past `MOST_PLACES`.
    """
    return _first(target, most, limits, "regular figure", lambda net: _regular(net, most, Circle(order), parts))


def rational(
    target: Document | Net, most: Fraction, limits: Limits = Limits(), *, order: int = 4, coarse: bool = False
) -> Snapped:
    """The document, or that of a net, with its target moved, no point farther than `most`, so that its coordinates and
    the unit vectors of its lines are rational: each line turned by itself, as little as that needs; or with `coarse`
    all on a grid as coarse as can be. With `order` 8 lines may be under 45° to such, too, so that only coordinates are
    rational, and mirror images are kept: a square on its corner, mirrored, is none without directions of 45°. Raises as
    `regular`.
    """
    what = "figure with rational directions"
    return _first(target, most, limits, what, lambda net: _rational(net, most, Circle(order), coarse))


def turn_orders(net: Net, within: Fraction) -> list[int]:
    """The parts of a whole turn, but for quarters and eighths, by which parts of a target nearly turn into themselves,
    each as a multiple of 4.
    """
    _, turns = symmetries(net, 2 * float(within))
    return [order for order in dict.fromkeys(lcm(t.order, 4) for t in turns) if order not in (4, 8)]


def _first(
    target: Document | Net,
    most: Fraction,
    limits: Limits,
    what: str,
    tries: Callable[[Net], Iterable[Places | None]],
) -> Snapped:
    """The first of some ways to place the target in which all meets as drawn."""
    if most <= 0:
        raise NotSnapped("no line may move")
    net = target if isinstance(target, Net) else Net(target, limits)
    if not net.lines:
        return Snapped(net.document)
    for places in tries(net):
        found = None if places is None else moved(net, places, most)
        if found is not None:
            return found
    raise NotSnapped(f"no {what} was found within {float(most):g} {net.document.unit}")


def _regular(net: Net, most: Fraction, circle: Circle, parts: bool) -> Iterator[Places | None]:
    if not all(x.is_rational for v in net.vertices for x in net.before.vertices[v]):
        raise NotSnapped("the drawing's numbers are not rational")
    lattice = _Lattice(net, most, circle)
    for mirrors, turns in _in_parts(net, 2 * float(most), circle) if parts else _as_whole(net, 2 * float(most)):
        for share in _SHARES:
            directions = lattice.directions(mirrors, turns, share)
            frame = Frame(net, directions, mirrors, turns)
            if frame.greatest <= most:
                yield frame.pinned(lattice.choice(directions, share), most, centred=parts)


def _rational(net: Net, most: Fraction, circle: Circle, coarse: bool) -> Iterator[Places | None]:
    lattice = _Lattice(net, most, circle)
    steps = _steps((4 if coarse else 1) * float(most), most / _FINE, (1, 2, 5))
    for mirrors, _ in _as_whole(net, 2 * float(most)) if circle.order == 8 else [((), ())]:
        tries: Iterable[tuple[Frame, Fraction]] = product(lattice.frames(mirrors), steps)
        for frame, step in sorted(tries, key=lambda one: -one[1]) if coarse else tries:
            yield frame.pinned(lattice.on_grid(step, frame), most, alone=False)


_Chosen = tuple[Sequence[MirrorLine], Sequence[Turning]]


def _in_parts(net: Net, within: float, circle: Circle) -> Iterator[_Chosen]:
    """The symmetries of parts, tried together: all, mirrors alone, turns alone."""
    mirrors, found = symmetries(net, within)
    order = circle.order
    turns = [Turning(circle.ways[order // t.order], t.pairs) for t in found if order % t.order == 0]
    if mirrors and turns:
        yield mirrors, turns
    if mirrors:
        yield mirrors, ()
    if turns:
        yield (), turns


def _as_whole(net: Net, within: float) -> Iterator[_Chosen]:
    """The mirror lines that all of the target nearly has, tried together: both, each, none."""
    every = {*net.vertices}
    found, _ = symmetries(net, within)
    mirrors = [m for m in found if {v for pair in m.pairs for v in pair} == every]
    mirrors.sort(key=lambda mirror: mirror.axis)
    if len(mirrors) > 1:
        yield mirrors, ()
    for mirror in mirrors:
        yield (mirror,), ()
    yield (), ()


@dataclass
class _Lattice:
    """Directions and distances for the lines of a net."""

    net: Net
    most: Fraction
    circle: Circle

    def __post_init__(self) -> None:
        places = self.net.before.vertices
        self.true = [_upright(d) for d in _short(self.circle)]
        xs, ys = zip(*(map(float, places[v]) for v in self.net.vertices), strict=True)
        self.steps = _steps(max(max(xs) - min(xs), max(ys) - min(ys)) / _COARSEST, self.most / _FINEST)

    def directions(self, mirrors: Sequence[MirrorLine], turns: Sequence[Turning], share: float) -> list[Point]:
        """A direction for each line, the longest first, that turns it by no more than a share of what is allowed."""
        known = list(self.true)

        def near(angle: float, size: float) -> Point:
            within = min(_MOST_TURN, share * 2 * float(self.most) / size)
            found = min(known, key=lambda d: abs(turn(angle_of(d) - angle)))
            if abs(turn(angle_of(found) - angle)) > within:
                found = self.rational(angle, within)
                known.extend(self._together(found))
            return found

        return self._chosen(mirrors, turns, near)

    def _chosen(
        self, mirrors: Sequence[MirrorLine], turns: Sequence[Turning], near: Callable[[float, float], Point]
    ) -> list[Point]:
        """A direction for each line near its angle and size, the longest first; symmetries say those of others."""
        images = self._images(mirrors, turns)
        found: dict[int, Point] = {}
        for i in sorted(range(len(images)), key=lambda i: -self.net.spans[i][1]):
            waiting = [(i, near(*self.net.spans[i]))] if i not in found else []
            while waiting:
                number, d = waiting.pop()
                if number not in found:
                    found[number] = _upright(d)
                    for other, way in images[number]:
                        waiting.append((other, Point(d.x, -d.y) if way is None else times(way, d)))
        return [found[i] for i in range(len(images))]

    def _together(self, d: Point) -> list[Point]:
        """A direction, its mirror images, and these turned by parts of a turn."""
        if self.circle.order in (8, 12):
            return [d, Point(-d.y, d.x), Point(d.x, -d.y), Point(d.y, d.x)]
        return [times(way, one) for way in self.circle.ways[: self.circle.order // 2] for one in (d, Point(d.x, -d.y))]

    def _images(self, mirrors: Sequence[MirrorLine], turns: Sequence[Turning]) -> list[list[tuple[int, Point | None]]]:
        """For each line those that symmetries take it to, and by which turn; None: by a mirror."""
        of: dict[int, set[int]] = {}
        for i, line in enumerate(self.net.lines):
            for v in line.vertices:
                of.setdefault(v, set()).add(i)
        found: list[list[tuple[int, Point | None]]] = [[] for _ in self.net.lines]
        maps: list[tuple[dict[int, int], Point | None]] = []
        maps += [(dict(m.pairs) | {w: v for v, w in m.pairs}, None) for m in mirrors]
        maps += [(dict(turning.pairs), turning.way) for turning in turns]
        for image, way in maps:
            for i, line in enumerate(self.net.lines):
                ends = [image[v] for v in line.vertices if v in image]
                for a, b in pairwise(ends):
                    found[i] += [(other, way) for other in of[a] & of[b]]
        return found

    def rational(self, angle: float, within: float) -> Point:
        """A direction with a rational unit vector, or one under 45° to such, near an angle; or the shortest of those
        that come to be there when they are turned by parts of a turn.
        """
        order = self.circle.order
        found = []
        for k in range(order // 4 if order not in (8, 12) else 1):
            quarter, rest = divmod((angle - 2 * pi * k / order) % pi, pi / 2)
            x, y = near_direction(rest, within, 2 in self.circle.roots)
            near = Point(Number.of(-y), Number.of(x)) if quarter else Point(Number.of(x), Number.of(y))
            found.append((x * x + y * y, k, near))
        _, k, near = min(found, key=lambda one: one[:2])
        return times(self.circle.ways[k], near) if k else near

    def frames(self, mirrors: Sequence[MirrorLine]) -> Iterator[Frame]:
        """Each line near its direction, by itself or with its images, from coarse to fine."""
        known: list[Point] = []
        for turns in _TURNS:
            most = turns * float(self.most)

            def near(angle: float, size: float, most: float = most) -> Point:
                return self.rational(angle, min(_MOST_RATIONAL, most / size))

            directions = self._chosen(mirrors, (), near)
            if directions != known:
                known = directions
                frame = Frame(self.net, directions, mirrors, ())
                if frame.greatest <= self.most:
                    yield frame

    def on_grid(self, step: Fraction, frame: Frame) -> Choice:
        """Where lines and places come to lie as multiples of a step; so that all coordinates are rational."""
        lengths = [self.circle.length(d) for d in frame.directions]

        def choose(line: int | None, value: float) -> Number:
            unit = step * (lengths[line] if line is not None and lengths[line].is_rational else _ONE)
            return round(value / float(unit)) * unit

        return choose

    def choice(self, directions: Sequence[Point], share: float) -> Choice:
        """Where lines with these directions come to lie, and what else is free: within a share of what is allowed."""
        lengths = [self.circle.length(d) for d in directions]
        lying: dict[Point, list[tuple[float, Number]]] = {}  # by direction: where they would be, and are
        used: list[Number] = []  # distances of parallel lines
        off = _PINNED * share * float(self.most)

        def choose(line: int | None, value: float) -> Number:
            if line is None:
                return self._multiple(value, _ONE, off)
            size, there = lengths[line], lying.setdefault(directions[line], [])
            there.sort(key=lambda other: abs(other[0] - value))
            within = off * float(size)
            slanted = bool(directions[line].x and directions[line].y)
            unit = size if size.is_rational else _ONE
            coarse = () if slanted and there else self._near(value, unit, within, 2 * self.most)  # no mere chance
            exact = next(iter(coarse), None)
            if exact is None and there:
                exact = self._apart(value, there, used, size, within)
            elif exact is None:
                exact = self._multiple(value, unit, within)
            if there:
                used.append(abs(exact - there[0][1]) / size)
            there.append((value, exact))
            return exact

        return choose

    def _apart(
        self, value: float, there: Sequence[tuple[float, Number]], used: Sequence[Number], size: Number, within: float
    ) -> Number:
        """Where a line is as far from one that is there as two others are from each other, if that is near enough; else
        as far from the nearest as a step says.
        """
        for at, other in there[:3]:
            for width in used:
                way = width * size
                if abs(abs(value - at) - float(way)) <= within:
                    return other + way if value > at else other - way
        at, other = there[0]
        return other + self._multiple(value - at, size, within)

    def _multiple(self, value: float, unit: Number, within: float) -> Number:
        """The multiple of the coarsest step, times the unit, that is near enough; else of the finest."""
        finest = self.steps[-1] * unit
        return next(self._near(value, unit, within, self.steps[-1]), round(value / float(finest)) * finest)

    def _near(self, value: float, unit: Number, within: float, finest: Fraction) -> Iterator[Number]:
        for step in self.steps:
            near = round(value / float(step * unit)) * step * unit
            if step >= finest and abs(float(near) - value) <= within:
                yield near


def _short(circle: Circle) -> Sequence[Point]:
    """The directions of half a turn; those of 45° and 30° in their shortest numbers."""
    one, zero = _ONE, Number.of(0)
    if circle.order not in (8, 12):
        return circle.ways[: circle.order // 2]
    steep = [Point(one, one)]
    if circle.order == 12:
        root = circle.roots[3]
        steep = [Point(root, one), Point(one, root)]
    return [Point(one, zero), Point(zero, one), *steep, *(Point(-d.y, d.x) for d in steep)]


def _steps(coarsest: float, finest: Fraction, parts: Sequence[int] = (1, 2, 4, 5)) -> list[Fraction]:
    """Powers of ten and parts of them, from coarse to fine; one at least, also where a figure may move by more than its
    size.
    """
    power = Fraction(1)
    while power < coarsest:
        power *= 10
    found = []
    while power > finest:
        found += [power / part for part in parts if power / part <= coarsest]
        power /= 10
    return found or [power]


def _upright(d: Point) -> Point:
    """The direction of the two that points right, or up."""
    sign = d.x.sign() or d.y.sign()
    return d if sign > 0 else Point(-d.x, -d.y)
