"""Time for one set of creases, by a clock that the tests set; what is proposed is certified as it was found."""

from __future__ import annotations

from dataclasses import replace
from itertools import islice

import pytest

from tests.construct.test_creases import target
from verify.construct import propose
from verify.construct.propose import Failure, Proposal, proposals
from verify.folding.order import Search
from verify.folding.pairs import Above
from verify.pattern.limits import LimitReached, Limits
from verify.tasks.certify import certify_folded

TRIANGLE = target([(0, 0), (4, 0), (0, 3)])


class Hand:
    """What a clock shows."""

    now = 1000.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def hand(monkeypatch: pytest.MonkeyPatch) -> Hand:
    made = Hand()
    monkeypatch.setattr("verify.pattern.limits.monotonic", made)
    return made


def test_one_set_has_a_third_of_the_time_and_the_next_a_third_of_the_rest(
    hand: Hand, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Sets that use up what they are given, until the time is over: 30, 20, 13.3, … of 90 seconds."""
    given = []

    def slow(_: object, limits: Limits, __: object) -> None:
        assert limits.seconds is not None
        given.append(limits.seconds)
        hand.now += limits.seconds
        raise LimitReached("seconds", f"{limits.seconds:g}", "the search for a layer order was not finished")

    monkeypatch.setattr(propose, "_folded", slow)
    figure = target([(0, 0), (9, 1), (7, 8), (2, 5)])
    found = list(islice(proposals(figure, Limits(seconds=90)), 4))
    assert given[:3] == pytest.approx([90 / 3, 60 / 3, 40 / 3])
    assert all(isinstance(one, Failure) and "the limit seconds" in one.reason for one in found)


def test_in_time_a_set_is_proposed(hand: Hand) -> None:
    assert isinstance(next(proposals(TRIANGLE, Limits(seconds=90))), Proposal)


def test_a_known_order_is_not_searched_for(monkeypatch: pytest.MonkeyPatch) -> None:
    """The kernel accepts the same order; one upside down, in which mountains are valleys, is not taken."""
    searched = []
    run = Search.run
    monkeypatch.setattr(Search, "run", lambda self: searched.append(1) or run(self))
    proposal = next(proposals(TRIANGLE, Limits()))
    assert isinstance(proposal, Proposal)
    order = proposal.order
    for known in (order, replace(order, above=Above(order.above.pairs, ~order.above.first_above))):
        searched.clear()
        result = certify_folded(proposal.document, known)
        assert result.verdict == "certified"
        assert bool(searched) is (known is not order)
