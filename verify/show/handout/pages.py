"""Pages of a PDF: sizes, frames, running lines, paragraphs in embedded lettering, drawings."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from html import escape
from io import BytesIO
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
    NextPageTemplate,
    PageBreak,
    PageTemplate,
    Paragraph,
    Table,
)

from verify.pattern.source import printable
from verify.show.page import XY
from verify.show.print import BOLD, REGULAR, Pen, runs_of, shortened, width_of
from verify.show.texts import sentences
from verify.version import __version__

PaperName = Literal["a4", "letter"]
PAPERS: dict[str, tuple[float, float]] = {"a4": A4, "letter": LETTER}
MARGIN = 15.0
EDGE = 10.0
HEAD, FOOT = 9.0, 6.0
FULL_SIZE = "full size"  # said at the head of pages that have it, and in the keywords of a PDF that has such pages


def size_of(paper: PaperName) -> tuple[float, float]:
    """Width and height of a page in millimetres."""
    wide, high = PAPERS[paper]
    return wide / mm, high / mm


def text_width(paper: PaperName) -> float:
    """How wide a page of text is, in millimetres."""
    return size_of(paper)[0] - 2 * MARGIN


def text_height(paper: PaperName) -> float:
    """How high a page of text is, in millimetres."""
    return size_of(paper)[1] - 2 * MARGIN - HEAD - FOOT


def height_of(flowable: Flowable, wide: float) -> float:
    """How much of a page of text, `wide` mm wide, it takes, in millimetres."""
    high = flowable.wrap(wide * mm, PAPERS["a4"][1])[1] + flowable.getSpaceBefore() + flowable.getSpaceAfter()
    return float(high) / mm


class _Canvas(Canvas):
    """A canvas without any font that is not embedded, and the words that the head of its pages says."""

    drawn = True

    def __init__(self, filename: Any, **options: Any) -> None:
        options["initialFontName"] = REGULAR
        options["invariant"] = 1
        super().__init__(filename, **options)
        self.running = ("", "", "")


class _Blank(_Canvas):
    """A canvas on which no drawing is made."""

    drawn = False


def numbered(story: list[Flowable], paper: PaperName) -> None:
    """Where the story's pages break: each `Running` gets the number of its page. Nothing is drawn."""
    _built([*story], paper, "", _Blank)


def bound(story: list[Flowable], paper: PaperName, title: str) -> bytes:
    """The story as a PDF. The same story gives the same bytes. Page templates: `text`, `portrait`, `landscape`."""
    return _built(story, paper, title, _Canvas)


def _built(story: list[Flowable], paper: PaperName, title: str, canvas: type[_Canvas]) -> bytes:
    wide, high = PAPERS[paper]
    out = BytesIO()
    about: Any = {"title": title, "author": f"creaseproof {__version__}", "lang": "en"}
    if any(isinstance(one, Running) and FULL_SIZE in one.words[2] for one in story):
        about["keywords"] = FULL_SIZE
    document = BaseDocTemplate(out, pagesize=(wide, high), **about)
    document.addPageTemplates(
        [
            _page("text", (wide, high), MARGIN, MARGIN + FOOT, MARGIN + HEAD),
            _page("portrait", (wide, high), EDGE, EDGE + FOOT, EDGE + HEAD),
            _page("landscape", (high, wide), EDGE, EDGE + FOOT, EDGE + HEAD),
        ]
    )
    document.build(story, canvasmaker=canvas)
    return out.getvalue()


def _page(name: str, size: tuple[float, float], side: float, foot: float, head: float) -> PageTemplate:
    inside = size[0] - 2 * side * mm, size[1] - (head + foot) * mm
    padding: Any = dict.fromkeys(("leftPadding", "rightPadding", "topPadding", "bottomPadding"), 0)
    frame = Frame(side * mm, foot * mm, *inside, **padding)
    return PageTemplate(name, [frame], pagesize=size, onPageEnd=partial(_running, side=side))


def _running(canvas: Any, document: Any, side: float) -> None:
    """The line at the head and the line at the foot of a page."""
    wide, high = (x / mm for x in canvas._pagesize)
    title, about, part = canvas.running
    pen = Pen(canvas)
    with pen.in_mm():
        right = width_of(part, 2.9)
        pen.write(XY(side, high - side - 3), shortened(title, wide - 2 * side - right - 6, 2.9), 2.9)
        pen.write(XY(wide - side, high - side - 3), part, 2.9, anchor="end")
        pen.lines([[XY(side, high - side - 4.6), XY(wide - side, high - side - 4.6)]], "guide")
        made = f"creaseproof {__version__}, {about}" if about else f"creaseproof {__version__}"
        pen.write(XY(side, side), shortened(made, wide - 2 * side - 20, 2.3), 2.3)
        pen.write(XY(wide - side, side), f"page {canvas.getPageNumber()}", 2.3, anchor="end")


class Running(Flowable):
    """What this page and the following ones say: title and part of the handout at the head, `about` at the foot."""

    def __init__(self, title: str, about: str, part: str, bookmark: bool = False) -> None:
        super().__init__()
        self.words = title, about, part
        self.bookmark = bookmark
        self.page = 0

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803
        return 0, 0

    def draw(self) -> None:
        canvas: Any = self.canv
        canvas.running = self.words
        self.page = canvas.getPageNumber()
        if self.bookmark:
            key = f"document-{self.page}"
            canvas.bookmarkPage(key)
            canvas.addOutlineEntry(self.words[0][:200], key, 0)


def new_page(running: Running, kind: str = "text") -> Iterator[Flowable]:
    """From here on another page, of a kind that `bound` has, and what it says at its head."""
    yield NextPageTemplate(kind)
    yield PageBreak()
    yield running


class PageDrawing(Flowable):
    """A drawing of `wide` × `high` mm; `draw_with` gets a pen whose origin is the lower left corner."""

    def __init__(self, wide: float, high: float, draw_with: Callable[[Pen], None]) -> None:
        super().__init__()
        self.wide, self.high, self.draw_with = wide, high, draw_with

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803
        return self.wide * mm, self.high * mm

    def draw(self) -> None:
        canvas: Any = self.canv
        if canvas.drawn:
            pen = Pen(canvas)
            with pen.in_mm():
                self.draw_with(pen)


def markup(words: str, font: str = REGULAR) -> str:
    """Text for a paragraph in `font`: nothing in it is read as markup, and each character has a font."""
    return "".join(
        escape(part) if name == font else f'<font name="{name}">{escape(part)}</font>'
        for name, part in runs_of(printable(words), font)
    )


_BODY = ParagraphStyle("body", fontName=REGULAR, fontSize=9.5, leading=13.5, spaceAfter=4, splitLongWords=1)
_BOLD = ParagraphStyle("bold", _BODY, fontName=BOLD)
_STYLES = {
    "body": _BODY,
    "title": ParagraphStyle("title", _BOLD, fontSize=19, leading=24, spaceAfter=6),
    "verdict": ParagraphStyle("verdict", _BOLD, fontSize=12, leading=16, spaceAfter=8),
    "head": ParagraphStyle("head", _BOLD, fontSize=12, leading=16, spaceBefore=9, spaceAfter=4, keepWithNext=1),
    "item": ParagraphStyle("item", _BODY, leftIndent=16, bulletIndent=2, bulletFontName=REGULAR, spaceAfter=3),
    "strong": ParagraphStyle("strong", _BOLD, leftIndent=16, bulletIndent=2, bulletFontName=BOLD, spaceAfter=3),
    "small": ParagraphStyle("small", _BODY, fontSize=8, leading=10.5, spaceAfter=2),
    "warning": ParagraphStyle("warning", _BOLD, fontSize=15, leading=20, spaceAfter=6),
}
_SIGN = re.compile(r"(#|–|[0-9]\.) ")


def paragraphs(page: str, part: str, **values: object) -> Iterator[Paragraph]:
    """The sentences of a part of `pages.toml` as headings, items and text, as their first signs say."""
    for words in sentences(page, part, **values):
        sign = _SIGN.match(words)
        if sign is None:
            yield say(words)
        elif sign[1] == "#":
            yield say(words[sign.end() :], "head")
        else:
            yield say(words[sign.end() :], "item", sign[1])


def say(words: str, style: str = "body", bullet: str | None = None) -> Paragraph:
    """A paragraph."""
    bold = _STYLES[style].fontName == BOLD
    return Paragraph(markup(words, BOLD if bold else REGULAR), _STYLES[style], bulletText=bullet)


def fact(words: str) -> Paragraph:
    """An item of a list; a warning stands out."""
    return say(words, "strong", "!") if words.startswith("Warning: ") else say(words, "item", "–")


def boxed(flowables: list[Flowable], wide: float) -> Table:
    """A frame of `wide` mm round something."""
    return _table([[flowables]], [wide], 5, ("LEFTPADDING", 8), ("RIGHTPADDING", 8), ("BOX", 1.4, colors.black))


Cell = Flowable | Sequence[Flowable]


def table(rows: Sequence[Sequence[Cell]], columns: Sequence[float], *, lines: bool = False, gap: float = 0.0) -> Table:
    """Things in rows, in columns so many mm wide with a gap within; `lines`: a fine line under each row."""
    under = [("LINEBELOW", 0.3, colors.black)] if lines else []
    right = 4 if lines else gap * mm
    return _table(rows, columns, 1, ("VALIGN", "TOP"), ("LEFTPADDING", 0), ("RIGHTPADDING", right), *under)


def _table(rows: Sequence[Sequence[Any]], columns: Sequence[float], above: float, *looks: tuple[Any, ...]) -> Table:
    """A table, its columns in mm, with so many points above and below each cell; `looks` are of all cells."""
    every: Any = [("FONTNAME", REGULAR), ("TOPPADDING", above), ("BOTTOMPADDING", above), *looks]
    style = [(name, (0, 0), (-1, -1), *how) for name, *how in every]
    return Table([list(row) for row in rows], colWidths=[wide * mm for wide in columns], style=style)


def cautions(wide: float) -> Table:
    """The box about scissors, knives and children."""
    return boxed([*paragraphs("cautions", "box")], wide)
