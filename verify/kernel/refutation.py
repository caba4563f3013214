"""Refutations: that no fold map, no layer order, or no cut can exist."""

from __future__ import annotations

from dataclasses import dataclass
from math import gcd

from .cut import Snip, dirt, touches_edge, touches_face, touches_vertex
from .fold import Fold
from .numbers import BITS, Field, Ring, coefficients, divided
from .order import Pair, direction, on_shared_segment
from .plane import line, read_point, side, step
from .propagation import Clauses
from .reading import CERTIFICATE, Rejected
from .statement import Statement
from .subdivision import BORDER, FACES, Subdivision
from .table import Table

KEYS = {
    "closure": (("walk",), ("edges",)),
    "maekawa": (("vertex",), ()),
    "order": (("reasons", "steps"), ()),
    "apart": (("edges",), ()),
    "stray": (("edge", "cell"), ()),
}
WITHOUT_FOLD = ("closure", "maekawa")
Complex = tuple[Ring, Ring]


def times(z: Complex, w: Complex) -> Complex:
    return z[0] * w[0] - z[1] * w[1], z[0] * w[1] + z[1] * w[0]


@dataclass(frozen=True, slots=True)
class Isometry:
    """z -> (a z + b)/c, or (a conj(z) + b)/c if it mirrors; c > 0."""

    mirrors: bool
    a: Complex
    b: Complex
    c: Ring

    def after(self, first: Isometry) -> Isometry:
        """The composition: `first`, then this."""
        a, b = first.a, first.b
        if self.mirrors:
            a, b = (a[0], -a[1]), (b[0], -b[1])
        a, b = times(self.a, a), times(self.a, b)
        parts = (*a, b[0] + self.b[0] * first.c, b[1] + self.b[1] * first.c, self.c * first.c)
        content = gcd(*(k for part in parts for k in coefficients(part)))
        p, q, r, s, c = (divided(part, content) for part in parts)
        if max(k.bit_length() for k in coefficients(c)) > 2 * BITS:
            raise Rejected("limit", f"refutation: a product of reflections needs integers of more than {2 * BITS} bits")
        return Isometry(self.mirrors != first.mirrors, (p, q), (r, s), c)

    def is_identity(self, field: Field) -> bool:
        zero = (self.a[0] - self.c, self.a[1], *self.b)
        return not self.mirrors and all(field.sign(x) == 0 for x in zero)


def reflection(sub: Subdivision, e: int) -> Isometry:
    """In the line of an edge through P along d: z -> P + d^2/|d|^2 conj(z - P)."""
    p, q = (sub.vertices[v] for v in sub.edges[e])
    d = step(p, q)[:2]
    square = times(d, d)
    length = d[0] * d[0] + d[1] * d[1]
    back = times(square, (p[0], -p[1]))
    turn = (square[0] * p[2], square[1] * p[2])
    return Isometry(True, turn, (length * p[0] - back[0], length * p[1] - back[1]), length * p[2])


def closure(table: dict[str, object], sub: Subdivision, field: Field) -> None:
    """A closed walk over faces whose reflections do not cancel: no fold map exists."""
    walk = CERTIFICATE.numbers(table["walk"], "refutation.walk", len(sub.faces), 1, FACES)
    crossed: list[int] = []
    if "edges" in table:
        listed = CERTIFICATE.items(table["edges"], "refutation.edges", len(walk), len(walk))
        crossed = [sub.edge(item, f"refutation.edges[{i}]") for i, item in enumerate(listed)]
    product: Isometry | None = None
    for i, (f, g) in enumerate(zip(walk, walk[1:] + walk[:1], strict=True)):
        between = [e for e in sorted(sub.face_edges(f)) if f != g and g in sub.beside[e]]
        if not between or (crossed and crossed[i] not in between):
            raise Rejected("refutation.closure", f"refutation.walk[{i}]: no such step from face {f} to face {g}")
        e = crossed[i] if crossed else between[0]
        if sub.is_fold(e):
            product = reflection(sub, e) if product is None else product.after(reflection(sub, e))
    if product is None or product.is_identity(field):
        raise Rejected("refutation.closure", "refutation.walk: the reflections cancel")


def maekawa(table: dict[str, object], sub: Subdivision) -> None:
    """An inner vertex at which mountains and valleys cannot differ by two: no layer order exists around it."""
    v = CERTIFICATE.whole(table["vertex"], "refutation.vertex", 0, len(sub.vertices))
    kinds = [sub.kind[e] for e, ends in enumerate(sub.edges) if v in ends]
    if "border" in kinds or all(kind == "flat" for kind in kinds):
        raise Rejected("refutation.maekawa", f"refutation: vertex {v} is on the border or on no fold")
    difference, free = kinds.count("mountain") - kinds.count("valley"), kinds.count("either")
    if any(abs(difference + free - 2 * k) == 2 for k in range(free + 1)):
        raise Rejected("refutation.maekawa", f"refutation: at vertex {v} mountains and valleys can differ by two")


def even(pairs: tuple[Pair, ...]) -> list[list[Pair]]:
    """The clauses that an even number of literals is true: for each odd choice, not exactly these."""
    result = []
    for chosen in range(1 << len(pairs)):
        if chosen.bit_count() % 2:
            result.append([(g, f) if chosen >> i & 1 else (f, g) for i, (f, g) in enumerate(pairs)])
    return result


def reason_clauses(value: object, where: str, table: Table) -> list[list[Pair]]:
    """The clauses of a reason, each true of every layer order; assumes (and checks) its geometry."""
    sub = table.sub
    root = CERTIFICATE.table(value, where, (), ("fold", "edges", "edge", "face", "faces", "point"))
    keys = set(root)

    def inner(item: object) -> int:
        e = sub.edge(item, where)
        if sub.beside[e][1] == BORDER:
            raise Rejected("refutation.reason", f"{where}: edge {sub.edges[e]} is on the border")
        return e

    if keys == {"fold"}:
        pair = direction(sub, table.fold, inner(root["fold"]))
        if pair is None:
            raise Rejected("refutation.reason", f"{where}: neither mountain nor valley")
        return [[pair]]
    if keys == {"edges"}:
        d, e = (inner(item) for item in CERTIFICATE.items(root["edges"], where, 2, 2))
        pairs = on_shared_segment(table, d, e) if d != e and table.share(d, e) else ()
        if not pairs:
            raise Rejected("refutation.reason", f"{where}: the edges share no segment, or are folds with faces apart")
        return even(pairs)
    if keys == {"edge", "face"}:
        e = inner(root["edge"])
        f = CERTIFICATE.whole(root["face"], where, 0, len(sub.faces))
        a, b = sub.beside[e]
        if f in (a, b) or not table.crosses(e, f):
            raise Rejected("refutation.reason", f"{where}: the edge does not run through face {f}")
        return even(((a, f), (b, f)))
    if keys == {"faces", "point"}:
        faces = CERTIFICATE.numbers(root["faces"], where, len(sub.faces), 3, 3)
        point = read_point(table.field, root["point"], where)
        for f in faces:
            front = -1 if f in table.fold.turned else 1
            corners = [table.fold.images[v] for v in sub.faces[f]]
            for p, q in zip(corners, corners[1:] + corners[:1], strict=True):
                if side(table.field, line(p, q), point) != front:
                    raise Rejected("refutation.reason", f"{where}: the point is not inside face {f}")
        a, b, c = faces
        if len(set(faces)) != 3:
            raise Rejected("refutation.reason", f"{where}: a face stands twice")
        return [[(b, a), (c, b), (a, c)], [(a, b), (b, c), (c, a)]]
    raise CERTIFICATE.fail("key", where, "no such reason")


def order(root: dict[str, object], table: Table) -> None:
    """Clauses that hold for every layer order, and a derivation of the empty one: no layer order exists."""
    count = len(table.sub.faces)

    def literal(f: int, g: int) -> int:
        """f above g as a nonzero integer, and its opposite for g above f."""
        return f * count + g + 1 if f < g else -(g * count + f + 1)

    clauses = Clauses()
    for i, item in enumerate(CERTIFICATE.items(root["reasons"], "refutation.reasons")):
        for pairs in reason_clauses(item, f"refutation.reasons[{i}]", table):
            clauses.add([literal(f, g) for f, g in pairs])
    steps = CERTIFICATE.items(root["steps"], "refutation.steps", 1)
    last = [0]
    for i, item in enumerate(steps):
        where = f"refutation.steps[{i}]"
        step_pairs = [CERTIFICATE.numbers(pair, where, count, 2, 2) for pair in CERTIFICATE.items(item, where)]
        if any(f == g for f, g in step_pairs):
            raise Rejected("refutation.step", f"{where}: a face is compared with itself")
        if not step_pairs and i + 1 < len(steps):
            raise Rejected("refutation.step", f"{where}: the empty clause is not the last step")
        last = [literal(f, g) for f, g in step_pairs]
        if not clauses.follows(last):
            raise Rejected("refutation.step", f"{where}: does not follow by unit propagation")
        clauses.add(last)
    if last:
        raise Rejected("refutation.order", "refutation.steps: the empty clause is not derived")


def apart(root: dict[str, object], table: Table, snips: int) -> None:
    """One more target edge than snips, no two of which can lie on one snip: no such cut exists."""
    listed = CERTIFICATE.items(root["edges"], "refutation.edges", snips + 1, snips + 1)
    edges = [table.sub.edge(item, f"refutation.edges[{i}]") for i, item in enumerate(listed)]
    for i, d in enumerate(edges):
        if d not in table.sub.target:
            raise Rejected("refutation.apart", f"refutation.edges[{i}]: not a target edge")
        for j, e in enumerate(edges[:i]):
            number = table.line_of[d]
            if number != table.line_of[e]:
                continue
            (a, b), (p, q) = table.span(number, d), table.span(number, e)
            low, high = min(b, q), max(a, p)
            if snips == 1 or low > high or dirt(table, Snip(number, (low, high))) is None:
                raise Rejected("refutation.apart", f"refutation.edges: {j} and {i} can lie on one snip")


def stray(root: dict[str, object], table: Table) -> None:
    """A cell that is not target on the only line that can be the cut: no such cut exists."""
    sub = table.sub
    edge = sub.edge(root["edge"], "refutation.edge")
    if edge not in sub.target:
        raise Rejected("refutation.stray", "refutation.edge: not a target edge")
    cut = Snip(table.line_of[edge], None)
    cell = CERTIFICATE.table(root["cell"], "refutation.cell", (), ("face", "edge", "vertex"))
    where = "refutation.cell"
    if set(cell) == {"face"}:
        met = touches_face(table, cut, CERTIFICATE.whole(cell["face"], where, 0, len(sub.faces)))
    elif set(cell) == {"edge"}:
        e = sub.edge(cell["edge"], where)
        met = e not in sub.target and touches_edge(table, cut, e)
    elif set(cell) == {"vertex"}:
        v = CERTIFICATE.whole(cell["vertex"], where, 0, len(sub.vertices))
        met = v not in sub.target_vertices and touches_vertex(table, cut, v)
    else:
        raise CERTIFICATE.fail("key", where, "expected one of face, edge, vertex")
    if not met:
        raise Rejected("refutation.stray", "refutation.cell: target, or not on the line of the cut")


def refuted_claim(
    value: dict[str, object], kind: str, statement: Statement, sub: Subdivision, field: Field, fold: Fold | None
) -> str:
    """Assumes (and checks) that the refutation reaches its goal; returns the claim of the statement that is refuted."""
    if kind in WITHOUT_FOLD:
        if kind == "closure":
            closure(value, sub, field)
        else:
            maekawa(value, sub)
        return "folds-flat"
    if fold is None:
        raise CERTIFICATE.fail("key", "certificate", 'key "fold" is missing')
    if kind == "order":
        order(value, Table(field, sub, fold))
        return "folds-flat"
    if statement.snips is None:
        raise Rejected("cut.none", "the document has no target")
    if kind == "apart":
        apart(value, Table(field, sub, fold), statement.snips)
        return "cut-exact"
    if kind == "stray" and statement.snips == 1:
        stray(value, Table(field, sub, fold))
        return "cut-exact"
    raise Rejected("refutation.stray", "refutation: stray is for one snip only")
