"""`count --list`: the layer orders of a pattern, one by one, each with its certificate."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import islice

from verify.certificate.evidence import Evidence, Json
from verify.construct.creases.propose import assigned
from verify.cutting.cut import cut
from verify.folding.count import layer_orders
from verify.folding.crossing import crossing_conditions
from verify.folding.foldmap import fold_map
from verify.folding.overlaps import Overlaps
from verify.folding.stack import LayerOrder, order_of_relation, renumbered
from verify.pattern.arrangement import subdivide
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.pattern.limits import Clock, Limits, Progress, silent
from verify.tasks.certify import proved


def orders(
    document: Document, most: int, limits: Limits = Limits(), progress: Progress | None = None
) -> Iterator[tuple[Document, Json]]:
    """The layer orders of a pattern, at most `most`: for each the pattern with its mountains and valleys, and a
    certificate, accepted by the kernel, that it folds flat in just this order, and of the cut if that is exact (else
    the target is left out).

    Nothing comes if the pattern does not fold. Different orders may have the same mountains and valleys. Raises
    `Malformed`, `LimitReached`.
    """
    in_time = Clock(limits.seconds, "not all layer orders were listed")
    document = replace(document, raw=None, is_toml=False)
    folded = fold_map(subdivide(draw(document, limits), limits))
    if not folded.exists:
        return
    if document.snips is not None and not cut(Overlaps(folded), document.snips).exact:
        document = replace(document, loops=(), paths=(), figure=(), snips=None)
        folded = fold_map(subdivide(draw(document, limits), limits))
    s = folded.subdivision
    found = layer_orders(crossing_conditions(Overlaps(folded), limits), in_time)
    for number, order in enumerate(islice(found, most), start=1):
        (progress or silent)(f"layer order {number:,}")
        pattern = assigned(document, s, order)
        yield pattern, _certificate(pattern, order, limits)


def _certificate(pattern: Document, order: LayerOrder, limits: Limits) -> Json:
    """A certificate for the assigned pattern, its faces found again by their corners."""
    fresh = subdivide(draw(pattern, limits), limits)
    folded = fold_map(fresh)
    overlaps = Overlaps(folded)
    same = order_of_relation(overlaps, renumbered(order, overlaps))
    cutting = None if pattern.snips is None else cut(overlaps, pattern.snips)
    certificate = Evidence(fresh).certified(folded, same, cutting)
    proved(pattern, certificate)
    return certificate
