"""The shapes of an SVG drawing as lines at exact places, in millimetres, y up.

Sources: SVG 1.1 (Second Edition) §7 (transforms, viewBox, preserveAspectRatio), §9 (shapes), §5.6 (use), and SVG 2 §10
where it says where a circle or a rounded rectangle begins. Cosines and sines of the angles of `rotate` (tangents for
`skewX`, `skewY`) are exact numbers of one field.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import NoReturn, TypeVar

from verify.exact.expression import ExpressionError, LimitReached
from verify.exact.field import read_numbers
from verify.exact.number import Number
from verify.exact.plane import Point, cross, cross_vectors, difference
from verify.pattern import curves
from verify.pattern.document import Malformed
from verify.pattern.svg_style import INHERITED, Sheet, Style
from verify.pattern.svg_text import (
    MM_IN_PX,
    Arc,
    Bezier,
    Line,
    Misread,
    Place,
    Segment,
    Subpath,
    length,
    numbers,
    path,
    points,
    quoted,
    transforms,
)
from verify.pattern.svg_tree import Element, Unsupported, parse

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
    "text": "outlines instead of letters",
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

_T = TypeVar("_T")


@dataclass(frozen=True)
class Matrix:
    """x' = a x + c y + e, y' = b x + d y + f, exactly."""

    a: Number
    b: Number
    c: Number
    d: Number
    e: Number
    f: Number

    @staticmethod
    def of(a: _Exact, b: _Exact, c: _Exact, d: _Exact, e: _Exact, f: _Exact) -> Matrix:
        return Matrix(*(Number.of(x) for x in (a, b, c, d, e, f)))

    def after(self, o: Matrix) -> Matrix:
        """First `o`, then this one."""
        return Matrix(
            self.a * o.a + self.c * o.b,
            self.b * o.a + self.d * o.b,
            self.a * o.c + self.c * o.d,
            self.b * o.c + self.d * o.d,
            self.a * o.e + self.c * o.f + self.e,
            self.b * o.e + self.d * o.f + self.f,
        )

    def place(self, p: Place) -> Point:
        return Point(self.a * p.x + self.c * p.y + self.e, self.b * p.x + self.d * p.y + self.f)

    @property
    def flattens(self) -> bool:
        """Everything comes to lie on one line: SVG draws nothing then."""
        return not self.a * self.d - self.b * self.c

    def entries(self) -> tuple[Number, ...]:
        return self.a, self.b, self.c, self.d, self.e, self.f


_Exact = int | Fraction | Number


def _shift(x: _Exact, y: _Exact) -> Matrix:
    return Matrix.of(1, 0, 0, 1, x, y)


@dataclass(frozen=True)
class Chain:
    """Places joined by straight lines; `closed` if the last is joined to the first, too."""

    points: tuple[Point, ...]
    closed: bool


@dataclass(frozen=True)
class Shape:
    """One drawn element: its lines in mm with y up, and what rules may ask about it.

    `layers` are the names of the groups round it; `classes` its own and theirs. `unread` is set instead of lines for
    what cannot be read: why.
    """

    element: Element
    chains: tuple[Chain, ...]
    style: Style
    classes: frozenset[str]
    layers: frozenset[str]
    ids: frozenset[str]
    unread: str | None = None


@dataclass(frozen=True)
class _Viewport:
    """Where percentages get their meaning, and what a nested <svg> clips."""

    width: Fraction | None
    height: Fraction | None
    corners: tuple[Point, Point, Point] | None = None  # origin, right, below


@dataclass(frozen=True)
class _Around:
    """What an element gets from those round it."""

    matrix: Matrix
    style: dict[str, str]
    viewport: _Viewport
    clips: tuple[_Viewport, ...]
    classes: frozenset[str]
    layers: frozenset[str]
    ids: frozenset[str]
    used: tuple[Element, ...]
    depth: int


@dataclass(frozen=True)
class Picture:
    """All drawn shapes, in the file's order, and the drawing's title ("" if it has none).

    `assumed`: the width and height in mm that the page was given because the file states none.
    """

    title: str
    shapes: tuple[Shape, ...]
    assumed: tuple[Fraction, Fraction] | None = None


def read_picture(
    data: bytes,
    source: str,
    *,
    flatten: Fraction | None = None,
    width: Fraction | None = None,
    longer_side: Fraction | None = None,
) -> Picture:
    """Read a drawing. `flatten`: replace curves by lines within so many mm (None: refuse curves).

    `width`: how wide the page is made, in mm, whatever the file states. `longer_side`: how long, in mm, the longer side
    of a page is taken that has a viewBox and states no size (None: refuse it). Raises `Malformed` with the element, its
    id and its line, and `Unsupported` (a `Malformed`) for what is understood and not read.
    """
    return _Reader(parse(data, source), source, flatten, width, longer_side).picture()


class _Reader:
    def __init__(
        self,
        root: Element,
        source: str,
        flatten: Fraction | None,
        width: Fraction | None,
        longer_side: Fraction | None,
    ) -> None:
        self.root, self.source, self.flatten = root, source, flatten
        self.width, self.longer_side = width, longer_side
        self.assumed: tuple[Fraction, Fraction] | None = None
        self.sheet = Sheet()
        self.by_id: dict[str, Element] = {}
        self.values: dict[str, Number] = {}
        self.shapes: list[Shape] = []
        self.lines = self.visited = 0

    # errors

    def fail(self, element: Element, place: str, found: str, expected: str, *, unsupported: bool = False) -> NoReturn:
        kind = Unsupported if unsupported else Malformed
        at = f"{element} {place}".strip()
        raise kind(self.source, at, found, expected, element.line)

    def reading(self, element: Element, place: str, read: Callable[[], _T]) -> _T:
        """What `read` gives; its `Misread` becomes an error at this element."""
        try:
            return read()
        except Misread as error:
            self.fail(element, place, error.found, error.expected, unsupported=error.unsupported)

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
        around = _Around(matrix, dict(INHERITED), viewport, (), nothing, nothing, nothing, (), 0)
        self.visit(self.root, around, outermost=True)
        return Picture(" ".join(titles[0].split())[:200] if titles else "", tuple(self.shapes), self.assumed)

    def visit(self, element: Element, around: _Around, *, outermost: bool = False) -> None:
        tag = element.tag
        self.visited += 1
        if self.visited > MAX_VISITED:
            found = f"more than {MAX_VISITED:,} elements, those that are used again included"
            self.fail(element, "", found, f"at most {MAX_VISITED:,}")
        if tag in _LAID_ASIDE:
            return
        style = Style.computed(self.reading(element, "style", lambda: self.sheet.properties(element)), around.style)
        if style.hidden:
            return
        if tag in _REFUSED:
            if style.visible or tag not in _LEFT_OUT_BY_RULE:
                self.refuse(element, style, around)
            return
        if tag not in _GROUPS and tag not in _SHAPES:
            known = ", ".join((*_SHAPES, *_GROUPS))
            self.fail(element, "", f"the element <{tag}>", f"one of {known}", unsupported=True)
        if around.depth > _DEPTH:
            self.fail(element, "", "elements that use each other too deep", f"at most {_DEPTH} levels")
        if style.obstacle is not None and (tag in _GROUPS or style.visible):
            self.fail(element, "", style.obstacle, "lines that are drawn as they are", unsupported=True)
        if outermost and "transform" in element.attributes:
            self.fail(element, "transform", "a transform of the whole page", "a transform of a <g>", unsupported=True)
        moves = "transform" in element.attributes
        matrix = around.matrix.after(self.transform(element)) if moves else around.matrix
        if matrix.flattens:
            return
        inside = _Around(
            matrix,
            style.inherited(),
            around.viewport,
            around.clips,
            around.classes | set(element.attributes.get("class", "").split()),
            around.layers,
            around.ids | ({element.id} if element.id else frozenset()),
            around.used,
            around.depth + 1,
        )
        if tag in _SHAPES:
            for child in element.children:
                if child.tag in _REFUSED:
                    self.refuse(child, style, inside)
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

    def refuse(self, element: Element, style: Style, around: _Around) -> None:
        expected = _REFUSED[element.tag]
        if element.tag not in _LEFT_OUT_BY_RULE:
            self.fail(element, "", f"the element <{element.tag}>", expected, unsupported=True)
        ids = around.ids | ({element.id} if element.id else frozenset())
        classes = around.classes | set(element.attributes.get("class", "").split())
        self.shapes.append(Shape(element, (), style, classes, around.layers, ids, expected))

    def use(self, element: Element, around: _Around) -> None:
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
        x, y = self.number_of(element, "x", around, "0"), self.number_of(element, "y", around, "0")
        moved = replace(around, matrix=around.matrix.after(_shift(x, y)), used=(*around.used, used))
        self.visit(used, moved)

    # coordinate systems

    def transform(self, element: Element) -> Matrix:
        matrix = _IDENTITY
        for name, v in self.transforms(element):
            matrix = matrix.after(self.function(name, v))
        return matrix

    def transforms(self, element: Element) -> list[tuple[str, list[Fraction]]]:
        return self.reading(element, "transform", lambda: transforms(element.attributes["transform"]))

    def function(self, name: str, v: list[Fraction]) -> Matrix:
        if name == "matrix":
            return Matrix.of(*v)
        if name == "translate":
            return _shift(v[0], v[1] if len(v) > 1 else 0)
        if name == "scale":
            return Matrix.of(v[0], 0, 0, v[-1], 0, 0)
        if name == "rotate":
            cos, sin = self.angle("cos", v[0]), self.angle("sin", v[0])
            turn = Matrix.of(cos, sin, -sin, cos, 0, 0)
            return turn if len(v) == 1 else _shift(v[1], v[2]).after(turn).after(_shift(-v[1], -v[2]))
        tan = self.angle("tan", v[0])
        return Matrix.of(1, 0, tan, 1, 0, 0) if name == "skewX" else Matrix.of(1, tan, 0, 1, 0, 0)

    def angle(self, name: str, degrees: Fraction) -> Number:
        """cos, sin or tan of an angle in degrees, exactly, in the field of all angles of the drawing."""
        turn = degrees % 360 / 180
        if name != "tan" and (turn * 2).denominator == 1:
            quarter = int(turn * 2)
            return Number.of((1, 0, -1, 0)[quarter] if name == "cos" else (0, 1, 0, -1)[quarter])
        return self.values[f"{name}(pi*{turn.numerator}/{turn.denominator})"]

    def nested(self, element: Element, style: Style, around: _Around) -> _Around | None:
        """Inside a nested <svg>: its own coordinates, and a frame that nothing may cross; None if it shows nothing."""
        x, y = self.number_of(element, "x", around, "0"), self.number_of(element, "y", around, "0")
        width = self.number_of(element, "width", around, "100%")
        height = self.number_of(element, "height", around, "100%")
        if width < 0 or height < 0:
            self.fail(element, "", "a negative width or height", "a length of 0 or more")
        if not width or not height:
            return None
        matrix = around.matrix.after(_shift(x, y))
        corners = tuple(
            matrix.place(Place(*p)) for p in ((Fraction(0), Fraction(0)), (width, Fraction(0)), (Fraction(0), height))
        )
        frame = _Viewport(width, height, (corners[0], corners[1], corners[2]))
        clips = around.clips if style.values.get("overflow") in ("visible", "auto") else (*around.clips, frame)
        box = self.view_box(element)
        if box is None:
            return replace(around, matrix=matrix, viewport=frame, clips=clips)
        inner = matrix.after(self.fitted(element, box, width, height))
        return replace(around, matrix=inner, viewport=_Viewport(box[2], box[3]), clips=clips)

    def page(self) -> tuple[Matrix, _Viewport]:
        """From the outermost user units to mm with y up, the page's lower left corner at (0, 0)."""
        root = self.root
        self.angles()
        box = self.view_box(root)
        width, height = self.size("width"), self.size("height")
        if box is not None and width is None and height is None:
            width = self.assumed_width(box)
        if box is not None and width is None and height is not None:
            width = height * box[2] / box[3]
        if box is not None and height is None and width is not None:
            height = width * box[3] / box[2]
        up = Matrix.of(MM_IN_PX, 0, 0, -MM_IN_PX, 0, (height or 0) * MM_IN_PX)
        if self.width is not None:
            if width is None:
                self.fail(root, "", "no width and no viewBox", "one of them, for --width to be a width of")
            grown = self.width / (width * MM_IN_PX)
            up = Matrix.of(grown, 0, 0, grown, 0, 0).after(up)
        if box is None or width is None or height is None:
            return up, _Viewport(width, height)
        return up.after(self.fitted(root, box, width, height)), _Viewport(box[2], box[3])

    def assumed_width(self, box: tuple[Fraction, Fraction, Fraction, Fraction]) -> Fraction:
        """The width in user units of a page that states no size. With a width from outside any will do."""
        longer_side = Fraction(1) if self.width is not None else self.longer_side
        if longer_side is None:
            expected = 'the size of the page, such as width="210mm", or the option that states the width'
            self.fail(self.root, "viewBox", "no width and no height", expected)
        scale = longer_side / max(box[2], box[3])
        if self.width is None:
            self.assumed = box[2] * scale, box[3] * scale
        return box[2] * scale / MM_IN_PX

    def angles(self) -> None:
        """One field for the angles of all transforms; the element whose angle makes it too large is named."""
        elements: list[tuple[Element, int]] = []
        texts: dict[str, None] = {}
        for element in self.root.walk():
            if "transform" not in element.attributes:
                continue
            for name, v in self.transforms(element):
                turn = v[0] % 360 / 180
                if name == "rotate" and (turn * 2).denominator > 1:
                    texts.update(dict.fromkeys(f"{f}(pi*{turn.numerator}/{turn.denominator})" for f in ("cos", "sin")))
                elif name in ("skewX", "skewY"):
                    texts[f"tan(pi*{turn.numerator}/{turn.denominator})"] = None
            elements.append((element, len(texts)))

        def trouble(count: int) -> tuple[str, str] | None:
            try:
                self.values = dict(read_numbers(list(texts)[:count]).numbers)
            except LimitReached as error:
                return str(error), "rotations by multiples of few angles"
            except ExpressionError as error:
                return f"{error.text}: {error.found}", error.expected
            return None

        if trouble(len(texts)) is not None:
            first = bisect_left(elements, True, key=lambda entry: trouble(entry[1]) is not None)
            element, count = elements[first]
            found, expected = trouble(count) or ("", "")
            self.fail(element, "transform", found, expected, unsupported=True)

    def size(self, key: str) -> Fraction | None:
        """The page's width or height in CSS pixels, or None if it is not stated (or in per cent)."""
        text = self.root.attributes.get(key, "").strip()
        if text in ("", "auto") or text.endswith("%"):
            return None
        value = self.reading(self.root, key, lambda: length(text))
        if value <= 0:
            self.fail(self.root, key, quoted(text), "a length above 0")
        return value

    def view_box(self, element: Element) -> tuple[Fraction, Fraction, Fraction, Fraction] | None:
        text = element.attributes.get("viewBox")
        if text is None:
            return None
        values = self.reading(element, "viewBox", lambda: numbers(text))
        if len(values) != 4 or values[2] <= 0 or values[3] <= 0:
            self.fail(element, "viewBox", quoted(text), "four numbers: x, y, and a width and height above 0")
        return values[0], values[1], values[2], values[3]

    def fitted(
        self, element: Element, box: tuple[Fraction, Fraction, Fraction, Fraction], width: Fraction, height: Fraction
    ) -> Matrix:
        """The viewBox laid into width × height (SVG 1.1 §7.7, §7.8)."""
        words = element.attributes.get("preserveAspectRatio", "xMidYMid").split()
        align, how = words[0] if words else "", words[1] if len(words) > 1 else "meet"
        sx, sy = width / box[2], height / box[3]
        if align == "none":
            return Matrix.of(sx, 0, 0, sy, -box[0] * sx, -box[1] * sy)
        shares = {"Min": Fraction(0), "Mid": Fraction(1, 2), "Max": Fraction(1)}
        right = len(align) == 8 and align[0] == "x" and align[4] == "Y"
        if not right or align[1:4] not in shares or align[5:] not in shares or how not in ("meet", "slice"):
            self.fail(element, "preserveAspectRatio", quoted(" ".join(words)), "none, or such as xMidYMid meet")
        scale = min(sx, sy) if how == "meet" else max(sx, sy)
        x = (width - box[2] * scale) * shares[align[1:4]]
        y = (height - box[3] * scale) * shares[align[5:]]
        return Matrix.of(scale, 0, 0, scale, x - box[0] * scale, y - box[1] * scale)

    def number_of(self, element: Element, key: str, around: _Around, default: str | None = None) -> Fraction:
        """A length attribute in user units; percentages of the viewport's width or height, by the attribute."""
        text = element.attributes.get(key, "").strip() or default
        if text is None:
            return Fraction(0)
        across = key in ("x", "x1", "x2", "cx", "rx", "width")
        upright = key in ("y", "y1", "y2", "cy", "ry", "height")
        whole = around.viewport.width if across else around.viewport.height if upright else None
        return self.reading(element, key, lambda: length(text, whole))

    # shapes

    def shape(self, element: Element, style: Style, around: _Around) -> None:
        chains = []
        for sub in self.subpaths(element, around):
            chain = [around.matrix.place(sub.start)]
            here = sub.start
            for segment in sub.segments:
                chain += self.segment(element, here, segment, around.matrix)
                here = segment.end
            self.lines += len(chain)
            if self.lines > MAX_LINES:
                self.fail(element, "", f"more than {MAX_LINES:,} lines", f"at most {MAX_LINES:,}")
            chains.append(Chain(tuple(chain), sub.closed))
        if not chains:
            return
        for frame in around.clips:
            if not all(_within(p, frame) for chain in chains for p in chain.points):
                self.fail(
                    element,
                    "",
                    "lines outside the frame of the <svg> round it",
                    'lines inside, or overflow="visible" on that <svg>',
                    unsupported=True,
                )
        self.shapes.append(Shape(element, tuple(chains), style, around.classes, around.layers, around.ids))

    def segment(self, element: Element, start: Place, segment: Segment, matrix: Matrix) -> list[Point]:
        if isinstance(segment, Line):
            return [matrix.place(segment.end)]
        if self.flatten is None:
            what = "an arc" if isinstance(segment, Arc) else "a curve"
            self.fail(
                element, "", what, "straight lines, or leave to replace curves by lines (flatten)", unsupported=True
            )
        try:
            if isinstance(segment, Bezier):
                controls = [matrix.place(p) for p in (start, *segment.controls, segment.end)]
                return curves.bezier(controls, self.flatten)
            return curves.arc(
                start,
                segment.end,
                segment.radii,
                segment.turn,
                (segment.large, segment.sweep),
                matrix.entries(),
                matrix.place(segment.end),
                self.flatten,
            )
        except curves.TooManyPieces:
            self.fail(
                element,
                "",
                f"a curve that takes more than {curves.MOST_PIECES:,} lines",
                "a smaller drawing or a larger tolerance",
            )

    def subpaths(self, element: Element, around: _Around) -> list[Subpath]:
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

    def extent(self, element: Element, key: str, around: _Around) -> Fraction:
        value = self.number_of(element, key, around)
        if value < 0:
            self.fail(element, key, quoted(attribute_of(element, key)), "a length of 0 or more")
        return value

    def rectangle(self, element: Element, around: _Around) -> list[Subpath]:
        """SVG 2 §10.2: corners in this order; rx and ry default to each other and are at most half a side."""
        x, y = self.number_of(element, "x", around), self.number_of(element, "y", around)
        w, h = self.extent(element, "width", around), self.extent(element, "height", around)
        if not w or not h:
            return []
        given = [k for k in ("rx", "ry") if attribute_of(element, k) not in ("", "auto")]
        radii = {k: self.extent(element, k, around) for k in given}
        rx = min(radii.get("rx", radii.get("ry", Fraction(0))), w / 2)
        ry = min(radii.get("ry", radii.get("rx", Fraction(0))), h / 2)
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
            segments += [Line(before), Arc((rx, ry), Fraction(0), False, True, after)]
        return [Subpath(Place(x + rx, y), segments, True)]

    def ellipse(self, element: Element, around: _Around) -> list[Subpath]:
        """SVG 2 §10.3, §10.4: from the right, through the lowest place of the picture (y points down)."""
        cx, cy = self.number_of(element, "cx", around), self.number_of(element, "cy", around)
        if element.tag == "circle":
            rx = ry = self.extent(element, "r", around)
        else:
            given = [k for k in ("rx", "ry") if attribute_of(element, k) not in ("", "auto")]
            radii = {k: self.extent(element, k, around) for k in given}
            rx = radii.get("rx", radii.get("ry", Fraction(0)))
            ry = radii.get("ry", radii.get("rx", Fraction(0)))
        if not rx or not ry:
            return []
        ends = [Place(cx, cy + ry), Place(cx - rx, cy), Place(cx, cy - ry), Place(cx + rx, cy)]
        return [Subpath(ends[-1], [Arc((rx, ry), Fraction(0), False, True, end) for end in ends], True)]


def attribute_of(element: Element, key: str) -> str:
    return element.attributes.get(key, "").strip()


def _polyline(places: list[Place], *, closed: bool) -> Subpath:
    return Subpath(places[0], [Line(p) for p in places[1:]], closed)


def _within(p: Point, frame: _Viewport) -> bool:
    """Whether a place lies in the parallelogram of a frame, or on its edge."""
    if frame.corners is None:
        return True
    origin, right, below = frame.corners
    u, v = difference(right, origin), difference(below, origin)
    area = cross_vectors(u, v)
    along, down = cross_vectors(difference(p, origin), v) / area, cross(origin, right, p) / area
    return 0 <= along <= 1 and 0 <= down <= 1


_IDENTITY = Matrix.of(1, 0, 0, 1, 0, 0)
