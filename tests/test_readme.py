"""README says what is true: its documents, its Python, and its two commands."""

from __future__ import annotations

import re
from importlib import import_module
from pathlib import Path

import pytest

import verify
from verify.cli import MODULES, main
from verify.tasks.explain import summary

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")


def blocks(language: str) -> list[str]:
    return re.findall(rf"```{language}\n(.*?)```", README, re.S)


@pytest.mark.parametrize("number", [0, 1])
def test_its_documents_are_certified(number: int, tmp_path: Path) -> None:
    path = tmp_path / "document.toml"
    path.write_text(blocks("toml")[number], encoding="utf-8")
    result = verify.certify(path)
    assert result.verdict == "certified"
    assert result.cutting is not None
    assert result.cutting.most_layers == 8


def test_there_are_two_documents() -> None:
    assert len(blocks("toml")) == 2


def test_its_python_runs(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "proofs").symlink_to(ROOT / "proofs")
    (code,) = blocks("python")
    names: dict[str, object] = {}
    exec(compile(code, "README.md", "exec"), names)
    result = names["result"]
    assert isinstance(result, verify.Result)
    assert result.verdict == "certified"
    assert verify.audit("proofs/certified/sail-3-4-5.toml", result.certificate or {}).accepted
    assert verify.count("proofs/certified/map-3x3.toml").orders == 1368
    assert verify.load("ring.json").statement_sha256 == verify.load("proofs/certified/ring.toml").statement_sha256


def test_what_it_prints_of_the_star(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    shown = re.search(r"    certified: Regular five-point star\n(.*?)\n\n", README, re.S)
    assert shown is not None
    lines = list(summary(verify.certify("proofs/certified/star.toml")))
    assert [line.strip() for line in shown[0].splitlines() if line.strip()] == [line.strip() for line in lines]


def test_each_command_is_there() -> None:
    named = set(re.findall(r"\| `creaseproof (\w+) ", README))
    assert named == set(MODULES)
    for command, module in MODULES.items():
        import_module(f"verify.cli.{module}")
        assert command in main.commands
    assert set(main.commands) == set(MODULES)
