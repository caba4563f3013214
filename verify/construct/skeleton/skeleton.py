"""The straight skeleton of a figure of straight lines, exactly, inside and outside at once.

Every line has two sides, and from every side a front sets out with unit speed, square to the line;
neighbouring fronts keep joined at the corners. The paths of the corners are the arcs of the
straight skeleton (Aichholzer, Aurenhammer, Alberts and Gärtner 1995, J.UCS 1(12):752); they cut the
plane into one region for each side, the paper that its front sweeps. The end of an open line counts
as a side of length zero square to the line, a cap, so that the front there is square.

How it is found: `verify.construct.skeleton.front`.

What it does not say: the skeleton of a slightly different figure may be far from this one. Where two
reflex corners of the front meet in one place, it jumps with the least change of the figure, so that
a library that rounds may find something else there.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from verify.exact.number import Number
from verify.exact.plane import Point, difference, dot


@dataclass(frozen=True)
class Side:
    """One side of a target line, with the swept paper on its left.

    ``direction`` is the unit vector from start to end. ``line`` is the index of the target line, or -1 for
    a cap: the side of length zero (start == end) at the loose end of an open line, square to it.
    """

    start: Point
    end: Point
    direction: Point
    line: int

    @property
    def normal(self) -> Point:
        """The unit vector in which the front of this side moves."""
        return Point(-self.direction.y, self.direction.x)

    def distance(self, place: Point) -> Number:
        """How far a place is in front of the side's line; negative behind it. Exact."""
        return dot(self.normal, difference(place, self.start))


@dataclass(frozen=True)
class Node:
    """Where arcs meet, and the time when the front is there; time 0: a vertex of the figure."""

    place: Point
    time: Number


@dataclass(frozen=True)
class Arc:
    """A straight piece of the skeleton, between the regions of two sides.

    ``start`` and ``end`` are nodes, the start at the earlier or equal time; an arc without an end
    runs for ever. ``direction`` points along it from the start: the way that the front's corner goes in
    a unit of time, or, if both ends have one time (a ridge, where two fronts meet in their whole
    length), the whole way. ``left`` and ``right`` are the sides whose regions lie there, seen along it.
    """

    start: int
    end: int | None
    direction: Point
    left: int
    right: int


class Step(NamedTuple):
    """An arc, walked from its start (`forward`) or towards it."""

    arc: int
    forward: bool


@dataclass(frozen=True)
class Region:
    """The boundary of the paper that one side sweeps, counter-clockwise, the paper on its left.

    It begins with the side itself, from its start to its end. If the region is bounded there is one chain of
    steps, from the side's end back to its start. If not, the first chain starts at the side's end and the last
    one ends at its start, and all other ends of chains are infinitely far: the front of the side goes on for
    ever between the end of each chain and the start of the next, which is further along the front.
    """

    side: int
    chains: tuple[tuple[Step, ...], ...]


@dataclass(frozen=True)
class Skeleton:
    """The straight skeleton of a figure, with the sides that it belongs to.

    The first nodes are the vertices of the figure. Each node after them is one place and one time; each arc
    is straight and has no node within it. An arc can start at a vertex of the figure and run for ever.
    """

    sides: tuple[Side, ...]
    nodes: tuple[Node, ...]
    arcs: tuple[Arc, ...]

    @cached_property
    def _vertices(self) -> dict[Point, int]:
        return {node.place: i for i, node in enumerate(self.nodes) if not node.time}

    @cached_property
    def _steps(self) -> dict[int, list[Step]]:
        steps: dict[int, list[Step]] = {}
        for i, arc in enumerate(self.arcs):
            steps.setdefault(arc.left, []).append(Step(i, True))
            steps.setdefault(arc.right, []).append(Step(i, False))
        return steps

    def tail(self, step: Step) -> int | None:
        """The node from which a step goes; None: from infinitely far."""
        arc = self.arcs[step.arc]
        return arc.start if step.forward else arc.end

    def head(self, step: Step) -> int | None:
        """The node to which a step goes; None: infinitely far."""
        arc = self.arcs[step.arc]
        return arc.end if step.forward else arc.start

    def region(self, side: int) -> Region:
        """The boundary of the region swept by a side."""
        leaving: dict[int, Step] = {}
        from_afar: list[Step] = []
        for step in self._steps.get(side, ()):
            tail = self.tail(step)
            if tail is None:
                from_afar.append(step)
            elif leaving.setdefault(tail, step) is not step:
                raise ArithmeticError(f"the region of side {side} passes node {tail} twice")
        first = self._chain(leaving, leaving[self._vertices[self.sides[side].end]])
        # the fronts between the chains never change their order along the side: from its end to its start
        rest = [self._chain(leaving, step) for step in from_afar]
        along = self.sides[side].direction
        rest.sort(key=lambda chain: dot(along, self.nodes[self._near_end(chain[0])].place), reverse=True)
        if len(rest) > 1:
            home = next(chain for chain in rest if self.head(chain[-1]) is not None)
            rest.remove(home)
            rest.append(home)
        if leaving:
            raise ArithmeticError(f"the boundary of the region of side {side} does not close")
        return Region(side, (first, *rest))

    def _near_end(self, step: Step) -> int:
        """The node of a step that comes from infinitely far."""
        return self.arcs[step.arc].start

    def _chain(self, leaving: dict[int, Step], step: Step) -> tuple[Step, ...]:
        chain = [step]
        tail = self.tail(step)
        if tail is not None:
            del leaving[tail]
        while True:
            head = self.head(chain[-1])
            if head is None or head not in leaving:
                return tuple(chain)
            chain.append(leaving.pop(head))
