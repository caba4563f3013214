"""What can be seen of the folded paper before a step: edges and creases that other layers do not cover. In floats."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from math import cos, hypot, pi, sin

from verify.exact.plane import Point, around
from verify.folding.steps import Folded
from verify.pattern.components import least_of_each

_BESIDE = 1e-5  # how far beside a line one looks, as a share of the paper's size
_LOOKS = 8
_Place = tuple[float, float]


class Sight:
    """The paper before step `number` (from 1), seen from above or from behind. A line shows where what lies outermost
    changes at it: paper of another layer, another side of a crease, or none.
    """

    def __init__(self, folded: Folded, number: int) -> None:
        self.paper = folded.paper
        self.state = self.paper.states[number - 1]
        self.piece = _pieces(folded, number)
        self.images = [floats(p) for p in self.state.images]
        self.loops = [[self.images[v] for v in face] for face in self.paper.faces]
        self.beside = _BESIDE * max(max(along) - min(along) for along in zip(*self.images, strict=True))

    def line(self, a: Point, b: Point, *, behind: bool = False) -> bool:
        """Whether at least half of what lies straight between two places of the sheet shows."""
        p, q = self._image(a), self._image(b)
        across = -(q[1] - p[1]), q[0] - p[0]
        size = hypot(*across)
        normal = across[0] / size, across[1] / size
        shows = []
        for k in range(_LOOKS):
            part = (2 * k + 1) / (2 * _LOOKS)
            place = p[0] + (q[0] - p[0]) * part, p[1] + (q[1] - p[1]) * part
            ends = [(place[0] + way * normal[0], place[1] + way * normal[1]) for way in (self.beside, -self.beside)]
            shows.append(self._changes(ends, behind))
        return 2 * sum(shows) >= _LOOKS

    def point(self, place: Point, *, behind: bool = False) -> bool:
        """Whether some line shows where a place of the sheet lies."""
        x, y = self._image(place)
        angles = [(k + 0.3) * 2 * pi / _LOOKS for k in range(_LOOKS)]
        ring = [(x + self.beside * cos(angle), y + self.beside * sin(angle)) for angle in angles]
        return self._changes(ring, behind)

    def _changes(self, places: list[_Place], behind: bool) -> bool:
        stack = self.state.stack if behind else self.state.stack[::-1]
        return len({self._outermost(place, stack) for place in places}) > 1

    def _outermost(self, place: _Place, stack: list[int]) -> int | None:
        """The piece of paper that comes first in a stack over a place; None if there is none."""
        return next((self.piece[f] for f in stack if _contains(self.loops[f], place)), None)

    def _image(self, place: Point) -> _Place:
        return floats(self.paper.image(self.paper.host(place), place, self.state))


def floats(p: Point) -> _Place:
    """A place in floats."""
    return float(p.x), float(p.y)


def _pieces(folded: Folded, number: int) -> list[int]:
    """For each face the smallest one that no crease of a step before this one parts from it."""
    paper = folded.paper
    made = {frozenset(ends) for ends in _creased(folded, number)}
    sides = ((ends, f, paper.beside.get(ends[::-1])) for ends, f in paper.beside.items())
    joined = [(f, g) for ends, f, g in sides if g is not None and frozenset(ends) not in made]
    return least_of_each(len(paper.faces), joined)


def _creased(folded: Folded, number: int) -> Iterator[tuple[int, int]]:
    for (u, v), step in folded.paper.creased.items():
        if step < number:
            yield from pairwise(folded.paper.refined([u, v]))


def _contains(loop: list[_Place], place: _Place) -> bool:
    """Whether a convex loop, either way round, contains a place."""
    turns = [(b[0] - a[0]) * (place[1] - a[1]) - (b[1] - a[1]) * (place[0] - a[0]) for a, b in around(loop)]
    return all(turn >= 0 for turn in turns) or all(turn <= 0 for turn in turns)
