"""A part of the outline that no first crease can cross: then no simple folds free the target, however many.

The first creases of the places where the paper is creased are chords: each crosses a whole convex part of the sheet
that earlier ones left, and is a line of symmetry of the outline near each place where it meets it
(`proofs/theory/searching.md`). A chord that can be made stays possible when others cut more away; so parts are cut
along whatever chords there are, till none is left to cut, or one that has a corner has no chord. Exact.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import combinations, pairwise
from typing import NamedTuple

from verify.construct.recipes.lines import Ink, Mirror, Stretches, UnitLine, mirror
from verify.construct.recipes.start import Start
from verify.exact.number import ZERO, Number
from verify.exact.plane import Point, around, between, hull_of, locate, orientation
from verify.pattern.components import components

# So many cuts square to sides, and one more for each side, in a row; then nothing is said of a part: they may go on
# without end.
_IN_A_ROW = 8
Axes = Mapping[Point, Sequence[Mirror]]
"""For each corner the lines through it that are a line of symmetry of the outline near it."""


class Side(NamedTuple):
    """A piece of a side between two places, which are corners or not of the part."""

    ends: tuple[Point, Point]
    line: UnitLine


class Part(NamedTuple):
    """A part of the outline: its sides, without their ends, and its corners; no line can part it but by meeting it."""

    sides: tuple[Side, ...]
    corners: tuple[Point, ...]


class _Cut(NamedTuple):
    """Cuts along a fold, from height `low` to `high` beyond it: what lies between goes."""

    fold: Mirror
    low: Number = ZERO
    high: Number = ZERO
    along_axis: bool = False


def uncrossed(start: Start) -> tuple[Point, ...]:
    """Corners of a part of the outline that no chord crosses; none if no such part was found, or if the sheet is not
    one convex panel, still flat.
    """
    if start.recipe is not None or start.document.holes or len(start.picture.faces) != 1:
        return ()
    ink, sheet = start.picture.ink, start.picture.faces[0].corners
    axes = {
        place: _axes(place, lines, ink)
        for place, lines in corners_of(ink).items()
        if locate(place, sheet) > 0 and not _is_straight(place, lines, ink)
    }
    for corner, lines_of_symmetry in axes.items():
        if not lines_of_symmetry:
            return (corner,)
    sides = (side for line, many in ink.items() for side in _sides(line, many, axes))
    todo = [(part, 0) for part in _parts(sides, axes)]
    while todo:
        part, in_a_row = todo.pop()
        if not part.corners or in_a_row > _IN_A_ROW + len(part.sides):
            continue
        cut = _cut(part, axes)
        if cut is None:
            return part.corners
        todo += [(half, 0 if cut.along_axis else in_a_row + 1) for half in _halves(part, cut)]
    return ()


def corners_of(outline: Ink) -> dict[Point, set[UnitLine]]:
    """Where sides of an outline end or cross, each place with the lines of its sides."""
    at: dict[Point, set[UnitLine]] = {}
    for line, stretches in outline.items():
        for end in {t for stretch in stretches for t in stretch}:
            at.setdefault(line.at(end), set()).add(line)
    for one, two in combinations(outline, 2):
        if _crosses(outline[one], one, two) and _crosses(outline[two], two, one):
            turn = one.a * two.b - one.b * two.a
            place = Point((one.c * two.b - two.c * one.b) / turn, (one.a * two.c - two.a * one.c) / turn)
            at.setdefault(place, set()).update((one, two))
    for place, lines in at.items():
        lines.update(line for line, many in outline.items() if _ways_along(place, line, many))
    return at


def _crosses(stretches: Stretches, line: UnitLine, other: UnitLine) -> bool:
    """Whether a stretch of a line has its ends on both sides of another one."""
    return any(other.height(line.at(s)).sign() * other.height(line.at(t)).sign() < 0 for s, t in stretches)


def _ways_along(place: Point, line: UnitLine, stretches: Stretches) -> list[int]:
    """Which ways stretches of a line go on from a place: with growing t (1), and with falling (-1)."""
    if line.height(place):
        return []
    t = line.along(place)
    return [1] * any(s <= t < e for s, e in stretches) + [-1] * any(s < t <= e for s, e in stretches)


def _ways(place: Point, lines: set[UnitLine], ink: Ink) -> list[Point]:
    """The unit vectors along which an outline leaves a place."""
    on = [line for line in ink if line in lines]
    return [Point(-line.b * way, line.a * way) for line in on for way in _ways_along(place, line, ink[line])]


def _is_straight(place: Point, lines: set[UnitLine], ink: Ink) -> bool:
    return len(lines) == 1 and len(_ways(place, lines, ink)) == 2


def _axes(corner: Point, lines: set[UnitLine], ink: Ink) -> list[Mirror]:
    """The lines through a corner, none along a side, in which the outline near it is its own mirror image."""
    ways = _ways(corner, lines, ink)
    found = []
    for one, two in combinations(ways, 2):
        axis = mirror(one.x - two.x, one.y - two.y, ZERO)
        if all(map(axis.height, ways)) and set(map(axis.point, ways)) == set(ways):
            found.append(axis._replace(c=axis.height(corner)))
    return found


def _sides(line: UnitLine, stretches: Stretches, corners: Iterable[Point]) -> Iterator[Side]:
    """The sides along a line, from corner to corner."""
    on = [line.along(p) for p in corners if not line.height(p)]
    for low, high in stretches:
        for s, t in pairwise([low, *sorted(t for t in on if low < t < high), high]):
            yield Side((line.at(s), line.at(t)), line)


# Chords


def _cut(part: Part, axes: Axes) -> _Cut | None:
    """A chord of a part, or all chords square to a side between two places; None if there are none."""
    for corner in part.corners:
        for axis in axes[corner]:
            if _is_chord(axis, part, axes):
                return _Cut(axis, along_axis=True)
    for line in {(side.line.a, side.line.b): side.line for side in part.sides}.values():
        places = sorted({line.along(p) for side in part.sides for p in side.ends} | set(map(line.along, part.corners)))
        for s, t in pairwise(places):
            for low, high in ((s, t), (s, s)):
                fold = line.square((low + high) / 2)
                if _is_chord(fold, part, axes):
                    return _Cut(line.square(ZERO), low, high)
    return None


def _is_chord(fold: Mirror, part: Part, axes: Axes) -> bool:
    """Whether a line meets a part, sides only at right angles, corners only along their axes."""
    meets = False
    for side in part.sides:
        one, two = (fold.height(end).sign() for end in side.ends)
        if one == two == 0:
            return False
        if one * two < 0:
            if fold.a * side.line.a + fold.b * side.line.b:
                return False
            meets = True
    for corner in part.corners:
        if not fold.height(corner):
            if all(fold.a * axis.b - fold.b * axis.a for axis in axes[corner]):
                return False
            meets = True
    return meets


# Parts


def _halves(part: Part, cut: _Cut) -> list[Part]:
    """What a cut leaves of a part on its two sides."""
    found: list[Part] = []
    for fold, low, high, _ in (cut, _Cut(cut.fold.turned(), -cut.high, -cut.low)):
        heights = {corner: fold.height(corner) for corner in part.corners}
        sides = [half for side in part.sides for half in _below(side, fold, low, high)]
        found += _parts(sides, [p for p, h in heights.items() if h < low or h == low < high])
    return found


def _below(side: Side, fold: Mirror, low: Number, high: Number) -> Iterator[Side]:
    """What of a side is not beyond a fold by more than `low`; along that, only if the cut is a band."""
    (p, h), (q, k) = sorted(((end, fold.height(end)) for end in side.ends), key=lambda one: one[1])
    if k <= low and (h < low or low < high):
        yield side
    elif h < low:
        yield Side((p, between(p, q, (low - h) / (k - h))), side.line)


def _parts(sides: Iterable[Side], corners: Iterable[Point]) -> list[Part]:
    """The parts that sides and corners make up: what hangs together, or cannot be parted by a line that misses it."""
    sides, number = list(sides), {corner: k for k, corner in enumerate(corners)}
    ends = [(i, len(sides) + number[end]) for i, side in enumerate(sides) for end in side.ends if end in number]
    named = list(number)
    parts = [
        Part(
            tuple(sides[i] for i in group if i < len(sides)),
            tuple(named[i - len(sides)] for i in group if i >= len(sides)),
        )
        for group in components(len(sides) + len(named), ends)
    ]
    hulls = [_hull(part) for part in parts]
    while True:
        pairs = combinations(range(len(parts)), 2)
        pair = next(((i, j) for i, j in pairs if not _apart(hulls[i], hulls[j])), None)
        if pair is None:
            return parts
        i, j = pair
        other = parts.pop(j)
        parts[i] = Part((*parts[i].sides, *other.sides), (*parts[i].corners, *other.corners))
        hulls[i] = hull_of([*hulls[i], *hulls.pop(j)], orientation)


def _hull(part: Part) -> list[Point]:
    places = [*part.corners, *(end for side in part.sides for end in side.ends)]
    return hull_of(places, orientation) or places[:1]


def _apart(one: list[Point], two: list[Point]) -> bool:
    """Whether a line has one convex polygon on one side and the other on the other one, border counted."""
    return len(one) == len(two) == 1 or any(
        all(orientation(a, b, place) <= 0 for place in other)
        for hull, other in ((one, two), (two, one))
        for a, b in around(hull)
        if len(hull) > 1
    )
