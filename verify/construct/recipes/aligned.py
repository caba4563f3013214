"""A fold line as hands find it: the alignment of edges, corners, creases and drawn lines that gives exactly this
line.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import hypot
from typing import Any, NamedTuple

from verify.construct.recipes.lines import Edge, Mirror, share_within
from verify.construct.recipes.stack import Fold, Stack, contains
from verify.exact.plane import Point, between, difference, dot, locate, orientation

# what a hand can follow, the surest first
KINDS = ("edge", "crease", "side")
_NEAR = 1e-6


class Drawn(NamedTuple):
    """A straight line that is on the flat sheet from the start: an `edge` of the sheet, or a `side` of the target."""

    kind: str
    start: str
    end: str


@dataclass
class Marks:
    """The names of places on the flat sheet; new places get names after the step whose crease ends there (2a, 2b,
    …).
    """

    names: dict[Point, str]
    made: dict[str, Point]
    taken: set[str]

    def name(self, place: Point, step: int) -> str:
        known = self.names.get(place)
        if known is not None:
            return known
        taken = self.taken | set(self.names.values())
        name = next(f"{step}{letter}" for letter in _letters() if f"{step}{letter}" not in taken)
        self.names[place] = name
        self.made[name] = place
        return name


class Reference(NamedTuple):
    """A straight piece of an edge, a side or a crease on one panel, between two places of the flat sheet; `ends` are
    where they lie.

    `plain`: whether it can be seen: on top with its printed side up, or on the outside of the stack if it is an edge or
    a crease. `steps`: whose creases made its two ends (0: none did).
    """

    kind: str
    flat: tuple[Point, Point]
    ends: tuple[Point, Point]
    plain: bool
    steps: tuple[int, int]
    panel: int

    def names(self, marks: Marks) -> list[str]:
        """The names of its ends."""
        return [marks.name(p, step) for p, step in zip(self.flat, self.steps, strict=True)]


def _letters() -> Iterator[str]:
    number = 0
    while True:
        text, rest = "", number
        while True:
            text = chr(ord("a") + rest % 26) + text
            rest = rest // 26 - 1
            if rest < 0:
                break
        yield text
        number += 1


class Aligner:
    """Finds alignments for fold lines. `places` are the named places of the flat sheet, `drawn` its edges and the
    target's sides, `made` marks.
    """

    def __init__(self, places: Mapping[str, Point], drawn: list[Drawn], made: Iterable[str] = ()) -> None:
        self.places, self.drawn = places, drawn
        names: dict[Point, str] = {}
        on_paper = {name for line in drawn for name in (line.start, line.end)} | set(made)
        for name, place in places.items():
            if name in on_paper:
                names.setdefault(place, name)
        self.marks = Marks(names, {}, set(places))

    def step(self, stack: Stack, fold: Fold) -> dict[str, Any]:
        """The step of a recipe: its alignment, a mark on the side that moves, and which layers do."""
        references = list(self._references(stack))
        choices = [
            *self._line_onto_line(references, fold),
            *self._by_places(references, fold),
            *self._square(references, fold.line),
        ]
        best = min(choices or [self._across(stack, fold.line)], key=lambda c: c.rank)
        marks = best.marks(self.marks)
        step: dict[str, Any] = {"fold": best.keys(marks)}
        everywhere = {name: place for place, name in self.marks.names.items()}
        for name in (*marks, *everywhere):
            layers = layers_that_move(stack, fold, everywhere[name])
            if layers is not None:
                return step | {"moves": name} | _which(layers, fold)
        corners = [
            (float(fold.line.height(p)), number, panel, p)
            for number, panel in enumerate(stack.panels)
            if fold.moves(number)
            for p in panel.face.corners
        ]
        for _, number, panel, corner in sorted(corners, key=lambda c: -c[0]):
            place = panel.motion.back(corner)
            layers = layers_that_move(stack, fold, place)
            if layers is not None:
                name = self.marks.name(place, max(e.step for e in stack.panels[number].face.edges))
                return step | {"moves": name} | _which(layers, fold)
        raise LookupError("no mark tells these layers from others")

    def _references(self, stack: Stack) -> Iterator[Reference]:
        for number, panel in enumerate(stack.panels):
            flat, image, edges = panel.flat(), panel.face.corners, panel.face.edges
            for i, edge in enumerate(edges):
                j = (i + 1) % len(edges)
                if edge.step == 0:
                    continue
                ends = image[i], image[j]
                plain = not (_covered(stack, number, ends, 1) and _covered(stack, number, ends, -1))
                kind = "edge" if edge.raw else "crease"
                yield Reference(kind, (flat[i], flat[j]), ends, plain, (_made_at(edges, i), _made_at(edges, j)), number)
            loop = list(reversed(flat)) if panel.motion.turned else list(flat)
            for line in self.drawn:
                if line.kind != "side":
                    continue
                piece = _clipped((self.places[line.start], self.places[line.end]), loop)
                if piece is not None:
                    ends = panel.motion(piece[0]), panel.motion(piece[1])
                    plain = not panel.motion.turned and not _covered(stack, number, ends, 1)
                    step = max((e.step for e in edges), default=0)
                    yield Reference("side", piece, ends, plain, (step, step), number)

    def _line_onto_line(self, references: list[Reference], fold: Fold) -> Iterator[Choice]:
        """A line of one side laid along one of the other side; of one that crosses the fold, what is on that side."""
        line = fold.line
        moving = [(r, part) for r in references if fold.moves(r.panel) and (part := _beyond(r.ends, line))]
        staying = [(r, part) for r in references if (part := _beyond(r.ends, line.turned()))]
        for r, (a, b) in moving:
            p, q = line.point(a), line.point(b)
            for other, ends in staying:
                if not _nearly_on(p, q, ends) or not _on_line(p, q, ends) or _on_line(a, b, ends):
                    continue
                way = dot(difference(q, p), difference(ends[1], ends[0])).sign()
                yield Choice("line", max(_overlap(p, q, ends), 0.0), (r, other), way)

    def _by_places(self, references: list[Reference], fold: Fold) -> Iterator[Choice]:
        """Corners and ends of creases: two that lie on the line, or one that is laid on another one."""
        on: dict[Point, Spot] = {}
        moving: dict[Point, Spot] = {}
        staying: dict[Point, Spot] = {}
        for spot in self._spots(references):
            side = fold.line.height(spot.image).sign()
            if side <= 0 or fold.moves(spot.panel):
                (moving if side > 0 else staying if side else on).setdefault(spot.image, spot)
        for one, two in combinations(on.values(), 2):
            drawn = one.flat in self.marks.names and two.flat in self.marks.names
            yield Choice("through", _distance(one.image, two.image), (one, two), sure=drawn)
        for image, spot in moving.items():
            onto = staying.get(fold.line.point(image))
            if onto is not None:
                yield Choice("point", _distance(image, onto.image), (spot, onto))

    def _spots(self, references: list[Reference]) -> list[Spot]:
        """The ends of the references: the surest first, named ones before others."""
        spots = [
            Spot(p, image, r.plain, step, r.panel)
            for r in references
            for p, image, step in zip(r.flat, r.ends, r.steps, strict=True)
        ]
        return sorted(spots, key=lambda s: (not s.plain, s.flat not in self.marks.names))

    def _square(self, references: list[Reference], fold: Mirror) -> Iterator[Choice]:
        """Square to a line, through a corner or the end of a crease."""
        on = [s for s in self._spots(references) if fold.height(s.image).sign() == 0]
        for r in references if on else ():
            d = difference(r.ends[1], r.ends[0])
            if (d.x * fold.b - d.y * fold.a).sign() == 0:
                yield Choice("square", _distance(*r.ends), (r, on[0]))

    def _across(self, stack: Stack, fold: Mirror) -> Choice:
        """The last resort: through the two places farthest apart where the fold crosses edges and creases."""
        spots = []
        for number, panel in enumerate(stack.panels):
            corners, edges, step = panel.face.corners, panel.face.edges, max(e.step for e in panel.face.edges)
            heights = [fold.height(p) for p in corners]
            for i in range(len(edges)):
                if heights[i - 1].sign() * heights[i].sign() < 0:
                    image = between(corners[i - 1], corners[i], heights[i - 1] / (heights[i - 1] - heights[i]))
                    spots.append(Spot(panel.motion.back(image), image, True, max(step, 0), number))
                elif heights[i].sign() == 0:
                    spots.append(Spot(panel.motion.back(corners[i]), corners[i], True, max(step, 0), number))
        pairs = combinations(spots, 2)
        one, two = max(pairs, key=lambda pair: _distance(pair[0].image, pair[1].image))
        return Choice("through", _distance(one.image, two.image), (one, two))


class Spot(NamedTuple):
    """A place of the flat sheet and where it lies; `plain` and `step` as of a reference."""

    flat: Point
    image: Point
    plain: bool
    step: int
    panel: int


@dataclass(frozen=True)
class Choice:
    """One alignment: `form` line (two references), point or through (two spots), square (a reference and a spot);
    `length` in floats.

    `way`: 1 if the second of two references runs as the first one is laid on it, -1 if the other way. `sure`: it needs
    no eye for places that only a crease has made.
    """

    form: str
    length: float
    parts: tuple[Any, Any]
    way: int = 1
    sure: bool = True

    @property
    def rank(self) -> tuple[bool, bool, float, int]:
        """The least is the best: no line that only a ruler can draw, what can be seen, the longest reference, the
        surest kind.
        """
        kinds = [KINDS.index(part.kind) for part in self.parts if isinstance(part, Reference)]
        form = ("line", "point", "through", "square").index(self.form)
        hidden = not all(part.plain for part in self.parts)
        return form == 3 or not self.sure, hidden, -round(self.length, 6), max(kinds, default=form)

    def marks(self, marks: Marks) -> list[str]:
        one, two = self.parts
        if self.form == "line":
            return [*one.names(marks), *two.names(marks)[:: self.way]]
        if self.form == "square":
            return [*one.names(marks), marks.name(two.flat, two.step)]
        return [marks.name(part.flat, part.step) for part in self.parts]

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
    """The word of a recipe for the layers that move, if the mark that says so is this place of the sheet; None if there
    is none.

    As a recipe's step means it: all layers; the flap that holds the mark; so many layers from the top (or from below)
    where the mark lies; and what hangs on them.
    """
    line = fold.line
    image = stack.image(place)
    if line.height(image).sign() <= 0:
        return None
    if fold.moving is None:
        return "all"
    movable = [i for i, p in enumerate(stack.panels) if any(line.height(c).sign() > 0 for c in p.face.corners)]
    beside: dict[Edge, list[int]] = {}
    for i in movable:
        panel = stack.panels[i]
        heights = [line.height(c).sign() for c in panel.face.corners]
        for k, edge in enumerate(panel.face.edges):
            if heights[k] > 0 or heights[(k + 1) % len(heights)] > 0:
                beside.setdefault(edge, []).append(i)
    joints = [tuple(pair) for pair in beside.values() if len(pair) == 2]

    def reach(seeds: set[int], pairs: Sequence[tuple[int, ...]]) -> set[int]:
        reached = set(seeds)
        while new := {j for pair in pairs if reached & set(pair) for j in pair} - reached:
            reached |= new
        return reached

    flap = {i for i in movable if contains(stack.panels[i].face, stack.panels[i].motion(place))}
    if reach(flap, joints) == fold.moving:
        return "flap"
    unfolded = [(i, j) for i, j in joints if stack.panels[i].motion.turned == stack.panels[j].motion.turned]
    seeds: set[int] = set()
    count = 0
    for i in reversed(movable) if fold.over else movable:
        if contains(stack.panels[i].face, image) and i not in reach(seeds, unfolded):
            seeds.add(i)
            count += 1
            if reach(seeds, joints) == fold.moving:
                return count
    return None


def _which(layers: str | int, fold: Fold) -> dict[str, Any]:
    """The keys of a step for the layers that move and the way that they go, where they are not the usual ones."""
    keys: dict[str, Any] = {} if layers == "all" else {"layers": layers}
    return keys if fold.over else keys | {"direction": "behind"}


def _made_at(edges: tuple[Edge, ...], i: int) -> int:
    """The step whose crease made corner i of a panel; 0 if none did."""
    return max(edges[i - 1].step, edges[i].step, 0)


def _covered(stack: Stack, number: int, ends: tuple[Point, Point], upward: int) -> bool:
    """Whether the middle of a line on a panel lies under (or over) the open inside of another panel."""
    middle = Point((ends[0].x + ends[1].x) / 2, (ends[0].y + ends[1].y) / 2)
    others = stack.panels[number + 1 :] if upward > 0 else stack.panels[:number]
    return any(contains(p.face, middle) and locate(middle, p.face.corners) > 0 for p in others)


def _clipped(segment: tuple[Point, Point], loop: list[Point]) -> tuple[Point, Point] | None:
    """The part of a segment in a convex polygon (counter-clockwise), where it has a length."""
    share = share_within(*segment, loop)
    if share is None or share[0] == share[1]:
        return None
    return between(*segment, share[0]), between(*segment, share[1])


def _nearly_on(p: Point, q: Point, ends: tuple[Point, Point]) -> bool:
    """Whether two places may lie on the line through two others: in floats, and generously."""
    (ax, ay), (bx, by) = ((float(e.x), float(e.y)) for e in ends)
    dx, dy = bx - ax, by - ay
    size = hypot(dx, dy)
    return all(
        abs(dx * (float(r.y) - ay) - dy * (float(r.x) - ax)) <= _NEAR * size * (1 + abs(ax) + abs(ay)) for r in (p, q)
    )


def _on_line(p: Point, q: Point, ends: tuple[Point, Point]) -> bool:
    return orientation(*ends, p) == 0 == orientation(*ends, q)


def _beyond(ends: tuple[Point, Point], fold: Mirror) -> tuple[Point, Point] | None:
    """The part of a segment on the side of a fold line that moves, in its direction, where it has a length."""
    p, q = ends
    hp, hq = fold.height(p), fold.height(q)
    if hp.sign() <= 0 and hq.sign() <= 0:
        return None
    if hp.sign() * hq.sign() < 0:
        w = between(p, q, hp / (hp - hq))
        return (w, q) if hp.sign() < 0 else (p, w)
    return p, q


def _overlap(p: Point, q: Point, ends: tuple[Point, Point]) -> float:
    """How long two segments of one line lie on each other; negative if they lie apart."""
    a, b = ends
    x, y = float(b.x) - float(a.x), float(b.y) - float(a.y)
    size = hypot(x, y)
    s, t = sorted(((float(r.x) - float(a.x)) * x + (float(r.y) - float(a.y)) * y) / size for r in (p, q))
    return min(t, size) - max(s, 0.0)


def _distance(p: Point, q: Point) -> float:
    return hypot(float(p.x) - float(q.x), float(p.y) - float(q.y))
