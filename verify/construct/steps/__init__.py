"""From a pattern to steps: simple folds where they lead to the folded state, else an order in which to crease and to
collapse.

find_sequence(s)    simple folds, in one of six models, that lead to the folded state; recipe_of() writes them down
stages(pattern)     the paper from flat to folded, by stages that each lie flat; what to crease beforehand
"""

from verify.construct.steps.collapse import Precrease, Stage, Stages, stages, stages_to
from verify.construct.steps.models import MODELS, WORDS, Model
from verify.construct.steps.search import STATES, Sequence, find_sequence
from verify.construct.steps.written import NotWritten, folds_exactly, recipe_of

__all__ = [
    "MODELS",
    "STATES",
    "WORDS",
    "Model",
    "NotWritten",
    "Precrease",
    "Sequence",
    "Stage",
    "Stages",
    "find_sequence",
    "folds_exactly",
    "recipe_of",
    "stages",
    "stages_to",
]
