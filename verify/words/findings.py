"""Findings: what was checked, where, and what came out, in the user's names."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Literal

from verify.exact.number import Number
from verify.exact.plane import around, dot
from verify.folding.foldmap import Reflections, Walk
from verify.folding.vertex import Angle, VertexReport
from verify.pattern.limits import LimitReached
from verify.pattern.subdivision import Subdivision, number_text
from verify.words.conflict import Words

if TYPE_CHECKING:
    from verify.folding.conflict import Conflict  # slow to load

Level = Literal["holds", "fails", "advice", "note", "warning"]


@dataclass(frozen=True)
class Finding:
    """One finding. `check` is what was looked at, `kind` what came out (stable words for scripts), `level` whether it
    `holds`, `fails`, is only `advice`, or a `note` or `warning` on what hands meet; `where` names points, edges or
    panels as the user does; `value` carries the exact values, as texts; `spoken` has the names in each of its `reasons`
    (not in JSON)."""

    check: str
    kind: str
    level: Level
    message: str
    where: tuple[str, ...] = ()
    value: dict[str, Any] = field(default_factory=dict)
    spoken: tuple[tuple[str, ...], ...] = ()

    @property
    def is_told(self) -> bool:
        """Whether short answers tell it: advice and notes, but not on single vertices, nor that snips do not help
        either, which only `explain` says.
        """
        return self.level in ("advice", "note") and self.check != "vertex" and self.kind != "no-snips"

    def keys(self) -> dict[str, Any]:
        return {
            "check": self.check,
            "kind": self.kind,
            "level": self.level,
            "message": self.message,
            "where": list(self.where),
            **({"value": self.value} if self.value else {}),
        }


@cache
def _kinds() -> dict[str, dict[str, str]]:
    """What `findings.toml` says of each kind."""
    kinds = tomllib.loads(Path(__file__).with_name("findings.toml").read_text(encoding="utf-8"))
    return {kind: {key: " ".join(words.split()) for key, words in entry.items()} for kind, entry in kinds.items()}


def finding(
    kind: str,
    where: Sequence[str] = (),
    value: Mapping[str, Any] = MappingProxyType({}),
    *,
    says: str = "says",
    level: Level | None = None,
    spoken: tuple[tuple[str, ...], ...] = (),
    **words: object,
) -> Finding:
    """A finding of a kind in `findings.toml`, which has its check, level and sentences. The sentence chosen by `says`
    is filled in with its values, other `words`, and the {names} of `where`.
    """
    entry = _kinds()[kind]
    message = entry[says].format(names=", ".join(where), **value, **words)
    said: Any = level or entry["level"]
    return Finding(entry["check"], kind, said, message, tuple(where), dict(value), spoken)


def counted(number: int, noun: str) -> str:
    """A number with its noun: 1 layer, 2 layers."""
    return f"{number:,} {plural(noun, number)}"


def plural(noun: str, number: int) -> str:
    """A noun, for this number of things."""
    return noun if number == 1 else f"{noun}s"


def piece_words(called: str) -> str:
    """What people read instead of the name of a piece in JSON: the target is the figure to them, and what is left of
    the sheet the rest.
    """
    return {"target": "figure", "sheet": "rest"}.get(called, called)


def rounded(value: Number) -> str:
    """A number for people: as it is if it is a short decimal, else to four digits or whole."""
    if value.is_rational and value.as_fraction().denominator == 1:
        return f"{int(value.as_fraction()):,}"
    exact = number_text(value)
    if exact.replace(".", "", 1).isdigit() and len(exact) <= 6 and value < 1000:
        return exact
    return rounded_float(float(value))


def rounded_float(size: float) -> str:
    """The same for a measure: four digits at most; below a hundredth, only that it is less."""
    if 0 < size < 0.01:
        return "less than 0.01"
    return f"{size:,.0f}" if size >= 1000 else f"{size:.4g}"


def listed(names: Sequence[str], most: int) -> str:
    """All names of a short list; of a longer one the first, and how many more there are."""
    return enumerated([*names[:most], f"{len(names) - most} more"] if len(names) > most else names)


def enumerated(words: Sequence[str], joined: str = "and") -> str:
    """A list as one says it: left, right and top."""
    *others, last = words
    return f"{', '.join(others)} {joined} {last}" if others else last


def answer(verdict: str | None, *findings: Finding, **more: Any) -> dict[str, Any]:
    """The keys that every `--json` prints, for answers that prove nothing of one document; then `more`."""
    told = [finding.keys() for finding in findings]
    return {"verdict": verdict, "statement_sha256": None, "claims": [], "findings": told, "facts": {}} | more


def degrees(angle: Angle, digits: int = 12) -> str:
    """An angle in degrees for people: exact multiples plainly, others to this many digits."""
    with suppress(OverflowError):
        x, y = float(angle.x), float(angle.y)
        rough = math.degrees(math.atan2(y, x))  # off by less than 1e-15 of it, unless x and y are next to nothing
        low, high = (f"{rough * (1 + off):.{digits}g}" for off in (-1e-14, 1e-14))
        if low == high and abs(x) + abs(y) > 1e-290 and abs(rough) > 1e-3:
            return low
    import mpmath  # slow to load

    with mpmath.workdps(digits + 15):
        return str(mpmath.nstr(angle.degrees(digits), digits)).removesuffix(".0")


def length_text(square: Number, unit: str) -> str:
    """The square root of a number, as a length with its unit, to four digits."""
    import mpmath  # slow to load

    with mpmath.workdps(30):
        low, high = square.enclosure(160)
        middle = (low + high) / 2
        root = mpmath.sqrt(mpmath.mpf(middle.numerator) / middle.denominator)
        return f"{str(mpmath.nstr(root, 4)).removesuffix('.0')} {unit}"


def of_vertex(s: Subdivision, report: VertexReport) -> Iterator[Finding]:
    """What holds and fails at one vertex."""
    name = s.name(report.vertex)
    count = len(report.folds)
    meet = "1 fold meets" if count == 1 else f"{count} folds meet"
    m, v, e = report.counts
    if report.on_border:
        yield finding("on-border", [name], {"folds": count})
    else:
        yield _kawasaki(report, name, meet)
        folds = ", ".join([_folds(m, "mountain"), _folds(v, "valley"), *([_folds(e, "open")] if e else [])])
        numbers = {"mountain": m, "valley": v, "either": e}
        if report.maekawa:
            how = "can be 2" if e else "= 2"
            yield finding("maekawa-holds", [name], numbers, counted=folds, how=how)
        else:
            difference = _difference(m, v, e)
            yield finding("maekawa-fails", [name], numbers, counted=folds, difference=difference)
    sides = list(around(report.folds))
    for i in report.big_little_big:
        one, two = map(s.edge_name, sides[i])
        angle, letter = {"degrees": degrees(report.angles[i])}, report.letters[i]
        yield finding("big-little-big-fails", [name, one, two], angle, name=name, one=one, two=two, letter=letter)
    values = {
        "angles_degrees": [degrees(a) for a in report.angles],
        "assignments": report.assignments,
        "completions": report.completions,
    }
    if report.folds_here is None:
        yield finding("vertex-open", [name], values, meet=meet)
    elif report.folds_here:
        agree = f"; {report.completions:,} agree with the drawing" if e else ""
        yield finding("vertex-folds", [name], values, agree=agree)
    elif report.kawasaki is not False:
        yield finding("vertex-fails", [name], values)


def _kawasaki(report: VertexReport, name: str, meet: str) -> Finding:
    if report.defect is None:
        raise ValueError("an inner vertex has a defect")
    if len(report.folds) % 2:
        what = "1 fold ends here" if len(report.folds) == 1 else f"{meet} here, an odd number"
        return finding("odd-degree", [name], {"folds": len(report.folds)}, what=what)
    if report.kawasaki:
        return finding("kawasaki-holds", [name], {"alternate_sums_degrees": ["180", "180"]}, meet=meet)
    import mpmath

    with mpmath.workdps(60):
        half = report.defect.degrees(40) / 2
        sums = [mpmath.nstr(180 + half, 40), mpmath.nstr(180 - half, 40)]
        off = mpmath.nstr(abs(2 * half), 6)
    value = {
        "alternate_sums_degrees": sums,
        "difference_degrees": off,
        "difference_direction": [report.defect.x.text(), report.defect.y.text()],
    }
    one, two = (x if len(x) <= 8 else _significant(x) for x in sums)
    if one == two:
        one, two = (f"180 {sign} {mpmath.nstr(abs(half), 4)}" for sign in "+-")
    return finding("kawasaki-fails", [name], value, meet=meet, off=mpmath.nstr(mpmath.mpf(off), 4), one=one, two=two)


def _significant(text: str) -> str:
    """A long decimal, cut after the first digits in which it differs from 180."""
    head, _, tail = text.partition(".")
    shown = len(tail) - len(tail.lstrip("09")) + 3
    return f"{head}.{tail[:shown]}…" if len(tail) > shown else text


def _folds(number: int, kind: str) -> str:
    return f"{number or 'no'} {plural(f'{kind} fold', number)}"


def _difference(m: int, v: int, e: int) -> str:
    if not e:
        return f", but differ by {abs(m - v)}"
    if abs(m - v) > e:
        return f", but differ by {abs(m - v) - e} or more, however the open folds go"
    return f"; with {m + v + e} folds, an odd number, they cannot"


def of_hole(s: Subdivision, walk: Walk, reflections: Reflections) -> Finding:
    """Whether the folds close round a hole of the sheet."""
    name = f"hole {'–'.join(s.drawing.document.holes[walk.hole or 0])}"
    if walk.closes(reflections):
        return finding("hole-closes", [name])
    product = walk.product(reflections)
    angle, shift = Angle(product.m.x, product.m.y), product.shift
    if product.turned:
        what = "an odd number of folds runs into it"
    elif not angle.is_zero:
        what = f"the sheet comes back turned by {degrees(angle)}°"
    else:
        what = f"the sheet comes back moved by {length_text(dot(shift, shift), s.drawing.document.unit)}"
    return finding("hole-does-not-close", [name], what=what)


def of_limit(limit: LimitReached) -> Finding:
    """That a limit came before an answer."""
    return finding("limit-reached", value={"limit": limit.limit, "allowed": limit.allowed}, reached=limit)


def of_conflict(conflict: Conflict) -> Finding:
    words = Words(conflict.conditions)
    conflict = conflict._replace(reasons=tuple(r for r in conflict.reasons if not words.within(r)))
    told = words.told(conflict.reasons)
    where = dict.fromkeys(name for r in conflict.reasons for name in words.place(r))
    headline = words.headline(conflict)
    return finding("no-layer-order", [*where], {"reasons": [*told]}, spoken=tuple(told.values()), headline=headline)
