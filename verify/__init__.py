"""Creaseproof: exact verification of fold-and-cut crease patterns.

The names below are the whole public interface; each is imported when it is
first used, so that `verify.kernel` runs from a bare checkout in which none of
the dependencies is installed.

    import verify

    document = verify.load("proofs/certified/star.toml")
    result = verify.certify(document)
    result.verdict            # "certified", "refuted", "undecided" or "unsupported"
    result.certificate        # a JSON-ready dict for the kernel, or None
    verify.audit(document, result.certificate).accepted
    verify.count(document)    # assignments and layer orders
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from verify.certificate.audit import audit
    from verify.certificate.certify import Result, certify
    from verify.certificate.explain import explain
    from verify.folding.count import Count, count
    from verify.pattern.document import Document, Malformed, load, read
    from verify.pattern.write import write

__version__ = "0.1.0"

_HOME = {
    "Count": "verify.folding.count",
    "Document": "verify.pattern.document",
    "Malformed": "verify.pattern.document",
    "Result": "verify.certificate.certify",
    "audit": "verify.certificate.audit",
    "certify": "verify.certificate.certify",
    "count": "verify.folding.count",
    "explain": "verify.certificate.explain",
    "load": "verify.pattern.document",
    "read": "verify.pattern.document",
    "write": "verify.pattern.write",
}

__all__ = [
    "Count",
    "Document",
    "Malformed",
    "Result",
    "audit",
    "certify",
    "count",
    "explain",
    "load",
    "read",
    "write",
]


def __getattr__(name: str) -> Any:
    if name in _HOME:
        from importlib import import_module

        value = getattr(import_module(_HOME[name]), name)
        globals()[name] = value
        return value
    raise AttributeError(f"module 'verify' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
