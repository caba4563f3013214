"""The report as text: self-contained, complete, safe. How it behaves in a browser: `test_browser.py`."""

from __future__ import annotations

import json
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest

import verify
from tests.corpus import certified
from tests.families import miura
from verify.pattern.limits import Limits
from verify.show.report import report
from verify.tasks.explain import SECTIONS

# Elements that HTML 5 never closes (WHATWG, void elements): those that a report has; Chromium opens it in test_browser.
_VOID = {"meta", "link", "input", "br", "img", "hr"}


class Page(HTMLParser):
    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.ids: list[str] = []
        self.links: list[str] = []
        self.words: list[str] = []
        self.labels: list[str] = []
        self.feed(text)

    def handle_starttag(self, name, attributes):
        found = dict(attributes)
        if name not in _VOID:
            self.open.append(name)
        if "id" in found:
            self.ids.append(found["id"])
        self.links += [found[k] for k in ("href", "src", "xlink:href", "action", "data") if found.get(k)]
        for key in ("for", "aria-labelledby"):
            self.labels += (found.get(key) or "").split()

    def handle_startendtag(self, name, attributes):
        self.handle_starttag(name, attributes)
        if name not in _VOID:
            self.open.pop()

    def handle_endtag(self, name):
        assert self.open.pop() == name

    def handle_data(self, data):
        if "script" not in self.open and "style" not in self.open:
            self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join("".join(self.words).split())


def test_sixteen_layers_are_warned_of_once(proofs: Path) -> None:
    result = certified(proofs / "alphabet" / "B.toml")
    assert [f.kind for f in result.findings if "the scissors meet" in f.message] == ["too-thick"]


def test_names_are_of_one_size_in_both_views_and_can_be_read_on_a_phone(proofs: Path) -> None:
    """A view is as wide as the page: on 340 px a name has 7 at least (our own choice, no source)."""
    text = report(certified(proofs / "refuted" / "missed-edge.toml"))
    sizes = []
    for view in re.findall(r'id="(?:flat|folded)-view".*?</svg>', text, re.S):
        (wide,) = re.findall(r'<svg[^>]*viewBox="\S+ \S+ (\S+) \S+"', view)
        named = [float(size) for size in re.findall(r'font-size="(\S+)" class="text"', view)]
        sizes.append(340 * max(named) / float(wide))
    assert len(sizes) == 2
    assert min(sizes) >= 7
    assert max(sizes) <= 1.3 * min(sizes)


DOCUMENTS = [
    "certified/star.toml",
    "certified/lantern-twist.toml",
    "certified/cord-slots.toml",
    "refuted/trapped-panel.toml",
    "refuted/hole-closure.toml",
    "refuted/stray-edge.toml",
    "recipes/letter-t.toml",
    "recipes/gulls-turned.toml",
    "recipes/shutters.toml",
    "recipes/what-does-it-make.json",
    "recipes-refused/tearing.toml",
    "recipes-refused/cubic.toml",
]


@pytest.mark.parametrize("name", DOCUMENTS)
def test_a_report_is_complete_and_asks_nothing_of_the_network(name, proofs: Path):
    result = certified(proofs / name)
    text = report(result)
    page = Page(text)
    assert page.open == []
    assert len(page.ids) == len(set(page.ids))
    assert set(page.labels) <= set(page.ids)
    assert all(link.startswith(("#", "data:,")) for link in page.links)
    assert not re.search(r"@import|url\((?!#)", text)
    assert result.verdict in page.text
    assert result.statement_sha256 in page.text
    for finding in result.findings:
        assert " ".join(finding.message.split()) in page.text
        for reason in finding.value.get("reasons", []):
            assert reason in page.text
    for check, title in SECTIONS:
        assert (re.search(rf"{re.escape(title)}: \d", page.text) is not None) == any(
            f.check == check for f in result.findings
        )


def test_badges_are_spoken_of_where_there_are_some(proofs: Path):
    texts = [report(certified(proofs / name)) for name in ("certified/kite.toml", "refuted/missed-edge.toml")]
    assert ["Badges carry the numbers of the findings" in text for text in texts] == [False, True]


def test_steps_of_a_recipe_end_where_the_recipe_ends(proofs: Path):
    result = certified(proofs / "recipes/letter-t.toml")
    data = json.loads(re.search(r'id="data">(.*?)</script>', report(result), re.DOTALL).group(1))
    places = [list(p) for p in data["flat"]]
    for step in data["steps"]:
        for v, x, y in step.get("moved", []):
            places[v] = [x, y]
    assert places == data["folded"]
    assert len(data["steps"]) == len(result.document.steps) + 1


def test_four_hundred_panels_stay_under_five_megabytes():
    # Without time for the search there are no layers; every panel, line and finding is there all the same.
    result = verify.certify(miura(20, 20), Limits(seconds=1e-6))
    text = report(result)
    assert text.count('class="hit-face"') == 800
    assert len(text.encode()) < 5_000_000


def test_what_a_document_says_cannot_run():
    hostile = "</script><script>alert(1)</script><img src=x onerror=alert(1)>"
    keys = {
        "format": "creaseproof-pattern/1",
        "title": hostile,
        "sheet": {"outline": [hostile, "b", "c"]},
        "points": {hostile: [0, 0], "b": [10, 0], "c": [0, 10]},
    }
    text = report(verify.certify(verify.read(keys)))
    assert text.count("<script") == text.count("</script") == 5  # data and script, proof, second checker and its answer
    assert "<img" not in text
    Page(text)


def test_a_limit_leaves_a_report_that_says_so(proofs: Path):
    page = Page(report(verify.certify(proofs / "certified/star.toml", Limits(faces=3))))
    assert "undecided" in page.text
    assert "Nothing is proved" in page.text
