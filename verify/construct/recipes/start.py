"""Where a search for recipes starts: the flat sheet with its target, or paper already folded."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from verify.construct.recipes.lines import RAW, EdgeKey, Face, Ink, Mirror, ink_of, line_through, mirror_through
from verify.construct.recipes.picture import Silhouette
from verify.construct.recipes.stack import Fold, Stack, stack_of
from verify.construct.skeleton.units import unit_vectors
from verify.cutting.pieces import parts_of
from verify.exact.plane import Point, around, centre
from verify.folding.steps import Folded
from verify.pattern.arrangement import subdivide
from verify.pattern.components import components
from verify.pattern.document import Document
from verify.pattern.drawing import Drawing, draw
from verify.pattern.limits import Limits
from verify.pattern.recipe import FoldStep, Recipe, TurnStep, UnfoldStep
from verify.pattern.subdivision import Subdivision


@dataclass(frozen=True)
class Start:
    """Where a search starts: the sheet of `document`, flat or folded as `recipe` says, with its target on it.

    `stack`: the paper as it lies; `places`: points and marks on the flat sheet, in the same field. `pieces`: the
    outline of each piece of the figure there (an odd number of outlines enclose it), or None if the target does not say
    what is figure.
    """

    document: Document
    stack: Stack
    places: dict[str, Point]
    pieces: tuple[Ink, ...] | None
    recipe: Recipe | None = None

    @cached_property
    def picture(self) -> Silhouette:
        """The paper as all-layers folds need to know it."""
        return Silhouette(tuple(layer.face for layer in self.stack.layers), self.stack.ink)


def start_of(document: Document, limits: Limits = Limits()) -> Start:
    """The flat sheet of a document with its target, without creases. Raises `Malformed`, and `LimitReached` if the
    lines' unit vectors need a field of too high a degree.
    """
    drawing = draw(replace(document, creases=()), limits)
    return _start(drawing, drawing.places, (), limits)[0]


def start_after(folded: Folded, limits: Limits = Limits()) -> Start:
    """The sheet as a recipe, of which no step was refused, leaves it. Raises `LimitReached` as `start_of`."""
    paper, done = folded.paper, folded.done
    lines = [place for x in done if x.line is not None for place in x.line]
    inside = [centre([paper.vertices[v] for v in paper.faces[f]]) for x in done for f in x.moved]
    start, also = _start(folded.drawing, folded.marks, (*lines, *inside), limits)
    ends, middles = iter(also[: len(lines)]), iter(also[len(lines) :])
    stack, undo = start.stack, list[Stack]()
    for number, x in enumerate(done, start=1):
        if isinstance(x.step, FoldStep):
            fold = _fold_of(stack, mirror_through(next(ends), next(ends)), [next(middles) for _ in x.moved], x.step)
            undo.append(stack)
            stack = stack.fold(fold, number) or stack
        elif isinstance(x.step, UnfoldStep):
            for _ in range(x.step.folds):
                stack = undo.pop()
        elif isinstance(x.step, TurnStep):
            stack = stack.turned()
    return replace(start, stack=stack, recipe=folded.recipe)


def _start(
    drawing: Drawing, named: Mapping[str, Point], also: Sequence[Point], limits: Limits
) -> tuple[Start, list[Point]]:
    """The flat sheet, with named places; and further places in its field."""
    document = drawing.document
    whole = subdivide(drawing, limits)
    lines = whole.straight(i for i, e in enumerate(whole.edges) if e.target and e.kind != "border")
    sheet = Document(document.points, document.outline, document.holes, unit=document.unit, source=document.source)
    bare = subdivide(replace(drawing, document=sheet), limits)
    every = [*whole.vertices, *bare.vertices, *named.values(), *also]
    points, directions = unit_vectors(every, lines, drawing.tower, limits)
    rest = iter(points)
    vertices, corners = ([next(rest) for _ in s.vertices] for s in (whole, bare))
    drawn = (
        (line_through(vertices[a], unit), vertices[a], vertices[b])
        for (a, b), unit in zip(lines, directions, strict=True)
    )
    ink = ink_of((line, line.stretch(a, b)) for line, a, b in drawn)
    edges = {frozenset(e.ends): EdgeKey(RAW if e.kind == "border" else 0, i) for i, e in enumerate(bare.edges)}
    faces = tuple(
        Face(tuple(corners[v] for v in loop), tuple(edges[frozenset(ends)] for ends in around(loop)))
        for loop in bare.faces
    )
    places = {name: next(rest) for name in named}
    outlines = _outlines(whole)
    pieces = None
    if outlines is not None:
        pieces = tuple(_on_lines(vertices, (whole.edges[i].ends for i in outline), ink) for outline in outlines)
    return Start(document, stack_of(faces, ink), places, pieces), list(rest)


def _fold_of(stack: Stack, line: Mirror, moved: list[Point], step: FoldStep) -> Fold:
    """The fold of a recipe's step; `moved` are places of the flat sheet, one inside each face that moved."""
    far = line if line.height(stack.image(moved[0])).sign() > 0 else line.turned()
    moving = frozenset(number for place in moved for number, _ in stack.images(place))
    return Fold(far, None if step.layers == "all" else moving, step.direction == "over")


def _on_lines(places: Sequence[Point], edges: Iterable[tuple[int, int]], ink: Ink) -> Ink:
    """Edges of the target as stretches of the lines that they lie on."""
    ends = [(places[a], places[b]) for a, b in edges]
    return ink_of(
        (line, line.stretch(a, b)) for a, b in ends for line in ink if not line.height(a) and not line.height(b)
    )


def _outlines(s: Subdivision) -> list[list[int]] | None:
    """The target edges round each piece of the figure; None if it is not told from the rest, or if pieces touch."""
    targets = [i for i, e in enumerate(s.edges) if e.target]
    if any(s.edges[i].kind == "border" for i in targets):
        return None
    parts = parts_of(s)
    piece = {f: number for number, part in enumerate(parts) for f in part}
    count = len(parts)
    beside = [(piece[s.edges[i].left], piece[s.edges[i].right]) for i in targets]
    # each part twice, on the one side of the target and (count more) on the other, as what is beside it is not
    both = components(2 * count, [pair for a, b in beside for pair in ((a, b + count), (a + count, b))])
    one = {p for p in both[0] if p < count}
    other = {p - count for p in both[0] if p >= count}
    if len(both) != 2 or one & other:
        return None
    at_edge = {piece[max(e.left, e.right)] for e in s.edges if e.kind == "border"}
    ground = other if at_edge <= other else one
    if not at_edge <= ground:
        return None
    outlines = [
        [i for i, pair in zip(targets, beside, strict=True) if number in pair]
        for number in range(count)
        if number not in ground
    ]
    corners = [v for outline in outlines for v in {v for i in outline for v in s.edges[i].ends}]
    return outlines if len(set(corners)) == len(corners) else None
