"""From a drawing to its subdivision: all crossings of the drawn lines, and the faces between them.

Lines may cross anywhere: crossings become vertices. Where a face would not be
convex (a sheet that is not, a slit that ends inside, an outline that floats in a
face) auxiliary flat edges cut it until every face is; they fold nothing and cut nothing.
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Iterable, Sequence
from contextlib import suppress
from fractions import Fraction
from math import floor, inf, pi
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from verify.exact.number import Number
from verify.exact.plane import (
    Point,
    advance,
    around,
    difference,
    direction_order,
    line_meeting,
    locate,
    middle,
    orientation,
    polygon_area2,
    segment_meeting,
)
from verify.exact.ragged import boxes_meeting
from verify.pattern.drawing import Drawing
from verify.pattern.limits import LimitReached, Limits
from verify.pattern.subdivision import Edge, EdgeKind, Subdivision, place_text

_APART = 1e-7  # radians: far more than a direction is off that is not blurred
_BLURRED = 1e-6  # of its ends' distance from the origin: the floats of a shorter edge do not tell its direction
_DOUBT = 1_000  # times as much as floats of places are off: floats of where lines meet
_SURE = 2e-14  # of the largest coordinate's square: more than a product of two differences of floats is off
_LEAST = float(np.finfo(np.float64).tiny)
_ENTRIES_AT_ONCE = 1 << 20

Source = tuple[Literal["sheet", "crease", "target", "auxiliary"], int]


class _Builder:
    def __init__(self, drawing: Drawing, limits: Limits) -> None:
        self.drawing, self.limits = drawing, limits
        self.vertices: list[Point] = []
        self.floats: list[tuple[float, float]] = []
        self.scale = _float_scale(drawing)
        self.index: dict[Point, int] = {}
        self.lines: list[tuple[int, int, Source]] = []
        self.cuts: list[set[int]] = []
        self.chains: list[list[int]] = []
        self.drawn: dict[tuple[int, int], tuple[int, int]] = {}
        document = drawing.document
        named: dict[str, int] = {}

        def line(a: str, b: str, source: Source) -> None:
            for name in (a, b):
                if name not in named:
                    named[name] = self.vertex(drawing.places[name])
            self.line(named[a], named[b], source)

        self.loops: list[list[int]] = []
        for number, loop in enumerate((document.outline, *document.holes)):
            for a, b in around(loop):
                line(a, b, ("sheet", number))
            self.loops.append([named[name] for name in loop])
        for number, crease in enumerate(document.creases):
            line(crease.start, crease.end, ("crease", number))
        for number, (a, b) in enumerate(document.target_lines()):
            line(a, b, ("target", number))
        self.on_left = [(polygon_area2(loop) > 0) == (number == 0) for number, loop in enumerate(drawing.loops)]
        # crossings lie between the ends: no coordinate grows beyond this
        self.size = max(abs(c) for place in self.floats for c in place)
        self.sure = _SURE * self.size**2

    def vertex(self, place: Point) -> int:
        number = self.index.setdefault(place, len(self.vertices))
        if number == len(self.vertices):
            self.vertices.append(place)
            x, y = place if self.scale == 1 else (c * self.scale for c in place)
            self.floats.append((float(x), float(y)))
        return number

    def line(self, u: int, v: int, source: Source) -> None:
        self.lines.append((u, v, source))
        self.cuts.append({u, v})
        self.chains.append([u, v])

    def cross_all(self) -> None:
        """Find all meetings of two drawn lines and cut both there."""
        for i, j in self.near_lines():
            p, q, r, s = (self.vertices[k] for k in (*self.lines[i][:2], *self.lines[j][:2]))
            meeting = segment_meeting(p, q, r, s)
            if meeting is None:
                continue
            for place in (meeting,) if isinstance(meeting, Point) else meeting:
                v = self.vertex(place)
                self.cuts[i].add(v)
                self.cuts[j].add(v)

    def near_lines(self) -> list[tuple[int, int]]:
        """Pairs of lines but those that, as floats tell beyond their error, have at most a common end in common."""
        ends = np.array([line[:2] for line in self.lines])
        start, end = self.plane()[ends].T
        sides = [np.stack([start.real, end.real]), np.stack([start.imag, end.imag])]
        slack = max(1e-12 * self.size, _LEAST)  # also where a far point makes all others one place in floats
        found = [np.zeros((2, 0), dtype=np.intp)]
        for i, j in boxes_meeting(*(side for s in sides for side in (s.min(axis=0) - slack, s.max(axis=0) + slack))):
            p, q, r, s = start[i], end[i], start[j], end[j]
            along, ahead = s - r, q - p
            far = np.array([_cross(along, p - r), _cross(along, q - r), _cross(ahead, r - p), _cross(ahead, s - p)])
            side = (far > self.sure).astype(np.int8) - (far < -self.sure)
            apart = (side[0] * side[1] > 0) | (side[2] * side[3] > 0)
            # from a common end they part unless the second lies along the first
            u, v, w, x = *ends[i].T, *ends[j].T
            at_start, at_end = (u == w) | (u == x), (v == w) | (v == x)
            turned = (side[:2] != 0).any(axis=0)
            one, two = np.where(at_start, ahead, -ahead), np.where((w == u) | (w == v), along, -along)
            apart |= (at_start | at_end) & (turned | (_dot(one, two) < -self.sure))
            found.append(np.stack([i, j])[:, ~apart])
        pairs = np.concatenate(found, axis=1).T.tolist()
        return sorted((i, j) for i, j in pairs)

    def plane(self) -> NDArray[np.complex128]:
        places: NDArray[np.complex128] = np.array(self.floats).view(np.complex128)[:, 0]  # as x + iy
        return places

    def chain(self, i: int) -> list[int]:
        """The vertices along line i, in its direction."""
        if len(self.chains[i]) != len(self.cuts[i]):
            self.chains[i] = self._sorted(i)
        return self.chains[i]

    def _sorted(self, i: int) -> list[int]:
        u, v, _ = self.lines[i]
        (x, y), (a, b) = self.floats[u], self.floats[v]
        along = sorted(((a - x) * (self.floats[w][0] - x) + (b - y) * (self.floats[w][1] - y), w) for w in self.cuts[i])
        if all(after[0] - one[0] > 2 * self.sure for one, after in itertools.pairwise(along)):
            return [w for _, w in along]
        here, there = self.vertices[u], self.vertices[v]
        return sorted(self.cuts[i], key=lambda w: advance(here, there, self.vertices[w]))

    def edges(self) -> dict[tuple[int, int], list[int]]:
        """Every edge (smaller vertex first) with the lines that it lies on."""
        edges: dict[tuple[int, int], list[int]] = defaultdict(list)
        for i in range(len(self.lines)):
            chain = self.chain(i)
            for u, v in itertools.pairwise(chain):
                self.drawn.setdefault((min(u, v), max(u, v)), (u, v))
                edges[min(u, v), max(u, v)].append(i)
        return edges

    def check_lines(self, edges: dict[tuple[int, int], list[int]]) -> None:
        """No two creases on one edge, none along the sheet's edge, nothing off the sheet."""
        document = self.drawing.document
        surely_on = self._surely_on_sheet(edges)
        for (u, v), lines in edges.items():
            if len(lines) == 1 and ((u, v) in surely_on or self.lines[lines[0]][2][0] == "sheet"):
                continue
            kinds: dict[str, list[int]] = defaultdict(list)
            for i in lines:
                kinds[self.lines[i][2][0]].append(self.lines[i][2][1])
            creases = kinds["crease"]
            if len(creases) > 1:
                one, two = (document.creases[k] for k in creases[:2])
                raise document.malformed(
                    f"creases[{creases[1]}]",
                    f"two folds on one crease: {two.start}–{two.end} ({two.kind}) lies on creases[{creases[0]}] "
                    f"{one.start}–{one.end} ({one.kind}) {self._between(u, v)}",
                    "each crease drawn once",
                )
            if creases and kinds["sheet"]:
                c = document.creases[creases[0]]
                raise document.malformed(
                    f"creases[{creases[0]}]",
                    f"crease {c.start}–{c.end} along the edge of the sheet {self._between(u, v)}",
                    "a crease inside the sheet",
                )
            if not kinds["sheet"] and (u, v) not in surely_on and not self._on_sheet(u, v):
                number = (creases or kinds["target"])[0]
                if creases:
                    c = document.creases[number]
                    place, what = f"creases[{number}]", f"crease {c.start}–{c.end}"
                else:
                    a, b = document.target_lines()[number]
                    place, what = document.target_place(number), f"target line {a}–{b}"
                raise document.malformed(place, f"{what} off the sheet {self._between(u, v)}", "a line on the sheet")

    def _between(self, *ends: int) -> str:
        one, two = (self.drawing.names.get(self.vertices[v]) or place_text(self.vertices[v]) for v in ends)
        return f"between {one} and {two}"

    def _surely_on_sheet(self, edges: Iterable[tuple[int, int]]) -> set[tuple[int, int]]:
        """Edges whose middle is on the sheet as floats tell beyond their error; for the others `_on_sheet` decides.

        A ray from each middle is counted through the loops, in a turned frame in which no ray runs along a grid.
        """
        turn = np.array([[0.7401, -0.6725], [0.6725, 0.7401]])
        listed = list(edges)
        step = _ENTRIES_AT_ONCE // sum(map(len, self.loops)) + 1
        if len(listed) > step:
            return set().union(*(self._surely_on_sheet(listed[i : i + step]) for i in range(0, len(listed), step)))
        flat = np.array(self.floats) @ turn
        ends = flat[np.array(listed)]
        middle = ends.mean(axis=1)
        slack = 1e-9 * float(np.abs(flat).max())
        sure = np.ones(len(listed), dtype=bool)
        for number, loop in enumerate(self.loops):
            a = flat[loop]
            b = np.roll(a, -1, axis=0)
            over = middle[:, None, 1] - a[None, :, 1]
            crosses = (over >= 0) != (middle[:, None, 1] - b[None, :, 1] >= 0)
            e = b - a
            side = e[None, :, 0] * over - e[None, :, 1] * (middle[:, None, 0] - a[None, :, 0])
            right = crosses & ((side > 0) == (e[None, :, 1] > 0))
            inside = right.sum(axis=1) % 2 == 1
            vague = (np.abs(over) < slack).any(axis=1)
            vague |= (crosses & (np.abs(side) < slack * np.hypot(e[:, 0], e[:, 1])[None, :])).any(axis=1)
            sure &= (inside == (number == 0)) & ~vague
        return {edge for edge, ok in zip(listed, sure.tolist(), strict=True) if ok}

    def _on_sheet(self, u: int, v: int) -> bool:
        place = middle(self.vertices[u], self.vertices[v])
        outline, *holes = self.drawing.loops
        return locate(place, outline) > 0 and all(locate(place, hole) < 0 for hole in holes)

    def make_convex(self, edges: dict[tuple[int, int], list[int]], suspects: Iterable[int]) -> None:
        """Cut every corner of more than 180° at these vertices by an auxiliary edge along its own side."""
        neighbours: dict[int, list[int]] = defaultdict(list)
        for u, v in edges:
            neighbours[u].append(v)
            neighbours[v].append(u)
        outside = self.outside()
        for v in suspects:
            while True:
                ring = self.ring(v, neighbours[v])
                wide = next(
                    (a for a, b in around(ring) if (v, a) not in outside and self._reflex(v, a, b, len(ring))),
                    None,
                )
                if wide is None:
                    break
                hit, met = self._shoot(v, wide, edges)
                self.line(v, hit, ("auxiliary", 0))
                edges[min(v, hit), max(v, hit)].append(len(self.lines) - 1)
                neighbours[v].append(hit)
                neighbours[hit].append(v)
                if met is not None:
                    self._split(met, hit, edges, neighbours)
                outside = self.outside()

    def outside(self) -> set[tuple[int, int]]:
        """Half-edges of the boundary with the sheet on their right."""
        found: set[tuple[int, int]] = set()
        for i, (_, _, (kind, number)) in enumerate(self.lines):
            if kind == "sheet":
                for u, v in itertools.pairwise(self.chain(i)):
                    found.add((v, u) if self.on_left[number] else (u, v))
        return found

    def rings(self, edges: Iterable[tuple[int, int]]) -> tuple[dict[int, list[int]], list[int]]:
        """For each vertex its neighbours counter-clockwise, and the vertices that may have a corner over 180° on the
        sheet.
        """
        ends = np.array(list(edges))
        tail, head = np.concatenate([ends, ends[:, ::-1]]).T
        places = self.plane()
        ahead = places[head] - places[tail]
        angle = np.angle(ahead)
        order = np.lexsort((angle, tail))
        tail, head, angle, ahead = tail[order], head[order], angle[order], ahead[order]
        last = np.append(tail[1:] != tail[:-1], True)
        starts = np.flatnonzero(np.append(True, last[:-1]))
        following = np.append(angle[1:], 0.0)
        following[last] = angle[starts] + 2 * pi
        gap = following - angle
        blurred = np.abs(ahead) <= _BLURRED * (np.abs(places[head]) + np.abs(places[tail]))
        unsure = set(tail[blurred | (gap <= _APART)].tolist())
        heads = head.tolist()
        bounds = [*starts.tolist(), len(heads)]
        ring = {v: heads[i:j] for v, (i, j) in zip(tail[starts].tolist(), itertools.pairwise(bounds), strict=True)}
        for v in unsure:
            ring[v] = self.ring(v, ring[v])
        wide = gap >= pi - _APART
        outside = self.outside()
        corners = zip(tail[wide].tolist(), head[wide].tolist(), strict=True)
        return ring, sorted(unsure | {v for v, a in corners if (v, a) not in outside})

    def ring(self, v: int, others: Sequence[int]) -> list[int]:
        """Neighbours of v counter-clockwise. Exact."""
        here = self.vertices[v]
        return sorted(others, key=lambda w: direction_order(difference(self.vertices[w], here)))

    def _reflex(self, v: int, a: int, b: int, degree: int) -> bool:
        """Whether the corner at v from edge v–a counter-clockwise to edge v–b is over 180°."""
        if degree == 1:
            return True
        turn = orientation(self.vertices[v], self.vertices[a], self.vertices[b])
        if turn != 0:
            return turn < 0
        return advance(self.vertices[v], self.vertices[a], self.vertices[b]).sign() > 0

    def _shoot(self, v: int, a: int, edges: dict[tuple[int, int], list[int]]) -> tuple[int, tuple[int, int] | None]:
        """What is met first from v straight away from a, as a (new) vertex, and the edge if that is inside one."""
        here = self.vertices[v]
        ahead = difference(here, self.vertices[a])
        target = Point(here.x + ahead.x, here.y + ahead.y)
        fx, fy = self.floats[v]
        dx, dy = (float(n * self.scale) for n in ahead)
        slack = 1e-9 * (abs(dx) + abs(dy)) * self.size
        met: list[tuple[float, float, int, int]] = []  # how far at least, and at most, and the edge
        for c, d in edges:
            if v in (c, d):
                continue
            (px, py), (qx, qy) = self.floats[c], self.floats[d]
            f = dx * (py - fy) - dy * (px - fx)
            g = dx * (qy - fy) - dy * (qx - fx)
            if (f > slack and g > slack) or (f < -slack and g < -slack):
                continue
            one, two = dx * (px - fx) + dy * (py - fy), dx * (qx - fx) + dy * (qy - fy)
            low, high = min(one, two), max(one, two)
            if abs(f) > slack and abs(g) > slack:
                low = high = (one * g - two * f) / (g - f)  # off by far less than 1,000 times the slack
            if high >= -_DOUBT * slack:
                met.append((low, high, c, d))
        best: tuple[Number, Point, tuple[int, int] | None] | None = None
        reach = inf
        for low, high, c, d in sorted(met):
            if low > reach + _DOUBT * slack:
                break  # all others are farther for sure
            p, q = self.vertices[c], self.vertices[d]
            s, t = orientation(here, target, p), orientation(here, target, q)
            if s * t > 0:
                continue
            if s == 0 or t == 0:
                places = [place for place, sign in ((p, s), (q, t)) if sign == 0]
            else:
                places = [line_meeting(here, target, p, q)]
            for place in places:
                ahead_by = advance(here, target, place)
                if ahead_by.sign() > 0:
                    reach = min(reach, high)
                    if best is None or ahead_by < best[0]:
                        best = ahead_by, place, (c, d) if s and t else None
        if best is None:
            raise RuntimeError("a ray inside the sheet met nothing")
        return self.vertex(best[1]), best[2]

    def _split(
        self,
        edge: tuple[int, int],
        hit: int,
        edges: dict[tuple[int, int], list[int]],
        neighbours: dict[int, list[int]],
    ) -> None:
        """Split an edge at a vertex inside it, and cut its lines there."""
        lines = edges.pop(edge)
        for i in lines:
            self.cuts[i].add(hit)
        for w, other in (edge, edge[::-1]):
            edges[min(w, hit), max(w, hit)].extend(lines)
            neighbours[w][neighbours[w].index(other)] = hit
            neighbours[hit].append(w)

    def trace(self, rings: dict[int, list[int]]) -> list[tuple[int, ...]]:
        """The faces on the sheet, counter-clockwise."""
        after = {(following, v): w for v, ring in rings.items() for w, following in around(ring)}
        outside = self.outside()
        seen: set[tuple[int, int]] = set()
        faces = []
        for start in sorted(after):
            if start in seen or start in outside:
                continue
            walk, half = [], start
            while half not in seen:
                seen.add(half)
                walk.append(half[0])
                half = (half[1], after[half])
            faces.append(tuple(walk))
            if len(faces) > self.limits.faces:
                raise LimitReached("faces", f"{self.limits.faces:,}", "more panels than that")
        return faces

    def build(self) -> Subdivision:
        self.cross_all()
        edges = self.edges()
        self.check_lines(edges)
        rings, suspects = self.rings(edges)
        drawn = len(self.lines)
        self.make_convex(edges, suspects)
        if len(self.lines) > drawn:
            edges = self.edges()
            rings, _ = self.rings(edges)
        faces = self.trace(rings)
        left = {(u, v): f for f, loop in enumerate(faces) for u, v in around(loop)}
        built = [self._edge(*self.drawn[ends], lines, left) for ends, lines in sorted(edges.items())]
        chains: dict[str, list[list[int]]] = {
            "sheet": [[] for _ in self.drawing.loops],
            "crease": [[] for _ in self.drawing.creases],
            "target": [[] for _ in self.drawing.target],
        }
        for i, (_, _, (kind, number)) in enumerate(self.lines):
            if kind == "sheet":
                chains[kind][number] += self.chain(i)[:-1]
            elif kind != "auxiliary":
                chains[kind][number] = self.chain(i)
        frozen = (tuple(map(tuple, lists)) for lists in chains.values())
        return Subdivision(self.drawing, tuple(self.vertices), tuple(faces), tuple(built), *frozen)

    def _edge(self, u: int, v: int, lines: Sequence[int], left: dict[tuple[int, int], int]) -> Edge:
        kind: EdgeKind = "flat"
        crease = None
        target = []
        for i in lines:
            source, number = self.lines[i][2]
            if source == "sheet":
                kind = "border"
            elif source == "crease":
                kind, crease = self.drawing.creases[number][2], number
            elif source == "target":
                target.append(number)
        return Edge(u, v, left.get((u, v), -1), left.get((v, u), -1), kind, crease, tuple(target))


def subdivide(drawing: Drawing, limits: Limits = Limits()) -> Subdivision:
    """Subdivide the sheet exactly at every crossing.

    Raises `Malformed` for a line off the sheet, a crease along its edge, or two
    folds on one crease; `LimitReached` past the declared number of faces.
    """
    return _Builder(drawing, limits).build()


def _float_scale(drawing: Drawing) -> Fraction | int:
    """A factor that brings the drawing's coordinates into the range of floats (1 if they are)."""
    numbers = [c for place in drawing.places.values() for c in place]
    with suppress(OverflowError):
        if 2.0**-200 < max([abs(float(c)) for c in numbers]) < 2.0**200:
            return 1
    largest = max([abs(c) for c in numbers])
    if largest.sign() == 0:
        return 1
    return (
        Fraction(1, 2 ** floor(largest).bit_length()) if largest > 1 else Fraction(2 ** floor(1 / largest).bit_length())
    )


def _cross(a: NDArray[np.complex128], b: NDArray[np.complex128]) -> NDArray[np.float64]:
    return (a.conj() * b).imag


def _dot(a: NDArray[np.complex128], b: NDArray[np.complex128]) -> NDArray[np.float64]:
    return (a.conj() * b).real
