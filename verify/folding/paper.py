"""The folded paper between two steps: a mesh of faces that is refined as folds bend it, exactly or in floats.

After every step it is a flat-folded state: an image for each vertex, the turned faces, and the faces stacked bottom to
top.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any, Generic, TypeVar

from verify.exact.number import Number
from verify.exact.plane import Point, around, between, in_convex, isometry, mapped
from verify.exact.tower import Image
from verify.folding.foldmap import FoldMap
from verify.pattern.components import least_of_each
from verify.pattern.drawing import Drawing
from verify.pattern.limits import LimitReached, Limits
from verify.pattern.recipe import FoldStep
from verify.pattern.subdivision import Edge, EdgeKind, Subdivision

Spot = TypeVar("Spot")
"""A place of the sheet or of the folded plane: a `Point`, or a complex number in floats."""


class CannotBeDone(Exception):
    """A step cannot be done as written: `kind` as in `steps.StepRefused`; `layers`: how many, where too few."""

    def __init__(self, kind: str, layers: int = 0) -> None:
        self.kind, self.layers = kind, layers
        super().__init__(kind)


@dataclass
class State(Generic[Spot]):
    """The folded paper between two steps; indexes are those of `Mesh`. `over`: the whole lies turned over."""

    images: list[Spot]
    turned: list[bool]
    stack: list[int]
    over: bool = False

    def copy(self) -> State[Spot]:
        return State(list(self.images), list(self.turned), list(self.stack), self.over)

    def turn(self, moving: set[int], direction: str) -> None:
        """Turn these faces, and put them on top of the others (`over`) or underneath, in reverse order."""
        for f in moving:
            self.turned[f] = not self.turned[f]
        stay = [f for f in self.stack if f not in moving]
        turned = [f for f in reversed(self.stack) if f in moving]
        self.stack = stay + turned if direction == "over" else turned + stay


class Mesh(ABC, Generic[Spot]):
    """The sheet as a mesh of convex faces, in exact numbers or in floats, refined as folds bend it: flat `vertices` and
    `faces`, the face `beside` each side on its left, and `states`, the last of them now, of the same faces.
    """

    def __init__(self, vertices: Sequence[Spot], faces: Sequence[Sequence[int]]) -> None:
        self.vertices, self.faces = list(vertices), [list(f) for f in faces]
        self.beside = {side: f for f, loop in enumerate(self.faces) for side in around(loop)}
        self.states = [State(list(self.vertices), [False] * len(self.faces), list(range(len(self.faces))))]
        self.cut_at: dict[tuple[int, int], int] = {}
        self._hosts: dict[Spot, int] = {}

    @property
    def now(self) -> State[Spot]:
        return self.states[-1]

    @abstractmethod
    def holds(self, loop: Sequence[Spot], place: Spot) -> bool:
        """Whether a closed convex polygon, counter-clockwise, contains a place."""

    @abstractmethod
    def between(self, a: Spot, b: Spot, share: Any) -> Spot:
        """The place a share of the way from one to another."""

    def contains(self, face: int, place: Spot) -> bool:
        """Whether the closed flat face contains a place of the sheet."""
        return self.holds([self.vertices[v] for v in self.faces[face]], place)

    def folded_loop(self, face: int, state: State[Spot] | None = None) -> list[Spot]:
        """The corners of a folded face (now, or in another state), counter-clockwise."""
        state = state or self.now
        loop = [state.images[v] for v in self.faces[face]]
        return loop[::-1] if state.turned[face] else loop

    def image_contains(self, face: int, place: Spot, state: State[Spot] | None = None) -> bool:
        """Whether the closed folded face contains a place of the folded plane (now, or in another state)."""
        return self.holds(self.folded_loop(face, state), place)

    def host(self, place: Spot) -> int:
        """The first face that contains a place of the sheet. Raises `CannotBeDone` if there is none."""
        # as faces are split, the first that contains it comes no sooner: the second part of a face is a new one
        before = self._hosts.get(place, 0)
        face = next((f for f in range(before, len(self.faces)) if self.contains(f, place)), None)
        if face is None:
            raise CannotBeDone("no-mark")
        self._hosts[place] = face
        return face

    def face_for_mark(self, image: Spot, on: Spot | None, state: State[Spot] | None = None) -> int | None:
        """The highest face over a place of the folded plane; with `on`, of layers that hold that place of the sheet."""
        state = state or self.now
        candidates = list(reversed(state.stack))
        if on is not None:
            layer = self.layers(state)
            holding = {layer[f] for f in candidates if self.contains(f, on)}
            candidates = [f for f in candidates if layer[f] in holding]
        return next((f for f in candidates if self.image_contains(f, image, state)), None)

    def layers(self, state: State[Spot] | None = None) -> list[int]:
        """For each face its layer: the least face that it hangs together with by what is not folded (in a state)."""
        turned = (state or self.now).turned
        sides = ((f, self.beside.get((v, u))) for (u, v), f in self.beside.items())
        joined = [(f, g) for f, g in sides if g is not None and turned[f] == turned[g]]
        return least_of_each(len(self.faces), joined)

    def moved(self, step: FoldStep, movable: set[int], flat: Spot, folded: Spot, signs: Sequence[int]) -> set[int]:
        """The faces that a fold moves, of those with paper on the side that moves: all, or those that it names and what
        hangs on these on that side. `flat`, `folded`: where the mark is that says which side; `signs` of the
        vertices' heights, 1 on that side. Raises `CannotBeDone` if there are too few layers.
        """
        if step.layers == "all":
            return movable
        least = self.hanging(movable, signs)
        moved = {least[f] for f in self._named(step, movable, flat, folded)}
        return {f for f in movable if least[f] in moved}

    def hanging(self, movable: set[int], signs: Sequence[int]) -> list[int]:
        """For each face the least one that it hangs together with on the side that moves, where `signs` are 1."""
        sides = ((f, self.beside.get((v, u)), u, v) for f in movable for u, v in around(self.faces[f]))
        joined = [(f, g) for f, g, u, v in sides if g in movable and (signs[u] > 0 or signs[v] > 0)]
        return least_of_each(len(self.faces), joined)

    def _named(self, step: FoldStep, movable: set[int], flat: Spot, folded: Spot) -> set[int]:
        """The faces that a fold names: the flap's at the mark, or the upper (lower) layers there."""
        if step.layers == "flap":
            return {f for f in movable if self.contains(f, flat)}
        wanted = int(step.layers)
        counted = list(self.counted(movable, folded, step.direction, self.layers()))
        if len(counted) < wanted:
            raise CannotBeDone("few-layers", len(counted))
        return counted[wanted - 1]

    def counted(self, movable: set[int], place: Spot, direction: str, layer: Sequence[int]) -> Iterator[set[int]]:
        """The faces of the one upper (lower) layer over a place of the folded plane, then of two layers, and so on;
        `layer`: that of each face.
        """
        named: set[int] = set()
        for f in self.now.stack if direction == "behind" else reversed(self.now.stack):
            if f in movable and self.image_contains(f, place):
                if named and layer[f] not in {layer[g] for g in named}:
                    yield set(named)
                named.add(f)
        if named:
            yield named

    def split(self, face: int, heights: Sequence[Any], signs: list[int]) -> int:
        """Split a face along the line of height 0; the part with positive heights is a new face, whose number is
        returned. `signs` gets those of new vertices.
        """
        ring: list[int] = []
        for u, v in around(self.faces[face]):
            ring.append(u)
            if signs[u] * signs[v] < 0:
                ring.append(self._split_edge(u, v, heights, signs))
            self.beside.pop((u, v), None)
        new = len(self.faces)
        self.faces[face] = [w for w in ring if signs[w] <= 0]
        self.faces.append([w for w in ring if signs[w] >= 0])
        for f in (face, new):
            self.beside |= dict.fromkeys(around(self.faces[f]), f)
        for state in self.states:
            state.turned.append(state.turned[face])
            state.stack.insert(state.stack.index(face) + 1, new)
        return new

    def _split_edge(self, u: int, v: int, heights: Sequence[Any], signs: list[int]) -> int:
        """The vertex where the line of height 0 crosses the edge u–v, in every state."""
        if (u, v) in self.cut_at:
            return self.cut_at[u, v]
        share = heights[u] / (heights[u] - heights[v])
        w = len(self.vertices)
        ends: tuple[Spot, Spot] | None = None
        for places in (self.vertices, *(state.images for state in self.states)):
            if ends is None or places[u] is not ends[0] or places[v] is not ends[1]:  # a step moves part of the paper
                ends = places[u], places[v]
                place = self.between(*ends, share)
            places.append(place)
        self.cut_at[u, v] = self.cut_at[v, u] = w
        signs.append(0)
        return w


class Paper(Mesh[Point]):
    """The mesh in exact numbers; `states[k]` is the paper after k steps."""

    def __init__(self, subdivision: Subdivision, limits: Limits) -> None:
        super().__init__(subdivision.vertices, subdivision.faces)
        self.subdivision, self.limits = subdivision, limits
        self.creased: dict[tuple[int, int], int] = {}

    def holds(self, loop: Sequence[Point], place: Point) -> bool:
        return in_convex(place, loop) >= 0

    def between(self, a: Point, b: Point, share: Number) -> Point:
        return between(a, b, share)

    def carry(self, drawing: Drawing, image: Image) -> None:
        """Write all places, at all times, in the larger field of this drawing."""
        self.vertices = [mapped(p, image) for p in self.vertices]
        for state in self.states:
            state.images = [mapped(p, image) for p in state.images]
        flat = tuple(self.vertices[: len(self.subdivision.vertices)])
        self.subdivision = replace(self.subdivision, drawing=drawing, vertices=flat)

    def split_face(self, face: int, heights: Sequence[Number], signs: list[int], step: int) -> int:
        """As `split`; the new edge between the two parts is remembered as made by `step`."""
        if len(self.faces) >= self.limits.faces:
            raise LimitReached("faces", f"{self.limits.faces:,}", "more panels than that")
        new = self.split(face, heights, signs)
        one, two = (w for w in self.faces[face] if signs[w] == 0)
        self.creased[one, two] = step
        return new

    def image(self, face: int, place: Point, state: State[Point] | None = None) -> Point:
        """Where a place of a flat face lies (now, or in another state)."""
        return self._carried(face, place, state or self.now, back=False)

    def place_under(self, face: int, image: Point, state: State[Point] | None = None) -> Point:
        """The place on the flat face that lies at a place of the folded plane (now, or in another state)."""
        return self._carried(face, image, state or self.now, back=True)

    def _carried(self, face: int, place: Point, state: State[Point], *, back: bool) -> Point:
        u, v = self.faces[face][:2]
        ways = (self.vertices[u], self.vertices[v]), (state.images[u], state.images[v])
        return isometry(*(ways[::-1] if back else ways), mirrored=state.turned[face])(place)

    def lies_at(self, place: Point, state: State[Point] | None = None) -> Point:
        """Where a place of the sheet lies (now, or in another state). Raises `CannotBeDone` off the sheet."""
        return self.image(self.host(place), place, state)

    def refined(self, chain: Iterable[int]) -> list[int]:
        """A walk along edges with the vertices at which they have been split."""
        walk = list(chain)
        i = 0
        while i + 1 < len(walk):
            w = self.cut_at.get((walk[i], walk[i + 1]))
            if w is None:
                i += 1
            else:
                walk.insert(i + 1, w)
        return walk


def fold_map_of(paper: Paper, drawing: Drawing) -> FoldMap:
    """The folded paper as a fold map over its own subdivision: edges whose faces differ in side are mountain or valley
    folds, as the stack has it, all others flat.
    """
    state = paper.now
    rank = {f: r for r, f in enumerate(state.stack)}
    old = paper.subdivision
    targets: dict[tuple[int, int], list[int]] = defaultdict(list)
    borders: set[tuple[int, int]] = set()

    sheet_chains = tuple(tuple(paper.refined([*c, c[0]])[:-1]) for c in old.sheet_chains)
    for c in sheet_chains:
        borders |= {(min(u, v), max(u, v)) for u, v in around(c)}
    target_chains = tuple(tuple(paper.refined(c)) for c in old.target_chains)
    for number, c in enumerate(target_chains):
        for u, v in pairwise(c):
            targets[min(u, v), max(u, v)].append(number)
    creased: dict[tuple[int, int], int] = {}
    for (u, v), step in paper.creased.items():
        for a, b in pairwise(paper.refined([u, v])):
            creased.setdefault((min(a, b), max(a, b)), step)
    edges: list[Edge] = []
    for (u, v), f in sorted(paper.beside.items()):
        if u > v and (v, u) in paper.beside:
            continue
        ends = min(u, v), max(u, v)
        g = paper.beside.get((v, u), -1)
        kind: EdgeKind = "flat"
        if ends in borders:
            kind = "border"
        elif state.turned[f] != state.turned[g]:
            back, front = (f, g) if state.turned[f] else (g, f)
            kind = "valley" if rank[back] > rank[front] else "mountain"
        crease = creased.get(ends) if kind != "border" else None
        edges.append(Edge(u, v, f, g, kind, crease, tuple(targets.get(ends, ()))))
    subdivision = Subdivision(
        drawing,
        tuple(paper.vertices),
        tuple(tuple(f) for f in paper.faces),
        tuple(edges),
        sheet_chains,
        (),
        target_chains,
    )
    return FoldMap(subdivision, tuple(state.images), tuple(state.turned))
