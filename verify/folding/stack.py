"""Layer orders as stacks: faces from bottom to top, with exceptions where layers lie in a circle."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from graphlib import CycleError, TopologicalSorter
from heapq import heappop, heappush
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from verify.folding.overlaps import Overlaps
from verify.folding.pairs import Above


@dataclass(frozen=True)
class LayerOrder:
    """A layer order that satisfies every condition: `above[f, g]` says that f lies over g where they overlap.

    `stack`: the faces from bottom to top; `exceptions`: overlapping pairs (f, g) with f below g in the stack and above
    it in the paper (only where faces lie in a circle).
    """

    overlaps: Overlaps
    above: Above
    stack: tuple[int, ...]
    exceptions: tuple[tuple[int, int], ...]

    @cached_property
    def heights(self) -> NDArray[np.intp]:
        """The place of every face in the stack, from the bottom."""
        return _ranks(self.stack)

    def assignment(self, edge: int) -> Literal["mountain", "valley"]:
        """How a fold edge is folded in this order: `mountain` or `valley`."""
        overlaps = self.overlaps
        e = overlaps.subdivision.edges[edge]
        f, g = (e.left, e.right) if overlaps.fold_map.turned[e.left] else (e.right, e.left)
        return "valley" if self.above[f, g] else "mountain"


def order_of_stack(overlaps: Overlaps, stack: tuple[int, ...]) -> LayerOrder:
    """The layer order of faces that are known to lie in this stack, bottom to top."""
    rank = _ranks(stack)
    pairs = overlaps.pairs
    return LayerOrder(overlaps, Above(pairs, rank[pairs.first] > rank[pairs.second]), stack, ())


def order_of_relation(overlaps: Overlaps, above: Above) -> LayerOrder:
    """The layer order in which `above` says what lies over what: a stack with as few exceptions as come easily."""
    upper, lower = above.rows()
    count = above.pairs.faces
    stack = taken_in_turn(above.over, np.bincount(upper, minlength=count))
    if len(stack) == count:
        return LayerOrder(overlaps, above, tuple(stack), ())
    import networkx as nx  # seldom needed, and slow to load

    graph = nx.DiGraph()
    graph.add_nodes_from(range(count))
    upper, lower = above.nonzero()
    graph.add_edges_from(zip(lower.tolist(), upper.tolist(), strict=True))
    stack = []
    for part in nx.topological_sort(condensed := nx.condensation(graph)):
        stack += _unwind(above, sorted(condensed.nodes[part]["members"]))
    rank = _ranks(stack)
    against = rank[upper] < rank[lower]
    pairs = zip(upper[against].tolist(), lower[against].tolist(), strict=True)
    return LayerOrder(overlaps, above, tuple(stack), tuple(pairs))


def renumbered(order: LayerOrder, overlaps: Overlaps) -> Above:
    """What lies over what in an order, for the same faces by other numbers."""
    s, other = overlaps.subdivision, order.overlaps.subdivision
    vertices = {place: v for v, place in enumerate(other.vertices)}
    faces = {frozenset(face): f for f, face in enumerate(other.faces)}
    same = np.array([faces[frozenset(vertices[s.vertices[v]] for v in face)] for face in s.faces])
    pairs = overlaps.pairs
    return Above(pairs, order.above[same[pairs.first], same[pairs.second]])


def _ranks(stack: Iterable[int]) -> NDArray[np.intp]:
    order = np.fromiter(stack, dtype=np.intp)
    rank = np.empty(len(order), dtype=np.intp)
    rank[order] = np.arange(len(order))
    return rank


def taken_in_turn(after: Callable[[int], NDArray[Any]], waiting: NDArray[np.intp]) -> list[int]:
    """The faces that can be taken one by one: not those in circles, nor those that wait for these. `waiting`: for how
    many others each has to wait; `after`: which wait for one.
    """
    taken: list[int] = []
    ready = np.flatnonzero(waiting == 0)[::-1].tolist()
    while ready:
        f = ready.pop()
        taken.append(f)
        others = after(f)
        waiting[others] -= 1
        ready.extend(others[waiting[others] == 0].tolist())
    return taken


Layer = tuple[Sequence[int], int]
"""Faces that lie in one plane side by side, and their level, from 0 at the bottom."""


def layers_of(above: Above, stack: Sequence[int], panels: Sequence[Sequence[int]]) -> list[Layer]:
    """The panels in an order in which each can be lifted off those before it; where parts of several lie over each
    other in a circle, the single faces, as they are stacked.
    """
    rank = _ranks(stack)
    upper, lower = above.rows()
    layers = _lifted(panels, rank, upper, lower)
    if layers is None:
        as_stacked = rank[upper] > rank[lower]  # also where the stack has exceptions
        layers = _lifted([(face,) for face in range(len(stack))], rank, upper[as_stacked], lower[as_stacked])
    return layers or []


def _lifted(
    groups: Sequence[Sequence[int]], rank: NDArray[np.intp], upper: NDArray[np.int32], lower: NDArray[np.int32]
) -> list[Layer] | None:
    """Groups of faces from the bottom up; None if they lie over each other in a circle."""
    group_of = np.empty_like(rank)
    for n, group in enumerate(groups):
        group_of[list(group)] = n
    over = np.zeros((len(groups), len(groups)), dtype=bool)
    over[group_of[upper], group_of[lower]] = True
    np.fill_diagonal(over, False)
    below = [np.flatnonzero(row).tolist() for row in over]
    waiting = TopologicalSorter(dict(enumerate(below)))
    try:
        waiting.prepare()
    except CycleError:
        return None
    level: dict[int, int] = {}
    ready: list[tuple[int, int]] = []
    while waiting.is_active():
        for n in waiting.get_ready():
            heappush(ready, (int(rank[list(groups[n])].min()), n))
        _, n = heappop(ready)
        level[n] = max((level[m] + 1 for m in below[n]), default=0)
        waiting.done(n)
    return [(groups[n], height) for n, height in level.items()]


def peel(above: Above) -> NDArray[np.intp]:
    """The faces left when those that lie over none, and under none, are taken away again and again; in order. None are
    left just if no faces lie in a circle.
    """
    upper, lower = above.rows()
    count = above.pairs.faces
    left = np.ones(count, dtype=bool)
    left[taken_in_turn(above.over, np.bincount(upper, minlength=count))] = False
    if left.any():
        left[taken_in_turn(above.under, np.bincount(lower, minlength=count))] = False
    return np.flatnonzero(left)


def _unwind(above: Above, members: list[int]) -> list[int]:
    """The members of a circle bottom to top, against few of its pairs (a greedy feedback order): next the least with
    none of those left below it; else, at the top, with none above it; else with the most above it less those below.
    """
    faces = np.array(members)
    place = np.full(above.pairs.faces, -1, dtype=np.intp)
    place[faces] = np.arange(len(faces))
    over, under = ([near[near >= 0] for near in (place[of(f)] for f in members)] for of in (above.over, above.under))
    higher, below = (np.array([len(near) for near in lists]) for lists in (over, under))
    left = np.ones(len(faces), dtype=bool)
    low: list[int] = []
    high: list[int] = []
    for _ in members:
        lowest, highest = np.flatnonzero(left & (below == 0)), np.flatnonzero(left & (higher == 0))
        if len(lowest):
            k = lowest[0]
        elif len(highest):
            k = highest[0]
        else:
            k = np.where(left, higher - below, -len(faces)).argmax()
        goes_on_top = len(highest) and not len(lowest)
        (high if goes_on_top else low).append(members[k])
        left[k] = False
        below[over[k]] -= 1
        higher[under[k]] -= 1
    return low + high[::-1]


def near_stack(above: Above) -> NDArray[np.intp]:
    """Ranks of the faces against few pairs of the relation: from the bottom, always one with fewest below."""
    count = above.pairs.faces
    upper, lower = above.rows()
    balance = (np.bincount(upper, minlength=count) - np.bincount(lower, minlength=count)).astype(np.float64)
    rank = np.empty(count, dtype=np.intp)
    for place in range(count):
        f = int(balance.argmin())
        rank[f] = place
        balance[above.under(f)] += 1
        balance[above.over(f)] -= 1
        balance[f] = np.inf
    return rank
