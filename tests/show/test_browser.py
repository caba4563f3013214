"""Reports and pictures in a real Chromium: keyboard, sliders, accessibility by axe-core, no network, no colliding
names.
"""

from __future__ import annotations

import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import verify
from tests.profiles import some
from tests.show import chromium
from verify.show.picture import ALL
from verify.show.report import report

pytestmark = [pytest.mark.browser, chromium.needed]

DOCUMENTS = [
    "certified/star.toml",
    "certified/lantern-twist.toml",
    "refuted/trapped-panel.toml",
    "refuted/hole-closure.toml",
    "refuted/missed-edge.toml",
    "recipes/letter-t.toml",
    "recipes-refused/tearing.toml",
]
SCREENS = {"light": (1200, 900, "light"), "dark": (1200, 900, "dark"), "phone": (360, 740, "light")}


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with chromium.started() as browser:
        yield browser


@pytest.fixture(scope="module")
def axe(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The script of axe-core, from npm."""
    npm = shutil.which("npm")
    if npm is None:
        pytest.skip("npm is not installed: no axe-core")
    home = tmp_path_factory.mktemp("axe")
    command = [npm, "install", "--prefix", str(home), "--ignore-scripts", "--no-audit", "--no-fund", "axe-core@4"]
    try:
        done = subprocess.run(command, capture_output=True, timeout=120, check=False)
    except subprocess.TimeoutExpired:
        pytest.skip("npm does not answer: no axe-core")
    if done.returncode:
        pytest.skip("npm cannot install axe-core here")
    return (home / "node_modules/axe-core/axe.min.js").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def written(proofs: Path, tmp_path_factory: pytest.TempPathFactory):
    folder = tmp_path_factory.mktemp("reports")

    def of(name: str) -> Path:
        path = folder / (name.replace("/", "-") + ".html")
        if not path.exists():
            path.write_text(report(verify.certify(proofs / name)), encoding="utf-8")
        return path

    return of


@pytest.fixture
def opened(browser, written):
    """Opens a report; collects what the console says and what is asked of the network."""
    contexts = []

    def of(name: str, screen: str = "light", **options: Any):
        wide, high, scheme = SCREENS[screen]
        context = browser.new_context(
            viewport={"width": wide, "height": high},
            color_scheme=scheme,
            reduced_motion="reduce",
            bypass_csp=True,
            **options,
        )
        contexts.append(context)
        page = context.new_page()
        page.troubles = []
        page.on("console", lambda m: page.troubles.append(m.text) if m.type in ("error", "warning") else None)
        page.on("pageerror", lambda e: page.troubles.append(str(e)))
        page.on("request", lambda r: page.troubles.append(r.url) if not r.url.startswith("file:") else None)
        page.goto(written(name).as_uri())
        return page

    yield of
    for context in contexts:
        context.close()


def put(page, slider: str, value: float) -> None:
    page.evaluate(
        "([id, v]) => { const s = document.getElementById(id); s.value = v; s.dispatchEvent(new Event('input')); }",
        [slider, value],
    )


def data_of(page) -> dict[str, Any]:
    """What the page's script reads."""
    return page.evaluate("JSON.parse(document.getElementById('data').textContent)")


def stage_panels(page) -> list[list[tuple[float, float]]]:
    """The corners of each panel on the stage, in the order of painting."""
    ds = page.evaluate("[...document.querySelectorAll('#stage > g > g')].map(g => g.firstChild.getAttribute('d'))")
    return [[tuple(map(float, p.split())) for p in d.strip("MZ").split("L")] for d in ds]


def stage_places(page) -> list[list[tuple[float, float]]]:
    """The same, the corners of each in no order of their own."""
    return list(map(sorted, stage_panels(page)))


# Of what passes axe names one node for each rule, and not some thousand with their markup: that is most of its time.
LOOK = "axe.run({resultTypes: ['violations']})"

# the first three each on one screen, and a recipe on a phone; all on all with --long
QUICK = [(0, "light"), (1, "dark"), (2, "phone"), (5, "phone")]
LOOKED_AT = [
    pytest.param(name, screen, marks=[] if (k, screen) in QUICK else [pytest.mark.long])
    for k, name in enumerate(DOCUMENTS)
    for screen in SCREENS
]


@pytest.mark.parametrize(("name", "screen"), LOOKED_AT)
def test_no_fault_that_axe_calls_serious_and_no_trouble(name, screen, opened, axe):
    page = opened(name, screen)
    page.evaluate(axe)
    found = page.evaluate(LOOK)
    assert len(found["passes"]) > 15, "axe did not look"
    serious = [
        (v["id"], v["nodes"][0]["html"][:200]) for v in found["violations"] if v["impact"] in ("serious", "critical")
    ]
    assert serious == []
    assert page.evaluate("document.documentElement.scrollWidth") <= SCREENS[screen][0]
    assert page.troubles == []


def test_axe_would_see_a_fault(opened, axe):
    page = opened("certified/star.toml")
    page.evaluate("document.querySelector('label[for=layers]').remove()")
    page.evaluate(axe)
    assert "label" in {v["id"] for v in page.evaluate(LOOK)["violations"]}


@pytest.mark.parametrize("kind", ["face", "edge"])
def test_pointing_lights_up_the_counterpart(kind, opened):
    page = opened("certified/star.toml")
    page.locator(f"#flat-view [data-{kind}='3']").dispatch_event("pointerenter")
    for view in ("flat-view", "folded-view"):
        assert page.locator(f"#{view} .lit").evaluate_all("all => all.map(e => e.dataset)") == [{kind: "3"}]
    names = data_of(page)[f"{kind}Names"]
    assert names[3] in page.locator("#pointed").inner_text()


def test_the_keyboard_walks_through_panels_and_lines(opened):
    page = opened("certified/star.toml")
    for _ in range(60):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.classList.contains('hit-face')"):
            break
    first = page.evaluate("document.activeElement.dataset.face")
    assert first is not None
    said = page.locator("#pointed").inner_text()
    page.keyboard.press("ArrowRight")
    assert page.evaluate("document.activeElement.dataset.face") != first
    assert page.locator("#pointed").inner_text() != said
    assert page.locator("#folded-view .lit").count() == 1
    page.keyboard.press("End")
    assert page.evaluate("document.activeElement.dataset.edge") is not None
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('#folded-view') !== null")


def test_a_finding_lights_up_what_it_names_in_both_views(opened):
    page = opened("refuted/trapped-panel.toml")
    page.locator("#verdict [data-shows]").first.focus()
    for view in ("flat-view", "folded-view"):
        assert page.locator(f"#{view} .hit-edge.lit").count() == 2
        assert page.locator(f"#{view} .hit-face.lit").count() >= 1


def test_each_reason_lights_up_what_it_names(opened):
    """Two reasons name a fold and the two panels that it joins; two name a fold, the panel that it runs across, and its
    two panels.
    """
    page = opened("refuted/trapped-panel.toml")
    reasons = page.locator("#verdict .findings ul [data-shows]")
    assert reasons.count() == 4
    lit = []
    for k in range(4):
        reasons.nth(k).focus()
        lit.append((page.locator("#flat-view .hit-edge.lit").count(), page.locator("#flat-view .hit-face.lit").count()))
    assert sorted(lit) == [(1, 2), (1, 2), (1, 3), (1, 3)]


def test_the_list_lights_up_too(opened):
    page = opened("certified/star.toml")
    page.locator("#choose").select_option("face 5")
    assert page.locator("[data-face='5'].lit").count() == 2


def test_the_layers_slider_shows_so_many_levels(opened):
    page = opened("certified/star.toml")
    slider = page.locator("#layers")
    slider.focus()
    page.keyboard.press("Home")
    shown = page.locator("#folded-view .plate:not(.away)").evaluate_all("all => all.map(e => e.dataset.level)")
    assert set(shown) == {"0"}
    page.keyboard.press("ArrowRight")
    shown = page.locator("#folded-view .plate:not(.away)").evaluate_all("all => all.map(e => e.dataset.level)")
    assert set(shown) == {"0", "1"}
    assert slider.get_attribute("aria-valuetext") == page.locator("#layers-shown").inner_text() == "1 to 2 of 10"


def test_a_pattern_moves_from_its_flat_to_its_folded_places(opened, proofs):
    page = opened("certified/star.toml")
    result = verify.certify(proofs / "certified/star.toml")
    data = data_of(page)
    last = len(data["steps"]) - 1
    assert page.locator("#step").get_attribute("max") == str(last)
    for step, places, stack in (
        (0, data["flat"], data["steps"][0]["stack"]),
        (last, data["folded"], data["steps"][last]["stack"]),
    ):
        put(page, "step", step)
        drawn = stage_places(page)
        expected = [sorted((x, -y) for x, y in (places[v] for v in data["faces"][f])) for f in stack]
        for one, other in zip(drawn, expected, strict=True):
            assert one == [pytest.approx(p, abs=0.011) for p in other]
    assert data["steps"][last]["turned"] == data["turned"] == [int(t) for t in result.fold_map.turned]
    assert "A picture, not a proof" in page.locator("#motion").inner_text()
    assert "schematic" in page.locator("#motion").inner_text()
    assert page.troubles == []


def _true_lengths(flat: list[tuple[float, float]], drawn: list[tuple[float, float]]) -> tuple[float, float]:
    """How far the drawn corners are from an affine image of the flat ones, and the largest stretch of that map."""
    rows = np.array([(x, y, 1.0) for x, y in flat])
    seen = np.array(drawn)
    fit, *_ = np.linalg.lstsq(rows, seen, rcond=None)
    return float(np.abs(rows @ fit - seen).max()), float(np.linalg.svd(fit[:2])[1][0])


@pytest.mark.parametrize(
    "name",
    [
        "certified/star.toml",
        "recipes/letter-t.toml",
        *(
            pytest.param(name, marks=pytest.mark.long)
            for name in (
                "certified/lantern-twist.toml",
                "certified/letter-t.toml",
                "recipes/gulls-turned.toml",
                "recipes/waves-behind.toml",
            )
        ),
    ],
)
def test_the_paper_does_not_shrink_on_its_way(name, opened):
    """A plane figure that is moved rigidly and seen from afar (parallel projection) keeps its true length along one
    direction, in which its plane meets the picture's; it is an affine image, and nothing is longer than it is
    (descriptive geometry)."""
    page = opened(name)
    data = data_of(page)
    looked = 0
    for step in range(1, len(data["steps"])):
        put(page, "step", step)
        for share in (20, 50, 80):
            put(page, "scrub", share)
            panels = stage_panels(page)
            shapes = {tuple(sorted(f)): f for f in data["faces"]}
            assert len(panels) == len(shapes)
            # which panel is which, by the number of corners and the best fit
            for f in data["faces"]:
                flat = [tuple(data["flat"][v]) for v in f]
                far = min(
                    (_true_lengths(flat, drawn) for drawn in panels if len(drawn) == len(f)),
                    key=lambda fit: fit[0] + abs(fit[1] - 1),
                )
                if len(f) > 3:
                    assert far[0] < 0.05
                assert far[1] == pytest.approx(1, abs=0.02)
                looked += 1
    assert looked > 20
    assert page.troubles == []


@pytest.mark.parametrize("name", ["certified/star.toml", "recipes/letter-t.toml", "recipes/blintz-lid.toml"])
def test_the_sheet_is_in_the_middle_of_the_stage(name, opened):
    page = opened(name)
    for step in range(int(page.locator("#step").get_attribute("max")) + 1):
        put(page, "step", step)
        middle = page.evaluate("""(() => {
            const b = document.querySelector('#stage > g').getBoundingClientRect();
            const s = document.getElementById('stage').getBoundingClientRect();
            return [b.left + b.width / 2 - s.left - s.width / 2, b.top + b.height / 2 - s.top - s.height / 2];
        })()""")
        assert middle == pytest.approx([0, 0], abs=4)


@pytest.mark.parametrize("name", ["certified/star.toml", "recipes/letter-t.toml"])
def test_mountains_and_valleys_are_seen_in_the_motion(name, opened):
    """Dashed and dash-dotted on the flat sheet, and bold where they are folded next; of the lines there are, none is
    lost.
    """
    page = opened(name)
    lines = (
        "kind => [...document.querySelectorAll(`#stage .${kind}`)].map(e => [(e.getAttribute('d') || "
        "'').split('M').length - 1, getComputedStyle(e).strokeDasharray.split(',').length, "
        "e.classList.contains('later')])"
    )
    data = data_of(page)
    for kind, dashes in (("mountain", 4), ("valley", 2)):
        drawn = [entry for entry in page.evaluate(lines, kind) if entry[0]]
        sides = sum(2 for e in data["edges"] if e[4] == f"{kind} fold")
        assert sum(count for count, _, later in drawn) >= sides
        assert {n for _, n, _ in drawn} == {dashes}
    assert page.evaluate("[...document.querySelectorAll('#stage .target')].some(e => e.getAttribute('d') !== '')")
    assert page.locator("#stage > .cut").count() == 0
    put(page, "step", len(data["steps"]) - 1)
    assert page.locator("#stage > .cut").count() == 1
    put(page, "step", 0)
    bold = sum(count for kind in ("mountain", "valley") for count, _, later in page.evaluate(lines, kind) if not later)
    assert bold > 0


def test_layers_in_a_circle_lie_in_a_circle_at_rest(opened, proofs):
    """What is seen at a place of the folded twist is the panel that lies over all others there in the proved order."""
    page = opened("certified/lantern-twist.toml")
    result = verify.certify(proofs / "certified/lantern-twist.toml")
    assert result.order.exceptions
    put(page, "step", int(page.locator("#step").get_attribute("max")))
    pairs = {(int(f), int(g)) for g, faces in data_of(page)["steps"][-1]["over"].items() for f in faces}
    assert pairs == set(result.order.exceptions)
    assert all(result.order.above[f, g] for f, g in pairs)
    assert page.locator("#stage [clip-path]").count() == len(pairs)
    put(page, "scrub", 50)
    assert page.locator("#stage [clip-path]").count() == 0


def test_the_first_screen_shows_the_pictures(browser, written):
    page = browser.new_page(viewport={"width": 1280, "height": 720})
    for name in ("certified/star.toml", "recipes/letter-t.toml", "refuted/trapped-panel.toml"):
        page.goto(written(name).as_uri())
        for view in ("flat-view", "folded-view"):
            boxes = page.locator(f"#{view} .hit-face").evaluate_all(
                "all => all.map(e => e.getBoundingClientRect().bottom)"
            )
            assert 0 < max(boxes) <= 720
    page.close()


@pytest.mark.parametrize("name", ["recipes/letter-t.toml", "certified/letter-t.toml"])
def test_the_stacks_labels_can_be_read_on_a_phone(name, browser, written):
    """No letters of a picture smaller than the smallest text of the page's other small print (11 px)."""
    page = browser.new_page(viewport={"width": 390, "height": 844})
    page.goto(written(name).as_uri())
    sizes = page.locator("#stack svg[role=img] text").evaluate_all(
        "all => all.map(e => parseFloat(e.getAttribute('font-size')) * e.getScreenCTM().a)"
    )
    assert len(sizes) > 3
    assert min(sizes) >= 11
    page.close()


@pytest.mark.parametrize(
    "name",
    [
        "recipes/letter-t.toml",
        "recipes/waves-behind.toml",
        pytest.param("recipes/gulls-turned.toml", marks=pytest.mark.long),
        pytest.param("recipes/shutters.toml", marks=pytest.mark.long),
    ],
)
def test_each_step_begins_where_the_one_before_ended(name, opened):
    page = opened(name)
    last = int(page.locator("#step").get_attribute("max"))
    page.locator("#step").focus()
    for k in range(1, last + 1):
        before = rounded(stage_places(page))
        page.keyboard.press("ArrowRight")
        assert re.fullmatch(rf"Step {k} of {last}: [A-Z].*[^.]\.", page.locator("#step-words").inner_text())
        after = stage_places(page)
        put(page, "scrub", 0)
        assert rounded(stage_places(page)) == before
        put(page, "scrub", 50)
        put(page, "scrub", 100)
        assert stage_places(page) == after
    assert page.troubles == []


def rounded(panels: list[list[tuple[float, float]]]) -> set[Any]:
    return {tuple((round(x, 1) + 0.0, round(y, 1) + 0.0) for x, y in panel) for panel in panels}


def test_without_script_the_pictures_stand_and_the_controls_are_gone(opened):
    page = opened("certified/star.toml", java_script_enabled=False)
    assert page.locator("#flat-view svg").first.is_visible()
    assert page.locator("#pieces svg").first.is_visible()
    assert not page.locator("#layers").is_visible()
    assert not page.locator("#motion").is_visible()


def test_on_paper_there_are_no_controls(opened):
    page = opened("refuted/missed-edge.toml", "dark")
    page.emulate_media(media="print")
    assert page.locator("[data-shows]:visible").count() == 0
    assert not page.locator("#layers").is_visible()
    assert not page.locator("nav").is_visible()
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    assert page.evaluate("getComputedStyle(document.querySelector('#flat-view .ground')).fill") == "rgb(255, 255, 255)"


_BOXES = """
[...document.querySelectorAll('svg text:not(.halo)')].map(t => {
  const b = t.getBoundingClientRect();
  return [t.textContent, b.left, b.top, b.right, b.bottom];
})
"""


@pytest.mark.parametrize("folder", ["certified", "refuted", "recipes", "recipes/alphabet"])
def test_no_names_collide_and_none_is_cut_off(folder, browser, proofs):
    """Measured with the fonts that Chromium really uses, on some nine documents of a folder, or two of them."""
    page = browser.new_page(viewport={"width": 1400, "height": 1000})
    looked = 0
    documents = sorted(p for p in (proofs / folder).iterdir() if p.suffix in (".toml", ".json"))
    for document in some(documents[:: max(1, len(documents) // 9)], of=5):
        result = verify.certify(document)
        for name, draw in ALL.items():
            page.set_content(f"<body style='margin:0'>{draw(result)}</body>")
            edge = page.evaluate(
                "(() => { const b = document.querySelector('svg').getBoundingClientRect(); return [b.left, "
                "b.top, b.right, b.bottom]; })()"
            )
            boxes = page.evaluate(_BOXES)
            for i, (words, left, top, right, bottom) in enumerate(boxes):
                looked += 1
                inside = edge[0] <= left and right <= edge[2] and edge[1] <= top and bottom <= edge[3]
                assert inside, (document.name, name, words)
                for other, l2, t2, r2, b2 in boxes[i + 1 :]:
                    # The line boxes of a font are higher than its letters: a quarter may overlap.
                    slack = (bottom - top) / 4
                    apart = right <= l2 + 1 or r2 <= left + 1 or bottom - slack <= t2 or b2 - slack <= top
                    assert apart, (document.name, name, words, other)
    assert looked > 40
    page.close()
