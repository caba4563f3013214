"""The target of a document as a net: lines and points that must stay together, and where they may point."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from itertools import pairwise
from math import atan2, gcd, hypot, pi, tan

from verify.construct.coordinates.directions import simplest_between
from verify.exact.plane import Point, difference, dot, orientation
from verify.pattern.arrangement import subdivide
from verify.pattern.components import least_of_each
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.pattern.limits import LimitReached, Limits
from verify.pattern.subdivision import Subdivision

MOST_PLACES = 400  # of the target: the equations are dense in floats

Direction = tuple[int, int]


class NotSnapped(Exception):
    """No figure of the kind wanted was found near the target; `reason` says why, in words.

    It does not mean that there is none.
    """

    def __init__(self, reason: str) -> None:
        super().__init__(reason)
        self.reason = reason


@dataclass(frozen=True)
class TargetLine:
    """A straight line on which target lines lie: its direction as drawn, and the vertices of the target on it."""

    along: Point
    vertices: tuple[int, ...]


@dataclass(frozen=True)
class MirrorLine:
    """A vertical (axis 0: x changes) or horizontal (axis 1) mirror line, by the vertices that it swaps. The line may
    lie where it will.
    """

    axis: int
    pairs: tuple[tuple[int, int], ...]


@dataclass(frozen=True)
class Turning:
    """A turn about a centre: `way` has its cosine and sine, `pairs` are vertices and those that these come to. The
    centre may lie where it will.
    """

    way: Point
    pairs: tuple[tuple[int, int], ...]


def near_direction(angle: float, within: float, diagonals: bool) -> Direction:
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
    off = within * (1 + half * half) / 2
    t = simplest_between(half - off, half + off)
    a, b = t.denominator**2 - t.numerator**2, 2 * t.denominator * t.numerator
    common = gcd(a, b)
    a, b = a // common, b // common
    return (b, a) if turned else (a, b)


class Net:
    """The target of a document as lines and points that must stay together."""

    def __init__(self, document: Document, limits: Limits) -> None:
        self.document, self.limits = document, limits
        self.before = subdivide(draw(bare(document), limits), limits)
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
            raise LimitReached("places", f"{MOST_PLACES:,}", f"{len(self.vertices):,} points of the figure")
        kept = set(self.vertices)
        self.lines = [replace(x, vertices=tuple(v for v in x.vertices if v in kept)) for x in self.lines]
        corners = {place for loop in s.drawing.loops for place in loop}
        self.held = frozenset(v for v in self.vertices if s.vertices[v] in corners)

    @cached_property
    def spans(self) -> list[tuple[float, float]]:
        """Of each line: its angle, in radians, and how far apart the outermost vertices on it are. In floats."""
        found = []
        for line in self.lines:
            along = line.along
            ends = sorted((self.before.vertices[v] for v in line.vertices), key=lambda place: dot(along, place))
            (x, y), (z, w) = (map(float, place) for place in (ends[0], ends[-1]))
            found.append((atan2(w - y, z - x), hypot(z - x, w - y)))
        return found

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
                                f"the figure's point {s.name(v)} is on the sheet's edge {s.name(a)}–{s.name(b)}, "
                                "whose slope or distance is not rational"
                            )
                        found.append((v, p.as_fraction(), q.as_fraction(), r.as_fraction()))
        return found


def bare(document: Document) -> Document:
    """The document's sheet and target alone, with the points that they name, for one complete cut; of no file."""
    lists = (document.outline, *document.holes, *document.loops, *document.paths, document.figure)
    used = {name for names in lists for name in names}
    points = {name: place for name, place in document.points.items() if name in used}
    return replace(document, points=points, creases=(), snips=1, raw=None, is_toml=False)


def _lines(s: Subdivision) -> list[TargetLine]:
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
    return [TargetLine(difference(b, a), tuple(sorted(vertices))) for a, b, vertices in found]


def regions(s: Subdivision) -> frozenset[frozenset[tuple[object, object, frozenset[int]]]]:
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

    # the last number, -1, is what lies outside
    region = least_of_each(len(s.faces) + 1, ((e.left, e.right) for e in s.edges if e.is_auxiliary))
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
