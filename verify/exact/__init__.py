"""Exact numbers and exact plane geometry: what every other part computes with.

- ``number``: the rationals and real number fields Q(alpha); a sign is always decided.
- ``expression``: the numbers a person writes, as a tree; never evaluated as code.
- ``field``: one field that holds all the numbers of a document, and what a kernel needs to check it.
- ``plane``: points, orientations, meetings of segments, polygons.
- ``batch``: the same for many points at once (imports numpy).
"""

import sys

from verify.room import Room

sys.modules[__name__].__class__ = Room  # called, the package is the command `exact`
