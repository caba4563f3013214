"""Variables of pairs merged by the equalities among them; other conditions as clauses over the rest."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import product
from math import prod
from typing import Any

import numpy as np
from numpy.typing import NDArray

from verify.folding.crossing import Conditions, Literals

Triples = NDArray[np.int32]
NO_TRIPLES: Triples = np.zeros((0, 3), dtype=np.int32)

_ROWS_AT_ONCE = 1 << 14
# the signs of the clauses that forbid an odd number of four literals
_FORBIDDEN = np.array([signs for signs in product((1, -1), repeat=4) if prod(signs) < 0], dtype=np.int32)


class Bundles:
    """Variables merged by equalities; `of` gives a bundle's literal, `of_pairs` has that of every pair's variable.
    `clashing`: those that equal their negation; `conflict`: one of these, or None.
    """

    def __init__(self, count: int, equal: Literals) -> None:
        label = np.arange(2 * count, dtype=np.int32)
        a, b = _nodes(equal[:, 0]), _nodes(equal[:, 1])
        one, two = np.concatenate([a, a ^ 1]), np.concatenate([b, b ^ 1])
        while True:
            low = np.minimum(label[one], label[two])
            before = label.copy()
            np.minimum.at(label, label[one], low)
            np.minimum.at(label, label[two], low)
            label = label[label]
            if np.array_equal(before, label):
                break
        positive, negative = label[0::2], label[1::2]
        clash = np.flatnonzero(positive == negative)
        self.conflict = int(clash[0]) + 1 if len(clash) else None
        self.clashing = clash + 1
        root = np.minimum(positive, negative)
        is_root = np.zeros(2 * count, dtype=bool)
        is_root[root] = True
        self.count = int(np.count_nonzero(is_root))
        self.of_pairs: Literals = np.cumsum(is_root, dtype=np.int32)[root]
        self.of_pairs[positive > negative] *= -1

    def of(self, literals: Literals) -> Literals:
        result: Literals = self.of_pairs[np.abs(literals) - 1]
        np.negative(result, out=result, where=literals < 0)
        return result


def _nodes(literals: Literals) -> Literals:
    return 2 * (np.abs(literals) - 1) + (literals < 0)


def even_clauses(literals: Iterable[int]) -> list[list[int]]:
    """Clauses that say: an even number of these literals holds. Repeated ones cancel; [[]] if impossible."""
    odd: set[int] = set()
    parity = 0
    for x in literals:
        variable = abs(x)
        parity ^= x < 0
        odd ^= {variable}
    variables = sorted(odd)
    clauses = []
    for bits in range(1 << len(variables)):
        if (bits.bit_count() + parity) % 2 == 1:
            clauses.append([-v if bits >> i & 1 else v for i, v in enumerate(variables)])
    return clauses


def clauses_of_even(rows: Literals) -> Iterator[list[int]]:
    """For each row of four literals the clauses that say that an even number holds; [] among them if impossible."""
    rows = np.sort(rows, axis=1)
    rows = rows[first_of_each(rows)]
    variables = np.sort(np.abs(rows), axis=1)
    repeated = (variables[:, 1:] == variables[:, :-1]).any(axis=1)
    for row in rows[repeated].tolist():
        yield from even_clauses(row)
    yield from _lists((rows[~repeated, None, :] * _FORBIDDEN).reshape(-1, 4))


def _lists(rows: Literals) -> Iterator[list[int]]:
    """The rows as lists, few at a time: millions of them at once would keep the garbage collector busy."""
    for i in range(0, len(rows), _ROWS_AT_ONCE):
        yield from rows[i : i + _ROWS_AT_ONCE].tolist()


def first_of_each(rows: NDArray[Any]) -> NDArray[np.intp]:
    """Where the different rows stand, each once."""
    order = np.lexsort(rows.T)
    ordered = rows[order]
    new = np.append(True, (ordered[1:] != ordered[:-1]).any(axis=1))[: len(rows)]
    first: NDArray[np.intp] = order[new]
    return first


def transitivity_clauses(conditions: Conditions, bundles: Bundles, triples: Triples) -> Iterator[list[int]]:
    """No circle over any of the triples, either way round; clauses on the same variables together, for speed."""
    f, g, h = triples.T
    circle = np.stack([conditions.literals(f, g), conditions.literals(g, h), conditions.literals(h, f)], axis=1)
    rows = bundles.of(circle)
    rows = np.take_along_axis(rows, np.argsort(np.abs(rows), axis=1), axis=1)
    a, b, c = rows.T
    rows = rows[(a != -b) & (b != -c)]
    rows *= np.sign(rows[:, :1])
    rows = rows[first_of_each(rows[:, ::-1])]
    repeated = (rows[:, 1:] == rows[:, :-1]).any(axis=1)
    for row in rows[repeated].tolist():
        yield sorted(set(row))
        yield sorted(-x for x in set(row))
    yield from _lists(np.stack([rows[~repeated], -rows[~repeated]], axis=1).reshape(-1, 3))
