"""What the commands leave behind: nothing that was there is lost, and what is written is there whole."""

from __future__ import annotations

import ast
import dataclasses
import hashlib
import json
import os
import re
import resource
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import Result

import verify
from tests.cli.command import draw_svg, run
from tests.house import nodes
from verify.cli import MODULES, main
from verify.cli.output import CERTIFICATE, CommandFailed, Outputs
from verify.pattern.families import strip
from verify.pattern.files import put
from verify.pattern.write import as_text

BEFORE = b"what was there before\n"


@pytest.fixture
def document(tmp_path: Path) -> Path:
    path = tmp_path / "strip.toml"
    verify.write(strip([3, 1, 3], "MV"), path)
    return path


@pytest.fixture
def recipe(tmp_path: Path, proofs: Path) -> Path:
    path = tmp_path / "window.toml"
    path.write_bytes((proofs / "recipes" / "window-one-fold.toml").read_bytes())
    return path


@pytest.fixture
def target(tmp_path: Path) -> Path:
    path = tmp_path / "sail.toml"
    path.write_text(
        """format = "creaseproof-pattern/1"
[points]
a = [0, 0]
b = [90, 0]
c = [90, 90]
d = [0, 90]
p = [30, 30]
q = [60, 30]
r = [30, 70]
[sheet]
outline = ["a", "b", "c", "d"]
[target]
loops = [["p", "q", "r"]]
"""
    )
    return path


@pytest.fixture
def drawing(tmp_path: Path) -> Path:
    return draw_svg(tmp_path / "pennant.svg", 60, 60, '<path d="M10 10 H50 V50 H10 Z"/>')


@pytest.fixture
def mirror(tmp_path: Path, target: Path) -> Path:
    """A target with a line of symmetry that is the sheet's, too: one that few folds free."""
    path = tmp_path / "mirror.toml"
    path.write_text(target.read_text().replace("r = [30, 70]", "r = [45, 70]"))
    return path


# One call of each command that writes: what it is called with (IN the document, OUT the output), which input it wants,
# and where in OUT the file comes that the test looks at (OUT itself unless it is a folder).
WRITERS = {
    "certify": (["IN", "-o", "OUT"], "document", ""),
    "certify-several": (["IN", "OTHER", "-o", "OUT"], "document", "strip.certificate.json"),
    "construct": (["IN", "-o", "OUT", "--tries", 1], "target", ""),
    "construct-certificate": (["IN", "-o", "FREE", "--certificate", "OUT", "--tries", 1], "target", ""),
    "count": (["IN", "-o", "OUT", "--list", 1], "document", "order-1.toml"),
    "exact": (["IN", "-o", "OUT"], "document", ""),
    "export": (["IN", "-o", "OUT"], "document", ""),
    "export-dxf": (["IN", "-o", "OUT"], "document", ""),
    "fold": (["IN", "-o", "OUT"], "recipe", ""),
    "fold-certificate": (["IN", "--certificate", "OUT"], "recipe", ""),
    "handout": (["IN", "-o", "OUT"], "document", ""),
    "hunt": (["fine-at-every-vertex-folds", "-o", "OUT"], None, "fine-at-every-vertex-folds.toml"),
    "import": (["IN", "-o", "OUT"], "drawing", ""),
    "letters": (["I", "--sheet", "strip", "-o", "OUT"], None, "1-I.toml"),
    "letters-collapse": (["I", "-o", "OUT", "--collapse", "--tries", 1], None, "1-I.toml"),
    "letters-handout": (["I", "--sheet", "strip", "-o", "FOLDER", "--handout", "OUT"], None, ""),
    "picture": (["IN", "-o", "OUT"], "document", "strip.pattern.svg"),
    "recipe": (["IN", "-o", "OUT"], "mirror", ""),
    "recipe-certificate": (["IN", "--certificate", "OUT"], "mirror", ""),
    "report": (["IN", "-o", "OUT"], "document", ""),
    "steps": (["IN", "-o", "OUT"], "document", ""),
    "steps-certificate": (["IN", "--certificate", "OUT"], "document", ""),
    "sweep": (["IN", "-o", "OUT", "--jobs", 1], "document", "sarif.json"),
    "sweep-journal": (["IN", "-o", "OUT", "--jobs", 1], "document", "sweep.jsonl"),
}
NAMES = {
    "export": "out.svg",
    "export-dxf": "out.dxf",
    "handout": "out.pdf",
    "letters-handout": "out.pdf",
    "report": "out.html",
}


class Call:
    """A command called with an output, and the file that it writes there."""

    def __init__(self, name: str, request: pytest.FixtureRequest, folder: Path) -> None:
        self.command = name.partition("-")[0]
        arguments, wanted, inside = WRITERS[name]
        self.input = request.getfixturevalue(wanted) if wanted else None
        self.output = folder / ("out" if inside else NAMES.get(name, "out.json"))
        self.file = self.output / inside if inside else self.output
        other = folder / "other.toml"
        if "OTHER" in arguments:
            verify.write(strip([2, 1, 2], "MV"), other)
        words = {"IN": self.input, "OUT": self.output, "OTHER": other, "FREE": folder / "free.toml", "FOLDER": folder}
        self.arguments = [words.get(a, a) if isinstance(a, str) else a for a in arguments]
        self.file.parent.mkdir(exist_ok=True)

    def __call__(self, *more: object) -> Result:
        return run(self.command, *self.arguments, *more)


@pytest.fixture(params=[name for name in WRITERS if name != "hunt"])
def call(request: pytest.FixtureRequest, tmp_path: Path) -> Call:
    return Call(request.param, request, tmp_path)


def test_every_command_that_writes_is_tried() -> None:
    writers = {name for name in MODULES if any(p.name == "force" for p in _command(name).params)}
    with_output = {
        name
        for name in MODULES
        if any(p.name in ("output", "certificate") and p.opts[0].startswith("-") for p in _command(name).params)
    }
    assert {name.partition("-")[0] for name in WRITERS} == writers == with_output


def _command(name: str):  # type: ignore[no-untyped-def]
    command = main.get_command(None, name)  # type: ignore[arg-type]
    assert command is not None
    return command


def test_a_file_of_another_kind_stays(call: Call) -> None:
    call.file.write_bytes(BEFORE)
    refused = call()
    assert refused.exit_code == 2, refused.output
    assert f"{call.file}: found a file that is not a" in refused.output
    assert "--force" in refused.output
    assert call.file.read_bytes() == BEFORE


def test_an_empty_file_is_replaced(document: Path, tmp_path: Path) -> None:
    out = tmp_path / "out.json"
    out.write_bytes(b"")
    assert run("certify", document, "-o", out).exit_code == 0
    assert out.stat().st_size > 0


def test_a_drawn_target_is_no_pattern(target: Path, drawing: Path, tmp_path: Path) -> None:
    """A target may be work of a hand: what is made of another one does not replace it, nor a made pattern a target."""
    other = tmp_path / "other.toml"
    assert run("import", drawing, "-o", other).exit_code == 0
    before = other.read_bytes()
    refused = run("construct", target, "-o", other, "--tries", 1)
    assert refused.exit_code == 2
    assert f"{other}: found a file that is not a pattern with creases" in refused.output
    assert other.read_bytes() == before
    assert run("import", drawing, "-o", other).exit_code == 0
    assert run("construct", target, "-o", other, "--tries", 1, "--force").exit_code == 0
    made = other.read_bytes()
    refused = run("import", drawing, "-o", other)
    assert refused.exit_code == 2
    assert f"{other}: found a file that is not a target without creases" in refused.output
    assert other.read_bytes() == made


def test_what_a_hand_wrote_or_changed_stays(target: Path, mirror: Path, tmp_path: Path) -> None:
    made = tmp_path / "made.toml"
    for arguments in (("construct", target, "--tries", 1), ("recipe", mirror)):
        made.unlink(missing_ok=True)
        assert run(*arguments, "-o", made).exit_code == 0
        assert run(*arguments, "-o", made).exit_code == 0
        made.write_text("# for the parade\n" + made.read_text())
        before = made.read_bytes()
        refused = run(*arguments, "-o", made)
        assert refused.exit_code == 2
        assert f"{made}: found a document that was written or edited by hand" in refused.output
        assert made.read_bytes() == before
        assert run(*arguments, "-o", made, "--force").exit_code == 0


@pytest.mark.parametrize("edit", ["coordinate", "title"])
def test_an_edit_in_the_same_layout_stays(edit: str, mirror: Path, tmp_path: Path) -> None:
    """The edited document is laid out just as commands write it: only its digest, by hashlib, tells."""
    made = tmp_path / "made.toml"
    assert run("recipe", mirror, "-o", made).exit_code == 0
    first, _, rest = made.read_text().partition("\n")
    assert first.endswith(hashlib.sha256(rest.encode()).hexdigest())
    document = verify.load(made)
    if edit == "title":
        changed = dataclasses.replace(document, title="The lantern of Anna", raw=None)
    else:
        name = next(iter(document.points))
        changed = dataclasses.replace(document, points={**document.points, name: ("91/3", "7/3")}, raw=None)
    made.write_text(first + "\n" + as_text(changed, made))
    assert made.read_text() != first + "\n" + rest
    before = made.read_bytes()
    refused = run("recipe", mirror, "-o", made)
    assert refused.exit_code == 2
    assert f"{made}: found a document that was written or edited by hand" in refused.output
    assert made.read_bytes() == before
    assert run("recipe", mirror, "-o", made, "--force").exit_code == 0
    assert run("recipe", mirror, "-o", made).exit_code == 0


def test_a_document_without_a_digest_is_known_by_its_layout(mirror: Path, tmp_path: Path) -> None:
    made = tmp_path / "made.toml"
    assert run("recipe", mirror, "-o", made).exit_code == 0
    made.write_text(made.read_text().partition("\n")[2])
    assert run("recipe", mirror, "-o", made).exit_code == 0


def test_force_and_its_own_kind_replace_links_are_followed_and_modes_stay(call: Call) -> None:
    call.file.write_bytes(BEFORE)
    forced = call("--force")
    assert forced.exit_code == 0, forced.output
    written = call.file.read_bytes()
    assert written.startswith(BEFORE) == (call.file.name == "sweep.jsonl")  # a journal is added to
    call.file.write_bytes(written.removeprefix(BEFORE))
    assert not [path for path in call.file.parent.iterdir() if path.suffix == ".part"]
    kept = call.file.parent / f"kept{call.file.suffix}"
    call.file.rename(kept)
    kept.chmod(0o600)
    call.file.symlink_to(kept.name)
    before = kept.stat()
    again = call("--fresh") if call.file.name == "sweep.jsonl" else call()
    assert again.exit_code == 0, again.output
    assert call.file.is_symlink()
    assert stat.S_IMODE(kept.stat().st_mode) == 0o600
    assert (kept.stat().st_ino, kept.stat().st_mtime_ns) != (before.st_ino, before.st_mtime_ns)


def test_what_is_no_regular_file_stays(call: Call) -> None:
    os.mkfifo(call.file)
    refused = call("--force")
    assert refused.exit_code == 2, refused.output
    assert f"{call.file}: cannot be written: found a named pipe; expected a regular file" in refused.output
    assert stat.S_ISFIFO(call.file.lstat().st_mode)


@pytest.mark.parametrize("name", [n for n, (a, w, inside) in WRITERS.items() if w and not inside])
def test_what_is_read_is_not_overwritten(name: str, request: pytest.FixtureRequest, tmp_path: Path) -> None:
    call = Call(name, request, tmp_path)
    assert call.input is not None
    before = call.input.read_bytes()
    named = name.startswith(
        ("export", "handout", "report")
    )  # which look at the name, so that only a link can lead back
    if named:
        call.output.symlink_to(call.input)
        output = call.output
    else:
        output = call.input
    for other in (output, tmp_path / "link", tmp_path / "hard"):
        if other.name == "link":
            other.symlink_to(output.name)
        if other.name == "hard":
            os.link(call.input, other)
        if named and other is not output:
            continue
        refused = run(call.command, *(other if a == call.output else a for a in call.arguments))
        assert refused.exit_code == 2, refused.output
        assert "found what this command reads" in refused.output
    assert call.input.read_bytes() == before


def test_a_hunt_is_refused_before_it_begins(tmp_path: Path, request: pytest.FixtureRequest) -> None:
    call = Call("hunt", request, tmp_path)
    for file in (call.file, call.file.with_suffix(".certificate.json")):
        file.write_bytes(BEFORE)
        refused = call()
        assert refused.exit_code == 2
        assert f"{file}: found a file that is not a" in refused.output
        assert file.read_bytes() == BEFORE
        file.unlink()
    assert call("--seconds", 0.001).exit_code == 0
    assert not list(call.output.iterdir())


def test_what_came_while_the_work_was_done_stays(tmp_path: Path) -> None:
    outputs = Outputs()
    path = tmp_path / "proof.json"
    outputs.expect(path, CERTIFICATE)
    path.write_bytes(BEFORE)
    with pytest.raises(CommandFailed, match="found a file that is not a certificate"):
        outputs.write(path, b"{}")
    assert path.read_bytes() == BEFORE


def test_two_outputs_of_one_name(target: Path, recipe: Path, tmp_path: Path) -> None:
    out = tmp_path / "out.json"
    (tmp_path / "again.json").symlink_to(out)
    for command, source in (("construct", target), ("fold", recipe)):
        refused = run(command, source, "-o", out, "--certificate", tmp_path / "again.json")
        assert refused.exit_code == 2
        assert "found two outputs with this name" in refused.output
    assert not out.exists()


def test_it_is_refused_before_the_work_is_done(document: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def never(*_: object, **__: object) -> None:
        raise AssertionError("certified before it was refused")

    for work in ("certify.certified", "exact.run_exact", "fold.run_certify", "picture.certified"):
        monkeypatch.setattr(f"verify.cli.{work}", never)
    taken = tmp_path / "notes.txt"
    taken.write_bytes(BEFORE)
    for output in (taken, tmp_path / "none" / "x.json"):
        for command in ("certify", "report", "handout", "exact", "fold"):
            refused = run(command, document, "-o", output)
            assert refused.exit_code == 2
            assert str(output) in refused.output


def test_a_full_disk_leaves_the_old_file(document: Path, tmp_path: Path, root: Path) -> None:
    out = tmp_path / "proof.json"
    assert run("certify", document, "-o", out).exit_code == 0
    before = out.read_bytes()

    def no_room() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (len(before) // 2, resource.RLIM_INFINITY))

    command = [sys.executable, "-m", "verify.cli", "certify", str(document), "-o", str(out)]
    # nor may the limit cut short what Python itself keeps of the modules that it loads
    environment = os.environ | {"PYTHONDONTWRITEBYTECODE": "1"}
    done = subprocess.run(
        command,
        cwd=root,
        env=environment,
        preexec_fn=no_room,
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    assert done.returncode == 2
    assert "cannot be written: File too large" in done.stderr
    assert out.read_bytes() == before
    assert sorted(p.name for p in tmp_path.iterdir()) == ["proof.json", "strip.toml"]


def test_from_python_too(document: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    pattern = verify.load(document)
    link = tmp_path / "link.toml"
    link.symlink_to(document.name)
    document.chmod(0o640)
    verify.write(pattern, link)
    assert link.is_symlink()
    assert stat.S_IMODE(document.stat().st_mode) == 0o640
    before = document.read_bytes()
    monkeypatch.setattr(os, "fsync", lambda _: (_ for _ in ()).throw(OSError(28, "No space left on device")))
    with pytest.raises(OSError, match="No space left"):
        verify.write(pattern, link)
    assert document.read_bytes() == before
    assert sorted(p.name for p in tmp_path.iterdir()) == ["link.toml", "strip.toml"]


def test_a_new_file_has_the_mode_that_the_shell_asks_for(tmp_path: Path) -> None:
    for mask, mode in ((0o022, 0o644), (0o077, 0o600)):
        old = os.umask(mask)
        try:
            put(tmp_path / f"{mask}", b"x")
        finally:
            os.umask(old)
        assert stat.S_IMODE((tmp_path / f"{mask}").stat().st_mode) == mode


def test_links_that_lead_nowhere(tmp_path: Path) -> None:
    (tmp_path / "to-new").symlink_to("new")
    put(tmp_path / "to-new", b"x")
    assert (tmp_path / "new").read_bytes() == b"x"
    (tmp_path / "round").symlink_to("round")
    (tmp_path / "lost").symlink_to("none/file")
    for name in ("round", "lost"):
        with pytest.raises(OSError):  # noqa: PT011
            put(tmp_path / name, b"x")
        assert (tmp_path / name).is_symlink()


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write everything")
def test_a_protected_file_stays(tmp_path: Path) -> None:
    path = tmp_path / "protected"
    path.write_bytes(BEFORE)
    path.chmod(0o444)
    with pytest.raises(PermissionError):
        put(path, b"x")
    assert path.read_bytes() == BEFORE


def test_a_protected_file_stays_for_whom_the_system_asks(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "protected"
    path.write_bytes(BEFORE)
    monkeypatch.setattr(os, "access", lambda *_: False)
    with pytest.raises(PermissionError, match="Permission denied"):
        put(path, b"x")
    assert path.read_bytes() == BEFORE


def test_a_sweep_does_not_read_what_it_wrote(document: Path, tmp_path: Path) -> None:
    for _ in range(2):
        swept = run("sweep", tmp_path, "-o", tmp_path, "--jobs", 1, "--json")
        assert swept.exit_code == 0, swept.output
        assert [d["document"] for d in json.loads(swept.output)["documents"]] == [str(document)]


def test_nobody_else_writes_files(root: Path) -> None:
    """The writer is the only one; a sweep's journal alone is added to, after the writer has looked at it."""
    found = set()
    for path in sorted((root / "verify").rglob("*.py")):
        for node in nodes(path):
            if isinstance(node, ast.Call) and _writes(node):
                found.add((path.relative_to(root).as_posix(), ast.unparse(node.func)))
    assert found == {
        ("verify/pattern/files.py", "open"),
        ("verify/pattern/files.py", "half.replace"),
        ("verify/pattern/files.py", "half.unlink"),
        ("verify/tasks/sweep.py", "journal.open"),
    }


def _writes(call: ast.Call) -> bool:
    name = call.func.attr if isinstance(call.func, ast.Attribute) else getattr(call.func, "id", "")
    words = [str(a.value) for a in [*call.args, *(k.value for k in call.keywords)] if isinstance(a, ast.Constant)]
    if name == "open":
        return any(re.fullmatch("[rwaxbt+]*[wax+][rwaxbt+]*", word) for word in words)
    if name == "replace":  # of a path, not of a text or of a dataclass
        return len(call.args) == 1 and not call.keywords
    return name in (
        "write_text",
        "write_bytes",
        "unlink",
        "rename",
        "copyfile",
        "copytree",
        "move",
        "rmtree",
        "mkstemp",
    )
