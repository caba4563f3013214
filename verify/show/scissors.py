"""The cut line, the snips, what they meet, and the pieces."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import NamedTuple

from verify.cutting.cut import Layers, most
from verify.exact.plane import length
from verify.show.labels import Labels
from verify.show.page import XY, At, Box, across, as_it_is, beside, box_of, box_round, corners_of, middle_of, widened
from verify.show.scene import Scene
from verify.show.style import FOLDS, ROLE_TEXTURE
from verify.show.surface import TEXT, Key, Surface, name, name_size, scissors, scissors_box, write_name
from verify.show.svg import Canvas
from verify.words.findings import piece_words, rounded

_MANY_SPOTS = 26
_MANY_PIECES = 60
_ROW_MM, _ROW_MM_BARE = 230.0, 130.0
_WIDE_BAR = 5.0
_LONG = 5.0
_BESIDE = 1.0  # of the cut, how far its numbers stand
_ALONG = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8)  # where beside a stretch
_CLEAR = 0.8
_PUSHED = (-0.5, -0.25, 0.0, 0.25, 0.5, 0.75, 1.0)  # how far beyond the cut's end, as parts of a word's extent along it
_BOLD = 1.2  # times as wide as regular letters, at most

_KEEP = "The part marked figure is what you keep; the rest falls away"
_HOLE = " (to have a window instead, keep the rest)"


def what_to_keep(scene: Scene, hole: bool = True) -> str:
    """Which part beside the cut is kept; empty if neither is the figure alone. `hole`: it may be a window instead,
    unless the document names its figure.
    """
    if not any(what_falls(scene)):
        return ""
    return f"{_KEEP}{_HOLE if hole and not scene.result.document.figure else ''}."


def draw_cut(
    surface: Surface, scene: Scene, labels: Labels, at: At = as_it_is, margin: float = 10.0
) -> list[XY] | None:
    """The one straight cut with its scissors, or the snips with their numbers; the ends of the cut, if there is one.

    `at` maps the folded sheet as the scene draws it onto the page.
    """
    folded = [at(p) for p in scene.folded or ()]
    if scene.cut_line is not None:
        a, b = map(at, scene.cut_line)
        ends = across(folded, a, b, margin)
        surface.lines([ends], "cut")
        surface.key(Key("cut", "cut"))
        surface.reach(ends, 2)
        scissors(surface, *ends)
        labels.avoid_lines([ends], heavy=True)
        labels.avoid_box(scissors_box(*ends))
        return ends
    if scene.cutting is not None:
        surface.key(Key("cut", "snip"))
        walks = [[folded[snip.start], folded[snip.end]] for snip in scene.cutting.snips]
        surface.lines(walks, "cut")
        labels.avoid_lines(walks, heavy=True)
        for number, (start, end) in enumerate(walks if len(walks) > 1 else (), start=1):
            name(surface, labels, start.between(end, 1 / 3), f"snip {number}", need=True)
    return None


def draw_sides(canvas: Canvas, scene: Scene, labels: Labels, ends: Sequence[XY]) -> None:
    """What falls on either side of the cut; if the figure lies on one side alone, in the handout's words."""
    keep = what_to_keep(scene)
    if keep:
        write_sides(canvas, scene, labels, ends, TEXT)
        canvas.note(keep)
        return
    if not scene.result.parts:
        return
    start, far = ends
    along = start.direction(far)
    falls = []
    for letter, side, here in zip("AB", (1, -1), sides_of(scene, (start, far)), strict=True):
        place = far.offset(along, -3, 4.5 * side * canvas.zoom)
        labels.avoid_spot(place, 3 * canvas.zoom)
        canvas.reach([place], 3 * canvas.zoom)
        canvas.disc(place, 2.7 * canvas.zoom, "note")
        canvas.write(XY(place.x, place.y - 1.1 * canvas.zoom), letter, 3.1, "note-text", "middle")
        falls.append(", ".join(f"{n} × {role}" if n > 1 else role for role, n in here.items()) or "nothing")
    canvas.note(f"Side A of the line: {falls[0]}. Side B: {falls[1]}.")


def sides_of(scene: Scene, cut: tuple[XY, XY]) -> tuple[Counter[str], Counter[str]]:
    """What lies to the left and to the right of the cut (two of its places): how many pieces of each role."""
    folded = scene.folded or ()
    left: Counter[str] = Counter()
    right: Counter[str] = Counter()
    for number, piece in enumerate(scene.result.parts, start=1):
        corners = {v for f in piece.faces for v in scene.subdivision.faces[f]}
        heights = [beside(*cut, folded[v]) for v in corners]
        for side, height in ((left, max(heights)), (right, -min(heights))):
            if height > 1e-6:
                side[piece_words(piece.called(number))] += 1
    return left, right


def what_falls(scene: Scene) -> tuple[str, str]:
    """What hands hold left and right of the cut: `figure` and `rest`, if one is the figure alone; else nothing."""
    if scene.cut_line is None:
        return "", ""
    left, right = sides_of(scene, scene.cut_line)
    if set(left) == {"figure"} and right and "figure" not in right:
        return "figure", "rest"
    if set(right) == {"figure"} and left and "figure" not in left:
        return "rest", "figure"
    return "", ""


def write_sides(surface: Surface, scene: Scene, labels: Labels, ends: Sequence[XY], size: float) -> None:
    """Which side of the cut is the figure, beside its far end: as far out as it must be to hide nothing."""
    start, far = ends
    along = start.direction(far)
    for words, sign in zip(what_falls(scene), (1, -1), strict=True):
        if words:
            wide, high = _BOLD * surface.measure(words, size), size * surface.zoom
            away = sign * (1.6 + abs(along.y) * wide / 2 + abs(along.x) * high / 2)
            long = abs(along.x) * wide + abs(along.y) * high
            raised = XY(far.x, far.y + 0.14 * high)  # for the letters have more above their middle than below
            tried = [box_round(raised.offset(along, long * out, away), wide, high) for out in _PUSHED]
            aside = _CLEAR * abs(along.x), _CLEAR * abs(along.y)  # that no edge of the paper touches a word's end
            free = (box for box in tried if labels.is_free(widened(box, *aside)))
            box = next(free, tried[0])
            labels.avoid_box(box)
            surface.reach(corners_of(box), 1)
            foot = XY(middle_of(box).x, box[1])
            surface.write(foot, words, size, "halo", "middle")
            surface.write(foot, words, size, "note-text", "middle")


def write_layer_counts(surface: Surface, scene: Scene, labels: Labels, at: At = as_it_is) -> bool:
    """How many layers stretches of the cut meet, all on one side of it: the most at any rate, others where there is
    room; whether any.
    """
    layers = scene.result.layers
    if not layers:
        return False
    stretches = [
        _Stretch(f"{part.count}×", *(at(scene.folded_page(p)) for p in (part.start, part.end))) for part in layers
    ]
    most = max(zip(layers, stretches, strict=True), key=lambda pair: (pair[0].count, pair[1].long))[1]
    few = len(layers) <= _MANY_SPOTS
    told = [most, *(one for one in stretches if few and one is not most and one.long > _LONG)]
    sides = [{one: box for one in told if (box := one.beside(side, surface, labels))} for side in (1, -1)]
    boxes = max(sides, key=len)
    for one in told:
        box = boxes.get(one)
        if box is not None and labels.is_free(box):
            labels.avoid_box(box)
            surface.reach(corners_of(box))
            write_name(surface, XY(*box[:2]), one.words)
        elif one is most:
            name(surface, labels, one.start.between(one.end), one.words, need=True)
    return True


class _Stretch(NamedTuple):
    """A stretch of the cut on the page, and what is said of it."""

    words: str
    start: XY
    end: XY

    @property
    def long(self) -> float:
        return self.start.distance(self.end)

    def beside(self, side: int, surface: Surface, labels: Labels) -> Box | None:
        """A free box for the words on the left of the way from its start (side 1) or the right (-1), near its middle;
        None if there is none.
        """
        if not self.long:  # too short for floats
            return None
        wide, high = name_size(surface, self.words)
        along = self.start.direction(self.end)
        away = side * (_BESIDE + (abs(along.y) * wide + abs(along.x) * high) / 2)
        for part in _ALONG:
            box = box_round(self.start.between(self.end, part).offset(along, 0, away), wide, high)
            if labels.is_free(box):
                return box
        return None


def draw_pieces(canvas: Canvas, scene: Scene) -> None:
    """The pieces in rows, largest first, each with its area."""
    parts, s = scene.parts
    flat = scene.flat if s is scene.subdivision else [scene.to_page(p) for p in s.vertices]
    left = top = tall = 0.0
    boxes = [box_of(flat[v] for f in piece.faces for v in s.faces[f]) for piece in parts]
    row = max(_ROW_MM_BARE if canvas.bare else _ROW_MM, 1 + max(right - low for low, _, right, _ in boxes))
    for number, (piece, box) in enumerate(zip(parts[:_MANY_PIECES], boxes, strict=False), start=1):
        x0, y0, x1, y1 = box
        wide, high = x1 - x0, y1 - y0
        name = piece.called(number) if piece.role == "piece" else f"{number} {piece_words(piece.role)}"
        lines = [name, f"{rounded(piece.area)} {scene.result.document.unit}²"]
        block = max(wide, *map(canvas.measure, lines))
        if left > 0 and left + block > row:
            left, top, tall = 0.0, top + tall + 8 + 12 * canvas.zoom, 0.0

        def here(v: int, dx: float = left - x0, dy: float = -top - y1) -> XY:
            return XY(flat[v].x + dx, flat[v].y + dy)

        walks = [[here(v) for v in loop] for loop in s.outlines(piece.faces)]
        canvas.fill(walks, "front", ROLE_TEXTURE.get(piece.role))
        mine = set(piece.faces)
        kinds = scene.fold_kinds if s is scene.subdivision else [e.kind for e in s.edges]
        inner = [(e, kind) for e, kind in zip(s.edges, kinds, strict=True) if e.left in mine and e.right in mine]
        for kind in FOLDS:
            creases = [[here(e.start), here(e.end)] for e, k in inner if k == kind and not e.target]
            canvas.lines(creases, kind, width=0.25)
        canvas.lines([[here(e.start), here(e.end)] for e, _ in inner if e.target], "cut")
        canvas.lines(walks, "outline", closed=True)
        canvas.reach([p for walk in walks for p in walk], 0.5)
        for k, words in enumerate(lines):
            low = top + high + (5 + k * 4.4) * canvas.zoom
            canvas.write(XY(left, -low), words, TEXT, "text" if k == 0 else "soft-text")
        canvas.reach([XY(left, -top), XY(left + block, -(top + high + 12 * canvas.zoom))])
        left += block + 12
        tall = max(tall, high)
    for role, texture in ROLE_TEXTURE.items():
        if any(p.role == role for p in parts):
            canvas.key(Key("front", piece_words(role), texture))
    if len(parts) > _MANY_PIECES:
        canvas.note(f"… and {len(parts) - _MANY_PIECES} smaller pieces.")


def layers_plot(layers: Sequence[Layers]) -> str:
    """How many layers the scissors meet along the cut, stretch after stretch, as bars with their numbers."""
    canvas = Canvas("l-", bare=True)
    lengths = [length(p.start, p.end) for p in layers]
    total, tallest = sum(lengths), most(layers)
    wide, high = 150.0, 46.0
    at = 0.0
    for part, stretch in zip(layers, lengths, strict=True):
        w, h = stretch / total * wide, part.count / tallest * high
        bar = [XY(at, 0), XY(at + w, 0), XY(at + w, h), XY(at, h)]
        canvas.fill([bar], "back")
        canvas.lines([bar], "rim", closed=True)
        if w > _WIDE_BAR:
            canvas.write(XY(at + w / 2, h + 1.5), str(part.count), anchor="middle")
        at += w
    canvas.lines([[XY(0, 0), XY(wide, 0)]], "outline")
    canvas.write(XY(wide, -6), "along the cut", kind="soft-text", anchor="end")
    canvas.reach([XY(0, -7), XY(wide, high + 6)])
    words = ", ".join(str(p.count) for p in layers[:40])
    return canvas.svg("", "Layers along the cut", f"Stretch after stretch: {words} layers.")
