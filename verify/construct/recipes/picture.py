"""What all-layers folds need to know of folded paper: its silhouette, and the outline drawn on it.

What lies together after an all-layers fold stays together. So wherever two layers lie on each other, both must bear the
outline or neither; and then the layers need not be told apart: the folded paper is one drawing again, on a silhouette.
A fold is possible for the cut exactly if what it lays together agrees in the same way.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from verify.construct.recipes.deepening import least_folds
from verify.construct.recipes.lines import (
    Edge,
    Face,
    Line,
    Mirror,
    Stretches,
    bisectors,
    common,
    merged,
    mirror,
    outside,
    parted,
)
from verify.exact.plane import Point

_ON_THE_WAY = (0.04, 0.2, 0.35, 0.5, 0.65, 0.8, 0.96)
CLEAR = 1e-6  # of the sheet's size: far above what floats are off by, so that what is clear in floats is so
_SHORTEST = 1e-9
Places = NDArray[np.float64]
_CREASE = Edge(1)


@dataclass(frozen=True)
class Clash:
    """Two places of the flat or folded paper that a fold lays together, of which one only is to be cut.

    `place` is where they meet, `mirrored` where the one that moves comes from; `stays_blank`: whether the one that
    stays is the blank one.
    """

    place: Point
    mirrored: Point
    stays_blank: bool


@dataclass(frozen=True)
class Picture:
    """A silhouette and the outline on it, exactly. `faces` are convex, may overlap, and together cover the silhouette.

    `ink` has for each line of the outline its stretches. What lies along the sheet's own edge is cut already, and is
    not among it.
    """

    faces: tuple[Face, ...]
    ink: dict[Line, Stretches]

    @cached_property
    def key(self) -> tuple[frozenset[tuple[Line, Stretches]], frozenset[frozenset[Point]]]:
        """Equal for equal pictures."""
        return frozenset(self.ink.items()), frozenset(frozenset(f.corners) for f in self.faces)

    @property
    def count(self) -> int:
        """On how many lines the outline lies."""
        return len(self.ink)

    @property
    def least(self) -> int:
        """At least so many folds remain."""
        return least_folds(self.count)

    @property
    def ready(self) -> bool:
        """Whether one straight cut cuts just the outline now."""
        if len(self.ink) != 1:
            return False
        ((line, ink),) = self.ink.items()
        return not outside(self._cover(self.faces, line), ink)

    @staticmethod
    def _cover(faces: tuple[Face, ...] | list[Face], line: Line) -> Stretches:
        return merged(s for s in (f.covers(line) for f in faces) if s is not None)

    def candidates(self, square: bool = False, quarters: bool = False) -> list[Mirror]:
        """The folds that lay a line of the outline on another one, or an end of one of its stretches on another end of
        the same line.

        `square`: as well the folds square to a line of the outline through an end of any stretch or a corner of a face;
        most of them lay no lines together, but take away paper or length that is in the way. `quarters`: and those
        square to a stretch at a quarter of it.
        """
        lines = list(self.ink)
        found = [m for i, one in enumerate(lines) for two in lines[:i] for m in bisectors(one, two)]
        for line, stretches in self.ink.items():
            ends = [t for s in stretches for t in s]
            found += [mirror(-line.b, line.a, (s + t) / 2) for i, s in enumerate(ends) for t in ends[:i]]
        if quarters:
            every = [(line, *stretch) for line, stretches in self.ink.items() for stretch in stretches]
            found += [mirror(-x.b, x.a, (3 * s + t) / 4) for x, one, two in every for s, t in ((one, two), (two, one))]
        if square:
            places = {p for face in self.faces for p in face.corners}
            places |= {line.at(t) for line, stretches in self.ink.items() for s in stretches for t in s}
            for a, b in {(-line.b, line.a) for line in lines}:
                found += [mirror(a, b, c) for c in {a * p.x + b * p.y for p in places}]
        return found

    def promising(self, folds: list[Mirror]) -> list[tuple[Mirror, int]]:
        """The folds with paper on both sides that no clear clash rules out; each with a number of lines that are left
        after it at least.

        A clash is clear if a place of the outline comes to lie on blank paper, farther than `CLEAR` from its edges and
        from any outline. Everything else is for `fold` to decide, exactly.
        """
        if not folds:
            return []
        size, samples, planes, normals, offsets, ends = self._floats
        raw = np.array([(float(m.a), float(m.b), float(m.c)) for m in folds])
        raw /= np.hypot(raw[:, 0], raw[:, 1])[:, None]
        n, c = raw[:, :2], raw[:, 2]
        corners = np.array([(float(p.x), float(p.y)) for f in self.faces for p in f.corners])
        heights = n @ corners.T - c[:, None]
        clear = CLEAR * size
        two_sided = (heights.max(axis=1) > -clear) & (heights.min(axis=1) < clear)
        images = samples[None] - 2 * (samples @ n.T - c).T[:, :, None] * n[:, None, :]
        deep = np.zeros(images.shape[:2], dtype=bool)
        for plane in planes:
            deep |= (images @ plane[:, :2].T - plane[:, 2]).min(axis=2) > clear
        away = np.abs(images @ normals.T - offsets) > clear
        t = images[:, :, 1, None] * normals[:, 0] - images[:, :, 0, None] * normals[:, 1]
        for low, high, line in ends:
            near = (t[:, :, line] > low - clear) & (t[:, :, line] < high + clear) & ~away[:, :, line]
            deep &= ~near
        kept = two_sided & ~deep.any(axis=1)
        lines = np.column_stack([normals, offsets])
        on = [line for _, _, line in ends]
        along = np.stack([-normals[:, 1], normals[:, 0]], axis=1)
        places = normals[on] * offsets[on, None]
        both = np.stack([places + along[on] * np.array([e[k] for e in ends])[:, None] for k in (0, 1)])
        known: dict[tuple[int, ...], list[Mirror]] = {}
        found = []
        for i in np.flatnonzero(kept):
            if is_known(folds[i], raw[i], clear, known):
                continue
            h = both @ n[i] - c[i]
            move = {line for line, far in zip(on, h.max(axis=0) > clear, strict=True) if far}
            stay = {line for line, far in zip(on, h.min(axis=0) < -clear, strict=True) if far}
            found.append((folds[i], different(lines, stay, move, raw[i], clear)))
        return found

    @cached_property
    def _floats(
        self,
    ) -> tuple[
        float,
        NDArray[np.float64],
        list[NDArray[np.float64]],
        NDArray[np.float64],
        NDArray[np.float64],
        list[tuple[float, float, int]],
    ]:
        """In floats: the size; places of the outline; each face's half-planes; the lines; the ends of each stretch with
        its line's number.
        """
        normals = np.array([(float(line.a), float(line.b)) for line in self.ink])
        offsets = np.array([float(line.c) for line in self.ink])
        ends = [(float(s), float(t), i) for i, stretches in enumerate(self.ink.values()) for s, t in stretches]
        samples = np.array(
            [
                normals[i] * offsets[i] + np.array([-normals[i][1], normals[i][0]]) * (low + part * (high - low))
                for low, high, i in ends
                for part in _ON_THE_WAY
            ]
        )
        polygons = [np.array([(float(p.x), float(p.y)) for p in f.corners]) for f in self.faces]
        size = float(max(np.abs(p).max() for p in polygons)) or 1.0
        planes = []
        for p in polygons:
            step = np.roll(p, -1, axis=0) - p
            length = np.hypot(step[:, 0], step[:, 1])
            if length.min() < _SHORTEST * size:
                continue
            inward = np.stack([-step[:, 1], step[:, 0]], axis=1) / length[:, None]
            planes.append(np.concatenate([inward, (inward * p).sum(axis=1)[:, None]], axis=1))
        return size, samples, planes, normals, offsets, ends

    def fold(self, fold: Mirror) -> Picture | Clash | None:
        """The picture after an all-layers fold; a clash if what it lays together disagrees; None if it folds nothing or
        along the outline.
        """
        stay: dict[Line, Stretches] = {}
        move: dict[Line, Stretches] = {}
        for line, stretches in self.ink.items():
            parts = parted(line, stretches, fold)
            if parts is None:
                return None
            if parts[0]:
                stay[line] = parts[0]
            if parts[1]:
                image, moved = fold.line(line, parts[1])
                move[image] = merged(moved)
        stays: list[Face] = []
        moves: list[Face] = []
        for face in self.faces:
            one, two = face.split(fold, _CREASE)
            if one is not None:
                stays.append(one)
            if two is not None:
                moves.append(two)
        if not stays or not moves:
            return None
        for ink, faces, other in ((move, stays, stay), (stay, moves, move)):
            for line, stretches in ink.items():
                lone = outside(stretches, other.get(line, ()))
                for s, t in common(lone, self._cover(faces, line)) if lone else ():
                    place = line.at((s + t) / 2)
                    return Clash(place, fold.point(place), ink is move)
        return Picture(
            _needed(stays + moves),
            stay
            | {line: merged([*stay.get(line, ()), *moved]) if line in stay else moved for line, moved in move.items()},
        )


def is_known(fold: Mirror, plane: Places, clear: float, known: dict[tuple[int, ...], list[Mirror]]) -> bool:
    """Whether a fold line is among those that were asked for before. Exact; `plane` is it in floats, with a unit
    normal.
    """
    sign = 1 if plane[0] > CLEAR or (abs(plane[0]) <= CLEAR and plane[1] > 0) else -1
    place = tuple(np.round(plane * sign / np.array([CLEAR, CLEAR, clear])).astype(int).tolist())
    alike = known.setdefault(place, [])
    if any(
        fold.a * m.b == fold.b * m.a and fold.a * m.c == fold.c * m.a and fold.b * m.c == fold.c * m.b for m in alike
    ):
        return True
    alike.append(fold)
    return False


def different(lines: Places, stay: set[int], move: set[int], fold: Places, clear: float) -> int:
    """At least so many lines carry the outline if those of `stay` do, and the mirror images of those of `move`: in
    floats, what may be one line counts once.

    A line is given by its unit normal and its distance from the origin; so is the fold.
    """
    images = lines[sorted(move)]
    images = images - 2 * np.outer(images[:, :2] @ fold[:2], fold)
    every = np.concatenate([lines[sorted(stay)], images])
    ways = np.where(every[:, :2] @ every[:, :2].T > 0, 1.0, -1.0)
    off = np.abs(every[:, None, :] - ways[:, :, None] * every[None, :, :])
    alike = (off[:, :, 0] < CLEAR) & (off[:, :, 1] < CLEAR) & (off[:, :, 2] < clear)
    count, left = 0, np.ones(len(every), dtype=bool)
    for i in range(len(every)):
        if left[i]:
            count += 1
            left &= ~alike[i]
    return max(count, 1)


def _needed(faces: list[Face]) -> tuple[Face, ...]:
    """The faces without those that lie in another one."""
    kept: list[Face] = []
    for face in sorted(faces, key=lambda face: face.size, reverse=True):
        if not any(_lies_in(face, other) for other in kept):
            kept.append(face)
    return tuple(kept)


def _lies_in(face: Face, other: Face) -> bool:
    """Whether a face adds nothing to another one: no paper, and no crease where the other one has a raw edge."""
    corners = other.corners
    for i, p in enumerate(corners):
        q = corners[(i + 1) % len(corners)]
        dx, dy = q.x - p.x, q.y - p.y
        signs = [(dx * (r.y - p.y) - dy * (r.x - p.x)).sign() for r in face.corners]
        if min(signs) < 0:
            return False
        if other.edges[i].raw:
            for k, edge in enumerate(face.edges):
                if not edge.raw and signs[k] == 0 == signs[(k + 1) % len(signs)]:
                    return False
    return True
