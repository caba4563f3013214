"""The mutants that are argued are of the kernel as it stands; and the judge of mutants tells a kernel apart that
answers otherwise.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from .roads import KERNEL, PROOFS, ROOT, Roads, traced
from .survivors import argued

TEST = "tests/kernel/test_table.py::test_a_line_that_no_place_lies_on_has_no_ranks"


def test_the_survivors_are_of_the_kernel_as_it_stands() -> None:
    lines = {
        path.name: {line.strip() for line in path.read_text(encoding="utf-8").splitlines()}
        for path in KERNEL.glob("*.py")
    }
    for (module, was, becomes), why in argued().items():
        assert {*was.splitlines()} <= lines[module], (module, was)
        assert was != becomes
        assert why


@pytest.mark.parametrize(
    ("answer", "test", "status"),
    [([], TEST, 0), (["another"], TEST, 1), ([], "tests/kernel/test_table.py::test_that_is_not_there", 0)],
)
def test_the_judge(answer: list[str], test: str, status: int, tmp_path: Path) -> None:
    """A mutant is killed by an answer that differs, and not by a test that did not run."""
    kite = (
        (PROOFS / "certified" / "kite.toml").read_bytes(),
        (PROOFS / "certificates" / "kite.certificate.json").read_bytes(),
        True,
    )
    case = traced(kite)
    line = max(number for module, number in case.lines if module == "check.py")
    path = tmp_path / "roads"
    roads = Roads([case._replace(answer=answer or case.answer)], {("check.py", line): [test]}, [])
    roads.write(path)
    assert Roads.read(path) == roads
    command = [sys.executable, "-m", "tests.adversary.judge", str(path), "check.py", str(line)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == status, done.stdout + done.stderr
    assert ("1 passed" in done.stdout) == (test == TEST and status == 0)
