"""Refutations: that no fold map, no layer order, or no cut can exist."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from math import gcd
from typing import NamedTuple

from .cut import Snip, stray
from .expression import BITS
from .numbers import Field, Number, coefficients, integral
from .order import Pair, direction, on_shared_segment
from .plane import line, read_point, side, step
from .reading import CERTIFICATE, require
from .subdivision import BORDER, FACES, Subdivision, around
from .table import Table

Complex = tuple[Number, Number]


def times(z: Complex, w: Complex) -> Complex:
    return z[0] * w[0] - z[1] * w[1], z[0] * w[1] + z[1] * w[0]


class Isometry(NamedTuple):
    """z -> (a z + b)/c, or (a conj(z) + b)/c if it mirrors; c > 0."""

    mirrors: bool
    a: Complex
    b: Complex
    c: Number

    def after(self, first: Isometry) -> Isometry:
        """The composition: `first`, then this."""
        flip = -1 if self.mirrors else 1
        a, b = (times(self.a, (z[0], z[1] * flip)) for z in (first.a, first.b))
        parts = (*a, b[0] + self.b[0] * first.c, b[1] + self.b[1] * first.c, self.c * first.c)
        content = gcd(*(k.numerator for part in parts for k in coefficients(part)))
        (p, q, r, s, c), _ = integral(*(part * Fraction(1, content) for part in parts))
        return Isometry(self.mirrors != first.mirrors, (p, q), (r, s), c)


def reflection(sub: Subdivision, e: int) -> Isometry:
    """In the line of an edge through P along d: z -> P + d^2/|d|^2 conj(z - P)."""
    p, q = (sub.vertices[v] for v in sub.edges[e])
    x, y, _ = step(p, q)
    square, length = times((x, y), (x, y)), x * x + y * y
    back = times(square, (p[0], -p[1]))
    turn = (square[0] * p[2], square[1] * p[2])
    return Isometry(True, turn, (length * p[0] - back[0], length * p[1] - back[1]), length * p[2])


def check_closure(root: dict[str, object], sub: Subdivision, field: Field) -> str:
    """A closed walk over faces whose reflections do not cancel: no fold map exists."""
    walk = CERTIFICATE.numbers(root["walk"], "refutation.walk", len(sub.faces), 1, FACES)
    stated = CERTIFICATE.items(root.get("edges", [None] * len(walk)), "refutation.edges", len(walk), len(walk))
    product = Isometry(False, (1, 0), (0, 0), 1)
    for i, (f, g) in enumerate(around(walk)):
        between = [e for e in sorted(sub.face_edges(f)) if f != g and g in sub.beside[e]]
        if "edges" in root:
            between = [e for e in between if e == sub.edge(stated[i], f"refutation.edges[{i}]")]
        require(bool(between), "refutation.closure", f"refutation.walk[{i}]: no such step from face {f} to face {g}")
        if sub.is_fold(between[0]):
            product = product.after(reflection(sub, between[0]))
            size = max(k.numerator.bit_length() for part in (*product.a, product.c) for k in coefficients(part))
            require(size <= BITS, "limit", f"refutation.walk[{i}]: integers of more than {BITS} bits")
    (x, y), c = product.a, product.c
    identity = not product.mirrors and not any(field.sign(z) for z in (x - c, y, *product.b))
    require(not identity, "refutation.closure", "refutation.walk: the reflections cancel")
    return "folds-flat"


def check_maekawa(root: dict[str, object], sub: Subdivision) -> str:
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
    """Reverse unit propagation. Literals are pairs of faces (f, g): f above g; (g, f) is the opposite."""

    def __init__(self) -> None:
        self.having: dict[Pair, list[list[Pair]]] = {}  # the clauses with a literal
        self.true: set[Pair] = set()
        self.contradiction = False  # propagation of the clauses alone runs into one

    def propagate(self, literals: Iterable[Pair]) -> tuple[bool, list[Pair]]:
        """Makes the literals true and all that follows; whether into a contradiction, and what was made true."""
        waiting = list(literals)
        made: list[Pair] = []
        for f, g in waiting:  # grows on the way
            if (g, f) in self.true:
                return True, made
            if (f, g) not in self.true:
                self.true.add((f, g))
                made.append((f, g))
                for clause in self.having.get((g, f), ()):
                    open_ = [(x, y) for x, y in clause if (y, x) not in self.true]
                    if not open_:
                        return True, made
                    waiting += open_ if len(open_) == 1 else []
        return False, made

    def add(self, literals: list[Pair]) -> None:
        clause = list(dict.fromkeys(literals))
        for literal in clause:
            self.having.setdefault(literal, []).append(clause)
        open_ = {(x, y) for x, y in clause if (y, x) not in self.true}
        if len(open_) < 2 and not self.contradiction:
            self.contradiction = not open_ or self.propagate(open_)[0]

    def follows(self, clause: list[Pair]) -> bool:
        """Whether propagation from the opposites of all literals runs into a contradiction."""
        if self.contradiction:
            return True
        found, made = self.propagate((g, f) for f, g in clause)
        self.true.difference_update(made)
        return found


def even(pairs: list[Pair]) -> list[list[Pair]]:
    """The clauses that an even number of literals is true: for each odd choice, not exactly these."""
    odd = [chosen for chosen in range(1 << len(pairs)) if chosen.bit_count() % 2]
    return [[(g, f) if chosen >> i & 1 else (f, g) for i, (f, g) in enumerate(pairs)] for chosen in odd]


def reason(value: object, where: str, table: Table) -> list[list[Pair]]:
    """The clauses of a reason, each true of every layer order; assumes (and checks) its geometry."""
    sub = table.sub
    root = CERTIFICATE.table(value, where, (), ("fold", "edges", "edge", "face", "faces", "point"))

    def inner(item: object) -> int:
        e = sub.edge(item, where)
        require(sub.beside[e][1] != BORDER, "refutation.reason", f"{where}: edge {sub.edges[e]} is on the border")
        return e

    clauses: list[list[Pair]] = []
    if root.keys() == {"fold"}:
        clauses = [[pair] for pair in direction(table, inner(root["fold"]))]
    elif root.keys() == {"edges"}:
        d, e = map(inner, CERTIFICATE.items(root["edges"], where, 2, 2))
        clauses = even(on_shared_segment(table, d, e)) if d != e and table.share(d, e) else []
    elif root.keys() == {"edge", "face"}:
        e, f = inner(root["edge"]), CERTIFICATE.whole(root["face"], where, 0, len(sub.faces))
        clauses = even([(a, f) for a in sub.beside[e]]) if f not in sub.beside[e] and table.crosses(e, f) else []
    elif root.keys() == {"faces", "point"}:
        a, b, c = CERTIFICATE.numbers(root["faces"], where, len(sub.faces), 3, 3)
        point = read_point(table.field, root["point"], where)
        images = [[(f, table.fold.images[v]) for v in sub.faces[f]] for f in (a, b, c)]
        inside = all(
            side(table.field, line(p, q), point) == (-1 if f in table.fold.turned else 1)
            for image in images
            for (f, p), (_, q) in zip(image, image[1:] + image[:1], strict=True)
        )
        clauses = [[(b, a), (c, b), (a, c)], [(a, b), (b, c), (c, a)]] if inside and len({a, b, c}) == 3 else []
    else:
        raise CERTIFICATE.fail("key", where, "no such reason")
    require(bool(clauses), "refutation.reason", f"{where}: is not so, or says nothing")
    return clauses


def check_no_order(root: dict[str, object], table: Table) -> str:
    """Clauses that hold for every layer order, and a derivation of the empty one: no layer order exists."""
    clauses, count, last = Clauses(), len(table.sub.faces), [(0, 0)]
    for i, item in enumerate(CERTIFICATE.items(root["reasons"], "refutation.reasons")):
        for clause in reason(item, f"refutation.reasons[{i}]", table):
            clauses.add(clause)
    for i, item in enumerate(CERTIFICATE.items(root["steps"], "refutation.steps", 1)):
        where = f"refutation.steps[{i}]"
        require(last != [], "refutation.step", f"{where}: stands after the empty clause")
        pairs = [CERTIFICATE.numbers(pair, where, count, 2, 2) for pair in CERTIFICATE.items(item, where)]
        last = [(f, g) for f, g in pairs]
        require(all(f != g for f, g in last), "refutation.step", f"{where}: a face is compared with itself")
        require(clauses.follows(last), "refutation.step", f"{where}: does not follow by unit propagation")
        clauses.add(last)
    require(last == [], "refutation.order", "refutation.steps: the empty clause is not derived")
    return "folds-flat"


def check_apart(root: dict[str, object], table: Table, snips: int) -> str:
    """One more target edge than snips, no two of which can lie on one snip: no such cut exists."""
    listed = CERTIFICATE.items(root["edges"], "refutation.edges", snips + 1, snips + 1)
    edges = [table.sub.edge(item, f"refutation.edges[{i}]") for i, item in enumerate(listed)]
    require(not {*edges} - {*table.sub.target}, "refutation.apart", "refutation.edges: not all are target edges")
    for i, d in enumerate(edges):
        for e in edges[:i]:
            n = table.line_of[d]
            apart = n != table.line_of[e]
            if not apart and snips > 1:
                (a, b), (p, q) = (table.span(n, *table.sub.edges[x]) for x in (d, e))
                low, high = min(b, q), max(a, p)  # the gap, if low <= high
                apart = low <= high and any(stray(table, Snip(n, (low, high))))
            both = f"{table.sub.edges[e]} and {table.sub.edges[d]}"
            require(apart, "refutation.apart", f"refutation.edges: {both} can lie on one snip")
    return "cut-exact"


def check_stray(root: dict[str, object], table: Table, snips: int, along: int | None = None) -> str:
    """A cell that is not target on the line, or the segment, that every cut must cover: no such cut exists."""
    sub = table.sub
    if (along is None) != ("edge" in root):
        raise CERTIFICATE.fail("key", "refutation", "an edge is named just if the document does not name the line")
    if along is None:
        edge = sub.edge(root["edge"], "refutation.edge")
        require(edge in sub.target, "refutation.stray", "refutation.edge: not a target edge")
        n = table.line_of[edge]
        found = stray(table, Snip(n, None if snips == 1 else table.span(n, *sub.edges[edge])))
    else:
        found = stray(table, Snip(along))
    cell, where = CERTIFICATE.table(root["cell"], "refutation.cell", (), ("face", "edge", "vertex")), "refutation.cell"
    if len(cell) != 1:
        raise CERTIFICATE.fail("key", where, "expected one of face, edge, vertex")
    if "edge" in cell:
        met = found.edges >> sub.edge(cell["edge"], where)
    elif "face" in cell:
        met = found.faces >> CERTIFICATE.whole(cell["face"], where, 0, len(sub.faces))
    else:
        met = found.vertices >> CERTIFICATE.whole(cell["vertex"], where, 0, len(sub.vertices))
    require(met & 1 == 1, "refutation.stray", "refutation.cell: target, or not on the line of the cut")
    return "cut-exact"
