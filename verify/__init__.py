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
    from verify.certificate.audit import Outcome as Outcome
    from verify.certificate.audit import audit as audit
    from verify.cutting.tolerance import Tolerance as Tolerance
    from verify.cutting.tolerance import tolerance as tolerance
    from verify.errors import CreaseproofError as CreaseproofError
    from verify.folding.count import Count as Count
    from verify.folding.count import count as count
    from verify.folding.steps import Folded as Folded
    from verify.folding.steps import carry_out
    from verify.hunt.hunt import Hunt as Hunt
    from verify.hunt.hunt import hunt as hunt
    from verify.pattern.document import Document as Document
    from verify.pattern.limits import LimitReached as LimitReached
    from verify.pattern.limits import Limits as Limits
    from verify.pattern.recipe import Recipe as Recipe
    from verify.pattern.recipe import load_any, read_any
    from verify.pattern.source import Malformed as Malformed
    from verify.pattern.source import NotRead as NotRead
    from verify.pattern.source import Unsupported as Unsupported
    from verify.pattern.svg import pattern_from_svg as pattern_from_svg
    from verify.pattern.svg import target_from_svg as target_from_svg
    from verify.pattern.write import write as write
    from verify.show.handout import handout as handout
    from verify.show.machine import export as export
    from verify.show.picture import picture as picture
    from verify.show.report import report as report
    from verify.tasks.certify import KernelRefused as KernelRefused
    from verify.tasks.certify import Result as Result
    from verify.tasks.certify import certify as certify
    from verify.tasks.certify import facts as facts
    from verify.tasks.compare import Comparison as Comparison
    from verify.tasks.compare import compare as compare
    from verify.tasks.construct import construct as construct
    from verify.tasks.construct_found import Constructed as Constructed
    from verify.tasks.exact import Exact as Exact
    from verify.tasks.exact import exact as exact
    from verify.tasks.explain import explain as explain
    from verify.tasks.letters import LetterMade as LetterMade
    from verify.tasks.letters import letter_recipes as letter_recipes
    from verify.tasks.letters import letters as letters
    from verify.tasks.recipe import recipe as recipe
    from verify.tasks.recipe_found import RecipeFound as RecipeFound
    from verify.tasks.steps import Steps as Steps
    from verify.tasks.steps import steps as steps
    from verify.tasks.stuck import Hint as Hint
    from verify.tasks.stuck import hint as hint
    from verify.tasks.sweep import Row as Row
    from verify.tasks.sweep import sweep as sweep
    from verify.words.findings import Finding as Finding

    fold, load, read = carry_out, load_any, read_any

_PLACES = {  # what each module has of the public names; `there:here` where it is called otherwise there
    "verify.certificate.audit": "Outcome audit",
    "verify.cutting.tolerance": "Tolerance tolerance",
    "verify.errors": "CreaseproofError",
    "verify.folding.count": "Count count",
    "verify.folding.steps": "Folded carry_out:fold",
    "verify.hunt.hunt": "Hunt hunt",
    "verify.pattern.document": "Document",
    "verify.pattern.limits": "LimitReached Limits",
    "verify.pattern.recipe": "Recipe load_any:load read_any:read",
    "verify.pattern.source": "Malformed NotRead Unsupported",
    "verify.pattern.svg": "pattern_from_svg target_from_svg",
    "verify.pattern.write": "write",
    "verify.show.handout": "handout",
    "verify.show.machine": "export",
    "verify.show.picture": "picture",
    "verify.show.report": "report",
    "verify.tasks.certify": "KernelRefused Result certify facts",
    "verify.tasks.compare": "Comparison compare",
    "verify.tasks.construct": "construct",
    "verify.tasks.construct_found": "Constructed",
    "verify.tasks.exact": "Exact exact",
    "verify.tasks.explain": "explain",
    "verify.tasks.letters": "LetterMade letter_recipes letters",
    "verify.tasks.recipe": "recipe",
    "verify.tasks.recipe_found": "RecipeFound",
    "verify.tasks.steps": "Steps steps",
    "verify.tasks.stuck": "Hint hint",
    "verify.tasks.sweep": "Row sweep",
    "verify.words.findings": "Finding",
}
_HOME = dict(
    sorted(
        (name.rpartition(":")[2], (module, name.partition(":")[0]))
        for module, names in _PLACES.items()
        for name in names.split()
    )
)
__all__ = list(_HOME)

_EXTRAS = {"verify.hunt.hunt": ("hypothesis", "hunt"), "verify.show.handout": ("reportlab", "print")}
_ROOMS = ("construct", "exact", "hunt")


def public(name: str) -> Any:
    """What a public name stands for: for the three packages, the function that they are when called. Raises
    `NotInstalled` if it needs a library that is not there.
    """
    module, what = _HOME[name]
    if module in _EXTRAS:
        from verify.errors import optional

        optional(*_EXTRAS[module], f"verify.{name}")
    value = getattr(import_module(module), what)
    if "IPython" in sys.modules:  # in a notebook, documents and results show themselves
        import_module("verify.show.notebook")
    return value


def __getattr__(name: str) -> Any:
    if name in _ROOMS:
        return import_module(f"{__name__}.{name}")
    if name in _HOME:
        from verify.errors import NotInstalled

        try:
            globals()[name] = public(name)
        except NotInstalled as error:  # there is no such name then, so that help(verify) shows the others
            raise AttributeError(str(error)) from None
        return globals()[name]
    raise AttributeError(f"module 'verify' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
