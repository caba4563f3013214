"""Reports for continuous integration against the schemas that others wrote (`tests/schemas/`), and what else the
standards ask.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlparse
from xml.etree import ElementTree

import jsonschema
import pytest
import xmlschema

from tests.places import ROOT
from verify.tasks.ci_reports import junit, sarif
from verify.tasks.sweep import Row, sweep, tasks
from verify.words.findings import Finding

SCHEMAS = ROOT / "tests" / "schemas"
SARIF = json.loads((SCHEMAS / "sarif-schema-2.1.0.json").read_text(encoding="utf-8"))
KEY = "0" * 64
STRANGE = "windows & <doors>/half\x1bturn № 1 50% done?#[x]\u2028.toml"


def row(document: str, verdict: str, *failures: tuple[str, str, str], **more: Any) -> Row:
    findings = tuple(Finding(check, kind, "fails", message).keys() for check, kind, message in failures)
    return Row(document, KEY, verdict, findings=findings, **more)


ROWS = {
    "none": [],
    "certified": [row("a.toml", "certified")],
    "each verdict": [
        row("a.toml", "certified"),
        row("b.toml", "refuted", ("cut", "missed", "a is off the cut"),
            ("cut", "stray-edge", "b–c folds onto the cut")),
        row("c.toml", "malformed", ("document", "malformed", 'c.toml: found "<", expected ">"'), line=3),
        row("d.toml", "undecided", ("limit", "limit-reached", "the limit faces = 1 was reached")),
        row("e.toml", "unsupported", ("step", "unsupported", "a cubic equation")),
        row("f.toml", "internal", ("internal", "died", "internal error: the process died twice")),
    ],
    "names": [row(STRANGE, "refuted", ("cut", "missed", "]]> & <![CDATA[ é – \N{GREEK SMALL LETTER ALPHA}")),
        row("/abs/olute/ä b.toml", "malformed", ("document", "malformed", "?"), line=1)],
}  # fmt: skip


@pytest.fixture(scope="module")
def real(proofs: Path) -> list[Row]:
    """What comes of documents of the corpus, of each verdict that it has."""
    names = (
        "certified/kite.toml",
        "refuted/trapped-panel.toml",
        "refuted/missed-edge.toml",
        "recipes-refused/cubic.toml",
        "recipes-refused/held-layer.toml",
    )
    return list(sweep(tasks([proofs / name for name in names])))


def sarif_errors(text: str) -> list[str]:
    validator = jsonschema.Draft7Validator(SARIF, format_checker=jsonschema.Draft7Validator.FORMAT_CHECKER)
    return [f"{'/'.join(map(str, e.absolute_path))}: {e.message}" for e in validator.iter_errors(json.loads(text))]


@pytest.mark.parametrize("name", ROWS)
def test_sarif_is_valid(name: str) -> None:
    jsonschema.Draft7Validator.check_schema(SARIF)
    text = sarif(ROWS[name])
    assert not sarif_errors(text)
    assert json.loads(text)["$schema"] == SARIF["$id"]


def test_sarif_of_the_corpus_is_valid(real: list[Row]) -> None:
    assert {r.verdict for r in real} == {"certified", "refuted", "unsupported"}
    assert not sarif_errors(sarif(real))


@pytest.mark.parametrize(
    "spoil",
    [
        lambda log: log.pop("version"),
        lambda log: log["runs"][0]["results"][0].update(level="fails"),
        lambda log: log["runs"][0]["results"][0]["message"].clear(),
        lambda log: log["runs"][0]["results"][0]["locations"][0]["physicalLocation"]["artifactLocation"].update(
            uri="a b.toml"
        ),
        lambda log: log["runs"][0]["tool"].update(version="1"),
    ],
)
def test_the_schema_tells(spoil: Any) -> None:
    log = json.loads(sarif(ROWS["each verdict"]))
    spoil(log)
    assert sarif_errors(json.dumps(log))


def test_sarif_says_where() -> None:
    """SARIF 2.1.0 §3.4.3: a URI reference (RFC 3986); §3.49: each rule once."""
    results = json.loads(sarif(ROWS["names"]))["runs"][0]["results"]
    strange, absolute = (r["locations"][0]["physicalLocation"] for r in results)
    assert unquote(strange["artifactLocation"]["uri"]) == STRANGE
    assert urlparse(strange["artifactLocation"]["uri"]).path == strange["artifactLocation"]["uri"]
    assert absolute["artifactLocation"]["uri"] == "file:///abs/olute/%C3%A4%20b.toml"
    assert absolute["region"] == {"startLine": 1}
    run = json.loads(sarif(ROWS["each verdict"]))["runs"][0]
    rules = [rule["id"] for rule in run["tool"]["driver"]["rules"]]
    assert len(rules) == len(set(rules))
    assert {r["ruleId"] for r in run["results"]} == set(rules)
    assert [r["level"] for r in run["results"]] == ["error", "error", "error", "warning", "warning", "error"]


JUNIT = xmlschema.XMLSchema(SCHEMAS / "junit-10.xsd")


@pytest.mark.parametrize("name", ROWS)
def test_junit_is_valid(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("locale.getpreferredencoding", lambda *_: "ascii")  # as where no language is set
    path = tmp_path / "junit.xml"
    path.write_text(junit(ROWS[name]), encoding="utf-8")
    assert not list(JUNIT.iter_errors(str(path)))
    assert path.read_text(encoding="utf-8").startswith("<?xml version='1.0' encoding='utf-8'?>")


def test_junit_of_the_corpus_is_valid(real: list[Row], tmp_path: Path) -> None:
    path = tmp_path / "junit.xml"
    path.write_text(junit(real), encoding="utf-8")
    assert not list(JUNIT.iter_errors(str(path)))
    suite = ElementTree.parse(path).getroot()
    found = {key: suite.get(key) for key in ("tests", "failures", "errors", "skipped")}
    refuted = sum(r.verdict == "refuted" for r in real)
    assert found == {"tests": str(len(real)), "failures": str(refuted), "errors": "0", "skipped": "1"}
    assert len(suite.findall("testcase/failure")) == refuted


def test_the_other_schema_tells() -> None:
    good = junit(ROWS["each verdict"])
    assert JUNIT.is_valid(good)
    for old, new in (("<failure", "<fault"), (' tests="6"', ""), ("<testcase ", "<testcase when='now' ")):
        assert old in good
        assert not JUNIT.is_valid(
            good.replace(old, new).replace("</failure", "</fault" if old == "<failure" else "</failure")
        )
