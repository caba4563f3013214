"""The fold map: one isometry for each face, agreeing along every edge.

Face 0 stays where it is, front up; crossing a fold reflects, crossing a flat edge changes nothing. The map exists
exactly when every closed walk over the faces composes to the identity: round each vertex (Kawasaki–Justin: Kawasaki
1989, Justin 1989) and each hole. It says nothing of whether layers pass through each other.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from verify.exact.algebraic import difference_of_products, sum_of_products
from verify.exact.number import ONE, ZERO
from verify.exact.plane import Point, difference, with_neighbours
from verify.pattern.subdivision import Subdivision


class Isometry(NamedTuple):
    """z → m·z + s, or m·conj(z) + s when `turned` (determinant -1), with |m| = 1; exact."""

    m: Point
    shift: Point
    turned: bool

    def __call__(self, place: Point) -> Point:
        there = complex_product(self.m, _conjugate(place) if self.turned else place)
        return Point(there.x + self.shift.x, there.y + self.shift.y)

    def after_reflection(self, a: Point, square: Point) -> Isometry:
        """This isometry after the reflection z → a + square·conj(z - a)."""
        m = complex_product(self.m, _conjugate(square) if self.turned else square)
        turned = not self.turned
        there = self(a)
        off = complex_product(m, _conjugate(a) if turned else a)
        return Isometry(m, Point(there.x - off.x, there.y - off.y), turned)


def complex_product(a: Point, b: Point) -> Point:
    """The product of two complex numbers."""
    return Point(difference_of_products(a.x, b.x, a.y, b.y), sum_of_products(a.x, b.y, a.y, b.x))


def _conjugate(a: Point) -> Point:
    return Point(a.x, -a.y)


IDENTITY = Isometry(Point(ONE, ZERO), Point(ZERO, ZERO), False)


def alternating_product(numbers: Iterable[Point]) -> Point:
    """The product of complex numbers, every other one conjugated. Of squared directions: how lines through one place
    turn what is reflected in one after another.
    """
    product = IDENTITY.m
    for k, number in enumerate(numbers):
        product = complex_product(product, _conjugate(number) if k % 2 else number)
    return product


def direction_squared(a: Point, b: Point) -> Point:
    """d²/|d|² for the direction d from a to b, as a complex number: what a reflection needs."""
    x, y = b.x - a.x, b.y - a.y
    twice = 2 / sum_of_products(x, x, y, y) * y
    return Point(1 - y * twice, x * twice)


class FoldMap(NamedTuple):
    """The image of each vertex, whether each face is turned, and the `broken` edges, across which isometries do not
    fit. The map exists, and images mean something, exactly if there are none.
    """

    subdivision: Subdivision
    images: tuple[Point, ...]
    turned: tuple[bool, ...]
    broken: tuple[int, ...] = ()

    @property
    def exists(self) -> bool:
        return not self.broken


class Reflections:
    """What crossing an edge does to an isometry; a crease's reflection is worked out once."""

    def __init__(self, subdivision: Subdivision) -> None:
        self.subdivision = subdivision
        self._squares: dict[int, Point] = {}

    def across(self, isometry: Isometry, number: int) -> Isometry:
        """The isometry of the face on the other side of edge `number`."""
        square = self.square(number)
        if square is None:
            return isometry
        return isometry.after_reflection(self.subdivision.vertices[self.subdivision.edges[number].start], square)

    def square(self, number: int) -> Point | None:
        """The edge's direction squared as `direction_squared` has it, or None if it is no fold."""
        edge = self.subdivision.edges[number]
        if not edge.is_fold or edge.crease is None:
            return None
        square = self._squares.get(edge.crease)
        if square is None:
            square = self._squares[edge.crease] = direction_squared(*self.subdivision.drawing.creases[edge.crease][:2])
        return square


class _Panel:
    """Faces joined by flat edges: the linear part of their isometry, whether it is turned, and where corners so far
    lie; `beside` is the panel from which it was reached, over the vertices `on_fold`.
    """

    def __init__(
        self, m: Point, turned: bool, places: dict[int, Point], beside: _Panel | None, on_fold: frozenset[int]
    ):
        self.m, self.turned, self.places = m, turned, places
        self.beside, self.on_fold = beside, on_fold

    def carry(self, vertices: Sequence[Point], corners: Iterable[int], origin: int) -> None:
        """Carry corners, from one that is carried."""
        start, there = vertices[origin], self.places[origin]
        for v in corners:
            if v in self.places:
                continue
            place = self.beside.places.get(v) if self.beside and v in self.on_fold else None
            if place is None:
                off = difference(vertices[v], start)
                moved = complex_product(self.m, _conjugate(off) if self.turned else off)
                place = Point(there.x + moved.x, there.y + moved.y)
            self.places[v] = place


def fold_map(subdivision: Subdivision) -> FoldMap:
    """Fold every face exactly and see where isometries do not fit."""
    s = subdivision
    is_folded = [e.is_fold for e in s.edges]
    reflections = Reflections(s)
    creases = [frozenset(chain) for chain in s.crease_chains]
    found: list[_Panel | None] = [None] * len(s.faces)
    found[0] = _Panel(IDENTITY.m, False, dict(enumerate(s.vertices)), None, frozenset())
    ahead = deque([(0, number) for number in s.face_edges[0]])  # from a face that is found, across an edge
    while ahead:
        here, number = ahead.popleft()
        edge = s.edges[number]
        face, panel = edge.across(here), found[here]
        if edge.kind == "border" or panel is None or found[face] is not None:
            continue
        square = reflections.square(number)
        if edge.crease is not None and square is not None:
            m = complex_product(panel.m, _conjugate(square) if panel.turned else square)
            ends = {v: panel.places[v] for v in edge.ends}
            panel = _Panel(m, not panel.turned, ends, panel, creases[edge.crease])
        panel.carry(s.vertices, s.faces[face], edge.start)
        found[face] = panel
        for following in s.face_edges[face]:
            # a whole panel before its folds
            (ahead.append if is_folded[following] else ahead.appendleft)((face, following))
    panels = [panel for panel in found if panel is not None]
    turned = tuple([panel.turned for panel in panels])
    images: dict[int, Point] = {}
    for corners, panel in zip(s.faces, panels, strict=True):
        for v in corners:
            images.setdefault(v, panel.places[v])
    broken = []
    for number, e in enumerate(s.edges):
        left, right = panels[e.left], panels[e.right]
        if e.kind == "border" or (left is right and not is_folded[number]):
            continue
        apart = any(left.places[v] != right.places[v] for v in e.ends)
        if apart or (left.turned != right.turned) != is_folded[number]:
            broken.append(number)
    return FoldMap(s, tuple([images[v] for v in range(len(s.vertices))]), turned, tuple(broken))


class Walk(NamedTuple):
    """A closed walk round a `vertex` or a `hole`: from face `faces[i]` across `edges[i]` to the next one, and back to
    the first.
    """

    faces: tuple[int, ...]
    edges: tuple[int, ...]
    vertex: int | None = None
    hole: int | None = None

    def product(self, reflections: Reflections) -> Isometry:
        """The isometry that the walk composes to; exact."""
        isometry = IDENTITY
        for edge in self.edges:
            isometry = reflections.across(isometry, edge)
        return isometry

    def closes(self, reflections: Reflections) -> bool:
        return self.product(reflections) == IDENTITY


def walk_round_vertex(subdivision: Subdivision, vertex: int) -> Walk:
    """The faces round an inner vertex, counter-clockwise."""
    ring = subdivision.around[vertex]
    faces = tuple(subdivision.edges[number].left_from(vertex) for number in ring)
    return Walk(faces, (*ring[1:], ring[0]), vertex=vertex)


def walk_round_hole(subdivision: Subdivision, hole: int) -> Walk:
    """The faces that touch a hole's outline (hole 0 is the first hole), all the way round it."""
    s = subdivision
    chain = list(s.sheet_chains[hole + 1])
    first = s.edge_at[chain[0], chain[1]]
    if s.edges[first].left_from(chain[0]) < 0:
        chain.reverse()
    faces: list[int] = []
    edges: list[int] = []
    for u, v, w in with_neighbours(chain[1:] + chain[:1]):
        ring = list(s.around[v])
        out, into = s.edge_at[v, w], s.edge_at[u, v]
        at = ring.index(into)
        fan = (ring[at:] + ring[:at])[::-1]
        for number in fan:
            if number == out:
                break
            if number != into:
                faces.append(s.edges[number].left_from(v))
                edges.append(number)
    return Walk(tuple(faces), tuple(edges), hole=hole)
