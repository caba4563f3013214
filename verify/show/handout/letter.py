"""A letter of a word: its steps as pictures, its full-size sheet, how a plain sheet is folded."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from reportlab.platypus import Flowable, PageBreak, Spacer

from verify.folding.steps import Folded
from verify.pattern.recipe import FoldStep, UnfoldStep
from verify.show.handout.moments import draw_cut_picture, draw_moment, draw_what_comes_out, draw_where_to_cut
from verify.show.handout.pages import (
    FULL_SIZE,
    PageDrawing,
    PaperName,
    Running,
    height_of,
    new_page,
    paragraphs,
    say,
    table,
    text_height,
)
from verify.show.handout.steps import where_to_cut
from verify.show.handout.subject import Subject
from verify.show.handout.teacher import no_template
from verify.show.handout.template import laid_out, template
from verify.show.print import Pen
from verify.show.scene import Scene
from verify.show.scissors import what_to_keep
from verify.tasks.certify import Result
from verify.words.findings import counted
from verify.words.hands_findings import how_true
from verify.words.step_words import light_words, made_words, sentence

_MOST_HIGH, _LEAST_HIGH, _BELOW = 90.0, 26.0, 1.5
_SLACK = 5.0
_CUT, _NARROW = 1.4, 45.0  # rows lower than this give to that of the cut, where scissors and words take room as well
_FEW = 8
_GAP = 5.0
Draw = Callable[[tuple[float, float], Pen], None]  # draws a picture in a size
_Cell = tuple[str, Draw]  # a sentence, and its picture
_AGAIN = " Open it again; the crease stays as a guide line."


@dataclass(frozen=True)
class Letter:
    """A letter of the word: its name, and the certified recipe that makes it.

    `plain`: the plain sheet (`A4`, `A4-shaped`, `letter`, `square`) from which it is folded by `landmarks`, with no
    template and no measuring; without it, it needs its template, and `rehearsal` is the letter from a plain sheet, in
    proportions of its own, if there is such a form. `lacks`: what that goes without. `apart`: a gap stands before it.
    """

    name: str
    result: Result
    plain: str = ""
    landmarks: Sequence[str] = ()
    rehearsal: Letter | None = None
    lacks: str = ""
    apart: bool = False

    @property
    def rehearsed(self) -> Letter | None:
        """The letter from a plain sheet."""
        return self if self.plain else self.rehearsal

    def begins(self) -> str:
        """The plain sheet that it is folded from, and what it then lacks."""
        return f"a plain {self.plain} sheet" + (f" (it then lacks {self.lacks})" if self.lacks else "")


def letter_pages(letter: Letter, subject: Subject, word: str) -> Iterator[Flowable]:
    """Its steps on one page, then its sheet, if it does not begin with a plain one."""
    scene, folded = subject.scene, letter.result.carried
    yield from new_page(subject.part(f"{word}: {letter.name}", bookmark=True))
    if letter.result.verdict != "certified" or scene is None:
        yield from no_template(subject)
        return
    head = [say(letter.name, "title")]
    begin = f"Begin with {letter.begins()}, {scene.size}, without a template. " if letter.plain else ""
    hands = letter.result.hands
    true = [] if hands is None else [f"{words[:1].upper()}{words[1:]} (an estimate)." for words in how_true(hands)]
    head.append(say(" ".join([f"{begin}Certified: {subject.claim()}", *true])))
    yield from head
    if folded is not None:
        yield from _steps(letter, subject, scene, folded, head)
    if not letter.plain:
        yield from template(subject, scene, laid_out(subject, scene), _sheet(letter.name))


def _sheet(name: str) -> str:
    """What the head of the pages of a letter's sheet calls it."""
    return f"{name}, sheet"


def sheet_pages(name: str, story: Sequence[Flowable]) -> list[int]:
    """The pages of a letter's sheet at full size, in a story whose pages are numbered."""
    here = f"{_sheet(name)}, {FULL_SIZE}"
    return [one.page for one in story if isinstance(one, Running) and one.words[2].startswith(here)]


def _grid(
    subject: Subject, scene: Scene, folded: Folded, above: float, known: Mapping[range, str], printed: bool
) -> Flowable:
    """The paper before each step, the cut, what comes out, on one page below so many mm; `known`: words for steps."""
    cut = [*_cut(scene, folded, printed)]
    cells = [*_told(scene, folded, known, printed), *cut]
    columns = 2 if len(cells) <= _FEW else 3
    wide = subject.wide / columns - _GAP
    rows = [cells[k : k + columns] for k in range(0, len(cells), columns)]
    taken = sum(max(height_of(say(words, "small"), wide) for words, _ in row) + _BELOW for row in rows)
    room = text_height(subject.paper) - above - taken
    share = _CUT if room < _NARROW * len(rows) else 1.0
    shares = [share if any(cell in cut[:1] for cell in row) else 1.0 for row in rows]
    sizes = [(wide, max(_LEAST_HIGH, min(_MOST_HIGH, room * one / sum(shares)))) for one in shares]
    grid: list[list[list[Flowable]]] = [
        [[say(words, "small"), PageDrawing(*size, partial(draw, size))] for words, draw in row]
        for row, size in zip(rows, sizes, strict=True)
    ]
    grid[-1] += [[Spacer(0, 0)]] * (columns - len(grid[-1]))
    return table(grid, [wide + _GAP] * columns, gap=_GAP)


def _told(scene: Scene, folded: Folded, known: Mapping[range, str], printed: bool) -> Iterator[_Cell]:
    silent = {number + 1 for move in known for number in move}  # their words name no marks
    for move in _moves(folded):
        if move in known:
            words = f"{known[move]}{made_words(folded, move.start + 1, silent)}"
        else:
            light = light_words(folded, move.start + 1, printed)
            words = sentence(folded, move.start + 1, silent) + light + (_AGAIN if len(move) > 1 else "")
        drawn = partial(draw_moment, scene, folded, move.start, words=words, printed=printed)
        yield f"{', '.join(str(number + 1) for number in move)}. {words}", drawn


def _cut(scene: Scene, folded: Folded, printed: bool) -> Iterator[_Cell]:
    """The cut and what comes out, if anything is cut."""
    if scene.cut_line is None and scene.cutting is None:
        return
    words = (
        f"{len(folded.done) + 1}. Cut along the heavy line, through all layers{where_to_cut(scene)}. The scissors "
        f"meet at most {counted(scene.result.layers_met or 0, 'layer')}. {what_to_keep(scene, hole=False)}"
    )
    yield words, lambda size, pen: draw_cut_picture(scene, (0.0, 0.0, *size), pen, printed=printed)

    def comes_out(size: tuple[float, float], pen: Pen) -> None:
        wide, high = size
        draw_what_comes_out(scene, (0.15 * wide, 0.1 * high, 0.7 * wide, 0.8 * high), pen)

    yield "Unfold. The striped part is what comes out.", comes_out


def cues(letter: Letter, scene: Scene | None) -> list[Draw]:
    """Pictures without words, for a cue card: the paper before each of the moves, and where to cut. None of a letter
    that is not certified, or has no steps.
    """
    folded, printed = letter.result.carried, not letter.plain
    if folded is None or scene is None or letter.result.verdict != "certified":
        return []
    firsts = (move.start for move in _moves(folded))
    moves = (partial(draw_moment, scene, folded, first, words="", printed=printed) for first in firsts)
    return [*moves, partial(draw_where_to_cut, scene, printed=printed)]


def rehearsal(letters: Sequence[Letter], paper: PaperName) -> Iterator[Flowable]:
    """How letters with a template are folded from a plain sheet instead, and which cannot be."""
    head: list[Flowable] = [say("Rehearsal without templates", "title"), *paragraphs("pack", "rehearsal")]
    others = [letter.name for letter in letters if letter.rehearsed is None]
    if others:
        head += paragraphs("pack", "need-templates", letters=", ".join(others))
    plain = [(letter.name, letter.rehearsal) for letter in letters if letter.rehearsal is not None]
    for number, (name, form) in enumerate(plain):
        if number:
            yield PageBreak()
            head = []
        head.append(say(f"{name}: from {form.begins()}", "head"))
        yield from head
        subject, folded = Subject(form.result, paper), form.result.carried
        if folded is not None and subject.scene is not None:
            yield from _steps(form, subject, subject.scene, folded, head)


def _steps(
    letter: Letter, subject: Subject, scene: Scene, folded: Folded, head: Sequence[Flowable]
) -> Iterator[Flowable]:
    """The steps (those that make landmarks in their words), the cut and what comes out, on one page with the head."""
    above = sum(height_of(one, subject.wide) for one in head) + _SLACK
    opened = [move for move in _moves(folded) if len(move) > 1]
    known = dict(zip(opened, letter.landmarks, strict=True)) if len(opened) == len(letter.landmarks) else {}
    if not known:
        yield from (say(words, "item", "–") for words in letter.landmarks)
    yield _grid(subject, scene, folded, above, known, printed=not letter.plain)


def _moves(folded: Folded) -> list[range]:
    """The steps by what hands do at once: a fold that the next step opens again belongs together with it."""
    moves: list[range] = []
    for number, done in enumerate(folded.done):
        opens = isinstance(done.step, UnfoldStep) and done.step.folds == 1
        if opens and moves and len(moves[-1]) == 1 and isinstance(folded.done[number - 1].step, FoldStep):
            moves[-1] = range(number - 1, number + 1)
        else:
            moves.append(range(number, number + 1))
    return moves
