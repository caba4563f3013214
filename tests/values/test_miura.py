"""The Miura pattern: assignments valid at every vertex are proper 3-colourings of the grid."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from itertools import pairwise, product

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

import verify
from tests.families import miura
from tests.profiles import examples
from verify.pattern.limits import Limits

# Ginepro & Hull 2014, J. Integer Seq. 17, 14.10.8; OEIS A078099 [published, recomputed by brute force]
PUBLISHED = {(2, 2): 6, (2, 3): 18, (2, 4): 54, (3, 3): 82, (3, 4): 374, (4, 4): 2604}


def colourings(columns: int, rows: int) -> int:
    """Proper 3-colourings of the grid with one vertex coloured, by a transfer matrix over its rows."""
    row_colours = [c for c in product(range(3), repeat=columns) if all(a != b for a, b in pairwise(c))]
    states = Counter(row_colours)
    for _ in range(rows - 1):
        following: Counter[tuple[int, ...]] = Counter()
        for old, number in states.items():
            for new in row_colours:
                if all(a != b for a, b in zip(old, new, strict=True)):
                    following[new] += number
        states = following
    total, rest = divmod(sum(states.values()), 3)
    assert rest == 0
    return total


def test_the_transfer_matrix_against_plain_search() -> None:
    for columns, rows in ((2, 2), (2, 3), (3, 3)):
        grid = nx.grid_2d_graph(columns, rows)
        nodes = sorted(grid)
        fits = 0
        for colours in product(range(3), repeat=len(nodes) - 1):
            colour = dict(zip(nodes, (0, *colours), strict=True))
            fits += all(colour[a] != colour[b] for a, b in grid.edges)
        assert fits == colourings(columns, rows)


@pytest.mark.parametrize(("size", "number"), PUBLISHED.items())
def test_published_counts(size: tuple[int, int], number: int) -> None:
    columns, rows = size
    assert verify.count(miura(columns, rows, assigned=False), Limits(orders=1)).at_vertices == number
    assert verify.count(miura(rows, columns, assigned=False), Limits(orders=1)).at_vertices == number


@pytest.mark.parametrize(("columns", "rows"), [(c, r) for c in range(1, 6) for r in range(1, 6)])
def test_colourings_of_every_grid(columns: int, rows: int) -> None:
    counted = verify.count(miura(columns, rows, assigned=False), Limits(orders=1))
    assert counted.at_vertices == colourings(columns, rows)


@examples(20)
@given(
    st.fractions(min_value=Fraction(1, 16), max_value=6, max_denominator=16), st.sampled_from([(2, 3), (3, 2), (3, 3)])
)
def test_the_slant_does_not_matter(slant: Fraction, size: tuple[int, int]) -> None:
    assert (
        verify.count(miura(*size, assigned=False, slant=slant), Limits(orders=1)).at_vertices
        == PUBLISHED[tuple(sorted(size))]
    )  # type: ignore[index]


@pytest.mark.parametrize("size", [(3, 3), (2, 6), (6, 2), (5, 4), (8, 8)])
def test_the_usual_assignment_folds(size: tuple[int, int]) -> None:
    result = verify.certify(miura(*size))
    assert result.verdict == "certified"
    assert result.subdivision is not None
    assert len(result.subdivision.faces) == size[0] * size[1]
