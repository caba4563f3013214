"""The letters by a few folds: every document certified from scratch (a sample each time, all with --long), and what its
table says.
"""

from __future__ import annotations

import random
import re
import string
from pathlib import Path

import pytest

import verify
from tests.places import PROOFS
from verify.construct.letterforms.forms import KINDS, PLAIN, forms
from verify.construct.letterforms.spelling import file_name
from verify.folding.steps import carry_out
from verify.pattern.drawing import draw
from verify.pattern.recipe import FoldStep, Recipe, UnfoldStep
from verify.words.step_words import new_marks

FOLDER = PROOFS / "recipes" / "alphabet"
PLACE = {kind: FOLDER if kind == "card" else FOLDER / kind for kind in KINDS}
ALL = sorted(FOLDER.rglob("*.toml"))
TABLES = (FOLDER / "README.md").read_text(encoding="utf-8").split("\n## ")[1:]
ROW = re.compile(r"\| (\w+) \| (\d+) \| (\d+) \| (all|some) layers \| [^|]+ \| ([\d.]+|–) \| .* \| (yes|no) \|")
SAMPLE = 5


def loaded(path: Path) -> Recipe:
    recipe = verify.load(path)
    assert isinstance(recipe, Recipe)
    return recipe


def table(path: Path) -> dict[str, tuple[str, ...]]:
    """The rows of the table of a document's folder, by letter."""
    section = TABLES[[*PLACE.values()].index(path.parent)]
    return {row[0]: row for row in ROW.findall(section)}


def check(path: Path) -> None:
    recipe = loaded(path)
    result = verify.certify(recipe)
    assert (result.verdict, result.claims) == ("certified", ("folds-flat", "cut-exact"))
    folds = [s for s in recipe.steps if isinstance(s, FoldStep)]
    standing = len(folds) - sum(s.folds for s in recipe.steps if isinstance(s, UnfoldStep))
    kind = "all" if all(s.layers == "all" for s in folds) else "some"
    assert table(path)[path.stem][1:4] == (str(standing), str(result.layers_met), kind)


def test_the_alphabet_on_cards_is_whole() -> None:
    assert (
        {p.stem for p in FOLDER.glob("*.toml")}
        == {file_name(c) for c in forms("card")}
        >= set(string.ascii_uppercase + string.digits)
    )
    for path in ALL:
        assert path.stem in table(path), path


def test_a_sample_is_certified() -> None:
    for path in random.Random().sample(ALL, SAMPLE):
        check(path)


@pytest.mark.parametrize("kind", KINDS)
def test_marks_have_the_number_of_the_step_that_shows_them(kind: str) -> None:
    """A step that introduces marks calls them by its own number: no step speaks of 3a where there are not yet three."""
    for path in random.Random().sample(sorted(PLACE[kind].glob("*.toml")), SAMPLE):
        carried = carry_out(loaded(path))
        for step in range(1, len(carried.done) + 1):
            assert all(re.fullmatch(rf"{step}[a-z]+", mark) for mark in new_marks(carried, step)), path


@pytest.mark.long
@pytest.mark.parametrize("path", ALL, ids=lambda p: f"{p.parent.name}-{p.stem}")
def test_certified(path: Path) -> None:
    check(path)


def test_what_was_asked_of_the_cards() -> None:
    rows = {c: row for c, row in table(FOLDER / "A.toml").items() if len(c) == 1}
    assert len(rows) == 36
    assert max(int(row[1]) for row in rows.values()) <= 6
    assert max(int(row[2]) for row in rows.values()) <= 12
    assert sum(int(row[1]) for row in rows.values()) < 131
    assert all(row[3] == "all" for row in rows.values())
    assert sum(row[5] == "yes" for row in rows.values()) >= 33
    assert len(list((FOLDER / "strip").glob("?.toml"))) >= 35
    assert len(list((FOLDER / "margin").glob("?.toml"))) >= 35


def test_folds_are_alignments() -> None:
    """At least four folds in five are alignments of edges, corners and creases; none of them goes through two computed
    points.
    """
    steps = [s for path in ALL for s in loaded(path).steps if isinstance(s, FoldStep)]
    assert sum(s.alignment.kind != "through" for s in steps) >= 0.8 * len(steps)


@pytest.mark.parametrize("kind", KINDS)
def test_documents_are_their_letterforms(kind: str) -> None:
    """Every form has its document, with the same sheet and the same outline."""
    for character, form in forms(kind).items():
        recipe = loaded(PLACE[kind] / f"{file_name(character)}.toml")
        places, wanted = draw(recipe.base).places, form.document()
        drawn = draw(wanted).places
        for found, expected in zip(
            (recipe.base.outline, *recipe.base.loops), (wanted.outline, *wanted.loops), strict=True
        ):
            assert [(p.x.text(), p.y.text()) for p in (places[n] for n in found)] == [
                (p.x.text(), p.y.text()) for p in (drawn[n] for n in expected)
            ], character


@pytest.mark.parametrize("kind", PLAIN)
def test_plain_sheets_need_no_template(kind: str) -> None:
    """No fold and no cut refers to a place of the letter: only to the sheet's corners and to ends of creases (1a, 2b,
    …).
    """
    paths = sorted(PLACE[kind].glob("*.toml"))
    assert paths
    for path in paths:
        recipe = loaded(path)
        assert recipe.along is not None
        alignments = [s.alignment for s in recipe.steps if isinstance(s, FoldStep)] + [recipe.along]
        marks = {m for alignment in alignments for m in alignment.marks}
        assert all(m in ("sw", "se", "ne", "nw") or re.fullmatch(r"\d+[a-z]+", m) for m in marks), path
        # such a place is an end of a crease: of a guide, at an eighth of the sheet's edge, or where two creases meet
        folded = carry_out(recipe)
        sheet = folded.fold_map.subdivision
        ends = {sheet.vertices[v] for edge in sheet.edges if edge.crease is not None for v in edge.ends}
        ends |= {folded.paper.vertices[v] for edge in folded.paper.creased for v in edge}
        far = folded.marks["ne"]
        for mark in marks - {"sw", "se", "ne", "nw"}:
            x, y = folded.marks[mark].x / far.x, folded.marks[mark].y / far.y
            guide = (x in (0, 1) and (8 * y).as_fraction().denominator == 1) or (
                y in (0, 1) and (8 * x).as_fraction().denominator == 1
            )
            assert guide or folded.marks[mark] in ends, (path, mark)
