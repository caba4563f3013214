"""Two independent methods agree: brute force over layers (and theories without layers) against the solver
and the kernel.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from fractions import Fraction
from itertools import permutations, product
from math import gcd
from random import Random
from typing import Any

import pytest

import verify
from tests.families import vertex as vertex_document
from tests.profiles import share

from . import patterns
from .paper import Layers, Pair, Paper, place, words_at_vertices
from .theory import Turn, hull, strip_words

# Counts with one face fixed. Strips OEIS A000136 (Koehler 1968, Lunnon 1968); maps A001415, A001416, A001418 (Lunnon
# 1971) [published];
# of the 3×3 map 252 of 256 assignments fold [recomputed by brute force]
MAPS = {(1, 1): 1, (2, 1): 2, (3, 1): 6, (4, 1): 16, (5, 1): 50, (6, 1): 144, (2, 2): 8, (3, 2): 60, (3, 3): 1368}


def verdict(paper: Paper, word: str) -> str:
    return verify.certify(verify.read(paper.document(word))).verdict


def faces_of(result: verify.Result, paper: Paper) -> dict[int, int]:
    """For each face of the tool the face of the brute force, matched by corners."""
    s = result.subdivision
    assert s is not None
    mine = {frozenset(corners): f for f, corners in enumerate(paper.faces)}
    corners = [
        frozenset((s.vertices[v].x.as_fraction(), s.vertices[v].y.as_fraction()) for v in face) for face in s.faces
    ]
    assert set(corners) == set(mine)
    return {f: mine[places] for f, places in enumerate(corners)}


class Kernel:
    """The kernel's word on any relation, by way of a certificate that carries it."""

    def __init__(self, paper: Paper, layers: Layers, certified: verify.Result) -> None:
        assert certified.certificate is not None
        self.layers, self.document, self.certificate = layers, certified.document, certified.certificate
        self.face = faces_of(certified, paper)

    def accepts(self, relation: dict[Pair, bool], stack: list[int]) -> bool:
        """`stack` is any sequence of all faces, bottom to top; pairs that the relation has the other way are
        exceptions.
        """
        rank = {f: i for i, f in enumerate(stack)}
        exceptions = []
        for a, b in product(self.face, repeat=2):
            x, y = self.face[a], self.face[b]
            pair = (min(x, y), max(x, y))
            if rank[a] < rank[b] and pair in relation and relation[pair] == (x < y):
                exceptions.append([a, b])
        order = {"stack": stack, "except": sorted(exceptions)}
        outcome = verify.audit(self.document, self.certificate | {"order": order})
        if not outcome.accepted:
            # for the right reason: the order, and not how it is written down
            assert outcome.code in ("order.crossing", "order.transitivity", "order.direction"), outcome
        return outcome.accepted


def stacked(relation_of: dict[int, int], stack: list[int], pairs: list[Pair]) -> dict[Pair, bool]:
    rank = {relation_of[f]: i for i, f in enumerate(stack)}
    return {(x, y): rank[x] > rank[y] for x, y in pairs}


def compare(paper: Paper, random: Random, *, audits: int = 6, words: int = 2) -> str:
    """Solver, kernel and brute force on one pattern; returns what it was, for counting."""
    document = verify.read(paper.document())
    counted = verify.count(document)
    layers = paper.layers()
    if layers is None:
        assert (counted.folding, counted.orders) == (0, 0), paper.document()
        assert verify.certify(document).verdict == "refuted"
        return "does not close"
    orders = list(layers.orders())
    by_word = Counter(layers.word(order) for order in orders)
    assert (counted.folding, counted.orders) == (len(by_word), len(orders)), paper.document()
    result = verify.certify(document)
    assert result.verdict == ("certified" if orders else "refuted"), paper.document()
    local = sorted(words_at_vertices(paper))
    assert counted.at_vertices == len(local), paper.document()
    everywhere = sorted(by_word)
    chosen = ["".join(random.choice("MV") for _ in paper.folds)]
    chosen += random.sample(local, min(words, len(local))) + random.sample(everywhere, min(words, len(everywhere)))
    stuck = sorted(set(local) - set(everywhere))
    chosen += random.sample(stuck, min(words, len(stuck)))
    for word in chosen:
        marked = verify.read(paper.document(word))
        assert verify.certify(marked).verdict == ("certified" if word in by_word else "refuted"), paper.document(word)
        assert verify.count(marked).orders == by_word[word], paper.document(word)
    if orders:
        kernel = Kernel(paper, layers, result)
        for _ in range(audits):
            stack = random.sample(sorted(kernel.face), len(kernel.face))
            relation = stacked(kernel.face, stack, layers.pairs)
            assert kernel.accepts(relation, stack) == layers.valid(relation), (paper.document(), relation)
            good = dict(random.choice(orders))
            assert kernel.accepts(good, stack), (paper.document(), good)
            if layers.pairs:
                flipped = random.choice(layers.pairs)
                good[flipped] = not good[flipped]
                assert kernel.accepts(good, stack) == layers.valid(good), (paper.document(), good)
    if not orders:
        return "fine at every vertex, does not fold" if local else "no assignment is fine at every vertex"
    return "folds, some fine assignments do not" if stuck else "folds"


@pytest.mark.parametrize(("columns", "rows"), list(MAPS))
def test_maps_against_published_counts_and_the_solver(columns: int, rows: int) -> None:
    paper = patterns.stamps(columns, rows)
    layers = paper.layers()
    assert layers is not None
    orders = list(layers.orders())
    assert len(orders) == MAPS[columns, rows]
    assert len({layers.word(x) for x in orders}) == {9: 252}.get(columns * rows, len(words_at_vertices(paper)))
    if min(columns, rows) > 1:
        assert len(words_at_vertices(paper)) == 2 ** (columns * rows - 1)
    assert compare(paper, Random(columns * 10 + rows)) == (
        "folds, some fine assignments do not" if columns == rows == 3 else "folds"
    )


@pytest.mark.parametrize(
    ("columns", "rows"), [(2, 1), (3, 1), (4, 1), (2, 2), pytest.param(3, 2, marks=pytest.mark.long)]
)
def test_every_assignment_of_small_maps(columns: int, rows: int) -> None:
    every_assignment(patterns.stamps(columns, rows))


def every_assignment(paper: Paper) -> None:
    layers = paper.layers()
    assert layers is not None
    by_word = Counter(layers.word(order) for order in layers.orders())
    for letters in product("MV", repeat=len(paper.folds)):
        word = "".join(letters)
        assert verdict(paper, word) == ("certified" if word in by_word else "refuted"), word
        assert verify.count(verify.read(paper.document(word))).orders == by_word[word]


def test_every_assignment_of_the_3_by_3_map_that_is_fine_at_its_vertices() -> None:
    paper = patterns.stamps(3, 3)
    layers = paper.layers()
    assert layers is not None
    folding = {layers.word(order) for order in layers.orders()}
    fine = words_at_vertices(paper)
    stuck = sorted(fine - folding)
    assert len(stuck) == 4
    for word in stuck + Random(3).sample(sorted(folding), share(40)):
        assert verdict(paper, word) == ("certified" if word in folding else "refuted")
    others = ("".join(Random(i).choices("MV", k=12)) for i in range(share(60)))
    for word in others:
        assert verdict(paper, word) == ("certified" if word in folding else "refuted")


def test_pairs_tried_one_after_the_other_are_all_relations() -> None:
    """The enumeration itself against trying every relation there is."""
    random = Random(11)
    tried = 0
    for paper in [patterns.strip(lengths(random)) for _ in range(8)] + list(generated(random, 4)):
        layers = paper.layers()
        if layers is None or len(layers.pairs) > 10:
            continue
        every = [
            dict(zip(layers.pairs, values, strict=True)) for values in product((False, True), repeat=len(layers.pairs))
        ]
        assert [r for r in every if layers.valid(r)] == list(layers.orders())
        tried += 1
    assert tried >= 4


def test_the_kernel_on_every_permutation() -> None:
    for paper in (
        patterns.stamps(2, 2),
        patterns.strip([Fraction(3), Fraction(1), Fraction(2), Fraction(1), Fraction(4)]),
    ):
        layers = paper.layers()
        assert layers is not None
        kernel = Kernel(paper, layers, verify.certify(verify.read(paper.document())))
        accepted = 0
        for stack in permutations(kernel.face):
            relation = stacked(kernel.face, list(stack), layers.pairs)
            assert kernel.accepts(relation, list(stack)) == layers.valid(relation)
            accepted += layers.valid(relation)
        assert accepted


def generated(random: Random, number: int) -> Iterator[Paper]:
    """Vertices, and two and three of them, as they come."""
    made = 0
    while made < number:
        kind = made % 4
        paper: Paper | None
        if kind == 0:
            found = patterns.star(random, random.choice([4, 6, 6, 8]), random.choice([patterns.SIMPLE, patterns.WAYS]))
            paper = found[0] if found else None
        else:
            paper = patterns.joined(
                random, 2 if kind == 1 else 3, random.choice([patterns.SIMPLE, patterns.SIMPLE, patterns.WAYS])
            )
        if paper is not None:
            made += 1
            yield paper


def agree(seed: int, number: int, *, audits: int = 6, words: int = 2) -> Counter[str]:
    random = Random(seed)
    return Counter(compare(paper, random, audits=audits, words=words) for paper in generated(random, number))


def test_random_patterns() -> None:
    seen = agree(1, share(35), audits=3, words=1)
    assert seen["folds"] >= 2
    assert seen["folds, some fine assignments do not"] >= 2  # else nothing was tried that only the layers can tell


def lengths(random: Random) -> list[Fraction]:
    most = random.choice([2, 3, 5, 9])
    bottom = random.choice([1, 1, 2, 7])
    return [Fraction(random.randint(1, most), random.randint(1, bottom)) for _ in range(random.randint(2, 7))]


def strips(seed: int, number: int) -> tuple[int, int]:
    random = Random(seed)
    folding = stuck = 0
    for i in range(number):
        parts = lengths(random)
        paper = patterns.strip(parts)
        words = strip_words(parts)
        counted = verify.count(verify.read(paper.document()))
        assert (counted.folding, counted.at_vertices) == (len(words), 2 ** (len(parts) - 1)), parts
        word = "".join(random.choices("MV", k=len(parts) - 1))
        for tried in (word, random.choice(sorted(words))):
            # the document's creases are in the order of the strip only by luck: the word goes along the strip
            assert verdict(paper, along(paper, tried)) == ("certified" if tried in words else "refuted"), (parts, tried)
        folding += word in words
        stuck += word not in words
        if i % 4 == 0:
            layers = paper.layers()
            assert layers is not None
            orders = list(layers.orders())
            assert {along(paper, w) for w in words} == {layers.word(x) for x in orders}
            assert counted.orders == len(orders)
    return folding, stuck


def along(paper: Paper, word: str) -> str:
    """A word from left to right, as a word in the order of the paper's folds."""
    rank = sorted(range(len(paper.folds)), key=lambda i: paper.folds[i].ends)
    return "".join(word[rank.index(i)] for i in range(len(rank)))


def test_strips_against_the_theory_of_one_dimension() -> None:
    # independent methods: theory.strip_folds knows no layers, paper.layers no theory; both agree with the solver
    folding, stuck = strips(1, share(100))
    assert min(folding, stuck) >= 5


def vertices(seed: int, number: int) -> Counter[int]:
    random = Random(seed)
    seen: Counter[int] = Counter()
    while seen.total() < number:
        degree = random.choice([4, 4, 6, 6, 8, 10])
        found = patterns.star(random, degree, random.choice([patterns.SIMPLE, patterns.WAYS]))
        if found is None:
            continue
        paper, ways = found
        turns = [Turn(*patterns.times((a[0], -a[1]), b)) for a, b in zip(ways, [*ways[1:], ways[0]], strict=True)]
        expected = hull(turns)
        counted = verify.count(verify.read(paper.document()))
        assert counted.folding == counted.at_vertices == expected, paper.document()
        # 2^n ≤ C ≤ 2·C(2n, n − 1), and C even: Hull 2003 [published]
        assert expected >= 2 ** (degree // 2)
        assert expected % 2 == 0
        if degree <= 6:
            layers = paper.layers()
            assert layers is not None
            orders = list(layers.orders())
            assert counted.orders == len(orders)
            assert len({layers.word(x) for x in orders}) == expected
        seen[expected] += 1
    return seen


def test_rational_vertices_against_hulls_recursion() -> None:
    # two independent methods: theory.hull knows no layers, paper.layers no theory, and both agree with the solver
    seen = vertices(1, share(80))
    assert {4, 6} <= set(seen)
    assert len(seen) >= 5


def test_vertices_with_angles_that_are_parts_of_180_degrees() -> None:
    random = Random(5)
    for _ in range(share(30)):
        half, k = random.choice([(2, 5), (3, 6), (3, 8), (4, 9), (5, 9)])
        sums = []
        for _ in range(2):
            stops = sorted(random.sample(range(1, k), half - 1))
            sums.append([b - a for a, b in zip([0, *stops], [*stops, k], strict=True)])
        parts = [x for pair in zip(*sums, strict=True) for x in pair]
        scale = gcd(*parts)
        ends = [sum(parts[:i]) for i in range(len(parts))]
        document = vertex_document([(f"cos({j}*pi/{k})", f"sin({j}*pi/{k})") for j in ends])
        assert verify.count(document).folding == hull([x // scale for x in parts])


def test_what_the_theories_say_of_published_cases() -> None:
    # equal angles: 2, 8, 30, 112, 420 (Hull 2002/2003); 20°, 10°, 40°, 50°, 60° four times: 48 [recomputed by brute
    # force]
    assert [hull([1] * n) for n in (2, 4, 6, 8, 10)] == [2, 8, 30, 112, 420]
    assert hull([20, 10, 40, 50, 60, 60, 60, 60]) == 48
    assert strip_words([Fraction(3), Fraction(1), Fraction(3)]) == {"MV", "VM"}
    assert len(strip_words([Fraction(1)] * 6)) == 32


def test_a_triangle_whose_corners_ask_for_alternate_folds() -> None:
    """Kawasaki–Justin holds at each corner of the triangle, and none of the 512 assignments folds [derived, recomputed
    by brute force].
    """
    a, b, c = place(0, 0), place(4, 0), place(2, 3)
    ends = [
        place(0, -20),
        (Fraction(-20), Fraction(40, 3)),
        place(4, -20),
        (Fraction(20), Fraction(32, 3)),
        place(20, 15),
        (Fraction(-20), Fraction(53, 3)),
    ]
    folds = [
        (a, b),
        (b, c),
        (c, a),
        *((p, q) for p, two in zip((a, b, c), (ends[:2], ends[2:4], ends[4:]), strict=True) for q in two),
    ]
    paper = Paper([place(-20, -20), place(20, -20), place(20, 20), place(-20, 20)], folds)
    assert compare(paper, Random(1)) == "no assignment is fine at every vertex"


def test_layers_in_a_circle() -> None:
    """A square twist: four flaps, each over the next. No stack holds them, only a relation does; the kernel agrees on
    each.
    """
    corners = [place(0, 0), place(1, 0), place(1, 1), place(0, 1)]
    outline = [place(-4, -4), place(5, -4), place(5, 5), place(-4, 5)]
    folds = list(zip(corners, corners[1:] + corners[:1], strict=True))
    ways = [(-1, 2), (-2, -1)]
    for corner in corners:
        folds += [(corner, patterns.leaves(corner, way, outline)) for way in ways]
        ways = [(-y, x) for x, y in ways]
    paper = Paper(outline, folds)
    assert compare(paper, Random(1), audits=30, words=6).startswith("folds")
    layers = paper.layers()
    assert layers is not None
    kernel = Kernel(paper, layers, verify.certify(verify.read(paper.document())))
    circles = [r for r in layers.orders() if runs_in_a_circle(r)]
    assert len(circles) == 2
    for relation in circles:
        assert kernel.accepts(relation, sorted(kernel.face))


def runs_in_a_circle(relation: dict[Pair, bool]) -> bool:
    left = [(x, y) if up else (y, x) for (x, y), up in relation.items()]
    while left:
        under = {below for _, below in left}
        kept = [(x, y) for x, y in left if x in under]
        if len(kept) == len(left):
            return True
        left = kept
    return False


def test_a_paper_that_does_not_close_is_seen_by_all() -> None:
    o = place(0, 0)
    paper = Paper(
        [place(-2, -2), place(2, -2), place(2, 2), place(-2, 2)],
        [(o, place(2, 0)), (o, place(0, 2)), (o, place(-2, -1)), (o, place(2, -2))],
    )
    assert compare(paper, Random(1)) == "does not close"


def test_parts_of_it_do_not_use_the_tool(root: Any) -> None:
    for name in ("cuts", "paper", "patterns", "simple_folds", "theory"):
        text = (root / "tests" / "brute" / f"{name}.py").read_text(encoding="utf-8")
        assert "import verify" not in text
        assert "from verify" not in text
