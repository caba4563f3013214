"""The symmetries that a target or its parts nearly have: mirror lines, and turns about a centre.

A part is what hangs together of the target: a badge may be its own image when turned by 36°, whatever is drawn inside
it. A symmetry takes parts to parts, points to points and lines to lines, each to within a stated distance. In floats:
what is found is a guess that others make exact, or drop.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from math import pi

import numpy as np
import numpy.typing as npt

from verify.construct.coordinates.net import MirrorLine, Net
from verify.pattern.components import components

ORDERS = (12, 10, 9, 8, 7, 6, 5, 4, 3, 2)  # of turns: parts of a whole turn whose fields have a degree of at most 6
_PAIRS = 16  # so many parts at most, and the middle of any two of them may be that of a symmetry

Floats = npt.NDArray[np.float64]
Motion = Callable[[Floats], Floats]


@dataclass(frozen=True)
class Turn:
    """A turn by one part of `order` of a whole turn, by the vertices that it takes to each other."""

    order: int
    pairs: tuple[tuple[int, int], ...]


def symmetries(net: Net, within: float) -> tuple[list[MirrorLine], list[Turn]]:
    """The symmetries that a target, or parts of it, nearly have: mirror lines that are upright or level, those with
    most points first, and turns of `ORDERS`.
    """
    parts = _Parts(net, within)
    mirrors = [mirror for axis in (0, 1) for mirror in parts.mirrors(axis)]
    mirrors.sort(key=lambda mirror: -len(mirror.pairs))
    return mirrors, [*parts.turns(mirrors)]


class _Parts:
    """The parts of a target, by the numbers of their vertices."""

    def __init__(self, net: Net, within: float) -> None:
        self.net, self.within = net, within
        s = net.before
        names = {v: i for i, v in enumerate(net.vertices)}
        self.at: Floats = np.array([[float(x) for x in s.vertices[v]] for v in net.vertices]).reshape(-1, 2)
        self.lines: set[frozenset[int]] = set()
        for chain in s.target_chains:
            self.lines |= {frozenset(pair) for pair in pairwise(names[v] for v in chain if v in names)}
        along = (pair for chain in s.target_chains for pair in pairwise(chain))
        groups = (sorted(names[v] for v in group if v in names) for group in components(len(s.vertices), along))
        self.groups = sorted((group for group in groups if group), key=lambda group: (-len(group), group))
        self.of = {v: number for number, group in enumerate(self.groups) for v in group}

    def mirrors(self, axis: int) -> Iterator[MirrorLine]:
        """Mirror lines, each with all parts that go with it; a part belongs to the first that it goes with."""
        known: set[int] = set()
        for middle in self._middles(lambda at: (at.min(axis=0) + at.max(axis=0)) / 2):
            twice = 2 * middle[axis]

            def motion(at: Floats, twice: float = twice) -> Floats:
                image = at.copy()
                image[:, axis] = twice - at[:, axis]
                return image

            image = self._image(motion, known)
            if image and all(image[image[v]] == v for v in image):
                known |= {self.of[v] for v in image}
                v = self.net.vertices
                yield MirrorLine(axis, tuple((v[a], v[b]) for a, b in image.items() if a <= b))

    def turns(self, mirrors: Sequence[MirrorLine]) -> Iterator[Turn]:
        """Turns, the finest of each part. Two mirror lines make a half turn that need not be said."""
        known: set[int] = set()
        level, upright = ({v for m in mirrors if m.axis == axis for pair in m.pairs for v in pair} for axis in (0, 1))
        both = level & upright
        for middle in self._middles(lambda at: at.mean(axis=0)):
            for order in ORDERS:
                c, s = np.cos(2 * pi / order), np.sin(2 * pi / order)
                matrix = np.array([[c, -s], [s, c]])

                def motion(at: Floats, matrix: Floats = matrix, middle: Floats = middle) -> Floats:
                    image: Floats = (at - middle) @ matrix.T + middle
                    return image

                image = self._image(motion, known)
                if not image:
                    continue
                known |= {self.of[v] for v in image}
                v = self.net.vertices
                pairs = tuple((v[a], v[b]) for a, b in image.items())
                if order > 2 or not {a for a, _ in pairs} <= both:
                    yield Turn(order, pairs)
                break

    def _middles(self, middle: Callable[[Floats], Floats]) -> Iterator[Floats]:
        """Where the middle of a symmetry may be: that of all, of each part, of two parts."""
        yield middle(self.at)
        for group in self.groups:
            yield middle(self.at[group])
        for one, other in combinations(self.groups[:_PAIRS], 2):
            if len(one) == len(other):
                yield middle(self.at[one + other])

    def _image(self, motion: Motion, known: set[int]) -> dict[int, int]:
        """The image of each point under a motion, for all parts that it takes to parts, but for those known."""
        moved = motion(self.at)
        away = np.hypot(*(moved[:, None, :] - self.at[None, :, :]).transpose(2, 0, 1))
        nearest = away.argmin(axis=1)
        near = away[np.arange(len(nearest)), nearest] <= self.within
        to: dict[int, int] = {}
        for number, group in enumerate(self.groups):
            there = {int(nearest[v]) for v in group}
            parts = {self.of[w] for w in there}
            if number in known or not near[group].all() or len(there) < len(group) or len(parts) > 1:
                continue
            (part,) = parts
            lines = [line for line in self.lines if line <= set(group)]
            if len(self.groups[part]) == len(group) and all(
                frozenset(int(nearest[v]) for v in line) in self.lines for line in lines
            ):
                to[number] = part
        while {*to.values()} != {*to}:
            images = {*to.values()}
            to = {number: part for number, part in to.items() if part in to and number in images}
        return {v: int(nearest[v]) for number in to for v in self.groups[number]}
