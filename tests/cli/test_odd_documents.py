"""Small documents that leave out what others have: whatever a command says of them, it is no internal error."""

from __future__ import annotations

import shlex
from pathlib import Path

import pytest

from tests.cli.command import run

PATTERN = """format = "creaseproof-pattern/1"
points = { a = [0, 0], b = [10, 0], c = [0, 10], d = [5, 5] }
sheet = { outline = ["a", "b", "c"] }
"""
RECIPE = PATTERN.replace("pattern", "recipe")
CUBIC = 'steps = [{ fold = { points = ["a", "b"], onto = [["b", "c"], ["a", "d"]] }, moves = "a" }]\n'
DOCUMENTS = {
    "a sheet alone": PATTERN,
    "a figure that is the whole sheet": PATTERN + 'target = { loops = [["a", "b", "c"]] }\n',
    "a figure that is one line": PATTERN + 'target = { paths = [["a", "d"]] }\n',
    "more snips than lines": PATTERN + 'target = { paths = [["a", "d"]] }\ncut = { snips = 3 }\n',
    "one flat line": PATTERN + 'creases = [["a", "d", "flat"]]\n',
    "one fold": PATTERN + 'creases = [["a", "d", "either"]]\n',
    "no fold": RECIPE + 'steps = [{ turn = "over" }]\n',
    "no line to cut along": RECIPE + 'steps = [{ turn = "over" }]\ncut = { along = { through = ["a", "a"] } }\n',
    "a fold that is not decided": RECIPE + CUBIC,
    "a fold that turns all over": RECIPE + 'steps = [{ fold = { through = ["a", "b"] }, moves = "c" }]\n',
}
COMMANDS = [
    "certify D --json",
    "explain D",
    "count D",
    "count D --list 2 -o O/orders",
    "steps D -o O/steps.toml --json",
    "exact D -o O/exact.toml --json",
    "exact D -o O/accepted.toml --accept 1",
    "recipe D -o O/recipe.toml --seconds 1",
    "recipe D --near --seconds 1 --json",
    "recipe D --after D --tell all --seconds 1",
    "construct D -o O/construct.toml --seconds 2 --json",
    "construct D -o O/moved.toml --exact --seconds 2",
    "fold D -o O/fold.toml --json",
    "tolerance D --samples 2 --json",
    "picture D -o O/pictures",
    "report D -o O/report.html",
    "handout D -o O/handout.pdf --seconds 1",
    "export D -o O/export.dxf",
    "compare D D --json",
    "sweep D -o O/sweep --json",
    "audit D D --json",
]


@pytest.mark.parametrize("command", COMMANDS)
def test_no_document_is_an_internal_error(command: str, tmp_path: Path) -> None:
    for number, (name, text) in enumerate(DOCUMENTS.items()):
        document, output = tmp_path / f"{number}.toml", tmp_path / f"out-{number}"
        document.write_text(text)
        output.mkdir()
        done = run(*shlex.split(command.replace("D", str(document)).replace("O/", f"{output}/")))
        assert done.exit_code in range(5), (name, done.output)
