"""Iterative deepening over folded paper: all recipes of a length, for one length after the other."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Generic, Protocol, TypeVar

from verify.construct.recipes.stack import Fold, Folds
from verify.pattern.limits import Clock


class LaidPaper(Protocol):
    """Folded paper with the outline on it: equal `key`s are equal paper; `count` lines; `ready` to be cut."""

    @property
    def key(self) -> object: ...
    @property
    def count(self) -> int: ...
    @property
    def ready(self) -> bool: ...


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
        for child in self._children(paper):
            if least_folds(child.lines) >= left:
                break
            if not child.made:
                child.made.append(self.after(paper, child.fold))
            after = child.made[0]
            if after is None or after.key in tried or least_folds(after.count) >= left:
                continue
            tried.add(after.key)
            for rest in self._within(after, left - 1):
                fruitful = True
                yield (child.fold, *rest)
        if not fruitful:
            self._barren.add((paper.key, left))

    def _children(self, paper: P) -> list[Child[P]]:
        """The folds of some paper, those first that may leave the fewest lines."""
        known = self._next.get(paper.key)
        if known is None:
            self.clock()
            known = self._next[paper.key] = sorted(self.folds(paper), key=lambda child: child.lines)
        return known
