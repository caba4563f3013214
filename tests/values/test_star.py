"""The regular five-point star, exactly: nothing here is a decimal [derived; to 50 digits elsewhere]."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import mpmath
import pytest

import verify
from tests.corpus import certified
from tests.families import vertex
from verify.exact.field import read_numbers
from verify.exact.number import Number
from verify.pattern.document import Crease, Document
from verify.tasks.certify import Result

Exact = Callable[[str], Number]

# Ten 36° sectors round O; tips at R, notches at R(3 − √5)/2; the cut meets the tip ray at 18° and the notch ray at
# 126°.
R = 80
NOTCH = "(3 - sqrt(5))/2"


def own_star(kinds: str = "E" * 10) -> Document:
    """A star with R = 1 on a decagon of paper of twice that radius."""
    paper = vertex([(f"2*cos({k}*pi/5)", f"2*sin({k}*pi/5)") for k in range(10)], kinds)
    points = dict(paper.points)
    loop = []
    for k in range(10):
        radius = "1" if k % 2 == 0 else f"({NOTCH})"
        points[f"s{k}"] = (f"{radius}*cos({k}*pi/5)".replace(" ", ""), f"{radius}*sin({k}*pi/5)".replace(" ", ""))
        loop.append(f"s{k}")
    return Document(
        points,
        paper.outline,
        creases=tuple(Crease(c.start, c.end, c.kind) for c in paper.creases),
        loops=(tuple(loop),),
        snips=1,
    )


@pytest.fixture(scope="module")
def star(proofs: Path) -> Result:
    return certified(proofs / "certified" / "star.toml")


def test_certified_in_the_field_of_degree_4(star: Result) -> None:
    assert star.verdict == "certified"
    assert star.subdivision is not None
    field = star.subdivision.drawing.field
    assert field.degree == 4
    assert star.certificate is not None
    assert len(star.certificate["field"]["polynomial"]) == 5
    # The field is Q(√(10 − 2√5)): reading that number together with the star's own needs no larger one.
    texts = sorted({text for pair in star.document.points.values() for text in pair})
    assert read_numbers([*texts, "sqrt(10-2*sqrt(5))"]).field.degree == 4
    assert read_numbers(["sqrt(10-2*sqrt(5))"]).field.degree == 4


def test_distances(star: Result, exact: Exact) -> None:
    assert star.subdivision is not None
    places = star.subdivision.drawing.places
    for name, p in places.items():
        radius = p.x * p.x + p.y * p.y
        if name.startswith("tip"):
            assert radius == R**2
        if name.startswith("notch"):
            assert radius == exact(f"({R}*{NOTCH})*({R}*{NOTCH})")
    tip, notch = places["tip-90"], places["notch-126"]
    edge = (tip.x - notch.x) * (tip.x - notch.x) + (tip.y - notch.y) * (tip.y - notch.y)
    assert edge == exact(f"{R * R}*(5-2*sqrt(5))")
    assert exact("sqrt(5-2*sqrt(5))").decimal(15).startswith("0.7265425280053608"[:12])


def test_the_cut_line(star: Result, exact: Exact) -> None:
    """Its distance from O, and the angles at which it meets the rays of tips and notches."""
    assert star.cutting is not None
    assert star.fold_map is not None
    assert star.subdivision is not None
    o = star.cutting.overlaps
    a, b = (o.spots[i] for i in o.line_spots[star.cutting.line])
    s = star.subdivision
    index = {s.name(v): star.fold_map.images[v] for v in range(len(s.vertices))}
    centre = index["middle"]
    twice = (b.x - a.x) * (centre.y - a.y) - (b.y - a.y) * (centre.x - a.x)
    square = (b.x - a.x) * (b.x - a.x) + (b.y - a.y) * (b.y - a.y)
    distance = exact(f"{R}*(sqrt(5)-1)/4")
    assert twice * twice / square == distance * distance
    tip, notch = index["tip-90"], index["notch-126"]

    def cosine_squared(apex: object, one: object, other: object) -> tuple[Number, int]:
        ux, uy = one.x - apex.x, one.y - apex.y  # type: ignore[attr-defined]
        vx, vy = other.x - apex.x, other.y - apex.y  # type: ignore[attr-defined]
        along = ux * vx + uy * vy
        return along * along / ((ux * ux + uy * uy) * (vx * vx + vy * vy)), along.sign()

    assert cosine_squared(tip, centre, notch) == (exact("cos(pi/10)") * exact("cos(pi/10)"), 1)
    assert cosine_squared(notch, centre, tip) == (exact("cos(7*pi/10)") * exact("cos(7*pi/10)"), -1)


def test_all_tips_and_all_notches_fold_onto_one_place(star: Result) -> None:
    assert star.fold_map is not None
    assert star.subdivision is not None
    s = star.subdivision
    for head in ("tip", "notch"):
        places = {star.fold_map.images[v] for v in range(len(s.vertices)) if s.name(v).startswith(head)}
        assert len(places) == 1


def test_area(star: Result, exact: Exact) -> None:
    target = next(p for p in star.parts if p.role == "target")
    assert target.area * target.area == exact(f"(625-275*sqrt(5))/8*{R**4}")
    rest = next(p for p in star.parts if p.role == "sheet")
    assert target.area + rest.area == 210 * 210


def test_layers_and_assignments(star: Result) -> None:
    assert star.cutting is not None
    assert star.cutting.most_layers == 10
    document = own_star()
    counted = verify.count(document)
    assert counted.folding == counted.at_vertices == 420  # 2·C(10, 4), degree 10, equal angles
    result = verify.certify(document)
    assert result.verdict == "certified"
    assert result.cutting is not None
    assert result.cutting.most_layers == 10
    assert result.subdivision is not None
    assert result.subdivision.drawing.field.degree == 4


def test_sines_and_cosines(exact: Exact) -> None:
    assert exact("cos(pi/5)") == exact("(1+sqrt(5))/4")
    x = exact("sin(pi/5)")
    assert 16 * x * x * x * x - 20 * x * x + 5 == 0
    assert x.sign() > 0


def test_fifty_digits(exact: Exact) -> None:
    with mpmath.workdps(60):
        root5 = mpmath.sqrt(5)
        for text, value in (
            (NOTCH, (3 - root5) / 2),
            ("sqrt(5-2*sqrt(5))", mpmath.sqrt(5 - 2 * root5)),
            ("(sqrt(5)-1)/4", (root5 - 1) / 4),
            ("sqrt((625-275*sqrt(5))/8)", mpmath.sqrt((625 - 275 * root5) / 8)),
        ):
            low, high = exact(text).enclosure(200)
            assert high - low < Fraction(1, 10**50)
            assert (
                mpmath.mpf(low.numerator) / low.denominator - mpmath.mpf(10) ** -50
                < value
                < mpmath.mpf(high.numerator) / high.denominator + mpmath.mpf(10) ** -50
            )


@pytest.mark.parametrize(
    "fraction", ["38/100", "0.3819660112501051", "0.38196601125010515179541316563436188227969082019424"]
)
def test_notches_in_decimals_make_another_star(fraction: str, exact: Exact) -> None:
    """Tips and notches on ten equal sectors fold onto one line whatever the notch's radius: certified, and not the
    regular star.
    """
    document = own_star()
    points = dict(document.points)
    for k in range(1, 10, 2):
        points[f"s{k}"] = (f"{fraction}*cos({k}*pi/5)", f"{fraction}*sin({k}*pi/5)")
    rounded = verify.certify(
        Document(points, document.outline, creases=document.creases, loops=document.loops, snips=1)
    )
    assert rounded.verdict == "certified"
    area = next(p.area for p in rounded.parts if p.role == "target")
    assert area * area != exact("(625-275*sqrt(5))/8")
    regular = next(p.area for p in verify.certify(document).parts if p.role == "target")
    assert regular * regular == exact("(625-275*sqrt(5))/8")


@pytest.mark.parametrize("moved", ["s0", "s1"])
def test_one_corner_off_by_1e_30_is_refuted(moved: str) -> None:
    document = own_star()
    points = dict(document.points)
    x, y = points[moved]
    points[moved] = (f"{x}+1e-30", y)
    off = verify.certify(Document(points, document.outline, creases=document.creases, loops=document.loops, snips=1))
    assert off.verdict == "refuted"
