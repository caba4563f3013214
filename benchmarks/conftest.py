"""Prints the ratios of exact to float64 after the benchmarks' own tables."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

_RATIOS: list[tuple[str, float, float]] = []


@pytest.fixture
def record_ratio() -> Callable[[str, float, float], None]:
    """Takes a name, and the medians of exact and float64."""
    return lambda *row: _RATIOS.append(row)


def pytest_terminal_summary(terminalreporter: Any) -> None:
    if not _RATIOS:
        return
    terminalreporter.section("document to conditions, medians in ms")
    terminalreporter.write_line(f"{'':14}{'exact':>9}{'float64':>9}{'ratio':>7}")
    for name, exact, floats in _RATIOS:
        terminalreporter.write_line(f"{name:14}{1000 * exact:9.1f}{1000 * floats:9.1f}{exact / floats:7.2f}")
