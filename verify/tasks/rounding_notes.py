"""Notes on what fails and is no more than the rounding of the drawing's numbers explains."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import replace

from verify.cutting.cut import Cut, distance_squared
from verify.exact.plane import length, root_float
from verify.folding.vertex import VertexReport, nearly_folds
from verify.pattern.document import Document
from verify.pattern.rounding import looks_rounded, rounding, shown, strays, turned_by
from verify.pattern.source import Malformed
from verify.pattern.subdivision import Subdivision
from verify.words.findings import Finding, finding


def of_pattern(s: Subdivision, reports: Sequence[VertexReport], cutting: Cut | None) -> Iterator[Finding]:
    """The note on angles at a vertex or, if all add up, on target lines that the cut misses."""
    defects = []
    for report in reports:
        if report.kawasaki is False and report.defect is not None:
            lengths = [length(*s.segment(s.edges[e])) for e in report.folds]
            defects.append((abs(float(report.defect.degrees())), len(report.folds), min(lengths)))
    misses = _misses(cutting) if cutting is not None and not defects else []
    if looks_rounded(s.drawing.document.numbers, defects, misses):
        yield finding("looks-rounded")


def of_angles(s: Subdivision, reports: Sequence[VertexReport]) -> Iterator[Finding]:
    """The note on vertices that do not fold, and would if their nearly equal angles were equal."""
    texts = s.drawing.document.numbers
    unit = shown(texts) or rounding(texts)
    if unit == 1 and shown(texts) is None:
        return
    stuck = [r for r in reports if r.completions == 0 and r.kawasaki is not False]
    for report in stuck:
        shortest = min(length(*s.segment(s.edges[e])) for e in report.folds)
        # two angles differ by the turns of four folds, or of three of which one counts twice
        if not nearly_folds(report, 4 * turned_by(float(unit), shortest)):
            return
    if stuck:
        yield finding("looks-rounded", [s.name(r.vertex) for r in stuck], says="angles")


def of_recipe(cutting: Cut) -> list[Finding]:
    """The note on target lines that the folds of a recipe miss."""
    is_rounded = looks_rounded(cutting.overlaps.subdivision.drawing.document.numbers, (), _misses(cutting))
    return [finding("looks-rounded", says="recipe")] if is_rounded else []


def of_strays(document: Document, certifies: Callable[[Document], bool]) -> Finding | None:
    """The note on the points that alone are off the grid, if the document is certified with them on it."""
    points = document.points
    tried = [points]
    for coarsest in (0, -1):  # then tens
        on_grid = strays(document.numbers, coarsest)
        moved = {n: (on_grid.get(x, x), on_grid.get(y, y)) for n, (x, y) in points.items()}
        if moved in tried:
            continue
        tried.append(moved)
        with suppress(Malformed):
            if certifies(replace(document, points=moved, raw=None)):
                names = tuple(name for name, pair in points.items() if moved[name] != pair)
                places = " and ".join(f"{name} at ({moved[name][0]}, {moved[name][1]})" for name in names)
                return finding("looks-rounded", names, says="strays", places=places)
    return None


def _misses(cutting: Cut) -> list[tuple[float, float]]:
    """How far each target line that is missed is off the cut line, and how long it is drawn."""
    s = cutting.overlaps.subdivision
    return [
        (root_float(distance_squared(cutting, e)), length(*s.drawing.target[s.edges[e].target[0]]))
        for e in cutting.missed
    ]
