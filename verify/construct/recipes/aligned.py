"""A fold line as hands find it: which edges, corners, creases and drawn lines it aligns."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain, combinations, count, product
from math import hypot
from string import ascii_lowercase
from typing import Any, NamedTuple

from verify.construct.recipes.lines import RAW, Mirror, beyond, share_within
from verify.construct.recipes.stack import Fold, Folds, Stack, contains, reach
from verify.exact.number import Number
from verify.exact.plane import (
    Point,
    around,
    between,
    crossed,
    difference,
    dot,
    in_convex,
    length,
    line_of,
    middle,
    on_segment,
)

# what a hand can follow, the surest first
KINDS = ("edge", "crease", "side")
FORMS = ("line", "point", "through", "square")


class Spot(NamedTuple):
    """A place of the flat sheet on a layer, and where it lies. `plain`: it can be seen: on top with its printed side
    up, or outside on an edge or a crease.
    """

    flat: Point
    image: Point
    plain: bool
    layer: int


class Reference(NamedTuple):
    """A straight piece of an edge, a side or a crease on one layer, between two spots."""

    kind: str
    spots: tuple[Spot, Spot]

    @property
    def ends(self) -> tuple[Point, Point]:
        """Where its spots lie."""
        return self.spots[0].image, self.spots[1].image


class Aligner:
    """Finds alignments for fold lines. `places` are named ones of the flat sheet, `sides` lines drawn on it, `seen` its
    corners and marks, `opened` creases that were opened again, with their steps.

    `names` are of places that can be seen, also of new ones (`made`), after the step whose crease shows them (2a, 2b,
    …).
    """

    def __init__(
        self,
        places: Mapping[str, Point],
        sides: list[tuple[str, str]],
        seen: Iterable[str],
        opened: Sequence[tuple[int, tuple[Point, Point]]] = (),
    ) -> None:
        self.places, self.sides, self.opened = places, sides, opened
        self.names: dict[Point, str] = {}
        self.made: dict[str, Point] = {}
        seen = {*seen, *(name for side in sides for name in side)}
        for name, place in places.items():
            if name in seen:
                self.names.setdefault(place, name)

    def step(self, stack: Stack, fold: Fold) -> dict[str, Any]:
        """The step of a recipe: its alignment, a mark on the side that moves, and which layers do."""
        references = list(self._references(stack))
        choices = [
            *self._line_onto_line(references, fold),
            *self._by_places(references, fold),
            *self._square(references, fold.line),
        ]
        best = min(choices or [self._across(stack, fold.line)], key=lambda c: c.rank)
        named = [self._name(stack, spot) for spot in best.spots]
        marks = named[:2] + named[2:][:: best.way]
        step: dict[str, Any] = {"fold": best.keys(marks)}
        everywhere = {name: place for place, name in self.names.items()}
        for name in (*marks, *sorted(everywhere, key=lambda name: _unlike(stack, fold, everywhere[name]))):
            layers = layers_that_move(stack, fold, everywhere[name])
            if layers is not None:
                return step | {"moves": name} | _which(layers, fold)
        corners = [
            (float(fold.line.height(corner)), _spot(stack, number, corner))
            for number, layer in enumerate(stack.layers)
            if fold.moves(number)
            for corner in layer.face.corners
        ]
        for _, spot in sorted(corners, key=lambda c: -c[0]):
            layers = layers_that_move(stack, fold, spot.flat)
            if layers is not None:
                return step | {"moves": self._name(stack, spot)} | _which(layers, fold)
        raise LookupError("no mark tells these layers from others")

    def steps(self, stack: Stack, folds: Folds, first: int) -> tuple[list[dict[str, Any]], Stack]:
        """The steps of folds, one after the other, the first of this number; and the stack after them."""
        *before, last = stack.through(folds, first)
        return list(map(self.step, before, folds)), last

    def _name(self, stack: Stack, spot: Spot) -> str:
        """The name of a place; of a new one the first that is not taken."""
        if spot.flat not in self.names:
            taken = {*self.places, *self.names.values()}
            letters = ("".join(some) for size in count(1) for some in product(ascii_lowercase, repeat=size))
            step = self._shown_by(stack, spot.flat)
            name = next(name for some in letters if (name := f"{step}{some}") not in taken)
            self.names[spot.flat] = name
            self.made[name] = spot.flat
        return self.names[spot.flat]

    def _shown_by(self, stack: Stack, place: Point) -> int:
        """The step whose crease first shows a place, at the sheet's edge or an older one; else its only one, or 0."""
        edges = (zip(layer.face.edges, around(layer.flat()), strict=True) for layer in stack.layers)
        every = chain(self.opened, ((edge.step, ends) for edge, ends in chain.from_iterable(edges)))
        through = {step for step, ends in every if on_segment(place, *ends)}
        steps = sorted(step for step in through if step > 0) or [0]
        meets = len(steps) > 1 and RAW not in through
        return steps[1] if meets else steps[0]

    def _references(self, stack: Stack) -> Iterator[Reference]:
        """Edges, creases and sides: of what lies on each other those first whose printed names can be read."""
        downward = reversed(list(enumerate(stack.layers)))
        for number, layer in sorted(downward, key=lambda one: one[1].motion.turned):
            flat = layer.flat()
            corners = list(zip(flat, layer.face.corners, strict=True))
            for edge, (one, two) in zip(layer.face.edges, around(corners), strict=True):
                if edge.step != 0:
                    plain = not (
                        _covered(stack, number, one[1], two[1], 1) and _covered(stack, number, one[1], two[1], -1)
                    )
                    ends = Spot(*one, plain, number), Spot(*two, plain, number)
                    yield Reference("edge" if edge.raw else "crease", ends)
            loop = flat[::-1] if layer.motion.turned else flat
            for start, end in self.sides:
                side = self.places[start], self.places[end]
                share = share_within(*side, loop)
                if share is not None and share[0] != share[1]:
                    first, last = (layer.motion(between(*side, part)) for part in share)
                    plain = not layer.motion.turned and not _covered(stack, number, first, last, 1)
                    ends = _spot(stack, number, first, plain), _spot(stack, number, last, plain)
                    yield Reference("side", ends)

    def _line_onto_line(self, references: list[Reference], fold: Fold) -> Iterator[Choice]:
        """A line of one side laid along one of the other side; of one that crosses the fold, what is on that side."""
        line = fold.line
        moving = [(r, part) for r in references if fold.moves(r.spots[0].layer) and (part := _beyond(r.ends, line))]
        staying: dict[tuple[Number, ...], list[tuple[Reference, tuple[Point, Point]]]] = defaultdict(list)
        for r in references:
            if part := _beyond(r.ends, line.turned()):
                staying[line_of(*part)].append((r, part))
        for r, (a, b) in moving:
            p, q = line.point(a), line.point(b)
            onto = line_of(p, q)
            if line_of(a, b) == onto:
                continue
            for other, ends in staying[onto]:
                way = dot(difference(q, p), difference(ends[1], ends[0])).sign()
                kind = max(KINDS.index(r.kind), KINDS.index(other.kind))
                yield Choice("line", max(_overlap(p, q, ends), 0.0), (*r.spots, *other.spots), kind, way)

    def _by_places(self, references: list[Reference], fold: Fold) -> Iterator[Choice]:
        """Corners and ends of creases: two that lie on the line, or one that is laid on another one."""
        on: dict[Point, Spot] = {}
        moving: dict[Point, Spot] = {}
        staying: dict[Point, Spot] = {}
        for spot in self._spots(references):
            side = fold.line.height(spot.image).sign()
            if side <= 0 or fold.moves(spot.layer):
                (moving if side > 0 else staying if side else on).setdefault(spot.image, spot)
        for one, two in combinations(on.values(), 2):
            drawn = one.flat in self.names and two.flat in self.names
            yield Choice("through", length(one.image, two.image), (one, two), sure=drawn)
        for image, spot in moving.items():
            onto = staying.get(fold.line.point(image))
            if onto is not None:
                yield Choice("point", length(image, onto.image), (spot, onto))

    def _spots(self, references: list[Reference]) -> list[Spot]:
        """The ends of the references: the surest first, named ones before others."""
        spots = [spot for r in references for spot in r.spots]
        return sorted(spots, key=lambda s: (not s.plain, s.flat not in self.names))

    def _square(self, references: list[Reference], fold: Mirror) -> Iterator[Choice]:
        """Square to a line, through a corner or the end of a crease."""
        on = [s for s in self._spots(references) if fold.height(s.image).sign() == 0]
        for r in references if on else ():
            d = difference(r.ends[1], r.ends[0])
            if (d.x * fold.b - d.y * fold.a).sign() == 0:
                yield Choice("square", length(*r.ends), (*r.spots, on[0]), KINDS.index(r.kind))

    def _across(self, stack: Stack, fold: Mirror) -> Choice:
        """The last resort: through the two places farthest apart where the fold crosses edges and creases."""
        spots = [
            _spot(stack, number, place)
            for number, layer in enumerate(stack.layers)
            for place, side, _ in crossed(layer.face.corners, [fold.height(p) for p in layer.face.corners])
            if side == 0
        ]
        one, two = max(combinations(spots, 2), key=lambda pair: length(pair[0].image, pair[1].image))
        return Choice("through", length(one.image, two.image), (one, two))


def _spot(stack: Stack, number: int, image: Point, plain: bool = True) -> Spot:
    """A place of a layer, by where it lies."""
    return Spot(stack.layers[number].motion.back(image), image, plain, number)


@dataclass(frozen=True)
class Choice:
    """One alignment: `form` line (two spots of each line), point or through (two spots), square (two spots of a line,
    and one more); `length` of what is aligned, in floats.

    `kind`: how sure the lines are, as `KINDS` has it. `way`: 1 if the second line runs as the first is laid on it, else
    -1. `sure`: it needs no eye for places that only a crease has made.
    """

    form: str
    length: float
    spots: tuple[Spot, ...]
    kind: int | None = None
    way: int = 1
    sure: bool = True

    @property
    def rank(self) -> tuple[bool, bool, float, int]:
        """The least is the best: no ruler needed, seen, the longest reference, the surest kind."""
        form = FORMS.index(self.form)
        hidden = not all(spot.plain for spot in self.spots)
        kind = form if self.kind is None else self.kind
        return self.form == "square" or not self.sure, hidden, -round(self.length, 6), kind

    def keys(self, marks: list[str]) -> dict[str, Any]:
        match self.form:
            case "line":
                return {"line": marks[:2], "onto": marks[2:]}
            case "point":
                return {"point": marks[0], "onto": marks[1]}
            case "square":
                return {"square": marks[:2], "through": marks[2]}
            case _:
                return {"through": marks}


def layers_that_move(stack: Stack, fold: Fold, place: Point) -> str | int | None:
    """The word of a recipe for the layers that move, if this place is the mark for them: all; the flap that holds it;
    so many layers from the top (or from below); and what hangs on them. None if there is none.
    """
    line = fold.line
    image = stack.image(place)
    if line.height(image).sign() <= 0:
        return None
    if fold.moving is None:
        return "all"
    movable = [i for i, p in enumerate(stack.layers) if any(line.height(c).sign() > 0 for c in p.face.corners)]
    hanging: dict[int, set[int]] = {i: set() for i in movable}
    unfolded: dict[int, set[int]] = {i: set() for i in movable}
    for one, two, ends in stack.joints:
        if any(line.height(end).sign() > 0 for end in ends):
            alike = stack.layers[one].motion.turned == stack.layers[two].motion.turned
            for joined in (hanging, unfolded) if alike else (hanging,):
                joined[one].add(two)
                joined[two].add(one)
    if reach([i for i, _ in stack.images(place) if i in hanging], hanging) == fold.moving:
        return "flap"
    seeds: list[int] = []
    for i in reversed(movable) if fold.over else movable:
        if contains(stack.layers[i].face, image) and i not in reach(seeds, unfolded):
            seeds.append(i)
            if reach(seeds, hanging) == fold.moving:
                return len(seeds)
    return None


def _unlike(stack: Stack, fold: Fold, place: Point) -> tuple[bool, float]:
    """How little a place is like the part that moves: least if its print is on top, and far from the fold line."""
    *_, (number, image) = stack.images(place)
    covered = any(in_convex(image, layer.face.corners) > 0 for layer in stack.layers[number + 1 :])
    return covered or stack.layers[number].motion.turned, -round(float(fold.line.height(image)), 6)


def _which(layers: str | int, fold: Fold) -> dict[str, Any]:
    """The keys of a step for the layers that move and the way that they go, where they are not the usual ones."""
    keys: dict[str, Any] = {} if layers == "all" else {"layers": layers}
    return keys if fold.over else keys | {"direction": "behind"}


def _covered(stack: Stack, number: int, start: Point, end: Point, upward: int) -> bool:
    """Whether the middle of a line on a layer lies under (or over) the open inside of another layer."""
    others = stack.layers[number + 1 :] if upward > 0 else stack.layers[:number]
    return any(in_convex(middle(start, end), p.face.corners) > 0 for p in others)


def _beyond(ends: tuple[Point, Point], fold: Mirror) -> tuple[Point, Point] | None:
    """The part of a segment on the side of a fold line that moves, in its direction, where it has a length."""
    if all(fold.height(end).sign() <= 0 for end in ends):
        return None
    start, end, *_ = beyond(ends, fold)
    return start, end


def _overlap(p: Point, q: Point, ends: tuple[Point, Point]) -> float:
    """How long two segments of one line lie on each other; negative if they lie apart."""
    a, b = ends
    x, y = float(b.x) - float(a.x), float(b.y) - float(a.y)
    size = hypot(x, y)
    s, t = sorted(((float(r.x) - float(a.x)) * x + (float(r.y) - float(a.y)) * y) / size for r in (p, q))
    return min(t, size) - max(s, 0.0)
