"""Reading untrusted JSON shapes, and the two ways in which a check fails."""

from __future__ import annotations

import json
from collections.abc import Iterable
from itertools import pairwise


class Rejected(Exception):
    """The certificate does not prove what it names. `code` is a stable short kind, `reason` one line with the place."""

    def __init__(self, code: str, reason: str) -> None:
        super().__init__(f"{code}: {reason}")
        self.code = code
        self.reason = reason


class Malformed(Rejected):
    """The document or the certificate is not of its format, or the document has no meaning."""


def quoted(name: str) -> str:
    """A name of the user's, in printable ASCII, on one line, not too long."""
    return json.dumps(name if len(name) <= 60 else name[:57] + "...")


def parse_json(data: bytes, limit: int, code: str, **hooks: object) -> object:
    """JSON with no duplicated key. Only the shape of JSON is checked, not what it means."""
    if len(data) > limit:
        raise Malformed(code, f"more than {limit} bytes")

    def unique(pairs: list[tuple[str, object]]) -> dict[str, object]:
        table = dict(pairs)
        if len(table) != len(pairs):
            names = sorted(name for name, _ in pairs)
            twice = next(a for a, b in pairwise(names) if a == b)
            raise Malformed(code, f"key {quoted(twice)} stands twice in one object")
        return table

    try:
        result: object = json.loads(data.decode("utf-8"), object_pairs_hook=unique, **hooks)  # type: ignore[arg-type]
    except UnicodeDecodeError as error:
        raise Malformed(code, f"not UTF-8 at byte {error.start}") from None
    except json.JSONDecodeError as error:
        raise Malformed(code, f"not JSON at line {error.lineno}, column {error.colno}: {error.msg}") from None
    except RecursionError:
        raise Malformed(code, "nested too deep") from None
    except ValueError:
        raise Malformed(code, "a number has too many digits") from None
    return result


class Shapes:
    """Readers that check the type of what they return; `where` names the place for the message."""

    def __init__(self, error: type[Rejected], name: str) -> None:
        self.error = error
        self.name = name

    def fail(self, kind: str, where: str, expected: str) -> Rejected:
        return self.error(f"{self.name}.{kind}", f"{where}: {expected}")

    def table(self, value: object, where: str, required: Iterable[str], optional: Iterable[str] = ()) -> dict[str, object]:
        """An object with all the required keys and no others than the optional ones."""
        if not isinstance(value, dict):
            raise self.fail("type", where, "expected a table")
        need = set(required)
        for key in value:
            if key not in need and key not in set(optional):
                raise self.fail("key", where, f"unknown key {quoted(key)}")
        for key in sorted(need):
            if key not in value:
                raise self.fail("key", where, f"key {quoted(key)} is missing")
        return value

    def items(self, value: object, where: str, least: int = 0, most: int | None = None) -> list[object]:
        """A list of `least` to `most` things."""
        if not isinstance(value, list):
            raise self.fail("type", where, "expected a list")
        if len(value) < least or (most is not None and len(value) > most):
            wanted = f"exactly {least}" if least == most else f"at least {least}" if most is None else f"{least} to {most}"
            raise self.fail("length", where, f"expected {wanted} entries, found {len(value)}")
        return value

    def text(self, value: object, where: str) -> str:
        if not isinstance(value, str):
            raise self.fail("type", where, "expected a text")
        return value

    def whole(self, value: object, where: str, low: int, high: int | None = None) -> int:
        """An integer (not a boolean) from `low` up to, and without, `high`."""
        if not isinstance(value, int) or isinstance(value, bool):
            raise self.fail("type", where, "expected an integer")
        if value < low or (high is not None and value >= high):
            raise self.fail("range", where, f"expected an integer from {low}" + ("" if high is None else f" to {high - 1}"))
        return value

    def numbers(self, value: object, where: str, count: int, least: int = 0, most: int | None = None) -> list[int]:
        """A list of numbers of things of which there are `count`."""
        return [self.whole(item, where, 0, count) for item in self.items(value, where, least, most)]


DOCUMENT = Shapes(Malformed, "document")
CERTIFICATE = Shapes(Rejected, "certificate")
