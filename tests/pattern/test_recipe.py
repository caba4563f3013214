"""Recipe documents: what is read, what is refused and where, and the digest."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

import verify
from tests.places import PROOFS
from tests.profiles import examples
from verify.kernel.reading import Rejected
from verify.kernel.statement import read_document
from verify.pattern.document import Document
from verify.pattern.recipe import Alignment, FoldStep, MarkStep, Recipe, TurnStep, UnfoldStep, load_any, read_any
from verify.pattern.source import Malformed
from verify.pattern.write import to_toml, write
from verify.words.step_words import plain_words

CORPUS = sorted(p for p in (PROOFS / "recipes").iterdir() if p.is_file())

Keys = dict[str, Any]

TOML = """format = "creaseproof-recipe/1"
title = "A strip in half"

[points]
a = [0, 0]
b = [10, 0]
c = [10, "2*sqrt(2)"]
d = [0, "2*sqrt(2)"]

[sheet]
outline = ["a", "b", "c", "d"]

[[steps]]
fold = { point = "a", onto = "b" }
moves = "a"

[[steps]]
unfold = 1
"""


def keys(*steps: Any, **more: Any) -> Keys:
    """A square with four corners and a point in its middle."""
    return {
        "format": "creaseproof-recipe/1",
        "points": {"a": [0, 0], "b": [8, 0], "c": [8, 8], "d": [0, 8], "m": [4, 4]},
        "sheet": {"outline": ["a", "b", "c", "d"]},
        "steps": list(steps),
        **more,
    }


def read(document: Keys) -> Recipe:
    recipe = read_any(document)
    assert isinstance(recipe, Recipe)
    return recipe


THROUGH = {"through": ["a", "c"]}
FOLD = {"fold": THROUGH, "moves": "b"}
TARGET = {"paths": [["a", "m"]]}


ALIGNMENTS: dict[str, tuple[Keys, Alignment]] = {
    "through": ({"through": ["a", "c"]}, Alignment("through", ("a", "c"))),
    "point onto point": ({"point": "a", "onto": "c"}, Alignment("point-onto-point", ("a", "c"))),
    "line onto line": ({"line": ["a", "b"], "onto": ["a", "d"]}, Alignment("line-onto-line", ("a", "b", "a", "d"))),
    "square": ({"square": ["a", "b"], "through": "m"}, Alignment("square", ("a", "b", "m"))),
    "first landing": (
        {"point": "a", "onto": ["b", "c"], "through": "m", "landing": "first"},
        Alignment("point-onto-line", ("a", "b", "c", "m"), "first"),
    ),
    "second landing": (
        {"point": "a", "onto": ["b", "c"], "through": "m", "landing": "second"},
        Alignment("point-onto-line", ("a", "b", "c", "m"), "second"),
    ),
    "point onto line, square": (
        {"point": "a", "onto": ["b", "c"], "square": ["a", "m"]},
        Alignment("point-onto-line-square", ("a", "b", "c", "a", "m")),
    ),
    "the cubic one": (
        {"points": ["a", "m"], "onto": [["b", "c"], ["c", "d"]]},
        Alignment("two-points-onto-two-lines", ("a", "m", "b", "c", "c", "d")),
    ),
}


@pytest.mark.parametrize(("written", "expected"), ALIGNMENTS.values(), ids=ALIGNMENTS)
def test_every_alignment(written: Keys, expected: Alignment) -> None:
    recipe = read(keys({"fold": written, "moves": "a"}, cut={"along": written}))
    (step,) = recipe.steps
    assert step == FoldStep(expected, "a", "over", "all")
    assert recipe.along == expected
    for mark in expected.marks:
        assert mark in plain_words(step)


def test_every_step() -> None:
    recipe = read(
        keys(
            FOLD,
            {"mark": "x", "crossing": [1, ["b", "d"]]},
            {"mark": "y", "crossing": [["a", "x"], ["c", "d"]], "on": "x"},
            {"fold": {"through": ["x", "y"]}, "moves": "d", "direction": "behind", "layers": 2},
            {"unfold": 2},
            {"turn": "over"},
            {"fold": {"point": "x", "onto": "a"}, "moves": "x", "layers": "flap"},
        )
    )
    assert recipe.steps == (
        FoldStep(Alignment("through", ("a", "c")), "b", "over", "all"),
        MarkStep("x", (1, ("b", "d")), None),
        MarkStep("y", (("a", "x"), ("c", "d")), "x"),
        FoldStep(Alignment("through", ("x", "y")), "d", "behind", 2),
        UnfoldStep(2),
        TurnStep(),
        FoldStep(Alignment("point-onto-point", ("x", "a")), "x", "over", "flap"),
    )
    assert recipe.places == tuple(f"steps[{i}]" for i in range(7))
    for step in recipe.steps:
        assert plain_words(step)


def test_defaults() -> None:
    plain = read(keys(FOLD))
    said = read(keys(FOLD | {"direction": "over", "layers": "all"}))
    assert plain.steps == said.steps
    assert plain.statement_sha256 != said.statement_sha256  # the statement has the steps as they are written
    assert (plain.title, plain.unit, plain.has_target, plain.claims, plain.along) == (
        "",
        "mm",
        False,
        ("folds-flat",),
        None,
    )
    with_target = read(keys(FOLD, target=TARGET))
    assert with_target.base.snips == 1
    assert with_target.claims == ("folds-flat", "cut-exact")
    assert with_target.statement()["cut"] == {"snips": 1}
    assert read(keys(FOLD, target=TARGET, cut={"snips": 1})).statement_sha256 == with_target.statement_sha256
    assert read(keys(FOLD, target=TARGET, cut={"snips": 2})).base.snips == 2
    assert read(keys(FOLD, cut={})).statement()["cut"] is None
    assert read(keys(FOLD, cut={"along": THROUGH})).statement()["cut"] == {"along": THROUGH}
    assert read(keys(FOLD, target=TARGET, cut={"along": THROUGH})).statement()["cut"] == {"along": THROUGH, "snips": 1}


def test_each_stands_for_as_many_steps() -> None:
    alike = {"fold": {"point": "?", "onto": "m"}, "moves": "?", "layers": 1, "each": ["a", "b", "c"]}
    recipe = read(keys(alike, {"mark": "x", "crossing": [3, ["a", "b"]]}))
    assert [plain_words(s) for s in recipe.steps[:3]] == [
        plain_words(s)
        for s in read(keys(*({"fold": {"point": p, "onto": "m"}, "moves": p, "layers": 1} for p in "abc"))).steps
    ]
    assert recipe.places == ("steps[0]", "steps[0]", "steps[0]", "steps[1]")
    assert len(recipe.written) == 2
    assert recipe.statement()["steps"][0] == alike
    # the mark may stand for what moves alone, or for part of the alignment alone
    assert [
        s.moves
        for s in read(keys({"fold": THROUGH, "moves": "?", "each": ["b", "d"]})).steps
        if isinstance(s, FoldStep)
    ] == ["b", "d"]
    squares = read(keys({"fold": {"square": ["a", "b"], "through": "?"}, "moves": "b", "each": ["m"]}))
    assert squares.steps == (FoldStep(Alignment("square", ("a", "b", "m")), "b"),)


def test_a_question_mark_is_an_ordinary_name_without_each() -> None:
    document = keys({"fold": {"point": "?", "onto": "m"}, "moves": "?"})
    document["points"]["?"] = [1, 2]
    (step,) = read(document).steps
    assert isinstance(step, FoldStep)
    assert (step.moves, step.alignment.marks) == ("?", ("?", "m"))
    with pytest.raises(Malformed):
        read(keys({"fold": {"point": "?", "onto": "m"}, "moves": "a"}))


def test_two_hundred_steps_and_no_more() -> None:
    assert len(read(keys(*[{"turn": "over"}] * 200)).steps) == 200
    with pytest.raises(Malformed) as error:
        read(keys(*[{"turn": "over"}] * 201))
    assert error.value.place == "steps[200]"
    assert error.value.expected == "at most 200"
    # expanded steps count
    alike = {"fold": {"point": "?", "onto": "m"}, "moves": "?", "each": ["a", "b"] * 50}
    assert len(read(keys(alike, alike)).steps) == 200
    with pytest.raises(Malformed) as error:
        read(keys(alike, alike, FOLD))
    assert error.value.place == "steps[2]"


FAULTS: dict[str, tuple[Keys, str, str, str]] = {
    # place, found (a part of it), expected (a part of it)
    "no steps": ({k: v for k, v in keys().items() if k != "steps"}, "steps", "nothing", 'the key "steps"'),
    "empty steps": (keys(), "steps", "[]", "at least one step"),
    "steps a table": (keys() | {"steps": FOLD}, "steps", "a table", "a list"),
    "steps a text": (keys() | {"steps": "fold"}, "steps", '"fold"', "a list"),
    "creases": (keys(FOLD, creases=[]), "creases", "creases", "format, points, sheet, steps"),
    "unknown key": (keys(FOLD, colour="red"), "colour", 'unknown key "colour"', "format, points, sheet, steps"),
    "no points": (keys(FOLD) | {"points": {}}, "points", "a table", "a line name"),
    "outline of an unknown point": (keys(FOLD) | {"sheet": {"outline": ["a", "b", "z"]}}, "sheet.outline", '"z"',
        "a name listed"),
    "outline of a mark": (keys({"mark": "x",
        "crossing": [["a", "c"], ["b", "d"]]}) | {"sheet": {"outline": ["a", "b", "x"]}}, "sheet.outline", '"x"',
            "a name"),
    "target of a mark": (keys({"mark": "x", "crossing": [["a", "c"], ["b", "d"]]}, target={"paths": [["a", "x"]]}),
        "target.paths[0]", '"x"', "a name"),
    "empty target": (keys(FOLD, target={}), "target", "no line", "at least one"),
    "snips without target": (keys(FOLD, cut={"snips": 1}), "cut", "a cut without a target", "[target]"),
    "snips 0": (keys(FOLD, target=TARGET, cut={"snips": 0}), "cut.snips", "0", "from 1 up"),
    "cut null": (keys(FOLD, target=TARGET, cut=None), "cut", "nothing", "a table"),
    "cut a list": (keys(FOLD, target=TARGET, cut=[1]), "cut", "[1]", "a table"),
    "unknown key in cut": (keys(FOLD, target=TARGET, cut={"along": THROUGH, "with": 1}), "cut.with", '"with"',
        "snips, along"),
    "along beside two snips": (keys(FOLD, target=TARGET, cut={"along": THROUGH, "snips": 2}), "cut.snips", "2",
        '1 (or nothing) beside "along"'),
    "along of an unknown mark": (keys(FOLD, cut={"along": {"through": ["a", "z"]}}), "cut.along.through", '"z"',
        "marked by an earlier step"),
    "along a text": (keys(FOLD, cut={"along": "ac"}), "cut.along", '"ac"', "an alignment"),
    "step a text": (keys("fold"), "steps[0]", '"fold"', "fold, mark, unfold, turn"),
    "step a list": (keys(FOLD, ["turn", "over"]), "steps[1]", '["turn", "over"]', "fold, mark, unfold, turn"),
    "step without a kind": (keys({"moves": "a"}), "steps[0]", "moves", "one of the keys fold, mark, unfold, turn"),
    "fold misspelled": (keys({"fald": THROUGH, "moves": "b"}), "steps[0]", "fald and moves", '(perhaps "fold")'),
    "step of two kinds": (keys({"fold": THROUGH, "moves": "b", "unfold": 1}), "steps[0]", "fold and unfold",
        "one of the keys"),
    "empty step": (keys({}), "steps[0]", "nothing in it", "one of the keys"),
    "fold without moves": (keys({"fold": THROUGH}), "steps[0].moves", "nothing", 'the key "moves"'),
    "fold with crossing": (keys(FOLD | {"crossing": [1, 2]}), "steps[0].crossing", '"crossing"',
        "fold, moves, direction, layers, each"),
    "turn with moves": (keys({"turn": "over", "moves": "a"}), "steps[0].moves", '"moves"', "turn"),
    "unfold with layers": (keys(FOLD, {"unfold": 1, "layers": 1}), "steps[1].layers", '"layers"', "unfold"),
    "mark with direction": (keys({"mark": "x", "crossing": [["a", "c"], ["b", "d"]], "direction": "over"}),
        "steps[0].direction", '"direction"', "mark, crossing, on"),
    "moves an unknown mark": (keys({"fold": THROUGH, "moves": "z"}), "steps[0].moves", '"z"',
        "marked by an earlier step"),
    "moves almost a mark": (keys({"fold": THROUGH, "moves": "mm"}), "steps[0].moves", '"mm"', 'perhaps "m"'),
    "moves a number": (keys({"fold": THROUGH, "moves": 1}), "steps[0].moves", "1", "name of a point"),
    "moves two marks": (keys({"fold": THROUGH, "moves": ["a", "b"]}), "steps[0].moves", '["a", "b"]',
        "name of a point"),
    "a mark of a later step": (keys({"fold": {"through": ["a", "x"]}, "moves": "b"},
        {"mark": "x", "crossing": [["a", "c"], ["b", "d"]]}), "steps[0].fold.through", '"x"', "earlier step"),
    "direction": (keys(FOLD | {"direction": "under"}), "steps[0].direction", '"under"', '"over" or "behind"'),
    "direction a list": (keys(FOLD | {"direction": []}), "steps[0].direction", "[]", '"over" or "behind"'),
    "layers 0": (keys(FOLD | {"layers": 0}), "steps[0].layers", "0", "from 1 up"),
    "layers -1": (keys(FOLD | {"layers": -1}), "steps[0].layers", "-1", "from 1 up"),
    "layers true": (keys(FOLD | {"layers": True}), "steps[0].layers", "true", "from 1 up"),
    "layers a text": (keys(FOLD | {"layers": "two"}), "steps[0].layers", '"two"', '"all", "flap", or how many'),
    "layers a list": (keys(FOLD | {"layers": [1]}), "steps[0].layers", "[1]", "from 1 up"),
    "layers one half": (keys(FOLD | {"layers": Fraction(1, 2)}), "steps[0].layers", "1/2", ""),
    "layers nothing": (keys(FOLD | {"layers": None}), "steps[0].layers", "nothing", ""),
    "each empty": (keys({"fold": THROUGH, "moves": "?", "each": []}), "steps[0].each", "[]", "a list of marks"),
    "each a text": (keys({"fold": THROUGH, "moves": "?", "each": "ab"}), "steps[0].each", '"ab"', "a list of marks"),
    "each of an unknown mark": (keys({"fold": THROUGH, "moves": "?", "each": ["a", "z"]}), "steps[0].each", '"z"',
        "earlier step"),
    "each without a place for it": (keys(FOLD | {"each": ["a", "b"]}), "steps[0].each", 'no "?"', '"?"'),
    "unfold 0": (keys(FOLD, {"unfold": 0}), "steps[1].unfold", "0", "from 1 up"),
    "unfold true": (keys(FOLD, {"unfold": True}), "steps[1].unfold", "true", "from 1 up"),
    "unfold all": (keys(FOLD, {"unfold": "all"}), "steps[1].unfold", '"all"', "from 1 up"),
    "turn round": (keys({"turn": "round"}), "steps[0].turn", '"round"', '"over"'),
    "turn true": (keys({"turn": True}), "steps[0].turn", "true", '"over"'),
    "mark without crossing": (keys({"mark": "x"}), "steps[0].crossing", "nothing", 'the key "crossing"'),
    "mark a number": (keys({"mark": 3, "crossing": [["a", "c"], ["b", "d"]]}), "steps[0].mark", "3", "a new name"),
    "mark without a name": (keys({"mark": "", "crossing": [["a", "c"], ["b", "d"]]}), "steps[0].mark", '""',
        "a new name"),
    "name of a point": (keys({"mark": "a", "crossing": [["a", "c"], ["b", "d"]]}), "steps[0].mark",
        'the name "a" again', "not taken"),
    "name of a mark": (keys(*[{"mark": "x", "crossing": [["a", "c"], ["b", "d"]]}] * 2), "steps[1].mark",
        'the name "x" again', "not taken"),
    "one line": (keys({"mark": "x", "crossing": [["a", "c"]]}), "steps[0].crossing", '[["a", "c"]]', "two lines"),
    "three lines": (keys(FOLD, {"mark": "x", "crossing": [1, 1, 1]}), "steps[1].crossing", "[1, 1, 1]", "two lines"),
    "line of three marks": (keys({"mark": "x", "crossing": [["a", "b", "c"], ["b", "d"]]}), "steps[0].crossing",
        '["a", "b", "c"]', "two marks"),
    "line of a later step": (keys({"mark": "x", "crossing": [2, ["b", "d"]]}, FOLD), "steps[0].crossing", "step 2",
        "an earlier fold step"),
    "line of the step itself": (keys(FOLD, {"mark": "x", "crossing": [2, ["b", "d"]]}), "steps[1].crossing", "step 2",
        "an earlier fold step"),
    "line of a turn": (keys({"turn": "over"}, {"mark": "x", "crossing": [1, ["b", "d"]]}), "steps[1].crossing",
        "step 1", "an earlier fold step"),
    "line of step 0": (keys(FOLD, {"mark": "x", "crossing": [0, ["b", "d"]]}), "steps[1].crossing", "0", "from 1 up"),
    "line a text": (keys(FOLD, {"mark": "x", "crossing": ["ac", 1]}), "steps[1].crossing", '"ac"', "from 1 up"),
    "on an unknown mark": (keys({"mark": "x", "crossing": [["a", "c"], ["b", "d"]], "on": "z"}), "steps[0].on", '"z"',
        "earlier step"),
    "on itself": (keys({"mark": "x", "crossing": [["a", "c"], ["b", "d"]], "on": "x"}), "steps[0].on", '"x"',
        "earlier step"),
    "alignment a text": (keys({"fold": "ac", "moves": "a"}), "steps[0].fold", '"ac"', "an alignment such as"),
    "alignment a list": (keys({"fold": ["a", "c"], "moves": "a"}), "steps[0].fold", '["a", "c"]',
        "an alignment such as"),
    "alignment empty": (keys({"fold": {}, "moves": "a"}), "steps[0].fold", "the keys ", "{through}"),
    "point alone": (keys({"fold": {"point": "a"}, "moves": "a"}), "steps[0].fold", "only the key point",
        "{point, onto}, {point, onto, through, landing} or {point, onto, square}"),
    "one key too many": (keys({"fold": {"through": ["a", "c"], "onto": "b"}, "moves": "a"}), "steps[0].fold",
        "the keys onto, through", "{point, onto, through, landing}"),
    "landing left out": (keys({"fold": {"point": "a", "onto": ["b", "c"], "through": "m"}, "moves": "a"}),
        "steps[0].fold", "the keys onto, point, through", "landing"),
    "landing beside a point": (keys({"fold": {"point": "a", "onto": "b", "landing": "first"}, "moves": "a"}),
        "steps[0].fold", "the keys landing, onto, point", "landing"),
    "landing third": (keys({"fold": {"point": "a", "onto": ["b", "c"], "through": "m", "landing": "third"},
        "moves": "a"}), "steps[0].fold.landing", '"third"', '"first" or "second"'),
    "landing 1": (keys({"fold": {"point": "a", "onto": ["b", "c"], "through": "m", "landing": 1}, "moves": "a"}),
        "steps[0].fold.landing", "1", '"first" or "second"'),
    "point onto a line without more": (keys({"fold": {"point": "a", "onto": ["b", "c"]}, "moves": "a"}),
        "steps[0].fold.onto", '["b", "c"]', "name of a point"),
    "line onto a point": (keys({"fold": {"line": ["a", "b"], "onto": "c"}, "moves": "a"}), "steps[0].fold.onto", '"c"',
        "two marks"),
    "through one mark": (keys({"fold": {"through": ["a"]}, "moves": "a"}), "steps[0].fold.through", '["a"]',
        "two marks"),
    "through a name": (keys({"fold": {"through": "ac"}, "moves": "a"}), "steps[0].fold.through", '"ac"', "two marks"),
    "square through two": (keys({"fold": {"square": ["a", "b"], "through": ["c", "d"]}, "moves": "a"}),
        "steps[0].fold.through", '["c", "d"]', "name of a point"),
    "points onto one line": (keys({"fold": {"points": ["a", "b"], "onto": [["c", "d"]]}, "moves": "a"}),
        "steps[0].fold.onto", '[["c", "d"]]', "two lines"),
    "points onto marks": (keys({"fold": {"points": ["a", "b"], "onto": ["c", "d"]}, "moves": "a"}),
        "steps[0].fold.onto", '"c"', "two marks"),
}  # fmt: skip


@pytest.mark.parametrize(("document", "place", "found", "expected"), FAULTS.values(), ids=FAULTS)
def test_faults(document: Keys, place: str, found: str, expected: str) -> None:
    with pytest.raises(Malformed) as error:
        read_any(document)
    assert error.value.place == place
    assert found in error.value.found
    assert expected in error.value.expected
    assert "document" in str(error.value)
    if found in ("1/2", 'no "?"'):  # JSON has no fractions; and a step alike for several marks does no harm
        return
    with pytest.raises(Rejected):
        read_document(json.dumps(document).encode(), False)


@pytest.mark.parametrize(
    ("old", "new", "place", "line"),
    [
        ('moves = "a"', 'moves = "z"', "steps[0].moves", 13),
        ("unfold = 1", "unfold = 0", "steps[1].unfold", 17),
        ("unfold = 1", "unfold = 1\nextra = 2", "steps[1].extra", 17),
        ('onto = "b"', 'onto = "zz"', "steps[0].fold.onto", 13),
        ('title = "A strip in half"', "steps = 1", "steps", 2),
        ('format = "creaseproof-recipe/1"', 'format = "creaseproof-recipe/2"', "format", 1),
        ("[sheet]", "[sheets]", "sheets", TOML[: TOML.index("[sheet]")].count("\n") + 1),
    ],
)
def test_the_line_of_a_fault(old: str, new: str, place: str, line: int) -> None:
    assert TOML.count(old) == 1
    text = TOML.replace(old, new)
    if old.startswith("title"):
        text = text[: text.index("[[steps]]")]
    with pytest.raises(Malformed) as error:
        read_any(text, source="strip.toml")
    assert (error.value.place, error.value.line) == (place, line)
    counted = {"steps[0]": "step 1, ", "steps[1]": "step 2, "}.get(place[:8], "")
    assert str(error.value).startswith(f"strip.toml: {counted}{place} (line {line}): found ")


@pytest.mark.parametrize("times", [1, 2])
def test_steps_in_single_brackets(times: int) -> None:
    """In TOML `[steps]` is one table, and twice the reader refuses it; `[[steps]]` is a list of tables (TOML 1.0)."""
    head = TOML[: TOML.index("[[steps]]")]
    with pytest.raises(Malformed) as error:
        read_any(head + "[steps]\nunfold = 1\n" * times, source="strip.toml")
    assert error.value.expected == "[[steps]] above each step, with two brackets"
    assert error.value.line is not None


def test_half_a_character_is_no_name_of_a_mark() -> None:
    point = keys(FOLD)
    point["points"]["\ud800"] = [1, 1]
    with pytest.raises(Malformed):
        read_any(point)
    with pytest.raises(Malformed):
        read_any(keys({"mark": "\ud800", "crossing": [["a", "c"], ["b", "d"]]}))


@pytest.mark.parametrize("layers", [1, 999_999, 1_000_000, 10**1000 - 1])
def test_any_whole_number_of_layers_from_1_up(layers: int) -> None:
    """SPECIFICATION §10.1: an integer ≥ 1; §1: at most 1,000 digits. More layers than there are is for the folding to
    refuse.
    """
    recipe = read(keys(FOLD | {"layers": layers}))
    assert recipe.steps[0] == FoldStep(Alignment("through", ("a", "c")), "b", "over", layers)
    assert kernel_digest(recipe) == recipe.statement_sha256
    assert (verify.certify(recipe).verdict == "certified") == (layers == 1)


@pytest.mark.parametrize("layers", [0, -1, 10**1000, True, 1.5])
def test_no_such_number_of_layers(layers: object) -> None:
    with pytest.raises(Malformed) as error:
        read(keys(FOLD | {"layers": layers}))
    assert error.value.place == "steps[0].layers"
    assert "a whole number" in error.value.expected


def test_unfolding_a_million_is_more_than_there_are() -> None:
    """SPECIFICATION §10.2: there must be so many folds, else the document is malformed."""
    with pytest.raises(Malformed) as error:
        read(keys(FOLD, {"unfold": 1_000_000}))
    assert error.value.found == "unfold 1000000, with 1 left to open"


def test_formats_are_told_apart(tmp_path: Path) -> None:
    assert isinstance(load_any(PROOFS / "certified" / "kite.toml"), Document)
    assert isinstance(load_any(PROOFS / "recipes" / "kite.toml"), Recipe)
    for wrong in ("creaseproof-recipe/2", 1, None):
        with pytest.raises(Malformed) as error:
            read_any(keys(FOLD) | {"format": wrong})
        assert (error.value.place, error.value.expected) == (
            "format",
            '"creaseproof-pattern/1" or "creaseproof-recipe/1"',
        )
    path = tmp_path / "a.json"
    path.write_text(json.dumps(keys(FOLD)))
    assert load_any(path) == read(keys(FOLD))
    path = tmp_path / "a.toml"
    path.write_text(TOML)
    assert isinstance(load_any(path), Recipe)
    with pytest.raises(Malformed):
        load_any(tmp_path / "none.toml")


def kernel_digest(recipe: Recipe) -> str:
    statement = read_document(*recipe.content())
    assert statement.steps
    return statement.digest


@pytest.mark.parametrize("path", CORPUS, ids=[p.name for p in CORPUS])
def test_one_recipe_has_one_digest_in_both_carriers(path: Path, tmp_path: Path) -> None:
    recipe = load_any(path)
    assert isinstance(recipe, Recipe)
    assert kernel_digest(recipe) == recipe.statement_sha256
    for name in ("x.toml", "x.json"):
        write(recipe, tmp_path / name)
        other = load_any(tmp_path / name)
        assert isinstance(other, Recipe)
        assert other == recipe
        assert other.statement_sha256 == recipe.statement_sha256 == kernel_digest(other)
    bare = read_any(recipe.keys())
    assert bare == recipe
    assert isinstance(bare, Recipe)
    assert bare.statement_sha256 == recipe.statement_sha256 == kernel_digest(bare)


def test_the_title_and_the_order_of_keys_are_not_part_of_the_statement() -> None:
    one = keys(FOLD, {"unfold": 1}, title="One")
    other = {k: one[k] for k in reversed(one)} | {"title": "Another"}
    other["steps"] = [{k: FOLD[k] for k in reversed(FOLD)}, {"unfold": 1}]
    assert read(one).statement_sha256 == read(other).statement_sha256 == kernel_digest(read(other))


CHANGES: dict[str, Callable[[Keys], object]] = {
    "a step": lambda d: d["steps"].append({"turn": "over"}),
    "the order of steps": lambda d: d["steps"].insert(0, d["steps"].pop(1)),
    "moves": lambda d: d["steps"][0].update(moves="d"),
    "direction": lambda d: d["steps"][0].update(direction="behind"),
    "layers": lambda d: d["steps"][0].update(layers=1),
    "alignment": lambda d: d["steps"][0].update(fold={"point": "b", "onto": "d"}),
    "how many to unfold": lambda d: d["steps"][2].update(unfold=2),
    "a point": lambda d: d["points"].update(m=[4, 5]),
    "a new point": lambda d: d["points"].update(n=[4, 5]),
    "the sheet": lambda d: d["sheet"].update(outline=["a", "b", "c"]),
    "the unit": lambda d: d.update(unit="cm"),
    "the target": lambda d: d.update(target={"paths": [["m", "a"]]}),
    "along": lambda d: d.update(cut={"along": {"through": ["c", "a"]}}),
    "no along": lambda d: d.pop("cut"),
}


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES)
def test_everything_else_is_part_of_the_statement(change: Callable[[Keys], object]) -> None:
    document = keys(
        copy.deepcopy(FOLD),
        {"fold": {"point": "a", "onto": "m"}, "moves": "a"},
        {"unfold": 1},
        target=copy.deepcopy(TARGET),
        cut={"along": dict(THROUGH)},
    )
    before = read(document).statement_sha256
    change(document)
    after = read(document)
    assert after.statement_sha256 != before
    assert kernel_digest(after) == after.statement_sha256


NAMES = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=4)


@st.composite
def documents(draw: st.DrawFn) -> Keys:
    """Recipes of the right form, whatever they fold."""
    names = draw(st.lists(NAMES, min_size=3, max_size=6, unique=True))
    numbers = st.one_of(
        st.integers(-99, 99), st.sampled_from(["1/3", "sqrt(2)", "cos(pi/5)"]), st.fractions(max_denominator=9).map(str)
    )
    marks, steps, folds = list(names), [], []

    def mark() -> str:
        return draw(st.sampled_from(marks))

    def pair() -> list[str]:
        return [mark(), mark()]

    def alignment() -> Keys:
        landing = draw(st.sampled_from(["first", "second"]))
        return [
            {"through": pair()},
            {"point": mark(), "onto": mark()},
            {"line": pair(), "onto": pair()},
            {"square": pair(), "through": mark()},
            {"point": mark(), "onto": pair(), "through": mark(), "landing": landing},
            {"point": mark(), "onto": pair(), "square": pair()},
        ][draw(st.integers(0, 5))]

    for number in range(1, draw(st.integers(1, 6)) + 1):
        kind = draw(st.sampled_from(["fold", "fold", "mark", "unfold", "turn"]))
        if kind == "fold":
            step: Keys = {"fold": alignment(), "moves": mark()}
            step |= draw(
                st.fixed_dictionaries(
                    {},
                    optional={
                        "direction": st.sampled_from(["over", "behind"]),
                        "layers": st.sampled_from(["all", "flap", 1, 3]),
                    },
                )
            )
            folds.append(number)
        elif kind == "mark":
            name = draw(NAMES.filter(lambda n: n not in marks))
            line = st.one_of(st.sampled_from(folds), st.builds(pair)) if folds else st.builds(pair)
            step = {"mark": name, "crossing": [draw(line), draw(line)]} | (
                {"on": mark()} if draw(st.booleans()) else {}
            )
            marks.append(name)
        elif kind == "unfold" and folds:
            step = {"unfold": 1}
            folds_left = sum("fold" in s for s in steps) - sum("unfold" in s for s in steps)
            if folds_left < 1:
                step = {"turn": "over"}
        else:
            step = {"turn": "over"}
        steps.append(step)
    document: Keys = {"format": "creaseproof-recipe/1", "points": {n: [draw(numbers), draw(numbers)] for n in names}}
    document |= {
        "sheet": {"outline": names[:3]},
        "steps": steps,
        "title": draw(st.text(st.characters(exclude_categories=["Cs"]), max_size=6)),
    }
    if draw(st.booleans()):
        document["target"] = {"loops": [names[:3]]}
    if draw(st.booleans()):
        document["cut"] = {"along": alignment()}
    return document


@examples(60)
@given(documents())
def test_reading_and_writing(document: Keys) -> None:
    recipe = read(document)
    assert kernel_digest(recipe) == recipe.statement_sha256
    for again in (read_any(to_toml(recipe), toml=True), read_any(json.dumps(recipe.keys())), read_any(document)):
        assert again == recipe
        assert isinstance(again, Recipe)
        assert again.steps == recipe.steps
        assert again.statement_sha256 == recipe.statement_sha256 == kernel_digest(again)


def test_the_public_names_read_recipes() -> None:
    recipe = verify.read(keys(FOLD))
    assert isinstance(recipe, verify.Recipe)
    assert verify.fold(recipe).refused is None
    assert isinstance(verify.load(CORPUS[0]), verify.Recipe)
