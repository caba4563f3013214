"""The program that makes certificates, corrupted on purpose: the kernel must refuse what comes out on some document.

A corruption may go unnoticed on a document on which it changes nothing; it must never end in a verdict that is not so.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import Any

import numpy as np
import pytest

import verify
from tests.places import PROOFS
from verify.certificate.evidence import Evidence
from verify.folding import order as order_module
from verify.folding.crossing import Conditions, crossing_conditions
from verify.tasks import certify as certify_module
from verify.tasks.certify import KernelRefused

DOCUMENTS = [
    *(
        PROOFS / "certified" / f"{n}.toml"
        for n in (
            "star",
            "ring",
            "letter-l",
            "lantern-twist",
            "window-three-folds",
            "panel-round-hole",
            "map-3x3",
            "cord-slots",
        )
    ),
    *(PROOFS / "refuted" / f"{n}.toml" for n in ("trapped-panel", "ring-of-four", "twisted-triangle")),
]
Corruption = Callable[[pytest.MonkeyPatch], None]


def _conditions(change: Callable[[Conditions], Conditions]) -> Corruption:
    def corrupt(patch: pytest.MonkeyPatch) -> None:
        patch.setattr(
            certify_module,
            "crossing_conditions",
            lambda overlaps, limits: change(crossing_conditions(overlaps, limits)),
        )

    return corrupt


def _certificate(change: Callable[[dict[str, Any]], None]) -> Corruption:
    """Change what `Evidence.certified` writes."""
    original = Evidence.certified

    def corrupt(patch: pytest.MonkeyPatch) -> None:
        def certified(self: Evidence, *arguments: Any) -> Any:
            keys = original(self, *arguments)
            change(keys)
            return keys

        patch.setattr(Evidence, "certified", certified)

    return corrupt


def _from_flat(c: Conditions) -> np.ndarray[Any, Any]:
    """Whether a row of two equal literals comes from an edge that is not folded."""
    edges = c.overlaps.subdivision.edges
    return np.array([not edges[e].is_fold for e in c.equal_from[:, 0]], dtype=bool)


def no_nesting(c: Conditions) -> Conditions:
    return c._replace(even=c.even[:0], even_from=c.even_from[:0])


def no_running_through(c: Conditions) -> Conditions:
    return c._replace(equal=c.equal[:0], equal_from=c.equal_from[:0])


def flat_edges_absent(c: Conditions) -> Conditions:
    keep = ~_from_flat(c) if len(c.equal) else slice(0)
    return c._replace(equal=c.equal[keep], equal_from=c.equal_from[keep])


def mountains_forgotten(c: Conditions) -> Conditions:
    return c._replace(fixed=c.fixed[:0], fixed_edges=c.fixed_edges[:0])


def one_condition_dropped(c: Conditions) -> Conditions:
    return c._replace(
        equal=c.equal[1:],
        equal_from=c.equal_from[1:],
        even=c.even[1:],
        even_from=c.even_from[1:],
        fixed=c.fixed[1:],
        fixed_edges=c.fixed_edges[1:],
    )


def no_transitivity(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(order_module.Search, "_circles", lambda self, above: np.empty((0, 3), dtype=np.intp))


def rounded_images(keys: dict[str, Any]) -> None:
    def rounded(x: Any) -> Any:
        if isinstance(x, list):
            return [rounded(c) for c in x]
        return str(Fraction(round(Fraction(str(x)) * 10**6), 10**6) + Fraction(1, 10**9))

    keys["fold"]["images"] = [[rounded(x), rounded(y)] for x, y in keys["fold"]["images"]]


def other_root(keys: dict[str, Any]) -> None:
    low, high = (Fraction(str(x)) for x in keys["field"]["root"])
    keys["field"]["root"] = [str(-high), str(-low)]


def layers_exchanged(keys: dict[str, Any]) -> None:
    stack = keys["order"]["stack"]
    stack[0], stack[-1] = stack[-1], stack[0]


def circle_forgotten(keys: dict[str, Any]) -> None:
    keys["order"]["except"] = []


def one_face_not_turned(keys: dict[str, Any]) -> None:
    keys["fold"]["turned"] = keys["fold"]["turned"][1:]


def hole_forgotten(keys: dict[str, Any]) -> None:
    keys["chains"]["sheet"] = keys["chains"]["sheet"][:1]


def target_chain_forgotten(keys: dict[str, Any]) -> None:
    keys["chains"]["target"] = keys["chains"]["target"][:-1] or [[0, 1]]


def face_forgotten(keys: dict[str, Any]) -> None:
    keys["faces"] = keys["faces"][:-1]


CORRUPTIONS: dict[str, Corruption] = {
    "no nesting of folds": _conditions(no_nesting),
    "edges may run through faces": _conditions(no_running_through),
    "flat edges absent": _conditions(flat_edges_absent),
    "mountains and valleys forgotten": _conditions(mountains_forgotten),
    "one condition dropped": _conditions(one_condition_dropped),
    "no transitivity": no_transitivity,
    "images rounded": _certificate(rounded_images),
    "the other root": _certificate(other_root),
    "two layers exchanged": _certificate(layers_exchanged),
    "a circle forgotten": _certificate(circle_forgotten),
    "a face not turned": _certificate(one_face_not_turned),
    "a hole forgotten": _certificate(hole_forgotten),
    "a target line forgotten": _certificate(target_chain_forgotten),
    "a face forgotten": _certificate(face_forgotten),
}


def outcomes() -> dict[str, str]:
    """The verdict on each document, or `kernel` where the kernel did not accept what was made."""
    found = {}
    for path in DOCUMENTS:
        try:
            found[path.stem] = verify.certify(path).verdict
        except KernelRefused:
            found[path.stem] = "kernel"
    return found


def test_the_control_passes() -> None:
    assert outcomes() == {path.stem: path.parent.name for path in DOCUMENTS}


@pytest.mark.parametrize("name", CORRUPTIONS)
def test_a_corrupted_producer_is_refused(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    with monkeypatch.context() as patch:
        CORRUPTIONS[name](patch)
        found = outcomes()
    assert "kernel" in found.values(), found
    for path in DOCUMENTS:  # never a verdict that is not so
        assert found[path.stem] in ("kernel", path.parent.name), (path.stem, found[path.stem])
