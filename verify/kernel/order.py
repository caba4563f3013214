"""The layer order: which of two overlapping faces is above, and Justin's conditions that no paper passes through paper."""

from __future__ import annotations

from collections.abc import Iterator

from .fold import Fold
from .reading import CERTIFICATE, Rejected
from .subdivision import Subdivision
from .table import Table, members

Pair = tuple[int, int]
Parity = tuple[Pair, ...]


def direction(sub: Subdivision, fold: Fold, e: int) -> Pair | None:
    """For a mountain or valley edge the face that must be above and the face below; None for any other.

    The viewer sees the front of the faces that are not turned: there a valley puts the turned neighbour on top.
    """
    f, g = sub.beside[e]
    back, front = (f, g) if f in fold.turned else (g, f)
    return {"mountain": (front, back), "valley": (back, front)}.get(sub.kind[e])


def on_shared_segment(table: Table, d: int, e: int) -> Parity:
    """The condition of two inner edges whose images share a segment, as pairs: (x above y) must hold for an even number.

    Two folds on one side: the pairs of faces are nested or apart. A fold and a flat edge: the face of the flat edge
    on the fold's side is not between. Two flat edges: the order is the same on both sides. No pairs: no condition.
    """
    sub, number = table.sub, table.line_of[d]
    if not sub.is_fold(d):
        d, e = e, d
    (a, b), (c, p) = sub.beside[d], sub.beside[e]
    here = table.side(number, a)
    if sub.is_fold(d) and sub.is_fold(e):
        return ((a, c), (b, c), (a, p), (b, p)) if table.side(number, c) == here else ()
    if table.side(number, c) != here:
        c, p = p, c
    return ((a, c), (b, c)) if sub.is_fold(d) else ((a, c), (b, p))


def shared_segments(table: Table) -> Iterator[Pair]:
    """All pairs of inner edges whose images share a segment."""
    for number in sorted(set(table.line_of)):
        spans = sorted((*table.span(number, e), e) for e in members(table.on_line(number) & table.inner))
        for i, (_, end, d) in enumerate(spans):
            for start, _, e in spans[i + 1 :]:
                if start >= end:
                    break
                yield d, e


class Order:
    """`above(f, g)` for overlapping faces; assumes (and checks) that the certificate's stack and exceptions are a relation."""

    def __init__(self, value: object, table: Table) -> None:
        root = CERTIFICATE.table(value, "order", ("stack", "except"))
        count = len(table.sub.faces)
        stack = CERTIFICATE.numbers(root["stack"], "order.stack", count, count, count)
        if len(set(stack)) != count:
            raise Rejected("order.stack", "order.stack: a face stands twice")
        self.rank = [0] * count
        self.over = [0] * count  # over[f]: the set of faces above f
        higher = (1 << count) - 1
        for i, f in enumerate(stack):
            self.rank[f] = i
            higher ^= 1 << f
            self.over[f] = higher
        self.exceptions: list[Pair] = []
        for i, item in enumerate(CERTIFICATE.items(root["except"], "order.except")):
            a, b = CERTIFICATE.numbers(item, f"order.except[{i}]", count, 2, 2)
            if self.rank[a] >= self.rank[b] or not table.overlap(a, b):
                raise Rejected("order.except", f"order.except[{i}]: not two overlapping faces, the first lower in the stack")
            if self.exceptions and self.exceptions[-1] >= (a, b):
                raise Rejected("order.except", f"order.except[{i}]: not in increasing order")
            self.exceptions.append((a, b))
        for a, b in self.exceptions:
            self.over[a] ^= 1 << b
            self.over[b] ^= 1 << a

    def above(self, f: int, g: int) -> bool:
        return bool(self.over[g] >> f & 1)


def check_order(value: object, table: Table) -> tuple[Order, str]:
    """Assumes (and checks) all of the specification's section 6; returns the claim that is then proved.

    Proves that the folded state does not pass through itself; not that a motion of rigid or bent paper leads to it.
    """
    sub = table.sub
    order = Order(value, table)
    over = order.over
    for e, ends in enumerate(sub.edges):
        if not table.inner >> e & 1:
            continue
        pair = direction(sub, table.fold, e)
        if pair and not order.above(*pair):
            raise Rejected("order.direction", f"order: {sub.kind[e]} edge {ends[0]} - {ends[1]} is folded the other way")
        a, b = sub.beside[e]
        # A face through which the edge runs has the same order to both faces of the edge, be it fold or flat.
        for f in members((over[a] ^ over[b]) & table.astride(table.line_of[e])):
            if table.near_edges[f] >> e & 1:
                raise Rejected("order.crossing", f"order: edge {ends[0]} - {ends[1]} runs through face {f}, "
                                                 f"which is between its faces {a} and {b}")
    for d, e in shared_segments(table):
        odd = False
        for x, y in on_shared_segment(table, d, e):
            odd ^= over[y] >> x & 1 == 1
        if odd:
            raise Rejected("order.crossing", f"order: faces {sub.beside[d]} of {sub.kind[d]} edge {sub.edges[d]} and faces "
                                             f"{sub.beside[e]} of {sub.kind[e]} edge {sub.edges[e]} pass through each other")
    for a, b in order.exceptions:  # a is above b
        for c in members(over[a] & table.overlaps(a) & table.overlaps(b)):
            if order.above(b, c) and table.common(a, b, c):
                raise Rejected("order.transitivity", f"order: faces {a} over {b} over {c} over {a} at one place")
    return order, "folds-flat"
