"""What no recipe can do: figures that no simple folds free, or, with paper all round, none of all layers.

The theorems are proved in `proofs/theory/searching.md`. Each speaks of recipes of any length. Exact.
"""

from __future__ import annotations

from collections.abc import Sequence

from verify.construct.recipes.chords import corners_of, uncrossed
from verify.construct.recipes.lines import Ink, Mirror, bisectors
from verify.construct.recipes.start import Start
from verify.exact.plane import Point, locate
from verify.pattern.subdivision import place_text


def no_recipe(start: Start) -> str:
    """Why no sequence of simple folds, of all layers or of some, frees the target; an empty text if the theorem does
    not say so.

    Of a part of the outline that no line parts without meeting it, the first crease that stays to the end runs straight
    through the part, and is a line of symmetry near each place where it meets the outline.
    """
    corners = uncrossed(start)
    if not corners:
        return ""
    whole = len(corners) == len(corners_of(start.picture.ink))
    across = "figure" if whole else f"outline at {_told(start, corners)}"
    return (
        f"no straight line across the {across} meets its sides only at right angles and its corners only along their "
        "bisectors, as the first crease there must: no simple folds free it, of all layers or of some, however many"
    )


def _told(start: Start, corners: Sequence[Point]) -> str:
    """Two or three corners by their names, and how many more there are."""
    names = [start.document.told(name) for name, place in start.places.items() if place in corners]
    names += [place_text(place) for place in corners if place not in start.places.values()]
    shown = names if len(names) <= 3 else [*names[:2], f"{len(names) - 2} more corners"]
    return " and ".join(filter(None, (", ".join(shown[:-1]), shown[-1])))


def no_all_layers_recipe(start: Start) -> str:
    """Why no sequence of all-layers folds, however long, frees the target; an empty text if the theorem, that the first
    to divide a piece of the figure runs along its line of symmetry, does not say so.
    """
    if not start.pieces or not margin_all_round(start) or all(map(mirror_lines, start.pieces)):
        return ""
    what = "the figure has" if len(start.pieces) == 1 else "a piece of the figure has"
    return f"{what} no line of symmetry, and there is paper all round it: no all-layers folds free it, however many"


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
