"""Options and helpers that the tests share."""

from __future__ import annotations

import gc
import json
import os
import subprocess
import sys
from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

import verify
from tests import profiles
from tests.places import PROOFS, ROOT
from verify.exact.field import read_numbers
from verify.exact.number import Number

# What is collected lives to the end: to look it through for what is free, again and again, took a third of the time.
gc.disable()

# The programs that tests start keep what they compile: they all load the same files.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--long", action="store_true", default=False, help="run the tests that take minutes, too")


def pytest_configure(config: pytest.Config) -> None:
    profiles.load(whole=config.getoption("--long"))


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if config.getoption("--long"):
        return
    long = [item for item in items if item.get_closest_marker("long")]  # and not those with a case of that name
    config.hook.pytest_deselected(items=long)
    items[:] = [item for item in items if not item.get_closest_marker("long")]


def pytest_collection_finish() -> None:
    gc.freeze()
    gc.set_threshold(500_000)  # with 50,000 it took 4 % of the time
    gc.enable()


@pytest.fixture(scope="session")
def root() -> Path:
    """The checkout: the folder with verify/, proofs/ and tests/."""
    return ROOT


@pytest.fixture(scope="session")
def proofs() -> Path:
    return PROOFS


@pytest.fixture(scope="session")
def exact() -> Callable[[str], Number]:
    """The exact number of an expression."""

    def number(text: str) -> Number:
        return read_numbers([text]).numbers[text]

    return number


BARE = """
import json, sys
from dataclasses import asdict
from verify.kernel.check import check_files
print(json.dumps([asdict(check_files(*pair)) for pair in json.load(sys.stdin)]))
"""


@pytest.fixture(scope="session")
def bare_kernel() -> Callable[[Sequence[tuple[Path, Path]]], list[dict[str, Any]]]:
    """The kernel's word on documents with their certificates, from an interpreter in which no package is visible."""

    def checked(pairs: Sequence[tuple[Path, Path]]) -> list[dict[str, Any]]:
        done = subprocess.run(
            [sys.executable, "-S", "-c", BARE],
            input=json.dumps([[str(path) for path in pair] for pair in pairs]),
            cwd=ROOT,
            capture_output=True,
            text=True,
            timeout=300,
            check=False,
            env={},
        )
        assert done.returncode == 0, done.stderr
        found: list[dict[str, Any]] = json.loads(done.stdout)
        return found

    return checked


def _point_text(value: Any) -> Any:
    return str(value) if isinstance(value, Fraction) else value


@pytest.fixture(scope="session")
def pattern() -> Callable[..., verify.Document]:
    """A document from places instead of names.

    `outline`, `holes`, `loops` and `paths` are lists of places, `creases` triples (place, place, kind); a place is a
    pair of integers, fractions or expression texts. Points are called p0, p1, … in the order of appearance.
    """

    def build(
        outline: Sequence[Any],
        creases: Sequence[tuple[Any, Any, str]] = (),
        *,
        holes: Sequence[Sequence[Any]] = (),
        loops: Sequence[Sequence[Any]] = (),
        paths: Sequence[Sequence[Any]] = (),
        snips: int | None = None,
        extra: Mapping[str, Any] | None = None,
    ) -> verify.Document:
        names: dict[Any, str] = {}

        def name(place: Any) -> str:
            return names.setdefault(tuple(place), f"p{len(names)}")

        keys: dict[str, Any] = {
            "format": "creaseproof-pattern/1",
            "sheet": {"outline": [name(p) for p in outline], "holes": [[name(p) for p in hole] for hole in holes]},
            "creases": [[name(a), name(b), kind] for a, b, kind in creases],
        }
        if loops or paths:
            keys["target"] = {
                "loops": [[name(p) for p in x] for x in loops],
                "paths": [[name(p) for p in x] for x in paths],
            }
        if snips is not None:
            keys["cut"] = {"snips": snips}
        keys["points"] = {n: [_point_text(v) for v in place] for place, n in names.items()} | dict(extra or {})
        return verify.read(keys)

    return build


@pytest.fixture(scope="session")
def ray() -> Callable[..., tuple[Fraction, Fraction]]:
    """Where a ray from one place through another leaves the box [x0, x1] × [y0, y1]."""

    def leave(
        start: tuple[Any, Any], through: tuple[Any, Any], box: tuple[int, int, int, int]
    ) -> tuple[Fraction, Fraction]:
        x0, x1, y0, y1 = (Fraction(v) for v in box)
        sx, sy = Fraction(start[0]), Fraction(start[1])
        dx, dy = Fraction(through[0]) - sx, Fraction(through[1]) - sy
        reach = []
        if dx:
            reach.append(((x1 if dx > 0 else x0) - sx) / dx)
        if dy:
            reach.append(((y1 if dy > 0 else y0) - sy) / dy)
        t = min(reach)
        return sx + t * dx, sy + t * dy

    return leave


@pytest.fixture(scope="session")
def box() -> Callable[[int, int, int, int], list[tuple[int, int]]]:
    def corners(x0: int, x1: int, y0: int, y1: int) -> list[tuple[int, int]]:
        return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]

    return corners
