"""Where the target may lie: as drawn, or moved a little for various reasons, the least first.

Whether the perpendiculars of a figure end, and whether its creases have a layer order, changes with small movements. So
several figures near the drawing are tried: a trial is one of them.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache, partial
from typing import Any

from verify.construct.coordinates.net import Net, NotSnapped
from verify.construct.coordinates.regular import rational, regular, turn_orders
from verify.construct.coordinates.snapping import Snapped, movements, rounded_target
from verify.construct.coordinates.stars import stars_near
from verify.construct.ends.ended import ended
from verify.construct.moves.turned import turned
from verify.pattern.document import IN_MM, Document
from verify.pattern.drawing import draw
from verify.pattern.limits import LimitReached, Limits

SNAP_MM = Fraction(1, 10)
SHARE = Fraction(1, 100)  # of the target's larger extent: it moves no farther unless more is allowed
_FOR_ENDS = Fraction(23, 40)  # of what may move: so that perpendiculars end, if they do (benchmarks/drawings.md)
_DEGREE = 8  # of a field in which a target as drawn competes with the first movements

_RATIONAL = "to give its lines directions that are rational, or at 45° to rational ones"
_COARSE = "onto a grid, for creases that are few, end and fold"
_REGULAR = "to make nearly equal widths, directions and halves equal"
_PARTS = "to make nearly equal widths, directions and halves of its parts equal"
_UPRIGHT = "to make it regular, once set upright"
_STAR = "to make it a regular polygon or star"
_ENDED = "to make perpendiculars end in nodes of its skeleton"
_EVEN = _REGULAR, _PARTS, _UPRIGHT, _STAR


@dataclass(frozen=True)
class Trial:
    """A figure to try: `find` makes it, `why` says what it was moved for, `degree` is the highest of its field; `slow`:
    it takes long to make.
    """

    why: str
    find: Callable[[], Snapped]
    degree: int
    slow: bool = False


def trials(
    document: Document, snap: Fraction | None, nudge: Fraction | None, exact: bool, limits: Limits = Limits()
) -> tuple[list[Trial], list[Trial]]:
    """The trials for the target of a document: near it, and farther away.

    Near, the target stays, or moves by no more than `snap` mm (None: `SNAP_MM`), or than half of `nudge` if that makes
    it regular; farther away up to `nudge` mm (None: a `SHARE` of the target's extent, or `snap` if that was given).
    With `exact` nothing moves at all. `find` raises `NotSnapped`, `LimitReached` and `Malformed`, as `regular` does.
    """
    unit = IN_MM[document.unit]

    def as_drawn(degree: int) -> Trial:
        return Trial("", lambda: Snapped(document), degree)

    @cache
    def net() -> Net:
        return Net(document, limits)

    def simple(mm: Fraction, order: int = 4, *, coarse: bool = False) -> Trial:
        def find() -> Snapped:
            return rational(net(), mm / unit, limits, order=order, coarse=coarse)

        return Trial(_COARSE if coarse else _RATIONAL, find, limits.degree)

    if exact:
        return [as_drawn(limits.degree)], []
    first = snap if snap is not None else min(SNAP_MM, nudge if nudge is not None else SNAP_MM)
    if nudge is None:
        nudge = first if snap is not None else max(first, _extent(document, limits) * SHARE * unit)
    far = max(first, nudge / 2)

    try:
        found = turn_orders(net(), far / unit)
    except LimitReached:
        found = []

    plain = rounded_target(document, limits)

    def drawn(found: Snapped) -> Snapped:
        """With the movements from the document itself."""
        return found if plain is document else Snapped(found.document, movements(document, found.document, limits))

    def upright(mm: Fraction, why: str, mover: Callable[..., Snapped], **how: Any) -> Trial:
        find = partial(turned, plain, mm / unit, partial(mover, limits=limits, **how), limits)
        return Trial(why, lambda: drawn(find()), limits.degree)

    def equal(mm: Fraction, order: int, parts: bool = False) -> Trial:
        def find() -> Snapped:
            target = net() if plain is document else plain
            return drawn(regular(target, mm / unit, limits, order=order, parts=parts))

        return Trial(_PARTS if parts else _REGULAR, find, limits.degree)

    close = [
        as_drawn(min(_DEGREE, limits.degree)),
        simple(first, 8),
        *(equal(mm, 8) for mm in dict.fromkeys((first, far))),
        equal(far, 12),
        *(upright(far, _UPRIGHT, regular, parts=parts) for parts in (False, True)),
        upright(far, _STAR, _star),
        *(equal(mm, order, True) for order in (8, *found) for mm in dict.fromkeys((first, far))),
    ]
    if nudge <= first:
        return close, []
    most = nudge / unit

    def ending(farthest: Fraction) -> Trial:
        find = partial(ended, document, _FOR_ENDS * most, limits, farthest=farthest)
        return Trial(_ENDED, find, limits.degree, slow=True)

    return close, [
        *(ending(farthest) for farthest in (Fraction(0), most)),
        *(simple(mm, coarse=True) for mm in (nudge / 2, nudge) if mm > first),
        *(simple(nudge, order) for order in (4, 8)),
        *(equal(nudge, order) for order in (8, 12)),
        equal(nudge, 8, True),
        upright(nudge, _UPRIGHT, regular, parts=True),
    ]


def _star(document: Document, most: Fraction, limits: Limits) -> Snapped:
    """The target as a regular polygon or star, if no point of it moves farther than that. Raises `NotSnapped`."""
    for found, _, _ in stars_near(document):
        moved = Snapped(found, movements(document, found, limits))
        if moved.greatest <= most:
            return moved
    raise NotSnapped("the figure is not nearly a regular polygon or star")


def regular_figures(document: Document, limits: Limits = Limits()) -> list[tuple[Snapped, str]]:
    """The target of a document made regular, in the ways of the `trials` that are near, with what each moved it for:
    those that move it least come first. Empty if it is as regular as can be, or not nearly so. Raises `Malformed`.
    """
    found: dict[float, tuple[Snapped, str]] = {}
    near, _ = trials(replace(document, creases=()), None, None, False, limits)
    for trial in near:
        if trial.why in _EVEN:
            with suppress(NotSnapped, LimitReached):
                moved = trial.find()
                if moved.moves:
                    found.setdefault(moved.greatest, (moved, trial.why))
    return [found[far] for far in sorted(found)]


def _extent(document: Document, limits: Limits) -> Fraction:
    """The larger of the width and the height of the target, roughly, in the document's unit."""
    places = draw(document, limits).places
    names = {name for lines in (*document.loops, *document.paths) for name in lines}
    columns = [[float(places[name][axis]) for name in names] for axis in (0, 1)]
    return Fraction(max(max(values) - min(values) for values in columns)).limit_denominator(1000)
