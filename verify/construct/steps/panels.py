"""A pattern's panels, and where they lie when only some of its creases are folded.

Where they lie depends on which creases are folded alone: it is worked out once for each set, from where they lay
before a fold. Exact.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from verify.exact.number import Number
from verify.exact.plane import advance, cross, crossed, reflection
from verify.exact.ragged import starts_of
from verify.folding.foldmap import FoldMap
from verify.folding.overlaps import Overlaps
from verify.pattern.subdivision import Subdivision

Direction = Literal["over", "behind"]
DIRECTIONS: tuple[Direction, ...] = ("over", "behind")


class Hinge(NamedTuple):
    """A fold edge of the subdivision between two panels, `one` on its left."""

    edge: int
    one: int
    two: int


@dataclass(frozen=True)
class PanelFold:
    """A simple fold with face 0 front up: `flaps` (sets of panels) turn over or behind, about the edges `bent` of a
    line. `line` and `side` are those of the state's `Lying`.
    """

    line: int
    side: int
    direction: Direction
    flaps: tuple[frozenset[int], ...]
    bent: tuple[int, ...]

    @cached_property
    def moved(self) -> frozenset[int]:
        return frozenset().union(*self.flaps)


class Panels:
    """The panels of a pattern and the hinges between them. Panel 0 holds face 0, which never moves."""

    def __init__(self, s: Subdivision) -> None:
        self.s = s
        self.faces = s.panels
        self.hinges = [Hinge(i, s.panel_of[e.left], s.panel_of[e.right]) for i, e in enumerate(s.edges) if e.is_fold]
        self.beside: list[list[tuple[int, int]]] = [[] for _ in self.faces]  # by which edges each hangs on which panel
        for h in self.hinges:
            self.beside[h.one].append((h.edge, h.two))
            self.beside[h.two].append((h.edge, h.one))
        loops = [[v for f in faces for v in s.faces[f]] for faces in self.faces]
        # the corners of the panels in a row, and where those of each begin
        self.corners = np.concatenate(loops), starts_of(np.array([len(loop) for loop in loops]))
        flat = FoldMap(s, s.vertices, (False,) * len(s.faces))
        self._lying = {frozenset[int](): Lying(self, frozenset(), flat)}
        self._reached: dict[frozenset[int], tuple[Lying, PanelFold]] = {}

    @property
    def count(self) -> int:
        return len(self.faces)

    def faces_of(self, panels: Iterable[int]) -> list[int]:
        """The faces of some panels, in order."""
        return [f for p in panels for f in self.faces[p]]

    def reached(self, folded: frozenset[int], before: frozenset[int], fold: PanelFold) -> None:
        """Just these edges are folded once a fold is made where just those of `before` are."""
        if folded not in self._reached:
            self._reached[folded] = self.lying(before), fold

    def lying(self, folded: frozenset[int]) -> Lying:
        """Where the panels lie with just these edges folded. Assumes that they were `reached`, or are none."""
        if folded not in self._lying:
            before, fold = self._reached[folded]
            self._lying[folded] = Lying(self, folded, before.after(fold))
        return self._lying[folded]


def with_folded(s: Subdivision, folded: Collection[int]) -> Subdivision:
    """The subdivision with just these of its fold edges folded, the others flat."""
    edges = (replace(e, kind="flat") if e.is_fold and i not in folded else e for i, e in enumerate(s.edges))
    return replace(s, edges=tuple(edges))


class Crossing(NamedTuple):
    """A stretch of a line of the folded plane: the open fold edges that cross it, and how many layers in all."""

    edges: tuple[int, ...]
    layers: int


class Flaps:
    """What hangs on a line of the folded plane, on one `side` of it (1 or -1).

    `parts`: into which the panels beyond it hang together; `bent`: the edges on the line by which each hangs; `held`:
    the parts that cannot turn over, and behind, because of how they hang. `across`: panels that the line runs through.
    `meeting`: panels that lie over each other, the first across the line or of another part than the second. `folds`:
    those of a model in a direction, by the sets of parts that nothing holds, as far as they were asked for.
    """

    def __init__(self, lying: Lying, line: int, side: int, sides: list[tuple[int, int]]) -> None:
        self.line, self.side = line, side
        beyond = {p for p, (low, high) in enumerate(sides) if (low if side > 0 else -high) >= 0}
        self.across = {p for p, (low, high) in enumerate(sides) if low < 0 < high}
        self.parts: list[frozenset[int]] = []
        self.flap_of: dict[int, int] = {}
        self.bent: list[list[int]] = []
        self.held: dict[Direction, set[int]] = {direction: set() for direction in DIRECTIONS}
        open_here = {h.edge for h in lying.open_lines[line]}
        for first in sorted(beyond):
            if first not in self.flap_of:
                self._gather(lying, first, beyond, open_here)
        self.over_each_other = lying.over_each_other
        self.folds: dict[tuple[str, Direction, tuple[frozenset[int], ...]], tuple[PanelFold, ...]] = {}

    @cached_property
    def meeting(self) -> list[tuple[int, int]]:
        return [
            (other, panel)
            for panel, n in self.flap_of.items()
            for other in self.over_each_other[panel]
            if other in self.across or self.flap_of.get(other, n) != n
        ]

    def _gather(self, lying: Lying, first: int, beyond: set[int], open_here: set[int]) -> None:
        """The part that hangs together with a panel, and by which edges it hangs on the line."""
        n, part, bent = len(self.parts), [first], list[int]()
        self.flap_of[first] = n
        for panel in part:
            for edge, other in lying.panels.beside[panel]:
                if other not in beyond:
                    bent.append(edge)
                    for direction, held in self.held.items():
                        if edge not in open_here or not lying.as_drawn(edge, other, direction):
                            held.add(n)
                elif other not in self.flap_of:
                    self.flap_of[other] = n
                    part.append(other)
        if not bent:
            for held in self.held.values():
                held.add(n)
        self.parts.append(frozenset(part))
        self.bent.append(bent)


class Lying:
    """The panels in the folded plane while just the edges `folded` are folded."""

    def __init__(self, panels: Panels, folded: frozenset[int], fold_map: FoldMap) -> None:
        self.panels, self.folded, self.fold_map = panels, folded, fold_map
        self.overlaps = Overlaps(fold_map)
        self.turned = [fold_map.turned[faces[0]] for faces in panels.faces]
        self._turning: dict[int, list[tuple[Flaps, Direction]]] = {}

    def after(self, fold: PanelFold) -> FoldMap:
        """The fold map after a fold. Where panel 0 is to turn, the others do."""
        s, o, moved = self.panels.s, self.overlaps, fold.moved
        turning = [f for p, faces in enumerate(self.panels.faces) if (p in moved) != (0 in moved) for f in faces]
        mirrored = reflection(*(o.spots[spot] for spot in o.line_spots[fold.line]))
        images, turned = list(self.fold_map.images), list(self.fold_map.turned)
        for v in {v for f in turning for v in s.faces[f]}:
            images[v] = mirrored(images[v])
        for f in turning:
            turned[f] = not turned[f]
        return FoldMap(s, tuple(images), tuple(turned))

    @cached_property
    def overlapping(self) -> NDArray[np.bool_]:
        """overlapping[a, b]: panels a and b lie over each other somewhere."""
        table = np.zeros((self.panels.count, self.panels.count), dtype=bool)
        panel_of, pairs = np.array(self.panels.s.panel_of, dtype=np.intp), self.overlaps.pairs
        table[panel_of[pairs.first], panel_of[pairs.second]] = True
        table |= table.T
        np.fill_diagonal(table, False)
        return table

    @cached_property
    def pairs(self) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """The pairs of panels that lie over each other somewhere, each once."""
        one, two = np.nonzero(np.triu(self.overlapping))
        return one, two

    @cached_property
    def over_each_other(self) -> list[list[int]]:
        """For each panel those that lie over it or under it somewhere."""
        return [np.flatnonzero(row).tolist() for row in self.overlapping]

    @cached_property
    def open_lines(self) -> dict[int, list[Hinge]]:
        """The hinges that are still open, by the line of the folded plane on which they lie."""
        found: dict[int, list[Hinge]] = defaultdict(list)
        for hinge in self.panels.hinges:
            if hinge.edge not in self.folded:
                found[int(self.overlaps.edge_line[hinge.edge])].append(hinge)
        return dict(found)

    def turning(self, line: int) -> list[tuple[Flaps, Direction]]:
        """What hangs on a line, on its one side and on the other, with each direction in which some of it can turn."""
        if line not in self._turning:
            sides = self.sides(line)
            both = [Flaps(self, line, side, sides) for side in (1, -1)]
            self._turning[line] = [
                (beyond, direction)
                for beyond in both
                for direction, held in beyond.held.items()
                if len(held) < len(beyond.parts)
            ]
        return self._turning[line]

    def as_drawn(self, edge: int, staying: int, direction: Direction) -> bool:
        """Whether an edge is drawn for a fold of this direction, seen from the panel that stays."""
        valley = (direction == "over") != self.turned[staying]
        return self.panels.s.edges[edge].kind in ("either", "valley" if valley else "mountain")

    def sides(self, line: int) -> list[tuple[int, int]]:
        """For each panel the least and the greatest sign of its corners, relative to a line."""
        corners, starts = self.panels.corners
        signs = self.overlaps.sides(line)[self.overlaps.spot_of[corners]]
        low, high = (of.reduceat(signs, starts).tolist() for of in (np.minimum, np.maximum))
        return list(zip(low, high, strict=True))

    def crossings(self, line: int) -> list[Crossing]:
        """What crosses a line of the folded plane, stretch after stretch, without those that nothing crosses. Exact."""
        o, s = self.overlaps, self.panels.s
        a, b = (o.spots[x] for x in o.line_spots[line])
        images = self.fold_map.images
        signs = o.sides(line)[o.spot_of]
        spans: list[tuple[Number, Number, int | None]] = []
        for i in np.flatnonzero(o.edge_line == line).tolist():
            e = s.edges[i]
            if e.kind != "border" and o.face_side(i, e.left) != o.face_side(i, e.right):
                low, high = sorted(advance(a, b, images[v]) for v in e.ends)
                spans.append((low, high, i if e.is_fold else None))
        for loop in s.faces:
            if {-1, 1} <= {int(signs[v]) for v in loop}:
                ring = crossed([images[v] for v in loop], [cross(a, b, images[v]) for v in loop])
                places = [advance(a, b, place) for place, side, _ in ring if side == 0]
                spans.append((min(places), max(places), None))
        found = []
        for stop in sorted({stop for low, high, _ in spans for stop in (low, high)}):
            there = [edge for low, high, edge in spans if low <= stop < high]
            if there:
                found.append(Crossing(tuple(edge for edge in there if edge is not None), len(there)))
        return found
