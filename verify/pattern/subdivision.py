"""The sheet subdivided by all that is drawn on it: vertices, edges, convex faces, and their names."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import combinations, pairwise
from typing import Literal

from verify.exact.number import Number
from verify.exact.number_text import rational_text
from verify.exact.plane import (
    Point,
    advance,
    around,
    difference,
    direction_order,
    orientation,
    polygon_area2,
    with_neighbours,
)
from verify.pattern.components import components
from verify.pattern.drawing import Drawing

EdgeKind = Literal["mountain", "valley", "either", "flat", "border"]


@dataclass(frozen=True)
class Edge:
    """An edge from vertex `start` to `end` (in the direction in which its line is drawn) with the faces to its left and
    right (-1: none).

    `kind` is how it is folded (`flat`: not at all, be it drawn flat, target or auxiliary); `crease` is the drawn crease
    that it lies on (for a recipe the number of the step whose fold made it), `target` the target lines.
    """

    start: int
    end: int
    left: int
    right: int
    kind: EdgeKind
    crease: int | None
    target: tuple[int, ...]

    @property
    def is_fold(self) -> bool:
        return self.kind in ("mountain", "valley", "either")

    @property
    def is_cut(self) -> bool:
        """Whether it is target inside the open sheet: along the sheet's edge there is nothing to cut."""
        return bool(self.target) and self.kind != "border"

    @property
    def is_auxiliary(self) -> bool:
        return self.kind == "flat" and self.crease is None and not self.target

    @property
    def ends(self) -> tuple[int, int]:
        return self.start, self.end

    def other(self, vertex: int) -> int:
        """The end that is not this one."""
        return self.end if self.start == vertex else self.start

    def left_from(self, vertex: int) -> int:
        """The face on the left of the way from one of its ends (-1: none)."""
        return self.left if self.start == vertex else self.right

    def across(self, face: int) -> int:
        """The face on the other side (-1: none)."""
        return self.right if self.left == face else self.left


@dataclass(frozen=True)
class Subdivision:
    """Vertices, edges and convex faces (counter-clockwise) of a drawing, all exact.

    `sheet_chains` are closed walks along the loops, as drawn; `crease_chains` and
    `target_chains` the vertices along each drawn line.
    """

    drawing: Drawing
    vertices: tuple[Point, ...]
    faces: tuple[tuple[int, ...], ...]
    edges: tuple[Edge, ...]
    sheet_chains: tuple[tuple[int, ...], ...]
    crease_chains: tuple[tuple[int, ...], ...]
    target_chains: tuple[tuple[int, ...], ...]

    @cached_property
    def edge_at(self) -> dict[tuple[int, int], int]:
        """Edge number by its ends, in both directions."""
        at = {}
        for i, e in enumerate(self.edges):
            at[e.start, e.end] = at[e.end, e.start] = i
        return at

    def edges_along(self, chain: Sequence[int]) -> list[int]:
        """The edges of a chain of vertices, such as one of `crease_chains`, in its order."""
        return [self.edge_at[ends] for ends in pairwise(chain)]

    @cached_property
    def around(self) -> tuple[tuple[int, ...], ...]:
        """For each vertex its edges counter-clockwise."""
        lists: list[list[int]] = [[] for _ in self.vertices]
        for i, e in enumerate(self.edges):
            lists[e.start].append(i)
            lists[e.end].append(i)
        for v, numbers in enumerate(lists):
            here = self.vertices[v]

            def heading(i: int, v: int = v, here: Point = here) -> Point:
                return difference(self.vertices[self.edges[i].other(v)], here)

            numbers.sort(key=lambda i: direction_order(heading(i)))
        return tuple(tuple(x) for x in lists)

    @cached_property
    def on_border(self) -> frozenset[int]:
        """Vertices on the sheet's boundary."""
        return frozenset(v for e in self.edges if e.kind == "border" for v in e.ends)

    @cached_property
    def face_edges(self) -> tuple[tuple[int, ...], ...]:
        """For each face its edges, in the order of its vertices."""
        return tuple(tuple(self.edge_at[u, v] for u, v in around(f)) for f in self.faces)

    @cached_property
    def panels(self) -> list[list[int]]:
        """The faces of each panel: what folds do not part, and so moves as one."""
        joined = ((e.left, e.right) for e in self.edges if e.kind == "flat")
        return components(len(self.faces), joined)

    @cached_property
    def panel_of(self) -> list[int]:
        """The panel of each face, by its number in `panels`."""
        numbers = [0] * len(self.faces)
        for number, faces in enumerate(self.panels):
            for face in faces:
                numbers[face] = number
        return numbers

    def outlines(self, faces: Iterable[int]) -> list[list[int]]:
        """The outline of a set of faces as closed walks over vertices."""
        follow: dict[int, list[int]] = defaultdict(list)
        inside = {(u, v) for f in faces for u, v in around(self.faces[f])}
        for u, v in sorted(inside):
            if (v, u) not in inside:
                follow[u].append(v)
        loops = []
        while follow:
            walk = [next(iter(follow))]
            while follow.get(walk[-1]):
                here = walk[-1]
                walk.append(follow[here].pop())
                if not follow[here]:
                    del follow[here]
            loops.append(walk[:-1])
        return loops

    def straight(self, edges: Iterable[int]) -> list[tuple[int, int]]:
        """The ends of the straight lines that some edges make up: edges in a row are one line where no third one of
        them ends between.
        """
        turn = {edge: k for k, edge in enumerate(edges)}
        found = []
        for (start, end), run in self.rows(turn, across=False):
            found.append((start, turn[run[0]], end) if start < end else (end, turn[run[-1]], start))
        return [(first, last) for first, _, last in sorted(found)]

    def rows(self, edges: Iterable[int], *, across: bool) -> Iterator[tuple[tuple[int, int], list[int]]]:
        """Some edges in rows that are straight, each with the vertices at its ends: also `across` others, or only where
        no third edge of them ends between.
        """
        chosen = list(edges)
        here: dict[int, list[int]] = {}
        for i in chosen:
            for v in self.edges[i].ends:
                here.setdefault(v, []).append(i)
        ahead: dict[tuple[int, int], int] = {}
        for v, numbers in here.items():
            for i, j in combinations(numbers, 2) if across or len(numbers) == 2 else ():
                if self._straight_on(v, i, j):
                    ahead[i, v], ahead[j, v] = j, i
        left = set(chosen)
        for i in chosen:
            for start in self.edges[i].ends:
                if i in left and (i, start) not in ahead:
                    run, at = [i], self.edges[i].other(start)
                    while (run[-1], at) in ahead:
                        run.append(ahead[run[-1], at])
                        at = self.edges[run[-1]].other(at)
                    left -= set(run)
                    yield (start, at), run

    def _straight_on(self, v: int, i: int, j: int) -> bool:
        """Whether two edges at a vertex lie on one line, on either side of it. Exact."""
        a, b, c = (self.vertices[w] for w in (self.edges[i].other(v), v, self.edges[j].other(v)))
        return orientation(a, b, c) == 0 and advance(b, a, c).sign() < 0

    def segment(self, edge: Edge) -> tuple[Point, Point]:
        """Where an edge starts and ends."""
        return self.vertices[edge.start], self.vertices[edge.end]

    def creased(self, drawing: Drawing) -> Subdivision:
        """The same of a drawing over the same field, with the same sheet and target, whose creases are these in pieces,
        each from vertex to vertex, in the same order.
        """
        number_of = {place: v for v, place in enumerate(self.vertices)}
        edges, chains = list(self.edges), []
        whole = iter(self.crease_chains)
        rest: tuple[int, ...] = ()
        for number, (_, end, kind) in enumerate(drawing.creases):
            rest = rest if len(rest) > 1 else next(whole)
            stop = rest.index(number_of[end])
            chain, rest = rest[: stop + 1], rest[stop:]
            chains.append(chain)
            for pair in pairwise(chain):
                edge = self.edge_at[pair]
                edges[edge] = replace(edges[edge], kind=kind, crease=number)
        return replace(self, drawing=drawing, edges=tuple(edges), crease_chains=tuple(chains))

    def name(self, vertex: int) -> str:
        """A vertex as the user would call it: the point's name, or its place."""
        return self.place_name(self.vertices[vertex])

    def place_name(self, place: Point) -> str:
        return self.drawing.names.get(place) or place_text(place)

    def edge_name(self, edge: int) -> str:
        e = self.edges[edge]
        return f"{self.name(e.start)}–{self.name(e.end)}"

    def run(self, edge: int) -> tuple[list[int], tuple[int, int]]:
        """The edges of a drawn line up to where something else that is drawn meets it, and the vertices there."""
        run, ends = [edge], list(self.edges[edge].ends)
        for side in (0, 1):
            ahead = self._ahead(edge, ends[side])
            while ahead is not None:
                run.append(ahead)
                ends[side] = self.edges[ahead].other(ends[side])
                ahead = self._ahead(ahead, ends[side])
        return run, (ends[0], ends[1])

    def _ahead(self, edge: int, vertex: int) -> int | None:
        """The edge in which a line goes on at a vertex, if nothing else that is drawn meets it there."""
        others = [i for i in self.around[vertex] if i != edge and not self.edges[i].is_auxiliary]
        if len(others) != 1 or self.edges[others[0]].crease != self.edges[edge].crease:
            return None
        return others[0] if self._straight_on(vertex, edge, others[0]) else None

    def run_name(self, edge: int) -> str:
        return "–".join(map(self.name, self.run(edge)[1]))

    def face_name(self, face: int) -> str:
        """A face as its corners, `panel a–b–c`."""
        return self._called(self.corners(face))

    def panel_name(self, faces: Sequence[int]) -> str:
        """A panel, which may be several faces, as the corners of its outline (not of its holes)."""
        if len(faces) == 1:
            return self.face_name(faces[0])
        loops = self.outlines(faces)
        outer = max(loops, key=lambda loop: polygon_area2([self.vertices[v] for v in loop]))
        return self._called(self.turning(outer))

    def panel_with(self, face: int) -> str:
        """The name of the panel to which a face belongs."""
        return self.panel_name(self.panels[self.panel_of[face]])

    def _called(self, corners: Iterable[int]) -> str:
        return "panel " + "–".join(self.name(v) for v in corners)

    def corners(self, face: int) -> list[int]:
        """The face's vertices without those in the middle of a side."""
        return self.turning(self.faces[face])

    def turning(self, loop: Sequence[int]) -> list[int]:
        """The vertices of a closed walk at which it turns."""
        v = self.vertices
        return [b for a, b, c in with_neighbours(loop) if orientation(v[a], v[b], v[c]) != 0]


def place_text(place: Point) -> str:
    """A place for people: exact where that is short, else to 6 significant digits."""
    return f"({number_text(place.x)}, {number_text(place.y)})"


def number_text(value: Number) -> str:
    """A number for people: exact where that is short, a decimal before a fraction; else to 6 digits after the point."""
    text = rational_text(value.as_fraction()) if value.is_rational else value.text()
    return text if len(text) <= 12 else f"{value.decimal(6)}…"
