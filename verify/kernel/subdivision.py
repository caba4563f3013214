"""The subdivision of the sheet into convex faces, and the drawn lines as chains of its edges.

Why these checks suffice: each face winds around its points once and positively.
The boundaries of all faces add up to the border, which is the boundary of the
sheet; so the winding numbers add up to 1 on the sheet and 0 off it: almost every
point of the sheet lies in exactly one face. No test of two faces is needed, and
no two vertices can have one place.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from .numbers import Field
from .plane import Point, dot, line, read_point, same_place, side, step
from .reading import CERTIFICATE, Rejected, quoted
from .statement import Loop, Statement

FACES = 10_000
VERTICES = 20_000
BORDER = -1


@dataclass(frozen=True, slots=True)
class Subdivision:
    """Edges are numbered in the order in which they first appear in the faces, in the direction of that appearance."""

    vertices: list[Point]
    faces: list[list[int]]
    edges: list[tuple[int, int]]
    number: dict[tuple[int, int], int]  # of an edge, from its ends in either order
    beside: list[tuple[int, int]]  # the face on the left and the face on the right, or BORDER
    kind: list[str]  # mountain, valley, either, flat or border
    target: frozenset[int]  # edges
    target_vertices: frozenset[int]
    first_target: int | None  # the first edge of the first target chain

    def is_fold(self, e: int) -> bool:
        return self.kind[e] not in ("flat", "border")

    def face_edges(self, f: int) -> list[int]:
        face = self.faces[f]
        return [self.number[u, v] for u, v in zip(face, face[1:] + face[:1], strict=True)]

    def edge(self, value: object, where: str) -> int:
        """The number of an edge that a certificate names by its ends."""
        u, v = CERTIFICATE.numbers(value, where, len(self.vertices), 2, 2)
        if (u, v) not in self.number:
            raise Rejected("edge", f"{where}: vertices {u} and {v} are not joined by an edge")
        return self.number[u, v]


def check_face(field: Field, vertices: list[Point], face: list[int], where: str) -> None:
    """Assumes (and checks) that a face is a convex polygon, counter-clockwise; corners of 180 degrees are allowed.

    That it winds only once is not checked here: it follows from the border.
    """
    if len(set(face)) != len(face):
        raise Rejected("faces.repeated", f"{where}: a vertex stands twice")
    corners = [vertices[v] for v in face]
    count = len(corners)
    for i, p in enumerate(corners):
        q, r = corners[(i + 1) % count], corners[(i + 2) % count]
        along = line(p, q)
        signs = [side(field, along, corners[(i + k) % count]) for k in range(2, count)]
        if min(signs) < 0 or max(signs) <= 0:
            raise Rejected("faces.convex", f"{where}: not convex and counter-clockwise at vertex {face[i]}")
        if signs[0] == 0 and field.sign(dot(step(p, q), step(q, r))) <= 0:
            raise Rejected("faces.convex", f"{where}: turns back at vertex {face[(i + 1) % count]}")


def check_straight(field: Field, vertices: list[Point], walk: list[int], a: Point, b: Point, where: str) -> None:
    """Assumes (and checks) that a walk leads straight from a to b and always advances."""
    if not same_place(field, vertices[walk[0]], a) or not same_place(field, vertices[walk[-1]], b):
        raise Rejected("chains.end", f"{where}: does not lead from the line's first end to its last")
    along, direction = line(a, b), step(a, b)
    for u, v in pairwise(walk):
        if side(field, along, vertices[v]) != 0 or field.sign(dot(direction, step(vertices[u], vertices[v]))) <= 0:
            raise Rejected("chains.straight", f"{where}: does not advance along the line at vertex {v}")


def check_loop(field: Field, vertices: list[Point], walk: list[int], loop: list[Point], where: str) -> None:
    """Assumes (and checks) that a closed walk goes once around a loop, from corner to corner."""
    closed = [*walk, walk[0]]
    start = 0
    for i, corner in enumerate(loop):
        following = loop[(i + 1) % len(loop)]
        end = start + 1
        while end < len(closed) and not same_place(field, vertices[closed[end]], following):
            end += 1
        if end == len(closed):
            raise Rejected("chains.sheet", f"{where}: does not reach corner {(i + 1) % len(loop)}")
        check_straight(field, vertices, closed[start : end + 1], corner, following, where)
        start = end
    if start != len(closed) - 1:
        raise Rejected("chains.sheet", f"{where}: goes on after its last corner")


def counter_clockwise(field: Field, loop: list[Point]) -> bool:
    """The orientation of a simple polygon, from the turn at its lowest leftmost corner, which is an extreme point."""
    best = 0
    for i, p in enumerate(loop):
        u = step(loop[best], p)
        across = field.sign(u[0])
        if across < 0 or (across == 0 and field.sign(u[1]) < 0):
            best = i
    return side(field, line(loop[best - 1], loop[best]), loop[(best + 1) % len(loop)]) > 0


def read_subdivision(
    certificate: dict[str, object], statement: Statement, at: dict[str, Point], field: Field
) -> Subdivision:
    """Assumes (and checks) that the faces tile the sheet and that each drawn line is a chain of their edges.

    Proves nothing about folding.
    """
    listed = CERTIFICATE.items(certificate["vertices"], "vertices", 3, VERTICES)
    vertices = [read_point(field, item, f"vertices[{i}]") for i, item in enumerate(listed)]
    listed = CERTIFICATE.items(certificate["faces"], "faces", 1, FACES)
    faces = [CERTIFICATE.numbers(item, f"faces[{i}]", len(vertices), 3) for i, item in enumerate(listed)]
    half: dict[tuple[int, int], int] = {}
    for f, face in enumerate(faces):
        check_face(field, vertices, face, f"faces[{f}]")
        for pair in zip(face, face[1:] + face[:1], strict=True):
            if pair in half:
                raise Rejected("faces.edge", f"faces[{f}]: edge {pair[0]} - {pair[1]} is already in face {half[pair]}")
            half[pair] = f
    unused = set(range(len(vertices))).difference(*faces)
    if unused:
        raise Rejected("vertices.unused", f"vertices[{min(unused)}]: in no face")
    edges: list[tuple[int, int]] = []
    number: dict[tuple[int, int], int] = {}
    for u, v in half:
        if (u, v) not in number:
            number[u, v] = number[v, u] = len(edges)
            edges.append((u, v))
    beside = [(half[u, v], half.get((v, u), BORDER)) for u, v in edges]
    kind = ["border" if right == BORDER else "flat" for _, right in beside]

    chains = CERTIFICATE.table(certificate["chains"], "chains", ("sheet", "creases", "target"))
    border = {pair for pair in half if (pair[1], pair[0]) not in half}
    for walk, loop, outer, where in sheet_walks(chains["sheet"], statement, len(vertices)):
        corners = [at[name] for name in loop]
        check_loop(field, vertices, walk, corners, where)
        if counter_clockwise(field, corners) != outer:
            walk = walk[::-1]
        for pair in zip(walk, walk[1:] + walk[:1], strict=True):
            if pair not in border:
                raise Rejected("chains.border", f"{where}: {pair[0]} - {pair[1]} is no border edge, or passed twice")
            border.remove(pair)
    if border:
        u, v = min(border)
        raise Rejected("chains.border", f"chains.sheet: border edge {u} - {v} is not on the boundary of the sheet")

    def chain(value: object, ends: tuple[str, str], where: str) -> list[int]:
        walk = CERTIFICATE.numbers(value, where, len(vertices), 2)
        where = f"{where} ({quoted(ends[0])} - {quoted(ends[1])})"
        for pair in pairwise(walk):
            if pair not in number:
                raise Rejected("chains.edge", f"{where}: {pair[0]} - {pair[1]} is not an edge")
        check_straight(field, vertices, walk, at[ends[0]], at[ends[1]], where)
        return walk

    count = len(statement.creases)
    crease_of: dict[int, int] = {}
    for i, item in enumerate(CERTIFICATE.items(chains["creases"], "chains.creases", count, count)):
        where = f"chains.creases[{i}]"
        a, b, drawn = statement.creases[i]
        walk = chain(item, (a, b), where)
        for pair in pairwise(walk):
            e = number[pair]
            if e in crease_of:
                raise Rejected("chains.shared", f"{where}: edge {pair[0]} - {pair[1]} is on crease {crease_of[e]} too")
            if kind[e] == "border":
                raise Rejected("chains.crease", f"{where}: edge {pair[0]} - {pair[1]} is on the border")
            crease_of[e] = i
            kind[e] = drawn
    lines = statement.target_lines()
    target: set[int] = set()
    target_vertices: set[int] = set()
    first = None
    for j, item in enumerate(CERTIFICATE.items(chains["target"], "chains.target", len(lines), len(lines))):
        walk = chain(item, lines[j], f"chains.target[{j}]")
        target_vertices.update(walk)
        target.update(number[pair] for pair in pairwise(walk))
        first = number[walk[0], walk[1]] if first is None else first
    return Subdivision(
        vertices, faces, edges, number, beside, kind, frozenset(target), frozenset(target_vertices), first
    )


def sheet_walks(value: object, statement: Statement, count: int) -> list[tuple[list[int], Loop, bool, str]]:
    """For each loop of the sheet its walk, its names, whether it is the outline, and the place for messages."""
    loops = (statement.outline, *statement.holes)
    result = []
    for i, item in enumerate(CERTIFICATE.items(value, "chains.sheet", len(loops), len(loops))):
        where = f"chains.sheet[{i}]"
        result.append((CERTIFICATE.numbers(item, where, count, 3), loops[i], i == 0, where))
    return result
