"""Folded paper panel by panel, bottom to top: where every place of the sheet lies, and on what."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

from verify.construct.recipes.lines import Edge, Face, Mirror
from verify.exact.number import Number
from verify.exact.plane import Point, cross

_ONE, _ZERO = Number.of(1), Number.of(0)


class Motion(NamedTuple):
    """How a panel came from the flat sheet: in complex numbers z to uz + s, or to u times the conjugate of z, + s, if `turned`; |u| = 1."""

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


@dataclass(frozen=True)
class Panel:
    """A convex panel: where it lies, and how it came there."""

    face: Face
    motion: Motion

    def flat(self) -> tuple[Point, ...]:
        """Its corners on the flat sheet, in the order of `face`."""
        return tuple(map(self.motion.back, self.face.corners))

    def has(self, place: Point) -> bool:
        """Whether the closed panel contains a place of the flat sheet."""
        return contains(self.face, self.motion(place))


@dataclass(frozen=True)
class Stack:
    """The folded sheet: its panels from bottom to top. Two panels beside each other on the sheet have the edge between them under one name."""

    panels: tuple[Panel, ...]

    def fold(self, fold: Mirror, step: int, moving: Callable[[int], bool] | None = None, over: bool = True) -> Stack:
        """The stack after a simple fold of the panels for which `moving` holds (all, without it).

        Of a panel that moves only the part on the fold's side does. Assumes, and does not check, that the paper allows it.
        """
        stay: list[Panel] = []
        move: list[Panel] = []
        for number, panel in enumerate(self.panels):
            if moving is not None and not moving(number):
                stay.append(panel)
                continue
            one, two = panel.face.split(fold, Edge(step, number))
            if one is not None:
                stay.append(Panel(one, panel.motion))
            if two is not None:
                move.append(Panel(two, panel.motion.reflected(fold)))
        move.reverse()
        return Stack(tuple(stay + move if over else move + stay))

    def images(self, place: Point) -> Iterator[tuple[int, Point]]:
        """The panels that contain a place of the sheet, each with where it lies."""
        for number, panel in enumerate(self.panels):
            image = panel.motion(place)
            if contains(panel.face, image):
                yield number, image

    def image(self, place: Point) -> Point:
        """Where a place of the sheet lies."""
        return next(image for _, image in self.images(place))


def stack_of(faces: tuple[Face, ...]) -> Stack:
    """The flat sheet."""
    still = Motion(Point(_ONE, _ZERO), Point(_ZERO, _ZERO), False)
    return Stack(tuple(Panel(face, still) for face in faces))


def contains(face: Face, place: Point) -> bool:
    """Whether a closed convex polygon contains a place."""
    c = face.corners
    return all(cross(c[i - 1], c[i], place).sign() >= 0 for i in range(len(c)))
