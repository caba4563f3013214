"""Patterns for a target: creases that bring it onto one line, and how each is folded.

What is proposed here has a layer order that the solver found. It counts only once a certificate of it was accepted.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property

from verify.construct.coordinates.net import bare
from verify.construct.coordinates.written import exact_texts
from verify.construct.creases.choices import Refusal
from verify.construct.creases.creases import Construction, Creases
from verify.construct.creases.refusals import refusals
from verify.construct.creases.walk import walks
from verify.construct.skeleton.figure import figure_of
from verify.construct.steps.search import find_sequence
from verify.construct.steps.written import order_after
from verify.cutting.cut import Cut, cut
from verify.cutting.hands import Hands, hands
from verify.folding.crossing import crossing_conditions
from verify.folding.foldmap import fold_map
from verify.folding.order import find_order
from verify.folding.overlaps import Overlaps
from verify.folding.stack import LayerOrder
from verify.pattern.arrangement import subdivide
from verify.pattern.document import Crease, Document, Kind
from verify.pattern.drawing import draw
from verify.pattern.limits import Clock, LimitReached, Limits
from verify.pattern.names import Names
from verify.pattern.subdivision import Subdivision

Progress = Callable[[str], None]
_ONE_SET = 1 / 3  # of the time that is left
_WHY = 3  # times as long
# so many folds are hardly made by simple ones; and so many states are looked at (our own choice, no source)
_SIMPLE, _STATES = 60, 400
IN_TIME = "the limit seconds was reached for these creases: no layer order was found in the time for one set"


@dataclass(frozen=True)
class Proposal:
    """A pattern for a target, not yet certified: `how` it was made, its layer order, its folds, the cut and the layers
    that it meets. `drawn` has its creases, each to be folded either way. `fewest`: all sets of perpendiculars with
    fewer folds were refused; `tree`: it folds as a tree of corridors. `simple`: how many simple folds make it, if that
    is known, else 0.
    """

    drawn: Document
    how: str
    order: LayerOrder
    cutting: Cut
    folds: int
    layers: int
    fewest: bool = False
    tree: bool = False
    simple: int = 0

    @cached_property
    def document(self) -> Document:
        """The pattern, its creases folded as in the order."""
        return assigned(self.drawn, self.order.overlaps.subdivision, self.order)

    @cached_property
    def hands(self) -> Hands:
        """What hands meet."""
        return hands(self.order, self.layers, cut=self.cutting)


@dataclass(frozen=True)
class Failure:
    """A set of creases that came to nothing, why, and what of it no other set may have."""

    how: str
    reason: str
    refusals: tuple[Refusal, ...] = ()


def proposals(
    document: Document,
    limits: Limits = Limits(),
    progress: Progress | None = None,
    construction: Construction | None = None,
    *,
    only_fewest: bool = False,
) -> Iterator[Proposal | Failure]:
    """Patterns for the target of a document, one for each choice of perpendiculars, few folds first
    (`Construction.patterns`): what contradicts itself in one of them is in none that follows. `construction` is that of
    the document, if it is there already; with `only_fewest` it ends after those that have as few folds as can be.

    Past `limits.seconds` the search that is going on is given up, and `LimitReached` raised. Raises `Malformed`,
    `Endless`, `Exhausted`, or `LimitReached` if a limit was reached before there were any creases.
    """
    in_time = Clock(limits.seconds, "not all sets of creases were tried")
    if construction is None:
        construction = Construction(figure_of(document, limits))
    if progress:
        progress(f"{len(construction.figure.lines)} target lines")
        progress(f"{len(construction.arcs)} arcs, {len(construction.perpendiculars)} perpendiculars")
    for creases in construction.patterns(in_time.some_left, only_fewest=only_fewest):
        if progress:
            progress(f"{len(creases.segments)} creases ({creases.how})")
        try:
            left = in_time.some_left()
            one = _folded(creases, replace(limits, seconds=left and left * _ONE_SET), progress)
        except LimitReached as limit:
            in_time()  # if it was the time: all of it
            construction.refuse_set(creases, undecided=True)
            yield Failure(creases.how, IN_TIME if limit.limit == "seconds" else str(limit))
            continue
        if isinstance(one, Failure):
            construction.refuse(one.refusals)
            construction.refuse_set(creases)
        yield one


def _folded(creases: Creases, limits: Limits, progress: Progress | None) -> Proposal | Failure:
    clock = Clock(limits.seconds, "")
    drawn = document_of(creases)
    s = subdivide(draw(drawn, limits), limits)
    folded = fold_map(s)
    if not folded.exists:
        return Failure(creases.how, "the folds do not close round a hole of the sheet")
    overlaps = Overlaps(folded)
    proposed = walks(overlaps) if creases.tree else ()
    found = find_order(crossing_conditions(overlaps, limits), limits, progress, proposed)
    if not isinstance(found, LayerOrder):
        # to say why takes longer than to find it out, and cannot be broken off
        learns = clock.left is None or limits.seconds is None or clock.left > _WHY * (limits.seconds - clock.left)
        why = tuple(refusals(creases, found, clock)) if learns else ()
        return Failure(creases.how, "no layer order exists for these creases", why)
    cutting = cut(overlaps, 1)
    folds = sum(edge.is_fold for edge in s.edges)
    return Proposal(drawn, creases.how, found, cutting, folds, cutting.most_layers, creases.fewest, creases.tree)


def by_simple_folds(proposal: Proposal, clock: Clock) -> Proposal | None:
    """The same creases with mountains and valleys as simple folds make them, one after the other (they may differ from
    the proposal's); None if a short look finds no such folds.
    """
    if proposal.folds > _SIMPLE:
        return None
    s = proposal.order.overlaps.subdivision
    try:
        sequence = find_sequence(s, most_states=_STATES, clock=clock)
    except LimitReached:
        return None
    if sequence.folds is None:
        return None
    order = order_after(sequence.panels, sequence.folds)
    return replace(proposal, order=order, cutting=cut(order.overlaps, 1), simple=len(sequence.folds))


def document_of(creases: Creases) -> Document:
    """The creases as a document, each to be folded either way: with the names of the figure's own points, and c1, c2, …
    for others.
    """
    given = creases.figure.document
    document = bare(given)
    points = dict(document.points)
    places = draw(document).places
    names = Names({places[name]: name for name in reversed(points)}, given.points, "c", exact_texts)
    drawn = tuple(Crease(names.of(a), names.of(b), "either") for a, b in creases.segments)
    return replace(document, points=points | names.made, creases=drawn)


def assigned(drawn: Document, s: Subdivision, order: LayerOrder) -> Document:
    """The document with each fold folded as in the order; cut where one is folded now this way, now that."""
    names = Names({place: name for name, place in s.drawing.places.items()}, drawn.points, "c", exact_texts)
    creases: list[Crease] = []
    for chain in s.crease_chains:
        edges = s.edges_along(chain)
        kinds: list[Kind] = [order.assignment(e) if s.edges[e].is_fold else "flat" for e in edges]
        first = 0
        for i, kind in enumerate(kinds):
            if i + 1 == len(kinds) or kinds[i + 1] != kind:
                start, end = (names.of(s.vertices[chain[k]]) for k in (first, i + 1))
                creases.append(Crease(start, end, kind))
                first = i + 1
    return replace(drawn, points={**drawn.points, **names.made}, creases=tuple(creases))
