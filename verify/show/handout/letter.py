"""A letter of a word: the page with its steps as pictures, its sheet in true size, and how it is folded from a plain
sheet.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from reportlab.platypus import Flowable, NextPageTemplate, PageBreak, Spacer

from verify.folding.steps import Folded
from verify.show.handout.moments import draw_cut_picture, draw_moment, draw_what_comes_out
from verify.show.handout.pages import Drawing, say, table, text_height
from verify.show.handout.steps import sentence, where_to_cut
from verify.show.handout.subject import Subject
from verify.show.handout.teacher import no_template
from verify.show.handout.template import laid_out, template
from verify.show.scene import Scene
from verify.tasks.certify import Result

_MOST_HIGH, _LEAST_HIGH, _SENTENCE = 58.0, 26.0, 16.0
_HEADING = 30.0
_FEW = 8
_GAP = 5.0


@dataclass(frozen=True)
class Letter:
    """A letter of the word: its name, and the certified recipe that makes it.

    `words`: a sentence for each step, for hands; without it the recipe's own. `plain`: the plain sheet that it can be
    folded from with no template and no measuring (`A4`, `letter`, `square`), with `plain_words` for each step from that
    sheet, and the `landmarks` that folding finds first. Without `plain` it needs its template.
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
    """Its steps on one page, then its sheet, if it does not begin with a plain one."""
    scene, folded = subject.scene, letter.result.folded_steps
    yield NextPageTemplate("text")
    yield PageBreak()
    yield subject.part(f"{word}: {letter.name}", bookmark=True)
    if letter.result.verdict != "certified" or scene is None:
        yield from no_template(subject)
        return
    yield say(letter.name, "title")
    begin = f"Begin with a plain {letter.plain} sheet, without a template. " if letter.plain else ""
    yield say(f"{begin}Certified: {subject.claim()}")
    if folded is not None:
        yield _grid(subject, scene, folded, letter.sentences(folded))
    if not letter.plain:
        yield from template(subject, scene, laid_out(subject, scene), f"{letter.name}, sheet")


def _grid(subject: Subject, scene: Scene, folded: Folded, sentences: Sequence[str]) -> Flowable:
    """The paper before each step with its fold line, then the cut and what comes out, beside each other, so that all
    stands on one page.
    """
    cut = scene.cut_line is not None or scene.cutting is not None
    cells = len(folded.done) + 2 * cut
    columns = 2 if cells <= _FEW else 3
    wide = subject.wide / columns - _GAP
    rows = -(-cells // columns)
    room = text_height(subject.paper) - _HEADING
    high = max(_LEAST_HIGH, min(_MOST_HIGH, room / max(rows, 1) - _SENTENCE))
    size = wide, high
    drawn: list[list[Flowable]] = []
    for number, words in enumerate(sentences):
        picture = Drawing(wide, high, partial(draw_moment, scene, folded, number, size, words))
        drawn.append([say(f"{number + 1}. {words}", "small"), picture])
    if cut:
        most = scene.result.layers_met
        words = (
            f"{len(drawn) + 1}. Cut along the heavy line, through all layers{where_to_cut(scene)} (n×: n "
            f"layers; {most} at most)."
        )
        drawn.append([say(words, "small"), Drawing(wide, high, partial(draw_cut_picture, scene, (0.0, 0.0, *size)))])
        inside = (0.15 * wide, 0.1 * high, 0.7 * wide, 0.8 * high)
        drawn.append(
            [
                say("Unfold: what comes out is grey.", "small"),
                Drawing(wide, high, partial(draw_what_comes_out, scene, inside)),
            ]
        )
    grid = [drawn[k : k + columns] for k in range(0, len(drawn), columns)]
    grid[-1] += [[Spacer(0, 0)]] * (columns - len(grid[-1]))
    return table(grid, [wide + _GAP] * columns, gap=_GAP)


def rehearsal(letters: Sequence[Letter], scenes: Mapping[str, Scene | None], wide: float) -> Iterator[Flowable]:
    """Which letters need no template, and how each is folded from a plain sheet."""
    yield say("Rehearsal: from plain sheets, without a template", "title")
    plain = [letter for letter in letters if letter.plain]
    others = [letter.name for letter in letters if not letter.plain]
    yield say(
        "These letters are folded from a plain sheet by its own edges and by marks that folding finds; "
        "nothing is measured. "
        "That they then come out exactly is proved; how well hands meet the marks is not."
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
        where = where_to_cut(scene) if scene is not None else ""
        yield say(f"Cut once, straight through all layers{where}, and unfold.", "item", f"{len(words) + 1}.")


def _strip(scene: Scene, folded: Folded, wide: float) -> Flowable:
    """The steps once more, small, without names."""
    count = len(folded.done)
    each = min(40.0, wide / max(count, 1))
    drawings = [Drawing(each, 30.0, partial(draw_moment, scene, folded, n, (each, 30.0), "")) for n in range(count)]
    return table([drawings], [each] * count)
