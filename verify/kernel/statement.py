"""The statement: what the user's document says, rebuilt from the document alone.

Nothing of a certificate enters here, save that the places of the named points
are computed with its field and its (verified) values.
"""

import hashlib
import json
from itertools import pairwise
from typing import NamedTuple

from .alignment import UNSUPPORTED, Alignment
from .boxes import Boxes, box_of, hull, members
from .expression import DIGITS, Evaluator, tokens
from .numbers import Field
from .plane import Line, Point, around, cross, dot, line, reduced, same_place, side, step
from .reading import DOCUMENT, Malformed, Names, Rejected, quoted, require, tree
from .recipe import FoldStep, Marks, Step, known, read_alignment, read_steps

PATTERN, RECIPE = "creaseproof-pattern/1", "creaseproof-recipe/1"
BYTES = 4 << 20
LARGE = 10**DIGITS
CORNERS = 2_000  # of all loops of the sheet, and of each loop of the target


class Decimal(NamedTuple):
    """A number with a point or an exponent, as it was written (`nan` and `inf` too: they are no numbers later)."""

    text: str


class Statement(NamedTuple):
    """What is claimed: the sheet folds flat along the creases or by the steps, and the snips free just the target."""

    digest: str
    points: dict[str, tuple[list[str], list[str]]]  # the tokens of x and of y
    sheet: list[Names]  # the outline, then the holes
    creases: list[Names]  # from, to, kind; of a recipe none
    steps: list[Step]  # of a pattern none
    loops: list[Names]
    paths: list[Names]
    snips: int  # 0 without a target
    along: Alignment | None  # where a recipe says that its cut runs
    claims: Names

    def target_lines(self) -> list[tuple[str, str]]:
        """From point to point: round each loop, then along each path."""
        closed = [(*loop, loop[0]) for loop in self.loops]
        return [pair for walk in [*closed, *self.paths] for pair in pairwise(walk)]


def number(value: object, where: str) -> list[str]:
    """The tokens of a number; joined they are its text."""
    if isinstance(value, Decimal | str):
        return tokens(value if isinstance(value, str) else value.text.replace("_", ""))
    return tokens(str(DOCUMENT.whole(value, where, -LARGE + 1, LARGE)))


def read_document(data: bytes, toml: bool) -> Statement:
    """Assumes (and checks) that a document has the keys and types of its format; says nothing on its geometry."""
    root = DOCUMENT.table(tree(data, BYTES, "document.unreadable", Decimal, toml), "document", ("format",), None)
    is_recipe = DOCUMENT.text(root["format"], "format", (PATTERN, RECIPE)) == RECIPE
    has_target = "target" in root
    need = ("format", "points", "sheet", "steps") if is_recipe else ("format", "points", "sheet")
    more = ("title", "unit", "target", "cut") if is_recipe else ("title", "unit", "target", "cut", "creases")
    DOCUMENT.table(root, "document", need, more)
    DOCUMENT.text(root.get("title", ""), "title")
    unit = DOCUMENT.text(root.get("unit", "mm"), "unit", ("mm", "cm", "m", "in"))
    points = read_points(root["points"])
    marks = {name: name for name in points}
    sheet = DOCUMENT.table(root["sheet"], "sheet", ("outline",), ("holes",))
    outline = names(sheet["outline"], "sheet.outline", 3, marks)
    holes = walks(sheet.get("holes", []), "sheet.holes", 3, marks)
    creases = []
    for where, item in DOCUMENT.each(root.get("creases", []), "creases"):
        *ends, kind = DOCUMENT.items(item, where, 3, 3)
        kind = DOCUMENT.text(kind, where, ("mountain", "valley", "either", "flat"))
        creases.append((*names(ends, where, 2, marks), kind))
    loops, paths = read_target(root["target"], marks) if has_target else ([], [])
    steps = read_steps(root["steps"], marks) if is_recipe else []  # adds to the marks, which a cut may name
    cut = DOCUMENT.table(root.get("cut", {}), "cut", (), ("snips", "along") if is_recipe else ("snips",))
    bare = "cut" not in root or (is_recipe and "snips" not in cut)  # says nothing that needs a target
    require(has_target or bare, "document.key", "cut: allowed only with a target", Malformed)
    snips = DOCUMENT.whole(cut.get("snips", 1), "cut.snips", 1, LARGE) if has_target else 0
    require("along" not in cut or snips <= 1, "document.key", "cut: along and many snips", Malformed)
    along = read_alignment(cut["along"], "cut.along", marks) if "along" in cut else None
    alignments = [along, *[step.alignment for step in steps if isinstance(step, FoldStep)]]
    decided = all(alignment is None or alignment.form != UNSUPPORTED for alignment in alignments)
    require(decided, "document.unsupported", "an alignment carries two points onto two lines")
    normal = {
        "format": root["format"],
        "unit": unit,
        "points": {name: ["".join(x), "".join(y)] for name, (x, y) in points.items()},
        "sheet": {"outline": outline, "holes": holes},
        "target": {"loops": loops, "paths": paths} if has_target else None,
        "cut": (cut | {"snips": snips} if has_target else cut) or None,
    }
    own = {"steps": root["steps"]} if is_recipe else {"creases": creases}
    written = json.dumps(normal | own, sort_keys=True, separators=(",", ":"))
    digest = hashlib.sha256(written.encode("ascii")).hexdigest()
    claims = ("folds-flat", "cut-exact") if has_target else ("folds-flat",)
    return Statement(digest, points, [outline, *holes], creases, steps, loops, paths, snips, along, claims)


def names(value: object, where: str, least: int, marks: Marks) -> Names:
    """At least so many points."""
    return tuple(known(item, where, marks) for item in DOCUMENT.items(value, where, least))


def walks(value: object, where: str, least: int, marks: Marks) -> list[Names]:
    """Lists of at least so many points each."""
    return [names(item, at, least, marks) for at, item in DOCUMENT.each(value, where)]


def read_points(value: object) -> dict[str, tuple[list[str], list[str]]]:
    points = {}
    for name, place in DOCUMENT.table(value, "points", (), None).items():
        where = f"points[{quoted(name)}]"
        require(name != "", "document.name", f"{where}: a name is empty", Malformed)
        x, y = DOCUMENT.items(place, where, 2, 2)
        points[name] = number(x, where), number(y, where)
    return points


def read_target(value: object, marks: Marks) -> tuple[list[Names], list[Names]]:
    """The loops and the paths, of which there is at least one."""
    target = DOCUMENT.table(value, "target", (), ("loops", "paths", "figure"))
    if "figure" in target:  # for people, as the title is: no part of the statement
        names(target["figure"], "target.figure", 1, marks)
    loops = walks(target.get("loops", []), "target.loops", 3, marks)
    paths = walks(target.get("paths", []), "target.paths", 2, marks)
    require(bool(loops or paths), "document.type", "target: expected at least one line", Malformed)
    return loops, paths


def places(statement: Statement, evaluator: Evaluator) -> dict[str, Point]:
    """The place of every point, used or not; assumes (and checks) that lines have length and loops are simple."""
    at = {}
    for name, (x, y) in statement.points.items():
        evaluator.field.work.spend(20)
        try:
            at[name] = reduced(evaluator.field, (evaluator.value(x), evaluator.value(y), 1))
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


def meet(field: Field, through: Line, p: Point, q: Point, r: Point, s: Point) -> bool:
    """Whether the closed segments pq (on the line `through`) and rs, not both on one line, have a common point."""
    here = {side(field, through, r), side(field, through, s)}
    return len(here) > 1 and {side(field, line(r, s), p), side(field, line(r, s), q)} not in ({-1}, {1})


def check_loops(field: Field, loops: list[Names], at: dict[str, Point], where: str) -> None:
    """Assumes (and checks) that each loop is a simple polygon and no two loops meet; not which lies inside which.

    Where two edges on one line meet, an edge turns back, or one that leaves the line meets an edge on it.
    """
    require(sum(map(len, loops)) <= CORNERS, "document.limit", f"{where}: more than {CORNERS} corners", Malformed)
    edges = [(loop, i, a, b) for loop in loops for i, (a, b) in enumerate(around(loop))]
    boxes = [hull([box_of(field, at[a]), box_of(field, at[b])]) for _, _, a, b in edges]
    all_boxes = Boxes(boxes)
    for n, (loop, i, a, b) in enumerate(edges):  # n: of all edges, i: of those of the loop
        p, q, r = at[a], at[b], at[loop[(i + 2) % len(loop)]]
        u, v, through = step(p, q), step(q, r), line(p, q)
        meets = field.sign(cross(u, v)) == 0 and field.sign(dot(u, v)) <= 0  # the next edge, if it turns back
        for earlier in members(all_boxes.meeting(boxes[n]) & ((1 << n) - 1)):  # those before
            field.work.spend(2)
            other, j, c, d = edges[earlier]
            neighbours = other is loop and (i - j) % len(loop) in (1, len(loop) - 1)
            meets = meets or (not neighbours and meet(field, through, p, q, at[c], at[d]))
        require(not meets, "document.loop", f"{where}: {quoted(a)} - {quoted(b)} meets another edge", Malformed)
