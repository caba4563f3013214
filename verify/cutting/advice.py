"""Facts that are no refusal, and that a teacher should know before the scissors close."""

from __future__ import annotations

from typing import NamedTuple

from verify.cutting.cut import Cut
from verify.cutting.pieces import Piece
from verify.exact.plane import root_float
from verify.pattern.document import IN_MM

# Common practice, no source: about a dozen layers of office paper are cut, sixteen are called too thick.
LAYERS_IN_PRACTICE = 12
# Our own choice, no source: a piece narrower than this tears rather than cuts.
SLIVER_MM = 1.0


class Advice(NamedTuple):
    """Target edges that lie on folds (`along_folds`) and on the sheet's edge (`along_sheet`), by number; pieces so
    narrow that they tear, with their width in mm (an estimate); the most `layers` that the cut meets. None of it
    changes the verdict."""

    along_folds: tuple[int, ...]
    along_sheet: tuple[int, ...]
    layers: int
    slivers: tuple[tuple[Piece, float], ...]


def advice(cut: Cut, pieces: list[Piece]) -> Advice:
    """What is worth knowing of a cut."""
    s = cut.overlaps.subdivision
    scale = float(IN_MM[s.drawing.document.unit])
    widths = [(piece, 2 * root_float(piece.area * piece.area) / piece.around * scale) for piece in pieces]
    return Advice(
        tuple(i for i, e in enumerate(s.edges) if e.target and e.is_fold),
        tuple(i for i, e in enumerate(s.edges) if e.target and e.kind == "border"),
        cut.most_layers,
        tuple((piece, width) for piece, width in widths if width < SLIVER_MM),
    )
