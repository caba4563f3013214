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

import sys
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from verify.certificate.audit import audit
    from verify.folding.count import Count, count
    from verify.folding.simple import Folded
    from verify.folding.simple import carry_out as fold
    from verify.pattern.document import Document, Malformed
    from verify.pattern.recipe import Recipe
    from verify.pattern.recipe import load_any as load
    from verify.pattern.recipe import read_any as read
    from verify.pattern.write import write
    from verify.tasks.certify import Result, certify
    from verify.tasks.explain import explain
    from verify.tasks.recipe import RecipeFound, recipe

__version__ = "0.1.0"

_HOME = {
    "Count": "verify.folding.count:Count",
    "Document": "verify.pattern.document:Document",
    "Folded": "verify.folding.simple:Folded",
    "Malformed": "verify.pattern.document:Malformed",
    "Recipe": "verify.pattern.recipe:Recipe",
    "RecipeFound": "verify.tasks.recipe:RecipeFound",
    "Result": "verify.tasks.certify:Result",
    "audit": "verify.certificate.audit:audit",
    "certify": "verify.tasks.certify:certify",
    "count": "verify.folding.count:count",
    "explain": "verify.tasks.explain:explain",
    "fold": "verify.folding.simple:carry_out",
    "load": "verify.pattern.recipe:load_any",
    "read": "verify.pattern.recipe:read_any",
    "recipe": "verify.tasks.recipe:recipe",
    "write": "verify.pattern.write:write",
}

__all__ = [
    "Count",
    "Document",
    "Folded",
    "Malformed",
    "Recipe",
    "RecipeFound",
    "Result",
    "audit",
    "certify",
    "count",
    "explain",
    "fold",
    "load",
    "read",
    "recipe",
    "write",
]


def __getattr__(name: str) -> Any:
    if name in _HOME:
        from importlib import import_module

        module, _, what = _HOME[name].partition(":")
        value = getattr(import_module(module), what)
        if "IPython" in sys.modules:  # in a notebook, documents and results show themselves
            import_module("verify.show.notebook")
        globals()[name] = value
        return value
    raise AttributeError(f"module 'verify' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
