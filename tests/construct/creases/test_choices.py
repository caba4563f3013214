"""Choices of perpendiculars and what is learned from contradictions, against all subsets one by one."""

from __future__ import annotations

import random
from fractions import Fraction
from itertools import chain, combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.construct.creases.test_creases import random_figure, target
from tests.profiles import examples
from verify.construct.coordinates.regular import rational
from verify.construct.creases import propose
from verify.construct.creases.choices import Choices, Refusal
from verify.construct.creases.creases import Construction, Creases, Exhausted
from verify.construct.creases.propose import Failure, Proposal, document_of
from verify.construct.creases.refusals import refusals
from verify.construct.letterforms.plain import letter_document
from verify.construct.skeleton.figure import figure_of
from verify.folding.crossing import crossing_conditions
from verify.folding.foldmap import fold_map
from verify.folding.order import LayerOrder, NoOrder, find_order
from verify.folding.overlaps import Overlaps
from verify.pattern.arrangement import subdivide
from verify.pattern.drawing import draw
from verify.pattern.limits import LimitReached, Limits
from verify.tasks.construct import construct


@examples(60)
@given(st.integers(0, 10**6))
def test_the_lightest_choice_against_all_subsets(seed: int) -> None:
    rng = random.Random(seed)
    nodes = range(5)
    ends = {i: (rng.choice(nodes), rng.choice([*nodes, None])) for i in range(9)}
    odd = set(rng.sample(nodes, rng.randint(0, 5)))
    refused = [
        Refusal(frozenset(rng.sample(range(9), rng.randint(1, 2))), frozenset(rng.sample(range(9), 1))) for _ in "123"
    ]
    weights = [rng.choice([-2, -1, 1, 2, 3]) for _ in range(9)]
    choices = Choices(ends, odd)
    for refusal in refused:
        choices.refuse(refusal)
    possible: dict[frozenset[int], int] = {}
    for subset in map(frozenset, chain.from_iterable(combinations(range(9), n) for n in range(10))):
        count = [sum((a == node) != (b == node) for i in subset for a, b in [ends[i]]) for node in nodes]
        is_even = all((n % 2 == 1) == (node in odd) for node, n in zip(nodes, count, strict=True))
        if is_even and not any(r.taken <= subset and not r.left & subset for r in refused):
            possible[subset] = sum(weights[i] for i in subset)
    lightest = {subset for subset, weight in possible.items() if weight == min(possible.values())}
    found = [*choices.in_turn(weights, lambda: None)]
    assert len(found) == len(possible)
    assert {*found} == {*possible}
    assert [possible[subset] for subset in found] == sorted(possible.values())
    assert choices.lightest(weights) in (lightest or {None})
    some = [frozenset(rng.sample(range(9), 4)) for _ in "12"]
    of = rng.sample(range(9), 3)
    alike = {subset: weight for subset, weight in possible.items() if any(not (subset ^ one) & {*of} for one in some)}
    found_alike = choices.lightest(weights, None, choices.like(some, of))
    assert (found_alike is None) == (not alike)
    assert found_alike is None or alike[found_alike] == min(alike.values())


@pytest.mark.parametrize("letter", "QV")
def test_of_as_few_folds_the_fewest_layers_are_taken(letter: str) -> None:
    """Among all sets with fewest folds, found one by one by refusing each when it came. Both letters have sets that
    need more layers.
    """
    document = letter_document(letter)
    construction = Construction(figure_of(document))
    found: list[Proposal] = []
    while True:
        creases = construction.creases(construction.fewest(), "")
        one = propose._folded(creases, Limits(), None)
        assert isinstance(one, Proposal)
        if found and one.folds > found[0].folds:
            break
        found.append(one)
        construction.refuse_set(creases)
    layers = [one.layers for one in found]
    assert min(layers) < max(layers)
    proposal = construct(document, exact=True).proposal
    assert proposal is not None
    assert (proposal.folds, proposal.layers) == (found[0].folds, min(layers))


def _order(creases: Creases) -> LayerOrder | NoOrder:
    return find_order(crossing_conditions(Overlaps(fold_map(subdivide(draw(document_of(creases)))))))


@pytest.mark.parametrize("seed", [7, *(pytest.param(k, marks=pytest.mark.long) for k in (11, 14, 18, 22, 26))])
def test_what_is_refused_has_no_layer_order(seed: int) -> None:
    """All sets of perpendiculars of small figures one by one: where one with a contradiction refuses others with it,
    the search for a layer order finds none in these either.
    """
    document = rational(random_figure(seed), Fraction(1, 10)).document
    construction = Construction(figure_of(document))
    rng = random.Random(seed)
    number = len(construction.perpendiculars)
    lightest = (construction.choices.lightest([rng.randint(-5, 5) for _ in range(number)]) for _ in range(40))
    sets = {tuple(sorted(chosen)) for chosen in lightest if chosen is not None}
    known = {chosen: construction.creases(chosen, "") for chosen in sorted(sets)}
    orders = {chosen: _order(creases) for chosen, creases in known.items()}
    learned = [
        refusal
        for chosen, found in orders.items()
        if isinstance(found, NoOrder)
        for refusal in refusals(known[chosen], found)
    ]
    assert learned
    for refusal in learned:
        for chosen, found in orders.items():
            if refusal.taken <= {*chosen} and not refusal.left & {*chosen}:
                assert isinstance(found, NoOrder), (refusal, chosen)


def test_when_no_set_is_left_that_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    """If every set were refused: each set that is even at all nodes came once, as counted among all subsets."""
    document = target([(0, 0), (4, 0), (0, 3)])
    construction = Construction(figure_of(document))
    ends = [*construction.ends.values()]
    assert len(ends) == len(construction.perpendiculars)
    even = 0
    for subset in chain.from_iterable(combinations(ends, n) for n in range(len(ends) + 1)):
        odd = {*construction.odd}
        for a, b in subset:
            odd ^= {a} ^ {b}
        even += not odd - {None}
    monkeypatch.setattr(propose, "_folded", lambda creases, *_: Failure(creases.how, "refused"))
    came: list[object] = []
    with pytest.raises(Exhausted, match="none of the sets of perpendiculars of this skeleton folds"):
        came.extend(propose.proposals(document))
    assert len(came) == even > 1


def test_a_set_that_was_not_decided_is_not_said_to_be_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    def undecided(*_: object) -> Failure:
        raise LimitReached("faces", "1", "a test")

    monkeypatch.setattr(propose, "_folded", undecided)
    came: list[object] = []
    with pytest.raises(Exhausted, match="no set of perpendiculars is known to fold") as end:
        came.extend(propose.proposals(target([(0, 0), (4, 0), (0, 3)])))
    assert f"({len(came)} reached a limit, no other does)" in str(end.value)
