"""DEVELOPERS.md names every file of the house with its job."""

from __future__ import annotations

from tests.house import PAGE, ROOT, house, job


def test_the_list_is_as_the_files_are() -> None:
    assert house() in PAGE.read_text(encoding="utf-8"), "python tests/house.py --write"


def test_every_file_says_what_it_is_for() -> None:
    words = {path: len(job(path).split()) for path in (ROOT / "verify").rglob("*.py")}
    assert words
    assert [path for path, number in words.items() if not 3 <= number <= 40] == []
