"""Folding without a template: by a plain sheet's edges and marks that folding finds.

Guide creases at halves, quarters and eighths of the sheet come first, each by laying an edge or a crease on another
one, and are opened again. Then every fold, and the line of the cut, must be an alignment of edges, creases and the
places where they meet. The target's own lines are never referred to: they come out where they should because the
proportions say so, which the certificate proves.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations
from typing import Any

from verify.construct.coordinates.written import exact_texts
from verify.construct.recipes.aligned import Aligner, Choice
from verify.construct.recipes.lines import Mirror, mirror
from verify.construct.recipes.stack import Fold, Folds, Stack
from verify.construct.recipes.start import Start
from verify.exact.plane import Point, between
from verify.pattern.recipe import Recipe, recipe_on

FINEST = 8
MOST_GUIDES = 4
# the edges on which upright (True) and level guides end, which are those beside level and upright ones
_EDGES = {True: (("sw", "se"), ("nw", "ne")), False: (("sw", "nw"), ("se", "ne"))}


@dataclass(frozen=True, order=True)
class Guide:
    """A crease across the whole sheet, `upright` or level, at a share of the way from the left, or from below."""

    upright: bool
    share: Fraction

    @property
    def parents(self) -> tuple[Guide | None, Guide | None]:
        """The two lines of which one is laid on the other; None for an edge of the sheet."""
        step = Fraction(1, self.share.denominator)
        low, high = self.share - step, self.share + step
        return Guide(self.upright, low) if low else None, Guide(self.upright, high) if high < 1 else None

    @property
    def whole(self) -> set[Guide]:
        """This one and all that it is made from."""
        return {self}.union(*(parent.whole for parent in self.parents if parent is not None))

    def words(self) -> str:
        """How it is made."""
        sides = ("left", "right") if self.upright else ("bottom", "top")
        names = [
            f"the {side} edge" if p is None else f"the crease at {p.share}"
            for p, side in zip(self.parents, sides, strict=True)
        ]
        if self.share == Fraction(1, 2):
            return f"Crease in half, {names[0]} onto {names[1]}, and open again."
        return (
            f"Crease at {self.share} of the {'width' if self.upright else 'height'}: {names[0]} onto "
            f"{names[1]}, and open again."
        )


@dataclass(frozen=True)
class Plain:
    """A recipe from a plain sheet, with the guide creases that it makes first."""

    recipe: Recipe
    guides: tuple[Guide, ...]


class _Free(Aligner):
    """Finds alignments by edges, creases and guides alone."""

    def _across(self, stack: Stack, fold: Mirror) -> Choice:
        raise LookupError("no landmark for this line")


def without_template(start: Start, solutions: Iterable[Folds]) -> Plain | None:
    """Of some lists of folds that free the target of a rectangular sheet the recipe with the fewest creases, then the
    fewest guides, yet to be certified; None if all of them need measuring.
    """
    found = list(solutions)
    ways = [(guides, folds) for guides in guide_sets(start) for folds in found]
    for guides, folds in sorted(ways, key=lambda way: (len(way[0]) + len(way[1]), len(way[0]))):
        try:
            return Plain(_written(start, folds, guides), guides)
        except LookupError:
            continue
    return None


def guide_sets(start: Start) -> list[tuple[Guide, ...]]:
    """Sets of guides with all that they are made from, fewest first: along lines of the target, or at quarters."""
    (left, low), (right, high) = start.places["sw"], start.places["ne"]
    lines = {Guide(upright, Fraction(k, 4)) for upright in (True, False) for k in (1, 2, 3)}
    for line in start.picture.ink:
        if line.a and line.b:
            continue
        share = (line.c / line.a - left) / (right - left) if line.a else (line.c / line.b - low) / (high - low)
        if share.is_rational and 0 < share < 1 and FINEST % share.as_fraction().denominator == 0:
            lines.add(Guide(bool(line.a), share.as_fraction()))
    sets = {closed(some) for count in range(3) for some in combinations(sorted(lines), count)}
    few = (s for s in sets if len(s) <= MOST_GUIDES)
    return sorted(few, key=lambda s: (len(s), sum(g.share.denominator for g in s), s))


def closed(guides: Iterable[Guide]) -> tuple[Guide, ...]:
    """The guides with all that they are made from, in the order of making."""
    whole = {one for guide in guides for one in guide.whole}
    return tuple(sorted(whole, key=lambda g: (g.share.denominator, g)))


def _written(start: Start, folds: Folds, guides: Sequence[Guide]) -> Recipe:
    """The recipe; `LookupError` if a fold or the cut has no landmark."""
    document = start.document
    ends = {guide: _ends(start, guide, number) for number, guide in enumerate(guides, start=1)}
    places = start.places | {name: place for both in ends.values() for name, place in both.items()}
    opened = [(2 * n + 1, (one, two)) for n, (one, two) in enumerate(both.values() for both in ends.values())]
    aligner = _Free(places, [(one, two) for one, two in ends.values()], document.outline, opened)
    steps = [step for guide in guides for step in _made(guide, ends)]
    further, stack = aligner.steps(start.stack, folds, len(steps) + 1)
    if len(stack.ink) != 1:
        raise LookupError("the target does not lie on one line")
    (line,) = stack.ink
    cut = aligner.step(stack, Fold(mirror(*line)))
    made = aligner.made | {name: place for both in ends.values() for name, place in both.items()}
    marks = {name: exact_texts(p) for name, p in made.items() if name not in document.points}
    return recipe_on(document, [*steps, *further], marks, cut["fold"])


def _ends(start: Start, guide: Guide, number: int) -> dict[str, Point]:
    """The ends of a guide, named after the step that makes it (each takes two)."""
    one, two = (between(start.places[a], start.places[b], guide.share) for a, b in _EDGES[guide.upright])
    return {f"{2 * number - 1}a": one, f"{2 * number - 1}b": two}


def _made(guide: Guide, ends: dict[Guide, dict[str, Point]]) -> list[dict[str, Any]]:
    """The steps that make a guide: one line onto the other, and open again."""
    edges = _EDGES[not guide.upright]
    low, high = (list(edge if p is None else ends[p]) for p, edge in zip(guide.parents, edges, strict=True))
    return [{"fold": {"line": low, "onto": high}, "moves": low[0]}, {"unfold": 1}]
