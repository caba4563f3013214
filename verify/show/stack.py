"""The stack of layers pulled apart, level over level."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from verify.show.paper import Projection, plate_elements
from verify.show.scene import XY, Scene
from verify.show.svg import TEXT, Canvas, tag, text, text_width

_MANY_TIES = 160
_LEVELS = 48
_LEVELS_A_COLUMN = 8


def draw_stack(canvas: Canvas, scene: Scene) -> None:
    """One level over the other in columns, the footprint of the folded sheet under each."""
    folded, s = scene.folded or (), scene.subdivision
    x0, x1 = min(p.x for p in folded), max(p.x for p in folded)
    y0, y1 = min(p.y for p in folded), max(p.y for p in folded)
    size = min(1.0, 84 / (x1 - x0 + 0.45 * (y1 - y0)))
    wide, high = (x1 - x0 + 0.45 * (y1 - y0)) * size, 0.5 * (y1 - y0) * size
    gap = 0.5 * high + 5
    top = max(p.level for p in scene.plates)
    levels = list(range(top + 1))
    if len(levels) > _LEVELS:
        levels = levels[: _LEVELS // 2] + levels[-_LEVELS // 2 :]
        canvas.note(f"{top + 1} levels; the lowest {_LEVELS // 2} and the highest {_LEVELS // 2} are shown.")
    columns = -(-len(levels) // _LEVELS_A_COLUMN)
    a_column = -(-len(levels) // columns)
    row = {level: k for k, level in enumerate(levels)}
    hull = _hull(folded)

    def project_to(level: int) -> Projection:
        column, place = divmod(row[level], a_column)
        left, lift = column * (wide + 22), place * gap

        def project(p: XY) -> XY:
            return XY(left + (p.x - x0 + 0.45 * (p.y - y0)) * size, lift + 0.5 * (p.y - y0) * size)

        return project

    home = {f: plate.level for plate in scene.plates for f in plate.faces}
    ties = [e for e in s.edges if e.is_fold and home[e.left] != home[e.right]]
    for level in levels:
        project = project_to(level)
        ground = [project(p) for p in hull]
        canvas.reach(ground, 1)
        canvas.path([ground], "ghost", True)
        if len(ties) <= _MANY_TIES:
            _ties(
                canvas,
                scene,
                level,
                [
                    (*e.ends, min(home[e.left], home[e.right]))
                    for e in ties
                    if max(home[e.left], home[e.right]) == level
                ],
                row,
                a_column,
                project_to,
            )
        for plate in scene.plates:
            if plate.level == level:
                canvas.add(*plate_elements(canvas, scene, plate, project, top))
        words = str(level + 1) + (" bottom" if level == 0 else " top" if level == top else "")
        edge = min(ground, key=lambda p: (round(p.x, 2), p.y))
        lettering = TEXT * canvas.zoom
        canvas.reach_box(edge.x - text_width(words, lettering) - 3, -edge.y - lettering, edge.x, -edge.y + 1)
        canvas.add(text(edge.x - 2.5, -edge.y, words, "text", lettering, "end"))
    if ties and len(ties) <= _MANY_TIES:
        canvas.key(tag("path", d="M3 2 L3 -2 M7 2 L7 -2", class_="tie"), "fold from one level to another")


def _ties(
    canvas: Canvas,
    scene: Scene,
    level: int,
    ties: Iterable[tuple[int, int, int]],
    row: dict[int, int],
    a_column: int,
    project_to: Callable[[int], Projection],
) -> None:
    folded = scene.folded or ()
    for start, end, low in ties:
        if low in row and row[low] // a_column == row[level] // a_column:
            below, here = project_to(low), project_to(level)
            canvas.path([[below(folded[v]), here(folded[v])] for v in (start, end)], "tie")


def _hull(places: Sequence[XY]) -> list[XY]:
    """The convex hull, counter-clockwise (floats, for the eye)."""
    ordered = sorted(set(places))

    def half(points: Iterable[XY]) -> list[XY]:
        chain: list[XY] = []
        for p in points:
            while len(chain) > 1 and (chain[-1].x - chain[-2].x) * (p.y - chain[-2].y) <= (
                chain[-1].y - chain[-2].y
            ) * (p.x - chain[-2].x):
                chain.pop()
            chain.append(p)
        return chain[:-1]

    return half(ordered) + half(reversed(ordered))
