"""The models of simple folds: how many of the layers at a fold line bend in one fold.

They are those of Akitaya, Demaine and Ku (Simple folding is really hard, 2017), by their names, after Arkin et al.
(When can you fold a map?, 2004). A simple fold turns part of the folded paper about one line by 180°, over or behind,
so that nothing that stays is in the way. What each model says of the layers that cross the line is our reading, stated
in proofs/theory/simple-folds.md.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal, get_args

Model = Literal[
    "one-layer", "some-layers", "all-layers", "infinite-one-layer", "infinite-some-layers", "infinite-all-layers"
]
MODELS: tuple[Model, ...] = get_args(Model)

WORDS: dict[Model, str] = {
    "one-layer": "simple folds that bend one layer",
    "some-layers": "simple folds of any layers from the top or from below",
    "all-layers": "simple folds that bend all layers where they bend any",
    "infinite-one-layer": "simple folds that bend one layer wherever paper crosses the line",
    "infinite-some-layers": "simple folds that bend at least one layer wherever paper crosses the line",
    "infinite-all-layers": "simple folds that bend every layer that crosses the line",
}


def allows(model: Model, places: Iterable[tuple[int, int]]) -> bool:
    """Whether a fold is one of the model; `places`: along its line, how many layers bend of how many that cross (of
    these at least 1).
    """
    match model:
        case "one-layer":
            return all(bent <= 1 for bent, _ in places)
        case "some-layers":
            return True
        case "all-layers":
            return all(bent in (0, crossing) for bent, crossing in places)
        case "infinite-one-layer":
            return all(bent == 1 for bent, _ in places)
        case "infinite-some-layers":
            return all(bent >= 1 for bent, _ in places)
        case "infinite-all-layers":
            return all(bent == crossing for bent, crossing in places)
