"""`recipe`: a certified recipe of simple folds for a target, as short as the search can show."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import partial
from itertools import chain, islice
from math import inf
from pathlib import Path
from time import monotonic
from typing import Any, Literal

from verify.construct.recipes.layered import SOME, SomeLayers
from verify.construct.recipes.near import Variant, made_regular
from verify.construct.recipes.near import near as near_variants
from verify.construct.recipes.peeled import Peeled, cannot_be_peeled, peeled
from verify.construct.recipes.picture import LAYING, QUARTERS, SQUARE, AllLayers
from verify.construct.recipes.ruled_out import mirror_lines, no_all_layers_recipe, no_recipe
from verify.construct.recipes.stack import Folds, spoilt
from verify.construct.recipes.start import Start, start_of
from verify.construct.recipes.written import drawing_outside, folded, layers_at_cut, smaller_side_moves, written
from verify.exact.effort import ANY_WORK, EffortSpent, bounded
from verify.pattern.document import Document
from verify.pattern.limits import Clock, LimitReached, Limits, Progress
from verify.pattern.recipe import Recipe, load_any
from verify.pattern.source import Malformed
from verify.tasks.certify import Result, certify
from verify.tasks.preferred import ByHands, by_hands, forgiving
from verify.words.findings import answer, counted

Shown = Literal["shortest", "found", "none", ""]
Prefer = Literal["layers", "accuracy", "hands", "shortest", "gap", "panel", "fold"]
FOLDS, LAYERS, SECONDS = 8, 16, 20
_TOO_MANY = "`creaseproof construct` moves lines a little, to directions with simpler numbers"
_SPOILT = "places that lie together must be cut differently, so no further folds of all layers alone can do it"
# Recipes of one length of which the best is taken: so many, or those that come within so many seconds.
_ALIKE, _MORE = 24, 0.5
# So many of them are compared by what hands meet, if that is wanted.
_WEIGHED = 5
# How much of the time goes into folds of some layers, if all-layers folds square to a line are tried after them; and
# into the drawing as it is, if figures near it are tried after it.
_SOME, _AS_IT_IS = 0.7, 0.3
# How much of the time is kept for narrow searches, and at most how many seconds; they look for recipes of so many folds
# even if fewer are wanted.
_NARROW, _NARROW_MOST, _FAR = 0.3, 6.0, 12
# How much of the time the theorems that forbid recipes may take.
_THEOREMS = 0.4
# So many seconds go into a figure near a drawing, if its numbers lie in a field of at most this degree; and into longer
# recipes, where all of at most the folds that are wanted were tried.
_GLANCE, _DEGREE = 1.0, 4
# The figure made regular, in so many ways, for so much of the time that is left, and at most for so many seconds.
_WAYS, _REGULAR, _REGULAR_MOST = 3, 0.25, 10.0
_LOOK = 4.0  # seconds: for finding these
_HALVES = "since each at most halves the number of lines"


@dataclass(frozen=True)
class RecipeFound:
    """What a search for a recipe of the target of `document` came to.

    `verdict` is `certified` only if the kernel accepted a certificate for `recipe`; then `result` holds it. `shown`:
    `shortest` (there is no shorter recipe in the `families` of folds, all were tried; if `thick`, of those with at most
    so many layers at the cut), `found` (a shorter one could not be written down, or not be decided), `none` (`reason`
    says in which families up to how many folds; or which theorem forbids recipes of any length), or empty (a limit came
    first; `tried` says what was ruled out by then). `least`: no recipe of simple folds of any kind has fewer folds.
    `forbidden`: there is none of any length, by a theorem (of all layers, if only these were asked for). `exists`: a
    theorem says that folds of all layers free it. `too_thick`: how many recipes cut through more layers than were
    allowed, and the fewest layers of these. `longer`: so many folds, more than were allowed, seem to do it.
    `moved`: what was moved, if `recipe` is for a figure near the document's; `unmoved`: the folds of the recipe that
    was found of the document's own, 0 if none was. `near_it`: how many figures near it were tried in vain.
    """

    document: Document
    verdict: Literal["certified", "undecided", "unsupported"] = "undecided"
    shown: Shown = ""
    families: tuple[str, ...] = ()
    reason: str = ""
    tried: tuple[str, ...] = ()
    recipe: Recipe | None = None
    result: Result | None = None
    folds: int = 0
    least: int = 0
    thick: int = 0
    moved: Variant | None = None
    unmoved: int = 0
    forbidden: bool = False
    exists: bool = False
    too_thick: tuple[int, int] = (0, 0)
    longer: int = 0
    near_it: int = 0

    @property
    def layers(self) -> int:
        """How many layers the scissors meet at most."""
        return self.result.layers_met if self.result is not None else 0

    @property
    def is_hard(self) -> bool:
        """Whether hands are warned of what was found."""
        return self.result is not None and any(
            f.check == "hands" and f.level == "warning" for f in self.result.findings
        )

    def words(self) -> str:
        """What was shown, in one sentence. No stronger than that."""
        folds = counted(self.folds, "fold")
        if self.shown == "shortest" and self.folds == self.least:
            return f"{folds}: no recipe of simple folds is shorter, {_HALVES}"
        if self.shown == "shortest":
            thick = f" with at most {self.thick} layers at the cut" if self.thick else ""
            return f"{folds}: there is no shorter recipe{thick} of {', nor of '.join(self.families)}: all were tried"
        if self.shown == "found":
            return f"{folds}; that there is a shorter recipe is not ruled out"
        return "; ".join([self.none(), *self.further(), *self.tried])

    def none(self) -> str:
        """That no recipe was found, or that there is none."""
        if self.verdict == "unsupported":
            return self.reason
        return f"{'none' if self.shown == 'none' else 'no recipe was found'}: {self.reason}"

    def further(self) -> list[str]:
        """What else is known where no recipe was found."""
        said = []
        if self.exists:
            said.append("all-layers folds do free it, but more, or others that take blank paper away")
        if self.too_thick[0]:
            found, layers = self.too_thick
            were = "recipe was" if found == 1 else "recipes were"
            said.append(f"{found:,} {were} found for more layers at the cut than allowed, the fewest {layers}")
        if self.longer:
            said.append(f"{counted(self.longer, 'fold')}, more than allowed, seem to free it: no certificate was tried")
        if self.near_it:
            said.insert(0, f"nor was one found in time for any of {counted(self.near_it, 'figure')} near it")
        return said

    def why_moved(self) -> str:
        """Why a figure near the drawing was taken; an empty text if none was."""
        if self.moved is None:
            return ""
        if self.unmoved:
            return f"for the drawing as it is {counted(self.unmoved, 'fold')} were found"
        return "for the drawing as it is no recipe was found"

    def moves(self) -> list[str]:
        """What of the drawing was moved, and by how much; nothing if the recipe is of the drawing as it is."""
        return self.moved.words() if self.moved is not None else []

    def keys(self) -> dict[str, Any]:
        """The answer as `--json` prints it."""
        keys = answer(self.verdict)
        if self.result is not None:
            keys = self.result.keys()
        return keys | {
            "document": self.document.source,
            "shown": self.shown,
            "words": self.words(),
            "families": list(self.families),
            "folds": self.folds if self.recipe is not None else None,
            "layers": self.layers if self.recipe is not None else None,
            "least": self.least,
            "reason": self.reason,
            "tried": list(self.tried),
            "too_thick": dict(zip(("recipes", "layers"), self.too_thick, strict=True)),
            "longer": self.longer or None,
            "near_it": self.near_it,
            "none_by": ("theorem" if self.forbidden else "search") if self.shown == "none" and self.least else None,
            "moved": self.moves(),
            "why_moved": self.why_moved(),
        }


def recipe(
    document: Document | str | Path,
    *,
    folds: int = FOLDS,
    layers: int = LAYERS,
    seconds: float | None = SECONDS,
    all_layers: bool = False,
    square: bool = True,
    near: bool = False,
    prefer: Prefer = "layers",
    limits: Limits = Limits(),
    progress: Progress | None = None,
) -> RecipeFound:
    """The shortest certified recipe of simple folds after which one straight cut frees exactly the target of a document
    (or the file of one).

    At most `folds` folds, and `layers` layers at the cut; the search ends after `seconds` seconds (None: when all is
    tried). Among recipes of the same length one with the fewest layers is taken, of the first few that come, by all
    layers if that is no longer. If accuracy is preferred it is, of the five with the fewest layers, the one whose folds
    need be least true (an estimate); of those that are as good, the one with the fewest layers. What hands meet may be
    preferred in the same way: fewest warnings (`hands`), the longest shortest fold, the widest gap between creases, the
    largest smallest panel, the fold of fewest layers. Unless `all_layers`, folds of some layers are tried as well; with
    `square` so are all-layers folds square to a line of the outline. `near`: figures near this one are tried as well,
    first this one made regular, then others, for a short time each, the nearest first, and one is taken that has a
    recipe where none was found of this one, or one of more folds; then `moved` says what was moved. The document's
    creases are not looked at. The kernel proves the recipe; that there is no shorter one rests on the search or on a
    theorem, as `shown` says. Raises `Malformed`.
    """
    document = load_any(document).as_pattern()
    missing = lacking(document)
    if missing:
        return RecipeFound(document, "unsupported", reason=missing)
    wanted = Wanted(folds, layers, all_layers, limits, progress, prefer)
    clock = Clock(seconds if seconds is None or not near else seconds * _AS_IT_IS, "the search for a recipe")
    found = _as_drawn(document, wanted, clock, seconds, square)
    if not near or (found.shown == "none" and not found.least):  # then there is nothing to fold
        return found
    clock = Clock(None if seconds is None else seconds * (1 - _AS_IT_IS), "the search near the drawing")
    return _near(found, wanted, clock)


def _as_drawn(document: Document, wanted: Wanted, clock: Clock, seconds: float | None, square: bool) -> RecipeFound:
    """What was found of the drawing as it is; `seconds` as it was allowed to take in all."""
    try:
        with bounded(ANY_WORK, clock.left):
            start = start_of(document, wanted.limits)
    except LimitReached as limit:
        return RecipeFound(document, "unsupported", reason=f"{limit}; {_TOO_MANY}")
    except EffortSpent as spent:
        reason = f"the limit {spent.limit} = {seconds:g} was reached before the search began"
        return RecipeFound(document, reason=f"{reason}: the directions of its lines take so long to compute")
    if not start.picture.ink:
        return RecipeFound(document, shown="none", reason="the whole figure lies along the sheet's own edge")
    if start.picture.ready:
        return RecipeFound(document, shown="none", reason="the figure lies on one line: cut, without any fold")
    return _Search(start, wanted, clock, seconds).run(square)


def _near(found: RecipeFound, wanted: Wanted, clock: Clock) -> RecipeFound:
    """The first figure near a drawing with a recipe of fewer folds; what was found of the drawing itself if none."""
    most = wanted.folds if found.recipe is None else found.folds - 1
    glancing = replace(wanted, folds=most, progress=None, prefer="layers")
    tried = 0
    for variant in chain(regular_near(found.document, wanted.limits, clock.left), near_variants(found.document)):
        left = clock.left
        if left == 0:
            break
        tried += 1
        degree, seconds = _DEGREE, _GLANCE
        if variant.regular:
            degree = wanted.limits.degree
            seconds = _REGULAR_MOST if left is None else min(_REGULAR * left, _REGULAR_MOST)
        if wanted.progress is not None:
            wanted.progress(f"{counted(tried, 'figure')} near the drawing tried")
        try:
            with bounded(ANY_WORK, left):
                start = start_of(variant.document, replace(wanted.limits, degree=degree))
        except (LimitReached, EffortSpent, Malformed):
            continue
        other = _Search(start, glancing, Clock(seconds, "the search of one figure")).run(square=False)
        if other.recipe is not None:
            return replace(other, document=found.document, moved=variant, unmoved=found.folds)
    return found if found.recipe is not None else replace(found, near_it=tried)


def hopeful(
    document: Document, limits: Limits = Limits(), seconds: float | None = _LOOK, fewer_than: int | None = None
) -> bool:
    """Whether a piece of the target has a line of symmetry and may need so few folds; False if time is up. No proof."""
    with suppress(EffortSpent, LimitReached), bounded(ANY_WORK, seconds):
        start = start_of(document, limits)
        can_be = fewer_than is None or start.picture.least < fewer_than
        return can_be and any(map(mirror_lines, start.pieces or ()))
    return False


def regular_near(document: Document, limits: Limits = Limits(), seconds: float | None = _LOOK) -> list[Variant]:
    """The document made regular in some ways that simple folds may free, least movement first; none if time is up."""
    with suppress(EffortSpent, LimitReached), bounded(ANY_WORK, seconds):
        every = made_regular(document, limits)
        return list(islice((one for one in every if hopeful(one.document, limits, seconds)), _WAYS))
    return []


@dataclass(frozen=True)
class Wanted:
    """What is asked of a search, whatever the figure: see `recipe`."""

    folds: int
    layers: int
    all_layers: bool
    limits: Limits
    progress: Progress | None
    prefer: Prefer = "layers"


def search_from(start: Start, wanted: Wanted, seconds: float | None) -> RecipeFound:
    """As `recipe`, from the paper as it lies; the folds that are wanted are further ones."""
    return _Search(start, wanted, Clock(seconds, "the search for a recipe")).run(square=True)


class _Search:
    """One search: all layers first, then, if wanted, some. `allowed`: seconds to name where the clock runs out."""

    def __init__(self, start: Start, wanted: Wanted, clock: Clock, allowed: float | None = None) -> None:
        self.start, self.wanted, self.whole = start, wanted, clock
        left = clock.left
        kept = min(_NARROW, _NARROW_MOST / left) if left else 0.0
        self.clock = _part(clock, 1 - kept)
        self.allowed = clock.seconds if allowed is None else allowed
        self.least = start.picture.least
        self.thick = self.thinnest = self.unwritten = self.longer = 0
        self.cut_short = False  # some family was not tried to its end
        self.tried: list[str] = []
        self.ruled_out: list[str] = []
        self.best: RecipeFound | None = None

    def run(self, square: bool) -> RecipeFound:
        start, why, told = self.start, "", Peeled(None)
        try:
            with bounded(ANY_WORK, _part(self.clock, _THEOREMS).left):
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
            self._improve(SomeLayers(start.stack, _part(self.clock, _SOME if square else 1)), SOME)
        if square:
            self._improve(AllLayers(start.picture, self.clock, square=True), SQUARE)
        if told.frees and self.best is None:
            self._improve(AllLayers(start.picture, self.clock, square=True, quarters=True), QUARTERS)
        if self.best is None or (self.cut_short and self.best.folds > self.least):
            most = (_NARROW_MOST if self.cut_short else _GLANCE) / 2
            if not self.wanted.all_layers:
                self._narrowly(SomeLayers(start.stack, _part(self.whole, 1 / 2, most)))
            if square:
                self._narrowly(AllLayers(start.picture, _part(self.whole, 1, most), square=True))
        if self.best is not None:
            return replace(self.best, families=tuple(self.ruled_out))
        too_thick = self.thick, self.thinnest
        found = self._none(why)
        return replace(found, exists=bool(told.frees), too_thick=too_thick, longer=self.longer, least=self.least)

    def _none(self, why: str) -> RecipeFound:
        """That no recipe was found; `why` none of all-layers folds can be, if so."""
        document = self.start.document
        if self.clock.left == 0:
            reason = f"the limit seconds = {self.allowed:g} was reached"
        elif self.cut_short:
            reason = "not all was tried in time"
        else:
            forbidden = bool(why) and self.wanted.all_layers
            tried = self.tried or [f"it takes at least {counted(self.least, 'fold')}, {_HALVES}"]
            return RecipeFound(document, shown="none", reason="; ".join(tried), forbidden=forbidden)
        return RecipeFound(document, reason=reason, tried=tuple(self.tried))

    def _improve(self, search: AllLayers | SomeLayers, family: str) -> None:
        """Take the shortest recipe of a family, if it is shorter than the best so far."""
        most = self.wanted.folds if self.best is None else self.best.folds - 1
        if most < self.least or self.clock.left == 0:
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
            found = None
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
                best = min(islice(found, _WEIGHED), key=partial(_by_hands, by), default=None)
        if best is None:
            thick = [count for count, _ in by_layers if count > self.wanted.layers]
            self.thick += len(thick)
            self.thinnest = min([*thick, *([self.thinnest] if self.thinnest else [])], default=0)
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


def _part(clock: Clock, share: float, most: float = inf) -> Clock:
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


def _by_hands(prefer: ByHands, found: RecipeFound) -> tuple[float, ...]:
    return by_hands(found.result.hands if found.result is not None else None, prefer)


def lacking(document: Document, wanted: str = "a recipe") -> str:
    """Why there is nothing to search for; an empty text if there is."""
    if not document.has_target:
        return f"the document has no target to find {wanted} for"
    if document.snips != 1:
        return f"the document allows {document.snips} snips; {wanted} is found for one complete straight cut"
    return ""
