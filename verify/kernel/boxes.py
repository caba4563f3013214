"""Boxes of integers round points: which of many meet a given one, and on which side of a line those far from it lie."""

from bisect import bisect_right
from collections.abc import Iterable, Iterator
from functools import reduce
from itertools import accumulate
from operator import or_
from typing import NamedTuple

from .numbers import PRECISIONS, Algebraic, Field, Number, numerators
from .plane import Point, line, side

FINE = 32  # bits after the point


def members(bits: int) -> Iterator[int]:
    """The members of a set of numbers, which is an integer with one bit for each."""
    written = bin(bits)[:1:-1]  # the bit of 0 comes first
    number = written.find("1")
    while number >= 0:
        yield number
        number = written.find("1", number + 1)


def bits(numbers: Iterable[int]) -> int:
    """The set with these members."""
    return reduce(or_, (1 << i for i in numbers), 0)


class Box(NamedTuple):
    """All places between these integers, times 2^-FINE; the border belongs to it."""

    left: int
    right: int
    bottom: int
    top: int

    def sizes(self) -> tuple[int, int]:
        return self.right - self.left, self.top - self.bottom


def between(field: Field, x: Number, w: Number) -> tuple[int, int]:
    """Integers low, high with low <= x / w * 2^FINE <= high, for a bare integer w > 0."""
    over = numerators(w)[0]
    if isinstance(x, Algebraic):
        precision = PRECISIONS[0]
        low, high = field.enclosure(x, precision)
        over <<= precision - FINE
    else:
        low = high = x.numerator << FINE
    return low // over, -(-high // over)


def box_of(field: Field, p: Point) -> Box:
    """A box round a point with integers for coefficients, as `read_point` gives it."""
    x, y, w = p
    return Box(*between(field, x, w), *between(field, y, w))


def hull(boxes: list[Box]) -> Box:
    """The least box that holds all of these."""
    left, right, bottom, top = zip(*boxes, strict=True)
    return Box(min(left), max(right), min(bottom), max(top))


class Places:
    """Numbered points of the plane."""

    def __init__(self, field: Field, points: list[Point]) -> None:
        self.field, self.points = field, points
        self.boxes = [box_of(field, p) for p in points]
        self.hull = hull(self.boxes)
        self.blur = max(size for box in self.boxes for size in box.sizes())

    def sides(self, p: Point, q: Point, numbers: Iterable[int]) -> Iterator[tuple[int, int]]:
        """The number of each of these points, and its side of the line through p and q: by boxes, or exactly."""
        start, end, of = box_of(self.field, p), box_of(self.field, q), line(p, q)
        across, up = end.left - start.left, end.bottom - start.bottom
        here = across * start.bottom - up * start.left
        blur = max(self.blur, *start.sizes(), *end.sizes())  # by so much a coordinate can be greater
        doubt = blur * (abs(across) + abs(up) + sum(hull([self.hull, start, end]).sizes()) + 2 * blur)
        for number in numbers:
            box = self.boxes[number]
            turn = across * box.bottom - up * box.left - here
            if abs(turn) > doubt:
                yield number, 1 if turn > 0 else -1
            else:
                yield number, side(self.field, of, self.points[number])


class Row:
    """Things in the order of a number that each has."""

    def __init__(self, numbers: Iterable[int]) -> None:
        ordered = sorted((number, thing) for thing, number in enumerate(numbers))
        self.numbers = [number for number, _ in ordered]
        self.firsts = [*accumulate((1 << thing for _, thing in ordered), or_, initial=0)]

    def up_to(self, number: int) -> int:
        """The set of the things whose number is not greater."""
        return self.firsts[bisect_right(self.numbers, number)]


class Boxes:
    """Numbered boxes."""

    def __init__(self, boxes: list[Box]) -> None:
        self.left, self.right, self.bottom, self.top = (Row(numbers) for numbers in zip(*boxes, strict=True))

    def meeting(self, box: Box) -> int:
        """The set of the boxes that have a common place with this one."""
        across = self.left.up_to(box.right) & ~self.right.up_to(box.left - 1)
        return across & self.bottom.up_to(box.top) & ~self.top.up_to(box.bottom - 1)
