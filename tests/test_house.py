"""DEVELOPERS.md names every file of the house with its job; what people read has lines of 120 columns at most."""

from __future__ import annotations

from itertools import chain

from tests.house import PAGE, ROOT, house, job


def test_the_list_is_as_the_files_are() -> None:
    assert house() in PAGE.read_text(encoding="utf-8"), "python tests/house.py --write"


def test_every_file_says_what_it_is_for() -> None:
    words = {path: len(job(path).split()) for path in (ROOT / "verify").rglob("*.py")}
    assert words
    assert [path for path, number in words.items() if not 3 <= number <= 40] == []


def test_no_line_is_longer_than_120_columns() -> None:
    """But for tables of pages, which cannot be broken, data, and what a program wrote (ruff looks at Python)."""
    rooms = ("verify", "proofs", "benchmarks", "tests")
    kinds = (".cff", ".css", ".html", ".js", ".md", ".ml", ".sh", ".toml", ".v")
    made = {"second.js", "build"}
    data = {"alphabet", "forms.toml", "recipes", "rejected", "survivors.toml"}
    paths = chain(ROOT.glob("*.*"), *((ROOT / room).rglob("*") for room in rooms))
    texts = [path for path in paths if path.suffix in kinds and made.isdisjoint(path.parts)]
    texts = [path for path in texts if path.suffix != ".toml" or data.isdisjoint(path.parts)]
    texts.append(ROOT / ".ci" / "run")
    assert len(texts) > 150
    long = [
        f"{path.relative_to(ROOT)}:{number}"
        for path in texts
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
        if len(line) > 120 and not line.startswith("|")
    ]
    assert long == []


def test_no_file_has_more_than_500_lines() -> None:
    sizes = {str(path): len(path.read_text(encoding="utf-8").splitlines()) for path in (ROOT / "verify").rglob("*.py")}
    assert len(sizes) > 100
    assert {name for name, lines in sizes.items() if lines > 500} == set()
