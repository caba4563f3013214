"""What is really cut: the outline on the flat sheet, and the pattern that the folds give."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import atan2, degrees
from pathlib import Path
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

import verify
from tests.places import PROOFS
from tests.profiles import examples, some
from verify.cutting.bending import cut_outline
from verify.cutting.outcome import Outline, Segment, chains, outline, pattern_of
from verify.exact.number import Number
from verify.exact.plane import Point, orientation, polygon_area2
from verify.folding.steps import carry_out
from verify.pattern.limits import Limits
from verify.pattern.recipe import Recipe, load_any, read_any

Keys = dict[str, Any]


def at(x: Any, y: Any) -> Point:
    return Point(Number.of(Fraction(x)), Number.of(Fraction(y)))


def ring(loop: Sequence[Point]) -> tuple[Point, ...]:
    """A closed outline from its least corner on, counter-clockwise."""
    corners = list(loop)
    if polygon_area2(corners).sign() < 0:
        corners.reverse()
    k = min(range(len(corners)), key=corners.__getitem__)
    return tuple(corners[k:] + corners[:k])


def line(path: Sequence[Point]) -> tuple[Point, ...]:
    return min(tuple(path), tuple(path)[::-1])


def angles(loop: Sequence[Point]) -> list[float]:
    corners = ring(loop)
    found = []
    for a, b, c in zip(corners[-1:] + corners[:-1], corners, corners[1:] + corners[:1], strict=True):
        u, v = (float(c.x - b.x), float(c.y - b.y)), (float(a.x - b.x), float(a.y - b.y))
        found.append(degrees(atan2(u[0] * v[1] - u[1] * v[0], u[0] * v[0] + u[1] * v[1])) % 360)
    return found


def square(steps: list[Keys], along: Keys, **points: Any) -> Recipe:
    """A sheet [-8, 8] × [-8, 8] with marks, and a line to cut along."""
    corners = {"sw": [-8, -8], "se": [8, -8], "ne": [8, 8], "nw": [-8, 8], "o": [0, 0]}
    found = read_any(
        {
            "format": "creaseproof-recipe/1",
            "points": corners | {n: [str(v) for v in p] for n, p in points.items()},
            "sheet": {"outline": ["sw", "se", "ne", "nw"]},
            "steps": steps,
            "cut": {"along": along},
        }
    )
    assert isinstance(found, Recipe)
    return found


def cut(recipe: Recipe) -> Outline:
    found = cut_outline(carry_out(recipe))
    assert found is not None
    return found


LEFT = {"fold": {"point": "sw", "onto": "se"}, "moves": "sw"}
UP = {"fold": {"point": "ne", "onto": "se"}, "moves": "ne"}
TURN = {"turn": "over"}


def test_without_a_fold_the_cut_is_a_straight_line() -> None:
    found = cut(square([TURN], {"through": ["p", "q"]}, p=(0, -3), q=(2, 3)))
    assert (found.loops, found.along_edge) == ((), ())
    (path,) = found.paths
    assert line(path) == line([at(Fraction(-5, 3), -8), at(Fraction(11, 3), 8)])


def test_one_fold_a_triangle_or_a_notch() -> None:
    """Folded in half, a slanting cut across the folded edge at one place gives a line with one corner there."""
    found = cut(square([LEFT], {"through": ["p", "q"]}, p=(0, 2), q=(6, 8)))
    (path,) = found.paths
    assert line(path) == line([at(-6, 8), at(0, 2), at(6, 8)])
    assert found.loops == ()
    # across from the folded edge to the other side of the packet
    found = cut(square([LEFT], {"through": ["p", "q"]}, p=(0, 2), q=(8, 0)))
    assert line(found.paths[0]) == line([at(-8, 0), at(0, 2), at(8, 0)])


def test_two_folds_a_rhombus() -> None:
    """Folded in half twice, a cut across both folded edges gives a rhombus."""
    found = cut(square([LEFT, UP], {"through": ["p", "q"]}, p=(6, 0), q=(0, -2)))
    assert (len(found.loops), found.paths, found.along_edge) == (1, (), ())
    assert ring(found.loops[0]) == ring([at(6, 0), at(0, 2), at(-6, 0), at(0, -2)])
    assert abs(polygon_area2(found.loops[0])) == 2 * 2 * 6 * 2
    wide = 2 * degrees(atan2(6, 2))
    assert sorted(angles(found.loops[0])) == pytest.approx([180 - wide, 180 - wide, wide, wide])


def test_three_folds_a_square_and_an_octagon() -> None:
    third = {"fold": {"line": ["o", "e"], "onto": ["o", "s"]}, "moves": "e"}
    marks = {"e": (8, 0), "s": (0, -8), "p": (4, -4), "q": (0, -4), "r": (3, -3)}
    found = cut(square([LEFT, UP, third], {"through": ["p", "q"]}, **marks))
    assert ring(found.loops[0]) == ring([at(4, 4), at(-4, 4), at(-4, -4), at(4, -4)])
    assert angles(found.loops[0]) == pytest.approx([90] * 4)
    found = cut(square([LEFT, UP, third], {"through": ["r", "q"]}, **marks))
    assert ring(found.loops[0]) == ring(
        [at(x, y) for x, y in ((4, 0), (3, 3), (0, 4), (-3, 3), (-4, 0), (-3, -3), (0, -4), (3, -3))]
    )
    assert abs(polygon_area2(found.loops[0])) == 2 * 8 * Fraction(4 * 3, 2)


def test_two_outlines_at_once() -> None:
    """A pleat: the cut goes through the outline of one figure, and of its copy on the other side."""
    steps = [LEFT, {"fold": {"point": "se", "onto": "o2"}, "moves": "se"}]
    found = cut(square([*steps, UP], {"through": ["p", "q"]}, o2=(0, -8), p=(4, -2), q=(2, 0)))
    assert found.paths == ()
    assert {ring(x) for x in found.loops} == {
        ring([at(c + x, y) for x, y in ((2, 0), (0, 2), (-2, 0), (0, -2))]) for c in (-4, 4)
    }


@pytest.mark.parametrize(("p", "q"), [("se", "ne"), ("sw", "se")])
def test_along_the_edge_of_the_sheet_nothing_is_cut(p: str, q: str) -> None:
    found = cut(square([TURN], {"through": [p, q]}))
    assert (found.loops, found.paths) == ((), ())
    assert len(found.along_edge) == 1
    assert found.segments() == []


def test_along_the_edge_in_one_layer_and_through_another() -> None:
    """The left third over: its edge lies in mid-sheet, and the cut goes along it and through the layer below."""
    found = cut(
        square([{"fold": {"through": ["a", "b"]}, "moves": "sw"}], {"through": ["sw", "nw"]}, a=(-4, -8), b=(-4, 8))
    )
    assert [line(p) for p in found.paths] == [line([at(0, -8), at(0, 8)])]
    assert [line(p) for p in found.along_edge] == [line([at(-8, -8), at(-8, 8)])]


def test_a_line_that_touches_a_corner_cuts_nothing() -> None:
    found = cut(square([TURN], {"square": ["sw", "ne"], "through": "ne"}))
    assert found == Outline((), (), ())


def test_along_a_fold() -> None:
    """The cut runs along the folded edge: the crease is cut."""
    found = cut(square([LEFT], {"through": ["a", "o"]}, a=(0, 5)))
    assert [line(p) for p in found.paths] == [line([at(0, -8), at(0, 8)])]
    assert found.loops == ()


def test_nothing_to_cut_along() -> None:
    recipe = read_any(square([LEFT], {"through": ["sw", "ne"]}).keys() | {"cut": {}})
    assert isinstance(recipe, Recipe)
    assert cut_outline(carry_out(recipe)) is None
    refused = square([LEFT, LEFT], {"through": ["o", "ne"]})  # the corners lie on each other already
    assert carry_out(refused).refused is not None
    assert cut_outline(carry_out(refused)) is None


# ---- chains


def segments(*ends: tuple[int, int, int, int]) -> list[tuple[Point, Point]]:
    return [(at(a, b), at(c, d)) for a, b, c, d in ends]


def joined(pieces: Sequence[Segment]) -> tuple[list[tuple[Point, ...]], list[tuple[Point, ...]]]:
    return chains(pieces, lambda a, b, c: orientation(a, b, c) != 0)


def test_chains() -> None:
    assert joined([]) == ([], [])
    # a square from pieces in any order and direction, with a point in mid-side
    loops, paths = joined(segments((0, 0, 1, 0), (2, 2, 0, 2), (2, 0, 1, 0), (0, 2, 0, 0), (2, 0, 2, 2)))
    assert paths == []
    assert [ring(x) for x in loops] == [ring([at(0, 0), at(2, 0), at(2, 2), at(0, 2)])]
    # an open line, straightened
    loops, paths = joined(segments((1, 0, 2, 0), (0, 0, 1, 0), (2, 0, 2, 5)))
    assert loops == []
    assert [line(p) for p in paths] == [line([at(0, 0), at(2, 0), at(2, 5)])]
    # three lines that meet end there
    loops, paths = joined(segments((0, 0, 1, 0), (1, 0, 2, 0), (1, 0, 1, 3)))
    assert loops == []
    assert {line(p) for p in paths} == {line([at(1, 0), at(*q)]) for q in ((0, 0), (2, 0), (1, 3))}
    # two squares that share a corner
    loops, paths = joined(
        segments(
            (0, 0, 1, 0),
            (1, 0, 1, 1),
            (1, 1, 0, 1),
            (0, 1, 0, 0),
            (1, 1, 2, 1),
            (2, 1, 2, 2),
            (2, 2, 1, 2),
            (1, 2, 1, 1),
        )
    )
    assert loops == []
    assert sorted(len(p) for p in paths) == [5, 5]
    assert all(p[0] == p[-1] == at(1, 1) for p in paths)


@given(
    st.lists(st.tuples(st.integers(-3, 3), st.integers(-3, 3)), min_size=3, max_size=7, unique=True),
    st.randoms(use_true_random=False),
)
def test_chains_put_a_closed_line_together_again(corners: list[tuple[int, int]], chance: Any) -> None:
    loop = [at(*p) for p in corners]
    pieces = [(a, b) if chance.random() < 0.5 else (b, a) for a, b in zip(loop, loop[1:] + loop[:1], strict=True)]
    chance.shuffle(pieces)
    loops, paths = joined(pieces)
    assert paths == []
    assert len(loops) == 1
    straight = [
        b
        for a, b, c in zip(loop[-1:] + loop[:-1], loop, loop[1:] + loop[:1], strict=True)
        if (b.x - a.x) * (c.y - a.y) != (b.y - a.y) * (c.x - a.x)
    ]
    assert set(loops[0]) == set(straight)
    assert len(loops[0]) == len(straight)


# ---- the corpus, and random recipes

CORPUS = sorted(p for p in (PROOFS / "recipes").iterdir() if p.is_file())


SEVERAL_SNIPS = {"window-one-fold.toml", "window-two-folds.toml", "snowflake.toml"}
ONE_CUT = [p for p in CORPUS if p.name not in {*SEVERAL_SNIPS, "what-does-it-make.json"}]


@pytest.mark.parametrize("path", ONE_CUT, ids=[p.name for p in ONE_CUT])
def test_one_cut_gives_the_target(path: Path) -> None:
    """What the tool says is cut, and what the document says is wanted, are the same places."""
    recipe = load_any(path)
    assert isinstance(recipe, Recipe)
    assert recipe.base.snips == 1
    folded = carry_out(recipe)
    found = cut_outline(folded)
    assert found is not None
    places = folded.drawing.places
    wanted = [(places[a], places[b]) for a, b in recipe.base.target_lines()]
    loops, paths = joined(wanted)
    assert {ring(x) for x in found.loops} == {ring(x) for x in loops}
    assert {line(x) for x in found.paths} == {line(x) for x in paths}


@pytest.mark.parametrize("path", some(CORPUS, of=2), ids=lambda path: path.name)
def test_the_pattern_of_a_recipe_is_certified_with_its_target(path: Path) -> None:
    recipe = load_any(path)
    assert isinstance(recipe, Recipe)
    fold_map = carry_out(recipe).fold_map
    pattern = pattern_of(fold_map)
    assert (pattern.loops, pattern.paths, pattern.snips) == (recipe.base.loops, recipe.base.paths, recipe.base.snips)
    assert set(recipe.base.points) <= set(pattern.points)
    result = verify.certify(pattern)
    assert result.verdict == "certified"
    assert result.claims == recipe.claims


def test_creases_are_drawn_in_one_piece() -> None:
    """In half twice: the first crease is a valley along its length, the second changes at the first."""
    fold_map = carry_out(square([LEFT, UP], {"through": ["o", "ne"]})).fold_map
    places = fold_map.subdivision.drawing.places | {}
    pattern = pattern_of(fold_map)
    assert sorted(c.kind for c in pattern.creases) == ["mountain", "valley", "valley"]
    lines = {c.kind: [] for c in pattern.creases}  # type: dict[str, list[tuple[Point, ...]]]
    for c in pattern.creases:
        ends = []
        for name in (c.start, c.end):
            x, y = pattern.points[name]
            ends.append(places.get(name) or at(x, y))
        lines[c.kind].append(line(ends))
    assert line([at(0, -8), at(0, 8)]) in lines["valley"]
    assert {lines["mountain"][0], *lines["valley"]} == {
        line([at(0, -8), at(0, 8)]),
        line([at(-8, 0), at(0, 0)]),
        line([at(0, 0), at(8, 0)]),
    }


def test_guide_lines_are_drawn_flat() -> None:
    fold_map = carry_out(square([LEFT, {"unfold": 1}, UP], {"through": ["o", "ne"]})).fold_map
    pattern = pattern_of(fold_map)
    assert sorted(c.kind for c in pattern.creases) == ["flat", "valley"]


def test_the_outline_as_the_target() -> None:
    recipe = square([LEFT, UP], {"through": ["p", "q"]}, p=(6, 0), q=(0, -2))
    fold_map = carry_out(recipe).fold_map
    pattern = pattern_of(fold_map, cut(recipe))
    assert (len(pattern.loops), pattern.paths, pattern.snips) == (1, (), 1)
    assert {"p", "q"} < set(pattern.loops[0])
    result = verify.certify(pattern)
    assert (result.verdict, result.claims) == ("certified", ("folds-flat", "cut-exact"))
    assert {p.area for p in result.parts} == {Number.of(24), Number.of(256 - 24)}
    # no outline, no target
    bare = pattern_of(fold_map, Outline((), (), ()))
    assert (bare.loops, bare.paths, bare.snips) == ((), (), None)


@examples(50)
@given(st.data())
def test_what_is_cut_is_a_target_that_is_certified(data: st.DataObject) -> None:
    """Any folds, any line: the pattern with what is cut as its target is certified from scratch, cut and all.

    The cut is made in the open sheet: where the line also runs along the sheet's own edge it severs nothing.
    """
    extra = data.draw(st.lists(st.tuples(st.integers(-7, 7), st.integers(-7, 7)), min_size=4, max_size=5, unique=True))
    points = {f"m{i}": p for i, p in enumerate(extra)}
    names = [*points, "sw", "se", "ne", "nw"]
    pairs = st.lists(st.sampled_from(names), min_size=2, max_size=2, unique=True)
    steps: list[Keys] = []
    for _ in range(data.draw(st.integers(1, 4))):
        p, q = data.draw(pairs)
        how = {
            "direction": data.draw(st.sampled_from(["over", "behind"])),
            "layers": data.draw(st.sampled_from(["all", "flap", 1])),
        }
        tried = [*steps, {"fold": {"point": p, "onto": q}, "moves": p} | how]
        if carry_out(without(tried, points)).refused is None:
            steps = tried
    assume(steps)
    folded = carry_out(without(steps, points))
    ends = data.draw(pairs)
    p, q = (folded.where(m) for m in ends)
    assume(p != q)
    fold_map = folded.fold_map
    found = outline(fold_map, (p, q))
    for a, b in found.segments():
        for place in (a, b, Point((a.x + b.x) / 2, (a.y + b.y) / 2)):
            image = folded.paper.image(folded.paper.host(place), place)
            assert (q.x - p.x) * (image.y - p.y) == (q.y - p.y) * (image.x - p.x)
    assume(found.segments())
    result = verify.certify(pattern_of(fold_map, found), Limits(faces=1000))
    assert result.verdict == "certified"
    assert "cut-exact" in result.claims


def without(steps: list[Keys], points: dict[str, tuple[int, int]]) -> Recipe:
    keys = square(steps, {"through": ["sw", "ne"]}, **points).keys()
    found = read_any({k: v for k, v in keys.items() if k != "cut"})
    assert isinstance(found, Recipe)
    return found
