"""Where a search for recipes starts: the flat sheet with its target, or folded already."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import networkx as nx

from verify.construct.recipes.lines import (
    RAW,
    Edge,
    Face,
    Line,
    Mirror,
    Stretch,
    Stretches,
    line_through,
    merged,
    mirror_through,
)
from verify.construct.recipes.picture import Picture
from verify.construct.recipes.stack import Fold, Stack, stack_of
from verify.construct.units import unit_vectors
from verify.exact.number import Number
from verify.exact.plane import Point, around
from verify.folding.steps import Folded
from verify.pattern.arrangement import subdivide
from verify.pattern.document import Document
from verify.pattern.drawing import Drawing, draw
from verify.pattern.limits import Limits
from verify.pattern.recipe import FoldStep, Recipe, TurnStep, UnfoldStep
from verify.pattern.subdivision import Subdivision

Ink = dict[Line, Stretches]


@dataclass(frozen=True)
class Start:
    """Where a search starts: the sheet of `document`, flat or folded already as `recipe` says, with its target on it.

    `picture` and `stack` are the paper as it lies; `places` are the document's points on the flat sheet, and the
    recipe's marks, in the same field. `pieces` is the outline of each piece of the figure (what an odd number of
    outlines encloses) on the flat sheet, or None if the target's lines do not divide the sheet into figure and rest.
    `stacks` is the paper before each of the recipe's steps.
    """

    document: Document
    picture: Picture
    stack: Stack
    places: dict[str, Point]
    pieces: tuple[Ink, ...] | None
    recipe: Recipe | None = None
    stacks: tuple[Stack, ...] = ()


def start_of(document: Document, limits: Limits = Limits()) -> Start:
    """The flat sheet of a document with its target. Its creases are not looked at.

    Raises `Malformed` for a drawing without meaning, `LimitReached` if the lines' unit vectors need a field of too high
    a degree.
    """
    drawing = draw(replace(document, creases=()), limits)
    return _start(drawing, drawing.places, (), limits)[0]


def start_after(folded: Folded, limits: Limits = Limits()) -> Start:
    """The sheet as a recipe leaves it, with its target. Assumes that no step was refused. Raises `LimitReached` as
    `start_of`.
    """
    recipe, done = folded.recipe, folded.done
    lines = [x.line for x in done if x.line is not None]
    inside = [folded.paper.vertices[v] for x in done for f in x.moved for v in folded.paper.faces[f]]
    start, also = _start(folded.drawing, folded.marks, (*(p for line in lines for p in line), *inside), limits)
    at = iter(also)
    mirrors = iter([mirror_through(next(at), next(at)) for _ in lines])
    corners = {(k, f): [next(at) for _ in folded.paper.faces[f]] for k, x in enumerate(done) for f in x.moved}
    stack, stacks, undo = start.stack, [start.stack], list[Stack]()
    for k, x in enumerate(done):
        if isinstance(x.step, FoldStep):
            moved = [_middle(corners[k, f]) for f in x.moved]
            fold = _fold_of(stack, next(mirrors), moved, x.step)
            undo.append(stack)
            stack = stack.fold(fold, k + 1) or stack
        elif isinstance(x.step, UnfoldStep):
            for _ in range(x.step.folds):
                stack = undo.pop()
        elif isinstance(x.step, TurnStep):
            stack = stack.turned()
        stacks.append(stack)
    ink = {line: merged(s) for line, s in stack.lines().items()}
    picture = Picture(tuple(p.face for p in stack.panels), ink)
    return replace(start, picture=picture, stack=stack, recipe=recipe, stacks=tuple(stacks))


def _start(
    drawing: Drawing, named: Mapping[str, Point], also: Sequence[Point], limits: Limits
) -> tuple[Start, list[Point]]:
    """The flat sheet, with named places; and further places in its field."""
    document = drawing.document
    whole = subdivide(drawing, limits)
    lines = whole.straight(i for i, e in enumerate(whole.edges) if e.target and e.kind != "border")
    bare = subdivide(replace(drawing, document=sheet_of(document)), limits)
    every = [*whole.vertices, *bare.vertices, *named.values(), *also]
    points, directions = unit_vectors(every, lines, limits, drawing.tower)
    drawn = _ink(points, lines, directions)
    edges = {frozenset(e.ends): Edge(RAW if e.kind == "border" else 0, i) for i, e in enumerate(bare.edges)}
    first = len(whole.vertices)
    faces = tuple(
        Face(
            tuple(points[first + v] for v in loop),
            tuple(edges[frozenset(ends)] for ends in around(loop)),
        )
        for loop in bare.faces
    )
    first += len(bare.vertices)
    places = dict(zip(named, points[first : first + len(named)], strict=True))
    outlines = _outlines(whole)
    pieces = None
    if outlines is not None:
        pieces = tuple(_on_lines(points, (whole.edges[i].ends for i in outline), drawn) for outline in outlines)
    start = Start(document, Picture(faces, drawn), stack_of(faces, drawn), places, pieces)
    return start, points[first + len(named) :]


def _fold_of(stack: Stack, line: Mirror, moved: list[Point], step: FoldStep) -> Fold:
    """The fold of a recipe's step; `moved` are places of the flat sheet, one inside each face that moved."""
    if step.layers == "all":
        images = (image for place in moved for _, image in stack.images(place))
        far = line if line.height(next(images)).sign() > 0 else line.turned()
        return Fold(far, None, step.direction == "over")
    moving = frozenset(number for place in moved for number, _ in stack.images(place))
    side = line if line.height(stack.image(moved[0])).sign() > 0 else line.turned()
    return Fold(side, moving, step.direction == "over")


def _middle(corners: list[Point]) -> Point:
    x, y = (sum((p[i] for p in corners), Number.of(0)) / len(corners) for i in (0, 1))
    return Point(x, y)


def sheet_of(document: Document) -> Document:
    """The document's sheet alone."""
    return Document(document.points, document.outline, document.holes, unit=document.unit, source=document.source)


def _ink(points: list[Point], lines: list[tuple[int, int]], directions: list[Point]) -> Ink:
    ink: dict[Line, list[Stretch]] = {}
    for (a, b), unit in zip(lines, directions, strict=True):
        line = line_through(points[a], unit)
        low, high = sorted((line.along(points[a]), line.along(points[b])))
        ink.setdefault(line, []).append((low, high))
    return {line: merged(stretches) for line, stretches in ink.items()}


def _on_lines(points: list[Point], edges: Iterable[tuple[int, int]], drawn: Ink) -> Ink:
    """Edges of the target as stretches of the lines that they lie on."""
    ink: dict[Line, list[Stretch]] = {}
    for a, b in edges:
        line = next(x for x in drawn if x.height(points[a]).sign() == 0 == x.height(points[b]).sign())
        low, high = sorted((line.along(points[a]), line.along(points[b])))
        ink.setdefault(line, []).append((low, high))
    return {line: merged(stretches) for line, stretches in ink.items()}


def _outlines(s: Subdivision) -> list[list[int]] | None:
    """The target edges around each piece of the figure; None if the target does not divide the sheet into figure and
    rest.

    None as well if target lies along the sheet's own edge, where it has no other side, or if two pieces touch.
    """
    paper = nx.Graph()
    paper.add_nodes_from(range(len(s.faces)))
    paper.add_edges_from((e.left, e.right) for e in s.edges if e.kind != "border" and not e.target)
    piece = {f: number for number, part in enumerate(nx.connected_components(paper)) for f in part}
    beside = nx.Graph()
    beside.add_nodes_from(piece.values())
    targets = [i for i, e in enumerate(s.edges) if e.target]
    if any(s.edges[i].kind == "border" for i in targets):
        return None
    beside.add_edges_from((piece[s.edges[i].left], piece[s.edges[i].right]) for i in targets)
    if not nx.is_bipartite(beside) or not nx.is_connected(beside):
        return None
    at_edge = {piece[max(e.left, e.right)] for e in s.edges if e.kind == "border"}
    colour = nx.bipartite.color(beside)
    if len({colour[p] for p in at_edge}) != 1:
        return None
    ground = colour[next(iter(at_edge))]
    outlines = [
        [i for i in targets if number in (piece[s.edges[i].left], piece[s.edges[i].right])]
        for number in sorted(beside)
        if colour[number] != ground
    ]
    corners = [v for outline in outlines for v in {v for i in outline for v in s.edges[i].ends}]
    return outlines if len(set(corners)) == len(corners) else None
