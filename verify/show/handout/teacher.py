"""For the teacher: what was proved, once for all documents; the page of one without a template."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from functools import partial

from reportlab.platypus import Flowable, KeepTogether

from verify.pattern.source import printable
from verify.show.handout.moments import draw_cut_picture
from verify.show.handout.pages import PageDrawing, Running, boxed, new_page, paragraphs, say
from verify.show.handout.subject import Subject
from verify.show.labels import Labels
from verify.show.marks import draw_fault_faces, draw_rails, draw_rings
from verify.show.page import box_of, fitted
from verify.show.print import Pen, shortened
from verify.show.scene import Scene
from verify.show.sheet import draw_lines
from verify.show.surface import name
from verify.show.texts import sentences
from verify.tasks.explain import folds_at_once, proved
from verify.words.findings import counted

_MANY_REASONS, _MANY_NAMES = 12, 40
_DRAWING = 76.0  # how high the drawing of a refuted document is
_CUT = 54.0  # how high the picture of a cut that fails is


def no_template(subject: Subject) -> Iterator[Flowable]:
    """In place of a template: why there is none."""
    verdict = subject.result.verdict
    warning = "Do not fold from this document." if verdict == "refuted" else "No template: nothing is proved."
    yield say(subject.title, "title")
    yield boxed([say(warning, "warning"), *paragraphs("no-template", verdict)], subject.wide)
    yield say("Why", "head")
    findings = subject.result.findings
    why = [f for f in findings if f.level == "fails"] or [f for f in findings if f.check == "limit"] or list(findings)
    for finding in why[:_MANY_REASONS]:
        yield say(finding.message, "item", "–")
        for reason in finding.value.get("reasons", [])[:_MANY_REASONS]:
            yield say(f"because {reason}", "item")
    if len(why) > _MANY_REASONS:
        yield say(f"… and {len(why) - _MANY_REASONS} more; creaseproof explain lists all.", "item")
    advice = [f for f in findings if f.level == "advice" and f not in why]
    if advice:
        yield say("Advice", "head")
    for finding in advice[:_MANY_REASONS]:
        yield say(f"{finding.message[:1].upper()}{finding.message[1:]}.", "item", "–")
    if subject.scene is not None:
        drawing = PageDrawing(subject.wide, _DRAWING, partial(_faults, subject.scene, subject.wide))
        grey = "; panels at fault are grey" if any(mark.fails and mark.faces for mark in subject.scene.marks) else ""
        yield KeepTogether([say(f"The drawing, with its named places{grey}", "head"), drawing])
        if subject.scene.cut_line is not None and subject.scene.has_layers:
            area = 0.0, 0.0, subject.wide, _CUT
            cut = PageDrawing(subject.wide, _CUT, partial(draw_cut_picture, subject.scene, area))
            yield KeepTogether([say("Folded, with the cut line", "head"), cut])


def _faults(scene: Scene, wide: float, pen: Pen) -> None:
    at = fitted(box_of(scene.flat), (4.0, 4.0, wide - 8, _DRAWING - 8))
    here = [at(p) for p in scene.flat]
    draw_fault_faces(pen, scene, here)
    draw_rails(pen, scene, here)
    labels = Labels()
    draw_lines(pen, scene, at, labels, small=True, letters=False)
    draw_rings(pen, scene, here, labels)
    s = scene.subdivision
    named = [v for v, p in enumerate(s.vertices) if p in s.drawing.names]
    if len(named) > _MANY_NAMES:
        told = [m for m in scene.marks if m.fails]
        spoken = {v for m in told for v in (*m.vertices, *(v for n in m.edges for v in s.edges[n].ends))}
        named = [v for v in named if v in spoken]
    for v in named:
        name(pen, labels, here[v], shortened(printable(s.drawing.names[s.vertices[v]]), 40, 2.5), size=2.5, away=2.2)


def teacher(subjects: Sequence[Subject], heading: str = "") -> Iterator[Flowable]:
    """One page for all: what is proved of each document, how to check it again, what is not said."""
    one = len(subjects) == 1
    all_of_them = Running(heading or f"{len(subjects)} documents", "", "for the teacher", bookmark=True)
    yield from new_page(subjects[0].part("for the teacher") if one else all_of_them)
    yield say("For the teacher: what exactly was proved", "title")
    if one:
        yield from _proof(subjects[0])
    else:
        yield from _proofs(subjects)
    provable = [s for s in subjects if s.result.verdict in ("certified", "refuted")]
    if not one:
        yield say("Each proof is about its document as it stood when this was printed.")
    yield say("Anyone with a document and a certificate that names its digest can check the proof again.")
    if provable:
        source = printable(provable[0].result.document.source) if one else ""
        yield from paragraphs("teacher", "checking", file=source or "DOCUMENT")
    yield say("What this does not say", "head")
    for words in dict.fromkeys(words for subject in subjects for words in _not_said(subject)):
        yield say(words, "item", "–")


def _said(subject: Subject) -> list[str]:
    """What is proved, of the simple folds as well, and what is not."""
    said, recipe = [*proved(subject.result)][:-1], subject.recipe
    if recipe is None:
        return said
    of_recipe = [*proved(recipe)][:-1]
    return [said[0], f"Of the simple folds: {of_recipe[0][:1].lower()}{of_recipe[0][1:]}", *of_recipe[1:]]


def _proofs(subjects: Sequence[Subject]) -> Iterator[Flowable]:
    """What is proved of several documents: each sentence once, then the documents of which it is true."""
    alike: dict[tuple[str, ...], list[Subject]] = {}
    for subject in subjects:
        what = _said(subject)[: 1 if subject.recipe is None else 2]
        alike.setdefault((subject.result.verdict, *what), []).append(subject)
    for (verdict, *what), those in alike.items():
        yield say(f"{verdict[:1].upper()}{verdict[1:]}", "head")
        yield from map(say, what)
        for subject in those:
            source, digest = printable(subject.result.document.source), subject.result.statement_sha256
            yield say(f"{subject.title}: {source}, statement {digest}", "item", "–")
            if subject.recipe is not None:
                yield say(f"the recipe of its simple folds, statement {subject.recipe.statement_sha256}", "item")


def _proof(subject: Subject) -> Iterator[Flowable]:
    result, source, recipe = subject.result, printable(subject.result.document.source), subject.recipe
    said = _said(subject)
    yield say(f"Verdict: {result.verdict}", "verdict")
    yield from (say(words) for words in said)
    levels = Counter(f.level for f in result.findings)
    yield say(
        f"{counted(levels['holds'], 'check')} held, {levels['fails']} failed; "
        f"{counted(levels['advice'] + levels['note'], 'note')}, {counted(levels['warning'], 'warning')}. "
        "creaseproof explain lists them all."
    )
    yield from paragraphs("teacher", "statement", source=source, digest=result.statement_sha256)
    if recipe is not None:
        yield from paragraphs("teacher", "recipe", file=source, digest=recipe.statement_sha256)


def _not_said(subject: Subject) -> Iterator[str]:
    verdict = subject.result.verdict
    if verdict == "certified":
        yield from sentences("teacher", "not-said-of-paper")
        if folds_at_once(subject.result) and subject.recipe is None:
            yield from sentences("teacher", "not-said-of-patterns")
        yield from sentences("teacher", "not-said-of-templates")
    else:
        yield from sentences("teacher", f"not-said-{'of-refuted' if verdict == 'refuted' else 'without-proof'}")
