"""The layer order: which of two overlapping faces is above, and Justin's conditions: no paper through paper."""

from collections.abc import Iterable
from itertools import product

from .boxes import has, members, number_set
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
        self.over = [0] * count  # of each face the faces above it
        higher = number_set(stack)
        for f in stack:
            higher &= ~number_set([f])
            self.over[f] = higher
        height = {f: i for i, f in enumerate(stack)}
        listed = CERTIFICATE.items(root["except"], "order.except")
        self.exceptions = [CERTIFICATE.numbers(pair, "order.except", count, 2, 2) for pair in listed]
        require(increasing(self.exceptions), "order.except", "order.except: not in increasing order")
        for a, b in self.exceptions:
            holds = height[a] < height[b] and table.overlap(a, b)
            require(holds, "order.except", f"order.except: {a} and {b} do not overlap, or {b} is the lower one")
            self.over[a] &= ~number_set([b])
            self.over[b] |= number_set([a])

    def upwards(self, faces: Iterable[int]) -> list[int]:
        """Faces that all overlap one another, from the lowest (which has the most of them above it) to the highest."""
        these = number_set(faces)
        return sorted(faces, key=lambda f: (self.over[f] & these).bit_count(), reverse=True)


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
    pairs = product(table.sub.beside[d], table.sub.beside[e])
    return [(x, y) for x, y in pairs if table.side_of(n, x) == table.side_of(n, y)]


def crossed(table: Table, order: Order, n: int, edges: list[int]) -> list[int]:
    """Edges at which faces pass through each other, of those along one stretch of line n; none if they do nowhere.

    Round a circle stand the faces on the left of the line, upwards, and those on the right, downwards. Each edge
    is a chord between its two faces. Faces pass through each other iff two chords cross.
    """
    chord = {f: e for e in edges for f in table.sub.beside[e]}  # of each face
    left = order.upwards([f for f in chord if table.side_of(n, f) == 1])
    right = order.upwards([f for f in chord if table.side_of(n, f) == -1])
    opened: list[int] = []
    for f in [*left, *reversed(right)]:
        e = chord[f]
        if opened and opened[-1] == e:  # nothing is open between the ends of this chord: it crosses none
            opened.pop()
        else:
            opened.append(e)
    return opened


def check_line(table: Table, order: Order, n: int) -> None:
    """Assumes (and checks) that at the edges on a line no faces pass through each other.

    Edges whose images share a segment are on one line, which has one number (`Table.line_of`). So the lines of all
    edges, one after another, bring together each two edges, with their faces, that share a segment.
    """
    for edges in table.along(table.spans(n)).values():
        found = [table.sub.edges[e] for e in crossed(table, order, n, edges)[:3]]
        require(not found, "order.crossing", f"order: faces pass through each other at edges such as {found}")


def check_order(value: object, table: Table) -> None:
    """Assumes (and checks) all of the specification's section 6.

    Proves that the folded state does not pass through itself; not that a motion of rigid or bent paper leads to it.
    """
    sub, order = table.sub, Order(value, table)
    for e in filter(sub.is_inner, range(len(sub.edges))):
        for f, g in direction(table, e):
            require(has(order.over[g], f), "order.direction", f"order: {sub.kind[e]} edge {sub.edges[e]} the other way")
        # A face through which the edge runs has the same order to both faces of the edge, be it fold or flat.
        a, b = sub.beside[e]
        above_just_one = order.over[a] ^ order.over[b]
        for f in members(above_just_one & table.reaching[a] & table.reaching[b] & table.astride(table.line_of[e])):
            through = table.crosses(e, f)
            require(not through, "order.crossing", f"order: edge {sub.edges[e]} runs through {f}, between its faces")
    for n in sorted({*table.line_of}):
        check_line(table, order, n)
    for a, b in order.exceptions:
        for c in members(order.over[a] & ~order.over[b] & table.overlaps(a) & table.overlaps(b)):
            circle = table.common(a, b, c)
            require(not circle, "order.transitivity", f"order: face {a} over {b} over {c} over {a} at one place")
