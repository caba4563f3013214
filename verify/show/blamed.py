"""A target in its sheet, with the lines for which nothing was constructed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from xml.sax.saxutils import escape

from verify.exact.plane import Point
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.show.style import LIGHT
from verify.show.svg import tag

_BLAMED = LIGHT["fault"]
_LETTERING = 40  # of the sheet's larger extent is one letter's height


def blamed_svg(document: Document, lines: Iterable[tuple[str, str]]) -> str:
    """An SVG drawing of the document's sheet and target, in its unit; `lines` between named points are thick,
    with the names. Others are left out. Floats: for people.
    """
    drawing = draw(document)
    places = {name: _at(place) for name, place in drawing.places.items()}
    outline = [_at(place) for place in drawing.loops[0]]
    left, low = (min(values) for values in zip(*outline, strict=True))
    width, height = (max(values) - min(values) for values in zip(*outline, strict=True))
    size = max(width, height) / _LETTERING
    parts = [
        _walk([_at(place) for place in loop], stroke=LIGHT["ink"], stroke_width=size / 20) for loop in drawing.loops
    ]
    parts += [_line(places, pair, stroke=LIGHT["ink"], stroke_width=size / 10) for pair in document.target_lines()]
    named = [pair for pair in lines if all(name in places for name in pair)]
    parts += [_line(places, pair, stroke=_BLAMED, stroke_width=size / 3) for pair in named]
    for name in dict.fromkeys(name for pair in named for name in pair):
        x, y = places[name]
        words = {"font_size": size, "font_family": "sans-serif", "fill": _BLAMED}
        parts.append(tag("text", escape(name), x=x + size / 3, y=y - size / 3, **words))
    box = f"{left:g} {low:g} {width:g} {height:g}"
    return tag(
        "svg",
        tag("title", "Lines between which perpendiculars run without end"),
        *parts,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=box,
        width=f"{width:g}{document.unit}",
        height=f"{height:g}{document.unit}",
    )


def _at(place: Point) -> tuple[float, float]:
    """On the page, where y points down."""
    return float(place.x), -float(place.y)


def _line(places: dict[str, tuple[float, float]], pair: tuple[str, str], **style: object) -> str:
    (a, b), (c, d) = (places[name] for name in pair)
    return tag("line", x1=a, y1=b, x2=c, y2=d, **style)


def _walk(loop: Sequence[tuple[float, float]], **style: object) -> str:
    return tag("polygon", points=" ".join(f"{x:g},{y:g}" for x, y in loop), fill="none", **style)
