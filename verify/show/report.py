"""The report: one HTML file that holds everything, asks nothing of the network, and says what was proved.

Verdict and findings are the result's own words. Pictures, and the motion, are for the eye; they prove nothing.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from functools import cached_property
from html import escape
from typing import Any

from verify.pattern.source import printable
from verify.pattern.subdivision import Edge
from verify.show.motion import Moment, as_data, moments, page_place
from verify.show.page import across, box_of
from verify.show.picture import cut_svg, folded_svg, pattern_svg, pieces_svg, stack_svg
from verify.show.scene import Mark, Scene, scene_of, title_of
from verify.show.scissors import layers_plot
from verify.show.style import DARK, LIGHT, css
from verify.show.svg import num, tag, texture
from verify.show.texts import filled, sentences, text_of
from verify.tasks.certify import Result, Source, result_of
from verify.tasks.explain import SECTIONS, proved
from verify.tasks.fold_report import FoldReport
from verify.version import __version__
from verify.words.findings import Finding, counted

_LEVEL_WORDS = {"holds": "holds", "fails": "FAILS", "advice": "note", "note": "note", "warning": "WARNING"}


def report(source: Source) -> str:
    """A result (or that of a document or the file of one) as one HTML page: verdict, digest, findings, linked views,
    motion, layers, cut and pieces.

    It needs no network and, but for pointing, sliders and motion, no script. Its pictures are rounded, and the motion
    is drawn, not proved.
    """
    return _Report(result_of(source)).html()


class _Report:
    def __init__(self, result: Result) -> None:
        self.result = result
        self.scene: Scene | None = scene_of(result)

    def html(self) -> str:
        sections = list(self._sections())
        links = "".join(f'<li><a href="#{ident}">{escape(name)}</a></li>' for ident, name, _ in sections)
        body = "".join(_section(*section) for section in sections)
        dark = "@media (prefers-color-scheme: dark) {\n@media screen {\n" + css(DARK) + "\n}\n}"
        document = self.result.document
        title, *cautions = sentences("cautions", "box")
        return filled(
            "report.html",
            title=escape(title_of(document)),
            verdict=self.result.verdict,
            styles="\n".join((css(LIGHT), dark, text_of("report.css"))),
            source=escape(printable(document.source)),
            noun=document.noun,
            size=f", {counted(len(self.scene.subdivision.panels), 'panel')}" if self.scene is not None else "",
            links=links,
            body=body,
            cautions_title=escape(title.removeprefix("# ")),
            cautions="".join(tag("li", escape(caution.removeprefix("– "))) for caution in cautions),
            version=escape(__version__),
            scripts="".join(self._scripts()),
        )

    def _scripts(self) -> Iterator[str]:
        """Data and scripts; of what the second checker reads, the checker too."""
        yield _json("data", self._data())
        yield f"<script>{text_of('report.js')}</script>"
        if self._proof is not None:
            yield _json("proof", self._proof)
            yield f"<script>{text_of('second.js')}</script><script>{text_of('recheck.js')}</script>"

    def _sections(self) -> Iterator[tuple[str, str, str]]:
        if self.scene is not None:
            yield "views", "Flat and folded", self._views(self.scene)
        yield "verdict", "What exactly is proved", self._verdict()
        if self.scene is not None:
            if self._moments:
                what = "Step by step" if self.result.document.steps else "From flat to folded"
                yield "motion", what, self._motion(self.scene)
            if self.scene.has_layers:
                caption = "Level 1 lies at the bottom. An oblique view, not to scale."
                stack = _figure(stack_svg(self.scene, bare=True, prefix="s-"), caption)
                yield "stack", "The stack pulled apart", stack
            if self.result.document.has_target or self.scene.cut_line is not None:
                yield "cut", "The cut", self._cut(self.scene)
            if self.scene.parts[0]:
                yield "pieces", "The pieces", self._pieces(self.scene)
        yield "checks", "Every check", self._checks()

    def _verdict(self) -> str:
        *sentences, _digest = proved(self.result)
        lines = "".join(f"<p>{escape(printable(s))}</p>" for s in sentences)
        failing = self._findings([f for f in self.result.findings if f.level == "fails"][:12])
        notes = self._findings(list(self.result.told[:12]))
        why = f"<h3>Why not</h3>{failing}" if failing else ""
        advice = f"<h3>Worth knowing</h3>{notes}" if notes else ""
        about = f"The statement has the SHA-256 digest <code>{self.result.statement_sha256}</code>."
        again = ""
        if self._proof is not None:
            reading = "The second checker is reading the evidence in this page."
            again = tag("p", reading, class_="recheck needs-script", id="recheck", role="status")
        return lines + why + advice + tag("p", about, class_="digest") + again

    @cached_property
    def _proof(self) -> dict[str, str] | None:
        """What the second checker reads, for the page to ask it again: of a pattern that is certified."""
        from verify.certificate.second import evidence_of

        result = self.result
        if result.verdict != "certified" or result.certificate is None or result.document.steps:
            return None
        return evidence_of(result.document.as_pattern(), result.certificate)

    def _findings(self, findings: list[Finding]) -> str:
        return f'<ul class="findings">{"".join(map(self._finding, findings))}</ul>' if findings else ""

    def _finding(self, finding: Finding) -> str:
        reasons = "".join(map(self._reason, finding.value.get("reasons", [])))
        angles = finding.value.get("angles_degrees")
        more = f"<ul>{reasons}</ul>" if reasons else ""
        if angles:
            more += f"<div>angles {escape(', '.join(f'{angle}°' for angle in angles))}</div>"
        mark = next((k for k, m in enumerate(self._marks) if finding in m.findings and m.is_placed), None)
        button = "" if mark is None else _button(mark, f"Show {self._marks[mark].number} in the picture")
        level = tag("span", f"{_LEVEL_WORDS[finding.level]}:", class_="level")
        return tag("li", level, " ", escape(printable(finding.message)), button, more, class_=finding.level)

    def _reason(self, reason: str) -> str:
        button = ""
        if reason in self._reasons:
            number = len(self._marks) + self._reasons.index(reason)
            button = _button(number, "Show", tag("span", " this reason in the picture", class_="unseen"))
        return tag("li", escape(printable(reason)), button)

    @property
    def _reasons(self) -> list[str]:
        """Reasons that name something in the picture; in the page's data they stand after the marks."""
        return [words for words, mark in self.scene.reasons.items() if mark.is_placed] if self.scene is not None else []

    @property
    def _marks(self) -> tuple[Any, ...]:
        return self.scene.marks if self.scene is not None else ()

    def _views(self, scene: Scene) -> str:
        sheet = pattern_svg(scene, bare=True, prefix="p-")
        flat = _figure(sheet, "The sheet, flat, front up.", 'id="flat-view" data-view')
        view = 'id="folded-view" data-view' if scene.folded is not None else 'id="folded-view"'
        folded = _figure(folded_svg(scene, bare=True, prefix="f-"), _folded_caption(scene), view)
        layers = filled("layers.html", count=scene.top + 1) if scene.has_layers and scene.top else ""
        return filled("views.html", flat=flat, folded=folded, layers=layers)

    @cached_property
    def _moments(self) -> list[Moment]:
        return moments(self.scene) if self.scene is not None else []

    def _motion(self, scene: Scene) -> str:
        noun = "Step" if self.result.document.steps else "Stage"
        boxes = [box_of(moment.paper.places) for moment in self._moments]
        half_x = max(right - left for left, _, right, _ in boxes) / 2
        half_y = max(high - low for _, low, _, high in boxes) / 2
        margin = 6.0 + 0.12 * max(half_x, half_y)
        half_x, half_y = half_x + margin, half_y + margin
        return filled(
            "motion.html",
            view_box=f"{num(-half_x)} {num(-half_y)} {num(2 * half_x)} {num(2 * half_y)}",
            hatch=texture("hatch", "motion-hatch"),
            note=escape(self._motion_note(scene)),
            noun=noun,
            small_noun=noun.lower(),
            last=len(self._moments) - 1,
        )

    def _motion_note(self, scene: Scene) -> str:
        """What the motion shows, and what it does not claim."""
        refused = scene.refused
        if self.result.document.steps:
            told = [*sentences("motion", "steps")]
            if refused is not None:
                told += sentences("motion", "refused", step=refused.step)
        else:
            told = [*sentences("motion", "pattern")]
            if not scene.has_layers:
                told += sentences("motion", "no-layers")
        return " ".join(told)

    def _cut(self, scene: Scene) -> str:
        drawn = cut_svg(scene, bare=True, prefix="c-")
        badges = " Badges carry the numbers of the findings." if 'class="mark"' in drawn else ""
        picture = _figure(drawn, f"The folded sheet with the cut.{badges}")
        plot = ""
        if self.result.layers:
            plot = _figure(layers_plot(self.result.layers), "Layers that the scissors meet, along the cut.")
        said = self._findings([f for f in self.result.findings if f.check == "cut"])
        if self.result.is_carried_out:
            recipe = self.result.document.as_recipe()
            rest = "".join(map(_line, FoldReport(recipe, self.result).outcome()))
            if rest:
                listed = tag("ul", rest, class_="report-lines")
                said += f"<details><summary>What is really cut, corner by corner</summary>{listed}</details>"
        return f'{said}<div class="pair">{picture}{plot}</div>'

    def _pieces(self, scene: Scene) -> str:
        caption = "The pieces that the figure stands for. It is not proved that this folding makes them."
        if scene.pieces_are_proved:
            caption = "The sheet after the cut, unfolded."
        return _figure(pieces_svg(scene, bare=True, prefix="e-"), caption)

    def _checks(self) -> str:
        parts = []
        for check, name in SECTIONS:
            mine = [f for f in self.result.findings if f.check == check]
            if mine:
                fails = sum(f.level == "fails" for f in mine)
                failing = "none fails" if not fails else "1 fails" if fails == 1 else f"{fails:,} fail"
                count = f"{counted(len(mine), 'finding')}, {failing}"
                opened = " open" if fails or len(mine) <= 6 else ""
                parts.append(
                    f"<details{opened}><summary>{escape(name)}: {count}</summary>{self._findings(mine)}</details>"
                )
        return "".join(parts)

    def _cut_ends(self, scene: Scene) -> list[list[float]] | None:
        """The cut across the folded sheet, for the last moment of the motion."""
        if scene.cut_line is None or scene.folded is None or scene.refused is not None:
            return None
        ends = across(scene.folded, *scene.cut_line, 6.0 * scene.magnified)
        return [page_place(p.scaled(1 / scene.magnified)) for p in ends]

    def _data(self) -> dict[str, Any]:
        scene = self.scene
        if scene is None:
            return {}  # and nothing in the page that asks for it
        s = scene.subdivision
        levels = [scene.level_of[f] for f in range(len(s.faces))] if scene.has_layers else None
        return {
            "faces": s.faces,
            "edges": [_edge_data(*one) for one in zip(s.edges, scene.fold_kinds, strict=True)],
            "faceNames": [printable(s.face_name(f)) for f in range(len(s.faces))],
            "edgeNames": [printable(s.edge_name(n)) for n in range(len(s.edges))],
            "flat": list(map(page_place, scene.flat)),
            "folded": list(map(page_place, scene.folded_true)) if scene.folded_true is not None else None,
            "turned": [int(t) for t in scene.turned],
            "levels": levels,
            "top": max(levels) if levels else 0,
            "stack": [f for p in scene.plates for f in p.faces] if levels else None,
            "marks": [
                *(_mark_data(mark, mark.findings[0].message) for mark in scene.marks),
                *(_mark_data(scene.reasons[words], words) for words in self._reasons),
            ],
            "steps": as_data(self._moments) if self._moments else None,
            "cut": self._cut_ends(scene),
        }


def _edge_data(edge: Edge, fold: str | None) -> list[Any]:
    """An edge as the page's script reads it: what it is called, if it is pointed at, and what it is part of."""
    if fold:
        called = f"{fold} fold"
    elif edge.is_cut:
        called = "line of the figure"
    else:
        called = "edge of the sheet" if edge.kind == "border" else "line"
    is_drawn = bool(edge.target) or edge.crease is not None
    kinds = [int(edge.is_auxiliary), int(is_drawn), int(edge.is_cut)]
    return [*edge.ends, edge.left, edge.right, called, *kinds]


def _line(words: str) -> str:
    return tag("li", escape(printable(words).strip()))


def _section(ident: str, name: str, inner: str) -> str:
    head = tag("h2", escape(name), id=f"{ident}-title")
    kind = "needs-script" if ident == "motion" else None
    return tag("section", head, inner, id=ident, aria_labelledby=f"{ident}-title", class_=kind)


def _button(shows: int, *words: str) -> str:
    """What lights up a mark in the pictures."""
    return " " + tag("button", *words, type="button", class_="place needs-script", data_shows=shows)


def _mark_data(mark: Mark, words: str) -> dict[str, Any]:
    return {"number": mark.number, "words": printable(words), "faces": mark.faces, "edges": mark.edges}


def _folded_caption(scene: Scene) -> str:
    if scene.folded is None:
        return "No folded state exists: the panels do not meet."
    if not scene.has_layers:
        return "Where the folds put the panels, if nothing stood in their way."
    if scene.refused is not None:
        return (
            f"The sheet before step {scene.refused.step}, which cannot be done. The layers that hold each "
            "other are cross-hatched."
        )
    return "The folded sheet from above. Darker lies deeper; the back of the paper is hatched."


def _figure(svg: str, caption: str, attributes: str = "") -> str:
    role = svg.replace('role="img"', 'role="group"', 1) if "data-view" in attributes else svg
    return f"<figure{' ' + attributes if attributes else ''}>{role}<figcaption>{escape(caption)}</figcaption></figure>"


def _json(ident: str, data: object) -> str:
    """Data for a script, which nothing in it can end."""
    text = json.dumps(data, separators=(",", ":"), ensure_ascii=False).replace("<", "\\u003c")
    return f'<script type="application/json" id="{ident}">{text}</script>'
