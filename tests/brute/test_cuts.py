"""The cut by brute force against the program and the kernel."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from itertools import pairwise
from random import Random
from typing import Any

import pytest

import verify
from tests.profiles import share

from .cuts import Place, Sheet, Snips, random_sheet

TURNS = [None, None, None, ("3/5", "4/5"), ("cos(pi/8)", "sin(pi/8)")]


def lines(*corners: tuple[Any, Any]) -> tuple[tuple[Place, Place], ...]:
    places = [(Fraction(x), Fraction(y)) for x, y in corners]
    return tuple(pairwise(places))


def squares(width: int, height: int, *without: tuple[int, int]) -> frozenset[tuple[int, int]]:
    return frozenset((x, y) for x in range(width) for y in range(height)) - {*without}


WINDOW = lines((1, 1), (3, 1), (3, 3), (1, 3), (1, 1))


@pytest.mark.parametrize(("across", "up", "fewest"), [((), (), 4), ((2,), (), 3), ((2,), (2,), 2)])
def test_the_window(across: tuple[int, ...], up: tuple[int, ...], fewest: int) -> None:
    """A square hole takes three snips after one fold in half and two after a second one square to it (common practice,
    no source).
    """
    sheet = Sheet(squares(4, 4), frozenset(across), frozenset(up), WINDOW)
    assert sheet.snips() == Snips(False, fewest)
    result = verify.certify(verify.read(sheet.document(fewest)))
    assert result.verdict == "certified"
    assert verify.certify(verify.read(sheet.document(fewest - 1))).verdict == "refuted"


def test_a_target_that_crosses_the_snip() -> None:
    """An L folded over: the snip along one line of the target crosses another one, which is cut by the second snip."""
    keys = {
        "format": "creaseproof-pattern/1",
        "points": {
            "a": [0, 0],
            "m": [2, 0],
            "b": [4, 0],
            "c": [4, 1],
            "n": [2, 1],
            "d": [2, 2],
            "e": [0, 2],
            "l": [0, 1],
            "x": [1, 1],
            "y": [1, 2],
        },
        "sheet": {"outline": ["a", "b", "c", "n", "d", "e"]},
        "creases": [["m", "n", "valley"]],
        # n–c folds onto the line of l–n, where x–y begins
        "target": {"paths": [["l", "n"], ["n", "c"], ["x", "y"]]},
        "cut": {"snips": 2},
    }
    result = verify.certify(verify.read(keys))
    assert (result.verdict, result.cutting and result.cutting.needed) == ("certified", 2)
    one = verify.certify(verify.read({**keys, "cut": {"snips": 1}}))
    assert one.verdict == "refuted"
    assert {f.kind: f.value["needed"] for f in one.findings if f.kind == "snips-instead"} == {"snips-instead": 2}
    assert "no-snips" not in {f.kind for f in one.findings}
    crossing = Sheet(squares(3, 2), frozenset(), frozenset(), lines((0, 1), (3, 1)) + lines((1, "1/2"), (1, 2)))
    assert crossing.snips() == Snips(False, 2)
    assert verify.certify(verify.read(crossing.document(2))).verdict == "certified"


def compared(seeds: range) -> Counter[object]:
    """Random sheets, with one snip or more: the same answer, and the same least number of snips in this folding."""
    seen: Counter[object] = Counter()
    for seed in seeds:
        random = Random(seed)
        sheet = random_sheet(random)
        snips, turned = random.choice([1, 1, 2, 3, 4]), random.choice(TURNS)
        expected = sheet.snips()
        holds = expected.at_once if snips == 1 else expected.fewest is not None and expected.fewest <= snips
        result = verify.certify(verify.read(sheet.document(snips, turned)))
        assert result.verdict == ("certified" if holds else "refuted"), seed
        assert result.cutting is not None
        assert result.cutting.needed == expected.fewest, seed
        seen.update(
            [
                (holds, snips > 1),
                ("hole", len(sheet.loops() or ()) > 1),
                ("turned", turned is not None),
                ("fewest", expected.fewest),
            ]
        )
    return seen


def test_random_sheets() -> None:
    seen = compared(range(share(250)))
    assert all(seen[holds, several] >= 2 for holds in (True, False) for several in (True, False)), seen
    assert seen["hole", True] >= 1
    assert seen["turned", True] >= 8
    assert min(seen["fewest", n] for n in (1, 2, 3)) >= 2
    assert seen["fewest", None] >= 4
