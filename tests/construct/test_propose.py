"""Time for one set of creases, by a clock that the tests set."""

from __future__ import annotations

from typing import Any

import pytest

from tests.construct.test_creases import target
from verify.construct import propose
from verify.construct.creases import Construction
from verify.construct.figure import figure_of
from verify.construct.propose import Failure, Proposal, proposals
from verify.pattern.limits import LimitReached, Limits

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


@pytest.mark.parametrize(("took", "asked"), [(1.0, True), (24.0, True), (26.0, False), (90.0, False)])
def test_why_there_is_no_order_is_asked_while_there_is_three_times_the_time(
    took: float, asked: bool, hand: Hand, monkeypatch: pytest.MonkeyPatch
) -> None:
    def none(*_: Any) -> None:
        hand.now += took

    calls = []
    monkeypatch.setattr(propose, "find_order", none)
    monkeypatch.setattr(propose, "refusals", lambda *_: calls.append(1) or ())
    creases = next(Construction(figure_of(TRIANGLE)).patterns())
    found = propose._folded(creases, Limits(seconds=100), None)
    assert isinstance(found, Failure)
    assert bool(calls) is asked


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
    found = list(proposals(figure, Limits(seconds=90), 4))
    assert given[:3] == pytest.approx([90 / 3, 60 / 3, 40 / 3])
    assert all(isinstance(one, Failure) and "the limit seconds" in one.reason for one in found)


def test_in_time_a_set_is_proposed(hand: Hand) -> None:
    assert isinstance(next(proposals(TRIANGLE, Limits(seconds=90))), Proposal)
