"""A figure that is nearly a regular polygon or a regular star, made one, with exact numbers."""

from __future__ import annotations

from cmath import exp, phase, pi
from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from math import ceil, log10

from verify.construct.coordinates.symmetry import ORDERS
from verify.exact.number_text import rational_text
from verify.exact.plane import around
from verify.pattern.document import Document
from verify.pattern.drawing import Drawing, draw
from verify.pattern.limits import LimitReached
from verify.pattern.source import Malformed

# Of the figure's size: how far a corner may be from where it belongs (our own choice, no source); less where there are
# few corners, since many triangles and quadrangles are meant to be what they are.
_SHARE, _SHARE_OF_FEW = 1 / 50, 1 / 200
_DIGITS = 4  # of centre and radii
_NAMES = {3: "an equilateral triangle", 4: "a square"}
_QUARTERS = {"cos": (1, 0, -1, 0), "sin": (0, 1, 0, -1)}  # of the multiples of a right angle


def stars_near(document: Document) -> Iterator[tuple[Document, str, float]]:
    """The document with its only outline made a regular polygon, or a regular star whose corners lie in turn on two
    circles, upright or level; what it is, and how far a corner was moved at most, in the document's unit. Nothing if it
    is not nearly so. The numbers are exact; which they are is guessed in floats.
    """
    names = only_outline(document)
    if not names:
        return
    flat = replace(document, creases=())
    corners = _places(draw(flat), names)
    centre = sum(corners) / len(corners)
    if centre in corners:  # it is on no circle
        return
    size = max(abs(one - other) for one in corners for other in corners)
    digits = max(0, _DIGITS - ceil(log10(size)))
    kinds = [(1, _NAMES.get(len(names), f"a regular polygon of {len(names)} sides"))]
    kinds += [(2, f"a regular star of {len(names) // 2} points")] * (len(names) % 2 == 0 and len(names) > 4)
    for circles, what in kinds:
        if len(names) // circles not in ORDERS:
            continue
        points = dict(zip(names, _on_circles(corners, centre, circles, digits), strict=True))
        moved = replace(flat, points={**document.points, **points}, raw=None)
        try:
            now = _places(draw(moved), names)
        except (Malformed, LimitReached):
            continue
        far = max(abs(there - here) for there, here in zip(now, corners, strict=True))
        if far <= (_SHARE if len(names) > 4 else _SHARE_OF_FEW) * size:
            yield replace(moved, creases=document.creases), what, far
            return


def only_outline(document: Document) -> tuple[str, ...]:
    """The target's corners, where it is one closed outline and none of them is a corner of the sheet; else none."""
    names = document.loops[0] if len(document.loops) == 1 and not document.paths else ()
    on_sheet = {name for loop in (document.outline, *document.holes) for name in loop}
    return names if on_sheet.isdisjoint(names) else ()


def _places(drawing: Drawing, names: Sequence[str]) -> list[complex]:
    """Where points lie, as x + iy. In floats."""
    return [complex(*map(float, drawing.places[name])) for name in names]


def _on_circles(corners: Sequence[complex], centre: complex, circles: int, digits: int) -> list[tuple[str, str]]:
    """The corners in turn on so many circles round a centre, at equal angles; one of them, or the middle between two,
    upright or level.
    """
    count = len(corners)
    spokes = [corner - centre for corner in corners]
    way = 1 if sum(phase(here / before) for before, here in around(spokes)) > 0 else -1
    first = phase(sum(z / abs(z) * exp(-2j * pi * way * k / count) for k, z in enumerate(spokes))) / pi
    step = Fraction(1, count)  # of half a turn: from a corner to the middle between two
    starts = [begin + step * round((first - begin) / step) for begin in (Fraction(0), Fraction(1, 2))]
    start = min(starts, key=lambda angle: abs(angle - first))
    middle = [_rounded(part, digits) for part in (centre.real, centre.imag)]
    radii = [_rounded(sum(map(abs, spokes[k::circles])) * circles / count, digits) for k in range(circles)]
    found = []
    for k in range(count):
        angle = (start + way * Fraction(2 * k, count)) % 2
        x, y = (_text(part, radii[k % circles], what, angle) for part, what in zip(middle, ("cos", "sin"), strict=True))
        found.append((x, y))
    return found


def _rounded(value: float, digits: int) -> Fraction:
    return Fraction(round(value * 10**digits), 10**digits)


def _text(middle: Fraction, radius: Fraction, what: str, angle: Fraction) -> str:
    """A coordinate of a corner, at an angle in half turns."""
    if (2 * angle).denominator == 1:
        return rational_text(middle + radius * _QUARTERS[what][int(2 * angle)])
    times = "" if angle.numerator == 1 else f"{angle.numerator}*"
    return f"{rational_text(middle)}+{rational_text(radius)}*{what}({times}pi/{angle.denominator})"
