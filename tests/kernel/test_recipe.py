"""Recipes: small ones worked out by hand that the kernel must accept, single edits that it must refuse, refutations."""

from __future__ import annotations

import copy
import hashlib
import json
import random
import subprocess
import sys
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.places import ROOT
from tests.profiles import examples, some
from verify.kernel.check import check_bytes
from verify.kernel.reading import Malformed
from verify.kernel.recipe import FoldStep
from verify.kernel.statement import read_document

from .examples import ODD, RATIONAL, Case, as_bytes, element, paths, replaced, run

ROOT2: dict[str, Any] = {"polynomial": [-2, 0, 1], "root": [1, 2], "values": {}}
ROOT3: dict[str, Any] = {"polynomial": [-3, 0, 1], "root": [1, 2], "values": {}}
# alpha = sqrt(2) as a root of (x^2 - 2)(x - 5)
REDUCIBLE: dict[str, Any] = {"polynomial": [10, -2, -5, 1], "root": [1, 2], "values": {}}


def sealed(case: Case) -> Case:
    document, cert = case
    cert["statement_sha256"] = read_document(as_bytes(document), False).digest
    return document, cert


def case(points: dict[str, Any], outline: str, steps: list[Any], cert: dict[str, Any], **more: Any) -> Case:
    document = {
        "format": "creaseproof-recipe/1",
        "points": points,
        "sheet": {"outline": list(outline)},
        "steps": steps,
        **more,
    }
    base = {"format": "creaseproof-certificate/1", "proves": "certified", "field": copy.deepcopy(RATIONAL)}
    base |= {"chains": {"sheet": [cert.pop("walk")], "creases": [], "target": cert.pop("target", [])}}
    return sealed((document, base | cert))


def refuting(made: Case, first: int | None = None, /, **refutation: Any) -> Case:
    """The certificate turned into a refutation, of only the first steps."""
    document, cert = made
    cert = cert | {"proves": "refuted", "refutation": refutation, "steps": cert["steps"][:first]}
    if refutation["kind"] == "step":
        cert.pop("cut", None)
        cert["steps"][-1].pop("images", None)
    return sealed((document, cert))


# ---- a strip [0, 4] x [0, 1]: s0 … s4 below, n0 … n4 above; vertex 2x is (x, 0), vertex 2x + 1 is (x, 1)

STRIP = {f"{'sn'[y]}{x}": [x, y] for x in range(5) for y in (0, 1)}
HALF = {"fold": {"point": "s4", "onto": "s0"}, "moves": "s4"}
HALVED = {
    "line": [[2, 0], [2, 1]],
    "marks": {"s4": [3, [4, 0]], "s0": [0, [0, 0]]},
    "images": [[6, [1, 0]], [7, [1, 1]], [8, [0, 0]], [9, [0, 1]]],
}
BACK = {"fold": {"point": "s4", "onto": "s2"}, "moves": "s4", "layers": 1}
BENT_BACK = {
    "line": [[1, 0], [1, 1]],
    "marks": {"s4": [3, [0, 0]], "s2": [2, [2, 0]]},
    "images": [[8, [2, 0]], [9, [2, 1]]],
}


def strip(steps: list[Any], entries: list[Any], target: tuple[int, ...] = (), **more: Any) -> Case:
    """Four faces, each a square."""
    cert: dict[str, Any] = {
        "vertices": [[x, y] for x in range(5) for y in (0, 1)],
        "faces": [[2 * x, 2 * x + 2, 2 * x + 3, 2 * x + 1] for x in range(4)],
        "walk": [0, 2, 4, 6, 8, 9, 7, 5, 3, 1],
        "target": [[2 * x, 2 * x + 1] for x in target],
        "steps": copy.deepcopy(entries),
    }
    if target:
        more["target"] = {"paths": [[f"s{x}", f"n{x}"] for x in target]}
    points = copy.deepcopy(STRIP)
    return case(points, ("s0", "s4", "n4", "n0"), copy.deepcopy(steps), cert, **more)  # type: ignore[arg-type]


def half() -> Case:
    return strip([HALF], [HALVED])


def top_layer() -> Case:
    """Folded in half, then the upper layer back: a pleat."""
    return strip([HALF, BACK], [HALVED, BENT_BACK])


def flap() -> Case:
    document, cert = top_layer()
    document["steps"][1]["layers"] = "flap"
    return sealed((document, cert))


def whole_faces() -> Case:
    """The same with the lower layer one face, which the second line runs through and which does not move."""
    document, cert = top_layer()
    cert["vertices"] = [[0, 0], [2, 0], [3, 0], [4, 0], [4, 1], [3, 1], [2, 1], [0, 1]]
    cert["faces"] = [[0, 1, 6, 7], [1, 2, 5, 6], [2, 3, 4, 5]]
    cert["chains"]["sheet"] = [[0, 1, 2, 3, 4, 5, 6, 7]]
    cert["steps"][0] |= {
        "marks": {"s4": [2, [4, 0]], "s0": [0, [0, 0]]},
        "images": [[2, [1, 0]], [3, [0, 0]], [4, [0, 1]], [5, [1, 1]]],
    }
    cert["steps"][1] |= {"marks": {"s4": [2, [0, 0]], "s2": [1, [2, 0]]}, "images": [[3, [2, 0]], [4, [2, 1]]]}
    return document, cert


def lower_layer() -> Case:
    """The lower layer folded away behind."""
    entry = {
        "line": [[1, 0], [1, 1]],
        "marks": {"s0": [0, [0, 0]], "s2": [2, [2, 0]]},
        "images": [[0, [2, 0]], [1, [2, 1]]],
    }
    step = {"fold": {"point": "s0", "onto": "s2"}, "moves": "s0", "layers": 1, "direction": "behind"}
    return strip([HALF, step], [HALVED, entry])


def held() -> Case:
    """The lower layer cannot go over: the upper one lies on it."""
    document, cert = lower_layer()
    document["steps"][1] |= {"direction": "over", "layers": "flap"}
    return sealed((document, cert))


def two_layers() -> Case:
    document, cert = top_layer()
    document["steps"][1]["layers"] = 2
    cert["steps"][1]["images"] = [[0, [2, 0]], [1, [2, 1]], [8, [2, 0]], [9, [2, 1]]]
    return sealed((document, cert))


def three_layers() -> Case:
    document, cert = top_layer()
    document["steps"][1]["layers"] = 3
    return sealed((document, cert))


def one_layer_on_an_edge() -> Case:
    """Two layers of the flat strip, taken where two of its faces meet: there is one."""
    step = {"fold": {"point": "s3", "onto": "s1"}, "moves": "s3", "layers": 2}
    return strip([step], [HALVED | {"marks": {"s3": [2, [3, 0]], "s1": [0, [1, 0]]}}])


def over_and_back() -> Case:
    """Half, turned over, the upper half back, both undone and made again."""
    entry = {
        "line": [[-1, 0], [-1, 1]],
        "marks": {"s0": [0, [0, 0]], "s2": [2, [-2, 0]]},
        "images": [[0, [-2, 0]], [1, [-2, 1]]],
    }
    step = {"fold": {"point": "s0", "onto": "s2"}, "moves": "s0", "layers": 1}
    return strip(
        [HALF, {"turn": "over"}, step, {"unfold": 2}, HALF, BACK, {"unfold": 1}, BACK],
        [HALVED, {}, entry, {}, HALVED, BENT_BACK, {}, BENT_BACK],
    )


def each() -> Case:
    """Both ends folded to the middle, one after the other."""
    right = {
        "line": [[3, 0], [3, 1]],
        "marks": {"s4": [3, [4, 0]], "s2": [1, [2, 0]]},
        "images": [[8, [2, 0]], [9, [2, 1]]],
    }
    left = {
        "line": [[1, 0], [1, 1]],
        "marks": {"s0": [0, [0, 0]], "s2": [1, [2, 0]]},
        "images": [[0, [2, 0]], [1, [2, 1]]],
    }
    return strip([{"fold": {"point": "?", "onto": "s2"}, "moves": "?", "each": ["s4", "s0"]}], [right, left])


def marked() -> Case:
    """Half; a mark where the line s3 n3 meets the line s0 s1: on the upper layer; then a fold through it."""
    mark = {"mark": "x", "crossing": [["s0", "s1"], ["s3", "n3"]]}
    entry = {
        "place": [3, 0],
        "face": 3,
        "image": [1, 0],
        "marks": {"s0": [0, [0, 0]], "s1": [1, [1, 0]], "s3": [2, [1, 0]], "n3": [3, [1, 1]]},
    }
    fold = {"fold": {"square": ["s0", "s2"], "through": "x"}, "moves": "s4", "layers": 1}
    bent = {
        "line": [[1, 1], [1, 5]],
        "marks": {"s0": [0, [0, 0]], "s2": [2, [2, 0]], "x": [2, [1, 0]], "s4": [3, [0, 0]]},
        "images": [[8, [2, 0]], [9, [2, 1]]],
    }
    return strip([HALF, mark, fold], [HALVED, entry, bent])


def marked_on() -> Case:
    """The same mark on the lower layer."""
    document, cert = marked()
    document["steps"][1]["on"] = "s0"
    cert["steps"][1] |= {"place": [1, 0], "face": 0}
    cert["steps"][2]["marks"]["x"] = [1, [1, 0]]
    return sealed((document, cert))


def crossing_of_steps() -> Case:
    """Lines of earlier steps: x = 2, then turned over (x = -2), and the line s0 s1; then undone and back."""
    mark = {"mark": "x", "crossing": [1, ["s0", "s1"]]}
    entry = {"place": [2, 0], "face": 1, "image": [-2, 0], "marks": {"s0": [0, [0, 0]], "s1": [0, [-1, 0]]}}
    again = {"mark": "y", "crossing": [["n0", "n1"], 1]}
    second = {"place": [2, 1], "face": 2, "image": [2, 1], "marks": {"n0": [0, [0, 1]], "n1": [1, [1, 1]]}}
    fold = {"fold": {"through": ["x", "y"]}, "moves": "n0", "direction": "behind"}
    bent = {
        "line": [[2, 7], [2, 8]],
        "marks": {"x": [1, [2, 0]], "y": [2, [2, 1]], "n0": [0, [0, 1]]},
        "images": [[0, [4, 0]], [1, [4, 1]], [2, [3, 0]], [3, [3, 1]]],
    }
    return strip([HALF, {"turn": "over"}, mark, {"unfold": 1}, again, fold], [HALVED, {}, entry, {}, second, bent])


def cut_twice() -> Case:
    """Two lines of a target that the fold brings onto each other."""
    return strip([HALF], [HALVED], (1, 3))


def along() -> Case:
    document, cert = strip([HALF], [HALVED], (1, 3), cut={"along": {"through": ["s1", "n3"]}})
    cert["cut"] = {"line": [[1, 0], [1, 1]], "marks": {"s1": [1, [1, 0]], "n3": [2, [1, 1]]}}
    return document, cert


def along_without_target() -> Case:
    return strip([HALF], [HALVED], cut={"along": {"through": ["s1", "n3"]}})


def two_snips() -> Case:
    """Not folded at the target at all: two snips."""
    document, cert = strip([HALF, {"unfold": 1}], [HALVED, {}], (1, 3), cut={"snips": 2})
    cert["cut"] = {"snips": [[2, 3], [6, 7]]}
    return document, cert


# ---- other sheets


def folded(faces: list[list[tuple[int, int]]]) -> tuple[dict[tuple[int, int], int], list[list[int]]]:
    """Numbers of the corners, in the order of appearance, and the faces in them."""
    number: dict[tuple[int, int], int] = {}
    return number, [[number.setdefault(p, len(number)) for p in face] for face in faces]


def square() -> Case:
    """[0, 8]^2 in half, in half again and along the diagonal; a square in the middle is freed by one cut."""
    cells = [[(0, 0), (2, 2), (2, 4), (0, 4)], [(2, 2), (4, 4), (2, 4)]]  # of one eighth, counter-clockwise
    cells += [[(y, x) for x, y in c[::-1]] for c in cells]
    cells += [[(8 - x, y) for x, y in c[::-1]] for c in cells]
    cells += [[(x, 8 - y) for x, y in c[::-1]] for c in cells]
    number, faces = folded(cells)
    at = list(number)

    def face(p: tuple[int, int]) -> int:
        return next(f for f, corners in enumerate(faces) if number[p] in corners)

    lies: dict[tuple[int, int], tuple[int, int]] = {p: p for p in number}
    entries: list[Any] = []
    for ends, marks, bend in (
        ([[4, 0], [4, 1]], ((8, 0), (0, 0)), lambda x, y: (min(x, 8 - x), y)),
        ([[0, 4], [1, 4]], ((0, 8), (0, 0)), lambda x, y: (x, min(y, 8 - y))),
        ([[0, 0], [4, 4]], ((0, 0), (4, 4), (4, 0)), lambda x, y: (min(x, y), max(x, y))),
    ):
        name = {(0, 0): "a", (8, 0): "b", (0, 8): "d", (4, 4): "m", (4, 0): "e"}
        now = {p: bend(*lies[p]) for p in number}
        entries.append(
            {
                "line": ends,
                "marks": {name[p]: [face(p), list(lies[p])] for p in marks},
                "images": [[v, list(now[p])] for v, p in enumerate(at) if now[p] != lies[p]],
            }
        )
        lies = now
    points = {
        "a": [0, 0],
        "b": [8, 0],
        "c": [8, 8],
        "d": [0, 8],
        "m": [4, "2+2"],
        "e": [4, 0],
        "p": [2, 2],
        "q": [6, 2],
        "r": [6, 6],
        "s": [2, 6],
    }
    steps = [
        {"fold": {"point": "b", "onto": "a"}, "moves": "b"},
        {"fold": {"point": "d", "onto": "a"}, "moves": "d"},
        {"fold": {"through": ["a", "m"]}, "moves": "e"},
    ]
    walk = [(0, 0), (4, 0), (8, 0), (8, 4), (8, 8), (4, 8), (0, 8), (0, 4)]
    target = [[(2, 2), (4, 2), (6, 2)], [(6, 2), (6, 4), (6, 6)], [(6, 6), (4, 6), (2, 6)], [(2, 6), (2, 4), (2, 2)]]
    cert = {
        "vertices": [list(p) for p in at],
        "faces": faces,
        "walk": [number[p] for p in walk],
        "steps": entries,
        "target": [[number[p] for p in chain] for chain in target],
    }
    return case(points, "abcd", steps, cert, target={"loops": [list("pqrs")]})


def corner(field: dict[str, Any], alignment: dict[str, Any], size: int, end: Any, line: Any, tip: Any) -> Case:
    """The square [0, size]^2 whose corner b is folded along a line from a to (size, end), on (the) tip."""
    points = {
        "a": [0, 0],
        "b": [size, 0],
        "c": [size, size],
        "d": [0, size],
        "e": [element(Fraction(size, 2)), 0],
        "f": [element(Fraction(size, 2)), 1],
    }
    marks = {"a": [0, [0, 0]], "b": [0, [size, 0]], "c": [1, [size, size]], "d": [1, [0, size]], "e": [0, points["e"]]}
    used = {mark for value in alignment.values() for mark in ([value] if isinstance(value, str) else value)} & {
        *points
    } | {"b"}
    if "f" in used:
        marks["f"] = [1, points["f"]]
    cert = {
        "field": copy.deepcopy(field),
        "vertices": [[0, 0], [size, 0], [size, end], [size, size], [0, size]],
        "faces": [[0, 1, 2], [0, 2, 3, 4]],
        "walk": [0, 1, 2, 3, 4],
        "steps": [{"line": line, "marks": {m: marks[m] for m in used}, "images": [[1, tip]]}],
    }
    return case(points, "abcd", [{"fold": alignment, "moves": "b"}], cert)


def point_on_line(landing: str = "second") -> Case:
    """(2, 0) onto the line x = 1 by a fold through the origin: the line rises at 30 degrees."""
    alignment = {"point": "b", "onto": ["e", "f"], "through": "a", "landing": landing}
    made = corner(ROOT3, alignment, 2, [0, "2/3"], [[0, 0], [3, [0, 1]]], [1, [0, 1]])
    made[1]["steps"][0]["marks"]["f"] = [1, [1, 1]]
    return made


def bisector(field: dict[str, Any] = ROOT2) -> Case:
    """The side ab along the diagonal ac: at 22.5 degrees, to (1, sqrt(2) - 1)."""
    pad = [0] * (len(field["polynomial"]) - 3)
    root, half_root = [-1, 1, *pad], [0, "1/2", *pad]
    return corner(field, {"line": ["a", "b"], "onto": ["a", "c"]}, 1, root, [[0, 0], [1, root]], [half_root, half_root])


def parallel() -> Case:
    """The side s0 s4 along the side n0 n4, parallel to it; and a fold square to one line that brings a point onto
    another.
    """
    cert = {
        "vertices": [[0, 0], [4, 0], [4, "1/2"], [4, 1], [0, 1], [0, "1/2"]],
        "faces": [[0, 1, 2, 5], [5, 2, 3, 4]],
        "walk": [0, 1, 2, 3, 4, 5],
        "steps": [
            {
                "line": [[0, "1/2"], [1, "1/2"]],
                "marks": {"a": [0, [0, 0]], "b": [0, [4, 0]], "c": [1, [4, 1]], "d": [1, [0, 1]]},
                "images": [[0, [0, 1]], [1, [4, 1]]],
            }
        ],
    }
    points = {"a": [0, 0], "b": [4, 0], "c": [4, 1], "d": [0, 1]}
    return case(points, "abcd", [{"fold": {"line": ["a", "b"], "onto": ["d", "c"]}, "moves": "b"}], cert)


def square_to() -> Case:
    document, cert = parallel()
    document["steps"][0]["fold"] = {"point": "b", "onto": ["d", "c"], "square": ["b", "c"]}
    del cert["steps"][0]["marks"]["a"]
    return sealed((document, cert))


ACCEPTED: dict[str, Callable[[], Case]] = {
    "strip in half": half,
    "top layer": top_layer,
    "flap": flap,
    "unmoved faces on both sides": whole_faces,
    "lower layer behind": lower_layer,
    "two layers": two_layers,
    "turned and unfolded": over_and_back,
    "each": each,
    "mark": marked,
    "mark on a layer": marked_on,
    "lines of earlier steps": crossing_of_steps,
    "two lines, one cut": cut_twice,
    "cut along": along,
    "along, no target": along_without_target,
    "two snips": two_snips,
    "square": square,
    "point onto line": point_on_line,
    "bisector": bisector,
    "reducible": lambda: bisector(REDUCIBLE),
    "parallel lines": parallel,
    "square to a line": square_to,
}


@pytest.mark.parametrize("name", ACCEPTED)
def test_accepted(name: str) -> None:
    made = ACCEPTED[name]()
    outcome = run(made)
    assert outcome.code == "", outcome.reason
    assert outcome.accepted
    assert outcome.proves == "certified"
    assert outcome.statement_sha256 == made[1]["statement_sha256"]
    assert outcome.claims == (("folds-flat", "cut-exact") if "target" in made[0] else ("folds-flat",))


def test_facts() -> None:
    facts = run(square()).facts
    assert {"faces": 16, "folds": 16, "layers": 8, "snips": 1}.items() <= facts.items()


# ---- single edits of good certificates: (document, certificate) -> nothing

Edit = Callable[[dict[str, Any], dict[str, Any]], object]


def entry(k: int, **new: Any) -> Edit:
    return lambda d, c: c["steps"][k].update(new)


def written(k: int, **new: Any) -> Edit:
    return lambda d, c: d["steps"][k].update(new)


def both(*edits: Edit) -> Edit:
    return lambda d, c: [edit(d, c) for edit in edits]


REJECTED: list[tuple[str, Callable[[], Case], str, Edit]] = [
    # shapes
    ("no steps", half, "certificate.length", lambda d, c: c.update(steps=[])),
    ("a step too many", half, "certificate.length", lambda d, c: c["steps"].append({})),
    ("a step too few", top_layer, "certificate.length", lambda d, c: c["steps"].pop()),
    ("fewer than the expanded steps", each, "certificate.length", lambda d, c: c["steps"].pop()),
    ("as many as the steps written", over_and_back, "certificate.length", lambda d, c: c.update(steps=c["steps"][:1])),
    ("steps missing", half, "certificate.key", lambda d, c: c.pop("steps")),
    ("a fold map", half, "certificate.key", lambda d, c: c.update(fold={})),
    ("an order", half, "certificate.key", lambda d, c: c.update(order={"stack": [0, 1, 2, 3], "except": []})),
    ("an unknown key in a step", half, "certificate.key", entry(0, moved=[2, 3])),
    ("keys in a turn", over_and_back, "certificate.key", entry(1, images=[])),
    ("keys in an unfolding", over_and_back, "certificate.key", entry(3, images=[])),
    ("a crease", half, "certificate.length", lambda d, c: c["chains"]["creases"].append([4, 5])),
    ("another document", half, "digest", lambda d, c: c.update(statement_sha256="0" * 64)),
    # lines
    ("a line of two equal points", half, "steps.line", entry(0, line=[[2, 0], [2, 0]])),
    ("a parallel line", half, "steps.line", entry(0, line=[["3/2", 0], ["3/2", 1]])),
    ("a line askew through the middle", half, "steps.line", entry(0, line=[[2, 0], [3, 1]])),
    ("one point", half, "certificate.length", entry(0, line=[[2, 0]])),
    ("through only one of two points", along, "steps.line", lambda d, c: c["cut"].update(line=[[1, 0], [2, 1]])),
    ("the other bisector", bisector, "steps.line", entry(0, line=[[0, 0], [[1, -1], 1]])),
    ("a line through a, not the bisector", bisector, "steps.line", entry(0, line=[[0, 0], [1, "1/2"]])),
    ("parallel to the bisector", bisector, "steps.line", entry(0, line=[[0, "1/8"], [1, ["-7/8", 1]]])),
    ("directions that differ", parallel, "steps.line", written(0, fold={"line": ["b", "a"], "onto": ["d", "c"]})),
    ("beside the middle of parallels", parallel, "steps.line", entry(0, line=[[0, "1/3"], [1, "1/3"]])),
    ("square to one of the parallels", parallel, "steps.line", entry(0, line=[[2, 0], [2, 1]])),
    ("the first landing", lambda: point_on_line("first"), "steps.line", lambda d, c: None),
    ("not through the point", point_on_line, "steps.line", entry(0, line=[[0, "1/5"], [3, ["1/5", 1]]])),
    ("point not onto the line", point_on_line, "steps.line", entry(0, line=[[0, 0], [1, 1]])),
    ("a fold along ab itself", point_on_line, "steps.line", entry(0, line=[[0, 0], [1, 0]])),
    ("not square", square_to, "steps.line", entry(0, line=[[4, "1/2"], [5, 1]])),
    ("square, not onto the line", square_to, "steps.line", entry(0, line=[[4, "1/3"], [5, "1/3"]])),
    (
        "square and onto are parallel",
        square_to,
        "steps.line",
        both(
            written(0, fold={"point": "b", "onto": ["d", "c"], "square": ["c", "d"]}),
            lambda d, c: c["steps"][0]["marks"].update(d=[1, [0, 1]]),
        ),
    ),
    (
        "a = b",
        half,
        "steps.line",
        both(
            written(0, fold={"square": ["s0", "s0"], "through": "s2"}),
            lambda d, c: c["steps"][0]["marks"].update(s2=[1, [2, 0]]),
        ),
    ),
    ("p = q", half, "steps.line", both(written(0, fold={"through": ["s0", "s0"]}), entry(0, line=[[0, 0], [0, 1]]))),
    (
        "p onto itself",
        half,
        "steps.line",
        both(written(0, fold={"point": "s0", "onto": "s0"}), entry(0, line=[[0, 0], [0, 1]])),
    ),
    (
        "moves on the line",
        half,
        "steps.no-solution",
        both(written(0, moves="s2"), lambda d, c: c["steps"][0]["marks"].update(s2=[1, [2, 0]])),
    ),
    # marks
    ("a mark missing", half, "certificate.key", lambda d, c: c["steps"][0]["marks"].pop("s0")),
    ("a mark too many", half, "certificate.key", lambda d, c: c["steps"][0]["marks"].update(s1=[0, [1, 0]])),
    (
        "a mark on a face that does not contain it",
        half,
        "steps.mark",
        lambda d, c: c["steps"][0]["marks"].update(s0=[1, [0, 0]]),
    ),
    (
        "a mark on a face that would carry it there",
        top_layer,
        "steps.mark",
        lambda d, c: c["steps"][1]["marks"].update(s4=[0, [0, 0]]),
    ),
    ("a mark as it lay before", top_layer, "steps.mark", lambda d, c: c["steps"][1]["marks"].update(s4=[3, [4, 0]])),
    ("a mark mirrored in its face", marked, "steps.mark", lambda d, c: c["steps"][1]["marks"].update(n3=[3, [1, -1]])),
    (
        "a mark a little off",
        half,
        "steps.mark",
        lambda d, c: c["steps"][0]["marks"].update(s4=[3, ["4000001/1000000", 0]]),
    ),
    ("a face that is none", half, "certificate.range", lambda d, c: c["steps"][0]["marks"].update(s0=[4, [0, 0]])),
    ("a cut's mark on another face", along, "steps.mark", lambda d, c: c["cut"]["marks"].update(n3=[0, [1, 1]])),
    # images
    ("an image missing", half, "certificate.length", lambda d, c: c["steps"][0]["images"].pop()),
    (
        "an image of a vertex that stays",
        half,
        "certificate.length",
        lambda d, c: c["steps"][0]["images"].insert(0, [4, [2, 0]]),
    ),
    ("images out of order", half, "steps.image", lambda d, c: c["steps"][0]["images"].reverse()),
    (
        "a vertex in place of another",
        half,
        "steps.image",
        lambda d, c: c["steps"][0]["images"].__setitem__(0, [5, [1, 0]]),
    ),
    ("a wrong image", half, "steps.image", lambda d, c: c["steps"][0]["images"].__setitem__(0, [6, [1, 1]])),
    (
        "a vertex that stays in place",
        half,
        "steps.image",
        lambda d, c: c["steps"][0]["images"].__setitem__(0, [6, [3, 0]]),
    ),
    (
        "an image along the mirrored one",
        half,
        "steps.image",
        lambda d, c: c["steps"][0]["images"].__setitem__(0, [6, [0, 0]]),
    ),
    (
        "turned by half a turn",
        half,
        "steps.image",
        lambda d, c: c["steps"][0].update(images=[[6, [1, 1]], [7, [1, 0]], [8, [0, 1]], [9, [0, 0]]]),
    ),
    # what moves
    (
        "the lower layer too",
        top_layer,
        "certificate.length",
        lambda d, c: c["steps"][1].update(images=two_layers()[1]["steps"][1]["images"]),
    ),
    (
        "only the upper layer of two",
        two_layers,
        "certificate.length",
        lambda d, c: c["steps"][1].update(images=BENT_BACK["images"]),
    ),
    (
        "the lower layer in place of the upper one",
        top_layer,
        "steps.image",
        lambda d, c: c["steps"][1].update(images=[[0, [2, 0]], [1, [2, 1]]]),
    ),
    ("the upper layer behind", top_layer, "steps.image", written(1, direction="behind")),
    ("three layers of two", three_layers, "steps.few-layers", lambda d, c: None),
    ("two faces of one layer", one_layer_on_an_edge, "steps.few-layers", lambda d, c: None),
    ("a layer that is held", held, "steps.blocked", lambda d, c: None),
    ("the upper layer as a flap behind", flap, "steps.blocked", written(1, direction="behind")),
    ("all layers, one of them on both sides", whole_faces, "steps.split", both(written(1, layers="all"))),
    (
        "the other side",
        half,
        "certificate.length",
        both(
            written(0, moves="s1"),
            lambda d, c: c["steps"][0].update(
                marks={**HALVED["marks"], "s1": [0, [1, 0]]}, images=HALVED["images"][:2]
            ),
        ),
    ),
    # new marks
    ("a mark beside the crossing", marked, "steps.crossing", entry(1, image=["1/2", 0])),
    ("a mark on the lower layer", marked, "steps.mark", entry(1, place=[1, 0], face=0)),
    ("a mark on the upper layer", marked_on, "steps.mark", entry(1, place=[3, 0], face=3)),
    ("a mark off its face", marked, "steps.mark", entry(1, face=0)),
    ("a mark of another place", marked, "steps.mark", entry(1, place=["5/2", 0], face=2)),
    (
        "parallel lines",
        marked,
        "steps.crossing",
        both(
            written(1, crossing=[["s0", "s1"], ["n3", "n1"]]),
            entry(1, marks={"s0": [0, [0, 0]], "s1": [0, [1, 0]], "n3": [2, [1, 1]], "n1": [0, [1, 1]]}),
        ),
    ),
    (
        "the same line twice",
        marked,
        "steps.crossing",
        both(
            written(1, crossing=[["s0", "s1"], ["s3", "s4"]]),
            entry(1, marks={"s0": [0, [0, 0]], "s1": [0, [1, 0]], "s3": [2, [1, 0]], "s4": [3, [0, 0]]}),
        ),
    ),
    (
        "a line through one place",
        marked,
        "steps.crossing",
        both(
            written(1, crossing=[["s0", "s1"], ["s3", "s1"]]),
            entry(1, marks={"s0": [0, [0, 0]], "s1": [0, [1, 0]], "s3": [2, [1, 0]]}),
        ),
    ),
    ("a line as it was before it was turned over", crossing_of_steps, "steps.crossing", entry(2, image=[2, 0])),
    ("a line as it was while turned over", crossing_of_steps, "steps.crossing", entry(4, image=[-2, 1])),
    # the end
    (
        "a target line beside the cut",
        along,
        "cut.stray",
        both(
            lambda d, c: d["cut"].update(along={"through": ["s2", "n2"]}),
            lambda d, c: c.update(cut={"line": [[2, 0], [2, 1]], "marks": {"s2": [1, [2, 0]], "n2": [1, [2, 1]]}}),
        ),
    ),
    (
        "a line of the cut where the document has none",
        cut_twice,
        "certificate.key",
        lambda d, c: c.update(cut=along()[1]["cut"]),
    ),
    ("no line of the cut", along, "certificate.key", lambda d, c: c.pop("cut")),
    ("a cut without a target", along_without_target, "certificate.key", lambda d, c: c.update(cut=along()[1]["cut"])),
    ("snips with along", along, "certificate.key", lambda d, c: c.update(cut={"snips": [[2, 3]]})),
    (
        "a target line that is not over the cut",
        half,
        "cut.stray",
        both(
            lambda d, c: d.update(target={"paths": [["s1", "n1"], ["s2", "n2"]]}),
            lambda d, c: c["chains"].update(target=[[2, 3], [4, 5]]),
        ),
    ),
    (
        "a line over the cut that is no target",
        half,
        "cut.stray",
        both(lambda d, c: d.update(target={"paths": [["s1", "n1"]]}), lambda d, c: c["chains"].update(target=[[2, 3]])),
    ),
]


@pytest.mark.parametrize(("name", "make", "code", "edit"), REJECTED, ids=[name for name, *_ in REJECTED])
def test_rejected(name: str, make: Callable[[], Case], code: str, edit: Edit) -> None:
    document, cert = made = copy.deepcopy(make())
    digest = cert["statement_sha256"]
    edit(document, cert)
    if cert["statement_sha256"] == digest:
        sealed(made)
    outcome = run(made)
    assert not outcome.accepted
    assert outcome.code == code, outcome.reason


def test_kept_lines_and_each() -> None:
    """`each` stands for "?" only; without it "?" is a name like others."""
    document, _ = each()
    steps = read_document(as_bytes(document), False).steps
    assert [(s.moves, s.alignment.marks) for s in steps if isinstance(s, FoldStep)] == [
        ("s4", ("s4", "s2")),
        ("s0", ("s0", "s2")),
    ]
    document["points"]["?"] = [1, "1/2"]
    document["steps"][0]["each"] = ["?", "s1"]
    steps = read_document(as_bytes(document), False).steps
    assert [s.moves for s in steps if isinstance(s, FoldStep)] == ["?", "s1"]
    del document["steps"][0]["each"]
    steps = read_document(as_bytes(document), False).steps
    assert [s.moves for s in steps if isinstance(s, FoldStep)] == ["?"]


MALFORMED: list[tuple[str, str, Callable[[dict[str, Any]], object]]] = [
    ("creases", "key", lambda d: d.update(creases=[])),
    ("no steps", "length", lambda d: d.update(steps=[])),
    ("steps missing", "key", lambda d: d.pop("steps")),
    ("steps of a pattern", "key", lambda d: d.update(format="creaseproof-pattern/1")),
    ("another format", "type", lambda d: (d.pop("steps"), d.update(format="creaseproof-recipe/2"))),
    ("a step that is none", "type", lambda d: d.update(steps=["fold"])),
    ("a step of two forms", "key", lambda d: d["steps"][0].update(unfold=1)),
    ("an empty step", "key", lambda d: d.update(steps=[{}])),
    ("an unknown key", "key", lambda d: d["steps"][0].update(how="gently")),
    ("moves missing", "key", lambda d: d["steps"][0].pop("moves")),
    ("moves unknown", "name", lambda d: d["steps"][0].update(moves="zz")),
    ("moves no text", "type", lambda d: d["steps"][0].update(moves=["s4"])),
    ("direction", "type", lambda d: d["steps"][0].update(direction="under")),
    ("layers by a word", "type", lambda d: d["steps"][0].update(layers="some")),
    ("no layers", "range", lambda d: d["steps"][0].update(layers=0)),
    ("layers true", "type", lambda d: d["steps"][0].update(layers=True)),
    ("layers with a point", "type", lambda d: d["steps"][0].update(layers=1.0)),
    ("layers in a list", "type", lambda d: d["steps"][0].update(layers=["all"])),
    ("each of none", "length", lambda d: d["steps"][0].update(each=[])),
    ("each unknown", "name", lambda d: d["steps"][0].update(each=["?"])),
    ("? without each", "name", lambda d: d["steps"][0].update(moves="?")),
    ("too many", "length", lambda d: d.update(steps=d["steps"] * 201)),
    ("too many by each", "length", lambda d: d["steps"][0].update(each=["s0"] * 201)),
    (
        "too many in all",
        "length",
        lambda d: d.update(steps=[{"turn": "over"}] * 101 + [{**d["steps"][0], "each": ["s4"] * 100}]),
    ),
    ("turn", "type", lambda d: d["steps"].append({"turn": "left"})),
    ("unfold none", "range", lambda d: d["steps"].append({"unfold": 0})),
    ("unfold true", "type", lambda d: d["steps"].append({"unfold": True})),
    ("unfold more than there is", "range", lambda d: d["steps"].append({"unfold": 2})),
    ("unfold twice", "range", lambda d: d["steps"].extend([{"unfold": 1}, {"unfold": 1}])),
    ("mark a point", "name", lambda d: d["steps"].append({"mark": "s0", "crossing": [["s0", "s1"], ["n0", "s1"]]})),
    (
        "mark without a name",
        "name",
        lambda d: d["steps"].append({"mark": "", "crossing": [["s0", "s1"], ["n0", "s1"]]}),
    ),
    ("mark twice", "name", lambda d: d["steps"].extend([{"mark": "x", "crossing": [["s0", "s1"], ["n0", "s1"]]}] * 2)),
    ("a mark of itself", "name", lambda d: d["steps"].append({"mark": "x", "crossing": [["s0", "x"], ["n0", "s1"]]})),
    ("a mark on itself", "name", lambda d: d["steps"].append({"mark": "x", "crossing": [1, ["n0", "s1"]], "on": "x"})),
    (
        "a mark before it is made",
        "name",
        lambda d: d["steps"].insert(0, {"fold": {"through": ["x", "s0"]}, "moves": "s4"}),
    ),
    ("a line of no step", "range", lambda d: d["steps"].append({"mark": "x", "crossing": [1, 2]})),
    ("line 0", "range", lambda d: d["steps"].append({"mark": "x", "crossing": [0, 1]})),
    ("line true", "type", lambda d: d["steps"].append({"mark": "x", "crossing": [True, 1]})),
    ("a line of a turn", "range", lambda d: d["steps"].extend([{"turn": "over"}, {"mark": "x", "crossing": [1, 2]}])),
    ("three lines", "length", lambda d: d["steps"].append({"mark": "x", "crossing": [1, 1, 1]})),
    ("a line of three", "length", lambda d: d["steps"].append({"mark": "x", "crossing": [1, ["s0", "s1", "s2"]]})),
    ("no alignment", "key", lambda d: d["steps"][0].update(fold={})),
    ("half an alignment", "key", lambda d: d["steps"][0].update(fold={"point": "s0"})),
    ("an alignment in a list", "type", lambda d: d["steps"][0].update(fold=["s0", "s1"])),
    (
        "landing missing",
        "key",
        lambda d: d["steps"][0].update(fold={"point": "s0", "onto": ["s1", "n1"], "through": "s2"}),
    ),
    (
        "landing by number",
        "type",
        lambda d: d["steps"][0].update(fold={"point": "s0", "onto": ["s1", "n1"], "through": "s2", "landing": 1}),
    ),
    (
        "landing by each",
        "type",
        lambda d: (
            d["points"].update(first=[1, 1]),
            d["steps"][0].update(
                each=["first"], fold={"point": "s0", "onto": ["s1", "n1"], "through": "s2", "landing": "?"}
            ),
        ),
    ),
    ("a point onto a line", "type", lambda d: d["steps"][0].update(fold={"point": "s0", "onto": ["s1", "n1"]})),
    ("a line onto a point", "type", lambda d: d["steps"][0].update(fold={"line": ["s1", "n1"], "onto": "s0"})),
    ("cut: another key", "key", lambda d: d.update(cut={"where": 1})),
    ("cut: snips without a target", "key", lambda d: d.update(cut={"snips": 1})),
    (
        "cut: snips and along",
        "key",
        lambda d: d.update(target={"paths": [["s1", "n1"]]}, cut={"snips": 2, "along": {"through": ["s1", "n1"]}}),
    ),
    ("cut: along nothing", "key", lambda d: d.update(cut={"along": {}})),
    ("points", "type", lambda d: d.update(points=[])),
]


@pytest.mark.parametrize(("name", "kind", "edit"), MALFORMED, ids=[name for name, *_ in MALFORMED])
def test_malformed(name: str, kind: str, edit: Callable[[dict[str, Any]], object]) -> None:
    document, cert = copy.deepcopy(half())
    edit(document)
    with pytest.raises(Malformed):
        read_document(as_bytes(document), False)
    outcome = run((document, cert))
    assert outcome.malformed, outcome.reason
    assert outcome.code == f"document.{kind}", outcome.reason


def test_two_points_onto_two_lines_are_not_decided() -> None:
    document, cert = half()
    document["steps"][0]["fold"] = {"points": ["s0", "s1"], "onto": [["s0", "s1"], ["n0", "n1"]]}
    outcome = run((document, cert))
    assert outcome.code == "document.unsupported"
    assert not outcome.malformed
    assert not outcome.accepted


CUBIC = {"points": ["s0", "s1"], "onto": [["s0", "s1"], ["n0", "n1"]]}


@pytest.mark.parametrize(
    ("fold", "more"),
    [
        (CUBIC | {"points": ["s0", "nowhere"]}, {}),
        (CUBIC | {"points": ["s0"]}, {}),
        (CUBIC | {"onto": [["s0", "s1"]]}, {}),
        (CUBIC | {"onto": ["s0", "s1"]}, {}),
        (CUBIC, {"unit": "furlong"}),
        (CUBIC, {"sheet": {"outline": ["s0", "s1"]}}),
    ],
)
def test_a_recipe_with_a_fault_is_malformed_whatever_else_it_asks(fold: dict[str, Any], more: dict[str, Any]) -> None:
    document, cert = half()
    document["steps"][0]["fold"] = fold
    assert run((document | more, cert)).malformed
    document["steps"].append({"turn": "under"})
    document["steps"][0]["fold"] = CUBIC
    assert run((document, cert)).malformed


def test_digest() -> None:
    """Steps as written, defaults not filled in; the cut's filled in with a target, and null if there is nothing to
    say.
    """
    document, cert = along()
    document["title"] = "not part of it"
    assert run((document, cert)).accepted
    normal = {
        "format": "creaseproof-recipe/1",
        "unit": "mm",
        "points": {name: [str(x), str(y)] for name, (x, y) in STRIP.items()},
        "sheet": {"outline": ["s0", "s4", "n4", "n0"], "holes": []},
        "steps": [HALF],
        "target": {"loops": [], "paths": [["s1", "n1"], ["s3", "n3"]]},
        "cut": {"snips": 1, "along": {"through": ["s1", "n3"]}},
    }

    def digest() -> str:
        return hashlib.sha256(json.dumps(normal, sort_keys=True, separators=(",", ":")).encode()).hexdigest()

    assert digest() == cert["statement_sha256"]
    normal |= {"target": None, "cut": {"along": {"through": ["s1", "n3"]}}}
    assert digest() == along_without_target()[1]["statement_sha256"]
    normal["cut"] = None
    assert digest() == half()[1]["statement_sha256"]
    normal["steps"] = [{**HALF, "direction": "over"}]
    assert digest() != half()[1]["statement_sha256"]


# ---- refutations


def blocked() -> Case:
    return refuting(held(), kind="step", why="blocked", faces=[0, 3])


def few() -> Case:
    return refuting(three_layers(), kind="step", why="few-layers")


def without_line(made: Case, marks: dict[str, Any]) -> Case:
    made[1]["steps"][-1] = {"marks": marks}
    return refuting(made, kind="step", why="no-solution")


def one_place() -> Case:
    """After the fold in half s3 lies on s1."""
    document, _ = made = top_layer()
    document["steps"][1]["fold"] = {"through": ["s1", "s3"]}
    return without_line(made, {"s1": [0, [1, 0]], "s3": [3, [1, 0]], "s4": [3, [0, 0]]})


def opposite() -> Case:
    document, _ = made = half()
    document["steps"][0]["fold"] = {"line": ["s0", "s1"], "onto": ["n1", "n0"]}
    return without_line(
        made, {"s0": [0, [0, 0]], "s1": [0, [1, 0]], "n0": [0, [0, 1]], "n1": [0, [1, 1]], "s4": [3, [4, 0]]}
    )


def no_square() -> Case:
    document, _ = made = half()
    document["steps"][0]["fold"] = {"point": "s4", "onto": ["s0", "s1"], "square": ["n1", "n0"]}
    return without_line(
        made, {"s0": [0, [0, 0]], "s1": [0, [1, 0]], "n0": [0, [0, 1]], "n1": [0, [1, 1]], "s4": [3, [4, 0]]}
    )


def too_near() -> Case:
    document, _ = made = half()
    document["steps"][0]["fold"] = {"point": "s4", "onto": ["s0", "n0"], "through": "s3", "landing": "first"}
    return without_line(made, {"s0": [0, [0, 0]], "n0": [0, [0, 1]], "s3": [2, [3, 0]], "s4": [3, [4, 0]]})


def on_the_line() -> Case:
    document, cert = made = half()
    document["steps"][0]["moves"] = "n2"
    cert["steps"][0]["marks"]["n2"] = [1, [2, 1]]
    return refuting(made, kind="step", why="no-solution")


def apart() -> Case:
    made = strip([HALF], [HALVED], (1, 2))
    return refuting(made, kind="apart", edges=[[2, 3], [4, 5]])


def stray() -> Case:
    return refuting(strip([HALF], [HALVED], (1,)), kind="stray", edge=[2, 3], cell={"edge": [6, 7]})


def stray_along() -> Case:
    document, cert = strip([HALF], [HALVED], (1,), cut={"along": {"through": ["s1", "n3"]}})
    cert["cut"] = along()[1]["cut"]
    return refuting((document, cert), kind="stray", cell={"edge": [6, 7]})


def off() -> Case:
    document, cert = strip([HALF], [HALVED], (1, 2), cut={"along": {"through": ["s1", "n3"]}})
    cert["cut"] = along()[1]["cut"]
    return refuting((document, cert), kind="off", edge=[4, 5])


def apart_along() -> Case:
    document, cert = off()
    cert["refutation"] = {"kind": "apart", "edges": [[2, 3], [4, 5]]}
    return document, cert


REFUTED: dict[str, tuple[Callable[[], Case], str]] = {
    "blocked": (blocked, "step"),
    "few layers": (few, "step"),
    "one place": (one_place, "step"),
    "opposite directions": (opposite, "step"),
    "parallel lines": (no_square, "step"),
    "too near": (too_near, "step"),
    "moves on the line": (on_the_line, "step"),
    "apart": (apart, "apart"),
    "stray": (stray, "stray"),
    "stray along": (stray_along, "stray"),
    "off": (off, "off"),
    "apart and along": (apart_along, "apart"),
}


@pytest.mark.parametrize("name", REFUTED)
def test_refuted(name: str) -> None:
    make, kind = REFUTED[name]
    outcome = run(make())
    assert outcome.code == "", outcome.reason
    assert (outcome.accepted, outcome.proves, outcome.kind) == (True, "refuted", kind)


NOT_REFUTED: list[tuple[str, Callable[[], Case], str]] = [
    ("not held", lambda: refuting(top_layer(), kind="step", why="blocked", faces=[3, 0]), "steps.blocked"),
    ("the held one first", lambda: refuting(held(), kind="step", why="blocked", faces=[3, 0]), "steps.blocked"),
    ("beside", lambda: refuting(held(), kind="step", why="blocked", faces=[0, 2]), "steps.blocked"),
    ("itself", lambda: refuting(held(), kind="step", why="blocked", faces=[0, 0]), "steps.blocked"),
    ("all layers", lambda: refuting(two_layers(), kind="step", why="blocked", faces=[0, 3]), "steps.blocked"),
    ("blocked, no faces", lambda: refuting(held(), kind="step", why="blocked"), "certificate.key"),
    (
        "few layers, with faces",
        lambda: refuting(three_layers(), kind="step", why="few-layers", faces=[0, 3]),
        "certificate.key",
    ),
    ("enough layers", lambda: refuting(two_layers(), kind="step", why="few-layers"), "steps.few-layers"),
    ("all layers are enough", lambda: refuting(half(), kind="step", why="few-layers"), "steps.few-layers"),
    ("another reason", lambda: refuting(half(), kind="step", why="torn"), "certificate.type"),
    ("not on the line", lambda: refuting(half(), kind="step", why="no-solution"), "steps.no-solution"),
    ("there is a line", lambda: without_line(half(), HALVED["marks"]), "steps.no-solution"),
    ("there is a bisector", lambda: without_line(bisector(), bisector()[1]["steps"][0]["marks"]), "steps.no-solution"),
    (
        "there is a landing",
        lambda: without_line(point_on_line(), point_on_line()[1]["steps"][0]["marks"]),
        "steps.no-solution",
    ),
    ("blocked, without a line", lambda: drop(blocked(), "line"), "certificate.key"),
    ("few, without a line", lambda: drop(few(), "line"), "certificate.key"),
    ("blocked by another line", lambda: change(blocked(), line=[["3/2", 0], ["3/2", 1]]), "steps.line"),
    (
        "marks elsewhere",
        lambda: change(one_place(), marks={"s1": [0, [1, 0]], "s3": [3, [1, 1]], "s4": [3, [0, 0]]}),
        "steps.mark",
    ),
    ("no steps", lambda: emptied(few()), "certificate.length"),
    ("a turn", lambda: refuting(over_and_back(), 2, kind="step", why="few-layers"), "refutation.step"),
    ("a step before is false", lambda: before(blocked()), "steps.image"),
    ("on one line", lambda: refuting(cut_twice(), kind="apart", edges=[[2, 3], [6, 7]]), "refutation.apart"),
    ("apart without a target", lambda: refuting(half(), kind="apart", edges=[[2, 3]]), "refutation.target"),
    (
        "apart, steps too few",
        lambda: refuting(over_and_back(), 3, kind="apart", edges=[[2, 3], [4, 5]]),
        "certificate.length",
    ),
    (
        "the target itself",
        lambda: refuting(cut_twice(), kind="stray", edge=[2, 3], cell={"edge": [6, 7]}),
        "refutation.stray",
    ),
    ("stray with edge and along", lambda: told(stray_along(), edge=[2, 3]), "certificate.key"),
    ("stray with neither", lambda: refuting(cut_twice(), kind="stray", cell={"edge": [6, 7]}), "certificate.key"),
    ("not off", lambda: told(off(), edge=[2, 3]), "refutation.off"),
    ("off, not target", lambda: told(off(), edge=[0, 1]), "refutation.off"),
    ("off without along", lambda: refuting(cut_twice(), kind="off", edge=[2, 3]), "refutation.off"),
    ("off, no line of the cut", lambda: gone(off(), "cut"), "certificate.key"),
    ("order", lambda: refuting(half(), kind="order", reasons=[], steps=[[]]), "certificate.type"),
    ("maekawa", lambda: refuting(half(), kind="maekawa", vertex=4), "certificate.type"),
]


def change(made: Case, **new: Any) -> Case:
    made[1]["steps"][-1].update(new)
    return made


def drop(made: Case, key: str) -> Case:
    made[1]["steps"][-1].pop(key)
    return made


def emptied(made: Case) -> Case:
    made[1]["steps"] = []
    return made


def told(made: Case, **new: Any) -> Case:
    made[1]["refutation"].update(new)
    return made


def gone(made: Case, key: str) -> Case:
    del made[1][key]
    return made


def before(made: Case) -> Case:
    made[1]["steps"][0]["images"][0][1] = [1, 1]
    return made


@pytest.mark.parametrize(("name", "make", "code"), NOT_REFUTED, ids=[name for name, *_ in NOT_REFUTED])
def test_not_refuted(name: str, make: Callable[[], Case], code: str) -> None:
    outcome = run(make())
    assert not outcome.accepted
    assert outcome.code == code, outcome.reason


def test_refutations_of_recipes_are_not_for_patterns() -> None:
    from .examples import refuting as of_pattern
    from .examples import strip as pattern

    for refutation in ({"kind": "step", "why": "few-layers"}, {"kind": "off", "edge": [2, 3]}):
        assert run(of_pattern(pattern(2, [(1, "valley")]), refutation)).code == "certificate.type"


# ---- every number matters; whatever the bytes, an answer


def at(value: Any, path: tuple[Any, ...]) -> Any:
    for key in path:
        value = value[key]
    return value


FREE = {"line", "face"}  # other points of one line, other faces at one place


@pytest.mark.parametrize("name", ACCEPTED)
def test_every_number_matters(name: str) -> None:
    """Images, marks and places have one value each; a line or a face may be named otherwise, but never wrongly."""
    document, cert = ACCEPTED[name]()
    tried = 0
    for path in some(paths(cert["steps"]), of=2):
        old = at(cert["steps"], path)
        free = bool(FREE & {*path}) or ("marks" in path and path[-1] == 0 and len(path) == 4)
        if isinstance(old, int) and not free:
            for new in (old + 1, old - 1, f"{old}000001/1000000"):
                assert not run((document, replaced(cert, ("steps", *path), new))).accepted, path
                tried += 1
    assert tried


@pytest.mark.parametrize("name", ACCEPTED)
def test_every_list_is_as_long_as_it_must_be(name: str) -> None:
    document, cert = ACCEPTED[name]()
    for path in some(paths(cert["steps"]), of=2):
        old = at(cert["steps"], path)
        if isinstance(old, list) and old:
            assert not run((document, replaced(cert, ("steps", *path), old[:-1]))).accepted, path
            assert not run((document, replaced(cert, ("steps", *path), [*old, old[-1]]))).accepted, path


ALL = {**ACCEPTED, **{f"refuted: {name}": make for name, (make, _) in REFUTED.items()}}


@pytest.mark.parametrize("name", ALL)
def test_odd_values_everywhere(name: str) -> None:
    """Every place of certificate and document with every odd value."""
    document, cert = ALL[name]()
    places = [(True, (where, *path)) for where in ("steps", "cut", "refutation") for path in paths(cert.get(where, {}))]
    parts = {"steps": document["steps"], "cut": document.get("cut", {})}
    places += [(False, path) for path in paths(parts) if path[0] in document]
    pairs = [(*place, new) for place in places for new in ODD]
    for in_certificate, path, new in some(pairs, of=36):
        if in_certificate:
            assert run((document, replaced(cert, path, new))).code != "internal", (path, new)
        else:
            outcome = run((replaced(document, path, new), cert))
            assert outcome.code != "internal", (path, new)
            assert not outcome.accepted or new == at(document, path), (path, new)


@examples(200)
@given(st.sampled_from(sorted(ALL)), st.randoms(use_true_random=False), st.booleans())
def test_parts_exchanged(name: str, chance: random.Random, in_document: bool) -> None:
    """One part in place of another one of the same document or certificate."""
    made = ALL[name]()
    value = made[0] if in_document else made[1]
    one, other = chance.choice(paths(value)), chance.choice(paths(value))
    new = replaced(value, one, copy.deepcopy(at(value, other)))
    outcome = run((new, made[1]) if in_document else (made[0], new))
    assert outcome.code != "internal"
    if in_document and outcome.accepted:
        assert read_document(as_bytes(new), False).digest == made[1]["statement_sha256"]


# ---- the order of layers by hand, and by a second method


def test_all_small_recipes_of_a_strip() -> None:
    """Any three folds of one or all layers of a strip of four squares: accepted only if no layer passes through
    another.
    """
    from itertools import product

    accepted = refused = 0
    options = [("s4", "s0"), ("s4", "s2"), ("s0", "s2"), ("s0", "s4")]
    for folds in product(product(options, ("all", 1, "flap"), ("over", "behind")), repeat=2):
        made, how = simulated([(*ends, layers, direction) for ends, layers, direction in folds])
        if made is None:
            continue
        outcome = run(made)
        assert outcome.accepted is (how == ""), (folds, how, outcome.reason)
        accepted += outcome.accepted
        refused += not outcome.accepted
    assert accepted > 100
    assert refused > 20


def simulated(folds: list[tuple[str, str, Any, str]]) -> tuple[Case | None, str]:
    """A strip of 4 squares on a line: positions of its 5 ends and the stack; folds where the line falls on an end."""
    x, stack, turned = [0, 1, 2, 3, 4], [0, 1, 2, 3], [False] * 4
    steps, entries = [], []
    for p, q, layers, direction in folds:
        a, b = x[int(p[1])], x[int(q[1])]
        if a == b or (a + b) % 2:
            return None, ""
        middle, forward = (a + b) // 2, 1 if a > b else -1
        movable = [f for f in range(4) if (x[f] + x[f + 1] - 2 * middle) * forward > 0]
        outer = stack[::-1] if direction == "over" else stack
        end = int(p[1])
        touching = [f for f in outer if f in movable and a in (x[f], x[f + 1])]
        if layers == "all":
            seeds = movable
        elif layers == "flap":
            seeds = [f for f in movable if end in (f, f + 1)]
        else:
            panel = [sum(turned[g] != turned[g + 1] for g in range(f)) for f in range(4)]
            seeds = []
            for f in touching:
                if panel[f] != panel[touching[0]]:
                    break
                seeds.append(f)
        moved = set(seeds)
        for _ in range(4):
            moved |= {f for f in movable for g in moved if abs(f - g) == 1 and (x[max(f, g)] - middle) * forward > 0}
        place = {f: k for k, f in enumerate(outer)}
        steps.append({"fold": {"point": p, "onto": q}, "moves": p, "layers": layers, "direction": direction})
        marks = {m: [min(int(m[1]), 3), [x[int(m[1])], 0]] for m in (p, q)}
        change = sorted({v for f in moved for v in (f, f + 1) if (x[v] - middle) * forward > 0})
        entries.append(
            {
                "line": [[middle, 0], [middle, 1]],
                "marks": marks,
                "images": [[2 * v + y, [2 * middle - x[v], y]] for v in change for y in (0, 1)],
            }
        )
        if any(
            place[g] < place[f] and {x[f], x[f + 1]} == {x[g], x[g + 1]}
            for f in moved
            for g in movable
            if g not in moved
        ):
            return strip([*steps, {"turn": "over"}], [*entries, {}]), "blocked"
        x = [2 * middle - x[v] if v in change else x[v] for v in range(5)]
        turned = [t != (f in moved) for f, t in enumerate(turned)]
        stay, go = [f for f in stack if f not in moved], [f for f in reversed(stack) if f in moved]
        stack = stay + go if direction == "over" else go + stay
    return strip(steps, entries), ""


def grid(folds: int) -> Case:
    """The square [0, 32]^2 folded in half again and again, in turn across and along, all layers."""
    n = 32
    lies = [(x, y) for x in range(n + 1) for y in range(n + 1)]
    faces = [
        [(n + 1) * x + y, (n + 1) * (x + 1) + y, (n + 1) * (x + 1) + y + 1, (n + 1) * x + y + 1]
        for x in range(n)
        for y in range(n)
    ]
    points = {"a": [0, 0], "c": [n, n]} | {
        f"{'xy'[axis]}{2**k}": [2**k * (1 - axis), 2**k * axis] for k in range(6) for axis in (0, 1)
    }
    steps, entries = [], []
    for k in range(folds):
        axis, size = k % 2, 16 >> k // 2
        name = f"{'xy'[axis]}{2 * size}"
        end = [2 * size * (1 - axis), 2 * size * axis]
        face = (2 * size - 1) * (n if axis == 0 else 1)
        ends = [[size, 0], [size, 1]] if axis == 0 else [[0, size], [1, size]]
        steps.append({"fold": {"point": name, "onto": "a"}, "moves": name, "direction": "behind" if k % 3 else "over"})
        new = [(min(x, 2 * size - x), y) if axis == 0 else (x, min(y, 2 * size - y)) for x, y in lies]
        entries.append(
            {
                "line": ends,
                "marks": {name: [face, end], "a": [0, [0, 0]]},
                "images": [[v, list(p)] for v, p in enumerate(new) if p != lies[v]],
            }
        )
        lies = new
    walk = [(n + 1) * x for x in range(n + 1)] + [(n + 1) * n + y for y in range(1, n + 1)]
    walk += [(n + 1) * x + n for x in range(n - 1, -1, -1)] + list(range(n - 1, 0, -1))
    cert = {
        "vertices": [[x, y] for x in range(n + 1) for y in range(n + 1)],
        "faces": faces,
        "walk": walk,
        "steps": entries,
    }
    return case(points, ["a", "x32", "c", "y32"], steps, cert)  # type: ignore[arg-type]


def test_ten_folds_of_a_square() -> None:
    outcome = run(grid(10))
    assert outcome.accepted, outcome.reason
    assert outcome.facts["faces"] == 1024


def test_command(tmp_path: Path) -> None:
    for make, status, said in (
        (square, 0, ("certified", None, "")),
        (blocked, 0, ("refuted", "step", "")),
        (off, 0, ("refuted", "off", "")),
        (three_layers, 1, (None, None, "steps.few-layers")),
    ):
        document, cert = make()
        (tmp_path / "r.json").write_bytes(as_bytes(document))
        (tmp_path / "c.json").write_bytes(as_bytes(cert))
        done = subprocess.run(
            [sys.executable, "-S", "-m", "verify.kernel", str(tmp_path / "r.json"), str(tmp_path / "c.json")],
            cwd=ROOT,
            capture_output=True,
            text=True,
            check=False,
        )
        assert (done.returncode, done.stderr) == (status, ""), done.stdout
        told = json.loads(done.stdout)
        assert (told["proves"], told["kind"], told["code"]) == said


def test_toml() -> None:
    document = b"""
        format = "creaseproof-recipe/1"
        steps = [{ fold = { point = "b", onto = "a" }, moves = "b" }]
        [points]
        a = [0, 0]
        b = [4, 0]
        c = [4, 1]
        d = [0, 1]
        [sheet]
        outline = ["a", "b", "c", "d"]
    """
    cert = half()[1]
    cert["steps"][0]["marks"] = {"b": [3, [4, 0]], "a": [0, [0, 0]]}
    cert["statement_sha256"] = read_document(document, True).digest
    assert check_bytes(document, as_bytes(cert), toml=True).accepted
    huge = document.replace(b"moves", b"layers = 0x" + b"f" * 5000 + b", moves")
    assert check_bytes(huge, as_bytes(cert), toml=True).code == "document.range"
    with pytest.raises(Malformed):
        read_document(document.replace(b"moves", b"layers = 1979-05-27, moves"), True)


def test_marks_on_layers() -> None:
    """A mark on a fold belongs to both layers, of which the higher counts; a layer reaches further than a face."""
    document, cert = marked()
    document["steps"][1]["on"] = "s2"
    cert["steps"][1]["marks"]["s2"] = [1, [2, 0]]
    assert run(sealed((document, cert))).accepted
    cert["steps"][1] |= {"place": [1, 0], "face": 1}
    assert run((document, cert)).code == "steps.mark"
    document, cert = marked_on()
    document["steps"][1] |= {"crossing": [["s3", "n3"], ["n0", "n1"]], "on": "s0"}
    marks = {"s0": [0, [0, 0]], "s3": [2, [1, 0]], "n3": [3, [1, 1]], "n0": [0, [0, 1]], "n1": [1, [1, 1]]}
    for face in (0, 1):
        cert["steps"][1] = {"place": [1, 1], "face": face, "image": [1, 1], "marks": marks}
        cert["steps"][2]["marks"]["x"] = [face, [1, 1]]
        assert run(sealed((document, cert))).accepted
    document["steps"][1]["crossing"] = [1, ["s0", "s1"]]
    cert["steps"][1] = {"place": [2, 0], "face": 1, "image": [2, 0], "marks": {"s0": [0, [0, 0]], "s1": [0, [1, 0]]}}
    document["steps"] = document["steps"][:2]
    cert["steps"] = cert["steps"][:2]
    assert run(sealed((document, cert))).accepted  # two squares away from the mark, in its layer
    cert["steps"][1]["face"] = 2
    assert run((document, cert)).code == "steps.mark"  # there too, but in the other layer


def test_a_step_that_can_be_done_is_named_by_its_place() -> None:
    document, cert = refuting(half(), kind="step", why="few-layers")
    outcome = run((document, cert))
    assert (outcome.code, outcome.reason) == ("steps.few-layers", "steps[0]: it is not so that there are fewer layers")
