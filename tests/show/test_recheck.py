"""The report's page asks the second checker itself: what it says when it is opened, and when someone has changed it."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.corpus import certified
from tests.places import PROOFS
from tests.show import chromium
from verify.certificate.second import program
from verify.show.report import report

BUILT = PROOFS / "theory" / "coq" / "build" / "page" / "second.js"
SHIPPED = PROOFS.parent / "verify" / "show" / "template" / "second.js"

Page = Callable[[str], tuple[str, list[str]]]


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    """Opens a page and waits for what the second checker says; also what the console says."""
    folder = tmp_path_factory.mktemp("pages")
    with chromium.started() as browser:

        def show(html: str) -> tuple[str, list[str]]:
            path = folder / "page.html"
            path.write_text(html, encoding="utf-8")
            page = browser.new_page()
            told: list[str] = []
            page.on("console", lambda message: told.append(message.text))
            page.on("pageerror", lambda error: told.append(str(error)))
            page.goto(path.as_uri())
            page.wait_for_selector("#recheck.yes, #recheck.no, #recheck.unsure", timeout=60_000)
            text = page.inner_text("#recheck")
            page.close()
            return text, told

        yield show


def written(name: str) -> str:
    return report(certified(PROOFS / name))


@pytest.fixture(scope="module")
def kite() -> str:
    return written("certified/kite.toml")


@pytest.mark.browser
@chromium.needed
@pytest.mark.parametrize("name", ["certified/star.toml", "certified/window-three-folds.toml", "certified/map-3x3.toml"])
def test_an_honest_page_is_accepted_with_its_digest(name: str, shown: Page) -> None:
    html = written(name)
    digest = re.search(r"digest <code>([0-9a-f]{64})</code>", html)
    assert digest is not None
    text, told = shown(html)
    assert text.startswith("Checked again just now in this browser")
    assert digest[1] in text
    assert ("the cut is exact" in text) == ('"target":null' not in html.replace("\\", ""))
    assert told == []


def tampered(html: str, pattern: str, to: str) -> str:
    changed, number = re.subn(pattern, to, html, count=1)
    assert number == 1
    return changed


CHANGES = {
    "another place of a point": (r'(\\"points\\":\{\\"[^"]+\\":\[\\")', r"\g<1>1+", "does not accept"),
    "a valley for a mountain": (r'\\"either\\"', r'\\"mountain\\"', "NO"),
    "another digest": (r"digest <code>[0-9a-f]{8}", "digest <code>00000000", "about another statement"),
    "evidence cut short": (r'("evidence":"second/1 [^"]{400})[^"]*', r"\g<1>", "does not accept"),
    "no evidence": (r'"evidence":"[^"]*"', '"evidence":""', "does not accept"),
}


@pytest.mark.browser
@chromium.needed
@pytest.mark.parametrize("change", CHANGES)
def test_a_changed_page_says_no(change: str, kite: str, shown: Page) -> None:
    pattern, to, word = CHANGES[change]
    text, _ = shown(tampered(kite, pattern, to))
    assert text.startswith("NO")
    assert word in text


@pytest.mark.parametrize("name", ["refuted/maekawa.json", "recipes/kite.toml"])
def test_what_it_does_not_decide_is_not_asked(name: str) -> None:
    assert 'id="recheck"' not in written(name)


@pytest.mark.skipif(program() is None or not BUILT.exists(), reason="the second checker is not built for the browser")
def test_the_shipped_script_is_what_is_built() -> None:
    assert SHIPPED.read_bytes() == BUILT.read_bytes()


@pytest.mark.skipif(shutil.which("node") is None, reason="no node here")
def test_the_script_answers_the_digest_of_fips_180(tmp_path: Path) -> None:
    # FIPS 180-4, examples: the digest of "abc".
    script = tmp_path / "ask.js"
    script.write_text(
        (
            f"const m = require({str(SHIPPED)!r}); const f = m.secondChecker || globalThis.secondChecker; "
            "console.log(f('abc', ''));"
        ),
        encoding="utf-8",
    )
    done = subprocess.run(["node", str(script)], capture_output=True, text=True, timeout=60, check=True)
    answer = json.loads(done.stdout)
    assert answer["statement_sha256"] == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert answer["verdict"] == "unsupported"
