"""How the marks and lines of a step are called: by their names, by what they are, or as one sees them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from itertools import chain, pairwise
from typing import NamedTuple

from verify.cutting.hands import bent_by
from verify.exact.plane import Point, middle, on_segment, orientation
from verify.folding.steps import Folded
from verify.pattern.recipe import Alignment, FoldStep, MarkStep, Step, UnfoldStep
from verify.words.sight import Sight, floats

# which marks of each kind of alignment are a line
_LINES: Mapping[str, Sequence[tuple[int, int]]] = {
    "line-onto-line": ((0, 1), (2, 3)),
    "square": ((0, 1),),
    "point-onto-line": ((1, 2),),
    "point-onto-line-square": ((1, 2), (3, 4)),
    "two-points-onto-two-lines": ((2, 3), (4, 5)),
}
_SAID = {
    "through": "through {0} and {1}",
    "point-onto-point": "so that {0} lies on {1}",
    "line-onto-line": "so that {lines[0]} lies along {lines[1]}",
    "square": "square to {lines[0]}, through {0}",
    "point-onto-line": "so that {0} lands on {lines[0]}, at the {landing} of two places, through {1}",
    "point-onto-line-square": "so that {0} lands on {lines[0]}, square to {lines[1]}",
    "two-points-onto-two-lines": "so that {0} lands on {lines[0]} and {1} on {lines[1]}",
}

_Place = tuple[float, float]


class Made(NamedTuple):
    """Which step's crease makes a mark, where on it that is, whether only print shows it, and before which step."""

    step: int
    where: str
    printed: bool
    used: int


class _Crease(NamedTuple):
    """A part of a step's crease: where it ends on the sheet, its vertices there, and the step."""

    ends: tuple[Point, Point]
    vertices: tuple[int, int]
    step: int


class Speaker:
    """Speaks of steps by the names of marks."""

    def point(self, name: str) -> str:
        return name

    def line(self, one: str, two: str) -> str:
        return f"line {one}–{two}"

    def crease(self, one: str, two: str) -> str:
        """The crease that the line between two marks is, by its step; "" if it is none."""
        return ""

    def bent(self) -> int | None:
        """How many layers the step bends, where that is known."""
        return None

    def step(self, step: Step) -> str:
        if isinstance(step, FoldStep):
            which = {"all": "all layers", "flap": "the flap"}.get(str(step.layers)) or self.counted_layers(step)
            return f"fold {which} {step.direction}, moving {step.moves}, {self.alignment(step.alignment)}"
        if isinstance(step, MarkStep):
            one, two = (f"the line of step {x}" if isinstance(x, int) else f"line {x[0]}–{x[1]}" for x in step.crossing)
            layer = f", on the layer of {step.on}" if step.on else ""
            return f"mark where {one} crosses {two}{layer}, and call the place {step.name}"
        if isinstance(step, UnfoldStep):
            return "unfold the last fold" if step.folds == 1 else f"unfold the last {step.folds} folds"
        return "turn the paper over"

    def counted_layers(self, step: FoldStep) -> str:
        """The layers that are counted; and that others are joined to them and come along, unless exactly these bend."""
        where, one, bent = "top" if step.direction == "over" else "lowest", step.layers == 1, self.bent()
        counted = f"the {where} layer" if one else f"the {where} {step.layers} layers"
        if bent == step.layers:
            return counted
        joined = f"{counted} and what is joined to {'it' if one else 'them'}"
        return joined if bent is None or bent < int(step.layers) else f"{joined} ({bent} layers in all)"

    def alignment(self, alignment: Alignment) -> str:
        alone, lines = self.named_by(alignment)
        if alignment.kind == "through" and lines:
            one, two = lines[0]
            return f"along {self.crease(one, two)} ({one}–{two})"
        named = [self.line(*line) for line in lines]
        return _SAID[alignment.kind].format(*map(self.point, alone), lines=named, landing=alignment.landing)

    def named_by(self, alignment: Alignment) -> tuple[list[str], list[tuple[str, str]]]:
        """The marks that an alignment names by themselves, and the pairs that are lines."""
        marks = alignment.marks
        places = _LINES.get(alignment.kind, ())
        if alignment.kind == "through" and self.crease(marks[0], marks[1]):
            places = ((0, 1),)
        alone = [name for number, name in enumerate(marks) if number not in chain(*places)]
        return alone, [(marks[a], marks[b]) for a, b in places]


class OnPaper(Speaker):
    """Speaks of marks as they are before a step."""

    def __init__(self, folded: Folded, number: int) -> None:
        self.folded, self.number = folded, number
        base, places = folded.recipe, folded.drawing.places
        self.base_lines = base.sheet_lines(), base.target_lines()
        self.edges, self.sides = ([(places[a], places[b]) for a, b in lines] for lines in self.base_lines)

    def bent(self) -> int | None:
        if self.number > len(self.folded.done):
            return None
        try:
            return bent_by(self.folded.paper, self.number)[0]
        except OverflowError:
            return None

    def point(self, name: str) -> str:
        place = self.folded.marks[name]
        if any(place in ends for ends in (*self.edges, *self.sides)):
            return f"corner {name}"
        crease = next((line for line in self._creases if on_segment(place, *line.ends)), None)
        return f"{name} (on {self._called([crease])})" if crease else name

    def is_on_crease(self, name: str, number: int) -> bool:
        place = self.folded.marks[name]
        return any(line.step == number and on_segment(place, *line.ends) for line in self._creases)

    def made_before(self, used: int, name: str) -> Made | None:
        """Where a mark shows before the step that uses it: where a crease ends on an edge, meets an older one, or
        crosses a side of the target. None for a corner, and for a mark that no crossing shows.
        """
        corner = any(name in ends for ends in chain(*self.base_lines))
        return None if corner else self._made_at(self.folded.marks[name], used)

    def where_seen(self, name: str, made: Made, sight: Sight) -> str:
        """Where a mark is on the paper before the step that makes it: by what one sees there from above and is creased
        with it, or that it is out of sight.
        """
        for place, back in sight.seen_at(self.folded.marks[name]):
            seen = self._made_at(place, made.used)
            if seen is not None and seen.step == made.step and not (seen.printed and back):
                return seen.where
        return f"{made.where} (out of sight)"

    def _made_at(self, place: Point, used: int) -> Made | None:
        creases = [line for line in self._creases if on_segment(place, *line.ends)]
        steps = sorted({line.step for line in creases})
        if not steps:
            return None
        edge, side = (
            next((f"{a}–{b}" for a, b in lines if on_segment(place, self.folded.marks[a], self.folded.marks[b])), "")
            for lines in self.base_lines
        )
        if edge:
            return Made(steps[0], f"where the crease ends on edge {edge}", False, used)
        if len(steps) > 1 and steps[1] < used:
            first = [line for line in creases if line.step == steps[0]]
            older = self._called(first, steps[1]).replace("the crease", "that")
            return Made(steps[1], f"where the crease meets {older}", False, used)
        return Made(steps[0], f"where the crease crosses side {side}", True, used) if side else None

    def line(self, one: str, two: str) -> str:
        a, b = self.folded.marks[one], self.folded.marks[two]
        for called, lines in (("edge", self.edges), ("side", self.sides)):
            if any(on_segment(a, *ends) and on_segment(b, *ends) for ends in lines):
                return f"{called} {one}–{two}"
        crease = self.crease(one, two)
        return f"{crease} ({one}–{two})" if crease else f"line {one}–{two}"

    def crease(self, one: str, two: str) -> str:
        a, b = self.folded.marks[one], self.folded.marks[two]
        on_it = [
            line
            for line in self._creases
            if orientation(*line.ends, a) == 0 == orientation(*line.ends, b) and _overlap((a, b), line.ends)
        ]
        return self._called([line for line in on_it if line.step == on_it[0].step]) if on_it else ""

    def _called(self, creases: Sequence[_Crease], number: int = 0) -> str:
        """Parts of a step's crease as they are before step `number` (this one, if it is 0): folded, they are an edge of
        the paper as it lies then, which hands would not call a crease.
        """
        turned = self.folded.paper.states[(number or self.number) - 1].turned
        sides = [pair for line in creases for pair in self._sides(line)]
        folded = bool(sides) and all(turned[f] != turned[g] for f, g in sides)
        return f"the {'folded edge' if folded else 'crease'} of step {creases[0].step}"

    def _sides(self, crease: _Crease) -> Iterator[tuple[int, int]]:
        """The faces on either side of it, part by part; none where it lies on an edge of the sheet."""
        beside = self.folded.paper.beside
        for u, v in pairwise(self.folded.paper.refined(crease.vertices)):
            if (u, v) in beside and (v, u) in beside:
                yield beside[u, v], beside[v, u]

    @cached_property
    def _creases(self) -> list[_Crease]:
        paper = self.folded.paper
        at = paper.vertices
        every = ((ends, step) for ends, step in paper.creased.items() if step < self.number)
        return [_Crease((at[u], at[v]), (u, v), step) for (u, v), step in every]


def _overlap(one: tuple[Point, Point], other: tuple[Point, Point]) -> bool:
    """Whether two segments of one line have more than a point in common."""
    shared = {p for p in one if on_segment(p, *other)} | {p for p in other if on_segment(p, *one)}
    return len(shared) > 1


class AtTheCut(OnPaper):
    """Calls places by their names alone, so that the cut's sentence stays short."""

    def point(self, name: str) -> str:
        return name


_ENOUGH = 0.5  # how much of a line must show for hands to find it

_SIDES = (("left", "right"), ("bottom", "top"))


class Seen(OnPaper):
    """Sees the paper before a step as it lies: what is left, right, at the bottom or at the top. In floats."""

    def __init__(self, folded: Folded, number: int) -> None:
        super().__init__(folded, number)
        self.state = folded.paper.states[number - 1]
        self.places = [floats(p) for p in self.state.images]
        self.box = [(min(along), max(along)) for along in zip(*self.places, strict=True)]
        self.near: float = 1e-9 * max(high - low for low, high in self.box)

    def point(self, name: str) -> str:
        sides = [self._side([self._place(name)], axis) for axis in (1, 0)]
        if not all(sides):
            return super().point(name)
        where = " ".join(sides)
        return f"the {where} corner" if name == where else f"the {where} corner ({name})"

    def line(self, one: str, two: str) -> str:
        ends = [self._place(one), self._place(two)]
        side = self._side(ends, 0) or self._side(ends, 1)
        return f"the {side} edge ({one}–{two})" if side else super().line(one, two)

    def half(self) -> tuple[str, str] | None:
        """Which edge or corner comes onto which, if the step folds all layers along the middle of the paper and they
        meet there from end to end: ("left edge", "right edge").
        """
        done = self.folded.done[self.number - 1] if self.number <= len(self.folded.done) else None
        if done is None or done.line is None or not isinstance(done.step, FoldStep) or done.step.layers != "all":
            return None
        ends, mark = [floats(end) for end in done.line], self._place(done.step.moves)
        for axis, (low, high) in enumerate(self.box):
            middle = (low + high) / 2
            if all(self._is(end[axis], middle) for end in ends):
                here, there = _SIDES[axis] if mark[axis] < middle else _SIDES[axis][::-1]
                (first, last), onto = self._reach(axis, here), self._reach(axis, there)
                if self._is(first, onto[0]) and self._is(last, onto[1]):
                    what = "corner" if self._is(first, last) else "edge"
                    return f"{here} {what}", f"{there} {what}"
        return None

    def half_by_edges(self, half: tuple[str, str], alignment: Alignment) -> str:
        """A fold in half whose alignment names just the two edges that meet; "" if it names anything else."""
        if alignment.kind != "line-onto-line":
            return ""
        one, two, three, four = alignment.marks
        lines = self.line(one, two), self.line(three, four)
        named = [line for side in half for line in lines if line.startswith(f"the {side} (")]
        return f"in half, {named[0]} onto {named[1]}" if len(named) == len(lines) else ""

    def printed(self, alignment: Alignment) -> list[Point]:
        """Where to look for what an alignment speaks of and only print shows: corners of the target that are none of
        the paper's, and the ends and the middles of lines on its sides; none on an edge of the sheet.
        """
        marks, corners = self.folded.marks, self._print_alone()
        points, lines = self.named_by(alignment)
        places = [marks[name] for name in points if marks[name] in corners and not self._is_corner(name)]
        for one, two in lines:
            if self.line(one, two).startswith("side"):
                a, b = marks[one], marks[two]
                places += [*({a, b} & corners), middle(a, b)]
        return places

    @cached_property
    def sight(self) -> Sight:
        """What shows of lines and places."""
        return Sight(self.folded, self.number)

    def sees(self, place: Point) -> bool:
        """Whether print shows where a place of the sheet lies, seen from above: there, or on what lies over it."""
        shown = self._shown_at(place)
        return shown is not None and any(on_segment(shown, *ends) for ends in self.sides)

    def print_hidden(self, alignment: Alignment) -> bool:
        """Whether an alignment speaks of a side or a corner of the target that is out of sight from above: printed
        inside the folded paper, or underneath. The target is printed on the front alone.
        """
        return not all(map(self.sees, self.printed(alignment)))

    def dots_hidden(self, alignment: Alignment) -> bool:
        """Whether an alignment speaks of marks that only their printed dots show, and these are out of sight from
        above: places in the middle of an edge, of a crease or of a panel.
        """
        places = [self.folded.marks[name] for name in self._dots(alignment)]
        hidden = [place for place in places if self._shown_at(place) != place]
        return not all(map(self.sight.spot, hidden))

    def _dots(self, alignment: Alignment) -> list[str]:
        """The marks of an alignment that have a printed dot: where a fold goes through marks, all; else those that are
        no corners, and that no crease made.
        """
        points = self.named_by(alignment)[0]
        if alignment.kind == "through":
            return points
        corners = {*chain(*chain(*self.base_lines))}
        return [name for name in points if name not in corners and self.made_before(self.number, name) is None]

    def _shown_at(self, place: Point) -> Point | None:
        """Which place of the sheet's front one sees from above where a place lies; None where one sees its back."""
        paper, state = self.folded.paper, self.state
        image = paper.lies_at(place, state)
        top = next(f for f in reversed(state.stack) if paper.image_contains(f, image, state))
        return None if state.turned[top] else paper.place_under(top, image, state)

    def out_of_sight(self, alignment: Alignment, behind: bool, printed: bool) -> list[str]:
        """The edges, creases and marks of an alignment that other layers cover, from above or from either side
        (`behind`). What only print shows is not among them if there is print (`printed`).
        """
        sight, marks = self.sight, self.folded.marks
        points, lines = self.named_by(alignment)
        dots = self._dots(alignment)  # of which `dots_hidden` tells
        ways = (False, True) if behind else (False,)
        found = []
        for one, two in lines:
            words = self.line(one, two)
            if words.startswith("side"):
                continue
            shows = max(sight.line(marks[one], marks[two], behind=w) for w in ways)
            if shows < _ENOUGH:
                found.append(f"most of {words}" if shows else words)
        for name in points:
            place = marks[name]
            print_tells = printed and (name in dots or place in self._print_alone() or self._shown_at(place) == place)
            if not print_tells and not any(sight.point(place, behind=w) for w in ways):
                found.append(self.point(name))
        return found

    def _print_alone(self) -> set[Point]:
        """The corners of the target that are none of the sheet's."""
        sides, edges = ({p for ends in lines for p in ends} for lines in (self.sides, self.edges))
        return sides - edges

    def _is_corner(self, name: str) -> bool:
        return all(self._side([self._place(name)], axis) for axis in (0, 1))

    def _reach(self, axis: int, side: str) -> _Place:
        """From where to where the paper touches a side of its box, along it."""
        along = [place[1 - axis] for place in self.places if self._side([place], axis) == side]
        return min(along), max(along)

    def _side(self, places: Sequence[_Place], axis: int) -> str:
        """On which side of the paper's box some places lie, left and right (axis 0) or bottom and top (axis 1)."""
        for side, end in zip(_SIDES[axis], self.box[axis], strict=True):
            if all(self._is(place[axis], end) for place in places):
                return side
        return ""

    def _is(self, x: float, y: float) -> bool:
        return -self.near <= x - y <= self.near

    def _place(self, name: str) -> _Place:
        return floats(self.folded.paper.lies_at(self.folded.marks[name], self.state))
