"""Whether the kernel of this checkout is told apart from the true one: exit status 1 if it is, 0 if it survives.

    python -m tests.adversary.judge ROADS MODULE LINE

A kernel with a changed line is asked the cases that come by that line (`tests/adversary/roads.py`) and, if no answer
differs, run through the tests that do; if none does, as with a constant of a module, through all. It runs under limits
of time and memory: a kernel that does not end, or eats the machine, is told apart too.
"""

from __future__ import annotations

import resource
import signal
import sys
from pathlib import Path

from .roads import OPTIONS, ROOT, Roads, answer

CASES_SECONDS, TESTS_SECONDS, MEMORY = 15, 150, 3 << 30


def end_after(seconds: float) -> None:
    """End this process, with a status that is not 0, when it has worked for so long; a busy machine makes no odds."""
    signal.setitimer(signal.ITIMER_PROF, seconds)


def main(path: str, module: str, line: str) -> int:
    end_after(CASES_SECONDS)
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    roads, place = Roads.read(Path(path)), (module, int(line))
    if any(answer(*case[:3]) != case.answer for case in roads.cases_by(place)):
        return 1
    import pytest

    end_after(TESTS_SECONDS)
    status = pytest.main([*OPTIONS, *(str(ROOT / test) for test in roads.tests_by(place))])
    never_ran = status in (pytest.ExitCode.USAGE_ERROR, pytest.ExitCode.NO_TESTS_COLLECTED)
    return 0 if never_ran else int(status)  # a test that did not run tells nothing apart


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
