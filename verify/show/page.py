"""Places on the page: in millimetres, y up as in documents, in floats. What is drawn proves nothing."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from functools import partial
from math import hypot
from typing import NamedTuple


class XY(NamedTuple):
    """A place on the page in millimetres; y points up, as in documents."""

    x: float
    y: float

    def between(self, other: XY, part: float = 0.5) -> XY:
        return XY(self.x * (1 - part) + other.x * part, self.y * (1 - part) + other.y * part)

    def distance(self, other: XY) -> float:
        return hypot(other.x - self.x, other.y - self.y)

    def direction(self, other: XY) -> XY:
        """The unit vector to another place."""
        long = self.distance(other)
        return XY((other.x - self.x) / long, (other.y - self.y) / long)

    def scaled(self, times: float) -> XY:
        """So many times as far from the origin."""
        return XY(self.x * times, self.y * times)

    def offset(self, along: XY, out: float, left: float = 0.0) -> XY:
        """The place so far out along a unit vector, and so far to its left."""
        return XY(self.x + out * along.x - left * along.y, self.y + out * along.y + left * along.x)


At = Callable[[XY], XY]  # from one plane, such as that of the folded sheet, to another
Box = tuple[float, float, float, float]  # left, bottom, right, top
Area = tuple[float, float, float, float]  # left, bottom, width, height


def as_it_is(p: XY) -> XY:
    return p


def beside(a: XY, b: XY, p: XY) -> float:
    """How far a place lies to the left of the line from a to b; less than 0: to its right."""
    along = a.direction(b)
    return along.x * (p.y - a.y) - along.y * (p.x - a.x)


def box_of(places: Iterable[XY]) -> Box:
    xs, ys = zip(*places, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def box_round(middle: XY, wide: float, high: float) -> Box:
    return middle.x - wide / 2, middle.y - high / 2, middle.x + wide / 2, middle.y + high / 2


def widened(box: Box, aside: float, up: float) -> Box:
    """A box that reaches so much farther to both sides, and up and down."""
    left, low, right, high = box
    return left - aside, low - up, right + aside, high + up


def corners_of(box: Box) -> list[XY]:
    """The corners of a box, counter-clockwise from the lower left one."""
    left, low, right, high = box
    return [XY(left, low), XY(right, low), XY(right, high), XY(left, high)]


def middle_of(box: Box) -> XY:
    left, low, right, high = box
    return XY((left + right) / 2, (low + high) / 2)


def mean_of(places: Sequence[XY]) -> XY:
    xs, ys = zip(*places, strict=True)
    return XY(sum(xs) / len(xs), sum(ys) / len(ys))


def is_in(box: Box, p: XY) -> bool:
    left, low, right, high = box
    return left < p.x < right and low < p.y < high


def fitted(box: Box, area: Area) -> At:
    """The plane scaled so that a box fills an area, in the middle of it."""
    x, y, wide, high = area
    left, low, right, top = box
    scale = min(wide / max(right - left, 1e-9), high / max(top - low, 1e-9))
    return partial(shifted, middle_of(box), scale, XY(x + wide / 2, y + high / 2))


def shifted(middle: XY, scale: float, to: XY, p: XY) -> XY:
    """Magnified round `middle`, which comes to lie at `to`."""
    return XY(to.x + (p.x - middle.x) * scale, to.y + (p.y - middle.y) * scale)


def across(places: Sequence[XY], a: XY, b: XY, margin: float) -> list[XY]:
    """The line through a and b as far as it runs over the box of some places, and a little beyond."""
    along = a.direction(b)
    left, bottom, right, top = box_of(places)
    low, high = -float("inf"), float("inf")
    for start, way, ends in ((a.x, along.x, (left - 0.5, right + 0.5)), (a.y, along.y, (bottom - 0.5, top + 0.5))):
        if abs(way) > 1e-9:
            one, two = sorted((end - start) / way for end in ends)
            low, high = max(low, one), min(high, two)
    return [a.offset(along, low - margin), a.offset(along, max(low, high) + margin)]
