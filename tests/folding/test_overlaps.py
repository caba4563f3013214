"""Overlaps of folded faces and edges against the areas and lengths that shapely finds in floats."""

from __future__ import annotations

import itertools
from fractions import Fraction
from pathlib import Path
from unittest.mock import patch

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

import verify
from tests.families import miura
from tests.places import PROOFS
from tests.profiles import examples, some
from verify.exact.plane import advance
from verify.folding.foldmap import fold_map
from verify.folding.overlaps import Overlaps
from verify.pattern.arrangement import subdivide
from verify.pattern.drawing import draw
from verify.pattern.families import stamps, strip
from verify.pattern.recipe import load_any

CERTIFIED = sorted((PROOFS / "certified").glob("*.*"))


def compare(document: verify.Document) -> tuple[int, int]:
    """Numbers of pairs of faces compared, and of those that overlap."""
    s = subdivide(draw(document))
    overlaps = Overlaps(fold_map(s))
    with patch("verify.folding.overlaps._TABLE", 0):  # nothing is asked of a table
        alone = Overlaps(fold_map(s))
        assert np.array_equal(alone.through, overlaps.through)
        assert np.array_equal(alone.pairs.classes, overlaps.pairs.classes)
    places = [(float(p.x), float(p.y)) for p in overlaps.fold_map.images]
    images = [shapely.Polygon([places[v] for v in loop]) for loop in s.faces]
    small = min(image.area for image in images)
    overlapping = {(f, g) for f in range(len(images)) for g in overlaps.pairs.over(f).tolist()}
    compared = found = 0
    for f, one in enumerate(images):
        for g in range(f):
            area = one.intersection(images[g]).area
            if 1e-12 * small < area < 1e-6 * small:
                continue  # too near to tell in floats
            assert ((f, g) in overlapping) == ((g, f) in overlapping) == (area >= 1e-6 * small), (f, g)
            compared += 1
            found += (f, g) in overlapping
    through = set(zip(*(some.tolist() for some in overlaps.through), strict=True))
    for e in overlaps.inner.tolist():
        edge = s.edges[e]
        line = shapely.LineString([places[v] for v in edge.ends])
        for f, image in enumerate(images):
            inside = image.buffer(-1e-7 * small**0.5)
            if line.intersection(inside).length > 1e-5 * small**0.5:
                assert (e, f) in through
            elif not line.intersects(inside):
                assert (e, f) not in through
    shared = set(zip(*(some.tolist() for some in overlaps.sharing), strict=True))
    inner = [e for e, edge in enumerate(s.edges) if edge.kind != "border"]
    for i, e in enumerate(inner):
        for g in inner[i + 1 :]:
            one, other = (shapely.LineString([places[v] for v in s.edges[k].ends]) for k in (e, g))
            thin = one.buffer(1e-9 * small**0.5).intersection(other).length
            if (e, g) in shared:
                assert thin > 1e-6 * small**0.5
            elif thin > 1e-3 * min(one.length, other.length):
                assert overlaps.edge_line[e] != overlaps.edge_line[g]  # nearly, but not exactly, on one line
    return compared, found


@pytest.mark.parametrize("path", some(CERTIFIED, of=2), ids=lambda path: path.stem)
def test_the_corpus(path: Path) -> None:
    compared, found = compare(load_any(path))
    assert compared > 0
    assert found > 0 or path.stem == "cord-slots"


@examples(25)
@given(st.integers(1, 4), st.integers(1, 4), st.fractions(min_value="1/9", max_value=9, max_denominator=9))
def test_parallelograms(columns: int, rows: int, slant: object) -> None:
    compare(miura(columns, rows, slant=slant))  # type: ignore[arg-type]


@examples(25)
@given(st.lists(st.integers(1, 5), min_size=2, max_size=8))
def test_strips(lengths: list[int]) -> None:
    compared, _ = compare(strip(lengths))
    assert compared == len(lengths) * (len(lengths) - 1) // 2


def test_a_map_lies_in_one_pile() -> None:
    assert compare(stamps(3, 2)) == (15, 15)


@examples(25)
@given(st.lists(st.sampled_from([1, 2, 1 + Fraction(1, 10**30), 2 - Fraction(1, 10**300)]), min_size=2, max_size=8))
def test_ranks_along_a_line_are_exact(lengths: list[Fraction]) -> None:
    """Folded places a hair apart have different ranks, in their order along the line; equal ones the same."""
    overlaps = Overlaps(fold_map(subdivide(draw(strip(lengths)))))
    for line in set(overlaps.edge_line.tolist()):
        edges = np.flatnonzero(overlaps.edge_line == line)
        a, b = (overlaps.spots[k] for k in overlaps.line_spots[line])
        seen = set()
        for e in edges:
            ends = sorted(advance(a, b, overlaps.spots[k]) for k in overlaps.edge_spots[e])
            seen |= set(zip(overlaps.spans[e].tolist(), ends, strict=True))
        ranks, places = zip(*sorted(seen), strict=True)
        assert ranks == tuple(range(len(ranks)))
        assert all(one < two for one, two in itertools.pairwise(places))
