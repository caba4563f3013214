"""Recipes by search: what is known of small figures, and what the theorem rules out.

From outside: an all-layers fold at most halves the number of lines, and every convex polygon with a line of symmetry
has an all-layers recipe (Demaine, Demaine, Hawksley, Ito, Loh, Manber and Stephens 2011, LNCS 7033). What is found, the
kernel proves.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import Any

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

import verify
from tests.construct.figures import Place, figure, solutions, symmetric_convex
from tests.places import PROOFS
from tests.profiles import examples
from verify.construct.letterforms.forms import forms
from verify.construct.recipes.deepening import Deepening
from verify.construct.recipes.layered import SomeLayers
from verify.construct.recipes.lines import Mirror, UnitLine, bisectors, common, merged, mirror, outside
from verify.construct.recipes.near import near
from verify.construct.recipes.picture import AllLayers
from verify.construct.recipes.ruled_out import mirror_lines, no_all_layers_recipe
from verify.construct.recipes.stack import Folds
from verify.construct.recipes.start import start_of
from verify.construct.recipes.written import drawing_outside, folded, smaller_side_moves, written
from verify.exact.number import Number
from verify.exact.numberfield import Field
from verify.exact.plane import Point, reflection
from verify.folding.steps import Folded, carry_out
from verify.pattern.document import Document
from verify.pattern.limits import Clock, LimitReached, Limits, silent
from verify.pattern.recipe import FoldStep, Recipe
from verify.tasks.letters import letter_recipes
from verify.tasks.preferred import folds_true_to
from verify.tasks.recipe_search import Prefer, Search, Wanted
from verify.words.step_words import light_words, new_marks

SQUARE = figure([(0, 0), (30, 0), (30, 30), (0, 30)])
FIR_SIDE = [(4, 0), (4, 12), (28, 12), (13, 32), (22, 32), (7, 52), (15, 52)]
FIR = figure([*FIR_SIDE, (0, 72), *((-x, y) for x, y in reversed(FIR_SIDE))])
SCALENE = figure([(0, 0), (40, 0), (10, 30)])
LETTER_F = figure([(0, 0), (10, 0), (10, 20), (30, 20), (30, 30), (10, 30), (10, 50), (40, 50), (40, 60), (0, 60)])


def test_a_square_hole_takes_two_folds_and_no_fewer() -> None:
    found = verify.recipe(SQUARE)
    assert (found.verdict, found.shown, found.folds, found.layers) == ("certified", "shortest", 2, 4)
    assert found.least == 2  # four lines, each fold at most halves their number
    assert found.recipe is not None
    assert found.result is not None
    assert verify.audit(found.recipe, found.result.certificate or {}).accepted


@pytest.mark.parametrize(
    ("name", "folds"),
    [("house", 3), ("kite", 2), ("triangle", 2), ("letter-l", 3), ("letter-x", 4), ("octagon", 3), ("star-exact", 4)],
)
def test_the_corpus_in_as_few_folds(name: str, folds: int) -> None:
    recipe = verify.load(PROOFS / "recipes" / f"{name}.toml")
    assert isinstance(recipe, Recipe)
    found = verify.recipe(recipe.base, square=False, seconds=None)
    assert (found.verdict, found.shown, found.folds) == ("certified", "shortest", folds)
    by_hand = [s for s in recipe.steps if isinstance(s, FoldStep)]
    assert folds <= len(by_hand) or name in ("letter-x",)


def found_again(name: str) -> Folded:
    """What is found for the target of a recipe of the corpus, carried out."""
    recipe = verify.load(PROOFS / "recipes" / f"{name}.toml")
    assert isinstance(recipe, Recipe)
    found = verify.recipe(recipe.base, square=False, seconds=None)
    assert found.result is not None
    assert found.result.carried is not None
    return found.result.carried


@pytest.mark.parametrize("name", ["house", "kite", "octagon"])
def test_the_printed_outline_stays_in_sight(name: str) -> None:
    """Folded behind first, the paper has its printed front outside; no step speaks of print that is out of sight."""
    carried = found_again(name)
    first, *others = carried.recipe.steps
    assert isinstance(first, FoldStep)
    assert first.direction == "behind"
    assert not any(light_words(carried, number) for number in range(1, len(others) + 2))


@pytest.mark.parametrize("name", ["house", "lampshade", "letter-x"])
def test_marks_are_named_after_the_step_that_shows_them(name: str) -> None:
    """A step that introduces marks calls them by its own number."""
    carried = found_again(name)
    steps = range(1, len(carried.recipe.steps) + 1)
    marks = [(step, mark) for step in steps for mark in new_marks(carried, step)]
    assert marks
    assert all(mark.rstrip("abc") == str(step) for step, mark in marks)


def test_an_equilateral_triangle_takes_two_folds_and_no_fewer() -> None:
    """Three lines, each fold at most halves their number."""
    document = verify.read({
        "format": "creaseproof-pattern/1",
        "points": {"a": [-60, -40], "b": [60, -40], "c": [60, 100], "d": [-60, 100],
            "e": [-40, 0], "f": [40, 0], "g": [0, "40*sqrt(3)"]},
        "sheet": {"outline": ["a", "b", "c", "d"]},
        "target": {"loops": [["e", "f", "g"]]},
    })  # fmt: skip
    found = verify.recipe(document)
    assert (found.verdict, found.shown, found.folds, found.least) == ("certified", "shortest", 2, 2)


def test_a_line_along_the_sheets_edge_need_not_be_cut() -> None:
    card = verify.read({
        "format": "creaseproof-pattern/1",
        "points": {"a": [0, 0], "b": [60, 0], "c": [60, 20], "d": [20, 20], "e": [20, 100], "f": [0, 100],
            "g": [60, 100]},
        "sheet": {"outline": ["a", "b", "g", "f"]},
        "target": {"paths": [["c", "d", "e"]]},
    })  # fmt: skip
    assert isinstance(card, Document)
    found = verify.recipe(card)
    assert (found.verdict, found.folds, found.layers) == ("certified", 1, 2)


def test_a_figure_without_symmetry_and_with_a_margin_has_no_all_layers_recipe() -> None:
    found = verify.recipe(LETTER_F, all_layers=True)
    assert (found.verdict, found.shown, found.recipe) == ("undecided", "none", None)
    assert "no line of symmetry" in found.reason
    assert no_all_layers_recipe(start_of(SCALENE))


def test_the_theorem_is_silent_where_its_hypotheses_fail() -> None:
    assert not no_all_layers_recipe(start_of(SQUARE))
    flush = figure([(0, 0), (40, 0), (10, 30)], margin=0)
    assert not no_all_layers_recipe(start_of(flush))
    # two scalene triangles that are mirror images of each other touch: not pieces apart
    touching = figure([(0, 0), (40, 0), (10, 30)], [(0, 0), (-40, 0), (-10, -30)])
    assert start_of(touching).pieces is None


def test_the_search_agrees_with_the_theorem() -> None:
    """Where the theorem says that there is none, the search (which does not use it) finds none."""
    for document in (SCALENE, LETTER_F):
        search = AllLayers(start_of(document).picture, Clock(60, "x"), square=True)
        assert next(solutions(search, 4), None) is None
        assert search.exhausted == 4


def test_folds_of_some_layers_where_all_layers_cannot() -> None:
    """A banner letter T (proofs/recipes) has no line of symmetry that helps by all layers; a pleat of one flap does."""
    recipe = verify.load(PROOFS / "recipes" / "letter-t.toml")
    assert isinstance(recipe, Recipe)
    found = verify.recipe(recipe.base, square=False, seconds=None)
    assert (found.verdict, found.shown, found.folds) == ("certified", "shortest", 5)
    assert "layers" in str([dict(s) for s in found.recipe.written]) if found.recipe else False
    assert "there is no shorter recipe of folds of some layers that lay line on line" in found.words()


BOW = figure([(0, 0), (-40, 20), (-40, -20)], [(0, 0), (40, 20), (40, -20)])
CHESS = figure([(0, 0), (30, 0), (30, 30), (0, 30)], [(0, 0), (-30, 0), (-30, -30), (0, -30)])


@pytest.mark.parametrize("document", [BOW, CHESS])
def test_a_crease_through_a_corner_where_pieces_touch(document: Document) -> None:
    """Sides go straight on through the corner, and the crease crosses two of them at a slant, one laid on the other."""
    found = verify.recipe(document, all_layers=True, square=False)
    assert (found.verdict, found.shown, found.folds) == ("certified", "shortest", 3)
    first = next(SomeLayers(start_of(document).stack, Clock(60, "x")).of_length(3))
    assert len(first) == 3


def test_layers_are_told_as_a_recipe_tells_them() -> None:
    """What the search takes for the moving panels is what carrying out the written step moves."""
    recipe = verify.load(PROOFS / "recipes" / "fish.toml")
    assert isinstance(recipe, Recipe)
    start = start_of(recipe.base)
    search = SomeLayers(start.stack, Clock(60, "x"))
    some = 0
    for folds in itertools.islice(search.of_length(3), 6):
        carried = verify.fold(written(start, folds))
        assert carried.refused is None
        stack = folded(start, folds)
        ends = sorted((float(c.x), float(c.y)) for p in stack.layers for c in p.face.corners)
        paper = carried.paper
        places = {(round(float(p.x), 6), round(float(p.y), 6)) for p in paper.now.images}
        assert {(round(x, 6), round(y, 6)) for x, y in ends} <= places
        some += any(f.moving is not None for f in folds)
    assert some


@pytest.mark.parametrize("letter", ["A", "E", "H", "W"])
def test_letters_are_folded_with_the_print_outside(letter: str) -> None:
    """Also where accuracy is preferred: no step has to look through the paper."""
    ((_, made),) = letter_recipes(letter)
    assert made.result is not None
    carried = made.result.carried
    assert carried is not None
    first = carried.recipe.steps[0]
    assert isinstance(first, FoldStep)
    assert first.direction == "behind"
    assert not any(light_words(carried, number) for number in range(1, len(carried.done) + 1))


def test_flaps_go_the_other_way_with_the_print_outside() -> None:
    """The stack at the end is that of the folds as they were found, seen from the other side."""
    recipe = verify.load(PROOFS / "recipes" / "fish.toml")
    assert isinstance(recipe, Recipe)
    start = start_of(recipe.base)
    every = itertools.islice(SomeLayers(start.stack, Clock(60, "x")).of_length(3), 6)
    some = [folds for folds in every if folds[0].over and any(fold.moving is not None for fold in folds)]
    assert some
    for folds in some:
        outside = drawing_outside(start, folds)
        assert [fold.over for fold in outside] == [not fold.over for fold in folds]
        found, other = (
            [(layer.motion, layer.face.corners) for layer in folded(start, one).layers] for one in (folds, outside)
        )
        assert other == found[::-1]
        assert verify.fold(written(start, outside)).refused is None


def test_paper_with_its_outline_on_one_line_has_no_fold_that_lays_line_on_line() -> None:
    start = start_of(figure([(0, 0), (40, 0), (20, 20)]))
    search = SomeLayers(start.stack, Clock(60, "x"))
    bent = folded(start, next(search.of_length(2)))
    assert len(bent.ink) == 1
    assert list(search.folds(bent)) == []


def test_all_was_tried_also_if_the_time_ended_just_then() -> None:
    """A crown, which no three folds free: what is said of it does not depend on the time that is left at the end."""
    half: list[Place] = [(0, 30), (10, 15), (25, 35), (30, 0)]
    start = start_of(figure([*half, (-30, 0), (-25, 35), (-10, 15)]))
    wanted = Wanted(3, 16, all_layers=False, seconds=60, limits=Limits(), progress=silent)
    search = Search(start, wanted, Clock(60, "x"))
    assert search.run(square=True).shown == "none"
    search.clock = Clock(1e-9, "x")
    assert search._none("").shown == "none"
    assert Search(start, wanted, Clock(1e-9, "x")).run(square=True).shown == ""


def _half_plane(a: float, b: float, c: float, far: float = 1e6) -> shapely.Polygon:
    """Where ax + by > c, as far as that."""
    x, y = a / math.hypot(a, b), b / math.hypot(a, b)
    near = c / math.hypot(a, b)
    return shapely.Polygon(
        [(x * s - y * t, y * s + x * t) for s, t in ((near, -far), (far, -far), (far, far), (near, far))]
    )


def test_the_smaller_part_moves_also_where_a_flap_is_folded_later() -> None:
    """An arrow that lies across its sheet: the areas beyond each fold of all layers, by another library (shapely)."""
    corners = ((0, 10), (60, 10), (60, -8), (100, 20), (60, 48), (60, 30), (0, 30))
    start = start_of(figure([(12 * x - 5 * y, 5 * x + 12 * y) for x, y in corners], margin=130))  # by arctan 5/12
    every = itertools.islice(SomeLayers(start.stack, Clock(60, "x")).of_length(4), 6)
    some = [folds for folds in every if any(fold.moving is not None for fold in folds)]
    assert any(smaller_side_moves(start, folds) != folds for folds in some)
    for folds in some:
        smaller, stack = smaller_side_moves(start, folds), start.stack
        for number, fold in enumerate(smaller, start=1):
            before = [shapely.Polygon([(float(p.x), float(p.y)) for p in x.face.corners]) for x in stack.layers]
            far = _half_plane(*(float(x) for x in fold.line[:3]))
            beyond = sum(layer.intersection(far).area for layer in before)
            assert fold.moving is not None or beyond <= sum(layer.area for layer in before) / 2 * (1 + 1e-9)
            stack = stack.fold(fold, number) or stack
        assert verify.certify(written(start, smaller)).verdict == "certified"


def test_the_part_that_moves_is_told_by_print_in_sight() -> None:
    """J: after the first step a1 lies on the back; the second step's fold runs through marks that do not move."""
    ((_, made),) = letter_recipes("J")
    assert isinstance(made.made, Recipe)
    second = made.made.steps[1]
    assert isinstance(second, FoldStep)
    assert second.alignment.kind == "through"
    carried = carry_out(made.made)
    paper, place = carried.paper, carried.marks[second.moves]
    state = paper.states[1]
    image = paper.image(paper.host(place), place, state)
    top = paper.face_for_mark(image, None, state)
    assert top is not None
    assert paper.contains(top, place)
    assert not state.turned[top]


def test_of_recipes_of_one_length_the_most_forgiving() -> None:
    """A figure 6 on a card: one of its recipes wants folds true to 0.04 mm, another one to 0.11 (estimates)."""
    document = forms("card")["6"].document()
    preferences: tuple[Prefer, ...] = ("layers", "accuracy")
    plain, forgiving = (verify.recipe(document, square=False, prefer=prefer) for prefer in preferences)
    assert plain.folds == forgiving.folds == 4
    assert plain.recipe is not None
    assert forgiving.recipe is not None
    allowed = folds_true_to(plain.recipe), folds_true_to(forgiving.recipe)
    assert allowed[0] is not None
    assert allowed[1] is not None
    assert allowed[1] > 2 * allowed[0]


def test_of_references_those_that_leave_more_room() -> None:
    """A house with a roof: the last fold by whole edges wants folds true to 0.31 mm (an estimate), by
    pieces of the edges that lie on top to 0.24.
    """
    house = figure([(40, 90), (70, 60), (70, 10), (10, 10), (10, 60)], margin=10)
    found = verify.recipe(house, square=False)
    assert found.recipe is not None
    assert folds_true_to(found.recipe) == pytest.approx(0.3146, abs=1e-3)


def test_near_the_drawing() -> None:
    """A window drawn by eye, one corner a millimetre too high: no line of symmetry until its neighbour comes up to
    it.
    """
    drawn = figure([(0, 0), (30, 0), (30, 31), (0, 30)])
    assert verify.recipe(drawn, all_layers=True).shown == "none"
    found = verify.recipe(drawn, all_layers=True, near=True)
    assert found.verdict == "certified"
    assert found.moved is not None
    assert found.moves() == ["p03: moved up by 1 mm (y from 30 to 31)"]
    assert found.recipe is not None
    assert found.recipe.base.points["p03"] == ("0", "31")
    late = verify.recipe(drawn, near=True, seconds=1e-6)
    assert "seconds = 1e-06" in late.reason  # what was allowed, not the part of it that the drawing itself got
    exact = verify.recipe(SQUARE, near=True, seconds=600)
    assert (exact.moved, exact.folds) == (None, 2)


def test_no_figure_near_is_taken_that_needs_more_folds(monkeypatch: pytest.MonkeyPatch) -> None:
    """A lantern that takes five folds and 16 layers, of which hands are warned; the first figures near it take six
    folds or seven.
    """
    monkeypatch.setattr("verify.tasks.recipe.near_variants", lambda document: itertools.islice(near(document), 4))
    right = [(70, 120), (70, 110), (90, 90), (90, 50), (70, 30), (70, 20)]
    drawn = figure([*right, *((120 - x, y) for x, y in reversed(right))])
    found = verify.recipe(drawn, seconds=None)
    assert (found.verdict, found.folds, found.is_hard) == ("certified", 5, True)
    near_it = verify.recipe(drawn, near=True, seconds=None)
    assert (near_it.verdict, near_it.moved, near_it.why_moved()) == ("certified", None, "")
    assert near_it.folds == found.folds


def test_a_scalene_triangle_becomes_one_with_two_equal_sides() -> None:
    """No simple folds free a scalene triangle with paper all round; one near it has a line of symmetry."""
    drawn = figure([(0, 0), (60, 10), (20, 50)])
    assert verify.recipe(drawn).forbidden
    found = verify.recipe(drawn, near=True)
    assert (found.verdict, found.folds) == ("certified", 2)
    assert found.why_moved() == "for the drawing as it is, no recipe was found"
    assert not any("/" in moved for moved in found.moves())
    assert found.recipe is not None
    corners = [found.recipe.base.points[f"p0{i}"] for i in range(3)]
    (a, b), c = [tuple(map(Fraction, p)) for p in corners[:2]], tuple(map(Fraction, corners[2]))
    squares = sorted((x - u) ** 2 + (y - v) ** 2 for (x, y), (u, v) in ((a, b), (b, c), (c, a)))
    assert squares[0] == squares[1] or squares[1] == squares[2]
    assert all(moved.startswith("p0") and ": moved " in moved for moved in found.moves())


def test_figures_near_are_near() -> None:
    """An F with strokes 10 and 11 wide; of the other one all distances are alike or far from it."""
    uneven = figure([(0, 0), (11, 0), (11, 20), (30, 20), (30, 30), (11, 30), (11, 50), (40, 50), (40, 60), (0, 60)])
    found = list(itertools.islice(near(uneven), 40))
    assert found
    for variant in found:
        assert 0 < max(abs(move.after - move.before) for move in variant.moves) <= Fraction(60, 16)
        assert variant.document.outline == uneven.outline
        for name in variant.document.outline:
            assert variant.document.points[name] == uneven.points[name]
        moved = {n for n in uneven.points if variant.document.points[n] != uneven.points[n]}
        assert moved == {name for move in variant.moves for name in move.names}
    assert list(near(LETTER_F)) == []


@given(st.integers(5, 60), st.integers(-20, 70), st.integers(5, 50))
@examples(10)
def test_any_triangle_with_a_side_along_the_edge_takes_one_fold(base: int, x: int, y: int) -> None:
    """Demaine, Demaine and Lubiw 1998 fold any triangle; with one side along the sheet's edge the bisector of the other
    two is enough.
    """
    sheet = {"sw": (-40, 0), "se": (110, 0), "ne": (110, 90), "nw": (-40, 90), "a": (0, 0), "b": (base, 0), "c": (x, y)}
    document = verify.read({
        "format": "creaseproof-pattern/1",
        "points": {name: list(p) for name, p in sheet.items()},
        "sheet": {"outline": ["sw", "se", "ne", "nw"]},
        "target": {"paths": [["a", "c", "b"]]},
    })  # fmt: skip
    found = verify.recipe(document, square=False, seconds=None)
    assert (found.verdict, found.folds, found.layers) == ("certified", 1, 2)


def test_lines_of_symmetry() -> None:
    assert len(mirror_lines(start_of(SQUARE).picture.ink)) == 4
    assert len(mirror_lines(start_of(figure([(0, 0), (60, 0), (60, 30), (0, 30)])).picture.ink)) == 2
    assert mirror_lines(start_of(SCALENE).picture.ink) == []
    # a parallelogram turns onto itself and has no mirror line
    assert mirror_lines(start_of(figure([(0, 0), (50, 0), (62, 16), (12, 16)])).picture.ink) == []


def test_no_fold_fewer_by_trying_all() -> None:
    """The bound is admissible: the search without it, one fold at a time, finds nothing shorter."""
    for name in ("house", "letter-l"):
        recipe = verify.load(PROOFS / "recipes" / f"{name}.toml")
        assert isinstance(recipe, Recipe)
        pictures = [start_of(recipe.base).picture]
        search = AllLayers(pictures[0], Clock(60, "x"))
        folds = 0
        while not any(p.ready for p in pictures):
            following = [search.after(p, child.fold) for p in pictures for child in search.folds(p)]
            pictures = list({after.key: after for after in following if after is not None}.values())
            folds += 1
        assert folds == 3


def test_of_corners_that_lie_on_each_other_one_is_named_that_can_be_read() -> None:
    """A star of six points in a hexagon. By hand: the lower half goes behind, the left half over; uppermost then lies
    the lower left quarter, print up: corner 4 where corner 1 is, and 5 where 6 is.
    """
    points = {f"s{k}": (f"60*cos({k - 1}*pi/3)", f"60*sin({k - 1}*pi/3)") for k in range(1, 7)}
    points |= {f"a{k}": (f"45*cos({k}*pi/3)", f"45*sin({k}*pi/3)") for k in range(6)}
    points |= {f"b{k}": (f"18*cos({2 * k + 1}*pi/6)", f"18*sin({2 * k + 1}*pi/6)") for k in range(6)}
    star = tuple(name for k in range(6) for name in (f"a{k}", f"b{k}"))
    found = verify.recipe(Document(points, tuple(f"s{k}" for k in range(1, 7)), loops=(star,), snips=1)).recipe
    assert found is not None
    half, quarter, sixth, _ = found.steps
    assert isinstance(half, FoldStep)
    assert isinstance(quarter, FoldStep)
    assert isinstance(sixth, FoldStep)
    assert (half.alignment.marks, half.moves, half.direction) == (("s1", "s4"), "s5", "behind")
    assert (quarter.alignment.marks, quarter.moves, quarter.direction) == (("s4", "s1"), "s4", "over")
    assert (sixth.alignment.marks, sixth.moves) == (("s4", "s5"), "s4")


def test_a_target_on_one_line_needs_no_fold() -> None:
    across = verify.read({
        "format": "creaseproof-pattern/1",
        "points": {"a": [0, 0], "b": [60, 0], "c": [60, 40], "d": [0, 40], "e": [20, 0], "f": [35, 40]},
        "sheet": {"outline": ["a", "b", "c", "d"]},
        "target": {"paths": [["e", "f"]]},
    })  # fmt: skip
    found = verify.recipe(across)
    assert (found.shown, found.reason) == ("none", "the figure lies on one line: cut, without any fold")


def test_without_a_target_or_with_snips_it_says_so() -> None:
    bare = verify.read({
        "format": "creaseproof-pattern/1",
        "points": {"a": [0, 0], "b": [60, 0], "c": [60, 40]},
        "sheet": {"outline": ["a", "b", "c"]},
    })  # fmt: skip
    assert verify.recipe(bare).verdict == "unsupported"


def test_a_limit_is_said() -> None:
    star = verify.load(PROOFS / "recipes" / "star-exact.toml")
    assert isinstance(star, Recipe)
    found = verify.recipe(star.base, seconds=1e-9)
    assert (found.verdict, found.shown) == ("undecided", "")
    assert "the limit seconds" in found.reason


def up_to_three_folds(search: Deepening[Any], depth: int) -> Iterator[Folds]:
    """All recipes of a length, as long as there is time for them."""
    if depth > 3:
        raise LimitReached("seconds", "20", "for the sake of a test")
    search.exhausted = depth
    yield from ()


def test_a_narrow_search_goes_on_where_all_cannot_be_tried(monkeypatch: pytest.MonkeyPatch) -> None:
    """A fir on twelve lines: folded in half it lies on eight, and each further fold lays one of them on the next. So
    eight folds do; the kernel proves that they do.
    """
    monkeypatch.setattr(Deepening, "of_length", up_to_three_folds)
    found = verify.recipe(FIR, seconds=None)
    assert (found.verdict, found.shown, found.families, found.folds) == ("certified", "found", (), 8)
    assert found.words() == "8 folds; a shorter recipe is not ruled out"
    assert found.recipe is not None
    assert found.result is not None
    assert verify.audit(found.recipe, found.result.certificate or {}).accepted
    fewer = verify.recipe(FIR, seconds=None, folds=7)
    assert (fewer.verdict, fewer.longer) == ("undecided", 8)
    assert "8 folds, more than allowed, seem to free it" in fewer.words()


FISH = [(60, 0), (30, 20), (0, 20), (-30, 5), (-55, 25), (-55, -25), (-30, -5), (0, -20), (30, -20)]


def test_a_limit_is_kept_in_a_field_of_high_degree(monkeypatch: pytest.MonkeyPatch) -> None:
    """Turned by 36 degrees, the fish's lines need a field of degree 16."""
    points = {
        f"p{i}": [f"{x}*cos(pi/5)-({y})*sin(pi/5)", f"{x}*sin(pi/5)+({y})*cos(pi/5)"] for i, (x, y) in enumerate(FISH)
    }
    fish = verify.read({
        "format": "creaseproof-pattern/1",
        "points": {"sw": [-99, -99], "se": [99, -99], "ne": [99, 99], "nw": [-99, 99]} | points,
        "sheet": {"outline": ["sw", "se", "ne", "nw"]},
        "target": {"loops": [list(points)]},
    })  # fmt: skip
    assert isinstance(fish, Document)
    found = verify.recipe(fish, seconds=1e-9)
    assert (found.verdict, found.shown) == ("undecided", "")
    assert found.reason.startswith("the limit seconds = 1e-09 was reached before the search began")
    start = start_of(fish)
    assert max(place.x.field.degree for place in start.places.values()) == 16
    divided = 0
    inverse = Field.inverse

    def counted(field: Field, *rest: Any) -> Any:
        nonlocal divided
        found = inverse(field, *rest)
        divided += 1
        return found

    monkeypatch.setattr(Field, "inverse", counted)
    clock = Clock(1e-9, "the search for a recipe")
    found = Search(start, Wanted(8, 16, False, 1e-9, Limits(), silent), clock).run(square=True)
    assert (found.verdict, found.shown) == ("undecided", "")
    assert "the limit seconds = 1e-09 was reached" in found.reason
    assert divided == 0  # neither the theorems nor the search went on


# exact geometry of lines


small = st.integers(-6, 6)
slopes = st.sampled_from([(1, 0), (0, 1), (3, 4), (4, 3), (-3, 4), (5, 12), (-12, 5)])


def line(direction: tuple[int, int], x: int, y: int) -> UnitLine:
    dx, dy = direction
    size = Number.of(Fraction(dx * dx + dy * dy))
    root = next(Number.of(n) for n in range(1, 14) if Number.of(n * n) == size)
    a, b = Number.of(-dy) / root, Number.of(dx) / root
    c = a * x + b * y
    return UnitLine(a, b, c) if (a.sign() or b.sign()) > 0 else UnitLine(-a, -b, -c)


@given(slopes, small, small, slopes, small, small)
def test_bisectors_lay_one_line_on_the_other(
    one: tuple[int, int], x: int, y: int, two: tuple[int, int], u: int, v: int
) -> None:
    first, second = line(one, x, y), line(two, u, v)
    for fold in bisectors(first, second):
        image, _ = fold.line(first, [])
        assert second in (image, first)


@given(slopes, small, small, small, small, small.filter(bool), small)
def test_a_mirror_moves_places_and_stretches_alike(
    direction: tuple[int, int], x: int, y: int, t: int, a: int, b: int, c: int
) -> None:
    fold = mirror(Number.of(a), Number.of(b), Number.of(c))
    one = line(direction, x, y)
    image, [(low, high)] = fold.line(one, [(Number.of(t), Number.of(t + 2))])
    ends = {fold.point(one.at(Number.of(t))), fold.point(one.at(Number.of(t + 2)))}
    assert {image.at(low), image.at(high)} == ends
    assert low < high
    place = Point(Number.of(x), Number.of(t))
    foot = Point(fold.a * fold.c / fold.square, fold.b * fold.c / fold.square)
    assert fold.point(place) == reflection(foot, Point(foot.x + fold.b, foot.y - fold.a))(place)


stretches = st.lists(
    st.tuples(st.integers(0, 20), st.integers(1, 6)).map(lambda p: (Number.of(p[0]), Number.of(p[0] + p[1]))),
    max_size=5,
)


@given(stretches, stretches)
def test_stretches_are_sets_of_unit_steps(
    ones: list[tuple[Number, Number]], others: list[tuple[Number, Number]]
) -> None:
    def steps(parts: Sequence[tuple[Number, Number]]) -> set[int]:
        return {n for low, high in parts for n in range(int(float(low)), int(float(high)))}

    one, other = merged(ones), merged(others)
    assert steps(one) == steps(ones)
    assert all(a[1] < b[0] for a, b in itertools.pairwise(one))
    assert steps(outside(one, other)) == steps(ones) - steps(others)
    assert steps(common(one, other)) == steps(ones) & steps(others)


@examples(25)
@given(symmetric_convex())
def test_convex_polygons_with_a_line_of_symmetry_have_a_recipe(document: Document) -> None:
    """Demaine et al. 2011 prove that there is one, of however many folds; here 12 are enough."""
    found = verify.recipe(document, folds=12, layers=256, seconds=600, all_layers=True)
    assert found.verdict == "certified", found.words()


@examples(20)
@given(symmetric_convex())
def test_a_narrow_search_finds_a_recipe_of_convex_polygons(document: Document) -> None:
    """There is one, by the same proof."""
    assert AllLayers(start_of(document).picture, Clock(None, ""), square=True).narrow(14)


@pytest.mark.parametrize(
    ("loop", "folds"),
    [
        ([(0, 0), (24, -18), (0, 32), (-24, -18)], 2),  # a dart
        ([(0, 0), (20, 15), (40, 0), (40, 40), (20, 25), (0, 40)], 3),  # a fish
        ([(0, 0), (20, 20), (10, 30), (0, 20), (-10, 30), (-20, 20)], 3),  # a heart
        ([(-5, -15), (5, -15), (5, -5), (15, -5), (15, 5), (5, 5), (5, 15), (-5, 15), (-5, 5), (-15, 5), (-15, -5),
            (-5, -5)], 4),  # a cross
        ([(0, 0), (20, 15), (40, 15), (60, 0), (60, 40), (40, 25), (20, 25), (0, 40)], 4),  # a bow tie
        ([(0, 0), (20, -15), (20, 5), (0, 20), (-20, 5), (-20, -15)], 5),  # a chevron
    ],
)  # fmt: skip
def test_simple_polygons_that_are_not_convex(loop: Sequence[Place], folds: int) -> None:
    """Whether there is a recipe at all, of however many folds, is told in `test_peeled.py`."""
    found = verify.recipe(figure(loop), folds=7, all_layers=True)
    assert (found.verdict, found.shown, found.folds) == ("certified", "shortest", folds)


def where(fold: Mirror) -> tuple[Number, Number]:
    """A fold line by itself, whichever side moves."""
    return (fold.b / fold.a, fold.c / fold.a) if fold.a else (Number.of(10**9), fold.c / fold.b)


@given(symmetric_convex(), st.data())
@examples(12)
def test_no_candidate_is_lost_by_floats(document: Document, data: st.DataObject) -> None:
    """What the float filter rules out, exact folding refuses as well."""
    picture = start_of(document).picture
    for _ in range(2):
        folds = picture.candidates(square=True)
        kept = {where(fold): lines for fold, lines in picture.promising(folds)}
        possible = {fold: after for fold in folds if (after := picture.fold(fold)) is not None}
        assert {where(fold) for fold in possible} <= set(kept)
        assert all(kept[where(fold)] <= len(after.ink) for fold, after in possible.items())
        if not possible:
            return
        picture = possible[data.draw(st.sampled_from(sorted(possible, key=repr)))]


def test_mirrors_face_the_side_that_moves() -> None:
    fold = Mirror(Number.of(1), Number.of(0), Number.of(3), Number.of(1))
    one, two = start_of(SQUARE).picture.faces[0].split(fold, start_of(SQUARE).picture.faces[0].edges[0])
    assert one is not None
    assert two is not None
    assert max(float(p.x) for p in (*one.corners, *two.corners)) == 3.0
