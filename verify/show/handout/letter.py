"""A letter of a word: the page with its steps as pictures, its sheet in true size, and how it is folded from a plain sheet."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from reportlab.platypus import Flowable, NextPageTemplate, PageBreak, Spacer

from verify.folding.steps import Folded
from verify.show.handout.cover import draw_cut_picture, draw_what_comes_out
from verify.show.handout.pages import Drawing, say, table, text_height
from verify.show.handout.steps import draw_moment, sentence
from verify.show.handout.subject import Subject
from verify.show.handout.teacher import no_template
from verify.show.handout.template import laid_out, template
from verify.show.scene import Scene
from verify.tasks.certify import Result

_MOST_HIGH, _LEAST_HIGH, _SENTENCE = 58.0, 34.0, 15.0
_HEADING = 30.0
_COLUMNS = 2
_GAP = 5.0


@dataclass(frozen=True)
class Letter:
    """A letter of the word: its name, and the certified recipe that makes it.

    `words`: a sentence for each step, for hands; without it the recipe's own. `plain`: the plain sheet that it can be folded from
    with no template and no measuring (`A4`, `letter`, `square`), with `plain_words` for each step from that sheet, and the
    `landmarks` that folding finds first. Without `plain` it needs its template.
    """

    name: str
    result: Result
    words: Sequence[str] = ()
    plain: str = ""
    plain_words: Sequence[str] = ()
    landmarks: Sequence[str] = ()

    def sentences(self, folded: Folded) -> list[str]:
        """What is said of each step."""
        own = [sentence(folded, number) for number in range(len(folded.done))]
        return list(self.words) if len(self.words) == len(own) else own


def letter_pages(letter: Letter, subject: Subject, word: str) -> Iterator[Flowable]:
    """Its steps on one page, then its sheet."""
    scene, folded = subject.scene, letter.result.folded_steps
    yield NextPageTemplate("text")
    yield PageBreak()
    yield subject.part(f"{word}: {letter.name}", bookmark=True)
    if letter.result.verdict != "certified" or scene is None:
        yield from no_template(subject)
        return
    yield say(letter.name, "title")
    yield say(f"Certified: {subject.claim()}")
    if folded is not None:
        yield _grid(subject, scene, folded, letter.sentences(folded))
    yield from template(subject, scene, laid_out(subject, scene), f"{letter.name}, sheet")


def _grid(subject: Subject, scene: Scene, folded: Folded, sentences: Sequence[str]) -> Flowable:
    """The paper before each step with its fold line, then the cut, two beside each other, so that all stands on one page."""
    wide = subject.wide / _COLUMNS - _GAP
    cut = scene.cut_line is not None or scene.cutting is not None
    cells = len(folded.done) + 2 * cut
    rows = -(-cells // _COLUMNS)
    room = text_height(subject.paper) - _HEADING
    high = max(_LEAST_HIGH, min(_MOST_HIGH, room / max(rows, 1) - _SENTENCE))
    size = wide, high
    drawn: list[list[Flowable]] = []
    for number, words in enumerate(sentences):
        picture = Drawing(wide, high, partial(draw_moment, scene, folded, number, size, words))
        drawn.append([say(f"{number + 1}. {words}", "small"), picture])
    if cut:
        most = scene.result.layers_met
        words = f"{len(drawn) + 1}. Cut along the heavy line, through all layers (n×: n layers; {most} at most)."
        drawn.append(
            [say(words, "small"), Drawing(wide, high, lambda pen: draw_cut_picture(pen, scene, (0.0, 0.0, *size)))]
        )
        inside = (0.15 * wide, 0.1 * high, 0.7 * wide, 0.8 * high)
        drawn.append(
            [
                say("Unfold: what comes out is grey.", "small"),
                Drawing(wide, high, partial(draw_what_comes_out, scene, inside)),
            ]
        )
    grid = [drawn[k : k + _COLUMNS] for k in range(0, len(drawn), _COLUMNS)]
    grid[-1] += [[Spacer(0, 0)]] * (_COLUMNS - len(grid[-1]))
    return table(grid, [wide + _GAP] * _COLUMNS, gap=_GAP)


def rehearsal(letters: Sequence[Letter], scenes: Mapping[str, Scene | None], wide: float) -> Iterator[Flowable]:
    """Which letters need no template, and how each is folded from a plain sheet."""
    yield say("Rehearsal: from plain sheets, without a template", "title")
    plain = [letter for letter in letters if letter.plain]
    others = [letter.name for letter in letters if not letter.plain]
    if plain:
        yield say(
            "These letters are folded from a plain sheet by its own edges and by marks that folding finds; nothing is measured. "
            "The proof is about the letter’s own sheet; that the landmarks lie where its marks do is exact, how well hands meet them is not."
        )
    if others:
        yield say(f"These need their template: {', '.join(others)}.")
    for letter in plain:
        yield say(f"{letter.name}: from a plain {letter.plain} sheet", "head")
        yield from (say(words, "item", "–") for words in letter.landmarks)
        folded, scene = letter.result.folded_steps, scenes[letter.name]
        words = letter.plain_words or (letter.sentences(folded) if folded is not None else ())
        if folded is not None and scene is not None:
            yield _strip(scene, folded, wide)
        yield from (say(step, "item", f"{number}.") for number, step in enumerate(words, start=1))
        yield say(
            "Cut once through all layers along the line on which the outline lies, and unfold.",
            "item",
            f"{len(words) + 1}.",
        )


def _strip(scene: Scene, folded: Folded, wide: float) -> Flowable:
    """The steps once more, small, without names."""
    count = len(folded.done)
    each = min(40.0, wide / max(count, 1))
    drawings = [Drawing(each, 30.0, partial(draw_moment, scene, folded, n, (each, 30.0), "")) for n in range(count)]
    return table([drawings], [each] * count)
