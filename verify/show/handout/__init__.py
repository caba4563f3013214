"""The handout: a PDF to print, fold from and cut. True-scale template, steps, cautions, and the teacher's page.

Only a certified document gets a template; any other a page that says why not. All grey, so that any printer does. A drawing is rounded
to a ten-thousandth of a millimetre, and proves nothing: what was proved stands on the teacher's page.
"""

from __future__ import annotations

from collections.abc import Sequence

from reportlab.platypus import Flowable, NextPageTemplate, PageBreak

from verify.show.handout.cover import cover
from verify.show.handout.letter import Letter
from verify.show.handout.pack import pack
from verify.show.handout.pages import PaperName, bound
from verify.show.handout.steps import steps
from verify.show.handout.subject import Progress, Subject, title
from verify.show.handout.teacher import no_template, teacher
from verify.show.handout.template import laid_out, template
from verify.show.handout.tiles import MOST_TILES
from verify.tasks.certify import Result

__all__ = ["MOST_TILES", "Letter", "handout", "pack", "title"]


def handout(results: Sequence[Result], paper: PaperName = "a4", progress: Progress | None = None) -> bytes:
    """The PDF of one or more results, on A4 or Letter, as bytes. The same results give the same bytes.

    Lengths are true if it is printed at 100 %. Sheets larger than the printable area are tiled, up to `MOST_TILES` pages each; larger ones
    are only drawn small, and the page says so. A template is there only for `certified` results. The teacher's page comes last, once for all.
    """
    subjects = [Subject(result, paper, progress) for result in results]
    story: list[Flowable] = []
    for number, subject in enumerate(subjects):
        if number:
            story += [NextPageTemplate("text"), PageBreak()]
        story += _pages(subject)
    story += teacher(subjects)
    return bound(story, paper, subjects[0].title if len(subjects) == 1 else "Handouts")


def _pages(subject: Subject) -> list[Flowable]:
    """What is about one document alone."""
    scene, result = subject.scene, subject.result
    story: list[Flowable] = [subject.part("handout", bookmark=True)]
    if result.verdict != "certified" or scene is None:
        return [*story, *no_template(subject)]
    laid = laid_out(subject, scene)
    story += cover(subject, scene, laid)
    story += template(subject, scene, laid)
    if result.folded_steps is not None:
        story += steps(subject, scene, result.folded_steps)
    return story
