"""The layer order: which of two overlapping faces is above, and Justin's conditions: no paper through paper."""

from itertools import combinations

from .folded import Table, members
from .reading import CERTIFICATE, Rejected, require

Pair = tuple[int, int]


def direction(table: Table, e: int) -> list[Pair]:
    """For a mountain or valley edge the face that must be above, and the face below; nothing for any other.

    The viewer sees the front of the faces that are not turned: there a valley puts the turned neighbour on top.
    """
    f, g = table.sub.beside[e]
    back, front = (f, g) if f in table.fold.turned else (g, f)
    return {"mountain": [(front, back)], "valley": [(back, front)]}.get(table.sub.kind[e], [])


def on_shared_segment(table: Table, d: int, e: int) -> list[Pair]:
    """The condition of two inner edges whose images share a segment, as pairs: for an even number of them x is above y.

    Two folds on one side: the pairs of faces are nested or apart. A fold and a flat edge: the face of the flat edge
    on the fold's side is not between. Two flat edges: the order is the same on both sides. No pairs: no condition.
    """
    sub, n = table.sub, table.line_of[d]
    if not sub.is_fold(d):
        d, e = e, d
    (a, b), (p, q) = sub.beside[d], sub.beside[e]
    together = table.side(n, a) == table.side(n, p)
    if sub.is_fold(e):
        return [(a, p), (b, p), (a, q), (b, q)] if together else []
    if not together:
        p, q = q, p
    return [(a, p), (b, p)] if sub.is_fold(d) else [(a, p), (b, q)]


def read_order(value: object, table: Table) -> tuple[list[int], list[Pair]]:
    """For each face the set of the faces above it, and the exceptions (a, b): a is above b, against the stack.

    Assumes (and checks) that stack and exceptions define one order for each two overlapping faces.
    """
    root, count = CERTIFICATE.table(value, "order", ("stack", "except")), len(table.sub.faces)
    stack = CERTIFICATE.numbers(root["stack"], "order.stack", count, count, count)
    require(len({*stack}) == count, "order.stack", "order.stack: a face stands twice")
    over, higher = [0] * count, (1 << count) - 1
    for f in stack:
        higher ^= 1 << f
        over[f] = higher
    exceptions: list[Pair] = []
    for i, item in enumerate(CERTIFICATE.items(root["except"], "order.except")):
        a, b = CERTIFICATE.numbers(item, f"order.except[{i}]", count, 2, 2)
        holds = table.overlap(a, b) and stack.index(a) < stack.index(b) and exceptions[-1:] < [(a, b)]
        require(holds, "order.except", f"order.except[{i}]: not overlapping, not the lower one first, or out of order")
        exceptions.append((a, b))
        over[a] ^= 1 << b
        over[b] ^= 1 << a
    return over, exceptions


def check_order(value: object, table: Table) -> str:
    """Assumes (and checks) all of the specification's section 6; returns the claim that is then proved.

    Proves that the folded state does not pass through itself; not that a motion of rigid or bent paper leads to it.
    """
    sub, (over, exceptions) = table.sub, read_order(value, table)

    def above(f: int, g: int) -> int:
        return over[g] >> f & 1

    for e in members(table.inner):
        for f, g in direction(table, e):
            require(above(f, g) == 1, "order.direction", f"order: {sub.kind[e]} edge {sub.edges[e]} the other way")
        a, b = sub.beside[e]
        # A face through which the edge runs has the same order to both faces of the edge, be it fold or flat.
        for f in members(over[a] ^ over[b]):
            crosses = table.crosses(e, f)
            require(not crosses, "order.crossing", f"order: edge {sub.edges[e]} runs through {f}, between its faces")
    for n in {*table.line_of}:
        for (a, b, d), (p, q, e) in combinations(table.spans(n, table.on_line(n) & table.inner), 2):
            if max(a, p) < min(b, q) and sum(above(f, g) for f, g in on_shared_segment(table, d, e)) % 2:
                raise Rejected(
                    "order.crossing", f"order: faces pass through each other at {sub.edges[d]}, {sub.edges[e]}"
                )
    for a, b in exceptions:
        for c in members(over[a] & ~over[b] & table.overlaps(a) & table.overlaps(b)):
            circle = table.common(a, b, c)
            require(not circle, "order.transitivity", f"order: face {a} over {b} over {c} over {a} at one place")
    return "folds-flat"
