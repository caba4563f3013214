"""Every check of the kernel is needed: with any one of them left out, some case that is pinned to its code comes out
otherwise.
"""

from __future__ import annotations

import json
from functools import cache

import pytest

from verify.kernel.check import check_bytes

from .altered import checks, without
from .corpus import FILES, PROOFS, certificate_of, document_of, edited, edits

CHECKS = list(checks())
Case = tuple[bytes, bytes, bool, str]  # document, certificate, whether the document is TOML, the code


def built() -> list[Case]:
    """What is too large to be written down as an edit."""
    kite = (PROOFS / "certified" / "kite.toml").read_bytes()
    certificate = certificate_of("certified/kite.toml").read_bytes()
    near = json.loads(certificate)
    p, q = 1, 0
    for _ in range(3_300):  # p - q sqrt(2) = (1 - sqrt(2))^3300, about 2^-4196
        p, q = p + 2 * q, p + q
    near["field"] = {"polynomial": [-2, 0, 1], "root": [1, 2], "values": {}}
    corner = near["chains"]["sheet"][0][0]
    near["vertices"][corner] = [[str(near["vertices"][corner][0] + p), str(-q)], near["vertices"][corner][1]]
    heavy = json.loads(certificate)
    long = [f"1/{10**3999 + k}" for k in (1, 3, 7, 9)]
    long.append(f"1/{10**3650 + 1}")  # their common denominator has 65,000 bits
    heavy["field"] = {
        "polynomial": [-2, *[0] * 31, 1],
        "root": [1, 2],
        "values": {str(k): [*long, *[0] * 27] for k in range(70)},
    }
    return [
        (kite, json.dumps(heavy).encode(), True, "limit"),
        (kite, certificate + b" " * (64 << 20), True, "certificate.unreadable"),
        (kite + b"\na.a.a.a.a = 1", certificate, True, "document.unreadable"),
        (kite + b"\n# " + b"-" * (4 << 20), certificate, True, "document.unreadable"),
        (kite, json.dumps(near).encode(), True, "limit"),
    ]


@cache
def cases() -> list[Case]:
    found = built()
    for edit in edits():
        found.append((document_of(edit)[0], edited(edit), document_of(edit)[1], edit["code"]))
    for name, (document, code) in FILES.items():
        found.append(
            ((PROOFS / document).read_bytes(), (PROOFS / "rejected" / "files" / name).read_bytes(), True, code)
        )
    return found


def caught(name: str, line: int, text: str) -> bool:
    """Whether the kernel without a check errs on some case; those whose code the check names come first."""
    kernel = without(name, line)
    named = [word for word in text.replace('"', "'").split("'") if word]
    ordered = sorted(
        cases(), key=lambda case: not any(case[3] == word or case[3].endswith(f".{word}") for word in named)
    )
    return any(kernel(document, certificate, toml=toml).code != code for document, certificate, toml, code in ordered)


def test_the_cases_that_are_built() -> None:
    for document, certificate, toml, code in built():
        outcome = check_bytes(document, certificate, toml=toml)
        assert (outcome.accepted, outcome.code) == (False, code), outcome.reason


def test_every_check_is_found() -> None:
    """As many as the source has lines that fail; none stands in an `assert` or a lambda, where leaving it out would do
    nothing.
    """
    assert len(CHECKS) >= 85
    assert len({(name, line) for name, line, _ in CHECKS}) == len(CHECKS)


# each takes seconds: every ninth one by default, all with --long
SOME_LONG = [
    pytest.param(*check, id=f"{check[0]}-{check[1]}", marks=[pytest.mark.long] if i % 9 else [])
    for i, check in enumerate(CHECKS)
]


@pytest.mark.parametrize(("name", "line", "text"), SOME_LONG)
def test_a_kernel_without_one_check(name: str, line: int, text: str) -> None:
    assert caught(name, line, text)
