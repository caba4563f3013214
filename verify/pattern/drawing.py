"""A document's lines at their exact places, checked as geometry."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations

from verify.exact.expression import ExpressionError, NumberLimitReached, NumberLimits
from verify.exact.field import read_numbers
from verify.exact.number import Number
from verify.exact.numberfield import Field
from verify.exact.plane import Point, around, locate, mapped, polygon_is_simple, same_place, segment_meeting
from verify.exact.tower import Image, Tower, adjoin
from verify.pattern.document import Document, Kind
from verify.pattern.limits import LimitReached, Limits


@dataclass(frozen=True)
class Drawing:
    """The document's points and lines over one exact field.

    `values` holds the roots, cosines and inverses that the numbers of the document contain, by their text; `names` what
    places are called.
    """

    document: Document
    tower: Tower
    values: dict[str, Number]
    places: dict[str, Point]
    names: dict[Point, str]

    @property
    def field(self) -> Field:
        return self.tower.field

    @cached_property
    def loops(self) -> tuple[tuple[Point, ...], ...]:
        """The sheet's outline and its holes, as drawn."""
        return tuple(tuple(self.places[n] for n in loop) for loop in (self.document.outline, *self.document.holes))

    @cached_property
    def creases(self) -> tuple[tuple[Point, Point, Kind], ...]:
        return tuple((self.places[c.start], self.places[c.end], c.kind) for c in self.document.creases)

    @cached_property
    def target(self) -> tuple[tuple[Point, Point], ...]:
        return tuple((self.places[a], self.places[b]) for a, b in self.document.target_lines())

    def with_root(self, x: Number, limits: Limits) -> tuple[Drawing, Image, Number]:
        """The drawing over a field with the square root of an element that is not negative: the same drawing if its
        field holds the root, else one with all its numbers in a larger field; how numbers are written in that; and the
        root >= 0. Raises `LimitReached` for a field of too high a degree.
        """
        try:
            tower, image, (root,) = adjoin(self.tower, [x], limits.degree)
        except NumberLimitReached as error:
            raise LimitReached("numbers", f"degree {limits.degree}", str(error)) from None
        if tower is self.tower:
            return self, image, root
        places = {name: mapped(place, image) for name, place in self.places.items()}
        values = {text: image(value) for text, value in self.values.items()}
        names = {mapped(place, image): name for place, name in self.names.items()}
        return Drawing(self.document, tower, values, places, names), image, root


def draw(document: Document, limits: Limits = Limits()) -> Drawing:
    """The exact drawing of a document.

    Checks that every number is one, no drawn line has length zero, the sheet's
    loops are simple polygons that do not meet, and holes lie inside. Raises
    `Malformed` with the place, or `LimitReached` for a field of too high a degree.
    """
    lines = len(document.creases) + len(document.target_lines()) + len(document.outline)
    if lines > limits.lines:
        raise LimitReached("lines", f"{limits.lines:,}", f"{lines:,} drawn lines")
    of_sheet = len(document.outline) + sum(map(len, document.holes))
    corners, what = max([(of_sheet, "the sheet"), *((len(loop), "a loop of the target") for loop in document.loops)])
    if corners > limits.corners:
        raise LimitReached("corners", f"{limits.corners:,}", f"{corners:,} corners of {what}")
    try:
        reading = read_numbers(document.numbers, NumberLimits(degree=limits.degree))
    except ExpressionError as error:
        raise _misread(document, error) from None
    except NumberLimitReached as error:
        raise LimitReached("numbers", f"degree {limits.degree}", str(error)) from None
    places = {name: Point(reading.numbers[x], reading.numbers[y]) for name, (x, y) in document.points.items()}
    name_of: dict[Point, str] = {}
    for name, there in places.items():
        name_of.setdefault(there, name)
    for i, crease in enumerate(document.creases):
        if same_place(places[crease.start], places[crease.end]):
            raise document.malformed(
                f"creases[{i}]", f"a line of length zero, {crease.start}–{crease.end}", "two different places"
            )
    sheet = {"sheet.outline": document.outline}
    sheet |= {f"sheet.holes[{i}]": names for i, names in enumerate(document.holes)}
    outlines = sheet | {f"target.loops[{i}]": names for i, names in enumerate(document.loops)}
    for place, names in outlines.items():
        if names[0] == names[-1]:
            found = f'"{names[0]}" first and last'
            raise document.malformed(place, found, "the last name left out: outlines close by themselves")
    for j, (a, b) in enumerate(document.target_lines()):
        if same_place(places[a], places[b]):
            raise document.malformed(
                document.target_place(j), f"a line of length zero, {a}–{b}", "two different places"
            )
    for place, names in outlines.items():
        _check_simple(document, place, names, [places[name] for name in names])
    drawing = Drawing(document, reading.tower, reading.values, places, name_of)
    _check_sheet(document, dict(zip(sheet, drawing.loops, strict=True)))
    return drawing


def _misread(document: Document, error: ExpressionError) -> Exception:
    for name, pair in document.points.items():
        if error.text in pair:
            axis = "x" if error.text == pair[0] else "y"
            shown = error.text if len(error.text) <= 60 else error.text[:50] + f"… ({len(error.text):,} characters)"
            return document.malformed(
                f"points.{name}", f'{axis} = "{shown}": {error.found} at character {error.position + 1}', error.expected
            )
    return document.malformed("points", str(error), "numbers")


def _check_sheet(document: Document, loops: Mapping[str, Sequence[Point]]) -> None:
    """The outline and the holes, by their keys, lie apart: holes inside the outline, and beside each other."""
    for (place, one), (other, two) in combinations(loops.items(), 2):
        if any(segment_meeting(a, b, c, d) is not None for a, b in around(one) for c, d in around(two)):
            raise document.malformed(other, f"an outline that meets {place}", "outlines that do not touch")
    (_, outline), *holes = loops.items()
    for place, hole in holes:
        if locate(hole[0], outline) < 0:
            raise document.malformed(place, "a hole outside the sheet", "a hole inside the outline")
        for other, outer in holes:
            if outer is not hole and locate(hole[0], outer) > 0:
                raise document.malformed(place, f"a hole inside {other}", "holes beside each other")


def _check_simple(document: Document, place: str, names: Sequence[str], loop: Sequence[Point]) -> None:
    meeting = polygon_is_simple(loop)
    if meeting is not None:
        sides = ["–".join(ends) for ends in around(names)]
        one, two = (sides[k] for k in meeting)
        found = f"edges {one} and {two} that meet"
        raise document.malformed(place, found, "an outline that does not cross or touch itself")
