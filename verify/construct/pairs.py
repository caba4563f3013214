"""Which nodes of a skeleton are joined by perpendiculars, and how the corners of the figure move for it, in floats.

A perpendicular from a node at which one begins is to end in a node at which three begin, after few steps. Such pairs
are joined one after the other, those first that cost least in steps and movement; after each the corners are moved so
that all pairs are joined and the corner that moves farthest moves little. Then, again and again, some pairs are given
up, long ones rather than short ones, and others are joined in a slightly different order; what comes of it is kept if
all perpendiculars that are needed take fewer steps together.

A perpendicular may pass a node at which one begins on either side: there it turns back, and comes out at the mirror
image of where it came in, whichever way it goes round. So may it pass a corner. A node at which three begin parts what
runs on its two sides, and is passed on the side on which it was.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf
from random import Random

import numpy as np

from verify.construct.equations import Floats
from verify.construct.moving import Moving, single, triple
from verify.construct.paths import Courses, Meeting, Passage, Paths
from verify.construct.perpendiculars import MOST_STEPS

_STEPS = 100  # of a perpendicular that is to end in a node
_WORTHS = (30.0, 10.0, 90.0)  # steps: as dear as moving all that is allowed
_MISS = 8.0  # times what is allowed
_SHORTEST, _ROOM = 0.02, 0.003  # of what is allowed: what is left of arcs, and beside nodes
_OFFERS = 4  # refused one after the other
_CORRECTIONS = 16
_FIRST_STEPS, _FIRST_MOST = 3, 2  # so many of them may lead so much farther
_HELD = 40  # arcs that would shrink to nothing, and perpendiculars that would pass a node on the other side
_WEIGHINGS = 5
_LIGHTEST, _TINY = 1e-4, 1e-300
_CLOSED = 2  # if no others begin at two nodes that are joined, what runs round them is closed (K3 fails)
_CLOSE, _ENDS = 1e-10, 1e-6  # of the sheet's size
_INDEPENDENT = 1e-6
_RIDGE = 1e-12  # equations that say the same are met together
_ROUND_ABOUT = 80  # steps more, if nodes are passed on the other side
_GIVEN_UP = (1, 2, 2, 3, 3, 4, 5)  # pairs
_DISORDER = 0.35  # the standard deviation of the logarithm by which costs are off
_ENDLESS = 1000  # steps that one without an end counts for


@dataclass(frozen=True)
class _Offer:
    """A meeting that may be had, and what it costs."""

    cost: float
    meeting: Meeting


class Pairs:
    """The meetings that are `taken`, and where the `corners` are then; no corner moves farther than `most`.

    Arcs keep at least the lengths `shortest`.
    """

    def __init__(self, moving: Moving, most: float) -> None:
        self.moving, self.most = moving, most
        moving.place_at(moving.start)
        self.corners = moving.start
        self.taken: list[Meeting] = []
        self.shortest = np.minimum(_SHORTEST * most, moving.arc_lengths / 4)
        self.parting = {*triple(moving.begin)}
        self.spared = self._spared()
        self.worth, self.disorder, self.random = _WORTHS[0], 0.0, Random(1)

    def search(self, patience: int) -> None:
        """Join what can be, and then look for fewer steps, until so many rounds after one another have found none."""
        self._join_all()
        best, state = self._costs(), (self.corners, self.taken)
        self.disorder = _DISORDER
        number = last = 0
        while number - last < patience:
            number += 1
            self.corners, self.taken = state
            self.worth = _WORTHS[number % len(_WORTHS)]
            self._give_up(self.random.choice(_GIVEN_UP))
            self._join_all()
            costs = self._costs()
            if costs < best:
                last = number if costs[0] < best[0] else last
                best, state = costs, (self.corners, self.taken)
        self.corners, self.taken = state

    def _spared(self) -> set[int]:
        """The nodes whose perpendiculars are not to end in others: as many as are too many, those nearest the border of
        the sheet.
        """
        nodes = single(self.moving.begin)
        spare = max(0, len(nodes) - len(self.parting))
        paths = Paths(self.moving)
        return {*sorted(nodes, key=lambda node: _until_it_leaves(paths, node, 0, inf))[:spare]}

    def _costs(self) -> tuple[float, float]:
        """Few steps are best, and of as few a movement that is small."""
        return self.steps(_ENDLESS), self.moving.moved(self.corners)

    def steps(self, endless: float) -> float:
        """How many steps all perpendiculars take from nodes at which one begins, and from nodes not joined at which
        three do, the shortest of these; those that do not end count for so many.
        """
        self.moving.place_at(self.corners)
        paths = Paths(self.moving)
        joined = {one.start: one.steps for one in self.taken}
        total: float = sum(joined.values())
        for node in single(self.moving.begin):
            total += 0 if node in joined else _until_it_leaves(paths, node, 0, endless)
        for node in self._ends():
            total += min(_until_it_leaves(paths, node, way, endless) for way in range(3))
        return total

    def _ends(self) -> set[int]:
        """The nodes at which three perpendiculars begin and none ends."""
        return self.parting - {one.end for one in self.taken}

    def _give_up(self, count: int) -> None:
        """Some pairs, of which one with twice the steps is twice as likely to be among them."""
        left = list(self.taken)
        for _ in range(min(count, len(left))):
            left.remove(self.random.choices(left, [one.steps for one in left])[0])
        self.taken = left

    def _join_all(self) -> None:
        while self._join_one():
            pass

    def _join_one(self) -> bool:
        self.moving.place_at(self.corners)
        for offer in self._offers()[:_OFFERS]:
            joined = self._joined([*self.taken, offer.meeting])
            if joined is not None:
                self.corners, self.taken = joined
                return True
        return False

    def _offers(self) -> list[_Offer]:
        """What may be joined next, cheapest first: steps, and how far corners move to keep all that is joined."""
        started, ends = {one.start for one in self.taken}, self._ends()
        paths, near = Paths(self.moving), _MISS * self.most
        meetings = [
            meeting
            for node in single(self.moving.begin)
            if ends and node not in started and node not in self.spared
            for meeting, roughly in paths.near(node, paths.path(node, _STEPS))
            if meeting.end in ends and abs(roughly) < near
        ]
        if not meetings:
            return []
        self.moving.derive()
        courses = Courses(self.moving, meetings)
        ways, misses = courses.ways(), np.abs(courses.misses())
        if self.taken:
            basis = np.linalg.qr(Courses(self.moving, self.taken).ways().T)[0]
            ways -= ways @ basis @ basis.T
        free = np.linalg.norm(ways, axis=1)
        found = []
        for meeting, miss, share in zip(meetings, misses.tolist(), free.tolist(), strict=True):
            if share > _INDEPENDENT and miss < near * share:
                cost = meeting.steps + self.worth * miss / share / self.most
                found.append(_Offer(cost * self.random.lognormvariate(0, self.disorder), meeting))
        return sorted(found, key=lambda offer: offer.cost)

    def _joined(self, meetings: Sequence[Meeting]) -> tuple[Floats, list[Meeting]] | None:
        """Corners near the start at which all these are met, and the meetings by the ways that perpendiculars then go.

        None if corners are too far, the skeleton has other arcs there, a perpendicular does not come to its end, or no
        others begin at two nodes that are joined.
        (Gauss and Newton, in floats; arcs that would vanish are kept at a length, and perpendiculars that would pass a
        node at which three begin on the other side at a distance from it.)
        """
        moving, corners = self.moving, self.corners
        room = _ROOM * self.most
        held: set[int] = set()
        passages: set[tuple[int, Passage]] = set()
        courses = beside = Courses(moving, meetings)
        for step in range(_CORRECTIONS):
            if moving.moved(corners) > (self.most if step > _FIRST_STEPS else _FIRST_MOST * self.most):
                return None
            moving.place_at(corners)
            short = np.flatnonzero(moving.arc_lengths < self.shortest).tolist()
            narrow = courses.narrow(self.parting, room)
            met = step and not short and np.abs(courses.misses()).max() < _CLOSE * moving.size
            if met and moving.moved(corners) <= self.most:
                prongs = moving.prongs()
                closed = (prongs[courses.starts] + prongs[courses.ends] == _CLOSED).any()
                is_like = not closed and moving.is_like(self.shortest)
                ways = self._ways(meetings, courses) if is_like else None
                if ways is not None or not narrow:
                    return None if ways is None else (corners, ways)
            held.update(short)
            if not passages.issuperset(narrow):
                passages.update(narrow)
                passed = [_passing(meetings[n], passage) for n, passage in sorted(passages)]
                beside = Courses(moving, [*meetings, *passed])
            if len(held) + len(passages) > _HELD:
                return None
            moving.derive()
            misses = beside.misses()
            misses[len(meetings) :] -= [2 * one.way * room for _, one in sorted(passages)]
            arcs = sorted(held)
            equations = np.concatenate([beside.ways(), moving.arc_ways(arcs)])
            misses = np.concatenate([misses, moving.arc_lengths[arcs] - 2 * self.shortest[arcs]])
            corners = moving.start + _nearest(equations, equations @ (corners - moving.start) - misses)
        return None

    def _ways(self, meetings: Sequence[Meeting], courses: Courses) -> list[Meeting] | None:
        """The meetings by the boundaries that perpendiculars now come to; None if one does not come to its end."""
        astray = courses.astray()
        if not astray.any():
            return list(meetings)
        found = []
        paths = Paths(self.moving)
        for one, elsewhere in zip(meetings, astray.tolist(), strict=True):
            now = self._way(one, paths) if elsewhere else one
            if now is None:
                return None
            found.append(now)
        return found

    def _way(self, one: Meeting, paths: Paths) -> Meeting | None:
        for meeting, miss in paths.near(one.start, paths.path(one.start, one.steps + _ROUND_ABOUT)):
            if meeting.end == one.end and abs(miss) < _ENDS * self.moving.size:
                return meeting
        return None


def _until_it_leaves(paths: Paths, node: int, way: int, endless: float) -> float:
    path = paths.path(node, MOST_STEPS, way)
    return len(path.bounds) if path.leaves else endless


def _passing(meeting: Meeting, passage: Passage) -> Meeting:
    """As if a perpendicular were to end in the node that it passes."""
    return Meeting(meeting.start, meeting.bounds[: passage.step + 1], passage.node)


def _nearest(equations: Floats, values: Floats) -> Floats:
    """A movement with these values for which, after some weighings, the corner that moves farthest moves little
    (Lawson's weights; before the first it is that with the least sum of squares).
    """
    sizes = np.linalg.norm(equations, axis=1)
    rows, goals = equations / sizes[:, None], values / sizes
    weights: Floats = np.ones(equations.shape[1] // 2)
    found: Floats
    for _ in range(_WEIGHINGS):
        shared = rows / np.repeat(weights, 2)
        products = rows @ shared.T
        products[np.diag_indices(len(rows))] *= 1 + _RIDGE
        found = shared.T @ np.linalg.solve(products, goals)
        moved = np.hypot(*found.reshape(-1, 2).T)
        weights = np.maximum(weights * moved / max(moved.max(), _TINY), _LIGHTEST)
        weights /= weights.mean()
    return found
