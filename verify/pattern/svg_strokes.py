"""Strokes with a width as the outlines of what they paint, with what is filled.

Widths, joins, caps and the limit of mitres are those that the drawing states (SVG 1.1 §11.4). The outlines are found by
GEOS, through shapely (the optional extra `strokes`), in floats, and their corners rounded to `GRID` mm. Unlike there, a
corner past the limit of mitres is cut off at the limit.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from math import acos, ceil, pi, sqrt
from typing import Any

from verify.errors import optional
from verify.exact.number import Number
from verify.exact.plane import Point
from verify.pattern.svg_shapes import Shape
from verify.pattern.svg_style import dashes
from verify.pattern.svg_text import Misread, length, number, quoted

GRID = Fraction(1, 10_000)

_JOINS = {"miter": "mitre", "round": "round", "bevel": "bevel"}
_CAPS = {"butt": "flat", "round": "round", "square": "square"}


def painted(shape: Shape, flatten: Fraction | None) -> Any:
    """What the stroke of a shape paints, and its fill, as a geometry of shapely in mm.

    Raises `Misread` for what is not read: dashes, strokes that are wider one way than the other, and round joins and
    caps without a distance `flatten` within which lines may replace them.
    """
    shapely = optional("shapely", "strokes", "--strokes outline")
    style = shape.style.values
    if dashes(style["stroke-dasharray"]):
        raise Misread("a broken line", "an unbroken one, to outline its stroke", unsupported=True)
    width = stroke_width(shape)
    join, cap = _known(style, "stroke-linejoin", _JOINS), _known(style, "stroke-linecap", _CAPS)
    segments = 1
    if "round" in (join, cap):
        if flatten is None:
            expected = "straight ones, or a distance within which lines may replace curves (flatten)"
            raise Misread("round joins or caps", expected, unsupported=True)
        most = min(float(flatten) / (width / 2), 1.0)
        segments = max(1, ceil(pi / 4 / acos(1 - most)))
    how = {"cap_style": cap, "join_style": join, "mitre_limit": float(number(style["stroke-miterlimit"]))}
    parts = []
    rings = []
    for chain in shape.chains:
        places = [tuple(map(float, place)) for place in chain.points]
        closed = chain.closed or (len(places) > 3 and places[0] == places[-1])
        if len(set(places)) < 2:
            continue
        line = shapely.LinearRing(places) if closed and len(set(places)) > 2 else shapely.LineString(places)
        parts.append(shapely.buffer(line, width / 2, quad_segs=segments, **how))
        if len(set(places)) > 2:
            rings.append(shapely.make_valid(shapely.Polygon(places)))
    if shape.style.filled:
        if _known(style, "fill-rule", {"nonzero": "nonzero", "evenodd": "evenodd"}) == "nonzero" and len(rings) > 1:
            raise Misread("several outlines that are filled and stroked", "fill-rule: evenodd", unsupported=True)
        filled = shapely.Polygon()
        for ring in rings:
            filled = filled.symmetric_difference(ring)
        parts.append(filled)
    return shapely.union_all(parts)


def outlines(areas: Iterable[Any]) -> list[list[Point]]:
    """The outlines of some areas taken together, their corners rounded to `GRID`."""
    shapely = optional("shapely", "strokes", "--strokes outline")
    whole = shapely.union_all(list(areas), grid_size=float(GRID))
    found = []
    for area in getattr(whole, "geoms", [whole]):
        for ring in (area.exterior, *area.interiors):
            places = [Point(*(Number.of(round(Fraction(x) / GRID) * GRID) for x in place)) for place in ring.coords]
            found.append(places[:-1])
    return found


def stroke_width(shape: Shape) -> float:
    """How wide the stroke of a shape is, in mm. Raises `Misread` if it is wider one way than the other."""
    return float(length(shape.style.values["stroke-width"])) * _scale(shape)


def _known(style: Any, key: str, values: dict[str, str]) -> str:
    value = style[key].strip().lower()
    if value not in values:
        raise Misread(f"{key} {quoted(style[key])}", f"one of {', '.join(values)}", unsupported=True)
    return values[value]


def _scale(shape: Shape) -> float:
    """How much longer lines are in mm than in the element's own units."""
    a, b, c, d = (float(x) for x in shape.within.matrix[:4])
    across, along = a * a + b * b, c * c + d * d
    if abs(a * c + b * d) > 1e-9 * across or abs(across - along) > 1e-9 * across:
        raise Misread(
            "a stroke that is wider one way than the other", "a transform that keeps angles", unsupported=True
        )
    return sqrt(across)
