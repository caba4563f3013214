"""Layer orders of grids against an independent count over all relations; conflicts with minimal reasons."""

from __future__ import annotations

from itertools import combinations, permutations, product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import verify
from tests.corpus import certified
from tests.families import miura
from tests.kernel.examples import windmill
from tests.profiles import examples
from verify.folding import order
from verify.folding.bundles import Bundles
from verify.folding.conflict import explain_conflict, follows
from verify.folding.crossing import Conditions, crossing_conditions
from verify.folding.foldmap import fold_map
from verify.folding.order import NoOrder, find_order
from verify.folding.overlaps import Overlaps
from verify.folding.saturation import Saturation
from verify.folding.stack import LayerOrder
from verify.pattern.arrangement import subdivide
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.pattern.families import stamps, strip
from verify.pattern.limits import Limits
from verify.pattern.recipe import read_any

Span = tuple[int, int]


def folded(lengths: list[int]) -> tuple[list[Span], list[int]]:
    """Intervals of the panels of a folded strip, and the places of its folds."""
    spans, places, x, step = [], [], 0, 1
    for length in lengths:
        end = x + step * length
        spans.append((min(x, end), max(x, end)))
        places.append(end)
        x, step = end, -step
    return spans, places[:-1]


def meets(one: Span, other: Span) -> bool:
    return max(one[0], other[0]) < min(one[1], other[1])


def relations(widths: list[int], heights: list[int]) -> tuple[int, int]:
    """Assignments and layer orders of a grid of rectangles: every relation of overlapping cells is tried."""
    columns, xs = folded(widths)
    rows, ys = folded(heights)
    cells = list(product(range(len(widths)), range(len(heights))))
    over = [
        (a, b)
        for a, b in combinations(cells, 2)
        if meets(columns[a[0]], columns[b[0]]) and meets(rows[a[1]], rows[b[1]])
    ]
    index = {pair: i for i, pair in enumerate(over)}
    table = (np.arange(1 << len(over))[:, None] >> np.arange(len(over))) & 1

    def above(a: tuple[int, int], b: tuple[int, int]) -> np.ndarray:
        return table[:, index[a, b]] if (a, b) in index else 1 - table[:, index[b, a]]

    good = np.ones(len(table), dtype=bool)
    # creases: (axis, place, span along the crease, the two cells, the side to which both lie)
    creases = []
    for i, j in cells:
        if i + 1 < len(widths):
            creases.append((0, xs[i], rows[j], (i, j), (i + 1, j), columns[i][0] == xs[i]))
        if j + 1 < len(heights):
            creases.append((1, ys[j], columns[i], (i, j), (i, j + 1), rows[j][0] == ys[j]))
    for axis, place, span, a, b, _ in creases:
        for c in cells:
            across, along = (columns[c[0]], rows[c[1]]) if axis == 0 else (rows[c[1]], columns[c[0]])
            if c not in (a, b) and across[0] < place < across[1] and meets(span, along):
                good &= above(a, c) == above(b, c)
    for (axis, place, span, a, b, side), (axis2, place2, span2, c, d, side2) in combinations(creases, 2):
        if (axis, place, side) == (axis2, place2, side2) and meets(span, span2):
            good &= (above(a, c) + above(b, c) + above(a, d) + above(b, d)) % 2 == 0
    for a, b, c in combinations(cells, 3):
        if all(pair in index for pair in ((a, b), (b, c), (a, c))):  # rectangles that meet in pairs have a common point
            good &= ~((above(a, b) == above(b, c)) & (above(b, c) == above(c, a)))
    letters = np.array([above(a, b) for *_, a, b, _ in creases]).reshape(len(creases), len(table)).T[good]
    return len(np.unique(letters, axis=0)) if creases else 1, int(good.sum())


def grid(widths: list[int], heights: list[int]) -> Document:
    xs, ys = ([sum(parts[:i]) for i in range(len(parts) + 1)] for parts in (widths, heights))
    keys = {
        "format": "creaseproof-pattern/1",
        "points": {f"p{i}_{j}": [x, y] for i, x in enumerate(xs) for j, y in enumerate(ys)},
        "sheet": {"outline": ["p0_0", f"p{len(widths)}_0", f"p{len(widths)}_{len(heights)}", f"p0_{len(heights)}"]},
        "creases": [[f"p{i}_0", f"p{i}_{len(heights)}", "either"] for i in range(1, len(widths))]
        + [[f"p0_{j}", f"p{len(widths)}_{j}", "either"] for j in range(1, len(heights))],
    }
    return read_any(keys)


def test_the_relations_themselves() -> None:
    assert relations([1], [1]) == (1, 1)
    assert relations([1, 1], [1, 1]) == (8, 8)
    assert relations([1, 1, 1], [1, 1]) == (32, 60)
    assert relations([1, 1, 1, 1], [1]) == (8, 16)


def test_what_is_told_is_no_order_where_it_runs_in_a_circle(monkeypatch: pytest.MonkeyPatch) -> None:
    """The arms of a windmill all lie over its middle. Each three of them are told to lie over one another in turn, or
    in a row: the search must not take that for an order.
    """
    conditions = crossing_conditions(Overlaps(fold_map(subdivide(draw(read_any(windmill(2)[0]))))))
    faces = conditions.overlaps.subdivision.faces
    arms = [f for f, loop in enumerate(faces) if len(loop) == 4]
    assert len(arms) == 4

    def told(conditions: Conditions, bundles: Bundles) -> Saturation:
        found = Saturation(conditions, bundles)
        a, b, c, d = arms
        over = [(a, b), (b, c), (c, a), (a, d), (b, d), (c, d)]
        found._learn(bundles.of(np.array([conditions.literal(*pair) for pair in over], dtype=np.int32)))
        assert found.open == 0
        return found

    monkeypatch.setattr(order, "Saturation", told)
    monkeypatch.setattr(order.Search, "_nearly_told", lambda self: True)
    found = find_order(conditions)
    assert isinstance(found, LayerOrder)
    for x, y, z in permutations(arms, 3):
        assert not (found.above[x, y] and found.above[y, z] and found.above[z, x])


@examples(60)
@given(st.sampled_from([(1, 4), (2, 2), (2, 3), (3, 2), (5, 1)]), st.data())
def test_grids_of_unequal_cells(size: tuple[int, int], data: st.DataObject) -> None:
    widths, heights = (data.draw(st.lists(st.integers(1, 3), min_size=n, max_size=n)) for n in size)
    counted = verify.count(grid(widths, heights))
    assert (counted.folding, counted.orders) == relations(widths, heights)


def search(document: Document) -> LayerOrder | NoOrder:
    return find_order(crossing_conditions(Overlaps(fold_map(subdivide(draw(document))))))


@examples(60)
@given(st.lists(st.integers(1, 4), min_size=2, max_size=7), st.data())
def test_the_order_found_takes_the_drawn_folds(lengths: list[int], data: st.DataObject) -> None:
    word = data.draw(st.text("MVE", min_size=len(lengths) - 1, max_size=len(lengths) - 1))
    document = strip(lengths, word)
    found = search(document)
    assert isinstance(found, LayerOrder) == ((verify.count(document).orders or 0) > 0)
    if isinstance(found, LayerOrder):
        s = found.overlaps.subdivision
        given_ = {s.edge_at[chain[0], chain[1]]: document.creases[i].kind for i, chain in enumerate(s.crease_chains)}
        for edge, kind in given_.items():
            taken = found.assignment(edge)
            assert kind in ("either", taken)
        rank = {f: i for i, f in enumerate(found.stack)}
        faces = np.arange(len(rank))
        above = found.above[faces[:, None], faces]
        against = [(f, g) for f, g in np.argwhere(above).tolist() if rank[f] < rank[g]]
        assert sorted(against) == sorted(found.exceptions)
        fixed = document.keys()
        for crease, edge in zip(fixed["creases"], given_, strict=True):
            crease[2] = found.assignment(edge)
        assert verify.certify(read_any(fixed)).verdict == "certified"


def test_a_twist_lies_in_a_circle(proofs) -> None:  # type: ignore[no-untyped-def]
    result = certified(proofs / "certified" / "lantern-twist.toml")
    assert result.verdict == "certified"
    assert result.order is not None
    assert result.order.exceptions
    assert result.certificate is not None
    bare = result.certificate | {"order": result.certificate["order"] | {"except": []}}
    assert not verify.audit(result.document, bare).accepted


CONFLICTS = [
    strip([3, 1, 3], "VV"),
    strip([5, 1, 1, 5], "VVV"),
    strip([2, 1, 1, 1, 2], "MMMM"),
    strip([4, 1, 2, 1, 4], "VVMM"),
]


@pytest.mark.parametrize("document", CONFLICTS)
def test_reasons_are_contradictory_minimal_and_derived(document: Document) -> None:
    found = search(document)
    assert isinstance(found, NoOrder)
    conflict = explain_conflict(found)
    assert conflict.steps[-1] == ()
    variables = sorted({abs(x) for r in conflict.reasons for c in r.clauses for x in c})
    assert len(variables) <= 12

    def satisfiable(skip: int | None) -> bool:
        clauses = [c for i, r in enumerate(conflict.reasons) if i != skip for c in r.clauses]
        for bits in product((False, True), repeat=len(variables)):
            value = dict(zip(variables, bits, strict=True))
            if all(any(value[abs(x)] == (x > 0) for x in c) for c in clauses):
                return True
        return False

    assert not satisfiable(None)
    assert all(satisfiable(i) for i in range(len(conflict.reasons)))
    known = [c for r in conflict.reasons for c in r.clauses]
    for step in conflict.steps:
        assert follows(known, step)
        known.append(step)


@examples(40)
@given(st.lists(st.integers(1, 5), min_size=3, max_size=8), st.data())
def test_a_refuted_strip_names_folds_of_its_own(lengths: list[int], data: st.DataObject) -> None:
    word = data.draw(st.text("MV", min_size=len(lengths) - 1, max_size=len(lengths) - 1))
    result = verify.certify(strip(lengths, word))
    assert result.verdict in ("certified", "refuted")
    if result.verdict == "refuted":
        (finding,) = result.failures
        assert finding.kind == "no-layer-order"
        assert finding.value["reasons"]
        assert any(name.startswith("b") and "–t" in name for name in finding.where)


@pytest.mark.parametrize(
    "document",
    [miura(6, 6, assigned=False), miura(16, 16, assigned=False), stamps(6, 6), stamps(10, 10), strip([1] * 60)],
)
def test_larger_patterns_with_every_fold_open(document: Document) -> None:
    assert verify.certify(document).verdict == "certified"


@pytest.mark.parametrize("size", [12, 14])
def test_an_open_map_needs_no_luck(size: int) -> None:
    """With parities alone the solver wandered here: minutes for the one, no end for the other."""
    result = verify.certify(stamps(size, size), limits=Limits(seconds=60))
    assert result.verdict == "certified"


@pytest.mark.parametrize(("document", "small"), [(stamps(2, 4), True), (stamps(8, 8), False)])
def test_only_a_small_search_starts_no_process(
    document: Document, small: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A solver cannot be interrupted: what may take long runs in a process that can be ended."""
    apart: list[float] = []
    within = order._within

    def counted(search: order.Search, seconds: float) -> LayerOrder | NoOrder:
        apart.append(seconds)
        return within(search, seconds)

    monkeypatch.setattr(order, "_within", counted)
    conditions = crossing_conditions(Overlaps(fold_map(subdivide(draw(document)))))
    found, alone = (find_order(conditions, limits) for limits in (Limits(seconds=60), Limits()))
    assert isinstance(found, LayerOrder)
    assert isinstance(alone, LayerOrder)
    assert np.array_equal(found.above.first_above, alone.above.first_above)
    assert bool(apart) != small
