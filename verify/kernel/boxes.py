"""Boxes of integers round points, and which of many boxes meet a given one. They only say where to look."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator
from functools import reduce
from itertools import accumulate
from operator import or_
from typing import NamedTuple

from .numbers import PRECISIONS, Algebraic, Field, Number, numerators
from .plane import Point

FINE = 32  # bits after the point


def members(bits: int) -> Iterator[int]:
    """The members of a set of numbers, which is an integer with one bit for each."""
    while bits:
        low = bits & -bits
        yield low.bit_length() - 1
        bits ^= low


def bits(numbers: Iterable[int]) -> int:
    """The set with these members."""
    return reduce(or_, (1 << i for i in numbers), 0)


class Box(NamedTuple):
    """All places between these integers, times 2^-FINE; the border belongs to it."""

    left: int
    right: int
    bottom: int
    top: int


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


class Row:
    """Things in the order of a number that each has."""

    def __init__(self, numbers: Iterable[int]) -> None:
        ordered = sorted((number, thing) for thing, number in enumerate(numbers))
        self.numbers = [number for number, _ in ordered]
        self.firsts = [*accumulate((1 << thing for _, thing in ordered), or_, initial=0)]

    def up_to(self, number: int) -> int:
        """The set of the things whose number is not greater."""
        return self.firsts[bisect_right(self.numbers, number)]

    def below(self, number: int) -> int:
        """The set of the things whose number is less."""
        return self.firsts[bisect_left(self.numbers, number)]


class Boxes:
    """Numbered boxes."""

    def __init__(self, boxes: list[Box]) -> None:
        self.left, self.right, self.bottom, self.top = (Row(numbers) for numbers in zip(*boxes, strict=True))

    def meeting(self, box: Box) -> int:
        """The set of the boxes that have a common place with this one."""
        across = self.left.up_to(box.right) & ~self.right.below(box.left)
        return across & self.bottom.up_to(box.top) & ~self.top.below(box.bottom)
