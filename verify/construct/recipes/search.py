"""The shortest recipes of all-layers folds."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from verify.construct.recipes.deepening import Child, Deepening
from verify.construct.recipes.picture import Picture
from verify.construct.recipes.stack import Fold
from verify.exact.number import Number
from verify.exact.plane import Point

# A place of the sheet that no fold line meets but by chance: its share of the way between corners of a face.
_SHARES = (Number.of(411) / 1000, Number.of(263) / 1000, Number.of(326) / 1000)
# families of folds, as `proofs/theory/searching.md` defines them
LAYING = "all-layers folds that lay line on line"
SQUARE = f"{LAYING} or run square to one"
QUARTERS = f"{SQUARE}, also at the quarters of its pieces"


@dataclass
class AllLayers(Deepening[Picture]):
    """All recipes of a length of the folds of `LAYING`, of `SQUARE` if `square`, or of `QUARTERS` if `quarters` too.

    A fold is left out only for a clash, or since it runs along the outline.
    """

    square: bool = False
    quarters: bool = False

    def __post_init__(self) -> None:
        corners = self.start.faces[0].corners[:3]
        x, y = (sum((s * p[i] for s, p in zip(_SHARES, corners, strict=True)), Number.of(0)) for i in (0, 1))
        self._fixed = Point(x, y)

    def folds(self, paper: Picture) -> Iterator[Child[Picture]]:
        """The side with a certain place of the sheet stays, so that different orders of the same folds come to the same
        picture.
        """
        for fold, lines in paper.promising(paper.candidates(self.square, self.quarters)):
            yield Child(Fold(fold.turned() if fold.height(self._fixed).sign() > 0 else fold), lines)

    def after(self, paper: Picture, fold: Fold) -> Picture | None:
        return paper.fold(fold.line)
