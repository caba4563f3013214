"""Cases that mutants of the kernel once survived (`benchmarks/mutants.py`): each is refused, and tells the mutant
apart.
"""

from __future__ import annotations

import json
from dataclasses import replace
from fractions import Fraction
from itertools import product
from pathlib import Path
from typing import Any

import pytest

import verify
from verify.kernel.check import Outcome, check_bytes, check_files
from verify.kernel.numbers import Algebraic, Field
from verify.kernel.reading import Work
from verify.pattern.document import Crease

from .corpus import PROOFS, certificate_of

KITE = PROOFS / "certified" / "kite.toml"
RECIPE = PROOFS / "recipes" / "window-three-folds.toml"


def stored(base: str) -> Any:
    """The stored certificate of a document of `proofs/`, to be edited."""
    return json.loads(certificate_of(base).read_bytes())


def outcome(document: Path, certificate: dict[str, Any]) -> Outcome:
    return check_bytes(document.read_bytes(), json.dumps(certificate).encode(), toml=True)


def test_three_roots_in_the_interval_of_a_cubic() -> None:
    """(x - 1)(x - 2)(x - 3) changes its sign over [1/2, 7/2]; only the whole derivative shows that it may do so three
    times.
    """
    certificate = stored("certified/kite.toml")
    assert outcome(KITE, certificate).accepted
    certificate["field"] |= {"polynomial": [-6, 11, -6, 1], "root": ["1/2", "7/2"]}
    assert outcome(KITE, certificate).code == "field.root"
    certificate["field"]["root"] = ["11/10", "19/10"]  # where it falls from + to - ... and no root is
    assert outcome(KITE, certificate).code == "field.root"
    certificate["field"]["root"] = ["29/10", "31/10"]  # one root, and the derivative is positive
    assert outcome(KITE, certificate).code != "field.root"


@pytest.mark.parametrize("entry", [[0], [0, [0, 0], 0], []])
def test_an_image_is_a_vertex_and_a_place(entry: list[Any]) -> None:
    certificate = stored("recipes/window-three-folds.toml")
    assert outcome(RECIPE, certificate).accepted
    step = next(s for s in certificate["steps"] if s.get("images"))
    step["images"][0] = entry
    assert outcome(RECIPE, certificate).code == "certificate.length"


def test_a_rational_root_of_a_reducible_polynomial() -> None:
    """(x - 1)(x - 3) with the root 1: an enclosure of x - 1 may begin or end at 0, and is no sign."""
    field = Field((3, -4, 1), Fraction(1, 2), Fraction(3, 2), Work(0, 0))
    for c in ((-1, 1), (1, -1)):
        assert field.sign(Algebraic(field, c)) == 0
    assert [field.sign(Algebraic(field, c)) for c in ((-3, 1), (0, 1), (3, -1))] == [-1, 1, 1]


def test_two_factors_with_roots_closer_than_the_first_enclosure() -> None:
    """R^2 - 2 N^2 = 1 (Pell): of (x^2 - 2 N^2)(x - R) the root N sqrt(2) lies 2^-153 below R, which shares a factor and
    is no root here.
    """
    r, n = 1, 0
    for _ in range(120):
        r, n = r + 2 * n, r + n
    assert r * r - 2 * n * n == 1
    field = Field((2 * n * n * r, -2 * n * n, -r, 1), r - Fraction(2, 3 * r), r - Fraction(1, 3 * r), Work(0, 0))
    assert field.sign(Algebraic(field, (-r, 1, 0))) == -1
    assert field.sign(Algebraic(field, (r, -1, 0))) == 1
    assert field.sign(Algebraic(field, (-2 * n * n, 0, 1))) == 0


@pytest.mark.parametrize("turned", [False, True], ids=["left", "right"])
@pytest.mark.parametrize("flap", ["tip", "fold"])
def test_paper_that_only_touches_the_end_of_a_snip(flap: str, turned: bool) -> None:
    """A tip, or a fold, was laid onto one end of a slot: the slot's snip touches it there and nowhere else."""
    document = verify.load(PROOFS / "refuted" / "tip-at-the-slots-end.toml")
    for part, verdict in ((Fraction(1), "refuted"), (Fraction(99, 100), "certified")):
        right, up = part * 75 / 2, part * 75 / 4
        fold = {
            "fold-right": (right, 0),
            "fold-up": (0, up),
            "under": (right - 10, -5),
            "aside": (-5, up - Fraction(5, 2)),
        }
        creases = document.creases
        if flap == "fold":  # the left margin, over and back
            fold = {"fold-right": (part * 15 / 2, -5), "fold-up": (part * 15 / 2, 60)}
            creases = (Crease("fold-right", "fold-up", "valley"), Crease("margin-low", "margin-high", "mountain"))
        points = dict(document.points) | {name: (str(x), str(y)) for name, (x, y) in fold.items()}
        if turned:  # by half a turn, so that the ends of the snip change places
            points = {name: (f"-({x})", f"-({y})") for name, (x, y) in points.items()}
        result = verify.certify(replace(document, points=points, creases=creases, raw=None))
        assert result.verdict == verdict
        assert result.certificate is not None
        kind = "vertex" if flap == "tip" else "edge"
        assert list(result.certificate.get("refutation", {}).get("cell", ())) == [kind] * (verdict == "refuted")


def test_a_snip_has_two_ends() -> None:
    document = PROOFS / "certified" / "cord-slots.toml"
    certificate = stored("certified/cord-slots.toml")
    certificate["cut"]["snips"][0].pop()
    assert outcome(document, certificate).code == "certificate.length"


@pytest.mark.parametrize("point", [[], [0], [0, 0, 0]])
@pytest.mark.parametrize("key", ["vertices", "images"])
def test_a_point_has_two_coordinates(key: str, point: list[int]) -> None:
    certificate = stored("certified/kite.toml")
    (certificate["fold"] if key == "images" else certificate)[key][0] = point
    assert outcome(KITE, certificate).code == "certificate.length"


NUMBERED = {  # the lists that number vertices and faces, as ways into a certificate
    "certified/cord-slots.toml": [
        ("faces", 0),
        ("chains", "sheet", 0),
        ("chains", "target", 0),
        ("order", "stack"),
        ("cut", "snips", 0),
    ],
    "certified/kite.toml": [("chains", "creases", 0), ("fold", "turned"), ("order", "stack")],
    "refuted/kawasaki-hair.toml": [("refutation", "walk"), ("refutation", "edges", 0)],
    "refuted/missed-edge.toml": [("refutation", "edges", 0)],
}


def test_the_last_vertex_is_not_numbered_from_the_end() -> None:
    """The vertex where mountains and valleys cannot be is the last one; -1 is no name for it."""
    base = "refuted/maekawa.json"
    certificate = stored(base)
    certificate["refutation"]["vertex"] = -1
    found = check_bytes((PROOFS / base).read_bytes(), json.dumps(certificate).encode(), toml=False)
    assert found.code == "certificate.range"


@pytest.mark.parametrize(("base", "way"), [(base, way) for base, ways in NUMBERED.items() for way in ways])
def test_nothing_is_numbered_from_the_end(base: str, way: tuple[str | int, ...]) -> None:
    """-1 is no number of a vertex or a face, in place of any number of any list."""
    for i in range(len(at(stored(base), way))):
        certificate = stored(base)
        at(certificate, way)[i] = -1
        assert outcome(PROOFS / base, certificate).code == "certificate.range"


def at(tree: Any, way: tuple[str | int, ...]) -> Any:
    for key in way:
        tree = tree[key]
    return tree


def test_a_field_is_monic_and_of_degree_32_at_most() -> None:
    """x^32 - 2 and x^33 - 2 with the root 2^(1/32), and 2 - x^2; the kite needs none of them."""
    certificate = stored("certified/kite.toml")
    for polynomial, code in (
        ([-2, *[0] * 31, 1], ""),
        ([-2, *[0] * 32, 1], "certificate.length"),
        ([2, 0, -1], "field.polynomial"),
        ([-2, 0, 1, 0], "field.polynomial"),
        ([-2, 0, 2], "field.polynomial"),
        ([1], "certificate.length"),
    ):
        certificate["field"] |= {"polynomial": polynomial, "root": [1, 2]}
        assert outcome(KITE, certificate).code == code


@pytest.mark.parametrize(("key", "least", "most"), [("vertices", 3, 20_000), ("faces", 1, 10_000)])
def test_how_many_vertices_and_faces_there_may_be(key: str, least: int, most: int) -> None:
    certificate = stored("certified/kite.toml")
    for count, expected in ((least - 1, "length"), (least, "type"), (most, "type"), (most + 1, "length")):
        certificate[key] = [0] * count
        assert outcome(KITE, certificate).code == f"certificate.{expected}"


@pytest.mark.parametrize("root", [[], [0], [0, 0, 0]])
def test_a_root_has_two_bounds(root: list[int]) -> None:
    certificate = stored("certified/kite.toml")
    certificate["field"]["root"] = root
    assert outcome(KITE, certificate).code == "certificate.length"


@pytest.mark.parametrize("sign", [1, -1])
def test_a_coefficient_has_at_most_4000_digits(sign: int) -> None:
    certificate = stored("certified/kite.toml")
    certificate["field"]["polynomial"][0] = sign * (10**4000 - 1)
    assert outcome(KITE, certificate).code == "field.root"
    certificate["field"]["polynomial"][0] += sign
    assert outcome(KITE, certificate).code == "certificate.range"


@pytest.mark.parametrize("longer", ["document", "certificate"])
def test_files_have_their_greatest_length(longer: str, tmp_path: Path) -> None:
    """4 MiB and 64 MiB; blanks at the end count, and are not cut off before they are counted."""
    document, certificate = tmp_path / "kite.toml", tmp_path / "kite.json"
    texts = {document: KITE.read_bytes(), certificate: (PROOFS / "certificates" / "kite.certificate.json").read_bytes()}
    most = {document: 4 * 1024**2, certificate: 64 * 1024**2}
    for path, text in texts.items():
        path.write_bytes(text)
    path = document if longer == "document" else certificate
    path.write_bytes(texts[path].ljust(most[path], b"\n"))
    assert check_files(str(document), str(certificate)).accepted
    path.write_bytes(texts[path].ljust(most[path] + 1, b"\n"))
    found = check_files(str(document), str(certificate))
    assert (found.accepted, found.malformed, found.code) == (False, True, f"{longer}.unreadable")


def strip_recipe(*steps: dict[str, Any]) -> Any:
    """The strip [0, 4] x [0, 1] with the middle of its long sides."""
    return verify.read(strip_with(*steps))


def strip_with(*steps: dict[str, Any]) -> dict[str, Any]:
    points = {"a": [0, 0], "b": [4, 0], "c": [4, 1], "d": [0, 1], "m": [2, 0], "n": [2, 1]}
    return {
        "format": "creaseproof-recipe/1",
        "points": points,
        "sheet": {"outline": ["a", "b", "c", "d"]},
        "steps": list(steps),
    }


def code(*steps: dict[str, Any]) -> str:
    """What is wrong with the document of such a recipe."""
    return check_bytes(json.dumps(strip_with(*steps)).encode(), b"{}", toml=False).code


IN_HALF = {"fold": {"point": "b", "onto": "a"}, "moves": "b"}
AGAIN = {"fold": {"point": "m", "onto": "a"}, "moves": "m"}
UNFOLD = {"unfold": 1}


def folds(recipe: Any) -> int:
    """The folds of the certified state, as the kernel finds it by following the steps."""
    result = verify.certify(recipe)
    assert result.verdict == "certified"
    return verify.audit(recipe, result.certificate or {}).facts["folds"]


def test_a_layer_is_folded_back_at_the_fold_that_holds_it() -> None:
    """The two panels are joined along the line of the second fold, on which nothing moves: the lower one stays."""
    assert folds(strip_recipe(IN_HALF)) == 1
    assert folds(strip_recipe(IN_HALF, {"fold": {"through": ["m", "n"]}, "moves": "b", "layers": 1})) == 0


def test_what_was_unfolded_is_not_unfolded_again() -> None:
    assert folds(strip_recipe(IN_HALF, AGAIN)) == 3
    assert folds(strip_recipe(IN_HALF, AGAIN, UNFOLD)) == 1
    assert (
        folds(strip_recipe(IN_HALF, AGAIN, UNFOLD, UNFOLD)) == folds(strip_recipe(IN_HALF, AGAIN, {"unfold": 2})) == 0
    )
    assert folds(strip_recipe(IN_HALF, AGAIN, UNFOLD, UNFOLD, IN_HALF)) == 1
    assert folds(strip_recipe(IN_HALF, UNFOLD, IN_HALF, AGAIN, UNFOLD)) == 1


def test_one_layer_is_folded_behind_while_the_paper_lies_turned_over() -> None:
    """Seen from behind, the upper half is below, and its end goes further down."""
    behind = {"fold": {"point": "b", "onto": "m"}, "moves": "b", "layers": 1, "direction": "behind"}
    assert folds(strip_recipe(IN_HALF, {"turn": "over"}, behind)) == 2
    assert folds(strip_recipe(IN_HALF, {"turn": "over"}, {"turn": "over"}, behind | {"direction": "over"})) == 2


MARK = {"mark": "z", "crossing": [["a", "n"], ["m", "d"]]}


def test_a_mark_is_on_what_is_on_top_as_the_paper_lies() -> None:
    assert folds(strip_recipe(IN_HALF, MARK)) == folds(strip_recipe(IN_HALF, {"turn": "over"}, MARK)) == 1


def test_a_mark_is_where_its_face_carries_it() -> None:
    recipe = strip_recipe(IN_HALF, MARK)
    text = json.dumps(verify.certify(recipe).certificate)
    entry = json.loads(text)["steps"][1]
    corners = [json.loads(text)["vertices"][v] for v in json.loads(text)["faces"][entry["face"]]]
    others = [corner for corner in corners if corner != entry["place"]]
    assert len(others) >= 2
    for place in others:
        certificate = json.loads(text)
        certificate["steps"][1]["place"] = place
        assert verify.audit(recipe, certificate).code == "steps.mark"


def test_a_cut_along_two_points_onto_two_lines_is_not_decided() -> None:
    document = strip_with(IN_HALF)
    document["cut"] = {"along": {"points": ["a", "b"], "onto": [["c", "d"], ["m", "n"]]}}
    assert check_bytes(json.dumps(document).encode(), b"{}", toml=False).code == "document.unsupported"


def test_a_target_names_points_and_no_marks() -> None:
    document = strip_with(IN_HALF, MARK)
    for end, expected in (("m", "certificate.format"), ("z", "document.name")):
        document["target"] = {"paths": [["a", end]]}
        assert check_bytes(json.dumps(document).encode(), b"{}", toml=False).code == expected


def test_the_line_of_an_earlier_step_turns_over_with_the_paper() -> None:
    for corner, side in (("a", ["a", "b"]), ("d", ["d", "c"])):
        mark = {"mark": "z", "crossing": [side, 1]}
        onto = {"fold": {"point": "z", "onto": corner}, "moves": "z"}
        assert folds(strip_recipe(IN_HALF, UNFOLD, mark, onto)) == 1
        assert folds(strip_recipe(IN_HALF, UNFOLD, {"turn": "over"}, mark, onto)) == 1


def test_layers_have_at_most_1000_digits() -> None:
    assert code(IN_HALF | {"layers": 10**1000 - 1}) == "certificate.format"  # of the empty certificate
    assert code(IN_HALF | {"layers": 10**1000}) == "document.range"


def test_a_recipe_has_at_most_200_steps() -> None:
    recipe = strip_recipe(*[{"turn": "over"}] * 200)
    assert verify.certify(recipe).verdict == "certified"
    assert code(*[{"turn": "over"}] * 201) == "document.length"


@pytest.mark.parametrize("crossing", [[], [["a", "b"]], [["a", "b"], ["m", "n"], ["c", "d"]]])
def test_a_mark_is_where_two_lines_cross(crossing: list[Any]) -> None:
    assert code(IN_HALF, {"mark": "z", "crossing": crossing}) == "document.length"


@pytest.mark.parametrize("marks", [[], ["m"], ["m", "n", "a"]])
def test_a_line_is_through_two_marks(marks: list[str]) -> None:
    assert code({"fold": {"through": marks}, "moves": "b"}) == "document.length"


@pytest.mark.parametrize("way", ["over", "behind"])
def test_a_new_mark_is_on_the_layer_that_is_seen(way: str) -> None:
    """Two lines cross at (1, 1/2), over the left half and, folded, over the right one: only the upper of the two can be
    marked.
    """
    recipe = strip_recipe(IN_HALF | {"direction": way}, {"mark": "z", "crossing": [["a", "n"], ["m", "d"]]})
    certificate = verify.certify(recipe).certificate
    assert certificate is not None
    mark = certificate["steps"][1]
    upper, lower = (([3, "1/2"], 1), ([1, "1/2"], 0))[:: 1 if way == "over" else -1]
    assert (mark["place"], mark["face"]) == upper
    mark["place"], mark["face"] = lower
    assert verify.audit(recipe, certificate).code == "steps.mark"


def test_entries_of_steps_name_what_there_is() -> None:
    recipe = strip_recipe(IN_HALF, {"mark": "z", "crossing": [["a", "n"], ["m", "d"]]})
    text = json.dumps(verify.certify(recipe).certificate)
    for way, value, expected in (
        (("steps", 0, "marks", "a", 0), -1, "certificate.range"),
        (("steps", 0, "images", 0, 0), -1, "certificate.range"),
        (("steps", 1, "face"), -1, "certificate.range"),
        (("steps", 0, "marks", "a"), [0, [0, 0], 0], "certificate.length"),
        (("steps", 0, "marks", "a"), [0], "certificate.length"),
        (("steps", 0, "line"), [[2, 0]], "certificate.length"),
        (("steps", 0, "line"), [[2, 0], [2, 1], [2, 2]], "certificate.length"),
    ):
        certificate = json.loads(text)
        at(certificate, way[:-1])[way[-1]] = value
        outcome = verify.audit(recipe, certificate)
        assert outcome.code == expected
        assert outcome.reason.startswith(f"steps[{way[1]}]: ")
    certificate = json.loads(text) | {
        "proves": "refuted",
        "refutation": {"kind": "step", "why": "apart", "faces": [0, 1]},
    }
    certificate["steps"].pop()
    assert verify.audit(recipe, certificate).code == "certificate.key"


@pytest.mark.parametrize("faces", [[], [0], [0, 1, 2]])
def test_two_faces_block_a_step(faces: list[int]) -> None:
    certificate = stored("recipes-refused/passing-through.toml")
    assert len(certificate["refutation"]["faces"]) == 2
    certificate["refutation"]["faces"] = faces
    assert outcome(PROOFS / "recipes-refused" / "passing-through.toml", certificate).code == "certificate.length"


def trapped(**refutation: Any) -> Outcome:
    """The certificate of a trapped panel with another refutation."""
    base = "refuted/trapped-panel.toml"
    certificate = stored(base)
    certificate["refutation"] |= refutation
    return outcome(PROOFS / base, certificate)


@pytest.mark.parametrize(
    "reason",
    [
        {"edges": [[0, 1]]},
        {"edges": [[0, 1]] * 3},
        {"faces": [0, 1], "point": [0, 0]},
        {"faces": [0, 1, 2, 3], "point": [0, 0]},
        {"faces": [0, 1, 2], "point": [0]},
    ],
)
def test_a_reason_has_two_edges_or_three_faces_and_a_point(reason: dict[str, Any]) -> None:
    assert trapped(reasons=[reason]).code == "certificate.length"


@pytest.mark.parametrize(("start", "end"), [((0, 0), (0, 3)), ((0, 0), (3, 0)), ((1, 0), (3, -2)), ((2, 1), (3, 1))])
def test_a_crease_that_ends_in_the_sheet_whatever_line_it_is_on(start: tuple[int, int], end: tuple[int, int]) -> None:
    """One reflection is not the identity, also where it keeps two of three points in their places."""
    points = {"a": [-3, -3], "b": [3, -3], "c": [3, 3], "d": [-3, 3], "s": list(start), "e": list(end)}
    document = verify.read(
        {
            "format": "creaseproof-pattern/1",
            "points": points,
            "sheet": {"outline": list("abcd")},
            "creases": [["s", "e", "either"]],
        }
    )
    result = verify.certify(document)
    assert result.verdict == "refuted"
    assert (result.certificate or {})["refutation"]["kind"] == "closure"


def test_lists_of_a_refutation_have_at_most_100_000_entries() -> None:
    assert trapped().accepted
    for key in ("reasons", "steps"):
        assert trapped(**{key: [0] * 100_000}).code == "certificate.type"
        assert trapped(**{key: [0] * 100_001}).code == "certificate.length"


@pytest.mark.parametrize("pair", [[], [0], [0, 1, 2]])
def test_a_literal_is_of_two_faces(pair: list[int]) -> None:
    assert trapped(steps=[[pair]]).code == "certificate.length"
    assert trapped(reasons=[{"fold": pair}]).code == "certificate.length"


def test_two_slots_that_meet_where_paper_touches_them() -> None:
    """The end of a tab is folded to a tip, and the tab up, so that the tip is where two slots on one line meet: no snip
    can run through both.
    """
    points = {
        "a": [0, 0],
        "p": [35, 0],
        "left": [35, -54],
        "right": [55, -54],
        "q": [55, 0],
        "b": [150, 0],
        "c": [150, 60],
        "d": [0, 60],
    }
    points |= {
        "tip": [45, -30],
        "one": [55, "-45/2"],
        "two": [35, "-45/2"],
        "three": [35, -30],
        "four": [38, -54],
    }  # angles of 106.26, 36.87, 73.74, 143.13 degrees
    points |= {"first": [15, 30], "middle": [45, 30], "last": [90, 30], "u": [100, 10], "v": [120, 10]}
    keys: dict[str, Any] = {
        "format": "creaseproof-pattern/1",
        "points": points,
        "sheet": {"outline": ["a", "p", "left", "right", "q", "b", "c", "d"]},
    }
    creases = [["p", "q", "valley"], *(["tip", end, "either"] for end in ("one", "two", "three", "four"))]
    keys |= {"creases": creases, "target": {"paths": [["first", "middle", "last"], ["u", "v"]]}, "cut": {"snips": 2}}
    document = verify.read(keys)
    certificate = verify.certify(document).certificate
    assert certificate is not None
    edges = [chain[:2] for chain in certificate["chains"]["target"]]
    certificate["refutation"] = {"kind": "apart", "edges": edges}
    assert verify.audit(document, certificate).accepted
    points |= {
        "tip": [45, -29],
        "one": [55, "-43/2"],
        "two": [35, "-43/2"],
        "three": [35, -29],
        "four": ["905/24", -54],
    }
    aside = verify.certify(verify.read(keys))
    assert aside.verdict == "certified"
    refuting = {key: value for key, value in (aside.certificate or {}).items() if key not in ("order", "cut")}
    refuting |= {"proves": "refuted", "refutation": certificate["refutation"]}
    assert verify.audit(verify.read(keys), refuting).code == "refutation.apart"


def test_a_tab_whose_tip_touches_the_middle_of_a_slot_from_one_side() -> None:
    """Each side of the tip has an end of the snip beyond it, and yet the snip meets the tab in its corner only."""
    points = {"a": [0, 0], "p": [40, 0], "tip": [60, -50], "q": [80, 0], "b": [200, 0], "c": [200, 100], "d": [0, 100]}
    outline = list(points)
    points |= {"u": [45, 50], "v": [75, 50], "s": [120, 50], "t": [160, 50]}
    keys: dict[str, Any] = {
        "format": "creaseproof-pattern/1",
        "points": points,
        "sheet": {"outline": outline},
        "creases": [["p", "q", "valley"]],
        "target": {"paths": [["u", "v"], ["s", "t"]]},
        "cut": {"snips": 2},
    }
    assert verify.certify(verify.read(keys)).verdict == "certified"
    points["tip"] = [60, -51]
    assert verify.certify(verify.read(keys)).verdict == "refuted"


def ends_folded_in() -> dict[str, Any]:
    """Of a strip both ends are folded in, the left one first; then its tip is folded back, as a flap. The right end
    lies on top of all, on the moving side, and beside.
    """
    points = {"a": [0, 0], "b": [6, 0], "c": [6, 1], "d": [0, 1]}
    lines = {"p": [1, 0], "q": [1, 1], "r": [5, 0], "s": [5, 1], "t": ["1/2", 0], "u": ["1/2", 1]}
    return {
        "format": "creaseproof-recipe/1",
        "points": points | lines,
        "sheet": {"outline": list(points)},
        "steps": [
            {"fold": {"through": ["p", "q"]}, "moves": "a"},
            {"fold": {"through": ["r", "s"]}, "moves": "b"},
            {"fold": {"through": ["t", "u"]}, "moves": "a", "layers": "flap"},
        ],
    }


def test_a_layer_further_out_and_beside_holds_nothing() -> None:
    """And of the middle of the strip and the right end, which lies on it, neither moves: no two faces hold the flap."""
    keys = ends_folded_in()
    certificate = verify.certify(verify.read(keys)).certificate
    assert certificate is not None
    assert certificate["proves"] == "certified"
    del certificate["steps"][-1]["images"]
    for f, g in product(range(len(certificate["faces"])), repeat=2):
        refutation = {"kind": "step", "why": "blocked", "faces": [f, g]}
        refuting = certificate | {"proves": "refuted", "refutation": refutation}
        assert verify.audit(verify.read(keys), refuting).code == "steps.blocked"


@pytest.mark.parametrize("folded", [True, False])
def test_two_target_edges_that_touch_under_another_layer(folded: bool) -> None:
    """The gap between them is a point: two snips cannot share them if paper lies there, one snip can if not."""
    outline = {"a": [0, 0], "p": [4, 0], "b": [8, 0], "c": [8, 4], "q": [4, 4], "d": [0, 4]}
    keys: dict[str, Any] = {
        "format": "creaseproof-pattern/1",
        "points": outline | {"u": [1, 1], "v": [2, 1], "w": [3, 1], "s": [1, 2], "t": [1, 3]},
        "sheet": {"outline": list(outline)},
        "creases": [["p", "q", "valley" if folded else "flat"]],
        "target": {"paths": [["u", "v", "w"], ["s", "t"]]},
        "cut": {"snips": 2},
    }
    result = verify.certify(verify.read(keys))
    assert result.verdict == ("refuted" if folded else "certified")
    chains = (result.certificate or {})["chains"]["target"]
    edges = [chains[0][-2:], chains[1][:2], chains[2][:2]]
    certificate = {key: value for key, value in (result.certificate or {}).items() if key not in ("order", "cut")}
    certificate |= {"proves": "refuted", "refutation": {"kind": "apart", "edges": edges}}
    answer = verify.audit(verify.read(keys), certificate)
    assert (answer.accepted, answer.code) == (folded, "" if folded else "refutation.apart")


def test_a_file_that_is_not_there_is_malformed(tmp_path: Path) -> None:
    found = check_files(str(KITE), str(tmp_path / "none.json"))
    assert (found.accepted, found.malformed, found.code) == (False, True, "unreadable")


def test_an_edge_that_crosses_the_line_of_a_snip_beyond_its_end() -> None:
    """A flap is folded over a slot's line; a line on it, from below the slot to above, passes the slot's end at a
    distance of 2/3. In two orders of the faces, so that the slot is on either side of the line.
    """
    outline = {"a": [0, 0], "p": [4, 0], "g": [6, 0], "b": ["13/2", 0], "q": [4, 4], "d": [0, 4]}
    keys: dict[str, Any] = {
        "format": "creaseproof-pattern/1",
        "points": outline | {"h": [4, 3], "u": [1, 1], "v": [2, 1], "s": [1, 2], "t": [1, 3]},
        "sheet": {"outline": list(outline)},
        "creases": [["p", "h", "valley"], ["h", "q", "valley"], ["g", "h", "flat"]],
        "target": {"paths": [["u", "v"], ["s", "t"]]},
        "cut": {"snips": 2},
    }
    certificate = verify.certify(verify.read(keys)).certificate
    assert certificate is not None
    last = len(certificate["faces"]) - 1
    certificate["faces"].reverse()
    certificate["fold"]["turned"] = [last - f for f in reversed(certificate["fold"]["turned"])]
    certificate["order"]["stack"] = [last - f for f in certificate["order"]["stack"]]
    assert certificate["order"]["except"] == []
    assert verify.audit(verify.read(keys), certificate).accepted


def test_a_polynomial_that_is_1_and_minus_1_at_the_ends() -> None:
    """x^2 - x - 1 over [1, 2]: the golden ratio, between the quotients 144/89 and 89/55 of Fibonacci numbers."""
    field = Field((-1, -1, 1), Fraction(1), Fraction(2), Work(0, 0))
    assert [field.sign(Algebraic(field, c)) for c in ((-144, 89), (89, -55), (1, 0))] == [1, 1, 1]
