"""What a picture is drawn on: strokes, fills, texts in page mm, y up. `svg`, `print` carry them out.

A picture is a function that draws on a surface, whichever it is. Here is also what every kind of picture shares: target
bands, fold lines with dashes that read, names, the scissors, the legend.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal, Protocol, TypedDict, Unpack

from verify.show.labels import Labels
from verify.show.page import XY, Box, box_of, corners_of
from verify.show.style import KEY_WORDS, LETTERS, fitted_dashes

Walks = Iterable[Sequence[XY]]
Anchor = Literal["start", "middle", "end"]
TEXT = 3.0
NAMES = 2.7
_KEY_TEXT = 2.5
_BESIDE = 2.0  # how far from its spot a name still is beside it


class Stroke(TypedDict, total=False):
    """How lines are drawn, where it is not as the style of their class says; `closed`: back to where they begin."""

    closed: bool
    width: float | None
    dashes: Sequence[float] | None
    opacity: float | None


class Surface(Protocol):
    """A page in millimetres. `zoom` magnifies what is written. Kinds are the classes of the style table."""

    zoom: float = 1.0

    def lines(self, walks: Walks, kind: str, **how: Unpack[Stroke]) -> None:
        """Each walk as a line."""

    def fill(self, loops: Walks, kind: str | None, texture: str | None = None, opacity: float | None = None) -> None:
        """Closed loops as one area (even-odd): with the fill of a class, then with a texture, if there is one."""

    def disc(self, at: XY, radius: float, kind: str) -> None:
        """A circle with the stroke and the fill of a class."""

    def write(self, at: XY, words: str, size: float = TEXT, kind: str = "text", anchor: Anchor = "start") -> None:
        """Text on a base line, magnified by `zoom`."""

    def measure(self, words: str, size: float = TEXT) -> float:
        """How wide a text is with `zoom`."""

    def group(self, clip: Walks | None = None, key: str = "", **attributes: object) -> AbstractContextManager[None]:
        """What is drawn within belongs together, and is clipped to loops if there are any; `key` names the clip."""

    def reach(self, places: Iterable[XY], margin: float = 0.0) -> None:
        """Let the picture be large enough for these places."""

    def key(self, entry: Key) -> None:
        """An entry of the picture's legend, once."""


def band(surface: Surface, walks: Sequence[Sequence[XY]], small: bool = False) -> None:
    """Target lines: a broad soft band with a fine dark line in its middle, which is the line to cut."""
    if walks:
        surface.lines(walks, "target", width=1.0 if small else None)
        surface.lines(walks, "core", width=0.15 if small else None)


def folds(surface: Surface, walks: Iterable[Sequence[XY]], kind: str, width: float | None = None) -> list[XY]:
    """Fold lines, each with several dashes; the middles of those too short for that, which want their letter."""
    short = []
    for walk in walks:
        long = sum(a.distance(b) for a, b in pairwise(walk))
        dashes, reads = fitted_dashes(kind, long)
        surface.lines([walk], kind, width=width, dashes=dashes)
        if not reads and kind in LETTERS:
            short.append(walk[0].between(walk[-1]))
    return short


def name(
    surface: Surface, labels: Labels, at: XY, words: str, *, need: bool = False, away: float = 1.3, size: float = NAMES
) -> bool:
    """A name beside its place if there is room (or, with `need`, where it hides least); whether it was written."""
    wide, high = name_size(surface, words, size)
    corner = labels.place(at, wide, high, away, need)
    if corner is None:
        return False
    surface.reach([corner, XY(corner.x + wide, corner.y + high)])
    write_name(surface, corner, words, size)
    return True


def name_size(surface: Surface, words: str, size: float = NAMES) -> tuple[float, float]:
    """How wide and how high the box of a name is."""
    return surface.measure(words, size) + 0.8, size * surface.zoom * 1.15


def write_name(surface: Surface, corner: XY, words: str, size: float = NAMES) -> None:
    """A name on its little ground, in a box with this lower left corner."""
    foot = XY(corner.x + 0.4, corner.y + 0.28 * (size * surface.zoom))
    surface.write(foot, words, size, "halo")
    surface.write(foot, words, size)


def lead(surface: Surface, labels: Labels, spot: XY) -> bool:
    """A thin line from the last name to its spot, if that is not just beside it; whether it was drawn."""
    x0, y0, x1, y1 = labels.boxes[-1]
    near = XY(min(max(spot.x, x0), x1), min(max(spot.y, y0), y1))
    if near.distance(spot) <= _BESIDE:
        return False
    surface.lines([[near, spot]], "rim", width=0.15)
    labels.avoid_lines([[near, spot]], heavy=True)
    return True


def scissors(surface: Surface, start: XY, towards: XY) -> None:
    """A pair of scissors at the start of the cut, pointing along it."""
    along = start.direction(towards)

    def at(x: float, y: float) -> XY:
        return start.offset(along, 0.9 * x, 0.9 * y)

    for side in (1, -1):
        blade = [at(-4, 1.4 * side), at(4.2, -0.5 * side), at(-3.2, -0.4 * side)]
        surface.fill([blade], "blade")
        surface.lines([blade], "blade", closed=True)
    for side in (1, -1):
        surface.disc(at(-5.6, 1.8 * side), 1.3, "blade")
    surface.reach([at(-8, 0)], 3)


def scissors_box(start: XY, towards: XY) -> Box:
    """What the pair of scissors covers."""
    along = start.direction(towards)
    return box_of(start.offset(along, x, y) for x in (-6.5, 4.0) for y in (-3.0, 3.0))


@dataclass(frozen=True)
class Key:
    """An entry of the legend: a line or a little piece of paper of some class, and what it means."""

    kind: str
    words: str
    texture: str | None = None
    shades: bool = False

    def draw(self, surface: Surface, left: float, y: float) -> None:
        """The sign, 10 mm wide, its middle at height y."""
        walk = [XY(left, y), XY(left + 10, y)]
        box = left + 0.5, y - 1.8, left + 9.5, y + 1.8
        match self.kind:
            case "target":
                band(surface, [walk])
            case "rail":
                surface.lines([walk], "rail")
                surface.lines([walk], "bed")
            case "letters":
                surface.write(XY(left + 5, y - 0.9), ", ".join(LETTERS.values()), _KEY_TEXT, anchor="middle")
            case "ring":
                surface.disc(XY(left + 5, y), 1.7, "ring")
            case "tie":
                surface.lines([[XY(left + x, y - 2), XY(left + x, y + 2)] for x in (3, 7)], "tie")
            case "front" | "back" | "clear":
                surface.fill([corners_of(box)], self.kind, self.texture)
                for k, shade in enumerate((0.34, 0.17, 0.0) if self.shades else ()):
                    part = box[0] + 3 * k, box[1], box[0] + 3 * k + 3, box[3]
                    surface.fill([corners_of(part)], "shade", opacity=shade)
                surface.lines([corners_of(box)], "rim", closed=True)
            case _:
                surface.lines([walk], self.kind, dashes=fitted_dashes(self.kind, 10.0)[0])


def key(kind: str) -> Key:
    """The legend's entry for a kind of line, in the words that every legend uses."""
    return Key(kind, KEY_WORDS[kind])


def legend(surface: Surface, keys: Sequence[Key], left: float, right: float, y: float, row: float = 5.2) -> float:
    """The entries in rows from y downwards; the height of the last row."""
    x = left
    for entry in keys:
        wide = 12.5 + surface.measure(entry.words, _KEY_TEXT) + 4
        if x > left and x + wide - 4 > right:
            x, y = left, y - row
        entry.draw(surface, x, y)
        surface.write(XY(x + 12, y - 0.9), entry.words, _KEY_TEXT)
        x += wide
    return y
