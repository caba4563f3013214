"""Small changes after which a pattern holds: a fold turned, a crease put in, an outline joined.

Found by trying, and proposed: only `certify` says what the changed document proves. That none is found proves nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, islice
from typing import Any

from verify.construct.coordinates.snapping import Move
from verify.construct.rounded.nearby import near_patterns
from verify.cutting.cut import Cut
from verify.exact.effort import ANY_WORK, EffortSpent, bounded
from verify.exact.number import Number
from verify.exact.plane import Point, between, cross_vectors, difference, dot, length, orientation, same_place
from verify.folding.crossing import crossing_conditions
from verify.folding.foldmap import FoldMap, alternating_product, direction_squared, fold_map
from verify.folding.order import find_order
from verify.folding.overlaps import Overlaps
from verify.folding.stack import LayerOrder
from verify.folding.vertex import Angle, Letter, maekawa_possible, vertex_reports
from verify.pattern.arrangement import subdivide
from verify.pattern.document import IN_MM, Crease, Document, Kind
from verify.pattern.drawing import draw
from verify.pattern.limits import Clock, LimitReached, Limits
from verify.pattern.names import Names
from verify.pattern.rounding import rounding
from verify.pattern.source import Malformed
from verify.pattern.subdivision import EdgeKind, Subdivision

# Our own choices, no source: how far an end may be off to be called a slip, how long and how much is tried, how many
# are told of each kind.
SLIP_MM = 1.0
SECONDS = 5.0
_TRIES = 20_000  # panels times assignments
_FACES = 400
TOLD = 3
_OTHER: dict[EdgeKind, Letter] = {"mountain": "valley", "valley": "mountain"}


@dataclass(frozen=True)
class Turned:
    """Folds to turn from mountain to valley or the other way: edges of the subdivision, each with what it becomes. The
    least number of drawn creases (or parts of them between crossings) with which every vertex and the whole sheet
    fold."""

    document: Document
    edges: tuple[tuple[int, Kind], ...]


@dataclass(frozen=True)
class Moved:
    """Exact coordinates near rounded ones, with which the layers have an order (`moves`: the points that move)."""

    document: Document
    moves: tuple[Move, ...]


@dataclass(frozen=True)
class Missing:
    """A crease to put in at a vertex with an odd number of folds, from there towards `direction` up to `end`: then the
    folds close round it (Kawasaki–Justin). `between`: the folds on either side."""

    document: Document
    vertex: int
    direction: Point
    end: Point
    between: tuple[int, int]


@dataclass(frozen=True)
class Joined:
    """An end of a drawn crease (by its number) to move from `before` to `after`, where it meets a line or a vertex;
    `longer`: it grows.
    """

    document: Document
    crease: int
    end: str
    before: Point
    after: Point
    meets: int | None  # an edge of the subdivision
    longer: bool


@dataclass(frozen=True)
class Closed:
    """A target path (by its number) whose ends lie near each other: close it."""

    document: Document
    path: int
    ends: tuple[str, str]
    gap: Number  # squared


Repair = Moved | Turned | Missing | Joined | Closed


def repairs(
    s: Subdivision, folded: FoldMap | None, cutting: Cut | None, ordered: bool, limits: Limits = Limits()
) -> list[Repair]:
    """Repairs of a document that is refuted, those of one kind together, each kind in the order of the drawing.

    `ordered`: it has a layer order, so that no fold need be turned. After `SECONDS`, or `limits.seconds` if that is
    less, no other assignment of the folds is tried.
    """
    if len(s.faces) > _FACES:
        return []
    search = _Search(s, limits)
    found: list[Repair] = []
    for kind in (
        () if ordered else search.moved(folded),
        search.joined(),
        search.closed(cutting),
        search.missing(),
        () if ordered else search.turned(folded),
    ):
        found += islice(kind, TOLD)
    return found


class _Search:
    def __init__(self, s: Subdivision, limits: Limits) -> None:
        self.s, self.limits = s, limits
        self.seconds = min(SECONDS, limits.seconds or SECONDS)
        self.clock = Clock(self.seconds, "repairs were looked for")
        self.document = s.drawing.document
        self.slip = SLIP_MM / float(IN_MM[self.document.unit])
        self.reports = {r.vertex: r for r in vertex_reports(s)}
        self.open = sum(r.kawasaki is False for r in self.reports.values())

    def _names(self) -> Names:
        return Names(self.s.drawing.names, self.document.points)

    def _changed(self, **keys: Any) -> Document:
        return replace(self.document, **keys, raw=None, is_toml=False)

    def _creased(self, names: Names, creases: Sequence[Crease]) -> Document:
        return self._changed(points={**self.document.points, **names.made}, creases=tuple(creases))

    # rounded coordinates

    def moved(self, folded: FoldMap | None) -> Iterator[Moved]:
        """The nearest exact pattern, where the folds close and the layers fail; mountains and valleys are as many as
        they must be.
        """
        if rounding(self.document.numbers) == 1 or folded is None or not folded.exists or not self._maekawa({}):
            return
        try:
            with bounded(ANY_WORK, self.seconds / 2):  # the other half is for folds to turn
                near = near_patterns(self.document, None, self.limits, lambda pattern: False)
                folds = (p for p in near if p.moves and p.cut_exact is not False and self._has_order(p.document))
                yield from (Moved(replace(p.document, raw=None, is_toml=False), p.moves) for p in islice(folds, 1))
        except (EffortSpent, LimitReached):
            return

    def _has_order(self, document: Document) -> bool:
        s = subdivide(draw(document, self.limits), self.limits)
        return isinstance(find_order(crossing_conditions(Overlaps(fold_map(s))), self.limits), LayerOrder)

    # ends of creases

    def joined(self) -> Iterator[Joined]:
        """Ends inside the sheet at which no other fold ends."""
        for number, chain in enumerate(self.s.crease_chains):
            if self.document.creases[number].kind == "flat":
                continue
            for end, inward in ((chain[0], chain[1]), (chain[-1], chain[-2])):
                folds = [e for e in self.s.around[end] if self.s.edges[e].is_fold]
                if end not in self.s.on_border and len(folds) == 1:
                    yield from islice(self._better(number, end, inward), 1)

    def _better(self, crease: int, end: int, inward: int) -> Iterator[Joined]:
        """The nearest of its new places with which the folds close round more of the vertices."""
        drawn = self.document.creases[crease]
        name = drawn.start if self.s.drawing.places[drawn.start] == self.s.vertices[end] else drawn.end
        a, b = self.s.vertices[inward], self.s.vertices[end]
        for after, meets in self._near(crease, end, inward):
            names = self._names()
            new = names.of(after)
            ends = (new, drawn.end) if name == drawn.start else (drawn.start, new)
            creases = list(self.document.creases)
            creases[crease] = Crease(*ends, drawn.kind)
            changed = self._creased(names, creases)
            if self._open(changed) < self.open:
                longer = dot(difference(after, b), difference(b, a)).sign() > 0
                yield Joined(changed, crease, name, b, after, meets, longer)

    def _near(self, crease: int, end: int, inward: int) -> list[tuple[Point, int | None]]:
        """Places within a slip of an end: where its line meets another line, and vertices with folds; the nearest
        first.
        """
        s, here = self.s, self.s.vertices[end]
        along = difference(here, s.vertices[inward])
        found: list[tuple[float, Point, int | None]] = []
        for number, e in enumerate(s.edges):
            if (e.is_fold and e.crease != crease) or e.kind == "border":
                place = _meeting(here, along, s.vertices[e.start], s.vertices[e.end])
                if place is not None:
                    found.append((length(here, place), place, number))
        if inward not in s.on_border and sum(s.edges[e].is_fold for e in s.around[inward]) > 1:
            found.append((length(here, s.vertices[inward]), s.vertices[inward], None))
        for vertex, edges in enumerate(s.around):
            if vertex not in (end, inward) and any(s.edges[e].is_fold for e in edges):
                found.append((length(here, s.vertices[vertex]), s.vertices[vertex], None))
        near = sorted((f for f in found if 0 < f[0] <= self.slip), key=lambda f: f[0])
        return [(place, meets) for _, place, meets in near]

    def _open(self, document: Document) -> float:
        """Round how many vertices the folds do not close."""
        try:
            s = subdivide(draw(document, self.limits), self.limits)
        except (Malformed, LimitReached):
            return float("inf")
        return sum(r.kawasaki is False for r in vertex_reports(s))

    # outlines

    def closed(self, cutting: Cut | None) -> Iterator[Closed]:
        """Paths of at least three lines that end within a slip of where they begin."""
        if cutting is None or cutting.exact:
            return
        for number, path in enumerate(self.document.paths):
            a, b = (self.s.drawing.places[name] for name in (path[0], path[-1]))
            if len(path) > 3 and not same_place(a, b) and length(a, b) <= self.slip:
                paths = list(self.document.paths)
                paths[number] = (*path[:-1], path[0])
                changed = self._changed(paths=tuple(paths))
                step = difference(b, a)
                yield Closed(changed, number, (path[0], path[-1]), dot(step, step))

    # creases that are missing

    def missing(self) -> Iterator[Missing]:
        """A product of an odd number of reflections in lines through a vertex is one itself: the missing crease lies on
        its line.
        """
        s = self.s
        for v, report in self.reports.items():
            folds = report.folds
            if report.on_border or report.kawasaki is not False or len(folds) % 2 == 0:
                continue
            for k in range(len(folds)):
                around = [*folds[k:], *folds[:k]]
                heads = [s.vertices[s.edges[e].other(v)] for e in around]
                direction = _axis([direction_squared(s.vertices[v], head) for head in heads])
                for ray in (direction, Point(-direction.x, -direction.y)):
                    if _within(s.vertices[v], heads[-1], heads[0], ray):
                        end = self._end(v, ray)
                        names = self._names()
                        crease = Crease(names.of(s.vertices[v]), names.of(end), "either")
                        changed = self._creased(names, [*self._but_flat(s.vertices[v], end), crease])
                        yield Missing(changed, v, ray, end, (around[-1], around[0]))

    def _but_flat(self, a: Point, b: Point) -> list[Crease]:
        """The drawn creases without the flat ones on the line ab: there each crease is drawn once."""
        drawn = zip(self.document.creases, self.s.drawing.creases, strict=True)
        return [
            crease for crease, (p, q, kind) in drawn if kind != "flat" or orientation(a, b, p) or orientation(a, b, q)
        ]

    def _end(self, vertex: int, ray: Point) -> Point:
        """Where a ray from a vertex first meets a fold or the sheet's edge, perhaps the end of one that lies on it."""
        here = self.s.vertices[vertex]
        tip = Point(here.x + ray.x, here.y + ray.y)
        met: list[tuple[Number, Point]] = []
        for e in self.s.edges:
            if (e.is_fold or e.kind == "border") and vertex not in e.ends:
                a, b = (self.s.vertices[v] for v in e.ends)
                place = _meeting(here, ray, a, b, forward=True)
                places = [p for p in (a, b) if orientation(here, tip, p) == 0] if place is None else [place]
                met += [(far, p) for p in places if (far := dot(difference(p, here), ray)).sign() > 0]
        return min(met, key=lambda m: m[0])[1]

    # mountains and valleys

    def turned(self, folded: FoldMap | None) -> Iterator[Turned]:
        """The nearest assignments that fold, by the number of creases turned; of that number all that are found."""
        s = self.s
        if folded is None or not folded.exists or self.open:
            return
        units: dict[tuple[int, ...], None] = {}
        for chain, crease in zip(s.crease_chains, self.document.creases, strict=True):
            if crease.kind in _OTHER:
                edges = s.edges_along(chain)
                units |= dict.fromkeys([tuple(edges), *((e,) for e in edges)])
        left = max(1, _TRIES // len(s.faces))
        overlaps = Overlaps(folded)
        for size in (1, 2):
            found = False
            for chosen in combinations(units, size):
                edges_ = {e for unit in chosen for e in unit}
                if len(edges_) < sum(map(len, chosen)):
                    continue
                kinds = {e: _OTHER[s.edges[e].kind] for e in edges_}
                if not self._maekawa(kinds):
                    continue
                left -= 1
                if left < 0 or self.clock.left == 0:
                    return
                if self._folds(overlaps, kinds):
                    found = True
                    yield Turned(self._assigned(kinds), tuple(sorted(kinds.items())))
            if found:
                return

    def _maekawa(self, kinds: Mapping[int, Letter]) -> bool:
        """Whether |M − V| = 2 can hold at every inner vertex."""
        inner = (report for report in self.reports.values() if not report.on_border and report.folds)
        return all(
            maekawa_possible([kinds.get(e, letter) for e, letter in zip(report.folds, report.letters, strict=True)])
            for report in inner
        )

    def _folds(self, overlaps: Overlaps, kinds: Mapping[int, Kind]) -> bool:
        edges = tuple(replace(e, kind=kinds.get(n, e.kind)) for n, e in enumerate(self.s.edges))
        changed = overlaps.drawn_as(replace(self.s, edges=edges))
        return isinstance(find_order(crossing_conditions(changed), Limits()), LayerOrder)

    def _assigned(self, kinds: Mapping[int, Kind]) -> Document:
        """The document with each drawn crease in as many parts as it now has kinds in a row."""
        names = self._names()
        creases: list[Crease] = []
        for chain, crease in zip(self.s.crease_chains, self.document.creases, strict=True):
            steps = self.s.edges_along(chain)
            letters = [kinds.get(e, crease.kind) for e in steps]
            stops = [0, *(k for k in range(1, len(steps)) if letters[k] != letters[k - 1]), len(steps)]
            if len(stops) == 2:
                creases.append(Crease(crease.start, crease.end, letters[0]))
                continue
            called = [crease.start, *(names.of(self.s.vertices[chain[k]]) for k in stops[1:-1]), crease.end]
            creases += [Crease(a, b, letters[k]) for a, b, k in zip(called, called[1:], stops, strict=False)]
        return self._creased(names, creases)


def _axis(squares: Sequence[Point]) -> Point:
    """The direction of the line of reflections in lines one after the other, given as squared unit vectors: an odd
    number of them.
    """
    product = alternating_product(squares)
    along = Point(product.x + 1, product.y)
    return along if along.x.sign() or along.y.sign() else Point(Number.of(0), Number.of(1))


def _within(apex: Point, first: Point, last: Point, ray: Point) -> bool:
    """Whether a ray from the apex lies strictly between two directions, counter-clockwise (a full turn if they are
    one).
    """
    tip = Point(apex.x + ray.x, apex.y + ray.y)
    turn, whole = (Angle.turn(difference(first, apex), difference(end, apex)) for end in (tip, last))
    return not turn.is_zero and (whole.is_zero or turn < whole)


def _meeting(p: Point, along: Point, a: Point, b: Point, forward: bool = False) -> Point | None:
    """Where the line through p (forward: the ray) meets the closed segment ab in one place other than p."""
    q = Point(p.x + along.x, p.y + along.y)
    if orientation(p, q, a) * orientation(p, q, b) > 0:
        return None
    side = difference(b, a)
    turn = cross_vectors(along, side)
    if turn.sign() == 0:
        return None
    share = cross_vectors(difference(a, p), side) / turn
    if share.sign() == 0 or (forward and share.sign() < 0):
        return None
    return between(p, q, share)
