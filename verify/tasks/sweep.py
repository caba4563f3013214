"""Many documents on all cores or a Dask cluster; resumable.

Each document is one task: its bytes go out, a `Row` comes back. Rows are appended to a journal as they come, so that a
sweep that was stopped goes on where it was; a row is used again only if the file's bytes and this program's version are
the same. A worker that dies takes nothing with it: its documents are done again, and a document at which workers die
twice is a row of its own, `internal`, never a verdict.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import asdict, dataclass, field
from importlib import import_module
from multiprocessing import get_context, parent_process
from pathlib import Path
from signal import SIG_DFL, SIGINT, signal
from threading import Thread
from typing import Any

from verify.pattern.limits import Limits
from verify.pattern.recipe import read_any
from verify.pattern.source import Malformed, content_of, documents_in, printable
from verify.pattern.write import as_text
from verify.tasks.certify import certify, facts
from verify.tasks.repair import repairs_of, with_repairs
from verify.version import __version__
from verify.words.findings import Finding


@dataclass(frozen=True)
class Task:
    """A document to certify: its name, its bytes, and whether they are TOML; or why its bytes cannot be read."""

    document: str
    content: bytes
    toml: bool
    seconds: float | None = None
    fault: str = ""

    @property
    def key(self) -> str:
        """What a row must agree with to be used again: the bytes, the limit, and the version of this program."""
        return hashlib.sha256(
            repr((self.content, self.toml, self.seconds, self.fault, __version__)).encode()
        ).hexdigest()


@dataclass(frozen=True)
class Row:
    """What came of one document; `internal` is a fault of this program, and says nothing of the document.
    `findings`: the keys of those that fail; `line` of a malformed one.
    """

    document: str
    key: str
    verdict: str
    title: str = ""
    statement_sha256: str | None = None
    claims: tuple[str, ...] = ()
    facts: Mapping[str, Any] = field(default_factory=dict)
    findings: tuple[Mapping[str, Any], ...] = ()
    line: int | None = None
    certificate: Mapping[str, Any] | None = None
    fixes: tuple[tuple[str, str], ...] = ()  # what would mend it, in words, and the document that it makes
    content_sha256: str = ""  # of the bytes that `fixes` are for

    @property
    def failures(self) -> tuple[tuple[str, str, str], ...]:
        """Check, kind and message of each finding."""
        return tuple((f["check"], f["kind"], f["message"]) for f in self.findings)

    @property
    def message(self) -> str:
        """The first failure, on one line."""
        return self.findings[0]["message"] if self.findings else ""


def tasks(paths: Iterable[str | Path], seconds: float | None = None) -> list[Task]:
    """The documents named and those in the folders named, all the way down; certificates and hidden files are left out.
    Raises `Malformed` for a path that is named and cannot be read; a file in a folder is then a task with a `fault`.
    """
    found: dict[Path, Task] = {}
    for path in map(Path, paths):
        if path.is_dir():
            found |= {one: _task_of(one, seconds) for one in documents_in(path) if one not in found}
        else:
            found[path] = Task(str(path), *content_of(path), seconds)
    return list(found.values())


def _task_of(path: Path, seconds: float | None) -> Task:
    try:
        return Task(str(path), *content_of(path), seconds)
    except Malformed as error:
        return Task(str(path), b"", False, seconds, _fault(error))


def _fault(error: Malformed) -> str:
    """What the error says, without the name of the file."""
    return str(error).removeprefix(f"{printable(error.source)}: ")


def work(task: Task) -> Row:
    """Certify one document. Never raises: what this program did wrong is a row too."""
    if task.fault:
        return _malformed(task, task.fault)
    try:
        document = read_any(task.content, source=task.document, toml=task.toml)
        limits = Limits(seconds=task.seconds)
        result = certify(document, limits)
        repairs = repairs_of(result, limits)
        mended = with_repairs(result, limits, repairs)
    except Malformed as error:
        return _malformed(task, _fault(error), error.line)
    except Exception as error:
        return _internal(task, type(error).__name__, f"{type(error).__name__}: {error}")
    words = [printable(f.message) for f in mended.findings if f.check == "repair"]
    fixes = [as_text(r.document, task.document) for r in repairs]
    return Row(
        task.document,
        task.key,
        result.verdict,
        printable(result.document.title),
        result.statement_sha256,
        result.claims,
        facts(result),
        tuple(f.keys() | {"message": printable(f.message)} for f in result.reasons),
        certificate=result.certificate,
        fixes=tuple(zip(words, fixes, strict=True)),
        content_sha256=hashlib.sha256(task.content).hexdigest(),
    )


def _malformed(task: Task, message: str, line: int | None = None) -> Row:
    failure = Finding("document", "malformed", "fails", message)
    return Row(task.document, task.key, "malformed", findings=(failure.keys(),), line=line)


def _internal(task: Task, kind: str, message: str) -> Row:
    """The row of a document at which this program failed."""
    failure = Finding("internal", kind, "fails", printable(f"internal error: {message}"))
    return Row(task.document, task.key, "internal", findings=(failure.keys(),))


def sweep(
    listed: Iterable[Task | str | Path], jobs: int = 1, journal: Path | None = None, *, seconds: float | None = None
) -> Iterator[Row]:
    """The rows of many documents (`listed`: tasks, or files and folders, see `tasks`; of these within `seconds` each)
    as they are done, in `jobs` processes; first those that a journal, to which others are added, has of the same bytes,
    limit and version. Raises `Malformed` for a path that cannot be read.
    """
    wanted = [task for one in listed for task in ([one] if isinstance(one, Task) else tasks([one], seconds))]
    yield from _journaled(wanted, journal, lambda left: _in_processes(left, jobs))


def sweep_on_cluster(listed: Sequence[Task], address: str, journal: Path | None = None) -> Iterator[Row]:
    """The same on the workers of an existing Dask cluster that have this package; documents of a lost one are done
    again (by Dask's own rule up to three times).
    """
    yield from _journaled(listed, journal, lambda left: _on_cluster(left, address))


def _journaled(
    listed: Sequence[Task], journal: Path | None, run: Callable[[Sequence[Task]], Iterator[Row]]
) -> Iterator[Row]:
    known = _read(journal)
    left = []
    for task in listed:
        row = known.get((task.document, task.key))
        if row is None:
            left.append(task)
        else:
            yield row
    if journal is None:
        yield from run(left)
        return
    journal.parent.mkdir(parents=True, exist_ok=True)
    cut_short = journal.exists() and not journal.read_bytes().endswith(b"\n")
    with journal.open("a", encoding="utf-8") as out:
        out.write("\n" * cut_short)
        for row in run(left):
            if row.verdict != "internal":
                out.write(json.dumps(asdict(row)) + "\n")
                out.flush()
            yield row


def _read(journal: Path | None) -> dict[tuple[str, str], Row]:
    """The rows of a journal; a line cut short by a crash is left out."""
    rows: dict[tuple[str, str], Row] = {}
    if journal is None or not journal.exists():
        return rows
    for line in journal.read_text(encoding="utf-8").splitlines():
        try:
            keys = json.loads(line)
            keys["claims"] = tuple(keys["claims"])
            keys["findings"] = tuple(keys["findings"])
            keys["fixes"] = tuple(tuple(f) for f in keys.get("fixes", ()))
            row = Row(**keys)
        except (ValueError, TypeError, KeyError):
            continue
        rows[row.document, row.key] = row
    return rows


def _ready_to_end() -> None:
    """In a worker: be silent at Ctrl-C, and end when the process that started it has ended, even if it was killed."""
    signal(SIGINT, SIG_DFL)
    Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def _in_processes(listed: Sequence[Task], jobs: int) -> Iterator[Row]:
    """In processes of our own. Documents under way when one dies are done again, one at a time."""
    waiting, suspects = list(reversed(listed)), list[Task]()
    while waiting or suspects:
        alone = bool(suspects)
        with ProcessPoolExecutor(1 if alone else jobs, get_context("fork"), _ready_to_end) as pool:
            running: dict[Future[Row], Task] = {}
            source = suspects if alone else waiting
            broken = False
            while (source or running) and not broken:
                while source and len(running) < (1 if alone else 2 * jobs):
                    task = source.pop()
                    running[pool.submit(work, task)] = task
                done, _ = wait(running, return_when=FIRST_COMPLETED)
                for future in done:
                    task = running.pop(future)
                    try:
                        yield future.result()
                    except BrokenProcessPool:
                        broken = True
                        if alone:
                            yield _internal(task, "died", "the process that worked on this document died twice")
                        else:
                            suspects.append(task)
            if broken and not alone:
                suspects.extend(running.values())


def _on_cluster(listed: Sequence[Task], address: str) -> Iterator[Row]:
    distributed: Any = import_module("distributed")  # untyped
    with distributed.Client(address) as client:
        futures = {client.submit(work, task, key=f"{task.key}-{i}", pure=False): task for i, task in enumerate(listed)}
        for future in distributed.as_completed(futures):
            task = futures[future]
            error = future.exception()
            if error is None:
                yield future.result()
            else:
                yield _internal(task, type(error).__name__, str(error))
