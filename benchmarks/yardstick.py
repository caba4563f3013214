"""The same pipeline in float64 on shapely: the yardstick for the exact one.

From a document to the same constraint arrays, by the same steps, as one writes them well when rounding
is accepted: GEOS nodes the drawn lines and builds the faces, numpy folds them, and faces shrunk by a tolerance
are compared by prepared predicates. It decides by tolerances, so its answer is a guess: it serves to
measure time, on patterns where it comes to the same numbers as the exact pipeline.

It makes the same checks of the drawing as the exact one: the sheet and the target are simple, no line is off the sheet
or without length, no two folds lie on one crease and none along the sheet's edge. Assumes (and checks) besides that
every face is a simple polygon without a hole and that the folds fit together within the tolerance.
"""

from __future__ import annotations

import ast
import math
import operator
from collections import deque
from dataclasses import dataclass, field
from functools import cached_property
from types import SimpleNamespace
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from verify.folding.crossing import Conditions, crossing_conditions
from verify.folding.order import NoOrder, Search
from verify.folding.overlaps import Passing
from verify.folding.pairs import Pairs
from verify.folding.stack import LayerOrder
from verify.pattern.document import Document
from verify.pattern.limits import Limits
from verify.pattern.subdivision import Edge, EdgeKind

TOLERANCE = 1e-9
"""Lengths below this part of the sheet's size count as zero."""

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]
Indices = NDArray[np.intp]
Table = NDArray[np.bool_]

_OPERATORS: dict[type, Any] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
    ast.UAdd: operator.pos,
    ast.USub: operator.neg,
}
_FUNCTIONS = {"sqrt": math.sqrt, "sin": math.sin, "cos": math.cos, "tan": math.tan}


def number(text: str) -> float:
    """The value of a document's number, rounded at every step."""
    try:
        return float(text)
    except ValueError:
        return _value(ast.parse(text.replace("^", "**"), mode="eval").body)


def _value(node: ast.expr) -> float:
    match node:
        case ast.Constant(value=int() | float() as value):
            return float(value)
        case ast.Name(id="pi"):
            return math.pi
        case ast.BinOp(left=left, op=op, right=right):
            return float(_OPERATORS[type(op)](_value(left), _value(right)))
        case ast.UnaryOp(op=op, operand=operand):
            return float(_OPERATORS[type(op)](_value(operand)))
        case ast.Call(func=ast.Name(id=name), args=[argument]):
            return _FUNCTIONS[name](_value(argument))
    raise ValueError(ast.unparse(node))


@dataclass(frozen=True)
class FloatSubdivision:
    """Vertices (x + iy), edges and faces; `corners` are all faces' vertices one after the other, `starts` where each
    begins.
    """

    vertices: Complexes
    edges: tuple[Edge, ...]
    corners: Indices
    starts: Indices
    tolerance: float

    @property
    def face_of_corner(self) -> Indices:
        sizes = np.diff(np.append(self.starts, len(self.corners)))
        return np.repeat(np.arange(len(self.starts)), sizes)


def subdivide(document: Document) -> FloatSubdivision:
    """Node the drawn lines by snap rounding and build the faces on the sheet."""
    values = {text: number(text) for pair in document.points.values() for text in pair}
    places = {name: (values[x], values[y]) for name, (x, y) in document.points.items()}
    rings = [[places[n] for n in loop] for loop in (document.outline, *document.holes)]
    sheet = shapely.Polygon(rings[0], rings[1:])
    if not sheet.is_valid:
        raise ValueError("the sheet is not a polygon")
    tolerance = TOLERANCE * max(np.ptp(np.array(rings[0]), axis=0))
    sides = [(a, b) for ring in rings for a, b in zip(ring, ring[1:] + ring[:1], strict=True)]
    creases = [(places[c.start], places[c.end]) for c in document.creases]
    target = [(places[a], places[b]) for a, b in document.target_lines()]
    loops = [[places[n] for n in loop] for loop in document.loops]
    drawn = shapely.linestrings(np.array(sides + creases + target))
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(shapely.union_all(drawn, grid_size=tolerance))))
    if (shapely.length(drawn) <= tolerance).any() or not all(shapely.LinearRing(r).is_simple for r in loops):
        raise ValueError("a line of length zero, or a target that crosses itself")
    room = sheet.buffer(tolerance, join_style="mitre")
    shapely.prepare(room)
    if not shapely.covers(room, drawn[len(sides) :]).all():
        raise ValueError("a line off the sheet")
    shapely.prepare(sheet)
    faces = shapely.orient_polygons(faces[shapely.contains(sheet, shapely.point_on_surface(faces))])
    if shapely.get_num_interior_rings(faces).any():
        raise ValueError("a face with a hole")

    coordinates, face = shapely.get_coordinates(faces, return_index=True)
    last = np.append(face[1:] != face[:-1], True)  # a ring ends where it began
    flat = coordinates[:, 0] + 1j * coordinates[:, 1]
    vertices, index = np.unique(flat, return_inverse=True)
    begin, end, left_face = index[:-1][~last[:-1]], index[1:][~last[:-1]], face[~last]
    starts = np.flatnonzero(np.append(True, left_face[1:] != left_face[:-1]))

    count = len(vertices)
    forward = begin < end
    key = np.minimum(begin, end) * count + np.maximum(begin, end)
    keys, edge_of = np.unique(key, return_inverse=True)
    beside = np.full((len(keys), 2), -1, dtype=np.intp)
    beside[edge_of[forward], 0] = left_face[forward]
    beside[edge_of[~forward], 1] = left_face[~forward]
    ends = np.stack([keys // count, keys % count], axis=1)
    inner = (beside >= 0).all(axis=1)

    middles = shapely.points(
        shapely.get_coordinates(shapely.linestrings(_xy(vertices[ends]))).reshape(-1, 2, 2).mean(1)
    )
    tree = shapely.STRtree(drawn[len(sides) :])
    edge, line = tree.query(middles, predicate="dwithin", distance=2 * tolerance)
    folds = edge[line < len(creases)]
    if len(np.unique(folds)) < len(folds) or not inner[folds].all():
        raise ValueError("two folds on one crease, or one along the edge of the sheet")
    kinds: list[EdgeKind] = ["flat" if x else "border" for x in inner]
    crease: list[int | None] = [None] * len(keys)
    targets: list[list[int]] = [[] for _ in keys]
    for e, d in zip(edge.tolist(), line.tolist(), strict=True):
        if d >= len(creases):
            targets[e].append(d - len(creases))
        elif inner[e]:
            kinds[e], crease[e] = document.creases[d].kind, d
    edges = tuple(
        Edge(u, v, f, g, kind, drawn_crease, tuple(sorted(on)))
        for (u, v), (f, g), kind, drawn_crease, on in zip(
            ends.tolist(), beside.tolist(), kinds, crease, targets, strict=True
        )
    )
    return FloatSubdivision(vertices, edges, begin, starts, float(tolerance))


def _xy(places: Complexes) -> Floats:
    return np.stack([places.real, places.imag], axis=-1)


@dataclass(frozen=True)
class FloatFoldMap:
    """z → m·z + s, or m·conj(z) + s where `turned`, for each face; and the images of the vertices."""

    subdivision: FloatSubdivision
    m: Complexes
    shift: Complexes
    turned: Table
    images: Complexes


def fold_map(s: FloatSubdivision) -> FloatFoldMap:
    """Carry the isometries from face to face; ValueError if they don't fit within the tolerance."""
    count = len(s.starts)
    neighbours: list[list[int]] = [[] for _ in range(count)]
    for number_, e in enumerate(s.edges):
        if e.left >= 0 and e.right >= 0:
            neighbours[e.left].append(number_)
            neighbours[e.right].append(number_)
    found: list[tuple[complex, complex, bool] | None] = [None] * count
    found[0] = (1 + 0j, 0j, False)
    vertices: list[complex] = s.vertices.tolist()
    queue = deque([0])
    while queue:
        face = queue.popleft()
        m, shift, turned = found[face]  # type: ignore[misc]
        for number_ in neighbours[face]:
            e = s.edges[number_]
            other = e.right if e.left == face else e.left
            if found[other] is not None:
                continue
            if e.is_fold:
                a = vertices[e.start]
                d = vertices[e.end] - a
                q = d / d.conjugate()
                there = m * a.conjugate() + shift if turned else m * a + shift
                new = m * q.conjugate() if turned else m * q
                found[other] = (new, there - new * (a if turned else a.conjugate()), not turned)
            else:
                found[other] = (m, shift, turned)
            queue.append(other)
    isometries = [x for x in found if x is not None]
    m_, shift_, turned_ = (np.array(column) for column in zip(*isometries, strict=True))

    face = s.face_of_corner
    flat = s.vertices[s.corners]
    folded = m_[face] * np.where(turned_[face], flat.conj(), flat) + shift_[face]
    images = np.empty_like(s.vertices)
    images[s.corners] = folded
    if np.abs(images[s.corners] - folded).max() > 100 * s.tolerance:
        raise ValueError("the folds do not fit together")
    return FloatFoldMap(s, m_, shift_, turned_, images)


class FloatOverlaps:
    """Overlaps, edges through faces and edges that share a segment, by tolerances.

    `by_area`: two faces overlap if the area of their intersection exceeds the tolerance, the obvious way;
    else if they still meet after both are shrunk by it, which is much faster.
    """

    def __init__(self, folded: FloatFoldMap, *, by_area: bool = False) -> None:
        s = folded.subdivision
        self.subdivision = s
        self.fold_map = folded
        self.by_area = by_area
        self.reach = 100 * s.tolerance
        edges = s.edges
        self.inner: Indices = np.array([i for i, e in enumerate(edges) if e.kind != "border"], dtype=np.intp)
        self._ends = folded.images[np.array([(e.start, e.end) for e in edges], dtype=np.intp)]
        self.faces = shapely.polygons(shapely.linearrings(_xy(folded.images[s.corners]), indices=s.face_of_corner))
        self.shrunk = shapely.buffer(self.faces, -self.reach, join_style="mitre")
        shapely.prepare(self.shrunk)

    @cached_property
    def pairs(self) -> Pairs:
        count = len(self.faces)
        if self.by_area:
            f, g = shapely.STRtree(self.faces).query(self.faces)
            f, g = f[f < g], g[f < g]
            meet = shapely.area(shapely.intersection(self.faces[f], self.faces[g])) > self.reach**2
        else:
            f, g = np.triu_indices(count, 1)
            meet = shapely.intersects(self.shrunk[f], self.shrunk[g])
        return Pairs(np.arange(count), f[meet], g[meet])

    @cached_property
    def through(self) -> Passing:
        """The inner edges that meet the insides of faces."""
        tree = shapely.STRtree(shapely.linestrings(_xy(self._ends[self.inner])))
        face, edge = tree.query(self.shrunk, predicate="intersects")
        order = np.lexsort((face, edge))
        return Passing(self.inner[edge[order]], face[order])

    @cached_property
    def sharing(self) -> Any:
        """Pairs of inner edges that lie along one line within the tolerance and share a stretch of it."""
        a, b = self._ends[self.inner].T
        length = np.abs(b - a)
        ahead = (b - a) / length

        def along(ends: Complexes) -> Complexes:
            relative: Complexes = (ends[None, :] - a[:, None]) * ahead.conj()[:, None]
            return relative

        one, two = along(a), along(b)
        near = (np.abs(one.imag) < self.reach) & (np.abs(two.imag) < self.reach)
        overlap = np.minimum(np.maximum(one.real, two.real), length[:, None]) - np.maximum(
            np.minimum(one.real, two.real), 0
        )
        first, second = np.nonzero(np.triu(near & (overlap > self.reach), 1))
        return SimpleNamespace(first=self.inner[first], second=self.inner[second])

    @cached_property
    def left_sides(self) -> NDArray[np.int8]:
        """The side of each edge's left face relative to the edge's line, directed to the right (or up)."""
        d = self._ends[:, 1] - self._ends[:, 0]
        upright = np.abs(d.real) <= self.reach
        backwards = np.where(upright, d.imag < 0, d.real < 0)
        turned = self.fold_map.turned[[e.left for e in self.subdivision.edges]]
        return np.where(backwards ^ turned, -1, 1).astype(np.int8)


@dataclass
class FloatCommonPoints:
    """Which triples of faces have a common point: intersections of shrunk faces, points remembered."""

    overlaps: FloatOverlaps
    inside: list[Table] = field(default_factory=list)
    empty: set[tuple[int, ...]] = field(default_factory=set)

    def having(self, triples: Indices) -> Indices:
        known = np.zeros(len(triples), dtype=bool)
        for mask in self.inside:
            known |= mask[triples].all(axis=1)
        for k in np.flatnonzero(~known):
            if not known[k] and self._find(tuple(sorted(triples[k].tolist()))):
                known |= self.inside[-1][triples].all(axis=1)
        return triples[known]

    def _find(self, triple: tuple[int, ...]) -> bool:
        if triple in self.empty:
            return False
        f, g, h = self.overlaps.shrunk[list(triple)]
        common = shapely.intersection(shapely.intersection(f, g), h)
        if common.area == 0:
            self.empty.add(triple)
            return False
        place = common.centroid
        self.inside.append(shapely.intersects_xy(self.overlaps.shrunk, place.x, place.y))
        return True


def conditions(document: Document, *, by_area: bool = False) -> Conditions:
    """The crossing conditions of a document. The arrays are filled by the same index arithmetic as the exact ones."""
    return crossing_conditions(FloatOverlaps(fold_map(subdivide(document)), by_area=by_area))  # type: ignore[arg-type]


def find_order(found: Conditions) -> LayerOrder | NoOrder:
    """The same search for a layer order; only common points of three faces are found in float64."""
    search = Search(found, Limits(), None)
    search.common = FloatCommonPoints(found.overlaps)  # type: ignore[assignment, arg-type]
    return search.run()
