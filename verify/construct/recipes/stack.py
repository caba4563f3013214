"""Folded paper layer by layer, bottom to top: where every place of the sheet lies, and on what."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from itertools import count
from typing import NamedTuple

from verify.construct.recipes.lines import (
    EdgeKey,
    Face,
    Ink,
    Mirror,
    UnitLine,
    common,
    folded_ink,
    ink_of,
    meetings,
    outside,
)
from verify.exact.number import ONE, ZERO, Number
from verify.exact.plane import Point, around, difference, in_convex
from verify.folding.foldmap import IDENTITY, Isometry, complex_product


class Motion(Isometry):
    """How a layer came from the flat sheet."""

    def back(self, image: Point) -> Point:
        """The place of the flat sheet that lies there."""
        x, y = complex_product(Point(self.m.x, -self.m.y), difference(image, self.shift))
        return Point(x, -y if self.turned else y)

    def reflected(self, fold: Mirror) -> Motion:
        """The motion, and then the fold."""
        p = (fold.b * fold.b - fold.a * fold.a) / fold.square
        q = -2 * fold.a * fold.b / fold.square
        m = complex_product(Point(p, q), Point(self.m.x, -self.m.y))
        return Motion(m, fold.point(self.shift), not self.turned)


@dataclass(frozen=True)
class Layer:
    """A convex layer: where it lies, how it came there, and the outline on it, as it lies."""

    face: Face
    motion: Motion
    ink: Ink = field(default_factory=dict)

    def flat(self) -> tuple[Point, ...]:
        """Its corners on the flat sheet, in the order of `face`."""
        return tuple(map(self.motion.back, self.face.corners))

    def mirrored(self, fold: Mirror) -> Layer:
        """The whole layer's mirror image."""
        return Layer(self.face.reflected(fold), self.motion.reflected(fold), fold.ink(self.ink))

    def folded(self, fold: Mirror, crease: EdgeKey, slant: bool) -> tuple[Layer | None, Layer | None] | None:
        """The parts that stay and move; None along the outline or, unless `slant`, where that is not symmetric."""
        ink = folded_ink(self.ink, fold)
        if ink is None:
            return None
        one, two = self.face.split(fold, crease)
        if not slant and one is not None and two is not None and not _meets_alike(self.face, fold, *ink):
            return None
        return (
            None if one is None else Layer(one, self.motion, ink[0]),
            None if two is None else Layer(two, self.motion.reflected(fold), ink[1]),
        )


class Fold(NamedTuple):
    """A simple fold: its line, the layers that move (None: all beyond the line), and whether they go over."""

    line: Mirror
    moving: frozenset[int] | None = None
    over: bool = True

    def moves(self, layer: int) -> bool:
        """Whether a layer, of those beyond the line, moves."""
        return self.moving is None or layer in self.moving


Folds = tuple[Fold, ...]


@dataclass(frozen=True)
class Stack:
    """The folded sheet, bottom to top. Layers beside each other on the sheet name the edge between them alike."""

    layers: tuple[Layer, ...]

    def fold(self, fold: Fold, step: int, slant: bool = True) -> Stack | None:
        """The stack after a fold; None where `Layer.folded` is None for a layer that moves. Assumes, and does not
        check, that the paper allows it.
        """
        stay: list[Layer] = []
        move: list[Layer] = []
        for number, layer in enumerate(self.layers):
            if not fold.moves(number):
                stay.append(layer)
                continue
            parts = layer.folded(fold.line, EdgeKey(step, number), slant)
            if parts is None:
                return None
            if parts[0] is not None:
                stay.append(parts[0])
            if parts[1] is not None:
                move.append(parts[1])
        move.reverse()
        return Stack(tuple(stay + move if fold.over else move + stay))

    def through(self, folds: Iterable[Fold], first: int) -> Iterator[Stack]:
        """This stack, then that after each fold; the first one is step `first`. Raises `ValueError` for a fold that
        bends the outline where it must not.
        """
        stack = self
        yield stack
        for number, fold in enumerate(folds, start=first):
            after = stack.fold(fold, number)
            if after is None:
                raise ValueError(f"fold {number} is not possible")
            stack = after
            yield stack

    def turned(self) -> Stack:
        """The stack turned over, left to right."""
        upright = Mirror(ONE, ZERO, ZERO, ONE)
        return Stack(tuple(p.mirrored(upright) for p in reversed(self.layers)))

    def images(self, place: Point) -> Iterator[tuple[int, Point]]:
        """The layers that contain a place of the sheet, each with where it lies."""
        for number, layer in enumerate(self.layers):
            image = layer.motion(place)
            if contains(layer.face, image):
                yield number, image

    def image(self, place: Point) -> Point:
        """Where a place of the sheet lies."""
        return next(image for _, image in self.images(place))

    @cached_property
    def ink(self) -> Ink:
        """The outline on all layers, as it lies."""
        return ink_of((line, stretch) for layer in self.layers for line, many in layer.ink.items() for stretch in many)

    @cached_property
    def joints(self) -> list[tuple[int, int, tuple[Point, Point]]]:
        """The pairs of layers beside each other on the sheet, and where the ends of the edge between them lie."""
        beside: dict[EdgeKey, list[tuple[int, tuple[Point, Point]]]] = {}
        for number, layer in enumerate(self.layers):
            for edge, ends in zip(layer.face.edges, around(layer.face.corners), strict=True):
                beside.setdefault(edge, []).append((number, ends))
        return [(pair[0][0], pair[1][0], pair[0][1]) for pair in beside.values() if len(pair) == 2]

    @cached_property
    def key(self) -> object:
        """Equal for stacks that lie alike."""
        return tuple((p.motion, p.face.corners) for p in self.layers)

    @property
    def steps(self) -> int:
        """The number of the last step that left a crease."""
        return max(0, *(edge.step for layer in self.layers for edge in layer.face.edges))

    @property
    def ready(self) -> bool:
        """Whether one straight cut cuts just the outline now."""
        if len(self.ink) != 1:
            return False
        (line,) = self.ink
        covers = ((layer.face.covers(line), layer.ink.get(line, ())) for layer in self.layers)
        return not any(cover is not None and outside((cover,), ink) for cover, ink in covers)


def stack_of(faces: tuple[Face, ...], ink: Ink) -> Stack:
    """The flat sheet, with the outline on it."""
    still = Motion(*IDENTITY)

    def on(face: Face) -> Ink:
        parts = ((line, common(stretches, (cover,))) for line, stretches in ink.items() if (cover := face.covers(line)))
        return {line: tuple(part) for line, part in parts if part}

    return Stack(tuple(Layer(face, still, on(face)) for face in faces))


def reach(seeds: Iterable[int], following: Mapping[int, Iterable[int]]) -> set[int]:
    """All that can be reached from some numbers, themselves among it."""
    reached, todo = set(seeds), list(seeds)
    while todo:
        new = set(following.get(todo.pop(), ())) - reached
        reached |= new
        todo += new
    return reached


def contains(face: Face, place: Point) -> bool:
    """Whether a closed layer contains a place."""
    return in_convex(place, face.corners) >= 0


def _meets_alike(face: Face, fold: Mirror, stay: Ink, move: Ink) -> bool:
    """Whether the outline on both sides meets the crease in the same places and directions, inside the layer."""
    apart = meetings(stay, fold) ^ meetings(move, fold)
    return not any(in_convex(line.at(t), face.corners) > 0 for line, t, _ in apart)


class Spoilt(NamedTuple):
    """Two places of the flat sheet that lie on each other: the outline runs through `cut`, and not through `blank`."""

    cut: Point
    blank: Point


def spoilt(stack: Stack) -> Spoilt | None:
    """Two such places, in the middle of the longest stretch (in floats) that disagrees; None if all agree. Exact."""
    worst: tuple[float, Spoilt] | None = None
    for layer in stack.layers:
        for line, stretches in layer.ink.items():
            for other in stack.layers:
                cover = other.face.covers(line)
                if other is layer or cover is None:
                    continue
                for low, high in common(outside(stretches, other.ink.get(line, ())), (cover,)):
                    size = float(high - low)
                    if worst is None or size > worst[0]:
                        place = _blank(other, line, low, high)
                        worst = size, Spoilt(layer.motion.back(place), other.motion.back(place))
    return worst[1] if worst is not None else None


def _blank(layer: Layer, line: UnitLine, low: Number, high: Number) -> Point:
    """A place of a stretch, near its middle, through which no outline of the layer runs."""

    def is_drawn(place: Point) -> bool:
        lines = ((other, many) for other, many in layer.ink.items() if not other.height(place))
        return any(a <= other.along(place) <= b for other, many in lines for a, b in many)

    places = (line.at(low + (high - low) / share) for share in count(2))
    return next(place for place in places if not is_drawn(place))
