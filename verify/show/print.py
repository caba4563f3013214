"""Drawing for paper: grey lines and embedded lettering on a PDF page, measured in millimetres, y up.

The fonts are Bitstream Vera, which reportlab ships under a licence that allows embedding. A character that they lack
comes from DejaVu Sans where that is installed, and is else written as its code point, never left out.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import cache
from math import ceil
from pathlib import Path
from typing import Any, Unpack

import reportlab
from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFError, TTFont

from verify.show.page import XY, Box, box_of
from verify.show.style import PRINT, PRINT_STRIPES, PRINT_TEXTURES, STYLES
from verify.show.surface import TEXT, Anchor, Key, Stroke, Surface, Walks

REGULAR, BOLD, _SPARE = "Vera", "VeraBd", "DejaVuSans"
_BOW = 0.22
_HEAD, _LEAST_HEAD, _OF_ARROW = 2.6, 1.1, 0.3  # how long an arrow's head is: at most, at least, of the whole arrow


@cache
def _glyphs(name: str) -> Mapping[int, int]:
    """The characters of a font, which is read when it is first wanted; none where it is not installed."""
    file = f"{name}.ttf"
    if name != _SPARE:
        file = str(Path(reportlab.__file__).parent / "fonts" / file)  # a bare name would be asked for as a URL, too
    try:
        font = TTFont(name, file)
    except TTFError:
        return {}
    pdfmetrics.registerFont(font)
    glyphs: Mapping[int, int] = font.face.charToGlyph
    return glyphs


def runs_of(words: str, font: str = REGULAR) -> Iterator[tuple[str, str]]:
    """The text in stretches of one font each; what no font has as its code point."""
    glyphs, here, gathered = _glyphs(font), font, ""
    for character in words:
        home, shown = font, character
        if ord(character) not in glyphs:
            if ord(character) in _glyphs(_SPARE):
                home = _SPARE
            else:
                shown = f"[U+{ord(character):04X}]"
        if home != here and gathered:
            yield here, gathered
            gathered = ""
        here, gathered = home, gathered + shown
    if gathered:
        yield here, gathered


def width_of(words: str, size: float, font: str = REGULAR) -> float:
    """How wide a text is, in the unit of `size`."""
    return float(sum(pdfmetrics.stringWidth(part, name, size) for name, part in runs_of(words, font)))


def shortened(words: str, width: float, size: float) -> str:
    """The text, or as much of its beginning as fits, with an ellipsis."""
    if width_of(words, size) <= width:
        return words
    kept = words[:400]
    while kept and width_of(kept + "…", size) > width:
        kept = kept[:-1]
    return kept.rstrip() + "…"


class Pen(Surface):
    """A reportlab canvas as a surface. Everything is grey."""

    def __init__(self, canvas: Any) -> None:
        self.canvas = canvas
        self._paths: dict[object, Any] = {}
        _glyphs(REGULAR)

    @contextmanager
    def in_mm(self) -> Iterator[None]:
        self.canvas.saveState()
        self.canvas.scale(mm, mm)
        yield
        self.canvas.restoreState()

    def lines(self, walks: Walks, kind: str, **how: Unpack[Stroke]) -> None:
        if self._stroke(kind, how.get("width"), how.get("dashes")):
            for walk in walks:
                self.canvas.drawPath(self._path([walk], how.get("closed", False)), stroke=1, fill=0)

    def fill(self, loops: Walks, kind: str | None, texture: str | None = None, opacity: float | None = None) -> None:
        """A hair of the same grey runs round the area, so that neighbours leave no seam."""
        loops = list(loops)
        colour = PRINT_TEXTURES.get(texture or "")
        if colour is None and kind:
            colour = PRINT.get(STYLES[kind].fill or "")
        if colour is not None and not (kind and STYLES[kind].opacity < 1):
            self.canvas.setStrokeGray(_grey(colour))
            self.canvas.setFillGray(_grey(colour))
            self.canvas.setLineWidth(0.05)
            self.canvas.setDash([])
            self.canvas.drawPath(self._path(loops, True), stroke=1, fill=1, fillMode=0)
        if texture in PRINT_STRIPES:
            with self.group(clip=loops):
                self.lines(_stripes(box_of(p for loop in loops for p in loop), PRINT_STRIPES[texture]), "stripe")

    def curve(self, start: XY, one: XY, two: XY, end: XY, kind: str) -> None:
        """A cubic curve with the control points `one` and `two`."""
        if self._stroke(kind):
            path = self.canvas.beginPath()
            path.moveTo(*start)
            path.curveTo(*one, *two, *end)
            self.canvas.drawPath(path, stroke=1, fill=0)

    def disc(self, at: XY, radius: float, kind: str) -> None:
        fill = PRINT.get(STYLES[kind].fill or "")
        stroked = self._stroke(kind)
        if fill:
            self.canvas.setFillGray(_grey(fill))
        self.canvas.circle(at.x, at.y, radius, stroke=int(stroked), fill=int(fill is not None))

    def write(self, at: XY, words: str, size: float = TEXT, kind: str = "text", anchor: Anchor = "start") -> None:
        """A `halo` is a little white ground."""
        font = BOLD if STYLES[kind].bold else REGULAR
        wide = width_of(words, size, font)
        x = at.x - wide * {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor]
        if kind == "halo":
            self.canvas.setFillGray(_grey(PRINT["ground"]))
            self.canvas.rect(x - 0.2, at.y - 0.25 * size, wide + 0.4, 1.05 * size, stroke=0, fill=1)
            return
        self.canvas.setFillGray(_grey(PRINT[STYLES[kind].fill or "ink"]))
        for name, part in runs_of(words, font):
            self.canvas.setFont(name, size)
            self.canvas.drawString(x, at.y, part)
            x += pdfmetrics.stringWidth(part, name, size)

    def measure(self, words: str, size: float = TEXT) -> float:
        return width_of(words, size)

    @contextmanager
    def group(self, clip: Walks | None = None, key: str = "", **attributes: object) -> Iterator[None]:
        self.canvas.saveState()
        if clip is not None:
            self.canvas.clipPath(self._path(clip, True), stroke=0, fill=0)
        yield
        self.canvas.restoreState()

    def reach(self, places: Iterable[XY], margin: float = 0.0) -> None:
        """Nothing: a page has its size."""

    def key(self, entry: Key) -> None:
        """Nothing: a page has a legend of its own."""

    def _stroke(self, kind: str, width: float | None = None, dashes: Sequence[float] | None = None) -> bool:
        """Take up the stroke of a class; False where print has no ink for it."""
        style = STYLES[kind]
        colour = PRINT.get(style.stroke or "")
        if colour is None:
            return False
        self.canvas.setStrokeGray(_grey(colour))
        self.canvas.setLineWidth(style.width if width is None else width)
        self.canvas.setDash(list(style.dashes if dashes is None else dashes))
        self.canvas.setLineJoin(1)
        self.canvas.setLineCap(int(style.cap == "round"))
        return True

    def _path(self, walks: Walks, closed: bool) -> Any:
        """A path of a drawing is written once: writing numbers takes longest."""
        key = tuple(map(tuple, walks)), closed
        if key not in self._paths:
            path = self._paths[key] = self.canvas.beginPath()
            for first, *others in key[0]:
                path.moveTo(*first)
                for p in others:
                    path.lineTo(*p)
                if closed:
                    path.close()
        return self._paths[key]


def _bowed(start: XY, end: XY, bow: float) -> XY:
    """The control point of a bowed arrow."""
    straight = start.between(end)
    return XY(straight.x - (end.y - start.y) * bow * 2, straight.y + (end.x - start.x) * bow * 2)


def arrow_walk(start: XY, end: XY) -> list[XY]:
    """A bowed arrow as a few straight strokes, which names avoid."""
    middle = _bowed(start, end, _BOW)
    parts = [k / 8 for k in range(9)]
    return [start.between(middle, t).between(middle.between(end, t), t) for t in parts]


def arrow(pen: Pen, start: XY, end: XY, behind: bool = False, bow: float = _BOW) -> None:
    """A bowed arrow; behind: dashed with an open head."""
    if start.distance(end) < 1e-6:
        return
    middle = _bowed(start, end, bow)
    one, two = start.between(middle, 2 / 3), end.between(middle, 2 / 3)
    pen.curve(start, one, two, end, "arrow-behind" if behind else "arrow")
    along, size = middle.direction(end), min(_HEAD, max(_LEAST_HEAD, _OF_ARROW * start.distance(end)))
    head = [end.offset(along, -size, -0.4 * size), end, end.offset(along, -size, 0.4 * size)]
    pen.fill([head], "arrow-head-behind" if behind else "arrow-head")
    pen.lines([head], "arrow-head", closed=True)


def _stripes(box: Box, apart: float) -> Iterator[list[XY]]:
    """Slanting lines across a box, so far apart from left to right."""
    left, low, right, high = box
    for k in range(1, ceil((right - left + high - low) / apart)):
        foot = left - (high - low) + k * apart
        start, end = max(left, foot), min(right, foot + high - low)
        yield [XY(start, low + start - foot), XY(end, low + end - foot)]


def _grey(colour: str) -> float:
    return int(colour[1:3], 16) / 255
