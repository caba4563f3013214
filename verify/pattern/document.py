"""Pattern documents: what a person writes down, before any geometry.

A document is TOML or JSON with the keys of `creaseproof-pattern/1`. Reading
checks its form only: keys, types, names, kinds. Numbers stay the texts that
the person wrote; `verify.pattern.drawing` turns them into exact places.
"""

from __future__ import annotations

import difflib
import hashlib
import itertools
import json
import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from itertools import pairwise
from pathlib import Path
from typing import Any, Literal, NoReturn

FORMAT = "creaseproof-pattern/1"
LIMIT_BYTES = 4 * 1024 * 1024
LIMIT_DEPTH = 50
_DIGITS = 1_000
_CHARACTERS = 4_000
_PARTS = 4
_DOTTED_TABLES = 10_000
_TOKEN = re.compile(r"[0-9]+(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?|[A-Za-z_]+|[^ \t\n]")

Kind = Literal["mountain", "valley", "either", "flat"]
KINDS: tuple[Kind, ...] = ("mountain", "valley", "either", "flat")
UNITS = ("mm", "cm", "m", "in")
IN_MM = {"mm": Fraction(1), "cm": Fraction(10), "m": Fraction(1000), "in": Fraction(254, 10)}


def printable(text: str) -> str:
    """The text on one line without control characters: what a document says must not steer a terminal."""
    return "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in text)


class Malformed(ValueError):
    """The input could not be understood.

    `source` is the file, `place` the key (`creases[3]`, `points.a`), `line` its
    line where that is known, `found` and `expected` say what is wrong.
    """

    def __init__(self, source: str, place: str, found: str, expected: str, line: int | None = None) -> None:
        self.source, self.place, self.found, self.expected, self.line = source, place, found, expected, line
        at = f"line {line}" if line is not None else ""
        where = f"{place} ({at})" if place and at else place or at
        message = ": ".join(part for part in (source, where) if part) + f": found {found}; expected {expected}"
        super().__init__(printable(message))


@dataclass(frozen=True)
class Crease:
    """A drawn line from one named point to another; `kind` says how it is folded."""

    start: str
    end: str
    kind: Kind


@dataclass(frozen=True)
class Document:
    """A pattern document of format `creaseproof-pattern/1`, checked for form.

    Numbers in `points` are exact texts. `loops` and `paths` are the target; `figure` names a point inside each piece
    that is the figure (empty: not said), for people: it is no part of the statement. `snips` is None exactly when there
    is no target. `raw` is the file's content when the document came from a file, `notes` what was assumed in reading a
    drawing.
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

    @property
    def has_target(self) -> bool:
        return bool(self.loops or self.paths)

    @property
    def claims(self) -> tuple[str, ...]:
        """What the document says of itself: `folds-flat`, and with a target `cut-exact`."""
        return ("folds-flat", "cut-exact") if self.has_target else ("folds-flat",)

    def target_lines(self) -> list[tuple[str, str]]:
        """The target as lines between named points: the loops' edges, then the paths'."""
        lines = [(a, b) for loop in self.loops for a, b in zip(loop, loop[1:] + loop[:1], strict=True)]
        return lines + [(a, b) for path in self.paths for a, b in itertools.pairwise(path)]

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
        keys: dict[str, Any] = {"format": FORMAT}
        if self.title:
            keys["title"] = self.title
        keys["unit"] = self.unit
        keys["creases"] = [[c.start, c.end, c.kind] for c in self.creases]
        keys["points"] = {name: [_bare(x), _bare(y)] for name, (x, y) in self.points.items()}
        keys["sheet"] = {"outline": list(self.outline)}
        if self.holes:
            keys["sheet"]["holes"] = [list(h) for h in self.holes]
        if self.has_target:
            keys["target"] = {
                key: [list(names) for names in lists]
                for key, lists in (("loops", self.loops), ("paths", self.paths))
                if lists
            }
            if self.figure:
                keys["target"]["figure"] = list(self.figure)
            keys["cut"] = {"snips": self.snips}
        return keys

    def statement(self) -> dict[str, Any]:
        """The canonical statement whose digest the certificate carries (SPECIFICATION §1)."""
        return {
            "format": FORMAT,
            "unit": self.unit,
            "points": {name: list(xy) for name, xy in self.points.items()},
            "sheet": {"outline": list(self.outline), "holes": [list(h) for h in self.holes]},
            "creases": [[c.start, c.end, c.kind] for c in self.creases],
            "target": {"loops": [list(x) for x in self.loops], "paths": [list(x) for x in self.paths]}
            if self.has_target
            else None,
            "cut": {"snips": self.snips} if self.has_target else None,
        }

    @cached_property
    def statement_sha256(self) -> str:
        text = json.dumps(self.statement(), sort_keys=True, separators=(",", ":"), ensure_ascii=True)
        return hashlib.sha256(text.encode()).hexdigest()

    def content(self) -> tuple[bytes, bool]:
        """The bytes that the kernel reads, and whether they are TOML: the file's own, or JSON."""
        if self.raw is not None:
            return self.raw, self.is_toml
        return json.dumps(self.keys()).encode(), False

    def malformed(self, place: str, found: str, expected: str) -> Malformed:
        """The error for a fault at `place` of this document, with its line if it came from a file."""
        text = self.raw.decode() if self.raw is not None else ""
        return Malformed(self.source, place, found, expected, line_of(text, place) if text else None)


def load(path: str | Path) -> Document:
    """Read a document from a file; `.toml` is TOML, anything else JSON.

    Raises `Malformed` when the file cannot be read or understood.
    """
    data, toml = content_of(path)
    return read(data, source=str(path), toml=toml)


def content_of(path: str | Path) -> tuple[bytes, bool]:
    """A document file's bytes, and whether its name says TOML. Raises `Malformed`."""
    path = Path(path)
    try:
        size = path.stat().st_size
        if size > LIMIT_BYTES:
            raise Malformed(str(path), "", f"{size:,} bytes", f"at most {LIMIT_BYTES:,}")
        if path.exists() and not path.is_file() and not path.is_dir():
            raise Malformed(str(path), "", "something that is not a file", "a file")
        return path.read_bytes(), path.name.lower().endswith(".toml")
    except OSError as error:
        raise Malformed(str(path), "", error.strerror or str(error), "a readable file") from None
    except ValueError as error:
        if isinstance(error, Malformed):
            raise
        raise Malformed(printable(str(path)), "", str(error), "the name of a file") from None


def documents_in(folder: Path) -> list[Path]:
    """The files of a folder and of the folders in it that may be documents, sorted: .toml and .json, but no
    certificates and nothing hidden.
    """
    return sorted(
        path
        for path in folder.rglob("*")
        if path.suffix.lower() in (".toml", ".json")
        and not path.name.endswith(".certificate.json")
        and not any(part.startswith(".") for part in path.relative_to(folder).parts)
        and not path.is_dir()
    )


def read(content: bytes | str | Mapping[str, Any], *, source: str = "document", toml: bool | None = None) -> Document:
    """Read a document from text, bytes, or a mapping with the document's keys.

    `toml` says how to read text: TOML, JSON, or (None) JSON if it starts with a
    brace. In a mapping, numbers are integers, `Fraction`s or expression texts; a
    float is refused, since it is not the number that was meant. Raises `Malformed`.
    """
    if isinstance(content, Mapping):
        return Reader(source, None, False).document(from_python(content))
    data, toml = as_bytes(content, source, toml)
    return Reader(source, data, toml).document(parse(source, data, toml))


def as_bytes(content: bytes | str, source: str, toml: bool | None) -> tuple[bytes, bool]:
    """A document's bytes and whether they are TOML (by their first character, if `toml` is None). Raises
    `Malformed`.
    """
    try:
        data = content.encode() if isinstance(content, str) else content
    except UnicodeEncodeError as error:
        raise Malformed(
            source, f"character {error.start + 1}", "half a character", "text that UTF-8 can hold"
        ) from None
    if len(data) > LIMIT_BYTES:
        raise Malformed(source, "", f"{len(data):,} bytes", f"at most {LIMIT_BYTES:,}")
    start = data.removeprefix(b"\xef\xbb\xbf").lstrip()
    return data, not start.startswith(b"{") if toml is None else toml


class _Text(str):
    """A number as it was written: not a string of the document."""


class _Repeated(ValueError):
    pass


def _pairs(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    keys = dict(pairs)
    if len(keys) < len(pairs):
        seen: set[str] = set()
        raise _Repeated(next(k for k, _ in pairs if k in seen or seen.add(k)))  # type: ignore[func-returns-value]
    return keys


def _whole(text: str) -> int | _Text:
    return int(text) if len(text) <= 1001 else _Text(text)


_STRING_OR_COMMENT = re.compile(
    r'''"""(?:[^"\\]++|\\.|"(?!""))*+"{3,5}+|"(?:[^"\\\n]++|\\[^\n])*+"'''
    r"""|'{3}(?:[^']++|'(?!''))*+'{3,5}+|'[^'\n]*+'|\#[^\n]*+""",
    re.DOTALL,
)
_KEY = r'(?:[\w-]++|")'
_LONG_KEY = re.compile(rf"(?<![\w-]){_KEY}(?:[ \t]*+\.[ \t]*+{_KEY}){{{_PARTS}}}")
_DOTTED_TABLE = re.compile(rf"^[ \t]*+\[\[?[ \t]*+{_KEY}[ \t]*+\.", re.MULTILINE)


def short_keys(source: str, text: str) -> None:
    """Refuses TOML whose dotted keys have more than 4 parts, or that names more than 10,000 tables inside tables.

    The reader keeps every beginning of every key; no document needs more than three parts. Raises `Malformed`.
    """
    bare = _STRING_OR_COMMENT.sub(lambda found: '"' + "\n" * found[0].count("\n"), text)
    long = _LONG_KEY.search(bare)
    if long:
        row = bare.count("\n", 0, long.start()) + 1
        raise Malformed(source, "", f"a dotted key of more than {_PARTS} parts", f"at most {_PARTS} parts", row)
    tables = len(_DOTTED_TABLE.findall(bare))
    if tables > _DOTTED_TABLES:
        raise Malformed(source, "", f"{tables:,} tables with dotted names", f"at most {_DOTTED_TABLES:,}")


def parse(source: str, data: bytes, toml: bool) -> Any:
    kind = "TOML" if toml else "JSON"
    try:
        text = data.decode("utf-8-sig")
        if toml:
            short_keys(source, text)
            return tomllib.loads(text, parse_float=_Text)
        return json.loads(text, parse_float=_Text, parse_int=_whole, parse_constant=_Text, object_pairs_hook=_pairs)
    except UnicodeDecodeError as error:
        raise Malformed(source, f"byte {error.start}", "bytes that are not UTF-8", "text in UTF-8") from None
    except RecursionError:
        raise Malformed(source, "", "lists nested without end", f"at most {LIMIT_DEPTH} levels") from None
    except _Repeated as error:
        raise Malformed(source, str(error), "the key twice", "each key once") from None
    except json.JSONDecodeError as error:
        place = f"column {error.colno}"
        raise Malformed(
            source, place, f"a mistake in the JSON ({error.msg})", "a JSON document", error.lineno
        ) from None
    except tomllib.TOMLDecodeError as error:
        message = str(error)
        at = re.search(r"\(at line (\d+), column (\d+)\)", message)
        place, row = (f"column {at[2]}", int(at[1])) if at else ("", None)
        message = re.sub(r"\s*\(at .*\)$", "", message)
        raise Malformed(source, place, f"a mistake in the TOML ({message})", "a TOML document", row) from None
    except Malformed:
        raise
    except ValueError as error:
        long = re.search(rf"\d{{{_DIGITS + 1},}}", text)
        if long:
            row = text.count("\n", 0, long.start()) + 1
            raise Malformed(
                source, "", f"a number of {len(long[0]):,} digits", f"at most {_DIGITS:,} digits", row
            ) from None
        raise Malformed(source, "", f"a value that cannot be read ({error})", f"a {kind} document") from None


def from_python(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {k: from_python(v) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [from_python(v) for v in value]
    if isinstance(value, Fraction):
        return _Text(str(value))
    return value


class Reader:
    """Checks the form of parsed keys; `fail` names the place. Recipes extend it."""

    def __init__(self, source: str, data: bytes | None, toml: bool) -> None:
        self.source, self.data, self.toml = source, data, toml

    def fail(self, place: str, found: str, expected: str) -> NoReturn:
        line = line_of(self.data.decode(), place) if self.data is not None else None
        raise Malformed(self.source, place, found, expected, line)

    def document(self, keys: Any) -> Document:
        self.depth(keys)
        self.table(
            "", keys, ("format", "points", "sheet"), ("title", "unit", "creases", "target", "cut"), first=("format",)
        )
        if keys["format"] != FORMAT:
            self.fail("format", show(keys["format"]), f'"{FORMAT}"')
        title, unit = keys.get("title", ""), keys.get("unit", "mm")
        if type(title) is not str:
            self.fail("title", show(title), "a text")
        self.whole_text("title", title)
        if type(unit) is not str or unit not in UNITS:
            self.fail("unit", show(unit), "one of " + ", ".join(UNITS))
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
                self.fail(at + key, "nothing", f'the line format = "{FORMAT}"')
        known = (*required, *optional)
        for key in value:
            if key not in known:
                hint = ""
                if place and key in ("creases", "title", "unit", "format"):
                    hint = f' (in TOML, "{key}" stands above the first [table])'
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
            points[name] = (self.number(place, pair[0]), self.number(place, pair[1]))
        return points

    def number(self, place: str, value: Any) -> str:
        """The text of a number; whether the text makes sense is seen when it is read exactly."""
        if isinstance(value, _Text):
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
                    self.fail(place, f'"{one} {two}"', "an operator between the two")
        elif isinstance(value, int) and not isinstance(value, bool):
            if abs(value) >= 10**_DIGITS:
                self.fail(place, f"a number of more than {_DIGITS:,} digits", f"at most {_DIGITS:,} digits")
            text = str(value)
        elif isinstance(value, float):
            exact = f'a number that is exact: a text such as "{value}" or "1/3", or a Fraction'
            self.fail(place, f"the float {value}, which is rounded in binary", exact)
        else:
            self.fail(place, show(value), 'a number: an integer, a decimal, or a text such as "1/3 + sqrt(5)/4"')
        return text

    def names(self, place: str, value: Any, points: Mapping[str, Any], least: int) -> tuple[str, ...]:
        if not isinstance(value, list) or len(value) < least:
            self.fail(place, show(value), f"a list of at least {least} names of points")
        for name in value:
            self.name(place, name, points)
        return tuple(value)

    known_names = "a name listed in [points]"

    def name(self, place: str, name: Any, points: Mapping[str, Any]) -> str:
        if type(name) is not str:
            self.fail(place, show(name), "the name of a point")
        if name not in points:
            near = difflib.get_close_matches(name, points, 1, 0.5)
            self.fail(
                place,
                f'the unknown point "{name}"',
                self.known_names + (f' (perhaps "{near[0]}")' if near else ""),
            )
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
                self.fail(place, show(item), "[from, to, kind]")
            kind = item[2]
            if kind not in KINDS:
                self.fail(place, f"the kind {show(kind)}", "one of " + ", ".join(KINDS))
            yield Crease(self.name(place, item[0], points), self.name(place, item[1], points), kind)

    def whole(self, place: str, value: Any) -> int:
        if not isinstance(value, int) or isinstance(value, bool) or value < 1:
            self.fail(place, show(value), "a whole number from 1 up")
        if value >= 10**_DIGITS:
            self.fail(place, "a number with more digits than that", f"a whole number with at most {_DIGITS:,} digits")
        return value


def _is_operand(part: str) -> bool:
    return part[0].isalnum() or part[0] in "._"


def show(value: Any) -> str:
    """A value as a person would know it again, cut short."""
    if isinstance(value, _Text):
        text = str(value)
    elif isinstance(value, dict):
        text = "a table"
    else:
        text = "nothing" if value is None else json.dumps(value, default=str, ensure_ascii=False)
    return text if len(text) <= 60 else text[:50] + f"… ({len(text):,} characters)"


def _bare(text: str) -> int | str:
    """A number text as it is best written: an integer bare, anything else as a string."""
    return int(text) if re.fullmatch(r"-?(0|[1-9]\d{0,999})", text) and text != "-0" else text


def line_of(text: str, place: str) -> int | None:
    """The line (from 1) of a key such as `points.a`, `creases[3]`, `steps[2].fold` or `sheet.outline`, or None."""
    if place.startswith("points."):
        table, name, number = "points", place.removeprefix("points."), None
    else:
        parts = re.match(r"(?:(sheet|target|cut)\.)?(\w+)(?:\[(\d+)\])?", place)
        if parts is None:
            return None
        table, name, number = parts[1] or "", parts[2], int(parts[3]) if parts[3] else None
    heads = [m.start() for m in re.finditer(rf"^[ \t]*\[\[[ \t]*{re.escape(name)}[ \t]*\]\]", text, re.M)]
    if heads and number is not None:
        return text.count("\n", 0, heads[number]) + 1 if number < len(heads) else None
    start = 0
    if table:
        head = re.search(rf'^\s*\[\s*{table}\s*\]|"{table}"\s*:', text, re.M)
        start = head.end() if head else 0
    found = re.compile(rf'(?:^\s*["\']?|["\']){re.escape(name)}["\']?\s*[=:]', re.M).search(text, start)
    if found is None:
        return None
    position = found.end() - 1
    if number is not None:
        position = _item(text, found.end(), number) or position
    return text.count("\n", 0, position) + 1


def _item(text: str, position: int, number: int) -> int | None:
    """Where item `number` of the list of lists or tables that opens after `position` starts."""
    depth = count = 0
    for token in re.compile(r'"(?:\\.|[^"\\])*"|\'[^\']*\'|#[^\n]*|[\[\]{}]').finditer(text, position):
        if token[0] in "[{":
            depth += 1
            if depth == 2:
                if count == number:
                    return token.start()
                count += 1
        elif token[0] in "]}":
            depth -= 1
            if depth <= 0:
                return None
    return None
