"""The same pipeline in float64: the yardstick for the exact one.

From a document to the same constraint arrays. GEOS (by shapely) nodes the drawn lines and builds the faces, numpy folds
them, and then the same algorithm runs on rounded numbers, with guesses by a tolerance where the other has proofs. Its
answer is a guess: it serves to measure time, on patterns where it comes to the same numbers as the exact pipeline.

It makes the same checks of the drawing as the exact one: the sheet and the target are simple, no line is off the sheet
or without length, no two folds lie on one crease and none along the sheet's edge. Assumes (and checks) besides that
every face is a simple polygon without a hole and that the folds fit together within the tolerance.
"""

from __future__ import annotations

import ast
import math
import operator
from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from verify.folding.bundles import Triples
from verify.folding.common import CommonPoints, surely_common
from verify.folding.crossing import Conditions, crossing_conditions
from verify.folding.order import NoOrder, Search
from verify.folding.overlaps import Overlaps
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
    """Vertices (x + iy), edges and faces; `corners` are all faces' vertices one after the other, `sides` their edges,
    `starts` where each begins.
    """

    vertices: Complexes
    edges: tuple[Edge, ...]
    corners: Indices
    starts: Indices
    sides: Indices
    tolerance: float

    @property
    def faces(self) -> list[list[int]]:
        return [part.tolist() for part in np.split(self.corners, self.starts[1:])]

    @property
    def face_edges(self) -> list[list[int]]:
        return [part.tolist() for part in np.split(self.sides, self.starts[1:])]

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
    return FloatSubdivision(vertices, edges, begin, starts, edge_of, float(tolerance))


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


class FloatSides:
    """Sides of points for lines through two of them, as float64 says with a tolerance: what `exact.batch.Sides` asks
    with a proof.
    """

    def __init__(self, places: Complexes, tolerance: float) -> None:
        size = max(np.abs(places.real).max(), np.abs(places.imag).max())
        self.places, self.tolerance = places / size, tolerance / size

    def signs(self, a: Indices, b: Indices, p: Indices) -> NDArray[np.int8]:
        return self.sure_signs(a, b, self.places[p])

    def sure_signs(self, a: Indices, b: Indices, place: Complexes) -> NDArray[np.int8]:
        start = self.places[a]
        value = ((self.places[b] - start).conj() * (place - start)).imag
        return np.where(np.abs(value) <= self.tolerance, 0.0, np.sign(value)).astype(np.int8)


class FloatOverlaps(Overlaps):
    """Overlaps by the same algorithm on rounded places: those within the tolerance are one, and signs are guessed."""

    _slack = 1000 * TOLERANCE

    def __init__(self, folded: FloatFoldMap) -> None:
        self.fold_map: Any = folded
        self.subdivision: Any = folded.subdivision
        reach = 100 * folded.subdivision.tolerance
        grid = np.round(folded.images / reach + 0.37 * (1 + 1j))  # no drawn place lies where that turns
        _, first, self.spot_of = np.unique(grid, return_index=True, return_inverse=True)
        self.spots = folded.images[first].tolist()
        self._sides: Any = FloatSides(folded.images[first], reach)
        self._find_lines()

    def ranks_on(self, line: int, spots: Iterable[int]) -> dict[int, int]:
        """What is too near to tell stays as floats have it."""
        a, b = self._sides.places[list(self.line_spots[line])]
        along = {s: ((b - a).conjugate() * self._sides.places[s]).real for s in spots}
        return {s: rank for rank, s in enumerate(sorted(spots, key=along.__getitem__))}


class FloatCommonPoints(CommonPoints):
    """Which triples of faces have a common point, in float64."""

    def having(self, triples: Triples) -> Triples:
        return triples[surely_common(self.overlaps, triples)]


def conditions(document: Document) -> Conditions:
    """The crossing conditions of a document."""
    return crossing_conditions(FloatOverlaps(fold_map(subdivide(document))))


def find_order(found: Conditions) -> LayerOrder | NoOrder:
    """The same search for a layer order; only common points of three faces are found in float64."""
    search = Search(found, Limits(), None)
    search.common = FloatCommonPoints(found.overlaps)
    return search.run()
