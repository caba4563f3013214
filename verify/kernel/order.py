"""The layer order: which of two overlapping faces is above, and Justin's conditions: no paper through paper."""

from collections.abc import Iterable

from .boxes import bits, members
from .reading import CERTIFICATE, increasing, require
from .table import Table

Pair = tuple[int, int]


class Order:
    """Which of two faces is above: the one further up in the stack, but for exceptions (a, b): a is above b.

    Assumes (and checks) that stack and exceptions define one order for each two overlapping faces.
    """

    def __init__(self, value: object, table: Table) -> None:
        count = len(table.sub.faces)
        root = CERTIFICATE.table(value, "order", ("stack", "except"))
        stack = CERTIFICATE.numbers(root["stack"], "order.stack", count, count, count)
        require(len({*stack}) == count, "order.stack", "order.stack: a face stands twice")
        self.over = [0] * count  # of each face the set of the faces above it
        higher = (1 << count) - 1
        for f in stack:
            higher ^= 1 << f
            self.over[f] = higher
        height = {f: i for i, f in enumerate(stack)}
        listed = CERTIFICATE.items(root["except"], "order.except")
        self.exceptions = [CERTIFICATE.numbers(pair, "order.except", count, 2, 2) for pair in listed]
        require(increasing(self.exceptions), "order.except", "order.except: not in increasing order")
        for a, b in self.exceptions:
            holds = height[a] < height[b] and table.overlap(a, b)
            require(holds, "order.except", f"order.except: {a} and {b} do not overlap, or {b} is the lower one")
            self.over[a] ^= 1 << b
            self.over[b] ^= 1 << a

    def above(self, f: int, g: int) -> bool:
        return self.over[g] >> f & 1 == 1

    def upwards(self, faces: Iterable[int]) -> list[int]:
        """Faces that all overlap one another, from the lowest to the highest."""
        these = bits(faces)
        return sorted(faces, key=lambda f: -(self.over[f] & these).bit_count())


def direction(table: Table, e: int) -> list[Pair]:
    """For a mountain or valley edge the face that must be above, and the face below; nothing for any other.

    The viewer sees the front of the faces that are not turned: there a valley puts the turned neighbour on top.
    """
    f, g = table.sub.beside[e]
    back, front = (f, g) if f in table.fold.turned else (g, f)
    above = {"mountain": [(front, back)], "valley": [(back, front)]}
    return above.get(table.sub.kind[e], [])


def on_shared_segment(table: Table, n: int, d: int, e: int) -> list[Pair]:
    """The condition of two inner edges whose images share a segment of line n: for an even number x is above y.

    The pairs are those of a face of one edge and a face of the other on one side of the line. Two folds on one side:
    their faces are nested or apart. A fold and a flat edge: the face of the flat edge on the fold's side is not
    between. Two flat edges: the order is the same on both sides. Two folds on different sides: no pairs, no condition.
    """
    return [
        (x, y) for x in table.sub.beside[d] for y in table.sub.beside[e] if table.side_of(n, x) == table.side_of(n, y)
    ]


def crossing(table: Table, order: Order, n: int, edges: list[int]) -> list[int]:
    """Those of the edges, all along one stretch of line n, at which faces pass through each other.

    Round a circle stand the faces on the left of the line, upwards, and those on the right, downwards. Each edge
    is a chord between its two faces. Faces pass through each other iff two chords cross.
    """
    chord = {f: e for e in edges for f in table.sub.beside[e]}  # of each face
    left = order.upwards([f for f in chord if table.side_of(n, f) == 1])
    right = order.upwards([f for f in chord if table.side_of(n, f) == -1])
    circle = [chord[f] for f in [*left, *reversed(right)]]
    unclosed: list[int] = []  # a chord that closes right after it was opened crosses none
    for e in circle:
        if unclosed and unclosed[-1] == e:
            unclosed.pop()
        else:
            unclosed.append(e)
    return unclosed


def check_line(table: Table, order: Order, n: int) -> None:
    """Assumes (and checks) that at the edges whose line this is no faces pass through each other."""
    for edges in table.along(table.spans(n)).values():
        if any(table.line_of[e] == n for e in edges):
            found = [table.sub.edges[e] for e in crossing(table, order, n, edges)[:3]]
            require(not found, "order.crossing", f"order: faces pass through each other at edges such as {found}")


def check_order(value: object, table: Table) -> None:
    """Assumes (and checks) all of the specification's section 6.

    Proves that the folded state does not pass through itself; not that a motion of rigid or bent paper leads to it.
    """
    sub, order = table.sub, Order(value, table)
    for e in filter(sub.is_inner, range(len(sub.edges))):
        for f, g in direction(table, e):
            require(order.above(f, g), "order.direction", f"order: {sub.kind[e]} edge {sub.edges[e]} the other way")
        # A face through which the edge runs has the same order to both faces of the edge, be it fold or flat.
        a, b = sub.beside[e]
        between = order.over[a] ^ order.over[b]
        for f in members(between & table.near[a] & table.near[b] & table.astride(table.line_of[e])):
            through = table.crosses(e, f)
            require(not through, "order.crossing", f"order: edge {sub.edges[e]} runs through {f}, between its faces")
    for n in sorted({*table.line_of}):
        check_line(table, order, n)
    for a, b in order.exceptions:
        for c in members(order.over[a] & ~order.over[b] & table.overlaps(a) & table.overlaps(b)):
            circle = table.common(a, b, c)
            require(not circle, "order.transitivity", f"order: face {a} over {b} over {c} over {a} at one place")
