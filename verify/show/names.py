"""What the names in a finding speak of: vertices, edges and faces of the sheet."""

from __future__ import annotations

import itertools
from collections.abc import Iterable

from verify.exact.plane import around
from verify.pattern.subdivision import Subdivision
from verify.tasks.certify import Result


class NamedByFindings:
    """What a finding's `where` names."""

    def __init__(self, s: Subdivision, result: Result) -> None:
        at = {place: v for v, place in enumerate(s.vertices)}
        self.vertices = {s.name(v): v for v in at.values()}
        self.vertices |= {name: at[place] for name, place in s.drawing.places.items() if place in at}
        self.edges: dict[str, tuple[int, ...]] = {}
        lines = result.document.target_lines()
        for chain, (a, b) in zip(s.target_chains, lines, strict=True):
            self.edges[f"{a}–{b}"] = tuple(s.edge_at[u, v] for u, v in itertools.pairwise(chain))
        for number, hole in enumerate(result.document.holes, start=1):
            chain = s.sheet_chains[number]
            self.edges[f"hole {'–'.join(hole)}"] = tuple(s.edge_at[u, v] for u, v in around(chain))
        for n in range(len(s.edges)):
            self.edges[s.edge_name(n)] = (n,)
        self.faces = {s.face_name(f): f for f in range(len(s.faces))}

    def resolve(self, where: Iterable[str]) -> tuple[tuple[int, ...], tuple[int, ...], tuple[int, ...]]:
        """The vertices, edges and faces that are named; other names are passed over."""
        names = list(where)
        vertices = [self.vertices[name] for name in names if name in self.vertices]
        others = [name for name in names if name not in self.vertices]
        edges = dict.fromkeys(n for name in others for n in self.edges.get(name, ()))
        faces = [self.faces[name] for name in others if name in self.faces and name not in self.edges]
        return tuple(vertices), tuple(edges), tuple(faces)
