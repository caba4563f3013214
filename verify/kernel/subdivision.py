"""The subdivision of the sheet into convex faces, and the drawn lines as chains of its edges.

Why these checks suffice: each face winds around its points positively. The
boundaries of all faces add up to the border, which is the boundary of the
sheet; so the winding numbers add up to 1 on the sheet and 0 off it: almost every
point of the sheet lies in exactly one face. No test of two faces is needed, and
no two vertices can have one place.
"""

from itertools import pairwise
from typing import NamedTuple

from .numbers import Field
from .plane import Point, dot, line, read_point, same_place, side, step
from .reading import CERTIFICATE, quoted, require
from .statement import Statement

FACES = 10_000
VERTICES = 20_000
BORDER = -1


class Subdivision(NamedTuple):
    """Edges are numbered in the order in which they first appear in the faces, in the direction of that appearance."""

    vertices: list[Point]
    faces: list[list[int]]
    edges: list[tuple[int, int]]
    number: dict[tuple[int, int], int]  # of an edge, from its ends in either order
    beside: list[tuple[int, int]]  # the face on the left and the face on the right, or BORDER
    kind: list[str]  # mountain, valley, either, flat or border
    target: dict[int, None]  # edges, in the order of the chains
    target_vertices: set[int]

    def is_fold(self, e: int) -> bool:
        return self.kind[e] not in ("flat", "border")

    def face_edges(self, f: int) -> list[int]:
        return [self.number[pair] for pair in around(self.faces[f])]

    def edge(self, value: object, where: str) -> int:
        """The number of an edge that a certificate names by its ends."""
        u, v = CERTIFICATE.numbers(value, where, len(self.vertices), 2, 2)
        require((u, v) in self.number, "edge", f"{where}: vertices {u} and {v} are not joined by an edge")
        return self.number[u, v]


def around(walk: list[int]) -> list[tuple[int, int]]:
    """The steps of a closed walk."""
    return list(pairwise([*walk, walk[0]]))


def check_face(field: Field, vertices: list[Point], face: list[int], where: str) -> None:
    """Assumes (and checks) that a face is a convex polygon, counter-clockwise; corners of 180 degrees are allowed.

    That it winds only once is not checked here: it follows from the border.
    """
    require(len(set(face)) == len(face), "faces.repeated", f"{where}: a vertex stands twice")
    corners = [vertices[v] for v in face]
    for i, v in enumerate(face):
        p, q, *others = corners[i:] + corners[:i]
        along = line(p, q)
        signs = [side(field, along, r) for r in others]
        onward = signs[0] != 0 or field.sign(dot(step(p, q), step(q, others[0]))) > 0
        convex = min(signs) >= 0 and max(signs) > 0 and onward
        require(convex, "faces.convex", f"{where}: not convex and counter-clockwise at the edge from vertex {v}")


def check_straight(field: Field, vertices: list[Point], walk: list[int], a: Point, b: Point, where: str) -> None:
    """Assumes (and checks) that a walk leads straight from a to b and always advances."""
    ends = same_place(field, vertices[walk[0]], a) and same_place(field, vertices[walk[-1]], b)
    require(ends, "chains.end", f"{where}: does not lead from the line's first end to its last")
    along, direction = line(a, b), step(a, b)
    for u, v in pairwise(walk):
        on = side(field, along, vertices[v]) == 0 and field.sign(dot(direction, step(vertices[u], vertices[v]))) > 0
        require(on, "chains.straight", f"{where}: does not advance along the line at vertex {v}")


def check_loop(field: Field, vertices: list[Point], walk: list[int], loop: list[Point], where: str) -> None:
    """Assumes (and checks) that a closed walk goes once around a loop, from corner to corner."""
    rest = [*walk, walk[0]]
    for corner, following in pairwise([*loop, loop[0]]):
        n = next((n for n, v in enumerate(rest) if n and same_place(field, vertices[v], following)), 0)
        require(n > 0, "chains.sheet", f"{where}: does not reach the next corner from vertex {rest[0]}")
        check_straight(field, vertices, rest[: n + 1], corner, following, where)
        rest = rest[n:]
    require(len(rest) == 1, "chains.sheet", f"{where}: goes on after its last corner")


def counter_clockwise(field: Field, loop: list[Point]) -> bool:
    """The orientation of a simple polygon, from the turn at its lowest leftmost corner, which is an extreme point."""
    best = 0
    for i, p in enumerate(loop):
        u = step(loop[best], p)
        if (field.sign(u[0]) or field.sign(u[1])) < 0:
            best = i
    return side(field, line(loop[best - 1], loop[best]), loop[(best + 1) % len(loop)]) > 0


def read_subdivision(root: dict[str, object], statement: Statement, at: dict[str, Point], field: Field) -> Subdivision:
    """Assumes (and checks) that the faces tile the sheet and that each drawn line is a chain of their edges.

    Proves nothing about folding.
    """
    listed = CERTIFICATE.items(root["vertices"], "vertices", 3, VERTICES)
    vertices = [read_point(field, item, f"vertices[{i}]") for i, item in enumerate(listed)]
    listed = CERTIFICATE.items(root["faces"], "faces", 1, FACES)
    faces = [CERTIFICATE.numbers(item, f"faces[{i}]", len(vertices), 3) for i, item in enumerate(listed)]
    half: dict[tuple[int, int], int] = {}
    for f, face in enumerate(faces):
        check_face(field, vertices, face, f"faces[{f}]")
        for u, v in around(face):
            require(half.setdefault((u, v), f) == f, "faces.edge", f"faces[{f}]: edge {u} - {v} is in another face too")
    unused = set(range(len(vertices))).difference(*faces)
    require(not unused, "vertices.unused", f"vertices {sorted(unused)[:9]}: in no face")
    edges = [(u, v) for (u, v), f in half.items() if f <= half.get((v, u), f)]
    number = {pair: e for e, (u, v) in enumerate(edges) for pair in ((u, v), (v, u))}
    beside = [(half[u, v], half.get((v, u), BORDER)) for u, v in edges]
    kind = ["border" if right == BORDER else "flat" for _, right in beside]

    chains = CERTIFICATE.table(root["chains"], "chains", ("sheet", "creases", "target"))
    border = {(u, v) for u, v in half if (v, u) not in half}
    count = len(statement.sheet)
    for i, item in enumerate(CERTIFICATE.items(chains["sheet"], "chains.sheet", count, count)):
        where = f"chains.sheet[{i}]"
        walk = CERTIFICATE.numbers(item, where, len(vertices), 3)
        loop = [at[name] for name in statement.sheet[i]]
        check_loop(field, vertices, walk, loop, where)
        for u, v in around(walk if counter_clockwise(field, loop) == (i == 0) else walk[::-1]):
            require((u, v) in border, "chains.border", f"{where}: {u} - {v} is no border edge, or passed twice")
            border.remove((u, v))
    require(not border, "chains.border", f"border edges {sorted(border)[:9]}: not on the boundary of the sheet")

    def edges_of(key: str, lines: list[tuple[str, str]]) -> list[list[int]]:
        """The edges of the chain of each line."""
        result = []
        for i, item in enumerate(CERTIFICATE.items(chains[key], f"chains.{key}", len(lines), len(lines))):
            a, b = lines[i]
            where = f"chains.{key}[{i}] ({quoted(a)} - {quoted(b)})"
            walk = CERTIFICATE.numbers(item, where, len(vertices), 2)
            for u, v in pairwise(walk):
                require((u, v) in number, "chains.edge", f"{where}: {u} - {v} is not an edge")
            check_straight(field, vertices, walk, at[a], at[b], where)
            result.append([number[pair] for pair in pairwise(walk)])
        return result

    drawn: set[int] = set()
    creases = edges_of("creases", [(a, b) for a, b, _ in statement.creases])
    for (a, b, what), crossed in zip(statement.creases, creases, strict=True):
        for e in crossed:
            where = f"crease {quoted(a)} - {quoted(b)}: edge {edges[e]}"
            require(e not in drawn, "chains.shared", f"{where} is on another crease")
            require(kind[e] != "border", "chains.crease", f"{where} is on the border")
            drawn.add(e)
            kind[e] = what
    target = {e: None for crossed in edges_of("target", statement.target_lines()) for e in crossed}
    return Subdivision(vertices, faces, edges, number, beside, kind, target, {v for e in target for v in edges[e]})
