"""Types of options: an amount is a finite number above 0 and of sensible size, or a mistake in the call."""

from __future__ import annotations

import re
from contextlib import suppress
from fractions import Fraction
from shlex import quote
from typing import Any

import click
from click.core import ParameterSource

MOST = 1_000_000
_NUMBER = re.compile(r"[0-9]{1,30}(\.[0-9]{0,30})?([eE][+-]?[0-9]{1,2})?|\.[0-9]{1,30}|[0-9]{1,30}/[0-9]{1,30}")


class Amount(click.ParamType):  # type: ignore[type-arg,unused-ignore]
    """A number above 0 (or, with `zero`, from 0) and at most `most`, exactly as it is written: a `Fraction`. `instead`:
    what is wanted instead of 0.
    """

    def __init__(self, name: str = "number", most: int = MOST, *, zero: bool = False, instead: str = "") -> None:
        self.name, self.most, self.zero, self.instead = name, most, zero, instead

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Fraction:
        text = str(value).strip()
        amount = None
        with suppress(ZeroDivisionError):
            amount = Fraction(text) if _NUMBER.fullmatch(text) else None
        if amount is None or amount > self.most or (not amount and not self.zero):
            least = "from 0" if self.zero else "above 0"
            expected = f"a number {least} and at most {self.most:,}{self.instead}"
            self.fail(f"found {text[:80]!r}; expected {expected}", param, ctx)
        return amount


class Decimal(Amount):
    """The same as a float."""

    def convert(  # type: ignore[override]
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        return float(super().convert(value, param, ctx))


class Length(click.ParamType):  # type: ignore[type-arg,unused-ignore]
    """A length such as 120mm or 12cm, as an exact number of mm; a bare number is mm."""

    name = "length"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Fraction:
        from verify.pattern.svg_text import Misread, millimetres

        expected = f"a length above 0 and at most {MOST:,} mm, such as 120mm, 12cm or 5in"
        try:
            found = millimetres(str(value))
        except Misread as error:
            self.fail(f"found {error.found}; expected {expected}", param, ctx)
        if not 0 < found <= MOST:
            self.fail(f"found {str(value)[:80]!r}; expected {expected}", param, ctx)
        return found


class Whole(click.IntRange):
    """A whole number in a range."""

    name = "whole number"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:
        if not re.fullmatch(r"\s*[+-]?[0-9]+\s*", str(value)):
            self.fail(f"found {str(value)[:80]!r}; expected a whole number", param, ctx)
        return int(super().convert(value, param, ctx))


def is_given(parameter: str) -> bool:
    """Whether an option of the command stands in its call."""
    context = click.get_current_context(silent=True)
    return context is not None and context.get_parameter_source(parameter) is ParameterSource.COMMANDLINE


def given_of(*parameters: str) -> list[str]:
    """Those of some options of the command that stand in its call, as `--option`, in this order."""
    names = {one.name: one.opts[0] for one in click.get_current_context().command.params}
    return [names[p] for p in parameters if is_given(p)]


def typed_again(argument: str, *parameters: str) -> str:
    """An argument of the command, and those of some of its options that stand in its call, as one types them."""
    context = click.get_current_context()
    words = [argument]
    for name, option in zip((p for p in parameters if is_given(p)), given_of(*parameters), strict=True):
        value = context.params[name]
        for one in value if isinstance(value, tuple) else (value,):
            words += [option] if one is True else [option, _as_typed(one)]
    return " ".join(map(quote, words))


def _as_typed(value: object) -> str:
    return f"{float(value):.12g}" if isinstance(value, (Fraction, float)) else str(value)
