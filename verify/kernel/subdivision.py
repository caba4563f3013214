"""The subdivision of the sheet into convex faces, and the drawn lines as chains of its edges.

Why these checks suffice: each face winds around its points once. The boundaries of all faces add up to the border,
which is the boundary of the sheet; so the winding numbers add up to 1 on the sheet and 0 off it: almost every point of
the sheet lies in exactly one face. No test of two faces is needed, and no two vertices can have one place.
"""

from collections.abc import Sequence
from itertools import chain, pairwise
from typing import NamedTuple

from .numbers import Field
from .plane import Point, around, cross, dot, line, read_point, same_place, side, step
from .reading import CERTIFICATE, Names, quoted, require
from .statement import Statement

FACES = 10_000
VERTICES = 20_000
BORDER = -1
Walk = list[tuple[int, int]]  # steps from vertex to vertex


class Subdivision(NamedTuple):
    """Edges are numbered in the order in which they first appear in the faces, in the direction of that appearance."""

    vertices: list[Point]
    faces: list[list[int]]
    edges: list[tuple[int, int]]
    number: dict[tuple[int, int], int]  # of an edge, from its ends in either order
    beside: list[tuple[int, int]]  # the face on the left and the face on the right, or BORDER
    kind: list[str]  # mountain, valley, either, flat or border
    target: dict[int, None]  # inner edges, in the order of the chains

    def is_inner(self, e: int) -> bool:
        return self.beside[e][1] != BORDER

    def is_fold(self, e: int) -> bool:
        return self.kind[e] not in ("flat", "border")

    def face_edges(self, f: int) -> list[int]:
        return [self.number[pair] for pair in around(self.faces[f])]

    def edge(self, value: object, where: str) -> int:
        """The number of an edge that a certificate names by its ends."""
        u, v = CERTIFICATE.numbers(value, where, len(self.vertices), 2, 2)
        require((u, v) in self.number, "edge", f"{where}: vertices {u} and {v} are not joined by an edge")
        return self.number[u, v]


def check_face(field: Field, corners: list[Point], where: str) -> None:
    """Assumes (and checks) that a face is a convex polygon, counter-clockwise; corners of 180 degrees are allowed.

    At each corner it turns left or goes straight on, and its direction comes to the upper half plane only once.
    """
    steps = [step(p, q) for p, q in around(corners)]
    for i, (u, v) in enumerate(around(steps)):
        turn = field.sign(cross(u, v)) or field.sign(dot(u, v))
        require(turn > 0, "faces.convex", f"{where}: does not turn left or go straight on after edge {i}")
    upper = [(field.sign(y) or field.sign(x)) > 0 for x, y, _ in steps]
    rounds = sum(not before and after for before, after in around(upper))
    require(rounds == 1, "faces.convex", f"{where}: goes round {rounds} times")


def check_chain(field: Field, vertices: list[Point], walk: Walk, corners: list[Point], where: str) -> None:
    """Assumes (and checks) that a walk leads from corner to corner, straight and always advancing."""
    require(same_place(field, vertices[walk[0][0]], corners[0]), "chains.end", f"{where}: begins elsewhere")
    passed = 0  # the number of the corner passed last
    for u, v in walk:
        require(passed + 1 < len(corners), "chains.end", f"{where}: goes on after its end at vertex {u}")
        a, b, p, q = corners[passed], corners[passed + 1], vertices[u], vertices[v]
        onward = side(field, line(a, b), q) == 0 and field.sign(dot(step(a, b), step(p, q))) > 0
        require(onward, "chains.straight", f"{where}: does not advance along the line at vertex {v}")
        passed += same_place(field, q, b)
    require(passed + 1 == len(corners), "chains.end", f"{where}: does not lead to its end, but to vertex {walk[-1][1]}")


def counter_clockwise(field: Field, loop: list[Point]) -> bool:
    """The orientation of a simple polygon, from the turn at its lowest leftmost corner, which is an extreme point."""
    best = 0
    for i, p in enumerate(loop):
        x, y, _ = step(loop[best], p)
        best = i if (field.sign(x) or field.sign(y)) < 0 else best
    return side(field, line(loop[best - 1], loop[best]), loop[(best + 1) % len(loop)]) > 0


def read_subdivision(root: dict[str, object], statement: Statement, at: dict[str, Point], field: Field) -> Subdivision:
    """Assumes (and checks) that the faces tile the sheet and that each drawn line is a chain of their edges.

    Proves nothing about folding.
    """
    listed = CERTIFICATE.each(root["vertices"], "vertices", 3, VERTICES)
    vertices = [read_point(field, item, where) for where, item in listed]
    listed = CERTIFICATE.each(root["faces"], "faces", 1, FACES)
    faces = [CERTIFICATE.numbers(item, where, len(vertices), 3) for where, item in listed]
    half: dict[tuple[int, int], int] = {}  # the face on the left of each half-edge u -> v
    for f, face in enumerate(faces):
        check_face(field, [vertices[v] for v in face], f"faces[{f}]")
        for u, v in around(face):
            require(half.setdefault((u, v), f) == f, "faces.edge", f"faces[{f}]: edge {u} - {v} is in another face too")
    require({*range(len(vertices))} == {*chain(*faces)}, "vertices.unused", "vertices: one of them is in no face")
    edges = [(u, v) for (u, v), f in half.items() if f <= half.get((v, u), f)]  # as the first of two faces has it
    number = {pair: e for e, (u, v) in enumerate(edges) for pair in ((u, v), (v, u))}
    beside = [(half[u, v], half.get((v, u), BORDER)) for u, v in edges]
    kind = ["border" if right == BORDER else "" for _, right in beside]
    chains = CERTIFICATE.table(root["chains"], "chains", ("sheet", "creases", "target"))

    def walks(key: str, lines: Sequence[Names], closed: bool = False) -> list[Walk]:
        """The steps of the chain of each line; a closed one comes back to where it began."""
        result, listed = [], CERTIFICATE.items(chains[key], f"chains.{key}", len(lines), len(lines))
        for i, (item, names) in enumerate(zip(listed, lines, strict=True)):
            where = f"chains.{key}[{i}] ({quoted(names[0])} - {quoted(names[-1])})"
            walk = CERTIFICATE.numbers(item, where, len(vertices), 2)
            result.append(around(walk) if closed else list(pairwise(walk)))
            require(number.keys() >= {*result[-1]}, "chains.edge", f"{where}: a step is not an edge")
            check_chain(field, vertices, result[-1], [at[name] for name in names], where)
        return result

    border = {(u, v) for u, v in half if (v, u) not in half}
    for i, steps in enumerate(walks("sheet", [(*loop, loop[0]) for loop in statement.sheet], closed=True)):
        as_drawn = counter_clockwise(field, [at[name] for name in statement.sheet[i]]) == (i == 0)
        for u, v in steps if as_drawn else [(v, u) for u, v in steps]:
            require((u, v) in border, "chains.border", f"chains.sheet[{i}]: {u} - {v} is no border, or passed twice")
            border.remove((u, v))
    require(not border, "chains.border", f"border edges {sorted(border)[:9]}: not on the boundary of the sheet")
    for i, steps in enumerate(walks("creases", [crease[:2] for crease in statement.creases])):
        for pair in steps:
            e = number[pair]
            require(kind[e] == "", "chains.crease", f"creases[{i}]: edge {pair} is border, or on another crease")
            kind[e] = statement.creases[i][2]
    along = [number[pair] for steps in walks("target", statement.target_lines()) for pair in steps]
    target = {e: None for e in along if kind[e] != "border"}
    return Subdivision(vertices, faces, edges, number, beside, [k or "flat" for k in kind], target)
