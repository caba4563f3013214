"""The kernel and the search share no code; the kernel is small; nothing rests on `assert`."""

from __future__ import annotations

import ast
import json
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

import verify
from benchmarks.house import measured
from tests.house import nodes

VERIFY = Path(verify.__file__).parent
KERNEL = sorted((VERIFY / "kernel").glob("*.py"))
ALL = sorted(VERIFY.rglob("*.py"))


def imported(path: Path) -> Iterator[str]:
    """The modules that a file imports, wherever in it, as absolute names."""
    package = ["verify", *path.relative_to(VERIFY).parts[:-1]]
    for node in nodes(path):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else []
            yield ".".join([*base, *([node.module] if node.module else [])])
        elif (
            isinstance(node, ast.Call)
            and isinstance(node.func, ast.Name)
            and node.func.id in ("__import__", "import_module", "exec", "eval", "compile")
        ):
            yield f"{node.func.id}()"


def test_the_kernel_imports_the_standard_library_only() -> None:
    assert len(KERNEL) >= 10
    seen = set()
    for path in KERNEL:
        for name in imported(path):
            seen.add(name)
            top = name.split(".")[0]
            assert name.startswith("verify.kernel") or top in sys.stdlib_module_names, f"{path.name} imports {name}"
    assert {"json", "fractions", "verify.kernel.numbers"} <= seen
    assert not {n.split(".")[0] for n in seen} & {
        "importlib",
        "runpy",
        "pickle",
        "ctypes",
        "subprocess",
        "os",
        "socket",
    } - {"os"}


def test_only_the_certificate_folder_and_the_command_call_the_kernel() -> None:
    callers = {
        path.relative_to(VERIFY).parts[0]
        for path in ALL
        if path not in KERNEL and any(n.startswith("verify.kernel") for n in imported(path))
    }
    assert callers == {"certificate", "cli"}


def test_folders_import_downwards() -> None:
    may = {
        "exact": {"exact"},
        "pattern": {"exact", "pattern"},
        "folding": {"exact", "pattern", "folding"},
        "cutting": {"exact", "pattern", "folding", "cutting"},
        "construct": {"exact", "pattern", "folding", "cutting", "construct"},
        "words": {"exact", "pattern", "folding", "cutting", "construct", "words"},
        "certificate": {"exact", "pattern", "folding", "cutting", "construct", "words", "certificate", "kernel"},
        "tasks": {"exact", "pattern", "folding", "cutting", "construct", "words", "certificate", "tasks"},
        "hunt": {"exact", "pattern", "folding", "cutting", "construct", "words", "certificate", "tasks", "hunt"},
        "kernel": {"kernel"},
    }
    checked = 0
    for path in ALL:
        folder = path.relative_to(VERIFY).parts[0]
        if folder in may:
            for name in imported(path):
                if name.startswith("verify.") and name not in ("verify.room", "verify.errors", "verify.version"):
                    assert name.split(".")[1] in may[folder], f"{path} imports {name}"
                    checked += 1
    assert checked >= 60


def test_no_document_text_is_evaluated() -> None:
    for path in ALL:
        calls = [n for n in imported(path) if n in ("eval()", "exec()", "compile()", "__import__()")]
        assert not calls, path


HOOK = """
import sys
allowed = set(sys.stdlib_module_names) | {"verify"}
class Guard:
    def find_spec(self, name, path=None, target=None):
        parts = name.split(".")
        inside = parts[0] != "verify" or len(parts) == 1 or parts[1] in ("kernel", "version")
        if parts[0] not in allowed or not inside:
            raise ImportError(f"forbidden: {name}")
sys.meta_path.insert(0, Guard())
from verify.kernel.__main__ import main
status = main(sys.argv[1:])
main_modules = ("__main__", "__mp_main__")
print(sorted(m for m in sys.modules if m.split(".")[0] not in sys.stdlib_module_names and m not in main_modules))
sys.exit(status)
"""


@pytest.mark.parametrize("name", ["certified/star.toml", "refuted/trapped-panel.toml"])
def test_what_the_kernel_imports_when_it_runs(name: str, proofs: Path, root: Path, tmp_path: Path) -> None:
    result = verify.certify(proofs / name)
    certificate = tmp_path / "c.json"
    certificate.write_text(json.dumps(result.certificate))
    done = subprocess.run(
        [sys.executable, "-S", "-c", HOOK, str(proofs / name), str(certificate)],
        cwd=root,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
        env={},
    )
    assert done.returncode == 0, done.stdout + done.stderr
    *told, modules = done.stdout.splitlines()
    keys = json.loads("\n".join(told))
    assert (keys["accepted"], keys["proves"]) == (True, result.verdict)
    listed = ast.literal_eval(modules)
    assert len(listed) >= 10
    allowed = ("verify", "verify.version")  # `verify` names its version, and imports nothing else
    assert all(m in allowed or m.startswith("verify.kernel") for m in listed if not m.startswith("_")), listed


def test_the_kernel_has_at_most_1600_lines_of_code() -> None:
    sizes = {path.name: measured(path.read_text(encoding="utf-8"))[1] for path in KERNEL}
    assert 600 < sum(sizes.values()) <= 1600, sizes


def test_the_count_of_lines() -> None:
    text = (
        '"""Doc.\n\nMore.\n"""\n\n# comment\nx = (\n    1,  # one\n\n)\n\n\n'
        'def f():\n    """Doc."""\n    return """a\n\nb"""\n'
    )
    assert measured(text) == (17, 3 + 1 + 3)


def test_no_assert_in_the_package() -> None:
    found = [f"{path}:{node.lineno}" for path in ALL for node in nodes(path) if isinstance(node, ast.Assert)]
    assert len(ALL) >= 40
    assert not found


def test_optimised_python_gives_the_same_verdicts(root: Path, proofs: Path) -> None:
    names = ["certified/kite.toml", "refuted/trapped-panel.toml", "refuted/cut-misses-by-a-hair.toml"]
    done = subprocess.run(
        [sys.executable, "-O", "-m", "verify.cli", "certify", "--json", *(str(proofs / name) for name in names)],
        cwd=root,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.returncode == 1, done.stderr
    verdicts = [one["verdict"] for one in json.loads(done.stdout)["documents"]]
    assert verdicts == [name.partition("/")[0] for name in names]
