"""The written theory speaks of the kernel as it is: what a "Checked in" line names is there."""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path

import pytest

from tests.places import ROOT

PAGES = sorted((ROOT / "proofs" / "theory").glob("*.md"))
APART = ("README.md", "statement.md", "searching.md", "corridors.md")  # they hold no numbered claims on the kernel
SEARCHES = ("simple-folds.md",)  # what a search exhausts: no part of what the kernel checks
SHORT = ("bounds.md",)


@cache
def names_of_the_kernel() -> set[str]:
    """Files, functions, classes, methods, fields and module constants."""
    names = set()
    for path in (ROOT / "verify" / "kernel").glob("*.py"):
        names.add(path.name)
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for node in ast.walk(tree):
            if isinstance(node, ast.FunctionDef | ast.ClassDef):
                names.add(node.name)
            if isinstance(node, ast.ClassDef):
                names |= {f"{node.name}.{m.name}" for m in node.body if isinstance(m, ast.FunctionDef)}
                names |= {
                    m.target.id for m in node.body if isinstance(m, ast.AnnAssign) and isinstance(m.target, ast.Name)
                }
            if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id == "self":
                names.add(node.attr)
        names |= {f"{path.stem}.{node.name}" for node in tree.body if isinstance(node, ast.FunctionDef)}
        for node in tree.body:
            if isinstance(node, ast.Assign | ast.AnnAssign):
                targets = node.targets if isinstance(node, ast.Assign) else [node.target]
                names |= {t.id for t in targets if isinstance(t, ast.Name)}
    return names


@pytest.mark.parametrize("page", PAGES, ids=[p.name for p in PAGES])
def test_what_is_checked_is_there(page: Path) -> None:
    known = names_of_the_kernel()
    lines = [line for line in page.read_text(encoding="utf-8").splitlines() if line.startswith("**Checked in**")]
    if page.name not in (*APART, *SEARCHES):
        assert len(lines) >= (3 if page.name in SHORT else 4)
    for line in lines:
        for name in re.findall(r"`([^`=]+)`", line):
            assert name in known or name == "folds-flat", f"{page.name}: {name}"


def test_every_page_is_listed_and_every_claim_counted() -> None:
    readme = (ROOT / "proofs" / "theory" / "README.md").read_text(encoding="utf-8")
    for page in PAGES:
        if page.name in APART:
            continue
        row = re.search(rf"\[{page.name}\]\({page.name}\) \| ([A-Z])1–\1(\d+) \|", readme)
        assert row is not None, page.name
        claims = re.findall(rf"^## {row[1]}(\d+)\.", page.read_text(encoding="utf-8"), re.M)
        assert claims == [str(i + 1) for i in range(int(row[2]))], page.name
