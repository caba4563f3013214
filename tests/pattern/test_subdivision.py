"""The subdivision of random drawings: exact areas, Euler's formula, convex faces, and a second opinion from floats."""

from __future__ import annotations

import itertools
from fractions import Fraction
from typing import Any

import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

import verify
from tests.profiles import examples
from verify.exact.plane import orientation
from verify.kernel.statement import CORNERS
from verify.pattern.arrangement import subdivide
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.pattern.limits import LimitReached, Limits
from verify.pattern.recipe import read_any
from verify.pattern.source import Malformed
from verify.pattern.subdivision import Subdivision

Grid = tuple[int, int]

SHEETS: dict[str, tuple[list[Grid], list[list[Grid]]]] = {
    "square": ([(0, 0), (6, 0), (6, 6), (0, 6)], []),
    "clockwise": ([(0, 0), (0, 6), (6, 6), (6, 0)], []),
    "triangle": ([(0, 0), (6, 1), (2, 6)], []),
    "L": ([(0, 0), (6, 0), (6, 2), (2, 2), (2, 6), (0, 6)], []),
    "U": ([(0, 0), (6, 0), (6, 6), (4, 6), (4, 2), (2, 2), (2, 6), (0, 6)], []),
    "arrow": ([(0, 0), (6, 3), (0, 6), (2, 3)], []),
    "straight corner": ([(0, 0), (3, 0), (6, 0), (6, 6), (0, 6)], []),
    "one hole": ([(0, 0), (6, 0), (6, 6), (0, 6)], [[(2, 2), (4, 2), (4, 4), (2, 4)]]),
    "slanted hole": ([(0, 0), (6, 0), (6, 6), (0, 6)], [[(3, 1), (1, 3), (3, 5), (5, 3)]]),
    "two holes": ([(0, 0), (6, 0), (6, 6), (0, 6)], [[(1, 1), (2, 1), (1, 2)], [(5, 5), (4, 5), (4, 3), (5, 3)]]),
    "non-convex hole": ([(0, 0), (6, 0), (6, 6), (0, 6)], [[(1, 1), (5, 1), (5, 5), (3, 2)]]),
}
POINT = st.tuples(st.integers(0, 6), st.integers(0, 6))
SEGMENT = st.tuples(POINT, POINT).filter(lambda s: s[0] != s[1])


def paper(name: str) -> Any:
    outline, holes = SHEETS[name]
    return shapely.Polygon(outline, holes)


def document(name: str, creases: list[tuple[Grid, Grid, str]], paths: list[list[Grid]]) -> Document:
    outline, holes = SHEETS[name]
    names = {(x, y): f"p{x}{y}" for x in range(7) for y in range(7)}
    keys: dict[str, Any] = {
        "format": "creaseproof-pattern/1",
        "points": {n: list(p) for p, n in names.items()},
        "sheet": {"outline": [names[p] for p in outline], "holes": [[names[p] for p in hole] for hole in holes]},
        "creases": [[names[a], names[b], kind] for a, b, kind in creases],
    }
    if paths:
        keys["target"] = {"paths": [[names[p] for p in path] for path in paths]}
    return read_any(keys)


@st.composite
def drawings(draw_: st.DrawFn, kinds: tuple[str, ...] = ("flat",)) -> Document:
    """Random lines between grid points, those that lie on the sheet; creases share no segment."""
    name = draw_(st.sampled_from(sorted(SHEETS)))
    sheet = paper(name)
    creases: list[tuple[Grid, Grid, str]] = []
    for segment in draw_(st.lists(SEGMENT, max_size=6)):
        line = shapely.LineString(segment)
        on_border = line.intersection(sheet.boundary).length > 1e-9
        doubled = any(line.intersection(shapely.LineString(c[:2])).length > 1e-9 for c in creases)
        if sheet.covers(line) and not on_border and not doubled:
            creases.append((*segment, draw_(st.sampled_from(kinds))))
    paths = [list(s) for s in draw_(st.lists(SEGMENT, max_size=3)) if sheet.covers(shapely.LineString(s))]
    return document(name, creases, paths)


def shoelace(loop: list[tuple[Fraction, Fraction]]) -> Fraction:
    return sum((a[0] * b[1] - a[1] * b[0] for a, b in zip(loop, loop[1:] + loop[:1], strict=True)), Fraction(0)) / 2


def places(s: Subdivision, loop: tuple[int, ...]) -> list[tuple[Fraction, Fraction]]:
    return [(s.vertices[v].x.as_fraction(), s.vertices[v].y.as_fraction()) for v in loop]


@examples(250)
@given(drawings())
def test_areas_euler_and_convexity(drawn: Document) -> None:
    s = subdivide(draw(drawn))
    loops = [[tuple(map(Fraction, drawn.points[n])) for n in loop] for loop in (drawn.outline, *drawn.holes)]
    sheet = abs(shoelace(loops[0])) - sum(abs(shoelace(hole)) for hole in loops[1:])  # type: ignore[arg-type]
    areas = [shoelace(places(s, loop)) for loop in s.faces]
    assert all(area > 0 for area in areas)
    assert sum(areas) == sheet
    assert len(s.vertices) - len(s.edges) + len(s.faces) == 1 - len(drawn.holes)
    for loop in s.faces:
        assert len(set(loop)) == len(loop) >= 3
        for i in range(len(loop)):
            a, b = loop[i], loop[(i + 1) % len(loop)]
            assert all(orientation(s.vertices[a], s.vertices[b], s.vertices[v]) >= 0 for v in loop)
    for e in s.edges:
        assert (e.kind == "border") == (-1 in (e.left, e.right))
        assert e.left != e.right
    assert {v for loop in s.faces for v in loop} == set(range(len(s.vertices)))
    assert len(set(s.vertices)) == len(s.vertices)


@examples(150)
@given(drawings())
def test_lines_are_chains_of_edges(drawn: Document) -> None:
    s = subdivide(draw(drawn))
    for (a, b, kind), chain in zip(s.drawing.creases, s.crease_chains, strict=True):
        assert (s.vertices[chain[0]], s.vertices[chain[-1]]) == (a, b)
        for u, v in itertools.pairwise(chain):
            assert s.edges[s.edge_at[u, v]].kind == kind
            assert orientation(a, b, s.vertices[v]) == 0
    for number, ((a, b), chain) in enumerate(zip(s.drawing.target, s.target_chains, strict=True)):
        assert (s.vertices[chain[0]], s.vertices[chain[-1]]) == (a, b)
        for u, v in itertools.pairwise(chain):
            assert number in s.edges[s.edge_at[u, v]].target
    drawn_edges = sum(len(chain) - 1 for chain in s.crease_chains) + sum(len(chain) for chain in s.sheet_chains)
    on_target_only = sum(1 for e in s.edges if e.target and e.crease is None and e.kind == "flat")
    auxiliary = sum(1 for e in s.edges if e.is_auxiliary)
    assert len(s.edges) == drawn_edges + on_target_only + auxiliary


@examples(100)
@given(drawings())
def test_faces_against_shapely(drawn: Document) -> None:
    """Without auxiliary edges the faces are the polygons that the drawn lines cut the sheet into."""
    s = subdivide(draw(drawn))
    sheet = shapely.Polygon(
        [tuple(map(float, drawn.points[n])) for n in drawn.outline],
        [[tuple(map(float, drawn.points[n])) for n in hole] for hole in drawn.holes],
    )
    lines = [
        shapely.LineString([[float(c) for c in s.vertices[v]] for v in e.ends]) for e in s.edges if not e.is_auxiliary
    ]
    regions = [r for r in shapely.polygonize(lines).geoms if sheet.contains(r.representative_point())]
    faces = [shapely.Polygon([[float(c) for c in s.vertices[v]] for v in loop]) for loop in s.faces]
    if not any(e.is_auxiliary for e in s.edges):
        assert len(regions) == len(faces)
    assert len(faces) >= len(regions)
    assert shapely.unary_union(faces).symmetric_difference(sheet).area < 1e-9
    for one, other in itertools.combinations(faces, 2):
        assert one.intersection(other).area < 1e-9


@examples(150)
@given(drawings(kinds=("mountain", "valley", "either", "flat")))
def test_any_drawing_gets_a_verdict_that_the_kernel_accepts(drawn: Document) -> None:
    """The kernel checks the subdivision by itself: it must agree on every drawing."""
    result = verify.certify(drawn)
    assert result.verdict in ("certified", "refuted")
    assert result.certificate is not None
    outcome = verify.audit(drawn, result.certificate)
    assert outcome.accepted
    assert outcome.proves == result.verdict


@examples(60)
@given(drawings(), st.randoms(use_true_random=False))
def test_order_and_direction_of_the_lines_do_not_matter(drawn: Document, shuffle: Any) -> None:
    keys = drawn.keys()
    keys["creases"] = [[b, a, kind] if shuffle.random() < 0.5 else [a, b, kind] for a, b, kind in keys["creases"]]
    shuffle.shuffle(keys["creases"])
    one, other = subdivide(draw(drawn)), subdivide(draw(read_any(keys)))
    if not any(e.is_auxiliary for e in one.edges):
        assert set(one.vertices) == set(other.vertices)
        assert {frozenset(one.vertices[v] for v in f) for f in one.faces} == {
            frozenset(other.vertices[v] for v in f) for f in other.faces
        }


@examples(100)
@given(st.sampled_from(sorted(SHEETS)), SEGMENT)
def test_a_line_off_the_sheet_is_malformed(name: str, segment: tuple[Grid, Grid]) -> None:
    sheet, line = paper(name), shapely.LineString(segment)
    assume(line.intersection(sheet.boundary).length < 1e-9)
    one = document(name, [(*segment, "flat")], [])
    if sheet.covers(line):
        assert len(subdivide(draw(one)).crease_chains[0]) >= 2
    else:
        with pytest.raises(Malformed, match="off the sheet"):
            subdivide(draw(one))


def test_crossing_at_irrational_places(pattern: Any) -> None:
    drawn = pattern(
        [("-3", -3), (3, -3), (3, 3), (-3, 3)],
        [(("-sqrt(2)", -1), ("sqrt(3)", 2), "flat"), ((-2, "sqrt(2)"), (2, "-sqrt(3)"), "flat")],
    )
    s = subdivide(draw(drawn))
    (crossing,) = set(s.crease_chains[0][1:-1]) & set(s.crease_chains[1][1:-1])
    for chain in s.crease_chains:
        assert orientation(s.vertices[chain[0]], s.vertices[chain[-1]], s.vertices[crossing]) == 0
    assert verify.certify(drawn).verdict == "certified"


def test_names_of_things(pattern: Any) -> None:
    drawn = pattern([(0, 0), (4, 0), (4, 4), (0, 4)], [((1, 0), (3, 4), "flat"), ((3, 0), (1, 4), "flat")])
    s = subdivide(draw(drawn))
    names = {s.name(v) for v in range(len(s.vertices))}
    assert "(2, 2)" in names
    assert names - {"(2, 2)"} == set(drawn.points)
    assert sorted(s.face_name(f) for f in range(len(s.faces)))[0].startswith("panel ")


def test_limits_name_what_was_met() -> None:
    drawn = document("square", [((0, y), (6, y), "flat") for y in range(1, 6)], [])
    with pytest.raises(LimitReached, match="faces = 5"):
        subdivide(draw(drawn), Limits(faces=5))
    assert len(subdivide(draw(drawn), Limits(faces=6)).faces) == 6
    with pytest.raises(LimitReached, match="lines = 8"):
        draw(drawn, Limits(lines=8))
    draw(drawn, Limits(lines=9))
    with pytest.raises(LimitReached, match="corners = 3 was reached: 4 corners of the sheet"):
        draw(drawn, Limits(corners=3))
    draw(drawn, Limits(corners=4))


def test_the_kernel_takes_as_many_corners_as_are_drawn() -> None:
    assert Limits().corners == CORNERS
