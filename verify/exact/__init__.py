"""Exact numbers and exact plane geometry: what every other part computes with.

- ``number``, ``algebraic``: rational numbers and elements of real number fields; a sign is always decided.
- ``numberfield``: a real number field Q(alpha); ``tower``: with the way it was built, so that it can grow.
- ``expression``: the numbers a person writes, as a tree; never evaluated as code.
- ``field``: one field that holds all the numbers of a document, and what a kernel needs to check it.
- ``plane``: points, orientations, meetings of segments, polygons.
- ``batch``: the same for many points at once (imports numpy).
"""

import sys

from verify.room import Room

sys.modules[__name__].__class__ = Room  # called, the package is the command `exact`
