"""What lies on the table after the cut: pieces with their exact areas."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import networkx as nx

from verify.exact.number import Number
from verify.exact.plane import Point, length, locate, polygon_area2
from verify.pattern.subdivision import Subdivision

Role = Literal["target", "inner waste", "sheet", "piece"]


@dataclass(frozen=True)
class Piece:
    """A connected piece of the sheet after a cut along exactly the target.

    `faces` of the subdivision, exact `area` (square units), `around`: length of its outline (units, a float, for advice only).
    `role`: `target` inside an odd number of closed outlines, `inner waste` inside an even number, `sheet` outside of all;
    `piece` where the target has no closed outline.
    """

    faces: tuple[int, ...]
    area: Number
    around: float
    role: Role


def pieces(subdivision: Subdivision) -> list[Piece]:
    """The components of the sheet across all edges that are not target, largest first.

    They depend on the target alone; that the folded cut really makes them is another claim (`cut-exact`).
    """
    s = subdivision
    graph = nx.Graph()
    graph.add_nodes_from(range(len(s.faces)))
    graph.add_edges_from((e.left, e.right) for e in s.edges if e.kind != "border" and not e.target)
    document = s.drawing.document
    loops = [[s.drawing.places[n] for n in loop] for loop in document.loops]
    found = []
    for part in nx.connected_components(graph):
        faces = tuple(sorted(part))
        area = sum((polygon_area2([s.vertices[v] for v in s.faces[f]]) for f in faces), Number.of(0)) / 2
        around = 0.0
        for e in s.edges:
            sides = (e.left in part) + (e.right in part)
            if e.kind == "border" or e.target:
                a, b = s.vertices[e.start], s.vertices[e.end]
                around += sides * length(a, b)
        inside = sum(locate(_middle(s, faces[0]), loop) > 0 for loop in loops)
        role: Role = "target" if inside % 2 else "inner waste" if inside else "sheet" if loops else "piece"
        found.append(Piece(faces, area, around, role))
    return sorted(found, key=lambda p: (-p.area, p.faces))


def _middle(s: Subdivision, face: int) -> Point:
    """A point strictly inside a convex face."""
    corners = [s.vertices[v] for v in s.corners(face)]
    x, y = (sum((c[axis] for c in corners), Number.of(0)) / len(corners) for axis in (0, 1))
    return Point(x, y)
