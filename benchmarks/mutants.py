"""Mutants of the kernel: small changes of its code, one at a time, each run over the corpus.

    python benchmarks/mutants.py [--count 200] [--seed 1] [--full]

A mutant is killed if it errs on a document that must be accepted, on an edit that must be refused with its code, or ends otherwise
than with an answer. What survives is run through `tests/kernel` with `--full`, and is listed at the end:
each is either killed by a new test or changes nothing that can be seen.
"""

from __future__ import annotations

import argparse
import ast
import copy
import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
KERNEL = ROOT / "verify" / "kernel"
FLIPS = {ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq, ast.In: ast.NotIn, ast.NotIn: ast.In}
SWAPS = {ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Add, ast.BitAnd: ast.BitOr, ast.BitOr: ast.BitAnd, ast.BitXor: ast.BitOr}
SECONDS = 60


def changes(tree: ast.AST) -> Iterator[tuple[ast.AST, str]]:
    """The nodes that can be changed, and in what way."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Compare) and type(node.ops[0]) in FLIPS:
            yield node, "comparison"
        elif isinstance(node, ast.BoolOp):
            yield node, "and/or"
        elif isinstance(node, ast.BinOp) and type(node.op) in SWAPS:
            yield node, "operator"
        elif isinstance(node, ast.Constant) and isinstance(node.value, int) and not isinstance(node.value, bool) and abs(node.value) <= 4:
            yield node, "constant"
        elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
            yield node, "not"
        elif isinstance(node, ast.IfExp):
            yield node, "branches"


def mutants() -> list[tuple[Path, int]]:
    return [(path, i) for path in sorted(KERNEL.glob("*.py")) if path.name not in ("__init__.py", "__main__.py") for i, _ in enumerate(changes(ast.parse(path.read_text())))]


def mutated(path: Path, number: int) -> tuple[str, str]:
    """The source of a mutant, and what was changed."""
    tree = copy.deepcopy(ast.parse(path.read_text()))
    node, what = list(changes(tree))[number]
    before = ast.unparse(node)
    match node:
        case ast.Compare():
            node.ops[0] = FLIPS[type(node.ops[0])]()
        case ast.BoolOp():
            node.op = ast.Or() if isinstance(node.op, ast.And) else ast.And()
        case ast.BinOp():
            node.op = SWAPS[type(node.op)]()
        case ast.Constant():
            node.value += 1
        case ast.UnaryOp():
            node.op = ast.UAdd()
        case ast.IfExp():
            node.body, node.orelse = node.orelse, node.body
    line = getattr(node, "lineno", 0)
    return ast.unparse(tree), f"{path.name}:{line}: {what}: {before}  →  {ast.unparse(node)}"


ORACLE = """
import sys
sys.path[:0] = [{root!r}]
from tests.adversary.corpus import accepted, document_of, edited, edits
from verify.kernel.check import check_bytes
for document, certificate in accepted()[::3]:
    if not check_bytes(document.read_bytes(), certificate.read_bytes(), toml=document.suffix == ".toml").accepted:
        sys.exit(1)
for e in edits():
    document, toml = document_of(e)
    if check_bytes(document, edited(e), toml=toml).code != e["code"]:
        sys.exit(1)
"""


def killed(path: Path, number: int, full: bool) -> tuple[bool, str]:
    """Whether a mutant is killed, and what it is. It is written into a copy of the kernel, never into this checkout."""
    source, what = mutated(path, number)
    import shutil
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        for name in ("verify", "tests"):
            shutil.copytree(ROOT / name, home / name, ignore=shutil.ignore_patterns("__pycache__"))
        (home / "proofs").symlink_to(ROOT / "proofs")
        (home / "pyproject.toml").write_text((ROOT / "pyproject.toml").read_text())
        (home / "verify" / "kernel" / path.name).write_text(source)
        command = [sys.executable, "-c", ORACLE.format(root=str(home))]
        if full:
            command = [sys.executable, "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider", "tests/kernel"]
        process = subprocess.Popen(command, cwd=home, env=os.environ | {"PYTHONPATH": str(home)}, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True)
        try:
            return process.wait(SECONDS * (10 if full else 1)) != 0, what
        except subprocess.TimeoutExpired:
            os.killpg(process.pid, signal.SIGKILL)
            return True, what + "  (did not end)"


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--full", action="store_true", help="run tests/kernel on those that survive the corpus")
    arguments = parser.parse_args()
    every = mutants()
    chosen = random.Random(arguments.seed).sample(every, min(arguments.count, len(every)))
    start, survivors = time.monotonic(), []
    for path, number in chosen:
        dead, what = killed(path, number, full=False)
        if not dead and arguments.full:
            dead, what = killed(path, number, full=True)
        if not dead:
            survivors.append(what)
            print("survives:", what, flush=True)
    print(f"{len(chosen)} of {len(every)} mutants, {len(chosen) - len(survivors)} killed, {len(survivors)} survive, {time.monotonic() - start:.0f} s")
    return 0


if __name__ == "__main__":
    sys.exit(main())
