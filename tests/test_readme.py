"""README and the pages that it leads to say what is true: documents, Python, output, commands, links."""

from __future__ import annotations

import re
from importlib import import_module
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

import verify
from tests.places import ROOT
from verify.cli import MODULES, main

README = (ROOT / "README.md").read_text(encoding="utf-8")
COMMANDS = (ROOT / "proofs" / "commands.md").read_text(encoding="utf-8")
WRITING = (ROOT / "proofs" / "writing.md").read_text(encoding="utf-8")
PAGES = ("README.md", "DEVELOPERS.md", "proofs/README.md", "proofs/writing.md", "proofs/commands.md",
    "proofs/findings.md", "proofs/alphabet/README.md",
         "benchmarks/resistance.md", "benchmarks/speed.md")  # fmt: skip


def blocks(page: str, language: str) -> list[str]:
    return re.findall(rf"```{language}\n(.*?)```", page, re.S)


@pytest.mark.parametrize(
    ("text", "layers"),
    [*((text, 8) for text in blocks(WRITING, "toml")), *((text, 4) for text in blocks(README, "toml"))],
)
def test_its_documents_are_certified(text: str, layers: int, tmp_path: Path) -> None:
    path = tmp_path / "document.toml"
    path.write_text(text, encoding="utf-8")
    result = verify.certify(path)
    assert result.verdict == "certified"
    assert result.cutting is not None
    assert result.cutting.most_layers == layers


def test_there_are_documents() -> None:
    assert (len(blocks(README, "toml")), len(blocks(WRITING, "toml"))) == (1, 2)


def test_it_is_short() -> None:
    assert len(README.splitlines()) <= 160
    assert max(map(len, README.splitlines())) <= 120


def test_its_python_runs(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "proofs").symlink_to(ROOT / "proofs")
    (code,) = blocks(README, "python")
    assert "import verify as creaseproof" in code
    names: dict[str, object] = {}
    exec(compile(code, "README.md", "exec"), names)
    result = names["result"]
    assert isinstance(result, verify.Result)
    assert result.verdict == "certified"
    assert verify.audit("proofs/certified/sail-3-4-5.toml", result.certificate or {}).accepted
    assert verify.count("proofs/certified/map-3x3.toml").orders == 1368
    assert verify.load("ring.json").statement_sha256 == verify.load("proofs/certified/ring.toml").statement_sha256


def test_the_way_from_a_drawing_to_pages_to_print(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Its three commands, one after the other, on its own drawing; what it quotes is what they print."""
    monkeypatch.chdir(tmp_path)
    (drawing,) = blocks(README, "svg")
    Path("house.svg").write_text(drawing, encoding="utf-8")
    commands = re.findall(r"^    creaseproof ((?:letters|recipe|handout) .*)$", README, re.M)
    assert [command.split()[0] for command in commands] == ["letters", "recipe", "handout"]
    said = {command.split()[0]: CliRunner().invoke(main, command.split()) for command in commands}
    assert {name: done.exit_code for name, done in said.items()} == {"letters": 0, "recipe": 0, "handout": 0}
    shown = re.search(r"    certified: house\n(.*?)\n\n", README, re.S)
    assert shown is not None
    assert " ".join(said["recipe"].output.split()).startswith(" ".join(shown[0].split()))
    assert "3 folds: no recipe of simple folds is shorter" in said["recipe"].output
    assert "one fold for this house" in README
    assert "\n  1 fold: no recipe" in CliRunner().invoke(main, ["recipe", "house.svg", "--edges"]).output
    assert Path("mia.pdf").read_bytes().startswith(b"%PDF-")
    assert Path("house.pdf").read_bytes().startswith(b"%PDF-")


def test_its_picture_is_there() -> None:
    assert "](proofs/letter-m.png)" in README
    assert (ROOT / "proofs" / "letter-m.png").read_bytes().startswith(b"\x89PNG")


def test_listings_are_what_comes(monkeypatch: pytest.MonkeyPatch) -> None:
    """But for where lines are broken."""
    monkeypatch.chdir(ROOT)
    listings = re.findall(r"^    \$ creaseproof (.*)\n((?:    [^$].*\n)+)", COMMANDS, re.M)
    assert [command.split()[0] for command, _ in listings] == ["certify", "count"]
    for command, shown in listings:
        assert CliRunner().invoke(main, command.split()).output.split() == shown.split(), command


@pytest.mark.parametrize("option", ["--json", "--seconds"])
def test_commands_without_a_shared_option_are_named(option: str) -> None:
    named = re.search(rf"^- `{option}[^`]*` \(all but (.*?)\)", COMMANDS, re.M | re.S)
    assert named is not None
    without = {name for name in MODULES if not any(option in one.opts for one in params(name))}
    assert set(re.findall(r"`(\w+)`", named[1])) == without


def params(name: str) -> list[click.Parameter]:
    """The options and arguments of a command."""
    import_module(f"verify.cli.{MODULES[name]}")
    return main.commands[name].params


@pytest.mark.parametrize("name", PAGES)
def test_links_lead_somewhere(name: str) -> None:
    page = ROOT / name
    for target in re.findall(r"\]\(([^)#]+)", page.read_text(encoding="utf-8")):
        if not target.startswith(("http:", "https:")):
            assert (page.parent / target).exists(), target


def test_the_citation_is_of_this_version() -> None:
    assert (
        re.search(r"^version: (.*)$", (ROOT / "CITATION.cff").read_text(encoding="utf-8"), re.M)[1]
        == verify.__version__
    )  # type: ignore[index]


def test_each_command_is_there() -> None:
    named = set(re.findall(r"\| `creaseproof (\w+) ", README))
    assert named == set(MODULES)
    for command, module in MODULES.items():
        import_module(f"verify.cli.{module}")
        assert command in main.commands
        given = re.search(rf"\| `creaseproof {command} ([A-Z ]+\b)", README)
        wanted = [one.make_metavar(click.Context(main)) for one in params(command) if isinstance(one, click.Argument)]
        assert given is not None
        assert given[1].split() == [name.rstrip(".").removesuffix("S") for name in wanted], command
    assert set(main.commands) == set(MODULES)
