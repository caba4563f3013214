"""Linear equations on the coordinates of a drawing: chosen in floats, solved exactly.

A `Chooser` takes equations one after another as long as they can be met near the drawing; floats only choose.
`solved` then solves those that were taken, in exact numbers. What it returns satisfies them exactly; that the
pattern folds is for others to prove.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from verify.exact.number import Number

Floats = npt.NDArray[np.float64]
Outcome = Literal["taken", "redundant", "contradicts", "too far"]
_ZERO = Number.of(0)
# a row less than this off the span of the others is taken to depend on them; the exact solution has the last word
_DEPENDENT = 1e-8
_AGREES = 1e-7


@dataclass(frozen=True)
class Form:
    """A linear form in the coordinates: sum of `factors[i]` times coordinate i, plus `constant`. Exact."""

    factors: Mapping[int, Number]
    constant: Number = _ZERO

    def __add__(self, other: Form) -> Form:
        factors = dict(self.factors)
        for i, c in other.factors.items():
            factors[i] = factors[i] + c if i in factors else c
        return Form({i: c for i, c in factors.items() if c}, self.constant + other.constant)

    def __sub__(self, other: Form) -> Form:
        return self + other.times(Number.of(-1))

    def times(self, factor: Number) -> Form:
        return Form({i: c * factor for i, c in self.factors.items() if factor}, self.constant * factor)

    def at(self, places: Floats) -> float:
        """The value in floats."""
        return float(self.constant) + sum(float(c) * float(places[i]) for i, c in self.factors.items())


def coordinate(index: int) -> Form:
    return Form({index: Number.of(1)})


class Chooser:
    """Equations `form` = 0 that can hold together near the drawing, in floats.

    `places` are the coordinates of the point nearest to the drawing (least sum of squares) that meets all
    equations taken so far.
    """

    def __init__(self, start: Floats) -> None:
        self.start = start
        self.places = start.copy()
        self.taken: list[Form] = []
        self._basis: Floats = np.zeros((64, len(start)))
        self._rank = 0

    def offer(self, form: Form, near: Callable[[Floats], bool]) -> Outcome:
        """Take the equation if it is new and can be met where `near` allows."""
        row = np.zeros(len(self.start))
        for i, c in form.factors.items():
            row[i] = float(c)
        size = float(np.linalg.norm(row))
        if size == 0.0:
            return "contradicts" if form.constant else "redundant"
        row /= size
        off = (float(row @ self.places)) + float(form.constant) / size
        rest = self._off_span(row)
        length = float(np.linalg.norm(rest))
        if length < _DEPENDENT:
            scale = 1.0 + float(np.abs(self.places).max())
            if abs(off) > _AGREES * scale:
                return "contradicts"
            return "redundant"
        places = self.places - rest * (off / length**2)
        if not near(places):
            return "too far"
        self.places = places
        self.taken.append(form)
        if self._rank == len(self._basis):
            self._basis = np.vstack([self._basis, np.zeros_like(self._basis)])
        self._basis[self._rank] = rest / length
        self._rank += 1
        return "taken"

    def determined(self, index: int) -> bool:
        """Whether the equations leave the coordinate only one value."""
        row = np.zeros(len(self.start))
        row[index] = 1.0
        return float(np.linalg.norm(self._off_span(row))) < _DEPENDENT

    def _off_span(self, row: Floats) -> Floats:
        basis = self._basis[: self._rank]
        for _ in range(2):
            row = row - basis.T @ (basis @ row)
        return row


def solved(forms: Sequence[Form], count: int) -> list[Number] | None:
    """The `count` coordinates at which all forms are 0, exactly; None if there is not exactly one solution.

    Rows with one unknown are solved first; else a variable of a shortest row is written in the others.
    """
    rows: dict[int, Form] = dict(enumerate(forms))
    holders: list[set[int]] = [set() for _ in range(count)]
    for number, form in rows.items():
        for i in form.factors:
            holders[i].add(number)
    values: list[Number | None] = [None] * count
    written: list[tuple[int, Form]] = []
    ready = [n for n, f in rows.items() if len(f.factors) <= 1]
    while rows:
        number = ready.pop() if ready else min(rows, key=lambda n: (len(rows[n].factors), n))
        if number not in rows:
            continue
        form = rows.pop(number)
        if not form.factors:
            if form.constant:
                return None
            continue
        for i in form.factors:
            holders[i].discard(number)
        chosen = min(form.factors, key=lambda i: (len(holders[i]), i))
        factor = form.factors[chosen]
        rest = Form({i: c for i, c in form.factors.items() if i != chosen}, form.constant).times(-1 / factor)
        if rest.factors:
            written.append((chosen, rest))
        else:
            values[chosen] = rest.constant
        for holder in list(holders[chosen]):
            row = rows[holder]
            c = row.factors[chosen]
            new = Form({i: x for i, x in row.factors.items() if i != chosen}, row.constant) + rest.times(c)
            rows[holder] = new
            for i in row.factors.keys() - new.factors.keys():
                holders[i].discard(holder)
            for i in new.factors.keys() - row.factors.keys():
                holders[i].add(holder)
            if len(new.factors) <= 1:
                ready.append(holder)
        holders[chosen] = set()
    for chosen, form in reversed(written):
        total = form.constant
        for i, c in form.factors.items():
            value = values[i]
            if value is None:
                return None
            total = total + c * value
        values[chosen] = total
    found = [v for v in values if v is not None]
    return found if len(found) == count else None
