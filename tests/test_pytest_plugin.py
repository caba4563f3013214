"""The plugin, run by pytest in a folder of its own."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from tests.places import PROOFS
from verify.pytest_plugin import pytest_configure


@pytest.fixture
def project(tmp_path: Path) -> Path:
    (tmp_path / "patterns").mkdir()
    for name in ("certified/kite.toml", "refuted/trapped-panel.toml", "recipes/window-three-folds.toml"):
        (tmp_path / "patterns" / f"{Path(name).parent.name}-{Path(name).name}").write_bytes(
            (PROOFS / name).read_bytes()
        )
    (tmp_path / "patterns" / "broken.toml").write_text("format = 3")
    (tmp_path / "other.toml").write_text("format = 'something else'")
    (tmp_path / "pyproject.toml").write_text('[tool.pytest.ini_options]\ncreaseproof_documents = ["patterns/*.toml"]\n')
    return tmp_path


def run(project: Path, *arguments: str) -> str:
    command = [sys.executable, "-m", "pytest", "-p", "verify.pytest_plugin", "-p", "no:cacheprovider", *arguments]
    environment = os.environ | {"PYTHONPATH": str(PROOFS.parent), "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1"}
    done = subprocess.run(
        command, cwd=project, env=environment, capture_output=True, text=True, timeout=120, check=False
    )
    return done.stdout + done.stderr


def files(project: Path) -> set[str]:
    return {
        path.relative_to(project).as_posix()
        for path in project.rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }


def test_documents_are_tests(project: Path) -> None:
    before = files(project)
    told = run(project, "-v", "--tb=short", "--no-summary")
    assert "2 failed, 2 passed" in told
    assert "other.toml" not in told
    assert "picture" not in told
    assert files(project) == before


def test_documents_that_no_file_fits_are_an_error(project: Path) -> None:
    """pytest.ini takes no lists: there, a list is one pattern, of names with a character between brackets."""
    (project / "pytest.ini").write_text("[pytest]\ncreaseproof_documents = patterns/*.toml\n")
    assert "2 failed, 2 passed" in run(project)
    (project / "pytest.ini").write_text('[pytest]\ncreaseproof_documents = ["patterns/*.toml"]\n')
    told = run(project)
    assert "found '[patterns/*.toml]', which no file in" in told
    assert "patterns/*.toml alone in pytest.ini" in told


def test_a_failure_is_said_once_and_drawn_where_it_is_asked_for(project: Path) -> None:
    before = files(project)
    told = run(project, "--creaseproof-pictures", "drawn/here", "-r", "N")
    for sentence in ("refuted: Trapped panel", "the two valley folds", "malformed: "):
        assert told.count(sentence) == 1, told
    (picture,) = files(project) - before
    assert picture.startswith("drawn/here/refuted-trapped-panel-")
    assert told.count(f"picture: {picture}") == 1
    assert (project / picture).read_text().startswith("<svg")


def test_a_limit_that_is_none(project: Path) -> None:
    told = run(project, "-o", "creaseproof_seconds=nan")
    assert "creaseproof_seconds: found 'nan'; expected a number of seconds above 0" in told
    assert "internal error" not in told.lower()


@pytest.mark.parametrize("seconds", ["nan", "0", "-1", "soon", ""])
def test_other_limits_that_are_none(seconds: str) -> None:
    settings: Any = SimpleNamespace(getini=lambda _: seconds)
    with pytest.raises(pytest.UsageError, match=f"found '{seconds}'; expected a number of seconds above 0"):
        pytest_configure(settings)


def test_the_fixture(project: Path) -> None:
    (project / "test_generator.py").write_text(
        """
def strip(second):
    points = {"a": [0, 0], "b": [7, 0], "c": [7, 1], "d": [0, 1], "e": [3, 0], "f": [3, 1], "g": [4, 0], "h": [4, 1]}
    return {"format": "creaseproof-pattern/1", "points": points, "sheet": {"outline": ["a", "b", "c", "d"]},
            "creases": [["e", "f", "valley"], ["g", "h", second]]}

def test_good(certified):
    assert len(certified(strip("mountain")).subdivision.faces) == 3

def test_bad(certified):
    certified(strip("valley"))

def test_path(certified):
    certified("patterns/certified-kite.toml")

def test_malformed(certified):
    certified({"format": 3})
"""
    )
    before = files(project)
    told = run(project, "test_generator.py", "-r", "N")
    assert "2 failed, 2 passed" in told
    for sentence in ("refuted: document", "the two valley folds", "malformed: document: format"):
        assert told.count(sentence) == 1, told
    assert "During handling" not in told
    assert "pytest_plugin.py" not in told
    assert files(project) == before
