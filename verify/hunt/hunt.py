"""The hunt: patterns drawn one after another until a property fails, and the failing one shrunk.

The same seed draws the same patterns and shrinks them alike, unless time ends a hunt sooner. Nothing found proves
nothing.
"""

from __future__ import annotations

import gc
import signal
import traceback
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from importlib import import_module
from pathlib import Path
from threading import current_thread, main_thread
from time import monotonic
from types import FrameType
from typing import Any, NoReturn

from hypothesis import HealthCheck, Phase, Verbosity, given, seed, settings
from hypothesis.errors import Flaky, Unsatisfiable, UnsatisfiedAssumption
from hypothesis.strategies import SearchStrategy

from verify.errors import CreaseproofError
from verify.exact.effort import EffortSpent
from verify.folding.alignments import UnsupportedAlignment
from verify.hunt import strategies
from verify.hunt.properties import SHIPPED, Property
from verify.pattern.document import Document
from verify.pattern.limits import LimitReached, Progress, positive, silent

SECONDS = 60.0
SHRINKING = 30.0
_BATCH = 100
_AGAIN = 2
_SETTINGS = settings(
    max_examples=_BATCH,
    database=None,
    deadline=None,
    derandomize=False,
    phases=(Phase.generate, Phase.shrink),
    suppress_health_check=list(HealthCheck),
    verbosity=Verbosity.quiet,
    report_multiple_bugs=False,
    print_blob=False,
)


class NoSuchProperty(CreaseproofError, ValueError):
    """What was asked for is neither a shipped property nor a function that can be found."""


@dataclass(frozen=True)
class Counterexample:
    """A value of which the property does not hold: the smallest that shrinking came to, and how it fails."""

    value: Document
    reason: str


@dataclass(frozen=True)
class Hunt:
    """What came of a hunt: values `tried`, those of them `undecided` by a limit. None found proves nothing."""

    property: Property
    seed: int
    tried: int
    undecided: int
    found: Counterexample | None


class PropertyError(CreaseproofError, RuntimeError):
    """The property is at fault: of `value` it raised another error than AssertionError, or returned no bool."""

    def __init__(self, value: Document, reason: str) -> None:
        self.value = value
        super().__init__(reason)


class _Fails(Exception):
    """The property does not hold of the value drawn."""


class _Over(BaseException):
    """The hunt ends here and now: the time is over, or the property is at fault."""


def find_property(name: str, among: str | None = None) -> Property:
    """A shipped property by its name, or the user's function `module:function`, which is imported: of a document or
    recipe it returns whether the property holds, or raises AssertionError. It is hunted `among` a shipped strategy, by
    its attribute `strategy` (of Hypothesis), or among all patterns. Raises `NoSuchProperty`.
    """
    if among is not None and among not in strategies.SHIPPED:
        raise NoSuchProperty(f"found the strategy {among!r}; expected one of {', '.join(strategies.SHIPPED)}")
    if ":" not in name:
        if name not in SHIPPED:
            raise NoSuchProperty(f"found {name!r}; expected module:function or one of {', '.join(SHIPPED)}")
        shipped = SHIPPED[name]
        if among is None:
            return shipped
        return replace(shipped, known="unknown", among=strategies.SHIPPED[among])
    module, _, what = name.partition(":")
    try:
        function = getattr(import_module(module), what)
    except (ImportError, AttributeError, ValueError) as error:
        raise NoSuchProperty(f"found {name!r}, which cannot be imported ({error}); expected module:function") from None
    if not callable(function):
        raise NoSuchProperty(f"found {name!r}, which is no function; expected one that takes a document")
    return _of_function(name, function, among)


def _of_function(name: str, function: Callable[[Any], object], among: str | None = None) -> Property:
    drawn = getattr(function, "strategy", None)
    if drawn is not None and not isinstance(drawn, SearchStrategy):
        raise NoSuchProperty(f"{name}.strategy: found {drawn!r}; expected a Hypothesis strategy")
    statement = (function.__doc__ or name).strip().splitlines()[0]
    every = strategies.SHIPPED[among or "patterns"] if drawn is None or among is not None else lambda near: drawn
    return Property(name, statement, "unknown", "yours", every, function)


def hunt(
    wanted: Property | str | Callable[[Any], object],
    seconds: float = SECONDS,
    seed_: int = 0,
    progress: Progress | None = None,
    most: int | None = None,
) -> Hunt:
    """Look for a value of which the property does not hold, for so many seconds all told (and at most `most` values,
    rounded up to batches of 100).

    `wanted`: a property, the name of one (see `find_property`), or a function of a document that returns whether it
    holds. Every other batch is drawn from what is nearly degenerate. A counterexample is then made smaller, by
    shrinking and by looking for others with fewer creases (or steps), for at most 30 of the seconds. It is one only if
    the property returned False or raised AssertionError; a limit that it reaches is none, and another error, or a
    return that is no bool, raises `PropertyError`. In the main thread a property that takes longer than the time is
    interrupted (at its next step in Python).
    """
    if isinstance(wanted, str):
        wanted = find_property(wanted)
    elif not isinstance(wanted, Property):
        wanted = _of_function(getattr(wanted, "__name__", "property"), wanted)
    run = _Run(wanted, monotonic() + positive("seconds", seconds), progress)
    with suppress(_Over):
        run.hunt(seed_, most)
    if run.error is not None:
        raise run.error from run.error.__cause__
    return Hunt(wanted, seed_, run.tried, run.undecided, run.found)


def _asked(holds: Callable[[Any], object], value: Document, seconds: float) -> object:
    """What the property says of a value. `_Over` is raised in it after so many seconds, again each tenth for as long as
    it goes on; only in the main thread, where signals are caught. Never elsewhere: what draws values is not ours, and
    need not survive it.
    """
    if not hasattr(signal, "setitimer") or current_thread() is not main_thread():
        return holds(value)

    def over(_: int, frame: FrameType | None) -> None:
        collecting = [getattr(callback, "__code__", None) for callback in gc.callbacks]
        if frame is None or frame.f_code not in collecting:  # an exception in those is printed, and lost
            raise _Over

    def restore() -> None:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)

    before = signal.signal(signal.SIGALRM, over)
    try:
        try:
            signal.setitimer(signal.ITIMER_REAL, max(seconds, 1e-6), 0.1)
            return holds(value)
        finally:
            restore()
    except _Over:
        restore()  # it may have been raised while the line above was at it
        raise


def _size(value: Document) -> int:
    return len(value.steps) + len(value.creases)


class _Run:
    def __init__(self, wanted: Property, stop: float, progress: Progress | None) -> None:
        self.property, self.stop, self.progress = wanted, stop, progress or silent
        self.tried = self.undecided = 0
        self.found: Counterexample | None = None
        self.error: PropertyError | None = None
        self.below: int | None = None
        self.shown = 0.0

    @property
    def time(self) -> bool:
        return monotonic() <= self.stop

    def hunt(self, seed_: int, most: int | None) -> None:
        batch = 0
        while self.found is None and self.time and (most is None or batch * _BATCH < most):
            self._draw(self.property.among(batch % 2 == 1), f"{seed_} {batch}")
            batch += 1
        again = 0
        while self.found is not None and self.time and again < _AGAIN:
            before = self.found
            self.below = _size(before.value)
            self._draw(self.property.among(False), f"{seed_} {batch} {again}")
            again = again + 1 if self.found is before else 0

    def _draw(self, values: SearchStrategy[Any], seed_: str) -> None:
        """One batch; `found` has what failed, also if it does not fail again (Flaky). Some strategies draw nothing."""
        test = seed(seed_)(_SETTINGS(given(values)(self.look)))
        with suppress(_Fails, Flaky, Unsatisfiable):
            test()

    def look(self, value: Document) -> None:
        now = monotonic()
        if now > self.stop:
            raise _Over
        if self.below is not None and _size(value) >= self.below:
            return
        if self.found is None:
            self.tried += 1
        if now > self.shown + 1:
            self.shown = now
            what = f"{self.tried:,} tried, {max(self.stop - now, 0):.0f} s left"
            self.progress(what if self.found is None else "shrinking the counterexample")
        reason = self._fault(value)
        if reason is None:
            return
        if self.found is None:
            self.stop = min(self.stop, monotonic() + SHRINKING)
        self.found = Counterexample(value, reason)
        raise _Fails

    def _fault(self, value: Any) -> str | None:
        """How the property fails of a value; None if it does not."""
        try:
            answer = _asked(self.property.holds, value, self.stop - monotonic())
        except UnsatisfiedAssumption:
            raise
        except (LimitReached, EffortSpent, UnsupportedAlignment):
            self.undecided += 1
            return None
        except AssertionError as error:
            return str(error) or "an assertion fails"
        except Exception as error:
            where = traceback.extract_tb(error.__traceback__)[-1]
            self._at_fault(
                value, f"{type(error).__name__}: {error} ({Path(where.filename).name}, line {where.lineno})", error
            )
        if answer is not None and not isinstance(answer, bool):
            found = repr(answer)
            self._at_fault(value, f"it returned {found[:80]}; expected True or False (or None, if it asserts)")
        return "it does not hold" if answer is False else None

    def _at_fault(self, value: Document, reason: str, cause: Exception | None = None) -> NoReturn:
        self.error = PropertyError(value, reason)
        self.error.__cause__ = cause
        raise _Over
