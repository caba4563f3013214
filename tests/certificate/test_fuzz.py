"""Random foldings with random targets and snips: the kernel accepts whatever the tool says, and the tool always says
something.
"""

from __future__ import annotations

from collections import Counter
from typing import Any

from hypothesis import example, given
from hypothesis import strategies as st

import verify
from tests.profiles import examples, share
from verify.pattern.document import Document
from verify.pattern.recipe import read_any

POINT = st.tuples(st.integers(-3, 3), st.integers(-3, 3))
SEGMENT = st.tuples(POINT, POINT).filter(lambda s: s[0] != s[1])
RAYS = {
    "in half": ["n", "s"],
    "in quarters": ["n", "s", "e", "w"],
    "along the diagonals": ["ne", "nw", "sw", "se"],
    "in eighths": ["e", "ne", "n", "nw", "w", "sw", "s", "se"],
    "unfolded": [],
}
END = {"n": (0, 3), "s": (0, -3), "e": (3, 0), "w": (-3, 0), "ne": (3, 3), "nw": (-3, 3), "sw": (-3, -3), "se": (3, -3)}


def document(rays: list[str], kinds: list[str], paths: list[Any], loops: list[Any], snips: int) -> Document:
    names = {(x, y): f"p{x + 3}{y + 3}" for x in range(-3, 4) for y in range(-3, 4)}
    keys: dict[str, Any] = {
        "format": "creaseproof-pattern/1",
        "points": {n: list(p) for p, n in names.items()},
        "sheet": {"outline": [names[p] for p in ((-3, -3), (3, -3), (3, 3), (-3, 3))]},
        "creases": [[names[0, 0], names[END[r]], kind] for r, kind in zip(rays, kinds, strict=True)],
        "target": {
            "paths": [[names[p] for p in path] for path in paths],
            "loops": [[names[p] for p in loop] for loop in loops],
        },
        "cut": {"snips": snips},
    }
    return read_any(keys)


@st.composite
def foldings(draw: st.DrawFn) -> Document:
    rays = RAYS[draw(st.sampled_from(sorted(RAYS)))]
    kinds = (
        ["either"] * len(rays)
        if draw(st.booleans())
        else draw(st.lists(st.sampled_from(["mountain", "valley", "either"]), min_size=len(rays), max_size=len(rays)))
    )
    paths = [list(s) for s in draw(st.lists(SEGMENT, max_size=4))]
    size = draw(st.integers(1, 3))
    loops = [[(-size, -size), (size, -size), (size, size), (-size, size)]] if draw(st.booleans()) or not paths else []
    return document(rays, kinds, paths, loops, draw(st.integers(1, 6)))


def test_any_folding_with_any_target() -> None:
    seen: Counter[str] = Counter()

    @examples(300)
    @example(document(["n", "s"], ["valley", "valley"], [[(1, 1), (2, 1)]], [], 2))
    @example(document(["n", "s"], ["valley", "valley"], [[(1, 1), (2, 1)], [(-1, 1), (-2, 1)]], [], 1))
    @given(foldings())
    def one(drawn: Document) -> None:
        result = verify.certify(drawn)
        assert result.verdict in ("certified", "refuted")
        assert bool(result.failures) == (result.verdict == "refuted")
        assert result.certificate is not None
        assert verify.audit(drawn, result.certificate).proves == result.verdict
        seen[result.certificate["refutation"]["kind"] if result.verdict == "refuted" else "certified"] += 1
        if result.cutting is not None and result.order is not None:
            assert (result.verdict == "certified") == result.cutting.exact

    one()
    assert sum(seen.values()) >= share(300)
    assert set(seen) == {"certified", "maekawa", "apart", "stray"}, seen  # equal angles: an order is never missing
