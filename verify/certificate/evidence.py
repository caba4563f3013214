"""Certificates of format `creaseproof-certificate/1`, written from what the search found.

The format is specified in verify/kernel/SPECIFICATION.md. A certificate proves
nothing until the kernel has accepted it beside the user's document.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import log10
from typing import Any

from verify.cutting.cut import Cell, Cut
from verify.exact.number import Number
from verify.exact.numberfield import Field
from verify.exact.plane import Point
from verify.folding.conflict import Conflict, Reason
from verify.folding.foldmap import FoldMap, Walk
from verify.folding.stack import LayerOrder
from verify.pattern.limits import LimitReached
from verify.pattern.subdivision import Subdivision

FORMAT = "creaseproof-certificate/1"
DIGITS = 4_000
_TOO_LARGE = 10**DIGITS

Json = dict[str, Any]


class Evidence:
    """Writes the certificates of one subdivided document."""

    def __init__(self, subdivision: Subdivision) -> None:
        self.s = subdivision
        self.field: Field = subdivision.drawing.field
        self.statement_sha256 = subdivision.drawing.document.statement_sha256

    def element(self, number: Number) -> Any:
        """A number as an element of the certificate's field."""
        if number.is_rational:
            return _rational(number.as_fraction())
        return [_rational(c) for c in number.coefficients()]

    def point(self, place: Point) -> list[Any]:
        return [self.element(place.x), self.element(place.y)]

    def _base(self, proves: str) -> Json:
        s = self.s
        low, high = self.field.root
        return {
            "format": FORMAT,
            "proves": proves,
            "statement_sha256": self.statement_sha256,
            "field": {
                "polynomial": list(self.field.polynomial),
                "root": [_rational(low), _rational(high)],
                "values": {text: self.element(value) for text, value in s.drawing.values.items()},
            },
            "vertices": [self.point(p) for p in s.vertices],
            "faces": [list(f) for f in s.faces],
            "chains": {
                "sheet": [list(c) for c in s.sheet_chains],
                "creases": [list(c) for c in s.crease_chains],
                "target": [list(c) for c in s.target_chains],
            },
        }

    def _folding(self, fold_map: FoldMap) -> Json:
        """How the sheet lies folded: the keys of the certificate that say so."""
        images = [self.point(p) for p in fold_map.images]
        return {"fold": {"images": images, "turned": [f for f, turned in enumerate(fold_map.turned) if turned]}}

    def certified(self, fold_map: FoldMap, order: LayerOrder | None, cut: Cut | None) -> Json:
        """That the document's claims hold; the layer order is that of a pattern."""
        certificate = self._base("certified") | self._folding(fold_map)
        if order is not None:
            certificate["order"] = {"stack": list(order.stack), "except": [list(pair) for pair in order.exceptions]}
        if cut is not None and cut.allowed >= 2:
            certificate["cut"] = {"snips": [[snip.start, snip.end] for snip in cut.snips]}
        return certificate

    def _refuted(self, refutation: Json, fold_map: FoldMap | None) -> Json:
        folding = {} if fold_map is None else self._folding(fold_map)
        return self._base("refuted") | folding | {"refutation": refutation}

    def does_not_close(self, walk: Walk) -> Json:
        """That no fold map exists: a closed walk whose reflections do not compose to the identity."""
        edges = [list(self.s.edges[e].ends) for e in walk.edges]
        return self._refuted({"kind": "closure", "walk": list(walk.faces), "edges": edges}, None)

    def maekawa(self, vertex: int) -> Json:
        """That |M - V| = 2 cannot hold at a vertex."""
        return self._refuted({"kind": "maekawa", "vertex": vertex}, None)

    def no_order(self, fold_map: FoldMap, conflict: Conflict) -> Json:

        def clause(literals: Sequence[int]) -> list[list[int]]:
            return [list(conflict.conditions.faces(x)) for x in literals]

        refutation = {
            "kind": "order",
            "reasons": [self._reason(r) for r in conflict.reasons],
            "steps": [clause(step) for step in conflict.steps],
        }
        return self._refuted(refutation, fold_map)

    def _reason(self, reason: Reason) -> Json:
        ends = [list(self.s.edges[e].ends) for e in reason.edges]
        if reason.faces and reason.point is not None:
            return {"faces": list(reason.faces), "point": self.point(reason.point)}
        if reason.face is not None:
            return {"edge": ends[0], "face": reason.face}
        return {"fold": ends[0]} if len(ends) == 1 else {"edges": ends}

    def cut_fails(self, fold_map: FoldMap, cut: Cut) -> Json:
        """That the cut does not free exactly the target."""
        edges = self.s.edges
        if cut.stray and not (cut.allowed == 1 and cut.missed):
            cell, near = cut.stray[0]
            return self._refuted(self._stray(cell, near), fold_map)
        if cut.allowed == 1:
            on_line = next(i for i, e in enumerate(edges) if e.is_cut and i not in cut.missed)
            apart = [on_line, cut.missed[0]]
        else:
            apart = [snip.edges[0] for snip in cut.snips[: cut.allowed + 1]]
        return self._refuted({"kind": "apart", "edges": [list(edges[e].ends) for e in apart]}, fold_map)

    def _stray(self, cell: Cell, near: int) -> Json:
        """A cell on the line of a target edge that the cut must not meet."""
        edges = self.s.edges
        met = list(edges[cell.number].ends) if cell.kind == "edge" else cell.number
        return {"kind": "stray", "edge": list(edges[near].ends), "cell": {cell.kind: met}}


def _rational(value: Fraction) -> int | str:
    """As a certificate writes it. Raises `LimitReached` beyond the digits that a certificate may have."""
    greatest = max(abs(value.numerator), value.denominator)
    if greatest >= _TOO_LARGE:
        digits = int(greatest.bit_length() * log10(2))
        raise LimitReached("digits", f"{DIGITS:,} of a number in a certificate", f"a place needs {digits:,} or more")
    if value.denominator == 1 and greatest < 2**53:
        return value.numerator
    return str(value)
