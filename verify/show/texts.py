"""What the pages say and look like, in files of `template/`: styles, sentences, pages of HTML."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from string import Template
from typing import Any


def text_of(name: str) -> str:
    """A file of `template/`."""
    return (Path(__file__).parent / "template" / name).read_text(encoding="utf-8")


@cache
def table_of(name: str) -> dict[str, Any]:
    """A file of `template/` in TOML."""
    return tomllib.loads(text_of(name))


def filled(name: str, **values: object) -> str:
    """A file of `template/` with its `$names` filled in."""
    return Template(text_of(name)).substitute(values)


def sentences(page: str, part: str, **values: object) -> Iterator[str]:
    """The sentences of a part of `template/pages.toml`, filled in."""
    return (" ".join(words.split()).format(**values) for words in table_of("pages.toml")[page][part])
