"""The examples in docstrings."""

from __future__ import annotations

import doctest
from importlib import import_module

import pytest

from tests.places import ROOT

SHOWN = [path for path in sorted((ROOT / "verify").rglob("*.py")) if ">>>" in path.read_text(encoding="utf-8")]


@pytest.mark.parametrize("name", [".".join(path.relative_to(ROOT).with_suffix("").parts) for path in SHOWN])
def test_examples(name: str) -> None:
    failed, tried = doctest.testmod(import_module(name))
    assert tried
    assert not failed
