"""The outcome of a search for a recipe: `RecipeFound`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

from verify.construct.recipes.edges import Edge
from verify.construct.recipes.near import Variant
from verify.cutting.hands import Hands
from verify.pattern.document import Document
from verify.pattern.recipe import Recipe
from verify.tasks.certify import Result
from verify.words.findings import answer, counted, enumerated

Shown = Literal["shortest", "found", "none", ""]
HALVES = "since a fold at most halves the number of lines"


def ending_at(edges: Sequence[Edge]) -> str:
    """On which edges a sheet ends at the figure."""
    return f"the sheet ends at the figure on the {enumerated(edges)}"


def in_vain(sheets: int) -> str:
    """That so many sheets with less paper, too, were tried in vain."""
    return f"nor was one found for a sheet that ends at sides of the figure ({counted(sheets, 'sheet')} tried)"


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
    `moved`: what was moved, if `recipe` is for a figure near the document's; `edges`: the edges on which the sheet ends
    at the figure, if it is for less paper; `unmoved`: then the folds of the recipe that was found of the document's own
    figure and sheet, 0 if none was. `near_it`, `sheets`: how many figures near it, and smaller sheets, were tried in
    vain.
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
    edges: tuple[Edge, ...] = ()
    unmoved: int = 0
    forbidden: bool = False
    exists: bool = False
    too_thick: tuple[int, int] = (0, 0)
    longer: int = 0
    near_it: int = 0
    sheets: int = 0

    @property
    def layers(self) -> int:
        """How many layers the scissors meet at most."""
        return self.result.layers_met if self.result is not None else 0

    @property
    def hands(self) -> Hands | None:
        return self.result.hands if self.result is not None else None

    @property
    def needs_no_fold(self) -> bool:
        """Whether the figure is free once the flat sheet is cut, so that there are no folds to find."""
        return self.shown == "none" and not self.least

    @property
    def is_hard(self) -> bool:
        """Whether hands are warned of what was found."""
        return self.result is not None and any(f.check == "hands" for f in self.result.warnings)

    def words(self) -> str:
        """What was shown, in one sentence. No stronger than that."""
        folds = counted(self.folds, "fold")
        if self.shown == "shortest" and self.folds == self.least:
            return f"{folds}: no recipe of simple folds is shorter, {HALVES}"
        if self.shown == "shortest":
            thick = f" with at most {self.thick} layers at the cut" if self.thick else ""
            return f"{folds}: there is no shorter recipe{thick} of {', nor of '.join(self.families)}: all were tried"
        if self.shown == "found":
            return f"{folds}; a shorter recipe is not ruled out"
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
            said.append("all-layers folds do free it: more of them, or some that first fold blank paper out of the way")
        if self.too_thick[0]:
            found, layers = self.too_thick
            were = "recipe was" if found == 1 else "recipes were"
            said.append(f"{found:,} {were} found with more layers at the cut than allowed, the fewest {layers}")
        if self.longer:
            said.append(f"{counted(self.longer, 'fold')}, more than allowed, seem to free it: no certificate was tried")
        if self.sheets:
            said.insert(0, in_vain(self.sheets))
        if self.near_it:
            said.insert(0, f"nor was one found in time for any of {counted(self.near_it, 'figure')} near it")
        return said

    def why_moved(self) -> str:
        """Why a figure near the drawing, or less paper, was taken; an empty text if none was."""
        if self.moved is None and not self.edges:
            return ""
        if self.unmoved:
            return f"for the drawing as it is, {counted(self.unmoved, 'fold')} were found"
        return "for the drawing as it is, no recipe was found"

    def moves(self) -> list[str]:
        """What of the drawing was moved, and by how much; nothing if the recipe is of the drawing as it is."""
        if self.edges:
            return [ending_at(self.edges)]
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
            "sheets": self.sheets,
            "none_by": ("theorem" if self.forbidden else "search") if self.shown == "none" and self.least else None,
            "moved": self.moves(),
            "edges": list(self.edges),
            "why_moved": self.why_moved(),
        }
