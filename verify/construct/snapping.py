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

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from itertools import pairwise
from math import atan2, gcd, hypot, inf, isqrt, lcm, pi, sqrt, tan

import networkx as nx
import numpy as np

from verify.construct.directions import simplest_between
from verify.construct.equations import Floats, Form, coordinate, solved
from verify.construct.nearby import Move
from verify.construct.written import rational_text
from verify.exact.number import Number, square_root_of_square
from verify.exact.plane import Point, cross_vectors, difference, dot, length, orientation
from verify.pattern.arrangement import subdivide
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.pattern.limits import LimitReached, Limits
from verify.pattern.source import Malformed
from verify.pattern.subdivision import Subdivision

MOST_PLACES = 400  # of the target: the equations are dense in floats
# a line may turn by so many times `most` over its length: tried from coarse to fine
_TURNS = tuple(4 * 0.7**i for i in range(28))
_GRIDS = 7  # so many, each about half of the one before
_COARSE_GRIDS = 12
_INCONSISTENT = 6  # so often in a row, and finer directions will not fit either
_DEPENDENT = 1e-9
_STAYS = 1e-9
_FREE = 1e-6  # a line whose distance is less free than this follows from others

Direction = tuple[int, int]


class NotSnapped(Exception):
    """No figure with rational unit vectors was found near the target; `reason` says why, in words.

    It does not mean that there is none.
    """

    def __init__(self, reason: str) -> None:
        super().__init__(reason)
        self.reason = reason


@dataclass(frozen=True)
class Snapped:
    """A document whose target has rational coordinates and unit vectors.

    `moves` are the points that moved, farthest first, `greatest` the longest way, in the document's unit.
    """

    document: Document
    moves: tuple[Move, ...]
    greatest: float


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
    net = _Net(document, limits, diagonals)
    if net.is_rational:
        return Snapped(document, (), 0.0)
    failure = _Failure(net, most)
    for mirrors in net.mirrorings:
        for kept in dict.fromkeys((net.settled, frozenset(net.held))):
            for directions in net.directions(most, mirrors, keep=True):
                frame = _Frame(net, directions, mirrors, kept)
                if not failure.notes(frame):
                    break
                for grid in _grids(most, _GRIDS) if frame.greatest <= most else ():
                    found = frame.rounded(grid, most, keep=True)
                    if found is None:
                        continue
                    result = net.moved(found, most)
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
    net = _Net(document, limits, diagonals)
    if not net.lines:
        return Snapped(document, (), 0.0)
    failure = _Failure(net, most)
    for mirrors in net.mirrorings:
        frames = []
        for directions in net.directions(most, mirrors, keep=False):
            frame = _Frame(net, directions, mirrors, frozenset(net.held))
            if not failure.notes(frame):
                break
            if frame.greatest <= most:
                frames.append(frame)
        for grid in _grids(4 * most, _COARSE_GRIDS):
            found = [f for f in (frame.rounded(grid, most, keep=False) for frame in frames) if f is not None]
            for places in sorted(found, key=_common_denominator):
                result = net.moved(places, most)
                if result is not None:
                    return result
                failure.met_differently = True
    raise NotSnapped(failure.reason)


Places = Mapping[int, tuple[Fraction, Fraction]]


def _common_denominator(places: Places) -> int:
    return lcm(*(x.denominator for place in places.values() for x in place))


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


@dataclass(frozen=True)
class _Line:
    """A straight line on which target lines lie: its direction as drawn, and the vertices of the target on it."""

    along: Point
    vertices: tuple[int, ...]


@dataclass(frozen=True)
class _Mirror:
    """A vertical (axis 0: x changes) or horizontal (axis 1) mirror line, by the vertices that it swaps."""

    axis: int
    pairs: tuple[tuple[int, int], ...]
    twice: Number  # the sum of the coordinates of each pair


@dataclass(frozen=True)
class _Class:
    """Lines that are parallel or square to each other or, with mirrors, to each other's images.

    `members` are line, quarter turn, and whether mirrored, from the angle `angle` in [0, pi/2). `exact` is its
    direction if that has a rational unit vector, `length` the length of the longest line.
    """

    angle: float
    exact: Direction | None
    members: tuple[tuple[int, bool, bool], ...]
    length: float


def _exact_direction(along: Point, diagonals: bool) -> Direction | None:
    """The direction in smallest whole numbers if its unit vector is rational, or with `diagonals` that of the direction
    under 45° to it.
    """
    if not along.x:
        return 0, 1
    slope = along.y / along.x
    if not slope.is_rational:
        return None
    m = slope.as_fraction()
    square = 1 + m * m
    if square_root_of_square(square) is None and not (diagonals and square_root_of_square(square / 2) is not None):
        return None
    return m.denominator, m.numerator


def _near_direction(angle: float, within: float, diagonals: bool) -> Direction:
    """The direction of a Pythagorean triangle within so many radians of an angle in [0, pi/2], of a short one if not
    the shortest; with `diagonals` also one under 45° to such a direction.
    """
    found = [_near_triangle(angle, within, turned) for turned in (False, True)]
    if diagonals:
        off = angle - pi / 4
        for turned in (False, True):
            a, b = _near_triangle(abs(off), within, turned)
            x, y = (a - b, a + b) if off >= 0 else (a + b, a - b)
            common = gcd(x, y)
            found.append((x // common, y // common))
        found = [(x, y) for x, y in found if x >= 0 and y >= 0]
    return min(found, key=lambda d: d[0] ** 2 + d[1] ** 2)


def _near_triangle(angle: float, within: float, turned: bool) -> Direction:
    """One direction of a Pythagorean triangle, by the half of the angle or, `turned`, by that of what it is short of
    90°.
    """
    half = tan((pi / 2 - angle if turned else angle) / 2)
    middle = Fraction(half)
    off = Fraction(within * (1 + half * half) / 2)
    t = simplest_between(middle - off, middle + off)
    a, b = t.denominator**2 - t.numerator**2, 2 * t.denominator * t.numerator
    common = gcd(a, b)
    a, b = a // common, b // common
    return (b, a) if turned else (a, b)


class _Net:
    """The target of a document as lines and points that must stay together."""

    def __init__(self, document: Document, limits: Limits, diagonals: bool) -> None:
        self.document, self.limits, self.diagonals = document, limits, diagonals
        self.bare = _bare(document)
        self.before = subdivide(draw(self.bare, limits), limits)
        s = self.before
        self.lines = _lines(s)
        count: dict[int, int] = {}
        for line in self.lines:
            for v in line.vertices:
                count[v] = count.get(v, 0) + 1
        names = s.drawing.names
        # where just two lines cross, and no point is named, they will
        self.vertices = sorted(v for v, n in count.items() if n > 2 or s.vertices[v] in names)
        if len(self.vertices) > MOST_PLACES:
            raise LimitReached("places", f"{MOST_PLACES:,}", f"{len(self.vertices):,} points of the target")
        kept = set(self.vertices)
        self.lines = [replace(x, vertices=tuple(v for v in x.vertices if v in kept)) for x in self.lines]
        self.exact = [_exact_direction(line.along, diagonals) for line in self.lines]
        corners = {place for loop in s.drawing.loops for place in loop}
        self.corners = [v for v in self.vertices if s.vertices[v] in corners]

    @property
    def is_rational(self) -> bool:
        return all(self.exact) and all(x.is_rational for v in self.vertices for x in self.before.vertices[v])

    @cached_property
    def held(self) -> frozenset[int]:
        """The vertices at corners of the sheet. NotSnapped if these alone are in the way."""
        s = self.before
        for v in self.corners:
            if not all(x.is_rational for x in s.vertices[v]):
                raise NotSnapped(
                    f"the target's point {s.name(v)} is a corner of the sheet, and its coordinates are not rational"
                )
        for line, exact in zip(self.lines, self.exact, strict=True):
            fixed = [v for v in line.vertices if v in self.corners]
            if exact is None and len(fixed) > 1:
                raise NotSnapped(
                    f"the target's line through {s.name(fixed[0])} and {s.name(fixed[1])} is held by these "
                    "corners of the sheet, "
                    "and its unit vector is not rational"
                )
        return frozenset(self.corners)

    @cached_property
    def settled(self) -> frozenset[int]:
        """The vertices with rational coordinates all of whose lines have rational unit vectors, and those held."""
        turning = {
            v for line, exact in zip(self.lines, self.exact, strict=True) if exact is None for v in line.vertices
        }
        places = self.before.vertices
        return self.held | {v for v in self.vertices if v not in turning and all(x.is_rational for x in places[v])}

    @cached_property
    def edges(self) -> list[tuple[int, Fraction, Fraction, Fraction]]:
        """Vertices inside edges of the sheet, as v, p, q, r: p x + q y = r."""
        s = self.before
        places, names = s.vertices, set(self.vertices)
        found = []
        for chain, loop in zip(s.sheet_chains, s.drawing.loops, strict=True):
            corners = set(loop)
            first = next(i for i, v in enumerate(chain) if places[v] in corners)
            turned = chain[first:] + chain[:first]
            at = [i for i, v in enumerate(turned) if places[v] in corners] + [len(turned)]
            for i, j in pairwise(at):
                a, b = turned[i], turned[j % len(turned)]
                d = difference(places[b], places[a])
                size = d.y if not d.x else d.x
                p, q = d.y / size, -d.x / size
                r = p * places[a].x + q * places[a].y
                for v in turned[i + 1 : j]:
                    if v in names:
                        if not (p.is_rational and q.is_rational and r.is_rational):
                            raise NotSnapped(
                                f"the target's point {s.name(v)} is on the sheet's edge {s.name(a)}–{s.name(b)}, "
                                "whose slope or distance is not rational"
                            )
                        found.append((v, p.as_fraction(), q.as_fraction(), r.as_fraction()))
        return found

    @cached_property
    def mirrorings(self) -> list[tuple[_Mirror, ...]]:
        """The mirror lines of the target that are tried together: both, each, none."""
        found = [m for m in (self._mirror(0), self._mirror(1)) if m is not None]
        return [*([tuple(found)] if len(found) > 1 else []), *((m,) for m in found), ()]

    def _mirror(self, axis: int) -> _Mirror | None:
        places = self.before.vertices
        values = [places[v][axis] for v in self.vertices]
        twice = min(values) + max(values)
        at = {places[v]: v for v in self.vertices}
        image: dict[int, int] = {}
        for v in self.vertices:
            p = places[v]
            other = at.get(Point(twice - p.x, p.y) if axis == 0 else Point(p.x, twice - p.y))
            if other is None:
                return None
            image[v] = other
        drawn = {frozenset(line.vertices) for line in self.lines}
        if {frozenset(image[v] for v in line) for line in drawn} != drawn:
            return None
        return _Mirror(axis, tuple((v, w) for v, w in image.items() if v <= w), twice)

    def _classes(self, mirrored: bool) -> list[_Class]:
        places = self.before.vertices
        classes: list[tuple[Point, list[tuple[int, bool, bool]]]] = []
        for number, line in enumerate(self.lines):
            for of, members in classes:
                how = _related(of, line.along, mirrored)
                if how is not None:
                    members.append((number, *how))
                    break
            else:
                x, y = line.along
                # turned by quarters, so that the angle is in [0, pi/2)
                of = line.along if x.sign() * y.sign() >= 0 else Point(y, -x)
                how = _related(of, line.along, mirrored)
                classes.append((of, [(number, *(how or (False, False)))]))
        found = []
        for of, members in classes:
            size = 0.0
            for number, _, _ in members:
                ends = [places[v] for v in self.lines[number].vertices]
                along = self.lines[number].along
                ends.sort(key=lambda p: dot(along, p))
                first, last = ends[0], ends[-1]
                size = max(size, hypot(float(last.x - first.x), float(last.y - first.y)))
            exact = _exact_direction(of, self.diagonals)
            found.append(
                _Class(
                    atan2(abs(float(of.y)), abs(float(of.x))),
                    exact and (abs(exact[0]), abs(exact[1])),
                    tuple(members),
                    size,
                )
            )
        return found

    def directions(self, most: Fraction, mirrors: Sequence[_Mirror], *, keep: bool) -> Iterator[tuple[Direction, ...]]:
        """Directions for all lines, from coarse to fine; with `keep` the rational unit vectors as they are."""
        classes = self._classes(bool(mirrors))
        if most <= 0:
            return
        if mirrors and any(c.exact is None and abs(c.angle - pi / 4) < _STAYS for c in classes):
            return  # lines under 45° are square to their images, and no longer 45°
        border = self.before.on_border
        # a line through two points of the sheet's border might not be able to turn
        bound = {i for i, line in enumerate(self.lines) if len(border.intersection(line.vertices)) > 1}
        before = None
        for factor in _TURNS:
            found: list[Direction] = [(1, 0)] * len(self.lines)
            for c in classes:
                near = c.exact
                if near is None or not (keep or any(i in bound for i, _, _ in c.members)):
                    near = _near_direction(c.angle, min(0.2, factor * float(most) / c.length), self.diagonals)
                for number, quarter, mirrored in c.members:
                    x, y = (near[0], -near[1]) if mirrored else near
                    found[number] = (-y, x) if quarter else (x, y)
            if found != before:
                before = found
                yield tuple(found)

    def moved(self, places: Places, most: Fraction) -> Snapped | None:
        """The document with the places moved, if everything holds exactly."""
        s = self.before
        now = {s.vertices[v]: place for v, place in places.items()}
        drawn = draw(self.document, self.limits).places
        points = dict(self.document.points)
        moves = []
        for name, old in points.items():
            new = now.get(drawn[name])
            if new is None:
                continue
            x, y = (b - a for a, b in zip(drawn[name], new, strict=True))
            if x * x + y * y > most * most:
                return None
            if x or y:
                points[name] = rational_text(new[0]), rational_text(new[1])
                moves.append(Move(name, old, points[name], sqrt(float(x * x + y * y))))
        document = replace(self.document, points=points, raw=None)
        try:
            after = _Net(document, self.limits, self.diagonals)
        except Malformed:
            return None
        if not after.is_rational or _regions(after.before) != _regions(s):
            return None
        moves.sort(key=lambda m: -m.distance)
        return Snapped(document, tuple(moves), moves[0].distance if moves else 0.0)


def _bare(document: Document) -> Document:
    """The document's sheet and target alone."""
    lists = (document.outline, *document.holes, *document.loops, *document.paths)
    used = {name for names in lists for name in names}
    points = {name: place for name, place in document.points.items() if name in used}
    return replace(document, points=points, creases=(), raw=None)


def _related(of: Point, other: Point, mirrored: bool) -> tuple[bool, bool] | None:
    """How a direction comes from another: by a quarter turn, and by a mirror image before it; None if by neither."""
    for mirror in (False, True) if mirrored else (False,):
        d = Point(of.x, -of.y) if mirror else of
        if not cross_vectors(d, other):
            return False, mirror
        if not dot(d, other):
            return True, mirror
    return None


def _lines(s: Subdivision) -> list[_Line]:
    """The straight lines on which the target lies, each once, with all vertices of the target on their target lines."""
    found: list[tuple[Point, Point, set[int]]] = []
    for chain in s.target_chains:
        a, b = s.vertices[chain[0]], s.vertices[chain[-1]]
        for p, q, vertices in found:
            if orientation(p, q, a) == 0 and orientation(p, q, b) == 0:
                vertices.update(chain)
                break
        else:
            found.append((a, b, set(chain)))
    return [_Line(difference(b, a), tuple(sorted(vertices))) for a, b, vertices in found]


def _regions(s: Subdivision) -> frozenset[frozenset[tuple[object, object, frozenset[int]]]]:
    """The regions into which target and sheet cut the plane, each as its half-edges; the same for the same drawing
    moved.
    """
    through: dict[int, set[int]] = {}
    for number, chain in enumerate(s.target_chains):
        for v in chain:
            through.setdefault(v, set()).add(number)
    names = s.drawing.names

    def key(v: int) -> object:
        """What a vertex is called in both; None for one that only auxiliary edges make."""
        return names.get(s.vertices[v]) or (frozenset(through[v]) if len(through.get(v, ())) > 1 else None)

    together = nx.Graph()
    together.add_nodes_from(range(-1, len(s.faces)))
    together.add_edges_from((e.left, e.right) for e in s.edges if e.is_auxiliary)
    region = {f: number for number, faces in enumerate(nx.connected_components(together)) for f in faces}
    halves: dict[int, set[tuple[object, object, frozenset[int]]]] = {}
    sheet = [_from_a_corner(chain, key) for chain in s.sheet_chains]
    for chain in (*s.target_chains, *sheet):
        stops = [i for i, v in enumerate(chain) if key(v) is not None]
        for i, j in pairwise(stops):
            edge = s.edges[s.edge_at[chain[i], chain[i + 1]]]
            sides = (edge.left, edge.right) if edge.start == chain[i] else (edge.right, edge.left)
            ends, lines = (key(chain[i]), key(chain[j])), frozenset(edge.target)
            halves.setdefault(region[sides[0]], set()).add((*ends, lines))
            halves.setdefault(region[sides[1]], set()).add((*ends[::-1], lines))
    return frozenset(frozenset(x) for x in halves.values())


def _from_a_corner(chain: Sequence[int], key: Callable[[int], object]) -> tuple[int, ...]:
    """A closed walk that begins and ends at one named vertex."""
    first = next(i for i, v in enumerate(chain) if key(v) is not None)
    return *chain[first:], *chain[: first + 1]


class _Frame:
    """The points of a net on lines with given directions: the least movement, in floats, and what is free.

    `kept` are the vertices that do not move.
    """

    def __init__(
        self, net: _Net, directions: Sequence[Direction], mirrors: Sequence[_Mirror], kept: frozenset[int]
    ) -> None:
        self.net, self.directions, self.mirrors, self.kept = net, directions, mirrors, kept
        places = net.before.vertices
        self.free = [v for v in net.vertices if v not in kept]
        self.at = {v: 2 * i for i, v in enumerate(self.free)}
        self.start: Floats = np.array([float(x) for v in self.free for x in places[v]])
        self.others = [self._linear({v: (p, q)}, -r) for v, p, q, r in net.edges] + list(self._mirrored())
        self.forms = self.others + [self._difference(i, v) for i, x in enumerate(net.lines) for v in x.vertices[1:]]
        self._solve()

    def _linear(
        self, factors: Mapping[int, tuple[Fraction | int, Fraction | int]], constant: Fraction | int = 0
    ) -> Form:
        """A form in the coordinates of vertices; kept ones are constants."""
        total = Form({}, Number.of(constant))
        for v, pair in factors.items():
            for axis, c in enumerate(pair):
                if c:
                    if v in self.at:
                        total = total + Form({self.at[v] + axis: Number.of(c)})
                    else:
                        total = total + Form({}, Number.of(c) * self.net.before.vertices[v][axis])
        return total

    def _off(self, line: int, v: int) -> Form:
        """The signed distance of a line through a vertex from the origin, times the length of its direction."""
        a, b = self.directions[line]
        return self._linear({v: (-b, a)})

    def _difference(self, line: int, v: int) -> Form:
        return self._off(line, v) - self._off(line, self.net.lines[line].vertices[0])

    def _mirrored(self) -> Iterator[Form]:
        for mirror in self.mirrors:
            reference = None
            for v, w in mirror.pairs:
                across, level = ((1, 0), (0, 1)) if mirror.axis == 0 else ((0, 1), (1, 0))
                both = self._linear({v: across}) + self._linear({w: across})
                if mirror.twice.is_rational:
                    yield both - Form({}, mirror.twice)
                elif reference is not None:
                    yield both - reference
                reference = both
                if v != w:
                    yield self._linear({v: level}) - self._linear({w: level})

    def _rows(self, forms: Sequence[Form]) -> tuple[Floats, Floats]:
        """The forms as rows and constants."""
        rows, constants = np.zeros((len(forms), len(self.start))), np.zeros(len(forms))
        for i, form in enumerate(forms):
            constants[i] = float(form.constant)
            for j, c in form.factors.items():
                rows[i, j] = float(c)
        return rows, constants

    def _solve(self) -> None:
        """The least movement, and an orthonormal basis of what is free."""
        rows, constants = self._rows(self.forms)
        size = np.maximum(np.linalg.norm(rows, axis=1), 1e-300)
        is_constant = np.array([not form.factors for form in self.forms], dtype=bool)
        impossible = bool(np.any(is_constant & (constants != 0)))
        rows, constants = rows[~is_constant] / size[~is_constant, None], constants[~is_constant] / size[~is_constant]
        misses = rows @ self.start + constants
        count = len(self.start)
        if len(rows) and count:
            u, singular, v = np.linalg.svd(rows, full_matrices=True)
            rank = int(np.sum(singular > _DEPENDENT * singular[0]))
            step = v[:rank].T @ ((u.T @ misses)[:rank] / singular[:rank])
            self.basis: Floats = v[rank:].T
        else:
            step, self.basis = np.zeros(count), np.eye(count)
        self.places: Floats = self.start - step
        scale = 1.0 + float(np.abs(self.start).max(initial=0.0))
        left = rows @ self.places + constants
        self.consistent = not impossible and float(np.abs(left).max(initial=0.0)) < _DEPENDENT * scale
        self.greatest = self._greatest(self.places) if self.consistent else inf

    def _greatest(self, places: Floats) -> float:
        return float(np.hypot(*(places - self.start).reshape(-1, 2).T).max(initial=0.0))

    def rounded(self, grid: Fraction, most: Fraction, *, keep: bool) -> dict[int, tuple[Fraction, Fraction]] | None:
        """The places with all that is free on a grid, solved exactly; None if they move farther than `most`, or do not
        exist.

        First the lines' distances from the origin are rounded, those that are freest first, then what coordinates are
        still free. With `keep` what hardly moves stays exactly.
        """
        count = len(self.start)
        lines = {i: number for number, i in enumerate(self._moving())}
        offs = [self._off(i, next(v for v in self.net.lines[i].vertices if v in self.at)) for i in lines]
        forms = [*offs, *(coordinate(i) for i in range(count))]
        steps = [grid * isqrt(a * a + b * b) for a, b in (self.directions[i] for i in lines)] + [grid] * count
        rows, constants = self._rows(forms)
        sizes = np.linalg.norm(rows, axis=1)
        reach = rows / sizes[:, None] @ self.basis
        values = rows @ self.places + constants
        stays = np.abs(rows @ (self.places - self.start)) < _STAYS * sizes
        free, moved = reach.copy(), np.zeros(self.basis.shape[1])
        pins: list[Form] = []
        while len(pins) < len(moved):
            norms = np.linalg.norm(free, axis=1)
            best = int(norms[: len(lines)].argmax()) if lines else 0
            if norms[best] < _FREE:
                best = int(norms.argmax())
            value = float(values[best] + sizes[best] * (reach[best] @ moved))
            exact = self._as_drawn(forms[best]) if keep and stays[best] else None
            if exact is None:
                exact = round(Fraction(value) / steps[best]) * steps[best]
            way = free[best] / norms[best]
            moved += way * ((float(exact) - value) / (sizes[best] * norms[best]))
            free -= np.outer(free @ way, way)
            # the distances of the lines are unknowns behind the coordinates
            unknown = count + best if best < len(lines) else best - len(lines)
            pins.append(coordinate(unknown) - Form({}, Number.of(exact)))
        if self._greatest(self.places + self.basis @ moved) > float(most) * (1 + _STAYS):
            return None
        on_lines = [
            self._off(i, v) - coordinate(count + number)
            for i, number in lines.items()
            for v in self.net.lines[i].vertices
        ]
        found = solved([*pins, *on_lines, *self.others], count + len(lines))
        if found is None:
            return None
        places = {v: (found[i].as_fraction(), found[i + 1].as_fraction()) for v, i in self.at.items()}
        kept = self.net.before.vertices
        return places | {v: (kept[v].x.as_fraction(), kept[v].y.as_fraction()) for v in self.kept}

    def _moving(self) -> list[int]:
        """The lines with a vertex that is not kept."""
        return [i for i, x in enumerate(self.net.lines) if any(v in self.at for v in x.vertices)]

    def _as_drawn(self, form: Form) -> Fraction | None:
        """The value of a form as the document draws it, if it is rational."""
        total = form.constant
        for i, c in form.factors.items():
            total = total + c * self.net.before.vertices[self.free[i // 2]][i % 2]
        return total.as_fraction() if total.is_rational else None


class _Failure:
    """Why nothing was found, from what was tried."""

    def __init__(self, net: _Net, most: Fraction) -> None:
        self.net, self.most = net, most
        self.least = inf
        self.met_differently = False
        self.inconsistent = 0

    def notes(self, frame: _Frame) -> bool:
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
            return "the target has lines or points that must move, and none may"
        places = self.net.before.vertices
        shortest = min(length(places[chain[0]], places[chain[-1]]) for chain in self.net.before.target_chains)
        if self.least > shortest / 4:  # lines shrink to nothing, or no movement will do
            return (
                f"the target's {len(self.net.lines)} lines hold each other at its {len(self.net.vertices)} points: "
                "their directions cannot be chosen one by one"
            )
        if self.least > self.most:
            return f"a point of the target would have to move by {self.least:.3g} {unit}, and {within} are allowed"
        if self.met_differently:
            return f"moved within {within}, the target's lines would meet otherwise than drawn"
        return f"no round numbers were found within {within}"
