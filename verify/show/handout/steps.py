"""The steps of a recipe, each with a picture before and after, and the cut."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from typing import NamedTuple

from reportlab.lib.units import mm
from reportlab.platypus import Flowable, PageBreak, Spacer

from verify.cutting.hands import Hands
from verify.cutting.tolerance import tolerance
from verify.folding.steps import Folded
from verify.pattern.limits import LimitReached
from verify.show.handout.moments import draw_cut_picture, draw_step
from verify.show.handout.pages import PageDrawing, height_of, new_page, paragraphs, say, text_height
from verify.show.handout.subject import Subject
from verify.show.print import Pen
from verify.show.scene import Scene
from verify.show.scissors import what_to_keep
from verify.show.texts import sentences
from verify.words.step_words import cut_words, light_words, sentence
from verify.words.tolerance import in_short

_LEAST, _MOST = 36, 75  # how high the picture of a step is
_CUT = 1.5  # that of the cut, beside one of a step
_GAP, _SLACK = 2.0, 2.0
SEEN_THROUGH = (
    "The figure's outline is printed on the front only; where the back is up, it is drawn as it would show through."
)


def steps(subject: Subject, scene: Scene, folded: Folded, statement: str = "") -> Iterator[Flowable]:
    """All of it on its own pages; `statement`: of the recipe, where that makes the pattern of the document."""
    yield from new_page(subject.part("step by step"))
    head = [say("Step by step: simple folds that make this pattern" if statement else "Step by step", "head")]
    if statement:
        head += paragraphs("steps", "recipe", statement=statement[:16])
    sides = " ".join(sentences("steps", "sides"))
    head.append(say(f"{sides} {SEEN_THROUGH}" if subject.result.document.has_target else sides))
    pictures = []
    for number in range(1, len(folded.done) + 1):
        light = light_words(folded, number)
        drawn = partial(draw_step, scene, folded, number - 1, lit=bool(light))
        pictures.append(Pictured(f"{number}. {sentence(folded, number)}{light}", drawn))
    pictures += cut_step(scene, len(pictures) + 1)
    yield from spread(subject, pictures, head, [*_trueness(subject, folded, scene.result.hands)])


class Pictured(NamedTuple):
    """A sentence, what draws its picture in a width and a height, and how high that is beside the picture of a step."""

    words: str
    draw: Callable[[tuple[float, float], Pen], None]
    share: float = 1.0


def spread(
    subject: Subject, every: Sequence[Pictured], head: Sequence[Flowable], foot: Sequence[Flowable] = ()
) -> Iterator[Flowable]:
    """Pictures with sentences between head and foot: on as few pages as can be, evenly, as high as there is room."""
    wide, whole = subject.wide, text_height(subject.paper) - _SLACK

    def taken(things: Sequence[Flowable]) -> float:
        return sum(height_of(thing, wide) for thing in things)

    above, below = taken(head), taken(foot)
    said = [say(one.words) for one in every]
    words = [taken([one]) + _GAP for one in said]
    words[-1] += below

    def paged(high: float) -> list[list[int]]:
        """Which pictures come on which page if those of steps are so high."""
        pages, room = [list[int]()], whole - above
        for number, one in enumerate(every):
            needed = words[number] + high * one.share
            if needed > room:
                pages.append([])
                room = whole
            pages[-1].append(number)
            room -= needed
        return pages

    fewest = len(paged(_LEAST))
    pages = next(pages for high in range(_MOST, _LEAST - 1, -1) if len(pages := paged(high)) == fewest)
    yield from head
    room = whole - above
    for page in pages:
        if page is not pages[0]:
            yield PageBreak()
            room = whole
        shares = sum(every[number].share for number in page)
        high = min(_MOST, (room - sum(words[number] for number in page)) / max(1, shares))
        for one, paragraph in ((every[number], said[number]) for number in page):
            size = wide, high * one.share
            yield paragraph
            yield PageDrawing(*size, partial(one.draw, size))
            yield Spacer(0, _GAP * mm)
    yield from foot


def cut_step(scene: Scene, number: int) -> Iterator[Pictured]:
    """The cut or the snips as the last step, if there are any."""
    if scene.cut_line is None and scene.cutting is None:
        return
    how = "Cut" if scene.cut_line is not None else "Snip"
    words = (
        f"{number}. {how} along the heavy line, through all layers{where_to_cut(scene)}. The numbers with × say how "
        f"many layers the scissors meet there. {what_to_keep(scene)}"
    )
    yield Pictured(words, lambda size, pen: draw_cut_picture(scene, (0.0, 0.0, *size), pen), _CUT)


def where_to_cut(scene: Scene) -> str:
    """How hands find the line of the cut, where the recipe says so: after "along the line"."""
    folded = scene.result.carried
    if folded is None or folded.recipe.along is None:
        return ""
    words = cut_words(folded)
    if words.startswith(("through", "along", "square")):
        return f": {words}"
    return f": it is the line of the fold that you would make {words}"


def _trueness(subject: Subject, folded: Folded, hands: Hands | None) -> Iterator[Flowable]:
    """How true the folds must be: by trials with errors that add up to what may be in the worst way, if these hold."""
    worst = hands.true_to if hands is not None else None
    try:
        found = tolerance(folded, error=worst, tried=None if worst is None else [worst], progress=subject.progress)
        if worst is not None and found.allowed is None:
            found = tolerance(folded, progress=subject.progress)
    except (ValueError, LimitReached):
        return
    yield say("How true to fold (estimates, no proof)", "head")
    yield from (say(f"{words[0].upper()}{words[1:]}.", "item", "–") for words in in_short(found, folded.recipe, hands))
