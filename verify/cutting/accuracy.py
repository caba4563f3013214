"""How true the creases of a pattern must be for its cut: an estimate in floats, to first order.

A crease that is off turns and shifts all that hangs on it. For each end of a target edge the least sum of such shifts
is taken over the ways through the paper from the longest one, each crease on the way being off at both ends in the
worst way.
"""

from __future__ import annotations

import heapq

import numpy as np
from numpy.typing import NDArray

from verify.cutting.cut import Cut

Floats = NDArray[np.float64]

LIMIT = 250_000
"""Of faces times ends of target edges: the estimate takes a second or two there."""


def amplification(cut: Cut) -> float | None:
    """How many times as far as each crease is off, at both ends, a target edge is then off the cut line at most.

    Dimensionless; an estimate in floats. None without folds or one complete cut, or for more than `LIMIT` faces times
    ends of target edges. Each crease is off by itself; that the paper must close round each vertex is not used.
    """
    o = cut.overlaps
    s = o.subdivision
    targets = [i for i, e in enumerate(s.edges) if e.target and o.edge_line[i] == cut.line]
    corners = sorted({v for i in targets for v in s.edges[i].ends})
    if len(corners) * len(s.faces) > LIMIT:
        return None
    if not targets or cut.allowed != 1 or not any(e.is_fold for e in s.edges):
        return None
    images: Floats = np.array([[float(p.x), float(p.y)] for p in o.fold_map.images])
    a, b = images[[e.start for e in s.edges]], images[[e.end for e in s.edges]]
    lengths = np.hypot(*(b - a)[targets].T)
    if lengths.max() == 0:
        return None
    first = targets[int(np.argmax(lengths))]
    along = (b - a)[first] / lengths.max()
    across = np.array([-along[1], along[0]])
    start = [f for f in (s.edges[first].left, s.edges[first].right) if f >= 0]
    beside = [[(s.edges[e].across(f), e) for e in edges] for f, edges in enumerate(s.face_edges)]
    folds = np.array([e.is_fold for e in s.edges])
    worst = 0.0
    for v in corners:
        shifts = np.where(folds, _shifts(a, b, images[v], across), 0.0).tolist()
        goal = {f for i in targets if v in s.edges[i].ends for f in (s.edges[i].left, s.edges[i].right) if f >= 0}
        worst = max(worst, _least(beside, shifts, start, goal))
    return worst


def _shifts(a: Floats, b: Floats, place: Floats, across: Floats) -> Floats:
    """How far a place moves across the cut at most, for each fold (from a to b) that is off by one at both ends."""
    length = np.hypot(*(b - a).T)
    length[length == 0] = np.inf  # shorter than floats tell: of no weight
    u = (b - a) / length[:, None]
    n = np.stack([-u[:, 1], u[:, 0]], axis=1)
    t = ((place - a) * u).sum(axis=1) / length
    lever = ((place - a) * n).sum(axis=1) / length * (u @ across)
    straight = n @ across
    one, two = (1 - t) * straight + lever, t * straight - lever
    shifts: Floats = 2 * (np.abs(one) + np.abs(two))
    return shifts


def _least(beside: list[list[tuple[int, int]]], shifts: list[float], start: list[int], goal: set[int]) -> float:
    """The least sum of shifts on a way from a face to one of the goal (Dijkstra); `beside`: for each face those beside
    it (-1: none), with the edge between.
    """
    best = dict.fromkeys(start, 0.0)
    queue = [(0.0, f) for f in start]
    while queue:
        far, f = heapq.heappop(queue)
        if f in goal:
            return far
        if far > best[f]:
            continue
        for g, edge in beside[f]:
            there = far + shifts[edge]
            if g >= 0 and there < best.get(g, np.inf):
                best[g] = there
                heapq.heappush(queue, (there, g))
    return 0.0
