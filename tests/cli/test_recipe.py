"""The command `recipe`: a target in, a certified list of folds out."""

from __future__ import annotations

import cmath
import json
import math
import re
import shlex
from itertools import islice
from pathlib import Path

import pytest

import verify
from tests.cli.command import draw_svg, run
from tests.places import PROOFS
from tests.show.printed import texts
from verify.construct.letterforms.forms import forms
from verify.construct.recipes.near import near
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.pattern.limits import Clock
from verify.pattern.recipe import Recipe
from verify.tasks.recipe_found import RecipeFound
from verify.tasks.recipe_search import Wanted

WINDOW = "10,10 50,10 50,50 10,50"  # corners
SAIL = "10,10 50,10 20,45"
RAYS = [(k, (50, 20)[k % 2]) for k in range(10)]  # the corners of a star: how far from its centre
HULL = "M10 60 H110 L90 85 H30 Z"


def polygon(path: Path, corners: str) -> Path:
    """Draw one on a page 60 mm wide and high; where it is."""
    return draw_svg(path, 60, 60, f'<polygon points="{corners}"/>')


def test_what_is_written_is_certified_again(tmp_path: Path) -> None:
    out, certificate = tmp_path / "kite.toml", tmp_path / "kite.certificate.json"
    done = run("recipe", PROOFS / "recipes" / "kite.toml", "-o", out, "--certificate", certificate)
    assert done.exit_code == 0, done.output
    assert "step 2: Fold " in done.output
    assert "2 folds: no recipe of simple folds is shorter" in done.output
    recipe = verify.load(out)
    assert isinstance(recipe, Recipe)
    assert len(recipe.steps) == 2
    assert verify.certify(recipe).verdict == "certified"
    assert run("audit", out, certificate).exit_code == 0


def test_a_drawing(tmp_path: Path) -> None:
    drawing = polygon(tmp_path / "window.svg", WINDOW)
    done = run("recipe", drawing, "-o", tmp_path / "window.toml", "--json")
    assert done.exit_code == 0, done.output
    answer = json.loads(done.output)
    assert (answer["verdict"], answer["shown"], answer["folds"], answer["layers"]) == ("certified", "shortest", 2, 4)


def test_the_most_forgiving_recipe() -> None:
    """With as few folds as without it."""
    kite = PROOFS / "recipes" / "kite.toml"
    answers = [
        json.loads(run("recipe", kite, "--prefer", prefer, "--json").output)
        for prefer in ("layers", "accuracy", "hands", "fold")
    ]
    assert [(a["verdict"], a["shown"], a["folds"]) for a in answers] == [("certified", "shortest", 2)] * 4


CARP = """
format = "creaseproof-pattern/1"
unit = "cm"
target.loops = [["mouth", "top", "waist1", "tail1", "tail2", "waist2", "belly"]]
sheet.outline = ["sw", "se", "ne", "nw"]
[points]
sw = [0, 0]
se = [16, 0]
ne = [16, 10]
nw = [0, 10]
mouth = [2, 5]
top = [6, 8]
waist1 = [11, 6]
tail1 = [14, 8]
tail2 = [14, 2]
waist2 = [11, 4]
belly = [6, 2]
"""


def test_the_longest_shortest_fold() -> None:
    """Of the recipes of a figure 6 on a card that are compared, the preferred one has the longest shortest fold."""
    document = forms("card")["6"].document()
    plain, preferred = (verify.recipe(document, square=False, prefer=prefer) for prefer in ("layers", "shortest"))
    sizes = [found.result.hands.shortest.size for found in (plain, preferred)]
    assert plain.folds == preferred.folds
    assert sizes[1] >= sizes[0]


def only_so_many_near(number: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """`--near` ends after so many figures, on any machine."""
    monkeypatch.setattr("verify.tasks.recipe.regular_near", lambda *_: [])
    monkeypatch.setattr("verify.tasks.recipe.near_variants", lambda document: islice(near(document), number))


def test_a_triangle_that_no_simple_folds_free(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    drawing = polygon(tmp_path / "sail.svg", SAIL)
    done = run("recipe", drawing, "--margin", "10")
    assert done.exit_code == 3
    assert "none: no straight line across the figure meets its sides only at right angles" in done.output
    assert "that is proved for recipes of any length" in done.output
    answer = json.loads(run("recipe", drawing, "--margin", "10", "--json").output)
    assert (answer["verdict"], answer["shown"], answer["none_by"]) == ("undecided", "none", "theorem")
    assert "--edges` also lets the sheet end at sides of the figure" in done.output
    polygon(drawing, "10,10 50,12 20,45")
    assert "--edges" not in run("recipe", drawing).output  # no side would lie there
    polygon(drawing, SAIL)
    monkeypatch.setattr("verify.tasks.recipe._GLANCE", 1e-9)
    only_so_many_near(1, monkeypatch)
    told = " ".join(run("recipe", drawing, "--margin", "10", "--near", "--seconds", "600").output.split())
    # what is proved of the drawing is not said of figures near it
    assert re.search(r"however many that is proved .* nor was one found in time for any of 1 figure near it", told)
    letter = json.loads(run("recipe", PROOFS / "alphabet" / "F.toml", "--folds", "2", "--json").output)
    assert (letter["shown"], letter["none_by"]) == ("none", "search")


def test_the_sheet_may_end_at_sides_of_the_figure(tmp_path: Path) -> None:
    """A triangle with paper all round has no recipe, one with a side on the sheet's edge takes one fold, along the
    bisector of the corner opposite (a theorem and an example of proofs/theory/searching.md).
    """
    drawing, out = polygon(tmp_path / "sail.svg", SAIL), tmp_path / "sail.toml"
    done = run("recipe", drawing, "-o", out)
    assert done.output.startswith("certified: ")
    assert "takes less paper: the sheet ends at the figure on the" in done.output
    assert "(for the drawing as it is, no recipe was found)" in done.output
    assert "runs along the edge of the sheet at p1–p2: it is cut already" in done.output
    written = verify.load(out)
    assert len(written.steps) == 1
    x, y = zip(*(written.points[name] for name in written.outline), strict=True)
    assert (set(x), set(y)) == ({"0", "60"}, {"5", "50"})
    assert "# moved: the sheet ends at the figure on the top" in out.read_text()
    assert f"`creaseproof recipe {drawing} --margin 10` keeps paper all round" in done.output
    answer = json.loads(run("recipe", drawing, "--json").output)
    assert (answer["edges"], answer["folds"], answer["shown"]) == (["top"], 1, "shortest")
    # a drawn border, a margin that is asked for, a document: the sheet is given, and kept unless --edges is said
    assert run("import", drawing, "-o", tmp_path / "as-drawn.toml").exit_code == 0
    assert run("recipe", tmp_path / "as-drawn.toml").exit_code == 3
    asked = run("recipe", tmp_path / "as-drawn.toml", "--edges").output
    assert asked.startswith("certified: ")
    assert "--margin" not in asked
    assert run("recipe", drawing, "--margin", "5", "--edges").output.startswith("certified: ")


@pytest.mark.parametrize(("corners", "share"), [("10,10 50,12 20,45", 1), (SAIL, 0.6)])
def test_time_is_kept_for_sheets_that_are_there_to_be_tried(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, corners: str, share: float
) -> None:
    """No side of the first triangle would lie on a sheet's edge; of the second one would."""
    left = []

    def none_found(document: Document, wanted: Wanted, clock: Clock, square: bool) -> RecipeFound:
        left.append(clock.left)
        return RecipeFound(document, least=1)

    monkeypatch.setattr("verify.tasks.recipe._found_of", none_found)
    run("recipe", polygon(tmp_path / "sail.svg", corners), "--seconds", "1000")
    assert left[0] == pytest.approx(1000 * share, abs=50)
    assert (len(left) > 1) == (share < 1)


def test_the_next_command_reads_the_drawing_in_the_same_way(tmp_path: Path) -> None:
    """A round window as eight lines, which take three folds (each at most halves them); the text is left out."""
    body = '<circle cx="50" cy="50" r="40"/><text>8</text>'
    drawing = draw_svg(tmp_path / "round window.svg", 100, 100, body)
    how = "--line", "element=text:ignore", "--flatten", 8, "--width", "20cm"
    said = run("recipe", drawing, *how, "--folds", 2).output
    (command,) = re.findall(r"`creaseproof (recipe .* --folds 3)`", said)
    done = run(*shlex.split(command))
    assert done.output.startswith("certified: "), done.output
    assert "the figure is 160 × 160 mm" in done.output


def test_the_next_command_keeps_the_options_that_matter(tmp_path: Path) -> None:
    """A regular star whose ends are 0.45 mm apart, its corners rounded: joined, and made regular, it takes four folds
    (each at most halves its ten lines). Without --join the command that is hinted at would meet an open outline.
    """
    places = [(60 + r * math.sin(k * math.pi / 5), 60 - r * math.cos(k * math.pi / 5)) for k, r in RAYS]
    ends = " ".join(f"{x:.1f},{y:.1f}" for x, y in places)
    drawing = draw_svg(tmp_path / "star.svg", 120, 120, f'<polyline points="{ends} 60.4,10.2"/>')
    how = "--join", "0.8", "--folds", "4", "--seconds", "600", "--prefer", "accuracy"
    said = run("recipe", drawing, *how).output
    (command,) = re.findall(r"`creaseproof (recipe .* --near)`", said)
    assert shlex.split(command)[2:] == [*how, "--near"]
    done = run(*shlex.split(command))
    assert done.output.startswith("certified: "), done.output
    (command,) = re.findall(r"`creaseproof (recipe .* --join .*)` closes", run("recipe", drawing, *how[2:]).output)
    assert shlex.split(command)[2:] == [*how[2:], "--join", "0.6"]


def test_a_figure_that_needs_no_fold_names_the_commands_for_it(tmp_path: Path) -> None:
    """A line from edge to edge of the sheet, and a corner of it: both are certified flat, and printed, as they are."""
    band = '<rect id="page" width="60" height="60"/><path d="M0 10 60 50"/>'
    drawing, document = draw_svg(tmp_path / "band.svg", 60, 60, band), tmp_path / "band.toml"
    border = "--line", "id=page:border"
    done = run("recipe", drawing, *border)
    assert done.exit_code == 3
    assert done.output.splitlines()[-2:] == [
        "  none: the figure lies on one line: cut, without any fold",
        f"  `creaseproof import {drawing} --line id=page:border -o DOCUMENT` writes a document that certify proves and "
        "handout prints",
    ]
    assert run("import", drawing, *border, "-o", document).exit_code == 0
    told = run("recipe", document).output.splitlines()[-1]
    assert told == f"  `creaseproof certify {document}` proves that, `creaseproof handout` prints the sheet"
    assert run("certify", document).output.startswith("certified: ")
    assert run("handout", document, "-o", tmp_path / "band.pdf").output.startswith("certified: ")
    last = texts(tmp_path / "band.pdf")[-1]
    assert "Not proved: that real paper is as thin as the model." in last
    assert "folded state" not in last


def test_no_sheet_helps(tmp_path: Path) -> None:
    """A bolt with paper all round has no recipe (a theorem); none was found where its top or all of its box is the
    sheet's edge.
    """
    drawing = polygon(tmp_path / "bolt.svg", "10,10 22,10 16,25 25,25 10,50 12,30 5,30")
    done = run("recipe", drawing, "--folds", "1")
    assert done.exit_code == 3
    assert "nor was one found for a sheet that ends at sides of the figure (2 sheets tried)" in done.output
    answer = json.loads(run("recipe", drawing, "--folds", "1", "--json").output)
    assert (answer["edges"], answer["sheets"]) == ([], 2)


@pytest.mark.parametrize("command", [("recipe",), ("recipe", "--edges"), ("construct", "-o", "out.toml")])
def test_a_limit_that_is_met_early_is_undecided(command: tuple[str, ...], tmp_path: Path) -> None:
    """Six square roots of primes generate a field of degree 64 (Besicovitch 1940, from memory); 32 is the most."""
    kite = verify.load(PROOFS / "certified" / "kite.toml").keys()
    first = kite["target"]["loops"][0][0]
    far = kite["points"] | {first: ["50+sqrt(2)+sqrt(3)+sqrt(5)", "50+sqrt(7)+sqrt(11)+sqrt(13)"]}
    path = tmp_path / "far.json"
    path.write_text(json.dumps(kite | {"creases": [], "points": far}))
    name, *options = (tmp_path / word if word == "out.toml" else word for word in command)
    done = run(name, path, *options)
    assert done.exit_code == 3
    assert done.output.startswith("undecided: the limit numbers = degree 32 was reached")
    answer = json.loads(run(name, path, *options, "--json").output)
    assert [f["kind"] for f in answer["findings"]] == ["limit-reached"]


def test_fewer_folds_where_the_sheet_ends_at_the_figure(tmp_path: Path) -> None:
    """A house: three folds with paper all round, and two, which is the least for the three lines that are left, where
    it stands on the sheet's edge. With `--edges` alone, for nothing else says that less paper would do.
    """
    drawing = polygon(tmp_path / "house.svg", "10,25 30,5 50,25 50,50 10,50")
    plain = json.loads(run("recipe", drawing, "--json").output)
    fewer = json.loads(run("recipe", drawing, "--edges", "--json").output)
    assert plain["edges"] == []
    assert fewer["edges"]
    assert fewer["folds"] < plain["folds"]
    assert f"for the drawing as it is, {plain['folds']} folds were found" in fewer["why_moved"]


def test_what_names_the_figure_of_a_drawing(tmp_path: Path) -> None:
    """A five-pointed star in one stroke crosses itself; two lines that part the sheet do not."""
    star = polygon(tmp_path / "star.svg", "30,5 45,51 6,22 54,22 15,51")
    said = run("import", star, "-o", tmp_path / "star.toml").output
    assert "an outline crosses itself, so nothing says which piece is the figure: draw its outer edge" in said
    assert "an outline crosses itself" in run("recipe", tmp_path / "star.toml", "--folds", "1").output
    body = '<path id="page" d="M0 0H60V60H0Z"/><path d="M0 20H60"/><path d="M0 40H60"/>'
    lines = draw_svg(tmp_path / "lines.svg", 60, 60, body)
    said = run("import", lines, "-o", tmp_path / "lines.toml", "--line", "id=page:border").output
    assert "draw it as a closed outline" in said
    assert "which piece is the figure: `figure" in run("certify", tmp_path / "lines.toml").output


def test_an_outline_that_is_nearly_closed_is_told_how_to_close(tmp_path: Path) -> None:
    """A sail that ends 0.22 mm beside where it began: said once, with what joins it; nothing else leads on."""
    drawing = tmp_path / "sail.svg"
    path = '<path d="M15 115.2 L15.3 20 L75 115 L15.1 115" fill="none" stroke="black"/>'
    drawing.write_text(f'<svg xmlns="http://www.w3.org/2000/svg" width="90mm" viewBox="0 0 90 130">{path}</svg>')
    done = run("recipe", drawing, "--folds", "2")
    assert done.output.count("the figure is open") == 1
    assert "--near" not in done.output
    assert "nothing says which piece is the figure" not in done.output
    (join,) = re.findall(r"--join (\S+)` closes the outline", done.output)
    assert "the figure is open" not in run("recipe", drawing, "--join", join, "--folds", "2").output


def test_fewer_folds_than_any_recipe_can_have(tmp_path: Path) -> None:
    """Seven sides on seven lines take three folds (2² < 7); in whole centimetres nothing looks like rounding."""
    carp = tmp_path / "carp.toml"
    carp.write_text(CARP)
    done = run("recipe", carp, "--folds", "2")
    assert "none: it takes at least 3 folds, since a fold at most halves the number of lines" in done.output
    assert re.search(r"--folds (4` tries that|3` allows the folds that it takes at least)", done.output)
    assert "rounding" not in done.output
    assert run("recipe", carp, "--folds", "4").output.startswith("certified: ")


def test_where_no_first_crease_can_run_the_corners_are_named(tmp_path: Path) -> None:
    """A gull has a line of symmetry, but no line across half of it; made more regular it still has none."""
    gull = draw_svg(
        tmp_path / "gull.svg", 90, 40, '<path d="M45 20 L57 10 L80 16 L59 18 L45 26 L31 18 L10 16 L33 10 Z"/>'
    )
    done = run("recipe", gull)
    assert done.exit_code == 3
    assert "none: no straight line across the outline at p6 (point 6 of <path> in line" in done.output
    assert "looks like rounding" not in done.output
    assert "--near` also tries to move its points, by at most a sixteenth" in done.output


def test_a_search_cut_short_does_not_say_that_there_is_none(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """When folds of some layers had no time, though others had: `none` would be more than was shown."""
    crown = draw_svg(tmp_path / "crown.svg", 100, 50, '<path d="M50 10 L60 25 L75 5 L80 40 H20 L25 5 L40 25 Z"/>')
    drawing = crown, "--margin", "10"
    monkeypatch.setattr("verify.tasks.recipe_search._SOME", 1e-9)
    done = run("recipe", *drawing)
    assert "then the time was up up to 8 all-layers folds" in " ".join(done.output.split())
    assert "none:" not in done.output
    answer = json.loads(run("recipe", *drawing, "--json").output)
    assert (answer["verdict"], answer["shown"], answer["none_by"]) == ("undecided", "", None)


def test_recipes_that_are_too_thick_are_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A square in two folds and four layers, where no more than two are allowed: what is said next finds it."""
    drawing = polygon(tmp_path / "window.svg", WINDOW)
    flat = drawing, "--margin", "10"
    done = run("recipe", *flat, "--layers", "2", "--folds", "2", "--all-layers")
    assert done.exit_code == 3
    found = re.search(
        r"([0-9]+) recipes? w\w+ found with more layers at the cut than allowed, the fewest 4", done.output
    )
    assert found is not None, done.output
    how = "--margin 10 --folds 2 --all-layers --layers 4"
    assert f"`creaseproof recipe {drawing} {how}` takes one of these" in done.output
    answer = json.loads(run("recipe", *flat, "--layers", "2", "--folds", "2", "--all-layers", "--json").output)
    assert answer["too_thick"] == {"recipes": int(found[1]), "layers": 4}
    only_so_many_near(2, monkeypatch)
    told = run("recipe", *flat, "--layers", "2", "--folds", "2", "--all-layers", "--near", "--seconds", "600")
    how = "--margin 10 --folds 2 --seconds 600 --all-layers --near --layers 4"
    assert f"`creaseproof recipe {drawing} {how}` takes one of these" in told.output
    assert run("recipe", drawing, "--layers", "4").exit_code == 0


def test_of_more_folds_than_allowed_it_is_said_how_many(tmp_path: Path) -> None:
    drawing = polygon(tmp_path / "window.svg", WINDOW)
    done = run("recipe", drawing, "--folds", "1", "--margin", "10")
    assert done.exit_code == 3
    assert "  2 folds, more than allowed, seem to free it: no certificate was tried\n" in done.output
    assert f"`creaseproof recipe {drawing} --margin 10 --folds 2` tries that" in done.output
    assert json.loads(run("recipe", drawing, "--folds", "1", "--margin", "10", "--json").output)["longer"] == 2
    assert run("recipe", drawing, "--folds", "2").exit_code == 0


def test_a_recipe_too_fine_for_hands_names_the_other_way(tmp_path: Path) -> None:
    """A trapezium in six folds of up to ten layers, which `construct` makes of seven creases."""
    drawing = draw_svg(tmp_path / "hull.svg", 120, 100, f'<path d="{HULL}"/>')
    hint = "this is hard for hands: `creaseproof construct` makes a pattern"
    how = ("--folds", 6, "--seconds", 600)  # it ends when all is tried, on a busy machine too
    done = run("recipe", drawing, "--margin", 10, *how)
    assert "warning: creases must be true to" in done.output
    assert hint in " ".join(done.output.split())
    command = f"`creaseproof recipe {drawing} --margin 10 --folds 6 --seconds 600 --edges`"
    assert f"{command} also lets the sheet end at sides of the figure" in done.output
    # its two slanting sides lie on each other after one fold in half; the others may be edges of the sheet
    less = run("recipe", drawing, *how)
    assert "takes less paper: the sheet ends at the figure on the" in less.output
    assert "(for the drawing as it is, 6 folds were found)" in less.output
    assert "1 fold: no recipe of simple folds is shorter" in less.output
    assert hint not in less.output
    assert hint not in run("recipe", PROOFS / "recipes" / "kite.toml").output


def test_none_is_undecided_and_writes_nothing(tmp_path: Path) -> None:
    out = tmp_path / "f.toml"
    done = run("recipe", PROOFS / "alphabet" / "F.toml", "-o", out, "--all-layers")
    assert done.exit_code == 3
    assert "none: the figure has no line of symmetry" in done.output
    assert not out.exists()


def test_the_target_is_not_overwritten(tmp_path: Path) -> None:
    target = tmp_path / "kite.toml"
    before = (PROOFS / "recipes" / "kite.toml").read_bytes()
    target.write_bytes(before)
    done = run("recipe", target, "-o", target)
    assert done.exit_code == 2
    assert "found what this command reads" in done.output
    assert target.read_bytes() == before


def begun(name: str, steps: int, folder: Path) -> Path:
    """The first steps of a recipe of the corpus, without the others."""
    recipe = verify.load(PROOFS / "recipes" / f"{name}.toml")
    keys = recipe.keys()
    path = folder / f"{name}-{steps}.toml"
    verify.write(verify.read(keys | {"steps": keys["steps"][:steps]}), path)
    return path


def test_stuck_says_no_more_than_is_asked(tmp_path: Path) -> None:
    house, start = PROOFS / "recipes" / "house.toml", begun("house", 1, tmp_path)
    said = {
        tell: run("recipe", house, "--after", start, "--tell", tell) for tell in ("lines", "spoilt", "enough", "next")
    }
    lines = ["the outline lies on 3 lines; the next fold can leave 2 at best, so at least 2 more folds are needed"]
    assert said["lines"].output.splitlines() == lines
    lines.append("all layers that lie together agree on where to cut")
    assert said["spoilt"].output.splitlines() == lines
    lines.append("2 more folds are enough")
    assert said["enough"].output.splitlines() == lines
    assert said["next"].output.splitlines()[:3] == lines
    assert [line[:7] for line in said["next"].output.splitlines()[3:]] == ["step 2:"]
    assert [done.exit_code for done in said.values()] == [3, 3, 3, 0]


def test_a_hint_from_the_flat_sheet(tmp_path: Path) -> None:
    """The first fold that is told is one after which the others are told to be enough."""
    house = PROOFS / "recipes" / "house.toml"
    done = run("recipe", house, "--tell", "next")
    assert done.exit_code == 0, done.output
    *_, enough, step = done.output.splitlines()
    assert enough == "3 more folds are enough"
    assert step.startswith("step 1: Fold in half, the left edge (")
    assert f"  {step} [" in run("recipe", house).output  # word for word: the same part goes the same way
    assert run("recipe", house, "--tell", "lines").output.splitlines() == done.output.splitlines()[:1]
    out = tmp_path / "whole.toml"
    assert run("recipe", house, "--tell", "all", "-o", out).exit_code == 0
    assert len(verify.load(out).steps) == 3
    flat = PROOFS / "certified" / "map-3x3.toml"
    assert "no target" in run("recipe", flat, "--tell", "lines").output


def test_stuck_and_all_of_it(tmp_path: Path) -> None:
    out = tmp_path / "whole.toml"
    done = run(
        "recipe", PROOFS / "recipes" / "house.toml", "--after", begun("house", 1, tmp_path), "--tell", "all", "-o", out
    )
    assert done.exit_code == 0, done.output
    whole, first = verify.load(out), verify.load(PROOFS / "recipes" / "house.toml")
    assert isinstance(whole, Recipe)
    assert isinstance(first, Recipe)
    assert whole.steps[0] == first.steps[0]
    assert len(whole.steps) == 3
    assert f"after {tmp_path / 'house-1.toml'}: 2 folds: " in done.output
    assert verify.certify(whole).verdict == "certified"


def test_stuck_with_layers_that_disagree(tmp_path: Path) -> None:
    letter = PROOFS / "recipes" / "letter-t.toml"
    done = run("recipe", letter, "--after", begun("letter-t", 2, tmp_path), "--tell", "spoilt")
    assert "and lies there on blank paper" in done.output
    assert "no further fold of all layers can help" in done.output
    done = run("recipe", letter, "--after", begun("letter-t", 2, tmp_path), "--tell", "next", "--json")
    answer = json.loads(done.output)
    assert answer["verdict"] == "certified"
    assert answer["lines"] == 4
    assert answer["words"][2] == "3 more folds are enough"


FISH = """format = "creaseproof-recipe/1"
[points]
nose = [40, 100]
top = [80, 130]
waist = [120, 110]
high = [160, 130]
low = [160, 70]
belly = [120, 90]
keel = [80, 70]
sw = [30, 60]
se = [170, 60]
ne = [170, 140]
nw = [30, 140]
[sheet]
outline = ["sw", "se", "ne", "nw"]
[target]
loops = [["nose", "top", "waist", "high", "low", "belly", "keel"]]
[cut]
snips = 1
[[steps]]
"""


def test_a_hint_says_where_a_mark_is_that_an_earlier_crease_makes(tmp_path: Path) -> None:
    """Folded in half along its line of symmetry, y = 100, which the side from (160, 130) to (160, 70) crosses."""
    path = tmp_path / "fish.toml"
    path.write_text(FISH + 'fold = { line = ["ne", "nw"], onto = ["se", "sw"] }\nmoves = "ne"\n')
    done = run("recipe", path, "--after", path, "--tell", "next")
    where = re.search(r"from step 1: (\S+) is where the crease crosses side high–low", done.output)
    assert where is not None, done.output
    assert where[1] in done.output.splitlines()[-1]


def test_a_place_that_is_said_to_be_blank_is_none_of_the_outline(tmp_path: Path) -> None:
    """Folded in half across, the middle of the side at x = 160 comes to lie on the nose, a corner of the outline."""
    path = tmp_path / "fish.toml"
    path.write_text(FISH + 'fold = { point = "sw", onto = "se" }\nmoves = "sw"\n')
    done = run("recipe", path, "--after", path, "--tell", "spoilt")
    assert "on blank paper, at (40, " in done.output
    assert "(40, 100)" not in done.output


def test_stuck_after_steps_that_turn_mark_and_unfold(tmp_path: Path) -> None:
    """Half a star, folded as its recipe does with guide creases and marks."""
    star = PROOFS / "recipes" / "star-exact.toml"
    done = run("recipe", star, "--after", begun("star-exact", 16, tmp_path), "--tell", "next")
    assert done.exit_code == 0, done.output
    assert "1 more fold is enough" in done.output
    gulls = PROOFS / "recipes" / "gulls-turned.toml"
    done = run("recipe", gulls, "--after", begun("gulls-turned", 4, tmp_path), "--tell", "next")
    assert "the outline lies on 2 lines" in done.output
    assert "1 more fold is enough" in done.output


def test_stuck_with_a_recipe_that_has_no_target_yet(tmp_path: Path) -> None:
    """The folds alone, with marks of its own; the target, and what of it is the figure, come from the other
    document.
    """
    house = verify.load(PROOFS / "recipes" / "house.toml")
    keys = house.keys()
    for key in ("target", "cut"):
        keys.pop(key, None)
    fold = {"fold": {"point": "west", "onto": "east"}, "moves": "west"}
    names = ("sw", "se", "ne", "nw")
    points = {name: keys["points"][name] for name in names} | {"west": [0, 75], "east": [150, 75], "ridge": [75, 10]}
    start, target = tmp_path / "start.toml", tmp_path / "target.toml"
    verify.write(verify.read(keys | {"points": points, "steps": [fold]}), start)
    plain = house.keys() | {"format": "creaseproof-pattern/1"}
    del plain["steps"]
    plain["points"] |= {"inside": [75, 60]}
    plain["target"] |= {"figure": ["inside"]}
    verify.write(verify.read(plain), target)
    out = tmp_path / "whole.toml"
    done = run("recipe", target, "--after", start, "--tell", "all", "-o", out)
    assert done.exit_code == 0, done.output
    whole = verify.load(out)
    assert isinstance(whole, Recipe)
    assert whole.base.figure == ("inside",)
    assert "target-ridge" in whole.base.points
    assert len(whole.steps) == 3


def test_stuck_at_the_end_or_on_another_sheet(tmp_path: Path) -> None:
    house = PROOFS / "recipes" / "house.toml"
    done = run("recipe", house, "--after", house)
    assert done.output.splitlines() == ["the outline lies on one line, and nothing else does: cut"]
    done = run("recipe", PROOFS / "recipes" / "kite.toml", "--after", house)
    assert done.exit_code == 2
    assert "found another sheet" in done.output
    assert "a recipe with a target may be the TARGET, too" in done.output  # as above


def test_stuck_after_a_fold_that_this_version_does_not_decide() -> None:
    house, cubic = PROOFS / "recipes" / "house.toml", PROOFS / "recipes-refused" / "cubic.toml"
    done = run("recipe", house, "--after", cubic, "--tell", "lines")
    assert done.exit_code == 4
    assert "two points onto two lines at once: a cubic equation, which this version does not decide" in done.output


@pytest.mark.parametrize(
    ("name", "why"),
    [
        ("certified/map-3x3.toml", "the document has no target to find a recipe for"),
        ("certified/cord-slots.toml", "the document allows 2 snips; a recipe is found for one complete straight cut"),
    ],
)
def test_a_document_for_which_there_is_nothing_to_find(name: str, why: str) -> None:
    done = run("recipe", PROOFS / name)
    assert done.exit_code == 4
    assert done.output.splitlines()[-1] == f"  {why}"


def test_options_that_do_not_go_together() -> None:
    house = PROOFS / "recipes" / "house.toml"
    for options, words in (
        (("--tell", "next", "--near"), "--near moves the figure, and --tell speaks of it as it is"),
        (("--after", house, "--near"), "expected one of them"),
    ):
        done = run("recipe", house, *options)
        assert done.exit_code == 2
        assert words in done.output


def _rounded_star() -> str:
    """The corners of a regular five-point star, one of them up, rounded to 0.01 mm as drawing programs do."""
    places = [cmath.rect(60 if k % 2 == 0 else 60 * 0.381966, math.pi / 2 + k * math.pi / 5) for k in range(10)]
    return " ".join(f"{80 + z.real:.2f},{80 - z.imag:.2f}" for z in places)


def test_a_rounded_star_is_folded_as_the_regular_one_that_was_meant(tmp_path: Path) -> None:
    """The regular star takes four simple folds (as in the corpus); as drawn it has none so short. What the plain
    search says next is the command that finds it.
    """
    drawing, out = tmp_path / "star.svg", tmp_path / "star.toml"
    draw_svg(drawing, 160, 160, f'<polygon points="{_rounded_star()}"/>')
    plain = run("recipe", drawing, "--folds", "4", "--seconds", "600")
    assert plain.exit_code == 3
    near = (
        f"`creaseproof recipe {drawing} --folds 4 --seconds 600 --near` also tries to move its points, by at most 0.0"
    )
    assert f"this looks like rounding: {near}" in plain.output
    done = run("recipe", drawing, "--near", "--folds", "4", "--seconds", "600", "-o", out)
    assert done.exit_code == 0, done.output
    assert "4 folds" in done.output
    assert "its points, by at most 0.0" in done.output
    assert out.read_text().splitlines()[1].startswith("# moved: its points, by at most 0.0")
    recipe = verify.load(out)
    assert isinstance(recipe, Recipe)
    places = draw(recipe.base).places
    radii = [math.hypot(float(places[p].x) - 80, float(places[p].y) - 80) for p in recipe.base.loops[0]]
    assert all(radius == pytest.approx(60 if radius > 40 else 22.918, abs=0.1) for radius in radii)
    assert verify.certify(recipe).verdict == "certified"


def test_a_document_without_a_title_is_named_once(tmp_path: Path) -> None:
    """F has no recipe of all-layers folds; its file stands for its title."""
    drawn = (PROOFS / "alphabet" / "F.toml").read_text().splitlines()
    target = tmp_path / "plain.toml"
    target.write_text("\n".join(line for line in drawn if not line.startswith("title")))
    done = run("recipe", target, "--all-layers")
    assert done.exit_code == 3
    assert done.output.count("plain.toml\n") == 1
