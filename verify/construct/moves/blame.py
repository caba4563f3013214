"""What would help where nothing was constructed: nearly equal strokes along the lines to blame.

Distances that are nearly equal, and not equal, are what makes perpendiculars run back and forth and creases many. In
floats, for people: what is said may help, no more.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from math import dist

from verify.construct.moves.trials import SNAP_MM
from verify.pattern.document import IN_MM, Document
from verify.pattern.drawing import draw

_PARALLEL = 1e-3  # radians
_ALIKE = 0.2  # of the wider one
_SAME = 1e-6
_MIRRORED = 0.08  # of the figure's extent: so far may a corner be from the mirror image of another (our own choice)
_MOST = 100  # lines looked at

Line = tuple[str, str]


@dataclass(frozen=True)
class Bar:
    """Two parallel target lines that face each other, and how far apart they are, in the document's unit."""

    one: Line
    other: Line
    width: float


def uneven(document: Document, lines: Sequence[Line]) -> tuple[Bar, Bar] | None:
    """Of the strokes along some lines the two that are most nearly equally wide, and are not by more than `construct`
    makes up for by itself.
    """
    least = float(SNAP_MM / IN_MM[document.unit])
    by_width = sorted(facing_lines(document, lines[:_MOST]), key=lambda stroke: stroke.width)
    pairs = [(b.width - a.width, a, b) for a, b in pairwise(by_width) if least < b.width - a.width < _ALIKE * b.width]
    return min(pairs, key=lambda pair: pair[0])[1:] if pairs else None


def helpful(document: Document, lines: Sequence[Line]) -> str:
    """What to change at the lines to blame; nothing where none are."""
    if not lines:
        return ""
    mirrored = nearly_mirrored(document)
    if mirrored:
        return f"the figure's {mirrored} are nearly mirror images: making them exact ones may help"
    pair = uneven(document, lines)
    if pair is None:
        return "equal distances between these lines may help"
    said = " and ".join(
        f"between {document.told_line(*s.one)} and {document.told_line(*s.other)} ({s.width:.4g} {document.unit})"
        for s in pair
    )
    return f"it may help to make the distances {said} equal"


def nearly_mirrored(document: Document) -> str:
    """The halves of the target that are nearly mirror images of each other, and no halves quite; else an empty text."""
    drawn = draw(document).places
    places = [(float(drawn[n].x), float(drawn[n].y)) for n in {n for line in document.target_lines() for n in line}]
    spans = [(min(along), max(along)) for along in zip(*places, strict=True)]
    size = max(high - low for low, high in spans)
    off = []
    for axis, twice in enumerate(map(sum, spans)):
        images = [tuple(twice - z if i == axis else z for i, z in enumerate(place)) for place in places]
        off.append(max(min(dist(image, place) for place in places) for image in images) / size)
    near = min(off)
    if not _SAME < near < _MIRRORED:
        return ""
    return "left and right halves" if off[0] == near else "upper and lower halves"


def facing_lines(document: Document, lines: Sequence[Line]) -> list[Bar]:
    """The pairs of the lines that are parallel and face each other."""
    at = {name: complex(float(p.x), float(p.y)) for name, p in draw(document).places.items()}
    found = []
    for one, other in combinations([line for line in lines if line[0] in at and line[1] in at], 2):
        (a, b), (c, d) = ((at[x], at[y]) for x, y in (one, other))
        size = abs(b - a)
        if a == b or c == d or abs(((d - c) / (b - a)).imag) * size > _PARALLEL * abs(d - c):
            continue
        starts, ends = ((p - a) / (b - a) for p in (c, d))  # 0 at a, 1 at b
        low, high = sorted((starts.real, ends.real))
        if abs(starts.imag) > _SAME and low < 1 and high > 0:
            found.append(Bar(one, other, abs(starts.imag) * size))
    return found
