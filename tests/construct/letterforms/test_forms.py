"""Letterforms made for folding: outlines from proportions, simple, in one piece, on the sheet that their kind says."""

from __future__ import annotations

import string
from fractions import Fraction
from itertools import combinations

import pytest
import shapely
from shapely.geometry import Polygon

from verify.construct.letterforms.families import area2, grid
from verify.construct.letterforms.forms import KINDS, LetterForm, forms, made, usual_height
from verify.pattern.drawing import draw
from verify.pattern.recipe import read_any

ALL = [pytest.param(f, id=f"{kind}-{c}") for kind in KINDS for c, f in forms(kind).items()]


# Their dots stand apart, or they do not fill the letter's box.
APART = {"Ü", "-"}
FORMS = [param for param in ALL if param.values[0].character not in APART]  # type: ignore[attr-defined]


# Of the letters with a margin, one side of these is the sheet's own edge.
THREE_SIDES = "PR69"


def polygon(f: LetterForm) -> Polygon:
    outer = [[(float(x), float(y)) for x, y in loop] for loop in f.loops if area2(loop) > 0]
    inner = [[(float(x), float(y)) for x, y in loop] for loop in f.loops if area2(loop) < 0]
    assert len(outer) == 1
    return Polygon(outer[0], inner)


def test_a_ring_of_a_grid() -> None:
    outer, counter = grid(["###", "#.#", "###"], [1, 3, 1], [1, 2, 1])
    assert outer == ((0, 0), (4, 0), (4, 5), (0, 5))
    assert counter == ((1, 1), (1, 4), (3, 4), (3, 1))


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ((["#.", ".#"], [1, 1], [1, 1]), "meet in a corner only"),
        ((["##"], [1], [1]), "expected 1, each with 1 cells"),
    ],
)
def test_what_does_not_fit_is_said(arguments: tuple, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        grid(*arguments)


def test_proportions_may_be_fractions_and_roots() -> None:
    k = made("K", "strip", {"polygons": [[[0, 0], ["1/2+sqrt(2)", 0], [0, 5]]], "paper": ["1/2", 1, 0, 0]})
    assert k.width * 2 == k.width + k.width
    assert float(k.width) == pytest.approx(1.9142135623)
    document = k.document(10)
    assert document.points["a1"] == ("1", "0")
    assert float(draw(document).places["a2"].x) == pytest.approx(2 * (0.5 + 1.9142135623))


def test_every_letter_has_a_form_on_a_card() -> None:
    assert set(forms("card")) >= set(string.ascii_uppercase + string.digits)


@pytest.mark.parametrize("f", FORMS)
def test_simple_and_on_its_sheet(f: LetterForm) -> None:
    shape = polygon(f)
    assert shape.is_valid, shapely.is_valid_reason(shape)
    # in one piece still when a hair is taken off all round: no two parts hang together by a corner
    assert shape.buffer(-float(f.height) / 1000, join_style="mitre").geom_type == "Polygon"
    left, low, right, high = map(float, f.sheet)
    box = (0.0, 0.0, float(f.width), float(f.height))
    assert shape.bounds == pytest.approx(box)
    beyond = (-left, -low, right - box[2], high - box[3])
    if f.kind not in ("strip", "margin"):
        assert beyond == (0, 0, 0, 0)
    elif f.kind == "strip":
        assert beyond[1] == beyond[3] == 0 < min(beyond[0], beyond[2])
    else:
        assert sum(side > 0 for side in beyond) == (3 if f.character in THREE_SIDES else 4)
        assert min(beyond) >= 0


def test_a_hyphen_keeps_the_height_of_the_letters() -> None:
    document = forms("card")["-"].document(100)
    places = draw(document).places
    assert {float(places[n].y) for loop in document.loops for n in loop} == {40, 60}
    assert float(places["nw"].y) == 100


@pytest.mark.parametrize("f", FORMS)
def test_documents_are_one_height_and_hold_the_letter(f: LetterForm) -> None:
    document = f.document()
    assert read_any(document.keys()).statement_sha256 == document.statement_sha256
    places = draw(document).places
    corners = [places[n] for loop in document.loops for n in loop]
    heights = [float(p.y) for p in corners]
    assert max(heights) - min(heights) == pytest.approx(float(usual_height(f.kind)))
    assert len(document.loops) == len(f.loops)
    assert [len(loop) for loop in document.loops] == [len(loop) for loop in f.loops]
    assert not document.creases


def test_size_is_free() -> None:
    small, large = forms("card")["L"].document(30), forms("card")["L"].document(Fraction(61, 2))
    assert draw(small).places["nw"].y == 30
    assert draw(large).places["nw"].y == Fraction(61, 2)
    with pytest.raises(ValueError, match="height"):
        forms("card")["L"].document(0)


@pytest.mark.parametrize("kind", KINDS)
def test_letters_of_a_kind_differ(kind: str) -> None:
    """Two letters of a kind, laid on each other at one height, differ in a tenth of the smaller one at least (B and 8,
    O and 0 alike count, too).
    """
    scaled = {}
    for c, f in forms(kind).items():
        if c in APART:
            continue
        size = 1 / float(f.height)
        scaled[c] = shapely.affinity.scale(polygon(f), size, size, origin=(0, 0))
    for one, two in combinations(sorted(scaled), 2):
        a, b = scaled[one], scaled[two]
        b = shapely.affinity.translate(b, (a.bounds[2] - b.bounds[2]) / 2)
        assert a.symmetric_difference(b).area / min(a.area, b.area) > 0.02 or (one, two) in {("1", "I"), ("8", "B")}, (
            one,
            two,
        )


@pytest.mark.parametrize(
    ("kind", "size"), [("a4", (210, 297)), ("letter", (Fraction(2159, 10), Fraction(1397, 5))), ("square", (120, 120))]
)
def test_plain_sheets_have_their_size(kind: str, size: tuple) -> None:
    """ISO 216: A4 is 210 mm × 297 mm; ANSI/ASME Y14.1: size A is 8.5 in × 11 in."""
    l = made("L", kind, {"cells": ["#.", "##"], "rows": ["rest", 2], "columns": [2, 6]})  # noqa: E741
    places = draw(l.document()).places
    assert (places["ne"].x, places["ne"].y) == size
    assert places["a2"].x * 4 == places["a2"].y * 4 == size[0]
