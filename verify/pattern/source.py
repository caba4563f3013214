"""The text of a document: bytes, TOML or JSON, where a key stands; and the error when it cannot be read."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Mapping
from errno import EACCES, EISDIR, ENOENT
from fractions import Fraction
from itertools import takewhile
from pathlib import Path
from typing import Any, ClassVar

from verify.errors import CreaseproofError

LIMIT_BYTES = 4 * 1024 * 1024
LIMIT_DEPTH = 50
LIMIT_DIGITS = 1_000
JOURNAL, SARIF = "sweep.jsonl", "sarif.json"
"""What `sweep` writes into its folder."""
DIGEST = "# written by creaseproof; SHA-256 of the lines below: "
"""How the first line of a TOML document begins that a command wrote; what it has to say of it follows as comments."""
_PARTS = 4
_DOTTED_TABLES = 10_000
TWO_BRACKETS = "[[steps]] above each step, with two brackets"
_UNCLOSED = {"Unclosed array": 'a comma or "]"', "Unclosed inline table": 'a comma or "}"'}
_NOT_READ = {ENOENT: "no such file", EISDIR: "a folder", EACCES: "a file that must not be read"}
_OTHER_KINDS = {
    b"\x89PNG": "a PNG picture",  # PNG (W3C), 5.2
    b"\xff\xd8\xff": "a JPEG picture",  # ITU-T T.81, B.1.1.3
    b"%PDF-": "a PDF file",  # ISO 32000-1, 7.5.2
    b"\x1f\x8b": "a compressed file",  # RFC 1952, 2.3.1
    b"\xff\xfe": "text in UTF-16",  # the byte order mark, Unicode 2.6
    b"\xfe\xff": "text in UTF-16",
}
_SVG = re.compile(rb"(?:\xef\xbb\xbf)?\s*<(?:.{0,4000}<)?svg\b", re.DOTALL)


def printable(text: str) -> str:
    """The text on one line without control characters: what a document says must not steer a terminal."""
    return "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in text)


class NotRead(CreaseproofError, ValueError):
    """The input could not be read: see `Malformed`, `Unsupported`.

    `source` is the file, `place` the key (`creases[3]`, `points.a`), `line` its
    line where that is known, `found` and `expected` say what is wrong.
    """

    verdict: ClassVar[str]

    def __init__(self, source: str, place: str, found: str, expected: str, line: int | None = None) -> None:
        self.source, self.place, self.found, self.expected, self.line = source, place, found, expected, line
        at = f"line {line}" if line is not None else ""
        step = re.match(r"steps\[(\d+)\]", place)
        place = f"step {int(step[1]) + 1}, {place}" if step is not None else place
        where = f"{place} ({at})" if place and at else place or at
        message = ": ".join(part for part in (source, where) if part) + f": found {found}; expected {expected}"
        super().__init__(printable(message))


class Malformed(NotRead):
    """The input could not be understood."""

    verdict = "malformed"


class Unsupported(NotRead):
    """What was met is well-formed and understood, but outside what this version reads."""

    verdict = "unsupported"


def content_of(path: str | Path) -> tuple[bytes, bool]:
    """A document file's bytes, and whether its name says TOML. Raises `Malformed`."""
    path = Path(path)
    if str(path) == "-":
        raise Malformed("-", "", "no name of a file", "one: nothing is read from standard input")
    try:
        size = path.stat().st_size
        if size > LIMIT_BYTES:
            raise Malformed(str(path), "", f"{size:,} bytes", f"at most {LIMIT_BYTES:,}")
        if not path.is_file() and not path.is_dir():
            raise Malformed(str(path), "", "something that is not a file", "a file")
        return path.read_bytes(), path.name.lower().endswith(".toml")
    except Malformed:
        raise
    except OSError as error:
        raise Malformed(str(path), "", why_not_read(error), "a readable file") from None
    except ValueError as error:
        raise Malformed(printable(str(path)), "", str(error), "the name of a file") from None


def remarks_in(data: bytes, toml: bool) -> tuple[str, ...]:
    """What the command said that wrote this document: the comments below its digest. None in a document by hand."""
    if not toml or not data.startswith(DIGEST.encode()):
        return ()
    lines = data.decode().splitlines()[1:]
    return tuple(line.removeprefix("# ") for line in takewhile(lambda line: line.startswith("# "), lines))


def why_not_read(error: OSError) -> str:
    """What is found in place of a file that can be read, in words."""
    return _NOT_READ.get(error.errno or 0) or error.strerror or str(error)


def no_text(source: str, data: bytes, error: UnicodeDecodeError, expected: str) -> Malformed:
    """What to say of bytes that are not UTF-8: which kind of file they are, if their beginning tells."""
    kind = next((kind for start, kind in _OTHER_KINDS.items() if data.startswith(start)), "")
    if kind:
        return Malformed(source, "", kind, expected)
    return Malformed(source, f"byte {error.start}", "bytes that are not UTF-8", expected)


def documents_in(folder: Path) -> list[Path]:
    """The files of a folder and of the folders in it that may be documents, sorted: .toml and .json, but no
    certificates, no list that a sweep wrote and nothing hidden.
    """
    return sorted(
        path
        for path in folder.rglob("*")
        if path.suffix.lower() in (".toml", ".json")
        and not path.name.endswith(".certificate.json")
        and not (path.name == SARIF and path.with_name(JOURNAL).exists())
        and not any(part.startswith(".") for part in path.relative_to(folder).parts)
        and not path.is_dir()
    )


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


class NumberText(str):
    """A number as it was written: not a string of the document."""


class _Repeated(ValueError):
    pass


def _pairs(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    keys = dict(pairs)
    if len(keys) < len(pairs):
        raise _Repeated
    return keys


def _repeated(text: str) -> tuple[str, int]:
    """Where a JSON text has a key that its object had before: the keys that lead to it, and its line."""
    path: list[str] = []
    seen: list[set[str]] = []
    for token in re.finditer(r'("(?:\\.|[^"\\])*+")(\s*:)?|[{}]', text):
        if token[0] == "{":
            path.append("")
            seen.append(set())
        elif token[0] == "}":
            path.pop()
            seen.pop()
        elif token[2]:
            path[-1] = json.loads(token[1])
            if path[-1] in seen[-1]:
                return ".".join(path), text.count("\n", 0, token.start()) + 1
            seen[-1].add(path[-1])
    raise LookupError("no key is there twice")


def _whole(text: str) -> int | NumberText:
    return int(text) if len(text) <= 1001 else NumberText(text)


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
    if _SVG.match(data):
        named = source.lower().endswith(".svg")
        drawings = "creaseproof construct, recipe and import read drawings" if named else "drawings' names end in .svg"
        expected = f"a document ({drawings})"
        raise Malformed(source, "", "an SVG drawing", expected)
    try:
        text = data.decode("utf-8-sig")
        if toml:
            short_keys(source, text)
            return tomllib.loads(text, parse_float=NumberText)
        return json.loads(
            text, parse_float=NumberText, parse_int=_whole, parse_constant=NumberText, object_pairs_hook=_pairs
        )
    except UnicodeDecodeError as error:
        raise no_text(source, data, error, "text in UTF-8: a document, or a drawing in SVG") from None
    except RecursionError:
        raise Malformed(source, "", "lists nested without end", f"at most {LIMIT_DEPTH} levels") from None
    except _Repeated:
        key, line = _repeated(text)
        raise Malformed(source, key, "the key a second time", "each key once", line) from None
    except json.JSONDecodeError as error:
        place, expected = f"column {error.colno}", "a JSON document"
        if not source.lower().endswith(".json"):
            expected += "; the name of a TOML document ends in .toml, of a drawing in .svg"
        found = f"a mistake in the JSON ({error.msg})" if text.strip() else "nothing"
        raise Malformed(source, place, found, expected, error.lineno) from None
    except tomllib.TOMLDecodeError as error:
        raise _toml_fault(source, text, str(error)) from None
    except Malformed:
        raise
    except ValueError as error:
        long = re.search(rf"\d{{{LIMIT_DIGITS + 1},}}", text)
        if long:
            row = text.count("\n", 0, long.start()) + 1
            raise Malformed(
                source, "", f"a number of {len(long[0]):,} digits", f"at most {LIMIT_DIGITS:,} digits", row
            ) from None
        raise Malformed(source, "", f"a value that cannot be read ({error})", f"a {kind} document") from None


def _toml_fault(source: str, text: str, message: str) -> Malformed:
    """What is wrong in a TOML text, from what its reader says of it."""
    at = re.search(r"\(at line (\d+), column (\d+)\)", message)
    place, row = (f"column {at[2]}", int(at[1])) if at else ("", None)
    if message.endswith("(at end of document)"):
        place, row = "the end", text.rstrip().count("\n") + 1
    message = re.sub(r"\s*\(at .*\)$", "", message)
    twice = _written_twice(text, row, message) if row is not None else None
    if twice is not None:
        return Malformed(source, twice, "the name a second time", "each name once", row)
    table = re.fullmatch(r"Cannot declare \('(.*)',\) twice", message)
    if table is not None:
        expected = TWO_BRACKETS if table[1] == "steps" else "each table once"
        return Malformed(source, "", f"[{table[1]}] a second time", expected, row)
    expected = _UNCLOSED.get(message, "a TOML document")
    bare = _bare_expression(text, row) if row is not None else None
    if bare is not None:
        expected = f"quotes round an expression: {show(bare)}"
    elif at is not None and message == "Invalid value":
        expected = _quoted(text, int(at[1]), int(at[2])) or expected
    return Malformed(source, place, f"a mistake in the TOML ({message})", expected, row)


def _bare_expression(text: str, row: int) -> str | None:
    """The first expression without quotes in a list that stands in a row of a TOML text."""
    line = re.sub(r""""[^"]*"|'[^']*'""", '""', text.split("\n")[row - 1]).split("#")[0]
    found = re.search(r"[\[,]\s*((?:[-+]?[\d.]+\s*[-+*/]|[-+]?(?:sqrt|cos|sin|tan)\s*\()[^,\]]*)", line)
    return found[1].strip() if found is not None else None


def _quoted(text: str, row: int, column: int) -> str:
    """What to write in place of a word that stands in a TOML text without quotes, or with curly ones; else nothing."""
    here = text.split("\n")[row - 1][column - 1 :]
    if here.startswith("("):
        return "square brackets round a list: [ ]"
    found = re.match(r"([“”„«»‘’‚]?)([^\W\d][\w-]*)", here)
    if found is None:
        return ""
    return f"{'straight quotes' if found[1] else 'quotes round a text'}: {show(found[2])}"


def _written_twice(text: str, row: int, message: str) -> str | None:
    """The key in a row of a TOML text that the reader has met before, with its table; None if it met something else."""
    inner = re.fullmatch(r"(?:Duplicate inline table key|Cannot mutate immutable namespace) \(?'([^']*)',?\)?", message)
    if inner is None and message != "Cannot overwrite a value":
        return None
    before = text.split("\n")[:row]
    key = re.match(r"""\s*(?:"([^"]*)"|'([^']*)'|([\w-]+))\s*=""", before[-1])
    tables = [head[1] for head in map(re.compile(r"\s*\[\s*([\w.-]+)\s*\]").match, before) if head]
    names = [*tables[-1:], next(filter(None, key.groups()), "")] if key is not None else []
    return ".".join([*names, *(inner.groups() if inner is not None else ())]) or None


def from_python(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {k: from_python(v) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [from_python(v) for v in value]
    if isinstance(value, Fraction):
        return NumberText(str(value))
    return value


def show(value: Any) -> str:
    """A value as a person would know it again, cut short."""
    if isinstance(value, NumberText):
        text = str(value)
    elif isinstance(value, dict):
        text = "a table"
    else:
        text = "nothing" if value is None else json.dumps(value, default=str, ensure_ascii=False)
    return text if len(text) <= 60 else text[:50] + f"… ({len(text):,} characters)"


def line_of(text: str, place: str) -> int | None:
    """The line (from 1) of a key such as `points.a`, `creases[3]`, `steps[2].fold` or `sheet.outline`, or None."""
    if place.startswith("points."):
        table, name, number = "points", place.removeprefix("points."), None
    else:
        parts = re.match(r"(?:(sheet|target|cut)\.)?(\w+)(?:\[(\d+)\])?", place)
        if parts is None:
            return None
        table, name, number = parts[1] or "", parts[2], int(parts[3]) if parts[3] else None
    heads = [m.start() for m in re.finditer(rf"^[ \t]*\[\[?[ \t]*{re.escape(name)}[ \t]*\]\]?", text, re.M)]
    if heads and number is not None:
        return text.count("\n", 0, heads[number]) + 1 if number < len(heads) else None
    start = 0
    if table:
        head = re.search(rf'^\s*\[\s*{table}\s*\]|"{table}"\s*:|^\s*{table}\s*=(?=\s*{{)', text, re.M)
        start = head.end() if head else 0
    before = r'^\s*["\']?|["\']' + (r"|[{,]\s*" if table else "")
    found = re.compile(rf'(?:{before}){re.escape(name)}["\']?\s*[=:]', re.M).search(text, start)
    if found is None:
        return text.count("\n", 0, heads[0]) + 1 if heads and not table else None
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
