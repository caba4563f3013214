"""The handout: a PDF to print, fold from and cut. True-scale template, steps, cautions, and the teacher's page.

Only a certified document gets a template; any other a page that says why not. All grey, so that any printer does. A drawing is rounded
to a ten-thousandth of a millimetre, and proves nothing: what was proved stands on the teacher's page.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from html import escape
from io import BytesIO
from math import hypot
from typing import Any, Literal

from reportlab.lib import colors
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    BaseDocTemplate,
    Flowable,
    Frame,
    KeepTogether,
    NextPageTemplate,
    PageBreak,
    PageTemplate,
    Paragraph,
    Spacer,
    Table,
)

from verify import __version__
from verify.cutting.advice import LAYERS_IN_PRACTICE
from verify.cutting.tolerance import Tolerance, stack_thickness, tolerance
from verify.folding.simple import Done, Folded
from verify.pattern.document import printable
from verify.pattern.limits import LimitReached
from verify.pattern.recipe import FoldStep, MarkStep, Recipe, TurnStep, UnfoldStep
from verify.pattern.subdivision import Subdivision, number_text
from verify.show.labels import Labels
from verify.show.print import BACK, BOLD, INK, REGULAR, WHITE, Pen, runs_of, shortened, width_of
from verify.show.scene import XY, Scene, runs, scene_of
from verify.show.tiles import OVERLAP, Tiles, Window, tiles
from verify.tasks.certify import Result
from verify.tasks.explain import proved

PaperName = Literal["a4", "letter"]
PAPERS: dict[str, tuple[float, float]] = {"a4": A4, "letter": LETTER}
MOST_TILES = 48
_MARGIN = 15.0
_EDGE = 10.0
_HEAD, _FOOT, _RULER, _LEGEND = 9.0, 6.0, 15.0, 10.0
_NAMES = 2.6
_MANY_NAMES = 40
_STEP = 44.0
_MANY_REASONS = 12

CAUTIONS = (
    "Cut sitting down, with the fingers clear of the line.",
    "Close the blades before you pass scissors on, and pass them handle first.",
    "A craft knife is used on a mat, against a metal rule, with the cut away from the body, and only by adults or under their eyes.",
    "Children work under close supervision, in small groups.",
    "The rules of your school, club or country come first.",
)
_KEYS = (
    ("outline", "edge of the sheet"),
    ("valley", "valley fold: towards you"),
    ("mountain", "mountain fold: away from you"),
    ("either", "fold, either way"),
    ("guide", "line that is not folded in the end"),
    ("target", "target: what the cut frees"),
    ("cut", "what the scissors cut"),
)


class _Canvas(Canvas):
    """A canvas without any font that is not embedded, and the words that the head of its pages says."""

    def __init__(self, filename: Any, **options: Any) -> None:
        options["initialFontName"] = REGULAR
        options["invariant"] = 1
        super().__init__(filename, **options)
        self.running = ("", "", "")


def handout(results: Sequence[Result], paper: PaperName = "a4", progress: Callable[[str], None] | None = None) -> bytes:
    """The PDF of one or more results, on A4 or Letter, as bytes. The same results give the same bytes.

    Lengths are true if it is printed at 100 %. Sheets larger than the printable area are tiled, up to `MOST_TILES` pages each; larger ones
    are only drawn small, and the page says so. A template is there only for `certified` results.
    """
    story: list[Flowable] = []
    for number, result in enumerate(results):
        if number:
            story += [NextPageTemplate("text"), PageBreak()]
        story += _Handout(result, paper, progress).story()
    wide, high = PAPERS[paper]
    out = BytesIO()
    document = BaseDocTemplate(
        out,
        pagesize=(wide, high),
        title=title(results[0]) if len(results) == 1 else "Handouts",
        author=f"creaseproof {__version__}",
        lang="en",
    )
    document.addPageTemplates(
        [
            _page("text", (wide, high), _MARGIN, _MARGIN + _FOOT, _MARGIN + _HEAD),
            _page("portrait", (wide, high), _EDGE, _EDGE + _FOOT, _EDGE + _HEAD),
            _page("landscape", (high, wide), _EDGE, _EDGE + _FOOT, _EDGE + _HEAD),
        ]
    )
    document.build(story, canvasmaker=_Canvas)
    return out.getvalue()


def _page(name: str, size: tuple[float, float], side: float, foot: float, head: float) -> PageTemplate:
    frame = Frame(
        side * mm,
        foot * mm,
        size[0] - 2 * side * mm,
        size[1] - (head + foot) * mm,
        leftPadding=0,
        rightPadding=0,
        topPadding=0,
        bottomPadding=0,
    )
    return PageTemplate(name, [frame], pagesize=size, onPageEnd=partial(_running, side=side))


def _running(canvas: Any, document: Any, side: float) -> None:
    """The line at the head and the line at the foot of a page."""
    wide, high = (x / mm for x in canvas._pagesize)
    title, digest, part = canvas.running
    pen = Pen(canvas)
    with pen.moved(0, 0):
        right = width_of(part, 2.9)
        pen.text(side, high - side - 3, shortened(title, wide - 2 * side - right - 6, 2.9), 2.9)
        pen.text(wide - side, high - side - 3, part, 2.9, "end")
        pen.lines([[XY(side, high - side - 4.6), XY(wide - side, high - side - 4.6)]], "thin")
        pen.text(side, side, f"creaseproof {__version__}, statement {digest[:16]}…", 2.3)
        pen.text(wide - side, side, f"page {canvas.getPageNumber()}", 2.3, "end")


class _Running(Flowable):
    """What the head of this page and of the following ones says."""

    def __init__(self, title: str, digest: str, part: str, bookmark: bool = False) -> None:
        super().__init__()
        self.words = title, digest, part
        self.bookmark = bookmark

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803
        return 0, 0

    def draw(self) -> None:
        canvas: Any = self.canv
        canvas.running = self.words
        if self.bookmark:
            key = f"document-{self.canv.getPageNumber()}"
            self.canv.bookmarkPage(key)
            self.canv.addOutlineEntry(self.words[0][:200], key, 0)


class _Drawing(Flowable):
    """A drawing of `wide` × `high` mm; `draw_with` gets a pen whose origin is the lower left corner."""

    def __init__(self, wide: float, high: float, draw_with: Callable[[Pen], None]) -> None:
        super().__init__()
        self.wide, self.high, self.draw_with = wide, high, draw_with

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803
        return self.wide * mm, self.high * mm

    def draw(self) -> None:
        pen = Pen(self.canv)
        with pen.moved(0, 0):
            self.draw_with(pen)


def markup(words: str, font: str = REGULAR) -> str:
    """Text for a paragraph in `font`: nothing in it is read as markup, and each character has a font."""
    return "".join(
        escape(part) if name == font else f'<font name="{name}">{escape(part)}</font>'
        for name, part in runs_of(printable(words), font)
    )


_BODY = ParagraphStyle("body", fontName=REGULAR, fontSize=9.5, leading=13.5, spaceAfter=4, splitLongWords=1)
_STYLES = {
    "body": _BODY,
    "title": ParagraphStyle("title", _BODY, fontName=BOLD, fontSize=19, leading=24, spaceAfter=6),
    "verdict": ParagraphStyle("verdict", _BODY, fontName=BOLD, fontSize=12, leading=16, spaceAfter=8),
    "head": ParagraphStyle(
        "head", _BODY, fontName=BOLD, fontSize=12, leading=16, spaceBefore=9, spaceAfter=4, keepWithNext=1
    ),
    "item": ParagraphStyle("item", _BODY, leftIndent=16, bulletIndent=2, bulletFontName=REGULAR, spaceAfter=3),
    "warning": ParagraphStyle("warning", _BODY, fontName=BOLD, fontSize=15, leading=20, spaceAfter=6),
}


def _say(words: str, style: str = "body", bullet: str | None = None) -> Paragraph:
    bold = _STYLES[style].fontName == BOLD
    return Paragraph(markup(words, BOLD if bold else REGULAR), _STYLES[style], bulletText=bullet)


def _boxed(flowables: list[Flowable], wide: float) -> Table:
    return Table(
        [[flowables]],
        colWidths=[wide],
        style=[
            ("FONTNAME", (0, 0), (-1, -1), REGULAR),
            ("BOX", (0, 0), (-1, -1), 1.4, colors.black),
            ("LEFTPADDING", (0, 0), (-1, -1), 8),
            ("RIGHTPADDING", (0, 0), (-1, -1), 8),
            ("TOPPADDING", (0, 0), (-1, -1), 5),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 5),
        ],
    )


@dataclass(frozen=True)
class _Look:
    """The folded paper at one moment: where its vertices lie (mm), which faces show their back, the faces bottom to top."""

    s: Subdivision
    places: Sequence[XY]
    turned: Sequence[bool]
    stack: Sequence[int]
    step: int | None = None
    repaints: dict[int, list[int]] | None = None

    def box(self) -> Window:
        xs, ys = [p.x for p in self.places], [p.y for p in self.places]
        return min(xs), min(ys), max(xs), max(ys)

    def draw(self, pen: Pen, at: Callable[[XY], XY], target: bool = True) -> None:
        """Bottom to top: the back is grey; edges of the paper and folds are lines, opened creases fine lines."""
        here = [at(p) for p in self.places]
        for f in self.stack:
            self._face(pen, f, here, target)
            for over in (self.repaints or {}).get(f, ()):
                with pen.clipped([[here[v] for v in self.s.faces[f]]]):
                    self._face(pen, over, here, target)

    def _face(self, pen: Pen, f: int, here: Sequence[XY], target: bool) -> None:
        loop = [here[v] for v in self.s.faces[f]]
        grey = BACK if self.turned[f] else WHITE
        pen.fill([loop], grey)
        bands, guides, rims, outlines = [], [], [], []
        for n in self.s.face_edges[f]:
            e = self.s.edges[n]
            walk = [here[v] for v in e.ends]
            if e.target and target:
                bands.append(walk)
            if e.kind == "border":
                outlines.append(walk)
            elif self.turned[e.left] != self.turned[e.right]:
                rims.append(walk)
            elif e.crease is not None and (self.step is None or e.crease <= self.step):
                guides.append(walk)
        pen.band(bands, narrow=True)
        pen.lines(guides, "thin")
        pen.lines(rims, "rim")
        pen.lines(outlines, "rim", width=0.4)


def title(result: Result) -> str:
    """The document's title, or where it comes from."""
    return printable(result.document.title or result.document.source)


class _Handout:
    """The pages of one result."""

    def __init__(self, result: Result, paper: PaperName, progress: Callable[[str], None] | None) -> None:
        self.result, self.paper, self.progress = result, paper, progress
        self.scene: Scene | None = scene_of(result)
        self.title = title(result)
        self.wide, self.high = (x / mm for x in PAPERS[paper])
        self.text_width = self.wide - 2 * _MARGIN

    def story(self) -> list[Flowable]:
        story: list[Flowable] = [self._part("handout", bookmark=True)]
        if self.result.verdict != "certified" or self.scene is None:
            return [*story, *self._no_template(), *self._teacher()]
        laid = self._tiles(self.scene)
        story += self._cover(self.scene, laid)
        story += self._template(self.scene, laid)
        if self.result.folded_steps is not None:
            story += self._steps(self.scene, self.result.folded_steps)
        return [*story, *self._teacher()]

    def _part(self, part: str, bookmark: bool = False) -> _Running:
        return _Running(self.title, self.result.statement_sha256, part, bookmark)

    # The sheet in true millimetres.

    def _true(self, scene: Scene, p: XY) -> XY:
        ratio = scene.scale.ratio
        return XY(p.x * ratio.denominator / ratio.numerator, p.y * ratio.denominator / ratio.numerator)

    def _flat(self, scene: Scene) -> list[XY]:
        return [self._true(scene, p) for p in scene.flat]

    def _box(self, scene: Scene) -> Window:
        flat = self._flat(scene)
        return min(p.x for p in flat), min(p.y for p in flat), max(p.x for p in flat), max(p.y for p in flat)

    def _tiles(self, scene: Scene) -> Tiles:
        lost = _HEAD + _FOOT + _RULER + _LEGEND + 2 * _EDGE + 0.5
        return tiles(
            self._box(scene),
            (self.wide - 2 * _EDGE, self.high - lost),
            (self.high - 2 * _EDGE, self.wide - lost),
        )

    # The first page.

    def _cover(self, scene: Scene, laid: Tiles) -> Iterator[Flowable]:
        yield _say(self.title, "title")
        yield _say("Certified: " + self._claim(), "verdict")
        yield from (_say(words, "item", "–") for words in self._facts(scene))
        half = self.text_width / 2 - 3
        yield Spacer(0, 4)
        pictures = [_Drawing(half, 66, partial(self._small_sheet, scene, (half, 58)))]
        if scene.folded_true is not None and scene.has_layers:
            pictures.append(_Drawing(half, 66, partial(self._small_folded, scene, (half, 58))))
        yield Table(
            [pictures],
            colWidths=[(half + 3) * mm] * len(pictures),
            style=[
                ("FONTNAME", (0, 0), (-1, -1), REGULAR),
                ("LEFTPADDING", (0, 0), (-1, -1), 0),
                ("RIGHTPADDING", (0, 0), (-1, -1), 0),
            ],
        )
        yield _say("Order of work", "head")
        for number, words in enumerate(self._work(scene, laid), start=1):
            yield _say(words, "item", f"{number}.")
        if isinstance(self.result.document, Recipe):
            yield from self._trueness(self.result.document)
        cautions: list[Flowable] = [_say("Scissors, knives, children", "head")]
        cautions += [_say(words, "item", "–") for words in CAUTIONS]
        yield Spacer(0, 8)
        yield _boxed(cautions, self.text_width * mm)

    def _claim(self) -> str:
        if not self.result.document.has_target:
            return "the sheet folds flat. No target is drawn, so nothing is claimed of a cut."
        snips = scene_snips(self.result)
        how = "one straight cut frees" if snips == 1 else f"{snips} straight snips free"
        return f"the sheet folds flat, and {how} exactly the target."

    def _facts(self, scene: Scene) -> Iterator[str]:
        unit = scene.unit
        xs, ys = ([p[axis] for p in scene.subdivision.vertices] for axis in (0, 1))
        yield f"Sheet: {number_text(max(xs) - min(xs))} × {number_text(max(ys) - min(ys))} {unit}."
        flat = self._flat(scene)
        counts = []
        for kind in ("valley", "mountain"):
            n = len(runs(scene.subdivision, flat, [k for k, f in enumerate(scene.fold_kinds) if f == kind]))
            counts.append(f"{n} {kind} line{'' if n == 1 else 's'}")
        yield f"Folds: {' and '.join(counts)} on the flat sheet."
        most = self.result.layers_met
        if most:
            yield (
                f"The scissors meet {most} layer{'' if most == 1 else 's'} at most, about {stack_thickness(most):.2g} mm of office paper"
                + (
                    f". Common practice stops at about {LAYERS_IN_PRACTICE} layers (no standard): take thin paper."
                    if most > LAYERS_IN_PRACTICE
                    else "."
                )
            )
        for finding in self.result.findings:
            if finding.level == "advice" and finding.check == "advice" and finding.kind != "thick":
                words = printable(finding.message)
                yield words[:1].upper() + words[1:300] + ("…" if len(words) > 300 else ".")

    def _work(self, scene: Scene, laid: Tiles) -> Iterator[str]:
        if laid.count > MOST_TILES:
            yield f"At true scale this sheet would fill {laid.count:,} pages; it is drawn small here. Mark it out from the document's measures."
        else:
            yield "Print at 100 % (“actual size”, not “fit to page”), and measure the ruler on the page: it must be 100 mm long."
            if laid.count > 1:
                yield (
                    f"The sheet takes {laid.count} pages. Lay them as the overview shows, so that each register mark covers its twin "
                    "(hold them against the light), and glue or tape the overlaps."
                )
            yield "Cut the sheet out along its outline. The printed side is the front: valley folds close towards you, mountain folds away from you."
        if isinstance(self.result.document, Recipe):
            yield "Fold step by step as drawn on the following pages, and press each fold sharp before the next one."
        elif any(scene.fold_kinds):
            yield "Fold every line by itself first, valleys towards you and mountains away, and open it again (precreasing). A blunt point along a ruler makes clean creases."
            yield (
                "Then bring all folds in together and lay the sheet flat: it should look as in the picture. That this folded state exists is proved; "
                "an order in which to fold one line after the other is not known to this page, and may not exist."
            )
        if scene.cut_line is not None:
            if self.result.document.has_target:
                yield "Before cutting, check that the grey target lines of all layers lie on one line (hold the paper against the light)."
            yield "Cut along the line of the cut from edge to edge, in one go, and unfold."
        elif self.result.document.has_target:
            yield f"Make the {scene_snips(self.result)} snips as numbered in the picture, no further than the lines go, and unfold."

    def _trueness(self, recipe: Recipe) -> Iterator[Flowable]:
        try:
            found: Tolerance = tolerance(recipe, progress=self.progress)
        except (ValueError, LimitReached):
            return
        yield _say("How true the folds must be (estimates, no proof)", "head")
        unit = recipe.unit
        if found.allowed is not None:
            yield _say(
                f"For every cut edge to stay within {found.width:g} {unit}, each fold must be true to {found.allowed:.2g} {unit} at its ends.",
                "item",
                "–",
            )
        yield _say(
            f"If every fold is off by up to {found.error:g} {unit} at its ends, the edges move by up to {found.largest:.2g} {unit} (half of {found.samples} trials: {found.typical:.2g}).",
            "item",
            "–",
        )
        effects = [e for e in found.effects if e.worst > 0][:2]
        for effect in effects:
            yield _say(
                f"Take most care with step {effect.step}: what it is off, the worst edge moves {effect.worst:.2g} times as far."
                if effect is effects[0]
                else f"Then with step {effect.step} ({effect.worst:.2g} times).",
                "item",
                "–",
            )
        for effect in found.effects:
            if effect.jump:
                yield _say(
                    f"The fold of step {effect.step} lies on the cut: cut a hair inside it, or a stretch of the outline may stay joined.",
                    "item",
                    "–",
                )

    def _small_sheet(self, scene: Scene, room: tuple[float, float], pen: Pen) -> None:
        """What is cut out, on the flat sheet: the target's paper grey."""
        parts, s = scene.parts
        flat = [
            self._true(scene, p) for p in (scene.flat if s is scene.subdivision else map(scene.to_page, s.vertices))
        ]
        at = _fitted(self._box(scene), (0.0, 6.0, *room))
        here = [at(p) for p in flat]
        whole = [[here[v] for v in loop] for loop in scene.loops(range(len(s.faces)), s)]
        pen.fill(whole, WHITE)
        for piece in parts:
            if piece.role == "target":
                pen.fill([[here[v] for v in loop] for loop in scene.loops(piece.faces, s)], BACK)
        pen.lines([[here[v] for v in e.ends] for e in s.edges if e.target], "cut", width=0.4)
        pen.lines(whole, "rim", closed=True)
        pen.text(
            room[0] / 2,
            1,
            "what comes out, grey" if any(p.role == "target" for p in parts) else "the sheet",
            2.6,
            "middle",
        )

    def _small_folded(self, scene: Scene, room: tuple[float, float], pen: Pen) -> None:
        """The folded sheet with the cut."""
        stack = [f for plate in scene.plates for f in plate.faces]
        look = _Look(scene.subdivision, scene.folded_true or (), scene.turned, stack, None, scene.repaints)
        self._cut_picture(scene, look, (0.0, 6.0, *room), pen)
        words = "folded, and where to cut" if scene.cut_line is not None or scene.cutting is not None else "folded"
        pen.text(room[0] / 2, 1, words + "; printed side white", 2.6, "middle")

    def _cut_picture(self, scene: Scene, look: _Look, area: tuple[float, float, float, float], pen: Pen) -> None:
        x, y, wide, high = area
        at = _fitted(look.box(), (x + 14, y + 10, wide - 28, high - 20))
        look.draw(pen, at)
        labels = Labels()
        cutting = scene.cutting

        def folded(p: XY) -> XY:
            return at(XY(p.x / scene.magnified, p.y / scene.magnified))

        if scene.cut_line is not None:
            a, b = (folded(p) for p in scene.cut_line)
            ends = _along([at(p) for p in look.places], a, b, 4.0)
            pen.lines([ends], "cut")
            labels.avoid_lines([ends])
            _scissors(pen, *ends)
        elif cutting is not None:
            for number, snip in enumerate(cutting.snips, start=1):
                walk = [at(look.places[v]) for v in (snip.start, snip.end)]
                pen.lines([walk], "cut")
                labels.avoid_lines([walk])
                self._place(pen, labels, XY((walk[0].x + walk[1].x) / 2, (walk[0].y + walk[1].y) / 2), f"snip {number}")
        for part in self.result.layers:
            a, b = (folded(scene.folded_page(p)) for p in (part.start, part.end))
            if hypot(b.x - a.x, b.y - a.y) > 7:
                self._place(pen, labels, XY((a.x + b.x) / 2, (a.y + b.y) / 2), f"{part.count}×", need=False)

    @staticmethod
    def _place(pen: Pen, labels: Labels, at: XY, words: str, need: bool = True, size: float = 2.5) -> None:
        corner = labels.place(at, width_of(words, size) + 0.6, size * 1.1, need=need)
        if corner is not None:
            pen.label(corner.x + 0.3, corner.y + 0.3, words, size)

    # The template.

    def _template(self, scene: Scene, laid: Tiles) -> Iterator[Flowable]:
        if laid.count > MOST_TILES:
            yield from self._too_large(scene, laid)
            return
        if laid.count > 1:
            yield from self._overview(scene, laid)
        turned = "landscape" if laid.landscape else "portrait"
        for row, column in laid.each():
            yield NextPageTemplate(turned)
            yield PageBreak()
            yield self._part(f"template, true scale{f', page {laid.name(row, column)}' if laid.count > 1 else ''}")
            page = partial(self._tile, scene, laid, row, column)
            yield _Drawing(laid.width, laid.height + _RULER + _LEGEND, page)
        yield NextPageTemplate("text")

    def _overview(self, scene: Scene, laid: Tiles) -> Iterator[Flowable]:
        def drawn(pen: Pen) -> None:
            windows = [laid.window(*place) for place in laid.each()]
            box = (
                min(w[0] for w in windows),
                min(w[1] for w in windows),
                max(w[2] for w in windows),
                max(w[3] for w in windows),
            )
            at = _fitted(box, (2.0, 2.0, self.text_width - 4, 146.0))
            self._sheet(pen, scene, at, small=True)
            for row, column in laid.each():
                x0, y0, x1, y1 = laid.window(row, column)
                corners = [at(XY(x, y)) for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]
                pen.lines([corners], "frame", closed=True, width=0.25)
                name = laid.name(row, column)
                middle = at(XY((x0 + x1) / 2, (y0 + y1) / 2))
                pen.label(middle.x - width_of(name, 5) / 2, middle.y - 1.8, name, 5)
            for place in laid.register_marks():
                _register_mark(pen, at(place), 1.2)

        yield NextPageTemplate("text")
        yield PageBreak()
        yield self._part("overview of the pages")
        yield _say("How the pages lie", "head")
        yield _say(
            f"{laid.rows} row{'s' if laid.rows > 1 else ''} of {laid.columns} page{'s' if laid.columns > 1 else ''}; neighbours overlap by {OVERLAP:g} mm. "
            "Each register mark (a cross in a ring) stands on both neighbours: lay one over the other. This overview is not to scale."
        )
        yield _Drawing(self.text_width, 150, drawn)

    def _too_large(self, scene: Scene, laid: Tiles) -> Iterator[Flowable]:
        def drawn(pen: Pen) -> None:
            self._sheet(pen, scene, _fitted(self._box(scene), (2.0, 2.0, self.text_width - 4, 156.0)), small=True)

        yield PageBreak()
        yield self._part("drawn small")
        yield _say("Not a template: drawn small", "warning")
        yield _say(f"At true scale the sheet would fill {laid.count:,} pages; more than {MOST_TILES} are not written.")
        yield _Drawing(self.text_width, 160, drawn)

    def _tile(self, scene: Scene, laid: Tiles, row: int, column: int, pen: Pen) -> None:
        x0, y0, x1, y1 = window = laid.window(row, column)
        low = _RULER + _LEGEND

        def at(p: XY) -> XY:
            return XY(p.x - x0, p.y - y0 + low)

        frame = [at(XY(x, y)) for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]
        with pen.clipped([frame]):
            self._sheet(pen, scene, at)
            self._names(pen, scene, window, at)
        if laid.count > 1:
            pen.lines([frame], "frame", closed=True)
            for place in laid.register_marks():
                if x0 < place.x < x1 and y0 < place.y < y1:
                    _register_mark(pen, at(place), 2.0)
        self._legend(pen, scene, laid.width)
        _ruler(pen)

    def _sheet(self, pen: Pen, scene: Scene, at: Callable[[XY], XY], small: bool = False) -> None:
        """The flat sheet: its outline, the target, the folds."""
        s = scene.subdivision
        here = [at(p) for p in self._flat(scene)]
        cut = scene.really_cut
        places = [at(self._true(scene, scene.to_page(p))) for p in cut.vertices] if cut is not None else here
        target = cut or s
        pen.band(_walks(target, places, [n for n, e in enumerate(target.edges) if e.target]), narrow=small)
        pen.lines(
            _walks(s, here, [n for n, e in enumerate(s.edges) if e.kind == "flat" and e.crease is not None]), "guide"
        )
        for kind in ("mountain", "valley", "either"):
            folds = _walks(s, here, [n for n, k in enumerate(scene.fold_kinds) if k == kind])
            pen.lines(folds, kind, width=0.2 if small else None)
        outline = [[here[v] for v in loop] for loop in scene.loops(range(len(s.faces)))]
        pen.lines(outline, "outline", closed=True, width=0.3 if small else None)

    def _names(self, pen: Pen, scene: Scene, window: Window, at: Callable[[XY], XY]) -> None:
        s = scene.subdivision
        flat = self._flat(scene)
        x0, y0, x1, y1 = window
        labels = Labels()
        labels.avoid_lines([[flat[v] for v in e.ends] for e in s.edges if not e.is_auxiliary])
        far = 1e4
        for box in (
            (x0 - far, y0 - far, x0, y1 + far),
            (x1, y0 - far, x1 + far, y1 + far),
            (x0 - far, y0 - far, x1 + far, y0),
            (x0 - far, y1, x1 + far, y1 + far),
        ):
            labels.avoid_box(box)
        named = [
            v for v, p in enumerate(s.vertices) if p in s.drawing.names and x0 < flat[v].x < x1 and y0 < flat[v].y < y1
        ]
        for v in named if len(named) <= _MANY_NAMES else ():
            words = shortened(printable(s.drawing.names[s.vertices[v]]), 40, _NAMES)
            corner = labels.place(flat[v], width_of(words, _NAMES) + 0.6, _NAMES * 1.1, 1.8)
            if corner is not None:
                spot = at(corner)
                pen.text(spot.x + 0.3, spot.y + 0.4, words, _NAMES)

    def _legend(self, pen: Pen, scene: Scene, wide: float) -> None:
        kinds = set(scene.fold_kinds)
        guides = any(e.kind == "flat" and e.crease is not None for e in scene.subdivision.edges)
        shown = {
            "outline": True,
            "guide": guides,
            "target": self.result.document.has_target,
            "cut": not self.result.document.has_target and scene.really_cut is not None,
        }
        x, y = 0.0, _RULER + 5.6
        for kind, words in _KEYS:
            if not shown.get(kind, kind in kinds):
                continue
            block = 11.5 + width_of(words, 2.4) + 4
            if x and x + block > wide:
                x, y = 0.0, y - 4.0
            walk = [[XY(x, y), XY(x + 10, y)]]
            if kind in ("target", "cut"):
                pen.band(walk)
            else:
                pen.lines(walk, kind)
            pen.text(x + 11.5, y - 0.85, words, 2.4)
            x += block

    # The steps of a recipe.

    def _steps(self, scene: Scene, folded: Folded) -> Iterator[Flowable]:
        yield PageBreak()
        yield self._part("step by step")
        yield _say("Step by step", "head")
        yield _say(
            "The printed side of the paper is white, its back grey. Left: before the step; right: after it. Each pair has a scale of its own."
        )
        for number, done in enumerate(folded.done):
            yield KeepTogether(
                [
                    _say(f"{number + 1}. {_sentence(done)}", "body"),
                    _Drawing(self.text_width, _STEP, partial(self._step, scene, folded, number)),
                    Spacer(0, 5),
                ]
            )
        if scene.cut_line is not None or scene.cutting is not None:
            stack = [f for plate in scene.plates for f in plate.faces]
            look = _Look(scene.subdivision, scene.folded_true or (), scene.turned, stack)
            words = "Cut" if scene.cut_line is not None else "Snip"
            yield KeepTogether(
                [
                    _say(
                        f"{len(folded.done) + 1}. {words} along the heavy line, through all layers. n×: the scissors meet n layers there."
                    ),
                    _Drawing(
                        self.text_width, 66, partial(self._cut_picture, scene, look, (0.0, 0.0, self.text_width, 66.0))
                    ),
                ]
            )

    def _step(self, scene: Scene, folded: Folded, number: int, pen: Pen) -> None:
        done = folded.done[number]
        half, high = self.text_width / 2, _STEP
        looks = [self._look(scene, folded, k) for k in (number, number + 1)]
        boxes = [look.box() for look in looks]
        span_x, span_y = max(b[2] - b[0] for b in boxes), max(b[3] - b[1] for b in boxes)
        scale = min((half - 34) / span_x, (high - 14) / span_y)
        frames: list[Callable[[XY], XY]] = []
        for k, box in enumerate(boxes):
            middle = XY((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
            centre = XY(half * (k + 0.5) + (3 if k else -3), high / 2)
            frames.append(partial(_shifted, middle, scale, centre))
        for look, frame in zip(looks, frames, strict=True):
            look.draw(pen, frame)
        pen.arrow(XY(half - 5, high / 2), XY(half + 5, high / 2), bow=0.0)
        at = frames[0]
        labels = Labels()
        labels.avoid_lines(
            [[at(looks[0].places[v]) for v in e.ends] for e in scene.subdivision.edges if not e.is_auxiliary]
        )
        step = done.step
        if isinstance(step, FoldStep) and done.line is not None:
            a, b = (at(self._true(scene, scene.to_page(p))) for p in done.line)
            places = [at(p) for p in looks[0].places]
            ends = _along(places, a, b, 4.0)
            pen.lines([ends], "valley" if step.direction == "over" else "mountain", width=0.5)
            labels.avoid_lines([ends])
            here, there = zip(looks[0].places, looks[1].places, strict=True), (a, b)
            room = min(p.x for p in places) - 9, -2.0, max(p.x for p in places) + 9, high + 2.0
            start, end = _movement([at(p) for p, q in here if p != q], *there, room)
            pen.arrow(start, end, step.direction == "behind")
            self._step_names(pen, labels, scene, folded, number, dict.fromkeys((*step.alignment.marks, step.moves)), at)
        elif isinstance(step, MarkStep) and done.mark is not None:
            spot = frames[1](self._true(scene, scene.to_page(done.mark[2])))
            pen.circle(spot, 1.1)
            self._place(pen, Labels(), spot, shortened(printable(step.name), 30, 2.5))
            marks = [m for line in step.crossing if not isinstance(line, int) for m in line]
            self._step_names(pen, labels, scene, folded, number, dict.fromkeys(marks), at)

    def _step_names(
        self,
        pen: Pen,
        labels: Labels,
        scene: Scene,
        folded: Folded,
        number: int,
        marks: dict[str, None],
        at: Callable[[XY], XY],
    ) -> None:
        paper = folded.paper
        spots: dict[tuple[float, float], list[str]] = {}
        for mark in marks:
            place = folded.marks[mark]
            image = at(self._true(scene, scene.to_page(paper.image(paper.host(place), place, paper.states[number]))))
            spots.setdefault((round(image.x, 2), round(image.y, 2)), []).append(printable(mark))
        for x, y in spots:
            pen.circle(XY(x, y), 0.55, grey=INK)
        for (x, y), names in spots.items():
            self._place(pen, labels, XY(x, y), shortened(", ".join(names), 26, 2.5))

    def _look(self, scene: Scene, folded: Folded, k: int) -> _Look:
        state = folded.paper.states[k]
        places = [self._true(scene, scene.to_page(p)) for p in state.images]
        return _Look(scene.subdivision, places, state.turned, state.stack, k)

    # A document that is not certified, and the teacher's page.

    def _no_template(self) -> Iterator[Flowable]:
        verdict = self.result.verdict
        yield _say(self.title, "title")
        warning: list[Flowable] = [
            _say(
                "Do not fold from this document." if verdict == "refuted" else "No template: nothing is proved.",
                "warning",
            ),
            _say(
                {
                    "refuted": "It is refuted: it is proved that it does not do what it claims. So there is no template here.",
                    "undecided": "Undecided: a declared limit was reached before a proof either way. So there is no template here.",
                }.get(
                    verdict,
                    "Unsupported: this version does not decide documents of this kind. So there is no template here.",
                )
            ),
        ]
        yield _boxed(warning, self.text_width * mm)
        yield _say("Why", "head")
        why = [f for f in self.result.findings if f.level == "fails"] or [
            f for f in self.result.findings if f.check == "limit"
        ]
        why = why or list(self.result.findings)
        for finding in why[:_MANY_REASONS]:
            yield _say(finding.message, "item", "–")
            for reason in finding.value.get("reasons", [])[:_MANY_REASONS]:
                yield _say(f"because {reason}", "item")
        if len(why) > _MANY_REASONS:
            yield _say(f"… and {len(why) - _MANY_REASONS} more; creaseproof explain lists all.", "item")
        if self.scene is not None:
            scene = self.scene
            yield KeepTogether(
                [
                    _say("The drawing, small; the places that are named are ringed", "head"),
                    _Drawing(self.text_width, 96, partial(self._faults, scene)),
                ]
            )

    def _faults(self, scene: Scene, pen: Pen) -> None:
        s = scene.subdivision
        at = _fitted(self._box(scene), (4.0, 4.0, self.text_width - 8, 88.0))
        here = [at(p) for p in self._flat(scene)]
        marks = [m for m in scene.marks if m.fails]
        for f in sorted({f for m in marks for f in m.faces}):
            pen.fill([[here[v] for v in s.faces[f]]], BACK)
        pen.lines([[here[v] for v in s.edges[n].ends] for n in sorted({n for m in marks for n in m.edges})], "rail")
        self._sheet(pen, scene, at, small=True)
        for v in sorted({v for m in marks for v in m.vertices}):
            pen.circle(here[v], 2.2, "arrow")

    def _teacher(self) -> Iterator[Flowable]:
        source = printable(self.result.document.source)
        yield NextPageTemplate("text")
        yield PageBreak()
        yield self._part("for the teacher")
        yield _say("For the teacher: what exactly was proved", "title")
        yield _say(f"Verdict: {self.result.verdict}", "verdict")
        *sentences, _digest = proved(self.result)
        yield from (_say(words) for words in sentences)
        holds = Counter(f.level for f in self.result.findings)
        yield _say(
            f"{holds['holds']} findings hold, {holds['fails']} fail, {holds['advice']} are notes; creaseproof explain lists them all."
        )
        yield _say("The statement", "head")
        yield _say(
            f"The proof is about the document {source}, as it stood when this was printed. Its statement has the SHA-256 digest"
        )
        yield _say(self.result.statement_sha256)
        yield _say("Whoever has the document and a certificate that names this digest can check the proof again.")
        if self.result.verdict in ("certified", "refuted"):
            yield _say("How to check it again", "head")
            file = source if self.result.document.source else "DOCUMENT"
            certificate = "certificate.json"
            yield _say(f"creaseproof certify {file} -o {certificate}", "item", "1.")
            yield _say(f"creaseproof audit {file} {certificate}", "item", "2.")
            yield _say(
                f"or with nothing installed, from a checkout: python3 -S -m verify.kernel {file} {certificate}",
                "item",
                "–",
            )
            yield _say(
                "The second command uses only the small checker, which reads the document itself; it prints the digest that it accepted."
            )
        yield _say("What this does not say", "head")
        for words in self._not_said():
            yield _say(words, "item", "–")

    def _not_said(self) -> Iterator[str]:
        if self.result.verdict == "certified":
            yield "Real paper has a thickness, and gets thicker with every layer; the proof is about paper without any."
            if not isinstance(self.result.document, Recipe):
                yield "Hands may not reach the folded state panel by panel, and no order of folding is proved."
            yield "The template is a drawing, rounded for print; a printer may stretch it. The ruler shows whether it does."
            yield "How true folds must be, and how thick a stack is, are estimates."
        elif self.result.verdict == "refuted":
            yield "Another pattern near this one may do what this one does not."
        else:
            yield "That the paper cannot be folded so. Nothing is proved in either direction."


def scene_snips(result: Result) -> int:
    """How many straight cuts the document means."""
    document = result.document
    snips = document.base.snips if isinstance(document, Recipe) else document.snips
    return snips or 1


def _sentence(done: Done) -> str:
    """One step for the person who folds."""
    step = done.step
    if isinstance(step, FoldStep):
        over = step.direction == "over"
        which = {"all": "with all its layers", "flap": f"but only the flap that holds {step.moves}"}.get(
            str(step.layers)
        )
        if which is None:
            where = "on top" if over else "underneath"
            which = f"but only the layer {where}" if step.layers == 1 else f"but only the {step.layers} layers {where}"
        way = "over, towards you" if over else "behind, away from you"
        return f"Fold {step.alignment.words()}. The side with {step.moves} goes {way}, {which}."
    if isinstance(step, TurnStep):
        return "Turn the paper over, left to right."
    if isinstance(step, UnfoldStep):
        return f"{step.words()[:1].upper()}{step.words()[1:]} again; what was creased stays as a guide line."
    words = step.words()
    return f"{words[:1].upper()}{words[1:]}."


def _walks(s: Subdivision, places: Sequence[XY], edges: Sequence[int]) -> list[list[XY]]:
    """Straight stretches, each as a line from end to end."""
    return [
        [places[walk[0]], places[walk[-1]]] if walk[0] != walk[-1] else [places[v] for v in walk]
        for walk in runs(s, places, edges)
    ]


def _fitted(box: Window, area: tuple[float, float, float, float]) -> Callable[[XY], XY]:
    """The plane shrunk (or magnified) so that a box fills an area (left, bottom, width, height)."""
    x, y, wide, high = area
    scale = min(wide / max(box[2] - box[0], 1e-9), high / max(box[3] - box[1], 1e-9))
    middle = XY((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
    return partial(_shifted, middle, scale, XY(x + wide / 2, y + high / 2))


def _shifted(middle: XY, scale: float, to: XY, p: XY) -> XY:
    return XY(to.x + (p.x - middle.x) * scale, to.y + (p.y - middle.y) * scale)


def _along(places: Sequence[XY], a: XY, b: XY, margin: float) -> list[XY]:
    """The line through a and b from one side of the drawing to the other, and a little beyond."""
    long = hypot(b.x - a.x, b.y - a.y)
    ux, uy = (b.x - a.x) / long, (b.y - a.y) / long
    low, high = -float("inf"), float("inf")
    for axis, d in ((0, ux), (1, uy)):
        ends = min(p[axis] for p in places) - 0.5, max(p[axis] for p in places) + 0.5
        if abs(d) > 1e-9:
            one, two = sorted((end - a[axis]) / d for end in ends)
            low, high = max(low, one), min(high, two)
    low, high = low - margin, max(low, high) + margin
    return [XY(a.x + ux * low, a.y + uy * low), XY(a.x + ux * high, a.y + uy * high)]


def _movement(moved: Sequence[XY], a: XY, b: XY, room: Window) -> tuple[XY, XY]:
    """From the moved place that is farthest from the fold line (or nearer, if there is no room) towards where it comes to lie."""
    long = hypot(b.x - a.x, b.y - a.y)
    nx, ny = -(b.y - a.y) / long, (b.x - a.x) / long

    def height(p: XY) -> float:
        return (p.x - a.x) * nx + (p.y - a.y) * ny

    if not moved:
        return a, a
    far = max(moved, key=lambda p: abs(height(p)))
    top = [p for p in moved if abs(height(p)) > abs(height(far)) * 0.98]
    start = XY(sum(p.x for p in top) / len(top), sum(p.y for p in top) / len(top))
    h = height(start)
    foot = XY(start.x - h * nx, start.y - h * ny)

    def ends(part: float) -> tuple[XY, XY]:
        on, off = 0.85 * h * part, -0.75 * h * part
        return XY(foot.x + on * nx, foot.y + on * ny), XY(foot.x + off * nx, foot.y + off * ny)

    def inside(p: XY) -> bool:
        return room[0] <= p.x <= room[2] and room[1] <= p.y <= room[3]

    return next((e for e in map(ends, (1.0, 0.8, 0.6, 0.45, 0.3)) if inside(e[1])), ends(0.2))


def _scissors(pen: Pen, start: XY, end: XY) -> None:
    """A pair of scissors at the start of the cut, pointing along it."""
    long = hypot(end.x - start.x, end.y - start.y)
    ux, uy = (end.x - start.x) / long, (end.y - start.y) / long

    def at(x: float, y: float) -> XY:
        return XY(start.x + 0.8 * (x * ux - y * uy), start.y + 0.8 * (x * uy + y * ux))

    for side in (1, -1):
        blade = [at(-4, 1.4 * side), at(4.2, -0.5 * side), at(-3.2, -0.4 * side)]
        pen.fill([blade], WHITE)
        pen.lines([blade], "rim", closed=True, width=0.25)
        pen.circle(at(-5.6, 1.8 * side), 1.2, grey=WHITE)


def _register_mark(pen: Pen, at: XY, size: float) -> None:
    pen.circle(at, size * 0.55, "thin")
    pen.lines(
        [[XY(at.x - size, at.y), XY(at.x + size, at.y)], [XY(at.x, at.y - size), XY(at.x, at.y + size)]],
        "rim",
        width=0.15,
    )


def _ruler(pen: Pen) -> None:
    """Exactly 100 mm, with a tick every 10."""
    y = 7.0
    pen.lines([[XY(0, y), XY(100, y)]], "rim")
    ticks = [[XY(x, y), XY(x, y + (3.0 if x % 50 == 0 else 2.0 if x % 10 == 0 else 1.0))] for x in range(0, 101, 5)]
    pen.lines(ticks, "rim", width=0.2)
    for x in range(0, 101, 10):
        pen.text(x, y - 3.2, str(x), 2.3, "start" if x == 0 else "middle")
    pen.text(108, y + 0.4, "mm. This ruler must be 100 mm long:", 2.5)
    pen.text(108, y - 3.2, "print at 100 %, not “fit to page”.", 2.5)
