"""Refutations: that no fold map, no layer order, or no cut can exist."""

from .clauses import Clause, Clauses, even
from .cut import Cut, stray
from .order import direction, on_shared_segment
from .paper import Paper
from .plane import Point, around, line, mirrored, read_point, reduced, same_place
from .reading import CERTIFICATE, Json, require
from .subdivision import FACES, VERTICES
from .table import Table

LONGEST = 100_000  # lists of reasons and of steps
FRAME: list[Point] = [(0, 0, 1), (1, 0, 1), (0, 1, 1)]  # three points that tell an isometry


def check_closure(certificate: Json, paper: Paper) -> None:
    """A closed walk over faces whose reflections do not cancel: no fold map exists."""
    root = CERTIFICATE.table(certificate["refutation"], "refutation", ("kind", "walk", "edges"))
    sub, field = paper.sub, paper.field
    walk = CERTIFICATE.numbers(root["walk"], "refutation.walk", len(sub.faces), 1, FACES)
    edges = CERTIFICATE.items(root["edges"], "refutation.edges", len(walk), len(walk))
    points = FRAME
    for i, (f, g) in enumerate(around(walk)):
        e = sub.edge(edges[i], f"refutation.edges[{i}]")
        require(sub.beside[e] in ((f, g), (g, f)), "refutation.closure", f"refutation.edges[{i}]: not from {f} to {g}")
        if sub.is_fold(e):
            u, v = sub.edges[e]
            of = line(sub.vertices[u], sub.vertices[v])
            points = [reduced(field, mirrored(of, p)) for p in points]
    identity = all(same_place(field, p, q) for p, q in zip(points, FRAME, strict=True))
    require(not identity, "refutation.closure", "refutation.walk: the reflections cancel")


def check_maekawa(certificate: Json, paper: Paper) -> None:
    """An inner vertex at which mountains and valleys cannot differ by two: no layer order exists around it."""
    root, sub = CERTIFICATE.table(certificate["refutation"], "refutation", ("kind", "vertex")), paper.sub
    v = CERTIFICATE.whole(root["vertex"], "refutation.vertex", 0, len(sub.vertices))
    kinds = [kind for kind, ends in zip(sub.kind, sub.edges, strict=True) if v in ends]
    inner = "border" not in kinds and {*kinds} != {"flat"}
    require(inner, "refutation.maekawa", f"refutation: vertex {v} is on the border or on no fold")
    free = kinds.count("either")
    least = kinds.count("mountain") - kinds.count("valley") - free  # of mountains less valleys
    possible = any(abs(least + 2 * k) == 2 for k in range(free + 1))
    require(not possible, "refutation.maekawa", f"refutation: at vertex {v} mountains and valleys can differ by two")


def of_fold(root: Json, where: str, table: Table) -> list[Clause]:
    """An edge drawn as a mountain or a valley; no clauses if it is not."""
    return [[above] for above in direction(table, table.sub.edge(root["fold"], where))]


def of_two_edges(root: Json, where: str, table: Table) -> list[Clause]:
    """Two inner edges whose images share a segment; no clauses if they do not."""
    d, e = (table.sub.edge(item, where) for item in CERTIFICATE.items(root["edges"], where, 2, 2))
    n, inner = table.line_of[d], table.sub.is_inner(d) and table.sub.is_inner(e)
    if d == e or not inner or e not in table.lines[n].edges:
        return []
    low, high = table.gap(n, d, e)
    return even(on_shared_segment(table, n, d, e)) if low > high else []


def of_edge_and_face(root: Json, where: str, table: Table) -> list[Clause]:
    """An inner edge that runs through a face; no clauses if it does not."""
    e = table.sub.edge(root["edge"], where)
    f = CERTIFICATE.whole(root["face"], where, 0, len(table.sub.faces))
    a, b = table.sub.beside[e]
    return even([(a, f), (b, f)]) if table.sub.is_inner(e) and f not in (a, b) and table.crosses(e, f) else []


def of_three_faces(root: Json, where: str, table: Table) -> list[Clause]:
    """Three faces with a common point; no clauses if it is not inside all three."""
    a, b, c = CERTIFICATE.numbers(root["faces"], where, len(table.sub.faces), 3, 3)
    point = read_point(table.field, root["point"], where)
    if len({a, b, c}) < 3 or not all(table.has(f, point) for f in (a, b, c)):
        return []
    return [[(b, a), (c, b), (a, c)], [(a, b), (b, c), (c, a)]]


# By keys, in alphabetical order:
REASONS = {"fold": of_fold, "edges": of_two_edges, "edge face": of_edge_and_face, "faces point": of_three_faces}


def reason(value: object, where: str, table: Table) -> list[Clause]:
    """The clauses of a reason, each true of every layer order; assumes (and checks) its geometry."""
    root = CERTIFICATE.table(value, where, (), ("fold", "edges", "edge", "face", "faces", "point"))
    read = REASONS.get(" ".join(sorted(root)))
    clauses = [] if read is None else read(root, where, table)
    require(clauses != [], "refutation.reason", f"{where}: is no reason, is not so, is of the border or says nothing")
    return clauses


def check_no_order(value: object, cut: Cut) -> None:
    """Clauses that hold for every layer order, and a derivation of the empty one: no layer order exists."""
    root = CERTIFICATE.table(value, "refutation", ("kind", "reasons", "steps"))
    table = cut.table
    clauses, count = Clauses(table.field.work), len(table.sub.faces)
    for where, item in CERTIFICATE.each(root["reasons"], "refutation.reasons", 0, LONGEST):
        for clause in reason(item, where, table):
            clauses.add(clause)
    for where, item in CERTIFICATE.each(root["steps"], "refutation.steps", 1, LONGEST):
        pairs = [CERTIFICATE.numbers(pair, where, count, 2, 2) for pair in CERTIFICATE.items(item, where)]
        clause = [(f, g) for f, g in pairs]
        follows = all(f != g for f, g in clause) and clauses.follows(clause)
        require(follows, "refutation.step", f"{where}: does not follow by unit propagation")
        clauses.add(clause)
    require(clause == [], "refutation.order", "refutation.steps: the last clause is not the empty one")


def target_edge(table: Table, value: object, where: str) -> int:
    e = table.sub.edge(value, where)
    require(e in table.sub.target, "refutation.target", f"{where}: not a target edge, or along the sheet's edge")
    return e


def check_apart(value: object, cut: Cut) -> None:
    """One more target edge than snips, no two of which can lie on one snip: no such cut exists."""
    root = CERTIFICATE.table(value, "refutation", ("kind", "edges"))
    table, snips, _ = cut
    listed = CERTIFICATE.each(root["edges"], "refutation.edges", snips + 1, snips + 1)
    edges = [target_edge(table, item, where) for where, item in listed]
    for i, d in enumerate(edges):
        n = table.line_of[d]
        for e in edges[i + 1 :]:
            table.field.work.spend(1)
            apart = e not in table.lines[n].edges
            if not apart and snips > 1:
                low, high = table.gap(n, d, e)
                apart = low <= high and any(stray(table, n, (low, high)).values())
            require(apart, "refutation.apart", f"refutation.edges: edges {d} and {e} can lie on one snip")


def check_stray(value: object, cut: Cut) -> None:
    """A cell that is not target on the line, or the segment, that every cut must cover: no such cut exists."""
    (table, snips, along), where = cut, "refutation.cell"
    keys = ("kind", "cell", "edge") if along is None else ("kind", "cell")
    root = CERTIFICATE.table(value, "refutation", keys)
    n, stretch = along, None
    if n is None:
        edge = target_edge(table, root["edge"], "refutation.edge")
        n = table.line_of[edge]
        stretch = table.span(n, *table.sub.edges[edge]) if snips > 1 else None
    cell = CERTIFICATE.table(root["cell"], where, (), ("face", "edge", "vertex"))
    require(len(cell) == 1, "certificate.key", f"{where}: expected one of face, edge, vertex")
    [(name, item)] = cell.items()
    number = table.sub.edge(item, where) if name == "edge" else CERTIFICATE.whole(item, where, 0, VERTICES)
    met = number in stray(table, n, stretch)[name]
    require(met, "refutation.stray", f"{where}: target, not of the open sheet, or not on the line of the cut")


def check_off(value: object, cut: Cut) -> None:
    """A target edge whose image is not on the line of the cut that the document names."""
    table, _, along = cut
    root = CERTIFICATE.table(value, "refutation", ("kind", "edge"))
    e = table.sub.edge(root["edge"], "refutation.edge")
    off = along is not None and e in table.sub.target and e not in table.lines[along].edges
    require(off, "refutation.off", "refutation.edge: not target, or on the line of the cut")
