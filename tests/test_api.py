"""The public interface: few names, each imported when it is first used."""

from __future__ import annotations

import inspect
import json
import subprocess
import sys
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import get_args, get_type_hints

import pytest

import verify
from tests.families import miura
from verify.pattern.families import stamps, strip
from verify.pattern.limits import Limits

STRIP = {
    "format": "creaseproof-pattern/1",
    "points": {"a": [0, 0], "b": [7, 0], "c": [7, 1], "d": [0, 1], "e": [3, 0], "f": [3, 1], "g": [4, 0], "h": [4, 1]},
    "sheet": {"outline": ["a", "b", "c", "d"]},
    "creases": [["e", "f", "mountain"], ["g", "h", "valley"]],
}


IMPORT = {"import": {"target_from_svg", "pattern_from_svg"}}  # a word that Python keeps for itself


def test_the_names() -> None:
    assert {
        "Count", "Document", "Finding", "Folded", "Limits", "Hint", "Malformed", "Recipe", "RecipeFound", "Result",
        "Steps", "audit", "certify", "compare", "construct", "count", "exact", "explain", "export", "facts", "fold",
        "handout", "hunt", "letter_recipes", "letters", "load", "pattern_from_svg", "picture", "read", "recipe",
        "report", "steps", "sweep", "target_from_svg", "tolerance", "write",
    } <= set(verify.__all__)  # fmt: skip
    assert list(verify.__all__) == sorted(verify.__all__)
    for name in verify.__all__:
        assert getattr(verify, name).__doc__
        assert name in dir(verify)
        assert callable(getattr(verify, name))
        documented = verify.public(name).__doc__
        assert documented
        assert len(documented.split()) >= 5, name
    with pytest.raises(AttributeError, match="no attribute 'unfold'"):
        verify.unfold  # noqa: B018


def test_help_shows_what_is_there_without_optional_libraries() -> None:
    """As after `pip install .`, without extras: `help(verify)` asks for every public name."""
    asked = (
        "import sys; sys.modules |= {'hypothesis': None, 'reportlab': None}\n"
        "import pydoc, verify\n"
        "shown = pydoc.render_doc(verify, renderer=pydoc.plaintext)\n"
        "print('certify(' in shown, 'class Result' in shown, 'class Hunt' in shown)\n"
        "for use in (lambda: verify.handout('x'), lambda: verify.hunt('x')):\n"
        "    try: use()\n"
        "    except (AttributeError, verify.CreaseproofError) as error: print(error)\n"
    )
    done = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)
    shown, handout, hunt = done.stdout.splitlines()
    assert shown == "True True False"
    assert handout.startswith("verify.handout needs reportlab: pip install 'creaseproof[print]'")
    assert hunt.startswith("verify.hunt needs hypothesis: pip install 'creaseproof[hunt]'")


def test_every_command_is_a_function() -> None:
    from verify.cli import MODULES

    for command in MODULES:
        assert IMPORT.get(command, {command}) <= set(verify.__all__), command
        for name in IMPORT.get(command, {command}):
            assert inspect.isfunction(verify.public(name)), name
            assert f"`{name}`" in (verify.__doc__ or ""), name


def test_what_a_function_returns_can_be_named() -> None:
    """So a caller that is typed (`mypy --strict`) needs no module inside the package."""
    pending = [get_type_hints(f)["return"] for f in map(verify.public, verify.__all__) if inspect.isfunction(f)]
    named = set()
    for found in pending:  # grows on the way
        pending += get_args(found)
        if inspect.isclass(found) and found.__module__.startswith("verify."):
            named.add(found)
    assert {verify.Result, verify.Steps, verify.Count} <= named
    assert sorted(c.__name__ for c in named if getattr(verify, c.__name__, None) is not c) == []


def test_importing_the_package_imports_nothing_else(root: Path) -> None:
    code = (
        "import sys, verify; print(sorted(m for m in sys.modules if m.split('.')[0] in ('verify', "
        "'numpy', 'sympy', 'click', 'pysat')))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=root, capture_output=True, text=True, timeout=60, check=True
    )
    assert done.stdout.strip() == "['verify', 'verify.version']"


def test_from_a_mapping_to_a_certificate_and_back() -> None:
    document = verify.read(STRIP)
    result = verify.certify(document)
    assert result.verdict == "certified"
    assert result.claims == ("folds-flat",)
    outcome = verify.audit(document, result.certificate or {})
    assert outcome.accepted
    assert outcome.proves == "certified"
    assert outcome.statement_sha256 == document.statement_sha256 == result.statement_sha256
    assert json.loads(json.dumps(result.certificate)) == result.certificate
    assert json.loads(json.dumps(result.keys())) == result.keys()
    assert "folds flat" in verify.explain(result)
    assert verify.count(document) == verify.Count(1, 1, 1)


def test_every_form_of_input_is_one_document(tmp_path: Path) -> None:
    document = verify.read(STRIP)
    text = json.dumps(STRIP)
    assert verify.read(text) == verify.read(text.encode()) == document
    for name in ("x.toml", "x.json"):
        verify.write(document, tmp_path / name)
        assert verify.load(tmp_path / name) == verify.load(str(tmp_path / name)) == document
        assert verify.certify(tmp_path / name).statement_sha256 == document.statement_sha256
        assert verify.count(str(tmp_path / name)).orders == 1
    proof = tmp_path / "proof.json"
    proof.write_text(json.dumps(verify.certify(document).certificate))
    for certificate in (proof, str(proof), proof.read_bytes(), json.loads(proof.read_text())):
        assert verify.audit(tmp_path / "x.toml", certificate).accepted


def test_a_changed_copy_of_a_file_is_a_document_of_its_own() -> None:
    """Two valleys too close together trap a panel, a mountain and a valley fold (a pleat: by the definition of a layer
    order). The kernel reads what the copy says, not what the file did.
    """
    trapped = verify.load("proofs/refuted/trapped-panel.toml")
    first, *others = trapped.creases
    pleated = replace(trapped, creases=(replace(first, kind="mountain"), *others))
    assert (verify.certify(trapped).verdict, verify.certify(pleated).verdict) == ("refuted", "certified")
    assert replace(trapped, title="Too close").content() == trapped.content()  # a title is no part of the statement
    recipe = verify.load("proofs/recipes/house.toml")
    assert verify.certify(replace(recipe, unit="cm")).verdict == "certified"
    assert recipe.content()[0] == Path("proofs/recipes/house.toml").read_bytes()
    assert verify.certify(recipe.base).verdict == "refuted"  # its figure alone: nothing is folded
    behind = tuple(replace(step, direction="behind") for step in recipe.steps)
    with pytest.raises(
        verify.Malformed, match="both changed alike"
    ):  # and not certified for the steps that are written
        verify.certify(replace(recipe, steps=behind))


def test_numbers_in_a_mapping() -> None:
    keys = STRIP | {"points": STRIP["points"] | {"z": [Fraction(1, 3), "sqrt(2)"]}}  # type: ignore[operator]
    assert verify.read(keys).points["z"] == ("1/3", "sqrt(2)")
    for wrong in (0.5, True, None, 1j):
        with pytest.raises(verify.Malformed, match="a number"):
            verify.read(STRIP | {"points": STRIP["points"] | {"z": [wrong, 0]}})  # type: ignore[operator]


def test_errors_are_malformed(tmp_path: Path) -> None:
    for call in (verify.load, verify.certify, verify.count):
        with pytest.raises(verify.Malformed) as caught:
            call(tmp_path / "none.toml")
        assert caught.value.source == str(tmp_path / "none.toml")
    with pytest.raises(verify.Malformed):
        verify.audit(tmp_path / "none.toml", b"{}")


def test_limits() -> None:
    document = miura(4, 4, assigned=False)
    for limits, name in ((Limits(faces=15), "faces"), (Limits(lines=10), "lines"), (Limits(corners=9), "corners")):
        result = verify.certify(document, limits)
        assert result.verdict == "undecided"
        assert result.certificate is None
        (finding,) = result.findings
        assert finding.value["limit"] == name
        counted = verify.count(document, limits)
        assert (counted.at_vertices, counted.folding, counted.orders) == (None, None, None)
        assert len(counted.reached) == 1
    assert verify.certify(document, Limits(faces=16)).verdict == "certified"
    counted = verify.count(document, Limits(orders=10843))
    assert (counted.at_vertices, counted.orders) == (2604, None)
    assert verify.count(document, Limits(orders=10844)).orders == 10844


def test_the_degree_is_limited() -> None:
    roots = ["sqrt(2)", "sqrt(3)", "sqrt(5)", "sqrt(7)", "sqrt(11)", "sqrt(13)"]
    keys = STRIP | {"points": STRIP["points"] | {f"z{i}": [root, 0] for i, root in enumerate(roots)}}
    result = verify.certify(verify.read(keys))
    assert result.verdict == "undecided"
    assert result.findings[0].check == "limit"
    assert "32" in result.findings[0].message


def test_the_clock_is_a_limit_and_never_changes_an_answer() -> None:
    document = miura(12, 12, assigned=False)
    assert verify.certify(document, Limits(seconds=0.0001)).verdict == "undecided"
    assert verify.certify(document, Limits(seconds=100)).verdict == "certified"
    refuted = verify.certify(strip([3, 1, 3], "VV"), Limits(seconds=100))
    assert refuted.verdict == "refuted"
    assert refuted.certificate == verify.certify(strip([3, 1, 3], "VV")).certificate


def test_progress_is_told() -> None:
    said: list[str] = []
    verify.certify(stamps(3, 3), progress=said.append)
    assert said[0] == "9 panels, 12 folds"
    assert said[-1] == "the kernel checks the certificate"


def test_the_same_document_gives_the_same_answer() -> None:
    for document in (stamps(3, 3), miura(4, 3, assigned=False), strip([3, 1, 3], "VV")):
        one, other = verify.certify(document), verify.certify(document)
        assert one.certificate == other.certificate
        assert one.keys() == other.keys()


def test_a_result_that_the_kernel_did_not_see_is_no_verdict(monkeypatch: pytest.MonkeyPatch) -> None:
    from verify.kernel.check import Outcome
    from verify.tasks import certify as module

    document = verify.read(STRIP)
    true = verify.certify(document)
    for lie in (
        Outcome(),
        Outcome(accepted=False, proves="certified", statement_sha256=true.statement_sha256),
        Outcome(accepted=True, proves="refuted", statement_sha256=true.statement_sha256),
        Outcome(accepted=True, proves="certified", statement_sha256="0" * 64),
    ):
        monkeypatch.setattr(module, "audit", lambda *_, lie=lie: lie)
        with pytest.raises(module.KernelRefused):
            verify.certify(document)
