"""Recipes written down: fold lines as alignments, with names for the ends of creases that they need."""

from __future__ import annotations

from functools import reduce

from verify.construct.coordinates.written import exact_texts
from verify.construct.recipes.aligned import Aligner
from verify.construct.recipes.lines import Mirror, mirror
from verify.construct.recipes.stack import Fold, Folds, Stack
from verify.construct.recipes.start import Start
from verify.cutting.hands import deepest
from verify.pattern.recipe import MarkStep, Recipe, recipe_on

_HAIR = 1e-9


def folded(start: Start, folds: Folds) -> Stack:
    """The stack at the end."""
    *_, stack = start.stack.through(folds, _first(start))
    return stack


def layers_at_cut(stack: Stack) -> int:
    """How many layers the scissors meet at most (ends in floats: it only chooses; the certificate counts exactly)."""
    covers = [layer.face.covers(line) for line in stack.ink for layer in stack.layers]
    return deepest([(float(cover[0]), float(cover[1])) for cover in covers if cover is not None], 2 * _HAIR)


def smaller_side_moves(start: Start, folds: Folds) -> Folds:
    """The same folds, with the smaller part of the paper moving in each that folds all layers (in floats: it only
    chooses). So the paper may come to lie turned over, and folds of some layers take these from its other side.
    """
    all_layers = all(fold.moving is None for fold in folds)
    stack, done, turned_over = start.stack, list[Fold](), list[Mirror]()
    for number, found in enumerate(folds, start=_first(start)):
        fold = found if all_layers or len(turned_over) % 2 == 0 else _from_the_other_side(stack, found)
        line = reduce(_mirrored, turned_over, fold.line)
        if fold.moving is None:
            faces = [layer.face for layer in stack.layers]
            parts = [face.split(line, face.edges[0])[1] for face in faces]
            moved = sum(part.size for part in parts if part is not None)
            if moved > sum(face.size for face in faces) / 2 * (1 + _HAIR):
                turned_over.append(line)
                line = line.turned()
        done.append(fold._replace(line=line))
        stack = stack.fold(done[-1], number) or stack
    return tuple(done)


def _from_the_other_side(stack: Stack, fold: Fold) -> Fold:
    """A fold of a stack, as a fold of the stack turned over."""
    top = len(stack.layers) - 1
    moving = frozenset(top - layer for layer in fold.moving) if fold.moving is not None else None
    return Fold(fold.line, moving, not fold.over)


def drawing_outside(start: Start, folds: Folds) -> Folds:
    """The same folds of a flat sheet, the first going behind, so that the side that is drawn on stays outside. Folds of
    some layers then all go the other way.
    """
    if _first(start) > 1 or not folds[0].over:
        return folds
    if all(fold.moving is None for fold in folds):
        return (folds[0]._replace(over=False), *folds[1:])
    return tuple(map(_from_the_other_side, start.stack.through(folds, 1), folds))


def written(start: Start, folds: Folds, *, behind: bool = False) -> Recipe:
    """The recipe of these folds (at least one) of a document's sheet, after those from which the search started;
    `behind`: the first, of all layers, goes behind, with alignments as if it went over. Raises `LookupError` if no mark
    tells the layers of a fold from others.
    """
    document = start.document
    corners = [name for loop in (document.outline, *document.holes) for name in loop]
    made = [s.name for s in start.recipe.steps if isinstance(s, MarkStep)] if start.recipe is not None else []
    aligner = Aligner(start.places, document.target_lines(), [*corners, *made])
    before = start.recipe.written if start.recipe is not None else ()
    steps, _ = aligner.steps(start.stack, folds, _first(start))
    if behind:
        steps[0] |= {"direction": "behind"}
    return recipe_on(document, [*before, *steps], {name: exact_texts(p) for name, p in aligner.made.items()})


def _first(start: Start) -> int:
    """The number of the first step after those that were carried out."""
    return 1 if start.recipe is None else len(start.recipe.steps) + 1


def _mirrored(fold: Mirror, other: Mirror) -> Mirror:
    """The mirror image of a fold line in another one; the same paper moves."""
    across = 2 * (other.a * fold.a + other.b * fold.b) / other.square
    return mirror(fold.a - across * other.a, fold.b - across * other.b, fold.c - across * other.c)
