"""Folding step by step in floats, and the cut: `folding.steps` for folds that are off.

Places are complex numbers; what is nearer than `NEAR` of the sheet's size lies on a line, or in the same place.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from copy import copy
from functools import cache
from itertools import combinations, pairwise

from verify.exact.plane import around
from verify.folding.paper import CannotBeDone, Mesh, State
from verify.pattern.components import chains
from verify.pattern.recipe import Alignment, FoldStep, LineName, MarkStep, Step, UnfoldStep

NEAR = 1e-9
_STRAIGHT = 1e-3  # times as near: many small turns make a large one


Line = tuple[complex, complex]
"""A place on a line, and its direction, of length 1."""

Spot = tuple[int, int]
"""Where a line crosses the mesh: a vertex (twice), or the edge between two."""


class FloatPaper(Mesh[complex]):
    """A sheet while it is folded, with its `marks` by their places on the sheet. Of the `states` those are kept that
    folds in it began with, if it `keeps` them: for steps that unfold.
    """

    def __init__(
        self,
        vertices: Sequence[complex],
        faces: Sequence[Sequence[int]],
        marks: Mapping[str, complex],
        keeps: bool = True,
    ) -> None:
        super().__init__(vertices, faces)
        self.marks, self.keeps = dict(marks), keeps
        self.near = NEAR * max(abs(p - vertices[0]) for p in vertices)
        self.lines: dict[int, Line] = {}

    def holds(self, loop: Sequence[complex], place: complex) -> bool:
        for a, b in around(loop):
            side = b - a
            beside = (side.conjugate() * (place - a)).imag
            if beside < 0 and beside < -self.near * abs(side):
                return False
        return True

    def between(self, a: complex, b: complex, share: float) -> complex:
        return a + (b - a) * share

    def copy(self) -> FloatPaper:
        """The same paper, to be folded on."""
        other = copy(self)
        other.vertices, other.faces = list(self.vertices), list(self.faces)
        other.states = [state.copy() for state in self.states]
        other.beside, other.cut_at, other._hosts = dict(self.beside), dict(self.cut_at), dict(self._hosts)
        other.marks, other.lines = dict(self.marks), dict(self.lines)
        return other

    def take(self, number: int, step: Step, off: tuple[float, float]) -> None:
        """Do a step, a fold displaced by `off` at its ends."""
        if isinstance(step, FoldStep):
            line = self._displaced(self.aligned(step.alignment), off)
            self.lines[number] = _turned_over(line) if self.now.over else line
            self._fold(step, line)
        elif isinstance(step, MarkStep):
            self._mark(step)
        elif isinstance(step, UnfoldStep):
            for _ in range(step.folds):
                self.states.pop()
        else:
            now = self.now
            images = [-p.conjugate() for p in now.images]
            self.states[-1] = State(images, [not turned for turned in now.turned], now.stack[::-1], not now.over)

    def aligned(self, alignment: Alignment) -> Line:
        """The line of an alignment: as `folding.alignments` has it."""
        m = [self._where(mark) for mark in alignment.marks]
        match alignment.kind:
            case "through":
                return self.through(m[0], m[1])
            case "point-onto-point":
                _, way = self.through(m[0], m[1])
                return (m[0] + m[1]) / 2, way * 1j
            case "line-onto-line":
                return self._line_onto_line(self.through(m[0], m[1]), self.through(m[2], m[3]))
            case "square":
                _, way = self.through(m[0], m[1])
                return m[2], way * 1j
            case "point-onto-line":
                return self._point_onto_line(m[0], self.through(m[1], m[2]), m[3], alignment.landing == "first")
            case _:
                return self._point_onto_line_square(m[0], self.through(m[1], m[2]), self.through(m[3], m[4]))

    def through(self, p: complex, q: complex) -> Line:
        if abs(q - p) <= self.near:
            raise CannotBeDone("no-solution")
        return p, (q - p) / abs(q - p)

    def _line_onto_line(self, one: Line, two: Line) -> Line:
        """The line of the places that lie as far on the left of the one as on the right of the other."""
        way = one[1] + two[1]
        if abs(way) <= NEAR:
            raise CannotBeDone("no-solution")
        offset = _cross(one[1], one[0]) + _cross(two[1], two[0])
        start = way * 1j * offset / abs(way) ** 2
        near = (one[0] + two[0]) / 2
        way /= abs(way)
        return start + way * _dot(way, near - start), way

    def _point_onto_line(self, p: complex, line: Line, q: complex, first: bool) -> Line:
        self.through(p, q)
        a, way = line
        left = abs(p - q) ** 2 - _cross(way, q - a) ** 2
        if left < -self.near * abs(p - q):
            raise CannotBeDone("no-solution")
        reach = math.sqrt(max(left, 0.0))
        landing = a + way * (_dot(way, q - a) + (-reach if first else reach))
        if abs(landing - p) <= self.near:
            return self.through(q, p)
        return q, self.through(p, landing)[1] * 1j

    def _point_onto_line_square(self, p: complex, line: Line, square: Line) -> Line:
        (a, way), (_, along) = line, square
        turn = _cross(way, along)
        if abs(turn) <= NEAR:
            raise CannotBeDone("no-solution")
        return p + along * _cross(way, a - p) / turn / 2, along * 1j

    def _displaced(self, line: Line, off: tuple[float, float]) -> Line:
        """The line moved sideways by so much at either end of the folded paper."""
        a, way = line
        along = [_dot(way, p - a) for p in self.now.images]
        start, end = (a + way * complex(t, by) for t, by in zip((min(along), max(along)), off, strict=True))
        return self.through(start, end)

    def _heights(self, line: Line) -> list[float]:
        """How far the vertices lie on the left of a line of the folded plane."""
        a, turn = line[0], line[1].conjugate()
        heights = [(turn * (p - a)).imag for p in self.now.images]
        return [0.0 if abs(h) <= self.near else h for h in heights]

    def _fold(self, step: FoldStep, line: Line) -> None:
        toward = self._where(step.moves)
        height = _cross(line[1], toward - line[0])
        if abs(height) <= self.near:
            raise CannotBeDone("no-solution")
        if height < 0:
            line = line[0], -line[1]
        heights = self._heights(line)
        signs = [(h > 0) - (h < 0) for h in heights]
        sides = [{signs[v] for v in loop} for loop in self.faces]
        movable = {f for f, here in enumerate(sides) if 1 in here}
        moved = self.moved(step, movable, self.marks[step.moves], toward, signs)
        unmoved = movable - moved
        moving = set()
        for f in sorted(moved):
            moving.add(self.split(f, heights, signs) if -1 in sides[f] else f)
        if unmoved:
            self._check_free(moving, unmoved, step.direction == "over")
        if self.keeps:
            self.states.append(self.now.copy())
        now = self.now
        a, way = line
        for v in {v for f in moving for v in self.faces[f]}:
            now.images[v] = a + way * way * (now.images[v] - a).conjugate()
        now.turn(moving, step.direction)

    def _check_free(self, moving: set[int], unmoved: set[int], over: bool) -> None:
        """Refuse if an unmoved face lies in the way of a moving one."""
        rank = {f: r for r, f in enumerate(self.now.stack)}
        loops = {f: self.folded_loop(f) for f in moving | unmoved}
        for f in moving:
            for g in unmoved:
                if (rank[g] > rank[f]) == over and not self._apart(loops[f], loops[g]):
                    raise CannotBeDone("blocked")

    def _apart(self, p: Sequence[complex], q: Sequence[complex]) -> bool:
        """Whether a side of one of two convex polygons separates them."""
        for mine, others in ((p, q), (q, p)):
            for a, b in around(mine):
                side = b - a
                most = self.near * abs(side)
                if all(_cross(side, z - a) <= most for z in others):
                    return True
        return False

    def _where(self, mark: str) -> complex:
        return self.image(self.marks[mark])

    def image(self, place: complex) -> complex:
        return self._carried(place, self.host(place), self.vertices, self.now.images)

    def _carried(self, place: complex, face: int, here: Sequence[complex], there: Sequence[complex]) -> complex:
        """A place of a face carried with it from where it is to where it is to be."""
        u, *others = self.faces[face]
        v = max(others, key=lambda w: abs(here[w] - here[u]))
        off = (place - here[u]) / (here[v] - here[u])
        return there[u] + (off.conjugate() if self.now.turned[face] else off) * (there[v] - there[u])

    def _mark(self, step: MarkStep) -> None:
        (a, one), (b, two) = (self._drawn(line) for line in step.crossing)
        turn = _cross(one, two)
        if abs(turn) <= NEAR:
            raise CannotBeDone("no-mark")
        place = a + one * _cross(b - a, two) / turn
        face = self.face_for_mark(place, None if step.on is None else self.marks[step.on])
        if face is None:
            raise CannotBeDone("no-mark")
        self.marks[step.name] = self._carried(place, face, self.now.images, self.vertices)

    def _drawn(self, line: LineName) -> Line:
        if isinstance(line, int):
            return _turned_over(self.lines[line]) if self.now.over else self.lines[line]
        p, q = map(self._where, line)
        if abs(q - p) <= self.near:
            raise CannotBeDone("no-mark")
        return self.through(p, q)

    def cut_along(self, line: Line) -> list[tuple[complex, complex]]:
        """The straight pieces of what a cut along a line of the folded plane cuts, as `outcome.outline` has them."""
        heights = self._heights(line)

        @cache
        def place(spot: Spot) -> complex:
            u, v = spot
            share = heights[u] / (heights[u] - heights[v]) if u != v else 0.0
            return self.between(self.vertices[u], self.vertices[v], share)

        cut: list[tuple[Spot, Spot]] = []
        for loop in self.faces:
            if min(heights[v] for v in loop) < 0 < max(heights[v] for v in loop):
                pairs = combinations(self._crossings(loop, heights), 2)  # several, if corners were put on the line
                cut.append(max(pairs, key=lambda pair: abs(place(pair[0]) - place(pair[1]))))
        on_line = ((u, v) for u, v in self.beside if u < v and heights[u] == 0 == heights[v])
        cut += [((u, u), (v, v)) for u, v in on_line if (v, u) in self.beside]

        def is_corner(a: Spot, b: Spot, c: Spot) -> bool:
            way = place(c) - place(a)
            return abs(_cross(way, place(b) - place(a))) > _STRAIGHT * self.near * abs(way)

        loops, paths = chains(cut, is_corner)
        pieces = [pair for loop in loops for pair in around(loop)] + [pair for path in paths for pair in pairwise(path)]
        return [(place(a), place(b)) for a, b in pieces]

    @staticmethod
    def _crossings(loop: Sequence[int], heights: Sequence[float]) -> Iterator[Spot]:
        for u, v in around(loop):
            if heights[u] == 0:
                yield u, u
            elif heights[u] * heights[v] < 0:
                yield min(u, v), max(u, v)


def _turned_over(line: Line) -> Line:
    return -line[0].conjugate(), -line[1].conjugate()


def _cross(u: complex, v: complex) -> float:
    return u.real * v.imag - u.imag * v.real


def _dot(u: complex, v: complex) -> float:
    return u.real * v.real + u.imag * v.imag
