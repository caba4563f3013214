"""How the kernel stands up to attack, in numbers, as a table in Markdown.

    python benchmarks/adversary.py [--rounds 2000] [--long] [--write]

With --write the table goes into benchmarks/resistance.md. Everything is counted in this run: what is accepted and
refused, strawman kernels and corrupted producers caught, fuzzed inputs, and the comparisons of two independent methods
(`tests/brute`). `benchmarks/mutants.py` counts mutants of the kernel, `benchmarks/fuzz.py` guided fuzzing.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from contextlib import redirect_stdout
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

import pytest

from benchmarks.page import put_table
from tests.adversary import test_checks, test_fuzz, test_producer, test_rejected
from tests.adversary.corpus import FILES, PROOFS, accepted, edits
from tests.adversary.roads import IMPORTED
from verify.tasks.certify import KernelRefused


class Comparisons:
    """Counts the tests that compare two independent methods, and those in which they disagree."""

    def __init__(self) -> None:
        self.made = self.disagree = 0

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        self.made += report.when == "call" and not report.skipped
        self.disagree += report.failed


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--rounds", type=int, default=2_000, help="fuzzed inputs of each kind")
    parser.add_argument("--long", action="store_true", help="all comparisons of the two methods (many minutes)")
    parser.add_argument("--write", action="store_true", help="put the table into benchmarks/resistance.md")
    arguments = parser.parse_args()
    rounds = arguments.rounds
    start = time.monotonic()
    good = accepted()
    held = sum(test_rejected.true_kernel(d, c.read_bytes()).accepted for d, c in good)
    refused = sum(test_rejected.refusal(e) == e["code"] for e in edits())
    refused += sum(
        test_rejected.true_kernel(PROOFS / d, (PROOFS / "rejected" / "files" / n).read_bytes()).code == code
        for n, (d, code) in FILES.items()
    )
    straw = [test_rejected.accept_all, test_rejected.reject_all, test_rejected.parse_only, test_rejected.digest_only]
    caught = sum(test_rejected.mistakes(kernel) > 0 for kernel in straw)
    lenient = 0
    for code in test_rejected.CHECKS:
        chosen = [e for e in edits() if e["code"] == code][:6]
        with test_rejected.without(code, pytest.MonkeyPatch()):
            lenient += any(test_rejected.refusal(e) != code for e in chosen)
    alone = sum(test_checks.caught(*check) for check in test_checks.CHECKS)
    producers = 0
    for corrupt in test_producer.CORRUPTIONS.values():
        with pytest.MonkeyPatch.context() as patch:
            corrupt(patch)
            producers += "kernel" in test_producer.outcomes().values()
    with tempfile.TemporaryDirectory() as folder:
        understood = test_fuzz.fuzz_documents(rounds, 7) + test_fuzz.fuzz_svg(rounds, 7, Path(folder))
    still = test_fuzz.fuzz_kernel(rounds, 7)
    roads = Comparisons()
    with redirect_stdout(sys.stderr):
        pytest.main(
            [
                "-q",
                "-p",
                "no:cacheprovider",
                *IMPORTED,
                str(PROOFS.parent / "tests" / "brute"),
                *["--long"] * arguments.long,
            ],
            plugins=[roads],
        )
    if not roads.made:
        sys.exit("the comparisons of the two methods did not run")
    lines = [
        "| what | of | how many |\n|---|---|---|",
        f"| certificates of the corpus accepted | {len(good)} | {held} |",
        f"| edits and files refused, each with its code | {len(edits()) + len(FILES)} | {refused} |",
        f"| strawman kernels caught | {len(straw)} | {caught} |",
        f"| kernels without the checks of one code caught | {len(test_rejected.CHECKS)} | {lenient} |",
        f"| kernels without one line that can fail caught | {len(test_checks.CHECKS)} | {alone} |",
        f"| corrupted producers refused | {len(test_producer.CORRUPTIONS)} | {producers} |",
        (
            f"| fuzzed inputs without a crash ({understood} documents and drawings still understood, {still} "
            f"certificates still true) | {3 * rounds:,} | {3 * rounds:,} |"
        ),
        (
            f"| comparisons of two independent methods for the layer orders, disagreements found | {roads.made} | "
            f"{roads.disagree} |"
        ),
    ]
    print("\n".join(lines))
    if arguments.write:
        put_table(PROOFS.parent / "benchmarks" / "resistance.md", "\n".join(lines), "adversary")
    print(f"\n{time.monotonic() - start:.0f} s")
    return 0


if __name__ == "__main__":
    try:
        sys.exit(main())
    except KernelRefused as error:
        sys.exit(f"the control failed: {error}")
