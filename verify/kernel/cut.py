"""The cut: one straight line, or k segments, of the folded plane that free exactly the target."""

from __future__ import annotations

from dataclasses import dataclass

from .plane import same_place
from .reading import CERTIFICATE, Rejected
from .statement import Statement
from .table import Table, members


@dataclass(frozen=True, slots=True)
class Snip:
    """A stretch of a line between two of the places on it; the whole line if there is no stretch."""

    line: int
    stretch: tuple[int, int] | None  # ranks


def target_bits(table: Table) -> int:
    return sum(1 << e for e in table.sub.target)


def covered(table: Table, snip: Snip) -> int:
    """The edges whose image lies in the snip."""
    on = table.on_line(snip.line)
    if snip.stretch is None:
        return on
    low, high = snip.stretch
    spans = {e: table.span(snip.line, e) for e in members(on)}
    return sum(1 << e for e, (a, b) in spans.items() if low <= a and b <= high)


def touches_face(table: Table, snip: Snip, f: int) -> bool:
    """Whether the snip meets the open image of a face."""
    if not table.astride(snip.line) >> f & 1:
        return False
    if snip.stretch is None:
        return True
    ends = sum(1 << i for i, rank in table.ranks(snip.line).items() if rank in snip.stretch)
    return all(ends & table.lines[n].places[table.side(n, f)] for n in table.face_lines[f])


def touches_edge(table: Table, snip: Snip, e: int) -> bool:
    """Whether the snip meets the open image of an edge."""
    left, right = table.lines[snip.line].edges
    if table.on_line(snip.line) >> e & 1:
        a, b = table.span(snip.line, e)
        return snip.stretch is None or (a < snip.stretch[1] and snip.stretch[0] < b)
    if not (left & right) >> e & 1:
        return False
    if snip.stretch is None:
        return True
    ends = sum(1 << i for i, rank in table.ranks(snip.line).items() if rank in snip.stretch)
    return not any(ends & ~reached == 0 for reached in table.lines[table.line_of[e]].places)


def touches_vertex(table: Table, snip: Snip, v: int) -> bool:
    """Whether the image of a vertex lies on the snip."""
    rank = table.ranks(snip.line).get(table.place[v])
    return rank is not None and (snip.stretch is None or snip.stretch[0] <= rank <= snip.stretch[1])


def dirt(table: Table, snip: Snip) -> str | None:
    """A cell that is not target and whose image the snip meets, or None: the snip is clean."""
    sub = table.sub
    for f in members(table.astride(snip.line)):
        if touches_face(table, snip, f):
            return f"face {f}"
    left, right = table.lines[snip.line].edges
    for e in members((left & right | table.on_line(snip.line)) & ~target_bits(table)):
        if touches_edge(table, snip, e):
            return f"edge {sub.edges[e][0]} - {sub.edges[e][1]}"
    for v in range(len(sub.vertices)):
        if v not in sub.target_vertices and touches_vertex(table, snip, v):
            return f"vertex {v}"
    return None


def snip_between(table: Table, i: int, j: int) -> Snip:
    """The segment between two places that differ."""
    number = table.line_through(i, j)
    ranks = table.ranks(number)
    return Snip(number, (min(ranks[i], ranks[j]), max(ranks[i], ranks[j])))


def read_snips(value: object, table: Table, most: int) -> list[Snip]:
    """The segments that a certificate names; assumes (and checks) that they have length."""
    root = CERTIFICATE.table(value, "cut", ("snips",))
    result = []
    for i, item in enumerate(CERTIFICATE.items(root["snips"], "cut.snips", 1, most)):
        u, v = CERTIFICATE.numbers(item, f"cut.snips[{i}]", len(table.place), 2, 2)
        if same_place(table.field, table.fold.images[u], table.fold.images[v]):
            raise Rejected("cut.snips", f"cut.snips[{i}]: the images of vertices {u} and {v} are one place")
        result.append(snip_between(table, table.place[u], table.place[v]))
    return result


def thickest(table: Table, snip: Snip) -> int:
    """The greatest number of layers along a segment of the snip: one for each target edge there, two for one that is a fold."""
    changes: list[tuple[int, int]] = []
    for e in members(covered(table, snip) & target_bits(table)):
        start, end = table.span(snip.line, e)
        layers = 2 if table.sub.is_fold(e) else 1
        changes += [(start, layers), (end, -layers)]
    most = now = 0
    for _, change in sorted(changes):
        now += change
        most = max(most, now)
    return most


def check_cut(value: object, table: Table, statement: Statement) -> tuple[dict[str, int], str]:
    """Assumes (and checks) all of the specification's section 7; returns facts and the claim that is then proved.

    Proves that the snips meet the sheet exactly in the target; says nothing on thickness or on the blade's width.
    """
    sub = table.sub
    if statement.snips is None or sub.first_target is None:
        raise Rejected("cut.none", "the document has no target")
    if statement.snips == 1:
        snips = [Snip(table.line_of[sub.first_target], None)]
    else:
        snips = read_snips(value, table, statement.snips)
    target = target_bits(table)
    freed = 0
    for snip in snips:
        freed |= covered(table, snip)
    for e in members(target & ~freed):
        raise Rejected("cut.missed", f"cut: no snip frees target edge {sub.edges[e][0]} - {sub.edges[e][1]}")
    for i, snip in enumerate(snips):
        found = dirt(table, snip)
        if found is not None:
            raise Rejected("cut.stray", f"cut: snip {i} meets {found}, which is not target")
    return {"layers": max(thickest(table, snip) for snip in snips), "snips": len(snips)}, "cut-exact"
