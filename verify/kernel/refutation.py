"""Refutations: that no fold map, no layer order, or no cut can exist."""

from itertools import combinations

from .clauses import Clause, Clauses, even
from .cut import stray
from .numbers import Field
from .order import direction, on_shared_segment
from .plane import Line, Point, around, line, read_point, reduced, same_place
from .reading import CERTIFICATE, require
from .subdivision import FACES, VERTICES, Subdivision
from .table import Table

LONGEST = 100_000  # lists of reasons and of steps
FRAME: list[Point] = [(0, 0, 1), (1, 0, 1), (0, 1, 1)]  # three points that tell an isometry
Json = dict[str, object]


def mirrored(of: Line, p: Point) -> Point:
    """The mirror image of a point in a line."""
    (a, b, c), (x, y, w) = of, p
    square, twice = a * a + b * b, 2 * (a * x + b * y + c * w)
    return square * x - twice * a, square * y - twice * b, square * w


def check_closure(root: Json, sub: Subdivision, field: Field) -> str:
    """A closed walk over faces whose reflections do not cancel: no fold map exists."""
    CERTIFICATE.table(root, "refutation", ("kind", "walk", "edges"))
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
    return "folds-flat"


def check_maekawa(root: Json, sub: Subdivision) -> str:
    """An inner vertex at which mountains and valleys cannot differ by two: no layer order exists around it."""
    CERTIFICATE.table(root, "refutation", ("kind", "vertex"))
    v = CERTIFICATE.whole(root["vertex"], "refutation.vertex", 0, len(sub.vertices))
    kinds = [kind for kind, ends in zip(sub.kind, sub.edges, strict=True) if v in ends]
    inner = "border" not in kinds and {*kinds} != {"flat"}
    require(inner, "refutation.maekawa", f"refutation: vertex {v} is on the border or on no fold")
    free = kinds.count("either")
    least = kinds.count("mountain") - kinds.count("valley") - free  # of mountains less valleys
    possible = any(abs(least + 2 * k) == 2 for k in range(free + 1))
    require(not possible, "refutation.maekawa", f"refutation: at vertex {v} mountains and valleys can differ by two")
    return "folds-flat"


def inner_edge(value: object, where: str, sub: Subdivision) -> int:
    e = sub.edge(value, where)
    require(sub.is_inner(e), "refutation.reason", f"{where}: edge {sub.edges[e]} is on the border")
    return e


def of_two_edges(value: object, where: str, table: Table) -> list[Clause]:
    """Two edges whose images share a segment; no clauses if they do not."""
    d, e = (inner_edge(item, where, table.sub) for item in CERTIFICATE.items(value, where, 2, 2))
    n = table.line_of[d]
    if d == e or e not in table.lines[n].edges:
        return []
    low, high = table.gap(n, d, e)
    return even(on_shared_segment(table, n, d, e)) if low > high else []


def of_edge_and_face(root: Json, where: str, table: Table) -> list[Clause]:
    """An edge that runs through a face; no clauses if it does not."""
    e = inner_edge(root["edge"], where, table.sub)
    f = CERTIFICATE.whole(root["face"], where, 0, len(table.sub.faces))
    a, b = table.sub.beside[e]
    return even([(a, f), (b, f)]) if f not in (a, b) and table.crosses(e, f) else []


def of_three_faces(root: Json, where: str, table: Table) -> list[Clause]:
    """Three faces with a common point; no clauses if it is not inside all three."""
    a, b, c = CERTIFICATE.numbers(root["faces"], where, len(table.sub.faces), 3, 3)
    point = read_point(table.field, root["point"], where)
    if len({a, b, c}) < 3 or not all(table.inside(f, point) for f in (a, b, c)):
        return []
    return [[(b, a), (c, b), (a, c)], [(a, b), (b, c), (c, a)]]


def reason(value: object, where: str, table: Table) -> list[Clause]:
    """The clauses of a reason, each true of every layer order; assumes (and checks) its geometry."""
    root = CERTIFICATE.table(value, where, (), ("fold", "edges", "edge", "face", "faces", "point"))
    clauses: list[Clause] = []
    if root.keys() == {"fold"}:
        e = inner_edge(root["fold"], where, table.sub)
        clauses = [[above] for above in direction(table, e)]
    elif root.keys() == {"edges"}:
        clauses = of_two_edges(root["edges"], where, table)
    elif root.keys() == {"edge", "face"}:
        clauses = of_edge_and_face(root, where, table)
    elif root.keys() == {"faces", "point"}:
        clauses = of_three_faces(root, where, table)
    require(clauses != [], "refutation.reason", f"{where}: is no reason, is not so, or says nothing")
    return clauses


def check_no_order(root: Json, table: Table) -> str:
    """Clauses that hold for every layer order, and a derivation of the empty one: no layer order exists."""
    CERTIFICATE.table(root, "refutation", ("kind", "reasons", "steps"))
    clauses, count = Clauses(table.field.work), len(table.sub.faces)
    for i, item in enumerate(CERTIFICATE.items(root["reasons"], "refutation.reasons", 0, LONGEST)):
        for clause in reason(item, f"refutation.reasons[{i}]", table):
            clauses.add(clause)
    derived: list[Clause] = []
    for i, item in enumerate(CERTIFICATE.items(root["steps"], "refutation.steps", 1, LONGEST)):
        where = f"refutation.steps[{i}]"
        pairs = [CERTIFICATE.numbers(pair, where, count, 2, 2) for pair in CERTIFICATE.items(item, where)]
        clause = [(f, g) for f, g in pairs]
        follows = all(f != g for f, g in clause) and clauses.follows(clause)
        require(follows, "refutation.step", f"{where}: does not follow by unit propagation")
        clauses.add(clause)
        derived.append(clause)
    require(derived[-1] == [], "refutation.order", "refutation.steps: the empty clause is not derived")
    return "folds-flat"


def target_edge(table: Table, value: object, where: str) -> int:
    e = table.sub.edge(value, where)
    require(e in table.sub.target, "refutation.target", f"{where}: not a target edge, or along the sheet's edge")
    return e


def are_apart(table: Table, d: int, e: int, snips: int) -> bool:
    """Whether two target edges cannot lie on one snip."""
    n = table.whole_line(d)
    if e not in table.lines[n].edges:
        return True
    if snips == 1:
        return False
    low, high = table.gap(n, d, e)
    return low <= high and any(stray(table, n, (low, high)).values())


def check_apart(root: Json, table: Table, snips: int) -> str:
    """One more target edge than snips, no two of which can lie on one snip: no such cut exists."""
    CERTIFICATE.table(root, "refutation", ("kind", "edges"))
    listed = CERTIFICATE.items(root["edges"], "refutation.edges", snips + 1, snips + 1)
    edges = [target_edge(table, item, f"refutation.edges[{i}]") for i, item in enumerate(listed)]
    for d, e in combinations(edges, 2):
        table.field.work.spend(1)
        apart = are_apart(table, d, e, snips)
        require(apart, "refutation.apart", f"refutation.edges: edges {d} and {e} can lie on one snip")
    return "cut-exact"


def check_stray(root: Json, table: Table, snips: int, along: int | None) -> str:
    """A cell that is not target on the line, or the segment, that every cut must cover: no such cut exists."""
    sub, where = table.sub, "refutation.cell"
    stretch = None
    if along is not None:
        CERTIFICATE.table(root, "refutation", ("kind", "cell"))
        n = along
    else:
        CERTIFICATE.table(root, "refutation", ("kind", "cell", "edge"))
        edge = target_edge(table, root["edge"], "refutation.edge")
        n = table.whole_line(edge)
        if snips > 1:
            stretch = table.span(n, *sub.edges[edge])
    cell = CERTIFICATE.table(root["cell"], where, (), ("face", "edge", "vertex"))
    require(len(cell) == 1, "certificate.key", f"{where}: expected one of face, edge, vertex")
    [(name, value)] = cell.items()
    number = sub.edge(value, where) if name == "edge" else CERTIFICATE.whole(value, where, 0, VERTICES)
    met = number in stray(table, n, stretch)[name]
    require(met, "refutation.stray", f"{where}: target, not of the open sheet, or not on the line of the cut")
    return "cut-exact"


def check_off(root: Json, table: Table, along: int | None) -> str:
    """A target edge whose image is not on the line of the cut that the document names."""
    CERTIFICATE.table(root, "refutation", ("kind", "edge"))
    e = table.sub.edge(root["edge"], "refutation.edge")
    off = along is not None and e in table.sub.target and e not in table.lines[along].edges
    require(off, "refutation.off", "refutation.edge: not target, or on the line of the cut")
    return "cut-exact"
