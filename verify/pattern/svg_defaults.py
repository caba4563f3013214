"""What is taken of an SVG drawing that does not say it: how large it is, and how much sheet is round it."""

from __future__ import annotations

from typing import Literal

MARGIN = 10
"""Millimetres of sheet left round a drawn target, unless another margin or an outline is given."""

SIZE = 120
"""Millimetres in the longer side of a drawing that has a `viewBox` and states no size, unless a width is given."""

Strokes = Literal["follow", "outline"]
"""Target lines drawn with a width: themselves, or what their strokes paint."""
