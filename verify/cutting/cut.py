"""The cut: what one straight line (or k snips) through the folded sheet really cuts.

A *cell* is an open face, an open edge or a vertex of the subdivision; target cells are the target's edges and their
ends. The cut is made in the open sheet: the sheet's own edge, where it touches the line or lies along it, is not
severed, and a target edge along it is cut already. A cut is exact when its preimage in the open sheet is the union of
the target cells there: it covers every target edge and meets the image of no other cell, be it in a single point.
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np

from verify.cutting.outcome import crossings
from verify.exact.number import ZERO, Number
from verify.exact.plane import Point, advance, between, cross, length, orientation
from verify.exact.ragged import starts_of
from verify.folding.overlaps import Overlaps

CellKind = Literal["face", "edge", "vertex"]
_KINDS: tuple[CellKind, ...] = ("edge", "face", "edge", "vertex")
# Common practice, no source: about a dozen layers of office paper are cut, sixteen are called too thick.
LAYERS_IN_PRACTICE = 12


class Cell(NamedTuple):
    """A face, edge or vertex of the subdivision, by number."""

    kind: CellKind
    number: int


class Snip(NamedTuple):
    """A straight piece of the cut between the images of two vertices; the target `edges` that it cuts, the number of
    its `line`.
    """

    line: int
    start: int
    end: int
    edges: tuple[int, ...]


@dataclass(frozen=True)
class Layers:
    """How many layers the scissors meet along one stretch of the cut, between two places of the folded plane."""

    start: Point
    end: Point
    count: int


class Cut(NamedTuple):
    """What the cut of a folded pattern does, exactly.

    `allowed`: the document's snips (1: a complete cut along `line`, which is None if the whole target lies along the
    sheet's edge: then nothing is to be cut). `missed`: target edges off that line (of a complete cut only). `stray`:
    cells that are cut and are not target. `needed`: the least number of snips that cut the target in this folding, None
    if a stretch of it cannot be cut without something else. `layers`: along the cut, be it exact or not.
    """

    overlaps: Overlaps
    allowed: int
    line: int | None
    missed: tuple[int, ...]
    stray: tuple[tuple[Cell, int], ...]
    snips: tuple[Snip, ...]
    needed: int | None
    layers: tuple[Layers, ...]

    @property
    def exact(self) -> bool:
        """Whether the cut frees exactly the target with the snips that the document allows."""
        if self.allowed == 1:
            return not self.missed and not self.stray
        return self.needed is not None and self.needed <= self.allowed

    @property
    def through(self) -> tuple[Point, Point]:
        """Two places of the cut line. Assumes that there is one."""
        if self.line is None:
            raise ValueError("nothing is to be cut")
        a, b = (self.overlaps.spots[x] for x in self.overlaps.line_spots[self.line])
        return a, b

    @property
    def most_layers(self) -> int:
        return most(self.layers)


class Cutter:
    """Works out the cut of one folded pattern. Assumes that the fold map exists and that there is a target."""

    def __init__(self, overlaps: Overlaps) -> None:
        self.overlaps = overlaps
        self.s = overlaps.subdivision
        self.target = [i for i, e in enumerate(self.s.edges) if e.is_cut]
        # edges and vertices that a cut may meet
        self.may_meet = np.array([bool(e.target) or e.kind == "border" for e in self.s.edges])
        self._met_by: dict[int, list[list[int]]] = {}
        self._ranks: dict[int, dict[int, int]] = {}
        self.spared = self.s.on_border.union(v for i in self.target for v in self.s.edges[i].ends)

    def run(self, allowed: int, line: int | None = None) -> Cut:
        o = self.overlaps
        if not self.target:
            return Cut(o, allowed, None, (), (), (), 0, ())
        if line is None:
            line = self._main_line() if allowed == 1 else int(o.edge_line[self.target[0]])
        missed = tuple(e for e in self.target if o.edge_line[e] != line) if allowed == 1 else ()
        snips = [snip for n in sorted({int(o.edge_line[e]) for e in self.target}) for snip in self._snips(n)]
        unclean = [(cell, snip.edges[0]) for snip in snips for cell in self._within(snip.line, snip.start, snip.end)]
        if allowed == 1:
            on_line = next(e for e in self.target if o.edge_line[e] == line)
            met = zip(_KINDS, self._met(line), strict=True)
            stray = [(Cell(kind, number), on_line) for kind, numbers in met for number in numbers]
        else:
            stray = [(cell, self._covering(cell)) for cell in dict.fromkeys(c for c, _ in unclean)]
        needed = None if unclean else len(snips)
        return Cut(o, allowed, line, missed, tuple(stray), tuple(snips), needed, self._layers(allowed, line, snips))

    def _layers(self, allowed: int, line: int, snips: list[Snip]) -> tuple[Layers, ...]:
        o = self.overlaps
        if allowed == 1:
            return tuple(layers_along(o, *(o.spots[x] for x in o.line_spots[line])))
        ends = [(o.fold_map.images[snip.start], o.fold_map.images[snip.end]) for snip in snips]
        return tuple(part for a, b in ends for part in layers_along(o, a, b, within=True))

    def _main_line(self) -> int:
        """The folded line that carries the greatest length of target."""
        lengths: dict[int, float] = defaultdict(float)
        for e in self.target:
            lengths[int(self.overlaps.edge_line[e])] += length(*self.s.segment(self.s.edges[e]))
        return max(lengths, key=lambda n: (round(lengths[n], 9), -n))

    def _met(self, line: int) -> list[list[int]]:
        """What a line meets and must not: edges on it, faces and edges that it runs through, vertices on it."""
        if line not in self._met_by:
            o = self.overlaps
            signs = o.sides(line)
            mine, begin = signs[o.corners[0]], starts_of(o.sizes)
            a, b = signs[o.edge_spots].T
            on_it = [v for v in np.flatnonzero(signs[o.spot_of] == 0).tolist() if v not in self.spared]
            found = (
                (o.edge_line == line) & ~self.may_meet,
                (np.minimum.reduceat(mine, begin) < 0) & (np.maximum.reduceat(mine, begin) > 0),
                (a * b < 0) & ~self.may_meet,
            )
            self._met_by[line] = [*(np.flatnonzero(there).tolist() for there in found), on_it]
        return self._met_by[line]

    def ranks(self, line: int) -> dict[int, int]:
        """The spots on a line, each with its place along it."""
        if line not in self._ranks:
            on_it = np.flatnonzero(self.overlaps.sides(line) == 0).tolist()
            self._ranks[line] = self.overlaps.ranks_on(line, on_it)
        return self._ranks[line]

    def span(self, line: int, edge: int) -> tuple[int, int]:
        """The ranks along its line of a folded edge's ends, low first."""
        ranks = self.ranks(line)
        one, two = (ranks[int(x)] for x in self.overlaps.edge_spots[edge])
        return min(one, two), max(one, two)

    def _within(self, line: int, start: int, end: int) -> Iterator[Cell]:
        """Cells that are not target and meet the closed segment between the images of two vertices on the line."""
        o = self.overlaps
        ranks = self.ranks(line)
        spots = int(o.spot_of[start]), int(o.spot_of[end])
        low, high = sorted(ranks[x] for x in spots)
        on_it, faces, across, vertices = self._met(line)
        for e in on_it:
            one, two = self.span(line, e)
            if one < high and low < two:
                yield Cell("edge", e)
        for f in faces:
            if self._reaches(f, spots):
                yield Cell("face", f)
        for e in across:
            one, two = o.sides_at(o.edge_line[e], np.array(spots)).tolist()
            if one * two <= 0:
                yield Cell("edge", e)
        for v in vertices:
            if low <= ranks[int(o.spot_of[v])] <= high:
                yield Cell("vertex", v)

    def _reaches(self, face: int, spots: tuple[int, int]) -> bool:
        o = self.overlaps
        inside = (o.sides_at(o.edge_line[e], np.array(spots)) * o.face_side(e, face) for e in self.s.face_edges[face])
        return all((side > 0).any() for side in inside)

    def _snips(self, line: int) -> list[Snip]:
        """The fewest snips on one line: stretches of target, joined where the gap between them is clean."""
        mine = [e for e in self.target if self.overlaps.edge_line[e] == line]
        at: dict[int, int] = {}
        for e in mine:
            for v in self.s.edges[e].ends:
                at.setdefault(self.ranks(line)[int(self.overlaps.spot_of[v])], v)
        snips: list[Snip] = []
        for e in sorted(mine, key=lambda e: self.span(line, e)):
            low, high = self.span(line, e)
            if snips:
                last = snips[-1]
                reach = self.ranks(line)[int(self.overlaps.spot_of[last.end])]
                if low <= reach or next(self._within(line, last.end, at[low]), None) is None:
                    end = at[high] if high > reach else last.end
                    snips[-1] = Snip(line, last.start, end, (*last.edges, e))
                    continue
            snips.append(Snip(line, at[low], at[high], (e,)))
        return snips

    def _covering(self, cell: Cell) -> int:
        """A target edge whose own image the cell meets."""
        for e in self.target:
            line = int(self.overlaps.edge_line[e])
            start, end = self.s.edges[e].ends
            if cell in self._within(line, start, end):
                return e
        raise RuntimeError("a stray cell that meets no target edge")


def cut(overlaps: Overlaps, snips: int) -> Cut:
    """What the cut of a folded pattern does with that many snips (1: one complete straight cut)."""
    return Cutter(overlaps).run(snips)


def cut_along(overlaps: Overlaps, line: tuple[Point, Point]) -> Cut | None:
    """What one straight cut along a line of the folded plane does; None if no target edge inside the sheet is on it."""
    cutter = Cutter(overlaps)
    on = [orientation(*line, spot) == 0 for spot in overlaps.spots]
    for e in cutter.target:
        a, b = overlaps.edge_spots[e]
        if on[a] and on[b]:
            return cutter.run(1, int(overlaps.edge_line[e]))
    return None


def layers_along(overlaps: Overlaps, a: Point, b: Point, *, within: bool = False) -> list[Layers]:
    """The layers on the line through two places of the folded plane, stretch after stretch from a to b, or only
    `within` them. Exact; stretches without paper are left out.

    A face that the line crosses is one layer, so is an edge on it; a fold on it is two; the sheet's own edge is none.
    """
    s, images = overlaps.subdivision, overlaps.fold_map.images
    heights = [cross(a, b, p) for p in images]
    signs = [h.sign() for h in heights]
    spans: list[tuple[Number, Number, int]] = []
    for loop in s.faces:
        if {-1, 1} <= {signs[v] for v in loop}:
            places = [advance(a, b, p) for p in crossings(images, loop, heights)]
            spans.append((min(places), max(places), 1))
    for e in s.edges:
        if e.kind != "border" and signs[e.start] == signs[e.end] == 0:
            low, high = sorted(advance(a, b, images[v]) for v in e.ends)
            spans.append((low, high, 2 if e.is_fold else 1))
    whole = advance(a, b, b)
    if within:
        spans = [(max(low, ZERO), min(high, whole), n) for low, high, n in spans if low < whole and high > ZERO]
    change: dict[Number, int] = {}
    for low, high, n in spans:
        change[low], change[high] = change.get(low, 0) + n, change.get(high, 0) - n
    stops = sorted(stop for stop, n in change.items() if n)
    ways = [between(a, b, t / whole) for t in stops]
    counts = itertools.accumulate(change[stop] for stop in stops)
    return [Layers(p, q, n) for (p, q), n in zip(itertools.pairwise(ways), counts, strict=False) if n]


def most(layers: Iterable[Layers]) -> int:
    """The greatest number of layers of some stretches; 0 without any."""
    return max((part.count for part in layers), default=0)


def distance_squared(cut_: Cut, edge: int) -> Number:
    """The square of the greatest distance of a folded edge from the cut line. Exact."""
    o = cut_.overlaps
    a, b = cut_.through
    heights = [cross(a, b, o.spots[int(x)]) for x in o.edge_spots[edge]]
    most = max(abs(h) for h in heights)
    return most * most / advance(a, b, b)


def pulled_back(cut_: Cut, face: int) -> tuple[Point, Point]:
    """Where the cut line crosses a face, as a segment on the flat sheet. Exact. Assumes that it passes through the open
    face.
    """
    s, images = cut_.overlaps.subdivision, cut_.overlaps.fold_map.images
    loop = s.faces[face]
    first, *_, last = crossings(s.vertices, loop, {v: cross(*cut_.through, images[v]) for v in loop})
    return first, last
