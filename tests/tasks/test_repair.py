"""Repairs: something is broken in a document that is certified, and what is proposed mends it; what is said is what is
done.
"""

from __future__ import annotations

import json
from copy import deepcopy
from dataclasses import replace
from fractions import Fraction
from math import sqrt
from pathlib import Path
from random import Random

import pytest
from click.testing import CliRunner

import verify
from tests.families import miura, vertex
from verify import cli
from verify.pattern.document import Crease, Document, Kind
from verify.pattern.limits import Limits
from verify.pattern.recipe import load_any, read_any
from verify.tasks.repair import NoRepair, repaired, repairs_of, with_repairs

OTHER: dict[Kind, Kind] = {"mountain": "valley", "valley": "mountain"}


def certified(proofs: Path, name: str) -> Document:
    return load_any(proofs / "certified" / f"{name}.toml")


def told(document: Document) -> list[verify.Finding]:
    """The findings on repairs; each repair makes the document whose verdict it tells."""
    result = verify.certify(document)
    found = [f for f in with_repairs(result).findings if f.check == "repair"]
    for number, finding in enumerate(found, start=1):
        assert finding.value["repair"] == number
        assert verify.certify(repaired(document, number)).verdict == finding.value["then"]
    return found


@pytest.mark.parametrize(
    "name",
    ["sail-3-4-5", "fish", "window-three-folds", "strip", "miura-4x4", pytest.param("star", marks=pytest.mark.long)],
)
def test_one_crease_turned_wrongly_is_named(proofs: Path, name: str) -> None:
    """A pattern with a crease turned folds, or it is said which crease to turn; to turn that one back is among what is
    proposed.
    """
    document = certified(proofs, name)
    random, tried = Random(name), 0
    drawn = [k for k, c in enumerate(document.creases) if c.kind in OTHER]
    for k in random.sample(drawn, min(3, len(drawn))):
        crease = document.creases[k]
        wrong = replace(crease, kind=OTHER[crease.kind])
        broken = replace(document, creases=(*document.creases[:k], wrong, *document.creases[k + 1 :]), raw=None)
        if verify.certify(broken).verdict == "certified":
            continue
        tried += 1
        found = told(broken)
        assert found
        assert all(f.kind == "repair-assignment" and f.value["then"] == "certified" for f in found)
        assert all(f.message.count(" from ") == 1 for f in found)  # one crease is enough
        if len(found) < 3:  # no more are told
            assert (
                f"turn {crease.start}–{crease.end} from {wrong.kind} to {crease.kind}; then it is certified"
                in " ".join(f.message for f in found)
            )
    assert tried or name == "strip"


@pytest.mark.parametrize(
    "name",
    ["kite", "frame-rectangle", *(pytest.param(name, marks=pytest.mark.long) for name in ("star", "sail-scalene"))],
)
def test_a_crease_that_is_left_out_is_found_where_it_was(proofs: Path, name: str) -> None:
    """Round its vertex the folds close with it (Kawasaki 1989, Justin 1989: alternate sums), and the direction is
    exact.
    """
    document, found_it = certified(proofs, name), 0
    places = verify.certify(document).subdivision.drawing.places  # type: ignore[union-attr]
    for k, crease in enumerate(document.creases):
        broken = replace(document, creases=document.creases[:k] + document.creases[k + 1 :], raw=None)
        result = verify.certify(broken)
        if result.verdict != "refuted" or found_it >= 2:
            continue
        a, b = places[crease.start], places[crease.end]
        for finding in told(broken):
            if finding.kind == "repair-crease":
                assert "Kawasaki–Justin" in finding.message
                x, y = (
                    Fraction(t) if "/" in t or t.lstrip("-").isdigit() else None for t in finding.value["direction"]
                )
                if x is not None and y is not None:
                    for one, two in ((a, b), (b, a)):
                        if result.subdivision is not None and result.subdivision.place_name(one) == finding.where[0]:
                            found_it += (x * (two.y - one.y) - y * (two.x - one.x)) == 0 and (
                                x * (two.x - one.x) + y * (two.y - one.y)
                            ) > 0
                else:
                    found_it += finding.value["then"] == "certified"
    assert found_it


def test_a_crease_drawn_flat_is_found_where_it_is_to_be_folded() -> None:
    """Four folds at right angles fold flat if one differs from the others (Maekawa 1987, Kawasaki 1989); one is drawn
    flat.
    """
    folded = vertex([(1, 0), (0, 1), (-1, 0), (0, -1)], "VVVM")
    assert verify.certify(folded).verdict == "certified"
    *others, last = folded.creases
    (finding,) = told(replace(folded, creases=(*others, replace(last, kind="flat")), raw=None))
    assert (finding.kind, finding.value["then"]) == ("repair-crease", "certified")


ENDS = {"short": (("9.92", "10.06"), "lengthen"), "long": (("10.08", "9.94"), "shorten")}


@pytest.mark.parametrize("case", ENDS)
def test_an_end_that_does_not_meet_its_line(case: str) -> None:
    """A square in half, and folded over along two lines, mirror images (Kawasaki 1989), of which one was to end where
    the other does. 0.08, 0.06 and 0.1 are as 4, 3 and 5.
    """
    end, how = ENDS[case]
    points = {
        "a": ("0", "0"),
        "b": ("20", "0"),
        "c": ("20", "20"),
        "d": ("0", "20"),
        "s": ("10", "0"),
        "n": ("10", "20"),
    }
    points |= {"w": ("0", "17.5"), "m": end, "e": ("20", "17.5"), "x": ("10", "10")}
    creases = (Crease("s", "n", "either"), Crease("w", "m", "either"), Crease("x", "e", "either"))
    document = Document(points, ("a", "b", "c", "d"), creases=creases)
    result = verify.certify(document)
    assert result.verdict == "refuted"
    (finding, *_) = told(document)
    assert finding.kind == "repair-end"
    assert f"{how} crease w–m at m by 0.1 mm to " in finding.message
    assert (finding.value["to"], finding.value["length_squared"]) == (["10", "10"], "1/100")
    assert finding.value["then"] == "certified"
    mended = repaired(document, 1)
    assert [c.kind for c in mended.creases] == ["either"] * 3
    assert (mended.creases[1].start, mended.creases[1].end) == ("w", "x")


def test_where_not_all_repairs_are_listed_the_answer_says_so() -> None:
    """Four folds in a cross, each with a free end: by symmetry what is said of one holds of all."""
    points = {
        "a": ("-9", "-9"), "b": ("9", "-9"), "c": ("9", "9"), "d": ("-9", "9"), "o": ("0", "0"),
        "e": ("5", "0"), "n": ("0", "5"), "w": ("-5", "0"), "s": ("0", "-5"),
    }  # fmt: skip
    creases = tuple(Crease("o", end, "mountain" if end == "e" else "valley") for end in "enws")
    cross = Document(points, ("a", "b", "c", "d"), creases=creases)
    for document, listed, others in ((cross, 3, 1), (replace(cross, creases=creases[:1]), 2, 0)):
        kinds = [f.kind for f in with_repairs(verify.certify(document)).findings]
        assert kinds.count("repair-crease") == listed
        assert kinds.count("more-repairs") == others


def test_an_end_that_is_far_from_everything_is_no_slip() -> None:
    points = {
        "a": ("0", "0"),
        "b": ("20", "0"),
        "c": ("20", "20"),
        "d": ("0", "20"),
        "w": ("0", "10"),
        "m": ("7", "10"),
    }
    document = Document(points, ("a", "b", "c", "d"), creases=(Crease("w", "m", "valley"),))
    kinds = {f.kind for f in told(document)}
    assert kinds == {"repair-crease"}  # it goes straight on
    (finding,) = told(document)
    assert (finding.value["degrees"], finding.value["end"], finding.value["then"]) == ("0", ["20", "10"], "certified")


def test_an_outline_that_is_not_closed(proofs: Path) -> None:
    document = certified(proofs, "kite")
    (loop,) = document.loops
    x, y = document.points[loop[0]]
    points = {**document.points, "near": (f"({x})+1/4", y)}
    path = (*loop, "near")
    broken = replace(document, points=points, loops=(), paths=(path,), raw=None)
    found = [f for f in told(broken) if f.kind == "repair-loop"]
    assert [f.message for f in found] == [
        f"repair 1: close target.paths[0]: its ends {loop[0]} and near are 0.25 mm apart; then it is certified"
    ]
    assert found[0].value["length_squared"] == "1/16"
    far = replace(broken, points={**points, "near": (f"({x})+5", y)})
    assert "repair-loop" not in {f.kind for f in told(far)}


def test_rounded_coordinates_are_said_before_folds_to_turn() -> None:
    """Six angles of 60° but for the rounding (with the third digit of sqrt(3) left out): V M V V V M folds if they are
    equal.
    """
    rounded = [("70", "0"), ("35", "60.6"), ("-35", "60.6"), ("-70", "0"), ("-35", "-60.6"), ("35", "-60.6")]
    first, *others = told(vertex(rounded, "VMVVVM"))
    assert (first.kind, first.value["then"]) == ("repair-rounding", "certified")
    assert [m["point"] for m in first.value["moved"]] == ["r1", "r2", "r4", "r5"]
    assert max(m["distance"] for m in first.value["moved"]) == pytest.approx(35 * sqrt(3) - 60.6)
    assert {f.kind for f in others} == {"repair-assignment"}


def test_mountains_and_valleys_that_are_wrong_are_no_rounding() -> None:
    """A strictly smallest angle between two valleys (Kawasaki 1989: big-little-big), in numbers with a decimal."""
    document = vertex([("70.5", "0"), ("60.5", "60.5"), ("-60.5", "60.5"), ("0", "-70.5")], "VVVM")
    result = verify.certify(document)
    assert result.verdict == "refuted"
    assert "big-little-big-fails" in {f.kind for f in result.failures}
    assert "looks-rounded" not in {f.kind for f in result.findings}
    assert {f.kind for f in told(document)} == {"repair-assignment"}


def test_nothing_to_mend(proofs: Path) -> None:
    for path in (
        proofs / "certified" / "kite.toml",
        proofs / "refuted" / "other-layer.toml",
        proofs / "recipes-refused" / "tearing.toml",
    ):
        result = verify.certify(path)
        assert repairs_of(result) == []
        assert with_repairs(result) is result
    with pytest.raises(NoRepair, match="found 0 repairs"):
        repaired(proofs / "certified" / "kite.toml", 1)


def test_the_command_tells_and_applies_what_is_accepted(proofs: Path, tmp_path: Path) -> None:
    path, new = proofs / "refuted" / "trapped-panel.toml", tmp_path / "new.toml"
    run = CliRunner().invoke
    for arguments in (["certify", str(path)], ["explain", str(path)]):
        assert (
            "repair 2: turn right-low–right-high from valley to mountain; then it is certified"
            in run(cli.main, arguments).output
        )
    keys = json.loads(run(cli.main, ["certify", str(path), "--json"]).output)
    assert [f["value"]["creases"] for f in keys["findings"] if f["kind"] == "repair-assignment"] == [
        [{"crease": 0, "ends": ["left-low", "left-high"], "to": "mountain"}],
        [{"crease": 1, "ends": ["right-low", "right-high"], "to": "mountain"}],
    ]
    done = run(cli.main, ["exact", str(path), "-o", str(new), "--accept", "2"])
    assert done.exit_code == 0, done.output
    assert [c.kind for c in load_any(new).creases] == ["valley", "mountain"]
    refused = run(cli.main, ["exact", str(path), "-o", str(new), "--accept", "3"])
    assert refused.exit_code == 2
    assert "found 2 repairs" in refused.output


def test_sarif_has_them_as_fixes(proofs: Path, tmp_path: Path) -> None:
    """Each fix replaces the whole file (SARIF 2.1.0, 3.55 to 3.57), and what it puts there is certified."""
    path = tmp_path / "trapped.toml"
    path.write_bytes((proofs / "refuted" / "trapped-panel.toml").read_bytes())
    log = tmp_path / "sweep"
    CliRunner().invoke(cli.main, ["sweep", str(path), "-o", str(log)])
    (result, *_) = json.loads((log / "sarif.json").read_text())["runs"][0]["results"]
    assert [fix["description"]["text"].split(":")[0] for fix in result["fixes"]] == ["repair 1", "repair 2"]
    rows = path.read_text().split("\n")
    for fix in result["fixes"]:
        (change,) = fix["artifactChanges"]
        (replacement,) = change["replacements"]
        assert replacement["deletedRegion"] == {
            "startLine": 1,
            "startColumn": 1,
            "endLine": len(rows),
            "endColumn": len(rows[-1]) + 1,
        }
        path.write_text(replacement["insertedContent"]["text"])
        assert verify.certify(path).verdict == "certified"


def test_repairs_are_not_looked_for_longer_than_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    """Other assignments are tried only until the time is up; here it is over at once."""
    tried = []
    monkeypatch.setattr("verify.construct.rounded.repairs._Search._folds", lambda *_: tried.append(1))
    pattern = miura(4, 4)
    creases = list(pattern.creases)
    creases[5] = replace(creases[5], kind="mountain")
    result = verify.certify(replace(pattern, creases=tuple(creases), raw=None))
    assert result.verdict == "refuted"
    repairs_of(result)
    assert tried
    tried.clear()
    repairs_of(result, Limits(seconds=1e-9))
    assert not tried


@pytest.mark.parametrize(("name", "step"), [("kite", 2), ("house", 3), ("letter-l", 2)])
def test_a_fold_onto_the_other_way_round_is_pointed_at(proofs: Path, name: str, step: int) -> None:
    """A certified recipe, one alignment of which is written the wrong way; nothing is said of the recipe as it was."""
    recipe = load_any(proofs / "recipes" / f"{name}.toml")
    keys = deepcopy(recipe.keys())
    right = list(keys["steps"][step - 1]["fold"]["onto"])
    keys["steps"][step - 1]["fold"]["onto"] = right[::-1]
    wrong = with_repairs(verify.certify(read_any(keys)))
    assert wrong.verdict == "refuted"
    assert [(f.where, f.value) for f in wrong.findings if f.kind == "other-way"] == [(tuple(right), {"step": step})]
    assert not any(f.kind == "other-way" for f in with_repairs(verify.certify(recipe)).findings)
    assert with_repairs(replace(wrong, findings=()), Limits(seconds=1e-9)).findings == ()


def test_a_fold_that_would_fold_nothing_is_no_repair() -> None:
    """The flap's edge onto the long side of the triangle, where the other layer is in the way. The other way round the
    line is square to the bisector of that corner, and only touches the paper there.
    """
    keys = {
        "format": "creaseproof-recipe/1",
        "points": {"sw": [0, 0], "se": [15, 0], "ne": [15, 15], "nw": [0, 15]},
        "sheet": {"outline": ["sw", "se", "ne", "nw"]},
        "steps": [
            {"fold": {"point": "sw", "onto": "ne"}, "moves": "sw"},
            {"fold": {"line": ["nw", "ne"], "onto": ["nw", "se"]}, "moves": "ne", "layers": "flap"},
        ],
    }
    wrong = with_repairs(verify.certify(read_any(keys)))
    assert wrong.verdict == "refuted"
    assert not any(f.kind == "other-way" for f in wrong.findings)
