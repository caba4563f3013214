"""Iterative deepening over folded paper: all recipes of one length, then of the next.

And a narrow search: of each number of folds only the papers that look best are folded on. It comes to recipes of more
folds than are reached by trying all, and rules nothing out.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Generic, Protocol, TypeVar

from verify.construct.recipes.lines import Ink
from verify.construct.recipes.stack import Fold, Folds
from verify.pattern.limits import Clock


class LaidPaper(Protocol):
    """Folded paper with the outline on it: equal `key`s are equal paper; `ready` to be cut."""

    @property
    def ink(self) -> Ink: ...
    @property
    def key(self) -> object: ...
    @property
    def ready(self) -> bool: ...


# A narrow search folds on so many papers of each number of folds, by so many folds each: first few, then more.
_WIDTHS = 6, 12

P = TypeVar("P", bound=LaidPaper)


def least_folds(lines: int) -> int:
    """At least so many simple folds lay so many lines on one: each at most halves their number."""
    return (lines - 1).bit_length()


@dataclass
class Child(Generic[P]):
    """A fold of some paper; at least `lines` lines are left after it."""

    fold: Fold
    lines: int
    made: list[P | None] = field(default_factory=list)


@dataclass
class Deepening(ABC, Generic[P]):
    """All recipes of a length of a subclass's family of folds; all of up to `exhausted` folds were given. Left out is
    what it says, and what leaves too many lines for the folds that remain.
    """

    start: P
    clock: Clock
    exhausted: int = field(default=-1, init=False)
    _next: dict[object, list[Child[P]]] = field(default_factory=dict, init=False, repr=False)
    _barren: set[tuple[object, int]] = field(default_factory=set, init=False, repr=False)

    @abstractmethod
    def folds(self, paper: P) -> Iterable[Child[P]]:
        """The folds of the family."""

    @abstractmethod
    def after(self, paper: P, fold: Fold) -> P | None:
        """The paper after a fold; None if it is none of the family after all."""

    def of_length(self, depth: int) -> Iterator[Folds]:
        """The recipes of this many folds, after all of fewer were asked for. Raises `LimitReached` by its clock."""
        self.exhausted = depth - 1
        yield from self._within(self.start, depth)
        self.exhausted = depth

    def _within(self, paper: P, left: int) -> Iterator[Folds]:
        if left == 0:
            if paper.ready:
                yield ()
            return
        if (paper.key, left) in self._barren:
            return
        fruitful = False
        tried = set()
        for child in self.children(paper):
            if least_folds(child.lines) >= left:
                break
            after = self.folded(paper, child)
            if after is None or after.key in tried or least_folds(len(after.ink)) >= left:
                continue
            tried.add(after.key)
            for rest in self._within(after, left - 1):
                fruitful = True
                yield (child.fold, *rest)
        if not fruitful:
            self._barren.add((paper.key, left))

    def narrow(self, most: int) -> list[Folds]:
        """Some recipes of equal length, of at most `most` folds. Raises `LimitReached` by its clock.

        Each of their folds leaves the outline on fewer lines, or on as many and shorter.
        """
        return next(filter(None, (self._narrow(most, width) for width in _WIDTHS)), [])

    def _narrow(self, most: int, width: int) -> list[Folds]:
        row: list[tuple[P, Folds]] = [(self.start, ())]
        for left in reversed(range(most)):
            found: dict[object, tuple[P, Folds]] = {}
            for paper, folds in row:
                made = 0
                for child in self.children(paper):
                    if made == width or child.lines > len(paper.ink) or least_folds(child.lines) > left:
                        break
                    after = self.folded(paper, child)
                    if after is not None and _looks(after) < _looks(paper):
                        made += 1
                        found.setdefault(after.key, (after, (*folds, child.fold)))
            ready = [folds for paper, folds in found.values() if paper.ready]
            if ready:
                return ready
            row = sorted(found.values(), key=lambda one: _looks(one[0]))[:width]
        return []

    def folded(self, paper: P, child: Child[P]) -> P | None:
        """The paper after one of its folds; None if that is none of the family after all."""
        if not child.made:
            child.made.append(self.after(paper, child.fold))
        return child.made[0]

    def children(self, paper: P) -> list[Child[P]]:
        """The folds of some paper, those first that may leave the fewest lines."""
        known = self._next.get(paper.key)
        if known is None:
            self.clock()
            known = self._next[paper.key] = sorted(self.folds(paper), key=lambda child: child.lines)
        return known


def _looks(paper: LaidPaper) -> tuple[int, float]:
    """The lower, the better: how many lines carry the outline, and how much of them."""
    length = sum(float(high - low) for stretches in paper.ink.values() for low, high in stretches)
    return len(paper.ink), round(length, 6)
