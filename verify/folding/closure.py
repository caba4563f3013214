"""Closed walks over the faces: round every inner vertex, and round every hole of the sheet.

If the reflections in the folds crossed compose to the identity on all of
these, the fold map exists, for they generate every closed walk on the sheet.
"""

from __future__ import annotations

from typing import NamedTuple

from verify.exact.plane import with_neighbours
from verify.folding.foldmap import IDENTITY, Isometry, Reflections
from verify.pattern.subdivision import Subdivision


class Walk(NamedTuple):
    """A closed walk round a `vertex` or a `hole`: from face `faces[i]` across `edges[i]` to the next one."""

    faces: tuple[int, ...]
    edges: tuple[int, ...]
    vertex: int | None = None
    hole: int | None = None

    def product(self, reflections: Reflections) -> Isometry:
        """The isometry that the walk composes to; exact."""
        isometry = IDENTITY
        for edge in self.edges:
            isometry = reflections.across(isometry, edge)
        return isometry

    def closes(self, reflections: Reflections) -> bool:
        return self.product(reflections) == IDENTITY


def walk_round_vertex(subdivision: Subdivision, vertex: int) -> Walk:
    """The faces round an inner vertex, counter-clockwise."""
    ring = subdivision.around[vertex]
    faces = tuple(subdivision.edges[number].left_from(vertex) for number in ring)
    return Walk(faces, (*ring[1:], ring[0]), vertex=vertex)


def walk_round_hole(subdivision: Subdivision, hole: int) -> Walk:
    """The faces that touch a hole's outline (hole 0 is the first hole), all the way round it."""
    s = subdivision
    chain = list(s.sheet_chains[hole + 1])
    first = s.edge_at[chain[0], chain[1]]
    if s.edges[first].left_from(chain[0]) < 0:
        chain.reverse()
    faces: list[int] = []
    edges: list[int] = []
    for u, v, w in with_neighbours(chain[1:] + chain[:1]):
        ring = list(s.around[v])
        out, into = s.edge_at[v, w], s.edge_at[u, v]
        at = ring.index(into)
        fan = (ring[at:] + ring[:at])[::-1]
        for number in fan:
            if number == out:
                break
            if number != into:
                faces.append(s.edges[number].left_from(v))
                edges.append(number)
    return Walk(tuple(faces), tuple(edges), hole=hole)
