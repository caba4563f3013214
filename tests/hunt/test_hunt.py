"""Hunts: theorems stand, known falsehoods fall to a small pattern, the same seed finds the same, and what is found is
written down.
"""

from __future__ import annotations

import json
import re
import signal
import sys
from collections.abc import Callable
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from time import monotonic
from typing import Any

import pytest
from click.testing import CliRunner
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from hypothesis.errors import InvalidArgument

import verify
from tests.places import PROOFS
from tests.profiles import examples, share
from verify.cli import main
from verify.exact.effort import EffortSpent
from verify.folding.alignments import UnsupportedAlignment
from verify.folding.vertex import vertex_reports
from verify.hunt.hunt import Counterexample, Hunt, NoSuchProperty, PropertyError, find_property, hunt
from verify.hunt.mutation import mutants
from verify.hunt.properties import (
    SHIPPED,
    Property,
    closes_at_every_vertex,
    crimps_away,
    fine_at_every_vertex,
    folds,
)
from verify.hunt.strategies import SHIPPED as STRATEGIES
from verify.hunt.strategies import TINY, Among, flat_vertices
from verify.pattern.arrangement import subdivide
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.pattern.families import stamps, strip
from verify.pattern.limits import LimitReached
from verify.pattern.recipe import Recipe


def owned(name: str, holds: Callable[[Document], bool], among: Among) -> Property:
    return Property(name, name, "unknown", "yours", among, holds)


FALSEHOODS = {n: p for n, p in SHIPPED.items() if p.known == "falsehood"}
THEOREMS = {n: p for n, p in SHIPPED.items() if p.known == "theorem"}
# the most creases that the smallest counterexample found may have
SMALL = {
    "fine-at-every-vertex-folds": 2,  # two folds alike too close together [recomputed by brute force]
    "fine-strips-fold": 2,
    "fine-maps-fold": 12,  # the 3×3 map, 4 of its 256 assignments [recomputed by brute force]
    "kawasaki-everywhere-folds": 9,  # a triangle and two rays from each corner [derived, recomputed by brute force]
    "maekawa-suffices": 4,  # big-little-big: Hull's survey [published, recomputed by brute force]
}


def sought(wanted: Property, number: int, seed: int = 0) -> Hunt:
    return hunt(wanted, 600, seed, most=number)


@pytest.fixture
def no_clock(monkeypatch: pytest.MonkeyPatch) -> None:
    """However busy the machine is, a hunt ends after so many values and so many batches that bring none smaller."""
    monkeypatch.setattr("verify.hunt.hunt.monotonic", lambda: 0.0)


@pytest.fixture
def first(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is found first, and shrunk, is enough: no smaller one is looked for afterwards."""
    monkeypatch.setattr("verify.hunt.hunt._AGAIN", 0)


def drawn(values: st.SearchStrategy[Any], number: int, look: Callable[[Any], None]) -> None:
    @settings(
        max_examples=number,
        database=None,
        derandomize=True,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(values)
    def look_at_each(value: Any) -> None:
        look(value)

    look_at_each()


@pytest.mark.parametrize(
    "name",
    [n if n == "maekawa-suffices" else pytest.param(n, marks=pytest.mark.long) for n in FALSEHOODS],
)
def test_falsehoods_fall_to_a_small_pattern(no_clock: None, name: str) -> None:
    outcome = sought(FALSEHOODS[name], 4_000)
    assert outcome.found is not None
    document = outcome.found.value
    assert isinstance(document, Document)
    assert len(document.creases) <= SMALL[name]
    assert not FALSEHOODS[name].holds(document)
    result = verify.certify(document)
    assert result.verdict == "refuted"
    assert result.certificate is not None
    if name.startswith("fine"):
        assert all(r.folds_here for r in vertex_reports(subdivide(draw(document))))
    if name.startswith("kawasaki"):
        assert verify.count(document).folding == 0


@pytest.mark.parametrize("name", THEOREMS)
def test_theorems_stand(name: str) -> None:
    number = share({"constructed-patterns-certify": 10, "mutated-certificates-are-rejected": 15}.get(name, 20))
    values: list[Any] = []

    def look(value: Any) -> None:
        answer = THEOREMS[name].holds(value)
        assert answer is None or answer, value.keys()
        values.append(value)

    for near in (False, True):
        drawn(THEOREMS[name].among(near), number, look)
    assert len(values) >= number


def test_every_property_states_its_source() -> None:
    assert set(FALSEHOODS) == set(SMALL)
    assert len(THEOREMS) >= 10
    for name, property_ in SHIPPED.items():
        assert name == property_.name
        assert property_.statement
        assert property_.source


def test_the_same_seed_finds_the_same(no_clock: None, first: None) -> None:
    few = owned("few", lambda document: len(document.creases) < 3, STRATEGIES["strips"])
    one, two, other = (sought(few, 100, seed) for seed in (7, 7, 8))
    assert one == two
    assert one.found is not None
    assert len(one.found.value.creases) == 3
    assert other.tried != one.tried or other.found != one.found


def test_a_hunt_ends_in_time_or_after_so_many() -> None:
    outcome = sought(owned("all", lambda document: True, STRATEGIES["strips"]), 100)
    assert outcome.found is None
    assert 50 <= outcome.tried <= 100
    assert hunt(outcome.property, 1e-9).tried == 0


@pytest.mark.parametrize(
    "limit",
    [LimitReached("patience", "none", "a strip"), EffortSpent("work", "none"), UnsupportedAlignment()],
    ids=lambda error: type(error).__name__,
)
def test_limits_are_no_counterexamples(limit: Exception) -> None:
    def limited(document: Document) -> bool:
        raise limit

    outcome = sought(owned("limited", limited, STRATEGIES["strips"]), 100)
    assert outcome.found is None
    assert outcome.undecided == outcome.tried > 0


def test_errors_are_no_counterexamples() -> None:
    def broken(document: Document) -> bool:
        raise KeyError("no such thing")

    with pytest.raises(PropertyError, match="KeyError: 'no such thing'") as caught:
        sought(owned("broken", broken, STRATEGIES["strips"]), 100)
    assert isinstance(caught.value.__cause__, KeyError)


def test_an_error_of_the_strategy_is_neither_a_counterexample_nor_silence() -> None:
    def wrong(size: int) -> Document:
        raise ZeroDivisionError("the strategy is wrong")

    with pytest.raises(ZeroDivisionError):
        sought(owned("all", lambda value: True, lambda near: st.integers(1, 2).map(wrong)), 100)
    with pytest.raises(InvalidArgument):
        sought(owned("all", lambda value: True, lambda near: st.sampled_from([])), 100)


def test_a_weakened_theorem_falls(no_clock: None, first: None) -> None:
    """The hunt can tell: each of these is a theorem with one word changed."""

    def maekawa_with_4(document: Document) -> bool:
        mountains, valleys = (sum(c.kind == kind for c in document.creases) for kind in ("mountain", "valley"))
        return abs(mountains - valleys) == 4 or not folds(document)

    def odd_panels_only(document: Document) -> bool:
        return folds(document) or len(document.creases) % 2 == 0

    letters = SHIPPED["maekawa"].among
    assert sought(owned("with 4", maekawa_with_4, letters), 400).found is not None
    assert sought(owned("odd", odd_panels_only, SHIPPED["crimpable-strips-fold"].among), 400).found is not None


@pytest.mark.parametrize("near", [False, True])
@pytest.mark.parametrize("name", [n for n in STRATEGIES if n not in ("constructed",)])
def test_strategies_draw_what_can_be_read(name: str, near: bool) -> None:
    def look(value: Any) -> None:
        assert isinstance(value, Document | Recipe)
        again = verify.read(value.keys())
        if isinstance(value, Recipe):
            assert again.statement() == value.statement()
        else:
            assert again == value
            subdivide(draw(value))

    drawn(STRATEGIES[name](near), 8, look)


def test_near_draws_points_that_nearly_fall_together() -> None:
    close = []

    def look(value: Document) -> None:
        xs = sorted({Fraction(x) for x, _ in value.points.values()})
        close.append(any(b - a == TINY for a, b in pairwise(xs)))

    drawn(STRATEGIES["strips"](True), 40, look)
    assert any(close)


@examples(30)
@given(flat_vertices())
def test_alternate_angles_at_flat_vertices_add_up_to_180_degrees(vertex: Document) -> None:
    assert len(vertex.creases) in (4, 6, 8)
    assert closes_at_every_vertex(vertex)


def test_predicates() -> None:
    trapped = strip([3, 1, 3], "VV")
    assert fine_at_every_vertex(trapped)
    assert not folds(trapped)
    assert not crimps_away(trapped)
    assert crimps_away(strip([3, 1, 3], "VM"))
    assert folds(stamps(3, 3))
    star = verify.load(PROOFS / "certified" / "star.toml")
    assert isinstance(star, Document)
    assert folds(star)


def test_every_mutant_is_another_certificate() -> None:
    for document in (strip([3, 1, 3], "VM"), strip([3, 1, 3], "VV"), stamps(2, 2)):
        certificate = verify.certify(document).certificate
        assert certificate is not None
        made = list(mutants(document, certificate))
        assert len({what for what, _ in made}) == len(made) >= 20
        for what, mutant in made:
            assert mutant != certificate, what
            outcome = verify.audit(document, mutant)
            assert not outcome.accepted, what
        assert verify.audit(document, certificate).accepted


def run(*arguments: str) -> Any:
    return CliRunner().invoke(main, ["hunt", *arguments], catch_exceptions=False)


def test_the_command_writes_what_it_found(no_clock: None, first: None, tmp_path: Path) -> None:
    outcome = run("fine-strips-fold", "--seconds", "60", "--seed", "3", "-o", str(tmp_path), "--json")
    assert outcome.exit_code == 1
    keys = json.loads(outcome.stdout)
    assert (keys["found"], keys["verdict"], keys["known"], keys["creases"]) == (True, "refuted", "falsehood", 2)
    document, certificate = tmp_path / "fine-strips-fold.toml", tmp_path / "fine-strips-fold.certificate.json"
    assert keys["document"] == str(document)
    assert verify.audit(document, certificate).accepted
    assert verify.load(document).title == "Counterexample to fine-strips-fold, seed 3"


def test_the_command_finds_nothing(tmp_path: Path) -> None:
    outcome = run("maekawa", "--seconds", "0.3", "-o", str(tmp_path / "none"))
    assert outcome.exit_code == 0
    assert outcome.stdout.startswith("no counterexample found: that proves nothing\n")
    assert "tried" in outcome.stderr
    assert not (tmp_path / "none").exists()


def test_a_property_of_the_users(first: None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "mine_to_hunt.py").write_text(
        "from verify.hunt.strategies import recipes\n\n\n"
        "def two_creases_at_most(document):\n    assert len(document.creases) <= 2, 'three creases'\n\n\n"
        "def one_step(recipe):\n    return len(recipe.steps) < 2\n\n\none_step.strategy = recipes()\n"
    )
    monkeypatch.chdir(tmp_path)
    monkeypatch.syspath_prepend(str(tmp_path))
    outcome = run("mine_to_hunt:two_creases_at_most", "--json")
    keys = json.loads(outcome.stdout)
    assert outcome.exit_code == 1
    assert keys["reason"] == "three creases"
    assert keys["creases"] >= 3
    assert Path(keys["document"]) == Path("counterexamples/mine-to-hunt-two-creases-at-most.toml")
    assert run("mine_to_hunt:two_creases_at_most", "--among", "sheets", "--seconds", "0.3").exit_code == 0
    outcome = run("mine_to_hunt:one_step", "--json")
    keys = json.loads(outcome.stdout)
    assert keys["steps"] == 2
    assert isinstance(verify.load(keys["document"]), Recipe)
    (tmp_path / "wrong_to_hunt.py").write_text("def wrong(document):\n    return True\n\n\nwrong.strategy = 'strips'\n")
    outcome = run("wrong_to_hunt:wrong")
    assert outcome.exit_code == 2
    assert "expected a Hypothesis strategy" in outcome.stderr


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ((), "expected a name"),
        (("no-such-property",), "fine-strips-fold"),
        (("nowhere:nothing",), "cannot be imported"),
        (("verify.version:__version__",), "is no function"),
        (("maekawa", "--among", "birds"), "flat-vertices"),
    ],
)
def test_what_cannot_be_hunted(arguments: tuple[str, ...], says: str) -> None:
    outcome = run(*arguments)
    assert outcome.exit_code == 2
    assert says in outcome.stderr


FAULTY = """
import time
from verify.pattern.source import Malformed

def raises(document):
    return 1 / (len(document.creases) - len(document.creases)) > 0

def malformed(document):
    raise Malformed("mine", "points", "this", "that")

def returns_a_number(document):
    return len(document.creases)

def returns_a_text(document):
    return ""

def sleeps(document):
    time.sleep(30)
    return True

def turns(document):
    while True:
        pass

def asserts(document):
    assert document.creases is not None

def falls(document):
    return not document.creases
"""


@pytest.fixture
def faulty(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "faulty_to_hunt.py").write_text(FAULTY)
    monkeypatch.chdir(tmp_path)
    monkeypatch.syspath_prepend(str(tmp_path))
    return tmp_path


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("raises", "ZeroDivisionError: division by zero (faulty_to_hunt.py, line 6)"),
        ("malformed", "Malformed: mine: points: found this; expected that (faulty_to_hunt.py, line 9)"),
        ("returns_a_number", "; expected True or False (or None, if it asserts)"),
        ("returns_a_text", "it returned ''; expected True or False (or None, if it asserts)"),
    ],
)
def test_an_error_of_the_property_is_no_counterexample(faulty: Path, name: str, says: str) -> None:
    outcome = run(f"faulty_to_hunt:{name}")
    assert outcome.exit_code == 2
    assert f"error of the property faulty_to_hunt:{name}: " in outcome.stdout
    assert says in outcome.stdout
    assert "counterexample" not in outcome.stdout.splitlines()[0]
    (written,) = (faulty / "counterexamples").iterdir()
    assert written.name == f"faulty-to-hunt-{name.replace('_', '-')}.error.toml"
    assert isinstance(verify.load(written), Document)
    keys = json.loads(run(f"faulty_to_hunt:{name}", "--json").stdout)
    assert (keys["verdict"], keys["found"], keys["findings"][0]["kind"]) == (None, False, "property-error")
    with pytest.raises(PropertyError, match=re.escape(says)) as caught:
        hunt(find_property(f"faulty_to_hunt:{name}"), 20)
    assert isinstance(caught.value.value, Document)


def test_what_is_a_counterexample_and_what_is_none(first: None, faulty: Path) -> None:
    assert run("faulty_to_hunt:asserts", "--seconds", "0.3").exit_code == 0
    outcome = run("faulty_to_hunt:falls", "--seconds", "20")
    assert outcome.exit_code == 1
    assert "counterexample found" in outcome.stdout
    assert "  1 crease; it does not hold" in outcome.stdout


def test_shipped_properties_return_bools_or_assert() -> None:
    for wanted in SHIPPED.values():
        drawn(wanted.among(False), 2, lambda value, wanted=wanted: _bool_or_none(wanted, value))


def _bool_or_none(wanted: Property, value: Any) -> None:
    try:
        answer = wanted.holds(value)
    except (AssertionError, LimitReached):
        return
    assert answer is None or isinstance(answer, bool), wanted.name


@pytest.mark.parametrize("name", ["sleeps", "turns"])
def test_the_time_holds(faulty: Path, name: str) -> None:
    """However long the property takes; with room for a busy machine, and far from the 30 seconds that it would take."""
    begun = monotonic()
    outcome = hunt(find_property(f"faulty_to_hunt:{name}"), 0.5)
    assert monotonic() - begun < 15
    assert outcome.found is None


@pytest.mark.parametrize("seconds", [1e-9, 1e-6, 1e-5, 1e-4, 1e-3, 0.01])
def test_no_alarm_is_left_behind(seconds: float) -> None:
    """However soon it goes off: also before the first value is drawn."""
    before = signal.getsignal(signal.SIGALRM)
    hunt(owned("all", lambda document: True, STRATEGIES["strips"]), seconds)
    assert signal.getsignal(signal.SIGALRM) is before
    assert signal.getitimer(signal.ITIMER_REAL) == (0.0, 0.0)


@pytest.mark.parametrize("seconds", [10, 600])
def test_making_it_smaller_is_in_the_time(seconds: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """On a clock of the test's own each look takes a second: none is begun after those that were given, nor 30 seconds
    after the first counterexample.
    """
    now = 0.0
    looked: list[float] = []
    fell: list[float] = []

    def look(document: Document) -> bool:
        nonlocal now
        now += 1
        looked.append(now)
        if len(document.creases) >= 2:
            fell.append(now)
        return len(document.creases) < 2

    monkeypatch.setattr("verify.hunt.hunt.monotonic", lambda: now)
    outcome = hunt(owned("slow", look, STRATEGIES["strips"]), seconds)
    assert outcome.found is not None
    assert max(looked) <= min(seconds, fell[0] + 30) + 1


def test_smaller_ones_are_looked_for_until_two_batches_bring_none(monkeypatch: pytest.MonkeyPatch) -> None:
    """And every other batch is drawn from what is nearly degenerate, until one is found."""
    near: list[bool] = []
    sizes = iter([None, None, None, 5, None, 4, 3])

    def among(close: bool) -> st.SearchStrategy[Any]:
        near.append(close)
        return STRATEGIES["strips"](close)

    def batch(run: Any, *_: object) -> None:
        size = next(sizes, None)
        if size is not None:
            run.found = Counterexample(strip([1] * (size + 1)), "too many creases")

    monkeypatch.setattr("verify.hunt.hunt._Run._draw", batch)
    outcome = hunt(owned("few", lambda _: True, among), 600)
    assert outcome.found is not None
    assert len(outcome.found.value.creases) == 3
    assert near == [False, True, False, True] + 5 * [False]


def test_the_list() -> None:
    outcome = run("--list")
    assert outcome.exit_code == 0
    for name in (*SHIPPED, *STRATEGIES):
        assert name in outcome.stdout
    with pytest.raises(NoSuchProperty):
        find_property("none")


def test_without_hypothesis(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "hypothesis", None)
    outcome = run("maekawa")
    assert outcome.exit_code == 2
    assert "creaseproof[hunt]" in outcome.stderr
