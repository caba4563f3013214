"""Which nodes of a skeleton are joined by perpendiculars, and how the corners of the figure move for it, in floats.

A perpendicular from a node at which one begins is to end in a node at which three begin, after few steps. Such pairs
are joined one after the other, those first that cost least in steps and movement; after each the corners are moved so
that all pairs are joined and the corner that moves farthest moves little. Then, again and again, some pairs are given
up, long ones rather than short ones, and others are joined in a slightly different order; what comes of it is kept if
all perpendiculars that are needed take fewer steps together.

If some do not end even so (`end_more`), they are followed much farther, so that it counts how far they are from an end;
and a node from which many steps lead is joined also with one of another pair, which is given up.

A perpendicular may pass a node at which one begins on either side: there it turns back, and comes out at the mirror
image of where it came in, whichever way it goes round. So may it pass a corner. A node at which three begin parts what
runs on its two sides, and is passed on the side on which it was.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from math import inf
from random import Random

import numpy as np

from verify.construct.coordinates.equations import Floats
from verify.construct.ends.moving import Moving, single, triple
from verify.construct.ends.paths import Courses, Meeting, Passage, Paths
from verify.construct.skeleton.perpendiculars import MANY_STEPS, MOST_STEPS
from verify.exact.effort import spend

_STEPS, _MORE_STEPS = 100, 300  # of a perpendicular that is to end in a node
_WORTHS = (30.0, 10.0, 90.0)  # steps: as dear as moving all that is allowed
_OTHER_WORTHS = (90.0, 10.0, 20.0)  # the same, if some do not end
_MISS = 8.0  # times what is allowed
_SHORTEST, _ROOM = 0.02, 0.003  # of what is allowed: what is left of arcs, and beside nodes
_OFFERS = 4  # refused one after the other
_CORRECTIONS = 16
_HELD = 40  # arcs that would shrink to nothing, and perpendiculars that would pass a node on the other side
_WEIGHINGS = 5
_LIGHTEST, _TINY = 1e-4, 1e-300
_CLOSED = 2  # if no others begin at two nodes that are joined, what runs round them is closed (K3 fails)
_CLOSE, _NEARLY, _ENDS = 1e-10, 2e-7, 1e-6  # of the sheet's size
_INDEPENDENT = 1e-6
_APART = 1e-2  # the least singular value of equations that hardly move others
_RIDGE = 1e-12  # equations that say the same are met together
_ROUND_ABOUT = 80  # steps more, if nodes are passed on the other side
_GIVEN_UP = (1, 2, 2, 3, 3, 4, 5)  # pairs
_DISORDER = 0.35  # the standard deviation of the logarithm by which costs are off
_ENDLESS = 1000  # steps that one without an end counts for
_OTHERS = 0.1  # how much the two perpendiculars of a node count that need not be folded, if some do not end
_MORE = 100  # steps more from which to go on
_PATIENCE, _LITTLE = 40, 0.99  # rounds that gain little: what is left of all steps
_ENOUGH, _MORE_ENOUGH = 1_700, 100  # steps that are few enough; so many more each time
_MANY, _LITTLE_PATIENCE = 800, 6  # steps: so many are too many for hands, and fewer are not worth much time
_FEW_OFFERS, _FEW_CORRECTIONS = 2, 10  # if some do not end
_AGAIN = 20  # or until the time is over
_CHANGES = 40  # of the rows that pull
_CLOSELY, _OFF = 1e-9, 1e-7


@dataclass(eq=False)
class Joined:
    """The meetings that are `taken`, and where the `corners` are then; noted when asked for are the perpendiculars, and
    how many steps those that are not joined take, by the most that were looked at.
    """

    corners: Floats
    taken: Sequence[Meeting]
    paths: Paths | None = None
    unjoined: dict[int, dict[int, list[float]]] = field(default_factory=dict)


class Pairs:
    """The meetings that are `taken`, and where the `corners` are then; no corner moves farther than `most`.

    Arcs keep at least the lengths `shortest`.
    """

    def __init__(self, moving: Moving, most: float) -> None:
        self.moving, self.most = moving, most
        moving.place_at(moving.start)
        self.joined = Joined(moving.start, [])
        self.shortest = np.minimum(_SHORTEST * most, moving.arc_lengths / 4)
        self.parting = {*triple(moving.beginning)}
        self.spared = self._spared()
        self.worth, self.disorder, self.random = _WORTHS[0], 0.0, Random(1)
        self.some_do_not_end = False

    @property
    def corners(self) -> Floats:
        return self.joined.corners

    @property
    def taken(self) -> Sequence[Meeting]:
        return self.joined.taken

    def end_more(self, most: float, rounds: int) -> None:
        """Search on where some perpendiculars do not end, corners moving no farther than `most`: in so many rounds, and
        then half as many, by turns from the best pairs so far and from new ones, until all do that a tree of corridors
        may need, in not too many steps; each time more are not too many.
        """
        self.most = most
        self.some_do_not_end = True
        self.moving.whole = False
        kept = self.joined
        best: tuple[float, ...] = (inf,)
        for again in range(_AGAIN):
            enough = _ENOUGH + again * _MORE_ENOUGH
            if best < (0, enough):
                break
            if again % 2:
                self.joined = kept
            elif again:
                self._join_anew()
            self._wander(rounds // 2 if again else rounds, enough)
            found = self.endless(True), *self.costs()
            if found < best:
                kept, best = self.joined, found
        self.joined = kept

    def _wander(self, rounds: int, enough: int) -> None:
        """Go on from what takes somewhat more steps, too, less and less more, and come back to the best; no longer than
        something is gained now and then, often if so many steps are few enough.
        """
        now = best = self.costs()
        state = kept = self.joined
        last = rounds
        for left in range(rounds, 0, -1):
            spend(0)
            if last - left > (_LITTLE_PATIENCE if _MANY < best[0] < enough else _PATIENCE):
                break
            if not self._vary(left):
                continue
            found = self.costs()
            if found[0] < now[0] + _MORE * left / rounds * self.random.random():
                now, state = found, self.joined
            if found < best:
                last = left if found[0] < _LITTLE * best[0] else last
                best, kept = found, self.joined
            self.joined = state
        self.joined = kept

    def search_anew(self, starts: int, patience: int) -> None:
        """The best of so many searches, the first from here, the others from new pairs: one alone may stay at pairs of
        which no few can be joined otherwise with a gain.
        """
        self.search(patience)
        best, state = self.costs(), self.joined
        for _ in range(starts - 1):
            self._join_anew()
            self.search(patience)
            costs = self.costs()
            if costs < best:
                best, state = costs, self.joined
        self.joined = state

    def search(self, patience: int) -> None:
        """Look for fewer steps, until so many rounds after one another have found none."""
        best, state = self.costs(), self.joined
        number = last = 0
        while number - last < patience:
            number += 1
            spend(0)  # it ends with the time that there is
            self.joined = state
            self._vary(number)
            costs = self.costs()
            if costs < best:
                last = number if costs[0] < best[0] else last
                best, state = costs, self.joined
        self.joined = state

    def _vary(self, number: int) -> bool:
        """Join other pairs, in the round of this number, if such are found."""
        self.disorder = _DISORDER
        worths = _OTHER_WORTHS if self.some_do_not_end else _WORTHS
        self.worth = worths[number % len(worths)]
        if self.some_do_not_end and number % len(worths):
            if not self._join_long():
                return False
        else:
            self._give_up(self.random.choice(_GIVEN_UP))
        self.join()
        return True

    def _spared(self) -> set[int]:
        """The nodes whose perpendiculars are not to end in others: as many as are too many, those nearest the border of
        the sheet.
        """
        nodes = single(self.moving.begin)
        spare = max(0, len(nodes) - len(self.parting))
        steps = Paths(self.moving).steps(nodes, MOST_STEPS)
        return {*sorted(nodes, key=lambda node: steps[node])[:spare]}

    def costs(self) -> tuple[float, float]:
        """Few steps are best, and of as few a movement that is small."""
        farthest = MANY_STEPS if self.some_do_not_end else _ENDLESS
        steps = [[min(n, farthest) for n in ways] for ways in self._unjoined(self.most_steps).values()]
        left: float = sum(ways[0] for ways in steps)  # of three one is folded
        if self.some_do_not_end:
            left += _OTHERS * sum(sum(ways[1:]) for ways in steps)
        return sum(one.steps for one in self.taken) + left, self.moving.moved(self.corners)

    def endless(self, every: bool = False) -> int:
        """At how many nodes a perpendicular that every pattern needs is not known to end; or `every` one that a tree of
        corridors may need.
        """
        return sum(inf in (ways if every else ways[:1]) for ways in self._unjoined(self.most_steps).values())

    @property
    def most_steps(self) -> int:
        """The steps for which a perpendicular is followed."""
        return MANY_STEPS if self.some_do_not_end else MOST_STEPS

    def _unjoined(self, most: int) -> dict[int, list[float]]:
        """How many steps it takes from each node that is not joined until the sheet is left, each way, the shortest
        first: infinitely many, if more than `most`.
        """
        noted = self.joined.unjoined
        if most not in noted:
            paths = self._paths()
            ones = {*single(self.moving.begin)} - {one.start for one in self.taken}
            steps = paths.steps(sorted(ones | self._ends()), most)
            noted[most] = {node: sorted(ways) for node, ways in steps.items()}
        return noted[most]

    def _paths(self) -> Paths:
        """The perpendiculars at the corners, to which all is moved."""
        self.moving.place_at(self.corners)
        if self.joined.paths is None:
            self.joined.paths = Paths(self.moving)
        return self.joined.paths

    def _ends(self) -> set[int]:
        """The nodes in the sheet at which three perpendiculars begin and none ends."""
        return {*triple(self.moving.begin)} - {one.end for one in self.taken}

    def _give_up(self, count: int) -> None:
        """Some pairs, of which one with twice the steps is twice as likely to be among them."""
        left = list(self.taken)
        for _ in range(min(count, len(left))):
            left.remove(self.random.choices(left, [one.steps for one in left])[0])
        self.joined = Joined(self.corners, left, self.joined.paths)

    def _join_anew(self) -> None:
        """Join what can be, from the start, in a slightly different order."""
        self.joined, self.disorder = Joined(self.moving.start, []), _DISORDER
        self.join()

    def join(self) -> None:
        """Join what can be."""
        while True:
            self.moving.place_at(self.corners)
            ends = self._ends()
            started = {one.start for one in self.taken} | self.spared
            starts = [node for node in single(self.moving.begin) if node not in started]
            if not (ends and self._join(starts, ends)):
                break

    def _join_long(self) -> bool:
        """Another pair of a node, rather of one from which many steps lead."""
        steps = {node: min(ways[-1], MANY_STEPS) + 1 for node, ways in self._unjoined(MANY_STEPS).items()}
        steps |= {one.start: one.steps for one in self.taken}
        node = self.random.choices([*steps], [*steps.values()])[0]
        starts = single(self.moving.begin)
        parting, with_it = {*triple(self.moving.begin)}, {one.end for one in self.taken if one.start == node}
        return self._join([node] if node in starts else starts, {node} & parting or parting - with_it)

    def _join(self, starts: Sequence[int], ends: Collection[int]) -> bool:
        """Join a pair of these nodes, all at the corners; others that have one of the two are given up."""
        for offer in self._offers(starts, ends):
            others = [one for one in self.taken if one.start != offer.start and one.end != offer.end]
            joined = self._joined([*others, offer])
            if joined is not None:
                self.joined = joined
                return True
        return False

    def _offers(self, starts: Sequence[int], ends: Collection[int]) -> list[Meeting]:
        """Some that may be joined, those first that are cheapest: steps, and how far corners move to keep all that is
        joined.
        """
        if not starts:
            return []
        near = _MISS * self.most
        followed = self._paths().follow(starts, _MORE_STEPS if self.some_do_not_end else _STEPS)
        rows, steps, nodes = followed.near(ends, near)
        if not len(rows):
            return []
        self.moving.derive()
        courses = Courses(self.moving, followed.starts[rows], followed.first(rows, steps), steps, nodes)
        ways, misses = courses.ways(), np.abs(courses.misses())
        if self.taken:
            basis = np.linalg.qr(Courses.of(self.moving, self.taken).ways().T)[0]
            ways -= ways @ basis @ basis.T
        free = np.linalg.norm(ways, axis=1)
        found = []
        for number, (count, miss, share) in enumerate(zip(steps.tolist(), misses.tolist(), free.tolist(), strict=True)):
            if share > _INDEPENDENT and miss < near * share:
                cost = count + self.worth * miss / share / self.most
                found.append((cost * self.random.lognormvariate(0, self.disorder), number))
        most = _FEW_OFFERS if self.some_do_not_end else _OFFERS
        return [followed.meeting(int(rows[n]), int(steps[n]), int(nodes[n])) for _, n in sorted(found)[:most]]

    def _joined(self, meetings: Sequence[Meeting]) -> Joined | None:
        """Corners near the start at which all these are met, and the meetings by the ways that perpendiculars then go.

        None if corners are too far, the skeleton has other arcs there, a perpendicular does not come to its end, or no
        others begin at two nodes that are joined.
        (Gauss and Newton, in floats; arcs that would vanish are kept at a length, and perpendiculars that would pass a
        node at which three begin on the other side at a distance from it: at just that, or, if some do not end, at
        least.)
        """
        moving, corners = self.moving, self.corners
        room = _ROOM * self.most
        held: set[int] = set()
        passages: set[tuple[int, Passage]] = set()
        courses = beside = Courses.of(moving, meetings)
        weights: Floats | None = None
        for step in range(_FEW_CORRECTIONS if self.some_do_not_end else _CORRECTIONS):
            if moving.moved(corners) > self.most:
                return None
            moving.place_at(corners)
            short = moving.short(self.shortest)
            narrow = courses.narrow(self.parting, room)
            close = (_NEARLY if self.some_do_not_end else _CLOSE) * moving.size
            met = step and not short and np.abs(courses.misses()).max() < close
            if met:
                prongs = moving.prongs()
                closed = (prongs[courses.starts] + prongs[courses.ends] == _CLOSED).any()
                begin = moving.inside[courses.starts].all() and not closed
                is_like = begin and moving.is_like(self.shortest) and self._are_apart(courses)
                found = self._found(corners, meetings, courses) if is_like else None
                if found is not None or not narrow:
                    return found
            held.update(short)
            if not passages.issuperset(narrow):
                passages.update(narrow)
                passed = [_passing(meetings[n], passage) for n, passage in sorted(passages)]
                beside = Courses.of(moving, [*meetings, *passed])
            if len(held) + len(passages) > _HELD:
                return None
            moving.derive()
            arcs, count = sorted(held), len(meetings)
            way = np.array([*[1] * count, *(one.way for _, one in sorted(passages))])
            misses = way * beside.misses()
            misses[count:] -= 2 * room
            equations = np.concatenate([way[:, None] * beside.ways(), moving.arc_ways(arcs)])
            misses = np.concatenate([misses, moving.arc_lengths[arcs] - 2 * self.shortest[arcs]])
            exactly = count if self.some_do_not_end else len(misses)
            values = equations @ (corners - moving.start) - misses
            movement = _nearest(equations, values, exactly, weights)
            if movement is None:
                return None
            corners = moving.start + movement[0]
            weights = movement[1] if self.some_do_not_end else None
        return None

    def _are_apart(self, courses: Courses) -> bool:
        """Whether all can be met by shifting lines alone, as they are in the end, exactly. They nearly always can but
        where lines cross, for there lines may bend.
        """
        moving = self.moving
        if not moving.looped:
            return True
        moving.derive()
        turns = np.linalg.svd(moving.turns[::2])
        shifts = turns.Vh[np.count_nonzero(turns.S > _INDEPENDENT) :]
        ways = courses.ways() @ shifts.T
        ways /= np.linalg.norm(ways, axis=1)[:, None]
        return bool(np.linalg.svd(ways, compute_uv=False).min() > _APART)

    def _found(self, corners: Floats, meetings: Sequence[Meeting], courses: Courses) -> Joined | None:
        """The meetings at these corners by the boundaries that perpendiculars now come to; None if one does not come to
        its end.
        """
        found = list(meetings)
        astray = courses.astray().tolist()
        if not astray:
            return Joined(corners, found)
        paths = Paths(self.moving)
        most = [found[number].steps + _ROUND_ABOUT for number in astray]
        followed = paths.follow([found[number].start for number in astray], max(most))
        left = dict(enumerate(astray))
        near = followed.near([found[number].end for number in astray], _ENDS * self.moving.size)
        for row, steps, end in zip(*(column.tolist() for column in near), strict=True):
            if row in left and end == found[left[row]].end and steps <= most[row]:
                found[left.pop(row)] = followed.meeting(row, steps, end)
        return None if left else Joined(corners, found, paths)


def _passing(meeting: Meeting, passage: Passage) -> Meeting:
    """As if a perpendicular were to end in the node that it passes."""
    return Meeting(meeting.start, meeting.bounds[: passage.step + 1], passage.node)


def _nearest(
    equations: Floats, values: Floats, exactly: int, weights: Floats | None = None
) -> tuple[Floats, Floats] | None:
    """A movement with these values, after the first `exactly` at least these, for which, after some weighings, the
    corner that moves farthest moves little (Lawson's weights; before the first it is that with the least sum of
    squares), and the last weights; that for given `weights` alone. None if there seems to be none.
    """
    sizes = np.linalg.norm(equations, axis=1)
    rows, goals = equations / sizes[:, None], values / sizes
    weighings = 1 if weights is not None else _WEIGHINGS
    new: Floats = np.ones(equations.shape[1] // 2) if weights is None else weights
    active = [*range(exactly)]
    found: Floats = np.zeros(equations.shape[1])
    for _ in range(weighings):
        weights = new
        shared = rows / np.repeat(weights, 2)
        products = rows @ shared.T
        products[np.diag_indices(len(rows))] *= 1 + _RIDGE
        pulls = pulling(products, goals, exactly, active)
        if pulls is None:
            return None
        found = shared.T @ pulls
        moved = np.hypot(*found.reshape(-1, 2).T)
        new = np.maximum(weights * moved / max(moved.max(), _TINY), _LIGHTEST)
        new /= new.mean()
    return None if weights is None else (found, weights)


def pulling(products: Floats, goals: Floats, exactly: int, active: list[int]) -> Floats | None:
    """How much each row pulls in the least sum of squares; only those that are `active` do, which is kept up to date.

    (The row that is met least is added, the one that pulls the wrong way most is dropped.)
    """
    pulls: Floats = np.zeros(len(goals))
    for _ in range(_CHANGES):
        inner = products[np.ix_(active, active)]
        pulls[:] = 0
        pulls[active] = np.linalg.solve(inner, goals[active])
        if exactly == len(goals):
            return pulls
        pulls[active] += np.linalg.solve(inner, goals[active] - inner @ pulls[active])  # rows may nearly say the same
        bounds = pulls[active[exactly:]]
        if bounds.min(initial=0.0) < -_CLOSELY * np.abs(pulls).max():
            del active[exactly + int(bounds.argmin())]
            continue
        over = products @ pulls - goals
        if np.abs(over[active]).max() > _OFF:
            return None
        over[active] = 0
        worst = int(over.argmin())
        if over[worst] >= -_CLOSELY:
            return pulls
        active.append(worst)
    return None
