"""`creaseproof compare`: what counts as worse, what is only told, and what cannot be compared."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

import verify
from tests.cli import command
from tests.places import PROOFS
from verify.tasks import compare as compare_module
from verify.tasks.compare import compare

# a strip of paper, 40 × 20, folded once across the middle and cut along a slanted line and its mirror image
PENNANT = """format = "creaseproof-pattern/1"
title = "Pennant for the quay"
creases = [["s", "n", "either"]]
[points]
a = [0, 0]
b = [40, 0]
c = [40, 20]
d = [0, 20]
s = [20, 0]
n = [20, 20]
low-left = [10, 0]
low-right = [30, 0]
[sheet]
outline = ["a", "b", "c", "d"]
[target]
paths = [["low-left", "n", "low-right"]]
"""
# the same folded by hand
RECIPE = """format = "creaseproof-recipe/1"
title = "Pennant by folding"
[points]
a = [0, 0]
b = [40, 0]
c = [40, 20]
d = [0, 20]
n = [20, 20]
low-left = [10, 0]
low-right = [30, 0]
[sheet]
outline = ["a", "b", "c", "d"]
[target]
paths = [["low-left", "n", "low-right"]]
[[steps]]
fold = { point = "a", onto = "b" }
moves = "a"
"""
MISSED = PENNANT.replace("low-right = [30, 0]", "low-right = [31, 0]")
NO_TARGET = PENNANT.split("[target]", maxsplit=1)[0]
TWO_SNIPS = PENNANT + "[cut]\nsnips = 2\n"
MORE_FOLDS = PENNANT.replace('["s", "n", "either"]', '["s", "n", "either"], ["u", "v", "either"]').replace(
    "[sheet]", "u = [4, 0]\nv = [4, 20]\n[sheet]"
)
BROKEN = PENNANT.replace('"n", "either"', '"nn", "either"')

Folders = Callable[..., tuple[Path, Path]]


@pytest.fixture
def folders(tmp_path: Path) -> Folders:
    """Two folders with the documents given by name: each before, after (None: not there)."""

    def make(**documents: tuple[str | None, str | None]) -> tuple[Path, Path]:
        both = tmp_path / "before", tmp_path / "after"
        for number, folder in enumerate(both):
            folder.mkdir()
            for name, texts in documents.items():
                text = texts[number]
                if text is not None:
                    (folder / f"{name}.toml").write_text(text, encoding="utf-8")
        return both

    return make


def run(*arguments: object) -> Result:
    return command.run("compare", *arguments)


def run_json(*arguments: object) -> tuple[int, dict[str, Any]]:
    result = run(*arguments, "--json")
    assert result.output.count("\n") == 1
    return result.exit_code, json.loads(result.output)


def kinds(keys: dict[str, Any], name: str) -> dict[str, str]:
    return {f["kind"]: f["level"] for f in keys["findings"] if f["document"] == name}


def test_the_documents_of_this_file_are_what_they_are_said_to_be() -> None:
    verdicts = {
        text: verify.certify(verify.read(text)).verdict
        for text in (PENNANT, RECIPE, MISSED, NO_TARGET, TWO_SNIPS, MORE_FOLDS)
    }
    assert [v for text, v in verdicts.items() if text != MISSED] == ["certified"] * 5
    assert verdicts[MISSED] == "refuted"
    with pytest.raises(verify.Malformed):
        verify.read(BROKEN)


def test_nothing_changed(folders: Folders) -> None:
    before, after = folders(pennant=(PENNANT, PENNANT), recipe=(RECIPE, "# a remark\n" + RECIPE))
    result = run(before, after)
    assert result.exit_code == 0
    digest = verify.read(PENNANT).statement_sha256
    assert f"unchanged  pennant.toml: certified as before, the same statement {digest[:12]}…" in result.output
    assert "unchanged  recipe.toml: certified as before, the same statement" in result.output
    assert result.output.endswith("no verdict is worse: 2 unchanged\n")


@pytest.mark.parametrize(
    ("after", "kind", "words"),
    [
        (MISSED, "no-longer-certified", "was certified, now refuted: "),
        (BROKEN, "no-longer-certified", 'now malformed: creases[0] (line 3): found the unknown point "nn"'),
        (None, "gone", "gone; was certified"),
        (NO_TARGET, "claim-dropped", "no longer claims cut-exact"),
        (TWO_SNIPS, "more-snips", "allows more snips: 1 → 2"),
    ],
    ids=["refuted", "malformed", "gone", "claim", "snips"],
)
def test_what_is_worse(folders: Folders, after: str | None, kind: str, words: str) -> None:
    both = folders(pennant=(PENNANT, after), other=(PENNANT, PENNANT))
    result = run(*both)
    assert result.exit_code == 1
    line, *others = [x for x in result.output.splitlines() if "pennant.toml: " in x]
    assert line.startswith("worse      pennant.toml: ")
    assert all(x.startswith("also       ") for x in others)
    assert words in line
    assert result.output.splitlines()[-1] == "something is worse: 1 worse, 1 unchanged"
    status, keys = run_json(*both)
    assert (status, keys["verdict"]) == (1, "worse")
    assert [(f["document"], f["kind"]) for f in keys["findings"] if f["level"] == "fails"] == [("pennant.toml", kind)]


@pytest.mark.parametrize(
    ("texts", "standing", "expected"),
    [
        ((MISSED, PENNANT), "changed", {"newly-certified", "statement", "counts"}),
        ((TWO_SNIPS, PENNANT), "changed", {"statement", "counts"}),
        ((NO_TARGET, PENNANT), "changed", {"statement", "counts"}),
        ((PENNANT, RECIPE), "changed", {"statement", "counts"}),
        ((MISSED, BROKEN), "changed", {"verdict"}),
        ((MISSED, MISSED.replace("31", "32")), "changed", {"reason", "statement"}),
        ((None, MISSED), "new", {"new"}),
        ((MISSED, None), "gone", {"gone"}),
        ((BROKEN, BROKEN.replace("Pennant", "Sail")), "unchanged", {"unchanged"}),
    ],
)
def test_what_is_only_told(
    folders: Folders, texts: tuple[str | None, str | None], standing: str, expected: set[str]
) -> None:
    status, keys = run_json(*folders(pennant=texts, other=(PENNANT, PENNANT)))
    assert (status, keys["verdict"]) == (0, "not-worse")
    assert {d["document"]: d["standing"] for d in keys["documents"]}["pennant.toml"] == standing
    found = kinds(keys, "pennant.toml")
    assert set(found) == expected
    assert "fails" not in found.values()


def test_numbers_that_changed(folders: Folders) -> None:
    """A second fold beside the pennant, u–v from edge to edge: one fold edge more, one panel more."""
    status, keys = run_json(*folders(pennant=(PENNANT, MORE_FOLDS)))
    assert status == 0
    (counts,) = [f for f in keys["findings"] if f["kind"] == "counts"]
    assert counts["value"]["creases"] == {"baseline": 1, "candidate": 2}
    assert counts["value"]["folds"] == {"baseline": 1, "candidate": 2}
    assert counts["value"]["faces"]["candidate"] == counts["value"]["faces"]["baseline"] + 1
    assert "drawn creases 1 → 2, fold edges 1 → 2, panels 2 → 3, faces between all lines" in counts["message"]
    (statement,) = [f for f in keys["findings"] if f["kind"] == "statement"]
    assert statement["value"]["parts"] == ["creases"]
    (document,) = keys["documents"]
    for side, text in (("baseline", PENNANT), ("candidate", MORE_FOLDS)):
        result = verify.certify(verify.read(text))
        assert document[side]["statement_sha256"] == result.statement_sha256 == statement["value"][side]
        facts = result.keys()["facts"]
        counted = {name: n for name, n in facts.items() if isinstance(n, int)}
        assert document[side]["facts"].items() >= counted.items()


def test_renamed_points_are_another_statement_and_the_same_drawing(folders: Folders) -> None:
    renamed = PENNANT.replace("low-left", "left-foot")
    _, keys = run_json(*folders(pennant=(PENNANT, renamed)))
    assert set(kinds(keys, "pennant.toml")) == {"statement"}
    assert "only the points" in keys["findings"][0]["message"]


def test_json_has_the_keys_of_a_verdict(folders: Folders) -> None:
    status, keys = run_json(*folders(a=(PENNANT, MISSED), b=(PENNANT, PENNANT), c=(None, RECIPE), d=(PENNANT, None)))
    assert status == 1
    assert list(keys) == ["verdict", "statement_sha256", "claims", "findings", "facts", "documents"]
    assert keys["facts"] == {"worse": 2, "gone": 0, "changed": 0, "new": 1, "unchanged": 1}
    for finding in keys["findings"]:
        assert {"check", "kind", "level", "message", "where"} <= set(finding)
        assert finding["check"] == "compare"
        assert finding["where"] == [finding["document"]]
    sides = {d["document"]: (d["baseline"] is None, d["candidate"] is None) for d in keys["documents"]}
    assert sides == {
        "a.toml": (False, False),
        "b.toml": (False, False),
        "c.toml": (True, False),
        "d.toml": (False, True),
    }
    same = keys["documents"][1]
    assert Path(same["baseline"]["document"]).parent.name == "before"
    assert Path(same["candidate"]["document"]).parent.name == "after"


def test_folders_below_certificates_and_hidden_files(folders: Folders) -> None:
    before, after = folders(pennant=(PENNANT, PENNANT))
    for folder in (before, after):
        (folder / "banner").mkdir()
        (folder / "banner" / "pennant.toml").write_text(PENNANT if folder == before else MISSED)
        (folder / "pennant.certificate.json").write_text("{}")
        (folder / ".draft.toml").write_text("nonsense")
        (folder / "notes.txt").write_text("nonsense")
    (after / ".drafts").mkdir()
    (after / ".drafts" / "x.toml").write_text("nonsense")
    status, keys = run_json(before, after)
    assert status == 1
    assert [d["document"] for d in keys["documents"]] == ["banner/pennant.toml", "pennant.toml"]
    assert kinds(keys, "banner/pennant.toml")["no-longer-certified"] == "fails"


def test_two_files_are_matched_whatever_their_names(tmp_path: Path) -> None:
    old, new = tmp_path / "old.toml", tmp_path / "new.json"
    old.write_text(PENNANT)
    verify.write(verify.read(PENNANT), new)
    result = run(old, new)
    assert result.exit_code == 0
    assert "the same statement" in result.output
    old.write_text(MISSED)
    assert run(new, old).exit_code == 1


def test_nothing_to_compare(folders: Folders, tmp_path: Path) -> None:
    before, after = folders(pennant=(PENNANT, PENNANT))
    empty, broken = tmp_path / "empty", tmp_path / "broken"
    empty.mkdir()
    broken.mkdir()
    (broken / "pennant.toml").write_text(BROKEN)
    for arguments, words in (
        ((tmp_path / "nowhere", after), "nowhere: found nothing of that name"),
        ((before, tmp_path / "nowhere"), "nowhere: found nothing of that name"),
        ((before / "pennant.toml", after), "found a file, while"),
        ((before, after / "pennant.toml"), "found a file, while"),
        ((empty, after), "empty: found no document; expected files named *.toml or *.json"),
        ((before, empty), "empty: found no document; expected files named *.toml or *.json"),
        ((broken, after), "no document that can be understood"),
    ):
        result = run(*arguments)
        assert result.exit_code == 2, arguments
        assert result.output.startswith("malformed: ")
        assert words in result.output
        status, keys = run_json(*arguments)
        assert (status, keys["verdict"]) == (2, "malformed")
        assert words.rpartition("found ")[2].split(";")[0] in keys["findings"][0]["message"]
    assert run(before).exit_code == 2


def test_a_limit_makes_a_certified_document_undecided_and_so_worse(
    folders: Folders, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The time limit is handed on to each certification, and `undecided` after `certified` is worse."""
    before, after = folders(pennant=(PENNANT, MORE_FOLDS), same=(PENNANT, PENNANT))
    seconds = []
    whole = compare_module.certify

    def certify(document: Any, limits: verify.pattern.limits.Limits, progress: Any) -> Any:
        seconds.append(limits.seconds)
        few = verify.pattern.limits.Limits(faces=2) if len(document.creases) > 1 else limits
        return whole(document, few, progress)

    monkeypatch.setattr(compare_module, "certify", certify)
    status, keys = run_json(before, after, "--seconds", "7.5")
    assert status == 1
    assert kinds(keys, "pennant.toml")["no-longer-certified"] == "fails"
    assert "the limit faces = 2 was reached" in keys["findings"][0]["message"]
    assert seconds == [7.5] * 2, "one certification for all files of the same bytes"


def test_another_verdict_on_the_same_statement_says_so(folders: Folders, monkeypatch: pytest.MonkeyPatch) -> None:
    before, after = folders(pennant=(PENNANT, "# a remark\n" + PENNANT))
    whole = compare_module.certify

    def certify(document: Any, limits: verify.pattern.limits.Limits, progress: Any) -> Any:
        late = document.raw.startswith(b"#")
        return whole(document, verify.pattern.limits.Limits(faces=1) if late else limits, progress)

    monkeypatch.setattr(compare_module, "certify", certify)
    result = run(before, after)
    assert result.exit_code == 1
    digest = verify.read(PENNANT).statement_sha256
    assert "was certified, now undecided: the limit faces = 1" in result.output
    assert f"(the same statement {digest[:12]}…" in result.output


def test_control_characters_of_a_name_do_not_reach_the_terminal(folders: Folders) -> None:
    before, after = folders(**{"a\x1b[2J": (PENNANT, MISSED)})
    result = run(before, after)
    assert result.exit_code == 1
    assert "\x1b" not in result.output


def test_the_corpus_against_a_copy_with_a_refuted_document_in_it(tmp_path: Path) -> None:
    names = ("kite.toml", "ring.toml", "pennants.json", "sail-3-4-5.toml")
    for folder in ("before", "after"):
        (tmp_path / folder).mkdir()
        for name in names:
            shutil.copy(PROOFS / "certified" / name, tmp_path / folder / name)
    assert not compare(tmp_path / "before", tmp_path / "after").is_worse
    shutil.copy(PROOFS / "refuted" / "missed-edge.toml", tmp_path / "after" / "kite.toml")
    worse = [pair.name for pair in compare(tmp_path / "before", tmp_path / "after").pairs if pair.standing == "worse"]
    assert worse == ["kite.toml"]


def test_warnings_that_come_are_said_and_are_not_worse(folders: Folders) -> None:
    """A second fold half a millimetre from the pennant's own."""
    plain, more = (text[: text.index("[target]")] for text in (PENNANT, MORE_FOLDS))
    near = more.replace("u = [4, 0]", "u = [19.5, 0]").replace("v = [4, 20]", "v = [19.5, 20]")
    status, keys = run_json(*folders(pennant=(plain, near)))
    assert status == 0
    (found,) = [f for f in keys["findings"] if f["kind"] == "warnings"]
    assert found["level"] == "advice"
    assert found["message"] == "warnings: none → narrow gap"
    assert found["value"] == {"baseline": [], "candidate": ["narrow-gap"]}


def test_what_a_sweep_wrote_is_no_document(folders: Folders, tmp_path: Path) -> None:
    """A folder that was swept into itself compares as before; one with nothing but results says which is meant."""
    before, after = folders(pennant=(PENNANT, PENNANT))
    for output in (before, tmp_path / "results"):
        swept = command.run("sweep", before, "-o", output)
        assert swept.exit_code == 0
        assert f"written to {output}: certificates, junit.xml, sarif.json" in swept.output
    status, keys = run_json(before, after)
    assert (status, [d["document"] for d in keys["documents"]]) == (0, ["pennant.toml"])
    result = run(tmp_path / "results", after)
    assert result.exit_code == 2
    assert "results: found what a sweep wrote; expected the folder of documents that was swept" in result.output
