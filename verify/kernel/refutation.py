"""Refutations: that no fold map, no layer order, or no cut can exist."""

from itertools import combinations

from .cut import stray
from .folded import Table
from .numbers import Field
from .order import Pair, direction, on_shared_segment
from .plane import Line, Point, around, line, read_point, reduced, same_place
from .reading import CERTIFICATE, Work, require
from .subdivision import BORDER, FACES, VERTICES, Subdivision

LONGEST = 100_000  # lists of reasons and of steps
FRAME: list[Point] = [(0, 0, 1), (1, 0, 1), (0, 1, 1)]  # three points that tell an isometry


def mirrored(of: Line, p: Point) -> Point:
    """The mirror image of a point in a line."""
    (a, b, c), (x, y, w) = of, p
    square, twice = a * a + b * b, 2 * (a * x + b * y + c * w)
    return square * x - twice * a, square * y - twice * b, square * w


def check_closure(root: dict[str, object], sub: Subdivision, field: Field) -> str:
    """A closed walk over faces whose reflections do not cancel: no fold map exists."""
    walk, points = CERTIFICATE.numbers(root["walk"], "refutation.walk", len(sub.faces), 1, FACES), FRAME
    edges = CERTIFICATE.items(root["edges"], "refutation.edges", len(walk), len(walk))
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


def check_maekawa(root: dict[str, object], sub: Subdivision, *_: object) -> str:
    """An inner vertex at which mountains and valleys cannot differ by two: no layer order exists around it."""
    v = CERTIFICATE.whole(root["vertex"], "refutation.vertex", 0, len(sub.vertices))
    kinds = [kind for kind, ends in zip(sub.kind, sub.edges, strict=True) if v in ends]
    inner = "border" not in kinds and {*kinds} != {"flat"}
    require(inner, "refutation.maekawa", f"refutation: vertex {v} is on the border or on no fold")
    least, free = kinds.count("mountain") - kinds.count("valley") - kinds.count("either"), kinds.count("either")
    possible = any(abs(least + 2 * k) == 2 for k in range(free + 1))
    require(not possible, "refutation.maekawa", f"refutation: at vertex {v} mountains and valleys can differ by two")
    return "folds-flat"


class Clauses:
    """Lists of literals: pairs of faces (f, g) for f above g, the opposite of which is (g, f)."""

    def __init__(self, work: Work) -> None:
        self.work = work
        self.having: dict[Pair, list[list[Pair]]] = {}  # the clauses with a literal
        self.settled: set[Pair] = set()  # the literals that follow from the clauses by unit propagation
        self.contradiction = False  # whether the empty clause does

    def add(self, clause: list[Pair]) -> None:
        once = [*dict.fromkeys(clause)]
        for literal in once:
            self.having.setdefault(literal, []).append(once)
        open_ = [(f, g) for f, g in once if (g, f) not in self.settled]
        if not open_ or (len(open_) == 1 and self.contradicts(open_, self.settled)):
            self.contradiction = True

    def follows(self, clause: list[Pair]) -> bool:
        """Whether unit propagation from the opposites of all literals runs into a contradiction."""
        return self.contradiction or self.contradicts([(g, f) for f, g in clause], set())

    def contradicts(self, literals: list[Pair], true: set[Pair]) -> bool:
        """Whether these literals, with what is true or settled, lead to a contradiction; adds to `true` what
        follows.
        """
        waiting = [*literals]
        for f, g in waiting:  # grows on the way
            if (g, f) in true or (g, f) in self.settled:
                return True
            if (f, g) in true or (f, g) in self.settled:
                continue
            true.add((f, g))
            for clause in self.having.get((g, f), ()):
                self.work.spend(len(clause))
                left = [(a, b) for a, b in clause if (b, a) not in true and (b, a) not in self.settled]
                if not left:
                    return True
                if len(left) == 1:
                    waiting.append(left[0])
        return False


def even(pairs: list[Pair]) -> list[list[Pair]]:
    """The clauses that an even number of literals is true: for each odd choice, not exactly these."""
    odd = [chosen for chosen in range(1 << len(pairs)) if chosen.bit_count() % 2]
    return [[(g, f) if chosen >> i & 1 else (f, g) for i, (f, g) in enumerate(pairs)] for chosen in odd]


def reason(value: object, where: str, table: Table) -> list[list[Pair]]:
    """The clauses of a reason, each true of every layer order; assumes (and checks) its geometry."""
    sub, root = table.sub, CERTIFICATE.table(value, where, (), ("fold", "edges", "edge", "face", "faces", "point"))

    def inner(item: object) -> int:
        e = sub.edge(item, where)
        require(sub.beside[e][1] != BORDER, "refutation.reason", f"{where}: edge {sub.edges[e]} is on the border")
        return e

    holds, clauses = True, list[list[Pair]]()
    if root.keys() == {"fold"}:
        clauses = [[pair] for pair in direction(table, inner(root["fold"]))]
    elif root.keys() == {"edges"}:
        d, e = map(inner, CERTIFICATE.items(root["edges"], where, 2, 2))
        low, high = table.gap(d, e) if d != e and table.line_of[d] == table.line_of[e] else (0, 0)
        holds, clauses = high < low, even(on_shared_segment(table, d, e))
    elif root.keys() == {"edge", "face"}:
        e, f = inner(root["edge"]), CERTIFICATE.whole(root["face"], where, 0, len(sub.faces))
        holds, clauses = f not in sub.beside[e] and table.crosses(e, f), even([(a, f) for a in sub.beside[e]])
    elif root.keys() == {"faces", "point"}:
        a, b, c = CERTIFICATE.numbers(root["faces"], where, len(sub.faces), 3, 3)
        point = read_point(table.field, root["point"], where)
        holds = len({a, b, c}) == 3 and all(table.inside(f, point) for f in (a, b, c))
        clauses = [[(b, a), (c, b), (a, c)], [(a, b), (b, c), (c, a)]]
    require(holds and clauses != [], "refutation.reason", f"{where}: is no reason, is not so, or says nothing")
    return clauses


def check_no_order(root: dict[str, object], table: Table, *_: object) -> str:
    """Clauses that hold for every layer order, and a derivation of the empty one: no layer order exists."""
    clauses, count, last = Clauses(table.field.work), len(table.sub.faces), [(0, 0)]
    for i, item in enumerate(CERTIFICATE.items(root["reasons"], "refutation.reasons", 0, LONGEST)):
        for clause in reason(item, f"refutation.reasons[{i}]", table):
            clauses.add(clause)
    for i, item in enumerate(CERTIFICATE.items(root["steps"], "refutation.steps", 1, LONGEST)):
        where = f"refutation.steps[{i}]"
        pairs = [CERTIFICATE.numbers(pair, where, count, 2, 2) for pair in CERTIFICATE.items(item, where)]
        last = [(f, g) for f, g in pairs]
        follows = all(f != g for f, g in last) and clauses.follows(last)
        require(follows, "refutation.step", f"{where}: does not follow by unit propagation")
        clauses.add(last)
    require(last == [], "refutation.order", "refutation.steps: the empty clause is not derived")
    return "folds-flat"


def target_edge(table: Table, value: object, where: str) -> int:
    e = table.sub.edge(value, where)
    require(table.target >> e & 1 == 1, "refutation.target", f"{where}: not a target edge, or along the sheet's edge")
    return e


def check_apart(root: dict[str, object], table: Table, snips: int, *_: object) -> str:
    """One more target edge than snips, no two of which can lie on one snip: no such cut exists."""
    listed = CERTIFICATE.items(root["edges"], "refutation.edges", snips + 1, snips + 1)
    edges = [target_edge(table, item, f"refutation.edges[{i}]") for i, item in enumerate(listed)]
    for d, e in combinations(edges, 2):
        n, apart = table.line_of[d], table.line_of[d] != table.line_of[e]
        if not apart and snips > 1:
            low, high = table.gap(d, e)
            apart = low <= high and any(stray(table, n, (low, high)).values())
        require(apart, "refutation.apart", f"refutation.edges: edges {d} and {e} can lie on one snip")
    return "cut-exact"


def check_stray(root: dict[str, object], table: Table, snips: int, along: int | None) -> str:
    """A cell that is not target on the line, or the segment, that every cut must cover: no such cut exists."""
    sub, where, n, stretch = table.sub, "refutation.cell", along, None
    CERTIFICATE.table(root, "refutation", ("kind", "cell", *["edge"] * (along is None)))
    if n is None:
        edge = target_edge(table, root["edge"], "refutation.edge")
        n = table.line_of[edge]
        stretch = None if snips == 1 else table.span(n, *sub.edges[edge])
    cell = CERTIFICATE.table(root["cell"], where, (), ("face", "edge", "vertex"))
    require(len(cell) == 1, "certificate.key", f"{where}: expected one of face, edge, vertex")
    [(name, value)] = cell.items()
    number = sub.edge(value, where) if name == "edge" else CERTIFICATE.whole(value, where, 0, VERTICES)
    met = stray(table, n, stretch)[name] >> number & 1 == 1
    require(met, "refutation.stray", f"{where}: target, not of the open sheet, or not on the line of the cut")
    return "cut-exact"
