"""Recipes by brute force: paper as a pile of convex pieces, which every fold line cuts wherever it runs.

Nothing of `verify` is used here; what a step does is taken from the kernel's specification (§10.2). Coordinates are
fractions. Pieces are joined where they share a stretch of their outlines on the flat sheet. What a straight line meets
is listed piece by piece, edge by edge and corner by corner.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from fractions import Fraction
from itertools import combinations, pairwise
from typing import NamedTuple

from .paper import Place, Segment, after_reflection, carried, cross, on_segment

Map = tuple[Fraction, ...]  # as in `paper.after_reflection`
FLAT: Map = tuple(map(Fraction, (1, 0, 0, 1, 0, 0)))
OVER: Map = tuple(map(Fraction, (-1, 0, 0, 1, 0, 0)))


class CannotFold(Exception):
    """A step cannot be done: `no-solution`, `few-layers` or `blocked`."""


class Piece(NamedTuple):
    """A convex piece of the sheet, where it lies, and whether its back shows."""

    corners: tuple[Place, ...]
    lies: Map
    turned: bool

    def image(self, p: Place) -> Place:
        return carried(self.lies, p)

    @property
    def images(self) -> list[Place]:
        return [self.image(p) for p in self.corners]

    def moved(self, by: Map) -> Piece:
        return Piece(self.corners, after(self.lies, by), not self.turned)


def after(first: Map, second: Map) -> Map:
    """The map x ↦ second(first(x))."""
    a, b, c, d, e, f = first
    p, q, r, s, t, u = second
    return p * a + q * c, p * b + q * d, r * a + s * c, r * b + s * d, p * e + q * f + t, r * e + s * f + u


def side(line: Segment, p: Place) -> int:
    turn = cross(*line, p)
    return (turn > 0) - (turn < 0)


def between(a: Place, b: Place, t: Fraction) -> Place:
    return a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])


def outline(corners: Sequence[Place]) -> list[Segment]:
    return list(pairwise([*corners, corners[0]]))


def contains(corners: Sequence[Place], p: Place) -> bool:
    """Whether a closed convex polygon contains a place."""
    return not {1, -1} <= {side(edge, p) for edge in outline(corners)}


def overlap(one: Sequence[Place], other: Sequence[Place]) -> bool:
    """Whether the insides of two convex polygons meet: no edge line of either separates them."""
    for a, b in ((one, other), (other, one)):
        for edge in outline(a):
            inner = next(s for s in (side(edge, p) for p in a) if s)
            if all(side(edge, p) * inner <= 0 for p in b):
                return False
    return True


def along(on: Segment, p: Place) -> Fraction:
    """Where a place of its line lies on a segment: 0 at the start, 1 at the end."""
    (a, b), axis = on, 0 if on[0][0] != on[1][0] else 1
    return (p[axis] - a[axis]) / (b[axis] - a[axis])


def shared(one: Segment, other: Segment) -> Segment | None:
    """The stretch that two segments have in common."""
    if side(one, other[0]) or side(one, other[1]):
        return None
    low, high = sorted(along(one, p) for p in other)
    low, high = max(low, Fraction(0)), min(high, Fraction(1))
    return (between(*one, low), between(*one, high)) if low < high else None


def split(piece: Piece, line: Segment) -> list[Piece]:
    """The piece, or its parts on either side of a line of the folded plane."""
    sides = [side(line, p) for p in piece.images]
    if not {1, -1} <= set(sides):
        return [piece]
    parts: dict[int, list[Place]] = {1: [], -1: []}
    for k, (a, b) in enumerate(outline(piece.corners)):
        here, there = sides[k], sides[(k + 1) % len(sides)]
        for part in (1, -1):
            if here != -part:
                parts[part].append(a)
            if here * there < 0:
                x, y = cross(*line, piece.image(a)), cross(*line, piece.image(b))
                parts[part].append(between(a, b, x / (x - y)))
    return [piece._replace(corners=tuple(corners)) for corners in parts.values()]


def joints(pieces: Sequence[Piece]) -> list[tuple[int, int, Segment]]:
    """Where two pieces are joined."""
    edges = [outline(piece.corners) for piece in pieces]
    found = []
    for i, j in combinations(range(len(pieces)), 2):
        stretch = next((s for one in edges[i] for other in edges[j] if (s := shared(one, other))), None)
        if stretch is not None:
            found.append((i, j, stretch))
    return found


def spread(start: Iterable[int], pairs: Iterable[tuple[int, int]]) -> set[int]:
    """All that hang together with these, by pairs."""
    reached, todo, pairs = set(start), list(start), list(pairs)
    for i in todo:
        more = {b if a == i else a for a, b in pairs if i in (a, b)} - reached
        reached |= more
        todo += more
    return reached


def bisector(p: Place, q: Place) -> Segment:
    middle = (p[0] + q[0]) / 2, (p[1] + q[1]) / 2
    return middle, (middle[0] - q[1] + p[1], middle[1] + q[0] - p[0])


class Pile:
    """The folded paper: pieces from the bottom to the top, and marks on the flat sheet."""

    def __init__(self, pieces: Iterable[Sequence[Place]], marks: dict[str, Place]) -> None:
        self.pieces = [Piece(tuple(corners), FLAT, False) for corners in pieces]
        self.marks = marks
        self.before: list[list[Piece]] = []

    def at(self, mark: str) -> Place:
        """Where a mark lies."""
        place = self.marks[mark]
        return next(piece.image(place) for piece in self.pieces if contains(piece.corners, place))

    def line(self, alignment: dict[str, object]) -> Segment:
        """Two places of the fold line; of the alignments whose lines need no roots, and not line onto line."""

        def places(key: str) -> list[Place]:
            names = alignment[key]
            found = [self.at(name) for name in ([names] if isinstance(names, str) else names)]  # type: ignore[attr-defined]
            if len(set(found)) < len(found):
                raise CannotFold("no-solution")
            return found

        def across(p: Place, key: str) -> Segment:
            (a, b) = places(key)
            return p, (p[0] - b[1] + a[1], p[1] + b[0] - a[0])

        if "square" in alignment and "through" in alignment:
            return across(self.at(str(alignment["through"])), "square")
        if "through" in alignment:
            p, q = places("through")
            return p, q
        p = self.at(str(alignment["point"]))
        if "square" not in alignment:
            q = self.at(str(alignment["onto"]))
            if p == q:
                raise CannotFold("no-solution")
            return bisector(p, q)
        (a, b), (c, d) = places("onto"), places("square")
        to = p[0] + d[0] - c[0], p[1] + d[1] - c[1]
        x, y = cross(a, b, p), cross(a, b, to)
        if x == y:
            raise CannotFold("no-solution")
        q = between(p, to, x / (x - y))
        return across(p, "square") if p == q else bisector(p, q)

    def fold(self, alignment: dict[str, object], moves: str, over: bool, layers: str | int) -> None:
        line = self.line(alignment)
        mark = self.at(moves)
        forward = side(line, mark)
        if not forward:
            raise CannotFold("no-solution")
        pieces = [part for piece in self.pieces for part in split(piece, line)]
        beyond = {i for i, piece in enumerate(pieces) if any(side(line, p) == forward for p in piece.images)}
        joined = joints(pieces)
        taken = self.taken(pieces, beyond, joined, moves, mark, over, layers)
        moving = spread(
            taken,
            [
                (i, j)
                for i, j, ends in joined
                if {i, j} <= beyond and any(side(line, pieces[i].image(p)) == forward for p in ends)
            ],
        )
        for i in moving:
            for j in beyond - moving:
                if (j > i) == over and overlap(pieces[i].images, pieces[j].images):
                    raise CannotFold("blocked")
        mirror = after_reflection(FLAT, line)
        moved = [pieces[i].moved(mirror) for i in sorted(moving, reverse=True)]
        still = [piece for i, piece in enumerate(pieces) if i not in moving]
        self.before.append(self.pieces)
        self.pieces = still + moved if over else moved + still

    def taken(
        self,
        pieces: Sequence[Piece],
        beyond: set[int],
        joined: Sequence[tuple[int, int, Segment]],
        moves: str,
        mark: Place,
        over: bool,
        layers: str | int,
    ) -> set[int]:
        """What a fold takes by itself; more may hang on it."""
        if layers == "all":
            return beyond
        if isinstance(layers, str):
            return {i for i in beyond if contains(pieces[i].corners, self.marks[moves])}
        flat = [(i, j) for i, j, _ in joined if pieces[i].turned == pieces[j].turned]
        chosen, met = set[int](), list[set[int]]()
        for i in sorted(beyond, reverse=over):
            if contains(pieces[i].images, mark):
                if not any(i in layer for layer in met):
                    if len(met) == layers:
                        break
                    met.append(spread([i], flat))
                chosen.add(i)
        if len(met) < layers:
            raise CannotFold("few-layers")
        return chosen

    def unfold(self, folds: int) -> None:
        self.pieces = self.before[-folds]
        del self.before[-folds:]

    def turn(self) -> None:
        self.pieces = [piece.moved(OVER) for piece in reversed(self.pieces)]

    def creases(self) -> list[tuple[Segment, str]]:
        """The folds, each a mountain or a valley as the pile says."""
        found = []
        for low, high, ends in joints(self.pieces):
            if self.pieces[low].turned != self.pieces[high].turned:
                found.append((ends, "valley" if self.pieces[high].turned else "mountain"))
        return found

    def met(self, line: Segment, on_rim: Callable[[Place], bool]) -> tuple[set[Segment], set[Place]]:
        """What of the flat sheet lies on a line: stretches, and corners of pieces off the sheet's rim."""
        stretches, corners = set(), set()
        for piece in self.pieces:
            on = [p for part in split(piece, line)[:1] for p in part.corners if not side(line, piece.image(p))]
            if {1, -1} <= {side(line, p) for p in piece.images}:
                stretches.add((on[0], on[-1]))
            corners |= {p for p in piece.corners if not side(line, piece.image(p)) and not on_rim(p)}
        for i, _, ends in joints(self.pieces):
            if not any(side(line, self.pieces[i].image(p)) for p in ends):
                stretches.add(ends)
        return stretches, corners

    def frees(self, target: Sequence[Segment], on_rim: Callable[[Place], bool]) -> bool:
        """Whether one straight cut meets exactly the target, in the sheet without its rim."""
        inner = []
        for a, b in target:
            stops = {a, b}
            for piece in self.pieces:
                for edge in outline(piece.corners):
                    stops |= crossings((a, b), edge)
            for p, q in pairwise(sorted(stops)):
                middle = between(p, q, Fraction(1, 2))
                if not on_rim(middle):
                    inner += [
                        (piece.image(p), piece.image(q)) for piece in self.pieces if contains(piece.corners, middle)
                    ]
        if not inner:
            return True
        line = inner[0]
        if any(side(line, p) for ends in inner for p in ends):
            return False
        stretches, corners = self.met(line, on_rim)
        return all(covered(s, target) for s in stretches) and all(
            any(on_segment(p, *ends) for ends in target) for p in corners
        )


def crossings(one: Segment, other: Segment) -> set[Place]:
    """Where a segment is cut by another one; the ends on each other if they lie on one line."""
    x, y = cross(*other, one[0]), cross(*other, one[1])
    if x == y:
        return {p for p in other if not x and on_segment(p, *one)}
    p = between(*one, x / (x - y))
    return {p} if on_segment(p, *one) and on_segment(p, *other) else set()


def covered(stretch: Segment, target: Iterable[Segment]) -> bool:
    """Whether lines of the target cover all of a stretch."""
    parts = sorted(tuple(sorted(along(stretch, p) for p in ends)) for ends in target if shared(stretch, ends))
    done = Fraction(0)
    for low, high in parts:
        if low > done:
            return False
        done = max(done, high)
    return done >= 1
