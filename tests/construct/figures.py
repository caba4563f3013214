"""Figures to cut, on rectangular sheets with paper round them."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

import verify
from verify.pattern.document import Document

Place = tuple[int | str | Fraction, int | str | Fraction]


def figure(*loops: Sequence[Place], margin: int = 20) -> Document:
    """Loops on a rectangular sheet with so much paper round them."""
    places = [p for loop in loops for p in loop]
    xs, ys = ([Fraction(p[i]) for p in places] for i in (0, 1))
    left, right, low, high = min(xs) - margin, max(xs) + margin, min(ys) - margin, max(ys) + margin
    points = {"sw": (left, low), "se": (right, low), "ne": (right, high), "nw": (left, high)}
    names = []
    for k, loop in enumerate(loops):
        names.append([f"p{k}{i}" for i in range(len(loop))])
        points |= dict(zip(names[-1], loop, strict=True))
    document = verify.read({
        "format": "creaseproof-pattern/1",
        "points": {name: [str(x), str(y)] for name, (x, y) in points.items()},
        "sheet": {"outline": ["sw", "se", "ne", "nw"]},
        "target": {"loops": names},
    })  # fmt: skip
    assert isinstance(document, Document)
    return document
