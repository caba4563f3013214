"""Counting the stacks of a pile: panels of which any three lie over one point, inserted one by one.

A panel is one face or several that flat edges join, such as a cut line. Where any two of the panels have one order,
whichever of their faces meet, and none of any three go round in a circle, a layer order is a stack. (Single faces then
all lie over one point: Helly 1923.) Here a panel is called a face, too.

A face that comes into a stack of k faces finds k + 1 gaps. Every crossing condition whose other faces lie in the stack
already allows some of these gaps: a bit mask. The last face is put nowhere: its gaps are counted.

Where only folds are compared with folds the stack may be turned like a wheel, bottom face to the top, and read from
top to bottom: nested or apart stays nested or apart. Then the first face stays at the bottom and the second below
the third, and the number is multiplied by twice the faces.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from verify.folding.crossing import Conditions

Pair = tuple[int, int]
_BARREN: Final = 20_000  # faces put into the stack without a stack found, past which the search is given up


class Wandering(Exception):
    """The insertion ran from one dead end into the next: nothing is known of the number."""


@dataclass(frozen=True)
class Parity:
    """Of "new above p" for p in `new` and "a above b" for (a, b) in `known` an even (`odd`: odd) number holds."""

    new: tuple[int, ...]
    known: tuple[Pair, ...]
    odd: bool


@dataclass(frozen=True)
class Arrival:
    """What is asked of a face that comes, by `rules` and rows (p, a, b) `beside`: joined to p it lies between a and b
    just if p does. Faces are numbered as they come.
    """

    beside: tuple[tuple[int, int, int], ...]
    rules: tuple[Parity, ...]


@dataclass(frozen=True)
class Pile:
    """Faces of a pile as they come, and the two faces of each of its `folds`. `turns`: a stack may be turned like a
    wheel, or read down.
    """

    arrivals: tuple[Arrival, ...]
    folds: tuple[Pair, ...]
    turns: bool

    @property
    def turnings(self) -> int:
        """How many stacks one stands for whose first face lies at the bottom and the second below the third."""
        faces = len(self.arrivals)
        mirrored = 2 if faces > 2 else 1
        return faces * mirrored if self.turns else 1


class Asked:
    """Every condition of a pattern, as literals of which an even (or odd) number holds; its folds' variables."""

    def __init__(self, conditions: Conditions) -> None:
        fixed = [([x], True) for x in conditions.fixed.tolist()]
        others = [(row, False) for rows in (conditions.equal, conditions.even) for row in rows.tolist()]
        self.parities: list[tuple[list[int], bool]] = fixed + others
        self.of_variable: dict[int, list[int]] = defaultdict(list)
        for number, (literals, _) in enumerate(self.parities):
            for variable in set(map(abs, literals)):
                self.of_variable[variable].append(number)
        edges = [e for e in conditions.overlaps.subdivision.edges if e.is_fold]
        left, right = (np.array([getattr(e, side) for e in edges], dtype=np.intp) for side in ("left", "right"))
        self.folds = set(np.abs(conditions.literals(left, right)).tolist())


def pile(panels: dict[int, Pair], asked: Asked) -> Pile | None:
    """What is asked of panels over each other, or None where a condition joins them to others; `panels`: of each
    variable "the first lies above the second", by numbers.
    """
    joined = list(dict.fromkeys(panels[v] for v in sorted(panels) if v in asked.folds))
    sequence = _sequence({panel for pair in panels.values() for panel in pair}, joined)
    rank = {panel: i for i, panel in enumerate(sequence)}
    pair_of = {v: (rank[above], rank[below]) for v, (above, below) in panels.items()}
    beside: list[set[tuple[int, int, int]]] = [set() for _ in sequence]
    rules: list[set[Parity]] = [set() for _ in sequence]
    comparing = False
    mine = {k for v in panels for k in asked.of_variable[v]}
    for literals, odd in (asked.parities[k] for k in sorted(mine)):
        if not all(abs(x) in pair_of for x in literals):
            return None
        numbers, is_odd = _different([pair_of[x] if x > 0 else pair_of[-x][::-1] for x in literals], odd)
        if not numbers and is_odd:
            return None
        if not numbers:
            continue
        last = max(max(pair) for pair in numbers)
        if len(numbers) == 4:
            beside[last].add(_fold_row(numbers, last))
        else:
            rules[last].add(_rule(numbers, last, is_odd))
            comparing = True
    arrivals = tuple(Arrival(tuple(sorted(b)), tuple(r)) for b, r in zip(beside, rules, strict=True))
    return Pile(arrivals, tuple((rank[a], rank[b]) for a, b in joined), turns=not comparing)


def _different(pairs: list[Pair], odd: bool) -> tuple[list[Pair], bool]:
    """The pairs of a condition without those that cancel, and whether an odd number of what is left holds."""
    left: dict[Pair, None] = {}
    for above, below in pairs:
        if (above, below) in left:
            del left[above, below]
        elif (below, above) in left:
            del left[below, above]
            odd = not odd
        else:
            left[above, below] = None
    return list(left), odd


def _fold_row(numbers: list[Pair], last: int) -> tuple[int, int, int]:
    """Of two folds (a, b) and (c, d): the partner of the last face, and the two faces of the other fold."""
    a, c = numbers[0]
    b, d = numbers[3]
    if last in (a, b):
        return a + b - last, min(c, d), max(c, d)
    return c + d - last, min(a, b), max(a, b)


def _rule(numbers: list[Pair], last: int, odd: bool) -> Parity:
    new = []
    known = []
    for above, below in numbers:
        if above == last:
            new.append(below)
        elif below == last:
            new.append(above)
            odd = not odd
        else:
            known.append((above, below))
    return Parity(tuple(new), tuple(known), odd)


def _sequence(faces: Collection[int], folds: Iterable[Pair]) -> list[int]:
    """An order in which each face comes as soon as may be after faces that it is joined to."""
    beside: dict[int, set[int]] = {face: set() for face in faces}
    for a, b in folds:
        beside[a].add(b)
        beside[b].add(a)
    sequence = [min(faces, key=lambda f: (len(beside[f]), f))]
    waiting = set(faces) - set(sequence)
    while waiting:
        came = {f: i for i, f in enumerate(sequence)}

        def urgency(face: int, came: dict[int, int] = came) -> tuple[int, int, int]:
            joined = [came[g] for g in beside[face] if g in came]
            return len(joined), -min(joined, default=0), -face

        sequence.append(max(waiting, key=urgency))
        waiting.remove(sequence[-1])
    return sequence


def count_stacks(pile: Pile, most: int, in_time: Callable[[], None] = lambda: None) -> int | None:
    """The number of stacks of a pile, or None where it is above `most`. Exact.

    Raises `Wandering`, and what `in_time` raises, which is called on the way.

    >>> apart = Arrival((), ())
    >>> count_stacks(Pile((apart, apart, Arrival((), (Parity((0, 1), (), odd=False),))), (), turns=False), 100)
    4
    """
    most //= pile.turnings
    total = 0
    for _above, gaps in _nearly_stacks(pile, in_time):
        total += gaps.bit_count()
        if total > most:
            return None
    return total * pile.turnings


def assignments_of_pile(pile: Pile, most: int, in_time: Callable[[], None] = lambda: None) -> int | None:
    """How many different ways the folds go, mountain or valley, in all stacks of a pile; None if there are more than
    `most` stacks, each of which is met. Raises as `count_stacks` does.

    >>> free = Arrival((), ())
    >>> assignments_of_pile(Pile((free, free, free), ((0, 1), (1, 2)), turns=True), 100)
    4
    """
    ways = set()
    every = (1 << len(pile.folds)) - 1
    touching = [0] * len(pile.arrivals)
    for bit, (a, b) in enumerate(pile.folds):
        touching[a] ^= 1 << bit
        touching[b] ^= 1 << bit
    stacks = 0
    for above, gaps in _nearly_stacks(pile, in_time):
        stacks += gaps.bit_count() * pile.turnings
        if stacks > most:
            return None
        for gap in _bits(gaps):
            stack = _with(above, gap)
            way = sum(1 << bit for bit, (a, b) in enumerate(pile.folds) if stack[a] > stack[b])
            ways.add(way)
            if pile.turns:
                for face in sorted(range(len(stack)), key=stack.__getitem__):
                    way ^= touching[face]
                    ways |= {way, every ^ way}
    return len(ways)


def _nearly_stacks(pile: Pile, in_time: Callable[[], None]) -> Iterator[tuple[list[int], int]]:
    """Every stack of all faces but the last (the gap next above each, as a bit), and the gaps open for that one. Where
    it may be turned the first face stays at the bottom, the second below the third.
    """
    last = len(pile.arrivals) - 1
    barren = 0
    todo: list[list[int]] = [[]]
    while todo:
        above = todo.pop()
        face = len(above)
        gaps = _gaps(pile.arrivals[face], above) & ((2 << face) - 1)
        if pile.turns and face:
            gaps &= -above[1] if face == 2 else -above[0]
        if face == last:
            yield above, gaps
            barren = 0 if gaps else barren + 1
            continue
        if face < last - 2:
            in_time()
        barren += 1
        if barren > _BARREN:
            raise Wandering
        todo += [_with(above, gap) for gap in _bits(gaps)]


def _bits(gaps: int) -> Iterator[int]:
    while gaps:
        gap = gaps & -gaps
        gaps ^= gap
        yield gap


def _with(above: list[int], gap: int) -> list[int]:
    """The stack with one face more, in this gap."""
    stack = [bit << 1 if bit > gap else bit for bit in above]
    stack.append(gap << 1)
    return stack


def _gaps(arrival: Arrival, above: list[int]) -> int:
    """The gaps that the rules leave open, as bits (with more bits above the stack, all of them meaningless)."""
    gaps = -1
    for partner, a, b in arrival.beside:
        between = abs(above[a] - above[b])  # a bit for every gap from the lower face to the upper
        gaps &= between if above[partner] & between else ~between
    for rule in arrival.rules:
        open_gaps = -1 if not rule.odd else 0
        for face in rule.new:
            open_gaps ^= -above[face]
        for a, b in rule.known:
            if above[a] > above[b]:
                open_gaps ^= -1
        gaps &= open_gaps
    return gaps
