"""Advice that a target gives by itself, before anything is folded."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, product

from verify.exact.plane import around, polygon_is_simple, segment_meeting
from verify.pattern.document import Document
from verify.pattern.drawing import Drawing, draw
from verify.pattern.limits import LimitReached
from verify.pattern.source import Malformed
from verify.words.findings import Finding

_FEW = 60  # corners, of which each two sides are compared


_OPEN = ("open-target", "unnamed-pieces")  # said better by the advice on an end that was meant to meet another


def findings_on_target(document: Document) -> list[Finding]:
    """What `cut_findings` says of the target alone; nothing where it cannot be drawn, which others say."""
    try:
        drawing = draw(replace(document, creases=()))
        if is_plain(drawing):
            return []
        from verify.cutting.pieces import pieces  # slow to load
        from verify.pattern.arrangement import subdivide
        from verify.words.cut_findings import of_loose_end, of_target

        s = subdivide(drawing)
        loose = [*of_loose_end(drawing)] if document.paths else []
        return [*loose, *(found for found in of_target(s, pieces(s)) if not (loose and found.kind in _OPEN))]
    except (Malformed, LimitReached):
        return []


def advice_on_target(document: Document) -> list[str]:
    """The same in words."""
    return [found.message for found in findings_on_target(document)]


def is_plain(drawing: Drawing) -> bool:
    """Whether the target is a few closed outlines that touch neither themselves nor each other: there is no advice on
    those. Exact; False says nothing.
    """
    document = drawing.document
    if document.paths or not document.loops or sum(map(len, document.loops)) > _FEW:
        return False
    outlines = [[drawing.places[name] for name in loop] for loop in document.loops]
    if any(polygon_is_simple(outline) is not None for outline in outlines):
        return False
    sides = (product(around(one), around(two)) for one, two in combinations(outlines, 2))
    return all(segment_meeting(*a, *b) is None for pairs in sides for a, b in pairs)
