"""The command: verdicts, exit statuses, output, and input that cannot be understood."""

from __future__ import annotations

import json
import os
import re
import shlex
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

import verify
from tests.cli.command import run
from tests.families import miura
from tests.profiles import some
from verify.pattern.families import strip
from verify.pattern.recipe import load_any
from verify.pattern.source import Malformed
from verify.tasks import certify as certify_module

SQUARE = """format = "creaseproof-pattern/1"
creases = [["s", "n", "valley"]]
[points]
a = [0, 0]
b = [10, 0]
c = [10, 10]
d = [0, 10]
s = [5, 0]
n = [5, 10]
[sheet]
outline = ["a", "b", "c", "d"]
"""


def replaced(old: str, new: str) -> str:
    if SQUARE.count(old) != 1:
        raise ValueError(old)
    return SQUARE.replace(old, new)


def point(x: str) -> str:
    return SQUARE.replace("[sheet]", f"z = [{x}, 0]\n[sheet]")


def in_json(**changes: Any) -> str:
    keys = {
        "format": "creaseproof-pattern/1",
        "creases": [["s", "n", "valley"]],
        "points": {"a": [0, 0], "b": [10, 0], "c": [10, 10], "d": [0, 10], "s": [5, 0], "n": [5, 10]},
        "sheet": {"outline": ["a", "b", "c", "d"]},
    }
    return json.dumps({k: v for k, v in (keys | changes).items() if v is not None})


HOLES = (
    "h1 = [2, 2]\nh2 = [3, 2]\nh3 = [3, 3]\ni1 = [12, 2]\ni2 = [13, 2]\ni3 = [13, 3]\nj2 = [8, 2]\nk1 = "
    '["9/4", "17/8"]\nk2 = ["11/4", "17/8"]\nk3 = ["11/4", "5/2"]\n[sheet]'
)

# name: (content, parts of what is said of it, in their order: where, found, expected)
IN_TOML: dict[str, tuple[str | bytes, str]] = {
    "TOML that is none": (SQUARE + "a = = 3\n", "column 5 (line 12) … mistake in the TOML … a TOML document"),
    "TOML cut short": (SQUARE[:60], "the end (line 2) … mistake in the TOML … a TOML document"),
    "empty TOML": ("", 'format … nothing … format = "creaseproof-pattern/1"'),
    "not UTF-8, TOML": (b'title = "\xff\xfe"\n' + SQUARE.encode(), "byte 9 … not UTF-8 … text in UTF-8"),
    "a PNG": (b"\x89PNG\r\n\x1a\n", "a PNG picture … a document, or a drawing in SVG"),
    "UTF-16": ("title".encode("utf-16"), "text in UTF-16 … text in UTF-8"),
    "duplicated key, TOML": (
        SQUARE.replace("b = [10, 0]", "b = [10, 0]\na = [1, 1]"),
        "points.a (line 6) … the name a second time … each name once",
    ),
    "duplicated point in one line, TOML": (
        'format = "creaseproof-pattern/1"\npoints = { a = [0, 0], a = [0, 0] }\n',
        "points.a (line 2) … the name a second time … each name once",
    ),
    "duplicated table, TOML": (
        "[points]\na = [0, 0]\n[points]\nb = [1, 0]\n",
        "line 3 … [points] a second time … each table once",
    ),
    "no comma, TOML": ("[points]\na = [0 0]\n", 'column 8 (line 2) … (Unclosed array) … a comma or "]"'),
    "round brackets, TOML": ("[points]\na = (0, 0)\n", "column 5 (line 2) … (Invalid value) … square brackets"),
    "nested too deep, TOML": ("title = " + "[" * 60 + "]" * 60 + "\n" + SQUARE, "nested too deep … at most 50 levels"),
    "nested without end, TOML": ("title = " + "[" * 200_000, "nested … at most 50 levels"),
    "another format": (
        replaced("pattern/1", "pattern/2"),
        'format (line 1) … "creaseproof-pattern/2" … "creaseproof-pattern/1"',
    ),
    "format a number": (replaced('"creaseproof-pattern/1"', "1"), 'format (line 1) … 1 … "creaseproof-pattern/1"'),
    "no format": (
        replaced('format = "creaseproof-pattern/1"\n', ""),
        'format … nothing … format = "creaseproof-pattern/1"',
    ),
    "no outline": (replaced('outline = ["a", "b", "c", "d"]\n', ""), 'sheet.outline … nothing … the key "outline"'),
    "creases below a table": (
        replaced('creases = [["s", "n", "valley"]]\n', "") + 'creases = [["s", "n", "valley"]]\n',
        'sheet.creases (line 11) … unknown key "creases" … stands above the first [table]',
    ),
    "title below a table": (
        SQUARE + 'title = "x"\n',
        'sheet.title (line 12) … unknown key "title" … stands above the first [table]',
    ),
    "unknown key": ('color = "red"\n' + SQUARE, 'color (line 1) … unknown key "color" … one of format, points, sheet'),
    "a table with nearly its name": (
        replaced("[points]", "[point]"),
        'point … unknown key "point" … (perhaps "points")',
    ),
    "a key with nearly its name": (
        replaced("creases =", "crease ="),
        'crease … unknown key "crease" … (perhaps "creases")',
    ),
    "a quotient without quotes": (
        replaced("b = [10, 0]", "b = [30, -60/2]"),
        'column 13 (line 5) … a mistake in the TOML … quotes round an expression: "-60/2"',
    ),
    "a root without quotes": (
        replaced("b = [10, 0]", 'b = [sqrt(100) , "1/2"]  # [1/2, 0]'),
        'column 6 (line 5) … a mistake in the TOML … quotes round an expression: "sqrt(100)"',
    ),
    "the steps of a recipe": (
        'steps = [{ turn = "over" }]\n' + SQUARE,
        'steps (line 1) … unknown key "steps" … (steps go with format = "creaseproof-recipe/1")',
    ),
    "the creases of a pattern": (
        SQUARE.replace("-pattern/1", "-recipe/1"),
        'creases (line 2) … unknown key "creases" … (creases go with format = "creaseproof-pattern/1")',
    ),
    "a name without quotes": (
        replaced('["a", "b", "c", "d"]', '[a, "b", "c", "d"]'),
        'column 12 (line 11) … a mistake in the TOML … quotes round a text: "a"',
    ),
    "curly quotes, as a word processor makes them": (
        replaced('["a", "b", "c", "d"]', "[“a”, “b”, “c”, “d”]"),
        'column 12 (line 11) … a mistake in the TOML … straight quotes: "a"',
    ),
    "unknown key in the sheet": (
        SQUARE + "shape = 3\n",
        'sheet.shape (line 12) … unknown key "shape" … outline, holes',
    ),
    "unit unknown": ('unit = "furlong"\n' + SQUARE, 'unit (line 1) … "furlong" … one of mm, cm, m, in'),
    "title a number": ("title = 3\n" + SQUARE, "title (line 1) … 3 … a text"),
    "a point of three numbers": (
        replaced("b = [10, 0]", "b = [10, 0, 0]"),
        "points.b (line 5) … [10, 0, 0] … a pair [x, y]",
    ),
    "a point of one number": (replaced("b = [10, 0]", "b = 10"), "points.b (line 5) … 10 … a pair [x, y]"),
    "a truth value for a number": (replaced("b = [10, 0]", "b = [true, 0]"), "points.b (line 5) … true … a number"),
    "a date for a number": (
        replaced("b = [10, 0]", "b = [2020-01-01, 0]"),
        "points.b (line 5) … 2020-01-01 … a number",
    ),
    "a list for a number": (replaced("b = [10, 0]", "b = [[1], 0]"), "points.b (line 5) … [1] … a number"),
    "nan, TOML": (replaced("b = [10, 0]", "b = [nan, 0]"), "points.b (line 5) … nan"),
    "inf, TOML": (replaced("b = [10, 0]", "b = [-inf, 0]"), "points.b (line 5) … inf"),
    "nan as a text": (point('"nan"'), "points.z (line 10) … nan … a number"),
    "an import": (point("\"__import__('os')\""), "points.z (line 10) … _ … a number"),
    "a call": (point('"exec(1)"'), "points.z (line 10) … exec … a function"),
    "an attribute": (point('"pi.real"'), "points.z (line 10) … pi"),
    "a power": (point('"9**9**9"'), "points.z (line 10) … *"),
    "division by zero": (point('"1/0"'), "points.z (line 10) … 0"),
    "division by a hidden zero": (point('"1/(sqrt(2)*sqrt(2)-2)"'), "points.z (line 10) … 0"),
    "sqrt of a negative": (point('"sqrt(-2)"'), "points.z (line 10) … -2"),
    "sqrt of a hidden negative": (point('"sqrt(1-sqrt(2))"'), "points.z (line 10) … below 0 … not negative"),
    "tan of 90 degrees": (point('"tan(pi/2)"'), "points.z (line 10)"),
    "cos of one": (point('"cos(1)"'), "points.z (line 10) … multiple of pi"),
    "an empty expression": (point('""'), "points.z (line 10) … a number"),
    "parentheses left open": (point('"(1+2"'), "points.z (line 10)"),
    "parentheses too deep": (point('"' + "(" * 60 + "1" + ")" * 60 + '"'), "points.z (line 10) … 50"),
    "a long expression": (point('"' + "1+" * 3000 + '1"'), "points.z (line 10) … 4,000"),
    "10^6 digits in an expression": (point('"' + "7" * 10**6 + '"'), "points.z (line 10)"),
    "10^6 digits, TOML": (point("7" * 10**6), ""),
    "an exponent past the limit": (point("1e99999"), "points.z (line 10) … 1000"),
    "hexadecimal without end": (
        point("0x" + "f" * 10**5),
        "points.z (line 10) … more than 1,000 digits … at most 1,000 digits",
    ),
    "unknown point in a crease": (
        replaced('"s", "n", "valley"', '"s", "north", "valley"'),
        'creases[0] (line 2) … unknown point "north" … a name listed in [points]',
    ),
    "unknown point in the outline": (
        replaced('"c", "d"]', '"c", "e"]'),
        'sheet.outline (line 11) … unknown point "e" … a name listed in [points]',
    ),
    "an outline with its first point last": (
        replaced('["a", "b", "c", "d"]', '["a", "b", "c", "d", "a"]'),
        'sheet.outline (line 11) … "a" first and last … outlines close by themselves',
    ),
    "a target loop with its first point last": (
        SQUARE + '[target]\nloops = [["a", "b", "s", "a"]]\n',
        'target.loops[0] (line 13) … "a" first and last … the last name left out',
    ),
    "a unit behind a number": (point('"30 mm"'), 'points.z … "30 mm" … one unit for all, such as unit = "mm"'),
    "a number for a name": (
        replaced('"s", "n", "valley"', '1, "n", "valley"'),
        "creases[0] (line 2) … 1 … the name of a point",
    ),
    "a kind unknown": (
        replaced('"valley"', '"fold"'),
        'creases[0] (line 2) … the kind "fold" … mountain, valley, either, flat',
    ),
    "a kind that is a list": (
        replaced('"valley"', '["valley"]'),
        'creases[0] (line 2) … the kind ["valley"] … mountain, valley, either, flat',
    ),
    "a crease of two": (
        replaced('"s", "n", "valley"', '"s", "n"'),
        'creases[0] (line 2) … ["s", "n"] … [from, to, kind]',
    ),
    "an outline of two": (
        replaced('["a", "b", "c", "d"]', '["a", "b"]'),
        'sheet.outline (line 11) … ["a", "b"] … at least 3',
    ),
    "zero-length crease": (
        replaced('"s", "n", "valley"', '"s", "s", "valley"'),
        "creases[0] (line 2) … length zero … two different places",
    ),
    "zero-length crease, two names": (
        point("5").replace('"s", "n", "valley"', '"s", "z", "valley"'),
        "creases[0] (line 2) … length zero … two different places",
    ),
    "zero-length target": (
        SQUARE + '[target]\npaths = [["s", "n"], ["n", "n"]]\n',
        "target.paths[1] (line 13) … length zero … two different places",
    ),
    "zero-length side": (
        replaced('["a", "b", "c", "d"]', '["a", "b", "b", "c", "d"]'),
        "sheet.outline (line 11) … meet … does not cross or touch itself",
    ),
    "two folds on one crease": (
        replaced('[["s", "n", "valley"]]', '[["s", "n", "valley"], ["n", "s", "mountain"]]'),
        "creases[1] (line 2) … two folds on one crease … each crease drawn once",
    ),
    "two folds on a part of a crease": (
        point("5")
        .replace("z = [5, 0]", "z = [5, 3]")
        .replace('[["s", "n", "valley"]]', '[["s", "n", "valley"], ["z", "n", "flat"]]'),
        "creases[1] (line 2) … two folds on one crease … each crease drawn once",
    ),
    "crease off the sheet": (
        replaced("n = [5, 10]", "n = [5, 11]"),
        "creases[0] (line 2) … off the sheet … a line on the sheet",
    ),
    "crease along the edge": (
        replaced('"s", "n", "valley"', '"a", "b", "flat"'),
        "creases[0] (line 2) … along the edge of the sheet … inside the sheet",
    ),
    "target off the sheet": (
        replaced("n = [5, 10]", "n = [5, 11]").replace("creases", "#") + '[target]\npaths = [["s", "n"]]\n',
        "target.paths[0] (line 13) … off the sheet … a line on the sheet",
    ),
    "self-crossing outline": (
        replaced('"b", "c", "d"]', '"c", "b", "d"]'),
        "sheet.outline (line 11) … meet … does not cross or touch itself",
    ),
    "self-touching outline": (
        replaced('"c", "d"]', '"c", "s", "d"]'),
        "sheet.outline (line 11) … meet … does not cross or touch itself",
    ),
    "hole outside": (
        SQUARE.replace("[sheet]", HOLES) + 'holes = [["i1", "i2", "i3"]]\n',
        "sheet.holes[0] … a hole outside the sheet … inside the outline",
    ),
    "hole across the outline": (
        SQUARE.replace("[sheet]", HOLES) + 'holes = [["j2", "i2", "i3"]]\n',
        "sheet.holes[0] … meets sheet.outline … do not touch",
    ),
    "hole in a hole": (
        SQUARE.replace("[sheet]", HOLES) + 'holes = [["h1", "h2", "h3"], ["k1", "k2", "k3"]]\n',
        "sheet.holes[1] … a hole inside … beside each other",
    ),
    "hole twice": (
        SQUARE.replace("[sheet]", HOLES) + 'holes = [["h1", "h2", "h3"], ["h1", "h2", "h3"]]\n',
        "sheet.holes[1] … meets sheet.holes[0] … do not touch",
    ),
    "empty target": (SQUARE + "[target]\n", "target … no line … at least one loop or path"),
    "a path of one": (SQUARE + '[target]\npaths = [["s"]]\n', 'target.paths[0] … ["s"] … at least 2'),
    "a cut without a target": (SQUARE + "[cut]\nsnips = 1\n", "cut … a cut without a target … [target]"),
    "no snip": (
        SQUARE + '[target]\npaths = [["s", "n"]]\n[cut]\nsnips = 0\n',
        "cut.snips (line 15) … 0 … a whole number from 1 up",
    ),
    "half a snip": (
        SQUARE + '[target]\npaths = [["s", "n"]]\n[cut]\nsnips = 1.5\n',
        "cut.snips (line 15) … 1.5 … a whole number from 1 up",
    ),
    "true snips": (
        SQUARE + '[target]\npaths = [["s", "n"]]\n[cut]\nsnips = true\n',
        "cut.snips (line 15) … true … a whole number from 1 up",
    ),
}
IN_JSON: dict[str, tuple[str | bytes, str]] = {
    "JSON that is none": ("{\n  'a': 1}", "column 3 (line 2) … mistake in the JSON … a JSON document"),
    "JSON cut short": (in_json()[:-1], "column … line 1 … mistake in the JSON … a JSON document"),
    "JSON of a list": ("[1, 2]", "[1, 2] … a table"),
    "JSON of a number": ("17", "17 … a table"),
    "empty JSON": ("", "column 1 (line 1) … found nothing … a JSON document"),
    "TOML in a JSON file": (SQUARE, "column 1 (line 1) … mistake in the JSON … a JSON document"),
    "not UTF-8, JSON": (b'{"title": "\xe4"}', "byte 11 … not UTF-8 … text in UTF-8"),
    "duplicated key, JSON": (
        in_json()[:-1] + ',\n"format": "creaseproof-pattern/1"}',
        "format (line 2) … the key a second time … each key once",
    ),
    "duplicated point, JSON": (
        in_json().replace('"a": [0, 0]', '"a": [0, 0],\n"a": [0, 0]'),
        "points.a (line 2) … the key a second time … each key once",
    ),
    "nested too deep, JSON": (
        in_json(title="@").replace('"@"', "[" * 60 + "]" * 60),
        "nested too deep … at most 50 levels",
    ),
    "nested without end, JSON": ("[" * 200_000, "nested … at most 50 levels"),
    "no points": (in_json(points=None), 'points … nothing … the key "points"'),
    "no sheet": (in_json(sheet=None), 'sheet … nothing … the key "sheet"'),
    "points a list": (in_json(points=[[0, 0]]), "points (line 1) … [[0, 0]] … a table"),
    "points empty": (in_json(points={}), "points (line 1) … a table … a line name = [x, y] for each point"),
    "a point without a name": (in_json().replace('"s":', '"":', 1), "points … empty name … a name"),
    "null for a number": (in_json().replace("[10, 0]", "[null, 0]"), "points.b (line 1) … nothing … a number"),
    "NaN, JSON": (in_json().replace("[10, 0]", "[NaN, 0]"), "points.b (line 1) … NaN"),
    "Infinity, JSON": (in_json().replace("[10, 0]", "[Infinity, 0]"), "points.b (line 1) … Infinity"),
    "10^6 digits, JSON": (in_json().replace("[10, 0]", f"[{'7' * 10**6}, 0]"), "points.b (line 1)"),
    "10^6 decimals, JSON": (in_json().replace("[10, 0]", f"[0.{'7' * 10**6}, 0]"), "points.b (line 1)"),
    "1001 digits, JSON": (in_json().replace("[10, 0]", f"[{'7' * 1001}, 0]"), "points.b (line 1)"),
    "creases a table": (in_json(creases={"s": "n"}), "creases (line 1) … a table … a list of [from, to, kind]"),
    "a big file": (" " * (4 * 1024 * 1024 + 1), "4,194,305 bytes … at most 4,194,304"),
}
BAD = {case: ("x.toml", *row) for case, row in IN_TOML.items()} | {
    case: ("x.json", *row) for case, row in IN_JSON.items()
}


@pytest.fixture
def bad(case: str, tmp_path: Path) -> Path:
    """The bad document of that name."""
    name, content, _ = BAD[case]
    path = tmp_path / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path


def test_the_untouched_documents_are_certified(tmp_path: Path) -> None:
    for name, text in (("x.toml", SQUARE), ("x.json", in_json()), ("z.toml", point("5"))):
        path = tmp_path / name
        path.write_text(text)
        assert run("certify", path).exit_code == 0


READERS = ("count", "explain", "steps")
WRITERS = {"picture": "pictures", "report": "x.html", "handout": "x.pdf", "export": "x.svg"}


@pytest.mark.parametrize("command", [*READERS, *WRITERS])
@pytest.mark.parametrize("case", some(list(BAD), of=8))
def test_other_commands_say_it_alike(bad: Path, command: str, tmp_path: Path) -> None:
    output = ("-o", tmp_path / f"new-{WRITERS[command]}") if command in WRITERS else ()
    other = run(command, bad, *output)
    assert other.exit_code == 2
    assert other.output.splitlines()[0] == run("certify", bad).output.splitlines()[0]


def test_an_answer_names_what_was_given_where_another_thing_cannot_be_read(
    documents: dict[str, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def unreadable(*_: object, **__: object) -> None:
        raise Malformed("what was made of it", "points.a", "this", "that")

    monkeypatch.setattr("verify.cli.exact.run_exact", unreadable)
    told = run("exact", documents["certified"], "-o", tmp_path / "new.toml", "--json")
    assert told.exit_code == 2
    assert json.loads(told.output)["document"] == str(documents["certified"])


@pytest.mark.parametrize("case", BAD)
def test_malformed(case: str, bad: Path, tmp_path: Path) -> None:
    out = tmp_path / "out.json"
    result = run("certify", bad, "-o", out)
    assert result.exit_code == 2, result.output
    assert not out.exists()
    assert not list(tmp_path.glob("*.part"))
    first = result.output.splitlines()[0]
    assert re.search(".*".join(map(re.escape, BAD[case][-1].split(" … "))), first), first
    assert "Traceback" not in result.output
    assert len(result.output) < 600
    with pytest.raises(Malformed) as caught:
        verify.certify(bad)
    error = caught.value
    assert error.source == str(bad)
    assert error.found
    assert error.expected
    line = f"line {error.line}" if error.line is not None else ""
    where = f"{error.place} ({line})" if error.place and line else error.place or line
    at = f"{bad}: {where}" if where else str(bad)
    assert first == f"malformed: {at}: found {error.found}; expected {error.expected}"
    keys = json.loads(run("certify", "--json", bad).output)
    assert keys["verdict"] == "malformed"
    (finding,) = keys["findings"]
    assert finding["message"] == str(error)
    assert finding["value"] == {"found": error.found, "expected": error.expected, "line": error.line}


def test_directory_and_missing_file(tmp_path: Path) -> None:
    for path in (tmp_path, tmp_path / "none.toml", tmp_path / "none" / "none.json"):
        for command in ("certify", "fold", "recipe", "tolerance", *READERS):
            result = run(command, path)
            assert result.exit_code == 2
            assert result.output.startswith(f"malformed: {path}: found ")
            assert "expected a readable file" in result.output


def test_a_target_loop_that_crosses_itself_is_malformed(tmp_path: Path) -> None:
    path = tmp_path / "x.toml"
    points = "p = [2, 2]\nq = [8, 2]\nr = [2, 8]\ns2 = [8, 8]\n[sheet]"
    path.write_text(SQUARE.replace("[sheet]", points) + '[target]\nloops = [["p", "s2", "q", "r"]]\n')
    result = run("certify", path)
    assert result.exit_code == 2, result.output
    assert "target.loops[0]" in result.output


def test_a_dash_is_no_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Common practice takes it for standard input and output, which no command does."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "x.toml").write_text(SQUARE)
    asked = run("certify", "-")
    assert asked.exit_code == 2
    assert "nothing is read from standard input" in asked.output
    for arguments in (
        ("certify", "x.toml", "-o", "-"),
        ("letters", "I", "-o", "-"),
        ("letters", "I", "-o", "i", "--handout", "-"),
        ("picture", "x.toml", "-o", "-"),
        ("report", "x.toml", "-o", "-"),
    ):
        assert run(*arguments).exit_code == 2
    assert [path.name for path in tmp_path.iterdir()] == ["x.toml"]


def test_a_step_is_counted_from_one_for_people(tmp_path: Path) -> None:
    path = tmp_path / "r.toml"
    recipe = SQUARE.replace("creaseproof-pattern/1", "creaseproof-recipe/1")
    recipe = "\n".join(line for line in recipe.splitlines() if "creases" not in line)
    path.write_text(recipe + '\n[[steps]]\nfold = { through = ["a", "c"] }\nmoves = "b"\n[[steps]]\n')
    said = run("certify", path).output
    assert "step 2, steps[1] (line 14): found nothing in it; expected one of the keys fold, mark" in said


def test_target_loops_may_touch(tmp_path: Path) -> None:
    path = tmp_path / "x.toml"
    points = "p = [2, 2]\nq = [8, 2]\nr = [2, 8]\ns2 = [8, 8]\n[sheet]"
    path.write_text(
        SQUARE.replace("[sheet]", points) + '[target]\nloops = [["p", "q", "r"], ["q", "s2", "r"]]\n[cut]\nsnips = 9\n'
    )
    result = run("certify", path)
    assert result.exit_code == 1, result.output


@pytest.mark.parametrize("text", [in_json(title="\ud800"), in_json(creases=[["s", "\ud800", "valley"]])])
def test_half_a_surrogate_pair(text: str, root: Path, tmp_path: Path) -> None:
    path = tmp_path / "x.json"
    path.write_text(text)
    done = subprocess.run(
        [sys.executable, "-m", "verify.cli", "certify", str(path)],
        cwd=root,
        capture_output=True,
        check=False,
        timeout=60,
    )
    assert done.returncode in (0, 2), done.stderr


@pytest.mark.parametrize("command", ["certify", "explain"])
def test_a_title_cannot_write_a_verdict(command: str, tmp_path: Path) -> None:
    path = tmp_path / "x.json"
    verify.write(strip([3, 1, 3], "VV"), path)
    keys = json.loads(path.read_text()) | {"title": "x\ncertified: y\x1b[2J"}
    path.write_text(json.dumps(keys))
    result = run(command, path)
    assert result.exit_code == 1
    assert not any(line.startswith("certified") for line in result.output.splitlines())
    assert "\x1b" not in result.output


def test_a_fault_in_the_command_line_is_status_2(tmp_path: Path) -> None:
    for arguments in (
        (),
        ("certify",),
        ("certify", "--no-such-option", "x"),
        ("audit", "x"),
        ("certify", "--seconds", "0", "x"),
        ("nonsense",),
    ):
        assert run(*arguments).exit_code == 2
    assert run("--help").exit_code == 0
    assert run("--version").output.strip().endswith(verify.__version__)
    (tmp_path / "x.toml").write_text(SQUARE)
    refused = run("certify", tmp_path / "x.toml", tmp_path / "x.toml", "-o", tmp_path / "x.toml")
    assert refused.exit_code == 2
    assert (tmp_path / "x.toml").read_text() == SQUARE


@pytest.fixture
def documents(tmp_path: Path) -> dict[str, Path]:
    """One document a verdict."""
    paths = {name: tmp_path / f"{name}.toml" for name in ("certified", "refuted", "malformed", "undecided")}
    paths["certified"].write_text(SQUARE)
    verify.write(strip([3, 1, 3], "VV"), paths["refuted"])
    paths["malformed"].write_text("format = 3\n")
    # cos(pi/97) needs a field of degree 48: more than the declared limit
    paths["undecided"].write_text(SQUARE.replace("[points]", '[points]\nfar = ["20*cos(pi/97)", 0]', 1))
    return paths


STATUS = {"certified": 0, "refuted": 1, "malformed": 2, "undecided": 3}


@pytest.mark.parametrize("verdict", STATUS)
def test_exit_status_and_json(verdict: str, documents: dict[str, Path]) -> None:
    result = run("certify", "--json", documents[verdict])
    assert result.exit_code == STATUS[verdict]
    assert result.output.count("\n") == 1
    keys = json.loads(result.output)
    assert keys["verdict"] == verdict
    assert {"verdict", "statement_sha256", "claims", "findings"} <= set(keys)
    for finding in keys["findings"]:
        assert {"check", "kind", "message", "where"} <= set(finding)
        assert isinstance(finding["where"], list)
        assert finding["level"] in ("holds", "fails", "advice", "note", "warning")
        assert finding["message"]
    if verdict == "malformed":
        assert keys["statement_sha256"] is None
        assert keys["claims"] == []
    else:
        assert keys["statement_sha256"] == load_any(documents[verdict]).statement_sha256
        assert keys["claims"] == ["folds-flat"]
    assert any(f["level"] == "fails" for f in keys["findings"]) == (verdict in ("refuted", "malformed"))
    plain = run("certify", documents[verdict])
    assert plain.exit_code == STATUS[verdict]
    assert plain.output.startswith(verdict)


def test_undecided_by_the_clock(tmp_path: Path) -> None:
    path = tmp_path / "open.json"
    verify.write(miura(12, 12, assigned=False), path)
    result = run("certify", "--seconds", "0.001", path, "--json", "-o", tmp_path / "out.json")
    assert result.exit_code == 3
    keys = json.loads(result.output)
    assert keys["verdict"] == "undecided"
    (finding,) = (f for f in keys["findings"] if f["check"] == "limit")
    assert finding["kind"] == "limit-reached"
    assert finding["value"]["limit"] == "seconds"
    assert "nothing is proved either way" in finding["message"]
    assert not (tmp_path / "out.json").exists()
    assert run("explain", "--seconds", "0.001", path).exit_code == 3
    assert run("certify", "--seconds", "60", path).exit_code == 0


def test_count_past_a_limit_is_undecided(documents: dict[str, Path]) -> None:
    path = documents["refuted"].with_name("strip.toml")
    verify.write(strip([1] * 8), path)
    result = run("count", path, "--orders", "1391")
    assert result.exit_code == 3
    assert result.output.splitlines()[0].split()[-1] == "128"
    assert result.output.splitlines()[2].split()[-1] == "undecided"
    assert "1,391" in result.output
    result = run("count", path, "--orders", "1392", "--json")
    assert result.exit_code == 0
    told = {"assignments_at_vertices": 128, "assignments_that_fold": 128, "layer_orders": 1392, "reached": []}
    assert told.items() <= json.loads(result.output).items()
    assert run("count", documents["undecided"]).exit_code == 3


def test_count_of_what_never_folds_names_the_command_that_says_why(proofs: Path) -> None:
    path = proofs / "refuted" / "maekawa.json"
    *counts, last = run("count", path).output.splitlines()
    assert [line.split()[-1] for line in counts] == ["0", "0", "0"]
    assert last == f"  `creaseproof certify {shlex.quote(str(path))}` says why none folds"


def test_count_of_the_map(proofs: Path) -> None:
    result = run("count", proofs / "certified" / "map-3x3.toml")
    assert result.exit_code == 0
    assert [line.split()[-1] for line in result.output.splitlines()] == ["256", "252", "1368"]


def test_several_documents(documents: dict[str, Path]) -> None:
    order = ["certified", "refuted", "malformed", "undecided"]
    for worst in range(1, 5):
        chosen = order[:worst]
        result = run("certify", *[documents[v] for v in chosen], documents["certified"])
        assert result.exit_code == worst - 1
        lines = result.output.splitlines()
        assert lines[0].split()[:2] == ["verdict", "document"]
        assert [
            line.split()[0] for line in lines if line.split() and line.split()[0] in STATUS and not line[0].isdigit()
        ] == [*chosen, "certified"]
        assert lines[-1].startswith("2 certified")


def test_several_documents_as_json(documents: dict[str, Path]) -> None:
    result = run("certify", "--json", *documents.values())
    assert result.exit_code == 3
    keys = json.loads(result.output)
    assert keys["verdict"] == "undecided"
    assert [d["verdict"] for d in keys["documents"]] == list(documents)
    assert [d["document"] for d in keys["documents"]] == [str(p) for p in documents.values()]
    assert len(keys["findings"]) == sum(len(d["findings"]) for d in keys["documents"])


def test_certificates_into_a_folder(documents: dict[str, Path], tmp_path: Path) -> None:
    out = tmp_path / "deep" / "out"
    run("certify", *documents.values(), "-o", out)
    assert sorted(p.name for p in out.iterdir()) == ["certified.certificate.json", "refuted.certificate.json"]
    for verdict in ("certified", "refuted"):
        audit = run("audit", documents[verdict], out / f"{verdict}.certificate.json")
        assert audit.exit_code == 0
        assert audit.output.startswith(f"accepted: {verdict}")
        other = "refuted" if verdict == "certified" else "certified"
        crossed = run("audit", documents[other], out / f"{verdict}.certificate.json", "--json")
        assert crossed.exit_code == 1
        assert json.loads(crossed.output)["findings"][0]["kind"] == "digest"


def test_one_certificate_into_a_file_or_a_folder(documents: dict[str, Path], tmp_path: Path) -> None:
    out = tmp_path / "proof.json"
    assert run("certify", documents["certified"], "-o", out).exit_code == 0
    first = out.read_bytes()
    assert run("certify", documents["certified"], "-o", out).exit_code == 0
    assert out.read_bytes() == first  # the same input gives the same certificate
    folder = tmp_path / "folder"
    folder.mkdir()
    assert run("certify", documents["certified"], "-o", folder).exit_code == 0
    assert (folder / "certified.certificate.json").read_bytes() == first
    unwritable = run("certify", documents["certified"], "-o", tmp_path / "none" / "proof.json")
    assert unwritable.exit_code == 2  # no verdict: 1 would say refuted
    assert "cannot be written" in unwritable.output
    assert not (tmp_path / "none").exists()
    twin = tmp_path / "twin" / documents["certified"].name
    twin.parent.mkdir()
    twin.write_bytes(documents["certified"].read_bytes())
    both = run("certify", documents["certified"], twin, "-o", tmp_path / "both")
    assert (both.exit_code, (tmp_path / "both").exists()) == (2, False)
    assert "several documents named certified" in both.output


def test_audit(documents: dict[str, Path], tmp_path: Path) -> None:
    proof = tmp_path / "proof.json"
    run("certify", documents["certified"], "-o", proof)
    accepted = json.loads(run("audit", "--json", documents["certified"], proof).output)
    assert accepted["accepted"] is True
    assert accepted["verdict"] == accepted["proves"] == "certified"
    assert accepted["claims"] == ["folds-flat"]
    assert accepted["findings"] == []
    certificate = json.loads(proof.read_text())
    certificate["order"]["stack"].reverse()
    proof.write_text(json.dumps(certificate))
    rejected = run("audit", "--json", documents["certified"], proof)
    assert rejected.exit_code == 1
    keys = json.loads(rejected.output)
    assert (keys["verdict"], keys["accepted"], keys["proves"]) == ("rejected", False, None)
    assert keys["findings"][0]["kind"] == "order.direction"
    for broken in (b"", b"{", b"[]", b"\xff", b"{}"):
        proof.write_bytes(broken)
        result = run("audit", documents["certified"], proof)
        assert result.exit_code == 2
        assert re.match(rf"malformed: {re.escape(str(proof))}: found .+; expected a certificate\n", result.output)
    assert run("audit", documents["malformed"], proof).exit_code == 2
    assert run("audit", documents["certified"], tmp_path / "none").exit_code == 2
    assert run("audit", tmp_path / "none", proof).exit_code == 2


def test_audit_keeps_a_bug_of_the_kernel_apart(
    documents: dict[str, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    proof = tmp_path / "proof.json"
    run("certify", documents["certified"], "-o", proof)

    def broken(*_: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("verify.kernel.check.read_subdivision", broken)
    told = run("audit", "--json", documents["certified"], proof)
    assert told.exit_code == 70
    assert json.loads(told.output)["verdict"] == "internal"
    assert run("audit", documents["certified"], proof).output.startswith("internal: ")


def test_audit_counts_convex_faces_and_says_so(proofs: Path, tmp_path: Path) -> None:
    """Of a sheet's panels, each a part of it between creases, the target's lines make more faces."""
    star, proof = proofs / "certified" / "star.toml", tmp_path / "star.json"
    assert "  10 panels" in run("certify", star, "-o", proof).output
    told = run("audit", star, proof).output.splitlines()[-1]
    faces = re.search(
        r"^  counted in convex faces, into which the drawn lines divide the panels: faces (\d+), fold edges", told
    )
    assert faces is not None
    assert int(faces[1]) > 10


def test_audit_within_seconds(documents: dict[str, Path], tmp_path: Path) -> None:
    proof = tmp_path / "proof.json"
    run("certify", documents["certified"], "-o", proof)
    plain, timed = (run("audit", "--json", *more, documents["certified"], proof) for more in ((), ("--seconds", "60")))
    assert (timed.exit_code, timed.output) == (0, plain.output)
    over = run("audit", "--json", "--seconds", "0.001", documents["certified"], proof)
    assert over.exit_code == 3
    told = json.loads(over.output)
    assert (told["verdict"], told["accepted"], told["findings"][0]["kind"]) == ("undecided", False, "seconds")
    assert run("audit", "--seconds", "60", documents["malformed"], proof).exit_code == 2


@pytest.mark.parametrize(
    "stage", ["draw", "subdivide", "vertex_reports", "fold_map", "crossing_conditions", "find_order", "audit"]
)
def test_an_internal_error_is_no_verdict(
    stage: str, documents: dict[str, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("on purpose")

    monkeypatch.setattr(certify_module, stage, broken)
    out = tmp_path / "out.json"
    result = run("certify", documents["certified"], "-o", out)
    assert result.exit_code == 70
    assert "internal error: ZeroDivisionError: on purpose" in result.output
    assert "certified:" not in result.output
    assert "refuted" not in result.output
    assert not out.exists()
    monkeypatch.setenv("CREASEPROOF_TRACE", "1")
    traced = run("certify", documents["certified"])
    assert isinstance(traced.exception, ZeroDivisionError)


def test_to_be_stopped_is_no_verdict(documents: dict[str, Path], monkeypatch: pytest.MonkeyPatch) -> None:
    """Ctrl-C: status 130, as shells have it (128 and the number of the signal, SIGINT: POSIX, bash), never 1."""

    def stopped(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(certify_module, "subdivide", stopped)
    result = run("certify", documents["certified"])
    assert (result.exit_code, result.output) == (130, "stopped\n")


def test_an_answer_that_no_one_reads_is_no_verdict(documents: dict[str, Path]) -> None:
    """Status 141, as shells have it (128 and the number of the signal, SIGPIPE: POSIX, bash), and not a word."""
    command = [sys.executable, "-m", "verify.cli", "explain", str(documents["certified"])]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as asked:
        assert asked.stdout is not None
        asked.stdout.close()
        _, said = asked.communicate()
    assert (asked.returncode, said) == (141, "")


def test_to_be_stopped_while_it_loads_is_no_verdict_either() -> None:
    pressed = """
import sys
class Pressed:
    @staticmethod
    def find_spec(name, *more):
        if name == "click":
            raise KeyboardInterrupt
sys.meta_path.insert(0, Pressed)
import verify.cli
"""
    done = subprocess.run([sys.executable, "-c", pressed], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout, done.stderr) == (130, "", "stopped\n")


def test_answers_that_nobody_can_read_are_no_verdict(documents: dict[str, Path], tmp_path: Path) -> None:
    """A pipe that is closed: 141, as shells have it (128 and SIGPIPE: POSIX, bash). A full disk is no bug of ours."""
    command = [sys.executable, "-m", "verify.cli", "certify", str(documents["certified"])]
    reading, writing = os.pipe()
    os.close(reading)
    unread = subprocess.run(command, stdout=writing, stderr=subprocess.PIPE, text=True, check=False)
    os.close(writing)
    assert (unread.returncode, unread.stderr) == (141, "")
    if Path("/dev/full").exists():
        with open("/dev/full", "w") as full:
            done = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, text=True, check=False)
        assert (done.returncode, done.stderr) == (
            2,
            "Error: standard output: cannot be written: No space left on device\n",
        )
    nowhere = tmp_path / "file" / "folder"
    nowhere.parent.write_text("a file, and no folder")
    told = run("sweep", documents["certified"], "-o", nowhere)
    assert (told.exit_code, "cannot be written: Not a directory" in told.output) == (2, True)


def test_a_command_misspelled_is_guessed() -> None:
    told = run("certfy", "x.toml")
    assert (told.exit_code, "No such command 'certfy' (perhaps \"certify\")" in told.output) == (2, True)


def test_a_certificate_that_the_kernel_refuses_is_an_internal_error(
    documents: dict[str, Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    class Sabotaged(certify_module.Evidence):
        def certified(self, *parts: Any) -> dict[str, Any]:
            certificate = super().certified(*parts)
            certificate["order"]["stack"].reverse()
            return certificate

    monkeypatch.setattr(certify_module, "Evidence", Sabotaged)
    result = run("certify", documents["certified"])
    assert result.exit_code == 70
    assert "did not accept" in result.output


def test_as_a_process(root: Path, documents: dict[str, Path]) -> None:
    def process(*arguments: object) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-m", "verify.cli", *map(str, arguments)],
            cwd=root,
            capture_output=True,
            text=True,
            timeout=120,
            check=False,
        )

    done = process("certify", documents["refuted"])
    assert done.returncode == STATUS["refuted"]
    assert done.stderr == ""  # quiet when it is no terminal
    assert done.stdout.startswith("refuted")
    crowd = process("certify", "--json", *documents.values())
    assert crowd.returncode == 3
    assert json.loads(crowd.stdout)["verdict"] == "undecided"
    assert crowd.stderr == ""
    evil = documents["certified"].with_name("evil.toml")
    evil.write_text(point("\"__import__('os').abort()\""))
    done = process("certify", evil)
    assert done.returncode == 2
    assert "points.z (line 10)" in done.stdout
    assert "Traceback" not in done.stdout + done.stderr


def test_explain_says_by_how_much_in_the_smallest_whole_numbers(tmp_path: Path) -> None:
    """Angles of 90°, 90°, 53.13° and 126.87°: the sums differ by twice arctan 3/4, which is arctan 24/7 (by hand)."""
    path = tmp_path / "x.toml"
    ends = {"e": (3000, 0), "n": (0, 4000), "w": (-5000, 0), "s": (-3000, -4000)}
    points = "\n".join(f"{name} = [{x}, {y}]" for name, (x, y) in ends.items())
    kinds = {"e": "valley", "n": "valley", "w": "valley", "s": "mountain"}
    creases = ", ".join(f'["o", "{name}", "{kind}"]' for name, kind in kinds.items())
    path.write_text(
        f'format = "creaseproof-pattern/1"\ncreases = [{creases}]\n[points]\no = [0, 0]\n{points}\n'
        "p = [-5000, -4000]\nq = [3000, -4000]\nr = [3000, 4000]\nt = [-5000, 4000]\n"
        '[sheet]\noutline = ["p", "q", "r", "t"]\n'
    )
    said = run("explain", path).output
    assert "as drawn, not everything that the document claims is true" in said
    assert re.search(r"the sums differ by the angle of the direction \(7, -?24\)", said)


def test_explain(proofs: Path) -> None:
    refuted = run("explain", proofs / "refuted" / "trapped-panel.toml")
    assert refuted.exit_code == 1
    assert "the two valley folds left-low–left-high and right-low–right-high trap panel" in refuted.output
    assert "Proved (the kernel accepted the refutation)" in refuted.output
    certified = run("explain", proofs / "certified" / "star.toml")
    assert certified.exit_code == 0
    assert "alternate angles add up to 180° and 180°, exactly" in certified.output
    assert "Layer order, bottom to top" in certified.output
    # the outline parts each of ten panels: two piles of ten, with 10 · 9 / 2 pairs each, more than ten panels can make
    assert "90 overlapping pairs of parts of panels" in certified.output
    unit = load_any(proofs / "certified" / "star.toml").unit
    areas = re.findall(r"^        \w+: area .*", certified.output, re.M)
    assert areas
    assert all(area.endswith(f" {unit}²") for area in areas)
    assert "Not proved:" in certified.output


def test_a_table_counts_what_hands_make(proofs: Path) -> None:
    """The recipe has three steps, each a fold; the star's five creases run through its middle."""
    done = run("certify", proofs / "recipes" / "window-three-folds.toml", proofs / "certified" / "star.toml")
    assert done.exit_code == 0
    rows = done.output.splitlines()
    assert re.split(r"  +", rows[0])[:5] == ["verdict", "document", "panels", "layers", "by hand"]
    assert re.split(r"  +", rows[1])[-3:-1] == ["8", "3 folds"]
    assert re.split(r"  +", rows[2])[-3:-1] == ["10", "5 creases"]
