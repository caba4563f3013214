"""The command on recipes: fold, tolerance, certify, explain, audit."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

import verify
from tests.cli.command import SHARED, run
from tests.places import PROOFS
from verify.pattern.document import Document
from verify.pattern.recipe import Recipe, load_any
from verify.words.step_words import sentence, step_words

RECIPES, REFUSED = PROOFS / "recipes", PROOFS / "recipes-refused"

STRIP = """format = "creaseproof-recipe/1"
title = "A corner off"
steps = [
    { fold = { point = "a", onto = "b" }, moves = "a" },
]
[points]
a = [0, 0]
b = [8, 0]
c = [8, 6]
d = [0, 6]
p = [4, 3]
q = [8, 6]
[sheet]
outline = ["a", "b", "c", "d"]
[cut]
along = { through = ["p", "q"] }
"""


@pytest.fixture
def strip(tmp_path: Path) -> Path:
    path = tmp_path / "strip.toml"
    path.write_text(STRIP)
    return path


def kernel(root: Path, document: Path, certificate: Path) -> dict[str, Any]:
    """`python3 -S -m verify.kernel` from the bare checkout: no package is visible."""
    command = [sys.executable, "-S", "-m", "verify.kernel", str(document), str(certificate)]
    done = subprocess.run(command, cwd=root, capture_output=True, text=True, timeout=120, check=False, env={})
    keys: dict[str, Any] = json.loads(done.stdout)
    assert done.returncode == (0 if keys["accepted"] else 1)
    return keys


EXIT_STATUS = [
    (RECIPES / "kite.toml", "certified", 0),
    (RECIPES / "pennants-pleated.json", "certified", 0),
    (REFUSED / "held-layer.toml", "refuted", 1),
    (REFUSED / "scissors-off-by-a-hair.toml", "refuted", 1),
    (REFUSED / "no-such-mark.toml", "malformed", 2),
    (REFUSED / "unfolded-twice.toml", "malformed", 2),
    (REFUSED / "cubic.toml", "unsupported", 4),
]


@pytest.mark.parametrize(("path", "verdict", "code"), EXIT_STATUS, ids=[p.stem for p, _, _ in EXIT_STATUS])
@pytest.mark.parametrize("command", ["fold", "certify", "explain"])
def test_verdict_and_exit_status(command: str, path: Path, verdict: str, code: int) -> None:
    done = run(command, path)
    assert done.exit_code == code
    assert done.output.startswith(f"{verdict}: ")
    assert str(path) in done.output
    if command != "explain":
        keys = run(command, path, "--json")
        assert keys.exit_code == code
        assert json.loads(keys.output)["verdict"] == verdict


# ---- fold


def test_a_fold_that_is_missing_can_be_asked_for(tmp_path: Path) -> None:
    """The window of three folds without the last one: the command that is named says that one more is enough."""
    keys = load_any(RECIPES / "window-three-folds.toml").keys()
    short = tmp_path / "short.json"
    short.write_text(json.dumps(keys | {"steps": keys["steps"][:-1]}))
    done = run("fold", short)
    assert done.exit_code == 1
    (told,) = re.findall(r"`creaseproof (recipe .* --tell enough)` says whether more folds would do", done.output)
    assert run(*told.split(), "--folds", "1").output.endswith("1 more fold is enough\n")
    assert "--tell enough" not in run("fold", REFUSED / "held-layer.toml").output  # of which a step cannot be done


def test_fold_says_what_is_cut() -> None:
    lines = run("fold", RECIPES / "what-does-it-make.json").output.splitlines()
    assert lines[0] == "certified: What does this cut make?"
    assert "  every step can be done, and the sheet lies flat (no figure, so no cut is claimed)" in lines
    steps = [line for line in lines if line.startswith("  step 1: Fold in half, left edge onto right edge, so that ")]
    assert steps
    assert steps[0].endswith("corner sw lies on corner se. Bring the part with sw over, towards you.")
    at = lines.index("  cut outline 1: 4 corners, area 1,800 mm²")
    corners = sorted(lines[at + 1 : at + 5])
    # a rhombus with diagonals 90 and 40: side √(45² + 20²), angles 2·atan(20/45) and the rest
    assert corners == [
        "    (-45, 0): 47.925°, then 49.24 mm",
        "    (0, 20): 132.075°, then 49.24 mm",
        "    pencil-edge: 47.925°, then 49.24 mm",
        "    pencil-fold: 132.075°, then 49.24 mm",
    ]


def test_fold_says_every_step() -> None:
    document = verify.load(RECIPES / "shutters.toml")
    assert isinstance(document, Recipe)
    lines = run("fold", RECIPES / "shutters.toml").output.splitlines()
    for number, step in enumerate(document.steps, start=1):
        words = f"  step {number}: {sentence(verify.fold(document), number)}"
        assert any(line.split(" [the outline")[0] == words for line in lines), step
    assert any(
        "the scissors meet 8 layers: about 0.8 mm of paper" in x and "typical of office paper, no standard" in x
        for x in lines
    )


def test_fold_of_an_open_line(strip: Path) -> None:
    lines = run("fold", strip).output.splitlines()
    (at,) = (k for k, x in enumerate(lines) if x.startswith("  cut line 1, from "))
    assert lines[at].endswith(": 2 straight pieces")
    assert sum("p: " in x and "then 5 mm" in x for x in lines) == 1
    assert any(x.endswith("then 5 mm") for x in lines[at + 1 : at + 3])


def test_fold_along_the_edge(strip: Path) -> None:
    strip.write_text(STRIP.replace('"p", "q"', '"b", "c"'))
    output = run("fold", strip).output
    assert "meets no paper" not in output
    assert "  the cut runs along the sheet's own edge and cuts nothing there" in output


def test_fold_says_by_how_much_a_cut_misses() -> None:
    output = run("fold", REFUSED / "star-by-eye.toml").output
    assert "the cut misses the figure: greatest distance between the outlines 2.19" in output
    assert "(proved)" in output
    assert "worst angle off by 2.4" in output
    keys = json.loads(run("fold", REFUSED / "star-by-eye.toml", "--json").output)["deviation"]
    assert set(keys) == {"at_least", "at_most", "edges", "corners"}
    assert len(keys["edges"]) == len(keys["corners"]) == 10
    assert set(keys["edges"][0]) == {"edge", "length_error", "turn_degrees"}
    assert set(keys["corners"][0]) == {"corner", "angle_error_degrees", "distance"}
    hair = json.loads(run("fold", REFUSED / "cut-misses-by-a-hair.toml", "--json").output)["deviation"]
    low, high = (Fraction(hair[k]) for k in ("at_least", "at_most"))
    assert 0.9e-30 < low <= high < 1.1e-30


def test_fold_json() -> None:
    keys = json.loads(run("fold", RECIPES / "window-three-folds.toml", "--json").output)
    assert set(keys) == {"document", "title", "verdict", "statement_sha256", "claims", "findings", "facts", "cut"}
    assert keys["claims"] == ["folds-flat", "cut-exact"]
    assert keys["statement_sha256"] == verify.load(RECIPES / "window-three-folds.toml").statement_sha256
    facts = keys["facts"]
    assert (facts["faces"], facts["folds"], facts["layers_at_cut"], facts["snips_needed"]) == (20, 16, 8, 1)
    layers = [f["layers"] for f in facts["hands"]["folds"]]
    assert layers == [1, 2, 4]  # in half, in half, and along the diagonal of four layers
    assert facts["warnings"] == []
    assert {tuple(p) for p in keys["cut"]["loops"][0]} == {("30", "30"), ("-30", "30"), ("-30", "-30"), ("30", "-30")}
    assert keys["cut"]["paths"] == []
    steps = [f for f in keys["findings"] if f["check"] == "step"]
    assert [f["where"] for f in steps] == [[f"step {k}"] for k in range(1, 5)]
    assert {f["kind"] for f in steps} == {"done"}


def test_fold_json_of_a_refused_step() -> None:
    keys = json.loads(run("fold", REFUSED / "held-layer.toml", "--json").output)
    assert "cut" not in keys
    (failure,) = (f for f in keys["findings"] if f["level"] == "fails")
    assert (failure["check"], failure["kind"], failure["where"]) == ("step", "blocked", ["step 2", "steps[1]"])


@pytest.mark.parametrize(
    ("name", "suffix"),
    [
        ("kite.toml", "toml"),
        ("kite.toml", "json"),
        ("letter-t.toml", "toml"),
        ("blintz-lid.toml", "json"),
        pytest.param("snowflake.toml", "toml", marks=pytest.mark.long),
        pytest.param("star-exact.toml", "json", marks=pytest.mark.long),
    ],
)
def test_the_pattern_that_is_written_is_certified(tmp_path: Path, name: str, suffix: str) -> None:
    output = tmp_path / f"pattern.{suffix}"
    done = run("fold", RECIPES / name, "-o", output)
    assert done.exit_code == 0
    assert done.output.splitlines()[-1] == f"  pattern written to {output}"
    pattern = verify.load(output)
    assert isinstance(pattern, Document)
    recipe = verify.load(RECIPES / name)
    assert pattern.claims == recipe.claims
    assert run("certify", output).exit_code == 0
    quiet = run("fold", RECIPES / name, "-o", output, "--json")
    json.loads(quiet.output)  # nothing but the object


def test_without_a_target_the_outline_becomes_the_target(tmp_path: Path) -> None:
    output = tmp_path / "pattern.toml"
    assert run("fold", RECIPES / "what-does-it-make.json", "-o", output).exit_code == 0
    pattern = verify.load(output)
    assert isinstance(pattern, Document)
    assert [len(x) for x in pattern.loops] == [4]
    assert {"pencil-edge", "pencil-fold"} < set(pattern.loops[0])
    result = verify.certify(pattern)
    assert (result.verdict, result.claims) == ("certified", ("folds-flat", "cut-exact"))


def test_no_pattern_of_a_refused_step(tmp_path: Path) -> None:
    output = tmp_path / "pattern.toml"
    assert run("fold", REFUSED / "held-layer.toml", "-o", output).exit_code == 1
    assert not output.exists()
    # a cut that misses is another matter: the folds are right, and the pattern is written, to be refuted too
    assert run("fold", REFUSED / "cut-misses-by-a-hair.toml", "-o", output).exit_code == 1
    assert run("certify", output).exit_code == 1


@pytest.mark.parametrize(
    ("path", "proves", "kind"),
    [
        (RECIPES / "kite.toml", "certified", None),
        pytest.param(RECIPES / "star-exact.toml", "certified", None, marks=pytest.mark.long),
        pytest.param(RECIPES / "snowflake.toml", "certified", None, marks=pytest.mark.long),
        (RECIPES / "what-does-it-make.json", "certified", None),
        (RECIPES / "pennant-equilateral.toml", "certified", None),
        (REFUSED / "held-layer.toml", "refuted", "step"),
        (REFUSED / "cannot-reach.toml", "refuted", "step"),
        (REFUSED / "scissors-off-by-a-hair.toml", "refuted", "off"),
        (REFUSED / "other-layer.toml", "refuted", "stray"),
        (REFUSED / "cut-misses-by-a-hair.toml", "refuted", "apart"),
    ],
)
def test_the_bare_kernel_accepts_the_certificate(
    root: Path, tmp_path: Path, path: Path, proves: str, kind: str | None
) -> None:
    certificate = tmp_path / "certificate.json"
    run("fold", path, "--certificate", certificate)
    keys = kernel(root, path, certificate)
    assert (keys["accepted"], keys["proves"], keys["kind"]) == (True, proves, kind)
    document = verify.load(path)
    assert keys["statement_sha256"] == document.statement_sha256
    assert tuple(keys["claims"]) == document.claims
    # certify -o writes the same, and audit says the same
    other = tmp_path / "other.json"
    run("certify", path, "-o", other)
    assert other.read_bytes() == certificate.read_bytes()
    done = run("audit", path, certificate)
    assert done.exit_code == 0
    assert done.output.startswith(f"accepted: {proves}" + (f" ({kind})" if kind else "") + ": folds-flat")
    told = json.loads(run("audit", path, certificate, "--json").output)
    assert (told["verdict"], told["accepted"], told["findings"]) == (proves, True, [])
    assert told["facts"] == keys["facts"]


@pytest.mark.parametrize(
    ("paths", "proves", "kind"),
    [
        ('["d", "p", "c"]', "certified", None),
        ('["e", "p", "c"]', "refuted", "off"),  # one side lies on the line of the scissors, the other does not
        ('["e", "f"]', "refuted", "off"),  # no side does
        ('["p", "c"]', "refuted", "stray"),  # one side lies on it, and the scissors cut another layer besides
    ],
)
def test_a_target_and_a_line_to_cut_along(
    root: Path, strip: Path, tmp_path: Path, paths: str, proves: str, kind: str | None
) -> None:
    text = STRIP.replace("[sheet]", "e = [0, 5]\nf = [8, 5]\n[sheet]").replace(
        "[cut]", f"[target]\npaths = [{paths}]\n[cut]"
    )
    strip.write_text(text)
    certificate = tmp_path / "certificate.json"
    done = run("fold", strip, "--certificate", certificate)
    assert done.exit_code == (0 if proves == "certified" else 1)
    assert done.output.startswith(f"{proves}: A corner off")
    keys = kernel(root, strip, certificate)
    assert (keys["accepted"], keys["proves"], keys["kind"]) == (True, proves, kind)


def test_another_recipes_certificate_is_rejected(root: Path, tmp_path: Path) -> None:
    certificate = tmp_path / "certificate.json"
    run("fold", RECIPES / "window-two-folds.toml", "--certificate", certificate)
    for other in (RECIPES / "window-three-folds.toml", PROOFS / "certified" / "window-two-folds.toml"):
        assert kernel(root, other, certificate)["accepted"] is False
        done = run("audit", other, certificate)
        assert done.exit_code == 1
        assert done.output.startswith("rejected: ")


def test_no_certificate_where_nothing_is_proved(tmp_path: Path) -> None:
    for name in ("cubic.toml", "no-such-mark.toml"):
        run("fold", REFUSED / name, "--certificate", tmp_path / "certificate.json")
    assert list(tmp_path.iterdir()) == []


def test_fold_takes_recipes_only() -> None:
    for command in ("fold", "tolerance"):
        done = run(command, PROOFS / "certified" / "kite.toml")
        assert done.exit_code == 2
        assert 'found a pattern; expected a recipe, "creaseproof-recipe/1"' in done.output
        keys = run(command, PROOFS / "certified" / "kite.toml", "--json")
        assert json.loads(keys.output)["findings"][0]["where"] == ["format"]


def test_count_takes_patterns_only() -> None:
    done = run("count", RECIPES / "kite.toml")
    assert done.exit_code == 2
    assert "creaseproof fold RECIPE -o PATTERN writes one" in done.output


# ---- certify, explain


def test_certify_a_table_of_both_sorts(tmp_path: Path) -> None:
    paths = [
        RECIPES / "kite.toml",
        PROOFS / "certified" / "star.toml",
        REFUSED / "tearing.toml",
        REFUSED / "no-such-mark.toml",
        REFUSED / "cubic.toml",
    ]
    done = run("certify", *paths, "-o", tmp_path / "out")
    assert done.exit_code == 4
    assert done.output.splitlines()[-1] == "2 certified, 1 refuted, 1 malformed, 1 unsupported"
    for path in paths:
        assert str(path) in done.output
    assert sorted(p.name for p in (tmp_path / "out").iterdir()) == [
        "kite.certificate.json",
        "star.certificate.json",
        "tearing.certificate.json",
    ]


@pytest.mark.parametrize("name", ["kite.toml", "letter-t.toml", "snowflake.toml"])
def test_explain_a_certified_recipe(name: str) -> None:
    done = run("explain", RECIPES / name)
    assert done.exit_code == 0
    lines = done.output.splitlines()
    document = verify.load(RECIPES / name)
    assert isinstance(document, Recipe)
    at = lines.index("Step by step")
    said = [line.split(" [the outline")[0] for line in lines[at + 1 : at + 1 + len(document.steps)]]
    folded = verify.fold(document)
    assert said == [f"  holds step {k}: {step_words(folded, k)}" for k in range(1, len(document.steps) + 1)]
    at = lines.index("Layer order, bottom to top")
    carried = folded.fold_map.subdivision
    assert len(carried.faces) > len(carried.panels)  # the outline divides them, and yet each is told once
    told = lines[at + 1 : lines.index("", at)]
    assert len(told) == len(set(told)) == len(carried.panels)
    assert any(
        x.startswith("Proved (the kernel accepted the certificate): each step can be done as written") for x in lines
    )
    assert lines[-1] == f"Statement {document.statement_sha256}"


def test_explain_a_refused_step() -> None:
    done = run("explain", REFUSED / "tearing.toml")
    assert done.exit_code == 1
    assert "  FAILS step 3 cannot be done (fold the top layer and what is joined to it over, moving e, " in done.output
    assert "Proved (the kernel accepted the refutation)" in done.output


def test_explain_an_unsupported_recipe() -> None:
    output = run("explain", REFUSED / "cubic.toml").output
    assert "cubic equation" in output
    assert "a limit was reached" not in output


def test_fold_says_when_certify_refutes_what_it_writes(tmp_path: Path) -> None:
    for name, verdict in (("cut-misses-by-a-hair.toml", "refuted"), ("kite.toml", "certified")):
        folder = RECIPES if verdict == "certified" else REFUSED
        output = tmp_path / name
        last = run("fold", folder / name, "-o", output).output.splitlines()[-1]
        assert last.startswith(f"  pattern written to {output}")
        why = "; certify says refuted: only part of the figure's line window-se–window-ne folds onto the cut line"
        assert (why in last) == (verdict == "refuted")
        assert verify.certify(output).verdict == verdict
        keys = json.loads(run("fold", folder / name, "-o", tmp_path / f"again-{name}", "--json").output)
        assert keys["pattern_verdict"] == verdict
    assert "pattern_verdict" not in json.loads(run("fold", RECIPES / "kite.toml", "--json").output)


# ---- tolerance


def test_tolerance() -> None:
    done = run("tolerance", RECIPES / "kite.toml", "--samples", 4, "--error", 0.25, "--width", 2)
    assert done.exit_code == 0
    lines = done.output.splitlines()
    assert lines[0] == "Kite 85 and 195 in two folds"
    assert lines[1].startswith("  keep each fold true to ")
    assert ": every side then stayed within 2 mm in all 4 trials (but not with " in lines[1]
    assert re.fullmatch("  creases true to 0.[0-9]+ mm keep the cut within 1 mm, even if all errors add up", lines[2])
    moved = "half of the trials moved no side by more than (.*) mm, and none by more than (.*) mm"
    match = re.fullmatch(f"  with each fold off by up to 0.25 mm at its ends, {moved}", lines[3])
    assert match is not None
    assert 0 < float(match[1]) < float(match[2])
    assert lines[4].startswith("  the chance that one more trial goes beyond ")
    assert lines[4].endswith(" mm is 1 in 5 (errors uniform and independent)")
    assert sum("moves the worst side" in x for x in lines) == 2
    assert lines[-1] == "  4 layers along the cut, about 0.4 mm of paper (typical values, no standard)"


def test_tolerance_json() -> None:
    keys = json.loads(run("tolerance", RECIPES / "kite.toml", "--samples", 4, "--json").output)
    assert set(keys) == {
        "error", "width", "samples", "first_order", "largest", "typical", "failed", "allowed", "effects", "unit",
        "layers", "stack_mm", "document", "refused", "failures", "outline", *SHARED,
    }  # fmt: skip
    plain = {"error": 0.5, "width": 1.0, "samples": 4, "unit": "mm", "layers": 4, "failed": 0}
    assert plain.items() <= keys.items()
    assert [set(e) for e in keys["effects"]] == [{"step", "words", "worst", "jump", "uncut", "beside"}] * 2
    assert 0 < keys["allowed"] < keys["refused"]
    again = json.loads(run("tolerance", RECIPES / "kite.toml", "--samples", 4, "--json").output)
    assert again == keys
    other = json.loads(run("tolerance", RECIPES / "kite.toml", "--samples", 4, "--seed", 2, "--json").output)
    assert other["largest"] != keys["largest"]


@pytest.mark.parametrize(("options", "height"), [([], 1.6), (["--grammage", 160], 3.2), (["--thickness", 0.05], 0.8)])
def test_the_height_of_the_stack_and_a_warning(options: list[object], height: float) -> None:
    arguments = ["tolerance", RECIPES / "letter-x.toml", "--samples", 1, *options]
    if not options:
        assert json.loads(run(*arguments, "--json").output)["stack_mm"] == pytest.approx(height)
    output = run(*arguments).output
    assert f"16 layers along the cut, about {height:g} mm of paper" in output
    assert "common practice stops at about 12 layers" in output


@pytest.mark.parametrize(
    ("name", "code", "says"),
    [("held-layer.toml", 1, "refuted: "), ("cubic.toml", 4, "unsupported: "), ("no-such-mark.toml", 2, "malformed: ")],
)
def test_tolerance_of_what_cannot_be_folded(name: str, code: int, says: str) -> None:
    done = run("tolerance", REFUSED / name)
    assert done.exit_code == code
    assert done.output.startswith(says)
    keys = run("tolerance", REFUSED / name, "--json")
    assert keys.exit_code == code
    assert json.loads(keys.output)["verdict"] == says.removesuffix(": ")


def test_tolerance_without_a_cut(strip: Path) -> None:
    strip.write_text(STRIP[: STRIP.index("[cut]")])
    done = run("tolerance", strip)
    assert (done.exit_code, done.output) == (4, "unsupported: nothing is cut by one straight cut\n")
    keys = run("tolerance", strip, "--json")
    assert (keys.exit_code, json.loads(keys.output)["verdict"]) == (4, "unsupported")


@pytest.mark.parametrize(
    "option", [["--error", "0"], ["--width", "-1"], ["--samples", "0"], ["--seed", "x"], ["--thickness", "0"]]
)
def test_options_out_of_range(option: list[str]) -> None:
    done = run("tolerance", RECIPES / "kite.toml", *option)
    assert done.exit_code == 2
    assert option[0] in done.output


def test_names_that_would_steer_a_terminal(tmp_path: Path) -> None:
    """What a document says is printed without control characters."""
    keys = verify.load(RECIPES / "what-does-it-make.json").keys()
    text = json.dumps(keys).replace("pencil-edge", "pencil\\u001b[31m").replace("What does", "What\\u0007 does")
    path = tmp_path / "x.json"
    path.write_text(text)
    for command in (["fold"], ["certify"], ["explain"], ["tolerance", "--samples", 1]):
        done = run(command[0], path, *command[1:])
        assert done.exit_code == 0
        assert "\x1b" not in done.output
        assert "\x07" not in done.output


def test_internal_errors_are_no_verdict(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("the fold is a lie")

    monkeypatch.setattr("verify.cli.fold.run_certify", broken)
    done = run("fold", RECIPES / "kite.toml")
    assert done.exit_code == 70
    assert "internal error: RuntimeError: the fold is a lie" in done.output
