"""What the folded sheet needs, as linear equations on the coordinates of the drawing.

With the directions of the folds known, the turned parts of all reflections are known, and only the shifts depend on
where the lines lie: linearly. So do the closing of the folds round a hole and the places of the folded target lines.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

from verify.construct.coordinates.equations import Floats, Form, coordinate
from verify.exact.number import ONE, ZERO, Number
from verify.exact.plane import Point, around
from verify.folding.foldmap import IDENTITY, FoldMap, complex_product, direction_squared

Forms = tuple[Form, Form]


@dataclass(frozen=True)
class Folding:
    """A fold map, and the number of each point's x coordinate (y follows it)."""

    folded: FoldMap
    index: Mapping[str, int]

    def place(self, name: str) -> Forms:
        return coordinate(self.index[name]), coordinate(self.index[name] + 1)


@dataclass(frozen=True)
class _Image:
    """z → m·z + shift, or m·conj(z) + shift when `turned`, with a shift that depends on the coordinates."""

    m: Point
    shift: Forms
    turned: bool

    def __call__(self, place: Forms) -> Forms:
        x, y = _times(self.m, _conjugate(place) if self.turned else place)
        return x + self.shift[0], y + self.shift[1]

    def after_reflection(self, a: Forms, square: Point) -> _Image:
        m = complex_product(self.m, Point(square.x, -square.y) if self.turned else square)
        there = self(a)
        x, y = _times(m, a if self.turned else _conjugate(a))
        return _Image(m, (there[0] - x, there[1] - y), not self.turned)


def _times(m: Point, place: Forms) -> Forms:
    x, y = place
    return x.times(m.x) - y.times(m.y), x.times(m.y) + y.times(m.x)


def _conjugate(place: Forms) -> Forms:
    return place[0], place[1].times(Number.of(-1))


def fold_forms(folding: Folding, places: Floats, within: float, *, every_line: bool) -> list[Form]:
    """Forms that must be 0 for the folds to close and for target lines that fold near each other to fold onto one line.

    With `every_line` the same of all other lines too: folded edges that nearly cover each other were mostly meant to,
    and may trap the paper if they don't.

    `within`: how near, in the document's unit, at the float `places`. Edges whose turned parts disagree
    say nothing here: their directions are wrong, and no shift mends that.
    """
    s = folding.folded.subdivision
    creases = s.drawing.document.creases
    images = {0: _Image(IDENTITY.m, (Form({}), Form({})), False)}
    forms: list[Form] = []
    queue = [0]
    crossed: set[int] = set()
    for face in queue:
        here = images[face]
        for number in s.face_edges[face]:
            edge = s.edges[number]
            if edge.kind == "border" or number in crossed:
                continue
            crossed.add(number)
            other = edge.across(face)
            there = here
            if edge.is_fold and edge.crease is not None:
                square = direction_squared(s.vertices[edge.start], s.vertices[edge.end])
                there = here.after_reflection(folding.place(creases[edge.crease].start), square)
            known = images.get(other)
            if known is None:
                images[other] = there
                queue.append(other)
            elif known.turned == there.turned and known.m == there.m:
                forms += [a - b for a, b in zip(known.shift, there.shift, strict=True)]
    forms += _line_forms(folding, images, places, within, every_line)
    return [f for f in forms if f.factors and abs(f.at(places)) <= within * _size(f)]


def _size(form: Form) -> float:
    return max(1.0, max((abs(float(c)) for c in form.factors.values()), default=1.0))


def _line_forms(
    folding: Folding, images: Mapping[int, _Image], places: Floats, within: float, every_line: bool
) -> list[Form]:
    s = folding.folded.subdivision
    document = s.drawing.document
    lines = document.target_lines()
    groups: dict[Point, list[Form]] = defaultdict(list)
    on_border = {e: start for chain, start in _border_starts(folding) for e in chain}
    for number, edge in sorted(enumerate(s.edges), key=lambda pair: not pair[1].target):
        image = images.get(edge.left if edge.left >= 0 else edge.right)
        if image is None or not (edge.target or every_line):
            continue
        if edge.target:
            start = lines[edge.target[0]][0]
        elif edge.crease is not None:
            start = document.creases[edge.crease].start
        elif number in on_border:
            start = on_border[number]
        else:
            continue
        a, b = s.vertices[edge.start], s.vertices[edge.end]
        along = complex_product(image.m, Point(b.x - a.x, a.y - b.y if image.turned else b.y - a.y))
        normal = _canonical(Point(-along.y, along.x))
        x, y = image(folding.place(start))
        groups[normal].append(x.times(normal.x) + y.times(normal.y))
    forms = []
    for offsets in groups.values():
        rest = sorted(offsets, key=lambda f: f.at(places)) if every_line else offsets
        while rest:
            first, *rest = rest
            size = _size(first)
            near = [f for f in rest if abs(f.at(places) - first.at(places)) <= within * size]
            forms += [f - first for f in near]
            rest = [f for f in rest if f not in near]
    return forms


def _border_starts(folding: Folding) -> list[tuple[list[int], str]]:
    """The edges along each line of the sheet's outline and holes, and the name of the line's first corner."""
    s = folding.folded.subdivision
    document = s.drawing.document
    found = []
    for loop, chain in zip((document.outline, *document.holes), s.sheet_chains, strict=True):
        corners = {s.drawing.places[name]: name for name in loop}
        edges: list[int] = []
        at = next(i for i, v in enumerate(chain) if s.vertices[v] in corners)
        turned = [*chain[at:], *chain[:at]]
        start = corners[s.vertices[turned[0]]]
        for u, v in around(turned):
            edges.append(s.edge_at[u, v])
            if s.vertices[v] in corners:
                found.append((edges, start))
                edges, start = [], corners[s.vertices[v]]
    return found


def _canonical(normal: Point) -> Point:
    """The vector scaled so that parallel vectors are equal: x is 1, or x is 0 and y is 1."""
    return Point(ONE, normal.y / normal.x) if normal.x else Point(ZERO, ONE)
