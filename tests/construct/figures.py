"""Figures to cut, on rectangular sheets with paper round them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import chain
from typing import Any

from hypothesis import strategies as st

import verify
from verify.construct.recipes.deepening import Deepening, least_folds
from verify.construct.recipes.stack import Folds
from verify.pattern.document import Document

Place = tuple[int | str | Fraction, int | str | Fraction]


def figure(*loops: Sequence[Place], margin: int = 20) -> Document:
    """Loops on a rectangular sheet with so much paper round them."""
    places = [p for loop in loops for p in loop]
    xs, ys = ([Fraction(p[i]) for p in places] for i in (0, 1))
    left, right, low, high = min(xs) - margin, max(xs) + margin, min(ys) - margin, max(ys) + margin
    points = {"sw": (left, low), "se": (right, low), "ne": (right, high), "nw": (left, high)}
    names = []
    for k, loop in enumerate(loops):
        names.append([f"p{k}{i}" for i in range(len(loop))])
        points |= dict(zip(names[-1], loop, strict=True))
    document = verify.read({
        "format": "creaseproof-pattern/1",
        "points": {name: [str(x), str(y)] for name, (x, y) in points.items()},
        "sheet": {"outline": ["sw", "se", "ne", "nw"]},
        "target": {"loops": names},
    })  # fmt: skip
    assert isinstance(document, Document)
    return document


def solutions(search: Deepening[Any], most: int) -> Iterator[Folds]:
    """The recipes of up to so many folds, the shortest first."""
    return chain.from_iterable(map(search.of_length, range(least_folds(len(search.start.ink)), most + 1)))


def tangent(t: Fraction) -> tuple[Fraction, Fraction]:
    return (1 - t * t) / (1 + t * t), 2 * t / (1 + t * t)


@st.composite
def symmetric_convex(draw: st.DrawFn) -> Document:
    """A convex polygon that is its own mirror image in x = 0, with rational unit normals and no needle-like corner."""
    outward = draw(
        st.lists(st.sampled_from([Fraction(1, 3), Fraction(1, 2), Fraction(2, 3)]), min_size=1, max_size=2, unique=True)
    )
    inward = draw(st.sampled_from([Fraction(3, 2), Fraction(2), Fraction(3)]))
    x, y = Fraction(draw(st.sampled_from([0, 12, 20]))), Fraction(0)
    chain = [(x, y)]
    for t in sorted(outward):
        c, s = tangent(t)
        length = draw(st.integers(10, 30))
        x, y = x + c * length, y + s * length
        chain.append((x, y))
    c, s = tangent(inward)
    length = x / -c
    chain.append((Fraction(0), y + s * length))
    chain = [chain[0], *(p for p in chain[1:])]
    return figure([*chain, *((-x, y) for x, y in reversed(chain) if x)])
