"""Figures at the edges of their sheet: lines that lie there are cut already, and no paper beyond is in a fold's way."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from itertools import combinations
from typing import Literal, NamedTuple

from verify.exact.number import Number
from verify.exact.plane import Point
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.pattern.limits import Limits

Edge = Literal["left", "right", "bottom", "top"]
Ends = Mapping[Edge, "_End"]
_AXES: tuple[tuple[Edge, Edge], ...] = (("left", "right"), ("bottom", "top"))


class _End(NamedTuple):
    """Where something ends along an axis: the value, and as it is written."""

    value: Number
    text: str


def at_edges(document: Document, limits: Limits = Limits()) -> Iterator[tuple[Document, tuple[Edge, ...]]]:
    """The document with less paper, and the edges on which its sheet then ends at the target. Its creases are left out.

    First one edge, then two, and so on, each where a line of the target comes to lie along it; at last, if there are
    such, all that are free. Nothing if the sheet is no upright rectangle, or if the target is more than closed outlines
    or says where the figure is: then the paper beyond may belong to it. Exact; raises `Malformed`, `LimitReached`.
    """
    if not document.loops or document.paths or document.figure or document.holes:
        return
    document = replace(document, creases=(), raw=None)
    places = draw(document, limits).places
    lines = document.target_lines()
    sheet = _ends(document, places, document.outline)
    target = _ends(document, places, [name for line in lines for name in line])
    corners = {Point(sheet[x].value, sheet[y].value) for x in _AXES[0] for y in _AXES[1]}
    if len(document.outline) != 4 or {places[name] for name in document.outline} != corners:
        return
    free = [edge for edge in sheet if sheet[edge].value != target[edge].value]
    straight = [
        edge
        for axis, edges in enumerate(_AXES)
        for edge in edges
        if edge in free and any(places[a][axis] == places[b][axis] == target[edge].value for a, b in lines)
    ]
    some = [edges for size in range(1, len(straight) + 1) for edges in combinations(straight, size)]
    for edges in dict.fromkeys([*some, tuple(free)] if some else []):
        yield _with_sheet(document, places, sheet, {edge: target[edge] for edge in edges}), edges


def _ends(document: Document, places: Mapping[str, Point], names: tuple[str, ...] | list[str]) -> dict[Edge, _End]:
    found = {}
    for axis, (low, high) in enumerate(_AXES):
        along = sorted(names, key=lambda name: places[name][axis])
        for edge, name in ((low, along[0]), (high, along[-1])):
            found[edge] = _End(places[name][axis], document.points[name][axis])
    return found


def _with_sheet(document: Document, places: Mapping[str, Point], sheet: Ends, other: Ends) -> Document:
    """The document with other ends of its sheet. A corner that comes onto a point of the target has its name."""
    ends = {**sheet, **other}
    target = {places[name]: name for line in document.target_lines() for name in line}
    points = {name: document.points[name] for name in target.values()}
    outline = []
    for corner in document.outline:
        x, y = (low if places[corner][axis] == sheet[low].value else high for axis, (low, high) in enumerate(_AXES))
        name = target.get(Point(ends[x].value, ends[y].value), corner)
        points.setdefault(name, (ends[x].text, ends[y].text))
        outline.append(name)
    return replace(document, points=points, outline=tuple(outline))
