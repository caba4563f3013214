"""How much is tried: the share `quick` of the examples, draws and edits, the whole of them with `--long`."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar

from hypothesis import HealthCheck, settings

T = TypeVar("T")
LENIENT = [HealthCheck.too_slow, HealthCheck.function_scoped_fixture]
WHOLE, QUICK = 100, 20  # of 100 that a test asks for

settings.register_profile("whole", deadline=None, suppress_health_check=LENIENT, max_examples=WHOLE)
settings.register_profile("quick", deadline=None, suppress_health_check=LENIENT, max_examples=QUICK)


def load(*, whole: bool) -> None:
    settings.load_profile("whole" if whole else "quick")


def share(number: int) -> int:
    """Of so many tries those that the loaded profile makes, rounded up."""
    return -(-number * settings.default.max_examples // WHOLE)


def examples(number: int) -> settings:
    """So many examples of a property, of which the loaded profile tries its share, and 5 at least."""
    return settings(max_examples=max(5, share(number)))


def some(values: Sequence[T], of: int = WHOLE // QUICK) -> Sequence[T]:
    """All of them with `--long`; without it the first of every so many."""
    return values if settings.default.max_examples == WHOLE else values[::of]
