"""Mutants of the kernel: small changes of its code, one at a time, each told apart by the corpus or by the kernel's
tests, or not.

    python benchmarks/mutants.py [--workers 2] [--seconds 3600] [--sessions FOLDER] [--only MODULE ...]

cosmic-ray (`pip install cosmic-ray coverage`) makes the mutants and keeps the results of each module in a session, so
that a run that is cut short goes on where it stopped; `tests/adversary/judge.py` tells whether a mutant is killed. Each
worker has its own copy of this checkout. Those that survive are compared with `tests/adversary/survivors.toml`, which
says of each why it changes no verdict; the others are printed, and so is what is argued there and yet killed: the
argument does not hold. Takes an hour or two on two cores; judged afresh is only what has changed.
"""

from __future__ import annotations

import argparse
import ast
import hashlib
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from contextlib import ExitStack
from pathlib import Path
from random import Random
from typing import NamedTuple

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from cosmic_ray.commands.init import init
from cosmic_ray.mutating import mutate_and_test
from cosmic_ray.work_db import WorkDB, use_db
from cosmic_ray.work_item import TestOutcome, WorkerOutcome, WorkItem, WorkResult

from benchmarks.page import put_table
from tests.adversary.judge import TESTS_SECONDS
from tests.adversary.roads import ROOT
from tests.adversary.survivors import Mutant, argued

KERNEL = Path("verify", "kernel")  # in each worker's copy
MODULES = sorted(path.name for path in (ROOT / KERNEL).glob("*.py") if not path.name.startswith("__"))
OPERATORS = {  # of cosmic-ray's: those whose mutants are not nearly always a crash, or another's
    "NumberReplacer", "AddNot", "ReplaceAndWithOr", "ReplaceOrWithAnd", "ReplaceTrueWithFalse", "ReplaceFalseWithTrue",
    "ReplaceBreakWithContinue", "ReplaceContinueWithBreak", "ZeroIterationForLoop", "RemoveDecorator",
    *(f"ReplaceUnaryOperator_Delete_{name}" for name in ("Not", "USub", "Invert")),
    *(f"ReplaceComparisonOperator_{pair}" for pair in (
        "Eq_NotEq", "Eq_LtE", "Eq_GtE", "NotEq_Eq", "NotEq_Lt", "NotEq_Gt", "Is_IsNot", "IsNot_Is",
        "Lt_LtE", "Lt_GtE", "LtE_Lt", "LtE_Gt", "Gt_GtE", "Gt_LtE", "GtE_Gt", "GtE_Lt",
    )),
    *(f"ReplaceBinaryOperator_{pair}" for pair in (
        "Add_Sub", "Sub_Add", "Mul_Add", "Div_Mul", "FloorDiv_Mod", "Mod_FloorDiv", "Pow_Mul",
        "BitAnd_BitOr", "BitOr_BitAnd", "BitXor_BitOr", "LShift_RShift", "RShift_LShift",
    )),
}  # fmt: skip


class Task(NamedTuple):
    """A mutant that is not yet judged, and the session it belongs to."""

    item: WorkItem
    session: WorkDB


def annotations(module: str) -> Iterator[tuple[tuple[int, int], tuple[int, int]]]:
    """The stretches of a module's text that are never run, as (line, column)."""
    for node in ast.walk(ast.parse((ROOT / KERNEL / module).read_text(encoding="utf-8"))):
        for part in (getattr(node, "annotation", None), getattr(node, "returns", None)):
            if isinstance(part, ast.expr):
                yield (part.lineno, part.col_offset), (part.end_lineno or 0, part.end_col_offset or 0)


def session_of(module: str, folder: Path) -> Path:
    """The file of a module's session; a module that has changed gets another."""
    digest = hashlib.sha256((ROOT / KERNEL / module).read_bytes()).hexdigest()
    return folder / f"{module.removesuffix('.py')}-{digest[:12]}.sqlite"


def fill(session: WorkDB, module: str) -> None:
    """All mutants of a module into its session; those that are not to be made are marked as skipped."""
    init([KERNEL / module], session, {})
    skipped = WorkResult(worker_outcome=WorkerOutcome.SKIPPED, output="left out")
    stretches = list(annotations(module))
    for item in session.work_items:
        [change] = item.mutations
        still = any(low <= change.start_pos < high for low, high in stretches)
        if still or change.operator_name.removeprefix("core/") not in OPERATORS:
            session.set_result(item.job_id, skipped)


def settle(folder: str) -> None:
    """A worker's own copy of the checkout, in which it works from now on."""
    home = Path(tempfile.mkdtemp(dir=folder))
    for name in ("verify", "tests", "proofs"):
        shutil.copytree(ROOT / name, home / name, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", home)
    os.chdir(home)
    os.environ["PYTHONPATH"] = str(home)


def judged(item: WorkItem, roads: str) -> WorkResult:
    [change] = item.mutations
    command = f"{sys.executable} -m tests.adversary.judge {roads} {change.module_path.name} {change.start_pos[0]}"
    return mutate_and_test(item.mutations, command, 20 * TESTS_SECONDS)  # the judge itself counts working time


def judge_all(tasks: list[Task], workers: int, seconds: float) -> None:
    """Judge the mutants and store the results, for at most so many seconds."""
    waiting, running = tasks[::-1], dict[Future[WorkResult], Task]()
    with (
        tempfile.TemporaryDirectory() as folder,
        ProcessPoolExecutor(workers, initializer=settle, initargs=(folder,)) as pool,
    ):
        roads = str(Path(folder, "roads"))
        subprocess.run(
            [sys.executable, "-m", "tests.adversary.roads", roads], cwd=ROOT, check=True, stdout=subprocess.DEVNULL
        )
        control = [sys.executable, "-m", "tests.adversary.judge", roads, "no-module.py", "0"]
        subprocess.run(
            control, cwd=ROOT, check=True, stdout=subprocess.DEVNULL
        )  # the kernel as it is survives everything
        end = time.monotonic() + seconds
        while running or (waiting and time.monotonic() < end):
            while waiting and len(running) < 2 * workers and time.monotonic() < end:
                task = waiting.pop()
                running[pool.submit(judged, task.item, roads)] = task
            for future in wait(running, return_when=FIRST_COMPLETED).done:
                task = running.pop(future)
                task.session.set_result(task.item.job_id, future.result())
            print(f"\r{len(waiting)} to go ", end="", file=sys.stderr, flush=True)


def mutant(item: WorkItem, result: WorkResult) -> Mutant:
    """What was changed: the module, its lines and what they become."""
    lines = (result.diff or "").splitlines()
    was, becomes = (
        "\n".join(line[1:].strip() for line in lines if line[:1] == sign and line[:3] != 3 * sign) for sign in "-+"
    )
    return Mutant(item.mutations[0].module_path.name, was, becomes)


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    parser.add_argument(
        "--seconds", type=float, default=float("inf"), help="stop after this time; the next run goes on from there"
    )
    parser.add_argument("--sessions", type=Path, default=ROOT / ".mutants", help="where the sessions are kept")
    parser.add_argument("--only", nargs="+", choices=MODULES, default=MODULES, help="these modules")
    parser.add_argument(
        "--write", action="store_true", help="put the table into benchmarks/resistance.md, if all are judged"
    )
    parser.add_argument(
        "--again", action="store_true", help="judge afresh those that survived and are not argued, after new tests"
    )
    arguments = parser.parse_args()
    arguments.sessions.mkdir(exist_ok=True)
    known = argued()
    with ExitStack() as stack:
        sessions, tasks = [], []
        for module in arguments.only:
            path = session_of(module, arguments.sessions)
            new = not path.exists()
            session = stack.enter_context(use_db(path))
            if new:
                fill(session, module)
            sessions.append(session)
            tasks += [Task(item, session) for item in session.pending_work_items]
            if arguments.again:
                survivors = [(i, r) for i, r in session.completed_work_items if r.test_outcome == TestOutcome.SURVIVED]
                tasks += [Task(i, session) for i, r in survivors if mutant(i, r) not in known]
        Random(0).shuffle(tasks)  # what a run that is cut short has judged is a sample of all
        if tasks:
            judge_all(tasks, arguments.workers, arguments.seconds)
        done = [
            (i, r) for s in sessions for i, r in s.completed_work_items if r.worker_outcome != WorkerOutcome.SKIPPED
        ]
        left = sum(len(session.pending_work_items) for session in sessions)
    survived = [mutant(item, result) for item, result in done if result.test_outcome == TestOutcome.SURVIVED]
    killed = {mutant(item, result) for item, result in done if result.test_outcome == TestOutcome.KILLED}
    open_ = [change for change in survived if change not in known]
    for module, was, becomes in open_:
        print(f"survives, not argued: {module}\n    - {was}\n    + {becomes}")
    wrong = killed & known.keys()
    for module, was, becomes in sorted(wrong):
        print(f"killed, yet argued: {module}\n    - {was}\n    + {becomes}")
    row = (
        f"| mutants of the kernel killed (the {len(survived) - len(open_)} others change no answer) | "
        f"{len(done):,} | {len(done) - len(survived):,} |"
    )
    table = f"| what | of | how many |\n|---|---|---|\n{row}"
    print(table)
    if arguments.write and not left:
        put_table(ROOT / "benchmarks" / "resistance.md", table, "mutants")
    if left:
        print(f"\n{left} are not yet judged")
    return 1 if open_ or wrong or left else 0


if __name__ == "__main__":
    sys.exit(main())
