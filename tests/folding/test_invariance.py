"""Moving, turning, mirroring or scaling the paper, and drawing lines the other way round, changes no verdict and no
count.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace
from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

import verify
from tests.families import miura
from tests.places import PROOFS
from tests.profiles import examples, some
from verify.pattern.document import Crease, Document, Kind
from verify.pattern.families import stamps, strip
from verify.pattern.limits import Limits
from verify.pattern.recipe import load_any

Move = Callable[[str, str], tuple[str, str]]

CORPUS = {
    p.stem: v
    for v in ("certified", "refuted")
    for p in sorted((PROOFS / v).iterdir())
    if p.suffix in (".toml", ".json")
}
MOVES: dict[str, Move] = {
    "mirrored": lambda x, y: (f"-({x})", y),
    "transposed": lambda x, y: (y, x),
    "quarter turn": lambda x, y: (f"-({y})", x),
    "turned by a rational angle": lambda x, y: (f"3/5*({x})-4/5*({y})", f"4/5*({x})+3/5*({y})"),
    "moved": lambda x, y: (f"{x}+1e6", f"{y}-1/7"),
    "larger": lambda x, y: (f"1000*({x})", f"1000*({y})"),
    "smaller and turned": lambda x, y: (f"1e-9*(5*({x})+12*({y}))", f"1e-9*(5*({y})-12*({x}))"),
}


def original(name: str) -> Document:
    (path,) = (p for p in (PROOFS / CORPUS[name]).iterdir() if p.stem == name)
    return load_any(path)


def moved(document: Document, move: Move) -> Document:
    return replace(document, points={n: move(x, y) for n, (x, y) in document.points.items()}, raw=None)


def redrawn(document: Document, shuffle: random.Random) -> Document:
    """Lines, loops and points in another order and direction."""

    def turned(loop: tuple[str, ...]) -> tuple[str, ...]:
        at = shuffle.randrange(len(loop))
        loop = loop[at:] + loop[:at]
        return loop[::-1] if shuffle.random() < 0.5 else loop

    creases = [Crease(c.end, c.start, c.kind) if shuffle.random() < 0.5 else c for c in document.creases]
    loops, paths = (
        [turned(x) for x in document.loops],
        [p[::-1] if shuffle.random() < 0.5 else p for p in document.paths],
    )
    holes = [turned(x) for x in document.holes]
    names = list(document.points)
    for items in (creases, loops, paths, holes, names):
        shuffle.shuffle(items)  # type: ignore[arg-type]
    return replace(
        document,
        points={n: document.points[n] for n in names},
        creases=tuple(creases),
        loops=tuple(loops),
        paths=tuple(paths),
        holes=tuple(holes),
        outline=turned(document.outline),
        raw=None,
    )


def swapped(document: Document) -> Document:
    other: dict[Kind, Kind] = {"mountain": "valley", "valley": "mountain", "either": "either", "flat": "flat"}
    return replace(document, creases=tuple(Crease(c.start, c.end, other[c.kind]) for c in document.creases), raw=None)


def facts(document: Document) -> tuple[object, ...]:
    result = verify.certify(document)
    checks = {f.check for f in result.failures}
    return (
        result.verdict,
        checks,
        result.cutting.most_layers if result.cutting else None,
        result.cutting.needed if result.cutting else None,
        [p.role for p in result.parts],
    )


@cache
def original_facts(name: str) -> tuple[object, ...]:
    return facts(original(name))


# each document by a fifth of the moves, by all with --long
MOVED = [
    pytest.param(name, move, marks=[pytest.mark.long] if (k + n) % 5 else [])
    for k, name in enumerate(CORPUS)
    for n, move in enumerate(MOVES)
]


@pytest.mark.parametrize(("name", "move"), MOVED)
def test_the_corpus_moved(name: str, move: str) -> None:
    document = original(name)
    other = moved(document, MOVES[move])
    assert other.statement_sha256 != document.statement_sha256
    assert facts(other) == original_facts(name)


@pytest.mark.parametrize("name", CORPUS)
def test_the_corpus_redrawn(name: str) -> None:
    document = original(name)
    for seed in some(range(2), of=2):
        assert facts(redrawn(document, random.Random(seed))) == original_facts(name)
    assert facts(swapped(document)) == original_facts(name)


COUNTED = [
    strip([3, 1, 2, 1], "MEV"),
    strip([1] * 6),
    stamps(3, 2),
    stamps(2, 2, {("p01", "p11"): "M"}),
    miura(3, 3, assigned=False),
]


@pytest.mark.parametrize("move", MOVES)
@pytest.mark.parametrize("document", COUNTED, ids=["strip", "stamps", "map", "marked map", "miura"])
def test_counts_moved(document: Document, move: str) -> None:
    assert verify.count(moved(document, MOVES[move])) == verify.count(document) == verify.count(swapped(document))


@examples(40)
@given(st.sampled_from(COUNTED), st.randoms(use_true_random=False))
def test_counts_redrawn(document: Document, shuffle: random.Random) -> None:
    assert verify.count(redrawn(document, shuffle)) == verify.count(document)


@examples(30)
@given(
    st.sampled_from(["sail-3-4-5", "kite", "map-3x3", "ring"]),
    st.integers(-50, 50),
    st.integers(1, 50),
    st.integers(-1000, 1000),
)
def test_any_rational_turn(name: str, p: int, q: int, shift: int) -> None:
    """Turned by twice the angle whose tangent is p/q, and moved."""
    document = original(name)
    c, s, n = q * q - p * p, 2 * p * q, p * p + q * q
    move: Move = lambda x, y: (  # noqa: E731
        f"({c}*({x})-{s}*({y}))/{n}+{shift}/7",
        f"({s}*({x})+{c}*({y}))/{n}-{shift}",
    )
    assert facts(moved(document, move)) == facts(document)


@pytest.mark.parametrize("name", ["sail-scalene", "star"])
def test_turned_by_an_irrational_angle(name: str) -> None:
    move: Move = lambda x, y: (f"cos(pi/4)*({x})-sin(pi/4)*({y})", f"sin(pi/4)*({x})+cos(pi/4)*({y})")  # noqa: E731
    assert facts(moved(original(name), move)) == facts(original(name))


def test_splitting_a_crease_changes_nothing() -> None:
    whole = stamps(3, 3)
    long_ = replace(
        whole,
        creases=tuple(
            Crease(a, b, "either") for a, b in (("p10", "p13"), ("p20", "p23"), ("p01", "p31"), ("p02", "p32"))
        ),
    )
    assert verify.count(long_) == verify.count(whole)
    assert verify.count(whole, Limits(orders=2000)).orders == 1368
