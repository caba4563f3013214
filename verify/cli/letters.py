"""`letters`: certified sheets for the letters of a word: recipes of a few folds, or patterns to collapse."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from shlex import quote
from typing import TYPE_CHECKING, Any, get_args

import click

from verify.cli.best import prefer_option, tries_option
from verify.cli.drawing import extents
from verify.cli.frame import json_option, main, reporting, seconds_for, tell, worst
from verify.cli.options import Amount, Length, given_of
from verify.cli.output import DOCUMENT, PATTERN, PDF, Outputs, force_option, output_option, to_print
from verify.cli.output import Kind as FileKind
from verify.construct.letterforms.forms import HEIGHT, PLAIN, WORDS, Kind, forms, usual_height
from verify.construct.letterforms.plain import LETTERS
from verify.construct.letterforms.spelling import SPACE, Glyph, spelled
from verify.errors import optional
from verify.pattern.document import Document
from verify.pattern.limits import Limits
from verify.pattern.recipe import Recipe
from verify.pattern.source import documents_in, printable
from verify.tasks.certify import Result
from verify.tasks.construct_found import Constructed
from verify.tasks.letters import LetterMade, height_that_fits, letter_recipes, named, sheet_names, word_height
from verify.tasks.letters import letters as run_letters
from verify.words.findings import answer, counted, enumerated, listed
from verify.words.hands_findings import to_make, warned

if TYPE_CHECKING:
    from verify.show.handout.letter import Letter

Paper = tuple[Fraction, Fraction]
"""Width and height in mm."""

PAPERS = {"a4": (Fraction(210), Fraction(297)), "letter": (Fraction(2159, 10), Fraction(2794, 10))}
_NAMED = 6


class _Paper(click.ParamType):  # type: ignore[type-arg,unused-ignore]
    """A size of paper: a name, or two lengths such as 150mmx200mm."""

    name = "paper"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Paper:
        text = str(value).strip().lower()
        if text in PAPERS:
            return PAPERS[text]
        sides = text.split("x")
        if len(sides) != 2:
            self.fail(f"found {text[:80]!r}; expected a4, letter, or two lengths such as 150mmx200mm", param, ctx)
        width, height = (Length().convert(side, param, ctx) for side in sides)
        return width, height


@main.command()
@click.argument("words", metavar="WORD", nargs=-1, required=True)
@output_option("The folder to write to.")
@click.option(
    "--sheet",
    type=click.Choice(get_args(Kind)),
    default="card",
    help=(
        "What each letter is folded from: a card (its own box), a strip as high as the letters, paper with "
        "a margin all round; or a plain square, A4 or letter sheet, by its own edges and folds, without "
        "a template."
    ),
)
@click.option(
    "--height",
    type=Length(),
    help=f"How high the letters are, such as 80mm or 8cm (a bare number: mm). [default: {HEIGHT}mm]",
)
@click.option(
    "--fit",
    type=_Paper(),
    help=(
        "Make the letters so high that their sheets just fit on paper of this size: a4, letter, or 150mmx200mm. If it "
        "is the paper of the pack (--handout), they fit inside its printable area."
    ),
)
@click.option(
    "--handout", type=click.Path(path_type=Path, dir_okay=False), help="Print the performer's pack here (PDF)."
)
@click.option("--paper", type=click.Choice(list(PAPERS)), default="a4", help="The paper of the pack.")
@click.option("--collapse", is_flag=True, help="Patterns to crease and collapse at once, not recipes.")
@click.option("--one-sheet", is_flag=True, help="Patterns: try the whole word in one sheet and one cut.")
@tries_option
@prefer_option
@click.option(
    "--width",
    type=Length(),
    metavar="LENGTH",
    help="How wide the word is, such as 120mm or 12cm (a bare number: mm); the height follows.",
)
@click.option(
    "--margin",
    type=Amount("mm", zero=True),
    metavar="MM",
    help="Patterns: paper left on each side of a letter, in mm. [default: 30]",
)
@seconds_for("Give up the search for a letter's folds, or for more sets of creases, after this time.")
@force_option
@json_option
def letters(words: tuple[str, ...], output: Path, **options: Any) -> str:
    """Make a certified sheet for each letter of WORD: a recipe of a few simple folds and one cut.

    Capitals and digits, 120 mm high; lower case is taken as capitals, accents without a letterform are left out, dashes
    are hyphens, a space is a gap. --width sets how wide the word is, and the height follows. With --collapse (or an
    option for patterns: --one-sheet, --tries, --prefer, --margin) each letter is a crease pattern to be collapsed at
    once, 60 mm high. Files are numbered in the order of the word. The exit status is the worst verdict.
    """
    word = " ".join(words)
    if len(words) > 1:
        raise click.UsageError(f'found {len(words)} words; expected one, or all of them in quotes: "{word}"')
    if output.exists() and not output.is_dir():
        raise click.UsageError(f"-o {output} is a file; expected a folder")
    sizes = given_of("height", "fit", "width")
    if len(sizes) > 1:
        raise click.UsageError(f"{sizes[0]} and {sizes[1]} both say how large the letters are; give one of them")
    patterns = given_of("one_sheet", "tries", "prefer", "margin", "collapse")
    if patterns:
        recipes = given_of("sheet", "handout", "fit")
        if recipes:
            command = f"creaseproof handout {quote(str(output))}/*.toml"
            also = f"; `{command}` prints patterns" if "--handout" in recipes else ""
            raise click.UsageError(f"{recipes[0]} is for recipes; found {patterns[0]}, which is for patterns{also}")
        return _patterns(word, output, options)
    return _recipes(word, output, options)


def _recipes(word: str, output: Path, options: dict[str, Any]) -> str:
    """The word as recipes; the worst verdict."""
    sheet: Kind = options["sheet"]
    handout: Path | None = options["handout"]
    paper, fit = options["paper"], options["fit"]
    if handout is not None:
        optional("reportlab", "print", "a handout")
    try:
        glyphs = spelled(word, forms("card"))
        height = options["height"] or usual_height(sheet)
        if options["width"] is not None:
            height = word_height(glyphs, sheet, options["width"])
        elif fit is not None:
            height = height_that_fits(glyphs, sheet, fit if handout is None else _room_on(fit, paper))
    except ValueError as error:
        raise click.UsageError(f"WORD: {error}") from None
    if height <= 0:
        raise click.UsageError("--width: found less than a word can be made of; expected more")
    folder = _Folder(output, named(glyphs), DOCUMENT)
    if handout is not None:
        folder.outputs.expect_named("--handout", handout, {".pdf": PDF})
    rows: list[tuple[str, LetterMade]] = []
    limits = Limits(seconds=options["seconds"])
    with reporting(word) as progress:
        for name, one in letter_recipes(word, sheet=sheet, height_mm=height, limits=limits, progress=progress):
            folder.write(name, one.made, one.result)
            rows.append((name, one))
    if handout is not None:
        pdf = _pack(word, rows, paper)
        folder.outputs.write(handout, pdf)
    verdict = worst(one.verdict for _, one in rows)
    letters = {one.glyph.letter: one for _, one in rows}
    notes = [*_spelling(glyphs), *folder.others, *_other_sheets(letters.values(), sheet)]
    if sheet not in PLAIN:
        notes += _without_template(letters)
    said = [*_how_large(one.made.base for _, one in rows if one.made is not None), *notes]
    said += _too_much((name, one.result) for name, one in rows)
    for letter, one in letters.items():
        if one.guides:
            them = "them" if len(one.guides) != 1 else "it"
            said.append(f"{letter}: make {counted(len(one.guides), 'guide crease')} first, and open {them} again")
    if handout is not None:
        said.append(to_print(handout, pdf))
    documents = [one.keys(f"{name}.toml") for name, one in rows]
    keys = answer(verdict, documents=documents, height=float(height), sheet=sheet, notes=notes)
    heads = ("verdict", "sheet", "folds", "layers", "what", "warnings")
    tell(keys, (f"  {words}" for words in said), (heads, [_recipe_row(name, one) for name, one in rows]))
    return verdict


def _room_on(fit: Paper, paper: Any) -> Paper:
    """The paper that sheets should fit on; of the pack's own paper what can be printed on a page."""
    if fit != PAPERS[paper]:
        return fit
    from verify.show.handout.template import printable_area

    wide, high = printable_area(paper)
    return Fraction(wide), Fraction(high)


def _pack(word: str, made: list[tuple[str, LetterMade]], paper: Any) -> bytes:
    """The performer's pack of these letters and the names of their files."""
    from verify.show.handout.pack import pack

    letters = dict.fromkeys(one.glyph.letter for _, one in made if one.sheet not in PLAIN)
    alone = (letter for letter in letters if letter in forms(paper))
    plain = {letter: one for letter in alone for _, one in letter_recipes(letter, sheet=paper)}
    pages = (_printed(one, plain.get(one.glyph.letter), f"{name}.toml") for name, one in made)
    return pack(word, [page for page in pages if page is not None], paper)


def _printed(one: LetterMade | None, plain: LetterMade | None = None, file: str = "") -> Letter | None:
    """A letter as it is printed, with what can be rehearsed from a plain sheet; `file`: in which it is written."""
    from verify.show.handout.letter import Letter

    if one is None or one.result is None:
        return None
    document = one.result.document
    result = replace(one.result, document=replace(document, source=file or document.source))
    return Letter(
        one.glyph.letter,
        result,
        plain=_plain(one),
        landmarks=[guide.words() for guide in one.guides],
        rehearsal=_printed(plain),
        lacks=one.lacks,
        apart=one.glyph.apart,
    )


def _without_template(letters: Collection[str]) -> list[str]:
    """Which of the letters have a form that needs no template, on each plain sheet."""
    kinds: dict[str, list[str]] = {}
    for kind in PLAIN:
        found = " ".join(c for c in sorted(letters) if c in forms(kind))
        kinds.setdefault(found, []).append(kind)
    said = "; ".join(f"{found} (--sheet {enumerated(those, 'or')})" for found, those in kinds.items() if found)
    return [f"these can also be folded from a plain sheet, without a template: {said}"] if said else []


def _other_sheets(made: Iterable[LetterMade], sheet: Kind) -> Iterator[str]:
    """Which letters are not as they were asked for."""
    for one in made:
        if one.constructed is not None:
            yield f"{one.glyph.letter}: a pattern to collapse, since no recipe was found ({one.found.reason})"
        elif one.sheet != sheet:
            yield f"{one.glyph.letter}: {WORDS['card']}, since it has no letterform {WORDS[sheet]}{_larger(one, sheet)}"
        elif one.lacks:
            yield f"{one.glyph.letter}: {WORDS[sheet]} it lacks {one.lacks}"


def _plain(one: LetterMade) -> str:
    """The plain sheet that a letter begins with, if it does; of another size than the paper's it has only the shape."""
    sides = extents(one.made.base) if one.made is not None else None
    if sides is None or one.sheet not in PAPERS or sides[0] == tuple(map(float, PAPERS[one.sheet])):
        return PLAIN.get(one.sheet, "")
    return f"{PLAIN[one.sheet]}-shaped"


def _larger(one: LetterMade, sheet: Kind) -> str:
    """That the letter's card cannot be cut from the paper that was asked for, where that is so."""
    sides = extents(one.made.base) if one.made is not None else None
    if sides is None or sheet not in PAPERS:
        return ""
    (width, height), paper = sides[0], PAPERS[sheet]
    if min(width, height) <= min(paper) and max(width, height) <= max(paper):
        return ""
    return f"; its card of {width:g} × {height:g} mm takes larger paper than that, or pages glued together"


def _recipe_row(name: str, one: LetterMade) -> tuple[str, ...]:
    folds, layers = (str(one.folds), str(one.result.layers_met)) if one.result is not None else ("", "")
    if one.constructed is not None:
        what = one.constructed.reason or "a pattern to collapse"
    elif one.found.recipe is None:
        what = one.found.reason
    else:
        what = one.found.recipe.title + (", no recipe is shorter" if one.found.shown == "shortest" else "")
    return one.verdict, name, folds, layers, what, _warnings(one.result)


def _warnings(result: Result | None) -> str:
    return warned(f.kind for f in result.warnings) if result is not None else ""


def _too_much(sheets: Iterable[tuple[str, Result | None]]) -> list[str]:
    """Which sheets hands had better not try."""
    told = ((name, f) for name, result in sheets if result is not None for f in result.warnings)
    return [f"{name}: {f.message}" for name, f in told if f.kind == "not-for-hands"]


def _patterns(word: str, output: Path, options: dict[str, Any]) -> str:
    """The word as patterns; the worst verdict."""
    try:
        glyphs = spelled(word, LETTERS)
    except ValueError as error:
        raise click.UsageError(f"WORD: {error}") from None
    if options["margin"] == 0:
        raise click.UsageError("--margin: found 0; expected more, for a letter must not touch the edge of its sheet")
    plain = "".join(glyph.letter for glyph in glyphs if glyph.letter != SPACE)
    folder = _Folder(output, [plain] if options["one_sheet"] else sheet_names(plain), PATTERN)
    rows: list[tuple[str, Constructed]] = []
    how = {name: options[name] for name in ("one_sheet", "tries", "prefer")}
    how |= {f"{name}_mm": options[name] for name in ("width", "height", "margin")}
    limits = Limits(seconds=options["seconds"])
    with reporting(word) as progress:
        for name, one in run_letters(plain, limits=limits, progress=progress, **how):
            folder.write(name, one.pattern, one.result)
            rows.append((name, one))
    verdict = worst(one.verdict for _, one in rows)
    notes = [*_spelling(glyphs), *folder.others]
    said = [*_how_large(m.pattern for _, m in rows if m.pattern is not None), *notes]
    said += _too_much((name, one.result) for name, one in rows)
    found = answer(verdict, documents=[m.keys(f"{name}.toml") for name, m in rows], notes=notes)
    heads = ("verdict", "sheet", "layers", "by hand", "tried", "what", "warnings")
    tell(found, (f"  {words}" for words in said), (heads, [_pattern_row(name, m) for name, m in rows]))
    return verdict


def _how_large(documents: Iterable[Document]) -> list[str]:
    """How large what is cut out becomes, and the sheets: at most so wide and so high."""
    found = list(filter(None, map(extents, documents)))
    if not found:
        return []
    sheets, targets = zip(*found, strict=True)
    (wide, high), (width, height) = (map(max, zip(*sizes, strict=True)) for sizes in (targets, sheets))
    larger = "and so are their sheets"
    if (width, height) != (wide, high):
        larger = f"their sheets at most {width:g} mm wide and {height:g} mm high"
    return [f"the figures are at most {wide:g} mm wide and {high:g} mm high, {larger}"]


def _pattern_row(name: str, made: Constructed) -> tuple[str, ...]:
    layers = str(made.proposal.layers) if made.proposal else ""
    hands = to_make(made.result.hands) if made.result is not None else ""
    what = made.reason or made.document.title
    return made.verdict, name, layers, hands, str(made.tried), what, _warnings(made.result)


class _Folder:
    """The sheets of a word in their folder. `others` is a note on documents that lie there from before and are not of
    this word, if there are any.
    """

    def __init__(self, output: Path, names: Iterable[str], kind: FileKind) -> None:
        self.outputs = Outputs()
        self.places: dict[str, tuple[Path, Path | None]] = {}
        for name in names:
            document = output / f"{name}.toml"
            self.outputs.expect(document, kind, folder=True)
            self.places[name] = document, self.outputs.expect_certificate(output, document, several=True)
        mine = {document for document, _ in self.places.values()}
        found = [printable(str(path.relative_to(output))) for path in documents_in(output) if path not in mine]
        self.others = []
        if found:
            held = f"{printable(str(output))} holds documents that do not belong to this word"
            self.others.append(f"{held}: {listed(found, _NAMED)}")

    def write(self, name: str, document: Document | Recipe | None, result: Result | None) -> None:
        """Write what was certified, if anything was."""
        if result is not None and result.certificate is not None:
            place, certificate = self.places[name]
            self.outputs.write_document(place, document)
            self.outputs.write_certificate(certificate, result.certificate)


def _spelling(glyphs: Iterable[Glyph]) -> Iterable[str]:
    """What is not written as it was asked for, once each."""
    return dict.fromkeys(glyph.note for glyph in glyphs if glyph.note)
