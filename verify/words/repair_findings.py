"""Repairs in words, with the exact values; `then` is what the kernel says of the changed document."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from verify.construct.repairs import Closed, Joined, Missing, Moved, Repair, Turned
from verify.exact.plane import Point, difference, dot
from verify.folding.vertex import Angle
from verify.pattern.subdivision import Subdivision
from verify.words.findings import Finding, degrees, length_text


def of_repair(number: int, repair: Repair, s: Subdivision, then: str) -> Finding:
    """What to change, so that it reads as an instruction, and what comes of it."""
    outcome = "then it is certified" if then == "certified" else f"then it is still {then}"
    counted: dict[str, Any] = {"repair": number, "then": then}

    def told(of: _Told) -> tuple[str, tuple[str, ...], dict[str, Any]]:
        words, where, value = of
        return f"repair {number}: {words}; {outcome}", where, counted | value

    match repair:
        case Moved():
            return Finding("repair", "repair-rounding", "advice", *told(_moved(repair, s)))
        case Turned():
            return Finding("repair", "repair-assignment", "advice", *told(_turned(repair, s)))
        case Missing():
            return Finding("repair", "repair-crease", "advice", *told(_missing(repair, s)))
        case Joined():
            return Finding("repair", "repair-end", "advice", *told(_joined(repair, s)))
        case Closed():
            return Finding("repair", "repair-loop", "advice", *told(_closed(repair, s)))


_TOLD = 4
_Told = tuple[str, tuple[str, ...], dict[str, Any]]


def _moved(repair: Moved, s: Subdivision) -> _Told:
    unit = s.drawing.document.unit
    said = [f"{m.name} from ({', '.join(m.before)}) to ({', '.join(m.after)})" for m in repair.moves]
    more = f" and {len(said) - _TOLD} more" if len(said) > _TOLD else ""
    far = max(m.distance for m in repair.moves)
    words = f"the drawing's numbers are rounded: move {', '.join(said[:_TOLD])}{more}, by at most {far:.2g} {unit}"
    moved = [{"point": m.name, "to": list(m.after), "distance": m.distance} for m in repair.moves]
    return words, tuple(m.name for m in repair.moves), {"moved": moved}


def _turned(repair: Turned, s: Subdivision) -> _Told:
    becomes = dict(repair.edges)
    parts: dict[str, str] = {}
    for chain, crease in zip(s.crease_chains, s.drawing.document.creases, strict=True):
        edges = [s.edge_at[pair] for pair in pairwise(chain)]
        if becomes.keys() >= set(edges):
            parts[f"{crease.start}–{crease.end}"] = f"from {crease.kind} to {becomes[edges[0]]}"
        else:
            parts |= {s.edge_name(e): f"from {s.edges[e].kind} to {becomes[e]}" for e in edges if e in becomes}
    creases = [
        {"crease": s.edges[e].crease, "ends": list(map(s.name, s.edges[e].ends)), "to": to} for e, to in repair.edges
    ]
    words = " and ".join(f"{name} {change}" for name, change in parts.items())
    return f"turn {words}", tuple(parts), {"creases": creases}


def _missing(repair: Missing, s: Subdivision) -> _Told:
    vertex, (x, y) = s.name(repair.vertex), repair.direction
    between = [s.edge_name(e) for e in repair.between]
    angle = degrees(Angle(x, y), 6)
    beside = f"between {between[0]} and {between[1]}" if between[0] != between[1] else f"beside {between[0]}"
    words = (
        f"a crease is missing at {vertex}, {beside}, as far as {s.place_name(repair.end)}; "
        "with it the folds close round this point (Kawasaki–Justin)"
    )
    value = {"direction": [x.text(), y.text()], "degrees": angle, "end": _texts(repair.end), "between": between}
    return words, (vertex,), value


def _joined(repair: Joined, s: Subdivision) -> _Told:
    crease = s.drawing.document.creases[repair.crease]
    name = f"{crease.start}–{crease.end}"
    step = difference(repair.after, repair.before)
    by = length_text(dot(step, step), s.drawing.document.unit)
    how = "lengthen" if repair.longer else "shorten"
    place = s.place_name(repair.after)
    onto = f"meet {s.edge_name(repair.meets)} at {place}" if repair.meets is not None else f"end at {place}"
    words = f"{how} crease {name} at {repair.end} by {by} to {onto}"
    value = {"crease": repair.crease, "end": repair.end, "to": _texts(repair.after)}
    return words, (name, repair.end), value | {"length_squared": dot(step, step).text()}


def _closed(repair: Closed, s: Subdivision) -> _Told:
    by = length_text(repair.gap, s.drawing.document.unit)
    a, b = repair.ends
    words = f"close target path {repair.path + 1}: its ends {a} and {b} are {by} apart"
    return words, (a, b), {"path": repair.path, "length_squared": repair.gap.text()}


def _texts(place: Point) -> list[str]:
    return [place.x.text(), place.y.text()]
