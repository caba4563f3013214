"""In a Jupyter notebook: patterns, recipes, folded states and results draw themselves.

Importing this module, as `verify` does in IPython, gives `Document` (a recipe, too), `Folded` and `Result` the methods
that notebooks look for. What is shown of a document comes from certifying it, within `SECONDS` for the search of a
layer order; a picture proves nothing, the verdict beside it says what was proved.
"""

from __future__ import annotations

from collections.abc import Callable
from html import escape
from typing import Any

from verify.folding.steps import Folded
from verify.pattern.document import Document
from verify.pattern.limits import Limits
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


def _certified(source: Document) -> Result:
    return certify(source, Limits(seconds=SECONDS))


def _shows_itself(kind: type, result_of: Callable[[Any], Result], draw: Callable[[Result], str]) -> None:
    """Give a class the methods that notebooks look for; the class does not know of pictures."""
    methods = {
        "_repr_html_": lambda shown: result_html(result_of(shown)),
        "_repr_svg_": lambda shown: draw(result_of(shown)),
    }
    for name, method in methods.items():
        setattr(kind, name, method)


_shows_itself(Document, _certified, pattern_svg)
_shows_itself(Folded, lambda folded: _certified(folded.recipe), folded_svg)
_shows_itself(Result, lambda result: result, pattern_svg)
