"""The straight skeleton, against published values, two independent libraries and its own definition."""

from __future__ import annotations

import math
import random
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from fractions import Fraction
from functools import cache
from itertools import pairwise
from typing import Any

import pytest
import shapely
from pysfcgal import geometry as sfcgal

from tests.profiles import share
from verify.construct.skeleton.front import straight_skeleton
from verify.construct.skeleton.skeleton import Skeleton
from verify.construct.skeleton.units import unit_vectors
from verify.exact.field import read_numbers
from verify.exact.number import Number
from verify.exact.plane import Point, difference, dot, polygon_area2, polygon_is_simple, same_place
from verify.exact.tower import Base, Tower
from verify.pattern.limits import LimitReached, Limits

Figure = tuple[list[Point], list[tuple[int, int]]]
Place = tuple[Any, Any]


def point(x: Any, y: Any) -> Point:
    return Point(Number.of(x), Number.of(y))


def figure(*loops: Sequence[Place], paths: Sequence[Sequence[Place]] = ()) -> Figure:
    """Closed loops and open paths; equal places are one point."""
    index: dict[Point, int] = {}

    def at(place: Place) -> int:
        return index.setdefault(point(*place), len(index))

    lines = [(at(loop[i - 1]), at(loop[i])) for loop in loops for i in range(len(loop))]
    lines += [(at(a), at(b)) for path in paths for a, b in pairwise(path)]
    return list(index), lines


def skeleton_of(
    points: Sequence[Point], lines: Sequence[tuple[int, int]], tower: Tower = Base(None), limits: Limits = Limits()
) -> Skeleton:
    places, directions = unit_vectors(points, lines, tower, limits)
    return straight_skeleton(places, lines, directions)


def inner(skeleton: Skeleton) -> list[tuple[Any, Any, Any]]:
    """The nodes and times on the left of the lines, for loops that have the inside there."""
    nodes = dict.fromkeys(
        n for arc in skeleton.arcs if arc.left % 2 == 0 and arc.right % 2 == 0 for n in (arc.start, arc.end)
    )
    found = [skeleton.nodes[n] for n in nodes if n is not None]
    return [(n.place.x, n.place.y, n.time) for n in found if n.time]


def inner_arcs(skeleton: Skeleton) -> list[tuple[Point, Point]]:
    found = []
    for arc in skeleton.arcs:
        if arc.left % 2 == 0 and arc.right % 2 == 0:
            assert arc.end is not None
            found.append((skeleton.nodes[arc.start].place, skeleton.nodes[arc.end].place))
    return found


# the definition: what must hold for every straight skeleton


def outline(skeleton: Skeleton, side: int, until: Number) -> list[Point]:
    """The boundary of the region of a side, with the front at a late time where it is unbounded."""
    places = [skeleton.sides[side].start, skeleton.sides[side].end]

    def far(arc: int) -> Point:
        start, v = skeleton.nodes[skeleton.arcs[arc].start], skeleton.arcs[arc].direction
        t = until - start.time
        return Point(start.place.x + t * v.x, start.place.y + t * v.y)

    for chain in skeleton.region(side).chains:
        if skeleton.tail(chain[0]) is None:
            places.append(far(chain[0].arc))
        for step in chain:
            head = skeleton.head(step)
            places.append(far(step.arc) if head is None else skeleton.nodes[head].place)
    return [p for i, p in enumerate(places) if not same_place(p, places[i - 1])]


def clipped(polygon: list[Point], box: int) -> list[Point]:
    """The part of a polygon in the box |x|, |y| <= box, edges along the box counted with their signs."""
    for a, b in [(1, 0), (-1, 0), (0, 1), (0, -1)]:
        room = [box - p.x * a - p.y * b for p in polygon]
        kept: list[Point] = []
        for i, q in enumerate(polygon):
            p, r, s = polygon[i - 1], room[i - 1], room[i]
            if r.sign() * s.sign() < 0:
                share = r / (r - s)
                kept.append(Point(p.x + share * (q.x - p.x), p.y + share * (q.y - p.y)))
            if s.sign() >= 0:
                kept.append(q)
        polygon = kept
    return polygon


def check_definition(skeleton: Skeleton) -> None:
    """Every node is at its time from all lines round it, every arc has equal distance, and the regions tile the
    plane.
    """
    touching: dict[int, set[int]] = {}
    for arc in skeleton.arcs:
        for node in (arc.start, arc.end):
            if node is not None:
                touching.setdefault(node, set()).update((arc.left, arc.right))
        v = arc.direction
        for side in (arc.left, arc.right):
            rate = dot(skeleton.sides[side].normal, v)
            flat = arc.end is not None and skeleton.nodes[arc.start].time == skeleton.nodes[arc.end].time
            assert rate == (0 if flat else 1)
        if arc.end is not None:
            a, b = skeleton.nodes[arc.start], skeleton.nodes[arc.end]
            assert a.time <= b.time
            along = difference(b.place, a.place)
            assert along.x * v.y == along.y * v.x
            assert dot(along, v) > 0
    for node, sides in touching.items():
        for side in sides:
            assert skeleton.sides[side].distance(skeleton.nodes[node].place) == skeleton.nodes[node].time
    assert set(touching) == set(range(len(skeleton.nodes)))
    assert len({n.place for n in skeleton.nodes}) == len(skeleton.nodes)

    walked = Counter(
        (step, side) for side in range(len(skeleton.sides)) for c in skeleton.region(side).chains for step in c
    )
    expected = Counter(
        pair for i, arc in enumerate(skeleton.arcs) for pair in (((i, True), arc.left), ((i, False), arc.right))
    )
    assert walked == expected
    reach = max(max(abs(n.place.x), abs(n.place.y)) for n in skeleton.nodes)
    box = math.floor(reach) + 3
    until = max([Number.of(4 * box), *[n.time + 1 for n in skeleton.nodes]])
    total = Number.of(0)
    for side in range(len(skeleton.sides)):
        boundary = outline(skeleton, side, until)
        assert polygon_is_simple(boundary) is None
        assert polygon_area2(boundary) > 0
        total = total + polygon_area2(clipped(boundary, box))
    assert total == 2 * (2 * box) ** 2


# published values


@pytest.mark.parametrize(
    ("loop", "nodes", "arcs"),
    [
        # worked values after Aichholzer, Aurenhammer, Alberts and Gärtner 1995, J.UCS 1(12):752
        ([(0, 0), (6, 0), (6, 4), (0, 4)], [(2, 2, 2), (4, 2, 2)], 5),
        ([(0, 0), (4, 0), (4, 2), (2, 2), (2, 4), (0, 4)], [(1, 1, 1), (1, 3, 1), (3, 1, 1)], 8),
        (
            [(0, 0), (7, 0), (7, 2), (3, 2), (3, 6), (0, 6)],
            [
                (Fraction(3, 2), Fraction(3, 2), Fraction(3, 2)),
                (Fraction(3, 2), Fraction(9, 2), Fraction(3, 2)),
                (2, 1, 1),
                (6, 1, 1),
            ],
            9,
        ),
        # the incircle of the triangle 3-4-5: radius (3 + 4 - 5)/2
        ([(0, 0), (4, 0), (0, 3)], [(1, 1, 1)], 3),
    ],
)
def test_worked_examples(loop: list[Place], nodes: list[Any], arcs: int) -> None:
    skeleton = skeleton_of(*figure(loop[-1:] + loop[:-1]))
    assert sorted(inner(skeleton)) == nodes
    assert len(inner_arcs(skeleton)) == arcs
    check_definition(skeleton)


def test_outside_of_a_convex_polygon_is_a_ray_from_each_corner() -> None:
    """Aichholzer et al. 1995: outside a convex polygon nothing ever happens."""
    skeleton = skeleton_of(*figure([(0, 0), (6, 0), (6, 4), (0, 4)]))
    rays = [arc for arc in skeleton.arcs if arc.end is None]
    assert sorted((arc.direction.x, arc.direction.y) for arc in rays) == [(-1, -1), (-1, 1), (1, -1), (1, 1)]
    assert all(not skeleton.nodes[arc.start].time for arc in rays)


def test_a_loose_end_is_capped_square() -> None:
    skeleton = skeleton_of(*figure(paths=[[(0, 0), (3, 0)]]))
    assert [side.line for side in skeleton.sides] == [0, 0, -1, -1]
    assert sorted((skeleton.nodes[a.start].place, a.direction) for a in skeleton.arcs) == [
        (point(x, 0), point(dx, dy)) for x, dx in ((0, -1), (3, 1)) for dy in (-1, 1)
    ]
    check_definition(skeleton)


def test_a_needless_point_starts_an_arc_square_to_the_line() -> None:
    skeleton = skeleton_of(*figure([(0, 0), (2, 0), (6, 0), (6, 4), (0, 4)]))
    assert sorted(inner(skeleton)) == [(2, 2, 2), (4, 2, 2)]
    assert (point(2, 0), point(2, 2)) in inner_arcs(skeleton)
    check_definition(skeleton)


def test_fronts_of_one_line_meet_end_to_end_and_stay_apart() -> None:
    """Two squares side by side: their lower fronts join on one line, 1 below the gap of width 2."""
    skeleton = skeleton_of(*figure([(0, 0), (4, 0), (4, 4), (0, 4)], [(6, 0), (10, 0), (10, 4), (6, 4)]))
    assert {(5, -1, 1), (5, 5, 1)} <= {(n.place.x, n.place.y, n.time) for n in skeleton.nodes}
    down = [a for a in skeleton.arcs if a.end is None and skeleton.nodes[a.start].place == point(5, -1)]
    assert [a.direction for a in down] == [point(0, -1)]
    check_definition(skeleton)


# random figures with directions of rational length, and the libraries


def whole_direction(angle: float) -> Point:
    """A rational unit vector within about 2 degrees of the angle."""
    half = (
        Fraction(round(math.tan(math.remainder(angle, math.tau) / 2) * 16), 16)
        if abs(math.cos(angle / 2)) > 0.05
        else None
    )
    if half is None:
        return point(-1, 0)
    return point((1 - half * half) / (1 + half * half), 2 * half / (1 + half * half))


def random_loop(rng: random.Random, corners: int, middle: tuple[int, int], size: float) -> list[Point] | None:
    """A star-shaped loop, counter-clockwise, whose lines have rational unit vectors; None if it came out badly."""
    angles = sorted(rng.uniform(0, math.tau) for _ in range(corners))
    rough = [
        (middle[0] + r * math.cos(a), middle[1] + r * math.sin(a))
        for a in angles
        for r in [rng.uniform(0.35, 1) * size]
    ]
    rays = []
    for i, (x, y) in enumerate(rough):
        u, v = rough[i - 1]
        d = whole_direction(math.atan2(y - v, x - u))
        rays.append((point(Fraction(round((u + x) * 4), 8), Fraction(round((v + y) * 4), 8)), d))
    loop = []
    for i, (q, e) in enumerate(rays):
        p, d = rays[i - 1]
        turn = d.x * e.y - d.y * e.x
        if not turn:
            return None
        off = difference(q, p)
        t = (off.x * e.y - off.y * e.x) / turn
        loop.append(Point(p.x + t * d.x, p.y + t * d.y))
    if polygon_is_simple(loop) is not None or polygon_area2(loop) <= 0:
        return None
    return loop


def random_polygon(rng: random.Random) -> list[list[Point]]:
    """A polygon with up to three holes, the inside on the left of all lines."""
    while True:
        outer = random_loop(rng, rng.randint(3, 11), (0, 0), 60)
        if outer is None:
            continue
        loops = [outer]
        paper = as_shapely(loops)
        for _ in range(rng.choice([0, 0, 1, 2, 3])):
            hole = random_loop(rng, rng.randint(3, 6), (rng.randint(-30, 30), rng.randint(-30, 30)), rng.uniform(3, 12))
            if hole is not None and as_shapely([hole]).buffer(0.5).within(paper):
                loops.append(hole[::-1])
                paper = as_shapely(loops)
        return loops


def floats(loop: Iterable[Point]) -> list[tuple[float, float]]:
    return [(float(p.x), float(p.y)) for p in loop]


def as_shapely(loops: Sequence[Sequence[Point]]) -> Any:
    return shapely.Polygon(floats(loops[0]), [floats(hole) for hole in loops[1:]])


def of_loops(loops: Sequence[Sequence[Point]]) -> Figure:
    return figure(*[[(p.x, p.y) for p in loop] for loop in loops])


def sfcgal_segments(loops: Sequence[Sequence[Point]]) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    found = sfcgal.Polygon(floats(loops[0]), [floats(hole) for hole in loops[1:]]).straight_skeleton()
    lines = shapely.from_wkt(found.to_wkt(12))
    return [(line.coords[0][:2], line.coords[-1][:2]) for line in lines.geoms]


def close(ours: Iterable[tuple[float, ...]], theirs: Iterable[tuple[float, ...]], within: float) -> None:
    """The same sets, within the precision."""
    ours, theirs = list(ours), list(theirs)
    assert ours
    for first, second in ((ours, theirs), (theirs, ours)):
        for a in first:
            assert min(math.dist(a, b) for b in second) < within


@cache
def random_loops(seed: int) -> list[list[Point]]:
    return random_polygon(random.Random(seed))


def nodes_of(skeleton: Skeleton) -> list[tuple[float, float, float]]:
    return [(float(x), float(y), float(t)) for x, y, t in inner(skeleton)]


def test_random_polygons_agree_with_sfcgal() -> None:
    """Inner nodes and lengths of arcs as SFCGAL (CGAL's straight skeleton) has them."""
    number = share(200)
    holes, generic = 0, 0
    for loops in map(random_loops, range(number)):
        skeleton = skeleton_of(*of_loops(loops))
        corners = [c for loop in loops for c in floats(loop)]
        nodes = nodes_of(skeleton)
        arcs = [(floats([a])[0], floats([b])[0]) for a, b in inner_arcs(skeleton)]
        segments = sfcgal_segments(loops)
        close([*corners, *[n[:2] for n in nodes]], [p for s in segments for p in s], 1e-6)
        assert sum(math.dist(*s) for s in segments) == pytest.approx(sum(math.dist(*a) for a in arcs), rel=1e-9)
        holes += len(loops) > 1
        if len(loops) == 1:
            # Aichholzer et al. 1995: a polygon with n edges has n - 2 nodes and 2n - 3 arcs, unless nodes coincide
            n = len(loops[0])
            degrees = Counter(p for arc in inner_arcs(skeleton) for p in arc)
            if max(degrees.values()) == 3:
                generic += 1
                assert (len(nodes), len(arcs)) == (n - 2, 2 * n - 3)
    assert holes > number / 4
    assert generic > number / 4


def test_random_polygons_agree_with_py_straight_skeleton() -> None:
    """Nodes, and the times at which the front reaches them."""
    library = pytest.importorskip("py_straight_skeleton")
    for loops in map(random_loops, range(share(200))):
        other = library.compute_skeleton(floats(loops[0]), [floats(hole) for hole in loops[1:]])
        theirs = [(s.position.x, s.position.y, s.time) for s in other.nodes if s.time > 1e-9]
        close(nodes_of(skeleton_of(*of_loops(loops))), theirs, 1e-4)


def test_the_definition_on_random_polygons() -> None:
    for loops in map(random_loops, range(share(200))):
        check_definition(skeleton_of(*of_loops(loops)))


def test_offset_before_the_first_event_is_the_mitred_buffer() -> None:
    """shapely (GEOS): negative and positive buffers with mitred joins."""
    for loops in map(random_loops, range(share(200))):
        skeleton = skeleton_of(*of_loops(loops))
        time = min(n.time for n in skeleton.nodes if n.time) * Fraction(9, 10)
        for parity, sign in ((0, -1), (1, 1)):
            places = {}
            for arc in skeleton.arcs:
                if not skeleton.nodes[arc.start].time and arc.left % 2 == parity:
                    start, v = skeleton.nodes[arc.start].place, arc.direction
                    places[start] = Point(start.x + time * v.x, start.y + time * v.y)
            moved = as_shapely([[places[p] for p in loop] for loop in loops])
            expected = as_shapely(loops).buffer(sign * float(time), join_style="mitre", mitre_limit=1e6)
            assert moved.symmetric_difference(expected).area < 1e-7 * expected.area


# degenerate figures on a grid


def random_cells(rng: random.Random, width: int) -> set[tuple[int, int]]:
    return {(x, y) for x in range(width) for y in range(width) if rng.random() < 0.55} or {(0, 0)}


def cell_lines(cells: set[tuple[int, int]]) -> list[tuple[Place, Place]]:
    """The unit edges between cells that are in and cells that are not, the cells on the left."""
    lines = []
    for x, y in cells:
        for (dx, dy), a, b in [
            ((0, -1), (0, 0), (1, 0)),
            ((1, 0), (1, 0), (1, 1)),
            ((0, 1), (1, 1), (0, 1)),
            ((-1, 0), (0, 1), (0, 0)),
        ]:
            if (x + dx, y + dy) not in cells:
                lines.append(((x + a[0], y + a[1]), (x + b[0], y + b[1])))
    return lines


@pytest.mark.parametrize("seed", range(12))
def test_cells_of_a_grid(seed: int) -> None:
    """Rings, pieces that touch at corners, and a needless point in every grid place."""
    check_definition(skeleton_of(*figure(paths=cell_lines(random_cells(random.Random(seed), 4)))))


def joined_cells(rng: random.Random) -> Any:
    """A connected rectilinear polygon without touching corners, holes allowed; as shapely has it."""
    while True:
        union = shapely.union_all([shapely.box(x, y, x + 1, y + 1) for x, y in random_cells(rng, 6)])
        piece = max(getattr(union, "geoms", [union]), key=lambda g: g.area)
        rings = [piece.exterior, *piece.interiors]
        points = [p for ring in rings for p in ring.coords[:-1]]
        if len(set(points)) == len(points) and len(points) > 6:
            return shapely.geometry.polygon.orient(piece.simplify(0))


def rings_of(polygon: Any) -> list[list[Point]]:
    return [[point(int(x), int(y)) for x, y in ring.coords[:-1]] for ring in (polygon.exterior, *polygon.interiors)]


def chamfered(loop: Sequence[Point], share: Fraction) -> list[Point]:
    """Every corner cut off at 45 degrees."""
    result = []
    for i, p in enumerate(loop):
        for q in (loop[i - 1], loop[(i + 1) % len(loop)]):
            step = difference(q, p)
            size = abs(step.x) + abs(step.y)
            result.append(Point(p.x + step.x / size * share, p.y + step.y / size * share))
    return result


@pytest.mark.parametrize("seed", range(30))
def test_rectilinear_polygons_agree_with_a_library(seed: int) -> None:
    """Everything happens at once here. SFCGAL again."""
    loops = rings_of(joined_cells(random.Random(seed)))
    skeleton = skeleton_of(*of_loops(loops))
    arcs = [(floats([a])[0], floats([b])[0]) for a, b in inner_arcs(skeleton)]
    segments = sfcgal_segments(loops)
    assert sum(math.dist(*s) for s in segments) == pytest.approx(sum(math.dist(*a) for a in arcs), rel=1e-9)
    close([p for a in arcs for p in a], [p for s in segments for p in s], 1e-9)
    if seed < 8:
        check_definition(skeleton)


@pytest.mark.parametrize("seed", range(8))
def test_figures_of_45_degrees(seed: int) -> None:
    rng = random.Random(seed)
    loops = [chamfered(loop, rng.choice([Fraction(1, 4), Fraction(1, 3)])) for loop in rings_of(joined_cells(rng))]
    skeleton = skeleton_of(*of_loops(loops))
    assert {x.field.name for side in skeleton.sides for x in side.direction if not x.is_rational} == {"sqrt(2)"}
    arcs = [(floats([a])[0], floats([b])[0]) for a, b in inner_arcs(skeleton)]
    segments = sfcgal_segments(loops)
    assert sum(math.dist(*s) for s in segments) == pytest.approx(sum(math.dist(*a) for a in arcs), rel=1e-6)
    check_definition(skeleton)


def grid_figure(rng: random.Random, width: int, share: float, diagonals: bool) -> list[tuple[Place, Place]]:
    """Some of the lines of a grid: open lines, slits, crosses, T-shapes, rings, all at once."""
    lines: list[tuple[Place, Place]] = []
    for x in range(width):
        for y in range(width):
            if x + 1 < width and rng.random() < share:
                lines.append(((x, y), (x + 1, y)))
            if y + 1 < width and rng.random() < share:
                lines.append(((x, y), (x, y + 1)))
            if diagonals and x + 1 < width and y + 1 < width and rng.random() < share:
                lines.append(rng.choice([((x, y), (x + 1, y + 1)), ((x + 1, y), (x, y + 1))]))
    return lines or [((0, 0), (1, 0))]


@pytest.mark.parametrize("diagonals", [False, True])
@pytest.mark.parametrize("share", [0.15, 0.35, 0.7])
@pytest.mark.parametrize("seed", range(5))
def test_any_lines_of_a_grid(seed: int, share: float, diagonals: bool) -> None:
    lines = grid_figure(random.Random(seed), 3 if diagonals else 4, share, diagonals)
    check_definition(skeleton_of(*figure(paths=lines)))


def open_figure(rng: random.Random) -> list[list[Place]]:
    """Up to four open trees of lines with rational unit vectors and lengths by chance.

    By chance, because at two equal lines from one place the reflex corners of both caps meet in one place; there the
    skeleton jumps when the figure is disturbed, and rounded libraries disagree with each other.
    """
    while True:
        paths: list[list[Place]] = []
        for _ in range(rng.randint(1, 4)):
            ends: list[Place] = [(rng.randint(-20, 20), rng.randint(-20, 20))]
            for _ in range(rng.randint(1, 5)):
                x, y = rng.choice(ends)
                d, size = whole_direction(rng.uniform(-math.pi, math.pi)), Fraction(rng.randint(200, 1400), 101)
                ends.append((x + size * d.x, y + size * d.y))
                paths.append([(x, y), ends[-1]])
        lines = [shapely.LineString([(float(x), float(y)) for x, y in path]) for path in paths]
        ends_of = [set(path) for path in paths]
        if all(
            # apart, or joined at an end with an angle of some degrees and nothing else
            lines[i].distance(lines[j]) > 0.1
            if not ends_of[i] & ends_of[j]
            else lines[i].buffer(0.05).intersection(lines[j]).length < 1
            for i in range(len(paths))
            for j in range(i)
        ):
            return paths


@pytest.mark.parametrize("seed", range(25))
def test_open_trees_of_lines(seed: int) -> None:
    check_definition(skeleton_of(*figure(paths=open_figure(random.Random(seed)))))


def test_a_front_cut_in_two_for_ever() -> None:
    """Kites over a long line: its upper front runs to infinity on both sides of them."""
    kites = [[(x, 2), (x + 3, 6), (x, 10), (x - 3, 6)] for x in (-20, 1, 17)]
    skeleton = skeleton_of(*figure(*kites, paths=[[(-60, 0), (60, 0)]]))
    upper = next(i for i, side in enumerate(skeleton.sides) if side.start == point(-60, 0) and side.end == point(60, 0))
    region = skeleton.region(upper)
    assert len(region.chains) == 3
    assert len(region.chains[1]) > 6
    check_definition(skeleton)


def thin_holes(paths: list[list[Place]], half: float) -> list[list[tuple[float, float]]]:
    """Open trees of lines as polygons of twice this width, with mitred corners and square ends, without needless
    points.
    """
    places = list(dict.fromkeys(place for path in paths for place in path))
    at = [(float(x), float(y)) for x, y in places]
    around: dict[int, list[tuple[float, int]]] = {i: [] for i in range(len(at))}
    for path in paths:
        for p, q in (path, path[::-1]):
            i, j = places.index(p), places.index(q)
            around[i].append((math.atan2(at[j][1] - at[i][1], at[j][0] - at[i][0]), j))
    for rays in around.values():
        rays.sort()
    todo = {(i, j) for i, rays in around.items() for _, j in rays}
    holes = []
    while todo:
        i, j = first = min(todo)
        hole: list[tuple[float, float]] = []
        while (i, j) in todo:
            todo.remove((i, j))
            ends = [k for _, k in around[j]]
            came, (goes, k) = around[j][ends.index(i)][0] + math.pi, around[j][ends.index(i) - 1]
            turns = [came, came - math.pi / 2, came - math.pi] if len(ends) == 1 else [came, goes]
            for a, b in pairwise(turns):
                # half way between the two directions, a quarter turn to the left: there the mitred corner lies
                bend = math.remainder(b - a, math.tau)
                reach, way = half / math.cos(bend / 2), a + bend / 2 + math.pi / 2
                if abs(bend) > 1e-3:
                    hole.append((at[j][0] + reach * math.cos(way), at[j][1] + reach * math.sin(way)))
            i, j = j, k
        assert (i, j) == first
        holes.append(hole)
    return holes


def framed_agreement(paths: list[list[Place]], half: int) -> None:
    """Open lines in a square frame, against SFCGAL's skeleton of the frame with very thin holes for the lines.

    Narrow angles magnify the width of the holes, 0.000002, some hundredfold.
    """
    frame = [(-half, -half), (half, -half), (half, half), (-half, half)]
    skeleton = skeleton_of(*figure(frame[-1:] + frame[:-1], paths=paths))
    check_definition(skeleton)
    sides = skeleton.sides
    inside = [a for a in skeleton.arcs if not {a.left, a.right} & {1, 3, 5, 7}]
    # a straight line through a vertex is two lines here and one edge of the thin hole: its square arc is ours alone
    square = [
        a for a in inside if sides[a.left].direction == sides[a.right].direction and not skeleton.nodes[a.start].time
    ]
    inside = [a for a in inside if a not in square]
    ends = {floats([skeleton.nodes[a.end].place])[0] for a in square if a.end is not None}
    arcs = [floats([skeleton.nodes[n].place for n in (a.start, a.end) if n is not None]) for a in inside]
    found = shapely.from_wkt(sfcgal.Polygon(frame, thin_holes(paths, 1e-6)).straight_skeleton().to_wkt(12))
    assert found.length == pytest.approx(sum(math.dist(*arc) for arc in arcs), rel=1e-5)
    close([p for arc in arcs for p in arc if p not in ends], [p for line in found.geoms for p in line.coords], 1e-3)


@pytest.mark.parametrize(
    "paths",
    [
        [[(-3, 1), (4, 1)]],
        [[(0, 0), (4, 0)], [(0, 0), (-3, 0)], [(0, 0), (0, 5)], [(0, 0), (0, -2)]],  # a cross
        [[(-4, 3), (0, 3)], [(0, 3), (5, 3)], [(0, 3), (0, -4)]],  # a T
        [[(-6, -1), (-2, -1)], [(-2, -1), (-2, 4)], [(2, 1), (5, 5)], [(1, -5), (4, -5)]],
        [[(0, 0), (4, 3)], [(0, 0), (-4, 3)], [(0, 0), (0, -5)]],
    ],
)
def test_open_lines_agree_with_thin_holes(paths: list[list[Place]]) -> None:
    framed_agreement(paths, 9)


@pytest.mark.parametrize("seed", range(25))
def test_open_trees_agree_with_thin_holes(seed: int) -> None:
    framed_agreement(open_figure(random.Random(seed)), 120)


def test_nested_rings() -> None:
    """Square rings in each other, sizes 2 a, gaps g: between two of them the fronts meet in a square of ridges at time
    g/2.
    """

    def square(a: int) -> list[Place]:
        return [(-a, -a), (a, -a), (a, a), (-a, a)]

    skeleton = skeleton_of(*figure(square(1), square(3), square(7)))
    expected = {(0, 0, 1)} | {(sx * m, sy * m, t) for m, t in ((2, 1), (5, 2)) for sx in (1, -1) for sy in (1, -1)}
    assert {(n.place.x, n.place.y, n.time) for n in skeleton.nodes if n.time} == expected
    check_definition(skeleton)


# the figure moved


def named_arcs(
    skeleton: Skeleton, move: Callable[[Point], Point], line: Callable[[int], int], mirrored: bool
) -> set[Any]:
    found = set()
    zero = move(point(0, 0))

    def side(s: int) -> tuple[int, int] | Point:
        number = skeleton.sides[s].line
        return move(skeleton.sides[s].start) if number < 0 else (line(number), (s + mirrored) % 2)

    for a in skeleton.arcs:
        start, left, right = move(skeleton.nodes[a.start].place), side(a.left), side(a.right)
        if mirrored:
            left, right = right, left
        level = a.end is not None and skeleton.nodes[a.start].time == skeleton.nodes[a.end].time
        if a.end is None:
            found.add((start, difference(move(a.direction), zero), left, right))
        elif level:  # ridges have two equal ends
            end = move(skeleton.nodes[a.end].place)
            found.add((start, end, left, right))
            found.add((end, start, right, left))
        else:
            found.add((start, move(skeleton.nodes[a.end].place), left, right))
    return found


@pytest.mark.parametrize("seed", range(8))
def test_a_moved_figure_has_the_moved_skeleton(seed: int) -> None:
    """Rotation by the angle of the 3-4-5 triangle, and mirroring, and the lines in another order."""
    rng = random.Random(seed)
    points, lines = figure(paths=grid_figure(rng, 4, 0.4, False))
    skeleton = skeleton_of(points, lines)
    order = list(range(len(lines)))
    rng.shuffle(order)
    for mirrored in (False, True):
        flip = -1 if mirrored else 1

        def move(p: Point, flip: int = flip) -> Point:
            return Point((3 * p.x - 4 * flip * p.y) / 5 + 7, (4 * p.x + 3 * flip * p.y) / 5 - 2)

        moved = skeleton_of([move(p) for p in points], [lines[i] for i in order])
        expected = named_arcs(skeleton, move, lambda i: i, mirrored)
        assert named_arcs(moved, lambda p: p, lambda i: order[i], False) == expected
        nodes = {(move(n.place), n.time) for n in skeleton.nodes}
        assert {(n.place, n.time) for n in moved.nodes} == nodes


@pytest.mark.parametrize("size", [10**400, Fraction(1, 10**400)])
def test_a_figure_beyond_floats_has_the_skeleton_of_its_size(size: int | Fraction) -> None:
    """Similar figures have similar skeletons; floats only leave out what certainly does not happen."""
    points, lines = figure(paths=grid_figure(random.Random(3), 4, 0.4, True))
    skeleton = skeleton_of(points, lines)
    scaled = skeleton_of([Point(size * p.x, size * p.y) for p in points], lines)
    nodes = {(size * n.place.x, size * n.place.y, size * n.time) for n in skeleton.nodes}
    assert {(n.place.x, n.place.y, n.time) for n in scaled.nodes} == nodes
    assert len(scaled.arcs) == len(skeleton.arcs)


@pytest.mark.parametrize("more", [Fraction(1, 10**20), -Fraction(1, 10**20)])
def test_events_that_floats_cannot_tell_apart(more: Fraction) -> None:
    """A ridge runs along the longer sides of a rectangle, between the places where bisectors meet, however short."""
    wide = 2 + more
    points, lines = figure([(0, 0), (wide, 0), (wide, 2), (0, 2)])
    skeleton = skeleton_of(points, lines)
    near = Fraction(min(wide, 2)) / 2
    inner = {(*node.place, node.time) for node in skeleton.nodes if node.time}
    assert inner == {(near, near, near), (wide - near, 2 - near, near)}


# number fields


def star_texts() -> list[tuple[str, str]]:
    texts = []
    for k in range(5):
        for degrees, radius in ((90 + 72 * k, "40"), (126 + 72 * k, "40*cos(2*pi/5)/cos(pi/5)")):
            texts.append((f"{radius}*cos(pi*{degrees}/180)", f"{radius}*sin(pi*{degrees}/180)"))
    return texts


def test_the_five_point_star() -> None:
    texts = star_texts()
    reading = read_numbers([t for pair in texts for t in pair])
    points = [Point(reading.numbers[x], reading.numbers[y]) for x, y in texts]
    skeleton = skeleton_of(points, [(i, (i + 1) % 10) for i in range(10)], reading.tower)
    assert skeleton.sides[0].direction.x.field.degree == 4
    # all ten lines are as far from the middle as the sides of the pentagram's pentagon: 40 cos 72°
    expected = read_numbers(["40*cos(2*pi/5)"]).numbers["40*cos(2*pi/5)"]
    assert [(n.place.x, n.place.y, n.time) for n in skeleton.nodes[10:]] == [(0, 0, expected)]
    assert len(skeleton.arcs) == 20
    check_definition(skeleton)


def test_unit_vectors_extend_the_field_only_as_far_as_needed() -> None:
    reading = read_numbers(["sqrt(2)"])
    root = reading.numbers["sqrt(2)"]
    points = [Point(Number.of(0), Number.of(0)), Point(root, root), Point(Number.of(1), root), point(3, 4), point(1, 2)]
    same, units = unit_vectors(points, [(0, 1), (0, 3)], reading.tower)
    assert same == points
    assert units[1] == point(Fraction(3, 5), Fraction(4, 5))
    assert units[0].x.field.name == "sqrt(2)"
    moved, units = unit_vectors(points, [(0, 1), (0, 2), (0, 4)], reading.tower)
    assert moved == points
    for p, d in zip((moved[1], moved[2], moved[4]), units, strict=True):
        assert dot(d, d) == 1
        assert p.x * d.y == p.y * d.x
        assert dot(p, d) > 0
    assert units[0].x.field.degree == 1 or units[2].x.field.degree == 8  # of sqrt 2, sqrt 3 and sqrt 5


def test_a_field_too_large_is_a_declared_limit() -> None:
    points, lines = figure([(0, 0), (4, 1), (1, 3)])
    with pytest.raises(LimitReached, match="degree = 4"):
        skeleton_of(points, lines, limits=Limits(degree=4))
    check_definition(skeleton_of(points, lines))
