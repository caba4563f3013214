"""Exact numbers and exact plane geometry: what every other part computes with."""

import sys

from verify.room import Room

sys.modules[__name__].__class__ = Room  # called, the package is the command `exact`
