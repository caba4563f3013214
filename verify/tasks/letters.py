"""`letters`: certified sheets for the letters of a word: recipes of a few folds, or patterns to collapse."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import islice
from typing import Any

from verify.construct.letterforms.families import Exact
from verify.construct.letterforms.forms import PLAIN, Kind, LetterForm, forms, usual_height
from verify.construct.letterforms.landmarks import Guide, without_template
from verify.construct.letterforms.plain import HEIGHT as PLAIN_HEIGHT
from verify.construct.letterforms.plain import LETTERS, MARGIN, SPACING, letter_document, width, word_document
from verify.construct.letterforms.spelling import SPACE, Glyph, file_name, spelled
from verify.construct.recipes.picture import AllLayers
from verify.construct.recipes.stack import Folds
from verify.construct.recipes.start import start_of
from verify.construct.recipes.written import smaller_side_moves
from verify.pattern.document import Document
from verify.pattern.limits import Clock, LimitReached, Limits, Progress, silent
from verify.pattern.recipe import FoldStep, Recipe
from verify.tasks.certify import Result, certify
from verify.tasks.construct_found import TRIES, Constructed, Prefer
from verify.tasks.recipe import recipe
from verify.tasks.recipe_found import RecipeFound

MOST_FOLDS = 6
SECONDS = 60.0
_GAP = Fraction(1, 5)
_ALIKE = 12


def letters(
    word: str,
    *,
    one_sheet: bool = False,
    width_mm: Fraction | None = None,
    height_mm: Fraction | None = None,
    margin_mm: Fraction | None = None,
    tries: int = TRIES,
    prefer: Prefer = "folds",
    limits: Limits = Limits(),
    progress: Progress | None = None,
) -> Iterator[tuple[str, Constructed]]:
    """A certified pattern to collapse for each letter of a word, by the name of its sheet (`1-L`, `2-I`), as it is
    constructed; a letter that comes twice is done once. With `one_sheet` the whole word is one sheet.

    Letters are 60 mm high, or `height_mm`, or the word, all letters in a row, is `width_mm` wide, with `margin_mm` of
    paper round them (default 30). For the other arguments, and for what is proved, see `construct`; `limits.seconds` is
    for each sheet. Raises `ValueError` for what is neither letter nor digit. Letters of a few folds: `letter_recipes`.
    """
    word = word.upper()
    natural = sum(Fraction(width(letter)) for letter in word) + SPACING * (len(word) - 1)
    unit = Fraction(1) if height_mm is None else height_mm / PLAIN_HEIGHT
    if width_mm is not None and word:
        unit = width_mm / natural
    margin = MARGIN if margin_mm is None else margin_mm
    if one_sheet or not word:
        sheets = {word: word_document(word, unit_mm=unit, margin=margin, spacing=SPACING * unit)}
    else:
        sheets = {name: letter_document(name[-1], unit_mm=unit, margin=margin) for name in sheet_names(word)}
    from verify.tasks.construct import construct  # slow to load, and most letters need none

    made: dict[str, Constructed] = {}
    for name, document in sheets.items():
        if document.title not in made:
            made[document.title] = construct(document, tries=tries, prefer=prefer, limits=limits, progress=progress)
        yield name, made[document.title]


@dataclass(frozen=True)
class LetterMade:
    """A letter of a word (`glyph`): its recipe or, where it has none on this kind of `sheet`, a pattern to collapse.
    `found`: what the search for folds came to; `constructed`: the pattern, where there was need of one; `guides` are
    creased first on a plain sheet.
    """

    glyph: Glyph
    found: RecipeFound
    sheet: Kind
    constructed: Constructed | None = None
    guides: tuple[Guide, ...] = ()

    @property
    def made(self) -> Recipe | Document | None:
        """What was certified."""
        return self.constructed.pattern if self.constructed is not None else self.found.recipe

    @property
    def result(self) -> Result | None:
        return (self.constructed or self.found).result

    @property
    def verdict(self) -> str:
        return (self.constructed or self.found).verdict

    @property
    def folds(self) -> int:
        if self.constructed is None:
            return self.found.folds
        return self.constructed.proposal.folds if self.constructed.proposal is not None else 0

    @property
    def lacks(self) -> str:
        """What the letter usually has, and lacks on this sheet."""
        return form_of(self.glyph.letter, self.sheet).lacks

    def keys(self, path: str) -> dict[str, Any]:
        """The letter as `--json` prints it, written to this file."""
        keys = self.constructed.keys(path) if self.constructed is not None else self.found.keys()
        glyph = self.glyph
        return keys | {"document": path, "letter": glyph.letter, "written": glyph.written, "folds": self.folds}


def letter_recipes(
    word: str,
    *,
    sheet: Kind = "card",
    height_mm: Fraction | int | None = None,
    limits: Limits = Limits(),
    progress: Progress | None = None,
) -> Iterator[tuple[str, LetterMade]]:
    """A certified recipe of a few folds for each letter of a word, by its name (`1-L`, `2-I`), as it is found; a letter
    that comes twice is done once.

    Letters are `height_mm` high (120, or as A4 or letter paper is), each on its own `sheet`: a card (its box), a strip
    as high as it is, with a margin all round, or a plain sheet (square, a4, letter) from which it is folded without a
    template, by landmarks alone. Lower case, accents, dashes and spaces: see `spelling.spelled`, which raises
    `ValueError` for what cannot be spelled. A letter that has no form on such a sheet is folded from a card; one
    without a recipe within `limits.seconds` gets a pattern. What is proved of a recipe is said in
    `verify.tasks.recipe`.
    """
    known: dict[str, LetterMade] = {}
    height = usual_height(sheet) if height_mm is None else Fraction(height_mm)
    for name, glyph in named(spelled(word, forms("card"))).items():
        if glyph.letter not in known:
            known[glyph.letter] = _folded(glyph, form_of(glyph.letter, sheet), height, limits, progress)
        yield name, replace(known[glyph.letter], glyph=glyph)


def sheet_names(letters: Sequence[str]) -> list[str]:
    """The names of the sheets of letters, in order: `1-L`, `2-I`."""
    digits = len(str(len(letters)))
    return [f"{number:0{digits}}-{letter}" for number, letter in enumerate(letters, start=1)]


def named(glyphs: Sequence[Glyph]) -> dict[str, Glyph]:
    """The letters of a word by the names of their sheets."""
    sheets: list[Glyph] = []
    after_space = False
    for glyph in glyphs:
        if glyph.letter != SPACE:
            sheets.append(replace(glyph, apart=after_space))
        after_space = glyph.letter == SPACE
    return dict(zip(sheet_names([file_name(glyph.letter) for glyph in sheets]), sheets, strict=True))


def form_of(letter: str, sheet: Kind) -> LetterForm:
    """The letter's form on such a sheet, or from a card if it has none."""
    return forms(sheet).get(letter) or forms("card")[letter]


def _folded(glyph: Glyph, form: LetterForm, height: Fraction, limits: Limits, progress: Progress | None) -> LetterMade:
    (progress or silent)(f"folds for {glyph.letter}")
    seconds = SECONDS if limits.seconds is None else limits.seconds
    if form.kind in PLAIN:
        found, guides = _without_template(form, height, Clock(seconds, "the search for folds without a template"))
        return LetterMade(glyph, found, form.kind, guides=guides)
    document = form.document(height)
    found = recipe(document, folds=MOST_FOLDS, seconds=seconds, square=False, prefer="accuracy", progress=progress)
    if found.verdict == "certified" or glyph.letter not in LETTERS:
        return LetterMade(glyph, found, form.kind)
    from verify.tasks.construct import construct  # slow to load

    document = letter_document(glyph.letter, unit_mm=height / PLAIN_HEIGHT)
    return LetterMade(glyph, found, form.kind, construct(document, limits=limits, progress=progress))


def _without_template(form: LetterForm, height: Fraction, clock: Clock) -> tuple[RecipeFound, tuple[Guide, ...]]:
    """The recipe from a plain sheet, by landmarks alone, and the guides that it creases first."""
    document = form.document(height)
    start = start_of(document)
    solutions: list[Folds] = []
    shortest = MOST_FOLDS
    search = AllLayers(start.picture, clock)
    with suppress(LimitReached):
        for depth in range(start.picture.least, MOST_FOLDS + 1):
            solutions += [smaller_side_moves(start, folds) for folds in islice(search.of_length(depth), _ALIKE)]
            shortest = min(shortest, depth) if solutions else shortest
            if depth > shortest:
                break
    plain = without_template(start, solutions)
    if plain is None:
        return RecipeFound(document, reason="no folds by landmarks alone were found"), ()
    result = certify(plain.recipe)
    folds = sum(isinstance(step, FoldStep) for step in plain.recipe.steps) - len(plain.guides)
    if result.verdict != "certified":
        return RecipeFound(document, reason=result.verdict), ()
    found = RecipeFound(
        document, "certified", "found", recipe=plain.recipe, result=result, folds=folds, least=start.picture.least
    )
    return found, plain.guides


def word_height(glyphs: Sequence[Glyph], sheet: Kind, width_mm: Fraction) -> Fraction:
    """The height at which a word is so wide, its letters a fifth of it apart: whole thousandths of a mm, downwards."""
    wide = _GAP * (len(glyphs) - 1)
    for glyph in glyphs:
        if glyph.letter == SPACE:
            wide += Fraction(1, 2)
        else:
            form = form_of(glyph.letter, sheet)
            wide += Fraction(_in_heights(form.width, form)).limit_denominator(10_000)
    return Fraction(int(width_mm / wide * 1000), 1000)


def _in_heights(length: Exact, form: LetterForm) -> float:
    return float(length / (form.height * Fraction(1)))


def height_that_fits(glyphs: Sequence[Glyph], sheet: Kind, paper: tuple[Fraction, Fraction]) -> Fraction:
    """The greatest height (in whole millimetres) at which the sheet of each letter of a word fits on paper of this
    size, turned if need be. Raises `ValueError` if not even letters of 1 mm fit.
    """
    shares = []
    short, long = sorted(map(float, paper))
    for letter in {glyph.letter for glyph in glyphs} - {SPACE}:
        form = form_of(letter, sheet)
        left, low, right, high = (_in_heights(side, form) for side in form.sheet)
        one, other = sorted((right - left, high - low))
        shares.append(min(short / one, long / other))
    height = int(min(shares) + 1e-9)
    if height < 1:
        raise ValueError(
            f"found paper of {float(paper[0]):g} × {float(paper[1]):g} mm; expected some that holds letters of 1 mm"
        )
    return Fraction(height)
