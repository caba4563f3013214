"""Folding step by step: simple folds on the layer stack, exactly.

After every step the paper is a flat-folded state: an image for each vertex, the turned faces, and the faces stacked
bottom to top. A fold splits the layers that it bends, turns them over the line and puts them on top (or
underneath) in reverse order; it is refused if the paper would tear or another layer holds it. Nothing is searched for.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Literal

from verify.errors import CreaseproofError
from verify.exact.effort import EffortSpent, bounded, products, spend
from verify.exact.number import Number, bits, square_root_of_square
from verify.exact.plane import (
    Point,
    around,
    cross,
    cross_vectors,
    difference,
    line_meeting,
    mapped,
    orientation,
    reflection,
    same_place,
)
from verify.exact.tower import Image
from verify.folding.alignments import CUBIC, FieldGrew, FoldLine, NoSolution, UnsupportedAlignment, fold_line
from verify.folding.foldmap import FoldMap
from verify.folding.overlaps import clip, half_plane
from verify.folding.paper import CannotBeDone, Paper, fold_map_of
from verify.pattern.arrangement import subdivide
from verify.pattern.drawing import Drawing, draw
from verify.pattern.limits import LimitReached, Limits
from verify.pattern.recipe import Alignment, FoldStep, LineName, MarkStep, Recipe, Step, TurnStep, UnfoldStep, load_any
from verify.pattern.source import Malformed
from verify.pattern.subdivision import place_text

# Operations on numbers that a part of the work takes, as booked before it (roughly; each costs at least so many
# products of words).
_OPERATION = 1_000
_ORIENTATION, _REFLECTION, _CLIP = 7, 8, 50
RefusalKind = Literal["blocked", "few-layers", "no-solution"]


class NoCutLine(Malformed):
    """No line, or not exactly one, satisfies the alignment to cut along: `why` says which are the marks."""

    def __init__(self, fault: Malformed, why: NoSolution) -> None:
        super().__init__(fault.source, fault.place, fault.found, fault.expected, fault.line)
        self.why = why


class StepRefused(CreaseproofError):
    """A step that cannot be done as said. `step` counts from 1; `faces` are the layers that hold each other, `line` the
    fold line if there is one, `layers` how many there are where too few are. Without a line `why` says which alignment
    has none; with one, the mark that says which side moves is on it.
    """

    def __init__(
        self,
        step: int,
        kind: RefusalKind,
        *,
        faces: tuple[int, ...] = (),
        line: FoldLine | None = None,
        layers: int = 0,
        why: NoSolution | None = None,
    ) -> None:
        self.step, self.kind, self.faces, self.line, self.layers, self.why = step, kind, faces, line, layers, why
        super().__init__(f"step {step}: {kind}")


@dataclass(frozen=True)
class Done:
    """What one step did: its fold `line` and the `moved` faces, or the new mark with its face and image."""

    step: Step
    line: FoldLine | None = None
    moved: tuple[int, ...] = ()
    mark: tuple[Point, int, Point] | None = None

    def carried(self, image: Image) -> Done:
        """The same with its numbers in a larger field."""
        line, mark = self.line, self.mark
        if mark is not None:
            mark = mapped(mark[0], image), mark[1], mapped(mark[2], image)
        return Done(self.step, None if line is None else _carried(line, image), self.moved, mark)


@dataclass(frozen=True)
class Folded:
    """A recipe carried out: the paper, what each step did, marks on the flat sheet, where the scissors go."""

    recipe: Recipe
    drawing: Drawing
    paper: Paper
    done: tuple[Done, ...]
    marks: dict[str, Point]
    along: FoldLine | None
    refused: StepRefused | None

    @cached_property
    def fold_map(self) -> FoldMap:
        """How the paper lies at the end, over a subdivision of its own: faces that fold differently are apart."""
        return fold_map_of(self.paper, self.drawing)

    @property
    def stack(self) -> tuple[int, ...]:
        """The faces from bottom to top."""
        return tuple(self.paper.now.stack)

    def where(self, mark: str) -> Point:
        """Where a mark lies on the folded paper at the end."""
        return self.paper.lies_at(self.marks[mark])


class _Run:
    def __init__(self, recipe: Recipe, limits: Limits) -> None:
        self.recipe, self.limits = recipe, limits
        self.step = 0

    def begin(self) -> None:
        self.drawing = draw(self.recipe.base, self.limits)
        self.paper = Paper(subdivide(self.drawing, self.limits), self.limits)
        self.marks: dict[str, Point] = dict(self.drawing.places)
        self.roots: dict[Number, Number] = {}
        self.done: list[Done] = []
        self.undo: list[int] = []
        self.lines: dict[int, FoldLine] = {}
        self._within_bits("the polynomial of the number field", self.drawing.field.polynomial)
        self._cost = self._measured(self.paper.vertices)

    def run(self) -> Folded:
        alignments = [s.alignment for s in self.recipe.steps if isinstance(s, FoldStep)]
        if any(a is not None and a.kind == CUBIC for a in (*alignments, self.recipe.along)):
            raise UnsupportedAlignment
        refused = None
        along = None
        try:
            for number, step in enumerate(self.recipe.steps, start=1):
                self.step = number
                self._take(step)
                self._cost = self._measured((*self.paper.vertices, *self.paper.now.images))
            if self.recipe.along is not None:
                self.step = len(self.recipe.steps) + 1
                along = self._line(self.recipe.along)
        except StepRefused as error:
            refused = error
        return Folded(self.recipe, self.drawing, self.paper, tuple(self.done), self.marks, along, refused)

    def _measured(self, places: Iterable[Point]) -> int:
        """What one operation on numbers like these costs; `LimitReached` if they have grown too long."""
        longest = self._within_bits("a coordinate", (c for p in places for c in p))
        return _OPERATION + products(self.drawing.field.degree**2, longest, longest)

    def _within_bits(self, what: str, numbers: Iterable[Number | int]) -> int:
        longest = max(bits(Number.of(n)) for n in numbers)
        if longest > self.paper.limits.bits:
            raise LimitReached("bits", f"{self.paper.limits.bits:,}", f"{what} with {longest:,}")
        return longest

    def _malformed(self, found: str, expected: str) -> Malformed:
        return self.recipe.malformed(self.recipe.places[self.step - 1], found, expected)

    def _book(self, operations: int) -> None:
        spend(operations * self._cost)

    def _take(self, step: Step) -> None:
        if isinstance(step, FoldStep):
            self._fold(step)
        elif isinstance(step, MarkStep):
            self._mark(step)
        elif isinstance(step, UnfoldStep):
            self._unfold(step)
        else:
            self._turn(step)

    def where(self, mark: str) -> Point:
        self._book(len(self.paper.faces) * _ORIENTATION)
        try:
            image = self.paper.lies_at(self.marks[mark])
        except CannotBeDone:
            raise self._malformed(f"the mark {mark} off the sheet", "a mark on the sheet") from None
        self._measured((image,))
        return image

    def root(self, x: Number) -> Number:
        exact = square_root_of_square(x.as_fraction()) if x.is_rational else None
        if exact is not None:
            return Number.of(exact)
        if x not in self.roots:
            drawing, image, root = self.drawing.with_root(x, self.limits)
            grew = drawing is not self.drawing
            if grew:
                self._carry(drawing, image)
            self.roots[image(x)] = root
            if grew:
                raise FieldGrew
        return self.roots[x]

    def _carry(self, drawing: Drawing, image: Image) -> None:
        """Write everything in the larger field of this drawing."""
        self.drawing = drawing
        self._within_bits("the polynomial of the number field", drawing.field.polynomial)
        self._book(sum(len(state.images) for state in self.paper.states) * 2 * drawing.field.degree)
        self.paper.carry(drawing, image)
        self.marks = {name: mapped(place, image) for name, place in self.marks.items()}
        self.roots = {image(x): image(root) for x, root in self.roots.items()}
        self.lines = {step: _carried(line, image) for step, line in self.lines.items()}
        self.done = [done.carried(image) for done in self.done]
        self._cost = self._measured((*self.paper.vertices, *self.paper.now.images))

    def _line(self, alignment: Alignment) -> FoldLine:
        try:
            try:
                line = fold_line(alignment, self.where, self.root)
            except FieldGrew:
                line = fold_line(alignment, self.where, self.root)
        except NoSolution as error:
            if self.step > len(self.recipe.steps):
                expected = "an alignment that one line of the folded paper satisfies"
                fault = self.recipe.malformed("cut.along", "no line to cut along after the last step", expected)
                raise NoCutLine(fault, error) from None
            raise StepRefused(self.step, "no-solution", why=error) from None
        self._cost = max(self._cost, self._measured(line))
        return line

    def _fold(self, step: FoldStep) -> None:
        line = self._line(step.alignment)
        toward = self.where(step.moves)
        side = orientation(*line, toward)
        if side == 0:
            raise StepRefused(self.step, "no-solution", line=line)
        paper, state = self.paper, self.paper.now
        if side < 0:
            line = line[1], line[0]
        self._book(len(state.images) * _ORIENTATION)
        heights = [cross(*line, p) for p in state.images]
        signs = [h.sign() for h in heights]
        movable = {f for f, loop in enumerate(paper.faces) if any(signs[v] > 0 for v in loop)}
        if step.layers not in ("all", "flap"):
            self._book(len(paper.faces) * _ORIENTATION)
        try:
            moved = paper.moved(step, movable, self.marks[step.moves], toward, signs)
        except CannotBeDone as error:
            raise StepRefused(self.step, "few-layers", line=line, layers=error.layers) from None
        unmoved = movable - moved
        going = {f: f for f in moved}
        for f in sorted(moved):
            if any(signs[v] < 0 for v in paper.faces[f]):
                self._book(len(paper.states) * _REFLECTION)
                going[f] = paper.split_face(f, heights, signs, self.step)
        moving = set(going.values())
        for u, v in (edge for f in sorted(moving) for edge in around(paper.faces[f])):
            if signs[u] == 0 == signs[v]:
                paper.creased.setdefault((u, v), self.step)
        if unmoved:
            self._check_free(step, line, moving, unmoved)
        new_state = paper.now.copy()
        paper.states.append(new_state)
        changing = {v for f in moving for v in paper.faces[f]}
        self._book(len(changing) * _REFLECTION)
        mirrored = reflection(*line)
        for v in changing:
            if signs[v] > 0:
                new_state.images[v] = mirrored(new_state.images[v])
        new_state.turn(moving, step.direction)
        self.lines[self.step] = _turned_over(line) if state.over else line
        self.undo.append(len(paper.states) - 2)
        self.done.append(Done(step, line, tuple(sorted(moving))))

    def _check_free(self, step: FoldStep, line: FoldLine, moved: set[int], unmoved: set[int]) -> None:
        """Refuse if an unmoved layer lies in the way of a moved one."""
        paper = self.paper
        rank = {f: r for r, f in enumerate(paper.now.stack)}
        wedge: dict[int, list[Point]] = {}

        def part(f: int) -> list[Point]:
            if f not in wedge:
                wedge[f] = half_plane(paper.folded_loop(f), *line)
            return wedge[f]

        for f in sorted(moved, key=rank.__getitem__, reverse=step.direction == "behind"):
            self._book(sum((rank[g] > rank[f]) == (step.direction == "over") for g in unmoved) * _CLIP)
            for g in sorted(unmoved, key=rank.__getitem__, reverse=step.direction == "over"):
                in_the_way = rank[g] > rank[f] if step.direction == "over" else rank[g] < rank[f]
                if in_the_way and clip(part(f), part(g)):
                    raise StepRefused(self.step, "blocked", faces=(f, g), line=line)

    def _mark(self, step: MarkStep) -> None:
        one, two = (self._drawn(line) for line in step.crossing)
        if cross_vectors(difference(one[1], one[0]), difference(two[1], two[0])).sign() == 0:
            raise self._malformed("two lines that are parallel or the same", "two lines that cross in one point")
        image = line_meeting(*one, *two)
        self._cost = max(self._cost, self._measured((image,)))
        paper = self.paper
        self._book(2 * len(paper.faces) * _ORIENTATION)
        face = paper.face_for_mark(image, self.marks[step.on] if step.on is not None else None)
        if face is None:
            raise self._malformed(f"no paper where the lines cross, at {place_text(image)}", "a crossing on the paper")
        place = paper.place_under(face, image)
        self._measured((place,))
        self.marks[step.name] = place
        names = self.drawing.names
        self.drawing = replace(self.drawing, names=names | {place: names.get(place, step.name)})
        paper.states.append(paper.now.copy())
        self.done.append(Done(step, mark=(place, face, image)))

    def _drawn(self, line: LineName) -> FoldLine:
        if isinstance(line, int):
            return _turned_over(self.lines[line]) if self.paper.now.over else self.lines[line]
        a, b = (self.where(m) for m in line)
        if same_place(a, b):
            raise self._malformed(f"{line[0]} and {line[1]} in one place", "two marks in different places")
        return a, b

    def _unfold(self, step: UnfoldStep) -> None:
        if step.folds > len(self.undo):
            raise self._malformed(f"unfold {step.folds}, with {len(self.undo)} left to open", "no more than that")
        for _ in range(step.folds):
            back = self.undo.pop()
        self.paper.states.append(self.paper.states[back].copy())
        self.done.append(Done(step))

    def _turn(self, step: TurnStep) -> None:
        state = self.paper.now.copy()
        state.images = [Point(-p.x, p.y) for p in state.images]
        state.turned = [not t for t in state.turned]
        state.stack.reverse()
        state.over = not state.over
        self.paper.states.append(state)
        self.done.append(Done(step))


def _carried(line: FoldLine, image: Image) -> FoldLine:
    return mapped(line[0], image), mapped(line[1], image)


def _turned_over(line: FoldLine) -> FoldLine:
    a, b = line
    return Point(-a.x, a.y), Point(-b.x, b.y)


def carry_out(recipe: Recipe | str | Path, limits: Limits = Limits()) -> Folded:
    """Fold a recipe (or the file of one) step by step, exactly, in a field that grows by the square roots that
    alignments need; `refused`: which step cannot be done and why. Raises `Malformed`, `LimitReached`,
    `alignments.UnsupportedAlignment`.
    """
    recipe = load_any(recipe).as_recipe()
    run = _Run(recipe, limits)
    with bounded(limits.work, limits.seconds):
        try:
            run.begin()
            return run.run()
        except (LimitReached, EffortSpent) as error:
            raise _at(run.step, recipe, error) from None


def _at(step: int, recipe: Recipe, error: LimitReached | EffortSpent) -> LimitReached:
    """The limit, with the step that reached it or whose root made the numbers so long (0: before the first step)."""
    if isinstance(error, EffortSpent):
        error = LimitReached(error.limit, error.allowed, "its exact numbers take longer than that")
    if step == 0:
        return error
    place = f"step {step}" if step <= len(recipe.steps) else "cut.along"
    return LimitReached(error.limit, error.allowed, f"{place}: {error.found}")
