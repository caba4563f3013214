"""In a Jupyter notebook: patterns, recipes, folded states and results show themselves.

Importing this module gives `Document`, `Recipe`, `Folded` and `Result` the methods that notebooks look for,
`_repr_html_` and `_repr_svg_`. `verify` imports it when it runs in IPython. What is shown of a document comes from
certifying it, within `SECONDS` for the search of a layer order; a picture proves nothing, the verdict beside it says
what was proved.
"""

from __future__ import annotations

from html import escape
from typing import Any

from verify.folding.steps import Folded
from verify.pattern.document import Document
from verify.pattern.limits import Limits
from verify.pattern.recipe import Recipe
from verify.pattern.source import printable
from verify.show.picture import folded_svg, pattern_svg
from verify.tasks.certify import Result, certify
from verify.tasks.explain import summary

SECONDS = 10.0


def result_html(result: Result) -> str:
    """The verdict in words, the flat sheet and the folded one beside each other."""
    words = "<br>".join(escape(printable(line)) for line in summary(result))
    both = "".join(
        f'<div style="flex: 1 1 20em; max-width: 32em">{svg}</div>'
        for svg in (pattern_svg(result, prefix="p"), folded_svg(result, prefix="f"))
    )
    return f'<div><p>{words}</p><div style="display: flex; flex-wrap: wrap; gap: 1em">{both}</div></div>'


def _certified(source: Document | Recipe) -> Result:
    return certify(source, Limits(seconds=SECONDS))


def _result_svg(result: Result) -> str:
    return pattern_svg(result)


def _document_html(document: Document | Recipe) -> str:
    return result_html(_certified(document))


def _document_svg(document: Document | Recipe) -> str:
    return pattern_svg(_certified(document))


def _folded_svg(folded: Folded) -> str:
    return folded_svg(_certified(folded.recipe))


def _folded_html(folded: Folded) -> str:
    return result_html(_certified(folded.recipe))


SHOWN: dict[type, tuple[Any, Any]] = {
    Document: (_document_html, _document_svg),
    Recipe: (_document_html, _document_svg),
    Folded: (_folded_html, _folded_svg),
    Result: (result_html, _result_svg),
}
for shown, (as_html, as_svg) in SHOWN.items():
    setattr(shown, "_repr_html_", as_html)  # noqa: B010 - the classes do not know of pictures
    setattr(shown, "_repr_svg_", as_svg)  # noqa: B010
