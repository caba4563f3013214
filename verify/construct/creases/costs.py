"""What the creases of a figure would probably cost hands, counted before it is folded.

Which of several figures to try first is decided by it; what a pattern really costs is counted when it is there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import dist, inf

from verify.construct.creases.creases import Construction
from verify.construct.skeleton.perpendiculars import floats

MANY_FOLDS = 300  # hands hardly fold more


@dataclass(frozen=True, order=True)
class Costs:
    """Folds between crossings, straight pieces between nodes, and the shortest of these, in the document's unit and in
    floats. What goes on straight beyond a node is another piece, though hands make it one crease.
    """

    folds: int
    pieces: int
    shortest: float


def costs(construction: Construction, seconds: float | None = None) -> Costs:
    """What the set with about the fewest folds costs; if these are many, the tree of corridors with the fewest, where
    there is one: sets with fewer than that then seldom have a layer order (benchmarks/drawings.md).

    Raises what `Construction.fewest` raises, and `LimitReached` past `MOST_CREASES`.
    """
    fewest = _of_set(construction, construction.fewest(seconds))
    tree = next(construction.trees(), None) if fewest.folds > MANY_FOLDS else None
    return fewest if tree is None else _of_set(construction, tree)


def _of_set(construction: Construction, chosen: Sequence[int]) -> Costs:
    folds = len(construction.arcs) + len(construction.figure.folded)
    for number in chosen:
        way = construction.perpendiculars[number]
        folds += len(way.sides) + sum(arc is not None for arc in way.arcs)
    lengths = [dist(floats(a), floats(b)) for a, b in construction.creases(chosen, "").segments]
    return Costs(folds, len(lengths), min(lengths, default=inf))
