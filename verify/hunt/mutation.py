"""Certificates spoilt in named ways; the kernel must reject each."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from verify.pattern.document import Document

Json = dict[str, Any]


def mutants(document: Document, certificate: Json) -> Iterator[tuple[str, Json]]:
    """Every mutant of a pattern's certificate, and what is wrong with it. None is right by luck: an image that moves
    alone leaves its face, a chain without its end its line, and a stack upside down turns mountains into valleys.
    """

    digest, proves = certificate["statement_sha256"], certificate["proves"]
    other_digest = digest[::-1] if digest != digest[::-1] else "0" * 64
    yield "the digest of another statement", certificate | {"statement_sha256": other_digest}
    yield "the opposite claim", certificate | {"proves": "refuted" if proves == "certified" else "certified"}
    yield "another format", certificate | {"format": "creaseproof-certificate/0"}
    for key in certificate:
        yield f"no {key}", {k: v for k, v in certificate.items() if k != key}
    faces = certificate["faces"]
    for f, face in enumerate(faces):
        yield f"face {f} left out", certificate | {"faces": faces[:f] + faces[f + 1 :]}
        yield f"face {f} twice", certificate | {"faces": [*faces, face]}
        yield f"face {f} clockwise", certificate | {"faces": _with(faces, f, face[::-1])}
    for kind, chains in certificate["chains"].items():
        for c, chain in enumerate(chains):
            shorter = certificate["chains"] | {kind: _with(chains, c, chain[:-1])}
            yield f"{kind} chain {c} without its end", certificate | {"chains": shorter}
    if "fold" in certificate:
        fold = certificate["fold"]
        for v, (x, y) in enumerate(fold["images"]):
            moved = fold | {"images": _with(fold["images"], v, [_other(x), y])}
            yield f"the image of vertex {v} moved", certificate | {"fold": moved}
        for f in range(len(faces)) if len(faces) > 1 else ():
            turned = fold | {"turned": sorted({*fold["turned"]} ^ {f})}
            yield f"face {f} with its other side up", certificate | {"fold": turned}
    if proves == "certified":
        order = certificate["order"]
        yield "a face missing in the stack", certificate | {"order": order | {"stack": order["stack"][:-1]}}
        if any(c.kind in ("mountain", "valley") for c in document.creases):
            upside_down = {"stack": order["stack"][::-1], "except": sorted([b, a] for a, b in order["except"])}
            yield "the stack upside down", certificate | {"order": order | upside_down}
        return
    refutation = certificate["refutation"]
    yield "a refutation of no known kind", certificate | {"refutation": refutation | {"kind": "none"}}
    if refutation["kind"] == "closure":
        shorter = refutation | {"walk": refutation["walk"][:-1]}
        yield "a walk that lacks its last face", certificate | {"refutation": shorter}
    if refutation["kind"] == "order":
        nothing = refutation | {"reasons": [], "steps": [[]]}
        yield "a derivation from nothing", certificate | {"refutation": nothing}


def _with(items: list[Any], at: int, item: Any) -> list[Any]:
    return [*items[:at], item, *items[at + 1 :]]


def _other(element: Any) -> Any:
    if isinstance(element, list):
        return [_other(element[0]), *element[1:]]
    return 1 if element == 0 else 0
