"""What no recipe can do, and the mirror lemma that it rests on (`proofs/theory/searching.md`).

The lemma is tested against `verify.folding`, which knows nothing of it: on random simple folds, and on every recipe of
the corpus. From outside: that every triangle can be folded so that one cut frees it (Demaine, Demaine and Lubiw 1998)
is true of folds in general; of simple folds it is not.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import verify
from tests.construct.figures import Place, figure
from tests.places import PROOFS
from tests.profiles import examples, some
from verify.construct.recipes.layered import SomeLayers
from verify.construct.recipes.ruled_out import no_recipe
from verify.construct.recipes.stack import Folds
from verify.construct.recipes.start import start_of
from verify.exact.number import Number
from verify.exact.plane import Point, around, cross, difference, dot, on_segment, reflection
from verify.folding.paper import Paper, State
from verify.folding.steps import Folded, carry_out
from verify.pattern.document import Document
from verify.pattern.limits import Clock
from verify.pattern.recipe import FoldStep, Recipe, UnfoldStep

RECIPES = sorted((PROOFS / "recipes").rglob("*.toml"))
FEW = [p for p in RECIPES if p.parent.name in ("recipes", "margin") and p.stem not in ("star-exact", "snowflake")]


# ---- the theorem


def sides(triangle: Sequence[tuple[int, int]]) -> list[int]:
    """The squares of a triangle's sides."""
    return [(p[0] - q[0]) ** 2 + (p[1] - q[1]) ** 2 for p, q in around(list(triangle))]


corner = st.tuples(st.integers(0, 24), st.integers(0, 24))


@given(corner, corner, st.one_of(corner, st.none()))
@examples(50)
def test_a_triangle_with_paper_all_round_has_a_first_crease_just_if_two_sides_are_equal(
    a: tuple[int, int], b: tuple[int, int], c: tuple[int, int] | None
) -> None:
    """Without a third corner it is put as far from the first one as the second is."""
    triangle = [a, b, c or (b[0], 2 * a[1] - b[1])]
    (ax, ay), (bx, by), (cx, cy) = triangle
    if (bx - ax) * (cy - ay) != (by - ay) * (cx - ax):
        isosceles = len(set(sides(triangle))) < 3
        assert bool(no_recipe(start_of(figure(triangle)))) == (not isosceles)


def test_a_scalene_triangle_with_paper_all_round_has_no_recipe_at_once() -> None:
    found = verify.recipe(figure([(0, 0), (40, 0), (10, 30)]), seconds=None, folds=30)
    assert (found.verdict, found.shown, found.recipe) == ("undecided", "none", None)
    assert found.words() == (
        "none: no straight line across the figure meets its sides only at right angles and its corners only along "
        "their bisectors, as the first crease there must: no simple folds free it, of all layers or of some, however "
        "many"
    )


def test_the_theorem_is_silent_where_its_hypotheses_fail() -> None:
    scalene = [(0, 0), (40, 0), (10, 30)]
    assert not no_recipe(start_of(figure(scalene, margin=0)))
    # where two touch, both bisectors of the lines that cross there are lines of symmetry
    assert not no_recipe(start_of(figure(scalene, [(0, 0), (-40, 0), (-10, -30)])))


def test_each_piece_of_a_figure_must_be_crossed() -> None:
    scalene = [(0, 0), (40, 0), (10, 30)]
    for other in ([(60, 0), (70, 0), (70, 10), (60, 10)], [(60, 0), (100, 0), (70, 30)]):
        assert "across the outline at p" in no_recipe(start_of(figure(scalene, other)))


def test_a_line_through_a_corner_that_a_piece_has_twice() -> None:
    """A hole from the notch of a piece: two of its sides go straight on as sides of the piece."""
    hole = [(0, 0), (20, -10), (-20, -10)]
    assert not no_recipe(start_of(figure([(0, 0), (-40, 20), (-50, -70), (50, -70), (40, 20)], hole)))
    assert no_recipe(start_of(figure([(0, 0), (-40, 20), (-50, -70), (90, -60), (40, 20)], hole)))


def test_a_hole_is_crossed_with_the_outline_round_it() -> None:
    """Two isosceles triangles, one inside the other: each has one line across, which must be the same."""
    outer: list[Place] = [(0, 0), (80, 0), (40, 60)]
    assert not no_recipe(start_of(figure(outer, [(30, 10), (50, 10), (40, 30)])))
    assert no_recipe(start_of(figure(outer, [(25, 10), (25, 30), (55, 20)])))


def test_where_lines_meet_without_a_line_of_symmetry_no_crease_can_run() -> None:
    """A door on the ground line: three lines meet at its foot. On the sheet's edge one of them is cut already."""
    house: list[Place] = [(0, 0), (40, 0), (40, 30), (20, 50), (0, 30)]
    door: list[Place] = [(15, 0), (25, 0), (25, 20), (15, 20)]
    assert "across the outline at p10 meets" in no_recipe(start_of(figure(house, door)))
    assert not no_recipe(start_of(figure(house, door, margin=0)))


def test_half_of_a_symmetric_figure_may_have_no_line_across() -> None:
    """A gull: folded in half, no bisector of what is left of its outline crosses all of it as it must."""
    half: list[Place] = [(0, 0), (12, 10), (35, 4), (14, 2), (0, -6)]
    gull: list[Place] = [*half, (-14, 2), (-35, 4), (-12, 10)]
    assert "across the outline at p05, p06 and p07 meets" in no_recipe(start_of(figure(gull)))


@pytest.mark.parametrize(
    ("loop", "crossed"),
    [
        ([(0, 0), (40, 0), (30, 20), (10, 20)], True),  # upright across the parallel sides
        ([(0, 0), (10, 0), (60, 20), (40, 20)], False),  # parallel sides, but no line is square to both
        ([(0, 0), (12, 0), (12, 5)], False),
        ([(0, 0), (40, 0), (45, 30), (20, 10), (-3, 25)], False),
        ([(0, 0), (40, 0), (45, 30), (20, 10), (-5, 30)], True),  # down the bisector of the notch, square to the base
        ([(0, 0), (20, 0), (33, 21), (20, 34), (0, 34)], True),  # upright on the left, past the other corners
    ],
)
def test_lines_across_a_figure(loop: Sequence[Place], crossed: bool) -> None:
    assert bool(no_recipe(start_of(figure(loop)))) == (not crossed)


# ---- the lemma, against the folding of paper


class Near:
    """The paper near one place, which is a vertex of its mesh inside the sheet."""

    def __init__(self, paper: Paper, place: Point) -> None:
        self.paper, self.place = paper, place
        self.sectors: list[tuple[Point, Point, int]] = []  # from a direction, counter-clockwise, to another one: a face
        for number, face in enumerate(paper.faces):
            if paper.contains(number, place):
                loop = [paper.vertices[v] for v in face]
                ends = [
                    (difference(a, place), difference(b, place))
                    for a, b in around(loop)
                    if on_segment(place, a, b)
                ]  # fmt: skip
                out = next(b for a, b in ends if b != Point(Number.of(0), Number.of(0)))
                back = next(a for a, b in ends if a != Point(Number.of(0), Number.of(0)))
                self.sectors.append((out, back, number))

    def inside(self) -> bool:
        """Whether there is paper all round."""
        return all(any(same_way(back, out) for out, _, _ in self.sectors) for _, back, _ in self.sectors)

    def creases(self, state: State) -> list[Point]:
        """The directions of the creases here."""
        return [
            out
            for out, _, left in self.sectors
            for _, back, right in self.sectors
            if same_way(out, back) and state.turned[left] != state.turned[right]
        ]

    def image(self, way: Point, state: State) -> Point:
        """Where the paper lies that is this way from the place: by the face there, continued as far as need be."""
        face = next(n for out, back, n in self.sectors if between_ways(out, way, back))
        return self.paper.image(face, Point(self.place.x + way.x, self.place.y + way.y), state)

    def symmetric(self, state: State, along: Point) -> bool:
        """Whether the fold map here is its own mirror image in a line; directions of edges and their images decide."""
        origin = Point(Number.of(0), Number.of(0))
        ways = [out for out, _, _ in self.sectors]
        ways += [reflection(origin, along)(way) for way in ways]
        return all(self.image(way, state) == self.image(reflection(origin, along)(way), state) for way in ways)


ORIGIN = Point(Number.of(0), Number.of(0))


def same_way(one: Point, two: Point) -> bool:
    return cross(ORIGIN, one, two).sign() == 0 and dot(one, two).sign() > 0


def between_ways(first: Point, way: Point, last: Point) -> bool:
    """Whether a direction lies in a sector of at most half a turn, counter-clockwise from the first to the last."""
    if same_way(first, way) or same_way(way, last):
        return True
    return cross(ORIGIN, first, way).sign() > 0 and cross(ORIGIN, way, last).sign() > 0


def history(folded: Folded) -> list[State]:
    """The states that the folds pass through that are not opened again by an unfold step."""
    kept, undo = [folded.paper.states[0]], list[int]()
    for done, state in zip(folded.done, folded.paper.states[1:], strict=True):
        if isinstance(done.step, UnfoldStep):
            for _ in range(done.step.folds):
                kept = kept[: undo.pop()]
            continue
        if isinstance(done.step, FoldStep):
            undo.append(len(kept))
        kept.append(state)
    return kept


def first_creases(folded: Folded) -> Iterator[tuple[Near, list[Point], Point, list[Point]]]:
    """Every vertex of the mesh inside the sheet where the paper is creased in the end: the creases that it got first,
    since it was flat for the last time, their direction, and all its creases in the end.
    """
    states = history(folded)
    for place in folded.paper.vertices:
        near = Near(folded.paper, place)
        if not near.inside() or not near.creases(states[-1]):
            continue
        flat = max(k for k, state in enumerate(states) if not near.creases(state))
        first = near.creases(states[flat + 1])
        yield near, first, first[0], near.creases(states[-1])


GRID = {f"m{x}{y}": [x, y] for x in range(5) for y in range(5)}
SHEET = {"format": "creaseproof-recipe/1", "points": GRID, "sheet": {"outline": ["m00", "m40", "m44", "m04"]}}


def random_folds(rng: random.Random, tries: int) -> Folded:
    """Simple folds through places of a grid, of all layers or some, over and behind; what cannot be done is left out.

    One in three goes along a line of an earlier one, which opens it if that is possible.
    """
    steps: list[dict[str, object]] = []
    lines: list[list[str]] = []
    folded = None
    for _ in range(tries):
        line = rng.choice(lines) if lines and rng.random() < 1 / 3 else rng.sample(sorted(GRID), 2)
        step: dict[str, object] = {
            "fold": {"through": line},
            "moves": rng.choice(sorted(GRID)),
            "direction": rng.choice(["over", "behind"]),
            "layers": rng.choice(["all", "flap", 1, 1, 2]),
        }
        document = verify.read(SHEET | {"steps": [*steps, step]})
        assert isinstance(document, Recipe)
        carried = carry_out(document)
        if carried.refused is None and len(carried.paper.faces) < 60:
            folded = carried
            steps.append(step)
            lines.append(line)
    assert folded is not None
    return folded


def test_near_its_first_crease_the_fold_map_is_symmetric() -> None:
    rng = random.Random(20)
    met = other = opened = 0
    for _ in range(24):
        folded = random_folds(rng, 8)
        states = history(folded)
        for near, first, line, last in first_creases(folded):
            assert len(first) == 2
            assert same_way(first[0], Point(-first[1].x, -first[1].y))
            assert near.symmetric(states[-1], line)
            met += 1
            other += any(not near.symmetric(states[-1], way) for way in last if cross(ORIGIN, way, line).sign())
            creased = [bool(near.creases(state)) for state in states]
            opened += creased != sorted(creased)
    assert met > 100
    assert other > 50  # in other creases than the first it is not: the test can fail
    assert opened > 0


def bends_where_symmetric(path: Path) -> None:
    """At every place where a recipe that frees its target creases the target first, the target is symmetric in the
    crease; and no target that has a recipe is ruled out.
    """
    recipe = verify.load(path)
    assert isinstance(recipe, Recipe)
    folded = carry_out(recipe)
    places = folded.drawing.places
    lines = [(places[a], places[b]) for a, b in recipe.base.target_lines()]
    if folded.refused is None and lines:
        for near, _, line, _ in first_creases(folded):
            ways = [
                difference(end, near.place)
                for a, b in lines
                if on_segment(near.place, a, b)
                for end in (a, b)
                if end != near.place
            ]
            assert all(any(same_way(reflection(ORIGIN, line)(way), other) for other in ways) for way in ways), (
                near.place
            )
    if recipe.base.has_target:
        assert not no_recipe(start_of(recipe.base))


def name_of(path: Path) -> str:
    return path.relative_to(PROOFS / "recipes").with_suffix("").as_posix()


@pytest.mark.parametrize("path", some(FEW, of=3), ids=name_of)
def test_recipes_bend_the_outline_where_it_is_symmetric(path: Path) -> None:
    bends_where_symmetric(path)


@pytest.mark.long
@pytest.mark.parametrize("path", [p for p in RECIPES if p not in FEW], ids=name_of)
def test_all_other_recipes_bend_the_outline_where_it_is_symmetric(path: Path) -> None:
    bends_where_symmetric(path)


# ---- the search


def named(folds: Folds) -> tuple[object, ...]:
    return tuple((fold.line, fold.moving, fold.over) for fold in folds)


@pytest.mark.parametrize(
    ("document", "folds"),
    [
        (figure([(0, 0), (30, 0), (30, 20), (0, 20)]), 2),
        (figure([(0, 0), (30, 0), (15, 20)]), 2),
        (figure([(0, 0), (40, 0), (10, 30)]), 3),
        (figure([(0, 0), (40, 0), (30, 20), (10, 20)]), 3),
        (figure([(0, 0), (30, 0), (30, 10), (10, 10), (10, 30), (0, 30)]), 3),
    ],
)
def test_the_lemma_loses_no_recipe(document: Document, folds: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Against a search that leaves out no folds at a slant."""
    stack = start_of(document).stack
    kept = [named(found) for found in SomeLayers(stack, Clock(60, "x")).of_length(folds)]
    monkeypatch.setattr(SomeLayers, "after", lambda self, paper, fold: paper.fold(fold, paper.steps + 1))
    monkeypatch.setattr(
        "verify.construct.recipes.layered._View._crossed", lambda view: np.full(len(view.layer_of), True)
    )
    every = [named(found) for found in SomeLayers(stack, Clock(60, "x")).of_length(folds)]
    assert sorted(map(repr, kept)) == sorted(map(repr, every))
