"""Options of commands that read a drawing or set a size: what lines mean, how large it is, how much paper is left round
it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields
from fractions import Fraction
from functools import wraps
from typing import Any, get_args

import click

from verify.cli.options import Amount, Length
from verify.cli.output import without
from verify.pattern.document import Document
from verify.pattern.recipe import load_any
from verify.pattern.svg import MARGIN, SIZE, Rule, Strokes, pattern_from_svg, rules_from_toml, target_from_svg

Command = Callable[..., Any]

_width_option = click.option(
    "--width",
    type=Length(),
    metavar="LENGTH",
    help=(
        "How wide it is, such as 120mm, instead of the size that it has. (A drawing that states none is "
        f"{SIZE} mm in its longer side.)"
    ),
)
_margin_option = click.option(
    "--margin",
    type=Amount("mm", zero=True),
    metavar="MM",
    help="Paper left on each side, in mm. "
    f"[default: {MARGIN} round a drawn target without border lines; 30 round a letter]",
)
_line_option = click.option(
    "--line",
    "lines",
    multiple=True,
    metavar="RULE",
    help="What lines of the drawing mean, such as class=ridge:mountain or stroke=#d00 and dash=4 2:valley. "
    "Keys: stroke, dash, class, layer, id, element. "
    "Kinds: mountain, valley, either, flat, target, border, ignore. May be repeated.",
)
_table_option = click.option(
    "--lines", "table", type=click.Path(), help="A TOML file with such rules, a table [[line]] for each."
)
_flatten_option = click.option(
    "--flatten", type=Amount("mm"), metavar="MM", help="Replace curves by straight lines that stay within MM of them."
)


_strokes_option = click.option(
    "--strokes",
    type=click.Choice(get_args(Strokes)),
    default="follow",
    help="Of target lines drawn with a width: follow the lines, or outline what their strokes paint.",
)


join_option = click.option(
    "--join",
    type=Amount("mm", 100, zero=True),
    default="0.1",
    help="Take ends and corners of the target that are at most this apart, in mm, for one point, and put those on "
    "lines and on the sheet's edges that are as near.",
)


@dataclass(frozen=True)
class Size:
    """How large a thing is made: its width, and the margin of paper round it, both in mm; None where the default
    stands.
    """

    width: Fraction | None = None
    margin: Fraction | None = None


def _gathered(kind: type[Size | Drawing], name: str, command: Command) -> Command:
    """The command, given one thing of a kind in place of the options that are its fields."""

    @wraps(command)
    def gathering(*arguments: Any, **options: Any) -> Any:
        of_kind = kind(**{field.name: options.pop(field.name) for field in fields(kind)})
        return command(*arguments, **options, **{name: of_kind})

    return gathering


def size_options(command: Command) -> Command:
    """`--width` and `--margin`, given to the command as `size`, a `Size`."""
    return _width_option(_margin_option(_gathered(Size, "size", command)))


@dataclass(frozen=True)
class Drawing:
    """How a drawing is read: what its lines mean, how large it is, how curves become lines."""

    size: Size
    lines: tuple[str, ...] = ()
    table: str | None = None
    flatten: Fraction | None = None
    strokes: Strokes = "follow"

    @property
    def files(self) -> list[str]:
        """The files that are read besides the drawing."""
        return [] if self.table is None else [self.table]

    def read(self, path: str, *, target: bool = True) -> Document:
        """The document of an SVG drawing. Lines that no rule maps are the target, if `target` says so or no rule names
        a crease or the target. Raises `Malformed`.
        """
        rules = [*(rules_from_toml(self.table) if self.table is not None else ()), *map(Rule.parse, self.lines)]
        margin, width, flatten = self.size.margin, self.size.width, self.flatten
        if self.strokes == "outline":
            try:
                import shapely  # noqa: F401  # seldom needed
            except ImportError:
                raise without("strokes", "shapely", "--strokes outline") from None
        if target or all(rule.meaning in ("border", "ignore") for rule in rules):
            strokes = self.strokes
            return target_from_svg(path, sheet=margin, rules=rules, flatten=flatten, width=width, strokes=strokes)
        return pattern_from_svg(path, rules, margin=margin, flatten=flatten, width=width)

    def read_target(self, path: str, *, of_recipes: bool = False) -> Document:
        """The document of a target: a pattern document, or an SVG drawing; with `of_recipes` also what a recipe is to
        free.

        Raises `Malformed`, else also for a recipe, and `click.UsageError` if options for drawings were given with a
        document.
        """
        if path.lower().endswith(".svg"):
            return self.read(path)
        options = {
            "--width": self.size.width,
            "--margin": self.size.margin,
            "--line": self.lines or None,
            "--lines": self.table,
            "--flatten": self.flatten,
            "--strokes": self.strokes if self.strokes != "follow" else None,
        }
        given = [name for name, value in options.items() if value is not None]
        if given:
            raise click.UsageError(
                f"{', '.join(given)}: for SVG drawings; a document says how large things are and what they mean"
            )
        document = load_any(path)
        if of_recipes:
            return document.base
        return document.as_pattern("a pattern document with a target and no creases")


def drawing_options(command: Command) -> Command:
    """`--line`, `--lines`, `--margin`, `--flatten`, `--strokes` and `--width`, given to the command as `drawn`, a
    `Drawing`.
    """
    gathering = _gathered(Drawing, "drawn", command)
    return _line_option(_table_option(_flatten_option(_strokes_option(size_options(gathering)))))
