"""DEVELOPERS.md names every file of the house with its job."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.house import PAGE, ROOT, house, job


def test_the_list_is_as_the_files_are() -> None:
    assert house() in PAGE.read_text(encoding="utf-8"), "python tests/house.py --write"


@pytest.mark.parametrize("path", sorted((ROOT / "verify").rglob("*.py")), ids=lambda path: str(path.relative_to(ROOT)))
def test_every_file_says_what_it_is_for(path: Path) -> None:
    assert 3 <= len(job(path).split()) <= 40
