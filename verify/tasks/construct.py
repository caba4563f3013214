"""`construct`: a certified pattern for a target."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from operator import attrgetter
from pathlib import Path

from verify.construct.moves.trials import trials
from verify.construct.recipes.edges import at_edges
from verify.pattern.arrangement import subdivide
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.pattern.limits import Clock, Limits, Progress, silent
from verify.pattern.recipe import load_any
from verify.tasks.construct_found import TRIES, Constructed, Prefer
from verify.tasks.construct_search import UNFINISHED, Ready, Search, Wanted
from verify.tasks.recipe import Edges, lacking
from verify.tasks.recipe_search import part
from verify.words.findings import counted

# figures that move farther are looked at if the others need more folds than so many
_FEW_FOLDS = 30
_BEFORE_EDGES = 0.5  # of the time: for the sheet as it is, if others are tried after it


def construct(
    document: Document | str | Path,
    *,
    tries: int = TRIES,
    prefer: Prefer = "folds",
    exact: bool = False,
    snap_mm: Fraction | None = None,
    nudge_mm: Fraction | None = None,
    edges: Edges = "never",
    limits: Limits = Limits(),
    progress: Progress | None = None,
    best_on_interrupt: bool = False,
) -> Constructed:
    """A crease pattern with which one straight cut frees exactly the target of a document (or the file of one),
    certified.

    The pattern is made of the straight skeleton of the target and perpendiculars. Of at most `tries` choices of
    perpendiculars the one with the fewest folds is taken: of as few one that simple folds make, if a short look finds
    such, then the one with the fewest layers at the cut. `prefer` puts something else first: `layers` at the cut,
    `hands` (fewest warnings of what hands meet, then fewest notes), fewest straight `creases`, the longest `shortest`
    crease, the widest `gap` between parallel creases, the largest smallest `panel`, the fewest layers in any one
    `fold`, or the creases that need least `accuracy`.

    Several figures near the drawing are tried (`construct.moves`), each with so many tries, that with fewest folds
    first (of as few one without creases too short for hands, then one that is not moved): the target where it is, if
    its numbers lie in a field of low degree; lines whose directions have no rational unit vector moved by at most
    `snap_mm` millimetres (0.1 if None); and the target made regular, as a whole or in parts, also if it is turned. If
    that comes to nothing, or other figures need clearly fewer folds, the target is moved farther, by at most `nudge_mm`
    (None: 1 % of its larger extent, or no farther than a given `snap_mm`). With `exact` it is only left where it is.
    `edges`: sheets with less paper, that end at sides of the figure, are tried where there is no pattern (`needed`), or
    also for a better one (`fewer`); of those that are as good that at the fewest edges is taken.

    All ends after `limits.seconds`; with `best_on_interrupt` also by Ctrl-C, if there is a pattern by then. Raises
    `Malformed`.
    """
    document = load_any(document).as_pattern()
    reason = lacking(document, "a pattern")
    if document.creases:
        reason = f"the document has {counted(len(document.creases), 'crease')}; expected a target and a sheet only"
    if reason:
        return Constructed(document, "unsupported", reason)
    wanted = Wanted(tries, prefer, exact, snap_mm, nudge_mm, limits, progress or silent, best_on_interrupt)
    whole = Clock(limits.seconds, UNFINISHED)
    found = _constructed(document, wanted if edges == "never" else wanted.within(part(whole, _BEFORE_EDGES)))
    if edges == "fewer" or (edges == "needed" and found.proposal is None):
        return _at_edges(found, wanted, whole)
    return found


def _constructed(document: Document, wanted: Wanted) -> Constructed:
    """A pattern for the sheet as it is."""
    limits = wanted.limits
    subdivide(draw(document, limits), limits)  # a mistake in the drawing is one, and no failure
    search = Search(document, wanted)
    near, farther = trials(document, wanted.snap_mm, wanted.nudge_mm, wanted.exact, limits)
    ready = search.ready(near)
    aside: list[Ready] = []
    if not ready or ready[0].folds > _FEW_FOLDS:
        found = search.farther(farther, ready)
        worth = [one for one in found if one.is_worth_moving(ready)]
        aside = [one for one in found if one not in worth]
        ready = sorted([*ready, *worth], key=attrgetter("rank"))
    made = search.made(ready, aside) or search.made(aside) or search.made(search.ready([*near, *farther]))
    return made or search.outcome()


def _at_edges(found: Constructed, wanted: Wanted, clock: Clock) -> Constructed:
    """The best pattern on sheets that end at the figure; what was found before if it is as good."""
    best, unmoved = found, 0 if found.proposal is None else found.proposal.folds
    sheets = list(at_edges(found.document, wanted.limits))
    for number, (document, edges) in enumerate(sheets):
        if clock.left == 0 or best.stopped:
            break
        try:
            wanted.progress(f"sheet {number + 1} of {len(sheets)} that end at sides of the figure")
            other = _constructed(document, wanted.within(part(clock, 1 / (len(sheets) - number))))
        except KeyboardInterrupt:
            if best.proposal is None or not wanted.best_on_interrupt:
                raise
            return replace(best, stopped=True)
        if other.rank(wanted.prefer) < best.rank(wanted.prefer):
            best = replace(other, document=found.document, edges=edges, unmoved=unmoved)
    return best if best.proposal is not None else replace(found, sheets=len(sheets))
