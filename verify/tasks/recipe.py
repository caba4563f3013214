"""`recipe`: a certified recipe of simple folds for a target, as short as the search can show."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from time import monotonic
from typing import Any, Literal

from verify.construct.recipes.layered import SOME, UPRIGHT, SomeLayers
from verify.construct.recipes.search import LAYING, SQUARE, AllLayers
from verify.construct.recipes.stack import Folds, stack_of
from verify.construct.recipes.start import Start, no_all_layers_recipe, start_of
from verify.construct.recipes.written import folded, layers_at_cut, smaller_side_moves, written
from verify.pattern.document import Document
from verify.pattern.limits import Clock, LimitReached, Limits
from verify.pattern.recipe import Recipe
from verify.tasks.certify import Result, certify

Progress = Callable[[str], None]
Shown = Literal["shortest", "found", "none", ""]
FOLDS, LAYERS, SECONDS = 8, 16, 20.0
# Recipes of one length of which the best is taken: so many, or those that come within so many seconds.
_ALIKE, _MORE = 24, 0.5
# How much of the time that is left goes into the wider family of all-layers folds, before folds of some layers.
_SHARE = 0.3
# How much of what is left after that goes into folds that bend the outline nowhere at a slant.
_HALF = 0.5


@dataclass(frozen=True)
class RecipeFound:
    """What a search for a recipe of the target of `document` came to.

    `verdict` is `certified` only if the kernel accepted a certificate for `recipe`; then `result` holds it. `shown`: `shortest`
    (no shorter recipe in the `family` of folds that was searched, all of them were tried), `found` (a limit came before shorter ones were ruled
    out), `none` (there is none of up to `exhausted` folds in the family; if `reason` quotes the theorem, none of any length by
    all layers), or empty (a limit came first). `least`: no all-layers recipe of any kind has fewer folds.
    """

    document: Document
    verdict: Literal["certified", "undecided", "unsupported"]
    shown: Shown
    family: str = LAYING
    reason: str = ""
    recipe: Recipe | None = None
    result: Result | None = None
    folds: int = 0
    least: int = 0
    exhausted: int = -1

    @property
    def layers(self) -> int:
        """How many layers the scissors meet at most."""
        return self.result.layers_met if self.result is not None else 0

    def words(self) -> str:
        """What was shown, in one sentence. No stronger than that."""
        folds = f"{self.folds} fold{'s' * (self.folds != 1)}"
        if self.shown == "shortest" and self.folds == self.least:
            return f"{folds}: no recipe of simple folds is shorter, since each at most halves the number of lines"
        if self.shown == "shortest":
            return f"{folds}: the shortest of {self.family} (all shorter ones were tried)"
        if self.shown == "found":
            return f"{folds}: found; up to {max(self.exhausted, 0)} folds there is none of {self.family}"
        if self.shown == "none":
            return f"none: {self.reason}"
        return self.reason

    def keys(self) -> dict[str, Any]:
        """The answer as `--json` prints it."""
        keys: dict[str, Any] = {"verdict": self.verdict, "statement_sha256": None, "claims": [], "findings": []}
        if self.result is not None:
            keys = self.result.keys()
        return keys | {
            "document": self.document.source,
            "shown": self.shown,
            "words": self.words(),
            "family": self.family,
            "folds": self.folds if self.recipe is not None else None,
            "layers": self.layers if self.recipe is not None else None,
            "least": self.least,
            "exhausted": self.exhausted,
            "reason": self.reason,
        }


def recipe(
    document: Document,
    *,
    folds: int = FOLDS,
    layers: int = LAYERS,
    seconds: float | None = SECONDS,
    all_layers: bool = False,
    square: bool = True,
    limits: Limits = Limits(),
    progress: Progress | None = None,
) -> RecipeFound:
    """The shortest certified recipe of simple folds after which one straight cut frees exactly the document's target.

    At most so many `folds`, and `layers` at the cut; the search ends after so many `seconds` (None: when it is done). Among recipes of the
    same length one with the fewest layers is taken, of the first few that come. Folds of some layers are tried if there is nothing by all
    layers, unless `all_layers`; `square`: so are, before them, all-layers folds square to a line of the outline. The document's creases
    are not looked at. Raises `Malformed`.
    """
    lacking = _lacking(document)
    if lacking:
        return RecipeFound(document, "unsupported", "", reason=lacking)
    try:
        start = start_of(document, limits)
    except LimitReached as limit:
        return RecipeFound(document, "unsupported", "", reason=f"{limit}: its lines need too large a number field")
    if not start.picture.ink:
        return RecipeFound(document, "undecided", "none", reason="the whole target lies along the sheet's own edge")
    if start.picture.ready:
        return RecipeFound(document, "undecided", "none", reason="the target lies on one line: cut, without any fold")
    clock = Clock(seconds, "the search for a recipe")
    return _Search(start, folds, layers, clock, limits, progress).run(all_layers, square)


class _Search:
    """One search: all layers first; then, unless only these are wanted, some."""

    def __init__(
        self, start: Start, folds: int, layers: int, clock: Clock, limits: Limits, progress: Progress | None
    ) -> None:
        self.start, self.folds, self.layers = start, folds, layers
        self.clock, self.limits, self.progress = clock, limits, progress
        self.least = start.picture.least
        self.thick = 0
        self.tried: list[str] = []
        self.exhausted = -1

    def run(self, all_layers: bool, square: bool) -> RecipeFound:
        why = no_all_layers_recipe(self.start)
        if why:
            self.tried.append(why)
        else:
            found = self._by_all_layers(square and all_layers, square)
            if found is not None:
                return found
        if not all_layers:
            stack = stack_of(self.start.picture.faces, self.start.picture.ink)
            for slant in (False, True):
                share = None if self.clock.left is None else self.clock.left * (1 if slant else _HALF)
                search = SomeLayers(stack, Clock(share, "this part of the search"), slant)
                found = self._shortest(search, SOME if slant else UPRIGHT, self.folds)
                if found is not None:
                    return found
        reason = "; ".join(self.tried)
        if self.thick:
            reason += f" ({self.thick} found that have more than {self.layers} layers at the cut)"
        shown: Shown = "" if self.clock.left == 0 else "none"
        return RecipeFound(
            self.start.document, "undecided", shown, reason=reason, least=self.least, exhausted=self.exhausted
        )

    def _by_all_layers(self, to_the_end: bool, square: bool) -> RecipeFound | None:
        """The shortest by all layers. `to_the_end`: the wider family has all the time that is left, if the first one has no recipe."""
        found = self._shortest(AllLayers(self.start.picture, self.clock), LAYING, self.folds)
        if self.clock.left == 0 or not square or (found is not None and found.folds == self.least):
            return found
        share = self.clock.left if to_the_end or self.clock.left is None else self.clock.left * _SHARE
        wide = AllLayers(self.start.picture, Clock(share, "this part of the search"), square=True)
        most = self.folds if found is None else found.folds - 1
        shorter = self._shortest(wide, SQUARE, most)
        if shorter is not None or found is None:
            return shorter
        return replace(found, family=SQUARE if wide.exhausted >= most else LAYING)

    def _shortest(self, search: AllLayers | SomeLayers, family: str, most: int) -> RecipeFound | None:
        """The certified recipe with the fewest folds, then (among the first ones) the fewest layers."""
        stopped = ""
        search.exhausted = self.least - 1
        for depth in range(self.least, most + 1):
            found = None
            late = 0.0
            alike: list[Folds] = []
            try:
                for folds in search.of_length(depth):
                    alike.append(folds)
                    late = late or monotonic() + _MORE
                    if len(alike) == _ALIKE or monotonic() > late:
                        found = self._best(alike, family)
                        if found is not None:
                            return found
                        alike = []
            except LimitReached as limit:
                stopped = f"; {limit}"
            found = self._best(alike, family)
            if found is not None:
                return found
            if stopped:
                break
        self.exhausted = search.exhausted
        self.tried.append(f"no recipe of up to {max(search.exhausted, 0)} {family}{stopped}")
        return None

    def _best(self, alike: list[Folds], family: str) -> RecipeFound | None:
        """The certified one with the fewest layers of recipes of one length."""
        start = self.start
        counted = sorted((layers_at_cut(folded(start, folds)), number) for number, folds in enumerate(alike))
        for count, number in counted:
            if count > self.layers:
                self.thick += 1
                continue
            folds = smaller_side_moves(start, alike[number])
            try:
                made = written(start, folds)
            except LookupError:
                continue
            result = certify(made, self.limits, self.progress)
            if result.verdict == "certified":
                return RecipeFound(
                    start.document,
                    "certified",
                    "shortest",
                    family,
                    recipe=made,
                    result=result,
                    folds=len(folds),
                    least=self.least,
                    exhausted=len(folds) - 1,
                )
        return None


def _lacking(document: Document) -> str:
    """Why there is nothing to search for; an empty text if there is."""
    if not document.has_target:
        return "the document has no target to find a recipe for"
    if document.snips != 1:
        return f"the document allows {document.snips} snips; recipes are searched for one complete straight cut"
    return ""
