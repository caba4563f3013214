"""Whether all-layers folds, however many, free a simple polygon with paper all round it.

The first fold runs along a line of symmetry. After it, half of the outline is left, an open chain, and each further
fold that meets it takes away pieces at its ends, which it lays on what is next to them: the chain is peeled. A fold
that is possible stays so when more is taken away, so no order is wrong. If the chain comes down to a straight piece,
there is a recipe; if it is stuck before that, there is none (`proofs/theory/searching.md`). Exact.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Literal, NamedTuple

from verify.construct.recipes.lines import Ink, Mirror, UnitLine, beyond, bisectors, share_within
from verify.construct.recipes.ruled_out import margin_all_round, mirror_lines
from verify.construct.recipes.start import Start
from verify.exact.number import Number
from verify.exact.plane import Point, around, crossed, difference, dot, hull_of, on_segment, orientation
from verify.pattern.components import chains
from verify.pattern.subdivision import place_text

# How much of the way to where a shortened end gets stuck is gone at once, and when that is near enough.
_NEARLY = Fraction(4095, 4096)
_ROUNDS = 12


class Peeled(NamedTuple):
    """Whether there is an all-layers recipe (None: not told); if not, the chain that is `left`, for one symmetry."""

    frees: bool | None
    left: tuple[Point, ...] = ()


def peeled(start: Start) -> Peeled:
    """Whether all-layers folds free the figure; told only of one simple polygon with paper all round it."""
    if not start.pieces or len(start.pieces) > 1 or not margin_all_round(start):
        return Peeled(None)
    loop = _loop(start.pieces[0])
    if loop is None:
        return Peeled(None)
    found = [_peel(_half(loop, fold)) for fold in mirror_lines(start.pieces[0])]
    verdicts = {one.frees for one in found}
    if not found or verdicts == {False}:
        return Peeled(False, found[0].left if found else ())
    return Peeled(True if True in verdicts else None)


def cannot_be_peeled(start: Start, left: tuple[Point, ...]) -> str:
    """Why no sequence of all-layers folds frees a figure with a line of symmetry, of whose outline this is left."""
    names = {place: name for name, place in start.places.items()}
    between = " and ".join(names.get(p) or place_text(p) for p in dict.fromkeys((left[0], left[-1])))
    return (
        "folded along a line of symmetry, as all-layers folds must begin with paper all round, the outline can be "
        f"folded in from its ends only to about {between}; between them no fold lays it on itself: no all-layers folds "
        "free it, however many"
    )


Kind = Literal["closed", "open", "germ"]
"""What an end of a chain is: its end; a place that is not reached, though all before it is; or so for a corner, of the
side at which only the direction counts."""


@dataclass(frozen=True)
class _Chain:
    """Half an outline, as far as it is left: corners, sides' lines, fold lines at its ends (no paper beyond), kinds."""

    corners: tuple[Point, ...]
    lines: tuple[UnitLine, ...]
    ends: tuple[Mirror, Mirror]
    kinds: tuple[Kind, Kind] = ("closed", "closed")

    def reversed(self) -> _Chain:
        return _Chain(self.corners[::-1], self.lines[::-1], self.ends[::-1], self.kinds[::-1])

    @property
    def parallel(self) -> bool:
        """Whether the sides at the ends are."""
        return self.lines[0][:2] == self.lines[-1][:2]

    @property
    def done(self) -> bool:
        """Whether it is straight, or one fold makes it so: along the bisector of its one corner."""
        return len(self.lines) <= 2


def _loop(outline: Ink) -> list[tuple[Point, UnitLine]] | None:
    """The outline as one loop of corners, each with the line that its side goes on along; None if it is not one."""
    along = {(line.at(s), line.at(t)): line for line, stretches in outline.items() for s, t in stretches}
    loops, paths = chains(list(along), lambda *_: True)
    if paths or len(loops) != 1:
        return None
    along |= {(there, here): line for (here, there), line in along.items()}
    first, *others = loops[0]
    return [(here, along[here, there]) for here, there in around([first, *reversed(others)])]


def _half(loop: list[tuple[Point, UnitLine]], fold: Mirror) -> _Chain:
    """The half of an outline that stays when it is folded along a line of symmetry."""
    ring = crossed([corner for corner, _ in loop], [fold.height(corner) for corner, _ in loop])
    first = next(i for i, (_, side, _) in enumerate(ring) if side > 0)
    half = [(place, loop[i][1]) for place, side, i in ring[first:] + ring[:first] if side <= 0]
    return _Chain(tuple(place for place, _ in half), tuple(line for _, line in half[:-1]), (fold, fold))


def _peel(chain: _Chain) -> Peeled:
    """Take away what can be, till the chain is straight or stuck."""
    while not chain.done:
        chain = _shortened(chain)
        after = next((c for fold in _candidates(chain) if (c := _folded(chain, fold)) is not None), None)
        if after is None:
            break
        chain = after
    if chain.done:
        return Peeled(True)
    stuck = _stuck(chain)
    return Peeled(False if stuck else None, chain.corners[1:-1])


def _candidates(chain: _Chain) -> Iterator[Mirror]:
    """Beside folds square to a side at an end, only bisectors of corners and of sides can lay the chain on itself."""
    corners = chain.corners
    for i in range(1, len(corners) - 1):
        for fold in bisectors(chain.lines[i - 1], chain.lines[i]):
            if fold.height(corners[i - 1]).sign() * fold.height(corners[i + 1]).sign() < 0:
                yield fold
    for i in range(1, len(corners) - 2):
        line = chain.lines[i]
        yield line.square((line.along(corners[i]) + line.along(corners[i + 1])) / 2)


# Folds square to the side at an end


def _shortened(chain: _Chain) -> _Chain:
    """The chain with its ends shortened by folds square to their sides, nearly as far as such folds go."""
    size = max(abs(b - a) for a, b in _spans(chain))
    for _ in range(_ROUNDS):
        moved = False
        for _ in range(2):
            way, rest = _along_first(chain)
            inner, far = min(rest[:-1]), rest[-1]
            both = far.sign() <= 0 and chain.parallel
            room = inner if both else min(inner, far)
            if room * 4096 > size:
                chain = _cut(chain, way, room * _NEARLY, both)
                moved = True
            chain = chain.reversed()
        if not moved:
            break
    return chain


def _spans(chain: _Chain) -> Iterator[tuple[Number, Number]]:
    for line, (a, b) in zip(chain.lines, pairwise(chain.corners), strict=True):
        yield line.along(a), line.along(b)


def _along_first(chain: _Chain) -> tuple[int, list[Number]]:
    """Which way the first side runs along its line (1 or -1); how far along it, from its end, other corners are."""
    line = chain.lines[0]
    start = line.along(chain.corners[0])
    way = (line.along(chain.corners[1]) - start).sign()
    return way, [(line.along(p) - start) * way for p in chain.corners[1:]]


def _cut(chain: _Chain, way: int, length: Number, both: bool) -> _Chain:
    """The chain with its first end so far along the first side; and the last one beside it, if `both`."""
    line = chain.lines[0]
    t = line.along(chain.corners[0]) + length * way
    fold = line.square(t)
    beyond = fold.turned() if way > 0 else fold
    first, last, end = line.at(t), chain.corners[-1], chain.ends[1]
    if both:
        last, end = chain.lines[-1].at(t), beyond
    return _Chain((first, *chain.corners[1:-1], last), chain.lines, (beyond, end))


# One fold, of those that are not square to the side at an end


class _Laid(NamedTuple):
    """What a fold does with a chain: where it crosses it, at a corner of `corners` each, which are those of the chain
    and these places; and for each end how many corners, from there, move. `fold` has its moving side there.
    """

    fold: Mirror
    corners: tuple[Point, ...]
    lines: tuple[UnitLine, ...]
    first: int
    last: int


def _folded(chain: _Chain, fold: Mirror) -> _Chain | None:
    """The chain after a fold that surely can be done, when blank paper was folded out of the way; else None."""
    if any(fold.height(chain.corners[i]).sign() == 0 for i in (0, -1)):
        return None
    laid = _laid(chain, fold)
    if laid is None:
        return None
    rest = _rest(laid)
    hull = hull_of(chain.corners, orientation)
    flap = [laid.fold.point(p) for p in reversed(beyond(hull, laid.fold))]  # where its moving part comes to lie
    for i in range(len(rest) - 1):
        touched = share_within(rest[i], rest[i + 1], flap)
        if touched is None:
            continue
        begins = i == 0 and bool(laid.first) and touched[1] == 0
        stops = i == len(rest) - 2 and bool(laid.last) and touched[0] == 1
        if not begins and not stops:
            return None
    for moved, end, way in ((laid.first, chain.ends[0], rest), (laid.last, chain.ends[1], rest[::-1])):
        p, q = (laid.fold.point(place) for place in (way[0], way[min(1, len(way) - 1)]))
        if moved and len(way) > 1 and end.height(q) <= end.height(p):
            return None
    kept = slice(laid.first, len(laid.corners) - laid.last)
    lines = laid.lines[laid.first : len(laid.lines) - laid.last]
    ends = (laid.fold if laid.first else chain.ends[0], laid.fold if laid.last else chain.ends[1])
    return _Chain(laid.corners[kept], lines, ends)


def _laid(chain: _Chain, fold: Mirror) -> _Laid | None:
    """How a fold lays a chain on itself; None if it does not."""
    lines, kinds = chain.lines, chain.kinds
    blind = {side for side, kind in ((0, kinds[0]), (len(lines) - 1, kinds[1])) if kind == "germ"} | {len(lines)}
    ring = crossed(chain.corners, [fold.height(p) for p in chain.corners])
    is_corner = [i == 0 or ring[i - 1][2] != side for i, (_, _, side) in enumerate(ring)]
    open_ring = [one for one, corner in zip(ring, is_corner, strict=True) if corner or one[2] not in blind]
    places = [place for place, _, _ in open_ring]
    signs = [sign for _, sign, _ in open_ring]
    at = [k for k in range(1, len(places) - 1) if signs[k] == 0]
    if not at or len(at) > 2:
        return None
    for k in at:
        if signs[k - 1] * signs[k + 1] >= 0 or not _same_way(places[k], fold.point(places[k - 1]), places[k + 1]):
            return None
    shorter = [_shorter(places, k, fold, kinds) for k in at]
    first = at[0] if shorter[0] < 0 else 0
    last = len(places) - 1 - at[-1] if shorter[-1] > 0 else 0
    if bool(first) + bool(last) < len(at):
        return None
    moves = places[first - 1] if first else places[len(places) - last]
    if fold.height(moves).sign() < 0:
        fold = fold.turned()
    return _Laid(fold, tuple(places), tuple(lines[side] for _, _, side in open_ring[:-1]), first, last)


def _same_way(origin: Point, one: Point, two: Point) -> bool:
    u, v = difference(one, origin), difference(two, origin)
    return orientation(origin, one, two) == 0 and dot(u, v).sign() > 0


def _shorter(places: Sequence[Point], at: int, fold: Mirror, kinds: tuple[Kind, Kind]) -> int:
    """-1 if all before a crossing is laid on what comes after it, 1 if it is the other way, 0 if neither is."""
    before = [fold.point(p) for p in places[at - 1 :: -1]] if at else []
    after = list(places[at + 1 :])
    here = places[at]
    for one, two in zip(before, after, strict=False):
        ends = one is before[-1], two is after[-1]
        corner = one == two and not all(ends)
        if ends[0] and on_segment(one, here, two) and not (corner and kinds[0] == "open"):
            return -1
        if ends[1] and on_segment(two, here, one) and not (corner and kinds[1] == "open"):
            return 1
        if one != two or any(ends):
            return 0
        here = one
    return 0


def _rest(laid: _Laid) -> list[Point]:
    """What is left when the moved ends lie on it: from where the first one ends to where the last one does."""
    corners = list(laid.corners)
    middle = corners[laid.first : len(corners) - laid.last]
    if laid.first:
        middle = _from(middle, laid.fold.point(corners[0]))
    if laid.last:
        middle = _from(middle[::-1], laid.fold.point(corners[-1]))[::-1]
    return middle


def _from(corners: list[Point], place: Point) -> list[Point]:
    """The part of a chain from a place of it on; the place alone if it is the end."""
    if place == corners[-1]:
        return [place]
    i = next(i for i in range(len(corners) - 1) if on_segment(place, corners[i], corners[i + 1]))
    if place == corners[i + 1] and i + 2 < len(corners):
        i += 1
    return [place, *corners[i + 1 :]]


# Stuck


def _stuck(chain: _Chain) -> bool:
    """Whether no fold at all takes away more than its ends can be shortened. False if that is not clear."""
    corners, kinds = list(chain.corners), list[Kind]()
    shortest = min(abs(b - a) for a, b in _spans(chain))
    for one in (chain, chain.reversed()):
        way, rest = _along_first(one)
        inner, line = min(rest[:-1]), one.lines[0]
        if 0 < rest[-1] < inner:
            return False  # the ends are in each other's way: where they get stuck is not worked out
        goes_on = inner.sign() > 0 and (rest[-1] > inner or one.parallel)
        kind: Kind = "closed" if not goes_on else "germ" if inner == rest[0] else "open"
        kinds.append(kind)
        if goes_on:
            back = min(inner, shortest) / 2 if kind == "germ" else 0
            corners[0 if one is chain else -1] = line.at(line.along(one.corners[0]) + (inner - back) * way)
    limit = _Chain(tuple(corners), chain.lines, chain.ends, (kinds[0], kinds[1]))
    return all(_laid(limit, fold) is None for fold in _candidates(chain))
