"""Doors that a small edit of a good case might open: each is tried, and the code of the refusal pinned."""

from __future__ import annotations

import copy
import json
import random
from collections.abc import Callable
from fractions import Fraction
from itertools import combinations, permutations, product
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.places import PROOFS
from tests.profiles import examples
from verify.kernel.check import check_bytes
from verify.kernel.expression import Evaluator, tokens
from verify.kernel.folded import Fold, check_fold
from verify.kernel.numbers import Algebraic, Field, lowest
from verify.kernel.order import check_order
from verify.kernel.paper import Paper
from verify.kernel.plane import Point
from verify.kernel.reading import Malformed, Rejected, Work
from verify.kernel.recipe import UnfoldStep
from verify.kernel.refutation import of_two_edges
from verify.kernel.statement import read_document
from verify.kernel.subdivision import BORDER, Subdivision, check_face
from verify.kernel.table import Table

from . import test_certified as certified
from . import test_recipe as recipes
from . import test_refuted as refuted
from .examples import Case, as_bytes, ladder, map22, refuting, run, sealed, square, strip, windmill, window

Q = Field((0, 1), Fraction(0), Fraction(0), Work(0, 0))
Place = tuple[int, int]
GOOD: dict[str, Callable[[], Case]] = {
    **certified.ACCEPTED,
    **{f"refuted: {name}": make for name, (make, _) in refuted.ACCEPTED.items()},
    **{f"recipe: {name}": make for name, make in recipes.ALL.items()},
}

# ---- faces: convex, counter-clockwise, once round


def turn(p: Place, q: Place, r: Place) -> int:
    return (q[0] - p[0]) * (r[1] - q[1]) - (q[1] - p[1]) * (r[0] - q[0])


def hull(points: list[Place]) -> list[Place]:
    """The corners of the convex hull, counter-clockwise (Andrew's monotone chain)."""

    def chain(row: list[Place]) -> list[Place]:
        found: list[Place] = []
        for p in row:
            while len(found) > 1 and turn(found[-2], found[-1], p) <= 0:
                found.pop()
            found.append(p)
        return found[:-1]

    row = sorted(set(points))
    return chain(row) + chain(row[::-1])


def area(walk: list[Place]) -> int:
    return sum(walk[i - 1][0] * p[1] - walk[i - 1][1] * p[0] for i, p in enumerate(walk))


def convex(walk: list[Place]) -> bool:
    """By the definition: all on the left of each edge or on it, straight corners go on, as much area as the hull."""
    n = len(walk)
    for i in range(n):
        p, q, r = walk[i], walk[(i + 1) % n], walk[(i + 2) % n]
        turns = [turn(p, q, x) for x in walk]
        if min(turns) < 0 or max(turns) == 0:
            return False
        if turn(p, q, r) == 0 and (q[0] - p[0]) * (r[0] - q[0]) + (q[1] - p[1]) * (r[1] - q[1]) <= 0:
            return False
    return area(walk) == area(hull(walk))


def passes(walk: list[Place]) -> bool:
    try:
        check_face(Q, [(x, y, 1) for x, y in walk], "face")
    except Rejected:
        return False
    return True


places = st.tuples(st.integers(-3, 3), st.integers(-3, 3))


@examples(500)
@given(st.lists(places, min_size=3, max_size=8))
def test_a_face_is_convex_by_its_turns_iff_by_the_definition(walk: list[Place]) -> None:
    assert passes(walk) == convex(walk)


@examples(300)
@given(st.lists(places, min_size=3, max_size=9), st.data())
def test_hulls_pass_and_their_spoilt_copies_do_not(points: list[Place], data: st.DataObject) -> None:
    walk = hull(points)
    if len(walk) < 3:
        return
    start = data.draw(st.integers(0, len(walk) - 1))
    walk = walk[start:] + walk[:start]
    assert passes(walk)
    doubled = [(2 * x, 2 * y) for x, y in walk]
    middles = [(a[0] + b[0], a[1] + b[1]) for a, b in zip(walk, walk[1:] + walk[:1], strict=True)]
    assert passes(
        [p for pair in zip(doubled, middles, strict=True) for p in pair]
    )  # a corner of 180 degrees on each edge
    assert not passes(walk[::-1])
    assert not passes(walk * 2)
    assert not passes([*walk, walk[-1]])
    assert not passes([walk[0], walk[1], walk[0], *walk[1:]])


def test_stars_turn_left_everywhere() -> None:
    star = [(0, 5), (-3, -4), (5, 2), (-5, 2), (3, -4)]
    assert all(turn(star[i - 2], star[i - 1], star[i]) > 0 for i in range(5))
    assert not passes(star)


# ---- edits of certificates

Edit = Callable[[dict[str, Any], dict[str, Any]], object]


def folded_over() -> Case:
    """Two target lines, one over the other; two snips are allowed, and one is enough."""
    document, cert = strip(4, [(1, "target"), (2, "valley"), (3, "target")], snips=2)
    cert["cut"] = {"snips": [[2, 7]]}  # from a vertex of one layer to one of the other
    return document, cert


def split(d: dict[str, Any], c: dict[str, Any]) -> None:
    """The centre of the map as two vertices at one place."""
    c["vertices"].append([1, 1])
    c["fold"]["images"].append([1, 1])
    c["faces"][2][c["faces"][2].index(4)] = 9


def closure() -> Case:
    return next(make() for make, kind in refuted.ACCEPTED.values() if kind == "closure")


def derived() -> Case:
    return next(make() for make, kind in refuted.ACCEPTED.values() if kind == "order")


def goes_on(step: list[Any]) -> Callable[[dict[str, Any], dict[str, Any]], None]:
    return lambda d, c: c["refutation"]["steps"].append(step)


EDITS: list[tuple[str, Callable[[], Case], str, Edit]] = [
    ("a face passed twice", map22, "faces.convex", lambda d, c: c["faces"].__setitem__(0, c["faces"][0] * 2)),
    ("a corner repeated", map22, "faces.convex", lambda d, c: c["faces"][0].insert(0, c["faces"][0][0])),
    ("a vertex split", map22, "chains.border", split),
    ("a hole as a face", window, "faces.convex", lambda d, c: c["faces"].append([7, 6, 5, 4])),
    ("a snip to one place", folded_over, "cut.snips", lambda d, c: c["cut"].update(snips=[[2, 6]])),
    ("a snip to one place beside", folded_over, "cut.snips", lambda d, c: c["cut"]["snips"].append([7, 3])),
    ("a snip to itself", folded_over, "cut.snips", lambda d, c: c["cut"].update(snips=[[2, 2]])),
    ("no snips", folded_over, "cut.missed", lambda d, c: c["cut"].update(snips=[])),
    ("a snip through three", folded_over, "certificate.length", lambda d, c: c["cut"].update(snips=[[2, 3, 7]])),
    ("a snip past the vertices", folded_over, "certificate.range", lambda d, c: c["cut"].update(snips=[[2, 10]])),
    ("certified, an empty kind", map22, "certificate.key", lambda d, c: c.update(refutation={"kind": ""})),
    ("certified, refutation null", map22, "certificate.key", lambda d, c: c.update(refutation=None)),
    ("refuted, an empty kind", closure, "certificate.type", lambda d, c: c.update(refutation={"kind": ""})),
    ("refuted, no kind", closure, "certificate.key", lambda d, c: c["refutation"].pop("kind")),
    ("refuted, the kind null", closure, "certificate.type", lambda d, c: c["refutation"].update(kind=None)),
    ("refuted, a list of kinds", closure, "certificate.type", lambda d, c: c["refutation"].update(kind=["closure"])),
    ("refuted, no table", closure, "certificate.type", lambda d, c: c.update(refutation="closure")),
    ("closure said to be certified", closure, "certificate.key", lambda d, c: c.update(proves="certified")),
    (
        "closure, one face",
        closure,
        "refutation.closure",
        lambda d, c: c["refutation"].update(walk=[0], edges=[c["faces"][0][:2]]),
    ),
    ("closure, nothing", closure, "certificate.length", lambda d, c: c["refutation"].update(walk=[], edges=[])),
    ("closure, an edge short", closure, "certificate.length", lambda d, c: c["refutation"]["edges"].pop()),
    (
        "closure, turned by a step",
        closure,
        "refutation.closure",
        lambda d, c: c["refutation"]["edges"].append(c["refutation"]["edges"].pop(0)),
    ),
    ("derived, one more after the empty clause", derived, "refutation.order", goes_on([[0, 1]])),
    ("derived, a face over itself", derived, "refutation.step", goes_on([[1, 1]])),
    ("derived, nothing", derived, "certificate.length", lambda d, c: c["refutation"].update(steps=[])),
    ("derived from nothing", derived, "refutation.step", lambda d, c: c["refutation"].update(reasons=[], steps=[[]])),
]


@pytest.mark.parametrize(("name", "make", "code", "edit"), EDITS, ids=[name for name, *_ in EDITS])
def test_edited(name: str, make: Callable[[], Case], code: str, edit: Edit) -> None:
    document, cert = make()
    assert run((document, cert)).accepted
    edit(document, cert)
    outcome = run((document, cert))
    assert not outcome.accepted
    assert outcome.code == code, outcome.reason


def test_after_the_empty_clause_all_follows_and_the_last_must_be_empty() -> None:
    document, cert = derived()
    for steps in ([[]], [[[0, 1]], []], [[[0, 1], [1, 0]], [[1, 0]], []]):
        cert["refutation"]["steps"] += steps
        assert run((document, cert)).accepted


def test_snips_by_vertices_of_any_layer() -> None:
    for u, v in ((2, 3), (2, 7), (6, 3), (6, 7), (7, 2)):
        document, cert = folded_over()
        cert["cut"]["snips"] = [[u, v]]
        outcome = run((document, cert))
        assert (outcome.accepted, outcome.facts["layers"], outcome.facts["snips"]) == (True, 2, 1)


OPTIONAL = ("fold", "order", "cut", "refutation", "steps")
SPARE: dict[str, Any] = {
    "fold": {"images": [], "turned": []},
    "order": {"stack": [], "except": []},
    "cut": {"snips": [[0, 1]]},
    "refutation": {"kind": "closure", "walk": [0], "edges": [[0, 1]]},
    "steps": [],
}


@pytest.mark.parametrize("name", GOOD)
def test_exactly_the_keys_of_the_kind(name: str) -> None:
    document, cert = GOOD[name]()
    assert run((document, cert)).accepted
    for key in OPTIONAL:
        for spare in [None, SPARE[key]] if key not in cert else [None]:
            changed = {k: v for k, v in cert.items() if k != key} if key in cert else {**cert, key: spare}
            outcome = run((document, changed))
            assert not outcome.accepted
            missing = key == "refutation" and key in cert  # then there is no kind that could say which keys belong
            assert outcome.code == ("certificate.type" if missing else "certificate.key"), key
    for key in set(cert) - {*OPTIONAL, "format", "proves"}:
        outcome = run((document, {k: v for k, v in cert.items() if k != key}))
        assert (outcome.accepted, outcome.code) == (False, "certificate.key")


@pytest.mark.parametrize("name", GOOD)
def test_no_key_twice_anywhere(name: str) -> None:
    """Each object of the certificate with its first key once more, at the end and with the same value."""
    document, cert = GOOD[name]()
    text, tried = as_bytes(cert), 0
    for at in (i for i, c in enumerate(text) if c == ord("{")):
        if text[at + 1 : at + 2] != b'"':
            continue
        key = text[at + 1 : text.index(b'":', at) + 2]
        outcome = check_bytes(as_bytes(document), text[: at + 1] + key + b" 0, " + text[at + 1 :], toml=False)
        assert (outcome.malformed, outcome.code) == (True, "certificate.unreadable")
        tried += 1
    assert tried >= 3


# ---- layer orders with exceptions


@pytest.mark.parametrize("width", [1, 2])
def test_orders_of_a_windmill_with_any_exceptions(width: int) -> None:
    """Four valleys: each arm over the middle. Accepted iff no three faces with a common point lie in a circle."""
    arms = [1, 2, 3, 4]
    # images [0, w] x [0, 3], [0, 3] x [0, w], [3 - w, 3] x [0, 3], [0, 3] x [3 - w, 3]
    box = dict(zip(arms, [(0, width, 0, 3), (0, 3, 0, width), (3 - width, 3, 0, 3), (0, 3, 3 - width, 3)], strict=True))

    def common(*faces: int) -> bool:
        a, b, c, d = zip(*[box[f] for f in faces], strict=True)
        return max(a) < min(b) and max(c) < min(d)

    overlapping = [pair for pair in combinations(arms, 2) if common(*pair)]
    seen = {True: 0, False: 0}
    for signs in product((False, True), repeat=len(overlapping)):
        over = {pair if up else pair[::-1] for pair, up in zip(overlapping, signs, strict=True)}  # (above, below)
        circle = any(
            common(*three) and {(three[i], three[(i + 1) % 3]) for i in range(3)} <= over
            for three in permutations(arms, 3)
        )
        stack = list(arms)
        exceptions = sorted([f, g] for f, g in over if stack.index(f) < stack.index(g))
        document, cert = windmill(width)
        cert["order"] = {"stack": [0, *stack], "except": exceptions}
        outcome = run((document, cert))
        assert outcome.accepted == (not circle), outcome.reason
        assert outcome.code == ("order.transitivity" if circle else "")
        seen[circle] += 1
    assert seen[False] > 10
    assert (seen[True] > 0) == (width == 2)


# ---- numbers


@given(st.integers(2, 6), st.data())
def test_products_by_long_division(degree: int, data: st.DataObject) -> None:
    """Against the product of the whole polynomials and division by p; alpha itself is not looked at."""
    small = st.integers(-9, 9)
    p = [data.draw(small) for _ in range(degree)]
    a, b = ([data.draw(small) for _ in range(degree)] for _ in range(2))
    whole = [0] * (2 * degree - 1)
    for i, j in product(range(degree), repeat=2):
        whole[i + j] += a[i] * b[j]
    while len(whole) > degree:
        lead = whole.pop()
        for i in range(degree):
            whole[len(whole) - degree + i] -= lead * p[i]
    field = object.__new__(Field)
    field.p, field.degree = (*p, 1), degree
    assert field.product(a, b) == whole


EIGHTH = Field((-2, 0, 1), Fraction(1), Fraction(2), Work(0, 0))
HALF_ROOT = Algebraic(EIGHTH, (0, 1), 2)


def value(text: str, values: dict[str, Any]) -> int:
    """The sign of the text's value, which is to be compared with zero."""
    evaluator = Evaluator(
        EIGHTH,
        {
            key: c if isinstance(c, Algebraic) else lowest(EIGHTH, [int(2 * x) for x in c], 2)
            for key, c in values.items()
        },
    )
    found = evaluator.value(tokens(text))
    evaluator.finish()
    return EIGHTH.sign(found)


def test_a_key_has_one_value() -> None:
    """tan(pi/8) = sqrt 2 - 1: its reciprocal has its own key, and tangents of one angle mod pi share theirs."""
    cosine, inner = {"cos(pi/4)": (0, Fraction(1, 2))}, {"1/(1+cos(pi*1/4))": (2, -1)}
    one, other = inner | cosine, {"1/(1+cos(pi*3/4))": (2, 1)} | cosine
    root = {"sqrt(2)": (0, 1)}
    assert value("tan(pi/8) - sqrt(2) + 1", one | root) == 0
    assert value("tan(9*pi/8) - tan(-7*pi/8)", one) == 0
    assert value("tan(pi/8) - tan(17*pi/8) + tan(3*pi/8) - sqrt(2) - 1", one | other | root) == 0
    # the same number written out has a key of its own, with its own brackets
    by_hand = {"1/((1+cos(pi*1/4)))": (2, -1)}
    assert value("1/(1+cos(pi*1/4)) - 2 + sqrt(2)", by_hand | cosine | root) == 0
    assert value("sin(pi/4)*(1/(1+cos(pi*1/4))) - tan(pi/8)", one | by_hand) == 0
    for text, values, code in (
        ("1/(1+cos(pi*1/4))", one, "values.missing"),
        ("tan(pi/8)", by_hand | cosine, "values.missing"),
        ("tan(pi/8)", one | by_hand, "values.unused"),
        ("tan(pi/8)", {**one, "1/(1+cos(pi*1/4))": (2, 1)}, "values.wrong"),
        ("tan(-pi/8)", one, "values.missing"),  # 1/(1+cos(pi*7/4)), the same number under another key
        ("1/sqrt(2)/sqrt(2)", {"1/(sqrt(2))": (0, Fraction(1, 2))}, "values.missing"),
        ("2/(+sqrt(2))", root | {"1/(sqrt(2))": (0, Fraction(1, 2))}, "values.missing"),
    ):
        with pytest.raises(Rejected) as caught:
            value(text, values)
        assert caught.value.code == code, text
    assert (
        value("2/+sqrt(2) - 2/ - -sqrt(2)", root | {f"1/({s}sqrt(2))": (0, Fraction(1, 2)) for s in ("+", "--")}) == 0
    )


def test_a_divisor_rational_only_by_its_value_needs_its_key() -> None:
    """alpha as the root 3 of (x - 2)(x - 3): the square root of 9 may be written alpha."""
    six = Field((6, -5, 1), Fraction(14, 5), Fraction(7, 2), Work(0, 0))
    root, third = Algebraic(six, (0, 1)), Algebraic(six, (1, 0), 3)
    evaluator = Evaluator(six, {"sqrt(9)": root, "1/(sqrt(9))": third})
    assert six.sign(evaluator.value(tokens("1/sqrt(9)")) - Fraction(1, 3)) == 0
    evaluator.finish()
    with pytest.raises(Malformed) as caught:
        Evaluator(six, {"sqrt(9)": root}).value(tokens("1/(sqrt(9)-3)"))
    assert caught.value.code == "document.number"
    with pytest.raises(Rejected) as missing:
        Evaluator(six, {"sqrt(9)": root}).value(tokens("1/sqrt(9)"))
    assert missing.value.code == "values.missing"


# ---- decimals


def coordinates(text: bytes, toml: bool) -> str:
    """The digest of the map with a text in place of p00's x, or the code of the refusal."""
    document, _ = map22()
    if toml:
        rows = [f"{name} = [{'HERE' if name == 'p00' else x}, {y}]" for name, (x, y) in document["points"].items()]
        head = f"format = {document['format']!r}\ncreases = {document['creases']!r}\n[sheet]\noutline = "
        data = (head + f"{document['sheet']['outline']!r}\n[points]\n" + "\n".join(rows)).encode()
    else:
        data = as_bytes(document).replace(b'"p00": [0', b'"p00": [HERE')
    assert data.count(b"HERE") == 1
    data = data.replace(b"HERE", text)
    outcome = check_bytes(data, as_bytes(sealed(map22())[1]), toml=toml)
    if outcome.malformed:
        return outcome.code
    assert (outcome.accepted, outcome.code) in ((True, ""), (False, "digest"))
    return read_document(data, toml).digest


@pytest.mark.parametrize(
    ("toml", "texts"),
    [
        (True, [b"1.5", b"'1.5'", b"' 1.5\t'"]),
        (True, [b"1_000.5", b"1000.5", b"'1000.5'"]),
        (True, [b"0x10", b"16", b"1_6", b"'16'", b"0b10000"]),
        (True, [b"1_0e0_2", b"10e02", b"'10e02'"]),
        (True, [b"+1.5", b"'+1.5'", b"'+ 1.5'"]),
        (True, [b"0", b"-0", b"+0", b"'0'"]),
        (False, [b"1.50", b'"1.50"']),
        (False, [b"1E2", b'"1E2"']),
        (False, [b"-0.0", b'"-0.0"', b'"- 0.0"']),
        (False, [b"0", b"-0", b'"0"']),
    ],
)
def test_numbers_of_one_text(toml: bool, texts: list[bytes]) -> None:
    digests = {coordinates(text, toml) for text in texts}
    assert len(digests) == 1
    assert len(digests.pop()) == 64


def test_a_number_written_otherwise_is_another_statement() -> None:
    assert len({coordinates(text, False) for text in (b"1.5", b"1.50", b'"3/2"', b'"(1.5)"', b'"+1.5"')}) == 5


@pytest.mark.parametrize(
    ("toml", "text", "code"),
    [
        (True, b"inf", "digest"),
        (True, b"nan", "digest"),
        (True, b"true", "document.type"),
        (True, b"1979-05-27", "document.type"),
        (True, b"07:32:00", "document.type"),
        (True, b"[1.5]", "document.type"),
        (True, b"'1_000'", "document.number"),
        (True, b"'0x10'", "digest"),
        (True, b"1.", "document.unreadable"),
        (True, b"1__0.5", "document.unreadable"),
        (False, b"NaN", "document.number"),
        (False, b"Infinity", "document.number"),
        (False, b"-Infinity", "document.number"),
        (False, b"1_000", "document.unreadable"),
        (False, b'"1_000"', "document.number"),
        (False, b".5", "document.unreadable"),
        (False, b'".5"', "document.number"),
        (False, b"true", "document.type"),
        (False, b"null", "document.type"),
        (False, '"\u0661"'.encode(), "document.number"),
        (False, b'"1\\n/ 2"', ""),
        (False, b'"1\\r/2"', "document.number"),
        (False, b"9" * 1001, "document.range"),
        (False, b"9" * 4301, "document.unreadable"),
    ],
)
def test_no_number(toml: bool, text: bytes, code: str) -> None:
    found = coordinates(text, toml)
    if code in ("digest", ""):  # the form is good; what it says is looked at after the digest
        assert len(found) == 64
        document, cert = map22()
        document["points"]["p00"][0] = text.decode().strip("'")
        if code:
            assert run(sealed((document, cert))).code == "document.number"
    else:
        assert found == code


# ---- recipes


def whole(made: Case, **refutation: Any) -> Case:
    """A refutation beside steps that are all carried out."""
    document, cert = made
    return sealed((document, cert | {"proves": "refuted", "refutation": refutation}))


def turned_over() -> Case:
    return recipes.strip([recipes.HALF, {"turn": "over"}], [recipes.HALVED, {}])


NOT_REFUTED: list[tuple[str, Callable[[], Case], str]] = [
    ("no reason", lambda: whole(recipes.half(), kind="step", why="None"), "certificate.type"),
    ("an unknown reason", lambda: whole(recipes.half(), kind="step", why="torn"), "certificate.type"),
    ("the reason null", lambda: whole(recipes.half(), kind="step", why=None), "certificate.type"),
    ("a list of reasons", lambda: whole(recipes.half(), kind="step", why=["blocked"]), "certificate.type"),
    ("why is missing", lambda: whole(recipes.half(), kind="step"), "certificate.key"),
    (
        "faces without blocked",
        lambda: whole(recipes.half(), kind="step", why="few-layers", faces=[0, 1]),
        "certificate.key",
    ),
    ("a turn is refuted", lambda: whole(turned_over(), kind="step", why="blocked", faces=[0, 1]), "refutation.step"),
    (
        "a mark is refuted",
        lambda: recipes.refuting(recipes.marked(), 2, kind="step", why="no-solution"),
        "refutation.step",
    ),
    ("closure", lambda: whole(recipes.half(), kind="closure", walk=[0], edges=[[0, 1]]), "certificate.type"),
    ("an empty kind", lambda: whole(recipes.half(), kind=""), "certificate.type"),
    ("off without along", lambda: whole(recipes.cut_twice(), kind="off", edge=[2, 3]), "refutation.off"),
    ("off, on the line", lambda: whole(recipes.along(), kind="off", edge=[2, 3]), "refutation.off"),
    ("off, no target", lambda: whole(recipes.along(), kind="off", edge=[4, 5]), "refutation.off"),
    ("off, no edge", lambda: whole(recipes.along(), kind="off", edge=[2, 7]), "edge"),
    ("off, without a target", lambda: whole(recipes.along_without_target(), kind="off", edge=[2, 3]), "refutation.off"),
    (
        "stray along, with an edge",
        lambda: whole(recipes.along(), kind="stray", edge=[2, 3], cell={"face": 0}),
        "certificate.key",
    ),
    (
        "stray along, a face beside it",
        lambda: whole(recipes.along(), kind="stray", cell={"face": 0}),
        "refutation.stray",
    ),
    ("stray without an edge", lambda: whole(recipes.cut_twice(), kind="stray", cell={"face": 0}), "certificate.key"),
    ("apart without a target", lambda: whole(recipes.half(), kind="apart", edges=[[2, 3]]), "refutation.target"),
]


@pytest.mark.parametrize(("name", "make", "code"), NOT_REFUTED, ids=[name for name, *_ in NOT_REFUTED])
def test_not_refuted(name: str, make: Callable[[], Case], code: str) -> None:
    outcome = run(make())
    assert (outcome.accepted, outcome.code) == (False, code), outcome.reason


@pytest.mark.parametrize("name", recipes.REFUTED)
def test_no_other_reason_for_a_step(name: str) -> None:
    document, cert = recipes.REFUTED[name][0]()
    if cert["refutation"]["kind"] != "step":
        return
    for why in ("no-solution", "few-layers", "blocked"):
        other = copy.deepcopy(cert)
        other["refutation"] = {"kind": "step", "why": why} | ({"faces": [0, 1]} if why == "blocked" else {})
        if why != cert["refutation"]["why"]:
            assert not run((document, other)).accepted


def test_blocked_by_exactly_these() -> None:
    """The two faces in their order; each other pair of faces is refused."""
    document, cert = recipes.blocked()
    accepted = []
    for pair in product(range(4), repeat=2):
        cert["refutation"]["faces"] = list(pair)
        outcome = run((document, cert))
        assert outcome.code == ("" if outcome.accepted else "steps.blocked")
        accepted += [pair] * outcome.accepted
    good = recipes.blocked()[1]["refutation"]["faces"]
    assert tuple(good) in accepted
    assert (good[1], good[0]) not in accepted
    assert all(f != g for f, g in accepted)


@pytest.mark.parametrize("name", recipes.ACCEPTED)
def test_a_recipe_does_not_depend_on_the_numbers_of_the_faces(name: str) -> None:
    """The stack starts in the order of the numbers; no answer may depend on them."""
    document, cert = recipes.ACCEPTED[name]()
    count = len(cert["faces"])
    for shift in {1, count // 2, count - 1} - {0}:
        order = [(i + shift) % count for i in range(count)]  # the new face i is the old face order[i]
        for new in (order, order[::-1]):
            number = {old: i for i, old in enumerate(new)}
            other = json.loads(json.dumps(cert))  # no list is shared
            other["faces"] = [cert["faces"][old] for old in new]
            for step in [*other["steps"], other.get("cut", {})]:
                for item in step.get("marks", {}).values():
                    item[0] = number[item[0]]
                if "face" in step:
                    step["face"] = number[step["face"]]
            outcome = run((document, other))
            assert outcome.accepted, outcome.reason


def test_ladder_in_two_ways() -> None:
    """Two snips for two rungs: the same certificate with one snip is refused, and nothing refutes what is certified."""
    document, cert = ladder(2, 2)
    assert run((document, cert)).accepted
    edges = document_edges(cert)
    for chosen in combinations(edges, 3):
        made = refuting(copy.deepcopy((document, cert)), {"kind": "apart", "edges": [list(e) for e in chosen]})
        assert not run(made).accepted
    for kind, count in (("face", 2), ("vertex", len(cert["vertices"]))):
        for e, n in product(edges, range(count)):
            made = refuting(copy.deepcopy((document, cert)), {"kind": "stray", "edge": list(e), "cell": {kind: n}})
            assert run(made).code in ("refutation.stray", "refutation.target")


def document_edges(cert: dict[str, Any]) -> list[tuple[int, int]]:
    return sorted({(min(p), max(p)) for face in cert["faces"] for p in zip(face, face[1:] + face[:1], strict=True)})


def test_nothing_refutes_the_square_by_a_vertex() -> None:
    document, cert = square()
    for v in range(len(cert["vertices"])):
        made = refuting(copy.deepcopy((document, cert)), {"kind": "maekawa", "vertex": v})
        assert run(made).code == "refutation.maekawa"


def test_an_image_of_other_lengths_is_no_isometry() -> None:
    """The first edge of a square is twice as long, and all else half as far from its start: the products of the first
    edge with the other steps are as they should be, and only its own length tells.
    """
    square_of: list[Point] = [(0, 0, 1), (1, 0, 1), (1, 1, 1), (0, 1, 1)]
    images: list[Point] = [(0, 0, 1), (2, 0, 1), (1, 1, 2), (0, 1, 2)]
    sub: Any = SimpleNamespace(vertices=square_of, faces=[[0, 1, 2, 3]], beside=[])
    check_fold(Fold(square_of, frozenset()), sub, Q)
    with pytest.raises(Rejected) as refusal:
        check_fold(Fold(images, frozenset()), sub, Q)
    assert refusal.value.code == "fold.isometry"


def test_folds_are_undone_one_after_the_other() -> None:
    """After three folds two steps that undo one each lead to the state after the first."""
    paper: Any = SimpleNamespace(steps=[UnfoldStep(1), UnfoldStep(1)], now=3, before=[0, 1, 2])
    for number, state in ((1, 2), (2, 1)):
        Paper.take(paper, number, {})
        assert paper.now == state
    assert paper.before == [0]


def test_edges_that_only_touch_share_no_segment() -> None:
    """Two creases end to end on one line of a flat sheet of four squares: no condition follows."""
    places = [(x, y) for y in range(3) for x in range(3)]
    faces = [[v, v + 1, v + 4, v + 3] for v in (0, 1, 3, 4)]
    face_of = {pair: f for f, face in enumerate(faces) for pair in zip(face, face[1:] + face[:1], strict=True)}
    edges = [(u, v) for n, (u, v) in enumerate(face_of) if (v, u) not in [*face_of][:n]]
    number = {pair: n for n, (u, v) in enumerate(edges) for pair in ((u, v), (v, u))}
    beside = [(face_of[u, v], face_of.get((v, u), BORDER)) for u, v in edges]
    points: list[Point] = [(x, y, 1) for x, y in places]
    sub = Subdivision(points, faces, edges, number, beside, ["either"] * len(edges), {})
    table = Table(Q, sub, Fold(points, frozenset()))
    lower, upper = [1, 4], [4, 7]
    assert of_two_edges({"edges": [lower, upper]}, "core", table) == []
    assert table.gap(table.line_of[number[1, 4]], number[1, 4], number[4, 7]) == (1, 1)


FOLDED = sorted(
    path
    for path in (PROOFS / "recipes").iterdir()
    if (PROOFS / "certificates" / "recipes" / f"{path.stem}.certificate.json").exists()
)


@pytest.fixture
def orders_checked(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """After each step of any recipe the kernel also checks fold map and layer order of the state; their number so
    far.
    """
    counted, take = [0], Paper.take

    def checking(self: Paper, *step: Any) -> None:
        take(self, *step)
        turned = self.now.fold.turned
        kinds = zip(self.sub.beside, self.sub.kind, strict=True)
        kind = ["either" if k == "flat" and (f in turned) != (g in turned) else k for (f, g), k in kinds]
        sub = self.sub._replace(kind=kind)
        table = Table(self.field, sub, check_fold(self.now.fold, sub, self.field))
        check_order({"stack": self.now.stack, "except": []}, table)
        counted[0] += 1

    monkeypatch.setattr(Paper, "take", checking)
    return counted


@pytest.mark.parametrize(
    "path",
    [
        pytest.param(path, id=path.name, marks=[pytest.mark.long] if path.stem in ("star-exact", "snowflake") else [])
        for path in FOLDED
    ],
)
def test_every_state_of_a_recipe_has_a_layer_order(path: Path, orders_checked: list[int]) -> None:
    """The theorem on folds of some layers, by which only the last state need be checked, tried on each state."""
    certificate = (PROOFS / "certificates" / "recipes" / f"{path.stem}.certificate.json").read_bytes()
    outcome = check_bytes(path.read_bytes(), certificate, toml=path.suffix == ".toml")
    assert outcome.accepted, outcome.reason
    assert orders_checked[0] == len(json.loads(certificate)["steps"])


def test_every_state_of_a_strip_has_a_layer_order(orders_checked: list[int]) -> None:
    options = [("s4", "s0"), ("s4", "s2"), ("s0", "s2"), ("s1", "s3"), ("s2", "s4")]
    ways = list(product(options, ("all", 1, 2, "flap"), ("over", "behind")))
    chance, accepted = random.Random(4), 0
    for _ in range(400):
        folds = [chance.choice(ways) for _ in range(3)]
        made, how = recipes.simulated([(*ends, layers, direction) for ends, layers, direction in folds])
        if made is not None and how == "":
            outcome = run(made)
            assert outcome.code.split(".")[0] not in ("order", "fold", "internal"), outcome.reason
            accepted += outcome.accepted
    assert accepted > 20
    assert orders_checked[0] >= 3 * accepted
