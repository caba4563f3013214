"""What is to be drawn: a result's sheet, folds, layers, cut and pieces in page millimetres.

Everything exact stays in the result; here it is scaled exactly and then rounded once, for the eye. A picture proves
nothing.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from itertools import combinations
from math import atan2
from pathlib import Path
from typing import TYPE_CHECKING, Literal, NamedTuple

from verify.cutting.bending import cut_outline
from verify.cutting.cut import Cut
from verify.cutting.outcome import pattern_of
from verify.cutting.pieces import Piece, pieces
from verify.exact.number import Number
from verify.exact.plane import Point, around, middle
from verify.folding.foldmap import IDENTITY, Reflections
from verify.folding.overlaps import Overlaps
from verify.folding.pairs import Above
from verify.folding.stack import layers_of, order_of_stack
from verify.folding.steps import StepRefused
from verify.pattern.arrangement import subdivide
from verify.pattern.components import components
from verify.pattern.document import IN_MM, Document
from verify.pattern.drawing import draw
from verify.pattern.source import printable
from verify.pattern.subdivision import Subdivision
from verify.show.page import XY, box_of
from verify.tasks.certify import Result
from verify.words.findings import Finding, rounded

if TYPE_CHECKING:
    from verify.show.paper import FoldedPaper

_PAGE_MM = Fraction(170)
_SMALL_MM = 50.0
_LARGE_MM = 120.0
_STRAIGHT = 3e-5  # radians
_NEAR = 1e-6  # page millimetres: what nobody sees
MARKS = 12
_BITS = 80

Fold = Literal["mountain", "valley", "either"]


class Plate(NamedTuple):
    """Faces that lie in one plane side by side and are drawn as one: `level` counts from 0 at the bottom."""

    faces: tuple[int, ...]
    turned: bool
    level: int


class Mark(NamedTuple):
    """Findings that speak of the same place, under one number, and what they speak of."""

    number: int
    findings: tuple[Finding, ...]
    vertices: tuple[int, ...] = ()
    edges: tuple[int, ...] = ()
    faces: tuple[int, ...] = ()

    @property
    def fails(self) -> bool:
        return any(f.level == "fails" for f in self.findings)

    @property
    def is_placed(self) -> bool:
        """Whether it speaks of something that is drawn."""
        return bool(self.vertices or self.edges or self.faces)


class NamedByFindings:
    """What a finding's `where` names."""

    def __init__(self, s: Subdivision, result: Result) -> None:
        at = {place: v for v, place in enumerate(s.vertices)}
        self.vertices = {s.name(v): v for v in at.values()}
        self.vertices |= {name: at[place] for name, place in s.drawing.places.items() if place in at}
        self.edges: dict[str, tuple[int, ...]] = {}
        lines = result.document.target_lines()
        for chain, (a, b) in zip(s.target_chains, lines, strict=True):
            self.edges[f"{a}–{b}"] = tuple(s.edges_along(chain))
        for number, hole in enumerate(result.document.holes, start=1):
            chain = s.sheet_chains[number]
            self.edges[f"hole {'–'.join(hole)}"] = tuple(s.edge_at[u, v] for u, v in around(chain))
        for n, edge in enumerate(s.edges):
            if edge.is_fold:
                self.edges[s.run_name(n)] = tuple(s.run(n)[0])
        for n in range(len(s.edges)):
            self.edges[s.edge_name(n)] = (n,)
        self.faces = {s.panel_name(panel): tuple(panel) for panel in s.panels}
        self.faces |= {s.face_name(f): (f,) for f in range(len(s.faces))}

    def resolve(self, where: Iterable[str]) -> tuple[tuple[int, ...], tuple[int, ...], tuple[int, ...]]:
        """The vertices, edges and faces that are named; other names are passed over."""
        names = list(where)
        vertices = [self.vertices[name] for name in names if name in self.vertices]
        others = [name for name in names if name not in self.vertices]
        edges = dict.fromkeys(n for name in others for n in self.edges.get(name, ()))
        faces = dict.fromkeys(f for name in others if name not in self.edges for f in self.faces.get(name, ()))
        return tuple(vertices), tuple(edges), tuple(faces)


class Torn(NamedTuple):
    """The panels carried one after another from panel 0, where the fold map does not exist: `at[f][v]` in page
    millimetres, and the edges whose two sides come to lie apart."""

    at: tuple[dict[int, XY], ...]
    edges: tuple[int, ...]


@dataclass(frozen=True)
class Scene:
    """A result ready to be drawn. `subdivision` is the result's; build it with `scene_of`."""

    result: Result
    subdivision: Subdivision
    scale: Fraction  # page millimetres for one of paper
    flat: tuple[XY, ...]
    to_page: Callable[[Point], XY] = field(repr=False)
    _after: dict[int, FoldedPaper] = field(default_factory=dict, init=False, repr=False, compare=False)

    def after(self, step: int, look: Callable[[], FoldedPaper]) -> FoldedPaper:
        """The folded paper after a step of the recipe, worked out when it is first drawn."""
        if step not in self._after:
            self._after[step] = look()
        return self._after[step]

    @cached_property
    def size(self) -> str:
        """Width and height of the sheet with the unit, rounded for people."""
        xs, ys = zip(*self.subdivision.vertices, strict=True)
        return f"{rounded(max(xs) - min(xs))} × {rounded(max(ys) - min(ys))} {self.result.document.unit}"

    @cached_property
    def folded_true(self) -> tuple[XY, ...] | None:
        """The folded vertices at the scale of the flat sheet; None where the fold map does not exist."""
        folded = self.result.fold_map
        if folded is None or not folded.exists:
            return None
        return tuple(self.to_page(p) for p in folded.images)

    @cached_property
    def magnified(self) -> int:
        """How many times larger than the flat sheet the folded one is drawn: 1 unless it is small."""
        if self.folded_true is None:
            return 1
        left, low, right, high = box_of(self.folded_true)
        span = max(right - left, high - low)
        return next((m for m in (10, 5, 2) if span < _SMALL_MM and span * m <= _LARGE_MM), 1)

    @cached_property
    def folded(self) -> tuple[XY, ...] | None:
        """The folded vertices as they are drawn; None where the fold map does not exist."""
        if self.folded_true is None:
            return None
        return tuple(p.scaled(self.magnified) for p in self.folded_true)

    def folded_page(self, p: Point) -> XY:
        """A place of the folded plane as it is drawn."""
        return self.to_page(p).scaled(self.magnified)

    @cached_property
    def turned(self) -> tuple[bool, ...]:
        """For each face whether it lies with its back up."""
        folded = self.result.fold_map
        return folded.turned if folded is not None else (False,) * len(self.subdivision.faces)

    @cached_property
    def has_layers(self) -> bool:
        """Whether it is known which face lies over which."""
        return self.folded is not None and self._stack is not None

    @cached_property
    def _stack(self) -> tuple[int, ...] | None:
        if self.result.order is not None:
            return self.result.order.stack
        steps = self.result.carried
        return tuple(steps.paper.now.stack) if steps is not None else None

    @cached_property
    def fold_kinds(self) -> tuple[Fold | None, ...]:
        """How each edge is folded, as the layer order takes it; `either` where that is open."""
        order = self.result.order
        kinds: list[Fold | None] = []
        for number, e in enumerate(self.subdivision.edges):
            if e.kind == "either" and order is not None:
                kinds.append(order.assignment(number))
            else:
                kinds.append(e.kind if e.kind in ("mountain", "valley", "either") else None)
        return tuple(kinds)

    @cached_property
    def takes_either(self) -> bool:
        """Whether some fold drawn `either` is shown as the layer order takes it."""
        return self.result.order is not None and any(e.kind == "either" for e in self.subdivision.edges)

    @cached_property
    def plates(self) -> tuple[Plate, ...]:
        """What is drawn as one piece of paper, bottom to top.

        Faces joined across edges that are not folded, if these can be stacked as wholes; else the single faces.
        """
        if self._stack is None:
            return tuple(Plate((f,), self.turned[f], 0) for f in range(len(self.subdivision.faces)))
        layers = layers_of(self._above, self._stack, self.subdivision.panels)
        return tuple(Plate(tuple(faces), self.turned[faces[0]], level) for faces, level in layers)

    @cached_property
    def level_of(self) -> dict[int, int]:
        return {f: plate.level for plate in self.plates for f in plate.faces}

    @property
    def top(self) -> int:
        return max(self.level_of.values())

    @cached_property
    def _above(self) -> Above:
        """Which face lies over which, where they overlap. Assumes that there is a stack."""
        order, folded = self.result.order, self.result.fold_map
        if order is not None:
            return order.above
        if folded is None:
            raise ValueError("nothing is folded")
        return order_of_stack(Overlaps(folded), self._stack or ()).above

    @cached_property
    def repaints(self) -> dict[int, list[int]]:
        """For each face those over it that yet come before it in the stack (circles without a common point)."""
        order = self.result.order
        return repaints_of(order.stack, order.exceptions) if order is not None else {}

    @cached_property
    def marks(self) -> tuple[Mark, ...]:
        """Findings that fail, then advice with a place, each place once, at most `MARKS` of them."""
        groups: dict[tuple[str, ...], list[Finding]] = {}
        for level in ("fails", "advice"):
            for number, finding in enumerate(self.result.findings):
                if finding.level == level and (level == "fails" or (finding.where and finding.check != "vertex")):
                    key = finding.where if finding.where else ("", str(number))
                    groups.setdefault(key, []).append(finding)
        marks = []
        for number, (where, findings) in enumerate(list(groups.items())[:MARKS], start=1):
            vertices, edges, faces = self._names.resolve(where if where[0] else ())
            refused = self.refused
            if refused is not None and any(f.check == "step" for f in findings):
                faces = refused.faces
            marks.append(Mark(number, tuple(findings), vertices, edges, faces))
        return tuple(marks)

    @cached_property
    def more_marks(self) -> int:
        """Failing findings beyond those that are marked."""
        shown = sum(len(m.findings) for m in self.marks if m.fails)
        return max(0, len(self.result.failures) - shown)

    @cached_property
    def refused(self) -> StepRefused | None:
        """The step of a recipe that cannot be done."""
        steps = self.result.carried
        return steps.refused if steps is not None else None

    @cached_property
    def reasons(self) -> dict[str, Mark]:
        """For each reason of a finding (its words) the lines and panels that it names."""
        return {
            reason: Mark(0, (finding,), *self._names.resolve(names))
            for finding in self.result.failures
            for reason, names in zip(finding.value.get("reasons", ()), finding.spoken, strict=True)
        }

    @cached_property
    def _names(self) -> NamedByFindings:
        return NamedByFindings(self.subdivision, self.result)

    @property
    def cutting(self) -> Cut | None:
        return self.result.cutting

    @cached_property
    def cut_line(self) -> tuple[XY, XY] | None:
        """Two places of the one straight cut in the folded plane, if there is one."""
        steps = self.result.carried
        if steps is not None and steps.along is not None:
            return self.folded_page(steps.along[0]), self.folded_page(steps.along[1])
        cutting = self.cutting
        if cutting is None or cutting.allowed != 1 or cutting.line is None:
            return None
        a, b = cutting.through
        return self.folded_page(a), self.folded_page(b)

    @cached_property
    def really_cut(self) -> Subdivision | None:
        """For a recipe without a target that says where the scissors go: the sheet divided by what is really cut."""
        steps, folded = self.result.carried, self.result.fold_map
        if steps is None or folded is None or steps.along is None or self.result.document.has_target:
            return None
        outline = cut_outline(steps)
        if outline is None or not outline.segments():
            return None
        return subdivide(draw(pattern_of(folded, outline)))

    @cached_property
    def parts(self) -> tuple[tuple[Piece, ...], Subdivision]:
        """The pieces, and the subdivision of whose faces they consist."""
        if self.really_cut is not None:
            return tuple(pieces(self.really_cut)), self.really_cut
        return self.result.parts, self.subdivision

    @property
    def pieces_are_proved(self) -> bool:
        exact = self.cutting is not None and self.cutting.exact
        return self.result.verdict == "certified" and (self.really_cut is not None or exact)

    @cached_property
    def role_of(self) -> dict[int, str]:
        """What each face of the result's subdivision belongs to after the cut."""
        return {f: piece.role for piece in self.result.parts for f in piece.faces}

    @cached_property
    def torn(self) -> Torn:
        """Where each panel would lie, folded one after another from panel 0, and where they then do not meet."""
        s, reflections = self.subdivision, Reflections(self.subdivision)
        found = {0: IDENTITY}
        todo = [0]
        for f in todo:
            for number in s.face_edges[f]:
                g = s.edges[number].across(f)
                if g >= 0 and g not in found:
                    found[g] = reflections.across(found[f], number)
                    todo.append(g)
        at = [{v: self.to_page(found[f](s.vertices[v])) for v in corners} for f, corners in enumerate(s.faces)]
        inner = [(n, e) for n, e in enumerate(s.edges) if e.kind != "border"]
        apart = [n for n, e in inner if any(at[e.left][v].distance(at[e.right][v]) > _NEAR for v in e.ends)]
        return Torn(tuple(at), tuple(apart))

    def walk(self, edge: int, places: Sequence[XY]) -> tuple[XY, XY]:
        """An edge from end to end, its vertices at these places."""
        start, end = self.subdivision.edges[edge].ends
        return places[start], places[end]


def repaints_of(stack: Sequence[int], exceptions: Iterable[tuple[int, int]]) -> dict[int, list[int]]:
    """For each face those before it in the stack that yet lie over it; `exceptions`: such pairs, the upper first."""
    found: dict[int, list[int]] = {}
    rank = {f: r for r, f in enumerate(stack)}
    for f, g in sorted(exceptions, key=lambda pair: rank[pair[0]]):
        found.setdefault(g, []).append(f)
    return found


def runs(s: Subdivision, places: Sequence[XY], chosen: Iterable[int]) -> list[list[int]]:
    """Edges joined where they go straight on, as walks over vertices; without what is too short to be seen."""
    edges = [s.edges[n] for n in chosen if XY.distance(*(places[v] for v in s.edges[n].ends)) > _NEAR]
    if len(edges) <= 1:
        return [list(edge.ends) for edge in edges]
    at: dict[int, list[int]] = defaultdict(list)
    for number, edge in enumerate(edges):
        for v in edge.ends:
            at[v].append(number)
    joined = [
        (one, two)
        for v, here in at.items()
        for one, two in combinations(here, 2)
        if _goes_straight_on(places[edges[one].other(v)], places[v], places[edges[two].other(v)])
    ]
    walks = []
    for run in components(len(edges), joined):
        along = XY.direction(*(places[v] for v in edges[run[0]].ends))
        passed = {v for number in run for v in edges[number].ends}
        walks.append(sorted(passed, key=lambda v: places[v].x * along.x + places[v].y * along.y))
    return walks


def _goes_straight_on(a: XY, b: XY, c: XY) -> bool:
    """Whether the way from a over b to c does not turn in b."""
    one, two = a.direction(b), b.direction(c)
    return abs(atan2(one.x * two.y - one.y * two.x, one.x * two.x + one.y * two.y)) < _STRAIGHT


def title_of(document: Document) -> str:
    """The document's title, or its file's name; printable as it is."""
    return printable(document.title or Path(document.source).name)


def scene_of(result: Result) -> Scene | None:
    """The scene of a result; None where the sheet was never divided into panels (a limit came first)."""
    s = result.subdivision
    if s is None:
        return None
    xs, ys = zip(*s.vertices, strict=True)
    low, high = Point(min(xs), min(ys)), Point(max(xs), max(ys))
    span = max(high.x - low.x, high.y - low.y)
    unit = IN_MM[result.document.unit]
    scale = _fitting(_rational(span) * unit)
    factor = Number.of(scale * unit)
    origin = middle(low, high)

    def to_page(p: Point) -> XY:
        return XY(float((p.x - origin.x) * factor), float((p.y - origin.y) * factor))

    return Scene(result, s, scale, tuple(to_page(p) for p in s.vertices), to_page)


def scale_text(scale: Fraction) -> str:
    """The scale as a draughtsman writes it: 1 : 1, 5 : 1, 1 : 20."""
    sides = map(str, scale.as_integer_ratio())
    return " : ".join(n if len(n) < 7 else f"{n[0]}·10^{len(n) - 1}".removeprefix("1·") for n in sides)


def _rational(x: Number) -> Fraction:
    """A rational number near a positive one."""
    bits = _BITS
    while not (low := x.enclosure(bits)[0]) > 0:
        bits *= 2
    return low


def _fitting(span_mm: Fraction) -> Fraction:
    """Page millimetres for one of paper: the largest of 1, 2, 5 times a power of ten at which the sheet fits."""
    most = _PAGE_MM / span_mm
    power = Fraction(10) ** (len(str(most.numerator)) - len(str(most.denominator)) - 1)
    return max(m * power for m in (1, 2, 5, 10, 20, 50) if m * power <= most)
