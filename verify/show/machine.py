"""Lines for machines that cut and score: SVG and DXF in true mm, a layer for each thing to do.

`cut`: the sheet's outline with its holes; `score mountain`, `score valley`: the folds (some machines score valleys from
the other side); `target`: what the scissors free later, for orientation, and not to be cut by the machine. Straight
lines are whole, lengths those of the document, rounded to double precision.
"""

from __future__ import annotations

import io
from typing import Literal

from verify.errors import CreaseproofError, optional
from verify.exact.plane import Point
from verify.pattern.document import IN_MM
from verify.pattern.limits import LimitReached
from verify.tasks.certify import Result, Source, result_of

LAYERS = ("cut", "score mountain", "score valley", "target")
_COLOUR = {"cut": "#000000", "score mountain": "#b34700", "score valley": "#00509d", "target": "#999999"}
_INDEX = {"cut": 7, "score mountain": 30, "score valley": 5, "target": 8}  # of the colour, in DXF
_MARGIN = 5.0  # mm round the sheet in SVG

XY = tuple[float, float]
Stroke = tuple[XY, XY]


class NotCertified(CreaseproofError, ValueError):
    """Only certified documents go to a machine."""


def machine_lines(result: Result) -> dict[str, list[Stroke]]:
    """The straight lines of each layer, in mm, y up. Raises `NotCertified`."""
    s = result.subdivision
    if result.verdict != "certified" or s is None:
        raise NotCertified(
            f"{result.document.source}: found a {result.document.noun} that is {result.verdict}; expected a certified "
            "one, since no other goes to a machine (creaseproof certify says what is wrong)"
        )
    edges: dict[str, list[int]] = {layer: [] for layer in LAYERS}
    for number, e in enumerate(s.edges):
        kind: str = e.kind
        if kind == "either" and result.order is not None:
            kind = result.order.assignment(number)
        if kind == "border":
            edges["cut"].append(number)
        elif kind in ("mountain", "valley"):
            edges[f"score {kind}"].append(number)
        if e.is_cut:
            edges["target"].append(number)
    unit = float(IN_MM[result.document.unit])

    def place(p: Point) -> XY:
        try:
            return float(p.x) * unit, float(p.y) * unit
        except OverflowError:
            raise LimitReached("size of a drawing", "", "a place is beyond floats") from None

    return {
        layer: [(place(s.vertices[a]), place(s.vertices[b])) for a, b in s.straight(numbers)]
        for layer, numbers in edges.items()
    }


def export(source: Source, kind: Literal["svg", "dxf"] = "svg") -> str:
    """The lines of a certified pattern (a result, a document or the file of one) in mm, as the text of an SVG or a DXF
    file. They are rounded; the proof is of the document, not of them. Raises `NotCertified`, `NotInstalled` without
    ezdxf, `ValueError` for another kind.
    """
    if kind not in ("svg", "dxf"):
        raise ValueError(f"found the kind {kind!r}; expected 'svg' or 'dxf'")
    result = result_of(source)
    return machine_dxf(result) if kind == "dxf" else machine_svg(result)


def machine_svg(result: Result) -> str:
    """The lines as SVG: width and height in mm, a group for each layer, y down as SVG has it."""
    lines = machine_lines(result)
    xs = [x for line in lines["cut"] for x, _ in line]
    ys = [y for line in lines["cut"] for _, y in line]
    left, top = min(xs) - _MARGIN, max(ys) + _MARGIN
    width, height = max(xs) - min(xs) + 2 * _MARGIN, max(ys) - min(ys) + 2 * _MARGIN
    size = f'width="{width!r}mm" height="{height!r}mm" viewBox="0 0 {width!r} {height!r}"'
    rows = [f'<svg xmlns="http://www.w3.org/2000/svg" {size}>']
    for layer in LAYERS:
        rows.append(f'<g id="{layer.replace(" ", "-")}" fill="none" stroke="{_COLOUR[layer]}" stroke-width="0.1">')
        for (ax, ay), (bx, by) in lines[layer]:
            rows.append(f'<line x1="{ax - left!r}" y1="{top - ay!r}" x2="{bx - left!r}" y2="{top - by!r}"/>')
        rows.append("</g>")
    return "\n".join([*rows, "</svg>", ""])


def machine_dxf(result: Result) -> str:
    """The lines as DXF (R2010, millimetres). Raises `NotInstalled` without ezdxf, `NotCertified`."""
    lines = machine_lines(result)
    ezdxf = optional("ezdxf", "machine", "DXF")
    drawing = ezdxf.new("R2010")
    drawing.units = ezdxf.units.MM
    for layer in LAYERS:
        drawing.layers.add(layer, color=_INDEX[layer])
        for a, b in lines[layer]:
            drawing.modelspace().add_line(a, b, dxfattribs={"layer": layer})
    text = io.StringIO()
    drawing.write(text)
    return text.getvalue()
