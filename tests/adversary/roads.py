"""Which cases of the corpus and which tests come by each line of the kernel, with the true kernel's answers.

python -m tests.adversary.roads FILE
"""

from __future__ import annotations

import json
import os
import sys
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from types import FrameType
from typing import Any, NamedTuple

from verify.kernel.check import check_bytes

from .corpus import FILES, PROOFS, accepted, document_of, edited, edits

ROOT = PROOFS.parent
KERNEL = ROOT / "verify" / "kernel"
TESTS = [
    "tests/adversary/test_survivors.py",
    *(
        f"tests/kernel/test_{name}.py"
        for name in (
            "numbers",
            "table",
            "chords",
            "alignments",
            "document",
            "certified",
            "refuted",
            "edits",
            "recipe",
            "hostile",
        )
    ),
]
IMPORTED = ["-W", "ignore::pytest.PytestAssertRewriteWarning"]  # `verify` is imported before pytest is asked to run
# Those left out look for crashes at odd values, not for wrong answers, and take longer than all others.
OPTIONS = [
    "-q",
    "-x",
    "-p",
    "no:cacheprovider",
    "-k",
    "not odd_values and not any_value",
    "--rootdir",
    str(ROOT),
    *IMPORTED,
]

Line = tuple[str, int]  # the name of a module of the kernel, and a line of it


class Case(NamedTuple):
    """Two inputs of the kernel, its answer, and the lines that it ran."""

    document: bytes
    certificate: bytes
    toml: bool
    answer: list[str]
    lines: frozenset[Line]


class Roads(NamedTuple):
    """The cases and the tests of the kernel, each with the lines that it comes by. The tests are functions, by their
    pytest ids.
    """

    cases: list[Case]
    tests: dict[Line, list[str]]
    elsewhere: list[str]  # tests that run the kernel in another process, or not at all

    def write(self, path: Path) -> None:
        cases = [
            (document.hex(), certificate.hex(), toml, answer, sorted(lines))
            for document, certificate, toml, answer, lines in self.cases
        ]
        path.write_text(
            json.dumps(
                {
                    "cases": cases,
                    "tests": [(line, found) for line, found in self.tests.items()],
                    "elsewhere": self.elsewhere,
                }
            )
        )

    @classmethod
    def read(cls, path: Path) -> Roads:
        root = json.loads(path.read_text())
        cases = [
            Case(bytes.fromhex(d), bytes.fromhex(c), toml, answer, frozenset(map(tuple, lines)))
            for d, c, toml, answer, lines in root["cases"]
        ]
        return cls(cases, {tuple(line): found for line, found in root["tests"]}, root["elsewhere"])

    def cases_by(self, line: Line) -> list[Case]:
        return [case for case in self.cases if line in case.lines] or self.cases

    def tests_by(self, line: Line) -> list[str]:
        return [*self.tests[line], *self.elsewhere] if line in self.tests else TESTS


def answer(document: bytes, certificate: bytes, toml: bool) -> list[str]:
    """All that the kernel answers, but for the words of its reason."""
    return [
        str(value) for name, value in vars(check_bytes(document, certificate, toml=toml)).items() if name != "reason"
    ]


def inputs() -> Iterator[tuple[bytes, bytes, bool]]:
    """Every case of the corpus."""
    for document, certificate in accepted():
        yield document.read_bytes(), certificate.read_bytes(), document.suffix == ".toml"
    for name, (base, _) in FILES.items():
        yield (PROOFS / base).read_bytes(), (PROOFS / "rejected" / "files" / name).read_bytes(), True
    for edit in edits():
        document_bytes, toml = document_of(edit)
        yield document_bytes, edited(edit), toml


def traced(case: tuple[bytes, bytes, bool]) -> Case:
    """A case with the kernel's answer and the lines of the kernel that it runs."""
    lines: set[Line] = set()
    home = f"{KERNEL}{os.sep}"

    def trace(frame: FrameType, event: str, _: Any) -> Any:
        path = frame.f_code.co_filename
        if not path.startswith(home):
            return None
        if event == "line":
            lines.add((path, frame.f_lineno))
        return trace

    sys.settrace(trace)
    try:
        result = answer(*case)
    finally:
        sys.settrace(None)
    return Case(*case, result, frozenset((path.removeprefix(home), line) for path, line in lines))


def tests_by_line() -> tuple[dict[Line, list[str]], list[str]]:
    """The tests that come by each line, and those that come by none."""
    import pytest
    from coverage import Coverage

    coverage = Coverage(data_file=None, source=[str(KERNEL)])
    functions: list[str] = []

    class Contexts:
        @pytest.hookimpl(tryfirst=True)
        def pytest_runtest_protocol(self, item: pytest.Item) -> None:
            functions.append(item.nodeid.split("[")[0])
            coverage.switch_context(functions[-1])

    coverage.start()
    status = pytest.main([*OPTIONS, *TESTS], plugins=[Contexts()])
    coverage.stop()
    if status:
        raise RuntimeError("the kernel of this checkout does not pass its own tests")
    data, tests = coverage.get_data(), defaultdict(list)
    for path in KERNEL.glob("*.py"):
        for line, contexts in data.contexts_by_lineno(str(path)).items():
            tests[path.name, line] = [function for function in dict.fromkeys(functions) if function in contexts]
    known = {function for found in tests.values() for function in found}
    return {line: found for line, found in tests.items() if found}, [
        f for f in dict.fromkeys(functions) if f not in known
    ]


def roads() -> Roads:
    """Run the corpus and the tests with the kernel of this checkout, which is taken for the true one."""
    return Roads(sorted(map(traced, inputs()), key=lambda case: len(case.certificate)), *tests_by_line())


if __name__ == "__main__":
    roads().write(Path(sys.argv[1]))
