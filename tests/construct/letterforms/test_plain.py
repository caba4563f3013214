"""Letterforms: simple, in one piece, symmetric where the alphabet is, of one stroke, with rational edges, all
different.
"""

from __future__ import annotations

import string
from fractions import Fraction
from itertools import combinations
from math import isqrt

import pytest
import shapely
from shapely.geometry import Polygon

from verify.construct.letterforms.plain import HEIGHT, LETTERS, letter_document, outline, width, word_document
from verify.pattern.drawing import draw
from verify.pattern.recipe import read_any
from verify.tasks.certify import certify

# The symmetries of capitals and digits of a plain alphabet without serifs, 2 and 5 as a segment display shows them;
# common practice, no source.
MIRRORED_LEFT_RIGHT = "AHIMOTUVWXY08"
MIRRORED_TOP_BOTTOM = "BCDEHIKOX038"
HALF_TURN = "HINOSXZ0258"

STROKE = 12
every_letter = pytest.mark.parametrize("letter", sorted(LETTERS))


def polygon(letter: str) -> Polygon:
    first, *rest = [[(float(x), float(y)) for x, y in loop] for loop in outline(letter)]
    return Polygon(first, rest)


def edges(loop: tuple) -> list:
    return [((x, y), (u - x, v - y)) for (x, y), (u, v) in zip(loop, loop[1:] + loop[:1], strict=True)]


def is_square(number: Fraction) -> bool:
    return all(isqrt(n) ** 2 == n for n in (number.numerator, number.denominator))


def edge_set(loops: tuple, image) -> set[frozenset]:
    return {frozenset((image(*a), image(*b))) for loop in loops for a, b in zip(loop, loop[1:] + loop[:1], strict=True)}


def test_all_letters_and_digits() -> None:
    assert set(LETTERS) == set(string.ascii_uppercase + string.digits)


@every_letter
def test_one_simple_piece_with_its_counters_inside(letter: str) -> None:
    shape = polygon(letter)
    assert shape.is_valid, shapely.is_valid_reason(shape)
    assert shape.geom_type == "Polygon"
    # in one piece still when a hair is taken off all round: no two parts hang together by a corner
    assert shape.buffer(-0.01, join_style="mitre").geom_type == "Polygon"
    assert shape.exterior.is_ccw
    assert not any(ring.is_ccw for ring in shape.interiors)
    assert shape.bounds == (0, 0, float(width(letter)), HEIGHT)


@every_letter
def test_coordinates_are_halves_and_corners_turn(letter: str) -> None:
    for loop in outline(letter):
        assert all((2 * c) == int(2 * c) for xy in loop for c in xy)
        sides = [side for _, side in edges(loop)]
        for (a, b), (c, d) in zip(sides, sides[1:] + sides[:1], strict=True):
            assert a * d != b * c, "a corner where the outline goes straight on"


@every_letter
def test_edges_have_rational_lengths_and_so_the_drawing_is_rational(letter: str) -> None:
    for loop in outline(letter):
        for _, (x, y) in edges(loop):
            assert is_square(Fraction(x) ** 2 + Fraction(y) ** 2)
    assert draw(letter_document(letter)).field.degree == 1


@pytest.mark.parametrize(
    ("letters", "image"),
    [
        (MIRRORED_LEFT_RIGHT, lambda w: lambda x, y: (w - x, y)),
        (MIRRORED_TOP_BOTTOM, lambda w: lambda x, y: (x, HEIGHT - y)),
        (HALF_TURN, lambda w: lambda x, y: (w - x, HEIGHT - y)),
    ],
    ids=["left-right", "top-bottom", "half-turn"],
)
def test_symmetric_exactly_where_the_alphabet_is(letters: str, image) -> None:
    symmetric = {
        letter
        for letter, loops in LETTERS.items()
        if edge_set(loops, image(width(letter))) == edge_set(loops, lambda x, y: (x, y))
    }
    assert symmetric == set(letters)


def test_six_and_nine_and_m_and_w_are_half_turns_of_each_other() -> None:
    for one, two in ("69", "MW"):
        w = width(one)
        assert edge_set(outline(one), lambda x, y, w=w: (w - x, HEIGHT - y)) == edge_set(
            outline(two), lambda x, y: (x, y)
        )


@every_letter
def test_slanted_strokes_are_as_wide_as_the_others(letter: str) -> None:
    """Each slanted edge that has a parallel partner across a stroke is STROKE away from it, exactly."""
    sides = [edge for loop in outline(letter) for edge in edges(loop)]
    slanted = [(p, d) for p, d in sides if d[0] and d[1]]
    distances = []
    for ((px, py), (dx, dy)), ((qx, qy), (ex, ey)) in combinations(slanted, 2):
        # parallel, running in opposite directions, the partner on the inner (left) side, the two facing each other in
        # part
        if dx * ey != dy * ex or dx * ex + dy * ey > 0:
            continue
        off = Fraction(dx * (qy - py) - dy * (qx - px))
        along = sorted(dx * (x - px) + dy * (y - py) for x, y in ((qx, qy), (qx + ex, qy + ey)))
        if off > 0 and along[0] < dx * dx + dy * dy and along[1] > 0:
            distances.append(off * off / (dx * dx + dy * dy))
    expected = {"1": 1, "7": 1, "A": 4, "D": 2, "K": 2, "M": 2, "N": 1, "O": 4, "Q": 3, "R": 1, "S": 1}
    expected |= {"V": 2, "W": 2, "Y": 2, "Z": 1}
    facing = [d for d in distances if d == STROKE**2]
    assert len(facing) == expected.get(letter, 4 if letter == "X" else 0)


@every_letter
def test_the_stroke_is_nowhere_thin_and_nowhere_a_blot(letter: str) -> None:
    """Floats, by shapely: strokes are STROKE wide all the way (7.2 at the nicks of B and 8), since half of that less a
    hair, taken off all round, leaves one piece; and no wider circle than 20 fits in (a stroke holds 12, its corner 14,
    the foot of Q 19.8)."""
    shape = polygon(letter)
    assert shape.buffer(-3.55 if letter in "B8" else -5.95).geom_type == "Polygon"
    assert STROKE / 2 - 0.01 < shapely.maximum_inscribed_circle(shape, 0.01).length <= 10


def test_all_different_and_confusable_pairs_far_apart() -> None:
    def unlike(one: str, two: str) -> float:
        a, b = polygon(one), polygon(two)
        b = shapely.affinity.translate(b, float(width(one) - width(two)) / 2)
        return a.symmetric_difference(b).area / min(a.area, b.area)

    least = min(unlike(a, b) for a, b in combinations(sorted(LETTERS), 2))
    assert least > 0.02
    for one, two in ("0O", "1I", "5S", "8B", "2Z", "OQ", "DO", "6G", "0D", "CG", "PR", "38", "B3"):
        assert unlike(one, two) > 0.08, (one, two)


def test_lower_case_and_what_is_no_letter() -> None:
    assert outline("g") is outline("G")
    for wrong in ("é", "ß", "ı", " ", "?", "", "AB"):
        with pytest.raises(ValueError, match="expected a letter A to Z or a digit 0 to 9"):
            outline(wrong)
    with pytest.raises(ValueError, match="'-'"):
        word_document("A-B")
    with pytest.raises(ValueError, match="an empty word"):
        word_document("")


@every_letter
def test_letter_documents_are_read_and_hold_the_letter(letter: str) -> None:
    document = letter_document(letter)
    assert not document.creases
    assert read_any(document.keys()).statement_sha256 == document.statement_sha256
    drawing = draw(document)
    target = [[drawing.places[n] for n in loop] for loop in document.loops]
    moved = tuple(tuple((Fraction(p.x.text()) - 30, Fraction(p.y.text()) - 30) for p in loop) for loop in target)
    assert moved == outline(letter)
    w, h = (drawing.places[n] for n in ("se", "nw"))
    assert (w.x.text(), h.y.text()) == (str(width(letter) + 60), "120")


def test_scale_and_margin() -> None:
    document = letter_document("k", unit_mm=Fraction(1, 2), margin=10)
    assert document.title == "Letter K"
    assert document.points["K1"] == ("10", "10")
    assert document.points["K6"] == ("85/4", "25")
    assert document.points["ne"] == ("85/2", "50")
    for wrong in ({"unit_mm": 0}, {"margin": -1}):
        with pytest.raises(ValueError, match=next(iter(wrong))):
            letter_document("K", **wrong)


def test_a_word_has_its_letters_side_by_side() -> None:
    document = word_document("Bo2", spacing=20)
    assert document.title == "Word BO2"
    assert len(document.loops) == 3 + 2 + 1
    shapes = [Polygon([tuple(float(Fraction(c)) for c in document.points[n]) for n in loop]) for loop in document.loops]
    b, o, two = shapes[0], shapes[3], shapes[5]
    assert (b.bounds[0], b.bounds[2], o.bounds[0], o.bounds[2], two.bounds[0], two.bounds[2]) == (
        30,
        75,
        95,
        143,
        163,
        199,
    )
    assert document.points["ne"] == ("229", "120")
    assert document.loops[3][0] == "O2-1"


def test_without_creases_the_cut_is_refuted() -> None:
    assert certify(letter_document("L")).verdict == "refuted"
