"""Sets of numbered things; and boxes of integers round points: which of many meet a given one, and on which side of a
line those far from it lie, many at once.
"""

from bisect import bisect_right
from collections.abc import Iterable, Iterator
from functools import reduce
from itertools import accumulate
from operator import or_
from typing import NamedTuple

from .numbers import PRECISIONS, Algebraic, Field, Number, numerators
from .plane import Point, line, side

NumberSet = int  # of things that are numbered: bit k is 1 if k is a member; & is both, | either, & ~ but not
FINE = 32  # bits after the point


def number_set(numbers: Iterable[int]) -> NumberSet:
    return reduce(or_, (1 << number for number in numbers), 0)


def has(numbers: NumberSet, number: int) -> bool:
    return numbers >> number & 1 == 1


def members(numbers: NumberSet) -> Iterator[int]:
    """The members, the least first."""
    digits = bin(numbers)[:1:-1]  # without "0b", that of 0 first
    number = digits.find("1")
    while number >= 0:
        yield number
        number = digits.find("1", number + 1)


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


class Cluster:
    """Some of the points, a box that holds them, and all that belongs to any; of more than one point, two halves."""

    def __init__(self, numbers: list[int], boxes: list[Box], belongs: list[NumberSet]) -> None:
        self.numbers = numbers
        self.box = hull([boxes[number] for number in numbers])
        self.belongs = reduce(or_, [belongs[number] for number in numbers])
        width, height = self.box.sizes()
        by = 0 if width > height else 2  # the left of a box, or its bottom
        ordered, middle = sorted(numbers, key=lambda number: boxes[number][by]), len(numbers) // 2
        halves = [ordered[:middle], ordered[middle:]] if middle > 0 else []
        self.halves = [Cluster(half, boxes, belongs) for half in halves]


class Places:
    """Numbered points of the plane, and to what each belongs."""

    def __init__(self, field: Field, points: list[Point], belongs: list[NumberSet]) -> None:
        self.field, self.points = field, points
        self.boxes = [box_of(field, p) for p in points]
        self.all = Cluster([*range(len(points))], self.boxes, belongs)
        self.blur = max(size for box in self.boxes for size in box.sizes())

    def sides(self, p: Point, q: Point) -> Iterator[tuple[Cluster, int]]:
        """Clusters, each point in one of them, and the side of the line through p and q on which all of a cluster lies.

        By boxes: the cross product of the steps from p to q and from p to a place, p and q taken at the lower left
        corners of their boxes. A true coordinate is greater by at most `blur`, and a true step differs by no more than
        that from what is taken, either way; so the true product differs by at most `doubt`. Of the places in a box it
        is least at one corner and greatest at the opposite one. A point whose box leaves it open is decided exactly.
        """
        start, end, through = box_of(self.field, p), box_of(self.field, q), line(p, q)
        blur = max(self.blur, *start.sizes(), *end.sizes())
        across, up = end.left - start.left, end.bottom - start.bottom
        doubt = blur * (abs(across) + abs(up) + sum(hull([self.all.box, start, end]).sizes()) + 2 * blur)
        at_start = across * start.bottom - up * start.left
        least_x, greatest_x = (0, 1) if up < 0 else (1, 0)  # of a box, where the product is least and greatest
        least_y, greatest_y = (2, 3) if across > 0 else (3, 2)
        clusters = [self.all]
        for cluster in clusters:  # to which halves are added on the way
            box = cluster.box
            least = across * box[least_y] - up * box[least_x] - at_start
            greatest = across * box[greatest_y] - up * box[greatest_x] - at_start
            if least > doubt or greatest < -doubt:
                yield cluster, 1 if least > doubt else -1
            elif cluster.halves:
                clusters += cluster.halves
            else:
                yield cluster, side(self.field, through, self.points[cluster.numbers[0]])
        self.field.work.spend(len(clusters))


class Row:
    """Things in the order of a number that each has."""

    def __init__(self, numbers: Iterable[int]) -> None:
        ordered = sorted((number, thing) for thing, number in enumerate(numbers))
        self.numbers = [number for number, _ in ordered]
        self.firsts = [*accumulate((number_set([thing]) for _, thing in ordered), or_, initial=0)]

    def up_to(self, number: int) -> NumberSet:
        """The set of the things whose number is not greater."""
        return self.firsts[bisect_right(self.numbers, number)]


class Boxes:
    """Numbered boxes."""

    def __init__(self, boxes: list[Box]) -> None:
        self.left, self.right, self.bottom, self.top = (Row(numbers) for numbers in zip(*boxes, strict=True))

    def meeting(self, box: Box) -> NumberSet:
        """The set of the boxes that have a common place with this one."""
        across = self.left.up_to(box.right) & ~self.right.up_to(box.left - 1)
        return across & self.bottom.up_to(box.top) & ~self.top.up_to(box.bottom - 1)
