"""The points of a net on lines with given directions: the least movement, and free points where one chooses."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from fractions import Fraction
from math import inf

import numpy as np

from verify.construct.coordinates.equations import Floats, Form, coordinate, solved
from verify.construct.coordinates.net import MirrorLine, Net, Turning
from verify.exact.number import Number
from verify.exact.plane import Point

_DEPENDENT = 1e-9
_ALONE = 0.3  # of what it is when nothing else is chosen: how free a line must be
_FREE = 1e-6  # a line whose distance is less free than this follows from others

Places = Mapping[int, Point]
Choice = Callable[[int | None, float], Number]
"""Where something free comes to lie, exactly: a line by its number and its value, or (None) a coordinate."""


class Frame:
    """The points of a net on lines with given directions: the least movement, in floats, and what is free. Corners of
    the sheet do not move.
    """

    def __init__(
        self, net: Net, directions: Sequence[Point], mirrors: Sequence[MirrorLine], turns: Sequence[Turning]
    ) -> None:
        self.net, self.directions, self.mirrors, self.turns = net, directions, mirrors, turns
        places = net.before.vertices
        free = [v for v in net.vertices if v not in net.held]
        self.at = {v: 2 * i for i, v in enumerate(free)}
        self.start: Floats = np.array([float(x) for v in free for x in places[v]])
        self.others = [self._linear({v: (p, q)}, -r) for v, p, q, r in net.edges] + [*self._mirrored(), *self._turned()]
        self.forms = self.others + [self._difference(i, v) for i, x in enumerate(net.lines) for v in x.vertices[1:]]
        self._solve()

    def _linear(
        self,
        factors: Mapping[int, tuple[Number | Fraction | int, Number | Fraction | int]],
        constant: Fraction | int = 0,
    ) -> Form:
        """A form in the coordinates of vertices; kept ones are constants."""
        total = Form({}, Number.of(constant))
        for v, pair in factors.items():
            for axis, c in enumerate(pair):
                if c:
                    if v in self.at:
                        total = total + Form({self.at[v] + axis: Number.of(c)})
                    else:
                        total = total + Form({}, Number.of(c) * self.net.before.vertices[v][axis])
        return total

    def _off(self, line: int, v: int) -> Form:
        """The signed distance of a line through a vertex from the origin, times the length of its direction."""
        a, b = self.directions[line]
        return self._linear({v: (-b, a)})

    def _difference(self, line: int, v: int) -> Form:
        return self._off(line, v) - self._off(line, self.net.lines[line].vertices[0])

    def _mirrored(self) -> Iterator[Form]:
        for mirror in self.mirrors:
            reference = None
            for v, w in mirror.pairs:
                across, level = ((1, 0), (0, 1)) if mirror.axis == 0 else ((0, 1), (1, 0))
                both = self._linear({v: across}) + self._linear({w: across})
                if reference is not None:
                    yield both - reference
                reference = both
                if v != w:
                    yield self._linear({v: level}) - self._linear({w: level})

    def _turned(self) -> Iterator[Form]:
        """What a turn adds to the image of a vertex is the same for all."""
        for turning in self.turns:
            first = None
            for v, w in turning.pairs:
                shift = self._shift(turning, v, w)
                if first is not None:
                    yield from (one - other for one, other in zip(shift, first, strict=True))
                first = first or shift

    def _shift(self, turning: Turning, v: int, w: int) -> tuple[Form, Form]:
        """The place of w without that of v turned about the origin: the same for all pairs of a turn."""
        c, s = turning.way
        if v == w:
            return self._linear({v: (1 - c, s)}), self._linear({v: (-s, 1 - c)})
        return self._linear({w: (1, 0), v: (-c, s)}), self._linear({w: (0, 1), v: (-s, -c)})

    def middles(self) -> list[Form]:
        """Where the symmetries have their middles: a coordinate of each mirror line, twice, and both of each centre."""
        found = []
        for mirror in self.mirrors:
            v, w = mirror.pairs[0]
            across = (1, 0) if mirror.axis == 0 else (0, 1)
            found.append(self._linear({v: across}) + self._linear({w: across}))
        for turning in self.turns:
            c, s = turning.way
            x, y = self._shift(turning, *turning.pairs[0])
            # (1 - turn) of the centre is the shift
            half = Number.of(Fraction(1, 2))
            turned = half * s / (1 - c)
            found += [x.times(half) - y.times(turned), x.times(turned) + y.times(half)]
        return found

    def _rows(self, forms: Sequence[Form]) -> tuple[Floats, Floats]:
        """The forms as rows and constants."""
        rows, constants = np.zeros((len(forms), len(self.start))), np.zeros(len(forms))
        for i, form in enumerate(forms):
            constants[i] = float(form.constant)
            for j, c in form.factors.items():
                rows[i, j] = float(c)
        return rows, constants

    def _solve(self) -> None:
        """The least movement, and an orthonormal basis of what is free."""
        rows, constants = self._rows(self.forms)
        size = np.maximum(np.linalg.norm(rows, axis=1), 1e-300)
        is_constant = np.array([not form.factors for form in self.forms], dtype=bool)
        impossible = bool(np.any(is_constant & (constants != 0)))
        rows, constants = rows[~is_constant] / size[~is_constant, None], constants[~is_constant] / size[~is_constant]
        misses = rows @ self.start + constants
        count = len(self.start)
        if len(rows) and count:
            u, singular, v = np.linalg.svd(rows, full_matrices=True)
            rank = int(np.sum(singular > _DEPENDENT * singular[0]))
            step = v[:rank].T @ ((u.T @ misses)[:rank] / singular[:rank])
            self.basis: Floats = v[rank:].T
        else:
            step, self.basis = np.zeros(count), np.eye(count)
        self.places: Floats = self.start - step
        scale = 1.0 + float(np.abs(self.start).max(initial=0.0))
        left = rows @ self.places + constants
        consistent = not impossible and float(np.abs(left).max(initial=0.0)) < _DEPENDENT * scale
        self.greatest = self._greatest(self.places) if consistent else inf

    def _greatest(self, places: Floats) -> float:
        return float(np.hypot(*(places - self.start).reshape(-1, 2).T).max(initial=0.0))

    def pinned(self, choice: Choice, most: Fraction, *, alone: bool = True, centred: bool = False) -> Places | None:
        """The places with all that is free where it is chosen to be, solved exactly; None if they move farther than
        `most`, or do not exist.

        First the lines' distances from the origin (times the lengths of their directions) are asked for, those that are
        freest first, then what coordinates are still free. With `alone` a line that others hardly hold is asked for
        where it is drawn, and not where the movement of others takes it. With `centred` the middles of the symmetries
        come before the lines.
        """
        count = len(self.start)
        lines = {i: number for number, i in enumerate(self._moving())}
        at = list(lines)
        offs = [self._off(i, next(v for v in self.net.lines[i].vertices if v in self.at)) for i in lines]
        middles = [form for form in self.middles() if form.factors] if centred else []
        forms = [*offs, *(coordinate(i) for i in range(count)), *middles]
        rows, constants = self._rows(forms)
        sizes = np.linalg.norm(rows, axis=1)
        reach = rows / sizes[:, None] @ self.basis
        values = rows @ self.places + constants
        free, moved = reach.copy(), np.zeros(self.basis.shape[1])
        pins: list[Form] = []
        waiting = list(range(len(lines) + count, len(forms)))
        while len(pins) < len(moved):
            norms = np.linalg.norm(free, axis=1)
            best = int(norms[: len(lines)].argmax()) if lines else 0
            if norms[best] < _FREE:
                best = int(norms[: len(lines) + count].argmax())
            waiting = [i for i in waiting if norms[i] > _FREE]
            if waiting:
                best = waiting.pop(0)
            value = float(values[best] + sizes[best] * (reach[best] @ moved))
            drawn = alone and norms[best] > _ALONE * np.linalg.norm(reach[best])
            exact = choice(at[best] if best < len(lines) else None, float(values[best]) if drawn else value)
            way = free[best] / norms[best]
            moved += way * ((float(exact) - value) / (sizes[best] * norms[best]))
            free -= np.outer(free @ way, way)
            # the distances of the lines are unknowns behind the coordinates
            unknown = count + best if best < len(lines) else best - len(lines)
            form = coordinate(unknown) if best < len(lines) + count else forms[best]
            pins.append(form - Form({}, exact))
        if self._greatest(self.places + self.basis @ moved) > float(most) * (1 + _DEPENDENT):
            return None
        on_lines = [
            self._off(i, v) - coordinate(count + number)
            for i, number in lines.items()
            for v in self.net.lines[i].vertices
        ]
        found = solved([*pins, *on_lines, *self.others], count + len(lines))
        if found is None:
            return None
        places = {v: Point(found[i], found[i + 1]) for v, i in self.at.items()}
        return places | {v: self.net.before.vertices[v] for v in self.net.held}

    def _moving(self) -> list[int]:
        """The lines with a vertex that is not kept."""
        return [i for i, x in enumerate(self.net.lines) if any(v in self.at for v in x.vertices)]
