"""The handout: a PDF to print, fold from and cut. True-scale template, steps, cautions, and the teacher's page.

Only a certified document gets a template; any other a page that says why not. All grey, so that any printer does.
Drawings are rounded to a ten-thousandth of a millimetre and prove nothing: what was proved stands on the teacher's
page.
"""

from __future__ import annotations

from collections.abc import Sequence

from reportlab.platypus import Flowable

from verify.cutting.hands import StraightCrease
from verify.exact.plane import Point, middle, on_segment
from verify.pattern.limits import Progress
from verify.pattern.subdivision import Edge, Subdivision
from verify.show.handout.cover import Shown, cover
from verify.show.handout.pages import PaperName, bound, new_page, paragraphs
from verify.show.handout.steps import steps
from verify.show.handout.subject import Subject
from verify.show.handout.teacher import no_template, teacher
from verify.show.handout.template import laid_out, template
from verify.show.handout.tiles import MOST_TILES
from verify.show.scene import Scene, scene_of
from verify.tasks.certify import Result, Source, result_of

__all__ = ["MOST_TILES", "handout"]


def handout(
    sources: Source | Sequence[Source],
    paper: PaperName = "a4",
    progress: Progress | None = None,
    recipes: Sequence[Result | None] = (),
) -> bytes:
    """The PDF of one or more results (or documents, or files of such), on A4 or Letter, as bytes. The same results give
    the same bytes.

    Lengths are true if it is printed at 100 %. Sheets larger than the printable area are tiled, up to `MOST_TILES`
    pages each; larger ones are only drawn small, and the page says so. A template is there only for `certified`
    results, and it is a drawing, rounded; the proof is of the document. The teacher's page comes last, once for all.

    A recipe is shown step by step; so is a pattern for which `recipes` has, at its place, the certified recipe of
    simple folds that makes it (else ValueError). Other patterns are shown with an order in which to crease them, and
    groups of creases to collapse.
    """
    several = [sources] if isinstance(sources, Source) else sources
    subjects = [
        _subject(result_of(source), paper, progress, recipes[number] if number < len(recipes) else None)
        for number, source in enumerate(several)
    ]
    story: list[Flowable] = []
    for number, subject in enumerate(subjects):
        running = subject.part("handout", bookmark=True)
        story += new_page(running) if number else [running]
        story += _pages(subject)
    story += teacher(subjects)
    if any(subject.cut_after_steps for subject in subjects):
        story += paragraphs("order", "wrong")
    return bound(story, paper, subjects[0].title if len(subjects) == 1 else "Handouts")


def _subject(result: Result, paper: PaperName, progress: Progress | None, recipe: Result | None) -> Subject:
    """With the recipe, if both are certified and the document is a pattern."""
    both = recipe is not None and recipe.verdict == result.verdict == "certified"
    return Subject(result, paper, progress, recipe if both and not result.document.steps else None)


def _pages(subject: Subject) -> list[Flowable]:
    """What is about one document alone."""
    scene, result = subject.scene, subject.result
    if result.verdict != "certified" or scene is None:
        return [*no_template(subject)]
    made = _made_by(subject, scene)
    shown, folding, numbers, creases = _folding(subject, scene, made)
    if made is not None:
        scene = made  # in which folds that the pattern leaves open are as the recipe has them
    laid = laid_out(subject, scene)
    return [
        *cover(subject, scene, laid, shown, numbers),
        *template(subject, scene, laid, creases=creases),
        *folding,
    ]


def _made_by(subject: Subject, scene: Scene) -> Scene | None:
    """The scene of the subject's recipe, if it folds exactly the pattern's creases."""
    if subject.recipe is None:
        return None
    made = scene_of(subject.recipe)
    if made is None or not _same_creases(scene.subdivision, made.subdivision):
        raise ValueError(f"{subject.title}: expected a recipe that folds exactly the pattern's creases; found others")
    return made


def _folding(
    subject: Subject, scene: Scene, made: Scene | None
) -> tuple[Shown, list[Flowable], dict[str, int], list[StraightCrease]]:
    """Step by step, or creasing and collapsing, with the numbers of creases, and these in order; nothing where no order
    is known.
    """
    if made is not None and made.result.carried is not None:
        return "steps", [*steps(subject, made, made.result.carried, made.result.statement_sha256)], {}, []
    folded = subject.result.carried
    if folded is not None:
        return "steps", [*steps(subject, scene, folded)], {}, []
    from verify.show.handout.collapse import collapse, creases_in_order, numbers  # slow to load
    from verify.show.motion import stages_of

    found = stages_of(scene)
    if found is None or not found.stages:
        return "", [], {}, []
    return "collapse", [*collapse(subject, scene, found)], numbers(found), creases_in_order(found)


def _same_creases(pattern: Subdivision, folded: Subdivision) -> bool:
    """Whether the folds are the pattern's, each as it is drawn (`either`: as it was folded). Exact."""

    def lines(s: Subdivision) -> set[frozenset[Point]]:
        folds = [n for n, e in enumerate(s.edges) if e.is_fold]
        return {frozenset((s.vertices[a], s.vertices[b])) for a, b in s.straight(folds)}

    def as_drawn(e: Edge) -> bool:
        within = middle(*(folded.vertices[v] for v in e.ends))
        alike = (f for f in pattern.edges if f.is_fold and f.kind in ("either", e.kind))
        return any(on_segment(within, *(pattern.vertices[v] for v in f.ends)) for f in alike)

    drawn = any(f.kind in ("mountain", "valley") for f in pattern.edges)
    as_wanted = not drawn or all(as_drawn(e) for e in folded.edges if e.is_fold)
    return as_wanted and lines(pattern) == lines(folded)
