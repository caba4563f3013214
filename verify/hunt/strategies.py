"""Hypothesis strategies for sheets, vertices, strips, maps, recipes, and patterns with a target.

All draw whole documents (or recipes) with exact numbers, and shrink towards few creases and small numbers. `near`: now
and then lengths and directions that differ by 10⁻³⁰ only, so that points nearly fall together, creases are nearly
parallel and angles are nearly equal (quite equal they often are anyway). What has no meaning as a drawing is never
drawn. Needs the optional extra `hunt`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import combinations, product
from math import gcd
from typing import Any, TypeVar

from hypothesis import assume, reject
from hypothesis import strategies as st
from hypothesis.strategies import DrawFn, SearchStrategy, composite

from verify.construct.creases.creases import Endless, Exhausted
from verify.construct.creases.propose import Proposal
from verify.construct.creases.propose import proposals as proposed
from verify.cutting.bending import cut_outline
from verify.cutting.outcome import pattern_of
from verify.exact.number import Number
from verify.exact.plane import (
    Point,
    around,
    compare_directions,
    cross_vectors,
    difference,
    direction_order,
    segment_meeting,
)
from verify.folding.alignments import UnsupportedAlignment
from verify.folding.foldmap import alternating_product, complex_product
from verify.folding.steps import carry_out
from verify.folding.vertex import Letter, foldable_assignments, vertex_reports
from verify.pattern.arrangement import subdivide
from verify.pattern.document import Crease, Document, Kind
from verify.pattern.drawing import draw as exact_drawing
from verify.pattern.families import stamps
from verify.pattern.families import strip as strip_of
from verify.pattern.limits import LimitReached, Limits
from verify.pattern.names import texts_of
from verify.pattern.recipe import Recipe, read_any
from verify.pattern.source import Malformed

TINY = Fraction(1, 10**30)
LIMITS = Limits(faces=200, degree=8, bits=2_000, work=1_000_000_000)
Documents = SearchStrategy[Document]
T = TypeVar("T")

_LETTERS: tuple[Letter, ...] = ("valley", "mountain")
_SMALL = sorted(
    ((x, y) for x, y in product(range(-3, 4), repeat=2) if gcd(x, y) == 1), key=lambda w: abs(w[0]) + abs(w[1])
)


def lengths(near: bool = False) -> SearchStrategy[Fraction]:
    """Positive lengths, small and often equal; `near`: 10⁻³⁰ among them, and what differs from others by so little."""
    plain = st.integers(1, 6).map(Fraction)
    if not near:
        return plain
    return st.one_of(plain, st.just(TINY), plain.map(lambda x: x + TINY), plain.map(lambda x: x - TINY))


def directions(near: bool = False) -> SearchStrategy[Point]:
    """Rational directions, those with small numbers first; `near`: turned by about 10⁻³⁰, too."""
    plain = st.sampled_from(_SMALL).map(lambda w: _place(*w))
    if not near:
        return plain
    turned = st.tuples(plain, st.sampled_from((TINY, -TINY))).map(lambda t: complex_product(t[0], _place(1, t[1])))
    return st.one_of(plain, turned)


def _place(x: int | Fraction, y: int | Fraction) -> Point:
    return Point(Number.of(x), Number.of(y))


def _around(ways: Sequence[Point]) -> list[Point]:
    """Directions in order, counter-clockwise from (1, 0); of equal ones the first."""
    ordered = sorted(ways, key=direction_order)
    return [way for i, way in enumerate(ordered) if i == 0 or compare_directions(ordered[i - 1], way)]


def _completed(ways: Sequence[Point]) -> list[Point] | None:
    """An odd number of directions and the one more with which alternate angles add up to 180°, in order; or None."""
    ordered = _around(ways)
    if len(ordered) % 2 == 0:
        return None
    for i in range(len(ordered)):
        turned = ordered[i:] + ordered[:i]
        last = alternating_product(turned)
        scale = max(abs(last.x), abs(last.y))
        for sign in (1, -1):
            way = Point(sign * last.x / scale, sign * last.y / scale)
            every = _around([*turned, way])
            if len(every) > len(turned) and every[every.index(way) - 1] == turned[-1]:
                return every
    return None


@composite
def sheets(draw: DrawFn, near: bool = False) -> Document:
    """A sheet without creases: a rectangle, now and then with a corner cut out, or a hole."""
    w, h = draw(lengths(near)), draw(lengths(near))
    kind = draw(st.sampled_from(("rectangle", "angle", "frame")))
    corners = _box(w, h)
    if kind == "angle":
        corners[2:3] = _place(w, h / 2), _place(w / 3, h / 2), _place(w / 3, h)
    hole = [_place(w * a / 4, h * b / 4) for a, b in ((1, 1), (2, 1), (2, 2), (1, 2))] if kind == "frame" else []
    outline, inner = _named("s", corners), _named("h", hole)
    return Document(outline | inner, tuple(outline), (tuple(inner),) if hole else ())


def _box(w: Fraction, h: Fraction) -> list[Point]:
    return [_place(0, 0), _place(w, 0), _place(w, h), _place(0, h)]


def _named(letter: str, places: Sequence[Point]) -> dict[str, tuple[str, str]]:
    """Places with names: a letter and their numbers."""
    return {f"{letter}{number}": texts_of(place) for number, place in enumerate(places)}


def _pattern(outline: Sequence[Point], folds: Sequence[tuple[Point, Point]]) -> Document:
    names: dict[Point, str] = {}
    sheet = tuple(names.setdefault(p, f"p{len(names)}") for p in outline)
    creases = tuple(
        Crease(names.setdefault(a, f"p{len(names)}"), names.setdefault(b, f"p{len(names)}"), "either") for a, b in folds
    )
    return Document({name: texts_of(p) for p, name in names.items()}, sheet, creases=creases)


def _rectangle(places: Sequence[Point], margin: int = 1) -> list[Point]:
    xs, ys = sorted(p.x for p in places), sorted(p.y for p in places)
    x0, x1, y0, y1 = xs[0] - margin, xs[-1] + margin, ys[0] - margin, ys[-1] + margin
    return [Point(x0, y0), Point(x1, y0), Point(x1, y1), Point(x0, y1)]


def _leaving(start: Point, way: Point, rectangle: Sequence[Point]) -> Point:
    """Where the ray from a place inside a rectangle leaves it."""
    low, _, high, _ = rectangle
    axes = zip(start, way, low, high, strict=True)
    reach = [((most if ahead > 0 else least) - here) / ahead for here, ahead, least, most in axes if ahead]
    return Point(start.x + min(reach) * way.x, start.y + min(reach) * way.y)


def _star(ways: Sequence[Point]) -> Document:
    centre = _place(0, 0)
    box = _rectangle([centre])
    return _pattern(box, [(centre, _leaving(centre, way, box)) for way in ways])


@composite
def vertices(draw: DrawFn, near: bool = False) -> Document:
    """One vertex of degree 2 to 8 in the middle of a square, any angles, each fold either way."""
    n = draw(st.integers(2, 8))
    ways = _around(draw(st.lists(directions(near), min_size=n, max_size=n, unique=True)))
    assume(len(ways) == n)
    return _star(ways)


@composite
def flat_vertices(draw: DrawFn, near: bool = False) -> Document:
    """One vertex whose alternate angles add up to 180° (Kawasaki–Justin), of degree 4, 6 or 8, each fold either way."""
    n = 2 * draw(st.integers(2, 4))
    ways = _completed(draw(st.lists(directions(near), min_size=n - 1, max_size=n - 1, unique=True)))
    if ways is None or len(ways) != n:
        reject()
    return _star(ways)


@composite
def strips(draw: DrawFn, near: bool = False) -> Document:
    """A strip of up to 6 panels, creased square across, each fold either way."""
    return strip_of(draw(st.lists(lengths(near), min_size=2, max_size=6)))


@composite
def maps(draw: DrawFn, near: bool = False) -> Document:
    """A map of up to 3 × 3 panels, columns and rows of any widths, each fold either way."""
    wide, high = (draw(st.lists(lengths(near), min_size=1, max_size=3)) for _ in range(2))
    document = stamps(len(wide), len(high))
    points = {
        f"p{i}{j}": texts_of(_place(sum(wide[:i], Fraction(0)), sum(high[:j], Fraction(0))))
        for i in range(len(wide) + 1)
        for j in range(len(high) + 1)
    }
    return replace(document, points=points)


def equal_maps() -> Documents:
    """A map of up to 3 × 3 equal panels, each fold either way."""
    return st.tuples(st.integers(1, 3), st.integers(1, 3)).map(lambda size: stamps(*size))


@composite
def joined(draw: DrawFn, near: bool = False, ring: bool = False) -> Document:
    """Two or three vertices (`ring`: three, in a ring) joined by creases, each of which closes; folds either way."""
    count = 3 if ring else draw(st.integers(2, 3))
    x, y = draw(lengths(near)), draw(lengths(near))
    centres = [_place(0, 0), _place(x, 0), _place(draw(st.integers(-1, 4)), y)][:count]
    links = list(combinations(centres, 2))
    if count == 3 and not ring and draw(st.booleans()):
        links.pop(1)
    box = _rectangle(centres)
    folds = list(links)
    for centre in centres:
        ends = [b if a == centre else a for a, b in links if centre in (a, b)]
        fixed = [difference(p, centre) for p in ends]
        more = draw(st.lists(directions(near), min_size=3 - len(fixed), max_size=3 - len(fixed), unique=True))
        ways = _completed([*fixed, *more])
        if ways is None or len(ways) != 4:
            reject()
        rays = [w for w in ways if not any(compare_directions(w, f) == 0 for f in fixed)]
        folds += [(centre, _leaving(centre, way, box)) for way in rays]
    assume(not any(_cross(one, two) for one, two in combinations(folds, 2)))
    return _pattern(box, folds)


def _cross(one: tuple[Point, Point], two: tuple[Point, Point]) -> bool:
    """Whether two segments meet in more than a common end."""
    common = {*one} & {*two}
    return len(common) == 2 if common else segment_meeting(*one, *two) is not None


def patterns(near: bool = False) -> Documents:
    """Any of the patterns above, each fold either way."""
    return st.one_of(strips(near), flat_vertices(near), maps(near), joined(near))


@composite
def assigned(draw: DrawFn, documents: Documents) -> Document:
    """The documents with each fold mountain or valley, as it comes."""
    document = draw(documents)
    kinds: list[Kind] = [draw(st.sampled_from(_LETTERS)) for _ in document.creases]
    return _with(document, kinds)


@composite
def fine(draw: DrawFn, documents: Documents) -> Document:
    """The documents, in which no creases cross, with folds so that every vertex folds by itself."""
    document = draw(documents)
    s = subdivide(exact_drawing(document, LIMITS), LIMITS)
    chosen: dict[int, Letter] = {}
    for report in vertex_reports(s):
        if report.kawasaki is False:
            reject()
        letters = [chosen.get(e, "either") for e in report.folds]
        allowed = list(foldable_assignments(report.angles, letters, closed=not report.on_border))
        if not allowed:
            reject()
        chosen.update(zip(report.folds, draw(st.sampled_from(allowed)), strict=True))
    kinds: dict[int, Kind] = {c: chosen[i] for i, e in enumerate(s.edges) if e.is_fold and (c := e.crease) is not None}
    return _with(document, [kinds[i] for i in range(len(document.creases))])


def _with(document: Document, kinds: Sequence[Kind]) -> Document:
    creases = tuple(replace(c, kind=kind) for c, kind in zip(document.creases, kinds, strict=True))
    return replace(document, creases=creases)


_CORNERS = ("sw", "se", "ne", "nw")


@composite
def recipes(draw: DrawFn, near: bool = False, most: int = 4, cut: bool = False) -> Recipe:
    """Up to `most` folds of a rectangle by corners and two marks, over or behind, of some layers or all, opened and
    turned, possible or not; `cut`: along a line through two.
    """
    w, h = draw(lengths(near)), draw(lengths(near))
    inner = [_place(w * draw(st.integers(1, 3)) / 4, h * draw(st.integers(1, 3)) / 4) for _ in range(2)]
    places = [*_box(w, h), *inner]
    names = (*_CORNERS, "m", "n")
    two = st.lists(st.sampled_from(names), min_size=2, max_size=2, unique=True)
    steps: list[dict[str, Any]] = []
    for _ in range(draw(st.integers(1, most))):
        kind = draw(st.sampled_from(("onto", "onto", "through", "turn", "unfold")))
        p, q = draw(two)
        if kind == "turn":
            steps.append({"turn": "over"})
        elif kind == "unfold" and steps and "fold" in steps[-1]:
            steps.append({"unfold": 1})
        else:
            fold = {"through": [p, q]} if kind == "through" else {"point": p, "onto": q}
            moves = draw(st.sampled_from(_CORNERS)) if kind == "through" else p
            layers = draw(st.sampled_from(("all", "flap", 1)))
            way = draw(st.sampled_from(("over", "behind")))
            steps.append({"fold": fold, "moves": moves, "layers": layers, "direction": way})
    keys: dict[str, Any] = {
        "format": "creaseproof-recipe/1",
        "points": {name: list(texts_of(p)) for name, p in zip(names, places, strict=True)},
        "sheet": {"outline": list(_CORNERS)},
        "steps": steps,
    }
    if cut:
        keys["cut"] = {"along": {"through": draw(two)}}
    recipe = _meaningful(lambda: read_any(keys).as_recipe())
    _meaningful(lambda: carry_out(recipe, LIMITS))
    return recipe


def _meaningful(make: Callable[[], T]) -> T:
    try:
        return make()
    except (Malformed, LimitReached, UnsupportedAlignment, Endless, Exhausted):
        reject()


@composite
def folded_cut_patterns(draw: DrawFn, near: bool = False) -> Document:
    """What a random recipe and cut give, as a pattern whose target is the outline that is really cut."""
    recipe = draw(recipes(near, 3, cut=True))
    folded = _meaningful(lambda: carry_out(recipe, LIMITS))
    outline = _meaningful(lambda: cut_outline(folded))
    if outline is None or not outline.segments():
        reject()
    return pattern_of(folded.fold_map, outline)


@composite
def targets(draw: DrawFn, near: bool = False) -> Document:
    """A sheet with a triangle or a quadrilateral drawn on it, and no crease."""
    corners = draw(st.lists(st.tuples(st.integers(0, 6), st.integers(0, 6)), min_size=3, max_size=4, unique=True))
    places = [_place(x, y) for x, y in corners]
    if near and draw(st.booleans()):
        places[0] = Point(places[0].x + TINY, places[0].y)
    box = _rectangle(places, 3)
    outline, loop = _named("s", box), _named("t", places)
    sides = list(around(places))
    ways = [difference(b, a) for a, b in sides]
    assume(not any(_cross(one, two) for one, two in combinations(sides, 2)))
    assume(all(cross_vectors(one, two) for one, two in around(ways)))
    return Document(outline | loop, tuple(outline), loops=(tuple(loop),), snips=1)


@composite
def constructed(draw: DrawFn, near: bool = False) -> Document:
    """A pattern for a random target, from its straight skeleton: the first that has a layer order."""
    target = draw(targets(near))
    first = _meaningful(lambda: next((p for p in proposed(target, LIMITS) if isinstance(p, Proposal)), None))
    if first is None:
        reject()
    return first.document


Among = Callable[[bool], SearchStrategy[Any]]
"""Makes a strategy, with (True) or without what is nearly degenerate."""

SHIPPED: dict[str, Among] = {
    "sheets": sheets,
    "vertices": vertices,
    "flat-vertices": flat_vertices,
    "strips": strips,
    "maps": maps,
    "equal-maps": lambda near: equal_maps(),
    "joined": joined,
    "rings": lambda near: joined(near, ring=True),
    "patterns": patterns,
    "assigned": lambda near: assigned(patterns(near)),
    "fine": lambda near: fine(patterns(near)),
    "recipes": recipes,
    "folded-cut-patterns": folded_cut_patterns,
    "targets": targets,
    "constructed": constructed,
}
"""The strategies by the names that `creaseproof hunt --among` knows."""
