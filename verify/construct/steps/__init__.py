"""From a pattern to steps: simple folds if they lead to the folded state, or else an order in which to crease and
collapse.
"""
