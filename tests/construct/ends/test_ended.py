"""Targets moved so that perpendiculars end in nodes: against exact followers of perpendiculars, sympy's triangles and
shapely's areas.
"""

from __future__ import annotations

import math
import random
from fractions import Fraction
from itertools import chain
from math import inf

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from sympy.geometry import Point, Triangle

from tests.construct.creases.test_corridors import SHEET, folds, triangles
from tests.construct.creases.test_creases import SQUARE, TRIANGLE, target
from verify.construct.coordinates.net import NotSnapped
from verify.construct.coordinates.regular import rational
from verify.construct.creases.corridors import Corridors
from verify.construct.creases.creases import Construction
from verify.construct.ends.ended import ended
from verify.construct.ends.moving import Moving, single, triple
from verify.construct.ends.pairs import Pairs, pulling
from verify.construct.ends.paths import Courses, Meeting, Paths
from verify.construct.skeleton.figure import figure_of
from verify.construct.skeleton.front import straight_skeleton
from verify.construct.skeleton.perpendiculars import BORDER, Tracer
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.tasks.construct import construct

MOST = Fraction(1, 5)


def star(seed: int, corners: int) -> Document:
    """A star-shaped polygon with corners at random, about 20 wide."""
    rng = random.Random(seed)
    radii = [rng.uniform(4, 10) for _ in range(corners)]
    turns = [2 * math.pi * (k + rng.uniform(0.2, 0.8)) / corners for k in range(corners)]
    return target([(round(r * math.cos(a), 2), round(r * math.sin(a), 2)) for r, a in zip(radii, turns, strict=True)])


def lines(document: Document) -> shapely.Geometry:
    at = {name: tuple(map(float, place)) for name, place in draw(document).places.items()}
    return shapely.union_all([shapely.LineString([at[a], at[b]]) for a, b in document.target_lines()])


def joined(construction: Construction) -> set[int]:
    """The perpendiculars that end in a node, from nodes at which no other begins."""
    return {
        i
        for i, p in enumerate(construction.perpendiculars)
        if p.end not in (BORDER, None) and len([*construction.tracer.starts(p.start)]) == 1
    }


@pytest.mark.parametrize("seed", [0, *(pytest.param(k, marks=pytest.mark.long) for k in (1, 2))])
def test_perpendiculars_end_in_nodes_and_the_sets_fold(seed: int) -> None:
    drawn = star(seed, 14)
    moved = ended(drawn, MOST)
    assert 0 < moved.greatest <= MOST
    assert lines(drawn).hausdorff_distance(lines(moved.document)) <= MOST  # shapely's
    construction = Construction(figure_of(moved.document))
    assert len(joined(construction)) > 1  # of a drawing at random none ends in a node
    least = next(construction.trees())
    assert {*least} >= joined(construction)
    assert folds(construction.creases(least, ""))


CROSSING = [(13.3, 48.15), (66.9, 13), (58.75, 48.15)], [(66.45, 65.4), (49.85, 51), (54.85, 29.6)]


def crossing() -> Document:
    """Two triangles that cross: where they are, none of 234 sets of creases was found to fold."""
    return target(*CROSSING, sheet=[(0, 0), (80, 0), (80, 79), (0, 79)])


def test_lines_that_cross_may_bend_there() -> None:
    drawn, most = crossing(), Fraction(1, 3)
    moved = ended(drawn, most)
    assert lines(drawn).hausdorff_distance(lines(moved.document)) <= most  # shapely's
    one, other = (shapely.Polygon(loop).exterior for loop in CROSSING)
    places = draw(moved.document).places
    new = [tuple(map(float, places[name])) for name in places.keys() - drawn.points.keys()]
    assert len(new) == len(one.intersection(other).geoms) == 2
    assert shapely.MultiPoint(new).hausdorff_distance(one.intersection(other)) <= most
    construction = Construction(figure_of(moved.document))
    assert len(joined(construction)) > 1
    assert {*next(construction.trees())} >= joined(construction)


@pytest.mark.parametrize("seed", range(4))
def test_a_loop_runs_round_each_place_where_outlines_cross(seed: int) -> None:
    drawn = target(*triangles(seed), sheet=SHEET)
    figure = figure_of(rational(drawn, Fraction(1, 10)).document)
    skeleton = straight_skeleton(figure.points, figure.lines, figure.directions)
    moving = Moving(Tracer(skeleton, figure.loops))
    one, other = (shapely.Polygon(corners).exterior for corners in triangles(seed))
    assert len(moving.looped) == len(one.intersection(other).geoms)  # shapely's
    assert all(len(moving.begin[node]) == 1 for node in moving.looped)


def test_where_a_loop_ends_in_a_node_its_other_perpendiculars_are_folded_in_no_tree() -> None:
    """As those of a node at which one begins (K5), so that trees need them not to end."""
    moved = ended(target(*triangles(0), sheet=SHEET), Fraction(1, 3), farthest=Fraction(1, 2))
    construction = Construction(figure_of(moved.document))
    perpendiculars = construction.perpendiculars
    looped = {p.start for p in perpendiculars if p.start == p.end != BORDER}
    (between,) = (i for i, p in enumerate(perpendiculars) if p.start in looped and p.end not in (p.start, BORDER, None))
    end = perpendiculars[between].end
    others = {i for i, p in enumerate(perpendiculars) if end in (p.start, p.end)} - {between}
    assert len(others) == 2
    trees = [*construction.trees()]
    assert trees
    assert all(between in tree and not others & {*tree} for tree in trees)
    assert not others & {*Corridors(construction.tracer, perpendiculars).walls}


def test_perpendiculars_end_where_lines_that_cross_are_shifted_alone() -> None:
    """If lines turned, too, others could be joined here; but their directions are fixed before all is solved."""
    drawn = target(*triangles(17), sheet=SHEET)
    moved = ended(drawn, Fraction(1, 3), farthest=Fraction(1, 2))
    assert lines(drawn).hausdorff_distance(lines(moved.document)) <= 1 / 2  # shapely's
    nodes = [p.end for p in Construction(figure_of(moved.document)).perpendiculars if p.end not in (p.start, BORDER)]
    assert nodes
    assert None not in nodes


def test_a_corner_that_is_nearly_straight_stays_one() -> None:
    """The fourth corner turns by 0.08°: made rational within a twentieth of what is allowed, its sides are one."""
    places = [(89.533, 104.588), (35.294, 90.3), (39.202, 78.819), (38.589, 68.958), (37.963, 59.098)]
    places += [(25, 44.412), (33.75, 41.983), (57.856, 25), (125, 47.062), (113.307, 65.233)]
    document, most = target(places, margin=25), Fraction(23, 40)
    assert len(figure_of(rational(document, most / 20).document).points) == 9
    found = ended(document, most)
    assert found.greatest <= most
    figure = figure_of(found.document)
    assert len(figure.points) == 10
    assert joined(Construction(figure))


def test_a_point_in_the_middle_of_a_side_is_no_corner() -> None:
    """With it and without it the corners come to lie in the same places."""
    places = [(89.533, 104.588), (35.294, 90.3), (39.202, 78.819), (37.963, 59.098), (25, 44.412)]
    places += [(33.75, 41.983), (57.856, 25), (125, 47.062), (113.307, 65.233)]
    found = ended(target(places, margin=25), Fraction(23, 40)).document
    more = ended(target([places[0], (62.4135, 97.444), *places[1:]], margin=25), Fraction(23, 40)).document
    corners = [{draw(one).places[name] for name in one.loops[0]} for one in (found, more)]
    assert len(corners[0]) == len(places)
    assert corners[0] == corners[1]


@pytest.mark.long
def test_triangles_that_cross_construct() -> None:
    made = construct(crossing())
    assert made.verdict == "certified"
    assert made.moved is not None
    assert made.moved.greatest <= 0.54  # 1 % of the extent


def test_a_skeleton_that_moves_is_that_of_the_moved_triangle() -> None:
    """A triangle's only node inside is its incentre (sympy's)."""
    construction = Construction(figure_of(target(TRIANGLE, sheet=[(-9, -9), (12, -9), (12, 12), (-9, 12)])))
    moving = Moving(construction.tracer)
    corners = moving.start + np.array([0.1, 0.2, -0.3, 0.1, 0.2, -0.1])
    moving.place_at(corners)
    # in tenths, which the corners are: sympy takes long over floats as fractions
    places = [[Fraction(round(10 * x), 10) for x in place] for place in corners.reshape(-1, 2).tolist()]
    incentre = np.array([float(x) for x in Triangle(*(Point(*place) for place in places)).incenter.args])
    (node,) = moving.inner
    assert moving.places[node].tolist() == pytest.approx(incentre.tolist())
    bisectors = corners.reshape(-1, 2) - incentre  # they meet there
    for u, v in moving.directions[moving.endless]:
        assert min(abs(u * y - v * x) for x, y in bisectors) < 1e-9


@pytest.mark.parametrize("seed", range(3))
def test_perpendiculars_that_begin_at_each_node_are_those_of_the_exact_follower(seed: int) -> None:
    moving = Moving(Construction(figure_of(rational(star(seed, 14), MOST).document)).tracer)
    prongs = moving.prongs()
    assert {v: prongs[v] for v in moving.begin} == {v: len(ways) for v, ways in moving.begin.items()}


def test_other_pairs_are_looked_for_until_they_take_fewer_steps() -> None:
    moving = Moving(Construction(figure_of(rational(star(0, 20), MOST / 20).document)).tracer)
    found = []
    for patience in (0, 10):
        pairs = Pairs(moving, float(MOST))
        pairs.join()
        pairs.search(patience)
        found.append(pairs.costs()[0])
        ways = [shapely.points(corners.reshape(-1, 2)) for corners in (moving.start, pairs.corners)]
        assert shapely.distance(*ways).max() <= MOST  # shapely's
    assert found[1] < found[0]


def test_where_some_do_not_end_the_search_comes_nearer_to_their_ends() -> None:
    figure = figure_of(rational(star(1, 28), MOST / 20).document)
    skeleton = straight_skeleton(figure.points, figure.lines, figure.directions)
    moving = Moving(Tracer(skeleton, figure.loops))
    most = float(MOST) / 8
    found = []
    for rounds in (0, 15):
        pairs = Pairs(moving, most)
        pairs.join()
        pairs.search(2)
        assert pairs.endless()
        pairs.end_more(most, rounds)
        found.append(pairs.costs()[0])
        ways = [shapely.points(corners.reshape(-1, 2)) for corners in (moving.start, pairs.corners)]
        assert shapely.distance(*ways).max() <= most  # shapely's
        moving.place_at(pairs.corners)
        assert moving.is_like(pairs.shortest)
        assert np.abs(Courses.of(moving, pairs.taken).misses()).max() < 1e-6
        assert len({one.start for one in pairs.taken}) == len({one.end for one in pairs.taken}) == len(pairs.taken)
    assert found[1] < found[0]


def test_a_search_goes_on_until_all_end(monkeypatch: pytest.MonkeyPatch) -> None:
    """Three times some do not end, whatever is found; then all do, but in too many steps; then in few."""
    moving = Moving(Construction(figure_of(rational(star(0, 14), MOST).document)).tracer)
    pairs = Pairs(moving, float(MOST))
    rounds: list[int] = []
    monkeypatch.setattr(pairs, "_wander", lambda number, enough: rounds.append(number))
    monkeypatch.setattr(pairs, "endless", lambda every: every and len(rounds) < 3)
    monkeypatch.setattr(pairs, "costs", lambda: (3_000 if len(rounds) < 5 else 300, 0.0))
    pairs.end_more(float(MOST), 7)
    assert rounds == [7, 3, 3, 3, 3]


def test_where_all_end_rounds_that_gain_nothing_are_soon_enough(monkeypatch: pytest.MonkeyPatch) -> None:
    moving = Moving(Construction(figure_of(rational(star(0, 14), MOST).document)).tracer)
    counts = []
    for endless in (True, False):
        pairs = Pairs(moving, float(MOST))
        rounds: list[int] = []
        monkeypatch.setattr(pairs, "_vary", rounds.append)
        monkeypatch.setattr(pairs, "endless", lambda every, some=endless: every and some)
        pairs.end_more(float(MOST), 50)
        counts.append(len(rounds))
    assert counts[0] > 10 * counts[1]  # again and again, from other pairs
    assert counts[1] < 50


def test_what_is_too_much_for_hands_is_not_polished(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where as many steps as a thousand are few enough, a search that gains nothing ends sooner than at a hundred."""
    moving = Moving(Construction(figure_of(rational(star(0, 14), MOST).document)).tracer)
    counts = []
    for steps in (100, 1_000):
        pairs = Pairs(moving, float(MOST))
        rounds: list[int] = []
        monkeypatch.setattr(pairs, "_vary", rounds.append)
        monkeypatch.setattr(pairs, "endless", lambda every: False)
        monkeypatch.setattr(pairs, "costs", lambda few=steps: (few, 0.0))
        pairs.end_more(float(MOST), 50)
        counts.append(len(rounds))
    assert counts[1] < counts[0] < 50


@given(st.integers(0, 10_000))
def test_the_least_movement_pulls_no_row_the_wrong_way(seed: int) -> None:
    """By what holds at the least of a square under linear bounds (Kuhn and Tucker 1951), here by numpy's `lstsq`."""
    rng = np.random.default_rng(seed)
    rows, goals, exactly = rng.normal(size=(9, 12)), rng.normal(size=9), int(rng.integers(1, 9))
    products = rows @ rows.T
    pulls = pulling(products, goals, exactly, [*range(exactly)])
    assert pulls is not None
    movement = rows.T @ pulls
    over = rows @ movement - goals
    assert np.abs(over[:exactly]).max() < 1e-7
    assert over.min() > -1e-7
    active = (np.arange(9) < exactly) | (np.abs(over) < 1e-7)
    shares = np.linalg.lstsq(rows[active].T, movement, rcond=None)[0]
    assert rows[active].T @ shares == pytest.approx(movement)
    assert (shares[exactly:] > -1e-7).all()


def meetings_of(moving: Moving, steps: int) -> list[Meeting]:
    followed = Paths(moving).follow(single(moving.begin), steps)
    near = followed.near(triple(moving.begin), inf)
    return [followed.meeting(*map(int, one)) for one in zip(*near, strict=True)]


def test_paths_are_those_that_are_followed_exactly() -> None:
    """By the exact follower (no code in common), and each where its boundary is along the side."""
    construction = Construction(figure_of(rational(star(0, 20), MOST).document))
    moving = Moving(construction.tracer)
    paths = Paths(moving)
    followed = 0
    for node, ways in moving.begin.items():
        start = moving.skeleton.nodes[node]
        for way, (side, up) in enumerate(ways):
            exact = construction.tracer.follow(node, start.place, start.time, side, up)
            count = len(exact.arcs)
            path = paths.follow([node], count + 1, way)
            assert path.counts.tolist() == [count + (exact.end != BORDER)]
            bounds = path.bounds[0, :count]
            assert moving.sides_of[bounds].tolist() == [*exact.sides[:count]]
            arcs = [bound % len(moving.roots) if bound < 2 * len(moving.roots) else None for bound in bounds.tolist()]
            assert arcs == [*exact.arcs]
            directions = moving.along[moving.sides_of[bounds]]
            places = [[float(x) for x in place] for place in exact.places[1 : count + 1]]
            assert path.places[0, :count].tolist() == pytest.approx(
                [a * x + b * y for (a, b), (x, y) in zip(directions, places, strict=True)]
            )
            followed += 1
    assert followed > 30


@pytest.mark.parametrize("seed", range(3))
def test_the_steps_until_the_sheet_is_left_are_those_that_are_followed(seed: int) -> None:
    """By going from step to step, one at a time."""
    figure = figure_of(rational(star(seed, 20), MOST).document)
    skeleton = straight_skeleton(figure.points, figure.lines, figure.directions)
    moving = Moving(Tracer(skeleton, figure.loops))
    paths = Paths(moving)
    followed = {
        node: [n if n < 50 else inf for way in range(len(ways)) for n in paths.follow([node], 50, way).counts.tolist()]
        for node, ways in moving.begin.items()
    }
    assert paths.steps([*moving.begin], 50) == followed
    assert len({*chain(*followed.values())} - {inf}) > 5


@pytest.mark.parametrize(("before", "after"), [(0, 2), (2, 0)])
def test_a_node_that_comes_into_the_sheet_counts_and_one_that_leaves_it_does_not(before: int, after: int) -> None:
    """A figure moved on its sheet, whose skeleton has a node below it: as the exact skeleton of the moved one."""
    corners = [(-10, 1), (-2, 0), (0, 2), (3, 0), (9, 1), (0, 12)]
    sheet = [(-20, -8), (20, -8), (20, 20), (-20, 20)]
    drawn = [target([(x, y + up) for x, y in corners], sheet=sheet) for up in (before, after)]
    figures = [figure_of(rational(document, MOST / 100).document) for document in drawn]
    moving, there = (Moving(Tracer(straight_skeleton(f.points, f.lines, f.directions), f.loops)) for f in figures)
    assert len(moving.begin) != len(there.begin)
    moving.place_at(moving.start + np.array([0, after - before] * len(corners)))
    assert moving.begin == there.begin
    steps = [Paths(one).steps([*there.begin], 50) for one in (moving, there)]
    assert steps[0] == steps[1]


def test_derivatives_of_misses_and_lengths_are_differences() -> None:
    """By central differences (common practice, no source)."""
    moving = Moving(Construction(figure_of(rational(star(0, 20), MOST).document)).tracer)
    meetings = meetings_of(moving, 12)
    assert len(meetings) > 10
    courses = Courses.of(moving, meetings)
    assert not len(courses.astray())
    moving.derive()
    ways = np.concatenate([courses.ways(), moving.arc_ways(range(len(moving.bounded)))])
    step = 1e-6 * np.random.default_rng(1).normal(size=len(moving.start))
    misses = []
    for sign in (1, -1):
        moving.place_at(moving.start + sign * step)
        misses.append(np.concatenate([courses.misses(), moving.arc_lengths]))
    assert misses[0] - misses[1] == pytest.approx(2 * ways @ step, rel=1e-4, abs=1e-9)


def test_a_figure_of_other_nodes_is_refused() -> None:
    with pytest.raises(NotSnapped, match="more than three fronts"):
        ended(target(SQUARE), MOST)
