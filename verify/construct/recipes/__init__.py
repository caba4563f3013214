"""Recipes from targets: the shortest lists of simple folds after which one straight cut frees the target, by search."""
