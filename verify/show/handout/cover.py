"""The first page: what is certified, what it looks like, how the work goes, scissors and children."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import partial
from typing import Literal

from reportlab.platypus import Flowable, Spacer

from verify.show.handout.moments import draw_cut_picture, draw_what_comes_out
from verify.show.handout.pages import PageDrawing, cautions, fact, height_of, say, table, text_height
from verify.show.handout.subject import Subject
from verify.show.handout.tiles import MOST_TILES, OVERLAP, Tiles
from verify.show.page import XY, Area
from verify.show.print import Pen
from verify.show.scene import Scene
from verify.show.texts import sentences

Shown = Literal["", "steps", "collapse"]
_SMALL, _SMALLEST = 58.0, 34.0
_SPACE = 16.0
_CAPTION = 6.0


def cover(subject: Subject, scene: Scene, laid: Tiles, shown: Shown, numbers: Mapping[str, int]) -> Iterator[Flowable]:
    """`shown`: how the folding follows, with these `numbers` of creases. Cautions never stand on a page alone."""
    head = [say(subject.title, "title"), say("Certified: " + subject.claim(), "verdict")]
    head += [fact(words) for words in subject.facts(scene, shown == "steps", numbers)]
    work = [say("Order of work", "head")]
    work += [say(words, "item", f"{n}.") for n, words in enumerate(order_of_work(subject, scene, laid, shown), start=1)]
    box = cautions(subject.wide)
    room = text_height(subject.paper) - sum(height_of(f, subject.wide) for f in (*head, box, *work)) - _SPACE
    yield from head
    yield Spacer(0, 4)
    yield pictures(subject, scene, min(_SMALL, max(_SMALLEST, room)))
    yield Spacer(0, 8)
    yield box
    yield from work


def pictures(subject: Subject, scene: Scene, high: float) -> Flowable:
    """What comes out, and the folded sheet with the cut, side by side."""
    half = subject.wide / 2 - 3
    area = 0.0, _CAPTION, half, high
    drawn = [PageDrawing(half, high + _CAPTION + 2, partial(_what_comes_out, scene, area))]
    if scene.has_layers:
        drawn.append(PageDrawing(half, high + _CAPTION + 2, partial(_folded, scene, area)))
    return table([drawn], [half + 3] * len(drawn))


def _what_comes_out(scene: Scene, area: Area, pen: Pen) -> None:
    draw_what_comes_out(scene, area, pen)
    roles = {piece.role for piece in scene.parts[0]}
    words = "what comes out, striped" if "target" in roles else "the pieces" if "piece" in roles else "the sheet"
    pen.write(XY(area[2] / 2, 1), words, 2.6, anchor="middle")


def _folded(scene: Scene, area: Area, pen: Pen) -> None:
    draw_cut_picture(scene, area, pen)
    cut = scene.cut_line is not None or scene.cutting is not None
    words = "folded, and where to cut" if cut else "folded"
    pen.write(XY(area[2] / 2, 1), words + "; back of the paper grey", 2.6, anchor="middle")


def cutting(outline: bool) -> Iterator[str]:
    """What is done last, with one straight cut; `outline`: whether the figure's is printed on the paper."""
    if outline:
        yield from sentences("order", "outline")
    yield from sentences("order", "cut")


def order_of_work(subject: Subject, scene: Scene, laid: Tiles, shown: Shown) -> Iterator[str]:
    """What is done one after the other, from the printer to the cut."""
    yield from printing(laid)
    if shown == "steps":
        yield from sentences("order", "steps")
    elif any(scene.fold_kinds):
        yield from sentences("order", "precrease")
        yield from sentences("order", shown or "at-once")
    if scene.cut_line is not None:
        yield from cutting(subject.result.document.has_target)
    elif subject.result.document.has_target:
        yield from sentences("order", "snips", snips=subject.snips)


def printing(laid: Tiles) -> Iterator[str]:
    """How the template is printed and put together."""
    if laid.count > MOST_TILES:
        yield from sentences("order", "too-large", pages=laid.count)
        return
    yield from sentences("order", "print")
    if laid.count > 1:
        yield from sentences("order", "several-pages", pages=laid.count, overlap=OVERLAP)
    yield from sentences("order", "cut-out")
