"""The cut: one straight line, or k segments, of the folded plane that free exactly the target in the open sheet."""

from collections import Counter
from itertools import accumulate

from .boxes import bits, box_of, hull, members
from .plane import Point, line, side
from .reading import CERTIFICATE, require
from .table import Table

Stretch = tuple[int, int]  # from one rank of the places of a line to another


def enters(table: Table, f: int, ends: list[Point]) -> bool:
    """Of a face that meets a line: whether a stretch of the line with these ends meets the open image of the face.

    On the line the face is the common part of rays, one for each line of its edges. Intervals with a common point in
    each pair have one in all, so it is enough that the stretch meets each ray: that one of its ends lies in it.
    """
    for n, left in table.face_lines[f]:
        sides = [side(table.field, table.lines[n].line, p) for p in ends]
        if (1 if left else -1) not in sides:
            return False
    return True


def crosses(table: Table, e: int, ends: list[Point]) -> bool:
    """Of an edge that crosses a line: whether it does so on a stretch with these ends."""
    own = table.lines[table.line_of[e]].line
    first, last = (side(table.field, own, p) for p in ends)
    return first * last <= 0


def stray(table: Table, n: int, stretch: Stretch | None = None) -> dict[str, int]:
    """The cells of the open sheet, not target, that a line, or a stretch of it, meets; a clean one has none.

    Assumes that everything is known of the line's sides.
    """
    ranks, cutter = table.ranks(n), table.lines[n]
    faces = table.astride(n)
    edges = cutter.edges.left & cutter.edges.right & table.inner & ~table.target
    low, high = stretch or (0, len(ranks))
    if stretch is not None:
        vertex = {rank: v for v, rank in ranks.items()}
        ends = [table.fold.images[vertex[rank]] for rank in stretch]
        faces &= table.boxes.meeting(hull([box_of(table.field, p) for p in ends]))
        faces = bits(f for f in members(faces) if enters(table, f, ends))
        edges = bits(e for e in members(edges) if crosses(table, e, ends))
    for a, b, e in table.spans(n, cutter.edges_on & table.inner & ~table.target):
        if stretch is None or (a < high and low < b):
            edges |= 1 << e
    vertices = bits(v for v, rank in ranks.items() if low <= rank <= high)
    return {"face": faces, "edge": edges, "vertex": vertices & ~table.spared_vertices}


def layers_cut(table: Table, freed: list[tuple[int, int, int]]) -> int:
    """The most layers that are cut at one place of a line, from the spans of the edges cut; a fold brings two."""
    change: Counter[int] = Counter()
    for a, b, e in freed:
        brings = 2 if table.sub.is_fold(e) else 1
        change[a] += brings
        change[b] -= brings
    return max(accumulate(change[rank] for rank in sorted(change)), default=0)


def read_snips(value: object, table: Table, count: int) -> list[tuple[int, Stretch | None]]:
    """The lines of at most `count` snips, and the stretch of each."""
    snips: list[tuple[int, Stretch | None]] = []
    root = CERTIFICATE.table(value, "cut", ("snips",))
    for i, item in enumerate(CERTIFICATE.items(root["snips"], "cut.snips", 0, count)):
        where = f"cut.snips[{i}]"
        u, v = CERTIFICATE.numbers(item, where, len(table.fold.images), 2, 2)
        n = table.add_whole_line(line(table.fold.images[u], table.fold.images[v]))
        low, high = table.span(n, u, v)
        require(low < high, "cut.snips", f"{where}: the images of vertices {u} and {v} are one place")
        snips.append((n, (low, high)))
    return snips


def check_cut(value: object, table: Table, count: int, along: int | None = None) -> tuple[str, dict[str, int]]:
    """Assumes (and checks) all of the specification's section 7; returns the claim that is then proved, and counts.

    One snip is the whole line `along` if there is one, else the line through the first target edge that is not border.
    Proves that the snips meet the open sheet exactly in the target; says nothing on thickness or on the blade's width.
    """
    snips: list[tuple[int, Stretch | None]] = []
    if count > 1:
        snips = read_snips(value, table, count)
    elif along is not None:
        snips = [(along, None)]
    elif table.target:
        first = next(e for e in table.sub.target if table.target >> e & 1)
        snips = [(table.whole_line(first), None)]
    missed, layers = table.target, 0
    for i, (n, stretch) in enumerate(snips):
        low, high = stretch or (0, len(table.fold.images))
        spans = table.spans(n, table.lines[n].edges_on & table.target)
        freed = [(a, b, e) for a, b, e in spans if low <= a and b <= high]
        missed &= ~bits(e for _, _, e in freed)
        layers = max(layers, layers_cut(table, freed))
        found = [f"{cell} {next(members(cells))}" for cell, cells in stray(table, n, stretch).items() if cells]
        require(not found, "cut.stray", f"cut: snip {i} meets cells that are not target, such as {', '.join(found)}")
    require(not missed, "cut.missed", f"cut: no snip frees {[table.sub.edges[e] for e in members(missed)][:9]}")
    return "cut-exact", {"layers": layers, "snips": len(snips)}
