"""The clock between a search and its parts."""

from __future__ import annotations

import sys
from subprocess import run

import pytest

from verify.pattern.components import components
from verify.pattern.limits import Clock, LimitReached, Limits


def test_a_part_gets_the_time_that_is_left() -> None:
    left = Clock(60, "all").within(Limits(faces=7)).seconds
    assert left is not None
    assert 0 < left <= 60
    assert Clock(None, "all").within(Limits()).seconds is None


def test_past_the_end_there_is_no_time_to_give() -> None:
    clock = Clock(1e-9, "half of it was done")
    with pytest.raises(LimitReached, match="half of it was done"):
        clock.within(Limits())


def test_components_are_those_of_networkx() -> None:
    nx = pytest.importorskip("networkx")
    graph = nx.gnm_random_graph(60, 40, seed=3)
    assert components(60, graph.edges) == sorted(sorted(part) for part in nx.connected_components(graph))


@pytest.mark.parametrize("library", ["networkx", "sympy", "reportlab"])
def test_certify_does_not_load_what_it_seldom_needs(library: str) -> None:
    code = f"import sys, verify.tasks.certify, verify.cli.certify; sys.exit({library!r} in sys.modules)"
    assert run([sys.executable, "-c", code], check=False).returncode == 0
