"""Reading untrusted JSON and TOML: sizes, keys, types; the bound of work; the two ways in which a check fails."""

import json
import re
import tomllib
from collections.abc import Callable, Iterable
from itertools import pairwise
from typing import Any, NamedTuple

LEAST_WORK = 10_000_000
WORK_OF_A_BYTE = 10
Names = tuple[str, ...]
Json = dict[str, object]
PARTS = 4  # of a dotted key of TOML; no document needs more than three
DOTTED_TABLES = 10_000
# Of TOML: the strings (of three quotes or one, of either kind) and the comments; then, with every string a mere quote:
TEXT = re.compile(
    r'''"""(?:[^"\\]++|\\.|"(?!""))*+"{3,5}+|"(?:[^"\\\n]++|\\[^\n])*+"'''
    r"""|'{3}(?:[^']++|'(?!''))*+'{3,5}+|'[^'\n]*+'|\#[^\n]*+""",
    re.DOTALL,
)
LONG_KEY = re.compile(rf'(?<![\w-])(?:[\w-]++|")(?:[ \t]*+\.[ \t]*+(?:[\w-]++|")){{{PARTS}}}')
DOTTED_TABLE = re.compile(r'^[ \t]*+\[\[?[ \t]*+(?:[\w-]++|")[ \t]*+\.', re.MULTILINE)


class Rejected(Exception):
    """The certificate does not prove what it names. `code` is a stable short kind, `reason` one line with the place."""

    def __init__(self, code: str, reason: str) -> None:
        self.code, self.reason = code, reason


class Work:
    """What is left of the work that the kernel does for an input, in units of about a microsecond."""

    def __init__(self, document: int, certificate: int) -> None:
        """As much as a certificate of so many bytes may take, less what it took to read a document of so many."""
        self.left = max(LEAST_WORK, WORK_OF_A_BYTE * certificate) - 3 * document // 2

    def spend(self, units: int) -> None:
        self.left -= units
        require(self.left >= 0, "limit", "more work than the kernel does for an input of this size")


class Malformed(Rejected):
    """The document or the certificate is not of its format, or the document has no meaning."""


def require(holds: bool, code: str, reason: str, error: type[Rejected] = Rejected) -> None:
    """The one way to fail: goes on only if the condition holds."""
    if not holds:
        raise error(code, reason)


def increasing(items: list[Any]) -> bool:
    return all(a < b for a, b in pairwise(items))


def quoted(name: str) -> str:
    """A name of the user's, in printable ASCII, on one line, not too long."""
    return json.dumps(name if len(name) <= 60 else name[:57] + "...")


def unique(pairs: list[tuple[str, object]]) -> dict[str, object]:
    """An object of JSON, which must not have a key twice."""
    if len(dict(pairs)) < len(pairs):
        raise ValueError(f"a key stands twice in an object: {', '.join(sorted(key for key, _ in pairs))}")
    return dict(pairs)


def check_keys(text: str) -> None:
    """Assumes (and checks) that no key of TOML has many parts, for the reader keeps all beginnings of each."""
    bare = TEXT.sub('"', text)
    many = LONG_KEY.search(bare) or len(DOTTED_TABLE.findall(bare)) > DOTTED_TABLES
    require(not many, "document.unreadable", "a dotted key has too many parts, or there are too many", Malformed)


def tree(data: bytes, limit: int, code: str, number: Callable[[str], object], toml: bool = False) -> object:
    """The tree of TOML or JSON, with no key twice; `number` reads the numbers that are no integers."""
    require(len(data) <= limit, code, f"more than {limit} bytes", Malformed)
    try:
        text = data.decode("utf-8-sig")  # with or without a byte order mark
        if toml:
            check_keys(text)
            return tomllib.loads(text, parse_float=number)
        return json.loads(text, object_pairs_hook=unique, parse_float=number, parse_constant=number)
    except (ValueError, RecursionError) as error:  # not UTF-8, not of the format, too many digits, nested too deep
        raise Malformed(code, f"cannot be read: {str(error)[:120]!a}") from None


class Shapes(NamedTuple):
    """Readers that check the type of what they return; `where` names the place for the message."""

    name: str
    error: type[Rejected]

    def fail(self, kind: str, where: str, expected: str) -> Rejected:
        return self.error(f"{self.name}.{kind}", f"{where}: {expected}")

    def table(self, value: object, where: str, need: Iterable[str], more: Iterable[str] | None = ()) -> Json:
        """An object with all the keys that it needs, and no others than `more` (None: any)."""
        if not isinstance(value, dict):
            raise self.fail("type", where, "expected a table")
        unknown = set[str]() if more is None else value.keys() - {*need, *more}
        for key in sorted(unknown | {*need} - value.keys()):
            raise self.fail("key", where, f"key {quoted(key)} is {'unknown' if key in value else 'missing'}")
        return value

    def items(self, value: object, where: str, least: int = 0, most: int | None = None) -> list[object]:
        """A list of `least` to `most` things."""
        if not isinstance(value, list):
            raise self.fail("type", where, "expected a list")
        if len(value) < least or (most is not None and len(value) > most):
            raise self.fail("length", where, f"expected {least} to {most or 'any'} entries, found {len(value)}")
        return value

    def each(self, value: object, where: str, least: int = 0, most: int | None = None) -> list[tuple[str, object]]:
        """The same, each thing with the name of its place."""
        return [(f"{where}[{i}]", item) for i, item in enumerate(self.items(value, where, least, most))]

    def text(self, value: object, where: str, allowed: Iterable[str] = ()) -> str:
        if not isinstance(value, str) or (allowed and value not in allowed):
            raise self.fail("type", where, "expected " + (" or ".join(map(quoted, allowed)) or "a text"))
        return value

    def whole(self, value: object, where: str, low: int, high: int) -> int:
        """An integer (not a boolean) from `low` up to, and without, `high`."""
        if not isinstance(value, int) or isinstance(value, bool):
            raise self.fail("type", where, "expected an integer")
        if not low <= value < high:
            raise self.fail("range", where, "an integer is out of range, or there is no thing of this number")
        return value

    def numbers(self, value: object, where: str, count: int, least: int = 0, most: int | None = None) -> list[int]:
        """A list of numbers of things of which there are `count`."""
        return [self.whole(item, where, 0, count) for item in self.items(value, where, least, most)]


DOCUMENT = Shapes("document", Malformed)
CERTIFICATE = Shapes("certificate", Rejected)
