"""`recipe`: a certified recipe of simple folds for a target, as short as the search can show."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from time import monotonic
from typing import Any, Literal

from verify.construct.recipes.search import LAYING, SQUARE, AllLayers, Folds
from verify.construct.recipes.start import Start, no_all_layers_recipe, start_of
from verify.construct.recipes.written import layers_at_cut, smaller_side_moves, written
from verify.pattern.document import Document
from verify.pattern.limits import Clock, LimitReached, Limits
from verify.pattern.recipe import Recipe
from verify.tasks.certify import Result, certify

Progress = Callable[[str], None]
Shown = Literal["shortest", "found", "none", ""]
FOLDS, LAYERS, SECONDS = 8, 16, 20.0
# Recipes of one length of which the best is taken: so many, or those that come within so many seconds.
_ALIKE, _MORE = 24, 0.5


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
            return f"{folds}: no recipe of all-layers folds is shorter, since each at most halves the number of lines"
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
    square: bool = True,
    limits: Limits = Limits(),
    progress: Progress | None = None,
) -> RecipeFound:
    """The shortest certified recipe of simple folds after which one straight cut frees exactly the document's target.

    At most so many `folds`, and `layers` at the cut; the search ends after so many `seconds` (None: when it is done). Among recipes of the
    same length one with the fewest layers is taken, of the first few that come. `square`: also try folds square to a line of the outline, which
    takes longer. The document's creases are not looked at. Raises `Malformed`.
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
    return _Search(start, folds, layers, seconds, square, limits, progress).run()


class _Search:
    def __init__(
        self,
        start: Start,
        folds: int,
        layers: int,
        seconds: float | None,
        square: bool,
        limits: Limits,
        progress: Progress | None,
    ) -> None:
        self.start, self.folds, self.layers, self.square = start, folds, layers, square
        self.limits, self.progress = limits, progress
        self.clock = Clock(seconds, "the search for a recipe")
        self.thick = self.refused = 0
        self.stopped = ""

    def run(self) -> RecipeFound:
        start = self.start
        least = start.picture.least
        why = no_all_layers_recipe(start)
        if why:
            return RecipeFound(start.document, "undecided", "none", reason=why, least=least)
        narrow = AllLayers(start.picture, self.clock)
        found = self._shortest(narrow, self.folds)
        if found is not None and (found.folds == least or self.stopped or not self.square):
            return found
        if self.square and not self.stopped:
            wide = AllLayers(start.picture, self.clock, square=True)
            shorter = self._shortest(wide, self.folds if found is None else found.folds - 1)
            if shorter is not None:
                return shorter
            if found is not None:
                return replace(found, family=LAYING if self.stopped else SQUARE)
            if not self.stopped:
                narrow = wide
        reason = self.stopped or f"no recipe of up to {narrow.exhausted} {SQUARE if narrow.square else LAYING}"
        if self.thick:
            reason += f" with at most {self.layers} layers at the cut ({self.thick} with more)"
        shown: Shown = "" if self.stopped else "none"
        return RecipeFound(start.document, "undecided", shown, reason=reason, least=least, exhausted=narrow.exhausted)

    def _shortest(self, search: AllLayers, most: int) -> RecipeFound | None:
        """The certified recipe with the fewest folds, then (among the first ones) the fewest layers."""
        for depth in range(self.start.picture.least, most + 1):
            alike: list[Folds] = []
            late = 0.0
            try:
                for folds in search.of_length(depth):
                    alike.append(folds)
                    late = late or monotonic() + _MORE
                    if len(alike) == _ALIKE or monotonic() > late:
                        found = self._best(alike, search)
                        if found is not None:
                            return found
                        alike = []
            except LimitReached as limit:
                self.stopped = str(limit)
            found = self._best(alike, search)
            if found is not None or self.stopped:
                return found
        return None

    def _best(self, alike: list[Folds], search: AllLayers) -> RecipeFound | None:
        """The certified one with the fewest layers of recipes of one length."""
        start = self.start
        counted = sorted((layers_at_cut(start.picture, folds), number) for number, folds in enumerate(alike))
        for count, number in counted:
            if count > self.layers:
                self.thick += 1
                continue
            folds = smaller_side_moves(start.picture, alike[number])
            made = written(start, folds)
            result = certify(made, self.limits, self.progress)
            if result.verdict == "certified":
                return RecipeFound(
                    start.document,
                    "certified",
                    "shortest",
                    SQUARE if search.square else LAYING,
                    recipe=made,
                    result=result,
                    folds=len(folds),
                    least=start.picture.least,
                    exhausted=len(folds) - 1,
                )
            self.refused += 1
        return None


def _lacking(document: Document) -> str:
    """Why there is nothing to search for; an empty text if there is."""
    if not document.has_target:
        return "the document has no target to find a recipe for"
    if document.snips != 1:
        return f"the document allows {document.snips} snips; recipes are searched for one complete straight cut"
    return ""
