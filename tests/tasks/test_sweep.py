"""Many documents: on processes of our own and on a Dask cluster, stopped and gone on, with workers that die; reports
for CI.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import threading
import time
from collections import Counter
from pathlib import Path
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner, Result

import verify
from tests.families import miura
from tests.places import PROOFS
from verify import cli
from verify.kernel.check import check_files
from verify.pattern.source import JOURNAL
from verify.tasks import sweep as module
from verify.tasks.ci_reports import junit, sarif
from verify.tasks.sweep import Row, Task, sweep, sweep_on_cluster, tasks, work


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Twelve documents of several verdicts, one in a folder below, and files that are none."""
    made = tmp_path / "documents"
    (made / "below").mkdir(parents=True)
    for i in range(8):
        text = (PROOFS / "certified" / "kite.toml").read_text().replace('title = "', f'title = "{i} ')
        (made / f"kite-{i}.toml").write_text(text)
    for name in ("refuted/trapped-panel.toml", "recipes-refused/cubic.toml", "recipes/kite.toml"):
        (made / "below" / f"{Path(name).parent.name}-{Path(name).name}").write_bytes((PROOFS / name).read_bytes())
    (made / "broken.json").write_text("{")
    (made / "x.certificate.json").write_text("{}")
    (made / ".hidden.toml").write_text("?")
    (made / "notes.txt").write_text("?")
    return made


def run(*arguments: object) -> Result:
    return CliRunner().invoke(cli.main, ["sweep", *map(str, arguments)])


VERDICTS = {"certified": 9, "refuted": 1, "malformed": 1, "unsupported": 1}


def test_all_documents_once(folder: Path) -> None:
    listed = tasks([folder, folder / "kite-0.toml"])
    assert len(listed) == 12
    rows = list(sweep(listed, 2))
    assert Counter(row.verdict for row in rows) == VERDICTS
    assert sorted(row.document for row in rows) == sorted(task.document for task in listed)


def test_the_command(folder: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    done = run(folder, "-o", out, "--jobs", 2)
    assert done.exit_code == 4, done.output
    assert done.output.splitlines()[-1] == "9 certified, 1 refuted, 1 malformed, 1 unsupported"
    suite = ElementTree.fromstring((out / "junit.xml").read_text())
    assert {k: suite.get(k) for k in ("tests", "failures", "errors", "skipped")} == {
        "tests": "12",
        "failures": "1",
        "errors": "1",
        "skipped": "1",
    }
    report = json.loads((out / "sarif.json").read_text())
    assert report["version"] == "2.1.0"
    (one,) = report["runs"]
    assert {r["ruleId"] for r in one["results"]} <= {r["id"] for r in one["tool"]["driver"]["rules"]}
    assert any(
        r["locations"][0]["physicalLocation"]["artifactLocation"]["uri"].endswith("broken.json") for r in one["results"]
    )
    for row in json.loads(run(folder, "-o", out, "--json").output)["documents"]:
        if row["verdict"] in ("certified", "refuted"):
            certificate = out / "certificates" / f"{row['statement_sha256']}.certificate.json"
            assert check_files(row["document"], str(certificate)).proves == row["verdict"]
    keys = json.loads(run(folder / "kite-0.toml", "--json").output)
    assert (keys["verdict"], keys["counts"]["certified"]) == ("certified", 1)


@pytest.mark.parametrize("name", ["refuted/maekawa.json", "refuted/trapped-panel.toml", "recipes-refused/cubic.toml"])
def test_findings_are_those_of_certify(name: str, tmp_path: Path) -> None:
    """Places and values (maekawa has both), too; the same when the journal has them."""
    reasons = [finding.keys() for finding in verify.certify(PROOFS / name).reasons]
    assert reasons
    for _ in range(2):
        keys = json.loads(run(PROOFS / name, "-o", tmp_path, "--json").output)
        assert keys["documents"][0]["findings"] == reasons


def test_it_goes_on_where_it_was(folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Half a journal, its last line cut short: only the rest is done; an edited document is done again."""
    journal = tmp_path / JOURNAL
    listed = tasks([folder])
    rows = list(sweep(listed, 2, journal))
    lines = journal.read_text().splitlines()
    assert len(lines) == 12
    journal.write_text("\n".join(lines[:6]) + "\n" + lines[6][:40])
    seen = []

    def noted(left: list[Task], jobs: int) -> list[Row]:
        seen.extend(task.document for task in left)
        return [work(task) for task in left]

    monkeypatch.setattr(module, "_in_processes", noted)
    again = list(sweep(listed, 2, journal))
    assert len(seen) == 6
    assert sorted(r.document for r in again) == sorted(r.document for r in rows)
    assert {r.document: r.verdict for r in again} == {r.document: r.verdict for r in rows}
    edited = folder / "kite-3.toml"
    edited.write_text(edited.read_text().replace("3 ", "three "))
    seen.clear()
    list(sweep(tasks([folder]), 2, journal))
    assert seen == [str(edited)]


def _deadly(task: Task) -> Row:
    """Work at which a process dies on one document, always."""
    if task.document.endswith("kite-5.toml"):
        os.kill(os.getpid(), signal.SIGKILL)
    return work(task)


def test_a_process_that_dies_takes_nothing_with_it(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "work", _deadly)
    rows = list(sweep(tasks([folder]), 2))
    assert Counter(row.verdict for row in rows) == VERDICTS | {"certified": 8, "internal": 1}
    assert len({row.document for row in rows}) == len(rows) == 12


def test_a_fault_of_the_program_is_no_verdict(folder: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("the fold is a lie")

    monkeypatch.setattr(module, "certify", broken)
    rows = [work(task) for task in tasks([folder / "kite-0.toml"])]
    assert rows[0].verdict == "internal"
    assert "the fold is a lie" in rows[0].message
    assert "<error" in junit(rows)
    assert json.loads(sarif(rows))["runs"][0]["results"][0]["level"] == "error"
    assert run(folder / "kite-0.toml", "--jobs", 1).exit_code == 70


@pytest.mark.filterwarnings("ignore")
def test_a_cluster_that_loses_a_worker(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two workers in processes of their own, one of them killed in the middle: every document once, the verdicts the
    same.
    """
    distributed = pytest.importorskip("distributed")
    listed = tasks([folder])
    listed = [Task(f"{task.document}#{i}", task.content, task.toml) for i in range(5) for task in listed]
    with distributed.LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None) as cluster:
        killed = []

        def kill() -> None:
            worker = next(iter(cluster.workers.values()))
            killed.append(worker.process.process.pid if hasattr(worker.process, "process") else worker.process.pid)
            os.kill(killed[0], signal.SIGKILL)

        rows = []
        for row in sweep_on_cluster(listed, cluster.scheduler_address):
            rows.append(row)
            if len(rows) == 10:
                threading.Thread(target=kill).start()
        deadline = time.monotonic() + 10
        while not killed and time.monotonic() < deadline:
            time.sleep(0.05)
    assert killed
    assert len(rows) == len({row.document for row in rows}) == 60
    assert Counter(row.verdict for row in rows) == {verdict: 5 * n for verdict, n in VERDICTS.items()}


def test_ctrl_c_says_one_word(tmp_path: Path) -> None:
    """SIGINT goes to all processes of the terminal's foreground group (POSIX), so to the workers, too: one is at work
    then, the others wait. What was done is in the journal.
    """
    verify.write(miura(60, 60), tmp_path / "slow.toml")
    documents = [PROOFS / "certified" / "kite.toml", tmp_path / "slow.toml"]
    command = [sys.executable, "-m", "verify.cli", "sweep", *map(str, documents), "-o", tmp_path / "out", "--jobs", "3"]
    before = signal.signal(signal.SIGINT, signal.default_int_handler)  # what runs in the background may ignore it
    sweeping = subprocess.Popen(command, text=True, stderr=subprocess.PIPE, start_new_session=True)
    signal.signal(signal.SIGINT, before)
    with sweeping:
        journal = tmp_path / "out" / JOURNAL
        deadline = time.monotonic() + 60
        while not (journal.exists() and journal.stat().st_size) and time.monotonic() < deadline:
            time.sleep(0.02)
        os.killpg(sweeping.pid, signal.SIGINT)
        try:
            said = sweeping.communicate(timeout=60)[1]
        finally:
            if sweeping.poll() is None:
                os.killpg(sweeping.pid, signal.SIGKILL)
    assert (sweeping.returncode, said) == (130, "stopped\n")
    assert len(journal.read_text().splitlines()) == 1


def test_workers_end_with_the_process_that_is_killed(tmp_path: Path) -> None:
    """A job that runs out of time is killed; no worker may outlive it. Each holds the pipe open, which ends with the
    last of them (pipe(7)).
    """
    verify.write(miura(60, 60), tmp_path / "slow.toml")
    documents = [PROOFS / "certified" / "kite.toml", tmp_path / "slow.toml"]
    command = [sys.executable, "-m", "verify.cli", "sweep", *map(str, documents), "-o", tmp_path / "out", "--jobs", "3"]
    with subprocess.Popen(command, stderr=subprocess.PIPE, start_new_session=True) as sweeping:
        journal = tmp_path / "out" / JOURNAL
        deadline = time.monotonic() + 60
        while not (journal.exists() and journal.stat().st_size) and time.monotonic() < deadline:
            time.sleep(0.02)
        sweeping.kill()
        try:
            sweeping.communicate(timeout=60)
        except subprocess.TimeoutExpired:
            os.killpg(sweeping.pid, signal.SIGKILL)
            raise


def test_a_file_that_cannot_be_read_stops_no_others(tmp_path: Path) -> None:
    (tmp_path / "kite.toml").write_bytes((PROOFS / "certified" / "kite.toml").read_bytes())
    (tmp_path / "long.json").write_text(" " * 5_000_000)
    (tmp_path / "gone.toml").symlink_to(tmp_path / "nowhere")
    swept = run(tmp_path)
    assert swept.exit_code == 2
    assert f"{tmp_path}/long.json: found 5,000,000 bytes; expected at most 4,194,304\n" in swept.output
    assert f"{tmp_path}/gone.toml: found no such file; expected a readable file\n" in swept.output
    assert swept.output.endswith("1 certified, 2 malformed\n")
    assert run(tmp_path / "long.json").output.startswith("malformed: ")


def test_nothing_to_do(tmp_path: Path) -> None:
    empty = run(tmp_path)
    assert (empty.exit_code, empty.output) == (
        2,
        f"malformed: {tmp_path}: found no document; expected files named *.toml or *.json\n",
    )
    assert run(tmp_path / "missing.toml").exit_code == 2


def test_a_path_that_is_not_there_is_one_answer(tmp_path: Path) -> None:
    refused = run(tmp_path / "none", "--json")
    assert refused.exit_code == 2
    keys = json.loads(refused.output)
    assert keys["document"] == str(tmp_path / "none")
    (finding,) = keys["findings"]
    assert (finding["kind"], finding["value"]["found"]) == ("malformed", "no such file")


def test_no_fix_for_a_file_that_has_changed_since(tmp_path: Path) -> None:
    """A fix replaces the whole file: in one that was written meanwhile it would undo that."""
    path = tmp_path / "trapped.toml"
    path.write_bytes((PROOFS / "refuted" / "trapped-panel.toml").read_bytes())
    rows = list(sweep([path]))
    fixed = json.loads(sarif(rows))["runs"][0]["results"][0]
    assert len(fixed["fixes"]) == 2
    path.write_text(path.read_text() + "\n")
    changed = json.loads(sarif(rows))["runs"][0]["results"][0]
    assert not changed.get("fixes")
