"""The page that lists the kinds of findings is the list of those that the code makes."""

from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Iterator
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import get_args

import mpmath
import pytest
from hypothesis import given
from hypothesis import strategies as st

import verify
from tests.corpus import certified
from verify.exact.number import Number
from verify.folding.steps import RefusalKind
from verify.folding.vertex import Angle
from verify.words.findings import degrees, rounded, rounded_float

VERIFY = Path(verify.__file__).parent
PAGE = VERIFY.parent / "proofs" / "findings.md"
TABLE = tomllib.loads((VERIFY / "words" / "findings.toml").read_text(encoding="utf-8"))

# Findings whose kind is no word in the call: where they are made, of which check.
ELSEWHERE = {
    ("cli/frame.py", "document"),
    ("tasks/compare.py", "compare"),  # see `compared`
    ("words/step_findings.py", "step"),  # `RefusalKind`
    ("tasks/construct_found.py", "construct"),  # the verdict
    ("cli/audit.py", "audit"),  # the kernel's code
    ("tasks/sweep.py", "internal"),  # the error
}


def listed() -> dict[tuple[str, str], set[str]]:
    """The levels of each check and kind on the page."""
    found: dict[tuple[str, str], set[str]] = {}
    for check, kinds, levels in re.findall(
        r"^\| `([\w-]+)` \| ([^|]*) \| ([^|]*) \|", PAGE.read_text(encoding="utf-8"), re.M
    ):
        for kind in re.findall(r"`([\w-]+)`", kinds):
            assert (check, kind) not in found, (check, kind)
            found[check, kind] = {level.strip() for level in levels.split(",")}
    return found


def literal(node: ast.expr | None) -> str | None:
    return node.value if isinstance(node, ast.Constant) and isinstance(node.value, str) else None


@cache
def made() -> list[tuple[str, str, str | None, str | None]]:
    return list(_made())


def _made() -> Iterator[tuple[str, str, str | None, str | None]]:
    """File, check, kind and level of each finding that the code makes; None where it is no word in the call."""
    for path in sorted(VERIFY.rglob("*.py")):
        name = path.relative_to(VERIFY).as_posix()
        if name.startswith("kernel/"):
            continue
        text = path.read_text(encoding="utf-8")
        for node in ast.walk(ast.parse(text)) if "Finding(" in text or '"check"' in text else ():
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "Finding":
                check, kind, level = (literal(a) for a in node.args[:3])
                if name == "cli/sweep.py":  # it makes none: it reads back those of its journal
                    continue
                if name == "words/findings.py":  # in `finding`, from the table
                    continue
                assert check is not None, (name, node.lineno)
                yield name, check, kind, level
            if isinstance(node, ast.Dict):
                keys = {literal(k): literal(v) for k, v in zip(node.keys, node.values, strict=True) if k is not None}
                if {"check", "kind", "message"} <= set(keys) and keys["check"] is not None:
                    yield name, keys["check"], keys["kind"], keys.get("level")


def compared() -> set[str]:
    """The kinds of what `compare` finds: the first words in its calls, and those of the variable `kind`."""
    found = set()
    for node in ast.walk(ast.parse((VERIFY / "tasks/compare.py").read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call) and ast.unparse(node.func) in ("self._finding", "self._change"):
            found.add(literal(node.args[0]))
        if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "kind":
            found |= {literal(n) for n in ast.walk(node.value) if isinstance(n, ast.Constant)}
    return {word for word in found if word is not None}


def all_made() -> dict[tuple[str, str], set[str]]:
    found: dict[tuple[str, str], set[str]] = {}
    for _, check, kind, level in made():
        if kind is not None:
            found.setdefault((check, kind), set()).update({level} - {None})
    for kind, entry in TABLE.items():
        found.setdefault((entry["check"], kind), set()).update({entry["level"]} if "level" in entry else ())
    for kind in get_args(RefusalKind):
        found.setdefault(("step", kind), set()).add("fails")
    for kind in compared():
        found.setdefault(("compare", kind), set())
    for kind in ("undecided", "unsupported"):
        found["construct", kind] = {"advice"}
    for kind in ("malformed", "unsupported"):  # by `end_not_read`
        found.setdefault(("document", kind), {"fails"})
    found.setdefault(("internal", "died"), {"fails"})  # a row of a sweep
    return found


def test_the_page_is_the_list() -> None:
    page, code = listed(), all_made()
    assert sorted(page) == sorted(code)
    for key, levels in code.items():
        assert levels <= page[key], key


def test_each_sentence_of_the_table_is_said_somewhere() -> None:
    said = set()
    for path in [*(VERIFY / "words").glob("*.py"), *(VERIFY / "tasks").glob("*.py")]:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "finding":
                which = {k.arg: literal(k.value) for k in node.keywords}.get("says", "says")
                said.add((literal(node.args[0]), which))
    assert said == {(kind, key) for kind, entry in TABLE.items() for key in entry.keys() - {"check", "level"}}


def test_where_a_kind_comes_from_elsewhere() -> None:
    assert {(name, check) for name, check, kind, _ in made() if kind is None} == ELSEWHERE


@pytest.mark.parametrize(
    "name",
    ["certified/kite.toml", "certified/panel-round-hole.toml", "refuted/trapped-panel.toml",
        "refuted/kawasaki-hair.toml", "refuted/missed-edge.toml",
     "refuted/stray-edge.toml", "refuted/hole-closure.toml", "recipes/kite.toml", "recipes-refused/held-layer.toml",
         "recipes-refused/too-few-layers.toml"],
)  # fmt: skip
def test_what_comes_out_is_on_the_page(name: str, proofs: Path) -> None:
    page = listed()
    for finding in certified(proofs / name).findings:
        assert finding.level in page[finding.check, finding.kind], finding


@given(st.integers(-(10**12), 10**12), st.integers(1, 10**12), st.sampled_from([6, 12]))
def test_degrees_are_rounded_as_mpmath_rounds_them(x: int, y: int, digits: int) -> None:
    with mpmath.workdps(60):
        expected = mpmath.nstr(mpmath.degrees(mpmath.atan2(y, x)), digits).removesuffix(".0")
    assert degrees(Angle(Number.of(x), Number.of(y)), digits) == expected


def test_degrees_of_exact_and_of_extreme_angles() -> None:
    one, none, least = Number.of(1), Number.of(0), Number.of(1) / Number.of(10**400)
    assert degrees(Angle(one, none)) == "0"
    assert degrees(Angle(-one, none)) == "180"
    assert degrees(Angle(none, -one)) == "-90"
    assert degrees(Angle(least, least)) == degrees(Angle(one / least, one / least)) == "45"
    assert degrees(Angle(one, least)) == "5.72957795131e-399"


@pytest.mark.parametrize(
    ("exact", "said"),
    [("57.39", "57.39"), ("378293/440", "859.8"), ("88.792167", "88.79"), ("36915.552375", "36,916"), ("3600", "3,600"),
     ("1/7000", "less than 0.01"), ("0.5", "0.5"), ("0", "0")],
)  # fmt: skip
def test_numbers_for_people_are_decimals_and_short(exact: str, said: str) -> None:
    """Four digits, by Python's own rounding; whole from a thousand on; never as a fraction or with an exponent."""
    assert rounded(Number.of(Fraction(exact))) == said


@given(st.floats(1e-12, 1e9))
def test_no_measure_has_an_exponent(size: float) -> None:
    said = rounded_float(size)
    assert "e" not in said.removeprefix("less than ")
    value = float(said.removeprefix("less than ").replace(",", ""))
    assert value == 0.01 if said.startswith("less") else value == pytest.approx(size, rel=6e-4)
