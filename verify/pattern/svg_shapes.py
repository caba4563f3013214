"""The shapes of an SVG drawing as lines at exact places, in millimetres, y up.

Sources: SVG 1.1 (Second Edition) §9 (shapes), §5.6 (use), and SVG 2 §10 where it says where a circle or a rounded
rectangle begins.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import groupby

from verify.exact.plane import Point, cross, difference, dot, with_neighbours
from verify.pattern import curves
from verify.pattern.svg_space import Around, Frame, Matrix, Reading, Space, shift, within
from verify.pattern.svg_style import INHERITED, ElementStyle, Sheet
from verify.pattern.svg_text import Bezier, EllipticalArc, LineTo, Place, Segment, Subpath, path, points, quoted
from verify.pattern.svg_tree import Element, parse

MAX_LINES = 5_000
MAX_VISITED = 20_000
_DEPTH = 200
_GROUPS = ("g", "a", "svg", "use")
_SHAPES = ("path", "polygon", "polyline", "line", "rect", "circle", "ellipse")
_LAID_ASIDE = (
    *("defs", "symbol", "clipPath", "mask", "marker", "pattern", "linearGradient", "radialGradient", "filter", "style"),
    *("title", "desc", "metadata", "view", "cursor", "font", "font-face", "color-profile", "stop"),
)
_REFUSED = {
    "text": "outlines instead of letters (`creaseproof letters` has some that are made for folding)",
    "image": "lines instead of a picture",
    "foreignObject": "lines",
    "switch": "one drawing for everybody",
    "script": "a drawing without scripts",
    **dict.fromkeys(
        ("animate", "animateTransform", "animateMotion", "animateColor", "set"), "a drawing that stands still"
    ),
}
# text and pictures can be left out by a rule that says so
_LEFT_OUT_BY_RULE = ("text", "image")
_AS_THEY_ARE = "lines that are drawn as they are"


@dataclass(frozen=True)
class Chain:
    """Places joined by straight lines; `closed` if the last is joined to the first, too."""

    points: tuple[Point, ...]
    closed: bool


@dataclass(frozen=True)
class Shape:
    """One drawn element: its lines in mm with y up, and what rules may ask about it.

    `within`: what it has from the groups round it. Of that `layers` are their names, `classes` and `ids` its own and
    theirs, and `matrix` led from the element's own units to mm. `unread` is set instead of lines for what cannot be
    read, only ignored: what was found, and what expected.
    """

    element: Element
    chains: tuple[Chain, ...]
    style: ElementStyle
    within: Around
    unread: tuple[str, str] | None = None

    def __str__(self) -> str:
        return f"{self.element} (line {self.element.line})"


@dataclass(frozen=True)
class Picture:
    """All drawn shapes, in the file's order, and the drawing's title ("" if it has none).

    `assumed`: the width and height in mm that the page was given because the file states none. `rounded`: the turns
    that were rounded, in degrees, and to what. `page`: the page's upper right corner, if its size is known; the lower
    left one is (0, 0). `of_curves`: how many lines came of curves. `empty_layers`: the names of groups with nothing in
    them.
    """

    title: str
    shapes: tuple[Shape, ...]
    assumed: str = ""
    rounded: tuple[tuple[float, float], ...] = ()
    page: Point | None = None
    of_curves: int = 0
    empty_layers: frozenset[str] = frozenset()


def read_picture(data: bytes, source: str, how: Reading = Reading()) -> Picture:
    """Read a drawing. Raises `Malformed` with the element, its id and its line, and `Unsupported` for what is
    understood and not read.
    """
    return _Reader(parse(data, source), source, how).picture()


@dataclass
class _Reader(Space):
    sheet: Sheet = field(default_factory=Sheet, init=False)
    by_id: dict[str, Element] = field(default_factory=dict, init=False)
    shapes: list[Shape] = field(default_factory=list, init=False)
    lines: int = field(default=0, init=False)
    visited: int = field(default=0, init=False)
    of_curves: int = field(default=0, init=False)

    # the tree

    def picture(self) -> Picture:
        for element in self.root.walk():
            if element.id:
                if element.id in self.by_id:
                    self.fail(element, "", "an id that another element has", "each id once")
                self.by_id[element.id] = element
            if element.tag == "style":
                self.reading(element, "", lambda e=element: self.sheet.add(e.text))  # type: ignore[misc]
        titles = [c.text for c in self.root.children if c.tag == "title"]
        nothing: frozenset[str] = frozenset()
        matrix, viewport = self.page()
        around = Around(matrix, dict(INHERITED), viewport, (), nothing, nothing, nothing, (), 0)
        self.visit(self.root, around, outermost=True)
        title = " ".join(titles[0].split())[:200] if titles else ""
        rounded = tuple((float(turn * 180), degrees) for turn, degrees in sorted(self.rounded.items()))
        empty = frozenset(name for e in self.root.walk() if e.tag == "g" and not e.children for name in e.names)
        return Picture(title, tuple(self.shapes), self.assumed, rounded, self.page_corner, self.of_curves, empty)

    def visit(self, element: Element, around: Around, *, outermost: bool = False) -> None:
        tag = element.tag
        self.visited += 1
        if self.visited > MAX_VISITED:
            found = f"more than {MAX_VISITED:,} elements, those that are used again included"
            self.fail(element, "", found, f"at most {MAX_VISITED:,}")
        if tag in _LAID_ASIDE:
            return
        own = self.reading(element, "style", lambda: self.sheet.properties(element))
        style = ElementStyle.computed(own, around.style)
        if style.hidden:
            return
        inside = replace(
            around,
            style=style.inherited(),
            classes=around.classes | set(element.attributes.get("class", "").split()),
            ids=around.ids | ({element.id} if element.id else frozenset()),
            depth=around.depth + 1,
        )
        if tag in _REFUSED:
            if style.visible or tag not in _LEFT_OUT_BY_RULE:
                self.refuse(element, style, inside)
            return
        if tag not in _GROUPS and tag not in _SHAPES:
            known = ", ".join((*_SHAPES, *_GROUPS))
            self.fail(element, "", f"the element <{tag}>", f"one of {known}", unsupported=True)
        if around.depth > _DEPTH:
            self.fail(element, "", "elements that use each other too deep", f"at most {_DEPTH} levels")
        if outermost and "transform" in element.attributes:
            self.fail(element, "transform", "a transform of the whole page", "a transform of a <g>", unsupported=True)
        moves = "transform" in element.attributes
        matrix = around.matrix.after(self.transform(element)) if moves else around.matrix
        if matrix.flattens:
            return
        inside = replace(inside, matrix=matrix)
        frame = self.clipping(style, inside) if tag != "svg" else None
        if frame is not None:
            inside = replace(inside, clips=(*inside.clips, frame))
            style = replace(style, values={**style.values, "clip-path": "none"})
        if style.obstacle is not None and tag in _GROUPS:
            self.fail(element, "", style.obstacle, _AS_THEY_ARE, unsupported=True)
        if tag in _SHAPES:
            for child in element.children:
                if child.tag in _REFUSED:
                    self.visit(child, inside)
            if style.visible and (style.stroked or style.filled):
                self.shape(element, style, inside)
            return
        inside = replace(inside, layers=inside.layers | set(element.names))
        if tag == "use":
            self.use(element, inside)
            return
        if tag == "svg" and not outermost:
            nested = self.nested(element, style, inside)
            if nested is None:
                return
            inside = nested
        for child in element.children:
            self.visit(child, inside)

    def clipping(self, style: ElementStyle, around: Around) -> Frame | None:
        """What a clip-path shows, if that is one plain rectangle, as where a whole page or frame is clipped; else None.

        SVG 1.1 §14.3.5: the rectangle lies in the user space of the element that is clipped.
        """
        name = re.fullmatch(r"""url\(\s*["']?#([^"')]+)["']?\s*\)""", style.values.get("clip-path", ""))
        clip = self.by_id.get(name[1]) if name else None
        if clip is None or clip.tag != "clipPath" or not clip.attributes.keys() <= {"id", "clipPathUnits"}:
            return None
        in_use = clip.attributes.get("clipPathUnits", "userSpaceOnUse") == "userSpaceOnUse"
        if not in_use or [child.tag for child in clip.children] != ["rect"]:
            return None
        (rect,) = clip.children
        own = self.reading(rect, "style", lambda: self.sheet.properties(rect))
        seen = ElementStyle.computed(own, INHERITED)
        is_plain = seen.visible and not seen.hidden and seen.obstacle is None
        if not is_plain or {"transform", "rx", "ry"} & rect.attributes.keys():
            return None
        outlines = self.subpaths(rect, around)
        if not outlines:
            return None
        corners = [outlines[0].start, *(side.end for side in outlines[0].segments)]
        return tuple(around.matrix.place(corners[at]) for at in (0, 1, 3))

    def refuse(self, element: Element, style: ElementStyle, inside: Around) -> None:
        expected = _REFUSED[element.tag]
        if element.tag not in _LEFT_OUT_BY_RULE:
            self.fail(element, "", f"the element <{element.tag}>", expected, unsupported=True)
        self.shapes.append(Shape(element, (), style, inside, (f"the element <{element.tag}>", expected)))

    def use(self, element: Element, around: Around) -> None:
        reference = element.attributes.get("href", "").strip()
        if not reference.startswith("#"):
            self.fail(element, "href", quoted(reference), "#id of an element of this file", unsupported=bool(reference))
        used = self.by_id.get(reference[1:])
        if used is None:
            self.fail(element, "href", f"the unknown id {quoted(reference[1:])}", "an id of this file")
        if used in around.used:
            self.fail(element, "href", f"{used}, which uses itself", "elements that do not go in a circle")
        if used.tag in ("svg", "symbol"):
            self.fail(element, "href", str(used), "a shape or a <g>", unsupported=True)
        if used.tag in _LAID_ASIDE:
            self.fail(element, "href", str(used), "a shape or a <g>")
        x, y = self.number_of(element, "x", around), self.number_of(element, "y", around)
        moved = replace(around, matrix=around.matrix.after(shift(x, y)), used=(*around.used, used))
        self.visit(used, moved)

    # shapes

    def shape(self, element: Element, style: ElementStyle, around: Around) -> None:
        chains = []
        subpaths = self.subpaths(element, around)
        unread = self.unread(style, subpaths)
        if unread is not None:
            self.shapes.append(Shape(element, (), style, around, unread))
            return
        for sub in subpaths:
            chain = [around.matrix.place(sub.start)]
            here = sub.start
            for segment in sub.segments:
                lines = self.segment(element, here, segment, around.matrix)
                chain += lines
                if not isinstance(segment, LineTo):
                    self.of_curves += len(lines)
                here = segment.end
            self.lines += len(chain)
            if self.lines > MAX_LINES:
                self.fail(element, "", f"more than {MAX_LINES:,} lines", f"at most {MAX_LINES:,}")
            chains.append(Chain(tuple(chain), sub.closed))
        if not chains:
            return
        if not all(within(p, frame) for frame in around.clips for chain in chains for p in chain.points):
            found = "lines outside the frame or clip-path round it"
            unread = found, 'lines inside it, overflow="visible" on a nested <svg>'
        self.shapes.append(Shape(element, () if unread else tuple(chains), style, around, unread))

    def unread(self, style: ElementStyle, subpaths: Sequence[Subpath]) -> tuple[str, str] | None:
        """Why a shape cannot be read: what was found, and what expected; None if it can."""
        if style.obstacle is not None:
            return style.obstacle, _AS_THEY_ARE
        curved = [s for sub in subpaths for s in sub.segments if not isinstance(s, LineTo)]
        if not curved or self.how.flatten is not None:
            return None
        within = "lines that stay within that many mm of its curves (begin large: few lines fold best)"
        found = "an arc" if isinstance(curved[0], EllipticalArc) else "a curve"
        return found, f"straight lines, or --flatten MM: {within}"

    def segment(self, element: Element, start: Place, segment: Segment, matrix: Matrix) -> list[Point]:
        flatten = self.how.flatten
        if isinstance(segment, LineTo) or flatten is None:  # curves come here only where they may become lines
            return [matrix.place(segment.end)]
        try:
            if isinstance(segment, Bezier):
                controls = [matrix.place(p) for p in (start, *segment.controls, segment.end)]
                return curves.bezier(controls, flatten)
            flags, last = (segment.large, segment.sweep), matrix.place(segment.end)
            ends = (start, segment.end)
            return curves.arc(*ends, segment.radii, segment.turn, flags, matrix, last, flatten)
        except curves.TooManyPieces:
            found = f"a curve that takes more than {curves.MOST_PIECES:,} lines"
            self.fail(element, "", found, "a smaller drawing or a larger tolerance")

    def subpaths(self, element: Element, around: Around) -> list[Subpath]:
        attributes = element.attributes
        if element.tag == "path":
            return self.reading(element, "d", lambda: path(attributes.get("d", "")))
        if element.tag in ("polygon", "polyline"):
            places = self.reading(element, "points", lambda: points(attributes.get("points", "")))
            return [_polyline(places, closed=element.tag == "polygon")] if len(places) > 1 else []
        if element.tag == "line":
            x1, y1, x2, y2 = (self.number_of(element, key, around) for key in ("x1", "y1", "x2", "y2"))
            return [_polyline([Place(x1, y1), Place(x2, y2)], closed=False)]
        if element.tag == "rect":
            return self.rectangle(element, around)
        return self.ellipse(element, around)

    def extent(self, element: Element, key: str, around: Around) -> Fraction:
        value = self.number_of(element, key, around)
        if value < 0:
            self.fail(element, key, quoted(attribute_of(element, key)), "a length of 0 or more")
        return value

    def radii(self, element: Element, around: Around) -> tuple[Fraction, Fraction]:
        """`rx` and `ry`, each of which the other stands for where it is not stated."""
        stated = [key for key in ("rx", "ry") if attribute_of(element, key) not in ("", "auto")]
        found = [self.extent(element, key, around) for key in stated] or [Fraction(0)]
        return found[0], found[-1]

    def rectangle(self, element: Element, around: Around) -> list[Subpath]:
        """SVG 2 §10.2: corners in this order; rx and ry default to each other and are at most half a side."""
        x, y = self.number_of(element, "x", around), self.number_of(element, "y", around)
        w, h = self.extent(element, "width", around), self.extent(element, "height", around)
        if not w or not h:
            return []
        rx, ry = self.radii(element, around)
        rx, ry = min(rx, w / 2), min(ry, h / 2)
        if not rx or not ry:
            return [_polyline([Place(x, y), Place(x + w, y), Place(x + w, y + h), Place(x, y + h)], closed=True)]
        corner = [
            (Place(x + w - rx, y), Place(x + w, y + ry)),
            (Place(x + w, y + h - ry), Place(x + w - rx, y + h)),
            (Place(x + rx, y + h), Place(x, y + h - ry)),
            (Place(x, y + ry), Place(x + rx, y)),
        ]
        segments: list[Segment] = []
        for before, after in corner:
            segments += [LineTo(before), EllipticalArc((rx, ry), Fraction(0), False, True, after)]
        return [Subpath(Place(x + rx, y), segments, True)]

    def ellipse(self, element: Element, around: Around) -> list[Subpath]:
        """SVG 2 §10.3, §10.4: from the right, through the lowest place of the picture (y points down)."""
        cx, cy = self.number_of(element, "cx", around), self.number_of(element, "cy", around)
        circle = element.tag == "circle"
        rx, ry = (self.extent(element, "r", around),) * 2 if circle else self.radii(element, around)
        if not rx or not ry:
            return []
        ends = [Place(cx, cy + ry), Place(cx - rx, cy), Place(cx, cy - ry), Place(cx + rx, cy)]
        return [Subpath(ends[-1], [EllipticalArc((rx, ry), Fraction(0), False, True, end) for end in ends], True)]


def attribute_of(element: Element, key: str) -> str:
    return element.attributes.get(key, "").strip()


def _polyline(places: list[Place], *, closed: bool) -> Subpath:
    return Subpath(places[0], [LineTo(p) for p in places[1:]], closed)


def cleaned(points: list[Point], closed: bool) -> list[Point]:
    """Without places repeated in a row; of a closed line also without corners of 180°. A line that turns back stays."""
    once = [place for place, _ in groupby(points)]
    while closed and len(once) > 1 and once[0] == once[-1]:
        once.pop()
    if not closed or len(once) < 3:
        return once
    corners = with_neighbours(once)
    return [b for a, b, c in corners if cross(a, b, c) or dot(difference(b, a), difference(c, b)) <= 0]


def covers(shape: Shape, corner: Point | None) -> bool:
    """Whether a shape is a rectangle round the whole page."""
    if corner is None or len(shape.chains) != 1:
        return False
    points = cleaned(list(shape.chains[0].points), True)
    xs, ys = sorted({p.x for p in points}), sorted({p.y for p in points})
    if len(points) != 4 or len(xs) != 2 or len(ys) != 2:
        return False
    return xs[0] <= 0 and ys[0] <= 0 and xs[1] >= corner.x and ys[1] >= corner.y
