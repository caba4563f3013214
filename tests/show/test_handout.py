"""The handout, measured back from the vectors of its PDF with a library that had no part in writing it (pdfplumber)."""

from __future__ import annotations

import io
from collections.abc import Iterator
from itertools import pairwise
from math import dist
from pathlib import Path
from typing import Any

import pdfplumber
import pytest
from click.testing import CliRunner

import verify
from verify import cli
from verify.show import handout as module
from verify.show.handout import CAUTIONS, MARGIN, OVERLAP, PAPERS, TooLarge, handout

PROOFS = Path(__file__).resolve().parent.parent.parent / "proofs"
MM = 72 / 25.4


def lines(page: Any) -> Iterator[tuple[tuple[float, float], tuple[float, float]]]:
    """The straight pieces drawn on a page, in mm."""
    for item in [*page.lines, *page.curves]:
        places = [(x / MM, y / MM) for x, y in item["pts"]]
        yield from pairwise(places)


def lengths(page: Any) -> list[float]:
    return sorted(dist(a, b) for a, b in lines(page))


def opened(path: Path) -> Any:
    return pdfplumber.open(io.BytesIO(path.read_bytes()))


def made(tmp_path: Path, *names: str, paper: str = "a4") -> Any:
    path = tmp_path / "handout.pdf"
    pages = handout([verify.certify(PROOFS / name) for name in names], path, paper)
    pdf = opened(path)
    assert len(pdf.pages) == pages
    return pdf


def template(pdf: Any) -> list[Any]:
    """The pages with the sheet in true size; a line that runs over several tiles is drawn whole on each, and clipped."""
    return [page for page in pdf.pages if "True size" in words(page)]


def words(page: Any) -> str:
    return " ".join((page.extract_text() or "").split())


@pytest.mark.parametrize("paper", sorted(PAPERS))
def test_the_ruler_and_the_page(tmp_path: Path, paper: str) -> None:
    """A4 is 210 × 297 mm (ISO 216), Letter 8.5 × 11 in; the ruler is 100 mm to a hundredth."""
    pdf = made(tmp_path, "certified/kite.toml", paper=paper)
    page = template(pdf)[0]
    expected = {"a4": (210, 297), "letter": (8.5 * 25.4, 11 * 25.4)}[paper]
    assert (page.width / MM, page.height / MM) == pytest.approx(expected, abs=0.01)
    assert min(abs(x - 100) for x in lengths(page)) < 0.01
    assert "100 mm" in words(page)


@pytest.mark.parametrize("name", ["certified/kite.toml", "alphabet/S.toml", "recipes/window-three-folds.toml", "certified/sail-3-4-5.toml"])
def test_every_line_has_its_length(tmp_path: Path, name: str) -> None:
    """Every edge of the pattern stands on the template with the document's length, to a hundredth of a millimetre."""
    result = verify.certify(PROOFS / name)
    s = result.subdivision
    assert s is not None
    drawn = [x for page in template(made(tmp_path, name)) for x in lengths(page)]
    unit = {"mm": 1, "cm": 10}[result.document.unit]
    count = 0
    for e in s.edges:
        if e.kind != "flat" or e.target:
            a, b = (tuple(map(float, s.vertices[v])) for v in e.ends)
            size = dist(a, b) * unit
            assert min(abs(x - size) for x in drawn) < 0.01, (e, size)
            count += 1
    assert count >= 8


def test_folds_are_dashed_by_the_trades_convention(tmp_path: Path) -> None:
    """Valley dashed, mountain dash-dotted (common practice, no source)."""
    page = made(tmp_path, "alphabet/S.toml").pages[0]
    dashes = {tuple(item["dash"][0]) if item.get("dash") and item["dash"][0] else () for item in page.lines}
    assert {2, 4} <= {len(d) for d in dashes}


def test_nothing_needs_colour_and_fonts_are_embedded(tmp_path: Path) -> None:
    path = tmp_path / "handout.pdf"
    handout([verify.certify(PROOFS / "alphabet" / "S.toml")], path)
    pdf = opened(path)
    for page in pdf.pages:
        for item in [*page.lines, *page.curves, *page.rects, *page.chars]:
            for key in ("stroking_color", "non_stroking_color"):
                colour = item[key]
                assert colour is None or isinstance(colour, float | int) or len(colour) == 1, colour  # a grey
        for char in page.chars:
            assert "Vera" in char["fontname"]
    assert path.read_bytes().count(b"/FontFile2") >= 2


def test_nothing_stands_outside_the_margins(tmp_path: Path) -> None:
    names = ["alphabet/8.toml", "recipes/snowflake.toml", "refuted/trapped-panel.toml", "certified/star.toml"]
    present = [n for n in names if (PROOFS / n).exists()]
    pdf = made(tmp_path, *present)
    width, height = PAPERS["a4"]
    for page in pdf.pages:
        for char in page.chars:
            assert char["x0"] / MM >= MARGIN - 0.1
            assert char["x1"] / MM <= width - MARGIN + 0.1
            assert 5 <= char["top"] / MM <= height - 5


def test_what_a_teacher_needs_is_there(tmp_path: Path) -> None:
    result = verify.certify(PROOFS / "recipes" / "window-three-folds.toml")
    pdf = made(tmp_path, "recipes/window-three-folds.toml")
    text = " ".join(words(page) for page in pdf.pages)
    for caution in CAUTIONS:
        assert caution in text
    assert result.statement_sha256 in text
    assert "creaseproof audit window-three-folds.toml" in text
    assert "through up to 8 layers" in text
    assert "estimates, not proofs" in text
    for number in range(1, 5):
        assert f"{number}. " in text
    assert result.folded_steps is not None
    for done in result.folded_steps.done:
        assert " ".join(done.step.words().split()) in text


def test_a_refuted_document_gets_no_template(tmp_path: Path) -> None:
    pdf = made(tmp_path, "refuted/trapped-panel.toml")
    assert len(pdf.pages) == 1
    assert "do not teach this" in words(pdf.pages[0])
    assert "trap" in words(pdf.pages[0])
    assert not list(lines(pdf.pages[0]))


def test_a_large_sheet_comes_in_parts_that_fit_together(tmp_path: Path) -> None:
    """400 × 400 mm on A4: the crosses of neighbours are one tile less the overlap apart, and every part has its name."""
    document = verify.read({"format": "creaseproof-pattern/1", "title": "A large sheet", "points": {"a": [0, 0], "b": [400, 0], "c": [400, 400], "d": [0, 400]}, "creases": [["a", "c", "valley"]], "sheet": {"outline": ["a", "b", "c", "d"]}})
    path = tmp_path / "large.pdf"
    handout([verify.certify(document)], path)
    pdf = opened(path)
    parts = [page for page in pdf.pages if "part" in words(page) and "True size" in words(page)]
    width, height = PAPERS["a4"][0] - 2 * MARGIN - OVERLAP, PAPERS["a4"][1] - 2 * MARGIN - module.HEAD - module.FOOT - OVERLAP
    across, up = -(-(400 - OVERLAP) // width), -(-(400 - OVERLAP) // height)
    assert len(parts) == across * up == 6
    assert {words(p).split("part ")[1].split()[0] for p in parts} == {f"{c}{r}" for c in "ABC" for r in (1, 2)}


def test_a_sheet_of_too_many_pages(tmp_path: Path) -> None:
    document = verify.read({"format": "creaseproof-pattern/1", "unit": "m", "points": {"a": [0, 0], "b": [40, 0], "c": [40, 40], "d": [0, 40]}, "sheet": {"outline": ["a", "b", "c", "d"]}})
    with pytest.raises(TooLarge, match="pages"):
        handout([verify.certify(document)], tmp_path / "no.pdf")


def test_the_command(tmp_path: Path) -> None:
    run = CliRunner()
    path = tmp_path / "two.pdf"
    done = run.invoke(cli.main, ["handout", str(PROOFS / "certified" / "kite.toml"), str(PROOFS / "refuted" / "trapped-panel.toml"), "-o", str(path)])
    assert done.exit_code == 1
    assert done.output.splitlines()[1].startswith("refuted: ")
    assert path.read_bytes().startswith(b"%PDF")
    missing = run.invoke(cli.main, ["handout", str(tmp_path / "none.toml"), "-o", str(tmp_path / "x.pdf")])
    assert (missing.exit_code, missing.output.startswith("malformed")) == (2, True)
    assert not (tmp_path / "x.pdf").exists()


def test_any_title_can_be_printed(tmp_path: Path) -> None:
    """Signs without a shape in the font, and a word longer than the page."""
    document = verify.read({"format": "creaseproof-pattern/1", "title": "灯 √2 " + "W" * 200, "points": {"a": [0, 0], "b": [40, 0], "c": [40, 40]}, "sheet": {"outline": ["a", "b", "c"]}})
    path = tmp_path / "t.pdf"
    handout([verify.certify(document)], path)
    page = opened(path).pages[0]
    assert "sqrt 2" in words(page)
    assert max(c["x1"] for c in page.chars) / MM <= PAPERS["a4"][0] - MARGIN + 0.1
