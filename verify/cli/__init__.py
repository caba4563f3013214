"""The command `creaseproof`: each module holds the commands of one kind and adds them to the group `main`."""

from verify.cli import certify, drawing_in, exact, recipes
from verify.cli.frame import main

__all__ = ["certify", "drawing_in", "exact", "main", "recipes"]
