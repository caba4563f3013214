"""The kernel's table of the folded sheet, on random polygons that lie over and beside each other, against shapely."""

from __future__ import annotations

import math
import random
from fractions import Fraction
from itertools import accumulate, combinations, pairwise, permutations, product
from types import SimpleNamespace

import networkx
import pytest
import shapely

from tests.profiles import some
from verify.kernel.boxes import FINE, Box, Boxes, Places, box_of, has, hull, members
from verify.kernel.folded import Fold
from verify.kernel.numbers import Algebraic, Field
from verify.kernel.plane import Point
from verify.kernel.reading import Work
from verify.kernel.subdivision import BORDER, counter_clockwise
from verify.kernel.table import Table

RATIONALS = Field((0, 1), Fraction(0), Fraction(0), Work(0, 0))
Place = tuple[int, int]


def polygon(rng: random.Random, size: int) -> list[Place]:
    """The corners of a convex polygon with an interior on a small grid; seen from the front or from the back."""
    while True:
        hull = shapely.MultiPoint(
            [(rng.randrange(size), rng.randrange(size)) for _ in range(rng.randint(3, 6))]
        ).convex_hull
        if hull.area > 0:
            corners = [(int(x), int(y)) for x, y in hull.exterior.coords[:-1]]
            return corners[:: rng.choice((1, -1))]


def table(rng: random.Random, polygons: list[list[Place]]) -> Table:
    """The table of some faces, each with vertices of its own; the places have random denominators."""
    images: list[Point] = []
    faces, edges, beside = [], [], []
    for f, corners in enumerate(polygons):
        faces.append(tuple(range(len(images), len(images) + len(corners))))
        for v, (x, y) in enumerate(corners):
            w = rng.randint(1, 3)
            images.append((x * w, y * w, w))
            edges.append((faces[f][v], faces[f][(v + 1) % len(corners)]))
            beside.append((f, BORDER))
    return table_of(images, faces, edges, beside)


def table_of(
    images: list[Point], faces: list[tuple[int, ...]], edges: list[tuple[int, int]], beside: list[tuple[int, int]]
) -> Table:
    """The table of faces, by the images of their vertices and the faces beside their edges."""
    of_face = [[e for e, sides in enumerate(beside) if f in sides] for f in range(len(faces))]
    sub = SimpleNamespace(
        faces=faces,
        edges=edges,
        beside=beside,
        target=frozenset[int](),
        face_edges=of_face.__getitem__,
        is_inner=lambda e: BORDER not in beside[e],
    )
    return Table(RATIONALS, sub, Fold(images, frozenset()))  # type: ignore[arg-type]


def scattered(rng: random.Random, count: int) -> list[list[Place]]:
    """Polygons in one of three places far apart, along which some of their edges are on one line."""
    found = []
    for _ in range(count):
        away = rng.choice((0, 20, 50))
        found.append([(x + away, y) for x, y in polygon(rng, rng.choice((3, 5)))])
    return found


def sides(field: Field, points: list[Point], p: Point, q: Point) -> dict[int, int]:
    """Of each point its side of the line through p and q."""
    clusters = Places(field, points, [0] * len(points)).sides(p, q)
    found = [(number, sign) for cluster, sign in clusters for number in cluster.numbers]
    assert sorted(number for number, _ in found) == [*range(len(points))]
    return dict(found)


def thick(*shapes: shapely.Geometry) -> bool:
    """Whether some shapes have an area in common. On a grid of 10 it is 0 or at least 1/10^9."""
    return shapely.intersection_all(list(shapes)).area > 1e-7


@pytest.mark.parametrize("seed", some(range(60)))
def test_overlaps_crossings_and_common_points(seed: int) -> None:
    rng = random.Random(seed)
    polygons = [polygon(rng, rng.choice((3, 4, 6))) for _ in range(7)]
    found, shapes = table(rng, polygons), [shapely.Polygon(p) for p in polygons]
    assert not any(found.overlap(f, f) for f in range(7))
    for f, g in permutations(range(7), 2):
        assert found.overlap(f, g) == thick(shapes[f], shapes[g])
        assert has(found.overlaps(f), g) == thick(shapes[f], shapes[g])
    for f, g, h in combinations(range(7), 3):
        assert found.common(f, g, h) == thick(shapes[f], shapes[g], shapes[h])
    for e, (u, v) in enumerate(found.sub.edges):
        (a, b, _), (c, d, _) = (
            tuple(Fraction(x, p[2]) for x in p) for p in (found.fold.images[u], found.fold.images[v])
        )  # type: ignore[arg-type]
        edge = shapely.LineString([(a, b), (c, d)])
        for f, shape in enumerate(shapes):  # the mean of what they share is inside, or on the border
            inner = edge.intersection(shape)
            assert found.crosses(e, f) == (
                inner.length > 1e-7 and shape.contains(inner.interpolate(0.5, normalized=True))
            )


@pytest.mark.parametrize("seed", range(20))
def test_points_inside_a_face(seed: int) -> None:
    rng = random.Random(seed)
    polygons = [polygon(rng, 5) for _ in range(3)]
    found = table(rng, polygons)
    for x in range(9):
        for y in range(9):
            for f, corners in enumerate(polygons):
                assert found.has(f, (x, y, 2)) == shapely.Polygon(corners).contains(shapely.Point(x / 2, y / 2))


@pytest.mark.parametrize("seed", range(20))
def test_ranks_along_a_line(seed: int) -> None:
    """Places on a line stand in order along it, equal ones with one number."""
    rng = random.Random(seed)
    found = table(rng, scattered(rng, 8))
    ends = [{u, v} for u, v in found.sub.edges]
    for e, n in enumerate(found.line_of):
        cutter = found.lines[n]
        assert e in cutter.edges
        a, b, c = cutter.line
        at = {k: (Fraction(p[0], p[2]), Fraction(p[1], p[2])) for k, p in enumerate(found.fold.images)}
        on = {k: p for k, p in at.items() if p[0] * a + p[1] * b + c == 0}
        assert cutter.vertices == on.keys()
        places = sorted(set(on.values()), key=lambda p: p[0] * b - p[1] * a)
        ranks = found.ranks(n)
        assert {k: places.index(p) for k, p in on.items()} in (
            ranks,
            {k: len(places) - 1 - r for k, r in ranks.items()},
        )
        assert cutter.edges == {d for d, both in enumerate(ends) if both <= on.keys()}


@pytest.mark.parametrize("seed", range(20))
def test_which_way_a_loop_goes_round(seed: int) -> None:
    """Polygons with corners that point inwards, from every corner on, both ways."""
    rng = random.Random(seed)
    far = [rng.choice((2, 5, 9)) for _ in range(8)]
    ways = [(1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1)]
    loop: list[Point] = [
        (r * x * w, r * y * w, w) for r, (x, y) in zip(far, ways, strict=True) for w in [rng.randint(1, 3)]
    ]
    assert shapely.LinearRing([(int(x) / w, int(y) / w) for x, y, w in loop]).is_ccw
    # Two darts, in which a corner two away from the least one lies beyond the line of its edges.
    darts: list[list[Point]] = [
        [(0, 0, 1), (10, 0, 1), (1, 10, 1), (3, 2, 1)],
        [(0, 0, 1), (3, -2, 1), (1, -10, 1), (10, 0, 1)],
    ]
    for of in (loop, *darts):
        for i in range(len(of)):
            assert counter_clockwise(RATIONALS, of[i:] + of[:i])
            assert not counter_clockwise(RATIONALS, (of[i:] + of[:i])[::-1])


def test_a_line_that_no_place_lies_on_has_no_ranks() -> None:
    found = table(random.Random(1), [[(0, 0), (2, 0), (0, 2)]])
    n = found.add_line((0, 1, 1), (1, 0, 1))
    assert (found.ranks(n), found.lines[n].edges, {*members(found.astride(n))}) == ({}, set(), {0})


def test_a_line_serves_all_edges_on_it() -> None:
    triangle = [(0, 0), (2, 0), (0, 2)]
    made = table(random.Random(1), [triangle, triangle])
    assert len(made.lines) == 3
    assert made.line_of == [0, 1, 2, 0, 1, 2]
    # Edges on it may lie far apart, and go the other way.
    made = table(random.Random(1), [triangle, [(90, 0), (99, 0), (90, 2)], [(50, 0), (40, 0), (50, 2)]])
    assert made.line_of[0] == made.line_of[3] == made.line_of[6]
    assert len(made.lines) == 7


@pytest.mark.parametrize("count", [1, 5, 64, 1_000])
def test_sides_of_a_line_count_as_work_by_what_is_looked_at(count: int) -> None:
    """The bound of SPECIFICATION §11: one for all places if none is near the line; for few on it, their clusters."""
    far: list[list[Place]] = [[(x, 9), (x + 1, 9), (x, 8)] for x in range(count)]
    made = table(random.Random(1), [*far, [(0, 0), (1, 0), (0, 1)]])
    before = made.field.work.left
    made.add_line((0, -5, 1), (1, -5, 1))
    assert before - made.field.work.left == 1
    made.add_line((0, 0, 1), (1, 0, 1))
    spent = before - made.field.work.left
    depth = math.ceil(math.log2(3 * (count + 1)))
    assert spent <= 1 + 1 + 2 * 3 * depth + 2  # three places on or near the line, and a sign for each of two on it


def test_edges_along_a_line_count_as_work_by_how_many_lists_they_stand_in() -> None:
    """The bound of SPECIFICATION §11: by the lists gone through, not by how far along the line they are."""
    made = table(random.Random(1), [[(0, 0), (2, 0), (0, 2)]])
    before = made.field.work.left
    assert made.along([(5, 7, 0), (6, 9, 1), (7, 8, 2)]) == {7: [0, 1], 8: [1, 2]}
    assert before - made.field.work.left == 2 + 2


@pytest.mark.parametrize("seed", range(40))
def test_edges_stand_together_where_they_share_a_stretch(seed: int) -> None:
    """The lists are the largest sets of edges each two of which share a segment, found by networkx."""
    rng = random.Random(seed)
    made = table(rng, [[(0, 0), (2, 0), (0, 2)]])
    spans = sorted((*sorted(rng.sample(range(12), 2)), e) for e in range(rng.randrange(12)))
    share = networkx.Graph()
    share.add_nodes_from(e for _, _, e in spans)
    share.add_edges_from((d, e) for (a, b, d), (p, q, e) in combinations(spans, 2) if max(a, p) < min(b, q))
    found = made.along(spans)
    assert sorted(map(sorted, found.values())) == sorted(map(sorted, networkx.find_cliques(share)))
    assert [*found] == sorted(found)


def test_places_along_a_line_count_as_work_by_how_often_two_are_compared() -> None:
    """The bound of SPECIFICATION §11: two for each two places compared, and one for the sign of a rational; then four
    for each edge on the line.
    """
    made = table(random.Random(1), [[(0, 0), (2, 0), (0, 2)]])
    before = made.field.work.left
    assert sorted(made.ranks(made.line_of[0]).values()) == [0, 1]
    assert before - made.field.work.left == 2 * (2 + 1)  # once to put them in order, once to tell them apart
    before = made.field.work.left
    assert made.spans(made.line_of[0]) == []  # none of the triangle's edges is an inner one
    assert before - made.field.work.left == 4


@pytest.mark.parametrize("seed", range(40))
def test_overlaps_and_shared_segments_of_faces_far_apart(seed: int) -> None:
    """All that meet are known to, and edges that share a segment know of each other."""
    rng = random.Random(seed)
    polygons = scattered(rng, 12)
    found, shapes = table(rng, polygons), [shapely.Polygon(p) for p in polygons]
    for f, g in permutations(range(12), 2):
        assert found.overlap(f, g) == thick(shapes[f], shapes[g])
    lines = [
        shapely.LineString(
            [(int(p[0]) / int(p[2]), int(p[1]) / int(p[2])) for p in (found.fold.images[u], found.fold.images[v])]
        )
        for u, v in found.sub.edges
    ]  # type: ignore[call-overload]
    for d, e in permutations(range(len(lines)), 2):
        n = found.line_of[d]
        share = e in found.lines[n].edges and found.gap(n, d, e)[0] > found.gap(n, d, e)[1]
        assert share == (lines[d].intersection(lines[e]).length > 1e-7)


def strip_table(rng: random.Random, lengths: list[int], kinds: str) -> Table:
    """Panels of these lengths in a row; of each crease between two: F is folded, - is not."""
    at = [0]
    for length, turns in zip(lengths, accumulate(kinds, lambda n, kind: n + (kind == "F"), initial=0), strict=True):
        at.append(at[-1] + (-1) ** turns * length)
    faces, edges, beside = [], [], []
    for f in range(len(lengths)):
        faces.append((2 * f, 2 * f + 2, 2 * f + 3, 2 * f + 1))
        edges += [(2 * f, 2 * f + 2), (2 * f + 3, 2 * f + 1)]
        beside += [(f, BORDER), (f, BORDER)]
    for i in range(len(at)):
        west, east = i - 1 if i else BORDER, i if i < len(lengths) else BORDER
        upwards = west != BORDER and (east == BORDER or rng.random() < 0.5)
        edges.append((2 * i, 2 * i + 1) if upwards else (2 * i + 1, 2 * i))
        beside.append((west, east) if upwards else (east, west))
    return table_of([(x, y, 1) for x in at for y in (0, 1)], faces, edges, beside)


@pytest.mark.parametrize("seed", range(20))
def test_panels_lie_over_each_other_as_far_as_their_stretches_do(seed: int) -> None:
    """A long panel lies over some that its short neighbour is far from."""
    rng = random.Random(seed)
    count = rng.randint(3, 8)
    lengths = [rng.choice((1, 2, 3, 10)) for _ in range(count)]
    found = strip_table(rng, lengths, "".join(rng.choice("FF-") for _ in range(count - 1)))
    xs = [int(x) for x, _, _ in found.fold.images[::2]]
    stretches = [sorted(ends) for ends in pairwise(xs)]
    for f, g in permutations(range(count), 2):
        share = min(stretches[f][1], stretches[g][1]) - max(stretches[f][0], stretches[g][0])
        assert found.overlap(f, g) == (share > 0)
        assert has(found.overlaps(f), g) == (share > 0)
    for e, (u, v) in enumerate(found.sub.edges):
        x, y = xs[u // 2], xs[v // 2]
        for f, (least, most) in enumerate(stretches):
            assert found.crosses(e, f) == (x == y and least < x < most)


def test_boxes() -> None:
    """Which meet which, against the definition; borders that touch meet."""
    rng = random.Random(5)
    boxes = []
    for _ in range(60):
        x, y = rng.randrange(30), rng.randrange(30)
        boxes.append(Box(x, x + rng.randrange(8), y, y + rng.randrange(8)))
    found = Boxes(boxes)
    for a in [*boxes, Box(31, 40, 31, 40), Box(-5, -1, 0, 99)]:
        meeting = {
            k
            for k, b in enumerate(boxes)
            if a.left <= b.right and b.left <= a.right and a.bottom <= b.top and b.bottom <= a.top
        }
        assert {*members(found.meeting(a))} == meeting
    assert hull(boxes) == Box(
        min(b.left for b in boxes), max(b.right for b in boxes), min(b.bottom for b in boxes), max(b.top for b in boxes)
    )


@pytest.mark.parametrize("reach", [3, 9, 40, 10**12])
@pytest.mark.parametrize("seed", range(5))
def test_sides_of_points_as_near_to_a_line_as_a_box_is_wide(seed: int, reach: int) -> None:
    """Places between the integers of boxes: a box that is taken for its corner has many of them on the wrong side."""
    rng = random.Random(seed)
    wrong = 0
    for _ in range(60):
        w = rng.choice((3, 4, 7)) << FINE
        points: list[Point] = [(rng.randint(-reach, reach), rng.randint(-reach, reach), w) for _ in range(12)]
        (a, b, _), (c, d, _) = points[:2]
        if (a, b) == (c, d):
            continue
        points.append((3 * c - 2 * a, 3 * d - 2 * b, w))  # on the line
        turns = [(c - a) * (y - b) - (d - b) * (x - a) for x, y, _ in points]
        found = sides(RATIONALS, points, points[0], points[1])
        assert [found[k] for k in range(len(points))] == [(t > 0) - (t < 0) for t in turns]
        low = [(box.left, box.bottom) for box in (box_of(RATIONALS, point) for point in points)]
        (a, b), (c, d) = low[:2]
        rough = [(c - a) * (y - b) - (d - b) * (x - a) for x, y in low]
        wrong += sum(r * t < 0 for r, t in zip(rough, turns, strict=True))
    assert (wrong > 0) == (reach < 10**12)


def test_sides_of_points_one_unit_of_a_box_apart() -> None:
    """Where boxes are points, the smallest turn that there is decides."""
    unit = 1 << FINE
    points: list[Point] = [(0, 0, unit), (1, 0, unit), (0, 1, unit), (0, -1, unit), (2, 0, unit)]
    assert Places(RATIONALS, points, [0] * 5).blur == 0
    assert sides(RATIONALS, points, points[0], points[1]) == {0: 0, 1: 0, 2: 1, 3: -1, 4: 0}


@pytest.mark.parametrize("across", [-2, -1, 0, 1, 2])
@pytest.mark.parametrize("up", [-1, 1, 2])
def test_sides_of_points_a_few_units_of_a_box_apart(across: int, up: int) -> None:
    """Nothing is in doubt there, so clusters are told by their boxes alone."""
    places = [*product(range(-4, 5), range(-2, 3))]
    points: list[Point] = [(x, y, 1 << FINE) for x, y in places]
    found = sides(RATIONALS, points, (0, 0, 1), (across, up, 1 << FINE))
    turns = [across * y - up * x for x, y in places]
    assert [found[k] for k in range(len(points))] == [(t > 0) - (t < 0) for t in turns]


@pytest.mark.parametrize(
    ("places", "turn"),
    [
        ([(62, 77), (67, 18), (68, 6)], -1),  # a steep line
        ([(77, 62), (18, 67), (6, 68)], 1),  # a flat one
        ([(1, 0), (2, 0), (3, 0)], 0),  # all in one box, which is flat
    ],
)
def test_sides_of_a_point_so_near_to_a_line_that_boxes_would_tell_wrongly(
    places: list[tuple[int, int]], turn: int
) -> None:
    """In quarters of what boxes are wide; found by trials, where less room for doubt is too little."""
    (a, b), (c, d), (x, y) = places
    cross = (c - a) * (y - b) - (d - b) * (x - a)
    assert (cross > 0) - (cross < 0) == turn
    points: list[Point] = [(x, y, 4 << FINE) for x, y in places]
    assert sides(RATIONALS, points, points[0], points[1])[2] == turn


def test_sides_of_points_in_a_field() -> None:
    """Against floats, where these cannot err; the ends of the line are none of the points, and lie far from them."""
    rng = random.Random(7)
    root2 = Field((-2, 0, 1), Fraction(1), Fraction(2), Work(0, 0))

    def number() -> Algebraic:
        return Algebraic(root2, (rng.randrange(-50, 50), rng.randrange(-50, 50)))

    points: list[Point] = [(number(), number(), rng.randint(1, 5)) for _ in range(40)]
    at = []
    for x, y, w in points:
        (a, b), (c, d) = x.c, y.c  # type: ignore[union-attr]
        at.append(((a + b * 2**0.5) / w, (c + d * 2**0.5) / w))  # type: ignore[operator]
    for i, j in combinations(range(20, 40), 2):
        (a, b), (c, d) = at[i], at[j]
        for k, sign in sides(root2, points[:20], points[i], points[j]).items():
            turn = (c - a) * (at[k][1] - b) - (d - b) * (at[k][0] - a)
            assert abs(turn) > 1e-6
            assert sign * turn > 0


@pytest.mark.parametrize("steps", [100, 104, 110])
@pytest.mark.parametrize("first", [-40, -400])
@pytest.mark.parametrize("seed", range(4))
def test_sides_where_boxes_are_wide(seed: int, first: int, steps: int) -> None:
    """Each place is a small whole number and a power of sqrt(2) - 1 that is nearly 0, whose coefficients are so long
    that boxes are up to thousands of units wide. Sides are those of the whole numbers.
    """
    rng = random.Random(seed)
    root2 = Field((-2, 0, 1), Fraction(1), Fraction(2), Work(0, 0))
    a, b = 1, 0
    for _ in range(steps):
        a, b = 2 * b - a, a - b
    whole = [(first + rng.randrange(80), first + rng.randrange(80)) for _ in range(16)]

    def near(n: int) -> Algebraic:
        times = rng.choice((-3, -2, -1, 1, 2, 3))
        return Algebraic(root2, (n + times * a, times * b))

    points: list[Point] = [(near(x), near(y), 1 << FINE) for x, y in whole]
    assert Places(root2, points, [0] * 16).blur > 1
    for i, j in combinations(range(16), 2):
        (x, y), (z, w) = whole[i], whole[j]
        for k, sign in sides(root2, points, points[i], points[j]).items():
            turn = (z - x) * (whole[k][1] - y) - (w - y) * (whole[k][0] - x)
            assert not turn or sign * turn > 0


@pytest.mark.parametrize(("c", "w"), [((1, 1), 1), ((-3, 2), 7), ((10**40, -(10**40)), 3), ((5, 0), 9)])
def test_a_box_holds_its_point(c: tuple[int, int], w: int) -> None:
    root2 = Field((-2, 0, 1), Fraction(1), Fraction(2), Work(0, 0))
    for x in (Algebraic(root2, c), c[0]):
        left, right, bottom, top = box_of(root2, (x, x * -1, w))
        for low, high, y in ((left, right, x), (bottom, top, x * -1)):
            assert root2.sign(y * 2**FINE - low * w) >= 0 >= root2.sign(y * 2**FINE - high * w)
            assert high - low <= 2 + abs(c[1]) // 10**20
