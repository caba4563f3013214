"""The cut line, the snips, what they meet, and the pieces."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from math import hypot

from verify.cutting.cut import Layers, most
from verify.exact.plane import length
from verify.pattern.subdivision import number_text
from verify.show.labels import Labels
from verify.show.marks import write_name
from verify.show.paper import across
from verify.show.scene import XY, Scene
from verify.show.style import FOLD_WORDS, ROLE_TEXTURE
from verify.show.svg import TEXT, Canvas, num, tag, text, text_width

_MANY_SPOTS = 26
_MANY_PIECES = 60
_ROW_MM = 230.0


def draw_cut(canvas: Canvas, scene: Scene, labels: Labels, a: XY, b: XY) -> None:
    """The one straight cut through two places of the folded plane, with what falls on either side of it."""
    folded = scene.folded or ()
    ends = across(folded, a, b, 10.0)
    canvas.path([ends], "cut")
    canvas.key_line("cut", "cut")
    labels.avoid_lines([ends])
    canvas.reach(ends, 2)
    start, far = ends
    long = hypot(far.x - start.x, far.y - start.y)
    ux, uy = (far.x - start.x) / long, (far.y - start.y) / long
    canvas.add(_scissors(start, ux, uy))
    canvas.reach([XY(start.x - 8 * ux, start.y - 8 * uy)], 4)
    if not scene.result.parts:
        return
    sides: dict[str, Counter[str]] = {"A": Counter(), "B": Counter()}
    for letter, sign in (("A", 1), ("B", -1)):
        place = XY(far.x - 3 * ux - sign * 4.5 * uy, far.y - 3 * uy + sign * 4.5 * ux)
        labels.avoid_box((place.x - 3, place.y - 3, place.x + 3, place.y + 3))
        canvas.reach([place], 3)
        canvas.add(
            tag("circle", cx=place.x, cy=-place.y, r=2.7, class_="note"),
            text(place.x, -place.y + 1.1, letter, "note-text", 3.1, "middle"),
        )
        for piece in scene.result.parts:
            height = max(
                (
                    ux * (folded[v].y - a.y) - uy * (folded[v].x - a.x)
                    for f in piece.faces
                    for v in scene.subdivision.faces[f]
                ),
                key=lambda h: sign * h,
            )
            if sign * height > 1e-6:
                sides[letter][piece.role] += 1
    falls = {
        k: ", ".join(f"{n} × {role}" if n > 1 else role for role, n in v.items()) or "nothing" for k, v in sides.items()
    }
    canvas.note(f"On side A of the line falls: {falls['A']}. On side B: {falls['B']}.")


def _scissors(at: XY, ux: float, uy: float) -> str:
    """A pair of scissors at the start of the cut, pointing along it."""
    frame = f"matrix({num(ux)} {num(-uy)} {num(uy)} {num(ux)} {num(at.x)} {num(-at.y)})"
    blades = "M-4 1.4 L4.2 -0.5 L-3.2 -0.4 M-4 -1.4 L4.2 0.5 L-3.2 0.4"
    handles = tag("ellipse", cx=-5.9, cy=1.9, rx=2.1, ry=1.35, class_="blade") + tag(
        "ellipse", cx=-5.9, cy=-1.9, rx=2.1, ry=1.35, class_="blade"
    )
    return tag("g", handles, tag("path", d=blades, class_="blade"), transform=frame)


def draw_snips(canvas: Canvas, scene: Scene, labels: Labels) -> None:
    """Each snip, with its number if there are several."""
    folded, cutting = scene.folded or (), scene.cutting
    if cutting is None:
        return
    canvas.key_line("cut", "snip")
    walks = [[folded[snip.start], folded[snip.end]] for snip in cutting.snips]
    canvas.path(walks, "cut")
    labels.avoid_lines(walks)
    if len(walks) > 1:
        for number, (a, b) in enumerate(walks, start=1):
            write_name(canvas, labels, XY((2 * a.x + b.x) / 3, (2 * a.y + b.y) / 3), f"snip {number}", need=True)


def write_layer_counts(canvas: Canvas, scene: Scene, labels: Labels) -> None:
    """How many layers each stretch of the cut meets."""
    layers = scene.result.layers
    if not layers or len(layers) > _MANY_SPOTS:
        return
    for part in layers:
        a, b = (scene.folded_page(p) for p in (part.start, part.end))
        if hypot(b.x - a.x, b.y - a.y) > 5:
            write_name(canvas, labels, XY((a.x + b.x) / 2, (a.y + b.y) / 2), f"{part.count}×")
    canvas.note(f"n×: the cut meets n layers there; {scene.result.layers_met} at most.")


def draw_pieces(canvas: Canvas, scene: Scene) -> None:
    """The pieces in rows, largest first, each with its area."""
    parts, s = scene.parts
    flat = scene.flat if s is scene.subdivision else [scene.to_page(p) for p in s.vertices]
    left = top = tall = 0.0
    lettering = TEXT * canvas.zoom
    widest = max(
        max(flat[v].x for v in _corners(s.faces, p.faces)) - min(flat[v].x for v in _corners(s.faces, p.faces))
        for p in parts
    )
    row = max(_ROW_MM, widest + 1)
    for number, piece in enumerate(parts[:_MANY_PIECES], start=1):
        corners = [flat[v] for v in _corners(s.faces, piece.faces)]
        x0, y1 = min(p.x for p in corners), max(p.y for p in corners)
        wide, high = max(p.x for p in corners) - x0, y1 - min(p.y for p in corners)
        lines = [f"{number} {piece.role}", f"{number_text(piece.area)} {scene.unit}²"]
        block = max(wide, *(text_width(words, lettering) for words in lines))
        if left > 0 and left + block > row:
            left, top, tall = 0.0, top + tall + 8 + 12 * canvas.zoom, 0.0

        def here(v: int, dx: float = left - x0, dy: float = -top - y1) -> XY:
            return XY(flat[v].x + dx, flat[v].y + dy)

        walks = [[here(v) for v in loop] for loop in scene.loops(piece.faces, s)]
        canvas.path(walks, "front", True)
        texture = ROLE_TEXTURE.get(piece.role)
        if texture:
            canvas.path(walks, "over", True, style=f"fill:{canvas.filled(texture)}")
        mine = set(piece.faces)
        kinds = scene.fold_kinds if s is scene.subdivision else [e.kind for e in s.edges]
        inner = [(e, kind) for e, kind in zip(s.edges, kinds, strict=True) if e.left in mine and e.right in mine]
        for kind in FOLD_WORDS:
            folds = [[here(e.start), here(e.end)] for e, k in inner if k == kind and not e.target]
            if folds:
                canvas.path(folds, kind, style="stroke-width:0.25")
        slits = [[here(e.start), here(e.end)] for e, _ in inner if e.target]
        if slits:
            canvas.path(slits, "cut")
        canvas.path(walks, "outline", True)
        canvas.reach([p for walk in walks for p in walk], 0.5)
        for k, words in enumerate(lines):
            low = top + high + (5 + k * 4.4) * canvas.zoom
            canvas.add(text(left, low, words, "text" if k == 0 else "soft-text", lettering))
        canvas.reach_box(left, top, left + block, top + high + 12 * canvas.zoom)
        left += block + 12
        tall = max(tall, high)
    for role, texture in ROLE_TEXTURE.items():
        if any(p.role == role for p in parts):
            canvas.key_fill("front", texture, role)
    if len(parts) > _MANY_PIECES:
        canvas.note(f"… and {len(parts) - _MANY_PIECES} smaller pieces.")


def _corners(faces: Sequence[tuple[int, ...]], chosen: Iterable[int]) -> set[int]:
    return {v for f in chosen for v in faces[f]}


def layers_plot(layers: Sequence[Layers]) -> str:
    """How many layers the scissors meet along the cut, stretch after stretch, as bars with their numbers."""
    lengths = [length(p.start, p.end) for p in layers]
    total, tallest = sum(lengths), most(layers)
    wide, high = 150.0, 46.0
    at = 0.0
    bars = []
    for part, stretch in zip(layers, lengths, strict=True):
        w, h = stretch / total * wide, part.count / tallest * high
        bars.append(tag("rect", x=at, y=high - h, width=w, height=h, class_="bar"))
        bars.append(tag("rect", x=at, y=high - h, width=w, height=h, class_="rim"))
        if w > 5:
            bars.append(
                tag(
                    "text",
                    str(part.count),
                    x=at + w / 2,
                    y=high - h - 1.5,
                    font_size=4.0,
                    text_anchor="middle",
                    class_="text",
                )
            )
        at += w
    words = ", ".join(str(p.count) for p in layers[:40])
    axis = tag("path", d=f"M0 {num(high)} L{num(wide)} {num(high)}", class_="outline")
    label = tag("text", "along the cut", x=wide, y=high + 6, font_size=4.0, text_anchor="end", class_="soft-text")
    return tag(
        "svg",
        tag("title", "Layers along the cut", id="l-title"),
        tag("desc", f"Stretch after stretch: {words} layers.", id="l-desc"),
        *bars,
        axis,
        label,
        viewBox=f"-2 -6 {num(wide + 4)} {num(high + 15)}",
        role="img",
        aria_labelledby="l-title l-desc",
        font_family="sans-serif",
    )
