"""Refutations of every kind that the kernel must accept, and refutations that refute nothing."""

from __future__ import annotations

import random
from collections.abc import Callable
from fractions import Fraction
from itertools import product
from typing import Any

import pytest

from verify.kernel.clauses import even
from verify.kernel.plane import mirrored
from verify.kernel.reading import Work
from verify.kernel.refutation import Clauses

from .examples import Case, crossed, ladder, map22, refuting, run, sealed, square, strip, tip, windmill

FOLDS = [{"fold": [2, 3]}, {"fold": [4, 5]}]
THROUGH = [{"edge": [2, 3], "face": 2}, {"edge": [4, 5], "face": 0}]


def trapped() -> Case:
    """Two valleys too near: [0, 7] x [0, 1], x = 3 and x = 4."""
    return refuting(
        strip(7, [(3, "valley"), (4, "valley")]), {"kind": "order", "reasons": FOLDS + THROUGH, "steps": [[]]}
    )


def walking(case: Case, walk: list[int]) -> Case:
    """A refutation by a closed walk, over the first edge that two faces in a row have in common."""
    sides = [{frozenset(pair) for pair in zip(face, face[1:] + face[:1], strict=True)} for face in case[1]["faces"]]
    shared = [sides[f] & sides[g] for f, g in zip(walk, walk[1:] + walk[:1], strict=True)]
    edges = [min(sorted(edge) for edge in both) for both in shared]
    return refuting(case, {"kind": "closure", "walk": walk, "edges": edges})


def one_crease() -> Case:
    """A crease from a corner that ends in the middle of the square."""
    return walking(square(("mountain", "flat", "flat", "flat"), "1"), [0, 1, 2, 3])


def skew() -> Case:
    """Four creases from the corners that meet beside the middle."""
    return walking(square(centre="1/2"), [0, 1, 2, 3])


def four_valleys() -> Case:
    return refuting(square(("valley",) * 4), {"kind": "maekawa", "vertex": 4})


def two_lines() -> Case:
    return refuting(
        strip(4, [(1, "target"), (2, "valley"), ("7/2", "target")]), {"kind": "apart", "edges": [[2, 3], [6, 7]]}
    )


def three_rungs() -> Case:
    return refuting(ladder(3, 2), {"kind": "apart", "edges": [[4, 5], [6, 7], [8, 9]]})


def under(cell: dict[str, Any], lines: list[tuple[Any, str]]) -> Callable[[], Case]:
    return lambda: refuting(strip(4, lines), {"kind": "stray", "edge": [2, 3], "cell": cell})


def tip_on_the_line() -> Case:
    return refuting(tip(), {"kind": "stray", "edge": [3, 8], "cell": {"vertex": 6}})


def edge_across() -> Case:
    return refuting(crossed(), {"kind": "stray", "edge": [4, 5], "cell": {"edge": [2, 8]}})


def edge_of_a_part() -> Case:
    """The same, the face beside the target cut in two at y = 1/2: the line runs through the upper part."""
    document, cert = edge_across()
    cert["vertices"] = [*cert["vertices"], [1, "1/2"], [2, "1/2"]]
    cert["fold"]["images"] = cert["vertices"]
    cert["faces"] = [[0, 1, 10, 5, 4], [4, 5, 7, 6], [1, 2, 11, 10], [10, 11, 8, 7, 5], [2, 3, 9, 8, 11]]
    cert["refutation"]["cell"] = {"edge": [8, 11]}
    return document, cert


ACCEPTED: dict[str, tuple[Callable[[], Case], str]] = {
    "trapped": (trapped, "order"),
    "a crease that ends": (one_crease, "closure"),
    "reflections make a turn": (skew, "closure"),
    "four valleys": (four_valleys, "maekawa"),
    "two lines": (two_lines, "apart"),
    "three rungs, two snips": (three_rungs, "apart"),
    "a face under the cut": (under({"face": 2}, [(1, "target"), (2, "valley")]), "stray"),
    "an edge under the cut": (under({"edge": [6, 7]}, [(1, "target"), (2, "valley"), (3, "aux")]), "stray"),
    "a vertex under the cut": (tip_on_the_line, "stray"),
    "the edge across a face": (edge_across, "stray"),
    "the edge of a part": (edge_of_a_part, "stray"),
}


@pytest.mark.parametrize("name", ACCEPTED)
def test_accepted(name: str) -> None:
    make, kind = ACCEPTED[name]
    outcome = run(make())
    assert outcome.code == "", outcome.reason
    assert (outcome.accepted, outcome.proves, outcome.kind) == (True, "refuted", kind)


def test_stated_edges_of_a_walk() -> None:
    document, cert = one_crease()
    cert["refutation"]["edges"] = [[1, 4], [4, 2], [3, 4], [4, 0]]
    assert run((document, cert)).accepted
    cert["refutation"]["edges"][0] = [4, 2]
    assert run((document, cert)).code == "refutation.closure"


def test_mirror_images() -> None:
    """The foot of the perpendicular halves the way from a point to its mirror image; in fractions, by projection."""
    rng = random.Random(1)
    for _ in range(200):
        a, b, c, x, y = (rng.randint(-9, 9) for _ in range(5))
        w = rng.randint(1, 5)
        if a or b:
            along = Fraction(a * x + b * y + c * w, w * (a * a + b * b))
            u, v, k = mirrored((a, b, c), (x, y, w))
            assert (Fraction(u, k), Fraction(v, k)) == (Fraction(x, w) - 2 * a * along, Fraction(y, w) - 2 * b * along)


def test_two_ways_between_two_faces() -> None:
    """A crease over half of a common side: out through the crease, back through the rest of the side."""
    document, cert = strip(2, [(1, "aux")])
    document["points"]["h"] = [1, "1/2"]
    document["creases"] = [["s1", "h", "either"]]
    cert["vertices"].append([1, "1/2"])
    cert["faces"] = [[0, 2, 6, 3, 1], [2, 4, 5, 3, 6]]
    cert["chains"]["creases"] = [[2, 6]]
    case = refuting(sealed((document, cert)), {"kind": "closure", "walk": [0, 1], "edges": [[2, 6], [6, 3]]})
    assert run(case).accepted
    cert["refutation"]["edges"] = [[2, 6], [2, 6]]
    assert run(case).code == "refutation.closure"
    del cert["refutation"]["edges"]
    assert run(case).code == "certificate.key"


def test_either_at_a_vertex() -> None:
    for kinds, refuted in (
        (("either", "valley", "valley", "valley"), False),
        (("either", "valley", "mountain", "mountain"), False),
        (("either",) * 4, False),
        (("valley", "mountain", "valley", "mountain"), True),
        (("flat", "valley", "valley", "either"), True),
        (("flat", "valley", "flat", "valley"), False),
    ):
        case = refuting(square(kinds), {"kind": "maekawa", "vertex": 4})
        assert run(case).accepted is refuted, kinds


def test_by_triangles() -> None:
    """Three layers cannot lie in a cycle where they have a common point."""
    document, cert = refuting(
        strip(3, [(1, "either"), (2, "either")]),
        {"kind": "order", "reasons": [{"faces": [0, 1, 2], "point": ["1/2", "1/2"]}], "steps": [[]]},
    )
    for step, code in (
        ([], "step"),
        ([[0, 1], [1, 0]], "order"),
        ([[1, 0], [2, 1], [0, 2]], "order"),
        ([[0, 1], [1, 2], [2, 0]], "order"),
        ([[0, 1], [1, 2], [0, 2]], "step"),
    ):
        cert["refutation"]["steps"] = [step]
        assert run((document, cert)).code == f"refutation.{code}"
    cert["refutation"]["reasons"][0]["face"] = 0
    assert run((document, cert)).code == "refutation.reason"


def test_an_edge_runs_through_a_face() -> None:
    """[0, 6] folded at 2 and 4, with a line at 5: the fold at 4 lies at 0, where face 3 does not come; that at 2
    neither crosses it.
    """
    case = refuting(
        strip(6, [(2, "either"), (4, "either"), (5, "aux")]), {"kind": "order", "reasons": [], "steps": [[]]}
    )
    for edge, face, code in (
        ([6, 7], 0, "step"),
        ([6, 7], 1, "step"),
        ([4, 5], 3, "reason"),
        ([2, 3], 3, "reason"),
        ([4, 5], 0, "reason"),
        ([6, 7], 2, "reason"),
    ):
        case[1]["refutation"]["reasons"] = [{"edge": edge, "face": face}]
        assert run(case).code == f"refutation.{code}"


def test_shared_segments_of_each_kind() -> None:
    """Clauses of two folds, of a fold and a flat edge, and of two flat edges, each needed for a contradiction."""
    kinds = ("either", "valley", "mountain", "mountain")
    document, cert = refuting(
        square(kinds),
        {
            "kind": "order",
            "reasons": [{"edges": [[0, 5], [2, 7]]}, {"edges": [[5, 6], [7, 8]]}, {"edges": [[5, 6], [6, 7]]}],
            "steps": [[[0, 0]]],
        },
    )
    assert run((document, cert)).code == "refutation.step"
    cert["refutation"]["steps"] = [[[0, 2], [6, 4]], [[2, 0], [4, 6]], [[1, 0], [4, 5]]]
    assert run((document, cert)).code == "refutation.order"  # all follow, but not the empty clause
    for reason in cert["refutation"]["reasons"]:
        reason["edges"].reverse()
    assert run((document, cert)).code == "refutation.order"
    cert["refutation"]["reasons"][0]["face"] = 0
    assert run((document, cert)).code == "refutation.reason"
    del cert["refutation"]["reasons"][0]["face"]
    cert["refutation"]["steps"] = [[[0, 2], [4, 6]]]
    assert run((document, cert)).code == "refutation.step"
    cert["refutation"]["steps"] = [[[0, 1]]]
    assert run((document, cert)).code == "refutation.step"


def test_border_edges_have_no_condition() -> None:
    """The end of the paper may lie between any layers: x = 9/2 ends inside face 0; x = 0 and x = 2 end on one line."""
    case = refuting(strip("9/2", [(3, "valley"), (4, "valley")]), {"kind": "order", "reasons": [], "steps": [[]]})
    case[1]["refutation"]["reasons"] = [{"edge": [6, 7], "face": 0}]
    outcome = run(case)
    assert outcome.code == "refutation.reason"
    case = refuting(strip(2, [(1, "valley")]), {"kind": "order", "reasons": [], "steps": [[]]})
    for edges in ([[0, 1], [4, 5]], [[4, 5], [0, 1]]):
        case[1]["refutation"]["reasons"] = [{"edges": edges}]
        outcome = run(case)
        assert outcome.code == "refutation.reason"
    case = refuting(strip(3, [(1, "valley"), (2, "mountain")]), {"kind": "order", "reasons": [], "steps": [[]]})
    for edges in ([[0, 1], [4, 5]], [[4, 5], [0, 1]]):  # x = 2 comes to lie on x = 0
        case[1]["refutation"]["reasons"] = [{"edges": edges}]
        assert run(case).code == "refutation.reason"


Edit = Callable[[dict[str, Any]], object]
REJECTED: list[tuple[str, Callable[[], Case], str, Edit]] = [
    ("no goal", trapped, "refutation.order", lambda r: r.update(steps=[[[0, 1], [1, 0]]])),
    ("no steps", trapped, "certificate.length", lambda r: r.update(steps=[])),
    ("steps after the empty clause", trapped, "refutation.order", lambda r: r.update(steps=[[], [[0, 1]]])),
    ("a reason missing", trapped, "refutation.step", lambda r: r["reasons"].pop()),
    ("no reasons", trapped, "refutation.step", lambda r: r.update(reasons=[])),
    ("face compared with itself", trapped, "refutation.step", lambda r: r.update(steps=[[[0, 0]], []])),
    ("face that is none", trapped, "certificate.range", lambda r: r.update(steps=[[[0, 3]], []])),
    ("edge not through the face", trapped, "refutation.reason", lambda r: r["reasons"][2].update(face=0)),
    ("edge through its own face", trapped, "refutation.reason", lambda r: r["reasons"][2].update(face=1)),
    ("edge that is none", trapped, "edge", lambda r: r["reasons"][2].update(edge=[2, 5])),
    ("border edge", trapped, "refutation.reason", lambda r: r["reasons"][2].update(edge=[0, 1])),
    ("reason of no kind", trapped, "refutation.reason", lambda r: r["reasons"].append({})),
    ("reason of two kinds", trapped, "refutation.reason", lambda r: r["reasons"][0].update(face=1)),
    ("reason with more", trapped, "certificate.key", lambda r: r["reasons"][0].update(because="")),
    ("edges apart", trapped, "refutation.reason", lambda r: r["reasons"].append({"edges": [[2, 3], [4, 5]]})),
    ("edges apart, reversed", trapped, "refutation.reason", lambda r: r["reasons"].append({"edges": [[4, 5], [2, 3]]})),
    ("edge, face and fold", trapped, "refutation.reason", lambda r: r["reasons"][2].update(fold=[2, 3])),
    ("face from the end", trapped, "certificate.range", lambda r: r["reasons"][2].update(face=-1)),
    ("an edge with itself", trapped, "refutation.reason", lambda r: r["reasons"].append({"edges": [[2, 3], [3, 2]]})),
    (
        "point on an edge",
        trapped,
        "refutation.reason",
        lambda r: r["reasons"].append({"faces": [0, 1, 2], "point": [3, "1/2"]}),
    ),
    (
        "point outside",
        trapped,
        "refutation.reason",
        lambda r: r["reasons"].append({"faces": [0, 1, 2], "point": [4, 4]}),
    ),
    (
        "a face twice",
        trapped,
        "refutation.reason",
        lambda r: r["reasons"].append({"faces": [0, 1, 1], "point": ["5/2", "1/2"]}),
    ),
    (
        "fold of an either edge",
        lambda: refuting(strip(2, [(1, "either")]), {"kind": "order", "reasons": [{"fold": [2, 3]}], "steps": [[]]}),
        "refutation.reason",
        lambda r: None,
    ),
    (
        "fold of a flat edge",
        lambda: refuting(strip(2, [(1, "aux")]), {"kind": "order", "reasons": [{"fold": [2, 3]}], "steps": [[]]}),
        "refutation.reason",
        lambda r: None,
    ),
    (
        "pattern that folds",
        lambda: refuting(
            strip(7, [(3, "valley"), (4, "mountain")]), {"kind": "order", "reasons": FOLDS + THROUGH, "steps": [[]]}
        ),
        "refutation.step",
        lambda r: None,
    ),
    (
        "walk around a good vertex",
        lambda: walking(square(), [4, 5, 6, 7]),
        "refutation.closure",
        lambda r: None,
    ),
    ("walk there and back", skew, "refutation.closure", lambda r: r.update(walk=[0, 1], edges=[[1, 4], [1, 4]])),
    ("walk without a common edge", skew, "refutation.closure", lambda r: r.update(walk=[0, 2], edges=[[1, 4], [1, 4]])),
    ("walk not closed", skew, "refutation.closure", lambda r: r.update(walk=[0, 1, 2], edges=[[1, 4], [2, 4], [3, 4]])),
    ("walk that stays", skew, "refutation.closure", lambda r: r.update(walk=[0], edges=[[1, 4]])),
    ("no walk", skew, "certificate.length", lambda r: r.update(walk=[])),
    (
        "walk over flat edges",
        lambda: walking(square(("flat",) * 4), [4, 5, 6, 7]),
        "refutation.closure",
        lambda r: None,
    ),
    ("walk with edges too few", skew, "certificate.length", lambda r: r.update(edges=[[1, 4]])),
    ("vertex on the border", four_valleys, "refutation.maekawa", lambda r: r.update(vertex=0)),
    (
        "vertex on no fold",
        lambda: refuting(square(("flat",) * 4), {"kind": "maekawa", "vertex": 4}),
        "refutation.maekawa",
        lambda r: None,
    ),
    ("vertex on the middle of a fold", four_valleys, "refutation.maekawa", lambda r: r.update(vertex=5)),
    (
        "vertex of a good square",
        lambda: refuting(square(), {"kind": "maekawa", "vertex": 4}),
        "refutation.maekawa",
        lambda r: None,
    ),
    (
        "lines on one line",
        lambda: refuting(
            strip(4, [(1, "target"), (2, "valley"), (3, "target")]), {"kind": "apart", "edges": [[2, 3], [6, 7]]}
        ),
        "refutation.apart",
        lambda r: None,
    ),
    ("one edge twice", two_lines, "refutation.apart", lambda r: r.update(edges=[[2, 3], [3, 2]])),
    ("edge that is not target", two_lines, "refutation.target", lambda r: r.update(edges=[[2, 3], [4, 5]])),
    ("too few edges", two_lines, "certificate.length", lambda r: r.update(edges=[[2, 3]])),
    ("too many edges", two_lines, "certificate.length", lambda r: r.update(edges=[[2, 3], [6, 7], [2, 3]])),
    (
        "two rungs, one snip",
        lambda: refuting(ladder(2, 1), {"kind": "apart", "edges": [[4, 5], [6, 7]]}),
        "refutation.apart",
        lambda r: None,
    ),
    (
        "apart without a target",
        lambda: refuting(map22(), {"kind": "apart", "edges": [[3, 4]]}),
        "refutation.target",
        lambda r: None,
    ),
    (
        "stray without a target",
        lambda: refuting(map22(), {"kind": "stray", "edge": [3, 4], "cell": {"face": 0}}),
        "refutation.target",
        lambda r: None,
    ),
    (
        "stray with two snips",
        lambda: refuting(ladder(3, 2), {"kind": "stray", "edge": [4, 5], "cell": {"edge": [5, 6]}}),
        "refutation.stray",
        lambda r: None,
    ),
    ("stray from no target", ACCEPTED["a face under the cut"][0], "refutation.target", lambda r: r.update(edge=[0, 1])),
    ("stray face beside", ACCEPTED["a face under the cut"][0], "refutation.stray", lambda r: r["cell"].update(face=0)),
    (
        "stray target edge",
        ACCEPTED["an edge under the cut"][0],
        "refutation.stray",
        lambda r: r.update(cell={"edge": [2, 3]}),
    ),
    (
        "stray edge that only touches",
        ACCEPTED["an edge under the cut"][0],
        "refutation.stray",
        lambda r: r.update(cell={"edge": [4, 6]}),
    ),
    (
        "stray edge on one side, of a face across",
        edge_of_a_part,
        "refutation.stray",
        lambda r: r.update(cell={"edge": [10, 11]}),
    ),
    (
        "stray target vertex",
        ACCEPTED["a vertex under the cut"][0],
        "refutation.stray",
        lambda r: r["cell"].update(vertex=2),
    ),
    (
        "stray vertex beside",
        ACCEPTED["a vertex under the cut"][0],
        "refutation.stray",
        lambda r: r["cell"].update(vertex=4),
    ),
    ("stray of nothing", ACCEPTED["a vertex under the cut"][0], "certificate.key", lambda r: r.update(cell={})),
    (
        "stray of two cells",
        ACCEPTED["a vertex under the cut"][0],
        "certificate.key",
        lambda r: r["cell"].update(face=0),
    ),
    ("no such kind", trapped, "certificate.type", lambda r: r.update(kind="other")),
    ("kind a list", trapped, "certificate.type", lambda r: r.update(kind=["order"])),
    ("fold with closure", trapped, "certificate.key", lambda r: (r.clear(), r.update(kind="closure", walk=[0]))),
]


@pytest.mark.parametrize(("make", "code", "edit"), [row[1:] for row in REJECTED], ids=[row[0] for row in REJECTED])
def test_rejected(make: Callable[[], Case], code: str, edit: Edit) -> None:
    document, cert = make()
    edit(cert["refutation"])
    outcome = run((document, cert))
    assert (outcome.code, outcome.accepted) == (code, False), outcome.reason


@pytest.mark.parametrize("name", ACCEPTED)
@pytest.mark.parametrize("edit", ["proves", "fold", "digest", "faces", "chains"])
def test_the_rest_of_a_refutation_is_checked_too(name: str, edit: str) -> None:
    document, cert = ACCEPTED[name][0]()
    if edit == "proves":
        cert["proves"] = "certified"
    elif edit == "fold":
        cert["fold"] = {"images": [[0, 0]] * len(cert["vertices"]), "turned": []}
    elif edit == "digest":
        document["unit"] = "in"
    elif edit == "faces":
        cert["faces"][0].reverse()
    else:
        cert["chains"]["sheet"][0].reverse()
    assert not run((document, cert)).accepted


def test_a_gap_that_is_clean() -> None:
    """Three edges in a row on one line, two snips: one snip does for all."""
    document, cert = ladder(3, 2)
    document["target"] = {"paths": [["m0", "m5"]]}
    cert["chains"]["target"] = [[4, 5, 6, 7, 8, 9]]
    case = refuting(sealed((document, cert)), {"kind": "apart", "edges": [[4, 5], [6, 7], [8, 9]]})
    assert run(case).code == "refutation.apart"


def test_folds_flat_is_not_refuted_by_a_windmill() -> None:
    steps = [[[1, 2]], [[2, 3]], [[3, 4]], [[4, 1]], []]
    folds = [{"fold": pair} for pair in ([0, 1], [2, 3], [4, 5], [6, 7])]
    assert run(refuting(windmill(1), {"kind": "order", "reasons": folds, "steps": steps})).code == "refutation.step"


def brute(clauses: list[list[int]], variables: int) -> bool:
    """Whether some valuation satisfies all clauses."""
    return any(
        all(any((x > 0) == bool(bits >> abs(x) - 1 & 1) for x in clause) for clause in clauses)
        for bits in range(1 << variables)
    )


def pairs(clause: list[int]) -> list[tuple[int, int]]:
    """Variable x as the pair (0, x), its opposite as (x, 0)."""
    return [(0, x) if x > 0 else (-x, 0) for x in clause]


def test_propagation_against_all_valuations() -> None:
    chance = random.Random(7)
    found = 0
    for _ in range(400):
        given = [
            [chance.choice((-1, 1)) * chance.randint(1, 5) for _ in range(chance.randint(1, 3))]
            for _ in range(chance.randint(1, 14))
        ]
        clauses = Clauses(Work(0, 0))
        for clause in given:
            clauses.add(pairs(clause))
        for _ in range(6):
            new = [chance.choice((-1, 1)) * chance.randint(1, 5) for _ in range(chance.randint(0, 2))]
            if clauses.follows(pairs(new)):
                found += 1
                assert not brute(given + [[-x] for x in new], 5)
                clauses.add(pairs(new))
                given.append(new)
        if clauses.follows([]):
            assert not brute(given, 5)
    assert found > 200


def closed(given: list[list[int]], start: set[int]) -> set[int] | None:
    """Unit propagation by rereading all clauses until nothing changes; None for a contradiction."""
    true = set(start)
    while True:
        if any(-x in true for x in true):
            return None
        new = set(true)
        for clause in given:
            if not any(x in true for x in clause):
                left = {x for x in clause if -x not in true}
                if not left:
                    return None
                if len(left) == 1:
                    new |= left
        if new == true:
            return true
        true = new


def test_propagation_is_exactly_unit_propagation() -> None:
    chance = random.Random(11)
    outcomes = set()
    for _ in range(1500):
        given = [
            [chance.choice((-1, 1)) * chance.randint(1, 8) for _ in range(chance.randint(1, 4))]
            for _ in range(chance.randint(1, 24))
        ]
        clauses = Clauses(Work(0, 0))
        for clause in given:
            clauses.add(pairs(clause))
        for _ in range(3):
            asked = [chance.choice((-1, 1)) * chance.randint(1, 8) for _ in range(chance.randint(0, 3))]
            expected = closed(given, {-x for x in asked}) is None
            assert clauses.follows(pairs(asked)) is expected
            outcomes.add((expected, len(asked)))
    assert len(outcomes) == 8


@pytest.mark.parametrize("count", [2, 4])
def test_an_even_number_of_literals(count: int) -> None:
    """By the table of all choices: the clauses hold iff an even number of the literals does."""
    literals = [(2 * i, 2 * i + 1) for i in range(count)]
    clauses = even(literals)
    assert {len({*clause}) for clause in clauses} == {count}
    for choice in product((False, True), repeat=count):
        true = {(f, g) if holds else (g, f) for (f, g), holds in zip(literals, choice, strict=True)}
        assert all(true & {*clause} for clause in clauses) == (sum(choice) % 2 == 0)
