"""Figures near a drawing, tried one after the other, against shapely: what is freed is what was drawn, but for what may
move.
"""

from __future__ import annotations

from cmath import rect
from contextlib import suppress
from dataclasses import replace
from fractions import Fraction
from math import pi, radians
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import shapely

from tests.construct.creases.test_creases import target
from tests.construct.figures import figure
from tests.places import PROOFS
from verify.construct.coordinates.net import NotSnapped
from verify.construct.creases.creases import Construction
from verify.construct.moves.trials import SHARE, Trial, trials
from verify.construct.skeleton.figure import Figure
from verify.construct.skeleton.perpendiculars import MANY_STEPS, MOST_STEPS
from verify.pattern.drawing import draw
from verify.pattern.limits import Limits, silent
from verify.pattern.recipe import load_any
from verify.tasks.construct import construct
from verify.tasks.construct_search import Search, Wanted

# half a star and its mirror image, turned and rounded
TURNED = [
    ("76.321", "117.497"),
    ("66.865", "110.685"),
    ("25.0", "97.944"),
    ("30.668", "29.741"),
    ("61.182", "44.962"),
    ("71.189", "30.116"),
    ("82.864", "43.688"),
    ("111.387", "25.0"),
    ("125.0", "92.071"),
    ("84.914", "109.625"),
]


def test_a_figure_with_many_folds_is_rather_moved_a_little() -> None:
    """Moved by at most 0.1 mm it takes some 1,300 folds; within the one percent that is allowed, far fewer."""
    sheet = [(0, 0), (150, 0), (150, 143), (0, 143)]
    made = construct(target(TURNED, sheet=sheet))
    assert made.verdict == "certified"
    assert made.proposal is not None
    assert made.proposal.folds <= 300
    assert made.moved is not None
    assert made.moved.greatest <= 100 * SHARE
    assert made.pattern is not None
    at = draw(made.pattern).places
    lines = [shapely.LineString([tuple(map(float, at[n])) for n in pair]) for pair in made.pattern.target_lines()]
    (freed,) = shapely.polygonize(lines).geoms
    drawn = shapely.Polygon([(float(x), float(y)) for x, y in TURNED])
    assert 0 < freed.symmetric_difference(drawn).area < drawn.length * made.moved.greatest


def test_a_regular_star_is_left_as_it_is_drawn() -> None:
    """By symmetry its creases are the five mirror lines, and the star's turns leave no other set as small: from each
    corner of a polygon an arc begins on either side (Aichholzer, Aurenhammer, Alberts, Gärtner 1995), and there are no
    other creases. So no other figure is looked at.
    """
    path = PROOFS / "certified" / "star.toml"
    said: list[str] = []
    made = construct(replace(load_any(path), creases=()), progress=said.append)
    assert [words for words in said if "to move the figure" in words] == ["1 way to move the figure looked at"]
    assert made.verdict == "certified"
    assert made.moved is None
    assert made.result is not None
    assert any("5 straight creases" in f.message for f in made.result.findings)


@pytest.mark.parametrize(("points", "turn"), [(5, 7), (6, 33)])
def test_a_turned_star_is_made_regular(points: int, turn: int) -> None:
    """Its corners to a tenth of a millimetre. Then its mirror lines are its creases, as above, and all there are."""
    step = pi / points
    ways = [rect(30 if k % 2 else 50, radians(turn) + k * step) for k in range(2 * points)]
    made = construct(figure([(f"{z.real:.1f}", f"{z.imag:.1f}") for z in ways]))
    assert made.verdict == "certified"
    assert made.proposal is not None
    assert made.proposal.hands.creases == points
    assert made.moved is not None
    assert made.moved.greatest < 0.3
    at = draw(made.moved.document).places
    corners = np.array([complex(*map(float, at[f"p0{k}"])) for k in range(2 * points)])
    once = (np.roll(corners, -2) - corners.mean()) / (corners - corners.mean())
    assert once == pytest.approx(np.full(2 * points, rect(1, 2 * step)))


def test_others_are_looked_at_if_a_figure_with_the_fewest_folds_comes_to_nothing(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Whatever is tried."""
    said: list[str] = []
    monkeypatch.setattr(Search, "tried", lambda *_: [])
    kite = load_any(PROOFS / "certified" / "kite.toml")
    assert construct(replace(kite, creases=()), progress=said.append).pattern is None
    assert "10 ways to move the figure looked at" in said


def test_perpendiculars_are_followed_farther_where_they_were_made_to_end(monkeypatch: pytest.MonkeyPatch) -> None:
    """There one from the border may take more steps, and every set needs it: in one figure of several."""
    followed: list[int] = []

    def construction(figure: Figure, most_steps: int) -> Construction:
        followed.append(most_steps)
        return Construction(figure, most_steps)

    monkeypatch.setattr("verify.tasks.construct_search.Construction", construction)
    monkeypatch.setattr(Search, "made", lambda *_: None)
    construct(target(TURNED))
    assert followed.count(MANY_STEPS) == 1
    assert {*followed} == {MOST_STEPS, MANY_STEPS}


HAND_DRAWN = ((-20, -20), (21, Fraction(-201, 10)), (Fraction(3, 2), Fraction(183, 10)))


@pytest.mark.parametrize(
    ("snap", "nudge", "most", "farther"),
    [
        (Fraction(1, 1000), None, Fraction(1, 1000), False),
        (Fraction(1, 1000), Fraction(1, 20), Fraction(1, 20), True),
        (None, Fraction(1, 50), Fraction(1, 50), False),
        (None, None, Fraction(41, 100), True),  # a hundredth of the target's extent, 41 mm
    ],
)
def test_no_figure_is_farther_away_than_was_allowed(
    snap: Fraction | None, nudge: Fraction | None, most: Fraction, farther: bool
) -> None:
    """And some come later only where more is allowed than what is tried first."""
    near, later = trials(figure(HAND_DRAWN), snap, nudge, False)
    far = []
    for trial in (*near, *later):
        with suppress(NotSnapped):
            far.append(trial.find().greatest)
    assert 0 < max(far) <= float(most) * (1 + 1e-9)
    assert bool(later) == any(trial.slow for trial in later) == farther


@pytest.mark.parametrize(("folds", "number"), [([], 1), ([250], 0), ([1250], 1)])
def test_figures_that_are_quickly_made_are_looked_at_unless_the_slow_one_is_worth_it(
    folds: list[int], number: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Here it comes to nothing, so they are. All that may move is spent on ends only if those near have many folds."""
    asked: list[list[Trial]] = []
    monkeypatch.setattr(Search, "ready", lambda _, some: asked.append([*some]) or [])
    _, later = trials(figure(HAND_DRAWN), None, None, False)
    near: list[Any] = [SimpleNamespace(folds=n) for n in folds]
    wanted = Wanted(1, "folds", False, None, None, Limits(), silent, False)
    assert Search(figure(HAND_DRAWN), wanted).farther(later, near) == []
    slow = [trial for trial in later if trial.slow]
    assert len(slow) == 2
    assert asked == [[slow[number]], [trial for trial in later if not trial.slow]]


@pytest.mark.parametrize(
    ("first", "aside", "comes_to", "tried", "taken"),
    [
        (234, [228, 232], {234: 264, 228: 230}, [234, 228], [230, 264]),  # 232 is not clearly fewer than 230
        (234, [228], {234: 236}, [234], [236]),
        (234, [228], {234: 264, 228: 260}, [234, 228], [264]),
    ],
)
def test_figures_set_aside_are_tried_where_what_was_found_has_clearly_more_folds(
    first: int,
    aside: list[int],
    comes_to: dict[int, int],
    tried: list[int],
    taken: list[int],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Figures by how few folds they may have, and what they come to; those taken are certified in turn."""
    looked_at: list[int] = []
    asked: list[int] = []

    def come_to(_: Search, one: Any, __: float) -> list[Any]:
        looked_at.append(one.folds)
        return [(SimpleNamespace(folds=comes_to[one.folds], how=""), one)]

    def refused(_: Search, proposal: Any, __: Limits) -> Any:
        asked.append(proposal.folds)
        return SimpleNamespace(verdict="undecided", reasons=())

    monkeypatch.setattr(Search, "tried", come_to)
    monkeypatch.setattr(Search, "certified", refused)
    monkeypatch.setattr("verify.tasks.construct_search.rank", lambda proposal, _: proposal.folds)
    near, others = (
        [SimpleNamespace(folds=n, construction=SimpleNamespace(shape=n)) for n in ns] for ns in ([first], aside)
    )
    wanted = Wanted(1, "folds", False, None, None, Limits(), silent, False)
    assert Search(figure(HAND_DRAWN), wanted).made(near, others) is None  # type: ignore[arg-type]
    assert (looked_at, asked) == (tried, taken)


def test_a_figure_turned_by_an_exact_angle_takes_the_folds_that_it_takes_upright() -> None:
    """A fish with one mirror line, by 15°: its coordinates are irrational, and turning paper changes no fold."""
    fish = [(20, 50), (70, 20), (110, 44), (140, 25), (140, 75), (110, 56), (70, 80)]
    upright = target(fish, sheet=[(-70, 10), (150, 10), (150, 130), (-70, 130)])
    points = dict(upright.points)
    for name, (x, y) in zip(upright.loops[0], fish, strict=True):
        points[name] = f"{x}*cos(pi/12)-{y}*sin(pi/12)", f"{x}*sin(pi/12)+{y}*cos(pi/12)"
    plain, made = construct(upright), construct(replace(upright, points=points, raw=None))
    assert plain.proposal is not None
    assert made.proposal is not None
    assert made.proposal.folds == plain.proposal.folds
    assert made.moved is not None
    assert {move.name for move in made.moved.moves} == {*upright.loops[0]}
    assert made.moved.greatest < 120 * SHARE
