"""Folded paper panel by panel, bottom to top: where every place of the sheet lies, and on what."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from verify.construct.recipes.lines import (
    Edge,
    Face,
    Line,
    Mirror,
    Stretch,
    Stretches,
    common,
    meetings,
    merged,
    outside,
    parted,
)
from verify.exact.number import Number
from verify.exact.plane import Point, in_convex

_ONE, _ZERO = Number.of(1), Number.of(0)


class Motion(NamedTuple):
    """How a panel came from the flat sheet: in complex numbers z to uz + s, or to u times the conjugate of z, + s, if
    `turned`; |u| = 1.
    """

    u: Point
    s: Point
    turned: bool

    def __call__(self, place: Point) -> Point:
        """Where a place of the flat panel lies."""
        (p, q), x, y = self.u, place.x, -place.y if self.turned else place.y
        return Point(p * x - q * y + self.s.x, q * x + p * y + self.s.y)

    def back(self, image: Point) -> Point:
        """The place of the flat sheet that lies there."""
        (p, q), x, y = self.u, image.x - self.s.x, image.y - self.s.y
        place = Point(p * x + q * y, p * y - q * x)
        return Point(place.x, -place.y) if self.turned else place

    def reflected(self, fold: Mirror) -> Motion:
        """The motion, and then the fold."""
        p = (fold.b * fold.b - fold.a * fold.a) / fold.square
        q = -2 * fold.a * fold.b / fold.square
        x, y = self.u.x, -self.u.y
        return Motion(Point(p * x - q * y, q * x + p * y), fold.point(self.s), not self.turned)


Ink = tuple[tuple[Line, Stretches], ...]


@dataclass(frozen=True)
class Panel:
    """A convex panel: where it lies, how it came there, and the outline on it, as it lies."""

    face: Face
    motion: Motion
    ink: Ink = ()

    def flat(self) -> tuple[Point, ...]:
        """Its corners on the flat sheet, in the order of `face`."""
        return tuple(map(self.motion.back, self.face.corners))

    def mirrored(self, fold: Mirror) -> Panel:
        """The whole panel's mirror image."""
        images = (fold.line(line, stretches) for line, stretches in self.ink)
        ink = tuple((line, merged(stretches)) for line, stretches in images)
        return Panel(self.face.reflected(fold), self.motion.reflected(fold), ink)

    def folded(self, fold: Mirror, crease: Edge, slant: bool) -> tuple[Panel | None, Panel | None] | None:
        """The parts that stay and that move; None if the fold runs along the outline on it.

        None as well, unless `slant`, if the outline is not symmetric where it meets the crease: then it takes more
        creases there to straighten it.
        """
        one, two = self.face.split(fold, crease)
        stay: list[tuple[Line, Stretches]] = []
        move: list[tuple[Line, Stretches]] = []
        for line, stretches in self.ink:
            parts = parted(line, stretches, fold)
            if parts is None:
                return None
            if parts[0]:
                stay.append((line, parts[0]))
            if parts[1]:
                image, moved = fold.line(line, parts[1])
                move.append((image, merged(moved)))
        if not slant and one is not None and two is not None and not _meets_alike(self.face, fold, stay, move):
            return None
        return (
            None if one is None else Panel(one, self.motion, tuple(stay)),
            None if two is None else Panel(two, self.motion.reflected(fold), tuple(move)),
        )


class Fold(NamedTuple):
    """A simple fold of a stack: the line, the numbers of the panels that move (None: all beyond the line), and whether
    they go over.
    """

    line: Mirror
    moving: frozenset[int] | None = None
    over: bool = True

    def moves(self, panel: int) -> bool:
        """Whether a panel, of those beyond the line, moves."""
        return self.moving is None or panel in self.moving


Folds = tuple[Fold, ...]


@dataclass(frozen=True)
class Stack:
    """The folded sheet: its panels from bottom to top. Two panels beside each other on the sheet have the edge between
    them under one name.
    """

    panels: tuple[Panel, ...]

    def fold(self, fold: Fold, step: int, slant: bool = True) -> Stack | None:
        """The stack after a simple fold; None if it runs along the outline, or, unless `slant`, bends it where it is
        not symmetric.

        Of a panel that moves only the part beyond the line does. Assumes, and does not check, that the paper allows it.
        """
        stay: list[Panel] = []
        move: list[Panel] = []
        for number, panel in enumerate(self.panels):
            if not fold.moves(number):
                stay.append(panel)
                continue
            parts = panel.folded(fold.line, Edge(step, number), slant)
            if parts is None:
                return None
            if parts[0] is not None:
                stay.append(parts[0])
            if parts[1] is not None:
                move.append(parts[1])
        move.reverse()
        return Stack(tuple(stay + move if fold.over else move + stay))

    def turned(self) -> Stack:
        """The stack turned over, left to right."""
        upright = Mirror(_ONE, _ZERO, _ZERO, _ONE)
        return Stack(tuple(p.mirrored(upright) for p in reversed(self.panels)))

    def images(self, place: Point) -> Iterator[tuple[int, Point]]:
        """The panels that contain a place of the sheet, each with where it lies."""
        for number, panel in enumerate(self.panels):
            image = panel.motion(place)
            if contains(panel.face, image):
                yield number, image

    def image(self, place: Point) -> Point:
        """Where a place of the sheet lies."""
        return next(image for _, image in self.images(place))

    def lines(self) -> dict[Line, list[Stretch]]:
        """The lines on which the outline lies, with its stretches on all panels."""
        found: dict[Line, list[Stretch]] = {}
        for panel in self.panels:
            for line, stretches in panel.ink:
                found.setdefault(line, []).extend(stretches)
        return found

    @cached_property
    def key(self) -> object:
        """Equal for stacks that lie alike."""
        return tuple((p.motion, p.face.corners) for p in self.panels)

    @cached_property
    def count(self) -> int:
        """On how many lines the outline lies."""
        return len(self.lines())

    @property
    def steps(self) -> int:
        """The number of the last step that left a crease."""
        return max(0, *(edge.step for panel in self.panels for edge in panel.face.edges))

    @property
    def ready(self) -> bool:
        """Whether one straight cut cuts just the outline now."""
        lines = self.lines()
        if len(lines) != 1:
            return False
        (line,) = lines
        for panel in self.panels:
            cover = panel.face.covers(line)
            if cover is not None and outside((cover,), panel.ink[0][1] if panel.ink else ()):
                return False
        return True


def stack_of(faces: tuple[Face, ...], ink: dict[Line, Stretches] | None = None) -> Stack:
    """The flat sheet, with the outline on it if it is given."""
    still = Motion(Point(_ONE, _ZERO), Point(_ZERO, _ZERO), False)
    panels = []
    for face in faces:
        mine = []
        for line, stretches in (ink or {}).items():
            cover = face.covers(line)
            if cover is not None and (part := common(stretches, (cover,))):
                mine.append((line, tuple(part)))
        panels.append(Panel(face, still, tuple(mine)))
    return Stack(tuple(panels))


def contains(face: Face, place: Point) -> bool:
    """Whether a closed panel contains a place."""
    return in_convex(place, face.corners) >= 0


def _meets_alike(
    face: Face, fold: Mirror, stay: list[tuple[Line, Stretches]], move: list[tuple[Line, Stretches]]
) -> bool:
    """Whether the outline on both sides meets the crease in the same places and directions, inside the panel."""
    one, two = meetings(stay, fold), meetings(move, fold)
    return one == two or not any(in_convex(line.at(t), face.corners) > 0 for line, t, _ in one ^ two)
