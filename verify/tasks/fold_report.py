"""What `creaseproof fold` says: each step, what is really cut, how far off, how thick the stack."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict
from itertools import pairwise
from math import atan2, degrees
from typing import Any

from verify.cutting.bending import cut_outline
from verify.cutting.cut import LAYERS_IN_PRACTICE
from verify.cutting.deviation import Deviation, deviation
from verify.cutting.outcome import Outline
from verify.cutting.tolerance import THICKNESS_MM, stack_thickness
from verify.exact.plane import Point, advance, difference, dot, polygon_area2, with_neighbours
from verify.pattern.names import texts_of
from verify.pattern.recipe import Recipe
from verify.tasks.certify import Result
from verify.words.cut_findings import THICK
from verify.words.findings import counted, length_text, rounded
from verify.words.step_findings import in_plain


class FoldReport:
    """A carried-out recipe in words and in plain keys. Assumes a result whose steps were carried out or refused."""

    def __init__(self, recipe: Recipe, result: Result) -> None:
        if result.carried is None:
            raise ValueError("the recipe was not carried out")
        self.recipe, self.result, self.folded = recipe, result, result.carried
        self._name = self.folded.fold_map.subdivision.place_name
        one_cut = recipe.snips in (None, 1)
        self.cut: Outline | None = cut_outline(self.folded) if one_cut else None
        if not one_cut and self._exact:
            self.cut = self.target
        self.deviation: Deviation | None = None
        if self.cut is not None and recipe.has_target and self.cut.segments() and not self._exact:
            self.deviation = deviation(self.cut, self.target)

    @property
    def _exact(self) -> bool:
        return self.result.cutting is not None and self.result.cutting.exact

    @property
    def target(self) -> Outline:
        """The document's target as an outline."""
        places = self.folded.drawing.places
        lists = (self.recipe.loops, self.recipe.paths)
        loops, paths = (tuple(tuple(places[n] for n in names) for names in some) for some in lists)
        return Outline(loops, paths, ())

    def lines(self) -> Iterator[str]:
        yield from (f"  {line}" for line in in_plain(self.folded, self.result.findings))
        yield from self.outcome()

    def outcome(self) -> Iterator[str]:
        """What is really cut, a line at a time."""
        if self.cut is not None:
            yield from self._cut_lines(self.cut)
        if self.deviation is not None:
            yield from self._miss_lines(self.deviation)
        most = self.result.layers_met
        if most:
            height = stack_thickness(most)
            yield (
                f"  the scissors meet {counted(most, 'layer')}: about {height:.2g} mm of paper "
                f"({THICKNESS_MM:g} mm a sheet, typical of office paper, no standard)"
            )
            if most > LAYERS_IN_PRACTICE and self.result.cutting is None:  # else the findings say so
                yield f"  note: {most} layers; {THICK}"

    def _cut_lines(self, cut: Outline) -> Iterator[str]:
        unit = self.recipe.unit
        if not cut.segments() and not cut.along_edge:
            yield "  the cut line meets no paper: nothing is cut"
        for number, loop in enumerate(cut.loops, start=1):
            area = abs(polygon_area2(loop)) / 2
            yield f"  cut outline {number}: {len(loop)} corners, area {rounded(area)} {unit}²"
            ring = loop if polygon_area2(loop).sign() > 0 else loop[::-1]
            for a, b, c in with_neighbours(ring):
                yield f"    {self._name(b)}: {_corner(a, b, c)}, then {length_text(advance(b, c, c), unit)}"
        for number, path in enumerate(cut.paths, start=1):
            ends = f"from {self._name(path[0])} to {self._name(path[-1])}"
            yield f"  cut line {number}, {ends}: {counted(len(path) - 1, 'straight piece')}"
            for k, (a, b) in enumerate(pairwise(path)):
                turn = "" if k == 0 else f"{_corner(path[k - 1], a, b)}, then "
                yield f"    {self._name(a)}: {turn}{length_text(advance(a, b, b), unit)}"
        if cut.along_edge:
            part = "part of the cut" if cut.segments() else "the cut"
            yield f"  {part} runs along the sheet's own edge and cuts nothing there"

    def _miss_lines(self, miss: Deviation) -> Iterator[str]:
        unit = self.recipe.unit
        low, high = (f"{float(distance):.6g}" for distance in (miss.least, miss.most))
        far = low if low == high else f"{low} to {high}"
        yield f"  the cut misses the figure: greatest distance between the outlines {far} {unit} (proved)"
        if miss.corners:
            corner = max(miss.corners, key=lambda c: abs(c.angle_error_degrees))
            edge = max(miss.edges, key=lambda e: abs(e.length_error))
            yield (
                f"  worst angle off by {abs(corner.angle_error_degrees):.4g}° (corner {corner.corner + 1}), "
                f"worst side by {abs(edge.length_error):.4g} {unit} (side {edge.edge + 1})"
            )

    def keys(self) -> dict[str, Any]:
        keys: dict[str, Any] = self.result.keys()
        if self.cut is not None:
            lines = {"loops": self.cut.loops, "paths": self.cut.paths}
            keys["cut"] = {name: [list(map(texts_of, line)) for line in some] for name, some in lines.items()}
        if self.deviation is not None:
            d = self.deviation
            keys["deviation"] = {
                "at_least": str(d.least),
                "at_most": str(d.most),
                "edges": [asdict(edge) for edge in d.edges],
                "corners": [asdict(corner) for corner in d.corners],
            }
        return keys


def _corner(a: Point, b: Point, c: Point) -> str:
    """The inner angle at b of an outline walked counter-clockwise."""
    u, v = difference(c, b), difference(a, b)
    turn = degrees(atan2(float(u.x * v.y - u.y * v.x), float(dot(u, v)))) % 360
    return f"{turn:.6g}°"
