"""The performer's pack, read back from the PDF."""

from __future__ import annotations

import itertools
import re
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from tests.corpus import certified
from tests.show.printed import CAUTIONS, TITLE, opened, texts
from verify.cli.output import to_print
from verify.construct.letterforms.forms import forms
from verify.construct.letterforms.spelling import spelled
from verify.show.handout.letter import Letter
from verify.show.handout.pack import pack
from verify.show.handout.steps import where_to_cut
from verify.show.scene import scene_of
from verify.tasks.certify import Result
from verify.tasks.letters import letter_recipes, named

MM = 72 / 25.4


@pytest.fixture(scope="module")
def results(proofs: Path) -> dict[str, Result]:
    names = {
        "I": "recipes/letter-i.toml",
        "T": "recipes/letter-t.toml",
        "X": "refuted/maekawa.json",
        "L": "certified/letter-l.toml",
    }
    return {name: certified(proofs / path) for name, path in names.items()}


@pytest.fixture(scope="module")
def packed(results: dict[str, Result]) -> Callable[[str], bytes]:
    """The pack of TIT on a paper."""
    return cache(lambda paper: pack("TIT", [Letter(name, results[name]) for name in "TIT"], paper))


@pytest.mark.parametrize("paper", [pytest.param("a4", marks=pytest.mark.long), "letter"])
def test_each_letter_has_its_steps_on_one_page_and_its_sheet_in_true_size(
    results: dict[str, Result], packed: Callable[[str], bytes], paper: str
) -> None:
    """The sheet of T is 210 × 210 mm, as its document says."""
    data = packed(paper)
    text = texts(data)
    for name in "TI":
        folded = results[name].carried
        (steps,) = [words for words in text if f"TIT: {name}" in words]
        for number in range(1, len(folded.done) + 2):
            assert f"{number}. " in steps
        assert "Cut along the heavy line" in steps
        assert "Unfold. The striped part is what comes out." in steps
        assert [words for words in text if f"{name}, sheet, full size" in words]
    assert "3 letters, " in text[0]
    folds = {name: sum(hasattr(d.step, "alignment") for d in results[name].carried.done) for name in "TI"}
    assert f"{2 * folds['T'] + folds['I']} folds, 3 cuts in all" in text[0]
    sheets = [page for page in opened(data).pages if "T, sheet, full size" in page.extract_text()]
    outline = {
        round(abs(x1 - x0) / MM, 3)
        for page in sheets
        for line in (*page.lines, *page.rects, *page.curves)
        for x0, x1 in [(line["x0"], line["x1"])]
    }
    assert 210.0 in outline


def test_cautions_teacher_and_rehearsal_stand_once(results: dict[str, Result], packed: Callable[[str], bytes]) -> None:
    text = texts(packed("letter"))
    for what in (TITLE, "For the teacher: what exactly was proved"):
        assert sum(what in words for words in text) == 1
    assert not any("Rehearsal without templates" in words for words in text)
    assert "All these letters need a template" in text[0]
    (care,) = [words for words in text if TITLE in words]
    assert all(caution in care for caution in CAUTIONS)
    assert "Print at 100 %" in care
    assert all(results[name].statement_sha256 in text[-1] for name in "TI")
    assert text[-1].count("Proved (the kernel accepted") == 1  # of all letters alike
    assert "If something goes wrong" in care


def test_the_first_page_says_where_the_sheets_are_and_how_thick_the_layers(
    results: dict[str, Result], packed: Callable[[str], bytes]
) -> None:
    """Counted on the pages themselves; 0.1 mm a layer. A letter that comes twice is its first document."""
    text = texts(packed("letter"))
    first, last = (n for n, words in enumerate(text, start=1) if "T, sheet, full size, page" in words)
    most = results["T"].layers_met
    assert most is not None
    assert re.search(rf"T 2 \S+ × \S+ mm {first} to {last} \d+ {most}, {most / 10:g} mm", text[0])


def test_the_cue_card_has_a_picture_for_each_fold_and_for_each_cut(
    results: dict[str, Result], packed: Callable[[str], bytes]
) -> None:
    """Of TIT two letters: below its head lie the dashed lines of all their folds, and two heavy lines."""
    page = opened(packed("letter")).pages[0]
    (head,) = page.search("Cue card")
    lines = [line for line in page.lines if line["top"] > head["bottom"]]
    widths = Counter((round(line["linewidth"] / MM, 2), bool(line["dash"][0])) for line in lines)
    folds = sum(hasattr(done.step, "alignment") for name in "TI" for done in results[name].carried.done)
    assert widths[0.5, True] == folds == 8
    assert widths[0.8, False] == 2
    assert "guide" not in page.extract_text()
    assert "Cue card" not in " ".join(texts(pack("LX", [Letter(name, results[name]) for name in "LX"])))


@pytest.mark.parametrize("count", [6, 8, 12, 19])
def test_no_row_of_the_cue_card_is_left_over(results: dict[str, Result], count: int) -> None:
    """A heavy line in each row: so many pages as are needed with pictures 17 mm high, and as many rows on each."""
    letters = [Letter("ABCDEFGHIJKLMNOPQRS"[k], results["I"], plain="A4") for k in range(count)]
    pages = opened(pack("".join(letter.name for letter in letters), letters)).pages
    cue = [page for page in pages if "cue card" in page.extract_text() or "Cue card" in page.extract_text()]
    rows = [sum(round(line["linewidth"] / MM, 2) == 0.8 and not line["dash"][0] for line in page.lines) for page in cue]
    assert sum(rows) == count
    assert max(rows) - min(rows) <= 1


def test_where_no_sheet_is_printed_no_ruler_is_spoken_of(results: dict[str, Result]) -> None:
    folder = Path("letters.pdf")
    for plain, told in (("A4", False), ("", True)):
        said = to_print(folder, pack("I", [Letter("I", results["I"], plain=plain)]))
        assert ("measure the ruler" in said) == told


def test_a_letter_that_comes_twice_is_the_document_that_comes_first(results: dict[str, Result]) -> None:
    same = results["I"]
    twice = [
        Letter("I", replace(same, document=replace(same.document, source=f"{number}-I.toml"))) for number in (1, 2)
    ]
    text = " ".join(texts(pack("II", twice)))
    assert "1-I.toml" in text
    assert "2-I.toml" not in text


def test_which_sheets_take_how_many_pages_is_said_once_before_they_are_cut_out(packed: Callable[[str], bytes]) -> None:
    """Counted on the pages of the sheets themselves."""
    text = texts(packed("letter"))
    (care,) = [words for words in text if TITLE in words]
    taken = {name: sum(f"{name}, sheet, full size, page" in words for words in text) for name in "TI"}
    assert taken == {"T": 2, "I": 2}
    assert "Some sheets take several pages (T, I: 2 pages)." in care
    assert care.count("register mark") == 1
    assert care.index("register mark") < care.index("Cut the sheet out along its outline")


def test_the_rehearsal_says_what_needs_no_template(results: dict[str, Result]) -> None:
    """I has a form from a plain sheet beside its template; T stands for one that has none."""
    plain = Letter("I", results["I"], plain="A4", landmarks=["The first crease is the middle."])
    data = [Letter("T", results["T"]), Letter("I", results["I"], rehearsal=plain)]
    text = texts(pack("TI", data))
    (page,) = [words for words in text if "Rehearsal" in words]
    assert "These still need their templates: T." in page
    assert "Their proportions differ from the letters printed here at full size." in page
    assert "I: from a plain A4 sheet" in page
    assert "The first crease is the middle." in page
    assert "a plain A4 sheet" in text[0]
    assert any("I, sheet, full size" in words for words in text)
    alone = texts(pack("I", [plain]))
    scene = scene_of(results["I"])
    assert scene is not None
    begins = f"Begin with a plain A4 sheet, {scene.size}, without a template."
    assert any(begins in words for words in alone)
    assert not any("I, sheet, full size" in words for words in alone)


def above_the_cue_card(data: bytes) -> Any:
    """The upper part of the first page."""
    page = opened(data).pages[0]
    (head,) = page.search("Cue card")
    return page.crop((0, 0, page.width, head["top"]))


def test_a_short_word_is_not_broken(results: dict[str, Result]) -> None:
    """Five letters stand side by side; in two rows they would be larger."""
    page = above_the_cue_card(pack("TITIT", [Letter(name, results[name]) for name in "TITIT"]))
    outlines = [t for t in (*page.rects, *page.curves) if t["stroke"] and t["height"] > 12 * MM]
    assert len({round(t["x0"]) for t in outlines}) >= 5
    assert max(t["top"] for t in outlines) < min(t["bottom"] for t in outlines)


def test_two_words_stand_apart(results: dict[str, Result]) -> None:
    """Between words is half a letter more than between letters; the sheets are as wide as high."""
    glyphs = named(spelled("TI TI", forms("card"))).values()
    data = pack("TI TI", [Letter(one.letter, results[one.letter], apart=one.apart) for one in glyphs])
    page = opened(data).pages[0]
    sheets = sorted({(t["x0"], t["x1"]) for t in page.curves if t["width"] > 30 * MM})
    assert len(sheets) == 4
    one, between, other = (after[0] - before[1] for before, after in itertools.pairwise(sheets))
    half = (sheets[2][1] - sheets[2][0]) / 2
    assert other == pytest.approx(one, abs=0.1)
    assert between == pytest.approx(2 * one + half, abs=0.1)


def test_a_long_word_stands_in_rows(results: dict[str, Result]) -> None:
    """Thirty letters: in one row of a page each would be 2 mm high, in rows more than 12."""
    page = above_the_cue_card(pack("TI" * 15, [Letter(name, results[name]) for name in "TI" * 15]))
    outlines = [t for t in (*page.rects, *page.curves) if t["stroke"] and t["height"] > 12 * MM]
    assert len({(round(t["x0"]), round(t["top"])) for t in outlines}) >= 30
    assert all(0 < t["x0"] < t["x1"] < page.width and t["bottom"] < 0.6 * 297 * MM for t in outlines)


def test_a_letter_that_is_not_certified_gets_no_template(results: dict[str, Result]) -> None:
    text = texts(pack("IX", [Letter(name, results[name]) for name in "IX"]))
    assert "Do not fold from this document." in " ".join(text)
    assert not any("X, sheet" in words for words in text)


def test_a_letter_may_be_a_pattern(results: dict[str, Result]) -> None:
    text = texts(pack("L", [Letter("L", results["L"])]))
    assert any("L, sheet, full size" in words for words in text)


def test_same_bytes_again(results: dict[str, Result]) -> None:
    letters = [Letter(name, results[name]) for name in "TI"]
    assert pack("TI", letters) == pack("TI", letters)


def test_a_letter_from_a_plain_sheet_names_its_landmarks_and_needs_no_template() -> None:
    """L from a square: half way up lies the one landmark that it needs; the fold that makes it is opened again."""
    ((_, made),) = letter_recipes("L", sheet="square")
    assert made.result is not None
    letter = Letter("L", made.result, plain="square", landmarks=[guide.words() for guide in made.guides])
    text = texts(pack("L", [letter]))
    assert "1 and 1 guide" in text[0]
    assert "A fold that is open again in the next picture makes a guide crease." in text[0]
    (page,) = [words for words in text if "Begin with a plain square sheet" in words]
    assert "1, 2. Crease in half, the bottom edge onto" in page
    assert re.findall(r"is called (\w+)", page) == ["1b"]  # step 1 in words of its own names no mark, but the next does
    assert "4. Cut along the heavy line" in page
    assert "The striped part is what comes out" in page
    assert not any("Rehearsal" in words for words in text)
    assert not any("full size" in words for words in text)


def test_the_cut_of_a_rehearsed_letter_can_be_read_below_the_introduction(results: dict[str, Result]) -> None:
    """A from A4 takes eight pictures on the page that begins with words: its heavy line is at least 25 mm long, by eye
    (no source); it was 15.
    """
    ((_, made),) = letter_recipes("A", sheet="a4")
    assert made.result is not None
    plain = Letter("A", made.result, plain="A4", landmarks=[guide.words() for guide in made.guides])
    data = pack("TA", [Letter("T", results["T"]), Letter("A", results["I"], rehearsal=plain)])
    (page,) = [page for page in opened(data).pages if "Rehearsal" in page.extract_text()]
    assert "The striped part is what comes out" in page.extract_text()
    heavy = max(page.lines, key=lambda line: line["linewidth"])
    assert max(heavy["width"], heavy["height"]) > 25 * MM


def test_the_sentence_of_the_cut_is_short(proofs: Path) -> None:
    """A from A4: the marks of its cut stand alone, without the steps that creased them."""
    scene = scene_of(certified(proofs / "recipes" / "alphabet" / "a4" / "A.toml"))
    assert scene is not None
    assert re.fullmatch(
        r": it is the line of the fold that you would make so that \w+ lies on \w+", where_to_cut(scene)
    )


def test_the_outline_is_drawn_and_looked_for_only_where_it_is_printed(results: dict[str, Result]) -> None:
    """Target lines have a band of their own, 1 mm wide; none on paper that begins plain."""
    for letter, outlined in ((Letter("I", results["I"]), True), (Letter("I", results["I"], plain="A4"), False)):
        pdf = opened(pack("I", [letter]))
        steps = next(page for page in pdf.pages if "1. Fold" in page.extract_text())
        bands = [line for line in (*steps.lines, *steps.curves) if line["linewidth"] == pytest.approx(MM, abs=0.01)]
        assert bool(bands) == outlined
        text = " ".join(texts(pack("I", [letter])))
        for said in ("hold the paper up to the light", "outline is printed on the front only"):
            assert (said in text) == outlined


def test_the_pictures_of_few_steps_are_large(proofs: Path) -> None:
    """U has two folds: with the cut and what comes out, four pictures in two rows, which take three quarters of the
    page, so that they can be seen from the next chair.
    """
    data = pack("U", [Letter("U", certified(proofs / "recipes" / "alphabet" / "U.toml"))])
    (page,) = [p for p in opened(data).pages if "U: U" in p.extract_text().splitlines()[0]]
    above_foot = [
        line["bottom"] for line in (*page.lines, *page.rects, *page.curves) if line["bottom"] < 0.9 * page.height
    ]
    assert 0.75 * page.height < max(above_foot)
