"""What the benchmarks measure: whole pipelines, and medians of one and the other in turn."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

from verify.folding.crossing import Conditions, crossing_conditions
from verify.folding.foldmap import fold_map
from verify.folding.overlaps import Overlaps
from verify.pattern.arrangement import subdivide
from verify.pattern.document import Document
from verify.pattern.drawing import draw


def exact_conditions(document: Document) -> Conditions:
    """The exact geometry: a document's drawing, subdivision, fold map, overlaps and crossing conditions."""
    return crossing_conditions(Overlaps(fold_map(subdivide(draw(document)))))


def size(found: Conditions) -> dict[str, int]:
    """How many of everything there are: what both pipelines must agree on before their times are compared."""
    return {
        "faces": found.pairs.faces,
        "edges": len(found.overlaps.subdivision.edges),
        "overlaps": len(found.pairs),
        "fixed": len(found.fixed),
        "equal": len(found.equal),
        "even": len(found.even),
    }


def medians(rounds: int, *works: Callable[[], object]) -> list[float]:
    """The median processor seconds of each work, taken in turn so that a busy machine slows all alike."""
    taken: list[list[float]] = [[] for _ in works]
    for work in works:
        work()
    for _ in range(rounds):
        for seconds, work in zip(taken, works, strict=True):
            start = time.process_time()
            work()
            seconds.append(time.process_time() - start)
    return [statistics.median(seconds) for seconds in taken]
