"""Maps of stamps against published counts."""

from __future__ import annotations

from itertools import permutations

import pytest

import verify
from verify.pattern.families import stamps
from verify.pattern.limits import Limits

# OEIS A001415; Lunnon 1971, Comp. J. 14:75 [published, recomputed by brute force]
TWO_ROWS = {1: 2, 2: 8, 3: 60, 4: 320, 5: 1980, 6: 10512, 7: 60788, 8: 320896}


@pytest.mark.parametrize("n", list(TWO_ROWS))
def test_two_rows(n: int) -> None:
    assert verify.count(stamps(n, 2)).orders == TWO_ROWS[n]


@pytest.mark.parametrize("n", [1, 2, 3, 4])
def test_two_columns_are_two_rows_turned(n: int) -> None:
    assert verify.count(stamps(2, n)) == verify.count(stamps(n, 2))


def test_three_by_three() -> None:
    # OEIS A001416 and A001418: 1368 orders; 252 of 256 assignments fold [published, recomputed by brute force]
    counted = verify.count(stamps(3, 3))
    assert (counted.at_vertices, counted.folding, counted.orders) == (256, 252, 1368)


def test_two_by_four_folds_in_every_way() -> None:
    # 128 of 128 [recomputed by brute force]
    counted = verify.count(stamps(4, 2))
    assert (counted.at_vertices, counted.folding) == (128, 128)


def test_three_by_four() -> None:
    # OEIS A001416, n = 4 [published]
    assert verify.count(stamps(4, 3)).orders == 15552


def test_four_by_four() -> None:
    # OEIS A001418; Lunnon 1971 [published, recomputed by brute force]
    assert verify.count(stamps(4, 4)).orders == 300608


@pytest.mark.parametrize(("n", "orders"), [(5, 201240), pytest.param(6, 2016432, marks=pytest.mark.long)])
def test_three_by_n(n: int, orders: int) -> None:
    # OEIS A001416 [published]
    assert verify.count(stamps(n, 3)).orders == orders


@pytest.mark.parametrize(("p", "q"), [(p, q) for p in range(1, 6) for q in range(1, p + 1)])
def test_assignments_at_vertices(p: int, q: int) -> None:
    # 2^(pq − 1): at each inner vertex three folds are free and the fourth follows [published, recomputed by brute
    # force]
    assert verify.count(stamps(p, q), Limits(orders=1)).at_vertices == 2 ** (p * q - 1)


def test_the_eight_orders_of_two_by_two() -> None:
    # Lunnon 1971, stamps labelled 12/34 [published, recomputed by brute force]
    published = {"1243", "1342", "2134", "2431", "3124", "3421", "4213", "4312"}
    document = stamps(2, 2)
    result = verify.certify(document)
    assert result.certificate is not None
    assert result.subdivision is not None
    corner = {"p02": "1", "p22": "2", "p00": "3", "p20": "4"}
    label = {}
    for f, loop in enumerate(result.subdivision.faces):
        (name,) = (result.subdivision.name(v) for v in loop if result.subdivision.name(v) in corner)
        label[f] = corner[name]
    accepted = {
        "".join(label[f] for f in stack)
        for stack in permutations(range(4))
        if verify.audit(document, result.certificate | {"order": {"stack": list(stack), "except": []}}).accepted
    }
    assert accepted == published
