"""Certificates made wrong in named ways: each mutant claims something false or leaves something out, and the kernel
must reject it.
"""

from __future__ import annotations

from collections.abc import Iterator
from copy import deepcopy
from typing import Any

from verify.pattern.document import Document

Json = dict[str, Any]


def mutants(document: Document, certificate: Json) -> Iterator[tuple[str, Json]]:
    """Every mutant of a pattern's certificate, with a few words that say what is wrong with it.

    No mutant is right by luck: an image that moves alone leaves the isometry of its face, a chain that lacks its
    end does not reach the drawn point, and a stack upside down turns every drawn mountain into a valley.
    """

    def copy() -> Json:
        return deepcopy(certificate)

    digest = certificate["statement_sha256"]
    yield (
        "the digest of another statement",
        copy() | {"statement_sha256": digest[::-1] if digest != digest[::-1] else "0" * 64},
    )
    yield "the opposite claim", copy() | {"proves": "refuted" if certificate["proves"] == "certified" else "certified"}
    yield "another format", copy() | {"format": "creaseproof-certificate/0"}
    for key in certificate:
        yield f"no {key}", {k: v for k, v in copy().items() if k != key}
    for f in range(len(certificate["faces"])):
        mutant = copy()
        del mutant["faces"][f]
        yield f"face {f} left out", mutant
        mutant = copy()
        mutant["faces"].append(mutant["faces"][f])
        yield f"face {f} twice", mutant
        mutant = copy()
        mutant["faces"][f].reverse()
        yield f"face {f} clockwise", mutant
    for kind, chains in certificate["chains"].items():
        for c in range(len(chains)):
            mutant = copy()
            mutant["chains"][kind][c].pop()
            yield f"{kind} chain {c} without its end", mutant
    if "fold" in certificate:
        for v in range(len(certificate["vertices"])):
            mutant = copy()
            mutant["fold"]["images"][v][0] = _other(mutant["fold"]["images"][v][0])
            yield f"the image of vertex {v} moved", mutant
        if len(certificate["faces"]) > 1:
            for f in range(len(certificate["faces"])):
                mutant = copy()
                mutant["fold"]["turned"] = sorted({*mutant["fold"]["turned"]} ^ {f})
                yield f"face {f} with its other side up", mutant
    if certificate["proves"] == "certified":
        mutant = copy()
        mutant["order"]["stack"].pop()
        yield "a face missing in the stack", mutant
        if any(c.kind in ("mountain", "valley") for c in document.creases):
            mutant = copy()
            mutant["order"]["stack"].reverse()
            mutant["order"]["except"] = sorted([b, a] for a, b in mutant["order"]["except"])
            yield "the stack upside down", mutant
    else:
        refutation = certificate["refutation"]
        yield "a refutation of no known kind", copy() | {"refutation": refutation | {"kind": "none"}}
        if refutation["kind"] == "closure":
            mutant = copy()
            mutant["refutation"]["walk"].pop()
            yield "a walk that lacks its last face", mutant
        if refutation["kind"] == "order":
            mutant = copy()
            mutant["refutation"]["reasons"] = []
            mutant["refutation"]["steps"] = [[]]
            yield "a derivation from nothing", mutant


def _other(element: Any) -> Any:
    """Another number than a certificate's element."""
    if isinstance(element, list):
        return [_other(element[0]), *element[1:]]
    return 1 if element == 0 else 0
