"""Nothing rounds: a hair of 10^-30 decides, either way."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

import verify
from tests.families import vertex
from tests.places import PROOFS
from tests.profiles import examples
from verify.pattern.document import Document
from verify.pattern.families import strip
from verify.pattern.recipe import load_any

CERTIFIED = PROOFS / "certified"
HAIR = "1e-30"
WITH_OUTLINES = [
    "banner-flat", "fish", "frame-rectangle", "kite", "letter-l", "nested-frames", "panel-round-hole", "ring",
        "sail-3-4-5", "sail-scalene", "star",
    "two-windows", "window-one-fold", "window-three-folds", "window-two-folds",
]  # fmt: skip


def document(name: str) -> Document:
    (path,) = (p for p in CERTIFIED.iterdir() if p.stem == name)
    return load_any(path)


def moved(original: Document, name: str, axis: int, by: str) -> Document:
    pair = list(original.points[name])
    pair[axis] = f"({pair[axis]}){by}"
    return replace(original, points=dict(original.points) | {name: (pair[0], pair[1])}, raw=None)


def corners(original: Document) -> list[str]:
    """Corners of the target's outlines that no crease and no sheet outline names."""
    used = {n for c in original.creases for n in (c.start, c.end)} | set(original.outline)
    return [n for loop in original.loops for n in loop if n not in used]


CASES = [(name, corner) for name in WITH_OUTLINES for corner in corners(document(name))[:4]]


def test_how_many_corners() -> None:
    assert len(CASES) >= 30


@cache
def certified(name: str) -> verify.Result:
    result = verify.certify(document(name))
    assert result.verdict == "certified"
    return result


# every other corner along one axis, all along both with --long
AXES = [
    pytest.param(*case, axis, marks=[] if k % 4 == 2 * axis else [pytest.mark.long])
    for k, case in enumerate(CASES)
    for axis in (0, 1)
]


@pytest.mark.parametrize(("name", "corner", "axis"), AXES)
def test_a_target_corner_off_by_a_hair(name: str, corner: str, axis: int) -> None:
    original = document(name)
    off = verify.certify(moved(original, corner, axis, f"+{HAIR}"))
    assert off.verdict == "refuted"
    assert {f.check for f in off.failures} == {"cut"}
    assert off.certificate is not None
    assert off.certificate["refutation"]["kind"] in ("apart", "stray")
    # The certificate of the exact pattern does not pass for the other, nor the other way round.
    exact = certified(name).certificate or {}
    assert not verify.audit(off.document, exact).accepted
    assert not verify.audit(off.document, exact | {"statement_sha256": off.statement_sha256}).accepted


@pytest.mark.parametrize(("name", "corner"), CASES[::3])
def test_put_back_it_is_certified(name: str, corner: str) -> None:
    back = verify.certify(moved(document(name), corner, 0, f"+{HAIR}-{HAIR}"))
    assert back.verdict == "certified"
    assert back.statement_sha256 != document(name).statement_sha256


@pytest.mark.parametrize("digits", [30, 100, 300, 900])
def test_smaller_hairs(digits: int) -> None:
    original = document("window-three-folds")
    corner = corners(original)[0]
    assert verify.certify(moved(original, corner, 0, f"+1e-{digits}")).verdict == "refuted"


@examples(25)
@given(
    st.integers(1, 60),
    st.sampled_from("+-"),
    st.sampled_from(["star", "sail-3-4-5", "kite"]),
    st.integers(0, 2),
    st.sampled_from([0, 1]),
)
def test_any_hair(digits: int, sign: str, name: str, which: int, axis: int) -> None:
    original = document(name)
    outline = original.loops[0]
    result = verify.certify(moved(original, outline[which % len(outline)], axis, f"{sign}1e-{digits}"))
    assert result.verdict == "refuted"


def test_an_irrational_hair() -> None:
    """5·10^-31 in the square root of a number: another field, and refuted."""
    original = document("window-three-folds")
    corner = corners(original)[0]
    text = original.points[corner][0]
    sign = "-" if text.startswith("-") else ""
    size = text.removeprefix("-")
    points = dict(original.points) | {corner: (f"{sign}sqrt({size}*{size}+1e-30)", original.points[corner][1])}
    assert verify.certify(replace(original, points=points, raw=None)).verdict == "refuted"
    points[corner] = (f"{sign}sqrt({size}*{size})", original.points[corner][1])
    assert verify.certify(replace(original, points=points, raw=None)).verdict == "certified"


def test_kawasaki_by_a_hair() -> None:
    ends: list[tuple[Any, Any]] = [(1, 0), (0, 1), (-1, 0), (0, -1)]
    assert verify.certify(vertex(ends)).verdict == "certified"
    ends[1] = ("1e-30", 1)
    result = verify.certify(vertex(ends))
    assert result.verdict == "refuted"
    (finding,) = (f for f in result.failures if f.check == "kawasaki")
    assert float(finding.value["difference_degrees"]) == pytest.approx(2e-30 * 57.29577951308232, rel=1e-5)
    ends[3] = ("-1e-30", -1)
    assert verify.certify(vertex(ends)).verdict == "refuted"  # two lines that cross, not at right angles
    ends[1], ends[3] = (0, 1), ("0/7", "-2")
    assert verify.certify(vertex(ends)).verdict == "certified"


def test_a_tail_too_long_by_a_hair() -> None:
    from fractions import Fraction

    hair = Fraction(1, 10**30)
    # The two tails lie side by side between the folds as long as neither reaches past the other's fold.
    for lengths, verdict in (
        ([1, 1, 1], "certified"),
        ([1, 1 - hair, 1], "refuted"),
        ([1 - hair, 1 - hair, 1], "certified"),
        ([1, 1 - hair, 1 - 2 * hair], "certified"),
    ):
        assert verify.certify(strip(lengths, "VV")).verdict == verdict, lengths


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("sqrt(2)*sqrt(3)", "sqrt(6)"),
        ("sqrt(5+2*sqrt(6))", "sqrt(2)+sqrt(3)"),
        ("cos(pi/5)-cos(2*pi/5)", "1/2"),
        ("16*sin(pi/16)*cos(pi/16)", "8*sin(pi/8)"),
        ("tan(pi/8)", "sqrt(2)-1"),
        ("1/(sqrt(3)-sqrt(2))", "sqrt(2)+sqrt(3)"),
    ],
)
def test_one_number_in_two_forms_is_one_place(one: str, other: str, pattern: Any) -> None:
    """A crease from a place given in one form to the edge, continued from the same place in the other form."""
    document_ = pattern(
        [("-9", -9), (9, -9), (9, 9), (-9, 9)],
        [((one, 0), (9, 0), "valley"), ((other, "0"), (-9, 0), "valley")],
    )
    assert verify.certify(document_).verdict == "certified"
    apart = pattern(
        [("-9", -9), (9, -9), (9, 9), (-9, 9)],
        [((f"{one}+1e-40", 0), (9, 0), "valley"), ((other, "0"), (-9, 0), "valley")],
    )
    assert verify.certify(apart).verdict == "refuted"


def test_a_stray_cell_with_two_snips(pattern: Any) -> None:
    """Folded in half, a slot drawn in one half only: the snip would cut the other half too."""
    result = verify.certify(
        pattern([(0, 0), (10, 0), (10, 10), (0, 10)], [((5, 0), (5, 10), "valley")], paths=[[(1, 5), (4, 5)]], snips=2)
    )
    assert result.verdict == "refuted"
