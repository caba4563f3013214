"""The mutants of the kernel that nothing tells apart, each with the reason why it changes no verdict
(`survivors.toml`).
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import NamedTuple

FILE = Path(__file__).with_name("survivors.toml")


class Mutant(NamedTuple):
    """A change of the kernel: the module, its lines (stripped) and what they become."""

    module: str
    was: str
    becomes: str


def argued() -> dict[Mutant, str]:
    """The survivors that are argued, each with the argument."""
    root = tomllib.loads(FILE.read_text(encoding="utf-8"))
    return {
        Mutant(module, was, becomes): entry["why"]
        for entry in root["survivors"]
        for module in [entry["module"]]
        for was, becomes in entry["changes"]
    }
