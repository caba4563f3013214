"""From a pattern to steps: simple folds where they lead to the folded state, else an order in which to crease and to collapse.

stages(pattern)     the paper from flat to folded, by stages that each lie flat; what to crease beforehand
"""

from verify.construct.steps.collapse import Precrease, Stage, Stages, stages, stages_to

__all__ = ["Precrease", "Stage", "Stages", "stages", "stages_to"]
