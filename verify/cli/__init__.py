"""The command `creaseproof`: each module holds the commands of one kind and adds them to the group `main`."""

from verify.cli import certify, construct, exact, picture, recipes
from verify.cli.frame import main

__all__ = ["certify", "construct", "exact", "main", "picture", "recipes"]
