"""The command `recipe`: a target in, a certified list of folds out."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

import verify
from verify import cli
from verify.pattern.recipe import Recipe

Run = Callable[..., Result]
PROOFS = Path(__file__).resolve().parent.parent / "proofs"
SVG = """<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="0 0 60 60">
<polygon points="10,10 50,10 50,50 10,50" fill="none" stroke="black"/></svg>"""


@pytest.fixture
def run() -> Run:
    def invoke(*arguments: object) -> Result:
        return CliRunner().invoke(cli.main, [str(a) for a in arguments])

    return invoke


def test_what_is_written_is_certified_again(run: Run, tmp_path: Path) -> None:
    out, certificate = tmp_path / "kite.toml", tmp_path / "kite.certificate.json"
    done = run("recipe", PROOFS / "recipes" / "kite.toml", "-o", out, "--certificate", certificate)
    assert done.exit_code == 0, done.output
    assert "step 2: fold all layers" in done.output
    assert "2 folds: no recipe of simple folds is shorter" in done.output
    recipe = verify.load(out)
    assert isinstance(recipe, Recipe)
    assert len(recipe.steps) == 2
    assert verify.certify(recipe).verdict == "certified"
    assert run("audit", out, certificate).exit_code == 0


def test_a_drawing(run: Run, tmp_path: Path) -> None:
    drawing = tmp_path / "window.svg"
    drawing.write_text(SVG)
    done = run("recipe", drawing, "-o", tmp_path / "window.toml", "--json")
    assert done.exit_code == 0, done.output
    answer = json.loads(done.output)
    assert (answer["verdict"], answer["shown"], answer["folds"], answer["layers"]) == ("certified", "shortest", 2, 4)


def test_none_is_undecided_and_writes_nothing(run: Run, tmp_path: Path) -> None:
    out = tmp_path / "f.toml"
    done = run("recipe", PROOFS / "alphabet" / "F.toml", "-o", out, "--all-layers")
    assert done.exit_code == 3
    assert "none: the figure has no line of symmetry" in done.output
    assert not out.exists()


def test_the_target_is_not_overwritten(run: Run, tmp_path: Path) -> None:
    target = tmp_path / "kite.toml"
    before = (PROOFS / "recipes" / "kite.toml").read_bytes()
    target.write_bytes(before)
    done = run("recipe", target, "-o", target)
    assert done.exit_code == 2
    assert "found what this command reads" in done.output
    assert target.read_bytes() == before


def test_a_document_that_is_none(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "bad.toml"
    path.write_text("format = 1")
    done = run("recipe", path)
    assert done.exit_code == 2
    assert done.output.startswith("malformed")
