"""Help for a person who is stuck: where the first folds have led, how to go on; no more than is asked."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal, get_args

from verify.construct.recipes.deepening import least_folds
from verify.construct.recipes.stack import Spoilt, spoilt
from verify.construct.recipes.start import Start, start_after
from verify.exact.effort import ANY_WORK, EffortSpent, bounded
from verify.exact.plane import on_segment
from verify.folding.alignments import UnsupportedAlignment
from verify.folding.steps import carry_out
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.pattern.limits import Clock, LimitReached, Limits, Progress, silent
from verify.pattern.names import texts_of
from verify.pattern.recipe import Recipe
from verify.pattern.source import Malformed
from verify.pattern.subdivision import place_text
from verify.tasks.recipe import FOLDS, LAYERS, SECONDS, lacking
from verify.tasks.recipe_found import RecipeFound
from verify.tasks.recipe_search import Search, Wanted
from verify.words.findings import answer, finding
from verify.words.step_findings import refusal_words
from verify.words.step_words import marks_before, sentence

Tell = Literal["lines", "spoilt", "enough", "next", "all"]
TELL: tuple[Tell, ...] = get_args(Tell)


@dataclass(frozen=True)
class Hint:
    """What is said to someone who is stuck after the folds of `recipe`; only as much as `tell` asks for.

    `lines`: on how many the outline lies. `least`: at least so many folds remain. `spoilt`: two places that lie
    together and must be cut differently (so that folds of all layers alone can no longer do it). `found`: the search
    from here, if it was asked for; its folds are further ones.
    """

    recipe: Recipe
    tell: Tell
    lines: int
    least: int
    ready: bool
    spoilt: Spoilt | None
    side: str
    folds: int
    found: RecipeFound | None = None

    @property
    def verdict(self) -> str:
        """`certified` if the whole recipe was found, the kernel accepted it, and it is told; else `undecided`."""
        return self.found.verdict if self.found is not None and self.tell in ("next", "all") else "undecided"

    def words(self) -> list[str]:
        """The hint, a sentence a line."""
        said = [self._lines()]
        if self.ready:
            return said
        asked = TELL.index(self.tell)
        if asked >= 1:
            said.append(self._spoilt())
        if asked >= 2:
            said.append(self._enough())
        if asked >= 3 and self.found is not None and self.found.recipe is not None and self.found.result is not None:
            carried = self.found.result.carried
            first = len(self.recipe.steps) + 1
            last = first if self.tell == "next" else len(self.found.recipe.steps)
            if carried is not None:
                marks = marks_before(carried, first, last)
                said += [f"from step {number}: {name} is {where}" for number, name, where in marks]
                said += [f"step {number}: {sentence(carried, number)}" for number in range(first, last + 1)]
        return said

    def _lines(self) -> str:
        if self.ready:
            return "the outline lies on one line, and nothing else does: cut"
        if self.lines == 1:
            return "the outline lies on one line, but other paper lies on that line as well"
        half = (self.lines + 1) // 2
        least = _more_are(self.least)
        now = f"the outline lies on {self.lines} lines"
        return f"{now}; the next fold can leave {half} at best, so at least {least} needed"

    def _spoilt(self) -> str:
        if self.spoilt is None:
            return "all layers that lie together agree on where to cut"
        cut, blank = map(place_text, self.spoilt)
        return (
            f"{self.side} is to be cut at {cut}, and lies there on blank paper, at {blank}: "
            "no further fold of all layers can help; open a fold, or fold some layers"
        )

    def _enough(self) -> str:
        if self.found is None:
            return ""
        if self.found.recipe is not None:
            return f"{_more_are(self.found.folds)} enough"
        more = _more_are(self.folds)
        if self.folds < self.least:
            return f"{more} not enough"
        if self.found.shown == "none":
            return f"{more} not found to be enough: {self.found.reason}"
        return f"whether {more} enough is not known: {self.found.words()}"

    def keys(self) -> dict[str, Any]:
        """The hint as `--json` prints it."""
        keys = answer(self.verdict)
        if self.found is not None and self.found.result is not None and self.tell in ("next", "all"):
            keys = self.found.result.keys()
        keys |= {"document": self.recipe.source, "lines": self.lines, "least": self.least, "words": self.words()}
        if self.spoilt is not None:
            keys["spoilt"] = [list(texts_of(place)) for place in self.spoilt]
        return keys


def _more_are(folds: int) -> str:
    return "1 more fold is" if folds == 1 else f"{folds} more folds are"


def hint(
    document: Document,
    recipe: Recipe | None = None,
    *,
    tell: Tell = "lines",
    folds: int = FOLDS,
    layers: int = LAYERS,
    seconds: float | None = SECONDS,
    all_layers: bool = False,
    limits: Limits = Limits(),
    progress: Progress | None = None,
) -> Hint | RecipeFound:
    """What to say to someone who wants the target of `document` and has folded `recipe` so far (None: nothing yet).

    `tell`: on how many lines the outline lies; what spoils it; whether so many more `folds` are enough; the next fold;
    or all of it, each with what stands before it. A `RecipeFound` without a recipe if it cannot be said. Raises
    `Malformed`, also if the two are not of one sheet and one target.
    """
    if recipe is None:
        missing = lacking(document)
        if missing:
            return RecipeFound(document, "unsupported", reason=missing)
        whole = Recipe.on(replace(document, snips=1, raw=None))
    else:
        whole = _together(document, recipe, limits)
    try:
        folded = carry_out(whole, limits)
        if folded.refused is not None:
            reason = f"step {folded.refused.step} cannot be done: {refusal_words(folded, folded.refused)}"
            return RecipeFound(document, reason=reason)
        with bounded(ANY_WORK, seconds):
            start = start_after(folded, limits)
    except (LimitReached, EffortSpent) as limit:
        return RecipeFound(document, reason=str(limit))
    except UnsupportedAlignment:
        return RecipeFound(document, "unsupported", reason=finding("unsupported").message)
    told = _first_words(whole, start, tell, folds)
    if TELL.index(tell) < TELL.index("enough") or told.ready:
        return told
    wanted = Wanted(folds, layers, all_layers, seconds, limits, progress or silent)
    search = Search(start, wanted, Clock(seconds, "the search for a recipe"))  # of further folds
    return replace(told, found=search.run(square=True))


def _first_words(recipe: Recipe, start: Start, tell: Tell, folds: int) -> Hint:
    stack = start.stack
    lines = len(stack.ink)
    least = max(least_folds(lines), 0 if stack.ready else 1)
    wrong = spoilt(stack)
    side = ""
    if wrong is not None:
        places = start.places
        sides = ((a, b) for a, b in recipe.target_lines() if on_segment(wrong.cut, places[a], places[b]))
        side = "side {}–{}".format(*next(sides))
    return Hint(recipe, tell, lines, least, stack.ready, wrong, side, folds)


def _together(document: Document, recipe: Recipe, limits: Limits) -> Recipe:
    """The recipe with the document's target, for one straight cut anywhere."""
    base = recipe.base
    mine, its = draw(replace(document, creases=()), limits), draw(base, limits)
    if set(mine.loops[0]) != set(its.loops[0]):
        expected = f"the sheet of {document.source} (a recipe with a target may be the TARGET, too)"
        raise Malformed(recipe.source, "sheet.outline", "another sheet", expected)
    anywhere: dict[str, Any] = {"snips": 1, "along": None, "along_written": None, "raw": None, "is_toml": False}
    if base.has_target:
        ends = [{frozenset(pair) for pair in drawing.target} for drawing in (mine, its)]
        if ends[0] != ends[1]:
            raise Malformed(recipe.source, "target", "another target", f"the target of {document.source}, or none")
        return replace(recipe, **anywhere)
    if not document.has_target:
        raise Malformed(recipe.source, "target", "no line", "at least one loop or path (or no [target] at all)")
    named = {place: name for name, place in its.places.items()}
    new: dict[str, str] = {}
    for name in (*(name for line in document.target_lines() for name in line), *document.figure):
        other = name if name not in base.points else f"target-{name}"
        new[name] = named.get(mine.places[name], other)

    def renamed(lines: Iterable[Sequence[str]]) -> tuple[tuple[str, ...], ...]:
        return tuple(tuple(new[name] for name in line) for line in lines)

    points = {new[name]: document.points[name] for name in new if new[name] not in base.points}
    (figure,) = renamed([document.figure])
    target: dict[str, Any] = {"loops": renamed(document.loops), "paths": renamed(document.paths), "figure": figure}
    return replace(recipe, points={**base.points, **points}, **target, **anywhere)
