"""Options of commands that read a drawing: what lines mean, how large, which margin; and how large what it gives is."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields
from fractions import Fraction
from functools import wraps
from typing import TYPE_CHECKING, Any, get_args

import click

from verify.cli.options import Amount, Length, given_of
from verify.exact.plane import Point
from verify.pattern.document import IN_MM, Document
from verify.pattern.drawing import draw
from verify.pattern.limits import LimitReached
from verify.pattern.recipe import load_any
from verify.pattern.source import Malformed
from verify.pattern.svg_defaults import MARGIN, SIZE, Strokes

if TYPE_CHECKING:
    from verify.pattern.svg import Rule

Command = Callable[..., Any]

_LARGE = 420.0, 594.0  # mm: A2 (ISO 216)
_SMALL = 50.0  # mm: a figure that is no larger is hard to fold and to cut (common practice, no source)
_WIDTH = "--width 150mm, say, would make the drawing's page 150 mm wide"
_OPTIONS = (
    click.option(
        "--line",
        "lines",
        multiple=True,
        metavar="RULE",
        help="What lines of the drawing mean, such as class=ridge:mountain or stroke=#d00 and dash=4 2:valley. "
        "Lines without a rule are the target, unless a rule names creases or the target: then each line needs one. "
        "Keys: stroke, dash, class, layer, id, element. "
        "Kinds: mountain, valley, either, flat, target, border, ignore. May be repeated.",
    ),
    click.option("--lines", "table", type=click.Path(), help="A TOML file of such rules, a table [[line]] for each."),
    click.option(
        "--flatten",
        type=Amount("mm"),
        metavar="MM",
        help="Replace curves by straight lines that stay within MM of them.",
    ),
    click.option(
        "--strokes",
        type=click.Choice(get_args(Strokes)),
        default="follow",
        help="Target lines drawn with a width: follow the lines, or outline what their strokes paint.",
    ),
    click.option(
        "--width",
        type=Length(),
        metavar="LENGTH",
        help="How wide the drawing's page is, such as 120mm or 12cm (a bare number: mm), instead of its own size. (A "
        f"drawing without a size is {SIZE} mm on its longer side.)",
    ),
    click.option(
        "--margin",
        type=Amount("mm", zero=True),
        metavar="MM",
        help=f"Paper left on each side, in mm. [default: {MARGIN} round a drawn target without border lines]",
    ),
)
join_option = click.option(
    "--join",
    type=Amount("mm", 100, zero=True),
    default="0.1",
    help="Take ends and corners of the target at most this far apart, in mm, for one point, and put any as near to a "
    "line or to the sheet's edge on it.",
)


def extents(document: Document) -> tuple[tuple[float, float], tuple[float, float]] | None:
    """Width and height of the sheet and of the target, in the document's unit, rounded for people; None where it has
    no target or cannot be drawn, which others say.
    """
    try:
        drawn = draw(document)
    except (Malformed, LimitReached):
        return None
    if not drawn.target:
        return None
    return _extent(drawn.loops[0]), _extent([place for line in drawn.target for place in line])


def _extent(places: Sequence[Point]) -> tuple[float, float]:
    xs, ys = [float(p.x) for p in places], [float(p.y) for p in places]
    return round(max(xs) - min(xs), 2), round(max(ys) - min(ys), 2)


def how_large(document: Document) -> list[str]:
    """How large sheet and figure are, in words, and how to change what is small or large; none without `extents`."""
    found = extents(document)
    if found is None:
        return []
    sheet, figure = (f"{width:g} × {height:g} {document.unit}" for width, height in found)
    said = [f"the figure is {figure}, its sheet {sheet}"]
    is_svg = document.source.lower().endswith(".svg")
    if is_svg and max(found[1]) < _SMALL:  # in mm, as all drawings are
        said.append(f"that is small for fingers: {_WIDTH}")
    mm = float(IN_MM[document.unit])
    if any(side * mm > most for side, most in zip(sorted(found[0]), _LARGE, strict=True)):
        said.append("that sheet is larger than A2 paper (420 × 594 mm)" + (f": {_WIDTH}" if is_svg else ""))
    return said


@dataclass(frozen=True)
class DrawingOptions:
    """How a drawing is read: how large it is, in mm, what its lines mean, how curves become lines."""

    width: Fraction | None = None
    margin: Fraction | None = None
    lines: tuple[str, ...] = ()
    table: str | None = None
    flatten: Fraction | None = None
    strokes: Strokes = "follow"

    @property
    def files(self) -> list[str]:
        """The files that are read besides the drawing."""
        return [] if self.table is None else [self.table]

    @property
    def rules(self) -> list[Rule]:
        """What lines mean, as the table and the options say. Raises `Malformed`."""
        if self.table is None and not self.lines:
            return []
        from verify.pattern.svg import Rule, rules_from_toml  # slow to load

        return [*(rules_from_toml(self.table) if self.table is not None else ()), *map(Rule.parse, self.lines)]

    @property
    def says_sheet(self) -> bool:
        """Whether it is said where the sheet ends: by a margin, or lines that are its border."""
        return self.margin is not None or any(rule.meaning == "border" for rule in self.rules)

    def read(self, path: str, *, target: bool = False, round_turns: bool = False) -> Document:
        """The document of an SVG drawing. Lines that no rule maps are the target, if `target` says so or no rule names
        a crease or the target; else they are refused. Raises `Malformed`.
        """
        from verify.pattern.svg import pattern_from_svg, target_from_svg  # slow to load, and not for documents

        rules = self.rules
        named = {rule.meaning for rule in rules} - {"border", "ignore"}
        if target or named <= {"target"}:
            return target_from_svg(
                path,
                sheet=self.margin,
                rules=rules,
                flatten=self.flatten,
                width=self.width,
                strokes=self.strokes,
                all_target=target or not named,
                round_turns=round_turns,
            )
        return pattern_from_svg(path, rules, margin=self.margin, flatten=self.flatten, width=self.width)

    def read_target(self, path: str, *, of_recipes: bool = False, round_turns: bool = True) -> Document:
        """The document of a target: a pattern document, or an SVG drawing (in which turns may be rounded, if
        `round_turns`); with `of_recipes` also what a recipe is to free.

        Raises `Malformed`, else also for a recipe, and `click.UsageError` if options for drawings were given with a
        document.
        """
        if path.lower().endswith(".svg"):
            return self.read(path, round_turns=round_turns)
        given = given_of(*DRAWN)
        if given:
            raise click.UsageError(
                f"{', '.join(given)}: for SVG drawings; a document says how large things are and what they mean"
            )
        document = load_any(path)
        if of_recipes:
            return document.base
        return document.as_pattern("a pattern document with a target and no creases")


DRAWN = tuple(field.name for field in fields(DrawingOptions))
"""The names of these options."""


def drawing_options(command: Command) -> Command:
    """`--line`, `--lines`, `--margin`, `--flatten`, `--strokes` and `--width`, given to the command as `drawn`, a
    `DrawingOptions`.
    """

    @wraps(command)
    def gathering(**options: Any) -> Any:
        drawn = DrawingOptions(**{name: options.pop(name) for name in DRAWN})
        return command(drawn=drawn, **options)

    for option in reversed(_OPTIONS):
        gathering = option(gathering)
    return gathering
