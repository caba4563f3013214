"""`creaseproof steps` and `verify.steps`, as a user runs them."""

from __future__ import annotations

import json
import re
from functools import cache
from pathlib import Path

import pytest

import verify
from tests.cli.command import run
from tests.places import PROOFS
from tests.show.printed import texts
from verify.kernel.check import check_files

# how many simple folds of any layers lead to the folded state; 0: none do, all having been tried
FOLDS = {
    "fish": 3,
    "frame-rectangle": 5,
    "kite": 2,
    "lantern-twist": 0,
    "letter-l": 5,
    "letter-t": 7,
    "map-3x3": 4,
    "miura-4x4": 0,
    "nested-frames": 4,
    "offcut-corner": 1,
    "panel-round-hole": 3,
    "quay-cradle": 2,
    "ring": 3,
    "sail-3-4-5": 0,
    "sail-scalene": 0,
    "slit": 3,
    "star": 5,
    "strip": 7,
    "window-one-fold": 1,
    "window-three-folds": 3,
    "window-two-folds": 2,
}

LONG = ("letter-t",)  # it takes as long as the other letters together


@cache
def steps_of(name: str) -> verify.Steps:
    return verify.steps(PROOFS / "certified" / f"{name}.toml")


@pytest.mark.parametrize("name", [pytest.param(n, marks=[pytest.mark.long] * (n in LONG)) for n in FOLDS])
def test_the_corpus(name: str) -> None:
    """Each answer with a certificate of the kernel, or after all states were looked at."""
    found = steps_of(name)
    if not FOLDS[name]:
        assert (found.verdict, found.shown, found.recipe) == ("undecided", "none", None)
        assert found.stages is not None
        assert found.stages.stages
        return
    assert (found.verdict, found.shown, found.folds) == ("certified", "found", FOLDS[name])
    assert found.recipe is not None
    assert found.result is not None
    assert verify.audit(found.recipe, found.result.certificate or {}).accepted
    assert found.recipe.claims == found.document.claims


def test_a_recipe_is_written_that_stands_by_itself(tmp_path: Path) -> None:
    recipe, certificate = tmp_path / "star.toml", tmp_path / "star.certificate.json"
    done = run("steps", PROOFS / "certified" / "star.toml", "-o", recipe, "--certificate", certificate)
    assert done.exit_code == 0, done.output
    assert done.output.startswith("certified: Regular five-point star")
    assert "  5 folds give exactly this pattern: simple folds of any number of layers" in done.output
    assert (
        "  step 1: Fold along the line through edge-126 and edge-306. Bring the part with se over, towards you. "
        "[the outline lies on " in done.output
    )
    assert check_files(str(recipe), str(certificate)).accepted
    assert run("certify", recipe).exit_code == 0
    pattern = tmp_path / "pattern.toml"
    assert run("fold", recipe, "-o", pattern).exit_code == 0
    assert run("certify", pattern).exit_code == 0


def test_a_twist_has_no_steps_and_an_order_of_collapse(tmp_path: Path) -> None:
    out = tmp_path / "none.toml"
    done = run("steps", PROOFS / "certified" / "lantern-twist.toml", "-o", out)
    assert done.exit_code == 3
    assert not out.exists()
    assert "no simple folds of any number of layers from above or below lead to this folded state" in done.output
    assert "not even the first is possible" in done.output
    assert "first crease each line" in done.output
    assert "    1. Bring creases 1 to 12 in together.\n" in done.output
    keys = json.loads(run("steps", PROOFS / "certified" / "lantern-twist.toml", "--json").output)
    assert (keys["verdict"], keys["shown"], keys["states"]) == ("undecided", "none", 1)
    assert len(keys["stages"]["groups"]) == 1
    assert len(keys["stages"]["creases"]) == 12


def test_creases_have_the_numbers_of_the_handout(tmp_path: Path) -> None:
    twist = PROOFS / "certified" / "lantern-twist.toml"
    said = run("steps", twist).output
    told = re.findall(r"^    crease (\d+): .+ \((valley|mountain|valley and mountain)\)$", said, re.MULTILINE)
    assert [int(number) for number, _ in told] == list(range(1, 13))
    assert "`creaseproof handout` draws these numbers, `creaseproof picture` the names" in said
    assert run("handout", twist, "-o", tmp_path / "twist.pdf").exit_code == 0
    printed = " ".join(texts(tmp_path / "twist.pdf"))
    assert "1. Bring creases 1 to 12 in together." in printed
    first, last = printed.split("Valleys, from the front: ")[1].split(".")[0].split(" to ")
    assert [number for number, kind in told if kind == "valley"] == [str(n) for n in range(int(first), int(last) + 1)]


def test_models_and_limits() -> None:
    kite = PROOFS / "certified" / "kite.toml"
    assert run("steps", kite, "--model", "all-layers").exit_code == 0
    one = run("steps", kite, "--model", "one-layer")
    assert one.exit_code == 3
    assert "no simple folds that bend one layer" in one.output
    cut_short = run("steps", PROOFS / "certified" / "letter-l.toml", "--states", 3, "--json")
    assert cut_short.exit_code == 3
    keys = json.loads(cut_short.output)
    assert keys["shown"] == ""
    assert "the limit states = 3 was reached" in keys["words"]


def test_a_limit_that_comes_before_the_search_makes_it_undecided() -> None:
    """The time is over when it would begin; or the pattern itself is not decided, and it says why."""
    kite = PROOFS / "certified" / "kite.toml"
    late = verify.steps(verify.certify(kite), limits=verify.Limits(seconds=1e-9))
    assert (late.verdict, late.stages) == ("undecided", None)
    assert late.words() == "the limit seconds = 1e-09 was reached: not all states were looked at"
    unknown = verify.steps(verify.certify(kite, verify.Limits(faces=2)))
    assert unknown.verdict == "undecided"
    assert unknown.words().startswith("the pattern is undecided: the limit faces = 2 was reached")


def test_what_has_no_steps_to_be_found() -> None:
    refuted = run("steps", PROOFS / "refuted" / "trapped-panel.toml")
    assert refuted.exit_code == 1
    assert "the pattern is refuted" in refuted.output
    recipe = run("steps", PROOFS / "recipes" / "kite.toml")
    assert recipe.exit_code == 2
    assert "found a recipe; expected a pattern (a recipe has its steps)" in recipe.output
    assert run("steps", PROOFS / "certified" / "cord-slots.toml").exit_code == 4


STORED = sorted((PROOFS / "recipes" / "steps").iterdir())


def test_the_stored_recipes_are_their_list() -> None:
    text = (PROOFS / "README.md").read_text(encoding="utf-8")
    section = text[text.index("`recipes/steps/`") :].split("\n## ")[0]
    rows = [
        [cell.strip(" `") for cell in line.strip("|").split("|")]
        for line in section.splitlines()
        if line.startswith("| `")
    ]
    assert rows == [[path.name, str(FOLDS[path.stem])] for path in STORED]


@pytest.mark.parametrize(
    "path", [pytest.param(p, id=p.stem, marks=[pytest.mark.long] * (p.stem in LONG)) for p in STORED]
)
def test_stored_recipes_are_what_steps_writes(path: Path) -> None:
    found = steps_of(path.stem)
    assert found.recipe is not None
    assert verify.load(path).statement_sha256 == found.recipe.statement_sha256


LETTERS = sorted((PROOFS / "alphabet").glob("*.toml"))
SIMPLE = {"0": 4, "C": 4, "I": 3, "T": 5, "U": 4}  # folds; the others are collapsed


def test_letters_by_the_skeleton_have_simple_folds_as_their_page_says() -> None:
    assert len(LETTERS) == 36
    page = (PROOFS / "alphabet" / "README.md").read_text(encoding="utf-8")
    for path in LETTERS:
        found = verify.steps(path)
        folds = SIMPLE.get(path.stem)
        assert re.search(rf"\| {path.stem} \| \d+ \| \d+ \| {folds or '–'} \|", page), path.name
        if folds is None:
            assert (found.verdict, found.shown) == ("undecided", "none"), path.name
            assert found.reached < found.fold_edges
        else:
            assert found.verdict == "certified"
            assert found.recipe is not None
            assert len(found.recipe.steps) == folds
