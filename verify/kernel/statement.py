"""The statement: what the user's document says, rebuilt from the document alone.

Nothing of a certificate enters here, save that the places of the named points
are computed with its field and its (verified) values.
"""

from __future__ import annotations

import hashlib
import json
import tomllib
from dataclasses import dataclass
from functools import cmp_to_key
from itertools import pairwise

from .expression import LITERAL_DIGITS, Evaluator, tokens
from .numbers import Field
from .plane import Point, dot, line, point, same_place, side, step
from .reading import DOCUMENT, Malformed, Rejected, parse_json, quoted

FORMAT = "creaseproof-pattern/1"
BYTES = 4 << 20
CORNERS = 5_000  # of all loops of the sheet, and of all loops of the target
DOTS = 5_000  # in one line of TOML: a reader's time is quadratic in the parts of a dotted key
KINDS = ("mountain", "valley", "either", "flat")
Loop = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Decimal:
    """A number with a point or an exponent, as it was written."""

    text: str


@dataclass(frozen=True, slots=True)
class Statement:
    """What is claimed: the sheet and the creases fold flat, and the snips free exactly the target."""

    digest: str
    points: dict[str, tuple[list[str], list[str]]]  # the tokens of x and of y
    outline: Loop
    holes: tuple[Loop, ...]
    creases: tuple[tuple[str, str, str], ...]
    loops: tuple[Loop, ...]
    paths: tuple[Loop, ...]
    snips: int | None  # None without a target

    @property
    def claims(self) -> tuple[str, ...]:
        return ("folds-flat",) if self.snips is None else ("folds-flat", "cut-exact")

    def target_lines(self) -> list[tuple[str, str]]:
        closed = [pair for loop in self.loops for pair in zip(loop, loop[1:] + loop[:1], strict=True)]
        return closed + [pair for path in self.paths for pair in pairwise(path)]


def parse(data: bytes, toml: bool) -> object:
    """The document's tree, with decimals as written."""
    if not toml:
        def constant(text: str) -> object:
            raise Malformed("document.number", f"{text} is not a number")

        return parse_json(data, BYTES, "document.unreadable", parse_float=Decimal, parse_constant=constant)
    if len(data) > BYTES:
        raise Malformed("document.unreadable", f"more than {BYTES} bytes")
    try:
        text = data.decode("utf-8")
        if any(row.count(".") > DOTS for row in text.split("\n")):
            raise Malformed("document.unreadable", f"a line has more than {DOTS} dots")
        return tomllib.loads(text, parse_float=lambda written: Decimal(written.replace("_", "")))
    except UnicodeDecodeError as error:
        raise Malformed("document.unreadable", f"not UTF-8 at byte {error.start}") from None
    except RecursionError:
        raise Malformed("document.unreadable", "nested too deep") from None
    except ValueError as error:
        raise Malformed("document.unreadable", f"not TOML: {ascii(str(error))[1:160]}") from None


def number(value: object, where: str) -> list[str]:
    """The tokens of a number; joined they are its text."""
    if isinstance(value, Decimal):
        return tokens(value.text)
    if isinstance(value, str):
        return tokens(value)
    if not isinstance(value, int) or isinstance(value, bool):
        raise DOCUMENT.fail("type", where, "expected an integer, a decimal or an expression in quotes")
    if abs(value) >= 10**LITERAL_DIGITS:
        raise DOCUMENT.fail("number", where, f"more than {LITERAL_DIGITS} digits")
    return tokens(str(value))


def read_statement(data: bytes, toml: bool) -> Statement:
    """Assumes (and checks) that the document has the keys and types of its format; says nothing on its geometry."""
    root = DOCUMENT.table(parse(data, toml), "document", ("format", "points", "sheet"),
                          ("title", "unit", "creases", "target", "cut"))
    if root["format"] != FORMAT:
        raise DOCUMENT.fail("format", "format", f"expected {quoted(FORMAT)}")
    DOCUMENT.text(root.get("title", ""), "title")
    unit = DOCUMENT.text(root.get("unit", "mm"), "unit")
    if unit not in ("mm", "cm", "m", "in"):
        raise DOCUMENT.fail("type", "unit", 'expected "mm", "cm", "m" or "in"')
    if not isinstance(root["points"], dict):
        raise DOCUMENT.fail("type", "points", "expected a table")
    points: dict[str, tuple[list[str], list[str]]] = {}
    for name, value in root["points"].items():
        where = f"points[{quoted(name)}]"
        if not name:
            raise DOCUMENT.fail("type", where, "a name is empty")
        x, y = DOCUMENT.items(value, where, 2, 2)
        points[name] = number(x, where), number(y, where)

    def known(value: object, where: str) -> str:
        name = DOCUMENT.text(value, where)
        if name not in points:
            raise DOCUMENT.fail("name", where, f"no point {quoted(name)}")
        return name

    def names(value: object, where: str, least: int) -> Loop:
        return tuple(known(item, where) for item in DOCUMENT.items(value, where, least))

    def lists(value: object, where: str, least: int) -> tuple[Loop, ...]:
        return tuple(names(item, f"{where}[{i}]", least) for i, item in enumerate(DOCUMENT.items(value, where)))

    sheet = DOCUMENT.table(root["sheet"], "sheet", ("outline",), ("holes",))
    outline = names(sheet["outline"], "sheet.outline", 3)
    holes = lists(sheet.get("holes", []), "sheet.holes", 3)
    creases = []
    for i, item in enumerate(DOCUMENT.items(root.get("creases", []), "creases")):
        where = f"creases[{i}]"
        a, b, kind = DOCUMENT.items(item, where, 3, 3)
        if DOCUMENT.text(kind, where) not in KINDS:
            raise DOCUMENT.fail("type", where, f"expected one of {', '.join(KINDS)}")
        creases.append((known(a, where), known(b, where), str(kind)))
    loops: tuple[Loop, ...] = ()
    paths: tuple[Loop, ...] = ()
    snips = None
    if "target" in root:
        target = DOCUMENT.table(root["target"], "target", (), ("loops", "paths"))
        loops = lists(target.get("loops", []), "target.loops", 3)
        paths = lists(target.get("paths", []), "target.paths", 2)
        if not loops and not paths:
            raise DOCUMENT.fail("type", "target", "expected at least one line")
        cut = DOCUMENT.table(root.get("cut", {}), "cut", (), ("snips",))
        snips = DOCUMENT.whole(cut.get("snips", 1), "cut.snips", 1, 10**LITERAL_DIGITS)
    elif "cut" in root:
        raise DOCUMENT.fail("key", "cut", "allowed only with a target")
    normal = {
        "format": FORMAT,
        "unit": unit,
        "points": {name: ["".join(x), "".join(y)] for name, (x, y) in points.items()},
        "sheet": {"outline": outline, "holes": holes},
        "creases": creases,
        "target": None if snips is None else {"loops": loops, "paths": paths},
        "cut": None if snips is None else {"snips": snips},
    }
    written = json.dumps(normal, sort_keys=True, separators=(",", ":"), ensure_ascii=True)
    digest = hashlib.sha256(written.encode("ascii")).hexdigest()
    return Statement(digest, points, outline, holes, tuple(creases), loops, paths, snips)


def places(statement: Statement, evaluator: Evaluator) -> dict[str, Point]:
    """The place of every named point (used or not); assumes (and checks) that lines have length and loops are simple."""
    result = {}
    for name, (x, y) in statement.points.items():
        try:
            result[name] = point(evaluator.value(x), evaluator.value(y))
        except Rejected as fault:
            raise type(fault)(fault.code, f"points[{quoted(name)}]: {fault.reason}") from None
    evaluator.finish()
    field = evaluator.field
    drawn = [(f"creases[{i}]", a, b) for i, (a, b, _) in enumerate(statement.creases)]
    drawn += [(f"target line {j}", a, b) for j, (a, b) in enumerate(statement.target_lines())]
    for where, a, b in drawn:
        if same_place(field, result[a], result[b]):
            raise Malformed("document.line", f"{where}: {quoted(a)} and {quoted(b)} are one place")
    check_loops(field, (statement.outline, *statement.holes), result, "sheet")
    check_loops(field, statement.loops, result, "target")
    return result


def check_loops(field: Field, loops: tuple[Loop, ...], at: dict[str, Point], where: str) -> None:
    """Assumes (and checks) that each loop is a simple polygon and no two loops meet; not which lies inside which."""
    if sum(map(len, loops)) > CORNERS:
        raise Malformed("document.limit", f"{where}: the loops have more than {CORNERS} corners in all")
    names = sorted({name for loop in loops for name in loop})

    def ranks(axis: int) -> dict[str, int]:
        """Integers in the order of the coordinates; equal for equal ones."""
        def compare(a: str, b: str) -> int:
            return field.sign(at[a][axis] * at[b][2] - at[b][axis] * at[a][2])

        result: dict[str, int] = {}
        last, rank = None, 0
        for name in sorted(names, key=cmp_to_key(compare)):
            if last is not None and compare(last, name):
                rank += 1
            result[name] = rank
            last = name
        return result

    x, y = ranks(0), ranks(1)
    edges = [(min(x[a], x[b]), a, b, k, i, len(loop))
             for k, loop in enumerate(loops) for i, (a, b) in enumerate(zip(loop, loop[1:] + loop[:1], strict=True))]
    edges.sort()
    for n, (_, a, b, k, i, count) in enumerate(edges):
        through = line(at[a], at[b])
        right, low, high = max(x[a], x[b]), min(y[a], y[b]), max(y[a], y[b])
        meets = (x[a], y[a]) == (x[b], y[b])
        for left, c, d, l, j, _ in edges[n + 1 :]:
            if left > right or meets:
                break
            if min(y[c], y[d]) > high or max(y[c], y[d]) < low:
                continue
            sc, sd = side(field, through, at[c]), side(field, through, at[d])
            if k == l and (j - i) % count in (1, count - 1):
                # Neighbours, which share one corner: they share more only on one line, pointing back.
                first, corner, last = (a, b, d) if (j - i) % count == 1 else (c, a, b)
                back = field.sign(dot(step(at[corner], at[first]), step(at[corner], at[last])))
                meets = sc == sd == 0 and back > 0
            elif sc * sd <= 0:
                other = line(at[c], at[d])
                meets = side(field, other, at[a]) * side(field, other, at[b]) <= 0
        if meets:
            raise Malformed("document.loop", f"{where}: edge {quoted(a)} - {quoted(b)} meets another one, or has no length")
