"""The kernel with its source altered, loaded beside the true one: nothing is written, nothing is patched."""

from __future__ import annotations

import ast
import importlib.util
import itertools
import sys
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from types import ModuleType
from typing import Any

import verify.kernel

FOLDER = Path(verify.kernel.__file__).parent
ORDER = (
    "reading",
    "numbers",
    "expression",
    "plane",
    "boxes",
    "alignment",
    "recipe",
    "statement",
    "subdivision",
    "folded",
    "table",
    "order",
    "clauses",
    "cut",
    "paper",
    "refutation",
    "check",
)
_serial = itertools.count()


@cache
def source(name: str) -> str:
    return (FOLDER / f"{name}.py").read_text(encoding="utf-8")


@cache
def _compiled(name: str) -> Any:
    return compile(source(name), f"{name}.py", "exec", dont_inherit=True)


def altered(name: str, tree: ast.Module) -> Callable[..., Any]:
    """`check_bytes` of a kernel in which one module has this tree instead of its own."""
    package = f"altered_kernel_{next(_serial)}"
    parent = ModuleType(package)
    parent.__path__ = []
    loaded = [package]
    sys.modules[package] = parent
    try:
        for module in ORDER:
            full = f"{package}.{module}"
            fresh = importlib.util.module_from_spec(importlib.util.spec_from_loader(full, loader=None))
            fresh.__package__ = package
            sys.modules[full] = fresh
            loaded.append(full)
            exec(
                compile(ast.fix_missing_locations(tree), f"{name}.py", "exec", dont_inherit=True)
                if module == name
                else _compiled(module),
                fresh.__dict__,
            )
            setattr(parent, module, fresh)
        return sys.modules[f"{package}.check"].check_bytes  # type: ignore[no-any-return]
    finally:
        for full in loaded:
            del sys.modules[full]


def checks() -> Iterator[tuple[str, int, str]]:
    """Every `require(...)` that stands for itself and every `raise` of the kernel: module, line, and its text in
    short.
    """
    for name in ORDER:
        for node in _checks(ast.parse(source(name))):
            yield name, node.lineno, " ".join(ast.unparse(node).split())[:150]


def _checks(tree: ast.AST) -> list[ast.stmt]:
    return [
        n
        for n in ast.walk(tree)
        if isinstance(n, ast.Raise)
        or (
            isinstance(n, ast.Expr)
            and isinstance(n.value, ast.Call)
            and isinstance(n.value.func, ast.Name)
            and n.value.func.id == "require"
        )
    ]


def without(name: str, line: int) -> Callable[..., Any]:
    """The kernel with the check on this line left out."""
    tree = ast.parse(source(name))
    [chosen] = [n for n in _checks(tree) if n.lineno == line]

    class Remove(ast.NodeTransformer):
        def visit(self, node: ast.AST) -> Any:
            return ast.copy_location(ast.Pass(), node) if node is chosen else self.generic_visit(node)

    return altered(name, Remove().visit(tree))
