"""`creaseproof construct`, and `letters` with patterns, as a user runs them."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from tests.cli.command import draw_svg, run
from tests.places import PROOFS, ROOT
from verify import audit
from verify.cli.construct import construct_command
from verify.kernel.check import check_files
from verify.pattern.document import Document
from verify.pattern.limits import Limits
from verify.pattern.recipe import load_any, read_any
from verify.pattern.source import Malformed
from verify.pattern.write import write
from verify.tasks.construct import construct
from verify.tasks.construct_found import Constructed, Prefer

PENNANT = """format = "creaseproof-pattern/1"
title = "Pennant"
[points]
sw = [-20, -20]
se = [100, -20]
ne = [100, 80]
nw = [-20, 80]
a = [0, 0]
b = [71, 13]
c = [28, 55]
d = [10, 40]
[sheet]
outline = ["sw", "se", "ne", "nw"]
[target]
loops = [["a", "b", "c", "d"]]
"""
SAIL = PENNANT.replace('"b", "c", "d"', '"b", "c"').replace("[71, 13]", "[40, 0]").replace("[28, 55]", "[0, 30]")


def test_what_is_drawn_by_eye_may_be_regular(tmp_path: Path) -> None:
    """Corners 50 mm from the middle, rounded to whole millimetres."""
    drawing = draw_svg(tmp_path / "badge.svg", 120, 120, '<polygon points="60,110 108,75 90,20 30,20 12,75"/>')
    done = run("construct", drawing, "-o", tmp_path / "pattern.toml", "--tries", "1")
    assert f"`creaseproof recipe {drawing} --near` makes a regular polygon of 5 sides of it" in done.output


def test_construct_writes_what_the_kernel_accepts(tmp_path: Path) -> None:
    (tmp_path / "pennant.toml").write_text(PENNANT)
    out, certificate = tmp_path / "pattern.toml", tmp_path / "certificate.json"
    done = run("construct", tmp_path / "pennant.toml", "-o", out, "--certificate", certificate, "--tries", 5)
    assert done.exit_code == 0, done.output
    assert done.output.startswith("certified: Pennant")
    assert not any(re.search("fold|[0-9][A-Z][0-9]", name) for name in load_any(out).points)
    assert "moved by at most 0.0" in done.output
    assert out.read_text().splitlines()[1].startswith("# the figure was moved by at most 0.0")
    outcome = check_files(str(out), str(certificate))
    assert (outcome.accepted, outcome.proves) == (True, "certified")
    drawn, made = load_any(tmp_path / "pennant.toml"), load_any(out)
    for name in "abcd":
        was, now = ([Fraction(x) for x in document.points[name]] for document in (drawn, made))
        assert (was[0] - now[0]) ** 2 + (was[1] - now[1]) ** 2 <= 0.1**2
    along = zip(*(map(Fraction, made.points[n]) for n in "abcd"), strict=True)
    wide, high = (float(max(places) - min(places)) for places in along)
    assert f"the figure is {wide:.4g} × {high:.4g} mm, its sheet " in done.output  # as it was written
    assert run("certify", out).exit_code == 0


def test_folds_are_counted_as_the_facts_count_them(tmp_path: Path) -> None:
    """As edges, which the outline and other folds part: more than there are creases."""
    (tmp_path / "pennant.toml").write_text(PENNANT)
    out = tmp_path / "pattern.toml"
    told = run("construct", tmp_path / "pennant.toml", "-o", out, "--tries", 1).output
    facts = json.loads(run("certify", out, "--json").output)["facts"]
    assert f"  {facts['folds']} fold edges, {facts['layers_at_cut']} layers at the cut: " in told


def test_many_folds_are_not_the_only_way(tmp_path: Path) -> None:
    """A long letter of a few strokes: where to look for fewer folds is said; of an arrowhead, which is its own mirror
    image, that it may have simple ones.
    """
    drawing = draw_svg(tmp_path / "s.svg", 100, 140, '<path d="M20 20H80V40H40V60H80V120H20V100H60V80H20Z"/>')
    made = run("construct", drawing, "-o", tmp_path / "s.toml", "--tries", 1)
    assert made.exit_code == 0, made.output
    assert f"`creaseproof steps {tmp_path / 's.toml'}` looks for simple folds of this very pattern" in made.output
    searched = run("recipe", drawing, "--folds", 4, "--seconds", 600)  # it ends when all is tried
    assert searched.exit_code == 3
    assert "`creaseproof construct` makes a pattern" in searched.output
    assert "creaseproof letters" not in searched.output
    assert "are ruled out" in searched.output
    few = tmp_path / "few.toml"
    few.write_text(SAIL)
    assert "creaseproof letters" not in run("construct", few, "-o", tmp_path / "sail.toml", "--tries", 1).output
    arrow = tmp_path / "arrow.svg"
    arrow.write_text(
        drawing.read_text().replace("M20 20H80V40H40V60H80V120H20V100H60V80H20Z", "M50 20L80 60H62V120H38V60H20Z")
    )
    made = run("construct", arrow, "-o", tmp_path / "an arrow.toml", "--tries", 1)  # a name that a shell would part
    assert f"`creaseproof recipe '{tmp_path / 'an arrow.toml'}'` looks for a few simple folds" in made.output


def test_no_fewer_folds_are_promised_than_there_can_be(tmp_path: Path) -> None:
    """A house has five sides on five lines, and each fold at most halves the number of lines: three folds are least."""
    house = draw_svg(tmp_path / "house.svg", 80, 100, '<path d="M40 10L70 40V90H10V40Z"/>')
    made = run("construct", house, "-o", tmp_path / "pattern.toml")
    assert "this pattern takes 3 simple folds" in made.output
    assert "creaseproof recipe" not in made.output
    write(replace(load_any(PROOFS / "certified" / "star.toml"), creases=()), tmp_path / "star.toml")
    made = run("construct", tmp_path / "star.toml", "-o", tmp_path / "five.toml")  # ten sides on five lines, five folds
    assert "looks for fewer simple folds" in made.output


def test_exact_leaves_the_target_where_it_is(tmp_path: Path) -> None:
    (tmp_path / "pennant.toml").write_text(PENNANT.replace('"b", "c", "d"', '"b", "c"'))
    done = run("construct", tmp_path / "pennant.toml", "-o", tmp_path / "p.json", "--exact", "--tries", 1, "--json")
    assert done.exit_code == 0, done.output
    keys = json.loads(done.output)
    assert (keys["verdict"], keys["moved"], keys["claims"]) == ("certified", 0.0, ["folds-flat", "cut-exact"])
    made = load_any(tmp_path / "p.json")
    assert [made.points[n] for n in "abc"] == [("0", "0"), ("71", "13"), ("28", "55")]


def test_nothing_moves_that_need_not(tmp_path: Path) -> None:
    (tmp_path / "sail.toml").write_text(SAIL)
    done = run("construct", tmp_path / "sail.toml", "-o", tmp_path / "p.toml", "--prefer", "layers")
    assert done.exit_code == 0, done.output
    assert "moved" not in done.output
    assert [load_any(tmp_path / "p.toml").points[n] for n in "abc"] == [("0", "0"), ("40", "0"), ("0", "30")]


def test_from_an_svg_drawing(tmp_path: Path) -> None:
    draw_svg(tmp_path / "window.svg", 80, 80, '<rect x="20" y="20" width="40" height="40"/>')
    done = run("construct", tmp_path / "window.svg", "-o", tmp_path / "p.toml")
    assert done.exit_code == 0, done.output
    assert "1,600 mm²" in done.output


@pytest.mark.parametrize(
    ("edit", "status", "said"),
    [
        (("[target]", "# [target]\n#"), 2, "expected"),
        (('[target]\nloops = [["a", "b", "c"]]\n', ""), 4, "the document has no target"),
        (("[points]", 'creases = [["a", "b", "valley"]]\n[points]'), 4, "the document has 1 crease;"),
        (("[target]", "[cut]\nsnips = 2\n[target]"), 4, "the document allows 2 snips"),
        (('"a", "b", "c"', '"a", "b", "x"'), 2, "expected"),
    ],
)
def test_what_cannot_be_constructed(tmp_path: Path, edit: tuple[str, str], status: int, said: str) -> None:
    path = tmp_path / "sail.toml"
    path.write_text(SAIL.replace(*edit))
    verdict = "malformed" if status == 2 else "unsupported"
    done = run("construct", path, "-o", tmp_path / "p.toml")
    assert done.exit_code == status, done.output
    assert done.output.startswith(f"{verdict}: {path}")
    assert said in done.output
    assert not (tmp_path / "p.toml").exists()
    keys = json.loads(run("construct", path, "-o", tmp_path / "p.toml", "--json").output)
    assert keys["verdict"] == verdict
    assert keys["findings"]


def test_misuse_of_the_command(tmp_path: Path) -> None:
    path = tmp_path / "sail.toml"
    path.write_text(SAIL)
    assert run("construct", path, "-o", path).exit_code == 2
    assert path.read_text() == SAIL
    for more in (("--exact", "--nudge", "1"), ("--snap", "0"), ("--snap", "nan"), ("--snap", "1/0"), ("--tries", "0")):
        assert run("construct", path, "-o", tmp_path / "p.toml", *more).exit_code == 2, more
    recipe = PROOFS / "recipes" / "kite.toml"
    done = run("construct", recipe, "-o", tmp_path / "p.toml")
    assert (done.exit_code, done.output.startswith("malformed")) == (2, True)


def test_no_pattern_is_undecided_and_never_a_pattern(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without any layer order found, and past the limit on creases."""
    from verify.construct.creases import propose
    from verify.construct.creases.propose import Failure
    from verify.pattern.limits import LimitReached

    document = read_any(SAIL, toml=True)
    monkeypatch.setattr(
        propose, "_folded", lambda creases, *_: Failure(creases.how, "no layer order exists for these creases")
    )
    made = construct(document)
    assert (made.verdict, made.pattern, made.result) == ("undecided", None, None)
    assert "no layer order exists" in made.reason
    monkeypatch.setattr("verify.construct.creases.creases.MOST_CREASES", 3)
    monkeypatch.undo()
    monkeypatch.setattr("verify.construct.creases.creases.MOST_CREASES", 3)
    made = construct(document)
    assert (made.verdict, made.pattern) == ("undecided", None)
    assert "creases" in made.reason

    def refuse(*_: Any, **__: Any) -> None:
        raise LimitReached("seconds", "1", "the search for a layer order was not finished")

    monkeypatch.undo()
    monkeypatch.setattr(propose, "find_order", refuse)
    made = construct(document)
    assert made.verdict == "undecided"
    assert "seconds" in made.reason


def test_letters_of_a_word(tmp_path: Path) -> None:
    done = run("letters", "lil7", "-o", tmp_path / "word", "--tries", 4)
    assert done.exit_code == 0, done.output
    names = sorted(p.name for p in (tmp_path / "word").iterdir())
    assert names == sorted(f"{n}-{c}{end}" for n, c in enumerate("LIL7", 1) for end in (".toml", ".certificate.json"))
    for n, c in enumerate("LIL7", 1):
        outcome = check_files(
            str(tmp_path / "word" / f"{n}-{c}.toml"), str(tmp_path / "word" / f"{n}-{c}.certificate.json")
        )
        assert (outcome.accepted, outcome.proves) == (True, "certified")
    assert done.output.count("certified") == 4


def test_a_word_in_one_sheet(tmp_path: Path) -> None:
    done = run("letters", "LI", "-o", tmp_path, "--one-sheet", "--tries", 12, "--json")
    keys = json.loads(done.output)
    assert (done.exit_code, keys["verdict"]) == (0, "certified"), done.output
    assert len(load_any(tmp_path / "LI.toml").loops) == 2


def test_a_hint_names_an_option_that_the_command_has(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What may help is said by `construct` alone: `letters` has no such options."""
    path = tmp_path / "pennant.json"
    points = {
        "a": [0, 0],
        "b": [90, 0],
        "c": [90, 90],
        "d": [0, 90],
        "p": [20, 20],
        "q": [70, 20],
        "r": [45, "20 + 25*sqrt(3)"],
    }
    path.write_text(
        json.dumps(
            {
                "format": "creaseproof-pattern/1",
                "points": points,
                "sheet": {"outline": list("abcd")},
                "target": {"loops": [list("pqr")]},
            }
        )
    )
    made = construct(path, snap_mm=Fraction(1, 10**30))
    assert (made.verdict, made.moved) == ("certified", None)  # a degree of 4 is no reason to give up
    monkeypatch.setattr("verify.construct.moves.trials._DEGREE", 1)
    made = construct(path, snap_mm=Fraction(1, 10**30))
    assert made.pattern is None
    assert made.hint.startswith("--")
    assert "--" not in made.reason
    done = run("construct", path, "-o", tmp_path / "x.toml", "--snap", "1e-30")
    assert made.hint in done.output
    helped = run("construct", "--help").output
    assert all(option in helped for option in re.findall(r"--[a-z]+", made.hint))


ARROW = """<svg xmlns="http://www.w3.org/2000/svg" width="120mm" height="120mm" viewBox="0 0 24 24">
<path d="M17.59 18 19 16.59 14.42 12 19 7.41 17.59 6l-6 6zM11 18l1.41-1.41L7.83 12l4.58-4.59L11 6l-6 6z"/></svg>"""


def test_a_pattern_that_cannot_be_written_down_is_no_mistake_in_the_drawing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def too_long(*_: object) -> None:
        raise Malformed("drawing.svg", "points.c1", "found 4586 characters", "4000 at most")

    monkeypatch.setattr("verify.tasks.construct_search.certify_folded", too_long)
    (tmp_path / "sail.toml").write_text(SAIL)
    made = run("construct", tmp_path / "sail.toml", "-o", tmp_path / "out.toml", "--tries", 1)
    assert made.exit_code == 3
    assert "undecided: " in made.output
    assert "the pattern's numbers are too long to be written down" in made.output


def test_two_chevrons_are_left_as_they_are_drawn(tmp_path: Path) -> None:
    """Directions near 45° that are rational give perpendiculars that do not end here; those of true 45° end."""
    (tmp_path / "chevrons.svg").write_text(ARROW)
    done = run("construct", tmp_path / "chevrons.svg", "-o", tmp_path / "p.toml", "--json")
    keys = json.loads(done.output)
    assert (done.exit_code, keys["verdict"], keys["moved"]) == (0, "certified", 0), done.output


def test_how_many_sets_of_creases_fold_is_said_of_sets_alone(tmp_path: Path) -> None:
    """Of this fish two figures come to nothing before any set of their creases is solved; what was written folds."""
    fish = "M40 100 L80 70 L120 90 L160 70 L160 130 L120 110 L80 130 Z"
    draw_svg(tmp_path / "fish.svg", 200, 200, f'<path d="{fish}"/>')
    done = run("construct", tmp_path / "fish.svg", "-o", tmp_path / "p.toml", "--json")
    keys = json.loads(done.output)
    assert (done.exit_code, keys["verdict"]) == (0, "certified"), done.output
    assert 0 <= keys["failed"] < keys["tried"]


def test_what_moved_is_said_with_the_reason(tmp_path: Path) -> None:
    """The squares of the lengths are 53, 113, 137, 173 and 488, so the field has degree 32. It stays within one
    percent.
    """
    draw_svg(tmp_path / "shard.svg", 60, 60, '<path d="M20 20L27 22L35 29L31 40L18 42Z"/>')
    done = run("construct", tmp_path / "shard.svg", "-o", tmp_path / "p.toml", "--json")
    keys = json.loads(done.output)
    assert (done.exit_code, keys["verdict"]) == (0, "certified"), done.output
    assert 0 < keys["moved"] <= 0.22
    assert max(keys["moved_points"].values()) == keys["moved"]
    assert keys["moved_why"]
    bound = run("construct", tmp_path / "shard.svg", "-o", tmp_path / "q.toml", "--snap", "0.001", "--json")
    assert json.loads(bound.output)["moved"] <= 0.001


def test_the_time_holds_for_everything(tmp_path: Path) -> None:
    """Also for exact arithmetic in a field of high degree, in which one figure alone takes minutes."""
    turned = PENNANT.replace("[0, 0]", '[0, "sqrt(3)"]').replace("[71, 13]", '[71, "13 + sqrt(7)"]')
    (tmp_path / "pennant.toml").write_text(turned)
    start = time.monotonic()
    done = run("construct", tmp_path / "pennant.toml", "-o", tmp_path / "p.toml", "--exact", "--seconds", "1")
    assert done.exit_code == 3, done.output
    assert time.monotonic() - start < 60  # far less than what it would take, and far more than a busy machine needs


@pytest.mark.parametrize("seconds", [1e-9, 0.02, 0.1])
def test_hardly_any_time_is_a_limit_and_no_mistake(seconds: float) -> None:
    made = construct(read_any(SAIL, toml=True), limits=Limits(seconds=seconds))
    assert seconds > 1e-9 or made.verdict == "undecided"
    assert (made.pattern is None) == (made.verdict == "undecided") == ("the limit seconds" in made.reason)


def test_lines_to_blame_are_drawn(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Perpendiculars followed for one step only do not end: the drawing holds the lines named, and their names."""
    monkeypatch.setattr("verify.tasks.construct_search.MOST_STEPS", 1)
    monkeypatch.setattr("verify.tasks.construct_search.MANY_STEPS", 1)
    path = tmp_path / "rectangle.toml"
    path.write_text(SAIL.replace("[0, 30]", "[40, 20]").replace("[10, 40]", "[0, 20]").replace('"c"]]', '"c", "d"]]'))
    picture = tmp_path / "blamed.svg"
    done = run("construct", path, "-o", tmp_path / "p.toml", "--blame", picture, "--json")
    keys = json.loads(done.output)
    assert (done.exit_code, keys["verdict"]) == (3, "undecided"), done.output
    assert keys["blamed"]
    root = ElementTree.parse(picture).getroot()
    svg = "{http://www.w3.org/2000/svg}"
    named = {name for line in keys["blamed"] for name in line}
    words = {e.text for e in root.iter(f"{svg}text") if e.get("class") == "text"}
    assert words & set("abcd") == named <= set("abcd")
    assert "–".join(keys["blamed"][0]) in keys["findings"][0]["message"]
    drawn = [path.get("d", "") for path in root.iter(f"{svg}path") if path.get("class") == "rail"]
    assert "\n".join(drawn).count("M") == len(keys["blamed"]) + 1  # and one in the legend


def test_lines_of_a_contradiction_are_named_and_drawn(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where no set of creases has a layer order: the lines by which run the perpendiculars that contradict each
    other.
    """
    from verify.construct.creases import propose
    from verify.construct.creases.choices import Refusal
    from verify.construct.creases.propose import Failure

    def refused(creases: Any, *_: Any) -> Failure:
        part = Refusal(frozenset(creases.chosen[:1]), frozenset())
        return Failure(creases.how, "no layer order exists for these creases", (part,))

    monkeypatch.setattr(propose, "_folded", refused)
    path = tmp_path / "sail.toml"
    path.write_text(SAIL)
    picture = tmp_path / "blamed.svg"
    done = run("construct", path, "-o", tmp_path / "p.toml", "--blame", picture, "--json")
    keys = json.loads(done.output)
    assert (done.exit_code, keys["verdict"]) == (3, "undecided"), done.output
    assert keys["blamed"]
    assert {name for line in keys["blamed"] for name in line} <= set("abc")
    message = keys["findings"][0]["message"]
    assert f"most of all by the lines {'–'.join(keys['blamed'][0])}" in message
    words = {e.text for e in ElementTree.parse(picture).getroot().iter("{http://www.w3.org/2000/svg}text")}
    assert {name for line in keys["blamed"] for name in line} <= words


def test_lines_to_blame_have_the_names_of_the_drawing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An outline with an id and one without: that has its line in the file."""
    monkeypatch.setattr("verify.tasks.construct_search.MOST_STEPS", 1)
    monkeypatch.setattr("verify.tasks.construct_search.MANY_STEPS", 1)
    door, other = '<path id="door" d="M10 20H30V40H10Z"/>', '<path d="M50 22H70V42H50Z"/>'
    path = draw_svg(tmp_path / "windows.svg", 90, 60, door + other)
    done = run("construct", path, "-o", tmp_path / "p.toml", "--exact")
    assert done.exit_code == 3, done.output
    lines = done.output.partition("most of all between the lines ")[2].partition("\n")[0]
    assert re.search(r"\bp[1-4]–p[1-4] \(door\)", lines)
    assert re.search(r"\bp[5-8]–p[5-8] \(<path> in line 1\)", lines)


def test_an_open_end_has_the_name_of_the_drawing(tmp_path: Path) -> None:
    path = draw_svg(tmp_path / "sail.svg", 80, 90, '<path id="jib" d="M20 10 L70 40 L10 77 L19 12"/>')
    done = run("import", path, "-o", tmp_path / "sail.toml")
    assert "open between p1 (point 1 of jib) and p4 (point 4 of jib) (2.236 mm apart)" in done.output


def test_what_moving_the_figure_saves_is_said(tmp_path: Path) -> None:
    """About how many folds it takes where it is: no more than `--exact` needs, and more than where it was moved."""
    buoy = "M45 12L69 66H21ZM21 66H69L75 90H15ZM18 66H60"
    drawing = draw_svg(tmp_path / "buoy.svg", 90, 120, f'<path d="{buoy}"/>')
    done = run("construct", drawing, "-o", tmp_path / "moved.toml")
    said = re.search(r"the figure was moved by at most .*where it is, about ([0-9]+) fold edges: --exact", done.output)
    folds = re.search("([0-9]+) fold edges, ", done.output)
    assert said is not None
    assert folds is not None
    exact = json.loads(run("construct", drawing, "-o", tmp_path / "exact.toml", "--exact", "--json").output)
    assert exact["moved"] == 0
    assert int(folds[1]) < int(said[1]) <= exact["folds"]


def test_points_are_told_by_the_names_of_the_drawing(tmp_path: Path) -> None:
    """A window of four lines that have names, one of which ends 0.05 mm beside the next."""
    lines = {
        "top": 'x1="20" y1="20" x2="60" y2="20"',
        "right": 'x1="60" y1="20" x2="60.05" y2="60"',
        "low": 'x1="60" y1="60" x2="20" y2="60"',
        "left": 'x1="20" y1="60" x2="20" y2="20"',
    }
    sides = "".join(f'<line id="{name}" {ends}/>' for name, ends in lines.items())
    drawing = draw_svg(tmp_path / "window.svg", 80, 80, sides)
    done = run("recipe", drawing, "--near", "-o", tmp_path / "window.toml")
    assert done.exit_code == 0, done.output
    assert "(point 2 of right) was joined with p4 (point 1 of low), 0.05 mm away" in done.output
    assert "2 pieces: rest 2,003 mm², figure 1,600 mm²" in done.output
    assert "2 folds" in done.output


def test_a_terminal_sees_what_is_done_and_for_how_long(tmp_path: Path) -> None:
    """On standard error, and gone when the answer is there; nothing of it is on standard output."""
    pty = pytest.importorskip("pty")
    target = tmp_path / "pennant.toml"
    target.write_text(PENNANT)
    mine, theirs = pty.openpty()
    command = [sys.executable, "-m", "verify.cli", "construct", target, "-o", tmp_path / "pattern.toml"]
    with subprocess.Popen([*map(str, command)], stdout=subprocess.PIPE, stderr=theirs) as done:
        os.close(theirs)
        seen = b""
        with suppress(OSError):  # which is how the other end says that it was closed
            while more := os.read(mine, 4096):
                seen += more
        assert done.stdout is not None
        said = done.stdout.read()
    os.close(mine)
    assert done.returncode == 0
    assert said.startswith(b"certified: Pennant")
    assert re.search(rb"0:00:\d\d.* pennant\.toml: \w+", seen)


def test_without_seconds_it_ends_after_ten_minutes() -> None:
    """As its help and proofs/commands.md say."""
    option = next(one for one in construct_command.params if one.name == "seconds")
    assert option.default == 600


@pytest.mark.parametrize(("name", "simple"), [("star-exact", 5), ("letter-x", 5), ("lampshade", 0)])
def test_a_pattern_that_simple_folds_make_is_taken_first(tmp_path: Path, name: str, simple: int) -> None:
    """Of the star's 20 folds most ways to make them mountains and valleys can only be collapsed at once; the one that
    is written is folded step by step, as `steps` finds and the kernel accepts. Of the lampshade none can.
    """
    target, pattern = tmp_path / "target.toml", tmp_path / "pattern.toml"
    write(replace(load_any(PROOFS / "recipes" / f"{name}.toml").base, raw=None), target)
    done = run("construct", target, "-o", pattern)
    assert done.exit_code == 0, done.output
    told = f"this pattern takes {simple} simple folds: `creaseproof steps {pattern}` lists them"
    assert (told in done.output) == bool(simple)
    assert run("steps", pattern).exit_code == (0 if simple else 3)


@pytest.mark.parametrize("more", [(), ("--exact",)])
def test_a_point_that_says_what_the_figure_is_stays(tmp_path: Path, more: tuple[str, ...]) -> None:
    """It is inside the figure, and no line ends there."""
    sail = SAIL.replace("[sheet]", "inside = [5, 5]\n[sheet]") + 'figure = ["inside"]\n'
    (tmp_path / "sail.toml").write_text(sail)
    done = run("construct", tmp_path / "sail.toml", "-o", tmp_path / "pattern.toml", *more)
    assert done.exit_code == 0, done.output
    assert "figure 600 mm²" in done.output
    assert load_any(tmp_path / "pattern.toml").figure == ("inside",)


def test_a_figure_that_is_the_whole_sheet_is_no_error(tmp_path: Path) -> None:
    sheet = tmp_path / "sheet.toml"
    sheet.write_text(SAIL.replace('outline = ["sw", "se", "ne", "nw"]', 'outline = ["a", "b", "c"]'))
    done = run("construct", sheet, "-o", tmp_path / "pattern.toml")
    assert done.exit_code == 0, done.output
    assert "nothing is to be cut: the whole figure lies along the edge of the sheet" in done.output


def interrupted_at(*words: str) -> Callable[[str], None]:
    """Progress in which Ctrl-C is pressed the first time that each of these is said."""
    left = list(words)

    def said(message: str) -> None:
        if left and left[0] in message:
            left.pop(0)
            raise KeyboardInterrupt

    return said


@pytest.mark.parametrize(
    ("prefer", "words"),
    [
        ("layers", "1 tried, 1 fold"),
        ("layers", "the kernel checks"),
        ("folds", "looking for simple folds"),
    ],
)
def test_an_interrupt_keeps_the_best_until_then(prefer: Prefer, words: str) -> None:
    """Ctrl-C once there is a pattern: the kernel accepts it, though not all was tried, or it was just at it."""
    made = construct(read_any(PENNANT), prefer=prefer, progress=interrupted_at(words), best_on_interrupt=True)
    assert (made.verdict, made.stopped) == ("certified", True)
    assert (made.tried == 1) == (words == "1 tried, 1 fold")
    assert made.pattern is not None
    assert made.result is not None
    assert audit(made.pattern, made.result.certificate).accepted


@pytest.mark.parametrize(
    ("words", "best"),
    [
        (("looked at",), True),  # before there is a pattern
        (("1 tried, 1 fold",), False),
        (("1 tried, 1 fold", "the kernel checks"), True),  # pressed twice
    ],
)
def test_an_interrupt_ends_all(words: tuple[str, ...], best: bool) -> None:
    with pytest.raises(KeyboardInterrupt):
        construct(read_any(PENNANT), prefer="layers", progress=interrupted_at(*words), best_on_interrupt=best)


def test_what_may_make_a_short_crease_longer_is_told_where_one_is_short(tmp_path: Path) -> None:
    """The house of README, 1.5 mm wide; and as large as it is there, 60 mm, where no crease is short."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    (tmp_path / "house.svg").write_text(readme.partition("```svg\n")[2].partition("```")[0])
    for width, more, told in (("2mm", (), True), ("2mm", ("--snap", 1), False), ("80mm", (), False)):
        out = tmp_path / f"{width}{len(more)}.toml"
        done = run("construct", tmp_path / "house.svg", "-o", out, "--width", width, "--margin", "0.5", *more)
        assert ("warning: the shortest crease is only" in done.output) == (width == "2mm")
        assert ("may make the shortest crease longer" in done.output) == told


def test_it_says_that_it_was_stopped(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(document: Document, **how: Any) -> Constructed:
        return construct(document, **how | {"progress": interrupted_at("2 tried, 2 fold")})

    monkeypatch.setattr("verify.cli.construct.construct", stopped)
    (tmp_path / "pennant.toml").write_text(PENNANT)
    done = run("construct", tmp_path / "pennant.toml", "-o", tmp_path / "pattern.toml", "--prefer", "layers")
    assert done.exit_code == 0, done.output
    assert "layers at the cut: the best of 2 sets of creases until it was stopped, all of which fold" in done.output
