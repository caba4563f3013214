"""Pattern documents: what a person writes down, before any geometry.

A document is TOML or JSON with the keys of `creaseproof-pattern/1`. Reading
checks its form only: keys, types, names, kinds. Numbers stay the texts that
the person wrote; `verify.pattern.drawing` turns them into exact places.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING, Any, ClassVar, Literal, NoReturn

from verify.exact.plane import around
from verify.pattern.source import LIMIT_DEPTH, LIMIT_DIGITS, Malformed, NumberText, line_of, show

if TYPE_CHECKING:
    from verify.pattern.recipe import Recipe, Step

FORMAT, RECIPE_FORMAT = "creaseproof-pattern/1", "creaseproof-recipe/1"
_CHARACTERS = 4_000
_BLANKS = frozenset(" \t\n")
_TOKEN = re.compile(r"[0-9]+(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?|[A-Za-z_]+|[^ \t\n]")

Kind = Literal["mountain", "valley", "either", "flat"]
KINDS: tuple[Kind, ...] = ("mountain", "valley", "either", "flat")
UNITS = ("mm", "cm", "m", "in")
IN_MM = {"mm": Fraction(1), "cm": Fraction(10), "m": Fraction(1000), "in": Fraction(254, 10)}


@dataclass(frozen=True)
class Crease:
    """A drawn line from one named point to another; `kind` says how it is folded."""

    start: str
    end: str
    kind: Kind


@dataclass(frozen=True)
class Document:
    """A pattern document of format `creaseproof-pattern/1`, checked for form; a `Recipe` is one with steps in place of
    creases.

    Numbers in `points` are exact texts. `loops` and `paths` are the target; `figure` names a point inside each piece
    that is the figure (empty: not said), for people: it is no part of the statement. `snips` is None exactly when there
    is no target. `raw` is the content of the file that the document was read from, `stated` the digest of what that
    says (a copy by `dataclasses.replace` may say something else), `notes` what was assumed in reading a drawing, or
    changed in it by the command that wrote the file, `drawn` which point, from 1, of which element of the drawing a
    point is.
    """

    points: Mapping[str, tuple[str, str]]
    outline: tuple[str, ...]
    holes: tuple[tuple[str, ...], ...] = ()
    creases: tuple[Crease, ...] = ()
    loops: tuple[tuple[str, ...], ...] = ()
    paths: tuple[tuple[str, ...], ...] = ()
    snips: int | None = None
    title: str = ""
    unit: str = "mm"
    source: str = field(default="document", compare=False)
    raw: bytes | None = field(default=None, compare=False, repr=False)
    is_toml: bool = field(default=False, compare=False, repr=False)
    notes: tuple[str, ...] = field(default=(), compare=False, repr=False)
    figure: tuple[str, ...] = ()
    steps: tuple[Step, ...] = field(default=(), repr=False)
    drawn: Mapping[str, tuple[int, str]] = field(default_factory=dict, compare=False, repr=False)
    stated: str = field(default="", compare=False, repr=False)

    format: ClassVar[str] = FORMAT
    noun: ClassVar[str] = "pattern"

    def __post_init__(self) -> None:
        """Raises `Malformed` for a number with blanks: a file may have them, and is read without."""
        for name, texts in self.points.items():
            for text in texts:
                if not _BLANKS.isdisjoint(text):
                    raise self.malformed(f"points.{name}", f'"{text}"', "a number written without blanks")

    def told(self, name: str) -> str:
        """A point's name, and what it is in the drawing if it comes from one."""
        number, element = self.drawn.get(name, (0, ""))
        return f"{name} (point {number} of {element})" if element else name

    def told_line(self, one: str, other: str) -> str:
        """The name of a line by its ends, and of what it is in the drawing if that has several elements."""
        every = {element for _, element in self.drawn.values()}
        mine = {self.drawn[end][1] for end in (one, other) if end in self.drawn}
        return f"{one}–{other} ({mine.pop()})" if len(mine) == 1 < len(every) else f"{one}–{other}"

    @property
    def base(self) -> Document:
        """What a recipe has in common with a pattern: of a pattern, itself."""
        return self

    @property
    def size(self) -> dict[str, int]:
        """How much is drawn: its creases; of a recipe, its steps."""
        return {"creases": len(self.creases)}

    def as_pattern(self, expected: str = "a pattern") -> Document:
        """The pattern itself. A recipe raises `Malformed`, with what was `expected`."""
        return self

    def as_recipe(self, expected: str = "a recipe") -> Recipe:
        """A recipe itself. A pattern raises `Malformed`, with what was `expected`."""
        raise self.malformed("format", "a pattern", expected)

    def called(self, title: str, source: str) -> Document:
        """The same under another title, as a document of its own."""
        return replace(self, title=title, source=source, raw=None)

    @property
    def numbers(self) -> list[str]:
        """The coordinates of all points, as they are written."""
        return [text for pair in self.points.values() for text in pair]

    @property
    def has_target(self) -> bool:
        return bool(self.loops or self.paths)

    @property
    def claims(self) -> tuple[str, ...]:
        """What the document says of itself: `folds-flat`, and with a target `cut-exact`."""
        return ("folds-flat", "cut-exact") if self.has_target else ("folds-flat",)

    def sheet_lines(self) -> list[tuple[str, str]]:
        """The edges of the sheet as lines between named points: the outline's, then the holes'."""
        return [(a, b) for loop in (self.outline, *self.holes) for a, b in around(loop)]

    def target_lines(self) -> list[tuple[str, str]]:
        """The target as lines between named points: the loops' edges, then the paths'."""
        lines = [(a, b) for loop in self.loops for a, b in around(loop)]
        return lines + [(a, b) for path in self.paths for a, b in pairwise(path)]

    def target_place(self, index: int) -> str:
        """The key of target line `index`, as `target.loops[0]` or `target.paths[2]`."""
        for key, lists, closed in (("loops", self.loops, 0), ("paths", self.paths, 1)):
            for number, names in enumerate(lists):
                if index < len(names) - closed:
                    return f"target.{key}[{number}]"
                index -= len(names) - closed
        raise IndexError(index)

    def keys(self) -> dict[str, Any]:
        """The document as plain keys and values, defaults left out, fit for JSON."""
        said = {key: value for key, value in self.statement().items() if value is not None}
        said["points"] = {name: [_bare(x), _bare(y)] for name, (x, y) in self.points.items()}
        for table in said.keys() & {"sheet", "target"}:
            said[table] = {key: lists for key, lists in said[table].items() if lists}
        if self.has_target and self.figure:
            said["target"]["figure"] = list(self.figure)
        title = {"title": self.title} if self.title else {}
        return {"format": self.format} | title | said

    def statement(self) -> dict[str, Any]:
        """The canonical statement whose digest the certificate carries (SPECIFICATION §1)."""
        target = {"loops": [list(x) for x in self.loops], "paths": [list(x) for x in self.paths]}
        return {
            "format": self.format,
            "unit": self.unit,
            "creases": [[c.start, c.end, c.kind] for c in self.creases],
            "points": {name: list(xy) for name, xy in self.points.items()},
            "sheet": {"outline": list(self.outline), "holes": [list(h) for h in self.holes]},
            "target": target if self.has_target else None,
            "cut": {"snips": self.snips} if self.has_target else None,
        }

    def statement_text(self) -> str:
        """The statement in its canonical form, the text whose SHA-256 is its digest (SPECIFICATION §1)."""
        return json.dumps(self.statement(), sort_keys=True, separators=(",", ":"), ensure_ascii=True)

    @cached_property
    def statement_sha256(self) -> str:
        return hashlib.sha256(self.statement_text().encode()).hexdigest()

    def content(self) -> tuple[bytes, bool]:
        """The bytes that the kernel reads, and whether they are TOML: the file's own if it says just this, or JSON."""
        if self.raw is not None and self.stated == self.statement_sha256:
            return self.raw, self.is_toml
        return json.dumps(self.keys()).encode(), False

    def malformed(self, place: str, found: str, expected: str) -> Malformed:
        """The error for a fault at `place` of this document, with its line if it came from a file."""
        text = self.raw.decode() if self.raw is not None else ""
        return Malformed(self.source, place, found, expected, line_of(text, place) if text else None)


class Reader:
    """Checks the form of parsed keys; `fail` names the place. Recipes extend it."""

    format = FORMAT

    def __init__(self, source: str, data: bytes | None, toml: bool) -> None:
        self.source, self.data, self.toml = source, data, toml

    def fail(self, place: str, found: str, expected: str) -> NoReturn:
        line = line_of(self.data.decode(), place) if self.data is not None else None
        raise Malformed(self.source, place, found, expected, line)

    def document(self, keys: Any) -> Document:
        self.depth(keys)
        if isinstance(keys, dict) and keys.get("format", FORMAT) != FORMAT:
            self.fail("format", show(keys["format"]), f'"{FORMAT}" or "{RECIPE_FORMAT}"')
        self.table(
            "", keys, ("format", "points", "sheet"), ("title", "unit", "creases", "target", "cut"), first=("format",)
        )
        title, unit = keys.get("title", ""), keys.get("unit", "mm")
        if type(title) is not str:
            self.fail("title", show(title), "a text")
        self.whole_text("title", title)
        if type(unit) is not str or unit not in UNITS:
            self.fail("unit", show(unit), one_of(UNITS, unit))
        points = self.points(keys["points"])
        sheet = keys["sheet"]
        self.table("sheet", sheet, ("outline",), ("holes",))
        outline = self.names("sheet.outline", sheet["outline"], points, 3)
        holes = self.lists("sheet.holes", sheet.get("holes", []), points, 3)
        loops: tuple[tuple[str, ...], ...] = ()
        paths: tuple[tuple[str, ...], ...] = ()
        figure: tuple[str, ...] = ()
        snips = None
        if "target" in keys:
            target = keys["target"]
            self.table("target", target, (), ("loops", "paths", "figure"))
            loops = self.lists("target.loops", target.get("loops", []), points, 3)
            paths = self.lists("target.paths", target.get("paths", []), points, 2)
            if "figure" in target:
                figure = self.names("target.figure", target["figure"], points, 1)
            if not loops and not paths:
                self.fail("target", "no line", "at least one loop or path (or no [target] at all)")
            snips = 1
        if "cut" in keys:
            if "target" not in keys:
                self.fail("cut", "a cut without a target", "a [target] beside it, or no [cut]")
            self.table("cut", keys["cut"], (), ("snips",))
            snips = self.whole("cut.snips", keys["cut"].get("snips", 1))
        creases = tuple(self.creases(keys.get("creases", []), points))
        drawn = (points, outline, holes, creases, loops, paths, snips)
        return Document(*drawn, title, unit, self.source, self.data, self.toml, figure=figure)

    def depth(self, value: Any) -> None:
        level = [value]
        for _ in range(LIMIT_DEPTH + 1):
            level = [v for x in level if isinstance(x, dict | list) for v in (x.values() if isinstance(x, dict) else x)]
            if not level:
                return
        self.fail("", "lists nested too deep", f"at most {LIMIT_DEPTH} levels")

    def table(
        self, place: str, value: Any, required: Sequence[str], optional: Sequence[str], first: Sequence[str] = ()
    ) -> None:
        if not isinstance(value, dict):
            self.fail(place, show(value), "a table with the keys " + ", ".join((*required, *optional)))
        at = f"{place}." if place else ""
        for key in first:
            if key not in value:
                self.fail(at + key, "nothing", f'the line format = "{self.format}"')
        known = (*required, *optional)
        for key in value:
            if key not in known:
                hint = perhaps(key, known)
                if place and key in ("creases", "title", "unit", "format"):
                    hint = f' (in TOML, "{key}" stands above the first [table])'
                elif not place and key in ("creases", "steps"):
                    hint = f' ({key} go with format = "{FORMAT if key == "creases" else RECIPE_FORMAT}")'
                self.fail(at + key, f'the unknown key "{key}"', "one of " + ", ".join(known) + hint)
        for key in required:
            if key not in value:
                self.fail(at + key, "nothing", f'the key "{key}"')

    def whole_text(self, place: str, text: str) -> None:
        if any(0xD800 <= ord(c) < 0xE000 for c in text):
            self.fail(place.encode(errors="replace").decode(), "half a character", "text that UTF-8 can hold")

    def points(self, value: Any) -> dict[str, tuple[str, str]]:
        if not isinstance(value, dict) or not value:
            self.fail("points", show(value), "a table with a line name = [x, y] for each point")
        points = {}
        for name, pair in value.items():
            place = f"points.{name}"
            if not name:
                self.fail(place, "an empty name", "a name")
            self.whole_text(place, name)
            if not isinstance(pair, list) or len(pair) != 2:
                self.fail(place, show(pair), "a pair [x, y] of numbers")
            x, y = (self.number(place, value, f"{axis} = ") for axis, value in zip("xy", pair, strict=True))
            points[name] = x, y
        return points

    def number(self, place: str, value: Any, called: str) -> str:
        """The text of a number; whether the text makes sense is seen when it is read exactly."""
        if isinstance(value, NumberText):
            text = value.replace("_", "")
        elif isinstance(value, str):
            if len(value) > _CHARACTERS:
                self.fail(
                    place, f"a text of {len(value):,} characters", f"a number of at most {_CHARACTERS:,} characters"
                )
            parts = _TOKEN.findall(value)
            text = "".join(parts)
            for one, two in pairwise(parts):
                if _is_operand(one) and _is_operand(two):
                    expected = f'an operator between "{one}" and "{two}"'
                    if two in UNITS:
                        expected = 'a number alone: the document has one unit for all, such as unit = "mm"'
                    elif two in ("o", "O"):
                        expected += ", or a digit 0 for the letter"
                    self.fail(place, called + show(value), expected)
        elif isinstance(value, int) and not isinstance(value, bool):
            if abs(value) >= 10**LIMIT_DIGITS:
                self.fail(place, f"a number of more than {LIMIT_DIGITS:,} digits", f"at most {LIMIT_DIGITS:,} digits")
            text = str(value)
        elif isinstance(value, float):
            exact = f'a number that is exact: a text such as "{value}" or "1/3", or a Fraction'
            self.fail(place, f"the float {value}, which is rounded in binary", exact)
        else:
            self.fail(place, show(value), 'a number: an integer, a decimal, or a text such as "1/3 + sqrt(5)/4"')
        return text

    def names(self, place: str, value: Any, points: Mapping[str, Any], least: int) -> tuple[str, ...]:
        if not isinstance(value, list) or len(value) < least:
            self.fail(place, show(value), f"a list of names of points, at least {least}")
        for name in value:
            self.name(place, name, points)
        return tuple(value)

    known_names = "a name listed in [points]"

    def name(self, place: str, name: Any, points: Mapping[str, Any]) -> str:
        if type(name) is not str:
            self.fail(place, show(name), "the name of a point")
        if name not in points:
            self.fail(place, f'the unknown point "{name}"', self.known_names + perhaps(name, points))
        return name

    def lists(self, place: str, value: Any, points: Mapping[str, Any], least: int) -> tuple[tuple[str, ...], ...]:
        if not isinstance(value, list):
            self.fail(place, show(value), "a list of lists of names")
        return tuple(self.names(f"{place}[{i}]", names, points, least) for i, names in enumerate(value))

    def creases(self, value: Any, points: Mapping[str, Any]) -> Iterator[Crease]:
        if not isinstance(value, list):
            self.fail("creases", show(value), "a list of [from, to, kind]")
        for i, item in enumerate(value):
            place = f"creases[{i}]"
            if not isinstance(item, list) or len(item) != 3:
                self.fail(place, show(item), '[from, to, kind], such as ["a", "b", "mountain"]')
            kind = item[2]
            if kind not in KINDS:
                self.fail(place, f"the kind {show(kind)}", one_of(KINDS, kind))
            yield Crease(self.name(place, item[0], points), self.name(place, item[1], points), kind)

    def whole(self, place: str, value: Any) -> int:
        if not isinstance(value, int) or isinstance(value, bool) or value < 1:
            self.fail(place, show(value), "a whole number from 1 up")
        if value >= 10**LIMIT_DIGITS:
            self.fail(
                place, "a number with more digits than that", f"a whole number with at most {LIMIT_DIGITS:,} digits"
            )
        return value


def one_of(known: Iterable[str], written: Any) -> str:
    """What was expected in place of what is written."""
    return "one of " + ", ".join(known) + perhaps(written, known)


def perhaps(written: Any, known: Iterable[str]) -> str:
    """What was perhaps meant, if something that is known looks alike: two letters the other way round come first."""
    import difflib  # seldom needed

    if not isinstance(written, str):
        return ""
    known = list(known)
    turned = {f"{written[:i]}{written[i + 1]}{written[i]}{written[i + 2 :]}" for i in range(len(written) - 1)}
    near = [name for name in known if name in turned] or difflib.get_close_matches(written, known, 1, 0.5)
    return f' (perhaps "{near[0]}")' if near else ""


def _is_operand(part: str) -> bool:
    return part[0].isalnum() or part[0] in "._"


def _bare(text: str) -> int | str:
    """A number text as it is best written: an integer bare, anything else as a string."""
    return int(text) if re.fullmatch(r"-?(0|[1-9]\d{0,999})", text) and text != "-0" else text
