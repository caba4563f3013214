"""SVG as text: elements, paths, hatches, and a sheet of paper that grows with what is drawn on it."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from xml.sax.saxutils import escape, quoteattr

from verify.show.scene import XY
from verify.show.style import LIGHT, css

FONT = "DejaVu Sans, Verdana, sans-serif"
TEXT = 3.0
_WIDE = 0.6
_LEGEND = 11.0
_ZOOM = 1.45


def num(x: float) -> str:
    """A length in page millimetres, to a thousandth."""
    shown = f"{x:.3f}".rstrip("0").rstrip(".")
    return "0" if shown == "-0" else shown


def tag(name: str, *children: str, **attributes: object) -> str:
    """An element; `_` in attribute names stands for `-`, a trailing one is dropped; None leaves the attribute out."""
    listed = "".join(
        f" {key.rstrip('_').replace('_', '-')}={quoteattr(num(v) if isinstance(v, float) else str(v))}"
        for key, v in attributes.items()
        if v is not None
    )
    return f"<{name}{listed}>{''.join(children)}</{name}>" if children else f"<{name}{listed}/>"


def path_data(walks: Iterable[Sequence[XY]], closed: bool = False) -> str:
    """Straight walks as path data; y is turned to point down."""
    return " ".join(
        "M" + " L".join(f"{num(p.x)} {num(-p.y)}" for p in walk) + (" Z" if closed else "") for walk in walks if walk
    )


def text_width(words: str, size: float = TEXT) -> float:
    """About how wide a text is."""
    return len(words) * size * _WIDE


def text(x: float, y: float, words: str, kind: str = "text", size: float = TEXT, anchor: str | None = None) -> str:
    """Text at page coordinates (y down)."""
    return tag("text", escape(words), x=x, y=y, font_size=size, class_=kind, text_anchor=anchor)


def band(data: str) -> tuple[str, str]:
    """A target line from path data: its edge, and the band itself."""
    return tag("path", d=data, class_="target-edge"), tag("path", d=data, class_="target")


class Canvas:
    """What is drawn, its bounding box, the legend's entries and the notes below.

    `bare`: for a page that brings the style sheet and the title; lettering is larger by `zoom`, and the legend and the notes
    without a mark follow the picture as HTML. `prefix` keeps ids apart in one page.
    """

    def __init__(self, prefix: str = "", bare: bool = False) -> None:
        self.prefix, self.bare = prefix, bare
        self.zoom = _ZOOM if bare else 1.0
        self.body: list[str] = []
        self.legend: list[tuple[str, str]] = []
        self.notes: list[tuple[str | None, str]] = []
        self.definitions: dict[str, str] = {}
        self.x0 = self.y0 = float("inf")
        self.x1 = self.y1 = float("-inf")

    def add(self, *elements: str) -> None:
        """Elements, over all that is there."""
        self.body += elements

    def reach(self, places: Iterable[XY], margin: float = 0.0) -> None:
        """Let the canvas hold these places (y up)."""
        for p in places:
            self.reach_box(p.x - margin, -p.y - margin, p.x + margin, -p.y + margin)

    def reach_box(self, x0: float, y0: float, x1: float, y1: float) -> None:
        """Let the canvas hold this box (page coordinates, y down)."""
        self.x0, self.y0 = min(self.x0, x0), min(self.y0, y0)
        self.x1, self.y1 = max(self.x1, x1), max(self.y1, y1)

    def path(self, walks: Iterable[Sequence[XY]], kind: str, closed: bool = False, **attributes: object) -> None:
        """Walks as one path of a class of the style sheet."""
        self.add(
            tag("path", d=path_data(walks, closed), class_=kind, fill_rule="evenodd" if closed else None, **attributes)
        )

    def band(self, walks: Sequence[Sequence[XY]]) -> None:
        """Target lines: a thick band with a thin dark edge, so that it also stands out in grey."""
        self.add(*band(path_data(walks)))

    def filled(self, name: str) -> str:
        """The fill for a texture: `hatch`, `dots`, `lines` or `cross`."""
        ident = f"{self.prefix}{name}"
        shapes = {
            "hatch": tag("path", d="M-0.5 0.5 L0.5 -0.5 M0 2.2 L2.2 0 M1.7 2.7 L2.7 1.7", class_="hatch"),
            "dots": tag("circle", cx="0.6", cy="0.6", r="0.28", class_="dots")
            + tag("circle", cx="1.9", cy="1.9", r="0.28", class_="dots"),
            "lines": tag("path", d="M0 1 L2.2 1", class_="line-texture"),
            "cross": tag("path", d="M0 0 L2.6 2.6 M2.6 0 L0 2.6", class_="cross"),
        }
        size = {"hatch": "2.2", "dots": "2.6", "lines": "2.2", "cross": "2.6"}[name]
        self.definitions[ident] = tag(
            "pattern", shapes[name], id=ident, width=size, height=size, patternUnits="userSpaceOnUse"
        )
        return f"url(#{ident})"

    def clip(self, key: str, walks: Iterable[Sequence[XY]]) -> str:
        """A clip path of this shape, as a reference to it."""
        ident = f"{self.prefix}clip-{key}"
        self.definitions[ident] = tag("clipPath", tag("path", d=path_data(walks, True)), id=ident)
        return f"url(#{ident})"

    def key(self, drawing: str, words: str) -> None:
        """An entry of the legend: `drawing` fills a box of 10 × 4 mm, its middle line at y = 0."""
        if (drawing, words) not in self.legend:
            self.legend.append((drawing, words))

    def key_line(self, kind: str, words: str) -> None:
        """A line of the legend that shows a line of a class."""
        self.key(tag("path", d="M0 0 L10 0", class_=kind), words)

    def key_band(self, words: str) -> None:
        """An entry of the legend for the target."""
        self.key("".join(band("M0 0 L10 0")), words)

    def key_fill(self, kind: str, texture: str | None, words: str) -> None:
        """An entry of the legend for a fill with a texture, if there is one."""
        box = {"x": "0.5", "y": "-1.8", "width": "9", "height": "3.6"}
        fill = tag("rect", **box, class_=kind)
        over = tag("rect", **box, fill=self.filled(texture)) if texture else ""
        self.key(fill + over + tag("rect", **box, class_="rim"), words)

    def note(self, words: str, mark: str | None = None) -> None:
        """A line of text below the drawing, after a mark (a little drawing of 6 × 5 mm, middle at y = 0) if there is one."""
        self.notes.append((mark, words))

    def svg(self, title: str, subtitle: str, describe: str) -> str:
        """The finished picture."""
        bare = self.bare
        if self.x0 > self.x1:
            self.reach_box(0, 0, 100, 1)
        pad = 5.0
        least = 0.0 if bare else 128.0
        grow = max(0.0, (least - (self.x1 - self.x0)) / 2)
        left, right, y = self.x0 - grow - pad, self.x1 + grow + pad, self.y0 - pad
        width = right - left
        top = y
        parts: list[str] = []
        if not bare:
            head = [*_wrapped(title, width - 2 * pad, 4.4), *_wrapped(subtitle, width - 2 * pad, TEXT)]
            top = y - 3.0 - sum(size * 1.4 for _, size in head)
            line = top + 4.0
            for words, size in head:
                line += size * 0.9
                parts.append(text(left + pad, line, words, "text" if size > TEXT else "soft-text", size))
                line += size * 0.5
        parts += self.body
        bottom = self.y1 + pad
        if self.legend and not bare:
            bottom = self._legend(parts, left + pad, right - pad, bottom + 2)
        if not bare:
            bottom = self._notes(parts, left + pad, right - pad, bottom + 1)
        height = bottom - top
        definitions = tag("defs", *self.definitions.values()) if self.definitions else ""
        style = "" if bare else tag("style", css(LIGHT))
        ground = tag("rect", x=left, y=top, width=width, height=height, class_="ground")
        ident = f"{self.prefix}title"
        picture = tag(
            "svg",
            tag("title", escape(f"{title}: {subtitle}" if title else subtitle), id=ident),
            tag("desc", escape(describe), id=f"{ident}-desc"),
            style,
            definitions,
            ground,
            *parts,
            xmlns="http://www.w3.org/2000/svg",
            width=None if bare else f"{num(width)}mm",
            height=None if bare else f"{num(height)}mm",
            viewBox=f"{num(left)} {num(top)} {num(width)} {num(height)}",
            font_family=FONT,
            role="img",
            aria_labelledby=f"{ident} {ident}-desc",
        )
        return picture + self._below() if bare else picture

    def _below(self) -> str:
        """The legend and the notes as HTML."""
        entries = "".join(
            tag("li", tag("svg", drawing, viewBox="-0.5 -2.5 11 5", aria_hidden="true"), " ", escape(words))
            for drawing, words in self.legend
        )
        notes = "".join(tag("p", escape(words), class_="remark") for mark, words in self.notes if mark is None)
        return (tag("ul", entries, class_="legend") if entries else "") + notes

    def _legend(self, parts: list[str], left: float, right: float, y: float) -> float:
        x = left
        row = y + 2.0
        for drawing, words in self.legend:
            wide = _LEGEND + 1.5 + text_width(words, 2.7) + 4
            if x > left and x + wide > right:
                x, row = left, row + 5.2
            parts.append(tag("g", drawing, transform=f"translate({num(x)} {num(row)})"))
            parts.append(text(x + _LEGEND + 1, row + 0.95, words, "text", 2.7))
            x += wide
        return row + 4.0

    def _notes(self, parts: list[str], left: float, right: float, y: float) -> float:
        for mark, words in self.notes:
            indent = 7.5 if mark else 0.0
            lines = _wrapped(words, right - left - indent, 2.7)
            if mark:
                parts.append(tag("g", mark, transform=f"translate({num(left)} {num(y + 2)})"))
            for line, _ in lines:
                parts.append(text(left + indent, y + 3.0, line, "text", 2.7))
                y += 4.1
            y += 0.9
        return y + 3.0


def _wrapped(words: str, width: float, size: float) -> list[tuple[str, float]]:
    columns = max(12, int(width / (size * _WIDE)))
    return [(line, size) for line in textwrap.wrap(words, columns, break_on_hyphens=False)]
