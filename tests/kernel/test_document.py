"""Reading the document: keys, numbers, digest, loops; each fault is malformed and names its place."""

from __future__ import annotations

import contextlib
import hashlib
import json
from collections.abc import Callable
from fractions import Fraction
from typing import Any

import pytest

from verify.kernel.check import check_bytes
from verify.kernel.expression import Evaluator, tokens
from verify.kernel.numbers import Field
from verify.kernel.reading import Malformed, Rejected, Work
from verify.kernel.statement import read_document

from .examples import Case, as_bytes, certificate, map22, run, sealed, square, strip, window

Q = Field((0, 1), Fraction(0), Fraction(0), Work(0, 0))


def value(text: str) -> Fraction:
    number = Evaluator(Q, {}).value(tokens(text))
    assert isinstance(number, int | Fraction)
    return Fraction(number)


def test_rational_expressions() -> None:
    for text, expected in {
        "1": "1",
        "0.1": "1/10",
        "1e3": "1000",
        "2.5E-1": "1/4",
        "1e+2": "100",
        "-1/2": "-1/2",
        "--1": "1",
        "+-+1": "-1",
        "1-2-3": "-4",
        "8/4/2": "1",
        "2*3+4*5": "26",
        "2*(3+4)": "14",
        "2/-4": "-1/2",
        "007": "7",
        "(((1)))": "1",
        "1 / 3": "1/3",
        "\t1\n+ 1": "2",
        "cos(pi)": "-1",
        "cos(0)": "1",
        "cos(pi/3)": "1/2",
        "cos(2*pi/3)": "-1/2",
        "cos(4*pi/3)": "-1/2",
        "cos(5*pi/3)": "1/2",
        "cos(-pi/3)": "1/2",
        "cos(7*pi)": "-1",
        "cos(pi/2)": "0",
        "sin(pi/2)": "1",
        "sin(3*pi/2)": "-1",
        "sin(pi/6)": "1/2",
        "sin(-pi/6)": "-1/2",
        "sin(0)": "0",
        "tan(0)": "0",
        "tan(pi/4)": "1",
        "tan(3*pi/4)": "-1",
        "tan(-pi/4)": "-1",
        "tan(5*pi)": "0",
        "tan(pi/4)*tan(-pi/4)": "-1",
        "cos(pi)*cos(pi/3)": "-1/2",
        "1/sin(pi/6)": "2",
        "cos(pi*(1/3))": "1/2",
        "cos(1-1+pi/3)": "1/2",
        "cos((pi+pi)/6)": "1/2",
        "cos(pi/(1+2))": "1/2",
    }.items():
        assert value(text) == Fraction(expected), text


@pytest.mark.parametrize(
    "text",
    [
        "",
        " ",
        "1 2",
        "1 .5",
        ".5",
        "1.",
        "1..2",
        "1e",
        "1e5.0",
        "0x10",
        "1_000",
        "1j",
        "nan",
        "inf",
        "pi",
        "x",
        "1+",
        "*1",
        "1**2",
        "1//2",
        "()",
        "(1",
        "1)",
        "sqrt 2",
        "sqrt()",
        "sqrt(-1)",
        "(2",
        "cos(1)",
        "cos(pi*pi)",
        "cos(1/pi)",
        "cos(1/(1+pi)-1)",
        "cos(-pi*pi)",
        "cos(pi*-pi)",
        "cos(pi/(1-pi))",
        "cos(pi/3-1)",
        "cos(pi/3+1)",
        "cos(x)",
        "cos(e)",
        "cos(sqrt(4)*pi)",
        "cos(pi/0)",
        "cos pi",
        "tan(pi/2)",
        "tan(3*pi/2)",
        "1/0",
        "1/(1-1)",
        "cos(pi/1001)",
        "1e1001",
        "1e-1001",
        "9" * 1001,
        "0." + "0" * 1000,
        "(" * 51 + "1" + ")" * 51,
        "(1)+" * 60 + "(" * 51 + "1" + ")" * 51,
        "1+" * 2000 + "1",
        "\u0661",
        "1\u00a0+1",
        "1\r",
        "__import__('os')",
        "cos(pi/3)(2)",
        "2(3)",
        "2pi",
    ],
)
def test_no_number(text: str) -> None:
    with pytest.raises(Malformed):
        value(text)


def test_limits_of_numbers_are_inclusive() -> None:
    assert value("9" * 1000) == 10**1000 - 1
    assert value("1e1000") == 10**1000
    assert value("(" * 50 + "1" + ")" * 50) == 1
    assert value("(1)+" * 60 + "(" * 50 + "1" + ")" * 50) == 61
    assert value("1+" * 1999 + "1 ") == 2000
    with pytest.raises(Rejected) as fault:
        value("cos(pi/1000)")
    assert fault.value.code == "values.missing"  # it may stand there
    with pytest.raises(Rejected, match="limit"):
        value("*".join(["1e1000"] * 30))


def work_of(text: str) -> int:
    work = Work(0, 0)
    before = work.left
    Evaluator(Field((0, 1), Fraction(0), Fraction(0), work), {}).value(tokens(text))
    return before - work.left


@pytest.mark.parametrize(
    ("text", "units"), [("1e10", 0), ("1e12", 1), ("1e100", 6), ("1e-1000", 62), ("9" * 1_000, 62)]
)
def test_a_literal_counts_as_work_by_its_digits(text: str, units: int) -> None:
    """The bound of SPECIFICATION §11: one for each 16 characters, zeros that an exponent stands for among them."""
    assert work_of(text) - work_of("7") == units


def test_what_needs_a_value() -> None:
    for text, key in {
        "sqrt(4)": "sqrt(4)",
        "sqrt( 1 + 1 )": "sqrt(1+1)",
        "sqrt(0)": "sqrt(0)",
        "cos(pi/4)": "cos(pi/4)",
        "sin(pi/4)": "cos(pi/4)",
        "cos(9*pi/5)": "cos(pi/5)",
        "sin(pi/5)": "cos(pi/10)",
        "tan(pi/3)": "cos(pi/6)",
        "tan(2*pi/5)": "cos(pi/10)",
    }.items():
        with pytest.raises(Rejected) as fault:
            value(text)
        assert fault.value.code == "values.missing"
        assert json.dumps(key) in fault.value.reason


DOCUMENT_FAULTS: list[tuple[str, str, Callable[[dict[str, Any]], object]]] = [
    ("unknown key", "document.key", lambda d: d.update(author="")),
    ("no points", "document.key", lambda d: d.pop("points")),
    ("no sheet", "document.key", lambda d: d.pop("sheet")),
    ("no outline", "document.key", lambda d: d.update(sheet={})),
    ("no format", "document.key", lambda d: d.pop("format")),
    ("another format", "document.type", lambda d: d.update(format="creaseproof-pattern/2")),
    ("title a number", "document.type", lambda d: d.update(title=1)),
    ("title a decimal", "document.type", lambda d: d.update(title=1.5)),
    ("unit unknown", "document.type", lambda d: d.update(unit="ell")),
    ("points no table", "document.type", lambda d: d.update(points=[])),
    ("empty name", "document.name", lambda d: d["points"].update({"": [0, 0]})),
    ("point of three", "document.length", lambda d: d["points"].update(p00=[0, 0, 0])),
    ("boolean coordinate", "document.type", lambda d: d["points"].update(p00=[False, 0])),
    ("null coordinate", "document.type", lambda d: d["points"].update(p00=[None, 0])),
    ("long integer", "document.range", lambda d: d["points"].update(p00=[10**1000, 0])),
    ("coordinate no number", "document.number", lambda d: d["points"].update(p00=["0;0", 0])),
    ("unused point no number", "document.number", lambda d: d["points"].update(z=["1/0", 0])),
    ("unknown name", "document.name", lambda d: d["sheet"].update(outline=["p00", "p20", "nowhere"])),
    ("outline of two", "document.length", lambda d: d["sheet"].update(outline=["p00", "p20"])),
    ("hole of two", "document.length", lambda d: d["sheet"].update(holes=[["p00", "p20"]])),
    ("holes no lists", "document.type", lambda d: d["sheet"].update(holes=["p00", "p20", "p11"])),
    ("sheet with more", "document.key", lambda d: d["sheet"].update(colour="red")),
    ("crease of two", "document.length", lambda d: d["creases"].append(["p00", "p11"])),
    ("crease of three points", "document.length", lambda d: d["creases"].append(["p00", "p11", "p22", "flat"])),
    ("crease of no kind", "document.type", lambda d: d["creases"].append(["p00", "p11", "fold"])),
    ("crease with a list", "document.type", lambda d: d["creases"].append([["p00"], "p11", "flat"])),
    ("crease without length", "document.line", lambda d: d["creases"].append(["p00", "p00", "flat"])),
    (
        "crease between names of one place",
        "document.line",
        lambda d: (d["points"].update(z=["0/7", 0.0]), d["creases"].append(["p00", "z", "flat"])),
    ),
    ("target empty", "document.type", lambda d: d.update(target={})),
    ("target empty lists", "document.type", lambda d: d.update(target={"loops": [], "paths": []})),
    ("target of one point", "document.length", lambda d: d.update(target={"paths": [["p00"]]})),
    ("target loop of two", "document.length", lambda d: d.update(target={"loops": [["p00", "p11"]]})),
    ("cut without target", "document.key", lambda d: d.update(cut={"snips": 1})),
    ("no snips", "document.range", lambda d: d.update(target={"paths": [["p00", "p11"]]}, cut={"snips": 0})),
    ("snips a boolean", "document.type", lambda d: d.update(target={"paths": [["p00", "p11"]]}, cut={"snips": True})),
    ("snips a decimal", "document.type", lambda d: d.update(target={"paths": [["p00", "p11"]]}, cut={"snips": 1.0})),
    ("outline crosses itself", "document.loop", lambda d: d["sheet"].update(outline=["p00", "p22", "p20", "p02"])),
    ("outline turns back", "document.loop", lambda d: d["sheet"].update(outline=["p00", "p20", "p10", "p12"])),
    (
        "outline touches itself",
        "document.loop",
        lambda d: d["sheet"].update(outline=["p00", "p20", "p22", "p10", "p02"]),
    ),
    (
        "outline passes a corner twice",
        "document.loop",
        lambda d: d["sheet"].update(outline=["p00", "p10", "p11", "p21", "p22", "p12", "p11", "p01"]),
    ),
    ("outline flat", "document.loop", lambda d: d["sheet"].update(outline=["p00", "p10", "p20"])),
    ("outline stands still", "document.loop", lambda d: d["sheet"].update(outline=["p00", "p00", "p20", "p22"])),
    ("hole meets the outline", "document.loop", lambda d: d["sheet"].update(holes=[["p00", "p11", "p01"]])),
    (
        "holes meet",
        "document.loop",
        lambda d: (
            d["points"].update(a=["1/2", "1/2"], b=["3/4", "1/2"], c=["1/2", "3/4"]),
            d["sheet"].update(holes=[["a", "b", "c"], ["b", "p11", "c"]]),
        ),
    ),
    (
        "target loop crosses itself",
        "document.loop",
        lambda d: d.update(target={"loops": [["p00", "p11", "p10", "p01"]]}),
    ),
]


@pytest.mark.parametrize(
    ("code", "edit"), [row[1:] for row in DOCUMENT_FAULTS], ids=[row[0] for row in DOCUMENT_FAULTS]
)
def test_malformed(code: str, edit: Callable[[dict[str, Any]], object]) -> None:
    document, cert = map22()
    edit(document)
    with contextlib.suppress(Malformed):
        cert["statement_sha256"] = read_document(as_bytes(document), False).digest
    outcome = run((document, cert))
    assert (outcome.malformed, outcome.accepted, outcome.code) == (True, False, code), outcome.reason


@pytest.mark.parametrize(
    ("toml", "data"),
    [
        (False, b""),
        (False, b"{"),
        (False, b"[]"),
        (False, b"\xff"),
        (False, b"[" * 100_000),
        (True, b"a = " + b"[" * 100_000),
        (True, b"x = 1\nx = 2"),
        (True, b"\xff"),
        (True, b"a" + b".a" * 6_000 + b" = 1"),
        (True, b"x = " + b"1" * 5_000),
        (False, b'{"a": ' + b"1" * 5_000 + b"}"),
        (False, b'{"format": 1, "format": 2}'),
        (False, b'{"a": {"b": 1, "b": 1}}'),
        (True, b"x = 0x" + b"f" * 10_000),
        (False, b" " * (4 << 20) + b"{}"),
        (True, b"#" * (4 << 20) + b"\n"),
        (False, b'{"format": NaN}'),
        (False, "\ufeff{}".encode()),
        (True, b"x = 1979-05-27"),
    ],
)
def test_bytes_that_are_no_document(toml: bool, data: bytes) -> None:
    outcome = check_bytes(data, as_bytes(map22()[1]), toml=toml)
    assert outcome.malformed
    assert not outcome.accepted
    assert outcome.code.startswith("document.")


TOML = """
format = "creaseproof-pattern/1"
title = "Strip"
creases = [["s1", "n1", "valley"]]
[points]
s0 = [0, 0]
n0 = [0x0, +1]
s1 = [1.0, -0.0]
n1 = ["1", 1_0e-0_1]
s2 = ["1 + 1", "0"]
n2 = ["4/2", 1]
[sheet]
outline = ["s0", "s2", "n2", "n0"]
"""


def test_toml_and_the_digest() -> None:
    statement = read_document(TOML.encode(), True)
    normal = {
        "format": "creaseproof-pattern/1",
        "unit": "mm",
        "creases": [["s1", "n1", "valley"]],
        "target": None,
        "cut": None,
        "points": {
            "s0": ["0", "0"],
            "n0": ["0", "1"],
            "s1": ["1.0", "-0.0"],
            "n1": ["1", "10e-01"],
            "s2": ["1+1", "0"],
            "n2": ["4/2", "1"],
        },
        "sheet": {"outline": ["s0", "s2", "n2", "n0"], "holes": []},
    }
    text = json.dumps(normal, sort_keys=True, separators=(",", ":"))
    assert statement.digest == hashlib.sha256(text.encode()).hexdigest()
    _, cert = strip(2, [(1, "valley")])
    cert["statement_sha256"] = statement.digest
    assert check_bytes(TOML.encode(), as_bytes(cert), toml=True).accepted
    assert check_bytes(TOML.replace("\n", "\r\n").encode(), as_bytes(cert), toml=True).accepted
    assert check_bytes(TOML.replace("Strip", "").encode(), as_bytes(cert), toml=True).accepted
    assert not check_bytes(TOML.encode(), as_bytes(cert), toml=False).accepted


def test_defaults_are_filled_in() -> None:
    document, cert = square()
    document |= {"title": "x", "unit": "mm", "cut": {"snips": 1}}
    document["target"]["paths"] = []
    document["sheet"]["holes"] = []
    assert run((document, cert)).accepted
    document["cut"] = {}
    assert run((document, cert)).accepted


def test_every_part_of_the_statement_is_in_the_digest() -> None:
    digests = set()
    edits: list[Callable[[dict[str, Any]], object]] = [
        lambda d: None,
        lambda d: d.update(unit="m"),
        lambda d: d["points"].update(a=[0, "0*1"]),
        lambda d: d["points"].update(z=[0, 0]),
        lambda d: d["creases"].pop(),
        lambda d: d["creases"][0].__setitem__(2, "either"),
        lambda d: d["creases"][0].reverse,
        lambda d: d.update(creases=d["creases"][::-1]),
        lambda d: d["sheet"].update(outline=["b", "c", "d", "a"]),
        lambda d: d["sheet"].update(holes=[["p", "q", "r"]]),
        lambda d: d.pop("target"),
        lambda d: d["target"].update(paths=[["a", "b"]]),
        lambda d: d.update(cut={"snips": 2}),
        lambda d: d["target"]["loops"][0].reverse(),
    ]
    for edit in edits:
        document, _ = square()
        edit(document)
        digests.add(read_document(as_bytes(document), False).digest)
    assert len(digests) == len(edits) - 1  # one of them edits nothing
    document, _ = square()
    document["title"] = "not part of it"
    assert read_document(as_bytes(document), False).digest in digests


def test_orientation_as_drawn_does_not_matter() -> None:
    document, cert = window()
    document["sheet"]["outline"].reverse()
    document["sheet"]["holes"][0].reverse()
    cert["chains"]["sheet"] = [[3, 2, 1, 0], [7, 6, 5, 4]]
    assert run(sealed((document, cert))).accepted


def test_a_hole_that_is_outside_or_nested_cannot_be_certified() -> None:
    """The hole of the window is in another place, or its island is claimed as sheet."""
    points = {"a": [0, 0], "b": [1, 0], "c": [0, 1], "e": [2, 0], "f": [3, 0], "g": [2, 1]}
    document = {
        "format": "creaseproof-pattern/1",
        "points": points,
        "sheet": {"outline": ["a", "b", "c"], "holes": [["e", "f", "g"]]},
    }
    for face in ([3, 4, 5], [3, 5, 4]):
        cert = certificate(list(points.values()), [[0, 1, 2], face], [[0, 1, 2], [3, 4, 5]])
        cert |= {"fold": {"images": list(points.values()), "turned": []}, "order": {"stack": [0, 1], "except": []}}
        assert run(sealed((document, cert))).code in ("faces.convex", "chains.border")


def big(case: Case, n: int) -> Case:
    document, cert = case
    document["points"] |= {f"c{i}": [i, i * i] for i in range(n)}
    document["sheet"]["holes"] = [[f"c{i}" for i in range(n)]]
    return document, cert


def test_corners_are_limited() -> None:
    """2,000 of outline and holes; here the hole crosses the outline, which is found soon."""
    assert run(sealed(big(map22(), 1_996))).code == "document.loop"
    assert run(sealed(big(map22(), 1_997))).code == "document.limit"


UNREAD = "document.unreadable"  # else the reader goes on, and misses a key
LONG_KEYS = {  # what stands in a document of TOML, and whether it has a key of more than four parts
    "a.b.c.d = 1": False,
    "a.b.c.d.e = 1": True,
    "[a.b.c.d.e]": True,
    "[[a . b\t. c.d .e]]": True,
    "title = { a.b.c.d.e = 1 }": True,
    "x = [1, { '1'.\"2\".3.4.'5' = 1 }]": True,
    "x = { '1.2.3.4.5'.b.c.d = 1 }": False,
    'title = "a.b.c.d.e.f"': False,
    "title = 'a.b.c.d.e.f' # and a.b.c.d.e.f": False,
    'title = """a.b.c\n.d.e.f" \\"" """': False,
    "title = '''a.b.c\n.d.e.f'' '''": False,
    'x = ["""a"""", { b.c.d.e.f = 1 }, "g"]': True,  # four quotes, of which one belongs to the text
    "x = ['''a''''', { b.c.d.e.f = 1 }, 'g']": True,
    "x = [1.5, 2.5, 3.5, 07:32:00.999, 1979-05-27T07:32:00.5]": False,
    "x = " + "." * 9_000: False,  # no key, and no TOML either
    ".".join("a" * 300_000) + " = 1": True,
}


@pytest.mark.parametrize("text", LONG_KEYS, ids=lambda text: text[:40])
def test_parts_of_a_dotted_key_are_limited(text: str) -> None:
    outcome = check_bytes(text.encode(), b"{}", toml=True)
    assert outcome.malformed
    assert ("dotted" in outcome.reason) == LONG_KEYS[text]
    assert (outcome.code == UNREAD) == (LONG_KEYS[text] or text.endswith("...")), outcome.reason


def test_tables_inside_tables_are_limited() -> None:
    for count in (10_000, 10_001):
        text = "".join(f"[a.b{i}]\n" for i in range(count))
        assert ("dotted" in check_bytes(text.encode(), b"{}", toml=True).reason) == (count > 10_000)


@pytest.mark.parametrize("toml", [True, False])
def test_a_byte_order_mark_is_no_fault(toml: bool) -> None:
    document, cert = map22()
    plain = as_bytes(document)
    if toml:
        plain = b"".join(
            f"{key} = {json.dumps(value)}\n".encode() for key, value in document.items() if not isinstance(value, dict)
        )
        for key in ("points", "sheet"):
            plain += f"[{key}]\n".encode() + b"".join(
                f"{k} = {json.dumps(v)}\n".encode() for k, v in document[key].items()
            )
    for mark in (b"", b"\xef\xbb\xbf"):
        assert check_bytes(mark + plain, mark + as_bytes(cert), toml=toml).accepted
    assert check_bytes(b"\xef\xbb\xbf" * 2 + plain, as_bytes(cert), toml=toml).code == UNREAD


@pytest.mark.parametrize("sign", [1, -1])
def test_integers_have_at_most_1000_digits(sign: int) -> None:
    document, cert = map22()
    for value, code in ((10**1000 - 1, "digest"), (10**1000, "document.range")):
        document["points"]["z"] = [sign * value, 0]
        assert run((document, cert)).code == code


def test_snips_have_at_most_1000_digits() -> None:
    document, cert = square()
    for value, code in ((10**1000 - 1, "certificate.key"), (10**1000, "document.range")):
        document["cut"] = {"snips": value}
        assert run((document, cert)).code == code
