"""Creases that bring a figure onto one line: arcs of its straight skeleton, and some perpendiculars.

Every such pattern has a fold map, and its cut line meets exactly the figure. Whether the folded layers can
lie in some order without passing through each other, only a solver and the kernel say.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import count, islice, pairwise
from math import inf

from verify.construct.creases.choices import Choices, Refusal
from verify.construct.creases.corridors import Corridors
from verify.construct.skeleton.figure import Figure
from verify.construct.skeleton.front import straight_skeleton
from verify.construct.skeleton.perpendiculars import BORDER, MOST_STEPS, Perpendicular, Tracer
from verify.construct.skeleton.skeleton import Skeleton
from verify.exact.number import Number
from verify.exact.plane import Point, cross_vectors, difference, dot, same_place, segment_meeting
from verify.pattern.drawing import draw
from verify.pattern.limits import LimitReached
from verify.pattern.subdivision import place_text

Segment = tuple[Point, Point]
MOST_CREASES = 3_000  # of one pattern
_AS_FEW = 600  # sets of creases with as few folds, times these folds
_FEW = "few folds"
_TREES = 25  # sets that fold as a tree of corridors, or but for circles, as long as they are refused


@dataclass(frozen=True)
class Creases:
    """The folds of a pattern, each a straight segment in the sheet. `how` says which perpendiculars were taken;
    `fewest`: no set with fewer folds was left; `tree`: it should fold as a tree of corridors.

    `perpendiculars` are all, `chosen` those taken by number, `owners` that of each segment (None: an arc, or a folded
    target line).
    """

    figure: Figure
    segments: tuple[Segment, ...]
    how: str
    chosen: tuple[int, ...]
    owners: tuple[int | None, ...]
    perpendiculars: tuple[Perpendicular, ...]
    fewest: bool = False
    tree: bool = False


class Endless(Exception):
    """Every pattern of this construction needs a perpendicular that was not followed to its end; `lines` are the target
    lines between which those run, by the names of their ends, those that most of them meet first.
    """

    def __init__(self, lines: Sequence[tuple[str, str]], most_steps: int) -> None:
        self.lines = tuple(lines)
        super().__init__(f"perpendiculars do not end within {most_steps} steps, and the pattern needs some of them")


class Exhausted(Exception):
    """No set of perpendiculars is left: each has a part for which there is no layer order, or was not decided."""

    def __init__(self, endless: int, undecided: int, most_steps: int) -> None:
        and_ends = f" ({endless} that do not end within {most_steps} steps left out)" if endless else ""
        none = "none of the sets of perpendiculars of this skeleton folds"
        if undecided:
            none = f"no set of perpendiculars is known to fold ({undecided} reached a limit, no other does)"
        super().__init__(f"{none}{and_ends}")


class Construction:
    """The skeleton of a figure, the perpendiculars, and the patterns that can be made of them.

    Raises `Endless` if the only perpendicular of a node that needs one was not followed to its end.
    """

    def __init__(self, figure: Figure, most_steps: int = MOST_STEPS) -> None:
        self.figure = figure
        self.skeleton: Skeleton = straight_skeleton(figure.points, figure.lines, figure.directions)
        self.tracer = Tracer(self.skeleton, figure.loops, most_steps)
        pieces = [list(self._on_sheet(*self._arc(arc))) for arc in range(len(self.skeleton.arcs))]
        self.arcs = [piece for of_arc in pieces for piece in of_arc]
        self.odd = self._odd()
        alone = [node for node in self.odd if len([*self.tracer.starts(node)]) == 1]
        self.perpendiculars = self.tracer.all(alone)
        endless = [i for i, p in enumerate(self.perpendiculars) if p.end is None and p.start in alone]
        if endless:
            raise Endless(self.lines_of(endless), self.tracer.most_steps)
        self.perpendiculars += self._from_border(pieces)
        self.ends = {
            i: (self._inside(p.start), self._inside(p.end))
            for i, p in enumerate(self.perpendiculars)
            if p.end is not None
        }
        self.choices = Choices(self.ends, self.odd)
        self._refused = self._undecided = 0

    def _arc(self, number: int) -> Segment:
        """The ends of an arc; of one that runs for ever, a place outside the sheet."""
        arc = self.skeleton.arcs[number]
        start = self.skeleton.nodes[arc.start].place
        if arc.end is not None:
            return start, self.skeleton.nodes[arc.end].place
        d = arc.direction
        far = sum((abs(p.x - start.x) + abs(p.y - start.y) for p in self.figure.loops[0]), Number.of(1))
        share = far / (abs(d.x) + abs(d.y))
        return start, Point(start.x + share * d.x, start.y + share * d.y)

    def _on_sheet(self, start: Point, end: Point) -> Iterator[Segment]:
        """The pieces of a segment that lie in the sheet and not on its border."""
        along = difference(end, start)
        stops = [start, end]
        for loop in self.figure.loops:
            for i, b in enumerate(loop):
                meeting = segment_meeting(start, end, loop[i - 1], b)
                if meeting is not None:
                    stops += [meeting] if isinstance(meeting, Point) else list(meeting)
        stops.sort(key=lambda p: dot(along, difference(p, start)))
        for a, b in pairwise(stops):
            if not same_place(a, b) and self.tracer.on_sheet(Point((a.x + b.x) / 2, (a.y + b.y) / 2)) > 0:
                yield a, b

    def _from_border(self, pieces: Sequence[Sequence[Segment]]) -> list[Perpendicular]:
        """The perpendiculars from where arcs leave the sheet, each once."""
        nodes = {node.place for node in self.skeleton.nodes}
        found = {
            frozenset(perpendicular.places): perpendicular
            for arc, of_arc in enumerate(pieces)
            for piece in of_arc
            for place in piece
            if place not in nodes
            for perpendicular in self.tracer.from_border(arc, place)
        }
        return [*found.values()]

    def _odd(self) -> list[int]:
        """The nodes inside the sheet at which arcs and folded lines are odd in number."""
        count: dict[int, int] = {}
        for arc in self.skeleton.arcs:
            for node in (arc.start, arc.end):
                if node is not None:
                    count[node] = count.get(node, 0) + 1
        at = {node.place: i for i, node in enumerate(self.skeleton.nodes) if not node.time}
        for line in self.figure.folded:
            for end in self.figure.lines[line]:
                node = at[self.figure.points[end]]
                count[node] = count.get(node, 0) + 1
        return [node for node, n in sorted(count.items()) if n % 2 and self.tracer.inside[node] > 0]

    @property
    def has_loops(self) -> bool:
        """Whether a perpendicular comes back to its node: then it is not known of trees of corridors that they fold."""
        return any(a == b and a is not None for a, b in self.ends.values())

    @cached_property
    def shape(self) -> Hashable:
        """Equal for two figures if their skeletons have the same arcs and their perpendiculars run over the same ones.
        Then the same sets of these fold, as far as was seen (benchmarks/drawings.md); it is not proved.
        """
        arcs = frozenset((arc.left, arc.right, arc.end is None) for arc in self.skeleton.arcs)
        ways = Counter(min(p.sides, p.sides[::-1]) for p in self.perpendiculars)
        return arcs, frozenset(ways.items()), self.figure.folded

    @cached_property
    def _folds(self) -> list[int]:
        """How many folds each perpendicular adds: its pieces, and one for each arc that it cuts in two."""
        return [2 * len(p.rough) - 3 for p in self.perpendiculars]

    def fewest(self, seconds: float | None = None) -> tuple[int, ...]:
        """The perpendiculars of about the pattern with fewest folds, of those that are not refused and make the number
        of creases even at every node. Raises `Endless`, `Exhausted`, and `LimitReached` past the seconds.
        """
        chosen = self.choices.lightest(self._folds, seconds)
        if chosen is None:
            raise self._none_left()
        return tuple(sorted(chosen))

    def _none_left(self) -> Endless | Exhausted:
        endless = [i for i, p in enumerate(self.perpendiculars) if p.end is None]
        if self._refused:
            return Exhausted(len(endless), self._undecided, self.tracer.most_steps)
        return Endless(self.lines_of(endless), self.tracer.most_steps)

    def refuse(self, refusals: Iterable[Refusal]) -> None:
        """No pattern with these parts comes from now on."""
        for refusal in refusals:
            self.choices.refuse(refusal)
            self._refused += 1

    def refuse_set(self, creases: Creases, *, undecided: bool = False) -> None:
        """This set of perpendiculars does not come again; `undecided`: whether it folds is not known."""
        self._undecided += undecided
        taken = frozenset(creases.chosen)
        self.refuse([Refusal(taken, frozenset(range(len(self.perpendiculars))) - taken)])

    def patterns(
        self, in_time: Callable[[], float | None] = lambda: None, *, only_fewest: bool = False
    ) -> Iterator[Creases]:
        """Patterns, each only once.

        First one that folds as a tree (`corridors`), or others like it (`_like_trees`), as long as they are refused
        (`refuse`, before the next is asked for). Then those with few folds, the fewest first, of all that are not
        refused; with `only_fewest` it ends after those that have as few as the first that is not, more of them for
        small patterns. Raises `Endless` if there is none, `Exhausted` when no set is left that may be, `LimitReached`
        past `MOST_CREASES`, or from `in_time`, which is called before each and says how many seconds are left.
        """
        lightest = self.fewest(in_time())
        names = (_FEW if n == 1 else f"{_FEW}, set {n}" for n in count(1))
        seen: set[tuple[int, ...]] = set()
        least = inf  # folds of the first with fewest that is not refused, once known
        left = 1  # of others with as few
        for tree, chosen in self._in_turn(in_time):
            folds = len(self.arcs) + len(self.figure.folded) + sum(self._folds[i] for i in chosen)
            if only_fewest and (folds > least or left <= 0):
                return
            fewest = folds <= least and (not tree or chosen == lightest)
            before = self._refused
            if chosen not in seen:
                seen.add(chosen)
                how = f"tree {tree} of corridors" if tree and not fewest else next(names)
                yield replace(self.creases(chosen, how), fewest=fewest, tree=tree == 1)
            if fewest and before == self._refused:
                if least == inf:
                    least, left = folds, _AS_FEW // max(folds, 1) - 1
                elif chosen != lightest:
                    left -= 1

    def _in_turn(self, in_time: Callable[[], float | None]) -> Iterator[tuple[int, tuple[int, ...]]]:
        """Trees and sets like them as long as they are refused, with their numbers; then, with 0, all sets that are not
        refused, those with fewest folds first, and again from there whenever one is.
        """
        for number, chosen in enumerate(islice(self._like_trees(in_time), _TREES), 1):
            before = self._refused
            yield number, chosen
            if before == self._refused:
                break
        while True:
            some = False
            for one in self.choices.in_turn(self._folds, in_time):
                some, before = True, self._refused
                yield 0, tuple(sorted(one))
                if before != self._refused:
                    break
            else:
                if some:
                    return
                raise self._none_left()

    def lines_of(self, numbers: Iterable[int]) -> list[tuple[str, str]]:
        """The target lines by which perpendiculars run, by the names of their ends, those that most of them meet
        first.
        """
        sides = self.skeleton.sides
        met = Counter(
            line
            for number in numbers
            for line in {sides[side].line for side in self.perpendiculars[number].sides}
            if line >= 0
        )
        names: dict[Point, str] = {}
        for name, place in draw(self.figure.document).places.items():
            names.setdefault(place, name)
        points, lines = self.figure.points, self.figure.lines
        return [
            (names.get(a) or place_text(a), names.get(b) or place_text(b))
            for a, b in ([points[v] for v in lines[line]] for line, _ in met.most_common())
        ]

    def _inside(self, end: int) -> int | None:
        """The node at an end of a perpendicular, if it is inside the sheet."""
        return None if end == BORDER or self.tracer.inside[end] <= 0 else end

    def trees(self) -> Iterator[tuple[int, ...]]:
        """Sets of perpendiculars that fold as a tree of corridors, those with fewest folds first."""
        most = MOST_CREASES - len(self.arcs) - len(self.figure.folded)
        for chosen in self._corridors.sets(self._folds):
            if chosen <= self.ends.keys() and sum(len(self.perpendiculars[i].sides) for i in chosen) <= most:
                met = Counter(node for i in chosen for node in self.ends[i] if node is not None)
                if [node for node, n in sorted(met.items()) if n % 2] == self.odd:
                    yield tuple(sorted(chosen))

    def _like_trees(self, in_time: Callable[[], float | None]) -> Iterator[tuple[int, ...]]:
        """The tree with fewest folds, and then all sets that are not refused and differ from a tree just in which
        perpendiculars are folded that run in a circle, those with fewest folds first.
        """
        trees = [*self.trees()]
        yield from trees[:1]
        if trees:
            to_border = [i for i, ends in self.ends.items() if None in ends]  # by the others circles alone can differ
            like = self.choices.like(trees, to_border)
            while (chosen := self.choices.lightest(self._folds, in_time(), like)) is not None:
                yield tuple(sorted(chosen))

    def creases(self, chosen: Sequence[int], how: str) -> Creases:
        """The creases of a set of perpendiculars. Raises `LimitReached` past `MOST_CREASES`."""
        segments = list(self.arcs)
        figure = self.figure
        segments += [(figure.points[a], figure.points[b]) for a, b in (figure.lines[i] for i in sorted(figure.folded))]
        owners: list[int | None] = [None] * len(segments)
        for number in chosen:
            pieces = list(pairwise(_straightened(self.perpendiculars[number].places)))
            segments += pieces
            owners += [number] * len(pieces)
        if len(segments) > MOST_CREASES:
            raise LimitReached("creases", f"{MOST_CREASES:,}", f"{len(segments):,} creases")
        return Creases(figure, tuple(segments), how, tuple(chosen), tuple(owners), tuple(self.perpendiculars))

    @cached_property
    def _corridors(self) -> Corridors:
        return Corridors(self.tracer, self.perpendiculars)


def _straightened(places: Sequence[Point]) -> list[Point]:
    """The places of a way at which it turns, and its ends."""
    kept = [places[0]]
    for here, there in pairwise(places[1:]):
        u, v = difference(here, kept[-1]), difference(there, here)
        if cross_vectors(u, v).sign() or dot(u, v).sign() < 0:
            kept.append(here)
    return [*kept, places[-1]]
