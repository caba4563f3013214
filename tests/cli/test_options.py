"""Options: numbers that are none are refused by every command as mistakes in the call, and sizes are what they say."""

from __future__ import annotations

import json
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import click
import pytest

import verify
from tests.cli.command import SHARED, draw_svg, run
from verify.cli import MODULES, SAYS, main
from verify.cli.options import Amount, Length
from verify.pattern.limits import Limits


def commands() -> Iterator[tuple[str, click.Command]]:
    context = click.Context(main)
    for name in MODULES:
        command = main.get_command(context, name)
        assert command is not None
        yield name, command


def parameters() -> Iterator[tuple[str, click.Parameter]]:
    return ((name, parameter) for name, command in commands() for parameter in command.params)


NO_CUT = """
format = "creaseproof-recipe/1"
points = { a = [0, 0], b = [9, 0], c = [9, 9], d = [0, 9] }
sheet = { outline = ["a", "b", "c", "d"] }
steps = [{ fold = { point = "a", onto = "b" }, moves = "a" }]
"""  # of which no tolerance can be told


@pytest.mark.parametrize(
    "arguments",
    [
        ["certify", "certified/kite.toml"],
        ["certify", "certified/kite.toml", "refuted/trapped-panel.toml"],
        ["fold", "recipes/kite.toml"],
        ["tolerance", "recipes/kite.toml"],
        ["tolerance", "no-cut.toml"],
        ["count", "certified/map-3x3.toml"],
        ["count", "certified/map-3x3.toml", "--orders", "5"],
        ["count", "certified/map-3x3.toml", "--list", "2", "-o", "orders"],
        ["recipe", "certified/kite.toml", "--tell", "lines", "-o", "recipe.toml"],
        ["steps", "certified/kite.toml", "-o", "steps.toml"],
        ["exact", "certified/kite.toml", "-o", "exact.toml"],
        ["import", "kite.svg", "-o", "imported.toml"],
        ["compare", "certified/kite.toml", "certified/kite.toml"],
        ["sweep", "certified/kite.toml", "-o", "swept"],
        ["audit", "certified/kite.toml", "certificates/kite.certificate.json"],
        ["hunt", "--list"],
        ["certify", "nowhere.toml"],
        ["count", "nowhere.toml"],
        ["tolerance", "certified/kite.toml"],
    ],
    ids=" ".join,
)
def test_every_answer_in_json_is_one_object_with_the_same_keys(
    arguments: list[str], proofs: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("no-cut.toml").write_text(NO_CUT)
    draw_svg(Path("kite.svg"), 90, 90, '<path d="M20 20 L70 20 L45 70 Z"/>')
    there = [str(proofs / text) if (proofs / text).is_file() else text for text in arguments]
    told = json.loads(run(*there, "--json").stdout)
    assert SHARED - told.keys() == set()
    assert all({"check", "kind", "level", "message", "where"} <= finding.keys() for finding in told["findings"])


def test_the_list_of_commands_says_what_each_says_of_itself() -> None:
    listed = run("--help").output.split("Commands:")[1]
    for name, command in commands():
        assert SAYS[name] == command.get_short_help_str(1000)
        assert SAYS[name] in " ".join(listed.split())
    assert SAYS.keys() == MODULES.keys()
    assert "..." not in listed


@pytest.mark.parametrize("name", ["-x.toml", "-old.toml"])  # the latter is read as -o
def test_a_file_whose_name_begins_with_a_dash(
    name: str, proofs: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path(name).write_text((proofs / "certified" / "kite.toml").read_text())
    refused = run("certify", name)
    assert refused.exit_code == 2
    assert f"; the file {name} is written ./{name}" in refused.output
    assert run("certify", f"./{name}").exit_code == run("certify", "--", name).exit_code == 0
    assert "is written" not in run("certify", "-nowhere.toml").output


def test_every_option_has_a_help_text() -> None:
    for name, parameter in parameters():
        assert isinstance(parameter, click.Argument) or getattr(parameter, "help", None), (name, parameter.name)


REQUIRED = [(name, p.opts[0]) for name, p in parameters() if isinstance(p, click.Option) and p.required]


def test_some_options_are_required() -> None:
    assert {"construct", "handout", "letters", "picture"} <= {name for name, _ in REQUIRED}


@pytest.mark.parametrize(("command", "option"), REQUIRED)
def test_a_required_option_that_is_missing_is_named(command: str, option: str) -> None:
    done = run(command, "proofs/certified/kite.toml")
    assert done.exit_code == 2
    assert f"Missing option '{option}'" in done.output


AMOUNTS = [(name, p.opts[0]) for name, p in parameters() if isinstance(p.type, Amount | Length)]


def test_numbers_have_the_one_type() -> None:
    for name, parameter in parameters():
        assert not isinstance(parameter.type, click.FloatRange | click.types.FloatParamType), (name, parameter)
        metavar = getattr(parameter, "metavar", None)
        if metavar in ("MM", "LENGTH") or parameter.name in ("seconds", "margin", "width", "flatten", "error"):
            assert isinstance(parameter.type, Amount | Length), (name, parameter)
    commands = {name for name, _ in AMOUNTS}
    assert {"certify", "construct", "exact", "hunt", "import", "letters", "sweep", "tolerance"} <= commands


@pytest.mark.parametrize(("command", "option"), AMOUNTS)
def test_what_is_no_amount_is_a_mistake_in_the_call(command: str, option: str, tmp_path: Path) -> None:
    of_command = [p for name, p in parameters() if name == command]
    output = ["-o", tmp_path / "out.svg"] if any(p.name == "output" and p.required for p in of_command) else []
    inputs = ["A" for p in of_command if isinstance(p, click.Argument)]
    for bad in ("nan", "inf", "-inf", "-1", "1e999", "1e999999999", "1" * 5000, "1/0", "0x10", "1_000", "١", "", "x"):
        refused = run(command, *inputs, *output, f"{option}={bad}")
        assert refused.exit_code == 2, (bad, refused.output)
        assert option in refused.output
        assert "expected a" in refused.output
        assert "internal error" not in refused.output
        assert len(refused.output) < 1_000
    if option not in ("--margin", "--join"):
        assert "above 0" in run(command, *inputs, *output, f"{option}=0").output


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("0.1", Fraction(1, 10)),
        ("1e-3", Fraction(1, 1000)),
        ("1/3", Fraction(1, 3)),
        ("2.", Fraction(2)),
        (".5", Fraction(1, 2)),
        ("3E2", Fraction(300)),
    ],
)
def test_amounts_are_exact(text: str, value: Fraction) -> None:
    assert Amount().convert(text, None, None) == value
    assert Length().convert("25.4mm", None, None) == Length().convert("1in", None, None) == Fraction(254, 10)


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), 0, -1])
def test_from_python_too(bad: float, proofs: Path) -> None:
    from verify.cutting.tolerance import stack_thickness, tolerance

    recipe = verify.load(proofs / "recipes" / "window-one-fold.toml")
    assert isinstance(recipe, verify.Recipe)
    for call in (
        lambda: Limits(seconds=bad),
        lambda: tolerance(recipe, error=bad),
        lambda: tolerance(recipe, width=bad),
        lambda: stack_thickness(8, thickness=bad),
        lambda: stack_thickness(8, grammage=bad),
    ):
        with pytest.raises(ValueError, match="expected a finite number above 0"):
            call()


# drawings

ICON = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 24 24"><path d="M6 6H18V18H6Z"/></svg>'


@pytest.fixture
def icon(tmp_path: Path) -> Path:
    path = tmp_path / "icon.svg"
    path.write_text(ICON)
    return path


def area(path: Path) -> Fraction:
    """Of the target, by the shoelace formula on its own points."""
    document = verify.load(path)
    assert isinstance(document, verify.Document)
    (loop,) = document.loops
    places = [tuple(map(Fraction, document.points[name])) for name in loop]
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(places, places[1:] + places[:1], strict=True))) / 2


def test_construct_takes_a_drawing_without_size(icon: Path, tmp_path: Path) -> None:
    out = tmp_path / "p.toml"
    made = run("construct", icon, "-o", out, "--tries", 1)
    assert made.exit_code == 0, made.output
    assert "the drawing states no size: taken as 120 × 120 mm (--width says otherwise)" in made.output
    assert area(out) == 60 * 60
    keys = json.loads(run("construct", icon, "-o", out, "--tries", 1, "--json").output)
    assert keys["notes"] == ["the drawing states no size: taken as 120 × 120 mm (--width says otherwise)"]
    read = run("import", icon, "-o", tmp_path / "d.toml")
    assert "taken as 120 × 120 mm" in read.output
    assert area(tmp_path / "d.toml") == 60 * 60


def test_recipe_takes_one_too(icon: Path, tmp_path: Path) -> None:
    out = tmp_path / "r.toml"
    found = run("recipe", icon, "-o", out)
    assert found.exit_code == 0, found.output
    assert "the drawing states no size: taken as 120 × 120 mm (--width says otherwise)" in found.output
    sized = json.loads(run("recipe", icon, "-o", out, "--width", "48mm", "--margin", "12", "--json").output)
    assert (sized["verdict"], sized["notes"]) == ("certified", [])
    recipe = verify.load(out)
    assert isinstance(recipe, verify.Recipe)
    xs = [Fraction(recipe.base.points[n][0]) for n in recipe.base.outline]
    assert max(xs) - min(xs) == 24 + 24


def test_construct_and_import_read_alike(icon: Path, tmp_path: Path) -> None:
    sized = ("--width", "48mm", "--margin", "7.5")
    made = run("construct", icon, "-o", tmp_path / "p.toml", "--tries", 1, *sized)
    assert made.exit_code == 0, made.output
    assert "states no size" not in made.output
    assert run("import", icon, "-o", tmp_path / "d.toml", *sized).exit_code == 0
    for name in ("p.toml", "d.toml"):
        document = verify.load(tmp_path / name)
        assert isinstance(document, verify.Document)
        corners = [tuple(map(Fraction, document.points[n])) for n in document.outline]
        assert max(x for x, _ in corners) - min(x for x, _ in corners) == 24 + 15
        assert area(tmp_path / name) == 24 * 24


def test_construct_knows_the_paper_and_what_to_ignore(tmp_path: Path) -> None:
    path = tmp_path / "sheet.svg"
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 90 60" width="90mm"><rect class="paper" '
        'width="90" height="60" fill="none" '
        'stroke="#333"/><rect x="20" y="20" width="30" height="20"/><text x="1" y="9">sail</text></svg>'
    )
    asked = run("construct", path, "-o", tmp_path / "p.toml")
    assert asked.exit_code == 4
    assert "element=text:ignore" in asked.output
    rules = ("--line", "class=paper:border", "--line", "element=text:ignore")
    made = run("construct", path, "-o", tmp_path / "p.toml", "--tries", 4, *rules)
    assert made.exit_code == 0, made.output
    document = verify.load(tmp_path / "p.toml")
    assert isinstance(document, verify.Document)
    assert {document.points[n] for n in document.outline} == {("0", "0"), ("90", "0"), ("90", "60"), ("0", "60")}


def test_a_document_says_its_own_size(tmp_path: Path, proofs: Path) -> None:
    refused = run(
        "construct", proofs / "certified" / "kite.toml", "-o", tmp_path / "p.toml", "--width", "9cm", "--flatten", 1
    )
    assert refused.exit_code == 2
    assert "--width, --flatten: for SVG drawings" in refused.output


def test_a_bare_number_is_millimetres_and_the_size_is_said(icon: Path, tmp_path: Path) -> None:
    """Half the icon is its square: 24 of 48 mm, with a margin of 10."""
    said = "the figure is 24 × 24 mm, its sheet 44 × 44 mm"
    for command, *more in (("import",), ("construct", "--tries", 1), ("recipe",)):
        for width in ("48", "4.8cm"):
            done = run(command, icon, "-o", tmp_path / f"{command}.toml", "--width", width, *more)
            assert done.exit_code == 0, done.output
            assert said in done.output
    for name, sheets, more in (
        ("one", "and so are their sheets", ()),
        ("two", "their sheets at most", ("--collapse",)),
    ):
        done = run("letters", "I", "-o", tmp_path / name, "--height", "80", *more)
        assert done.exit_code == 0, done.output
        assert f" mm wide and 80 mm high, {sheets}" in done.output


def test_a_small_drawing_is_told_how_to_be_larger(icon: Path, tmp_path: Path) -> None:
    """The figure is half as wide as the page; no document takes --width."""
    hint = "that is small for fingers: --width 150mm, say, would make the drawing's page 150 mm wide"
    written = tmp_path / "icon.toml"
    assert hint in run("import", icon, "-o", written, "--width", 99).output
    assert hint not in run("import", icon, "-o", written, "--width", 100).output
    run("import", icon, "-o", written, "--width", 99, "--force")
    document = run("recipe", written).output
    assert "the figure is 49.5 × 49.5 mm" in document
    assert hint not in document


def test_a_sheet_that_no_usual_paper_holds_is_told(tmp_path: Path) -> None:
    """ISO 216: A2 is 420 × 594 mm. The sheet is 20 mm wider and higher than the figure."""
    for width, height, is_large in ((400, 574, False), (574, 400, False), (401, 574, True), (400, 575, True)):
        body = f'<path d="M0 0H{width}V{height}H0Z"/>'
        drawing = draw_svg(tmp_path / "large.svg", width, height, body)
        said = run("import", drawing, "-o", tmp_path / "large.toml", "--force").output
        assert ("larger than A2 paper (420 × 594 mm): --width 150mm, say" in said) == is_large


@pytest.mark.parametrize("more", [(), ("--one-sheet",)])
def test_letters_of_a_size(more: tuple[str, ...], tmp_path: Path) -> None:
    """L and I are 36 and 12 wide, 60 high, 12 apart: a word of 60, here of 90."""
    made = run(
        "letters", "LI", "-o", tmp_path, "--tries", 1 if not more else 12, "--width", "9cm", "--margin", 20, *more
    )
    assert made.exit_code == 0, made.output
    widths = {"LI.toml": 90} if more else {"1-L.toml": 54, "2-I.toml": 18}
    for name, width in widths.items():
        document = verify.load(tmp_path / name)
        assert isinstance(document, verify.Document)
        corners = [tuple(map(Fraction, document.points[n])) for n in document.outline]
        assert (max(x for x, _ in corners), max(y for _, y in corners)) == (width + 40, 90 + 40)


def test_the_size_of_a_word_is_not_that_of_a_drawing() -> None:
    said = " ".join(run("letters", "--help").output.split())
    assert "How wide the word is" in said
    assert "drawing" not in said
    assert "How wide the drawing's page is" in " ".join(run("recipe", "--help").output.split())


def test_a_slip_in_the_call_is_told_with_what_would_do(icon: Path, tmp_path: Path) -> None:
    for typed, expected in (
        (("letters", "SIX", "-o", tmp_path / "six", "--height", "3inch"), "such as 120mm, 12cm or 5in"),
        (("letters", "MIA", "BOB", "-o", tmp_path / "two"), 'expected one, or all of them in quotes: "MIA BOB"'),
        (("recipe", icon, "--folds", "six"), "found 'six'; expected a whole number"),
        (("recipe", icon, "--folds", "31"), "31 is not in the range 1<=x<=30"),
    ):
        done = run(*typed)
        assert done.exit_code == 2
        assert expected in " ".join(done.output.split())
    both = run("letters", "I L", "-o", tmp_path / "both", "--height", "3in", "--json")
    assert [one["letter"] for one in json.loads(both.output)["documents"]] == ["I", "L"]
