"""A sweep's results as reports for continuous integration: JUnit XML and SARIF."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterable
from pathlib import Path
from typing import Any
from urllib.parse import quote
from xml.etree import ElementTree

from verify.pattern.source import printable
from verify.tasks.sweep import Row
from verify.version import __version__

# the `$id` of the schema that OASIS publishes for SARIF 2.1.0
SARIF_SCHEMA = "https://raw.githubusercontent.com/oasis-tcs/sarif-spec/master/Schemata/sarif-schema-2.1.0.json"

_JUNIT = {
    "refuted": "failure",
    "malformed": "error",
    "internal": "error",
    "undecided": "skipped",
    "unsupported": "skipped",
}
_COUNTS = {"failures": "failure", "errors": "error", "skipped": "skipped"}


def junit(rows: Iterable[Row]) -> str:
    """The rows as JUnit XML: refuted is a failure, malformed and internal are errors, undecided and unsupported are
    skipped.
    """
    rows = list(rows)
    came_to = [_JUNIT.get(row.verdict, "passed") for row in rows]
    numbers = {name: str(came_to.count(tag)) for name, tag in _COUNTS.items()}
    suite = ElementTree.Element("testsuite", {"name": "creaseproof", "tests": str(len(rows)), **numbers})
    for row, tag in zip(rows, came_to, strict=True):
        case = ElementTree.SubElement(suite, "testcase", classname="creaseproof", name=printable(row.document))
        if tag != "passed":
            told = ElementTree.SubElement(case, tag, message=f"{row.verdict}: {row.message}")
            told.text = "\n".join(message for _, _, message in row.failures)
    data: bytes = ElementTree.tostring(suite, encoding="utf-8", xml_declaration=True)
    return data.decode() + "\n"


def sarif(rows: Iterable[Row]) -> str:
    """The failures as SARIF 2.1.0 (OASIS), each a result at its file."""
    results: list[dict[str, Any]] = []
    rules: dict[str, dict[str, Any]] = {}
    for row in rows:
        for number, (check, kind, message) in enumerate(row.failures):
            rule = f"{check}/{kind}"
            rules.setdefault(rule, {"id": rule, "shortDescription": {"text": f"{check}: {kind}"}})
            place: dict[str, Any] = {"artifactLocation": {"uri": _uri(row.document)}}
            if row.line is not None:
                place["region"] = {"startLine": row.line}
            level = "warning" if row.verdict in ("undecided", "unsupported") else "error"
            results.append(
                {
                    "ruleId": rule,
                    "level": level,
                    "message": {"text": message},
                    "locations": [{"physicalLocation": place}],
                    **({"fixes": _fixes(row)} if row.fixes and number == 0 else {}),
                }
            )
    driver = {"name": "creaseproof", "version": __version__, "rules": list(rules.values())}
    log = {"$schema": SARIF_SCHEMA, "version": "2.1.0", "runs": [{"tool": {"driver": driver}, "results": results}]}
    return json.dumps(log, indent=1) + "\n"


def _fixes(row: Row) -> list[dict[str, Any]]:
    """The repairs as fixes (SARIF 3.55): each replaces the whole file. Only for files whose text can be read, and has
    not changed since.
    """
    try:
        content = Path(row.document).read_bytes()
        text = content.decode().replace("\r\n", "\n").replace("\r", "\n")
    except (OSError, ValueError):
        return []
    if hashlib.sha256(content).hexdigest() != row.content_sha256:
        return []
    old = text.split("\n")
    region = {"startLine": 1, "startColumn": 1, "endLine": len(old), "endColumn": len(old[-1]) + 1}
    place = {"uri": _uri(row.document)}
    return [
        {
            "description": {"text": words},
            "artifactChanges": [
                {
                    "artifactLocation": place,
                    "replacements": [{"deletedRegion": region, "insertedContent": {"text": mended}}],
                }
            ],
        }
        for words, mended in row.fixes
    ]


def _uri(document: str) -> str:
    """A file's name as a URI reference (RFC 3986): relative if the name is, and what it may not hold quoted."""
    path = Path(document)
    return path.as_uri() if path.is_absolute() else quote(os.fsencode(path.as_posix()))
