"""The command `creaseproof`: each module holds the commands of one kind and adds them to the group `main`."""

from verify.cli import certify, compare, construct, exact, picture, recipes
from verify.cli.frame import main

__all__ = ["certify", "compare", "construct", "exact", "main", "picture", "recipes"]
