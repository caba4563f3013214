"""A target in its sheet, with the lines to blame if nothing was constructed."""

from __future__ import annotations

from collections.abc import Iterable

from verify.exact.plane import Point
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.pattern.source import printable
from verify.show.labels import Labels
from verify.show.page import XY, box_of, fitted
from verify.show.scene import title_of
from verify.show.surface import Key, band, key, name
from verify.show.svg import Canvas

_AREA = 0.0, 0.0, 170.0, 170.0
_BLAMED = Key("rail", "lines to blame")


def blamed_svg(document: Document, lines: Iterable[tuple[str, str]]) -> str:
    """The document's sheet and target as SVG, not to scale, in floats; `lines` between named points have rails and
    names, others are left out.
    """
    drawing = draw(document)
    at = fitted(box_of(map(_rounded, drawing.loops[0])), _AREA)
    loops = [[at(_rounded(place)) for place in loop] for loop in drawing.loops]
    places = {name: at(_rounded(place)) for name, place in drawing.places.items()}
    blamed = [pair for pair in lines if all(end in places for end in pair)]
    canvas, labels = Canvas(), Labels()
    canvas.fill(loops, "front")
    canvas.reach(p for loop in loops for p in loop)
    walks = [[places[end] for end in pair] for pair in blamed]
    canvas.lines(walks, "rail")
    canvas.lines(walks, "bed")
    target = [[places[end] for end in pair] for pair in document.target_lines()]
    band(canvas, target)
    canvas.lines(loops, "outline", closed=True)
    labels.avoid_lines(target)
    for end in dict.fromkeys(end for pair in blamed for end in pair):
        name(canvas, labels, places[end], printable(end), need=True)
    for entry in (key("outline"), key("target"), _BLAMED):
        canvas.key(entry)
    return canvas.svg(
        title_of(document), "no pattern: lines to blame; not to scale", f"{len(blamed)} lines are marked."
    )


def _rounded(place: Point) -> XY:
    return XY(float(place.x), float(place.y))
