"""Repairs in words, with the exact values; `then` is what the kernel says of the changed document."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from verify.construct.rounded.repairs import Closed, Joined, Missing, Moved, Repair, Turned
from verify.exact.plane import difference, dot
from verify.folding.vertex import Angle
from verify.pattern.names import texts_of
from verify.pattern.subdivision import Subdivision
from verify.words.findings import Finding, degrees, enumerated, finding, length_text

_TOLD = 4


def of_repair(number: int, repair: Repair, s: Subdivision, then: str) -> Finding:
    """What to change, as an instruction, and what comes of it."""
    outcome = "then it is certified" if then == "certified" else f"then it is still {then}"
    told = _SAYS[type(repair)](repair, s)
    message = f"repair {number}: {told.message}; {outcome}"
    return replace(told, message=message, value={"repair": number, "then": then} | told.value)


def _moved(repair: Moved, s: Subdivision) -> Finding:
    unit = s.drawing.document.unit
    said = [f"{m.name} from ({', '.join(m.before)}) to ({', '.join(m.after)})" for m in repair.moves]
    more = f" and {len(said) - _TOLD} more" if len(said) > _TOLD else ""
    moved = [{"point": m.name, "to": list(m.after), "distance": m.distance} for m in repair.moves]
    names, far = [m.name for m in repair.moves], max(m.distance for m in repair.moves)
    return finding("repair-rounding", names, {"moved": moved}, moves=", ".join(said[:_TOLD]) + more, far=far, unit=unit)


def _turned(repair: Turned, s: Subdivision) -> Finding:
    becomes = dict(repair.edges)
    parts: dict[str, str] = {}  # how each crease, or part of one, is turned
    for chain, crease in zip(s.crease_chains, s.drawing.document.creases, strict=True):
        edges = s.edges_along(chain)
        if becomes.keys() >= set(edges):
            parts[f"{crease.start}–{crease.end}"] = f"from {crease.kind} to {becomes[edges[0]]}"
        else:
            parts |= {s.edge_name(e): f"from {s.edges[e].kind} to {becomes[e]}" for e in edges if e in becomes}
    creases = [
        {"crease": s.edges[e].crease, "ends": list(map(s.name, s.edges[e].ends)), "to": to} for e, to in repair.edges
    ]
    alike: dict[str, list[str]] = defaultdict(list)
    for name, change in parts.items():
        alike[change].append(name)
    turns = " and ".join(f"{enumerated(names)} {change}" for change, names in alike.items())
    return finding("repair-assignment", [*parts], {"creases": creases}, turns=turns)


def _missing(repair: Missing, s: Subdivision) -> Finding:
    x, y = repair.direction
    between = [s.edge_name(e) for e in repair.between]
    beside = f"between {between[0]} and {between[1]}" if between[0] != between[1] else f"beside {between[0]}"
    value = {
        "direction": [x.text(), y.text()],
        "degrees": degrees(Angle(x, y), 6),
        "end": list(texts_of(repair.end)),
        "between": between,
    }
    return finding("repair-crease", [s.name(repair.vertex)], value, beside=beside, far=s.place_name(repair.end))


def _joined(repair: Joined, s: Subdivision) -> Finding:
    crease = s.drawing.document.creases[repair.crease]
    name = f"{crease.start}–{crease.end}"
    step = difference(repair.after, repair.before)
    by = length_text(dot(step, step), s.drawing.document.unit)
    how = "lengthen" if repair.longer else "shorten"
    place = s.place_name(repair.after)
    onto = f"meet {s.edge_name(repair.meets)} at {place}" if repair.meets is not None else f"end at {place}"
    value = {
        "crease": repair.crease,
        "end": repair.end,
        "to": list(texts_of(repair.after)),
        "length_squared": dot(step, step).text(),
    }
    return finding("repair-end", [name, repair.end], value, how=how, name=name, by=by, onto=onto)


def _closed(repair: Closed, s: Subdivision) -> Finding:
    by = length_text(repair.gap, s.drawing.document.unit)
    one, two = repair.ends
    value = {"path": repair.path, "length_squared": repair.gap.text()}
    return finding("repair-loop", repair.ends, value, one=one, two=two, by=by)


_SAYS: dict[type[Repair], Callable[[Any, Subdivision], Finding]] = {
    Moved: _moved,
    Turned: _turned,
    Missing: _missing,
    Joined: _joined,
    Closed: _closed,
}
