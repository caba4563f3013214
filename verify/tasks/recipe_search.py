"""The search for a certified recipe of one figure, from the paper as it lies."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, replace
from itertools import chain, islice
from math import inf
from time import monotonic
from typing import Literal

from verify.construct.recipes.layered import SOME, SomeLayers
from verify.construct.recipes.peeled import Peeled, cannot_be_peeled, peeled
from verify.construct.recipes.picture import LAYING, QUARTERS, SQUARE, AllLayers
from verify.construct.recipes.ruled_out import no_all_layers_recipe, no_recipe
from verify.construct.recipes.stack import Folds, spoilt
from verify.construct.recipes.start import Start
from verify.construct.recipes.written import drawing_outside, folded, layers_at_cut, smaller_side_moves, written
from verify.exact.effort import ANY_WORK, EffortSpent, bounded
from verify.pattern.limits import Clock, LimitReached, Limits, Progress
from verify.pattern.recipe import Recipe
from verify.tasks.certify import certify
from verify.tasks.preferred import by_hands, forgiving
from verify.tasks.recipe_found import HALVES, RecipeFound
from verify.words.findings import counted

Prefer = Literal["layers", "accuracy", "hands", "shortest", "gap", "panel", "fold"]
_SPOILT = "places that lie together must be cut differently, so no further folds of all layers alone can do it"
# Recipes of one length of which the best is taken: so many, or those that come within so many seconds.
_ALIKE, _MORE = 24, 0.5
# So many of them are compared by what hands meet, if that is wanted.
_WEIGHED = 5
# How much of the time goes into folds of some layers, if all-layers folds square to a line are tried after them.
_SOME = 0.7
# How much of the time is kept for narrow searches, and at most how many seconds; they look for recipes of so many folds
# even if fewer are wanted.
_NARROW, _NARROW_MOST, _FAR = 0.3, 6.0, 12
# How much of the time the theorems that forbid recipes may take.
_THEOREMS = 0.5
# So many seconds go into longer recipes, where all of at most the folds that are wanted were tried.
_GLANCE = 1.0


@dataclass(frozen=True)
class Wanted:
    """What is asked of a search, whatever the figure: see `recipe`."""

    folds: int
    layers: int
    all_layers: bool
    seconds: float | None
    limits: Limits
    progress: Progress
    prefer: Prefer = "layers"


class Search:
    """One search: all layers first, then, if wanted, some."""

    def __init__(self, start: Start, wanted: Wanted, clock: Clock) -> None:
        self.start, self.wanted, self.whole = start, wanted, clock
        left = clock.left
        kept = min(_NARROW, _NARROW_MOST / left) if left else 0.0
        self.clock = part(clock, 1 - kept)
        self.least = start.picture.least
        self.unwritten = self.longer = 0
        self.thick: list[int] = []  # the layers of recipes that cut through too many
        self.cut_short = False  # some family was not tried to its end
        self.tried: list[str] = []
        self.ruled_out: list[str] = []
        self.best: RecipeFound | None = None

    def run(self, square: bool) -> RecipeFound:
        start, why, told = self.start, "", Peeled(None)
        try:
            with bounded(ANY_WORK, part(self.whole, _THEOREMS).left):
                never = no_recipe(start)
                if never:
                    document = start.document
                    return RecipeFound(document, shown="none", reason=never, least=self.least, forbidden=True)
                why = no_all_layers_recipe(start)
                told = peeled(start) if not why else Peeled(None)
                if told.frees is False:
                    why = cannot_be_peeled(start, told.left)
                if start.recipe is not None and spoilt(start.stack) is not None:
                    why = _SPOILT
        except EffortSpent:
            pass  # what they do not forbid in time may have a recipe, or none: the search goes on
        if why:
            self.tried.append(why)
        else:
            self._improve(AllLayers(start.picture, self.clock), LAYING)
        square = square and not why
        if not self.wanted.all_layers:
            self._improve(SomeLayers(start.stack, part(self.clock, _SOME if square else 1)), SOME)
        if square:
            self._improve(AllLayers(start.picture, self.clock, square=True), SQUARE)
        if told.frees and self.best is None:
            self._improve(AllLayers(start.picture, self.clock, square=True, quarters=True), QUARTERS)
        if self.best is None or (self.cut_short and self.best.folds > self.least):
            most = (_NARROW_MOST if self.cut_short else _GLANCE) / 2
            if not self.wanted.all_layers:
                self._narrowly(SomeLayers(start.stack, part(self.whole, 1 / 2, most)))
            if square:
                self._narrowly(AllLayers(start.picture, part(self.whole, 1, most), square=True))
        if self.best is not None:
            return replace(self.best, families=tuple(self.ruled_out))
        too_thick = len(self.thick), min(self.thick, default=0)
        found = self._none(why)
        return replace(found, exists=bool(told.frees), too_thick=too_thick, longer=self.longer, least=self.least)

    def _none(self, why: str) -> RecipeFound:
        """That no recipe was found; `why` none of all-layers folds can be, if so."""
        document = self.start.document
        if self.cut_short:
            is_over = self.clock.left == 0
            reason = (
                f"the limit seconds = {self.wanted.seconds:g} was reached" if is_over else "not all was tried in time"
            )
        else:
            forbidden = bool(why) and self.wanted.all_layers
            tried = self.tried or [f"it takes at least {counted(self.least, 'fold')}, {HALVES}"]
            return RecipeFound(document, shown="none", reason="; ".join(tried), forbidden=forbidden)
        return RecipeFound(document, reason=reason, tried=tuple(self.tried))

    def _improve(self, search: AllLayers | SomeLayers, family: str) -> None:
        """Take the shortest recipe of a family, if it is shorter than the best so far."""
        most = self.wanted.folds if self.best is None else self.best.folds - 1
        if most < self.least:
            return
        if self.clock.left == 0:
            self.cut_short = True
            return
        found = self._shortest(search, family, most)
        if found is not None:
            self.ruled_out = [family]
            self.best = found
        elif search.exhausted >= most:
            self.ruled_out = [f for f in self.ruled_out if f not in family] + [family]

    def _shortest(self, search: AllLayers | SomeLayers, family: str, most: int) -> RecipeFound | None:
        """The certified recipe with the fewest folds, then (among the first ones) the fewest layers."""
        stopped = ""
        search.exhausted = self.least - 1
        for depth in range(self.least, most + 1):
            late = 0.0
            alike: list[Folds] = []
            try:
                for folds in _in_time(search.of_length(depth), search.clock):
                    alike.append(folds)
                    late = late or monotonic() + _MORE
                    if len(alike) == _ALIKE or monotonic() > late:
                        found = self._best(alike)
                        if found is not None:
                            return found
                        alike = []
            except (LimitReached, EffortSpent):
                stopped = ", then the time was up"
                self.cut_short = True
            found = self._best(alike)
            if found is not None:
                return found
            if stopped:
                break
        self.tried.append(f"up to {max(search.exhausted, 0)} {family} are ruled out{stopped}")
        return None

    def _narrowly(self, search: AllLayers | SomeLayers) -> None:
        """Take a recipe that a narrow search of a family finds, if it is shorter than the best so far."""
        most = max(self.wanted.folds, _FAR) if self.best is None else self.best.folds - 1
        alike: list[Folds] = []
        with suppress(LimitReached, EffortSpent), bounded(ANY_WORK, search.clock.left):
            alike = search.narrow(most)
        if alike and len(alike[0]) > self.wanted.folds:
            self.longer = min(len(alike[0]), self.longer or most)
            return
        found = self._best(alike)
        if found is not None:
            self.ruled_out = []
            self.best = replace(found, shown="found")

    def _best(self, alike: list[Folds]) -> RecipeFound | None:
        """The best that is certified, of recipes of one length: with the fewest layers, or what is preferred."""
        by_layers = sorted((layers_at_cut(folded(self.start, folds)), number) for number, folds in enumerate(alike))
        thin = [alike[number] for count, number in by_layers if count <= self.wanted.layers]
        found = self._certified(self._ranked(thin), len(alike[0]) if alike else 0)
        match self.wanted.prefer:
            case "layers" | "accuracy":
                best = next(found, None)
            case by:
                best = min(islice(found, _WEIGHED), key=lambda one: by_hands(one.hands, by), default=None)
        if best is None:
            self.thick += [count for count, _ in by_layers if count > self.wanted.layers]
        return best

    def _certified(self, every: Iterator[Recipe], folds: int) -> Iterator[RecipeFound]:
        for made in every:
            result = certify(made, self.wanted.limits, self.wanted.progress)
            if result.verdict == "certified":
                yield RecipeFound(
                    self.start.document,
                    "certified",
                    "found" if self.unwritten else "shortest",
                    recipe=made,
                    result=result,
                    folds=folds,
                    least=self.least,
                    thick=self.wanted.layers if self.thick else 0,
                )
            elif result.verdict != "refuted":
                self.unwritten += 1  # it may be a recipe: no longer one is then called the shortest

    def _ranked(self, thin: list[Folds]) -> Iterator[Recipe]:
        """Recipes of folds that come with the fewest layers first; if accuracy is preferred, the first few by that."""
        first = _WEIGHED if self.wanted.prefer == "accuracy" else 0
        yield from sorted(chain(*map(self._writings, thin[:first])), key=forgiving, reverse=True)
        for folds in thin[first:]:
            ways = self._writings(folds)
            yield from [max(ways, key=forgiving)] if len(ways) > 1 else ways

    def _writings(self, folds: Folds) -> list[Recipe]:
        """Folds written down with the printed outline outside, where it can be seen, and as they are, if not so."""
        folds = smaller_side_moves(self.start, folds)
        outside = drawing_outside(self.start, folds)
        ways = [(outside, False)]
        if outside[0] != folds[0] and outside[1:] == folds[1:]:  # only the first fold goes the other way
            ways.append((folds, True))
        found: list[Recipe] = []
        for way, behind in ways:
            with suppress(LookupError):
                found.append(written(self.start, way, behind=behind))
        self.unwritten += not found
        return found


def part(clock: Clock, share: float, most: float = inf) -> Clock:
    """A clock for a part of the time that is left, no longer than `most` seconds."""
    left = clock.left
    return clock if left is None else Clock(min(left * share, most), "this part of the search")


def _in_time(every: Iterator[Folds], clock: Clock) -> Iterator[Folds]:
    """What a search finds, its arithmetic bounded by its clock, not what is done with it. Raises `EffortSpent`."""
    while True:
        with bounded(ANY_WORK, clock.left):
            folds = next(every, None)
        if folds is None:
            return
        yield folds
