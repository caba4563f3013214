"""What the tests of pages share."""

from __future__ import annotations

import json
from collections.abc import Iterator
from importlib import import_module
from typing import Any

import pytest

from verify.cutting.tolerance import Tolerance, tolerance
from verify.folding.steps import Folded

_known: dict[str, Tolerance] = {}


def remembered(folded: Folded, **how: Any) -> Tolerance:
    how.pop("progress")
    key = json.dumps([folded.recipe.keys(), how], sort_keys=True)
    if key not in _known:
        _known[key] = tolerance(folded, **how)
    return _known[key]


@pytest.fixture(autouse=True, scope="module")
def _refolded_once() -> Iterator[None]:
    """How true to fold is worked out once for a recipe, however many pages say it: it takes hundreds of refoldings."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(import_module("verify.show.handout.steps"), "tolerance", remembered)
        yield
