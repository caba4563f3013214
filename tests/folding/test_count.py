"""Counting ends at its limits, and finds orders where dead ends come first."""

from __future__ import annotations

from pathlib import Path

import pytest
from sympy import Matrix

import verify
from benchmarks.measure import exact_conditions
from tests.families import twists
from verify.folding import count as counting
from verify.folding.count import parts_of
from verify.pattern.document import Crease, Document
from verify.pattern.families import stamps
from verify.pattern.limits import Limits

PROOFS = Path(__file__).resolve().parents[2] / "proofs"


@pytest.mark.parametrize("size", [8, 11])
def test_past_the_seconds_nothing_is_guessed(size: int) -> None:
    counted = verify.count(stamps(size, size), Limits(seconds=0.01))
    assert (counted.at_vertices, counted.folding, counted.orders) == (None, None, None)
    assert counted.reached == ("the limit seconds = 0.01 was reached: counting was not finished",)


def test_a_map_of_64_stamps_has_more_than_three_orders() -> None:
    """Splitting and propagating alone runs from one dead end into the next."""
    counted = verify.count(stamps(8, 8), Limits(orders=3))
    assert counted.at_vertices == 2**63  # as in `tests/values/test_maps.py`
    assert counted.reached == ("the limit orders = 3 was reached: there are more layer orders than that",)


def test_the_count_does_not_depend_on_when_the_solver_is_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    every = verify.count(stamps(3, 3))
    monkeypatch.setattr("verify.folding.count._BARREN", -1)
    assert verify.count(stamps(3, 3)) == every


@pytest.mark.parametrize("rows", [1, pytest.param(2, marks=pytest.mark.long)])
def test_tessellations_of_any_length_are_counted_as_transfer_matrices_say(rows: int) -> None:
    """A tessellation of so many rows has the same states between any two of its columns, so that the numbers for 1, 2,
    3, … columns satisfy a linear recurrence (Stanley, Enumerative Combinatorics I, 4.7): a Hankel matrix of them that
    is larger than it is long has determinant 0. A number that is off by one breaks that.
    """
    counts = [verify.count(twists(columns, rows)) for columns in range(1, 18)]
    for numbers in ([c.folding for c in counts], [c.orders for c in counts]):
        assert None not in numbers
        assert Matrix(9, 9, lambda i, j, n=numbers: n[i + j]).det() == 0
        numbers[-1] += 1
        assert (
            Matrix(9, 9, lambda i, j, n=numbers: n[i + j]).rank()
            > Matrix(8, 8, lambda i, j, n=numbers: n[i + j]).rank()
        )


def test_a_tessellation_of_a_thousand_panels_is_counted() -> None:
    found = verify.count(twists(100, 2))
    assert found.reached == ()
    assert found.folding is not None
    assert found.orders is not None
    assert 10**71 < found.folding < 10**72 < 10**115 < found.orders < 10**116


@pytest.mark.parametrize(("columns", "rows", "orders"), [(3, 3, 1368), (4, 2, 320)])
@pytest.mark.parametrize(
    "lines", [["0 1/2 W 1/2"], ["0 0 1 1", "1 1/3 2 2/3"], ["0 1/2 W 1/2", "0 3/2 W 3/2", "1 0 2 1"]]
)
def test_lines_that_are_no_folds_leave_the_published_number(
    columns: int, rows: int, orders: int, lines: list[str]
) -> None:
    """OEIS A001418 (3 × 3) and A001415 (2 × 4). Lines cut stamps into faces, which move as one."""
    plain = stamps(columns, rows)
    points, creases = dict(plain.points), list(plain.creases)
    for number, line in enumerate(lines):
        x, y, u, v = line.replace("W", str(columns)).split()
        points |= {f"from{number}": (x, y), f"to{number}": (u, v)}
        creases.append(Crease(f"from{number}", f"to{number}", "flat"))
    document = Document(points, plain.outline, creases=tuple(creases))
    [part] = parts_of(exact_conditions(document))
    assert part.pile is not None
    assert verify.count(document).orders == orders


@pytest.mark.parametrize("name", ["kite.toml", "panel-round-hole.toml"])
def test_stacks_are_as_many_as_a_solver_meets_one_by_one(name: str) -> None:
    for part in parts_of(exact_conditions(verify.load(PROOFS / "certified" / name))):
        assert part.pile is not None
        met = sum(1 for _ in counting._solutions(part.clauses, part.variables, lambda: None))
        assert part.orders(10**7, lambda: None) == met
        met = sum(1 for _ in counting._solutions(part.clauses, part.creases, lambda: None))
        assert part.assignments(10**7, lambda: None) == met
