"""Strips and maps by elimination: against the search, against the layer order's solver, and against folding grids in
every way.
"""

from __future__ import annotations

import random
from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.brute.simple_folds import RULES, Crease, map_cells, reachable_assignments, sides
from tests.corpus import certified
from tests.places import PROOFS
from tests.profiles import examples
from verify.construct.steps.maps import Map, MapLine, eliminate, map_of
from verify.construct.steps.panels import with_folded
from verify.construct.steps.search import STATES, _Search, find_sequence
from verify.exact.number import Number
from verify.folding.crossing import crossing_conditions
from verify.folding.foldmap import fold_map
from verify.folding.order import find_order
from verify.folding.overlaps import Overlaps
from verify.folding.stack import LayerOrder
from verify.folding.vertex import strip_order
from verify.pattern.arrangement import subdivide
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.pattern.families import strip
from verify.pattern.limits import Clock
from verify.pattern.recipe import read_any

Letters = dict[tuple[int, int, int], str]  # direction, line, cell


def spaced(columns: list[int], rows: list[int], letters: Letters) -> Document:
    """A map with columns and rows of these widths."""
    xs, ys = ([sum(sizes[:i]) for i in range(len(sizes) + 1)] for sizes in (columns, rows))
    points = {f"p{i}_{j}": [x, y] for i, x in enumerate(xs) for j, y in enumerate(ys)}
    kind = {"V": "valley", "M": "mountain"}
    creases = [
        [f"p{i}_{j}", f"p{i}_{j + 1}", kind[letters[0, i, j]]] for i in range(1, len(columns)) for j in range(len(rows))
    ]
    creases += [
        [f"p{i}_{j}", f"p{i + 1}_{j}", kind[letters[1, j, i]]] for j in range(1, len(rows)) for i in range(len(columns))
    ]
    m, n = len(columns), len(rows)
    outline = ["p0_0", f"p{m}_0", f"p{m}_{n}", f"p0_{n}"]
    return read_any(
        {"format": "creaseproof-pattern/1", "sheet": {"outline": outline}, "creases": creases, "points": points}
    )


def fold_in_blocks(rng: random.Random, columns: int, rows: int) -> Letters:
    """Letters as lines get them when they are creased one after the other: alike where the line comes first, changing
    where it comes second.
    """
    lines = [(0, i) for i in range(1, columns)] + [(1, j) for j in range(1, rows)]
    rng.shuffle(lines)
    letters: Letters = {}
    done: list[tuple[int, int]] = []
    for way, number in lines:
        letter = rng.choice("MV")
        for cell in range(rows if way == 0 else columns):
            if (1 - way, cell) in done:
                letter = "V" if letter == "M" else "M"
            letters[way, number, cell] = letter
        done.append((way, number))
    return letters


@pytest.mark.parametrize(("columns", "rows", "rounds"), [(4, 1, 10), (3, 2, 12), (4, 2, 10), (3, 3, 8), (4, 3, 4)])
def test_elimination_and_search_agree(columns: int, rows: int, rounds: int) -> None:
    """On maps with columns and rows of several widths; what is found folds exactly the map."""
    rng = random.Random(columns * 10 + rows)
    found = 0
    for _ in range(rounds):
        sizes = [[rng.choice((1, 1, 2, 3)) for _ in range(n)] for n in (columns, rows)]
        document = spaced(sizes[0], sizes[1], fold_in_blocks(rng, columns, rows))
        s = subdivide(draw(document))
        assert map_of(s) is not None
        quick = find_sequence(s)
        search = _Search(s, "some-layers", STATES, Clock(None, ""), None)
        slow = search.through_states()
        assert (quick.folds is None) == (slow.folds is None)
        assert bool(quick.why) == (quick.folds is None)
        if quick.folds is not None:
            assert {e for fold in quick.folds for e in fold.bent} == {i for i, e in enumerate(s.edges) if e.is_fold}
            found += 1
    assert found


def as_map(columns: int, rows: int, letters: dict[Crease, str]) -> Map:
    """A map of unit cells, without a document."""
    lines: tuple[list[MapLine], list[MapLine]] = ([], [])
    number = 0
    for way, count, across in ((0, columns, rows), (1, rows, columns)):
        for i in range(1, count):
            pairs = [((i - 1, j), (i, j)) if way == 0 else ((j, i - 1), (j, i)) for j in range(across)]
            valley = tuple(letters[frozenset(pair)] == "V" for pair in pairs)
            lines[way].append(
                MapLine(
                    Number.of(Fraction(i, count)), tuple((number + k,) for k in range(across)), valley, f"{way} {i}"
                )
            )
            number += across
    return tuple(lines[0]), tuple(lines[1])


@pytest.mark.parametrize(("columns", "rows", "simply"), [(2, 2, 8), (3, 2, 32), (4, 2, 120), (3, 3, 224), (5, 2, 432)])
def test_every_assignment(columns: int, rows: int, simply: int) -> None:
    """All of them, those too that do not fold at some crossing."""
    cells = map_cells(columns, rows)
    creases = sides(cells)
    reachable = reachable_assignments(cells, frozenset(creases), RULES["some-layers"])
    words = (dict(zip(creases, word, strict=True)) for word in product("MV", repeat=len(creases)))
    assert {frozenset(w.items()) for w in words if not eliminate(as_map(columns, rows, w)).why} == reachable
    assert len(reachable) == simply


@examples(60)
@given(st.data())
def test_strips_against_the_solver(data: st.DataObject) -> None:
    """An order of folds exactly where a layer order exists."""
    lengths = data.draw(st.lists(st.integers(1, 5), min_size=2, max_size=14))
    word = "".join(data.draw(st.lists(st.sampled_from("MV"), min_size=len(lengths) - 1, max_size=len(lengths) - 1)))
    order = strip_order(list(map(Number.of, lengths)), word)
    s = subdivide(draw(strip(lengths, word)))
    assert (order is not None) == isinstance(find_order(crossing_conditions(Overlaps(fold_map(s)))), LayerOrder)
    assert order is None or sorted(order) == list(range(len(word)))


def test_a_long_strip_and_its_open_creases() -> None:
    """A spiral of forty panels; and pleats with all creases open, as a layer order takes them."""
    s = subdivide(draw(strip(list(range(40, 0, -1)), "V" * 39)))
    found = find_sequence(s)
    assert found.folds is not None
    assert len(found.folds) == 39
    s = subdivide(draw(strip([1] * 12)))
    order = find_order(crossing_conditions(Overlaps(fold_map(s))))
    assert isinstance(order, LayerOrder)
    assert map_of(s) is None
    assert map_of(s, order) is not None
    found = find_sequence(s, "one-layer", order=order)
    assert found.folds is not None
    assert len(found.folds) == 11


def test_why_not() -> None:
    trapped = subdivide(draw(strip([3, 1, 3], "VV")))
    assert find_sequence(trapped).why == "b1–t1, b2–t2: folded as drawn, one of them traps another"
    # the 3 by 3 map whose four lines each change where they cross one of the others: no line can be first
    letters: Letters = {
        (0, 1, 0): "V", (0, 1, 1): "V", (0, 1, 2): "M", (0, 2, 0): "M", (0, 2, 1): "V", (0, 2, 2): "V",
        (1, 1, 0): "V", (1, 1, 1): "M", (1, 1, 2): "M", (1, 2, 0): "M", (1, 2, 1): "M", (1, 2, 2): "V",
    }  # fmt: skip
    around = find_sequence(subdivide(draw(spaced([1, 1, 1], [1, 1, 1], letters))))
    assert around.folds is None
    assert "runs right across as one mountain or one valley" in around.why


@pytest.mark.parametrize("name", ["letter-t", "star", "two-windows"])
def test_where_panels_lie_after_each_fold(name: str) -> None:
    """Worked out from where they lay before: against the fold map of the sheet with just these edges folded."""
    s = certified(next((PROOFS / "certified").glob(f"{name}.*"))).subdivision
    assert s is not None
    found = find_sequence(s)
    folded = frozenset[int]()
    for fold in found.folds or ():
        folded |= frozenset(fold.bent)
        here, there = found.panels.lying(folded).fold_map, fold_map(with_folded(s, folded))
        assert (here.images, here.turned) == (there.images, there.turned)
    assert folded == {number for number, edge in enumerate(s.edges) if edge.is_fold}
