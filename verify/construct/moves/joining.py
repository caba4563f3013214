"""What nearly meets in a drawing and was meant to: ends, corners, outlines, lines, the sheet's edge.

Points of the target within a stated distance of each other are taken for one; one that is that near to a line of the
target or to an edge of the sheet is put on it; an outline or a line that is there twice is taken once. What was done is
said in the document's notes. Lines that then close, end to end, are one outline. Distances are compared exactly.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import numpy as np

from verify.construct.coordinates.written import exact_texts
from verify.exact.number import Number
from verify.exact.plane import Point, difference, dot, length, line_meeting, locate, on_segment, polygon_is_simple
from verify.pattern.document import Document
from verify.pattern.drawing import Drawing, draw

_ROUGH = 1 + 1e-6  # of a distance: what floats may be off by


def joined_ends(document: Document, within: Fraction) -> Document:
    """The document with what is at most `within` (in its unit) apart joined, the nearest first: loose ends with each
    other, then with corners of the target, then corners; then points with lines. Open lines that close are an outline.

    The two ends of one line are never joined. Raises `Malformed` as `draw` does.
    """
    while within > 0:
        drawing = draw(document)
        pair = _nearest(drawing, within)
        if pair is None:
            break
        document = _merged(document, drawing.places, *pair)
    while within > 0:
        drawing = draw(document)
        beside = _beside_a_line(drawing, within)
        if beside is None:
            break
        document = _put(drawing, *beside)
    return closed_lines(_once(document, draw(document).places) if within > 0 else document)


class _Net:
    """The places of the target, the lines at each, and which of the places are loose ends."""

    def __init__(self, drawing: Drawing) -> None:
        places, document = drawing.places, drawing.document
        self.lines = [(places[a], places[b]) for a, b in document.target_lines() if places[a] != places[b]]
        self.named: dict[Point, str] = {}
        self.beside: dict[Point, set[Point]] = {}
        for a, b in document.target_lines():
            if places[a] != places[b]:
                for name, far in ((a, b), (b, a)):
                    self.named.setdefault(places[name], name)
                    self.beside.setdefault(places[name], set()).add(places[far])
        self.corners: set[Point] = set()
        for loop, names in zip(drawing.loops, (document.outline, *document.holes), strict=True):
            self.corners |= {*loop}
            for name in names:
                self.named.setdefault(places[name], name)
                self.beside.setdefault(places[name], set())
        self.edges = [(loop[i - 1], b) for loop in drawing.loops for i, b in enumerate(loop)]
        outline, *holes = drawing.loops
        self.loose = {
            place
            for place, ends in self.beside.items()
            if len(ends) == 1 and locate(place, outline) > 0 and all(locate(place, hole) < 0 for hole in holes)
        }
        self.places = list(self.beside)
        self.rough = np.array([[float(x) for x in place] for place in self.places]).reshape(-1, 2)


def nearest_end(drawing: Drawing, within: Fraction) -> tuple[str, str, float] | None:
    """The loose end that is nearest to a place where it may have been meant to be, that place, and how far it is; None
    if none is at most `within` (in the document's unit) from one.
    """
    found = _nearest(drawing, within)
    return None if found is None or not found[3] else found[:3]


def short_of_edge(drawing: Drawing, within: Fraction) -> tuple[str, str, float] | None:
    """The loose end that is nearest to an edge of the sheet, that edge, and how far it is; None if none is at most
    `within` (in the document's unit) from one. Floats.
    """
    net = _Net(drawing)
    found = []
    for place in net.loose:
        for a, b in net.edges:
            low, high, end = (np.array([float(x) for x in p]) for p in (a, b, place))
            share = np.clip((end - low) @ (high - low) / ((high - low) @ (high - low)), 0, 1)
            far = float(np.hypot(*(low + share * (high - low) - end)))
            if far <= within:
                found.append((far, net.named[place], f"{net.named[a]}–{net.named[b]}"))
    return None if not found else (min(found)[1], min(found)[2], min(found)[0])


def _nearest(drawing: Drawing, within: Fraction) -> tuple[str, str, float, bool] | None:
    """Two points that may have been meant to be one, the one that goes first, how far apart they are, and whether it is
    a loose end. Loose ends come before others.
    """
    net = _Net(drawing)
    most = Number.of(within * within)
    best: tuple[int, float, str, str] | None = None
    for i, place in enumerate(net.places):
        if place in net.corners:
            continue
        apart = np.hypot(*(net.rough - net.rough[i]).T)
        for j in np.flatnonzero(apart <= float(within) * _ROUGH):
            other = net.places[j]
            way = difference(other, place)
            if other == place or other in net.beside[place] or dot(way, way) > most:
                continue
            rank = 0 if {place, other} <= net.loose else 1 if place in net.loose else 2
            found = rank, length(place, other), net.named[place], net.named[other]
            best = found if best is None else min(best, found)
    return None if best is None else (best[2], best[3], best[1], best[0] < 2)


def _merged(document: Document, places: Mapping[str, Point], name: str, into: str, far: float, loose: bool) -> Document:
    """The document with one place taken for another wherever the target names a point there."""
    alike = {n for n, place in places.items() if place in (places[name], places[into])}

    def of(names: tuple[str, ...], closed: bool) -> tuple[str, ...]:
        now = [into if n in alike else n for n in names]
        return tuple(n for i, n in enumerate(now) if not (i or closed) or n != now[i - 1])

    loops = []
    paths = []
    for loop in (of(names, True) for names in document.loops):
        if len(loop) == len({*loop}) > 2:
            loops.append(loop)
        elif len(loop) > 1:  # it touches itself, or has no paper inside
            paths.append((*loop, loop[0]))
    for path in (of(names, False) for names in document.paths):
        if len(path) > 3 and path[0] == path[-1] and len({*path}) == len(path) - 1:
            loops.append(path[:-1])
        elif any(a != b for a, b in pairwise(path)):
            paths.append(path)
    one, other = document.told(name), document.told(into)
    note = f"the points {one} and {other} were taken for one, {far:.2g} {document.unit} apart"
    if loose:
        note = f"the loose end {one} was joined with {other}, {far:.2g} {document.unit} away"
    return replace(document, loops=tuple(loops), paths=tuple(paths), notes=(*document.notes, note), raw=None)


def _beside_a_line(drawing: Drawing, within: Fraction) -> tuple[Point, Point, tuple[Point, Point], bool] | None:
    """A point that is near to a line and not on it, where on the line it may have been meant to be, the line, and
    whether that is an edge of the sheet.
    """
    net = _Net(drawing)
    most = Number.of(within * within)
    for edge, lines in ((False, net.lines), (True, net.edges)):
        for a, b in lines:
            ends = np.array([[float(x) for x in p] for p in (a, b)])
            along = ends[1] - ends[0]
            share = np.clip((net.rough - ends[0]) @ along / (along @ along), 0, 1)
            off = np.hypot(*(ends[0] + share[:, None] * along - net.rough).T)
            for i in np.flatnonzero(off <= float(within) * _ROUGH):
                place = net.places[i]
                if place in net.corners or {a, b} & ({place} | net.beside[place]) or on_segment(place, a, b):
                    continue
                for there in _places_on(place, net.beside[place], a, b):
                    way = difference(there, place)
                    if on_segment(there, a, b) and dot(way, way) <= most:
                        return place, there, (a, b), edge
    return None


def _places_on(place: Point, beside: set[Point], a: Point, b: Point) -> Iterator[Point]:
    """Where a loose end's own line meets the line, and what of the line is nearest."""
    u = difference(b, a)
    if len(beside) == 1:
        (far,) = beside
        if difference(place, far).x * u.y != difference(place, far).y * u.x:
            yield line_meeting(far, place, a, b)
    share = dot(u, difference(place, a)) / dot(u, u)
    yield Point(a.x + share * u.x, a.y + share * u.y)


def _put(drawing: Drawing, place: Point, there: Point, line: tuple[Point, Point], edge: bool) -> Document:
    """The document with all its target's points at one place put on a line."""
    document = drawing.document
    names = [n for n, at in drawing.places.items() if at == place]
    points = dict(document.points) | dict.fromkeys(names, exact_texts(there))
    a, b = (next(n for n, at in drawing.places.items() if at == end) for end in line)
    what = "the sheet's edge" if edge else "the line"
    far = f"{length(place, there):.2g} {document.unit}"
    note = f"the point {document.told(names[0])} was put on {what} {a}–{b}, {far} away"
    return replace(document, points=points, notes=(*document.notes, note), raw=None)


def _once(document: Document, places: Mapping[str, Point]) -> Document:
    """The document without outlines and lines that are there twice."""
    notes = list(document.notes)
    known: set[frozenset[frozenset[Point]]] = set()

    def fresh(names: tuple[str, ...], closed: bool) -> bool:
        walk = (*names, names[0]) if closed else names
        lines = frozenset(frozenset((places[a], places[b])) for a, b in pairwise(walk))
        if lines in known:
            notes.append(f"what is drawn twice is taken once: {'–'.join(names[:6])}{'–…' if len(names) > 6 else ''}")
            return False
        known.add(lines)
        return True

    loops = tuple(loop for loop in document.loops if fresh(loop, True))
    paths = tuple(path for path in document.paths if fresh(path, False))
    if len(notes) == len(document.notes):
        return document
    return replace(document, loops=loops, paths=paths, notes=tuple(notes), raw=None)


def closed_lines(document: Document) -> Document:
    """The document with open lines that close taken for outlines: those that meet end to end, two at each end, and
    enclose a simple polygon. Raises `Malformed` as `draw` does.
    """
    places = draw(document).places
    at: dict[Point, list[int]] = {}
    for i, path in enumerate(document.paths):
        for name in (path[0], path[-1]):
            at.setdefault(places[name], []).append(i)
    loops: list[tuple[str, ...]] = []
    used: set[int] = set()
    for first, path in enumerate(document.paths):
        walk, taken = list(path), [first]
        while len(taken) <= len(document.paths) and places[walk[-1]] != places[walk[0]]:
            others = [i for i in at[places[walk[-1]]] if i != taken[-1]]
            if len(at[places[walk[-1]]]) != 2 or len(others) != 1:
                break
            following = document.paths[others[0]]
            walk += following[1:] if places[following[0]] == places[walk[-1]] else following[-2::-1]
            taken += others
        closes = places[walk[-1]] == places[walk[0]] and len(at[places[walk[0]]]) == 2
        if (
            closes
            and used.isdisjoint(taken)
            and len(walk) > 3
            and polygon_is_simple([places[n] for n in walk[1:]]) is None
        ):
            loops.append(tuple(walk[:-1]))
            used.update(taken)
    if not loops:
        return document
    paths = tuple(path for i, path in enumerate(document.paths) if i not in used)
    return replace(document, loops=(*document.loops, *loops), paths=paths, raw=None)
