"""How lines, papers and letters look: one table for screen and print, in the trade's line conventions.

Nothing is told by colour alone: folds by their dashes, the back of the paper by a hatch (in print by grey), faults by
rails, rings and numbers. A palette gives each ink its colour; an ink that a palette lacks is not drawn.
"""

from __future__ import annotations

from math import floor
from typing import NamedTuple

from verify.show.scene import Fold


class Style(NamedTuple):
    """A class of lines, fills or texts: inks by their names in the palette, lengths in page millimetres."""

    stroke: str | None = None
    width: float = 0.0
    dashes: tuple[float, ...] = ()
    fill: str | None = None
    opacity: float = 1.0
    cap: str = "butt"
    bold: bool = False


STYLES: dict[str, Style] = {
    # paper
    "ground": Style(fill="ground"),
    "front": Style(fill="front"),
    "back": Style(fill="back"),
    "clear": Style(fill="ink", opacity=0.07),
    "shade": Style(fill="shade"),
    "shadow": Style("shade", 1.6),
    "hatch": Style("hatch", 0.3),
    "dots": Style(fill="dots"),
    "stripe": Style("ink", 0.15),
    "line-texture": Style("soft", 0.25),
    "cross": Style("fault", 0.3),
    # lines of the paper
    "outline": Style("ink", 0.6, cap="round"),
    "rim": Style("ink", 0.3, cap="round"),
    "mountain": Style("ink", 0.4, (4.0, 1.1, 0.7, 1.1)),
    "valley": Style("ink", 0.4, (2.0, 1.3)),
    "either": Style("ink", 0.55, (0.01, 1.5), cap="round"),
    "guide": Style("soft", 0.18),
    "target": Style("target", 1.7),
    "core": Style("ink", 0.2),
    # what is done with it
    "cut": Style("ink", 0.8),
    "blade": Style("ink", 0.35, fill="ground"),
    "arrow": Style("ink", 0.45),
    "arrow-behind": Style("ink", 0.45, (1.2, 0.9)),
    "arrow-head": Style("ink", 0.25, fill="ink"),
    "arrow-head-behind": Style("ink", 0.25, fill="ground"),
    "dot": Style(fill="ink"),
    "spot": Style("ink", 0.3),
    # help for the eye
    "ghost": Style("soft", 0.2),
    "tie": Style("soft", 0.25),
    "frame": Style("soft", 0.15, (0.6, 0.9)),
    "rail": Style("fault", 3.5),
    "bed": Style("front", 2.7),
    "ring": Style("fault", 0.7),
    "lead": Style("fault", 0.3),
    "tag": Style(fill="fault"),
    "note": Style("ink", 0.35, fill="ground"),
    # letters
    "text": Style(fill="ink"),
    "soft-text": Style(fill="soft"),
    "tag-text": Style(fill="ground", bold=True),
    "note-text": Style(fill="ink", bold=True),
    "halo": Style("ground", 0.8, opacity=0.85),
}

LIGHT = {
    "ground": "#ffffff",
    "ink": "#20242c",
    "soft": "#6d7480",
    "front": "#fbf8f1",
    "back": "#c3d0db",
    "hatch": "#70869a",
    "target": "#d9a45f",
    "fault": "#8a1f4b",
    "dots": "#9a7a45",
    "shade": "#000000",
}
DARK = {
    "ground": "#191c22",
    "ink": "#e9e6df",
    "soft": "#a3a9b3",
    "front": "#4a4740",
    "back": "#2f4458",
    "hatch": "#8199b0",
    "target": "#9a6a2a",
    "fault": "#f08bb4",
    "dots": "#d2ad72",
    "shade": "#000000",
}
# Any printer prints it: greys only, no hatch and no shade.
PRINT = {
    "ground": "#ffffff",
    "ink": "#000000",
    "soft": "#666666",
    "front": "#ffffff",
    "back": "#d1d1d1",
    "target": "#b8b8b8",
    "fault": "#555555",
}
# In print a texture is a grey, or stripes so many millimetres apart: grey is then the back of the paper alone.
PRINT_TEXTURES = {"cross": "#d1d1d1"}
PRINT_STRIPES = {"dots": 1.5}

FOLD_WORDS: dict[Fold, str] = {
    "valley": "valley fold: towards you",
    "mountain": "mountain fold: away from you",
    "either": "fold, either way",
}
# The words of every legend.
KEY_WORDS: dict[str, str] = {
    **{str(kind): words for kind, words in FOLD_WORDS.items()},
    "outline": "edge of the sheet",
    "guide": "line that is not folded in the end",
    "target": "target: what the cut frees",
    "cut": "cut",
}
ROLE_TEXTURE = {"target": "dots", "inner waste": "lines"}

_LETTER = {"mountain": "M", "valley": "V"}
_PERIODS = 2
_SMALLEST = 0.45


def fitted_dashes(kind: str, length: float) -> tuple[tuple[float, ...], bool]:
    """The dashes of a line of this length (page millimetres), so that it begins and ends with a dash, and whether
    several fit.

    A fold line for which not even the smallest dashes fit so wants its letter (`letter_of`).
    """
    dashes = STYLES[kind].dashes
    if not dashes:
        return (), True
    period, first = sum(dashes), dashes[0]
    count = max(_PERIODS, floor((length - first) / period + 0.5))
    scale = length / (count * period + first)
    return tuple(d * max(scale, _SMALLEST) for d in dashes), scale >= _SMALLEST


def letter_of(kind: str) -> str:
    """M or V for a line too short for its dashes; nothing for other lines."""
    return _LETTER.get(kind, "")


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
