"""The clock between a search and its parts."""

from __future__ import annotations

import sys
from subprocess import run

import pytest

from tests.places import PROOFS
from verify.folding.count import count
from verify.pattern.components import components
from verify.pattern.families import stamps
from verify.pattern.limits import Clock, LimitReached, Limits
from verify.tasks.certify import certify


def test_a_part_gets_the_time_that_is_left() -> None:
    left = Clock(60, "all").within(Limits(faces=7)).seconds
    assert left is not None
    assert 0 < left <= 60
    assert Clock(None, "all").within(Limits()).seconds is None


def test_past_the_end_there_is_no_time_to_give() -> None:
    clock = Clock(1e-9, "half of it was done")
    with pytest.raises(LimitReached, match="half of it was done"):
        clock.within(Limits())


def test_overlaps_beyond_the_limit_are_counted_before_they_are_listed() -> None:
    """Nine stamps lie in one pile: 36 pairs."""
    result = certify(stamps(3, 3), Limits(overlaps=35))
    assert result.verdict == "undecided"
    [finding] = [f for f in result.findings if f.kind == "limit-reached"]
    assert finding.value == {"limit": "overlaps", "allowed": "35"}
    assert "36 pairs" in finding.message
    assert certify(stamps(3, 3), Limits(overlaps=36)).verdict == "certified"
    assert count(stamps(3, 3), Limits(overlaps=35)).orders is None


def test_components_are_those_of_networkx() -> None:
    nx = pytest.importorskip("networkx")
    graph = nx.gnm_random_graph(60, 40, seed=3)
    assert components(60, graph.edges) == sorted(sorted(part) for part in nx.connected_components(graph))


def test_certify_does_not_load_what_it_seldom_needs() -> None:
    seldom = {"networkx", "sympy", "reportlab", "mpmath", "rich", "numpy.ma", "verify.construct"}
    star = PROOFS / "certified" / "star.toml"
    code = f"import sys; from verify.cli import main; main(['certify', {str(star)!r}], standalone_mode=False)"
    code += f"; print(sorted({seldom} & set(sys.modules)))"
    found = run([sys.executable, "-c", code], check=False, capture_output=True, text=True)
    assert found.stdout.startswith("certified:"), found.stderr
    assert found.stdout.splitlines()[-1] == "[]"
