"""Drawing for paper: grey lines and embedded lettering on a PDF page, measured in millimetres, y up.

The fonts are Bitstream Vera, which reportlab ships under a licence that allows embedding. A character that they lack comes from
DejaVu Sans (their descendant) where that is installed, and is else written as its code point, never left out.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from functools import cache
from math import hypot
from typing import Any

from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFError, TTFont

from verify.show.scene import XY

REGULAR, BOLD, _SPARE = "Vera", "VeraBd", "DejaVuSans"
INK, SOFT, BAND, BACK, WHITE = 0.0, 0.4, 0.72, 0.82, 1.0

# class: width in mm, dashes in mm, grey (0 is black). Valley dashed, mountain dash-dotted, as in the pictures.
LINES: dict[str, tuple[float, tuple[float, ...], float]] = {
    "outline": (0.6, (), INK),
    "rim": (0.3, (), INK),
    "mountain": (0.35, (4.0, 1.1, 0.7, 1.1), INK),
    "valley": (0.35, (2.0, 1.3), INK),
    "either": (0.5, (0.3, 1.3), INK),
    "guide": (0.15, (), SOFT),
    "band": (1.6, (), BAND),
    "core": (0.2, (), INK),
    "cut": (0.7, (), INK),
    "thin": (0.12, (), SOFT),
    "frame": (0.12, (0.6, 0.9), SOFT),
    "arrow": (0.45, (), INK),
    "arrow-behind": (0.45, (1.2, 0.9), INK),
    "rail": (1.4, (), SOFT),
}


@cache
def _faces() -> dict[str, TTFont]:
    found = {}
    for name, file in ((REGULAR, "Vera.ttf"), (BOLD, "VeraBd.ttf"), (_SPARE, "DejaVuSans.ttf")):
        try:
            found[name] = TTFont(name, file)
        except TTFError:
            continue
        pdfmetrics.registerFont(found[name])
    return found


def runs_of(words: str, font: str = REGULAR) -> Iterator[tuple[str, str]]:
    """The text in stretches of one font each; what no font has as its code point."""
    faces = _faces()
    here, gathered = font, ""
    for character in words:
        home, shown = font, character
        if ord(character) not in faces[font].face.charToGlyph:
            if _SPARE in faces and ord(character) in faces[_SPARE].face.charToGlyph:
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


def shortened(words: str, width: float, size: float, font: str = REGULAR) -> str:
    """The text, or as much of its beginning as fits, with an ellipsis."""
    if width_of(words, size, font) <= width:
        return words
    kept = words[:400]
    while kept and width_of(kept + "…", size, font) > width:
        kept = kept[:-1]
    return kept.rstrip() + "…"


class Pen:
    """A reportlab canvas in millimetres, its origin moved to `at`. Everything is grey."""

    def __init__(self, canvas: Any) -> None:
        self.canvas = canvas
        _faces()

    @contextmanager
    def moved(self, x: float, y: float, scale: float = 1.0) -> Iterator[None]:
        """Draw with the origin at a place of the page (in points), millimetres magnified by `scale`."""
        self.canvas.saveState()
        self.canvas.translate(x, y)
        self.canvas.scale(mm * scale, mm * scale)
        yield
        self.canvas.restoreState()

    @contextmanager
    def clipped(self, loops: Iterable[Sequence[XY]]) -> Iterator[None]:
        self.canvas.saveState()
        self.canvas.clipPath(self._path(loops, True), stroke=0, fill=0)
        yield
        self.canvas.restoreState()

    def style(self, kind: str, width: float | None = None) -> None:
        wide, dashes, grey = LINES[kind]
        self.canvas.setLineWidth(wide if width is None else width)
        self.canvas.setDash(list(dashes))
        self.canvas.setStrokeGray(grey)
        self.canvas.setLineJoin(1)
        self.canvas.setLineCap(0)

    def _path(self, walks: Iterable[Sequence[XY]], closed: bool) -> Any:
        path = self.canvas.beginPath()
        for walk in walks:
            path.moveTo(*walk[0])
            for p in walk[1:]:
                path.lineTo(*p)
            if closed:
                path.close()
        return path

    def lines(self, walks: Iterable[Sequence[XY]], kind: str, closed: bool = False, width: float | None = None) -> None:
        """Each walk as a line of its own."""
        self.style(kind, width)
        for walk in walks:
            self.canvas.drawPath(self._path([walk], closed), stroke=1, fill=0)

    def fill(self, loops: Iterable[Sequence[XY]], grey: float) -> None:
        """Closed loops filled (even-odd), with a hair of the same grey round them, so that neighbours leave no seam."""
        self.style("thin", 0.05)
        self.canvas.setStrokeGray(grey)
        self.canvas.setFillGray(grey)
        self.canvas.drawPath(self._path(loops, True), stroke=1, fill=1, fillMode=0)

    def text(self, x: float, y: float, words: str, size: float, anchor: str = "start", font: str = REGULAR) -> None:
        """Text on a base line."""
        x -= width_of(words, size, font) * {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor]
        self.canvas.setFillGray(INK)
        for name, part in runs_of(words, font):
            self.canvas.setFont(name, size)
            self.canvas.drawString(x, y, part)
            x += pdfmetrics.stringWidth(part, name, size)

    def label(self, x: float, y: float, words: str, size: float) -> None:
        """Text on a little white ground."""
        wide = width_of(words, size)
        self.canvas.setFillGray(WHITE)
        self.canvas.rect(x - 0.2, y - 0.25 * size, wide + 0.4, 1.05 * size, stroke=0, fill=1)
        self.text(x, y, words, size)

    def circle(self, at: XY, radius: float, kind: str = "rim", grey: float | None = None) -> None:
        self.style(kind)
        if grey is not None:
            self.canvas.setFillGray(grey)
        self.canvas.circle(at.x, at.y, radius, stroke=1, fill=int(grey is not None))

    def band(self, walks: Sequence[Sequence[XY]], narrow: bool = False) -> None:
        """Target lines: a broad grey band with a fine black line in its middle, which is the line to cut."""
        self.lines(walks, "band", width=1.0 if narrow else None)
        self.lines(walks, "core", width=0.15 if narrow else None)

    def arrow(self, start: XY, end: XY, behind: bool = False, bow: float = 0.22) -> None:
        """A bowed arrow; behind: dashed with an open head."""
        dx, dy = end.x - start.x, end.y - start.y
        long = hypot(dx, dy)
        if long < 1e-6:
            return
        middle = XY((start.x + end.x) / 2 - dy * bow * 2, (start.y + end.y) / 2 + dx * bow * 2)
        self.style("arrow-behind" if behind else "arrow")
        path = self.canvas.beginPath()
        path.moveTo(*start)
        one = XY(start.x + (middle.x - start.x) * 2 / 3, start.y + (middle.y - start.y) * 2 / 3)
        two = XY(end.x + (middle.x - end.x) * 2 / 3, end.y + (middle.y - end.y) * 2 / 3)
        path.curveTo(*one, *two, *end)
        self.canvas.drawPath(path, stroke=1, fill=0)
        ux, uy = end.x - middle.x, end.y - middle.y
        n = hypot(ux, uy) or 1.0
        ux, uy = ux / n, uy / n
        size = 2.6
        wings = [
            XY(end.x - size * ux + side * 0.4 * size * uy, end.y - size * uy - side * 0.4 * size * ux)
            for side in (1, -1)
        ]
        head = [wings[0], end, wings[1]]
        self.fill([head], WHITE if behind else INK)
        self.lines([head], "arrow", closed=True, width=0.25)
