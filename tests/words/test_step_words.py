"""What a step is called says what is really folded."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any

import pytest

import verify
from verify.folding.steps import Folded, carry_out
from verify.pattern.recipe import Recipe
from verify.tasks.letters import letter_recipes
from verify.words.speaker import Seen
from verify.words.step_words import alignment_words, cut_words, light_words, new_marks, sentence, step_words

POINTS = {
    "sw": [-60, -20],
    "se": [60, -20],
    "ne": [60, 20],
    "nw": [-60, 20],
    "m": [10, 0],
    "far": [50, 0],
    "p": [30, -20],
    "q": [30, 20],
}
NOTHING: Mapping[str, Any] = MappingProxyType({})
HALF = {"fold": {"point": "sw", "onto": "se"}, "moves": "sw"}


def carried(steps: list[dict[str, Any]], more: Mapping[str, Any] = NOTHING, **keys: Any) -> Folded:
    """What comes of steps on a sheet with these points, and more."""
    recipe = verify.read(
        {
            "format": "creaseproof-recipe/1",
            "points": {**POINTS, **more},
            "sheet": {"outline": ["sw", "se", "ne", "nw"]},
            "steps": steps,
            **keys,
        }
    )
    return carry_out(recipe.as_recipe())


def named(step: dict[str, Any]) -> str:
    folded = carried([HALF, step])
    assert folded.refused is None
    return step_words(folded, 2)


@pytest.mark.parametrize(
    ("layers", "said"),
    [
        (1, "the lowest layer and what is joined to it (2 layers in all)"),
        (2, "the lowest 2 layers"),
        ("all", "all layers"),
    ],
)
def test_layers_that_come_along_are_counted(layers: Any, said: str) -> None:
    """The paper is in half and closed at x = 0: whoever takes the lowest layer there, takes both."""
    words = named({"fold": {"through": ["p", "q"]}, "moves": "m", "layers": layers, "direction": "behind"})
    assert words.startswith(f"fold {said} behind, moving m, ")


def test_a_layer_that_is_free_comes_alone() -> None:
    words = named({"fold": {"through": ["p", "q"]}, "moves": "far", "layers": 1, "direction": "behind"})
    assert words.startswith("fold the lowest layer behind, moving far, ")
    over = named({"fold": {"through": ["p", "q"]}, "moves": "m", "layers": 1})
    assert over.startswith("fold the top layer and what is joined to it (2 layers in all) over, moving m, ")


def test_a_step_that_is_refused_promises_nothing() -> None:
    folded = carried([HALF, {"fold": {"through": ["p", "q"]}, "moves": "m", "layers": 3}])
    assert folded.refused is not None
    assert step_words(folded, 2).startswith("fold the top 3 layers and what is joined to them over, moving m, ")


PLACES = {"a": [-10, -5], "b": [-40, 7], "c": [20, 11], "d": [33, -9], "e": [5, 5]}
ALONG = {"fold": {"through": ["a", "b"]}, "moves": "sw"}


@pytest.mark.parametrize(
    ("steps", "said"),
    [
        ([{"fold": {"through": ["a", "b"]}, "moves": "sw"}], "through a and b"),
        ([{"fold": {"point": "a", "onto": "b"}, "moves": "sw"}], "so that a lies on b"),
        ([{"fold": {"line": ["a", "b"], "onto": ["c", "d"]}, "moves": "sw"}], "line a–b lies along line c–d"),
        ([{"fold": {"square": ["a", "b"], "through": "c"}, "moves": "sw"}], "square to line a–b, through c"),
        (
            [{"fold": {"point": "a", "onto": ["b", "c"], "through": "d", "landing": "second"}, "moves": "sw"}],
            "so that a lands on line b–c, at the second of two places, through d",
        ),
        (
            [{"fold": {"point": "a", "onto": ["b", "c"], "square": ["d", "e"]}, "moves": "sw"}],
            "so that a lands on line b–c, square to line d–e",
        ),
        (
            [ALONG, {"mark": "x", "crossing": [["e", "b"], 1]}],
            "mark where line e–b crosses the line of step 1, and call the place x",
        ),
        (
            [ALONG, {"mark": "x", "crossing": [1, ["b", "e"]], "on": "c"}],
            "line b–e, on the layer of c, and call the place x",
        ),
    ],
)
def test_each_mark_is_named_in_its_role(steps: list[dict[str, Any]], said: str) -> None:
    """As `proofs/writing.md` says what each way to write a step means."""
    folded = carried(steps, PLACES)
    assert folded.refused is None
    assert step_words(folded, len(steps)).endswith(said)


@pytest.mark.parametrize(
    ("steps", "said"),
    [
        # the sheet is 120 wide and 40 high round the origin (POINTS), so its middle lines are x = 0 and y = 0
        ([HALF], "in half, left edge onto right edge, so that corner sw lies on corner se"),
        (
            [{"fold": {"line": ["nw", "ne"], "onto": ["sw", "se"]}, "moves": "ne"}],
            "in half, the top edge (nw–ne) onto the bottom edge (sw–se)",
        ),
        (
            [{"fold": {"line": ["sw", "nw"], "onto": ["sw", "se"]}, "moves": "nw"}],
            "so that the left edge (sw–nw) lies along the bottom edge (sw–se)",
        ),
        (
            [{"fold": {"point": "se", "onto": "nw"}, "moves": "se"}],
            "so that the bottom right corner (se) lies on the top left corner (nw)",
        ),
        # folded in half at x = 0, the paper is 60 wide: its middle is x = 30, its left edge the crease
        (
            [HALF, {"fold": {"through": ["p", "q"]}, "moves": "m"}],
            "in half, left edge onto right edge, through p and q",
        ),
        ([HALF, {"fold": {"through": ["p", "q"]}, "moves": "m", "layers": 1}], "through p and q"),
    ],
)
def test_edges_and_halves_are_called_as_they_are_seen(steps: list[dict[str, Any]], said: str) -> None:
    """Worked out by hand from the places of the corners; for the handout."""
    folded = carried(steps)
    assert folded.refused is None
    assert alignment_words(folded, len(steps), folded.recipe.steps[-1].alignment) == said


def test_a_fold_in_half_names_its_edges_once_the_way_they_move() -> None:
    """Which of the two is written first does not matter; an alignment of other lines is told beside the edges."""
    turned = carried([{"fold": {"line": ["ne", "se"], "onto": ["nw", "sw"]}, "moves": "nw"}])
    assert sentence(turned, 1).startswith("Fold in half, the left edge (nw–sw) onto the right edge (ne–se). ")
    inner = {"a": [-20, -10], "b": [-20, 10], "c": [20, -10], "d": [20, 10]}
    target = {"paths": [["a", "b"], ["c", "d"]]}
    sides = carried([{"fold": {"line": ["a", "b"], "onto": ["c", "d"]}, "moves": "nw"}], inner, target=target)
    expected = "Fold in half, left edge onto right edge, so that side a–b lies along side c–d. "
    assert sentence(sides, 1).startswith(expected)


def test_layers_are_told_only_where_there_are_several() -> None:
    """The flat sheet is one layer; folded in half it is two, of which the second fold bends both."""
    twice = carried([HALF, {"fold": {"through": ["p", "q"]}, "moves": "m"}])
    assert sentence(twice, 1).endswith("Bring the part with sw over, towards you.")
    assert sentence(twice, 2).endswith("Bring the part with m over, towards you, all layers together.")


def test_an_opened_fold_leaves_its_crease() -> None:
    opened = carried([HALF, {"fold": {"through": ["p", "q"]}, "moves": "m"}, {"unfold": 2}, HALF, {"unfold": 1}])
    assert sentence(opened, 3) == "Unfold the last 2 folds; their creases stay as guide lines."
    assert sentence(opened, 5) == "Unfold the last fold; its crease stays as a guide line."


def test_a_corner_that_is_called_what_it_is_is_called_once() -> None:
    places = {"top right": [60, 20], "sw": [-60, -20]}
    sheet = {"outline": ["sw", "se", "top right", "nw"]}
    on = carried([{"fold": {"point": "sw", "onto": "top right"}, "moves": "sw"}], places, sheet=sheet)
    assert " the bottom left corner (sw) lies on the top right corner. " in sentence(on, 1)


def test_half_means_that_both_ends_meet() -> None:
    """A triangle's top comes down onto its base along its middle line, which leaves three quarters of it (Euclid VI.2);
    its mirror line halves it.
    """
    triangle = {"t": [0, 20], "u": [-30, 0], "v": [30, 0], "o": [0, -20]}
    sheet = {"outline": ["sw", "se", "t"]}
    down = carried([{"fold": {"through": ["u", "v"]}, "moves": "t"}], triangle, sheet=sheet)
    assert sentence(down, 1).startswith("Fold along the line through u and v. ")
    across = carried([{"fold": {"through": ["o", "t"]}, "moves": "sw"}], triangle, sheet=sheet)
    assert sentence(across, 1).startswith("Fold in half, left corner onto right corner, ")


def test_a_crease_that_is_folded_is_called_an_edge_and_one_that_is_open_a_crease() -> None:
    """In half along x = 0: before step 2 hands meet an edge there; once it is open again, a crease in flat paper."""
    places = {"u": [0, -20], "v": [0, 20]}
    onto = {"fold": {"line": ["ne", "se"], "onto": ["v", "u"]}, "moves": "ne"}
    closed, opened = carried([HALF, onto], places), carried([HALF, {"unfold": 1}, onto], places)
    assert step_words(closed, 2).endswith("so that edge ne–se lies along the folded edge of step 1 (v–u)")
    assert step_words(opened, 3).endswith("so that edge ne–se lies along the crease of step 1 (v–u)")


def test_a_crease_goes_no_farther_than_it_was_folded() -> None:
    """In half along x = 0, then both layers through o and k: creased to k and, mirrored, to (-40, 20). The straight
    line goes on from o to z, which no fold has touched.
    """
    places = {"o": [0, 0], "k": [40, 20], "z": [-40, -20]}
    second = {"fold": {"through": ["o", "k"]}, "moves": "nw"}
    again = carried([HALF, second, {"fold": {"through": ["o", "k"]}, "moves": "m"}], places)
    assert "along the folded edge of step 2 (o–k)" in step_words(again, 3)
    on = carried([HALF, second, {"fold": {"through": ["o", "z"]}, "moves": "se"}], places)
    assert on.refused is None
    assert step_words(on, 3).endswith("through o (on the folded edge of step 1) and z")
    assert "of step 2" not in light_words(on, 3)


@pytest.mark.parametrize(
    ("first", "fold", "hidden"),
    [
        ([], {"line": ["a", "b"], "onto": ["c", "b"]}, False),
        ([HALF], {"line": ["a", "b"], "onto": ["c", "b"]}, True),
        ([HALF], {"point": "a", "onto": "ne"}, True),
        ([HALF], {"point": "se", "onto": "ne"}, False),
        ([HALF | {"direction": "behind"}], {"line": ["a", "b"], "onto": ["c", "b"]}, False),
        ([HALF | {"direction": "behind"}, {"turn": "over"}], {"line": ["a", "b"], "onto": ["c", "b"]}, True),
    ],
)
def test_print_is_out_of_sight_inside_and_underneath(
    first: list[dict[str, Any]], fold: dict[str, Any], hidden: bool
) -> None:
    """The triangle abc is printed on the right half, which the left half covers if it is folded over."""
    triangle = {"a": [20, -10], "b": [40, -10], "c": [40, 10]}
    folded = carried([*first, {"fold": fold, "moves": "se"}], triangle, target={"loops": [["a", "b", "c"]]})
    assert Seen(folded, len(first) + 1).print_hidden(folded.recipe.steps[-1].alignment) == hidden


@pytest.mark.parametrize(("way", "hidden"), [("behind", False), ("over", True)])
def test_print_of_the_other_half_is_as_good(way: str, hidden: bool) -> None:
    """A triangle and its mirror image: folded behind and turned over, the image lies above the triangle."""
    corners = {"a": [20, -10], "b": [40, -10], "c": [40, 10], "d": [-20, -10], "e": [-40, -10], "f": [-40, 10]}
    target = {"loops": [["a", "b", "c"], ["d", "e", "f"]]}
    steps = [HALF | {"direction": way}, {"turn": "over"}]
    folded = carried(
        [*steps, {"fold": {"line": ["a", "b"], "onto": ["c", "b"]}, "moves": "se"}], corners, target=target
    )
    assert Seen(folded, 3).print_hidden(folded.recipe.steps[-1].alignment) == hidden


@pytest.mark.parametrize(
    ("direction", "turned", "said"),
    [
        ("over", False, " Edge sw–se is out of sight here: hold the paper up to the light, or turn it over."),
        ("over", True, ""),
        ("behind", False, ""),
    ],
)
def test_an_edge_under_a_flap_is_out_of_sight(direction: str, turned: bool, said: str) -> None:
    """The upper part comes down over the lower edge, 10 beyond it. What goes behind may be seen from behind."""
    steps: list[dict[str, Any]] = [
        {"fold": {"through": ["u", "v"]}, "moves": "ne"},
        *([{"turn": "over"}] if turned else []),
        {"fold": {"line": ["nw", "ne"], "onto": ["sw", "se"]}, "moves": "ne", "direction": direction},
    ]
    folded = carried(steps, {"u": [-60, -5], "v": [60, -5]})
    assert folded.refused is None
    assert light_words(folded, len(steps)) == said


@pytest.mark.parametrize(
    ("through", "way", "hidden"),
    [
        (["w", "q"], "over", True),
        (["w", "q"], "behind", False),  # the front of the right half lies above, with both dots
        (["se", "top"], "over", False),  # corners of the folded paper
        (["inner", "se"], "over", True),
        (["inner", "se"], "behind", False),
    ],
)
def test_a_dot_along_an_edge_or_inside_a_panel_is_seen_on_the_front_alone(
    through: list[str], way: str, hidden: bool
) -> None:
    places = {"w": [45, -20], "top": [0, 20], "inner": [20, 5]}
    folded = carried([HALF | {"direction": way}, {"fold": {"through": through}, "moves": "ne"}], places)
    assert folded.refused is None
    said = " Printed lines are out of sight here: hold the paper up to the light."
    assert light_words(folded, 2) == said * hidden
    onto = carried([HALF | {"direction": way}, {"fold": {"point": "inner", "onto": "se"}, "moves": "inner"}], places)
    assert light_words(onto, 2) == said * (way == "over")
    unprinted = " inner is out of sight here: hold the paper up to the light."
    assert light_words(onto, 2, printed=False) == unprinted


def test_an_edge_that_shows_in_part_is_not_called_hidden() -> None:
    """The upper part comes down askew: over the lower edge left of about x = 25, and not right of it."""
    steps = [
        {"fold": {"through": ["u", "v"]}, "moves": "ne"},
        {"fold": {"square": ["sw", "se"], "through": "p"}, "moves": "se"},
    ]
    said = light_words(carried(steps, {"u": [-60, -5], "v": [60, 2]}), 2)
    assert said == " Most of edge sw–se is out of sight here: hold the paper up to the light, or turn it over."


def test_only_marks_that_the_words_name_are_introduced(proofs: Path) -> None:
    """A from A4: its first four steps are told as guides, without marks; 1a is on none of the others' lines."""
    folded = verify.certify(proofs / "recipes" / "alphabet" / "a4" / "A.toml").carried
    assert folded is not None
    guides = {1, 2, 3, 4}
    introduced = re.compile(" The place | New places: ")
    told = [introduced.split(sentence(folded, number, guides))[0] for number in range(5, len(folded.done) + 1)]
    said = " ".join([*told, cut_words(folded)])
    names = [name for number in range(1, len(folded.done) + 1) for name in new_marks(folded, number, guides)]
    assert "1a" in new_marks(folded, 1)
    assert "1a" not in names
    assert names
    assert all(re.search(rf"(?<!\w){name}(?!\w)", said) for name in names)


def test_a_flap_is_so_many_layers() -> None:
    """Folded at x = 0 and held together there, both halves go with the flap that holds m."""
    folded = carried([HALF, {"fold": {"through": ["p", "q"]}, "moves": "m", "layers": "flap"}])
    assert "but only the flap that holds m (2 layers)." in sentence(folded, 2)


def test_print_at_the_edge_is_out_of_sight_with_its_name() -> None:
    """The corners a and b of a strip lie on the sheet's right edge; folded over, the paper shows its back alone."""
    strip = {"a": [60, -10], "b": [60, 10], "c": [0, 10], "d": [0, -10]}
    over = {"fold": {"point": "ne", "onto": "se"}, "moves": "ne"}
    crease = {"fold": {"point": "b", "onto": "se"}, "moves": "b"}
    target = {"loops": [["a", "b", "c", "d"]]}
    hidden = carried([over, crease], strip, target=target)
    assert light_words(hidden, 2) == " Printed lines are out of sight here: hold the paper up to the light."
    seen = carried([over | {"direction": "behind"}, crease], strip, target=target)
    assert light_words(seen, 2) == ""


def test_two_things_out_of_sight_are_joined_by_and() -> None:
    """A from a plain square, at its last fold: an edge of the paper and a crease, both inside."""
    ((_, made),) = letter_recipes("A", sheet="square")
    assert isinstance(made.made, Recipe)
    said = light_words(carry_out(made.made), 9, printed=False)
    assert re.fullmatch(r" Edge \S+ and the crease of step 1 \(\S+\) are out of sight here: .*", said)


@pytest.mark.parametrize(
    ("way", "opened", "said"),
    [
        ("over", [], "edge ne–nw"),
        ("behind", [], "edge sw–se"),
        ("over", [{"unfold": 2}], "edge sw–se (out of sight)"),
    ],
)
def test_a_new_place_is_called_by_the_edge_that_shows(way: str, opened: list[dict[str, Any]], said: str) -> None:
    """The upper half comes down in front of the lower edge, or behind it. Once both folds are opened, the places on
    the two edges are apart again, and the one that showed would be the wrong one.
    """
    down = {"fold": {"line": ["nw", "ne"], "onto": ["sw", "se"]}, "moves": "ne", "direction": way}
    across = {"fold": {"point": "se", "onto": "sw"}, "moves": "se"}
    folded = carried(
        [down, across, *opened, {"fold": {"through": ["w", "k"]}, "moves": "nw"}], {"w": [0, -20], "k": [-40, 5]}
    )
    assert folded.refused is None
    assert new_marks(folded, 2) == {"w": f"where the crease ends on {said}"}


@pytest.mark.parametrize(
    ("way", "place", "said"),
    [
        ("behind", [20, 0], "side a–b"),
        ("behind", [-20, 0], "side a–b"),
        ("over", [20, 0], "side a–b (out of sight)"),
        ("over", [-20, 0], "side c–d (out of sight)"),
    ],
)
def test_a_new_place_is_called_by_the_side_that_shows(way: str, place: list[int], said: str) -> None:
    """In half, the sides c–d and a–b lie on each other. Folded behind, the right half's front is up, which shows a–b;
    folded over, one sees the back of the left half, and nothing is printed there.
    """
    sides = {"a": [20, -10], "b": [20, 10], "c": [-20, -10], "d": [-20, 10], "x": place}
    up = {"fold": {"point": "se", "onto": "ne"}, "moves": "se"}
    steps = [HALF | {"direction": way}, up, {"fold": {"through": ["x", "nw"]}, "moves": "m"}]
    folded = carried(steps, sides, target={"paths": [["a", "b"], ["c", "d"]]})
    assert folded.refused is None
    assert new_marks(folded, 2) == {"x": f"where the crease crosses {said}"}


def test_several_new_places_are_one_list(proofs: Path) -> None:
    """T from A4, its first crease made by two edges: both its ends are named, in one sentence."""
    folded = verify.certify(proofs / "recipes" / "alphabet" / "a4" / "T.toml").carried
    assert folded is not None
    number = next(n for n in range(1, len(folded.done) + 1) if len(new_marks(folded, n)) > 1)
    (one, two) = new_marks(folded, number).items()
    assert f" New places: {one[0]}, {one[1]}; {two[0]}, {two[1]}." in sentence(folded, number)
    ends = {"y": [0, -20], "x": [0, 20]}  # in the order of their names, not in that in which they are used
    folded = carried([HALF, {"fold": {"point": "y", "onto": "x"}, "moves": "y"}], ends)
    assert re.search(r" New places: x, [^;]+; y, [^;]+\.$", sentence(folded, 1))


@pytest.mark.parametrize(
    ("line", "first", "warned"),
    [
        (["sw", "nw"], [], True),  # along the left edge: what lies right of it is the whole sheet
        (["sw", "ne"], [], False),
        (["o", "n"], [HALF], True),  # in half, and along that crease: both layers lie right of it
        (["o", "n"], [], False),
    ],
)
def test_a_fold_with_no_paper_beyond_its_line_is_pointed_at(
    line: list[str], first: list[dict[str, Any]], warned: bool
) -> None:
    """A reflection of all of the paper makes no crease."""
    steps = [*first, {"fold": {"through": line}, "moves": "se"}]
    result = verify.certify(carried(steps, {"o": [0, -20], "n": [0, 20]}).recipe)
    assert result.verdict == "certified"
    said = [f.message.partition(":")[0] for f in result.findings if f.kind == "nothing-folded"]
    assert said == [f"step {len(steps)} folds nothing"] * warned
