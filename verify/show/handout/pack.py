"""The performer's pack: a page a letter, each sheet at full size, and a page to rehearse from."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from itertools import pairwise
from math import ceil
from typing import TypeVar

from reportlab.platypus import Flowable, Spacer

from verify.cutting.tolerance import stack_thickness
from verify.pattern.recipe import FoldStep, UnfoldStep
from verify.show.handout.cover import cutting
from verify.show.handout.letter import Letter, cues, letter_pages, rehearsal, sheet_pages
from verify.show.handout.moments import draw_what_comes_out
from verify.show.handout.pages import (
    PageDrawing,
    PaperName,
    Running,
    bound,
    cautions,
    fact,
    height_of,
    new_page,
    numbered,
    paragraphs,
    say,
    table,
    text_height,
    text_width,
)
from verify.show.handout.steps import SEEN_THROUGH
from verify.show.handout.subject import Subject, true_scale
from verify.show.handout.teacher import teacher
from verify.show.handout.template import laid_out
from verify.show.handout.tiles import MOST_TILES, OVERLAP
from verify.show.page import box_of
from verify.show.scene import Scene
from verify.show.texts import sentences
from verify.tasks.certify import Result
from verify.words.findings import counted
from verify.words.hands_findings import in_one

_One = TypeVar("_One")
_Sized = tuple[Scene | None, float, float]  # with width and height of the sheet in millimetres; None: a gap


def pack(word: str, letters: Sequence[Letter], paper: PaperName = "a4") -> bytes:
    """The PDF of a word, as bytes, the same for the same letters: the word, cautions and order of work, steps and sheet
    of each letter (once; why not, if it is not certified), rehearsal from plain sheets, the teacher's page.
    """
    return _Pack(word, tuple(letters), paper).bound()


_GAP = 4.0
_STRIP, _STRIPS = 60.0, 120.0  # how high a row of letters is at most, and all rows
_CUE_NAME, _CUE_WIDE, _CUE_HIGH = 10.0, 40.0, 24.0  # on the cue card: a letter's name, and a picture at most
_CUE_LEAST, _CUE_GAP, _CUE_SLACK = 17.0, 1.0, 4.0  # so high at least, this between rows, and left below them
_READABLE = 20.0  # how high a sheet is at least, before a word goes on in another row


def _rows(letters: Sequence[_One], rows: int) -> list[Sequence[_One]]:
    """The letters in so many rows, each of about as many."""
    ends = [round(len(letters) * row / rows) for row in range(rows + 1)]
    return [letters[a:b] for a, b in pairwise(ends)]


@dataclass(frozen=True)
class _Pack:
    word: str
    letters: tuple[Letter, ...]
    paper: PaperName

    @cached_property
    def each(self) -> dict[str, Letter]:
        """The letters, each once, as it first stands in the word."""
        found: dict[str, Letter] = {}
        for letter in self.letters:
            found.setdefault(letter.name, letter)
        return found

    @cached_property
    def subjects(self) -> dict[str, Subject]:
        return {name: Subject(letter.result, self.paper) for name, letter in self.each.items()}

    @property
    def wide(self) -> float:
        return text_width(self.paper)

    def part(self, name: str, bookmark: bool = False) -> Running:
        return Running(self.word, "", name, bookmark)

    def bound(self) -> bytes:
        """Page 1 names other pages, so that these are numbered first."""
        draft = self.story({name: [0] for name in self.each})
        numbered(draft, self.paper)
        story = self.story({name: sheet_pages(name, draft) for name in self.each})
        return bound(story, self.paper, f"{self.word}: performer’s pack")

    def story(self, sheets: Mapping[str, Sequence[int]]) -> list[Flowable]:
        """All pages; `sheets`: on which pages each letter's sheet is."""
        story: list[Flowable] = [*self.front(sheets), *self.care()]
        for letter in self.each.values():
            story += letter_pages(letter, self.subjects[letter.name], self.word)
        if any(letter.rehearsal for letter in self.letters):
            story += new_page(self.part("rehearsal"))
            story += rehearsal(list(self.each.values()), self.paper)
        return [*story, *teacher(list(self.subjects.values()), self.word)]

    # The word.

    def front(self, sheets: Mapping[str, Sequence[int]]) -> Iterator[Flowable]:
        above = [*self.what_it_is(sheets)]
        yield self.part("performer’s pack", bookmark=True)
        yield from above
        yield from self.cue_card(text_height(self.paper) - sum(height_of(one, self.wide) for one in above))

    def what_it_is(self, sheets: Mapping[str, Sequence[int]]) -> Iterator[Flowable]:
        """The word as it comes out, and its letters in a table."""
        yield say(self.word, "title")
        yield say("Performer’s pack: fold each letter, cut once, unfold", "verdict")
        if any(subject.scene for subject in self.subjects.values()):
            yield self.rows_of_letters()
            yield Spacer(0, 8)
        yield self.summary(sheets)
        folds = sum(_folds(letter.result)[0] for letter in self.letters)
        yield Spacer(0, 6)
        totals = f"{_counted(self.letters)}, {counted(folds, 'fold')}, {counted(len(self.letters), 'cut')} in all."
        yield say(f"{totals} How thick the layers are is an estimate, for office paper.")
        if not any(letter.rehearsed for letter in self.letters):
            yield from map(say, sentences("pack", "all-need-templates"))
        for name, subject in self.subjects.items():
            for finding in in_one(subject.result.warnings):
                yield fact(f"Warning: {name}: {finding.message}.")

    def cue_card(self, room: float) -> Iterator[Flowable]:
        """Each letter's folds and its cut in a row of small pictures, to perform from: within so many mm if they can be
        large enough to read, or else on pages of its own, evenly.
        """
        drawn = {name: cues(letter, self.subjects[name].scene) for name, letter in self.each.items()}
        drawn = {name: draws for name, draws in drawn.items() if draws}
        if not drawn:
            return
        most = max(map(len, drawn.values()))
        wide = min(_CUE_WIDE, (self.wide - _CUE_NAME) / most)
        head = [*paragraphs("pack", "cue-card")]
        if any(_folds(letter.result)[1] for letter in self.letters):
            head += paragraphs("pack", "cue-guides")
        taken = sum(height_of(one, self.wide) for one in head) + _CUE_SLACK
        least = min(wide, _CUE_LEAST) + _CUE_GAP
        here = len(drawn) * least <= room - taken
        whole = text_height(self.paper) - taken
        pages = 1 if here else ceil(len(drawn) * least / whole)
        for number, named in enumerate(_rows([*drawn], pages)):
            if number or not here:
                yield from new_page(self.part("cue card"))
            yield from head if number == 0 else ()
            high = (room - taken if here else whole) / max(1, len(named)) - _CUE_GAP
            size = wide, min(wide, _CUE_HIGH, high)
            rows: list[Sequence[Flowable]] = []
            for name in named:
                pictures = [PageDrawing(*size, partial(draw, size)) for draw in drawn[name]]
                rows.append([say(name, "head"), *pictures, *[Spacer(0, 0)] * (most + 1 - len(pictures))])
            yield table(rows, [_CUE_NAME, *[wide] * most, self.wide - _CUE_NAME - wide * most])

    def rows_of_letters(self) -> Flowable:
        """The letters at one scale: in as few rows as are readable, or else in as many as make them largest."""
        sized: list[_Sized] = []
        for letter in self.letters:
            scene = self.subjects[letter.name].scene
            if scene is None:
                continue
            width, height = _size(scene)
            if letter.apart:
                sized.append((None, height / 2, height))
            sized.append((scene, width, height))
        high = max(h for _, _, h in sized)

        def scale(rows: int) -> float:
            widest = max(sum(w for _, w, _ in row) for row in _rows(sized, rows))
            most = max(map(len, _rows(sized, rows)))
            return min(_STRIP / high, (_STRIPS / rows - _GAP) / high, (self.wide - _GAP * most) / widest)

        every = range(1, len(sized) + 1)
        rows = next((rows for rows in every if scale(rows) * high >= _READABLE), max(every, key=scale))
        times = scale(rows)

        def drawn(scene: Scene | None, w: float, h: float) -> Flowable:
            if scene is None:
                return Spacer(w * times, h * times)
            return PageDrawing(
                w * times, h * times, partial(draw_what_comes_out, scene, (0.0, 0.0, w * times, h * times))
            )

        lines = [
            [table([[drawn(*one) for one in row]], [w * times + _GAP for _, w, _ in row])] for row in _rows(sized, rows)
        ]
        return table(lines, [self.wide])

    def summary(self, sheets: Mapping[str, Sequence[int]]) -> Flowable:
        head = ("letter", "how many", "sheet", "on page", "folds", "layers at the cut", "without a template, from")
        rows: list[Sequence[Flowable]] = [[say(words, "small") for words in head]]
        for name, subject in self.subjects.items():
            scene, letter = subject.scene, self.each[name]
            certified = subject.result.verdict == "certified"
            cells = (
                name,
                f"{sum(other.name == name for other in self.letters)}",
                scene.size if scene else "",
                _from_to(sheets[name]),
                _folds_text(subject.result) if certified else subject.result.verdict,
                _layers_text(subject.result) if certified else "",
                letter.rehearsed.begins() if letter.rehearsed else "needs the template",
            )
            rows.append([say(words) for words in cells])
        return table(rows, [self.wide * share for share in (0.08, 0.1, 0.19, 0.1, 0.15, 0.16, 0.22)], lines=True)

    # Cautions.

    def care(self) -> Iterator[Flowable]:
        yield from new_page(self.part("cautions and order of work"))
        yield say("Before you cut", "title")
        yield cautions(self.wide)
        yield say("Order of work", "head")
        printed = {letter.name: self.subjects[letter.name] for letter in self.each.values() if not letter.plain}
        work = [
            *_printing(printed),
            *sentences("pack", "fold"),
            *((SEEN_THROUGH,) if printed else ()),
            *cutting(outline=bool(printed)),
            *sentences("pack", "rehearse"),
        ]
        for number, words in enumerate(work, start=1):
            yield say(words, "item", f"{number}.")
        yield from paragraphs("pack", "before-people")
        yield from paragraphs("order", "wrong")
        yield from paragraphs("pack", "spare")


def _counted(letters: Sequence[Letter]) -> str:
    """3 letters; 3 letters and 2 digits."""
    digits = sum(letter.name.isdigit() for letter in letters)
    counts = {"letter": len(letters) - digits, "digit": digits}
    return " and ".join(counted(n, what) for what, n in counts.items() if n) or "0 letters"


def _folds(result: Result) -> tuple[int, int]:
    """How many folds are there in the end, and how many are made and opened again."""
    steps = [done.step for done in result.carried.done] if result.carried is not None else []
    opened = sum(step.folds for step in steps if isinstance(step, UnfoldStep))
    return sum(isinstance(step, FoldStep) for step in steps) - opened, opened


def _folds_text(result: Result) -> str:
    stay, opened = _folds(result)
    return f"{stay} and {counted(opened, 'guide')}" if opened else f"{stay}"


def _layers_text(result: Result) -> str:
    """How many layers the scissors meet, and how thick these are."""
    most = result.layers_met or 0
    return f"{most}, {stack_thickness(most):.2g} mm"


def _from_to(pages: Sequence[int]) -> str:
    """Pages that follow one another: 4; 5 to 7."""
    return " to ".join(f"{page}" for page in dict.fromkeys([*pages[:1], *pages[-1:]]))


def _size(scene: Scene) -> tuple[float, float]:
    """Of the sheet, in millimetres."""
    left, low, right, high = box_of(map(true_scale(scene), scene.flat))
    return right - left, high - low


def _printing(printed: Mapping[str, Subject]) -> Iterator[str]:
    """How the templates are printed and put together, and which letters' take how many pages."""
    taken: dict[int, list[str]] = {}
    for name, subject in printed.items():
        if subject.result.verdict == "certified" and subject.scene is not None:
            taken.setdefault(laid_out(subject, subject.scene).count, []).append(name)
    too_large = {pages: names for pages, names in taken.items() if pages > MOST_TILES}
    several = {pages: names for pages, names in taken.items() if 1 < pages <= MOST_TILES}
    if too_large:
        yield from sentences("pack", "too-large", letters=_by_pages(too_large))
    if len(taken) > len(too_large):
        yield from sentences("order", "print")
        yield from sentences("pack", "show-paper")
    if several:
        yield from sentences("pack", "several-pages", letters=_by_pages(several), overlap=OVERLAP)
    if len(taken) > len(too_large):
        yield from sentences("order", "cut-out")


def _by_pages(taken: Mapping[int, Sequence[str]]) -> str:
    """M, Ö: 3 pages; W: 4 pages."""
    return "; ".join(f"{', '.join(names)}: {pages:,} pages" for pages, names in sorted(taken.items()))
