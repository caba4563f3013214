"""The stack of layers pulled apart, level over level, in columns of a few levels."""

from __future__ import annotations

from dataclasses import dataclass

from verify.exact.plane import hull_of
from verify.show.page import XY, At, beside, box_of
from verify.show.paper import FoldedPaper, draw_plate
from verify.show.scene import Scene
from verify.show.surface import TEXT, Key
from verify.show.svg import Canvas

_MANY_TIES = 160
_LEVELS = 48
_LEVELS_A_COLUMN = 8
_LEAN, _FLAT = 0.45, 0.5


@dataclass(frozen=True)
class Column:
    """Some levels of the stack, one over the other: which, and how a place of the folded sheet is seen at each."""

    levels: tuple[int, ...]
    size: float
    gap: float
    corner: XY
    left: float = 0.0

    def seen(self, level: int) -> At:
        """A place of the folded plane as it lies in this level, seen obliquely."""
        lift = self.levels.index(level) * self.gap

        def at(p: XY) -> XY:
            x = self.left + (p.x - self.corner.x + _LEAN * (p.y - self.corner.y)) * self.size
            return XY(x, lift + _FLAT * (p.y - self.corner.y) * self.size)

        return at


def columns(scene: Scene, in_a_row: bool) -> tuple[list[Column], str]:
    """The stack in columns, `in_a_row` or each at the origin, and what is to be noted about it."""
    folded = scene.folded or ()
    left, low, right, high = box_of(folded)
    corner, wide, deep = XY(left, low), right - left, high - low
    size = min(1.0, 84 / (wide + _LEAN * deep))
    levels = list(range(scene.top + 1))
    note = ""
    if len(levels) > _LEVELS:
        levels = levels[: _LEVELS // 2] + levels[-_LEVELS // 2 :]
        note = f"{scene.top + 1} levels; the lowest {_LEVELS // 2} and the highest {_LEVELS // 2} are shown."
    count = -(-len(levels) // _LEVELS_A_COLUMN)
    each = -(-len(levels) // count)
    span = (wide + _LEAN * deep) * size
    gap = 0.5 * _FLAT * deep * size + 5
    found = [
        Column(tuple(levels[k * each : (k + 1) * each]), size, gap, corner, k * (span + 22) if in_a_row else 0.0)
        for k in range(count)
    ]
    return found, note


def draw_column(canvas: Canvas, scene: Scene, column: Column) -> None:
    """The levels of a column, the footprint of the folded sheet under each, folds between them as upright ties."""
    paper, s = FoldedPaper.folded(scene), scene.subdivision
    hull = hull_of(paper.places, beside)
    top, home = scene.top, scene.level_of
    ties = [e for e in s.edges if e.is_fold and home[e.left] != home[e.right]]
    for level in column.levels:
        at = column.seen(level)
        here = [at(p) for p in paper.places]
        ground = [at(p) for p in hull]
        canvas.reach(ground, 1)
        canvas.lines([ground], "ghost", closed=True)
        for e in ties if len(ties) <= _MANY_TIES else ():
            low, high = sorted((home[e.left], home[e.right]))
            if high == level and low in column.levels:
                below = column.seen(low)
                canvas.lines([[below(paper.places[v]), here[v]] for v in e.ends], "tie")
                canvas.key(Key("tie", "fold from one level to another"))
        for plate in scene.plates:
            if plate.level == level:
                draw_plate(canvas, paper, plate, here, top)
        words = str(level + 1) + (" bottom" if level == 0 else " top" if level == top else "")
        edge = min(ground, key=lambda p: (round(p.x, 2), p.y))
        tall = TEXT * canvas.zoom
        canvas.reach([XY(edge.x - canvas.measure(words) - 3, edge.y - 1), XY(edge.x, edge.y + tall)])
        canvas.write(XY(edge.x - 2.5, edge.y), words, anchor="end")
