"""How often a property is tried: on a quarter of its examples, on all of them with `--long`."""

from __future__ import annotations

from hypothesis import HealthCheck, settings

LENIENT = [HealthCheck.too_slow, HealthCheck.function_scoped_fixture]
WHOLE = 100  # of 100 examples that a test asks for

settings.register_profile("quick", deadline=None, suppress_health_check=LENIENT, max_examples=WHOLE // 4)
settings.register_profile("whole", deadline=None, suppress_health_check=LENIENT, max_examples=WHOLE)


def load(*, whole: bool) -> None:
    settings.load_profile("whole" if whole else "quick")


def examples(number: int) -> settings:
    """So many examples in the profile `whole`; the share of them that the loaded profile tries, and 8 at least."""
    return settings(max_examples=max(8, number * settings.default.max_examples // WHOLE))
