"""How the straight skeleton of a figure is found: a front that sweeps the paper, event by event.

At a time t the front is the boundary of the open set U(t) of the paper not yet swept. It is kept as
closed loops of directed edges with U on their left; each edge lies on the line of a side, moved by
t, and each corner runs at the velocity V with V·n = 1 for the unit normals n of its two edges.
Between events loops only change their lengths. An event is a time at which parts of the front that
were apart come together. Then a corner reaches an edge that it is no end of: when edges meet, an
end of one lies on the other; and when an edge between two corners shrinks to a point, one of these
reaches the far edge of the other, too. It comes from that edge's front: from unswept paper near the
edge, and where the place is a corner as well, unswept paper there is in front of one of its two
edges. (An edge shrinks only if U has an angle below 180° at one end; the other end is in front of
the far edge there.) So the corner's distance to the moved line of that edge, which changes
linearly, was positive: these times are found once for each corner and each side, and whether the
edge is there is seen when the time has come. (A corner that runs along the line of the edge all the
time, as on the other edges of its own sides, need not be asked: then the end of that edge comes to
one of the corner's edges from the front, or else both are one place all the time.)
Floats with a bound leave out what certainly does not happen, and say not before when the rest may: a
time is computed exactly when it may be the next one, and what happens then is decided exactly.
All events of one time are taken together:

1. *Cut.* Each edge is cut at the touched places; edges of length zero go.
2. *Cancel.* Where two pieces now lie on each other they run in opposite directions with the unswept
   paper between them: the same direction would mean that two fronts had swept the same paper just
   before, and swept sides that face each other would need a swept strip of no width, which after
   time 0 there is none. So no unswept paper is left there; the pair is a ridge of the skeleton.
   Both ends of their common part are corners of one or the other, hence touched places, and both
   edges are cut at the same places; therefore pieces cancel whole.
3. *Re-pair.* The pieces that are left bound U(t). A small disc round a touched place is cut by the
   rays of these pieces into sectors, alternately swept and unswept (a piece has U on its left and
   swept paper on its right; no two rays coincide after step 2). Each unswept sector runs
   counter-clockwise from a piece that leaves the place to the next one, which must arrive. The
   components of U(t) near the place are exactly these sectors, and each is bounded by exactly that
   pair; paper is swept from the boundary of its own component, so that the front goes on with one
   corner for each unswept sector, between the piece arriving and the piece leaving. Nothing of
   this depends on how many edges meet or in which order they are looked at: there is no choice.

Just after the event the new corners run inside their own sectors, which are disjoint, and nothing
else touches: the next event is strictly later. The figure itself is paired by the same rule, each
line being an arriving and a leaving ray at both its ends; only step 2 is left out at time 0, because
there the sides of one line do have a swept strip of no width between them.

Sides that happen to move on one line in the same direction stay apart: the corner between them
runs with their normal, and its arc is square to both. Where an edge of an outline has a
needless point in it, an arc square to it starts there.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from heapq import heappop, heappush
from itertools import pairwise
from math import inf

from verify.construct.skeleton.skeleton import Arc, Node, Side, Skeleton
from verify.exact.number import Number
from verify.exact.plane import (
    Point,
    compare_directions,
    difference,
    direction_order,
    dot,
    same_place,
)
from verify.pattern.subdivision import place_text

_ZERO = Number.of(0)
_OFF = 1e-9  # of the sizes of what is added up in floats: a million times the rounding error


@dataclass(eq=False)
class _Corner:
    """A corner of the front: where the edge of one side arrives and that of the next leaves.

    At time t it is at origin + t velocity. `rough` are the floats of both vectors, to save exact work.
    """

    before: int
    after: int
    origin: Point
    velocity: Point
    node: int
    rough: tuple[float, float, float, float]
    previous: _Corner = field(init=False)
    next: _Corner = field(init=False)
    alive: bool = True

    def place(self, time: Number) -> Point:
        return Point(self.origin.x + time * self.velocity.x, self.origin.y + time * self.velocity.y)

    def may_be_at(self, x: float, y: float, time: float) -> bool:
        """False only if the corner is certainly not at the place with these coordinates, rounded."""
        ox, oy, vx, vy = self.rough
        if abs(ox + time * vx - x) > _OFF * (abs(ox) + abs(time * vx) + abs(x)):
            return False
        return not abs(oy + time * vy - y) > _OFF * (abs(oy) + abs(time * vy) + abs(y))

    def rough_along(self, x: float, y: float, time: float) -> tuple[float, float]:
        """Its place times a vector, in floats, and by how much that may be off."""
        ox, oy, vx, vy = self.rough
        parts = ox * x, time * vx * x, oy * y, time * vy * y
        return sum(parts), _OFF * sum(map(abs, parts))


@dataclass(eq=False)
class _Piece:
    """A piece of a front edge at an event: from and to a touched place or a corner that stays."""

    side: int
    tail: Point | _Corner
    head: Point | _Corner


def _rough(number: Number) -> float:
    try:
        return float(number)
    except OverflowError:
        return inf if number.sign() > 0 else -inf


class _Front:
    def __init__(self, sides: Sequence[Side]) -> None:
        self.sides = sides
        self.normals = [side.normal for side in sides]
        self.offsets = [dot(side.normal, side.start) for side in sides]
        self.nodes: list[Node] = []
        self.arcs: list[Arc] = []
        self.corners: dict[_Corner, None] = {}
        self.edges: list[dict[_Corner, None]] = [{} for _ in sides]
        self.along = [(_rough(side.direction.x), _rough(side.direction.y)) for side in sides]
        self.rough = [(-y, x, _rough(offset)) for (x, y), offset in zip(self.along, self.offsets, strict=True)]
        self.now = _ZERO
        self.queue: list[tuple[Number, int, _Corner, int]] = []
        self.later: list[tuple[float, int, _Corner, int]] = []  # not before these times
        self.serial = 0
        self.velocities: dict[tuple[int, int], Point] = {}

    # corners

    def velocity(self, before: int, after: int) -> Point:
        found = self.velocities.get((before, after))
        if found is None:
            m, n = self.normals[before], self.normals[after]
            scale = 1 / (1 + dot(m, n))
            found = self.velocities[before, after] = Point((m.x + n.x) * scale, (m.y + n.y) * scale)
        return found

    def corner(self, before: int, after: int, node: int) -> _Corner:
        """A new corner, at the node and the present time; not yet joined."""
        place, v, t = self.nodes[node].place, self.velocity(before, after), self.now
        origin = Point(place.x - t * v.x, place.y - t * v.y)
        rough = (_rough(origin.x), _rough(origin.y), _rough(v.x), _rough(v.y))
        corner = _Corner(before, after, origin, v, node, rough)
        self.corners[corner] = None
        return corner

    def join(self, tail: _Corner, head: _Corner) -> None:
        """An edge from one corner to another."""
        tail.next, head.previous = head, tail
        self.edges[tail.after][tail] = None

    def await_meetings(self, corner: _Corner) -> None:
        """Note when, at the earliest, the corner meets the moved lines of other sides, from their front."""
        px, py, vx, vy = corner.rough
        now = _rough(self.now)
        for side, (x, y, offset) in enumerate(self.rough):
            if side in (corner.before, corner.after) or not self.edges[side]:
                continue
            approach = 1 - (x * vx + y * vy)
            doubt = _OFF * (1 + abs(x * vx) + abs(y * vy))
            ahead = x * px + y * py - offset - approach * now
            unsure = _OFF * (abs(x * px) + abs(y * py) + abs(offset)) + doubt * now
            if approach <= -doubt or ahead < -unsure:
                continue
            earliest = now + (ahead - unsure) / (approach + doubt)
            self.serial += 1
            heappush(self.later, (earliest if 0 < earliest < inf else 0.0, self.serial, corner, side))

    def next_time(self) -> Number | None:
        """The time of the next meeting; all that come then are in the queue. None if none comes."""
        while self.later and (not self.queue or self.later[0][0] <= _rough(self.queue[0][0]) * (1 + _OFF)):
            _, serial, corner, side = heappop(self.later)
            if not corner.alive or not self.edges[side]:
                continue
            normal = self.normals[side]
            approach = 1 - dot(normal, corner.velocity)
            if approach.sign() > 0:
                time = (dot(normal, corner.origin) - self.offsets[side]) / approach
                if time > self.now:
                    heappush(self.queue, (time, serial, corner, side))
        return self.queue[0][0] if self.queue else None

    # events

    def start(self, figure: Iterable[tuple[Point, Sequence[tuple[int, int]]]]) -> None:
        """The front at time 0; `figure`: each vertex with its wedges, pairs of the sides arriving and leaving."""
        arriving: dict[int, _Corner] = {}
        leaving: dict[int, _Corner] = {}
        for place, wedges in figure:
            self.nodes.append(Node(place, _ZERO))
            for before, after in wedges:
                corner = self.corner(before, after, len(self.nodes) - 1)
                arriving[before] = leaving[after] = corner
        for side, tail in leaving.items():
            self.join(tail, arriving[side])
        for corner in self.corners:
            self.await_meetings(corner)

    def run(self) -> None:
        """All events, to the end; then the arcs that run for ever."""
        while (time := self.next_time()) is not None:
            places: dict[Point, None] = {}
            while self.queue and self.queue[0][0] == time:
                _, _, corner, side = heappop(self.queue)
                if corner.alive:
                    place = self.meeting(time, corner, side)
                    if place is not None:
                        places[place] = None
            if places:
                self.now = time
                self.change(list(places))
        for corner in self.corners:
            self.arcs.append(Arc(corner.node, None, corner.velocity, corner.before, corner.after))

    def meeting(self, time: Number, corner: _Corner, side: int) -> Point | None:
        """Where the corner meets the front of the side at this time, if it does."""
        if not self.edges[side]:
            return None
        place = corner.place(time)
        return place if any(True for _ in self.edges_through(place, time, side)) else None

    def edges_through(self, place: Point, time: Number, side: int) -> Iterator[tuple[_Corner, bool]]:
        """The edges of a side with this place, which is on its moved line, in them: the tail, and whether it is
        within.
        """
        along, (x, y), now = self.sides[side].direction, self.along[side], _rough(time)
        parts = _rough(place.x) * x, _rough(place.y) * y
        at, off = sum(parts), _OFF * sum(map(abs, parts))
        here = dot(along, place)
        for tail in self.edges[side]:
            start, doubt = tail.rough_along(x, y, now)
            end, unsure = tail.next.rough_along(x, y, now)
            if at + off < start - doubt or at - off > end + unsure:
                continue
            past = here._compare(dot(along, tail.place(time)))
            if past >= 0:
                short = dot(along, tail.next.place(time))._compare(here)
                if short >= 0:
                    yield tail, past > 0 and short > 0

    def change(self, places: Sequence[Point]) -> None:
        """Everything that happens at the present time, at these places."""
        time, rough_time = self.now, _rough(self.now)
        where: dict[_Corner, Point] = {}
        cuts: dict[_Corner, list[Point]] = {}
        nodes: dict[Point, int] = {}
        for place in places:
            nodes[place] = len(self.nodes)
            self.nodes.append(Node(place, time))
            x, y = _rough(place.x), _rough(place.y)
            for corner in self.corners:
                if corner.may_be_at(x, y, rough_time) and same_place(corner.place(time), place):
                    where[corner] = place
            for side, (nx, ny, offset) in enumerate(self.rough):
                away = nx * x + ny * y - offset - rough_time
                size = abs(nx * x) + abs(ny * y) + abs(offset) + rough_time
                if not self.edges[side] or abs(away) > _OFF * size:
                    continue
                if dot(self.normals[side], place) == self.offsets[side] + time:
                    for tail, within in self.edges_through(place, time, side):
                        if within:
                            cuts.setdefault(tail, []).append(place)
        for corner, place in where.items():
            self.arcs.append(Arc(corner.node, nodes[place], corner.velocity, corner.before, corner.after))
        pieces = self.cancelled(self.pieces(where, cuts), nodes)
        self.repaired(pieces, nodes)

    def pieces(self, where: dict[_Corner, Point], cuts: dict[_Corner, list[Point]]) -> list[_Piece]:
        """Step 1: the touched edges, cut; they and the touched corners leave the front."""
        touched = dict.fromkeys([*cuts, *where, *[corner.previous for corner in where]])
        pieces: list[_Piece] = []
        for tail in touched:
            head = tail.next
            side = tail.after
            start, end = where.get(tail, tail), where.get(head, head)
            along = self.sides[side].direction
            inner = sorted(cuts.get(tail, ()), key=lambda place: dot(along, place))
            del self.edges[side][tail]
            if not inner and isinstance(start, Point) and isinstance(end, Point) and same_place(start, end):
                continue
            stops = [start, *inner, end]
            pieces.extend(_Piece(side, p, q) for p, q in pairwise(stops))
        for corner in where:
            corner.alive = False
            del self.corners[corner]
        return pieces

    def cancelled(self, pieces: Sequence[_Piece], nodes: dict[Point, int]) -> list[_Piece]:
        """Step 2: without the pieces that lie on each other, which become ridges."""
        between: dict[tuple[int, int], _Piece] = {}
        for piece in pieces:
            if isinstance(piece.tail, Point) and isinstance(piece.head, Point):
                key = nodes[piece.tail], nodes[piece.head]
                if between.setdefault(key, piece) is not piece:
                    raise ArithmeticError("two fronts have swept the same paper")
        kept = []
        for piece in pieces:
            if isinstance(piece.tail, Point) and isinstance(piece.head, Point):
                tail, head = nodes[piece.tail], nodes[piece.head]
                other = between.get((head, tail))
                if other is not None:
                    if tail < head:
                        along = difference(piece.head, piece.tail)
                        self.arcs.append(Arc(tail, head, along, other.side, piece.side))
                    continue
            kept.append(piece)
        return kept

    def repaired(self, pieces: Sequence[_Piece], nodes: dict[Point, int]) -> None:
        """Step 3: a new corner for each unswept sector at each place, and the pieces as edges between corners."""
        rays: dict[int, list[tuple[Point, bool, _Piece]]] = {}
        for piece in pieces:
            along = self.sides[piece.side].direction
            if isinstance(piece.tail, Point):
                rays.setdefault(nodes[piece.tail], []).append((along, True, piece))
            if isinstance(piece.head, Point):
                rays.setdefault(nodes[piece.head], []).append((Point(-along.x, -along.y), False, piece))
        fresh = []
        for node, around in rays.items():
            around.sort(key=lambda ray: direction_order(ray[0]))
            for i, (ray, leaves, piece) in enumerate(around):
                after, arrives, partner = around[(i + 1) % len(around)]
                if leaves is arrives or compare_directions(ray, after) == 0:
                    raise ArithmeticError(f"the front at {place_text(self.nodes[node].place)} has no order")
                if leaves:
                    corner = self.corner(partner.side, piece.side, node)
                    partner.head = piece.tail = corner
                    fresh.append(corner)
        for piece in pieces:
            if isinstance(piece.tail, Point) or isinstance(piece.head, Point):
                raise ArithmeticError("a piece of the front without a corner")
            self.join(piece.tail, piece.head)
        for corner in fresh:
            self.await_meetings(corner)


def _sides_and_wedges(
    places: Sequence[Point], ends: Sequence[tuple[int, int]], directions: Sequence[Point]
) -> tuple[list[Side], list[tuple[Point, list[tuple[int, int]]]]]:
    """The sides, two for each line and then the caps, and each vertex with its wedges."""
    sides = []
    around: list[list[tuple[Point, int]]] = [[] for _ in places]
    for line, ((a, b), d) in enumerate(zip(ends, directions, strict=True)):
        back = Point(-d.x, -d.y)
        sides += [Side(places[a], places[b], d, line), Side(places[b], places[a], back, line)]
        around[a].append((d, 2 * line))
        around[b].append((back, 2 * line + 1))
    wedges = []
    for place, rays in zip(places, around, strict=True):
        if len(rays) == 1:
            # the side that leaves has even number 2i or 2i + 1, the one that arrives is the other side of the line
            out, leaving = rays[0]
            sides.append(Side(place, place, Point(-out.y, out.x), -1))
            cap = len(sides) - 1
            wedges.append((place, [(leaving ^ 1, cap), (cap, leaving)]))
            continue
        rays.sort(key=lambda ray: direction_order(ray[0]))
        turns = zip(rays, [*rays[1:], rays[0]], strict=True)
        wedges.append((place, [(after ^ 1, leaving) for (_, leaving), (_, after) in turns]))
    return sides, wedges


def straight_skeleton(
    points: Sequence[Point], lines: Sequence[tuple[int, int]], directions: Sequence[Point]
) -> Skeleton:
    """The straight skeleton of all lines together, over the whole plane. Exact.

    `lines` are pairs of indices into `points`, which are different places; `directions` are their unit vectors, from
    the first point to the second. Sides 2i and 2i + 1 are the left and the right one of line i; after these come the
    caps. Assumes, and does not check, that any two lines have at most an end of both in common.

    Events of a figure of n lines are found in O(n² log n) exact operations and a little more.

    >>> square = [Point(Number.of(x), Number.of(y)) for x, y in [(0, 0), (2, 0), (2, 2), (0, 2)]]
    >>> ways = [Point(Number.of(x), Number.of(y)) for x, y in [(1, 0), (0, 1), (-1, 0), (0, -1)]]
    >>> skeleton = straight_skeleton(square, [(0, 1), (1, 2), (2, 3), (3, 0)], ways)
    >>> [(str(node.place.x), str(node.place.y), str(node.time)) for node in skeleton.nodes[4:]]
    [('1', '1', '1')]
    >>> len(skeleton.arcs), len(skeleton.region(0).chains), len(skeleton.region(1).chains)
    (8, 1, 2)
    """
    sides, wedges = _sides_and_wedges(points, lines, directions)
    front = _Front(sides)
    front.start(wedges)
    front.run()
    return Skeleton(tuple(sides), tuple(front.nodes), tuple(front.arcs))
