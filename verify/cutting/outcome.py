"""What is really cut: the outline on the flat sheet that a straight cut through folded paper gives."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import NamedTuple

from verify.exact.number import Number
from verify.exact.plane import Point, around, cross, crossed, orientation
from verify.folding.alignments import FoldLine
from verify.folding.foldmap import FoldMap
from verify.pattern.components import chains
from verify.pattern.document import Crease, Document, Kind
from verify.pattern.names import Names

Segment = tuple[Point, Point]


class Outline(NamedTuple):
    """The preimage of a cut line on the flat sheet, in exact places.

    Closed `loops` by their corners, open `paths` between the sheet's edge and places where more than two lines meet,
    and stretches `along_edge`, where the cut runs along the sheet's own edge and cuts nothing.
    """

    loops: tuple[tuple[Point, ...], ...]
    paths: tuple[tuple[Point, ...], ...]
    along_edge: tuple[Segment, ...]

    def segments(self) -> list[Segment]:
        """All straight pieces of the outline."""
        closed = [(a, b) for loop in self.loops for a, b in around(loop)]
        return closed + [(a, b) for path in self.paths for a, b in pairwise(path)]


def outline(fold_map: FoldMap, line: FoldLine) -> Outline:
    """What one complete straight cut along `line` (in the folded plane) cuts on the flat sheet. Exact."""
    s = fold_map.subdivision
    heights = [cross(*line, image) for image in fold_map.images]
    signs = [h.sign() for h in heights]
    segments: list[Segment] = []
    along_edge: list[Segment] = []
    for e in s.edges:
        if signs[e.start] == 0 and signs[e.end] == 0:
            where = along_edge if e.kind == "border" else segments
            where.append(s.segment(e))
    for loop in s.faces:
        if min(signs[v] for v in loop) < 0 < max(signs[v] for v in loop):
            first, second = crossings(s.vertices, loop, heights)
            segments.append((first, second))
    loops, paths = chains(segments, lambda a, b, c: orientation(a, b, c) != 0)
    return Outline(tuple(loops), tuple(paths), tuple(along_edge))


def crossings(
    places: Sequence[Point], loop: Sequence[int], heights: Sequence[Number] | Mapping[int, Number]
) -> list[Point]:
    """Where a line of the folded plane, over which vertices have these `heights`, crosses the rim of a face whose
    vertices are at these places, flat or folded. Exact.
    """
    ring = crossed([places[v] for v in loop], [heights[v] for v in loop])
    return [place for place, side, _ in ring if side == 0]


def pattern_of(fold_map: FoldMap, cut: Outline | None = None) -> Document:
    """The folded paper as a pattern: creases as folded (flat where opened again), every place named; its target, or
    `cut` in place of it.
    """
    s = fold_map.subdivision
    base = s.drawing.document
    names = Names({place: name for name, place in reversed(s.drawing.places.items())}, base.points)
    creases: list[Crease] = []
    by_kind: dict[Kind, list[int]] = defaultdict(list)
    for number, e in enumerate(s.edges):
        if e.kind != "border" and (e.is_fold or e.crease is not None):
            by_kind[e.kind].append(number)
    for kind, edges in by_kind.items():
        for (start, end), _ in s.rows(edges, across=True):
            creases.append(Crease(names.of(s.vertices[start]), names.of(s.vertices[end]), kind))
    loops, paths, snips = base.loops, base.paths, base.snips
    if cut is not None:
        loops = tuple(tuple(map(names.of, loop)) for loop in cut.loops)
        paths = tuple(tuple(map(names.of, path)) for path in cut.paths)
        snips = 1 if loops or paths else None
    points = {**base.points, **names.made}
    return replace(
        base, points=points, creases=tuple(creases), loops=loops, paths=paths, snips=snips, raw=None, is_toml=False
    )
