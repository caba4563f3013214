"""Insertion and the sweep, against every permutation and every assignment tried one by one."""

from __future__ import annotations

from itertools import combinations, permutations, product

from hypothesis import given
from hypothesis import strategies as st

from tests.profiles import examples
from verify.folding.count import count
from verify.folding.insertion import Arrival, Parity, Pile, assignments_of_pile, count_stacks
from verify.folding.sweep import sweep_over
from verify.pattern.families import strip

FACES = 5


@st.composite
def piles(draw: st.DrawFn) -> Pile:
    """Five faces with a few rules each, of both kinds."""
    arrivals = [Arrival((), ())]
    for face in range(1, FACES):
        earlier = list(range(face))
        rows = [(p, a, b) for p in earlier for a, b in combinations(earlier, 2) if p not in (a, b)]
        beside = draw(st.sets(st.sampled_from(rows), max_size=2)) if rows else set()
        known = st.lists(st.sampled_from(list(permutations(earlier, 2))), max_size=1) if face > 1 else st.just([])
        new = st.lists(st.sampled_from(earlier), min_size=1, max_size=2, unique=True)
        rule = st.builds(lambda n, k, odd: Parity(tuple(n), tuple(k), odd), new, known, st.booleans())
        arrivals.append(Arrival(tuple(beside), tuple(draw(st.lists(rule, max_size=1)))))
    folds = draw(st.lists(st.sampled_from(list(combinations(range(FACES), 2))), max_size=4, unique=True))
    return Pile(tuple(arrivals), tuple(folds), turns=False)


def fits(pile: Pile, height: tuple[int, ...]) -> bool:
    """Whether faces at these heights meet every rule, read as the rule is worded."""
    for face, arrival in enumerate(pile.arrivals):
        for partner, a, b in arrival.beside:
            low, high = sorted((height[a], height[b]))
            if (low < height[face] < high) != (low < height[partner] < high):
                return False
        for rule in arrival.rules:
            holding = sum(height[face] > height[p] for p in rule.new) + sum(
                height[a] > height[b] for a, b in rule.known
            )
            if holding % 2 != rule.odd:
                return False
    return True


@given(pile=piles())
@examples(200)
def test_insertion_counts_the_permutations_that_fit(pile: Pile) -> None:
    heights = [height for height in permutations(range(FACES)) if fits(pile, height)]
    assert count_stacks(pile, 1000) == len(heights)
    ways = {tuple(height[a] > height[b] for a, b in pile.folds) for height in heights}
    assert assignments_of_pile(pile, 1000) == len(ways)


def test_more_than_the_most_is_not_counted() -> None:
    free = Pile((Arrival((), ()),) * 4, (), turns=True)
    assert count_stacks(free, 24) == 24
    assert count_stacks(free, 23) is None


@given(
    clauses=st.lists(
        st.sets(st.integers(1, 7).flatmap(lambda v: st.sampled_from([v, -v])), min_size=1, max_size=3), max_size=12
    ),
    seen=st.sets(st.integers(1, 7)),
)
@examples(200)
def test_the_sweep_counts_the_assignments_that_satisfy(clauses: list[set[int]], seen: set[int]) -> None:
    clauses = [clause for clause in clauses if not any(-x in clause for x in clause)]
    solutions = [
        {v if value else -v for v, value in enumerate(values, 1)} for values in product([False, True], repeat=7)
    ]
    solutions = [s for s in solutions if all(not s.isdisjoint(clause) for clause in clauses)]
    variables = range(1, 8)
    assert sweep_over(clauses, variables).count() == len(solutions)
    projected = {frozenset(x for x in s if abs(x) in seen) for s in solutions}
    assert sweep_over(clauses, variables).count(seen) == len(projected)


def test_numbers_beyond_a_machine_word() -> None:
    # 200 variables in a chain, each implied by the one before it, and 100 free ones: 201 · 2^100
    chain = [[-v, v + 1] for v in range(1, 200)]
    assert sweep_over(chain, range(1, 301)).count() == 201 * 2**100


def test_a_strip_of_thousands_of_panels() -> None:
    """Panels 3 and 1 long in turn. A long panel runs across the fold between its next but one and the short one between
    them, so it lies over both or under both: the three lie in one order or the reverse, whatever the others do. Of a
    short panel at the end it is the same with two. So each short panel has two ways, and the folds show them.
    """
    for panels in (2, 5, 6, 2_000, 2_001):
        counted = count(strip([(3, 1)[i % 2] for i in range(panels)]))
        assert counted.orders == counted.folding == 2 ** (panels // 2)
