"""The cut: one straight line, or k segments, of the folded plane that free exactly the target."""

from typing import NamedTuple

from .plane import same_place
from .reading import CERTIFICATE, require
from .table import Sides, Table, bits, members


class Snip(NamedTuple):
    """A stretch of a line, from one rank of its places to another; the whole line if there is no stretch."""

    line: int
    stretch: tuple[int, int] | None = None


class Cells(NamedTuple):
    """Sets of faces, of edges and of vertices."""

    faces: int
    edges: int
    vertices: int


def met(table: Table, snip: Snip) -> Cells:
    """The cells (open faces, open edges, vertices) whose images the snip meets."""
    sub, ranks, (left, right) = table.sub, table.ranks(snip.line), table.lines[snip.line].edges
    low, high = snip.stretch or (-1, len(ranks))
    ends = bits(i for i, rank in ranks.items() if rank in (low, high))

    def within(sides: list[int]) -> bool:
        """Whether the stretch reaches into each of these sets of places."""
        return snip.stretch is None or all(ends & places for places in sides)

    def facing(f: int) -> list[int]:
        return [table.lines[n].places[table.side(n, f)] for n in table.face_lines[f]]

    def beyond(sides: Sides) -> list[int]:
        """What is not strictly on the one, and not strictly on the other side."""
        return [~sides[0], ~sides[1]]

    faces = bits(f for f in members(table.astride(snip.line)) if within(facing(f)))
    across = bits(e for e in members(left & right) if within(beyond(table.lines[table.line_of[e]].places)))
    along = bits(e for a, b, e in table.spans(snip.line, table.on_line(snip.line)) if a < high and low < b)
    on = bits(v for v in range(len(sub.vertices)) if low <= ranks.get(table.place[v], -2) <= high)
    return Cells(faces, across | along, on)


def stray(table: Table, snip: Snip) -> Cells:
    """The cells that are not target and that the snip meets; a clean snip has none."""
    faces, edges, vertices = met(table, snip)
    return Cells(faces, edges & ~table.target, vertices & ~bits(table.sub.target_vertices))


def check_cut(value: object, table: Table, count: int, along: int | None = None) -> tuple[str, dict[str, int]]:
    """Assumes (and checks) all of the specification's section 7; returns the claim that is then proved, and counts.

    One snip is the whole line `along` if there is one, else the line through the first target edge.
    Proves that the snips meet the sheet exactly in the target; says nothing on thickness or on the blade's width.
    """
    snips = [Snip(table.line_of[e] if along is None else along) for e in list(table.sub.target)[:1]]
    if count != 1:
        snips = []
        listed = CERTIFICATE.items(CERTIFICATE.table(value, "cut", ("snips",))["snips"], "cut.snips", 1, count)
        for i, item in enumerate(listed):
            u, v = CERTIFICATE.numbers(item, f"cut.snips[{i}]", len(table.place), 2, 2)
            apart = not same_place(table.field, table.fold.images[u], table.fold.images[v])
            require(apart, "cut.snips", f"cut.snips[{i}]: the images of vertices {u} and {v} are one place")
            n = table.line_through(table.place[u], table.place[v])
            snips.append(Snip(n, table.span(n, u, v)))
    missed, layers = table.target, 0
    for n, stretch in snips:
        low, high = stretch or (0, len(table.points))
        freed = [(a, b, e) for a, b, e in table.spans(n, table.on_line(n) & table.target) if low <= a and b <= high]
        missed &= ~bits(e for _, _, e in freed)
        for start, _, _ in freed:  # a fold that is cut along brings two layers
            layers = max(layers, sum(1 + table.sub.is_fold(e) for a, b, e in freed if a <= start < b))
    names = [table.sub.edges[e] for e in members(missed)]
    require(not names, "cut.missed", f"cut: no snip frees the target edges {names[:9]}")
    for i, snip in enumerate(snips):
        found = stray(table, snip)
        first = [f"{name} {min(members(cells))}" for name, cells in found._asdict().items() if cells]
        require(not any(found), "cut.stray", f"cut: snip {i} meets cells that are not target, such as {first}")
    return "cut-exact", {"layers": layers, "snips": len(snips)}
