"""`recipe`: a certified recipe of simple folds for a target, as short as the search can show."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace
from itertools import chain, islice
from pathlib import Path
from typing import Literal

from verify.construct.recipes.edges import Edge, at_edges
from verify.construct.recipes.near import Variant, made_regular
from verify.construct.recipes.near import near as near_variants
from verify.construct.recipes.ruled_out import mirror_lines, no_recipe
from verify.construct.recipes.start import start_of
from verify.exact.effort import ANY_WORK, EffortSpent, bounded
from verify.pattern.document import Document
from verify.pattern.limits import Clock, LimitReached, Limits, Progress, silent
from verify.pattern.recipe import load_any
from verify.pattern.source import Malformed
from verify.tasks.recipe_found import RecipeFound
from verify.tasks.recipe_search import Prefer, Search, Wanted, part
from verify.words.findings import counted

Edges = Literal["never", "needed", "fewer"]
Sheet = tuple[Document, tuple[Edge, ...]]
FOLDS, LAYERS, SECONDS = 8, 16, 20
_TOO_MANY = "`creaseproof construct` moves lines a little, to directions with simpler numbers"
# How much of the time goes into the drawing as it is, if figures near it, or other sheets, are tried after it; and how
# much of what is left into other sheets, if figures near it are tried after these.
_BEFORE_NEAR, _BEFORE_EDGES, _EDGES = 0.3, 0.6, 0.4
# So many seconds go into a figure near a drawing, if its numbers lie in a field of at most this degree.
_GLANCE, _DEGREE = 1.0, 4
# The figure made regular, in so many ways, for so much of the time that is left, and at most for so many seconds.
_WAYS, _REGULAR, _REGULAR_MOST = 3, 0.25, 10.0
_LOOK = 4.0  # seconds: for finding these


def recipe(
    document: Document | str | Path,
    *,
    folds: int = FOLDS,
    layers: int = LAYERS,
    seconds: float | None = SECONDS,
    all_layers: bool = False,
    square: bool = True,
    near: bool = False,
    edges: Edges = "never",
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
    recipe where none was found of this one, or one of more folds; then `moved` says what was moved. `edges`: sheets
    with less paper, that end at sides of the figure, are tried where no recipe was found or hands are warned of it
    (`needed`), or always for fewer folds (`fewer`); the one with the fewest folds is taken, and of those that at the
    fewest edges, which `edges` names.
    The document's creases are not looked at. The kernel proves the recipe; that there is no shorter one rests on the
    search or on a theorem, as `shown` says. Raises `Malformed`.
    """
    document = load_any(document).as_pattern()
    missing = lacking(document)
    if missing:
        return RecipeFound(document, "unsupported", reason=missing)
    wanted = Wanted(folds, layers, all_layers, seconds, limits, progress or silent, prefer)
    whole = Clock(seconds, "the search for a recipe")
    sheets = [] if edges == "never" else _smaller_sheets(document, limits)
    share = _BEFORE_NEAR if near else _BEFORE_EDGES if sheets else 1
    found = _found_of(document, wanted, part(whole, share), square)
    if found.shown == "none" and not found.least:  # then there is nothing to fold
        return found
    asked = edges == "fewer" or found.recipe is None or found.is_hard
    if sheets and asked and found.verdict != "unsupported":
        found = _at_edges(found, sheets, wanted, part(whole, _EDGES if near else 1))
    return _near(found, wanted, whole) if near else found


def _found_of(document: Document, wanted: Wanted, clock: Clock, square: bool) -> RecipeFound:
    """What was found of one document."""
    try:
        with bounded(ANY_WORK, clock.left):
            start = start_of(document, wanted.limits)
    except LimitReached as limit:
        return RecipeFound(document, "unsupported", reason=f"{limit}; {_TOO_MANY}")
    except EffortSpent as spent:
        reason = f"the limit {spent.limit} = {wanted.seconds:g} was reached before the search began"
        return RecipeFound(document, reason=f"{reason}: the directions of its lines take so long to compute")
    if not start.picture.ink:
        return RecipeFound(document, shown="none", reason="the whole figure lies along the sheet's own edge")
    if start.picture.ready:
        return RecipeFound(document, shown="none", reason="the figure lies on one line: cut, without any fold")
    return Search(start, wanted, clock).run(square)


def _smaller_sheets(document: Document, limits: Limits) -> list[Sheet]:
    """The sheets that end at the figure; none where it cannot be drawn within the limits, which the search says."""
    with suppress(LimitReached):
        return list(at_edges(document, limits))
    return []


def _at_edges(found: RecipeFound, sheets: Sequence[Sheet], wanted: Wanted, clock: Clock) -> RecipeFound:
    """The recipe with the fewest folds on smaller sheets; what was found before if it has as few."""
    best = found
    for number, (document, edges) in enumerate(sheets):
        if clock.left == 0:
            break
        most = wanted.folds if best.recipe is None else best.folds - 1
        fewer = replace(wanted, folds=most, progress=silent)
        with suppress(Malformed):
            other = _found_of(document, fewer, part(clock, 1 / (len(sheets) - number)), square=True)
            if other.recipe is not None:
                best = replace(other, document=found.document, edges=edges, unmoved=found.folds)
    return best if best.recipe is not None else replace(found, sheets=len(sheets))


def _near(found: RecipeFound, wanted: Wanted, clock: Clock) -> RecipeFound:
    """The first figure near a drawing with a recipe of fewer folds; what was found of the drawing itself if none."""
    most = wanted.folds if found.recipe is None else found.folds - 1
    glancing = replace(wanted, folds=most, progress=silent, prefer="layers")
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
        wanted.progress(f"{counted(tried, 'figure')} near the drawing tried")
        glancing = replace(glancing, seconds=seconds, limits=replace(wanted.limits, degree=degree))
        with suppress(Malformed):
            other = _found_of(variant.document, glancing, Clock(seconds, "the search of one figure"), square=False)
            if other.recipe is not None:
                unmoved = found.unmoved if found.edges else found.folds
                return replace(other, document=found.document, moved=variant, unmoved=unmoved)
    return found if found.recipe is not None else replace(found, near_it=tried)


def hopeful(
    document: Document, limits: Limits = Limits(), seconds: float | None = _LOOK, fewer_than: int | None = None
) -> bool:
    """Whether a piece of the target has a line of symmetry, and no theorem forbids so few folds, or any; False if time
    is up. No proof.
    """
    with suppress(EffortSpent, LimitReached), bounded(ANY_WORK, seconds):
        start = start_of(document, limits)
        can_be = fewer_than is None or start.picture.least < fewer_than
        return can_be and any(map(mirror_lines, start.pieces or ())) and not no_recipe(start)
    return False


def regular_near(document: Document, limits: Limits = Limits(), seconds: float | None = _LOOK) -> list[Variant]:
    """The document made regular in some ways that simple folds may free, least movement first; none if time is up."""
    with suppress(EffortSpent, LimitReached), bounded(ANY_WORK, seconds):
        every = made_regular(document, limits)
        return list(islice((one for one in every if hopeful(one.document, limits, seconds)), _WAYS))
    return []


def lacking(document: Document, wanted: str = "a recipe") -> str:
    """Why there is nothing to search for; an empty text if there is."""
    if not document.has_target:
        return f"the document has no target to find {wanted} for"
    if document.snips != 1:
        return f"the document allows {document.snips} snips; {wanted} is found for one complete straight cut"
    return ""
