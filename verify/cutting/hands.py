"""What is hard for hands: how many folds there are, how short, narrow, small and thick.

Measured in floats on exact places, for people and for choosing among what is proved. None of it changes a verdict.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from itertools import accumulate
from math import atan2, hypot, pi
from typing import NamedTuple

import numpy as np

from verify.cutting.accuracy import amplification
from verify.cutting.cut import Cut
from verify.exact.plane import Point, cross_vectors, difference, polygon_area2
from verify.exact.ragged import distinct
from verify.folding.paper import Paper
from verify.folding.stack import LayerOrder
from verify.folding.steps import Folded
from verify.pattern.document import IN_MM
from verify.pattern.recipe import FoldStep
from verify.pattern.subdivision import Subdivision

_SAME = 1e-9  # of the sheet's extent: places nearer than this are one place, for counting


class Measured(NamedTuple):
    """A length in the document's unit, or an area in its square, and the names of what has it; of a panel `near` is the
    nearest point that the document names.
    """

    size: float
    where: tuple[str, ...]
    near: str = ""


class FoldThrough(NamedTuple):
    """One fold, a step or a crease: how many layers it bends at once, and how long it is in the document's unit."""

    where: str
    layers: int
    length: float


class Hands(NamedTuple):
    """What hands meet when they fold a pattern or a recipe.

    `creases`: straight ones, from end to end across the others; `shortest` of them (of a recipe: the shortest fold on
    the folded paper); `gap`: the least distance of parallel ones that face each other; `panel`: the one of least area
    between folds. `folds`: each crease with the folds nested in it, or each step with the layers that it bends.
    `at_cut`: layers that the scissors meet (0 without a cut). `circular`: panels whose layers run in a circle, so that
    none can be laid down first. `amplified`: how many times as far as each crease is off the cut is then off its target
    (an estimate, see accuracy.py; None without one complete cut).
    """

    unit: str
    creases: int
    shortest: Measured | None
    gap: Measured | None
    panel: Measured | None
    folds: tuple[FoldThrough, ...]
    at_cut: int
    circular: tuple[str, ...]
    recipe: bool
    amplified: float | None = None

    @property
    def true_to(self) -> float | None:
        """How true creases must be at their ends for a cut within 1 mm, in the document's unit: an estimate; None if no
        crease matters, or none was made.
        """
        return float(1 / IN_MM[self.unit]) / self.amplified if self.amplified else None

    @property
    def thickest(self) -> FoldThrough | None:
        return max(self.folds, key=lambda f: f.layers, default=None)


def hands(order: LayerOrder, at_cut: int, steps: Folded | None = None, cut: Cut | None = None) -> Hands:
    """What hands meet in a flat-folded state; `steps`: the recipe that led there, `cut`: what is cut in it."""
    s = order.overlaps.subdivision
    lines = straight_creases(s)
    folds = tuple(_nested(order, lines) if steps is None else _bent(steps))
    shortest = min((Measured(f.length, (f.where,)) for f in folds), key=lambda m: m.size, default=None)
    return Hands(
        s.drawing.document.unit,
        len(lines),
        shortest,
        _narrowest(s, [line.ends for line in lines]),
        _smallest_panel(s),
        folds,
        at_cut,
        tuple(_circular(order)),
        steps is not None,
        amplification(cut) if cut is not None else None,
    )


class StraightCrease(NamedTuple):
    """Folds in a row on one straight line of the sheet, mountain or valley: the vertices at its ends, and its edges."""

    ends: tuple[int, int]
    edges: tuple[int, ...]


def straight_creases(s: Subdivision) -> list[StraightCrease]:
    """The straight creases of a sheet, each from end to end across all others: what a ruler draws in one go."""
    folds = (i for i, e in enumerate(s.edges) if e.is_fold)
    return [StraightCrease(ends, tuple(run)) for ends, run in s.rows(folds, across=True)]


def _distance(a: Point, b: Point) -> float:
    return hypot(float(b.x) - float(a.x), float(b.y) - float(a.y))


def _narrowest(s: Subdivision, lines: list[tuple[int, int]]) -> Measured | None:
    """The least distance of two parallel creases that face each other: exactly parallel, at a distance in floats."""
    places = np.array([[[float(c) for c in s.vertices[v]] for v in ends] for ends in lines]).reshape(-1, 2, 2)
    along = places[:, 1] - places[:, 0]
    angles = np.array([atan2(y, x) % pi for x, y in along.tolist()])
    angles[angles > pi - _SAME] -= pi
    by_angle = np.argsort(angles, kind="stable")
    groups = np.split(by_angle, np.flatnonzero(np.diff(angles[by_angle]) > _SAME) + 1)
    found = (_narrowest_of(s, lines, group.tolist(), places) for group in groups)
    return min(filter(None, found), key=lambda gap: gap.size, default=None)


def _narrowest_of(
    s: Subdivision,
    lines: list[tuple[int, int]],
    group: list[int],
    places: np.ndarray[tuple[int, ...], np.dtype[np.float64]],
) -> Measured | None:
    if len(group) < 2:
        return None
    mine = places[group]
    along = mine[0, 1] - mine[0, 0]
    size = np.abs(along).max()
    if size == 0:  # below what floats can say
        return None
    along /= size  # its square might be below that
    along /= np.linalg.norm(along)
    across = mine[:, 0] @ np.array([-along[1], along[0]])
    low, high = np.sort(mine @ along, axis=1).T
    same = _SAME * max(1.0, float(np.ptp(mine)))
    order = np.argsort(across, kind="stable")
    best = np.inf, 0, 0
    # each with the next across, then each with the next but one, as long as any two are so near
    for step in range(1, len(group)):
        one, two = order[:-step], order[step:]
        gaps = across[two] - across[one]
        if gaps.min() > best[0]:
            break
        facing = np.minimum(high[one], high[two]) - np.maximum(low[one], low[two]) > same
        near = facing & (gaps > same) & (gaps <= best[0])
        first, second = np.sort(np.stack([one[near], two[near]]), axis=0).tolist()
        for found in sorted(zip(gaps[near].tolist(), first, second, strict=True)):
            if found >= best:
                break
            u, v = (difference(s.vertices[b], s.vertices[a]) for a, b in (lines[group[i]] for i in found[1:]))
            if cross_vectors(u, v).sign() == 0:
                best = found
                break
    if best[0] == np.inf:
        return None
    return Measured(best[0], tuple(f"{s.name(a)}–{s.name(b)}" for a, b in (lines[group[i]] for i in best[1:])))


def _smallest_panel(s: Subdivision) -> Measured | None:
    if len(s.panels) < 2:
        return None
    areas = [abs(float(polygon_area2([s.vertices[v] for v in loop]))) / 2 for loop in s.faces]
    size, part = min(((sum(areas[f] for f in part), part) for part in s.panels), key=lambda one: one[0])
    corner = s.vertices[s.faces[part[0]][0]]
    named = {name: _distance(corner, place) for place, name in s.drawing.names.items()}
    return Measured(size, (s.panel_name(part),), near=min(named, key=named.__getitem__, default=""))


def _circular(order: LayerOrder) -> Iterator[str]:
    """Panels of faces that lie in a circle of layers; a stack without exceptions has none."""
    if not order.exceptions:
        return
    import networkx as nx  # seldom needed, and slow to load

    over, under = order.above.nonzero()
    graph = nx.DiGraph(zip(over.tolist(), under.tolist(), strict=True))
    s = order.overlaps.subdivision
    for part in nx.strongly_connected_components(graph):
        if len(part) > 1:
            yield from dict.fromkeys(s.panel_with(f) for f in sorted(part))


def _nested(order: LayerOrder, lines: list[StraightCrease]) -> Iterator[FoldThrough]:
    """Each straight crease, with the most folds that lie nested in it anywhere, itself counted."""
    s = order.overlaps.subdivision
    depth = _depths(order)
    for line in lines:
        a, b = (s.vertices[v] for v in line.ends)
        name = f"{s.name(line.ends[0])}–{s.name(line.ends[1])}"
        yield FoldThrough(name, max(depth[e] for e in line.edges), _distance(a, b))


def _depths(order: LayerOrder) -> dict[int, int]:
    """For each fold edge how many folds lie in one another inside it, at the thickest place: 1 if nothing does."""
    o = order.overlaps
    s = o.subdivision
    groups: dict[tuple[int, int], list[int]] = defaultdict(list)
    for i, e in enumerate(s.edges):
        if e.is_fold:
            groups[int(o.edge_line[i]), o.face_side(i, e.left)].append(i)
    depth = {i: 1 for mine in groups.values() for i in mine}
    for mine in (folds for folds in groups.values() if len(folds) > 1):
        low, high = o.spans[mine].T
        stops = distinct(o.spans[mine].ravel())
        over = {tuple(np.compress((low <= stop) & (stop < high), mine).tolist()) for stop in stops}
        for there in over:
            for i, layers in _parentheses(order, there) if len(there) > 1 else ():
                depth[i] = max(depth[i], layers)
    return depth


def _parentheses(order: LayerOrder, folds: tuple[int, ...]) -> Iterator[tuple[int, int]]:
    """Folds of one side of a line over one place of it: with each how deep those inside it are nested."""
    s = order.overlaps.subdivision
    faces = [f for i in folds for f in (s.edges[i].left, s.edges[i].right)]
    # where no layers lie in a circle, the stack tells the same in less time
    below = order.above[np.ix_(faces, faces)].sum(axis=1) if order.exceptions else order.heights[faces]
    inner: list[tuple[int, int]] = []
    begun: set[int] = set()
    for place in np.argsort(below, kind="stable").tolist():
        fold = folds[place // 2]
        if fold not in begun:
            begun.add(fold)
            inner.append((fold, 1))
            continue
        one, layers = inner.pop()
        while one != fold:  # only where layers run in a circle
            begun.remove(one)
            one, layers = inner.pop()
        yield fold, layers
        if inner:
            inner[-1] = inner[-1][0], max(inner[-1][1], layers + 1)


def _bent(steps: Folded) -> Iterator[FoldThrough]:
    """Each fold step of a recipe with the layers that it bends at once, and its length on the folded paper."""
    for number, done in enumerate(steps.done, start=1):
        if isinstance(done.step, FoldStep):
            layers, length = bent_by(steps.paper, number)
            if layers:
                yield FoldThrough(f"step {number}", layers, length)


def bent_by(paper: Paper, number: int) -> tuple[int, float]:
    """How many layers a fold step (from 1) bends at once, and how long the fold is; 0 and 0 if it bends none.
    OverflowError where the paper is beyond floats.
    """
    before, after = paper.states[number - 1], paper.states[number]
    hinges = [
        (u, v)
        for (u, v), f in paper.beside.items()
        if u < v
        and (g := paper.beside.get((v, u))) is not None
        and before.turned[f] == before.turned[g]
        and after.turned[f] != after.turned[g]
    ]
    if not hinges:
        return 0, 0.0
    ends = {v: complex(float(after.images[v].x), float(after.images[v].y)) for pair in hinges for v in pair}
    a, b = (ends[v] for v in hinges[0])
    if a == b:
        raise OverflowError("a fold is too short for floats")
    heading = (b - a) / abs(b - a)
    spans = [sorted(((ends[v] - a) * heading.conjugate()).real for v in pair) for pair in hinges]
    low, high = min(x for x, _ in spans), max(x for _, x in spans)
    return deepest(spans, _SAME * (high - low)), high - low


def deepest(spans: Iterable[Sequence[float]], same: float) -> int:
    """The most of the spans that have a stretch longer than `same` in common."""
    change = [stop for low, high in spans for stop in ((low + same / 2, 1), (high - same / 2, -1))]
    return max(accumulate(n for _, n in sorted(change)), default=0)
