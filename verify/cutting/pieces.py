"""What lies on the table after the cut: pieces with their exact areas."""

from __future__ import annotations

from collections import Counter
from typing import Literal, NamedTuple

from verify.exact.number import ZERO, Number
from verify.exact.plane import centre, length, locate, nearest_float, polygon_area2
from verify.pattern.components import components
from verify.pattern.document import Document
from verify.pattern.subdivision import Subdivision

Role = Literal["target", "inner waste", "sheet", "piece"]
Part = frozenset[int]  # faces


class Piece(NamedTuple):
    """A connected piece of the sheet after a cut along exactly the target.

    `faces` of the subdivision, exact `area` (square units), `around`: length of its outline (units, a float, for advice
    only). `role`, where the document says what the figure is: `target` the figure, `inner waste` what comes out of it,
    `sheet` the rest. Closed outlines say so (inside an odd number of them, an even number, none), and so does `figure`;
    then what is not the figure is `sheet` if it reaches to the sheet's edge, else `inner waste`. Where nothing says so
    it is `piece`.
    """

    faces: tuple[int, ...]
    area: Number
    around: float
    role: Role

    def called(self, number: int) -> str:
        """What people call it; `number` counts all pieces from 1."""
        return f"piece {number}" if self.role == "piece" else self.role


def pieces(subdivision: Subdivision) -> list[Piece]:
    """The components of the sheet across all edges that are not target, largest first; that a cut makes them is another
    claim (`cut-exact`). Raises `Malformed` for a mark of `figure` that lies in no piece, or between two.
    """
    s = subdivision
    parts = parts_of(s)
    roles = _roles(s, parts)
    part_of = {f: number for number, part in enumerate(parts) for f in part}
    around = [0.0] * len(parts)
    for e in s.edges:
        if e.kind == "border" or e.target:
            for number, sides in Counter(part_of[f] for f in (e.left, e.right) if f >= 0).items():
                around[number] += sides * length(*s.segment(e))
    found = []
    for number, (part, role) in enumerate(zip(parts, roles, strict=True)):
        area = sum((polygon_area2([s.vertices[v] for v in s.faces[f]]) for f in sorted(part)), ZERO) / 2
        found.append(Piece(tuple(sorted(part)), area, around[number], role))
    return sorted(found, key=lambda p: (-p.area, p.faces))


def comes_apart(subdivision: Subdivision) -> bool:
    """Whether a cut along exactly the target makes more than one piece."""
    return len(parts_of(subdivision)) > 1


def parts_of(s: Subdivision, closed_only: bool = False) -> list[Part]:
    """The pieces between target lines, or between those alone that are sides of closed outlines."""
    lines = sum(map(len, s.drawing.document.loops)) if closed_only else len(s.drawing.target)
    joined = ((e.left, e.right) for e in s.edges if e.kind != "border" and not any(t < lines for t in e.target))
    return [frozenset(part) for part in components(len(s.faces), joined)]


def _roles(s: Subdivision, parts: list[Part]) -> list[Role]:
    document = s.drawing.document
    if document.figure:
        figure = {_holding(s, parts, document, name) for name in document.figure}
        rim = {f for e in s.edges if e.kind == "border" for f in (e.left, e.right)}
        return ["target" if part in figure else "sheet" if part & rim else "inner waste" for part in parts]
    if not document.loops or len(parts_of(s, closed_only=True)) < len(parts):
        return ["piece"] * len(parts)
    loops = [[s.drawing.places[n] for n in loop] for loop in document.loops]
    boxes = [[(min(c), max(c)) for c in ([nearest_float(p[axis]) for p in loop] for axis in (0, 1))] for loop in loops]
    inside = []
    for part in parts:
        place = centre([s.vertices[v] for v in s.corners(min(part))])  # strictly inside a convex face
        x, y = map(nearest_float, place)  # to the nearest, so that no place within the box seems outside it
        near = (loop for loop, ((w, e), (s_, n)) in zip(loops, boxes, strict=True) if w <= x <= e and s_ <= y <= n)
        inside.append(sum(locate(place, loop) > 0 for loop in near))
    return ["target" if n % 2 else "inner waste" if n else "sheet" for n in inside]


def _holding(s: Subdivision, parts: list[Part], document: Document, name: str) -> Part:
    """The piece that a mark of `figure` lies in."""
    place = s.drawing.places[name]
    faces = [f for f, loop in enumerate(s.faces) if locate(place, [s.vertices[v] for v in loop]) >= 0]
    found = {part for part in parts if part & set(faces)}
    if len(found) != 1:
        what = f"{name}, on a target line" if found else f"{name}, off the sheet"
        raise document.malformed("target.figure", what, "a point inside a piece of the figure")
    return found.pop()
