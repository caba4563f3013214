"""Creaseproof: exact verification of fold-and-cut crease patterns.

The names below are the whole public interface; each is imported when it is first used, so that `verify.kernel` runs
from a bare checkout in which none of the dependencies is installed. `verify` is a common word: write `import verify as
creaseproof` where it could be mistaken.

    import verify

    document = verify.load("proofs/certified/star.toml")
    result = verify.certify(document)
    result.verdict            # "certified", "refuted", "undecided" or "unsupported"
    result.findings           # what was checked, where, and what came out (`Finding`, listed in proofs/findings.md)
    result.certificate        # a JSON-ready dict for the kernel, or None
    verify.audit(document, result.certificate).accepted

Each command is a function of the same name (`import` is `target_from_svg` and `pattern_from_svg`):

- of a document, a recipe, or the file of one: `certify`, `count`, `construct`, `exact`, `recipe`, `steps`, `audit`,
  `compare` (two), `sweep` (many);
- of a recipe or the file of one: `fold`, `tolerance`;
- of the same, or of a result that `certify` gave: `explain`, `picture`, `report`, `export`, and `handout` of one or
  several; they give texts or bytes and write no file;
- of a word: `letter_recipes` (a few folds a letter), `letters` (patterns to collapse); of a property: `hunt`.

`construct`, `exact` and `hunt` are packages, too, in which the work is done; called, they are the functions.
"""

from __future__ import annotations

import sys
from importlib import import_module
from typing import TYPE_CHECKING, Any

from verify.version import __version__ as __version__

if TYPE_CHECKING:
    from verify.certificate.audit import audit
    from verify.cutting.tolerance import tolerance
    from verify.errors import CreaseproofError
    from verify.folding.count import Count, count
    from verify.folding.steps import Folded
    from verify.folding.steps import carry_out as fold
    from verify.hunt.hunt import hunt
    from verify.pattern.document import Document
    from verify.pattern.limits import LimitReached, Limits
    from verify.pattern.recipe import Recipe
    from verify.pattern.recipe import load_any as load
    from verify.pattern.recipe import read_any as read
    from verify.pattern.source import Malformed, NotRead, Unsupported
    from verify.pattern.svg import pattern_from_svg, target_from_svg
    from verify.pattern.write import write
    from verify.show.handout import handout
    from verify.show.machine import export
    from verify.show.picture import picture
    from verify.show.report import report
    from verify.tasks.certify import Result, certify, facts
    from verify.tasks.compare import compare
    from verify.tasks.construct import construct
    from verify.tasks.exact import exact
    from verify.tasks.explain import explain
    from verify.tasks.letters import letter_recipes, letters
    from verify.tasks.recipe import RecipeFound, recipe
    from verify.tasks.steps import Steps, steps
    from verify.tasks.stuck import Hint, hint
    from verify.tasks.sweep import sweep
    from verify.words.findings import Finding

_HOME = {
    "Count": "verify.folding.count:Count",
    "Document": "verify.pattern.document:Document",
    "Finding": "verify.words.findings:Finding",
    "Folded": "verify.folding.steps:Folded",
    "Limits": "verify.pattern.limits:Limits",
    "Hint": "verify.tasks.stuck:Hint",
    "CreaseproofError": "verify.errors:CreaseproofError",
    "LimitReached": "verify.pattern.limits:LimitReached",
    "Malformed": "verify.pattern.source:Malformed",
    "NotRead": "verify.pattern.source:NotRead",
    "Unsupported": "verify.pattern.source:Unsupported",
    "Recipe": "verify.pattern.recipe:Recipe",
    "RecipeFound": "verify.tasks.recipe:RecipeFound",
    "Result": "verify.tasks.certify:Result",
    "Steps": "verify.tasks.steps:Steps",
    "audit": "verify.certificate.audit:audit",
    "certify": "verify.tasks.certify:certify",
    "compare": "verify.tasks.compare:compare",
    "construct": "verify.tasks.construct:construct",
    "count": "verify.folding.count:count",
    "exact": "verify.tasks.exact:exact",
    "explain": "verify.tasks.explain:explain",
    "export": "verify.show.machine:export",
    "facts": "verify.tasks.certify:facts",
    "fold": "verify.folding.steps:carry_out",
    "handout": "verify.show.handout:handout",
    "hunt": "verify.hunt.hunt:hunt",
    "letter_recipes": "verify.tasks.letters:letter_recipes",
    "letters": "verify.tasks.letters:letters",
    "hint": "verify.tasks.stuck:hint",
    "load": "verify.pattern.recipe:load_any",
    "pattern_from_svg": "verify.pattern.svg:pattern_from_svg",
    "picture": "verify.show.picture:picture",
    "read": "verify.pattern.recipe:read_any",
    "recipe": "verify.tasks.recipe:recipe",
    "report": "verify.show.report:report",
    "steps": "verify.tasks.steps:steps",
    "sweep": "verify.tasks.sweep:sweep",
    "target_from_svg": "verify.pattern.svg:target_from_svg",
    "tolerance": "verify.cutting.tolerance:tolerance",
    "write": "verify.pattern.write:write",
}

__all__ = [
    "Count",
    "CreaseproofError",
    "Document",
    "Finding",
    "Folded",
    "Hint",
    "LimitReached",
    "Limits",
    "Malformed",
    "NotRead",
    "Recipe",
    "RecipeFound",
    "Result",
    "Steps",
    "Unsupported",
    "audit",
    "certify",
    "compare",
    "construct",
    "count",
    "exact",
    "explain",
    "export",
    "facts",
    "fold",
    "handout",
    "hint",
    "hunt",
    "letter_recipes",
    "letters",
    "load",
    "pattern_from_svg",
    "picture",
    "read",
    "recipe",
    "report",
    "steps",
    "sweep",
    "target_from_svg",
    "tolerance",
    "write",
]


_ROOMS = ("construct", "exact", "hunt")


def public(name: str) -> Any:
    """What a public name stands for: for the three packages, the function that they are when called."""
    module, _, what = _HOME[name].partition(":")
    value = getattr(import_module(module), what)
    if "IPython" in sys.modules:  # in a notebook, documents and results show themselves
        import_module("verify.show.notebook")
    return value


def __getattr__(name: str) -> Any:
    if name in _ROOMS:
        return import_module(f"{__name__}.{name}")
    if name in _HOME:
        globals()[name] = public(name)
        return globals()[name]
    raise AttributeError(f"module 'verify' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
