"""From a pattern to steps: simple folds where they lead to the folded state, else an order in which to crease and to
collapse.
"""
