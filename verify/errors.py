"""What this package raises, and its optional libraries."""

from __future__ import annotations

from importlib import import_module
from typing import Any


class CreaseproofError(Exception):
    """The base of every exception of this package that can reach who calls it. All can be pickled."""

    def __reduce__(self) -> tuple[Any, ...]:
        return _unpickled, (type(self), self.args), vars(self)


def _unpickled(kind: type[CreaseproofError], arguments: tuple[Any, ...]) -> CreaseproofError:
    """An error with its message, made without the parts that its kind takes: its state has them."""
    return kind.__new__(kind, *arguments)


class NotInstalled(CreaseproofError, RuntimeError):
    """What was asked for needs an optional library that is not there."""


def optional(library: str, extra: str, what: str) -> Any:
    """A library that comes with an extra of this package, and that is needed for `what`. Raises `NotInstalled`."""
    try:
        return import_module(library)
    except (ImportError, OSError) as error:
        how = f"pip install 'creaseproof[{extra}]' (in a checkout: pip install '.[{extra}]')"
        missing = isinstance(error, ModuleNotFoundError) and error.name == library
        why = "" if missing else f"; {error}"  # it is there, and what it is built on is not
        raise NotInstalled(f"{what} needs {library}: {how}{why}") from None
