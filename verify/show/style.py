"""How lines, papers and letters look: `template/style.toml`, one table for screen and print.

Nothing is told by colour alone: folds by dashes, the back by a hatch (in print by grey), faults by rails and rings.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import floor
from typing import NamedTuple

from verify.show.scene import Fold
from verify.show.texts import table_of


class Style(NamedTuple):
    """A class of lines, fills or texts: inks by their names in the palette, lengths in page millimetres."""

    stroke: str | None = None
    width: float = 0.0
    dashes: Sequence[float] = ()
    fill: str | None = None
    opacity: float = 1.0
    cap: str = "butt"
    bold: bool = False


_TABLE = table_of("style.toml")
STYLES = {name: Style(**style) for name, style in _TABLE["classes"].items()}
LIGHT, DARK, PRINT = (_TABLE["inks"][use] for use in ("light", "dark", "print"))
KEY_WORDS: dict[str, str] = _TABLE["legend"]
FOLDS: tuple[Fold, ...] = ("valley", "mountain", "either")
# In print a texture is a grey, or stripes so many millimetres apart: grey is then the back of the paper alone.
PRINT_TEXTURES = {"cross": "#d1d1d1"}
PRINT_STRIPES = {"dots": 1.5}

ROLE_TEXTURE = {"target": "dots", "inner waste": "lines"}

LETTERS = {"mountain": "M", "valley": "V"}  # for lines too short for their dashes
_PERIODS = 2
_SMALLEST = 0.45


def fitted_dashes(kind: str, length: float) -> tuple[tuple[float, ...], bool]:
    """The dashes of a line of this length (page millimetres), so that it begins and ends with a dash, and whether
    several fit.

    A fold line for which not even the smallest dashes fit so wants its letter.
    """
    dashes = STYLES[kind].dashes
    if not dashes:
        return (), True
    period, first = sum(dashes), dashes[0]
    count = max(_PERIODS, floor((length - first) / period + 0.5))
    scale = length / (count * period + first)
    return tuple(d * max(scale, _SMALLEST) for d in dashes), scale >= _SMALLEST


def css(palette: dict[str, str]) -> str:
    """The style sheet of a palette."""
    return "\n".join(f".{name} {{ {_declared(style, palette)} }}" for name, style in STYLES.items())


def _declared(style: Style, palette: dict[str, str]) -> str:
    fill = palette[style.fill] if style.fill else "none"
    parts = [f"fill: {fill};"]
    if style.opacity < 1:
        parts.append(f"{'stroke' if style.stroke else 'fill'}-opacity: {style.opacity};")
    if style.stroke:
        parts.append(f"stroke: {palette[style.stroke]}; stroke-width: {style.width}; stroke-linejoin: round;")
    if style.dashes:
        parts.append(f"stroke-dasharray: {' '.join(map(str, style.dashes))};")
    if style.cap != "butt":
        parts.append(f"stroke-linecap: {style.cap};")
    if style.bold:
        parts.append("font-weight: bold;")
    return " ".join(parts)
