"""`creaseproof letters` with recipes of a few folds, as a user runs it."""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path

import pytest

import verify
from tests.cli.command import run
from tests.show.printed import opened, texts
from verify.construct.letterforms.forms import forms
from verify.construct.letterforms.spelling import spelled
from verify.kernel.check import check_files
from verify.pattern.drawing import draw
from verify.pattern.recipe import Recipe


def size(path: Path) -> tuple[float, float]:
    recipe = verify.load(path)
    assert isinstance(recipe, Recipe)
    corner = draw(recipe.base).places["ne"]
    return float(corner.x), float(corner.y)


def test_recipes_of_a_word(tmp_path: Path) -> None:
    done = run("letters", "Tol é-", "-o", tmp_path, "--json")
    assert done.exit_code == 0, done.output
    said = json.loads(done.output)
    assert (said["verdict"], said["sheet"], said["height"]) == ("certified", "card", 120)
    assert [(d["letter"], d["written"]) for d in said["documents"]] == [
        ("T", "T"),
        ("O", "o"),
        ("L", "l"),
        ("E", "é"),
        ("-", "-"),
    ]
    *notes, plain = said["notes"]
    assert notes == ["lower case as capitals", "a gap, half a letter wide", "É as E: without its accent"]
    assert plain == (
        "these can also be folded from a plain sheet, without a template: E L O T (--sheet square, a4 or letter)"
    )
    names = ["1-T", "2-O", "3-L", "4-E", "5-hyphen"]
    assert sorted(p.name for p in tmp_path.iterdir()) == sorted(
        f"{n}{end}" for n in names for end in (".toml", ".certificate.json")
    )
    for name, keys in zip(names, said["documents"], strict=True):
        outcome = check_files(str(tmp_path / f"{name}.toml"), str(tmp_path / f"{name}.certificate.json"))
        assert (outcome.accepted, outcome.proves, outcome.claims) == (True, "certified", ("folds-flat", "cut-exact"))
        assert keys["folds"] <= 3
        assert size(tmp_path / f"{name}.toml")[1] == 120


def test_a_letter_that_comes_twice_is_made_once_and_written_twice(tmp_path: Path) -> None:
    assert run("letters", "lL", "-o", tmp_path).exit_code == 0
    assert (tmp_path / "1-L.toml").read_bytes() == (tmp_path / "2-L.toml").read_bytes()


@pytest.mark.parametrize(
    ("more", "high"), [(("--height", "8cm"), 80), (("--fit", "60mmx300mm"), None), (("--width", "10cm"), None)]
)
def test_sizes(tmp_path: Path, more: tuple[str, ...], high: float | None) -> None:
    done = run("letters", "TU", "-o", tmp_path, *more)
    assert done.exit_code == 0, done.output
    (tw, th), (uw, uh) = size(tmp_path / "1-T.toml"), size(tmp_path / "2-U.toml")
    assert th == uh
    if high is not None:
        assert th == high
    elif more[0] == "--fit":
        # the wider one is just narrow enough: one millimetre more would not fit
        assert max(tw, uw) <= 60 < max(tw, uw) * (th + 1) / th
    else:
        assert tw + uw + th / 5 == pytest.approx(100, abs=0.05)


def test_a_word_that_fits_its_packs_paper_is_not_glued(tmp_path: Path) -> None:
    """On A4 (ISO 216) a card of L may be 210 × 297 mm; on a page with margins it is lower, and takes one page."""
    pack = tmp_path / "pack.pdf"
    assert run("letters", "L", "-o", tmp_path / "cut", "--fit", "a4").exit_code == 0
    assert run("letters", "L", "-o", tmp_path / "print", "--fit", "a4", "--handout", pack).exit_code == 0
    assert size(tmp_path / "cut" / "1-L.toml")[1] == 297
    assert 200 < size(tmp_path / "print" / "1-L.toml")[1] < 250
    assert sum("L, sheet, full size" in text for text in texts(pack)) == 1


def test_a_card_that_is_larger_than_the_paper_asked_for_says_so(tmp_path: Path) -> None:
    """A4 is 210 × 297 mm (ISO 216); at 150 mm the card of M fits on it."""
    assert "M" not in forms("a4")
    done = run("letters", "M", "-o", tmp_path, "--sheet", "a4")
    width, height = size(tmp_path / "1-M.toml")
    assert width > 210
    told = f"M: on a card, since it has no letterform from plain A4 paper; its card of {width:g} × {height:g} mm"
    assert f"{told} takes larger paper" in done.output
    lower = run("letters", "M", "-o", tmp_path / "lower", "--sheet", "a4", "--height", "150mm")
    assert max(size(tmp_path / "lower" / "1-M.toml")) <= 210
    assert "since it has no letterform from plain A4 paper" in lower.output
    assert "larger paper" not in lower.output


def test_a_form_that_lacks_something_says_so(tmp_path: Path) -> None:
    """From A4 a J is two bars: it has no hook. On a card it has one, and its pack says what the rehearsed one lacks."""
    done = run("letters", "J", "-o", tmp_path, "--sheet", "a4")
    assert "J: from plain A4 paper it lacks its hook" in done.output
    pack = tmp_path / "pack.pdf"
    card = run("letters", "J", "-o", tmp_path / "card", "--handout", pack)
    assert "hook" not in card.output
    text = " ".join(texts(pack))
    assert "J: from a plain A4 sheet (it then lacks its hook)" in text


def test_another_kind_of_sheet_and_letters_that_have_none(tmp_path: Path) -> None:
    missing = next(c for c in "GJZÖ" if c not in forms("strip"))
    done = run("letters", f"V{missing}", "-o", tmp_path, "--sheet", "strip", "--height", "60mm")
    assert done.exit_code == 0, done.output
    assert f"{missing}: on a card, since it has no letterform on a strip" in done.output
    width, height = size(tmp_path / "1-V.toml")
    form = forms("strip")["V"]
    assert (width, height) == (
        pytest.approx(float((form.sheet[2] - form.sheet[0]) / (form.height * Fraction(1))) * 60),
        60,
    )


def test_the_pack(tmp_path: Path) -> None:
    pack = tmp_path / "pack.pdf"
    done = run("letters", "LIL", "-o", tmp_path / "word", "--handout", pack, "--paper", "letter")
    assert done.exit_code == 0, done.output
    text = " ".join(texts(pack))
    first = opened(pack).pages[0]
    assert (round(first.width), round(first.height)) == (612, 792)
    assert "LIL" in text
    assert "3 letters" in text
    assert "Certified" in text


def test_patterns_when_asked_for(tmp_path: Path) -> None:
    done = run("letters", "i", "-o", tmp_path, "--collapse", "--height", "30mm")
    assert done.exit_code == 0, done.output
    document = verify.load(tmp_path / "1-I.toml")
    assert isinstance(document, verify.Document)
    assert max(float(y) for _, y in (map(Fraction, document.points[n]) for n in document.outline)) == 30 + 60


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("",), "found no letter"),
        ((" ",), "found no letter"),
        (("a§b%",), "found '§' (section sign), '%' (percent sign)"),
        (("Anna & Tom",), "found '&' (ampersand)"),
        (("12.12",), "found '.' (full stop)"),
        (("я",), "expected letters A to Z"),
        (("L", "--height", "3cm", "--width", "9cm"), "--height and --width both say"),
        (("L", "--fit", "a4", "--height", "9cm"), "--height and --fit both say"),
        (("L", "--collapse", "--sheet", "strip"), "--sheet is for recipes"),
        (("L", "--tries", "3", "--handout", "p.pdf"), "/*.toml` prints patterns"),
        (("L", "--handout", "p.txt"), "ends in .pdf"),
        (("L", "--fit", "1mm"), "two lengths such as"),
        (("L", "--fit", "0.5mmx0.5mm"), "holds letters of 1 mm"),
        (("L", "--margin", "0"), "--margin: found 0; expected more"),
    ],
)
def test_what_is_refused(tmp_path: Path, arguments: tuple[str, ...], said: str) -> None:
    done = run("letters", *arguments, "-o", tmp_path / "word")
    assert done.exit_code == 2, done.output
    assert said in done.output
    assert not (tmp_path / "word").exists()


def test_spelling() -> None:
    """German rules: capital ß is SS where there is no form for it; dots that cannot be made are left out, and it is
    said.
    """
    bare = set("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789")
    assert [g.letter for g in spelled("Straße", bare)] == list("STRASSE")
    assert [(g.letter, g.note) for g in spelled("ö", bare)] == [("O", "Ö as O: without its dots")]
    assert [g.letter for g in spelled("ö", {*bare, "Ö"})] == ["Ö"]
    assert [g.letter for g in spelled("o\N{COMBINING DIAERESIS}", {*bare, "Ö"})] == ["Ö"]
    assert [g.letter for g in spelled("a\N{EN DASH}b", {*bare, "-"})] == ["A", "-", "B"]
    # as ICAO Doc 9303 part 3 has them, from memory
    for word, letters in {"Søren": "SOEREN", "Łukasz": "LUKASZ", "Ægir": "AEGIR", "Þór": "THOR", "Đà": "DA"}.items():
        assert "".join(g.letter for g in spelled(word, bare)) == letters
    assert [(g.letter, g.note) for g in spelled("Ø", bare)] == [("O", "Ø as OE"), ("E", "Ø as OE")]
    with pytest.raises(ValueError, match="'-'"):
        spelled("a-b", bare)
    for known, instead in ((bare, "Ŋ and ß are spelled out"), ({*bare, "ß"}, "Ŋ are spelled out")):
        with pytest.raises(ValueError, match=instead):
            spelled("&", known)


def test_a_plain_sheet_needs_no_template(tmp_path: Path) -> None:
    pack = tmp_path / "pack.pdf"
    done = run("letters", "LC", "-o", tmp_path / "word", "--sheet", "a4", "--handout", pack)
    assert done.exit_code == 0, done.output
    assert size(tmp_path / "word" / "1-L.toml") == (210, 297)
    text = " ".join(texts(pack))
    assert "Begin with a plain A4 sheet, 210 × 297 mm, without a template." in text
    assert "1, 2. Crease in half, the left edge onto the right edge" in text
    for name in ("1-L.toml", "2-C.toml"):  # the files that were written, and what their certificates are about
        digest = json.loads((tmp_path / "word" / name).with_suffix(".certificate.json").read_text())["statement_sha256"]
        assert f"{name}, statement {digest}" in text


def test_a_plain_sheet_of_another_size_than_its_paper_has_only_its_shape(tmp_path: Path) -> None:
    """A4 is 297 mm high (ISO 216): a letter of 80 mm beside others of 80 mm must not be folded from it."""
    pack = tmp_path / "pack.pdf"
    run("letters", "I", "-o", tmp_path / "word", "--sheet", "a4", "--height", "80mm", "--handout", pack)
    width, height = size(tmp_path / "word" / "1-I.toml")
    assert height == 80
    text = " ".join(texts(pack))
    assert f"Begin with a plain A4-shaped sheet, {width:.2f} × 80 mm, without a template." in text
    assert "a plain A4 sheet" not in text


def test_a_sheet_that_is_too_much_for_hands_is_told_in_a_sentence(tmp_path: Path) -> None:
    """B as a pattern, 6 mm high: creases, gaps and panels of less than a millimetre, and 18 layers."""
    small = run("letters", "B", "--collapse", "--height", "6mm", "-o", tmp_path / "small")
    assert small.exit_code == 0
    assert "too much for hands, though it is proved: do not try it as it is" in small.output
    large = run("letters", "B", "--collapse", "--height", "60mm", "-o", tmp_path / "large")
    assert "too much for hands" not in large.output
