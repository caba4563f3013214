"""The commands as functions: each does from Python what it does from the shell."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

import verify

ROOMS = {"construct": "skeleton", "exact": "number", "hunt": "hunt"}
WAYS = """
import verify; f = verify.{name}; import verify.{name}.{module}; assert f is verify.{name}
import verify.{name}.{module} as m; import verify; assert verify.{name}.{module} is m
from verify import {name}; from verify.{name} import {module}; import verify
from verify import *; import verify; assert {name} is verify.{name}
"""
# each line is carried out in an interpreter in which nothing of `verify` was imported before
AFRESH = """
import sys
for line in sys.stdin.read().splitlines():
    for name in [name for name in sys.modules if name.partition(".")[0] == "verify"]:
        del sys.modules[name]
    exec(line, {})
"""


def test_three_functions_are_packages_too(root: Path) -> None:
    """Whichever comes first, the package or the function."""
    lines = []
    for name, module in ROOMS.items():
        asked = f"import inspect; assert inspect.signature(verify.{name}) == inspect.signature(verify.public('{name}'))"
        for way in WAYS.format(name=name, module=module).split("\n")[1 : -1 if name == "construct" else 2]:
            lines.append(f"{way}; {asked}; print(verify.{name}.__name__)")
    done = subprocess.run(
        [sys.executable, "-c", AFRESH],
        input="\n".join(lines),
        cwd=root,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.stdout.split() == ["verify.construct"] * 4 + ["verify.exact"] + ["verify.hunt"], done.stderr


def test_functions_take_files_as_commands_do(proofs: Path) -> None:
    kite, recipe = proofs / "certified" / "kite.toml", proofs / "recipes" / "window-one-fold.toml"
    result = verify.certify(kite)
    for name in ("explain", "picture", "report", "export", "handout"):
        function = getattr(verify, name)
        assert function(kite) == function(str(kite)) == function(verify.load(kite)) == function(result), name
    assert verify.handout([kite, recipe]).startswith(b"%PDF-")
    assert verify.fold(str(recipe)).refused is None
    assert verify.tolerance(recipe, samples=2) == verify.tolerance(verify.load(recipe), samples=2)
    for function in (verify.fold, verify.tolerance):
        with pytest.raises(verify.Malformed, match="expected a recipe"):
            function(kite)


def test_what_the_commands_do_from_python(proofs: Path, tmp_path: Path) -> None:
    kite = proofs / "certified" / "kite.toml"
    result = verify.certify(kite)
    assert verify.facts(result) == result.keys()["facts"]
    assert verify.facts(result)["faces"] == 8
    assert all(isinstance(f, verify.Finding) for f in result.findings)
    assert set(verify.picture(result)) == {"pattern", "folded", "stack", "cut", "pieces"}
    assert verify.report(result).startswith("<!DOCTYPE html>")
    assert verify.handout([result]).startswith(b"%PDF-")
    assert verify.export(result).startswith("<svg")
    assert "SECTION" in verify.export(result, "dxf")
    near = verify.exact(kite)
    assert (near.verdict, near.pattern) == ("certified", verify.load(kite))
    ((name, made),) = verify.letters("i", tries=1)
    assert (name, made.verdict, made.document.title) == ("1-I", "certified", "Letter I")
    recipe = verify.load(proofs / "recipes" / "kite.toml")
    assert isinstance(recipe, verify.Recipe)
    assert verify.fold(recipe).refused is None
    assert verify.tolerance(recipe, samples=2).samples == 2
    assert [row.verdict for row in verify.sweep([kite])] == ["certified"]
    assert not verify.compare(kite, kite).is_worse
    assert verify.hunt("maekawa", seconds=0.2, most=100).found is None
    assert verify.hunt(no_creases, seconds=20, most=100).found is not None
    target = tmp_path / "target.json"
    verify.write(replace(made.document, creases=()), target)
    assert verify.construct(target, tries=1).verdict == "certified"


def no_creases(document: verify.Document) -> bool:
    """A pattern has no creases: false of nearly all."""
    return not document.creases
