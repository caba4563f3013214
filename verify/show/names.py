"""What the names in a finding speak of: vertices, edges and faces of the sheet."""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from functools import cached_property

from verify.exact.plane import Point, around
from verify.pattern.subdivision import Subdivision
from verify.tasks.certify import Result


class Names:
    """What a finding's `where` names."""

    def __init__(self, s: Subdivision, result: Result) -> None:
        self.s = s
        base = result.document.base
        self.vertices = {s.name(v): v for v in range(len(s.vertices))}
        self.vertices |= {n: v for n, p in s.drawing.places.items() if (v := self._at(p)) is not None}
        self.edges: dict[str, tuple[int, ...]] = {}
        lines = base.target_lines()
        for chain, (a, b) in zip(s.target_chains, lines, strict=True):
            self.edges[f"{a}–{b}"] = tuple(s.edge_at[u, v] for u, v in itertools.pairwise(chain))
        for number, hole in enumerate(base.holes, start=1):
            chain = s.sheet_chains[number]
            self.edges[f"hole {'–'.join(hole)}"] = tuple(s.edge_at[u, v] for u, v in around(chain))
        for n in range(len(s.edges)):
            self.edges[s.edge_name(n)] = (n,)
        self.faces = {s.face_name(f): f for f in range(len(s.faces))}

    def _at(self, place: Point) -> int | None:
        return self._index.get(place)

    @cached_property
    def _index(self) -> dict[Point, int]:
        return {p: v for v, p in enumerate(self.s.vertices)}

    def resolve(self, where: Iterable[str]) -> tuple[tuple[int, ...], tuple[int, ...], tuple[int, ...]]:
        """The vertices, edges and faces that are named; other names are passed over."""
        vertices: list[int] = []
        edges: list[int] = []
        faces: list[int] = []
        for name in where:
            if name in self.vertices:
                vertices.append(self.vertices[name])
            elif name in self.edges:
                edges += self.edges[name]
            elif name in self.faces:
                faces.append(self.faces[name])
        return tuple(vertices), tuple(dict.fromkeys(edges)), tuple(faces)
