"""Coordinate systems of an SVG drawing, exactly: transforms, viewports, percentages, to mm with y up.

Source: SVG 1.1 (Second Edition) §7. Cosines and sines of the angles of `rotate` (tangents for `skewX`, `skewY`) are
exact numbers of one field.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import NamedTuple, NoReturn, TypeVar

from verify.exact.expression import DegreeLimit, ExpressionError
from verify.exact.field import read_numbers
from verify.exact.number import Number
from verify.exact.plane import Point, cross, cross_vectors, difference
from verify.pattern.source import Malformed, Unsupported
from verify.pattern.svg_style import ElementStyle
from verify.pattern.svg_text import MM_IN_PX, Misread, Place, length, numbers, quoted, transforms
from verify.pattern.svg_tree import Element

_T = TypeVar("_T")
Exact = int | Fraction | Number
_FINE = 10_000
_INSTEAD = (
    "turns by multiples of one angle such as 15°; or a drawing without turns (drawing programs can flatten or apply "
    "transforms, which rounds them); or matrix(…) with rounded numbers in place of rotate(…)"
)


class Matrix(NamedTuple):
    """x' = a x + c y + e, y' = b x + d y + f, exactly."""

    a: Number
    b: Number
    c: Number
    d: Number
    e: Number
    f: Number

    @staticmethod
    def of(a: Exact, b: Exact, c: Exact, d: Exact, e: Exact, f: Exact) -> Matrix:
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


def shift(x: Exact, y: Exact) -> Matrix:
    return Matrix.of(1, 0, 0, 1, x, y)


Box = tuple[Fraction, Fraction, Fraction, Fraction]
"""What a viewBox says: x, y, width and height."""

Frame = tuple[Point, ...]
"""Outside of what a nested <svg>, or a rectangle that clips, shows nothing: its origin, and the corners to the right
and below.
"""


@dataclass(frozen=True)
class Viewport:
    """Where percentages get their meaning."""

    width: Fraction | None
    height: Fraction | None


@dataclass(frozen=True)
class Around:
    """What an element gets from those round it."""

    matrix: Matrix
    style: dict[str, str]
    viewport: Viewport
    clips: tuple[Frame, ...]
    classes: frozenset[str]
    layers: frozenset[str]
    ids: frozenset[str]
    used: tuple[Element, ...]
    depth: int


def within(p: Point, frame: Frame) -> bool:
    """Whether a place lies in the parallelogram of a frame, or on its edge."""
    origin, right, below = frame
    u, v = difference(right, origin), difference(below, origin)
    area = cross_vectors(u, v)
    along, down = cross_vectors(difference(p, origin), v) / area, cross(origin, right, p) / area
    return 0 <= along <= 1 and 0 <= down <= 1


@dataclass(frozen=True)
class Reading:
    """How a drawing is read. `flatten`: replace curves by lines within so many mm (None: refuse curves).

    `width`: how wide the page is made, in mm, whatever the file states. `longer_side`: how long, in mm, the longer side
    of a page is taken that has a viewBox and states no size (None: refuse it). `round_turns`: where turns need too
    large a number field, they are made a little smaller or larger, so that their cosines and sines are rational; else
    they are refused.
    """

    flatten: Fraction | None = None
    width: Fraction | None = None
    longer_side: Fraction | None = None
    round_turns: bool = False


@dataclass
class Space:
    """The coordinate systems of one drawing."""

    root: Element
    source: str
    how: Reading
    rounded: dict[Fraction, float] = field(default_factory=dict, init=False)  # half-turns; to how many degrees
    page_corner: Point | None = field(default=None, init=False)  # the page's upper right one, if its size is known
    assumed: str = field(default="", init=False)
    values: dict[str, Number] = field(default_factory=dict, init=False)

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

    def transform(self, element: Element) -> Matrix:
        matrix = Matrix.of(1, 0, 0, 1, 0, 0)
        for name, v in self.transforms(element):
            matrix = matrix.after(self.function(name, v))
        return matrix

    def transforms(self, element: Element) -> list[tuple[str, list[Fraction]]]:
        return self.reading(element, "transform", lambda: transforms(element.attributes["transform"]))

    def function(self, name: str, v: list[Fraction]) -> Matrix:
        if name == "matrix":
            return Matrix.of(*v)
        if name == "translate":
            return shift(v[0], v[1] if len(v) > 1 else 0)
        if name == "scale":
            return Matrix.of(v[0], 0, 0, v[-1], 0, 0)
        if name == "rotate":
            cos, sin = self.angle("cos", v[0]), self.angle("sin", v[0])
            turn = Matrix.of(cos, sin, -sin, cos, 0, 0)
            return turn if len(v) == 1 else shift(v[1], v[2]).after(turn).after(shift(-v[1], -v[2]))
        tan = self.angle("tan", v[0])
        return Matrix.of(1, 0, tan, 1, 0, 0) if name == "skewX" else Matrix.of(1, tan, 0, 1, 0, 0)

    def angle(self, name: str, degrees: Fraction) -> Number:
        """cos, sin or tan of an angle in degrees, exactly, in the field of all angles of the drawing."""
        turn = degrees % 360 / 180
        if name != "tan" and (turn * 2).denominator == 1:
            quarter = int(turn * 2)
            return Number.of((1, 0, -1, 0)[quarter] if name == "cos" else (0, 1, 0, -1)[quarter])
        return self.values[_at_angle(name, turn)]

    def nested(self, element: Element, style: ElementStyle, around: Around) -> Around | None:
        """Inside a nested <svg>: its own coordinates, and a frame that nothing may cross; None if it shows nothing."""
        x, y = self.number_of(element, "x", around), self.number_of(element, "y", around)
        width = self.number_of(element, "width", around, "100%")
        height = self.number_of(element, "height", around, "100%")
        if width < 0 or height < 0:
            self.fail(element, "", "a negative width or height", "a length of 0 or more")
        if not width or not height:
            return None
        matrix = around.matrix.after(shift(x, y))
        nought = Fraction(0)
        corners = (Place(nought, nought), Place(width, nought), Place(nought, height))
        frame = tuple(map(matrix.place, corners))
        clips = around.clips if style.values.get("overflow") in ("visible", "auto") else (*around.clips, frame)
        box = self.view_box(element)
        if box is None:
            return replace(around, matrix=matrix, viewport=Viewport(width, height), clips=clips)
        inner = matrix.after(self.fitted(element, box, width, height))
        return replace(around, matrix=inner, viewport=Viewport(box[2], box[3]), clips=clips)

    def page(self) -> tuple[Matrix, Viewport]:
        """From the outermost user units to mm with y up, the page's lower left corner at (0, 0)."""
        root = self.root
        self.angles()
        box = self.view_box(root)
        width, height = self.size("width"), self.size("height")
        if box is not None:
            if width is None:
                width = self.assumed_width(box) if height is None else height * box[2] / box[3]
            if height is None:
                height = width * box[3] / box[2]
        elif width is None and height is None:
            self.assumed = "its units are taken as px, 96 to the inch (a viewBox or a width says otherwise)"
        up = Matrix.of(MM_IN_PX, 0, 0, -MM_IN_PX, 0, (height or 0) * MM_IN_PX)
        if self.how.width is not None:
            if width is None:
                self.fail(root, "", "no width and no viewBox", "one of them, for --width to be a width of")
            grown = self.how.width / (width * MM_IN_PX)
            up = Matrix.of(grown, 0, 0, grown, 0, 0).after(up)
        if width is not None and height is not None:
            self.page_corner = up.place(Place(width, Fraction(0)))
        if box is None or width is None or height is None:
            return up, Viewport(width, height)
        return up.after(self.fitted(root, box, width, height)), Viewport(box[2], box[3])

    def assumed_width(self, box: Box) -> Fraction:
        """The width in user units of a page that states no size. With a width from outside any will do."""
        longer_side = Fraction(1) if self.how.width is not None else self.how.longer_side
        if longer_side is None:
            expected = 'the size of the page, such as width="210mm", or the option that states the width'
            self.fail(self.root, "viewBox", "no width and no height", expected)
        scale = longer_side / max(box[2], box[3])
        if self.how.width is None:
            width, height = (f"{float(side * scale):.6g}" for side in box[2:])
            self.assumed = f"taken as {width} × {height} mm (--width says otherwise)"
        return box[2] * scale / MM_IN_PX

    def angles(self) -> None:
        """One field for the angles of all transforms. Where that is too large, turns are rounded (`round_turns`), or
        the element whose angle makes it so is named.
        """
        turns: set[Fraction] = set()
        asked: dict[str, Element] = {}
        for element in self.root.walk():
            for name, v in self.transforms(element) if "transform" in element.attributes else ():
                turn = v[0] % 360 / 180
                if name == "rotate" and (turn * 2).denominator > 1:
                    turns.add(turn)
                    for function in ("cos", "sin"):
                        asked.setdefault(_at_angle(function, turn), element)
                elif name in ("skewX", "skewY"):
                    asked.setdefault(_at_angle("tan", turn), element)
        try:
            self.values = dict(read_numbers(asked).numbers)
            return
        except DegreeLimit as error:
            text, why, expected = error.expression, str(error), _INSTEAD
        except ExpressionError as error:
            text, why, expected = error.text, error.found, error.expected
        found = f"{text}: {why}"
        if "tan" not in text:
            found, expected = f"a turn whose exact numbers exceed the limits ({why})", _INSTEAD
        if self.how.round_turns and not any("tan" in angle for angle in asked):
            for turn in turns:
                self.values |= self.rational(turn)
        else:
            self.fail(asked[text], "transform", found, expected, unsupported=True)

    def rational(self, turn: Fraction) -> dict[str, Number]:
        """Rational cosine and sine of an angle near one of so many half-turns: by the tangent t of half the angle,
        (1 - t²)/(1 + t²) and 2t/(1 + t²), so that nothing changes its shape.
        """
        quarters = round(turn * 2)
        rest = math.pi * float(turn - Fraction(quarters, 2))
        t = Fraction(math.tan(rest / 2)).limit_denominator(_FINE)
        cos, sin = (1 - t * t) / (1 + t * t), 2 * t / (1 + t * t)
        self.rounded[turn] = 90 * quarters + math.degrees(2 * math.atan(t))
        for _ in range(quarters):
            cos, sin = -sin, cos
        return {_at_angle("cos", turn): Number.of(cos), _at_angle("sin", turn): Number.of(sin)}

    def size(self, key: str) -> Fraction | None:
        """The page's width or height in CSS pixels, or None if it is not stated (or in per cent)."""
        text = self.root.attributes.get(key, "").strip()
        if text in ("", "auto") or text.endswith("%"):
            return None
        value = self.reading(self.root, key, lambda: length(text))
        if value <= 0:
            self.fail(self.root, key, quoted(text), "a length above 0")
        return value

    def view_box(self, element: Element) -> Box | None:
        text = element.attributes.get("viewBox")
        if text is None:
            return None
        values = self.reading(element, "viewBox", lambda: numbers(text))
        if len(values) != 4 or values[2] <= 0 or values[3] <= 0:
            self.fail(element, "viewBox", quoted(text), "four numbers: x, y, and a width and height above 0")
        return values[0], values[1], values[2], values[3]

    def fitted(self, element: Element, box: Box, width: Fraction, height: Fraction) -> Matrix:
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

    def number_of(self, element: Element, key: str, around: Around, default: str | None = None) -> Fraction:
        """A length attribute in user units; percentages of the viewport's width or height, by the attribute."""
        text = element.attributes.get(key, "").strip() or default
        if text is None:
            return Fraction(0)
        across = key in ("x", "x1", "x2", "cx", "rx", "width")
        upright = key in ("y", "y1", "y2", "cy", "ry", "height")
        whole = around.viewport.width if across else around.viewport.height if upright else None
        return self.reading(element, key, lambda: length(text, whole))


def _at_angle(name: str, turn: Fraction) -> str:
    """cos, sin or tan of so many half-turns, in the grammar of documents."""
    return f"{name}(pi*{turn.numerator}/{turn.denominator})"
