"""What can be seen of the folded paper before a step: edges and creases that other layers do not cover. In floats, as
shares of the paper's size, which may be beyond all floats.
"""

from __future__ import annotations

from cmath import rect
from itertools import pairwise
from math import pi

from verify.exact.plane import Point, around
from verify.folding.steps import Folded
from verify.pattern.components import least_of_each

_BESIDE = 1e-5  # how far beside a line one looks, as a share of the paper's size
_LOOKS = 8


class Sight:
    """The paper before step `number` (from 1), seen from above or from behind. A line shows where what lies outermost
    changes at it: paper of another layer, another side of a crease, or none.
    """

    def __init__(self, folded: Folded, number: int) -> None:
        self.paper = folded.paper
        self.state, *self.later = self.paper.states[number - 1 :]
        self.piece = _pieces(folded, number)
        self.size = max(max(along) - min(along) for along in zip(*self.state.images, strict=True))
        images = [complex(*self._floats(p)) for p in self.state.images]
        loops = ([images[v] for v in face] for face in self.paper.faces)  # to be counter-clockwise
        self.loops = [loop[::-1] if turned else loop for loop, turned in zip(loops, self.state.turned, strict=True)]

    def line(self, a: Point, b: Point, *, behind: bool = False) -> float:
        """How much of what lies straight between two places of the sheet shows, from 0 to 1."""
        p, q = self._image(a), self._image(b)
        aside = _BESIDE * (q - p) * 1j / abs(q - p)
        shows = []
        for k in range(_LOOKS):
            place = p + (q - p) * (2 * k + 1) / (2 * _LOOKS)
            shows.append(self._changes([place + aside, place - aside], behind))
        return sum(shows) / _LOOKS

    def point(self, place: Point, *, behind: bool = False) -> bool:
        """Whether some line shows where a place of the sheet lies."""
        return self._changes(self._ring(place), behind)

    def spot(self, place: Point) -> bool:
        """Whether lines end, meet or turn where a place of the sheet lies, seen from above: a straight one that runs
        through it does not show where on it that is.
        """
        stack = self.state.stack[::-1]
        pieces = [self._outermost(at, stack) for at in self._ring(place)]
        changes = [k for k in range(_LOOKS) if pieces[k] != pieces[k - 1]]
        straight = len(changes) == 2 and changes[1] - changes[0] == _LOOKS // 2
        return len(changes) > 1 and not straight

    def seen_at(self, place: Point) -> list[tuple[Point, bool]]:
        """The places of the sheet that one sees from above where a place of it lies, and that come to lie on it after
        every later step too: each with whether its back is up, the place itself first.
        """
        state, image = self.state, self.paper.lies_at(place, self.state)
        outermost = {self._face(at, state.stack[::-1]) for at in self._ring(place)}
        faces = [f for f in outermost if f is not None and self.paper.image_contains(f, image, state)]
        seen = {(self.paper.place_under(f, image, state), state.turned[f]) for f in faces}
        kept = [(other, back) for other, back in seen if self._stays(place, other)]
        return sorted(kept, key=lambda one: (one[0] != place, self._floats(one[0]), one[1]))

    def _stays(self, place: Point, other: Point) -> bool:
        return all(self.paper.lies_at(place, s) == self.paper.lies_at(other, s) for s in self.later)

    def _ring(self, place: Point) -> list[complex]:
        here = self._image(place)
        return [here + rect(_BESIDE, (k + 0.3) * 2 * pi / _LOOKS) for k in range(_LOOKS)]

    def _changes(self, places: list[complex], behind: bool) -> bool:
        stack = self.state.stack if behind else self.state.stack[::-1]
        return len({self._outermost(place, stack) for place in places}) > 1

    def _outermost(self, place: complex, stack: list[int]) -> int | None:
        """The piece of paper that comes first in a stack over a place; None if there is none."""
        face = self._face(place, stack)
        return None if face is None else self.piece[face]

    def _face(self, place: complex, stack: list[int]) -> int | None:
        """The face that comes first in a stack over a place; None if there is none."""
        return next((f for f in stack if _contains(self.loops[f], place)), None)

    def _image(self, place: Point) -> complex:
        return complex(*self._floats(self.paper.lies_at(place, self.state)))

    def _floats(self, p: Point) -> tuple[float, float]:
        return floats(Point(p.x / self.size, p.y / self.size))


def floats(p: Point) -> tuple[float, float]:
    return float(p.x), float(p.y)


def _pieces(folded: Folded, number: int) -> list[int]:
    """For each face the smallest one that no crease of a step before this one parts from it."""
    paper = folded.paper
    creases = [paper.refined(line) for line, step in paper.creased.items() if step < number]
    made = {frozenset(ends) for crease in creases for ends in pairwise(crease)}
    sides = ((ends, f, paper.beside.get(ends[::-1])) for ends, f in paper.beside.items())
    joined = [(f, g) for ends, f, g in sides if g is not None and frozenset(ends) not in made]
    return least_of_each(len(paper.faces), joined)


def _contains(loop: list[complex], place: complex) -> bool:
    """Whether a convex loop, counter-clockwise, contains a place."""
    return all(((b - a).conjugate() * (place - a)).imag >= 0 for a, b in around(loop))
