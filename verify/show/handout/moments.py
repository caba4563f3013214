"""Pictures of the paper at one moment: before a step, after it, at the cut, and what comes out."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import partial
from typing import NamedTuple

from verify.folding.steps import Folded
from verify.pattern.recipe import FoldStep, MarkStep
from verify.pattern.source import printable
from verify.show.labels import Labels
from verify.show.page import XY, Area, At, Box, across, beside, box_of, fitted, is_in, mean_of, middle_of, shifted
from verify.show.paper import FoldedPaper, draw_paper
from verify.show.print import Pen, arrow, arrow_walk, shortened
from verify.show.scene import Scene
from verify.show.scissors import draw_cut, write_layer_counts, write_sides
from verify.show.sheet import outline_of
from verify.show.surface import lead, name
from verify.words.step_words import LIGHT, lines_spoken_of, new_marks

_DOTTED = 0.5, 0.7
_HEAD = 1.5  # half the extent of an arrow's head
_APART, _EDGE = 4.0, 4.0  # two moments in a column from each other, and the arrow from the left edge
_ROUND = 4.0  # free round folded paper that is drawn without words
_BESIDE, _BARE = 34.0, 20.0  # free beside a moment: with names, and with an arrow alone
_WORTH = 1.2  # so many times larger two moments must be in a column
_LEAST_ARROW = 8.0  # what moves less gets the longer arrow of all that moves


def draw_what_comes_out(scene: Scene, area: Area, pen: Pen) -> None:
    """The flat sheet, what the cut frees in stripes."""
    parts, s = scene.parts
    at = fitted(box_of(scene.flat), area)
    here = [at(scene.to_page(p)) for p in s.vertices]
    outline = outline_of(scene, at)
    pen.fill(outline, "front")
    for piece in parts:
        if piece.role == "target":
            pen.fill([[here[v] for v in loop] for loop in s.outlines(piece.faces)], "front", "dots")
    pen.lines([[here[v] for v in e.ends] for e in s.edges if e.is_cut], "cut", width=0.4)
    pen.lines(outline, "rim", closed=True)


def draw_cut_picture(scene: Scene, area: Area, pen: Pen, *, printed: bool = True) -> None:
    """The folded sheet, the cut, its layers, and its marks. `printed`: the figure's outline is on the paper."""
    x, y, wide, high = area
    paper = FoldedPaper.folded(scene)
    beside, below = _room_round(scene)
    at = fitted(box_of(paper.places), (x + beside, y + below, wide - 2 * beside, high - 2 * below))
    labels = _drawn(pen, paper, at, printed)
    ends = draw_cut(pen, scene, labels, at, margin=4.0)
    if ends is not None:
        write_sides(pen, scene, labels, ends, 2.5)
    folded = scene.result.carried
    if folded is not None and folded.recipe.along is not None:
        step = _Step(pen, scene, folded, len(folded.done), lambda p: at(p.scaled(scene.magnified)))
        step.write_marks(folded.recipe.along.marks, labels)
    write_layer_counts(pen, scene, labels, at)


def draw_where_to_cut(scene: Scene, size: tuple[float, float], pen: Pen, *, printed: bool) -> None:
    """The folded sheet and the line of the cut, without words."""
    wide, high = size
    paper = FoldedPaper.folded(scene)
    at = fitted(box_of(paper.places), (_ROUND, _ROUND, wide - 2 * _ROUND, high - 2 * _ROUND))
    _drawn(pen, paper, at, printed)
    if scene.cut_line is not None:
        a, b = map(at, scene.cut_line)
        pen.lines([across([at(p) for p in paper.places], a, b, _ROUND)], "cut")


def _drawn(pen: Pen, paper: FoldedPaper, at: At, printed: bool) -> Labels:
    """The paper is drawn, the target's lines only where they are printed; what names should avoid there."""
    draw_paper(pen, paper, at, None if printed else {}, small=True)
    labels = Labels()
    places = [at(p) for p in paper.places]
    labels.avoid_lines([places[v] for v in e.ends] for e in paper.s.edges if not e.is_auxiliary)
    return labels


def _room_round(scene: Scene) -> tuple[float, float]:
    """How much room names want beside the folded sheet and below it, and the scissors where the cut begins."""
    if scene.cut_line is None:
        return 8.0, 6.0
    along = XY.direction(*scene.cut_line)
    return 6.0 + 8.0 * abs(along.x), 4.5 + 7.0 * abs(along.y)


def draw_step(
    scene: Scene, folded: Folded, number: int, size: tuple[float, float], pen: Pen, *, lit: bool = False
) -> None:
    """Step `number` (from 0): the paper before it with the fold line and an arrow, and after it, both at one scale.
    `lit`: it is held up to the light, for lines of which the step speaks are hidden.
    """
    looks = FoldedPaper.at_step(scene, folded, number), FoldedPaper.at_step(scene, folded, number + 1)
    before, after, low = draw_after(*looks, size, pen)
    step = _Step(pen, scene, folded, number, before)
    step.draw(low, size[1], lit=lit)
    step.write_made(after)


def draw_moment(
    scene: Scene, folded: Folded, number: int, size: tuple[float, float], pen: Pen, *, words: str, printed: bool
) -> None:
    """The paper before step `number`, what is done with it, and those marks that the words speak of."""
    wide, high = size
    look = FoldedPaper.at_step(scene, folded, number)
    scale = _scale_for([look, FoldedPaper.at_step(scene, folded, number + 1)], wide, high)
    step = _Step(pen, scene, folded, number, _placed(look, scale, XY(wide / 2, high / 2)))
    step.draw(0.0, high, words, printed, lit=LIGHT in words)
    step.write_made(step.at)


def draw_after(
    before: FoldedPaper, after: FoldedPaper, size: tuple[float, float], pen: Pen, names: bool = True
) -> tuple[At, At, float]:
    """The second of two moments, to the right of the first or, if both are then much larger, below it, with an arrow
    between them: where places of each lie, at one scale, and how low the first may reach. `names`: they want room.
    """
    wide, high = size
    looks = before, after
    beside = _BESIDE if names else _BARE
    in_a_row = _scale_for(looks, wide / 2, high, beside)
    in_a_column = _scale_for(looks, wide, high / 2 - _APART, beside)
    if in_a_column > _WORTH * in_a_row:
        first, second = XY(wide / 2, 0.75 * high), XY(wide / 2, 0.25 * high)
        scale, low = in_a_column, high / 2
        start, end = XY(_EDGE, high / 2 + 5), XY(_EDGE, high / 2 - 5)
    else:
        first, second = XY(0.25 * wide - 3, high / 2), XY(0.75 * wide + 3, high / 2)
        scale, low = in_a_row, 0.0
        start, end = XY(wide / 2 - 5, high / 2), XY(wide / 2 + 5, high / 2)
    at_second = _placed(after, scale, second)
    draw_paper(pen, after, at_second, small=True)
    arrow(pen, start, end, bow=0.0)
    return _placed(before, scale, first), at_second, low


def _placed(look: FoldedPaper, scale: float, middle: XY) -> At:
    """Where places of a moment lie, its middle there."""
    return partial(shifted, middle_of(box_of(look.places)), scale, middle)


def _scale_for(looks: Sequence[FoldedPaper], wide: float, high: float, beside: float = _BESIDE) -> float:
    """One scale for several moments, with room for names, so much beside the paper at most."""
    boxes = [box_of(look.places) for look in looks]
    span_x, span_y = max(b[2] - b[0] for b in boxes), max(b[3] - b[1] for b in boxes)
    return min((wide - min(beside, 0.4 * wide)) / span_x, (high - min(14.0, 0.3 * high)) / span_y)


class _Step(NamedTuple):
    """Step `number` (from 0) of a recipe, on the paper before it; `at` takes places of the sheet's scale."""

    pen: Pen
    scene: Scene
    folded: Folded
    number: int
    at: At

    def draw(
        self, low: float, high: float, words: str | None = None, printed: bool = True, *, lit: bool = False
    ) -> None:
        """The paper with the fold line, an arrow and the marks of which the step, or its `words`, speak; what is drawn
        there lies at heights from `low` to `high`. `lit`: lines of which the step speaks show through, dotted.
        """
        pen, done = self.pen, self.folded.done[self.number]
        look = FoldedPaper.at_step(self.scene, self.folded, self.number)
        labels = _drawn(pen, look, self.at, printed)
        step = done.step
        marks: Sequence[str] = ()
        if isinstance(step, FoldStep) and done.line is not None:
            if lit:
                walks = [
                    [self._place(one), self._place(two)] for one, two in lines_spoken_of(self.folded, self.number + 1)
                ]
                pen.lines(walks, "rim", width=0.5, dashes=_DOTTED)
            places = [self.at(p) for p in look.places]
            a, b = (self.at(self.scene.to_page(p)) for p in done.line)
            ends = across(places, a, b, 4.0)
            pen.lines([ends], "valley" if step.direction == "over" else "mountain", width=0.5)
            labels.avoid_lines([ends], heavy=True)
            left, _, right, _ = box_of(places)
            room = left - 9, low - 2.0, right + 9, high + 2.0
            before, after = (state.images for state in self.folded.paper.states[self.number : self.number + 2])
            moved = [place for place, p, q in zip(places, before, after, strict=True) if p != q]
            start, end = self._laid(step, a, b, room) or movement(moved, a, b, room)
            labels.avoid_lines([arrow_walk(start, end)])
            labels.avoid_spot(end, _HEAD)
            arrow(pen, start, end, step.direction == "behind")
            marks = (*step.alignment.marks, step.moves, *new_marks(self.folded, self.number + 1))
        elif isinstance(step, MarkStep):
            marks = [m for line in step.crossing if not isinstance(line, int) for m in line]
        if words is not None:
            marks = [m for m in marks if re.search(rf"(?<!\w){re.escape(m)}(?!\w)", words)]
        self.write_marks(marks, labels)

    def _laid(self, step: FoldStep, a: XY, b: XY, room: Box) -> tuple[XY, XY] | None:
        """From what is laid on something to where it comes to lie; None if nothing is laid, if its middle stays (an
        edge may run across the fold), or if there is no room.
        """
        if step.alignment.kind not in ("point-onto-point", "line-onto-line"):
            return None
        marks = step.alignment.marks
        half = len(marks) // 2
        way = beside(a, b, self._place(step.moves))
        ends = ((self._place(some[0]), self._place(some[-1])) for some in (marks[:half], marks[half:]))
        start = max((XY.between(*pair) for pair in ends), key=lambda p: beside(a, b, p) * way)
        off = beside(a, b, start)
        end = start.offset(a.direction(b), 0, -2 * off)
        moves = off * way > 0
        return (start, end) if moves and is_in(room, end) and 2 * abs(off) > _LEAST_ARROW else None

    def _place(self, mark: str) -> XY:
        """Where a mark lies on the page."""
        paper = self.folded.paper
        image = paper.lies_at(self.folded.marks[mark], paper.states[self.number])
        return self.at(self.scene.to_page(image))

    def write_marks(self, marks: Sequence[str], labels: Labels) -> None:
        """The marks of which it speaks, those that lie on each other together."""
        spots: dict[tuple[float, float], list[str]] = {}
        for mark in dict.fromkeys(marks):
            x, y = self._place(mark)
            spots.setdefault((round(x, 2), round(y, 2)), []).append(printable(mark))
        for x, y in spots:
            self.pen.disc(XY(x, y), 0.6, "dot")
            labels.avoid_spot(XY(x, y), 0.6)
        for (x, y), names in spots.items():
            name(self.pen, labels, XY(x, y), shortened(", ".join(names), 26, 2.5), need=True, size=2.5)
            lead(self.pen, labels, XY(x, y))

    def write_made(self, at: At) -> None:
        """The mark that it makes, if it makes one."""
        done = self.folded.done[self.number]
        if isinstance(done.step, MarkStep) and done.mark is not None:
            spot = at(self.scene.to_page(done.mark[2]))
            self.pen.disc(spot, 1.1, "spot")
            name(self.pen, Labels(), spot, shortened(printable(done.step.name), 30, 2.5), need=True, size=2.5)


def movement(moved: Sequence[XY], a: XY, b: XY, room: Box) -> tuple[XY, XY]:
    """From the moved place farthest from the fold line (or nearer, for want of room) towards where it comes to lie."""
    if not moved:
        return a, a
    most = max(abs(beside(a, b, p)) for p in moved)
    start = mean_of([p for p in moved if abs(beside(a, b, p)) > most * 0.98])
    along, off = a.direction(b), beside(a, b, start)
    foot = start.offset(along, 0, -off)

    def ends(part: float) -> tuple[XY, XY]:
        return foot.offset(along, 0, 0.85 * off * part), foot.offset(along, 0, -0.75 * off * part)

    return next((e for e in map(ends, (1.0, 0.8, 0.6, 0.45, 0.3)) if is_in(room, e[1])), ends(0.2))
