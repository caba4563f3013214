"""The commands `picture` and `report`."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

import verify
from tests.cli.command import run
from verify.show.style import LIGHT


def test_picture_writes_five_pictures_and_ends_with_the_verdicts_status(proofs: Path, tmp_path: Path):
    outcome = run("picture", proofs / "certified/kite.toml", "-o", tmp_path / "new/folder")
    assert outcome.exit_code == 0, outcome.output
    written = sorted(p.name for p in (tmp_path / "new/folder").iterdir())
    assert written == [f"kite.{n}.svg" for n in ("cut", "folded", "pattern", "pieces", "stack")]
    assert run("picture", proofs / "refuted/maekawa.json", "-o", tmp_path).exit_code == 1


def test_png_beside_svg(proofs: Path, tmp_path: Path):
    pytest.importorskip("cairosvg")
    assert run("picture", proofs / "certified/kite.toml", "-o", tmp_path, "--png").exit_code == 0
    # The signature of PNG files: W3C, Portable Network Graphics, 5.2.
    assert all(p.read_bytes().startswith(b"\x89PNG\r\n\x1a\n") for p in tmp_path.glob("*.png"))
    assert len(list(tmp_path.glob("*.png"))) == 5


def test_a_png_has_sharp_hatches(proofs: Path, tmp_path: Path):
    """Pillow reads the pixels: many have the ink of the hatch (some 5,000; where it was blurred, 1,000)."""
    pytest.importorskip("cairosvg")
    image = pytest.importorskip("PIL.Image")
    assert run("picture", proofs / "certified/star.toml", "-o", tmp_path, "--png").exit_code == 0
    pixels = np.asarray(image.open(tmp_path / "star.folded.png").convert("RGB"), dtype=int)
    ink = list(bytes.fromhex(LIGHT["hatch"].removeprefix("#")))
    assert (abs(pixels - ink).max(axis=2) < 24).sum() > 3_000


def test_report_writes_one_page_and_ends_with_the_verdicts_status(proofs: Path, tmp_path: Path):
    assert run("report", proofs / "recipes/kite.toml", "-o", tmp_path / "r.html").exit_code == 0
    assert (tmp_path / "r.html").read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    assert run("report", proofs / "refuted/maekawa.json", "-o", tmp_path / "m.html").exit_code == 1


def test_what_export_wrote_is_read_again_as_the_page_on_commands_says(proofs: Path, tmp_path: Path) -> None:
    """The coordinates of the sail are rational and short, so that rounding changes none of them."""
    page = " ".join((proofs / "commands.md").read_text(encoding="utf-8").split())
    (said,) = re.findall(r"`creaseproof import CUT\.svg -o AGAIN\.toml (.*?)` reads that SVG again", page)
    cut, again = tmp_path / "cut.svg", tmp_path / "again.toml"
    sail = verify.load(proofs / "certified" / "sail-3-4-5.toml")
    assert run("export", proofs / "certified" / "sail-3-4-5.toml", "-o", cut).exit_code == 0
    assert run("import", cut, "-o", again, *said.split()).exit_code == 0
    result = verify.certify(again)
    assert (result.verdict, result.claims) == ("certified", ("folds-flat", "cut-exact"))
    assert len(result.subdivision.panels) == len(verify.certify(sail).subdivision.panels)
