"""A target made as regular as it nearly is: true directions, equal widths, mirror images, lines on a common lattice.

Drawings are rounded: a stroke under 45° that is as wide as the others has corners at 1.41 for the square root of 2. What
is nearly equal makes events of the straight skeleton that come nearly together, and each of these costs creases; what
is equal makes them one. So directions near a multiple of 45° (or of 30°) become that, in the field of the square root
of 2 (or of 3), others rational; parallel lines get distances that others have, or of a lattice as coarse as the allowed
movement permits; what is nearly its own mirror image becomes that.

Floats choose; what comes back was solved exactly and meets as drawn (`snapping.moved`).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from math import atan2, dist, hypot, pi

from verify.construct.directions import angle_of, turn
from verify.construct.frame import Choice, Frame
from verify.construct.net import MirrorLine, Net, NotSnapped, near_direction
from verify.construct.snapping import Snapped, moved
from verify.exact.field import read_numbers
from verify.exact.number import Number, square_root_of_square
from verify.exact.plane import Point, dot
from verify.pattern.document import Document
from verify.pattern.limits import Limits

_SHARES = (1.0, 0.5, 0.25, 0.1)  # of the movement allowed, for each line alone: at sharp corners it adds up
_MOST_TURN = 0.06  # radians
_PINNED = 0.5  # of the movement allowed: how far what is free may be put from where it is nearest
_COARSEST = 4  # of these steps make the target's extent
_FINEST = 50  # of these steps make the movement allowed
_ONE = Number.of(1)


def regular(document: Document, most: Fraction, limits: Limits = Limits(), *, root: int = 2) -> Snapped:
    """The document with its target made regular, no point moved farther than `most`, in the document's unit.

    `root`: 2 for directions that are multiples of 45°, 3 for those of 30°. The sheet stays, target points at its corners
    with it, those on its edges stay on them, and all meets as drawn.

    Raises `NotSnapped`, `Malformed` as `draw` and `subdivide` do, and `LimitReached` past `MOST_PLACES`.
    """
    if most <= 0:
        raise NotSnapped("no line may move")
    net = Net(document, limits, True)
    if not net.lines:
        return Snapped(document, (), 0.0)
    if not all(x.is_rational for place in net.before.vertices for x in place):
        raise NotSnapped("the drawing's numbers are not rational")
    lattice = _Lattice(net, most, root)
    for mirrors in _mirrorings(net, 2 * float(most)):
        for share in _SHARES:
            directions = lattice.directions(mirrors, share)
            frame = Frame(net, directions, mirrors, net.held)
            if frame.greatest > most:
                continue
            places = frame.pinned(lattice.choice(directions, share), most, keep=False, alone=True)
            found = None if places is None else moved(net, places, most)
            if found is not None:
                return found
    raise NotSnapped(f"no regular figure was found within {float(most):g} {document.unit}")


def _mirrorings(net: Net, within: float) -> Iterator[tuple[MirrorLine, ...]]:
    """The mirror lines that the target nearly has, tried together: both, each, none."""
    found = [m for m in (_mirror(net, 0, within), _mirror(net, 1, within)) if m is not None]
    if len(found) > 1:
        yield tuple(found)
    for mirror in found:
        yield (mirror,)
    yield ()


def _mirror(net: Net, axis: int, within: float) -> MirrorLine | None:
    places = {v: tuple(map(float, net.before.vertices[v])) for v in net.vertices}
    values = [place[axis] for place in places.values()]
    twice = min(values) + max(values)
    image: dict[int, int] = {}
    for v, place in places.items():
        there = [twice - z if i == axis else z for i, z in enumerate(place)]
        near = min(places, key=lambda w: dist(places[w], there))
        if dist(places[near], there) > within:
            return None
        image[v] = near
    drawn = {frozenset(line.vertices) for line in net.lines}
    if any(image[image[v]] != v for v in image) or {frozenset(image[v] for v in line) for line in drawn} != drawn:
        return None
    return MirrorLine(axis, tuple((v, w) for v, w in image.items() if v <= w), None)


@dataclass
class _Lattice:
    """Directions and distances for the lines of a net."""

    net: Net
    most: Fraction
    root: int
    number: Number = field(init=False)  # the square root

    def __post_init__(self) -> None:
        text = f"sqrt({self.root})"
        self.number = read_numbers([text]).numbers[text]
        places = self.net.before.vertices
        self.spans: list[tuple[float, float]] = []  # of each line: angle and length
        for line in self.net.lines:
            along = line.along
            ends = sorted(line.vertices, key=lambda v: dot(along, places[v]))
            (x, y), (z, w) = (map(float, places[v]) for v in (ends[0], ends[-1]))
            self.spans.append((atan2(w - y, z - x), hypot(z - x, w - y)))
        s, one = self.number, _ONE
        zero = Number.of(0)
        steep = [Point(one, one)] if self.root == 2 else [Point(s, one), Point(one, s)]
        self.true = [Point(one, zero), Point(zero, one), *steep, *(Point(-d.y, d.x) for d in steep)]
        xs, ys = zip(*(map(float, places[v]) for v in self.net.vertices), strict=True)
        self.steps = _steps(max(max(xs) - min(xs), max(ys) - min(ys)) / _COARSEST, self.most / _FINEST)

    def directions(self, mirrors: Sequence[MirrorLine], share: float) -> list[Point]:
        """A direction for each line, the longest first, that turns it by no more than a share of what is allowed."""
        lines = self.net.lines
        at = {frozenset(line.vertices): i for i, line in enumerate(lines)}
        images: list[list[int]] = [[] for _ in lines]
        for mirror in mirrors:
            image = dict(mirror.pairs) | {w: v for v, w in mirror.pairs}
            for i, line in enumerate(lines):
                images[i].append(at[frozenset(image[v] for v in line.vertices)])
        found: dict[int, Point] = {}
        known = list(self.true)
        for i in sorted(range(len(lines)), key=lambda i: -self.spans[i][1]):
            if i in found:
                continue
            angle, size = self.spans[i]
            within = min(_MOST_TURN, share * 2 * float(self.most) / size)
            near = min(known, key=lambda d: abs(turn(angle_of(d) - angle)))
            if abs(turn(angle_of(near) - angle)) > within:
                near = self._rational(angle, within)
                known += [near, Point(-near.y, near.x), Point(near.x, -near.y), Point(near.y, near.x)]
            waiting = [(i, near)]
            while waiting:
                number, d = waiting.pop()
                if number not in found:
                    found[number] = _upright(d)
                    waiting += [(other, Point(d.x, -d.y)) for other in images[number]]
        return [found[i] for i in range(len(lines))]

    def _rational(self, angle: float, within: float) -> Point:
        """A direction with a rational unit vector, or one under 45° to such, near an angle."""
        quarter, rest = divmod(angle % pi, pi / 2)
        x, y = map(Number.of, near_direction(rest, within, self.root == 2))
        return Point(-y, x) if quarter else Point(x, y)

    def _length(self, d: Point) -> Number:
        """The length of a direction, in the field of the root."""
        square = dot(d, d).as_fraction()
        whole = square_root_of_square(square)
        if whole is not None:
            return Number.of(whole)
        part = square_root_of_square(square / self.root)
        if part is None:
            raise ValueError(f"({d.x}, {d.y}) has its length in another field")
        return part * self.number

    def choice(self, directions: Sequence[Point], share: float) -> Choice:
        """Where lines with these directions come to lie, and what else is free: within a share of what is allowed."""
        lengths = [self._length(d) for d in directions]
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
            exact = None if slanted and there else self._coarse(value, size if size.is_rational else _ONE, within)
            if exact is None and there:
                exact = self._apart(value, there, used, size, within)
            elif exact is None:
                exact = self._multiple(value, size if size.is_rational else _ONE, within)
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

    def _coarse(self, value: float, unit: Number, within: float) -> Number | None:
        """A multiple of a step that is no mere chance, times the unit, if one is near enough."""
        return next((at for at in self._near(value, unit, within, 2 * self.most)), None)

    def _multiple(self, value: float, unit: Number, within: float) -> Number:
        """The multiple of the coarsest step, times the unit, that is near enough; else of the finest."""
        finest = self.steps[-1] * unit
        return next(self._near(value, unit, within, self.steps[-1]), round(value / float(finest)) * finest)

    def _near(self, value: float, unit: Number, within: float, finest: Fraction) -> Iterator[Number]:
        for step in self.steps:
            near = round(value / float(step * unit)) * step * unit
            if step >= finest and abs(float(near) - value) <= within:
                yield near


def _steps(coarsest: float, finest: Fraction) -> list[Fraction]:
    power = Fraction(1)
    while power < coarsest:
        power *= 10
    found = []
    while power > finest:
        found += [step for step in (power, power / 2, power / 4, power / 5) if step <= coarsest]
        power /= 10
    return found


def _upright(d: Point) -> Point:
    """The direction of the two that points right, or up."""
    sign = d.x.sign() or d.y.sign()
    return d if sign > 0 else Point(-d.x, -d.y)
