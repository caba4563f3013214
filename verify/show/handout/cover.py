"""The first page: what is certified, what it looks like, how the work goes, scissors and children."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import partial
from typing import Literal

from reportlab.platypus import Flowable, Spacer

from verify.show.handout.moments import Area, draw_cut_picture, draw_what_comes_out
from verify.show.handout.pages import Drawing, cautions, fact, height_of, say, table, text_height
from verify.show.handout.subject import NO_NUMBERS, Subject
from verify.show.handout.tiles import MOST_TILES, OVERLAP, Tiles
from verify.show.print import Pen
from verify.show.scene import XY, Scene

Shown = Literal["", "steps", "collapse"]
_SMALL, _SMALLEST = 58.0, 34.0
_SPACE = 16.0
_CAPTION = 6.0


def cover(
    subject: Subject, scene: Scene, laid: Tiles, shown: Shown, numbers: Mapping[str, int] = NO_NUMBERS
) -> Iterator[Flowable]:
    """`shown`: how the following pages show the folding, `numbers`: those that they give to the creases. The cautions
    come before the order of work, so that they never stand on a page alone.
    """
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


def pictures(subject: Subject, scene: Scene, high: float = _SMALL) -> Flowable:
    """What comes out, and the folded sheet with the cut, side by side."""
    half = subject.wide / 2 - 3
    area = 0.0, _CAPTION, half, high
    drawn = [Drawing(half, high + _CAPTION + 2, partial(_what_comes_out, scene, area))]
    if scene.folded is not None and scene.has_layers:
        drawn.append(Drawing(half, high + _CAPTION + 2, partial(_folded, scene, area)))
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
        yield (
            "Before cutting, check that the figure's outline lies on one line in all layers (hold the paper against "
            "the light)."
        )
    yield "Cut along the line of the cut from edge to edge, in one go, and unfold."


def order_of_work(subject: Subject, scene: Scene, laid: Tiles, shown: Shown) -> Iterator[str]:
    """What is done one after the other, from the printer to the cut."""
    yield from printing(laid)
    if shown == "steps":
        yield "Fold step by step as drawn on the following pages, and press each fold sharp before the next one."
    elif any(scene.fold_kinds):
        yield (
            "Fold every line by itself first, valleys towards you and mountains away, and open it again "
            "(precreasing). A blunt point along a ruler makes clean creases."
        )
        yield (
            (
                "Then bring the folds in together, in the order that the following pages show, and lay the sheet "
                "flat. That this folded state exists is proved."
            )
            if shown == "collapse"
            else "Then bring all folds in together and lay the sheet flat: it should look as in the picture. "
            "That this folded state exists is proved; "
            "an order in which to fold one line after the other is not known to this page, and may not exist."
        )
    if scene.cut_line is not None:
        yield from cutting(subject.result.document.has_target)
    elif subject.result.document.has_target:
        yield f"Make the {subject.snips} snips as numbered in the picture, no further than the lines go, and unfold."


def printing(laid: Tiles) -> Iterator[str]:
    """How the template is printed and put together."""
    if laid.count > MOST_TILES:
        yield (
            f"At true scale this sheet would fill {laid.count:,} pages; it is drawn small here. Mark it out "
            "from the document's measures."
        )
        return
    yield (
        "Print at 100 % (“actual size”, not “fit to page”), and measure the ruler on the page: it must be 100 mm long."
    )
    if laid.count > 1:
        yield (
            f"The sheet takes {laid.count} pages. Lay them as the overview shows, so that each register mark "
            "covers its twin "
            f"(hold them against the light), and glue or tape the overlaps of {OVERLAP:g} mm."
        )
    yield (
        "Cut the sheet out along its outline. What is printed is the front: valley folds close towards "
        "you, mountain folds away from you."
    )
