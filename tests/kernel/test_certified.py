"""Certificates that the kernel must accept, and single edits of them that it must refuse for the reason named."""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from itertools import accumulate, combinations, pairwise, permutations
from typing import Any

import pytest

from tests.profiles import some
from verify.kernel.check import check_bytes

from .examples import (
    Case,
    as_bytes,
    columns,
    crossed,
    field_strip,
    grid,
    ladder,
    map22,
    refuting,
    run,
    sealed,
    square,
    strip,
    tip,
    windmill,
    window,
)

ROOT2: dict[str, Any] = {"polynomial": [-2, 0, 1], "root": [1, 2], "values": {}}
GOLDEN: dict[str, Any] = {"polynomial": [-1, -1, 1], "root": ["3/2", 2], "values": {}}
REDUCIBLE: dict[str, Any] = {"polynomial": [10, -2, -5, 1], "root": ["7/5", "3/2"], "values": {}}


def root_strip() -> Case:
    return field_strip("sqrt(2)", [0, 1], [0, 2], {**ROOT2, "values": {"sqrt(2)": [0, 1]}})


def other_square() -> Case:
    document, cert = square(("valley", "valley", "valley", "mountain"))
    cert["order"]["stack"] = [0, 3, 2, 1, 4, 7, 6, 5]
    return document, cert


# tan x = sin 2x / (1 + cos 2x), here of pi/4 and 3 pi/4; 1/(1 + r) = 2 - 2 r and 1/(1 - r) = 2 + 2 r for r^2 = 1/2
TANGENTS: dict[str, dict[str, object]] = {
    "tan(pi/8)": {"cos(pi/4)": [0, "1/2"], "1/(1+cos(pi*1/4))": [2, -1]},
    "tan(3*pi/8)": {"cos(pi/4)": [0, "1/2"], "1/(1+cos(pi*3/4))": [2, 1]},
}

ACCEPTED: dict[str, Callable[[], Case]] = {
    "one valley": lambda: strip(2, [(1, "valley")]),
    "one mountain": lambda: strip(2, [(1, "mountain")], [1, 0]),
    "one either": lambda: strip(2, [(1, "either")], [1, 0]),
    "a flat crease": lambda: strip(2, [(1, "flat")]),
    "an auxiliary edge": lambda: strip(2, [("1/2", "aux"), (1, "valley")]),
    "zigzag": lambda: strip(7, [(3, "valley"), (4, "mountain")]),
    "two layers under one cut": lambda: strip(4, [(1, "target"), (2, "valley"), (3, "target")]),
    "two snips": lambda: ladder(2, 2),
    "three snips": lambda: ladder(3, 3),
    "2 x 2 map": map22,
    "square out of a square": square,
    "the other square": other_square,
    "windmill": lambda: windmill(1),
    "windmill, one arm on top": lambda: windmill(1, False),
    "a hole": window,
    "sqrt": root_strip,
    "cos(pi/5)": lambda: field_strip("cos(pi/5)", [0, "1/2"], [0, 1], {**GOLDEN, "values": {"cos(pi/5)": [0, "1/2"]}}),
    "tan(pi/8)": lambda: field_strip("tan(pi/8)", [-1, 1], [-2, 2], {**ROOT2, "values": TANGENTS["tan(pi/8)"]}),
    "tan(3*pi/8)": lambda: field_strip("tan(3*pi/8)", [1, 1], [2, 2], {**ROOT2, "values": TANGENTS["tan(3*pi/8)"]}),
    "a reciprocal": lambda: field_strip(
        "(1/sqrt(2))", [0, "1/2"], [0, 1], {**ROOT2, "values": {"sqrt(2)": [0, 1], "1/(sqrt(2))": [0, "1/2"]}}
    ),
    "a polynomial with a second factor": lambda: field_strip(
        "sqrt(2)", [0, 1, 0], [0, 2, 0], {**REDUCIBLE, "values": {"sqrt(2)": [0, 1, 0]}}
    ),
}


@pytest.mark.parametrize("name", ACCEPTED)
def test_accepted(name: str) -> None:
    outcome = run(ACCEPTED[name]())
    assert (outcome.code, outcome.reason) == ("", "")
    assert outcome.accepted
    assert outcome.proves == "certified"
    assert outcome.kind is None
    assert outcome.claims[0] == "folds-flat"
    assert not outcome.malformed


def test_a_large_map() -> None:
    """Every two of 400 faces overlap; in the field of the square root of two it is the same map."""
    document, cert = grid(20, 20)
    for field in (cert["field"], ROOT2):
        cert["field"] = field
        outcome = run((document, cert))
        assert outcome.accepted, outcome.reason
        assert outcome.facts["folds"] == 760
    middle = cert["order"]["stack"]
    middle[190], middle[191] = middle[191], middle[190]
    assert run((document, cert)).code.startswith("order.")


@pytest.mark.parametrize(
    ("n", "m", "count"),
    [
        (2, 1, 2),
        (3, 1, 6),
        (4, 1, 16),
        (5, 1, 50),
        pytest.param(6, 1, 144, marks=pytest.mark.long),
        (2, 2, 8),
        pytest.param(3, 2, 60, marks=pytest.mark.long),
    ],
)
def test_the_number_of_foldings_of_a_map(n: int, m: int, count: int) -> None:
    """Of all orders of the stamps the kernel accepts as many as are known to be foldings."""
    document, cert = grid(n, m)
    for crease in document["creases"]:
        crease[2] = "either"
    sealed((document, cert))
    accepted = 0
    for stack in permutations(range(n * m)):
        cert["order"]["stack"] = list(stack)
        accepted += run((document, cert)).accepted
    assert accepted == count


def possible(kinds: list[str], ends: list[tuple[int, int]], stack: tuple[int, ...]) -> bool:
    """Whether a strip can lie so, from what paper does at each place of a line along it; `ends`: the images of each
    panel's ends.

    To the left and to the right of a place a panel goes on through it, ends in a fold, or is joined to a flat
    neighbour. Two folds on one side lie one in the other or apart; what goes through is outside every fold, and keeps
    its order.
    """
    at = {f: i for i, f in enumerate(stack)}
    for x in {e for pair in ends for e in pair}:
        through = [(at[f], at[f]) for f, (a, b) in enumerate(ends) if min(a, b) < x < max(a, b)]
        folds: dict[bool, list[tuple[int, int]]] = {False: [], True: []}
        for f, kind in enumerate(kinds):
            if ends[f][1] == x:
                left = ends[f][0] < x
                if kind == "flat":
                    through.append((at[f], at[f + 1]) if left else (at[f + 1], at[f]))
                else:
                    folds[left].append((min(at[f], at[f + 1]), max(at[f], at[f + 1])))
        if any((p < r) != (q < s) for (p, q), (r, s) in combinations(through, 2)):
            return False
        for left, pairs in folds.items():
            if any(low < (p if left else q) < high for low, high in pairs for p, q in through):
                return False
            if any((a < c < b) != (a < d < b) for (a, b), (c, d) in combinations(pairs, 2)):
                return False
    return True


@pytest.mark.parametrize("seed", some(range(24)))
def test_every_stack_of_a_strip_with_flat_lines(seed: int) -> None:
    rng = random.Random(seed)
    lengths = [rng.randint(1, 3) for _ in range(rng.choice((4, 4, 5)))]
    kinds = [rng.choice(("either", "either", "flat")) for _ in lengths[1:]]
    document, cert = strip(sum(lengths), list(zip(accumulate(lengths[:-1]), kinds, strict=True)))
    images = [int(x) for x, _ in cert["fold"]["images"][::2]]
    ends = list(pairwise(images))
    for stack in permutations(range(len(lengths))):
        cert["order"]["stack"] = list(stack)
        assert run((document, cert)).code == ("" if possible(kinds, ends, stack) else "order.crossing"), stack


def test_exceptions_are_a_list_of_pairs_each_greater_than_the_last() -> None:
    """The map's stack upside down, and for each pair that it lies the other way."""
    document, cert = map22()
    stack = cert["order"]["stack"][::-1]
    every = sorted([a, b] for a, b in combinations(stack, 2))
    for exceptions, code in (
        (every, ""),
        (sorted([b, a] for a, b in every), "order.except"),  # the upper one first
        *(([*every[:i], every[i], *every[i:]], "order.except") for i in range(6)),
        *(([*every[:i], every[i + 1], every[i], *every[i + 2 :]], "order.except") for i in range(5)),
        *(([*every[:i], every[i][:1], *every[i + 1 :]], "certificate.length") for i in range(6)),
        ([*every[:-1], [*every[-1], 0]], "certificate.length"),
    ):
        cert["order"] = {"stack": stack, "except": exceptions}
        assert run((document, cert)).code == code


def test_facts() -> None:
    assert run(square()).facts == {
        "faces": 8,
        "folds": 8,
        "layers": 4,
        "snips": 1,
    }


def test_the_whole_certificate_may_be_mirrored_or_moved() -> None:
    document, cert = strip(2, [(1, "valley")])
    cert["fold"] = {"images": [[5, -x[0]] if x[1] == 0 else [6, -x[0]] for x in cert["fold"]["images"]], "turned": [1]}
    assert run((document, cert)).accepted
    cert["fold"] = {"images": [[-x, y] for x, y in strip(2, [(1, "valley")])[1]["fold"]["images"]], "turned": [0]}
    assert run((document, cert)).code == "order.direction"
    cert["order"]["stack"] = [1, 0]
    assert run((document, cert)).accepted


Edit = Callable[[dict[str, Any], dict[str, Any]], object]
# name, what is edited, code, edit of (document, certificate); the digest is brought up to date before the edit
REJECTED: list[tuple[str, Callable[[], Case], str, Edit]] = [
    ("wrong digest", map22, "digest", lambda d, c: c.update(statement_sha256="0" * 64)),
    ("document changed", map22, "digest", lambda d, c: d.update(unit="cm")),
    ("digest of another type", map22, "digest", lambda d, c: c.update(statement_sha256=None)),
    ("unknown key", map22, "certificate.key", lambda d, c: c.update(comment="")),
    ("no order", map22, "certificate.key", lambda d, c: c.pop("order")),
    ("no fold", map22, "certificate.key", lambda d, c: c.pop("fold")),
    ("cut where none belongs", map22, "certificate.key", lambda d, c: c.update(cut={"snips": [[0, 1]]})),
    ("cut with one snip", square, "certificate.key", lambda d, c: c.update(cut={"snips": [[5, 6]]})),
    ("refutation beside", map22, "certificate.key", lambda d, c: c.update(refutation={})),
    ("proves nothing", map22, "certificate.type", lambda d, c: c.update(proves="true")),
    ("proves a list", map22, "certificate.type", lambda d, c: c.update(proves=[])),
    ("another format", map22, "certificate.format", lambda d, c: c.update(format="creaseproof-certificate/2")),
    # field
    ("not monic", map22, "field.polynomial", lambda d, c: c["field"].update(polynomial=[0, 2])),
    ("degree 0", map22, "certificate.length", lambda d, c: c["field"].update(polynomial=[1])),
    ("degree 33", map22, "certificate.length", lambda d, c: c["field"].update(polynomial=[1] * 34)),
    ("root elsewhere", map22, "field.root", lambda d, c: c["field"].update(root=[1, 2])),
    ("no root", root_strip, "field.root", lambda d, c: c["field"].update(polynomial=[2, 0, 1])),
    ("two roots", root_strip, "field.root", lambda d, c: c["field"].update(root=[-2, 2])),
    ("derivative vanishes", root_strip, "field.root", lambda d, c: c["field"].update(root=[-1, 2])),
    ("end is the root", root_strip, "field.root", lambda d, c: c["field"].update(polynomial=[-4, 0, 1], root=[1, 2])),
    ("double root", root_strip, "field.root", lambda d, c: c["field"].update(polynomial=[0, 0, 0, 1], root=[-1, 1])),
    ("interval reversed", root_strip, "field.root", lambda d, c: c["field"].update(root=[2, 1])),
    ("interval a point", root_strip, "field.root", lambda d, c: c["field"].update(root=[1, 1])),
    ("boolean in the polynomial", map22, "certificate.type", lambda d, c: c["field"].update(polynomial=[0, True])),
    ("negative denominator", map22, "certificate.number", lambda d, c: c["field"].update(root=["0/-1", 0])),
    ("zero denominator", map22, "certificate.number", lambda d, c: c["field"].update(root=["0/0", 0])),
    ("blank in a rational", map22, "certificate.number", lambda d, c: c["field"].update(root=[" 0", 0])),
    ("underscore in a rational", map22, "certificate.number", lambda d, c: c["field"].update(root=["0_0", 0])),
    ("digits of another script", map22, "certificate.number", lambda d, c: c["field"].update(root=["\u0660", 0])),
    ("too many digits", map22, "certificate.number", lambda d, c: c["field"].update(root=["1" * 4001, 0])),
    ("too large an integer", map22, "certificate.number", lambda d, c: c["field"].update(root=[10**4000, 0])),
    ("coefficients too few", root_strip, "certificate.length", lambda d, c: c["vertices"].__setitem__(2, [[0], 0])),
    # values
    ("no value", root_strip, "values.missing", lambda d, c: c["field"].update(values={})),
    ("the other root", root_strip, "values.wrong", lambda d, c: c["field"].update(values={"sqrt(2)": [0, -1]})),
    ("another number", root_strip, "values.wrong", lambda d, c: c["field"].update(values={"sqrt(2)": [1, 1]})),
    ("a value too many", map22, "values.unused", lambda d, c: c["field"].update(values={"sqrt(4)": 2})),
    ("blank in a key", root_strip, "values.missing", lambda d, c: c["field"].update(values={"sqrt( 2)": [0, 1]})),
    (
        "cos of 3 pi/5",
        ACCEPTED["cos(pi/5)"],
        "values.wrong",
        lambda d, c: c["field"]["values"].update({"cos(pi/5)": ["1/2", "-1/2"]}),
    ),
    ("cos = -1", ACCEPTED["cos(pi/5)"], "values.wrong", lambda d, c: c["field"]["values"].update({"cos(pi/5)": -1})),
    (
        "tan of 3 pi/8",
        ACCEPTED["tan(pi/8)"],
        "values.wrong",
        lambda d, c: c["field"]["values"].update({"cos(pi/4)": [0, "-1/2"]}),
    ),
    (
        "tan of -pi/8",
        ACCEPTED["tan(pi/8)"],
        "values.wrong",
        lambda d, c: c["field"]["values"].update({"1/(1+cos(pi*1/4))": [2, 1]}),
    ),
    (
        "tan 0",
        ACCEPTED["tan(pi/8)"],
        "values.wrong",
        lambda d, c: c["field"]["values"].update({"1/(1+cos(pi*1/4))": 0}),
    ),
    (
        "tan(3 pi/8) wrong",
        ACCEPTED["tan(3*pi/8)"],
        "values.wrong",
        lambda d, c: c["field"]["values"].update({"1/(1+cos(pi*3/4))": [2, -1]}),
    ),
    (
        "reciprocal wrong",
        ACCEPTED["a reciprocal"],
        "values.wrong",
        lambda d, c: c["field"]["values"].update({"1/(sqrt(2))": [0, 1]}),
    ),
    # subdivision
    ("vertex number negative", map22, "certificate.range", lambda d, c: c["faces"][0].__setitem__(0, -9)),
    ("vertex number too large", map22, "certificate.range", lambda d, c: c["faces"][0].__setitem__(0, 9)),
    ("vertex number a boolean", map22, "certificate.type", lambda d, c: c["faces"][0].__setitem__(0, False)),
    ("vertex number a text", map22, "certificate.type", lambda d, c: c["faces"][0].__setitem__(0, "0")),
    ("face of two", map22, "certificate.length", lambda d, c: c["faces"].append([0, 1])),
    ("no face", map22, "certificate.length", lambda d, c: c.update(faces=[])),
    ("vertex twice in a face", map22, "faces.convex", lambda d, c: c["faces"].append([0, 3, 0])),
    ("face twice", map22, "faces.edge", lambda d, c: c["faces"].append(list(c["faces"][0]))),
    ("face missing", window, "chains.edge", lambda d, c: c["faces"].pop()),
    ("corner face missing", map22, "vertices.unused", lambda d, c: c["faces"].pop()),
    ("face clockwise", map22, "faces.convex", lambda d, c: c["faces"][0].reverse()),
    ("face crossed", map22, "faces.convex", lambda d, c: c["faces"].__setitem__(0, [0, 4, 3, 1])),
    (
        "edge without length",
        lambda: strip(2, [(1, "aux")]),
        "faces.convex",
        lambda d, c: (
            c["vertices"].append([1, 0]),
            c["fold"]["images"].append([1, 0]),
            c.update(faces=[[0, 2, 6, 3, 1], [2, 4, 5, 3, 6]]),
        ),
    ),
    ("face without area", map22, "faces.convex", lambda d, c: c["faces"].append([0, 1, 2])),
    ("face not convex", map22, "faces.convex", lambda d, c: c["faces"].__setitem__(0, [0, 6, 5, 4, 2])),
    (
        "two faces made one",
        lambda: strip(2, [(1, "aux")]),
        "vertices.unused",
        lambda d, c: (c.update(faces=[[0, 4, 5, 1]]), c["chains"].update(sheet=[[0, 4, 5, 1]])),
    ),
    ("vertex moved", map22, "chains.end", lambda d, c: c["vertices"].__setitem__(4, [1, "3/2"])),
    ("vertex doubled", map22, "vertices.unused", lambda d, c: c["vertices"].append([0, 0])),
    ("seam", map22, "chains.edge", lambda d, c: (c["vertices"].append([1, 0]), c["faces"][1].__setitem__(0, 9))),
    ("hole filled", window, "chains.border", lambda d, c: c["faces"].append([4, 5, 6, 7])),
    (
        "hole wound the wrong way, filled twice",
        window,
        "faces.edge",
        lambda d, c: c["faces"].extend([[4, 5, 6, 7], [4, 5, 6, 7]]),
    ),
    ("hole not walked", window, "certificate.length", lambda d, c: c["chains"]["sheet"].pop()),
    (
        "outline walked twice",
        map22,
        "chains.end",
        lambda d, c: c["chains"]["sheet"].__setitem__(0, c["chains"]["sheet"][0] * 2),
    ),
    (
        "outline from another corner",
        map22,
        "chains.end",
        lambda d, c: c["chains"].update(sheet=[[6, 7, 8, 5, 2, 1, 0, 3]]),
    ),
    ("outline backwards", map22, "chains.straight", lambda d, c: c["chains"].update(sheet=[[0, 1, 2, 5, 8, 7, 6, 3]])),
    ("outline cut short", map22, "chains.edge", lambda d, c: c["chains"]["sheet"][0].remove(6)),
    ("outline past a vertex", map22, "chains.edge", lambda d, c: c["chains"]["sheet"][0].remove(7)),
    ("chain missing", map22, "certificate.length", lambda d, c: c["chains"]["creases"].pop()),
    ("chain backwards", map22, "chains.end", lambda d, c: c["chains"]["creases"][0].reverse()),
    ("chain of another line", map22, "chains.end", lambda d, c: c["chains"]["creases"].__setitem__(0, [7, 4])),
    ("chain jumps", square, "chains.edge", lambda d, c: c["chains"]["creases"].__setitem__(0, [0, 4])),
    (
        "chain turns back",
        square,
        "chains.straight",
        lambda d, c: c["chains"]["creases"].__setitem__(0, [0, 5, 0, 5, 4]),
    ),
    ("chain goes round", square, "chains.straight", lambda d, c: c["chains"]["creases"].__setitem__(0, [0, 5, 6, 4])),
    ("last chain jumps", square, "chains.edge", lambda d, c: c["chains"]["creases"].__setitem__(3, [3, 4])),
    ("chain too short", square, "certificate.length", lambda d, c: c["chains"]["creases"].__setitem__(0, [0])),
    ("target chain jumps", square, "chains.edge", lambda d, c: c["chains"]["target"].__setitem__(0, [5, 7])),
    # fold
    ("image moved", map22, "fold.isometry", lambda d, c: c["fold"]["images"].__setitem__(0, [0, 1])),
    (
        "images stretched",
        map22,
        "fold.isometry",
        lambda d, c: c["fold"].update(images=[[2 * x, y] for x, y in c["fold"]["images"]]),
    ),
    ("nothing folded", map22, "fold.isometry", lambda d, c: c["fold"].update(images=c["vertices"])),
    (
        "nothing folded, nothing turned",
        map22,
        "fold.turned",
        lambda d, c: c.update(fold={"images": c["vertices"], "turned": []}),
    ),
    (
        "a flat edge folded",
        lambda: strip(2, [(1, "flat")]),
        "fold.turned",
        lambda d, c: c.update(fold=strip(2, [(1, "valley")])[1]["fold"]),
    ),
    (
        "an auxiliary edge folded",
        lambda: strip(2, [(1, "aux")]),
        "fold.turned",
        lambda d, c: c.update(fold=strip(2, [(1, "valley")])[1]["fold"]),
    ),
    ("turned twice", map22, "fold.turned", lambda d, c: c["fold"].update(turned=[1, 1, 3])),
    ("turned not in order", map22, "fold.turned", lambda d, c: c["fold"].update(turned=[3, 1])),
    ("turned forgotten", map22, "fold.isometry", lambda d, c: c["fold"].update(turned=[1])),
    ("an image missing", map22, "certificate.length", lambda d, c: c["fold"]["images"].pop()),
    # order
    ("valley folded as a mountain", map22, "order.direction", lambda d, c: c["order"].update(stack=[1, 0, 3, 2])),
    ("stack reversed", map22, "order.direction", lambda d, c: c["order"]["stack"].reverse()),
    ("stack with a face twice", map22, "order.stack", lambda d, c: c["order"].update(stack=[0, 3, 2, 2])),
    ("stack too short", map22, "certificate.length", lambda d, c: c["order"].update(stack=[0, 3, 2])),
    (
        "two folds interleaved",
        lambda: square(("either",) * 4),
        "order.crossing",
        lambda d, c: c["order"].update(stack=[0, 2, 1, 3, 4, 6, 5, 7]),
    ),
    (
        "face between the faces of a fold",
        lambda: strip(7, [(3, "valley"), (4, "mountain")]),
        "order.crossing",
        lambda d, c: (
            d.update(creases=[["s1", "n1", "either"], ["s2", "n2", "either"]]),
            c["order"].update(stack=[0, 2, 1]),
            sealed((d, c)),
        ),
    ),
    (
        "face between the faces of a flat edge",
        lambda: strip(4, [(1, "aux"), (2, "valley")]),
        "order.crossing",
        lambda d, c: c["order"].update(stack=[0, 2, 1]),
    ),
    (
        "flat edges in different order",
        lambda: strip(4, [(1, "aux"), (2, "either"), (3, "aux")]),
        "order.crossing",
        lambda d, c: c["order"].update(stack=[0, 2, 1, 3]),
    ),
    (
        "fold through a flat edge",
        lambda: strip(6, [(2, "either"), (4, "either"), (5, "aux")]),
        "order.crossing",
        lambda d, c: c["order"].update(stack=[0, 2, 1, 3]),
    ),
    (
        "exception of faces apart",
        lambda: windmill(1),
        "order.except",
        lambda d, c: c["order"].update({"except": [[3, 1]]}),
    ),
    (
        "exception the wrong way",
        lambda: windmill(1),
        "order.except",
        lambda d, c: c["order"].update({"except": [[1, 4]]}),
    ),
    (
        "exception twice",
        lambda: windmill(1),
        "order.except",
        lambda d, c: c["order"].update({"except": [[4, 1], [4, 1]]}),
    ),
    (
        "exceptions out of order",
        lambda: windmill(1),
        "order.except",
        lambda d, c: c["order"].update({"except": [[4, 1], [0, 1]]}),
    ),
    (
        "exception of a face with itself",
        lambda: windmill(1),
        "order.except",
        lambda d, c: c["order"].update({"except": [[1, 1]]}),
    ),
    (
        "exception against a crease",
        lambda: windmill(1),
        "order.direction",
        lambda d, c: c["order"].update({"except": [[0, 1]]}),
    ),
    ("cycle with a common point", lambda: windmill(2), "order.transitivity", lambda d, c: None),
    # cut
    (
        "target off the line",
        lambda: strip(4, [(1, "target"), ("3/2", "valley"), (3, "target")]),
        "cut.stray",
        lambda d, c: None,
    ),
    ("face under the cut", lambda: strip(4, [(1, "target"), (2, "valley")]), "cut.stray", lambda d, c: None),
    (
        "edge under the cut",
        lambda: strip(4, [(1, "target"), (2, "valley"), (3, "aux")]),
        "cut.stray",
        lambda d, c: None,
    ),
    (
        "fold under the cut",
        lambda: strip("7/2", [(1, "target"), (2, "valley"), (3, "mountain")]),
        "cut.stray",
        lambda d, c: None,
    ),
    ("vertex under the cut", tip, "cut.stray", lambda d, c: None),
    ("an edge across the cut", crossed, "cut.stray", lambda d, c: None),
    ("gap under the cut", lambda: ladder(2, 1), "cut.stray", lambda d, c: None),
    ("snip across a gap", lambda: ladder(2, 2), "cut.stray", lambda d, c: c["cut"].update(snips=[[4, 7]])),
    ("a snip missing", lambda: ladder(2, 2), "cut.missed", lambda d, c: c["cut"]["snips"].pop()),
    ("a snip too many", lambda: ladder(2, 2), "certificate.length", lambda d, c: c["cut"]["snips"].append([4, 5])),
    ("a snip without length", lambda: ladder(2, 2), "cut.snips", lambda d, c: c["cut"]["snips"].__setitem__(0, [4, 4])),
    ("a snip that strays", lambda: ladder(3, 3), "cut.stray", lambda d, c: c["cut"]["snips"].__setitem__(0, [0, 5])),
    (
        "a snip along the border",
        lambda: ladder(2, 3),
        "certificate.key",
        lambda d, c: c["cut"].update(snips=[[4, 5], [6, 7], [0, 3]], more=1),
    ),
    (
        "one snip more, and it strays",
        lambda: ladder(2, 3),
        "cut.stray",
        lambda d, c: c["cut"].update(snips=[[4, 5], [6, 7], [0, 5]]),
    ),
]


@pytest.mark.parametrize(("make", "code", "edit"), [row[1:] for row in REJECTED], ids=[row[0] for row in REJECTED])
def test_rejected(make: Callable[[], Case], code: str, edit: Edit) -> None:
    document, cert = make()
    edit(document, cert)
    outcome = run((document, cert))
    assert (outcome.code, outcome.accepted, outcome.proves) == (code, False, None), outcome.reason
    assert outcome.reason
    assert "\n" not in outcome.reason
    assert outcome.reason.isascii()


def test_names_of_the_table_are_different() -> None:
    assert len({row[0] for row in REJECTED}) == len(REJECTED)


@pytest.mark.parametrize(
    ("lines", "code"),
    [
        ([["p00", "p10", "flat"]], "chains.crease"),
        ([["p00", "p10", "mountain"]], "chains.crease"),
    ],
)
def test_crease_on_the_border(lines: list[list[str]], code: str) -> None:
    document, cert = map22()
    document["creases"] += lines
    cert["chains"]["creases"].append([0, 3])
    assert run(sealed((document, cert))).code == code


def test_two_creases_on_one_edge() -> None:
    document, cert = map22()
    document["creases"].append(["p11", "p10", "flat"])
    cert["chains"]["creases"].append([4, 3])
    assert run(sealed((document, cert))).code == "chains.crease"


def test_target_on_the_border_and_on_a_crease() -> None:
    document, cert = strip(2, [(1, "valley")])
    document["target"] = {"paths": [["s1", "n1"], ["n1", "s1"]]}
    cert["chains"]["target"] = [[2, 3], [3, 2]]
    assert run(sealed((document, cert))).accepted
    document["target"] = {"paths": [["s0", "n0"], ["s2", "n2"]]}
    cert["chains"]["target"] = [[0, 1], [4, 5]]
    outcome = run(sealed((document, cert)))
    assert outcome.accepted
    assert outcome.facts["layers"] == outcome.facts["snips"] == 0


def test_what_lies_along_the_sheets_edge_is_cut_already() -> None:
    """A target line along the border need not lie on the cut's line, comes first or last, and is no witness of a
    refutation.
    """
    for chains in ([[0, 1], [2, 3]], [[2, 3], [0, 1]]):
        document, cert = strip(4, [(1, "target"), ("5/2", "aux")])
        document["target"] = {"paths": [[f"s{u // 2}", f"n{u // 2}"] for u, _ in chains]}
        cert["chains"]["target"] = chains
        outcome = run(sealed((document, cert)))
        assert outcome.accepted
        assert outcome.facts["layers"] == outcome.facts["snips"] == 1
        refutation = {"kind": "apart", "edges": [[0, 1], [2, 3]]}
        assert run(refuting((document, cert), refutation)).code == "refutation.target"
    document, cert = strip(4, [(1, "target"), ("5/2", "aux")])
    document["target"] = {"paths": [["s0", "n0"]]}
    cert["chains"]["target"] = [[0, 1]]
    refutation = {"kind": "stray", "edge": [0, 1], "cell": {"edge": [2, 3]}}
    assert run(refuting(sealed((document, cert)), refutation)).code == "refutation.target"


def test_the_sheets_edge_that_is_touched_is_not_severed() -> None:
    """The raw end of a strip folds onto the target; a corner of a sheet touches it; a snip runs along the border."""
    end, beyond = strip(3, [(1, "target"), (2, "valley")]), strip("7/2", [(1, "target"), (2, "valley"), (3, "aux")])
    assert run(end).facts["layers"] == 1
    assert run(beyond).code == "cut.stray"
    for cell in ({"edge": [6, 7]}, {"vertex": 6}):
        assert (
            run(
                refuting(strip(3, [(1, "target"), (2, "valley")]), {"kind": "stray", "edge": [2, 3], "cell": cell})
            ).code
            == "refutation.stray"
        )
    document, cert = ladder(2, 3)
    cert["cut"]["snips"].append([0, 3])
    assert run((document, cert)).accepted


@pytest.mark.parametrize(("kind", "layers"), [("flat", 1), ("valley", 2)])
def test_a_cut_along_a_fold_goes_through_both_its_layers(kind: str, layers: int) -> None:
    document, cert = strip(2, [(1, kind)])
    document["target"] = {"paths": [["s1", "n1"]]}
    cert["chains"]["target"].append([2, 3])
    outcome = run(sealed((document, cert)))
    assert outcome.accepted, outcome.reason
    assert outcome.facts["layers"] == layers


def test_a_snip_through_a_panel_between_two_targets() -> None:
    """The panel is entered where no end of the snip lies on one of its edges' lines."""
    document, cert = columns()
    assert run((document, cert)).accepted
    cert["cut"]["snips"][0] = [12, 15]
    outcome = run((document, cert))
    assert (outcome.accepted, outcome.code) == (False, "cut.stray")
    assert outcome.reason.endswith("such as face 3")


def test_the_figure_is_for_people() -> None:
    """It is read for its form and belongs to no statement."""
    document, cert = strip(4, [(1, "target")])
    named = {**document, "target": {**document["target"], "figure": ["s1", "n0"]}}
    assert run((named, cert)).accepted
    for figure, code in (
        (["s9"], "document.name"),
        ([], "document.length"),
        ("s1", "document.type"),
        ([1], "document.type"),
    ):
        outcome = run(({**document, "target": {**document["target"], "figure": figure}}, cert))
        assert (outcome.malformed, outcome.code) == (True, code)


def test_a_sheet_wound_twice_is_refused() -> None:
    """Two squares over each other, one border: nothing local is wrong, but the outline is not simple."""
    document, cert = map22()
    document["creases"] = []
    document["sheet"]["outline"] = ["p00", "p20", "p22", "p02"] * 2
    assert run(sealed((document, cert))).code == "document.loop"


def test_bytes_that_are_no_certificate() -> None:
    document, cert = map22()
    text = as_bytes(cert)
    for data, code in (
        (b"", "unreadable"),
        (b"{", "unreadable"),
        (b"\xff", "unreadable"),
        (b"[]", "format"),
        (b"null", "format"),
        (text[:-1] + b',"format":"creaseproof-certificate/1"}', "unreadable"),
        (text.replace(b'"root": [0, 0]', b'"root": [0.0, 0]'), "unreadable"),
        (b"[" * 100_000, "unreadable"),
        (text.replace(b'"root": [0, 0]', b'"root": [NaN, 0]'), "unreadable"),
        (text.replace(b'"root": [0, 0]', b'"root": [' + b"9" * 5000 + b", 0]"), "unreadable"),
    ):
        outcome = check_bytes(as_bytes(document), data, toml=False)
        assert outcome.malformed
        assert not outcome.accepted
        assert outcome.code == f"certificate.{code}"


def test_order_of_keys_and_blanks_do_not_matter() -> None:
    document, cert = map22()
    text = json.dumps(dict(reversed(list(cert.items()))), indent=3).encode()
    assert check_bytes(as_bytes(document), text, toml=False).accepted
