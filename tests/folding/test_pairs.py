"""Pairs of overlapping faces, lines and circles of layers, each against a few plain lines that do the same."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations, permutations

import networkx as nx
import numpy as np
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry.polygon import orient

from tests.families import miura
from tests.profiles import examples
from verify.exact.batch import Sides
from verify.exact.number import Number
from verify.exact.plane import Point, orientation
from verify.folding.circles import circles
from verify.folding.common import CommonPoints, have_nothing_inside, surely_apart, surely_common
from verify.folding.crossing import crossing_conditions
from verify.folding.foldmap import fold_map
from verify.folding.lines import first_on_line
from verify.folding.order import find_order
from verify.folding.overlaps import Outlines, Overlaps
from verify.folding.pairs import Above, FacePairs
from verify.folding.stack import LayerOrder, order_of_relation, peel
from verify.pattern.arrangement import subdivide
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.pattern.families import stamps, strip
from verify.pattern.limits import Limits
from verify.pattern.recipe import load_any


def overlaps_of(document: Document, limits: Limits = Limits()) -> Overlaps:
    return Overlaps(fold_map(subdivide(draw(document, limits), limits)))


@st.composite
def relations(draw: st.DrawFn) -> tuple[list[int], set[tuple[int, int]]]:
    """Classes of faces, and which classes overlap."""
    class_of = draw(st.lists(st.integers(0, 4), min_size=1, max_size=12))
    class_of = np.unique(class_of, return_inverse=True)[1].tolist()
    every = list(combinations(range(max(class_of) + 1), 2))
    return class_of, draw(st.sets(st.sampled_from(every))) if every else set()


@given(relations(), st.randoms())
def test_pairs_and_their_numbers(relation: tuple[list[int], set[tuple[int, int]]], random: object) -> None:
    class_of, met = relation
    one, two = np.array(sorted(met), dtype=np.intp).reshape(-1, 2).T
    pairs = FacePairs(np.array(class_of), one, two)

    def overlap(f: int, g: int) -> bool:
        c, d = sorted((class_of[f], class_of[g]))
        return f != g and (c == d or (c, d) in met)

    faces = range(len(class_of))
    expected = [(f, g) for f, g in combinations(faces, 2) if overlap(f, g)]
    assert list(zip(pairs.first.tolist(), pairs.second.tolist(), strict=True)) == expected
    first, second = np.array(expected, dtype=np.intp).reshape(-1, 2).T
    assert pairs.numbers(second, first).tolist() == list(range(len(expected)))
    holds = np.array([random.random() < 0.5 for _ in expected], dtype=bool)  # type: ignore[attr-defined]
    above = Above(pairs, holds)
    over = {pair if up else pair[::-1] for pair, up in zip(expected, holds.tolist(), strict=True)}
    for f in faces:
        assert pairs.over(f).tolist() == [g for g in faces if overlap(f, g)]
        assert above.over(f).tolist() == [g for g in faces if (g, f) in over]
        assert above.under(f).tolist() == [g for g in faces if (f, g) in over]
    table = above[np.arange(len(class_of))[:, None], np.arange(len(class_of))]
    assert {(f, g) for f, g in np.argwhere(table).tolist()} == over
    assert list(zip(*(x.tolist() for x in above.nonzero()), strict=True)) == sorted(over)
    graph = nx.DiGraph(sorted(over))
    round_ = {f for part in nx.strongly_connected_components(graph) if len(part) > 1 for f in part}
    left = set(peel(above).tolist())
    assert round_ <= left
    assert bool(round_) == bool(left)


numbers = st.builds(Fraction, st.integers(-4, 4), st.integers(1, 3))
nearly = st.builds(lambda x, e: x + e, numbers, st.sampled_from([0, Fraction(1, 10**17), Fraction(-1, 10**40)]))


@given(st.lists(st.tuples(nearly, nearly), min_size=2, max_size=7, unique=True))
def test_segments_on_one_line(raw: list[tuple[Fraction, Fraction]]) -> None:
    """Also where places differ by far less than floats can tell."""
    points = [Point(Number.of(x), Number.of(y)) for x, y in raw]
    segments = list(combinations(range(len(points)), 2))

    def on_one_line(one: tuple[int, int], other: tuple[int, int]) -> bool:
        return all(orientation(points[one[0]], points[one[1]], points[k]) == 0 for k in other)

    expected = [next(i for i, one in enumerate(segments) if on_one_line(one, other)) for other in segments]
    assert first_on_line(Sides(points), np.array(segments, dtype=np.intp)).tolist() == expected


def test_three_faces_with_a_common_point(proofs) -> None:  # type: ignore[no-untyped-def]
    """What floats prove is so, and they prove nearly all that is."""
    proved = true = 0
    for name in ("lantern-twist", "star", "letter-t"):
        overlaps = overlaps_of(load_any(proofs / "certified" / f"{name}.toml"))
        pairs = overlaps.pairs
        triples = np.array(list(combinations(range(pairs.faces), 3)), dtype=np.int32)
        f, g, h = triples.T
        triples = triples[pairs.overlap(f, g) & pairs.overlap(g, h) & pairs.overlap(h, f)]
        having = [overlaps.common_point((a, b, c)) is not None for a, b, c in triples.tolist()]
        sure = surely_common(overlaps, triples)
        assert not (sure & ~np.array(having)).any()
        assert not (surely_apart(overlaps, triples) & np.array(having)).any()
        assert len(CommonPoints(overlaps).having(triples)) == sum(having)
        proved += int(sure.sum())
        true += sum(having)
    assert proved > 0.95 * true > 0


def test_three_triangles_that_have_nothing_in_common() -> None:
    """Against shapely's areas; three of six share a corner or a side with another one."""
    rng = np.random.default_rng(1)
    parted = shared = 0
    tries = 300
    for number in range(tries):
        corners = rng.uniform(-0.7, 0.7, (3, 3, 2))
        corners[1, : number % 3] = corners[0, : number % 3]
        triangles = [orient(shapely.Polygon(one)) for one in corners]
        places = np.array([complex(*p) for one in triangles for p in one.exterior.coords[:3]])
        a = np.arange(9)[None]
        b = np.array([[1, 2, 0, 4, 5, 3, 7, 8, 6]])
        (apart,) = have_nothing_inside(places, Outlines(a, a, b, np.ones((1, 9), dtype=np.int8)))
        one, two, three = triangles
        area = shapely.intersection_all([one, two, three]).area
        assert not (apart and area > 0)
        parted += apart
        shared += area > 0
    assert parted > 0.7 * (tries - shared) > 0
    assert shared > 20


@examples(30)
@given(st.lists(st.booleans(), min_size=36, max_size=36))
def test_circles_of_layers(up: list[bool]) -> None:
    """All triples that run in a circle, of faces that all have a common point."""
    overlaps = overlaps_of(stamps(3, 3))
    above = Above(overlaps.pairs, np.array(up))
    expected = {
        (f, g, h)
        for f, g, h in permutations(range(9), 3)
        if f < min(g, h) and above[f, g] and above[g, h] and above[h, f]
    }
    found = circles(above, peel(above), CommonPoints(overlaps)) if len(peel(above)) else np.zeros((0, 3))
    turned = {min(t[i:] + t[:i] for i in range(3)) for t in map(tuple, found.tolist())}
    assert turned == expected
    order = order_of_relation(overlaps, above)
    rank = {f: i for i, f in enumerate(order.stack)}
    assert sorted(order.stack) == list(range(9))
    for f, g in zip(*(x.tolist() for x in above.nonzero()), strict=True):
        assert (rank[f] < rank[g]) == ((f, g) in order.exceptions)


def test_memory_is_for_the_overlaps_that_there_are() -> None:
    """Nothing has a place for every two faces of a long strip, or for every line and corner."""
    import tracemalloc

    limits = Limits(faces=3_000)
    s = fold_map(subdivide(draw(strip([3, 1] * 1_000), limits), limits))
    tracemalloc.start()
    order = find_order(crossing_conditions(Overlaps(s)))
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert isinstance(order, LayerOrder)
    assert len(order.above) == 2_998  # each panel over the next and the next but two
    assert peak < 2_000 * 2_000 * 4


def test_images_that_coincide_are_looked_at_once() -> None:
    assert len(overlaps_of(stamps(9, 9)).pairs.classes[0]) == 0
    assert len(overlaps_of(miura(6, 6)).pairs.classes[0]) == 15
