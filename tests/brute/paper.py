"""Folded paper by brute force and from the definition: paper must not pass through paper.

Nothing of `verify` is used here, so that agreement with the solver and the kernel means something. Coordinates are
fractions. A pattern is cut into faces, each face is laid down by its own reflections, and the layers are looked at
where something can happen: on both sides of each stretch of each folded edge. At a generic place the layers lie one
over the other, in a line. Where two such places meet, each layer either runs on (through a face, or over a flat edge),
or turns back in a fold, or ends; those that run on keep their order, and none of them runs through a fold, nor do two
folds cut each other. All relations "lies above" among the faces are tried, face after face.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property, cmp_to_key
from itertools import combinations, pairwise, product
from typing import Any

Place = tuple[Fraction, Fraction]
Segment = tuple[Place, Place]
Pair = tuple[int, int]
LETTERS = {"M": "mountain", "V": "valley", "E": "either", "F": "flat"}


def place(x: Any, y: Any) -> Place:
    return Fraction(x), Fraction(y)


def cross(a: Any, b: Any, c: Any) -> Any:
    """Twice the signed area of abc."""
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def meetings(one: Segment, two: Segment) -> Iterator[Place]:
    """Where two segments meet; the ends on each other if they lie on one line."""
    (a, b), (c, d) = one, two
    if any(max(a[i], b[i]) < min(c[i], d[i]) or max(c[i], d[i]) < min(a[i], b[i]) for i in (0, 1)):
        return
    down = (b[0] - a[0]) * (d[1] - c[1]) - (b[1] - a[1]) * (d[0] - c[0])
    if down:
        t = ((c[0] - a[0]) * (d[1] - c[1]) - (c[1] - a[1]) * (d[0] - c[0])) / down
        u = ((c[0] - a[0]) * (b[1] - a[1]) - (c[1] - a[1]) * (b[0] - a[0])) / down
        if 0 <= t <= 1 and 0 <= u <= 1:
            yield a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])
        return
    for p, (q, r) in ((a, two), (b, two), (c, one), (d, one)):
        if on_segment(p, q, r):
            yield p


def on_segment(p: Place, a: Place, b: Place) -> bool:
    return cross(a, b, p) == 0 and min(a, b) <= p <= max(a, b)


def by_direction(centre: Any, ends: Sequence[Any]) -> list[Any]:
    """The ends in the order of their directions from the centre, counter-clockwise."""

    def half(p: Any) -> int:
        return 0 if p[1] > centre[1] or (p[1] == centre[1] and p[0] > centre[0]) else 1

    def compare(p: Any, q: Any) -> int:
        if half(p) != half(q):
            return half(p) - half(q)
        turn = cross(centre, p, q)
        return (turn < 0) - (turn > 0)

    return sorted(ends, key=cmp_to_key(compare))


def leaves(start: Place, way: tuple[int, int], outline: Sequence[Place]) -> Place:
    """Where a ray from inside a convex outline leaves it."""
    for a, b in zip(outline, [*outline[1:], outline[0]], strict=True):
        down = way[0] * (b[1] - a[1]) - way[1] * (b[0] - a[0])
        if down > 0:
            t = ((a[0] - start[0]) * (b[1] - a[1]) - (a[1] - start[1]) * (b[0] - a[0])) / down
            hit = start[0] + t * way[0], start[1] + t * way[1]
            if t > 0 and on_segment(hit, a, b):
                return hit
    raise ValueError("the start is not inside")


class NotConvex(ValueError):
    pass


@dataclass(frozen=True)
class Edge:
    """An inner edge with its faces; `fold` or flat."""

    ends: Segment
    faces: Pair
    fold: bool


class Paper:
    """A sheet (counter-clockwise outline) with folds and flat lines, cut into faces. Raises NotConvex if one is not."""

    def __init__(self, outline: Sequence[Place], folds: Sequence[Segment], flat: Sequence[Segment] = ()) -> None:
        self.outline = list(outline)
        border = list(zip(outline, [*outline[1:], outline[0]], strict=True))
        drawn = [*((s, "B") for s in border), *((s, "C") for s in folds), *((s, "F") for s in flat)]
        stops = [set(s) for s, _ in drawn]
        for i, j in combinations(range(len(drawn)), 2):
            for p in meetings(drawn[i][0], drawn[j][0]):
                stops[i].add(p)
                stops[j].add(p)
        kind: dict[frozenset[Place], str] = {}
        for (_, k), on in zip(drawn, stops, strict=True):
            ordered = sorted(on)
            for a, b in pairwise(ordered):
                if kind.setdefault(frozenset((a, b)), k) != k:
                    raise ValueError("two drawn lines lie on each other")
        ring: dict[Place, list[Place]] = {}
        for ends in kind:
            a, b = ends
            ring.setdefault(a, []).append(b)
            ring.setdefault(b, []).append(a)
        self.ring = {p: by_direction(p, ends) for p, ends in ring.items()}
        self.faces = self._trace()
        at: dict[Segment, int] = {}
        for f, corners in enumerate(self.faces):
            for a, b in zip(corners, [*corners[1:], corners[0]], strict=True):
                at[a, b] = f
        self.edges = [
            Edge((a, b), (at[a, b], at[b, a]), kind[frozenset((a, b))] == "C")
            for a, b in at
            if a < b and kind[frozenset((a, b))] != "B"
        ]
        self.folds = [e for e in self.edges if e.fold]

    def _trace(self) -> list[tuple[Place, ...]]:
        todo = {(a, b) for a, ends in self.ring.items() for b in ends}
        faces = []
        for first in sorted(todo):
            if first not in todo:
                continue
            corners, (a, b) = [], first
            while (a, b) in todo:
                todo.remove((a, b))
                corners.append(a)
                around = self.ring[b]
                a, b = b, around[around.index(a) - 1]
            turns = [cross(corners[i - 2], corners[i - 1], corners[i]) for i in range(len(corners))]
            if sum(cross(corners[0], corners[i], corners[i + 1]) for i in range(1, len(corners) - 1)) < 0:
                continue  # the outside
            if min(turns) < 0:
                raise NotConvex
            faces.append(tuple(corners))
        return faces

    def document(self, word: str | None = None) -> dict[str, Any]:
        """The keys of a pattern document: a crease for each edge, kinds by the word (a letter for each fold; default
        either).
        """
        names: dict[Place, str] = {}

        def name(p: Place) -> str:
            return names.setdefault(p, f"p{len(names)}")

        outline = [name(p) for p in self.outline]
        letters = iter(word or "E" * len(self.folds))
        creases = [[name(e.ends[0]), name(e.ends[1]), LETTERS[next(letters)] if e.fold else "flat"] for e in self.edges]
        return {
            "format": "creaseproof-pattern/1",
            "points": {n: [str(p[0]), str(p[1])] for p, n in names.items()},
            "sheet": {"outline": outline},
            "creases": creases,
        }

    @cached_property
    def folded(self) -> list[dict[Place, Place]] | None:
        """The image of each corner of each face, face 0 staying where it is; None if the faces do not fit together."""
        maps: list[tuple[Fraction, ...] | None] = [None] * len(self.faces)
        one, nought = Fraction(1), Fraction(0)
        maps[0] = (one, nought, nought, one, nought, nought)
        todo = [0]
        for f in todo:
            for e in self.edges:
                if f in e.faces:
                    g = e.faces[0] if e.faces[1] == f else e.faces[1]
                    if maps[g] is None:
                        maps[g] = after_reflection(maps[f], e.ends) if e.fold else maps[f]  # type: ignore[arg-type]
                        todo.append(g)
        images = [{p: carried(m, p) for p in corners} for m, corners in zip(maps, self.faces, strict=True)]
        sides = [m[0] * m[3] - m[1] * m[2] for m in maps if m is not None]
        for e in self.edges:
            f, g = e.faces
            if any(images[f][p] != images[g][p] for p in e.ends) or (sides[f] != sides[g]) != e.fold:
                return None
        self.front = [s > 0 for s in sides]
        return images

    def layers(self, around: Place | None = None) -> Layers | None:
        """What the layers must do, everywhere or only next to one vertex; None if the faces do not fit together."""
        return None if self.folded is None else Layers(self, around)


def after_reflection(m: tuple[Fraction, ...], axis: Segment) -> tuple[Fraction, ...]:
    """The affine map x ↦ m(reflection of x in the axis), as (a, b, c, d, e, f): (ax + by + e, cx + dy + f)."""
    (px, py), (qx, qy) = axis
    dx, dy = qx - px, qy - py
    n = dx * dx + dy * dy
    c, s = (dx * dx - dy * dy) / n, 2 * dx * dy / n
    tx, ty = px - c * px - s * py, py - s * px + c * py
    a, b, g, d, e, f = m
    return a * c + b * s, a * s - b * c, g * c + d * s, g * s - d * c, a * tx + b * ty + e, g * tx + d * ty + f


def carried(m: tuple[Fraction, ...], p: Place) -> Place:
    return m[0] * p[0] + m[1] * p[1] + m[4], m[2] * p[0] + m[3] * p[1] + m[5]


@dataclass(frozen=True)
class Rule:
    """`even`: of the statements "x lies above y" for these pairs an even number is true. `line`: they do not run in a
    circle.
    """

    kind: str
    pairs: tuple[Pair, ...]

    def holds(self, above: Any) -> bool:
        true = sum(above(x, y) for x, y in self.pairs)
        return true % 2 == 0 if self.kind == "even" else 0 < true < 3


class Layers:
    """The pairs of faces that lie over each other somewhere, and the rules for "lies above" among them."""

    def __init__(self, paper: Paper, around: Place | None) -> None:
        self.paper = paper
        images = paper.folded
        if images is None:
            raise ValueError("the faces do not fit together")
        self.images = images
        faces = [f for f, corners in enumerate(paper.faces) if around is None or around in corners]
        edges = [e for e in paper.edges if around is None or around in e.ends]
        polygons = {f: [images[f][p] for p in paper.faces[f]] for f in faces}
        hub = None if around is None else images[faces[0]][around]
        together: set[frozenset[int]] = set()
        rules: set[Rule] = set()
        for middle, here, there in self._stretches(polygons, hub):
            sides = [{f for f in faces if inside(polygons[f], p)} for p in (here, there)]
            for stack in sides:
                together |= {frozenset(pair) for pair in combinations(stack, 2)}
                for a, b, c in combinations(sorted(stack), 3):
                    rules.add(Rule("line", ((a, b), (b, c), (c, a))))
            rules |= set(self._at(middle, sides, edges))
        self.pairs = sorted((tuple(sorted(pair)) for pair in together), key=lambda p: (p[1], p[0]))
        self.rules = rules

    def _stretches(self, polygons: dict[int, list[Place]], hub: Place | None) -> Iterator[tuple[Place, Place, Place]]:
        """For each stretch of a folded edge between two lines: its middle, and a generic place close by on each
        side.
        """
        segments = {frozenset((a, b)) for p in polygons.values() for a, b in zip(p, [*p[1:], p[0]], strict=True)}
        lines: dict[tuple[Fraction, ...], list[Segment]] = {}
        for ends in segments:
            a, b = sorted(ends)
            normal = (a[1] - b[1], b[0] - a[0])
            scale = normal[0] or normal[1]
            u, v = normal[0] / scale, normal[1] / scale
            lines.setdefault((u, v, u * a[0] + v * a[1]), []).append((a, b))
        for (u, v, w), on in lines.items():
            stops = {p for segment in on for p in segment}
            for x, y, z in lines:
                down = u * y - v * x
                if down:
                    stops.add(((w * y - v * z) / down, (u * z - w * x) / down))
            ordered = sorted(stops)
            for a, b in pairwise(ordered):
                middle = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
                if (hub is not None and hub not in (a, b)) or not any(s <= middle <= t for s, t in on):
                    continue
                reach = [Fraction(1)]
                for x, y, z in lines:
                    speed = x * u + y * v
                    if speed and (x, y, z) != (u, v, w):
                        reach.append(abs((z - x * middle[0] - y * middle[1]) / speed))
                step = min(reach) / 2
                yield middle, (middle[0] + step * u, middle[1] + step * v), (middle[0] - step * u, middle[1] - step * v)

    def _at(self, middle: Place, sides: list[set[int]], edges: Sequence[Edge]) -> Iterator[Rule]:
        here, there = sides
        running = [(f, f) for f in here & there]
        turning: list[list[Pair]] = [[], []]
        for e in edges:
            f, g = e.faces
            if on_segment(middle, *(self.images[f][p] for p in e.ends)):
                if e.fold:
                    turning[0 if f in here else 1].append((f, g))
                else:
                    running.append((f, g) if f in here else (g, f))
        for (a, b), (c, d) in combinations(running, 2):
            yield Rule("even", ((a, c), (b, d)))
        for side in (0, 1):
            for f, g in turning[side]:
                for layer in running:
                    yield Rule("even", ((layer[side], f), (layer[side], g)))
            for (f, g), (h, k) in combinations(turning[side], 2):
                yield Rule("even", ((f, h), (g, h), (f, k), (g, k)))

    def valid(self, relation: dict[Pair, bool]) -> bool:
        """Whether a relation ((x, y) true: x above y; given for x < y) keeps every rule."""
        return all(rule.holds(lambda x, y: relation[x, y] if x < y else not relation[y, x]) for rule in self.rules)

    def orders(self) -> Iterator[dict[Pair, bool]]:
        """Every relation that keeps the rules, pair after pair, each rule looked at as soon as it can be."""
        number = {pair: i for i, pair in enumerate(self.pairs)}
        due: list[list[tuple[bool, tuple[tuple[int, bool], ...]]]] = [[] for _ in self.pairs]
        for rule in self.rules:
            terms = tuple((number[min(x, y), max(x, y)], x < y) for x, y in rule.pairs)
            due[max(i for i, _ in terms)].append((rule.kind == "even", terms))
        value = [False] * len(self.pairs)

        def fits(i: int) -> bool:
            for even, terms in due[i]:
                true = sum(value[j] == way for j, way in terms)
                if true % 2 if even else true in (0, 3):
                    return False
            return True

        def further(i: int) -> Iterator[dict[Pair, bool]]:
            if i == len(value):
                yield dict(zip(self.pairs, value, strict=True))
                return
            for choice in (False, True):
                value[i] = choice
                if fits(i):
                    yield from further(i + 1)

        yield from further(0)

    def word(self, relation: dict[Pair, bool]) -> str:
        """How each fold (that the relation knows of) is folded: a valley brings the fronts of its two faces
        together.
        """
        letters = ""
        for e in self.paper.folds:
            f, g = sorted(e.faces)
            if (f, g) in relation:
                upper, lower = (f, g) if relation[f, g] else (g, f)
                letters += "V" if self.paper.front[lower] and not self.paper.front[upper] else "M"
        return letters


def inside(polygon: Sequence[Place], p: Place) -> bool:
    """Whether p is strictly inside a convex polygon (either way round)."""
    first = cross(polygon[-1], polygon[0], p)
    return first != 0 and all(cross(a, b, p) * first > 0 for a, b in pairwise(polygon))


def words_at_vertices(paper: Paper) -> set[str]:
    """The words (a letter for each fold) that fold at every vertex taken alone."""
    local = []
    for vertex in paper.ring:
        here = [i for i, e in enumerate(paper.folds) if vertex in e.ends]
        if here:
            layers = paper.layers(vertex)
            if layers is None:
                return set()
            local.append((here, {layers.word(order) for order in layers.orders()}))
    return {
        w
        for w in map("".join, product("MV", repeat=len(paper.folds)))
        if all("".join(w[i] for i in here) in words for here, words in local)
    }
