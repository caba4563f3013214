"""The second checker beside the kernel: what it says of the corpus, of certificates made wrong, and where it is not
built.
"""

from __future__ import annotations

import hashlib
import json
import subprocess
from copy import deepcopy
from dataclasses import replace
from itertools import combinations_with_replacement, islice, pairwise
from pathlib import Path
from typing import Any

import pytest

from tests.cli.command import run
from tests.places import PROOFS
from verify.certificate.audit import audit
from verify.certificate.second import PROGRAM, Export, ask, program, second
from verify.certificate.second_order import NoOrderProof
from verify.pattern.document import Document
from verify.pattern.recipe import load_any

built = pytest.mark.skipif(program() is None, reason="the second checker is not built (proofs/theory/coq/build.sh)")
FOLDERS = PROOFS / "certified", PROOFS / "refuted"
SOME = ["kite", "fish", "lantern-twist", "window-three-folds", "cord-slots", "ring", "map-3x3"]


def stored(name: str) -> tuple[Document, dict[str, Any]]:
    """A pattern of the corpus, and its certificate."""
    document = load_any(next(path for folder in FOLDERS for path in folder.glob(f"{name}.*")))
    return document, json.loads((PROOFS / "certificates" / f"{name}.certificate.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("name", SOME)
def test_the_statement_that_is_sent_has_the_digest(name: str) -> None:
    document, certificate = stored(name)
    digest = hashlib.sha256(document.statement_text().encode("ascii")).hexdigest()
    assert digest == certificate["statement_sha256"]


@pytest.mark.parametrize("name", SOME)
def test_triangles_fill_the_faces(name: str) -> None:
    document, certificate = stored(name)
    triangles = list(Export(document, certificate)._triangles())
    corners = sum(len(face) - 2 for face in certificate["faces"])
    assert len(triangles) == corners
    assert {t[4] for t in triangles} == {*range(len(certificate["faces"]))}


@pytest.mark.parametrize("name", SOME)
@built
def test_both_checkers_accept(name: str) -> None:
    document, certificate = stored(name)
    answer, outcome = second(document, certificate), audit(document, certificate)
    assert outcome.accepted
    assert (answer.verdict, answer.claims) == ("certified", outcome.claims)
    assert answer.statement_sha256 == outcome.statement_sha256


def moved_image(certificate: dict[str, Any]) -> None:
    certificate["fold"]["images"][4][0] = 1


def turned_face(certificate: dict[str, Any]) -> None:
    certificate["fold"]["turned"] = sorted({*certificate["fold"]["turned"]} ^ {1})


def two_faces_exchanged(certificate: dict[str, Any]) -> None:
    stack = certificate["order"]["stack"]
    stack[0], stack[4] = stack[4], stack[0]


def face_left_out(certificate: dict[str, Any]) -> None:
    certificate["order"]["stack"].remove(len(certificate["faces"]) - 1)
    certificate["faces"].pop()


def target_elsewhere(certificate: dict[str, Any]) -> None:
    certificate["chains"]["target"][0], certificate["chains"]["target"][1] = certificate["chains"]["target"][1::-1]


WRONG = [
    (moved_image, "sheet"),
    (turned_face, "sheet"),
    (two_faces_exchanged, "order"),
    (face_left_out, "sheet"),
    (target_elsewhere, "points"),
]


@pytest.mark.parametrize(("change", "where"), WRONG, ids=[change.__name__ for change, _ in WRONG])
@built
def test_what_is_wrong_is_rejected_for_its_reason(change: Any, where: str) -> None:
    document, certificate = stored("kite")
    mutant = deepcopy(certificate)
    change(mutant)
    answer = second(document, mutant)
    assert (answer.verdict, answer.reason) == ("rejected", where)
    assert not audit(document, mutant).accepted


@built
def test_the_program_does_not_trust_the_exporter() -> None:
    path = program()
    assert path is not None
    document, certificate = stored("fish")
    evidence, other = Export(document, certificate).text(), stored("kite")[0]
    assert ask(path, document.statement_text(), evidence).verdict == "certified"
    assert ask(path, other.statement_text(), evidence).verdict == "rejected"
    assert (
        ask(path, document.statement_text(), evidence.replace("second/1 1 0", "second/1 1 1")).verdict != "unsupported"
    )
    assert ask(path, document.statement_text(), evidence[: len(evidence) // 2]).verdict == "rejected"
    assert ask(path, document.statement_text() + " ", evidence).verdict == "unsupported"


REFUTED = [
    "hole-closure", "kawasaki-hair", "missed-edge", "cut-misses-by-a-hair", "other-layer", "slit-in-mid-sheet",
    "stray-edge", "tip-on-the-line", "one-snip-short", "three-slots-two-snips", "tip-at-the-slots-end",
    "big-little-big", "ring-of-four", "trapped-panel", "twisted-triangle",
]  # fmt: skip


@pytest.mark.parametrize("name", REFUTED)
@built
def test_both_checkers_refute(name: str) -> None:
    document, certificate = stored(name)
    answer, outcome = second(document, certificate), audit(document, certificate)
    assert outcome.accepted
    assert outcome.proves == "refuted"
    assert (answer.verdict, answer.statement_sha256) == ("refuted", outcome.statement_sha256)


@built
def test_a_walk_that_comes_back_refutes_nothing() -> None:
    document, certificate = stored("hole-closure")
    there = certificate["refutation"]
    mutant = deepcopy(certificate)
    mutant["refutation"]["walk"] = there["walk"] + there["walk"][:1] + there["walk"][:0:-1]
    mutant["refutation"]["edges"] = there["edges"] + there["edges"][::-1]
    assert second(document, mutant).verdict == "rejected"
    assert not audit(document, mutant).accepted


@built
def test_one_edge_named_twice_is_not_apart() -> None:
    document, certificate = stored("missed-edge")
    mutant = deepcopy(certificate)
    mutant["refutation"]["edges"][1] = mutant["refutation"]["edges"][0]
    assert second(document, mutant).verdict == "rejected"


@built
@pytest.mark.parametrize("name", ["slit-in-mid-sheet", "tip-on-the-line", "tip-at-the-slots-end"])
def test_target_border_and_what_lies_elsewhere_are_not_stray(name: str) -> None:
    # The kernel says which cells refute, by other means (ranks along a line in place of signs).
    document, certificate = stored(name)
    edges = {
        tuple(sorted(pair)) for face in certificate["faces"] for pair in zip(face, face[1:] + face[:1], strict=True)
    }
    cells = [{"face": n} for n in range(len(certificate["faces"]))]
    cells += [{"edge": list(edge)} for edge in sorted(edges)]
    cells += [{"vertex": n} for n in range(len(certificate["vertices"]))]
    said = set()
    for cell in cells:
        mutant = deepcopy(certificate)
        mutant["refutation"]["cell"] = cell
        answer = second(document, mutant).verdict
        assert answer == ("refuted" if audit(document, mutant).accepted else "rejected"), cell
        said.add(answer)
    assert said == {"refuted", "rejected"}


@built
@pytest.mark.parametrize("name", ["big-little-big", "ring-of-four", "trapped-panel", "twisted-triangle"])
def test_an_order_is_not_refuted_with_a_reason_less(name: str) -> None:
    # Each reason of these is needed: the kernel, too, accepts none of the shorter lists.
    document, certificate = stored(name)
    for left_out in range(len(certificate["refutation"]["reasons"])):
        mutant = deepcopy(certificate)
        del mutant["refutation"]["reasons"][left_out]
        assert not audit(document, mutant).accepted
        assert second(document, mutant).verdict == "rejected"


@built
def test_a_layer_order_that_there_is_is_not_refuted() -> None:
    document, certificate = stored("trapped-panel")  # of the same sheet with other kinds there is one
    flipped = replace(document, creases=tuple(replace(c, kind="either") for c in document.creases), raw=None)
    claim = certificate | {"statement_sha256": flipped.statement_sha256}
    assert second(flipped, claim).verdict == "rejected"
    assert not audit(flipped, claim).accepted


@built
def test_as_many_edges_as_snips_refute_nothing() -> None:
    document, certificate = stored("one-snip-short")
    for left_out in range(3):
        mutant = deepcopy(certificate)
        del mutant["refutation"]["edges"][left_out]
        assert second(document, mutant).verdict == "rejected"


@built
@pytest.mark.parametrize("name", ["cord-slots", "corner-at-the-slots-end", "window-two-folds", "window-three-folds"])
def test_edges_of_a_cut_that_is_certified_are_never_apart(name: str) -> None:
    document, certificate = stored(name)
    assert document.snips is not None
    edges = [edge for chain in certificate["chains"]["target"] for edge in pairwise(chain)]
    claim = {key: certificate[key] for key in ("chains", "faces", "field", "fold", "statement_sha256", "vertices")}
    claim |= {"format": certificate["format"], "proves": "refuted"}
    for chosen in islice(combinations_with_replacement(edges, document.snips + 1), 40):
        assert second(document, claim | {"refutation": {"kind": "apart", "edges": chosen}}).verdict == "rejected"


@built
def test_a_walk_between_faces_that_do_not_touch_is_rejected() -> None:
    document, certificate = stored("hole-closure")
    mutant = deepcopy(certificate)
    mutant["refutation"]["walk"].reverse()
    assert second(document, mutant).verdict == "rejected"


@pytest.mark.parametrize("name", ["big-little-big", "ring-of-four", "trapped-panel", "twisted-triangle"])
def test_each_hint_leaves_one_literal_and_the_last_none(name: str) -> None:
    document, certificate = stored(name)
    export = Export(document, certificate)
    images = [export._point(p) for p in certificate["fold"]["images"]]
    both = zip(document.creases, certificate["chains"]["creases"], strict=True)
    mountains = [edge for crease, chain in both if crease.kind == "mountain" for edge in pairwise(chain)]
    order = NoOrderProof(list(export._triangles()), images, mountains)
    assert next(order.items(certificate["refutation"])) == "order"
    hints = order._hints([])
    true = set[tuple[int, int]]()
    for n in hints:
        possible = [(a, b) for a, b in order.clauses[n] if (b, a) not in true]
        assert len(possible) == (0 if n == hints[-1] else 1)
        true |= {*possible}


def test_where_it_is_not_built_the_command_says_so(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv(PROGRAM, str(tmp_path / "nothing"))
    paths = [str(PROOFS / "certified" / "kite.toml"), str(PROOFS / "certificates" / "kite.certificate.json")]
    done = run("audit", "--second", *paths)
    assert done.exit_code == 3  # asked for and not done is no pass
    assert run("audit", *paths).exit_code == 0
    assert "accepted: certified" in done.output
    assert "second checker: not built: run proofs/theory/coq/build.sh; it needs Coq and zarith" in done.output
    found = json.loads(run("audit", "--second", "--json", *paths).output)
    assert found["second"]["verdict"] == "not built"


def test_what_it_does_not_cover_is_unsupported() -> None:
    recipe = load_any(PROOFS / "recipes" / "kite.toml")
    assert second(recipe, {"proves": "certified"}).verdict == "unsupported"
    assert second(stored("kite")[0], {"proves": "refuted"}).verdict == "unsupported"
    assert second(*stored("maekawa")).verdict == "unsupported"


@built
def test_layer_orders_of_strips_and_vertices_are_counted_as_published() -> None:
    # Foldings of a strip of stamps (Touchard 1950; OEIS A000136); n closed meanders (OEIS A005315) for n equal sectors.
    path = program()
    assert path is not None
    done = subprocess.run([path.with_name("count")], capture_output=True, text=True, timeout=60, check=True)
    assert done.stdout == "strips 2 6 16 50; vertices 2 8 48\n"
