"""Crease patterns that bring a whole figure onto one line: the arcs of its straight skeleton, and some perpendiculars.

Every such pattern has a fold map, and its cut line meets exactly the figure. Whether the folded layers can
lie in some order without passing through each other, only a solver and the kernel say.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import networkx as nx

from verify.construct.figure import Figure, joined
from verify.construct.perpendiculars import BORDER, MOST_STEPS, Perpendicular, Tracer
from verify.construct.skeleton import Skeleton, straight_skeleton
from verify.exact.number import Number
from verify.exact.plane import Point, cross_vectors, difference, dot, length, same_place, segment_meeting
from verify.pattern.limits import LimitReached, Limits

Segment = tuple[Point, Point]
MOST_CREASES = 2_000  # of one pattern


@dataclass(frozen=True)
class Creases:
    """The folds of a pattern, each a straight segment in the sheet. `how` says which perpendiculars were taken."""

    figure: Figure
    segments: tuple[Segment, ...]
    how: str


class Endless(Exception):
    """Every pattern of this construction needs a perpendicular that was not followed to its end."""

    def __init__(self, count: int) -> None:
        super().__init__(
            f"{count} perpendiculars do not end within {MOST_STEPS} steps, and the pattern needs some of them"
        )


class Construction:
    """The skeleton of a figure, the perpendiculars, and the patterns that can be made of them."""

    def __init__(self, figure: Figure, limits: Limits = Limits()) -> None:
        self.figure = figure
        self.skeleton: Skeleton = straight_skeleton(figure.points, figure.lines, figure.directions, limits)
        self.tracer = Tracer(self.skeleton, figure.loops)
        self.perpendiculars = self.tracer.all()
        self.arcs = [piece for arc in range(len(self.skeleton.arcs)) for piece in self._on_sheet(*self._arc(arc))]
        self.odd = self._odd()

    def _arc(self, number: int) -> Segment:
        """The ends of an arc; of one that runs for ever, a place outside the sheet."""
        arc = self.skeleton.arcs[number]
        start = self.skeleton.nodes[arc.start].place
        if arc.end is not None:
            return start, self.skeleton.nodes[arc.end].place
        d = arc.direction
        far = sum((abs(p.x - start.x) + abs(p.y - start.y) for p in self.figure.loops[0]), Number.of(1))
        share = far / (abs(d.x) + abs(d.y))
        return start, Point(start.x + share * d.x, start.y + share * d.y)

    def _on_sheet(self, start: Point, end: Point) -> Iterator[Segment]:
        """The pieces of a segment that lie in the sheet and not on its border."""
        along = difference(end, start)
        stops = [start, end]
        for loop in self.figure.loops:
            for i, b in enumerate(loop):
                meeting = segment_meeting(start, end, loop[i - 1], b)
                if meeting is not None:
                    stops += [meeting] if isinstance(meeting, Point) else list(meeting)
        stops.sort(key=lambda p: dot(along, difference(p, start)))
        for a, b in pairwise(stops):
            if not same_place(a, b) and self.tracer.on_sheet(Point((a.x + b.x) / 2, (a.y + b.y) / 2)) > 0:
                yield a, b

    def _odd(self) -> list[int]:
        """The nodes inside the sheet at which arcs and folded lines are odd in number."""
        count: dict[int, int] = {}
        for arc in self.skeleton.arcs:
            for node in (arc.start, arc.end):
                if node is not None:
                    count[node] = count.get(node, 0) + 1
        at = {node.place: i for i, node in enumerate(self.skeleton.nodes) if not node.time}
        for line in self.figure.folded:
            for end in self.figure.lines[line]:
                node = at[self.figure.points[end]]
                count[node] = count.get(node, 0) + 1
        return [node for node, n in sorted(count.items()) if n % 2 and self.tracer.inside[node] > 0]

    def patterns(self, varied: int = 0, in_time: Callable[[], None] = lambda: None) -> Iterator[Creases]:
        """Patterns, those with few folds first; each only once.

        After those of least weight and the one with all perpendiculars come up to `varied` others, the least for
        weights that vary at random (the same in every run), more and more of them below zero, so that the
        perpendiculars become many. Raises `Endless` if there is none, `LimitReached` past `MOST_CREASES` in the first
        one, or from `in_time`, which is called before each.
        """
        seen: set[tuple[int, ...]] = set()
        ways = {
            "few folds": [len(p.places) - 1.0 for p in self.perpendiculars],
            "short folds": [sum(length(a, b) for a, b in pairwise(p.places)) for p in self.perpendiculars],
            "few perpendiculars": [1.0 + len(p.places) / 1e4 for p in self.perpendiculars],
        }
        for how, weights in ways.items():
            in_time()
            chosen = self._chosen(weights)
            if chosen not in seen:
                seen.add(chosen)
                yield self._creases(chosen, how)
        every = self._every()
        if every not in seen and all(self.perpendiculars[i].end is not None for i in every):
            seen.add(every)
            yield self._creases(every, "all perpendiculars")
        rng = random.Random(1)
        for i in range(varied):
            in_time()
            spread = [rng.lognormvariate(0, 0.7) for _ in self.perpendiculars]
            below = [rng.random() < i / (2 * varied) for _ in self.perpendiculars]
            chosen = self._chosen(
                [w * x * (-0.2 if b else 1) for w, x, b in zip(ways["few folds"], spread, below, strict=True)]
            )
            if chosen not in seen:
                seen.add(chosen)
                yield self._creases(chosen, f"variation {i + 1}")

    def _every(self) -> tuple[int, ...]:
        """The perpendiculars from all nodes but the figure's own vertices, and from those vertices at which one
        ends.
        """
        active = {i for i, node in enumerate(self.skeleton.nodes) if node.time} | {*self.odd}
        chosen: set[int] = set()
        while True:
            more = {i for i, p in enumerate(self.perpendiculars) if p.start in active or p.end in active} - chosen
            if not more:
                return tuple(sorted(chosen))
            chosen |= more
            for i in more:
                active |= {self.perpendiculars[i].start, self.perpendiculars[i].end or 0} - {BORDER}

    def _chosen(self, weights: Sequence[float]) -> tuple[int, ...]:
        """The perpendiculars of least total weight that make the number of creases even at every node.

        Those of a weight below zero are taken first; then what is left odd is joined at the least cost of taking or
        giving back.
        """
        ends = {i: (p.start, self._end(p)) for i, p in enumerate(self.perpendiculars) if p.end is not None}
        taken = {i for i in ends if weights[i] < 0}
        odd = {*self.odd}
        for i in taken:
            for end in ends[i]:
                odd ^= {end} - {BORDER}
        graph = nx.Graph()
        graph.add_nodes_from([BORDER, *odd])
        for i, (a, b) in ends.items():
            cost = abs(weights[i])
            if a != b and (not graph.has_edge(a, b) or cost < graph.edges[a, b]["weight"]):
                graph.add_edge(a, b, weight=cost, number=i)
        try:
            pairs = joined(graph, sorted(odd) + [BORDER] * (len(odd) % 2))
        except nx.NetworkXNoPath:
            raise Endless(sum(p.end is None for p in self.perpendiculars)) from None
        return tuple(sorted(taken ^ {graph.edges[tuple(pair)]["number"] for pair in pairs}))

    def _end(self, p: Perpendicular) -> int:
        """The node in which a perpendicular ends, if it is inside the sheet, else the border."""
        return BORDER if p.end is None or p.end == BORDER or self.tracer.inside[p.end] <= 0 else p.end

    def _creases(self, chosen: Sequence[int], how: str) -> Creases:
        segments = list(self.arcs)
        figure = self.figure
        segments += [(figure.points[a], figure.points[b]) for a, b in (figure.lines[i] for i in sorted(figure.folded))]
        for number in chosen:
            segments += pairwise(_straightened(self.perpendiculars[number].places))
        if len(segments) > MOST_CREASES:
            raise LimitReached("creases", f"{MOST_CREASES:,}", f"{len(segments):,} creases")
        return Creases(figure, tuple(segments), how)


def _straightened(places: Sequence[Point]) -> list[Point]:
    """The places of a way at which it turns, and its ends."""
    kept = [places[0]]
    for here, there in pairwise(places[1:]):
        u, v = difference(here, kept[-1]), difference(there, here)
        if cross_vectors(u, v).sign() or dot(u, v).sign() < 0:
            kept.append(here)
    return [*kept, places[-1]]
