"""Every recipe of proofs/: certified or refused as its list says, by the tool and by the kernel as a process of its
own.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Sequence
from functools import cache
from pathlib import Path
from typing import Any

import pytest

import verify
from tests.corpus import certified, listed
from tests.places import PROOFS
from verify.pattern.recipe import FoldStep, Recipe, UnfoldStep
from verify.pattern.source import Malformed
from verify.tasks.certify import Result

BareKernel = Callable[[Sequence[tuple[Path, Path]]], list[dict[str, Any]]]
RECIPES = sorted(p for p in (PROOFS / "recipes").iterdir() if p.is_file())
REFUSED = sorted((PROOFS / "recipes-refused").iterdir())


def load(path: Path) -> Recipe:
    recipe = verify.load(path)
    assert isinstance(recipe, Recipe)
    return recipe


@cache
def outcome(path: Path) -> tuple[str, Result | Malformed]:
    try:
        result = certified(path)
    except Malformed as error:
        return "malformed", error
    return result.verdict, result


def test_the_corpus_is_its_list() -> None:
    assert {p.name for p in RECIPES} == set(listed("recipes"))
    assert {p.name for p in REFUSED} == set(listed("recipes-refused"))
    assert len(RECIPES) >= 25
    assert len(REFUSED) >= 17


@pytest.mark.parametrize("path", RECIPES, ids=[p.name for p in RECIPES])
def test_certified(path: Path) -> None:
    recipe = load(path)
    verdict, result = outcome(path)
    assert verdict == "certified"
    assert isinstance(result, Result)
    assert result.failures == ()
    assert result.certificate is not None
    assert result.document.title
    # folds, snips and layers as listed
    _, folds, snips, layers = listed("recipes")[path.name]
    standing = sum(isinstance(s, FoldStep) for s in recipe.steps) - sum(
        s.folds for s in recipe.steps if isinstance(s, UnfoldStep)
    )
    assert int(folds) == standing
    if snips == "–":
        assert result.cutting is None
        assert layers == "–"
    else:
        assert result.cutting is not None
        assert (result.cutting.needed, result.cutting.most_layers) == (int(snips), int(layers))


def expected(cell: str) -> tuple[str, str | None, str | None]:
    """The verdict, the kind of the refutation, and why (of a step) or what (of a stray cell)."""
    verdict, _, rest = cell.partition(": ")
    kind = rest.split("`")[1] if "`" in rest else None
    detail = rest.split(", ")[1] if ", " in rest else rest.partition("(")[2].rstrip(")") or None
    return verdict, kind, detail


@pytest.mark.parametrize("path", REFUSED, ids=[p.name for p in REFUSED])
def test_refused(path: Path) -> None:
    verdict, kind, detail = expected(listed("recipes-refused")[path.name][1])
    found, result = outcome(path)
    assert found == verdict
    if isinstance(result, Malformed):
        assert result.place.startswith("steps[")
        assert result.line is not None
        return
    assert result.failures
    if kind is None:
        assert verdict == "unsupported"
        assert result.certificate is None
        return
    assert result.certificate is not None
    refutation = result.certificate["refutation"]
    assert refutation["kind"] == kind
    if kind == "step":
        assert refutation["why"] == detail
        assert result.failures[0].kind == detail
    if kind == "stray":
        assert next(iter(refutation["cell"])) == detail


def test_each_sort_of_refusal_is_there() -> None:
    cells = [expected(row[1]) for row in listed("recipes-refused").values()]
    assert Counter(verdict for verdict, _, _ in cells) == {"refuted": 13, "malformed": 3, "unsupported": 1}
    assert {kind for _, kind, _ in cells if kind} == {"step", "apart", "off", "stray"}
    assert {why for _, kind, why in cells if kind == "step"} == {"blocked", "few-layers", "no-solution"}


def test_the_corpus_uses_every_form() -> None:
    steps = [s for path in RECIPES for s in load(path).steps]
    folds = [s for s in steps if isinstance(s, FoldStep)]
    assert {s.alignment.kind for s in folds} == {
        "through",
        "point-onto-point",
        "line-onto-line",
        "square",
        "point-onto-line",
        "point-onto-line-square",
    }
    assert {s.direction for s in folds} == {"over", "behind"}
    assert {"all", "flap", 1, 2, 4} <= {s.layers for s in folds}
    assert {type(s).__name__ for s in steps} == {"FoldStep", "MarkStep", "UnfoldStep", "TurnStep"}
    assert any("each" in w for path in RECIPES for w in load(path).written)


def test_the_bare_kernel_says_the_same(bare_kernel: BareKernel, tmp_path: Path) -> None:
    jobs = []
    for path in (*RECIPES, *REFUSED):
        verdict, result = outcome(path)
        if verdict in ("certified", "refuted"):
            assert isinstance(result, Result)
            certificate = tmp_path / f"{path.parent.name}-{path.stem}.json"
            certificate.write_text(json.dumps(result.certificate))
            jobs.append((path, certificate, verdict, result))
    done = bare_kernel([(path, certificate) for path, certificate, _, _ in jobs])
    for (path, _, verdict, result), keys in zip(jobs, done, strict=True):
        assert (keys["accepted"], keys["proves"]) == (True, verdict), (path.name, keys)
        assert keys["statement_sha256"] == result.statement_sha256
        assert tuple(keys["claims"]) == result.claims
        if verdict == "certified":
            assert result.subdivision is not None
            assert keys["facts"]["faces"] == len(result.subdivision.faces)
            assert keys["facts"]["folds"] == sum(e.is_fold for e in result.subdivision.edges)
            if result.cutting is not None:
                assert keys["facts"]["layers"] == result.cutting.most_layers
    assert len(jobs) == len(RECIPES) + 13


def test_the_certificate_of_another_recipe_is_rejected() -> None:
    results = [
        r
        for path in (*RECIPES, *REFUSED)
        for _, r in [outcome(path)]
        if isinstance(r, Result) and r.certificate is not None
    ]
    assert len(results) == len(RECIPES) + 13
    for one, other in zip(results, results[1:] + results[:1], strict=True):
        assert other.certificate is not None
        assert not verify.audit(one.document, other.certificate).accepted
        forged = other.certificate | {"statement_sha256": one.statement_sha256}
        assert not verify.audit(one.document, forged).accepted


def test_both_answers_occur() -> None:
    """A checker that always says the same would fail: certified turned into refuted, and the other way round, is
    rejected.
    """
    answers: Counter[tuple[str, bool]] = Counter()
    for path in (*RECIPES[::3], *REFUSED[::3]):
        verdict, result = outcome(path)
        if not isinstance(result, Result) or result.certificate is None:
            continue
        answers[verdict, verify.audit(result.document, result.certificate).accepted] += 1
        swapped = result.certificate | {"proves": "refuted" if verdict == "certified" else "certified"}
        answers[f"{verdict}, swapped", verify.audit(result.document, swapped).accepted] += 1
    assert {key for key, count in answers.items() if count} == {
        ("certified", True),
        ("refuted", True),
        ("certified, swapped", False),
        ("refuted, swapped", False),
    }
