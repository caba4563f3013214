"""Patterns that are proposed, never proved: for a target, or exact ones near a rounded drawing."""

import sys

from verify.room import Room

sys.modules[__name__].__class__ = Room  # called, the package is the command `construct`
