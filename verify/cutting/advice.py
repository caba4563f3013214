"""Advice that is no refusal: what a teacher should know before the scissors close."""

from __future__ import annotations

from collections.abc import Iterator

from verify.cutting.cut import Cut
from verify.cutting.pieces import Piece
from verify.exact.plane import root_float
from verify.pattern.document import IN_MM

# Common practice, no source: about a dozen layers of office paper are cut, sixteen are called too thick.
LAYERS_IN_PRACTICE = 12
# Our own choice, no source: a piece narrower than this tears rather than cuts.
SLIVER_MM = 1.0


def advice(cut: Cut, pieces: list[Piece]) -> Iterator[tuple[str, str, list[str]]]:
    """Kind, sentence and names for each thing worth knowing. None of it changes the verdict."""
    s = cut.overlaps.subdivision
    along = [i for i, e in enumerate(s.edges) if e.target and e.is_fold]
    if along:
        names = [s.edge_name(i) for i in along]
        yield (
            "along-a-fold",
            f"the cut runs along a fold at {', '.join(names)}: cut a hair inside the fold, or the layers stay joined",
            names,
        )
    edge = [s.edge_name(i) for i, e in enumerate(s.edges) if e.target and e.kind == "border"]
    if edge:
        yield (
            "along-the-sheets-edge",
            f"the target runs along the edge of the sheet at {', '.join(edge)}: it is cut already",
            edge,
        )
    if cut.most_layers > LAYERS_IN_PRACTICE:
        yield (
            "thick",
            f"the scissors meet {cut.most_layers} layers; common practice stops at about {LAYERS_IN_PRACTICE} "
            "(no standard): thin paper, or a craft knife on a mat",
            [],
        )
    scale = float(IN_MM[s.drawing.document.unit])
    for piece in pieces:
        width = 2 * root_float(piece.area * piece.area) / piece.around * scale
        if width < SLIVER_MM:
            yield (
                "sliver",
                f"a piece of the cut is only about {width:.2g} mm wide near {s.face_name(piece.faces[0])}",
                [s.face_name(piece.faces[0])],
            )
