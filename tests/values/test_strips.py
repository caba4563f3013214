"""Strips of stamps: counts of layer orders against published sequences and against an independent brute force."""

from __future__ import annotations

from itertools import permutations, product

import pytest
from hypothesis import given
from hypothesis import strategies as st

import verify
from tests.profiles import examples
from verify.pattern.families import strip

# OEIS A000136; Koehler 1968, J. Comb. Theory 5:135; Lunnon 1968, Math. Comp. 22:193 [published, recomputed by brute
# force]
STAMPS = {1: 1, 2: 2, 3: 6, 4: 16, 5: 50, 6: 144, 7: 462, 8: 1392, 9: 4536, 10: 14060, 11: 46310, 12: 146376}
# OEIS A000682, stamp 1 on top [published, recomputed by brute force]
FIRST_ON_TOP = {1: 1, 2: 1, 3: 2, 4: 4, 5: 10, 6: 24, 7: 66, 8: 174, 9: 504}


@pytest.mark.parametrize("n", list(STAMPS))
def test_orders_of_a_strip_of_stamps(n: int) -> None:
    counted = verify.count(strip([1] * n))
    assert counted.orders == STAMPS[n]
    assert counted.at_vertices == 2 ** (n - 1)
    assert counted.reached == ()


@pytest.mark.parametrize("n", list(FIRST_ON_TOP))
def test_stamp_1_on_top_is_one_order_in_n(n: int) -> None:
    # Each stamp is as often on top as any other (rotate the folded strip and cut it open elsewhere).
    assert verify.count(strip([1] * n)).orders == n * FIRST_ON_TOP[n]


@pytest.mark.parametrize("n", [2, 3, 4, 5, pytest.param(6, marks=pytest.mark.long)])
def test_the_kernel_accepts_exactly_the_published_number_of_stacks(n: int) -> None:
    document = strip([1] * n)
    result = verify.certify(document)
    assert result.certificate is not None
    assert result.subdivision is not None
    names = [result.subdivision.face_name(f) for f in range(n)]
    first = next(f for f in range(n) if "b0" in names[f])
    accepted = [
        stack
        for stack in permutations(range(n))
        if verify.audit(document, result.certificate | {"order": {"stack": list(stack), "except": []}}).accepted
    ]
    assert len(accepted) == STAMPS[n]
    assert sum(1 for stack in accepted if stack[-1] == first) == FIRST_ON_TOP[n]


@pytest.mark.parametrize("k", range(1, 10))
def test_k_folds_alike_have_k_orders(k: int) -> None:
    # Word M^k: k orders [recomputed by brute force]
    assert verify.count(strip([1] * (k + 1), "M" * k)).orders == k
    assert verify.count(strip([1] * (k + 1), "V" * k)).orders == k


@pytest.mark.parametrize("k", range(1, 12))
def test_a_pleat_has_one_order(k: int) -> None:
    # MVMV…: 1 order [recomputed by brute force]
    assert verify.count(strip([1] * (k + 1), ("MV" * k)[:k])).orders == 1


@pytest.mark.parametrize(("a", "b"), [(a, b) for b in range(1, 5) for a in range(b + 2, 12 - b)])
def test_mountains_then_valleys(a: int, b: int) -> None:
    # c(M^a V^b) = ab + b² − b + 1 for a ≥ b + 2: Hull et al. 2025, arXiv:2503.23661 [published, recomputed by brute
    # force]
    expected = a * b + b * b - b + 1
    assert verify.count(strip([1] * (a + b + 1), "M" * a + "V" * b)).orders == expected
    assert verify.count(strip([1] * (a + b + 1), "V" * a + "M" * b)).orders == expected
    assert verify.count(strip([1] * (a + b + 1), "V" * b + "M" * a)).orders == expected


@pytest.mark.parametrize("n", [4, 5, 6, 7])
def test_the_words_share_the_orders_out_among_them(n: int) -> None:
    each = [verify.count(strip([1] * n, "".join(word))).orders for word in product("MV", repeat=n - 1)]
    assert len(each) == 2 ** (n - 1)
    assert all(each)  # a strip of equal stamps folds in every way
    assert sum(x for x in each if x is not None) == STAMPS[n]


def brute_force(lengths: list[int]) -> tuple[int, int]:
    """Assignments that fold and layer orders of a strip, over all permutations of its panels.

    Panels are intervals of the line, turned over at each fold. Three intervals that overlap in pairs share a point, and
    interval graphs have no longer circles without chords: so every order of the overlapping pairs is part of a stack.
    """
    spans: list[tuple[int, int]] = []
    x, step = 0, 1
    places = []
    for length in lengths:
        spans.append((min(x, x + step * length), max(x, x + step * length)))
        x, step = x + step * length, -step
        places.append(x)
    n = len(lengths)
    overlapping = [
        (i, j) for i in range(n) for j in range(i) if max(spans[i][0], spans[j][0]) < min(spans[i][1], spans[j][1])
    ]
    orders = set()
    words = set()
    for stack in permutations(range(n)):
        level = {panel: height for height, panel in enumerate(stack)}
        if passes_through(spans, places, level):
            continue
        orders.add(tuple(level[i] > level[j] for i, j in overlapping))
        words.add(tuple((level[i] < level[i + 1]) == (i % 2 == 0) for i in range(n - 1)))
    return len(words), len(orders)


def passes_through(spans: list[tuple[int, int]], places: list[int], level: dict[int, int]) -> bool:
    n = len(spans)
    for i in range(n - 1):
        x = places[i]
        low, high = sorted((level[i], level[i + 1]))
        for j in range(n):
            if spans[j][0] < x < spans[j][1] and low < level[j] < high:
                return True
        for j in range(i + 1, n - 1):
            if places[j] != x or (spans[j][0] == x) != (spans[i][0] == x):
                continue
            if (low < level[j] < high) != (low < level[j + 1] < high):
                return True
    return False


def test_the_brute_force_itself() -> None:
    assert [brute_force([1] * n)[1] for n in range(1, 7)] == [1, 2, 6, 16, 50, 144]
    assert brute_force([3, 1, 3]) == (2, 2)


@examples(120)
@given(st.lists(st.integers(1, 4), min_size=1, max_size=6))
def test_strips_of_unequal_panels(lengths: list[int]) -> None:
    counted = verify.count(strip(lengths))
    assert (counted.folding, counted.orders) == brute_force(lengths)


@examples(60)
@given(st.lists(st.integers(1, 4), min_size=2, max_size=6), st.data())
def test_reading_a_strip_from_the_other_end_changes_nothing(lengths: list[int], data: st.DataObject) -> None:
    word = data.draw(st.text("MVE", min_size=len(lengths) - 1, max_size=len(lengths) - 1))
    one = verify.count(strip(lengths, word))
    other = verify.count(strip(lengths[::-1], word[::-1]))
    swapped = verify.count(strip(lengths, word.translate(str.maketrans("MV", "VM"))))
    assert one == other == swapped
