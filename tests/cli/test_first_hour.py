"""What somebody meets in the first hour: each mistake is said in words, and nothing is left unsaid."""

from __future__ import annotations

import json
import re
import sys
from pathlib import Path

import pytest

import verify
from tests.cli.command import draw_svg, run
from tests.places import PROOFS
from tests.show.printed import texts

NEARLY = """format = "creaseproof-pattern/1"
unit = "{unit}"
[points]
sw = [0, 0]
se = [{w}, 0]
ne = [{w}, {w}]
nw = [0, {w}]
a = [{a}, {a}]
b = [{b}, {a}]
c = [{b}, {b}]
d = [{a}, {b}]
end = [{a}, {end}]
[sheet]
outline = ["sw", "se", "ne", "nw"]
[target]
paths = [["a", "b", "c", "d", "end"]]
[cut]
snips = 4
"""

WORST = re.compile(r"creases true to [\d.]+ mm keep the cut within 1 mm, even if all errors add up")


def test_audit_names_the_file_that_is_missing(tmp_path: Path) -> None:
    document, missing = PROOFS / "certified" / "kite.toml", tmp_path / "none.toml"
    for files in ((missing, document), (document, missing)):
        for more in ((), ("--seconds", "60")):
            said = run("audit", *files, *more)
            assert said.exit_code == 2
            assert said.output == f"malformed: {missing}: found no such file; expected a readable file\n"
    said = run("audit", document, tmp_path)
    assert said.output == f"malformed: {tmp_path}: found a folder; expected a readable file\n"


def test_audit_names_the_file_that_is_wrong(tmp_path: Path) -> None:
    """An SVG drawing for the certificate, the two swapped, a certificate of another pattern or of another kind."""
    kite, star = PROOFS / "certified" / "kite.toml", PROOFS / "certified" / "star.toml"
    proofs = [tmp_path / "kite.certificate.json", tmp_path / "recipe.certificate.json"]
    recipe = PROOFS / "recipes" / "kite.toml"
    for document, proof in zip((kite, recipe), proofs, strict=True):
        assert run("certify", document, "-o", proof).exit_code == 0
    drawing = tmp_path / "fish.svg"
    drawing.write_text('<?xml version="1.0"?>\n<svg xmlns="http://www.w3.org/2000/svg"/>')
    another = "found the certificate of another statement; expected that of"
    for files, status, said in (
        ((kite, drawing), 2, f"malformed: {drawing}: found an SVG drawing; expected a certificate"),
        ((kite, kite), 2, f"malformed: {kite}: found a document; expected a certificate"),
        (
            (proofs[0], kite),
            2,
            f"malformed: {proofs[0]}: found a certificate; expected a document; the two look swapped",
        ),
        ((star, proofs[0]), 1, f"rejected: {proofs[0]}: {another} {star} as it is now"),
        ((kite, proofs[1]), 1, f"rejected: {proofs[1]}: {another} {kite} as it is now"),
    ):
        answer = run("audit", *files)
        assert (answer.output, answer.exit_code) == (f"{said}\n", status)


def test_a_drawing_for_a_document_is_called_one(tmp_path: Path) -> None:
    """The commands that read documents say which commands read drawings; a file that is missing is said in words."""
    drawing = tmp_path / "fish.svg"
    drawing.write_text('<svg xmlns="http://www.w3.org/2000/svg"><path d="M 0 0 L 9 0 L 0 9 Z"/></svg>')
    for command in (("certify",), ("handout", "-o", tmp_path / "fish.pdf")):
        answer = run(*command, drawing)
        assert answer.exit_code == 2
        assert "found an SVG drawing; expected a document (creaseproof construct, recipe and import" in answer.output
        missing = run(*command, tmp_path / "none.toml")
        assert "none.toml: found no such file; expected a readable file" in missing.output
    unnamed = drawing.rename(tmp_path / "fish")
    for command in ("recipe", "certify"):
        said = f"malformed: {unnamed}: found an SVG drawing; expected a document (drawings' names end in .svg)"
        assert run(command, unnamed).output == f"{said}\n"


def test_a_pattern_is_not_written_under_the_name_of_something_else(tmp_path: Path) -> None:
    answer = run("construct", PROOFS / "certified" / "kite.toml", "-o", tmp_path / "fish.pdf")
    assert (answer.exit_code, list(tmp_path.iterdir())) == (2, [])
    assert "found a name that ends in .pdf; expected .toml or .json" in answer.output


def test_outlines_of_strokes_name_the_extra_that_brings_them(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "shapely", None)
    drawing = tmp_path / "arrow.svg"
    path = '<path d="M 0 0 L 9 0" stroke="black" stroke-width="2"/>'
    drawing.write_text(f'<svg xmlns="http://www.w3.org/2000/svg">{path}</svg>')
    answer = run("construct", drawing, "--strokes", "outline", "-o", tmp_path / "arrow.toml")
    assert answer.exit_code == 2
    assert "--strokes outline needs shapely: pip install 'creaseproof[strokes]'" in answer.output


def test_what_was_assumed_of_a_drawing_stands_right_below_the_verdict(tmp_path: Path) -> None:
    path = draw_svg(tmp_path / "drawing.svg", 90, 60, '<path d="M20 30H70" stroke-width="8"/>')
    for command in ("construct", "import"):
        said = run(command, path, "-o", tmp_path / f"{command}.toml").output.splitlines()
        assert "drawn 8 mm wide are cut along their middles" in said[2]


def test_an_outline_that_is_open_by_a_millimetre_is_pointed_at(tmp_path: Path) -> None:
    """Four snips along a square of 40 mm whose last side ends 1 mm too early free nothing; 3 mm are taken as meant; in
    inches the same.
    """
    path = tmp_path / "open.toml"
    for unit, factor in (("mm", 1.0), ("in", 25.4)):
        for gap, told in ((1, True), (3, False)):
            mm = {"w": 60, "a": 10, "b": 50, "end": 10 + gap}
            path.write_text(NEARLY.format(unit=unit, **{k: f'"{v * 10}/{round(factor * 10)}"' for k, v in mm.items()}))
            result = verify.certify(path)
            assert (result.verdict, len(result.parts)) == ("certified", 1)
            advice = [f for f in result.findings if f.kind == "nearly-closed"]
            assert len(advice) == told, (unit, gap)
            for one in advice:
                assert {*one.where} == {"end", "a"}
                assert "--join" in one.message
    closed = PROOFS / "certified" / "star.toml"
    assert not any(f.kind == "nearly-closed" for f in verify.certify(closed).findings)


def test_recipe_joins_loose_ends_as_construct_does(tmp_path: Path) -> None:
    """A square whose outline begins and ends in the middle of one side, 1 mm apart."""
    path = draw_svg(tmp_path / "open.svg", 60, 60, '<path d="M29.5,10 H10 V50 H50 V10 H30.5"/>')
    apart = json.loads(run("recipe", path, "--folds", "2", "--json").output)
    joined = json.loads(run("recipe", path, "--folds", "2", "--join", "1", "--json").output)
    assert (apart["verdict"], joined["verdict"]) == ("undecided", "certified")
    assert any("was joined with" in note for note in joined["notes"])


def test_a_handout_gives_one_piece_of_advice_on_how_true_to_fold(tmp_path: Path) -> None:
    """As `certify` says it, in its words; chances and factors are not for those who fold, nor is the first page."""
    path = PROOFS / "recipes" / "house.toml"
    done = run("handout", path, "-o", tmp_path / "h.pdf")
    assert done.exit_code == 0
    pages = texts(tmp_path / "h.pdf")
    assert f"h.pdf, {len(pages)} pages; print at 100 %" in done.output
    with_number = [text for text in pages if "true to" in text]
    assert len(with_number) == 1
    said = WORST.search(run("certify", path).output)
    assert said is not None
    assert f"C{said[0][1:]}." in with_number[0]
    assert "Be most careful with steps " in with_number[0]
    assert not any(words in text for text in pages for words in ("chance", "trial", "times as far", "worst way"))


def test_certify_and_tolerance_say_the_same_of_the_worst_way() -> None:
    path = PROOFS / "recipes" / "house.toml"
    one, other = (WORST.findall(run(name, path).output) for name in ("certify", "tolerance"))
    assert len(one) == 1
    assert one == other


@pytest.mark.parametrize(("written", "meant"), [("valey", "valley"), ("mountian", "mountain"), ("Valley", "valley")])
def test_a_misspelt_kind_is_known_again(written: str, meant: str) -> None:
    keys = verify.load(PROOFS / "certified" / "kite.toml").keys()
    keys["creases"][0][2] = written
    with pytest.raises(verify.Malformed, match=f'perhaps "{meant}"'):
        verify.read(keys)
    keys["creases"][0][2] = ["valley"]
    with pytest.raises(verify.Malformed) as caught:
        verify.read(keys)
    assert "perhaps" not in str(caught.value)


def test_lower_case_is_said_to_be_taken_as_capitals(tmp_path: Path) -> None:
    assert "lower case as capitals" in run("letters", "Lt", "-o", tmp_path / "a").output
    assert "lower case" not in run("letters", "LT", "-o", tmp_path / "b").output


def test_letters_name_what_lies_in_their_folder_from_before(tmp_path: Path) -> None:
    assert "belong to this word" not in run("letters", "LTI", "-o", tmp_path).output
    again = run("letters", "LT", "-o", tmp_path)
    assert "holds documents that do not belong to this word: 3-I.toml" in again.output
    assert (tmp_path / "3-I.toml").is_file()


def test_without_cairosvg_no_picture_is_begun(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "cairosvg", None)
    said = run("picture", PROOFS / "certified" / "kite.toml", "-o", tmp_path, "--png")
    assert (said.exit_code, [*tmp_path.iterdir()]) == (2, [])
    assert "pip install 'creaseproof[png]'" in said.output
    monkeypatch.delitem(sys.modules, "cairosvg")
    monkeypatch.setattr(sys, "path", [])  # nothing can be found any more
    bare = run("picture", PROOFS / "certified" / "kite.toml", "-o", tmp_path, "--png").output
    assert bare == "Error: PNG needs cairosvg: pip install 'creaseproof[png]' (in a checkout: pip install '.[png]')\n"


def test_a_line_that_ends_short_of_the_edge_is_pointed_at(tmp_path: Path) -> None:
    """A cut across the whole sheet, 60 mm wide, that ends 0.3 mm before one edge; put there, it divides the sheet."""
    path = draw_svg(
        tmp_path / "band.svg",
        60,
        40,
        '<rect id="page" width="60" height="40"/><path d="M0 10L30 20 59.7 9"/>',
    )
    plain = ["construct", path, "--line", "id=page:border", "--exact"]
    said = " ".join(run(*plain, "-o", tmp_path / "band.toml").output.split())
    assert "only 0.3 mm from the sheet's edge" in said
    assert "let construct or recipe join them with `--join 0.4`" in said
    assert "2 pieces" in run(*plain, "--join", "0.4", "-o", tmp_path / "joined.toml").output
