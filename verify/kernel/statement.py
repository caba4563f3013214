"""The statement: what the user's document says, rebuilt from the document alone.

Nothing of a certificate enters here, save that the places of the named points
are computed with its field and its (verified) values.
"""

import hashlib
import json
import tomllib
from itertools import pairwise
from typing import NamedTuple

from .expression import DIGITS, Evaluator, tokens
from .numbers import Field
from .plane import Point, dot, line, point, same_place, side, step
from .reading import DOCUMENT, Malformed, Rejected, parse_json, quoted, require

FORMAT = "creaseproof-pattern/1"
BYTES = 4 << 20
CORNERS = 2_000  # of all loops of the sheet, and of all loops of the target
DOTS = 5_000  # in one line of TOML: a reader's time is quadratic in the parts of a dotted key
Names = tuple[str, ...]


class Decimal(NamedTuple):
    """A number with a point or an exponent, as it was written."""

    text: str


class Statement(NamedTuple):
    """What is claimed: the sheet and the creases fold flat, and the snips free exactly the target."""

    digest: str
    points: dict[str, tuple[list[str], list[str]]]  # the tokens of x and of y
    sheet: list[Names]  # the outline, then the holes
    creases: list[tuple[str, str, str]]
    loops: list[Names]
    paths: list[Names]
    snips: int | None  # None without a target

    @property
    def claims(self) -> Names:
        return ("folds-flat",) if self.snips is None else ("folds-flat", "cut-exact")

    def target_lines(self) -> list[tuple[str, str]]:
        return [pair for walk in [*((*loop, loop[0]) for loop in self.loops), *self.paths] for pair in pairwise(walk)]


def parse(data: bytes, toml: bool) -> object:
    """The document's tree, with decimals as written (`nan` and `inf` too: they are no numbers later)."""
    if not toml:
        return parse_json(data, BYTES, "document.unreadable", parse_float=Decimal, parse_constant=Decimal)
    require(len(data) <= BYTES, "document.unreadable", f"more than {BYTES} bytes", Malformed)
    try:
        text = data.decode("utf-8")
        dots = max(row.count(".") for row in text.split("\n"))
        require(dots <= DOTS, "document.unreadable", f"a line has more than {DOTS} dots", Malformed)
        return tomllib.loads(text, parse_float=lambda written: Decimal(written.replace("_", "")))
    except RecursionError:
        raise Malformed("document.unreadable", "nested too deep") from None
    except ValueError as error:
        raise Malformed("document.unreadable", f"not TOML in UTF-8: {str(error)[:120]!a}") from None


def number(value: object, where: str) -> list[str]:
    """The tokens of a number; joined they are its text."""
    if isinstance(value, Decimal | str):
        return tokens(value.text if isinstance(value, Decimal) else value)
    return tokens(str(DOCUMENT.whole(value, where, -(10**DIGITS) + 1, 10**DIGITS)))


def read_statement(data: bytes, toml: bool) -> Statement:
    """The statement of a pattern."""
    return statement_of(parse(data, toml))


def statement_of(document: object, own: dict[str, object] | None = None) -> Statement:
    """Assumes (and checks) that the document has the keys and types of its format; says nothing on its geometry.

    `own` is what the statement of a recipe has in place of, or beside, that of a pattern.
    """
    keys = ("title", "unit", "creases", "target", "cut")
    root = DOCUMENT.table(document, "document", ("format", "points", "sheet"), keys)
    DOCUMENT.text(root["format"], "format", (FORMAT,) if own is None else ())
    DOCUMENT.text(root.get("title", ""), "title")
    unit = DOCUMENT.text(root.get("unit", "mm"), "unit", ("mm", "cm", "m", "in"))
    points = {}
    if not isinstance(root["points"], dict):
        raise DOCUMENT.fail("type", "points", "expected a table")
    for name, value in root["points"].items():
        where = f"points[{quoted(name)}]"
        require(name != "", "document.name", f"{where}: a name is empty", Malformed)
        x, y = DOCUMENT.items(value, where, 2, 2)
        points[name] = number(x, where), number(y, where)

    def known(value: object, where: str) -> str:
        name = DOCUMENT.text(value, where)
        require(name in points, "document.name", f"{where}: no point {quoted(name)}", Malformed)
        return name

    def names(value: object, where: str, least: int) -> Names:
        return tuple(known(item, where) for item in DOCUMENT.items(value, where, least))

    def lists(value: object, where: str, least: int) -> list[Names]:
        return [names(item, f"{where}[{i}]", least) for i, item in enumerate(DOCUMENT.items(value, where))]

    sheet = DOCUMENT.table(root["sheet"], "sheet", ("outline",), ("holes",))
    outline = names(sheet["outline"], "sheet.outline", 3)
    holes = lists(sheet.get("holes", []), "sheet.holes", 3)
    creases = []
    for i, item in enumerate(DOCUMENT.items(root.get("creases", []), "creases")):
        a, b, drawn = DOCUMENT.items(item, f"creases[{i}]", 3, 3)
        kind = DOCUMENT.text(drawn, f"creases[{i}]", ("mountain", "valley", "either", "flat"))
        creases.append((known(a, f"creases[{i}]"), known(b, f"creases[{i}]"), kind))
    loops, paths, snips = [], [], None
    if "target" in root:
        target = DOCUMENT.table(root["target"], "target", (), ("loops", "paths"))
        loops = lists(target.get("loops", []), "target.loops", 3)
        paths = lists(target.get("paths", []), "target.paths", 2)
        require(bool(loops or paths), "document.type", "target: expected at least one line", Malformed)
        cut = DOCUMENT.table(root.get("cut", {}), "cut", (), ("snips",))
        snips = DOCUMENT.whole(cut.get("snips", 1), "cut.snips", 1, 10**DIGITS)
    require("target" in root or "cut" not in root, "document.key", "cut: allowed only with a target", Malformed)
    normal: dict[str, object] = {
        "format": FORMAT,
        "unit": unit,
        "points": {name: ["".join(x), "".join(y)] for name, (x, y) in points.items()},
        "sheet": {"outline": outline, "holes": holes},
        "creases": creases,
        "target": None if snips is None else {"loops": loops, "paths": paths},
        "cut": None if snips is None else {"snips": snips},
    }
    if own is not None:
        del normal["creases"]
    written = json.dumps(normal | (own or {}), sort_keys=True, separators=(",", ":"), ensure_ascii=True)
    digest = hashlib.sha256(written.encode("ascii")).hexdigest()
    return Statement(digest, points, [outline, *holes], creases, loops, paths, snips)


def places(statement: Statement, evaluator: Evaluator) -> dict[str, Point]:
    """The place of every point, used or not; assumes (and checks) that lines have length and loops are simple."""
    at = {}
    for name, (x, y) in statement.points.items():
        try:
            at[name] = point(evaluator.value(x), evaluator.value(y))
        except Rejected as fault:
            raise type(fault)(fault.code, f"points[{quoted(name)}]: {fault.reason}") from None
    evaluator.finish()
    for a, b in [(a, b) for a, b, _ in statement.creases] + statement.target_lines():
        apart = not same_place(evaluator.field, at[a], at[b])
        require(apart, "document.line", f"a line from {quoted(a)} to {quoted(b)}, which are one place", Malformed)
    check_loops(evaluator.field, statement.sheet, at, "sheet")
    for i, loop in enumerate(statement.loops):
        check_loops(evaluator.field, [loop], at, f"target.loops[{i}]")
    return at


def check_loops(field: Field, loops: list[Names], at: dict[str, Point], where: str) -> None:
    """Assumes (and checks) that each loop is a simple polygon and no two loops meet; not which lies inside which."""
    require(sum(map(len, loops)) <= CORNERS, "document.limit", f"{where}: more than {CORNERS} corners", Malformed)
    edges = [(loop, i, a, b) for loop in loops for i, (a, b) in enumerate(pairwise((*loop, loop[0])))]
    for n, (loop, i, a, b) in enumerate(edges):
        p, q = at[a], at[b]
        through = line(p, q)
        meets = same_place(field, p, q)
        for other, j, c, d in edges[:n]:
            r, s = at[c], at[d]
            here = side(field, through, r), side(field, through, s)
            if here[0] * here[1] > 0:
                continue
            if other is loop and (i - j) % len(loop) in (1, len(loop) - 1):
                # Neighbours, with a corner in common: they share more only on one line, if one turns back on the other.
                u, v = (step(q, p), step(r, s)) if (j - i) % len(loop) == 1 else (step(p, q), step(s, r))
                meets |= here == (0, 0) and field.sign(dot(u, v)) > 0
            elif here == (0, 0):  # on one line: apart if both ends are before p or both after q
                before = [field.sign(dot(step(p, q), step(p, x))) < 0 for x in (r, s)]
                after = [field.sign(dot(step(q, p), step(q, x))) < 0 for x in (r, s)]
                meets |= not (all(before) or all(after))
            else:
                meets |= side(field, line(r, s), p) * side(field, line(r, s), q) <= 0
        require(not meets, "document.loop", f"{where}: {quoted(a)} - {quoted(b)} meets another edge", Malformed)
