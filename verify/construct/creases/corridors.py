"""Corridors: bands of paper between perpendiculars; sets of perpendiculars that fold because corridors form a tree.

Draw the perpendiculars of all nodes where other than two begin, whether folded or not, and those from places where an
arc leaves the sheet between two pieces of paper. What is left between them are corridors: bands in which all
perpendiculars run side by side, from border to border, over the same arcs. Folded along the arcs alone a corridor is an
accordion, a strip no wider than it is. Perpendiculars that are joined at nodes make a hub, at which several corridors
meet; on paper without holes in which none runs in a circle, corridors and hubs are a tree.

Take any corridor for the root, and lay it down. At each hub let the corridor from which it was reached lie on one side
of the perpendiculars, which all come to lie on one straight line square to the cut, and all others on the other side:
those perpendiculars are folded that have two corridors of one side beside them. So each corridor leads further away
from the root than the one before, hubs lie in it as the branches of a tree lie in the plane, and no corridor ever comes
back to where it could meet a fold: laid on the line as a tree is drawn, its branches going one way, they do not cross.
The number of creases at each node is even, since sides alternate round it but for the folds.

Where a perpendicular from a node at which one begins ends in a node at which three do, the two others of these lie
between the same two corridors. They are folded in no set, and need not end.

The argument is ours (proofs/theory/corridors.md), in floats and for choosing only: the layer order of each such set
(`walk`) is certified like any other.
"""

from __future__ import annotations

from bisect import bisect
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain, pairwise
from math import inf

from verify.construct.skeleton.perpendiculars import BORDER, Perpendicular, Tracer, floats, is_inside
from verify.exact.plane import around
from verify.pattern.components import components, least_of_each

_NEAR = 1e-9  # of the size of the sheet
_ASIDE = 1e-6
_SHARES = [share for n in range(1, 12) for share in (2.0**-n, 1 - 2.0**-n)]  # of a piece

Corridor = tuple[int, int]  # one of the pieces into which walls cut an arc: the arc, and which


class Corridors:
    """The corridors of a sheet and the hubs at which they meet."""

    def __init__(self, tracer: Tracer, perpendiculars: Sequence[Perpendicular]) -> None:
        self.perpendiculars = perpendiculars
        self.plane = _Plane(tracer)
        self.walls = self._walls()
        self.cuts = self._cuts()
        self.groups = self._groups()
        self.hubs = self._hubs()
        self.at: dict[Corridor, list[int]] = {}  # the hubs at each corridor
        for number, hub in enumerate(self.hubs):
            for corridor in dict.fromkeys(chain(*hub.values())):
                self.at.setdefault(corridor, []).append(number)
        self.width = self._widths()

    def sets(self, weights: Sequence[float]) -> list[frozenset[int]]:
        """The set of perpendiculars to fold for each corridor as the root, by number, the lightest first."""
        found = {self._from(root, weights) for root in self.at}
        return sorted(found, key=lambda folded: (sum(weights[i] for i in folded), sorted(folded)))

    def _from(self, root: Corridor, weights: Sequence[float]) -> frozenset[int]:
        """From the ends of the tree to the root."""
        order: list[tuple[Corridor, int]] = []
        queue, reached, met = [root], {root}, set[int]()
        for corridor in queue:
            for number in self.at[corridor]:
                if number not in met:
                    met.add(number)
                    order.append((corridor, number))
                    new = [c for c in dict.fromkeys(chain(*self.hubs[number].values())) if c not in reached]
                    queue += new
                    reached.update(new)
        reach = dict.fromkeys(reached, 0.0)  # of each corridor and what hangs on it
        folded: set[int] = set()
        for corridor, number in reversed(order):
            hub = self.hubs[number]
            others = {c for pair in hub.values() for c in pair} - {corridor}
            room = self.width[corridor] if corridor != root and self.width[corridor] < inf else 0.0
            lightest = inf
            for back in [None, *(c for c in others if len(others) == 2 and reach[c] + self.width[c] < room)]:
                near = {corridor, back}
                walls = [wall for wall, (a, b) in hub.items() if (a in near) == (b in near)]
                weight = sum(weights[wall] for wall in walls)
                if weight < lightest:
                    lightest, best, ahead = weight, walls, others - near
            folded.update(best)
            reach[corridor] = max([reach[corridor], *(reach[c] + self.width[c] for c in ahead)])
        return frozenset(folded)

    def _walls(self) -> list[int]:
        """The perpendiculars of nodes where other than two begin, on from nodes that these come to; all from the
        border.
        """
        begin = Counter(node for p in self.perpendiculars for node in (p.start, p.end) if node is not None)
        active = {node for node, count in begin.items() if count != 2} | {BORDER}
        chosen: set[int] = set()
        while True:
            more = {
                i for i, p in enumerate(self.perpendiculars) if p.start in active or p.end in active - {BORDER}
            } - chosen
            if not more:
                return sorted(chosen - self._passed(chosen, begin))
            chosen |= more
            active |= {end for i in more for end in _ends(self.perpendiculars[i])}

    def _passed(self, walls: set[int], begin: Counter[int]) -> set[int]:
        """The walls that no set folds, so that they need not end: where two walls lead away from nodes that are joined,
        both, and what joins these two.
        """
        joined: dict[tuple[int, int], int] = {}
        away: dict[int, list[int]] = {}
        prongs = begin.copy()  # but for loops
        for number in walls:
            a, b = self.perpendiculars[number].start, self.perpendiculars[number].end
            inner = [node for node in (a, b) if node is not None and node != BORDER]
            if a == b != BORDER:
                prongs[a] -= 2
            elif len(inner) == 2:
                joined[min(inner), max(inner)] = number
            else:
                away.setdefault(inner[0] if inner else BORDER, []).append(number)
        first = least_of_each(1 + max(chain(*joined), default=0), joined)
        hubs: dict[int, list[tuple[int, int]]] = {}
        for pair in joined:
            hubs.setdefault(first[pair[0]], []).append(pair)
        passed: set[int] = set()
        for hub in hubs.values():
            nodes = set(chain(*hub))
            ways = [(node, number) for node in nodes for number in away.get(node, ())]
            # sums of prongs are right in trees only
            whole = sum(prongs[node] for node in nodes) == 2 * len(hub) + len(ways)
            if len(ways) == 2 and whole and len(hub) == len(nodes) - 1:
                import networkx as nx  # seldom needed, and slow to load

                (a, one), (b, other) = ways
                between = pairwise(nx.shortest_path(nx.Graph(hub), a, b))
                passed |= {one, other, *(joined[min(pair), max(pair)] for pair in between)}
        return passed

    def _cuts(self) -> dict[int, list[float]]:
        """Where walls cross each arc, in order along it."""
        cuts: dict[int, list[float]] = {arc: [] for arc in range(len(self.plane.arcs))}
        for number in self.walls:
            for arc, at in self._crossings(number):
                cuts[arc].append(at)
        for crossings in cuts.values():
            crossings.sort()
        return cuts

    def _crossings(self, number: int) -> Iterator[tuple[int, float]]:
        p = self.perpendiculars[number]
        for arc, place in zip(p.arcs, p.rough[1:], strict=False):
            if arc is not None:
                yield arc, abs(complex(*place) - self.plane.arcs[arc].start)

    def _groups(self) -> dict[Corridor, Corridor]:
        """For each piece of an arc the first of its corridor: perpendiculars run from one of its pieces to another."""
        pieces = [(number, i) for number, cuts in self.cuts.items() for i in range(len(cuts) + 1)]
        numbers = {piece: i for i, piece in enumerate(pieces)}
        joined: list[tuple[int, int]] = []
        for number, cuts in self.cuts.items():
            arc = self.plane.arcs[number]
            for low, high in pairwise([0.0, *cuts, arc.length]):
                at = self._inside(arc, low, min(high, low + 4 * self.plane.step))
                if at is not None:
                    here, place = (number, bisect(cuts, at)), arc.place(at)
                    for side in (arc.left, arc.right):
                        there = self._piece(self.plane.way(side, place, arc.leads_up(self.plane.regions[side], side)))
                        if there is not None:
                            joined.append((numbers[here], numbers[there]))
        first = least_of_each(len(pieces), joined)
        return {piece: pieces[i] for piece, i in zip(pieces, first, strict=True)}

    def _inside(self, arc: _Arc, low: float, high: float) -> float | None:
        """A place on a piece of an arc that is inside the sheet; the arc may leave it on the way."""
        for share in _SHARES:
            at = low + share * (high - low)
            if self.plane.holds(arc.place(at)):
                return at
        return None

    def _piece(self, met: tuple[int, float] | None) -> Corridor | None:
        return None if met is None else (met[0], bisect(self.cuts[met[0]], met[1]))

    def _widths(self) -> dict[Corridor, float]:
        """How wide each corridor is; infinite if it has a hub on one side only, and goes on to the border."""
        width = {corridor: 0.0 if len(hubs) > 1 else inf for corridor, hubs in self.at.items()}
        for number, cuts in self.cuts.items():
            arc = self.plane.arcs[number]
            run = abs((arc.direction.conjugate() * self.plane.regions[arc.left].direction).real)
            ends = [at for at in (0.0, arc.length) if at < inf and self.plane.holds(arc.place(at))]
            for low, high in pairwise(sorted([*ends, *cuts])):
                corridor = self.groups[number, bisect(cuts, (low + high) / 2)]
                if corridor in width:
                    width[corridor] = max(width[corridor], run * (high - low))
        return {corridor: size or inf for corridor, size in width.items()}

    def _beside(self, number: int) -> tuple[Corridor, Corridor]:
        """The corridors on the two sides of a wall."""
        for arc, at in self._crossings(number):
            cut = bisect(self.cuts[arc], at)
            return self.groups[arc, cut - 1], self.groups[arc, cut]
        p = self.perpendiculars[number]
        middle = sum(complex(*place) for place in p.rough[:2]) / 2
        aside = _ASIDE * self.plane.step * self.plane.regions[p.sides[0]].direction
        found: list[Corridor] = []
        for place in (middle - aside, middle + aside):
            pieces = [self._piece(self.plane.way(p.sides[0], place, up)) for up in (True, False)]
            met = [piece for piece in pieces if piece is not None]
            found.append(self.groups[met[0]] if met else (-1 - number, len(found)))
        return found[0], found[1]

    def _hubs(self) -> list[dict[int, tuple[Corridor, Corridor]]]:
        """The walls that are joined at nodes, or begin in one place of the border, with the corridors beside them."""
        joined: list[tuple[int, int]] = []
        first: dict[object, int] = {}
        for i, number in enumerate(self.walls):
            p = self.perpendiculars[number]
            for end in (p.ends[0] if p.start == BORDER else p.start, p.end):
                if end is not None and end != BORDER:
                    joined.append((i, first.setdefault(end, i)))
        hubs = components(len(self.walls), joined)
        return [{self.walls[i]: self._beside(self.walls[i]) for i in hub} for hub in hubs]


def _ends(p: Perpendicular) -> set[int]:
    return {end for end in (p.start, p.end) if end is not None}


@dataclass(frozen=True)
class _Arc:
    start: complex
    direction: complex  # a unit vector
    length: float
    left: int
    right: int

    def place(self, at: float) -> complex:
        return self.start + at * self.direction

    def leads_up(self, region: _Region, side: int) -> bool:
        """Whether the way from the arc into the region of a side leads away from the side."""
        to_the_left = (self.direction.conjugate() * region.direction).real > 0
        return to_the_left == (side == self.left)


@dataclass(frozen=True)
class _Region:
    """What a side sweeps: where it is, and the arcs round it: each with its start and its direction as the side sees
    them, along it (x) and away from it (y).
    """

    start: complex
    direction: complex
    length: float
    bounds: tuple[tuple[int, complex, complex], ...]


class _Plane:
    """Skeleton and sheet in floats: places are complex numbers."""

    def __init__(self, tracer: Tracer) -> None:
        skeleton = tracer.skeleton
        self.loops = [[floats(p) for p in loop] for loop in tracer.loops]
        self.border = [(complex(*a), complex(*b)) for loop in self.loops for a, b in around(loop)]
        self.step = max(abs(x) for loop in self.loops for p in loop for x in p)
        nodes = [complex(*floats(node.place)) for node in skeleton.nodes]
        self.arcs = []
        for arc in skeleton.arcs:
            d, start = complex(*floats(arc.direction)), nodes[arc.start]
            length = inf if arc.end is None else abs(nodes[arc.end] - start)
            self.arcs.append(_Arc(start, d / abs(d), length, arc.left, arc.right))
        self.regions = []
        for number, side in enumerate(skeleton.sides):
            a, b, d = (complex(*floats(p)) for p in (side.start, side.end, side.direction))
            back = d.conjugate()
            bounds = (
                (i, (arc.start - a) * back, arc.direction * back)
                for i, arc in enumerate(self.arcs)
                if number in (arc.left, arc.right)
            )
            self.regions.append(_Region(a, d, abs(b - a), tuple(bounds)))

    def holds(self, place: complex) -> bool:
        """Whether a place is inside the sheet."""
        return is_inside(self.loops, place.real, place.imag)

    def way(self, number: int, place: complex, up: bool) -> tuple[int, float] | None:
        """The arc that a perpendicular comes to next, and where on it; None if it leaves the sheet before."""
        region = self.regions[number]
        sign = 1.0 if up else -1.0
        here = (place - region.start) * region.direction.conjugate()
        best, met = inf, None
        for arc, start, direction in region.bounds:
            if direction.real:
                far = (here.real - start.real) / direction.real
                if 0 <= far <= self.arcs[arc].length:
                    ahead = sign * (start.imag + far * direction.imag - here.imag)
                    if _NEAR * self.step < ahead < best:
                        best, met = ahead, (arc, far)
        over = not up and 0 < here.real < region.length and here.imag > _NEAR * self.step
        ahead = min(here.imag if over else best, 4 * self.step)
        there = place + sign * ahead * 1j * region.direction
        if self._leaves(place, there):
            return None
        return self.way(number ^ 1, there, True) if over else met

    def _leaves(self, here: complex, there: complex) -> bool:
        """Whether a way crosses the border of the sheet."""

        def crosses(a: complex, b: complex) -> bool:
            return _side(here, there, a) != _side(here, there, b) and _side(a, b, here) != _side(a, b, there)

        return any(crosses(a, b) for a, b in self.border)


def _side(a: complex, b: complex, c: complex) -> bool:
    return ((b - a).conjugate() * (c - a)).imag > 0
