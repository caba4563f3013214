"""The shortest recipes of all-layers folds, by iterative deepening."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from verify.construct.recipes.lines import Mirror
from verify.construct.recipes.picture import Picture
from verify.construct.recipes.stack import Fold, Folds
from verify.exact.number import Number
from verify.exact.plane import Point
from verify.pattern.limits import Clock

# A place of the sheet that no fold line meets but by chance: its share of the way between corners of a face.
_SHARES = (Number.of(411) / 1000, Number.of(263) / 1000, Number.of(326) / 1000)
# families of folds, as `proofs/theory/searching.md` defines them
LAYING = "all-layers folds that lay line on line"
SQUARE = f"{LAYING} or run square to one"


@dataclass
class AllLayers:
    """All recipes of a length, shortest first, of the folds of a family (`LAYING`, or `SQUARE` if `square`).

    After `solutions` ended or was left, `exhausted` says up to which number of folds there is nothing that was not given.
    `seen` counts the pictures that were unfolded further. Complete within this family of folds: each candidate is ruled out only by
    a clash, by a fold along the outline, or since too few folds remain to lay all lines on one.
    """

    start: Picture
    clock: Clock
    square: bool = False
    exhausted: int = -1
    seen: int = 0
    _next: dict[object, list[tuple[Mirror, Picture]]] = field(default_factory=dict, repr=False)
    _barren: dict[object, int] = field(default_factory=dict, repr=False)

    def __post_init__(self) -> None:
        corners = self.start.faces[0].corners[:3]
        x, y = (sum((s * p[i] for s, p in zip(_SHARES, corners, strict=True)), Number.of(0)) for i in (0, 1))
        self._fixed = Point(x, y)

    def solutions(self, most: int) -> Iterator[Folds]:
        """Recipes of up to `most` folds, those of the least number first. Raises `LimitReached` by its clock."""
        for depth in range(self.start.least, most + 1):
            yield from self.of_length(depth)

    def of_length(self, depth: int) -> Iterator[Folds]:
        """The recipes of this many folds. Assumes that fewer were asked for before. Raises `LimitReached` by its clock."""
        self.exhausted = depth - 1
        yield from self._within(self.start, depth)
        self.exhausted = depth

    def _within(self, picture: Picture, left: int) -> Iterator[Folds]:
        """The recipes of exactly `left` folds."""
        if left == 0:
            if picture.ready:
                yield ()
            return
        if self._barren.get(picture.key, -1) >= left:
            return
        fruitful = False
        for fold, after in self.children(picture):
            if after.least < left:
                for rest in self._within(after, left - 1):
                    fruitful = True
                    yield (Fold(fold), *rest)
        if not fruitful:
            self._barren[picture.key] = left

    def children(self, picture: Picture) -> list[tuple[Mirror, Picture]]:
        """What each fold that is possible makes of a picture, with the fewest lines first. The side with a certain place of the sheet stays."""
        known = self._next.get(picture.key)
        if known is None:
            self.clock()
            self.seen += 1
            found: dict[object, tuple[Mirror, Picture]] = {}
            for fold in picture.promising(picture.candidates(self.square)):
                turned = fold.turned() if fold.height(self._fixed).sign() > 0 else fold
                after = picture.fold(turned)
                if isinstance(after, Picture):
                    found.setdefault(after.key, (turned, after))
            known = sorted(found.values(), key=lambda pair: len(pair[1].ink))
            self._next[picture.key] = known
        return known
