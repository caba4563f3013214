"""The steps of a recipe, each with a picture before and after, and the cut."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from reportlab.platypus import Flowable, KeepTogether, PageBreak, Spacer

from verify.cutting.tolerance import tolerance
from verify.folding.steps import Folded
from verify.pattern.limits import LimitReached
from verify.pattern.recipe import Recipe
from verify.show.handout.moments import draw_cut_picture, draw_step
from verify.show.handout.pages import Drawing, paragraphs, say
from verify.show.handout.subject import Subject
from verify.show.scene import Scene
from verify.show.scissors import what_to_keep
from verify.show.texts import sentences
from verify.words.step_words import alignment_words, light_words, sentence
from verify.words.tolerance import in_short

STEP = 44.0
CUT = 66.0
SEEN_THROUGH = "The figure's outline is printed on the front alone; on the back it is drawn where it lies underneath."


def steps(subject: Subject, scene: Scene, folded: Folded, statement: str = "") -> Iterator[Flowable]:
    """All of it on pages of their own; `statement`: of the recipe, where it is not the document itself but makes a
    pattern.
    """
    yield PageBreak()
    yield subject.part("step by step")
    yield say("Step by step: simple folds that make this pattern" if statement else "Step by step", "head")
    if statement:
        yield from paragraphs("steps", "recipe", statement=statement[:16])
    sides = " ".join(sentences("steps", "sides"))
    yield say(f"{sides} {SEEN_THROUGH}" if subject.result.document.has_target else sides)
    yield from pictures(scene, folded, subject.wide)
    yield from _trueness(subject, folded.recipe)


def pictures(scene: Scene, folded: Folded, wide: float) -> Iterator[Flowable]:
    """Each step as a sentence with its picture, then the cut."""
    for number in range(len(folded.done)):
        picture = Drawing(wide, STEP, partial(draw_step, scene, folded, number, (wide, STEP)))
        words = f"{number + 1}. {sentence(folded, number + 1)}{light_words(folded, number + 1)}"
        yield KeepTogether([say(words), picture, Spacer(0, 5)])
    yield from cut_step(scene, len(folded.done) + 1, wide)


def cut_step(scene: Scene, number: int, wide: float) -> Iterator[Flowable]:
    """The cut or the snips as the last step, if there are any."""
    if scene.cut_line is None and scene.cutting is None:
        return
    how = "Cut" if scene.cut_line is not None else "Snip"
    words = (
        f"{number}. {how} along the heavy line, through all layers{where_to_cut(scene)}. The numbers with × say how "
        f"many layers the scissors meet there. {what_to_keep(scene)}"
    )
    picture = Drawing(wide, CUT, partial(draw_cut_picture, scene, (0.0, 0.0, wide, CUT)))
    yield KeepTogether([say(words), picture])


def where_to_cut(scene: Scene) -> str:
    """How hands find the line of the cut, where the recipe says so: after "along the line"."""
    folded = scene.result.carried
    if folded is None or folded.recipe.along is None:
        return ""
    words = alignment_words(folded, len(folded.done) + 1, folded.recipe.along)
    return f": {words}" if words.startswith(("through", "along", "square")) else f": where a fold would lie {words}"


def _trueness(subject: Subject, recipe: Recipe) -> Iterator[Flowable]:
    try:
        found = tolerance(recipe, progress=subject.progress)
    except (ValueError, LimitReached):
        return
    said = [say(f"{words[0].upper()}{words[1:]}.", "item", "–") for words in in_short(found, recipe)]
    yield KeepTogether([say("How true to fold (estimates, no proof)", "head"), *said])
