"""What no recipe can do: figures with paper all round that no simple folds free, or none of all layers.

The theorems are proved in `proofs/theory/searching.md`. Each speaks of recipes of any length. Exact.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, pairwise

from verify.construct.recipes.lines import Ink, Mirror, Stretches, UnitLine, bisectors, folded_ink, meetings
from verify.construct.recipes.start import Start
from verify.exact.plane import Point, locate


def no_recipe(start: Start) -> str:
    """Why no sequence of simple folds, of all layers or of some, frees the target; an empty text if the theorem does
    not say so.

    The first crease across a piece of the figure that stays to the end runs straight through it, and is a line of
    symmetry near each place where it meets the outline.
    """
    if not start.pieces or not margin_all_round(start) or any(map(first_crease, start.pieces)):
        return ""
    what = "the figure" if len(start.pieces) == 1 else "any piece of the figure"
    return (
        f"no straight line across {what} meets its sides only at right angles and its corners only along their "
        "bisectors, as the first crease must with paper all round: no simple folds free it, of all layers or of some, "
        "however many"
    )


def first_crease(outline: Ink) -> Mirror | None:
    """A line that meets the outline of a polygon (with holes or without), sides at right angles and corners along
    bisectors; None if there is none.
    """
    return next((m for m in _crossing(outline) if symmetric_along(outline, m)), None)


def _crossing(outline: Ink) -> Iterator[Mirror]:
    """Of the lines that `first_crease` asks for at least one, if there are any.

    One that meets a corner is a bisector there. Any other crosses parallel sides at right angles, and can be moved till
    just before it meets a corner: one between any two corners, along the sides, is enough.
    """
    at = _corners(outline)
    for lines in at.values():
        for one, two in combinations(lines, 2):
            yield from bisectors(one, two)
    for line in {(line.a, line.b): line for line in outline}.values():
        sides = [s for other, stretches in outline.items() if other[:2] == line[:2] for s in stretches]
        for start, end in pairwise(sorted({line.along(corner) for corner in at})):
            if any(low <= start and end <= high for low, high in sides):
                yield line.square((start + end) / 2)


def _corners(outline: Ink) -> dict[Point, set[UnitLine]]:
    """The corners of an outline, each with its sides' lines; where corners touch, sides may go on through them."""
    at: dict[Point, set[UnitLine]] = {}
    for line, stretches in outline.items():
        for end in {t for stretch in stretches for t in stretch}:
            at.setdefault(line.at(end), set()).add(line)
    for one, two in combinations(outline, 2):
        if _crosses(outline[one], one, two) and _crosses(outline[two], two, one):
            turn = one.a * two.b - one.b * two.a
            place = Point((one.c * two.b - two.c * one.b) / turn, (one.a * two.c - two.a * one.c) / turn)
            at.setdefault(place, set()).update((one, two))
    return at


def _crosses(stretches: Stretches, line: UnitLine, other: UnitLine) -> bool:
    """Whether a stretch of a line has its ends on both sides of another one."""
    return any(other.height(line.at(s)).sign() * other.height(line.at(t)).sign() < 0 for s, t in stretches)


def symmetric_along(outline: Ink, fold: Mirror) -> bool:
    """Whether a line meets an outline, and near each such place is its line of symmetry; never along a side."""
    parts = folded_ink(outline, fold)
    if parts is None:
        return False
    one, two = (meetings(part, fold) for part in parts)
    return bool(one) and one == two


def no_all_layers_recipe(start: Start) -> str:
    """Why no sequence of all-layers folds, however long, frees the target; an empty text if the theorem, that the first
    to divide a piece of the figure runs along its line of symmetry, does not say so.
    """
    if not start.pieces or not margin_all_round(start) or any(map(mirror_lines, start.pieces)):
        return ""
    what = "the figure has no line" if len(start.pieces) == 1 else "no piece of the figure has a line"
    return f"{what} of symmetry, and there is paper all round it: no all-layers folds free it, however many"


def mirror_lines(outline: Ink) -> list[Mirror]:
    """The lines of symmetry of an outline."""
    first, *others = outline
    low, high = outline[first][0][0], outline[first][-1][1]
    found = [first.square((low + high) / 2), *(m for other in others for m in bisectors(first, other))]
    return [m for m in found if m.ink(outline) == outline]


def margin_all_round(start: Start) -> bool:
    """Whether the sheet, still flat, is convex and no target point lies on its edge."""
    if start.recipe is not None or start.document.holes or len(start.picture.faces) != 1:
        return False
    corners = start.picture.faces[0].corners
    used = {name for line in start.document.target_lines() for name in line}
    return all(locate(start.places[name], corners) > 0 for name in used)
