"""Figures at the edges of their sheet: lines that lie there are cut already, and no paper beyond is in a fold's way."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import combinations
from typing import Literal

from verify.exact.plane import Point
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.pattern.limits import Limits

Edge = Literal["left", "right", "bottom", "top"]
_EDGES: Mapping[Edge, tuple[int, int]] = {"left": (0, 0), "right": (0, -1), "bottom": (1, 0), "top": (1, -1)}
"""Of which axis each is an end, and which of its ends: the first or the last."""


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
    sheet = _ends(places, document.outline)
    target = _ends(places, [name for line in lines for name in line])
    corners = {Point(places[sheet[x]].x, places[sheet[y]].y) for x in ("left", "right") for y in ("bottom", "top")}
    if len(document.outline) != 4 or {places[name] for name in document.outline} != corners:
        return
    free = [edge for edge, (axis, _) in _EDGES.items() if places[sheet[edge]][axis] != places[target[edge]][axis]]
    straight = []
    for edge in free:
        axis, _ = _EDGES[edge]
        if any(places[a][axis] == places[b][axis] == places[target[edge]][axis] for a, b in lines):
            straight.append(edge)
    some = [edges for size in range(1, len(straight) + 1) for edges in combinations(straight, size)]
    for edges in dict.fromkeys([*some, tuple(free)] if some else []):
        yield _with_sheet(document, places, sheet, {edge: target[edge] for edge in edges}), edges


def _ends(places: Mapping[str, Point], names: Sequence[str]) -> dict[Edge, str]:
    """For each edge one of the points that are nearest to it."""
    along = [sorted(names, key=lambda name: places[name][axis]) for axis in (0, 1)]
    return {edge: along[axis][end] for edge, (axis, end) in _EDGES.items()}


def _with_sheet(
    document: Document, places: Mapping[str, Point], sheet: dict[Edge, str], other: dict[Edge, str]
) -> Document:
    """The document with other ends of its sheet. A corner that comes onto a point of the target has its name."""
    ends = sheet | other
    target = {places[name]: name for line in document.target_lines() for name in line}
    points = {name: document.points[name] for name in target.values()}
    outline = []
    for corner in document.outline:
        x = ends["left" if places[corner].x == places[sheet["left"]].x else "right"]
        y = ends["bottom" if places[corner].y == places[sheet["bottom"]].y else "top"]
        name = target.get(Point(places[x].x, places[y].y), corner)
        points.setdefault(name, (document.points[x][0], document.points[y][1]))
        outline.append(name)
    return replace(document, points=points, outline=tuple(outline))
