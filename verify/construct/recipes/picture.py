"""The shortest recipes of all-layers folds, from the paper's silhouette and the outline on it.

What lies together after an all-layers fold stays together. So wherever two layers lie on each other, both must bear the
outline or neither; and then the layers need not be told apart: the folded paper is one drawing again, on a silhouette.
A fold is possible for the cut exactly if what it lays together agrees in the same way.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from verify.construct.recipes.deepening import Child, Deepening, least_folds
from verify.construct.recipes.floats import CLEAR, Drawn, distances, half_planes, is_known, places_of, planes_of
from verify.construct.recipes.lines import (
    EdgeKey,
    Face,
    Ink,
    Mirror,
    Stretches,
    UnitLine,
    bisectors,
    common,
    folded_ink,
    merged,
    mirror,
    outside,
)
from verify.construct.recipes.stack import Fold
from verify.exact.number import ZERO, Number
from verify.exact.plane import Point, around, orientation

# A place of the sheet that no fold line meets but by chance: its share of the way between corners of a face.
_SHARES = (Number.of(411) / 1000, Number.of(263) / 1000, Number.of(326) / 1000)
# families of folds, as `proofs/theory/searching.md` defines them
LAYING = "all-layers folds that lay line on line"
SQUARE = f"{LAYING} or run square to one"
QUARTERS = f"{SQUARE}, also at the quarters of its pieces"
_ON_THE_WAY = (0.04, 0.2, 0.35, 0.5, 0.65, 0.8, 0.96)
_CREASE = EdgeKey(1)


@dataclass(frozen=True)
class Silhouette:
    """A silhouette, covered by convex `faces` that may overlap, and the outline on it, exactly. `ink` is without what
    lies along the sheet's own edge: that is cut already.
    """

    faces: tuple[Face, ...]
    ink: Ink

    @cached_property
    def key(self) -> tuple[frozenset[tuple[UnitLine, Stretches]], frozenset[frozenset[Point]]]:
        """Equal for equal pictures."""
        return frozenset(self.ink.items()), frozenset(frozenset(f.corners) for f in self.faces)

    @property
    def least(self) -> int:
        """At least so many folds remain."""
        return least_folds(len(self.ink))

    @property
    def ready(self) -> bool:
        """Whether one straight cut cuts just the outline now."""
        if len(self.ink) != 1:
            return False
        ((line, ink),) = self.ink.items()
        return not outside(_cover(self.faces, line), ink)

    def candidates(self, square: bool = False, quarters: bool = False) -> list[Mirror]:
        """The folds that lay a line of the outline on another, or an end of its stretches on another end of its line.

        `square`: also those square to a line, through an end or a corner of a face, which take away paper or length in
        the way. `quarters`: also those square to a stretch at a quarter of it.
        """
        lines = list(self.ink)
        found = [m for i, one in enumerate(lines) for two in lines[:i] for m in bisectors(one, two)]
        for line, stretches in self.ink.items():
            ends = [t for s in stretches for t in s]
            found += [line.square((s + t) / 2) for i, s in enumerate(ends) for t in ends[:i]]
        if quarters:
            every = [(line, *stretch) for line, stretches in self.ink.items() for stretch in stretches]
            found += [line.square((3 * s + t) / 4) for line, *ends in every for s, t in (ends, ends[::-1])]
        if square:
            places = {p for face in self.faces for p in face.corners}
            places |= {line.at(t) for line, stretches in self.ink.items() for s in stretches for t in s}
            for a, b in {(-line.b, line.a) for line in self.ink}:
                found += [mirror(a, b, c) for c in {a * p.x + b * p.y for p in places}]
        return found

    def promising(self, folds: list[Mirror]) -> list[tuple[Mirror, int]]:
        """The folds with paper on both sides, with at least so many lines left after each, but those of a clear clash:
        a place of the outline on blank paper, farther than `CLEAR` from its edges and any outline. All else `fold`
        decides.
        """
        if not folds:
            return []
        drawn = Drawn.of((line, stretch) for line, stretches in self.ink.items() for stretch in stretches)
        polygons = [places_of(face.corners) for face in self.faces]
        clear = CLEAR * max(float(np.abs(polygon).max()) for polygon in polygons)
        planes = planes_of(folds)
        normals, offsets = planes[:, :2], planes[:, 2:]
        heights = normals @ np.concatenate(polygons).T - offsets
        two_sided = (heights.max(axis=1) > -clear) & (heights.min(axis=1) < clear)
        way = drawn.ends[:, 1] - drawn.ends[:, 0]
        places = np.concatenate([drawn.ends[:, 0] + share * way for share in _ON_THE_WAY])
        images = places - 2 * (normals @ places.T - offsets)[:, :, None] * normals[:, None, :]
        clash = np.zeros(images.shape[:2], dtype=bool)
        for polygon in polygons:
            inward = half_planes(polygon)
            clash |= (images @ inward[:, :2].T - inward[:, 2]).min(axis=2) > clear
        clash[clash] = distances(images[clash], drawn.ends).min(axis=1) > clear
        known: dict[tuple[int, ...], list[Mirror]] = {}
        every = np.ones(len(drawn.on), dtype=bool)
        return [
            (folds[i], drawn.least_after(planes[i], clear, every))
            for i in np.flatnonzero(two_sided & ~clash.any(axis=1))
            if not is_known(folds[i], planes[i], clear, known)
        ]

    def fold(self, fold: Mirror) -> Silhouette | None:
        """The picture after an all-layers fold; None if it disagrees, folds nothing, or folds along the outline."""
        ink = folded_ink(self.ink, fold)
        if ink is None:
            return None
        halves = [face.split(fold, _CREASE) for face in self.faces]
        stays = [part for part, _ in halves if part is not None]
        moves = [part for _, part in halves if part is not None]
        if not stays or not moves:
            return None
        stay, move = ink
        for one, faces, other in ((move, stays, stay), (stay, moves, move)):
            for line, stretches in one.items():
                lone = outside(stretches, other.get(line, ()))
                if lone and common(lone, _cover(faces, line)):
                    return None
        together = {line: merged([*stay.get(line, ()), *move.get(line, ())]) for line in stay | move}
        return Silhouette(_needed([*stays, *moves]), together)


def _cover(faces: Sequence[Face], line: UnitLine) -> Stretches:
    """The stretches of a line that faces cover."""
    return merged(stretch for face in faces if (stretch := face.covers(line)) is not None)


def _needed(faces: list[Face]) -> tuple[Face, ...]:
    """The faces without those that lie in another one."""
    kept: list[Face] = []
    for face in sorted(faces, key=lambda face: face.size, reverse=True):
        if not any(_lies_in(face, other) for other in kept):
            kept.append(face)
    return tuple(kept)


def _lies_in(face: Face, other: Face) -> bool:
    """Whether a face adds nothing to another one: no paper, and no crease where the other one has a raw edge."""
    for (p, q), edge in zip(around(other.corners), other.edges, strict=True):
        sides = [orientation(p, q, corner) for corner in face.corners]
        if min(sides) < 0:
            return False
        along = [mine for mine, (one, two) in zip(face.edges, around(sides), strict=True) if one == two == 0]
        if edge.raw and not all(mine.raw for mine in along):
            return False
    return True


@dataclass
class AllLayers(Deepening[Silhouette]):
    """All recipes of a length of the folds of `LAYING`, of `SQUARE` if `square`, or of `QUARTERS` if `quarters` too,
    but those that clash or fold along the outline.
    """

    square: bool = False
    quarters: bool = False

    def __post_init__(self) -> None:
        corners = self.start.faces[0].corners[:3]
        x, y = (sum((s * p[i] for s, p in zip(_SHARES, corners, strict=True)), ZERO) for i in (0, 1))
        self._fixed = Point(x, y)

    def folds(self, paper: Silhouette) -> Iterator[Child[Silhouette]]:
        """One place of the sheet always stays, so that folds in another order come to the same picture."""
        for fold, lines in paper.promising(paper.candidates(self.square, self.quarters)):
            yield Child(Fold(fold.turned() if fold.height(self._fixed).sign() > 0 else fold), lines)

    def after(self, paper: Silhouette, fold: Fold) -> Silhouette | None:
        return paper.fold(fold.line)
