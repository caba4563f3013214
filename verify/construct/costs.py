"""What the creases of a figure would probably cost hands, counted before it is folded. In floats.

Which of several figures to try first is decided by it; what a pattern really costs is counted when it is there.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from math import dist, inf

import numpy as np

from verify.construct.creases import Construction
from verify.exact.plane import Point
from verify.pattern.components import components

MANY_FOLDS = 300  # hands hardly fold more
_SAME = 6  # digits: places that agree in so many are one
_STRAIGHT = 1e-9  # two directions whose cosine is that near to -1 go on in one line

Place = tuple[float, float]
Piece = tuple[Place, Place]


@dataclass(frozen=True, order=True)
class Costs:
    """Folds between crossings, straight creases from end to end, and the shortest of these, in the document's unit."""

    folds: int
    creases: int
    shortest: float


def costs(construction: Construction, seconds: float | None = None) -> Costs:
    """What the set with about the fewest folds costs; if these are many, the tree of corridors with the fewest, where
    there is one: sets with fewer than that then seldom have a layer order (benchmarks/drawings.md).

    Raises what `Construction.fewest` raises.
    """
    fewest = _of_set(construction, construction.fewest(seconds))
    tree = next(construction.trees(), None) if fewest.folds > MANY_FOLDS else None
    return fewest if tree is None else _of_set(construction, tree)


def _of_set(construction: Construction, chosen: Sequence[int]) -> Costs:
    figure = construction.figure
    folded = [figure.lines[i] for i in sorted(figure.folded)]
    lines = [*construction.arcs, *((figure.points[a], figure.points[b]) for a, b in folded)]
    ways = [[_place(p) for p in construction.perpendiculars[i].places] for i in chosen]
    return _of_pieces(_pieces([(_place(a), _place(b)) for a, b in lines], ways))


def _place(point: Point) -> Place:
    return round(float(point.x), _SAME), round(float(point.y), _SAME)


def _pieces(lines: Sequence[Piece], ways: Sequence[Sequence[Place]]) -> set[Piece]:
    """The pieces of ways between their places, and of lines between the places of ways on them."""
    places = sorted({place for way in ways for place in way})
    at = np.array(places).reshape(-1, 2)
    stops: list[Sequence[Place]] = [*ways]
    for a, b in lines:
        along = np.subtract(b, a)
        size = float(np.hypot(*along))
        share = (at - a) @ along / size**2
        off = np.abs((at - a) @ np.array([-along[1], along[0]])) / size
        inside = np.flatnonzero((off < 2 * 10.0**-_SAME) & (share > 0) & (share < 1))
        stops.append([a, *(places[i] for i in inside[share[inside].argsort()]), b])
    return {(min(pair), max(pair)) for way in stops for pair in pairwise(way) if pair[0] != pair[1]}


def _of_pieces(pieces: Iterable[Piece]) -> Costs:
    """Pieces that go on in one line are one crease."""
    all_pieces = list(pieces)
    here: dict[Place, list[int]] = {}
    for number, piece in enumerate(all_pieces):
        for place in piece:
            here.setdefault(place, []).append(number)
    joined: list[tuple[int, int]] = []
    for place, around in here.items():
        ways = [(number, _way(place, all_pieces[number])) for number in around]
        for (i, u), (j, v) in combinations(ways, 2):
            if u[0] * v[0] + u[1] * v[1] < _STRAIGHT - 1:
                joined.append((i, j))
    creases = components(len(all_pieces), joined)
    shortest = min((sum(dist(*all_pieces[i]) for i in crease) for crease in creases), default=inf)
    return Costs(len(all_pieces), len(creases), shortest)


def _way(place: Place, piece: Piece) -> Place:
    a, b = piece if piece[0] == place else piece[::-1]
    size = dist(a, b)
    return (b[0] - a[0]) / size, (b[1] - a[1]) / size
