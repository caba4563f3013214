"""Every single-field edit of four certificates: the kernel rejects it, or what is left is still true for a reason given
here.
"""

from __future__ import annotations

import copy
import json
import random
from collections import Counter
from collections.abc import Iterator
from fractions import Fraction
from typing import Any

import mpmath
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

import verify
from tests import corpus
from tests.places import PROOFS
from tests.profiles import examples, share
from verify.tasks.certify import Result

Json = dict[str, Any]
Place = tuple[Any, ...]
Edit = tuple[str, Place, Any]

CERTIFICATES = {
    "Q with a cut": "certified/window-two-folds.toml",
    "number field": "certified/star.toml",
    "order": "refuted/trapped-panel.toml",
    "order with a circle": "refuted/ring-of-four.toml",
}
LARGE = 1000  # beyond so many edits a seeded sample is tried


@pytest.fixture(scope="module")
def certified() -> dict[str, Result]:
    return {name: corpus.certified(PROOFS / path) for name, path in CERTIFICATES.items()}


def walk(value: Any, at: Place = ()) -> Iterator[tuple[Place, Any]]:
    yield at, value
    if isinstance(value, dict):
        for key, item in value.items():
            yield from walk(item, (*at, key))
    elif isinstance(value, list):
        for key, item in enumerate(value):
            yield from walk(item, (*at, key))


def changed(value: Any) -> Iterator[tuple[str, Any]]:
    if isinstance(value, int):
        yield "number", value + 1
        yield "number", value - 1
        yield "number", -value
        yield "number", f"{2 * value + 1}/2"
        yield "number", f"{value * 10**30 + 1}/{10**30}"
    elif isinstance(value, str):
        try:
            q = Fraction(value)
        except ValueError:
            yield "text", value + "x"
            yield "text", value[:-1]
        else:
            yield "number", str(q + 1)
            yield "number", str(-q)
            yield "number", str(q + Fraction(1, 2))
            yield "number", str(q + Fraction(1, 10**30))
    for other in (None, True, "", [], {}, 0.5):
        yield "type", other


def edits(certificate: Json) -> Iterator[Edit]:
    for at, value in walk(certificate):
        if at:
            yield "delete", at, None
            for kind, new in changed(value):
                if new != value or type(new) is not type(value):
                    yield kind, at, new
        if isinstance(value, dict):
            yield "unknown key", (*at, "remark"), 1
        if isinstance(value, list):
            for i in range(len(value) - 1):
                if value[i] != value[i + 1]:
                    yield "swap", (*at, i), None
            if value:
                yield "repeat", (*at, len(value) - 1), None


def at(certificate: Json, place: Place) -> Any:
    value: Any = certificate
    for key in place:
        value = value[key]
    return value


def edited(certificate: Json, edit: Edit) -> Json:
    kind, place, new = edit
    result = copy.deepcopy(certificate)
    parent, key = at(result, place[:-1]), place[-1]
    if kind == "delete":
        del parent[key]
    elif kind == "swap":
        parent[key], parent[key + 1] = parent[key + 1], parent[key]
    elif kind == "repeat":
        parent.append(parent[key])
    else:
        parent[key] = new
    return result


# Why an accepted certificate is still true. Nothing here uses the code of the package.


def roots(certificate: Json) -> list[Any]:
    """The real roots of the polynomial in the interval, to 40 digits or so (mpmath)."""
    field = certificate["field"]
    with mpmath.workdps(60):
        low, high = (mpmath.mpf(x.numerator) / x.denominator for x in map(Fraction, field["root"]))
        found = mpmath.polyroots(field["polynomial"][::-1], maxsteps=200, extraprec=200)
        return [root.real for root in found if abs(root.imag) < 1e-40 and low <= root.real <= high]


def same_root(before: Json, after: Json) -> bool:
    """The interval holds one real root of the polynomial, and it is the one of before."""
    if before["field"]["polynomial"] != after["field"]["polynomial"]:
        return False
    one, other = roots(before), roots(after)
    return len(one) == len(other) == 1 and abs(one[0] - other[0]) < 1e-40


def floats(certificate: Json) -> list[tuple[float, float]]:
    """The images of the vertices in floats."""
    (alpha,) = map(float, roots(certificate))

    def number(element: Any) -> float:
        parts = element if isinstance(element, list) else [element]
        return sum(float(Fraction(c)) * alpha**i for i, c in enumerate(parts))

    return [(number(x), number(y)) for x, y in certificate["fold"]["images"]]


def overlap(certificate: Json, f: int, g: int) -> bool:
    images = floats(certificate)
    one, other = (shapely.Polygon([images[v] for v in certificate["faces"][k]]) for k in (f, g))
    return bool(one.intersection(other).area > 1e-9 * one.area)


def strictly_inside(certificate: Json, face: int, point: list[Any]) -> bool:
    corners = [tuple(map(Fraction, certificate["fold"]["images"][v])) for v in certificate["faces"][face]]
    x, y = map(Fraction, point)
    sides = zip(corners, corners[1:] + corners[:1], strict=True)
    turns = [(bx - ax) * (y - ay) - (by - ay) * (x - ax) for (ax, ay), (bx, by) in sides]
    return min(turns) > 0 or max(turns) < 0


def as_set(value: Any) -> Any:
    """Lists without their order, at every depth."""
    if isinstance(value, dict):
        return json.dumps({k: as_set(v) for k, v in value.items()}, sort_keys=True)
    return json.dumps(sorted(map(as_set, value))) if isinstance(value, list) else json.dumps(value)


def snip_places(certificate: Json) -> set[frozenset[Any]]:
    places = certificate["fold"]["images"]
    return {frozenset(tuple(map(Fraction, places[v])) for v in snip) for snip in certificate["cut"]["snips"]}


def still_true(before: Json, after: Json, edit: Edit) -> str:
    """The reason why an edited certificate proves what it did, or an empty text."""
    kind, place, _ = edit
    if place[:2] == ("field", "root") and same_root(before, after):
        return "the interval isolates the same root"
    if place[:2] == ("order", "stack") and kind == "swap":
        f, g = before["order"]["stack"][place[2] : place[2] + 2]
        if not overlap(before, f, g):
            return "the two faces do not lie over each other"
    if place[:2] == ("cut", "snips") and snip_places(before) == snip_places(after):
        return "the same segments of the folded plane"
    if place[:2] == ("refutation", "steps") and kind == "repeat" and after["refutation"]["steps"][-2:] == [[], []]:
        return "the empty clause twice"
    if place[:2] == ("refutation", "reasons"):
        if kind == "swap" and as_set(before["refutation"]) == as_set(after["refutation"]):
            return "the same set of reasons"
        both = (set(map(as_set, certificate["refutation"]["reasons"])) for certificate in (before, after))
        if kind == "repeat" and len(place) == 3 and next(both) == next(both):
            return "one reason twice"
        if len(place) > 4 and place[3] == "point":
            reason = after["refutation"]["reasons"][place[2]]
            if all(strictly_inside(after, f, reason["point"]) for f in reason["faces"]):
                return "another point inside all three faces"
    return ""


def tried(name: str, certificate: Json) -> list[Edit]:
    listed = list(edits(certificate))
    if len(listed) <= LARGE:
        return listed
    short = [
        e
        for e in listed
        if e[1][0] in ("field", "order", "format", "proves", "statement_sha256", "refutation")
        and e[0] not in ("type", "unknown key")
    ]
    rest = random.Random(name).sample([e for e in listed if e not in short], share(500))
    return short + rest


def check(name: str, result: Result) -> tuple[int, Counter[str], Counter[str]]:
    certificate = result.certificate or {}
    reasons: Counter[str] = Counter()
    codes: Counter[str] = Counter()
    chosen = tried(name, certificate)
    for edit in chosen:
        after = edited(certificate, edit)
        outcome = verify.audit(result.document, after)
        if outcome.accepted:
            why = still_true(certificate, after, edit)
            assert why, f"accepted: {edit}"
            assert outcome.proves == result.verdict
            reasons[why] += 1
        else:
            assert outcome.code not in ("", "internal"), edit
            assert outcome.reason
            assert outcome.proves is None
            codes[outcome.code] += 1
    assert sum(reasons.values()) + sum(codes.values()) == len(chosen)
    return len(chosen), reasons, codes


EXPECTED = {
    "Q with a cut": {
        "the interval isolates the same root",
        "the two faces do not lie over each other",
        "the same segments of the folded plane",
    },
    "number field": {"the interval isolates the same root", "the two faces do not lie over each other"},
    "order": {
        "the interval isolates the same root",
        "the same set of reasons",
        "one reason twice",
        "the empty clause twice",
    },
    "order with a circle": {
        "the interval isolates the same root",
        "the same set of reasons",
        "one reason twice",
        "the empty clause twice",
        "another point inside all three faces",
    },
}


# of two orders that do not exist the one with layers in a circle
@pytest.mark.parametrize(
    "name", [pytest.param(name, marks=[pytest.mark.long] * (name == "order")) for name in CERTIFICATES]
)
def test_single_edits(name: str, certified: dict[str, Result]) -> None:
    count, reasons, codes = check(name, certified[name])
    assert count >= 200
    assert set(reasons) == EXPECTED[name]
    assert sum(reasons.values()) <= count // 8
    assert len(codes) >= 15  # rejected for many different reasons, not for one that hides the others


@pytest.mark.parametrize("name", CERTIFICATES)
def test_every_key_is_needed(name: str, certified: dict[str, Result]) -> None:
    certificate = certified[name].certificate or {}
    keys = [place for place, _ in walk(certificate) if place and isinstance(place[-1], str)]
    assert len(keys) >= 18
    for place in keys:
        outcome = verify.audit(certified[name].document, edited(certificate, ("delete", place, None)))
        assert not outcome.accepted, place


def accepted(result: Result, certificate: Json) -> bool:
    return verify.audit(result.document, certificate).accepted


@pytest.mark.parametrize("name", CERTIFICATES)
def test_equal_certificates_in_other_words_are_accepted(name: str, certified: dict[str, Result]) -> None:
    result = certified[name]
    c = result.certificate or {}
    assert accepted(result, c)
    turned_loops = c | {"faces": [loop[1:] + loop[:1] for loop in c["faces"]]}
    assert accepted(result, turned_loops)
    assert not accepted(result, c | {"faces": [loop[::-1] for loop in c["faces"]]})
    if name == "number field":
        return
    moved = [_moved(place) for place in c["fold"]["images"]]
    assert accepted(result, c | {"fold": c["fold"] | {"images": moved}} | _moved_points(c))
    stretched = [[str(2 * Fraction(x)), str(2 * Fraction(y))] for x, y in c["fold"]["images"]]
    assert not accepted(result, c | {"fold": c["fold"] | {"images": stretched}})


def _moved(place: list[Any]) -> list[str]:
    """Turned and shifted: 3² + 4² = 5²."""
    x, y = map(Fraction, place)
    return [str((3 * x - 4 * y) / 5 + 7), str((4 * x + 3 * y) / 5 - 2)]


def _moved_points(c: Json) -> Json:
    if c["proves"] == "certified":
        return {}
    refutation = copy.deepcopy(c["refutation"])
    for reason in refutation["reasons"]:
        if "point" in reason:
            reason["point"] = _moved(reason["point"])
    return {"refutation": refutation}


@pytest.mark.parametrize("name", ["Q with a cut", "number field"])
def test_looked_at_from_behind(name: str, certified: dict[str, Result]) -> None:
    """Images mirrored, every face turned over, the stack upside down: the same folded sheet from the other side."""
    result = certified[name]
    c = copy.deepcopy(result.certificate or {})

    def negated(element: Any) -> Any:
        return [str(-Fraction(x)) for x in element] if isinstance(element, list) else str(-Fraction(element))

    c["fold"]["images"] = [[negated(x), y] for x, y in c["fold"]["images"]]
    assert not accepted(result, c)
    c["fold"]["turned"] = [f for f in range(len(c["faces"])) if f not in c["fold"]["turned"]]
    assert not accepted(result, c)
    c["order"]["stack"].reverse()
    assert accepted(result, c)


@examples(40)
@given(st.sampled_from(sorted(CERTIFICATES)), st.randoms(use_true_random=False))
def test_numbering_does_not_matter(name: str, shuffle: random.Random) -> None:
    result = corpus.certified(PROOFS / CERTIFICATES[name])
    c = copy.deepcopy(result.certificate or {})
    vertex, face = list(range(len(c["vertices"]))), list(range(len(c["faces"])))
    shuffle.shuffle(vertex)
    shuffle.shuffle(face)

    def placed(items: list[Any], number: list[int]) -> list[Any]:
        out: list[Any] = [None] * len(items)
        for old, item in enumerate(items):
            out[number[old]] = item
        return out

    def vertices(numbers: list[int]) -> list[int]:
        return [vertex[v] for v in numbers]

    c["vertices"] = placed(c["vertices"], vertex)
    c["faces"] = placed([vertices(loop) for loop in c["faces"]], face)
    c["chains"] = {key: [vertices(chain) for chain in chains] for key, chains in c["chains"].items()}
    c["fold"] = {"images": placed(c["fold"]["images"], vertex), "turned": sorted(face[f] for f in c["fold"]["turned"])}
    if "order" in c:
        c["order"]["stack"] = [face[f] for f in c["order"]["stack"]]
    if "cut" in c:
        c["cut"]["snips"] = [vertices(s) for s in c["cut"]["snips"]]
    if "refutation" in c:
        for reason in c["refutation"]["reasons"]:
            for key in reason:
                if key in ("fold", "edge"):
                    reason[key] = vertices(reason[key])
                elif key == "edges":
                    reason[key] = [vertices(e) for e in reason[key]]
                elif key == "face":
                    reason[key] = face[reason[key]]
                elif key == "faces":
                    reason[key] = [face[f] for f in reason[key]]
        c["refutation"]["steps"] = [[[face[f], face[g]] for f, g in step] for step in c["refutation"]["steps"]]
    outcome = verify.audit(result.document, c)
    assert outcome.accepted, (outcome.code, outcome.reason)


@pytest.mark.parametrize("name", ["order", "order with a circle"])
def test_every_reason_is_needed(name: str, certified: dict[str, Result]) -> None:
    """The reasons are minimal: no proper part of them is a contradiction, so no derivation can do without one."""
    result = certified[name]
    c = result.certificate or {}
    assert c["refutation"]["reasons"]
    for i in range(len(c["refutation"]["reasons"])):
        assert not accepted(result, edited(c, ("delete", ("refutation", "reasons", i), None)))
