"""Single vertices: published counts, and the general statements on random angles."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from itertools import product
from math import comb, pi
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

import verify
from tests.brute.theory import strip_words
from tests.families import vertex
from tests.profiles import examples
from verify.folding.vertex import VertexReport, count_assignments, vertex_reports
from verify.pattern.arrangement import subdivide
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.pattern.families import strip

Build = Callable[..., Document]


def direction(j: int, k: int) -> tuple[str, str]:
    """The direction at j·180°/k."""
    return f"cos({j}*pi/{k})", f"sin({j}*pi/{k})"


def star(parts: list[int], k: int, word: str | None = None) -> Document:
    """A vertex whose angles are the parts, in units of 180°/k (they add up to 2k)."""
    ends = [sum(parts[:i]) for i in range(len(parts))]
    return vertex([direction(j, k) for j in ends], word)


def middle(document: Document) -> VertexReport:
    """The report of the inner vertex."""
    (report,) = (r for r in vertex_reports(subdivide(draw(document))) if not r.on_border)
    return report


def crimps_away(angles: tuple[int, ...], word: str) -> bool:
    """Whether some sequence of crimps folds the vertex: every choice is tried."""
    n = len(angles)
    if n == 2:
        return angles[0] == angles[1] and word[0] == word[1]
    for i in range(n):
        before, here, after = angles[i - 1], angles[i], angles[(i + 1) % n]
        if word[i] != word[(i + 1) % n] and here <= before and here <= after:
            turned = angles[i:] + angles[:i]
            letters = word[i:] + word[:i]
            merged = (*turned[2:-1], turned[-1] + turned[1] - turned[0])
            if crimps_away(merged, letters[2:]):
                return True
    return False


def crimped(parts: list[int]) -> set[str]:
    return {w for w in map("".join, product("MV", repeat=len(parts))) if crimps_away(tuple(parts), w)}


@st.composite
def flat_angles(draw: st.DrawFn, degree: int | None = None) -> tuple[list[int], int]:
    """Angles in units of 180°/k with both alternate sums 180°; many of them equal."""
    half = degree // 2 if degree else draw(st.integers(2, 4))
    k = draw(st.integers(half, 9))
    sums = []
    for _ in range(2):
        stops = sorted(draw(st.sets(st.integers(1, k - 1), min_size=half - 1, max_size=half - 1)))
        sums.append([b - a for a, b in zip([0, *stops], [*stops, k], strict=True)])
    parts = [x for pair in zip(*sums, strict=True) for x in pair]
    return parts, k


# 2·C(2n, n − 1): Hull 2002/2003, arXiv:1307.1065, arXiv:1410.5022 [published, recomputed by brute force]
EQUAL = {2: 2, 4: 8, 6: 30, 8: 112, 10: 420}
# 2n·A005315(n) [derived, recomputed by brute force]
EQUAL_ORDERS = {2: 2, 4: 8, 6: 48, 8: 336}


@pytest.mark.parametrize("degree", [4, 6, 8, 10])
def test_equal_angles(degree: int) -> None:
    n = degree // 2
    assert EQUAL[degree] == 2 * comb(2 * n, n - 1)
    counted = verify.count(star([1] * degree, n))
    assert counted.at_vertices == counted.folding == EQUAL[degree]
    assert counted.orders == EQUAL_ORDERS.get(degree, counted.orders)


def test_two_folds_in_one_line(pattern: Build, box: Any) -> None:
    counted = verify.count(pattern(box(-1, 1, -1, 1), [((0, 0), (1, 0), "either"), ((0, 0), (-1, 0), "either")]))
    assert (counted.at_vertices, counted.folding, counted.orders) == (EQUAL[2], EQUAL[2], EQUAL_ORDERS[2])


def test_eight_angles() -> None:
    # Angles 20, 10, 40, 50, 60, 60, 60, 60: 48 assignments [recomputed by brute force]
    parts = [2, 1, 4, 5, 6, 6, 6, 6]
    counted = verify.count(star(parts, 18))
    assert counted.at_vertices == counted.folding == len(crimped(parts)) == 48


def test_degree_4_takes_exactly_three_values() -> None:
    # OEIS A156209, row of degree 4 [published, recomputed by brute force]
    seen = set()
    k = 8
    for a in range(1, k):
        for b in range(1, k):
            seen.add(middle(star([a, b, k - a, k - b], k)).assignments)
    assert seen == {4, 6, 8}


def test_degree_6_takes_exactly_seven_values() -> None:
    # OEIS A156209, row of degree 6 [published, recomputed by brute force]
    examples = {
        8: [1, 2, 2, 1, 2, 2],
        12: [1, 1, 1, 2, 3, 2],
        16: [1, 2, 3, 3, 3, 2],
        18: [1, 2, 1, 1, 2, 1],
        20: [1, 1, 1, 1, 2, 2],
        24: [1, 1, 2, 2, 2, 2],
        30: [1, 1, 1, 1, 1, 1],
    }
    for value, parts in examples.items():
        counted = verify.count(star(parts, sum(parts) // 2))
        assert counted.folding == counted.at_vertices == len(crimped(parts)) == value
    k = 6
    triples = [(a, b, k - a - b) for a in range(1, k) for b in range(1, k - a)]
    seen = {
        middle(star([x for pair in zip(one, two, strict=True) for x in pair], k)).assignments
        for one in triples
        for two in triples
    }
    assert seen <= set(examples)
    assert len(seen) >= 5


@examples(50)
@given(flat_angles())
def test_recursion_crimping_and_search_agree(drawn: tuple[list[int], int]) -> None:
    parts, k = drawn
    document = star(parts, k)
    report = middle(document)
    words = crimped(parts)
    assert count_assignments(report.angles) == report.assignments == report.completions == len(words)
    counted = verify.count(document)
    assert counted.at_vertices == counted.folding == len(words)
    n = len(parts) // 2
    # Hull's bounds, and mountains and valleys may be swapped [published, recomputed by brute force]
    assert 2**n <= len(words) <= 2 * comb(2 * n, n - 1)
    assert len(words) % 2 == 0
    assert {w.translate(str.maketrans("MV", "VM")) for w in words} == words


@examples(100)
@given(flat_angles(), st.data())
def test_every_single_assignment(drawn: tuple[list[int], int], data: st.DataObject) -> None:
    parts, k = drawn
    word = data.draw(st.text("MV", min_size=len(parts), max_size=len(parts)))
    result = verify.certify(star(parts, k, word))
    assert result.verdict == ("certified" if crimps_away(tuple(parts), word) else "refuted")
    kinds = {f.kind for f in result.failures}
    # Maekawa–Justin: |M − V| = 2, and only then can the vertex fold
    assert ("maekawa-fails" in kinds) == (abs(word.count("M") - word.count("V")) != 2)
    assert "kawasaki-fails" not in kinds
    n = len(parts)
    squeezed = [i for i in range(n) if parts[i - 1] > parts[i] < parts[(i + 1) % n] and word[i] == word[(i + 1) % n]]
    # Big-little-big: Hull's survey [published, recomputed by brute force]
    assert sum(f.kind == "big-little-big-fails" for f in result.failures) == len(squeezed)
    if squeezed:
        assert result.verdict == "refuted"


@examples(60)
@given(flat_angles(4), st.integers(-3, 3))
def test_kawasaki_both_ways(drawn: tuple[list[int], int], shift: int) -> None:
    # Kawasaki–Justin: some assignment folds iff both alternate sums are 180° [published]
    parts, k = drawn
    scale = 4
    parts = [scale * x for x in parts]
    parts[0], parts[1] = parts[0] + shift, parts[1] - shift
    k *= scale
    assume(all(0 < x < k for x in parts))
    result = verify.certify(star(parts, k))
    assert (result.verdict == "certified") == (shift == 0)
    if shift:
        (finding,) = (f for f in result.failures if f.check == "kawasaki")
        assert finding.kind == "kawasaki-fails"
        off = abs(sum(parts[::2]) - sum(parts[1::2])) * 180 / k
        assert float(finding.value["difference_degrees"]) == pytest.approx(off, rel=1e-5)
        assert result.certificate is not None
        assert result.certificate["refutation"]["kind"] == "closure"
        assert verify.count(star(parts, k)).folding == 0


@examples(60)
@given(flat_angles(6), st.integers(1, 8))
def test_odd_degrees_never_fold(drawn: tuple[list[int], int], cut: int) -> None:
    parts, k = drawn
    i = cut % len(parts)
    merged = [parts[i - 1] + parts[i], *(parts[i + 1 :] + parts[:i])[:-1]]
    assume(all(x < k for x in merged))
    result = verify.certify(star(merged, k))
    assert len(merged) == 5
    assert result.verdict == "refuted"
    assert "odd-degree" in {f.kind for f in result.failures}


def unit(t: Fraction) -> tuple[Fraction, Fraction]:
    """The rational direction at twice the angle whose tangent is t."""
    return (1 - t * t) / (1 + t * t), 2 * t / (1 + t * t)


def times(a: tuple[Fraction, Fraction], b: tuple[Fraction, Fraction]) -> tuple[Fraction, Fraction]:
    return a[0] * b[0] - a[1] * b[1], a[0] * b[1] + a[1] * b[0]


@examples(120)
@given(st.fractions(Fraction(1, 20), 20, max_denominator=20), st.fractions(Fraction(1, 20), 20, max_denominator=20))
def test_rational_vertices_of_degree_4(s: Fraction, t: Fraction) -> None:
    # Angles a, b, 180° − a, 180° − b with rational sines and cosines: the number of assignments depends on ties alone.
    a, b = unit(s), unit(t)
    ab = times(a, b)
    rays = [(Fraction(1), Fraction(0)), a, ab, times(ab, (-a[0], a[1]))]
    document = vertex(rays)
    counted = verify.count(document)
    # a < b as angles iff s < t as tangents of their halves; 180° − a has tangent 1/s
    sizes = [s, t, 1 / s, 1 / t]
    least = min(sizes)
    run = sum(x == least for x in sizes)
    expected = {1: 4, 2: 6, 4: 8}[run]
    assert counted.at_vertices == counted.folding == middle(document).assignments == expected
    assert (counted.orders or 0) >= expected


@examples(60)
@given(st.lists(st.integers(1, 4), min_size=2, max_size=6), st.data())
def test_a_vertex_on_the_edge_of_the_sheet_folds_like_a_strip(parts: list[int], data: st.DataObject) -> None:
    # Round a vertex on the border the paper is a strip, bent: angles instead of lengths ([derived]; that crimps and
    # end folds decide a strip is checked by brute force in tests/brute/test_agreement.py).
    k = sum(parts) + data.draw(st.integers(1, 3))
    word = data.draw(st.text("MVE", min_size=len(parts) - 1, max_size=len(parts) - 1))
    rays = [direction(sum(parts[:i]), k) for i in range(len(parts) + 1)]
    points = {"o": ("0", "0")} | {f"r{i}": xy for i, xy in enumerate(rays)}
    kinds = {"M": "mountain", "V": "valley", "E": "either"}
    keys = {
        "format": "creaseproof-pattern/1",
        "points": {n: list(xy) for n, xy in points.items()},
        "sheet": {"outline": list(points)},
        "creases": [["o", f"r{i + 1}", kinds[x]] for i, x in enumerate(word)],
    }
    document = verify.read(keys)
    fan = verify.count(document)
    straight = verify.count(strip(parts, word))
    assert (fan.folding, fan.orders) == (straight.folding, straight.orders)
    assert fan.at_vertices == fan.folding
    s = subdivide(draw(document))
    (report,) = (r for r in vertex_reports(s) if s.name(r.vertex) == "o")
    words = strip_words([Fraction(part) for part in parts])
    assert report.assignments == len(words)
    assert report.completions == sum(all(x in (y, "E") for x, y in zip(word, w, strict=True)) for w in words)


def test_angles_are_reported_in_degrees() -> None:
    report = middle(star([2, 1, 4, 5, 6, 6, 6, 6], 18))
    shown = [float(a.degrees()) for a in report.angles]
    assert shown == pytest.approx([20, 10, 40, 50, 60, 60, 60, 60])
    assert sum(shown) == pytest.approx(360)
    assert pi * shown[0] / 180 == pytest.approx(pi / 9)
