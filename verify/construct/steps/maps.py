"""Strips and maps, all mountain or valley: simple folds of some layers by elimination, no search.

A map is a rectangle with creases along straight lines from edge to edge, parallel to its sides; a strip has them in one
direction only. Where two lines cross, one of them is the same on both sides and must be folded first; so the lines fall
into blocks, in turn of one direction and the other. Each block is a strip by itself: what was folded before in its
direction is one thickness of paper. A strip is folded by crimps and end folds (Arkin et al. 2004). Why nothing is
missed: proofs/theory/simple-folds.md, D8.
"""

from __future__ import annotations

from bisect import bisect, insort
from itertools import pairwise, product
from typing import NamedTuple

from verify.cutting.hands import StraightCrease, straight_creases
from verify.exact.number import ONE, ZERO, Number
from verify.exact.plane import Point, cross_vectors, difference, dot
from verify.folding.stack import LayerOrder
from verify.folding.vertex import strip_order
from verify.pattern.subdivision import Subdivision


class MapLine(NamedTuple):
    """A line of creases across a map, `at` 0 to 1 of the way: edges of each cell, and which cells are valleys."""

    at: Number
    cells: tuple[tuple[int, ...], ...]
    valley: tuple[bool, ...]
    name: str

    @property
    def edges(self) -> tuple[int, ...]:
        return tuple(e for cell in self.cells for e in cell)


Map = tuple[tuple[MapLine, ...], tuple[MapLine, ...]]
"""A map's lines in both directions, each in order, from 0 to 1 across the map."""


class Elimination(NamedTuple):
    """The edges that each fold bends, in order; if there are no simple folds, `why`, and those of the blocks before."""

    folds: tuple[frozenset[int], ...]
    why: str = ""


def map_of(s: Subdivision, order: LayerOrder | None = None) -> Map | None:
    """The pattern as a map or strip; None if it is none. Creases drawn `either`, of strips alone, go as in `order`: one
    way to fold a strip is as good as another (Arkin et al. 2004).
    """
    document = s.drawing.document
    corners = [s.drawing.places[name] for name in document.outline]
    is_open = any(e.kind == "either" for e in s.edges)
    if len(corners) != 4 or document.holes or (is_open and order is None):
        return None
    kinds = (order.assignment(i) if e.kind == "either" and order else e.kind for i, e in enumerate(s.edges))
    valleys = {i for i, kind in enumerate(kinds) if kind == "valley"}
    a, b, c, d = corners
    axes = difference(b, a), difference(d, a)
    if dot(*axes).sign() != 0 or difference(c, b) != axes[1]:
        return None
    found: tuple[list[tuple[Number, StraightCrease]], ...] = ([], [])
    for line in straight_creases(s):
        one, two = (s.vertices[v] for v in line.ends)
        way = difference(two, one)
        n = 0 if cross_vectors(way, axes[1]).sign() == 0 else 1
        reach = {_along(axes[1 - n], a, one), _along(axes[1 - n], a, two)}
        if cross_vectors(way, axes[1 - n]).sign() != 0 or reach != {ZERO, ONE}:
            return None
        insort(found[n], (_along(axes[n], a, one), line))
    lines: tuple[list[MapLine], ...] = ([], [])
    for n in (0, 1):
        stops = [at for at, _ in found[1 - n]]
        for at, line in found[n]:
            cells: list[list[int]] = [[] for _ in range(len(stops) + 1)]
            for i in line.edges:
                start = min(_along(axes[1 - n], a, s.vertices[v]) for v in s.edges[i].ends)
                cells[bisect(stops, start)].append(i)
            if any(len({e in valleys for e in cell}) > 1 for cell in cells):
                return None
            valley = tuple(cell[0] in valleys for cell in cells)
            name = f"{s.name(line.ends[0])}–{s.name(line.ends[1])}"
            lines[n].append(MapLine(at, tuple(map(tuple, cells)), valley, name))
    return None if is_open and all(lines) else (tuple(lines[0]), tuple(lines[1]))


def _along(axis: Point, origin: Point, place: Point) -> Number:
    """How far a place is along an axis, in lengths of the axis. Exact."""
    return dot(axis, difference(place, origin)) / dot(axis, axis)


def eliminate(sheet: Map) -> Elimination:
    """The order in which the lines of a map can be folded by simple folds of some layers; or why they cannot."""
    blocks = _blocks(sheet)
    if isinstance(blocks, str):
        return Elimination((), blocks)
    folds: list[frozenset[int]] = []
    folded: tuple[set[int], set[int]] = (set(), set())
    for direction, block in blocks:
        order = _block(sheet, direction, folded[direction], block)
        if isinstance(order, str):
            return Elimination(tuple(folds), order)
        folds += [frozenset(e for i in lines for e in sheet[direction][i].edges) for lines in order]
        folded[direction].update(block)
    return Elimination(tuple(folds))


def _blocks(sheet: Map) -> list[tuple[int, list[int]]] | str:
    """The lines in the order that their crossings force, by directions in turn; or why there is none."""
    left = [set(range(len(lines))) for lines in sheet]
    blocks: list[tuple[int, list[int]]] = []
    while left[0] or left[1]:
        for n in (0, 1):
            ready = [i for i in sorted(left[n]) if _runs_through(sheet[n][i], left[1 - n])]
            for i, j in product(ready, set(range(len(sheet[1 - n]))) - left[1 - n]):
                one, two = sheet[n][i], sheet[1 - n][j]
                if one.valley[j] == one.valley[j + 1]:
                    return f"{one.name} and {two.name} both run through where they cross: no vertex folds so"
            if ready:
                left[n] -= set(ready)
                blocks.append((n, ready))
                break
        else:
            names = ", ".join(sheet[n][i].name for n in (0, 1) for i in sorted(left[n]))
            return f"none of {names} runs right across as one mountain or one valley, so none can be the next"
    return blocks


def _runs_through(line: MapLine, open_: set[int]) -> bool:
    """Whether the line is the same on both sides of every line that crosses it and is still open."""
    return all(line.valley[i] == line.valley[i + 1] for i in open_)


def _block(sheet: Map, direction: int, folded: set[int], block: list[int]) -> list[tuple[int, ...]] | str:
    """The order of a block's folds, each of the lines that lie on one another; or why there is none."""
    lines = sheet[direction]
    stops = [lines[i].at for i in sorted(folded)]

    def lies(x: Number) -> Number:
        """Where a place of the sheet lies in the strip as it is folded."""
        for stop in reversed([stop for stop in stops if stop < x]):
            x = 2 * stop - x
        return x

    ends = [sorted(map(lies, pair)) for pair in pairwise([ZERO, *stops, ONE])]
    low, high = min(a for a, _ in ends), max(b for _, b in ends)
    at: dict[Number, list[tuple[int, bool]]] = {}
    for i in block:
        turned = sum(stop < lines[i].at for stop in stops) % 2 == 1
        at.setdefault(lies(lines[i].at), []).append((i, lines[i].valley[0] != turned))
    creases: list[tuple[Number, bool, tuple[int, ...]]] = []
    for place, there in sorted(at.items(), key=lambda item: item[0]):
        crossing = sum(a < place < b for a, b in ends)
        names = ", ".join(lines[i].name for i, _ in there)
        if crossing != len(there):
            return (
                f"{names} would have to be folded through {crossing} layers, of which "
                f"{crossing - len(there)} have no crease there yet to be folded"
            )
        if len({valley for _, valley in there}) > 1:
            return f"{names} lie on one another and are drawn to be folded different ways"
        creases.append((place, there[0][1], tuple(i for i, _ in there)))
    places = [low, *(place for place, _, _ in creases), high]
    order = strip_order([b - a for a, b in pairwise(places)], [valley for _, valley, _ in creases])
    if order is None:
        names = ", ".join(lines[i].name for i in block)
        return f"{names}: folded as drawn, one of them traps another"
    return [creases[k][2] for k in order]
