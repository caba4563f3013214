"""The cut: one straight line, or k segments, of the folded plane that free exactly the target in the open sheet."""

from typing import NamedTuple

from .boxes import hull, members
from .plane import Line, Point, side
from .reading import CERTIFICATE, require
from .table import Table

Stretch = tuple[int, int]  # from one rank of the places of a line to another


class Cut(NamedTuple):
    """The folded sheet, with how many snips it is cut (0 without a target), and along which line if that is said."""

    table: Table
    snips: int
    along: int | None


def crosses(table: Table, e: int, of: Line, ends: list[Point]) -> bool:
    """Whether the image of an open edge crosses a line; on the stretch with these ends, if there are any."""
    own = table.lines[table.line_of[e]].line
    across = {side(table.field, of, p) for p in table.ends(e)} == {-1, 1}
    return across and {side(table.field, own, p) for p in ends} not in ({-1}, {1})  # a whole line has no ends


def stray(table: Table, n: int, stretch: Stretch | None = None) -> dict[str, set[int]]:
    """The cells of the open sheet, not target, that a line, or a stretch of it, meets; a clean one has none."""
    ranks, of, faces = table.ranks(n), table.lines[n].line, table.astride(n)
    ends: list[Point] = []
    low, high = stretch or (0, len(ranks))
    if stretch is not None:
        vertex = {rank: v for v, rank in ranks.items()}
        ends = [table.fold.images[vertex[rank]] for rank in stretch]
        faces &= table.boxes.meeting(hull([table.places.boxes[vertex[rank]] for rank in stretch]))
    near = [*members(faces)]
    met = {f for f in near if not ends or table.has(f, *ends)}
    edges = {e for f in near for e in table.sub.face_edges(f) if crosses(table, e, of, ends)}
    edges |= {e for a, b, e in table.spans(n) if a < high and low < b}
    vertices = {v for v, rank in ranks.items() if low <= rank <= high}
    return {"face": met, "edge": edges - table.spared_edges, "vertex": vertices - table.spared_vertices}


def read_snips(value: object, table: Table, count: int) -> list[tuple[int, Stretch | None]]:
    """The lines of at most `count` snips, and the stretch of each."""
    snips: list[tuple[int, Stretch | None]] = []
    root = CERTIFICATE.table(value, "cut", ("snips",))
    for where, item in CERTIFICATE.each(root["snips"], "cut.snips", 0, count):
        u, v = CERTIFICATE.numbers(item, where, len(table.fold.images), 2, 2)
        n = table.add_line(table.fold.images[u], table.fold.images[v])
        low, high = table.span(n, u, v)
        require(low < high, "cut.snips", f"{where}: the images of vertices {u} and {v} are one place")
        snips.append((n, (low, high)))
    return snips


def check_cut(value: object, cut: Cut) -> dict[str, int]:
    """Assumes (and checks) all of the specification's section 7; returns counts.

    One snip is the whole line `along` if there is one, else the line through the first target edge that is not border.
    Proves that the snips meet the open sheet exactly in the target; says nothing on thickness or on the blade's width.
    """
    table, count, along = cut
    snips: list[tuple[int, Stretch | None]] = []
    if count > 1:
        snips = read_snips(value, table, count)
    elif along is not None:
        snips = [(along, None)]
    elif table.sub.target:
        first = next(iter(table.sub.target))
        snips = [(table.line_of[first], None)]
    missed, layers = {*table.sub.target}, 0
    for i, (n, stretch) in enumerate(snips):
        low, high = stretch or (0, len(table.fold.images))
        freed = [(a, b, e) for a, b, e in table.spans(n) if e in table.sub.target and low <= a and b <= high]
        missed.difference_update(e for _, _, e in freed)
        for edges in table.along(freed).values():
            layers = max(layers, sum(2 if table.sub.is_fold(e) else 1 for e in edges))
        found = [f"{cell} {min(cells)}" for cell, cells in stray(table, n, stretch).items() if cells]
        require(not found, "cut.stray", f"cut: snip {i} meets cells that are not target, such as {', '.join(found)}")
    require(not missed, "cut.missed", f"cut: no snip frees {[table.sub.edges[e] for e in sorted(missed)][:9]}")
    return {"layers": layers, "snips": len(snips)}
