"""The cut: one straight line, or k segments, of the folded plane that free exactly the target in the open sheet."""

from collections.abc import Iterable

from .folded import Table, bits, members
from .plane import line
from .reading import CERTIFICATE, require

Stretch = tuple[int, int] | None  # from one rank of the places of a line to another; None: the whole line


def stray(table: Table, n: int, stretch: Stretch = None) -> dict[str, int]:
    """The cells of the open sheet, not target, whose images a line, or a stretch of it, meets; a clean one has none."""
    lines, ranks, (left, right) = table.lines, table.ranks(n), table.lines[n].edges
    low, high = stretch or (-1, len(ranks))
    ends = bits(i for i, rank in ranks.items() if rank in (low, high))

    def reaches(sides: Iterable[int]) -> bool:
        """Whether the stretch has an end in each of these sets of places."""
        return stretch is None or all(ends & places for places in sides)

    faces = bits(f for f in members(table.astride(n)) if reaches(lines[m].places[s] for m, s in table.face_lines[f]))
    # An edge that crosses the line is not met just if the ends are strictly on one side of it.
    across = [e for e in members(left & right) if reaches(~places for places in lines[table.line_of[e]].places)]
    along = [e for a, b, e in table.spans(n, table.on_line(n)) if a < high and low < b]
    on = bits(v for v, i in enumerate(table.place) if low <= ranks.get(i, -2) <= high)
    edges = bits(across + along) & table.inner & ~table.target
    return {"face": faces, "edge": edges, "vertex": on & ~table.spared_vertices}


def check_cut(value: object, table: Table, count: int, along: int | None = None) -> tuple[str, dict[str, int]]:
    """Assumes (and checks) all of the specification's section 7; returns the claim that is then proved, and counts.

    One snip is the whole line `along` if there is one, else the line through the first target edge that is not border.
    Proves that the snips meet the open sheet exactly in the target; says nothing on thickness or on the blade's width.
    """
    snips: list[tuple[int, Stretch]] = []
    if count == 1 and along is not None:
        snips.append((along, None))
    elif count == 1 and table.target:
        first = next(e for e in table.sub.target if table.target >> e & 1)
        snips.append((table.line_of[first], None))
    if count != 1:
        root = CERTIFICATE.table(value, "cut", ("snips",))
        for i, item in enumerate(CERTIFICATE.items(root["snips"], "cut.snips", 0, count)):
            u, v = CERTIFICATE.numbers(item, f"cut.snips[{i}]", len(table.place), 2, 2)
            n = table.add_line(line(table.fold.images[u], table.fold.images[v]))
            low, high = table.span(n, u, v)
            require(low < high, "cut.snips", f"cut.snips[{i}]: the images of vertices {u} and {v} are one place")
            snips.append((n, (low, high)))
    missed, layers = table.target, 0
    for i, (n, stretch) in enumerate(snips):
        low, high = stretch or (0, len(table.points))
        freed = [(a, b, e) for a, b, e in table.spans(n, table.on_line(n) & table.target) if low <= a and b <= high]
        missed &= ~bits(e for _, _, e in freed)
        for start, _, _ in freed:  # a fold that is cut along brings two layers
            layers = max(layers, sum(1 + table.sub.is_fold(e) for a, b, e in freed if a <= start < b))
        found = [f"{cell} {next(members(cells))}" for cell, cells in stray(table, n, stretch).items() if cells]
        require(not found, "cut.stray", f"cut: snip {i} meets cells that are not target, such as {', '.join(found)}")
    require(not missed, "cut.missed", f"cut: no snip frees {[table.sub.edges[e] for e in members(missed)][:9]}")
    return "cut-exact", {"layers": layers, "snips": len(snips)}
