"""Time for one set of creases, by a clock that the tests set; what is proposed is certified as it was found."""

from __future__ import annotations

from dataclasses import replace
from itertools import islice

import pytest

from tests.construct.creases.test_creases import target
from verify import audit
from verify.construct.creases import propose
from verify.construct.creases.propose import Failure, Proposal, proposals
from verify.folding.stack import order_of_stack
from verify.pattern.arrangement import subdivide
from verify.pattern.document import Crease, Document
from verify.pattern.drawing import draw
from verify.pattern.limits import LimitReached, Limits
from verify.tasks.certify import KernelRefused, certify_folded

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


def test_a_known_order_is_not_searched_for_nor_folded_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """The kernel accepts it; one upside down, in which mountains are valleys, it does not."""
    proposal = next(proposals(TRIANGLE, Limits()))
    assert isinstance(proposal, Proposal)
    order, document = proposal.order, proposal.document
    for done in ("subdivide", "fold_map", "find_order"):
        monkeypatch.setattr(f"verify.tasks.certify.{done}", None)
    result = certify_folded(document, order)
    assert result.verdict == "certified"
    assert audit(document, result.certificate).accepted
    with pytest.raises(KernelRefused):
        certify_folded(document, order_of_stack(order.overlaps, order.stack[::-1]))


@pytest.mark.parametrize("height", ["4", "sqrt(2)"])
def test_creases_in_pieces_make_the_same_subdivision(height: str) -> None:
    """As one that is made anew: the same edges, with the same kinds and creases, and the same ways along each."""
    points = {"sw": ("0", "0"), "se": ("9", "0"), "ne": ("9", "9"), "nw": ("0", "9")}
    points |= {"w": ("0", height), "e": ("9", height), "s": ("3", "0"), "n": ("3", "9"), "x": ("3", height)}
    either = (Crease("w", "e", "either"), Crease("s", "n", "either"))
    pieces = (Crease("w", "x", "valley"), Crease("x", "e", "mountain"), Crease("s", "n", "valley"))
    whole = Document(points=points, outline=("sw", "se", "ne", "nw"), creases=either)
    cut = draw(replace(whole, creases=pieces))
    told = []
    for s in (subdivide(draw(whole)).creased(cut), subdivide(cut)):
        at = s.vertices
        edges = {(frozenset((at[e.start], at[e.end])), e.kind, e.crease) for e in s.edges}
        told.append((edges, [[at[v] for v in chain] for chain in s.crease_chains], s.drawing))
    assert told[0] == told[1]
