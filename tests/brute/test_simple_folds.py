"""The search for simple folds against all simple folds on grids, in each of the six models, and against what is
published.

Sources: Arkin, Bender, Demaine, Demaine, Mitchell, Sethia, Skiena, When can you fold a map?, CGTA 29 (2004) 23-46: a
one-dimensional pattern folds flat by any means exactly if it does by one-layer simple folds.
"""

from __future__ import annotations

import random
from itertools import product
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.brute.simple_folds import RULES, Assignment, Cell, Crease, map_cells, reachable_assignments, sides
from tests.profiles import examples, share, some
from verify.construct.steps.folds import MODELS, Model
from verify.construct.steps.search import find_sequence
from verify.construct.steps.written import folds_exactly, recipe_of
from verify.folding.crossing import crossing_conditions
from verify.folding.foldmap import fold_map
from verify.folding.order import find_order
from verify.folding.overlaps import Overlaps
from verify.folding.stack import LayerOrder
from verify.folding.steps import carry_out
from verify.pattern.arrangement import subdivide
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.pattern.families import strip
from verify.pattern.recipe import read_any
from verify.pattern.subdivision import Subdivision
from verify.tasks.certify import certify

KIND = {"V": "valley", "M": "mountain", "E": "either"}


def grid_document(cells: frozenset[Cell], letters: dict[Crease, str]) -> Document:
    """A sheet of grid cells without holes, with a crease on each side that has a letter."""
    names: dict[Cell, str] = {}
    points: dict[str, list[int]] = {}

    def name(place: Cell) -> str:
        if place not in names:
            names[place] = f"p{len(names)}"
            points[names[place]] = list(place)
        return names[place]

    creases = []
    for crease, letter in sorted(letters.items(), key=lambda item: sorted(item[0])):
        (x, y), there = sorted(crease)
        one, two = ((x + 1, y), (x + 1, y + 1)) if there == (x + 1, y) else ((x, y + 1), (x + 1, y + 1))
        creases.append([name(one), name(two), KIND[letter]])
    ahead: dict[Cell, Cell] = {}
    for x, y in cells:
        for start, end, beside in (
            ((x, y), (x + 1, y), (x, y - 1)),
            ((x + 1, y), (x + 1, y + 1), (x + 1, y)),
            ((x + 1, y + 1), (x, y + 1), (x, y + 1)),
            ((x, y + 1), (x, y), (x - 1, y)),
        ):
            if beside not in cells:
                assert start not in ahead
                ahead[start] = end
    outline = [min(ahead)]
    while ahead[outline[-1]] != outline[0]:
        outline.append(ahead[outline[-1]])
    assert len(outline) == len(ahead), "one outline"
    keys: dict[str, Any] = {
        "format": "creaseproof-pattern/1",
        "sheet": {"outline": [name(p) for p in outline]},
        "creases": creases,
        "points": points,
    }
    return read_any(keys)


def subdivision(document: Document) -> Subdivision:
    return subdivide(draw(document))


def found_by_search(cells: frozenset[Cell], letters: dict[Crease, str], model: Model) -> bool:
    return find_sequence(subdivision(grid_document(cells, letters)), model).folds is not None


def fine_at_each_vertex(columns: int, rows: int, letters: dict[Crease, str]) -> bool:
    """Maekawa at each inner vertex of a map: of its four creases three are alike."""
    for x, y in product(range(1, columns), range(1, rows)):
        here = [((x - 1, y - 1), (x, y - 1)), ((x - 1, y), (x, y)), ((x - 1, y - 1), (x - 1, y)), ((x, y - 1), (x, y))]
        if [letters[frozenset(pair)] for pair in here].count("V") not in (1, 3):
            return False
    return True


def words(cells: frozenset[Cell]) -> list[dict[Crease, str]]:
    creases = sides(cells)
    return [dict(zip(creases, word, strict=True)) for word in product("MV", repeat=len(creases))]


def as_assignment(letters: dict[Crease, str]) -> Assignment:
    return frozenset(letters.items())


@pytest.mark.parametrize(
    ("columns", "rows", "folding", "simply"),
    [(2, 2, 8, 8), (3, 2, 32, 32), pytest.param(4, 2, 128, 120, marks=pytest.mark.long), (3, 3, 252, 224)],
)
def test_every_assignment_of_small_maps(columns: int, rows: int, folding: int, simply: int) -> None:
    """Assignments that fold at each vertex, one by one; those that fold flat at all are 252 of the 256 of 3 × 3
    (counted by `count` in test_maps).
    """
    cells = map_cells(columns, rows)
    reachable = reachable_assignments(cells, frozenset(sides(cells)), RULES["some-layers"])
    assert len(reachable) == simply
    fine = [letters for letters in words(cells) if fine_at_each_vertex(columns, rows, letters)]
    assert len(fine) == (256 if (columns, rows) == (3, 3) else folding)
    assert reachable <= {as_assignment(letters) for letters in fine}
    for letters in some(fine) if (columns, rows) == (3, 3) else fine:
        assert found_by_search(cells, letters, "some-layers") == (as_assignment(letters) in reachable)


@pytest.mark.parametrize(("columns", "rows"), [(2, 2), (3, 2)])
@pytest.mark.parametrize("model", MODELS)
def test_every_assignment_in_every_model(columns: int, rows: int, model: Model) -> None:
    cells = map_cells(columns, rows)
    reachable = reachable_assignments(cells, frozenset(sides(cells)), RULES[model])
    for letters in some(words(cells), of=9) if (columns, rows) == (3, 2) else words(cells):
        assert found_by_search(cells, letters, model) == (as_assignment(letters) in reachable)


@pytest.mark.long
@pytest.mark.parametrize(
    ("columns", "rows", "model"),
    [*((4, 2, model) for model in MODELS), (3, 3, "some-layers"), (3, 3, "infinite-all-layers")],
)
def test_assignments_of_larger_maps_in_every_model(columns: int, rows: int, model: Model) -> None:
    """Every ninth, also of those that do not fold at some vertex: no search may find them."""
    cells = map_cells(columns, rows)
    reachable = reachable_assignments(cells, frozenset(sides(cells)), RULES[model])
    for letters in words(cells)[::9]:
        assert found_by_search(cells, letters, model) == (as_assignment(letters) in reachable)


SHEETS = {
    "ell": [(0, 0), (1, 0), (2, 0), (0, 1), (0, 2)],
    "tee": [(0, 0), (1, 0), (2, 0), (1, 1), (1, 2)],
    "comb": [(0, 0), (1, 0), (2, 0), (3, 0), (4, 0), (0, 1), (2, 1), (4, 1)],
    "arch": [(0, 0), (0, 1), (0, 2), (1, 2), (2, 2), (2, 1), (2, 0)],
    "plus": [(0, 0), (1, 0), (-1, 0), (0, 1), (0, -1)],
    "stairs": [(0, 0), (1, 0), (1, 1), (2, 1), (2, 2), (3, 2)],
    "block": [(0, 0), (1, 0), (2, 0), (3, 0), (0, 1), (1, 1), (2, 1), (3, 1)],
}


# each sheet in one model of the six, in all of them with --long
BY_TURNS = [
    pytest.param(name, model, marks=[pytest.mark.long] * ((k + n) % 6 > 0))
    for k, name in enumerate(SHEETS)
    for n, model in enumerate(MODELS)
]


@pytest.mark.parametrize(("name", "model"), BY_TURNS)
def test_random_creases_on_sheets_of_many_shapes(name: str, model: Model) -> None:
    """Some sides creased, some not; with all creases open, then with assignments that a sequence gives and with
    others.
    """
    cells = frozenset(SHEETS[name])
    rng = random.Random(f"{name} {model} 1")
    joints = sides(cells)
    for _ in range(share(5)):
        creases = frozenset(rng.sample(joints, rng.randint(2, min(5, len(joints)))))
        reachable = reachable_assignments(cells, creases, RULES[model])
        assert found_by_search(cells, dict.fromkeys(creases, "E"), model) == bool(reachable)
        for letters in [{c: rng.choice("MV") for c in creases} for _ in range(3)] + [
            dict(a) for a in sorted(reachable, key=str)[:2]
        ]:
            assert found_by_search(cells, letters, model) == (as_assignment(letters) in reachable)


@pytest.mark.parametrize(
    "model", ["some-layers", "all-layers", pytest.param("infinite-some-layers", marks=pytest.mark.long)]
)
def test_recipes_fold_exactly_the_pattern(model: Model) -> None:
    """Of random sheets: what is written is carried out, and has the pattern's creases, each as drawn."""
    rng = random.Random(model)
    written = 0
    for shape in SHEETS.values():
        cells = frozenset(shape)
        for _ in range(share(8)):
            creases = rng.sample(sides(cells), rng.randint(2, min(7, len(cells) - 1)))
            document = grid_document(cells, {c: rng.choice("EEMV") for c in creases})
            s = subdivision(document)
            sequence = find_sequence(s, model)
            if sequence.folds:
                recipe = recipe_of(document, sequence.panels, sequence.folds)
                folded = carry_out(recipe)
                assert folded.refused is None
                assert folds_exactly(sequence.panels, sequence.folds, folded.fold_map)
                assert certify(recipe).verdict == "certified"
                written += 1
    assert written >= share(16)


# ---- strips


def folds_flat(s: Subdivision) -> bool:
    return isinstance(find_order(crossing_conditions(Overlaps(fold_map(s)))), LayerOrder)


@pytest.mark.parametrize("last", [1, 2, 3])
def test_strips_that_fold_flat_fold_by_one_layer_at_a_time(last: int) -> None:
    """Strips of four panels, the first 2, two of them 1 to 3 long, with every assignment: simple folds just where
    they fold flat (Arkin et al. 2004).
    """
    for lengths in some(list(product((2,), (1, 2, 3), (1, 2, 3), (last,))), of=2):
        for word in product("MV", repeat=3):
            s = subdivision(strip(lengths, "".join(word)))
            assert (find_sequence(s, "one-layer").folds is not None) == folds_flat(s)


@examples(25)
@given(st.data())
def test_longer_strips(data: st.DataObject) -> None:
    lengths = data.draw(st.lists(st.integers(1, 6), min_size=2, max_size=7))
    word = "".join(data.draw(st.lists(st.sampled_from("MVE"), min_size=len(lengths) - 1, max_size=len(lengths) - 1)))
    s = subdivision(strip(lengths, word))
    one, some = find_sequence(s, "one-layer"), find_sequence(s, "some-layers")
    assert (one.folds is not None) == (some.folds is not None) == folds_flat(s)
    assert one.folds is None or len(one.folds) == len(word)


@examples(20)
@given(st.lists(st.integers(1, 3), min_size=2, max_size=5).filter(lambda lengths: sum(lengths) <= 10), st.data())
def test_strips_by_all_layers(lengths: list[int], data: st.DataObject) -> None:
    """Against all folds of the strip as cells of a grid: no theorem is at hand that says which."""
    total = sum(lengths)
    cells = map_cells(total, 1)
    stops = [sum(lengths[:i]) for i in range(1, len(lengths))]
    word = data.draw(st.lists(st.sampled_from("MV"), min_size=len(stops), max_size=len(stops)))
    letters = {frozenset({(x - 1, 0), (x, 0)}): letter for x, letter in zip(stops, word, strict=True)}
    for model in ("all-layers", "infinite-all-layers"):
        reachable = reachable_assignments(cells, frozenset(letters), RULES[model])
        assert found_by_search(cells, letters, model) == (as_assignment(letters) in reachable)  # type: ignore[arg-type]
