"""The command `creaseproof`: each module holds the commands of one kind and adds them to the group `main`."""

from verify.cli import (
    certify,
    compare,
    construct,
    drawing_in,
    exact,
    picture,
    recipes,
)
from verify.cli.frame import main

__all__ = [
    "certify",
    "compare",
    "construct",
    "drawing_in",
    "exact",
    "main",
    "picture",
    "recipes",
]
